#!/usr/bin/env python3
"""Speed and memory, as ratios against peers that do the least that must be done.

    drive_bench.py PROGRAM FOLDER

PROGRAM is banksman; FOLDER holds the bench programs (measure, bare_check, bare_start, append,
check_proof) and takes all that is written.  Runs alternate, ours and the peer's, and medians are compared, so
that what else the machine does meanwhile falls on both.  The exit status says whether everything
could run; a limit that is missed is printed, not failed: ratios are for a person to judge.
"""
import os
import pathlib
import shutil
import statistics
import subprocess
import sys

PROGRAM = pathlib.Path(sys.argv[1]).resolve()
FOLDER = pathlib.Path(sys.argv[2]).resolve()
HERE = pathlib.Path(__file__).resolve().parent
SHIPPED = HERE.parent.parent / "procedures"
DATA = FOLDER / "data"
ENVIRONMENT = {"PATH": os.environ["PATH"], "BANKSMAN_HOME": str(DATA / "home"), "TERM": "xterm",
               "BANKSMAN_PATH": str(DATA / "p40"), "LC_ALL": "C.UTF-8"}


class CouldNotRun(Exception):
    pass


def run(words, **keys):
    done = subprocess.run([str(word) for word in words], env=ENVIRONMENT, cwd=DATA,
                          capture_output=True, text=True, **keys)
    if done.returncode != 0:
        raise CouldNotRun(f"{words[0]}: status {done.returncode}: "
                          f"{(done.stdout + done.stderr)[-500:]}")
    return done.stdout.split()


def measure(until, words, allowed=(0,)):
    wall, user, system, kib, status = run([FOLDER / "measure", until, *words])
    if int(status) not in allowed:
        shown = subprocess.run([str(word) for word in words], env=ENVIRONMENT, cwd=DATA,
                               stdin=subprocess.DEVNULL, capture_output=True, text=True)
        raise CouldNotRun(f"{' '.join(map(str, words))[:200]}: status {status}: "
                          f"{(shown.stdout + shown.stderr)[-800:]}")
    return float(wall), float(user) + float(system), int(kib)


def generate(steps, count, varied=None, folder="p"):
    folder = DATA / f"{folder}{steps}"
    run([sys.executable, HERE / "generate_procedures.py", folder, count, steps, varied or steps])
    return sorted(folder.glob("*.yaml"))


def alternate(ours, peer, times):
    """The medians of each column of both; one run of each goes before, to warm the caches."""
    ours(), peer()
    pairs = [(ours(), peer()) for _ in range(times)]
    return [[statistics.median(run[column] for run in side) for column in range(3)]
            for side in zip(*pairs)]


def print_row(what, value, limit, is_met, remark=""):
    print(f"{what:46} {value:>10} {limit:>10}  {'met' if is_met else 'MISSED':7} {remark}")


def bench_start():
    procedure = DATA / "small.yaml"
    procedure.write_text("procedure: small\ntitle: Small\nrevision: 1\nabout: One step.\n"
                         "steps:\n  - step: look\n    do: Look at it.\n")
    machine = DATA / "p40" / "machines" / "bench_engine.yaml"
    files = [SHIPPED / "safety.yaml", procedure, machine]
    start = [PROGRAM, "start", procedure, "-m", machine]
    ours, peer = alternate(lambda: measure("prompt", start, allowed=(1,)),
                           lambda: measure("prompt", [FOLDER / "bare_start",
                                                      DATA / "bare_start.sqlite", *files]), 31)
    ratio = ours[0] / peer[0]
    print_row("a  start to the first prompt, wall", f"{ratio:.2f}", "1.50", ratio <= 1.5,
              f"{ours[0] * 1e3:.1f} ms / {peer[0] * 1e3:.1f} ms, 31 pairs, {ours[2] / 1024:.1f} MiB; "
              f"user+sys {ours[1] * 1e3:.1f} ms / {peer[1] * 1e3:.1f} ms")


def bench_check(files):
    check = [PROGRAM, "check", "--quiet", *files]
    ours, peer = alternate(lambda: measure("end", check),
                           lambda: measure("end", [FOLDER / "bare_check", *files]), 5)
    size = sum(file.stat().st_size for file in files) / 1e6
    for column, name in ((0, "wall"), (1, "user+sys")):
        ratio = ours[column] / peer[column]
        print_row(f"b  check {len(files)} procedures, {size:.1f} MB, {name}", f"{ratio:.2f}", "2.00",
                  ratio <= 2, f"{ours[column]:.3f} s / {peer[column]:.3f} s, 5 pairs")
    mebibytes = ours[2] / 1024
    print_row("b  the same, resident at most, MiB", f"{mebibytes:.1f}", "64.0", mebibytes <= 64,
              f"bare {peer[2] / 1024:.1f}")


def bench_append():
    folder = DATA / "append"
    folder.mkdir()
    ours, peer, ours_processor, peer_processor = map(
        float, run([FOLDER / "append", folder, "1001"]))
    print_row("c  one durable answer, wall", f"{ours / peer:.2f}", "1.30", ours / peer <= 1.3,
              f"{ours * 1e6:.0f} us / {peer * 1e6:.0f} us, 1001 pairs; processor "
              f"{ours_processor * 1e6:.0f} us / {peer_processor * 1e6:.0f} us")


def check_proof(proof, files):
    return [FOLDER / "check_proof", proof, SHIPPED / "safety.yaml", *files]


def print_found(files):
    sound, unproven, states, most, orders = run(check_proof("with", files))
    print(f"   of {len(files)}: {sound} proven, {unproven} not; {states} states, {most} at most in "
          f"one; {orders} states with an order to make safe")


def bench_proof(files):
    """The same process with the proof and without it."""
    ours, peer = alternate(lambda: measure("end", check_proof("with", files)),
                           lambda: measure("end", check_proof("without", files)), 7)
    ratio = ours[0] / peer[0]
    print_row(f"e  check {len(files)} with the proof / without, wall", f"{ratio:.2f}", "1.50",
              ratio <= 1.5, f"{ours[0]:.3f} s / {peer[0]:.3f} s, 7 pairs; "
              f"{ours[2] / 1024:.1f} MiB / {peer[2] / 1024:.1f} MiB")
    print_found(files)


def optional_steps(count):
    """Each done or passed over, each with a fact of its own: nothing multiplies faster."""
    facts = "".join(f"  c{i}: {{restore: Undo it.}}\n" for i in range(count))
    steps = "".join(f"  - {{step: s{i}, do: Do it., optional: true, sets: [c{i}]}}\n"
                    for i in range(count))
    all_facts = ", ".join(f"c{i}" for i in range(count))
    path = DATA / f"optional_{count}.yaml"
    path.write_text(f"procedure: optional_{count}\ntitle: O\nrevision: 1\nabout: A.\n"
                    f"conditions:\n{facts}steps:\n{steps}"
                    f"  - {{step: all, do: Undo them., clears: [{all_facts}]}}\n")
    return path


def bench_optional():
    files = [optional_steps(count) for count in (17, 18)]
    fewer, more = files
    ours, peer = alternate(lambda: measure("end", check_proof("with", [more])),
                           lambda: measure("end", check_proof("with", [fewer])), 5)
    print_row("f  18 independent optional steps, seconds", f"{ours[0]:.2f}", "1.00", ours[0] <= 1,
              f"{ours[2] / 1024:.1f} MiB; {ours[0] / peer[0]:.2f} times what 17 took: {peer[0]:.2f} s, "
              f"{peer[2] / 1024:.1f} MiB")
    print_found([more])


def bench_proof_growth(sizes, files):
    rounds = [[measure("end", check_proof("with", files[steps])) for steps in sizes]
              for _ in range(9)]
    print_growth("check of 20 with the proof", sizes,
                 [statistics.median(row[1] for row in column) for column in zip(*rounds)])
    for steps, column in zip(sizes, zip(*rounds)):
        print(f"   {steps} steps: {max(row[2] for row in column) / 1024:.1f} MiB resident at most")
        print_found(files[steps])


def print_growth(what, sizes, costs):
    for before, after, cheap, dear in zip(sizes, sizes[1:], costs, costs[1:]):
        growth = dear / cheap
        print_row(f"d  {what}, {before} -> {after} steps", f"{growth:.2f}", "2.20", growth <= 2.2,
                  f"{cheap * 1e3:.1f} ms -> {dear * 1e3:.1f} ms")


def bench_growth():
    """Each size is measured in turn, round after round, and held against half of it."""
    sizes = (40, 80, 160, 320)
    files = {steps: generate(steps, 20, 40) if steps != 40 else sorted((DATA / "p40").glob("*.yaml"))[:20]
             for steps in sizes}
    rounds = [[measure("end", [PROGRAM, "check", "--quiet", *files[steps]])[1] for steps in sizes]
              for _ in range(9)]
    print_growth("check of 20, user+sys", sizes, [statistics.median(c) for c in zip(*rounds)])
    bench_proof_growth(sizes, files)
    bench_job_growth(sizes)


def bench_job_growth(sizes):
    """Of steps that are all alike in what they ask: with the varied ones, which the first 40 of every
    size would be, twice the steps are two and a half times the answers."""
    for steps in sizes:
        generate(steps, 1, 1, "even")
    rounds = []
    for _ in range(5):
        row = []
        for steps in sizes:
            ENVIRONMENT["BANKSMAN_PATH"] = str(DATA / f"even{steps}")
            shutil.rmtree(DATA / "home", ignore_errors=True)
            row.append(measure("end", [PROGRAM, "start", "--answers", f"bench_{steps}_0000"])[1])
        rounds.append(row)
    print_growth("a job from answers, user+sys", sizes, [statistics.median(c) for c in zip(*rounds)])


def main():
    shutil.rmtree(DATA, ignore_errors=True)
    DATA.mkdir(parents=True)
    files = generate(40, 1000)
    print(f"{'what':46} {'value':>10} {'limit':>10}")
    failed = False
    for bench in (bench_start, lambda: bench_check(files), bench_append,
                  lambda: bench_proof(files), bench_optional, bench_growth):
        try:
            bench()
        except CouldNotRun as reason:
            failed = True
            print(f"could not run: {reason}")
    return 3 if failed else 0


sys.exit(main())

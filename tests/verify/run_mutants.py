#!/usr/bin/env python3
"""Puts faults into the prover, one at a time, and sees whether the random procedures notice.

    run_mutants.py VERDICTS MUTANTS WORK -- CC FLAGS... -- OBJECTS... LIBRARIES...

VERDICTS  what `prove` wrote: a seed and SPIN's verdict on each line
MUTANTS   the list of faults (tests/verify/mutants/list.txt says how it is written)
WORK      a folder for what is built

A mutant is killed when a verdict is no longer SPIN's, when a path is longer than SPIN's, or when
the prover stops with an error or does not stop.  Every mutant must be killed, but for those that are
said to be equivalent, and those must not be.
"""
import os
import re
import subprocess
import sys

SECONDS = 300


def read_list(path):
    """The mutants: dicts of name, file, why, equivalent, old and new."""
    mutants = []
    part = None
    with open(path, encoding="utf-8") as lines:
        for line in lines:
            if line.startswith("# ") and part in (None, "head"):
                continue
            if line.startswith("== "):
                mutants.append({"name": line[3:].strip(), "old": "", "new": "", "equivalent": ""})
                part = "head"
            elif line.rstrip("\n") == "--- old":
                part = "old"
            elif line.rstrip("\n") == "+++ new":
                part = "new"
            elif line.rstrip("\n") == "===":
                part = None
            elif part in ("old", "new"):
                mutants[-1][part] += line
            elif part == "head" and ":" in line:
                key, value = line.split(":", 1)
                mutants[-1][key.strip()] = value.strip()
    return mutants


def mutated(mutant):
    """The text of the file with the fault in it."""
    with open(mutant["file"], encoding="utf-8") as file:
        text = file.read()
    if text.count(mutant["old"]) != 1:
        sys.exit("%s: its text stands %d times in %s" %
                 (mutant["name"], text.count(mutant["old"]), mutant["file"]))
    return text.replace(mutant["old"], mutant["new"])


def run_mutant(mutant, verdicts, work, compiler, objects):
    """What the procedures say about it: a sentence, and whether it was killed."""
    name = re.sub(r"\W+", "_", mutant["name"])
    source = os.path.join(work, name + ".c")
    program = os.path.join(work, name)
    with open(source, "w", encoding="utf-8") as file:
        file.write(mutated(mutant))
    folder = os.path.dirname(mutant["file"])
    # the object with the fault stands before the library, so its own is not taken
    subprocess.run(compiler + ["-w", "-I" + folder, source, "-o", program] + objects, check=True)
    try:
        run = subprocess.run([program, verdicts], capture_output=True, text=True, timeout=SECONDS,
                             check=False)
    except subprocess.TimeoutExpired:
        return "did not end", True
    if run.returncode != 0:
        return "stopped with an error", True
    asked, changed, longer = (int(n) for n in re.findall(r"\d+", run.stdout)[:3])
    return "%d of %d verdicts changed, %d paths longer" % (changed, asked, longer), \
        changed + longer > 0


def main():
    arguments = sys.argv[1:]
    first = arguments.index("--")
    second = arguments.index("--", first + 1)
    verdicts, listed, work = arguments[:first]
    compiler, objects = arguments[first + 1:second], arguments[second + 1:]
    os.makedirs(work, exist_ok=True)
    sound = {"name": "as it is", "file": "src/verify/verify.c", "old": "", "new": ""}
    with open(sound["file"], encoding="utf-8") as file:
        sound["old"] = sound["new"] = file.read()
    words, is_killed = run_mutant(sound, verdicts, work, compiler, objects)
    print("%-40s %s" % ("without any fault:", words))
    if is_killed:
        sys.exit("the prover and SPIN do not agree to begin with")
    killed = equivalent = 0
    wrong = []
    mutants = read_list(listed)
    for mutant in mutants:
        words, is_killed = run_mutant(mutant, verdicts, work, compiler, objects)
        print("%-40s %s%s" % (mutant["name"] + ":", words,
                              " (equivalent)" if mutant["equivalent"] else ""))
        sys.stdout.flush()
        if mutant["equivalent"]:
            equivalent += 1
        else:
            killed += is_killed
        if is_killed == bool(mutant["equivalent"]):
            wrong.append(mutant["name"])
    print("%d mutants: %d killed, %d equivalent" % (len(mutants), killed, equivalent))
    if wrong:
        sys.exit("not as it must be: " + ", ".join(wrong))


if __name__ == "__main__":
    main()

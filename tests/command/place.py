"""A place to test in, what is required there, and the run of the tests."""
import json
import os
import pathlib
import re
import shutil
import sqlite3
import subprocess
import sys
import tempfile
import time
import traceback

from person import Person, Stuck

PROGRAM = str(pathlib.Path(sys.argv[1]).resolve())
TREE = pathlib.Path(__file__).resolve().parent.parent.parent
VAN = ["start", "compression_test", "-m", "rookdale_van"]

SOUND = """\
procedure: sound
title: Read the pressure
revision: 1
about: One reading.
steps:
  - step: read
    do: Read the gauge.
    record: {pressure: {unit: bar, between: [0 bar, 25 bar]}}
"""

tests = []


def test(function):
    tests.append(function)
    return function


# --- a place to stand -------------------------------------------------------------------------

class Bench:
    """A home, a folder to stand in, and the processes begun there."""

    def __init__(self):
        self.folder = pathlib.Path(tempfile.mkdtemp(prefix="banksman-command-"))
        self.home = self.folder / "home"
        self.people = []
        self.environment = {"PATH": os.environ["PATH"], "BANKSMAN_HOME": str(self.home),
                            "HOME": str(self.folder), "TERM": "xterm", "LC_ALL": "C.UTF-8",
                            # a fault found by a sanitizer is not taken for the answer no
                            "ASAN_OPTIONS": "exitcode=99", "UBSAN_OPTIONS": "exitcode=99"}

    def leave(self):
        for person in self.people:
            person.leave()
        shutil.rmtree(self.folder, ignore_errors=True)

    def run(self, *arguments, timeout=60, **environment):
        done = subprocess.run([PROGRAM, *map(str, arguments)], cwd=self.folder,
                              stdin=subprocess.DEVNULL, capture_output=True, text=True,
                              errors="replace", timeout=timeout,
                              env={**self.environment, **environment})
        done.all = done.stdout + done.stderr
        return done

    def sit_down(self, *arguments, columns=80, rows=40, echo=True, **environment):
        person = Person(PROGRAM, list(arguments), {**self.environment, **environment},
                        self.folder, columns, rows, echo)
        self.people.append(person)
        return person

    def write(self, name, text):
        path = self.folder / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(text)
        return path

    def events(self, job=1):
        """From the record, read by another program than the one that wrote it."""
        database = sqlite3.connect(f"file:{self.home / 'record.sqlite'}?mode=ro", uri=True)
        try:
            rows = database.execute("SELECT body FROM event WHERE job = ? ORDER BY number", (job,))
            return [json.loads(body) for (body,) in rows]
        finally:
            database.close()

    def shorten_waits(self):
        """The demo's parts in ./procedures, their minutes of waiting made a second; the rest is
        found where it ships."""
        for part in ("battery_ready", "start_and_leak_check"):
            text = (TREE / "procedures" / f"{part}.yaml").read_text()
            shorter = re.sub(r"at_least: \d+ min", "at_least: 1 s", text)
            require(shorter != text, f"{part} waits for nothing any more")
            self.write(f"procedures/{part}.yaml", shorter)


class Failed(Exception):
    pass


def require(is_right, words):
    if not is_right:
        raise Failed(words)


def require_status(done, status):
    require(done.returncode == status,
            f"exit status {done.returncode}, not {status}: {done.all[-1200:]}")


def require_words(text, *words):
    flat = " ".join(text.split())
    for word in words:
        require(word in flat, f"{word!r} is not in: {text[-2500:]}")


# --- running ----------------------------------------------------------------------------------

def run_tests():
    wanted = sys.argv[2] if len(sys.argv) > 2 else ""
    passed = failed = 0
    for function in tests:
        if wanted not in function.__name__:
            continue
        name = function.__name__.replace("_", " ")
        bench = Bench()
        began = time.monotonic()
        try:
            function(bench)
            passed += 1
        except (Failed, Stuck) as reason:
            failed += 1
            print(f"failed: {name}\n    {reason}")
        except Exception:
            failed += 1
            print(f"failed: {name}\n{traceback.format_exc()}")
        finally:
            bench.leave()
        if os.environ.get("SHOW_TIMES"):
            print(f"{time.monotonic() - began:6.2f} s  {name}")
    print(f"{passed} passed, {failed} failed")
    return 1 if failed or passed == 0 else 0

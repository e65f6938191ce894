"""Puts every worked case of a published source through the whole program.

    python3 tests/published/run_cases.py PROGRAM

Each answers file names its source in its first lines and says what must come out; the program
compares.  To show that the comparison bites, one case is also run with a wrong expectation.
"""
import os
import pathlib
import subprocess
import sys
import tempfile

here = pathlib.Path(__file__).resolve().parent
program = os.path.abspath(sys.argv[1])


def run(answers, home):
    environment = dict(os.environ, BANKSMAN_HOME=home, BANKSMAN_PATH=str(here))
    return subprocess.run([program, "start", "--answers", str(answers)], env=environment,
                          cwd=home, stdin=subprocess.DEVNULL, capture_output=True, text=True)


passed = failed = 0
with tempfile.TemporaryDirectory() as home:
    for answers in sorted((here / "answers").glob("*.yaml")):
        outcome = run(answers, home)
        if outcome.returncode == 0 and not outcome.stderr:
            passed += 1
        else:
            failed += 1
            print(f"failed: {answers.name}\n{outcome.stderr}")
    case = here / "answers" / "tm_5_4210_just_out.yaml"
    wrong = pathlib.Path(home) / "wrong.yaml"
    wrong.write_text(case.read_text().replace("verdict: fail", "verdict: pass"))
    if run(wrong, home).returncode == 1:
        passed += 1
    else:
        failed += 1
        print("failed: a wrong expectation was not noticed")
print(f"{passed} passed, {failed} failed")
sys.exit(failed > 0)

"""What the scripts here share: questions to tell_numbers, a count of checks, polite ways out."""
import math
import subprocess
import sys

EPSILON = sys.float_info.epsilon


def skip(what):
    print(f"skipped: {what}")
    sys.exit(0)


def ask(teller, questions):
    """All answers at once, each a list of numbers; None where a value is missing."""
    done = subprocess.run([teller], input="\n".join(questions) + "\n", capture_output=True, text=True,
                          check=False)
    if done.returncode != 0:
        sys.exit(done.stderr)
    answers = [None if line == "missing" else [float(word) for word in line.split()]
               for line in done.stdout.splitlines()]
    if len(answers) != len(questions):
        sys.exit(f"{len(questions)} questions, {len(answers)} answers")
    return answers


def words(*numbers):
    return " ".join("-" if x is None else repr(float(x)) for x in numbers)


class Checks:
    """Counts what was compared, and says what did not agree."""

    def __init__(self):
        self.sections = []
        self.failed = 0

    def begin(self, title):
        self.sections.append([title, 0, None])

    def near(self, what, ours, theirs, relative, absolute=0.0):
        """`absolute` besides: for differences of larger numbers, whose own rounding is not ours."""
        section = self.sections[-1]
        section[1] += 1
        apart = abs(ours - theirs)
        section[2] = section[2] or 0.0
        if ours == theirs or math.isnan(ours) and math.isnan(theirs):
            return
        if theirs != 0 and math.isfinite(apart):
            section[2] = max(section[2], max(apart - absolute, 0) / abs(theirs))
        if not apart <= relative * abs(theirs) + absolute:
            self.failed += 1
            print(f"DIFFERS {what}: {ours!r}, outside {theirs!r}")

    def true(self, what, is_so):
        self.sections[-1][1] += 1
        if not is_so:
            self.failed += 1
            print(f"DIFFERS {what}")

    def end(self):
        for title, count, apart in self.sections:
            print(f"{title}: {count} compared"
                  + ("" if apart is None else f", at most {apart:.1e} apart beyond rounding"))
        print(f"{sum(s[1] for s in self.sections)} compared, {self.failed} differ")
        sys.exit(1 if self.failed else 0)

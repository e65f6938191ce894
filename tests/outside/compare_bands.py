#!/usr/bin/python3
"""Bands of random expressions against two methods from outside the project: the package uncertainties
(the same first order, another hand) and Monte Carlo (JCGM 101:2008, no order at all).

    compare_bands.py PROGRAM TELLER [HOW_MANY [SEED]]

With the first every expression must agree: to the precision of doubles in the library, to the last
digit shown in the program.  With the second, on every tenth of them, some do not: they are listed with
what makes them so, and the table in docs/expressions.md must have a row for that.  Not part of
`make test`; without the packages it says so and is content.
"""
import concurrent.futures
import math
import os
import pathlib
import random
import re
import subprocess
import sys

import outside

try:
    import numpy
    import uncertainties
    from scipy import stats
    from uncertainties import umath
except ImportError as missing:
    outside.skip(missing)

DRAWS = 200_000
DRAWN_EVERY = 10
FAR = 0.05
NORMAL_95 = 1.96  # what a stated half width is divided by
COVERAGE = stats.norm.ppf(0.975)
DOCUMENT = pathlib.Path(__file__).resolve().parents[2] / "docs" / "expressions.md"


class Leaf:
    def __init__(self, dice):
        self.value = round(dice.uniform(-20, 20), 2)
        part = dice.choice((0, 0.01, 0.05, 0.2))
        self.half = round(abs(self.value) * part + 0.01, 3) if part else 0

    def written(self):
        return f"({self.value} ± {self.half})" if self.half else f"({self.value})"

    def first_order(self):
        return uncertainties.ufloat(self.value, self.half / NORMAL_95) if self.half else self.value

    def drawn(self, generator, _causes):
        if not self.half:
            return numpy.full(DRAWS, self.value)
        return generator.normal(self.value, self.half / NORMAL_95, DRAWS)


class Form:
    """How it is written, what it does to numbers of the package and to columns of draws, and the
    beginning of its row where docs/expressions.md says that first order is off."""

    def __init__(self, count, written, exact, columns=None, row=None):
        self.count, self.written, self.exact, self.row = count, written, exact, row
        self.columns = columns or exact


FORMS = (
    Form(2, "({} + {})", lambda a, b: a + b),
    Form(2, "({} - {})", lambda a, b: a - b),
    Form(2, "({} * {})", lambda a, b: a * b, row="`x * y`"),
    Form(2, "({} / {})", lambda a, b: a / b, row="`1 / x`"),
    Form(1, "({})^2", lambda a: a ** 2, row="`x^2`"),
    Form(1, "({})^3", lambda a: a ** 3, row="`x^3`"),
    Form(1, "abs({})", abs, numpy.abs, row="`abs(x)`"),
    Form(1, "(-{})", lambda a: -a),
    Form(3, "mean({}, {}, {})", lambda *x: sum(x) / 3),
    Form(2, "min({}, {})", min, numpy.minimum, row="`min` "),
    Form(2, "max({}, {})", max, numpy.maximum, row="`min` "),
)
ROOT = Form(1, "sqrt({})", lambda a: umath.sqrt(a), numpy.sqrt, row="`sqrt(x)`")
ABSOLUTE = FORMS[6]


class Call:
    def __init__(self, dice, depth):
        choice = dice.randrange(len(FORMS) + 1)
        if choice == len(FORMS):  # roots of what cannot be negative
            self.form = ROOT
            self.parts = [Call.of(ABSOLUTE, [grow(dice, depth - 1)])]
        else:
            self.form = FORMS[choice]
            self.parts = [grow(dice, depth - 1) for _ in range(self.form.count)]

    @staticmethod
    def of(form, parts):
        call = Call.__new__(Call)
        call.form, call.parts = form, parts
        return call

    def written(self):
        return self.form.written.format(*(part.written() for part in self.parts))

    def first_order(self):
        return self.form.exact(*(part.first_order() for part in self.parts))

    def drawn(self, generator, causes):
        """What is drawn; how far this call alone bends it goes to `causes`."""
        columns = [part.drawn(generator, causes) for part in self.parts]
        result = self.form.columns(*columns)
        if self.form.row:
            causes.append((self.bend(columns, result), self.form.row))
        return result

    def bend(self, columns, result):
        """Half the interval of this call on the draws, against that of its slope on the same draws."""
        centres = [uncertainties.ufloat(nominal(part.first_order()), 1) for part in self.parts]
        value = self.form.exact(*centres)
        straight = sum(value.derivatives.get(centre, 0) * (column - centre.nominal_value)
                       for centre, column in zip(centres, columns))
        half = half_of_interval(result)
        if half == 0:
            return 0
        return abs(half_of_interval(straight) / half - 1)


def grow(dice, depth):
    return Leaf(dice) if depth == 0 or dice.random() < 0.2 else Call(dice, depth)


def nominal(x):
    return getattr(x, "nominal_value", x)


def half_of_interval(draws):
    """Half the interval that leaves 2.5 % of the draws out on each side (JCGM 101:2008, 7.7)."""
    low, high = numpy.quantile(draws, (0.025, 0.975))
    return (high - low) / 2


def random_expressions(how_many, dice):
    """Those that have a band, and no number that a person would not write."""
    found = []
    while len(found) < how_many:
        tree = Call(dice, 3)
        try:
            outcome = tree.first_order()
        except (ZeroDivisionError, ValueError):
            continue
        if (isinstance(outcome, uncertainties.UFloat) and 1e-4 < abs(outcome.nominal_value) < 1e5
                and 1e-4 < outcome.std_dev < 1e5):
            found.append((tree, outcome))
    return found


# --- the library, to the precision of doubles --------------------------------------------------

def largest_inside(tree):
    """The largest number on the way: its rounding is no fault of the last step."""
    try:
        here = abs(nominal(tree.first_order()))
    except (ZeroDivisionError, ValueError):
        here = 0
    return max([here] + [largest_inside(part) for part in getattr(tree, "parts", ())])


def compare_library(teller, expressions, checks):
    checks.begin("values of random expressions")
    answers = outside.ask(teller, [f"calc {tree.written()}" for tree, _ in expressions])
    for (tree, theirs), (value, _, _) in zip(expressions, answers):
        noise = 16 * outside.EPSILON * largest_inside(tree)
        checks.near(tree.written(), value, theirs.nominal_value, 16 * outside.EPSILON, noise)
    checks.begin("standard uncertainties")
    for (tree, theirs), (_, combined, _) in zip(expressions, answers):
        checks.near(tree.written(), combined, theirs.std_dev, 1e-12)
    checks.begin("bands of 95 %")
    for (tree, theirs), (_, _, expanded) in zip(expressions, answers):
        checks.near(tree.written(), expanded, COVERAGE * theirs.std_dev, 1e-12)


# --- the program, to the digits it shows --------------------------------------------------------

def calc(program, expression):
    done = subprocess.run([program, "calc", "--", expression], capture_output=True, text=True,
                          timeout=60, check=False)
    return done.stdout.replace("\u00a0", " ").strip()


def shown_as_it_should_be(shown, theirs):
    """(VALUE ± BAND), the band with two digits, to the nearest or upwards where that would make it
    more than 1/40 too small (JCGM 100:2008, 7.2.6), the value to the same place (7.2.2)."""
    found = re.fullmatch(r"\((-?[0-9.]+) ± ([0-9.]+)\)", shown)
    if not found:
        return False
    value, band = (float(word) for word in found.groups())
    exact = COVERAGE * theirs.std_dev
    place = 10.0 ** (math.floor(math.log10(band)) - 1)
    return (-1 / 40 - 1e-9 <= band / exact - 1 and band - exact < place * (1 + 1e-9)
            and abs(value - theirs.nominal_value) <= place / 2 * (1 + 1e-9))


def compare_program(program, expressions, checks):
    checks.begin("answers of the program, to their last digit")
    with concurrent.futures.ThreadPoolExecutor(os.cpu_count()) as pool:
        shown = pool.map(lambda pair: calc(program, pair[0].written()), expressions)
        for (tree, theirs), answer in zip(expressions, shown):
            checks.true(f"{tree.written()}: {answer}, outside {theirs}",
                        shown_as_it_should_be(answer, theirs))


# --- Monte Carlo -------------------------------------------------------------------------------

def rows_of_document():
    """The first column of the table under "Where first order is off"."""
    section = DOCUMENT.read_text(encoding="utf-8").split("### Where first order is off")[1]
    table = section.split("\n#")[0]
    return [line[2:].split(" | ")[0] for line in table.splitlines() if line.startswith("| ")]


def compare_draws(expressions, checks):
    checks.begin("what first order is off by has its row in docs/expressions.md")
    generator = numpy.random.default_rng(1)
    rows, counts, examples = rows_of_document(), {}, {}
    sample = expressions[::DRAWN_EVERY]
    for tree, theirs in sample:
        causes = []
        drawn = half_of_interval(tree.drawn(generator, causes))
        first = COVERAGE * theirs.std_dev
        if abs(first / drawn - 1) <= FAR:
            continue
        bend, row = max(causes, default=(0, None))
        checks.true(f"{tree.written()}: first order {first:.3g}, drawn {drawn:.3g}, and the document "
                    f"does not say why ({row}, {bend:.2g})",
                    row is not None and bend > FAR / 3
                    and any(there.startswith(row) for there in rows))
        counts[row] = counts.get(row, 0) + 1
        examples.setdefault(row, []).append(f"  drawn {drawn / first:.2f} bands: {tree.written()}")
    print(f"{len(sample)} expressions drawn {DRAWS} times each: first order is off by more than 5 % in "
          f"{sum(counts.values())}")
    for row, count in sorted(counts.items(), key=lambda pair: -pair[1]):
        print(f" {row.strip()}: {count}, such as")
        print("\n".join(examples[row][:2]))


# --- the document's own figures --------------------------------------------------------------------

def drawn_over_first(function, halves, centres, generator):
    """Drawn over first order, both half intervals; every x has its centre and its half width."""
    columns = [generator.normal(c, h / COVERAGE, 2_000_000) for c, h in zip(centres, halves)]
    symbols = [uncertainties.ufloat(c, h / COVERAGE) for c, h in zip(centres, halves)]
    first = function[1](*symbols).std_dev * COVERAGE
    return half_of_interval(function[0](*columns)) / first


INVERSE = (lambda x: 1 / x, lambda x: 1 / x)
SQUARE_ROOT = (lambda x: numpy.sqrt(numpy.maximum(x, 0)), umath.sqrt)
PRODUCT = (lambda x, y: x * y, lambda x, y: x * y)
SQUARE = (lambda x: x ** 2, lambda x: x ** 2)
CUBE = (lambda x: x ** 3, lambda x: x ** 3)
LEAST = (lambda *x: numpy.minimum.reduce(x), min)
DOCUMENTED = (
    ("`1 / x`", "20 %", INVERSE, (0.2,), (1,), 1.04),
    ("`1 / x`", "25 %", INVERSE, (0.25,), (1,), 1.07),
    ("`1 / x`", "30 %", INVERSE, (0.3,), (1,), 1.10),
    ("`sqrt(x)`", "50 %", SQUARE_ROOT, (0.5,), (1,), 1.04),
    ("`sqrt(x)`", "60 %", SQUARE_ROOT, (0.6,), (1,), 1.05),
    ("`sqrt(x)`", "80 %", SQUARE_ROOT, (0.8,), (1,), 1.12),
    ("`x * y`", "100 %", PRODUCT, (1, 1), (1, 1), 1.04),
    ("`x^2`", "150 %", SQUARE, (1.5,), (1,), 1.04),
    ("`x^2`", "200 %", SQUARE, (2,), (1,), 1.12),
    ("`x^3`", "35 %", CUBE, (0.35,), (1,), 1.04),
    ("`x^3`", "50 %", CUBE, (0.5,), (1,), 1.08),
    ("`min` of two that are equal", "1", LEAST, (1, 1), (0, 0), 0.83),
    ("`min` of two that are equal", "four", LEAST, (1,) * 4, (0,) * 4, 0.70),
    ("`min` of two that are equal", "six", LEAST, (1,) * 6, (0,) * 6, 0.65),
    ("`min` where the runner-up is as uncertain", "1", LEAST, (1, 1), (0, 1), 0.94),
    ("`min` where the runner-up is equal", "twice", LEAST, (1, 2), (0, 0), 1.33),
    ("`min` where the runner-up is equal", "three", LEAST, (1, 3), (0, 0), 1.86),
    ("`min` where the runner-up is equal", "ten", LEAST, (1, 10), (0, 0), 5.4),
)


def compare_document(checks):
    checks.begin("figures of docs/expressions.md, drawn")
    generator = numpy.random.default_rng(2)
    lines = DOCUMENT.read_text(encoding="utf-8").splitlines()
    for row, which, function, halves, centres, printed in DOCUMENTED:
        line = next((line for line in lines if line.startswith("| ") and row in line), "")
        drawn = drawn_over_first(function, halves, centres, generator)
        last = 0.1 if printed > 5 else 0.01
        checks.true(f"{row} {which}: drawn {drawn:.3f}, printed {printed}",
                    abs(drawn - printed) <= 0.7 * last
                    and re.search(f"\\b{printed:.2f}".rstrip("0") + r"0?\b", line))


def main():
    program, teller = sys.argv[1:3]
    how_many = int(sys.argv[3]) if len(sys.argv) > 3 else 10_000
    dice = random.Random(int(sys.argv[4]) if len(sys.argv) > 4 else 1)
    checks = outside.Checks()
    expressions = random_expressions(how_many, dice)
    compare_library(teller, expressions, checks)
    compare_program(program, expressions, checks)
    compare_draws(expressions, checks)
    compare_document(checks)
    checks.end()


if __name__ == "__main__":
    main()

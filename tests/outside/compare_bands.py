#!/usr/bin/env python3
"""Bands of random expressions against two methods from outside the project: the package uncertainties
(the same first order, another hand) and Monte Carlo (JCGM 101:2008, no order at all).

    compare_bands.py PROGRAM [HOW_MANY [SEED]]

With the first every expression must agree.  With the second many do not, and are only listed:
docs/expressions.md says where and why.  Not part of `make test`; without the packages it says so and
is content.
"""
import random
import re
import subprocess
import sys

try:
    import numpy
    import uncertainties
    from uncertainties import umath
except ImportError as missing:
    print(f"skipped: {missing}")
    sys.exit(0)

DRAWS = 200_000
NORMAL_95 = 1.96


class Leaf:
    def __init__(self, dice):
        self.value = round(dice.uniform(-20, 20), 2)
        self.half = round(abs(self.value) * dice.choice((0.01, 0.05, 0.2)) + 0.01, 3)

    def written(self):
        return f"({self.value} ± {self.half})"

    def first_order(self):
        return uncertainties.ufloat(self.value, self.half / NORMAL_95)

    def drawn(self, generator):
        return generator.normal(self.value, self.half / NORMAL_95, DRAWS)


class Call:
    """How it is written, and what it does to numbers of the package and to columns of draws."""
    FORMS = (
        (2, "({} + {})", lambda a, b: a + b, lambda a, b: a + b),
        (2, "({} - {})", lambda a, b: a - b, lambda a, b: a - b),
        (2, "({} * {})", lambda a, b: a * b, lambda a, b: a * b),
        (2, "({} / {})", lambda a, b: a / b, lambda a, b: a / b),
        (1, "({})^2", lambda a: a ** 2, lambda a: a ** 2),
        (1, "sqrt(abs({}))", lambda a: umath.sqrt(abs(a)), lambda a: numpy.sqrt(numpy.abs(a))),
        (1, "(-{})", lambda a: -a, lambda a: -a),
        (3, "mean({}, {}, {})", lambda *x: sum(x) / 3, lambda *x: sum(x) / 3),
        (2, "min({}, {})", min, numpy.minimum),
        (2, "max({}, {})", max, numpy.maximum),
    )

    def __init__(self, dice, depth):
        count, self.form, self.exact, self.columns = dice.choice(self.FORMS)
        self.parts = [grow(dice, depth - 1) for _ in range(count)]

    def written(self):
        return self.form.format(*(part.written() for part in self.parts))

    def first_order(self):
        return self.exact(*(part.first_order() for part in self.parts))

    def drawn(self, generator):
        return self.columns(*(part.drawn(generator) for part in self.parts))


def grow(dice, depth):
    return Leaf(dice) if depth == 0 or dice.random() < 0.2 else Call(dice, depth)


def calc(program, expression):
    done = subprocess.run([program, "calc", expression], capture_output=True, text=True,
                          timeout=10, check=False)
    return done.stdout.replace("\u00a0", " ").strip()


def number(words):
    found = re.match(r"\(?(-?[0-9.]+(?:e[+-]?[0-9]+)?)", words)
    return float(found.group(1)) if found else None


def half_of_interval(draws):
    """Half the interval that leaves 2.5 % of the draws out on each side (JCGM 101:2008, 7.7)."""
    low, high = numpy.quantile(draws, (0.025, 0.975))
    return (high - low) / 2


def main():
    program = sys.argv[1]
    how_many = int(sys.argv[2]) if len(sys.argv) > 2 else 300
    dice = random.Random(int(sys.argv[3]) if len(sys.argv) > 3 else 1)
    generator = numpy.random.default_rng(1)
    differ = far = compared = 0
    while compared < how_many:
        tree = Call(dice, 3)
        expression = tree.written()
        try:
            outside = tree.first_order()
        except (ZeroDivisionError, ValueError):
            continue
        if not 1e-4 < abs(outside.nominal_value) < 1e5 or not 1e-4 < outside.std_dev < 1e5:
            continue
        compared += 1
        ours = number(calc(program, f"uncertainty({expression})"))
        shown = calc(program, expression)
        value, half = number(shown), number(shown.partition("±")[2].strip() or "none")
        place = 0 if half is None else 0.5 * 10.0 ** (numpy.floor(numpy.log10(half)) - 1)
        if (ours is None or value is None or half is None
                or abs(ours - outside.std_dev) > 2e-5 * outside.std_dev
                or abs(value - outside.nominal_value) > place * 1.0001
                or not -0.026 < half / (NORMAL_95 * outside.std_dev) - 1 < 0.1):
            differ += 1
            print(f"DIFFERS {expression}: {shown}, u {ours}; outside {outside}, "
                  f"u {outside.std_dev}")
        drawn = half_of_interval(tree.drawn(generator))
        if abs(NORMAL_95 * outside.std_dev / drawn - 1) > 0.05:
            far += 1
            if far <= 20:
                print(f"first order {NORMAL_95 * outside.std_dev:.3g}, drawn {drawn:.3g}: "
                      f"{expression}")
    print(f"{compared} expressions: {differ} differ from the package; in {far} first order is off "
          "by more than 5 % from what was drawn")
    sys.exit(1 if differ else 0)


if __name__ == "__main__":
    main()

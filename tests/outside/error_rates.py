#!/usr/bin/python3
"""How often a trial says "changed by more" when the treatment did nothing, and how often it sees an
effect of the size that it called the smallest: many trials drawn here, judged by the product.

    error_rates.py TELLER [HOW_MANY [SEED]]

Readings scatter normally around their position; from before to after every position drifts by an amount
of its own, whose standard deviation is given in that of a reading.  A share fails if it lies above 5 %
by more than chance allows: if the lower 99.9 % bound (Clopper and Pearson) does.  Not part of `make
test`; without the packages it says so and is content.
"""
import math
import sys

import outside

try:
    import numpy
    from scipy import stats
except ImportError as missing:
    outside.skip(missing)

NOMINAL = 0.05
SURE = 0.999
DRIFTS = (0, 0.5, 1, 1.5, 2, 3, 10)
# treated, untreated, readings each time
DESIGNS = ((2, 2, 3), (3, 3, 2), (1, 3, 3), (2, 4, 1), (1, 2, 3), (1, 5, 2), (2, 3, 3), (2, 4, 3), (2, 6, 3),
           (4, 2, 3), (6, 2, 3), (3, 5, 2), (3, 9, 2), (2, 6, 1), (3, 3, 1), (1, 3, 1))


def draw(generator, design, drift, effect, how_many):
    """Questions, one for each trial."""
    treated, untreated, readings = design
    positions = treated + untreated
    own = generator.normal(0, drift, (how_many, positions)) if drift else numpy.zeros((how_many,
                                                                                      positions))
    own[:, :treated] += effect
    before = generator.normal(0, 1, (how_many, positions, readings))
    after = generator.normal(0, 1, (how_many, positions, readings)) + own[:, :, None]
    both = numpy.concatenate((before, after), axis=2)
    heads = [f"{int(i < treated)} {readings} {readings} " for i in range(positions)]
    form = "judge " + " ".join(head + "%.8g " * (2 * readings) for head in heads)
    return [form % tuple(trial) for trial in both.reshape(how_many, -1).tolist()]


def count_seen(teller, generator, design, drift, effect, how_many):
    seen = 0
    for begin in range(0, how_many, 5000):
        some = min(5000, how_many - begin)
        answers = outside.ask(teller, draw(generator, design, drift, effect, some))
        seen += sum(verdict >= 2 for verdict, *_ in answers)
    return seen


def bounds(seen, how_many):
    """One-sided both, each with SURE."""
    low = stats.beta.ppf(1 - SURE, seen, how_many - seen + 1) if seen else 0
    high = stats.beta.ppf(SURE, seen + 1, how_many - seen) if seen < how_many else 1
    return low, high


def name(design):
    return "{} treated, {} untreated, {} readings".format(*design)


def compare_false_alarms(teller, generator, how_many, checks):
    checks.begin(f"false alarms, {how_many} trials of each design and drift")
    print("Nothing to be found: share that 'changed by more', by drift of the positions "
          f"({', '.join(str(drift) for drift in DRIFTS)})")
    for design in DESIGNS:
        drifts = DRIFTS if design[2] > 1 else (0, 3)
        shares = []
        highest = 0
        for drift in drifts:
            seen = count_seen(teller, generator, design, drift, 0, how_many)
            low, high = bounds(seen, how_many)
            highest = max(highest, high)
            shares.append(f"{100 * seen / how_many:.2f}")
            checks.true(f"{name(design)}, drift {drift}: {seen} of {how_many}", low <= NOMINAL)
        print(f"  {name(design)}: {' '.join(shares)} %; with 99.9 % none above {100 * highest:.2f} %")


def compare_power(teller, generator, how_many, checks):
    checks.begin("the smallest effect, seen half the time")
    print("An effect of the size foreseen as the smallest, no drift: share seen")
    for design in DESIGNS:
        treated, untreated, readings = design
        if readings == 1:
            continue
        freedom = (treated + untreated) * 2 * (readings - 1)
        question = f"foresee {treated} {untreated} {readings} {readings} 1 {freedom}"
        smallest = outside.ask(teller, [question])[0][0]
        seen = count_seen(teller, generator, design, 0, smallest, how_many)
        print(f"  {name(design)}: {smallest:.2f} standard deviations of a reading, seen "
              f"{100 * seen / how_many:.1f} %")
        checks.true(f"{name(design)}: {seen} of {how_many}", abs(seen / how_many - 0.5) < 0.05)


def main():
    teller = sys.argv[1]
    how_many = int(sys.argv[2]) if len(sys.argv) > 2 else 20_000
    generator = numpy.random.default_rng(int(sys.argv[3]) if len(sys.argv) > 3 else 1)
    checks = outside.Checks()
    compare_false_alarms(teller, generator, how_many, checks)
    compare_power(teller, generator, how_many, checks)
    checks.end()


if __name__ == "__main__":
    main()

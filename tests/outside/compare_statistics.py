#!/usr/bin/python3
"""What the product says of Student's distribution, bands, conformity and trials, against scipy.stats
and, where Rscript is there, R.

    compare_statistics.py TELLER

The tolerances are those of double precision: a few units of the last place, more only where the outside
method says itself that it has less.  Not part of `make test`; without scipy it says so and is content.
"""
import math
import random
import shutil
import subprocess
import sys
import tempfile

import outside

try:
    import numpy
    from scipy import stats
except ImportError as missing:
    outside.skip(missing)

PASS, FAIL, TOO_CLOSE = range(3)
NONE, INCONCLUSIVE, ROSE, FELL = range(4)


def student_cases(dice):
    """From one degree of freedom up to where the product takes the normal distribution instead."""
    freedoms = [1, 1.5, 2, 3, 4, 5, 7.25, 10, 15.533, 30, 99.9, 326, 1e3, 1e4, 1e5, 9.9e5]
    freedoms += [math.exp(dice.uniform(0, math.log(1e6))) for _ in range(150)]
    for freedom in freedoms:
        yield freedom, dice.uniform(-8, 8), dice.uniform(1e-4, 1 - 1e-4)
        yield freedom, dice.uniform(-2, 2), 0.975


class Precise:
    """scipy's quantile of Student's distribution stops at nine digits, its probability does not: a step
    of Newton's from the one by the other gives the rest."""

    def __init__(self, freedom):
        self.cdf = stats.t(freedom).cdf
        self.freedom = freedom

    def ppf(self, probability):
        t = stats.t.ppf(probability, self.freedom)
        return t - (self.cdf(t) - probability) / stats.t.pdf(t, self.freedom)


def student(freedom):
    """The normal distribution from where the product takes it."""
    return Precise(freedom) if freedom < 1e6 else stats.norm


def compare_student(teller, dice, checks):
    cases = list(student_cases(dice))
    below = outside.ask(teller, [f"below {outside.words(t, v)}" for v, t, _ in cases])
    quantile = outside.ask(teller, [f"quantile {outside.words(p, v)}" for v, _, p in cases])
    checks.begin("Student's distribution (scipy.stats.t)")
    for (freedom, t, _), (ours,) in zip(cases, below):
        checks.near(f"below {t} of {freedom}", ours, stats.t.cdf(t, freedom), 1e-13, outside.EPSILON)
    checks.begin("its quantiles")
    for (freedom, _, p), (ours,) in zip(cases, quantile):
        checks.near(f"quantile {p} of {freedom}", ours, student(freedom).ppf(p), 1e-13, 1e-14)
    checks.begin("the normal distribution, for known uncertainties")
    points = [dice.uniform(-8, 8) for _ in range(100)]
    for freedom in (1e6, 1e12, math.inf):
        answers = outside.ask(teller, [f"below {outside.words(t, freedom)}" for t in points])
        for t, (ours,) in zip(points, answers):
            checks.near(f"below {t}", ours, stats.norm.cdf(t), 1e-13)
    checks.begin("where it begins, less than a millionth from Student's")
    for p in (0.6, 0.9, 0.95, 0.975):
        ours = outside.ask(teller, [f"quantile {outside.words(p, 1e6)}"])[0][0]
        checks.near(f"quantile {p}", ours, stats.t.ppf(p, 1e6), 2e-6)


def random_terms(dice):
    """Sources as (slope, freedom, pool), several of one pool."""
    terms = []
    for _ in range(dice.randint(1, 6)):
        pool = dice.randint(0, 2)
        freedom = 0 if dice.random() < 0.3 else (3, 8, 12)[pool]
        terms.append((dice.choice((-1, 1)) * math.exp(dice.uniform(-5, 5)), freedom, pool))
    return terms


def welch_satterthwaite(terms):
    """JCGM 100:2008, eq. (10) and (G.2b), the terms of one pool added up first."""
    total = math.fsum(slope ** 2 for slope, _, _ in terms)
    pools = {}
    for slope, freedom, pool in terms:
        if freedom:
            pools.setdefault((pool, freedom), []).append(slope ** 2)
    shares = math.fsum(math.fsum(squares) ** 2 / freedom for (_, freedom), squares in pools.items())
    return math.sqrt(total), total ** 2 / shares if shares else math.inf


def flat(terms):
    return outside.words(*(x for term in terms for x in term))


def compare_bands(teller, dice, checks):
    cases = [random_terms(dice) for _ in range(2000)]
    answers = outside.ask(teller, [f"band {flat(terms)}" for terms in cases])
    checks.begin("bands by Welch and Satterthwaite")
    for terms, (combined, freedom, expanded, guard) in zip(cases, answers):
        u, effective = welch_satterthwaite(terms)
        checks.near(f"u of {terms}", combined, u, 1e-14)
        checks.near(f"freedom of {terms}", freedom, effective, 1e-13)
        checks.near(f"95 % of {terms}", expanded, u * student(effective).ppf(0.975), 1e-13)
        checks.near(f"guard of {terms}", guard, u * student(effective).ppf(0.95), 1e-13)


def compare_conformity(teller, dice, checks):
    cases = []
    for _ in range(3000):
        terms = random_terms(dice)
        u, freedom = welch_satterthwaite(terms)
        value = dice.uniform(-100, 100)
        low, high = value - u * dice.uniform(-4, 4), value + u * dice.uniform(-4, 4)
        kind = dice.randrange(3)
        cases.append((value, None if kind == 1 else min(low, high) if kind == 2 else low,
                      None if kind == 0 else max(low, high) if kind == 2 else high, terms, u, freedom))
    answers = outside.ask(teller, [f"conform {outside.words(*case[:3])} {flat(case[3])}"
                                   for case in cases])
    checks.begin("probabilities of conformity (JCGM 106:2012, 7)")
    for (value, low, high, _, u, freedom), (ours, verdict) in zip(cases, answers):
        spread = student(freedom)
        theirs = ((spread.cdf((high - value) / u) if high is not None else 1)
                  - (spread.cdf((low - value) / u) if low is not None else 0))
        checks.near(f"{value} in {low}, {high}, u {u} of {freedom}", ours, theirs, 1e-13, 1e-14)
        wanted = PASS if theirs >= 0.95 else FAIL if theirs <= 0.05 else TOO_CLOSE
        if min(abs(theirs - 0.95), abs(theirs - 0.05)) > 1e-12:
            checks.true(f"verdict of {value} in {low}, {high}", verdict == wanted)


def compare_scatter(teller, dice, checks):
    checks.begin("scatter of several groups (numpy)")
    for _ in range(200):
        centre = math.exp(dice.uniform(0, 10))
        groups = [[dice.gauss(centre, 1) for _ in range(dice.randint(1, 9))]
                  for _ in range(dice.randint(1, 8))]
        question = " ".join(outside.words(len(group), *group) for group in groups)
        ours, freedom = outside.ask(teller, ["scatter " + question])[0]
        squares = math.fsum(numpy.var(group) * len(group) for group in groups)
        wanted = sum(len(group) - 1 for group in groups)
        checks.near("freedom", freedom, wanted, 0)
        theirs = math.sqrt(squares / wanted) if wanted else 0
        checks.near(f"scatter of {groups}", ours, theirs, 1e-14,
                    64 * outside.EPSILON * centre)


# --- trials ------------------------------------------------------------------------------------------

def position(is_treated, before, after):
    return outside.words(int(is_treated), len(before), len(after), *before, *after)


def judge(treated, untreated):
    """A question of positions that were each read once before, as nothing, and once after."""
    return "judge " + " ".join([position(True, [0], [x]) for x in treated]
                               + [position(False, [0], [x]) for x in untreated])


def random_groups(dice, how_many, treated_least=2):
    for _ in range(how_many):
        effect = dice.choice((0, 1, 3, 10))
        yield ([dice.gauss(effect, dice.choice((0.5, 1, 2))) for _ in range(dice.randint(
            treated_least, 8) if treated_least > 1 else 1)],
            [dice.gauss(0, 1) for _ in range(dice.randint(2, 8))])


def verdict_of(low, high):
    return ROSE if low > 0 else FELL if high < 0 else INCONCLUSIVE


def exact_share(treated, untreated):
    """scipy's permutation test of the difference of means, all allocations gone through."""
    outcome = stats.permutation_test((treated, untreated),
                                     lambda a, b: numpy.mean(a) - numpy.mean(b),
                                     permutation_type="independent", n_resamples=numpy.inf)
    return outcome.pvalue


def all_allocations(treated, untreated):
    """By its definition: the share with an effect as large, whichever its sign."""
    everything = treated + untreated
    count, total = len(treated), sum(treated) + sum(untreated)
    masks = numpy.array([[mask >> i & 1 for i in range(len(everything))]
                         for mask in range(1 << len(everything)) if bin(mask).count("1") == count])
    inside = masks @ numpy.array(everything)
    effects = numpy.abs(inside / count - (total - inside) / len(untreated))
    own = abs(sum(treated) / count - sum(untreated) / len(untreated))
    return numpy.mean(effects >= own - 1e-9)


def has_few(a, b):
    """Then the wider of Welch's band and the pooled one counts (include/measure/trial.h)."""
    return len(a) != len(b) and min(len(a), len(b)) <= 3


def half_band(a, b, is_pooled):
    """scipy's t test gives t, and the band is what would make it Student's quantile."""
    theirs = stats.ttest_ind(a, b, equal_var=is_pooled)
    shares = [numpy.var(x, ddof=1) / len(x) for x in (a, b)]
    freedom = (len(a) + len(b) - 2 if is_pooled else sum(shares) ** 2
               / sum(share ** 2 / (len(x) - 1) for share, x in zip(shares, (a, b))))
    error = (numpy.mean(a) - numpy.mean(b)) / theirs.statistic
    return error * student(freedom).ppf(0.975), freedom, theirs.pvalue


def compare_trials(teller, dice, checks):
    groups = list(random_groups(dice, 600))
    answers = outside.ask(teller, [judge(a, b) for a, b in groups])
    checks.begin("trials: Welch's and the pooled t (scipy.stats.ttest_ind)")
    for (a, b), (verdict, _, effect, band, freedom, *_) in zip(groups, answers):
        apart = numpy.mean(a) - numpy.mean(b)
        tests = [half_band(a, b, False)] + ([half_band(a, b, True)] if has_few(a, b) else [])
        widest = max(tests)
        checks.near("effect", effect, apart, 1e-13, 1e-14)
        checks.near("band", band, widest[0], 1e-12)
        checks.near("freedom", freedom, widest[1], 1e-12)
        is_found = all(p < 0.05 for _, _, p in tests)
        checks.true(f"verdict of {a}, {b}",
                    verdict == ((ROSE if apart > 0 else FELL) if is_found else INCONCLUSIVE))
    checks.begin("trials: one alone (Crawford and Howell 1998)")
    groups = list(random_groups(dice, 200, 1))
    answers = outside.ask(teller, [judge(a, b) for a, b in groups])
    for (a, b), (verdict, _, effect, band, freedom, *_) in zip(groups, answers):
        t = (a[0] - numpy.mean(b)) / (numpy.std(b, ddof=1) * math.sqrt((len(b) + 1) / len(b)))
        checks.near("freedom", freedom, len(b) - 1, 0)
        checks.near("t", effect / band * student(len(b) - 1).ppf(0.975), t, 1e-13, 1e-13)
        p = 2 * stats.t.sf(abs(t), len(b) - 1)
        checks.true(f"verdict of {a}, {b}", (p < 0.05) == (verdict in (ROSE, FELL)))
    checks.begin("trials: shares of all allocations")
    for a, b in random_groups(dice, 60):
        share = outside.ask(teller, [judge(a, b)])[0][7]
        checks.near(f"share of {a}, {b}", share, all_allocations(a, b), 1e-12)
        if len(a) == len(b) and len(a) < 6:  # else scipy doubles the smaller tail: another statistic
            checks.near(f"permutation test of {a}, {b}", share, exact_share(a, b), 1e-12)


def compare_order(teller, checks):
    checks.begin("the lowest of several equal ones (numerical integration by scipy)")
    for count in range(2, 17):
        ours = outside.ask(teller, [f"lowest {count}"])[0][0]
        theirs = stats.norm.expect(lambda x, n=count: n * x * stats.norm.cdf(x) ** (n - 1), lb=-12,
                                   ub=12, epsabs=1e-13, epsrel=1e-13)
        checks.near(f"of {count}", ours, theirs, 1e-13)


# --- R -------------------------------------------------------------------------------------------------

R_SCRIPT = r"""
input <- commandArgs(TRUE)[1]
for (line in readLines(input)) {
  words <- strsplit(line, " ")[[1]]
  x <- as.numeric(words[-1])
  if (words[1] == "student") {
    cat(sprintf("%.17g %.17g\n", pt(x[1], x[2]), qt(x[3], x[2])))
  } else if (words[1] == "welch") {
    for (pooled in c(FALSE, TRUE)) {
      t <- t.test(x[3:(2 + x[1])], x[(3 + x[1]):length(x)], var.equal = pooled)
      cat(sprintf("%.17g %.17g %.17g ", t$parameter, t$conf.int[1], t$conf.int[2]))
    }
    cat("\n")
  } else {
    t <- power.t.test(n = x[1], sd = x[2], sig.level = 0.05, power = 0.5, strict = TRUE,
                      tol = 1e-12)
    cat(sprintf("%.17g\n", t$delta))
  }
}
"""


def ask_r(questions):
    with tempfile.TemporaryDirectory() as folder:
        script, asked = f"{folder}/ask.R", f"{folder}/questions"
        with open(script, "w", encoding="ascii") as out:
            out.write(R_SCRIPT)
        with open(asked, "w", encoding="ascii") as out:
            out.write("\n".join(questions) + "\n")
        done = subprocess.run(["Rscript", "--vanilla", script, asked], capture_output=True, text=True,
                              check=False)
    if done.returncode != 0:
        sys.exit(done.stderr)
    return [[float(word) for word in line.split()] for line in done.stdout.splitlines()]


def compare_r(teller, dice, checks):
    cases = list(student_cases(dice))
    theirs = ask_r([f"student {outside.words(t, v, p)}" for v, t, p in cases])
    below = outside.ask(teller, [f"below {outside.words(t, v)}" for v, t, _ in cases])
    quantile = outside.ask(teller, [f"quantile {outside.words(p, v)}" for v, _, p in cases])
    checks.begin("Student's distribution and quantiles (R: pt, qt)")
    for (v, t, p), (ours_p,), (ours_t,), (r_p, r_t) in zip(cases, below, quantile, theirs):
        checks.near(f"below {t} of {v}", ours_p, r_p, 1e-13, outside.EPSILON)
        checks.near(f"quantile {p} of {v}", ours_t, r_t, 1e-13, 1e-14)
    groups = list(random_groups(dice, 200))
    theirs = ask_r([f"welch {outside.words(len(a), len(b), *a, *b)}" for a, b in groups])
    answers = outside.ask(teller, [judge(a, b) for a, b in groups])
    checks.begin("trials: Welch's and the pooled t (R: t.test)")
    for (a, b), (verdict, _, effect, band, freedom, *_), both in zip(groups, answers, theirs):
        df, low, high = max(both[:3], both[3:] if has_few(a, b) else both[:3],
                            key=lambda test: test[2] - test[1])
        checks.near("freedom", freedom, df, 1e-12)
        checks.near("lower", effect - band, low, 1e-11, 1e-13 * band)
        checks.near("upper", effect + band, high, 1e-11, 1e-13 * band)
        checks.true(f"verdict of {a}, {b}", verdict == verdict_of(low, high))
    compare_power(teller, checks)


def compare_power(teller, checks):
    """power.t.test pools the spread of the changes; the program has Welch's t and takes no less than the
    repeats' scatter.  So it needs a little more to see half the time, and the less so the more positions
    there are; only where two stand against two do many repeats see more than one degree of freedom."""
    checks.begin("the smallest effect that is seen half the time (R: power.t.test)")
    sizes = (2, 3, 4, 6, 10, 20, 40)
    theirs = ask_r([f"power {outside.words(n, math.sqrt(2 / 3))}" for n in sizes])
    before = math.inf
    for n, (delta,) in zip(sizes, theirs):
        ours = outside.ask(teller, [f"foresee {outside.words(n, n, 3, 3, 1, 8 * n)}"])[0][0]
        print(f"  {n} and {n}: {ours:.3f}; by the changes alone {delta:.3f}")
        checks.true(f"{n} and {n}: {ours} is too good",
                    ours > stats.norm.ppf(0.975) * math.sqrt(2 / 3) * math.sqrt(2 / n))
        if n > 3:
            checks.true(f"{n} and {n}: {ours} against {delta}", 1 < ours / delta < before)
            before = ours / delta
    checks.true("forty and forty", before < 1.05)


def main():
    teller = sys.argv[1]
    dice = random.Random(int(sys.argv[2]) if len(sys.argv) > 2 else 1)
    checks = outside.Checks()
    compare_student(teller, dice, checks)
    compare_bands(teller, dice, checks)
    compare_conformity(teller, dice, checks)
    compare_scatter(teller, dice, checks)
    compare_trials(teller, dice, checks)
    compare_order(teller, checks)
    if shutil.which("Rscript"):
        compare_r(teller, dice, checks)
    else:
        print("skipped: Rscript is not there")
    checks.end()


if __name__ == "__main__":
    main()

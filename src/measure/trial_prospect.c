/* What a trial can show before anyone has begun, and who is treated. */
#include "base/random.h"
#include "measure/trial.h"
#include "measure/uncertainty.h"
#include "trial_band.h"

#include <assert.h>
#include <math.h>

static double normal_density(double x)
{
    return exp(-x * x / 2) / sqrt(2 * acos(-1));
}

static double normal_below(double x)
{
    return erfc(-x / sqrt(2)) / 2;
}

/* Deviations as `freedom` degrees of freedom find them where the true one is 1, in slices that are
 * equally likely, the middle of each: a chi value over the root of its freedom. */
enum { SLICES = 40 };
static void likely_deviations(double freedom, double *deviations)
{
    enum { STEPS = 4000 };
    const double step = (sqrt(freedom) + 6) / STEPS, peak = sqrt(freedom - 1);
    double densities[STEPS], all = 0, below = 0;
    for (unsigned i = 0; i < STEPS; i++) {
        double x = (i + 0.5) * step;
        double rise = freedom > 1 ? (freedom - 1) * log(x / peak) : 0;
        densities[i] = exp(rise - (squared(x) - squared(peak)) / 2);
        all += densities[i];
    }
    unsigned slice = 0;
    for (unsigned i = 0; i < STEPS; i++) {
        below += densities[i] / all;
        while (slice < SLICES && below >= (slice + 0.5) / SLICES)
            deviations[slice++] = (i + 0.5) * step / sqrt(freedom);
    }
    assert(slice == SLICES);
}

/* The bands that a trial may come out with if nothing but the repeats scatters, each as likely. */
struct foreseen {
    double bands[SLICES * SLICES];
    unsigned count;
    double deviation; /* of the effect */
};

static void foresee_bands(const struct trial_design *design, const struct spread *floor,
                          struct foreseen *foreseen)
{
    struct side treated = {.count = design->treated, .floor = *floor};
    struct side untreated = {.count = design->untreated, .floor = *floor};
    double of_treated[SLICES] = {0}, of_untreated[SLICES];
    if (treated.count >= 2)
        likely_deviations(treated.count - 1.0, of_treated);
    likely_deviations(untreated.count - 1.0, of_untreated);
    foreseen->count = 0;
    for (unsigned i = 0; i < SLICES; i++) {
        untreated.own =
            (struct spread){floor->deviation * of_untreated[i], untreated.count - 1.0, false};
        if (treated.count == 1) {
            struct spread spread = farther_of(&untreated.own, floor);
            foreseen->bands[foreseen->count++] = single_band(&spread, untreated.count);
            continue;
        }
        for (unsigned j = 0; j < SLICES; j++) {
            double freedom;
            treated.own =
                (struct spread){floor->deviation * of_treated[j], treated.count - 1.0, false};
            foreseen->bands[foreseen->count++] = group_band(&treated, &untreated, &freedom);
        }
    }
    foreseen->deviation =
        floor->deviation * sqrt(1.0 / design->treated + 1.0 / design->untreated);
}

/* How often an effect of that size comes out beyond its band. */
static double seen_share(const struct foreseen *foreseen, double effect)
{
    double sum = 0;
    for (unsigned i = 0; i < foreseen->count; i++)
        sum += normal_below((effect - foreseen->bands[i]) / foreseen->deviation) +
               normal_below((-effect - foreseen->bands[i]) / foreseen->deviation);
    return sum / foreseen->count;
}

static double seen_half_the_time(const struct foreseen *foreseen)
{
    enum { HALVINGS = 40 };
    double seldom = 0, often = foreseen->deviation;
    while (seen_share(foreseen, often) < 0.5)
        often *= 2;
    for (unsigned i = 0; i < HALVINGS; i++) {
        double middle = (seldom + often) / 2;
        if (seen_share(foreseen, middle) < 0.5)
            seldom = middle;
        else
            often = middle;
    }
    return often;
}

struct trial_prospect trial_foresee(const struct trial_design *design)
{
    unsigned k = design->treated, m = design->untreated;
    struct trial_prospect prospect = {.smallest_effect = NAN,
                                      .allocations = ways_to_choose(k + m, k)};
    /* With as many of each the opposite choice shows the same effect with the other sign. */
    prospect.smallest_share = fmin(1, (k == m ? 2 : 1) / prospect.allocations);
    if (k == 0 || m < 2 || design->before == 0 || design->after == 0 ||
        !(design->repeat_scatter > 0) || !(design->repeat_freedom > 0))
        return prospect;
    /* By the end the repeats after the work will be known too. */
    double freedom = (k + m) * (design->before + design->after - 2.0);
    struct spread floor = {1, fmax(freedom, design->repeat_freedom), true};
    struct foreseen foreseen;
    foresee_bands(design, &floor, &foreseen);
    prospect.smallest_effect = seen_half_the_time(&foreseen) * design->repeat_scatter *
                               sqrt(1.0 / design->before + 1.0 / design->after);
    return prospect;
}

/* The expected largest of n, n times the integral of x f(x) F(x)^(n-1), by Simpson's rule; beyond
 * nine standard deviations nothing is left to a double. */
double trial_lowest_by_chance(unsigned count)
{
    enum { INTERVALS = 2000 };
    const double from = -9, to = 9, step = (to - from) / INTERVALS;
    double sum = 0;
    for (int i = 0; i <= INTERVALS; i++) {
        double x = from + i * step;
        double weight = i == 0 || i == INTERVALS ? 1 : i % 2 == 1 ? 4 : 2;
        sum += weight * x * normal_density(x) * pow(normal_below(x), count - 1.0);
    }
    return count == 0 ? 0 : count * sum * step / 3;
}

/* --- by lot ----------------------------------------------------------------------------------- */

/* Below `bound`, each equally likely: what would make the first ones likelier is drawn again. */
static uint64_t random_below(uint64_t *state, uint64_t bound)
{
    uint64_t uneven = (0 - bound) % bound;
    uint64_t drawn;
    do
        drawn = random_next(state);
    while (drawn < uneven);
    return drawn % bound;
}

void trial_draw(uint64_t seed, size_t count, size_t wanted, bool *is_drawn)
{
    assert(wanted <= count);
    for (size_t i = 0; i < count; i++) {
        is_drawn[i] = random_below(&seed, count - i) < wanted;
        wanted -= is_drawn[i];
    }
}

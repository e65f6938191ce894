#include "measure/trial.h"

#include "measure/uncertainty.h"

#include <assert.h>
#include <math.h>

enum { ALLOCATIONS_MAX = 100000 };

static double squared(double x)
{
    return x * x;
}

static double mean_of(const double *values, size_t count)
{
    double sum = 0;
    for (size_t i = 0; i < count; i++)
        sum += values[i];
    return sum / (double)count;
}

/* --- the two groups ------------------------------------------------------------------ */

/* The changes of the treated, or of the untreated. */
struct group {
    double *changes;
    unsigned count;
    double mean;
    double
        shares; /* sum over its positions of 1/before + 1/after: how the repeats' scatter enters */
};

static bool is_whole(const struct trial_position *position)
{
    return position->before_count > 0 && position->after_count > 0;
}

static double change_of(const struct trial_position *position)
{
    return mean_of(position->after, position->after_count) -
           mean_of(position->before, position->before_count);
}

static struct group group_of(const struct trial_position *positions, size_t count,
                             bool is_treated, struct arena *arena)
{
    struct group group = {.changes = arena_array(arena, double, count)};
    for (size_t i = 0; i < count; i++) {
        const struct trial_position *position = &positions[i];
        if (position->is_treated != is_treated || !is_whole(position))
            continue;
        group.changes[group.count++] = change_of(position);
        group.shares +=
            1.0 / (double)position->before_count + 1.0 / (double)position->after_count;
    }
    if (group.count > 0)
        group.mean = mean_of(group.changes, group.count);
    return group;
}

/* Of squares relative to the largest, which can neither overflow nor vanish. */
static double deviation_of(const struct group *group)
{
    double largest = 0, squares = 0;
    for (unsigned i = 0; i < group->count; i++)
        largest = fmax(largest, fabs(group->changes[i] - group->mean));
    for (unsigned i = 0; largest > 0 && i < group->count; i++)
        squares += squared((group->changes[i] - group->mean) / largest);
    return largest * sqrt(squares / (group->count - 1));
}

static struct scatter scatter_of(const struct trial_position *positions, size_t count)
{
    struct scatter scatter = {0};
    for (size_t i = 0; i < count; i++) {
        scatter_add(&scatter, positions[i].before, positions[i].before_count);
        scatter_add(&scatter, positions[i].after, positions[i].after_count);
    }
    return scatter;
}

/* How much the changes of a group spread.  `freedom` 0: not known. */
struct spread {
    double deviation;
    double freedom;
    bool is_floor;
};

static struct spread own_spread(const struct group *group)
{
    if (group->count < 2)
        return (struct spread){0};
    return (struct spread){.deviation = deviation_of(group), .freedom = group->count - 1.0};
}

/* What the repeats say the changes must spread by at least; nothing where their squares are too large
 * for a double. */
static struct spread floor_of(const struct group *group, const struct scatter *scatter)
{
    double deviation = scatter_deviation(scatter) * sqrt(group->shares / group->count);
    if (scatter->freedom <= 0 || !isfinite(deviation))
        return (struct spread){0};
    return (struct spread){deviation, scatter->freedom, true};
}

/* --- the band -------------------------------------------------------------------------- */

/* As the changes spread, but never less than their repeats say they must, so that controls which
 * happen to agree fake no precision. */
static struct spread larger_of(const struct spread *own, const struct spread *floor)
{
    bool is_floor =
        floor->freedom > 0 && (own->freedom <= 0 || floor->deviation > own->deviation);
    return is_floor ? *floor : *own;
}

/* Half of what holds 95 % of a single change. */
static double reach_of(const struct spread *spread)
{
    return spread->freedom > 0 ? student_quantile(0.975, spread->freedom) * spread->deviation
                               : 0;
}

/* The same for one that is held against a group of others.  Not the larger deviation but the larger
 * reach decides: repeats know nothing of how the positions differ, so that the many degrees of freedom
 * of a floor must not make the reach less than the few of the changes do.  (Were it so, three controls
 * read three times would call one of 15 changes real that are not, two one of 8.)  The reach of the
 * changes alone errs in 5 %, and this one is never less. */
static struct spread farther_of(const struct spread *own, const struct spread *floor)
{
    return reach_of(floor) > reach_of(own) ? *floor : *own;
}

/* The treated or the untreated ones, as far as a band hangs on them. */
struct side {
    unsigned count;
    struct spread own, floor;
};

/* Welch and Satterthwaite, by shares of the whole, so that no square overflows; two floors rest on one
 * pool of repeats and are no two estimates. */
static double freedom_of(const struct spread *treated, unsigned treated_count,
                         const struct spread *untreated, unsigned untreated_count)
{
    if (treated->is_floor && untreated->is_floor)
        return treated->freedom;
    double ratio =
        squared(treated->deviation / untreated->deviation) * untreated_count / treated_count;
    double of_untreated = 1 / (1 + ratio), of_treated = 1 - of_untreated;
    return 1 / (squared(of_treated) / treated->freedom +
                squared(of_untreated) / untreated->freedom);
}

static double welch_band(const struct side *treated, const struct side *untreated,
                         double *freedom)
{
    struct spread t = larger_of(&treated->own, &treated->floor);
    struct spread u = larger_of(&untreated->own, &untreated->floor);
    *freedom = freedom_of(&t, treated->count, &u, untreated->count);
    return student_quantile(0.975, *freedom) *
           hypot(t.deviation / sqrt(treated->count), u.deviation / sqrt(untreated->count));
}

/* Student's t with one spread for both, as if the treatment did not change how much they differ. */
static double pooled_band(const struct side *treated, const struct side *untreated,
                          double *freedom)
{
    *freedom = treated->own.freedom + untreated->own.freedom;
    double deviation = hypot(treated->own.deviation * sqrt(treated->own.freedom),
                             untreated->own.deviation * sqrt(untreated->own.freedom)) /
                       sqrt(*freedom);
    return student_quantile(0.975, *freedom) * deviation *
           sqrt(1.0 / treated->count + 1.0 / untreated->count);
}

/* Two or three that happen to agree make Welch's t trust the larger group alone: of 100 trials of two
 * against six or eight, with nothing to be found, it calls 7 or 9 real.  The pooled t errs in 5 of them,
 * so where both can be had the wider band counts.  With as many on both sides Welch's is never the
 * narrower one, but for its floors. */
static double group_band(const struct side *treated, const struct side *untreated,
                         double *freedom)
{
    enum { FEW = 3 };
    double welch = welch_band(treated, untreated, freedom), pooled_freedom;
    if (treated->count == untreated->count || (treated->count > FEW && untreated->count > FEW))
        return welch;
    double pooled = pooled_band(treated, untreated, &pooled_freedom);
    if (pooled <= welch)
        return welch;
    *freedom = pooled_freedom;
    return pooled;
}

/* One alone has no spread of its own: it is held against that of the others. */
static double single_band(const struct spread *untreated, unsigned untreated_count)
{
    return reach_of(untreated) * sqrt(1 + 1.0 / untreated_count);
}

static struct side side_of(const struct group *group, const struct scatter *scatter)
{
    return (struct side){group->count, own_spread(group), floor_of(group, scatter)};
}

static void judge_positions(const struct trial_position *positions, size_t count,
                            const struct group *untreated, const struct scatter *scatter,
                            struct trial_change *changes)
{
    for (size_t i = 0; i < count; i++) {
        if (!is_whole(&positions[i]))
            continue;
        double change = change_of(&positions[i]);
        changes[i] = (struct trial_change){true, change, NAN, INFINITY};
        unsigned others = untreated->count - (positions[i].is_treated ? 0 : 1);
        if (others == 0)
            continue;
        double sum = untreated->mean * untreated->count;
        changes[i].beyond = change - (positions[i].is_treated ? sum : sum - change) / others;
        /* An untreated one is a member of the group that it is held against: no band of its own. */
        struct side side = side_of(untreated, scatter);
        struct spread spread = farther_of(&side.own, &side.floor);
        if (positions[i].is_treated && others >= 2 && spread.deviation > 0)
            changes[i].band = single_band(&spread, others);
    }
}

/* --- by counting allocations -------------------------------------------------------------- */

static double choose(unsigned from, unsigned wanted)
{
    double ways = 1;
    for (unsigned i = 1; i <= wanted; i++)
        ways = ways * (from - wanted + i) / i;
    return round(ways);
}

/* Goes to the next choice in lexical order; false after the last. */
static bool next_choice(unsigned *chosen, unsigned wanted, unsigned from)
{
    for (unsigned at = wanted; at-- > 0;) {
        if (chosen[at] == from - wanted + at)
            continue;
        chosen[at]++;
        for (unsigned after = at + 1; after < wanted; after++)
            chosen[after] = chosen[after - 1] + 1;
        return true;
    }
    return false;
}

/* The share of all allocations that would have shown as large an effect, had the treatment done
 * nothing. */
static double share_as_large(const struct group *treated, const struct group *untreated,
                             double effect, struct arena *arena)
{
    unsigned from = treated->count + untreated->count;
    double *all = arena_array(arena, double, from);
    unsigned *chosen = arena_array(arena, unsigned, treated->count);
    double sum = 0, size = 0;
    for (unsigned i = 0; i < from; i++) {
        all[i] =
            i < treated->count ? treated->changes[i] : untreated->changes[i - treated->count];
        sum += all[i];
        size += fabs(all[i]);
    }
    for (unsigned i = 0; i < treated->count; i++)
        chosen[i] = i;
    double rounding = 1e-12 * size;
    unsigned as_large = 0, ways = 0;
    do {
        double inside = 0;
        for (unsigned i = 0; i < treated->count; i++)
            inside += all[chosen[i]];
        double here = inside / treated->count - (sum - inside) / untreated->count;
        as_large += fabs(here) >= fabs(effect) - rounding;
        ways++;
    } while (next_choice(chosen, treated->count, from));
    return (double)as_large / ways;
}

/* --- the verdict --------------------------------------------------------------------------- */

static enum trial_lack lack_of(const struct group *treated, const struct group *untreated)
{
    if (treated->count == 0)
        return LACK_NO_TREATED;
    return untreated->count < 2 ? LACK_FEW_CONTROLS : LACK_NOTHING;
}

static enum trial_verdict verdict_of(const struct trial_outcome *outcome)
{
    if (outcome->lack != LACK_NOTHING)
        return TRIAL_NONE;
    if (fabs(outcome->effect) <= outcome->band)
        return TRIAL_INCONCLUSIVE;
    return outcome->effect > 0 ? TRIAL_ROSE_MORE : TRIAL_FELL_MORE;
}

static void find_band(struct trial_outcome *outcome, const struct side *treated,
                      const struct side *untreated)
{
    bool is_alone = treated->count == 1;
    struct spread spread = is_alone ? farther_of(&untreated->own, &untreated->floor)
                                    : larger_of(&untreated->own, &untreated->floor);
    outcome->is_floor_untreated = spread.is_floor;
    outcome->is_floor_treated = !is_alone && larger_of(&treated->own, &treated->floor).is_floor;
    if (spread.deviation <= 0) {
        outcome->lack = LACK_SCATTER;
    } else if (is_alone) {
        outcome->freedom = spread.freedom;
        outcome->band = single_band(&spread, untreated->count);
    } else {
        outcome->band = group_band(treated, untreated, &outcome->freedom);
    }
}

struct trial_outcome trial_judge(const struct trial_position *positions, size_t count,
                                 struct arena *arena)
{
    struct group treated = group_of(positions, count, true, arena);
    struct group untreated = group_of(positions, count, false, arena);
    struct scatter scatter = scatter_of(positions, count);
    struct trial_change *changes = arena_array(arena, struct trial_change, count);
    struct trial_outcome outcome = {
        .lack = lack_of(&treated, &untreated),
        .treated = treated.count,
        .untreated = untreated.count,
        .effect = NAN,
        .band = INFINITY,
        .repeat_scatter = scatter.freedom > 0 ? scatter_deviation(&scatter) : NAN,
        .repeat_freedom = scatter.freedom,
        .allocations = choose(treated.count + untreated.count, treated.count),
        .allocation_share = NAN,
        .changes = changes,
    };
    judge_positions(positions, count, &untreated, &scatter, changes);
    if (treated.count > 0 && untreated.count > 0) {
        outcome.effect = treated.mean - untreated.mean;
        if (outcome.allocations <= ALLOCATIONS_MAX)
            outcome.allocation_share =
                share_as_large(&treated, &untreated, outcome.effect, arena);
    }
    if (outcome.lack == LACK_NOTHING) {
        struct side of_treated = side_of(&treated, &scatter);
        struct side of_untreated = side_of(&untreated, &scatter);
        find_band(&outcome, &of_treated, &of_untreated);
    }
    outcome.verdict = verdict_of(&outcome);
    return outcome;
}

/* --- before the work -------------------------------------------------------------------------- */

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
    struct trial_prospect prospect = {.smallest_effect = NAN, .allocations = choose(k + m, k)};
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

/* splitmix64 (Steele, Lea, Flood 2014): every seed is a good one. */
static uint64_t next_random(uint64_t *state)
{
    uint64_t z = *state += 0x9e3779b97f4a7c15U;
    z = (z ^ z >> 30) * 0xbf58476d1ce4e5b9U;
    z = (z ^ z >> 27) * 0x94d049bb133111ebU;
    return z ^ z >> 31;
}

/* Below `bound`, each equally likely: what would make the first ones likelier is drawn again. */
static uint64_t random_below(uint64_t *state, uint64_t bound)
{
    uint64_t uneven = (0 - bound) % bound;
    uint64_t drawn;
    do
        drawn = next_random(state);
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

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

static double deviation_of(const struct group *group)
{
    double squares = 0;
    for (unsigned i = 0; i < group->count; i++)
        squares += squared(group->changes[i] - group->mean);
    return sqrt(squares / (group->count - 1));
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

/* How much the changes of a group spread: as they do, but never less than their repeats say they
 * must, so that controls which happen to agree fake no precision. */
struct spread {
    double deviation;
    double freedom;
    bool is_floor;
};

static struct spread spread_of(const struct group *group, const struct scatter *scatter)
{
    struct spread spread = {0};
    if (group->count >= 2)
        spread =
            (struct spread){.deviation = deviation_of(group), .freedom = group->count - 1.0};
    if (scatter->freedom <= 0)
        return spread;
    double floor = scatter_deviation(scatter) * sqrt(group->shares / group->count);
    if (group->count < 2 || floor > spread.deviation)
        spread = (struct spread){floor, scatter->freedom, true};
    return spread;
}

/* --- the band -------------------------------------------------------------------------- */

/* Welch and Satterthwaite; two floors rest on one pool of repeats and are no two estimates. */
static double freedom_of(const struct spread *treated, unsigned treated_count,
                         const struct spread *untreated, unsigned untreated_count)
{
    double a = squared(treated->deviation) / treated_count;
    double b = squared(untreated->deviation) / untreated_count;
    if (treated->is_floor && untreated->is_floor)
        return treated->freedom;
    return squared(a + b) / (squared(a) / treated->freedom + squared(b) / untreated->freedom);
}

static double welch_band(const struct spread *treated, unsigned treated_count,
                         const struct spread *untreated, unsigned untreated_count,
                         double *freedom)
{
    *freedom = freedom_of(treated, treated_count, untreated, untreated_count);
    return student_quantile(0.975, *freedom) *
           sqrt(squared(treated->deviation) / treated_count +
                squared(untreated->deviation) / untreated_count);
}

/* One alone has no spread of its own: it is held against that of the others. */
static double single_band(const struct spread *untreated, unsigned untreated_count)
{
    return student_quantile(0.975, untreated->freedom) * untreated->deviation *
           sqrt(1 + 1.0 / untreated_count);
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
        struct spread spread = spread_of(untreated, scatter);
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

static void find_band(struct trial_outcome *outcome, const struct group *treated,
                      const struct group *untreated, const struct scatter *scatter)
{
    struct spread of_treated = spread_of(treated, scatter);
    struct spread of_untreated = spread_of(untreated, scatter);
    outcome->is_floor_untreated = of_untreated.is_floor;
    if (of_untreated.deviation <= 0) {
        outcome->lack = LACK_SCATTER;
    } else if (treated->count == 1) {
        outcome->freedom = of_untreated.freedom;
        outcome->band = single_band(&of_untreated, untreated->count);
    } else {
        outcome->is_floor_treated = of_treated.is_floor;
        outcome->band = welch_band(&of_treated, treated->count, &of_untreated, untreated->count,
                                   &outcome->freedom);
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
    if (outcome.lack == LACK_NOTHING)
        find_band(&outcome, &treated, &untreated, &scatter);
    outcome.verdict = verdict_of(&outcome);
    return outcome;
}

/* --- before the work -------------------------------------------------------------------------- */

struct trial_prospect trial_foresee(const struct trial_design *design)
{
    unsigned k = design->treated, m = design->untreated;
    struct trial_prospect prospect = {.smallest_effect = NAN, .allocations = choose(k + m, k)};
    /* With as many of each the opposite choice shows the same effect with the other sign. */
    prospect.smallest_share = fmin(1, (k == m ? 2 : 1) / prospect.allocations);
    if (k == 0 || m < 2 || design->before == 0 || design->after == 0 ||
        !(design->repeat_scatter > 0) || !(design->repeat_freedom > 0))
        return prospect;
    double floor = design->repeat_scatter * sqrt(1.0 / design->before + 1.0 / design->after);
    prospect.smallest_effect =
        student_quantile(0.975, design->repeat_freedom) * floor * sqrt(1.0 / k + 1.0 / m);
    return prospect;
}

static double normal_density(double x)
{
    return exp(-x * x / 2) / sqrt(2 * acos(-1));
}

static double normal_below(double x)
{
    return erfc(-x / sqrt(2)) / 2;
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

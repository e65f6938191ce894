#include "measure/trial.h"

#include "measure/careful.h"
#include "measure/uncertainty.h"
#include "trial_band.h"

#include <assert.h>
#include <math.h>

enum { ALLOCATIONS_MAX = 100000 };

/* Differences of readings this near are the noise of the arithmetic, and no change: 11.7 bar less 11.6
 * bar and 11.5 bar less 11.4 bar are the same tenth, though not in a double. */
static double noise_of(const struct trial_position *positions, size_t count)
{
    double largest = 0;
    for (size_t i = 0; i < count; i++) {
        for (size_t k = 0; k < positions[i].before_count; k++)
            largest = fmax(largest, fabs(positions[i].before[k]));
        for (size_t k = 0; k < positions[i].after_count; k++)
            largest = fmax(largest, fabs(positions[i].after[k]));
    }
    return 1e-12 * largest;
}

static double above_noise(double difference, double noise)
{
    return fabs(difference) > noise ? difference : 0;
}

/* --- the two groups ------------------------------------------------------------------ */

/* The changes of the treated, or of the untreated. */
struct group {
    double *changes;
    unsigned count;
    double noise;
    double mean;
    double
        shares; /* sum over its positions of 1/before + 1/after: how the repeats' scatter enters */
};

static bool is_whole(const struct trial_position *position)
{
    return position->before_count > 0 && position->after_count > 0;
}

static double change_of(const struct trial_position *position, double noise)
{
    return above_noise(careful_mean(position->after, position->after_count) -
                           careful_mean(position->before, position->before_count),
                       noise);
}

static struct group group_of(const struct trial_position *positions, size_t count,
                             bool is_treated, struct arena *arena)
{
    struct group group = {.changes = arena_array(arena, double, count),
                          .noise = noise_of(positions, count)};
    for (size_t i = 0; i < count; i++) {
        const struct trial_position *position = &positions[i];
        if (position->is_treated != is_treated || !is_whole(position))
            continue;
        group.changes[group.count++] = change_of(position, group.noise);
        group.shares +=
            1.0 / (double)position->before_count + 1.0 / (double)position->after_count;
    }
    if (group.count > 0)
        group.mean = careful_mean(group.changes, group.count);
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
    return above_noise(largest * sqrt(squares / (group->count - 1)), group->noise);
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
    double deviation = above_noise(scatter_deviation(scatter), group->noise) *
                       sqrt(group->shares / group->count);
    if (scatter->freedom <= 0 || !isfinite(deviation))
        return (struct spread){0};
    return (struct spread){deviation, scatter->freedom, true};
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
        double change = change_of(&positions[i], untreated->noise);
        changes[i] = (struct trial_change){true, change, NAN, INFINITY};
        unsigned others = untreated->count - (positions[i].is_treated ? 0 : 1);
        if (others == 0)
            continue;
        double sum = untreated->mean * untreated->count;
        changes[i].beyond = above_noise(
            change - (positions[i].is_treated ? sum : sum - change) / others, untreated->noise);
        /* An untreated one is a member of the group that it is held against: no band of its own. */
        struct side side = side_of(untreated, scatter);
        struct spread spread = farther_of(&side.own, &side.floor);
        if (positions[i].is_treated && others >= 2 && spread.deviation > 0)
            changes[i].band = single_band(&spread, others);
    }
}

/* --- by counting allocations -------------------------------------------------------------- */

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
        .repeat_scatter =
            scatter.freedom > 0 ? above_noise(scatter_deviation(&scatter), treated.noise) : NAN,
        .repeat_freedom = scatter.freedom,
        .allocations = ways_to_choose(treated.count + untreated.count, treated.count),
        .allocation_share = NAN,
        .changes = changes,
    };
    judge_positions(positions, count, &untreated, &scatter, changes);
    if (treated.count > 0 && untreated.count > 0) {
        outcome.effect = above_noise(treated.mean - untreated.mean, treated.noise);
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

/* --- errors that the repeats do not show ------------------------------------------------------ */

const struct gradient *trial_effect_errors(const struct trial_outcome *outcome,
                                           const struct trial_errors *errors, size_t count,
                                           struct arena *arena)
{
    const struct gradient *sum = NULL;
    for (size_t i = 0; i < count; i++) {
        if (!outcome->changes[i].is_worked_out)
            continue;
        double share =
            errors[i].is_treated ? 1.0 / outcome->treated : -1.0 / outcome->untreated;
        const struct gradient *change =
            gradient_combine(arena, errors[i].after, share, errors[i].before, -share);
        sum = gradient_combine(arena, sum, 1, change, 1);
    }
    return sum;
}

bool trial_hangs_on(const struct trial_outcome *outcome, double off)
{
    bool says_more = outcome->verdict == TRIAL_ROSE_MORE || outcome->verdict == TRIAL_FELL_MORE;
    return says_more && fabs(outcome->effect) <= hypot(outcome->band, off);
}

bool trial_is_scale_coarse(const struct trial_outcome *outcome, double step_before,
                           double step_after)
{
    double rounding = rectangular_uncertainty(fmax(step_before, step_after) / 2);
    return outcome->repeat_freedom > 0 && outcome->repeat_scatter < rounding;
}

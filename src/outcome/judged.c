/* What the numbers of a trial came to, in sentences. */
#include "outcome/judged.h"

#include "trial_sentences.h"

#include <math.h>

/* --- the verdict ------------------------------------------------------------------------------------- */

bool judged_is_treated(const struct judged *judged, size_t position)
{
    return (judged->treated >> position & 1ULL) != 0;
}

struct text judged_lack(const struct trial_outcome *outcome, bool was_any_treated)
{
    switch (outcome->lack) {
    case LACK_NO_TREATED:
        return was_any_treated ? TEXT("none of the treated ones was read before and after")
                               : TEXT("none was treated");
    case LACK_FEW_CONTROLS:
        return TEXT("fewer than two untreated ones were read before and after");
    case LACK_SCATTER:
    case LACK_NOTHING:
        break;
    }
    return outcome->repeat_freedom > 0
               ? TEXT("the untreated ones all changed alike and the repeats were all the same, "
                      "so there is no spread to judge by")
               : TEXT("the untreated ones all changed alike and nothing was read twice, so "
                      "there is no spread to judge by");
}

static struct text worth_it(const struct judged *judged)
{
    bool is_up = judged->outcome->effect > 0;
    if (judged->better == BETTER_UNSAID)
        return TEXT("");
    return is_up == (judged->better == BETTER_HIGHER) ? TEXT(" Here that is better.")
                                                      : TEXT(" Here that is WORSE.");
}

struct text judged_answer(const struct judged *judged)
{
    struct text answer = trial_answer_words(judged->outcome->verdict);
    return judged->unmatched.length == 0
               ? answer
               : text_fill(judged->arena, "{}, downgraded: {}", answer, judged->unmatched);
}

static double mean_of_treated(const struct judged *judged)
{
    double sum = 0;
    unsigned count = 0;
    for (size_t i = 0; i < judged->count; i++) {
        const struct trial_change *change = &judged->outcome->changes[i];
        if (!change->is_worked_out || !judged_is_treated(judged, i))
            continue;
        sum += change->change;
        count++;
    }
    return count == 0 ? 0 : sum / count;
}

/* Where all fall, those that fall less go up against the others, and did not rise. */
static struct text all_went(const struct judged *judged)
{
    double effect = judged->outcome->effect, treated = mean_of_treated(judged);
    if (effect > 0 && treated < 0)
        return TEXT(" Both groups went down, the treated ones less.");
    if (effect < 0 && treated > 0)
        return TEXT(" Both groups went up, the treated ones less.");
    return TEXT("");
}

static struct text effect_sentence(const struct judged *judged, struct text band,
                                   struct text more)
{
    struct arena *arena = judged->arena;
    const struct trial_outcome *outcome = judged->outcome;
    struct text signed_amount =
        trial_banded_words(arena, fabs(outcome->effect), outcome->band, judged->unit);
    return text_fill(arena,
                     "Set against the untreated ones, the treated ones went {} by {}, give or "
                     "take {}.{}{}{}",
                     outcome->effect > 0 ? TEXT("up") : TEXT("down"),
                     text_slice(signed_amount, 1, signed_amount.length), band, all_went(judged),
                     worth_it(judged), more);
}

static struct text verdict_sentence(const struct judged *judged, struct text lack,
                                    struct text more)
{
    struct arena *arena = judged->arena;
    const struct trial_outcome *outcome = judged->outcome;
    struct text band = isfinite(outcome->band)
                           ? trial_step_words(arena, outcome->band, judged->unit)
                           : (struct text){0};
    switch (outcome->verdict) {
    case TRIAL_ROSE_MORE:
    case TRIAL_FELL_MORE:
        return effect_sentence(judged, band, more);
    case TRIAL_INCONCLUSIVE:
        return text_fill(
            arena,
            "Inconclusive: the smallest change this could have shown is {}; it "
            "came out as {}.{}",
            band, trial_banded_words(arena, outcome->effect, outcome->band, judged->unit),
            more);
    case TRIAL_NONE:
        break;
    }
    return text_fill(arena, "No verdict: {}. Only the numbers.", lack);
}

struct text judged_sentence(const struct judged *judged, struct text lack, struct text more)
{
    struct text said = verdict_sentence(judged, lack, more);
    return judged->unmatched.length == 0 || judged->outcome->verdict == TRIAL_NONE
               ? said
               : text_fill(judged->arena, "{} Before and after are not comparable by: {}.",
                           said, judged->unmatched);
}

struct text judged_change(const struct judged *judged, size_t position)
{
    struct arena *arena = judged->arena;
    const struct trial_change *change = &judged->outcome->changes[position];
    struct text name = judged->names[position];
    struct text group =
        judged_is_treated(judged, position) ? TEXT("treated") : TEXT("left alone");
    if (!change->is_worked_out)
        return text_fill(arena, "{}, {}: not read before and after", name, group);
    double band = isfinite(change->band) ? change->band : judged->outcome->band;
    struct text by = trial_fine_words(arena, change->change, band, judged->unit);
    if (!isfinite(change->band))
        return text_fill(arena, "{}, {}: {}", name, group, by);
    return text_fill(arena, "{}, {}: {}; against the others {}, give or take {}", name, group,
                     by, trial_banded_words(arena, change->beyond, change->band, judged->unit),
                     trial_step_words(arena, change->band, judged->unit));
}

/* --- cautions ---------------------------------------------------------------------------------------- */

struct text judged_single(const struct trial_outcome *outcome)
{
    return outcome->repeat_freedom > 0
               ? (struct text){0}
               : TEXT("Single readings: how much a reading scatters is not known. No verdict "
                      "rests on it, only on the spread of the untreated ones.");
}

struct text judged_one_by_one(const struct trial_outcome *outcome)
{
    return outcome->treated < 2 || outcome->verdict == TRIAL_NONE
               ? (struct text){0}
               : TEXT("One by one: each give or take is for that one alone. Of several, one "
                      "stands out by chance sooner than once in 20.");
}

struct text judged_ceiling(struct arena *arena, struct text index)
{
    return text_fill(arena,
                     "Ceiling: a healthy {} cannot get better. Those left alone show how much "
                     "everything drifted, and nothing more.",
                     index);
}

struct text judged_counting(const struct trial_outcome *outcome, struct arena *arena)
{
    if (isnan(outcome->allocation_share) || outcome->lack == LACK_NO_TREATED ||
        outcome->lack == LACK_FEW_CONTROLS)
        return (struct text){0};
    long long as_large = llround(outcome->allocation_share * outcome->allocations);
    return text_fill(arena,
                     "By counting: if the remedy had done nothing, as large an effect, up or "
                     "down, would come out in {} of the {} ways to choose who is treated "
                     "({}).",
                     text_number(arena, as_large),
                     text_number(arena, (long long)outcome->allocations),
                     trial_decimals(arena, outcome->allocation_share, 3));
}

struct text judged_not_drawn(void)
{
    return TEXT("Not drawn by lot: whatever made somebody choose the treated ones may also "
                "have made them change.");
}

struct text judged_regression(struct text who, const struct regression *regression,
                              const struct unit *unit, struct arena *arena)
{
    double lowest = trial_lowest_by_chance((unsigned)regression->positions);
    double scatter = regression->repeat_scatter;
    struct text by =
        regression->before > 0 && scatter > 0
            ? uncertainty_text(arena, lowest * scatter / sqrt(regression->before), unit)
            : text_fill(arena, "{} standard deviations", trial_decimals(arena, lowest, 2));
    return text_fill(arena,
                     "Regression to the mean: {} The {} of {} equal ones reads about {} too {} "
                     "by chance alone, and comes back by itself. Reading anew after the "
                     "choice, or drawing by lot, has no such fault.",
                     who, regression->is_highest ? TEXT("highest") : TEXT("lowest"),
                     text_number(arena, (long long)regression->positions), by,
                     regression->is_highest ? TEXT("high") : TEXT("low"));
}

struct text judged_two_gauges(const struct two_gauges *gauges, const struct unit *unit,
                              struct arena *arena)
{
    struct text known = TEXT("Of these two, nothing grows with the reading.");
    if (!gauges->is_accuracy_known)
        known =
            TEXT("How good they are is not given of both, so nobody knows how much that is.");
    else if (gauges->off > 0)
        known = text_fill(arena, "Here that may be as much as {}.",
                          uncertainty_text(arena, gauges->off, unit));
    struct text name = gauges->is_perhaps_one ? TEXT("Perhaps two gauges") : TEXT("Two gauges");
    if (gauges->mismatch.length > 0)
        name = text_fill(arena, "Not comparable by {}", gauges->mismatch);
    return text_fill(arena,
                     "{}: before ({}), after ({}). What each is off by everywhere alike is in "
                     "every change, and drops out between treated and untreated; what grows "
                     "with the reading does not. {}",
                     name, gauges->before, gauges->after, known);
}

struct text judged_coarse_scale(bool may_be_all, double rounding, const struct unit *unit,
                                struct arena *arena)
{
    return text_fill(arena,
                     "{}: they are too coarse to show how much readings scatter, so that a "
                     "band may be too narrow. Rounding alone may make as much as {}.",
                     may_be_all ? TEXT("Not comparable by the steps of the scale")
                                : TEXT("The steps of the scale"),
                     uncertainty_text(arena, rounding, unit));
}

/* What speaks against leaning on a trial. */
#include "job/say.h"
#include "trial_sentences.h"

#include <math.h>

/* --- what does not match ------------------------------------------------------------------------------ */

static void add_name(const struct judging *judging, struct text *names, struct text name)
{
    *names = names->length == 0 ? name : text_fill(judging->arena, "{}, {}", *names, name);
}

static const char *mismatch_sentence(enum trial_matching matching)
{
    switch (matching) {
    case MATCH_UNREAD:
        return "Not comparable by {}: it was not read before and after ({}).";
    case MATCH_UNSURE:
        return "Perhaps not comparable by {}: too close to tell ({}).";
    case MATCH_FAILS:
    case MATCH_HOLDS:
        break;
    }
    return "Not comparable by {}: this does not hold: {}.";
}

static void add_matches(const struct judging *judging, struct lines *cautions,
                        struct text *unmatched)
{
    struct arena *arena = judging->arena;
    for (size_t i = 0; i < judging->trial->match_count; i++) {
        const struct trial_match *match = &judging->trial->matches[i];
        enum trial_matching matching = trial_match_now(judging->job, match, arena);
        if (matching == MATCH_HOLDS)
            continue;
        lines_add(cautions, text_fill(arena, mismatch_sentence(matching), match->name,
                                      say_expression(arena, match->holds->written)));
        add_name(judging, unmatched, match->name);
    }
}

static struct text gauge_of(const struct judging *judging, unsigned reading)
{
    const struct fitted *fitted = job_fitted(judging->job);
    int number = fitted->procedure->readings[reading].field.gauge;
    if (number == GAUGE_NONE)
        return TEXT("no gauge named");
    const struct gauge *gauge = &fitted->gauges[number];
    return gauge->title.length > 0 ? gauge->title : say_name(judging->arena, gauge->name);
}

static struct text two_gauges_words(const struct judging *judging,
                                    const struct trial_gauges *gauges)
{
    struct arena *arena = judging->arena;
    struct text known = TEXT("Of these two, nothing grows with the reading.");
    if (!gauges->is_accuracy_known)
        known =
            TEXT("How good they are is not given of both, so nobody knows how much that is.");
    else if (gauges->off > 0)
        known = text_fill(arena, "Here that may be as much as {}.",
                          uncertainty_text(arena, gauges->off, judging->unit));
    return text_fill(arena,
                     "{}: before ({}), after ({}). What each is off by everywhere alike is in "
                     "every change, and drops out between treated and untreated; what grows "
                     "with the reading does not. {}",
                     gauges->may_be_all ? TEXT("Not comparable by gauge") : TEXT("Two gauges"),
                     gauge_of(judging, judging->trial->before),
                     gauge_of(judging, judging->trial->after), known);
}

static void add_gauges(const struct judging *judging, struct lines *cautions,
                       struct text *unmatched)
{
    struct arena *arena = judging->arena;
    struct trial_gauges gauges =
        trial_gauges_of(judging->job, judging->trial, judging->outcome, arena);
    if (gauges.are_two)
        lines_add(cautions, two_gauges_words(judging, &gauges));
    if (gauges.may_be_all)
        add_name(judging, unmatched, TEXT("gauge"));
    if (!gauges.is_scale_coarse)
        return;
    lines_add(cautions,
              text_fill(arena,
                        "{}: they are too coarse to show how much readings scatter, so that a "
                        "band may be too narrow. Rounding alone may make as much as {}.",
                        gauges.may_be_scale ? TEXT("Not comparable by the steps of the scale")
                                            : TEXT("The steps of the scale"),
                        uncertainty_text(arena, gauges.scale, judging->unit)));
    if (gauges.may_be_scale)
        add_name(judging, unmatched, TEXT("the steps of the scale"));
}

/* A step that is done only where it was treated. */
static bool is_of_treatment(const struct judging *judging, const struct work *work)
{
    unsigned treated = judging->trial->symbols[TRIAL_TREATED];
    for (; work != NULL; work = work->parent)
        if (work->loop.where != NULL &&
            rests_on(judging->job, work->loop.where, treated, judging->arena))
            return true;
    return false;
}

/* Whom the lot fell on counts as treated whatever was left out: else those could be left out that did
 * not come on. */
static void add_skipped(const struct judging *judging, struct lines *cautions)
{
    struct arena *arena = judging->arena;
    const struct procedure *procedure = job_fitted(judging->job)->procedure;
    size_t count, found = 0;
    const struct event *events = job_events(judging->job, &count);
    struct text *skipped = arena_array(arena, struct text, count);
    for (size_t i = 0; i < count; i++) {
        const struct work *work = procedure->works[events[i].spot.work];
        if (events[i].kind != EVENT_SKIPPED || work->step == NULL ||
            !is_of_treatment(judging, work))
            continue;
        struct text place = job_spot_name(judging->job, &events[i].spot, arena);
        struct text name = say_name(arena, work->step->own_name);
        skipped[found++] = place.length == 0 ? name : text_fill(arena, "{} ({})", name, place);
    }
    if (found > 0)
        lines_add(cautions, text_fill(arena,
                                      "Skipped on treated ones, which count as treated all the "
                                      "same: {}.",
                                      say_list(arena, skipped, found)));
}

static bool was_corrected_after(const struct job *job, const struct event *event)
{
    size_t count;
    const struct event *events = job_events(job, &count);
    for (size_t i = event->number; i < count; i++)
        if (events[i].kind == EVENT_AMENDED)
            return true;
    return false;
}

/* Who was treated stands as it was done, whatever a later correction says. */
static void add_choice(const struct judging *judging, const struct event *allotted,
                       struct lines *cautions)
{
    struct arena *arena = judging->arena;
    const struct trial *trial = judging->trial;
    unsigned long long now;
    struct text missing;
    if (trial->chosen == NULL || !was_corrected_after(judging->job, allotted) ||
        !trial_chosen(judging->job, trial, allotted->at.wall, &now, &missing, arena) ||
        now == allotted->positions)
        return;
    lines_add(cautions,
              text_fill(arena,
                        "Corrected since: by the values as they stand now these would have "
                        "been chosen: {}. Treated were: {}.",
                        trial_labels(judging->job, trial, now, arena),
                        trial_labels(judging->job, trial, allotted->positions, arena)));
}

static void add_standing(const struct judging *judging, struct lines *cautions)
{
    struct arena *arena = judging->arena;
    const struct trial *trial = judging->trial;
    const struct trial_outcome *outcome = judging->outcome;
    struct trial_prospects prospects =
        trial_prospects_of(judging->job, trial, judging->treated, arena);
    bool is_counted = trial->chosen == NULL && !isnan(outcome->allocation_share) &&
                      outcome->lack != LACK_NO_TREATED && outcome->lack != LACK_FEW_CONTROLS;
    struct text carried;
    if (outcome->repeat_freedom <= 0)
        lines_add(cautions,
                  TEXT("Single readings: how much a reading scatters is not known. No verdict "
                       "rests on it, only on the spread of the untreated ones."));
    if (outcome->treated > 1 && outcome->verdict != TRIAL_NONE)
        lines_add(cautions,
                  TEXT("One by one: the band of one alone is for that one. Of several, one "
                       "stands out by chance sooner than once in 20."));
    if (trial_is_picked(trial, &prospects))
        lines_add(cautions, trial_regression_words(judging->job, trial, &prospects, arena));
    lines_add(cautions, trial->reaches_all ? trial_reached_all_words()
                                           : trial_ceiling_words(
                                                 arena, trial_index_name(judging->job, trial)));
    if (trial_carries_over(judging->job, trial, &carried, arena))
        lines_add(cautions, carried);
    if (is_counted)
        lines_add(
            cautions,
            text_fill(
                arena,
                "By counting: if the remedy had done nothing, as large an effect, up or "
                "down, would come out in {} of the {} ways to choose who is treated "
                "({}).",
                text_number(arena, llround(outcome->allocation_share * outcome->allocations)),
                text_number(arena, (long long)outcome->allocations),
                trial_decimals(arena, outcome->allocation_share, 3)));
    else if (trial->chosen != NULL && !trial->reaches_all && !prospects.rests_on_before)
        lines_add(cautions, TEXT("Not drawn by lot: whatever made somebody choose the treated "
                                 "ones may also have made them change."));
}

void trial_add_cautions(const struct judging *judging, const struct event *allotted,
                        struct lines *cautions, struct text *unmatched)
{
    add_matches(judging, cautions, unmatched);
    add_gauges(judging, cautions, unmatched);
    add_choice(judging, allotted, cautions);
    add_skipped(judging, cautions);
    add_standing(judging, cautions);
}

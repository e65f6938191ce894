/* What speaks against leaning on a trial. */
#include "job/say.h"
#include "outcome/judged.h"
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
    return say_gauge(judging->arena, &fitted->gauges[number]);
}

static void add_gauges(const struct judging *judging, struct lines *cautions,
                       struct text *unmatched)
{
    struct arena *arena = judging->arena;
    struct trial_gauges gauges =
        trial_gauges_of(judging->job, judging->trial, judging->outcome, arena);
    struct two_gauges two = {.mismatch = gauges.may_be_all ? TEXT("gauge") : TEXT(""),
                             .is_accuracy_known = gauges.is_accuracy_known,
                             .off = gauges.off,
                             .before = gauge_of(judging, judging->trial->before),
                             .after = gauge_of(judging, judging->trial->after)};
    if (gauges.are_two)
        lines_add(cautions, judged_two_gauges(&two, judging->unit, arena));
    if (gauges.may_be_all)
        add_name(judging, unmatched, TEXT("gauge"));
    if (!gauges.is_scale_coarse)
        return;
    lines_add(cautions,
              judged_coarse_scale(gauges.may_be_scale, gauges.scale, judging->unit, arena));
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

static void lines_add_any(struct lines *lines, struct text line)
{
    if (line.length > 0)
        lines_add(lines, line);
}

static void add_standing(const struct judging *judging, struct lines *cautions)
{
    struct arena *arena = judging->arena;
    const struct trial *trial = judging->trial;
    const struct trial_outcome *outcome = judging->outcome;
    struct trial_prospects prospects =
        trial_prospects_of(judging->job, trial, judging->treated, arena);
    struct text carried, counted = {0};
    if (trial->chosen == NULL)
        counted = judged_counting(outcome, arena);
    lines_add_any(cautions, judged_single(outcome));
    lines_add_any(cautions, judged_one_by_one(outcome));
    if (trial_is_picked(trial, &prospects))
        lines_add(cautions, trial_regression_words(judging->job, trial, &prospects, arena));
    lines_add(cautions, trial->reaches_all
                            ? trial_reached_all_words()
                            : judged_ceiling(arena, trial_index_name(judging->job, trial)));
    if (trial_carries_over(judging->job, trial, &carried, arena))
        lines_add(cautions, carried);
    lines_add_any(cautions, counted);
    if (trial->chosen != NULL && !trial->reaches_all && !prospects.rests_on_before)
        lines_add(cautions, judged_not_drawn());
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

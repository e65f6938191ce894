/* What a trial has shown, in sentences. */
#include "trial_words.h"

#include "job/say.h"
#include "outcome/judged.h"
#include "trial_sentences.h"

#include <math.h>

/* --- the verdict ------------------------------------------------------------------------------------- */

static bool is_treated(const struct judging *judging, size_t position)
{
    return judging->trial->reaches_all || (judging->treated >> position & 1ULL) != 0;
}

static double toward_better(const struct judging *judging, double change)
{
    return judging->trial->is_lower_better ? -change : change;
}

/* What the number says about the smallest change worth having; empty if none is said. */
static struct text worth_words(const struct judging *judging)
{
    struct arena *arena = judging->arena;
    const struct trial_outcome *outcome = judging->outcome;
    double worth, better = toward_better(judging, outcome->effect);
    if (outcome->verdict == TRIAL_NONE ||
        !trial_find_worth(judging->job, judging->trial, &worth, arena))
        return (struct text){0};
    struct text wanted = trial_amount_words(arena, worth, judging->unit);
    if (outcome->verdict == TRIAL_INCONCLUSIVE)
        return text_fill(arena,
                         better + outcome->band < worth
                             ? " A change worth having, {}, would have shown."
                             : " A change worth having, {}, may have been missed.",
                         wanted);
    if (better < 0)
        return (struct text){0};
    return text_fill(
        arena,
        better < worth ? " That is less than is worth having, {}."
        : better - outcome->band < worth
            ? " Whether it is as much as is worth having, {}, is too close to tell."
            : " That is as much as is worth having, {}, or more.",
        wanted);
}

struct text trial_lack_words(const struct job *job, const struct trial *trial,
                             struct arena *arena)
{
    const struct event *allotted = trial_allotted(job, trial);
    if (allotted == NULL)
        return TEXT("who is treated was never settled");
    if (trial->reaches_all)
        return TEXT("what was done reached all of them, so nothing was left to compare with");
    struct trial_outcome outcome = trial_outcome_of(job, trial, arena);
    return judged_lack(&outcome, allotted->positions != 0);
}

static struct judged judged_of(const struct judging *judging)
{
    int index = trial_index(judging->job, judging->trial);
    size_t count = index_size(judging->job, index);
    struct text *names = arena_array(judging->arena, struct text, count);
    for (size_t i = 0; i < count; i++)
        names[i] = say_position(judging->arena, judging->job, index, (int)i);
    return (struct judged){.outcome = judging->outcome,
                           .unit = judging->unit,
                           .names = names,
                           .count = count,
                           .treated = judging->trial->reaches_all ? ~0ULL : judging->treated,
                           .better =
                               judging->trial->is_lower_better ? BETTER_LOWER : BETTER_HIGHER,
                           .arena = judging->arena};
}

/* --- the claim ------------------------------------------------------------------------------------------ */

static double mean_change(const struct judging *judging, bool of_treated)
{
    double sum = 0;
    unsigned count = 0;
    size_t positions = index_size(judging->job, trial_index(judging->job, judging->trial));
    for (size_t i = 0; i < positions; i++) {
        const struct trial_change *change = &judging->outcome->changes[i];
        if (!change->is_worked_out || is_treated(judging, i) != of_treated)
            continue;
        sum += change->change;
        count++;
    }
    return count == 0 ? NAN : sum / count;
}

static struct text control_claimed(const struct judging *judging, struct text name,
                                   const struct trial_change *change)
{
    struct arena *arena = judging->arena;
    double treated = mean_change(judging, true);
    struct text by = TEXT("It was not read before and after.");
    if (change->is_worked_out)
        by = text_fill(arena, "It changed by {}{}.",
                       trial_change_words(arena, change->change, judging->unit),
                       isnan(treated)
                           ? TEXT("")
                           : text_fill(arena, ", the treated ones by {} on average",
                                       trial_change_words(arena, treated, judging->unit)));
    return text_fill(arena,
                     "You named {}. It was NOT treated: it was left alone as a control. {}",
                     name, by);
}

static bool shows_better(const struct judging *judging)
{
    return judging->outcome->verdict ==
           (judging->trial->is_lower_better ? TRIAL_FELL_MORE : TRIAL_ROSE_MORE);
}

/* Several together show what one alone cannot: where the trial saw a change for the better, one that
 * changed by as much as the trial can see is not denied it. */
static bool is_shown_together(const struct judging *judging, double by)
{
    return shows_better(judging) && toward_better(judging, by) > judging->outcome->band;
}

/* Held against the others where there are any. */
static void hold_one_claim(const struct judging *judging, size_t i, struct lines *lines)
{
    struct arena *arena = judging->arena;
    const struct trial_change *change = &judging->outcome->changes[i];
    struct text name =
        say_position(arena, judging->job, trial_index(judging->job, judging->trial), (int)i);
    bool is_alone = isnan(change->beyond);
    double by = is_alone ? change->change : change->beyond;
    struct text against = is_alone ? TEXT("By the readings") : TEXT("Against the others");
    if (!is_treated(judging, i))
        lines_add(lines, control_claimed(judging, name, change));
    else if (!change->is_worked_out)
        lines_add(lines,
                  text_fill(arena, "You named {}. It was not read before and after.", name));
    else if (by == 0)
        lines_add(lines,
                  text_fill(arena, "You named {}. {} it did not change.", name, against));
    else if (isfinite(change->band) && fabs(by) <= change->band &&
             !is_shown_together(judging, by))
        lines_add(lines, text_fill(arena,
                                   "You named {}. {} it changed by {}, give or take {}: the "
                                   "readings do not show it.",
                                   name, against,
                                   trial_banded_words(arena, by, change->band, judging->unit),
                                   trial_step_words(arena, change->band, judging->unit)));
    else if (toward_better(judging, by) < 0)
        lines_add(lines,
                  text_fill(arena, "You named {}. {} it changed by {}, for the worse.", name,
                            against, trial_change_words(arena, by, judging->unit)));
}

/* As it was corrected, with what it was before. */
static struct text claimed_words(const struct judging *judging, const struct event *claimed)
{
    struct arena *arena = judging->arena;
    struct text words = claimed->meaning;
    if (claimed->kind != EVENT_AMENDED)
        return words;
    size_t count;
    const struct event *events = job_events(judging->job, &count);
    struct text value = events[claimed->amends - 1].meaning;
    for (size_t i = claimed->amends; i < count; i++) {
        if (events[i].kind != EVENT_AMENDED || events[i].amends != claimed->amends)
            continue;
        words = text_fill(arena, "{}; corrected from {} because {}", words, value,
                          events[i].reason);
        value = events[i].meaning;
    }
    return words;
}

static void hold_claim(const struct judging *judging, struct trial_finding *finding)
{
    const struct event *claimed = trial_claimed(judging->job, judging->trial);
    struct lines lines = lines_begin(CHANGES_MOST + 1, judging->arena);
    if (claimed == NULL)
        return;
    unsigned long long positions = claimed->positions;
    finding->claim = claimed_words(judging, claimed);
    for (size_t i = 0; i < index_size(judging->job, trial_index(judging->job, judging->trial));
         i++)
        if ((positions >> i & 1ULL) != 0)
            hold_one_claim(judging, i, &lines);
    if (positions == 0 && shows_better(judging))
        lines_add(
            &lines,
            text_fill(judging->arena,
                      "You named none. By the readings the treated ones changed by {} "
                      "more than the others, give or take {}.",
                      trial_banded_words(judging->arena, judging->outcome->effect,
                                         judging->outcome->band, judging->unit),
                      trial_step_words(judging->arena, judging->outcome->band, judging->unit)));
    finding->contradictions = lines.texts;
    finding->contradiction_count = lines.count;
}

/* --- all of it ---------------------------------------------------------------------------------------------- */

static struct text treated_words(const struct judging *judging, const struct event *allotted)
{
    struct arena *arena = judging->arena;
    const struct trial *trial = judging->trial;
    size_t all = index_size(judging->job, trial_index(judging->job, trial));
    struct text labels = trial_labels(judging->job, trial, allotted->positions, arena);
    if (trial->reaches_all)
        return text_fill(arena, "{} (it reaches all {})", labels,
                         text_number(arena, (long long)all));
    return text_fill(
        arena, "{} ({})", labels,
        trial->chosen == NULL
            ? allotted->meaning
            : text_fill(arena, "chosen: {}", say_expression(arena, allotted->meaning)));
}

static void keep_back(const struct judging *judging, const struct event *allotted,
                      struct trial_finding *finding)
{
    const struct event *claimed = trial_claimed(judging->job, judging->trial);
    finding->is_allotted = true;
    finding->treated = treated_words(judging, allotted);
    finding->verdict = TEXT("not told before the end of the job");
    finding->said = TEXT("Somebody is asked first what they saw; what the readings say is told "
                         "when the job has ended.");
    if (claimed != NULL)
        finding->claim = claimed_words(judging, claimed);
}

/* --- what rests on a trial ------------------------------------------------------------------------- */

bool trial_leaves_open(const struct job *job, const struct expression *expression,
                       struct text *reason, struct arena *arena)
{
    const struct procedure *procedure = job_fitted(job)->procedure;
    for (size_t i = 0; i < procedure->trial_count; i++) {
        const struct trial *trial = procedure->trials[i];
        if (!rests_on(job, expression, trial->symbols[TRIAL_EFFECT], arena) ||
            (trial_allotted(job, trial) != NULL &&
             trial_outcome_of(job, trial, arena).verdict != TRIAL_NONE))
            continue;
        *reason = text_fill(arena, "nothing to judge it by in the trial '{}': {}",
                            say_name(arena, trial->name), trial_lack_words(job, trial, arena));
        return true;
    }
    return false;
}

bool trial_keeps_back(const struct job *job, const struct expression *expression,
                      struct arena *arena)
{
    const struct procedure *procedure = job_fitted(job)->procedure;
    for (size_t i = 0; i < procedure->trial_count; i++)
        if (trial_is_kept_back(job, procedure->trials[i]) &&
            trial_is_behind(job, procedure->trials[i], expression, arena))
            return true;
    return false;
}

bool trial_weakens(const struct job *job, const struct expression *expression,
                   struct text *note, struct arena *arena)
{
    const struct procedure *procedure = job_fitted(job)->procedure;
    for (size_t i = 0; i < procedure->trial_count; i++) {
        const struct trial *trial = procedure->trials[i];
        if (trial_allotted(job, trial) == NULL ||
            !rests_on(job, expression, trial->symbols[TRIAL_EFFECT], arena))
            continue;
        struct trial_finding finding = trial_work_out(job, trial, arena);
        if (!finding.is_downgraded)
            continue;
        *note =
            text_fill(arena, "Before and after of the trial '{}' are not comparable by: {}.",
                      say_name(arena, trial->name), finding.unmatched);
        return true;
    }
    return false;
}

struct trial_finding trial_work_out(const struct job *job, const struct trial *trial,
                                    struct arena *arena)
{
    const struct spot nowhere = {0};
    const struct event *allotted = trial_allotted(job, trial);
    struct trial_finding finding = {.trial = trial,
                                    .asked = job_fill(job, &trial->ask, &nowhere, arena),
                                    .unit = trial_unit(job, trial)};
    if (allotted == NULL)
        return finding;
    struct trial_outcome outcome = trial_outcome_of(job, trial, arena);
    struct judging judging = {job, trial, &outcome, finding.unit, allotted->positions, arena};
    struct lines changes = lines_begin(CHANGES_MOST, arena);
    struct lines cautions = lines_begin(LINES_MOST + trial->match_count, arena);
    struct text unmatched = {0};
    if (trial_is_kept_back(job, trial)) {
        keep_back(&judging, allotted, &finding);
        return finding;
    }
    struct judged judged = judged_of(&judging);
    for (size_t i = 0; i < judged.count; i++)
        lines_add(&changes, judged_change(&judged, i));
    trial_add_cautions(&judging, allotted, &cautions, &unmatched);
    judged.unmatched = unmatched;
    finding.is_allotted = true;
    finding.treated = treated_words(&judging, allotted);
    finding.is_downgraded = unmatched.length > 0;
    finding.unmatched = unmatched;
    finding.verdict = judged_answer(&judged);
    finding.has_effect = !isnan(outcome.effect);
    finding.has_band = isfinite(outcome.band);
    finding.effect = outcome.effect;
    finding.said =
        judged_sentence(&judged, trial_lack_words(job, trial, arena), worth_words(&judging));
    finding.changes = changes.texts;
    finding.change_count = changes.count;
    finding.cautions = cautions.texts;
    finding.caution_count = cautions.count;
    hold_claim(&judging, &finding);
    return finding;
}

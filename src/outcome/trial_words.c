/* What a trial can show, and what it has shown, in sentences. */
#include "trial_words.h"

#include "job/say.h"

#include <assert.h>
#include <math.h>

enum { LINES_MOST = 16, CHANGES_MOST = FITTED_POSITIONS_MAX };
struct lines {
    struct text *texts;
    size_t count, most;
};

static struct lines lines_begin(size_t most, struct arena *arena)
{
    return (struct lines){arena_array(arena, struct text, most), 0, most};
}

static void lines_add(struct lines *lines, struct text line)
{
    assert(lines->count < lines->most);
    lines->texts[lines->count++] = line;
}

static struct text step_words(struct arena *arena, double amount, const struct unit *unit)
{
    return amount > 0 ? uncertainty_text(arena, amount, unit)
                      : text_fill(arena, "0 {}", unit->symbol);
}

static struct text change_words(struct arena *arena, double change, const struct unit *unit)
{
    const char *sign = change < 0 ? "\u2212" : change > 0 ? "+" : "";
    return text_fill(arena, "{}{}", text_from(sign), step_words(arena, fabs(change), unit));
}

static struct text decimals(struct arena *arena, double value, unsigned places)
{
    return value_text_decimals(arena, value, &unit_one, places);
}

/* An exact share counts allocations: "2 of 6 (0.33)". */
static struct text share_words(struct arena *arena, double share, double allocations)
{
    return text_fill(arena, "{} of {} ({})",
                     text_number(arena, (long long)llround(share * allocations)),
                     text_number(arena, (long long)allocations), decimals(arena, share, 3));
}

static struct text index_name(const struct job *job, const struct trial *trial)
{
    return job_fitted(job)->procedure->index_names[trial_index(job, trial)];
}

/* --- before the work ---------------------------------------------------------------------------- */

static struct text design_of_groups(const struct job *job, const struct trial *trial,
                                    unsigned long long positions,
                                    const struct trial_prospects *prospects,
                                    struct arena *arena)
{
    const struct trial_design *design = &prospects->design;
    struct text all = text_number(arena, (long long)prospects->positions);
    if (trial->reaches_all)
        return text_fill(arena,
                         "What is done reaches every {}: nothing on this machine is left as it "
                         "was, so nothing is a control. There will be no verdict, only the "
                         "numbers.",
                         index_name(job, trial));
    struct text treated = text_number(arena, design->treated);
    struct text untreated = text_number(arena, design->untreated);
    if (trial->chosen == NULL)
        return text_fill(arena,
                         "Treated: {} of {}, drawn by lot when you go on. Left alone: {}.",
                         treated, all, untreated);
    return text_fill(arena, "Treated: {} ({} of {}). Left alone: {}.",
                     trial_labels(job, trial, positions, arena), treated, all, untreated);
}

static struct text design_of_scatter(const struct trial_prospects *prospects,
                                     const struct unit *unit, struct arena *arena)
{
    const struct trial_design *design = &prospects->design;
    double smallest = prospects->prospect.smallest_effect;
    if (prospects->is_single)
        return TEXT("Single readings: each was read once before, so how much a reading "
                    "scatters is not known, and nobody can say now how small a change this "
                    "can show. A verdict can rest on the spread of the untreated ones alone.");
    struct text scatter = uncertainty_text(arena, design->repeat_scatter, unit);
    if (isnan(smallest))
        return text_fill(arena, "The readings before scatter by {} from one to the next.",
                         scatter);
    return text_fill(arena,
                     "The readings before scatter by {} from one to the next. With {} before "
                     "and {} after, the smallest change that could be seen is {}; a change of "
                     "just that size is seen half the time.",
                     scatter, text_number(arena, design->before),
                     text_number(arena, design->after),
                     uncertainty_text(arena, smallest, unit));
}

static void add_worth(struct lines *lines, const struct job *job, const struct trial *trial,
                      const struct trial_prospects *prospects, struct arena *arena)
{
    const struct unit *unit = trial_unit(job, trial);
    struct surroundings surroundings = job_surroundings(job, arena);
    double worth, smallest = prospects->prospect.smallest_effect;
    if (trial->worth == NULL || isnan(smallest) || trial->reaches_all ||
        !work_out_number(trial->worth, &surroundings, &worth, NULL, arena) || !(worth > 0))
        return;
    struct text wanted = step_words(arena, worth, unit);
    struct text seen = uncertainty_text(arena, smallest, unit);
    lines_add(lines,
              worth < smallest
                  ? text_fill(arena,
                              "This trial cannot show {}: that is the smallest change worth "
                              "having, and the smallest that could be seen is {}. More "
                              "readings, or more treated and left alone, would show less.",
                              wanted, seen)
                  : text_fill(arena,
                              "The smallest change worth having, {}, is large enough "
                              "to be seen.",
                              wanted));
}

static void add_groups(struct lines *lines, const struct job *job, const struct trial *trial,
                       const struct trial_prospects *prospects, struct arena *arena)
{
    const struct trial_design *design = &prospects->design;
    const struct trial_prospect *prospect = &prospects->prospect;
    if (trial->reaches_all)
        return;
    if (design->treated == 0)
        lines_add(lines, text_fill(arena, "No {} is treated: there is nothing to judge.",
                                   index_name(job, trial)));
    else if (design->untreated < 2)
        lines_add(lines,
                  TEXT("Fewer than two are left alone: there will be no verdict, only the "
                       "numbers."));
    else if (design->treated == 1)
        lines_add(lines, TEXT("One alone is treated: it is held against the spread of the "
                              "others, and must stand well out of it."));
    if (design->treated > 0 && design->untreated > 0)
        lines_add(lines,
                  text_fill(arena,
                            "There are {} ways to choose so many. If the remedy did nothing, "
                            "the largest effect still comes out in {} of them: the exact "
                            "share cannot fall below {}.",
                            text_number(arena, (long long)prospect->allocations),
                            text_number(arena, (long long)llround(prospect->smallest_share *
                                                                  prospect->allocations)),
                            decimals(arena, prospect->smallest_share, 3)));
}

static struct text regression_words(const struct job *job, const struct trial *trial,
                                    const struct trial_prospects *prospects,
                                    struct arena *arena)
{
    double lowest = trial_lowest_by_chance((unsigned)prospects->positions);
    struct text by = text_fill(arena, "{} standard deviations", decimals(arena, lowest, 2));
    if (!prospects->is_single && prospects->design.before > 0)
        by = text_fill(arena, "{} ({})", by,
                       uncertainty_text(arena,
                                        lowest * prospects->design.repeat_scatter /
                                            sqrt(prospects->design.before),
                                        trial_unit(job, trial)));
    return text_fill(arena,
                     "Regression to the mean: who is treated was picked by the readings that "
                     "it is compared with. The lowest of {} equal ones lies {} low by chance "
                     "alone, and comes back by itself. A fresh baseline after the choice, or "
                     "a draw by lot, has no such fault.",
                     text_number(arena, (long long)prospects->positions), by);
}

static struct text ceiling_words(struct arena *arena, struct text index)
{
    return text_fill(arena,
                     "Ceiling: a healthy {} that is left alone cannot improve. It shows how "
                     "much everything drifted, and nothing more.",
                     index);
}

/* Positions that an earlier trial of this job treated. */
static bool carries_over(const struct job *job, const struct trial *trial, struct text *words,
                         struct arena *arena)
{
    for (size_t i = 0; i < job_fitted(job)->procedure->trial_count; i++) {
        const struct trial *other = job_fitted(job)->procedure->trials[i];
        const struct event *theirs = trial_allotted(job, other);
        const struct event *own = trial_allotted(job, trial);
        if (other == trial || theirs == NULL || (own != NULL && theirs->number > own->number) ||
            trial_index(job, other) != trial_index(job, trial))
            continue;
        *words =
            text_fill(arena,
                      "Carry-over: the trial '{}' went before and treated {}. What it "
                      "did may still be changing; this trial cannot tell the two apart.",
                      say_name(arena, other->name),
                      other->reaches_all ? TEXT("all of them")
                                         : trial_labels(job, other, theirs->positions, arena));
        return true;
    }
    return false;
}

size_t trial_design_words(const struct job *job, const struct trial *trial, long long time,
                          struct text **paragraphs, struct arena *arena)
{
    struct lines lines = lines_begin(LINES_MOST, arena);
    unsigned long long positions = 0;
    struct text missing, carried;
    if (trial->chosen != NULL)
        (void)trial_chosen(job, trial, time, &positions, &missing, arena);
    struct trial_prospects prospects = trial_prospects_of(job, trial, positions, arena);
    struct spot spot = {.work = trial->allotted_by->id};
    lines_add(&lines, text_fill(arena, "What this trial can show: {}",
                                job_fill(job, &trial->ask, &spot, arena)));
    lines_add(&lines, design_of_groups(job, trial, positions, &prospects, arena));
    add_groups(&lines, job, trial, &prospects, arena);
    if (!trial->reaches_all)
        lines_add(&lines, design_of_scatter(&prospects, trial_unit(job, trial), arena));
    add_worth(&lines, job, trial, &prospects, arena);
    if (prospects.rests_on_before)
        lines_add(&lines, regression_words(job, trial, &prospects, arena));
    if (!trial->reaches_all)
        lines_add(&lines, ceiling_words(arena, index_name(job, trial)));
    if (carries_over(job, trial, &carried, arena))
        lines_add(&lines, carried);
    *paragraphs = lines.texts;
    return lines.count;
}

/* --- after it ------------------------------------------------------------------------------------- */

struct judging {
    const struct job *job;
    const struct trial *trial;
    const struct trial_outcome *outcome;
    const struct unit *unit;
    unsigned long long treated;
    struct arena *arena;
};

static bool is_treated(const struct judging *judging, size_t position)
{
    return judging->trial->reaches_all || (judging->treated >> position & 1ULL) != 0;
}

static struct text verdict_sentence(const struct judging *judging)
{
    struct arena *arena = judging->arena;
    const struct trial_outcome *outcome = judging->outcome;
    bool is_better = (outcome->verdict == TRIAL_FELL_MORE) == judging->trial->is_lower_better;
    struct text band = isfinite(outcome->band) ? step_words(arena, outcome->band, judging->unit)
                                               : (struct text){0};
    switch (outcome->verdict) {
    case TRIAL_ROSE_MORE:
    case TRIAL_FELL_MORE:
        return text_fill(arena,
                         "The treated ones changed by more than the untreated ones did: by {} "
                         "more, with a band of {}. Here that is {}.",
                         change_words(arena, outcome->effect, judging->unit), band,
                         is_better ? TEXT("better") : TEXT("WORSE"));
    case TRIAL_INCONCLUSIVE:
        return text_fill(arena,
                         "Inconclusive: the smallest change this could have shown is {}; it "
                         "came out as {}.",
                         band, change_words(arena, outcome->effect, judging->unit));
    case TRIAL_NONE:
        break;
    }
    if (judging->trial->reaches_all)
        return TEXT("No verdict: what was done reached all of them, so nothing was left to "
                    "compare with. Only the numbers.");
    switch (outcome->lack) {
    case LACK_NO_TREATED:
        return TEXT("No verdict: none of the treated ones was read before and after.");
    case LACK_FEW_CONTROLS:
        return TEXT("No verdict: fewer than two untreated ones were read before and after. "
                    "Only the numbers.");
    case LACK_SCATTER:
    case LACK_NOTHING:
        break;
    }
    return TEXT("No verdict: the untreated ones all changed alike and nothing was read twice, "
                "so there is no spread to judge by. Only the numbers.");
}

static struct text changes_line(const struct judging *judging, size_t i)
{
    struct arena *arena = judging->arena;
    const struct trial_change *change = &judging->outcome->changes[i];
    int index = trial_index(judging->job, judging->trial);
    struct text name = say_position(arena, judging->job, index, (int)i);
    struct text group = is_treated(judging, i) ? TEXT("treated") : TEXT("left alone");
    if (!change->is_worked_out)
        return text_fill(arena, "{}, {}: not read before and after", name, group);
    struct text by = change_words(arena, change->change, judging->unit);
    if (!isfinite(change->band))
        return text_fill(arena, "{}, {}: {}", name, group, by);
    return text_fill(arena, "{}, {}: {}; against the others {}, with a band of its own of {}",
                     name, group, by, change_words(arena, change->beyond, judging->unit),
                     step_words(arena, change->band, judging->unit));
}

/* --- what does not match ------------------------------------------------------------------------------ */

static void add_matches(const struct judging *judging, const struct surroundings *surroundings,
                        struct lines *cautions, struct text *unmatched)
{
    struct arena *arena = judging->arena;
    for (size_t i = 0; i < judging->trial->match_count; i++) {
        const struct trial_match *match = &judging->trial->matches[i];
        struct value value = expression_evaluate(match->holds, surroundings, arena);
        bool is_missing = value.count != 1 || value.items[0].is_missing;
        if (!is_missing && value.items[0].truth && !value.items[0].is_unsure)
            continue;
        bool is_unsure = !is_missing && value.items[0].truth;
        lines_add(cautions,
                  text_fill(arena,
                            is_missing ? "Not comparable by {}: it was not read before and "
                                         "after ({})."
                            : is_unsure
                                ? "Perhaps not comparable by {}: too close to tell ({})."
                                : "Not comparable by {}: this does not hold: {}.",
                            match->name, say_expression(arena, match->holds->written)));
        *unmatched = unmatched->length == 0
                         ? match->name
                         : text_fill(arena, "{}, {}", *unmatched, match->name);
    }
}

static void add_cautions(const struct judging *judging, struct lines *cautions)
{
    struct arena *arena = judging->arena;
    const struct trial_outcome *outcome = judging->outcome;
    struct trial_prospects prospects =
        trial_prospects_of(judging->job, judging->trial, judging->treated, arena);
    struct text carried;
    if (outcome->repeat_freedom <= 0)
        lines_add(cautions,
                  TEXT("Single readings: how much a reading scatters is not known. No verdict "
                       "rests on it, only on the spread of the untreated ones."));
    if (prospects.rests_on_before)
        lines_add(cautions, regression_words(judging->job, judging->trial, &prospects, arena));
    if (judging->trial->reaches_all)
        lines_add(cautions, TEXT("Carry-over: it reached all of them; no later trial on this "
                                 "machine has an untouched control either."));
    else
        lines_add(cautions, ceiling_words(arena, index_name(judging->job, judging->trial)));
    if (carries_over(judging->job, judging->trial, &carried, arena))
        lines_add(cautions, carried);
    if (!isnan(outcome->allocation_share) && outcome->treated > 0 && outcome->untreated > 0)
        lines_add(
            cautions,
            text_fill(arena,
                      "By counting: as large an effect would come out in {} of the "
                      "allocations if the remedy had done nothing.",
                      share_words(arena, outcome->allocation_share, outcome->allocations)));
}

/* --- the claim ------------------------------------------------------------------------------------------ */

static double toward_better(const struct judging *judging, double change)
{
    return judging->trial->is_lower_better ? -change : change;
}

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

static void hold_one_claim(const struct judging *judging, size_t i, struct lines *lines)
{
    struct arena *arena = judging->arena;
    const struct trial_change *change = &judging->outcome->changes[i];
    struct text name =
        say_position(arena, judging->job, trial_index(judging->job, judging->trial), (int)i);
    struct text by = change->is_worked_out ? change_words(arena, change->change, judging->unit)
                                           : TEXT("nothing that was read");
    double treated = mean_change(judging, true);
    if (!is_treated(judging, i)) {
        struct text theirs = isnan(treated) ? TEXT("nothing that was read")
                                            : change_words(arena, treated, judging->unit);
        lines_add(lines,
                  text_fill(arena,
                            "You named {}. It was NOT treated: it was left alone as a "
                            "control. It changed by {}, the treated ones by {} on average.",
                            name, by, theirs));
    } else if (!change->is_worked_out) {
        lines_add(lines,
                  text_fill(arena, "You named {}. It was not read before and after.", name));
    } else if (isfinite(change->band) && fabs(change->beyond) <= change->band) {
        lines_add(lines,
                  text_fill(arena,
                            "You named {}. Against the others it changed by {}, inside its "
                            "band of {}: the readings do not show it.",
                            name, change_words(arena, change->beyond, judging->unit),
                            step_words(arena, change->band, judging->unit)));
    } else if (toward_better(judging, isnan(change->beyond) ? change->change : change->beyond) <
               0) {
        lines_add(lines, text_fill(arena,
                                   "You named {}. By the readings it changed by {}, for the "
                                   "worse.",
                                   name, by));
    }
}

static void hold_claim(const struct judging *judging, struct trial_finding *finding)
{
    const struct event *claimed = trial_claimed(judging->job, judging->trial);
    struct lines lines = lines_begin(CHANGES_MOST + 1, judging->arena);
    unsigned long long positions;
    struct text refusal;
    if (claimed == NULL || !trial_claim_take(judging->job, judging->trial, claimed->meaning,
                                             &positions, &refusal, judging->arena))
        return;
    finding->claim = claimed->meaning;
    for (size_t i = 0; i < index_size(judging->job, trial_index(judging->job, judging->trial));
         i++)
        if ((positions >> i & 1ULL) != 0)
            hold_one_claim(judging, i, &lines);
    bool shows_better = judging->outcome->verdict ==
                        (judging->trial->is_lower_better ? TRIAL_FELL_MORE : TRIAL_ROSE_MORE);
    if (positions == 0 && shows_better)
        lines_add(
            &lines,
            text_fill(judging->arena,
                      "You named none. By the readings the treated ones changed by {} "
                      "more than the others, with a band of {}.",
                      change_words(judging->arena, judging->outcome->effect, judging->unit),
                      step_words(judging->arena, judging->outcome->band, judging->unit)));
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

struct trial_finding trial_work_out(const struct job *job, const struct trial *trial,
                                    const struct surroundings *surroundings,
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
    size_t count = index_size(job, trial_index(job, trial));
    for (size_t i = 0; i < count; i++)
        lines_add(&changes, changes_line(&judging, i));
    add_matches(&judging, surroundings, &cautions, &unmatched);
    add_cautions(&judging, &cautions);
    struct value answer =
        trial_value_of(job, trial->number * TRIAL_VALUES + TRIAL_ANSWER, arena);
    finding.is_allotted = true;
    finding.treated = treated_words(&judging, allotted);
    finding.is_downgraded = unmatched.length > 0;
    finding.verdict = unmatched.length == 0 ? answer.items[0].text
                                            : text_fill(arena, "{}, downgraded: {}",
                                                        answer.items[0].text, unmatched);
    finding.has_effect = !isnan(outcome.effect);
    finding.effect = outcome.effect;
    finding.said = verdict_sentence(&judging);
    if (finding.is_downgraded && outcome.verdict != TRIAL_NONE)
        finding.said = text_fill(arena, "{} Before and after are not comparable by: {}.",
                                 finding.said, unmatched);
    finding.changes = changes.texts;
    finding.change_count = changes.count;
    finding.cautions = cautions.texts;
    finding.caution_count = cautions.count;
    hold_claim(&judging, &finding);
    return finding;
}

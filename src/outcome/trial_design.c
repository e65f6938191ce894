/* What a trial can show, before the work, and what is said before and after it alike. */
#include "job/say.h"
#include "outcome/judged.h"
#include "trial_sentences.h"

#include <assert.h>
#include <math.h>

/* --- lines and amounts -------------------------------------------------------------------------- */

struct lines lines_begin(size_t most, struct arena *arena)
{
    return (struct lines){arena_array(arena, struct text, most), 0, most};
}

void lines_add(struct lines *lines, struct text line)
{
    assert(lines->count < lines->most);
    lines->texts[lines->count++] = line;
}

struct text trial_step_words(struct arena *arena, double amount, const struct unit *unit)
{
    return amount > 0 ? uncertainty_text(arena, amount, unit)
                      : value_text_decimals(arena, 0, unit, 0);
}

static struct text sized_change(struct arena *arena, double change, int place,
                                const struct unit *unit)
{
    const char *sign = change < 0 ? "\u2212" : change > 0 ? "+" : "";
    double shown = fabs(unit_step_from_si(unit, change));
    if (place > 0)
        shown = round(shown / pow(10, place)) * pow(10, place);
    return text_fill(arena, "{}{}", text_from(sign),
                     value_text_decimals(arena, unit_step_to_si(unit, shown), unit,
                                         place < 0 ? (unsigned)-place : 0));
}

/* The place of its second digit; 10.2 less 10.1 is a tenth, though a double has a little less. */
static int second_digit_of(double shown)
{
    const double rounding = 1e-9;
    return shown > 0 ? (int)floor(log10(shown * (1 + rounding))) - 1 : 0;
}

/* To two digits, to the nearest: unlike a band, a change is not to be made larger. */
struct text trial_change_words(struct arena *arena, double change, const struct unit *unit)
{
    double shown = fabs(unit_step_from_si(unit, change));
    int place = second_digit_of(shown);
    return sized_change(arena, change, place, unit);
}

/* To the last digit of its band. */
struct text trial_fine_words(struct arena *arena, double change, double band,
                             const struct unit *unit)
{
    if (!isfinite(band) || !(band > 0))
        return trial_change_words(arena, change, unit);
    double shown = fabs(unit_step_from_si(unit, change));
    int own = second_digit_of(shown);
    int of_band = uncertainty_rounded(unit_step_from_si(unit, band)).place;
    return sized_change(arena, change, own < of_band ? own : of_band, unit);
}

struct text trial_banded_words(struct arena *arena, double change, double band,
                               const struct unit *unit)
{
    if (!isfinite(band) || !(band > 0))
        return trial_change_words(arena, change, unit);
    return sized_change(arena, change, uncertainty_rounded(unit_step_from_si(unit, band)).place,
                        unit);
}

struct text trial_amount_words(struct arena *arena, double amount, const struct unit *unit)
{
    return say_number(arena, (struct measured){.value = amount}, unit);
}

struct text trial_decimals(struct arena *arena, double value, unsigned places)
{
    return value_text_decimals(arena, value, &unit_one, places);
}

struct text trial_index_name(const struct job *job, const struct trial *trial)
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
                         "was to compare with. There will be no verdict, only the numbers.",
                         trial_index_name(job, trial));
    struct text treated = text_number(arena, design->treated);
    struct text untreated = text_number(arena, design->untreated);
    if (trial->chosen == NULL)
        return text_fill(
            arena,
            "Treated: {} of {}, drawn by lot when you go on (number {}: with it the "
            "draw can be done again). Left alone: {}.{}",
            treated, all, text_number(arena, (long long)trial_seed(job, trial)), untreated,
            design->treated == trial->drawn
                ? TEXT("")
                : text_fill(arena, " {} were to be drawn: no more were read before.",
                            text_number(arena, trial->drawn)));
    unsigned long long unread = positions & ~trial_read_before(job, trial, arena);
    struct text said = text_fill(arena, "Treated: {} ({} of {}). Left alone: {}.",
                                 trial_labels(job, trial, positions & ~unread, arena), treated,
                                 all, untreated);
    return unread == 0 ? said
                       : text_fill(arena,
                                   "{} Chosen but not read before, so that nothing can be seen "
                                   "there: {}.",
                                   said, trial_labels(job, trial, unread, arena));
}

static struct text design_of_scatter(const struct trial_prospects *prospects,
                                     const struct unit *unit, struct arena *arena)
{
    const struct trial_design *design = &prospects->design;
    double smallest = prospects->prospect.smallest_effect;
    if (prospects->is_single)
        return TEXT("Single readings: each was read once before. How much a reading scatters "
                    "is not known, so nobody can say now how small a change this can show. A "
                    "verdict can rest on the spread of those left alone, and on nothing else.");
    if (!(design->repeat_scatter > 0))
        return TEXT("The readings before did not scatter at all: the scale is too coarse to "
                    "show it, and nobody can say now how small a change this can show.");
    struct text scatter = uncertainty_text(arena, design->repeat_scatter, unit);
    if (isnan(smallest))
        return text_fill(arena, "The readings before scatter by {} from one to the next.",
                         scatter);
    return text_fill(arena,
                     "The readings before scatter by {} from one to the next. With {} before "
                     "and {} after, the smallest change that could be seen is {} at best; one "
                     "of just that size is seen half the time.",
                     scatter, text_number(arena, design->before),
                     text_number(arena, design->after),
                     uncertainty_text(arena, smallest, unit));
}

/* The smallest change worth having, SI; false if none is said or it cannot be worked out. */
bool trial_find_worth(const struct job *job, const struct trial *trial, double *worth,
                      struct arena *arena)
{
    struct surroundings surroundings = job_surroundings(job, arena);
    return trial->worth != NULL &&
           work_out_number(trial->worth, &surroundings, worth, NULL, arena) && *worth > 0;
}

static void add_worth(struct lines *lines, const struct job *job, const struct trial *trial,
                      const struct trial_prospects *prospects, struct arena *arena)
{
    double worth, smallest = prospects->prospect.smallest_effect;
    if (isnan(smallest) || trial->reaches_all || !trial_find_worth(job, trial, &worth, arena))
        return;
    struct text wanted = trial_amount_words(arena, worth, trial_unit(job, trial));
    lines_add(
        lines,
        worth < smallest
            ? text_fill(arena,
                        "The smallest change worth having, {}, would be missed more often "
                        "than seen: this trial is too small for it. More readings of each, "
                        "or more treated and left alone, would show less.",
                        wanted)
            : text_fill(arena,
                        "The smallest change worth having, {}, is not less than that. "
                        "Whether it is seen hangs on how differently each {} changes by "
                        "itself; nobody knows that yet.",
                        wanted, trial_index_name(job, trial)));
}

/* Only a draw by lot makes every choice equally likely, so that choices can be counted. */
static void add_chance(struct lines *lines, const struct trial *trial,
                       const struct trial_prospects *prospects, struct arena *arena)
{
    const double countable = 1e6;
    const struct trial_design *design = &prospects->design;
    double ways = prospects->prospect.allocations;
    if (design->treated == 0 || design->untreated < 2)
        return;
    if (trial->chosen != NULL) {
        if (!prospects->rests_on_before)
            lines_add(lines, TEXT("Not drawn by lot: whatever made somebody choose these may "
                                  "also make them change."));
        return;
    }
    struct text who = design->treated == 1 ? TEXT("the treated one")
                                           : text_fill(arena, "the {} treated ones",
                                                       text_number(arena, design->treated));
    struct text often =
        ways > countable ? TEXT("less than once in a million")
                         : text_fill(arena, "once in {}", text_number(arena, (long long)ways));
    lines_add(lines,
              text_fill(arena, "Even if {} came out best, chance alone would do that {}.", who,
                        often));
}

static void add_groups(struct lines *lines, const struct job *job, const struct trial *trial,
                       const struct trial_design *design, struct arena *arena)
{
    if (design->treated == 0)
        lines_add(lines, text_fill(arena, "No {} is treated: there is nothing to judge.",
                                   trial_index_name(job, trial)));
    else if (design->untreated < 2)
        lines_add(lines,
                  TEXT("Fewer than two are left alone: there will be no verdict, only the "
                       "numbers."));
    else if (design->treated == 1)
        lines_add(lines, TEXT("One alone is treated: it is held against the spread of the "
                              "others, and must stand well out of it."));
}

/* Some and not others, by the readings that they are compared with. */
bool trial_is_picked(const struct trial *trial, const struct trial_prospects *prospects)
{
    const struct trial_design *design = &prospects->design;
    return prospects->rests_on_before &&
           (trial->reaches_all || (design->treated > 0 && design->untreated > 0));
}

/* Where lower is better it is the highest that is picked. */
struct text trial_regression_words(const struct job *job, const struct trial *trial,
                                   const struct trial_prospects *prospects, struct arena *arena)
{
    struct regression regression = {
        .is_highest = trial->is_lower_better,
        .positions = prospects->positions,
        .repeat_scatter = prospects->is_single ? NAN : prospects->design.repeat_scatter,
        .before = prospects->design.before};
    return judged_regression(
        TEXT("who is treated was picked by the readings it is compared with."), &regression,
        trial_unit(job, trial), arena);
}

struct text trial_reached_all_words(void)
{
    return TEXT("Carry-over: it reaches all of them; no later trial on this machine has an "
                "untouched control either.");
}

/* Positions that an earlier trial of this job treated. */
bool trial_carries_over(const struct job *job, const struct trial *trial, struct text *words,
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

static struct text match_names(const struct trial *trial, struct arena *arena)
{
    struct text *names = arena_array(arena, struct text, trial->match_count);
    for (size_t i = 0; i < trial->match_count; i++)
        names[i] = trial->matches[i].name;
    return say_list(arena, names, trial->match_count);
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
    if (!trial->reaches_all) {
        add_groups(&lines, job, trial, &prospects.design, arena);
        lines_add(&lines, design_of_scatter(&prospects, trial_unit(job, trial), arena));
        add_worth(&lines, job, trial, &prospects, arena);
        add_chance(&lines, trial, &prospects, arena);
    }
    if (trial_is_picked(trial, &prospects))
        lines_add(&lines, trial_regression_words(job, trial, &prospects, arena));
    if (trial->match_count > 0)
        lines_add(&lines, text_fill(arena, "Must be the same before and after: {}.",
                                    match_names(trial, arena)));
    lines_add(&lines, trial->reaches_all ? trial_reached_all_words()
                                         : judged_ceiling(arena, trial_index_name(job, trial)));
    if (trial_carries_over(job, trial, &carried, arena))
        lines_add(&lines, carried);
    *paragraphs = lines.texts;
    return lines.count;
}

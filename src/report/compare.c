/*
 * compare.c - two jobs of one machine, side by side.
 */
#include "report/compare.h"

#include "comparison.h"
#include "history_series.h"
#include "job/say.h"
#include "job/trials.h"

#include <math.h>

/* --- by how much ------------------------------------------------------------------------------- */

static struct text change_words(struct arena *arena, struct measured change,
                                const struct unit *unit)
{
    double band = gradient_expanded(change.gradient);
    if (!(band > 0))
        return say_number(arena, change, unit);
    struct text sized = measured_text(arena, change.value, band, unit);
    return fabs(change.value) > band ? sized : text_fill(arena, "{}, within its ±", sized);
}

static struct text read_words(struct arena *arena, const struct scalar *scalar,
                              const struct unit *unit)
{
    if (scalar->is_missing)
        return TEXT("not read");
    double band = gradient_expanded(scalar->number.gradient);
    return band > 0 ? measured_text(arena, scalar->number.value, band, unit)
                    : say_number(arena, scalar->number, unit);
}

static struct measured change_at(struct comparison *comparison, const struct pair *pair,
                                 size_t i)
{
    const struct measured *a = &pair->before.items[i].number, *b = &pair->after.items[i].number;
    return (struct measured){
        b->value - a->value,
        gradient_combine(comparison->arena,
                         errors_in(&comparison->errors, SIDE_AFTER, b->gradient), 1.0,
                         errors_in(&comparison->errors, SIDE_BEFORE, a->gradient), -1.0)};
}

static void compare_pair(struct comparison *comparison, const struct pair *pair)
{
    struct arena *arena = comparison->arena;
    const struct unit *unit = pair->reading->field.unit;
    struct rows rows = rows_begin(arena);
    struct measured sum = {0.0, NULL};
    size_t both = 0;
    rows_add(&rows, TEXT("Where"), say_capital(arena, comparison->before.name),
             say_capital(arena, comparison->after.name), TEXT("Change"));
    for (size_t i = 0; i < pair->before.count; i++) {
        const struct scalar *a = &pair->before.items[i], *b = &pair->after.items[i];
        struct text change = {0};
        if (!a->is_missing && !b->is_missing) {
            struct measured by = change_at(comparison, pair, i);
            change = change_words(arena, by, history_step_unit(unit));
            sum.value += by.value;
            sum.gradient = gradient_combine(arena, sum.gradient, 1.0, by.gradient, 1.0);
            both++;
        }
        rows_add(&rows,
                 pair->labels == NULL ? TEXT("")
                                      : say_position(arena, comparison->before.job,
                                                     pair->reading->index, (int)i),
                 read_words(arena, a, unit), read_words(arena, b, unit), change);
    }
    if (pair->labels != NULL && both > 1) {
        double share = 1.0 / (double)both;
        struct measured mean = {sum.value * share,
                                gradient_combine(arena, sum.gradient, share, NULL, 0.0)};
        rows_add(&rows, TEXT("mean change"), TEXT(""), TEXT(""),
                 change_words(arena, mean, history_step_unit(unit)));
    }
    blocks_table(&comparison->blocks, say_capital(arena, say_name(arena, pair->reading->name)),
                 &rows);
}

/* --- one gauge or two ------------------------------------------------------------------------------ */

static void tell_gauges_of(struct comparison *comparison)
{
    static const char *const sentences[] = {
        [ONE_GAUGE] =
            "The same gauge by its name and calibration served in both: its own error "
            "is counted once, if it still reads as it did.",
        [GAUGE_UNDATED] =
            "By its name the same gauge served in both jobs, but not both say when "
            "it was calibrated: its own error is counted twice, as that of two "
            "gauges.",
        [GAUGE_RERATED] = "By its name the same gauge served in both jobs, but its accuracy is "
                          "given otherwise: its own error is counted twice, as that of two "
                          "gauges.",
        [GAUGE_RECALIBRATED] = "By its name the same gauge served in both jobs, but it was "
                               "calibrated in between: its own error is counted twice, as "
                               "that of two gauges."};
    bool is_so[OTHER_GAUGE + 1] = {false};
    for (size_t i = 0; i < comparison->pair_count; i++) {
        const struct pair *pair = &comparison->pairs[i];
        const struct gauge *gauge = gauge_in(&comparison->before, pair->reading);
        const struct gauge *then = gauge_in(&comparison->after, pair->then);
        if (gauge != NULL && then != NULL && gauge->accuracy_count + then->accuracy_count > 0)
            is_so[gauges_compare(gauge, then)] = true;
    }
    for (enum gauges_alike alike = ONE_GAUGE; alike < OTHER_GAUGE; alike++)
        if (is_so[alike])
            blocks_paragraph(&comparison->blocks, TONE_PLAIN, text_from(sentences[alike]));
}

/* --- what can be leaned on ------------------------------------------------------------------------ */

/* "--treated 1", with a label that there is. */
static void tell_how_to_name(struct comparison *comparison)
{
    struct arena *arena = comparison->arena;
    for (size_t i = 0; i < comparison->pair_count; i++) {
        const struct pair *pair = &comparison->pairs[i];
        if (pair->labels == NULL || pair->labels->count < 2)
            continue;
        struct text label = pair->labels->texts[0];
        bool is_plain = text_find(label, TEXT(" ")) == label.length;
        blocks_paragraph(
            &comparison->blocks, TONE_PLAIN,
            text_fill(arena,
                      "If some were treated in between and the others left alone, name them, "
                      "and it says whether it worked: {}.",
                      text_fill(arena, is_plain ? "--treated {}" : "--treated '{}'", label)));
        return;
    }
}

static void tell_no_control(struct comparison *comparison)
{
    struct blocks *blocks = &comparison->blocks;
    blocks_paragraph(blocks, TONE_CAUTION,
                     TEXT("Between two jobs nothing is a control. Whatever else changed in "
                          "between may have done it as well: wear, weather, fuel, who "
                          "measured."));
    blocks_paragraph(blocks, TONE_PLAIN,
                     TEXT("No position is known to have been left alone, so this says that "
                          "something changed and not what changed it."));
    tell_how_to_name(comparison);
}

/* What a trial came to is not to be known before somebody was asked what they saw. */
static bool is_kept_back(const struct side *side)
{
    for (size_t i = 0; i < side->procedure->trial_count; i++)
        if (trial_is_kept_back(side->job, side->procedure->trials[i]))
            return true;
    return false;
}

static void tell_rehearsals(struct comparison *comparison)
{
    if (job_is_rehearsal(comparison->before.job) && job_is_rehearsal(comparison->after.job))
        blocks_paragraph(&comparison->blocks, TONE_NOTICE, history_of_rehearsals());
}

static void tell_effect(struct comparison *comparison)
{
    const struct side *sides[SIDE_COUNT] = {&comparison->before, &comparison->after};
    for (size_t i = 0; i < SIDE_COUNT; i++)
        if (is_kept_back(sides[i])) {
            blocks_paragraph(
                &comparison->blocks, TONE_NOTICE,
                text_fill(comparison->arena,
                          "Whether it worked is not told before the end of {}: somebody is "
                          "asked there first what they saw.",
                          sides[i]->name));
            return;
        }
    if (tell_whether_it_worked(comparison) == 0)
        tell_no_control(comparison);
}

struct card compare_build(const struct compared_jobs *jobs,
                          const struct compare_treated *treated, struct arena *arena)
{
    struct comparison comparison = comparison_of(jobs, arena);
    struct blocks *blocks = &comparison.blocks;
    comparison.treated = treated;
    comparison.blocks = blocks_begin(arena);
    find_differences(&comparison);
    tell_rehearsals(&comparison);
    tell_effect(&comparison);
    for (size_t i = 0; i < comparison.pair_count; i++)
        compare_pair(&comparison, &comparison.pairs[i]);
    if (comparison.pair_count == 0)
        blocks_paragraph(blocks, TONE_PLAIN, TEXT("No reading was taken in both jobs."));
    tell_differences(&comparison);
    blocks_paragraph(
        blocks, TONE_PLAIN,
        TEXT("± means give or take: with 95 % the true change lies within it, as far as is "
             "known of the gauges and the repeats. One within its ± may be none at all."));
    tell_gauges_of(&comparison);
    struct text title =
        text_fill(arena, "{} and {} compared: {}", say_capital(arena, comparison.before.name),
                  comparison.after.name, comparison.before.fitted->machine->title);
    return (struct card){title, blocks->items, blocks->count};
}

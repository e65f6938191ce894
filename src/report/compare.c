/*
 * compare.c - two jobs of one machine, side by side.
 */
#include "report/compare.h"

#include "base/calendar.h"
#include "blocks.h"
#include "job/say.h"

#include <math.h>

struct side {
    const struct job *job;
    const struct procedure *procedure;
    const struct fitted *fitted;
    struct surroundings surroundings;
    struct text name; /* "job 3" */
};

struct comparison {
    struct side before, after;
    struct blocks blocks;
    struct arena *arena;
};

static struct side side_of(struct compared_job compared, struct arena *arena)
{
    const struct fitted *fitted = job_fitted(compared.job);
    return (struct side){.job = compared.job,
                         .procedure = fitted->procedure,
                         .fitted = fitted,
                         .surroundings = job_surroundings(compared.job, arena),
                         .name =
                             text_fill(arena, "job {}", text_number(arena, compared.job_id))};
}

static struct value value_in(const struct side *side, unsigned symbol, struct arena *arena)
{
    return side->surroundings.value_of(side->surroundings.self, symbol, arena);
}

static const struct reading *reading_in(const struct side *side, struct text name)
{
    for (size_t i = 0; i < side->procedure->reading_count; i++)
        if (text_equal(side->procedure->readings[i].name, name))
            return &side->procedure->readings[i];
    return NULL;
}

/* --- by how much ------------------------------------------------------------------------------- */

/* Each job numbers its sources of error from 0 up.  Those of the later one are other errors: whether it
 * was the same gauge in the hand, and still as it was, nobody wrote down. */
static const struct gradient *of_another_job(struct arena *arena,
                                             const struct gradient *gradient)
{
    enum { POOLS = 1 << 20 };
    const unsigned sources = 0x80000000U;
    if (gradient == NULL)
        return NULL;
    struct error_term *terms = arena_array(arena, struct error_term, gradient->count);
    for (size_t i = 0; i < gradient->count; i++) {
        terms[i] = gradient->terms[i];
        terms[i].source += sources;
        terms[i].pool += POOLS;
    }
    return gradient_of(arena, terms, gradient->count);
}

static const struct unit *step_unit(const struct unit *unit)
{
    return kind_is_point(unit->kind) ? unit_for(kind_difference(unit->kind)) : unit;
}

static struct text change_words(struct arena *arena, struct measured change,
                                const struct unit *unit)
{
    double band = gradient_expanded(change.gradient);
    if (!(band > 0))
        return say_number(arena, change, unit);
    struct text sized = measured_text(arena, change.value, band, unit);
    return fabs(change.value) > band ? sized : text_fill(arena, "{}, inside its band", sized);
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

/* One reading that both jobs took. */
struct pair {
    const struct reading *reading;
    struct value before, after;
    const struct labels *labels; /* NULL: no vector */
};

static struct measured change_at(const struct comparison *comparison, const struct pair *pair,
                                 size_t i)
{
    const struct measured *a = &pair->before.items[i].number, *b = &pair->after.items[i].number;
    return (struct measured){b->value - a->value,
                             gradient_combine(comparison->arena,
                                              of_another_job(comparison->arena, b->gradient),
                                              1.0, a->gradient, -1.0)};
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
            change = change_words(arena, by, step_unit(unit));
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
                 change_words(arena, mean, step_unit(unit)));
    }
    blocks_table(&comparison->blocks, say_capital(arena, say_name(arena, pair->reading->name)),
                 &rows);
}

static bool is_anything(const struct value *value)
{
    for (size_t i = 0; i < value->count; i++)
        if (!value->items[i].is_missing)
            return true;
    return false;
}

static bool is_alike(const struct labels *a, const struct labels *b)
{
    if (a == NULL || b == NULL || a->count != b->count)
        return a == b;
    for (size_t i = 0; i < a->count; i++)
        if (!text_equal(a->texts[i], b->texts[i]))
            return false;
    return true;
}

static const struct labels *labels_of(const struct side *side, const struct reading *reading)
{
    return reading->index == INDEX_NONE ? NULL : &side->fitted->indexes[reading->index];
}

static size_t compare_readings(struct comparison *comparison)
{
    size_t count = 0;
    const struct side *before = &comparison->before, *after = &comparison->after;
    for (size_t i = 0; i < before->procedure->reading_count; i++) {
        const struct reading *reading = &before->procedure->readings[i];
        const struct reading *then = reading_in(after, reading->name);
        if (then == NULL || reading->is_torque || reading->field.form != FIELD_QUANTITY ||
            then->field.form != FIELD_QUANTITY || reading->field.unit == NULL ||
            then->field.unit == NULL ||
            !kind_equal(reading->field.unit->kind, then->field.unit->kind) ||
            !is_alike(labels_of(before, reading), labels_of(after, then)))
            continue;
        struct pair pair = {.reading = reading,
                            .before = value_in(before, reading->symbol, comparison->arena),
                            .after = value_in(after, then->symbol, comparison->arena),
                            .labels = labels_of(before, reading)};
        if (!is_anything(&pair.before) || !is_anything(&pair.after))
            continue;
        compare_pair(comparison, &pair);
        count++;
    }
    return count;
}

/* --- what else differed --------------------------------------------------------------------------- */

static void add_if_other(struct rows *rows, struct text what, struct text before,
                         struct text after)
{
    if (!text_equal(before, after))
        rows_add(rows, what, before.length > 0 ? before : TEXT("not known"),
                 after.length > 0 ? after : TEXT("not known"));
}

static struct text gauge_words(const struct side *side, const struct reading *reading,
                               struct arena *arena)
{
    if (reading->field.gauge == GAUGE_NONE)
        return TEXT("none named");
    const struct gauge *gauge = &side->fitted->gauges[reading->field.gauge];
    struct text name = gauge->title.length > 0 ? gauge->title : say_name(arena, gauge->name);
    return gauge->calibrated.length == 0
               ? name
               : text_fill(arena, "{}, calibrated {}", name, gauge->calibrated);
}

/* A gauge with an accuracy that by its name and calibration served in both jobs, in a reading that is
 * compared. */
static bool shares_a_gauge(const struct comparison *comparison)
{
    const struct side *before = &comparison->before, *after = &comparison->after;
    for (size_t i = 0; i < before->procedure->reading_count; i++) {
        const struct reading *reading = &before->procedure->readings[i];
        const struct reading *then = reading_in(after, reading->name);
        if (then == NULL || reading->is_torque || reading->field.gauge == GAUGE_NONE ||
            then->field.gauge == GAUGE_NONE)
            continue;
        struct value first = value_in(before, reading->symbol, comparison->arena);
        struct value second = value_in(after, then->symbol, comparison->arena);
        if (before->fitted->gauges[reading->field.gauge].accuracy_count > 0 &&
            text_equal(gauge_words(before, reading, comparison->arena),
                       gauge_words(after, then, comparison->arena)) &&
            is_anything(&first) && is_anything(&second))
            return true;
    }
    return false;
}

static struct text said_in(const struct side *side, unsigned symbol, const struct unit *unit,
                           struct arena *arena)
{
    struct value value = value_in(side, symbol, arena);
    if (value.count != 1 || value.items[0].is_missing)
        return (struct text){0};
    return say_scalar(arena, &value.items[0], value.type, unit);
}

static void add_differences_of_readings(const struct comparison *comparison, struct rows *rows)
{
    struct arena *arena = comparison->arena;
    const struct side *before = &comparison->before, *after = &comparison->after;
    for (size_t i = 0; i < before->procedure->reading_count; i++) {
        const struct reading *reading = &before->procedure->readings[i];
        const struct reading *then = reading_in(after, reading->name);
        if (then == NULL || reading->is_torque)
            continue;
        struct text name = say_capital(arena, say_name(arena, reading->name));
        add_if_other(rows, text_fill(arena, "Gauge of {}", say_name(arena, reading->name)),
                     gauge_words(before, reading, arena), gauge_words(after, then, arena));
        if (reading->index == INDEX_NONE && then->index == INDEX_NONE)
            add_if_other(rows, name,
                         said_in(before, reading->symbol, reading->field.unit, arena),
                         said_in(after, then->symbol, then->field.unit, arena));
    }
    for (size_t i = 0; i < before->procedure->input_count; i++) {
        const struct input *input = &before->procedure->inputs[i];
        for (size_t k = 0; k < after->procedure->input_count; k++) {
            const struct input *then = &after->procedure->inputs[k];
            if (text_equal(input->name, then->name))
                add_if_other(rows, say_capital(arena, say_name(arena, input->name)),
                             said_in(before, input->symbol, input->field.unit, arena),
                             said_in(after, then->symbol, then->field.unit, arena));
        }
    }
}

static struct text begun_words(const struct side *side, struct arena *arena)
{
    size_t count;
    const struct event *events = job_events(side->job, &count);
    return count == 0 ? (struct text){0}
                      : calendar_moment_text(arena, events[0].at.wall, events[0].zone);
}

static void compare_conditions(struct comparison *comparison)
{
    struct arena *arena = comparison->arena;
    const struct side *before = &comparison->before, *after = &comparison->after;
    struct rows rows = rows_begin(arena);
    rows_add(&rows, TEXT("What"), say_capital(arena, before->name),
             say_capital(arena, after->name));
    add_if_other(&rows, TEXT("Begun"), begun_words(before, arena), begun_words(after, arena));
    add_if_other(&rows, TEXT("Procedure"), before->procedure->title, after->procedure->title);
    add_if_other(&rows, TEXT("Revision"), text_number(arena, before->procedure->revision),
                 text_number(arena, after->procedure->revision));
    add_if_other(&rows, TEXT("Rehearsal"),
                 job_is_rehearsal(before->job) ? TEXT("yes") : TEXT("no"),
                 job_is_rehearsal(after->job) ? TEXT("yes") : TEXT("no"));
    add_differences_of_readings(comparison, &rows);
    blocks_table(&comparison->blocks, TEXT("What differed between the jobs"), &rows);
}

/* --- what can be leaned on ------------------------------------------------------------------------ */

static bool tell_untreated(struct comparison *comparison, const struct side *side)
{
    struct arena *arena = comparison->arena;
    struct outcome outcome = outcome_work_out(side->job, arena);
    bool is_any = false;
    for (size_t i = 0; i < outcome.trial_count; i++) {
        const struct trial_finding *trial = &outcome.trials[i];
        bool is_nobody = text_starts(trial->treated, TEXT("none"));
        if (!trial->is_allotted || trial->trial->reaches_all || is_nobody)
            continue;
        is_any = true;
        blocks_paragraph(
            &comparison->blocks, TONE_NOTICE,
            text_fill(arena,
                      "In {} the trial '{}' treated {} and left the others alone: "
                      "those are the only ones to compare with. Its card says what "
                      "it showed.",
                      side->name, say_name(arena, trial->trial->name), trial->treated));
    }
    return is_any;
}

struct card compare_build(struct compared_job before, struct compared_job after,
                          struct arena *arena)
{
    struct comparison comparison = {.before = side_of(before, arena),
                                    .after = side_of(after, arena),
                                    .blocks = blocks_begin(arena),
                                    .arena = arena};
    struct blocks *blocks = &comparison.blocks;
    blocks_paragraph(blocks, TONE_CAUTION,
                     TEXT("Between two jobs nothing is a control. Whatever else changed in "
                          "between may have done it as well: wear, weather, fuel, who "
                          "measured."));
    bool has_trial = tell_untreated(&comparison, &comparison.before);
    has_trial = tell_untreated(&comparison, &comparison.after) || has_trial;
    if (!has_trial)
        blocks_paragraph(blocks, TONE_PLAIN,
                         TEXT("No position is known to have been left alone, so this says that "
                              "something changed and not what changed it."));
    if (compare_readings(&comparison) == 0)
        blocks_paragraph(blocks, TONE_PLAIN, TEXT("No reading was taken in both jobs."));
    compare_conditions(&comparison);
    blocks_paragraph(
        blocks, TONE_PLAIN,
        TEXT("The change lies within ± with 95 %, as far as is known of the gauges "
             "and the repeats."));
    if (shares_a_gauge(&comparison))
        blocks_paragraph(blocks, TONE_PLAIN,
                         TEXT("By its name the same gauge served in both jobs. Its own error "
                              "is counted twice, "
                              "as if it were another day's: the band is wide on purpose."));
    struct text title =
        text_fill(arena, "{} and {} compared: {}", say_capital(arena, comparison.before.name),
                  comparison.after.name, comparison.before.fitted->machine->title);
    return (struct card){title, blocks->items, blocks->count};
}

/* What else was not alike in two jobs. */
#include "base/calendar.h"
#include "comparison.h"
#include "history_series.h"
#include "job/say.h"

#include <math.h>

struct found {
    struct difference *items;
    size_t count;
};

static void add_if_other(struct found *found, struct text what, struct text before,
                         struct text after, enum bearing bearing)
{
    const struct text unknown = TEXT("not known");
    if (!text_equal(before, after))
        found->items[found->count++] =
            (struct difference){what, before.length > 0 ? before : unknown,
                                after.length > 0 ? after : unknown, bearing};
}

static struct text gauge_words(const struct gauge *gauge, struct arena *arena)
{
    return gauge == NULL ? TEXT("none named") : gauge_told(gauge, arena);
}

static struct text said_in(const struct value *value, const struct unit *unit,
                           struct arena *arena)
{
    if (value->count != 1 || value->items[0].is_missing)
        return (struct text){0};
    return say_scalar(arena, &value->items[0], value->type, unit);
}

/* A reading is as likely what the work led to as what it was done in; what lies inside its own band is
 * neither. */
static enum bearing bearing_of(struct comparison *comparison, const struct value *before,
                               const struct value *after)
{
    if (before->count != 1 || after->count != 1 || before->items[0].is_missing ||
        after->items[0].is_missing || before->type.base != TYPE_NUMBER ||
        after->type.base != TYPE_NUMBER)
        return BEARS_PERHAPS;
    const struct measured *a = &before->items[0].number, *b = &after->items[0].number;
    struct errors_of_jobs *errors = &comparison->errors;
    double band = gradient_expanded(
        gradient_combine(comparison->arena, errors_in(errors, SIDE_AFTER, b->gradient), 1.0,
                         errors_in(errors, SIDE_BEFORE, a->gradient), -1.0));
    return fabs(b->value - a->value) > band ? BEARS_PERHAPS : BEARS_NOT;
}

static void find_in_readings(struct comparison *comparison, struct found *found)
{
    struct arena *arena = comparison->arena;
    const struct side *before = &comparison->before, *after = &comparison->after;
    for (size_t i = 0; i < before->procedure->reading_count; i++)
        for (size_t k = 0; k < after->procedure->reading_count; k++) {
            const struct reading *reading = &before->procedure->readings[i];
            const struct reading *then = &after->procedure->readings[k];
            if (!text_equal(reading->name, then->name) || reading->is_torque)
                continue;
            struct text name = say_name(arena, reading->name);
            /* a trial of that reading alone is not comparable by it: see compare_trial.c */
            add_if_other(found, text_fill(arena, "gauge of {}", name),
                         gauge_words(gauge_in(before, reading), arena),
                         gauge_words(gauge_in(after, then), arena), BEARS_NOT);
            if (reading->index != INDEX_NONE || then->index != INDEX_NONE)
                continue;
            struct value a = value_in(before, reading->symbol, arena);
            struct value b = value_in(after, then->symbol, arena);
            add_if_other(found, name, said_in(&a, reading->field.unit, arena),
                         said_in(&b, then->field.unit, arena), bearing_of(comparison, &a, &b));
        }
}

static void find_in_inputs(struct comparison *comparison, struct found *found)
{
    struct arena *arena = comparison->arena;
    const struct side *before = &comparison->before, *after = &comparison->after;
    for (size_t i = 0; i < before->procedure->input_count; i++)
        for (size_t k = 0; k < after->procedure->input_count; k++) {
            const struct input *input = &before->procedure->inputs[i];
            const struct input *then = &after->procedure->inputs[k];
            if (!text_equal(input->name, then->name))
                continue;
            struct value a = value_in(before, input->symbol, arena);
            struct value b = value_in(after, then->symbol, arena);
            add_if_other(found, say_name(arena, input->name),
                         said_in(&a, input->field.unit, arena),
                         said_in(&b, then->field.unit, arena),
                         is_counter(input->name, &input->field) ? BEARS_NOT : BEARS);
        }
}

void find_differences(struct comparison *comparison)
{
    enum { OF_THE_JOBS = 3 };
    struct arena *arena = comparison->arena;
    const struct side *before = &comparison->before, *after = &comparison->after;
    size_t most =
        OF_THE_JOBS + 2 * before->procedure->reading_count + before->procedure->input_count;
    struct found found = {arena_array(arena, struct difference, most), 0};
    add_if_other(&found, TEXT("procedure"), before->procedure->title, after->procedure->title,
                 BEARS);
    if (text_equal(before->procedure->name, after->procedure->name))
        add_if_other(&found, TEXT("revision"), text_number(arena, before->procedure->revision),
                     text_number(arena, after->procedure->revision), BEARS);
    add_if_other(&found, TEXT("rehearsal"),
                 job_is_rehearsal(before->job) ? TEXT("yes") : TEXT("no"),
                 job_is_rehearsal(after->job) ? TEXT("yes") : TEXT("no"), BEARS);
    find_in_readings(comparison, &found);
    find_in_inputs(comparison, &found);
    comparison->differences = found.items;
    comparison->difference_count = found.count;
}

static struct text begun_words(const struct side *side, struct arena *arena)
{
    const struct event *started = job_started(side->job);
    return started == NULL ? (struct text){0}
                           : calendar_moment_text(arena, started->at.wall, started->zone);
}

void tell_differences(struct comparison *comparison)
{
    struct arena *arena = comparison->arena;
    const struct side *before = &comparison->before, *after = &comparison->after;
    struct text begun = begun_words(before, arena), begun_then = begun_words(after, arena);
    struct rows rows = rows_begin(arena);
    rows_add(&rows, TEXT("What"), say_capital(arena, before->name),
             say_capital(arena, after->name));
    if (!text_equal(begun, begun_then))
        rows_add(&rows, TEXT("Begun"), begun, begun_then);
    for (size_t i = 0; i < comparison->difference_count; i++) {
        const struct difference *difference = &comparison->differences[i];
        rows_add(&rows, say_capital(arena, difference->what), difference->before,
                 difference->after);
    }
    blocks_table(&comparison->blocks, TEXT("What differed between the jobs"), &rows);
}

/*
 * left_behind.c - what a job leaves for those after it on the same machine.
 */
#include "job/say.h"
#include "job_state.h"

#include <math.h>

/* What an earlier value is asked by. */
struct seeking {
    const struct job *job;
    struct type wanted;
    struct earlier_value *found;
    size_t count;
    struct arena *arena;
};

/* A length is not the volume that a reading of this name is today. */
static bool is_wanted(const struct type *wanted, const struct field *field, bool is_indexed)
{
    if ((wanted->index != INDEX_NONE) != is_indexed)
        return false;
    if (field->form != FIELD_QUANTITY)
        return wanted->base == TYPE_TEXT;
    return wanted->base == TYPE_NUMBER && kind_equal(wanted->kind, field->unit->kind);
}

static struct earlier_value number_left(const struct measured *number, struct text shown)
{
    double uncertainty = gradient_combined(number->gradient);
    double freedom = gradient_freedom(number->gradient);
    return (struct earlier_value){.has_number = true,
                                  .si = number->value,
                                  .shown = shown,
                                  .has_uncertainty = isfinite(uncertainty),
                                  .uncertainty = uncertainty,
                                  .freedom = isfinite(freedom) ? freedom : 0.0};
}

/* --- readings -------------------------------------------------------------------------------------- */

static bool records(const struct work *work, unsigned reading)
{
    for (size_t i = 0; work->step != NULL && i < work->step->reading_count; i++)
        if (work->step->readings[i] == reading)
            return true;
    return false;
}

static bool was_done_after(const struct job *job, const struct event *skipped)
{
    for (size_t i = skipped->number; i < job->event_count; i++)
        if (job->events[i].kind == EVENT_DONE &&
            spot_equal(&job->events[i].spot, &skipped->spot))
            return true;
    return false;
}

/* Nobody was asked, so nobody knows whether something was added. */
static bool was_skipped(const struct seeking *seeking, unsigned reading, size_t position)
{
    const struct job *job = seeking->job;
    int index = job->procedure->readings[reading].index;
    for (size_t i = 0; i < job->event_count; i++) {
        const struct event *event = &job->events[i];
        if (event->kind != EVENT_SKIPPED ||
            !records(job->procedure->works[event->spot.work], reading) ||
            was_done_after(job, event))
            continue;
        if (index == INDEX_NONE ||
            place_here(index, spot_here(job, &event->spot, seeking->arena)) == (int)position)
            return true;
    }
    return false;
}

static struct text shown_words(const struct seeking *seeking, const struct reading *reading,
                               const struct cell *cell, const struct scalar *value)
{
    if (reading->field.form != FIELD_QUANTITY)
        return value->text;
    if (cell->count == 1)
        return job_event_now(seeking->job, cell->takes[0])->meaning;
    return say_number(seeking->arena, value->number, reading->field.unit);
}

static void add_reading(struct seeking *seeking, unsigned number)
{
    const struct job *job = seeking->job;
    const struct reading *reading = &job->procedure->readings[number];
    bool is_indexed = reading->index != INDEX_NONE;
    if (!is_wanted(&seeking->wanted, &reading->field, is_indexed))
        return;
    struct value value = reading_value(job, number, seeking->arena);
    for (size_t i = 0; i < value.count; i++) {
        const struct cell *cell = &job->cells[job->first_cell[number] + i];
        const struct scalar *scalar = &value.items[i];
        if (scalar->is_missing || (cell->count == 0 && was_skipped(seeking, number, i)))
            continue;
        struct text shown = shown_words(seeking, reading, cell, scalar);
        struct earlier_value *left = &seeking->found[seeking->count++];
        *left = reading->field.form == FIELD_QUANTITY ? number_left(&scalar->number, shown)
                                                      : (struct earlier_value){.shown = shown};
        left->name = is_indexed ? text_fill(seeking->arena, "{}[{}]", reading->name,
                                            job->fitted->indexes[reading->index].texts[i])
                                : reading->name;
    }
}

/* --- inputs ---------------------------------------------------------------------------------------- */

static void add_input(struct seeking *seeking, unsigned number)
{
    const struct input *input = &seeking->job->procedure->inputs[number];
    unsigned answer = seeking->job->input_event[number];
    if (answer == 0 || !is_wanted(&seeking->wanted, &input->field, false))
        return;
    const struct event *event = job_event_now(seeking->job, answer);
    struct earlier_value *left = &seeking->found[seeking->count++];
    *left = event->has_value
                ? number_left(&(struct measured){.value = event->value}, event->meaning)
                : (struct earlier_value){.shown = event->meaning};
    left->name = input->name;
}

size_t job_left_behind(const struct job *job, struct text name, struct type wanted,
                       const struct earlier_value **values, struct arena *arena)
{
    int symbol = procedure_find_symbol(job->procedure, name);
    struct seeking seeking = {.job = job, .wanted = wanted, .arena = arena};
    seeking.found = arena_array(arena, struct earlier_value, FITTED_POSITIONS_MAX);
    *values = seeking.found;
    if (symbol < 0)
        return 0;
    const struct symbol *about = &job->procedure->symbols[symbol];
    if (about->kind == SYMBOL_READING)
        add_reading(&seeking, about->item);
    else if (about->kind == SYMBOL_INPUT)
        add_input(&seeking, about->item);
    return seeking.count;
}

/*
 * card_readings.c - what was measured, set and given, as it was typed.
 */
#include "job/say.h"
#include "telling.h"

static struct text title_of(const struct telling *telling, struct text name)
{
    return say_capital(telling->arena, say_name(telling->arena, name));
}

/* --- the opening --------------------------------------------------------------------------- */

static const struct event *manual_answer(const struct telling *telling, struct text name)
{
    const struct event *answer = NULL;
    for (size_t i = 0; i < telling->event_count; i++)
        if (telling->events[i].kind == EVENT_ANSWERED &&
            telling->events[i].detail == ANSWERED_MANUAL_VALUE &&
            text_equal(telling->events[i].name, name))
            answer = &telling->events[i];
    return answer;
}

static void tell_manual_values(struct telling *telling)
{
    struct rows rows = rows_begin(telling->arena);
    rows_add(&rows, TEXT("Value"), TEXT("Is"), TEXT("Read in"), TEXT("Remarks"));
    for (size_t i = 0; i < telling->procedure->want_count; i++) {
        const struct machine_want *want = &telling->procedure->wants[i];
        const struct manual_value *value = &telling->fitted->values[i];
        const struct event *answer = manual_answer(telling, want->name);
        struct text name = title_of(telling, want->name);
        if (answer != NULL) {
            const struct event *now = told_now(telling, answer);
            rows_add(&rows, name, tell_value(now),
                     now->source.length > 0 ? now->source : answer->source,
                     tell_remarks(telling, answer));
        } else if (value->is_given) {
            struct text shown = want->field.form == FIELD_QUANTITY
                                    ? quantity_text(telling->arena, &value->quantity)
                                    : value->text;
            rows_add(&rows, name, shown, value->source, TEXT(""));
        } else {
            rows_add(&rows, name, TEXT("not given"), TEXT(""), TEXT(""));
        }
    }
    blocks_table(&telling->blocks, TEXT("Values of the manual"), &rows);
}

void tell_inputs(struct telling *telling)
{
    struct rows rows = rows_begin(telling->arena);
    rows_add(&rows, TEXT("Asked"), TEXT("Value"), TEXT("As typed"), TEXT("Remarks"));
    for (size_t i = 0; i < telling->event_count; i++) {
        const struct event *event = &telling->events[i];
        if (event->kind == EVENT_ANSWERED && event->detail == ANSWERED_INPUT)
            rows_add(&rows, title_of(telling, event->name),
                     tell_value(told_now(telling, event)), tell_typed(telling, event),
                     tell_remarks(telling, event));
    }
    blocks_table(&telling->blocks, TEXT("Given at the start"), &rows);
    tell_manual_values(telling);
}

/* --- readings -------------------------------------------------------------------------------- */

static bool is_take_of(const struct event *event, const struct reading *reading)
{
    return event->kind == EVENT_READ && text_equal(event->name, reading->name);
}

static size_t count_takes(const struct telling *telling, const struct reading *reading)
{
    size_t count = 0;
    for (size_t i = 0; i < telling->event_count; i++)
        count += is_take_of(&telling->events[i], reading);
    return count;
}

static struct text gauge_title(const struct telling *telling, int gauge)
{
    if (gauge == GAUGE_NONE)
        return (struct text){0};
    const struct gauge *found = &telling->fitted->gauges[gauge];
    return found->title.length > 0 ? found->title : say_name(telling->arena, found->name);
}

static void add_take(const struct telling *telling, struct rows *rows,
                     const struct reading *reading, const struct event *event)
{
    bool is_repeated = reading->field.readings > 1 || event->repeat > 1;
    rows_add(rows, tell_where(telling, event, reading->index),
             is_repeated ? text_number(telling->arena, event->repeat) : TEXT(""),
             tell_value(told_now(telling, event)), tell_typed(telling, event),
             tell_moment(telling, &event->at), tell_remarks(telling, event));
}

/* By position, and in each in the order they were taken. */
static void tell_reading(struct telling *telling, const struct reading *reading)
{
    struct rows rows = rows_begin(telling->arena);
    rows_add(&rows, TEXT("Where"), TEXT("No."), TEXT("Value"), TEXT("As typed"), TEXT("When"),
             TEXT("Remarks"));
    size_t positions =
        reading->index == INDEX_NONE ? 1 : telling->fitted->indexes[reading->index].count;
    for (size_t position = 0; position < positions; position++) {
        for (size_t i = 0; i < telling->event_count; i++) {
            const struct event *event = &telling->events[i];
            bool is_here = reading->index == INDEX_NONE || event->position == (int)position;
            if (is_here && is_take_of(event, reading))
                add_take(telling, &rows, reading, event);
        }
    }
    struct text gauge = gauge_title(telling, reading->field.gauge);
    struct text title = title_of(telling, reading->name);
    if (gauge.length > 0)
        title = text_fill(telling->arena, "{} (with the {})", title, gauge);
    blocks_table(&telling->blocks, text_fill(telling->arena, "Readings: {}", title), &rows);
}

void tell_readings(struct telling *telling)
{
    struct rows single = rows_begin(telling->arena);
    rows_add(&single, TEXT("Reading"), TEXT("Value"), TEXT("As typed"), TEXT("Gauge"),
             TEXT("When"), TEXT("Remarks"));
    for (size_t r = 0; r < telling->procedure->reading_count; r++) {
        const struct reading *reading = &telling->procedure->readings[r];
        if (reading->is_torque)
            continue;
        if (reading->index != INDEX_NONE || count_takes(telling, reading) > 1) {
            tell_reading(telling, reading);
            continue;
        }
        for (size_t i = 0; i < telling->event_count; i++) {
            const struct event *event = &telling->events[i];
            if (is_take_of(event, reading))
                rows_add(&single, title_of(telling, reading->name),
                         tell_value(told_now(telling, event)), tell_typed(telling, event),
                         gauge_title(telling, reading->field.gauge),
                         tell_moment(telling, &event->at), tell_remarks(telling, event));
        }
    }
    blocks_table(&telling->blocks, TEXT("Single readings"), &single);
}

/* --- what is missing ------------------------------------------------------------------------------- */

static bool was_read_after(const struct telling *telling, const struct event *unread)
{
    for (size_t i = unread->number; i < telling->event_count; i++) {
        const struct event *event = &telling->events[i];
        if (event->kind == EVENT_READ && text_equal(event->name, unread->name) &&
            event->position == unread->position && event->meaning.length > 0)
            return true;
    }
    return told_now(telling, unread)->meaning.length > 0;
}

static bool was_done_after(const struct telling *telling, const struct event *skipped)
{
    for (size_t i = skipped->number; i < telling->event_count; i++)
        if (telling->events[i].kind == EVENT_DONE &&
            spot_equal(&telling->events[i].spot, &skipped->spot))
            return true;
    return false;
}

static void add_missing(const struct telling *telling, struct rows *rows, struct text name,
                        const struct event *event, struct text why)
{
    struct text what = title_of(telling, name);
    struct text where = tell_where(telling, event, INDEX_NONE);
    if (where.length > 0)
        what = text_fill(telling->arena, "{}, {}", what, where);
    rows_add(rows, text_fill(telling->arena, "{}: {}", what, why));
}

void tell_missing(struct telling *telling)
{
    struct rows rows = rows_begin(telling->arena);
    for (size_t i = 0; i < telling->event_count; i++) {
        const struct event *event = &telling->events[i];
        const struct step *step = telling->procedure->works[event->spot.work]->step;
        if (event->kind == EVENT_READ && event->meaning.length == 0 &&
            !was_read_after(telling, event))
            add_missing(telling, &rows, event->name, event, event->reason);
        if (event->kind != EVENT_SKIPPED || step == NULL || was_done_after(telling, event))
            continue;
        for (size_t r = 0; r < step->reading_count; r++)
            add_missing(telling, &rows, telling->procedure->readings[step->readings[r]].name,
                        event, TEXT("the step was skipped"));
    }
    if (rows.count == 0)
        return;
    blocks_heading(&telling->blocks, TEXT("Not read"));
    blocks_paragraph(&telling->blocks, TONE_NOTICE,
                     TEXT("The results pass over what was not read; they say nothing of it."));
    blocks_list(&telling->blocks, TEXT(""), &rows);
}

/* --- torques ----------------------------------------------------------------------------------- */

/* "40 N·m, for 46 N·m with the extension": an extension in line is not seen in what was set. */
static struct text to_be_set(const struct telling *telling, const struct event *event,
                             const struct reading *reading)
{
    struct arena *arena = telling->arena;
    const struct step *step = telling->procedure->works[event->spot.work]->step;
    double setting = 0;
    if (!job_wrench_setting(telling->job, &event->spot, &setting, arena))
        return (struct text){0};
    struct text set = say_number(arena, (struct measured){.value = setting},
                                 fitted_unit(telling->fitted, &reading->field));
    if (step->extension == NULL)
        return set;
    struct surroundings surroundings = job_surroundings(telling->job, arena);
    surroundings.here = told_here(telling, &event->spot);
    struct value wanted = expression_evaluate(step->torque, &surroundings, arena);
    if (wanted.count != 1 || wanted.items[0].is_missing)
        return set;
    struct text at_the_nut =
        say_number(arena, (struct measured){.value = wanted.items[0].number.value},
                   say_unit(arena, telling->fitted, step->torque));
    return text_fill(arena, "{}, for {} with the extension", set, at_the_nut);
}

void tell_torques(struct telling *telling)
{
    struct rows rows = rows_begin(telling->arena);
    rows_add(&rows, TEXT("Step"), TEXT("Where"), TEXT("To be set"), TEXT("Set to"),
             TEXT("As typed"), TEXT("Wrench"), TEXT("Remarks"));
    for (size_t i = 0; i < telling->event_count; i++) {
        const struct event *event = &telling->events[i];
        for (size_t r = 0; r < telling->procedure->reading_count; r++) {
            const struct reading *reading = &telling->procedure->readings[r];
            if (!reading->is_torque || !is_take_of(event, reading))
                continue;
            rows_add(&rows, tell_step(telling, event),
                     tell_where(telling, event, reading->index),
                     to_be_set(telling, event, reading), tell_value(told_now(telling, event)),
                     tell_typed(telling, event), gauge_title(telling, reading->field.gauge),
                     tell_remarks(telling, event));
        }
    }
    blocks_table(&telling->blocks, TEXT("Torques"), &rows);
}

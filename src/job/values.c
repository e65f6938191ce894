/*
 * values.c - what the names in an expression stand for, as the job has it.
 */
#include "values.h"

#include "job/trials.h"

struct view {
    const struct job *job;
    long long time;
    const int *here;
    struct arena *arena;
    struct value *definitions; /* by symbol: worked out once; NULL items: not yet */
    bool is_apart;             /* each reading with an error of its own */
};

static struct scalar event_scalar(const struct job *job, unsigned number, enum field_form form,
                                  struct text name)
{
    if (number == 0)
        return scalar_without(name);
    const struct event *event = job_event_now(job, number);
    if (form == FIELD_QUANTITY)
        return (struct scalar){.number = {event->value, NULL}};
    return (struct scalar){.text = event->meaning};
}

static struct scalar machine_scalar(const struct job *job, unsigned want)
{
    const struct machine_want *about = &job->procedure->wants[want];
    const struct manual_value *given = &job->fitted->values[want];
    if (!given->is_given)
        return event_scalar(job, job->want_event[want], about->field.form, about->name);
    if (about->field.form == FIELD_QUANTITY)
        return (struct scalar){.number = {quantity_si(&given->quantity), NULL}};
    return (struct scalar){.text = given->text};
}

static struct surroundings surroundings_of(struct view *view);

/* Names that rest on names twice each would be worked out twice each time: exponentially often.  So each
 * is worked out once for a look at the job. */
static struct value defined_value(struct view *view, unsigned symbol,
                                  const struct expression *expression)
{
    if (view->definitions == NULL)
        view->definitions =
            arena_array(view->arena, struct value, view->job->procedure->symbol_count);
    struct value *kept = &view->definitions[symbol];
    if (kept->items == NULL) {
        struct surroundings surroundings = surroundings_of(view);
        *kept = expression_evaluate(expression, &surroundings, view->arena);
    }
    return *kept;
}

static struct value value_of(void *self, unsigned symbol, struct arena *arena)
{
    struct view *view = self;
    const struct job *job = view->job;
    const struct procedure *procedure = job->procedure;
    const struct symbol *about = &procedure->symbols[symbol];
    switch (about->kind) {
    case SYMBOL_MACHINE:
        return value_of_scalar(arena, about->type, machine_scalar(job, about->item));
    case SYMBOL_INPUT:
        return value_of_scalar(arena, about->type,
                               event_scalar(job, job->input_event[about->item],
                                            procedure->inputs[about->item].field.form,
                                            about->name));
    case SYMBOL_EARLIER:
        return value_of_earlier(job, about, arena);
    case SYMBOL_READING:
        return value_of_reading(job, about->item, !view->is_apart, arena);
    case SYMBOL_NAME:
        return defined_value(view, symbol, procedure->names[about->item].value);
    case SYMBOL_RESULT:
        return defined_value(view, symbol, procedure->results[about->item].definition.value);
    case SYMBOL_TRIAL:
        return trial_value_of(job, about->item, arena);
    case SYMBOL_TIMER:
        break;
    }
    return value_missing(arena, about->type, 1, about->name);
}

static struct value repeats_of(void *self, unsigned symbol, unsigned position,
                               struct arena *arena)
{
    const struct view *view = self;
    const struct symbol *about = &view->job->procedure->symbols[symbol];
    struct value value = {.type = about->type};
    value.type.index = INDEX_NONE;
    if (about->kind != SYMBOL_READING)
        return value;
    const double *numbers =
        reading_numbers(view->job, about->item, position, &value.count, arena);
    value.items = arena_array(arena, struct scalar, value.count);
    for (size_t i = 0; i < value.count; i++)
        value.items[i].number.value = numbers[i];
    return value;
}

static const struct timer_cell *timer_at(const struct view *view, unsigned symbol, int position)
{
    unsigned timer = view->job->procedure->symbols[symbol].item;
    size_t offset = position < 0 ? 0 : (size_t)position;
    if (view->job->procedure->timers[timer].index == INDEX_NONE)
        offset = 0;
    return &view->job->timers[view->job->first_timer[timer] + offset];
}

static double elapsed(void *self, unsigned timer, int position)
{
    const struct view *view = self;
    const struct timer_cell *cell = timer_at(view, timer, position);
    if (!cell->is_started)
        return -1.0;
    long long until = cell->awaited != 0 ? cell->awaited : view->time;
    return (double)(until - cell->started) / 1000.0;
}

static double late(void *self, unsigned timer, int position)
{
    const struct view *view = self;
    const struct timer_cell *cell = timer_at(view, timer, position);
    if (!cell->is_started)
        return -1.0;
    double over = elapsed(self, timer, position) - (double)cell->most / 1000.0;
    return cell->has_most && over > 0.0 ? over : 0.0;
}

static struct surroundings surroundings_of(struct view *view)
{
    const struct job *job = view->job;
    return (struct surroundings){
        .self = view,
        .value_of = value_of,
        .repeats_of = repeats_of,
        .elapsed = elapsed,
        .late = late,
        .indexes = job->fitted->indexes,
        .index_count = job->procedure->index_count,
        .here = view->here,
    };
}

struct surroundings surroundings_at(const struct job *job, const struct spot *spot,
                                    long long time, struct arena *arena)
{
    struct view *view = arena_new(arena, struct view);
    *view = (struct view){
        .job = job, .time = time, .here = spot_here(job, spot, arena), .arena = arena};
    return surroundings_of(view);
}

struct surroundings surroundings_apart(const struct job *job, struct arena *arena)
{
    struct surroundings surroundings = job_surroundings(job, arena);
    ((struct view *)surroundings.self)->is_apart = true;
    return surroundings;
}

struct surroundings job_surroundings(const struct job *job, struct arena *arena)
{
    struct spot opening = spot_opening();
    return surroundings_at(job, &opening, job_time(job, job->last), arena);
}

bool work_out_number(const struct expression *expression,
                     const struct surroundings *surroundings, double *si, struct text *missing,
                     struct arena *arena)
{
    struct value value = expression_evaluate(expression, surroundings, arena);
    if (value.count != 1 || value.items[0].is_missing) {
        if (missing != NULL)
            *missing = value.count == 1 ? value.items[0].missing_name : expression->written;
        return false;
    }
    *si = value.items[0].number.value;
    return true;
}

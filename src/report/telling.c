#include "telling.h"

#include "base/calendar.h"
#include "job/say.h"

struct text tell_moment(const struct telling *telling, const struct instant *at)
{
    struct text day = calendar_day_text(telling->arena, at->wall, telling->zone);
    struct text first_day = calendar_day_text(telling->arena, telling->begun, telling->zone);
    return text_equal(day, first_day)
               ? calendar_clock_text(telling->arena, at->wall, telling->zone)
               : calendar_moment_text(telling->arena, at->wall, telling->zone);
}

/* A `when` of a loop is decided before its first round: it is about no position and no round of it. */
static bool is_before_the_rounds(const struct event *event, const struct work *work)
{
    return event->kind == EVENT_DECIDED && text_equal(event->name, TEXT("when")) &&
           (work->kind == WORK_REPEAT || (work_is_each(work) && !work->when_each_round));
}

struct text tell_where(const struct telling *telling, const struct event *event, int index)
{
    struct spot spot = event->spot;
    const struct work *work = telling->procedure->works[spot.work];
    if (is_before_the_rounds(event, work)) {
        if (work->parent == NULL)
            return (struct text){0};
        spot.work = work->parent->id;
    }
    struct text where = job_spot_name(telling->job, &spot, telling->arena);
    if (where.length > 0 || index == INDEX_NONE || event->position == INDEX_NONE)
        return where;
    return say_position(telling->arena, telling->job, index, event->position);
}

struct text tell_step(const struct telling *telling, const struct event *event)
{
    const struct work *work = telling->procedure->works[event->spot.work];
    if (work->step != NULL)
        return say_capital(telling->arena, say_name(telling->arena, work->step->name));
    return work->title;
}

const struct event *told_now(const struct telling *telling, const struct event *event)
{
    const struct event *now = event;
    for (size_t i = event->number; i < telling->event_count; i++)
        if (telling->events[i].kind == EVENT_AMENDED &&
            telling->events[i].amends == event->number)
            now = &telling->events[i];
    return now;
}

struct text tell_value(const struct event *event)
{
    if (event->meaning.length > 0)
        return event->meaning;
    return event->kind == EVENT_READ ? TEXT("not read") : event->typed;
}

static void add_remark(const struct telling *telling, struct text *remarks, struct text remark)
{
    *remarks =
        remarks->length == 0 ? remark : text_fill(telling->arena, "{}; {}", *remarks, remark);
}

struct text tell_remarks(const struct telling *telling, const struct event *event)
{
    struct arena *arena = telling->arena;
    struct text remarks = {0};
    if (event->reason.length > 0)
        add_remark(telling, &remarks,
                   event->meaning.length == 0
                       ? event->reason
                       : text_fill(arena, "kept although not plausible: {}", event->reason));
    if (event->is_late)
        add_remark(telling, &remarks, TEXT("entered afterwards"));
    struct text value = tell_value(event);
    for (size_t i = event->number; i < telling->event_count; i++) {
        const struct event *correction = &telling->events[i];
        if (correction->kind != EVENT_AMENDED || correction->amends != event->number)
            continue;
        add_remark(telling, &remarks,
                   text_fill(arena, "corrected from {} because {}", value,
                             correction->reason.length > 0 ? correction->reason
                                                           : TEXT("of a reason not given")));
        value = tell_value(correction);
    }
    return remarks;
}

struct text tell_typed(const struct telling *telling, const struct event *event)
{
    struct text typed = event->typed;
    for (size_t i = event->number; i < telling->event_count; i++)
        if (telling->events[i].kind == EVENT_AMENDED &&
            telling->events[i].amends == event->number)
            typed = text_fill(telling->arena, "{}, then {}", typed, telling->events[i].typed);
    return typed;
}

const int *told_here(const struct telling *telling, const struct spot *spot)
{
    size_t count = telling->procedure->index_count;
    int *here = arena_array(telling->arena, int, count);
    for (size_t i = 0; i < count; i++)
        here[i] = INDEX_NONE;
    for (const struct work *work = telling->procedure->works[spot->work]; work != NULL;
         work = work->parent)
        if (work_is_each(work))
            here[work->loop.index] = spot->turns[work->loop_depth - 1];
    return here;
}

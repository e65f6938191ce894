/*
 * card_ledger.c - parts out and back, what was used up, timers that ran over.
 */
#include "base/calendar.h"
#include "job/say.h"
#include "telling.h"

/* --- parts ----------------------------------------------------------------------------------- */

/* One thing in one place, each time that it came out and went back. */
struct part_time {
    const struct event *out, *back;
    const struct expression *count; /* NULL: the one thing */
    bool is_new;
    struct part_time *next; /* later */
};
struct part_story {
    struct part_time *first, *last;
};

static struct text worked_out(const struct telling *telling, const struct expression *amount,
                              const struct spot *spot)
{
    struct surroundings surroundings = job_surroundings(telling->job, telling->arena);
    surroundings.here = told_here(telling, spot);
    struct value value = expression_evaluate(amount, &surroundings, telling->arena);
    if (value.count != 1 || value.items[0].is_missing)
        return TEXT("cannot be worked out");
    if (value.type.base == TYPE_NUMBER)
        return told_amount(telling->arena, value.items[0].number.value,
                           say_unit(telling->arena, telling->fitted, amount));
    return say_scalar(telling->arena, &value.items[0], value.type,
                      say_unit(telling->arena, telling->fitted, amount));
}

static void note_move(const struct telling *telling, const struct event *done,
                      const struct part_move *move, bool is_back, struct part_story *story)
{
    /* Of fasteners some may come out in one step and some in the next. */
    for (struct part_time *time = story->first; is_back && time != NULL; time = time->next) {
        if (time->back != NULL)
            continue;
        time->back = done;
        time->is_new = move->is_new;
    }
    if (is_back)
        return;
    struct part_time *time = arena_new(telling->arena, struct part_time);
    *time = (struct part_time){.out = done, .count = move->count};
    if (story->last == NULL)
        story->first = time;
    else
        story->last->next = time;
    story->last = time;
}

static void note_moves(const struct telling *telling, const struct event *done,
                       const struct part_move *move, bool is_back, struct part_story *stories)
{
    const struct part *part = &telling->procedure->parts[move->part];
    const int *here = told_here(telling, &done->spot);
    size_t first = 0, count = 1;
    if (part->index != INDEX_NONE) {
        bool is_all = here[part->index] == INDEX_NONE;
        first = is_all ? 0 : (size_t)here[part->index];
        count = is_all ? telling->fitted->indexes[part->index].count : 1;
    }
    for (size_t i = first; i < first + count; i++)
        note_move(telling, done, move, is_back, &stories[i]);
}

static void collect_moves(const struct telling *telling, unsigned part,
                          struct part_story *stories)
{
    for (size_t i = 0; i < telling->event_count; i++) {
        const struct event *done = &telling->events[i];
        if (done->kind != EVENT_DONE)
            continue;
        const struct step *step = telling->procedure->works[done->spot.work]->step;
        for (size_t m = 0; step != NULL && m < step->removes_count; m++)
            if (step->removes[m].part == part)
                note_moves(telling, done, &step->removes[m], false, stories);
        for (size_t m = 0; step != NULL && m < step->refits_count; m++)
            if (step->refits[m].part == part)
                note_moves(telling, done, &step->refits[m], true, stories);
    }
}

static struct text count_out(const struct telling *telling, unsigned part, int position)
{
    struct part_out *out;
    size_t count = job_parts_out(telling->job, &out, telling->arena);
    for (size_t i = 0; i < count; i++)
        if (out[i].part == part && out[i].position == position && out[i].count > 1)
            return text_fill(telling->arena, "STILL OUT: {}",
                             text_number(telling->arena, out[i].count));
    return TEXT("STILL OUT");
}

static void add_part_time(struct telling *telling, struct rows *rows, unsigned part,
                          int position, const struct part_time *time)
{
    struct arena *arena = telling->arena;
    const struct part *about = &telling->procedure->parts[part];
    struct text back = TEXT("STILL OUT");
    if (time->back != NULL)
        back = tell_moment(telling, &time->back->at);
    else if (time->next == NULL)
        back = count_out(telling, part, position); /* all of it */
    rows_add(rows, say_capital(arena, say_name(arena, about->name)),
             say_position(arena, telling->job, about->index, position),
             time->count != NULL ? worked_out(telling, time->count, &time->out->spot)
                                 : TEXT(""),
             tell_moment(telling, &time->out->at), back,
             time->is_new ? TEXT("a new one") : TEXT(""));
}

void tell_parts(struct telling *telling)
{
    struct rows rows = rows_begin(telling->arena);
    rows_add(&rows, TEXT("Part"), TEXT("Where"), TEXT("Count"), TEXT("Out"), TEXT("Back"),
             TEXT("Remarks"));
    for (unsigned p = 0; p < telling->procedure->part_count; p++) {
        const struct part *part = &telling->procedure->parts[p];
        size_t places =
            part->index == INDEX_NONE ? 1 : telling->fitted->indexes[part->index].count;
        struct part_story *stories = arena_array(telling->arena, struct part_story, places);
        collect_moves(telling, p, stories);
        for (size_t i = 0; i < places; i++) {
            int position = part->index == INDEX_NONE ? INDEX_NONE : (int)i;
            for (const struct part_time *time = stories[i].first; time != NULL;
                 time = time->next)
                add_part_time(telling, &rows, p, position, time);
        }
    }
    blocks_table(&telling->blocks, TEXT("Parts out and back"), &rows);
}

/* --- new parts, fluids, materials ---------------------------------------------------------------- */

void tell_supplies(struct telling *telling)
{
    struct rows rows = rows_begin(telling->arena);
    rows_add(&rows, TEXT("What"), TEXT("As the step says"), TEXT("Step"), TEXT("Where"),
             TEXT("When"));
    for (size_t i = 0; i < telling->event_count; i++) {
        const struct event *done = &telling->events[i];
        const struct step *step = telling->procedure->works[done->spot.work]->step;
        if (done->kind != EVENT_DONE || step == NULL)
            continue;
        for (size_t s = 0; s < step->part_count + step->consume_count; s++) {
            const struct supply *supply =
                s < step->part_count ? &step->parts[s] : &step->consumes[s - step->part_count];
            rows_add(&rows, say_capital(telling->arena, say_name(telling->arena, supply->name)),
                     supply->amount != NULL ? worked_out(telling, supply->amount, &done->spot)
                                            : TEXT("amount not said"),
                     tell_step(telling, done), tell_where(telling, done, INDEX_NONE),
                     tell_moment(telling, &done->at));
        }
    }
    blocks_table(&telling->blocks, TEXT("New parts, fluids and materials"), &rows);
}

/* --- timers ---------------------------------------------------------------------------------------- */

void tell_timers(struct telling *telling)
{
    struct rows rows = rows_begin(telling->arena);
    struct surroundings surroundings = job_surroundings(telling->job, telling->arena);
    for (size_t t = 0; t < telling->procedure->timer_count; t++) {
        const struct timer *timer = &telling->procedure->timers[t];
        size_t places =
            timer->index == INDEX_NONE ? 1 : telling->fitted->indexes[timer->index].count;
        for (size_t i = 0; i < places; i++) {
            int position = timer->index == INDEX_NONE ? INDEX_NONE : (int)i;
            double late = surroundings.late(surroundings.self, timer->symbol, position);
            if (late <= 0)
                continue;
            struct text where =
                say_position(telling->arena, telling->job, timer->index, position);
            struct text name = say_name(telling->arena, timer->name);
            rows_add(&rows,
                     text_fill(telling->arena, "{}{}{}: {} longer than allowed",
                               say_capital(telling->arena, name),
                               where.length > 0 ? TEXT(", ") : TEXT(""), where,
                               calendar_span_text(telling->arena, (long long)(late * 1000))));
        }
    }
    blocks_list(&telling->blocks, TEXT("Timers that ran over"), &rows);
}

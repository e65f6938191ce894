#include "job_state.h"

#include <assert.h>

/* --- parts --------------------------------------------------------------------------------- */

void part_cells(const struct job *job, unsigned part, const int *here, size_t *first,
                size_t *count)
{
    int index = job->procedure->parts[part].index;
    int position = place_here(index, here);
    *first = job->first_part[part];
    *count = index == INDEX_NONE ? 1 : index_size(job, index);
    if (position != INDEX_NONE) {
        *first += (size_t)position;
        *count = 1;
    }
}

unsigned part_out_count(const struct job *job, unsigned part, const int *here)
{
    size_t first, count;
    unsigned out = 0;
    part_cells(job, part, here, &first, &count);
    for (size_t i = first; i < first + count; i++)
        out += job->parts[i].count;
    return out;
}

void ledger_entered(struct job *job, const struct step *step, const int *here)
{
    for (size_t m = 0; m < step->removes_count; m++) {
        size_t first, count;
        part_cells(job, step->removes[m].part, here, &first, &count);
        for (size_t i = first; i < first + count; i++)
            job->parts[i].is_perhaps = true;
    }
}

/* A count that cannot be worked out is one: that something is out is never lost. */
static unsigned move_count(const struct job *job, const struct part_move *move,
                           const struct surroundings *surroundings)
{
    double count = 1.0;
    if (move->count == NULL ||
        !work_out_number(move->count, surroundings, &count, NULL, job->arena) || count < 1.0)
        return 1;
    return count > 1e6 ? 1000000 : (unsigned)(count + 0.5);
}

static void move_parts(struct job *job, const struct part_move *move, unsigned out,
                       const int *here)
{
    size_t first, count;
    part_cells(job, move->part, here, &first, &count);
    for (size_t i = first; i < first + count; i++) {
        job->parts[i].count = out == 0 ? 0 : job->parts[i].count + out;
        if (move->count == NULL && out > 0)
            job->parts[i].count = 1;
        job->parts[i].is_perhaps = false;
    }
}

/* --- timers ------------------------------------------------------------------------------------ */

static void timer_cells(const struct job *job, unsigned timer, const int *here, size_t *first,
                        size_t *count)
{
    int index = job->procedure->timers[timer].index;
    int position = place_here(index, here);
    *first = job->first_timer[timer];
    *count = index == INDEX_NONE ? 1 : index_size(job, index);
    if (position != INDEX_NONE) {
        *first += (size_t)position;
        *count = 1;
    }
}

/* Not a number stands for the longest wait: it is never taken for none. */
static long long bounded_milliseconds(double seconds)
{
    if (!(seconds <= SECONDS_MAX))
        seconds = SECONDS_MAX;
    return seconds > 0.0 ? (long long)(seconds * 1000.0) : 0;
}

static void start_timer(struct job *job, const struct timer_start *start,
                        const struct surroundings *surroundings, const int *here,
                        long long time)
{
    struct timer_cell cell = {.is_started = true, .started = time};
    double seconds = 0.0;
    if (start->at_least != NULL &&
        work_out_number(start->at_least, surroundings, &seconds, NULL, job->arena)) {
        cell.has_least = true;
        cell.least = bounded_milliseconds(seconds);
    }
    if (start->at_most != NULL &&
        work_out_number(start->at_most, surroundings, &seconds, NULL, job->arena)) {
        cell.has_most = true;
        cell.most = bounded_milliseconds(seconds);
    }
    size_t first, count;
    timer_cells(job, start->timer, here, &first, &count);
    for (size_t i = first; i < first + count; i++)
        job->timers[i] = cell;
}

void ledger_done(struct job *job, const struct step *step, const struct spot *spot,
                 long long time)
{
    struct surroundings surroundings = surroundings_at(job, spot, time, job->arena);
    for (size_t m = 0; m < step->removes_count; m++) {
        unsigned out = move_count(job, &step->removes[m], &surroundings);
        move_parts(job, &step->removes[m], out, surroundings.here);
    }
    for (size_t m = 0; m < step->refits_count; m++)
        move_parts(job, &step->refits[m], 0, surroundings.here);
    for (size_t s = 0; s < step->starts_count; s++)
        start_timer(job, &step->starts[s], &surroundings, surroundings.here, time);
}

/* Only the first step that awaits a timer ends it; a look back does not. */
void timers_awaited(struct job *job, const struct step *step, const int *here, long long time)
{
    for (size_t a = 0; a < step->awaits_count; a++) {
        size_t first, count;
        timer_cells(job, step->awaits[a], here, &first, &count);
        for (size_t i = first; i < first + count; i++) {
            if (job->timers[i].is_started && job->timers[i].awaited == 0)
                job->timers[i].awaited = time;
        }
    }
}

/* The latest end of a timer that still runs; true if there is one. */
static bool runs_until(const struct job *job, unsigned timer, const int *here, long long time,
                       long long *due)
{
    size_t first, count;
    bool is_running = false;
    timer_cells(job, timer, here, &first, &count);
    for (size_t i = first; i < first + count; i++) {
        const struct timer_cell *cell = &job->timers[i];
        long long end = cell->started + cell->least;
        if (!cell->is_started || !cell->has_least || cell->awaited != 0 || time >= end ||
            (is_running && end <= *due))
            continue;
        is_running = true;
        *due = end;
    }
    return is_running;
}

bool timers_due(const struct job *job, const struct step *step, const int *here, long long time,
                long long *due, unsigned *timer)
{
    bool is_running = false;
    for (size_t a = 0; a < step->awaits_count; a++) {
        long long end;
        if (!runs_until(job, step->awaits[a], here, time, &end) || (is_running && end <= *due))
            continue;
        is_running = true;
        *due = end;
        *timer = step->awaits[a];
    }
    return is_running;
}

static bool undoes(const struct step *step, const struct step *other)
{
    for (size_t i = 0; i < step->clears_count; i++) {
        for (size_t k = 0; k < other->sets_count; k++) {
            if (step->clears[i].condition == other->sets[k].condition)
                return true;
        }
    }
    for (size_t i = 0; i < step->refits_count; i++) {
        for (size_t k = 0; k < other->removes_count; k++) {
            if (step->refits[i].part == other->removes[k].part)
                return true;
        }
    }
    return false;
}

static bool awaits(const struct step *step, unsigned timer)
{
    for (size_t i = 0; i < step->awaits_count; i++) {
        if (step->awaits[i] == timer)
            return true;
    }
    return false;
}

bool timers_of_undone(const struct job *job, const struct step *step, const int *here,
                      long long time, long long *due, unsigned *timer)
{
    for (size_t i = 0; i < job->procedure->work_count; i++) {
        const struct step *other = job->procedure->works[i]->step;
        for (size_t s = 0; other != NULL && s < other->starts_count; s++) {
            *timer = other->starts[s].timer;
            if (undoes(step, other) && !awaits(step, *timer) &&
                runs_until(job, *timer, here, time, due))
                return true;
        }
    }
    return false;
}

static bool starts(const struct step *step, unsigned timer)
{
    for (size_t i = 0; i < step->starts_count; i++) {
        if (step->starts[i].timer == timer)
            return true;
    }
    return false;
}

static bool may_be_left_out(const struct work *work)
{
    if (work->step->is_optional)
        return true;
    for (; work != NULL; work = work->parent) {
        bool is_alternative = work->parent != NULL && work->parent->kind == WORK_EITHER;
        bool is_of_some = work->loop.index != INDEX_NONE && work->loop.subset != LOOP_ALL;
        if (work->when != NULL || is_alternative || is_of_some)
            return true;
    }
    return false;
}

static bool any_starter_may_be_left_out(const struct job *job, unsigned timer)
{
    for (size_t i = 0; i < job->procedure->work_count; i++) {
        const struct work *work = job->procedure->works[i];
        if (work->step != NULL && starts(work->step, timer) && may_be_left_out(work))
            return true;
    }
    return false;
}

bool timers_never_started(const struct job *job, const struct step *step, const int *here,
                          unsigned *timer)
{
    for (size_t a = 0; a < step->awaits_count; a++) {
        size_t first, count;
        timer_cells(job, step->awaits[a], here, &first, &count);
        bool is_started = false;
        for (size_t i = first; i < first + count; i++)
            is_started = is_started || job->timers[i].is_started;
        *timer = step->awaits[a];
        if (!is_started && !any_starter_may_be_left_out(job, *timer))
            return true;
    }
    return false;
}

bool step_starts_awaited(const struct job *job, const struct step *step)
{
    for (size_t i = 0; i < job->procedure->work_count; i++) {
        const struct step *other = job->procedure->works[i]->step;
        for (size_t a = 0; other != NULL && a < other->awaits_count; a++) {
            if (starts(step, other->awaits[a]))
                return true;
        }
    }
    return false;
}

long long timers_late(const struct job *job, const struct step *step, const int *here,
                      long long time)
{
    long long late = 0;
    for (size_t a = 0; a < step->awaits_count; a++) {
        size_t first, count;
        timer_cells(job, step->awaits[a], here, &first, &count);
        for (size_t i = first; i < first + count; i++) {
            const struct timer_cell *cell = &job->timers[i];
            long long at = cell->awaited != 0 ? cell->awaited : time;
            long long over = at - cell->started - cell->most;
            if (cell->is_started && cell->has_most && over > late)
                late = over;
        }
    }
    return late;
}

/* --- looking ----------------------------------------------------------------------------------- */

static int shown_position(int index, size_t offset)
{
    return index == INDEX_NONE ? INDEX_NONE : (int)offset;
}

size_t parts_out_of(const struct job *job, const struct part_cell *cells, struct part_out **out,
                    struct arena *arena)
{
    *out = arena_array(arena, struct part_out, job->part_cell_count);
    size_t found = 0;
    for (size_t part = 0; part < job->procedure->part_count; part++) {
        int index = job->procedure->parts[part].index;
        size_t first, count;
        part_cells(job, (unsigned)part, NULL, &first, &count);
        for (size_t i = 0; i < count; i++) {
            const struct part_cell *cell = &cells[first + i];
            if (cell->count == 0 && !cell->is_perhaps)
                continue;
            (*out)[found++] = (struct part_out){.part = (unsigned)part,
                                                .position = shown_position(index, i),
                                                .count = cell->count == 0 ? 1 : cell->count,
                                                .is_perhaps = cell->count == 0};
        }
    }
    return found;
}

size_t job_parts_out(const struct job *job, struct part_out **out, struct arena *arena)
{
    return parts_out_of(job, job->parts, out, arena);
}

/* One that nobody awaits stops by itself when its time is up. */
static bool is_running(const struct timer_cell *cell, long long time)
{
    if (!cell->is_started || cell->awaited != 0)
        return false;
    if (cell->has_least && time < cell->started + cell->least)
        return true;
    return cell->has_most && time < cell->started + cell->most;
}

size_t timers_running_at(const struct job *job, long long time, struct timer_running **out,
                         struct arena *arena)
{
    struct timer_running *running =
        arena_array(arena, struct timer_running, job->timer_cell_count);
    size_t found = 0;
    *out = running;
    for (size_t timer = 0; timer < job->procedure->timer_count; timer++) {
        int index = job->procedure->timers[timer].index;
        size_t first, count;
        timer_cells(job, (unsigned)timer, NULL, &first, &count);
        for (size_t i = 0; i < count; i++) {
            const struct timer_cell *cell = &job->timers[first + i];
            if (!is_running(cell, time))
                continue;
            long long started = cell->started - job->shift;
            running[found++] = (struct timer_running){
                .timer = (unsigned)timer,
                .position = shown_position(index, i),
                .started = started,
                .due = cell->has_least ? started + cell->least : 0,
                .too_late = cell->has_most ? started + cell->most : 0,
            };
        }
    }
    return found;
}

/* Without a time to compare with: those that nobody awaited yet. */
size_t job_timers(const struct job *job, struct timer_running **running, struct arena *arena)
{
    return timers_running_at(job, job_time(job, job->last), running, arena);
}

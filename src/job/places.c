#include "job_state.h"

#include <assert.h>

/* --- time ----------------------------------------------------------------------------------- */

enum { CLOCK_TOLERANCE = 60000, CLOCK_BACKWARDS = 5000 };

long long job_time(const struct job *job, struct instant instant)
{
    return instant.wall + job->shift;
}

/* A clock is corrected by a little all the time; only what could spoil a timer is asked about.
 * Across a restart of the machine there is only the wall clock, and only backwards shows. */
bool clock_jumped(struct instant before, struct instant after)
{
    if (after.wall < before.wall - CLOCK_BACKWARDS)
        return true;
    if (before.boot.length == 0 || !text_equal(before.boot, after.boot))
        return false;
    long long apart = (after.wall - before.wall) - (after.steady - before.steady);
    return apart > CLOCK_TOLERANCE || apart < -CLOCK_TOLERANCE;
}

/* --- places ------------------------------------------------------------------------------------- */

size_t index_size(const struct job *job, int index)
{
    return job->fitted->indexes[index].count;
}

int place_here(int index, const int *here)
{
    return index == INDEX_NONE || here == NULL ? INDEX_NONE : here[index];
}

const int *spot_here(const struct job *job, const struct spot *spot, struct arena *arena)
{
    int *here = arena_array(arena, int, job->procedure->index_count);
    for (size_t i = 0; i < job->procedure->index_count; i++)
        here[i] = INDEX_NONE;
    for (const struct work *work = job->procedure->works[spot->work]; work != NULL;
         work = work->parent) {
        if (work_is_each(work))
            here[work->loop.index] = spot->turns[work->loop_depth - 1];
    }
    return here;
}

/* Inside a repeat it is its last round that counts; only the newest facts can tell. */
struct spot spot_for(const struct job *job, const struct work *step, const int *here)
{
    struct spot spot = {.work = step->id};
    bool is_repeated = false;
    for (const struct work *work = step; work != NULL; work = work->parent) {
        is_repeated = is_repeated || work->kind == WORK_REPEAT;
        if (work_is_each(work) && here != NULL && here[work->loop.index] >= 0)
            spot.turns[work->loop_depth - 1] = (unsigned short)here[work->loop.index];
    }
    struct spot found = spot;
    for (size_t i = 0; is_repeated && i < job->fact_capacity; i++) {
        const struct fact *fact = &job->facts[i];
        if (fact->newest == 0 || fact->spot.work != step->id || fact->done == 0)
            continue;
        const struct fact *best = fact_at(job, &found);
        bool is_same_place = true;
        for (const struct work *work = step; work != NULL; work = work->parent) {
            if (work_is_each(work))
                is_same_place = is_same_place && fact->spot.turns[work->loop_depth - 1] ==
                                                     spot.turns[work->loop_depth - 1];
        }
        if (is_same_place && (best->newest == 0 || fact->done > best->done))
            found = fact->spot;
    }
    return found;
}

unsigned long long labelled_positions(const struct job *job, const struct loop *loop)
{
    const struct labels *labels = &job->fitted->indexes[loop->index];
    unsigned long long positions = 0;
    assert(labels->count <= POSITIONS_MAX);
    for (size_t i = 0; i < loop->label_count; i++) {
        for (size_t k = 0; k < labels->count; k++) {
            if (text_equal(loop->labels[i], labels->texts[k]))
                positions |= 1ULL << k;
        }
    }
    return positions;
}

bool work_is_away(const struct work *work)
{
    for (; work != NULL; work = work->parent) {
        if (work->is_away)
            return true;
    }
    return false;
}

#include "safe_places.h"

/* --- where it was brought about ------------------------------------------------------------------ */

static const int *nowhere(const struct job *job, struct arena *arena)
{
    int *here = arena_array(arena, int, job->procedure->index_count);
    for (size_t i = 0; i < job->procedure->index_count; i++)
        here[i] = INDEX_NONE;
    return here;
}

static bool is_work_at_a_step(const struct event *event)
{
    return event->kind == EVENT_ENTERED || event->kind == EVENT_DONE;
}

static const int *last_positions(const struct job *job, struct arena *arena)
{
    size_t index_count = job->procedure->index_count;
    int *stands = arena_array(arena, int, index_count);
    size_t unknown = index_count;
    for (size_t i = 0; i < index_count; i++)
        stands[i] = INDEX_NONE;
    for (size_t number = job->event_count; number > 0 && unknown > 0; number--) {
        const struct event *event = job_event(job, (unsigned)number);
        if (!is_work_at_a_step(event))
            continue;
        for (const struct work *work = job->procedure->works[event->spot.work]; work != NULL;
             work = work->parent) {
            if (!work_is_each(work) || stands[work->loop.index] != INDEX_NONE)
                continue;
            stands[work->loop.index] = event->spot.turns[work->loop_depth - 1];
            unknown--;
        }
    }
    return stands;
}

static bool sets(const struct work *work, unsigned condition)
{
    for (size_t i = 0; work->step != NULL && i < work->step->sets_count; i++) {
        if (work->step->sets[i].condition == condition)
            return true;
    }
    return false;
}

/* Set a second time it is where it was set last; what no step set is where its question was answered. */
static const int *brought_about_at(const struct safe_permission *permission, unsigned condition)
{
    if (permission->brought[condition] != NULL)
        return permission->brought[condition];
    const struct job *job = permission->job;
    unsigned opened = job->opened[job->conditions.first[condition]];
    const struct event *by = opened == 0 ? NULL : job_event(job, opened);
    for (size_t number = job->event_count; opened > 0 && number >= opened; number--) {
        const struct event *event = job_event(job, (unsigned)number);
        if (is_work_at_a_step(event) &&
            sets(job->procedure->works[event->spot.work], condition)) {
            by = event;
            break;
        }
    }
    const int *where = by == NULL ? nowhere(job, permission->arena)
                                  : spot_here(job, &by->spot, permission->arena);
    permission->brought[condition] = where;
    return where;
}

struct safe_permission safe_permission_begin(const struct job *job, long long time,
                                             struct arena *arena)
{
    return (struct safe_permission){
        .job = job,
        .time = time,
        .arena = arena,
        .is_strict = true,
        .stays_in_place = true,
        .stands = last_positions(job, arena),
        .brought = arena_array(arena, const int *, job->procedure->condition_count)};
}

/* --- what may be done ---------------------------------------------------------------------------- */

/* A motorcycle's way of standing is no move for a van. */
bool safe_may_do(const struct safe_permission *permission, const struct work *step,
                 const int *here)
{
    const struct job *job = permission->job;
    struct spot spot = spot_for(job, step, here);
    if (permission->is_strict &&
        work_is_on_another_branch(job, step, &spot, permission->time, permission->arena))
        return false;
    if (permission->is_strict &&
        place_is_left_out(job, step, &spot, permission->time, permission->arena))
        return false;
    if (!step->step->is_once)
        return true;
    if (card_has_perhaps_begun(job, step))
        return false;
    const struct fact *fact = fact_at(job, &spot);
    return fact->done == 0 && fact->entered == 0;
}

/* --- how far off --------------------------------------------------------------------------------- */

static bool is_of_whole_machine(const struct job *job, unsigned condition)
{
    return job->procedure->conditions[condition]->index == INDEX_NONE;
}

static bool clears(const struct step *step, unsigned condition)
{
    for (size_t i = 0; i < step->clears_count; i++) {
        if (step->clears[i].condition == condition)
            return true;
    }
    return false;
}

/* The first thing of the whole machine that it puts right; false: none. */
static bool puts_right(const struct job *job, const struct step *step, unsigned *condition)
{
    for (size_t i = 0; i < step->clears_count; i++) {
        unsigned id = step->clears[i].condition;
        if (is_of_whole_machine(job, id) &&
            condition_may_hold(&job->conditions, id, INDEX_NONE)) {
            *condition = id;
            return true;
        }
    }
    return false;
}

/* Does what it changes hang on the position?  What stands right at this position already does not count. */
static bool is_for_its_position(const struct job *job, const struct step *step, const int *here,
                                bool puts_machine_right)
{
    for (size_t i = 0; i < step->clears_count; i++) {
        unsigned id = step->clears[i].condition;
        if (is_of_whole_machine(job, id))
            continue;
        int position = here[job->procedure->conditions[id]->index];
        for (unsigned at = 0; at < job->conditions.count[id]; at++) {
            bool is_here = position == INDEX_NONE || position == (int)at;
            if (is_here &&
                (!puts_machine_right || condition_may_hold(&job->conditions, id, (int)at)))
                return true;
        }
    }
    for (size_t i = 0; !puts_machine_right && i < step->sets_count; i++) {
        if (!is_of_whole_machine(job, step->sets[i].condition))
            return true;
    }
    return false;
}

enum { OFF_BY_NO_POSITION = 1, OFF_BY_ANOTHER = LOOP_DEPTH_MAX + 1 };

/* 0 in place.  At another position is worse than at none. */
static unsigned distance(const struct safe_permission *permission, const int *where,
                         const int *here)
{
    const int *stands = permission->stands;
    unsigned sum = 0;
    for (size_t i = 0; i < permission->job->procedure->index_count; i++) {
        if (where[i] == here[i])
            continue;
        bool is_where_we_stand =
            where[i] == INDEX_NONE && (stands[i] == INDEX_NONE || stands[i] == here[i]);
        sum += here[i] == INDEX_NONE || is_where_we_stand ? OFF_BY_NO_POSITION : OFF_BY_ANOTHER;
    }
    return sum;
}

static unsigned distance_of(const struct safe_permission *permission, const struct work *work,
                            const int *here)
{
    unsigned condition;
    const int *where = puts_right(permission->job, work->step, &condition)
                           ? brought_about_at(permission, condition)
                           : nowhere(permission->job, permission->arena);
    return distance(permission, where, here);
}

static bool has_nearer_place(const struct safe_permission *permission, const struct work *work,
                             const int *where, unsigned far)
{
    size_t places = work_place_count(permission->job, work);
    for (size_t i = 0; i < places; i++) {
        const int *place = work_place(permission->job, work, i, permission->arena);
        if (distance(permission, where, place) < far && safe_may_do(permission, work, place))
            return true;
    }
    return false;
}

/* Can the same be done nearer to where it was brought about, or where the person stands? */
static bool is_out_of_place(const struct safe_permission *permission, const struct work *work,
                            const int *here)
{
    const struct job *job = permission->job;
    unsigned condition = 0, far = distance_of(permission, work, here);
    bool puts_machine_right = puts_right(job, work->step, &condition);
    if (far == 0 || is_for_its_position(job, work->step, here, puts_machine_right))
        return false;
    if (!puts_machine_right)
        return has_nearer_place(permission, work, nowhere(job, permission->arena), far);
    const int *where = brought_about_at(permission, condition);
    for (size_t i = 0; i < job->procedure->work_count; i++) {
        const struct work *other = job->procedure->works[i];
        if (other->kind == WORK_STEP && other->step->removes_count == 0 &&
            clears(other->step, condition) && has_nearer_place(permission, other, where, far))
            return true;
    }
    return false;
}

/* --- moves --------------------------------------------------------------------------------------- */

/* The positions of an index that no condition has make no difference to the search. */
static bool is_known_to_search(const struct job *job, size_t index)
{
    for (unsigned id = 0; id < job->procedure->condition_count; id++) {
        if (job->procedure->conditions[id]->index == (int)index)
            return true;
    }
    return false;
}

bool safe_is_same_place(const struct job *job, const int *place, const int *here)
{
    for (size_t i = 0; i < job->procedure->index_count; i++) {
        if (place[i] != here[i] && is_known_to_search(job, i))
            return false;
    }
    return true;
}

const int *safe_place_of(const struct safe_permission *permission, const struct work *step,
                         const int *here)
{
    const int *best = NULL;
    size_t places = work_place_count(permission->job, step);
    for (size_t i = 0; i < places; i++) {
        const int *place = work_place(permission->job, step, i, permission->arena);
        if (safe_is_same_place(permission->job, place, here) &&
            safe_may_do(permission, step, place) &&
            (best == NULL ||
             distance_of(permission, step, place) < distance_of(permission, step, best)))
            best = place;
    }
    return best;
}

bool safe_may_move(void *self, const struct work *step, const int *here)
{
    struct safe_permission *permission = self;
    const int *place = safe_place_of(permission, step, here);
    if (place == NULL)
        return false;
    if (!permission->stays_in_place || !is_out_of_place(permission, step, place))
        return true;
    permission->refused_a_place = true;
    return false;
}

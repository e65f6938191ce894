/* What this machine and these readings rule out, and at which places a step is done. */
#include "job_state.h"

/* --- places ------------------------------------------------------------------------------------ */

static size_t loops_around(const struct work *work, int *indexes)
{
    size_t count = 0;
    for (; work != NULL; work = work->parent) {
        if (work_is_each(work) && count < LOOP_DEPTH_MAX)
            indexes[count++] = work->loop.index;
    }
    return count;
}

size_t work_place_count(const struct job *job, const struct work *work)
{
    int indexes[LOOP_DEPTH_MAX];
    size_t loops = loops_around(work, indexes);
    size_t count = 1;
    for (size_t i = 0; i < loops; i++)
        count *= index_size(job, indexes[i]);
    return count;
}

const int *work_place(const struct job *job, const struct work *work, size_t number,
                      struct arena *arena)
{
    int indexes[LOOP_DEPTH_MAX];
    size_t loops = loops_around(work, indexes);
    int *here = arena_array(arena, int, job->procedure->index_count);
    for (size_t i = 0; i < job->procedure->index_count; i++)
        here[i] = INDEX_NONE;
    for (size_t i = 0; i < loops; i++) {
        here[indexes[i]] = (int)(number % index_size(job, indexes[i]));
        number /= index_size(job, indexes[i]);
    }
    return here;
}

/* --- branches ---------------------------------------------------------------------------------- */

struct outlook {
    const struct job *job;
    const struct spot *spot;
    long long time;
    bool by_machine_alone; /* what readings and answers may yet bring is left open */
    struct arena *scratch;
};

/* `any(weak)` is false before anything was read, and that says nothing. */
static bool rests_on_machine_alone(const struct outlook *outlook, const struct expression *when)
{
    const struct procedure *procedure = outlook->job->procedure;
    for (unsigned i = 0; i < procedure->symbol_count; i++) {
        switch (procedure->symbols[i].kind) {
        case SYMBOL_MACHINE:
        case SYMBOL_NAME:
        case SYMBOL_RESULT:
            break;
        case SYMBOL_INPUT:
        case SYMBOL_READING:
        case SYMBOL_EARLIER:
        case SYMBOL_TIMER:
        case SYMBOL_TRIAL:
            if (rests_on(outlook->job, when, i, outlook->scratch))
                return false;
            break;
        }
    }
    return true;
}

/* As things stand, is this `when` known to be so?  What is missing is neither true nor false. */
static bool is_known(void *self, const struct expression *when, bool truth)
{
    const struct outlook *outlook = self;
    if (outlook->by_machine_alone && !rests_on_machine_alone(outlook, when))
        return false;
    struct surroundings surroundings =
        surroundings_at(outlook->job, outlook->spot, outlook->time, outlook->scratch);
    struct value value = expression_evaluate(when, &surroundings, outlook->scratch);
    return value.count == 1 && !value.items[0].is_missing && value.items[0].truth == truth;
}

bool work_is_on_another_branch(const struct job *job, const struct work *work,
                               const struct spot *spot, long long time, struct arena *scratch)
{
    struct outlook outlook = {job, spot, time, .by_machine_alone = false, .scratch = scratch};
    return work_is_ruled_out(work, is_known, &outlook);
}

static bool is_in_subset(const struct job *job, const struct work *work,
                         const struct spot *spot, long long time, struct arena *scratch)
{
    unsigned position = spot->turns[work->loop_depth - 1];
    struct spot before = *spot;
    before.work = work->id;
    for (unsigned depth = work->loop_depth - 1; depth < LOOP_DEPTH_MAX; depth++)
        before.turns[depth] = 0;
    struct sought sought = {.kind = EVENT_DECIDED, .name = TEXT("in"), .position = INDEX_NONE};
    const struct event *decided = fact_find(job, fact_at(job, &before), &sought);
    switch (work->loop.subset) {
    case LOOP_ALL:
        return true;
    case LOOP_LABELS:
        return (labelled_positions(job, &work->loop) >> position & 1ULL) != 0;
    case LOOP_WHERE:
        break;
    }
    if (decided != NULL)
        return (decided->positions >> position & 1ULL) != 0;
    struct surroundings surroundings = surroundings_at(job, &before, time, scratch);
    struct value value = expression_evaluate(work->loop.where, &surroundings, scratch);
    return position < value.count && !value.items[position].is_missing &&
           value.items[position].truth;
}

bool place_is_left_out(const struct job *job, const struct work *work, const struct spot *spot,
                       long long time, struct arena *scratch)
{
    for (; work != NULL; work = work->parent) {
        if (work_is_each(work) && !is_in_subset(job, work, spot, time, scratch))
            return true;
    }
    return false;
}

bool job_never_does(const struct job *job, const struct work *work, struct arena *scratch)
{
    size_t count = work_place_count(job, work);
    for (size_t i = 0; i < count; i++) {
        struct spot spot = spot_for(job, work, work_place(job, work, i, scratch));
        struct outlook outlook = {job, &spot, job_time(job, job->last),
                                  .by_machine_alone = true, .scratch = scratch};
        if (!work_is_ruled_out(work, is_known, &outlook))
            return false;
    }
    return true;
}

#include "prove.h"

/* One step after the other is ticked without being done: none of its effects come about.  What
 * is then reached without its precaution says how much hangs on it. */

/* Enough for any procedure that a person could follow; beyond, what was found so far counts. */
enum { STATES_FOR_ONE = 200000 };

static bool has_effects(const struct step *step)
{
    return step != NULL && step->sets_count + step->clears_count + step->refits_count > 0;
}

static enum signal harm_of(const struct unsafe_path *path)
{
    const struct step *step = path->work == NULL ? NULL : path->work->step;
    bool is_at_its_gate = path->fault == FAULT_NEED || path->fault == FAULT_FORBIDDEN ||
                          path->fault == FAULT_REQUIRES;
    if (step == NULL || !is_at_its_gate || step->message_count == 0)
        return SIGNAL_NOTICE;
    return step->messages[0].signal; /* the worst stands first */
}

/* False: nothing follows from leaving it out. */
static bool find_harm(const struct proof *proof, struct critical_step *critical)
{
    bool is_found = false;
    for (size_t i = 0; i < proof->path_count; i++) {
        const struct unsafe_path *path = &proof->paths[i];
        if (path->fault == FAULT_UNREACHED)
            continue;
        enum signal harm = harm_of(path);
        if (is_found && harm <= critical->harm)
            continue;
        critical->harm = harm;
        critical->reached = path->work;
        critical->condition = path->condition;
        is_found = true;
    }
    return is_found;
}

static void put_in_order(struct critical_step *steps, size_t count)
{
    for (size_t i = 1; i < count; i++) {
        struct critical_step step = steps[i];
        size_t at = i;
        for (; at > 0 && steps[at - 1].harm < step.harm; at--)
            steps[at] = steps[at - 1];
        steps[at] = step;
    }
}

size_t verify_critical_steps(const struct procedure *procedure,
                             const struct critical_step **steps, struct arena *arena,
                             struct arena *scratch)
{
    size_t most = 0;
    for (size_t i = 0; i < procedure->work_count; i++)
        most += has_effects(procedure->works[i]->step);
    struct critical_step *list = arena_array(arena, struct critical_step, most);
    size_t count = 0;
    for (size_t i = 0; i < procedure->work_count; i++) {
        const struct work *work = procedure->works[i];
        if (!has_effects(work->step))
            continue;
        struct arena_mark mark = arena_mark(arena);
        struct proving proving = {.omission = {.ticked = work}, .states_max = STATES_FOR_ONE};
        struct proof proof = prove(procedure, proving, arena, scratch);
        struct critical_step critical = {.work = work};
        bool is_critical = find_harm(&proof, &critical);
        arena_rewind(arena, mark);
        if (is_critical)
            list[count++] = critical;
    }
    put_in_order(list, count);
    *steps = list;
    return count;
}

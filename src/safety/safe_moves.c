#include "safe_moves.h"

#include "gate_finder.h"

/*
 * What bears on nothing that is open need not be moved: a step is a move only if it clears
 * something open, or sets something that such a step needs, and so on backwards.  This keeps a
 * procedure of a hundred steps small without losing an order.
 */

static bool any_wanted(const struct condition_use *uses, size_t count, const bool *wanted)
{
    for (size_t i = 0; i < count; i++)
        if (wanted[uses[i].condition])
            return true;
    return false;
}

static bool want(bool *wanted, unsigned condition)
{
    bool is_new = !wanted[condition];
    wanted[condition] = true;
    return is_new;
}

/* What has to change for this step to be allowed, and after it: its needs and forbids, what its sets
 * require, and what they leave open. */
bool safe_moves_want(const struct procedure *procedure, const struct step *step, bool *wanted)
{
    bool grew = false;
    for (size_t i = 0; i < step->needs_count; i++)
        if (!condition_is_asked_at_gates(procedure->conditions[step->needs[i].condition]))
            grew |= want(wanted, step->needs[i].condition);
    for (size_t i = 0; i < step->forbids_count; i++)
        grew |= want(wanted, step->forbids[i].condition);
    for (size_t i = 0; i < step->sets_count; i++) {
        const struct condition *set = procedure->conditions[step->sets[i].condition];
        for (size_t k = 0; k < set->requires_count; k++)
            grew |= want(wanted, set->requires[k]);
        if (set->restore.length > 0) /* what putting one thing right opens must be shut again */
            grew |= want(wanted, set->id);
    }
    return grew;
}

static bool voids_wanted(const struct procedure *procedure, const struct step *step,
                         const bool *wanted)
{
    for (size_t i = 0; i < step->sets_count; i++) {
        const struct condition *set = procedure->conditions[step->sets[i].condition];
        for (size_t k = 0; k < set->voids_count; k++)
            if (wanted[set->voids[k]])
                return true;
    }
    return false;
}

struct wanting {
    const struct procedure *procedure;
    bool *wanted;
    bool may_remove; /* a step that takes a part out is a move as well */
};

/* While something that can be so lacks what it requires, every gate is shut: so what would mend that
 * is wanted wherever one begins. */
static void want_what_is_required(const struct procedure *procedure, bool *wanted,
                                  struct arena *scratch)
{
    bool *is_settable = arena_array(scratch, bool, procedure->condition_count);
    for (size_t i = 0; i < procedure->work_count; i++) {
        const struct step *step = procedure->works[i]->step;
        for (size_t k = 0; step != NULL && k < step->sets_count; k++)
            is_settable[step->sets[k].condition] = true;
    }
    for (unsigned id = 0; id < procedure->condition_count; id++) {
        const struct condition *condition = procedure->conditions[id];
        if (!is_settable[id] && !condition->asked_at_start)
            continue;
        for (size_t k = 0; k < condition->requires_count; k++)
            wanted[id] = wanted[condition->requires[k]] = true;
    }
}

static bool changes_wanted(const struct wanting *wanting, const struct work *work)
{
    const struct procedure *procedure = wanting->procedure;
    const bool *wanted = wanting->wanted;
    const struct step *step = work->step;
    return step != NULL && (wanting->may_remove || step->removes_count == 0) &&
           (any_wanted(step->sets, step->sets_count, wanted) ||
            any_wanted(step->clears, step->clears_count, wanted) ||
            voids_wanted(procedure, step, wanted));
}

/* One step backwards; false when nothing more is wanted. */
static bool want_more(const struct wanting *wanting)
{
    const struct procedure *procedure = wanting->procedure;
    bool *wanted = wanting->wanted;
    bool grew = false;
    for (size_t i = 0; i < procedure->work_count; i++)
        if (changes_wanted(wanting, procedure->works[i]))
            grew |= safe_moves_want(procedure, procedure->works[i]->step, wanted);
    return grew;
}

size_t loops_around(const struct work *work, int *indexes)
{
    size_t count = 0;
    for (; work != NULL; work = work->parent)
        if (work_is_each(work) && count < LOOP_DEPTH_MAX)
            indexes[count++] = work->loop.index;
    return count;
}

/* How many positions an index has, as far as conditions know it. */
static unsigned positions_of(const struct condition_state *shape, int index)
{
    for (unsigned id = 0; id < shape->procedure->condition_count; id++)
        if (shape->procedure->conditions[id]->index == index)
            return shape->count[id];
    return 1; /* no condition has it: the position makes no difference to the state */
}

static size_t combinations_of(const struct condition_state *shape, const struct work *work)
{
    int indexes[LOOP_DEPTH_MAX];
    size_t loops = loops_around(work, indexes);
    size_t combinations = 1;
    for (size_t i = 0; i < loops; i++)
        combinations *= positions_of(shape, indexes[i]);
    return combinations;
}

static void add_moves_of(const struct condition_state *shape, const struct work *work,
                         struct safe_move *moves, struct arena *arena)
{
    int indexes[LOOP_DEPTH_MAX];
    size_t loops = loops_around(work, indexes);
    size_t combinations = combinations_of(shape, work);
    size_t index_count = shape->procedure->index_count;
    for (size_t combination = 0; combination < combinations; combination++) {
        int *here = arena_array(arena, int, index_count);
        for (size_t i = 0; i < index_count; i++)
            here[i] = INDEX_NONE;
        size_t rest = combination;
        for (size_t i = loops; i-- > 0;) {
            unsigned positions = positions_of(shape, indexes[i]);
            here[indexes[i]] = (int)(rest % positions);
            rest /= positions;
        }
        moves[combination] = (struct safe_move){work, here, MASK_NO_BIT};
    }
}

// NOLINTNEXTLINE(readability-non-const-parameter): more is marked in it
size_t safe_moves_for(const struct condition_state *shape, bool *wanted, bool may_remove,
                      struct safe_move **moves, struct arena *arena)
{
    const struct procedure *procedure = shape->procedure;
    struct wanting wanting = {procedure, wanted, may_remove};
    want_what_is_required(procedure, wanted, arena);
    while (want_more(&wanting))
        continue;
    size_t most = 0;
    for (size_t i = 0; i < procedure->work_count; i++)
        if (changes_wanted(&wanting, procedure->works[i]))
            most += combinations_of(shape, procedure->works[i]);
    *moves = arena_array(arena, struct safe_move, most);
    size_t count = 0;
    for (size_t i = 0; i < procedure->work_count; i++) {
        if (!changes_wanted(&wanting, procedure->works[i]))
            continue;
        add_moves_of(shape, procedure->works[i], *moves + count, arena);
        count += combinations_of(shape, procedure->works[i]);
    }
    return count;
}

size_t safe_moves_find(const struct procedure *procedure, const struct condition_state *shape,
                       const bool *is_open, struct safe_move **moves, struct arena *arena)
{
    bool *wanted = arena_array(arena, bool, procedure->condition_count);
    for (unsigned id = 0; id < procedure->condition_count; id++)
        wanted[id] = is_open[id];
    return safe_moves_for(shape, wanted, false, moves, arena);
}

struct step_masks safe_move_masks(const struct mask_layout *layout,
                                  const struct safe_move *move, struct arena *arena)
{
    struct step_masks masks = masks_of(layout, move->work, move->here, arena);
    masks_set_bit(masks.forbids, move->bit);
    if (move->work->step->is_once)
        masks_set_bit(masks.sets, move->bit);
    return masks;
}

#include "safety/makesafe.h"

#include "gate_finder.h"
#include "safe_moves.h"

#include <stdint.h>
#include <string.h>

/*
 * The search is over conditions only.  A state is what is in force and what is owed, packed; a
 * move is one of the procedure's own steps at one position, allowed by its own gate.
 * Breadth-first, so the first state in which nothing is owed has the fewest moves; where that
 * takes too many states, depth-first for any order.
 */

struct permission {
    bool (*may_do)(void *self, const struct work *step, const int *here); /* NULL: all may */
    void *self;
};

struct search {
    const struct procedure *procedure;
    struct mask_layout layout;
    struct condition_state state; /* one state, unpacked as needed */
    struct state_table table;
    struct arena *arena;
    const struct safe_move *moves;
    const struct step_masks *masks; /* by move */
    size_t move_count;
    bool has_bits;   /* some move may not be done, or not twice */
    uint64_t *after; /* the state a move leads to */
    /* The way to a gate, makesafe_find_way(); NULL: to nothing owed. */
    const struct makesafe_move *goal;
    bool is_set_again_untouched; /* see sets_what_must_come_down() */
};

/* --- moves ----------------------------------------------------------------------------------- */

static bool stands_in(const struct work *work, const struct work *section)
{
    while (work != NULL && work != section)
        work = work->parent;
    return work != NULL;
}

/* What the gate of the goal wants; an away section wants for all its steps. */
static void mark_wanted_by_goal(const struct search *search, bool *wanted)
{
    const struct work *goal = search->goal->step;
    for (size_t i = goal->id; i < search->procedure->work_count; i++) {
        const struct work *work = search->procedure->works[i];
        if (work->step != NULL && stands_in(work, goal))
            (void)safe_moves_want(search->procedure, work->step, wanted);
    }
}

static void mark_owed(const struct search *search, bool *wanted)
{
    const struct condition_state *state = &search->state;
    for (unsigned id = 0; id < search->procedure->condition_count; id++)
        for (unsigned at = 0; at < state->count[id]; at++)
            if (state->standings[state->first[id] + at].is_owed)
                wanted[id] = true;
}

static bool is_where_the_goal_is(const struct search *search, const int *here)
{
    for (size_t i = 0; i < search->procedure->index_count; i++)
        if (here[i] != INDEX_NONE && search->goal->here[i] != INDEX_NONE &&
            here[i] != search->goal->here[i])
            return false;
    return true;
}

/* Of ways that are as short the first is taken, and of positions that stand alike the first is tried: so
 * a step's position at the goal stands before its others. */
static void put_goal_first(const struct search *search, struct safe_move *moves)
{
    for (size_t i = 1; i < search->move_count; i++) {
        if (!is_where_the_goal_is(search, moves[i].here))
            continue;
        struct safe_move move = moves[i];
        size_t at = i;
        for (; at > 0 && moves[at - 1].work == move.work &&
               !is_where_the_goal_is(search, moves[at - 1].here);
             at--)
            moves[at] = moves[at - 1];
        moves[at] = move;
    }
}

/* From search->state.  A step that is marked `once`, or that may not be done, has a bit: it is set when it
 * may not be done (again). */
static void find_moves(struct search *search, const struct permission *permission)
{
    struct arena *arena = search->arena;
    bool *wanted = arena_array(arena, bool, search->procedure->condition_count);
    if (search->goal != NULL)
        mark_wanted_by_goal(search, wanted);
    else
        mark_owed(search, wanted);
    struct safe_move *moves;
    search->move_count =
        safe_moves_for(&search->layout.shape, wanted, search->goal != NULL, &moves, arena);
    if (search->goal != NULL)
        put_goal_first(search, moves);
    bool *is_refused = arena_array(arena, bool, search->move_count);
    for (size_t i = 0; i < search->move_count; i++) {
        is_refused[i] = permission->may_do != NULL &&
                        !permission->may_do(permission->self, moves[i].work, moves[i].here);
        if (is_refused[i] || moves[i].work->step->is_once)
            moves[i].bit = (int)search->layout.bit_count++;
        search->has_bits = search->has_bits || moves[i].bit != MASK_NO_BIT;
    }
    search->moves = moves;
    masks_close(&search->layout, arena);
    size_t room = search->goal != NULL ? MAKESAFE_WAY_STATES_MAX : MAKESAFE_FEWEST_STATES_MAX;
    search->table = state_table_begin(search->layout.words, room, arena);
    struct step_masks *masks = arena_array(arena, struct step_masks, search->move_count);
    search->after = arena_array(arena, uint64_t, search->layout.words);
    masks_pack(&search->layout, &search->state, search->after);
    for (size_t i = 0; i < search->move_count; i++) {
        masks[i] = safe_move_masks(&search->layout, &moves[i], arena);
        if (is_refused[i])
            masks_set_bit(search->after, moves[i].bit);
    }
    search->masks = masks;
}

/* --- the search ------------------------------------------------------------------------------ */

static bool nothing_owed(const struct search *search, const uint64_t *bits)
{
    for (size_t i = 0; i < search->layout.words; i++)
        if ((bits[i] & search->layout.owed[i]) != 0)
            return false;
    return true;
}

/* What lapsed counts as denied here, and what is perhaps out of its normal state as out of it. */
static void take_at_its_worst(struct condition_state *state, long long now)
{
    condition_take_perhaps_as_so(state);
    for (unsigned id = 0; id < state->procedure->condition_count; id++) {
        const struct condition *condition = state->procedure->conditions[id];
        for (unsigned at = 0; at < state->count[id]; at++) {
            struct standing *is = &state->standings[state->first[id] + at];
            int position = condition->index == INDEX_NONE ? INDEX_NONE : (int)at;
            bool owed = is->is_owed ||
                        (condition->restore.length > 0 && (is->is_true || is->is_perhaps));
            *is = (struct standing){.is_true = condition_in_force(state, id, position, now),
                                    .is_owed = owed};
        }
    }
}

/* Are two bits of a state alike, or not kept? */
static bool are_alike(const uint64_t *bits, int one, int other)
{
    return one == MASK_NO_BIT || other == MASK_NO_BIT ||
           masks_bit(bits, one) == masks_bit(bits, other);
}

/* Do all conditions of this index stand alike at two positions of a state, and may the same be done? */
static bool stand_alike(const struct search *search, const uint64_t *bits, int index, int one,
                        int other)
{
    const struct mask_layout *layout = &search->layout;
    for (unsigned id = 0; id < search->procedure->condition_count; id++) {
        if (search->procedure->conditions[id]->index != index)
            continue;
        unsigned a = layout->shape.first[id] + (unsigned)one;
        unsigned b = layout->shape.first[id] + (unsigned)other;
        if (!are_alike(bits, layout->true_bits[a], layout->true_bits[b]) ||
            !are_alike(bits, layout->owed_bits[a], layout->owed_bits[b]))
            return false;
    }
    for (size_t i = 0; search->has_bits && i < search->move_count; i++) {
        const struct safe_move *move = &search->moves[i];
        if (move->here[index] != one)
            continue;
        for (size_t k = 0; k < search->move_count; k++) {
            const struct safe_move *twin = &search->moves[k];
            if (twin->work != move->work || twin->here[index] != other)
                continue;
            bool may_not = move->bit != MASK_NO_BIT && masks_bit(bits, move->bit);
            bool twin_may_not = twin->bit != MASK_NO_BIT && masks_bit(bits, twin->bit);
            if (may_not != twin_may_not)
                return false;
        }
    }
    return true;
}

/* Twelve cylinders that stand alike are put right one after another: which one first makes no
 * difference, so only the first of them is tried.  Without this the states would be the subsets. */
static bool has_a_twin_before(const struct search *search, const uint64_t *bits, size_t move)
{
    const struct work *work = search->moves[move].work;
    int indexes[LOOP_DEPTH_MAX];
    if (loops_around(work, indexes) != 1)
        return false;
    int index = indexes[0];
    for (size_t before = move; before-- > 0 && search->moves[before].work == work;)
        if (stand_alike(search, bits, index, search->moves[before].here[index],
                        search->moves[move].here[index]))
            return true;
    return false;
}

/* What is owed and was shown not to be so, and has no question of its own, is not mended by setting it
 * once more: a vehicle that rocks is first raised off its stands, then set down on them again. */
static bool sets_what_must_come_down(const struct search *search, const uint64_t *bits,
                                     const struct safe_move *move)
{
    const struct step *step = move->work->step;
    const struct mask_layout *layout = &search->layout;
    if (search->goal == NULL || search->is_set_again_untouched)
        return false;
    for (size_t i = 0; i < step->sets_count; i++) {
        unsigned id = step->sets[i].condition;
        if (search->procedure->conditions[id]->has_question)
            continue;
        struct standing_span span =
            standings_covered(&layout->shape, step->sets[i], move->here);
        for (unsigned at = span.from; at < span.to; at++) {
            unsigned standing = layout->shape.first[id] + at;
            if (layout->owed_bits[standing] != MASK_NO_BIT &&
                masks_bit(bits, layout->owed_bits[standing]) &&
                !masks_bit(bits, layout->true_bits[standing]))
                return true;
        }
    }
    return false;
}

/* Tries a move from a state; false when there is no room for the state it leads to. */
static bool step_on(struct search *search, int number, size_t move)
{
    const uint64_t *bits = state_bits(state_at(&search->table, number));
    if (!masks_allow(&search->layout, &search->masks[move], bits, search->after) ||
        sets_what_must_come_down(search, bits, &search->moves[move]) ||
        has_a_twin_before(search, bits, move))
        return true;
    bool is_new;
    int led_to = state_add(&search->table, 0, search->after, &is_new);
    if (is_new) {
        state_at(&search->table, led_to)->before = number;
        state_at(&search->table, led_to)->how = (unsigned)move;
    }
    return led_to != STATE_NONE;
}

static void tell_moves(const struct search *search, int number, struct makesafe *result)
{
    size_t count = 0;
    for (int at = number; at != 0; at = state_at(&search->table, at)->before)
        count++;
    struct makesafe_move *moves = arena_array(search->arena, struct makesafe_move, count);
    result->move_count = count;
    for (int at = number; at != 0; at = state_at(&search->table, at)->before) {
        const struct safe_move *move = &search->moves[state_at(&search->table, at)->how];
        moves[--count] = (struct makesafe_move){move->work, move->here};
    }
    result->moves = moves;
    result->is_found = true;
}

static bool is_reached(struct search *search, const uint64_t *bits)
{
    if (search->goal == NULL)
        return nothing_owed(search, bits);
    struct arena_mark mark = arena_mark(search->arena);
    masks_unpack(&search->layout, bits, &search->state);
    const struct work *goal = search->goal->step;
    const int *here = search->goal->here;
    struct gate gate = goal->step != NULL
                           ? gate_look(&search->state, goal->step, here, 0, search->arena)
                           : gate_look_away(&search->state, goal, here, 0, search->arena);
    arena_rewind(search->arena, mark);
    return gate.verdict != GATE_SHUT;
}

/* From search->state, breadth-first. */
static void run(struct search *search, const struct permission *permission,
                struct makesafe *result)
{
    search->layout = masks_like(&search->state, search->arena);
    find_moves(search, permission);
    bool is_new;
    (void)state_add(&search->table, 0, search->after, &is_new);
    for (int number = 0; (size_t)number < search->table.count; number++) {
        if (is_reached(search, state_bits(state_at(&search->table, number)))) {
            tell_moves(search, number, result);
            return;
        }
        for (size_t move = 0; move < search->move_count; move++)
            if (!step_on(search, number, move)) {
                result->is_bounded = true;
                return;
            }
    }
}

/* --- when too much is open for the fewest moves ------------------------------------------------ */

/* Twenty facts that can be put right in any order have more states than can be gone through one after
 * another.  Then any order does: depth-first, what puts something right first, later steps before
 * earlier ones, and never into a state in which something is open that no move puts right. */
struct dive {
    struct search *search;
    const size_t *order; /* of the moves */
    const uint64_t *clearable;
    bool is_full;
};

static bool puts_right(const struct search *search, size_t move)
{
    for (size_t i = 0; i < search->layout.words; i++)
        if ((search->masks[move].clears[i] & search->layout.owed[i]) != 0)
            return true;
    return false;
}

static struct dive dive_begin(struct search *search)
{
    size_t *order = arena_array(search->arena, size_t, search->move_count);
    uint64_t *clearable = arena_array(search->arena, uint64_t, search->layout.words);
    size_t count = 0;
    for (int first = 1; first >= 0; first--)
        for (size_t move = search->move_count; move-- > 0;)
            if (puts_right(search, move) == (first != 0))
                order[count++] = move;
    for (size_t move = 0; move < search->move_count; move++)
        for (size_t i = 0; i < search->layout.words; i++)
            clearable[i] |= search->masks[move].clears[i];
    return (struct dive){.search = search, .order = order, .clearable = clearable};
}

static bool some_stays(const struct dive *dive, const uint64_t *bits)
{
    for (size_t i = 0; i < dive->search->layout.words; i++)
        if ((bits[i] & dive->search->layout.owed[i] & ~dive->clearable[i]) != 0)
            return true;
    return false;
}

/* The state to go on from: a new one, or the one before. */
static int dive_on(struct dive *dive, int number)
{
    struct search *search = dive->search;
    struct state_record *record = state_at(&search->table, number);
    while (record->mark < search->move_count) {
        size_t move = dive->order[record->mark++];
        if (!masks_allow(&search->layout, &search->masks[move], state_bits(record),
                         search->after) ||
            some_stays(dive, search->after))
            continue;
        bool is_new;
        int led_to = state_add(&search->table, 0, search->after, &is_new);
        dive->is_full = led_to == STATE_NONE;
        if (dive->is_full)
            return STATE_NONE;
        if (!is_new)
            continue;
        state_at(&search->table, led_to)->before = number;
        state_at(&search->table, led_to)->how = (unsigned)move;
        return led_to;
    }
    return record->before;
}

/* Do these moves, but for one, lead there as well? */
static bool is_an_order_without(struct search *search, const uint64_t *from,
                                const size_t *moves, size_t count, size_t without)
{
    size_t size = search->layout.words * sizeof *from;
    uint64_t *bits = arena_array(search->arena, uint64_t, search->layout.words);
    memcpy(bits, from, size);
    for (size_t i = 0; i < count; i++) {
        if (i == without)
            continue;
        if (!masks_allow(&search->layout, &search->masks[moves[i]], bits, search->after))
            return false;
        memcpy(bits, search->after, size);
    }
    return nothing_owed(search, bits);
}

static void tell_dive(struct search *search, const uint64_t *from, int number,
                      struct makesafe *result)
{
    size_t count = 0;
    for (int at = number; at != 0; at = state_at(&search->table, at)->before)
        count++;
    size_t *moves = arena_array(search->arena, size_t, count);
    size_t left = count;
    for (int at = number; at != 0; at = state_at(&search->table, at)->before)
        moves[--left] = state_at(&search->table, at)->how;
    for (size_t i = count; i-- > 0;)
        if (is_an_order_without(search, from, moves, count, i)) {
            count--;
            memmove(&moves[i], &moves[i + 1], (count - i) * sizeof *moves);
        }
    struct makesafe_move *told = arena_array(search->arena, struct makesafe_move, count);
    for (size_t i = 0; i < count; i++)
        told[i] =
            (struct makesafe_move){search->moves[moves[i]].work, search->moves[moves[i]].here};
    result->moves = told;
    result->move_count = count;
    result->is_found = true;
}

static void run_deep(struct search *search, struct makesafe *result)
{
    uint64_t *from = arena_array(search->arena, uint64_t, search->layout.words);
    memcpy(from, state_bits(state_at(&search->table, 0)), search->layout.words * sizeof *from);
    search->table = state_table_begin(search->layout.words, MAKESAFE_STATES_MAX, search->arena);
    struct dive dive = dive_begin(search);
    bool is_new;
    int number = state_add(&search->table, 0, from, &is_new);
    state_at(&search->table, number)->before = STATE_NONE;
    while (number != STATE_NONE &&
           !nothing_owed(search, state_bits(state_at(&search->table, number))))
        number = dive_on(&dive, number);
    result->is_bounded = dive.is_full;
    if (number != STATE_NONE)
        tell_dive(search, from, number, result);
}

struct makesafe makesafe_find(const struct condition_state *state,
                              bool (*may_do)(void *self, const struct work *step,
                                             const int *here),
                              void *self, long long now, struct arena *arena)
{
    struct makesafe result = {0};
    struct open_condition *open;
    result.open_count = condition_open(state, &open, arena);
    result.open = open;
    if (result.open_count == 0) {
        result.is_found = true;
        return result;
    }
    struct search search = {.procedure = state->procedure, .arena = arena};
    search.state = condition_state_copy(state, arena);
    take_at_its_worst(&search.state, now);
    struct permission permission = {may_do, self};
    run(&search, &permission, &result);
    if (result.is_bounded)
        run_deep(&search, &result);
    return result;
}

/* What lapsed can be asked again, so it stands; what is perhaps so counts against, and for nothing. */
static void take_as_asked(struct condition_state *state)
{
    for (unsigned id = 0; id < state->procedure->condition_count; id++) {
        bool is_restored = state->procedure->conditions[id]->restore.length > 0;
        for (unsigned at = 0; at < state->count[id]; at++) {
            struct standing *is = &state->standings[state->first[id] + at];
            bool is_owed = is->is_owed || (is_restored && is->is_perhaps);
            *is = (struct standing){.is_true = is->is_true && !is->is_perhaps,
                                    .is_owed = is_owed};
        }
    }
}

struct makesafe makesafe_find_way(const struct condition_state *state,
                                  const struct makesafe_move *goal, enum set_anew set_anew,
                                  bool (*may_do)(void *self, const struct work *step,
                                                 const int *here),
                                  void *self, struct arena *arena)
{
    struct makesafe result = {0};
    struct search search = {.procedure = state->procedure,
                            .arena = arena,
                            .goal = goal,
                            .is_set_again_untouched = set_anew == SET_ANEW_AS_IT_IS};
    search.state = condition_state_copy(state, arena);
    take_as_asked(&search.state);
    struct permission permission = {may_do, self};
    run(&search, &permission, &result);
    return result;
}

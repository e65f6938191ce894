#include "safety/makesafe.h"

#include <stdint.h>
#include <string.h>

/*
 * The search is over conditions only.  A node is a state of all standings reduced to two bits each
 * (in force, owed); a move is one of the procedure's own steps at one position, allowed by its own
 * gate.  Breadth-first, so the first state in which nothing is owed has the fewest moves.
 *
 * What bears on nothing that is owed need not be moved: a step is a move only if it clears
 * something with `restore`, or sets something that such a step needs, and so on backwards.  This
 * keeps a procedure of a hundred steps small without losing an order.
 */

struct move {
    const struct work *work;
    const int *here;
};

struct search_node {
    const uint64_t *bits;
    unsigned before; /* number of the node it came from */
    unsigned move;
    unsigned next; /* in its bucket */
};

struct search {
    const struct procedure *procedure;
    const struct condition_state *from;
    struct condition_state state; /* one state, unpacked from a node as needed */
    uint64_t *next;               /* the state a move leads to */
    struct arena *arena;
    struct move *moves;
    size_t move_count;
    struct search_node *nodes;
    unsigned *buckets;
    size_t node_count, room, words;
    /* The way to a gate, makesafe_find_way(); NULL: to nothing owed. */
    const struct work *goal;
    const int *goal_here;
    bool is_set_again_untouched; /* see sets_what_must_come_down() */
};

enum { BUCKETS = 1 << 14 };
static const unsigned no_node = MAKESAFE_STATES_MAX; /* one past the last */

/* --- states as bits ------------------------------------------------------------------------ */

static void pack(const struct condition_state *state, uint64_t *bits, size_t words)
{
    memset(bits, 0, words * sizeof *bits);
    for (size_t i = 0; i < state->standing_count; i++) {
        uint64_t two =
            (state->standings[i].is_true ? 1U : 0U) | (state->standings[i].is_owed ? 2U : 0U);
        bits[i / 32] |= two << (i % 32 * 2);
    }
}

static void unpack(struct condition_state *state, const uint64_t *bits)
{
    for (size_t i = 0; i < state->standing_count; i++) {
        uint64_t two = bits[i / 32] >> (i % 32 * 2) & 3U;
        state->standings[i] =
            (struct standing){.is_true = (two & 1U) != 0, .is_owed = (two & 2U) != 0};
    }
}

static bool nothing_owed(const struct search *search, const uint64_t *bits)
{
    for (size_t i = 0; i < search->words; i++)
        if ((bits[i] & 0xaaaaaaaaaaaaaaaaU) != 0)
            return false;
    return true;
}

static size_t bucket_of(const uint64_t *bits, size_t words)
{
    uint64_t hash = 14695981039346656037U; /* FNV-1a over words */
    for (size_t i = 0; i < words; i++)
        hash = (hash ^ bits[i]) * 1099511628211U;
    return (size_t)(hash >> 32) % BUCKETS;
}

/* The node of these bits is added unless it is known; false when there is no room for it. */
static bool visit(struct search *search, const uint64_t *bits, unsigned before, unsigned move)
{
    size_t bucket = bucket_of(bits, search->words);
    for (unsigned at = search->buckets[bucket]; at != no_node; at = search->nodes[at].next)
        if (memcmp(search->nodes[at].bits, bits, search->words * sizeof *bits) == 0)
            return true;
    if (search->node_count == search->room)
        return false;
    uint64_t *kept = arena_array(search->arena, uint64_t, search->words);
    memcpy(kept, bits, search->words * sizeof *bits);
    search->nodes[search->node_count] =
        (struct search_node){kept, before, move, search->buckets[bucket]};
    search->buckets[bucket] = (unsigned)search->node_count++;
    return true;
}

/* --- moves --------------------------------------------------------------------------------- */

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

/* What has to change for this step to be allowed: its needs and forbids, what its sets require. */
static bool want_for(const struct procedure *procedure, const struct step *step, bool *wanted)
{
    bool grew = false;
    for (size_t i = 0; i < step->needs_count; i++)
        grew |= want(wanted, step->needs[i].condition);
    for (size_t i = 0; i < step->forbids_count; i++)
        grew |= want(wanted, step->forbids[i].condition);
    for (size_t i = 0; i < step->sets_count; i++) {
        const struct condition *set = procedure->conditions[step->sets[i].condition];
        for (size_t k = 0; k < set->requires_count; k++)
            grew |= want(wanted, set->requires[k]);
    }
    return grew;
}

static bool is_candidate(const struct work *work, bool may_remove)
{
    const struct step *step = work->step;
    return step != NULL && (may_remove || step->removes_count == 0) &&
           step->sets_count + step->clears_count > 0;
}

static bool changes_wanted(const struct work *work, const bool *wanted, bool may_remove)
{
    return is_candidate(work, may_remove) &&
           (any_wanted(work->step->sets, work->step->sets_count, wanted) ||
            any_wanted(work->step->clears, work->step->clears_count, wanted));
}

/* One step backwards; false when nothing more is wanted. */
static bool want_more(const struct procedure *procedure, bool *wanted, bool may_remove)
{
    bool grew = false;
    for (size_t i = 0; i < procedure->work_count; i++)
        if (changes_wanted(procedure->works[i], wanted, may_remove))
            grew |= want_for(procedure, procedure->works[i]->step, wanted);
    for (unsigned id = 0; id < procedure->condition_count; id++)
        for (size_t k = 0; k < procedure->conditions[id]->requires_count; k++)
            if (wanted[procedure->conditions[id]->requires[k]])
                grew |= want(wanted, id);
    return grew;
}

/* Marks the conditions that matter: those owed, and, backwards, what their clearing steps want. */
static void mark_wanted(const struct search *search, bool *wanted)
{
    for (unsigned id = 0; id < search->procedure->condition_count; id++)
        for (unsigned at = 0; at < search->state.count[id]; at++)
            if (search->state.standings[search->state.first[id] + at].is_owed)
                wanted[id] = true;
    while (want_more(search->procedure, wanted, false))
        continue;
}

static bool stands_in(const struct work *work, const struct work *section)
{
    while (work != NULL && work != section)
        work = work->parent;
    return work != NULL;
}

/* What the gate of the goal wants, and backwards from there; an away section wants for all its
 * steps. */
static void mark_wanted_by_goal(const struct search *search, bool *wanted)
{
    for (size_t i = search->goal->id; i < search->procedure->work_count; i++) {
        const struct work *work = search->procedure->works[i];
        if (work->step != NULL && stands_in(work, search->goal))
            (void)want_for(search->procedure, work->step, wanted);
    }
    while (want_more(search->procedure, wanted, true))
        continue;
}

/* Which index loops stand round a work, itself included. */
static size_t loops_around(const struct work *work, int *indexes)
{
    size_t count = 0;
    for (; work != NULL; work = work->parent)
        if ((work->kind == WORK_STEP || work->kind == WORK_SECTION) &&
            work->loop.index != INDEX_NONE && count < LOOP_DEPTH_MAX)
            indexes[count++] = work->loop.index;
    return count;
}

/* How many positions an index has, as far as conditions know it. */
static unsigned positions_of(const struct search *search, int index)
{
    for (unsigned id = 0; id < search->procedure->condition_count; id++)
        if (search->procedure->conditions[id]->index == index)
            return search->state.count[id];
    return 1; /* no condition has it: the position makes no difference to the state */
}

static void add_moves_of(struct search *search, const struct work *work,
                         bool (*may_do)(void *, const struct work *, const int *), void *self)
{
    int indexes[LOOP_DEPTH_MAX];
    size_t loops = loops_around(work, indexes);
    unsigned combinations = 1;
    for (size_t i = 0; i < loops; i++)
        combinations *= positions_of(search, indexes[i]);
    size_t index_count = search->procedure->index_count;
    for (unsigned combination = 0; combination < combinations; combination++) {
        int *here = arena_array(search->arena, int, index_count);
        for (size_t i = 0; i < index_count; i++)
            here[i] = INDEX_NONE;
        unsigned rest = combination;
        for (size_t i = loops; i-- > 0;) {
            unsigned positions = positions_of(search, indexes[i]);
            here[indexes[i]] = (int)(rest % positions);
            rest /= positions;
        }
        if (may_do == NULL || may_do(self, work, here))
            search->moves[search->move_count++] = (struct move){work, here};
    }
}

static size_t most_moves(const struct search *search)
{
    size_t most = 0;
    for (size_t i = 0; i < search->procedure->work_count; i++) {
        int indexes[LOOP_DEPTH_MAX];
        size_t loops = loops_around(search->procedure->works[i], indexes);
        size_t combinations = 1;
        for (size_t k = 0; k < loops; k++)
            combinations *= positions_of(search, indexes[k]);
        most += combinations;
    }
    return most;
}

static void find_moves(struct search *search,
                       bool (*may_do)(void *, const struct work *, const int *), void *self)
{
    bool *wanted = arena_array(search->arena, bool, search->procedure->condition_count);
    if (search->goal != NULL)
        mark_wanted_by_goal(search, wanted);
    else
        mark_wanted(search, wanted);
    search->moves = arena_array(search->arena, struct move, most_moves(search));
    for (size_t i = 0; i < search->procedure->work_count; i++) {
        const struct work *work = search->procedure->works[i];
        if (changes_wanted(work, wanted, search->goal != NULL))
            add_moves_of(search, work, may_do, self);
    }
}

/* --- the search ------------------------------------------------------------------------------ */

/* What lapsed counts as denied here, and what is perhaps out of its normal state as out of it. */
static void take_at_its_worst(struct condition_state *state, const struct condition_state *from,
                              long long now)
{
    condition_take_perhaps_as_so(state);
    for (unsigned id = 0; id < from->procedure->condition_count; id++) {
        const struct condition *condition = from->procedure->conditions[id];
        for (unsigned at = 0; at < from->count[id]; at++) {
            struct standing *is = &state->standings[state->first[id] + at];
            int position = condition->index == INDEX_NONE ? INDEX_NONE : (int)at;
            bool owed = is->is_owed ||
                        (condition->restore.length > 0 && (is->is_true || is->is_perhaps));
            *is = (struct standing){.is_true = condition_in_force(state, id, position, now),
                                    .is_owed = owed};
        }
    }
}

/* Do all conditions of this index stand alike at two positions of a node? */
static bool stand_alike(const struct search *search, const uint64_t *bits, int index, int one,
                        int other)
{
    for (unsigned id = 0; id < search->procedure->condition_count; id++) {
        if (search->procedure->conditions[id]->index != index)
            continue;
        unsigned first = search->state.first[id];
        size_t a = first + (unsigned)one;
        size_t b = first + (unsigned)other;
        if ((bits[a / 32] >> (a % 32 * 2) & 3U) != (bits[b / 32] >> (b % 32 * 2) & 3U))
            return false;
    }
    return true;
}

/* Twelve cylinders that stand alike are put right one after another: which one first makes no
 * difference, so only the first of them is tried.  Without this the states would be the subsets. */
static bool has_a_twin_before(const struct search *search, unsigned node, unsigned move)
{
    const struct work *work = search->moves[move].work;
    int indexes[LOOP_DEPTH_MAX];
    if (loops_around(work, indexes) != 1)
        return false;
    int index = indexes[0];
    for (unsigned before = move; before-- > 0 && search->moves[before].work == work;)
        if (stand_alike(search, search->nodes[node].bits, index,
                        search->moves[before].here[index], search->moves[move].here[index]))
            return true;
    return false;
}

/* What is owed and was shown not to be so, and has no question of its own, is not mended by setting it
 * once more: a vehicle that rocks is first raised off its stands, then set down on them again. */
static bool sets_what_must_come_down(const struct search *search, const struct move *move)
{
    const struct step *step = move->work->step;
    if (search->goal == NULL || search->is_set_again_untouched)
        return false;
    for (size_t i = 0; i < step->sets_count; i++) {
        unsigned id = step->sets[i].condition;
        const struct condition *condition = search->procedure->conditions[id];
        bool is_here = step->sets[i].is_here && condition->index != INDEX_NONE &&
                       move->here[condition->index] >= 0;
        for (unsigned at = 0; at < search->state.count[id]; at++) {
            const struct standing *is = &search->state.standings[search->state.first[id] + at];
            if ((!is_here || (int)at == move->here[condition->index]) &&
                !condition->has_question && is->is_owed && !is->is_true)
                return true;
        }
    }
    return false;
}

/* Tries a move from a node; false when there is no room for the state it leads to. */
static bool step_on(struct search *search, unsigned node, unsigned move)
{
    const struct step *step = search->moves[move].work->step;
    const int *here = search->moves[move].here;
    if (has_a_twin_before(search, node, move))
        return true;
    struct arena_mark mark = arena_mark(search->arena);
    unpack(&search->state, search->nodes[node].bits);
    struct gate gate = gate_look(&search->state, step, here, 0, search->arena);
    bool is_allowed = !sets_what_must_come_down(search, &search->moves[move]) &&
                      gate.verdict != GATE_SHUT; /* what is asked at every gate can be asked */
    if (is_allowed) {
        bool *as_expected = arena_array(search->arena, bool, step->sets_count);
        for (size_t i = 0; i < step->sets_count; i++)
            as_expected[i] = true;
        condition_step_done(&search->state, step, here, as_expected, 0);
        pack(&search->state, search->next, search->words);
    }
    arena_rewind(search->arena, mark);
    return !is_allowed || visit(search, search->next, node, move);
}

static void tell_moves(const struct search *search, unsigned node, struct makesafe *result)
{
    size_t count = 0;
    for (unsigned at = node; at != 0; at = search->nodes[at].before)
        count++;
    struct makesafe_move *moves = arena_array(search->arena, struct makesafe_move, count);
    result->move_count = count;
    for (unsigned at = node; at != 0; at = search->nodes[at].before) {
        const struct move *move = &search->moves[search->nodes[at].move];
        moves[--count] = (struct makesafe_move){move->work, move->here};
    }
    result->moves = moves;
    result->is_found = true;
}

static bool is_reached(struct search *search, unsigned node)
{
    if (search->goal == NULL)
        return nothing_owed(search, search->nodes[node].bits);
    struct arena_mark mark = arena_mark(search->arena);
    unpack(&search->state, search->nodes[node].bits);
    struct gate gate =
        search->goal->step != NULL
            ? gate_look(&search->state, search->goal->step, search->goal_here, 0, search->arena)
            : gate_look_away(&search->state, search->goal, search->goal_here, 0, search->arena);
    arena_rewind(search->arena, mark);
    return gate.verdict != GATE_SHUT;
}

/* From search->state, breadth-first. */
static void run(struct search *search,
                bool (*may_do)(void *self, const struct work *step, const int *here),
                void *self, struct makesafe *result)
{
    struct arena *arena = search->arena;
    size_t room = search->goal != NULL ? MAKESAFE_WAY_STATES_MAX : MAKESAFE_STATES_MAX;
    search->words = (search->state.standing_count + 31) / 32;
    uint64_t *start = arena_array(arena, uint64_t, search->words);
    pack(&search->state, start, search->words);
    search->next = arena_array(arena, uint64_t, search->words);
    find_moves(search, may_do, self);
    search->nodes = arena_array(arena, struct search_node, room);
    search->room = room;
    search->buckets = arena_array(arena, unsigned, BUCKETS);
    for (size_t i = 0; i < BUCKETS; i++)
        search->buckets[i] = no_node;
    (void)visit(search, start, 0, 0);
    for (unsigned node = 0; node < search->node_count; node++) {
        if (is_reached(search, node)) {
            tell_moves(search, node, result);
            return;
        }
        for (unsigned move = 0; move < search->move_count; move++)
            if (!step_on(search, node, move)) {
                result->is_bounded = true;
                return;
            }
    }
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
    struct search search = {.procedure = state->procedure, .from = state, .arena = arena};
    search.state = condition_state_copy(state, arena);
    take_at_its_worst(&search.state, state, now);
    run(&search, may_do, self, &result);
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
                            .from = state,
                            .arena = arena,
                            .goal = goal->step,
                            .goal_here = goal->here,
                            .is_set_again_untouched = set_anew == SET_ANEW_AS_IT_IS};
    search.state = condition_state_copy(state, arena);
    take_as_asked(&search.state);
    run(&search, may_do, self, &result);
    return result;
}

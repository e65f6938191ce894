#include "safety/gate_finder.h"

#include <assert.h>
#include <string.h>

/* --- the state --------------------------------------------------------------------- */

/* The proof needs no more: "this one" and "another" stand for any number of positions. */
enum { POSITIONS_IN_PROOF = 2 };

struct condition_state condition_state_begin(const struct procedure *procedure,
                                             const size_t *position_counts, struct arena *arena)
{
    size_t conditions = procedure->condition_count;
    unsigned *first = arena_array(arena, unsigned, conditions);
    unsigned *count = arena_array(arena, unsigned, conditions);
    unsigned total = 0;
    for (size_t i = 0; i < conditions; i++) {
        int index = procedure->conditions[i]->index;
        size_t positions = 1;
        if (index != INDEX_NONE)
            positions = position_counts == NULL ? POSITIONS_IN_PROOF : position_counts[index];
        first[i] = total;
        count[i] = (unsigned)positions;
        total += count[i];
    }
    struct standing *standings = arena_array(arena, struct standing, total);
    return (struct condition_state){procedure, first, count, standings, total};
}

struct condition_state condition_state_copy(const struct condition_state *state,
                                            struct arena *arena)
{
    struct condition_state copy = *state;
    copy.standings = arena_array(arena, struct standing, state->standing_count);
    if (state->standing_count > 0)
        memcpy(copy.standings, state->standings,
               state->standing_count * sizeof *state->standings);
    return copy;
}

struct standing *condition_at(const struct condition_state *state, unsigned condition,
                              int position)
{
    assert(condition < state->procedure->condition_count);
    unsigned at = position < 0 ? 0 : (unsigned)position;
    if (state->procedure->conditions[condition]->index == INDEX_NONE)
        at = 0;
    assert(at < state->count[condition]);
    return &state->standings[state->first[condition] + at];
}

static const struct condition *named(const struct condition_state *state, unsigned condition)
{
    return state->procedure->conditions[condition];
}

static bool is_owed_at_all(const struct condition *condition)
{
    return condition->restore.length > 0;
}

bool condition_is_asked_at_gates(const struct condition *condition)
{
    return condition->lapses && condition->lapses_after <= 0;
}

static bool has_lapsed(const struct condition *condition, const struct standing *standing,
                       long long now)
{
    if (!condition->lapses)
        return false;
    if (standing->has_lapsed)
        return true;
    if (condition_is_asked_at_gates(condition))
        return false; /* it lapses with the next step done, not by the clock */
    return (double)(now - standing->shown) > condition->lapses_after * 1000.0;
}

bool condition_in_force(const struct condition_state *state, unsigned condition, int position,
                        long long now)
{
    const struct standing *standing = condition_at(state, condition, position);
    return standing->is_true && !standing->is_perhaps &&
           !has_lapsed(named(state, condition), standing, now);
}

bool condition_may_hold(const struct condition_state *state, unsigned condition, int position)
{
    const struct standing *standing = condition_at(state, condition, position);
    return standing->is_true || standing->is_owed || standing->is_perhaps;
}

/* The position a use means, under the loops we stand in; INDEX_NONE: all of them. */
static int position_here(const struct condition_state *state, struct condition_use use,
                         const int *here)
{
    int index = named(state, use.condition)->index;
    if (index == INDEX_NONE || !use.is_here || here == NULL)
        return INDEX_NONE;
    return here[index];
}

struct standing_span standings_covered(const struct condition_state *state,
                                       struct condition_use use, const int *here)
{
    int position = position_here(state, use, here);
    unsigned positions = state->count[use.condition];
    if (position == INDEX_NONE)
        return (struct standing_span){0, positions};
    assert((unsigned)position < positions);
    return (struct standing_span){(unsigned)position, (unsigned)position + 1};
}

int standing_position(const struct condition_state *state, unsigned condition, unsigned at)
{
    return named(state, condition)->index == INDEX_NONE ? INDEX_NONE : (int)at;
}

/* --- gates ----------------------------------------------------------------------------- */

static bool already_listed(const struct gate_item *items, size_t count, struct gate_item item)
{
    for (size_t i = 0; i < count; i++)
        if (items[i].reason == item.reason && items[i].condition == item.condition &&
            items[i].position == item.position && items[i].required == item.required)
            return true;
    return false;
}

void gate_add_shut(struct gate_finder *finder, struct gate_item item)
{
    if (already_listed(finder->shut, finder->shut_count, item))
        return;
    assert(finder->shut_count < finder->capacity);
    finder->shut[finder->shut_count++] = item;
}

void gate_add_ask(struct gate_finder *finder, struct gate_item item)
{
    if (already_listed(finder->ask, finder->ask_count, item))
        return;
    assert(finder->ask_count < finder->capacity);
    finder->ask[finder->ask_count++] = item;
}

/* needs: in force; what has lapsed, or is asked at every gate, can be put right by asking. */
static void look_at_need(struct gate_finder *finder, struct condition_use use, const int *here)
{
    const struct condition *condition = named(finder->state, use.condition);
    struct standing_span span = standings_covered(finder->state, use, here);
    for (unsigned at = span.from; at < span.to; at++) {
        int position = standing_position(finder->state, use.condition, at);
        if (condition_in_force(finder->state, use.condition, position, finder->now))
            continue;
        const struct standing *standing = condition_at(finder->state, use.condition, position);
        bool can_be_asked = standing->is_true || condition_is_asked_at_gates(condition);
        /* no question brings back what a step is undoing */
        if (can_be_asked && !standing->is_perhaps)
            gate_add_ask(finder, (struct gate_item){GATE_LAPSED, use.condition, position, 0});
        else
            gate_add_shut(finder, (struct gate_item){GATE_MISSING, use.condition, position, 0});
    }
}

static void look_at_forbidden(struct gate_finder *finder, struct condition_use use,
                              const int *here)
{
    struct standing_span span = standings_covered(finder->state, use, here);
    for (unsigned at = span.from; at < span.to; at++) {
        int position = standing_position(finder->state, use.condition, at);
        if (condition_may_hold(finder->state, use.condition, position))
            gate_add_shut(finder,
                          (struct gate_item){GATE_FORBIDDEN, use.condition, position, 0});
    }
}

bool condition_requirement_met(const struct condition_state *state, unsigned id, unsigned at,
                               unsigned required)
{
    const struct condition *condition = named(state, id);
    bool is_by_position =
        condition->index != INDEX_NONE && named(state, required)->index == condition->index;
    unsigned from = is_by_position ? at : 0;
    unsigned to = is_by_position ? at + 1 : state->count[required];
    for (unsigned other = from; other < to; other++)
        if (!state->standings[state->first[required] + other].is_true)
            return false;
    return true;
}

static bool is_broken_at(const struct condition_state *state, unsigned id, unsigned at,
                         struct gate_item *broken)
{
    const struct condition *condition = named(state, id);
    const struct standing *standing = &state->standings[state->first[id] + at];
    if (!standing->is_true && !standing->is_owed)
        return false;
    for (size_t i = 0; i < condition->requires_count; i++) {
        unsigned required = condition->requires[i];
        if (condition_requirement_met(state, id, at, required))
            continue;
        *broken =
            (struct gate_item){GATE_BREAKS, id, standing_position(state, id, at), required};
        return true;
    }
    return false;
}

/* The first `requires` that does not hold: while this is true or owed, those must be true.  What
 * has lapsed is not false, so asking again can still find it so. */
bool condition_broken(const struct condition_state *state, struct gate_item *broken)
{
    for (unsigned id = 0; id < state->procedure->condition_count; id++)
        for (unsigned at = 0; at < state->count[id]; at++)
            if (is_broken_at(state, id, at, broken))
                return true;
    return false;
}

/* Would the step, done as it should be, leave something true without what it requires?  A step
 * that mends what a denial broke before is let through. */
static void look_ahead(struct gate_finder *finder, const struct step *step, const int *here,
                       struct arena *scratch)
{
    if (step->sets_count == 0 && step->clears_count == 0) {
        struct gate_item broken;
        if (condition_broken(finder->state, &broken))
            gate_add_shut(finder, broken);
        return;
    }
    struct condition_state after = condition_state_copy(finder->state, scratch);
    bool *as_expected = arena_array(scratch, bool, step->sets_count);
    for (size_t i = 0; i < step->sets_count; i++)
        as_expected[i] = true;
    condition_step_done(&after, step, here, as_expected, finder->now);
    struct gate_item broken;
    if (condition_broken(&after, &broken))
        gate_add_shut(finder, broken);
}

/* Each standing missing or lapsed, and forbidden; and each of its `requires` broken. */
static size_t most_items(const struct condition_state *state)
{
    size_t most = 2 * state->standing_count + 1;
    for (unsigned id = 0; id < state->procedure->condition_count; id++)
        most += state->count[id] * named(state, id)->requires_count;
    return most;
}

struct gate_finder gate_finder_begin(const struct condition_state *state, long long now,
                                     struct arena *scratch)
{
    size_t capacity = most_items(state);
    return (struct gate_finder){.state = state,
                                .now = now,
                                .shut = arena_array(scratch, struct gate_item, capacity),
                                .ask = arena_array(scratch, struct gate_item, capacity),
                                .capacity = capacity};
}

struct gate gate_finder_verdict(const struct gate_finder *finder)
{
    if (finder->shut_count > 0)
        return (struct gate){GATE_SHUT, finder->shut, finder->shut_count};
    if (finder->ask_count > 0)
        return (struct gate){GATE_ASK, finder->ask, finder->ask_count};
    return (struct gate){GATE_OPEN, NULL, 0};
}

/* Calls `what` for each standing that this step would void by setting something. */
static void each_voided(const struct condition_state *state, const struct step *step,
                        const int *here, void (*what)(struct standing *standing))
{
    for (size_t i = 0; i < step->sets_count; i++) {
        const struct condition *set = named(state, step->sets[i].condition);
        for (size_t k = 0; k < set->voids_count; k++) {
            unsigned other = set->voids[k];
            struct condition_use use = step->sets[i];
            use.condition = other;
            use.is_here = use.is_here && set->index != INDEX_NONE &&
                          named(state, other)->index == set->index;
            struct standing_span span = standings_covered(state, use, here);
            for (unsigned at = span.from; at < span.to; at++)
                what(&state->standings[state->first[other] + at]);
        }
    }
}

static void doubt_if_true(struct standing *standing)
{
    if (standing->is_true || standing->is_owed)
        standing->is_perhaps = true;
}

static void doubt_no_more(struct standing *standing)
{
    standing->is_perhaps = false;
}

static void forget_perhaps(struct condition_state *state, const struct condition_use *uses,
                           size_t count, const int *here)
{
    for (size_t i = 0; i < count; i++) {
        struct standing_span span = standings_covered(state, uses[i], here);
        for (unsigned at = span.from; at < span.to; at++)
            state->standings[state->first[uses[i].condition] + at].is_perhaps = false;
    }
}

struct gate gate_look(const struct condition_state *state, const struct step *step,
                      const int *here, long long now, struct arena *scratch)
{
    /* When a step that was begun is looked at again, what it did itself perhaps is no reason to
     * refuse it. */
    struct condition_state before = *state;
    if (step->sets_count + step->clears_count > 0) {
        before = condition_state_copy(state, scratch);
        forget_perhaps(&before, step->sets, step->sets_count, here);
        forget_perhaps(&before, step->clears, step->clears_count, here);
        each_voided(&before, step, here, doubt_no_more);
        state = &before;
    }
    struct gate_finder finder = gate_finder_begin(state, now, scratch);
    for (size_t i = 0; i < step->needs_count; i++)
        look_at_need(&finder, step->needs[i], here);
    for (size_t i = 0; i < step->forbids_count; i++)
        look_at_forbidden(&finder, step->forbids[i], here);
    look_ahead(&finder, step, here, scratch);
    return gate_finder_verdict(&finder);
}

/* --- who sets and clears --------------------------------------------------------------------- */

static bool uses_include(const struct condition_use *uses, size_t count, unsigned condition)
{
    for (size_t i = 0; i < count; i++)
        if (uses[i].condition == condition)
            return true;
    return false;
}

const struct work *condition_setter(const struct procedure *procedure, unsigned condition)
{
    for (size_t i = 0; i < procedure->work_count; i++) {
        const struct step *step = procedure->works[i]->step;
        if (step != NULL && uses_include(step->sets, step->sets_count, condition))
            return procedure->works[i];
    }
    return NULL;
}

const struct work *condition_clearer(const struct procedure *procedure, unsigned condition)
{
    for (size_t i = 0; i < procedure->work_count; i++) {
        const struct step *step = procedure->works[i]->step;
        if (step != NULL && uses_include(step->clears, step->clears_count, condition))
            return procedure->works[i];
    }
    return NULL;
}

/* --- what changes them -------------------------------------------------------------------------- */

/* Becoming true makes others untrue, at this position if they have the same index.  What they owe
 * stays owed: a void restores nothing. */
static void void_others(struct condition_state *state, unsigned id, unsigned at)
{
    const struct condition *condition = named(state, id);
    for (size_t i = 0; i < condition->voids_count; i++) {
        unsigned other = condition->voids[i];
        bool is_same =
            condition->index != INDEX_NONE && named(state, other)->index == condition->index;
        for (unsigned position = 0; position < state->count[other]; position++)
            if (!is_same || position == at)
                state->standings[state->first[other] + position].is_true = false;
    }
}

/* True if it was not so before. */
static bool become_true(struct condition_state *state, unsigned id, unsigned at, long long now)
{
    struct standing *standing = &state->standings[state->first[id] + at];
    bool was_true = standing->is_true;
    standing->is_true = true;
    standing->has_lapsed = false;
    standing->shown = now;
    return !was_true;
}

void condition_answered(struct condition_state *state, unsigned condition, int position,
                        bool as_expected, long long now)
{
    const struct condition *asked = named(state, condition);
    unsigned from = 0;
    unsigned to = state->count[condition];
    if (asked->index != INDEX_NONE && position >= 0) {
        from = (unsigned)position;
        to = from + 1;
    }
    for (unsigned at = from; at < to; at++) {
        struct standing *standing = &state->standings[state->first[condition] + at];
        if (as_expected) {
            if (become_true(state, condition, at, now))
                void_others(state, condition, at);
            if (is_owed_at_all(asked) && asked->asked_at_start)
                standing->is_owed = true;
        } else {
            standing->is_true = false;
        }
    }
}

void condition_step_entered(struct condition_state *state, const struct step *step,
                            const int *here)
{
    for (size_t i = 0; i < step->sets_count; i++) {
        if (!is_owed_at_all(named(state, step->sets[i].condition)))
            continue;
        struct standing_span span = standings_covered(state, step->sets[i], here);
        for (unsigned at = span.from; at < span.to; at++)
            state->standings[state->first[step->sets[i].condition] + at].is_perhaps = true;
    }
    for (size_t i = 0; i < step->clears_count; i++) {
        struct standing_span span = standings_covered(state, step->clears[i], here);
        for (unsigned at = span.from; at < span.to; at++)
            doubt_if_true(&state->standings[state->first[step->clears[i].condition] + at]);
    }
    each_voided(state, step, here, doubt_if_true);
}

static void clear_all(struct condition_state *state, const struct step *step, const int *here)
{
    for (size_t i = 0; i < step->clears_count; i++) {
        struct standing_span span = standings_covered(state, step->clears[i], here);
        for (unsigned at = span.from; at < span.to; at++) {
            struct standing *standing =
                &state->standings[state->first[step->clears[i].condition] + at];
            *standing = (struct standing){.shown = standing->shown};
        }
    }
}

static void lapse_gate_questions(struct condition_state *state)
{
    for (unsigned id = 0; id < state->procedure->condition_count; id++)
        if (condition_is_asked_at_gates(named(state, id)))
            for (unsigned at = 0; at < state->count[id]; at++)
                state->standings[state->first[id] + at].has_lapsed = true;
}

static void set_all(struct condition_state *state, const struct step *step, const int *here,
                    const bool *as_expected, long long now)
{
    for (size_t i = 0; i < step->sets_count; i++) {
        unsigned id = step->sets[i].condition;
        struct standing_span span = standings_covered(state, step->sets[i], here);
        for (unsigned at = span.from; at < span.to; at++) {
            struct standing *standing = &state->standings[state->first[id] + at];
            standing->is_perhaps = false;
            if (is_owed_at_all(named(state, id)))
                standing->is_owed = true;
            if (!as_expected[i])
                standing->is_true = false;
            else if (become_true(state, id, at, now))
                standing->is_new = true;
        }
    }
}

/* All sets first, then what they void: a step that sets both ends with the voided one untrue. */
static void void_all(struct condition_state *state, const struct step *step, const int *here)
{
    for (size_t i = 0; i < step->sets_count; i++) {
        unsigned id = step->sets[i].condition;
        struct standing_span span = standings_covered(state, step->sets[i], here);
        for (unsigned at = span.from; at < span.to; at++) {
            struct standing *standing = &state->standings[state->first[id] + at];
            if (standing->is_new)
                void_others(state, id, at);
            standing->is_new = false;
        }
    }
}

void condition_step_done(struct condition_state *state, const struct step *step,
                         const int *here, const bool *as_expected, long long now)
{
    lapse_gate_questions(state);
    each_voided(state, step, here, doubt_no_more);
    clear_all(state, step, here);
    set_all(state, step, here, as_expected, now);
    void_all(state, step, here);
}

void condition_stopped(struct condition_state *state)
{
    for (unsigned id = 0; id < state->procedure->condition_count; id++)
        if (named(state, id)->lapses)
            for (unsigned at = 0; at < state->count[id]; at++)
                state->standings[state->first[id] + at].has_lapsed = true;
}

void condition_take_perhaps_as_so(struct condition_state *state)
{
    for (unsigned id = 0; id < state->procedure->condition_count; id++) {
        const struct condition *condition = named(state, id);
        if (condition->has_question)
            continue;
        for (unsigned at = 0; at < state->count[id]; at++) {
            struct standing *standing = &state->standings[state->first[id] + at];
            if (standing->is_perhaps && is_owed_at_all(condition))
                standing->is_true = standing->is_owed = true;
            standing->is_perhaps = false;
        }
    }
}

size_t condition_open(const struct condition_state *state, struct open_condition **open,
                      struct arena *arena)
{
    struct open_condition *list =
        arena_array(arena, struct open_condition, state->standing_count);
    size_t count = 0;
    for (unsigned id = 0; id < state->procedure->condition_count; id++) {
        if (!is_owed_at_all(named(state, id)))
            continue;
        for (unsigned at = 0; at < state->count[id]; at++) {
            const struct standing *standing = &state->standings[state->first[id] + at];
            if (!standing->is_true && !standing->is_owed && !standing->is_perhaps)
                continue;
            list[count++] = (struct open_condition){id, standing_position(state, id, at),
                                                    !standing->is_true && !standing->is_owed};
        }
    }
    *open = list;
    return count;
}

/*
 * The order to put things right, parts included.
 *
 * The search of safety/makesafe.h is over conditions alone.  A plug that is only tightened and never
 * threaded in would be no order, so the steps that put parts back are woven into it: before each move,
 * those that stand before it in the file; after the last one, what is left.
 */
#include "safe_places.h"

/* What the moves so far would leave: nothing of it has happened. */
struct weaving {
    const struct job *job;
    long long time;
    struct arena *arena;
    const struct makesafe *found;
    struct condition_state state;
    struct part_cell *parts;
    struct makesafe_move *refits; /* in the order of the file, then of the positions */
    size_t refit_count;
    struct makesafe_move *moves;
    size_t move_count;
};

/* --- what puts parts back ------------------------------------------------------------------------ */

static bool is_same_move(const struct weaving *weaving, const struct makesafe_move *a,
                         const struct makesafe_move *b)
{
    if (a->step != b->step)
        return false;
    for (size_t i = 0; i < weaving->job->procedure->index_count; i++) {
        if (a->here[i] != b->here[i])
            return false;
    }
    return true;
}

static bool is_move_already(const struct weaving *weaving, const struct makesafe_move *refit)
{
    for (size_t i = 0; i < weaving->found->move_count; i++) {
        if (is_same_move(weaving, &weaving->found->moves[i], refit))
            return true;
    }
    return false;
}

static bool only_puts_back(const struct work *work)
{
    return work->kind == WORK_STEP && work->step->refits_count > 0 &&
           work->step->removes_count == 0;
}

static void find_refits(struct weaving *weaving, const struct safe_permission *permission)
{
    const struct procedure *procedure = weaving->job->procedure;
    size_t most = 0;
    for (size_t i = 0; i < procedure->work_count; i++) {
        if (only_puts_back(procedure->works[i]))
            most += work_place_count(weaving->job, procedure->works[i]);
    }
    weaving->refits = arena_array(weaving->arena, struct makesafe_move, most);
    weaving->moves =
        arena_array(weaving->arena, struct makesafe_move, most + weaving->found->move_count);
    for (size_t i = 0; i < procedure->work_count; i++) {
        const struct work *work = procedure->works[i];
        size_t places = only_puts_back(work) ? work_place_count(weaving->job, work) : 0;
        for (size_t place = 0; place < places; place++) {
            struct makesafe_move refit = {
                work, work_place(weaving->job, work, place, weaving->arena)};
            if (!is_move_already(weaving, &refit) && safe_may_do(permission, work, refit.here))
                weaving->refits[weaving->refit_count++] = refit;
        }
    }
}

static bool has_something_out(const struct weaving *weaving, const struct makesafe_move *refit)
{
    for (size_t m = 0; m < refit->step->step->refits_count; m++) {
        size_t first, count;
        part_cells(weaving->job, refit->step->step->refits[m].part, refit->here, &first,
                   &count);
        for (size_t i = first; i < first + count; i++) {
            if (weaving->parts[i].count > 0 || weaving->parts[i].is_perhaps)
                return true;
        }
    }
    return false;
}

/* --- doing it in thought ------------------------------------------------------------------------- */

static void step_done(struct condition_state *state, const struct makesafe_move *move,
                      long long time, struct arena *arena)
{
    const struct step *step = move->step->step;
    bool *as_expected = arena_array(arena, bool, step->sets_count);
    for (size_t i = 0; i < step->sets_count; i++)
        as_expected[i] = true;
    condition_step_done(state, step, move->here, as_expected, time);
}

static void do_move(struct weaving *weaving, const struct makesafe_move *move)
{
    step_done(&weaving->state, move, weaving->time, weaving->arena);
    for (size_t m = 0; m < move->step->step->refits_count; m++) {
        size_t first, count;
        part_cells(weaving->job, move->step->step->refits[m].part, move->here, &first, &count);
        for (size_t i = first; i < first + count; i++)
            weaving->parts[i] = (struct part_cell){0};
    }
    weaving->moves[weaving->move_count++] = *move;
}

/* What comes after it in the order was found for the conditions as they are, so it must not change
 * them; when all is in its normal state, it must stay so. */
static bool spoils_the_order(const struct weaving *weaving, const struct makesafe_move *refit,
                             bool is_last)
{
    struct condition_state after = condition_state_copy(&weaving->state, weaving->arena);
    struct open_condition *open;
    step_done(&after, refit, weaving->time, weaving->arena);
    if (is_last)
        return condition_open(&after, &open, weaving->arena) > 0;
    for (size_t i = 0; i < after.standing_count; i++) {
        const struct standing *was = &weaving->state.standings[i], *is = &after.standings[i];
        if (was->is_true != is->is_true || was->is_owed != is->is_owed ||
            was->is_perhaps != is->is_perhaps)
            return true;
    }
    return false;
}

static bool weave_in(struct weaving *weaving, const struct makesafe_move *refit, bool is_last)
{
    if (!has_something_out(weaving, refit))
        return false;
    struct gate gate = gate_look(&weaving->state, refit->step->step, refit->here, weaving->time,
                                 weaving->arena);
    if (gate.verdict == GATE_SHUT || spoils_the_order(weaving, refit, is_last))
        return false;
    do_move(weaving, refit);
    return true;
}

static void weave(struct weaving *weaving)
{
    for (size_t i = 0; i < weaving->found->move_count; i++) {
        const struct makesafe_move *move = &weaving->found->moves[i];
        for (size_t r = 0; r < weaving->refit_count; r++) {
            if (weaving->refits[r].step->id < move->step->id)
                (void)weave_in(weaving, &weaving->refits[r], false);
        }
        do_move(weaving, move);
    }
    for (bool went_on = true; went_on;) {
        went_on = false;
        for (size_t r = 0; r < weaving->refit_count; r++)
            went_on = weave_in(weaving, &weaving->refits[r], true) || went_on;
    }
}

static struct makesafe_order with_parts(const struct makesafe *found,
                                        const struct safe_permission *permission)
{
    const struct job *job = permission->job;
    struct arena *arena = permission->arena;
    struct weaving weaving = {.job = job,
                              .time = permission->time,
                              .arena = arena,
                              .found = found,
                              .state = condition_state_copy(&job->conditions, arena),
                              .parts =
                                  arena_array(arena, struct part_cell, job->part_cell_count)};
    condition_take_perhaps_as_so(&weaving.state);
    for (size_t i = 0; i < job->part_cell_count; i++)
        weaving.parts[i] = job->parts[i];
    find_refits(&weaving, permission);
    weave(&weaving);
    struct makesafe_order order = {.makesafe = *found};
    order.makesafe.moves = weaving.moves;
    order.makesafe.move_count = weaving.move_count;
    order.left_count = parts_out_of(job, weaving.parts, &order.left, arena);
    return order;
}

/* --- by hand ------------------------------------------------------------------------------------- */

static bool is_required_by(const struct job *job, const struct open_condition *held,
                           const struct open_condition *other)
{
    const struct condition *condition = job->procedure->conditions[other->condition];
    for (size_t i = 0; i < condition->requires_count; i++) {
        bool is_elsewhere =
            condition->index != INDEX_NONE && other->position != held->position &&
            job->procedure->conditions[held->condition]->index == condition->index;
        if (condition->requires[i] == held->condition && !is_elsewhere)
            return true;
    }
    return false;
}

static unsigned opened_by(const struct job *job, const struct open_condition *open)
{
    size_t at = job->conditions.first[open->condition];
    return job->opened[at + (open->position < 0 ? 0 : (size_t)open->position)];
}

/* Undone in the reverse order of doing; what others stand on, after them. */
static const struct open_condition *undone_first(const struct job *job,
                                                 const struct open_condition *open,
                                                 size_t count, struct arena *arena)
{
    struct open_condition *left = arena_array(arena, struct open_condition, count);
    struct open_condition *sorted = arena_array(arena, struct open_condition, count);
    for (size_t i = 0; i < count; i++)
        left[i] = open[i];
    for (size_t rest = count; rest > 0; rest--) {
        size_t best = rest; /* none yet */
        for (size_t i = rest; i-- > 0;) {
            bool is_held = false;
            for (size_t k = 0; k < rest; k++)
                is_held = is_held || (k != i && is_required_by(job, &left[i], &left[k]));
            if (!is_held &&
                (best == rest || opened_by(job, &left[i]) > opened_by(job, &left[best])))
                best = i;
        }
        if (best == rest)
            best = rest - 1; /* they require each other */
        sorted[count - rest] = left[best];
        for (size_t i = best; i + 1 < rest; i++)
            left[i] = left[i + 1];
    }
    return sorted;
}

/* The search's own moves, each at the position where it is made. */
static struct makesafe search_for(struct safe_permission *permission)
{
    const struct job *job = permission->job;
    struct arena *arena = permission->arena;
    struct makesafe found =
        makesafe_find(&job->conditions, safe_may_move, permission, permission->time, arena);
    struct makesafe_move *moves = arena_array(arena, struct makesafe_move, found.move_count);
    for (size_t i = 0; i < found.move_count; i++)
        moves[i] = (struct makesafe_move){
            found.moves[i].step,
            safe_place_of(permission, found.moves[i].step, found.moves[i].here)};
    found.moves = moves;
    return found;
}

/* In place if that gives an order, elsewhere if only that does. */
static struct makesafe search_near_first(struct safe_permission *permission)
{
    permission->stays_in_place = true;
    permission->refused_a_place = false;
    struct makesafe found = search_for(permission);
    if (found.is_found || !permission->refused_a_place)
        return found;
    permission->stays_in_place = false;
    return search_for(permission);
}

/* First with the steps of the branches that are taken; a person whose sheet or reading was wrong
 * still gets an order if only the others give one. */
struct makesafe_order job_makesafe_order(const struct job *job, struct instant now,
                                         struct arena *arena)
{
    struct safe_permission *permission = arena_new(arena, struct safe_permission);
    *permission = safe_permission_begin(job, job_time(job, now), arena);
    struct makesafe found = search_near_first(permission);
    if (!found.is_found) {
        permission->is_strict = false;
        found = search_near_first(permission);
    }
    found.open = undone_first(job, found.open, found.open_count, arena);
    if (found.is_found)
        return with_parts(&found, permission);
    struct makesafe_order order = {.makesafe = found};
    order.left_count = job_parts_out(job, &order.left, arena);
    return order;
}

struct makesafe job_makesafe(const struct job *job, struct instant now, struct arena *arena)
{
    return job_makesafe_order(job, now, arena).makesafe;
}

#include "program.h"

#include <string.h>

/*
 * The graph is made from its end: what comes after is known when a work is compiled.  Only a
 * repeat leads back, to a place that is made first and filled in afterwards.
 */

enum { PLACES_MAX = 1 << 20 };

static bool has_room(const struct program *program, size_t bytes)
{
    enum { KEPT_FREE = 1 << 16 }; /* for what has to be said about it */
    return (size_t)(program->arena->limit - program->arena->next) > bytes + KEPT_FREE;
}

unsigned program_add(struct program *program, struct place_in_work place)
{
    if (program->place_count == program->place_capacity) {
        size_t capacity = 2 * program->place_capacity + 64;
        if (!has_room(program, capacity * sizeof place)) {
            program->is_too_large = true;
            return program->nowhere;
        }
        struct place_in_work *wider =
            arena_array(program->arena, struct place_in_work, capacity);
        if (program->place_count > 0)
            memcpy(wider, program->places, program->place_count * sizeof *wider);
        program->places = wider;
        program->place_capacity = capacity;
    }
    if (program->place_count >= PLACES_MAX) {
        program->is_too_large = true;
        return program->nowhere;
    }
    program->places[program->place_count] = place;
    return (unsigned)program->place_count++;
}

static int new_bits(struct program *program, unsigned count)
{
    int first = (int)program->layout.bit_count;
    program->layout.bit_count += count;
    return first;
}

/* --- which conditions are part of a state ------------------------------------------------------ */

struct relevance {
    bool *is_settable; /* by a step, or by an answer at the start */
    bool *is_forbidden;
    bool *is_kept;
};

static void note_uses(const struct condition_use *uses, size_t count, bool *marks)
{
    for (size_t i = 0; i < count; i++)
        marks[uses[i].condition] = true;
}

static void note_steps(const struct procedure *procedure, struct relevance *relevance)
{
    for (size_t i = 0; i < procedure->work_count; i++) {
        const struct step *step = procedure->works[i]->step;
        if (step == NULL)
            continue;
        note_uses(step->sets, step->sets_count, relevance->is_settable);
        note_uses(step->forbids, step->forbids_count, relevance->is_forbidden);
        for (size_t k = 0; k < step->needs_count; k++) {
            const struct condition *needed = procedure->conditions[step->needs[k].condition];
            bool is_asked = needed->lapses && needed->lapses_after <= 0;
            relevance->is_kept[needed->id] = relevance->is_kept[needed->id] || !is_asked;
        }
    }
}

/* What a kept condition requires is kept, so that a breach is seen; and what makes one untrue, since
 * only what was not so before does. */
static bool note_more(const struct procedure *procedure, struct relevance *relevance)
{
    bool grew = false;
    for (unsigned id = 0; id < procedure->condition_count; id++) {
        const struct condition *condition = procedure->conditions[id];
        if (!relevance->is_settable[id] && !relevance->is_kept[id])
            continue;
        for (size_t k = 0; k < condition->requires_count; k++) {
            grew = grew || !relevance->is_kept[condition->requires[k]];
            relevance->is_kept[condition->requires[k]] = true;
        }
        for (size_t k = 0; k < condition->voids_count && !relevance->is_kept[id]; k++)
            if (relevance->is_kept[condition->voids[k]])
                grew = relevance->is_kept[id] = true;
    }
    return grew;
}

static const bool *kept_conditions(struct program *program)
{
    const struct procedure *procedure = program->procedure;
    struct relevance relevance = {
        arena_array(program->arena, bool, procedure->condition_count),
        arena_array(program->arena, bool, procedure->condition_count),
        arena_array(program->arena, bool, procedure->condition_count)};
    note_steps(procedure, &relevance);
    for (unsigned id = 0; id < procedure->condition_count; id++) {
        const struct condition *condition = procedure->conditions[id];
        bool matters = condition->restore.length > 0 || condition->requires_count > 0 ||
                       relevance.is_forbidden[id];
        relevance.is_settable[id] = relevance.is_settable[id] || condition->asked_at_start;
        relevance.is_kept[id] = relevance.is_kept[id] || (relevance.is_settable[id] && matters);
    }
    while (note_more(procedure, &relevance))
        continue;
    return relevance.is_kept;
}

/* --- works ------------------------------------------------------------------------------------------ */

static unsigned work_place(struct program *program, const struct work *work, const int *here,
                           unsigned next);
static unsigned loop_place(struct program *program, const struct work *work, const int *here,
                           unsigned next);
static unsigned body_place(struct program *program, const struct work *work, const int *here,
                           unsigned next);

/* NOLINTNEXTLINE(misc-no-recursion): as deep as the tree of the file */
static unsigned children_place(struct program *program, const struct work *work,
                               const int *here, unsigned next)
{
    for (size_t i = work->child_count; i-- > 0;)
        next = work_place(program, work->children[i], here, next);
    return next;
}

static unsigned step_place(struct program *program, const struct work *work, const int *here,
                           unsigned next)
{
    if (work == program->omission.deleted)
        return next;
    return program_add(program, (struct place_in_work){.kind = PLACE_STEP,
                                                       .work = work,
                                                       .here = here,
                                                       .next = {next, next},
                                                       .once_bit = MASK_NO_BIT});
}

/* NOLINTNEXTLINE(misc-no-recursion): as deep as the tree of the file */
static unsigned either_place(struct program *program, const struct work *work, const int *here,
                             unsigned next)
{
    unsigned otherwise = program->nowhere;
    for (size_t i = work->child_count; i-- > 0;) {
        const struct work *alternative = work->children[i];
        const struct expression *when = alternative->when;
        unsigned body = work_is_each(alternative)
                            ? loop_place(program, alternative, here, next)
                            : body_place(program, alternative, here, next);
        otherwise = when == NULL ? body
                                 : truth_place(program, when, (struct standpoint){.here = here},
                                               body, otherwise);
    }
    return otherwise;
}

/* NOLINTNEXTLINE(misc-no-recursion): as deep as the tree of the file */
static unsigned repeat_place(struct program *program, const struct work *work, const int *here,
                             unsigned next)
{
    unsigned again = program_add(program, (struct place_in_work){.kind = PLACE_JUMP});
    unsigned behind;
    if (work->until != NULL)
        behind =
            truth_place(program, work->until, (struct standpoint){.here = here}, next, again);
    else
        behind = program_add(program, (struct place_in_work){.kind = PLACE_FORK,
                                                             .work = work,
                                                             .here = here,
                                                             .next = {next, again},
                                                             .event = PATH_ROUND,
                                                             .position = INDEX_NONE});
    unsigned first = children_place(program, work, here, behind); /* may move the places */
    program->places[again].next[WAY_YES] = first;
    return again;
}

/* NOLINTNEXTLINE(misc-no-recursion): as deep as the tree of the file */
static unsigned body_place(struct program *program, const struct work *work, const int *here,
                           unsigned next)
{
    switch (work->kind) {
    case WORK_STEP:
        return step_place(program, work, here, next);
    case WORK_SECTION:
    case WORK_FOLLOW: {
        unsigned first = children_place(program, work, here, next);
        if (!work->is_away)
            return first;
        return program_add(program, (struct place_in_work){.kind = PLACE_AWAY,
                                                           .work = work,
                                                           .here = here,
                                                           .next = {first, first}});
    }
    case WORK_EITHER:
        return either_place(program, work, here, next);
    case WORK_REPEAT:
        return repeat_place(program, work, here, next);
    }
    return next;
}

/* --- loops ------------------------------------------------------------------------------------------ */

static bool is_of_activity(const struct step *step, unsigned condition)
{
    for (size_t i = 0; i < step->activity_count; i++)
        for (size_t k = 0; k < step->activities[i]->clears_count; k++)
            if (step->activities[i]->clears[k] == condition)
                return true;
    return false;
}

/* Which conditions the steps in a work set or clear of their own. */
/* NOLINTNEXTLINE(misc-no-recursion): as deep as the tree of the file */
static void note_touched(const struct procedure *procedure, const struct work *work,
                         bool *touched)
{
    const struct step *step = work->step;
    if (step != NULL) {
        note_uses(step->sets, step->sets_count, touched);
        for (size_t i = 0; i < step->clears_count; i++)
            if (!is_of_activity(step, step->clears[i].condition))
                touched[step->clears[i].condition] = true;
    }
    for (size_t i = 0; i < work->child_count; i++)
        note_touched(procedure, work->children[i], touched);
}

/* What a round begins and ends with.  Two rounds stand for any number only if none leaves a trace outside its own
 * position: each condition of the whole machine, and each of another index at all of its positions, is
 * left as it was found. */
struct round {
    struct place_in_work *kept; /* one for each such standing */
    size_t count;
};

static struct place_in_work found_place(struct program *program, const struct work *loop,
                                        unsigned condition, unsigned at)
{
    bool is_one = program->procedure->conditions[condition]->index == INDEX_NONE;
    unsigned standing = program->layout.shape.first[condition] + at;
    int owed_bit = program->layout.owed_bits[standing];
    return (struct place_in_work){.work = loop,
                                  .condition = condition,
                                  .position = is_one ? INDEX_NONE : (int)at,
                                  .true_bit = program->layout.true_bits[standing],
                                  .owed_bit = owed_bit,
                                  .bit = new_bits(program, owed_bit == MASK_NO_BIT ? 1 : 2)};
}

static struct round round_of(struct program *program, const struct work *loop)
{
    const struct procedure *procedure = program->procedure;
    struct round round = {0};
    bool *touched = arena_array(program->arena, bool, procedure->condition_count);
    note_touched(procedure, loop, touched);
    for (unsigned id = 0; id < procedure->condition_count; id++) {
        int bit = program->layout.true_bits[program->layout.shape.first[id]];
        touched[id] = touched[id] && procedure->conditions[id]->index != loop->loop.index &&
                      bit != MASK_NO_BIT;
        round.count += touched[id] ? program->layout.shape.count[id] : 0;
    }
    round.kept = arena_array(program->arena, struct place_in_work, round.count);
    size_t count = 0;
    for (unsigned id = 0; id < procedure->condition_count; id++)
        for (unsigned at = 0; touched[id] && at < program->layout.shape.count[id]; at++)
            round.kept[count++] = found_place(program, loop, id, at);
    return round;
}

static unsigned round_places(struct program *program, const struct round *round,
                             enum place_kind kind, const int *here, unsigned next)
{
    for (size_t i = 0; i < round->count; i++) {
        struct place_in_work place = round->kept[i];
        place.kind = kind;
        place.here = here;
        place.next[WAY_NO] = place.next[WAY_YES] = next;
        next = program_add(program, place);
    }
    return next;
}

struct unrolled {
    const struct work *work;
    const int *outside;
    bool is_kept;    /* who is in the subset is kept in two bits while the loop goes on */
    int member_bits; /* if so */
    struct round round;
};

static unsigned member_place(struct program *program, const struct unrolled *loop, int position,
                             unsigned yes, unsigned no)
{
    struct standpoint standpoint = {loop->outside, loop->work, position};
    return loop->work->loop.subset == LOOP_LABELS
               ? label_place(program, loop->work, standpoint, yes, no)
               : truth_place(program, loop->work->loop.where, standpoint, yes, no);
}

static unsigned keep_place(struct program *program, int bit, unsigned value, unsigned next)
{
    return program_add(
        program, (struct place_in_work){
                     .kind = PLACE_KEEP, .bit = bit, .value = value, .next = {next, next}});
}

/* NOLINTNEXTLINE(misc-no-recursion): as deep as the tree of the file */
static unsigned one_round(struct program *program, const struct unrolled *loop, int position,
                          unsigned next)
{
    const struct work *work = loop->work;
    size_t indexes = program->procedure->index_count;
    int *here = arena_array(program->arena, int, indexes);
    memcpy(here, loop->outside, indexes * sizeof *here);
    here[work->loop.index] = position;
    unsigned after = round_places(program, &loop->round, PLACE_LEAVES, here, next);
    unsigned body = body_place(program, work, here, after);
    if (work->when != NULL && work->when_each_round)
        body = truth_place(program, work->when, (struct standpoint){.here = here}, body, after);
    body = round_places(program, &loop->round, PLACE_FOUND, here, body);
    if (work->loop.subset == LOOP_ALL)
        return body;
    if (!loop->is_kept)
        return member_place(program, loop, position, body, next);
    int bit = loop->member_bits + position;
    body = keep_place(program, bit, 0, body); /* it has served */
    return program_add(
        program, (struct place_in_work){.kind = PLACE_TEST, .bit = bit, .next = {next, body}});
}

/* Who is in the subset is settled before the first round. */
static unsigned settle_members(struct program *program, const struct unrolled *loop,
                               unsigned next)
{
    for (int position = 1; position >= 0; position--) {
        unsigned yes = next;
        if (loop->is_kept)
            yes = keep_place(program, loop->member_bits + position, 1, next);
        next = member_place(program, loop, position, yes, next);
    }
    return next;
}

/* NOLINTNEXTLINE(misc-no-recursion): as deep as the tree of the file */
static unsigned loop_place(struct program *program, const struct work *work, const int *here,
                           unsigned next)
{
    struct unrolled loop = {.work = work, .outside = here, .round = round_of(program, work)};
    if (work->loop.subset == LOOP_WHERE && truth_may_change_in(program, work)) {
        loop.is_kept = true;
        loop.member_bits = new_bits(program, 2);
    }
    for (int position = 1; position >= 0; position--)
        next = one_round(program, &loop, position, next);
    return work->loop.subset == LOOP_ALL ? next : settle_members(program, &loop, next);
}

/* NOLINTNEXTLINE(misc-no-recursion): as deep as the tree of the file */
static unsigned work_place(struct program *program, const struct work *work, const int *here,
                           unsigned next)
{
    if (program->is_too_large)
        return program->nowhere;
    unsigned first = work_is_each(work) ? loop_place(program, work, here, next)
                                        : body_place(program, work, here, next);
    bool is_looked_at_here =
        work->when != NULL && !(work_is_each(work) && work->when_each_round);
    return is_looked_at_here ? truth_place(program, work->when,
                                           (struct standpoint){.here = here}, first, next)
                             : first;
}

/* --- bits of their own ---------------------------------------------------------------------------- */

static bool is_repeated(const struct work *work)
{
    for (; work != NULL; work = work->parent)
        if (work->kind == WORK_REPEAT)
            return true;
    return false;
}

static bool is_same_round(const struct program *program, const struct safe_move *move,
                          const struct place_in_work *place)
{
    if (move->work != place->work)
        return false;
    for (size_t i = 0; i < program->procedure->index_count; i++)
        if (move->here[i] != INDEX_NONE && place->here[i] != move->here[i])
            return false;
    return true;
}

static void find_moves(struct program *program)
{
    const struct procedure *procedure = program->procedure;
    bool *is_open = arena_array(program->arena, bool, procedure->condition_count);
    for (unsigned id = 0; id < procedure->condition_count; id++)
        is_open[id] = procedure->conditions[id]->restore.length > 0 &&
                      program->layout.true_bits[program->layout.shape.first[id]] != MASK_NO_BIT;
    program->move_count = safe_moves_find(procedure, &program->layout.shape, is_open,
                                          &program->moves, program->arena);
    size_t kept = 0;
    for (size_t i = 0; i < program->move_count; i++) {
        struct safe_move *move = &program->moves[i];
        if (move->work == program->omission.deleted)
            continue;
        if (move->work->step->is_once)
            move->bit = new_bits(program, 1);
        program->moves[kept++] = *move;
    }
    program->move_count = kept;
    program->order_bits = program->layout.bit_count;
}

static void give_once_bits(struct program *program)
{
    for (size_t i = 0; i < program->place_count; i++) {
        struct place_in_work *place = &program->places[i];
        if (place->kind != PLACE_STEP || !place->work->step->is_once)
            continue;
        for (size_t k = 0; k < program->move_count; k++)
            if (is_same_round(program, &program->moves[k], place))
                place->once_bit = program->moves[k].bit;
        if (place->once_bit == MASK_NO_BIT && is_repeated(place->work))
            place->once_bit = new_bits(program, 1);
    }
}

static void give_part_bits(struct program *program)
{
    const struct procedure *procedure = program->procedure;
    int *bits = arena_array(program->arena, int, procedure->part_count);
    for (size_t i = 0; i < procedure->part_count; i++)
        bits[i] = new_bits(program, procedure->parts[i].index == INDEX_NONE ? 1 : 2);
    program->part_bits = bits;
}

static void mark_parts(const struct program *program, const struct part_move *moves,
                       size_t count, const int *here, uint64_t *bits)
{
    for (size_t i = 0; i < count; i++) {
        int index = program->procedure->parts[moves[i].part].index;
        int positions = index == INDEX_NONE ? 1 : 2;
        for (int position = 0; position < positions; position++)
            if (index == INDEX_NONE || here[index] == INDEX_NONE || here[index] == position)
                masks_set_bit(bits, program->part_bits[moves[i].part] + position);
    }
}

static struct moved_part moved_part(const struct program *program, unsigned part,
                                    const int *here)
{
    int index = program->procedure->parts[part].index;
    int position = index == INDEX_NONE ? INDEX_NONE : here[index];
    int first = program->part_bits[part];
    if (index == INDEX_NONE || position != INDEX_NONE)
        return (struct moved_part){part, first + (index == INDEX_NONE ? 0 : position), position,
                                   1};
    return (struct moved_part){part, first, INDEX_NONE, 2};
}

static bool removes_part(const struct step *step, unsigned part)
{
    for (size_t i = 0; i < step->removes_count; i++)
        if (step->removes[i].part == part)
            return true;
    return false;
}

static void list_moved(const struct program *program, struct place_in_work *place)
{
    const struct step *step = place->work->step;
    size_t most = step->removes_count + step->refits_count;
    if (most == 0)
        return;
    struct moved_part *moved = arena_array(program->arena, struct moved_part, most);
    for (size_t i = 0; i < step->removes_count; i++)
        moved[place->removed_count++] = moved_part(program, step->removes[i].part, place->here);
    for (size_t i = 0; i < step->refits_count; i++)
        if (!removes_part(step, step->refits[i].part))
            moved[place->removed_count + place->refitted_count++] =
                moved_part(program, step->refits[i].part, place->here);
    place->moved = moved;
}

static void compile_step(struct program *program, struct place_in_work *place)
{
    const struct step *step = place->work->step;
    struct arena *arena = program->arena;
    place->masks = masks_of(&program->layout, place->work, place->here, arena);
    uint64_t *refitted = arena_array(arena, uint64_t, program->layout.words);
    mark_parts(program, step->refits, step->refits_count, place->here, refitted);
    mark_parts(program, step->removes, step->removes_count, place->here, place->masks.sets);
    for (size_t i = 0; i < program->layout.words; i++) {
        place->masks.sets[i] &= ~refitted[i]; /* put back after it was taken out */
        place->masks.clears[i] |= refitted[i];
    }
    list_moved(program, place);
    masks_set_bit(place->masks.sets, place->once_bit);
    masks_set_bit(place->masks.begun_sets, place->once_bit);
    place->forgets = arena_array(arena, uint64_t, program->layout.words);
    truths_forgotten(program, step, place->here, place->forgets);
    for (size_t i = 0; i < program->layout.words; i++)
        place->masks.clears[i] |= place->forgets[i];
    place->always = arena_array(arena, uint64_t, program->layout.words);
    memset(place->always, 0xff, program->layout.words * sizeof(uint64_t));
    place->ever = arena_array(arena, uint64_t, program->layout.words);
}

static void compile_masks(struct program *program)
{
    enum { MASKS_OF_A_STEP = 64 }; /* at most, about */
    size_t bytes = MASKS_OF_A_STEP * program->layout.words * sizeof(uint64_t);
    size_t foregone = program->place_count * (program->layout.words + 1) * sizeof(uint64_t);
    for (size_t i = 0; i < program->place_count; i++) {
        program->is_too_large = !has_room(program, bytes + foregone);
        if (program->is_too_large)
            return;
        struct place_in_work *place = &program->places[i];
        if (place->kind == PLACE_STEP)
            compile_step(program, place);
        if (place->kind == PLACE_ASK)
            place->masks = masks_of_answer(&program->layout, place->condition, place->position,
                                           program->arena);
    }
}

/* --- the whole --------------------------------------------------------------------------------------- */

/* What is asked in the opening, before everything else. */
static unsigned ask_places(struct program *program, unsigned next)
{
    for (unsigned id = (unsigned)program->procedure->condition_count; id-- > 0;) {
        const struct condition *condition = program->procedure->conditions[id];
        unsigned first = program->layout.shape.first[id];
        if (!condition->asked_at_start || program->layout.true_bits[first] == MASK_NO_BIT)
            continue;
        for (unsigned at = program->layout.shape.count[id]; at-- > 0;)
            next = program_add(
                program, (struct place_in_work){
                             .kind = PLACE_ASK,
                             .condition = id,
                             .position = condition->index == INDEX_NONE ? INDEX_NONE : (int)at,
                             .event = PATH_ASKED_AT_START,
                             .next = {next, next}});
    }
    return next;
}

struct program program_of(const struct procedure *procedure, struct omission omission,
                          struct arena *arena)
{
    struct program program = {.procedure = procedure, .omission = omission, .arena = arena};
    program.layout = masks_begin(procedure, NULL, kept_conditions(&program), arena);
    find_moves(&program);
    give_part_bits(&program);
    int *here = arena_array(arena, int, procedure->index_count);
    for (size_t i = 0; i < procedure->index_count; i++)
        here[i] = INDEX_NONE;
    program.nowhere = program_add(&program, (struct place_in_work){.kind = PLACE_NOWHERE});
    program.end = program_add(&program, (struct place_in_work){.kind = PLACE_END});
    program.entry = program.end;
    if (procedure->work_count > 0)
        program.entry = work_place(&program, procedure->works[0], here, program.end);
    program.entry = ask_places(&program, program.entry);
    give_once_bits(&program);
    program.is_too_large = program.is_too_large || program.layout.bit_count > PROOF_BITS_MAX;
    if (!program.is_too_large) {
        masks_close(&program.layout, arena);
        compile_masks(&program);
        if (!program.is_too_large)
            program_forego(&program);
    }
    return program;
}

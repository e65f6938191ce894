#include "witness.h"

#include <string.h>

/* The way as the search went it: its states and what led from one to the next. */
struct trail {
    struct search *search;
    const struct fault *fault;
    const uint64_t **bits; /* before each event, and behind the last */
    struct path_event *events;
    size_t count; /* events without the tail */
    struct arena *arena;
};

/* --- events -------------------------------------------------------------------------------- */

static const int *positions_kept(const struct trail *trail, const int *here)
{
    if (here == NULL)
        return NULL;
    size_t count = trail->search->program->procedure->index_count;
    int *kept = arena_array(trail->arena, int, count);
    if (count > 0)
        memcpy(kept, here, count * sizeof *kept);
    return kept;
}

static const struct expression *expression_kept(const struct trail *trail,
                                                const struct expression *expression)
{
    struct expression *kept = arena_new(trail->arena, struct expression);
    *kept = *expression;
    kept->written = text_copy(trail->arena, expression->written);
    return kept;
}

static struct path_event event_of(const struct trail *trail, const struct place_in_work *place,
                                  unsigned way)
{
    struct path_event event = {.kind = place->event,
                               .work = place->work,
                               .here = positions_kept(trail, place->here),
                               .position = place->position,
                               .truth = way == WAY_YES};
    if (place->expression != NULL)
        event.expression = expression_kept(trail, place->expression);
    if (place->kind == PLACE_STEP) {
        event.kind = way == WAY_YES ? PATH_DONE : PATH_PASSED_OVER;
        event.position = INDEX_NONE;
    }
    if (place->kind == PLACE_ASK)
        event.condition = place->condition;
    if (place->kind == PLACE_DECIDE && place->value != 0)
        event.truth = !event.truth; /* what is written is the opposite of what was decided */
    if (place->kind == PLACE_CHOOSE) {
        const struct variable *variable = &trail->search->program->variables[place->variable];
        event.text = variable->choices->texts[way];
    }
    return event;
}

static struct trail follow_back(struct search *search, const struct fault *fault,
                                struct arena *arena)
{
    struct trail trail = {.search = search, .fault = fault, .arena = arena};
    const struct program *program = search->program;
    size_t states =
        fault->state == STATE_NONE ? 0 : state_at(&search->table, fault->state)->mark + 1;
    trail.count = states == 0 ? 0 : states - 1 + (fault->has_way ? 1 : 0);
    trail.events = arena_array(arena, struct path_event, trail.count + 1);
    trail.bits = arena_array(program->arena, const uint64_t *, trail.count + 1);
    uint64_t *last = arena_array(program->arena, uint64_t, program->layout.words);
    trail.bits[trail.count] = last;
    if (states == 0)
        return trail;
    unsigned way = fault->way;
    size_t at = states;
    for (int number = fault->state; number != STATE_NONE;) {
        struct state_record *record = state_at(&search->table, number);
        const struct place_in_work *place = &program->places[record->place];
        trail.bits[--at] = state_bits(record);
        if (at < trail.count)
            trail.events[at] = event_of(&trail, place, way);
        if (number == fault->state && fault->has_way)
            (void)search_way(search, place, trail.bits[at], way, last);
        way = record->how;
        number = record->before;
    }
    return trail;
}

/* --- why the step that would have helped did not --------------------------------------------------- */

/* What would have had to be: a bit set, or bits not set. */
struct wish {
    bool is_to_be_set;
    int bit, other_bit;
};

static bool is_granted(const struct wish *wish, const uint64_t *bits)
{
    bool is_so = masks_bit(bits, wish->bit) ||
                 (wish->other_bit != MASK_NO_BIT && masks_bit(bits, wish->other_bit));
    return is_so == wish->is_to_be_set;
}

static unsigned standing_of(const struct trail *trail, unsigned condition)
{
    int position = trail->fault->position;
    const struct program *program = trail->search->program;
    bool has_positions = program->layout.shape.count[condition] > 1 && position >= 0;
    return program->layout.shape.first[condition] + (has_positions ? (unsigned)position : 0);
}

/* False where nothing in particular would have had to be. */
static bool wish_of(const struct trail *trail, struct wish *wish)
{
    const struct fault *fault = trail->fault;
    const struct mask_layout *layout = &trail->search->program->layout;
    switch (fault->kind) {
    case FAULT_NEED:
        *wish = (struct wish){true, layout->true_bits[standing_of(trail, fault->condition)],
                              MASK_NO_BIT};
        break;
    case FAULT_REQUIRES: {
        unsigned standing = layout->shape.first[fault->required];
        if (layout->shape.count[fault->required] == layout->shape.count[fault->condition])
            standing = standing_of(trail, fault->required);
        *wish = (struct wish){true, layout->true_bits[standing], MASK_NO_BIT};
        break;
    }
    case FAULT_FORBIDDEN:
    case FAULT_LEFT:
    case FAULT_ROUND: {
        unsigned standing = standing_of(trail, fault->condition);
        *wish = (struct wish){false, layout->true_bits[standing], layout->owed_bits[standing]};
        break;
    }
    case FAULT_PART_LEFT:
    case FAULT_PART_OUT:
    case FAULT_PART_IN:
        *wish = (struct wish){fault->kind == FAULT_PART_IN,
                              trail->search->program->part_bits[fault->part] +
                                  (fault->position > 0 ? fault->position : 0),
                              MASK_NO_BIT};
        break;
    case FAULT_ONCE:
    case FAULT_NO_ORDER:
    case FAULT_UNREACHED:
        return false;
    }
    return wish->bit != MASK_NO_BIT;
}

static bool uses_name(const struct condition_use *uses, size_t count, unsigned condition)
{
    for (size_t i = 0; i < count; i++)
        if (uses[i].condition == condition)
            return true;
    return false;
}

static bool moves_part(const struct part_move *moves, size_t count, unsigned part)
{
    for (size_t i = 0; i < count; i++)
        if (moves[i].part == part)
            return true;
    return false;
}

static bool could_help(const struct fault *fault, const struct work *work)
{
    const struct step *step = work->step;
    if (step == NULL)
        return false;
    switch (fault->kind) {
    case FAULT_NEED:
        return uses_name(step->sets, step->sets_count, fault->condition);
    case FAULT_REQUIRES:
        return uses_name(step->sets, step->sets_count, fault->required);
    case FAULT_FORBIDDEN:
    case FAULT_LEFT:
    case FAULT_NO_ORDER:
        return uses_name(step->clears, step->clears_count, fault->condition);
    case FAULT_PART_LEFT:
    case FAULT_PART_OUT:
        return moves_part(step->refits, step->refits_count, fault->part);
    case FAULT_PART_IN:
        return moves_part(step->removes, step->removes_count, fault->part);
    case FAULT_ONCE:
    case FAULT_ROUND:
    case FAULT_UNREACHED:
        break;
    }
    return false;
}

static bool was_on_the_way(const struct trail *trail, const struct work *work,
                           enum path_event_kind kind)
{
    for (size_t i = 0; i < trail->count; i++)
        if (trail->events[i].work == work && trail->events[i].kind == kind)
            return true;
    return false;
}

/* It never was as it should be: the first of those passed over, left out, or still to come. */
static void find_helper(const struct trail *trail, struct unsafe_path *path)
{
    const struct procedure *procedure = trail->search->program->procedure;
    path->cause = CAUSE_NO_STEP;
    for (size_t i = 0; i < procedure->work_count; i++) {
        const struct work *work = procedure->works[i];
        if (!could_help(trail->fault, work) || work == path->work)
            continue;
        enum path_cause cause = CAUSE_LEFT_OUT;
        if (was_on_the_way(trail, work, PATH_PASSED_OVER))
            cause = CAUSE_PASSED_OVER;
        else if (path->work != NULL && work->id > path->work->id)
            cause = CAUSE_NOT_YET;
        bool is_better = path->cause == CAUSE_NO_STEP ||
                         (cause == CAUSE_PASSED_OVER && path->cause != CAUSE_PASSED_OVER) ||
                         (cause == CAUSE_LEFT_OUT && path->cause == CAUSE_NOT_YET);
        if (!is_better)
            continue;
        path->cause = cause;
        path->helper = work;
    }
}

static void find_cause(const struct trail *trail, struct unsafe_path *path)
{
    struct wish wish = {.bit = MASK_NO_BIT};
    if (!wish_of(trail, &wish)) {
        find_helper(trail, path);
        return;
    }
    const struct work *granted_by = NULL;
    for (size_t i = 0; i < trail->count; i++) {
        bool before = is_granted(&wish, trail->bits[i]);
        bool after = is_granted(&wish, trail->bits[i + 1]);
        if (before && !after)
            path->undoer = trail->events[i].work;
        if (!before && after)
            granted_by = trail->events[i].work;
    }
    find_helper(trail, path);
    if (granted_by == NULL || path->undoer == NULL)
        return;
    path->cause = CAUSE_UNDONE;
    path->helper = granted_by;
}

/* --- what stands in the way of the one step that makes safe -------------------------------------------- */

static void bits_at_stop(const struct trail *trail, uint64_t *bits)
{
    const struct program *program = trail->search->program;
    const uint64_t *last = trail->bits[trail->count];
    memcpy(bits, last, program->layout.words * sizeof *bits);
    if (trail->fault->tail == TAIL_BEGUN) {
        struct state_record *record = state_at(&trail->search->table, trail->fault->state);
        masks_begun(&program->layout, &program->places[record->place].masks, last, bits);
    }
    for (size_t i = 0; i < program->layout.words; i++)
        bits[i] &= ~program->layout.lapsing[i];
}

/* False: the gate of this move is open. */
static bool is_in_the_way(const struct trail *trail, const struct safe_move *move,
                          const uint64_t *bits, struct unsafe_path *path)
{
    struct search *search = trail->search;
    masks_unpack(&search->program->layout, bits, &search->standings);
    struct gate gate =
        gate_look(&search->standings, move->work->step, move->here, 0, search->program->arena);
    if (gate.verdict != GATE_SHUT)
        return false;
    const struct gate_item *item = &gate.items[0];
    path->is_blocked = true;
    path->is_forbidden = item->reason == GATE_FORBIDDEN;
    path->blocked = item->reason == GATE_BREAKS ? item->required : item->condition;
    return true;
}

static void find_block(const struct trail *trail, struct unsafe_path *path)
{
    const struct program *program = trail->search->program;
    uint64_t *bits = arena_array(program->arena, uint64_t, program->layout.words);
    bits_at_stop(trail, bits);
    int index = program->procedure->conditions[trail->fault->condition]->index;
    for (size_t i = 0; i < program->move_count; i++) {
        const struct safe_move *move = &program->moves[i];
        bool is_elsewhere = index != INDEX_NONE && move->here[index] != INDEX_NONE &&
                            move->here[index] != trail->fault->position;
        if (!could_help(trail->fault, move->work) || is_elsewhere)
            continue;
        path->helper = move->work;
        if (is_in_the_way(trail, move, bits, path))
            return;
    }
}

/* --- the whole ---------------------------------------------------------------------------------------- */

static void add_tail(const struct trail *trail, struct unsafe_path *path)
{
    if (trail->fault->tail == TAIL_NONE)
        return;
    trail->events[path->event_count++] = (struct path_event){
        .kind = trail->fault->tail == TAIL_STOPPED ? PATH_STOPPED : PATH_BEGUN,
        .work = trail->fault->work,
        .here = path->here,
        .position = INDEX_NONE};
}

struct unsafe_path witness_of(struct search *search, const struct fault *fault,
                              struct arena *arena)
{
    struct trail trail = follow_back(search, fault, arena);
    struct unsafe_path path = {.fault = fault->kind,
                               .work = fault->work,
                               .here = positions_kept(&trail, fault->here),
                               .condition = fault->condition,
                               .required = fault->required,
                               .part = fault->part,
                               .position = fault->position,
                               .events = trail.events,
                               .event_count = trail.count};
    add_tail(&trail, &path);
    find_cause(&trail, &path);
    if (fault->kind == FAULT_NO_ORDER)
        find_block(&trail, &path);
    return path;
}

#include "search.h"

#include <assert.h>
#include <string.h>

/* Faults beyond the first are worth this many more states. */
enum { STATES_AFTER_A_FAULT = 200000 };

static struct place_in_work *place_at(const struct search *search, unsigned place)
{
    return &search->program->places[place];
}

/* --- values of truths ---------------------------------------------------------------------------- */

static unsigned value_of(const struct variable *variable, const uint64_t *bits)
{
    unsigned value = 0;
    for (unsigned i = 0; i < variable->bit_count; i++)
        value |= (unsigned)masks_bit(bits, (int)(variable->first_bit + i)) << i;
    return value;
}

static void set_value(const struct variable *variable, uint64_t *bits, unsigned value)
{
    for (unsigned i = 0; i < variable->bit_count; i++) {
        int bit = (int)(variable->first_bit + i);
        if ((value >> i & 1U) != 0)
            masks_set_bit(bits, bit);
        else
            masks_clear_bit(bits, bit);
    }
}

/* --- faults --------------------------------------------------------------------------------------- */

static bool is_same_fault(const struct fault *one, const struct fault *other)
{
    if (one->kind != other->kind || one->work != other->work)
        return false;
    if (one->kind == FAULT_NO_ORDER)
        return true;
    return one->condition == other->condition && one->required == other->required &&
           one->part == other->part;
}

/* Kept unless a way as short is known; where it is kept, or NULL. */
static struct fault *add_fault(struct search *search, struct fault fault)
{
    if (search->listener != NULL) {
        search->listener->met(search->listener->self, &fault);
        return NULL;
    }
    unsigned before =
        fault.state == STATE_NONE ? 0 : state_at(&search->table, fault.state)->mark;
    fault.length = before + (fault.has_way ? 1 : 0) + (fault.tail == TAIL_NONE ? 0 : 1);
    for (size_t i = 0; i < search->fault_count; i++) {
        if (!is_same_fault(&search->faults[i], &fault))
            continue;
        if (fault.length >= search->faults[i].length)
            return NULL;
        search->faults[i] = fault;
        return &search->faults[i];
    }
    if (search->fault_count == PROOF_PATHS_MAX)
        return NULL;
    search->faults[search->fault_count] = fault;
    return &search->faults[search->fault_count++];
}

static void add_gate_faults(struct search *search, const struct gate *gate, struct fault fault)
{
    for (size_t i = 0; i < gate->item_count; i++) {
        const struct gate_item *item = &gate->items[i];
        fault.condition = item->condition;
        fault.position = item->position;
        fault.required = 0;
        switch (item->reason) {
        case GATE_LAPSED:
            continue;
        case GATE_MISSING:
            fault.kind = FAULT_NEED;
            break;
        case GATE_FORBIDDEN:
            fault.kind = FAULT_FORBIDDEN;
            break;
        case GATE_BREAKS:
            fault.kind = FAULT_REQUIRES;
            fault.required = item->required;
            break;
        }
        (void)add_fault(search, fault);
    }
}

/* --- silent places ----------------------------------------------------------------------------------- */

/* A listener is told, and the search goes on. */
static bool away_is_open(struct search *search, const struct place_in_work *place,
                         const uint64_t *bits, struct fault fault)
{
    struct arena *arena = search->program->arena;
    struct arena_mark mark = arena_mark(arena);
    masks_unpack(&search->program->layout, bits, &search->standings);
    struct gate gate = gate_look_away(&search->standings, place->work, place->here, 0, arena);
    bool is_open = gate.verdict != GATE_SHUT;
    fault.work = place->work;
    fault.here = place->here;
    if (!is_open)
        add_gate_faults(search, &gate, fault);
    arena_rewind(arena, mark);
    return is_open || search->listener != NULL;
}

static void copy_bit(uint64_t *bits, int from, int to)
{
    if (masks_bit(bits, from))
        masks_set_bit(bits, to);
    else
        masks_clear_bit(bits, to);
}

static bool leaves_as_found(const struct place_in_work *place, uint64_t *bits)
{
    bool is_same = masks_bit(bits, place->true_bit) == masks_bit(bits, place->bit);
    masks_clear_bit(bits, place->bit);
    if (place->owed_bit == MASK_NO_BIT)
        return is_same;
    is_same = is_same && masks_bit(bits, place->owed_bit) == masks_bit(bits, place->bit + 1);
    masks_clear_bit(bits, place->bit + 1);
    return is_same;
}

static bool round_is_even(struct search *search, const struct place_in_work *place,
                          uint64_t *bits, struct fault fault)
{
    if (leaves_as_found(place, bits))
        return true;
    fault.kind = FAULT_ROUND;
    fault.work = place->work;
    fault.here = place->here;
    fault.condition = place->condition;
    fault.position = place->position;
    (void)add_fault(search, fault);
    return search->listener != NULL;
}

enum passage { PASSAGE_STOP, PASSAGE_ON, PASSAGE_FAULT };

/* One silent place: `at` becomes the next one. */
static enum passage pass_one(struct search *search, unsigned *at, uint64_t *bits,
                             const struct fault *fault)
{
    const struct place_in_work *place = place_at(search, *at);
    const struct variable *variables = search->program->variables;
    unsigned way = WAY_YES;
    switch (place->kind) {
    case PLACE_END:
    case PLACE_NOWHERE:
    case PLACE_ASK:
    case PLACE_STEP:
    case PLACE_FORK:
        return PASSAGE_STOP;
    case PLACE_JUMP:
        break;
    case PLACE_DECIDE:
    case PLACE_CHOOSE: {
        unsigned value = value_of(&variables[place->variable], bits);
        if (value == 0)
            return PASSAGE_STOP;
        unsigned wanted = place->kind == PLACE_CHOOSE ? place->value : WAY_YES;
        way = value - 1 == wanted ? WAY_YES : WAY_NO;
        break;
    }
    case PLACE_AWAY:
        if (!away_is_open(search, place, bits, *fault))
            return PASSAGE_FAULT;
        break;
    case PLACE_KEEP:
        if (place->value != 0)
            masks_set_bit(bits, place->bit);
        else
            masks_clear_bit(bits, place->bit);
        break;
    case PLACE_TEST:
        way = masks_bit(bits, place->bit) ? WAY_YES : WAY_NO;
        break;
    case PLACE_FOUND:
        copy_bit(bits, place->true_bit, place->bit);
        if (place->owed_bit != MASK_NO_BIT)
            copy_bit(bits, place->owed_bit, place->bit + 1);
        break;
    case PLACE_LEAVES:
        if (!round_is_even(search, place, bits, *fault))
            return PASSAGE_FAULT;
        break;
    }
    *at = place->next[way];
    return PASSAGE_ON;
}

/* States that differ only in what nobody looks at again are one. */
static void forego(const struct search *search, unsigned at, uint64_t *bits)
{
    const uint64_t *foregone = place_at(search, at)->foregone;
    for (size_t i = 0; i < search->program->layout.words; i++)
        bits[i] &= ~foregone[i];
}

/* Goes on to where something happens.  False where a fault ends it, or it goes round for ever. */
static bool settle(struct search *search, unsigned *at, uint64_t *bits,
                   const struct fault *fault)
{
    for (size_t passed = 0; passed <= search->program->place_count; passed++)
        switch (pass_one(search, at, bits, fault)) {
        case PASSAGE_STOP:
            forego(search, *at, bits);
            return true;
        case PASSAGE_ON:
            break;
        case PASSAGE_FAULT:
            return false;
        }
    return false;
}

/* --- ways ------------------------------------------------------------------------------------------- */

unsigned search_way(const struct search *search, const struct place_in_work *place,
                    const uint64_t *bits, unsigned way, uint64_t *after)
{
    const struct mask_layout *layout = &search->program->layout;
    memcpy(after, bits, layout->words * sizeof *after);
    switch (place->kind) {
    case PLACE_STEP:
    case PLACE_ASK:
        if (way == WAY_YES)
            masks_done(layout, &place->masks, bits, after);
        break;
    case PLACE_DECIDE:
        set_value(&search->program->variables[place->variable], after, way + 1);
        break;
    case PLACE_CHOOSE:
        set_value(&search->program->variables[place->variable], after, way + 1);
        return place->next[way == place->value ? WAY_YES : WAY_NO];
    case PLACE_FORK:
    case PLACE_END:
    case PLACE_NOWHERE:
    case PLACE_JUMP:
    case PLACE_AWAY:
    case PLACE_KEEP:
    case PLACE_TEST:
    case PLACE_FOUND:
    case PLACE_LEAVES:
        break;
    }
    return place->next[way];
}

int search_reach(struct search *search, unsigned place, const struct fault *fault, bool *is_new)
{
    *is_new = false;
    if (!settle(search, &place, search->after, fault))
        return STATE_NONE;
    int next = state_add(&search->table, place, search->after, is_new);
    if (next == STATE_NONE)
        search->has_given_up = true;
    return next;
}

/* Takes the way from the state at hand, to a new state or to a known one. */
static void take_way(struct search *search, const struct place_in_work *place, unsigned way)
{
    unsigned at = search_way(search, place, search->bits, way, search->after);
    struct fault fault = {.state = search->number, .has_way = true, .way = way};
    bool is_new;
    int next = search_reach(search, at, &fault, &is_new);
    if (search->listener != NULL && (next != STATE_NONE || search->table.is_full))
        search->listener->led(search->listener->self, search->number, next);
    if (!is_new)
        return;
    struct state_record *record = state_at(&search->table, next);
    record->before = search->number;
    record->how = way;
    record->mark = state_at(&search->table, search->number)->mark + 1;
}

/* --- places ------------------------------------------------------------------------------------------ */

static void want_order(struct search *search, const struct place_in_work *place,
                       const uint64_t *bits, enum fault_tail tail)
{
    if (search->orders == NULL)
        return;
    switch (safe_order_from(search->orders, bits)) {
    case ORDER_EXISTS:
        return;
    case ORDER_NOT_KNOWN:
        search->is_order_unknown = true;
        search->has_given_up = true;
        return;
    case ORDER_NONE:
        break;
    }
    struct fault fault = {.kind = FAULT_NO_ORDER,
                          .work = place->work,
                          .here = place->here,
                          .state = search->number,
                          .has_way = tail == TAIL_STOPPED,
                          .way = WAY_YES,
                          .tail = tail};
    struct fault *kept = add_fault(search, fault);
    if (kept == NULL)
        return;
    struct open_condition stays = safe_order_stays(search->orders, bits);
    kept->condition = stays.condition;
    kept->position = stays.position;
}

/* Every reason why the gate is shut. */
static void tell_gate(struct search *search, const struct place_in_work *place)
{
    struct arena *arena = search->program->arena;
    struct arena_mark mark = arena_mark(arena);
    masks_unpack(&search->program->layout, search->bits, &search->standings);
    struct gate gate = gate_look(&search->standings, place->work->step, place->here, 0, arena);
    /* The masks mean what the gate means; behind a fault they also see what was broken before. */
    assert(gate.verdict == GATE_SHUT || search->listener != NULL);
    struct fault fault = {.work = place->work, .here = place->here, .state = search->number};
    add_gate_faults(search, &gate, fault);
    arena_rewind(arena, mark);
}

static bool is_any_out(const struct moved_part *moved, const uint64_t *bits)
{
    for (unsigned i = 0; i < moved->bit_count; i++)
        if (masks_bit(bits, moved->first_bit + (int)i))
            return true;
    return false;
}

static bool is_all_out(const struct moved_part *moved, const uint64_t *bits)
{
    for (unsigned i = 0; i < moved->bit_count; i++)
        if (!masks_bit(bits, moved->first_bit + (int)i))
            return false;
    return true;
}

static struct fault part_fault(const struct search *search, const struct place_in_work *place,
                               const struct moved_part *moved, enum path_fault kind)
{
    return (struct fault){.kind = kind,
                          .work = place->work,
                          .here = place->here,
                          .part = moved->part,
                          .position = moved->position,
                          .state = search->number};
}

/* States come in the order of their distance: the first path is a shortest one. */
static void doubt(struct search *search, struct fault fault)
{
    fault.length = state_at(&search->table, fault.state)->mark;
    for (size_t i = 0; i < search->doubt_count; i++)
        if (is_same_fault(&search->doubts[i], &fault))
            return;
    if (search->doubt_count < PROOF_PATHS_MAX)
        search->doubts[search->doubt_count++] = fault;
}

/* Of several positions it is enough that the part can be moved at one: "the plugs that are still in".
 * False where something is taken out that is nowhere in: a path ends there. */
static bool parts_can_move(struct search *search, const struct place_in_work *place)
{
    bool can = true;
    for (size_t i = 0; i < place->removed_count; i++) {
        if (!is_all_out(&place->moved[i], search->bits))
            continue;
        (void)add_fault(search, part_fault(search, place, &place->moved[i], FAULT_PART_OUT));
        can = false;
    }
    const struct moved_part *refitted = place->moved + place->removed_count;
    for (size_t i = 0; i < place->refitted_count; i++)
        if (!is_any_out(&refitted[i], search->bits))
            doubt(search, part_fault(search, place, &refitted[i], FAULT_PART_IN));
    return can;
}

static void do_step(struct search *search, const struct place_in_work *place)
{
    const struct mask_layout *layout = &search->program->layout;
    for (size_t i = 0; i < layout->words; i++) {
        place->always[i] &= search->bits[i];
        place->ever[i] |= search->bits[i];
    }
    if (place->work->step->is_optional)
        take_way(search, place, WAY_NO);
    if (place->once_bit != MASK_NO_BIT && place->work->step->is_once &&
        masks_bit(search->bits, place->once_bit)) {
        (void)add_fault(search, (struct fault){.kind = FAULT_ONCE,
                                               .work = place->work,
                                               .here = place->here,
                                               .position = INDEX_NONE,
                                               .state = search->number});
        return;
    }
    if (!masks_allow(layout, &place->masks, search->bits, search->after)) {
        tell_gate(search, place);
        if (search->listener != NULL && !search->listener->is_enough(search->listener->self))
            take_way(search, place, WAY_YES);
        return;
    }
    /* Somebody who believes in what was ticked comes to no harm by a part: he sees whether it is out. */
    if (place->moved != NULL && search->listener == NULL && !parts_can_move(search, place))
        return;
    want_order(search, place, search->after, TAIL_STOPPED);
    masks_begun(layout, &place->masks, search->bits, search->begun);
    want_order(search, place, search->begun, TAIL_BEGUN);
    take_way(search, place, WAY_YES);
}

static void look_for_open(struct search *search)
{
    const struct mask_layout *layout = &search->program->layout;
    const struct procedure *procedure = search->program->procedure;
    struct fault fault = {.kind = FAULT_LEFT, .state = search->number};
    for (unsigned id = 0; id < procedure->condition_count; id++)
        for (unsigned at = 0; at < layout->shape.count[id]; at++) {
            int bit = layout->owed_bits[layout->shape.first[id] + at];
            if (bit == MASK_NO_BIT || !masks_bit(search->bits, bit))
                continue;
            fault.condition = id;
            fault.position =
                procedure->conditions[id]->index == INDEX_NONE ? INDEX_NONE : (int)at;
            (void)add_fault(search, fault);
        }
}

static void look_for_parts(struct search *search)
{
    const struct procedure *procedure = search->program->procedure;
    struct fault fault = {.kind = FAULT_PART_LEFT, .state = search->number};
    for (unsigned part = 0; part < procedure->part_count; part++) {
        bool is_one = procedure->parts[part].index == INDEX_NONE;
        for (int position = 0; position < (is_one ? 1 : 2); position++) {
            if (!masks_bit(search->bits, search->program->part_bits[part] + position))
                continue;
            fault.part = part;
            fault.position = is_one ? INDEX_NONE : position;
            (void)add_fault(search, fault);
        }
    }
}

static void go_on_from(struct search *search, struct place_in_work *place)
{
    place->is_reached = true;
    switch (place->kind) {
    case PLACE_END:
        look_for_open(search);
        look_for_parts(search);
        break;
    case PLACE_STEP:
        do_step(search, place);
        break;
    case PLACE_ASK:
        take_way(search, place, WAY_NO);
        take_way(search, place, WAY_YES);
        (void)search_way(search, place, search->bits, WAY_YES, search->after);
        want_order(search, place, search->after, TAIL_STOPPED);
        break;
    case PLACE_DECIDE:
    case PLACE_FORK:
        take_way(search, place, WAY_NO);
        take_way(search, place, WAY_YES);
        break;
    case PLACE_CHOOSE: {
        const struct choices *choices = search->program->variables[place->variable].choices;
        for (size_t i = 0; i < choices->count; i++)
            take_way(search, place, (unsigned)i);
        break;
    }
    case PLACE_NOWHERE:
    case PLACE_JUMP:
    case PLACE_AWAY:
    case PLACE_KEEP:
    case PLACE_TEST:
    case PLACE_FOUND:
    case PLACE_LEAVES:
        break;
    }
}

static bool is_enough(const struct search *search, size_t first_fault_at)
{
    return search->has_given_up || search->fault_count == PROOF_PATHS_MAX ||
           (search->fault_count > 0 &&
            (size_t)search->number > first_fault_at + STATES_AFTER_A_FAULT);
}

void search_on_from(struct search *search, int number)
{
    struct state_record *record = state_at(&search->table, number);
    search->number = number;
    search->bits = state_bits(record);
    go_on_from(search, place_at(search, record->place));
}

void search_all(struct search *search, struct program *program, bool with_orders, size_t max)
{
    *search = (struct search){.program = program, .number = STATE_NONE};
    struct arena *arena = program->arena;
    size_t words = program->layout.words;
    search->after = arena_array(arena, uint64_t, words);
    search->begun = arena_array(arena, uint64_t, words);
    search->standings = condition_state_begin(program->procedure, NULL, arena);
    search->table = state_table_begin(words, max, arena);
    if (with_orders)
        search->orders = safe_orders_begin(&program->layout, program->order_bits,
                                           program->moves, program->move_count, max, arena);
    unsigned at = program->entry;
    struct fault none = {.state = STATE_NONE};
    if (!settle(search, &at, search->after, &none))
        return;
    bool is_new;
    search->has_given_up = state_add(&search->table, at, search->after, &is_new) == STATE_NONE;
    size_t first_fault_at = 0;
    for (int number = 0; (size_t)number < search->table.count; number++) {
        search_on_from(search, number);
        if (search->fault_count == 0)
            first_fault_at = (size_t)number;
        if (is_enough(search, first_fault_at))
            break;
    }
}

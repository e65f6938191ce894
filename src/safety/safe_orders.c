#include "safe_moves.h"

#include <assert.h>
#include <string.h>

/*
 * Depth-first, those moves first that put something right, since here it matters only whether there is an
 * order.  What is found holds for every state on the way: all states before a safe one are safe,
 * and where nothing safe was reached, none of the states that were met is safe.  So each state
 * is gone through once or little more, however many questions there are.
 */

enum verdict { UNKNOWN, SAFE, UNSAFE };

enum { TRIES_PER_STATE = 25 }; /* on average, of the most states */

struct safe_orders {
    struct mask_layout layout; /* with words for the bits that matter only */
    const struct safe_move *moves;
    struct step_masks *masks; /* those that clear something owed first */
    size_t move_count;
    uint64_t *kept;      /* the bits that matter */
    uint64_t *clearable; /* what some move puts right */
    uint64_t *bits, *after;
    struct state_table table;
    unsigned question; /* counts them */
    size_t shown;
    size_t tries_left; /* of moves: what is given up takes as long whatever their number */
};

/* A record's `how` is its verdict and the number of the question that met it; its `mark` the
 * next move to try. */
static enum verdict verdict_of(const struct state_record *record)
{
    return (enum verdict)(record->how & 3U);
}

static void judge(struct safe_orders *orders, struct state_record *record, enum verdict verdict)
{
    orders->shown += verdict == SAFE && verdict_of(record) != SAFE;
    record->how = (record->how & ~3U) | verdict;
}

static bool is_met(const struct safe_orders *orders, const struct state_record *record)
{
    return record->how >> 2 == orders->question;
}

static void meet(const struct safe_orders *orders, struct state_record *record, int before)
{
    record->before = before;
    record->how = orders->question << 2 | (record->how & 3U);
    record->mark = 0;
}

static bool puts_right(const struct safe_orders *orders, const struct step_masks *masks)
{
    for (size_t i = 0; i < orders->layout.words; i++)
        if ((masks->clears[i] & orders->layout.owed[i]) != 0)
            return true;
    return false;
}

struct safe_orders *safe_orders_begin(const struct mask_layout *layout, unsigned bit_count,
                                      const struct safe_move *moves, size_t move_count,
                                      size_t max, struct arena *arena)
{
    struct safe_orders *orders = arena_new(arena, struct safe_orders);
    orders->layout = *layout;
    orders->layout.words = (bit_count + 63) / 64;
    orders->moves = moves;
    orders->move_count = move_count;
    orders->kept = arena_array(arena, uint64_t, layout->words);
    orders->bits = arena_array(arena, uint64_t, layout->words);
    orders->after = arena_array(arena, uint64_t, layout->words);
    for (unsigned bit = 0; bit < bit_count; bit++)
        masks_set_bit(orders->kept, (int)bit);
    orders->masks = arena_array(arena, struct step_masks, move_count);
    size_t count = 0;
    for (int first = 1; first >= 0; first--)
        for (size_t i = move_count; i-- > 0;) { /* later steps undo earlier ones */
            struct step_masks masks = safe_move_masks(layout, &moves[i], arena);
            if (puts_right(orders, &masks) == (first != 0))
                orders->masks[count++] = masks;
        }
    assert(count == move_count);
    orders->clearable = arena_array(arena, uint64_t, layout->words);
    for (size_t move = 0; move < move_count; move++)
        for (size_t i = 0; i < orders->layout.words; i++)
            orders->clearable[i] |= orders->masks[move].clears[i];
    orders->table = state_table_begin(orders->layout.words, max, arena);
    orders->tries_left = TRIES_PER_STATE * max;
    return orders;
}

static bool nothing_owed(const struct safe_orders *orders, const uint64_t *bits)
{
    for (size_t i = 0; i < orders->layout.words; i++)
        if ((bits[i] & orders->layout.owed[i]) != 0)
            return false;
    return true;
}

/* What no move puts right stays, and nobody need try them all to find it. */
static bool some_stays(const struct safe_orders *orders, const uint64_t *bits)
{
    for (size_t i = 0; i < orders->layout.words; i++)
        if ((bits[i] & orders->layout.owed[i] & ~orders->clearable[i]) != 0)
            return true;
    return false;
}

static void judge_way_back(struct safe_orders *orders, int from)
{
    for (int at = from; at != STATE_NONE; at = state_at(&orders->table, at)->before)
        judge(orders, state_at(&orders->table, at), SAFE);
}

/* Everything met by this question: nothing safe can be reached from it. */
static void judge_met(struct safe_orders *orders, size_t first_new)
{
    for (size_t i = first_new; i < orders->table.count; i++)
        if (is_met(orders, state_at(&orders->table, (int)i)))
            judge(orders, state_at(&orders->table, (int)i), UNSAFE);
}

/* Goes on from the record `at` by its next move.  The record to go on from; or STATE_NONE with an answer. */
static int go_on(struct safe_orders *orders, int at, size_t *first_new, enum safe_order *answer)
{
    struct state_record *record = state_at(&orders->table, at);
    while (record->mark < orders->move_count) {
        if (orders->tries_left == 0) {
            *answer = ORDER_NOT_KNOWN;
            return STATE_NONE;
        }
        orders->tries_left--;
        const struct step_masks *masks = &orders->masks[record->mark++];
        if (!masks_allow(&orders->layout, masks, state_bits(record), orders->after) ||
            some_stays(orders, orders->after))
            continue;
        if (nothing_owed(orders, orders->after)) {
            judge_way_back(orders, at);
            *answer = ORDER_EXISTS;
            return STATE_NONE;
        }
        bool is_new;
        int next = state_add(&orders->table, 0, orders->after, &is_new);
        if (next == STATE_NONE) {
            *answer = ORDER_NOT_KNOWN;
            return STATE_NONE;
        }
        struct state_record *led_to = state_at(&orders->table, next);
        if (verdict_of(led_to) == SAFE) {
            judge_way_back(orders, at);
            *answer = ORDER_EXISTS;
            return STATE_NONE;
        }
        if (verdict_of(led_to) == UNSAFE || (!is_new && is_met(orders, led_to)))
            continue;
        if ((size_t)next < *first_new)
            *first_new = (size_t)next;
        meet(orders, led_to, at);
        return next;
    }
    if (record->before == STATE_NONE)
        *answer = ORDER_NONE;
    return record->before;
}

enum safe_order safe_order_from(struct safe_orders *orders, const uint64_t *bits)
{
    for (size_t i = 0; i < orders->layout.words; i++)
        orders->bits[i] = bits[i] & orders->kept[i] & ~orders->layout.lapsing[i];
    if (nothing_owed(orders, orders->bits))
        return ORDER_EXISTS;
    if (some_stays(orders, orders->bits))
        return ORDER_NONE;
    bool is_new;
    int root = state_add(&orders->table, 0, orders->bits, &is_new);
    if (root == STATE_NONE)
        return ORDER_NOT_KNOWN;
    enum verdict known = verdict_of(state_at(&orders->table, root));
    if (known != UNKNOWN)
        return known == SAFE ? ORDER_EXISTS : ORDER_NONE;
    orders->question++;
    meet(orders, state_at(&orders->table, root), STATE_NONE);
    size_t first_new = (size_t)root;
    enum safe_order answer = ORDER_NOT_KNOWN;
    for (int at = root; at != STATE_NONE;)
        at = go_on(orders, at, &first_new, &answer);
    if (answer == ORDER_NONE)
        judge_met(orders, first_new);
    return answer;
}

size_t safe_orders_shown(const struct safe_orders *orders)
{
    return orders->shown;
}

/* --- why there is none ------------------------------------------------------------------------ */

/* Takes from `always` what is not owed in some state that can be reached. */
static void look_everywhere(const struct safe_orders *orders, uint64_t *always)
{
    struct state_table table =
        state_table_begin(orders->layout.words, MAKESAFE_STATES_MAX, orders->table.arena);
    bool is_new;
    (void)state_add(&table, 0, orders->bits, &is_new);
    for (int number = 0; (size_t)number < table.count; number++) {
        const uint64_t *bits = state_bits(state_at(&table, number));
        for (size_t i = 0; i < orders->layout.words; i++)
            always[i] &= bits[i];
        for (size_t move = 0; move < orders->move_count; move++)
            if (masks_allow(&orders->layout, &orders->masks[move], bits, orders->after))
                (void)state_add(&table, 0, orders->after, &is_new);
    }
}

struct open_condition safe_order_stays(struct safe_orders *orders, const uint64_t *bits)
{
    struct arena_mark mark = arena_mark(orders->table.arena);
    const struct mask_layout *layout = &orders->layout;
    uint64_t *always = arena_array(orders->table.arena, uint64_t, layout->words);
    for (size_t i = 0; i < layout->words; i++) {
        orders->bits[i] = bits[i] & orders->kept[i] & ~layout->lapsing[i];
        always[i] = layout->owed[i];
    }
    if (some_stays(orders, orders->bits))
        for (size_t i = 0; i < layout->words; i++)
            always[i] &= ~orders->clearable[i];
    else
        look_everywhere(orders, always);
    struct open_condition first_open = {0};
    bool has_open = false;
    const struct procedure *procedure = layout->shape.procedure;
    for (unsigned id = 0; id < procedure->condition_count; id++)
        for (unsigned at = 0; at < layout->shape.count[id]; at++) {
            int bit = layout->owed_bits[layout->shape.first[id] + at];
            if (bit == MASK_NO_BIT || !masks_bit(orders->bits, bit))
                continue;
            int position =
                procedure->conditions[id]->index == INDEX_NONE ? INDEX_NONE : (int)at;
            struct open_condition open = {id, position, false};
            if (masks_bit(always, bit)) {
                arena_rewind(orders->table.arena, mark);
                return open;
            }
            if (!has_open)
                first_open = open;
            has_open = true;
        }
    arena_rewind(orders->table.arena, mark);
    return first_open;
}

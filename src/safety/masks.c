#include "safety/masks.h"

#include "gate_finder.h"

#include <assert.h>
#include <string.h>

enum { WORD = 64 };

bool masks_bit(const uint64_t *bits, int bit)
{
    assert(bit >= 0);
    return (bits[bit / WORD] >> (bit % WORD) & 1U) != 0;
}

void masks_set_bit(uint64_t *bits, int bit)
{
    if (bit != MASK_NO_BIT)
        bits[bit / WORD] |= (uint64_t)1 << (bit % WORD);
}

void masks_clear_bit(uint64_t *bits, int bit)
{
    if (bit != MASK_NO_BIT)
        bits[bit / WORD] &= ~((uint64_t)1 << (bit % WORD));
}

static const struct condition *named(const struct mask_layout *layout, unsigned condition)
{
    return layout->shape.procedure->conditions[condition];
}

/* --- the layout ------------------------------------------------------------------------- */

static struct mask_layout layout_of(struct condition_state shape, const bool *is_kept,
                                    struct arena *arena)
{
    struct mask_layout layout = {.shape = shape};
    layout.shape.standings = NULL;
    const struct procedure *procedure = shape.procedure;
    int *true_bits = arena_array(arena, int, shape.standing_count);
    int *owed_bits = arena_array(arena, int, shape.standing_count);
    for (unsigned id = 0; id < procedure->condition_count; id++) {
        bool is_left_out = is_kept != NULL && !is_kept[id];
        bool is_owed = procedure->conditions[id]->restore.length > 0;
        for (unsigned at = 0; at < shape.count[id]; at++) {
            unsigned standing = shape.first[id] + at;
            true_bits[standing] = is_left_out ? MASK_NO_BIT : (int)layout.bit_count++;
            owed_bits[standing] =
                is_left_out || !is_owed ? MASK_NO_BIT : (int)layout.bit_count++;
        }
    }
    layout.true_bits = true_bits;
    layout.owed_bits = owed_bits;
    return layout;
}

struct mask_layout masks_begin(const struct procedure *procedure, const size_t *position_counts,
                               const bool *is_kept, struct arena *arena)
{
    return layout_of(condition_state_begin(procedure, position_counts, arena), is_kept, arena);
}

struct mask_layout masks_like(const struct condition_state *state, struct arena *arena)
{
    return layout_of(*state, NULL, arena);
}

static uint64_t *no_bits(const struct mask_layout *layout, struct arena *arena)
{
    return arena_array(arena, uint64_t, layout->words);
}

static bool is_kept(const struct mask_layout *layout, unsigned condition)
{
    return layout->shape.count[condition] > 0 &&
           layout->true_bits[layout->shape.first[condition]] != MASK_NO_BIT;
}

static void compile_requires(const struct mask_layout *layout, unsigned id, unsigned at,
                             unsigned required, struct requires_mask *mask, struct arena *arena)
{
    const struct condition *condition = named(layout, id);
    uint64_t *is_so = no_bits(layout, arena);
    uint64_t *wanted = no_bits(layout, arena);
    unsigned standing = layout->shape.first[id] + at;
    masks_set_bit(is_so, layout->true_bits[standing]);
    masks_set_bit(is_so, layout->owed_bits[standing]);
    assert(layout->shape.count[required] == 0 || is_kept(layout, required));
    bool is_by_position =
        condition->index != INDEX_NONE && named(layout, required)->index == condition->index;
    for (unsigned other = 0; other < layout->shape.count[required]; other++)
        if (!is_by_position || other == at)
            masks_set_bit(wanted, layout->true_bits[layout->shape.first[required] + other]);
    *mask = (struct requires_mask){is_so, wanted, id, required,
                                   standing_position(&layout->shape, id, at)};
}

static void compile_all_requires(struct mask_layout *layout, struct arena *arena)
{
    const struct procedure *procedure = layout->shape.procedure;
    size_t most = 0;
    for (unsigned id = 0; id < procedure->condition_count; id++)
        if (is_kept(layout, id))
            most += layout->shape.count[id] * procedure->conditions[id]->requires_count;
    struct requires_mask *masks = arena_array(arena, struct requires_mask, most);
    for (unsigned id = 0; id < procedure->condition_count; id++)
        for (unsigned at = 0; is_kept(layout, id) && at < layout->shape.count[id]; at++)
            for (size_t i = 0; i < procedure->conditions[id]->requires_count; i++)
                compile_requires(layout, id, at, procedure->conditions[id]->requires[i],
                                 &masks[layout->requires_count++], arena);
    layout->requires = masks;
}

void masks_close(struct mask_layout *layout, struct arena *arena)
{
    layout->words = (layout->bit_count + WORD - 1) / WORD;
    layout->owed = no_bits(layout, arena);
    layout->lapsing = no_bits(layout, arena);
    const struct procedure *procedure = layout->shape.procedure;
    for (unsigned id = 0; id < procedure->condition_count; id++)
        for (unsigned at = 0; at < layout->shape.count[id]; at++) {
            unsigned standing = layout->shape.first[id] + at;
            masks_set_bit(layout->owed, layout->owed_bits[standing]);
            if (procedure->conditions[id]->lapses)
                masks_set_bit(layout->lapsing, layout->true_bits[standing]);
        }
    compile_all_requires(layout, arena);
}

/* --- steps ----------------------------------------------------------------------------------- */

struct step_compiler {
    const struct mask_layout *layout;
    const int *here;
    struct arena *arena;
    struct step_masks masks;
    struct void_mask *voids;
};

static struct step_masks no_masks(const struct mask_layout *layout, struct arena *arena)
{
    return (struct step_masks){
        .needs = no_bits(layout, arena),
        .forbids = no_bits(layout, arena),
        .clears = no_bits(layout, arena),
        .sets = no_bits(layout, arena),
        .begun_clears = no_bits(layout, arena),
        .begun_sets = no_bits(layout, arena),
    };
}

static void add_bits(const struct step_compiler *compiler, struct condition_use use,
                     uint64_t *true_into, uint64_t *owed_into)
{
    const struct mask_layout *layout = compiler->layout;
    struct standing_span span = standings_covered(&layout->shape, use, compiler->here);
    for (unsigned at = span.from; at < span.to; at++) {
        unsigned standing = layout->shape.first[use.condition] + at;
        if (true_into != NULL)
            masks_set_bit(true_into, layout->true_bits[standing]);
        if (owed_into != NULL)
            masks_set_bit(owed_into, layout->owed_bits[standing]);
    }
}

/* Becoming true at `at` makes others untrue, at the same position if they have the same index. */
static void add_void(struct step_compiler *compiler, unsigned id, unsigned at)
{
    const struct mask_layout *layout = compiler->layout;
    const struct condition *condition = named(layout, id);
    int bit = layout->true_bits[layout->shape.first[id] + at];
    if (condition->voids_count == 0 || bit == MASK_NO_BIT)
        return;
    uint64_t *voided = no_bits(layout, compiler->arena);
    for (size_t i = 0; i < condition->voids_count; i++) {
        unsigned other = condition->voids[i];
        bool is_same =
            condition->index != INDEX_NONE && named(layout, other)->index == condition->index;
        for (unsigned position = 0; position < layout->shape.count[other]; position++) {
            if (is_same && position != at)
                continue;
            int untrue = layout->true_bits[layout->shape.first[other] + position];
            masks_set_bit(voided, untrue);
            if (named(layout, other)->has_question)
                masks_set_bit(compiler->masks.begun_clears, untrue);
        }
    }
    compiler->voids[compiler->masks.void_count++] = (struct void_mask){bit, voided};
}

static void add_sets(struct step_compiler *compiler, struct condition_use use)
{
    struct step_masks *masks = &compiler->masks;
    const struct condition *condition = named(compiler->layout, use.condition);
    add_bits(compiler, use, masks->sets, masks->sets);
    bool is_shown = condition->has_question;
    bool is_owed = condition->restore.length > 0;
    if (is_owed)
        add_bits(compiler, use, is_shown ? masks->begun_clears : masks->begun_sets,
                 masks->begun_sets);
    struct standing_span span =
        standings_covered(&compiler->layout->shape, use, compiler->here);
    for (unsigned at = span.from; at < span.to; at++)
        add_void(compiler, use.condition, at);
}

static size_t standings_set(const struct mask_layout *layout, const struct step *step)
{
    size_t count = 0;
    for (size_t i = 0; i < step->sets_count; i++)
        count += layout->shape.count[step->sets[i].condition];
    return count;
}

struct step_masks masks_of(const struct mask_layout *layout, const struct work *work,
                           const int *here, struct arena *arena)
{
    const struct step *step = work->step;
    struct step_compiler compiler = {
        .layout = layout, .here = here, .arena = arena, .masks = no_masks(layout, arena)};
    struct step_masks *masks = &compiler.masks;
    masks->work = work;
    masks->here = here;
    compiler.voids = arena_array(arena, struct void_mask, standings_set(layout, step));
    masks->voids = compiler.voids;
    for (size_t i = 0; i < step->needs_count; i++) {
        unsigned needed = step->needs[i].condition;
        if (condition_is_asked_at_gates(named(layout, needed)))
            continue;
        assert(layout->shape.count[needed] == 0 || is_kept(layout, needed));
        add_bits(&compiler, step->needs[i], masks->needs, NULL);
    }
    for (size_t i = 0; i < step->forbids_count; i++)
        add_bits(&compiler, step->forbids[i], masks->forbids, masks->forbids);
    for (size_t i = 0; i < step->clears_count; i++) {
        add_bits(&compiler, step->clears[i], masks->clears, masks->clears);
        if (named(layout, step->clears[i].condition)->has_question)
            add_bits(&compiler, step->clears[i], masks->begun_clears, NULL);
    }
    for (size_t i = 0; i < step->sets_count; i++)
        add_sets(&compiler, step->sets[i]);
    return *masks;
}

struct step_masks masks_of_answer(const struct mask_layout *layout, unsigned condition,
                                  int position, struct arena *arena)
{
    struct step_compiler compiler = {
        .layout = layout, .arena = arena, .masks = no_masks(layout, arena)};
    compiler.voids = arena_array(arena, struct void_mask, layout->shape.count[condition]);
    compiler.masks.voids = compiler.voids;
    unsigned at = position < 0 ? 0 : (unsigned)position;
    unsigned standing = layout->shape.first[condition] + at;
    masks_set_bit(compiler.masks.sets, layout->true_bits[standing]);
    if (named(layout, condition)->asked_at_start)
        masks_set_bit(compiler.masks.sets, layout->owed_bits[standing]);
    add_void(&compiler, condition, at);
    return compiler.masks;
}

/* --- on states ------------------------------------------------------------------------------------ */

void masks_done(const struct mask_layout *layout, const struct step_masks *masks,
                const uint64_t *bits, uint64_t *after)
{
    for (size_t i = 0; i < layout->words; i++)
        after[i] = (bits[i] & ~masks->clears[i]) | masks->sets[i];
    for (size_t k = 0; k < masks->void_count; k++) {
        int bit = masks->voids[k].bit;
        if (masks_bit(bits, bit) && !masks_bit(masks->clears, bit))
            continue;
        for (size_t i = 0; i < layout->words; i++)
            after[i] &= ~masks->voids[k].voided[i];
    }
}

const struct requires_mask *masks_broken(const struct mask_layout *layout, const uint64_t *bits)
{
    for (size_t k = 0; k < layout->requires_count; k++) {
        const struct requires_mask *mask = &layout->requires[k];
        bool is_so = false;
        bool is_met = true;
        for (size_t i = 0; i < layout->words; i++) {
            is_so = is_so || (bits[i] & mask->is_so[i]) != 0;
            is_met = is_met && (bits[i] & mask->wanted[i]) == mask->wanted[i];
        }
        if (is_so && !is_met)
            return mask;
    }
    return NULL;
}

bool masks_allow(const struct mask_layout *layout, const struct step_masks *masks,
                 const uint64_t *bits, uint64_t *after)
{
    for (size_t i = 0; i < layout->words; i++)
        if ((bits[i] & masks->needs[i]) != masks->needs[i] ||
            (bits[i] & masks->forbids[i]) != 0)
            return false;
    masks_done(layout, masks, bits, after);
    return masks_broken(layout, after) == NULL;
}

void masks_begun(const struct mask_layout *layout, const struct step_masks *masks,
                 const uint64_t *bits, uint64_t *after)
{
    for (size_t i = 0; i < layout->words; i++)
        after[i] = (bits[i] & ~masks->begun_clears[i]) | masks->begun_sets[i];
}

void masks_unpack(const struct mask_layout *layout, const uint64_t *bits,
                  struct condition_state *state)
{
    for (size_t i = 0; i < layout->shape.standing_count; i++) {
        int is_true = layout->true_bits[i];
        int is_owed = layout->owed_bits[i];
        state->standings[i] =
            (struct standing){.is_true = is_true != MASK_NO_BIT && masks_bit(bits, is_true),
                              .is_owed = is_owed != MASK_NO_BIT && masks_bit(bits, is_owed)};
    }
}

void masks_pack(const struct mask_layout *layout, const struct condition_state *state,
                uint64_t *bits)
{
    memset(bits, 0, layout->words * sizeof *bits);
    for (size_t i = 0; i < layout->shape.standing_count; i++) {
        if (state->standings[i].is_true)
            masks_set_bit(bits, layout->true_bits[i]);
        if (state->standings[i].is_owed)
            masks_set_bit(bits, layout->owed_bits[i]);
    }
}

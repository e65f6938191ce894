/* The masks mean what conditions.c means: held against each other on every step of every procedure that
 * ships and of a small one with positions, from many random states. */
#include "garage.h"
#include "safety/masks.h"
#include "shipped.h"

static uint64_t next_random(uint64_t *seed)
{
    *seed ^= *seed << 13;
    *seed ^= *seed >> 7;
    *seed ^= *seed << 17;
    return *seed;
}

/* Any standing true or not, owed or not where it has `restore`; seldom everything at once. */
static void take_any_state(struct condition_state *state, uint64_t *seed)
{
    unsigned rarity = (unsigned)(next_random(seed) % 4) + 1;
    for (unsigned id = 0; id < state->procedure->condition_count; id++)
        for (unsigned at = 0; at < state->count[id]; at++) {
            bool is_true = next_random(seed) % 4 < rarity;
            bool is_owed = state->procedure->conditions[id]->restore.length > 0 &&
                           (is_true || next_random(seed) % 8 == 0);
            state->standings[state->first[id] + at] =
                (struct standing){.is_true = is_true, .is_owed = is_owed};
        }
}

struct compared {
    size_t looks, open;
    struct condition_state state;
    struct mask_layout layout;
    uint64_t *bits, *after, *wanted;
    struct arena *arena;
};

static void compare_begun(struct compared *compared, const struct step_masks *masks)
{
    struct condition_state begun = condition_state_copy(&compared->state, compared->arena);
    condition_step_entered(&begun, masks->work->step, masks->here);
    masks_begun(&compared->layout, masks, compared->bits, compared->after);
    for (unsigned id = 0; id < begun.procedure->condition_count; id++)
        for (unsigned at = 0; at < begun.count[id]; at++) {
            const struct condition *condition = begun.procedure->conditions[id];
            const struct standing *before = &compared->state.standings[begun.first[id] + at];
            const struct standing *is = &begun.standings[begun.first[id] + at];
            int true_bit = compared->layout.true_bits[begun.first[id] + at];
            int owed_bit = compared->layout.owed_bits[begun.first[id] + at];
            bool is_owed = before->is_owed || (is->is_perhaps && condition->restore.length > 0);
            if (owed_bit != MASK_NO_BIT)
                assert_int_equal(masks_bit(compared->after, owed_bit), is_owed);
            if (!is->is_perhaps || condition->has_question)
                assert_int_equal(masks_bit(compared->after, true_bit),
                                 before->is_true && !is->is_perhaps);
        }
}

static void compare(struct compared *compared, const struct step_masks *masks)
{
    struct arena_mark mark = arena_mark(compared->arena);
    const struct step *step = masks->work->step;
    masks_pack(&compared->layout, &compared->state, compared->bits);
    struct gate gate = gate_look(&compared->state, step, masks->here, 0, compared->arena);
    bool is_open = masks_allow(&compared->layout, masks, compared->bits, compared->after);
    assert_int_equal(is_open, gate.verdict != GATE_SHUT);
    compared->looks++;
    compared->open += is_open;
    compare_begun(compared, masks);

    struct condition_state done = condition_state_copy(&compared->state, compared->arena);
    bool *as_expected = arena_array(compared->arena, bool, step->sets_count);
    for (size_t i = 0; i < step->sets_count; i++)
        as_expected[i] = true;
    condition_step_done(&done, step, masks->here, as_expected, 0);
    masks_done(&compared->layout, masks, compared->bits, compared->after);
    masks_pack(&compared->layout, &done, compared->wanted);
    assert_memory_equal(compared->after, compared->wanted,
                        compared->layout.words * sizeof(uint64_t));

    struct gate_item broken;
    const struct requires_mask *found = masks_broken(&compared->layout, compared->bits);
    assert_int_equal(found != NULL, condition_broken(&compared->state, &broken));
    if (found != NULL) {
        assert_int_equal(found->condition, broken.condition);
        assert_int_equal(found->required, broken.required);
        assert_int_equal(found->position, broken.position);
    }
    arena_rewind(compared->arena, mark);
}

static struct compared begin(const struct procedure *procedure, const size_t *counts,
                             struct arena *arena)
{
    struct compared compared = {.arena = arena};
    compared.state = condition_state_begin(procedure, counts, arena);
    compared.layout = masks_like(&compared.state, arena);
    masks_close(&compared.layout, arena);
    compared.bits = arena_array(arena, uint64_t, compared.layout.words);
    compared.after = arena_array(arena, uint64_t, compared.layout.words);
    compared.wanted = arena_array(arena, uint64_t, compared.layout.words);
    return compared;
}

/* Every index of a loop round the step at a random position. */
static const int *any_position(const struct procedure *procedure, const struct work *work,
                               size_t positions, uint64_t *seed, struct arena *arena)
{
    int *here = arena_array(arena, int, procedure->index_count);
    for (size_t i = 0; i < procedure->index_count; i++)
        here[i] = INDEX_NONE;
    for (; work != NULL; work = work->parent)
        if (work_is_each(work))
            here[work->loop.index] = (int)(next_random(seed) % positions);
    return here;
}

static void compare_steps(struct compared *compared, size_t positions, size_t states,
                          uint64_t *seed)
{
    const struct procedure *procedure = compared->state.procedure;
    for (size_t i = 0; i < procedure->work_count; i++) {
        const struct work *work = procedure->works[i];
        if (work->step == NULL)
            continue;
        const int *here = any_position(procedure, work, positions, seed, compared->arena);
        struct step_masks masks = masks_of(&compared->layout, work, here, compared->arena);
        for (size_t state = 0; state < states; state++) {
            take_any_state(&compared->state, seed);
            compare(compared, &masks);
        }
    }
}

static void every_step_that_ships_means_the_same(void **test)
{
    (void)test;
    struct shipped shipped;
    shipped_open(&shipped);
    uint64_t seed = 20260331;
    size_t looks = 0, open = 0;
    for (size_t i = 0; i < shipped.count; i++) {
        struct compared compared = begin(shipped.procedures[i], NULL, &shipped.scratch);
        compare_steps(&compared, 2, 40, &seed);
        looks += compared.looks;
        open += compared.open;
    }
    shipped_close(&shipped);
    assert_true(looks > 5000);
    assert_true(open > looks / 50 && open < looks - looks / 50);
}

static const char library[] =
    "conditions:\n"
    "  base: {}\n"
    "  shown: {ask: Is it?, expect: \"yes it is\", otherwise: [not so]}\n"
    "  near: {ask: Who?, expect: nobody, otherwise: [someone], "
    "lapses_after: 0 min}\n"
    "  open: {each: cylinder, restore: Close it.}\n"
    "  up: {requires: [base, shown], restore: Lower it.}\n"
    "  pinned: {each: cylinder, requires: [open], restore: Unpin it.}\n"
    "  shut: {each: cylinder, voids: [open, shown]}\n"
    "  gone: {voids: [base, open]}\n";
static const char steps[] =
    "  - {step: a, do: Do it., sets: [base, shown, gone]}\n"
    "  - {step: b, do: Do it., needs: [base, near], sets: [up], clears: [shown]}\n"
    "  - {step: c, each: cylinder, do: Do it., needs: [\"open[cylinder]\"], sets: [pinned]}\n"
    "  - {step: d, each: cylinder, do: Do it., forbids: [up, pinned], sets: [open]}\n"
    "  - {step: e, each: cylinder, do: Do it., sets: [shut], clears: [pinned]}\n"
    "  - {step: f, do: Do it., needs: [open], sets: [shut, open], clears: [open]}\n"
    "  - {step: g, do: Do it., clears: [up, base, open, pinned]}\n"
    "  - {step: h, do: Do it., sets: [gone, base]}\n"
    "  - {step: i, do: Do it., forbids: [gone]}\n";

static void any_number_of_positions_means_the_same(void **test)
{
    (void)test;
    uint64_t seed = 7;
    for (size_t positions = 1; positions <= 40; positions += 13) {
        struct garage garage;
        garage_open(&garage, library, steps, positions);
        size_t counts[] = {positions, positions, positions, positions};
        struct compared compared = begin(garage.procedure, counts, &garage.arena);
        compare_steps(&compared, positions, 300, &seed);
        assert_true(compared.open > 0 && compared.open < compared.looks);
        garage_close(&garage);
    }
}

static void a_state_survives_packing(void **test)
{
    (void)test;
    uint64_t seed = 11;
    struct garage garage;
    garage_open(&garage, library, steps, 3);
    size_t counts[] = {3, 3, 3, 3};
    struct compared compared = begin(garage.procedure, counts, &garage.arena);
    for (size_t i = 0; i < 100; i++) {
        take_any_state(&compared.state, &seed);
        struct condition_state back = condition_state_copy(&compared.state, &garage.arena);
        masks_pack(&compared.layout, &compared.state, compared.bits);
        masks_unpack(&compared.layout, compared.bits, &back);
        assert_memory_equal(back.standings, compared.state.standings,
                            back.standing_count * sizeof *back.standings);
    }
    garage_close(&garage);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(every_step_that_ships_means_the_same),
        cmocka_unit_test(any_number_of_positions_means_the_same),
        cmocka_unit_test(a_state_survives_packing),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}

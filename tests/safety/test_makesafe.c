#include "garage.h"

static const char library[] = "conditions:\n"
                              "  chocked:\n"
                              "    ask: What did it do?\n"
                              "    expect: stayed\n"
                              "    otherwise: [moved]\n"
                              "    restore: Take the chocks away.\n"
                              "  stands:\n"
                              "    ask: Shaken hard. What did it do?\n"
                              "    expect: firm\n"
                              "    otherwise: [rocked]\n"
                              "    lapses_after: 30 min\n"
                              "    requires: [chocked]\n"
                              "    restore: Lower it.\n"
                              "  drained: {restore: Fill it.}\n"
                              "  drain_open: {restore: Close the drain.}\n"
                              "  liquid:\n"
                              "    each: cylinder\n"
                              "    restore: Turn it out.\n";

/* Filling wants the drain shut and the machine down, so the reverse of the work is no order. */
static const char steps[] =
    "  - {step: chock, do: Set chocks., sets: [chocked]}\n"
    "  - {step: lift, do: Lift it., needs: [chocked], sets: [stands]}\n"
    "  - {step: drain, needs: [stands], do: Open the drain., sets: [drain_open, drained]}\n"
    "  - {step: pour, each: cylinder, do: Pour., sets: [liquid]}\n"
    "  - {step: turn, each: cylinder, do: Turn it by hand., clears: [liquid]}\n"
    "  - {step: shut, needs: [stands], do: Close the drain., clears: [drain_open]}\n"
    "  - {step: lower, do: Lower it., forbids: [drain_open], clears: [stands]}\n"
    "  - {step: fill, once: true, forbids: [drain_open, stands], do: Fill it., "
    "clears: [drained]}\n"
    "  - {step: unchock, do: Take the chocks away., clears: [chocked]}\n";

/* Walks the moves under the gates; returns whether each was allowed and nothing is owed then. */
static bool is_an_order(struct garage *garage, const struct makesafe *found)
{
    for (size_t i = 0; i < found->move_count; i++) {
        const struct step *step = found->moves[i].step->step;
        struct gate gate =
            gate_look(&garage->state, step, found->moves[i].here, 0, &garage->arena);
        if (gate.verdict == GATE_SHUT)
            return false;
        bool *answers = arena_array(&garage->arena, bool, step->sets_count);
        for (size_t k = 0; k < step->sets_count; k++)
            answers[k] = true;
        condition_step_done(&garage->state, step, found->moves[i].here, answers, 0);
    }
    struct open_condition *open;
    return condition_open(&garage->state, &open, &garage->arena) == 0;
}

static bool moves_are(const struct makesafe *found, const char *const *names, size_t count)
{
    if (!found->is_found || found->move_count != count)
        return false;
    for (size_t i = 0; i < count; i++)
        if (!text_equal(found->moves[i].step->step->name, text_from(names[i])))
            return false;
    return true;
}

static void nothing_open_needs_no_move(void **state)
{
    (void)state;
    struct garage garage;
    garage_open(&garage, library, steps, 4);
    struct makesafe found = makesafe_find(&garage.state, NULL, NULL, 0, &garage.arena);
    assert_true(found.is_found);
    assert_int_equal(found.move_count, 0);
    assert_int_equal(found.open_count, 0);
    garage_close(&garage);
}

static void the_order_is_searched_for_and_is_the_shortest(void **state)
{
    (void)state;
    struct garage garage;
    garage_open(&garage, library, steps, 4);
    do_step(&garage, "chock", INDEX_NONE, true, 0);
    do_step(&garage, "lift", INDEX_NONE, true, 0);
    do_step(&garage, "drain", INDEX_NONE, true, 0);
    struct makesafe found = makesafe_find(&garage.state, NULL, NULL, 0, &garage.arena);
    const char *const order[] = {"shut", "lower", "fill", "unchock"};
    const char *const other[] = {"shut", "lower", "unchock", "fill"};
    assert_true(moves_are(&found, order, 4) || moves_are(&found, other, 4));
    assert_int_equal(found.open_count, 4);
    assert_true(is_an_order(&garage, &found));
    garage_close(&garage);
}

/* After half an hour the stands count as not shaken, and closing the drain needs them: setting them
 * down again comes first. */
static void what_lapsed_counts_as_denied(void **state)
{
    (void)state;
    struct garage garage;
    garage_open(&garage, library, steps, 4);
    do_step(&garage, "chock", INDEX_NONE, true, 0);
    do_step(&garage, "lift", INDEX_NONE, true, 0);
    do_step(&garage, "drain", INDEX_NONE, true, 0);
    struct makesafe found = makesafe_find(&garage.state, NULL, NULL, 3600000, &garage.arena);
    assert_true(found.is_found);
    assert_int_equal(found.move_count, 5);
    assert_true(text_equal(found.moves[0].step->step->name, TEXT("lift")));
    assert_true(text_equal(found.moves[1].step->step->name, TEXT("shut")));
    garage_close(&garage);
}

/* The only way to shut the tap opens the lid: the lid, of which nothing was open, is shut after it. */
static void what_the_way_itself_opens_is_shut_again(void **state)
{
    (void)state;
    struct garage garage;
    garage_open(&garage,
                "conditions:\n"
                "  tap_open: {restore: Shut the tap.}\n"
                "  lid_open: {restore: Shut the lid.}\n"
                "activities: {}\n",
                "  - {step: open, do: Open the tap., sets: [tap_open]}\n"
                "  - {step: shut, do: Shut the tap from within., sets: [lid_open], clears: "
                "[tap_open]}\n"
                "  - {step: lid, do: Shut the lid., clears: [lid_open]}\n",
                1);
    do_step(&garage, "open", INDEX_NONE, true, 0);
    struct makesafe found = makesafe_find(&garage.state, NULL, NULL, 0, &garage.arena);
    const char *const order[] = {"shut", "lid"};
    assert_true(moves_are(&found, order, 2));
    garage_close(&garage);
}

static void every_position_is_put_right_on_its_own(void **state)
{
    (void)state;
    struct garage garage;
    garage_open(&garage, library, steps, 6);
    for (int cylinder = 0; cylinder < 6; cylinder += 2)
        do_step(&garage, "pour", cylinder, true, 0);
    struct makesafe found = makesafe_find(&garage.state, NULL, NULL, 0, &garage.arena);
    assert_int_equal(found.open_count, 3);
    assert_int_equal(found.move_count, 3);
    assert_true(is_an_order(&garage, &found));
    garage_close(&garage);
}

/* All three stand alike; only the one at the goal opens its gate. */
static void the_way_to_a_gate_is_at_the_position_of_its_goal(void **state)
{
    (void)state;
    struct garage garage;
    garage_open(&garage, "conditions:\n  dry: {each: cylinder}\nactivities: {}\n",
                "  - {step: wipe, each: cylinder, do: Wipe it., sets: [dry]}\n"
                "  - {step: glue, each: cylinder, do: Glue it., needs: [\"dry[cylinder]\"]}\n",
                3);
    for (int cylinder = 0; cylinder < 3; cylinder++) {
        const int here[] = {cylinder};
        const struct makesafe_move goal = {
            procedure_find_step(garage.state.procedure, TEXT("glue")), here};
        struct makesafe found = makesafe_find_way(&garage.state, &goal, SET_ANEW_AS_IT_IS, NULL,
                                                  NULL, &garage.arena);
        assert_int_equal(found.move_count, 1);
        assert_int_equal(found.moves[0].here[0], cylinder);
    }
    garage_close(&garage);
}

/* Twenty cylinders are 2^20 subsets; they stand alike, so it is twenty moves. */
static void many_positions_that_stand_alike_are_no_burden(void **state)
{
    (void)state;
    struct garage garage;
    garage_open(&garage, library, steps, 20);
    do_step(&garage, "chock", INDEX_NONE, true, 0);
    do_step(&garage, "lift", INDEX_NONE, true, 0);
    do_step(&garage, "drain", INDEX_NONE, true, 0);
    for (int cylinder = 0; cylinder < 20; cylinder++)
        do_step(&garage, "pour", cylinder, true, 0);
    struct makesafe found = makesafe_find(&garage.state, NULL, NULL, 0, &garage.arena);
    assert_true(found.is_found);
    assert_int_equal(found.move_count, 24);
    assert_true(is_an_order(&garage, &found));
    garage_close(&garage);
}

static bool fill_is_done(void *self, const struct work *step, const int *here)
{
    (void)self;
    (void)here;
    return !text_equal(step->step->name, TEXT("fill"));
}

static void a_step_that_may_not_be_done_again_is_no_move(void **state)
{
    (void)state;
    struct garage garage;
    garage_open(&garage, library, steps, 4);
    do_step(&garage, "chock", INDEX_NONE, true, 0);
    do_step(&garage, "lift", INDEX_NONE, true, 0);
    do_step(&garage, "drain", INDEX_NONE, true, 0);
    struct makesafe found = makesafe_find(&garage.state, fill_is_done, NULL, 0, &garage.arena);
    assert_false(found.is_found);
    assert_false(found.is_bounded);
    assert_int_equal(found.open_count, 4); /* the list stands all the same */
    garage_close(&garage);
}

static void a_step_begun_is_on_the_list(void **state)
{
    (void)state;
    struct garage garage;
    garage_open(&garage, library, steps, 4);
    condition_step_entered(&garage.state, step_of(&garage, "pour"), at(&garage, 3));
    struct makesafe found = makesafe_find(&garage.state, NULL, NULL, 0, &garage.arena);
    assert_int_equal(found.open_count, 1);
    assert_true(found.open[0].is_perhaps);
    assert_int_equal(found.open[0].position, 3);
    assert_int_equal(found.move_count, 1);
    assert_true(text_equal(found.moves[0].step->step->name, TEXT("turn")));
    assert_true(is_an_order(&garage, &found));
    garage_close(&garage);
}

/* From every state that random steps lead to, whatever was denied, an order that is found is one,
 * and where all moves are allowed to be repeated one is found. */
static void every_order_found_is_one(void **state)
{
    (void)state;
    static const char *const names[] = {"chock", "lift",  "drain", "pour",   "turn",
                                        "shut",  "lower", "fill",  "unchock"};
    unsigned long long random = 88172645463325252ULL;
    for (int walk = 0; walk < 300; walk++) {
        struct garage garage;
        garage_open(&garage, library, steps, 3);
        for (int i = 0; i < 12; i++) {
            random ^= random << 13;
            random ^= random >> 7;
            random ^= random << 17;
            const char *name = names[random % 9];
            int position = (int)(random / 16 % 3);
            if (gate_of(&garage, name, position, 0) == GATE_SHUT)
                continue;
            do_step(&garage, name, position, random / 64 % 4 != 0, 0);
            struct makesafe found = makesafe_find(&garage.state, NULL, NULL, 0, &garage.arena);
            assert_true(found.is_found);
            struct condition_state kept = garage.state;
            garage.state = condition_state_copy(&kept, &garage.arena);
            assert_true(is_an_order(&garage, &found));
            garage.state = kept;
        }
        garage_close(&garage);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(nothing_open_needs_no_move),
        cmocka_unit_test(the_order_is_searched_for_and_is_the_shortest),
        cmocka_unit_test(what_lapsed_counts_as_denied),
        cmocka_unit_test(what_the_way_itself_opens_is_shut_again),
        cmocka_unit_test(the_way_to_a_gate_is_at_the_position_of_its_goal),
        cmocka_unit_test(every_position_is_put_right_on_its_own),
        cmocka_unit_test(many_positions_that_stand_alike_are_no_burden),
        cmocka_unit_test(a_step_that_may_not_be_done_again_is_no_move),
        cmocka_unit_test(a_step_begun_is_on_the_list),
        cmocka_unit_test(every_order_found_is_one),
    };
    return cmocka_run_group_tests_name("safety/makesafe", tests, NULL, NULL);
}

#include "garage.h"

#include <stdio.h>

static const char library[] =
    "conditions:\n"
    "  chocked:\n"
    "    ask: What did it do?\n"
    "    expect: stayed\n"
    "    otherwise: [moved]\n"
    "    restore: Take the chocks away.\n"
    "  brake:\n"
    "    ask: What does the lamp show?\n"
    "    expect: applied\n"
    "    otherwise: [released]\n"
    "  stands:\n"
    "    ask: Shaken hard. What did it do?\n"
    "    expect: firm\n"
    "    otherwise: [rocked]\n"
    "    lapses_after: 30 min\n"
    "    requires: [chocked]\n"
    "    restore: Lower it.\n"
    "  clear:\n"
    "    ask: Who is near?\n"
    "    expect: nobody\n"
    "    otherwise: [someone]\n"
    "    lapses_after: 0 min\n"
    "  wheels_off:\n"
    "    voids: [brake]\n"
    "    restore: Put the wheels on.\n"
    "  liquid:\n"
    "    each: cylinder\n"
    "    restore: Turn it out.\n"
    "activities:\n"
    "  under: {signal: danger, hazard: It falls., harm: Crushing., needs: [chocked, stands]}\n"
    "  crank: {signal: danger, hazard: Belts., harm: Fingers., needs: [clear], forbids: "
    "[liquid]}\n";

static const char steps[] =
    "  - {step: chock, do: Set chocks., sets: [chocked]}\n"
    "  - {step: pull, do: Pull the brake., sets: [brake]}\n"
    "  - {step: lift, do: Lift it., needs: [chocked], sets: [stands]}\n"
    "  - {step: wheels, do: Take the wheels off., sets: [wheels_off]}\n"
    "  - {step: look, activity: under, do: Look.}\n"
    "  - {step: roll, needs: [brake], do: Let go of it.}\n"
    "  - {step: pour, each: cylinder, do: Pour., sets: [liquid]}\n"
    "  - {step: turn, each: cylinder, do: Turn it by hand., clears: [liquid]}\n"
    "  - {step: spin, activity: crank, do: Crank.}\n"
    "  - {step: wheels_on, do: Put the wheels on., clears: [wheels_off]}\n"
    "  - {step: lower, do: Lower it., clears: [stands]}\n"
    "  - {step: unchock, do: Take the chocks away., clears: [chocked]}\n";

static const long long minute = 60000;

static bool holds(const struct garage *garage, const char *name, int position, long long now)
{
    return condition_in_force(&garage->state, condition_of(garage, name), position, now);
}

static struct garage open_garage(void)
{
    struct garage garage;
    garage_open(&garage, library, steps, 4);
    return garage;
}

static void a_need_that_was_never_set_shuts_the_gate(void **state)
{
    (void)state;
    struct garage garage = open_garage();
    struct gate gate = gate_look(&garage.state, step_of(&garage, "look"),
                                 at(&garage, INDEX_NONE), 0, &garage.arena);
    assert_int_equal(gate.verdict, GATE_SHUT);
    assert_int_equal(gate.item_count, 2);
    assert_int_equal(gate.items[0].reason, GATE_MISSING);
    assert_int_equal(gate.items[0].condition, condition_of(&garage, "chocked"));
    assert_int_equal(gate.items[1].condition, condition_of(&garage, "stands"));
    garage_close(&garage);
}

static void a_denied_question_leaves_it_untrue_but_owed(void **state)
{
    (void)state;
    struct garage garage = open_garage();
    do_step(&garage, "chock", INDEX_NONE, false, 0);
    assert_false(holds(&garage, "chocked", INDEX_NONE, 0));
    assert_true(
        condition_may_hold(&garage.state, condition_of(&garage, "chocked"), INDEX_NONE));
    assert_int_equal(gate_of(&garage, "lift", INDEX_NONE, 0), GATE_SHUT);
    do_step(&garage, "chock", INDEX_NONE, true, 0);
    assert_int_equal(gate_of(&garage, "lift", INDEX_NONE, 0), GATE_OPEN);
    garage_close(&garage);
}

static void what_lapses_by_the_clock_is_asked_again_and_not_refused(void **state)
{
    (void)state;
    struct garage garage = open_garage();
    do_step(&garage, "chock", INDEX_NONE, true, 0);
    do_step(&garage, "lift", INDEX_NONE, true, 0);
    assert_int_equal(gate_of(&garage, "look", INDEX_NONE, 30 * minute), GATE_OPEN);
    struct gate gate = gate_look(&garage.state, step_of(&garage, "look"),
                                 at(&garage, INDEX_NONE), 30 * minute + 1, &garage.arena);
    assert_int_equal(gate.verdict, GATE_ASK);
    assert_int_equal(gate.item_count, 1);
    assert_int_equal(gate.items[0].condition, condition_of(&garage, "stands"));
    condition_answered(&garage.state, condition_of(&garage, "stands"), INDEX_NONE, true,
                       31 * minute);
    assert_int_equal(gate_of(&garage, "look", INDEX_NONE, 31 * minute), GATE_OPEN);
    garage_close(&garage);
}

static void a_stop_lapses_what_lapses_and_nothing_else(void **state)
{
    (void)state;
    struct garage garage = open_garage();
    do_step(&garage, "chock", INDEX_NONE, true, 0);
    do_step(&garage, "lift", INDEX_NONE, true, 0);
    condition_stopped(&garage.state);
    assert_true(holds(&garage, "chocked", INDEX_NONE, 0));
    assert_false(holds(&garage, "stands", INDEX_NONE, 0));
    assert_int_equal(gate_of(&garage, "look", INDEX_NONE, 0), GATE_ASK);
    condition_answered(&garage.state, condition_of(&garage, "stands"), INDEX_NONE, false, 0);
    assert_int_equal(gate_of(&garage, "look", INDEX_NONE, 0), GATE_SHUT);
    garage_close(&garage);
}

static void a_gate_question_is_put_at_every_gate(void **state)
{
    (void)state;
    struct garage garage = open_garage();
    assert_int_equal(gate_of(&garage, "spin", INDEX_NONE, 0), GATE_ASK);
    condition_answered(&garage.state, condition_of(&garage, "clear"), INDEX_NONE, true, 0);
    assert_int_equal(gate_of(&garage, "spin", INDEX_NONE, 500 * minute), GATE_OPEN);
    do_step(&garage, "spin", INDEX_NONE, true, 0);
    assert_int_equal(gate_of(&garage, "spin", INDEX_NONE, 0), GATE_ASK);
    garage_close(&garage);
}

static void becoming_true_voids_another_but_restores_nothing(void **state)
{
    (void)state;
    struct garage garage = open_garage();
    do_step(&garage, "pull", INDEX_NONE, true, 0);
    assert_int_equal(gate_of(&garage, "roll", INDEX_NONE, 0), GATE_OPEN);
    do_step(&garage, "wheels", INDEX_NONE, true, 0);
    assert_int_equal(gate_of(&garage, "roll", INDEX_NONE, 0), GATE_SHUT);
    do_step(&garage, "wheels_on", INDEX_NONE, true, 0);
    assert_int_equal(gate_of(&garage, "roll", INDEX_NONE, 0), GATE_SHUT);
    garage_close(&garage);
}

static void a_step_that_would_break_what_is_required_is_refused(void **state)
{
    (void)state;
    struct garage garage = open_garage();
    do_step(&garage, "chock", INDEX_NONE, true, 0);
    do_step(&garage, "lift", INDEX_NONE, true, 0);
    struct gate gate = gate_look(&garage.state, step_of(&garage, "unchock"),
                                 at(&garage, INDEX_NONE), 0, &garage.arena);
    assert_int_equal(gate.verdict, GATE_SHUT);
    assert_int_equal(gate.items[0].reason, GATE_BREAKS);
    assert_int_equal(gate.items[0].condition, condition_of(&garage, "stands"));
    assert_int_equal(gate.items[0].required, condition_of(&garage, "chocked"));
    do_step(&garage, "lower", INDEX_NONE, true, 0);
    assert_int_equal(gate_of(&garage, "unchock", INDEX_NONE, 0), GATE_OPEN);
    garage_close(&garage);
}

/* Losing the chocks while it stands on stands: only what mends it, or lowering, may go on. */
static void a_denial_that_breaks_what_is_required_stops_all_else(void **state)
{
    (void)state;
    struct garage garage = open_garage();
    do_step(&garage, "chock", INDEX_NONE, true, 0);
    do_step(&garage, "pull", INDEX_NONE, true, 0);
    do_step(&garage, "lift", INDEX_NONE, true, 0);
    condition_answered(&garage.state, condition_of(&garage, "chocked"), INDEX_NONE, false, 0);
    struct gate_item broken;
    assert_true(condition_broken(&garage.state, &broken));
    assert_int_equal(broken.required, condition_of(&garage, "chocked"));
    assert_int_equal(gate_of(&garage, "roll", INDEX_NONE, 0), GATE_SHUT);
    assert_int_equal(gate_of(&garage, "chock", INDEX_NONE, 0), GATE_OPEN);
    assert_int_equal(gate_of(&garage, "lower", INDEX_NONE, 0), GATE_OPEN);
    garage_close(&garage);
}

static void a_condition_of_each_position_is_forbidden_at_any_of_them(void **state)
{
    (void)state;
    struct garage garage = open_garage();
    condition_answered(&garage.state, condition_of(&garage, "clear"), INDEX_NONE, true, 0);
    do_step(&garage, "pour", 2, true, 0);
    assert_true(condition_may_hold(&garage.state, condition_of(&garage, "liquid"), 2));
    assert_false(condition_may_hold(&garage.state, condition_of(&garage, "liquid"), 1));
    struct gate gate = gate_look(&garage.state, step_of(&garage, "spin"),
                                 at(&garage, INDEX_NONE), 0, &garage.arena);
    assert_int_equal(gate.verdict, GATE_SHUT);
    assert_int_equal(gate.items[0].reason, GATE_FORBIDDEN);
    assert_int_equal(gate.items[0].position, 2);
    do_step(&garage, "turn", 1, true, 0); /* another cylinder: nothing is cleared */
    assert_int_equal(gate_of(&garage, "spin", INDEX_NONE, 0), GATE_SHUT);
    do_step(&garage, "turn", 2, true, 0);
    assert_int_not_equal(gate_of(&garage, "spin", INDEX_NONE, 0), GATE_SHUT);
    garage_close(&garage);
}

static void what_a_step_has_begun_is_perhaps_so(void **state)
{
    (void)state;
    struct garage garage = open_garage();
    condition_answered(&garage.state, condition_of(&garage, "clear"), INDEX_NONE, true, 0);
    condition_step_entered(&garage.state, step_of(&garage, "pour"), at(&garage, 0));
    assert_int_equal(gate_of(&garage, "spin", INDEX_NONE, 0), GATE_SHUT);
    struct open_condition *open;
    size_t count = condition_open(&garage.state, &open, &garage.arena);
    assert_int_equal(count, 1);
    assert_true(open[0].is_perhaps);
    assert_int_equal(open[0].position, 0);
    /* the step itself is not refused for what it has perhaps done */
    assert_int_equal(gate_of(&garage, "pour", 0, 0), GATE_OPEN);
    garage_close(&garage);
}

static void what_a_step_is_undoing_is_no_longer_relied_on_and_still_owed(void **state)
{
    (void)state;
    struct garage garage = open_garage();
    do_step(&garage, "chock", INDEX_NONE, true, 0);
    condition_step_entered(&garage.state, step_of(&garage, "unchock"), at(&garage, INDEX_NONE));
    assert_int_equal(gate_of(&garage, "lift", INDEX_NONE, 0), GATE_SHUT);
    struct open_condition *open;
    assert_int_equal(condition_open(&garage.state, &open, &garage.arena), 1);
    assert_false(open[0].is_perhaps);
    assert_int_equal(gate_of(&garage, "unchock", INDEX_NONE, 0), GATE_OPEN);
    do_step(&garage, "unchock", INDEX_NONE, true, 0);
    assert_int_equal(condition_open(&garage.state, &open, &garage.arena), 0);
    garage_close(&garage);
}

/* A wheel may be off already when its step is left half done: the brake is not relied on. */
static void what_a_step_would_void_is_doubted_while_it_goes_on(void **state)
{
    (void)state;
    struct garage garage = open_garage();
    do_step(&garage, "pull", INDEX_NONE, true, 0);
    condition_step_entered(&garage.state, step_of(&garage, "wheels"), at(&garage, INDEX_NONE));
    assert_int_equal(gate_of(&garage, "roll", INDEX_NONE, 0), GATE_SHUT);
    assert_int_equal(gate_of(&garage, "wheels", INDEX_NONE, 0), GATE_OPEN);
    do_step(&garage, "pull", INDEX_NONE, true, 0);
    assert_int_equal(gate_of(&garage, "roll", INDEX_NONE, 0), GATE_OPEN);
    garage_close(&garage);
}

static void a_step_may_set_any_number(void **state)
{
    (void)state;
    char many[8192] = "conditions:\n";
    char sets[4096] = "  - {step: all, do: Do it., sets: [";
    for (int i = 0; i < 70; i++) {
        char name[32];
        (void)snprintf(name, sizeof name, "c%d", i);
        strcat(many, "  ");
        strcat(many, name);
        strcat(many, i == 0 ? ": {voids: [c69]}\n" : ": {source: common practice}\n");
        strcat(sets, i == 0 ? "" : ", ");
        strcat(sets, name);
    }
    strcat(sets, "]}\n  - {step: use, needs: [c68], do: Use it.}\n");
    struct garage garage;
    garage_open(&garage, many, sets, 2);
    do_step(&garage, "all", INDEX_NONE, true, 0);
    assert_true(holds(&garage, "c0", INDEX_NONE, 0));
    assert_true(holds(&garage, "c68", INDEX_NONE, 0));
    assert_false(holds(&garage, "c69", INDEX_NONE, 0)); /* voided, though it was set after */
    garage_close(&garage);
}

static void the_steps_that_set_and_clear_are_found(void **state)
{
    (void)state;
    struct garage garage = open_garage();
    const struct work *setter =
        condition_setter(garage.procedure, condition_of(&garage, "stands"));
    assert_true(text_equal(setter->step->name, TEXT("lift")));
    const struct work *clearer =
        condition_clearer(garage.procedure, condition_of(&garage, "stands"));
    assert_true(text_equal(clearer->step->name, TEXT("lower")));
    assert_null(condition_setter(garage.procedure, condition_of(&garage, "clear")));
    garage_close(&garage);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_need_that_was_never_set_shuts_the_gate),
        cmocka_unit_test(a_denied_question_leaves_it_untrue_but_owed),
        cmocka_unit_test(what_lapses_by_the_clock_is_asked_again_and_not_refused),
        cmocka_unit_test(a_stop_lapses_what_lapses_and_nothing_else),
        cmocka_unit_test(a_gate_question_is_put_at_every_gate),
        cmocka_unit_test(becoming_true_voids_another_but_restores_nothing),
        cmocka_unit_test(a_step_that_would_break_what_is_required_is_refused),
        cmocka_unit_test(a_denial_that_breaks_what_is_required_stops_all_else),
        cmocka_unit_test(a_condition_of_each_position_is_forbidden_at_any_of_them),
        cmocka_unit_test(what_a_step_has_begun_is_perhaps_so),
        cmocka_unit_test(what_a_step_is_undoing_is_no_longer_relied_on_and_still_owed),
        cmocka_unit_test(what_a_step_would_void_is_doubted_while_it_goes_on),
        cmocka_unit_test(a_step_may_set_any_number),
        cmocka_unit_test(the_steps_that_set_and_clear_are_found),
    };
    return cmocka_run_group_tests_name("safety/conditions", tests, NULL, NULL);
}

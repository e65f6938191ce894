#include "garage.h"

static const char library[] =
    "conditions:\n"
    "  chocked:\n"
    "    ask: What did it do?\n"
    "    expect: stayed\n"
    "    otherwise: [moved]\n"
    "    restore: Take the chocks away.\n"
    "  brake: {restore: Let it go.}\n"
    "  wheels_off: {voids: [brake], restore: Put the wheels on.}\n"
    "  drain_open: {restore: Close it.}\n"
    "  guard: {restore: Take it off.}\n"
    "  clear:\n"
    "    ask: Who is near?\n"
    "    expect: nobody\n"
    "    otherwise: [someone]\n"
    "    lapses_after: 0 min\n"
    "activities:\n"
    "  under: {signal: danger, hazard: It falls., harm: Crushing., needs: [chocked, clear]}\n";

static const char before[] = "  - {step: chock, do: Set chocks., sets: [chocked]}\n"
                             "  - {step: pull, do: Pull the brake., sets: [brake]}\n";
static const char after[] =
    "  - {step: wheels, do: Take the wheels off., sets: [wheels_off]}\n"
    "  - {step: wheels_on, do: Put the wheels on., clears: [wheels_off]}\n"
    "  - {step: fit, do: Fit the guard., sets: [guard]}\n"
    "  - {step: shut, do: Close the drain., clears: [drain_open]}\n"
    "  - {step: open, do: Open the drain., sets: [drain_open]}\n"
    "  - {step: shut_again, do: Close the drain., clears: [drain_open]}\n"
    "  - {step: guard_off, do: Take the guard off., clears: [guard]}\n"
    "  - {step: release, do: Let the brake go., clears: [brake]}\n"
    "  - {step: unchock, do: Take the chocks away., clears: [chocked]}\n";

static const struct work *section_of(const struct garage *garage)
{
    for (size_t i = 0; i < garage->procedure->work_count; i++)
        if (garage->procedure->works[i]->is_away)
            return garage->procedure->works[i];
    fail_msg("no away section");
    return NULL;
}

/* The gate of an away section with these steps, the brake pulled; chocked or not. */
static struct gate away_gate(struct garage *garage, const char *inside, bool is_chocked)
{
    char steps[4096];
    assert_true(strlen(before) + strlen(inside) + strlen(after) + 100 < sizeof steps);
    steps[0] = '\0';
    strcat(steps, before);
    strcat(steps, "  - section: Away\n    away: true\n    steps:\n");
    strcat(steps, inside);
    strcat(steps, after);
    garage_open(garage, library, steps, 2);
    do_step(garage, "pull", INDEX_NONE, true, 0);
    if (is_chocked)
        do_step(garage, "chock", INDEX_NONE, true, 0);
    return gate_look_away(&garage->state, section_of(garage), at(garage, INDEX_NONE), 0,
                          &garage->arena);
}

static void assert_gate(const char *inside, bool is_chocked, enum gate_verdict verdict,
                        const char *first)
{
    struct garage garage;
    struct gate gate = away_gate(&garage, inside, is_chocked);
    assert_int_equal(gate.verdict, verdict);
    if (first != NULL)
        assert_int_equal(gate.items[0].condition, condition_of(&garage, first));
    garage_close(&garage);
}

static void every_need_counts_at_the_start(void **state)
{
    (void)state;
    const char *inside = "      - {step: first, do: Look.}\n"
                         "      - {step: second, activity: under, do: Look again.}\n";
    assert_gate(inside, false, GATE_SHUT, "chocked");
    assert_gate(inside, true, GATE_ASK, "clear");
}

static void what_a_step_certainly_sets_counts_for_those_after_it(void **state)
{
    (void)state;
    assert_gate("      - {step: on, do: Fit the guard., sets: [guard]}\n"
                "      - {step: use, needs: [guard], do: Use it.}\n",
                true, GATE_OPEN, NULL);
    assert_gate("      - {step: use, needs: [guard], do: Use it.}\n"
                "      - {step: on, do: Fit the guard., sets: [guard]}\n",
                true, GATE_SHUT, "guard");
}

static void what_may_be_passed_over_sets_nothing(void **state)
{
    (void)state;
    assert_gate("      - {step: on, optional: true, do: Fit the guard., sets: [guard]}\n"
                "      - {step: use, needs: [guard], do: Use it.}\n",
                true, GATE_SHUT, "guard");
}

static void what_an_earlier_step_takes_away_is_missed(void **state)
{
    (void)state;
    assert_gate("      - {step: off, do: Let the brake go., clears: [brake]}\n"
                "      - {step: use, needs: [brake], do: Use it.}\n",
                true, GATE_SHUT, "brake");
    assert_gate("      - {step: off, optional: true, do: Let the brake go., clears: [brake]}\n"
                "      - {step: use, needs: [brake], do: Use it.}\n",
                true, GATE_SHUT, "brake");
    assert_gate("      - {step: wheel, do: Take a wheel off., sets: [wheels_off]}\n"
                "      - {step: use, needs: [brake], do: Use it.}\n",
                true, GATE_SHUT, "brake");
}

static void what_is_forbidden_is_looked_at_too(void **state)
{
    (void)state;
    assert_gate("      - {step: drip, do: Open the drain., sets: [drain_open]}\n"
                "      - {step: use, forbids: [drain_open], do: Use it.}\n",
                true, GATE_SHUT, "drain_open");
    assert_gate("      - {step: drip, do: Open the drain., sets: [drain_open]}\n"
                "      - {step: stop, do: Close the drain., clears: [drain_open]}\n"
                "      - {step: use, forbids: [drain_open], do: Use it.}\n",
                true, GATE_OPEN, NULL);
    assert_gate("      - {step: drip, do: Open the drain., sets: [drain_open]}\n"
                "      - {step: stop, optional: true, do: Close it., clears: [drain_open]}\n"
                "      - {step: use, forbids: [drain_open], do: Use it.}\n",
                true, GATE_SHUT, "drain_open");
}

/* The question comes when the hands are free again: until then nobody knows. */
static void what_is_set_anew_with_a_question_is_not_relied_on(void **state)
{
    (void)state;
    assert_gate("      - {step: anew, do: Set the chocks anew., sets: [chocked]}\n"
                "      - {step: use, needs: [chocked], do: Use it.}\n",
                true, GATE_SHUT, "chocked");
    assert_gate("      - {step: use, needs: [chocked], do: Use it.}\n"
                "      - {step: anew, do: Set the chocks anew., sets: [chocked]}\n",
                true, GATE_OPEN, NULL);
}

static const char by_wheel[] =
    "conditions:\n"
    "  held: {each: wheel, restore: Let it go.}\n"
    "  lifted: {each: wheel, requires: [held], restore: Lower it.}\n";

/* One wheel is held and lifted; that the other is not held is no reason to refuse. */
static void what_a_position_requires_is_looked_at_there(void **state)
{
    (void)state;
    static const char steps[] = "  - section: Each\n    each: wheel\n    steps:\n"
                                "      - {step: hold, do: Hold it., sets: [held]}\n"
                                "      - section: Away\n        away: true\n        steps:\n"
                                "          - {step: lift, do: Lift it., sets: [lifted]}\n"
                                "          - {step: lower, do: Lower it., clears: [lifted]}\n"
                                "      - {step: let_go, do: Let it go., clears: [held]}\n";
    struct garage garage;
    garage_open(&garage, by_wheel, steps, 2);
    assert_int_equal(
        gate_look_away(&garage.state, section_of(&garage), at(&garage, 0), 0, &garage.arena)
            .verdict,
        GATE_SHUT);
    do_step(&garage, "hold", 0, true, 0);
    assert_int_equal(
        gate_look_away(&garage.state, section_of(&garage), at(&garage, 0), 0, &garage.arena)
            .verdict,
        GATE_OPEN);
    garage_close(&garage);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(every_need_counts_at_the_start),
        cmocka_unit_test(what_a_step_certainly_sets_counts_for_those_after_it),
        cmocka_unit_test(what_may_be_passed_over_sets_nothing),
        cmocka_unit_test(what_an_earlier_step_takes_away_is_missed),
        cmocka_unit_test(what_is_forbidden_is_looked_at_too),
        cmocka_unit_test(what_is_set_anew_with_a_question_is_not_relied_on),
        cmocka_unit_test(what_a_position_requires_is_looked_at_there),
    };
    return cmocka_run_group_tests_name("safety/away", tests, NULL, NULL);
}

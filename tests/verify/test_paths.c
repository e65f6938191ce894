/* A path that is told really leads there: gone again with conditions.h, without masks, graph or search. */
#include "proven.h"
#include "safety/conditions.h"

#define STEP(name, more) "  - {step: " name ", do: Do it., " more "}\n"

/* Of each step done on the path the gate was open. */
static void go(const struct unsafe_path *path, struct condition_state *state,
               struct arena *arena)
{
    for (size_t i = 0; i < path->event_count; i++) {
        const struct path_event *event = &path->events[i];
        if (event->kind == PATH_ASKED_AT_START)
            condition_answered(state, event->condition, event->position, event->truth, 0);
        if (event->kind == PATH_STOPPED)
            condition_stopped(state);
        if (event->kind != PATH_DONE && event->kind != PATH_BEGUN)
            continue;
        const struct step *step = event->work->step;
        assert_int_not_equal(gate_look(state, step, event->here, 0, arena).verdict, GATE_SHUT);
        if (event->kind == PATH_BEGUN) {
            condition_step_entered(state, step, event->here);
            continue;
        }
        bool *as_expected = arena_array(arena, bool, step->sets_count);
        for (size_t k = 0; k < step->sets_count; k++)
            as_expected[k] = true;
        condition_step_done(state, step, event->here, as_expected, 0);
    }
}

static bool is_shut_for(const struct gate *gate, const struct unsafe_path *path)
{
    static const enum gate_reason reasons[] = {[FAULT_NEED] = GATE_MISSING,
                                               [FAULT_FORBIDDEN] = GATE_FORBIDDEN,
                                               [FAULT_REQUIRES] = GATE_BREAKS};
    for (size_t i = 0; gate->verdict == GATE_SHUT && i < gate->item_count; i++)
        if (gate->items[i].reason == reasons[path->fault] &&
            gate->items[i].condition == path->condition &&
            gate->items[i].position == path->position)
            return true;
    return false;
}

static void leads_there(const struct procedure *procedure, const struct unsafe_path *path,
                        struct arena *arena)
{
    struct condition_state state = condition_state_begin(procedure, NULL, arena);
    go(path, &state, arena);
    switch (path->fault) {
    case FAULT_NEED:
    case FAULT_FORBIDDEN:
    case FAULT_REQUIRES: {
        struct gate gate = gate_look(&state, path->work->step, path->here, 0, arena);
        assert_true(is_shut_for(&gate, path));
        break;
    }
    case FAULT_LEFT:
        assert_true(condition_may_hold(&state, path->condition, path->position));
        break;
    case FAULT_NO_ORDER:
        assert_true(condition_may_hold(&state, path->condition, path->position));
        break;
    case FAULT_PART_LEFT:
    case FAULT_PART_OUT:
    case FAULT_PART_IN:
    case FAULT_ONCE:
    case FAULT_ROUND:
    case FAULT_UNREACHED:
        break;
    }
}

static const struct {
    const char *head, *steps;
    size_t paths;
} unsafe[] = {
    {"conditions: {a: {}}\n", STEP("s", "optional: true, sets: [a]") STEP("u", "needs: [a]"),
     1},
    {"conditions: {a: {}, b: {voids: [a]}}\n",
     STEP("s", "sets: [a]") STEP("v", "optional: true, sets: [b]") STEP("u", "needs: [a]"), 1},
    {"conditions: {a: {restore: Undo it.}}\n",
     STEP("s", "sets: [a]") STEP("u", "optional: true, clears: [a]") STEP("f", "forbids: [a]"),
     1},
    {"conditions: {a: {each: cylinder, restore: Undo it.}, b: {each: cylinder}}\n",
     STEP("s", "each: cylinder, sets: [a]") STEP("t", "each: cylinder, in: [1], sets: [b]")
         STEP("u", "each: cylinder, needs: [\"b[cylinder]\"]")
             STEP("w", "each: cylinder, in: [1], clears: [a]"),
     1},
    {"conditions: {a: {}, b: {requires: [a], restore: Undo it.}}\n",
     STEP("s", "sets: [a]") STEP("t", "sets: [b]") STEP("u", "optional: true, clears: [b]")
         STEP("w", "clears: [a]"),
     1},
    {"conditions:\n  a: {at_start: ask, ask: Is it?, expect: \"it is\", otherwise: [not so], "
     "restore: Undo it.}\n",
     STEP("s", "forbids: [a]") STEP("u", "clears: [a]"), 1},
    {"conditions:\n  a: {ask: Is it?, expect: \"it is\", otherwise: [not so], lapses_after: 1 "
     "min}\n  b: {restore: Undo it.}\n",
     STEP("s", "once: true, sets: [a]") STEP("t", "needs: [a], sets: [b]")
         STEP("u", "needs: [a], clears: [b]"),
     2},
};

static void every_path_leads_to_its_fault(void **state)
{
    (void)state;
    for (size_t i = 0; i < sizeof unsafe / sizeof *unsafe; i++) {
        struct proven proven;
        proven_begin(&proven, unsafe[i].head, unsafe[i].steps);
        assert_int_equal(proven.proof.verdict, PROOF_UNSAFE);
        if (proven.proof.path_count != unsafe[i].paths)
            proven_show(&proven);
        assert_int_equal(proven.proof.path_count, unsafe[i].paths);
        for (size_t k = 0; k < proven.proof.path_count; k++)
            leads_there(proven.procedure, &proven.proof.paths[k], &proven.arena);
        proven_end(&proven);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {cmocka_unit_test(every_path_leads_to_its_fault)};
    return cmocka_run_group_tests(tests, NULL, NULL);
}

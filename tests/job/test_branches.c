#include "job/job_state.h"
#include "support/walked_job.h"

static const struct work *step_called(const struct walked *walked, const char *name)
{
    const struct procedure *procedure = walked->sound.procedure;
    for (size_t i = 0; i < procedure->work_count; i++) {
        if (procedure->works[i]->kind == WORK_STEP &&
            text_equal(procedure->works[i]->step->name, text_from(name)))
            return procedure->works[i];
    }
    fail_msg("there is no step %s", name);
    return NULL;
}

static bool never_does(struct walked *walked, const char *name)
{
    return job_never_does(walked->job, step_called(walked, name), &walked->scratch);
}

static void what_the_machine_rules_out_is_never_done(void **state)
{
    (void)state;
    struct walked walked;
    walked_begin(&walked, HEAD "machine: {displacement: mL}\n"
                               "steps:\n"
                               "  - {step: sweep, do: Sweep.}\n"
                               "  - either:\n"
                               "      - when: machine.displacement < 500 mL\n"
                               "        steps: [{step: small, do: Do it small.}]\n"
                               "      - when: machine.displacement < 2000 mL\n"
                               "        steps: [{step: middling, do: Do it.}]\n"
                               "      - otherwise: true\n"
                               "        steps: [{step: large, do: Do it large.}]\n");
    assert_false(never_does(&walked, "sweep"));
    assert_true(never_does(&walked, "small"));
    assert_false(never_does(&walked, "middling"));
    assert_true(never_does(&walked, "large"));
    walked_close(&walked);
}

/* `any` of nothing is false, and a hazard would be left out of the opening. */
static void what_rests_on_a_reading_may_yet_be_done(void **state)
{
    (void)state;
    struct walked walked;
    walked_begin(&walked, HEAD
                 "steps:\n"
                 "  - {step: read, each: cylinder, do: Read., record: {height: {unit: mm}}}\n"
                 "  - {step: wipe, when: any(high), do: Wipe it.}\n"
                 "  - {step: sweep, do: Sweep.}\n"
                 "names: {high: height > 3 mm}\n");
    assert_false(never_does(&walked, "wipe"));
    walked_say(&walked, "2");
    assert_false(never_does(&walked, "wipe"));
    walked_close(&walked);
}

static void a_step_has_a_place_for_each_position_around_it(void **state)
{
    (void)state;
    struct walked walked;
    walked_begin(
        &walked,
        HEAD "steps:\n"
             "  - {step: sweep, do: Sweep.}\n"
             "  - section: Wheels\n"
             "    each: wheel\n"
             "    steps:\n"
             "      - {step: look, each: cylinder, do: \"Look at {wheel}, {cylinder}.\"}\n");
    const struct work *look = step_called(&walked, "look");
    assert_int_equal(work_place_count(walked.job, step_called(&walked, "sweep")), 1);
    assert_int_equal(work_place_count(walked.job, look), 16);
    bool seen[16] = {false};
    for (size_t i = 0; i < 16; i++) {
        const int *here = work_place(walked.job, look, i, &walked.scratch);
        int wheel = here[look->parent->loop.index], cylinder = here[look->loop.index];
        assert_in_range(wheel, 0, 3);
        assert_in_range(cylinder, 0, 3);
        assert_false(seen[wheel * 4 + cylinder]);
        seen[wheel * 4 + cylinder] = true;
    }
    walked_close(&walked);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(what_the_machine_rules_out_is_never_done),
        cmocka_unit_test(what_rests_on_a_reading_may_yet_be_done),
        cmocka_unit_test(a_step_has_a_place_for_each_position_around_it),
    };
    return cmocka_run_group_tests_name("job/branches", tests, NULL, NULL);
}

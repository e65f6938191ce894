/* What can be said of a piece of work without a job. */
#include "procedure/loaded.h"

static const char alternatives[] = "  - {step: first, when: width > 1 mm, do: Look.}\n"
                                   "  - either:\n"
                                   "      - when: width > 2 mm\n"
                                   "        steps: [{step: big, do: Look.}]\n"
                                   "      - when: width > 3 mm\n"
                                   "        steps: [{step: bigger, do: Look.}]\n"
                                   "      - otherwise: true\n"
                                   "        steps: [{step: rest, do: Look.}]\n";

/* Known: the one `when` that is written so comes out so. */
struct knowledge {
    const char *written;
    bool truth;
};

static bool is_known(void *self, const struct expression *when, bool truth)
{
    const struct knowledge *knowledge = self;
    return text_equal(when->written, text_from(knowledge->written)) &&
           truth == knowledge->truth;
}

static bool ruled_out(const struct loaded *loaded, const char *step, const char *written,
                      bool truth)
{
    struct knowledge knowledge = {written, truth};
    const struct work *work = procedure_find_step(loaded->procedure, text_from(step));
    assert_non_null(work);
    return work_is_ruled_out(work, is_known, &knowledge);
}

static void a_when_that_is_false_rules_out_its_own_work_only(void **state)
{
    (void)state;
    struct loaded loaded;
    wants_sound(&loaded, "inputs: {width: {unit: mm}}\n", alternatives);
    assert_true(ruled_out(&loaded, "first", "width > 1 mm", false));
    assert_false(ruled_out(&loaded, "first", "width > 1 mm", true));
    assert_true(ruled_out(&loaded, "big", "width > 2 mm", false));
    assert_false(ruled_out(&loaded, "bigger", "width > 2 mm", false));
    assert_false(ruled_out(&loaded, "rest", "width > 2 mm", false));
    loaded_close(&loaded);
}

static void an_alternative_that_is_taken_rules_out_those_behind_it(void **state)
{
    (void)state;
    struct loaded loaded;
    wants_sound(&loaded, "inputs: {width: {unit: mm}}\n", alternatives);
    assert_false(ruled_out(&loaded, "big", "width > 2 mm", true));
    assert_true(ruled_out(&loaded, "bigger", "width > 2 mm", true));
    assert_true(ruled_out(&loaded, "rest", "width > 2 mm", true));
    assert_false(ruled_out(&loaded, "big", "width > 3 mm", true));
    assert_true(ruled_out(&loaded, "rest", "width > 3 mm", true));
    loaded_close(&loaded);
}

static void nothing_known_rules_nothing_out(void **state)
{
    (void)state;
    struct loaded loaded;
    wants_sound(&loaded, "inputs: {width: {unit: mm}}\n", alternatives);
    for (size_t i = 0; i < loaded.procedure->work_count; i++) {
        struct knowledge nothing = {"", false};
        assert_false(work_is_ruled_out(loaded.procedure->works[i], is_known, &nothing));
    }
    loaded_close(&loaded);
}

static void each_is_a_loop_over_positions_and_a_repeat_is_not(void **state)
{
    (void)state;
    struct loaded loaded;
    wants_sound(&loaded, "",
                "  - {step: one, do: Look.}\n"
                "  - {step: every, each: cylinder, do: Look at it.}\n"
                "  - repeat: again\n"
                "    times: 2\n"
                "    steps: [{step: inner, do: Look.}]\n");
    const struct procedure *procedure = loaded.procedure;
    assert_false(work_is_each(procedure_find_step(procedure, TEXT("one"))));
    assert_true(work_is_each(procedure_find_step(procedure, TEXT("every"))));
    const struct work *inner = procedure_find_step(procedure, TEXT("inner"));
    assert_false(work_is_each(inner));
    assert_int_equal(inner->parent->kind, WORK_REPEAT);
    assert_false(work_is_each(inner->parent));
    loaded_close(&loaded);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_when_that_is_false_rules_out_its_own_work_only),
        cmocka_unit_test(an_alternative_that_is_taken_rules_out_those_behind_it),
        cmocka_unit_test(nothing_known_rules_nothing_out),
        cmocka_unit_test(each_is_a_loop_over_positions_and_a_repeat_is_not),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}

#include "job/job_state.h"
#include "support/walked_job.h"

static void a_clock_jumps_when_it_leaves_the_steady_one(void **state)
{
    (void)state;
    struct instant before = {.wall = 1000000, .steady = 5000, .boot = TEXT("a")};
    struct instant after = {.wall = 1900000, .steady = 905000, .boot = TEXT("a")};
    assert_false(clock_jumped(before, after));
    after.wall += 60000;
    assert_false(clock_jumped(before, after));
    after.wall += 1;
    assert_true(clock_jumped(before, after));
    after.wall -= 120002;
    assert_true(clock_jumped(before, after));
    after.boot = TEXT("b");
    assert_false(clock_jumped(before, after));
    after.wall = before.wall - 5001;
    assert_true(clock_jumped(before, after));
}

static void a_label_that_is_a_figure_has_the_name_of_its_index(void **state)
{
    (void)state;
    struct walked walked;
    walked_begin(&walked,
                 HEAD "steps:\n"
                      "  - repeat: twice\n"
                      "    times: 2\n"
                      "    steps:\n"
                      "      - section: Both\n"
                      "        each: wheel\n"
                      "        in: [rear left]\n"
                      "        steps:\n"
                      "          - {step: look, each: cylinder, in: [2], do: Look.}\n");
    walked_say(&walked, "");
    struct text name = job_spot_name(walked.job, &walked.prompt.spot, &walked.scratch);
    assert_true(text_equal(name, TEXT("round 2, rear left, cylinder 2")));
    const int *here = spot_here(walked.job, &walked.prompt.spot, &walked.scratch);
    int cylinder = text_equal(walked.sound.procedure->index_names[0], TEXT("cylinder")) ? 0 : 1;
    assert_int_equal(here[cylinder], 1);
    assert_int_equal(here[1 - cylinder], 2);
    walked_close(&walked);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_clock_jumps_when_it_leaves_the_steady_one),
        cmocka_unit_test(a_label_that_is_a_figure_has_the_name_of_its_index),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}

#include "support/walked_job.h"

static const char plugs[] = HEAD "machine:\n"
                                 "  plug_torque: N.m\n"
                                 "steps:\n"
                                 "  - step: plugs_out\n"
                                 "    each: cylinder\n"
                                 "    do: Take plug {cylinder} out.\n"
                                 "    removes: spark_plug\n"
                                 "  - step: plugs_in\n"
                                 "    each: cylinder\n"
                                 "    do: Put plug {cylinder} in.\n"
                                 "    refits: spark_plug\n";

static void a_part_is_out_from_the_step_that_removes_it(void **state)
{
    (void)state;
    struct walked walked;
    walked_begin(&walked, plugs);
    struct part_out *out;
    assert_int_equal(job_parts_out(walked.job, &out, &walked.scratch), 1);
    assert_true(out[0].is_perhaps);
    walked_say(&walked, "");
    walked_say(&walked, "");
    assert_int_equal(job_parts_out(walked.job, &out, &walked.scratch), 3);
    assert_false(out[0].is_perhaps);
    assert_int_equal(out[1].position, 1);
    assert_true(out[2].is_perhaps);
    walked_replays(&walked);
    for (int i = 0; i < 2; i++)
        walked_say(&walked, "");
    assert_prompt(&walked, PROMPT_ACTION, "plugs_in");
    assert_int_equal(job_parts_out(walked.job, &out, &walked.scratch), 4);
    for (int i = 0; i < 3; i++)
        walked_say(&walked, "");
    assert_int_equal(job_parts_out(walked.job, &out, &walked.scratch), 1);
    assert_int_equal(out[0].position, 3);
    walked_say(&walked, "");
    assert_int_equal(walked_newest(&walked, EVENT_ENDED)->detail, ENDED_COMPLETED);
    walked_close(&walked);
}

static void a_step_that_puts_back_is_not_skipped(void **state)
{
    (void)state;
    struct walked walked;
    walked_begin(&walked, plugs);
    for (int i = 0; i < 4; i++)
        walked_say(&walked, "");
    walked_take(&walked, job_skip(walked.job, TEXT("later"), walked.now, &walked.scratch));
    assert_refused(&walked, "puts something back");
    walked_close(&walked);
}

static void nine_out_and_ten_back_is_no_count(void **state)
{
    (void)state;
    struct walked walked;
    walked_begin(&walked, HEAD "steps:\n"
                               "  - {step: bolts_out, do: Take them out., removes: {bolt: 9}}\n"
                               "  - {step: bolts_in, do: Put them in., refits: {bolt: 9}}\n");
    walked_say(&walked, "");
    assert_prompt(&walked, PROMPT_COUNT, "bolt");
    walked_say(&walked, "");
    assert_int_equal(walked.prompt.kind, PROMPT_COUNT);
    walked_say(&walked, "10");
    assert_refused(&walked, "9 out, 10 back");
    assert_true(walked_newest(&walked, EVENT_ANSWERED)->value == 10.0);
    assert_prompt(&walked, PROMPT_COUNT, "bolt");
    walked_replays(&walked);
    walked_say(&walked, "9");
    assert_true(job_has_ended(walked.job));
    assert_int_equal(walked_newest(&walked, EVENT_ENDED)->detail, ENDED_COMPLETED);
    walked_close(&walked);
}

static void each_position_has_its_own_timer(void **state)
{
    (void)state;
    struct walked walked;
    walked_begin(&walked, HEAD "steps:\n"
                               "  - step: dose\n"
                               "    each: cylinder\n"
                               "    in: [1, 2]\n"
                               "    do: Dose it.\n"
                               "    starts: {soak: {at_least: 10 min}}\n"
                               "  - {step: wipe, do: Wipe., awaits: soak}\n");
    walked_say(&walked, "");
    walked_pass(&walked, 300);
    long long second = walked.now.wall;
    walked_say(&walked, "");
    assert_prompt(&walked, PROMPT_WAIT, "wipe");
    assert_true(walked.prompt.wakes_at == second + 600000);
    struct timer_running *running;
    assert_int_equal(job_timers(walked.job, &running, &walked.scratch), 2);
    assert_true(running[1].due == second + 600000);
    walked_replays(&walked);
    walked_pass(&walked, 600);
    walked_look(&walked);
    assert_prompt(&walked, PROMPT_ACTION, "wipe");
    assert_int_equal(job_timers(walked.job, &running, &walked.scratch), 0);
    walked_close(&walked);
}

static void a_timer_that_runs_at_the_end_leaves_the_job_open(void **state)
{
    (void)state;
    struct walked walked;
    walked_begin(&walked, HEAD "steps:\n"
                               "  - step: glue\n"
                               "    do: Glue it.\n"
                               "    starts: {cure: {at_least: 10 min}}\n");
    walked_say(&walked, "");
    assert_int_equal(walked.prompt.kind, PROMPT_SHUT);
    assert_says(walked.prompt.question, "still running: cure");
    walked_pass(&walked, 601);
    walked_look(&walked);
    assert_true(job_has_ended(walked.job));
    walked_close(&walked);
}

/* In milliseconds the first of these is no whole number of 64 bits any more. */
static void a_wait_longer_than_any_number_is_still_a_wait(void **state)
{
    (void)state;
    static const char *const waits[] = {"9300000000000000 s", "99999999999999999999 h",
                                        "1000000000000 s"};
    for (size_t i = 0; i < sizeof waits / sizeof *waits; i++) {
        struct walked walked;
        walked_begin(&walked, HEAD "inputs: {t: {unit: s}}\n"
                                   "steps:\n"
                                   "  - {step: go, do: Go., starts: {soak: {at_least: t}}}\n"
                                   "  - {step: after, do: After., awaits: soak}\n");
        walked_say(&walked, waits[i]);
        walked_say(&walked, "");
        assert_prompt(&walked, PROMPT_WAIT, "after");
        assert_true(walked.prompt.wakes_at > walked.now.wall);
        walked_replays(&walked);
        walked_close(&walked);
    }
}

static void a_wait_below_nothing_is_none(void **state)
{
    (void)state;
    struct walked walked;
    walked_begin(&walked, HEAD "inputs: {t: {unit: s}}\n"
                               "steps:\n"
                               "  - {step: go, do: Go., starts: {soak: {at_least: t}}}\n"
                               "  - {step: after, do: After., awaits: soak}\n");
    walked_say(&walked, "-9300000000000000 s");
    walked_say(&walked, "");
    assert_prompt(&walked, PROMPT_ACTION, "after");
    walked_replays(&walked);
    walked_close(&walked);
}

static void a_gap_of_more_than_ten_years_is_asked_back(void **state)
{
    (void)state;
    struct walked walked;
    walked_begin(&walked, plugs);
    walked.now.wall -= 3600000;
    walked_look(&walked);
    assert_prompt(&walked, PROMPT_CLOCK, "");
    walked_say(&walked, "9300000000000000 s");
    assert_refused(&walked, "ten years");
    walked_say(&walked, "-1 s");
    assert_refused(&walked, "backwards");
    walked_close(&walked);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_part_is_out_from_the_step_that_removes_it),
        cmocka_unit_test(a_step_that_puts_back_is_not_skipped),
        cmocka_unit_test(nine_out_and_ten_back_is_no_count),
        cmocka_unit_test(each_position_has_its_own_timer),
        cmocka_unit_test(a_timer_that_runs_at_the_end_leaves_the_job_open),
        cmocka_unit_test(a_wait_longer_than_any_number_is_still_a_wait),
        cmocka_unit_test(a_wait_below_nothing_is_none),
        cmocka_unit_test(a_gap_of_more_than_ten_years_is_asked_back),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}

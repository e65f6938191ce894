#include "support/walked_job.h"

static const char two[] = HEAD "conditions:\n"
                               "  wedged: {restore: Take the wedge out.}\n"
                               "steps:\n"
                               "  - {step: sweep, do: Sweep.}\n"
                               "  - {step: wedge, do: Wedge it., sets: [wedged]}\n"
                               "  - {step: free, do: Free it., clears: [wedged]}\n";

static void a_skip_wants_a_reason_and_voids_the_proof(void **state)
{
    (void)state;
    struct walked walked;
    walked_begin(&walked, two);
    walked_take(&walked, job_skip(walked.job, TEXT("  "), walked.now, &walked.scratch));
    assert_refused(&walked, "why");
    walked_take(&walked, job_skip(walked.job, TEXT("clean"), walked.now, &walked.scratch));
    assert_taken(&walked);
    assert_int_equal(job_void_from(walked.job), 1);
    assert_prompt(&walked, PROMPT_ACTION, "wedge");
    walked_replays(&walked);
    walked_close(&walked);
}

static void what_a_skipped_step_would_set_is_not_set(void **state)
{
    (void)state;
    struct walked walked;
    walked_begin(&walked, two);
    walked_say(&walked, "");
    walked_take(&walked, job_skip(walked.job, TEXT("no wedge"), walked.now, &walked.scratch));
    int wedged = procedure_find_condition(walked.sound.procedure, TEXT("wedged"));
    assert_false(condition_at(job_conditions(walked.job), (unsigned)wedged, 0)->is_true);
    assert_int_equal(job_void_from(walked.job), 2);
    walked_close(&walked);
}

static void a_step_that_restores_is_not_skipped(void **state)
{
    (void)state;
    struct walked walked;
    walked_begin(&walked, two);
    walked_say(&walked, "");
    walked_say(&walked, "");
    assert_prompt(&walked, PROMPT_ACTION, "free");
    walked_take(&walked, job_skip(walked.job, TEXT("later"), walked.now, &walked.scratch));
    assert_refused(&walked, "cannot be skipped");
    walked_close(&walked);
}

static void a_hold_point_is_not_skipped(void **state)
{
    (void)state;
    struct walked walked;
    walked_begin(&walked,
                 HEAD "steps:\n"
                      "  - step: turn\n"
                      "    do: Turn it.\n"
                      "    record: {turns: {unit: \"1\"}}\n"
                      "    hold: {ask: How was it?, expect: free, otherwise: [hard]}\n");
    walked_take(&walked, job_skip(walked.job, TEXT("late"), walked.now, &walked.scratch));
    assert_refused(&walked, "hold point");
    walked_say(&walked, "2");
    walked_take(&walked, job_skip(walked.job, TEXT("late"), walked.now, &walked.scratch));
    assert_refused(&walked, "cannot be skipped");
    assert_prompt(&walked, PROMPT_HOLD, "turn");
    walked_close(&walked);
}

static void a_pause_asks_for_a_cue_and_asks_it_back(void **state)
{
    (void)state;
    struct walked walked;
    walked_begin(&walked, two);
    walked_take(&walked, job_pause(walked.job, PAUSED_ASKED, walked.now, &walked.scratch));
    assert_prompt(&walked, PROMPT_CUE, "");
    assert_true(walked.prompt.enter_passes);
    assert_false(job_is_paused(walked.job));
    walked_say(&walked, "key on the dash");
    assert_true(job_is_paused(walked.job));
    assert_prompt(&walked, PROMPT_ENDED, "");
    walked_pass(&walked, 86400);
    walked_take(&walked, job_resume(walked.job, walked.now, &walked.scratch));
    assert_prompt(&walked, PROMPT_CUE, "");
    assert_says(walked.prompt.question, "key on the dash");
    assert_false(walked.prompt.enter_passes);
    walked_say(&walked, "");
    assert_refused(&walked, "Find it");
    walked_replays(&walked);
    walked_say(&walked, "it lies there");
    assert_prompt(&walked, PROMPT_ACTION, "sweep");
    walked_close(&walked);
}

static void a_pause_without_a_cue_asks_nothing_back(void **state)
{
    (void)state;
    struct walked walked;
    walked_begin(&walked, two);
    walked_take(&walked, job_pause(walked.job, PAUSED_ASKED, walked.now, &walked.scratch));
    walked_say(&walked, "");
    assert_true(job_is_paused(walked.job));
    walked_take(&walked, job_resume(walked.job, walked.now, &walked.scratch));
    assert_prompt(&walked, PROMPT_ACTION, "sweep");
    walked_close(&walked);
}

static void the_last_steps_are_known_for_a_resume(void **state)
{
    (void)state;
    struct walked walked;
    walked_begin(&walked, two);
    walked_say(&walked, "");
    walked_say(&walked, "");
    struct spot spots[3];
    assert_int_equal(job_last_steps(walked.job, 3, spots), 2);
    const struct work *newest = walked.sound.procedure->works[spots[0].work];
    assert_true(text_equal(newest->step->name, TEXT("wedge")));
    assert_int_equal(job_step_number(walked.job, newest), 2);
    walked_close(&walked);
}

static void an_end_with_something_owed_is_left_open(void **state)
{
    (void)state;
    struct walked walked;
    walked_begin(&walked, two);
    walked_say(&walked, "");
    walked_say(&walked, "");
    walked_take(&walked, job_end(walked.job, walked.now, &walked.scratch));
    const struct event *ended = walked_newest(&walked, EVENT_ENDED);
    assert_int_equal(ended->detail, ENDED_LEFT_OPEN);
    assert_says(ended->meaning, "wedged: Take the wedge out.");
    walked_replays(&walked);
    walked_close(&walked);
}

static void notes_belong_to_the_step_being_asked_about(void **state)
{
    (void)state;
    struct walked walked;
    walked_begin(&walked, two);
    walked_say(&walked, "");
    walked_take(&walked, job_note(walked.job, TEXT(""), walked.now, &walked.scratch));
    assert_refused(&walked, "some words");
    walked_take(&walked, job_note(walked.job, TEXT("stiff"), walked.now, &walked.scratch));
    const struct event *noted = walked_newest(&walked, EVENT_NOTED);
    assert_true(spot_equal(&noted->spot, &walked.prompt.spot));
    assert_true(text_equal(noted->typed, TEXT("stiff")));
    assert_prompt(&walked, PROMPT_ACTION, "wedge");
    walked_close(&walked);
}

static void a_step_that_starts_an_awaited_wait_is_not_skipped(void **state)
{
    (void)state;
    struct walked walked;
    walked_begin(&walked,
                 HEAD "steps:\n"
                      "  - {step: pour, do: Pour., starts: {soak: {at_least: 9 min}}}\n"
                      "  - {step: suck, do: Suck it out., awaits: soak}\n");
    walked_take(&walked, job_skip(walked.job, TEXT("no oil"), walked.now, &walked.scratch));
    assert_refused(&walked, "starts a wait");
    assert_prompt(&walked, PROMPT_ACTION, "pour");
    walked_close(&walked);
}

/* The other way round in the file, nothing starts it. */
static void a_wait_that_was_never_started_shuts_the_gate(void **state)
{
    (void)state;
    struct walked walked;
    walked_begin(&walked,
                 HEAD "steps:\n"
                      "  - {step: suck, do: Suck it out., awaits: soak}\n"
                      "  - {step: pour, do: Pour., starts: {soak: {at_least: 9 min}}}\n");
    assert_prompt(&walked, PROMPT_SHUT, "suck");
    assert_says(walked.prompt.question, "it waits for soak, which was never started");
    walked_replays(&walked);
    walked_close(&walked);
}

/* A pour that the procedure itself leaves out is not waited for. */
static void a_wait_whose_step_is_left_out_is_none(void **state)
{
    (void)state;
    struct walked walked;
    walked_begin(&walked, HEAD "inputs: {dry: {choices: [yes it is, not at all]}}\n"
                               "steps:\n"
                               "  - step: pour\n"
                               "    when: dry == \"yes it is\"\n"
                               "    do: Pour.\n"
                               "    starts: {soak: {at_least: 9 min}}\n"
                               "  - {step: suck, do: Suck it out., awaits: soak}\n");
    walked_say(&walked, "not at all");
    assert_prompt(&walked, PROMPT_ACTION, "suck");
    walked_close(&walked);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_skip_wants_a_reason_and_voids_the_proof),
        cmocka_unit_test(what_a_skipped_step_would_set_is_not_set),
        cmocka_unit_test(a_step_that_restores_is_not_skipped),
        cmocka_unit_test(a_hold_point_is_not_skipped),
        cmocka_unit_test(a_pause_asks_for_a_cue_and_asks_it_back),
        cmocka_unit_test(a_pause_without_a_cue_asks_nothing_back),
        cmocka_unit_test(the_last_steps_are_known_for_a_resume),
        cmocka_unit_test(an_end_with_something_owed_is_left_open),
        cmocka_unit_test(notes_belong_to_the_step_being_asked_about),
        cmocka_unit_test(a_step_that_starts_an_awaited_wait_is_not_skipped),
        cmocka_unit_test(a_wait_that_was_never_started_shuts_the_gate),
        cmocka_unit_test(a_wait_whose_step_is_left_out_is_none),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}

#include "support/walked_job.h"

static const char raised[] = HEAD "steps:\n"
                                  "  - {step: feel, do: Feel it., sets: [cool]}\n"
                                  "  - {step: chock, do: Chock., sets: [chocked]}\n"
                                  "  - step: measure\n"
                                  "    do: Measure.\n"
                                  "    caution: {hazard: Hot., harm: Burns.}\n"
                                  "    needs: [chocked]\n"
                                  "    record: {a: {unit: mm}, b: {unit: mm}}\n"
                                  "  - {step: unchock, do: Unchock., clears: [chocked]}\n";

static void walk_into_measuring(struct walked *walked)
{
    walked_begin(walked, raised);
    walked_say(walked, "cool");
    walked_say(walked, "stayed still");
    assert_prompt(walked, PROMPT_WARNING, "measure");
    walked_say(walked, "");
    walked_say(walked, "0.5");
    assert_prompt(walked, PROMPT_READING, "b");
}

/* A job that ended without a pause: only its events are left. */
static void crash(struct walked *walked)
{
    struct job *again = job_begin(&walked->sound, walked->fitted, &walked->arena);
    size_t count;
    const struct event *events = job_events(walked->job, &count);
    for (size_t i = 0; i < count; i++)
        job_apply(again, &events[i]);
    walked->job = again;
}

static void after_a_crash_everything_is_asked_again_but_what_was_answered_stands(void **state)
{
    (void)state;
    struct walked walked;
    walk_into_measuring(&walked);
    crash(&walked);
    assert_null(walked_newest(&walked, EVENT_PAUSED));
    walked_take(&walked, job_resume(walked.job, walked.now, &walked.scratch));
    assert_prompt(&walked, PROMPT_CONDITION, "chocked");
    walked_say(&walked, "stayed still");
    assert_prompt(&walked, PROMPT_CONDITION, "cool");
    walked_say(&walked, "cool");
    assert_prompt(&walked, PROMPT_WARNING, "measure");
    walked_say(&walked, "");
    assert_prompt(&walked, PROMPT_READING, "b");
    walked_replays(&walked);
    walked_close(&walked);
}

static void a_step_whose_last_answer_was_given_is_done_after_a_crash(void **state)
{
    (void)state;
    struct walked walked;
    walk_into_measuring(&walked);
    struct answer answer = {ANSWER_TYPED, TEXT("0.6")};
    walked.last = job_decide(walked.job, &walked.prompt, &answer, walked.now, &walked.scratch);
    walked_apply(&walked);
    crash(&walked);
    walked_take(&walked, job_resume(walked.job, walked.now, &walked.scratch));
    walked_say(&walked, "stayed still");
    walked_say(&walked, "cool");
    assert_prompt(&walked, PROMPT_ACTION, "unchock");
    walked_close(&walked);
}

static void a_condition_denied_on_a_resume_shuts_the_gate_of_the_current_step(void **state)
{
    (void)state;
    struct walked walked;
    walk_into_measuring(&walked);
    walked_stop_and_resume(&walked);
    walked_say(&walked, "moved");
    walked_say(&walked, "cool");
    assert_prompt(&walked, PROMPT_SHUT, "measure");
    walked_say(&walked, "do step 2 again");
    walked_say(&walked, "moved");
    assert_prompt(&walked, PROMPT_SHUT, "chock");
    walked_say(&walked, "go on without it");
    assert_prompt(&walked, PROMPT_SHUT, "measure");
    walked_say(&walked, "do step 2 again");
    walked_say(&walked, "stayed still");
    assert_prompt(&walked, PROMPT_WARNING, "measure");
    walked_replays(&walked);
    walked_close(&walked);
}

static void a_clock_that_goes_backwards_is_asked_about(void **state)
{
    (void)state;
    struct walked walked;
    walked_begin(&walked,
                 HEAD "steps:\n"
                      "  - {step: pour, do: Pour., starts: {soak: {at_least: 15 min}}}\n"
                      "  - {step: suck, do: Suck it out., awaits: soak}\n");
    walked_say(&walked, "");
    assert_prompt(&walked, PROMPT_WAIT, "suck");
    walked.now.wall -= 3600000;
    walked.now.steady += 300000;
    walked_look(&walked);
    assert_prompt(&walked, PROMPT_CLOCK, "");
    walked_say(&walked, "");
    assert_int_equal(walked.prompt.kind, PROMPT_CLOCK);
    walked_say(&walked, "-2 min");
    assert_refused(&walked, "backwards");
    walked_say(&walked, "5 mm");
    assert_refused(&walked, "time is wanted");
    long long asked = walked.now.wall;
    walked_say(&walked, "5 min");
    assert_prompt(&walked, PROMPT_WAIT, "suck");
    /* Ten minutes are left of fifteen, on the clock as it is now. */
    assert_in_range((unsigned long long)(walked.prompt.wakes_at - asked), 595000, 605000);
    walked_replays(&walked);
    walked_close(&walked);
}

static void a_clock_that_jumps_ahead_does_not_end_a_timer(void **state)
{
    (void)state;
    struct walked walked;
    walked_begin(&walked,
                 HEAD "steps:\n"
                      "  - {step: pour, do: Pour., starts: {soak: {at_least: 15 min}}}\n"
                      "  - {step: suck, do: Suck it out., awaits: soak}\n");
    walked_say(&walked, "");
    walked.now.wall += 3600000;
    walked.now.steady += 1000;
    walked_look(&walked);
    assert_int_equal(walked.prompt.kind, PROMPT_CLOCK);
    assert_says(walked.prompt.question, "How long was it really");
    walked_say(&walked, "1 min");
    assert_prompt(&walked, PROMPT_WAIT, "suck");
    walked_close(&walked);
}

static void another_day_on_another_boot_is_no_jump(void **state)
{
    (void)state;
    struct walked walked;
    walked_begin(&walked, raised);
    walked_take(&walked, job_pause(walked.job, PAUSED_STOPPED, walked.now, &walked.scratch));
    walked.now = (struct instant){walked.now.wall + 86400000, 100, TEXT("b")};
    walked_take(&walked, job_resume(walked.job, walked.now, &walked.scratch));
    assert_prompt(&walked, PROMPT_CONDITION, "cool");
    assert_true(walked_newest(&walked, EVENT_RESUMED)->value > 86000.0);
    walked_close(&walked);
}

static void the_answer_that_was_on_its_way_when_the_clock_jumped_is_kept(void **state)
{
    (void)state;
    struct walked walked;
    walk_into_measuring(&walked);
    walked.now.wall += 7200000;
    walked_say(&walked, "0.7");
    assert_int_equal(walked_newest(&walked, EVENT_READ)->repeat, 1);
    assert_true(text_equal(walked_newest(&walked, EVENT_READ)->typed, TEXT("0.7")));
    assert_int_equal(walked.prompt.kind, PROMPT_CLOCK);
    walked_say(&walked, "2 h");
    assert_prompt(&walked, PROMPT_ACTION, "unchock");
    walked_close(&walked);
}

static void what_is_asked_at_the_start_may_be_either_way(void **state)
{
    (void)state;
    struct walked walked;
    walked_begin(&walked, HEAD "conditions:\n"
                               "  full:\n"
                               "    ask: Where is the oil?\n"
                               "    expect: at the mark\n"
                               "    otherwise: [below]\n"
                               "    at_start: ask\n"
                               "steps:\n"
                               "  - {step: look, do: Look., forbids: [full]}\n");
    assert_prompt(&walked, PROMPT_CONDITION, "full");
    assert_null(walked.prompt.work);
    walked_replays(&walked);
    walked_say(&walked, "below");
    assert_prompt(&walked, PROMPT_ACTION, "look");
    walked_close(&walked);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(after_a_crash_everything_is_asked_again_but_what_was_answered_stands),
        cmocka_unit_test(a_step_whose_last_answer_was_given_is_done_after_a_crash),
        cmocka_unit_test(a_condition_denied_on_a_resume_shuts_the_gate_of_the_current_step),
        cmocka_unit_test(a_clock_that_goes_backwards_is_asked_about),
        cmocka_unit_test(a_clock_that_jumps_ahead_does_not_end_a_timer),
        cmocka_unit_test(another_day_on_another_boot_is_no_jump),
        cmocka_unit_test(the_answer_that_was_on_its_way_when_the_clock_jumped_is_kept),
        cmocka_unit_test(what_is_asked_at_the_start_may_be_either_way),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}

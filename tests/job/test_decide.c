#include "support/walked_job.h"

static void any_text_wants_two_words_and_no_denies(void **state)
{
    (void)state;
    struct walked walked;
    walked_begin(&walked, HEAD "conditions:\n"
                               "  seen: {ask: What is behind it?, expect: any text}\n"
                               "steps:\n"
                               "  - {step: look, do: Look., sets: [seen]}\n"
                               "  - {step: close, do: Close it., needs: [seen]}\n");
    assert_prompt(&walked, PROMPT_CONDITION, "seen");
    assert_true(walked.prompt.is_free_text);
    assert_int_equal(walked.prompt.choices.count, 0);
    walked_say(&walked, "");
    assert_refused(&walked, "two words");
    walked_say(&walked, "nothing");
    assert_refused(&walked, "two words");
    walked_say(&walked, "no");
    assert_prompt(&walked, PROMPT_SHUT, "look");
    walked_say(&walked, "do step 1 again");
    walked_say(&walked, "a wall");
    assert_prompt(&walked, PROMPT_ACTION, "close");
    walked_close(&walked);
}

static void a_condition_of_each_cylinder_is_asked_for_each(void **state)
{
    (void)state;
    struct walked walked;
    walked_begin(&walked, HEAD "conditions:\n"
                               "  dry:\n"
                               "    each: cylinder\n"
                               "    ask: What is in it?\n"
                               "    expect: nothing\n"
                               "    otherwise: [oil]\n"
                               "steps:\n"
                               "  - {step: look, each: cylinder, do: Look in., sets: [dry]}\n"
                               "  - {step: close, do: Close it., needs: [dry]}\n");
    const char *const typed[] = {"nothing", "nothing", "oil", "nothing"};
    for (int i = 0; i < 4; i++) {
        assert_prompt(&walked, PROMPT_CONDITION, "dry");
        assert_int_equal(walked.prompt.position, i);
        assert_says(walked.prompt.question, "What is in it?");
        walked_say(&walked, typed[i]);
        if (i == 2) {
            assert_says(walked.prompt.question, "NOT in force: dry, cylinder 3.");
            walked_say(&walked, "go on without it");
        }
    }
    assert_prompt(&walked, PROMPT_SHUT, "close");
    assert_says(walked.prompt.question, "dry, cylinder 3 is not in force");
    walked_say(&walked, "do step 1 again, cylinder 3");
    assert_int_equal(walked.prompt.position, 2);
    walked_say(&walked, "nothing");
    assert_prompt(&walked, PROMPT_ACTION, "close");
    walked_stop_and_resume(&walked);
    assert_prompt(&walked, PROMPT_CONDITION, "dry");
    assert_says(walked.prompt.question, "cylinder 1: What is in it?");
    walked_replays(&walked);
    walked_close(&walked);
}

static void an_interrupt_and_a_stop_are_pauses_with_their_cause(void **state)
{
    (void)state;
    struct walked walked;
    walked_begin(&walked, HEAD "steps:\n"
                               "  - {step: look, do: Look.}\n");
    walked_answer(&walked, (struct answer){.kind = ANSWER_INTERRUPT});
    assert_int_equal(walked_newest(&walked, EVENT_PAUSED)->detail, PAUSED_INTERRUPTED);
    walked_say(&walked, "");
    assert_refused(&walked, "nothing more");
    walked_take(&walked, job_resume(walked.job, walked.now, &walked.scratch));
    walked_answer(&walked, (struct answer){.kind = ANSWER_STOP});
    assert_int_equal(walked_newest(&walked, EVENT_PAUSED)->detail, PAUSED_STOPPED);
    walked_take(&walked, job_resume(walked.job, walked.now, &walked.scratch));
    walked_answer(&walked, (struct answer){.kind = ANSWER_WAKE});
    assert_prompt(&walked, PROMPT_ACTION, "look");
    walked_close(&walked);
}

static void an_answer_to_what_is_no_longer_asked_is_refused(void **state)
{
    (void)state;
    struct walked walked;
    walked_begin(&walked, HEAD "steps:\n"
                               "  - {step: one, do: Do one.}\n"
                               "  - {step: two, do: Do two.}\n");
    struct prompt first = walked.prompt;
    walked_say(&walked, "");
    walked.prompt = first;
    walked_say(&walked, "");
    assert_refused(&walked, "Meanwhile this has changed");
    assert_prompt(&walked, PROMPT_ACTION, "two");
    walked_close(&walked);
}

static void a_timer_that_ran_out_while_it_was_asked_lets_the_step_begin(void **state)
{
    (void)state;
    struct walked walked;
    walked_begin(&walked,
                 HEAD "steps:\n"
                      "  - {step: pour, do: Pour., starts: {soak: {at_least: 1 min}}}\n"
                      "  - {step: suck, do: Suck it out., awaits: soak}\n");
    walked_say(&walked, "");
    assert_prompt(&walked, PROMPT_WAIT, "suck");
    walked_pass(&walked, 61);
    walked_say(&walked, "");
    assert_taken(&walked);
    assert_prompt(&walked, PROMPT_ACTION, "suck");
    walked_close(&walked);
}

static void a_picture_that_cannot_be_made_has_a_reason(void **state)
{
    (void)state;
    struct walked walked;
    walked_begin(&walked, HEAD "steps:\n"
                               "  - {step: seat, do: Look at the seat., photo: required}\n");
    walked_say(&walked, "none ");
    assert_refused(&walked, "picture");
    walked_say(&walked, "none the camera is wet");
    assert_true(job_has_ended(walked.job));
    assert_true(
        text_equal(walked_newest(&walked, EVENT_NOTED)->reason, TEXT("the camera is wet")));
    walked_close(&walked);
}

static void a_when_that_cannot_be_worked_out_stops_until_it_is_corrected(void **state)
{
    (void)state;
    struct walked walked;
    walked_begin(&walked, HEAD
                 "steps:\n"
                 "  - {step: measure, do: Measure., record: {a: {unit: V}, b: {unit: V}}}\n"
                 "  - {step: charge, when: a / b > 2, do: Charge it.}\n");
    walked_say(&walked, "12");
    walked_say(&walked, "0");
    assert_prompt(&walked, PROMPT_SHUT, "charge");
    assert_says(walked.prompt.question, "cannot be worked out");
    walked_take(&walked,
                job_amend(walked.job, walked_newest(&walked, EVENT_READ)->number, TEXT("3"),
                          TEXT("probe was off"), walked.now, &walked.scratch));
    assert_prompt(&walked, PROMPT_ACTION, "charge");
    walked_replays(&walked);
    walked_close(&walked);
}

static const char raised[] =
    HEAD "steps:\n"
         "  - {step: chock, do: Chock., sets: [chocked]}\n"
         "  - {step: stand, do: Stand., needs: [chocked], sets: [on_stands]}\n"
         "  - {step: work, do: Work., activity: under}\n"
         "  - {step: lower, do: Lower., clears: [on_stands]}\n"
         "  - {step: unchock, do: Unchock., clears: [chocked]}\n";

static void a_step_being_done_again_can_be_left(void **state)
{
    (void)state;
    struct walked walked;
    walked_begin(&walked, raised);
    walked_say(&walked, "stayed still");
    walked_say(&walked, "rocked");
    assert_prompt(&walked, PROMPT_SHUT, "stand");
    walked_say(&walked, "do step 2 again");
    assert_prompt(&walked, PROMPT_CONDITION, "on_stands");
    walked_stop_and_resume(&walked);
    walked_say(&walked, "moved");
    assert_prompt(&walked, PROMPT_SHUT, "stand");
    assert_true(walked_has_choice(&walked, "do steps 1 and 2 again, in this order"));
    walked_replays(&walked);
    walked_say(&walked, "leave it");
    assert_int_equal(walked.prompt.kind, PROMPT_SHUT);
    assert_false(walked_has_choice(&walked, "leave it and go back"));
    walked_say(&walked, "do step 1 again");
    walked_say(&walked, "stayed still");
    assert_prompt(&walked, PROMPT_SHUT, "work");
    walked_say(&walked, "do step 2 again");
    walked_say(&walked, "stood firm");
    assert_prompt(&walked, PROMPT_WARNING, "work");
    walked_close(&walked);
}

static void where_no_order_to_make_safe_is_found_it_is_said(void **state)
{
    (void)state;
    struct walked walked;
    walked_begin(&walked, HEAD
                 "conditions:\n"
                 "  wedged: {restore: Take the wedge out.}\n"
                 "steps:\n"
                 "  - {step: feel, do: Take it off and feel., removes: cap, sets: [cool]}\n"
                 "  - {step: wedge, do: Wedge it., sets: [wedged]}\n"
                 "  - {step: sweep, do: Sweep.}\n"
                 "  - {step: free, do: Free it., needs: [cool], clears: [wedged]}\n"
                 "  - {step: cap_on, do: Put it on., refits: cap}\n");
    walked_say(&walked, "cool");
    walked_say(&walked, "");
    walked_stop_and_resume(&walked);
    walked_say(&walked, "hot");
    walked_take(&walked, job_begin_makesafe(walked.job, walked.now, &walked.scratch));
    assert_true(job_is_making_safe(walked.job));
    assert_int_equal(walked.prompt.kind, PROMPT_SHUT);
    assert_says(walked.prompt.question, "No order was found");
    assert_says(walked.prompt.question, "Take the wedge out.");
    walked_say(&walked, "end the job");
    assert_true(job_has_ended(walked.job));
    assert_says(walked_newest(&walked, EVENT_ENDED)->meaning, "1 cap out");
    walked_close(&walked);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(any_text_wants_two_words_and_no_denies),
        cmocka_unit_test(a_condition_of_each_cylinder_is_asked_for_each),
        cmocka_unit_test(an_interrupt_and_a_stop_are_pauses_with_their_cause),
        cmocka_unit_test(an_answer_to_what_is_no_longer_asked_is_refused),
        cmocka_unit_test(a_timer_that_ran_out_while_it_was_asked_lets_the_step_begin),
        cmocka_unit_test(a_picture_that_cannot_be_made_has_a_reason),
        cmocka_unit_test(a_when_that_cannot_be_worked_out_stops_until_it_is_corrected),
        cmocka_unit_test(a_step_being_done_again_can_be_left),
        cmocka_unit_test(where_no_order_to_make_safe_is_found_it_is_said),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}

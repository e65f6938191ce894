#include "support/walked_job.h"

static const char cranked[] = HEAD "steps:\n"
                                   "  - {step: chock, do: Chock., sets: [chocked]}\n"
                                   "  - {step: spin, do: Crank., activity: crank}\n"
                                   "  - {step: unchock, do: Unchock., clears: [chocked]}\n";

static void what_is_asked_at_every_gate_is_asked_at_every_gate(void **state)
{
    (void)state;
    struct walked walked;
    walked_begin(&walked, cranked);
    assert_prompt(&walked, PROMPT_CONDITION, "chocked");
    walked_say(&walked, "stayed still");
    assert_prompt(&walked, PROMPT_CONDITION, "area_clear");
    walked_say(&walked, "");
    assert_refused(&walked, "Enter alone");
    walked_say(&walked, "someone");
    assert_false(walked_newest(&walked, EVENT_ENTERED)->spot.work == 2);
    assert_prompt(&walked, PROMPT_CONDITION, "area_clear");
    walked_say(&walked, "nobody");
    assert_prompt(&walked, PROMPT_WARNING, "spin");
    walked_say(&walked, "");
    assert_prompt(&walked, PROMPT_ACTION, "spin");
    walked_stop_and_resume(&walked);
    assert_prompt(&walked, PROMPT_CONDITION, "chocked");
    walked_say(&walked, "stayed still");
    assert_prompt(&walked, PROMPT_CONDITION, "area_clear");
    walked_say(&walked, "nobody");
    assert_prompt(&walked, PROMPT_WARNING, "spin");
    walked_replays(&walked);
    walked_say(&walked, "");
    walked_say(&walked, "");
    walked_say(&walked, "");
    assert_true(job_has_ended(walked.job));
    assert_int_equal(walked_newest(&walked, EVENT_ENDED)->detail, ENDED_COMPLETED);
    walked_close(&walked);
}

/* A single letter at a precaution is a slip of the finger. */
static void a_precaution_is_answered_by_number_or_all_its_words(void **state)
{
    (void)state;
    struct walked walked;
    walked_begin(&walked, cranked);
    walked_say(&walked, "s");
    assert_refused(&walked, "only the beginning");
    walked_say(&walked, "stayed");
    assert_refused(&walked, "all its words");
    assert_prompt(&walked, PROMPT_CONDITION, "chocked");
    walked_say(&walked, " Stayed  STILL ");
    assert_prompt(&walked, PROMPT_CONDITION, "area_clear");
    walked_close(&walked);
}

static void a_shut_gate_says_what_is_missing_and_lets_it_be_done_again(void **state)
{
    (void)state;
    struct walked walked;
    walked_begin(&walked, cranked);
    walked_say(&walked, "moved");
    assert_prompt(&walked, PROMPT_SHUT, "chock");
    walked_say(&walked, "go on without it");
    assert_prompt(&walked, PROMPT_SHUT, "spin");
    assert_says(walked.prompt.question, "chocked is not in force; step 1, chock, sets it");
    assert_true(walked_has_choice(&walked, "do chock again"));
    assert_true(walked_has_choice(&walked, "make safe"));
    assert_true(walked_has_choice(&walked, "pause"));
    walked_say(&walked, "");
    assert_refused(&walked, "Enter alone");
    walked_replays(&walked);
    walked_say(&walked, "do chock again");
    assert_prompt(&walked, PROMPT_CONDITION, "chocked");
    assert_int_equal(walked_newest(&walked, EVENT_ENTERED)->detail, ENTERED_REDO);
    walked_replays(&walked);
    walked_say(&walked, "stayed still");
    assert_prompt(&walked, PROMPT_CONDITION, "area_clear");
    walked_close(&walked);
}

static void what_a_step_failed_to_set_is_told_at_once(void **state)
{
    (void)state;
    struct walked walked;
    walked_begin(&walked, cranked);
    walked_say(&walked, "moved");
    assert_prompt(&walked, PROMPT_SHUT, "chock");
    assert_says(walked.prompt.question, "NOT in force: chocked.");
    assert_true(walked_has_choice(&walked, "do chock again"));
    assert_true(walked_has_choice(&walked, "go on without it"));
    assert_true(walked_has_choice(&walked, "make safe"));
    assert_true(walked_has_choice(&walked, "pause"));
    const struct text *names;
    const struct work *all = walked.sound.procedure->works[0];
    assert_int_equal(job_denied(walked.job, all, &names, &walked.scratch), 1);
    assert_says(names[0], "chocked");
    walked_replays(&walked);
    walked_stop_and_resume(&walked);
    assert_prompt(&walked, PROMPT_SHUT, "chock");
    walked_say(&walked, "do chock again");
    assert_prompt(&walked, PROMPT_CONDITION, "chocked");
    walked_say(&walked, "stayed still");
    assert_int_equal(job_denied(walked.job, all, &names, &walked.scratch), 0);
    assert_prompt(&walked, PROMPT_CONDITION, "area_clear");
    walked_replays(&walked);
    walked_close(&walked);
}

static void a_skip_never_passes_a_shut_gate(void **state)
{
    (void)state;
    struct walked walked;
    walked_begin(&walked, cranked);
    walked_say(&walked, "moved");
    walked_say(&walked, "go on without it");
    walked_take(&walked, job_skip(walked.job, TEXT("in a hurry"), walked.now, &walked.scratch));
    assert_refused(&walked, "cannot be skipped");
    assert_prompt(&walked, PROMPT_SHUT, "spin");
    walked_close(&walked);
}

static void what_lapsed_is_asked_at_the_next_gate_that_needs_it(void **state)
{
    (void)state;
    struct walked walked;
    walked_begin(&walked,
                 HEAD "steps:\n"
                      "  - {step: chock, do: Chock., sets: [chocked]}\n"
                      "  - {step: stand, do: Stand., needs: [chocked], sets: [on_stands]}\n"
                      "  - {step: work, do: Work., activity: under}\n"
                      "  - {step: lower, do: Lower., clears: [on_stands]}\n"
                      "  - {step: unchock, do: Unchock., clears: [chocked]}\n");
    walked_say(&walked, "stayed still");
    walked_say(&walked, "stood firm");
    assert_prompt(&walked, PROMPT_WARNING, "work");
    walked_pass(&walked, 31 * 60);
    walked_look(&walked);
    assert_prompt(&walked, PROMPT_CONDITION, "on_stands");
    walked_say(&walked, "stood firm");
    assert_prompt(&walked, PROMPT_WARNING, "work");
    walked_close(&walked);
}

static void a_denial_that_breaks_what_is_required_stops_the_work(void **state)
{
    (void)state;
    struct walked walked;
    walked_begin(&walked,
                 HEAD "steps:\n"
                      "  - {step: chock, do: Chock., sets: [chocked]}\n"
                      "  - {step: stand, do: Stand., needs: [chocked], sets: [on_stands]}\n"
                      "  - {step: sweep, do: Sweep.}\n"
                      "  - {step: lower, do: Lower., clears: [on_stands]}\n"
                      "  - {step: unchock, do: Unchock., clears: [chocked]}\n");
    walked_say(&walked, "stayed still");
    walked_say(&walked, "stood firm");
    walked_stop_and_resume(&walked);
    assert_prompt(&walked, PROMPT_CONDITION, "chocked");
    walked_say(&walked, "moved");
    /* nobody is sent to shake the stands of a vehicle that rolls */
    assert_int_equal(walked.prompt.kind, PROMPT_SHUT);
    assert_null(walked.prompt.work);
    assert_true(walked_has_choice(&walked, "do chock again"));
    walked_say(&walked, "do chock again");
    walked_say(&walked, "stayed still");
    assert_prompt(&walked, PROMPT_CONDITION, "on_stands");
    walked_say(&walked, "stood firm");
    assert_prompt(&walked, PROMPT_ACTION, "sweep");
    walked_close(&walked);
}

static void make_safe_is_walked_step_by_step(void **state)
{
    (void)state;
    struct walked walked;
    walked_begin(&walked,
                 HEAD "steps:\n"
                      "  - {step: chock, do: Chock., sets: [chocked]}\n"
                      "  - {step: stand, do: Stand., needs: [chocked], sets: [on_stands]}\n"
                      "  - {step: sweep, do: Sweep.}\n"
                      "  - {step: lower, do: Lower., clears: [on_stands]}\n"
                      "  - {step: unchock, do: Unchock., clears: [chocked]}\n");
    walked_say(&walked, "stayed still");
    walked_say(&walked, "stood firm");
    walked_take(&walked, job_begin_makesafe(walked.job, walked.now, &walked.scratch));
    assert_prompt(&walked, PROMPT_ACTION, "lower");
    assert_int_equal(walked_newest(&walked, EVENT_ENTERED)->detail, ENTERED_MAKESAFE);
    walked_replays(&walked);
    walked_say(&walked, "");
    assert_prompt(&walked, PROMPT_ACTION, "unchock");
    walked_say(&walked, "");
    assert_int_equal(walked.prompt.kind, PROMPT_SHUT);
    assert_true(walked_has_choice(&walked, "go on with the work"));
    walked_replays(&walked);
    walked_say(&walked, "go on");
    assert_prompt(&walked, PROMPT_ACTION, "sweep");
    walked_say(&walked, "");
    assert_prompt(&walked, PROMPT_ACTION, "lower");
    walked_close(&walked);
}

/* The danger was read and the step stood on the screen; then everything it relied on was undone. */
static void a_step_on_show_is_gated_anew_after_making_safe(void **state)
{
    (void)state;
    struct walked walked;
    walked_begin(&walked,
                 HEAD "steps:\n"
                      "  - {step: chock, do: Chock., sets: [chocked]}\n"
                      "  - {step: stand, do: Stand., needs: [chocked], sets: [on_stands]}\n"
                      "  - {step: work, do: Work., activity: under}\n"
                      "  - {step: lower, do: Lower., clears: [on_stands]}\n"
                      "  - {step: unchock, do: Unchock., clears: [chocked]}\n");
    walked_say(&walked, "stayed still");
    walked_say(&walked, "stood firm");
    walked_say(&walked, ""); /* the danger */
    assert_prompt(&walked, PROMPT_ACTION, "work");
    walked_take(&walked, job_begin_makesafe(walked.job, walked.now, &walked.scratch));
    walked_say(&walked, "");
    walked_say(&walked, "");
    walked_say(&walked, "go on with the work");
    assert_int_equal(walked.prompt.kind, PROMPT_SHUT);
    assert_true(walked_has_choice(&walked, "do chock again"));
    walked_replays(&walked);
    walked_close(&walked);
}

static void make_safe_ends_with_the_job_left_open(void **state)
{
    (void)state;
    struct walked walked;
    walked_begin(&walked, cranked);
    walked_say(&walked, "stayed still");
    walked_take(&walked, job_begin_makesafe(walked.job, walked.now, &walked.scratch));
    walked_say(&walked, "");
    walked_say(&walked, "end the job");
    assert_true(job_has_ended(walked.job));
    assert_int_equal(walked_newest(&walked, EVENT_ENDED)->detail, ENDED_LEFT_OPEN);
    walked_close(&walked);
}

static void a_condition_of_one_cylinder_forbids_only_while_it_holds(void **state)
{
    (void)state;
    struct walked walked;
    walked_begin(&walked, HEAD "steps:\n"
                               "  - {step: chock, do: Chock., sets: [chocked]}\n"
                               "  - section: Wet\n"
                               "    each: cylinder\n"
                               "    in: [3]\n"
                               "    steps:\n"
                               "      - {step: oil_in, do: Squirt., sets: [wet]}\n"
                               "      - {step: turn, do: Turn., clears: [wet]}\n"
                               "  - {step: spin, do: Crank., activity: crank}\n"
                               "  - {step: unchock, do: Unchock., clears: [chocked]}\n");
    walked_say(&walked, "stayed still");
    walked_say(&walked, "");
    const struct condition_state *conditions = job_conditions(walked.job);
    int wet = procedure_find_condition(walked.sound.procedure, TEXT("wet"));
    assert_true(condition_at(conditions, (unsigned)wet, 2)->is_true);
    assert_false(condition_at(conditions, (unsigned)wet, 1)->is_true);
    walked_say(&walked, "");
    assert_prompt(&walked, PROMPT_CONDITION, "area_clear");
    walked_close(&walked);
}

static void what_is_asked_at_every_gate_is_asked_again_after_a_skip(void **state)
{
    (void)state;
    struct walked walked;
    walked_begin(&walked, HEAD "steps:\n"
                               "  - {step: chock, do: Chock., sets: [chocked]}\n"
                               "  - {step: spin, do: Crank., activity: crank}\n"
                               "  - {step: spin_again, do: Crank., activity: crank}\n"
                               "  - {step: unchock, do: Unchock., clears: [chocked]}\n");
    walked_say(&walked, "stayed still");
    walked_say(&walked, "nobody");
    assert_prompt(&walked, PROMPT_WARNING, "spin");
    walked_take(&walked, job_skip(walked.job, TEXT("flat"), walked.now, &walked.scratch));
    assert_taken(&walked);
    assert_prompt(&walked, PROMPT_CONDITION, "area_clear");
    walked_replays(&walked);
    walked_close(&walked);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(what_is_asked_at_every_gate_is_asked_at_every_gate),
        cmocka_unit_test(a_precaution_is_answered_by_number_or_all_its_words),
        cmocka_unit_test(a_shut_gate_says_what_is_missing_and_lets_it_be_done_again),
        cmocka_unit_test(what_a_step_failed_to_set_is_told_at_once),
        cmocka_unit_test(a_skip_never_passes_a_shut_gate),
        cmocka_unit_test(what_lapsed_is_asked_at_the_next_gate_that_needs_it),
        cmocka_unit_test(a_denial_that_breaks_what_is_required_stops_the_work),
        cmocka_unit_test(make_safe_is_walked_step_by_step),
        cmocka_unit_test(a_step_on_show_is_gated_anew_after_making_safe),
        cmocka_unit_test(make_safe_ends_with_the_job_left_open),
        cmocka_unit_test(what_is_asked_at_every_gate_is_asked_again_after_a_skip),
        cmocka_unit_test(a_condition_of_one_cylinder_forbids_only_while_it_holds),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}

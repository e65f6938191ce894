#include "support/walked_job.h"

static void warnings_are_acknowledged_before_the_step_begins(void **state)
{
    (void)state;
    struct walked walked;
    walked_begin(&walked, HEAD "steps:\n"
                               "  - step: blow\n"
                               "    do: Blow it out.\n"
                               "    caution: {hazard: Grit flies., harm: Eyes.}\n"
                               "  - step: wipe\n"
                               "    do: Wipe it.\n"
                               "    notice: Rags are in the drawer.\n");
    assert_prompt(&walked, PROMPT_WARNING, "blow");
    assert_null(walked_newest(&walked, EVENT_ENTERED));
    walked_say(&walked, "yes");
    assert_refused(&walked, "Enter alone");
    walked_say(&walked, "");
    assert_prompt(&walked, PROMPT_ACTION, "blow");
    walked_say(&walked, "");
    assert_prompt(&walked, PROMPT_ACTION, "wipe");
    walked_close(&walked);
}

static const char hold[] = HEAD "steps:\n"
                                "  - step: turn\n"
                                "    do: Turn it.\n"
                                "    hold: {ask: How did it turn?, expect: freely, otherwise: "
                                "[hard, not at all]}\n"
                                "  - {step: last, do: Close it.}\n";

static void a_hold_point_is_passed_by_its_answer_only(void **state)
{
    (void)state;
    struct walked walked;
    walked_begin(&walked, hold);
    assert_prompt(&walked, PROMPT_HOLD, "turn");
    assert_false(walked.prompt.enter_passes);
    walked_say(&walked, "");
    assert_refused(&walked, "Enter alone");
    assert_prompt(&walked, PROMPT_HOLD, "turn");
    walked_say(&walked, "hard");
    assert_refused(&walked, "does not go on");
    assert_int_equal(walked_newest(&walked, EVENT_ANSWERED)->detail, ANSWERED_HOLD);
    assert_prompt(&walked, PROMPT_HOLD, "turn");
    walked_replays(&walked);
    walked_say(&walked, "f");
    assert_refused(&walked, "only the beginning");
    walked_say(&walked, "freel");
    assert_refused(&walked, "all its words");
    assert_prompt(&walked, PROMPT_HOLD, "turn");
    walked_say(&walked, " FREELY ");
    assert_prompt(&walked, PROMPT_ACTION, "last");
    walked_close(&walked);
}

static void the_end_of_input_pauses_at_a_hold_point(void **state)
{
    (void)state;
    struct walked walked;
    walked_begin(&walked, hold);
    walked_answer(&walked, (struct answer){.kind = ANSWER_END});
    assert_true(job_is_paused(walked.job));
    assert_int_equal(walked_newest(&walked, EVENT_PAUSED)->detail, PAUSED_INPUT_ENDED);
    assert_prompt(&walked, PROMPT_ENDED, "");
    walked_take(&walked, job_resume(walked.job, walked.now, &walked.scratch));
    assert_prompt(&walked, PROMPT_HOLD, "turn");
    walked_close(&walked);
}

static void the_order_of_answers_varies_but_is_the_same_again(void **state)
{
    (void)state;
    struct walked walked;
    walked_begin(&walked, hold);
    bool varied = false;
    struct text first = walked.prompt.choices.texts[0];
    for (int i = 0; i < 12; i++) {
        walked_replays(&walked);
        walked_say(&walked, "hard");
        varied = varied || !text_equal(first, walked.prompt.choices.texts[0]);
    }
    assert_true(varied);
    walked_close(&walked);
}

static const char soak[] = HEAD "steps:\n"
                                "  - step: pour\n"
                                "    do: Pour it.\n"
                                "    starts: {soak: {at_least: 15 min, at_most: 30 min}}\n"
                                "  - {step: sweep, do: Sweep the floor.}\n"
                                "  - {step: suck, do: Suck it out., awaits: soak}\n"
                                "results:\n"
                                "  - {result: over, value: late(soak), unit: min}\n"
                                "  - {result: soaked, value: elapsed(soak), unit: min}\n";

static void too_early_is_refused_and_other_steps_go_on(void **state)
{
    (void)state;
    struct walked walked;
    walked_begin(&walked, soak);
    walked_say(&walked, "");
    long long started = walked_newest(&walked, EVENT_DONE)->at.wall;
    assert_prompt(&walked, PROMPT_ACTION, "sweep");
    walked_pass(&walked, 60);
    walked_say(&walked, "");
    assert_prompt(&walked, PROMPT_WAIT, "suck");
    assert_true(walked.prompt.wakes_at == started + 15 * 60000);
    assert_says(walked.prompt.question, "Wait (soak): 14\u00a0min to go, until ");
    walked_say(&walked, "");
    assert_refused(&walked, "Not yet");
    assert_prompt(&walked, PROMPT_WAIT, "suck");
    walked_stop_and_resume(&walked);
    assert_prompt(&walked, PROMPT_WAIT, "suck");
    walked_pass(&walked, 14 * 60);
    walked_answer(&walked, (struct answer){.kind = ANSWER_WAKE});
    assert_prompt(&walked, PROMPT_ACTION, "suck");
    assert_false(walked_newest(&walked, EVENT_ENTERED)->has_value);
    walked_close(&walked);
}

static void too_late_is_taken_and_written_down(void **state)
{
    (void)state;
    struct walked walked;
    walked_begin(&walked, soak);
    walked_say(&walked, "");
    walked_pass(&walked, 40 * 60);
    walked_say(&walked, "");
    assert_prompt(&walked, PROMPT_ACTION, "suck");
    const struct event *entered = walked_newest(&walked, EVENT_ENTERED);
    assert_true(entered->has_value);
    assert_true(entered->value > 10 * 60 && entered->value < 10 * 60 + 10);
    walked_pass(&walked, 3600);
    walked_say(&walked, "");
    struct value over = walked_value(&walked, "over", &walked.scratch);
    struct value soaked = walked_value(&walked, "soaked", &walked.scratch);
    assert_true(over.items[0].number.value == entered->value);
    assert_true(soaked.items[0].number.value == entered->value + 30 * 60);
    walked_close(&walked);
}

static const char pour[] = HEAD "steps:\n"
                                "  - step: fill\n"
                                "    once: true\n"
                                "    do: Pour it in.\n"
                                "  - {step: last, do: Close it.}\n";

static void a_pour_that_was_begun_is_not_doubled(void **state)
{
    (void)state;
    struct walked walked;
    walked_begin(&walked, pour);
    assert_prompt(&walked, PROMPT_ACTION, "fill");
    walked_stop_and_resume(&walked);
    assert_prompt(&walked, PROMPT_ONCE, "fill");
    walked_say(&walked, "");
    assert_refused(&walked, "Enter alone");
    walked_say(&walked, "finished");
    assert_prompt(&walked, PROMPT_ACTION, "last");
    walked_replays(&walked);
    walked_close(&walked);
}

static void a_pour_that_was_not_begun_is_begun(void **state)
{
    (void)state;
    struct walked walked;
    walked_begin(&walked, pour);
    walked_stop_and_resume(&walked);
    walked_say(&walked, "not begun");
    assert_prompt(&walked, PROMPT_ACTION, "fill");
    assert_int_equal(walked_count(&walked, EVENT_ENTERED), 2);
    walked_close(&walked);
}

static void an_optional_step_may_be_passed_over(void **state)
{
    (void)state;
    struct walked walked;
    walked_begin(&walked, HEAD "steps:\n"
                               "  - {step: polish, do: Polish it., optional: true}\n"
                               "  - {step: wax, do: Wax it., optional: true}\n");
    assert_prompt(&walked, PROMPT_OPTIONAL, "polish");
    walked_say(&walked, "pass it over");
    assert_prompt(&walked, PROMPT_OPTIONAL, "wax");
    walked_say(&walked, "1");
    assert_prompt(&walked, PROMPT_ACTION, "wax");
    walked_say(&walked, "");
    assert_true(job_has_ended(walked.job));
    assert_int_equal(job_void_from(walked.job), 0);
    walked_close(&walked);
}

static void too_much_of_something_shuts_the_step(void **state)
{
    (void)state;
    struct walked walked;
    walked_begin(&walked, HEAD "inputs:\n"
                               "  dose: {unit: mL}\n"
                               "steps:\n"
                               "  - step: squirt\n"
                               "    do: Squirt it in.\n"
                               "    consumes: {oil: {is: dose, at_most: 4 mL}}\n");
    walked_say(&walked, "5 mL");
    assert_prompt(&walked, PROMPT_SHUT, "squirt");
    assert_says(walked.prompt.question, "of oil is more than");
    walked_take(&walked, job_amend(walked.job, 2, TEXT("3 mL"), TEXT("misread"), walked.now,
                                   &walked.scratch));
    assert_taken(&walked);
    assert_prompt(&walked, PROMPT_ACTION, "squirt");
    walked_close(&walked);
}

static void a_required_picture_is_waited_for(void **state)
{
    (void)state;
    struct walked walked;
    walked_begin(&walked, HEAD "steps:\n"
                               "  - {step: seat, do: Look at the seat., photo: required}\n");
    assert_prompt(&walked, PROMPT_ACTION, "photo");
    assert_false(walked.prompt.enter_passes);
    walked_say(&walked, "");
    assert_refused(&walked, "picture");
    walked_take(&walked, job_attach(walked.job, TEXT("seat.jpg"), TEXT("xyz"), walked.now,
                                    &walked.scratch));
    assert_true(job_has_ended(walked.job));
    assert_int_equal(walked_newest(&walked, EVENT_ATTACHED)->bytes.length, 0);
    walked_close(&walked);
}

static void the_wrench_is_set_for_its_extension(void **state)
{
    (void)state;
    struct walked walked;
    walked_begin(&walked, HEAD "machine:\n"
                               "  plug_torque: N.m\n"
                               "steps:\n"
                               "  - step: tighten\n"
                               "    do: Tighten it.\n"
                               "    torque: {is: machine.plug_torque, extension: 100 mm, "
                               "wrench_length: 400 mm}\n");
    assert_prompt(&walked, PROMPT_READING, "tighten.torque");
    /* 21 N·m with 100 mm on 400 mm: 21 x 400 / 500 (TM 1-1500-204-23-9). */
    double si;
    assert_true(job_wrench_setting(walked.job, &walked.prompt.spot, &si, &walked.scratch));
    assert_true(si > 16.7999 && si < 16.8001);
    assert_says(walked.prompt.question, "set the wrench to 16.8");
    walked_say(&walked, "16.8");
    assert_true(job_has_ended(walked.job));
    walked_close(&walked);
}

static const char two_set[] =
    HEAD "steps:\n"
         "  - {step: both, do: Put it in order., sets: [chocked, cool, on_stands]}\n"
         "  - {step: work, do: Work., needs: [chocked, cool, on_stands]}\n"
         "  - {step: lower, do: Lower it., clears: [on_stands]}\n"
         "  - {step: unchock, do: Unchock., clears: [chocked]}\n";

static void what_a_step_sets_is_asked_anew_after_a_stop(void **state)
{
    (void)state;
    struct walked walked;
    walked_begin(&walked, two_set);
    walked_say(&walked, "stayed still");
    walked_say(&walked, "cool");
    assert_prompt(&walked, PROMPT_CONDITION, "on_stands");
    walked_stop_and_resume(&walked);
    assert_prompt(&walked, PROMPT_CONDITION, "chocked");
    walked_say(&walked, "stayed still");
    assert_prompt(&walked, PROMPT_CONDITION, "cool");
    walked_say(&walked, "hot");
    assert_prompt(&walked, PROMPT_CONDITION, "on_stands");
    walked_replays(&walked);
    walked_say(&walked, "stood firm");
    assert_prompt(&walked, PROMPT_SHUT, "both");
    assert_says(walked.prompt.question, "NOT in force: cool.");
    walked_replays(&walked);
    walked_close(&walked);
}

static void what_a_step_sets_is_asked_anew_when_the_end_was_not_recorded(void **state)
{
    (void)state;
    struct walked walked;
    walked_begin(&walked,
                 HEAD "steps:\n"
                      "  - {step: chock, do: Chock., sets: [chocked], photo: required}\n"
                      "  - {step: unchock, do: Unchock., clears: [chocked]}\n");
    walked_say(&walked, "stayed still");
    assert_prompt(&walked, PROMPT_ACTION, "photo");
    walked_stop_and_resume(&walked);
    assert_prompt(&walked, PROMPT_CONDITION, "chocked");
    walked_replays(&walked);
    walked_close(&walked);
}

static void what_was_seen_counts_from_its_answer(void **state)
{
    (void)state;
    struct walked walked;
    walked_begin(&walked, HEAD "steps:\n"
                               "  - {step: chock, do: Chock., sets: [chocked]}\n"
                               "  - step: stand\n"
                               "    do: Stand.\n"
                               "    sets: [on_stands]\n"
                               "    photo: required\n"
                               "  - {step: work, do: Work., activity: under}\n"
                               "  - {step: lower, do: Lower it., clears: [on_stands]}\n"
                               "  - {step: unchock, do: Unchock., clears: [chocked]}\n");
    walked_say(&walked, "stayed still");
    walked_say(&walked, "stood firm");
    assert_prompt(&walked, PROMPT_ACTION, "photo");
    walked_pass(&walked, 31 * 60);
    walked_say(&walked, "none no camera here");
    assert_prompt(&walked, PROMPT_CONDITION, "on_stands");
    walked_replays(&walked);
    walked_close(&walked);
}

static void an_amount_corrected_upwards_shuts_a_step_that_is_being_done(void **state)
{
    (void)state;
    struct walked walked;
    walked_begin(&walked, HEAD "inputs:\n"
                               "  dose: {unit: mL}\n"
                               "steps:\n"
                               "  - step: squirt\n"
                               "    do: Squirt it in.\n"
                               "    consumes: {oil: {is: dose, at_most: 4 mL}}\n");
    walked_say(&walked, "3 mL");
    assert_prompt(&walked, PROMPT_ACTION, "squirt");
    walked_take(&walked, job_amend(walked.job, 2, TEXT("9000 mL"), TEXT("misread"), walked.now,
                                   &walked.scratch));
    assert_prompt(&walked, PROMPT_SHUT, "squirt");
    assert_says(walked.prompt.question, "of oil is more than");
    walked_replays(&walked);
    walked_take(&walked, job_amend(walked.job, 2, TEXT("2 mL"), TEXT("misread"), walked.now,
                                   &walked.scratch));
    assert_prompt(&walked, PROMPT_ACTION, "squirt");
    walked_say(&walked, "");
    assert_true(job_has_ended(walked.job));
    walked_close(&walked);
}

static void what_is_missing_shuts_the_gate(void **state)
{
    (void)state;
    static const char *const uses[] = {
        "consumes: {oil: {is: earlier.r * 1 mL, at_most: 5 mL}}",
        "torque: earlier.r * 1 N.m",
        "starts: {soak: {at_least: earlier.r * 1 min}}",
    };
    for (size_t i = 0; i < sizeof uses / sizeof *uses; i++) {
        struct walked walked;
        char procedure[500];
        (void)snprintf(procedure, sizeof procedure,
                       HEAD "inputs: {r: {unit: \"1\"}}\n"
                            "steps:\n  - {step: b, do: Pour., %s}\n",
                       uses[i]);
        walked_begin(&walked, procedure);
        walked_say(&walked, "2");
        if (walked.prompt.kind == PROMPT_READING)
            walked_say(&walked, "2 N.m");
        assert_prompt(&walked, PROMPT_SHUT, "b");
        assert_says(walked.prompt.question, "earlier.r is missing");
        walked_close(&walked);
    }
}

static void a_question_of_the_gate_comes_after_the_wait(void **state)
{
    (void)state;
    struct walked walked;
    walked_begin(&walked,
                 HEAD "steps:\n"
                      "  - {step: chock, do: Chock., sets: [chocked]}\n"
                      "  - {step: pour, do: Pour., starts: {soak: {at_least: 15 min}}}\n"
                      "  - {step: spin, do: Spin it., activity: crank, awaits: soak}\n"
                      "  - {step: unchock, do: Unchock., clears: [chocked]}\n");
    walked_say(&walked, "stayed still");
    walked_say(&walked, "");
    assert_prompt(&walked, PROMPT_WAIT, "spin");
    walked_pass(&walked, 15 * 60);
    walked_answer(&walked, (struct answer){.kind = ANSWER_WAKE});
    assert_prompt(&walked, PROMPT_CONDITION, "area_clear");
    walked_say(&walked, "nobody");
    assert_prompt(&walked, PROMPT_WARNING, "spin");
    walked_replays(&walked);
    walked_close(&walked);
}

static void the_same_warning_twice_running_is_shown_but_not_asked_for(void **state)
{
    (void)state;
    struct walked walked;
    walked_begin(&walked, HEAD "steps:\n"
                               "  - step: blow\n"
                               "    each: cylinder\n"
                               "    do: Blow it out.\n"
                               "    caution: {hazard: Grit flies., harm: Eyes.}\n"
                               "  - step: brush\n"
                               "    do: Brush it.\n"
                               "    caution: {hazard: Bristles fly., harm: Eyes.}\n"
                               "  - step: blow_again\n"
                               "    do: Blow again.\n"
                               "    caution: {hazard: Grit flies., harm: Eyes.}\n");
    assert_prompt(&walked, PROMPT_WARNING, "blow");
    walked_say(&walked, "");
    walked_say(&walked, "");
    assert_prompt(&walked, PROMPT_ACTION, "blow");
    assert_int_equal(walked_newest(&walked, EVENT_ENTERED)->spot.turns[0], 1);
    walked_replays(&walked);
    walked_stop_and_resume(&walked);
    assert_prompt(&walked, PROMPT_WARNING, "blow");
    for (int i = 0; i < 4; i++)
        walked_say(&walked, "");
    assert_prompt(&walked, PROMPT_WARNING, "brush");
    walked_say(&walked, "");
    walked_say(&walked, "");
    assert_prompt(&walked, PROMPT_WARNING, "blow_again");
    walked_close(&walked);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(warnings_are_acknowledged_before_the_step_begins),
        cmocka_unit_test(a_hold_point_is_passed_by_its_answer_only),
        cmocka_unit_test(the_end_of_input_pauses_at_a_hold_point),
        cmocka_unit_test(the_order_of_answers_varies_but_is_the_same_again),
        cmocka_unit_test(too_early_is_refused_and_other_steps_go_on),
        cmocka_unit_test(too_late_is_taken_and_written_down),
        cmocka_unit_test(a_pour_that_was_begun_is_not_doubled),
        cmocka_unit_test(a_pour_that_was_not_begun_is_begun),
        cmocka_unit_test(an_optional_step_may_be_passed_over),
        cmocka_unit_test(too_much_of_something_shuts_the_step),
        cmocka_unit_test(a_required_picture_is_waited_for),
        cmocka_unit_test(the_wrench_is_set_for_its_extension),
        cmocka_unit_test(what_a_step_sets_is_asked_anew_after_a_stop),
        cmocka_unit_test(what_a_step_sets_is_asked_anew_when_the_end_was_not_recorded),
        cmocka_unit_test(what_was_seen_counts_from_its_answer),
        cmocka_unit_test(an_amount_corrected_upwards_shuts_a_step_that_is_being_done),
        cmocka_unit_test(what_is_missing_shuts_the_gate),
        cmocka_unit_test(a_question_of_the_gate_comes_after_the_wait),
        cmocka_unit_test(the_same_warning_twice_running_is_shown_but_not_asked_for),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}

#include "support/walked_job.h"

static const char weak[] = HEAD "steps:\n"
                                "  - step: measure\n"
                                "    each: cylinder\n"
                                "    do: Measure.\n"
                                "    record: {dry: {unit: bar}}\n"
                                "  - step: wet_test\n"
                                "    when: any(dry < 10 bar)\n"
                                "    do: Measure wet.\n"
                                "  - {step: last, do: Close it.}\n"
                                "results:\n"
                                "  - {result: lowest, value: min(dry), unit: bar}\n";

static void walk_measuring(struct walked *walked)
{
    walked_begin(walked, weak);
    walked_say(walked, "11");
    walked_say(walked, "11.5");
    walked_say(walked, "81");
    walked_say(walked, "12");
}

static unsigned number_of_reading(const struct walked *walked, int position)
{
    size_t count;
    const struct event *events = job_events(walked->job, &count);
    for (size_t i = 0; i < count; i++) {
        if (events[i].kind == EVENT_READ && events[i].position == position)
            return events[i].number;
    }
    return 0;
}

static void a_correction_is_an_event_and_the_old_value_stays(void **state)
{
    (void)state;
    struct walked walked;
    walk_measuring(&walked);
    assert_prompt(&walked, PROMPT_ACTION, "last");
    unsigned third = number_of_reading(&walked, 2);
    const unsigned *numbers;
    assert_int_equal(job_amendable(walked.job, &numbers, &walked.scratch), 4);
    assert_int_equal(numbers[1], third);
    assert_says(job_event_text(walked.job, third, &walked.scratch), "cylinder 3: 81\u00a0bar");
    walked_take(&walked, job_amend(walked.job, third, TEXT("10.5"), TEXT("point forgotten"),
                                   walked.now, &walked.scratch));
    assert_taken(&walked);
    assert_prompt(&walked, PROMPT_ACTION, "last");
    struct value lowest = walked_value(&walked, "lowest", &walked.scratch);
    assert_true(lowest.items[0].number.value > 1049999 &&
                lowest.items[0].number.value < 1050001);
    size_t count;
    const struct event *events = job_events(walked.job, &count);
    assert_true(text_equal(events[third - 1].typed, TEXT("81")));
    assert_int_equal(events[count - 1].amends, third);
    walked_replays(&walked);
    walked_close(&walked);
}

static void a_passed_when_that_would_differ_is_put_to_the_person(void **state)
{
    (void)state;
    struct walked walked;
    walk_measuring(&walked);
    unsigned third = number_of_reading(&walked, 2);
    walked_take(&walked, job_amend(walked.job, third, TEXT("8.1"), TEXT("point forgotten"),
                                   walked.now, &walked.scratch));
    assert_prompt(&walked, PROMPT_AMEND, "");
    assert_says(walked.prompt.question, "step 2 would be done");
    walked_replays(&walked);
    walked_say(&walked, "");
    assert_int_equal(walked.prompt.kind, PROMPT_AMEND);
    walked_say(&walked, "go by the corrected value");
    assert_prompt(&walked, PROMPT_ACTION, "wet_test");
    walked_replays(&walked);
    walked_say(&walked, "");
    assert_prompt(&walked, PROMPT_ACTION, "last");
    walked_close(&walked);
}

static void the_work_may_stay_as_it_was_done(void **state)
{
    (void)state;
    struct walked walked;
    walk_measuring(&walked);
    unsigned third = number_of_reading(&walked, 2);
    walked_take(&walked, job_amend(walked.job, third, TEXT("8.1"), TEXT("point forgotten"),
                                   walked.now, &walked.scratch));
    walked_say(&walked, "leave the work as it was done");
    assert_prompt(&walked, PROMPT_ACTION, "last");
    walked_replays(&walked);
    walked_close(&walked);
}

static void a_correction_is_read_like_the_answer_and_wants_a_reason(void **state)
{
    (void)state;
    struct walked walked;
    walk_measuring(&walked);
    unsigned third = number_of_reading(&walked, 2);
    assert_true(text_equal(job_amend_unit(walked.job, third), TEXT("bar")));
    walked_take(&walked, job_amend(walked.job, third, TEXT("8.1 mm"), TEXT("so"), walked.now,
                                   &walked.scratch));
    assert_refused(&walked, "pressure is wanted");
    walked_take(&walked, job_amend(walked.job, third, TEXT("8.1"), TEXT(" "), walked.now,
                                   &walked.scratch));
    assert_refused(&walked, "why");
    walked_take(&walked,
                job_amend(walked.job, 1, TEXT("8.1"), TEXT("so"), walked.now, &walked.scratch));
    assert_refused(&walked, "no such value");
    assert_null(walked_newest(&walked, EVENT_AMENDED));
    walked_close(&walked);
}

static void a_correction_out_of_range_is_unlikely(void **state)
{
    (void)state;
    struct walked walked;
    walked_begin(&walked, HEAD "steps:\n"
                               "  - step: measure\n"
                               "    do: Measure.\n"
                               "    record: {dry: {unit: bar, between: [0 bar, 20 bar]}}\n"
                               "  - {step: last, do: Close it.}\n");
    walked_say(&walked, "11");
    unsigned number = walked_newest(&walked, EVENT_READ)->number;
    bool is_unlikely = true;
    struct decision looked =
        job_amend_look(walked.job, number, TEXT("12"), &is_unlikely, &walked.scratch);
    assert_int_equal(looked.refusal.length, 0);
    assert_int_equal(looked.event_count, 0);
    assert_false(is_unlikely);
    looked = job_amend_look(walked.job, number, TEXT("120"), &is_unlikely, &walked.scratch);
    assert_int_equal(looked.refusal.length, 0);
    assert_true(is_unlikely);
    looked = job_amend_look(walked.job, number, TEXT("12 mm"), &is_unlikely, &walked.scratch);
    assert_says(looked.refusal, "pressure is wanted");
    walked_close(&walked);
}

/* NIST SP 811: 1 psi = 6894.757 Pa. */
static void a_correction_is_taken_in_the_unit_of_the_gauge(void **state)
{
    (void)state;
    struct walked walked;
    walked_begin_with(&walked,
                      HEAD "gauges:\n  tester: {unit: bar, resolution: 0.1 bar}\n"
                           "steps:\n"
                           "  - step: measure\n"
                           "    do: Measure.\n"
                           "    record: {dry: {gauge: tester, between: [0 bar, 20 bar]}}\n"
                           "  - {step: last, do: Close it.}\n",
                      "gauges:\n  tester: {unit: psi, resolution: 2 psi}\n");
    walked_say(&walked, "160");
    unsigned number = walked_newest(&walked, EVENT_READ)->number;
    assert_says(job_amend_unit(walked.job, number), "psi");
    bool is_unlikely = true;
    (void)job_amend_look(walked.job, number, TEXT("168"), &is_unlikely, &walked.scratch);
    assert_false(is_unlikely);
    struct decision looked =
        job_amend_look(walked.job, number, TEXT("1680"), &is_unlikely, &walked.scratch);
    assert_true(is_unlikely);
    assert_says(looked.echo, "1680\u00a0psi (115.8\u00a0bar) is unlikely; likely is 0\u00a0psi "
                             "to 290.1\u00a0psi.");
    walked_take(&walked, job_amend(walked.job, number, TEXT("168"), TEXT("misread"), walked.now,
                                   &walked.scratch));
    assert_taken(&walked);
    assert_says(walked.last.echo, "dry: 168\u00a0psi (11.58\u00a0bar), was 160\u00a0psi");
    const struct event *amended = walked_newest(&walked, EVENT_AMENDED);
    assert_true(text_equal(amended->typed, TEXT("168")));
    assert_true(amended->value > 1158318.0 && amended->value < 1158320.0);
    walked_replays(&walked);
    walked_close(&walked);
}

static void a_torque_corrected_to_something_else_is_unlikely(void **state)
{
    (void)state;
    struct walked walked;
    walked_begin(&walked, HEAD "steps:\n"
                               "  - {step: cap, do: Tighten the cap., torque: 25 N.m}\n"
                               "  - {step: last, do: Close it.}\n");
    walked_say(&walked, "25");
    unsigned number = walked_newest(&walked, EVENT_READ)->number;
    bool is_unlikely = false;
    (void)job_amend_look(walked.job, number, TEXT("52"), &is_unlikely, &walked.scratch);
    assert_true(is_unlikely);
    (void)job_amend_look(walked.job, number, TEXT("25.5"), &is_unlikely, &walked.scratch);
    assert_false(is_unlikely);
    walked_close(&walked);
}

/* "I said it stayed still, and it did not." */
static void a_precaution_is_corrected_to_what_it_is_not(void **state)
{
    (void)state;
    struct walked walked;
    walked_begin(&walked, HEAD "steps:\n"
                               "  - {step: chock, do: Chock., sets: [chocked]}\n"
                               "  - {step: work, do: Work., needs: [chocked]}\n"
                               "  - {step: away, do: Away., clears: [chocked]}\n");
    walked_say(&walked, "stayed still");
    assert_prompt(&walked, PROMPT_ACTION, "work");
    const unsigned *numbers;
    assert_int_equal(job_amendable(walked.job, &numbers, &walked.scratch), 1);
    unsigned number = numbers[0];
    walked_take(&walked, job_amend(walked.job, number, TEXT("stayed still"), TEXT("slip"),
                                   walked.now, &walked.scratch));
    assert_refused(&walked, "in these words: moved");
    walked_take(&walked, job_amend(walked.job, number, TEXT("moved"), TEXT("slip"), walked.now,
                                   &walked.scratch));
    assert_taken(&walked);
    assert_prompt(&walked, PROMPT_SHUT, "work");
    assert_true(walked_has_choice(&walked, "do step 1 again: Chock"));
    const struct text *names;
    assert_int_equal(
        job_denied(walked.job, walked.sound.procedure->works[0], &names, &walked.scratch), 1);
    assert_int_equal(job_amendable(walked.job, &numbers, &walked.scratch), 0);
    walked_replays(&walked);
    walked_say(&walked, "do step 1 again");
    walked_say(&walked, "stayed still");
    assert_prompt(&walked, PROMPT_ACTION, "work");
    walked_replays(&walked);
    walked_close(&walked);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_correction_is_an_event_and_the_old_value_stays),
        cmocka_unit_test(a_passed_when_that_would_differ_is_put_to_the_person),
        cmocka_unit_test(the_work_may_stay_as_it_was_done),
        cmocka_unit_test(a_correction_is_read_like_the_answer_and_wants_a_reason),
        cmocka_unit_test(a_correction_out_of_range_is_unlikely),
        cmocka_unit_test(a_precaution_is_corrected_to_what_it_is_not),
        cmocka_unit_test(a_correction_is_taken_in_the_unit_of_the_gauge),
        cmocka_unit_test(a_torque_corrected_to_something_else_is_unlikely),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}

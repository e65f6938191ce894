#include "job/job_state.h"
#include "support/walked_job.h"

static const char one_step[] = HEAD "steps:\n"
                                    "  - {step: look, do: Look.}\n";

static void a_spot_is_its_work_and_its_turns(void **state)
{
    (void)state;
    struct spot a = {.work = 3, .turns = {1, 2}}, b = a;
    assert_true(spot_equal(&a, &b));
    b.turns[LOOP_DEPTH_MAX - 1] = 1;
    assert_false(spot_equal(&a, &b));
    b = a;
    b.work = 4;
    assert_false(spot_equal(&a, &b));
}

static void every_spot_keeps_its_own_facts_however_many_there_are(void **state)
{
    (void)state;
    struct walked walked;
    walked_begin(&walked, one_step);
    for (unsigned i = 1; i <= 3000; i++) {
        struct spot spot = {.work = i % 60, .turns = {(unsigned short)(i / 60)}};
        struct fact *fact = fact_make(walked.job, &spot);
        fact->newest = i;
    }
    for (unsigned i = 1; i <= 3000; i++) {
        struct spot spot = {.work = i % 60, .turns = {(unsigned short)(i / 60)}};
        assert_int_equal(fact_at(walked.job, &spot)->newest, i);
    }
    struct spot nowhere = {.work = 61};
    assert_int_equal(fact_at(walked.job, &nowhere)->newest, 0);
    walked_close(&walked);
}

static void the_newest_fact_is_found_by_what_is_sought(void **state)
{
    (void)state;
    struct walked walked;
    walked_begin(&walked, one_step);
    struct spot spot = walked.prompt.spot;
    struct event event = {.kind = EVENT_NOTED, .at = walked.now, .spot = spot};
    for (unsigned i = 0; i < 4; i++) {
        size_t count;
        (void)job_events(walked.job, &count);
        event.number = (unsigned)count + 1;
        event.position = (int)i % 2;
        job_apply(walked.job, &event);
    }
    const struct fact *fact = fact_at(walked.job, &spot);
    struct sought sought = {.kind = EVENT_NOTED, .position = 0};
    const struct event *found = fact_find(walked.job, fact, &sought);
    assert_int_equal(found->number, event.number - 1);
    sought.after = found->number;
    assert_null(fact_find(walked.job, fact, &sought));
    walked_close(&walked);
}

static void an_event_is_copied(void **state)
{
    (void)state;
    struct walked walked;
    walked_begin(&walked, one_step);
    char words[] = "stiff";
    walked.last = job_note(walked.job, (struct text){words, 5}, walked.now, &walked.scratch);
    walked_apply(&walked);
    words[0] = 'X';
    assert_true(text_equal(walked_newest(&walked, EVENT_NOTED)->typed, TEXT("stiff")));
    walked_close(&walked);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_spot_is_its_work_and_its_turns),
        cmocka_unit_test(every_spot_keeps_its_own_facts_however_many_there_are),
        cmocka_unit_test(the_newest_fact_is_found_by_what_is_sought),
        cmocka_unit_test(an_event_is_copied),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}

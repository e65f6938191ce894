#include "support/fake_ports.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

/* A person who knows what to answer to everything in tests/sessions/pressure_check.yaml; at one
 * asking something else happens. */
struct person {
    unsigned asked, strange_at;
    int strange; /* enum answer_kind, or GONE */
    bool was_strange;
};
enum { GONE = 100 };

static struct text known_answer(const struct prompt *prompt)
{
    static const struct text GOOD[] = {{"stayed still", 12},
                                       {"none", 4},
                                       {"nobody and nothing", 18},
                                       {"nothing", 7},
                                       {"pass it over", 12}};
    for (size_t i = 0; i < prompt->choices.count; i++)
        for (size_t good = 0; good < sizeof GOOD / sizeof *GOOD; good++)
            if (text_equal(prompt->choices.texts[i], GOOD[good]))
                return GOOD[good];
    if (prompt->kind == PROMPT_MANUAL_VALUE || text_ends(prompt->name, TEXT("torque")))
        return TEXT("21");
    if (prompt->kind == PROMPT_READING)
        return TEXT("11.6");
    if (prompt->kind == PROMPT_INPUT)
        return TEXT("412.5");
    if (prompt->kind == PROMPT_SOURCE)
        return TEXT("handbook, page 30");
    if (prompt->kind == PROMPT_CUE)
        return TEXT("a tag on the starter");
    if (prompt->kind == PROMPT_CLOCK)
        return TEXT("2 h");
    return TEXT("");
}

static bool answer_knowing(struct fake *fake, const struct prompt *prompt,
                           struct answer *answer, struct arena *scratch)
{
    struct person *person = fake->own;
    (void)scratch;
    /* Once it has begun, what is strange goes on: an end stays, a second Ctrl-C follows the first. */
    if (++person->asked == person->strange_at ||
        (person->was_strange && fake->session.job != NULL)) {
        person->was_strange = true;
        if (person->strange == GONE)
            return false;
        answer->kind = (enum answer_kind)person->strange;
        return true;
    }
    if (prompt->kind == PROMPT_WAIT && prompt->wakes_at > fake->now.wall) {
        fake->now.steady += prompt->wakes_at - fake->now.wall;
        fake->now.wall = prompt->wakes_at;
        answer->kind = ANSWER_WAKE;
        return true;
    }
    answer->kind = ANSWER_TYPED;
    answer->typed = known_answer(prompt);
    return true;
}

static struct fake *open_with(struct person *person)
{
    struct fake *fake =
        fake_open("tests/sessions/pressure_check.yaml", "tests/sessions/machine.yaml");
    fake->own = person;
    fake->answer = answer_knowing;
    return fake;
}

/* What a session must come to, however often it was interrupted: not how often something was asked
 * again. */
static bool counts(const struct event *event)
{
    if (event->kind == EVENT_ANSWERED)
        return event->detail == ANSWERED_INPUT || event->detail == ANSWERED_MANUAL_VALUE ||
               event->detail == ANSWERED_HOLD;
    return event->kind == EVENT_STARTED || event->kind == EVENT_READ ||
           event->kind == EVENT_DONE || event->kind == EVENT_ENDED;
}

static const struct event *next_counting(const struct fake *fake, size_t *at)
{
    while (*at < fake->event_count && !counts(&fake->events[*at]))
        (*at)++;
    return *at < fake->event_count ? &fake->events[(*at)++] : NULL;
}

static void assert_same_job(const struct fake *got, const struct fake *wanted)
{
    size_t got_at = 0, wanted_at = 0;
    for (;;) {
        const struct event *a = next_counting(got, &got_at);
        const struct event *b = next_counting(wanted, &wanted_at);
        if (a == NULL || b == NULL) {
            assert_true(a == NULL && b == NULL);
            return;
        }
        assert_int_equal(a->kind, b->kind);
        assert_int_equal(a->detail, b->detail);
        assert_true(spot_equal(&a->spot, &b->spot));
        assert_true(text_equal(a->name, b->name));
        assert_true(text_equal(a->typed, b->typed));
        assert_true(text_equal(a->meaning, b->meaning));
    }
}

static void assert_numbered(const struct fake *fake)
{
    for (size_t i = 0; i < fake->event_count; i++)
        assert_int_equal(fake->events[i].number, i + 1);
}

/* --- tests ---------------------------------------------------------------------------------- */

static void a_whole_job_is_completed(void **state)
{
    (void)state;
    struct person person = {0};
    struct fake *fake = open_with(&person);
    assert_int_equal(fake_start(fake), SESSION_COMPLETED);
    assert_numbered(fake);
    assert_int_equal(fake->events[0].kind, EVENT_STARTED);
    assert_int_equal(fake->events[fake->event_count - 1].kind, EVENT_ENDED);
    assert_true(fake_was_told(fake, "Completed."));
    fake_close(fake);
}

static void whatever_append_fails_the_job_comes_to_the_same(void **state)
{
    (void)state;
    struct person nobody = {0};
    struct fake *whole = open_with(&nobody);
    assert_int_equal(fake_start(whole), SESSION_COMPLETED);
    for (unsigned n = 1; n <= whole->appends; n++) {
        struct person person = {0};
        struct fake *fake = open_with(&person);
        fake->fail_at = n;
        assert_int_equal(fake_start(fake), SESSION_WORLD_FAILED);
        assert_true(text_equal(fake->session.failure.object, TEXT("the record")));
        if (fake->event_count == 0) {
            fake_begin_job(fake);
            assert_int_equal(fake_start(fake), SESSION_COMPLETED);
        } else {
            assert_int_equal(fake_resume(fake), SESSION_COMPLETED);
        }
        assert_numbered(fake);
        assert_same_job(fake, whole);
        fake_close(fake);
    }
    fake_close(whole);
}

static void nothing_is_echoed_that_was_not_written(void **state)
{
    (void)state;
    struct person nobody = {0};
    struct fake *whole = open_with(&nobody);
    (void)fake_start(whole);
    for (unsigned n = 2; n <= whole->appends; n++) {
        struct person person = {0};
        struct fake *fake = open_with(&person);
        fake->fail_at = n;
        (void)fake_start(fake);
        size_t kept = 0;
        for (size_t i = 0; i < fake->event_count; i++)
            kept += fake->events[i].kind == EVENT_READ;
        struct text all = page_text(&fake->told);
        size_t told = 0;
        /* Each reading is echoed with its unit, and no question has both. */
        for (size_t at = 0; at < all.length; at++)
            told += text_starts(text_slice(all, at, all.length), TEXT("11.6 bar\n")) ||
                    text_starts(text_slice(all, at, all.length), TEXT("21 N·m\n"));
        size_t manual = 0;
        for (size_t i = 0; i < fake->event_count; i++)
            manual += fake->events[i].kind == EVENT_ANSWERED &&
                      fake->events[i].detail == ANSWERED_MANUAL_VALUE;
        assert_in_range(told, 0, kept + manual);
        fake_close(fake);
    }
    fake_close(whole);
}

static void interrupt_everywhere(int strange, enum session_end wanted)
{
    struct person nobody = {0};
    struct fake *whole = open_with(&nobody);
    assert_int_equal(fake_start(whole), SESSION_COMPLETED);
    for (unsigned n = 1; n <= nobody.asked; n++) {
        struct person person = {.strange_at = n, .strange = strange};
        struct fake *fake = open_with(&person);
        assert_int_equal(fake_start(fake), wanted);
        for (size_t i = 0; i < fake->event_count; i++)
            assert_int_not_equal(fake->events[i].kind, EVENT_ENDED);
        person = (struct person){0};
        assert_int_equal(fake_resume(fake), SESSION_COMPLETED);
        assert_numbered(fake);
        assert_same_job(fake, whole);
        fake_close(fake);
    }
    fake_close(whole);
}

static void the_end_of_input_passes_nothing(void **state)
{
    (void)state;
    interrupt_everywhere(ANSWER_END, SESSION_PAUSED);
}

static void two_interrupts_pause(void **state)
{
    (void)state;
    interrupt_everywhere(ANSWER_INTERRUPT, SESSION_PAUSED);
}

static void a_process_told_to_stop_pauses(void **state)
{
    (void)state;
    interrupt_everywhere(ANSWER_STOP, SESSION_PAUSED);
}

static void a_console_that_is_gone_loses_nothing(void **state)
{
    (void)state;
    interrupt_everywhere(GONE, SESSION_WORLD_FAILED);
}

static void the_cause_of_a_pause_is_on_record(void **state)
{
    (void)state;
    static const struct {
        int strange;
        enum paused cause;
    } ROWS[] = {{ANSWER_END, PAUSED_INPUT_ENDED},
                {ANSWER_INTERRUPT, PAUSED_INTERRUPTED},
                {ANSWER_STOP, PAUSED_STOPPED}};
    for (size_t i = 0; i < sizeof ROWS / sizeof *ROWS; i++) {
        struct person person = {.strange_at = 9, .strange = ROWS[i].strange};
        struct fake *fake = open_with(&person);
        (void)fake_start(fake);
        const struct event *last = &fake->events[fake->event_count - 1];
        assert_int_equal(last->kind, EVENT_PAUSED);
        assert_int_equal(last->detail, ROWS[i].cause);
        assert_true(fake_was_told(fake, "To make it safe"));
        fake_close(fake);
    }
}

static void a_job_that_has_ended_is_only_told_again(void **state)
{
    (void)state;
    struct person person = {0};
    struct fake *fake = open_with(&person);
    assert_int_equal(fake_start(fake), SESSION_COMPLETED);
    size_t count = fake->event_count;
    unsigned asked = person.asked;
    assert_int_equal(fake_resume(fake), SESSION_COMPLETED);
    assert_int_equal(fake->event_count, count);
    assert_int_equal(person.asked, asked);
    fake_close(fake);
}

static void make_safe_can_be_told_without_a_session(void **state)
{
    (void)state;
    struct person person = {.strange_at = 9, .strange = ANSWER_END};
    struct fake *fake = open_with(&person);
    (void)fake_start(fake);
    fake->told.length = 0;
    session_tell_makesafe(&fake->session);
    assert_true(fake_was_told(fake, "To make it safe, in this order:"));
    assert_true(fake_was_told(fake, "1. Thread plug 1 in by hand, then tighten."));
    assert_true(fake_was_told(fake, "2. Push the lead on to the coil."));
    assert_true(fake_was_told(fake, "3. Take the chocks away."));
    fake_close(fake);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_whole_job_is_completed),
        cmocka_unit_test(whatever_append_fails_the_job_comes_to_the_same),
        cmocka_unit_test(nothing_is_echoed_that_was_not_written),
        cmocka_unit_test(the_end_of_input_passes_nothing),
        cmocka_unit_test(two_interrupts_pause),
        cmocka_unit_test(a_process_told_to_stop_pauses),
        cmocka_unit_test(a_console_that_is_gone_loses_nothing),
        cmocka_unit_test(the_cause_of_a_pause_is_on_record),
        cmocka_unit_test(a_job_that_has_ended_is_only_told_again),
        cmocka_unit_test(make_safe_can_be_told_without_a_session),
    };
    return cmocka_run_group_tests_name("conversation/session", tests, NULL, NULL);
}

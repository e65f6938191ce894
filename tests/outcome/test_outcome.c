#include "support/fake_ports.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

/* Every position read with a number from the list, in the order asked; "-" leaves it unread. */
static struct fake *done_with(const char *procedure, const char *const *lines, size_t count)
{
    struct fake *fake = fake_open_text(procedure);
    fake_type(fake, lines, count);
    assert_int_equal(fake_start(fake), SESSION_COMPLETED);
    return fake;
}

#define DONE_WITH(procedure, ...)                                                              \
    done_with((procedure), (const char *const[]){__VA_ARGS__},                                 \
              sizeof((const char *const[]){__VA_ARGS__}) / sizeof(const char *))

static const char *words(struct fake *fake, struct text text)
{
    return text_terminated(&fake->scratch, text);
}

#define PROCEDURE(rest)                                                                        \
    "procedure: t\ntitle: T\nrevision: 1\nabout: A test.\n"                                    \
    "machine:\n  lowest_allowed: bar\n"                                                        \
    "steps:\n"                                                                                 \
    "  - step: read_dry\n    each: cylinder\n    do: Read it.\n"                               \
    "    record: {dry: {unit: bar}}\n" rest

static void a_limit_of_the_manual_is_met_or_not(void **state)
{
    (void)state;
    static const char P[] = PROCEDURE("results:\n"
                                      "  - {result: lowest, value: min(dry), unit: bar, "
                                      "limit: {at_least: machine.lowest_allowed}}\n"
                                      "  - {result: most, value: max(dry), unit: psi, "
                                      "limit: {at_most: 10 bar}, source: common practice}\n"
                                      "  - {result: plain, value: mean(dry), unit: bar}\n");
    struct fake *fake = DONE_WITH(P, "8.8", "11");
    struct outcome outcome = outcome_work_out(fake->session.job, &fake->scratch);
    assert_int_equal(outcome.result_count, 3);
    /* Exactly on a closed limit is inside. */
    assert_int_equal(outcome.results[0].verdict, VERDICT_PASS);
    assert_string_equal(words(fake, outcome.results[0].shown), "8.8\u00a0bar");
    assert_string_equal(words(fake, outcome.results[0].limit_shown),
                        "at least 8.8\u00a0bar (handbook, page 12)");
    /* 11 bar = 159.54 psi, 10 bar = 145.04 psi (NIST SP 811: 1 psi = 6.894 757 kPa) */
    assert_int_equal(outcome.results[1].verdict, VERDICT_FAIL);
    assert_string_equal(words(fake, outcome.results[1].shown), "159.5\u00a0psi");
    assert_string_equal(words(fake, outcome.results[1].limit_shown),
                        "at most 145\u00a0psi (common practice)");
    assert_int_equal(outcome.results[2].verdict, VERDICT_NONE);
    assert_string_equal(words(fake, outcome.results[2].shown), "9.9\u00a0bar");
    fake_close(fake);
}

static void the_worst_position_of_a_vector_decides(void **state)
{
    (void)state;
    static const char P[] = PROCEDURE("results:\n"
                                      "  - {result: each_one, value: dry, unit: bar, "
                                      "limit: {between: [9 bar, 12 bar]}}\n");
    struct fake *fake = DONE_WITH(P, "10", "12.5");
    struct outcome outcome = outcome_work_out(fake->session.job, &fake->scratch);
    assert_int_equal(outcome.results[0].verdict, VERDICT_FAIL);
    assert_string_equal(
        words(fake, outcome.results[0].shown),
        "cylinder 1:\u00a010\u00a0bar, 2:\u00a012.5\u00a0bar; worst: cylinder 2");
    assert_string_equal(words(fake, outcome.results[0].limit_shown),
                        "between 9\u00a0bar and 12\u00a0bar");
    fake_close(fake);
}

static void what_is_missing_is_named(void **state)
{
    (void)state;
    static const char P[] = PROCEDURE(
        "  - step: read_wet\n    optional: true\n    do: Read it wet.\n"
        "    record: {wet: {unit: bar}}\n"
        "results:\n"
        "  - {result: gain, value: wet / max(dry), unit: \"%\", limit: {at_least: 1 %}}\n"
        "  - {result: part, value: dry, unit: bar, limit: {at_least: 9 bar}}\n");
    struct fake *fake = DONE_WITH(P, "8", "unread the gauge fell", "pass it over");
    struct outcome outcome = outcome_work_out(fake->session.job, &fake->scratch);
    assert_int_equal(outcome.results[0].verdict, VERDICT_NOT_WORKED_OUT);
    assert_string_equal(words(fake, outcome.results[0].reason), "wet was not read");
    assert_int_equal(outcome.results[0].shown.length, 0);
    /* A position that was not read is left out, and does not hide one that fails. */
    assert_int_equal(outcome.results[1].verdict, VERDICT_FAIL);
    assert_string_equal(words(fake, outcome.results[1].shown),
                        "cylinder 1:\u00a08\u00a0bar; worst: cylinder 1");
    fake_close(fake);
}

/* 3 bar rectangular: u = 1.732 bar.  Within 0.1 bar of 10 bar it is with Phi(0.0577) - Phi(-0.0577) =
 * 0.046, and yet nothing speaks against it: outside its limits is proven only beyond a guard band (ISO
 * 14253-1).  Beyond the limits by 5 bar it fails. */
static void a_band_wider_than_the_limits_proves_no_fault(void **state)
{
    (void)state;
    static const char P[] =
        "procedure: t\ntitle: T\nrevision: 1\nabout: A test.\n"
        "gauges: {meter: {unit: bar, accuracy: 3 bar}}\n"
        "steps:\n"
        "  - {step: read, do: Read it., record: {dry: {gauge: meter}, wet: {gauge: meter}}}\n"
        "results:\n"
        "  - {result: middle, value: dry, unit: bar, limit: {between: [9.9 bar, 10.1 bar]}}\n"
        "  - {result: far, value: wet, unit: bar, limit: {between: [9.9 bar, 10.1 bar]}}\n";
    struct fake *fake = DONE_WITH(P, "10", "15");
    struct outcome outcome = outcome_work_out(fake->session.job, &fake->scratch);
    assert_int_equal(outcome.results[0].verdict, VERDICT_TOO_CLOSE);
    assert_int_equal(outcome.results[0].note_count, 1);
    assert_true(text_starts(outcome.results[0].notes[0],
                            TEXT("It lies within its limits, but they are closer together")));
    assert_int_equal(outcome.results[1].verdict, VERDICT_FAIL);
    fake_close(fake);
}

/* Nothing lies between 10.1 and 9.9 bar, and a verdict on it would be one on the sheet. */
static void limits_turned_round_give_no_verdict(void **state)
{
    (void)state;
    static const char P[] =
        "procedure: t\ntitle: T\nrevision: 1\nabout: A test.\n"
        "steps:\n"
        "  - {step: read, do: Read it., record: {low: {unit: bar}, high: {unit: bar}}}\n"
        "results:\n"
        "  - {result: turned, value: low, unit: bar, limit: {between: [low, high]}}\n"
        "  - {result: equal, value: low, unit: bar, limit: {between: [low, low]}}\n";
    struct fake *fake = DONE_WITH(P, "10.1", "9.9");
    struct outcome outcome = outcome_work_out(fake->session.job, &fake->scratch);
    assert_int_equal(outcome.results[0].verdict, VERDICT_NOT_WORKED_OUT);
    assert_string_equal(
        words(fake, outcome.results[0].reason),
        "the lower limit lies above the upper one; put right what they come from");
    assert_string_equal(words(fake, outcome.results[0].shown), "10.1\u00a0bar");
    assert_int_equal(outcome.results[1].verdict, VERDICT_PASS);
    fake_close(fake);
}

/* u = 0.3 bar / sqrt 3 = 0.1732 bar (JCGM 100:2008, 4.3.7); the limit lies 0.1 bar off, so the value
 * is inside with probability pnorm(0.1 / 0.1732) = 0.718 (R), and 0.5 bar off with 0.998. */
static void near_a_limit_it_is_too_close_to_call(void **state)
{
    (void)state;
    static const char P[] =
        "procedure: t\ntitle: T\nrevision: 1\nabout: A test.\n"
        "gauges: {meter: {unit: bar, accuracy: 0.3 bar}}\n"
        "steps:\n"
        "  - {step: read, do: Read it., record: {dry: {gauge: meter}, wet: {gauge: meter}}}\n"
        "results:\n"
        "  - {result: near, value: dry, unit: bar, limit: {at_least: 8.8 bar}}\n"
        "  - {result: far, value: wet, unit: bar, limit: {at_least: 8.8 bar}}\n"
        "  - {result: step, value: wet - dry, unit: bar, limit: {at_least: 0.35 bar}}\n"
        "findings:\n"
        "  - {when: dry > 8.8 bar, say: \"It is good.\"}\n"
        "  - {when: wet > 8.8 bar, say: \"Wet it is {wet}.\"}\n";
    struct fake *fake = DONE_WITH(P, "8.9", "9.3");
    struct outcome outcome = outcome_work_out(fake->session.job, &fake->scratch);
    assert_int_equal(outcome.results[0].verdict, VERDICT_TOO_CLOSE);
    /* 0.3 bar / sqrt(3) = 0.1732 bar, times 1.96 */
    assert_string_equal(words(fake, outcome.results[0].shown),
                        "(8.90\u00a0±\u00a00.34)\u00a0bar");
    assert_string_equal(words(fake, outcome.results[2].shown), "0.4\u00a0bar");
    assert_string_equal(verdict_words(outcome.results[0].verdict), "too close to call");
    assert_int_equal(outcome.results[1].verdict, VERDICT_PASS);
    /* One gauge, one error: in the difference it cancels. */
    assert_int_equal(outcome.results[2].verdict, VERDICT_PASS);
    assert_int_equal(outcome.finding_count, 2);
    assert_true(outcome.findings[0].is_perhaps);
    assert_false(outcome.findings[1].is_perhaps);
    assert_string_equal(words(fake, outcome.findings[1].said), "Wet it is 9.3\u00a0bar.");
    fake_close(fake);
}

static void findings_hold_or_are_not_said(void **state)
{
    (void)state;
    static const char P[] =
        PROCEDURE("  - step: read_wet\n    optional: true\n    do: Read it wet.\n"
                  "    record: {wet: {unit: bar}}\n"
                  "findings:\n"
                  "  - {when: any(dry < 9 bar), say: \"Low at {where(dry < 9 bar)}.\"}\n"
                  "  - {when: all(dry < 9 bar), say: \"All are low.\"}\n"
                  "  - {when: wet > 1 bar, say: \"It was wet.\"}\n");
    struct fake *fake = DONE_WITH(P, "8", "11", "pass it over");
    struct outcome outcome = outcome_work_out(fake->session.job, &fake->scratch);
    assert_int_equal(outcome.finding_count, 1);
    assert_string_equal(words(fake, outcome.findings[0].said), "Low at 1.");
    fake_close(fake);
}

static void follow_ups_fall_due_by_the_calendar(void **state)
{
    (void)state;
    static const char P[] =
        "procedure: t\ntitle: T\nrevision: 1\nabout: A test.\n"
        "inputs: {odometer: {unit: km, ask: Odometer}}\n"
        "steps:\n  - {step: look, do: Look at it.}\n"
        "follow_up:\n"
        "  - {what: Look warm, after: 10 min}\n"
        "  - {what: Change it, at: odometer + 12000 km, within: 11 months}\n"
        "  - {what: Look again, after: 3 days}\n"
        "  - {what: Some day}\n";
    struct fake *fake = DONE_WITH(P, "84210", "");
    struct outcome outcome = outcome_work_out(fake->session.job, &fake->scratch);
    assert_int_equal(outcome.follow_up_count, 4);
    /* The job began at 2026-03-31 09:00 by its zone and took a few seconds. */
    assert_string_equal(words(fake, outcome.follow_ups[0].due), "at 09:10 on 2026-03-31");
    assert_string_equal(words(fake, outcome.follow_ups[1].due),
                        "at 96210\u00a0km or by 2027-02-28");
    assert_string_equal(words(fake, outcome.follow_ups[2].due), "on 2026-04-03");
    assert_int_equal(outcome.follow_ups[3].due.length, 0);
    assert_int_equal(outcome.follow_ups[3].due_at, 0);
    assert_true(outcome.follow_ups[0].due_at > fake->now.wall);
    fake_close(fake);
}

static void texts_and_truths_are_results_too(void **state)
{
    (void)state;
    static const char P[] = "procedure: t\ntitle: T\nrevision: 1\nabout: A test.\n"
                            "steps:\n"
                            "  - {step: look, do: Look., record: {colour: {choices: [tan, "
                            "black]}}}\n"
                            "results:\n"
                            "  - {result: seen, value: colour}\n"
                            "  - {result: sooty, value: colour == \"black\"}\n";
    struct fake *fake = DONE_WITH(P, "black");
    struct outcome outcome = outcome_work_out(fake->session.job, &fake->scratch);
    assert_string_equal(words(fake, outcome.results[0].shown), "black");
    assert_string_equal(words(fake, outcome.results[1].shown), "yes");
    assert_null(outcome.results[0].unit);
    fake_close(fake);
}

/* A share is a plain number; without a unit of its own it is compared as the author wrote the limit. */
static void a_limit_is_shown_as_it_was_written(void **state)
{
    (void)state;
    static const char P[] = PROCEDURE("results:\n"
                                      "  - {result: loss, value: 1 - min(dry) / max(dry), "
                                      "limit: {at_most: 10 %}}\n"
                                      "  - {result: bare, value: min(dry) / max(dry), "
                                      "limit: {at_least: 0.9}}\n");
    struct fake *fake = DONE_WITH(P, "8", "10");
    struct outcome outcome = outcome_work_out(fake->session.job, &fake->scratch);
    assert_string_equal(words(fake, outcome.results[0].limit_shown), "at most 10\u00a0%");
    assert_int_equal(outcome.results[0].verdict, VERDICT_FAIL);
    assert_string_equal(words(fake, outcome.results[1].limit_shown), "at least 0.9");
    fake_close(fake);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_limit_of_the_manual_is_met_or_not),
        cmocka_unit_test(the_worst_position_of_a_vector_decides),
        cmocka_unit_test(what_is_missing_is_named),
        cmocka_unit_test(near_a_limit_it_is_too_close_to_call),
        cmocka_unit_test(a_band_wider_than_the_limits_proves_no_fault),
        cmocka_unit_test(limits_turned_round_give_no_verdict),
        cmocka_unit_test(findings_hold_or_are_not_said),
        cmocka_unit_test(follow_ups_fall_due_by_the_calendar),
        cmocka_unit_test(texts_and_truths_are_results_too),
        cmocka_unit_test(a_limit_is_shown_as_it_was_written),
    };
    return cmocka_run_group_tests_name("outcome/outcome", tests, NULL, NULL);
}

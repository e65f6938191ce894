#include "support/fake_ports.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

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

#define HEADER "procedure: t\ntitle: T\nrevision: 1\nabout: A test.\n"

static void assert_said(struct fake *fake, const struct text *sentences, size_t count,
                        const char *wanted)
{
    for (size_t i = 0; i < count; i++)
        if (text_find(sentences[i], text_from(wanted)) < sentences[i].length)
            return;
    for (size_t i = 0; i < count; i++)
        print_error("said: %s\n", text_terminated(&fake->scratch, sentences[i]));
    fail_msg("not said: %s", wanted);
}

#define assert_noted(result, wanted)                                                           \
    assert_said(fake, outcome.results[result].notes, outcome.results[result].note_count, wanted)
#define assert_cautioned(wanted)                                                               \
    assert_said(fake, outcome.cautions, outcome.caution_count, wanted)

/* 0.3 bar rectangular: u = 0.1732 bar.  8.9 - 8.8 is 0.577 u: Phi(0.577) = 0.718 (any table of the
 * normal distribution).  To pass, 1.645 u may be 0.1 bar: u = 0.0608 bar, 0.105 bar rectangular. */
static void a_close_call_says_what_would_settle_it(void **state)
{
    (void)state;
    static const char P[] =
        HEADER "gauges: {meter: {unit: bar, accuracy: 0.3 bar}}\n"
               "steps:\n"
               "  - {step: read, do: Read it., record: {dry: {gauge: meter}}}\n"
               "results:\n"
               "  - {result: near, value: dry, unit: bar, limit: {at_least: 8.8 bar}}\n"
               "  - {result: far, value: dry, unit: bar, limit: {at_least: 5 bar}}\n";
    struct fake *fake = DONE_WITH(P, "8.9");
    struct outcome outcome = outcome_work_out(fake->session.job, &fake->scratch);
    assert_int_equal(outcome.results[0].verdict, VERDICT_TOO_CLOSE);
    assert_noted(0, "within its limit is 72 in 100");
    assert_noted(
        0, "same again, a gauge good to 0.1\u00a0bar instead of 0.3\u00a0bar would settle it");
    assert_int_equal(outcome.results[1].note_count, 0);
    fake_close(fake);
}

/* 0.2816 bar off with u = 0.1732 bar is 1.626 u: Phi(1.626) = 0.9480 (any table of the normal
 * distribution), which rounds to 95 and does not pass. */
static void a_chance_that_does_not_pass_is_not_said_to_be_95(void **state)
{
    (void)state;
    static const char P[] =
        HEADER "gauges: {meter: {unit: bar, accuracy: 0.3 bar}}\n"
               "steps:\n"
               "  - {step: read, do: Read it., record: {dry: {gauge: meter}}}\n"
               "results:\n"
               "  - {result: near, value: dry, unit: bar, limit: {at_least: 8.8 bar}}\n"
               "  - {result: off, value: dry, unit: bar, limit: {at_most: 8.8 bar}}\n";
    struct fake *fake = DONE_WITH(P, "9.0816");
    struct outcome outcome = outcome_work_out(fake->session.job, &fake->scratch);
    assert_int_equal(outcome.results[0].verdict, VERDICT_TOO_CLOSE);
    assert_noted(0, "within its limit is 94 in 100");
    assert_noted(1, "within its limit is 6 in 100");
    fake_close(fake);
}

/* 2 % of 8.9 bar: u = 0.1028 bar.  0.0608 bar is 59 % of that: 1.18 % of reading.  Of two gauges, or a
 * gauge of two terms, only the part that may be left is said. */
static void a_better_gauge_is_named_as_gauges_are(void **state)
{
    (void)state;
    static const char P[] = HEADER
        "gauges:\n"
        "  part: {unit: bar, accuracy: 2 %}\n"
        "  scale: {unit: bar, accuracy: 2 % of 10 bar}\n"
        "  terms: {unit: bar, accuracy: [1 %, 0.1 bar]}\n"
        "  coarse: {unit: bar, resolution: 0.35 bar}\n"
        "  as_coarse: {unit: bar, resolution: 0.35 bar}\n"
        "steps:\n"
        "  - {step: read, do: Read it., record: {a: {gauge: part}, b: {gauge: scale}, c: "
        "{gauge: terms}, d: {gauge: coarse}, e: {gauge: as_coarse}}}\n"
        "results:\n"
        "  - {result: a_near, value: a, unit: bar, limit: {at_least: 8.8 bar}}\n"
        "  - {result: b_near, value: b, unit: bar, limit: {at_least: 8.8 bar}}\n"
        "  - {result: c_near, value: c, unit: bar, limit: {at_least: 8.8 bar}}\n"
        "  - {result: two, value: (a + b) / 2, unit: bar, limit: {at_least: 8.8 bar}}\n"
        "  - {result: d_near, value: d, unit: bar, limit: {at_least: 8.8 bar}}\n"
        "  - {result: both, value: (d + e) / 2, unit: bar, limit: {at_least: 8.8 bar}}\n";
    struct fake *fake = DONE_WITH(P, "8.9", "8.9", "8.9", "8.9", "8.9");
    struct outcome outcome = outcome_work_out(fake->session.job, &fake->scratch);
    assert_noted(0, "a gauge good to 1.1\u00a0% instead of 2\u00a0% would settle it");
    /* 0.2 bar: u = 0.1155 bar, of which 0.0608 is 52.6 %: 1.05 % of full scale */
    assert_noted(1, "a gauge good to 1\u00a0% of its full scale instead of 2\u00a0%");
    /* half a step of 0.35 bar: u = 0.1010 bar, of which 0.0608 is 60.2 % */
    /* 0.089 and 0.1 bar: u = 0.0773 bar, of which 0.0608 is 78.6 % */
    assert_noted(2, "a gauge with at most 78\u00a0% of this one's error");
    assert_noted(4, "a gauge whose error and scale steps are at most 60\u00a0% of this one's");
    /* the mean of two such: u = 0.0714 bar, of which 0.0608 is 85.1 % */
    assert_noted(5, "gauges whose errors and scale steps are at most 85\u00a0% of these");
    assert_noted(3, "gauges with at most 78\u00a0% of the errors of these");
    fake_close(fake);
}

/* Three readings with s = 0.1 bar, no gauge: their mean has 0.0577 bar and two degrees of freedom.
 * 0.06 bar above the limit wants t(0.95, n - 1) 0.1 / sqrt(n) <= 0.06: with 9, 1.860 / 3 = 0.62 is
 * too much, with 10, 1.833 / 3.162 = 0.58 is not (t from JCGM 100:2008, Table G.2). */
static void more_readings_settle_what_scatters(void **state)
{
    (void)state;
    static const char P[] =
        HEADER "steps:\n"
               "  - {step: read, do: Read it., record: {dry: {unit: bar, readings: 3}}}\n"
               "results:\n"
               "  - {result: near, value: dry, unit: bar, limit: {at_least: 8.84 bar}}\n";
    struct fake *fake = DONE_WITH(P, "8.8", "8.9", "9.0");
    struct outcome outcome = outcome_work_out(fake->session.job, &fake->scratch);
    assert_int_equal(outcome.results[0].verdict, VERDICT_TOO_CLOSE);
    assert_noted(0, "10 readings of each instead of 3 would settle it");
    fake_close(fake);
}

/* The highest of several scatters like one, however many there are. */
static void more_readings_do_not_settle_the_highest(void **state)
{
    (void)state;
    static const char P[] =
        HEADER "steps:\n"
               "  - {step: read, do: Read it., record: {dry: {unit: bar, readings: 3, use: "
               "highest}}}\n"
               "results:\n"
               "  - {result: near, value: dry, unit: bar, limit: {at_least: 8.9 bar}}\n";
    struct fake *fake = DONE_WITH(P, "8.8", "8.9", "9.0");
    struct outcome outcome = outcome_work_out(fake->session.job, &fake->scratch);
    assert_int_equal(outcome.results[0].verdict, VERDICT_TOO_CLOSE);
    assert_noted(0, "neither more readings nor a better gauge alone would settle it");
    fake_close(fake);
}

/* 2 % of reading is alike in both, so that the ratio of 0.8333 has none of it, and the difference from
 * a value of the manual has it whole.  The step of 0.1 bar leaves 0.0289 bar in each: 0.289 % of 10
 * and 0.241 % of 12, 0.376 % together; with 1.155 % for each gauge twice, 1.676 %.  Times 0.8333 and
 * 1.96: 0.61 % and 2.74 %. */
static void a_ratio_is_narrower_than_a_difference_from_the_manual(void **state)
{
    (void)state;
    static const char P[] =
        HEADER "machine: {lowest_allowed: bar}\n"
               "gauges: {meter: {unit: bar, accuracy: 2 %, resolution: 0.1 bar}}\n"
               "steps:\n"
               "  - {step: read, each: cylinder, do: Read it., record: {dry: {gauge: meter}}}\n"
               "results:\n"
               "  - {result: ratio, value: min(dry) / max(dry), unit: \"%\"}\n"
               "  - {result: above, value: min(dry) - machine.lowest_allowed, unit: bar}\n";
    struct fake *fake = DONE_WITH(P, "10", "12");
    struct outcome outcome = outcome_work_out(fake->session.job, &fake->scratch);
    double ratio = gradient_combined(outcome.results[0].value.items[0].number.gradient);
    double above = gradient_combined(outcome.results[1].value.items[0].number.gradient);
    assert_true(ratio / (10.0 / 12) < above / 10e5); /* each as a part of what was read */
    assert_noted(0, "One gauge, whose error tends to cancel: ±\u00a00.61\u00a0%, not "
                    "±\u00a02.7\u00a0%.");
    assert_int_equal(outcome.results[1].note_count, 0);
    fake_close(fake);
}

static void what_no_band_shows_is_said(void **state)
{
    (void)state;
    static const char P[] =
        HEADER "gauges:\n"
               "  old: {title: Old gauge, unit: bar, accuracy: 2 %, due: 2026-03-30}\n"
               "  good: {unit: bar, accuracy: 2 %, due: 2026-03-31}\n"
               "  bare: {unit: bar}\n"
               "steps:\n"
               "  - step: read\n    do: Read it.\n"
               "    record: {a: {gauge: old}, b: {gauge: good, readings: 2}, c: {gauge: bare, "
               "readings: "
               "2}, d: {unit: bar}, e: {gauge: old}}\n"
               "results:\n"
               "  - {result: all_of_it, value: a + b + c + d, unit: bar}\n";
    struct fake *fake = DONE_WITH(P, "1", "2", "2.1", "3", "3.1", "4", "5");
    struct outcome outcome = outcome_work_out(fake->session.job, &fake->scratch);
    /* the job began on 2026-03-31; a gauge is good up to the end of its day */
    assert_cautioned("Calibration was due before this job: Old gauge (2026-03-30).");
    assert_cautioned("Accuracy not given, so not in the ±: bare.");
    assert_cautioned("Repeatability unknown (one reading), so not in the ±: a.");
    assert_int_equal(outcome.caution_count, 3);
    fake_close(fake);
}

/* A record that does not say what they were uncertain by: said, whatever stands in for it. */
static void an_earlier_value_of_unknown_uncertainty_is_said(void **state)
{
    (void)state;
    static const char P[] =
        HEADER "inputs: {driven: {unit: km}}\n"
               "gauges: {meter: {unit: V, accuracy: 1 %}}\n"
               "steps:\n"
               "  - {step: look, do: Look., record: {volts: {gauge: meter, readings: 2}, "
               "other: {gauge: meter, readings: 2}}}\n"
               "results:\n"
               "  - {result: change, value: volts - earlier.volts, unit: V}\n"
               "  - {result: far, value: driven - earlier.driven, unit: km}\n"
               "  - {result: more, value: other - earlier.other, unit: V}\n";
    struct fake *fake = DONE_WITH(P, "2000", "11", "11.2", "3", "3");
    struct earlier_value earlier[] = {
        {.name = TEXT("volts"), .has_number = true, .si = 12, .shown = TEXT("12 V")},
        {.name = TEXT("driven"), .has_number = true, .si = 1e6, .shown = TEXT("1000 km")},
        {.name = TEXT("other"),
         .has_number = true,
         .si = 3,
         .shown = TEXT("3 V"),
         .has_uncertainty = true,
         .uncertainty = 0.1},
    };
    struct event events[64];
    assert_true(fake->event_count <= 64);
    for (size_t i = 0; i < fake->event_count; i++)
        events[i] = fake->events[i];
    events[0].earlier = earlier;
    events[0].earlier_count = 3;
    fake_begin_job(fake);
    for (size_t i = 0; i < fake->event_count; i++)
        job_apply(fake->session.job, &events[i]);
    struct outcome outcome = outcome_work_out(fake->session.job, &fake->scratch);
    assert_cautioned("Uncertainty of the earlier value unknown, today's gauge taken instead: "
                     "volts.");
    assert_cautioned("Uncertainty of the earlier value unknown, so not in the ±: driven.");
    assert_int_equal(outcome.caution_count, 2);
    fake_close(fake);
}

static void nothing_is_said_where_nothing_was_read(void **state)
{
    (void)state;
    static const char P[] =
        HEADER "gauges: {meter: {unit: bar, due: 2020-01-01}}\n"
               "steps:\n"
               "  - {step: read, do: Read it., optional: true, record: {dry: {gauge: meter}}}\n"
               "results:\n"
               "  - {result: it, value: dry, unit: bar, limit: {at_least: 1 bar}}\n";
    struct fake *fake = DONE_WITH(P, "pass it over");
    struct outcome outcome = outcome_work_out(fake->session.job, &fake->scratch);
    assert_int_equal(outcome.caution_count, 0);
    assert_int_equal(outcome.results[0].note_count, 0);
    fake_close(fake);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_close_call_says_what_would_settle_it),
        cmocka_unit_test(a_chance_that_does_not_pass_is_not_said_to_be_95),
        cmocka_unit_test(a_better_gauge_is_named_as_gauges_are),
        cmocka_unit_test(more_readings_settle_what_scatters),
        cmocka_unit_test(more_readings_do_not_settle_the_highest),
        cmocka_unit_test(a_ratio_is_narrower_than_a_difference_from_the_manual),
        cmocka_unit_test(what_no_band_shows_is_said),
        cmocka_unit_test(an_earlier_value_of_unknown_uncertainty_is_said),
        cmocka_unit_test(nothing_is_said_where_nothing_was_read),
    };
    return cmocka_run_group_tests_name("outcome/standing", tests, NULL, NULL);
}

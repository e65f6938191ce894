/* What makes two gauges one: invented gauges, held against the rule in docs/record.md. */
#include "../../src/report/one_gauge.h"
#include "golden.h"
#include "support/trial_ports.h"

#include <math.h>

static const struct accuracy_term two_percent = {.form = ACCURACY_OF_READING, .amount = 0.02};
static const struct accuracy_term three_percent = {.form = ACCURACY_OF_READING, .amount = 0.03};
static const struct accuracy_term of_scale = {
    .form = ACCURACY_OF_FULL_SCALE, .amount = 0.02, .full_scale = 2e6};

static struct gauge dial(void)
{
    return (struct gauge){.name = TEXT("dial"),
                          .title = TEXT("Dial gauge"),
                          .accuracy = &two_percent,
                          .accuracy_count = 1,
                          .calibrated = TEXT("2026-01-10")};
}

static void name_date_and_accuracy_make_one_gauge(void **state)
{
    (void)state;
    struct gauge a = dial(), b = dial();
    b.name = TEXT("pressure_gauge"); /* as another procedure calls it */
    assert_int_equal(gauges_compare(&a, &b), ONE_GAUGE);
    b.title = TEXT("Another dial");
    assert_int_equal(gauges_compare(&a, &b), OTHER_GAUGE);
    a.title = b.title = (struct text){0};
    assert_int_equal(gauges_compare(&a, &b), OTHER_GAUGE);
}

static void a_date_that_is_not_given_makes_two(void **state)
{
    (void)state;
    struct gauge a = dial(), b = dial();
    b.calibrated = (struct text){0};
    assert_int_equal(gauges_compare(&a, &b), GAUGE_UNDATED);
    assert_int_equal(gauges_compare(&b, &a), GAUGE_UNDATED);
    a.calibrated = (struct text){0};
    assert_int_equal(gauges_compare(&a, &b), GAUGE_UNDATED);
}

static void another_date_or_accuracy_makes_two(void **state)
{
    (void)state;
    struct gauge a = dial(), b = dial();
    b.calibrated = TEXT("2026-03-01");
    assert_int_equal(gauges_compare(&a, &b), GAUGE_RECALIBRATED);
    b = dial();
    b.accuracy = &three_percent;
    assert_int_equal(gauges_compare(&a, &b), GAUGE_RERATED);
    b.accuracy = &of_scale;
    assert_int_equal(gauges_compare(&a, &b), GAUGE_RERATED);
    b.accuracy_count = 0;
    assert_int_equal(gauges_compare(&a, &b), GAUGE_RERATED);
}

/* --- errors over jobs ----------------------------------------------------------------------------- */

/* The same gauge second in one procedure and first in the other: what counts is the gauge, not its
 * number.  Two terms, 2 % and 0.1 bar. */
#define LAST                                                                                   \
    "gauges:\n"                                                                                \
    "  other: {unit: bar, resolution: 0.1 bar, accuracy: [1 %, 0.5 bar, 3 %]}\n" DIAL
#define DIAL                                                                                   \
    "  dial: {unit: bar, resolution: 0.1 bar, accuracy: [2 %, 0.1 bar], calibrated: "          \
    "2026-01-10}\n"
#define READ_WITH(gauges)                                                                      \
    TRIAL_PROCEDURE_READ(gauges, "    treated: {draw: 2}\n", "gauge: dial", "gauge: dial", "1")
#define ANSWERS                                                                                \
    TRIAL_ANSWERS("{1: 10, 2: 10, 3: 10, 4: 10}", "{1: 10, 2: 10, 3: 10, 4: 10}",              \
                  "  warm_after: 350 K\n  soak: {design: go on with this trial}\n")

static struct measured first_reading(const struct tried *tried)
{
    struct surroundings surroundings =
        job_surroundings(tried->fake->session.job, &tried->fake->arena);
    const struct reading *reading = &tried->fake->procedure->readings[0];
    assert_true(text_equal(reading->name, TEXT("base")));
    return surroundings.value_of(surroundings.self, reading->symbol, &tried->fake->arena)
        .items[0]
        .number;
}

/* Of 10 bar less 10 bar with one gauge only the steps are left: 0.1 bar over sqrt(12), twice (JCGM
 * 100:2008, F.2.2.1). */
static void the_error_of_one_gauge_drops_out_whatever_its_number(void **state)
{
    (void)state;
    struct tried first = try_out(READ_WITH(LAST), ANSWERS, 1);
    struct tried second = try_out(READ_WITH("gauges:\n" DIAL), ANSWERS, 1);
    const struct job *jobs[] = {first.fake->session.job, second.fake->session.job};
    struct arena *arena = &first.fake->arena;
    struct errors_of_jobs errors = {.jobs = jobs, .job_count = 2, .arena = arena};
    const struct gradient *difference =
        gradient_combine(arena, errors_in(&errors, 0, first_reading(&first).gradient), 1.0,
                         errors_in(&errors, 1, first_reading(&second).gradient), -1.0);
    double bar = gradient_combined(difference) / 1e5;
    assert_true(fabs(bar - 0.1 * sqrt(2.0 / 12.0)) < 1e-9);
    /* and of one job everything stays: 2 % and 0.1 bar over sqrt(3) each */
    bar = gradient_combined(errors_in(&errors, 1, first_reading(&second).gradient)) / 1e5;
    assert_true(fabs(bar - sqrt(0.04 / 3 + 0.01 / 3 + 0.01 / 12)) < 1e-9);
    fake_close(second.fake);
    fake_close(first.fake);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(name_date_and_accuracy_make_one_gauge),
        cmocka_unit_test(a_date_that_is_not_given_makes_two),
        cmocka_unit_test(another_date_or_accuracy_makes_two),
        cmocka_unit_test(the_error_of_one_gauge_drops_out_whatever_its_number),
    };
    return cmocka_run_group_tests_name("report/one_gauge", tests, NULL, NULL);
}

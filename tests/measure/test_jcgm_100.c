/*
 * Worked examples of JCGM 100:2008, "Evaluation of measurement data - Guide to the expression of
 * uncertainty in measurement" (the figures as printed there), and of the NIST/SEMATECH e-Handbook of
 * Statistical Methods where it uses the same formulas.
 */
#include "base/check.h"
#include "measure/uncertainty.h"

#include <math.h>
#include <stdio.h>

static struct arena arena;

static int open_arena(void **state)
{
    (void)state;
    arena = arena_open(MEBIBYTE, check_exhausted);
    return 0;
}

static int close_arena(void **state)
{
    (void)state;
    arena_close(&arena);
    return 0;
}

/* An input of its own: contribution to the result, and degrees of freedom (0: infinitely many). */
struct part {
    double uncertainty, freedom;
};

static const struct gradient *parts_of(const struct part *parts, unsigned count)
{
    struct error_term *terms = arena_array(&arena, struct error_term, count);
    for (unsigned i = 0; i < count; i++)
        terms[i] = (struct error_term){
            .source = i, .slope = parts[i].uncertainty, .freedom = parts[i].freedom, .pool = i};
    return gradient_of(&arena, terms, count);
}

#define PARTS(...)                                                                             \
    parts_of((const struct part[]){__VA_ARGS__},                                               \
             sizeof((const struct part[]){__VA_ARGS__}) / sizeof(struct part))

/* --- evaluating one input ------------------------------------------------------------------- */

/* 4.4.3 and Table 1: twenty temperatures. */
static void clause_4_4_3_twenty_temperatures(void **state)
{
    (void)state;
    static const double celsius[] = {96.90,  98.18,  98.25,  98.61,  99.03,  99.49,  99.56,
                                     99.74,  99.89,  100.07, 100.33, 100.42, 100.68, 100.95,
                                     101.11, 101.20, 101.57, 101.84, 102.36, 102.72};
    struct scatter scatter = {0};
    scatter_add(&scatter, celsius, 20);
    assert_near(scatter_deviation(&scatter), 1.489, 0.0005, "s");
    assert_near(scatter_deviation(&scatter) / sqrt(20), 0.333, 0.0005, "u of the mean");
    assert_near(scatter.freedom, 19, 0, "freedom");
}

/* 4.4.5: anywhere between 96 and 104 degrees alike. */
static void clause_4_4_5_limits_alone_are_known(void **state)
{
    (void)state;
    assert_near(rectangular_uncertainty(4), 2.3, 0.05, "u");
    assert_near(rectangular_uncertainty(-4), rectangular_uncertainty(4), 0, "no sign");
}

/* F.2.2.1 (from memory): a scale of step 1 has u = 0.29. */
static void annex_F_2_2_1_a_digital_scale(void **state)
{
    (void)state;
    assert_near(rectangular_uncertainty(0.5), 0.29, 0.005, "u");
    assert_near(rectangular_uncertainty(0.5), 1 / sqrt(12), 1e-15, "1 / sqrt(12)");
}

/* H.5, Table H.9: a voltage read five times a day for ten days, in microvolt above 10 V.  Days are
 * groups that scatter alike: s = 85.  The mean of the ten means has 57 / sqrt(10), freedom 9. */
static void annex_H_5_days_are_pooled(void **state)
{
    (void)state;
    static const double mean[] = {172, 116, 13, 144, 106, 31, 60, 125, 163, 41};
    static const double spread[] = {60, 77, 111, 101, 67, 93, 80, 73, 88, 86};
    struct scatter within = {0}, between = {0};
    for (size_t i = 0; i < 10; i++) {
        /* five readings with that mean and that standard deviation: 2 z2 d2 = 4 s2 */
        double d = spread[i] * sqrt(2);
        double day[] = {mean[i] - d, mean[i], mean[i], mean[i], mean[i] + d};
        scatter_add(&within, day, 5);
    }
    scatter_add(&between, mean, 10);
    assert_near(scatter_deviation(&within), 85, 0.5, "within a day");
    assert_near(within.freedom, 40, 0, "freedom within");
    assert_near(scatter_deviation(&between), 57, 0.5, "of the means of days");
    double ratio = 5 * pow(scatter_deviation(&between) / scatter_deviation(&within), 2);
    assert_near(ratio, 2.25, 0.03, "F, printed from rounded standard deviations");
}

/* --- degrees of freedom ----------------------------------------------------------------------- */

/* G.4.1: a product of three inputs; relative uncertainties in percent of means of 10, 5 and 15.
 * The guide has 19 from u rounded to 1.03; with all digits it is 18.9987, and cutting that to a
 * whole number would make it 18: it is not cut. */
static void annex_G_4_1_a_product_of_three(void **state)
{
    (void)state;
    const struct gradient *product = PARTS({0.25, 9}, {0.57, 4}, {0.82, 14});
    assert_near(gradient_combined(product), 1.03, 0.005, "u");
    assert_near(gradient_freedom(product), 18.9987, 0.00005, "freedom");
    assert_near(gradient_expanded(product), 2.2, 0.05, "U, of 95 %");
}

/* H.1: an end gauge; nanometre, the degrees of freedom as there.  nu 16 is 16.7 cut; U for 99 % is
 * 93 from u rounded to 32, and 92.5 without. */
static void annex_H_1_an_end_gauge(void **state)
{
    (void)state;
    const struct gradient *comparison =
        PARTS({13 / sqrt(5), 24}, {10 / 2.57, 5}, {20.0 / 3, 8});
    assert_near(gradient_combined(comparison), 9.7, 0.05, "u of the comparison");
    assert_near(gradient_freedom(comparison), 25.6, 0.1, "its freedom");
    const double length = 50.000623e6; /* nm */
    double expansion = length * 0.1 * rectangular_uncertainty(1e-6);
    double difference = length * 11.5e-6 * rectangular_uncertainty(0.05);
    assert_near(expansion, 2.9, 0.05, "difference of the expansion coefficients");
    assert_near(difference, 16.6, 0.05, "difference of the temperatures");
    const struct gradient *gauge =
        PARTS({25, 18}, {9.7, 25.6}, {expansion, 50}, {difference, 2});
    assert_near(gradient_combined(gauge), 32, 0.5, "u");
    assert_near(pow(gradient_combined(gauge), 2), 1002, 1.5, "u squared");
    assert_near(floor(gradient_freedom(gauge)), 16, 0, "freedom");
    double k = student_quantile(0.995, floor(gradient_freedom(gauge)));
    assert_near(k, 2.92, 0.005, "t for 99 %");
    assert_near(k * gradient_combined(gauge), 92.5, 0.55, "U for 99 %");
}

/* A ratio of two with a third as a factor, and two terms of which one is known (both as test data of
 * public uncertainty libraries have them). */
static void parts_that_are_known_raise_the_freedom(void **state)
{
    (void)state;
    assert_near(gradient_freedom(PARTS({0.57, 9}, {0.25, 0})), 12.8, 0.05, "two terms");
    const double ratio = 0.1820 / 0.1823 * 0.6978;
    const struct gradient *quotient =
        PARTS({ratio * 0.00093 / 0.1820, 9}, {ratio * 0.00058 / 0.1823, 19},
              {ratio * 0.0026 / 0.6978, 19});
    assert_near(gradient_combined(quotient), 0.00494, 0.000025, "u");
    assert_near(gradient_freedom(quotient), 27.7, 1, "freedom");
    assert_near(gradient_expanded(quotient), 0.0101, 0.00005, "U");
    assert_true(isinf(gradient_freedom(PARTS({1, 0}, {2, 0}))));
    assert_true(isinf(gradient_freedom(NULL)));
}

/* NIST/SEMATECH e-Handbook 7.3.1: two processes with scatters of their own (Welch), 11 and 9 times.
 * Dataplot's AUTO83B (1.3.5.3): 249 and 79 cars. */
static void two_pools_are_entered_apart(void **state)
{
    (void)state;
    const struct gradient *difference = PARTS({4.9082 / sqrt(11), 10}, {-2.5386 / sqrt(9), 8});
    double t = (36.0909 - 32.2222) / gradient_combined(difference);
    assert_near(t, 2.2694, 0.0002, "t");
    assert_near(gradient_freedom(difference), 15.533, 0.0005, "freedom");
    assert_near(2 * (1 - student_below(t, gradient_freedom(difference))), 0.0379, 0.00005, "p");
    const struct gradient *cars = PARTS({6.41470 / sqrt(249), 248}, {6.10771 / sqrt(79), 78});
    assert_near((20.14458 - 30.48101) / gradient_combined(cars), -12.94627, 0.00001, "t");
    assert_near(gradient_freedom(cars), 136.87499, 0.00005, "freedom");
}

/* Two means of three from one pool of freedom 4 know no more than the pool does (JCGM 100:2008, G.4,
 * holds for independent estimates only).  e-Handbook 1.3.5.3: the pooled t test has 326. */
static void one_pool_is_entered_once(void **state)
{
    (void)state;
    struct error_term terms[] = {{.source = 1, .slope = 1, .freedom = 4, .pool = 7},
                                 {.source = 2, .slope = -1, .freedom = 4, .pool = 7}};
    assert_near(gradient_freedom(gradient_of(&arena, terms, 2)), 4, 1e-12, "freedom");
    terms[1].pool = 8;
    assert_near(gradient_freedom(gradient_of(&arena, terms, 2)), 8, 1e-12, "two pools");
    const double pooled = 6.34260;
    struct error_term cars[] = {
        {.source = 1, .slope = pooled / sqrt(249), .freedom = 326, .pool = 1},
        {.source = 2, .slope = -pooled / sqrt(79), .freedom = 326, .pool = 1}};
    const struct gradient *difference = gradient_of(&arena, cars, 2);
    assert_near((20.14458 - 30.48101) / gradient_combined(difference), -12.62059, 0.00005, "t");
    assert_near(gradient_freedom(difference), 326, 1e-9, "freedom");
}

/* --- Student's distribution ----------------------------------------------------------------- */

/* Table G.2, t for 68.27, 90, 95, 95.45, 99 and 99.73 %, as printed; but for 35 and 90 % it prints
 * 1.70, which is a misprint (1.6896). */
static const struct {
    double freedom;
    const char *t[6];
} table[] = {
    /* clang-format off */
    {1, {"1.84", "6.31", "12.71", "13.97", "63.66", "235.8"}},
    {2, {"1.32", "2.92", "4.30", "4.53", "9.92", "19.21"}},
    {3, {"1.20", "2.35", "3.18", "3.31", "5.84", "9.22"}},
    {4, {"1.14", "2.13", "2.78", "2.87", "4.60", "6.62"}},
    {5, {"1.11", "2.02", "2.57", "2.65", "4.03", "5.51"}},
    {6, {"1.09", "1.94", "2.45", "2.52", "3.71", "4.90"}},
    {7, {"1.08", "1.89", "2.36", "2.43", "3.50", "4.53"}},
    {8, {"1.07", "1.86", "2.31", "2.37", "3.36", "4.28"}},
    {9, {"1.06", "1.83", "2.26", "2.32", "3.25", "4.09"}},
    {10, {"1.05", "1.81", "2.23", "2.28", "3.17", "3.96"}},
    {11, {"1.05", "1.80", "2.20", "2.25", "3.11", "3.85"}},
    {12, {"1.04", "1.78", "2.18", "2.23", "3.05", "3.76"}},
    {13, {"1.04", "1.77", "2.16", "2.21", "3.01", "3.69"}},
    {14, {"1.04", "1.76", "2.14", "2.20", "2.98", "3.64"}},
    {15, {"1.03", "1.75", "2.13", "2.18", "2.95", "3.59"}},
    {16, {"1.03", "1.75", "2.12", "2.17", "2.92", "3.54"}},
    {17, {"1.03", "1.74", "2.11", "2.16", "2.90", "3.51"}},
    {18, {"1.03", "1.73", "2.10", "2.15", "2.88", "3.48"}},
    {19, {"1.03", "1.73", "2.09", "2.14", "2.86", "3.45"}},
    {20, {"1.03", "1.72", "2.09", "2.13", "2.85", "3.42"}},
    {25, {"1.02", "1.71", "2.06", "2.11", "2.79", "3.33"}},
    {30, {"1.02", "1.70", "2.04", "2.09", "2.75", "3.27"}},
    {35, {"1.01", "1.69", "2.03", "2.07", "2.72", "3.23"}},
    {40, {"1.01", "1.68", "2.02", "2.06", "2.70", "3.20"}},
    {45, {"1.01", "1.68", "2.01", "2.06", "2.69", "3.18"}},
    {50, {"1.01", "1.68", "2.01", "2.05", "2.68", "3.16"}},
    {100, {"1.005", "1.660", "1.984", "2.025", "2.626", "3.077"}},
    {INFINITY, {"1.000", "1.645", "1.960", "2.000", "2.576", "3.000"}},
    /* clang-format on */
};

static void annex_G_table_G_2(void **state)
{
    (void)state;
    static const double percent[] = {68.27, 90, 95, 95.45, 99, 99.73};
    for (size_t row = 0; row < sizeof table / sizeof *table; row++)
        for (size_t column = 0; column < 6; column++) {
            const char *printed = table[row].t[column];
            const char *point = strchr(printed, '.');
            int decimals = (int)strlen(point) - 1;
            double t = student_quantile(0.5 + percent[column] / 200, table[row].freedom);
            char got[32];
            (void)snprintf(got, sizeof got, "%.*f", decimals, t);
            if (strcmp(got, printed) != 0)
                fail_msg("freedom %g, %g %%: %s, printed %s", table[row].freedom,
                         percent[column], got, printed);
            assert_near(student_below(t, table[row].freedom), 0.5 + percent[column] / 200, 1e-9,
                        "probability and t are inverse");
        }
}

/* With ever more freedom it becomes the normal distribution, without a step anywhere. */
static void student_becomes_normal(void **state)
{
    (void)state;
    for (double freedom = 1; freedom < 1e18; freedom *= 1.01) {
        double t = student_quantile(0.975, freedom);
        assert_near(student_below(t, freedom), 0.975, 1e-9, "inverse");
        assert_true(t >= student_quantile(0.975, freedom * 1.01) - 2e-6);
        assert_true(t >= student_quantile(0.975, INFINITY));
    }
    assert_near(student_below(1e308, 3), 1, 0, "far out");
    assert_near(student_below(-1e308, INFINITY), 0, 0, "far out");
}

/* TN 1297, B.2, and e-Handbook 7.2.2: ten wafers against 50. */
static void other_published_values_of_student(void **state)
{
    (void)state;
    assert_near(student_quantile(0.975, 8), 2.31, 0.005, "freedom 8");
    static const double wafers[] = {50, 48, 44, 56, 61, 52, 53, 55, 67, 51};
    struct scatter scatter = {0};
    scatter_add(&scatter, wafers, 10);
    assert_near(scatter_deviation(&scatter), 6.567, 0.0005, "s");
    double t = (53.7 - 50) / (scatter_deviation(&scatter) / sqrt(10));
    assert_near(t, 1.782, 0.0005, "t");
    assert_near(student_quantile(0.975, scatter.freedom), 2.262, 0.0005, "critical t");
    assert_near(2 * (1 - student_below(t, scatter.freedom)), 0.108473, 5e-7, "p");
    assert_near(student_quantile(0.95, 16), 1.746, 0.0005, "e-Handbook 7.3.1");
    assert_near(student_quantile(0.95, 8), 1.860, 0.0005, "e-Handbook 7.2.2.2");
    assert_near(student_quantile(0.975, 326), 1.9673, 0.00005, "e-Handbook 1.3.5.3");
}

/* e-Handbook 1.3.5.2, ZARR13: 195 calibrations; and three results of mercury (test data of a public
 * statistics library). */
static void intervals_of_95_percent(void **state)
{
    (void)state;
    const struct gradient *calibration = PARTS({0.02278881 / sqrt(195), 194});
    assert_near(9.26146 - gradient_expanded(calibration), 9.25824, 5e-6, "lower");
    assert_near(9.26146 + gradient_expanded(calibration), 9.26468, 5e-6, "upper");
    const struct gradient *mercury = PARTS({0.9643650 / sqrt(3), 2});
    assert_near(37.8 - gradient_expanded(mercury), 35.40438, 1e-5, "lower");
    assert_near(37.8 + gradient_expanded(mercury), 40.19562, 1e-5, "upper");
}

/* --- written -------------------------------------------------------------------------------- */

/* 7.2.6: 10.47 milliohm is 11, 28.05 kHz is 28; 10.057 62 ohm with u = 27 milliohm is 10.058. */
static void clause_7_2_6_rounding(void **state)
{
    (void)state;
    struct rounded rounded = uncertainty_rounded(10.47);
    assert_near(rounded.amount, 11, 0, "10.47");
    assert_int_equal(rounded.place, 0);
    assert_near(uncertainty_rounded(28.05).amount, 28, 0, "28.05");
    rounded = uncertainty_rounded(0.00998);
    assert_near(rounded.amount, 0.010, 1e-18, "ten of the next place");
    assert_int_equal(rounded.place, -3);
    rounded = uncertainty_rounded(123);
    assert_near(rounded.amount, 120, 0, "123");
    assert_int_equal(rounded.place, 1);
    assert_text(measured_text(&arena, 10.05762, 0.027, unit_find(TEXT("ohm"))),
                "(10.058\u00a0±\u00a00.027)\u00a0Ω");
    assert_text(measured_text(&arena, 8.2e5, 0.2512e5, unit_find(TEXT("bar"))),
                "(8.20\u00a0±\u00a00.25)\u00a0bar");
    assert_text(measured_text(&arena, 1234e5, 123e5, unit_find(TEXT("bar"))),
                "(1230\u00a0±\u00a0120)\u00a0bar");
    assert_text(measured_text(&arena, 293.15, 1, unit_find(TEXT("°C"))),
                "(20.0\u00a0±\u00a01.0)\u00a0°C");
    assert_text(measured_text(&arena, 0.7039, 0.0142, unit_find(TEXT("%"))),
                "(70.4\u00a0±\u00a01.4)\u00a0%");
    assert_text(measured_text(&arena, -0.001, 0.5, &unit_one), "(0.00\u00a0±\u00a00.50)");
}

/* It is never made more than one part in forty smaller, nor more than a tenth larger. */
static void rounding_hardly_flatters(void **state)
{
    (void)state;
    for (double exact = 1e-7; exact < 1e7; exact *= 1.0137) {
        double shown = uncertainty_rounded(exact).amount;
        assert_true(shown >= exact * (1 - 1.0 / 40) && shown <= exact * 1.1);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(clause_4_4_3_twenty_temperatures),
        cmocka_unit_test(clause_4_4_5_limits_alone_are_known),
        cmocka_unit_test(annex_F_2_2_1_a_digital_scale),
        cmocka_unit_test(annex_H_5_days_are_pooled),
        cmocka_unit_test(annex_G_4_1_a_product_of_three),
        cmocka_unit_test(annex_H_1_an_end_gauge),
        cmocka_unit_test(parts_that_are_known_raise_the_freedom),
        cmocka_unit_test(two_pools_are_entered_apart),
        cmocka_unit_test(one_pool_is_entered_once),
        cmocka_unit_test(annex_G_table_G_2),
        cmocka_unit_test(student_becomes_normal),
        cmocka_unit_test(other_published_values_of_student),
        cmocka_unit_test(intervals_of_95_percent),
        cmocka_unit_test(clause_7_2_6_rounding),
        cmocka_unit_test(rounding_hardly_flatters),
    };
    return cmocka_run_group_tests_name("measure/jcgm_100", tests, open_arena, close_arena);
}

#include "measure/columns.h"
#include "measure/outlier.h"

#include <math.h>

/* NIST/SEMATECH e-Handbook 1.3.5.17.1: eight results of a mass spectrometer.  The page cuts after four
 * digits. */
static void the_spectrometer_of_the_e_handbook(void **state)
{
    (void)state;
    const double values[] = {199.31, 199.53, 200.19, 200.82, 201.92, 201.95, 202.18, 245.57};
    struct outlier_step step;
    bool is_taken[8];
    assert_int_equal(outlier_steps(values, 8, 1, &step, is_taken), 1);
    assert_int_equal(step.which, 7);
    assert_near(step.distance, 2.4687, 0.0001, "G");
    assert_near(outlier_critical(8, 0.10), 2.032, 0.0005, "one-sided critical value");
    assert_true(step.distance > step.critical);
}

/* Data set VANGEL31 of Dataplot (NIST): nothing stands out; the prints are cut. */
static void vangel31_has_none(void **state)
{
    (void)state;
    struct columns vangel;
    struct outlier_step step;
    bool is_taken[ROWS_MAX];
    columns_read(&vangel, "tests/measure/vangel31.csv", "y");
    assert_int_equal(vangel.rows, 38);
    assert_int_equal(outlier_steps(vangel.of[0], vangel.rows, 1, &step, is_taken), 1);
    assert_near(step.distance, 2.4312, 0.0015, "G");
    assert_near(outlier_critical(38, 0.10), 2.846, 0.0015, "90 %");
    assert_near(outlier_critical(38, 0.05), 3.013, 0.0015, "95 %");
    assert_near(outlier_critical(38, 0.025), 3.169, 0.0015, "97.5 %");
    assert_near(outlier_critical(38, 0.01), 3.355, 0.0015, "99 %");
    assert_int_equal(outliers_find(vangel.of[0], vangel.rows, 1, &step, is_taken), 0);
}

/* Grubbs' two-sided values at 5 %, as printed in tables of it; the formula gives 2.7082 for 20. */
static void the_critical_values_of_the_tables(void **state)
{
    (void)state;
    assert_near(outlier_critical(5, 0.05), 1.715, 0.0005, "of 5");
    assert_near(outlier_critical(10, 0.05), 2.290, 0.0005, "of 10");
    assert_near(outlier_critical(20, 0.05), 2.709, 0.001, "of 20");
    assert_near(outlier_critical(30, 0.05), 2.908, 0.0005, "of 30");
}

/* NIST/SEMATECH e-Handbook 1.3.5.17.3: Rosner's 54 values; the page cuts after three digits. */
static void the_three_of_rosner(void **state)
{
    (void)state;
    const double distances[] = {3.118, 2.942, 3.179, 2.810, 2.815,
                                2.848, 2.279, 2.310, 2.101, 2.067};
    const double criticals[] = {3.158, 3.151, 3.143, 3.136, 3.128,
                                3.120, 3.111, 3.103, 3.094, 3.085};
    struct columns rosner;
    struct outlier_step steps[10];
    bool stands_out[ROWS_MAX];
    columns_read(&rosner, "tests/measure/rosner.csv", "y");
    assert_int_equal(rosner.rows, 54);
    assert_int_equal(outlier_steps(rosner.of[0], 54, 10, steps, stands_out), 10);
    for (size_t i = 0; i < 10; i++) {
        assert_near(steps[i].distance, distances[i], 0.001, "R");
        assert_near(steps[i].critical, criticals[i], 0.001, "lambda");
    }
    /* the first two hide behind one another: only the third step shows all three */
    assert_int_equal(outliers_find(rosner.of[0], 54, 10, steps, stands_out), 3);
    for (size_t i = 0; i < 54; i++)
        assert_int_equal(stands_out[i], rosner.of[0][i] > 5.3);
    assert_int_equal(outliers_find(rosner.of[0], 54, 1, steps, stands_out), 0);
}

static void of_few_or_equal_values_none_stands_out(void **state)
{
    (void)state;
    const double apart[] = {1, 1, 99}, equal[] = {0.1, 0.1, 0.1, 0.1, 0.1}, zeros[5] = {0};
    struct outlier_step steps[2];
    bool stands_out[5] = {true, true, true, true, true};
    assert_int_equal(outliers_find(apart, 2, 1, steps, stands_out), 0);
    assert_false(stands_out[0] || stands_out[1]);
    assert_int_equal(outliers_find(equal, 5, 2, steps, stands_out), 0);
    for (size_t i = 0; i < 5; i++)
        assert_false(stands_out[i]);
    assert_int_equal(outliers_find(zeros, 5, 2, steps, stands_out), 0);
    assert_near(steps[0].distance, 0, 0, "of nothing but zeros");
    assert_true(outlier_critical(3, 0.05) < 2 / sqrt(3));
    assert_int_equal(outliers_find(apart, 3, 1, steps, stands_out), 1);
    assert_true(stands_out[2]);
}

static void what_was_not_read_is_passed_over(void **state)
{
    (void)state;
    const double values[] = {NAN, 11.2, 11.4, 8.1, INFINITY, 11.3, 11.1, 11.5};
    const double nothing[] = {NAN, NAN, -INFINITY, NAN}, two[] = {NAN, 1, 99, NAN};
    struct outlier_step steps[8];
    bool stands_out[8];
    assert_int_equal(outliers_find(values, 8, 3, steps, stands_out), 1);
    for (size_t i = 0; i < 8; i++)
        assert_int_equal(stands_out[i], i == 3);
    assert_int_equal(outlier_steps(values, 8, 8, steps, stands_out), 4); /* six were read */
    assert_int_equal(outliers_find(nothing, 4, 4, steps, stands_out), 0);
    assert_int_equal(outliers_find(two, 4, 4, steps, stands_out), 0);
}

/* 0.1 + 0.2 is not 0.3, and nobody's cylinder. */
static void the_rounding_of_the_arithmetic_stands_out_nowhere(void **state)
{
    (void)state;
    const double values[] = {0.3, 0.3, 0.1 + 0.2, 0.3, 0.3};
    struct outlier_step steps[2];
    bool stands_out[5];
    assert_true(values[2] > values[0]);
    assert_int_equal(outliers_find(values, 5, 2, steps, stands_out), 0);
    assert_near(steps[0].distance, 0, 0, "distance");
}

static void small_and_large_numbers_are_no_exception(void **state)
{
    (void)state;
    const double powers[] = {1e-300, 1e-160, 1, 1e160, 1e300};
    for (size_t p = 0; p < 5; p++) {
        double values[] = {11.2, 11.4, 8.1, 11.3, 11.1, 11.5};
        struct outlier_step step;
        bool stands_out[6];
        for (size_t i = 0; i < 6; i++)
            values[i] *= powers[p];
        assert_int_equal(outliers_find(values, 6, 1, &step, stands_out), 1);
        assert_near(step.distance, 2.0293851577273636, 1e-12, "R" /* numpy */);
    }
}

/* Scaled and moved, the same ones stand out; in another order, the same again. */
static void units_and_order_do_not_matter(void **state)
{
    (void)state;
    const double values[] = {11.2, 11.4, 8.1, 11.3, 11.1, 11.5};
    double other[6];
    struct outlier_step steps[3];
    bool stands_out[6], again[6];
    assert_int_equal(outliers_find(values, 6, 3, steps, stands_out), 1);
    assert_true(stands_out[2]);
    for (size_t i = 0; i < 6; i++)
        other[5 - i] = 14.503773773 * values[i] + 32;
    assert_int_equal(outliers_find(other, 6, 3, steps, again), 1);
    for (size_t i = 0; i < 6; i++)
        assert_int_equal(again[5 - i], stands_out[i]);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(the_spectrometer_of_the_e_handbook),
        cmocka_unit_test(vangel31_has_none),
        cmocka_unit_test(the_critical_values_of_the_tables),
        cmocka_unit_test(the_three_of_rosner),
        cmocka_unit_test(of_few_or_equal_values_none_stands_out),
        cmocka_unit_test(what_was_not_read_is_passed_over),
        cmocka_unit_test(the_rounding_of_the_arithmetic_stands_out_nowhere),
        cmocka_unit_test(small_and_large_numbers_are_no_exception),
        cmocka_unit_test(units_and_order_do_not_matter),
    };
    return cmocka_run_group_tests_name("measure/outlier", tests, NULL, NULL);
}

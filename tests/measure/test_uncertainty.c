#include "base/check.h"
#include "measure/uncertainty.h"

#include <math.h>

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

static const struct gradient *one(unsigned source, double slope)
{
    struct gradient *gradient = arena_allocate(
        &arena, 1, sizeof(struct gradient) + sizeof(struct error_term), alignof(double));
    gradient->count = 1;
    gradient->terms[0] = (struct error_term){.source = source, .slope = slope};
    return gradient;
}

static void terms_are_merged_by_source(void **state)
{
    (void)state;
    const struct gradient *a = gradient_combine(&arena, one(7, 2), 1, one(3, 5), 1);
    const struct gradient *b = gradient_combine(&arena, one(9, 1), 1, one(7, 4), 1);
    const struct gradient *sum = gradient_combine(&arena, a, 10, b, -1);
    assert_int_equal(sum->count, 3);
    const struct {
        unsigned source;
        double slope;
    } expected[] = {{3, 50}, {7, 16}, {9, -1}};
    for (size_t i = 0; i < 3; i++) {
        assert_int_equal(sum->terms[i].source, expected[i].source);
        assert_near(sum->terms[i].slope, expected[i].slope, 0, "slope");
    }
}

static void a_shared_error_cancels_in_a_difference(void **state)
{
    (void)state;
    assert_null(gradient_combine(&arena, one(1, 0.3), 1, one(1, 0.3), -1));
    const struct gradient *left = gradient_combine(&arena, one(1, 0.3), 1, one(2, 0.4), 1);
    const struct gradient *rest = gradient_combine(&arena, left, 1, one(1, 0.3), -1);
    assert_int_equal(rest->count, 1);
    assert_int_equal(rest->terms[0].source, 2);
    assert_near(gradient_combined(rest), 0.4, 0, "what is left");
}

static void an_exact_operand_adds_nothing(void **state)
{
    (void)state;
    assert_null(gradient_combine(&arena, NULL, 1, NULL, 1));
    const struct gradient *same = gradient_combine(&arena, NULL, 5, one(4, 3), 2);
    assert_int_equal(same->count, 1);
    assert_near(same->terms[0].slope, 6, 0, "slope");
    same = gradient_combine(&arena, one(4, 3), 2, NULL, 5);
    assert_near(same->terms[0].slope, 6, 0, "slope");
    assert_null(gradient_combine(&arena, one(4, 3), 0, NULL, 1));
    assert_near(gradient_combined(NULL), 0, 0, "exact");
}

/* JCGM 100:2008, 5.2.2, example (its figures from memory): ten resistors, each calibrated against the same 1000 ohm standard with
 * u = 0.1 ohm, in series: the errors are fully correlated and add up to 1 ohm; were they
 * independent they would make sqrt(10) x 0.1 = 0.32 ohm. */
static void ten_resistors_against_one_standard(void **state)
{
    (void)state;
    const struct gradient *correlated = NULL;
    const struct gradient *independent = NULL;
    for (unsigned i = 0; i < 10; i++) {
        correlated = gradient_combine(&arena, correlated, 1, one(0, 0.1), 1);
        independent = gradient_combine(&arena, independent, 1, one(i, 0.1), 1);
    }
    assert_near(gradient_combined(correlated), 1.0, 1e-12, "correlated");
    assert_near(gradient_combined(independent), 0.32, 0.005, "independent");
    assert_near(gradient_combined(independent), sqrt(10) * 0.1, 1e-15, "independent");
}

static void squares_neither_overflow_nor_vanish(void **state)
{
    (void)state;
    const struct gradient *large = gradient_combine(&arena, one(1, 3e200), 1, one(2, 4e200), 1);
    assert_near(gradient_combined(large) / 5e200, 1, 1e-15, "large");
    const struct gradient *small =
        gradient_combine(&arena, one(1, 3e-200), 1, one(2, 4e-200), 1);
    assert_near(gradient_combined(small) / 5e-200, 1, 1e-15, "small");
}

/* NIST Statistical Reference Datasets, NumAcc3 and NumAcc4 (made by rule: one value, then 500 times one
 * a tenth below and one a tenth above; certified standard deviation 0.1).  Doubles hold 10000000.2 so
 * that no method can have more than about 8.3 digits of it. */
static void scatter_keeps_its_digits_beside_large_values(void **state)
{
    (void)state;
    enum { COUNT = 1001 };
    static const double middles[] = {1000000.2, 10000000.2};
    static const double digits[] = {9.4, 8.2};
    for (size_t set = 0; set < 2; set++) {
        static double values[COUNT];
        struct scatter scatter = {0};
        for (size_t i = 0; i < COUNT; i++)
            values[i] = middles[set] + (i == 0 ? 0 : (i % 2 == 1 ? -0.1 : 0.1));
        scatter_add(&scatter, values, COUNT);
        assert_near(scatter_deviation(&scatter), 0.1, 0.1 * pow(10, -digits[set]), "s");
    }
}

/* A thousand numbers, as many of them 1e15 + 1 as 1e15 + 3: their sum has no room for the last digits, so
 * that the mean it gives is off by more than they scatter.  s is sqrt(1000/999), worked out by hand. */
static void scatter_forgives_the_rounding_of_the_mean(void **state)
{
    (void)state;
    enum { COUNT = 1000 };
    static double values[COUNT];
    struct scatter scatter = {0};
    for (size_t i = 0; i < COUNT; i++)
        values[i] = 1e15 + (i % 2 == 0 ? 3 : 1);
    scatter_add(&scatter, values, COUNT);
    assert_near(scatter_deviation(&scatter), sqrt(1000.0 / 999), 1e-12, "s");
}

/* Groups of repeats that scatter alike around means of their own. */
static void scatter_is_pooled_over_groups(void **state)
{
    (void)state;
    struct scatter scatter = {0};
    scatter_add(&scatter, (const double[]){1, 2, 3}, 3);
    scatter_add(&scatter, (const double[]){10}, 1);
    scatter_add(&scatter, NULL, 0);
    assert_near(scatter.freedom, 2, 0, "one alone says nothing");
    scatter_add(&scatter, (const double[]){101, 104}, 2);
    assert_near(scatter.freedom, 3, 0, "freedom");
    assert_near(scatter_deviation(&scatter), sqrt((2 + 4.5) / 3), 1e-15, "s");
    assert_near(scatter_deviation(&(struct scatter){0}), 0, 0, "nothing repeated");
}

static void origin_and_freedom_travel_with_the_source(void **state)
{
    (void)state;
    struct error_term terms[] = {
        {.source = 1, .slope = 2, .origin = ERROR_ACCURACY},
        {.source = 2, .slope = 0, .origin = ERROR_RESOLUTION},
        {.source = 3, .slope = 1, .origin = ERROR_REPEATABILITY, .freedom = 5, .pool = 9}};
    const struct gradient *made = gradient_of(&arena, terms, 3);
    assert_int_equal(made->count, 2); /* what moves nothing is left out */
    const struct gradient *sum = gradient_combine(&arena, made, 3, made, -1);
    assert_int_equal(sum->terms[0].origin, ERROR_ACCURACY);
    assert_int_equal(sum->terms[1].origin, ERROR_REPEATABILITY);
    assert_near(sum->terms[1].freedom, 5, 0, "freedom");
    assert_int_equal(sum->terms[1].pool, 9);
    assert_near(sum->terms[1].slope, 2, 0, "slope");
    assert_null(gradient_of(&arena, &terms[1], 1));
}

/* Two digits, rounded up where it would flatter (JCGM 100:2008, 7.2.6: 10.47 mohm is 11 mohm); of a
 * temperature a step. */
static void an_uncertainty_alone_is_written_as_beside_its_value(void **state)
{
    (void)state;
    const struct unit *bar = unit_find(TEXT("bar"));
    assert_text(uncertainty_text(&arena, 0.01047, unit_find(TEXT("mohm"))), "11\u00A0mΩ");
    assert_text(uncertainty_text(&arena, 28.05e5, bar), "28\u00A0bar");
    assert_text(uncertainty_text(&arena, 0.25e5, bar), "0.25\u00A0bar");
    assert_text(uncertainty_text(&arena, 1, unit_find(TEXT("°F"))), "1.8\u00A0°F");
    assert_text(uncertainty_text(&arena, 1.8, unit_find(TEXT("°C"))), "1.8\u00A0°C");
    assert_text(uncertainty_text(&arena, 123e5, bar), "120\u00A0bar");
    assert_text(uncertainty_text(&arena, 0.5, &unit_one), "0.50");
    assert_text(uncertainty_text(&arena, acos(-1) / 90, unit_find(TEXT("°"))), "2.0°");
    assert_text(measured_text(&arena, 8.2e5, 0.25e5, bar), "(8.20\u00A0±\u00A00.25)\u00A0bar");
    /* behind the fifteenth decimal nothing is written */
    assert_text(measured_text(&arena, 1, 1e-20, &unit_one),
                "(1.000000000000000\u00A0±\u00A00.000000000000000)");
}

static struct text in_bar(double value, double uncertainty)
{
    const struct unit *bar = unit_find(TEXT("bar"));
    return measured_text(&arena, value * 1e5, uncertainty * 1e5, bar);
}

/* With all their zeros they would be nothing, or could not be counted. */
static void what_is_very_large_or_very_small_has_a_power_of_ten(void **state)
{
    (void)state;
    const struct unit *bar = unit_find(TEXT("bar"));
    assert_text(in_bar(1e60, 1.2e58), "(1.000\u00a0±\u00a00.012)e60\u00a0bar");
    assert_text(in_bar(0, 3e60), "(0.0\u00a0±\u00a03.0)e60\u00a0bar");
    assert_text(in_bar(-2e-20, 1e-21), "(-2.00\u00a0±\u00a00.10)e-20\u00a0bar");
    assert_text(in_bar(8.9, 0.3), "(8.90\u00a0±\u00a00.30)\u00a0bar");
    assert_text(uncertainty_text(&arena, 4e59 * 1e5, bar), "4.0e59\u00a0bar");
    assert_text(uncertainty_text(&arena, 4e-59 * 1e5, bar), "4.0e-59\u00a0bar");
    assert_text(uncertainty_text(&arena, 0.25 * 1e5, bar), "0.25\u00a0bar");
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(what_is_very_large_or_very_small_has_a_power_of_ten),
        cmocka_unit_test(terms_are_merged_by_source),
        cmocka_unit_test(a_shared_error_cancels_in_a_difference),
        cmocka_unit_test(an_exact_operand_adds_nothing),
        cmocka_unit_test(ten_resistors_against_one_standard),
        cmocka_unit_test(squares_neither_overflow_nor_vanish),
        cmocka_unit_test(scatter_keeps_its_digits_beside_large_values),
        cmocka_unit_test(scatter_forgives_the_rounding_of_the_mean),
        cmocka_unit_test(scatter_is_pooled_over_groups),
        cmocka_unit_test(origin_and_freedom_travel_with_the_source),
        cmocka_unit_test(an_uncertainty_alone_is_written_as_beside_its_value),
    };
    return cmocka_run_group_tests_name("measure/uncertainty", tests, open_arena, close_arena);
}

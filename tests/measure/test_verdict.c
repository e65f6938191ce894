#include "base/check.h"
#include "measure/verdict.h"

#include <math.h>

static struct arena arena;

static int open_arena(void **state)
{
    (void)state;
    arena = arena_open(16 * MEBIBYTE, check_exhausted);
    return 0;
}

static int close_arena(void **state)
{
    (void)state;
    arena_close(&arena);
    return 0;
}

static struct measured known(double value, double uncertainty)
{
    struct error_term term = {.source = 1, .slope = uncertainty, .origin = ERROR_ACCURACY};
    return (struct measured){value, gradient_of(&arena, &term, 1)};
}

static struct measured scattered(double value, double uncertainty, double freedom)
{
    struct error_term term = {.source = 2,
                              .slope = uncertainty,
                              .origin = ERROR_REPEATABILITY,
                              .freedom = freedom,
                              .pool = 2};
    return (struct measured){value, gradient_of(&arena, &term, 1)};
}

static struct measured both(double value, double accuracy, double scatter, double freedom)
{
    const struct gradient *sum = gradient_combine(&arena, known(0, accuracy).gradient, 1,
                                                  scattered(0, scatter, freedom).gradient, 1);
    return (struct measured){value, sum};
}

static double conforms(const double *low, struct measured value, const double *high)
{
    struct measured at_least = {low == NULL ? 0 : *low, NULL};
    struct measured at_most = {high == NULL ? 0 : *high, NULL};
    struct bounds bounds = {low == NULL ? NULL : &at_least, high == NULL ? NULL : &at_most};
    return conformity_probability(value, bounds, &arena);
}

#define LIMIT(number) (&(double){number})

/* JCGM 106:2012, 7 (figures from memory): the viscosity of an oil between 12.5 and 16.3, found 13.6
 * with u = 1.8: 0.66; the voltage of a diode at most -5.40 V, found -5.47 V with u = 0.05: 0.92.
 * The other three: test data of a public uncertainty program. */
static void jcgm_106_probabilities_of_conformity(void **state)
{
    (void)state;
    double oil = conforms(LIMIT(12.5), known(13.6, 1.8), LIMIT(16.3));
    assert_near(oil, 0.66, 0.005, "oil");
    assert_int_equal(conformity_of(oil), CONFORMITY_TOO_CLOSE);
    double diode = conforms(NULL, known(-5.47, 0.05), LIMIT(-5.40));
    assert_near(diode, 0.92, 0.005, "diode");
    assert_int_equal(conformity_of(diode), CONFORMITY_TOO_CLOSE);
    double middle = conforms(LIMIT(9), known(10, 0.4), LIMIT(11));
    assert_near(middle, 0.98758, 5e-6, "in the middle");
    assert_int_equal(conformity_of(middle), CONFORMITY_PASS);
    assert_near(conforms(LIMIT(9), known(10.5, 0.4), LIMIT(11)), 0.89426, 1e-5, "to one side");
    double outside = conforms(LIMIT(9), known(12, 0.4), LIMIT(11));
    assert_near(outside, 0.00621, 5e-6, "outside");
    assert_int_equal(conformity_of(outside), CONFORMITY_FAIL);
}

/* ILAC-G8:09/2019: accepted on the limit itself, up to half are wrongly accepted; with a guard of U
 * below 2.5 %.  ISO 14253-1: 1.65 standard uncertainties for 95 %. */
static void ilac_g8_guard_bands(void **state)
{
    (void)state;
    struct measured limit = {100, NULL}, value = known(100, 2);
    assert_near(probability_at_least(value, limit, &arena), 0.5, 1e-15, "on the limit");
    value.value = 100 + gradient_expanded(value.gradient);
    assert_near(1 - probability_at_least(value, limit, &arena), 0.025, 1e-12, "U inside");
    value.value = 104;
    assert_near(1 - probability_at_least(value, limit, &arena), 0.02275, 5e-6, "k = 2");
    assert_near(guard_band(value.gradient) / 2, 1.65, 0.006, "ISO 14253-1");
    value.value = 100 + guard_band(value.gradient) * 1.0001;
    assert_int_equal(conformity_of(probability_at_least(value, limit, &arena)),
                     CONFORMITY_PASS);
    value.value = 100 + guard_band(value.gradient) * 0.9999;
    assert_int_equal(conformity_of(probability_at_least(value, limit, &arena)),
                     CONFORMITY_TOO_CLOSE);
    value.value = 100 - guard_band(value.gradient) * 1.0001;
    assert_int_equal(conformity_of(probability_at_least(value, limit, &arena)),
                     CONFORMITY_FAIL);
}

/* One-sided 95 % of few degrees of freedom (JCGM 100:2008, Table G.2, the column of 90 %): 2.13 of
 * freedom 4 where a known uncertainty wants 1.645. */
static void a_scatter_from_few_repeats_wants_a_wider_guard(void **state)
{
    (void)state;
    assert_near(guard_band(scattered(0, 1, 4).gradient), 2.13, 0.005, "freedom 4");
    assert_near(guard_band(scattered(0, 1, 1).gradient), 6.31, 0.005, "freedom 1");
    assert_near(guard_band(known(0, 1).gradient), 1.645, 0.0005, "known");
    double p = conforms(LIMIT(8.8), scattered(10.6, 1, 4), NULL);
    assert_int_equal(conformity_of(p), CONFORMITY_TOO_CLOSE);
    p = conforms(LIMIT(8.8), known(10.6, 1), NULL);
    assert_int_equal(conformity_of(p), CONFORMITY_PASS);
}

/* JCGM 106:2012, 8 (figures from memory): a limit of 100 km/h, speeds known to 2 %, and nobody is to be
 * fined wrongly more often than once in a thousand: from 107 km/h on, 106.5876 in full. */
static void jcgm_106_a_speed_limit(void **state)
{
    (void)state;
    double fast = conforms(LIMIT(100), known(107, 0.02 * 107), NULL);
    assert_true(fast >= 0.999);
    assert_near(conforms(LIMIT(100), known(106.5876, 0.02 * 106.5876), NULL), 0.999, 1e-7,
                "in full");
    assert_true(conforms(LIMIT(100), known(106, 0.02 * 106), NULL) < 0.999);
}

/* For 99 % on one side 2.33 standard uncertainties that are known, 3.75 of freedom 4 (test data of a
 * public uncertainty program). */
static void one_side_of_99_percent(void **state)
{
    (void)state;
    assert_near(conforms(LIMIT(0), known(2.33, 1), NULL), 0.99, 0.0002, "known");
    assert_near(conforms(LIMIT(0), scattered(3.75, 1, 4), NULL), 0.99, 0.0001, "freedom 4");
}

/* JCGM 106:2012, 3.3.8: the limits belong to what conforms. */
static void exactly_on_the_limit_conforms_if_it_is_exact(void **state)
{
    (void)state;
    assert_near(conforms(LIMIT(8.8), (struct measured){8.8, NULL}, NULL), 1, 0, "at least");
    assert_near(conforms(NULL, (struct measured){8.8, NULL}, LIMIT(8.8)), 1, 0, "at most");
    assert_near(conforms(LIMIT(0.3), (struct measured){0.1 + 0.2, NULL}, LIMIT(0.3)), 1, 0,
                "but for the rounding of doubles");
    assert_near(conforms(LIMIT(8.8), (struct measured){8.79, NULL}, NULL), 0, 0, "below");
    assert_near(conforms(NULL, (struct measured){3, NULL}, NULL), 1, 0, "without limits");
    assert_near(conforms(LIMIT(1), known(5, 0.1), LIMIT(0)), 0, 0, "limits that cross");
}

/* At least 10 and at most 5: limits that come out so leave nothing between them. */
static void between_limits_the_wrong_way_round_nothing_conforms(void **state)
{
    (void)state;
    for (double at = 3; at < 13; at += 2) {
        assert_near(conforms(LIMIT(10), (struct measured){at, NULL}, LIMIT(5)), 0, 0, "exact");
        assert_near(conforms(LIMIT(10), known(at, 0.1), LIMIT(5)), 0, 0, "uncertain");
    }
}

/* Too close to call, and unsure, are one thing, at 5 and at 95 % too: these decide. */
static void what_is_too_close_is_what_is_unsure(void **state)
{
    (void)state;
    const double edges[] = {0, 0.05, 1 - 0.95, 0.5, 0.9499999, 0.95, 1};
    for (size_t i = 0; i < sizeof edges / sizeof *edges; i++)
        assert_int_equal(probability_is_unsure(edges[i]),
                         conformity_of(edges[i]) == CONFORMITY_TOO_CLOSE);
    assert_int_equal(conformity_of(0.95), CONFORMITY_PASS);
    assert_int_equal(conformity_of(1 - 0.95), CONFORMITY_FAIL);
    assert_true(probability_is_unsure(0.5));
}

/* What a value shares with its limit is no doubt about the two. */
static void a_shared_error_does_not_blur_a_verdict(void **state)
{
    (void)state;
    struct measured limit = known(10, 0.5), value = known(10.2, 0.5);
    assert_near(probability_at_least(value, limit, &arena), 1, 0, "the same gauge");
    assert_true(probability_is_unsure(
        probability_at_least(value, (struct measured){10, NULL}, &arena)));
    /* 0.1 + 0.2 is not 0.3 in doubles; the rest of 6e-17 is no uncertainty */
    limit = known(10, 0.3);
    value = known(10, 0.1 + 0.2);
    assert_near(probability_at_least(value, limit, &arena), 1, 0, "the same value");
}

/* --- what would settle it ----------------------------------------------------------------- */

static struct settling settling(struct measured value, double low, unsigned repeats)
{
    struct measured at_least = {low, NULL};
    return verdict_settling(value, (struct bounds){&at_least, NULL}, repeats, &arena);
}

/* By the definition: with so many the guard fits, with one less it does not. */
static void readings_are_as_many_as_it_takes_and_no_more(void **state)
{
    (void)state;
    /* two readings, s = 0.2, so 0.1414 for their mean with freedom 1; 0.15 above the limit */
    struct settling needed = settling(scattered(8.95, 0.2 / sqrt(2), 1), 8.8, 2);
    assert_true(needed.readings > 2 && needed.readings <= READINGS_MOST);
    assert_near(needed.gauge_error, 0, 0, "the gauge has no part in it");
    double n = needed.readings;
    assert_true(student_quantile(0.95, n - 1) * 0.2 / sqrt(n) <= 0.15);
    n -= 1;
    assert_true(student_quantile(0.95, n - 1) * 0.2 / sqrt(n) > 0.15);
}

/* Thirty are worth while, thirty-one are not: by the guard that thirty and twenty-nine need. */
static void thirty_readings_are_the_most(void **state)
{
    (void)state;
    const double deviation = 0.2;
    double guard = student_quantile(0.95, READINGS_MOST - 1) * deviation / sqrt(READINGS_MOST);
    struct measured one = scattered(8.8 + guard * 1.000001, deviation / sqrt(2), 1);
    assert_int_equal(settling(one, 8.8, 2).readings, READINGS_MOST);
    one = scattered(8.8 + guard * 0.999999, deviation / sqrt(2), 1);
    assert_int_equal(settling(one, 8.8, 2).readings, 0);
}

static void a_better_gauge_is_as_good_as_it_takes(void **state)
{
    (void)state;
    struct settling needed = settling(known(8.95, 0.2), 8.8, 1);
    assert_int_equal(needed.readings, 0);
    assert_near(needed.gauge_error, 0.15 / 0.2 / 1.644854, 1e-5, "part of its error");
    needed = settling(both(8.95, 0.2, 0.1, 0), 8.8, 1); /* the rest alone is too much */
    assert_near(needed.gauge_error, 0, 0, "no gauge helps");
}

static void neither_helps_where_the_other_stands_in_the_way(void **state)
{
    (void)state;
    struct settling needed = settling(both(8.9, 0.3, 0.05, 8), 8.8, 3);
    assert_int_equal(needed.readings, 0);
    needed = settling(both(8.9, 0.03, 0.09, 8), 8.8, 3);
    assert_true(needed.readings > 3);
    needed = settling(known(8.8, 0.3), 8.8, 3); /* on the limit nothing does */
    assert_int_equal(needed.readings, 0);
    assert_near(needed.gauge_error, 0, 0, "on the limit");
    struct error_term step = {.source = 1, .slope = 0.1, .origin = ERROR_RESOLUTION};
    needed = settling((struct measured){8.8, gradient_of(&arena, &step, 1)}, 8.8, 3);
    assert_false(needed.wants_finer_scale); /* nor a finer scale */
    assert_near(needed.gauge_error, 0, 0, "on the limit");
    needed =
        settling(scattered(8.95, 0.1, 8), 8.8, 1); /* of one nobody knows how two scatter */
    assert_int_equal(needed.readings, 0);
    needed = settling((struct measured){8.9, NULL}, 8.8, 3);
    assert_int_equal(needed.readings, 0);
    /* however often it was read: no scatter came of it that more readings would make smaller */
    needed = settling(known(8.95, 0.2), 8.8, 5);
    assert_int_equal(needed.readings, 0);
    assert_true(needed.gauge_error > 0);
}

/* A coarse scale hides what a better gauge would show: then both have to be better. */
static void a_coarse_scale_wants_a_finer_one(void **state)
{
    (void)state;
    struct error_term terms[] = {{.source = 1, .slope = 0.1, .origin = ERROR_ACCURACY},
                                 {.source = 2, .slope = 0.1, .origin = ERROR_RESOLUTION}};
    struct settling needed =
        settling((struct measured){8.95, gradient_of(&arena, terms, 2)}, 8.8, 1);
    assert_true(needed.wants_finer_scale);
    assert_near(needed.gauge_error, 0.15 / 1.644854 / sqrt(0.02), 1e-5, "of both");
    terms[1].slope = 0.05; /* fine enough */
    needed = settling((struct measured){8.95, gradient_of(&arena, terms, 2)}, 8.8, 1);
    assert_false(needed.wants_finer_scale);
    assert_near(needed.gauge_error, sqrt(pow(0.15 / 1.644854, 2) - 0.0025) / 0.1, 1e-5,
                "of the accuracy");
    needed = settling((struct measured){8.95, gradient_of(&arena, &terms[1], 1)}, 8.9, 1);
    assert_true(needed.wants_finer_scale); /* it has no other error */
    assert_near(needed.gauge_error, 0.05 / 1.644854 / 0.05, 1e-5, "of the step");
}

/* Of two limits the nearer is the one in question. */
static void the_nearer_limit_counts(void **state)
{
    (void)state;
    struct measured low = {0, NULL}, high = {9, NULL};
    struct settling two =
        verdict_settling(known(8.95, 0.2), (struct bounds){&low, &high}, 1, &arena);
    struct settling one =
        verdict_settling(known(8.95, 0.2), (struct bounds){NULL, &high}, 1, &arena);
    assert_near(two.gauge_error, one.gauge_error, 0, "the nearer");
    assert_true(one.gauge_error > 0);
    /* the lower one, where that is the nearer */
    low.value = 8.9;
    high.value = 20;
    two = verdict_settling(known(8.95, 0.2), (struct bounds){&low, &high}, 1, &arena);
    one = settling(known(8.95, 0.2), 8.9, 1);
    assert_near(two.gauge_error, one.gauge_error, 0, "the nearer, below");
    assert_near(one.gauge_error, 0.05 / 0.2 / 1.644854, 1e-5, "part of its error");
}

/* In bar, in psi, in Pa: numbers scaled, chances and parts the same. */
static void the_unit_does_not_matter(void **state)
{
    (void)state;
    static const double scales[] = {1e5, 14.503773773, 1, 1e-3};
    struct measured low = {8.8, NULL}, high = {9.4, NULL};
    struct measured value = both(8.9, 0.03, 0.09, 8);
    struct bounds bounds = {&low, &high};
    double conforms = conformity_probability(value, bounds, &arena);
    struct settling needed = verdict_settling(value, bounds, 3, &arena);
    struct settling finer = verdict_settling(known(8.95, 0.2), bounds, 3, &arena);
    for (size_t i = 0; i < sizeof scales / sizeof *scales; i++) {
        double scale = scales[i];
        struct measured low_there = {8.8 * scale, NULL}, high_there = {9.4 * scale, NULL};
        struct bounds there = {&low_there, &high_there};
        struct measured scaled = both(8.9 * scale, 0.03 * scale, 0.09 * scale, 8);
        assert_near(conformity_probability(scaled, there, &arena), conforms, 1e-12, "chance");
        assert_near(guard_band(scaled.gradient), scale * guard_band(value.gradient),
                    1e-12 * scale, "guard");
        struct settling again = verdict_settling(scaled, there, 3, &arena);
        assert_int_equal(again.readings, needed.readings);
        assert_near(again.gauge_error, needed.gauge_error, 1e-5, "part");
        again = verdict_settling(known(8.95 * scale, 0.2 * scale), there, 3, &arena);
        assert_near(again.gauge_error, finer.gauge_error, 1e-5, "part of a known error");
    }
}

static void a_value_within_its_limits_is_told_by_itself(void **state)
{
    (void)state;
    struct measured low = {1, NULL}, high = {2, NULL};
    struct bounds both = {&low, &high}, from = {&low, NULL}, to = {NULL, &high}, none = {0};
    struct measured below = {0.9, NULL}, between = {1.5, NULL}, above = {2.1, NULL};
    assert_true(lies_within(between, both) && lies_within(low, both) &&
                lies_within(high, both));
    assert_false(lies_within(below, both) || lies_within(above, both));
    assert_true(lies_within(above, from) && lies_within(below, to) && lies_within(below, none));
    assert_false(lies_within(below, from) || lies_within(above, to));
    /* 0.1 + 0.2 is 0.3 but for the rounding of the arithmetic */
    struct measured limit = {0.3, NULL}, sum = {0.1 + 0.2, NULL};
    assert_true(lies_within(sum, (struct bounds){NULL, &limit}));
    assert_true(lies_within(limit, (struct bounds){&sum, NULL}));
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(jcgm_106_probabilities_of_conformity),
        cmocka_unit_test(ilac_g8_guard_bands),
        cmocka_unit_test(a_scatter_from_few_repeats_wants_a_wider_guard),
        cmocka_unit_test(jcgm_106_a_speed_limit),
        cmocka_unit_test(one_side_of_99_percent),
        cmocka_unit_test(exactly_on_the_limit_conforms_if_it_is_exact),
        cmocka_unit_test(between_limits_the_wrong_way_round_nothing_conforms),
        cmocka_unit_test(what_is_too_close_is_what_is_unsure),
        cmocka_unit_test(a_shared_error_does_not_blur_a_verdict),
        cmocka_unit_test(readings_are_as_many_as_it_takes_and_no_more),
        cmocka_unit_test(thirty_readings_are_the_most),
        cmocka_unit_test(a_better_gauge_is_as_good_as_it_takes),
        cmocka_unit_test(neither_helps_where_the_other_stands_in_the_way),
        cmocka_unit_test(a_coarse_scale_wants_a_finer_one),
        cmocka_unit_test(the_nearer_limit_counts),
        cmocka_unit_test(the_unit_does_not_matter),
        cmocka_unit_test(a_value_within_its_limits_is_told_by_itself),
    };
    return cmocka_run_group_tests_name("measure/verdict", tests, open_arena, close_arena);
}

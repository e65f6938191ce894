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
    gradient->terms[0] = (struct error_term){source, slope};
    return gradient;
}

static void terms_are_merged_by_source(void **state)
{
    (void)state;
    const struct gradient *a = gradient_combine(&arena, one(7, 2), 1, one(3, 5), 1);
    const struct gradient *b = gradient_combine(&arena, one(9, 1), 1, one(7, 4), 1);
    const struct gradient *sum = gradient_combine(&arena, a, 10, b, -1);
    assert_int_equal(sum->count, 3);
    const struct error_term expected[] = {{3, 50}, {7, 16}, {9, -1}};
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

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(terms_are_merged_by_source),
        cmocka_unit_test(a_shared_error_cancels_in_a_difference),
        cmocka_unit_test(an_exact_operand_adds_nothing),
        cmocka_unit_test(ten_resistors_against_one_standard),
        cmocka_unit_test(squares_neither_overflow_nor_vanish),
    };
    return cmocka_run_group_tests_name("measure/uncertainty", tests, open_arena, close_arena);
}

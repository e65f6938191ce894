/*
 * Sums that lose nothing.  Means and deviations of published data stand in test_formulas.c (NIST StRD).
 */
#include "columns.h"
#include "measure/careful.h"

static void what_a_large_number_swallows_comes_back(void **state)
{
    (void)state;
    assert_true(careful_total((double[]){1e16, 1, -1e16}, 3) == 1);
    assert_true(careful_total((double[]){1, 1e16, 1, -1e16}, 4) == 2);
}

static void the_mean_of_equal_numbers_is_that_number(void **state)
{
    (void)state;
    double tenths[10];
    for (size_t i = 0; i < 10; i++)
        tenths[i] = 0.1;
    assert_true(careful_mean(tenths, 10) == 0.1);
    assert_true(careful_deviation(tenths, 10, 0.1) == 0);
    assert_true(careful_mean((double[]){-7}, 1) == -7);
}

static void the_deviation_of_a_pair_is_its_distance_over_root_two(void **state)
{
    (void)state;
    double deviation = careful_deviation((double[]){1e9, 1e9 + 2}, 2, 1e9 + 1);
    assert_near(deviation * deviation, 2, 1e-12, "a pair two apart");
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(what_a_large_number_swallows_comes_back),
        cmocka_unit_test(the_mean_of_equal_numbers_is_that_number),
        cmocka_unit_test(the_deviation_of_a_pair_is_its_distance_over_root_two),
    };
    return cmocka_run_group_tests_name("measure/careful", tests, NULL, NULL);
}

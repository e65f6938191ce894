#include "base/check.h"
#include "measure/decimal.h"

#include <math.h>
#include <stdio.h>

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

static struct text with_decimals(double value, unsigned decimals)
{
    struct decimal decimal = decimal_from(value, 15);
    decimal_round(&decimal, decimal.exponent + (int)decimals);
    return decimal_text(&arena, &decimal, decimals);
}

/* NIST SP 811 (2008), B.7.1: the two examples of rounding 6.974 95x to seven digits, and its rule
 * that a tie goes to the even digit. */
static void a_tie_goes_to_the_even_digit(void **state)
{
    (void)state;
    assert_text(with_decimals(6.9749515, 6), "6.974952");
    assert_text(with_decimals(6.9749505, 6), "6.974950");
    assert_text(with_decimals(0.5, 0), "0");
    assert_text(with_decimals(1.5, 0), "2");
    assert_text(with_decimals(2.5, 0), "2");
    assert_text(with_decimals(2.675, 2), "2.68"); /* the binary fraction is below the tie */
    assert_text(with_decimals(1.005, 2), "1.00");
    assert_text(with_decimals(1.015, 2), "1.02");
    assert_text(with_decimals(2.50000001, 0), "3");
}

static void carries_run_through_nines(void **state)
{
    (void)state;
    assert_text(with_decimals(9.996, 2), "10.00");
    assert_text(with_decimals(999.5, 0), "1000");
    assert_text(with_decimals(0.99951, 3), "1.000");
    assert_text(with_decimals(0.06, 1), "0.1");
    assert_text(with_decimals(0.6, 0), "1");
}

static void there_is_no_negative_zero(void **state)
{
    (void)state;
    assert_text(with_decimals(-0.004, 2), "0.00");
    assert_text(with_decimals(-0.0, 1), "0.0");
    assert_text(with_decimals(-0.0000001, 0), "0");
    assert_text(with_decimals(-0.006, 2), "-0.01");
    assert_text(with_decimals(-12.34, 1), "-12.3");
}

static void missing_digits_are_zeros(void **state)
{
    (void)state;
    assert_text(with_decimals(0, 3), "0.000");
    assert_text(with_decimals(120, 0), "120");
    assert_text(with_decimals(0.00012, 6), "0.000120");
    assert_text(with_decimals(123456789012345.0, 2), "123456789012345.00");
    struct decimal decimal = decimal_from(123456, 15);
    decimal_round(&decimal, 3);
    assert_text(decimal_text(&arena, &decimal, 0), "123000");
    assert_text(decimal_text_scientific(&arena, &decimal), "1.23e5");
    decimal = decimal_from(-4e-20, 15);
    decimal_round(&decimal, 1);
    assert_text(decimal_text_scientific(&arena, &decimal), "-4e-20");
}

/* 1234 to the nearest ten thousand, and farther off still: one zero, not four. */
static void what_is_rounded_away_is_one_zero(void **state)
{
    (void)state;
    for (int kept = 0; kept >= -2; kept--) {
        struct decimal decimal = decimal_from(1234, 15);
        decimal_round(&decimal, kept);
        assert_text(decimal_text(&arena, &decimal, 0), "0");
        assert_text(decimal_text(&arena, &decimal, 1), "0.0");
    }
    struct decimal nearer = decimal_from(-6234, 15);
    decimal_round(&nearer, 0);
    assert_text(decimal_text(&arena, &nearer, 0), "-10000");
}

/* Away from ties the C library's printf is the outside check. */
static void other_values_round_like_printf(void **state)
{
    (void)state;
    uint64_t seed = 7;
    for (int i = 0; i < 20000; i++) {
        seed = seed * 6364136223846793005u + 1442695040888963407u;
        double value = (double)(int64_t)(seed >> 16) / 8388608.0 / (double)(1 << (i % 20));
        unsigned decimals = (unsigned)(i % 4);
        char printed[64];
        snprintf(printed, sizeof printed, "%.*f", (int)decimals, value);
        double scaled = fabs(value) * pow(10, decimals);
        bool is_near_tie = fabs(scaled - floor(scaled) - 0.5) < 1e-4;
        if (!is_near_tie)
            assert_text(with_decimals(value, decimals), printed);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_tie_goes_to_the_even_digit),
        cmocka_unit_test(carries_run_through_nines),
        cmocka_unit_test(there_is_no_negative_zero),
        cmocka_unit_test(missing_digits_are_zeros),
        cmocka_unit_test(what_is_rounded_away_is_one_zero),
        cmocka_unit_test(other_values_round_like_printf),
    };
    return cmocka_run_group_tests_name("measure/decimal", tests, open_arena, close_arena);
}

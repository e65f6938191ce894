#include "golden.h"
#include "report/telling.h"

static void expect_amount(double amount, const char *unit, const char *words)
{
    struct arena arena = arena_open(MEBIBYTE, golden_exhausted);
    const struct unit *in = unit_find(text_from(unit));
    assert_non_null(in);
    struct text said = told_amount(&arena, unit_step_to_si(in, amount), in);
    assert_string_equal(text_terminated(&arena, said), words);
    arena_close(&arena);
}

static void what_is_measured_out_has_three_digits(void **state)
{
    (void)state;
    expect_amount(4.2567, "L", "4.26\u00a0L");
    expect_amount(12345, "km", "12300\u00a0km");
    expect_amount(-0.98765, "kg", "-0.988\u00a0kg");
    expect_amount(12.34, "%", "12.3\u00a0%");
}

static void less_than_a_tenth_of_a_litre_is_in_millilitres(void **state)
{
    (void)state;
    expect_amount(0.098765, "L", "98.8\u00a0mL");
    expect_amount(0.1, "L", "0.1\u00a0L");
    expect_amount(0.0987, "kg", "0.0987\u00a0kg");
}

static void pieces_are_counted_whole(void **state)
{
    (void)state;
    expect_amount(1234, "1", "1234");
    expect_amount(0, "1", "0");
}

static void nothing_stays_nothing(void **state)
{
    (void)state;
    expect_amount(0, "L", "0\u00a0L");
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(what_is_measured_out_has_three_digits),
        cmocka_unit_test(less_than_a_tenth_of_a_litre_is_in_millilitres),
        cmocka_unit_test(pieces_are_counted_whole),
        cmocka_unit_test(nothing_stays_nothing),
    };
    return cmocka_run_group_tests_name("report/amount_unit", tests, NULL, NULL);
}

#include "base/check.h"
#include "measure/quantity.h"

#include <locale.h>
#include <math.h>
#include <stdio.h>

static struct arena arena;

static int open_arena(void **state)
{
    (void)state;
    arena = arena_open(64 * MEBIBYTE, check_exhausted);
    return 0;
}

static int close_arena(void **state)
{
    (void)state;
    arena_close(&arena);
    return 0;
}

struct number_case {
    const char *typed;
    double value;
    const char *digits;
    unsigned decimals;
    const char *rest;
};

static void check_numbers(const struct number_case *cases, size_t count, bool comma_allowed)
{
    for (size_t i = 0; i < count; i++) {
        struct text rest = text_from(cases[i].typed);
        struct number number = {0};
        enum quantity_flaw flaw = number_read(&rest, comma_allowed, &arena, &number);
        if (flaw != QUANTITY_READ)
            fail_msg("\"%s\" was not read", cases[i].typed);
        assert_near(number.value, cases[i].value, 0, cases[i].typed);
        assert_text(number.digits, cases[i].digits);
        assert_int_equal(number.decimals, cases[i].decimals);
        assert_text(rest, cases[i].rest);
    }
}

static void digits_are_kept_as_typed(void **state)
{
    (void)state;
    static const struct number_case cases[] = {
        {"24.50 N.m", 24.5, "24.50", 2, " N.m"},
        {"25N.m", 25, "25", 0, "N.m"},
        {".5 mm", 0.5, ".5", 1, " mm"},
        {",5 mm", 0.5, ",5", 1, " mm"},
        {"-.5", -0.5, "-.5", 1, ""},
        {"11,8 bar", 11.8, "11,8", 1, " bar"},
        {"11,85", 11.85, "11,85", 2, ""},
        {"11,8500", 11.85, "11,8500", 4, ""},
        {"0,210", 0.210, "0,210", 3, ""},
        {",210", 0.210, ",210", 3, ""},
        {"84.210", 84.210, "84.210", 3, ""},
        {"+3", 3, "+3", 0, ""},
        {"-40 °C", -40, "-40", 0, " °C"},
        {"\u221240 °C", -40, "\u221240", 0, " °C"},
        {"007", 7, "007", 0, ""},
        {"1e3", 1, "1", 0, "e3"},
        {"5.", 5, "5", 0, "."},
        {"1.2.3", 1.2, "1.2", 1, ".3"},
        {"0x1F", 0, "0", 0, "x1F"},
    };
    check_numbers(cases, sizeof cases / sizeof *cases, true);
}

static void unspaced_fractions_are_one_number(void **state)
{
    (void)state;
    static const struct number_case cases[] = {
        {"7/16 in", 7.0 / 16, "7/16", 0, " in"},
        {"7/16in", 7.0 / 16, "7/16", 0, "in"},
        {"1 7/16 in", 23.0 / 16, "1 7/16", 0, " in"},
        {"1\u00A07/16 in", 23.0 / 16, "1\u00A07/16", 0, " in"},
        {"-1 1/2", -1.5, "-1 1/2", 0, ""},
        {"3/4/5", 0.75, "3/4", 0, "/5"},
        {"800 1/min", 800, "800", 0, " 1/min"},
        {"1 /2", 1, "1", 0, " /2"},
        {"1.5 1/2", 1.5, "1.5", 1, " 1/2"},
        {"1/3", 1.0 / 3, "1/3", 0, ""},
    };
    check_numbers(cases, sizeof cases / sizeof *cases, true);
}

static void expressions_know_only_the_point(void **state)
{
    (void)state;
    static const struct number_case cases[] = {
        {"11,8", 11, "11", 0, ",8"},     {"7/16 in", 7, "7", 0, "/16 in"},
        {"84,210", 84, "84", 0, ",210"}, {"2.50*x", 2.5, "2.50", 2, "*x"},
        {"1 7/16", 1, "1", 0, " 7/16"},
    };
    check_numbers(cases, sizeof cases / sizeof *cases, false);
}

static enum quantity_flaw flaw_of(const char *typed)
{
    struct text rest = text_from(typed);
    struct number number = {.decimals = 77};
    enum quantity_flaw flaw = number_read(&rest, true, &arena, &number);
    assert_text(rest, flaw == QUANTITY_READ ? "" : typed);
    assert_int_equal(number.decimals == 77, flaw != QUANTITY_READ);
    return flaw;
}

static void a_comma_before_three_digits_is_asked_back(void **state)
{
    (void)state;
    assert_int_equal(flaw_of("84,210"), QUANTITY_COMMA_UNCLEAR);
    assert_int_equal(flaw_of("1,000"), QUANTITY_COMMA_UNCLEAR);
    assert_int_equal(flaw_of("-1,234.5"), QUANTITY_COMMA_UNCLEAR);
    assert_int_equal(flaw_of("1,234,567"), QUANTITY_COMMA_UNCLEAR);
    assert_int_equal(flaw_of("00,210"), QUANTITY_COMMA_UNCLEAR);
    assert_int_equal(flaw_of("0,210"), QUANTITY_READ);
    assert_int_equal(flaw_of("84,2101"), QUANTITY_READ);
}

static void what_is_no_number_is_refused(void **state)
{
    (void)state;
    const char *const typed[] = {"",   "bar", "-",  "- 5", "+",   ".",   ",",       "..5",
                                 "/2", "--5", "e3", "inf", "nan", "1/0", "1 17/16", "\u2212"};
    for (size_t i = 0; i < sizeof typed / sizeof *typed; i++)
        assert_int_equal(flaw_of(typed[i]), QUANTITY_NOT_A_NUMBER);
}

static void a_number_without_end_is_too_large(void **state)
{
    (void)state;
    char typed[400];
    memset(typed, '9', sizeof typed);
    typed[sizeof typed - 1] = '\0';
    assert_int_equal(flaw_of(typed), QUANTITY_TOO_LARGE);
    typed[76] = '\0';
    assert_int_equal(flaw_of(typed), QUANTITY_TOO_LARGE);
    typed[75] = '\0';
    assert_int_equal(flaw_of(typed), QUANTITY_READ);
}

/* The C library's strtod is the outside check; it rounds correctly (ISO C11, 7.22.1.3 and F.5). */
static void values_are_the_nearest_double(void **state)
{
    (void)state;
    uint64_t seed = 20240229;
    for (int i = 0; i < 20000; i++) {
        seed = seed * 6364136223846793005u + 1442695040888963407u;
        unsigned decimals = (unsigned)(seed >> 60);
        char typed[64];
        snprintf(typed, sizeof typed, "%llu.%0*llu",
                 (unsigned long long)(seed >> (20 + i % 40)), (int)decimals + 1,
                 (unsigned long long)(seed >> 33) % 10);
        struct text rest = text_from(typed);
        struct number number;
        assert_int_equal(number_read(&rest, false, &arena, &number), QUANTITY_READ);
        assert_near(number.value, strtod(typed, NULL), 0, typed);
    }
}

static void no_locale_reaches_a_number(void **state)
{
    (void)state;
    const char *const with_comma[] = {"de_DE.UTF-8", "de_DE.utf8", "fr_FR.UTF-8",
                                      "da_DK.UTF-8"};
    const char *set = NULL;
    for (size_t i = 0; i < sizeof with_comma / sizeof *with_comma && set == NULL; i++)
        set = setlocale(LC_NUMERIC, with_comma[i]);
    static const struct number_case cases[] = {
        {"12345678901234567.25", 12345678901234567.25, "12345678901234567.25", 2, ""},
        {"11.8", 11.8, "11.8", 1, ""},
    };
    check_numbers(cases, 2, true);
    char digits[17];
    int exponent;
    text_digits(11.75, 4, digits, &exponent);
    assert_memory_equal(digits, "1175", 4);
    setlocale(LC_NUMERIC, "C");
    if (set == NULL)
        print_message("no locale with a comma is installed: only the C locale was tried\n");
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(digits_are_kept_as_typed),
        cmocka_unit_test(unspaced_fractions_are_one_number),
        cmocka_unit_test(expressions_know_only_the_point),
        cmocka_unit_test(a_comma_before_three_digits_is_asked_back),
        cmocka_unit_test(what_is_no_number_is_refused),
        cmocka_unit_test(a_number_without_end_is_too_large),
        cmocka_unit_test(values_are_the_nearest_double),
        cmocka_unit_test(no_locale_reaches_a_number),
    };
    return cmocka_run_group_tests_name("measure/number", tests, open_arena, close_arena);
}

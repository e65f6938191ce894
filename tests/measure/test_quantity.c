#include "base/check.h"
#include "measure/quantity.h"

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

static const struct unit *unit(const char *spelling)
{
    const struct unit *found = unit_find(text_from(spelling));
    if (found == NULL)
        fail_msg("no unit %s", spelling);
    return found;
}

static struct quantity read(const char *typed)
{
    struct quantity quantity = {0};
    if (quantity_read(text_from(typed), NULL, &arena, &quantity).flaw != QUANTITY_READ)
        fail_msg("\"%s\" was not read", typed);
    return quantity;
}

/* --- reading ------------------------------------------------------------------------- */

static void numbers_and_units_are_read(void **state)
{
    (void)state;
    static const struct {
        const char *typed, *shown;
        double si;
    } cases[] = {
        {"11.8 bar", "11.8\u00A0bar", 1.18e6},
        {"25N.m", "25\u00A0N·m", 25},
        {"24.50 Nm", "24.50\u00A0N·m", 24.5},
        {"7/16 in", "7/16\u00A0in", 0.0111125},
        {"1 7/16 in", "1 7/16\u00A0in", 0.0365125},
        {"11,8 bar", "11,8\u00A0bar", 1.18e6},
        {"  5\u00A0mm  ", "5\u00A0mm", 0.005},
        {"5\u202Fmm", "5\u00A0mm", 0.005},
        {"-40 °C", "-40\u00A0°C", 233.15},
        {"\u221240 °F", "\u221240\u00A0°F", 233.15},
        {"45°", "45°", 0.78539816339744828},
        {"45 deg", "45°", 0.78539816339744828},
        {"0.5 %", "0.5\u00A0%", 0.005},
        {"3 1", "3", 3},
        {"800 1/min", "800\u00A0rpm", 83.775804095727821},
        {"8 L/100km", "8\u00A0L/100km", 8e-8},
    };
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
        struct quantity quantity = read(cases[i].typed);
        assert_text(quantity_text(&arena, &quantity), cases[i].shown);
        assert_near(quantity_si(&quantity), cases[i].si, fabs(cases[i].si) * 2e-16,
                    cases[i].typed);
    }
}

static void space_inside_a_unit_is_taken_as_meant(void **state)
{
    (void)state;
    static const struct {
        const char *typed, *unit;
    } cases[] = {
        {"2 imp gal", "imp.gal"},
        {"3.5 imp qt", "imp.qt"},
        {"12 fl oz", "fl.oz"},
        {"12 imp fl oz", "imp.floz"},
        {"35 ft lb", "lbf.ft"},
        {"4 US gal", "gal"},
        {"350 cu in", "in3"},
        {"6 L / 100 km", "L/100km"},
        {"20 N m", "N.m"},
        {"29.9 in Hg", "inHg"},
        {"90 imp\u00A0mpg", "imp.mpg"},
        {"2 imp  gal", "imp.gal"},
        {"6 L \t/\u00A0 100  km", "L/100km"},
    };
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++)
        assert_ptr_equal(read(cases[i].typed).unit, unit(cases[i].unit));
}

static void a_bare_number_takes_the_unit_offered(void **state)
{
    (void)state;
    struct quantity quantity;
    assert_int_equal(quantity_read(TEXT("11.8"), unit("bar"), &arena, &quantity).flaw,
                     QUANTITY_READ);
    assert_text(quantity_text(&arena, &quantity), "11.8\u00A0bar");
    assert_int_equal(quantity_read(TEXT("171 psi"), unit("bar"), &arena, &quantity).flaw,
                     QUANTITY_READ);
    assert_ptr_equal(quantity.unit, unit("psi"));
    assert_int_equal(quantity_read(TEXT("6"), &unit_one, &arena, &quantity).flaw,
                     QUANTITY_READ);
    assert_text(quantity_text(&arena, &quantity), "6");
}

static void what_is_wrong_is_told_with_its_place(void **state)
{
    (void)state;
    static const struct {
        const char *typed;
        enum quantity_flaw flaw;
        const char *unit; /* what unit_from and unit_to enclose */
    } cases[] = {
        {"", QUANTITY_NOT_A_NUMBER, ""},
        {"bar", QUANTITY_NOT_A_NUMBER, ""},
        {"11.8", QUANTITY_UNIT_MISSING, ""},
        {" 11.8  barr ", QUANTITY_UNIT_UNKNOWN, "barr"},
        {"11.8 BAR", QUANTITY_UNIT_UNKNOWN, "BAR"},
        {"1e3 bar", QUANTITY_UNIT_UNKNOWN, "e3 bar"},
        {"5 kgm", QUANTITY_UNIT_UNKNOWN, "kgm"},
        {"84,210 km", QUANTITY_COMMA_UNCLEAR, ""},
        {"25 N.m / 2", QUANTITY_UNIT_UNKNOWN, "N.m / 2"},
        {"5 bar 3 mm", QUANTITY_UNIT_UNKNOWN, "bar 3 mm"},
        {"5 a very long run of words where a unit should be", QUANTITY_UNIT_UNKNOWN,
         "a very long run of words where a unit should be"},
    };
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
        struct text typed = text_from(cases[i].typed);
        struct quantity quantity = {.unit = NULL};
        struct quantity_reading reading = quantity_read(typed, NULL, &arena, &quantity);
        assert_int_equal(reading.flaw, cases[i].flaw);
        assert_text(text_slice(typed, reading.unit_from, reading.unit_to), cases[i].unit);
        assert_null(quantity.unit);
    }
}

static void a_value_that_overflows_is_too_large(void **state)
{
    (void)state;
    char typed[330];
    memset(typed, '9', 308);
    strcpy(typed + 308, " bar");
    struct quantity quantity;
    assert_int_equal(quantity_read(text_from(typed), NULL, &arena, &quantity).flaw,
                     QUANTITY_TOO_LARGE);
    char tiny[400] = "0.";
    memset(tiny + 2, '0', 319);
    strcpy(tiny + 321, "1 bar");
    assert_int_equal(quantity_read(text_from(tiny), NULL, &arena, &quantity).flaw,
                     QUANTITY_TOO_SMALL);
    /* numbers that fit by themselves, but not in their unit */
    memset(typed, '0', sizeof typed);
    typed[0] = '9';
    strcpy(typed + 74, " bar");
    assert_int_equal(quantity_read(text_from(typed), NULL, &arena, &quantity).flaw,
                     QUANTITY_TOO_LARGE);
    char small[100] = "0.";
    memset(small + 2, '0', 73);
    strcpy(small + 75, "1 mm");
    assert_int_equal(quantity_read(text_from(small), NULL, &arena, &quantity).flaw,
                     QUANTITY_TOO_SMALL);
    tiny[321] = '0';
    assert_int_equal(quantity_read(text_from(tiny), NULL, &arena, &quantity).flaw,
                     QUANTITY_READ);
}

/* --- showing --------------------------------------------------------------------------- */

static void values_are_shown_with_significant_digits(void **state)
{
    (void)state;
    const struct unit *bar = unit("bar");
    assert_text(value_text(&arena, 1.18e6, bar, 3), "11.8\u00A0bar");
    assert_text(value_text(&arena, 1.18e6, bar, 5), "11.800\u00A0bar");
    assert_text(value_text(&arena, 1.18e6, bar, 1), "10\u00A0bar");
    assert_text(value_text(&arena, 0, bar, 3), "0\u00A0bar");
    assert_text(value_text(&arena, -1.18e6, bar, 2), "-12\u00A0bar");
    assert_text(value_text(&arena, 0.126, &unit_one, 2), "0.13");
    assert_text(value_text(&arena, 0.126, unit("%"), 3), "12.6\u00A0%");
    assert_text(value_text(&arena, 9.996e5, bar, 3), "10.0\u00A0bar");
    assert_text(value_text(&arena, 1.5707963267948966, unit("deg"), 2), "90°");
    assert_text(value_text(&arena, 123456789, &unit_one, 3), "123000000");
    assert_text(value_text(&arena, 999999999, &unit_one, 15), "999999999.000000");
    assert_text(value_text(&arena, 1e-9, &unit_one, 2), "0.0000000010");
    assert_text(value_text(&arena, 1.5e-10, &unit_one, 2), "1.5e-10");
    assert_text(value_text(&arena, 1.25e15, &unit_one, 3), "1.25e15");
    assert_text(value_text(&arena, 6.9749515, &unit_one, 7), "6.974952"); /* SP 811, B.7.1 */
    assert_text(value_text(&arena, 6.9749505, &unit_one, 7), "6.974950");
    assert_text(value_text(&arena, HUGE_VAL, bar, 3), "not a finite number");
    assert_text(value_text(&arena, 1.18e6, bar, 0), "10\u00A0bar"); /* no fewer than one */
}

static void values_are_shown_with_fixed_decimals(void **state)
{
    (void)state;
    assert_text(value_text_decimals(&arena, 1.18e6, unit("bar"), 2), "11.80\u00A0bar");
    assert_text(value_text_decimals(&arena, 273.15, unit("°C"), 1), "0.0\u00A0°C");
    assert_text(value_text_decimals(&arena, 272.15, unit("°C"), 0), "-1\u00A0°C");
    assert_text(value_text_decimals(&arena, 1e5, unit("bar"), 0), "1\u00A0bar");
    assert_text(value_text_decimals(&arena, -4, unit("bar"), 3), "0.000\u00A0bar");
    assert_text(value_text_decimals(&arena, 2e20, &unit_one, 3), "2.00000000000000e20");
    assert_text(value_text_decimals(&arena, -HUGE_VAL, &unit_one, 3), "not a finite number");
}

static void zero_degrees_are_zero(void **state)
{
    (void)state;
    struct quantity ice = read("0 °C");
    assert_text(value_text(&arena, quantity_si(&ice), unit("°C"), 3), "0\u00A0°C");
    struct quantity tie = read("2.5 °C");
    assert_text(value_text_decimals(&arena, quantity_si(&tie), unit("°C"), 0), "2\u00A0°C");
}

/* Every unit, digits of every length up to twelve, over six decades, below zero too: what was typed
 * comes back. */
static void what_was_typed_comes_back_through_si(void **state)
{
    (void)state;
    const struct unit *each;
    const struct text *spellings;
    size_t count;
    uint64_t seed = 1;
    struct arena_mark mark = arena_mark(&arena);
    for (size_t i = 0; unit_at(i, &each, &spellings, &count); i++)
        for (unsigned digits = 1; digits <= 12; digits++)
            for (unsigned decimals = 0; decimals < digits && decimals <= 9; decimals++) {
                seed = seed * 6364136223846793005u + 1442695040888963407u;
                uint64_t power = 1;
                for (unsigned j = 0; j < digits; j++)
                    power *= 10;
                uint64_t whole = power / 10 + (seed >> 20) % (power - power / 10);
                char typed[40];
                char spelt[40];
                snprintf(spelt, sizeof spelt, "%0*llu", (int)digits, (unsigned long long)whole);
                snprintf(typed, sizeof typed, "%s%.*s%s%s", seed >> 63 ? "-" : "",
                         (int)(digits - decimals), spelt, decimals > 0 ? "." : "",
                         spelt + digits - decimals);
                struct quantity quantity;
                quantity_read(text_from(typed), each, &arena, &quantity);
                double si = quantity_si(&quantity);
                struct text expected = quantity_text(&arena, &quantity);
                assert_text(value_text_decimals(&arena, si, each, decimals),
                            text_terminated(&arena, expected));
                arena_rewind(&arena, mark);
            }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(numbers_and_units_are_read),
        cmocka_unit_test(space_inside_a_unit_is_taken_as_meant),
        cmocka_unit_test(a_bare_number_takes_the_unit_offered),
        cmocka_unit_test(what_is_wrong_is_told_with_its_place),
        cmocka_unit_test(a_value_that_overflows_is_too_large),
        cmocka_unit_test(values_are_shown_with_significant_digits),
        cmocka_unit_test(values_are_shown_with_fixed_decimals),
        cmocka_unit_test(zero_degrees_are_zero),
        cmocka_unit_test(what_was_typed_comes_back_through_si),
    };
    return cmocka_run_group_tests_name("measure/quantity", tests, open_arena, close_arena);
}

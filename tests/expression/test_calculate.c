#include "world.h"

static const struct {
    const char *written, *shown;
} answers[] = {
    /* NIST SP 811 (2008), B.8: 1 psi = 6894.757 Pa; 171 psi = 1 179 003 Pa */
    {"171 psi in bar", "11.8 bar"},
    {"171.00 psi in bar", "11.790 bar"},
    /* SP 811, B.8: 1 lbf.ft = 1.355 818 N.m */
    {"25 N.m in lbf.ft", "18.4 lbf·ft"},
    {"25.000 N.m in lbf.ft", "18.439 lbf·ft"},
    /* SP 811, B.8 (mpg to L/100 km: divide 235.215 by it) */
    {"30 mpg in L/100km", "7.84 L/100km"},
    {"10 L/100km in mpg", "23.5 US.mpg"},
    {"1 7/16 in in mm", "36.5125 mm"},
    {"20 °C in °F", "68 °F"},
    {"-40 °F in °C", "-40 °C"},
    {"10 K in Δ°F", "18 Δ°F"},
    {"100000 km in mile", "62137.1 mile"},
    {"5 in", "5 in"},
    {"5 in in mm", "127 mm"},
    {"  5 in   in   mm  ", "127 mm"},
    {"0.00123 psi in Pa", "8.48 Pa"},
    {"2 + 2", "4"},
    {"1/3", "0.333333"},
    {"2 / 3 * 1000000", "666667"},
    {"0 bar", "0 bar"},
    {"0.000123 mm * 2", "0.000246 mm"},
    {"60 km/h * 2 h", "120000 m"},
    {"1 bar * 1 L / 300 K", "0.333333 kg·m2/s2·K"},
    {"3 psi + 1 bar", "17.5038 psi"},
    {"1 < 2", "true"},
    {"1 > 2", "false"},
    {"star(5)", "1-3-5-2-4"},
    {"\"brown\"", "brown"},
    {"given(3 bar)", "true"},
    {"1 / 0", "cannot be worked out: division by zero in 1 / 0"},
    {"0 mpg in L/100km", "cannot be worked out: division by zero"},
    /* JCGM 100:2008, 7.2.2: the same last place for both, two digits of the uncertainty */
    {"(11.2 ± 0.2 bar) / (12.1 ± 0.2 bar)", "(0.926 ± 0.023)"},
    {"25 N.m ± 4 %", "(25.0 ± 1.0) N·m"},
    {"25 N.m ± 4 % in lbf.ft", "(18.44 ± 0.74) lbf·ft"},
    {"(20 ± 1) °C in °F", "(68.0 ± 1.8) °F"},
    {"(1234 ± 123) bar", "(1230 ± 120) bar"},
    {"(99.96 ± 0.0996) bar", "(99.96 ± 0.10) bar"},
    {"(30 ± 1) °", "(30.0 ± 1.0)°"},
    {"((3 ± 1) m)^2 * (1 m)^9", "(9.0 ± 6.0) m11"},
    {"(30 ± 3) mpg in L/100km", "(7.84 ± 0.78) L/100km"},
    {"(3 ± 1 bar) * 0", "0 bar"},
    /* SP 811, B.8: 1 psi = 6894.757 Pa; words may stand on lines of their own */
    {"171 psi\tin\tbar", "11.8 bar"},
    {"171 psi\r\nin\nbar\n", "11.8 bar"},
    /* never more than six digits: the seventh of 171 psi = 11.790 034 6 bar is not shown */
    {"171.000000 psi in bar", "11.7900 bar"},
    /* where the usual unit is awkward the SI unit, if there is one without a factor */
    {"1 mm * 1 mm / 1000000", "0.000000000001 m²"},
    {"1 / (0.000001 mm2)", "1000000 km/L"},
    {"49.5 m/s * 2 s", "99000 mm"},
    {"50 m/s * 2 s", "100 m"},
    {"0.000002 m/s * 1 s", "0.002 mm"},
    {"0.0000005 m/s * 1 s", "0.0000005 m"},
    {"(1 m)^9 * (1 m)^9 * (1 m)^6", "1 m24"}, /* the highest power there is */
    {"((5) ± 1)", "(5.0 ± 1.0)"},
    {"((75 %) ± 2 %)", "(0.750 ± 0.020)"},
    {"(8.9 ± 0.3) bar > 8.8 bar", "true, but too close to call"},
    /* exact in tenths, though not in bits */
    {"0.1 + 0.2 == 0.3", "true"},
    {"12.3 bar - 12 bar <= 0.3 bar", "true"},
    {"12.3 bar - 12 bar > 0.3 bar", "false"},
    {"0.7 - 0.4 >= 0.3", "true"},
    {"0.7 - 0.4 != 0.3", "false"},
    {"12.301 bar - 12 bar > 0.3 bar", "true"},
    /* what six decimals cannot show */
    {"0.00000000000000000001 bar ± 10 %", "(1.00 ± 0.10)e-20 bar"},
    {"1000000000000000000000 bar ± 10 %", "(1.00 ± 0.10)e21 bar"},
    {"1 mm / 1000000000000000000000", "1.00000e-21 mm"},
    {"99999999999999999999", "1.00000e20"},
    /* beyond what is worked with: missing, and never infinite */
    {"9999999999^9 * 9999999999^9",
     "cannot be worked out: too large a number in 9999999999^9 * 9999999999^9"},
    {"1 / 9999999999^9 / 9999999999^9",
     "cannot be worked out: too small a number in 1 / 9999999999^9 / 9999999999^9"},
    {"0.0000000001^9 * (1 ± 1) * 0.0000000001^9",
     "cannot be worked out: too small a number in 0.0000000001^9 * (1 ± 1) * 0.0000000001^9"},
};

static void answers_read_as_a_person_writes(void **state)
{
    (void)state;
    struct world *world = world_open();
    for (size_t i = 0; i < sizeof answers / sizeof answers[0]; i++) {
        struct source source = {TEXT("calc"), text_from(answers[i].written)};
        struct text shown =
            expression_calculate(source.bytes, &source, &world->found, &world->arena).shown;
        if (world->found.first != NULL)
            fail_msg("%s: a finding", answers[i].written);
        /* the space before a unit never breaks a line */
        char plain[200];
        size_t length = 0;
        for (size_t j = 0; j < shown.length && length + 1 < sizeof plain; j++)
            if (text_starts(text_slice(shown, j, shown.length), TEXT("\u00a0"))) {
                plain[length++] = ' ';
                j++;
            } else {
                plain[length++] = shown.bytes[j];
            }
        plain[length] = '\0';
        if (strcmp(plain, answers[i].shown) != 0)
            fail_msg("%s: '%s', not '%s'", answers[i].written, plain, answers[i].shown);
    }
    world_close(world);
}

static void what_has_no_value_is_told_apart_from_what_has_one(void **state)
{
    (void)state;
    static const struct {
        const char *written;
        bool is_unanswerable;
    } cases[] = {{"1 / 0", true},       {"0 mpg in L/100km", true},
                 {"sqrt(1 - 2)", true}, {"0 / 1", false},
                 {"1 < 2", false},      {"\"cannot be worked out\"", false},
                 {"1 bar + 1 s", false}};
    struct world *world = world_open();
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
        struct source source = {TEXT("calc"), text_from(cases[i].written)};
        struct calculation calculation =
            expression_calculate(source.bytes, &source, &world->found, &world->arena);
        if (calculation.is_unanswerable != cases[i].is_unanswerable)
            fail_msg("%s", cases[i].written);
    }
    world_close(world);
}

static const struct faulty faults[] = {
    {"171 psi in N.m", "E026", 1, 8},
    {"171 psi in foo", "Q001", 12, 15},
    {"star(5) in mm", "E026", 1, 8},
    {"20 °C in K", "E026", 1, 6},
    {"dry + 1", "E012", 1, 4},
    {"25 N.m in J", "E026", 1, 7},
    {"5 bar in", "E002", 7, 9},
    {"in mm", "E002", 4, 6},
    {"1 < 2 in bar", "E026", 1, 6},
    {"", "E001", 1, 1},
    {"1 bar in bar in bar", "E002", 7, 9},
    {"  in mm", "E002", 6, 8},
    {"5 bar in °C", "E026", 1, 6},
    {"1 / (3 K) in °C", "E026", 1, 10}, /* one over a difference is no temperature */
    {"20 °C in mpg", "E026", 1, 6},
};

/* A 5 with so many zeros; in lbf/in, and with what it is uncertain by, it is no number at all. */
static void a_number_beyond_all_measure_is_refused_where_it_stands(void **state)
{
    (void)state;
    static const char *const behind[] = {" lb/in", " bar ± 1000 %", "1 / 2", ""};
    struct world *world = world_open();
    for (size_t i = 0; i < sizeof behind / sizeof behind[0]; i++) {
        char written[400] = "5";
        memset(written + 1, '0', 307);
        strcpy(written + 308, behind[i]);
        diagnostics_begin(&world->found, &world->arena);
        struct source source = {TEXT("calc"), text_from(written)};
        struct text shown =
            expression_calculate(source.bytes, &source, &world->found, &world->arena).shown;
        assert_int_equal(shown.length, 0);
        assert_non_null(world->found.first);
        assert_string_equal(finding_code(world->found.first->finding), "E009");
        assert_int_equal(world->found.first->place.column, 1);
    }
    world_close(world);
}

static void what_calc_cannot_take_is_reported(void **state)
{
    (void)state;
    struct world *world = world_open();
    for (size_t i = 0; i < sizeof faults / sizeof faults[0]; i++) {
        diagnostics_begin(&world->found, &world->arena);
        struct source source = {TEXT("calc"), text_from(faults[i].written)};
        struct text shown =
            expression_calculate(source.bytes, &source, &world->found, &world->arena).shown;
        assert_int_equal(shown.length, 0);
        const struct diagnostic *first = world->found.first;
        assert_non_null(first);
        assert_null(first->next);
        if (strcmp(finding_code(first->finding), faults[i].code) != 0 ||
            first->place.column != faults[i].column ||
            first->place.end_column != faults[i].end_column)
            fail_msg("%s: %s at %u to %u", faults[i].written, finding_code(first->finding),
                     first->place.column, first->place.end_column);
    }
    world_close(world);
}

/* What is next to nothing is found where it arises; one over 4e-139 ± 2e-124 has an error of 1e153. */
static void one_over_next_to_nothing_is_too_large(void **state)
{
    (void)state;
    static const struct {
        const char *written, *shown;
    } cases[] = {
        {"1 mpg * 0.000000001^9 * 0.000000001^9 in L/100km",
         "cannot be worked out: too small a number in 1 mpg * 0.000000001^9 * 0.000000001^9"},
        {"(1 ± 1000000000000000) mpg * 0.000000001^9 * 0.0000001^9 in L/100km",
         "cannot be worked out: too large a number"},
    };
    struct world *world = world_open();
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
        struct source source = {TEXT("calc"), text_from(cases[i].written)};
        struct calculation calculation =
            expression_calculate(source.bytes, &source, &world->found, &world->arena);
        assert_true(calculation.is_unanswerable);
        assert_text(calculation.shown, cases[i].shown);
    }
    world_close(world);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(answers_read_as_a_person_writes),
        cmocka_unit_test(what_has_no_value_is_told_apart_from_what_has_one),
        cmocka_unit_test(what_calc_cannot_take_is_reported),
        cmocka_unit_test(one_over_next_to_nothing_is_too_large),
        cmocka_unit_test(a_number_beyond_all_measure_is_refused_where_it_stands),
    };
    return cmocka_run_group_tests_name("expression/calculate", tests, NULL, NULL);
}

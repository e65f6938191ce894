#include "base/check.h"
#include "measure/quantity.h"

static struct kind of(const char *unit)
{
    const struct unit *found = unit_find(text_from(unit));
    if (found == NULL)
        fail_msg("no unit %s", unit);
    return found->kind;
}

static void assert_kind(struct kind got, struct kind expected, int line)
{
    if (!kind_equal(got, expected))
        fail_msg("line %d: another kind", line);
}

static struct kind times(const char *a, const char *b)
{
    return kind_product(of(a), of(b));
}

static struct kind over(const char *a, const char *b)
{
    return kind_quotient(of(a), of(b));
}

static void torque_and_energy_are_kept_apart(void **state)
{
    (void)state;
    assert_false(kind_equal(of("N.m"), of("J")));
    assert_false(kind_fits(of("N.m"), of("J")));
    assert_false(kind_fits(of("J"), of("N.m")));
    assert_true(kind_fits(times("N", "m"), of("N.m")));
    assert_true(kind_fits(times("N", "m"), of("J")));
    assert_false(kind_fits(of("N.m"), times("N", "m")));
    assert_true(kind_fits(of("psi"), of("bar")));
    assert_false(kind_fits(of("psi"), of("N")));
    assert_false(kind_fits(times("N", "m"), of("N")));
}

static void a_point_is_not_a_difference(void **state)
{
    (void)state;
    assert_false(kind_fits(of("°C"), of("K")));
    assert_false(kind_fits(of("K"), of("°C")));
    assert_true(kind_fits(of("°F"), of("°C")));
    assert_true(kind_is_point(of("°F")));
    assert_false(kind_is_point(of("Δ°F")));
    assert_kind(kind_difference(of("°C")), of("K"), __LINE__);
    assert_kind(kind_difference(of("Δ°F")), of("K"), __LINE__);
    assert_kind(kind_difference(of("N.m")), of("N.m"), __LINE__);
}

/* Relations between the derived units: the SI brochure, 9th edition, table 4. */
static void products_and_quotients_make_the_kinds_of_the_table(void **state)
{
    (void)state;
    assert_kind(over("N", "m2"), of("Pa"), __LINE__);
    assert_kind(over("J", "s"), of("W"), __LINE__);
    assert_kind(over("W", "A"), of("V"), __LINE__);
    assert_kind(over("V", "A"), of("ohm"), __LINE__);
    assert_kind(times("A", "s"), of("Ah"), __LINE__);
    assert_kind(times("m", "m2"), of("m3"), __LINE__);
    assert_kind(over("m3", "h"), of("L/min"), __LINE__);
    assert_kind(over("L", "km"), of("L/100km"), __LINE__);
    assert_kind(over("km", "L"), of("mpg"), __LINE__);
    assert_kind(over("kg", "L"), of("g/cm3"), __LINE__);
    assert_kind(over("1", "s"), of("Hz"), __LINE__);
    assert_kind(times("kg", "m/s2"), of("N"), __LINE__);
    assert_true(kind_is_plain(over("psi", "bar")));
    assert_true(kind_is_plain(over("N.m", "lbf.ft")));
    assert_true(kind_is_plain(of("%")));
    assert_false(kind_is_plain(of("rad")));
}

/* NIST SP 811, 4.2.2: the joule per radian; power = torque times angular velocity. */
static void a_torque_is_energy_per_angle(void **state)
{
    (void)state;
    assert_kind(times("N.m", "rev"), of("J"), __LINE__);
    assert_kind(times("rad", "lbf.ft"), of("J"), __LINE__);
    assert_kind(times("N.m", "rpm"), of("kW"), __LINE__);
    assert_kind(over("kW", "rpm"), of("N.m"), __LINE__);
    assert_kind(over("J", "°"), of("N.m"), __LINE__);
    assert_kind(over("J", "N.m"), of("rad"), __LINE__);
    assert_kind(over("hp", "lbf.ft"), of("rpm"), __LINE__);
}

/* Over an angle alone makes no torque: a pitch of 2 mm per turn is a length per angle. */
static void not_all_that_is_per_angle_is_torque(void **state)
{
    (void)state;
    struct kind pitch = kind_quotient(of("mm"), of("rev"));
    assert_int_equal(pitch.flavour, FLAVOUR_NONE);
    assert_int_equal(pitch.power[DIMENSION_LENGTH], 1);
    assert_int_equal(pitch.power[DIMENSION_ANGLE], -1);
    assert_false(kind_fits(pitch, of("N.m")));
    assert_true(kind_equal(kind_product(pitch, of("rev")), of("mm")));
}

static void a_plain_factor_changes_no_kind(void **state)
{
    (void)state;
    assert_kind(times("N.m", "1"), of("N.m"), __LINE__);
    assert_kind(times("%", "J"), of("J"), __LINE__);
    assert_kind(over("N.m", "1"), of("N.m"), __LINE__);
    assert_kind(times("1", "bar"), of("bar"), __LINE__);
    assert_kind(over("N.m", "m"), of("N"), __LINE__);
}

static void roots_need_even_powers(void **state)
{
    (void)state;
    struct kind root;
    assert_true(kind_root(of("m2"), &root));
    assert_kind(root, of("m"), __LINE__);
    assert_true(kind_root(of("%"), &root));
    assert_true(kind_is_plain(root));
    assert_false(kind_root(of("L"), &root));
}

static void a_power_beyond_all_measure_stays_at_the_end(void **state)
{
    (void)state;
    struct kind kind = of("L");
    for (int i = 0; i < 10; i++)
        kind = kind_product(kind, kind);
    assert_int_equal(kind.power[DIMENSION_LENGTH], 127);
    struct kind inverse = kind_quotient(of("1"), kind);
    inverse = kind_quotient(inverse, kind);
    assert_int_equal(inverse.power[DIMENSION_LENGTH], -128);
}

static void kinds_have_names(void **state)
{
    (void)state;
    struct arena arena = arena_open(MEBIBYTE, check_exhausted);
    assert_text(kind_name(&arena, of("psi")), "pressure");
    assert_text(kind_name(&arena, of("N.m")), "torque");
    assert_text(kind_name(&arena, of("°C")), "temperature");
    assert_text(kind_name(&arena, of("K")), "temperature difference");
    assert_text(kind_name(&arena, of("1")), "plain number");
    assert_text(kind_name(&arena, kind_product(of("N"), of("kg"))), "kg2·m/s2");
    assert_text(kind_name(&arena, kind_quotient(of("1"), of("bar"))), "m·s2/kg");
    assert_text(kind_name(&arena, kind_quotient(of("1"), of("kg"))), "1/kg");
    assert_text(kind_name(&arena, kind_product(of("rad"), of("K"))), "K·rad");
    assert_text(kind_name(&arena, kind_quotient(of("kg"), of("V"))), "s3·A/m2");

    const struct unit *unit;
    const struct text *spellings;
    size_t count;
    for (size_t i = 0; unit_at(i, &unit, &spellings, &count); i++) {
        struct text name = kind_name(&arena, unit->kind);
        if (text_find(name, TEXT("/")) < name.length)
            fail_msg("the kind of %s has no name", unit->symbol.bytes);
        /* findings say "a pressure": no name may want `an` */
        if (text_find(TEXT("aeiou"), text_slice(name, 0, 1)) < 5)
            fail_msg("the kind of %s begins with a vowel", unit->symbol.bytes);
    }
    arena_close(&arena);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(torque_and_energy_are_kept_apart),
        cmocka_unit_test(a_point_is_not_a_difference),
        cmocka_unit_test(products_and_quotients_make_the_kinds_of_the_table),
        cmocka_unit_test(a_torque_is_energy_per_angle),
        cmocka_unit_test(not_all_that_is_per_angle_is_torque),
        cmocka_unit_test(a_plain_factor_changes_no_kind),
        cmocka_unit_test(roots_need_even_powers),
        cmocka_unit_test(a_power_beyond_all_measure_stays_at_the_end),
        cmocka_unit_test(kinds_have_names),
    };
    return cmocka_run_group_tests_name("measure/kind", tests, NULL, NULL);
}

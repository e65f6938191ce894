#include "card_fixture.h"

static struct day today = {1772524800000, {"+01:00", 6}}; /* 2026-03-03 */

static struct text kit_words(struct card_fixture *fixture)
{
    struct card card =
        kit_build(fixture->fitted, &fixture->ranking, false, &today, &fixture->arena);
    return card_as_text(&card, 120, &fixture->arena);
}

static void expect_kit(struct card_fixture *fixture, const char *words)
{
    struct text kit = kit_words(fixture);
    if (text_find(kit, text_from(words)) == kit.length)
        fail_msg("'%s' is not in:\n%s", words, text_terminated(&fixture->arena, kit));
}

static void the_kit_looks_as_it_must(void **state)
{
    struct card_fixture *fixture = *state;
    struct card card =
        kit_build(fixture->fitted, &fixture->ranking, false, &today, &fixture->arena);
    expect_golden(card_as_text(&card, 80, &fixture->arena), "kit-80", &fixture->arena);
    expect_golden(card_as_text(&card, 30, &fixture->arena), "kit-30", &fixture->arena);
}

static void what_is_still_to_be_looked_up_stands_first(void **state)
{
    struct card_fixture *fixture = *state;
    struct text kit = kit_words(fixture);
    size_t missing = text_find(kit, TEXT("Look up first"));
    assert_true(missing < text_find(kit, TEXT("Asked at the start")));
    assert_true(missing < text_find(kit, TEXT("Tools")));
    expect_kit(fixture, "Bolt torque  in N\u00B7m");
    expect_kit(fixture, "Lowest pressure  8.8\u00A0bar  pump leaflet, page 2");
}

/* Three cylinders: 3 x 2 rings, 3 x 1.5 mL; a quarter of 400 mL, if it is needed at all. */
static void totals_go_over_all_positions(void **state)
{
    struct card_fixture *fixture = *state;
    expect_kit(fixture, "Sealing ring  6");
    expect_kit(fixture, "Grease        4.5\u00A0mL");
    expect_kit(fixture, "Pump cleaner  up to 100\u00A0mL");
}

static void a_tool_stands_once(void **state)
{
    struct card_fixture *fixture = *state;
    struct text kit = kit_words(fixture);
    size_t at = text_find(kit, TEXT("- valve key"));
    assert_true(at < kit.length);
    struct text rest = text_slice(kit, at + 5, kit.length);
    assert_int_equal(text_find(rest, TEXT("- valve key")), rest.length);
}

/* The volume stands in the sheet; the torque has still to be looked up. */
static void blanks_are_filled_from_the_machine_sheet(void **state)
{
    struct card_fixture *fixture = *state;
    expect_kit(fixture, "- socket for 400\u00A0mL, bolt torque (look up)");
    expect_kit(fixture, "- puller for \u2026");
}

static void gauges_say_how_good_they_are(void **state)
{
    struct card_fixture *fixture = *state;
    expect_kit(fixture, "0.1\u00A0bar");
    expect_kit(fixture, "0.5\u00A0% of the reading and 1.6\u00A0% of 25\u00A0bar");
    expect_kit(fixture, "2026-02-01");
}

/* It is good up to the end of the day it is due, in the zone where it is. */
static void a_gauge_past_due_is_said(void **state)
{
    struct card_fixture *fixture = *state;
    const long long day = 24LL * 60 * 60 * 1000;
    const struct day before = today;
    today =
        (struct day){1801522800000 - 1, {"+01:00", 6}}; /* 2027-02-01, its last millisecond */
    struct text kit = kit_words(fixture);
    assert_int_equal(text_find(kit, TEXT("past")), kit.length);
    today.wall++;
    expect_kit(fixture, "Pressure gauge 0 to 25 bar: calibration was due 2027-02-01: past.");
    today.wall -= day / 4;
    kit = kit_words(fixture);
    assert_int_equal(text_find(kit, TEXT("past")), kit.length);
    today.zone = TEXT("+08:00");
    expect_kit(fixture, "calibration was due 2027-02-01: past");
    today = before;
}

static void gauges_say_what_stands_on_their_scale(void **state)
{
    struct card_fixture *fixture = *state;
    struct text kit = kit_words(fixture);
    size_t at = text_find(kit, TEXT("Gauge                       Unit"));
    if (at == kit.length)
        fail_msg("%s", text_terminated(&fixture->arena, kit));
    expect_kit(fixture, "Pressure gauge 0 to 25 bar  bar   0.1\u00A0bar");
    expect_kit(fixture, "Torque wrench               N\u00B7m   0.5\u00A0N\u00B7m");
}

static int begin_with_drives(void **state)
{
    return card_fixture_begin_with(state, "tests/cards/pump_drives.yaml");
}

static void expect_no_kit(struct card_fixture *fixture, const char *words)
{
    struct text kit = kit_words(fixture);
    if (text_find(kit, text_from(words)) < kit.length)
        fail_msg("'%s' is in:\n%s", words, text_terminated(&fixture->arena, kit));
}

/* The sheet says shaft. */
static void what_only_other_machines_need_is_not_laid_out(void **state)
{
    struct card_fixture *fixture = *state;
    expect_kit(fixture, "- rod\n");
    expect_no_kit(fixture, "mirror");
    expect_no_kit(fixture, "hook");
    expect_no_kit(fixture, "belt gloves");
    expect_no_kit(fixture, "Belt gauge");
    expect_no_kit(fixture, "Chalk");
}

/* The sheet lacks the guard, and the pressure is not read yet. */
static void what_is_not_known_yet_is_laid_out(void **state)
{
    struct card_fixture *fixture = *state;
    expect_kit(fixture, "- hinge pin");
    expect_kit(fixture, "- funnel");
    expect_kit(fixture, "Oil drop      up to 1\n");
}

static void what_this_machine_needs_for_sure_is_no_upper_bound(void **state)
{
    struct card_fixture *fixture = *state;
    expect_kit(fixture, "Shaft key  1\n");
}

static void a_tool_that_is_a_gauge_stands_among_the_gauges_alone(void **state)
{
    struct card_fixture *fixture = *state;
    expect_no_kit(fixture, "- torque wrench");
    expect_no_kit(fixture, "- pressure gauge");
    expect_kit(fixture, "Torque wrench   N\u00B7m   not given");
    expect_kit(fixture, "Pressure gauge  bar   not given");
}

/* 1234.56 mL and 3 / 2 * 0.5 L, each in the unit it was written in. */
static void amounts_have_three_digits(void **state)
{
    struct card_fixture *fixture = *state;
    expect_kit(fixture, "Shaft grease  1230\u00A0mL\n");
    expect_kit(fixture, "- shim of 2.35\u00A0mm\n");
    expect_kit(fixture, "Cleaner       up to 0.75\u00A0L\n");
}

int main(void)
{
#define DRIVES(name) cmocka_unit_test_setup_teardown(name, begin_with_drives, card_fixture_end)
#define TEST(name)   cmocka_unit_test_setup_teardown(name, card_fixture_begin, card_fixture_end)
    const struct CMUnitTest tests[] = {
        TEST(the_kit_looks_as_it_must),
        TEST(what_is_still_to_be_looked_up_stands_first),
        TEST(totals_go_over_all_positions),
        TEST(a_tool_stands_once),
        TEST(blanks_are_filled_from_the_machine_sheet),
        TEST(gauges_say_how_good_they_are),
        TEST(gauges_say_what_stands_on_their_scale),
        TEST(a_gauge_past_due_is_said),
        DRIVES(what_only_other_machines_need_is_not_laid_out),
        DRIVES(what_is_not_known_yet_is_laid_out),
        DRIVES(what_this_machine_needs_for_sure_is_no_upper_bound),
        DRIVES(a_tool_that_is_a_gauge_stands_among_the_gauges_alone),
        DRIVES(amounts_have_three_digits)};
    return cmocka_run_group_tests(tests, NULL, NULL);
}

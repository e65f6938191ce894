#include "world.h"

#include <math.h>

/* A reading in bar with an error of its own. */
static const struct gradient *error_of(struct arena *arena, unsigned source, double bar)
{
    struct gradient *gradient =
        arena_allocate(arena, sizeof(struct gradient) + sizeof(struct error_term), 1,
                       alignof(struct gradient));
    gradient->count = 1;
    gradient->terms[0] = (struct error_term){.source = source, .slope = bar * 1e5};
    return gradient;
}

static double uncertainty(struct value value)
{
    assert_false(value.items[0].is_missing);
    return gradient_combined(value.items[0].number.gradient);
}

static void scalars_spread_over_vectors(void **state)
{
    (void)state;
    struct world *world = world_open();
    struct value value = work_out(world, "dry < 0.75 * max(dry)");
    assert_int_equal(value.count, 4);
    assert_false(value.items[0].truth);
    assert_false(value.items[1].truth);
    assert_true(value.items[2].truth);
    assert_true(value.items[3].truth);
    world_close(world);
}

static void a_missing_reading_stays_missing_and_keeps_its_name(void **state)
{
    (void)state;
    struct world *world = world_open();
    struct value value = work_out(world, "wet / dry - 1");
    assert_true(value.items[2].is_missing);
    assert_text(value.items[2].missing_name, "wet[3]");
    assert_near(value.items[3].number.value, 9.0 / 7 - 1, 1e-12);
    assert_missing(world, "2 * absent + 1 bar", "absent");
    assert_missing(world, "absent > 1 bar", "absent");
    assert_missing(world, "min(absent, 3 bar)", "absent");
    assert_missing(world, "sqrt(absent / 1 Pa)", "absent");
    assert_missing(world, "round(absent, 1 bar)", "absent");
    assert_missing(world, "round(dry[1], absent)", "absent");
    assert_missing(world, "wet[3]", "wet[3]");
    world->scalars[SYMBOL_wet][2].missing_name = TEXT("what the caller calls it");
    assert_missing(world, "wet[3] + 1 bar", "what the caller calls it");
    assert_missing(world, "dry[7]", "dry[7]");
    world_close(world);
}

static void what_has_no_result_says_why(void **state)
{
    (void)state;
    struct world *world = world_open();
    assert_missing(world, "dry[1] / (dry[1] - dry[1])",
                   "division by zero in dry[1] / (dry[1] - dry[1])");
    assert_missing(world, "sqrt(0 - ratio)",
                   "square root of less than nothing in sqrt(0 - ratio)");
    assert_missing(world, "sqrt(0 ± 1)", "square root of 0 with an uncertainty in sqrt(0 ± 1)");
    assert_missing(world, "star(2.5)", "a whole number from 1 to 64 in star(2.5)");
    assert_missing(world, "stdev(dry[dry > 11.5 bar])",
                   "a second value in stdev(dry[dry > 11.5 bar])");
    assert_missing(world, "scatter(dry[9])", "dry[9]");
    assert_missing(world, "scatter(dry[2])", "a repeat of dry[2]");
    assert_missing(world, "star(0)", "a whole number from 1 to 64 in star(0)");
    assert_missing(world, "star(65)", "a whole number from 1 to 64 in star(65)");
    assert_missing(world, "round(ratio, 0)", "a step that is not zero in round(ratio, 0)");
    assert_missing(world, "standard_pressure(20 km)",
                   "an altitude from -5000 m to 11 000 m in standard_pressure(20 km)");
    assert_missing(world, "standard_pressure(-6000 m)",
                   "an altitude from -5000 m to 11 000 m in standard_pressure(-6000 m)");
    assert_missing(world, "9999999999999^9 * 9999999999999^9 * 9999999999999^9",
                   "too large a number in 9999999999999^9 * 9999999999999^9");
    world_close(world);
}

static void and_and_or_know_missing(void **state)
{
    (void)state;
    struct world *world = world_open();
    assert_false(truth_of(world, "1 > 2 and unknown"));
    assert_false(truth_of(world, "unknown and 1 > 2"));
    assert_true(truth_of(world, "1 < 2 or unknown"));
    assert_true(truth_of(world, "unknown or 1 < 2"));
    assert_missing(world, "1 < 2 and unknown", "unknown");
    assert_missing(world, "unknown and 1 < 2", "unknown");
    assert_missing(world, "1 > 2 or unknown", "unknown");
    assert_missing(world, "unknown or 1 > 2", "unknown");
    assert_missing(world, "not unknown", "unknown");
    world_close(world);
}

static bool is_unsure(struct world *world, const char *written)
{
    return work_out(world, written).items[0].is_unsure;
}

static void what_is_unsure_stays_so_unless_the_other_decides(void **state)
{
    (void)state;
    struct world *world = world_open();
    world->scalars[SYMBOL_is_cold][0].is_unsure = true;
    assert_true(is_unsure(world, "is_cold"));
    assert_true(is_unsure(world, "not is_cold"));
    assert_true(is_unsure(world, "is_cold and 1 < 2"));
    assert_false(is_unsure(world, "is_cold and 1 > 2"));
    assert_true(is_unsure(world, "is_cold or 1 > 2"));
    assert_false(is_unsure(world, "is_cold or 1 < 2"));
    assert_true(is_unsure(world, "is_cold == (1 < 2)"));
    world->scalars[SYMBOL_weak][3].is_unsure = true;
    assert_false(is_unsure(world, "any(weak)")); /* the third is surely weak */
    world->scalars[SYMBOL_weak][2].is_unsure = true;
    assert_true(is_unsure(world, "any(weak)"));
    assert_true(is_unsure(world, "none(weak)"));
    assert_true(is_unsure(world, "beside(weak)"));
    assert_false(is_unsure(world, "all(weak)")); /* the first is surely not */
    world_close(world);
}

static void brackets_pick_positions(void **state)
{
    (void)state;
    struct world *world = world_open();
    assert_near(number_of(world, "dry[3]"), 8e5, 1e-6);
    assert_near(number_of(world, "dry[\"4\"]"), 7e5, 1e-6);
    assert_near(number_of(world, "tyre['rear left']"), 3e5, 1e-6);
    assert_near(number_of(world, "max(dry[weak])"), 8e5, 1e-6);
    assert_near(number_of(world, "min(dry[not weak])"), 11e5, 1e-6);
    assert_true(work_out(world, "dry[weak]").items[0].is_missing);
    assert_text(work_out(world, "dry[wet > 1 bar]").items[2].missing_name, "wet[3]");
    assert_near(number_of(world, "count(dry[dry > 7.5 bar])"), 3, 0);
    world_close(world);
}

static void the_name_of_the_index_is_the_position_here(void **state)
{
    (void)state;
    struct world *world = world_open();
    world_enter(world, 2);
    assert_near(number_of(world, "dry[cylinder]"), 8e5, 1e-6);
    assert_text(work_out(world, "cylinder").items[0].text, "3");
    assert_true(truth_of(world, "cylinder == \"3\""));
    assert_true(truth_of(world, "dry[cylinder] < max(dry)"));
    assert_near(number_of(world, "local"), 5e5, 1e-6);
    assert_near(number_of(world, "elapsed(rest)"), 102, 0);
    assert_missing(world, "wet[cylinder]", "wet[3]");
    world->here[CYLINDER] = INDEX_NONE;
    assert_missing(world, "dry[cylinder]", "dry[cylinder]");
    assert_missing(world, "cylinder", "cylinder");
    world_close(world);
}

static void functions_pass_over_missing_positions(void **state)
{
    (void)state;
    struct world *world = world_open();
    assert_near(number_of(world, "min(wet)"), 9e5, 1e-6);
    assert_near(number_of(world, "max(wet)"), 12e5, 1e-6);
    assert_near(number_of(world, "sum(wet)"), 32e5, 1e-6);
    assert_near(number_of(world, "mean(wet)"), 32e5 / 3, 1e-6);
    assert_near(number_of(world, "median(wet)"), 11e5, 1e-6);
    assert_near(number_of(world, "count(wet)"), 3, 0);
    assert_near(number_of(world, "count(wet > 10 bar)"), 2, 0);
    assert_true(truth_of(world, "any(wet > 11.5 bar)"));
    assert_true(truth_of(world, "all(wet > 8 bar)"));
    assert_true(truth_of(world, "none(wet > 13 bar)"));
    assert_text(work_out(world, "where(wet > 8 bar)").items[0].text, "1, 2 and 4");
    world_close(world);
}

static void of_positions_that_are_all_missing_little_is_left(void **state)
{
    (void)state;
    struct world *world = world_open();
    for (size_t i = 0; i < 4; i++)
        world->scalars[SYMBOL_wet][i].is_missing = true;
    assert_missing(world, "min(wet)", "wet[1]");
    assert_missing(world, "mean(wet)", "wet[1]");
    assert_missing(world, "sum(wet)", "wet[1]");
    assert_missing(world, "all(wet > 1 bar)", "wet[1]");
    assert_near(number_of(world, "count(wet)"), 0, 0);
    assert_false(truth_of(world, "any(wet > 1 bar)"));
    assert_true(truth_of(world, "none(wet > 1 bar)"));
    assert_text(work_out(world, "where(wet > 1 bar)").items[0].text, "none");
    world_close(world);
}

static void functions_of_several_values_go_position_by_position(void **state)
{
    (void)state;
    struct world *world = world_open();
    assert_near(number_of(world, "min(3, 1, 2)"), 1, 0);
    assert_near(number_of(world, "mean(3, 1, 2)"), 2, 0);
    struct value value = work_out(world, "max(dry, 10 bar)");
    assert_near(value.items[0].number.value, 12e5, 1e-6);
    assert_near(value.items[3].number.value, 10e5, 1e-6);
    world_close(world);
}

/* dry is 12, 11, 8 and 7 bar, read with a gauge of 0.5 bar: its error is one, which all four share. */
static void a_comparison_within_its_uncertainty_is_unsure(void **state)
{
    (void)state;
    struct world *world = world_open();
    for (size_t i = 0; i < 4; i++)
        world->scalars[SYMBOL_dry][i].number.gradient = error_of(&world->arena, 1, 0.5);
    assert_true(truth_of(world, "dry[1] > 11.5 bar"));
    assert_true(is_unsure(world, "dry[1] > 11.5 bar")); /* one standard uncertainty: 84 % */
    assert_true(is_unsure(world, "dry[1] < 12.5 bar"));
    assert_false(is_unsure(world, "dry[1] > 11 bar")); /* two: 97.7 % */
    assert_false(is_unsure(world, "dry[1] < 11 bar"));
    assert_true(is_unsure(world, "dry[1] == 12 bar"));
    assert_true(is_unsure(world, "dry[1] != 12.5 bar"));
    assert_false(is_unsure(world, "dry[1] == 14 bar"));
    assert_true(truth_of(world, "(8.9 ± 0.3) bar > 8.8 bar"));
    assert_true(is_unsure(world, "(8.9 ± 0.3) bar > 8.8 bar"));
    /* what two readings share says nothing about which is the higher */
    assert_false(is_unsure(world, "dry[1] > dry[2]"));
    assert_false(is_unsure(world, "dry[1] - dry[2] > 0.9 bar"));
    assert_false(is_unsure(world, "1 bar < 1.0000001 bar")); /* exact, however near */
    world_close(world);
}

/* Would it hold if its unsure comparisons were unknown?  At 11.5 bar the first is unsurely above and
 * the second (11 bar) unsurely below. */
static void what_rests_on_an_unsure_truth_is_unsure(void **state)
{
    (void)state;
    struct world *world = world_open();
    for (size_t i = 0; i < 4; i++)
        world->scalars[SYMBOL_dry][i].number.gradient = error_of(&world->arena, 1, 0.5);
    assert_true(is_unsure(world, "any(dry > 11.5 bar)"));
    assert_false(is_unsure(world, "any(dry < 11.5 bar)")); /* the third surely is */
    assert_false(is_unsure(world, "all(dry > 11.5 bar)"));
    assert_true(is_unsure(world, "not (dry[1] > 11.5 bar) or 1 > 2"));
    assert_false(is_unsure(world, "dry[1] > 11.5 bar and dry[4] > 11.5 bar"));
    assert_true(is_unsure(world, "count(dry > 11.5 bar) == 1"));
    assert_false(is_unsure(world, "count(dry > 9 bar) == 2"));
    assert_true(is_unsure(world, "where(dry > 11.5 bar)"));
    assert_true(is_unsure(world, "where(dry > 11.5 bar) == '1'"));
    assert_true(is_unsure(world, "min(dry[dry < 11.5 bar])")); /* perhaps not among them */
    assert_false(is_unsure(world, "min(dry[dry < 9 bar])"));
    assert_true(is_unsure(world, "any(dry[dry < 11.5 bar] > 13 bar)"));
    assert_true(is_unsure(world, "2 * mean(dry[dry < 11.5 bar]) + 1 bar > 1 bar"));
    assert_true(is_unsure(world, "given(dry[dry > 11.5 bar])"));
    assert_true(is_unsure(world, "round(mean(dry[dry > 11.5 bar]), 1 bar)"));
    assert_true(is_unsure(world, "abs(mean(dry[dry > 11.5 bar]) - 1 bar)"));
    assert_true(is_unsure(world, "max(1 bar, mean(dry[dry > 11.5 bar]))"));
    assert_true(is_unsure(world, "max(mean(dry[dry > 11.5 bar]), 1 bar, 2 bar)"));
    assert_true(is_unsure(world, "round(20 bar, mean(dry[dry > 11.5 bar]))"));
    assert_false(is_unsure(world, "round(20 bar, mean(dry[dry > 9 bar]))"));
    assert_true(is_unsure(world, "(mean(dry[dry > 11.5 bar]) / 1 bar)^2"));
    assert_true(is_unsure(world, "beside(dry > 10.5 bar)"));
    /* the first (12 bar) is perhaps among them, the others surely or surely not */
    assert_true(is_unsure(world, "any(dry[dry > 12.2 bar] > 13 bar)"));
    assert_true(is_unsure(world, "none(dry[dry > 12.2 bar] > 13 bar)"));
    assert_true(is_unsure(world, "all(dry[dry < 11.9 bar] < 20 bar)"));
    assert_true(is_unsure(world, "beside(dry[dry > 12.2 bar] > 13 bar)"));
    assert_false(is_unsure(world, "any(dry[dry > 9 bar] > 13 bar)"));
    world_close(world);
}

/* 1 / x has the slope -1 / x^2: beyond what is worked with where x is 1e-120. */
static void what_is_too_uncertain_to_write_down_is_missing(void **state)
{
    (void)state;
    enum { ZEROS = 59 };
    struct world *world = world_open();
    char written[ZEROS + 20] = "1 / (0.";
    memset(written + 7, '0', ZEROS);
    memcpy(written + 7 + ZEROS, "1 \u00b1 1)^2", sizeof "1 \u00b1 1)^2");
    struct value value = work_out(world, written);
    assert_true(value.items[0].is_missing);
    assert_true(text_starts(value.items[0].missing_name, TEXT("too large a number in 1 /")));
    world_close(world);
}

static void where_lists_as_people_do(void **state)
{
    (void)state;
    struct world *world = world_open();
    assert_text(work_out(world, "where(weak)").items[0].text, "3 and 4");
    assert_text(work_out(world, "where(dry > 11.5 bar)").items[0].text, "1");
    assert_text(work_out(world, "where(dry > 1 bar)").items[0].text, "1, 2, 3 and 4");
    assert_text(work_out(world, "where(dry > 20 bar)").items[0].text, "none");
    assert_text(work_out(world, "where(tyre > 2.5 bar)").items[0].text,
                "rear left and rear right");
    world_close(world);
}

static void beside_wants_two_neighbours(void **state)
{
    (void)state;
    struct world *world = world_open();
    assert_true(truth_of(world, "beside(weak)"));
    assert_false(truth_of(world, "beside(dry == 12 bar or dry == 8 bar)"));
    assert_false(truth_of(world, "beside(dry == 12 bar or dry == 7 bar)")); /* no ring */
    assert_false(truth_of(world, "beside(wet > 20 bar)"));
    assert_false(truth_of(world, "beside(wet < 10 bar)")); /* the third is missing */
    world_close(world);
}

static void previous_follows_the_firing_order(void **state)
{
    (void)state;
    struct world *world = world_open();
    /* 1-3-4-2: before 1 fires 2, before 2 fires 4, before 3 fires 1, before 4 fires 3 */
    struct value value = work_out(world, "previous(dry)");
    static const double expected[] = {11e5, 7e5, 12e5, 8e5};
    for (size_t i = 0; i < 4; i++)
        assert_near(value.items[i].number.value, expected[i], 1e-6);
    assert_text(work_out(world, "previous(plug)").items[3].text, "black");
    assert_missing(world, "previous(tyre)", "the firing order");
    world_close(world);
}

/* The test itself is held against published data in tests/measure/test_outlier.c. */
static void one_that_stands_out_is_told_from_the_family(void **state)
{
    (void)state;
    struct world *world = world_open();
    struct value odd = work_out(world, "stands_out(max(dry, 11 bar))"); /* 12, 11, 11, 11 */
    assert_int_equal(odd.count, 4);
    for (size_t i = 0; i < 4; i++) {
        assert_int_equal(odd.items[i].truth, i == 0);
        assert_false(odd.items[i].is_missing || odd.items[i].is_unsure);
    }
    assert_true(truth_of(world, "none(stands_out(dry))"));
    assert_true(truth_of(world, "none(stands_out(warm))"));
    /* three are too few of a family */
    odd = work_out(world, "stands_out(wet)");
    for (size_t i = 0; i < 4; i++)
        assert_true(odd.items[i].is_missing);
    assert_text(odd.items[2].missing_name, "wet[3]");
    assert_text(odd.items[0].missing_name, "a fourth value in stands_out(wet)");
    world_close(world);
}

static void one_that_is_apart_by_less_than_it_is_uncertain_by_is_unsure(void **state)
{
    (void)state;
    struct world *world = world_open();
    struct value sure = work_out(world, "stands_out(max(dry, 11 bar ± 0.2 bar))");
    struct value unsure = work_out(world, "stands_out(max(dry, 11 bar ± 2 bar))");
    assert_true(sure.items[0].truth && unsure.items[0].truth);
    assert_false(sure.items[0].is_unsure);
    assert_true(unsure.items[0].is_unsure);
    assert_false(unsure.items[1].truth || unsure.items[1].is_unsure);
    world_close(world);
}

static void a_value_is_anything_if_some_position_is_there(void **state)
{
    (void)state;
    struct world *world = world_open();
    struct value wet = work_out(world, "wet"), absent = work_out(world, "absent");
    assert_true(value_is_anything(&wet)); /* but for cylinder 3 */
    assert_false(value_is_anything(&absent));
    world_close(world);
}

/* 9e73: each fits, and so does their product; what it is uncertain by does not. */
#define HUGE_NUMBER                                                                            \
    "900000000000000000000000000000000000000"                                                  \
    "00000000000000000000000000000000000"

static void what_is_uncertain_by_too_much_is_too_large(void **state)
{
    (void)state;
    struct world *world = world_open();
    struct value value =
        work_out(world, "(0 ± " HUGE_NUMBER ") * " HUGE_NUMBER " * " HUGE_NUMBER);
    assert_true(value.items[0].is_missing);
    assert_true(text_starts(value.items[0].missing_name, TEXT("too large a number in")));
    world_close(world);
}

static void a_comparison_of_tenths_is_as_it_was_typed(void **state)
{
    (void)state;
    struct world *world = world_open();
    assert_true(truth_of(world, "12.3 bar - 12 bar <= 0.3 bar"));
    assert_true(truth_of(world, "12.3 bar - 12 bar >= 0.3 bar"));
    assert_true(truth_of(world, "12.3 bar - 12 bar == 0.3 bar"));
    assert_false(truth_of(world, "12.3 bar - 12 bar < 0.3 bar"));
    assert_false(truth_of(world, "12.3 bar - 12 bar > 0.3 bar"));
    assert_true(truth_of(world, "1 <= 2") && truth_of(world, "2 >= 1"));
    assert_false(truth_of(world, "2 <= 1") || truth_of(world, "1 >= 2"));
    world_close(world);
}

static void given_asks_and_does_not_pass_on(void **state)
{
    (void)state;
    struct world *world = world_open();
    assert_true(truth_of(world, "given(ratio)"));
    assert_false(truth_of(world, "given(absent)"));
    assert_true(work_out(world, "given(wet)").items[1].truth);
    assert_false(work_out(world, "given(wet)").items[2].truth);
    world_close(world);
}

static void texts_compare_whole(void **state)
{
    (void)state;
    struct world *world = world_open();
    assert_true(truth_of(world, "level == \"between the marks\""));
    assert_true(truth_of(world, "level == ' between the marks '")); /* texts are trimmed */
    assert_false(truth_of(world, "level == 'below the lower mark'"));
    assert_true(truth_of(world, "level != 'below the lower mark'"));
    assert_text(work_out(world, "where(plug == 'brown')").items[0].text, "1 and 2");
    assert_true(truth_of(world, "plug[1] == plug[2]"));
    world_close(world);
}

static void comparisons_know_their_bounds(void **state)
{
    (void)state;
    struct world *world = world_open();
    assert_false(truth_of(world, "ratio < ratio"));
    assert_false(truth_of(world, "ratio > ratio"));
    assert_true(truth_of(world, "ratio <= ratio and ratio >= ratio"));
    assert_true(truth_of(world, "ratio == ratio"));
    assert_false(truth_of(world, "ratio != ratio"));
    /* tenths are none in a double; what differs by their noise alone is one number */
    assert_true(truth_of(world, "0.1 + 0.2 == 0.3"));
    assert_false(truth_of(world, "0.1 + 0.2 > 0.3"));
    assert_false(truth_of(world, "0.1 + 0.2 != 0.3"));
    assert_true(truth_of(world, "(8.9 bar + 8.7 bar) / 2 >= 8.8 bar"));
    assert_true(truth_of(world, "0.1 + 0.2 < 0.3000000001"));
    assert_true(truth_of(world, "is_cold == (1 < 2)"));
    assert_false(truth_of(world, "is_cold != (1 < 2)"));
    assert_false(truth_of(world, "is_cold == (1 > 2)"));
    world_close(world);
}

/* Half a metre up and down, where the slope of geopotential height matters too. */
static void pressure_falls_with_altitude_as_its_slope_says(void **state)
{
    (void)state;
    struct world *world = world_open();
    double below = number_of(world, "standard_pressure(9999.5 m)");
    double above = number_of(world, "standard_pressure(10000.5 m)");
    double got = uncertainty(work_out(world, "standard_pressure(10000 ± 1.96 m)"));
    assert_near(got / (below - above), 1, 1e-6);
    world_close(world);
}

static void temperatures_subtract_to_differences(void **state)
{
    (void)state;
    struct world *world = world_open();
    assert_near(number_of(world, "coolant - 20 °C"), 65, 1e-9);
    assert_near(number_of(world, "mean(warm)"), 273.15 + 35, 1e-9);
    assert_near(number_of(world, "coolant + 5 K"), 273.15 + 90, 1e-9);
    assert_true(truth_of(world, "coolant > 180 °F"));
    assert_true(truth_of(world, "coolant >= 85 °C and coolant <= 85 °C"));
    assert_near(number_of(world, "coolant - -273.15 °C"), 358.15, 1e-9);
    assert_near(number_of(world, "stdev(dry[dry > 10 bar])"), sqrt(0.5) * 1e5, 1e-6);
    assert_near(number_of(world, "stdev(warm)"), sqrt(500.0 / 3), 1e-9);
    world_close(world);
}

static void timers_tell_their_seconds(void **state)
{
    (void)state;
    struct world *world = world_open();
    world->elapsed = 90;
    world->late = 0;
    assert_true(truth_of(world, "elapsed(soak) == 1.5 min"));
    assert_near(number_of(world, "late(soak)"), 0, 0);
    world->elapsed = -1;
    assert_missing(world, "elapsed(soak)", "elapsed(soak)");
    world_close(world);
}

static void scatter_is_of_the_repeats(void **state)
{
    (void)state;
    struct world *world = world_open();
    struct value value = work_out(world, "scatter(dry)");
    /* 11.0, 11.1, 11.3: s = 0.152 752 523 165 195 (R 4.2.2, sd) */
    assert_near(value.items[0].number.value, 0.152752523165195e5, 1e-7);
    assert_true(value.items[1].is_missing);
    assert_text(value.items[1].missing_name, "a repeat of dry");
    assert_near(number_of(world, "scatter(dry[1])"), 0.152752523165195e5, 1e-7);
    world_enter(world, 0);
    assert_near(number_of(world, "scatter(dry[cylinder])"), 0.152752523165195e5, 1e-7);
    world_close(world);
}

static void a_shared_error_cancels_where_it_should(void **state)
{
    (void)state;
    struct world *world = world_open();
    struct scalar *dry = world->scalars[SYMBOL_dry];
    /* a relative error of 1 % that all share, on 12, 11, 8 and 7 bar */
    for (size_t i = 0; i < 4; i++)
        dry[i].number.gradient = error_of(&world->arena, 3, 0.01 * dry[i].number.value / 1e5);
    assert_near(uncertainty(work_out(world, "min(dry) / max(dry)")), 0, 1e-15);
    assert_near(uncertainty(work_out(world, "max(dry)")), 0.12e5, 1e-6);
    assert_near(uncertainty(work_out(world, "mean(dry)")), 0.095e5, 1e-6);
    assert_near(uncertainty(work_out(world, "median(dry)")), 0.095e5, 1e-6);
    assert_near(uncertainty(work_out(world, "sum(dry)")), 0.38e5, 1e-6);
    assert_near(uncertainty(work_out(world, "dry[1] - dry[2]")), 0.01e5, 1e-6);
    assert_near(uncertainty(work_out(world, "-dry[1]")), 0.12e5, 1e-6);
    assert_near(uncertainty(work_out(world, "-dry[1] + dry[1]")), 0, 0);
    assert_near(number_of(world, "sqrt(0)"), 0, 0);
    assert_near(uncertainty(work_out(world, "abs(dry[1] - 20 bar)")), 0.12e5, 1e-6);
    assert_near(uncertainty(work_out(world, "abs(dry[1] - 20 bar) + dry[1]")), 0, 1e-9);
    assert_near(uncertainty(work_out(world, "(dry[1] / 1 bar)^2")), 2.88, 1e-9);
    assert_near(uncertainty(work_out(world, "sqrt(dry[1] / 3 bar)")), 0.01, 1e-12);
    assert_near(number_of(world, "uncertainty(dry[1])"), 0.12e5, 1e-6);
    double deviation = number_of(world, "stdev(dry)");
    assert_near(uncertainty(work_out(world, "stdev(dry)")), 0.01 * deviation, 1e-6);
    world_close(world);
}

/* Four that read 11 bar on one scale need not be alike: their difference is 0, not exactly 0. */
static void equal_readings_differ_by_what_the_scale_hides(void **state)
{
    (void)state;
    struct world *world = world_open();
    struct scalar *dry = world->scalars[SYMBOL_dry];
    for (size_t i = 0; i < 4; i++) {
        dry[i].number.value = 11e5;
        dry[i].number.gradient = error_of(&world->arena, 3 + (unsigned)i, 0.03);
    }
    assert_near(number_of(world, "max(dry) - min(dry)"), 0, 0);
    assert_near(uncertainty(work_out(world, "max(dry) - min(dry)")), sqrt(2) * 0.03e5, 1e-6);
    world_close(world);
}

/* The first-order figure against a small change of each reading, for every operation at once. */
static void slopes_agree_with_small_changes(void **state)
{
    (void)state;
    static const char *const written[] = {
        "dry[1] * dry[2] / dry[3] - dry[4]",
        "sqrt(dry[1] * dry[1] + dry[2] * dry[2])",
        "mean(dry) + median(dry) - stdev(dry)",
        "(dry[1] / dry[2])^3 * max(dry)",
        "round(dry[1] - dry[1], 1 bar) + mean(dry[1], 3 * dry[2])",
        "standard_pressure(dry[1] / (1000 kg/m3) / (9.81 m/s2) * 10)",
    };
    struct world *world = world_open();
    struct scalar *dry = world->scalars[SYMBOL_dry];
    const double step = 1; /* Pa */
    for (size_t i = 0; i < sizeof written / sizeof written[0]; i++)
        for (unsigned at = 0; at < 4; at++) {
            dry[at].number.gradient = error_of(&world->arena, at, 1e-5);
            double slope = 0;
            struct value value = work_out(world, written[i]);
            if (value.items[0].number.gradient != NULL)
                slope = value.items[0].number.gradient->terms[0].slope;
            dry[at].number.gradient = NULL;
            dry[at].number.value += step;
            double above = number_of(world, written[i]);
            dry[at].number.value -= 2 * step;
            double below = number_of(world, written[i]);
            dry[at].number.value += step;
            assert_near(slope, (above - below) / (2 * step), 2e-5);
        }
    world_close(world);
}

static void every_plus_minus_is_a_source_of_its_own(void **state)
{
    (void)state;
    struct world *world = world_open();
    assert_near(uncertainty(work_out(world, "25 N.m ± 4 %")), 1 / 1.96, 1e-12);
    assert_near(uncertainty(work_out(world, "11 ± 0.2 bar")), 0.2e5 / 1.96, 1e-9);
    assert_near(uncertainty(work_out(world, "20 °C ± 1 °C")), 1 / 1.96, 1e-12);
    assert_near(uncertainty(work_out(world, "68 °F +/- 1.8 °F")), 1 / 1.96, 1e-12);
    assert_near(uncertainty(work_out(world, "(20 ± 1) °C")), 1 / 1.96, 1e-12);
    assert_near(uncertainty(work_out(world, "((2 + 3) ± 1) bar")), 1e5 / 1.96, 1e-9);
    assert_near(uncertainty(work_out(world, "(-(2 bar) ± 10 %)")), 0.2e5 / 1.96, 1e-9);
    assert_near(uncertainty(work_out(world, "((75 %) ± 2 %)")), 0.02 / 1.96, 1e-12);
    assert_near(uncertainty(work_out(world, "((5) ± 1)")), 1 / 1.96, 1e-12);
    assert_near(uncertainty(work_out(world, "((2 + 3) ± (1 + 1))")), 2 / 1.96, 1e-12);
    assert_near(uncertainty(work_out(world, "((1 bar + 2 bar) ± 20 kPa)")), 2e4 / 1.96, 1e-9);
    assert_near(uncertainty(work_out(world, "(2 ^ 3 ± 1)")), 1 / 1.96, 1e-12);
    assert_near(uncertainty(work_out(world, "((4 bar + 1 bar) ± 10 %)")), 0.5e5 / 1.96, 1e-9);
    assert_near(uncertainty(work_out(world, "(3 ± 1 bar) - (3 ± 1 bar)")), sqrt(2) * 1e5 / 1.96,
                1e-9);
    world_close(world);
}

/* JCGM 100:2008, 5.2.2, example (from memory): ten resistors of 1000 ohm, each known to 0.1 ohm.  All
 * calibrated with one standard, they are together uncertain by 1 ohm; with ten, by 0.32 ohm. */
static void what_is_shared_adds_up_and_what_is_not_does_so_in_squares(void **state)
{
    (void)state;
    struct world *world = world_open();
    assert_near(uncertainty(work_out(world, "10 * (1000 ± 0.196) ohm")), 1, 1e-12);
    struct text one = TEXT("(1000 ± 0.196) ohm"), ten = one;
    for (int i = 1; i < 10; i++)
        ten = text_fill(&world->arena, "{} + {}", ten, one);
    double apart = uncertainty(work_out(world, text_terminated(&world->arena, ten)));
    assert_near(apart, 0.32, 0.005);
    assert_near(apart, sqrt(10) * 0.1, 1e-12);
    world_close(world);
}

static void one_counter_keeps_two_expressions_apart(void **state)
{
    (void)state;
    struct world *world = world_open();
    unsigned count = 0;
    world->scope.written_errors = &count;
    struct value one = work_out(world, "3 ± 1 bar");
    struct value other = work_out(world, "3 ± 1 bar");
    assert_int_equal(count, 2);
    assert_int_equal(one.items[0].number.gradient->terms[0].source, WRITTEN_ERROR_SOURCES);
    assert_int_equal(other.items[0].number.gradient->terms[0].source,
                     WRITTEN_ERROR_SOURCES + 1);
    world_close(world);
}

/* Where all are equal the deviation is 0, and no small change of one moves it in one direction. */
static void equal_readings_claim_no_slope_of_their_deviation(void **state)
{
    (void)state;
    struct world *world = world_open();
    for (unsigned i = 0; i < 4; i++)
        world->scalars[SYMBOL_dry][i].number =
            (struct measured){8e5, error_of(&world->arena, i, 0.5)};
    struct value value = work_out(world, "stdev(dry)");
    assert_false(value.items[0].is_missing);
    assert_near(value.items[0].number.value, 0, 0);
    assert_null(value.items[0].number.gradient);
    world_close(world);
}

/* A result that rested on an unsure comparison is unsure wherever its name is used. */
static void what_the_caller_is_unsure_of_stays_unsure(void **state)
{
    (void)state;
    struct world *world = world_open();
    world->scalars[SYMBOL_dry][0].is_unsure = true;
    assert_true(work_out(world, "dry[weak or dry > 1 bar]").items[0].is_unsure);
    assert_false(work_out(world, "dry[weak or dry > 1 bar]").items[1].is_unsure);
    assert_true(is_unsure(world, "dry[1] + 1 bar"));
    assert_true(is_unsure(world, "max(dry)"));
    world->scalars[SYMBOL_dry][2].is_unsure = true;
    struct value picked = work_out(world, "dry[weak]"); /* the third and the fourth, surely */
    assert_true(picked.items[2].is_unsure);
    assert_false(picked.items[3].is_unsure);
    assert_false(is_unsure(world, "dry[2] + 1 bar"));
    world_close(world);
}

static struct value nothing_held(void *self, unsigned symbol, struct arena *arena)
{
    (void)arena;
    return (struct value){.type = ((struct world *)self)->types[symbol]};
}

static void what_the_caller_does_not_hold_is_missing_by_name(void **state)
{
    (void)state;
    struct world *world = world_open();
    world->around.value_of = nothing_held;
    struct value value = work_out(world, "dry * 2");
    assert_int_equal(value.count, 4);
    for (size_t i = 0; i < 4; i++)
        assert_true(value.items[i].is_missing);
    assert_text(value.items[1].missing_name, "dry[2]");
    assert_missing(world, "ratio + 1", "ratio");
    world_close(world);
}

/* No `each` runs, or it stands at a position this machine does not have. */
static void outside_every_position_there_is_no_here(void **state)
{
    (void)state;
    struct world *world = world_open();
    world_enter(world, 3);
    assert_near(number_of(world, "dry[cylinder]"), 7e5, 1e-9);
    world->here[CYLINDER] = 4;
    assert_missing(world, "dry[cylinder]", "dry[cylinder]");
    assert_missing(world, "cylinder == '4'", "cylinder");
    assert_missing(world, "scatter(dry[cylinder])", "dry[cylinder]");
    world->around.here = NULL;
    assert_missing(world, "dry[cylinder]", "dry[cylinder]");
    assert_missing(world, "cylinder == '4'", "cylinder");
    world_close(world);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(scalars_spread_over_vectors),
        cmocka_unit_test(a_missing_reading_stays_missing_and_keeps_its_name),
        cmocka_unit_test(what_has_no_result_says_why),
        cmocka_unit_test(and_and_or_know_missing),
        cmocka_unit_test(what_is_unsure_stays_so_unless_the_other_decides),
        cmocka_unit_test(a_comparison_within_its_uncertainty_is_unsure),
        cmocka_unit_test(what_rests_on_an_unsure_truth_is_unsure),
        cmocka_unit_test(what_is_too_uncertain_to_write_down_is_missing),
        cmocka_unit_test(brackets_pick_positions),
        cmocka_unit_test(the_name_of_the_index_is_the_position_here),
        cmocka_unit_test(functions_pass_over_missing_positions),
        cmocka_unit_test(of_positions_that_are_all_missing_little_is_left),
        cmocka_unit_test(functions_of_several_values_go_position_by_position),
        cmocka_unit_test(where_lists_as_people_do),
        cmocka_unit_test(beside_wants_two_neighbours),
        cmocka_unit_test(previous_follows_the_firing_order),
        cmocka_unit_test(one_that_stands_out_is_told_from_the_family),
        cmocka_unit_test(one_that_is_apart_by_less_than_it_is_uncertain_by_is_unsure),
        cmocka_unit_test(a_value_is_anything_if_some_position_is_there),
        cmocka_unit_test(what_is_uncertain_by_too_much_is_too_large),
        cmocka_unit_test(a_comparison_of_tenths_is_as_it_was_typed),
        cmocka_unit_test(given_asks_and_does_not_pass_on),
        cmocka_unit_test(texts_compare_whole),
        cmocka_unit_test(comparisons_know_their_bounds),
        cmocka_unit_test(pressure_falls_with_altitude_as_its_slope_says),
        cmocka_unit_test(temperatures_subtract_to_differences),
        cmocka_unit_test(timers_tell_their_seconds),
        cmocka_unit_test(scatter_is_of_the_repeats),
        cmocka_unit_test(a_shared_error_cancels_where_it_should),
        cmocka_unit_test(equal_readings_differ_by_what_the_scale_hides),
        cmocka_unit_test(slopes_agree_with_small_changes),
        cmocka_unit_test(every_plus_minus_is_a_source_of_its_own),
        cmocka_unit_test(what_is_shared_adds_up_and_what_is_not_does_so_in_squares),
        cmocka_unit_test(one_counter_keeps_two_expressions_apart),
        cmocka_unit_test(equal_readings_claim_no_slope_of_their_deviation),
        cmocka_unit_test(what_the_caller_is_unsure_of_stays_unsure),
        cmocka_unit_test(what_the_caller_does_not_hold_is_missing_by_name),
        cmocka_unit_test(outside_every_position_there_is_no_here),
    };
    return cmocka_run_group_tests_name("expression/evaluator", tests, NULL, NULL);
}

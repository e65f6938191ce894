#include "world.h"

#include <math.h>
#include <stdio.h>

/* --- means and deviations: NIST StRD, through the language ------------------------------------ */

enum { SAMPLES_MAX = 1001 };

struct sample {
    size_t count;
    struct scalar items[SAMPLES_MAX];
    struct text labels[SAMPLES_MAX];
};

static bool sample_find(void *self, struct text name, struct meaning *meaning)
{
    (void)self;
    *meaning = (struct meaning){.kind = MEANING_VALUE, .type = {.index = 0}};
    return text_equal(name, TEXT("y"));
}

static struct value sample_value_of(void *self, unsigned symbol, struct arena *arena)
{
    struct sample *sample = self;
    (void)symbol, (void)arena;
    return (struct value){{.index = 0}, sample->count, sample->items};
}

static double work_out_sample(struct sample *sample, const char *written)
{
    struct arena arena = arena_open(16 * MEBIBYTE, world_stop);
    struct diagnostics found;
    diagnostics_begin(&found, &arena);
    struct scope scope = {.self = sample, .find = sample_find};
    struct labels labels = {sample->count, sample->labels, NULL};
    struct surroundings around = {
        .self = sample, .value_of = sample_value_of, .indexes = &labels, .index_count = 1};
    const struct expression *expression =
        expression_compile(text_from(written), (struct place){0}, &scope, &found, &arena);
    assert_non_null(expression);
    struct value value = expression_evaluate(expression, &around, &arena);
    assert_false(value.items[0].is_missing);
    double number = value.items[0].number.value;
    arena_close(&arena);
    return number;
}

static void sample_read(struct sample *sample, const char *path)
{
    FILE *file = fopen(path, "r");
    char line[64];
    assert_non_null(file);
    sample->count = 0;
    assert_non_null(fgets(line, sizeof line, file));
    assert_string_equal(line, "y\n");
    while (fgets(line, sizeof line, file) != NULL)
        sample->items[sample->count++].number.value = strtod(line, NULL);
    (void)fclose(file);
}

/* The digits that agree: the log relative error of McCullough (1998), at most 15. */
static double digits_right(double got, double certified)
{
    double error = fabs(got - certified) / fabs(certified);
    return error == 0 ? 15 : fmin(15, -log10(error));
}

static void certify(struct sample *sample, double mean, double deviation, double mean_digits,
                    double deviation_digits)
{
    double digits = digits_right(work_out_sample(sample, "mean(y)"), mean);
    if (digits < mean_digits)
        fail_msg("the mean has %.1f digits right", digits);
    digits = digits_right(work_out_sample(sample, "stdev(y)"), deviation);
    if (digits < deviation_digits)
        fail_msg("the standard deviation has %.1f digits right", digits);
}

static struct sample sample;

/* NIST Statistical Reference Datasets, univariate: certified to 15 digits. */
static void certified_means_and_deviations_come_out(void **state)
{
    (void)state;
    sample_read(&sample, "tests/expression/strd/lew.csv");
    assert_int_equal(sample.count, 200);
    certify(&sample, -177.435000000000, 277.332168044316, 14, 14);
    sample_read(&sample, "tests/expression/strd/lottery.csv");
    assert_int_equal(sample.count, 218);
    certify(&sample, 518.958715596330, 291.699727470969, 14, 14);
    sample_read(&sample, "tests/expression/strd/mavro.csv");
    assert_int_equal(sample.count, 50);
    certify(&sample, 2.00185600000000, 0.000429123454003053, 14, 13);
    sample_read(&sample, "tests/expression/strd/michelso.csv");
    assert_int_equal(sample.count, 100);
    certify(&sample, 299.852400000000, 0.0790105478190518, 14, 13);
}

/* NumAcc2 to 4: one value, then 500 times one a tenth below and one a tenth above. */
static void make_accuracy_sample(double middle, double below, double above)
{
    sample.count = 1001;
    sample.items[0].number.value = middle;
    for (size_t i = 1; i < sample.count; i++)
        sample.items[i].number.value = i % 2 == 1 ? below : above;
}

/* NIST StRD, NumAcc1 to NumAcc4.  A double holds 10000000.2 to nine digits behind the point, so no
 * method that gets doubles can have more than about 8.3 digits of NumAcc4's deviation. */
static void digits_survive_large_numbers_close_together(void **state)
{
    (void)state;
    sample.count = 3;
    sample.items[0].number.value = 10000001;
    sample.items[1].number.value = 10000003;
    sample.items[2].number.value = 10000002;
    certify(&sample, 10000002, 1, 15, 15);
    make_accuracy_sample(1.2, 1.1, 1.3);
    certify(&sample, 1.2, 0.1, 14, 13);
    make_accuracy_sample(1000000.2, 1000000.1, 1000000.3);
    certify(&sample, 1000000.2, 0.1, 14, 9.4);
    make_accuracy_sample(10000000.2, 10000000.1, 10000000.3);
    certify(&sample, 10000000.2, 0.1, 14, 8.2);
}

/* By hand: plain sums of doubles give 0, 0 and 1 here; and of 5e15, next to which the doubles lie one
 * apart, no double is the mean of two neighbours. */
static void what_a_large_sum_swallows_is_kept_aside(void **state)
{
    (void)state;
    static const double sums[][4] = {
        {1e16, 1, 1, -1e16}, {1, 1e100, 1, -1e100}, {1, 1e16, -1e16, 1}};
    struct world *world = world_open();
    struct scalar *dry = world->scalars[SYMBOL_dry];
    for (size_t s = 0; s < sizeof sums / sizeof sums[0]; s++) {
        for (size_t i = 0; i < 4; i++)
            dry[i].number.value = sums[s][i];
        assert_near(number_of(world, "sum(dry)"), 2, 0);
        assert_near(number_of(world, "mean(dry)"), 0.5, 0);
    }
    for (size_t i = 0; i < 4; i++)
        dry[i].number.value = 5e15 + (double)(i % 2);
    assert_near(number_of(world, "stdev(dry)"), sqrt(1.0 / 3), 1e-15);
    world_close(world);
}

/* --- the atmosphere --------------------------------------------------------------------------- */

/* U.S. Standard Atmosphere, 1976 (NOAA-S/T 76-1562), table by geometric altitude: Pa as printed.
 * The table cuts digits off instead of rounding, so one unit of the last digit is allowed upwards;
 * its row for 50 m is known to be wrong in print and left out. */
static const struct {
    double altitude, pressure, last_digit;
} atmosphere[] = {
    {-2500, 1.35205e5, 1},
    {0, 1.01325e5, 1},
    {500, 9.5461e4, 1},
    {550, 9.4890e4, 1},
    {850, 9.1523e4, 1},
    {1000, 8.98763e4, 0.1},
    {2000, 7.95014e4, 0.1},
    {2500, 7.4691e4, 1},
    {11000, 2.26999e4, 0.1},
    /* from memory: */ {1500, 8.4559e4, 1},
    {3000, 7.0121e4, 1},
};

static void the_standard_atmosphere_agrees_with_its_table(void **state)
{
    (void)state;
    struct world *world = world_open();
    for (size_t i = 0; i < sizeof atmosphere / sizeof atmosphere[0]; i++) {
        struct text written =
            text_fill(&world->arena, "standard_pressure({} m)",
                      text_number(&world->arena, (long long)atmosphere[i].altitude));
        double got = number_of(world, text_terminated(&world->arena, written));
        double over = got - atmosphere[i].pressure;
        if (over < -0.5 * atmosphere[i].last_digit || over > 1.0 * atmosphere[i].last_digit)
            fail_msg("%g m: %.2f Pa", atmosphere[i].altitude, got);
    }
    world_close(world);
}

/* The layer ends at 11 000 m geopotential, which is 11 019 m above the sea, at 226.32 hPa (U.S. Standard
 * Atmosphere, 1976; from memory). */
static void the_layer_ends_where_the_table_says(void **state)
{
    (void)state;
    struct world *world = world_open();
    assert_near(number_of(world, "standard_pressure(11019 m)"), 22632, 3);
    assert_missing(world, "standard_pressure(11020 m)",
                   "an altitude from -5000 m to 11 000 m in standard_pressure(11020 m)");
    world_close(world);
}

/* --- stars --------------------------------------------------------------------------------------- */

static void a_star_visits_every_fastener_once(void **state)
{
    (void)state;
    unsigned order[STAR_MAX];
    for (unsigned count = 1; count <= STAR_MAX; count++) {
        unsigned long long seen = 0;
        assert_true(star_order(count, order));
        for (unsigned i = 0; i < count; i++) {
            assert_in_range(order[i], 1, count);
            seen |= 1ULL << (order[i] - 1);
        }
        assert_true(seen == (count == 64 ? ~0ULL : (1ULL << count) - 1));
    }
    assert_false(star_order(0, order));
    assert_false(star_order(STAR_MAX + 1, order));
}

static void stars_are_those_of_the_trade(void **state)
{
    (void)state;
    struct world *world = world_open();
    /* common practice for wheels with four, five and six studs */
    assert_text(work_out(world, "star(4)").items[0].text, "1-3-2-4");
    assert_text(work_out(world, "star(5)").items[0].text, "1-3-5-2-4");
    assert_text(work_out(world, "star(6)").items[0].text, "1-4-2-5-3-6");
    assert_text(work_out(world, "star(8)").items[0].text, "1-5-3-7-2-6-4-8");
    assert_text(work_out(world, "star(1)").items[0].text, "1");
    world_close(world);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(certified_means_and_deviations_come_out),
        cmocka_unit_test(digits_survive_large_numbers_close_together),
        cmocka_unit_test(what_a_large_sum_swallows_is_kept_aside),
        cmocka_unit_test(the_standard_atmosphere_agrees_with_its_table),
        cmocka_unit_test(the_layer_ends_where_the_table_says),
        cmocka_unit_test(a_star_visits_every_fastener_once),
        cmocka_unit_test(stars_are_those_of_the_trade),
    };
    return cmocka_run_group_tests_name("expression/formulas", tests, NULL, NULL);
}

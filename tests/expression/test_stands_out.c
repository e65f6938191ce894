/*
 * Which positions stand out, by themselves and by how often chance alone makes one do so.
 */
#include "world.h"

#include <math.h>

enum { LARGEST = 16 };

/* `dry` of as many cylinders as an engine may have. */
struct family {
    struct world *world;
    size_t count;
    struct scalar dry[LARGEST];
};

static struct family family;

static struct value family_value_of(void *self, unsigned symbol, struct arena *arena)
{
    if (symbol != SYMBOL_dry)
        return world_value_of(self, symbol, arena);
    return (struct value){family.world->types[symbol], family.count, family.dry};
}

static void family_open(size_t count, const double *bars)
{
    static const char *const labels[] = {"1", "2",  "3",  "4",  "5",  "6",  "7",  "8",
                                         "9", "10", "11", "12", "13", "14", "15", "16"};
    static struct text texts[LARGEST];
    family = (struct family){.world = world_open(), .count = count};
    for (size_t i = 0; i < count; i++) {
        texts[i] = text_from(labels[i]);
        family.dry[i].number.value = bars[i] * 1e5;
    }
    family.world->indexes[CYLINDER] = (struct labels){(unsigned)count, texts, NULL};
    family.world->around.value_of = family_value_of;
}

static void assert_where(const char *written, const char *expected)
{
    assert_text(work_out(family.world, written).items[0].text, expected);
}

/* Each read on a scale of its own error, by steps of so much. */
static void read_by_steps(double bar)
{
    for (size_t i = 0; i < family.count; i++) {
        struct error_term term = {.source = (unsigned)i,
                                  .slope = rectangular_uncertainty(bar * 1e5 / 2),
                                  .origin = ERROR_RESOLUTION};
        family.dry[i].number.gradient = gradient_of(&family.world->arena, &term, 1);
    }
}

static void one_weak_cylinder_of_six_stands_out(void **state)
{
    (void)state;
    family_open(6, (double[]){11.2, 11.4, 8.1, 11.3, 11.1, 11.5});
    assert_where("where(stands_out(dry))", "3");
    assert_where("where(stands_out(2 * dry - 1 bar))", "3");
    assert_near(number_of(family.world, "count(stands_out(dry))"), 1, 0);
    world_close(family.world);
}

/* NIST/SEMATECH e-Handbook 1.3.5.17.1: eight results of a mass spectrometer. */
static void the_spectrometer_of_the_e_handbook(void **state)
{
    (void)state;
    family_open(8, (double[]){199.31, 199.53, 200.19, 200.82, 201.92, 201.95, 202.18, 245.57});
    assert_where("where(stands_out(dry))", "8");
    world_close(family.world);
}

static void two_beside_each_other_do_not_hide(void **state)
{
    (void)state;
    family_open(8, (double[]){11.2, 11.4, 8.1, 8.3, 11.3, 11.1, 11.5, 11.2});
    assert_where("where(stands_out(dry))", "3 and 4");
    world_close(family.world);
}

static void more_than_a_quarter_are_the_family(void **state)
{
    (void)state;
    family_open(6, (double[]){11.2, 11.25, 8.1, 8.2, 11.3, 11.22});
    assert_where("where(stands_out(dry))", "none");
    world_close(family.world);
}

static void of_three_none_can_be_told(void **state)
{
    (void)state;
    family_open(3, (double[]){11, 11, 5});
    assert_where("where(stands_out(dry))", "none");
    assert_false(truth_of(family.world, "any(stands_out(dry))"));
    assert_missing(family.world, "stands_out(dry)", "a fourth value in stands_out(dry)");
    world_close(family.world);
}

/* At its place it is missing; the others are a family of five. */
static void what_was_not_read_is_missing(void **state)
{
    (void)state;
    family_open(6, (double[]){0, 11.2, 11.4, 8.1, 11.3, 11.1});
    family.dry[0] = (struct scalar){.is_missing = true, .missing_name = TEXT("dry[1]")};
    struct value value = work_out(family.world, "stands_out(dry)");
    assert_true(value.items[0].is_missing);
    assert_text(value.items[0].missing_name, "dry[1]");
    assert_where("where(stands_out(dry))", "4");
    for (size_t i = 0; i < 6; i++)
        family.dry[i].is_missing = true;
    assert_where("where(stands_out(dry))", "none");
    world_close(family.world);
}

/* Five agree to the step of the scale and one is the next step: it may be the same. */
static void a_step_of_the_scale_does_not_stand_out(void **state)
{
    (void)state;
    const char *where = "where(stands_out(dry))";
    family_open(6, (double[]){11, 11, 11, 11, 11, 11.1});
    assert_where(where, "6"); /* exact, as far as anybody said */
    read_by_steps(0.1);
    assert_where(where, "none");
    assert_where("where(stands_out(dry / 7 bar))", "none");
    read_by_steps(0.09);
    assert_where(where, "6");
    read_by_steps(0.1);
    family.dry[5].number.value = 11.2e5;
    assert_where(where, "6");
    world_close(family.world);
}

/* One that is perhaps not among them makes all unsure: without it the scatter is another. */
static void what_is_perhaps_not_among_them_makes_all_unsure(void **state)
{
    (void)state;
    family_open(6, (double[]){11.2, 11.4, 8.1, 11.3, 11.1, 11.5});
    for (unsigned i = 0; i < 6; i++) {
        struct error_term term = {.source = i, .slope = 0.5e5};
        family.dry[i].number.gradient = gradient_of(&family.world->arena, &term, 1);
    }
    struct value value = work_out(family.world, "stands_out(dry)");
    for (size_t i = 0; i < 6; i++)
        assert_false(value.items[i].is_unsure);
    value = work_out(family.world, "stands_out(dry[dry < 11.45 bar])");
    for (size_t i = 0; i < 6; i++)
        assert_true(value.items[i].is_unsure);
    world_close(family.world);
}

static unsigned long long seed = 19830525;

/* xorshift (Marsaglia 2003), then Box and Muller (1958). */
static double uniform(void)
{
    seed ^= seed << 13;
    seed ^= seed >> 7;
    seed ^= seed << 17;
    return ((double)(seed >> 12) + 0.5) / 4503599627370496.0;
}

static double normal(void)
{
    return sqrt(-2 * log(uniform())) * cos(2 * acos(-1.0) * uniform());
}

/* How often the first stands out, or any if it lies off by nothing; `off` and the step of the scale
 * (0: none) in standard deviations. */
static double share(size_t count, double off, double step, size_t draws)
{
    double found = 0;
    family_open(count, (double[LARGEST]){0});
    const struct expression *expression = world_compile(family.world, "stands_out(dry)");
    read_by_steps(0.1 * step);
    for (size_t draw = 0; draw < draws; draw++) {
        struct arena_mark mark = arena_mark(&family.world->arena);
        for (size_t i = 0; i < count; i++) {
            double by = normal() - (i == 0 ? off : 0);
            if (step > 0)
                by = step * round(by / step);
            family.dry[i].number.value = 11e5 + 1e4 * by;
        }
        struct value value =
            expression_evaluate(expression, &family.world->around, &family.world->arena);
        bool is_found = value.items[0].truth;
        for (size_t i = 1; i < count && off == 0; i++)
            is_found = is_found || value.items[i].truth;
        found += is_found;
        arena_rewind(&family.world->arena, mark);
    }
    world_close(family.world);
    return 100 * found / (double)draws;
}

/* The table in docs/expressions.md, in percent. */
static void it_finds_as_often_as_the_document_says(void **state)
{
    (void)state;
    static const struct {
        size_t count;
        double chance, five, ten;
    } rows[] = {
        {4, 5, 21, 60}, {5, 5, 38, 91}, {6, 5, 51, 99}, {8, 7.5, 71, 100}, {12, 8, 83, 100}};
    const size_t draws = 15000; /* a standard error of 0.4 at the most */
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        assert_near(share(rows[i].count, 0, 0, draws), rows[i].chance, 1);
        assert_near(share(rows[i].count, 5, 0, draws), rows[i].five, 1.5);
        assert_near(share(rows[i].count, 10, 0, draws), rows[i].ten, 1.5);
    }
}

/* The test by itself would find one in up to 47 % of these. */
static void a_coarse_scale_makes_no_more_of_them(void **state)
{
    (void)state;
    static const double steps[] = {0.5, 1, 2, 4};
    static const size_t counts[] = {4, 5, 6, 8, 12};
    for (size_t i = 0; i < 5; i++)
        for (size_t s = 0; s < 4; s++)
            assert_true(share(counts[i], 0, steps[s], 5000) < 8.5);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(one_weak_cylinder_of_six_stands_out),
        cmocka_unit_test(the_spectrometer_of_the_e_handbook),
        cmocka_unit_test(two_beside_each_other_do_not_hide),
        cmocka_unit_test(more_than_a_quarter_are_the_family),
        cmocka_unit_test(of_three_none_can_be_told),
        cmocka_unit_test(what_was_not_read_is_missing),
        cmocka_unit_test(a_step_of_the_scale_does_not_stand_out),
        cmocka_unit_test(what_is_perhaps_not_among_them_makes_all_unsure),
        cmocka_unit_test(it_finds_as_often_as_the_document_says),
        cmocka_unit_test(a_coarse_scale_makes_no_more_of_them),
    };
    return cmocka_run_group_tests_name("expression/stands_out", tests, NULL, NULL);
}

/*
 * The worked examples of JCGM 100:2008, annex H, whose inputs hang together, put through expressions
 * as a procedure would write them.  Figures as printed there.
 */
#include "measure/verdict.h"
#include "world.h"

#include <math.h>

enum { NAMES_MOST = 8 };

/* Names that are worth what a test gives them, all plain numbers. */
struct bench {
    struct arena arena;
    struct diagnostics found;
    struct source source;
    size_t count;
    const char *names[NAMES_MOST];
    struct measured values[NAMES_MOST];
};

static bool bench_find(void *self, struct text name, struct meaning *meaning)
{
    struct bench *bench = self;
    for (size_t i = 0; i < bench->count; i++)
        if (text_equal(name, text_from(bench->names[i]))) {
            *meaning = (struct meaning){.kind = MEANING_VALUE,
                                        .symbol = (unsigned)i,
                                        .type = {.index = INDEX_NONE},
                                        .index = INDEX_NONE};
            return true;
        }
    return false;
}

static struct text bench_nearest(void *self, struct text name)
{
    (void)self, (void)name;
    return TEXT("");
}

static struct value bench_value_of(void *self, unsigned symbol, struct arena *arena)
{
    struct bench *bench = self;
    struct value value =
        value_number(arena, bench->values[symbol].value, (struct kind){{0}, 0});
    value.items[0].number = bench->values[symbol];
    return value;
}

static struct bench bench;

static void bench_open(void)
{
    bench = (struct bench){.arena = arena_open(MEBIBYTE, world_stop)};
    diagnostics_begin(&bench.found, &bench.arena);
}

static void give(const char *name, double value, const struct gradient *gradient)
{
    bench.names[bench.count] = name;
    bench.values[bench.count++] = (struct measured){value, gradient};
}

/* An error of its own, numbered by the order of giving. */
static void give_own(const char *name, double value, double uncertainty, double freedom)
{
    unsigned number = (unsigned)bench.count;
    struct error_term term = {
        .source = number, .slope = uncertainty, .freedom = freedom, .pool = number};
    give(name, value, gradient_of(&bench.arena, &term, 1));
}

static struct measured worked_out(const char *written)
{
    struct scope scope = {.self = &bench, .find = bench_find, .nearest = bench_nearest};
    struct surroundings around = {.self = &bench, .value_of = bench_value_of};
    bench.source = (struct source){TEXT("test.yaml"), text_from(written)};
    struct place place = {&bench.source, 1, 1, 1, 1};
    const struct expression *expression =
        expression_compile(text_from(written), place, &scope, &bench.found, &bench.arena);
    assert_non_null(expression);
    struct value value = expression_evaluate(expression, &around, &bench.arena);
    assert_false(value.items[0].is_missing);
    return value.items[0].number;
}

static double u(const char *written)
{
    return gradient_combined(worked_out(written).gradient);
}

/* By u2(a + b) - u2(a - b) = 4 r u(a) u(b), each brought to u = 1 first. */
static double correlation(const char *a, const char *b)
{
    struct measured x = worked_out(a), y = worked_out(b);
    double u_x = gradient_combined(x.gradient), u_y = gradient_combined(y.gradient);
    const struct gradient *sum =
        gradient_combine(&bench.arena, x.gradient, 1 / u_x, y.gradient, 1 / u_y);
    double u_sum = gradient_combined(sum);
    return u_sum * u_sum / 2 - 1;
}

/* H.1: the length of an end gauge, nominally 50 mm, in nm.  nu 16.7 is cut to 16 there. */
static void annex_H_1_an_end_gauge(void **state)
{
    (void)state;
    bench_open();
    give_own("standard", 50000623, 25, 18);
    give_own("difference", 215, 9.7, 25.6);
    give_own("expansion", 11.5e-6, rectangular_uncertainty(2e-6), 0);
    give_own("warmer", -0.1, 0.41, 0);
    give_own("expansion_apart", 0, rectangular_uncertainty(1e-6), 50);
    give_own("warmer_apart", 0, rectangular_uncertainty(0.05), 2);
    const char *length = "standard + difference"
                         " - standard * (expansion_apart * warmer + expansion * warmer_apart)";
    struct measured got = worked_out(length);
    assert_near(got.value, 50000838, 0.5);
    assert_near(gradient_combined(got.gradient), 32, 0.5);
    assert_near(pow(gradient_combined(got.gradient), 2), 1002, 1.5);
    assert_near(floor(gradient_freedom(got.gradient)), 16, 0);
    assert_near(student_quantile(0.995, 16) * gradient_combined(got.gradient), 92.5, 0.55);
    /* the contributions, one by one */
    assert_near(u("50000623 * expansion_apart * -0.1"), 2.9, 0.05);
    assert_near(u("50000623 * 11.5 * warmer_apart / 1000000"), 16.6, 0.05);
    assert_near(u("50000623 * expansion * 0"), 0, 0);
    arena_close(&bench.arena);
}

/* Means of readings taken together: each set of readings is a source, its slope what it did to the
 * mean, (x - mean) / sqrt(n (n - 1)); covariances (5.2.3, eq. 17) then come out of themselves. */
static void give_together(const char *name, const double *readings, size_t count)
{
    struct error_term terms[16];
    double mean = 0;
    for (size_t i = 0; i < count; i++)
        mean += readings[i] / (double)count;
    for (size_t i = 0; i < count; i++)
        terms[i] = (struct error_term){.source = (unsigned)i,
                                       .slope = (readings[i] - mean) /
                                                sqrt((double)(count * (count - 1))),
                                       .freedom = (double)(count - 1)};
    give(name, mean, gradient_of(&bench.arena, terms, count));
}

/* H.2: resistance and reactance from five sets of voltage, current and phase. */
static void annex_H_2_resistance_and_reactance(void **state)
{
    (void)state;
    bench_open();
    static const double voltage[] = {5.007, 4.994, 5.005, 4.990, 4.999};
    static const double current[] = {19.663e-3, 19.639e-3, 19.640e-3, 19.685e-3, 19.678e-3};
    static const double phase[] = {1.0456, 1.0438, 1.0468, 1.0428, 1.0433};
    give_together("voltage", voltage, 5);
    give_together("current", current, 5);
    give_together("phase", phase, 5);
    assert_near(u("voltage"), 0.0032, 0.00005);
    assert_near(u("current"), 0.0095e-3, 0.00005e-3);
    assert_near(u("phase"), 0.00075, 0.000005);
    assert_near(correlation("voltage", "current"), -0.36, 0.006); /* -0.3553 with all digits */
    assert_near(correlation("voltage", "phase"), 0.86, 0.005);
    assert_near(correlation("current", "phase"), -0.65, 0.005);
    /* the language has no cosine: the gradient of one goes in by hand */
    struct measured angle = worked_out("phase");
    give("cosine", cos(angle.value),
         gradient_combine(&bench.arena, angle.gradient, -sin(angle.value), NULL, 0));
    give("sine", sin(angle.value),
         gradient_combine(&bench.arena, angle.gradient, cos(angle.value), NULL, 0));
    assert_near(worked_out("voltage / current * cosine").value, 127.732, 0.0005);
    assert_near(u("voltage / current * cosine"), 0.071, 0.0005);
    assert_near(worked_out("voltage / current * sine").value, 219.847, 0.0005);
    assert_near(u("voltage / current * sine"), 0.295, 0.00065); /* 0.2956 with all digits */
    assert_near(worked_out("voltage / current").value, 254.260, 0.0005);
    assert_near(u("voltage / current"), 0.236, 0.0005);
    assert_near(correlation("voltage / current * cosine", "voltage / current * sine"), -0.588,
                0.0011);
    assert_near(correlation("voltage / current * cosine", "voltage / current"), -0.485, 0.001);
    assert_near(correlation("voltage / current * sine", "voltage / current"), 0.993, 0.0005);
    /* five sets know five sets' worth, however they are put together */
    assert_near(gradient_freedom(worked_out("voltage / current * sine").gradient), 4, 1e-9);
    /* without the correlations it would be 0.1945, 0.2009 and 0.2041 */
    assert_true(fabs(u("voltage / current * cosine") - 0.1945) > 0.1);
    arena_close(&bench.arena);
}

/* H.3: a straight line through eleven corrections of a thermometer, b = y1 + y2 (t - 20). */
static void annex_H_3_a_line_through_corrections(void **state)
{
    (void)state;
    bench_open();
    enum { POINTS = 11 };
    static const double t[] = {21.521, 22.012, 22.512, 23.003, 23.507, 23.999,
                               24.513, 25.002, 25.503, 26.010, 26.511};
    static const double b[] = {-0.171, -0.169, -0.166, -0.159, -0.164, -0.165,
                               -0.156, -0.157, -0.159, -0.161, -0.160};
    double mean = 0, squares = 0, level = 0, slope = 0, rests = 0;
    for (size_t i = 0; i < POINTS; i++)
        mean += (t[i] - 20) / POINTS;
    for (size_t i = 0; i < POINTS; i++)
        squares += pow(t[i] - 20 - mean, 2);
    for (size_t i = 0; i < POINTS; i++) {
        level += b[i] / POINTS;
        slope += (t[i] - 20 - mean) * b[i] / squares;
    }
    for (size_t i = 0; i < POINTS; i++)
        rests += pow(b[i] - level - slope * (t[i] - 20 - mean), 2);
    double s = sqrt(rests / (POINTS - 2));
    assert_near(s, 0.0035, 0.00005);
    struct error_term of_slope[POINTS], of_start[POINTS];
    for (unsigned i = 0; i < POINTS; i++) {
        double weight = (t[i] - 20 - mean) / squares;
        of_slope[i] =
            (struct error_term){.source = i, .slope = s * weight, .freedom = POINTS - 2};
        of_start[i] = of_slope[i];
        of_start[i].slope = s * (1.0 / POINTS - weight * mean);
    }
    give("start", level - slope * mean, gradient_of(&bench.arena, of_start, POINTS));
    give("slope", slope, gradient_of(&bench.arena, of_slope, POINTS));
    assert_near(worked_out("start").value, -0.1712, 0.00005);
    assert_near(u("start"), 0.0029, 0.00005);
    assert_near(worked_out("slope").value, 0.00218, 0.000005);
    assert_near(u("slope"), 0.00067, 0.000005);
    assert_near(correlation("start", "slope"), -0.930, 0.0005);
    assert_near(worked_out("start + slope * (30 - 20)").value, -0.1494, 0.00005);
    assert_near(u("start + slope * (30 - 20)"), 0.0041, 0.00005);
    assert_near(gradient_freedom(worked_out("start + slope * 10").gradient), 9, 1e-9);
    arena_close(&bench.arena);
}

/* NIST TN 1900 (2015), example E13, and EA-4/02, example S2 (as test data of public uncertainty
 * libraries have them): an expansion coefficient; a weight of 10 kg. */
static void an_expansion_coefficient_and_a_weight(void **state)
{
    (void)state;
    bench_open();
    give_own("before", 1.4999, 0.0001, 0);
    give_own("cold", 288.15, 0.02, 0);
    give_own("after", 1.5021, 0.0002, 0);
    give_own("hot", 373.10, 0.05, 0);
    const char *coefficient = "(after - before) / (before * (hot - cold))";
    assert_near(worked_out(coefficient).value, 1.7266e-5, 0.00005e-5);
    assert_near(u(coefficient), 1.76e-6, 0.005e-6);
    bench.count = 0;
    give_own("standard", 10000.005, 22.5, 0);
    give_own("drift", 0, 8.66, 0);
    give_own("comparator", 0, 14.4, 0);
    give_own("eccentric", 0, 5.77, 0);
    give_own("buoyancy", 0, 5.77, 0);
    assert_near(u("standard + drift + comparator + eccentric + buoyancy"), 29.2, 0.07);
    arena_close(&bench.arena);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(annex_H_1_an_end_gauge),
        cmocka_unit_test(annex_H_2_resistance_and_reactance),
        cmocka_unit_test(annex_H_3_a_line_through_corrections),
        cmocka_unit_test(an_expansion_coefficient_and_a_weight),
    };
    return cmocka_run_group_tests_name("expression/jcgm_100", tests, NULL, NULL);
}

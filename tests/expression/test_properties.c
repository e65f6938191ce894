/* What must hold for any expression and any readings. */
#include "world.h"

#include <math.h>

/* The generator of Marsaglia (2003), xorshift; a fixed seed makes every run the same. */
static unsigned random_below(unsigned long long *seed, unsigned limit)
{
    *seed ^= *seed << 13;
    *seed ^= *seed >> 7;
    *seed ^= *seed << 17;
    return (unsigned)(*seed >> 33) % limit;
}

static const char *const pieces[] = {
    "(",
    ")",
    "[",
    "]",
    ",",
    "+",
    "-",
    "*",
    "/",
    "^",
    "<",
    "<=",
    "==",
    "!=",
    "and",
    "or",
    "not",
    "±",
    "+/-",
    "3",
    "1.5",
    "7/16",
    "2",
    "bar",
    "°C",
    "%",
    "N.m",
    "mm",
    "dry",
    "wet",
    "weak",
    "tyre",
    "warm",
    "level",
    "coolant",
    "absent",
    "ratio",
    "is_cold",
    "'x'",
    "\"between the marks\"",
    "soak",
    "wheel",
    "cylinder",
    "min",
    "mean",
    "where",
    "any",
    "count",
    "round",
    "scatter",
    "previous",
    "given",
    "size",
    "elapsed",
    "star",
    "sqrt",
    "stdev",
    "abs",
    "beside",
    "late",
    "median",
    "é",
    "#",
    "=",
    "1,5",
    "in",
    "standard_pressure",
    "uncertainty",
    "stands_out",
};

enum { PIECES = sizeof pieces / sizeof pieces[0] };

/* Sound or not: an expression, or at least one finding inside the text. */
static bool try_soup(struct world *world, const char *written)
{
    diagnostics_begin(&world->found, &world->arena);
    const struct expression *expression = world_compile(world, written);
    if (expression == NULL) {
        const struct diagnostic *first = world->found.first;
        assert_non_null(first);
        assert_in_range(first->place.column, 1, text_width(text_from(written)) + 1);
        assert_in_range(first->place.end_column, first->place.column,
                        text_width(text_from(written)) + 1);
        return false;
    }
    assert_null(world->found.first);
    struct value value = expression_evaluate(expression, &world->around, &world->arena);
    assert_int_equal(value.count, expression->type.index == INDEX_NONE ? 1 : 4);
    for (size_t i = 0; i < value.count; i++)
        if (value.items[i].is_missing)
            assert_true(value.items[i].missing_name.length > 0);
        else if (value.type.base == TYPE_NUMBER)
            assert_true(isfinite(value.items[i].number.value));
    return true;
}

static void any_soup_of_tokens_is_an_expression_or_a_finding(void **state)
{
    (void)state;
    struct world *world = world_open();
    unsigned long long seed = 20240229;
    size_t sound = 0;
    world_enter(world, 1);
    struct arena_mark mark = arena_mark(&world->arena);
    for (int round = 0; round < 200000; round++) {
        char written[200];
        size_t length = 0;
        unsigned count = 1 + random_below(&seed, 7);
        for (unsigned i = 0; i < count; i++) {
            const char *piece = pieces[random_below(&seed, PIECES)];
            memcpy(written + length, piece, strlen(piece));
            length += strlen(piece);
            written[length] = ' ';
            length += random_below(&seed, 4) > 0;
        }
        written[length] = '\0';
        sound += try_soup(world, written);
        arena_rewind(&world->arena, mark);
    }
    assert_true(sound > 1000); /* the soup is not all waste */
    world_close(world);
}

/* Sound expressions from the inside out: each round joins two that were sound before. */
static void sound_parts_give_sound_values(void **state)
{
    (void)state;
    static const char *const joints[] = {
        "{} + {}",       "{} - {}",     "{} * {}",         "{} / {}",
        "min({}, {})",   "({}) < {}",   "({}) and ({})",   "not ({}) or ({})",
        "mean({}) + {}", "({})^2 - {}", "any({}) == ({})", "{} + previous({})"};
    static const char *const seeds[] = {"dry",   "wet",     "weak",    "3 bar",
                                        "ratio", "coolant", "warm",    "level",
                                        "2 ± 1", "absent",  "unknown", "5 K"};
    enum {
        JOINTS = sizeof joints / sizeof joints[0],
        KEPT = 64,
        SEEDS = sizeof seeds / sizeof seeds[0]
    };
    struct world *world = world_open();
    struct text kept[KEPT];
    size_t count = 0, sound = 0;
    unsigned long long seed = 99;
    while (count < SEEDS) {
        kept[count] = text_from(seeds[count]);
        count++;
    }
    for (int round = 0; round < 20000; round++) {
        struct text parts[] = {kept[random_below(&seed, (unsigned)count)],
                               kept[random_below(&seed, (unsigned)count)]};
        struct text written =
            text_filled(&world->arena, joints[random_below(&seed, JOINTS)], parts, 2);
        if (written.length > 120 || !try_soup(world, text_terminated(&world->arena, written)))
            continue;
        sound++;
        kept[count < KEPT ? count++ : SEEDS + random_below(&seed, KEPT - SEEDS)] = written;
    }
    if (sound < 1000)
        fail_msg("only %zu were sound", sound);
    world_close(world);
}

/* --- positions ---------------------------------------------------------------------------------- */

static const char *const vectors[] = {
    "dry * 2 - wet", "dry < mean(dry)",  "wet[dry > 7.5 bar]", "max(dry, wet)",
    "given(wet)",    "previous(dry)",    "dry / sum(wet)",     "round(dry - min(dry), 1 bar)",
    "dry < 8.1 bar", "uncertainty(dry)",
};
static const char *const scalars[] = {
    "min(wet)", "mean(dry)",         "median(wet)", "stdev(dry)",         "count(wet)",
    "sum(wet)", "any(dry > 11 bar)", "all(weak)",   "none(wet > 20 bar)", "dry[3]",
};

static void assert_same(struct scalar a, struct scalar b, enum type_base base)
{
    assert_int_equal(a.is_missing, b.is_missing);
    if (a.is_missing)
        return;
    assert_int_equal(a.is_unsure, b.is_unsure);
    if (base != TYPE_NUMBER) {
        assert_int_equal(a.truth, b.truth);
        return;
    }
    assert_near(a.number.value, b.number.value, 1e-9 * (1 + fabs(b.number.value)));
    double expanded = gradient_expanded(b.number.gradient);
    assert_near(gradient_expanded(a.number.gradient), expanded, 1e-9 * (1 + expanded));
}

/* One gauge of 2 % for all of them, and a scatter of their own from a pool of freedom 3. */
static void give_errors(struct world *world, enum symbol symbol)
{
    for (unsigned i = 0; i < 4; i++) {
        struct scalar *scalar = &world->scalars[symbol][i];
        struct error_term terms[] = {
            {.source = 1, .slope = 0.02 * scalar->number.value, .origin = ERROR_ACCURACY},
            {.source = 100 * ((unsigned)symbol + 1) + i,
             .slope = 0.02e5 * (i + 1),
             .origin = ERROR_REPEATABILITY,
             .freedom = 3,
             .pool = symbol}};
        scalar->number.gradient = gradient_of(&world->arena, terms, 2);
    }
}

/* Position i of the shuffled engine is position order[i] of the plain one. */
static void shuffle(struct world *world, const unsigned *order)
{
    struct world plain = *world;
    unsigned place_of[4];
    for (unsigned i = 0; i < 4; i++)
        place_of[order[i]] = i;
    for (unsigned i = 0; i < 4; i++) {
        world->labels[i] = plain.labels[order[i]];
        world->firing[i] = place_of[plain.firing[i]];
        for (int symbol = 0; symbol < SYMBOL_COUNT; symbol++)
            if (world->types[symbol].index == CYLINDER)
                world->scalars[symbol][i] = plain.scalars[symbol][order[i]];
    }
}

static void permuting_positions_permutes_results(void **state)
{
    (void)state;
    static const unsigned orders[][4] = {
        {1, 0, 2, 3}, {3, 2, 1, 0}, {2, 3, 0, 1}, {1, 2, 3, 0}};
    for (size_t o = 0; o < sizeof orders / sizeof orders[0]; o++)
        for (size_t e = 0; e < sizeof vectors / sizeof vectors[0]; e++) {
            struct world *world = world_open();
            give_errors(world, SYMBOL_dry);
            give_errors(world, SYMBOL_wet);
            struct value plain = work_out(world, vectors[e]);
            struct value one = work_out(world, scalars[e]);
            shuffle(world, orders[o]);
            struct value shuffled = work_out(world, vectors[e]);
            for (size_t i = 0; i < 4; i++)
                assert_same(shuffled.items[i], plain.items[orders[o][i]], plain.type.base);
            assert_same(work_out(world, scalars[e]).items[0], one.items[0], one.type.base);
            world_close(world);
        }
}

/* --- units ---------------------------------------------------------------------------------------- */

/* A ratio and a degree of freedom do not know how large a bar is. */
static void scaling_all_readings_scales_nothing_without_unit(void **state)
{
    (void)state;
    static const char *const ratios[] = {"min(dry) / max(dry)",    "wet / dry - 1",
                                         "dry < 0.7 * max(dry)",   "mean(dry) / median(wet)",
                                         "stdev(dry) / mean(dry)", "uncertainty(dry) / dry"};
    static const double scales[] = {0.1, 0.06894757293168361, 1000};
    for (size_t s = 0; s < 3; s++)
        for (size_t e = 0; e < sizeof ratios / sizeof ratios[0]; e++) {
            struct world *world = world_open();
            give_errors(world, SYMBOL_dry);
            give_errors(world, SYMBOL_wet);
            struct value plain = work_out(world, ratios[e]);
            for (size_t i = 0; i < 8; i++) {
                struct scalar *scalar = &world->scalars[i < 4 ? SYMBOL_dry : SYMBOL_wet][i % 4];
                scalar->number.value *= scales[s];
                scalar->number.gradient = gradient_combine(
                    &world->arena, scalar->number.gradient, scales[s], NULL, 0);
            }
            struct value scaled = work_out(world, ratios[e]);
            for (size_t i = 0; i < plain.count; i++)
                assert_same(scaled.items[i], plain.items[i], plain.type.base);
            world_close(world);
        }
}

static void the_unit_something_is_written_in_does_not_matter(void **state)
{
    (void)state;
    static const char *const alike[][2] = {
        {"dry < 8.5 bar", "dry < 850 kPa"},
        {"dry / 1 bar", "dry / 0.1 MPa"},
        {"dry + 1 bar", "dry + 1000 hPa"},
        {"wet - 2 psi", "wet - 2 lbf/in2"},
        {"warm > 86.1 °F", "warm > 30.05555555556 °C"},
        {"stdev(warm) + 9 Δ°F", "stdev(warm) + 5 K"},
        {"100 N * 20 cm", "0.1 kN * 200 mm"},
        {"round(dry, 50 kPa)", "round(dry, 0.5 bar)"},
        {"standard_pressure(5000 ft)", "standard_pressure(1524 m)"},
        {"sqrt(machine.displacement / 1 L)", "sqrt(machine.displacement / 1000 cm3)"},
        {"dry - 8 bar ± 0.2 bar", "dry - 800 kPa ± 20 kPa"},
        {"dry < 8.1 bar", "dry < 810 kPa"},
        {"dry > 100 psi", "dry > 689.4757293168361 kPa"},
        {"uncertainty(dry) + 1 psi", "uncertainty(dry) + 1 lbf/in2"},
        {"(20 ± 2) °C", "(68 ± 3.6) °F"},
    };
    struct world *world = world_open();
    give_errors(world, SYMBOL_dry);
    give_errors(world, SYMBOL_wet);
    for (size_t i = 0; i < sizeof alike / sizeof alike[0]; i++) {
        struct value a = work_out(world, alike[i][0]), b = work_out(world, alike[i][1]);
        assert_int_equal(a.count, b.count);
        for (size_t j = 0; j < a.count; j++)
            assert_same(a.items[j], b.items[j], a.type.base);
    }
    world_close(world);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(any_soup_of_tokens_is_an_expression_or_a_finding),
        cmocka_unit_test(sound_parts_give_sound_values),
        cmocka_unit_test(permuting_positions_permutes_results),
        cmocka_unit_test(scaling_all_readings_scales_nothing_without_unit),
        cmocka_unit_test(the_unit_something_is_written_in_does_not_matter),
    };
    return cmocka_run_group_tests_name("expression/properties", tests, NULL, NULL);
}

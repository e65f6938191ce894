/* What must hold for any expression and any readings. */
#include "world.h"

#include <math.h>
#include <stdio.h>

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
    "dry * 2 - wet",
    "dry < mean(dry)",
    "wet[dry > 7.5 bar]",
    "max(dry, wet)",
    "given(wet)",
    "previous(dry)",
    "dry / sum(wet)",
    "round(dry - min(dry), 1 bar)",
    "dry < 8.1 bar",
    "uncertainty(dry)",
    "abs(dry - mean(dry))",
    "sqrt(dry * wet)",
    "stands_out(dry)",
    "scatter(dry)",
    "star(round(dry / 1 bar))",
    "standard_pressure(dry / (1000 kg/m3) / (9.81 m/s2))",
};
static const char *const scalars[] = {
    "min(wet)",
    "mean(dry)",
    "median(wet)",
    "stdev(dry)",
    "count(wet)",
    "sum(wet)",
    "any(dry > 11 bar)",
    "all(weak)",
    "none(wet > 20 bar)",
    "dry[3]",
    "scatter(dry[\"1\"])",
    "size(cylinder)",
    "where(dry == max(dry))",
};
/* Under the loop over the cylinders, at each of them. */
static const char *const heres[] = {
    "dry[cylinder] - mean(dry)",
    "cylinder",
    "scatter(dry[cylinder])",
    "elapsed(rest)",
    "late(rest)",
};
/* Which of them are beside each other is all that matters: nothing changes from the other end. */
static const char *const neighbours[] = {"beside(weak)", "beside(dry > 7.5 bar)",
                                         "beside(dry > 11 bar)"};

static void assert_same(struct scalar a, struct scalar b, enum type_base base)
{
    assert_int_equal(a.is_missing, b.is_missing);
    if (a.is_missing)
        return;
    assert_int_equal(a.is_unsure, b.is_unsure);
    if (base == TYPE_TRUTH)
        assert_int_equal(a.truth, b.truth);
    if (base == TYPE_TEXT)
        assert_true(text_equal(a.text, b.text));
    if (base != TYPE_NUMBER)
        return;
    assert_near(a.number.value, b.number.value, 1e-9 * (1 + fabs(b.number.value)));
    double expanded = gradient_expanded(b.number.gradient);
    assert_near(gradient_expanded(a.number.gradient), expanded, 1e-9 * (1 + expanded));
}

/* One gauge of 2 % for all of them, and a scatter of their own from a pool. */
static void give_freedom(struct world *world, enum symbol symbol, double freedom)
{
    for (unsigned i = 0; i < 4; i++) {
        struct scalar *scalar = &world->scalars[symbol][i];
        struct error_term terms[] = {
            {.source = 1, .slope = 0.02 * scalar->number.value, .origin = ERROR_ACCURACY},
            {.source = 100 * ((unsigned)symbol + 1) + i,
             .slope = 0.02e5 * (i + 1),
             .origin = ERROR_REPEATABILITY,
             .freedom = freedom,
             .pool = symbol}};
        scalar->number.gradient = gradient_of(&world->arena, terms, 2);
    }
}

static void give_errors(struct world *world, enum symbol symbol)
{
    give_freedom(world, symbol, 3);
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

static const unsigned
    *shuffled_order; /* as the repeats and the timers are asked for by position */

static struct value shuffled_repeats(void *self, unsigned symbol, unsigned position,
                                     struct arena *arena)
{
    return world_repeats_of(self, symbol, shuffled_order[position], arena);
}

static double shuffled_elapsed(void *self, unsigned timer, int position)
{
    return world_elapsed(self, timer, (int)shuffled_order[position]);
}

static double plain_late(void *self, unsigned timer, int position)
{
    return world_elapsed(self, timer, position) / 2;
}

static double shuffled_late(void *self, unsigned timer, int position)
{
    return shuffled_elapsed(self, timer, position) / 2;
}

static struct world *world_to_shuffle(void)
{
    struct world *world = world_open();
    give_errors(world, SYMBOL_dry);
    give_errors(world, SYMBOL_wet);
    world->around.late = plain_late;
    return world;
}

static void shuffle_all(struct world *world, const unsigned *order)
{
    shuffle(world, order);
    shuffled_order = order;
    world->around.repeats_of = shuffled_repeats;
    world->around.elapsed = shuffled_elapsed;
    world->around.late = shuffled_late;
}

static void permute_here(const char *written, const unsigned *order)
{
    struct world *world = world_to_shuffle();
    struct value plain[4];
    world_enter(world, 0);
    for (int at = 0; at < 4; at++) {
        world->here[CYLINDER] = at;
        plain[at] = work_out(world, written);
    }
    shuffle_all(world, order);
    for (int at = 0; at < 4; at++) {
        world->here[CYLINDER] = at;
        assert_same(work_out(world, written).items[0], plain[order[at]].items[0],
                    plain[0].type.base);
    }
    world_close(world);
}

static const unsigned orders[][4] = {{1, 0, 2, 3}, {3, 2, 1, 0}, {2, 3, 0, 1}, {1, 2, 3, 0}};
enum { ORDERS = sizeof orders / sizeof orders[0] };

static void where_you_stand_moves_with_the_positions(void **state)
{
    (void)state;
    for (size_t o = 0; o < ORDERS; o++)
        for (size_t e = 0; e < sizeof heres / sizeof heres[0]; e++)
            permute_here(heres[e], orders[o]);
}

static void from_the_other_end_neighbours_are_the_same(void **state)
{
    (void)state;
    static const unsigned turned[] = {3, 2, 1, 0};
    for (size_t e = 0; e < sizeof neighbours / sizeof neighbours[0]; e++) {
        struct world *world = world_to_shuffle();
        struct value plain = work_out(world, neighbours[e]);
        shuffle_all(world, turned);
        assert_same(work_out(world, neighbours[e]).items[0], plain.items[0], TYPE_TRUTH);
        world_close(world);
    }
}

static bool is_tried(const char *const *written, size_t count, const char *function)
{
    char call[40];
    snprintf(call, sizeof call, "%s(", function);
    for (size_t i = 0; i < count; i++)
        if (strstr(written[i], call) != NULL)
            return true;
    return false;
}

/* It asks for the order itself. */
static void the_first_is_the_one_named_first(void **state)
{
    (void)state;
    struct world *world = world_to_shuffle();
    assert_true(text_equal(work_out(world, "first_of(cylinder)").items[0].text, TEXT("1")));
    shuffle_all(world, orders[1]);
    assert_true(text_equal(work_out(world, "first_of(cylinder)").items[0].text, TEXT("4")));
    world_close(world);
}

static void every_function_has_its_positions_permuted(void **state)
{
    (void)state;
    for (int i = 0; i < FUNCTION_COUNT; i++) {
        const char *name = function_name((enum function)i);
        if (i == FUNCTION_first_of)
            continue;
        if (!is_tried(vectors, sizeof vectors / sizeof vectors[0], name) &&
            !is_tried(scalars, sizeof scalars / sizeof scalars[0], name) &&
            !is_tried(heres, sizeof heres / sizeof heres[0], name) &&
            !is_tried(neighbours, sizeof neighbours / sizeof neighbours[0], name))
            fail_msg("%s", name);
    }
}

static void permute_vector(const char *written, const unsigned *order)
{
    struct world *world = world_to_shuffle();
    struct value plain = work_out(world, written);
    shuffle_all(world, order);
    struct value shuffled = work_out(world, written);
    for (size_t i = 0; i < 4; i++)
        assert_same(shuffled.items[i], plain.items[order[i]], plain.type.base);
    world_close(world);
}

static void permute_scalar(const char *written, const unsigned *order)
{
    struct world *world = world_to_shuffle();
    struct value plain = work_out(world, written);
    shuffle_all(world, order);
    assert_same(work_out(world, written).items[0], plain.items[0], plain.type.base);
    world_close(world);
}

static void permuting_positions_permutes_results(void **state)
{
    (void)state;
    for (size_t o = 0; o < ORDERS; o++) {
        for (size_t e = 0; e < sizeof vectors / sizeof vectors[0]; e++)
            permute_vector(vectors[e], orders[o]);
        for (size_t e = 0; e < sizeof scalars / sizeof scalars[0]; e++)
            permute_scalar(scalars[e], orders[o]);
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

/* Random pressures, each written in every unit there is of pressure. */
static const char *const with_pressures[] = {
    "dry < {}",
    "dry - wet >= {} - {}",
    "(dry - {}) / {}",
    "min(dry, {}) + abs(wet - {})",
    "mean(dry) == {}",
    "any(dry > {} ± 2 %)",
    "where(dry > {})",
    "max(dry) - ({} ± 1 %)",
    "({} ± 0.5 %) * 1 L / (300 K)",
    "stdev(dry) > {} / 8",
    "sum(dry[dry < {}])",
    "sqrt(dry * ({} ± 3 %))",
    "count(dry - {} > uncertainty(dry))",
    "given(dry[dry > {} ± 2 %])",
    "stands_out(dry + {})",
};

static struct text in_unit(struct arena *arena, double si, const struct unit *unit)
{
    enum { DECIMALS = 12 };
    struct text digits =
        value_text_decimals(arena, unit_from_si(unit, si), &unit_one, DECIMALS);
    return text_fill(arena, "{} {}", digits, unit->symbol);
}

static void whatever_unit_a_limit_is_written_in_the_answer_is_the_same(void **state)
{
    (void)state;
    const struct unit *bar = unit_find(TEXT("bar")), *unit;
    const struct text *spellings;
    size_t count;
    unsigned long long seed = 4711;
    for (size_t e = 0; e < sizeof with_pressures / sizeof with_pressures[0]; e++)
        for (int round = 0; round < 5; round++) {
            struct world *world = world_open();
            struct text parts[2];
            double si[2];
            size_t blanks = strstr(strstr(with_pressures[e], "{}") + 1, "{}") != NULL ? 2 : 1;
            give_errors(world, SYMBOL_dry);
            give_errors(world, SYMBOL_wet);
            for (size_t i = 0; i < 2; i++) {
                si[i] = 5e5 + random_below(&seed, 800000) + 0.5;
                parts[i] = in_unit(&world->arena, si[i], bar);
            }
            struct text written = text_filled(&world->arena, with_pressures[e], parts, blanks);
            struct value in_bar = work_out(world, text_terminated(&world->arena, written));
            for (size_t u = 0; unit_at(u, &unit, &spellings, &count); u++) {
                if (!kind_equal(unit->kind, bar->kind))
                    continue;
                for (size_t i = 0; i < 2; i++)
                    parts[i] = in_unit(&world->arena, si[i], unit);
                written = text_filled(&world->arena, with_pressures[e], parts, blanks);
                struct value value = work_out(world, text_terminated(&world->arena, written));
                for (size_t i = 0; i < value.count; i++)
                    assert_same(value.items[i], in_bar.items[i], value.type.base);
            }
            world_close(world);
        }
}

/* --- uncertainty ------------------------------------------------------------------------------------ */

/* An error that nothing else has, known or from as many repeats. */
static void give_own_error(struct world *world, enum symbol symbol, double uncertainty,
                           double freedom)
{
    struct error_term term = {.source = 9999,
                              .slope = uncertainty,
                              .origin = freedom > 0 ? ERROR_REPEATABILITY : ERROR_ACCURACY,
                              .freedom = freedom,
                              .pool = 9999};
    world->scalars[symbol][0].is_missing = false;
    world->scalars[symbol][0].number =
        (struct measured){0, gradient_of(&world->arena, &term, 1)};
}

/* The combined uncertainty of `written`, and its band, before and after adding a pressure of nothing
 * with an error of its own. */
struct widening {
    double combined[2], band[2];
};

static struct widening widened(struct world *world, const char *written)
{
    struct widening widening;
    struct text more = text_fill(&world->arena, "{} + absent", text_from(written));
    const char *const both[] = {written, text_terminated(&world->arena, more)};
    for (size_t i = 0; i < 2; i++) {
        const struct gradient *gradient = work_out(world, both[i]).items[0].number.gradient;
        widening.combined[i] = gradient_combined(gradient);
        widening.band[i] = gradient_expanded(gradient);
    }
    return widening;
}

static const char *const pressures[] = {
    "dry[1]",          "dry[1] + wet[2]", "dry[1] - dry[2]",          "mean(dry)",
    "min(wet)",        "2 * median(dry)", "max(dry[1], wet[1])",      "stdev(dry)",
    "dry[1] - 11 bar", "sum(dry) / 3",    "dry[1] * dry[2] / dry[3]", "mean(dry) - mean(wet)",
};

/* Whatever it is, an unrelated error makes the combined uncertainty no smaller.  The band it makes no
 * narrower where what was estimated rests on 7 degrees of freedom or more: with fewer the degrees
 * that Welch and Satterthwaite find (JCGM 100:2008, G.4.1) can rise faster than the uncertainty. */
static void an_unrelated_error_makes_nothing_surer(void **state)
{
    (void)state;
    static const double freedoms[] = {1, 2, 3, 5, 7, 8, 12, 30, 0};
    unsigned long long seed = 31;
    for (size_t e = 0; e < sizeof pressures / sizeof pressures[0]; e++)
        for (size_t f = 0; f < sizeof freedoms / sizeof freedoms[0]; f++)
            for (size_t own = 0; own < sizeof freedoms / sizeof freedoms[0]; own++) {
                struct world *world = world_open();
                give_freedom(world, SYMBOL_dry, freedoms[f]);
                give_freedom(world, SYMBOL_wet, freedoms[f]);
                give_own_error(world, SYMBOL_absent, 1 + random_below(&seed, 60000),
                               freedoms[own]);
                struct widening widening = widened(world, pressures[e]);
                assert_true(widening.combined[0] > 0);
                assert_true(widening.combined[1] >= widening.combined[0]);
                bool is_well_known = freedoms[f] == 0 || freedoms[f] >= 7;
                bool is_own_well_known = freedoms[own] == 0 || freedoms[own] >= 7;
                if (is_well_known && is_own_well_known)
                    assert_true(widening.band[1] >= widening.band[0] * (1 - 1e-12));
                world_close(world);
            }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(any_soup_of_tokens_is_an_expression_or_a_finding),
        cmocka_unit_test(sound_parts_give_sound_values),
        cmocka_unit_test(permuting_positions_permutes_results),
        cmocka_unit_test(where_you_stand_moves_with_the_positions),
        cmocka_unit_test(from_the_other_end_neighbours_are_the_same),
        cmocka_unit_test(the_first_is_the_one_named_first),
        cmocka_unit_test(every_function_has_its_positions_permuted),
        cmocka_unit_test(scaling_all_readings_scales_nothing_without_unit),
        cmocka_unit_test(the_unit_something_is_written_in_does_not_matter),
        cmocka_unit_test(whatever_unit_a_limit_is_written_in_the_answer_is_the_same),
        cmocka_unit_test(an_unrelated_error_makes_nothing_surer),
    };
    return cmocka_run_group_tests_name("expression/properties", tests, NULL, NULL);
}

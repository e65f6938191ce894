#include "world.h"

static const struct faulty faults[] = {
    {"", "E001", 1, 1},
    {"   ", "E001", 1, 1},
    {"1 +", "E002", 4, 4},
    {"* 2", "E002", 1, 2},
    {"1 )", "E002", 3, 4},
    {"dry bar", "E002", 5, 8},
    {"min(dry, )", "E002", 10, 11},
    {"ratio == not is_cold", "E002", 10, 13},
    {"ratio ^", "E002", 8, 8},
    {"ratio ^ -2", "E002", 9, 10},
    {"size(3)", "E002", 6, 7},
    {"dry[3", "E005", 4, 5},
    {"(ratio + 1", "E005", 1, 2},
    {"min(ratio, 1", "E005", 4, 5},
    {"ratio[2)", "E002", 8, 9},
    {"1 = 2", "E003", 3, 4},
    {"ratio.3", "E003", 6, 7},
    {"1 === 2", "E003", 3, 6},
    {"is_cold && is_cold", "E003", 9, 11},
    {"is_cold || is_cold", "E003", 9, 11},
    {"!is_cold", "E003", 1, 2},
    {"is_cold AND is_cold", "E003", 9, 12},
    {"ratio > 3 OR is_cold", "E003", 11, 13},
    {"ratio ** 2", "E003", 7, 9},
    {"ratio × 2", "E003", 7, 8},
    {"ratio ≥ 2", "E003", 7, 8},
    {"ratio − 2", "E003", 7, 8},
    {".5 * ratio", "E003", 1, 2},
    {"ratio # 2", "E003", 7, 8},
    {"level == “x”", "E003", 10, 11},
    {"level == \"between", "E004", 10, 18},
    {"1 < ratio < 3", "E006", 11, 12},
    {"ratio == 1 != is_cold", "E006", 12, 14},
    {"11,8 bar < dry", "E007", 1, 5},
    {"min(1,2)", "E007", 5, 8},
    {"84,210 km", "E007", 1, 7},
    {"1 7/6 in < 1 in", "E009", 1, 6},
    {"1e5 bar", "E009", 2, 4},
    {"1E-5", "E009", 2, 3},
    {"foo(3)", "E013", 1, 4},
    {"mni(3, 4)", "E013", 1, 4},
    {"min()", "E014", 1, 6},
    {"abs(1, 2)", "E014", 1, 9},
    {"min(1, 2, 3, 4, 5, 6, 7, 8, 9, 10)", "E014", 1, 34},
    {"ratio ^ 0", "E020", 9, 10},
    {"ratio ^ 10", "E020", 9, 11},
    {"ratio ^ 1.5", "E020", 9, 12},
    {"ratio ^ ratio", "E020", 9, 14},
    {"75 % ± 2 %", "E023", 1, 11},
    {"75 ± 2 %", "E023", 1, 9},
    {"(75 ± 2 %)", "E023", 2, 10},
    {"25 N.m ± 1", "E023", 1, 11},
    {"25 N.m ± 1 bar", "E023", 1, 15},
    {"25 N.m ± ratio", "E002", 10, 15},
    {"12 / 3/4", "E025", 6, 9},
    {"ratio/3/4", "E025", 7, 10},
    {"3/2^2", "E025", 1, 4},
    {"2 mm^2", "E025", 1, 5},
    {"ratio^2^2", "E025", 1, 8},
    {"3 bra", "Q001", 3, 6},
    {"(3 + 4) bra", "Q001", 9, 12},
    {"25 N.m/ratio", "Q002", 4, 13},
    {"3 bar/ 2", "Q002", 3, 7},
    {"2 dry", "Q003", 3, 6},
    {"2 sqrt(4)", "Q003", 3, 7},
    {"ratio > .x", "E003", 9, 10},
    {"ratio <> 2", "E003", 7, 9},
    {"7/16. in", "E003", 5, 6},
    {"5 e/m", "Q002", 3, 6},
    {"5 e.m", "Q001", 3, 6},
    {"5 exy", "Q001", 3, 6},
    {"75 % ± 2 bar", "E023", 1, 13},
    {"3 ± 4 #", "E003", 7, 8},
    {"3 bar ± 4 #", "E003", 11, 12},
    {"min(1, #)", "E003", 8, 9},
    {"dry[3] #", "E003", 8, 9},
    {"dry[3 #", "E003", 7, 8},
    {"dry[\"3\" #", "E003", 9, 10},
};

static void slips_are_reported_once_where_they_stand(void **state)
{
    (void)state;
    struct world *world = world_open();
    for (size_t i = 0; i < sizeof faults / sizeof faults[0]; i++)
        assert_faulty(world, &faults[i]);
    world_close(world);
}

static void advice_names_what_to_write(void **state)
{
    (void)state;
    static const char *const advice[][2] = {
        {"1 = 2", "'=' has no meaning in an expression; write =="},
        {"is_cold && is_cold", "'&&' has no meaning in an expression; write and"},
        {"11,8 bar < dry", "'11,8' has a comma; write the number as 11.8, or put a space "
                           "after a comma that separates two values"},
        {"3 bra", "there is no unit 'bra'; did you mean 'bar'?"},
        {"1 +", "the end cannot stand here; a value is wanted"},
        {"1 == not is_cold",
         "'not' cannot stand here; a value, or 'not' in brackets is wanted"},
        {"9/0", "'9/0' cannot be read as a number; a fraction is over more than 0, and less "
                "than 1 behind a whole number"},
        {"mni(3, 4)", "there is no function 'mni'; did you mean 'min'?"},
        {"3 bar/2", "there is no unit 'bar/2'; to divide, put spaces round the '/'"},
        {"1 < ratio < 3",
         "no comparison can follow on '1 < ratio'; write two of them with 'and' between"},
    };
    struct world *world = world_open();
    for (size_t i = 0; i < sizeof advice / sizeof advice[0]; i++) {
        diagnostics_begin(&world->found, &world->arena);
        assert_null(world_compile(world, advice[i][0]));
        assert_text(world->found.first->message, advice[i][1]);
    }
    world_close(world);
}

static void places_count_characters_from_where_the_text_stands(void **state)
{
    (void)state;
    struct world *world = world_open();
    struct text written = TEXT("25 N·m < \"é\" + bogus");
    world->source = (struct source){TEXT("test.yaml"), written};
    struct place place = {&world->source, 7, 12, 7, 32};
    assert_null(
        expression_compile(written, place, &world->scope, &world->found, &world->arena));
    assert_int_equal(world->found.first->place.line, 7);
    assert_int_equal(world->found.first->place.column, 12 + 15);
    assert_int_equal(world->found.first->place.end_column, 12 + 20);
    world_close(world);
}

static void operators_bind_as_the_grammar_says(void **state)
{
    (void)state;
    struct world *world = world_open();
    assert_near(number_of(world, "2 + 3 * 4"), 14, 0);
    assert_near(number_of(world, "(2 + 3) * 4"), 20, 0);
    assert_near(number_of(world, "20 - 3 - 4"), 13, 0);
    assert_near(number_of(world, "48 / 4 / 3"), 4, 0);
    assert_near(number_of(world, "-2^2"), -4, 0);
    assert_near(number_of(world, "(-2)^2"), 4, 0);
    assert_near(number_of(world, "2 * 3^2"), 18, 0);
    assert_near(number_of(world, "- - 2"), 2, 0);
    assert_near(number_of(world, "2 - -2"), 4, 0);
    assert_near(number_of(world, "7/16 * 16"), 7, 1e-15);
    assert_near(number_of(world, "1 1/2 * 2"), 3, 1e-15);
    assert_near(number_of(world, "1/2.5"), 0.4, 1e-15);
    assert_true(truth_of(world, "1 < 2 and 3 < 4 or 1 > 2"));
    assert_true(truth_of(world, "1 < 2 or 1 < 2 and 1 > 2"));
    assert_true(truth_of(world, "not 1 > 2 and 1 < 2"));
    assert_false(truth_of(world, "not (1 > 2 or 1 < 2)"));
    assert_true(truth_of(world, "not not is_cold"));
    world_close(world);
}

static void a_sign_before_a_temperature_belongs_to_it(void **state)
{
    (void)state;
    struct world *world = world_open();
    assert_near(number_of(world, "-5 °C"), 268.15, 1e-12);
    assert_near(number_of(world, "coolant - 80 °C"), 5, 1e-9);
    assert_near(number_of(world, "coolant - -15 °C"), 100, 1e-9);
    world_close(world);
}

static void units_take_many_forms(void **state)
{
    (void)state;
    struct world *world = world_open();
    assert_true(truth_of(world, "25N.m == 25 N·m"));
    assert_true(truth_of(world, "25\u00a0N·m == 25 N.m"));
    assert_true(truth_of(world, "1 kgf/cm2 == 98066.5 Pa"));
    assert_true(truth_of(world, "50 % == 0.5"));
    assert_true(truth_of(world, "(2 + 3) bar == 5 bar"));
    assert_true(truth_of(world, "(2 + 3) °C == 5 °C"));
    assert_near(number_of(world, "10 L/100km"), 1e-7, 1e-20);
    /* a no-break space ends a unit as any other does */
    assert_true(truth_of(world, "5 bar\u00a0== 500 kPa"));
    assert_true(truth_of(world, "5 °C\u00a0< 6 °C"));
    /* lines of a folded text, tabs */
    assert_true(truth_of(world, "5 bar\t==\r\n5 bar\nand\t1 < 2"));
    assert_near(number_of(world, "ratio / 3/4 in * 1 in"), 9.5 / 0.75, 1e-12);
    world_close(world);
}

static void nesting_is_bounded(void **state)
{
    (void)state;
    struct world *world = world_open();
    char written[3 * 70];
    size_t length = 0;
    for (int depth = 64; depth <= 65; depth++) {
        length = 0;
        for (int i = 0; i < depth; i++)
            written[length++] = '(';
        written[length++] = '1';
        for (int i = 0; i < depth; i++)
            written[length++] = ')';
        written[length] = '\0';
        if (depth == 64)
            assert_near(number_of(world, written), 1, 0);
    }
    assert_faulty(world, &(struct faulty){written, "E008", 66, 67});
    world_close(world);
}

static void length_is_bounded(void **state)
{
    (void)state;
    struct world *world = world_open();
    static char written[2 * 600];
    for (size_t i = 0; i + 1 < sizeof written; i++)
        written[i] = i % 2 == 0 ? '1' : '+';
    written[sizeof written - 1] = '\0';
    assert_null(world_compile(world, written));
    assert_string_equal(finding_code(world->found.first->finding), "E008");
    written[2 * 499 + 1] = '\0';
    assert_near(number_of(world, written), 500, 0);
    world_close(world);
}

static void too_large_a_number_says_so(void **state)
{
    (void)state;
    enum { DIGITS = 400 };
    struct world *world = world_open();
    char written[DIGITS + 1];
    memset(written, '9', DIGITS);
    written[DIGITS] = '\0';
    assert_faulty(world, &(struct faulty){written, "E009", 1, DIGITS + 1});
    struct text message = world->found.first->message;
    assert_true(text_find(message, TEXT("it is too large")) < message.length);
    world_close(world);
}

/* `heads` and so many ones before what is tried: at one of these lengths each of its parts is the one
 * that there is no room for. */
static const struct expression *compile_behind(struct world *world, const char *head,
                                               unsigned ones, const char *tried)
{
    static char written[4 * 600];
    size_t length = strlen(head);
    memcpy(written, head, length);
    for (unsigned i = 0; i < ones; i++) {
        written[length++] = '1';
        written[length++] = '+';
    }
    memcpy(written + length, tried, strlen(tried) + 1);
    diagnostics_begin(&world->found, &world->arena);
    return world_compile(world, written);
}

static void whatever_is_one_part_too_many_is_told_once(void **state)
{
    (void)state;
    static const char *const tried[] = {
        "3",
        "3 ± 1",
        "(3 ± 1) % * 1",
        "(100 ± 1) °C",
        "-ratio",
        "ratio^2",
        "mean(dry[\"3\"], 2)",
        "size(cylinder)",
        "first_of(cylinder)",
        "'x'",
        "dry[weak]",
        "dry[3]",
        "(ratio ± 2)",
        "min(1, 2, 3)",
    };
    static const char *const heads[] = {"", "-(1)+"};
    struct world *world = world_open();
    struct arena_mark mark = arena_mark(&world->arena);
    for (size_t i = 0; i < sizeof tried / sizeof tried[0]; i++)
        for (unsigned ones = 490; ones <= 500; ones++)
            for (size_t h = 0; h < 2; h++) {
                const struct expression *made = compile_behind(world, heads[h], ones, tried[i]);
                assert_int_equal(made == NULL, world->found.first != NULL);
                if (made != NULL)
                    continue;
                assert_null(world->found.first->next);
                bool is_deep = strcmp(finding_code(world->found.first->finding), "E008") == 0;
                if (ones == 490)
                    assert_false(is_deep);
                if (ones == 500)
                    assert_true(is_deep);
                arena_rewind(&world->arena, mark);
            }
    world_close(world);
}

static void count_node(void *self, const struct node *node)
{
    unsigned *counts = self;
    counts[node->kind]++;
}

static void a_walk_meets_every_node_once(void **state)
{
    (void)state;
    struct world *world = world_open();
    unsigned counts[NODE_PLUS_MINUS + 1] = {0};
    const struct expression *expression =
        world_compile(world, "min(dry) / max(dry) < 0.75 and any(wet[weak] > dry[3])");
    assert_non_null(expression);
    expression_walk(expression->root, count_node, counts);
    assert_int_equal(counts[NODE_CALL], 3);
    assert_int_equal(counts[NODE_SYMBOL], 5);
    assert_int_equal(counts[NODE_AND], 1);
    assert_int_equal(counts[NODE_PICK], 1);
    assert_int_equal(counts[NODE_LABEL], 1);
    assert_int_equal(counts[NODE_NUMBER], 1);
    world_close(world);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(slips_are_reported_once_where_they_stand),
        cmocka_unit_test(advice_names_what_to_write),
        cmocka_unit_test(places_count_characters_from_where_the_text_stands),
        cmocka_unit_test(operators_bind_as_the_grammar_says),
        cmocka_unit_test(a_sign_before_a_temperature_belongs_to_it),
        cmocka_unit_test(units_take_many_forms),
        cmocka_unit_test(nesting_is_bounded),
        cmocka_unit_test(length_is_bounded),
        cmocka_unit_test(whatever_is_one_part_too_many_is_told_once),
        cmocka_unit_test(too_large_a_number_says_so),
        cmocka_unit_test(a_walk_meets_every_node_once),
    };
    return cmocka_run_group_tests_name("expression/parser", tests, NULL, NULL);
}

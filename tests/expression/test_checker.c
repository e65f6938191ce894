#include "world.h"

static const struct faulty faults[] = {
    {"bogus + 1", "E012", 1, 6},
    {"machine.displacment", "E012", 1, 20},
    {"soak > 1 min", "E024", 1, 5},
    {"min > 1", "E014", 1, 4},
    {"elapsed(dry)", "E024", 1, 13},
    {"size(dry)", "E024", 1, 10},
    {"1 bar + 1 L", "E011", 9, 12},
    {"dry < 3", "E011", 7, 8},
    {"dry == \"x\"", "E011", 8, 11},
    {"25 N.m + 25 J", "E011", 10, 14},
    {"min(1 bar, 2 L)", "E011", 12, 15},
    {"coolant + 1 bar", "E011", 11, 16},
    {"coolant + coolant", "E022", 11, 18},
    {"1 K - coolant", "E022", 7, 14},
    {"coolant * 2", "E022", 1, 8},
    {"1 / coolant", "E022", 5, 12},
    {"-coolant", "E022", 2, 9},
    {"coolant ^ 2", "E022", 1, 8},
    {"sum(warm)", "E022", 5, 9},
    {"abs(coolant)", "E022", 5, 12},
    {"coolant > 1 K", "E011", 11, 14},
    {"sqrt(1 mm3)", "E021", 6, 11},
    {"sqrt(coolant)", "E021", 6, 13},
    {"level == \"between the mark\"", "E015", 10, 28},
    {"\"full\" != level", "E015", 1, 7},
    {"dry + tyre", "E016", 7, 11},
    {"dry[tyre > 2 bar]", "E016", 5, 17},
    {"min(dry, tyre)", "E016", 10, 14},
    {"dry[wheel]", "E018", 5, 10},
    {"ratio[3]", "E017", 1, 6},
    {"min(ratio)", "E017", 5, 10},
    {"stands_out(ratio)", "E017", 12, 17},
    {"stands_out(weak)", "E026", 12, 16},
    {"any(is_cold)", "E017", 5, 12},
    {"dry[cylinder]", "E018", 5, 13},
    {"cylinder == \"3\"", "E018", 1, 9},
    {"local", "E018", 1, 6},
    {"elapsed(rest)", "E018", 1, 14},
    {"dry[is_cold]", "E019", 5, 12},
    {"dry[1 + 2]", "E019", 5, 10},
    {"dry and is_cold", "E026", 1, 4},
    {"is_cold or ratio", "E026", 12, 17},
    {"not ratio", "E026", 5, 10},
    {"-is_cold", "E026", 2, 9},
    {"is_cold + 1", "E026", 1, 8},
    {"level < \"z\"", "E026", 1, 6},
    {"any(dry)", "E026", 5, 8},
    {"mean(plug)", "E026", 6, 10},
    {"star(3 bar)", "E026", 6, 11},
    {"standard_pressure(3 bar)", "E026", 19, 24},
    {"round(3 bar)", "E014", 1, 13},
    {"scatter(dry + wet)", "E024", 9, 18},
    {"(ratio ± 1)", "E023", 2, 11},
    {"((1 + 1) ± ratio)", "E023", 2, 17},
    {"((1 + 1) ± 1 bar)", "E023", 2, 17},
    {"((1 + 1) ± 10 %)", "E023", 2, 16},
    {"((2 + ratio) ± 1)", "E023", 2, 17},
    {"((1 bar + 1 bar) ± 1 L)", "E023", 2, 23},
    {"((9 m)^9)^9", "E027", 1, 12},
    {"(is_cold ± 1)", "E026", 2, 9},
    {"'a' + 1", "E026", 1, 4},
    {"sqrt(weak)", "E026", 6, 10},
    {"abs(weak)", "E026", 5, 9},
    {"scatter(weak)", "E026", 9, 13},
    {"min(is_cold, 1)", "E026", 5, 12},
    {"dry == tyre", "E016", 8, 12},
    {"median(is_cold)", "E026", 8, 15},
    {"median(ratio)", "E017", 8, 13},
    {"sum(ratio)", "E017", 5, 10},
    {"sum(weak)", "E026", 5, 9},
    {"count(ratio)", "E017", 7, 12},
    {"previous(ratio)", "E017", 10, 15},
    {"round(coolant)", "E022", 7, 14},
    {"round(is_cold)", "E026", 7, 14},
    {"round(ratio, is_cold)", "E026", 14, 21},
    {"round(ratio, 1 bar)", "E011", 14, 19},
    {"round(dry, tyre)", "E016", 12, 16},
    {"star(is_cold)", "E026", 6, 13},
    {"size(bogus)", "E024", 1, 12},
    {"elapsed(bogus)", "E024", 1, 15},
    {"1 / (1 m)^9 / (1 m)^9 / (1 m)^9", "E027", 1, 32},
    {"ratio[weak]", "E017", 1, 6},
    {"is_cold and ratio", "E026", 13, 18},
    {"weak and tyre > 2 bar", "E016", 10, 22},
    {"((5) ± 10 %)", "E023", 2, 12},
    {"20 °C ± 10 %", "E023", 1, 13},
    {"0.00000000000000000000000000000000000000000000000000000000000000000000000000001", "E009",
     1, 80},
    {"0 bar ± 90000000000000000000000000000000000000000000000000000000000000000000000000 bar",
     "E009", 1, 87},
    {"1 m ± 0.00000000000000000000000000000000000000000000000000000000000000000000000001 mm",
     "E009", 1, 86},
    /* numbers that fit by themselves, but not in their unit */
    {"90000000000000000000000000000000000000000000000000000000000000000000000000 bar", "E009",
     1, 79},
    {"0.00000000000000000000000000000000000000000000000000000000000000000000000001 mm", "E009",
     1, 80},
    {"1 bar ± 90000000000000000000000000000000000000000000000000000000000000000000000000 bar",
     "E009", 1, 87},
    {"((20 °C) ± 10 %)", "E023", 2, 16},
    {"((ratio + 1) ± 1)", "E023", 2, 17},
    {"((3) ± is_cold)", "E026", 8, 15},
    {"((3 ± 1) ± 1)", "E023", 2, 13},
    {"(3 m)^9 * (3 m)^9 * (3 m)^9", "E027", 1, 28},
    {"(3 m)^9 * (3 m)^9 * (3 m)^7", "E027", 1, 28},
};

static void what_does_not_go_together_is_refused(void **state)
{
    (void)state;
    struct world *world = world_open();
    for (size_t i = 0; i < sizeof faults / sizeof faults[0]; i++)
        assert_faulty(world, &faults[i]);
    world_close(world);
}

static void another_index_is_refused_under_its_each(void **state)
{
    (void)state;
    struct world *world = world_open();
    world->scope.loops = 3;
    assert_faulty(world, &(struct faulty){"dry[wheel]", "E016", 5, 10});
    world_close(world);
}

static void findings_say_what_is_wrong_and_what_is_wanted(void **state)
{
    (void)state;
    static const char *const messages[][2] = {
        {"dry + tyre", "'dry' has a value for each cylinder and 'tyre' for each wheel; the two "
                       "do not mix"},
        {"level == \"between the mark\"",
         "'level' can never be 'between the mark'; did you mean 'between the marks'?"},
        {"machine.displacment", "nothing here has the name 'machine.displacment'; did you mean "
                                "'machine.displacement'?"},
        {"level == 'none of them'",
         "'level' can never be 'none of them'; it is one of: below the lower mark, between the "
         "marks, above the upper mark"},
        {"dry and is_cold", "'dry' is a pressure for each cylinder, but 'and' needs a truth"},
        {"dry[cylinder]", "'cylinder' can be used only under 'each: cylinder'"},
    };
    struct world *world = world_open();
    for (size_t i = 0; i < sizeof messages / sizeof messages[0]; i++) {
        diagnostics_begin(&world->found, &world->arena);
        assert_null(world_compile(world, messages[i][0]));
        assert_text(world->found.first->message, messages[i][1]);
    }
    world_close(world);
}

static void without_names_of_indexes_it_is_a_position(void **state)
{
    (void)state;
    struct world *world = world_open();
    world->scope.index_name = NULL;
    assert_null(world_compile(world, "dry and is_cold"));
    assert_text(world->found.first->message,
                "'dry' is a pressure for each position, but 'and' needs a truth");
    world_close(world);
}

static const struct {
    const char *written, *type;
} types[] = {
    {"min(dry) / max(dry)", "plain number"},
    {"dry < 0.75 * max(dry)", "truth for each cylinder"},
    {"wet / dry - 1", "plain number for each cylinder"},
    {"machine.displacement / size(cylinder) / (ratio - 1)", "volume"},
    {"coolant - 20 °C", "temperature difference"},
    {"coolant + 5 K", "temperature"},
    {"5 K + coolant", "temperature"},
    {"coolant - 5 K", "temperature"},
    {"mean(warm)", "temperature"},
    {"median(warm)", "temperature"},
    {"max(coolant, 90 °C)", "temperature"},
    {"stdev(warm)", "temperature difference"},
    {"uncertainty(coolant)", "temperature difference"},
    {"100 N * 20 cm", "product of force and length"},
    {"100 N * 20 cm + 3 N.m", "torque"},
    {"3 N.m + 100 N * 20 cm", "torque"},
    {"scatter(dry[weak])", "pressure for each cylinder"},
    {"0.75 * 25 N.m", "torque"},
    {"sqrt(4 mm2)", "length"},
    {"(2 mm)^3", "volume"},
    {"where(weak)", "text"},
    {"given(dry)", "truth for each cylinder"},
    {"dry[weak]", "pressure for each cylinder"},
    {"dry[3]", "pressure"},
    {"previous(plug)", "text for each cylinder"},
    {"stands_out(dry)", "truth for each cylinder"},
    {"stands_out(warm)", "truth for each cylinder"},
    {"count(weak)", "plain number"},
    {"elapsed(soak)", "time"},
    {"standard_pressure(1500 m)", "pressure"},
    {"min(dry, 10 bar)", "pressure for each cylinder"},
    {"tyre == 2 bar", "truth for each wheel"},
};

static void every_expression_has_a_type(void **state)
{
    (void)state;
    struct world *world = world_open();
    for (size_t i = 0; i < sizeof types / sizeof types[0]; i++) {
        const struct expression *expression = world_compile(world, types[i].written);
        if (expression == NULL)
            fail_msg("%s", types[i].written);
        struct type type = expression->type;
        assert_text(type_name(&world->arena, type,
                              type.index == INDEX_NONE ? TEXT("")
                                                       : world_index_name(world, type.index)),
                    types[i].type);
    }
    world_close(world);
}

static void a_use_can_ask_for_its_type(void **state)
{
    (void)state;
    struct world *world = world_open();
    struct type pressure = world->types[SYMBOL_absent];
    assert_true(expression_expect(world_compile(world, "min(dry)"), pressure, TEXT("the limit"),
                                  &world->found));
    assert_false(expression_expect(world_compile(world, "dry"), pressure, TEXT("the limit"),
                                   &world->found));
    assert_text(world->found.first->message,
                "'dry' is a pressure for each position, but the limit needs a pressure");
    struct type torque = {.base = TYPE_NUMBER, .index = INDEX_NONE};
    torque.kind = unit_find(TEXT("N.m"))->kind;
    assert_true(expression_expect(world_compile(world, "100 N * 20 cm"), torque,
                                  TEXT("the torque"), &world->found));
    assert_false(expression_expect(world_compile(world, "100 J"), torque, TEXT("the torque"),
                                   &world->found));
    struct type level = world->types[SYMBOL_level];
    assert_true(expression_expect(world_compile(world, "'between the marks'"), level,
                                  TEXT("the level"), &world->found));
    assert_false(expression_expect(world_compile(world, "'full'"), level, TEXT("the level"),
                                   &world->found));
    world_close(world);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(what_does_not_go_together_is_refused),
        cmocka_unit_test(another_index_is_refused_under_its_each),
        cmocka_unit_test(findings_say_what_is_wrong_and_what_is_wanted),
        cmocka_unit_test(without_names_of_indexes_it_is_a_position),
        cmocka_unit_test(every_expression_has_a_type),
        cmocka_unit_test(a_use_can_ask_for_its_type),
    };
    return cmocka_run_group_tests_name("expression/checker", tests, NULL, NULL);
}

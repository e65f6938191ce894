#ifndef TESTS_EXPRESSION_WORLD_H
#define TESTS_EXPRESSION_WORLD_H
/*
 * world.h - an invented engine to work expressions out in.
 *
 * Four cylinders that fire 1-3-4-2, four wheels, and readings that each test
 * may change.  Pressures are given in bar, which is what unit_to_si makes Pa of.
 */
#include "expression/expression.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

enum { CYLINDER, WHEEL };

enum symbol {
    SYMBOL_dry,     /* pressure for each cylinder */
    SYMBOL_wet,     /* pressure for each cylinder; the third is missing */
    SYMBOL_weak,    /* truth for each cylinder */
    SYMBOL_tyre,    /* pressure for each wheel */
    SYMBOL_warm,    /* temperature for each cylinder */
    SYMBOL_plug,    /* text for each cylinder */
    SYMBOL_level,   /* text with choices */
    SYMBOL_volume,  /* machine.displacement */
    SYMBOL_ratio,   /* plain number */
    SYMBOL_coolant, /* temperature */
    SYMBOL_absent,  /* pressure, missing */
    SYMBOL_is_cold, /* truth */
    SYMBOL_unknown, /* truth, missing */
    SYMBOL_local,   /* pressure, only under each cylinder */
    SYMBOL_COUNT
};

struct world {
    struct arena arena;
    struct scope scope;
    struct surroundings around;
    struct diagnostics found;
    struct source source;
    struct labels indexes[2];
    int here[2];
    struct text labels[4], wheels[4];
    unsigned firing[4];
    struct type types[SYMBOL_COUNT];
    struct scalar scalars[SYMBOL_COUNT][4];
    double elapsed, late;
};

static const struct text level_words[] = {
    {"below the lower mark", 20}, {"between the marks", 17}, {"above the upper mark", 20}};
static const struct choices level_choices = {3, level_words};

static const struct {
    const char *name;
    enum symbol symbol;
} world_names[] = {
    {"dry", SYMBOL_dry},         {"wet", SYMBOL_wet},
    {"weak", SYMBOL_weak},       {"tyre", SYMBOL_tyre},
    {"warm", SYMBOL_warm},       {"plug", SYMBOL_plug},
    {"level", SYMBOL_level},     {"machine.displacement", SYMBOL_volume},
    {"ratio", SYMBOL_ratio},     {"coolant", SYMBOL_coolant},
    {"absent", SYMBOL_absent},   {"is_cold", SYMBOL_is_cold},
    {"unknown", SYMBOL_unknown}, {"local", SYMBOL_local},
};

enum { WORLD_NAMES = sizeof world_names / sizeof world_names[0] };

static void world_stop(size_t bytes_wanted)
{
    fail_msg("wanted %zu bytes", bytes_wanted);
    abort();
}

static bool world_find(void *self, struct text name, struct meaning *meaning)
{
    struct world *world = self;
    *meaning = (struct meaning){.kind = MEANING_VALUE, .index = INDEX_NONE};
    if (text_equal(name, TEXT("cylinder")) || text_equal(name, TEXT("wheel"))) {
        meaning->kind = MEANING_INDEX;
        meaning->index = text_equal(name, TEXT("wheel")) ? WHEEL : CYLINDER;
        return true;
    }
    if (text_equal(name, TEXT("soak")) || text_equal(name, TEXT("rest"))) {
        meaning->kind = MEANING_TIMER;
        meaning->symbol = text_equal(name, TEXT("rest")) ? 1 : 0;
        meaning->index = meaning->symbol == 1 ? CYLINDER : INDEX_NONE;
        return true;
    }
    for (size_t i = 0; i < WORLD_NAMES; i++)
        if (text_equal(name, text_from(world_names[i].name))) {
            meaning->symbol = world_names[i].symbol;
            meaning->type = world->types[meaning->symbol];
            meaning->loops = meaning->symbol == SYMBOL_local ? 1 : 0;
            return true;
        }
    return false;
}

static struct text world_nearest(void *self, struct text name)
{
    (void)self;
    struct text names[WORLD_NAMES];
    for (size_t i = 0; i < WORLD_NAMES; i++)
        names[i] = text_from(world_names[i].name);
    return text_nearest(name, names, WORLD_NAMES);
}

static struct text world_index_name(void *self, int index)
{
    (void)self;
    return index == WHEEL ? TEXT("wheel") : TEXT("cylinder");
}

static struct value world_value_of(void *self, unsigned symbol, struct arena *arena)
{
    struct world *world = self;
    (void)arena;
    struct type type = world->types[symbol];
    return (struct value){type, type.index == INDEX_NONE ? 1 : world->indexes[type.index].count,
                          world->scalars[symbol]};
}

/* 11.0, 11.1, 11.3 bar at the first cylinder, one reading at the second, none at the others */
static struct value world_repeats_of(void *self, unsigned symbol, unsigned position,
                                     struct arena *arena)
{
    struct world *world = self;
    static const double bars[] = {11.0, 11.1, 11.3};
    struct value value = {.type = world->types[symbol]};
    value.type.index = INDEX_NONE;
    value.count = position == 0 ? 3 : (position == 1 ? 1 : 0);
    value.items = arena_array(arena, struct scalar, 3);
    for (size_t i = 0; i < 3; i++)
        value.items[i].number.value = bars[i] * 1e5;
    return value;
}

static double world_elapsed(void *self, unsigned timer, int position)
{
    struct world *world = self;
    return timer == 1 ? (double)position + 100 : world->elapsed;
}

static double world_late(void *self, unsigned timer, int position)
{
    (void)timer, (void)position;
    return ((struct world *)self)->late;
}

static void world_set(struct world *world, enum symbol symbol, enum type_base base,
                      const char *unit, int index, const double *values)
{
    struct type type = {.base = base, .index = index};
    if (unit != NULL)
        type.kind = unit_find(text_from(unit))->kind;
    world->types[symbol] = type;
    for (size_t i = 0; i < (index == INDEX_NONE ? 1 : 4); i++) {
        struct scalar *scalar = &world->scalars[symbol][i];
        *scalar = (struct scalar){0};
        if (base == TYPE_TRUTH)
            scalar->truth = values[i] != 0;
        else
            scalar->number.value = unit_to_si(unit_find(text_from(unit)), values[i]);
    }
}

static void world_fill(struct world *world)
{
    world_set(world, SYMBOL_dry, TYPE_NUMBER, "bar", CYLINDER, (double[]){12, 11, 8, 7});
    world_set(world, SYMBOL_wet, TYPE_NUMBER, "bar", CYLINDER, (double[]){12, 11, 0, 9});
    world_set(world, SYMBOL_weak, TYPE_TRUTH, NULL, CYLINDER, (double[]){0, 0, 1, 1});
    world_set(world, SYMBOL_tyre, TYPE_NUMBER, "bar", WHEEL, (double[]){2, 2, 3, 3});
    world_set(world, SYMBOL_warm, TYPE_NUMBER, "°C", CYLINDER, (double[]){20, 30, 40, 50});
    world_set(world, SYMBOL_volume, TYPE_NUMBER, "L", INDEX_NONE, (double[]){1.6});
    world_set(world, SYMBOL_ratio, TYPE_NUMBER, "1", INDEX_NONE, (double[]){9.5});
    world_set(world, SYMBOL_coolant, TYPE_NUMBER, "°C", INDEX_NONE, (double[]){85});
    world_set(world, SYMBOL_absent, TYPE_NUMBER, "bar", INDEX_NONE, (double[]){0});
    world_set(world, SYMBOL_is_cold, TYPE_TRUTH, NULL, INDEX_NONE, (double[]){1});
    world_set(world, SYMBOL_unknown, TYPE_TRUTH, NULL, INDEX_NONE, (double[]){0});
    world_set(world, SYMBOL_local, TYPE_NUMBER, "bar", INDEX_NONE, (double[]){5});
    world->scalars[SYMBOL_wet][2].is_missing = true;
    world->scalars[SYMBOL_absent][0].is_missing = true;
    world->scalars[SYMBOL_unknown][0].is_missing = true;
    world->types[SYMBOL_plug] = (struct type){.base = TYPE_TEXT, .index = CYLINDER};
    world->types[SYMBOL_level] =
        (struct type){.base = TYPE_TEXT, .choices = &level_choices, .index = INDEX_NONE};
    world->scalars[SYMBOL_level][0].text = level_words[1];
    static const char *const plugs[] = {"brown", "brown", "black", "white"};
    for (size_t i = 0; i < 4; i++)
        world->scalars[SYMBOL_plug][i].text = text_from(plugs[i]);
}

static inline struct world *world_open(void)
{
    static struct world world;
    world = (struct world){.arena = arena_open(64 * MEBIBYTE, world_stop)};
    world.scope = (struct scope){.self = &world,
                                 .find = world_find,
                                 .nearest = world_nearest,
                                 .index_name = world_index_name};
    static const char *const labels[] = {"1", "2", "3", "4"};
    static const char *const wheels[] = {"front left", "front right", "rear left",
                                         "rear right"};
    static const unsigned firing[] = {0, 2, 3, 1};
    for (size_t i = 0; i < 4; i++) {
        world.labels[i] = text_from(labels[i]);
        world.wheels[i] = text_from(wheels[i]);
        world.firing[i] = firing[i];
    }
    world.indexes[CYLINDER] = (struct labels){4, world.labels, world.firing};
    world.indexes[WHEEL] = (struct labels){4, world.wheels, NULL};
    world.here[CYLINDER] = world.here[WHEEL] = INDEX_NONE;
    world.around = (struct surroundings){.self = &world,
                                         .value_of = world_value_of,
                                         .repeats_of = world_repeats_of,
                                         .elapsed = world_elapsed,
                                         .late = world_late,
                                         .indexes = world.indexes,
                                         .index_count = 2,
                                         .here = world.here};
    world_fill(&world);
    diagnostics_begin(&world.found, &world.arena);
    return &world;
}

static inline void world_close(struct world *world)
{
    arena_close(&world->arena);
}

/* Stand under `each: cylinder`, at this position. */
static inline void world_enter(struct world *world, int position)
{
    world->scope.loops = 1;
    world->here[CYLINDER] = position;
}

static const struct expression *world_compile(struct world *world, const char *written)
{
    world->source = (struct source){TEXT("test.yaml"), text_from(written)};
    struct place place = {&world->source, 1, 1, 1, 1};
    return expression_compile(text_from(written), place, &world->scope, &world->found,
                              &world->arena);
}

static inline struct value work_out(struct world *world, const char *written)
{
    const struct expression *expression = world_compile(world, written);
    if (expression == NULL)
        fail_msg("%s: %.*s", written, (int)world->found.first->message.length,
                 world->found.first->message.bytes);
    return expression_evaluate(expression, &world->around, &world->arena);
}

static inline double number_of(struct world *world, const char *written)
{
    struct value value = work_out(world, written);
    assert_int_equal(value.type.base, TYPE_NUMBER);
    assert_false(value.items[0].is_missing);
    return value.items[0].number.value;
}

static inline bool truth_of(struct world *world, const char *written)
{
    struct value value = work_out(world, written);
    assert_int_equal(value.type.base, TYPE_TRUTH);
    assert_false(value.items[0].is_missing);
    return value.items[0].truth;
}

/* cmocka's own compares as float, which is too coarse here */
#define assert_near(got, wanted, tolerance)                                                    \
    assert_near_at((got), (wanted), (tolerance), __FILE__, __LINE__)
static inline void assert_near_at(double got, double wanted, double tolerance, const char *file,
                                  int line)
{
    double difference = got > wanted ? got - wanted : wanted - got;
    if (!(difference <= tolerance))
        fail_msg("%s:%d: %.17g is not %.17g", file, line, got, wanted);
}

static inline void assert_text(struct text text, const char *expected)
{
    if (!text_equal(text, text_from(expected)))
        fail_msg("'%.*s' is not '%s'", (int)text.length, text.bytes, expected);
}

static inline void assert_missing(struct world *world, const char *written, const char *name)
{
    struct value value = work_out(world, written);
    assert_true(value.items[0].is_missing);
    assert_text(value.items[0].missing_name, name);
}

struct faulty {
    const char *written, *code;
    unsigned column, end_column;
};

/* Exactly one finding, with this code, at this place. */
static inline void assert_faulty(struct world *world, const struct faulty *faulty)
{
    diagnostics_begin(&world->found, &world->arena);
    assert_null(world_compile(world, faulty->written));
    const struct diagnostic *first = world->found.first;
    assert_non_null(first);
    if (first->next != NULL)
        fail_msg("%s: a second finding: %.*s", faulty->written,
                 (int)first->next->message.length, first->next->message.bytes);
    if (strcmp(finding_code(first->finding), faulty->code) != 0 ||
        first->place.column != faulty->column || first->place.end_column != faulty->end_column)
        fail_msg("%s: %s at %u to %u: %.*s", faulty->written, finding_code(first->finding),
                 first->place.column, first->place.end_column, (int)first->message.length,
                 first->message.bytes);
}

#endif

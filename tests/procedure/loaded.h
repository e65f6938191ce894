#ifndef TESTS_PROCEDURE_LOADED_H
#define TESTS_PROCEDURE_LOADED_H
/* What the tests of this folder share: a library, a shelf of parts, and files made of lines. */
#include "procedure/load.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>

#include <cmocka.h>

/* A file of one test, and what came of it. */
struct loaded {
    struct arena arena;
    struct diagnostics found;
    struct source source, library;
    const struct safety_library *safety;
    const struct procedure *procedure;
};

static void out_of_memory(size_t bytes_wanted)
{
    (void)fprintf(stderr, "no room for %zu bytes\n", bytes_wanted);
    abort();
}

/* Invented, and as small as the tests need. */
static const char loaded_library[] =
    "conditions:\n"
    "  chocked: {ask: Push it., expect: stayed, otherwise: [moved], restore: Chocks away.}\n"
    "  clear: {ask: Who is near?, expect: nobody, otherwise: [someone], lapses_after: 0 min}\n"
    "  cool: {ask: A hand near it., expect: cool, otherwise: [hot]}\n"
    "  wet: {each: cylinder, restore: Turn it by hand.}\n"
    "activities:\n"
    "  crank:\n"
    "    signal: danger\n"
    "    hazard: Moving belts.\n"
    "    harm: Crushed fingers.\n"
    "    needs: [clear]\n"
    "    forbids: [wet]\n"
    "    clears: [cool, wet]\n";

/* Parts that can be followed. */
static const struct {
    const char *name, *bytes;
} loaded_parts[] = {
    {"measure_part",
     "procedure: measure_part\ntitle: Measure\nrevision: 1\nabout: A part.\n"
     "machine: {size: mm}\n"
     "steps:\n  - step: take\n    do: Measure.\n    record: {depth: {unit: mm}}\n"
     "    torque: 20 N.m\n"
     "names: {twice: 2 * depth}\n"},
};

static const struct source *fetch_part(void *self, struct text name)
{
    struct loaded *loaded = self;
    for (size_t i = 0; i < sizeof loaded_parts / sizeof *loaded_parts; i++)
        if (text_equal(name, text_from(loaded_parts[i].name))) {
            struct source *source = arena_new(&loaded->arena, struct source);
            *source = (struct source){name, text_from(loaded_parts[i].bytes)};
            return source;
        }
    return NULL;
}

/* Loads what stands under `steps:` and behind it. */
static inline void load_steps(struct loaded *loaded, const char *head, const char *steps)
{
    *loaded = (struct loaded){.arena = arena_open(32 * MEBIBYTE, out_of_memory)};
    struct arena *arena = &loaded->arena;
    diagnostics_begin(&loaded->found, arena);
    loaded->library = (struct source){TEXT("safety.yaml"), text_from(loaded_library)};
    const struct source **libraries = arena_array(arena, const struct source *, 1);
    libraries[0] = &loaded->library;
    loaded->safety = safety_load(libraries, 1, &loaded->found, arena);
    loaded->source = (struct source){
        TEXT("test.yaml"),
        text_fill(arena,
                  "procedure: test\ntitle: Test\nrevision: 3\nabout: A test.\n{}steps:\n{}",
                  text_from(head), text_from(steps))};
    struct shelf shelf = {.self = loaded, .fetch = fetch_part};
    loaded->procedure =
        procedure_load(&loaded->source, loaded->safety, shelf, &loaded->found, arena);
}

static inline void loaded_close(struct loaded *loaded)
{
    arena_close(&loaded->arena);
}

/* The first finding of that code, or NULL. */
static inline const struct diagnostic *find_code(const struct loaded *loaded,
                                                 enum finding finding)
{
    for (const struct diagnostic *at = loaded->found.first; at != NULL; at = at->next)
        if (at->finding == finding)
            return at;
    return NULL;
}

/* Loads, and wants exactly one error, this one; prints what else there is. */
static inline void wants_error(const char *head, const char *steps, enum finding finding)
{
    struct loaded loaded;
    load_steps(&loaded, head, steps);
    unsigned errors = loaded.found.count_by_severity[SEVERITY_ERROR];
    bool is_there = find_code(&loaded, finding) != NULL;
    for (const struct diagnostic *at = loaded.found.first; at != NULL; at = at->next)
        if (errors != 1 || !is_there)
            print_error("%u:%u %s %.*s\n", at->place.line, at->place.column,
                        finding_code(at->finding), (int)at->message.length, at->message.bytes);
    loaded_close(&loaded);
    assert_true(is_there);
    assert_int_equal(errors, 1);
}

static inline void wants_sound(struct loaded *loaded, const char *head, const char *steps)
{
    load_steps(loaded, head, steps);
    for (const struct diagnostic *at = loaded->found.first; at != NULL; at = at->next)
        print_error("%u:%u %s %.*s\n", at->place.line, at->place.column,
                    finding_code(at->finding), (int)at->message.length, at->message.bytes);
    assert_int_equal(loaded->found.count_by_severity[SEVERITY_ERROR], 0);
    assert_non_null(loaded->procedure);
}

static inline void assert_text(struct text text, const char *wanted)
{
    if (!text_equal(text, text_from(wanted)))
        print_error("'%.*s', wanted '%s'\n", (int)text.length, text.bytes, wanted);
    assert_true(text_equal(text, text_from(wanted)));
}

static inline const struct step *step_named(const struct loaded *loaded, const char *name)
{
    const struct work *work = procedure_find_step(loaded->procedure, text_from(name));
    assert_non_null(work);
    return work->step;
}

#endif

#ifndef TESTS_SAFETY_GARAGE_H
#define TESTS_SAFETY_GARAGE_H
/* A small procedure of its own, read from text, for the tests of conditions and make safe. */
#include "procedure/load.h"
#include "safety/makesafe.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

struct garage {
    struct arena arena;
    struct diagnostics found;
    const struct procedure *procedure;
    struct condition_state state;
};

static void garage_full(size_t bytes_wanted)
{
    fail_msg("wanted %zu bytes", bytes_wanted);
    abort();
}

static const struct source *no_such(void *self, struct text name)
{
    (void)self;
    (void)name;
    return NULL;
}

static struct text no_hint(void *self, struct text name)
{
    (void)self;
    (void)name;
    return TEXT("");
}

/* The steps of a whole procedure; `positions` for every index. */
static void garage_open(struct garage *garage, const char *library, const char *steps,
                        size_t positions)
{
    garage->arena = arena_open(64 * MEBIBYTE, garage_full);
    struct arena *arena = &garage->arena;
    diagnostics_begin(&garage->found, arena);
    struct source *safety_source = arena_new(arena, struct source);
    *safety_source = (struct source){TEXT("safety.yaml"), text_from(library)};
    const struct source *sources[] = {safety_source};
    const struct safety_library *safety = safety_load(sources, 1, &garage->found, arena);
    struct source *source = arena_new(arena, struct source);
    *source = (struct source){
        TEXT("garage.yaml"),
        text_fill(
            arena,
            "procedure: garage\ntitle: A garage\nrevision: 1\nabout: For a test.\nsteps:\n{}",
            text_from(steps))};
    struct shelf shelf = {NULL, no_such, no_hint};
    garage->procedure = procedure_load(source, safety, shelf, &garage->found, arena);
    if (garage->found.count_by_severity[SEVERITY_ERROR] > 0) {
        struct page page;
        page_begin(&page, arena);
        diagnostics_write(&garage->found, &page.writer, arena);
        struct text all = page_text(&page);
        fail_msg("%.*s", (int)all.length, all.bytes);
    }
    size_t *counts = arena_array(arena, size_t, garage->procedure->index_count);
    for (size_t i = 0; i < garage->procedure->index_count; i++)
        counts[i] = positions;
    garage->state = condition_state_begin(garage->procedure, counts, arena);
}

static void garage_close(struct garage *garage)
{
    arena_close(&garage->arena);
}

static inline unsigned condition_of(const struct garage *garage, const char *name)
{
    int id = procedure_find_condition(garage->procedure, text_from(name));
    assert_true(id >= 0);
    return (unsigned)id;
}

static inline const struct step *step_of(const struct garage *garage, const char *name)
{
    const struct work *work = procedure_find_step(garage->procedure, text_from(name));
    assert_non_null(work);
    return work->step;
}

/* `here` for a procedure with at most one index. */
static inline const int *at(const struct garage *garage, int position)
{
    int *here = arena_array((struct arena *)(uintptr_t)&garage->arena, int,
                            garage->procedure->index_count + 1);
    for (size_t i = 0; i <= garage->procedure->index_count; i++)
        here[i] = position;
    return here;
}

static inline enum gate_verdict gate_of(struct garage *garage, const char *step, int position,
                                        long long now)
{
    return gate_look(&garage->state, step_of(garage, step), at(garage, position), now,
                     &garage->arena)
        .verdict;
}

/* Every question of the step answered as expected, or none of them. */
static inline void do_step(struct garage *garage, const char *name, int position,
                           bool as_expected, long long now)
{
    const struct step *step = step_of(garage, name);
    bool *answers = arena_array(&garage->arena, bool, step->sets_count);
    for (size_t i = 0; i < step->sets_count; i++) {
        unsigned id = step->sets[i].condition;
        answers[i] = as_expected || !garage->procedure->conditions[id]->has_question;
    }
    condition_step_done(&garage->state, step, at(garage, position), answers, now);
}

#endif

#ifndef TESTS_VERIFY_PROVEN_H
#define TESTS_VERIFY_PROVEN_H
/* A procedure that stands in the test, read and proven. */
#include "procedure/load.h"
#include "verify/verify.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>

#include <cmocka.h>

struct proven {
    struct arena arena, scratch;
    struct diagnostics found;
    const struct procedure *procedure;
    struct proof proof;
};

static inline void proven_full(size_t bytes_wanted)
{
    (void)fprintf(stderr, "no room for %zu bytes\n", bytes_wanted);
    abort();
}

/* No mistake was found while reading it; `head` stands before the steps. */
static inline void proven_read(struct proven *proven, const char *head, const char *steps)
{
    proven->arena = arena_open(4 * MEBIBYTE, proven_full);
    proven->scratch = arena_open(16 * MEBIBYTE, proven_full);
    struct source *source = arena_new(&proven->arena, struct source);
    *source = (struct source){TEXT("test.yaml"),
                              text_fill(&proven->arena,
                                        "procedure: test\ntitle: Test\nrevision: 1\n"
                                        "about: A test.\n{}steps:\n{}",
                                        text_from(head), text_from(steps))};
    diagnostics_begin(&proven->found, &proven->arena);
    proven->procedure =
        procedure_load(source, NULL, (struct shelf){0}, &proven->found, &proven->arena);
    for (const struct diagnostic *at = proven->found.first; at != NULL; at = at->next)
        if (finding_severity(at->finding) == SEVERITY_ERROR)
            fail_msg("%u: %.*s", at->place.line, (int)at->message.length, at->message.bytes);
}

static inline void proven_begin(struct proven *proven, const char *head, const char *steps)
{
    proven_read(proven, head, steps);
    proven->proof =
        verify_procedure(proven->procedure, &proven->found, &proven->arena, &proven->scratch);
}

static inline void proven_end(struct proven *proven)
{
    arena_close(&proven->scratch);
    arena_close(&proven->arena);
}

static inline struct text proven_words(struct proven *proven, const struct unsafe_path *path)
{
    struct text all = {0};
    for (size_t i = 0; i < path->event_count; i++)
        all = text_fill(&proven->arena, "{}{}\n", all,
                        path_event_words(proven->procedure, &path->events[i], &proven->arena));
    return text_fill(&proven->arena, "{}{}\n", all,
                     path_fault_words(proven->procedure, path, &proven->arena));
}

static inline void proven_show(struct proven *proven)
{
    for (size_t i = 0; i < proven->proof.path_count; i++) {
        struct text words = proven_words(proven, &proven->proof.paths[i]);
        print_error("%.*s", (int)words.length, words.bytes);
    }
}

static inline void is_sound(const char *head, const char *steps)
{
    struct proven proven;
    proven_begin(&proven, head, steps);
    if (proven.proof.verdict != PROOF_SOUND)
        proven_show(&proven);
    assert_int_equal(proven.proof.verdict, PROOF_SOUND);
    proven_end(&proven);
}

/* The first fault, at the step of that name (empty: at the end), after so many events. */
static inline void is_unsafe(const char *head, const char *steps, enum path_fault fault,
                             const char *at, size_t events)
{
    struct proven proven;
    proven_begin(&proven, head, steps);
    const struct proof *proof = &proven.proof;
    assert_int_equal(proof->verdict, PROOF_UNSAFE);
    assert_true(proof->path_count > 0);
    const struct unsafe_path *path = &proof->paths[0];
    struct text name = path->work == NULL         ? TEXT("")
                       : path->work->step == NULL ? path->work->title
                                                  : path->work->step->name;
    bool is_as_said =
        path->fault == fault && text_equal(name, text_from(at)) && path->event_count == events;
    if (!is_as_said)
        proven_show(&proven);
    assert_int_equal(path->fault, fault);
    assert_true(text_equal(name, text_from(at)));
    assert_int_equal(path->event_count, events);
    proven_end(&proven);
}

#endif

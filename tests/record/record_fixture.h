#ifndef RECORD_FIXTURE_H
#define RECORD_FIXTURE_H
/*
 * record_fixture.h - a record in a folder of its own, for each test of record/.
 */
#include "record/record.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <unistd.h>

#include <cmocka.h>

struct fixture {
    struct arena arena;
    char folder[64];
    struct text path;
    struct record *record;
    struct failure failure;
};

static inline void fixture_exhausted(size_t bytes_wanted)
{
    fail_msg("no memory for %zu bytes", bytes_wanted);
    abort();
}

static inline int fixture_begin(void **state)
{
    struct fixture *fixture = test_calloc(1, sizeof *fixture);
    fixture->arena = arena_open(256 * MEBIBYTE, fixture_exhausted);
    snprintf(fixture->folder, sizeof fixture->folder, "/tmp/banksman-record-XXXXXX");
    assert_non_null(mkdtemp(fixture->folder));
    fixture->path = text_fill(&fixture->arena, "{}/jobs.sqlite", text_from(fixture->folder));
    *state = fixture;
    return 0;
}

static inline int fixture_end(void **state)
{
    struct fixture *fixture = *state;
    record_close(fixture->record);
    static const char *const names[] = {"jobs.sqlite", "jobs.sqlite-wal", "jobs.sqlite-shm",
                                        "jobs.sqlite.lock", "jobs.sqlite-journal"};
    for (size_t i = 0; i < sizeof names / sizeof *names; i++) {
        char path[128];
        snprintf(path, sizeof path, "%s/%s", fixture->folder, names[i]);
        unlink(path);
    }
    rmdir(fixture->folder);
    arena_close(&fixture->arena);
    test_free(fixture);
    return 0;
}

static inline const char *fixture_path(struct fixture *fixture)
{
    return text_terminated(&fixture->arena, fixture->path);
}

static inline const char *fixture_words(struct fixture *fixture)
{
    return text_terminated(&fixture->arena,
                           text_fill(&fixture->arena, "{} {}: {}", fixture->failure.operation,
                                     fixture->failure.object, fixture->failure.reason));
}

static inline void fixture_open(struct fixture *fixture)
{
    if (!record_open(&fixture->record, fixture->path, &fixture->arena, &fixture->failure))
        fail_msg("%s", fixture_words(fixture));
}

static inline void fixture_close(struct fixture *fixture)
{
    record_close(fixture->record);
    fixture->record = NULL;
}

static inline void fixture_says(struct fixture *fixture, const char *words)
{
    if (strstr(fixture_words(fixture), words) == NULL)
        fail_msg("'%s' is not in: %s", words, fixture_words(fixture));
}

static inline unsigned fixture_start(struct fixture *fixture, struct text machine)
{
    static const struct source procedure = {{"procedures/wash.yaml", 20},
                                            {"procedure: wash\n", 16}};
    static const struct source sheet = {{"machines/alder_van.yaml", 23}, {"machine: a\n", 11}};
    const struct job_source sources[] = {
        {.role = ROLE_PROCEDURE, .name = TEXT("wash"), .source = &procedure},
        {.role = ROLE_MACHINE, .name = TEXT("alder_van"), .source = &sheet}};
    struct job_start start = {.procedure = TEXT("wash"),
                              .title = TEXT("Wash the windows"),
                              .machine = machine,
                              .sources = sources,
                              .source_count = 2};
    unsigned id = 0;
    if (!record_start_job(fixture->record, &start, &id, &fixture->failure))
        fail_msg("%s", fixture_words(fixture));
    return id;
}

static inline struct event fixture_started(void)
{
    return (struct event){.kind = EVENT_STARTED,
                          .number = 1,
                          .position = INDEX_NONE,
                          .at = {.wall = 1700000000000, .steady = 5, .boot = TEXT("boot-1")},
                          .zone = TEXT("+01:00"),
                          .seed = 18446744073709551615ULL};
}

static inline struct event fixture_noted(unsigned number, struct text typed)
{
    return (struct event){.kind = EVENT_NOTED,
                          .number = number,
                          .position = INDEX_NONE,
                          .at = {.wall = 1700000000000 + number},
                          .typed = typed};
}

static inline void fixture_append(struct fixture *fixture, unsigned job_id,
                                  const struct event *events, size_t count)
{
    struct journal journal = record_journal(fixture->record, job_id);
    if (!journal.append(journal.self, events, count, &fixture->failure))
        fail_msg("%s", fixture_words(fixture));
}

#endif

/*
 * job_rows.c - starting a job, what it was started with, and the list of jobs.
 */
#include "chain.h"
#include "store.h"

#include <assert.h>
#include <limits.h>

static const char *const role_names[] = {
    [ROLE_PROCEDURE] = "procedure", [ROLE_FOLLOWED] = "followed", [ROLE_SAFETY] = "safety",
    [ROLE_MACHINE] = "machine",     [ROLE_GAUGES] = "gauges",     [ROLE_ANSWERS] = "answers"};
enum { ROLE_COUNT = sizeof role_names / sizeof *role_names, FIELDS_PER_SOURCE = 4 };

/* --- starting ------------------------------------------------------------------------------ */

/* Over the job's row and its sources, so that the chain of events begins with them. */
static struct digest digest_of_start(unsigned id, const struct text row[3],
                                     const struct job_source *sources, size_t count,
                                     struct arena *scratch)
{
    assert(count == 0 || sources != NULL);
    size_t field_count = 4 + FIELDS_PER_SOURCE * count;
    struct text *fields = arena_array(scratch, struct text, field_count);
    fields[0] = text_number(scratch, id);
    memcpy(fields + 1, row, 3 * sizeof *row);
    for (size_t i = 0; i < count; i++) {
        struct text *field = fields + 4 + FIELDS_PER_SOURCE * i;
        field[0] = text_from(role_names[sources[i].role]);
        field[1] = sources[i].name;
        field[2] = sources[i].source->path;
        field[3] = sources[i].digest;
    }
    return digest_of_fields(fields, field_count, scratch);
}

static bool next_job(struct record *record, unsigned *id, struct text operation,
                     struct failure *failure)
{
    sqlite3_stmt *statement = store_statement(record, STATEMENT_NEXT_JOB);
    bool is_row = sqlite3_step(statement) == SQLITE_ROW;
    long long number = is_row ? sqlite3_column_int64(statement, 0) : 0;
    if (!is_row)
        store_failed(record, operation, failure);
    sqlite3_reset(statement);
    if (is_row && number > INT_MAX)
        return store_refused(record, operation, TEXT("it holds as many jobs as it can"),
                             failure);
    *id = (unsigned)number;
    return is_row;
}

static bool add_source(struct record *record, unsigned id, unsigned number,
                       const struct job_source *source)
{
    sqlite3_stmt *keep = store_statement(record, STATEMENT_KEEP_BYTES);
    store_bind_text(keep, 1, source->digest);
    store_bind_bytes(keep, 2, source->source->bytes);
    if (!store_ran(keep))
        return false;
    sqlite3_stmt *add = store_statement(record, STATEMENT_ADD_SOURCE);
    sqlite3_bind_int64(add, 1, id);
    sqlite3_bind_int64(add, 2, number);
    store_bind_text(add, 3, text_from(role_names[source->role]));
    store_bind_text(add, 4, source->name);
    store_bind_text(add, 5, source->source->path);
    store_bind_text(add, 6, source->digest);
    return store_ran(add);
}

static bool add_job(struct record *record, unsigned id, const struct job_start *start)
{
    struct arena *scratch = &record->scratch;
    struct job_source *sources = arena_array(scratch, struct job_source, start->source_count);
    for (size_t i = 0; i < start->source_count; i++) {
        sources[i] = start->sources[i];
        struct digest digest = digest_of(sources[i].source->bytes);
        sources[i].digest = text_copy(scratch, digest_text(&digest));
    }
    const struct text row[3] = {start->procedure, start->title, start->machine};
    struct digest digest = digest_of_start(id, row, sources, start->source_count, scratch);
    sqlite3_stmt *add = store_statement(record, STATEMENT_ADD_JOB);
    sqlite3_bind_int64(add, 1, id);
    for (int i = 0; i < 3; i++)
        store_bind_text(add, 2 + i, row[i]);
    store_bind_text(add, 5, digest_text(&digest));
    if (!store_ran(add))
        return false;
    for (size_t i = 0; i < start->source_count; i++)
        if (!add_source(record, id, (unsigned)i + 1, &sources[i]))
            return false;
    record->begun_digest = digest;
    return true;
}

bool record_start_job(struct record *record, const struct job_start *start, unsigned *job_id,
                      struct failure *failure)
{
    struct text operation = TEXT("begin a job in");
    struct arena_mark mark = arena_mark(&record->scratch);
    if (!store_begin(record, operation, failure))
        return false;
    bool is_added = false;
    if (next_job(record, job_id, operation, failure) &&
        record_take_job(record, *job_id, failure))
        is_added = add_job(record, *job_id, start) || store_failed(record, operation, failure);
    if (is_added)
        is_added = store_commit(record, operation, failure);
    else
        store_roll_back(record);
    record->begun = is_added ? *job_id : 0;
    arena_rewind(&record->scratch, mark);
    return is_added;
}

/* --- what was kept --------------------------------------------------------------------------- */

struct source_row {
    struct job_source kept;
    struct source_row *next;
};

static bool read_source(struct record *record, sqlite3_stmt *statement, unsigned job_id,
                        struct job_source *kept, struct arena *arena, struct failure *failure)
{
    struct text operation = TEXT("read");
    struct text role = store_column_text(statement, 1, arena);
    unsigned number = 0;
    while (number < ROLE_COUNT && !text_equal(role, text_from(role_names[number])))
        number++;
    struct source *source = arena_new(arena, struct source);
    source->path = store_column_text(statement, 3, arena);
    source->bytes = store_column_bytes(statement, 5, arena);
    *kept = (struct job_source){.role = (enum source_role)number,
                                .name = store_column_text(statement, 2, arena),
                                .source = source,
                                .digest = store_column_text(statement, 4, arena)};
    struct digest digest = digest_of(source->bytes);
    bool is_sound = number < ROLE_COUNT && text_equal(digest_text(&digest), kept->digest) &&
                    text_check(source->path, NULL) == TEXT_SOUND &&
                    text_check(kept->name, NULL) == TEXT_SOUND;
    return is_sound ||
           store_refused(record, operation,
                         text_fill(record->arena,
                                   "a file kept with job {} is not what it was when the job "
                                   "began; the record was changed or is damaged",
                                   text_number(record->arena, job_id)),
                         failure);
}

static bool read_sources(struct record *record, unsigned job_id,
                         const struct job_source **sources, size_t *count, struct arena *arena,
                         struct failure *failure)
{
    struct source_row *first = NULL, **last = &first;
    sqlite3_stmt *statement = store_statement(record, STATEMENT_SOURCES);
    sqlite3_bind_int64(statement, 1, job_id);
    int result;
    *count = 0;
    while ((result = sqlite3_step(statement)) == SQLITE_ROW) {
        struct source_row *row = arena_new(&record->scratch, struct source_row);
        if (!read_source(record, statement, job_id, &row->kept, arena, failure))
            return false;
        *last = row;
        last = &row->next;
        ++*count;
    }
    if (result != SQLITE_DONE)
        return store_failed(record, TEXT("read"), failure);
    struct job_source *list = arena_array(arena, struct job_source, *count);
    size_t i = 0;
    for (const struct source_row *row = first; row != NULL; row = row->next)
        list[i++] = row->kept;
    *sources = list;
    return true;
}

bool record_load_sources(struct record *record, unsigned job_id,
                         const struct job_source **sources, size_t *count, struct arena *arena,
                         struct failure *failure)
{
    struct arena_mark mark = arena_mark(&record->scratch);
    bool is_read = read_sources(record, job_id, sources, count, arena, failure);
    sqlite3_reset(record->statements[STATEMENT_SOURCES]);
    arena_rewind(&record->scratch, mark);
    return is_read;
}

/* --- what a job's chain begins with -------------------------------------------------------------- */

bool job_begins_soundly(struct record *record, unsigned job_id, struct digest *digest,
                        struct failure *failure)
{
    struct text operation = TEXT("read");
    struct arena *scratch = &record->scratch;
    sqlite3_stmt *statement = store_statement(record, STATEMENT_JOB);
    sqlite3_bind_int64(statement, 1, job_id);
    int result = sqlite3_step(statement);
    struct text row[3] = {{0}}, claimed = {0};
    for (int i = 0; result == SQLITE_ROW && i < 3; i++)
        row[i] = store_column_text(statement, i, scratch);
    if (result == SQLITE_ROW)
        claimed = store_column_text(statement, 3, scratch);
    if (result != SQLITE_ROW && result != SQLITE_DONE)
        store_failed(record, operation, failure);
    sqlite3_reset(statement);
    struct text number = text_number(record->arena, job_id);
    if (result == SQLITE_DONE)
        return store_refused(record, operation,
                             text_fill(record->arena,
                                       "there is no job {} in it; 'banksman jobs' lists them",
                                       number),
                             failure);
    const struct job_source *sources = NULL;
    size_t count = 0;
    if (result != SQLITE_ROW)
        return false;
    bool is_read = read_sources(record, job_id, &sources, &count, scratch, failure);
    sqlite3_reset(record->statements[STATEMENT_SOURCES]);
    if (!is_read)
        return false;
    *digest = digest_of_start(job_id, row, sources, count, scratch);
    return text_equal(digest_text(digest), claimed) ||
           store_refused(record, operation,
                         text_fill(record->arena,
                                   "what job {} was started with was changed afterwards; do "
                                   "not rely on it",
                                   number),
                         failure);
}

/* --- the list -------------------------------------------------------------------------------- */

struct summary_row {
    struct job_summary summary;
    struct summary_row *next;
};

static struct job_summary read_summary(struct record *record, sqlite3_stmt *statement,
                                       struct arena *arena)
{
    struct job_summary summary = {.id = (unsigned)sqlite3_column_int64(statement, 0),
                                  .procedure = store_column_text(statement, 1, arena),
                                  .title = store_column_text(statement, 2, arena),
                                  .machine = store_column_text(statement, 3, arena),
                                  .started = sqlite3_column_int64(statement, 4),
                                  .last = sqlite3_column_int64(statement, 5),
                                  .is_rehearsal = sqlite3_column_int(statement, 6) != 0,
                                  .digest = store_column_text(statement, 8, arena)};
    struct text ended = store_column_text(statement, 7, &record->scratch);
    summary.state = text_equal(ended, TEXT("completed")) ? JOB_COMPLETED
                    : ended.length > 0                   ? JOB_LEFT_OPEN
                                                         : JOB_OPEN;
    summary.is_taken = lock_is_taken(record, summary.id);
    return summary;
}

bool record_list_jobs(struct record *record, const struct job_summary **jobs, size_t *count,
                      struct arena *arena, struct failure *failure)
{
    struct arena_mark mark = arena_mark(&record->scratch);
    struct summary_row *first = NULL, **last = &first;
    sqlite3_stmt *statement = store_statement(record, STATEMENT_JOBS);
    int result;
    size_t length = 0;
    while ((result = sqlite3_step(statement)) == SQLITE_ROW) {
        struct summary_row *row = arena_new(&record->scratch, struct summary_row);
        row->summary = read_summary(record, statement, arena);
        *last = row;
        last = &row->next;
        length++;
    }
    bool is_read = result == SQLITE_DONE || store_failed(record, TEXT("read"), failure);
    sqlite3_reset(statement);
    struct job_summary *list = arena_array(arena, struct job_summary, length);
    size_t i = 0;
    for (const struct summary_row *row = first; row != NULL; row = row->next)
        list[i++] = row->summary;
    *jobs = list;
    *count = length;
    arena_rewind(&record->scratch, mark);
    return is_read;
}

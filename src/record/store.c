#include "store.h"

#include <assert.h>
#include <unistd.h>

static const char *const statement_texts[] = {
#define STATEMENT(name, sql) sql,
#include "record/statement_list.h"
#undef STATEMENT
};

/* Enduring answers first; how long another job's append may keep us waiting. */
static const char settings[] = "PRAGMA foreign_keys = ON;"
                               "PRAGMA recursive_triggers = ON;"
                               "PRAGMA synchronous = FULL;"
                               "PRAGMA cell_size_check = ON;";
enum { BUSY_MILLISECONDS = 10000 };

/* --- failures -------------------------------------------------------------------------- */

static const char *advice(int result)
{
    switch (result) {
    case SQLITE_FULL:
        return "the disk is full; make room, then go on where you were";
    case SQLITE_READONLY:
        return "the file or its folder may not be written to; allow it, or use another place";
    case SQLITE_CANTOPEN:
        return "it cannot be opened; see that its folder is there and may be written to";
    case SQLITE_NOTADB:
        return "this file is not a record of jobs; move it away, or name another";
    case SQLITE_CORRUPT:
        return "the file is damaged; keep a copy of it as it is, then put back a backup";
    case SQLITE_BUSY:
    case SQLITE_LOCKED:
        return "another program keeps it busy; close that one, then try again";
    case SQLITE_IOERR:
        return "the disk reports an error; see that it is sound and not full";
    case SQLITE_PERM:
    case SQLITE_AUTH:
        return "it may not be used; see who may read and write it";
    case SQLITE_TOOBIG:
        return "what is to be written is too large";
    default: /* not an enumeration of ours: SQLite may add to its codes */
        return "the record refuses it";
    }
}

bool store_refused(struct record *record, struct text operation, struct text reason,
                   struct failure *failure)
{
    failure->operation = operation;
    failure->object = text_fill(record->arena, "the record {}", record->path);
    failure->reason = reason;
    return false;
}

bool store_failed(struct record *record, struct text operation, struct failure *failure)
{
    struct text library = text_from(sqlite3_errmsg(record->database));
    int result = sqlite3_errcode(record->database) & 0xFF;
    struct text reason =
        text_fill(record->arena, "{} ({})", text_from(advice(result)), library);
    return store_refused(record, operation, reason, failure);
}

/* --- statements ------------------------------------------------------------------------ */

sqlite3_stmt *store_statement(struct record *record, enum statement which)
{
    sqlite3_stmt *statement = record->statements[which];
    sqlite3_reset(statement);
    sqlite3_clear_bindings(statement);
    return statement;
}

bool store_ran(sqlite3_stmt *statement)
{
    int result = sqlite3_step(statement);
    bool is_done = result == SQLITE_DONE;
    sqlite3_reset(statement);
    return is_done;
}

void store_bind_text(sqlite3_stmt *statement, int parameter, struct text text)
{
    /* a NULL pointer would bind NULL, not the empty text */
    const char *bytes = text.length > 0 ? text.bytes : "";
    sqlite3_bind_text64(statement, parameter, bytes, text.length, SQLITE_STATIC, SQLITE_UTF8);
}

void store_bind_bytes(sqlite3_stmt *statement, int parameter, struct text bytes)
{
    const char *first = bytes.length > 0 ? bytes.bytes : "";
    sqlite3_bind_blob64(statement, parameter, first, bytes.length, SQLITE_STATIC);
}

struct text store_column_text(sqlite3_stmt *statement, int column, struct arena *arena)
{
    const char *bytes = (const char *)sqlite3_column_text(statement, column);
    size_t length = (size_t)sqlite3_column_bytes(statement, column);
    return text_copy(arena, (struct text){bytes != NULL ? bytes : "", length});
}

struct text store_column_bytes(sqlite3_stmt *statement, int column, struct arena *arena)
{
    const char *bytes = sqlite3_column_blob(statement, column);
    size_t length = (size_t)sqlite3_column_bytes(statement, column);
    return text_copy(arena, (struct text){bytes != NULL ? bytes : "", length});
}

bool store_begin(struct record *record, struct text operation, struct failure *failure)
{
    return store_ran(store_statement(record, STATEMENT_BEGIN)) ||
           store_failed(record, operation, failure);
}

bool store_commit(struct record *record, struct text operation, struct failure *failure)
{
    if (store_ran(store_statement(record, STATEMENT_COMMIT)))
        return true;
    store_failed(record, operation, failure);
    store_roll_back(record);
    return false;
}

void store_roll_back(struct record *record)
{
    /* a full disk may have rolled it back already */
    if (sqlite3_get_autocommit(record->database) == 0)
        store_ran(store_statement(record, STATEMENT_ROLLBACK));
}

/* --- opening and closing ----------------------------------------------------------------- */

static bool opened(struct record *record, struct failure *failure)
{
    struct text operation = TEXT("open");
    int flags = SQLITE_OPEN_READWRITE | SQLITE_OPEN_CREATE | SQLITE_OPEN_NOMUTEX;
    const char *path = text_terminated(&record->scratch, record->path);
    if (sqlite3_open_v2(path, &record->database, flags, NULL) != SQLITE_OK)
        return store_failed(record, operation, failure);
    sqlite3_extended_result_codes(record->database, 1);
    sqlite3_busy_timeout(record->database, BUSY_MILLISECONDS);
    sqlite3_db_config(record->database, SQLITE_DBCONFIG_DEFENSIVE, 1, NULL);
    if (sqlite3_db_readonly(record->database, "main") == 1)
        return store_refused(record, operation, text_from(advice(SQLITE_READONLY)), failure);
    if (sqlite3_exec(record->database, settings, NULL, NULL, NULL) != SQLITE_OK)
        return store_failed(record, operation, failure);
    if (!schema_make_or_check(record, failure))
        return false;
    for (size_t i = 0; i < STATEMENT_COUNT; i++)
        if (sqlite3_prepare_v3(record->database, statement_texts[i], -1,
                               SQLITE_PREPARE_PERSISTENT, &record->statements[i],
                               NULL) != SQLITE_OK)
            return store_failed(record, operation, failure);
    return true;
}

bool record_open(struct record **record, struct text path, struct arena *arena,
                 struct failure *failure)
{
    assert(path.length > 0);
    /* SQLite would take such a name as one of its own special ones */
    struct text plain = path.bytes[0] == ':' ? text_fill(arena, "./{}", path) : path;
    struct record *opening = arena_new(arena, struct record);
    *opening = (struct record){.arena = arena,
                               .scratch = arena_open(64 * MEBIBYTE, arena->exhausted),
                               .path = text_copy(arena, plain),
                               .lock_file = -1};
    *record = opening;
    if (opened(opening, failure))
        return true;
    record_close(opening);
    *record = NULL;
    return false;
}

void record_close(struct record *record)
{
    if (record == NULL)
        return;
    for (size_t i = 0; i < STATEMENT_COUNT; i++)
        sqlite3_finalize(record->statements[i]);
    sqlite3_close(record->database);
    record->database = NULL;
    if (record->lock_file >= 0)
        close(record->lock_file); /* which gives up every job that was taken */
    record->lock_file = -1;
    arena_close(&record->scratch);
}

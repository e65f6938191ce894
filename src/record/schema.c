/*
 * schema.c - makes the schema in a new file, and knows its own in an old one.
 */
#include "record/record_sql.h" /* made from schemas/record.sql by the Makefile */
#include "store.h"

enum { APPLICATION_ID = 0x424E536D, SCHEMA_VERSION = 1 };

static const char application_question[] = "PRAGMA application_id";
static const char version_question[] = "PRAGMA user_version";
static const char table_question[] = "SELECT count(*) FROM sqlite_schema";
static const char wal_wish[] = "PRAGMA journal_mode = WAL";
static const char begin[] = "BEGIN IMMEDIATE";
static const char commit[] = "COMMIT";
static const char roll_back[] = "ROLLBACK";

static bool ask_number(struct record *record, const char *question, long long *answer,
                       struct failure *failure)
{
    sqlite3_stmt *statement = NULL;
    bool is_told =
        sqlite3_prepare_v2(record->database, question, -1, &statement, NULL) == SQLITE_OK &&
        sqlite3_step(statement) == SQLITE_ROW;
    if (is_told)
        *answer = sqlite3_column_int64(statement, 0);
    else
        store_failed(record, TEXT("open"), failure);
    sqlite3_finalize(statement);
    return is_told;
}

static bool run(struct record *record, const char *sql, struct text operation,
                struct failure *failure)
{
    return sqlite3_exec(record->database, sql, NULL, NULL, NULL) == SQLITE_OK ||
           store_failed(record, operation, failure);
}

/* While another process turns the same new file to WAL, SQLite says busy at once. */
static bool choose_wal(struct record *record, struct failure *failure)
{
    enum { TRIES = 100, PAUSE_MILLISECONDS = 20 };
    for (int i = 0; i < TRIES; i++) {
        int result = sqlite3_exec(record->database, wal_wish, NULL, NULL, NULL);
        if (result == SQLITE_OK)
            return true;
        if ((result & 0xFF) != SQLITE_BUSY)
            break;
        sqlite3_sleep(PAUSE_MILLISECONDS);
    }
    return store_failed(record, TEXT("open"), failure);
}

static bool is_empty(struct record *record, bool *empty, struct failure *failure)
{
    long long application = 0, version = 0, tables = 0;
    if (!ask_number(record, application_question, &application, failure) ||
        !ask_number(record, version_question, &version, failure) ||
        !ask_number(record, table_question, &tables, failure))
        return false;
    *empty = application == 0 && version == 0 && tables == 0;
    return true;
}

static bool make(struct record *record, struct failure *failure)
{
    struct text operation = TEXT("make");
    if (!choose_wal(record, failure) || !run(record, begin, operation, failure))
        return false;
    bool empty = false; /* still: two processes may have come here together */
    bool is_made = is_empty(record, &empty, failure) &&
                   (!empty || run(record, record_sql, operation, failure)) &&
                   run(record, commit, operation, failure);
    if (!is_made && sqlite3_get_autocommit(record->database) == 0)
        sqlite3_exec(record->database, roll_back, NULL, NULL, NULL);
    return is_made;
}

bool schema_make_or_check(struct record *record, struct failure *failure)
{
    bool empty = false;
    if (!is_empty(record, &empty, failure) || (empty && !make(record, failure)))
        return false;
    long long application = 0, version = 0;
    if (!ask_number(record, application_question, &application, failure) ||
        !ask_number(record, version_question, &version, failure))
        return false;
    struct text operation = TEXT("open");
    if (application != APPLICATION_ID)
        return store_refused(record, operation,
                             TEXT("this file belongs to another program; name another, or "
                                  "move it away"),
                             failure);
    if (version > SCHEMA_VERSION)
        return store_refused(
            record, operation,
            text_fill(record->arena,
                      "a newer banksman wrote it (its schema is {}, this program knows up to "
                      "{}); use the newer program",
                      text_number(record->arena, version),
                      text_number(record->arena, SCHEMA_VERSION)),
            failure);
    if (version != SCHEMA_VERSION)
        return store_refused(record, operation,
                             TEXT("its schema is none this program ever wrote; the file is "
                                  "damaged, put back a backup"),
                             failure);
    return choose_wal(record, failure);
}

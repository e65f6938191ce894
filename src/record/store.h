#ifndef STORE_H
#define STORE_H
/*
 * store.h - what the files of this module share: the open file and its
 * prepared statements.
 *
 * Purpose   Every answer of SQLite's that is not a row or an end becomes a
 *           failure in words here, and nowhere else.
 * Owns      the statements; what is said of SQLite's errors; the lock file.
 * May call  base; sqlite3.
 */
#include "chain.h"
#include "record/record.h"

#include <sqlite3.h>

enum statement {
#define STATEMENT(name, sql) STATEMENT_##name,
#include "record/statement_list.h"
#undef STATEMENT
    STATEMENT_COUNT
};

struct taken_job {
    unsigned id;
    struct taken_job *next;
};

struct record {
    sqlite3 *database;
    sqlite3_stmt *statements[STATEMENT_COUNT];
    struct arena *arena;  /* as long as the record: failures, journals */
    struct arena scratch; /* one call of this module */
    struct text path;
    int lock_file; /* descriptor, or -1 while it is not needed */
    struct taken_job *taken;
    unsigned begun; /* the job that was begun through this record, or 0 */
    struct digest begun_digest;
};

/* --- schema.c ------------------------------------------------------------------------------ */

bool schema_make_or_check(struct record *record, struct failure *failure);

/* --- failures: always false ------------------------------------------------------------------ */

/* What SQLite just said of `operation`. */
bool store_failed(struct record *record, struct text operation, struct failure *failure);
/* What we found ourselves. */
bool store_refused(struct record *record, struct text operation, struct text reason,
                   struct failure *failure);

/* --- statements: columns and parameters as SQLite counts them, from 0 and from 1 ---------------- */

/* Ready to be bound. */
sqlite3_stmt *store_statement(struct record *record, enum statement which);
/* Runs one that gives no rows.  Nothing is said of a failure yet. */
bool store_ran(sqlite3_stmt *statement);
void store_bind_text(sqlite3_stmt *statement, int parameter, struct text text);
void store_bind_bytes(sqlite3_stmt *statement, int parameter, struct text bytes);
/* Copied into the arena; empty for NULL. */
struct text store_column_text(sqlite3_stmt *statement, int column, struct arena *arena);
struct text store_column_bytes(sqlite3_stmt *statement, int column, struct arena *arena);

bool store_begin(struct record *record, struct text operation, struct failure *failure);
bool store_commit(struct record *record, struct text operation, struct failure *failure);
/* After a failure, which has been filled in already. */
void store_roll_back(struct record *record);

/* --- job_rows.c ----------------------------------------------------------------------------------- */

/* The digest the first event of a job holds; false with words if there is no such job, or what it
 * was started with was changed.  Uses scratch and does not rewind it. */
bool job_begins_soundly(struct record *record, unsigned job_id, struct digest *digest,
                        struct failure *failure);

/* --- lock.c -------------------------------------------------------------------------------- */

bool lock_is_ours(const struct record *record, unsigned job_id);
bool lock_is_taken(struct record *record, unsigned job_id);

#endif

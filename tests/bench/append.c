/*
 * append FOLDER COUNT - one durable answer through the record, against the same row inserted by
 * hand into a table of the same columns, turn by turn; prints the medians in seconds:
 * wall of the record, wall by hand, processor time of the record, processor time by hand.
 */
#include "record/record.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>

#include <sqlite3.h>

struct cost {
    double wall, processor;
};

static void exhausted(size_t bytes_wanted)
{
    (void)fprintf(stderr, "append: no memory for %zu bytes\n", bytes_wanted);
    exit(3);
}

static void die(const char *what)
{
    (void)fprintf(stderr, "append: %s\n", what);
    exit(3);
}

static struct cost now(void)
{
    struct timespec wall, processor;
    (void)clock_gettime(CLOCK_MONOTONIC, &wall);
    (void)clock_gettime(CLOCK_PROCESS_CPUTIME_ID, &processor);
    return (struct cost){(double)wall.tv_sec + (double)wall.tv_nsec / 1e9,
                         (double)processor.tv_sec + (double)processor.tv_nsec / 1e9};
}

static struct cost since(struct cost began)
{
    struct cost ended = now();
    return (struct cost){ended.wall - began.wall, ended.processor - began.processor};
}

/* --- through the record --- */

static struct record *open_with_job(struct arena *arena, struct text path, unsigned *job_id)
{
    static const struct source procedure = {{"bench.yaml", 10}, {"procedure: bench\n", 17}};
    static const struct source machine = {{"engine.yaml", 11}, {"machine: engine\n", 16}};
    static const struct job_source sources[] = {
        {.role = ROLE_PROCEDURE, .name = TEXT_CONSTANT("bench"), .source = &procedure},
        {.role = ROLE_MACHINE, .name = TEXT_CONSTANT("engine"), .source = &machine}};
    struct job_start start = {TEXT("bench"), TEXT("Bench"), TEXT("engine"), sources, 2};
    struct record *record;
    struct failure failure;
    if (!record_open(&record, path, arena, &failure) ||
        !record_start_job(record, &start, job_id, &failure) ||
        !record_take_job(record, *job_id, &failure))
        die(text_terminated(arena, failure.reason));
    return record;
}

static struct event event_of(unsigned number)
{
    struct event event = {.kind = EVENT_READ,
                          .number = number,
                          .position = 2,
                          .at = {1700000000000LL + number, 5000LL + number,
                                 TEXT("00000000-0000-0000-0000-000000000000")},
                          .spot = {.work = 12},
                          .name = TEXT("dry"),
                          .repeat = 1,
                          .typed = TEXT("11,8"),
                          .meaning = TEXT("11.8 bar"),
                          .has_value = true,
                          .value = 1180000.0};
    if (number == 1)
        event = (struct event){.kind = EVENT_STARTED,
                               .number = 1,
                               .position = INDEX_NONE,
                               .at = event.at,
                               .zone = TEXT("+00:00")};
    return event;
}

static struct cost append(struct journal *journal, unsigned number)
{
    struct event event = event_of(number);
    struct failure failure;
    struct cost began = now();
    if (!journal->append(journal->self, &event, 1, &failure))
        die("the record would not take an event");
    return since(began);
}

/* --- by hand --- */

struct by_hand {
    sqlite3 *database;
    sqlite3_stmt *insert;
};

static struct by_hand open_by_hand(const char *path)
{
    struct by_hand hand;
    if (sqlite3_open(path, &hand.database) != SQLITE_OK ||
        sqlite3_exec(hand.database,
                     "PRAGMA journal_mode = WAL; PRAGMA synchronous = FULL;"
                     "CREATE TABLE event (job INTEGER NOT NULL, number INTEGER NOT NULL,"
                     " kind TEXT NOT NULL, body TEXT NOT NULL, previous TEXT NOT NULL,"
                     " digest TEXT NOT NULL, PRIMARY KEY (job, number)) STRICT, WITHOUT ROWID",
                     NULL, NULL, NULL) != SQLITE_OK ||
        sqlite3_prepare_v2(hand.database,
                           "INSERT INTO event (job, number, kind, body, previous, digest)"
                           " VALUES (1, ?1, 'read', ?2, ?3, ?3)",
                           -1, &hand.insert, NULL) != SQLITE_OK)
        die("the table by hand could not be made");
    return hand;
}

static struct cost insert(struct by_hand *hand, unsigned number, const char *body)
{
    static const char digest[] =
        "e3b0c44298fc1c149afbf4c8996fb92427ae41e4649b934ca495991b7852b855";
    struct cost began = now();
    (void)sqlite3_bind_int64(hand->insert, 1, number);
    (void)sqlite3_bind_text(hand->insert, 2, body, -1, SQLITE_STATIC);
    (void)sqlite3_bind_text(hand->insert, 3, digest, -1, SQLITE_STATIC);
    if (sqlite3_step(hand->insert) != SQLITE_DONE)
        die("the insert by hand failed");
    (void)sqlite3_reset(hand->insert);
    return since(began);
}

/* The row that the record wrote, so that both write the same bytes. */
static const char *body_written(struct arena *arena, const char *path)
{
    sqlite3 *database;
    sqlite3_stmt *query;
    if (sqlite3_open_v2(path, &database, SQLITE_OPEN_READONLY, NULL) != SQLITE_OK ||
        sqlite3_prepare_v2(database, "SELECT body FROM event WHERE number = 2", -1, &query,
                           NULL) != SQLITE_OK ||
        sqlite3_step(query) != SQLITE_ROW)
        die("the record cannot be read");
    const char *body = text_terminated(
        arena, text_copy(arena, text_from((const char *)sqlite3_column_text(query, 0))));
    (void)sqlite3_finalize(query);
    (void)sqlite3_close(database);
    return body;
}

/* --- medians --- */

static int by_size(const void *a, const void *b)
{
    double first = *(const double *)a, second = *(const double *)b;
    return (first > second) - (first < second);
}

static double median(double *values, size_t count)
{
    qsort(values, count, sizeof *values, by_size);
    return values[count / 2];
}

int main(int argc, char **argv)
{
    if (argc != 3)
        die("append FOLDER COUNT");
    struct arena arena = arena_open(256 * MEBIBYTE, exhausted);
    size_t count = strtoul(argv[2], NULL, 10);
    struct text path = text_fill(&arena, "{}/record.sqlite", text_from(argv[1]));
    struct text other = text_fill(&arena, "{}/by_hand.sqlite", text_from(argv[1]));
    unsigned job_id;
    struct record *record = open_with_job(&arena, path, &job_id);
    struct journal journal = record_journal(record, job_id);
    (void)append(&journal, 1);
    (void)append(&journal, 2);
    const char *body = body_written(&arena, text_terminated(&arena, path));
    struct by_hand hand = open_by_hand(text_terminated(&arena, other));
    double *columns[4];
    for (size_t i = 0; i < 4; i++)
        columns[i] = arena_array(&arena, double, count);
    for (size_t i = 0; i < count; i++) {
        struct cost ours = append(&journal, (unsigned)i + 3);
        struct cost theirs = insert(&hand, (unsigned)i + 3, body);
        columns[0][i] = ours.wall;
        columns[1][i] = theirs.wall;
        columns[2][i] = ours.processor;
        columns[3][i] = theirs.processor;
    }
    printf("%.9f %.9f %.9f %.9f\n", median(columns[0], count), median(columns[1], count),
           median(columns[2], count), median(columns[3], count));
    (void)sqlite3_finalize(hand.insert);
    (void)sqlite3_close(hand.database);
    record_close(record);
    arena_close(&arena);
    return 0;
}

#include "record_fixture.h"

#include <sqlite3.h>

static sqlite3 *opened_by_hand(struct fixture *fixture)
{
    sqlite3 *database = NULL;
    assert_int_equal(sqlite3_open(fixture_path(fixture), &database), SQLITE_OK);
    return database;
}

static void run(sqlite3 *database, const char *sql)
{
    char *words = NULL;
    if (sqlite3_exec(database, sql, NULL, NULL, &words) != SQLITE_OK)
        fail_msg("%s: %s", sql, words);
}

static void refuse(sqlite3 *database, const char *sql)
{
    if (sqlite3_exec(database, sql, NULL, NULL, NULL) == SQLITE_OK)
        fail_msg("was not refused: %s", sql);
}

static void expect_not_opened(struct fixture *fixture, const char *words)
{
    assert_false(
        record_open(&fixture->record, fixture->path, &fixture->arena, &fixture->failure));
    assert_null(fixture->record);
    fixture_says(fixture, words);
}

static void write_file(struct fixture *fixture, const void *bytes, size_t length)
{
    FILE *file = fopen(fixture_path(fixture), "wb");
    assert_non_null(file);
    assert_int_equal(fwrite(bytes, 1, length, file), length);
    fclose(file);
}

static long long ask(sqlite3 *database, const char *sql)
{
    sqlite3_stmt *statement = NULL;
    assert_int_equal(sqlite3_prepare_v2(database, sql, -1, &statement, NULL), SQLITE_OK);
    assert_int_equal(sqlite3_step(statement), SQLITE_ROW);
    long long number = sqlite3_column_int64(statement, 0);
    sqlite3_finalize(statement);
    return number;
}

static void a_new_file_gets_the_schema(void **state)
{
    struct fixture *fixture = *state;
    fixture_open(fixture);
    fixture_close(fixture);
    sqlite3 *database = opened_by_hand(fixture);
    assert_int_equal(ask(database, "PRAGMA user_version"), 1);
    assert_int_equal(ask(database, "PRAGMA application_id"), 0x424E536D);
    assert_int_equal(ask(database, "SELECT count(*) FROM sqlite_schema WHERE type = 'table'"
                                   " AND name NOT LIKE 'sqlite%'"),
                     5);
    assert_int_equal(ask(database,
                         "SELECT count(*) FROM pragma_table_list"
                         " WHERE schema = 'main' AND strict AND name NOT LIKE 'sqlite%'"),
                     5);
    assert_int_equal(ask(database, "SELECT count(*) FROM pragma_journal_mode"
                                   " WHERE journal_mode = 'wal'"),
                     1);
    sqlite3_close(database);
    fixture_open(fixture);
}

static void fill(struct fixture *fixture)
{
    fixture_open(fixture);
    unsigned job = fixture_start(fixture, TEXT("alder_van"));
    struct event events[] = {fixture_started(),
                             fixture_noted(2, TEXT("two")),
                             {.kind = EVENT_ATTACHED,
                              .number = 3,
                              .position = INDEX_NONE,
                              .typed = TEXT("a.jpg"),
                              .bytes = TEXT("picture")}};
    fixture_append(fixture, job, events, 3);
    fixture_close(fixture);
}

/* As another program would try it, with recursive triggers and foreign keys off, its own defaults. */
static void nothing_that_was_written_can_be_changed(void **state)
{
    struct fixture *fixture = *state;
    fill(fixture);
    sqlite3 *database = opened_by_hand(fixture);
    static const char *const tables[] = {"kept_bytes", "job", "job_source", "event",
                                         "attachment"};
    for (int recursive = 0; recursive < 2; recursive++) {
        run(database,
            recursive ? "PRAGMA recursive_triggers = ON" : "PRAGMA recursive_triggers = OFF");
        for (size_t i = 0; i < sizeof tables / sizeof *tables; i++) {
            char sql[200];
            snprintf(sql, sizeof sql, "UPDATE %s SET digest = digest", tables[i]);
            refuse(database, sql);
            snprintf(sql, sizeof sql, "DELETE FROM %s", tables[i]);
            refuse(database, sql);
            snprintf(sql, sizeof sql, "INSERT OR REPLACE INTO %s SELECT * FROM %s", tables[i],
                     tables[i]);
            refuse(database, sql);
            snprintf(sql, sizeof sql, "INSERT INTO %s SELECT * FROM %s", tables[i], tables[i]);
            refuse(database, sql);
        }
        refuse(database, "UPDATE OR REPLACE event SET number = 2 WHERE number = 3");
    }
    sqlite3_close(database);
    fixture_open(fixture);
    assert_true(record_audit_job(fixture->record, 1, &fixture->failure));
}

/* A copy of event 2 under another number, with a digest that fits or does not. */
static void nothing_is_left_out_or_put_between(void **state)
{
    struct fixture *fixture = *state;
    fill(fixture);
    sqlite3 *database = opened_by_hand(fixture);
    static const char insert[] =
        "INSERT INTO event SELECT 1, %d, kind, json_set(body, '$.number', %d),"
        " (SELECT digest FROM event WHERE number = %d), digest FROM event WHERE number = 2";
    char sql[300];
    for (int number = -1; number < 8; number++) {
        if (number == 4)
            continue;
        snprintf(sql, sizeof sql, insert, number, number, 3);
        refuse(database, sql);
    }
    snprintf(sql, sizeof sql, insert, 4, 4, 2); /* chained to the wrong one */
    refuse(database, sql);
    refuse(database, "INSERT INTO event SELECT 1, 4, kind, 'no json', digest, digest"
                     " FROM event WHERE number = 3");
    refuse(database, "INSERT INTO event SELECT 1, 4, 'done', json_set(body, '$.number', 4),"
                     " digest, digest FROM event WHERE number = 3");
    refuse(database, "INSERT INTO job SELECT 3, procedure, title, machine, digest FROM job");
    refuse(database, "INSERT INTO job_source SELECT 1, 3, role, name, path, digest"
                     " FROM job_source WHERE number = 2");
    snprintf(sql, sizeof sql, insert, 4, 4,
             3); /* the one that fits: the refusals meant something */
    run(database, sql);
    sqlite3_close(database);
}

static void a_newer_schema_is_refused_with_words(void **state)
{
    struct fixture *fixture = *state;
    fill(fixture);
    sqlite3 *database = opened_by_hand(fixture);
    run(database, "PRAGMA user_version = 7");
    sqlite3_close(database);
    expect_not_opened(fixture, "a newer banksman wrote it (its schema is 7, this program knows "
                               "up to 1); use the newer program");
}

static void a_schema_nobody_wrote_is_refused(void **state)
{
    struct fixture *fixture = *state;
    fill(fixture);
    sqlite3 *database = opened_by_hand(fixture);
    run(database, "PRAGMA user_version = -1");
    sqlite3_close(database);
    expect_not_opened(fixture, "put back a backup");
}

static void another_programs_database_is_left_alone(void **state)
{
    struct fixture *fixture = *state;
    sqlite3 *database = opened_by_hand(fixture);
    run(database, "CREATE TABLE recipe (name TEXT)");
    sqlite3_close(database);
    expect_not_opened(fixture, "belongs to another program");
    database = opened_by_hand(fixture);
    assert_int_equal(ask(database, "SELECT count(*) FROM sqlite_schema"), 1);
    sqlite3_close(database);
}

static void a_file_that_is_no_database_is_refused(void **state)
{
    struct fixture *fixture = *state;
    char page[8192];
    memset(page, 'x', sizeof page);
    write_file(fixture, page, sizeof page);
    expect_not_opened(fixture, "not a record of jobs");
}

static void a_damaged_file_is_refused_in_words(void **state)
{
    struct fixture *fixture = *state;
    fill(fixture);
    FILE *file = fopen(fixture_path(fixture), "r+b");
    assert_non_null(file);
    char page[4096 - 100];
    memset(page, 0x5A, sizeof page);
    fseek(file, 100, SEEK_SET); /* the root of the schema, behind the file's header */
    assert_int_equal(fwrite(page, 1, sizeof page, file), sizeof page);
    fclose(file);
    expect_not_opened(fixture, "the file is damaged; keep a copy of it as it is");
}

/* Every page but the first in turn. */
static void damage_further_in_is_found_when_it_is_read(void **state)
{
    struct fixture *fixture = *state;
    fill(fixture);
    FILE *file = fopen(fixture_path(fixture), "r+b");
    assert_non_null(file);
    fseek(file, 0, SEEK_END);
    long pages = ftell(file) / 4096;
    assert_true(pages > 5);
    char garbage[4096], before[4096];
    memset(garbage, 0xA5, sizeof garbage);
    int found = 0;
    for (long page = 1; page < pages; page++) {
        fseek(file, page * 4096, SEEK_SET);
        assert_int_equal(fread(before, 1, sizeof before, file), sizeof before);
        fseek(file, page * 4096, SEEK_SET);
        fwrite(garbage, 1, sizeof garbage, file);
        fflush(file);
        fixture->failure = (struct failure){0};
        bool is_fine =
            record_open(&fixture->record, fixture->path, &fixture->arena, &fixture->failure) &&
            record_audit_job(fixture->record, 1, &fixture->failure);
        found += !is_fine;
        assert_true(is_fine || fixture->failure.reason.length > 0);
        fixture_close(fixture);
        fseek(file, page * 4096, SEEK_SET);
        fwrite(before, 1, sizeof before, file);
        fflush(file);
    }
    fclose(file);
    assert_true(found >= 4); /* job, sources, events, bytes; an index is not read */
}

static void a_missing_folder_is_said(void **state)
{
    struct fixture *fixture = *state;
    fixture->path =
        text_fill(&fixture->arena, "{}/none/jobs.sqlite", text_from(fixture->folder));
    expect_not_opened(fixture, "see that its folder is there");
}

int main(void)
{
#define TEST(name) cmocka_unit_test_setup_teardown(name, fixture_begin, fixture_end)
    const struct CMUnitTest tests[] = {TEST(a_new_file_gets_the_schema),
                                       TEST(nothing_that_was_written_can_be_changed),
                                       TEST(nothing_is_left_out_or_put_between),
                                       TEST(a_newer_schema_is_refused_with_words),
                                       TEST(a_schema_nobody_wrote_is_refused),
                                       TEST(another_programs_database_is_left_alone),
                                       TEST(a_file_that_is_no_database_is_refused),
                                       TEST(a_damaged_file_is_refused_in_words),
                                       TEST(damage_further_in_is_found_when_it_is_read),
                                       TEST(a_missing_folder_is_said)};
    return cmocka_run_group_tests(tests, NULL, NULL);
}

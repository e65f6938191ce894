#include "record_fixture.h"

#include <sqlite3.h>

static void run_by_hand(struct fixture *fixture, const char *sql)
{
    sqlite3 *database = NULL;
    char *words = NULL;
    assert_int_equal(sqlite3_open(fixture_path(fixture), &database), SQLITE_OK);
    if (sqlite3_exec(database, sql, NULL, NULL, &words) != SQLITE_OK)
        fail_msg("%s: %s", sql, words);
    sqlite3_close(database);
}

static struct event ended(unsigned number, enum ended how)
{
    return (struct event){.kind = EVENT_ENDED,
                          .number = number,
                          .position = INDEX_NONE,
                          .at = {.wall = 1700000009000},
                          .detail = how};
}

static void the_files_of_a_job_come_back_byte_for_byte(void **state)
{
    struct fixture *fixture = *state;
    fixture_open(fixture);
    char every_byte[256];
    for (int i = 0; i < 256; i++)
        every_byte[i] = (char)i;
    const struct source kept[] = {{TEXT("a b/\u00FC.yaml"), {every_byte, 256}},
                                  {TEXT("empty.yaml"), {0}},
                                  {TEXT("again.yaml"), {every_byte, 256}}};
    const struct job_source sources[] = {
        {ROLE_PROCEDURE, TEXT(""), &kept[0], {0}},
        {ROLE_GAUGES, TEXT("g"), &kept[1], {0}},
        {ROLE_FOLLOWED, TEXT("raise_on_stands"), &kept[2], {0}}};
    struct job_start start = {TEXT("p"), TEXT("t"), TEXT("m"), sources, 3};
    unsigned id = 0;
    assert_true(record_start_job(fixture->record, &start, &id, &fixture->failure));
    assert_int_equal(id, 1);
    fixture_close(fixture);
    fixture_open(fixture);
    const struct job_source *found;
    size_t count;
    assert_true(record_load_sources(fixture->record, id, &found, &count, &fixture->arena,
                                    &fixture->failure));
    assert_int_equal(count, 3);
    for (size_t i = 0; i < 3; i++) {
        assert_int_equal(found[i].role, sources[i].role);
        assert_true(text_equal(found[i].name, sources[i].name));
        assert_true(text_equal(found[i].source->path, kept[i].path));
        assert_true(text_equal(found[i].source->bytes, kept[i].bytes));
        assert_int_equal(found[i].digest.length, 64);
    }
    assert_true(text_equal(found[0].digest, found[2].digest)); /* kept once */
}

static void the_list_says_how_each_job_stands(void **state)
{
    struct fixture *fixture = *state;
    fixture_open(fixture);
    for (int i = 0; i < 4; i++) {
        unsigned job = fixture_start(fixture, TEXT("alder_van"));
        struct event events[] = {fixture_started(), ended(2, ENDED_COMPLETED)};
        events[0].is_rehearsal = i == 1;
        events[1].detail = i == 1 ? ENDED_LEFT_OPEN : ENDED_COMPLETED;
        if (i < 3) /* the fourth never began */
            fixture_append(fixture, job, events, i == 2 ? 1 : 2);
    }
    const struct job_summary *jobs;
    size_t count;
    assert_true(
        record_list_jobs(fixture->record, &jobs, &count, &fixture->arena, &fixture->failure));
    assert_int_equal(count, 3);
    assert_int_equal(jobs[0].state, JOB_COMPLETED);
    assert_int_equal(jobs[1].state, JOB_LEFT_OPEN);
    assert_int_equal(jobs[2].state, JOB_OPEN);
    assert_false(jobs[0].is_rehearsal);
    assert_true(jobs[1].is_rehearsal);
    assert_true(text_equal(jobs[0].title, TEXT("Wash the windows")));
    assert_true(text_equal(jobs[0].procedure, TEXT("wash")));
    assert_true(text_equal(jobs[0].machine, TEXT("alder_van")));
    assert_true(jobs[0].started == 1700000000000 && jobs[0].last == 1700000009000);
    assert_true(jobs[2].last == 1700000000000);
    assert_int_equal(jobs[0].digest.length, 64);
    assert_false(text_equal(jobs[0].digest, jobs[1].digest));
    assert_true(jobs[2].is_taken); /* by ourselves */
}

static void a_job_that_is_not_there_is_said(void **state)
{
    struct fixture *fixture = *state;
    fixture_open(fixture);
    const struct event *events;
    size_t count;
    assert_false(record_load_events(fixture->record, 5, &events, &count, &fixture->arena,
                                    &fixture->failure));
    fixture_says(fixture, "there is no job 5 in it; 'banksman jobs' lists them");
}

static void tampering_with_how_a_job_began_is_found(void **state)
{
    struct fixture *fixture = *state;
    static const struct {
        const char *sql, *words;
    } attempts[] = {
        {"DROP TRIGGER job_is_not_changed; UPDATE job SET machine = 'birch_van'",
         "started with was changed"},
        {"DROP TRIGGER job_source_is_not_changed; UPDATE job_source SET path = 'x'"
         " WHERE number = 2",
         "started with was changed"},
        {"DROP TRIGGER job_source_is_not_deleted; DELETE FROM job_source WHERE number = 2",
         "started with was changed"},
        {"DROP TRIGGER kept_bytes_are_not_changed; UPDATE kept_bytes SET bytes = x'00'",
         "not what it was when the job began"},
        {"DROP TRIGGER kept_bytes_are_not_deleted; DELETE FROM kept_bytes",
         "not what it was when the job began"}};
    for (size_t i = 0; i < sizeof attempts / sizeof *attempts; i++) {
        fixture_open(fixture);
        unsigned job = fixture_start(fixture, TEXT("alder_van"));
        struct event started = fixture_started();
        fixture_append(fixture, job, &started, 1);
        assert_true(record_audit_job(fixture->record, job, &fixture->failure));
        fixture_close(fixture);
        run_by_hand(fixture, attempts[i].sql);
        fixture_open(fixture);
        assert_false(record_audit_job(fixture->record, job, &fixture->failure));
        fixture_says(fixture, attempts[i].words);
        fixture_close(fixture);
        unlink(fixture_path(fixture));
    }
}

int main(void)
{
#define TEST(name) cmocka_unit_test_setup_teardown(name, fixture_begin, fixture_end)
    const struct CMUnitTest tests[] = {TEST(the_files_of_a_job_come_back_byte_for_byte),
                                       TEST(the_list_says_how_each_job_stands),
                                       TEST(a_job_that_is_not_there_is_said),
                                       TEST(tampering_with_how_a_job_began_is_found)};
    return cmocka_run_group_tests(tests, NULL, NULL);
}

#include "record_fixture.h"

#include <signal.h>
#include <sys/stat.h>
#include <sys/wait.h>
#include <time.h>

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

static unsigned begun(struct fixture *fixture)
{
    unsigned job = fixture_start(fixture, TEXT("alder_van"));
    struct event started = fixture_started();
    fixture_append(fixture, job, &started, 1);
    return job;
}

static size_t loaded_count(struct fixture *fixture, unsigned job)
{
    const struct event *events;
    size_t count = 0;
    if (!record_load_events(fixture->record, job, &events, &count, &fixture->arena,
                            &fixture->failure))
        fail_msg("%s", fixture_words(fixture));
    for (size_t i = 0; i < count; i++)
        assert_int_equal(events[i].number, i + 1);
    return count;
}

static void events_come_back_in_order_from_another_opening(void **state)
{
    struct fixture *fixture = *state;
    fixture_open(fixture);
    unsigned job = begun(fixture);
    struct event more[] = {fixture_noted(2, TEXT("\"quoted\"\n\u706B\u82B1\u585E")),
                           fixture_noted(3, TEXT(""))};
    fixture_append(fixture, job, more, 2);
    fixture_append(fixture, job, more, 0);
    fixture_close(fixture);
    fixture_open(fixture);
    const struct event *events;
    size_t count;
    assert_true(record_load_events(fixture->record, job, &events, &count, &fixture->arena,
                                   &fixture->failure));
    assert_int_equal(count, 3);
    assert_int_equal(events[0].kind, EVENT_STARTED);
    assert_true(events[0].seed == UINT64_MAX);
    assert_true(text_equal(events[1].typed, more[0].typed));
    assert_int_equal(events[2].number, 3);
}

static void all_events_are_written_or_none(void **state)
{
    struct fixture *fixture = *state;
    fixture_open(fixture);
    unsigned job = begun(fixture);
    struct event gap[] = {fixture_noted(2, TEXT("two")), fixture_noted(4, TEXT("four"))};
    struct journal journal = record_journal(fixture->record, job);
    assert_false(journal.append(journal.self, gap, 2, &fixture->failure));
    fixture_says(fixture, "job 1 has gone on without this process");
    assert_int_equal(loaded_count(fixture, job), 1);
    gap[1].number = 3;
    assert_true(journal.append(journal.self, gap, 2, &fixture->failure));
    assert_int_equal(loaded_count(fixture, job), 3);
}

static void attached_bytes_are_kept_with_the_event(void **state)
{
    struct fixture *fixture = *state;
    fixture_open(fixture);
    unsigned job = begun(fixture);
    char picture[100000];
    for (size_t i = 0; i < sizeof picture; i++)
        picture[i] = (char)(i * i >> 3);
    struct event attached = {.kind = EVENT_ATTACHED,
                             .number = 2,
                             .position = INDEX_NONE,
                             .typed = TEXT("p.jpg"),
                             .bytes = {picture, sizeof picture}};
    fixture_append(fixture, job, &attached, 1);
    attached.number = 3; /* the same picture again is kept once */
    fixture_append(fixture, job, &attached, 1);
    struct text bytes = {0};
    for (unsigned number = 2; number <= 3; number++) {
        assert_true(record_load_attachment(fixture->record, job, number, &bytes,
                                           &fixture->arena, &fixture->failure));
        assert_true(text_equal(bytes, attached.bytes));
    }
    assert_true(record_audit_job(fixture->record, job, &fixture->failure));
    assert_false(record_load_attachment(fixture->record, job, 1, &bytes, &fixture->arena,
                                        &fixture->failure));
    fixture_says(fixture, "event 1 of job 1 has no attachment");
    fixture_close(fixture);
    run_by_hand(fixture, "DROP TRIGGER kept_bytes_are_not_changed; UPDATE kept_bytes"
                         " SET bytes = x'4A' WHERE length(bytes) = 100000");
    fixture_open(fixture);
    assert_int_equal(loaded_count(fixture, job), 3);
    assert_false(record_audit_job(fixture->record, job, &fixture->failure));
    fixture_says(fixture, "event 2 of job 1 has an attachment that was changed");
}

static void expect_damage(struct fixture *fixture, const char *sql, const char *words)
{
    fixture_open(fixture);
    unsigned job = begun(fixture);
    for (unsigned i = 2; i <= 5; i++) {
        struct event noted = fixture_noted(i, TEXT("11.8 bar"));
        fixture_append(fixture, job, &noted, 1);
    }
    assert_int_equal(loaded_count(fixture, job), 5);
    fixture_close(fixture);
    run_by_hand(fixture, sql);
    fixture_open(fixture);
    const struct event *events;
    size_t count;
    assert_false(record_load_events(fixture->record, job, &events, &count, &fixture->arena,
                                    &fixture->failure));
    fixture_says(fixture, words);
    fixture_close(fixture);
    unlink(fixture_path(fixture));
}

/* By somebody who drops the triggers first. */
static void tampering_with_the_chain_is_found(void **state)
{
    struct fixture *fixture = *state;
#define CHANGE "DROP TRIGGER event_is_not_changed; "
    expect_damage(fixture,
                  CHANGE "UPDATE event SET body = json_set(body, '$.typed', '12.8 bar')"
                         " WHERE number = 3",
                  "event 3 of job 1 was changed after it was written");
    expect_damage(fixture, CHANGE "UPDATE event SET digest = previous WHERE number = 4",
                  "event 4 of job 1 was changed");
    expect_damage(fixture, CHANGE "UPDATE event SET previous = digest WHERE number = 2",
                  "event 2 of job 1 was changed");
    expect_damage(fixture,
                  CHANGE "UPDATE event SET body = replace(body, '\"late\":false',"
                         " '\"late\" :false') WHERE number = 5",
                  "event 5 of job 1 was changed");
    expect_damage(fixture,
                  "DROP TRIGGER event_is_not_deleted; DELETE FROM event"
                  " WHERE number = 4",
                  "event 4 of job 1 is gone");
    expect_damage(fixture,
                  "DROP TRIGGER event_is_not_deleted; DELETE FROM event"
                  " WHERE number = 1",
                  "event 1 of job 1 is gone");
}

/* --- faults ------------------------------------------------------------------------------ */

static void refused_by_the_file_system(struct fixture *fixture, unsigned job)
{
    struct journal journal = record_journal(fixture->record, job);
    struct event noted = fixture_noted(2, TEXT("lost?"));
    assert_false(journal.append(journal.self, &noted, 1, &fixture->failure));
}

/* The file may grow no further: what a full disk does to SQLite. */
static void a_full_disk_is_said_and_nothing_is_half_written(void **state)
{
    struct fixture *fixture = *state;
    fixture_open(fixture);
    unsigned job = begun(fixture);
    /* the first member of struct record; only here, to stop the file from growing */
    sqlite3 *database = *(sqlite3 **)fixture->record;
    assert_int_equal(sqlite3_exec(database, "PRAGMA max_page_count = 1", NULL, NULL, NULL),
                     SQLITE_OK);
    char large[100000];
    memset(large, 'x', sizeof large);
    struct event noted = fixture_noted(2, (struct text){large, sizeof large});
    struct journal journal = record_journal(fixture->record, job);
    assert_false(journal.append(journal.self, &noted, 1, &fixture->failure));
    fixture_says(fixture, "write to the record");
    fixture_says(fixture, "the disk is full; make room, then go on where you were");
    assert_int_equal(loaded_count(fixture, job), 1);
    sqlite3_exec(database, "PRAGMA max_page_count = 1000000", NULL, NULL, NULL);
    fixture_append(fixture, job, &noted, 1);
    assert_int_equal(loaded_count(fixture, job), 2);
}

static void a_record_kept_busy_is_said(void **state)
{
    struct fixture *fixture = *state;
    fixture_open(fixture);
    unsigned job = begun(fixture);
    sqlite3 *other = NULL;
    assert_int_equal(sqlite3_open(fixture_path(fixture), &other), SQLITE_OK);
    assert_int_equal(sqlite3_exec(other, "BEGIN IMMEDIATE", NULL, NULL, NULL), SQLITE_OK);
    sqlite3_busy_timeout(*(sqlite3 **)fixture->record, 50);
    refused_by_the_file_system(fixture, job);
    fixture_says(fixture, "another program keeps it busy");
    sqlite3_exec(other, "ROLLBACK", NULL, NULL, NULL);
    sqlite3_close(other);
    struct event noted = fixture_noted(2, TEXT("kept"));
    fixture_append(fixture, job, &noted, 1);
}

/* As somebody who may only read: the administrator may always write, so not as that. */
static void a_file_that_may_not_be_written_is_said(void **state)
{
    struct fixture *fixture = *state;
    enum { NOBODY = 65534 };
    fixture_open(fixture);
    fixture_close(fixture);
    assert_int_equal(chmod(fixture_path(fixture), 0444), 0);
    assert_int_equal(chmod(fixture->folder, 0555), 0);
    uid_t own = geteuid();
    if (own == 0)
        assert_int_equal(seteuid(NOBODY), 0);
    bool is_open =
        record_open(&fixture->record, fixture->path, &fixture->arena, &fixture->failure);
    assert_int_equal(seteuid(own), 0);
    assert_int_equal(chmod(fixture->folder, 0755), 0);
    assert_false(is_open);
    fixture_says(fixture, "may not be written to");
}

/* --- crashes ----------------------------------------------------------------------------- */

/* The job that has begun; one that a crash kept from its first event is not listed.  0: none. */
static unsigned begun_job(struct fixture *fixture)
{
    const struct job_summary *jobs;
    size_t count;
    if (!record_list_jobs(fixture->record, &jobs, &count, &fixture->arena, &fixture->failure))
        fail_msg("%s", fixture_words(fixture));
    assert_true(count <= 1);
    if (count == 1)
        assert_false(jobs[0].is_taken);
    return count == 1 ? jobs[0].id : 0;
}

/* Appends for ever; each number is told only once append has said it is durable. */
static void append_until_killed(struct fixture *fixture, int told)
{
    fixture_open(fixture);
    unsigned number = 0, job = begun_job(fixture);
    if (job == 0)
        job = fixture_start(fixture, TEXT("alder_van"));
    else if (!record_take_job(fixture->record, job, &fixture->failure))
        fail_msg("%s", fixture_words(fixture));
    else
        number = (unsigned)loaded_count(fixture, job);
    struct journal journal = record_journal(fixture->record, job);
    for (;;) {
        number++;
        struct event events[2] = {number == 1 ? fixture_started()
                                              : fixture_noted(number, TEXT("11.8 bar")),
                                  fixture_noted(number + 1, TEXT("and in one with it"))};
        size_t together = number % 3 == 0 ? 2 : 1;
        if (!journal.append(journal.self, events, together, &fixture->failure))
            _exit(2);
        number += (unsigned)together - 1;
        if (write(told, &number, sizeof number) != sizeof number)
            _exit(3);
    }
}

/* The last number told among the next `most`. */
static unsigned acknowledged_by(int told, unsigned most)
{
    unsigned number = 0, next;
    for (unsigned i = 0; i < most && read(told, &next, sizeof next) == sizeof next; i++)
        number = next;
    return number;
}

static void rest_for(unsigned microseconds)
{
    nanosleep(&(struct timespec){.tv_nsec = 1000L * microseconds}, NULL);
}

/* Kills a child, some while they still open the file, most after a few appends and a random
 * moment more; gives the last number that was acknowledged, 0 if none was. */
static unsigned crash_once(struct fixture *fixture, unsigned random, bool is_early)
{
    int told[2];
    assert_int_equal(pipe(told), 0);
    pid_t child = fork();
    assert_true(child >= 0);
    if (child == 0) {
        close(told[0]);
        append_until_killed(fixture, told[1]);
    }
    close(told[1]);
    unsigned last = is_early ? 0 : acknowledged_by(told[0], 2 + random % 20);
    rest_for(is_early ? random % 20000 : random % 2000);
    kill(child, SIGKILL);
    int status;
    waitpid(child, &status, 0);
    assert_true(WIFSIGNALED(status));
    unsigned later = acknowledged_by(told[0], UINT32_MAX);
    close(told[0]);
    return later > 0 ? later : last;
}

static void every_acknowledged_event_survives_a_kill(void **state)
{
    struct fixture *fixture = *state;
    enum { CRASHES = 30 };
    unsigned random = 2463534242U; /* xorshift */
    unsigned known = 0;
    for (int crash = 0; crash < CRASHES; crash++) {
        random ^= random << 13, random ^= random >> 17, random ^= random << 5;
        unsigned last = crash_once(fixture, random, crash % 5 == 0);
        known = last > 0 ? last : known;
        fixture_open(fixture);
        unsigned job = begun_job(fixture);
        unsigned found = job == 0 ? 0 : (unsigned)loaded_count(fixture, job);
        fixture_close(fixture);
        assert_in_range(found, known, known + 2); /* one append may have been on its way */
        known = found;
    }
    assert_true(known > CRASHES);
}

/* --- earlier values ------------------------------------------------------------------------ */

static struct event odometer(unsigned number, struct text typed, double si)
{
    return (struct event){.kind = EVENT_ANSWERED,
                          .number = number,
                          .position = INDEX_NONE,
                          .detail = ANSWERED_INPUT,
                          .name = TEXT("odometer"),
                          .typed = typed,
                          .unit = TEXT("km"),
                          .has_value = true,
                          .value = si};
}

static struct event end(unsigned number, enum ended how)
{
    return (struct event){
        .kind = EVENT_ENDED, .number = number, .position = INDEX_NONE, .detail = how};
}

static void expect_earlier(struct fixture *fixture, const char *machine, const char *shown)
{
    struct earlier_value value = {0};
    struct earlier_wanted wanted = {text_from(machine), TEXT("odometer")};
    const unsigned *jobs;
    size_t count;
    if (!record_earlier_jobs(fixture->record, &wanted, &jobs, &count, &fixture->arena,
                             &fixture->failure))
        fail_msg("%s", fixture_words(fixture));
    for (size_t i = 0; i < count && value.name.length == 0; i++)
        if (!record_earlier(fixture->record, jobs[i], wanted.name, &value, &fixture->arena,
                            &fixture->failure))
            fail_msg("%s", fixture_words(fixture));
    assert_false(value.has_uncertainty);
    assert_int_equal(value.name.length > 0, shown != NULL);
    if (shown != NULL)
        assert_string_equal(text_terminated(&fixture->arena, value.shown), shown);
}

static void append_job(struct fixture *fixture, struct text machine, bool is_rehearsal,
                       struct text typed, enum ended how)
{
    unsigned job = fixture_start(fixture, machine);
    struct event events[] = {fixture_started(), odometer(2, typed, 84210000.0), end(3, how)};
    events[0].is_rehearsal = is_rehearsal;
    fixture_append(fixture, job, events, 3);
}

static void an_earlier_value_is_of_the_last_completed_job_on_that_machine(void **state)
{
    struct fixture *fixture = *state;
    fixture_open(fixture);
    expect_earlier(fixture, "alder_van", NULL);
    append_job(fixture, TEXT("alder_van"), false, TEXT("84210"), ENDED_COMPLETED);
    append_job(fixture, TEXT("birch_van"), false, TEXT("12 km"), ENDED_COMPLETED);
    append_job(fixture, TEXT("alder_van"), true, TEXT("85000"), ENDED_COMPLETED);
    append_job(fixture, TEXT("alder_van"), false, TEXT("86000"), ENDED_LEFT_OPEN);
    begun(fixture);
    expect_earlier(fixture, "alder_van", "84210\u00A0km");
    expect_earlier(fixture, "birch_van", "12 km");
    expect_earlier(fixture, "cedar_van", NULL);
    unsigned job = fixture_start(fixture, TEXT("alder_van"));
    struct event events[] = {fixture_started(),
                             odometer(2, TEXT("87000"), 8.7e7),
                             odometer(3, TEXT("87001"), 8.7001e7),
                             {.kind = EVENT_AMENDED,
                              .number = 4,
                              .position = INDEX_NONE,
                              .amends = 2,
                              .typed = TEXT("1"),
                              .unit = TEXT("km")},
                             {.kind = EVENT_AMENDED,
                              .number = 5,
                              .position = INDEX_NONE,
                              .amends = 3,
                              .typed = TEXT("87101"),
                              .meaning = TEXT("87101\u00A0km"),
                              .has_value = true,
                              .value = 8.7101e7},
                             {.kind = EVENT_READ,
                              .number = 6,
                              .position = 2,
                              .name = TEXT("odometer"),
                              .typed = TEXT("5"),
                              .has_value = true},
                             {.kind = EVENT_READ,
                              .number = 7,
                              .position = INDEX_NONE,
                              .name = TEXT("odometer"),
                              .reason = TEXT("no light")},
                             end(8, ENDED_COMPLETED)};
    fixture_append(fixture, job, events, 8);
    expect_earlier(fixture, "alder_van", "87101\u00A0km");
}

/* One job that was tampered with does not keep the others from being read. */
static void an_earlier_job_that_was_changed_is_passed_over_and_said(void **state)
{
    struct fixture *fixture = *state;
    fixture_open(fixture);
    append_job(fixture, TEXT("alder_van"), false, TEXT("84210"), ENDED_COMPLETED);
    append_job(fixture, TEXT("alder_van"), false, TEXT("86000"), ENDED_COMPLETED);
    fixture->failure = (struct failure){0};
    expect_earlier(fixture, "alder_van", "86000\u00A0km");
    assert_int_equal(fixture->failure.reason.length, 0);
    run_by_hand(fixture, "DROP TRIGGER event_is_not_changed; UPDATE event"
                         " SET body = json_set(body, '$.typed', '1') WHERE job = 2"
                         " AND number = 2");
    expect_earlier(fixture, "alder_van", "84210\u00A0km");
    struct text reason = fixture->failure.reason;
    assert_true(text_find(reason, TEXT("event 2 of job 2 was changed")) < reason.length);
}

int main(void)
{
#define TEST(name) cmocka_unit_test_setup_teardown(name, fixture_begin, fixture_end)
    const struct CMUnitTest tests[] = {
        TEST(events_come_back_in_order_from_another_opening),
        TEST(all_events_are_written_or_none),
        TEST(attached_bytes_are_kept_with_the_event),
        TEST(tampering_with_the_chain_is_found),
        TEST(a_full_disk_is_said_and_nothing_is_half_written),
        TEST(a_record_kept_busy_is_said),
        TEST(a_file_that_may_not_be_written_is_said),
        TEST(every_acknowledged_event_survives_a_kill),
        TEST(an_earlier_value_is_of_the_last_completed_job_on_that_machine),
        TEST(an_earlier_job_that_was_changed_is_passed_over_and_said)};
    return cmocka_run_group_tests(tests, NULL, NULL);
}

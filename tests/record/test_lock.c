#include "record_fixture.h"

#include <signal.h>
#include <sys/wait.h>

/* A child that takes job 1 and tells, then waits to be killed. */
static pid_t child_that_takes(struct fixture *fixture)
{
    int told[2];
    assert_int_equal(pipe(told), 0);
    pid_t child = fork();
    assert_true(child >= 0);
    if (child == 0) {
        struct record *record;
        bool is_taken =
            record_open(&record, fixture->path, &fixture->arena, &fixture->failure) &&
            record_take_job(record, 1, &fixture->failure);
        char answer = is_taken ? 'y' : 'n';
        _exit(write(told[1], &answer, 1) == 1 && pause() ? 0 : 1);
    }
    close(told[1]);
    char answer = 0;
    assert_int_equal(read(told[0], &answer, 1), 1);
    assert_int_equal(answer, 'y');
    close(told[0]);
    return child;
}

static void a_second_process_is_refused_with_words_and_a_crash_frees(void **state)
{
    struct fixture *fixture = *state;
    fixture_open(fixture);
    unsigned job = fixture_start(fixture, TEXT("alder_van"));
    struct event started = fixture_started();
    fixture_append(fixture, job, &started, 1);
    fixture_close(fixture);
    pid_t child = child_that_takes(fixture);
    fixture_open(fixture);
    assert_false(record_take_job(fixture->record, 1, &fixture->failure));
    fixture_says(fixture, "take job 1 of the record");
    fixture_says(fixture, "another banksman is working on job 1; go on there, or end it there");
    const struct job_summary *jobs;
    size_t count;
    assert_true(
        record_list_jobs(fixture->record, &jobs, &count, &fixture->arena, &fixture->failure));
    assert_int_equal(count, 1);
    assert_true(jobs[0].is_taken);
    assert_true(
        record_take_job(fixture->record, 2, &fixture->failure)); /* another job is free */
    kill(child, SIGKILL);
    waitpid(child, NULL, 0);
    assert_true(
        record_list_jobs(fixture->record, &jobs, &count, &fixture->arena, &fixture->failure));
    assert_false(jobs[0].is_taken);
    assert_true(record_take_job(fixture->record, 1, &fixture->failure));
    assert_true(record_take_job(fixture->record, 1, &fixture->failure)); /* ours already */
}

static void a_link_to_the_record_does_not_get_round_the_lock(void **state)
{
    struct fixture *fixture = *state;
    fixture_open(fixture);
    unsigned job = fixture_start(fixture, TEXT("alder_van"));
    struct event started = fixture_started();
    fixture_append(fixture, job, &started, 1);
    struct text link = text_fill(&fixture->arena, "{}.link", fixture->path);
    const char *link_path = text_terminated(&fixture->arena, link);
    assert_int_equal(symlink(text_terminated(&fixture->arena, fixture->path), link_path), 0);
    struct record *other;
    assert_true(record_open(&other, link, &fixture->arena, &fixture->failure));
    assert_false(record_take_job(other, job, &fixture->failure));
    record_close(other);
    assert_int_equal(unlink(link_path), 0);
}

/* Open file description locks hold between two records of one process too. */
static void two_records_in_one_process_are_two(void **state)
{
    struct fixture *fixture = *state;
    fixture_open(fixture);
    unsigned job = fixture_start(fixture, TEXT("alder_van"));
    struct record *other;
    assert_true(record_open(&other, fixture->path, &fixture->arena, &fixture->failure));
    assert_false(record_take_job(other, job, &fixture->failure));
    record_close(other);
    assert_true(record_open(&other, fixture->path, &fixture->arena, &fixture->failure));
    assert_false(record_take_job(other, job, &fixture->failure));
    fixture_close(fixture);
    assert_true(record_take_job(other, job, &fixture->failure));
    record_close(other);
}

/* Both start on a file that is not there yet, and write at the same time. */
static void two_processes_work_on_two_jobs_at_once(void **state)
{
    struct fixture *fixture = *state;
    enum { EVENTS = 100, PROCESSES = 3 };
    pid_t children[PROCESSES];
    for (int c = 0; c < PROCESSES; c++) {
        children[c] = fork();
        assert_true(children[c] >= 0);
        if (children[c] == 0) {
            fixture_open(fixture);
            unsigned job = fixture_start(fixture, TEXT("alder_van"));
            struct event started = fixture_started();
            fixture_append(fixture, job, &started, 1);
            for (unsigned i = 2; i <= EVENTS; i++) {
                struct event noted = fixture_noted(i, TEXT("at once"));
                fixture_append(fixture, job, &noted, 1);
            }
            fixture_close(fixture);
            _exit(0);
        }
    }
    for (int c = 0; c < PROCESSES; c++) {
        int status = -1;
        waitpid(children[c], &status, 0);
        assert_int_equal(status, 0);
    }
    fixture_open(fixture);
    for (unsigned job = 1; job <= PROCESSES; job++) {
        const struct event *events;
        size_t count;
        assert_true(record_load_events(fixture->record, job, &events, &count, &fixture->arena,
                                       &fixture->failure));
        assert_int_equal(count, EVENTS);
    }
}

int main(void)
{
#define TEST(name) cmocka_unit_test_setup_teardown(name, fixture_begin, fixture_end)
    const struct CMUnitTest tests[] = {
        TEST(a_second_process_is_refused_with_words_and_a_crash_frees),
        TEST(a_link_to_the_record_does_not_get_round_the_lock),
        TEST(two_records_in_one_process_are_two), TEST(two_processes_work_on_two_jobs_at_once)};
    return cmocka_run_group_tests(tests, NULL, NULL);
}

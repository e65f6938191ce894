/* The commands about one job that is in the record: resume, makesafe, card; and the list of them. */
#include "base/calendar.h"
#include "command.h"
#include "terminal/console.h"

#include <argp.h>
#include <string.h>

static error_t take_job(int key, char *word, struct argp_state *state)
{
    struct text *job = state->input;
    if (key != ARGP_KEY_ARG)
        return ARGP_ERR_UNKNOWN;
    if (job->length > 0)
        argp_error(state, "one job at a time");
    *job = text_from(word);
    return 0;
}

/* Opens the record and chooses a job; the caller closes the record unless it is NULL. */
static enum status open_job(struct world *world, struct text typed, bool finished_too,
                            struct record **record, unsigned *job_id)
{
    *record = NULL;
    if (!open_record(world, record))
        return STATUS_WORLD_FAILED;
    return choose_job(world, *record, typed, finished_too, job_id);
}

static void say_if_rehearsal(struct world *world, const struct job *job, unsigned job_id)
{
    if (job_is_rehearsal(job))
        print_text(text_fill(&world->scratch,
                             "Job {} is a rehearsal and stays one.  Its answers came from a "
                             "file; it says nothing of a machine.\n\n",
                             text_number(&world->scratch, job_id)));
}

/* --- resume ------------------------------------------------------------------------------- */

static const struct argp resume_argp = {
    NULL,
    take_job,
    "[JOB]",
    "Goes on with a job after a pause or a crash; without a number, with the latest that is to "
    "be resumed and no rehearsal.\v"
    "The last steps are shown again, and every precaution in force is asked again, before the "
    "work goes on.  The job uses the files as they were when it was started.",
    NULL,
    NULL,
    NULL};

static enum status run_resume(struct world *world, int argc, char **argv)
{
    struct text typed = {0};
    (void)argp_parse(&resume_argp, argc, argv, 0, NULL, &typed);
    struct record *record;
    struct walk walk = {0};
    struct loaded loaded;
    enum status status = open_job(world, typed, false, &record, &walk.job_id);
    struct failure failure;
    if (status == STATUS_FINE && !record_take_job(record, walk.job_id, &failure))
        status = fail(failure);
    if (status == STATUS_FINE)
        status = load_from_record(world, record, walk.job_id, &loaded);
    if (status == STATUS_FINE)
        status = replay_from_record(world, record, walk.job_id, &loaded, &walk.job);
    if (status == STATUS_FINE && job_has_ended(walk.job))
        status =
            refuse(text_fill(&world->scratch, "job {} has ended; its card: banksman card {}",
                             text_number(&world->scratch, walk.job_id),
                             text_number(&world->scratch, walk.job_id)));
    if (status == STATUS_FINE) {
        say_if_rehearsal(world, walk.job, walk.job_id);
        walk.record = record;
        walk.loaded = &loaded;
        status = walk_job(world, &walk);
    }
    if (record != NULL)
        record_close(record);
    return status;
}

const struct command resume_command = {"resume", "[JOB]", "go on after a pause or a crash",
                                       run_resume};

/* --- makesafe ------------------------------------------------------------------------------ */

static const struct argp makesafe_argp = {
    NULL,
    take_job,
    "[JOB]",
    "Shows what a job has left out of its normal state, and the order to put it right; without "
    "a number, of the latest job that is to be resumed and no rehearsal.\v"
    "It goes by what was answered.  It cannot see the machine.",
    NULL,
    NULL,
    NULL};

static enum status run_makesafe(struct world *world, int argc, char **argv)
{
    struct text typed = {0};
    (void)argp_parse(&makesafe_argp, argc, argv, 0, NULL, &typed);
    struct record *record;
    struct loaded loaded;
    struct job *job = NULL;
    unsigned job_id;
    enum status status = open_job(world, typed, false, &record, &job_id);
    if (status == STATUS_FINE)
        status = load_from_record(world, record, job_id, &loaded);
    if (status == STATUS_FINE)
        status = replay_from_record(world, record, job_id, &loaded, &job);
    if (status == STATUS_FINE) {
        say_if_rehearsal(world, job, job_id);
        struct terminal *terminal =
            terminal_open((struct terminal_settings){0}, &world->library);
        struct session session = {.job = job,
                                  .console = terminal_console(terminal),
                                  .clock = system_clock(),
                                  .scratch = &world->scratch};
        session_tell_makesafe(&session);
        terminal_close(terminal);
    }
    if (record != NULL)
        record_close(record);
    return status;
}

const struct command makesafe_command = {
    "makesafe", "[JOB]", "what is out, and the order to put it right", run_makesafe};

/* --- card ------------------------------------------------------------------------------------ */

static const struct argp card_argp = {NULL,
                                      take_job,
                                      "[JOB]",
                                      "Prints the job card: results, readings, what was "
                                      "answered, what is open; without a number, "
                                      "of the latest job.",
                                      NULL,
                                      NULL,
                                      NULL};

static enum status run_card(struct world *world, int argc, char **argv)
{
    struct text typed = {0};
    (void)argp_parse(&card_argp, argc, argv, 0, NULL, &typed);
    struct record *record;
    struct loaded loaded;
    struct walk walk = {.loaded = &loaded};
    enum status status = open_job(world, typed, true, &record, &walk.job_id);
    if (status == STATUS_FINE)
        status = load_from_record(world, record, walk.job_id, &loaded);
    if (status == STATUS_FINE)
        status = replay_from_record(world, record, walk.job_id, &loaded, &walk.job);
    walk.record = record;
    if (status == STATUS_FINE)
        status = print_card(world, &walk);
    if (record != NULL)
        record_close(record);
    return status;
}

const struct command card_command = {"card", "[JOB]", "the job card", run_card};

/* --- jobs --------------------------------------------------------------------------------------- */

static const struct argp jobs_argp = {NULL, NULL, NULL, "Lists the jobs in the record.",
                                      NULL, NULL, NULL};

static struct text state_words(const struct job_summary *job)
{
    switch (job->state) {
    case JOB_OPEN:
        if (job->is_taken)
            return TEXT("running");
        return job->is_rehearsal ? TEXT("not finished") : TEXT("to be resumed");
    case JOB_COMPLETED:
        return TEXT("completed");
    case JOB_LEFT_OPEN:
        return TEXT("closed, left open");
    }
    return TEXT("");
}

/* The jobs as a table, by the writer that also lays out a card's. */
static struct card table_of(const struct job_summary *jobs, size_t count, struct text zone,
                            struct arena *arena)
{
    enum { COLUMNS = 5 };
    static const struct text headings[COLUMNS] = {
        TEXT_CONSTANT("Job"), TEXT_CONSTANT("Started"), TEXT_CONSTANT("State"),
        TEXT_CONSTANT("Machine"), TEXT_CONSTANT("Procedure")};
    struct card_row *rows = arena_array(arena, struct card_row, count + 1);
    rows[0] = (struct card_row){headings, COLUMNS};
    for (size_t i = 0; i < count; i++) {
        struct text *cells = arena_array(arena, struct text, COLUMNS);
        cells[0] = text_number(arena, jobs[i].id);
        cells[1] = calendar_moment_text(arena, jobs[i].started, zone);
        cells[2] = state_words(&jobs[i]);
        if (jobs[i].is_rehearsal)
            cells[2] = text_fill(arena, "rehearsal, {}", cells[2]);
        cells[3] = jobs[i].machine;
        cells[4] = jobs[i].title;
        rows[i + 1] = (struct card_row){cells, COLUMNS};
    }
    struct card_block *block = arena_new(arena, struct card_block);
    *block = (struct card_block){.kind = BLOCK_TABLE, .rows = rows, .row_count = count + 1};
    return (struct card){TEXT("Jobs"), block, 1};
}

static enum status run_jobs(struct world *world, int argc, char **argv)
{
    (void)argp_parse(&jobs_argp, argc, argv, 0, NULL, NULL);
    struct record *record;
    struct failure failure;
    const struct job_summary *jobs;
    size_t count;
    if (!open_record(world, &record))
        return STATUS_WORLD_FAILED;
    if (!record_list_jobs(record, &jobs, &count, &world->files, &failure)) {
        record_close(record);
        return fail(failure);
    }
    if (count == 0)
        print_text(TEXT("No job yet.  `banksman list` shows what can be done.\n"));
    else
        (void)print_document(world,
                             table_of(jobs, count, zone_now(&world->scratch), &world->scratch));
    record_close(record);
    struct writer out = standard_output();
    return finish_output(&out) ? STATUS_FINE : STATUS_WORLD_FAILED;
}

const struct command jobs_command = {"jobs", "", "what was done, and what is to be resumed",
                                     run_jobs};

/* Two jobs of one machine, side by side. */
#include "report/compare.h"

#include "command.h"

#include <argp.h>

struct asked {
    struct text jobs[2];
    unsigned count;
};

static error_t take_jobs(int key, char *word, struct argp_state *state)
{
    struct asked *asked = state->input;
    switch (key) {
    case ARGP_KEY_ARG:
        if (asked->count == 2)
            argp_error(state, "two jobs at a time");
        asked->jobs[asked->count++] = text_from(word);
        return 0;
    case ARGP_KEY_END:
        if (asked->count < 2)
            argp_error(state, "two jobs are wanted; `banksman jobs` lists them");
        return 0;
    default:
        return ARGP_ERR_UNKNOWN;
    }
}

static const struct argp compare_argp = {
    NULL,
    take_jobs,
    "JOB JOB",
    "Shows the readings that two jobs of one machine have in common, by how much each changed, "
    "and what else differed.\v"
    "Between two jobs nothing is a control: that something changed does not say what changed "
    "it.  A trial within one job can; its card says so.",
    NULL,
    NULL,
    NULL};

static enum status take_up(struct world *world, struct record *record, struct text typed,
                           struct compared_job *compared)
{
    struct loaded *loaded = arena_new(&world->job, struct loaded);
    struct job *job = NULL;
    enum status status = choose_job(world, record, typed, true, &compared->job_id);
    if (status == STATUS_FINE)
        status = load_from_record(world, record, compared->job_id, loaded);
    if (status == STATUS_FINE)
        status = replay_from_record(world, record, compared->job_id, loaded, &job);
    compared->job = job;
    return status;
}

static long long begun(const struct compared_job *compared)
{
    size_t count;
    const struct event *events = job_events(compared->job, &count);
    return count == 0 ? 0 : events[0].at.wall;
}

static enum status compare(struct world *world, struct record *record,
                           const struct asked *asked)
{
    struct compared_job jobs[2] = {0};
    for (unsigned i = 0; i < 2; i++) {
        enum status status = take_up(world, record, asked->jobs[i], &jobs[i]);
        if (status != STATUS_FINE)
            return status;
    }
    if (jobs[0].job_id == jobs[1].job_id)
        return refuse(TEXT("that is one job; two are wanted"));
    struct text first = job_fitted(jobs[0].job)->machine->name;
    struct text second = job_fitted(jobs[1].job)->machine->name;
    if (!text_equal(first, second))
        return refuse(
            text_fill(&world->scratch,
                      "job {} was done on {} and job {} on {}: two machines cannot be "
                      "compared",
                      text_number(&world->scratch, jobs[0].job_id), first,
                      text_number(&world->scratch, jobs[1].job_id), second));
    long long first_begun = begun(&jobs[0]), second_begun = begun(&jobs[1]);
    bool is_in_order = first_begun < second_begun ||
                       (first_begun == second_begun && jobs[0].job_id < jobs[1].job_id);
    return print_document(world, compare_build(jobs[is_in_order ? 0 : 1],
                                               jobs[is_in_order ? 1 : 0], &world->scratch));
}

static enum status run_compare(struct world *world, int argc, char **argv)
{
    struct asked asked = {0};
    (void)argp_parse(&compare_argp, argc, argv, 0, NULL, &asked);
    struct record *record;
    if (!open_record(world, &record))
        return STATUS_WORLD_FAILED;
    enum status status = compare(world, record, &asked);
    record_close(record);
    return status;
}

const struct command compare_command = {"compare", "JOB JOB",
                                        "what changed from one job to another", run_compare};

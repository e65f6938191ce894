/* Two jobs of one machine, side by side. */
#include "report/compare.h"

#include "command.h"

#include <argp.h>

enum { KEY_TREATED = 256, KEY_BETTER };

static const struct argp_option options[] = {
    {"treated", KEY_TREATED, "LABELS", 0,
     "who was treated between the two jobs, the others being left alone: 1,3 or '1 and 3'", 0},
    {"better", KEY_BETTER, "WHICH", 0, "which way is better: higher or lower", 0},
    {0}};

struct asked {
    struct text jobs[2];
    unsigned count;
    struct text treated; /* empty: nobody was named */
    enum judged_better better;
};

static error_t take_better(struct asked *asked, char *word, struct argp_state *state)
{
    struct text better = text_from(word);
    if (text_equal_folded(better, TEXT("higher")))
        asked->better = BETTER_HIGHER;
    else if (text_equal_folded(better, TEXT("lower")))
        asked->better = BETTER_LOWER;
    else
        argp_error(state, "--better takes higher or lower");
    return 0;
}

static error_t take_word(int key, char *word, struct argp_state *state)
{
    struct asked *asked = state->input;
    switch (key) {
    case KEY_TREATED:
        asked->treated = text_trim(text_from(word));
        if (asked->treated.length == 0)
            argp_error(state, "--treated takes the labels of those treated, like 1,3");
        return 0;
    case KEY_BETTER:
        return take_better(asked, word, state);
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
    options,
    take_word,
    "JOB JOB",
    "Shows the readings that two jobs of one machine have in common, by how much each changed, "
    "and what else differed.  Where some positions were treated in between and others left "
    "alone, it says whether it worked.\v"
    "For example, cylinders 1 and 3 treated after job 1, all of them measured anew in job 2:\n"
    "  banksman compare 1 2 --treated 1,3 --better higher\n\n"
    "Without --treated it goes by the trials of the two jobs and of those in between.  Where "
    "there is none nothing is a control: that something changed does not say what changed it.",
    NULL,
    NULL,
    NULL};

static enum status take_up(struct world *world, struct record *record, unsigned job_id,
                           struct compared_job *compared)
{
    struct loaded *loaded = arena_new(&world->job, struct loaded);
    struct job *job = NULL;
    enum status status = load_from_record(world, record, job_id, loaded);
    if (status == STATUS_FINE)
        status = replay_from_record(world, record, job_id, loaded, &job);
    *compared = (struct compared_job){.job = job, .job_id = job_id};
    return status;
}

static long long begun(const struct compared_job *compared)
{
    const struct event *started = job_started(compared->job);
    return started == NULL ? 0 : started->at.wall;
}

/* --- jobs in between -------------------------------------------------------------------------------- */

/* Told from its events alone: most jobs have no trial, and need not be made out of their files. */
static bool has_allotted(struct world *world, struct record *record, unsigned job_id)
{
    const struct event *events;
    size_t count;
    struct failure failure;
    bool is_any = false;
    struct arena_mark mark = arena_mark(&world->scratch);
    if (record_load_events(record, job_id, &events, &count, &world->scratch, &failure))
        for (size_t i = 0; i < count && !is_any; i++)
            is_any =
                events[i].kind == EVENT_DECIDED && text_equal(events[i].name, TEXT("draw"));
    else
        warn(text_fill(&world->scratch,
                       "job {} lies in between and cannot be read ({}): whom it treated is not "
                       "known here",
                       text_number(&world->scratch, job_id), failure.reason));
    arena_rewind(&world->scratch, mark);
    return is_any;
}

/* Their trials treated somebody too.  What a rehearsal did, nobody did. */
static enum status find_between(struct world *world, struct record *record,
                                struct compared_jobs *jobs)
{
    const struct job_summary *all;
    size_t count;
    struct failure failure;
    if (!record_list_jobs(record, &all, &count, &world->files, &failure))
        return fail(failure);
    struct compared_job *between = arena_array(&world->files, struct compared_job, count);
    bool are_rehearsals =
        job_is_rehearsal(jobs->before.job) && job_is_rehearsal(jobs->after.job);
    long long from = begun(&jobs->before), to = begun(&jobs->after);
    struct text machine = {0};
    for (size_t i = 0; i < count; i++)
        if (all[i].id == jobs->before.job_id)
            machine = all[i].machine;
    for (size_t i = 0; i < count; i++) {
        unsigned id = all[i].id;
        bool is_one_of_them = id == jobs->before.job_id || id == jobs->after.job_id;
        if (is_one_of_them || !text_equal(all[i].machine, machine) || all[i].started < from ||
            all[i].started > to || all[i].is_rehearsal != are_rehearsals ||
            !has_allotted(world, record, id))
            continue;
        struct compared_job job;
        if (take_up(world, record, id, &job) == STATUS_FINE)
            between[jobs->between_count++] = job;
    }
    jobs->between = between;
    return STATUS_FINE;
}

/* --- the command ------------------------------------------------------------------------------------- */

static enum status refuse_two_machines(struct arena *arena, const struct compared_job *jobs)
{
    return refuse(
        text_fill(arena,
                  "job {} was done on {} and job {} on {}: two machines cannot be "
                  "compared",
                  text_number(arena, jobs[0].job_id), job_fitted(jobs[0].job)->machine->name,
                  text_number(arena, jobs[1].job_id), job_fitted(jobs[1].job)->machine->name));
}

static enum status show(struct world *world, struct record *record, const struct asked *asked,
                        const struct compared_job *two)
{
    struct arena *arena = &world->scratch;
    long long first_begun = begun(&two[0]), second_begun = begun(&two[1]);
    bool is_in_order = first_begun < second_begun ||
                       (first_begun == second_begun && two[0].job_id < two[1].job_id);
    struct compared_jobs jobs = {.before = two[is_in_order ? 0 : 1],
                                 .after = two[is_in_order ? 1 : 0]};
    struct compare_treated treated = {.better = asked->better};
    struct text refusal = {0};
    enum status status = find_between(world, record, &jobs);
    if (status != STATUS_FINE)
        return status;
    if (asked->treated.length > 0 &&
        !compare_take_treated(&jobs, asked->treated, &treated, &refusal, arena))
        return refuse(refusal);
    return print_document(world, compare_build(&jobs, &treated, arena));
}

static enum status compare(struct world *world, struct record *record,
                           const struct asked *asked)
{
    struct compared_job jobs[2] = {0};
    for (unsigned i = 0; i < 2; i++) {
        unsigned job_id;
        enum status status = choose_job(world, record, asked->jobs[i], true, &job_id);
        if (status == STATUS_FINE)
            status = take_up(world, record, job_id, &jobs[i]);
        if (status != STATUS_FINE)
            return status;
    }
    if (jobs[0].job_id == jobs[1].job_id)
        return refuse(TEXT("that is one job; two are wanted"));
    if (!text_equal(job_fitted(jobs[0].job)->machine->name,
                    job_fitted(jobs[1].job)->machine->name))
        return refuse_two_machines(&world->scratch, jobs);
    return show(world, record, asked, jobs);
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

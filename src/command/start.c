#include "command.h"

#include <argp.h>
#include <string.h>
#include <sys/random.h>

struct options {
    struct errand errand;
    struct text answers;
};

static const struct argp_option offered[] = {
    {"answers", 'a', "FILE", 0,
     "Rehearse: answers come from this file instead of a person.  The job is kept, marked as "
     "a rehearsal",
     0},
    {0},
};

static error_t take(int key, char *word, struct argp_state *state)
{
    struct options *options = state->input;
    switch (key) {
    case ARGP_KEY_INIT:
        state->child_inputs[0] = &options->errand;
        return 0;
    case 'a':
        options->answers = text_from(word);
        options->errand.is_told_elsewhere = true;
        return 0;
    default: /* argp's keys are open-ended */
        return ARGP_ERR_UNKNOWN;
    }
}

static const struct argp_child children[] = {{&errand_argp, 0, NULL, 0}, {0}};
static const struct argp argp = {
    offered,
    take,
    NULL,
    "Walks through a procedure on a machine, step by step.\v"
    "While a step is shown: Enter when it is done, a value, or a word: why where kit note "
    "photo amend skip pause makesafe help.\n"
    "Every answer is on disk before the next line is shown; `banksman resume` goes on after a "
    "pause or a crash.\n"
    "Exit status: 0 completed, everything restored; 1 not completed.",
    children,
    NULL,
    NULL};

static const struct answers *load_answers(struct world *world, struct text name,
                                          enum status *status)
{
    const struct source *source;
    struct failure failure;
    *status = thing_find(world, THING_ANSWERS, name, &source, &failure);
    if (*status != STATUS_FINE) {
        (void)fail(failure);
        return NULL;
    }
    struct diagnostics found;
    diagnostics_begin(&found, &world->files);
    const struct answers *answers = answers_load(source, &found, &world->files);
    if (found.first != NULL)
        print_findings(&found, &world->scratch);
    *status = found.count_by_severity[SEVERITY_ERROR] > 0 ? STATUS_NO : STATUS_FINE;
    return *status == STATUS_FINE ? answers : NULL;
}

static enum status begin(struct world *world, struct loaded *loaded,
                         const struct answers *answers)
{
    struct record *record;
    struct failure failure;
    if (!open_record(world, &record))
        return STATUS_WORLD_FAILED;
    struct job_start start = {loaded->procedure->name, loaded->procedure->title,
                              loaded->machine->name, loaded->sources, loaded->source_count};
    struct event started = {.kind = EVENT_STARTED, .position = INDEX_NONE};
    started.zone = answers != NULL ? TEXT("+00:00") : zone_now(&world->files);
    started.is_rehearsal = answers != NULL;
    started.proven = (struct proven){.verdict = TEXT("sound"),
                                     .states = (unsigned)loaded->sound.proof->states,
                                     .branches = (unsigned)loaded->sound.proof->branches,
                                     .program = TEXT("banksman " BANKSMAN_VERSION)};
    bool is_read = find_earlier(world, record, loaded, &started, &failure);
    if (answers != NULL && answers->has_seed)
        started.seed = answers->seed;
    else if (getrandom(&started.seed, sizeof started.seed, 0) != sizeof started.seed)
        started.seed = (unsigned long long)system_clock().now(NULL).wall;
    struct walk walk = {
        .record = record, .loaded = loaded, .answers = answers, .started = &started};
    enum status status;
    if (!is_read || !record_start_job(record, &start, &walk.job_id, &failure) ||
        !record_take_job(record, walk.job_id, &failure)) {
        status = fail(failure);
    } else {
        walk.job = job_begin(&loaded->sound, loaded->fitted, &world->job);
        status = walk_job(world, &walk);
    }
    record_close(record);
    return status;
}

static enum status run(struct world *world, int argc, char **argv)
{
    struct options options = {0};
    (void)argp_parse(&argp, argc, argv, 0, NULL, &options);
    struct errand *errand = &options.errand;
    const struct answers *answers = NULL;
    enum status status = STATUS_FINE;
    if (options.answers.length > 0) {
        answers = load_answers(world, options.answers, &status);
        if (answers == NULL)
            return status;
        if (errand->procedure.length == 0)
            errand->procedure = answers->procedure;
        if (errand->machine.length == 0)
            errand->machine = answers->machine;
    }
    struct loaded loaded;
    status = load_for_job(world, errand->procedure, errand->machine, errand->gauges, &loaded);
    return status == STATUS_FINE ? begin(world, &loaded, answers) : status;
}

const struct command start_command = {"start", "PROCEDURE -m MACHINE", "walk through it", run};

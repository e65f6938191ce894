/* One reading or result of one machine over the years. */
#include "report/history.h"

#include "command.h"

#include <argp.h>

enum { KEY_REHEARSALS = 256, KEY_BY_DATE };

static const struct argp_option options[] = {
    {"rehearsals", KEY_REHEARSALS, NULL, 0, "look at rehearsals, and at nothing else", 0},
    {"by-date", KEY_BY_DATE, NULL, 0,
     "lay the line over the date even where every job has an odometer or hours", 0},
    {0}};

struct asked {
    struct text machine, name;
    bool is_of_rehearsals, is_by_date;
};

static error_t take_word(int key, char *word, struct argp_state *state)
{
    struct asked *asked = state->input;
    switch (key) {
    case KEY_REHEARSALS:
        asked->is_of_rehearsals = true;
        return 0;
    case KEY_BY_DATE:
        asked->is_by_date = true;
        return 0;
    case ARGP_KEY_ARG:
        if (asked->name.length > 0)
            argp_error(state, "one reading or result at a time");
        *(asked->machine.length == 0 ? &asked->machine : &asked->name) = text_from(word);
        return 0;
    case ARGP_KEY_END:
        if (asked->machine.length == 0)
            argp_error(state, "a machine is wanted; `banksman jobs` lists what was done, and "
                              "`banksman list` names the machines");
        return 0;
    default:
        return ARGP_ERR_UNKNOWN;
    }
}

static const struct argp argp = {
    options,
    take_word,
    "MACHINE [READING]",
    "Shows one reading or result of a machine, job by job, with its uncertainty, and whether "
    "it "
    "rises or falls by more than the readings scatter.  Without READING it lists what can be "
    "looked at.\v"
    "For example:\n"
    "  banksman history rookdale_van\n"
    "  banksman history rookdale_van lowest\n"
    "  banksman history rookdale_van compression_test.dry\n\n"
    "The last is for a name that two procedures have.  Jobs that are not finished are left "
    "out, "
    "and rehearsals.\n\n"
    "Like is compared with like only if the conditions were alike, and that cannot be seen "
    "from "
    "the numbers.",
    NULL,
    NULL,
    NULL};

/* --- the jobs of the machine ------------------------------------------------------------------------ */

/* Jobs that were started with the same files share what was made of them. */
struct kept {
    const struct loaded *loaded;
    const struct kept *next;
};

struct gathering {
    struct world *world;
    struct record *record;
    struct history_job *jobs;
    size_t job_count;
    struct history_left_out *left_out;
    size_t left_out_count;
    const struct kept *kept;
};

static bool is_same(const struct loaded *loaded, const struct job_source *sources, size_t count)
{
    if (loaded->source_count != count)
        return false;
    for (size_t i = 0; i < count; i++)
        if (loaded->sources[i].role != sources[i].role ||
            !text_equal(loaded->sources[i].name, sources[i].name) ||
            !text_equal(loaded->sources[i].digest, sources[i].digest))
            return false;
    return true;
}

/* NULL: the reason says why. */
static const struct loaded *take_up(struct gathering *gathering, unsigned job_id,
                                    struct text *reason)
{
    struct world *world = gathering->world;
    const struct job_source *sources;
    size_t count;
    struct failure failure;
    struct arena_mark mark = arena_mark(&world->scratch);
    if (!record_load_sources(gathering->record, job_id, &sources, &count, &world->scratch,
                             &failure)) {
        *reason = failure.reason;
        return NULL;
    }
    const struct loaded *same = NULL;
    for (const struct kept *kept = gathering->kept; kept != NULL && same == NULL;
         kept = kept->next)
        same = is_same(kept->loaded, sources, count) ? kept->loaded : NULL;
    arena_rewind(&world->scratch, mark);
    if (same != NULL)
        return same;
    struct loaded *loaded = arena_new(&world->files, struct loaded);
    if (load_from_record(world, gathering->record, job_id, loaded) != STATUS_FINE) {
        *reason = TEXT("this program can no longer read what it was started with");
        return NULL;
    }
    struct kept *kept = arena_new(&world->files, struct kept);
    *kept = (struct kept){loaded, gathering->kept};
    gathering->kept = kept;
    return loaded;
}

static const struct job *replay(struct gathering *gathering, unsigned job_id,
                                struct text *reason)
{
    struct world *world = gathering->world;
    const struct loaded *loaded = take_up(gathering, job_id, reason);
    if (loaded == NULL)
        return NULL;
    struct failure failure;
    struct job *job = NULL;
    if (!replay_quietly(world, gathering->record, job_id, loaded, &job, &failure))
        *reason = failure.reason;
    return job;
}

static void leave_out(struct gathering *gathering, const struct job_summary *summary,
                      enum why_left_out why, struct text reason)
{
    gathering->left_out[gathering->left_out_count++] =
        (struct history_left_out){summary->id, summary->procedure, why, reason};
}

static void gather(struct gathering *gathering, const struct job_summary *summary,
                   const struct asked *asked)
{
    if (summary->is_rehearsal != asked->is_of_rehearsals) {
        if (summary->is_rehearsal)
            leave_out(gathering, summary, LEFT_OUT_REHEARSAL, TEXT(""));
        return;
    }
    if (summary->state == JOB_OPEN) {
        leave_out(gathering, summary, LEFT_OUT_UNFINISHED, TEXT(""));
        return;
    }
    struct text reason = {0};
    const struct job *job = replay(gathering, summary->id, &reason);
    if (job == NULL)
        leave_out(gathering, summary, LEFT_OUT_UNREADABLE, reason);
    else
        gathering->jobs[gathering->job_count++] = (struct history_job){job, summary->id};
}

/* --- what was asked for ------------------------------------------------------------------------------ */

static enum status refuse_machine(struct world *world, struct text typed,
                                  const struct job_summary *jobs, size_t count)
{
    struct arena *arena = &world->scratch;
    const struct text *sheets;
    size_t sheet_count = thing_list(world, THING_MACHINE, &sheets, arena);
    for (size_t i = 0; i < sheet_count; i++)
        if (text_equal(sheets[i], typed)) {
            warn(text_fill(arena, "no job was done on {} yet", typed));
            return STATUS_NO;
        }
    struct text *names = arena_array(arena, struct text, count + 1);
    size_t name_count = 0;
    for (size_t i = 0; i < count; i++) {
        bool is_new = true;
        for (size_t k = 0; k < name_count; k++)
            is_new = is_new && !text_equal(names[k], jobs[i].machine);
        if (is_new)
            names[name_count++] = jobs[i].machine;
    }
    if (name_count == 0) {
        warn(TEXT("no job is in the record yet"));
        return STATUS_NO;
    }
    struct text near = text_nearest(typed, names, name_count);
    if (near.length > 0)
        return refuse(
            text_fill(arena, "there is no job on '{}'; did you mean {}?", typed, near));
    return refuse(text_fill(arena, "there is no job on '{}'; there are jobs on: {}", typed,
                            text_join(arena, names, name_count, TEXT(", "))));
}

static struct text full_name(struct arena *arena, const struct history_subject *subject)
{
    return text_fill(arena, "{}.{}", subject->procedure, subject->name);
}

/* dry; compression_test.dry; or, of a part's reading, what stands behind its prefix. */
enum closeness { SAME_NAME, SAME_WITH_PROCEDURE, SAME_END, CLOSENESS_COUNT };

static bool is_meant(struct text typed, const struct history_subject *subject,
                     enum closeness closeness, struct arena *arena)
{
    switch (closeness) {
    case SAME_NAME:
        return text_equal(typed, subject->name);
    case SAME_WITH_PROCEDURE:
        return text_equal(typed, full_name(arena, subject));
    case SAME_END:
    case CLOSENESS_COUNT:
        break;
    }
    return text_ends(subject->name, text_fill(arena, ".{}", typed));
}

static enum status refuse_unclear(struct arena *arena, struct text typed,
                                  const struct text *meant, size_t count)
{
    return refuse(text_fill(arena, "'{}' is in more than one; say which: {}", typed,
                            text_join(arena, meant, count, TEXT(", "))));
}

static enum status refuse_unknown(struct arena *arena, const struct asked *asked,
                                  const struct history_subject *subjects, size_t count)
{
    struct text *names = arena_array(arena, struct text, 2 * count);
    for (size_t i = 0; i < count; i++) {
        names[i] = subjects[i].name;
        names[count + i] = full_name(arena, &subjects[i]);
    }
    struct text near = text_nearest(asked->name, names, 2 * count);
    struct text list = text_fill(arena, "banksman history {}{}", asked->machine,
                                 asked->is_of_rehearsals ? TEXT(" --rehearsals") : TEXT(""));
    if (near.length > 0)
        return refuse(text_fill(arena,
                                "no value of '{}' is in the record of {}; did you mean {}?  "
                                "`{}` lists what there is",
                                asked->name, asked->machine, near, list));
    return refuse(text_fill(arena,
                            "no value of '{}' is in the record of {}; `{}` lists what there is",
                            asked->name, asked->machine, list));
}

static enum status choose(struct arena *arena, const struct asked *asked,
                          const struct history_subject *subjects, size_t count,
                          const struct history_subject **chosen)
{
    struct text *meant = arena_array(arena, struct text, count);
    for (enum closeness closeness = SAME_NAME; closeness < CLOSENESS_COUNT; closeness++) {
        size_t meant_count = 0;
        for (size_t i = 0; i < count; i++)
            if (is_meant(asked->name, &subjects[i], closeness, arena)) {
                *chosen = &subjects[i];
                meant[meant_count++] = full_name(arena, &subjects[i]);
            }
        if (meant_count > 1)
            return refuse_unclear(arena, asked->name, meant, meant_count);
        if (meant_count == 1)
            return STATUS_FINE;
    }
    return refuse_unknown(arena, asked, subjects, count);
}

/* --- the command ------------------------------------------------------------------------------------- */

static enum status show(struct gathering *gathering, const struct asked *asked)
{
    struct world *world = gathering->world;
    struct arena *arena = &world->scratch;
    struct history history = {.machine = asked->machine,
                              .jobs = gathering->jobs,
                              .job_count = gathering->job_count,
                              .left_out = gathering->left_out,
                              .left_out_count = gathering->left_out_count,
                              .is_of_rehearsals = asked->is_of_rehearsals};
    const struct history_subject *subjects;
    size_t count = history_subjects(&history, &subjects, arena);
    if (count == 0)
        return print_document(world, history_overview(&history, arena)) == STATUS_FINE
                   ? STATUS_NO
                   : STATUS_WORLD_FAILED;
    if (asked->name.length == 0)
        return print_document(world, history_overview(&history, arena));
    const struct history_subject *subject = NULL;
    enum status status = choose(arena, asked, subjects, count, &subject);
    if (status != STATUS_FINE)
        return status;
    return print_document(world, history_build(&history, subject, asked->is_by_date, arena));
}

static enum status look_back(struct world *world, struct record *record,
                             const struct asked *asked)
{
    const struct job_summary *jobs;
    size_t count, on_it = 0;
    struct failure failure;
    if (!record_list_jobs(record, &jobs, &count, &world->files, &failure))
        return fail(failure);
    struct gathering gathering = {
        .world = world,
        .record = record,
        .jobs = arena_array(&world->files, struct history_job, count),
        .left_out = arena_array(&world->files, struct history_left_out, count)};
    for (size_t i = 0; i < count; i++)
        if (text_equal(jobs[i].machine, asked->machine)) {
            gather(&gathering, &jobs[i], asked);
            on_it++;
        }
    return on_it == 0 ? refuse_machine(world, asked->machine, jobs, count)
                      : show(&gathering, asked);
}

static enum status run_history(struct world *world, int argc, char **argv)
{
    struct asked asked = {0};
    (void)argp_parse(&argp, argc, argv, 0, NULL, &asked);
    struct record *record;
    if (!open_record(world, &record))
        return STATUS_WORLD_FAILED;
    enum status status = look_back(world, record, &asked);
    record_close(record);
    return status;
}

const struct command history_command = {"history", "MACHINE [READING]",
                                        "one reading over the years", run_history};

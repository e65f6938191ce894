#include "command.h"
#include "report/before_job.h"
#include "verify/rules.h"

#include <assert.h>
#include <string.h>

/* --- from files ---------------------------------------------------------------------------- */

static struct text role_name(const struct source *source)
{
    struct text name = source->path;
    for (size_t i = name.length; i > 0; i--)
        if (name.bytes[i - 1] == '/') {
            name = text_slice(name, i, name.length);
            break;
        }
    if (text_ends(name, TEXT(".yaml")))
        name.length -= 5;
    return name;
}

static struct job_source kept_as(enum source_role role, const struct source *source)
{
    return (struct job_source){.role = role, .name = role_name(source), .source = source};
}

static void list_sources(struct world *world, const struct source *machine,
                         const struct source *gauges, struct loaded *loaded)
{
    const struct procedure *procedure = loaded->procedure;
    assert(procedure != NULL); /* it was fitted */
    size_t capacity = procedure->source_count + world->safety_source_count + 2;
    struct job_source *sources = arena_array(&world->files, struct job_source, capacity);
    size_t count = 0;
    for (size_t i = 0; i < procedure->source_count; i++)
        sources[count++] =
            kept_as(i == 0 ? ROLE_PROCEDURE : ROLE_FOLLOWED, procedure->sources[i]);
    for (size_t i = 0; i < world->safety_source_count; i++)
        sources[count++] = kept_as(ROLE_SAFETY, world->safety_sources[i]);
    sources[count++] = kept_as(ROLE_MACHINE, machine);
    if (gauges != NULL)
        sources[count++] = kept_as(ROLE_GAUGES, gauges);
    loaded->sources = sources;
    loaded->source_count = count;
}

/* Fits what was loaded together; true if it can be begun. */
static bool fit_quietly(struct proof proof, struct diagnostics *found, struct loaded *loaded,
                        struct arena *arena)
{
    bool is_sound = proof.verdict == PROOF_SOUND;
    loaded->sound = proof.sound;
    if (is_sound && loaded->machine != NULL)
        loaded->fitted =
            procedure_fit(loaded->procedure, loaded->machine, loaded->gauges, found, arena);
    return is_sound && loaded->fitted != NULL && found->count_by_severity[SEVERITY_ERROR] == 0;
}

/* The same; prints what was found. */
static enum status fit(struct world *world, struct proof proof, struct diagnostics *found,
                       struct loaded *loaded)
{
    bool is_fit = fit_quietly(proof, found, loaded, &world->files);
    if (found->first != NULL) {
        diagnostics_sort(found);
        print_findings(found, &world->scratch);
    }
    if (proof.verdict == PROOF_PART)
        return refuse_part(world, loaded->procedure);
    return is_fit ? STATUS_FINE : STATUS_NO;
}

/* The user's own gauges: those named, or gauges.yaml in the data folder if there is one. */
static bool find_gauges(struct world *world, struct text named, const struct source **source,
                        struct failure *failure)
{
    struct arena *arena = &world->files;
    *source = NULL;
    if (named.length == 0) {
        named = text_fill(arena, "{}/gauges.yaml", world->home);
        if (!file_exists(named, arena))
            return true;
    }
    return file_read(named, source, arena, failure);
}

enum status load_for_job(struct world *world, struct text procedure, struct text machine,
                         struct text gauges, struct loaded *loaded)
{
    *loaded = (struct loaded){0};
    struct arena *arena = &world->files;
    struct failure failure;
    const struct source *procedure_source;
    const struct source *machine_source;
    const struct source *gauges_source;
    if (!world_load_safety(world))
        return STATUS_NO;
    enum status status =
        thing_find(world, THING_PROCEDURE, procedure, &procedure_source, &failure);
    if (status == STATUS_FINE)
        status = thing_find(world, THING_MACHINE, machine, &machine_source, &failure);
    if (status == STATUS_FINE && !find_gauges(world, gauges, &gauges_source, &failure))
        status = STATUS_WORLD_FAILED;
    if (status != STATUS_FINE) {
        (void)fail(failure);
        return status;
    }
    struct diagnostics found;
    diagnostics_begin(&found, arena);
    loaded->procedure =
        procedure_load(procedure_source, world->safety, world_shelf(world), &found, arena);
    loaded->machine = machine_load(machine_source, &found, arena);
    if (gauges_source != NULL)
        loaded->gauges = gauges_load(gauges_source, &found, arena);
    if (loaded->procedure != NULL && found.count_by_severity[SEVERITY_ERROR] == 0)
        rules_look(loaded->procedure, &found, &world->scratch);
    struct proof proof = verify_procedure(loaded->procedure, &found, arena, &world->scratch);
    status = fit(world, proof, &found, loaded);
    if (status == STATUS_FINE)
        list_sources(world, machine_source, gauges_source, loaded);
    return status;
}

/* --- from the record ------------------------------------------------------------------------ */

struct kept_shelf {
    const struct job_source *sources;
    size_t count;
};

static const struct source *fetch_kept(void *self, struct text procedure_name)
{
    const struct kept_shelf *shelf = self;
    for (size_t i = 0; i < shelf->count; i++) {
        enum source_role role = shelf->sources[i].role;
        if ((role == ROLE_FOLLOWED || role == ROLE_PROCEDURE) &&
            text_equal(shelf->sources[i].name, procedure_name))
            return shelf->sources[i].source;
    }
    return NULL;
}

static struct text nearest_kept(void *self, struct text procedure_name)
{
    (void)self;
    (void)procedure_name;
    return TEXT("");
}

static const struct source *first_of(const struct loaded *loaded, enum source_role role)
{
    for (size_t i = 0; i < loaded->source_count; i++)
        if (loaded->sources[i].role == role)
            return loaded->sources[i].source;
    return NULL;
}

static const struct safety_library *safety_of(struct world *world, const struct loaded *loaded,
                                              struct diagnostics *found)
{
    const struct source **sources =
        arena_array(&world->files, const struct source *, loaded->source_count);
    size_t count = 0;
    for (size_t i = 0; i < loaded->source_count; i++)
        if (loaded->sources[i].role == ROLE_SAFETY)
            sources[count++] = loaded->sources[i].source;
    return safety_load(sources, count, found, &world->files);
}

/* Everything but the fit. */
static bool read_kept(struct world *world, struct record *record, unsigned job_id,
                      struct loaded *loaded, struct diagnostics *found, struct failure *failure)
{
    *loaded = (struct loaded){0};
    struct arena *arena = &world->files;
    diagnostics_begin(found, arena);
    if (!record_load_sources(record, job_id, &loaded->sources, &loaded->source_count, arena,
                             failure))
        return false;
    struct kept_shelf *kept = arena_new(arena, struct kept_shelf);
    *kept = (struct kept_shelf){loaded->sources, loaded->source_count};
    struct shelf shelf = {kept, fetch_kept, nearest_kept};
    const struct source *procedure = first_of(loaded, ROLE_PROCEDURE);
    const struct source *machine = first_of(loaded, ROLE_MACHINE);
    const struct source *gauges = first_of(loaded, ROLE_GAUGES);
    if (procedure == NULL || machine == NULL) {
        *failure = (struct failure){TEXT("read"), TEXT("the job in the record"),
                                    TEXT("its procedure or machine sheet is not there")};
        return false;
    }
    const struct safety_library *safety = safety_of(world, loaded, found);
    loaded->procedure = procedure_load(procedure, safety, shelf, found, arena);
    loaded->machine = machine_load(machine, found, arena);
    if (gauges != NULL)
        loaded->gauges = gauges_load(gauges, found, arena);
    return true;
}

enum status load_from_record(struct world *world, struct record *record, unsigned job_id,
                             struct loaded *loaded)
{
    struct diagnostics found;
    struct failure failure;
    if (!read_kept(world, record, job_id, loaded, &found, &failure))
        return fail(failure);
    return fit(world, verify_taken_up(loaded->procedure, &found), &found, loaded);
}

bool load_from_record_quietly(struct world *world, struct record *record, unsigned job_id,
                              struct loaded *loaded, struct failure *failure)
{
    struct diagnostics found;
    return read_kept(world, record, job_id, loaded, &found, failure) &&
           fit_quietly(verify_taken_up(loaded->procedure, &found), &found, loaded,
                       &world->files);
}

bool replay_quietly(struct world *world, struct record *record, unsigned job_id,
                    const struct loaded *loaded, struct job **job, struct failure *failure)
{
    const struct event *events;
    size_t count;
    struct arena_mark mark = arena_mark(&world->scratch);
    if (!record_load_events(record, job_id, &events, &count, &world->scratch, failure))
        return false;
    *job = job_begin(&loaded->sound, loaded->fitted, &world->job);
    for (size_t i = 0; i < count; i++)
        job_apply(*job, &events[i]);
    arena_rewind(&world->scratch, mark);
    return true;
}

enum status replay_from_record(struct world *world, struct record *record, unsigned job_id,
                               const struct loaded *loaded, struct job **job)
{
    struct failure failure;
    return replay_quietly(world, record, job_id, loaded, job, &failure) ? STATUS_FINE
                                                                        : fail(failure);
}

/* --- what hangs on each step ----------------------------------------------------------------- */

const struct ranking *loaded_ranking(struct world *world, struct loaded *loaded)
{
    if (loaded->ranking == NULL) {
        struct ranking *ranking = arena_new(&world->files, struct ranking);
        bool *is_ruled_out = arena_array(&world->files, bool, loaded->procedure->work_count);
        for (size_t i = 0; i < loaded->procedure->work_count; i++)
            is_ruled_out[i] =
                machine_rules_out(loaded->fitted, loaded->procedure->works[i], &world->scratch);
        *ranking = verify_critical_steps(loaded->procedure, is_ruled_out, &world->files,
                                         &world->scratch);
        loaded->ranking = ranking;
    }
    return loaded->ranking;
}

/* --- which job ---------------------------------------------------------------------------------- */

bool open_record(struct world *world, struct record **record)
{
    struct failure failure;
    struct arena *arena = &world->library;
    if (world->home.length == 0) {
        (void)fail((struct failure){TEXT("find"), TEXT("the folder of your data"),
                                    TEXT("neither BANKSMAN_HOME, XDG_DATA_HOME nor HOME names "
                                         "one that can be used; set BANKSMAN_HOME")});
        return false;
    }
    if (!folder_make(world->home, arena, &failure) ||
        !record_open(record, text_fill(arena, "{}/record.sqlite", world->home), arena,
                     &failure)) {
        (void)fail(failure);
        return false;
    }
    return true;
}

static bool read_job_number(struct text typed, unsigned *job_id)
{
    unsigned long long number = 0;
    for (size_t i = 0; i < typed.length; i++) {
        if (typed.bytes[i] < '0' || typed.bytes[i] > '9' || number > 100000000)
            return false;
        number = number * 10 + (unsigned long long)(typed.bytes[i] - '0');
    }
    *job_id = (unsigned)number;
    return typed.length > 0 && number > 0;
}

static bool is_to_be_resumed(const struct job_summary *job)
{
    return job->state == JOB_OPEN && !job->is_rehearsal;
}

enum status choose_job(struct world *world, struct record *record, struct text typed,
                       bool finished_too, unsigned *job_id)
{
    struct failure failure;
    const struct job_summary *jobs;
    size_t count;
    if (!record_list_jobs(record, &jobs, &count, &world->files, &failure))
        return fail(failure);
    unsigned wanted = 0;
    if (typed.length > 0 && !read_job_number(typed, &wanted))
        return refuse(text_fill(
            &world->files, "'{}' is not a job's number; `banksman jobs` lists them", typed));
    for (size_t i = count; i-- > 0;)
        if (wanted > 0 ? jobs[i].id == wanted : finished_too || is_to_be_resumed(&jobs[i])) {
            *job_id = jobs[i].id;
            return STATUS_FINE;
        }
    if (wanted > 0)
        return refuse(
            text_fill(&world->files, "there is no job {}; `banksman jobs` lists them", typed));
    for (size_t i = count; i-- > 0;)
        if (jobs[i].state == JOB_OPEN)
            return refuse(
                text_fill(&world->files,
                          "no job is to be resumed, only rehearsals; for the latest of "
                          "them say {}",
                          text_number(&world->files, jobs[i].id)));
    return refuse(TEXT("no job is to be resumed; `banksman jobs` lists those that were done"));
}

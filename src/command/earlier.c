/*
 * earlier.c - what earlier jobs on a machine left behind, for a job that starts.
 */
#include "command.h"

/* A value looked for, and the jobs that may have it. */
struct sought {
    struct text name;
    struct type type;
    const unsigned *jobs; /* newest first */
    size_t job_count, next;
    bool is_found;
};

struct search {
    struct world *world;
    struct record *record;
    struct sought *sought;
    size_t sought_count;
    struct earlier_value *values;
    size_t count, capacity;
    struct failure passed_over; /* the first job that cannot be relied on */
};

static void keep(struct search *search, const struct earlier_value *value)
{
    struct arena *arena = &search->world->library;
    if (search->count == search->capacity) {
        size_t capacity = search->capacity == 0 ? 16 : search->capacity * 2;
        struct earlier_value *more = arena_array(arena, struct earlier_value, capacity);
        for (size_t i = 0; i < search->count; i++)
            more[i] = search->values[i];
        search->values = more;
        search->capacity = capacity;
    }
    struct earlier_value *kept = &search->values[search->count++];
    *kept = *value;
    kept->name = text_copy(arena, value->name);
    kept->shown = text_copy(arena, value->shown);
}

static bool list_sought(struct search *search, const struct loaded *loaded,
                        struct failure *failure)
{
    const struct procedure *procedure = loaded->procedure;
    struct arena *arena = &search->world->library;
    search->sought = arena_array(arena, struct sought, procedure->symbol_count);
    for (size_t i = 0; i < procedure->symbol_count; i++) {
        const struct symbol *symbol = &procedure->symbols[i];
        if (symbol->kind != SYMBOL_EARLIER)
            continue;
        struct sought *sought = &search->sought[search->sought_count++];
        sought->name = procedure->symbols[symbol->item].name;
        sought->type = symbol->type;
        struct earlier_wanted wanted = {loaded->machine->name, sought->name};
        if (!record_earlier_jobs(search->record, &wanted, &sought->jobs, &sought->job_count,
                                 arena, failure))
            return false;
    }
    return true;
}

static bool is_in_turn(const struct sought *sought)
{
    return !sought->is_found && sought->next < sought->job_count;
}

/* 0: no job is left that may have something. */
static unsigned newest_job(const struct search *search)
{
    unsigned newest = 0;
    for (size_t i = 0; i < search->sought_count; i++) {
        const struct sought *sought = &search->sought[i];
        if (is_in_turn(sought) && sought->jobs[sought->next] > newest)
            newest = sought->jobs[sought->next];
    }
    return newest;
}

static void take_from_job(struct search *search, struct sought *sought, const struct job *job)
{
    const struct earlier_value *values;
    size_t count =
        job_left_behind(job, sought->name, sought->type, &values, &search->world->scratch);
    for (size_t i = 0; i < count; i++)
        keep(search, &values[i]);
    sought->is_found = count > 0;
}

/* Today's program makes nothing of that job's files: what was typed then is still known, what it was
 * uncertain by is not. */
static bool take_from_events(struct search *search, struct sought *sought, unsigned job_id,
                             struct failure *failure)
{
    struct earlier_value value;
    bool is_single = sought->type.index == INDEX_NONE;
    if (!record_earlier(search->record, job_id, sought->name, &value, &search->world->scratch,
                        failure))
        return false;
    sought->is_found = is_single && value.name.length > 0;
    if (sought->is_found)
        keep(search, &value);
    return true;
}

static bool look_into(struct search *search, unsigned job_id, struct failure *failure)
{
    struct world *world = search->world;
    struct loaded then;
    struct job *job = NULL;
    struct failure unread = {0};
    bool is_there = load_from_record_quietly(world, search->record, job_id, &then, &unread) &&
                    replay_quietly(world, search->record, job_id, &then, &job, &unread);
    for (size_t i = 0; i < search->sought_count; i++) {
        struct sought *sought = &search->sought[i];
        if (!is_in_turn(sought) || sought->jobs[sought->next] != job_id)
            continue;
        sought->next++;
        if (is_there)
            take_from_job(search, sought, job);
        else if (unread.reason.length == 0 &&
                 !take_from_events(search, sought, job_id, failure))
            return false;
    }
    if (unread.reason.length > 0 && search->passed_over.reason.length == 0)
        search->passed_over = unread;
    return true;
}

bool find_earlier(struct world *world, struct record *record, const struct loaded *loaded,
                  struct event *started, struct failure *failure)
{
    struct search search = {.world = world, .record = record};
    if (!list_sought(&search, loaded, failure))
        return false;
    for (unsigned job_id = newest_job(&search); job_id > 0; job_id = newest_job(&search)) {
        struct arena_mark files = arena_mark(&world->files), job = arena_mark(&world->job);
        struct arena_mark scratch = arena_mark(&world->scratch);
        bool is_read = look_into(&search, job_id, failure);
        arena_rewind(&world->files, files);
        arena_rewind(&world->job, job);
        arena_rewind(&world->scratch, scratch);
        if (!is_read)
            return false;
    }
    if (search.passed_over.reason.length > 0)
        warn(text_fill(&world->scratch, "values of an earlier job are not used: {}",
                       search.passed_over.reason));
    started->earlier = search.values;
    started->earlier_count = search.count;
    return true;
}

/*
 * begin.c - a job before its first event: room for all that it will know.
 */
#include "job_state.h"
#include "verify/verify.h"

#include <assert.h>

enum { FIRST_EVENTS = 64, FIRST_FACTS = 128 };

static void number_steps(struct job *job)
{
    job->number_of = arena_array(job->arena, unsigned, job->procedure->work_count);
    unsigned number = 0;
    for (size_t i = 0; i < job->procedure->work_count; i++) {
        if (job->procedure->works[i]->kind == WORK_STEP)
            job->number_of[i] = ++number;
    }
}

static void number_root_children(struct job *job)
{
    const struct procedure *procedure = job->procedure;
    const struct work *root = procedure->works[0];
    job->root_child = arena_array(job->arena, unsigned, procedure->work_count);
    for (size_t i = 0; i < root->child_count; i++)
        job->root_child[root->children[i]->id] = (unsigned)i;
    for (size_t i = 1; i < procedure->work_count; i++) {
        const struct work *parent = procedure->works[i]->parent;
        assert(parent->id < i); /* so that it has its number */
        if (parent != root)
            job->root_child[i] = job->root_child[parent->id];
    }
}

static size_t cells_of_index(const struct job *job, int index)
{
    return index == INDEX_NONE ? 1 : index_size(job, index);
}

static void lay_out_readings(struct job *job)
{
    const struct procedure *procedure = job->procedure;
    job->first_cell = arena_array(job->arena, unsigned, procedure->reading_count);
    unsigned next = 0;
    for (size_t i = 0; i < procedure->reading_count; i++) {
        job->first_cell[i] = next;
        next += (unsigned)cells_of_index(job, procedure->readings[i].index);
    }
    job->cell_count = next;
    job->cells = arena_array(job->arena, struct cell, next);
    job->first_source = arena_array(job->arena, unsigned, procedure->gauge_count);
    for (size_t i = 0; i < procedure->gauge_count; i++) {
        job->first_source[i] = job->gauge_sources;
        job->gauge_sources += (unsigned)job->fitted->gauges[i].accuracy_count;
    }
}

static void lay_out_ledger(struct job *job)
{
    const struct procedure *procedure = job->procedure;
    job->first_part = arena_array(job->arena, unsigned, procedure->part_count);
    for (size_t i = 0; i < procedure->part_count; i++) {
        job->first_part[i] = (unsigned)job->part_cell_count;
        job->part_cell_count += cells_of_index(job, procedure->parts[i].index);
    }
    job->parts = arena_array(job->arena, struct part_cell, job->part_cell_count);
    job->was_put_back = arena_array(job->arena, bool, job->part_cell_count);
    job->part_was_perhaps = arena_array(job->arena, bool, job->part_cell_count);
    job->first_timer = arena_array(job->arena, unsigned, procedure->timer_count);
    for (size_t i = 0; i < procedure->timer_count; i++) {
        job->first_timer[i] = (unsigned)job->timer_cell_count;
        job->timer_cell_count += cells_of_index(job, procedure->timers[i].index);
    }
    job->timers = arena_array(job->arena, struct timer_cell, job->timer_cell_count);
}

struct job *job_begin(const struct sound_procedure *sound, const struct fitted *fitted,
                      struct arena *arena)
{
    assert(sound->procedure == fitted->procedure);
    struct job *job = arena_new(arena, struct job);
    job->arena = arena;
    job->procedure = sound->procedure;
    job->fitted = fitted;
    job->event_capacity = FIRST_EVENTS;
    job->events = arena_array(arena, struct event, FIRST_EVENTS);
    job->older = arena_array(arena, unsigned, FIRST_EVENTS);
    job->amended_by = arena_array(arena, unsigned, FIRST_EVENTS);
    job->fact_capacity = FIRST_FACTS;
    job->facts = arena_array(arena, struct fact, FIRST_FACTS);
    size_t *counts = arena_array(arena, size_t, job->procedure->index_count);
    for (size_t i = 0; i < job->procedure->index_count; i++)
        counts[i] = index_size(job, (int)i);
    job->conditions = condition_state_begin(job->procedure, counts, arena);
    job->must_ask = arena_array(arena, bool, job->conditions.standing_count);
    job->answered = arena_array(arena, unsigned, job->conditions.standing_count);
    job->set_at = arena_array(arena, long long, job->conditions.standing_count);
    job->denied = arena_array(arena, unsigned, job->conditions.standing_count);
    job->was_perhaps = arena_array(arena, bool, job->conditions.standing_count);
    job->opened = arena_array(arena, unsigned, job->conditions.standing_count);
    job->taken = arena_array(arena, struct standing, job->conditions.standing_count);
    job->want_event = arena_array(arena, unsigned, job->procedure->want_count);
    job->input_event = arena_array(arena, unsigned, job->procedure->input_count);
    job->recent = arena_array(arena, unsigned, RECENT_STEPS);
    number_steps(job);
    number_root_children(job);
    lay_out_readings(job);
    lay_out_ledger(job);
    find_deciding(job);
    return job;
}

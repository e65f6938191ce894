#include "job_state.h"

const struct fitted *job_fitted(const struct job *job)
{
    return job->fitted;
}

const struct event *job_events(const struct job *job, size_t *count)
{
    *count = job->event_count;
    return job->events;
}

const struct condition_state *job_conditions(const struct job *job)
{
    return &job->conditions;
}

const struct event *job_started(const struct job *job)
{
    return job->event_count == 0 ? NULL : &job->events[0];
}

const struct event *job_ended(const struct job *job)
{
    return job->ended == 0 ? NULL : job_event(job, job->ended);
}

bool job_has_ended(const struct job *job)
{
    return job->ended != 0;
}

bool job_is_paused(const struct job *job)
{
    return job->paused != 0 && job->cue != 0;
}

bool job_is_making_safe(const struct job *job)
{
    return job->makesafe_since != 0;
}

bool job_is_beside_the_work(const struct job *job)
{
    return job_is_making_safe(job) || job->redo_since != 0 || job->again_since != 0;
}

bool job_event_counts(const struct job *job, const struct event *event)
{
    const struct fact *fact = fact_at(job, &event->spot);
    return event->number == fact->done || event->number == fact->skipped;
}

bool job_is_rehearsal(const struct job *job)
{
    return job->event_count > 0 && job->events[0].is_rehearsal;
}

unsigned job_void_from(const struct job *job)
{
    return job->void_from;
}

unsigned job_step_number(const struct job *job, const struct work *step)
{
    return job->number_of[step->id];
}

/* Its own question found that it did not do what it was for. */
static bool was_denied(const struct job *job, unsigned done)
{
    for (size_t i = 0; i < job->conditions.standing_count; i++) {
        if (job->denied[i] == done)
            return true;
    }
    return false;
}

size_t job_last_steps(const struct job *job, size_t wanted, struct spot *spots)
{
    size_t count = 0;
    for (size_t i = 0; count < wanted && i < RECENT_STEPS && job->recent[i] != 0; i++) {
        const struct spot *spot = &job_event(job, job->recent[i])->spot;
        bool is_listed = false; /* or was denied when it was done again */
        for (size_t k = 0; k < i; k++)
            is_listed = is_listed || spot_equal(&job_event(job, job->recent[k])->spot, spot);
        if (!is_listed && !was_denied(job, job->recent[i]))
            spots[count++] = *spot;
    }
    return count;
}

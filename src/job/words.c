#include "job_state.h"

#include <assert.h>

/* --- leaving a step out ---------------------------------------------------------------------------------- */

static bool restores_something(const struct job *job, const struct step *step)
{
    for (size_t i = 0; i < step->clears_count; i++) {
        if (job->procedure->conditions[step->clears[i].condition]->restore.length > 0)
            return true;
    }
    return step->refits_count > 0;
}

/* A gate is no question of the step; it stands before it. */
static bool is_within_step(const struct stand *stand)
{
    switch (stand->prompt) {
    case PROMPT_WARNING:
    case PROMPT_ACTION:
    case PROMPT_READING:
    case PROMPT_COUNT:
    case PROMPT_WAIT:
    case PROMPT_INSIST:
    case PROMPT_REASON:
        return stand->work != NULL && stand->work->step != NULL;
    case PROMPT_CONDITION:
        return stand->answered == ANSWERED_SET;
    case PROMPT_MANUAL_VALUE:
    case PROMPT_SOURCE:
    case PROMPT_INPUT:
    case PROMPT_OPTIONAL:
    case PROMPT_HOLD:
    case PROMPT_SHUT:
    case PROMPT_ONCE:
    case PROMPT_CUE:
    case PROMPT_CLOCK:
    case PROMPT_AMEND:
    case PROMPT_BOUND:
    case PROMPT_TRIAL:
    case PROMPT_CLAIM:
    case PROMPT_ENDED:
        break;
    }
    return false;
}

static bool decides_something(const struct job *job, const struct step *step)
{
    for (size_t i = 0; i < step->reading_count; i++) {
        if (job->decides[job->procedure->readings[step->readings[i]].symbol])
            return true;
    }
    return false;
}

struct decision job_skip(const struct job *job, struct text reason, struct instant now,
                         struct arena *scratch)
{
    struct stand stand = job_stand(job, now, true, scratch);
    if (stand.kind != STAND_ASK || !is_within_step(&stand))
        return decision_refused(TEXT("This cannot be skipped."));
    const struct step *step = stand.work->step;
    if (text_trim(reason).length == 0)
        return decision_refused(TEXT("Say why: skip REASON."));
    if (step->has_hold || step->allots != NULL)
        return decision_refused(TEXT("A hold point cannot be skipped."));
    if (restores_something(job, step))
        return decision_refused(
            TEXT("This step puts something back as it was; it cannot be skipped."));
    if (decides_something(job, step))
        return decision_refused(
            TEXT("What is done next rests on a reading of this step; it cannot be skipped."));
    if (step_starts_awaited(job, step))
        return decision_refused(
            TEXT("This step starts a wait that a later step rests on; it cannot be skipped."));
    if (job->makesafe_step != 0)
        return decision_refused(TEXT("Nothing is skipped while making safe."));
    struct event event = event_begin(job, EVENT_SKIPPED, &stand.spot, now);
    event.is_late = stand.is_late;
    event.reason = text_trim(reason);
    event.name = step->name;
    struct decision decision = decision_of(scratch, &event);
    decision.echo =
        text_fill(scratch, "Skipped; the proof does not cover what comes from step {} on.",
                  text_number(scratch, job->number_of[stand.spot.work]));
    return decision;
}

/* --- notes and pictures -------------------------------------------------------------------------------------- */

struct decision job_note(const struct job *job, struct text note, struct instant now,
                         struct arena *scratch)
{
    note = text_normalised(scratch, note);
    if (note.length == 0)
        return decision_refused(TEXT("A note has some words: note WORDS."));
    struct stand stand = job_stand(job, now, false, scratch);
    struct event event = event_begin(job, EVENT_NOTED, &stand.spot, now);
    event.is_late = stand.is_late;
    event.typed = note;
    return decision_of(scratch, &event);
}

struct decision job_attach(const struct job *job, struct text name, struct text bytes,
                           struct instant now, struct arena *scratch)
{
    if (bytes.length == 0)
        return decision_refused(TEXT("The file is empty."));
    struct stand stand = job_stand(job, now, false, scratch);
    struct event event = event_begin(job, EVENT_ATTACHED, &stand.spot, now);
    event.is_late = stand.is_late;
    event.name = name;
    event.bytes = bytes;
    return decision_of(scratch, &event);
}

/* --- stopping and going on --------------------------------------------------------------------------------------- */

struct decision job_pause(const struct job *job, enum paused cause, struct instant now,
                          struct arena *scratch)
{
    if (job->ended != 0)
        return decision_refused(TEXT("This job has ended."));
    if (job->paused != 0 && job->cue != 0)
        return decision_refused(TEXT("This job is paused."));
    struct spot opening = spot_opening();
    struct event event = event_begin(job, EVENT_PAUSED, &opening, now);
    event.detail = (unsigned)cause;
    return decision_of(scratch, &event);
}

/* How long it lay, by the wall clock, goes along; whether that clock can be believed is asked next. */
struct decision job_resume(const struct job *job, struct instant now, struct arena *scratch)
{
    if (job->ended != 0)
        return decision_refused(TEXT("This job has ended."));
    if (job->event_count == 0)
        return decision_refused(TEXT("This job was never started."));
    struct spot opening = spot_opening();
    struct event event = event_begin(job, EVENT_RESUMED, &opening, now);
    event.has_value = true;
    event.value = (double)(now.wall - job->last.wall) / 1000.0;
    return decision_of(scratch, &event);
}

struct decision job_begin_makesafe(const struct job *job, struct instant now,
                                   struct arena *scratch)
{
    if (job->ended != 0 || job->paused != 0)
        return decision_refused(TEXT("Only a job that is going on can be made safe step by "
                                     "step."));
    struct spot opening = spot_opening();
    struct event event = event_begin(job, EVENT_DECIDED, &opening, now);
    event.name = TEXT("makesafe");
    event.detail = 1;
    return decision_of(scratch, &event);
}

struct decision job_end(const struct job *job, struct instant now, struct arena *scratch)
{
    if (job->ended != 0)
        return decision_refused(TEXT("This job has ended."));
    const struct text *items;
    size_t count = job_open_items(job, now, &items, scratch);
    struct spot opening = spot_opening();
    struct event event = event_begin(job, EVENT_ENDED, &opening, now);
    event.detail = ENDED_LEFT_OPEN;
    event.meaning = text_join(scratch, items, count, TEXT("; "));
    return decision_of(scratch, &event);
}

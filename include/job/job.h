#ifndef JOB_JOB_H
#define JOB_JOB_H
/*
 * job.h - one walk through a procedure, as a function of what has happened.
 *
 * Purpose   A job is nothing but its events: the same files and the same events
 *           always give the same job.  Deciding and applying are separate, so
 *           that what happened is on disk before it counts.
 * Owns      where the person is, what was read, which conditions hold, the
 *           ledger of parts, the timers, what may come next.
 * May call  base, measure, expression, procedure, safety, verify's type.  No clock, no I/O.
 *
 * What needs no person (a `when`, a subset, `until`, a step that begins or is
 * done, the end) is settled first, event by event; only then is somebody asked:
 *
 *     for (;;) {
 *         struct decision decision = job_settle(job, now, scratch);
 *         if (decision.event_count == 0)
 *             break;
 *         ... make decision.events durable, then job_apply() each ...
 *     }
 *     struct prompt prompt = job_prompt(job, now, scratch);
 *     ... ask ...
 *     struct decision decision = job_decide(job, &prompt, &answer, now, scratch);
 *     ... make durable, job_apply() each; then settle again ...
 */
#include "job/prompt.h"
#include "safety/conditions.h"
#include "safety/makesafe.h"

struct sound_procedure; /* verify/verify.h: the only kind of procedure that can be followed */
struct job;

/* A job before its first event.  All it keeps lies in `arena`. */
struct job *job_begin(const struct sound_procedure *sound, const struct fitted *fitted,
                      struct arena *arena);

struct decision {
    const struct event *events; /* to be made durable and applied, in order */
    size_t event_count;
    struct text
        refusal;      /* why the answer was not taken, in words; or empty.  There may be events
                            all the same: a wrong count and a denial at a hold point are recorded */
    struct text echo; /* how it was understood: "cylinder 3: 11.8 bar"; or empty */
};

/* What happens next without a person: the event to be made durable and applied, then settle again;
 * none when it is somebody's turn.  Changes nothing.  EVENT_ENTERED means that the action of that
 * step (or the whole card of that away section: its work is no step) is shown now; `value` then says
 * how many seconds late it is for its timers.  EVENT_DONE: the step is done.  EVENT_ENDED: the job
 * is over and everything is restored; where it is not, somebody is asked (PROMPT_SHUT). */
struct decision job_settle(const struct job *job, struct instant now, struct arena *scratch);

/* What is asked now; only when job_settle() has nothing.  Depends on the job and the time (timers,
 * lapses) alone.
 *
 * After EVENT_ENTERED a step that asks for something (readings, torque, counts, a hold point, the
 * question of what it sets) goes straight to the first of them and is done with the last; a step
 * that asks for nothing is PROMPT_ACTION: Enter, done.  PROMPT_ACTION with a section as `work` is an
 * away section: its card was shown, Enter when the hands are free again.  PROMPT_WARNING comes once
 * for all messages of the step (work->step->messages), if one is worse than a notice and the step
 * before did not have the same ones.  PROMPT_SHUT: at a gate, and wherever else the work cannot just go
 * on (a step left something not in force, the end is reached with something open).  PROMPT_CUE:
 * `pause` was recorded and a cue is asked for, or (after a resume) asked back.  PROMPT_ENDED: the
 * job has ended or is paused.  PROMPT_ONCE: how far a `once` step, an away section (its work is no step) or,
 * when making safe begins, the step on show had got.  Choices of conditions and hold points are shuffled, others are not. */
struct prompt job_prompt(const struct job *job, struct instant now, struct arena *scratch);

/* What an answer to that prompt would do.  Changes nothing.  ANSWER_END, ANSWER_STOP and
 * ANSWER_INTERRUPT give an EVENT_PAUSED (a session that asks on Ctrl-C does so before it comes
 * here); ANSWER_WAKE gives nothing.  `unread REASON` is an answer to PROMPT_READING (`.unread` where
 * is_free_text). */
struct decision job_decide(const struct job *job, const struct prompt *prompt,
                           const struct answer *answer, struct instant now,
                           struct arena *scratch);

/* The only function that changes a job.  The event is copied. */
void job_apply(struct job *job, const struct event *event);

/* --- words that are not answers ------------------------------------------------------------ */

/* EVENT_SKIPPED for the step that is being asked about; refused at a gate, without a reason, while
 * making safe, and for a step with a hold point, that restores something, that reads what a later
 * decision rests on, or that starts a wait. */
struct decision job_skip(const struct job *job, struct text reason, struct instant now,
                         struct arena *scratch);
/* The numbers of the events that can be amended, newest first: readings, inputs, manual values; and the
 * last answers about conditions that are in force by them, which can only be denied. */
size_t job_amendable(const struct job *job, const unsigned **numbers, struct arena *arena);
/* One line about such an event: "dry, cylinder 3: 8.1 bar" (as it stands now). */
struct text job_event_text(const struct job *job, unsigned number, struct arena *arena);
/* Before the reason is asked for: refused as job_amend would, or whether the value is implausible and so
 * to be asked again; `echo` then says it: "1680 psi (115.8 bar) is unlikely; likely is ...".  No events. */
struct decision job_amend_look(const struct job *job, unsigned number, struct text typed,
                               bool *is_unlikely, struct arena *scratch);
/* The unit in which a correction typed without one is taken; empty if it is no quantity or has none. */
struct text job_amend_unit(const struct job *job, unsigned number);
/* EVENT_AMENDED, read as the first answer was; where a decision would now come out differently the
 * next prompt is PROMPT_AMEND. */
struct decision job_amend(const struct job *job, unsigned number, struct text typed,
                          struct text reason, struct instant now, struct arena *scratch);
struct decision job_note(const struct job *job, struct text note, struct instant now,
                         struct arena *scratch);
/* A file that belongs to the step being asked about. */
struct decision job_attach(const struct job *job, struct text name, struct text bytes,
                           struct instant now, struct arena *scratch);
/* EVENT_PAUSED; after PAUSED_ASKED the next prompt is PROMPT_CUE, then job_is_paused(). */
struct decision job_pause(const struct job *job, enum paused cause, struct instant now,
                          struct arena *scratch);
/* EVENT_RESUMED; to be recorded whenever a job is taken up again, after a pause or a crash. */
struct decision job_resume(const struct job *job, struct instant now, struct arena *scratch);
/* Starts make safe: its steps are asked for one by one, in the order found. */
struct decision job_begin_makesafe(const struct job *job, struct instant now,
                                   struct arena *scratch);
/* EVENT_ENDED, left open, with what. */
struct decision job_end(const struct job *job, struct instant now, struct arena *scratch);

#endif

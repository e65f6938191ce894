#ifndef JOB_LOOK_H
#define JOB_LOOK_H
/*
 * look.h - looking at a job, without changing it.
 *
 * Purpose   Who talks with a person, tells what the readings say, or writes the
 *           card, needs to see what the job knows.  All of it is worked out from
 *           the events, here and in one way only.
 * Owns      nothing: these are views.  What they point to lies in the job or in
 *           the arena given.
 * May call  job.h and what it may.
 */
#include "job/job.h"

/* --- the whole ------------------------------------------------------------------------------ */

const struct fitted *job_fitted(const struct job *job);
/* Every event so far, in order; amended values stay, followed by their amendments. */
const struct event *job_events(const struct job *job, size_t *count);
const struct condition_state *job_conditions(const struct job *job);
/* The moves that put everything right: those of the search over conditions and, woven into them, the
 * steps that put parts back (parts that no step can put back are none).  Found and without moves: it
 * is safe as far as this procedure's steps can make it. */
struct makesafe job_makesafe(const struct job *job, struct instant now, struct arena *arena);
/* job_makesafe(), and the parts that none of its moves puts back. */
struct makesafe_order {
    struct makesafe makesafe;
    struct part_out *left;
    size_t left_count;
};
/* In `makesafe.open` what was set up last stands first, and nothing before what requires it. */
struct makesafe_order job_makesafe_order(const struct job *job, struct instant now,
                                         struct arena *arena);

/* Ruled out at every place by the values of the machine alone, whatever will be read and answered: a
 * motorcycle's stand on a van. */
bool job_never_does(const struct job *job, const struct work *work, struct arena *scratch);
/* For working out expressions with what the job knows; `here` of no position. */
struct surroundings job_surroundings(const struct job *job, struct arena *arena);

/* The first event, with the clock, the zone and the seed; NULL before it. */
const struct event *job_started(const struct job *job);
/* The event by which it ended, completed or left open; NULL: it has not ended. */
const struct event *job_ended(const struct job *job);
bool job_has_ended(const struct job *job);
/* Paused, and nothing more to ask (the cue was given, or nobody is there to give one). */
bool job_is_paused(const struct job *job);
bool job_is_making_safe(const struct job *job);
/* Making safe, or doing something again: not in the order of the file. */
bool job_is_beside_the_work(const struct job *job);
/* The spots of the last steps done, newest first and each once, at most `wanted`; not those whose own
 * question found it not to be so.  For showing on a resume. */
size_t job_last_steps(const struct job *job, size_t wanted, struct spot *spots);
/* A step's number in the order of the file, from 1: "step 12 of 31". */
unsigned job_step_number(const struct job *job, const struct work *step);
/* After a resume: was something in force that is still to be asked again? */
bool job_asks_again(const struct job *job);
/* What steps inside this work (a section; works[0] for all) should have set and their own questions found
 * not to be so, and nothing has set since: names with positions, "on stands, wheel front left". */
size_t job_denied(const struct job *job, const struct work *inside, const struct text **names,
                  struct arena *arena);
/* What is out of its normal state or unfinished, in words, one item per text: conditions, parts,
 * timers.  None: the job can be completed. */
size_t job_open_items(const struct job *job, struct instant now, const struct text **items,
                      struct arena *arena);
/* What the wrench is to be set to at this spot, with an extension in line reckoned in
 * (set = wanted L / (L + E), TM 1-1500-204-23-9); false without a torque. */
bool job_wrench_setting(const struct job *job, const struct spot *spot, double *si,
                        struct arena *scratch);
bool job_is_rehearsal(const struct job *job);
/* 0, or the number of the first step skipped by force: "proof void from step n". */
unsigned job_void_from(const struct job *job);
/* Done, skipped or passed over, of all steps as far as they are known: what this machine's values, what was
 * decided, or a subset once known leave out is in neither; for "12 of 31". */
void job_progress(const struct job *job, unsigned *done, unsigned *total);
/* "12 of 31 done, 1 skipped": what was passed over counts in neither, as on the card. */
struct text job_progress_words(const struct job *job, struct arena *arena);

/* The ledger: what is out, by position. */
struct part_out {
    unsigned part;  /* procedure.parts */
    int position;   /* or INDEX_NONE */
    unsigned count; /* fasteners and the like; 1 otherwise */
    bool is_perhaps;
};
size_t job_parts_out(const struct job *job, struct part_out **out, struct arena *arena);
struct timer_running {
    unsigned timer;
    int position;
    long long started, due, too_late; /* wall clock; 0: none */
};
size_t job_timers(const struct job *job, struct timer_running **running, struct arena *arena);

/* A template with its blanks filled from the job, at a spot. */
struct text job_fill(const struct job *job, const struct template *template,
                     const struct spot *spot, struct arena *arena);
/* "cylinder 3", "round 2, front left"; empty outside loops. */
struct text job_spot_name(const struct job *job, const struct spot *spot, struct arena *arena);

/* --- what a job leaves behind -------------------------------------------------------------- */

/* What a later job on this machine finds as earlier.NAME, to stand in its EVENT_STARTED: the value of a
 * reading or input as this job has it, with its uncertainty, if it is of the type that is wanted there;
 * of a reading by position one for each, named "dry[3]".  None: it was not read here.  A reading that is
 * added up and to which nothing was added is 0, but not where its step was skipped. */
size_t job_left_behind(const struct job *job, struct text name, struct type wanted,
                       const struct earlier_value **values, struct arena *arena);

/* --- events, time and places ------------------------------------------------------------------ */

/* By number, from 1. */
const struct event *job_event(const struct job *job, unsigned number);
/* Did it end its step in the normal course of the work?  What was done again, or while making safe, is not
 * counted twice. */
bool job_event_counts(const struct job *job, const struct event *event);
/* The job's own time in milliseconds, which a clock put wrong does not move. */
long long job_time(const struct job *job, struct instant instant);
/* Where what is asked before the first step belongs. */
struct spot spot_opening(void);
/* The spot of a step with these positions, by index number; of a repeat the newest round. */
struct spot spot_for(const struct job *job, const struct work *step, const int *here);
/* The position by index number at a spot. */
const int *spot_here(const struct job *job, const struct spot *spot, struct arena *arena);
/* A section done away from the screen, its card read beforehand. */
bool work_is_away(const struct work *work);
/* On the card of an away section: a `once` step that was done before the stop. */
bool card_step_is_finished(const struct job *job, const struct spot *spot);
/* How many positions, and what one is called. */
size_t index_size(const struct job *job, int index);
struct text index_label(const struct job *job, int index, int position, struct arena *arena);

/* --- values ------------------------------------------------------------------------------------ */

/* False if it is missing; `missing` (may be NULL) then says what. */
bool work_out_number(const struct expression *expression,
                     const struct surroundings *surroundings, double *si, struct text *missing,
                     struct arena *arena);
/* The numbers that the value of a reading at a position (of one without positions: any) is made from, in
 * SI; none if it was not read. */
const double *reading_numbers(const struct job *job, unsigned reading, size_t position,
                              size_t *count, struct arena *arena);
/* How many those are. */
size_t reading_repeats(const struct job *job, unsigned reading, size_t position,
                       struct arena *scratch);
/* Like job_surroundings, but as if each reading had been taken with a gauge of its own: the
 * difference is what shared errors that cancel are worth. */
struct surroundings surroundings_apart(const struct job *job, struct arena *arena);
/* Like job_fill, about one position of an index whatever the spot. */
struct text fill_at(const struct job *job, const struct template *template,
                    const struct spot *spot, int index, int position, struct arena *arena);
/* The unit that the author, the machine sheet or whoever declared it used for a value of this kind; NULL
 * if no part of the expression is of it.  say_unit() is for showing it. */
const struct unit *given_unit(const struct fitted *fitted, const struct expression *expression);
/* The gauge that reads today what a SYMBOL_EARLIER was; NULL if there is none. */
const struct gauge *earlier_gauge(const struct job *job, const struct symbol *symbol);
/* The gauge whose accuracy this source of error is, or NULL. */
const struct gauge *job_source_gauge(const struct job *job, unsigned source);
/* Does it rest on this symbol, through names and results too? */
bool rests_on(const struct job *job, const struct expression *expression, unsigned symbol,
              struct arena *scratch);
/* Marks every symbol (by number) that it rests on; what is marked already stays so. */
void mark_rests(const struct job *job, const struct expression *expression, bool *symbols);

#endif

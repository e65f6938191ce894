#ifndef CONVERSATION_REHEARSAL_H
#define CONVERSATION_REHEARSAL_H
/*
 * rehearsal.h - a session whose person is an answers file.
 *
 * Purpose   Rehearses a procedure, runs it in tests and on a machine without a
 *           terminal: a console that answers by name and a clock that jumps to
 *           the timers.
 * Owns      how the names of an answers file meet the prompts of a session.
 * May call  job, outcome, procedure/load.
 *
 * Under `answers` stand, by name:
 *
 *     odometer: 84210 km            an input
 *     wheels_chocked: stayed still  a condition, whenever it is asked; by position as a map
 *     turn_by_hand: freely          a hold point, by its step
 *     trim: do                      an optional step; or `pass over`
 *     crank_dry:                    a step, by its own name or in full (part.crank_dry)
 *       dry: {1: [11.6, 11.7]}      a reading: positions as a map, repeats as a list
 *       torque: 21 N.m              what the wrench was set to
 *       bolts: 9                    how many came back
 *       hold: freely                the hold point of a step that has readings too
 *       optional: pass over         the same for an optional step
 *       once: in part               on resuming a `once` step
 *       shut: ...  bound: ...       what to do at a shut gate, at a denied end of this step, at a
 *                                   repeat's bound
 *       skip: REASON                leaves the step out
 *     soak:                         a trial: its hold point, and the claim at the end
 *       design: go on with this trial
 *       claim: 2 and 3
 *     cue: key on the dash          at a pause and after it; need not be named
 *
 * A precaution that has answers left (below) when a gate is shut or its step ends denied is seen to again
 * without a `shut`.  The same answer again and again at one place is a finding.
 *
 * Any of them may be `{times: [a, b, c]}`, one for each asking, or `{is: 30 bar, insist: REASON}` for a
 * value that is not plausible.  Warnings are read and ordinary steps are done without being named.
 */
#include "conversation/session.h"
#include "procedure/load.h"

struct rehearsal;

/* `echo` also gets everything told, and each prompt with the answer given; its ask is not used, and
 * its tell may be NULL.  Everything lies in `arena`. */
struct rehearsal *rehearsal_new(const struct answers *answers, const struct fitted *fitted,
                                struct console echo, struct instant begins,
                                struct arena *arena);
struct console rehearsal_console(struct rehearsal *rehearsal);
/* Moves on a little with every answer, and to the end of a timer that is waited for. */
struct clock rehearsal_clock(struct rehearsal *rehearsal);
/* After a session: a prompt that had no answer, an answer that was never asked for, or refused, as
 * a finding; and `expect` against the outcome. */
void rehearsal_judge(const struct rehearsal *rehearsal, const struct job *job,
                     struct diagnostics *found, struct arena *arena);
/* Was the session ended by `pause_before` or `fail_before`?  True once for each: the pause then lies
 * behind, by the clock, and the caller resumes the job on the same rehearsal. */
bool rehearsal_was_interrupted(struct rehearsal *rehearsal);

#endif

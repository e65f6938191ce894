#ifndef TELLING_H
#define TELLING_H
/*
 * telling.h - what the parts of a job card share.
 *
 * Purpose   A moment, a value with its corrections and a place are said in one
 *           way all over the card.
 * Owns      struct telling; the words for those.
 * May call  base, procedure, job, outcome.
 */
#include "blocks.h"
#include "job/look.h"
#include "outcome/outcome.h"
#include "report/card.h"

struct telling {
    const struct job *job;
    const struct procedure *procedure;
    const struct fitted *fitted;
    const struct event *events;
    size_t event_count;
    struct text zone;
    long long begun; /* wall clock */
    bool is_ended, is_completed;
    struct arena *arena;
    struct blocks blocks;
};

/* "08:05"; with its date on another day than the job was begun. */
struct text tell_moment(const struct telling *telling, const struct instant *at);
/* "cylinder 3", "round 2, front left"; a position where the step's place says none. */
struct text tell_where(const struct telling *telling, const struct event *event, int index);
/* The work an event belongs to: a step's name in words; empty in the opening. */
struct text tell_step(const struct telling *telling, const struct event *event);

/* An answer or reading as it stands now, after corrections. */
const struct event *told_now(const struct telling *telling, const struct event *event);
/* "11.6 bar", "not read" */
struct text tell_value(const struct event *event);
/* "corrected from 83 bar because misread; entered afterwards"; empty if there is nothing to say. */
struct text tell_remarks(const struct telling *telling, const struct event *event);
/* What was typed, and what it was corrected to: "83", "83, then 8.3". */
struct text tell_typed(const struct telling *telling, const struct event *event);

/* Positions by index number at a spot; INDEX_NONE outside its each. */
const int *told_here(const struct telling *telling, const struct spot *spot);

/* --- card_numbers.c ---------------------------------------------------------------------------- */
/* What the numbers of the results rest on, and how far they can be leaned on. */
void tell_numbers(struct telling *telling, const struct outcome *outcome);
/* --- card_trials.c ----------------------------------------------------------------------------- */
/* Did it work: effect and band, against whom, what was claimed, and what speaks against it. */
void tell_trials(struct telling *telling, const struct outcome *outcome);
/* --- card_readings.c --------------------------------------------------------------------------- */
void tell_inputs(struct telling *telling);
/* Readings that were wanted and not taken: results pass over them. */
void tell_missing(struct telling *telling);
void tell_readings(struct telling *telling);
void tell_torques(struct telling *telling);
/* --- card_ledger.c ----------------------------------------------------------------------------- */
void tell_parts(struct telling *telling);
void tell_supplies(struct telling *telling);
void tell_timers(struct telling *telling);
/* --- card_events.c ----------------------------------------------------------------------------- */
void tell_conditions(struct telling *telling);
void tell_hold_points(struct telling *telling);
/* The steps on which most hangs, and what became of them; `ranking` NULL: nothing. */
void tell_hanging_steps(struct telling *telling, const struct ranking *ranking);
void tell_skipped(struct telling *telling);
void tell_left_out(struct telling *telling);
void tell_interruptions(struct telling *telling);
void tell_notes(struct telling *telling);
void tell_attachments(struct telling *telling);

/* --- card_head.c ------------------------------------------------------------------------------- */
void tell_head(struct telling *telling, struct text program);
void tell_cautions(struct telling *telling);
void tell_claim(struct telling *telling); /* what was proven, where the record says so */
void tell_open(struct telling *telling);

/* --- rests_on.c -------------------------------------------------------------------------------- */
/* Is one of these symbols in the expression, or behind a name or result in it? */
bool told_rests_on(const struct procedure *procedure, const struct expression *expression,
                   bool (*is_sought)(void *self, const struct symbol *symbol), void *self);

/* --- amount_unit.c ----------------------------------------------------------------------------- */
/* Three significant digits, as good as a person measures out; pieces are counted whole. */
struct text told_amount(struct arena *arena, double si, const struct unit *unit);

/* --- gauge_table.c ----------------------------------------------------------------------------- */
/* One line for each gauge; `is_wanted` by number, or NULL for all.  A calibration that was past on the
 * `day` is said to be below. */
void tell_gauges(struct blocks *blocks, struct text heading, const struct fitted *fitted,
                 const bool *is_wanted, const struct day *day);

#endif

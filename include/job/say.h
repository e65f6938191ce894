#ifndef JOB_SAY_H
#define JOB_SAY_H
/*
 * say.h - small pieces of sentences that a session, an outcome and a rehearsal share.
 *
 * Purpose   `fuel_disabled` in a file is "fuel disabled" to a person.  Said in
 *           one way only.
 * Owns      names, lists, counts, computed numbers and timers in words.
 * May call  base, measure, procedure, job.
 */
#include "job/look.h"

/* "a, b and c"; "nothing" for none. */
struct text say_list(struct arena *arena, const struct text *items, size_t count);
/* "1 step", "4 steps". */
struct text say_count(struct arena *arena, size_t count, const char *noun);
/* The label of a position, with the name of its index: "cylinder 3"; empty for INDEX_NONE. */
struct text say_position(struct arena *arena, const struct job *job, int index, int position);
/* "Lowest" for "lowest". */
struct text say_capital(struct arena *arena, struct text words);
/* The words whole, without the full stop, or their beginning and an ellipsis: at most that wide. */
struct text say_short(struct arena *arena, struct text words, unsigned columns);
/* What an author wrote in the language of conditions, without the underscores: "rest voltage < 12.4 V". */
struct text say_expression(struct arena *arena, struct text written);

/* The section or part with a title that a piece of work stands in, or is; NULL if there is none. */
const struct work *say_section(const struct work *work);
/* "step 5 (Hold it)": where a step stands, without its action, whose gate may be shut. */
struct text say_step(struct arena *arena, const struct job *job, const struct work *step);

/* The unit that the value of an expression is said in, in a question, in a text and on the card alike: the
 * one declared, where it is a reading, a result or what a result shows; else that of the first part of its
 * kind; else what its parts make together, L/km; else the kind's usual one.  NULL if it is no number. */
const struct unit *say_unit(struct arena *arena, const struct fitted *fitted,
                            const struct expression *expression);

/* A value that was worked out: four significant digits, or two of its uncertainty; no zeros that say
 * nothing at the end. */
struct text say_number(struct arena *arena, struct measured number, const struct unit *unit);
/* An amount to pour or lay out, in the unit given; less than a tenth of a litre in mL. */
struct text say_amount(struct arena *arena, const struct scalar *scalar, struct type type,
                       const struct unit *unit);
/* A number, yes or no, or the text itself; `unit` of a number may be NULL. */
struct text say_scalar(struct arena *arena, const struct scalar *scalar, struct type type,
                       const struct unit *unit);

/* What is out of its normal state now, each in a few words: "fuel disabled", "perhaps liquid in cylinder
 * (cylinder 3 and 4)", "4 spark plugs out". */
size_t say_open(struct arena *arena, const struct job *job, struct text **items);
/* The same of these parts alone; `items` has room for all of them. */
size_t say_parts(struct arena *arena, const struct job *job, const struct part_out *out,
                 size_t out_count, struct text *items);
/* "draining: 8 min left", "draining: ran out 3 min ago"; nothing once it was waited for. */
struct text say_timer(struct arena *arena, const struct job *job,
                      const struct timer_running *running, long long now);

/* What its owner or the author calls a gauge. */
struct text say_gauge(struct arena *arena, const struct gauge *gauge);
/* "calibration was due 2026-03-01: past", on the card, in the kit and in the opening alike; empty if it is
 * not past at that time (wall clock, 0: not known). */
struct text say_overdue(struct arena *arena, const struct gauge *gauge, long long wall,
                        struct text zone);

/* A template before any job: blanks are shown as three dots. */
struct text say_template(struct arena *arena, const struct template *template);

#endif

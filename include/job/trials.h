#ifndef JOB_TRIALS_H
#define JOB_TRIALS_H
/*
 * trials.h - a trial within a job: who is treated, what was read, what it shows.
 *
 * Purpose   Who is treated is fixed once, by an event, behind a hold point that
 *           shows what the design can and cannot show; in the end the readings
 *           are judged against those of the untreated ones.
 * Owns      the way from events to measure/trial.h and back, and its questions; what a
 *           trial comes to in sentences is the outcome's.
 * May call  job.h, look.h, measure/trial.h.
 */
#include "job/look.h"
#include "measure/trial.h"

/* --- who is treated --------------------------------------------------------------------------- */

/* The event that fixed it, or NULL. */
const struct event *trial_allotted(const struct job *job, const struct trial *trial);
int trial_index(const struct job *job, const struct trial *trial);
/* Positions with a value before: by lot only these can be drawn. */
unsigned long long trial_read_before(const struct job *job, const struct trial *trial,
                                     struct arena *scratch);
/* Those that an `is` names now; false if that cannot be told, with what is missing. */
bool trial_chosen(const struct job *job, const struct trial *trial, long long time,
                  unsigned long long *positions, struct text *missing, struct arena *scratch);
/* Of a trial by lot: the job's seed, changed for each trial, so that two of them are two draws. */
unsigned long long trial_seed(const struct job *job, const struct trial *trial);
unsigned long long trial_drawn(const struct job *job, const struct trial *trial,
                               struct arena *scratch);
unsigned trial_count(unsigned long long positions);

/* --- the arithmetic ----------------------------------------------------------------------------- */

struct trial_prospects {
    struct trial_design design;
    struct trial_prospect prospect;
    size_t positions; /* read before */
    bool is_single;   /* read once before, or to be read once after */
    bool rests_on_before;
};
/* As it is before the work, with these treated; of a draw it is enough that the number is right. */
struct trial_prospects trial_prospects_of(const struct job *job, const struct trial *trial,
                                          unsigned long long positions, struct arena *scratch);
struct trial_outcome trial_outcome_of(const struct job *job, const struct trial *trial,
                                      struct arena *arena);
struct value trial_value_of(const struct job *job, unsigned item, struct arena *arena);
/* A difference of two readings is shown in this. */
const struct unit *trial_unit(const struct job *job, const struct trial *trial);

/* --- claims ---------------------------------------------------------------------------------------- */

/* Labels, "none" or "all"; false with a refusal. */
bool trial_claim_take(const struct job *job, const struct trial *trial, struct text typed,
                      unsigned long long *positions, struct text *refusal,
                      struct arena *scratch);
const struct event *trial_claimed(const struct job *job, const struct trial *trial);
/* It has a claim to ask for, is allotted, was read afterwards, and nobody has answered yet. */
bool trial_wants_claim(const struct job *job, const struct trial *trial, struct arena *scratch);

/* --- what is asked about it ---------------------------------------------------------------- */

extern const struct choices trial_choices; /* of the hold point before the work */
enum { TRIAL_GO_ON, TRIAL_PAUSE };

/* "2 and 3"; "none". */
struct text trial_labels(const struct job *job, const struct trial *trial,
                         unsigned long long positions, struct arena *arena);
struct text trial_question(const struct job *job, const struct trial *trial,
                           struct arena *arena);
struct text claim_question(const struct job *job, const struct trial *trial,
                           struct arena *arena);

#endif

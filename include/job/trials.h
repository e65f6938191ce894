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
/* Positions with a value after. */
unsigned long long trial_read_after(const struct job *job, const struct trial *trial,
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
/* The effect carries the verdict's band, and beside it what accuracy and resolution of the gauges add
 * to it as a number, with the freedom of the band.  The verdict rests on that band alone: one gauge that
 * reads in proportion too high makes effect and band larger by the same part, and decides nothing. */
struct value trial_value_of(const struct job *job, unsigned item, struct arena *arena);
/* A difference of two readings is shown in this. */
const struct unit *trial_unit(const struct job *job, const struct trial *trial);

/* --- how far it compares ---------------------------------------------------------------------- */

/* What the gauges may have done.  Before and after with two gauges: what each is off by everywhere
 * drops out between treated and untreated; what grows with the reading does not. */
struct trial_gauges {
    bool are_two;
    bool is_accuracy_known; /* of both */
    double off;             /* SI, a step: by so much the effect may be off, 95 % */
    bool may_be_all;        /* there is a verdict, and the two gauges alone may have made it */
    double scale;           /* the same for the rounding to the steps of the scales */
    bool
        is_scale_coarse; /* readings scatter less than they are rounded: bands are too narrow */
    bool may_be_scale;   /* and the rounding alone may have made the verdict */
};
struct trial_gauges trial_gauges_of(const struct job *job, const struct trial *trial,
                                    const struct trial_outcome *outcome, struct arena *arena);

enum trial_matching { MATCH_HOLDS, MATCH_UNSURE, MATCH_FAILS, MATCH_UNREAD };
enum trial_matching trial_match_now(const struct job *job, const struct trial_match *match,
                                    struct arena *scratch);

/* Does the expression rest on what the trial came to? */
bool trial_is_behind(const struct job *job, const struct trial *trial,
                     const struct expression *expression, struct arena *scratch);

/* "rose more", "inconclusive". */
struct text trial_answer_words(enum trial_verdict verdict);

/* --- claims ---------------------------------------------------------------------------------------- */

/* Labels, parted by commas, blanks or "and": "1, 3 and 4".  False: `rest` begins with what is none. */
bool labels_take(const struct labels *labels, struct text typed, unsigned long long *positions,
                 struct text *rest);
/* "2 and 3"; "none". */
struct text labels_told(const struct labels *labels, unsigned long long positions,
                        struct arena *arena);
/* Labels, "none" or "all"; false with a refusal. */
bool trial_claim_take(const struct job *job, const struct trial *trial, struct text typed,
                      unsigned long long *positions, struct text *refusal,
                      struct arena *scratch);
/* As it was corrected last; NULL: none was made. */
const struct event *trial_claimed(const struct job *job, const struct trial *trial);
/* A claim is worth something only if it was made before the verdict was known: until the job has ended,
 * what a trial with a claim came to is shown nowhere. */
bool trial_is_kept_back(const struct job *job, const struct trial *trial);
/* It has a claim to ask for, is allotted, was read afterwards, and nobody has answered yet. */
bool trial_wants_claim(const struct job *job, const struct trial *trial, struct arena *scratch);

/* --- what is asked about it ---------------------------------------------------------------- */

extern const struct choices trial_choices; /* of the hold point before the work */
enum { TRIAL_GO_ON, TRIAL_PAUSE };

/* The same of a trial's positions. */
struct text trial_labels(const struct job *job, const struct trial *trial,
                         unsigned long long positions, struct arena *arena);
struct text trial_question(const struct job *job, const struct trial *trial,
                           struct arena *arena);
struct text claim_question(const struct job *job, const struct trial *trial,
                           struct arena *arena);

#endif

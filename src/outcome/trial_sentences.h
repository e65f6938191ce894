#ifndef OUTCOME_TRIAL_SENTENCES_H
#define OUTCOME_TRIAL_SENTENCES_H
/*
 * trial_sentences.h - what the sentences before a trial and after it share.
 *
 * Purpose   Regression to the mean and carry-over are said in the same words before the work
 *           and on the card; amounts are written alike.
 * Owns      those; trial_design.c what is said before, trial_cautions.c what speaks against leaning on
 *           it, judged.c the verdict, trial_words.c the claim.
 * May call  job/trials.h.
 */
#include "job/trials.h"
#include "outcome/outcome.h"

enum { LINES_MOST = 16, CHANGES_MOST = FITTED_POSITIONS_MAX };
struct lines {
    struct text *texts;
    size_t count, most;
};

struct lines lines_begin(size_t most, struct arena *arena);
void lines_add(struct lines *lines, struct text line);

/* --- amounts: SI, a step ---------------------------------------------------------------------- */

/* A band or a scatter, to two digits. */
struct text trial_step_words(struct arena *arena, double amount, const struct unit *unit);
/* With its sign: to two digits; to the last digit of its band. */
struct text trial_change_words(struct arena *arena, double change, const struct unit *unit);
struct text trial_banded_words(struct arena *arena, double change, double band,
                               const struct unit *unit);
/* To two digits, and not more coarsely than a band that stands near it. */
struct text trial_fine_words(struct arena *arena, double change, double band,
                             const struct unit *unit);
/* As an author wrote it: "0.5 bar". */
struct text trial_amount_words(struct arena *arena, double amount, const struct unit *unit);
struct text trial_decimals(struct arena *arena, double value, unsigned places);

/* --- said before and after ------------------------------------------------------------------------ */

struct text trial_index_name(const struct job *job, const struct trial *trial);
/* The smallest change worth having; false if none is said or it cannot be worked out. */
bool trial_find_worth(const struct job *job, const struct trial *trial, double *worth,
                      struct arena *arena);
/* Some and not others, by the readings that they are compared with. */
bool trial_is_picked(const struct trial *trial, const struct trial_prospects *prospects);
struct text trial_regression_words(const struct job *job, const struct trial *trial,
                                   const struct trial_prospects *prospects,
                                   struct arena *arena);
struct text trial_reached_all_words(void);
/* Did an earlier trial of this job go before it, over the same positions? */
bool trial_carries_over(const struct job *job, const struct trial *trial, struct text *words,
                        struct arena *arena);

/* --- after it ----------------------------------------------------------------------------------- */

struct judging {
    const struct job *job;
    const struct trial *trial;
    const struct trial_outcome *outcome;
    const struct unit *unit;
    unsigned long long treated;
    struct arena *arena;
};
void trial_add_cautions(const struct judging *judging, const struct event *allotted,
                        struct lines *cautions, struct text *unmatched);

#endif

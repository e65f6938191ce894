#ifndef OUTCOME_TRIAL_WORDS_H
#define OUTCOME_TRIAL_WORDS_H
/*
 * trial_words.h - what a trial has shown, in sentences.
 *
 * Purpose   The effect, its band, the cautions and the claim, ready for the screen
 *           and the card.
 * Owns      these sentences.
 * May call  job/trials.h, say.
 */
#include "job/trials.h"
#include "outcome/outcome.h"

struct trial_finding trial_work_out(const struct job *job, const struct trial *trial,
                                    struct arena *arena);
/* Why there is no verdict: "nothing was read twice, ..."; of a trial without one. */
struct text trial_lack_words(const struct job *job, const struct trial *trial,
                             struct arena *arena);

/* --- what rests on a trial ------------------------------------------------------------------ */

/* Does it rest on the effect of a trial without a verdict?  The number is there, and nothing to judge
 * it by. */
bool trial_leaves_open(const struct job *job, const struct expression *expression,
                       struct text *reason, struct arena *arena);
/* Does it rest on a trial that has a claim, before the end of the job? */
bool trial_keeps_back(const struct job *job, const struct expression *expression,
                      struct arena *arena);
/* Does it rest on the effect of a trial whose before and after do not match?  With a sentence. */
bool trial_weakens(const struct job *job, const struct expression *expression,
                   struct text *note, struct arena *arena);

#endif

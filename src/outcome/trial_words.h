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
                                    const struct surroundings *surroundings,
                                    struct arena *arena);

#endif

#ifndef JOB_CLAIM_H
#define JOB_CLAIM_H
/*
 * claim.h - what was proven of a procedure, and what hangs on its steps, in plain words.
 *
 * Purpose   Screen, kit and card say it in the same words, and never more than was shown.
 * Owns      those words.
 * May call  base, procedure, verify's types.
 */
#include "job/look.h"
#include "verify/verify.h"

/* "Proven before the start: … (967 states, 6 branches), if …"; empty where the record does not say. */
struct text claim_words(struct arena *arena, const struct job *job);
/* What the claim does not show; one line. */
struct text claim_limit_words(void);

/* What follows when the step is ticked and not done: "DANGER at step 23 (turn over) without this: out
 * of gear". */
struct text claim_harm_words(struct arena *arena, const struct procedure *procedure,
                             const struct critical_step *critical);
/* A step's number in the order of the file, from 1; and with its name: "step 23 (turn over)". */
long long claim_step_number(const struct procedure *procedure, const struct work *step);
struct text claim_step_words(struct arena *arena, const struct procedure *procedure,
                             const struct work *step);

enum hanging {
    HANGING_LITTLE,  /* nothing, or something is only left open */
    HANGING_MUCH,    /* `critical` says what */
    HANGING_UNKNOWN, /* not ranked: too many combinations */
};
/* Does a person have to be told while the step is shown?  From SIGNAL_WARNING on: were most steps marked,
 * none would be. */
enum hanging claim_of_step(const struct ranking *ranking, const struct work *step,
                           const struct critical_step **critical);

#endif

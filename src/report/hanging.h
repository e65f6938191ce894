#ifndef HANGING_H
#define HANGING_H
/*
 * hanging.h - the steps on which most hangs, for kit and card.
 *
 * Purpose   Worst first, numbered, with what follows if one is ticked and not done; on a card
 *           also what became of it.
 * Owns      that section.
 * May call  base, procedure, verify's types, job.
 */
#include "telling.h"
#include "verify/verify.h"

/* `is_wanted` by work, NULL: all; `became` says what became of a step, and whether it was simply done, NULL:
 * there is no job.  A NULL ranking tells nothing.  `are_grouped`: by what they guard against, a row for each
 * harm, instead of a row for each step. */
struct hanging_on {
    const struct procedure *procedure;
    const struct ranking *ranking;
    bool (*is_wanted)(const void *self, const struct work *step);
    bool (*became)(const void *self, const struct work *step, struct text *told);
    const void *self;
    bool are_grouped;
};
void tell_hanging(struct blocks *blocks, const struct hanging_on *hanging);

#endif

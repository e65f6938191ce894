#ifndef OUTCOME_STANDING_H
#define OUTCOME_STANDING_H
/*
 * standing.h - how far a result can be leaned on, in words.
 *
 * Purpose   A number with a band around it looks finished.  Here is said what
 *           would settle a verdict that is too close to call, why a ratio is
 *           narrower than its readings, and what no band shows: a scatter that
 *           nobody could see, a gauge overdue, a gauge of unknown accuracy.
 * Owns      these sentences.
 * May call  measure, expression, job.
 */
#include "measure/verdict.h"
#include "outcome/outcome.h"

/* A number of a result: of a vector, the one that decides its verdict. */
struct weighed {
    const struct job *job;
    const struct expression *expression;
    const struct unit *unit; /* never NULL */
    size_t position;
    struct measured value;
    struct bounds limits;
    bool is_too_close;
};
/* At most STANDING_NOTES sentences. */
enum { STANDING_NOTES = 2 };
size_t standing_notes(const struct weighed *weighed, struct text *notes, struct arena *arena);

/* About all numbers together. */
size_t standing_cautions(const struct job *job, const struct text **cautions,
                         struct arena *arena);

#endif

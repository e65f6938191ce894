#ifndef TESTS_WALKER_H
#define TESTS_WALKER_H
/*
 * walker.h - somebody who does everything as expected, and otherwise anything.
 *
 * Purpose   Walks the real engine through a procedure: conditions and hold points
 *           are answered as expected, values and choices at random, optional steps
 *           done or passed over, stops and resumes anywhere.  On a proven procedure
 *           no gate may be shut; on an unproven one the path that was printed
 *           must lead to the fault that was printed.
 * Owns      one walk at a time.
 * May call  engine and below; random_procedure.h for its dice.
 */
#include "support/walked_job.h"
#include "verify/random_procedure.h"

enum walk_end {
    WALK_COMPLETED,
    WALK_SHUT_BY_A_CONDITION, /* a gate wants what is not in force, or forbids what is */
    WALK_LEFT_OPEN,           /* the end, with a condition or a part out of place */
    WALK_NO_ORDER,            /* a stop from where nothing makes safe */
    WALK_ELSEWHERE            /* a bound, a missing value, a wait that was never started */
};

struct wanderer {
    struct walked walked;
    struct arena_mark blank; /* of the scratch arena */
    struct dice dice;
    unsigned stop_percent;
    struct text said; /* by the prompt that ended it */
};

void walker_open(struct wanderer *walker, const struct procedure *procedure,
                 const struct machine *machine, unsigned long long seed);
void walker_close(struct wanderer *walker);

/* To the end of the job, or to where it does not go on. */
enum walk_end walker_walk(struct wanderer *walker);
/* Answers one prompt that is no refusal; readings and inputs at random. */
void walker_answer(struct wanderer *walker);
/* The position of a step on show in the innermost `each`, or INDEX_NONE. */
int walker_position(const struct wanderer *walker, const struct work *work,
                    const struct spot *spot);

#endif

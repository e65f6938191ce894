#ifndef JOB_SAFE_PLACES_H
#define JOB_SAFE_PLACES_H
/*
 * safe_places.h - at which position a thing is put right.
 *
 * Purpose   Air let into cylinder 1 is let out of cylinder 1.  To the search for an order a
 *           condition of the whole machine is cleared as well by the step for cylinder 2; to the
 *           person it is not.  So a move is made where the condition was brought about, or else
 *           where the person stands, and elsewhere only if no move can be made there.
 * Owns      how far from there a place is.
 * May call  the job's state, the branches, conditions.
 */
#include "job_state.h"

struct safe_permission {
    const struct job *job;
    long long time;
    struct arena *arena;
    bool is_strict; /* no step of a branch that this machine and these readings do not take */
    bool stays_in_place;  /* no move elsewhere while one can be made in place */
    bool refused_a_place; /* it has kept a move out */
    const int *stands;    /* the position last worked at, by index number; or INDEX_NONE */
    const int *
        *brought; /* by condition of the whole machine: where it was brought about; NULL: not
                           * looked up yet */
};

struct safe_permission safe_permission_begin(const struct job *job, long long time,
                                             struct arena *arena);
/* Of the branches that are taken, and not once too often; at exactly this place. */
bool safe_may_do(const struct safe_permission *permission, const struct work *step,
                 const int *here);
/* The same for a move of the search, which knows of no positions but those that conditions have. */
bool safe_may_move(void *self, const struct work *step, const int *here);
/* The same position of every index that the search knows of. */
bool safe_is_same_place(const struct job *job, const int *place, const int *here);
/* Where such a move is made; NULL: nowhere. */
const int *safe_place_of(const struct safe_permission *permission, const struct work *step,
                         const int *here);

#endif

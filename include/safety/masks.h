#ifndef SAFETY_MASKS_H
#define SAFETY_MASKS_H
/*
 * masks.h - gates and effects of steps as a few operations on words.
 *
 * Purpose   Both searches look at gates millions of times.  So each step, at
 *           each combination of positions, is compiled into bit masks over a
 *           state that is packed into words: a true bit for every standing, and
 *           an owed bit where it has `restore`.
 * Owns      which bit is which, and the masks.  What they mean is conditions.h
 *           and nothing else; a test holds the two against each other.
 * May call  conditions.
 *
 *     struct mask_layout layout = masks_begin(procedure, NULL, NULL, arena);
 *     layout.bit_count += more;           bits of the caller's own stand behind
 *     masks_close(&layout, arena);
 *     struct step_masks masks = masks_of(&layout, work, here, arena);
 *     if (masks_allow(&layout, &masks, bits, after)) ...
 *
 * Nothing has lapsed in a packed state: a lapsed condition is asked again at the gate, and counts.
 * What is asked at every gate is never a reason to refuse.
 */
#include "safety/conditions.h"

#include <stdint.h>

enum { MASK_NO_BIT = -1 };

/* `true` without what it requires: any bit of `is_so`, and not every bit of `wanted`. */
struct requires_mask {
    const uint64_t *is_so, *wanted;
    unsigned condition, required;
    int position;
};

struct mask_layout {
    struct condition_state shape;     /* which standings there are; without the standings */
    const int *true_bits, *owed_bits; /* by standing; MASK_NO_BIT: not kept */
    unsigned bit_count;
    size_t words;
    const struct requires_mask *requires; /* in the order of conditions */
    size_t requires_count;
    uint64_t *owed;    /* every owed bit */
    uint64_t *lapsing; /* the true bits of what lapses */
};

/* position_counts as for condition_state_begin.  is_kept: by condition; one that is not kept is
 * never so, whatever sets it, so one that is needed or required must be.  NULL: all are. */
struct mask_layout masks_begin(const struct procedure *procedure, const size_t *position_counts,
                               const bool *is_kept, struct arena *arena);
/* The same, with the positions of a state that there is; all are kept. */
struct mask_layout masks_like(const struct condition_state *state, struct arena *arena);
/* The number of bits is known now. */
void masks_close(struct mask_layout *layout, struct arena *arena);

/* If `bit` is not so when the step begins, all of `voided` are made untrue. */
struct void_mask {
    int bit;
    const uint64_t *voided;
};
/* Whoever has bits of his own may add them to `forbids`, `sets`, `clears` and `begun_sets`. */
struct step_masks {
    const struct work *work;
    const int *here;
    uint64_t *needs, *forbids;
    uint64_t *clears, *sets;
    uint64_t *begun_clears, *begun_sets;
    const struct void_mask *voids;
    size_t void_count;
};
struct step_masks masks_of(const struct mask_layout *layout, const struct work *work,
                           const int *here, struct arena *arena);
/* A condition answered as expected in the opening. */
struct step_masks masks_of_answer(const struct mask_layout *layout, unsigned condition,
                                  int position, struct arena *arena);

/* The step is done, every question answered as expected. */
void masks_done(const struct mask_layout *layout, const struct step_masks *masks,
                const uint64_t *bits, uint64_t *after);
/* Is the gate open, or would it be when what lapsed is asked?  If so `after` is what the step leads to. */
bool masks_allow(const struct mask_layout *layout, const struct step_masks *masks,
                 const uint64_t *bits, uint64_t *after);
/* The first `requires` that is broken; NULL: none. */
const struct requires_mask *masks_broken(const struct mask_layout *layout,
                                         const uint64_t *bits);
/* The step was begun and not finished, at its worst: what it sets with `restore` is owed, and true only
 * where no question would show it; what it clears or would void is untrue where a question would
 * show that, and stays as it was where none would. */
void masks_begun(const struct mask_layout *layout, const struct step_masks *masks,
                 const uint64_t *bits, uint64_t *after);

bool masks_bit(const uint64_t *bits, int bit);
void masks_set_bit(uint64_t *bits, int bit);
void masks_clear_bit(uint64_t *bits, int bit);

/* Standings from bits; those that are not kept are false. */
void masks_unpack(const struct mask_layout *layout, const uint64_t *bits,
                  struct condition_state *state);
/* Bits from standings: true and owed as they stand. */
void masks_pack(const struct mask_layout *layout, const struct condition_state *state,
                uint64_t *bits);

#endif

#ifndef SAFETY_SAFE_MOVES_H
#define SAFETY_SAFE_MOVES_H
/*
 * safe_moves.h - what the one search for an order and the many share.
 */
#include "safety/makesafe.h"
#include "safety/state_table.h"

/* Which index loops stand round a work, itself included; innermost first, LOOP_DEPTH_MAX at most. */
size_t loops_around(const struct work *work, int *indexes);

/* Marks what the gate of a step wants; false when all of it was marked. */
bool safe_moves_want(const struct procedure *procedure, const struct step *step, bool *wanted);
/* As safe_moves_find, for whatever is wanted; more is marked in `wanted` as it is found. */
size_t safe_moves_for(const struct condition_state *shape, bool *wanted, bool may_remove,
                      struct safe_move **moves, struct arena *arena);

#endif

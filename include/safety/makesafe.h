#ifndef SAFETY_MAKESAFE_H
#define SAFETY_MAKESAFE_H
/*
 * makesafe.h - the order in which to put things right from here.
 *
 * Purpose   Someone who must stop wants one list: what is out of its normal
 *           state, and which steps put it right, in an order in which each is
 *           allowed.  The order is searched for, not the reverse of the work
 *           by luck.
 * Owns      the search: breadth-first over the conditions, with the procedure's
 *           own steps that set or clear as moves under their own gates, until
 *           nothing is owed.
 * May call  conditions.
 *
 * A `once` step counts as a move only if it was not done yet, none that removes
 * a part is one; what has lapsed counts as denied.
 */
#include "safety/conditions.h"

struct makesafe_move {
    const struct work *step;
    const int *here; /* position by index number, as for a gate */
};
struct makesafe {
    bool is_found;   /* false: no order was found within the bound; `open` is still complete */
    bool is_bounded; /* the search was given up at MAKESAFE_STATES_MAX */
    const struct makesafe_move *moves; /* the fewest that lead to nothing owed */
    size_t move_count;
    const struct open_condition *open; /* what is out of its normal state, or perhaps */
    size_t open_count;
};

enum { MAKESAFE_STATES_MAX = 50000, MAKESAFE_WAY_STATES_MAX = 4000 };

/* may_do: may this step still be done (a `once` step that was done may not); NULL: all may. */
struct makesafe makesafe_find(const struct condition_state *state,
                              bool (*may_do)(void *self, const struct work *step,
                                             const int *here),
                              void *self, long long now, struct arena *arena);

/* Something owed that was shown not to be so, and has no question of its own: must it be cleared
 * before it is set again (a vehicle that rocks is raised off its stands first)? */
enum set_anew { SET_ANEW_FROM_THE_GROUND, SET_ANEW_AS_IT_IS };

/* The fewest moves after which the gate of the goal, a step or an away section, is no longer shut; by
 * the same rules, but what lapsed counts as in force (it is asked), and a step that removes a part is
 * a move if may_do says so.  `open` is left empty. */
struct makesafe makesafe_find_way(const struct condition_state *state,
                                  const struct makesafe_move *goal, enum set_anew set_anew,
                                  bool (*may_do)(void *self, const struct work *step,
                                                 const int *here),
                                  void *self, struct arena *arena);

#endif

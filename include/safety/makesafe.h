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
#include "safety/masks.h"

struct makesafe_move {
    const struct work *step;
    const int *here; /* position by index number, as for a gate */
};
struct makesafe {
    bool is_found;   /* false: no order was found within the bound; `open` is still complete */
    bool is_bounded; /* the search was given up at MAKESAFE_STATES_MAX */
    const struct makesafe_move
        *moves; /* that lead to nothing owed: the fewest, if they were found within
                                          MAKESAFE_FEWEST_STATES_MAX */
    size_t move_count;
    const struct open_condition *open; /* what is out of its normal state, or perhaps */
    size_t open_count;
};

enum {
    MAKESAFE_STATES_MAX = 50000,
    MAKESAFE_FEWEST_STATES_MAX = 3000,
    MAKESAFE_WAY_STATES_MAX = 4000
};

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
 * a move if may_do says so.  Of positions that stand alike, and of ways that are as short, that of the
 * goal comes first.  `open` is left empty. */
struct makesafe makesafe_find_way(const struct condition_state *state,
                                  const struct makesafe_move *goal, enum set_anew set_anew,
                                  bool (*may_do)(void *self, const struct work *step,
                                                 const int *here),
                                  void *self, struct arena *arena);

/* --- the same question for a proof: is there an order at all, from very many states ------------- */

/* A step that makes safe, at one position.  `bit` of a packed state says that it may not be
 * done, or not again; MASK_NO_BIT: it always may. */
struct safe_move {
    const struct work *work;
    const int *here;
    int bit;
};
/* Every step that may help to put right the conditions marked `is_open`: one that clears them, or sets or
 * clears what such a step wants, and so on backwards.  What does not bear on them is left out. */
size_t safe_moves_find(const struct procedure *procedure, const struct condition_state *shape,
                       const bool *is_open, struct safe_move **moves, struct arena *arena);
/* The masks of a move, its bit among them. */
struct step_masks safe_move_masks(const struct mask_layout *layout,
                                  const struct safe_move *move, struct arena *arena);

enum safe_order { ORDER_EXISTS, ORDER_NONE, ORDER_NOT_KNOWN /* given up for want of room */ };

struct safe_orders;
/* Answers are kept.  Of a state only the first `bit_count` bits matter: those of the layout's conditions and
 * of the moves.  At most `max` states are looked at in all. */
struct safe_orders *safe_orders_begin(const struct mask_layout *layout, unsigned bit_count,
                                      const struct safe_move *moves, size_t move_count,
                                      size_t max, struct arena *arena);
/* From this state, with everything that lapses denied. */
enum safe_order safe_order_from(struct safe_orders *orders, const uint64_t *bits);
/* How many different states are known to have an order. */
size_t safe_orders_shown(const struct safe_orders *orders);
/* Where there is none: the first condition that stays open whatever is done, and its position; if each
 * could be put right but not all of them, the first that is open. */
struct open_condition safe_order_stays(struct safe_orders *orders, const uint64_t *bits);

#endif

#ifndef VERIFY_PROGRAM_H
#define VERIFY_PROGRAM_H
/*
 * program.h - the work tree as a graph of places, and which bit of a state is what.
 *
 * Purpose   The search goes from place to place.  Loops are unrolled over two positions, each
 *           truth that is looked at is a place with a way for yes and one for no, and every step
 *           is masks.
 * Owns      the graph; the bits; what is the same truth.
 *
 * A place is silent if nothing a person does or says happens there: the search passes
 * through it, and keeps states only where something does.
 */
#include "safety/makesafe.h"
#include "verify/verify.h"

struct moved_part;

enum place_kind {
    PLACE_END,
    PLACE_NOWHERE, /* cannot come to be: no alternative holds though they name every choice */
    PLACE_JUMP,
    PLACE_ASK, /* a condition asked in the opening */
    PLACE_STEP,
    PLACE_DECIDE, /* a truth: silent once it is decided */
    PLACE_CHOOSE, /* is a text this choice: silent once it is decided */
    PLACE_FORK,   /* either way, each time: another round, or a truth about elapsed time */
    PLACE_AWAY,   /* the gate of an away section */
    PLACE_KEEP,   /* a bit becomes `value` */
    PLACE_TEST,   /* goes by a bit */
    PLACE_FOUND,  /* a round begins: how it finds the condition is kept */
    PLACE_LEAVES  /* a round ends: the condition must be as it was found */
};

enum { WAY_NO = 0, WAY_YES = 1 }; /* of next; a step's is WAY_YES */

struct place_in_work {
    enum place_kind kind;
    const struct work *work;
    const int *here;
    unsigned next[2];
    unsigned variable;          /* DECIDE, CHOOSE: which */
    unsigned value;             /* CHOOSE: the choice; KEEP: 0 or 1 */
    int bit;                    /* KEEP, TEST; FOUND, LEAVES: the first of two */
    int true_bit, owed_bit;     /* FOUND, LEAVES, ASK */
    unsigned condition;         /* ASK, FOUND, LEAVES */
    int position;               /* ASK, FOUND, LEAVES; where the event is PATH_SUBSET */
    enum path_event_kind event; /* DECIDE, CHOOSE, FORK */
    const struct expression *expression; /* the same */
    struct step_masks masks;             /* STEP, ASK */
    uint64_t *forgets;                   /* STEP: the truths it makes undecided again */
    int once_bit;                        /* STEP, or MASK_NO_BIT */
    bool is_reached;
    const uint64_t *foregone; /* bits of decisions that nobody looks at from here on */
    /* STEP: what it takes out, then what it puts back and does not itself take out. */
    const struct moved_part *moved;
    size_t removed_count, refitted_count;
    uint64_t *always, *ever; /* STEP: the bits of every, and of some state that reached it */
};

/* A part that a step moves: the bits of every position at which it does. */
struct moved_part {
    unsigned part;
    int first_bit, position; /* or INDEX_NONE: all, or it has none */
    unsigned bit_count;
};

/* What an atom rests on: a reading, at one position or (INDEX_NONE) at any. */
struct resting {
    unsigned reading;
    int position;
};

/* A truth, or a text with choices.  Its value plus one stands in its bits; 0: undecided. */
struct variable {
    struct text key;
    const struct expression *expression; /* as written */
    const struct choices *choices;       /* NULL: a truth */
    unsigned first_bit, bit_count;
    const struct resting *rests;
    size_t rest_count;
};

/* Which step is left out, as if it were not there. */
struct omission {
    const struct work *deleted;
};

struct program {
    const struct procedure *procedure;
    struct omission omission;
    struct arena *arena;
    struct place_in_work *places;
    size_t place_count, place_capacity;
    unsigned entry, end, nowhere;
    struct mask_layout layout;
    unsigned order_bits; /* those that matter to the order to make safe stand first */
    struct safe_move *moves;
    size_t move_count;
    const int *part_bits; /* by part: its first bit; then the other position's */
    struct variable *variables;
    size_t variable_count, variable_capacity;
    bool is_too_large; /* more bits or places than can be held */
};

/* The steps that stand in a repeat are done again; a `once` one among them has a bit. */
struct program program_of(const struct procedure *procedure, struct omission omission,
                          struct arena *arena);

/* Finds what is foregone at each place. */
void program_forego(struct program *program);

/* --- for truths.c and program.c ---------------------------------------------------------------- */

unsigned program_add(struct program *program, struct place_in_work place);

/* Where an expression stands. */
struct standpoint {
    const int *here;
    const struct work *loop; /* it is the `in` of this loop, at `position`; or NULL */
    int position;
};
/* The place at which it is begun to look whether the expression is true. */
unsigned truth_place(struct program *program, const struct expression *expression,
                     struct standpoint standpoint, unsigned yes, unsigned no);
/* The truth of belonging to a list of labels, at one position. */
unsigned label_place(struct program *program, const struct work *loop,
                     struct standpoint standpoint, unsigned yes, unsigned no);
/* Could something that is recorded in the work make an `in` undecided again? */
bool truth_may_change_in(struct program *program, const struct work *loop);
/* The truths that a step, at its position, makes undecided again. */
void truths_forgotten(const struct program *program, const struct step *step, const int *here,
                      uint64_t *bits);

#endif

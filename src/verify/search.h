#ifndef VERIFY_SEARCH_H
#define VERIFY_SEARCH_H
/*
 * search.h - every state that can be reached, and the faults on the way.
 *
 * Purpose   Breadth-first through the graph, so that the first way to a fault is a shortest one.
 * Owns      the walk; which fault is the same; when it is given up.
 */
#include "program.h"
#include "safety/state_table.h"

/* What happened between the last state and the fault. */
enum fault_tail { TAIL_NONE, TAIL_STOPPED, TAIL_BEGUN };

struct fault {
    enum path_fault kind;
    const struct work *work;
    const int *here;
    unsigned condition, required, part;
    int position;
    int state;    /* the last state on the way; STATE_NONE: before anything happened */
    bool has_way; /* and the way that was taken from it */
    unsigned way;
    enum fault_tail tail;
    unsigned length; /* events */
};

/* Told of every fault and every way instead: the search then goes on behind a fault, as a person does
 * who believes in what was ticked. */
struct search_listener {
    void *self;
    void (*met)(void *self, const struct fault *fault);
    bool (*is_enough)(void *self); /* the state at hand cannot be worse: its way ends there */
    void (*led)(void *self, int from, int to); /* STATE_NONE: no room for another state */
};

struct search {
    struct program *program;
    const struct search_listener *listener; /* NULL: faults are kept, and end a path */
    struct state_table table;
    struct safe_orders *orders;       /* NULL: not asked for */
    uint64_t *bits, *after, *begun;   /* for the state at hand */
    struct condition_state standings; /* for the gate of an away section */
    struct fault faults[PROOF_PATHS_MAX];
    size_t fault_count;
    struct fault doubts[PROOF_PATHS_MAX]; /* FAULT_PART_IN; they end no path */
    size_t doubt_count;
    int number;            /* of the state at hand */
    bool has_given_up;     /* too many states */
    bool is_order_unknown; /* too many on the way to safety */
};

/* with_orders: is there an order to make safe from everywhere? */
void search_all(struct search *search, struct program *program, bool with_orders, size_t max);

/* Behind search_all: the state of that number, already in the table, is gone on from. */
void search_on_from(struct search *search, int number);
/* The state that `place` with the bits in search->after leads to, silent places passed; STATE_NONE: none,
 * or (has_given_up) no room. */
int search_reach(struct search *search, unsigned place, const struct fault *fault,
                 bool *is_new);

/* What the way from a state leads to, before silent places are passed; the next place. */
unsigned search_way(const struct search *search, const struct place_in_work *place,
                    const uint64_t *bits, unsigned way, uint64_t *after);

#endif

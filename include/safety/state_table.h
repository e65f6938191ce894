#ifndef SAFETY_STATE_TABLE_H
#define SAFETY_STATE_TABLE_H
/*
 * state_table.h - the states that a search has met, each kept once.
 *
 * Purpose   Both searches over conditions, for the order to make safe and for
 *           the proof, meet millions of states that are a few words of bits at
 *           a place.  They are kept in the order they were met, so that the
 *           table is the queue of a breadth-first search as well, and grow
 *           with what is met: a small procedure costs little.
 * Owns      the records, the hashing, and the end of the room.
 * May call  base.
 *
 * Numbers count from 0 and records never move.
 */
#include "base/arena.h"

#include <limits.h>
#include <stdbool.h>
#include <stdint.h>

enum { STATE_NONE = -1, STATE_CHUNKS = 26 };

/* `words` words of bits stand behind each. */
struct state_record {
    unsigned place; /* together with the bits what makes it another state */
    int before;     /* the state it came from, or STATE_NONE */
    unsigned how;   /* the searcher's own: which way it came */
    unsigned mark;  /* the searcher's own */
};

struct state_table {
    struct arena *arena;
    size_t words, count, max;
    char *chunks[STATE_CHUNKS]; /* each has room for twice as many as the one before */
    unsigned *slots;            /* number plus one; 0: free */
    size_t slot_count;
    bool is_full; /* one more was wanted than `max`, or than the arena has room for */
};

struct state_table state_table_begin(size_t words, size_t max, struct arena *arena);

struct state_record *state_at(const struct state_table *table, int number);
uint64_t *state_bits(struct state_record *record);

/* Its number, new or not; STATE_NONE, and the table is full, where there is no more room. */
int state_add(struct state_table *table, unsigned place, const uint64_t *bits, bool *is_new);

#endif

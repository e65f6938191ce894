#ifndef SAFETY_GATE_FINDER_H
#define SAFETY_GATE_FINDER_H
/*
 * gate_finder.h - what the two gates of this module share: of a step, and of an away section.
 */
#include "safety/conditions.h"

/* The standings a use covers, counted from the first of its condition: one, or all positions. */
struct standing_span {
    unsigned from, to;
};
struct standing_span standings_covered(const struct condition_state *state,
                                       struct condition_use use, const int *here);
int standing_position(const struct condition_state *state, unsigned condition, unsigned at);

/* A question that no answer outlives: it is put at every gate, and no step need set the fact. */
bool condition_is_asked_at_gates(const struct condition *condition);

/* What a gate found, kept apart until it is known whether anything shuts it. */
struct gate_finder {
    const struct condition_state *state;
    long long now;
    struct gate_item *shut, *ask;
    size_t shut_count, ask_count, capacity;
};
struct gate_finder gate_finder_begin(const struct condition_state *state, long long now,
                                     struct arena *scratch);
void gate_add_shut(struct gate_finder *finder, struct gate_item item);
void gate_add_ask(struct gate_finder *finder, struct gate_item item);
struct gate gate_finder_verdict(const struct gate_finder *finder);

#endif

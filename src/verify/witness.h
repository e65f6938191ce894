#ifndef VERIFY_WITNESS_H
#define VERIFY_WITNESS_H
/*
 * witness.h - from a fault that the search found to the path that shows it.
 */
#include "search.h"

/* The events in order, what would have helped, and why it did not; everything in `arena`. */
struct unsafe_path witness_of(struct search *search, const struct fault *fault,
                              struct arena *arena);

#endif

#ifndef VERIFY_WORDS_H
#define VERIFY_WORDS_H
/*
 * words.h - sentences about a proof, for its findings.
 */
#include "verify/verify.h"

struct text words_of_condition(const struct procedure *procedure, unsigned condition,
                               struct arena *arena);
struct text words_of_work(const struct work *work, struct arena *arena);
/* Who would have helped and why not, who changed it; of an order to make safe, what stands in the way. */
struct text words_of_cause(const struct unsafe_path *path, struct arena *arena);
struct text words_of_block(const struct procedure *procedure, const struct unsafe_path *path,
                           struct arena *arena);

#endif

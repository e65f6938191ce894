#ifndef VERIFY_PROVE_H
#define VERIFY_PROVE_H
/*
 * prove.h - the proof without its findings, also of a procedure with a step left out.
 */
#include "program.h"

/* Everything in `arena` but what the search needed.  states_max: given up beyond; `with_orders`: is there an
 * order to make safe from everywhere.  The procedure has no mistakes and is no part. */
struct proving {
    struct omission omission;
    bool with_orders;
    size_t states_max;
    struct diagnostics *found; /* for warnings; NULL: none wanted */
};
struct proof prove(const struct procedure *procedure, struct proving proving,
                   struct arena *arena, struct arena *scratch);

#endif

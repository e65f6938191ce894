#ifndef TESTS_SPIN_RUN_H
#define TESTS_SPIN_RUN_H
/*
 * spin_run.h - SPIN's verdict on procedures, several in one model.
 *
 * Purpose   Writes the model, builds the search (breadth-first, so that the
 *           trail is a short one), runs it for each procedure and reads what it
 *           says.
 * Owns      a temporary folder for each run, removed afterwards.
 * May call  promela.h; spin and cc as programs.
 */
#include "verify/promela.h"

enum { SPIN_BATCH_MAX = 32, SPIN_WORKS_MAX = 400 };

struct spin_answer {
    bool is_translated; /* false: promela_write() refused it */
    bool is_known;      /* SPIN came to an end */
    bool is_safe;
    unsigned length; /* of the path to the fault, in events */
    char fault[100]; /* "need s7" */
    char path[4000];
    bool reached[SPIN_WORKS_MAX]; /* by work id; safe ones only */
    bool doubted[SPIN_WORKS_MAX]; /* puts back what is not out, on some path */
};

/* Are spin and a C compiler installed? */
bool spin_is_here(void);
/* False if SPIN or the compiler failed; what they said stands on stderr. */
bool spin_ask(const struct procedure *const *procedures, unsigned count, bool with_make_safe,
              struct spin_answer *answers);

#endif

#ifndef TESTS_ORACLE_H
#define TESTS_ORACLE_H
/*
 * oracle.h - the prover's verdict beside SPIN's, over many procedures.
 *
 * Purpose   Two readings of the same rules, made apart, must agree on every
 *           procedure; and the prover's path to a fault may not be longer than
 *           the one SPIN found.
 * Owns      loading random procedures, counting who said what.
 * May call  verify and below; random_procedure.h, spin_run.h.
 */
#include "procedure/load.h"
#include "verify/random_procedure.h"
#include "verify/spin_run.h"
#include "verify/verify.h"

struct oracle_range {
    unsigned long long seed, stride; /* the first, and how far to the next */
    unsigned count;                  /* procedures that load; the others are passed over */
};

struct oracle_tally {
    unsigned procedures, safe, unsafe,
        dead;         /* by SPIN; dead: safe, and a step that no path reaches */
    unsigned doubted; /* safe, and a step puts back what may be in */
    unsigned equal, different;
    unsigned length_equal, prover_shorter, prover_longer;
    unsigned not_translated;
};

/* Room for one procedure and for its proof.  The address sanitizer marks every byte of it, twice. */
#ifdef __SANITIZE_ADDRESS__
#define ORACLE_ROOM (64 * MEBIBYTE)
#define PROOF_ROOM  (64 * MEBIBYTE)
#else
#define ORACLE_ROOM (256 * MEBIBYTE)
#define PROOF_ROOM  ((size_t)1024 * MEBIBYTE)
#endif
void oracle_out_of_memory(size_t wanted);

/* NULL if it has errors. */
const struct procedure *oracle_load(unsigned long long seed, bool is_plain,
                                    struct arena *arena);
/* One that ships; NULL: no procedure, or a part of others. */
const struct procedure *oracle_load_shipped(struct text name, struct arena *arena);
/* The names of the YAML files in a folder, without their ending; and the bytes of one. */
size_t oracle_names(const char *folder, struct text *names, size_t most, struct arena *arena);
const char *oracle_bytes(const char *folder, struct text name, struct arena *arena);
struct proof oracle_prove(const struct procedure *procedure, struct arena *arena,
                          struct arena *scratch);
/* The shortest path to a fault; NULL: none (a step that no path reaches has none). */
const struct unsafe_path *oracle_shortest(const struct proof *proof);

/* How many steps put back what is not out on some path. */
unsigned oracle_doubts(const struct proof *proof);

/* Adds to the tally.  `lines` gets a line for each procedure: seed, SPIN's verdict and length, the
 * prover's; may be NULL.  Differences go to stderr, whole.  False if SPIN could not be run. */
bool oracle_compare(struct oracle_range range, FILE *lines, struct oracle_tally *tally);
void oracle_tell(const struct oracle_tally *tally, FILE *out);

#endif

/* tell_verdicts FILE: the prover's verdict now on each procedure named in a file of `prove`, beside SPIN's:
 * how many differ, and how many paths are longer than SPIN's.  For run_mutants.py. */
#include "verify/oracle.h"

#include <stdlib.h>
#include <string.h>

int main(int argc, char **argv)
{
    FILE *file = argc == 2 ? fopen(argv[1], "r") : NULL;
    if (file == NULL)
        return 2;
    unsigned asked = 0, changed = 0, longer = 0;
    char line[200];
    while (fgets(line, sizeof line, file) != NULL) {
        unsigned long long seed;
        char verdict[20];
        size_t length;
        unsigned doubts; /* on which both agreed */
        if (sscanf(line, "%llu %19s %zu %*s %*u %u", &seed, verdict, &length, &doubts) != 4)
            return 2;
        struct arena arena = arena_open(ORACLE_ROOM, oracle_out_of_memory);
        struct arena scratch = arena_open(PROOF_ROOM, oracle_out_of_memory);
        const struct procedure *procedure = oracle_load(seed, false, &arena);
        if (procedure == NULL)
            return 2;
        struct proof proof = oracle_prove(procedure, &arena, &scratch);
        const struct unsafe_path *path = oracle_shortest(&proof);
        bool is_unsafe = strcmp(verdict, "unsafe") == 0;
        bool is_changed = (proof.verdict == PROOF_SOUND) != (strcmp(verdict, "safe") == 0) ||
                          (path != NULL) != is_unsafe || oracle_doubts(&proof) != doubts;
        asked++;
        changed += is_changed;
        longer += !is_changed && is_unsafe && path->event_count > length;
        arena_close(&arena);
        arena_close(&scratch);
    }
    fclose(file);
    printf("%u asked, %u changed, %u longer\n", asked, changed, longer);
    return 0;
}

/*
 * check_proof with|without SAFETY FILE... - what `check` does with files, with the proof or without it, in
 * one process and otherwise the same.  Prints: how many are proven, how many are not, states in all, most
 * states of one, orders to make safe that were shown.
 */
#include "procedure/load.h"
#include "verify/rules.h"
#include "verify/verify.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

struct tally {
    size_t sound, unproven, states, most_states, orders;
};

static void full(size_t bytes_wanted)
{
    (void)fprintf(stderr, "check_proof: no room for %zu bytes\n", bytes_wanted);
    exit(3);
}

static const struct source *read_source(const char *path, struct arena *arena)
{
    enum { MOST = 4 << 20 };
    FILE *file = fopen(path, "rb");
    if (file == NULL) {
        perror(path);
        exit(3);
    }
    static char bytes[MOST];
    size_t length = fread(bytes, 1, MOST, file);
    (void)fclose(file);
    struct source *source = arena_new(arena, struct source);
    *source = (struct source){text_copy(arena, text_from(path)),
                              text_copy(arena, (struct text){bytes, length})};
    return source;
}

static void add_proof(struct tally *tally, const struct proof *proof)
{
    tally->sound += proof->verdict == PROOF_SOUND;
    tally->unproven += proof->verdict != PROOF_SOUND;
    tally->states += proof->states;
    tally->orders += proof->safe_orders;
    if (proof->states > tally->most_states)
        tally->most_states = proof->states;
}

static void check(const char *path, const struct safety_library *safety, bool with_proof,
                  struct arena *arena, struct arena *scratch, struct tally *tally)
{
    struct arena_mark mark = arena_mark(arena);
    struct arena_mark scratch_mark = arena_mark(scratch);
    struct diagnostics found;
    diagnostics_begin(&found, arena);
    const struct procedure *procedure =
        procedure_load(read_source(path, arena), safety, (struct shelf){0}, &found, arena);
    if (procedure == NULL || found.count_by_severity[SEVERITY_ERROR] > 0) {
        (void)fprintf(stderr, "check_proof: %s has mistakes\n", path);
        exit(3);
    }
    rules_look(procedure, &found, scratch);
    if (with_proof) {
        struct proof proof = verify_procedure(procedure, &found, arena, scratch);
        add_proof(tally, &proof);
    }
    diagnostics_sort(&found);
    arena_rewind(scratch, scratch_mark);
    arena_rewind(arena, mark);
}

int main(int argc, char **argv)
{
    if (argc < 4) {
        (void)fputs("check_proof with|without SAFETY FILE...\n", stderr);
        return 2;
    }
    bool with_proof = strcmp(argv[1], "with") == 0;
    struct arena library = arena_open(16 * MEBIBYTE, full);
    struct arena arena = arena_open(64 * MEBIBYTE, full);
    struct arena scratch = arena_open(256 * MEBIBYTE, full);
    struct diagnostics found;
    diagnostics_begin(&found, &library);
    const struct source *sources[] = {read_source(argv[2], &library)};
    const struct safety_library *safety = safety_load(sources, 1, &found, &library);
    struct tally tally = {0};
    for (int i = 3; i < argc; i++)
        check(argv[i], safety, with_proof, &arena, &scratch, &tally);
    printf("%zu %zu %zu %zu %zu\n", tally.sound, tally.unproven, tally.states,
           tally.most_states, tally.orders);
    arena_close(&scratch);
    arena_close(&arena);
    arena_close(&library);
    return 0;
}

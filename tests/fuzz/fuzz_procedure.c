/* Whatever bytes a file holds, every loader says what is wrong with it and comes back. */
#include "procedure/load.h"
#include "verify/prove.h"
#include "verify/rules.h"

#include <stdint.h>
#include <stdlib.h>

static void stop(size_t bytes_wanted)
{
    (void)bytes_wanted;
    exit(0);
}

/* A procedure that follows `another` follows its own bytes. */
static const struct source *fetch(void *self, struct text name)
{
    return text_equal(name, TEXT("nowhere")) ? NULL : self;
}

static bool put(struct writer *writer, const char *bytes, size_t length)
{
    (void)writer, (void)bytes, (void)length;
    return true;
}

static const char library_bytes[] =
    "conditions:\n"
    "  chocked: {ask: Push it., expect: stayed, otherwise: [moved], restore: Chocks away.}\n"
    "  clear: {ask: Who is near?, expect: nobody, lapses_after: 0 min}\n"
    "  wet: {each: cylinder, restore: Turn it.}\n"
    "activities:\n"
    "  crank: {signal: danger, hazard: Belts., needs: [chocked, clear], forbids: [wet]}\n"
    "  battery: {signal: danger, hazard: Voltage., refused: true}\n"
    "not_a_precaution: {door_open: Gas kills.}\n";

static const char sheet_bytes[] =
    "machine: m\ntitle: M\n"
    "positions: {cylinder: [1, 2, 3, 4], wheel: [front left, front right]}\n"
    "firing_order: [1, 3, 4, 2]\n"
    "values: {displacement: 1700 mL, torque: {is: 21 N.m, source: book}, kind: petrol}\n";

enum { STATES_MAX = 2000 }; /* and no more, so that many are tried */

/* A fault has a path, and every step of it has words; what is too large says what multiplies. */
static void follow(const struct procedure *procedure, struct arena *arena,
                   struct arena *scratch)
{
    struct proving proving = {.with_orders = true, .states_max = STATES_MAX};
    struct proof proof = prove(procedure, proving, arena, scratch);
    if ((proof.verdict == PROOF_UNSAFE) != (proof.path_count > 0))
        abort();
    for (size_t i = 0; i < proof.path_count; i++) {
        for (size_t k = 0; k < proof.paths[i].event_count; k++)
            (void)path_event_words(procedure, &proof.paths[i].events[k], arena);
        if (path_fault_words(procedure, &proof.paths[i], arena).length == 0)
            abort();
    }
    if (proof.verdict == PROOF_TOO_LARGE && proof.multiply_count == 0)
        abort();
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size);

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    struct arena arena = arena_open(16 * MEBIBYTE, stop);
    struct arena scratch = arena_open(4 * MEBIBYTE, stop);
    struct diagnostics found;
    diagnostics_begin(&found, &arena);
    /* Exactly as many bytes as there are, so that one too far is seen. */
    char *copy = malloc(size + 1);
    if (copy == NULL)
        return 0;
    if (size > 0)
        memcpy(copy, data, size);
    struct source source = {TEXT("fuzz.yaml"), {copy, size}};
    const struct source library_source = {TEXT("safety.yaml"),
                                          {library_bytes, sizeof library_bytes - 1}};
    const struct source sheet_source = {TEXT("m.yaml"), {sheet_bytes, sizeof sheet_bytes - 1}};
    const struct source *libraries[] = {&library_source, &source};

    struct diagnostics own;
    diagnostics_begin(&own, &arena);
    const struct safety_library *safety = safety_load(libraries, 1, &own, &arena);
    const struct machine *sheet = machine_load(&sheet_source, &own, &arena);
    (void)file_form(&source, &arena);
    struct shelf shelf = {.self = &source, .fetch = fetch};
    const struct procedure *procedure = procedure_load(&source, safety, shelf, &found, &arena);
    if (found.count_by_severity[SEVERITY_ERROR] == 0)
        (void)procedure_fit(procedure, sheet, NULL, &found, &arena);
    if (procedure != NULL && found.count_by_severity[SEVERITY_ERROR] == 0) {
        rules_look(procedure, &found, &scratch);
        if (!procedure->is_part)
            follow(procedure, &arena, &scratch);
    }
    const struct safety_library *both = safety_load(libraries, 2, &found, &arena);
    if (both != NULL && found.count_by_severity[SEVERITY_ERROR] == 0)
        rules_look_at_library(both, &found, &scratch);
    (void)machine_load(&source, &found, &arena);
    (void)gauges_load(&source, &found, &arena);
    (void)answers_load(&source, &found, &arena);
    diagnostics_sort(&found);
    struct writer nowhere = {.put = put};
    diagnostics_write(&found, &nowhere, &arena);
    arena_close(&scratch);
    arena_close(&arena);
    free(copy);
    return 0;
}

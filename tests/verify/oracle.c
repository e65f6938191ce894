#include "verify/oracle.h"

#include <dirent.h>
#include <stdlib.h>

void oracle_out_of_memory(size_t wanted)
{
    fprintf(stderr, "out of memory: %zu\n", wanted);
    abort();
}

static const struct source *fetch_nothing(void *self, struct text name)
{
    (void)self;
    (void)name;
    return NULL;
}

static struct text nearest_nothing(void *self, struct text name)
{
    (void)self;
    (void)name;
    return (struct text){0};
}

const struct procedure *oracle_load(unsigned long long seed, bool is_plain, struct arena *arena)
{
    char *text = random_procedure(seed, is_plain);
    struct source *source = arena_new(arena, struct source);
    *source = (struct source){TEXT("random.yaml"), text_copy(arena, text_from(text))};
    free(text);
    struct diagnostics found;
    diagnostics_begin(&found, arena);
    const struct safety_library *safety = safety_load(NULL, 0, &found, arena);
    const struct procedure *procedure = procedure_load(
        source, safety, (struct shelf){NULL, fetch_nothing, nearest_nothing}, &found, arena);
    return found.count_by_severity[SEVERITY_ERROR] == 0 ? procedure : NULL;
}

const char *oracle_bytes(const char *folder, struct text name, struct arena *arena)
{
    struct text path = text_fill(arena, "{}/{}.yaml", text_from(folder), name);
    FILE *file = fopen(text_terminated(arena, path), "rb");
    if (file == NULL)
        return NULL;
    char *bytes = arena_array(arena, char, MEBIBYTE);
    size_t length = fread(bytes, 1, MEBIBYTE - 1, file);
    bytes[length] = '\0';
    (void)fclose(file);
    return bytes;
}

static const struct source *fetch_shipped(void *self, struct text name)
{
    struct arena *arena = self;
    const char *bytes = oracle_bytes("procedures", name, arena);
    if (bytes == NULL)
        return NULL;
    struct source *source = arena_new(arena, struct source);
    *source = (struct source){name, text_from(bytes)};
    return source;
}

const struct procedure *oracle_load_shipped(struct text name, struct arena *arena)
{
    struct diagnostics found;
    diagnostics_begin(&found, arena);
    const struct source *const libraries[] = {fetch_shipped(arena, TEXT("safety"))};
    const struct safety_library *safety = safety_load(libraries, 1, &found, arena);
    const struct source *source = fetch_shipped(arena, name);
    if (source == NULL || file_form(source, arena) != FORM_PROCEDURE)
        return NULL;
    struct shelf shelf = {arena, fetch_shipped, nearest_nothing};
    const struct procedure *procedure = procedure_load(source, safety, shelf, &found, arena);
    if (found.count_by_severity[SEVERITY_ERROR] > 0 || procedure->is_part)
        return NULL;
    return procedure;
}

size_t oracle_names(const char *folder, struct text *names, size_t most, struct arena *arena)
{
    DIR *open = opendir(folder);
    size_t count = 0;
    if (open == NULL)
        return 0;
    for (struct dirent *entry; (entry = readdir(open)) != NULL && count < most;) {
        struct text name = text_copy(arena, text_from(entry->d_name));
        if (text_ends(name, TEXT(".yaml")))
            names[count++] = text_slice(name, 0, name.length - 5);
    }
    (void)closedir(open);
    return count;
}

struct proof oracle_prove(const struct procedure *procedure, struct arena *arena,
                          struct arena *scratch)
{
    struct diagnostics found;
    diagnostics_begin(&found, arena);
    return verify_procedure(procedure, &found, arena, scratch);
}

static const char *verdict_name(enum proof_verdict verdict)
{
    switch (verdict) {
    case PROOF_SOUND:
        return "safe";
    case PROOF_MISTAKES:
        return "mistakes";
    case PROOF_PART:
        return "part";
    case PROOF_UNSAFE:
        return "unsafe";
    case PROOF_TOO_LARGE:
        return "large";
    }
    return "?";
}

/* A step that no path reaches is refused as well. */
static bool has_dead_step(const struct procedure *procedure, const struct spin_answer *answer)
{
    for (size_t i = 0; i < procedure->work_count && i < SPIN_WORKS_MAX; i++)
        if (procedure->works[i]->step != NULL && !answer->reached[i])
            return true;
    return false;
}

const struct unsafe_path *oracle_shortest(const struct proof *proof)
{
    for (size_t i = 0; i < proof->path_count; i++)
        if (proof->paths[i].fault != FAULT_UNREACHED)
            return &proof->paths[i];
    return NULL;
}

static bool is_doubted(const struct proof *proof, const struct work *work)
{
    for (size_t i = 0; i < proof->doubt_count; i++)
        if (proof->doubts[i].work == work)
            return true;
    return false;
}

unsigned oracle_doubts(const struct proof *proof)
{
    unsigned count = 0;
    for (size_t i = 0; i < proof->doubt_count; i++) {
        bool is_first = true;
        for (size_t k = 0; k < i; k++)
            is_first = is_first && proof->doubts[k].work != proof->doubts[i].work;
        count += is_first;
    }
    return count;
}

/* Each step that puts back what may be in is told by both. */
static bool doubts_the_same(const struct procedure *procedure, const struct proof *proof,
                            const struct spin_answer *answer)
{
    for (size_t i = 0; i < procedure->work_count && i < SPIN_WORKS_MAX; i++)
        if (is_doubted(proof, procedure->works[i]) != answer->doubted[i])
            return false;
    return true;
}

static void tell_difference(const struct procedure *procedure, const struct proof *proof,
                            const struct spin_answer *answer, unsigned long long seed)
{
    struct arena arena = arena_open(8 * MEBIBYTE, oracle_out_of_memory);
    fprintf(stderr, "--- seed %llu: SPIN says %s, %u events, %s\n%s", seed,
            answer->is_safe ? "safe" : "unsafe", answer->length, answer->fault, answer->path);
    fprintf(stderr, "    the prover says %s\n", verdict_name(proof->verdict));
    const struct unsafe_path *path = oracle_shortest(proof);
    if (path == NULL && proof->path_count > 0)
        path = &proof->paths[0];
    if (path != NULL) {
        for (size_t k = 0; k < path->event_count; k++) {
            struct text words = path_event_words(procedure, &path->events[k], &arena);
            fprintf(stderr, "  %.*s\n", (int)words.length, words.bytes);
        }
        struct text words = path_fault_words(procedure, path, &arena);
        fprintf(stderr, "  %.*s\n", (int)words.length, words.bytes);
    }
    arena_close(&arena);
}

static void count_lengths(struct oracle_tally *tally, const struct procedure *procedure,
                          const struct proof *proof, const struct spin_answer *answer,
                          unsigned long long seed)
{
    const struct unsafe_path *path = oracle_shortest(proof);
    size_t length = path == NULL ? 0 : path->event_count;
    if (length == answer->length) {
        tally->length_equal++;
    } else if (length < answer->length) {
        tally->prover_shorter++;
    } else {
        tally->prover_longer++;
        tell_difference(procedure, proof, answer, seed);
    }
}

static void compare_one(struct oracle_tally *tally, const struct procedure *procedure,
                        const struct spin_answer *answer, unsigned long long seed, FILE *lines)
{
    struct arena arena = arena_open(ORACLE_ROOM, oracle_out_of_memory);
    struct arena scratch = arena_open(PROOF_ROOM, oracle_out_of_memory);
    struct proof proof = oracle_prove(procedure, &arena, &scratch);
    bool is_dead = answer->is_safe && has_dead_step(procedure, answer);
    bool is_equal = answer->is_known &&
                    (proof.verdict == PROOF_SOUND) == (answer->is_safe && !is_dead) &&
                    (proof.verdict == PROOF_SOUND || proof.verdict == PROOF_UNSAFE) &&
                    (oracle_shortest(&proof) == NULL) == answer->is_safe;
    if (proof.verdict == PROOF_SOUND)
        is_equal = is_equal && doubts_the_same(procedure, &proof, answer);
    tally->doubted += proof.doubt_count > 0;
    tally->procedures++;
    tally->safe += answer->is_safe && !is_dead;
    tally->unsafe += !answer->is_safe;
    tally->dead += is_dead;
    tally->equal += is_equal;
    tally->different += !is_equal;
    if (!is_equal)
        tell_difference(procedure, &proof, answer, seed);
    else if (!answer->is_safe)
        count_lengths(tally, procedure, &proof, answer, seed);
    if (lines != NULL)
        fprintf(lines, "%llu %s %u %s %zu %u\n", seed,
                is_dead           ? "dead"
                : answer->is_safe ? "safe"
                                  : "unsafe",
                answer->length, verdict_name(proof.verdict),
                oracle_shortest(&proof) == NULL ? 0 : oracle_shortest(&proof)->event_count,
                oracle_doubts(&proof));
    arena_close(&arena);
    arena_close(&scratch);
}

bool oracle_compare(struct oracle_range range, FILE *lines, struct oracle_tally *tally)
{
    enum { BATCH = 25 };
    static struct spin_answer answers[SPIN_BATCH_MAX];
    const struct procedure *procedures[BATCH];
    unsigned long long seeds[BATCH];
    unsigned long long seed = range.seed;
    for (unsigned done = 0; done < range.count;) {
        struct arena arena = arena_open(512 * MEBIBYTE, oracle_out_of_memory);
        unsigned count = 0;
        for (; count < BATCH && done + count < range.count; seed += range.stride) {
            procedures[count] = oracle_load(seed, false, &arena);
            seeds[count] = seed;
            count += procedures[count] != NULL;
        }
        if (!spin_ask(procedures, count, true, answers)) {
            arena_close(&arena);
            return false;
        }
        for (unsigned i = 0; i < count; i++) {
            if (answers[i].is_translated)
                compare_one(tally, procedures[i], &answers[i], seeds[i], lines);
            else
                tally->not_translated++;
        }
        done += count;
        arena_close(&arena);
    }
    return true;
}

void oracle_tell(const struct oracle_tally *tally, FILE *out)
{
    fprintf(
        out,
        "%u procedures: %u safe (%u with a part perhaps put back that is in), %u unsafe, %u "
        "with "
        "a step that no path reaches; verdict equal "
        "%u, different %u; path as long as SPIN's %u, shorter %u, longer %u; %u too large for "
        "the translation\n",
        tally->procedures, tally->safe, tally->doubted, tally->unsafe, tally->dead,
        tally->equal, tally->different, tally->length_equal, tally->prover_shorter,
        tally->prover_longer, tally->not_translated);
}

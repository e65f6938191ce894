/* Another prover's verdict on the same procedures.  SPIN 6.5.2, spinroot.com; the translation is
 * promela.c, made from the rules and from nothing of src/verify. */
#include "verify/oracle.h"
#include "verify/proven.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

/* The sanitizers slow only our side, and find what they find in a few. */
#ifdef __SANITIZE_ADDRESS__
enum { PROCEDURES = 25 };
#else
enum { PROCEDURES = 100 };
#endif

static void spin_and_the_prover_agree(void **state)
{
    (void)state;
    if (!spin_is_here()) {
        print_message("spin or cc is not installed: nothing was compared\n");
        skip();
    }
    struct oracle_tally tally = {0};
    struct oracle_range range = {.seed = 1, .stride = 1, .count = PROCEDURES};
    assert_true(oracle_compare(range, NULL, &tally));
    oracle_tell(&tally, stdout);
    assert_int_equal(tally.different, 0);
    assert_int_equal(tally.prover_longer, 0);
    /* the comparison means something only with enough of both */
    assert_true(tally.safe * 5 > tally.procedures);
    assert_true(tally.unsafe * 5 > tally.procedures);
    assert_true(tally.not_translated * 10 < tally.procedures);
}

#define EACH(index, inside)                                                                    \
    "  - section: " index "_by_" index "\n    each: " index "\n    steps:\n" inside
#define WITHIN(name, more) "      - {step: " name ", do: Do it., " more "}\n"
#define AFTER(name, more)  "  - {step: " name ", do: Do it., " more "}\n"

/* The random procedures have one index.  These have two: what a round leaves at the positions of the other. */
static const char *const of_two_indexes[] = {
    EACH("wheel", WITHIN("open", "sets: [open]") WITHIN("close", "clears: [open]")),
    EACH("wheel", WITHIN("open", "sets: [open]")) AFTER("close", "clears: [open]"),
    EACH("wheel", WITHIN("open", "each: cylinder, sets: [open]"))
        AFTER("close", "clears: [open]"),
    EACH("wheel", WITHIN("open", "optional: true, each: cylinder, sets: [open]")
                      WITHIN("close", "each: cylinder, clears: [open]")),
    EACH("cylinder", WITHIN("look", "each: wheel, sets: [turned]")
                         WITHIN("open", "sets: [open]")) AFTER("close", "clears: [open]"),
    EACH("cylinder", WITHIN("open", "sets: [open]") WITHIN(
                         "turn", "each: wheel, needs: [\"open[cylinder]\"], clears: [open]")),
    AFTER("open", "sets: [open]")
        EACH("wheel", WITHIN("turn", "optional: true, clears: [open]"))
            AFTER("close", "clears: [open]"),
};
enum { OF_TWO_INDEXES = sizeof of_two_indexes / sizeof *of_two_indexes };

static void of_two_indexes_they_say_the_same(void **state)
{
    (void)state;
    static const char head[] = "conditions: {open: {each: cylinder, restore: Close it.}, "
                               "turned: {each: wheel, voids: [open]}}\n";
    if (!spin_is_here()) {
        print_message("spin or cc is not installed: nothing was compared\n");
        skip();
    }
    static struct spin_answer answers[SPIN_BATCH_MAX];
    static struct proven proven[OF_TWO_INDEXES];
    const struct procedure *procedures[OF_TWO_INDEXES];
    unsigned safe = 0;
    for (unsigned i = 0; i < OF_TWO_INDEXES; i++) {
        proven_begin(&proven[i], head, of_two_indexes[i]);
        procedures[i] = proven[i].procedure;
    }
    assert_true(spin_ask(procedures, OF_TWO_INDEXES, true, answers));
    for (unsigned i = 0; i < OF_TWO_INDEXES; i++) {
        const struct unsafe_path *path = oracle_shortest(&proven[i].proof);
        print_message("%u: SPIN %s %s %u, the prover %zu\n", i,
                      answers[i].is_safe ? "safe" : "unsafe", answers[i].fault,
                      answers[i].length, path == NULL ? 0 : path->event_count);
        assert_true(answers[i].is_translated && answers[i].is_known);
        assert_int_equal(answers[i].is_safe, path == NULL);
        assert_true(path == NULL || path->event_count <= answers[i].length);
        safe += answers[i].is_safe;
        proven_end(&proven[i]);
    }
    assert_in_range(safe, 1, OF_TWO_INDEXES - 1);
}

/* Without making safe: its table would need more bits than these have conditions for. */
static void spin_finds_nothing_in_what_ships(void **state)
{
    (void)state;
    if (!spin_is_here()) {
        print_message("spin or cc is not installed: nothing was looked at\n");
        skip();
    }
    static struct spin_answer answers[SPIN_BATCH_MAX];
    const struct procedure *procedures[SPIN_BATCH_MAX];
    struct text names[64];
    struct arena arena = arena_open(512 * MEBIBYTE, oracle_out_of_memory);
    size_t found = oracle_names("procedures", names, 64, &arena);
    unsigned count = 0;
    for (size_t i = 0; i < found && count < SPIN_BATCH_MAX; i++) {
        procedures[count] = oracle_load_shipped(names[i], &arena);
        count += procedures[count] != NULL;
    }
    assert_true(count > 0);
    assert_true(spin_ask(procedures, count, false, answers));
    for (unsigned i = 0; i < count; i++) {
        if (!answers[i].is_translated || !answers[i].is_known || !answers[i].is_safe)
            print_error("%.*s: %s\n%s", (int)procedures[i]->name.length,
                        procedures[i]->name.bytes, answers[i].fault, answers[i].path);
        assert_true(answers[i].is_translated && answers[i].is_known && answers[i].is_safe);
    }
    arena_close(&arena);
}

static void the_same_seed_makes_the_same_procedure(void **state)
{
    (void)state;
    for (unsigned long long seed = 1; seed < 50; seed++) {
        char *one = random_procedure(seed, false);
        char *other = random_procedure(seed, false);
        char *next = random_procedure(seed + 1, false);
        assert_string_equal(one, other);
        assert_string_not_equal(one, next);
        free(one);
        free(other);
        free(next);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(the_same_seed_makes_the_same_procedure),
        cmocka_unit_test(spin_finds_nothing_in_what_ships),
        cmocka_unit_test(of_two_indexes_they_say_the_same),
        cmocka_unit_test(spin_and_the_prover_agree),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}

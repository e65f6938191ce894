/* How states multiply, and what is said when there are too many.  The figures are those of k steps that are
 * each done or passed over: 1 + 2 + 4 + ... + 2^k states. */
#include "proven.h"
#include "verify/prove.h"

#include <string.h>

static void of_optional_steps(struct proven *proven, unsigned count, size_t scratch)
{
    proven->arena = arena_open(16 * MEBIBYTE, proven_full);
    proven->scratch = arena_open(scratch, proven_full);
    struct arena *arena = &proven->arena;
    struct text head = TEXT("procedure: test\ntitle: T\nrevision: 1\nabout: A test.\n"
                            "conditions:\n");
    struct text steps = TEXT("steps:\n");
    struct text last = TEXT("  - {step: all, do: Undo them., clears: [c0");
    for (unsigned i = 0; i < count; i++) {
        struct text number = text_number(arena, (long long)i);
        head = text_fill(arena, "{}  c{}: {restore: Undo it.\x7d\n", head, number);
        if (i > 0)
            last = text_fill(arena, "{}, c{}", last, number);
        steps = text_fill(arena,
                          "{}  - step: s{}\n    do: Do it.\n    optional: true\n"
                          "    sets: [c{}]\n",
                          steps, number, number);
    }
    struct source *source = arena_new(arena, struct source);
    *source = (struct source){TEXT("test.yaml"),
                              text_fill(arena, "{}{}{}]\x7d\n", head, steps, last)};
    diagnostics_begin(&proven->found, arena);
    proven->procedure = procedure_load(source, NULL, (struct shelf){0}, &proven->found, arena);
    assert_int_equal(proven->found.count_by_severity[SEVERITY_ERROR], 0);
    proven->proof =
        verify_procedure(proven->procedure, &proven->found, &proven->arena, &proven->scratch);
}

static void independent_steps_double_the_states(void **state)
{
    (void)state;
    static const unsigned counts[] = {1, 5, 10, 14, 16, 18};
    static const size_t states[] = {3, 63, 2047, 32767, 131071, 524287};
    for (size_t i = 0; i < sizeof counts / sizeof *counts; i++) {
        struct proven proven;
        of_optional_steps(&proven, counts[i], 256 * MEBIBYTE);
        assert_int_equal(proven.proof.verdict, PROOF_SOUND);
        assert_int_equal(proven.proof.states, states[i] + 1); /* and the end */
        assert_int_equal(proven.proof.branches, counts[i]);
        proven_end(&proven);
    }
}

static bool was_found(const struct proven *proven, enum finding finding)
{
    for (const struct diagnostic *at = proven->found.first; at != NULL; at = at->next)
        if (at->finding == finding)
            return true;
    return false;
}

static void too_many_states_are_not_proven_and_it_is_said_why(void **state)
{
    (void)state;
    struct proven proven; /* two million of them do not fit */
    of_optional_steps(&proven, 20, 8 * MEBIBYTE);
    assert_int_equal(proven.proof.verdict, PROOF_TOO_LARGE);
    assert_null(proven.proof.sound.procedure);
    assert_true(proven.proof.multiply_count > 0);
    assert_true(text_starts(proven.proof.multiplies[0],
                            TEXT("20 optional steps, each done or passed over: s0, s1, ")));
    assert_true(was_found(&proven, FINDING_NOT_PROVEN));
    proven_end(&proven);
}

static void too_many_facts_are_not_proven(void **state)
{
    (void)state;
    struct proven proven; /* two bits each */
    of_optional_steps(&proven, PROOF_BITS_MAX / 2 + 1, 64 * MEBIBYTE);
    assert_int_equal(proven.proof.verdict, PROOF_TOO_LARGE);
    assert_true(was_found(&proven, FINDING_NOT_PROVEN));
    proven_end(&proven);
}

static void a_small_procedure_costs_little(void **state)
{
    (void)state;
    struct proven proven;
    proven_read(&proven, "conditions: {a: {restore: Undo it.}}\n",
                "  - {step: x, do: Do it., sets: [a]}\n"
                "  - {step: y, do: Undo it., clears: [a]}\n");
    arena_close(&proven.scratch);
    proven.scratch = arena_open(256 * 1024, proven_full);
    assert_int_equal(
        verify_procedure(proven.procedure, &proven.found, &proven.arena, &proven.scratch)
            .verdict,
        PROOF_SOUND);
    proven_end(&proven);
}

/* --- made to exhaust it; with small limits of their own, so that it does not take long ------------- */

/* `line` once for each number below `count`, which stands wherever it says {}. */
static struct text repeated(struct arena *arena, const char *line, unsigned count)
{
    struct text all = {0};
    for (unsigned i = 0; i < count; i++) {
        struct text number = text_number(arena, (long long)i);
        const char *rest = line;
        for (const char *gap; (gap = strstr(rest, "{\x7d")) != NULL; rest = gap + 2)
            all = text_fill(arena, "{}{}{}", all, (struct text){rest, (size_t)(gap - rest)},
                            number);
        all = text_fill(arena, "{}{}", all, text_from(rest));
    }
    return all;
}

static struct text joined(struct proven *proven, struct text one, struct text other)
{
    return text_fill(&proven->arena, "{}{}", one, other);
}

/* Read with arenas that are large enough for both texts, and proven within `states`. */
static void within(struct proven *proven, struct text head, struct text steps, size_t states)
{
    struct proven read;
    proven_read(&read, text_terminated(&proven->arena, head),
                text_terminated(&proven->arena, steps));
    struct proving proving = {.with_orders = true, .states_max = states};
    read.proof = prove(read.procedure, proving, &read.arena, &read.scratch);
    arena_close(&proven->arena);
    *proven = read;
}

static void says_first(const struct proven *proven, const char *words)
{
    assert_int_equal(proven->proof.verdict, PROOF_TOO_LARGE);
    assert_true(proven->proof.multiply_count > 0);
    if (!text_starts(proven->proof.multiplies[0], text_from(words)))
        fail_msg("%.*s", (int)proven->proof.multiplies[0].length,
                 proven->proof.multiplies[0].bytes);
}

static const char reading_line[] = "  - {step: m{}, do: Read it., record: {v{}: {unit: bar, "
                                   "between: [0 bar, 9 bar]\x7d\x7d\x7d\n";

static void a_decision_that_nobody_looks_at_again_doubles_nothing(void **state)
{
    (void)state;
    enum { COUNT = 60 };
    struct proven proven = {.arena = arena_open(256 * MEBIBYTE, proven_full)};
    struct text steps = joined(
        &proven, repeated(&proven.arena, reading_line, COUNT),
        repeated(&proven.arena, "  - {step: k{}, do: Do it., when: v{} > 1 bar\x7d\n", COUNT));
    within(&proven, (struct text){0}, steps, 1000);
    assert_int_equal(proven.proof.verdict, PROOF_SOUND);
    assert_int_equal(proven.proof.branches, COUNT);
    /* each reading; each decision, and the step behind it; the end */
    assert_int_equal(proven.proof.states, COUNT + 2 * COUNT + 1);
    proven_end(&proven);
}

static void decisions_that_are_looked_at_twice_multiply(void **state)
{
    (void)state;
    struct proven proven = {.arena = arena_open(256 * MEBIBYTE, proven_full)};
    struct arena *arena = &proven.arena;
    struct text steps = joined(
        &proven, repeated(arena, reading_line, 20),
        joined(&proven,
               repeated(arena, "  - {step: k{}, do: Do it., when: v{} > 1 bar\x7d\n", 20),
               repeated(arena, "  - {step: n{}, do: Do it., when: v{} > 1 bar\x7d\n", 20)));
    within(&proven, (struct text){0}, steps, 5000);
    says_first(&proven, "20 different things that are decided on: ");
    proven_end(&proven);
}

static void optional_parts_in_a_repeat_multiply(void **state)
{
    (void)state;
    struct proven proven = {.arena = arena_open(256 * MEBIBYTE, proven_full)};
    struct arena *arena = &proven.arena;
    struct text steps = joined(
        &proven, TEXT("  - repeat: round\n    times: 3\n    steps:\n"),
        joined(&proven,
               repeated(arena,
                        "      - {step: o{}, do: Do it., optional: true, "
                        "removes: p{}\x7d\n",
                        25),
               repeated(arena, "      - {step: i{}, do: Do it., refits: p{}\x7d\n", 25)));
    within(&proven, (struct text){0}, steps, 5000);
    says_first(&proven, "25 optional steps, each done or passed over: ");
    proven_end(&proven);
}

static void subsets_by_many_expressions_multiply(void **state)
{
    (void)state;
    struct proven proven = {.arena = arena_open(256 * MEBIBYTE, proven_full)};
    struct arena *arena = &proven.arena;
    struct text steps = joined(
        &proven,
        TEXT("  - step: read\n    each: cylinder\n    do: Read it.\n"
             "    record: {x: {unit: bar, between: [0 bar, 9 bar]\x7d\x7d\n"),
        joined(
            &proven,
            repeated(arena,
                     "  - {step: a{}, each: cylinder, in: x > {}.5 bar, do: Do it.\x7d\n", 9),
            repeated(arena,
                     "  - {step: b{}, each: cylinder, in: x > {}.5 bar, do: Do it.\x7d\n", 9)));
    within(&proven, (struct text){0}, steps, 5000);
    says_first(&proven, "18 different things that are decided on: ");
    proven_end(&proven);
}

/* Each may be put right only while all before it are still so, and set again at any time. */
static void orders_too_many_to_follow_are_not_proven(void **state)
{
    (void)state;
    struct proven proven = {.arena = arena_open(256 * MEBIBYTE, proven_full)};
    struct arena *arena = &proven.arena;
    struct text steps = repeated(arena, "  - {step: s{}, do: Do it., sets: [c{}]\x7d\n", 24);
    for (unsigned i = 24; i-- > 0;) {
        struct text number = text_number(arena, (long long)i);
        steps = text_fill(arena,
                          "{}  - {step: r{}, do: Undo it., clears: [c{}], needs: [c{}{}]\x7d\n",
                          steps, number, number, number, repeated(arena, ", c{}", i));
    }
    struct text head = joined(&proven, TEXT("conditions:\n"),
                              repeated(arena,
                                       "  c{}: {ask: Look at {}., expect: so, "
                                       "otherwise: [not so], restore: Undo it.\x7d\n",
                                       24));
    within(&proven, head, steps, 2000);
    says_first(&proven, "24 facts that a stop may leave to be put right, ");
    proven_end(&proven);
}

static void places_too_many_to_hold_are_not_proven(void **state)
{
    (void)state;
    struct proven proven = {.arena = arena_open(256 * MEBIBYTE, proven_full)};
    struct arena *arena = &proven.arena;
    struct text steps = {0};
    for (unsigned i = 0; i < 7; i++) {
        struct text number = text_number(arena, (long long)i);
        struct text indent = repeated(arena, "    ", i);
        steps =
            text_fill(arena, "{}  {}- section: Part {}\n  {}  each: index{}\n  {}  steps:\n",
                      steps, indent, number, indent, number, indent);
    }
    struct text line = text_fill(arena, "{}  - {step: q{}, do: Do it.\x7d\n",
                                 repeated(arena, "    ", 7), TEXT("{\x7d"));
    steps = joined(&proven, steps, repeated(arena, text_terminated(arena, line), 900));
    within(&proven, (struct text){0}, steps, 5000);
    says_first(&proven, "the steps, each followed apart at both positions of every loop ");
    proven_end(&proven);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(independent_steps_double_the_states),
        cmocka_unit_test(too_many_states_are_not_proven_and_it_is_said_why),
        cmocka_unit_test(too_many_facts_are_not_proven),
        cmocka_unit_test(a_small_procedure_costs_little),
        cmocka_unit_test(a_decision_that_nobody_looks_at_again_doubles_nothing),
        cmocka_unit_test(decisions_that_are_looked_at_twice_multiply),
        cmocka_unit_test(optional_parts_in_a_repeat_multiply),
        cmocka_unit_test(subsets_by_many_expressions_multiply),
        cmocka_unit_test(orders_too_many_to_follow_are_not_proven),
        cmocka_unit_test(places_too_many_to_hold_are_not_proven),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}

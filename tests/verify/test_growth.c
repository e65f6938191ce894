/* How states multiply, and what is said when there are too many.  The figures are those of k steps that are
 * each done or passed over: 1 + 2 + 4 + ... + 2^k states. */
#include "proven.h"

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

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(independent_steps_double_the_states),
        cmocka_unit_test(too_many_states_are_not_proven_and_it_is_said_why),
        cmocka_unit_test(too_many_facts_are_not_proven),
        cmocka_unit_test(a_small_procedure_costs_little),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}

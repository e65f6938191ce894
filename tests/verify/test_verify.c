/* What a proof says of itself, of parts and of mistakes, and how it is reported. */
#include "proven.h"

static struct proof judge(struct proven *proven, const char *head, const char *more)
{
    proven->arena = arena_open(16 * MEBIBYTE, proven_full);
    proven->scratch = arena_open(16 * MEBIBYTE, proven_full);
    struct source *source = arena_new(&proven->arena, struct source);
    *source = (struct source){TEXT("test.yaml"),
                              text_fill(&proven->arena,
                                        "procedure: test\ntitle: Test\n{}revision: 1\n"
                                        "about: A test.\nsteps:\n  - step: look\n"
                                        "    do: Look at it.\n{}",
                                        text_from(head), text_from(more))};
    diagnostics_begin(&proven->found, &proven->arena);
    proven->procedure =
        procedure_load(source, NULL, (struct shelf){0}, &proven->found, &proven->arena);
    return verify_procedure(proven->procedure, &proven->found, &proven->arena,
                            &proven->scratch);
}

static void a_procedure_without_a_mistake_is_sound(void **state)
{
    (void)state;
    struct proven proven;
    struct proof proof = judge(&proven, "", "");
    assert_int_equal(proof.verdict, PROOF_SOUND);
    assert_ptr_equal(proof.sound.procedure, proven.procedure);
    assert_non_null(proof.sound.proof);
    assert_int_equal(proof.sound.proof->states, 2); /* before the step, and the end */
    assert_int_equal(proof.branches, 0);
    proven_end(&proven);
}

/* A job is open, and the checker has since learned to refuse its procedure: the way to make safe
 * must not close. */
static void a_job_taken_up_is_not_proven_again(void **state)
{
    (void)state;
    struct proven proven;
    proven_begin(&proven, "conditions: {b: {restore: Close it.}}\n",
                 "  - {step: open, do: Open it., sets: [b]}\n"
                 "  - {step: close, do: Close it., optional: true, clears: [b]}\n");
    assert_int_equal(proven.proof.verdict, PROOF_UNSAFE);
    struct diagnostics found;
    diagnostics_begin(&found, &proven.arena);
    struct proof proof = verify_taken_up(proven.procedure, &found);
    assert_int_equal(proof.verdict, PROOF_SOUND);
    assert_ptr_equal(proof.sound.procedure, proven.procedure);
    assert_int_equal(verify_taken_up(NULL, &found).verdict, PROOF_MISTAKES);
    proven_end(&proven);
}

static void a_mistake_makes_it_unsound(void **state)
{
    (void)state;
    struct proven proven;
    struct proof proof = judge(&proven, "", "    colour: red\n");
    assert_int_equal(proof.verdict, PROOF_MISTAKES);
    assert_null(proof.sound.procedure);
    proven_end(&proven);
}

static void a_part_is_never_sound(void **state)
{
    (void)state;
    struct proven proven;
    struct proof proof = judge(&proven, "part: true\n", "");
    assert_int_equal(proof.verdict, PROOF_PART);
    assert_null(proof.sound.procedure);
    proven_end(&proven);
}

static void part_false_is_no_part(void **state)
{
    (void)state;
    struct proven proven;
    assert_int_equal(judge(&proven, "part: false\n", "").verdict, PROOF_SOUND);
    proven_end(&proven);
}

static void of_a_part_with_a_mistake_the_mistake_is_said(void **state)
{
    (void)state;
    struct proven proven;
    struct proof proof = judge(&proven, "part: true\n", "    colour: red\n");
    assert_int_equal(proof.verdict, PROOF_MISTAKES);
    proven_end(&proven);
}

static void no_procedure_is_not_sound(void **state)
{
    (void)state;
    struct arena arena = arena_open(MEBIBYTE, proven_full);
    struct arena scratch = arena_open(MEBIBYTE, proven_full);
    struct diagnostics found;
    diagnostics_begin(&found, &arena);
    assert_int_equal(verify_procedure(NULL, &found, &arena, &scratch).verdict, PROOF_MISTAKES);
    arena_close(&scratch);
    arena_close(&arena);
}

static const char two_faults_head[] = "inputs: {kind: {choices: [one, two]}}\n"
                                      "conditions: {a: {}, b: {restore: Close it.}}\n";

static void an_unsafe_one_has_its_paths_the_shortest_first(void **state)
{
    (void)state;
    struct proven proven;
    proven_read(&proven, two_faults_head,
                "  - {step: shut, do: Shut the tap., optional: true, sets: [a]}\n"
                "  - {step: pour, do: Pour., when: kind == \"one\", needs: [a]}\n"
                "  - {step: open, do: Open it., sets: [b]}\n"
                "  - {step: close, do: Close it., when: kind == \"two\", clears: [b]}\n");
    proven.proof =
        verify_procedure(proven.procedure, &proven.found, &proven.arena, &proven.scratch);
    const struct proof *proof = &proven.proof;
    assert_int_equal(proof->verdict, PROOF_UNSAFE);
    assert_null(proof->sound.procedure);
    assert_int_equal(proof->path_count, 2);
    assert_int_equal(proof->paths[0].fault, FAULT_NEED);
    assert_int_equal(proof->paths[0].event_count, 2);
    assert_int_equal(proof->paths[0].cause, CAUSE_PASSED_OVER);
    assert_int_equal(proof->paths[1].fault, FAULT_LEFT);
    assert_int_equal(proof->paths[1].event_count, 4);
    assert_int_equal(proof->paths[1].cause, CAUSE_LEFT_OUT);
    assert_int_equal(proven.found.count_by_severity[SEVERITY_ERROR], 2);
    proven_end(&proven);
}

static void says(const char *steps, const char *head, const char *wanted)
{
    struct proven proven;
    proven_begin(&proven, head, steps);
    assert_int_equal(proven.proof.verdict, PROOF_UNSAFE);
    struct text words = proven_words(&proven, &proven.proof.paths[0]);
    assert_string_equal(text_terminated(&proven.arena, words), wanted);
    proven_end(&proven);
}

static void a_path_is_told_in_words(void **state)
{
    (void)state;
    says("  - {step: shut, do: Shut the tap., optional: true, sets: [tap_shut]}\n"
         "  - {step: pour, do: Pour., when: kind == \"one\", needs: [tap_shut]}\n",
         "inputs: {kind: {choices: [one, two]}}\nconditions: {tap_shut: {}}\n",
         "Passed over, as it is optional: Shut the tap.\n"
         "It comes out that kind is \"one\"\n"
         "'pour' needs this, and it is not in force: tap shut. 'shut' sees to it, but is "
         "optional and was passed over.\n");
    says("  - {step: cap, each: cylinder, in: [1], do: \"Uncap {cylinder}.\", sets: [open]}\n"
         "  - {step: back, each: cylinder, in: [2], do: Cap it., clears: [open]}\n",
         "conditions: {open: {each: cylinder, restore: Close it.}}\n",
         "With this cylinder it is not to be done: it is not in [1]\n"
         "With another cylinder it is to be done: it is in [1]\n"
         "Uncap (another).\n"
         "With this cylinder it is not to be done: it is not in [2]\n"
         "With another cylinder it is not to be done: it is not in [2]\n"
         "At the end this is not as it should be left: open (another cylinder). 'cap' made it "
         "so. 'back' puts it right, but is left out on this way.\n");
}

static void why_the_helper_did_not_help_is_told(void **state)
{
    (void)state;
    static const char head[] = "conditions: {tap_shut: {}}\n";
    says("  - {step: pour, do: Pour., needs: [tap_shut]}\n"
         "  - {step: shut, do: Shut it., sets: [tap_shut]}\n",
         head,
         "'pour' needs this, and it is not in force: tap shut. 'shut' sees to it, but comes "
         "later.\n");
    says("  - {step: shut, do: Shut it., sets: [tap_shut]}\n"
         "  - {step: open, do: Open it., clears: [tap_shut]}\n"
         "  - {step: pour, do: Pour., needs: [tap_shut]}\n",
         head,
         "Shut it.\nOpen it.\n"
         "'pour' needs this, and it is not in force: tap shut. 'shut' saw to it, and then "
         "'open' undid that.\n");
}

static void what_is_wanted_of_memory_is_given_back(void **state)
{
    (void)state;
    struct proven proven;
    proven_read(&proven, "conditions: {a: {restore: Undo it.}}\n",
                "  - {step: x, do: Do it., sets: [a]}\n"
                "  - {step: y, do: Undo it., clears: [a]}\n");
    struct arena_mark before = arena_mark(&proven.scratch);
    (void)verify_procedure(proven.procedure, &proven.found, &proven.arena, &proven.scratch);
    assert_ptr_equal(arena_mark(&proven.scratch).next, before.next);
    proven_end(&proven);
}

static void the_step_on_which_most_hangs_stands_first(void **state)
{
    (void)state;
    struct proven proven;
    proven_begin(&proven, "conditions: {a: {}, b: {restore: Undo it.}, c: {}}\n",
                 "  - {step: open, do: Open it., sets: [b]}\n"
                 "  - {step: lamp, do: Light it., sets: [c]}\n"
                 "  - {step: look, do: Look., needs: [c], caution: It is hot.}\n"
                 "  - {step: prop, do: Prop it., sets: [a]}\n"
                 "  - {step: under, do: Reach under it., needs: [a], danger: It can fall.}\n"
                 "  - {step: close, do: Close it., clears: [b]}\n");
    assert_int_equal(proven.proof.verdict, PROOF_SOUND);
    struct ranking ranking =
        verify_critical_steps(proven.procedure, NULL, &proven.arena, &proven.scratch);
    const struct critical_step *steps = ranking.steps;
    assert_int_equal(ranking.count, 3); /* nothing follows from not opening it */
    assert_int_equal(ranking.unranked_count, 0);
    assert_true(text_equal(steps[0].work->step->name, TEXT("prop")));
    assert_int_equal(steps[0].harm, SIGNAL_DANGER);
    assert_true(text_equal(steps[0].reached->step->name, TEXT("under")));
    assert_true(text_equal(steps[1].work->step->name, TEXT("lamp")));
    assert_int_equal(steps[1].harm, SIGNAL_CAUTION);
    assert_true(text_equal(steps[2].work->step->name, TEXT("close")));
    assert_int_equal(steps[2].harm, SIGNAL_NOTICE);
    assert_null(steps[2].reached);
    proven_end(&proven);
}

/* Whoever believes in a tick goes past the first step that needed it. */
static void harm_is_looked_for_behind_the_first_gate(void **state)
{
    (void)state;
    struct proven proven;
    proven_begin(&proven, "conditions: {a: {}}\n",
                 "  - {step: shut, do: Shut it off., sets: [a]}\n"
                 "  - {step: wipe, do: Wipe it., needs: [a]}\n"
                 "  - {step: pinch, do: Turn it by hand., needs: [a], caution: It pinches.}\n"
                 "  - {step: crank, do: Crank it., needs: [a], danger: It can catch fire.}\n");
    struct ranking ranking =
        verify_critical_steps(proven.procedure, NULL, &proven.arena, &proven.scratch);
    assert_int_equal(ranking.count, 1);
    assert_int_equal(ranking.steps[0].harm, SIGNAL_DANGER);
    assert_int_equal(ranking.steps[0].fault, FAULT_NEED);
    assert_true(text_equal(ranking.steps[0].reached->step->name, TEXT("crank")));
    proven_end(&proven);
}

/* The second look makes good what the first left out, but on the way that passes it over. */
static void a_step_left_out_once_and_done_later_does_no_harm(void **state)
{
    (void)state;
    struct proven proven;
    const char *conditions = "conditions: {a: {}}\n";
    proven_begin(&proven, conditions,
                 "  - {step: one, do: Do it., sets: [a]}\n"
                 "  - {step: two, do: Do it again., sets: [a]}\n"
                 "  - {step: use, do: Use it., needs: [a], warning: It burns.}\n");
    struct ranking ranking =
        verify_critical_steps(proven.procedure, NULL, &proven.arena, &proven.scratch);
    assert_int_equal(ranking.count, 0);
    proven_end(&proven);
    proven_begin(&proven, conditions,
                 "  - {step: one, do: Do it., sets: [a]}\n"
                 "  - {step: two, do: Do it again., sets: [a], optional: true}\n"
                 "  - {step: use, do: Use it., needs: [a], warning: It burns.}\n");
    ranking = verify_critical_steps(proven.procedure, NULL, &proven.arena, &proven.scratch);
    assert_int_equal(ranking.count, 1);
    assert_true(text_equal(ranking.steps[0].work->step->name, TEXT("one")));
    assert_int_equal(ranking.steps[0].harm, SIGNAL_WARNING);
    proven_end(&proven);
}

static void what_is_too_large_to_rank_is_named(void **state)
{
    (void)state;
    struct proven proven;
    struct arena words = arena_open(4 * MEBIBYTE, proven_full);
    struct text conditions = {0}, steps = {0}, needs = TEXT("c0");
    enum { MANY = PROOF_BITS_MAX + 1 }; /* more facts than are kept apart */
    for (int i = 0; i < MANY; i++) {
        struct text number = text_number(&words, i);
        conditions = text_fill(&words, "{}  c{}: {}\n", conditions, number, TEXT("{}"));
        steps = text_fill(&words, "{}  - {step: s{}, do: Do it., sets: [c{}]}\n", steps, number,
                          number);
        if (i > 0)
            needs = text_fill(&words, "{}, c{}", needs, number);
    }
    steps = text_fill(&words, "{}  - {step: last, do: Do it., needs: [{}]}\n", steps, needs);
    conditions = text_fill(&words, "conditions:\n{}", conditions);
    proven_read(&proven, text_terminated(&words, conditions), text_terminated(&words, steps));
    struct ranking ranking =
        verify_critical_steps(proven.procedure, NULL, &proven.arena, &proven.scratch);
    assert_int_equal(ranking.count, 0);
    assert_int_equal(ranking.unranked_count, MANY);
    proven_end(&proven);
    arena_close(&words);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_procedure_without_a_mistake_is_sound),
        cmocka_unit_test(a_job_taken_up_is_not_proven_again),
        cmocka_unit_test(a_mistake_makes_it_unsound),
        cmocka_unit_test(a_part_is_never_sound),
        cmocka_unit_test(part_false_is_no_part),
        cmocka_unit_test(of_a_part_with_a_mistake_the_mistake_is_said),
        cmocka_unit_test(no_procedure_is_not_sound),
        cmocka_unit_test(an_unsafe_one_has_its_paths_the_shortest_first),
        cmocka_unit_test(a_path_is_told_in_words),
        cmocka_unit_test(why_the_helper_did_not_help_is_told),
        cmocka_unit_test(what_is_wanted_of_memory_is_given_back),
        cmocka_unit_test(the_step_on_which_most_hangs_stands_first),
        cmocka_unit_test(harm_is_looked_for_behind_the_first_gate),
        cmocka_unit_test(a_step_left_out_once_and_done_later_does_no_harm),
        cmocka_unit_test(what_is_too_large_to_rank_is_named),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}

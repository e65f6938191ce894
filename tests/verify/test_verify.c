#include "procedure/load.h"
#include "verify/verify.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>

#include <cmocka.h>

static void out_of_memory(size_t bytes_wanted)
{
    (void)fprintf(stderr, "no room for %zu bytes\n", bytes_wanted);
    abort();
}

struct judged {
    enum soundness soundness;
    bool is_sound;
    struct sound_procedure sound;
    const struct procedure *procedure;
    struct arena arena;
};

/* `head` stands between the title and the rest; `more` behind the only step. */
static struct judged judge(const char *head, const char *more)
{
    struct judged judged = {.arena = arena_open(16 * MEBIBYTE, out_of_memory)};
    struct source source = {TEXT("test.yaml"),
                            text_fill(&judged.arena,
                                      "procedure: test\ntitle: Test\n{}revision: 1\n"
                                      "about: A test.\nsteps:\n  - step: look\n"
                                      "    do: Look at it.\n{}",
                                      text_from(head), text_from(more))};
    struct diagnostics found;
    diagnostics_begin(&found, &judged.arena);
    judged.procedure = procedure_load(&source, NULL, (struct shelf){0}, &found, &judged.arena);
    judged.soundness = verify_soundness(judged.procedure, &found);
    judged.is_sound = verify_procedure(judged.procedure, &found, &judged.sound);
    return judged;
}

static void a_procedure_without_a_mistake_is_sound(void **state)
{
    (void)state;
    struct judged judged = judge("", "");
    assert_int_equal(judged.soundness, SOUNDNESS_SOUND);
    assert_true(judged.is_sound);
    assert_ptr_equal(judged.sound.procedure, judged.procedure);
    assert_false(judged.sound.paths_examined);
    arena_close(&judged.arena);
}

static void a_mistake_makes_it_unsound(void **state)
{
    (void)state;
    struct judged judged = judge("", "    colour: red\n");
    assert_int_equal(judged.soundness, SOUNDNESS_MISTAKES);
    assert_false(judged.is_sound);
    assert_null(judged.sound.procedure);
    arena_close(&judged.arena);
}

static void a_part_is_never_sound(void **state)
{
    (void)state;
    struct judged judged = judge("part: true\n", "");
    assert_int_equal(judged.soundness, SOUNDNESS_PART);
    assert_false(judged.is_sound);
    assert_null(judged.sound.procedure);
    arena_close(&judged.arena);
}

static void part_false_is_no_part(void **state)
{
    (void)state;
    struct judged judged = judge("part: false\n", "");
    assert_int_equal(judged.soundness, SOUNDNESS_SOUND);
    assert_true(judged.is_sound);
    arena_close(&judged.arena);
}

static void of_a_part_with_a_mistake_the_mistake_is_said(void **state)
{
    (void)state;
    struct judged judged = judge("part: true\n", "    colour: red\n");
    assert_int_equal(judged.soundness, SOUNDNESS_MISTAKES);
    assert_false(judged.is_sound);
    arena_close(&judged.arena);
}

static void no_procedure_is_not_sound(void **state)
{
    (void)state;
    struct arena arena = arena_open(MEBIBYTE, out_of_memory);
    struct diagnostics found;
    diagnostics_begin(&found, &arena);
    struct sound_procedure sound;
    assert_int_equal(verify_soundness(NULL, &found), SOUNDNESS_MISTAKES);
    assert_false(verify_procedure(NULL, &found, &sound));
    arena_close(&arena);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_procedure_without_a_mistake_is_sound),
        cmocka_unit_test(a_mistake_makes_it_unsound),
        cmocka_unit_test(a_part_is_never_sound),
        cmocka_unit_test(part_false_is_no_part),
        cmocka_unit_test(of_a_part_with_a_mistake_the_mistake_is_said),
        cmocka_unit_test(no_procedure_is_not_sound),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}

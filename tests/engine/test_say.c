#include "engine/say.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

static void stop(size_t bytes_wanted)
{
    fail_msg("wanted %zu bytes", bytes_wanted);
}

#define assert_words(got, wanted) assert_string_equal(text_terminated(&arena, (got)), (wanted))

static void names_are_said_in_words(void **state)
{
    (void)state;
    struct arena arena = arena_open(MEBIBYTE, stop);
    assert_words(say_name(&arena, TEXT("fuel_disabled")), "fuel disabled");
    assert_words(say_name(&arena, TEXT("raise_on_stands.jack_up")), "jack up");
    assert_words(say_name(&arena, TEXT("")), "");
    assert_words(say_capital(&arena, TEXT("oil gain")), "Oil gain");
    assert_words(say_capital(&arena, TEXT("Öl")), "Öl");
    arena_close(&arena);
}

static void lists_and_counts_read_like_speech(void **state)
{
    (void)state;
    struct arena arena = arena_open(MEBIBYTE, stop);
    struct text items[] = {TEXT("plug"), TEXT("lead"), TEXT("cover")};
    assert_words(say_list(&arena, items, 0), "nothing");
    assert_words(say_list(&arena, items, 1), "plug");
    assert_words(say_list(&arena, items, 2), "plug and lead");
    assert_words(say_list(&arena, items, 3), "plug, lead and cover");
    assert_words(say_count(&arena, 1, "step"), "1 step");
    assert_words(say_count(&arena, 4, "step"), "4 steps");
    arena_close(&arena);
}

/* Two digits of the uncertainty decide where the value is rounded (JCGM 100:2008, 7.2.6). */
static void numbers_show_no_more_than_is_known(void **state)
{
    (void)state;
    struct arena arena = arena_open(MEBIBYTE, stop);
    const struct unit *bar = unit_find(TEXT("bar"));
    struct gradient *gradient =
        arena_allocate(&arena, sizeof(struct gradient) + sizeof(struct error_term), 1,
                       alignof(struct gradient));
    gradient->count = 1;
    gradient->terms[0] = (struct error_term){3, unit_step_to_si(bar, 0.17)};
    struct measured known = {unit_to_si(bar, 8.19999), gradient};
    struct measured exact = {unit_to_si(bar, 8.2), NULL};
    struct measured whole = {unit_to_si(bar, 94210), NULL};
    struct measured zero = {0, NULL};
    assert_words(say_number(&arena, known, bar), "8.20\u00a0bar");
    assert_words(say_number(&arena, exact, bar), "8.2\u00a0bar");
    assert_words(say_number(&arena, whole, bar), "94210\u00a0bar");
    assert_words(say_number(&arena, zero, bar), "0\u00a0bar");
    assert_words(say_number(&arena, (struct measured){0.123456, NULL}, NULL), "0.1235");
    assert_words(say_number(&arena, (struct measured){-1200.5, NULL}, NULL), "-1200");
    arena_close(&arena);
}

static void blanks_are_dots_before_there_is_a_job(void **state)
{
    (void)state;
    struct arena arena = arena_open(MEBIBYTE, stop);
    struct expression value = {0};
    struct template_piece pieces[] = {{TEXT("Take plug "), &value}, {TEXT(" out."), NULL}};
    struct template with = {
        .written = TEXT("Take plug {cylinder} out."), .pieces = pieces, .piece_count = 2};
    struct template without = {.written = TEXT("Belts move.")};
    assert_words(say_template(&arena, &with), "Take plug … out.");
    assert_words(say_template(&arena, &without), "Belts move.");
    arena_close(&arena);
}

static void truths_and_texts_are_scalars_too(void **state)
{
    (void)state;
    struct arena arena = arena_open(MEBIBYTE, stop);
    struct scalar yes = {.truth = true}, no = {.truth = false};
    struct scalar words = {.text = TEXT("dry tan")}, missing = {.is_missing = true};
    struct type truth = {.base = TYPE_TRUTH, .index = INDEX_NONE};
    struct type text = {.base = TYPE_TEXT, .index = INDEX_NONE};
    assert_words(say_scalar(&arena, &yes, truth, NULL), "yes");
    assert_words(say_scalar(&arena, &no, truth, NULL), "no");
    assert_words(say_scalar(&arena, &words, text, NULL), "dry tan");
    assert_words(say_scalar(&arena, &missing, text, NULL), "missing");
    arena_close(&arena);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(names_are_said_in_words),
        cmocka_unit_test(lists_and_counts_read_like_speech),
        cmocka_unit_test(numbers_show_no_more_than_is_known),
        cmocka_unit_test(blanks_are_dots_before_there_is_a_job),
        cmocka_unit_test(truths_and_texts_are_scalars_too),
    };
    return cmocka_run_group_tests_name("engine/say", tests, NULL, NULL);
}

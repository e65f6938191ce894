#include "job/say.h"

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
    gradient->terms[0] = (struct error_term){.source = 3, .slope = unit_step_to_si(bar, 0.17)};
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

static void long_words_are_shortened_between_words(void **state)
{
    (void)state;
    struct arena arena = arena_open(MEBIBYTE, stop);
    assert_words(say_short(&arena, TEXT("Put a chock before one wheel."), 40),
                 "Put a chock before one wheel");
    assert_words(say_short(&arena, TEXT("Put a chock before one wheel."), 20),
                 "Put a chock before \u2026");
    arena_close(&arena);
}

/* Units have dots, names have underscores; what stands in quotes is the author's own text. */
static void what_an_author_compares_is_said_without_underscores(void **state)
{
    (void)state;
    struct arena arena = arena_open(MEBIBYTE, stop);
    assert_words(say_expression(&arena, TEXT("rest_voltage < 12.4 V")),
                 "rest voltage < 12.4 V");
    assert_words(say_expression(&arena, TEXT("machine.support == \"own_stand\"")),
                 "support == \"own_stand\"");
    assert_words(say_expression(&arena, TEXT("any(weak)")), "any weak");
    assert_words(say_expression(&arena, TEXT("any(dry < 0.8 * max(dry))")),
                 "any(dry < 0.8 * max(dry))");
    assert_words(say_expression(&arena, TEXT("set_to > 20 N.m and lamps.fault_lamp")),
                 "set to > 20 N.m and fault lamp");
    assert_words(say_expression(&arena, TEXT("x == \"open")), "x == \"open");
    arena_close(&arena);
}

static void little_oil_is_said_in_millilitres(void **state)
{
    (void)state;
    struct arena arena = arena_open(MEBIBYTE, stop);
    const struct unit *litre = unit_find(TEXT("L"));
    const struct unit *bar = unit_find(TEXT("bar"));
    struct type volume = {.base = TYPE_NUMBER, .kind = litre->kind, .index = INDEX_NONE};
    struct type pressure = {.base = TYPE_NUMBER, .kind = bar->kind, .index = INDEX_NONE};
    struct scalar little = {.number.value = 12e-6}, much = {.number.value = 4.9e-3};
    struct scalar low = {.number.value = 5000}, none = {.number.value = 0};
    assert_words(say_amount(&arena, &little, volume, litre), "12\u00a0mL");
    assert_words(say_amount(&arena, &much, volume, litre), "4.9\u00a0L");
    assert_words(say_amount(&arena, &none, volume, litre), "0\u00a0L");
    assert_words(say_amount(&arena, &low, pressure, bar), "0.05\u00a0bar");
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
        cmocka_unit_test(long_words_are_shortened_between_words),
        cmocka_unit_test(what_an_author_compares_is_said_without_underscores),
        cmocka_unit_test(little_oil_is_said_in_millilitres),
    };
    return cmocka_run_group_tests_name("job/say", tests, NULL, NULL);
}

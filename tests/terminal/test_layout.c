#include "terminal/layout.h"

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

static const char *laid_out(struct arena *arena, unsigned width, enum tone tone,
                            const char *paragraph)
{
    struct layout layout = {.width = width};
    struct page page;
    page_begin(&page, arena);
    layout_paragraph(&layout, tone, text_from(paragraph), &page.writer, arena);
    return text_terminated(arena, page_text(&page));
}

static void what_is_wrapped_stands_behind_its_number_or_dash(void **state)
{
    (void)state;
    struct arena arena = arena_open(MEBIBYTE, stop);
    assert_string_equal(
        laid_out(&arena, 30, TONE_DETAIL, "- held still: Take away the chocks."),
        "    - held still: Take away\n"
        "      the chocks.\n");
    assert_string_equal(laid_out(&arena, 30, TONE_DETAIL, "12. Take the blocks away from it."),
                        "    12. Take the blocks away\n"
                        "        from it.\n");
    assert_string_equal(
        laid_out(&arena, 30, TONE_PLAIN, "12.4 V or more goes on, and less not."),
        "12.4 V or more goes on, and\n"
        "less not.\n");
    arena_close(&arena);
}

static void lines_that_begin_with_spaces_keep_them(void **state)
{
    (void)state;
    struct arena arena = arena_open(MEBIBYTE, stop);
    assert_string_equal(laid_out(&arena, 24, TONE_PLAIN, "Hazards:\n  DANGER: Moving belts."),
                        "Hazards:\n"
                        "  DANGER: Moving belts.\n");
    assert_string_equal(laid_out(&arena, 20, TONE_PLAIN, "  DANGER: Moving belts."),
                        "  DANGER: Moving\n"
                        "  belts.\n");
    arena_close(&arena);
}

static void choices_are_numbered_below_their_question(void **state)
{
    (void)state;
    struct arena arena = arena_open(MEBIBYTE, stop);
    static const struct text texts[] = {TEXT_CONSTANT("lever swings free from side to side"),
                                        TEXT_CONSTANT("not sure")};
    struct prompt prompt = {.question = TEXT("What shows it?"), .choices = {2, texts}};
    struct layout layout = {.width = 36};
    struct page page;
    page_begin(&page, &arena);
    layout_question(&layout, &prompt, &page.writer, &arena);
    assert_string_equal(text_terminated(&arena, page_text(&page)),
                        "\n"
                        "What shows it?\n"
                        "    1  lever swings free from side\n"
                        "       to side\n"
                        "    2  not sure\n");
    assert_string_equal(text_terminated(&arena, layout_cue(&prompt, &arena)), "1-2 > ");
    arena_close(&arena);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(what_is_wrapped_stands_behind_its_number_or_dash),
        cmocka_unit_test(lines_that_begin_with_spaces_keep_them),
        cmocka_unit_test(choices_are_numbered_below_their_question),
    };
    return cmocka_run_group_tests_name("terminal/layout", tests, NULL, NULL);
}

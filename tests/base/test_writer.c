#include "base/check.h"
#include "base/writer.h"

struct narrow {
    struct writer writer;
    size_t room, puts;
};

static bool put_if_room(struct writer *writer, const char *bytes, size_t length)
{
    (void)bytes;
    struct narrow *narrow = (struct narrow *)writer;
    narrow->puts++;
    if (length > narrow->room)
        return false;
    narrow->room -= length;
    return true;
}

static void a_page_keeps_everything_in_order(void **state)
{
    (void)state;
    struct arena arena = arena_open(MEBIBYTE, check_exhausted);
    struct page page;
    page_begin(&page, &arena);
    for (int i = 0; i < 1000; i++) {
        write_text(&page.writer, TEXT("ab"));
        write_repeated(&page.writer, '-', 100);
    }
    struct text whole = page_text(&page);
    assert_int_equal(whole.length, 1000 * 102);
    for (size_t i = 0; i < whole.length; i++)
        assert_int_equal(whole.bytes[i], i % 102 == 0 ? 'a' : i % 102 == 1 ? 'b' : '-');
    arena_close(&arena);
}

static void a_sentence_is_filled_into_a_page(void **state)
{
    (void)state;
    struct arena arena = arena_open(MEBIBYTE, check_exhausted);
    struct page page;
    page_begin(&page, &arena);
    assert_text(page_text(&page), "");
    write_fill(&page.writer, &arena, "{} of {}", text_number(&arena, 3), TEXT("7"));
    write_text(&page.writer, (struct text){0});
    assert_text(page_text(&page), "3 of 7");
    arena_close(&arena);
}

static void the_first_error_sticks_and_nothing_more_is_put(void **state)
{
    (void)state;
    struct narrow narrow = {.writer = {.put = put_if_room}, .room = 3};
    write_text(&narrow.writer, TEXT("abc"));
    assert_false(narrow.writer.failed);
    write_text(&narrow.writer, TEXT("d"));
    assert_true(narrow.writer.failed);
    narrow.room = 100;
    write_text(&narrow.writer, TEXT("e"));
    write_repeated(&narrow.writer, 'f', 500);
    assert_int_equal(narrow.puts, 2);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_page_keeps_everything_in_order),
        cmocka_unit_test(a_sentence_is_filled_into_a_page),
        cmocka_unit_test(the_first_error_sticks_and_nothing_more_is_put),
    };
    return cmocka_run_group_tests_name("base/writer", tests, NULL, NULL);
}

/* Parts on the card: each time that one came out and went back. */
#include "golden.h"
#include "report/card.h"
#include "support/trial_ports.h"

#define PROCEDURE                                                                              \
    "procedure: soaking\n"                                                                     \
    "title: Look twice\n"                                                                      \
    "revision: 1\n"                                                                            \
    "about: Out and back, and once more.\n"                                                    \
    "steps:\n"                                                                                 \
    "  - step: first_out\n"                                                                    \
    "    each: cylinder\n"                                                                     \
    "    do: Take plug {cylinder} out.\n"                                                      \
    "    removes: plug\n"                                                                      \
    "  - step: first_back\n"                                                                   \
    "    each: cylinder\n"                                                                     \
    "    do: Put plug {cylinder} in.\n"                                                        \
    "    refits: plug\n"                                                                       \
    "  - step: second_out\n"                                                                   \
    "    do: Take plug 2 out once more.\n"                                                     \
    "    each: cylinder\n"                                                                     \
    "    in: [2]\n"                                                                            \
    "    removes: plug\n"                                                                      \
    "  - step: second_back\n"                                                                  \
    "    do: Put plug 2 in for good.\n"                                                        \
    "    each: cylinder\n"                                                                     \
    "    in: [2]\n"                                                                            \
    "    parts: {new_plug: 1}\n"                                                               \
    "    refits: {plug: {new: true}}\n"

static struct text parts_of(struct tried *tried)
{
    struct arena *arena = &tried->fake->arena;
    assert_int_equal(tried->end, SESSION_COMPLETED);
    struct card card = card_build(tried->fake->session.job,
                                  (struct card_heading){3, TEXT("banksman"), NULL}, arena);
    struct text text = card_as_text(&card, 80, arena);
    size_t at = text_find(text, TEXT("Parts out and back"));
    assert_true(at < text.length);
    return text_slice(text, at, text.length);
}

static unsigned count_rows(struct text text, const char *words)
{
    unsigned count = 0;
    for (size_t at = 0; at < text.length; at++) {
        bool is_begin = at == 0 || text.bytes[at - 1] == '\n';
        count += is_begin && text_starts(text_slice(text, at, text.length), text_from(words));
    }
    return count;
}

static void a_part_that_came_out_twice_stands_there_twice(void **state)
{
    (void)state;
    struct tried tried = try_out(PROCEDURE, "procedure: soaking\nanswers: {}\n", 1);
    struct text parts = parts_of(&tried);
    assert_int_equal(count_rows(parts, "Plug  cylinder 1"), 1);
    assert_int_equal(count_rows(parts, "Plug  cylinder 2"), 2);
    size_t first = text_find(parts, TEXT("Plug  cylinder 2"));
    struct text rest = text_slice(parts, first + 1, parts.length);
    struct text second =
        text_slice(rest, text_find(rest, TEXT("Plug  cylinder 2")), rest.length);
    /* the first was not a new one, the second was */
    assert_true(text_find(rest, TEXT("a new one")) > rest.length - second.length);
    assert_true(text_find(second, TEXT("a new one")) < text_find(second, TEXT("\n")));
    assert_true(text_find(parts, TEXT("STILL OUT")) == parts.length);
    fake_close(tried.fake);
}

/* The question is asked once, before the first round, so it is about no position of it. */
static void a_loop_left_out_as_a_whole_names_no_position(void **state)
{
    (void)state;
    static const char P[] = "procedure: soaking\ntitle: T\nrevision: 1\nabout: A test.\n"
                            "steps:\n"
                            "  - step: read\n"
                            "    each: cylinder\n"
                            "    do: Read the gauge.\n"
                            "    record: {dry: {unit: bar}}\n"
                            "  - section: Look closer\n"
                            "    when: any(dry < 5 bar)\n"
                            "    each: cylinder\n"
                            "    steps:\n"
                            "      - {step: look, do: \"Look into cylinder {cylinder}.\"}\n"
                            "  - step: once_more\n"
                            "    when: dry[cylinder] < 5 bar\n"
                            "    each: cylinder\n"
                            "    do: Look into cylinder {cylinder} once more.\n";
    struct tried tried =
        try_out(P,
                "procedure: soaking\nanswers:\n"
                "  read: {dry: {1: 11 bar, 2: 11 bar, 3: 11 bar, 4: 11 bar}}\n",
                1);
    assert_int_equal(tried.end, SESSION_COMPLETED);
    struct arena *arena = &tried.fake->arena;
    struct card card = card_build(tried.fake->session.job,
                                  (struct card_heading){3, TEXT("banksman"), NULL}, arena);
    struct text text = card_as_text(&card, 80, arena);
    assert_true(text_find(text, TEXT("- Look closer: only when any dry < 5")) < text.length);
    assert_true(text_find(text, TEXT("- Once more, cylinder 3: only when")) < text.length);
    fake_close(tried.fake);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_part_that_came_out_twice_stands_there_twice),
        cmocka_unit_test(a_loop_left_out_as_a_whole_names_no_position),
    };
    return cmocka_run_group_tests_name("report/card_ledger", tests, NULL, NULL);
}

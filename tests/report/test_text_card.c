#include "golden.h"

static int begin(void **state)
{
    struct arena *arena = test_calloc(1, sizeof *arena);
    *arena = arena_open(64 * MEBIBYTE, golden_exhausted);
    *state = arena;
    return 0;
}

static int end(void **state)
{
    struct arena *arena = *state;
    arena_close(arena);
    test_free(arena);
    return 0;
}

#define NBSP "\u00A0"
#define ROW(...)                                                                               \
    {                                                                                          \
        (const struct text[]){__VA_ARGS__},                                                    \
            sizeof((const struct text[]){__VA_ARGS__}) / sizeof(struct text)                   \
    }
#define ROWS(list) .rows = (list), .row_count = sizeof(list) / sizeof *(list)

/* Every kind of block, wide and combining characters, empty cells, a note over two lines. */
static struct card whole_card(struct arena *arena)
{
    const struct card_row fields[] = {
        ROW(TEXT("Machine"), TEXT("Alder van")),
        ROW(TEXT("Procedure"), TEXT("Find the weak cylinder before and after a small dose of "
                                    "oil, with one gauge")),
        ROW(TEXT("\u5DE5\u4F5C"), TEXT("e\u0301tape 12"))};
    const struct card_row results[] = {
        ROW(TEXT("Result"), TEXT("Value"), TEXT("Limit"), TEXT("Verdict")),
        ROW(TEXT("Lowest"), TEXT("8.2" NBSP "bar"), TEXT("at least 8.8" NBSP "bar"),
            TEXT("fail")),
        ROW(TEXT("\u706B\u82B1\u585E"), TEXT("21" NBSP "N\u00B7m"),
            TEXT("between 20" NBSP "N\u00B7m and 23" NBSP "N\u00B7m"),
            TEXT("too close to call")),
        ROW(TEXT("Balance"), TEXT(""), TEXT("at least 0.8"),
            TEXT("cannot be worked out: dry was not read"))};
    const struct card_row readings[] = {
        ROW(TEXT("Cylinder"), TEXT("Value"), TEXT("As typed"), TEXT("Remarks")),
        ROW(TEXT("1"), TEXT("11.6" NBSP "bar"), TEXT("11.6"), TEXT("")),
        ROW(TEXT("3"), TEXT("8.3" NBSP "bar"), TEXT("8,3 bar"),
            TEXT("corrected from 83" NBSP "bar because the comma was forgotten, which the "
                 "gauge cannot even show")),
        ROW(TEXT(""), TEXT("1171.5" NBSP "kPa"), TEXT("170 psi"), TEXT("late\nsecond line"))};
    const struct card_row notes[] = {
        ROW(TEXT("The gasket of the rocker cover was torn at the back; a new one is ordered.")),
        ROW(TEXT("Averyveryverylongwordwithoutanyspaceinit which is cut"))};
    const struct card_block blocks[] = {
        {.kind = BLOCK_FIELDS, ROWS(fields)},
        {.kind = BLOCK_PARAGRAPH,
         .tone = TONE_WARNING,
         .text = TEXT("Proof void from step 7: a step was skipped. Torque 21" NBSP
                      "N\u00B7m stays whole.")},
        {.kind = BLOCK_HEADING, .tone = TONE_HEADING, .text = TEXT("Results")},
        {.kind = BLOCK_TABLE, ROWS(results)},
        {.kind = BLOCK_HEADING, .text = TEXT("Dry compression, each cylinder, in bar")},
        {.kind = BLOCK_TABLE, ROWS(readings)},
        {.kind = BLOCK_HEADING, .text = TEXT("Notes")},
        {.kind = BLOCK_LIST, ROWS(notes)},
        {.kind = BLOCK_PARAGRAPH, .tone = TONE_PLAIN, .text = TEXT("End of the card.")}};
    struct card_block *kept =
        arena_array(arena, struct card_block, sizeof blocks / sizeof *blocks);
    memcpy(kept, blocks, sizeof blocks);
    for (size_t b = 0; b < sizeof blocks / sizeof *blocks; b++) {
        struct card_row *rows = arena_array(arena, struct card_row, blocks[b].row_count);
        for (size_t r = 0; r < blocks[b].row_count; r++) {
            struct text *cells = arena_array(arena, struct text, blocks[b].rows[r].count);
            memcpy(cells, blocks[b].rows[r].cells, blocks[b].rows[r].count * sizeof *cells);
            rows[r] = (struct card_row){cells, blocks[b].rows[r].count};
        }
        kept[b].rows = rows;
    }
    return (struct card){TEXT("Job card 12"), kept, sizeof blocks / sizeof *blocks};
}

static void looks_as_it_must_on_eighty_columns(void **state)
{
    struct card card = whole_card(*state);
    expect_golden(card_as_text(&card, 80, *state), "every-block-80", *state);
}

static void looks_as_it_must_on_a_narrow_screen(void **state)
{
    struct card card = whole_card(*state);
    expect_golden(card_as_text(&card, 40, *state), "every-block-40", *state);
    expect_golden(card_as_text(&card, 20, *state), "every-block-20", *state);
}

static size_t count_of(struct text whole, struct text wanted)
{
    size_t count = 0;
    for (size_t at = 0; at + wanted.length <= whole.length; at++)
        count += text_equal(text_slice(whole, at, at + wanted.length), wanted);
    return count;
}

static void no_line_is_too_wide_and_no_number_loses_its_unit(void **state)
{
    struct card card = whole_card(*state);
    static const char *const wholes[] = {"8.2" NBSP "bar", "8.8" NBSP "bar",
                                         "21" NBSP "N\u00B7m", "83" NBSP "bar",
                                         "1171.5" NBSP "kPa"};
    size_t counts[sizeof wholes / sizeof *wholes];
    struct text widest = card_as_text(&card, 400, *state);
    for (size_t i = 0; i < sizeof wholes / sizeof *wholes; i++)
        counts[i] = count_of(widest, text_from(wholes[i]));
    for (unsigned width = 20; width <= 130; width++) {
        struct text text = card_as_text(&card, width, *state);
        struct text rest = text, line;
        while (text_cut(&rest, '\n', &line)) {
            if (text_width(line) > width)
                fail_msg("%u columns: %.*s", width, (int)line.length, line.bytes);
            assert_false(text_ends(line, TEXT(" ")));
        }
        for (size_t i = 0; i < sizeof wholes / sizeof *wholes; i++)
            assert_int_equal(count_of(text, text_from(wholes[i])), counts[i]);
    }
}

static void less_than_twenty_columns_are_taken_as_twenty(void **state)
{
    struct card card = whole_card(*state);
    assert_true(text_equal(card_as_text(&card, 1, *state), card_as_text(&card, 20, *state)));
}

/* The second column begins at the same column of the screen in every row. */
static void columns_stand_under_one_another(void **state)
{
    const struct card_row rows[] = {ROW(TEXT("Part"), TEXT("x1")),
                                    ROW(TEXT("\u706B\u82B1\u585E"), TEXT("x2")),
                                    ROW(TEXT("e\u0301e\u0301"), TEXT("x3"))};
    const struct card_block block = {.kind = BLOCK_TABLE, ROWS(rows)};
    const struct card card = {.blocks = &block, .block_count = 1};
    struct text rest = card_as_text(&card, 80, *state), line;
    int found = 0;
    while (text_cut(&rest, '\n', &line)) {
        size_t at = text_find(line, TEXT("x"));
        if (at == line.length)
            continue;
        assert_int_equal(text_width(text_slice(line, 0, at)), 8);
        found++;
    }
    assert_int_equal(found, 3);
}

static void a_table_that_does_not_fit_becomes_stacked_rows(void **state)
{
    const struct card_row rows[] = {ROW(TEXT("Measured"), TEXT("As typed"), TEXT("Remarks")),
                                    ROW(TEXT("11.6" NBSP "bar"), TEXT("11.6"), TEXT(""))};
    const struct card_block block = {.kind = BLOCK_TABLE, ROWS(rows)};
    const struct card card = {.blocks = &block, .block_count = 1};
    assert_true(text_equal(card_as_text(&card, 20, *state), TEXT("* Measured: 11.6" NBSP "bar\n"
                                                                 "  As typed: 11.6\n")));
}

static bool put_nothing(struct writer *writer, const char *bytes, size_t length)
{
    (void)writer;
    (void)bytes;
    (void)length;
    return false;
}

static void a_writer_that_fails_stays_failed(void **state)
{
    struct card card = whole_card(*state);
    struct writer writer = {.put = put_nothing};
    text_card_write(&card, 80, &writer, *state);
    assert_true(writer.failed);
}

int main(void)
{
#define TEST(name) cmocka_unit_test_setup_teardown(name, begin, end)
    const struct CMUnitTest tests[] = {TEST(looks_as_it_must_on_eighty_columns),
                                       TEST(looks_as_it_must_on_a_narrow_screen),
                                       TEST(no_line_is_too_wide_and_no_number_loses_its_unit),
                                       TEST(less_than_twenty_columns_are_taken_as_twenty),
                                       TEST(columns_stand_under_one_another),
                                       TEST(a_table_that_does_not_fit_becomes_stacked_rows),
                                       TEST(a_writer_that_fails_stays_failed)};
    return cmocka_run_group_tests(tests, NULL, NULL);
}

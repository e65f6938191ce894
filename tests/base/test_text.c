#include "base/check.h"
#include "base/text.h"

static struct arena arena;

static int open_arena(void **state)
{
    (void)state;
    arena = arena_open(4 * MEBIBYTE, check_exhausted);
    return 0;
}

static int close_arena(void **state)
{
    (void)state;
    arena_close(&arena);
    return 0;
}

/* --- the check at the door -------------------------------------------------------- */

struct check_case {
    struct text bytes;
    enum text_flaw flaw;
    size_t offset;
};

/* Which byte sequences are UTF-8: The Unicode Standard, version 15, table 3-7; the same classes
 * as RFC 3629, section 4. */
static const struct check_case checks[] = {
    {TEXT_CONSTANT(""), TEXT_SOUND, 0},
    {TEXT_CONSTANT("a\tb\r\nc"), TEXT_SOUND, 0},
    {TEXT_CONSTANT("\xC2\xA0"), TEXT_SOUND, 0},     /* U+00A0, the first that is no control */
    {TEXT_CONSTANT("\xDF\xBF"), TEXT_SOUND, 0},     /* U+07FF, last of two bytes */
    {TEXT_CONSTANT("\xE0\xA0\x80"), TEXT_SOUND, 0}, /* U+0800, first of three */
    {TEXT_CONSTANT("\xED\x9F\xBF"), TEXT_SOUND, 0}, /* U+D7FF, below the surrogates */
    {TEXT_CONSTANT("\xEE\x80\x80"), TEXT_SOUND, 0}, /* U+E000, above them */
    {TEXT_CONSTANT("\xEF\xBF\xBE"), TEXT_SOUND,
     0}, /* U+FFFE, a noncharacter, is interchangeable */
    {TEXT_CONSTANT("\xF0\x90\x80\x80"), TEXT_SOUND, 0}, /* U+10000, first of four */
    {TEXT_CONSTANT("\xF4\x8F\xBF\xBF"), TEXT_SOUND, 0}, /* U+10FFFF, the last */
    {TEXT_CONSTANT("\xE2\x80\x8F"), TEXT_SOUND, 0},     /* U+200F, a mark, moves nothing else */

    {TEXT_CONSTANT("ab\x80"), TEXT_NOT_UTF8, 2}, /* continuation alone */
    {TEXT_CONSTANT("ab\xBF"), TEXT_NOT_UTF8, 2},
    {TEXT_CONSTANT("\xC0\x80"), TEXT_NOT_UTF8, 0},         /* overlong U+0000 */
    {TEXT_CONSTANT("\xC1\xBF"), TEXT_NOT_UTF8, 0},         /* overlong U+007F */
    {TEXT_CONSTANT("\xE0\x80\xAF"), TEXT_NOT_UTF8, 0},     /* overlong slash */
    {TEXT_CONSTANT("\xE0\x9F\xBF"), TEXT_NOT_UTF8, 0},     /* overlong U+07FF */
    {TEXT_CONSTANT("\xF0\x8F\xBF\xBF"), TEXT_NOT_UTF8, 0}, /* overlong U+FFFF */
    {TEXT_CONSTANT("x\xED\xA0\x80"), TEXT_NOT_UTF8, 1},    /* U+D800 */
    {TEXT_CONSTANT("x\xED\xBF\xBF"), TEXT_NOT_UTF8, 1},    /* U+DFFF */
    {TEXT_CONSTANT("\xF4\x90\x80\x80"), TEXT_NOT_UTF8, 0}, /* U+110000 */
    {TEXT_CONSTANT("\xF5\x80\x80\x80"), TEXT_NOT_UTF8, 0},
    {TEXT_CONSTANT("\xF8\x88\x80\x80\x80"), TEXT_NOT_UTF8, 0},
    {TEXT_CONSTANT("\xFE"), TEXT_NOT_UTF8, 0},
    {TEXT_CONSTANT("\xFF"), TEXT_NOT_UTF8, 0},
    {TEXT_CONSTANT("abc\xC3"), TEXT_NOT_UTF8, 3}, /* cut off */
    {TEXT_CONSTANT("abc\xE2\x82"), TEXT_NOT_UTF8, 3},
    {TEXT_CONSTANT("abc\xF0\x9F\x94"), TEXT_NOT_UTF8, 3},
    {TEXT_CONSTANT("\xE2\x82 "), TEXT_NOT_UTF8, 0}, /* broken off by an ASCII byte */
    {TEXT_CONSTANT("\xC3\xC3\xA9"), TEXT_NOT_UTF8, 0},

    {TEXT_CONSTANT("a\0b"), TEXT_CONTROL, 1},
    {TEXT_CONSTANT("\x1B[2J"), TEXT_CONTROL, 0}, /* would clear a screen */
    {TEXT_CONSTANT("bell\a"), TEXT_CONTROL, 4},
    {TEXT_CONSTANT("\x08"), TEXT_CONTROL, 0},
    {TEXT_CONSTANT("\x0B"), TEXT_CONTROL, 0},
    {TEXT_CONSTANT("\x1F"), TEXT_CONTROL, 0},
    {TEXT_CONSTANT("\x7F"), TEXT_CONTROL, 0},
    {TEXT_CONSTANT("\xC2\x80"), TEXT_CONTROL, 0},
    {TEXT_CONSTANT("ab\xC2\x9B"), TEXT_CONTROL, 2}, /* U+009B starts a terminal command too */
    {TEXT_CONSTANT("\xC2\x9F"), TEXT_CONTROL, 0},

    {TEXT_CONSTANT("a\u202Ab"), TEXT_BIDIRECTIONAL, 1},
    {TEXT_CONSTANT("\u202B"), TEXT_BIDIRECTIONAL, 0},
    {TEXT_CONSTANT("\u202C"), TEXT_BIDIRECTIONAL, 0},
    {TEXT_CONSTANT("\u202D"), TEXT_BIDIRECTIONAL, 0},
    {TEXT_CONSTANT("\u202E"), TEXT_BIDIRECTIONAL, 0},
    {TEXT_CONSTANT("\u2066"), TEXT_BIDIRECTIONAL, 0},
    {TEXT_CONSTANT("\u2069"), TEXT_BIDIRECTIONAL, 0},
};

static void flaws_are_found_at_every_place_in_a_block(void **state)
{
    (void)state;
    for (size_t i = 0; i < sizeof checks / sizeof *checks; i++) {
        const struct check_case *expected = &checks[i];
        for (size_t before = 0; before < 40; before++)
            for (size_t after = 0; after < 40; after += 13) {
                char *bytes = malloc(before + expected->bytes.length + after + 1);
                memset(bytes, 'x', before + expected->bytes.length + after);
                memcpy(bytes + before, expected->bytes.bytes, expected->bytes.length);
                struct text text = {bytes, before + expected->bytes.length + after};
                size_t offset = 9999;
                assert_int_equal(text_check(text, &offset), expected->flaw);
                assert_int_equal(
                    offset, expected->flaw == TEXT_SOUND ? 9999 : before + expected->offset);
                free(bytes);
            }
    }
    assert_int_equal(text_check(TEXT("\a"), NULL), TEXT_CONTROL);
    assert_int_equal(text_check((struct text){0}, NULL), TEXT_SOUND);
}

static void every_character_is_decoded_as_the_standard_encodes_it(void **state)
{
    (void)state;
    for (unsigned wanted = 0; wanted <= 0x10FFFF; wanted++) {
        char bytes[4];
        size_t length = 0;
        if (wanted < 0x80) {
            bytes[length++] = (char)wanted;
        } else {
            int more = wanted < 0x800 ? 1 : wanted < 0x10000 ? 2 : 3;
            bytes[length++] = (char)(0xF0u << (3 - more) | wanted >> (6 * more));
            while (more-- > 0)
                bytes[length++] = (char)(0x80 | (wanted >> (6 * more) & 0x3F));
        }
        unsigned character;
        bool is_surrogate = wanted >= 0xD800 && wanted <= 0xDFFF;
        size_t taken = text_character((struct text){bytes, length}, 0, &character);
        assert_int_equal(taken, is_surrogate ? 1 : length);
        assert_int_equal(character, is_surrogate ? 0xFFFD : wanted);
    }
}

/* --- views ---------------------------------------------------------------------------- */

static void texts_are_compared_by_bytes_and_length(void **state)
{
    (void)state;
    const struct text empty = {0};
    assert_true(text_equal(empty, TEXT("")));
    assert_true(text_equal(TEXT("a\0b"), TEXT("a\0b")));
    assert_false(text_equal(TEXT("a"), TEXT("ab")));
    assert_true(text_equal_folded(TEXT("Bar"), TEXT("bAR")));
    assert_false(text_equal_folded(TEXT("b[r"), TEXT("b{r")));
    assert_false(text_equal_folded(TEXT("bar"), TEXT("ba")));
    assert_true(text_compare(TEXT("ab"), TEXT("b")) < 0);
    assert_true(text_compare(TEXT("ab"), TEXT("a")) > 0);
    assert_true(text_compare(TEXT("a"), TEXT("ab")) < 0);
    assert_true(text_compare(TEXT("\xC3\xA9"), TEXT("z")) > 0);
    assert_int_equal(text_compare(empty, TEXT("")), 0);
    assert_int_equal(text_compare(TEXT("x"), text_from("x")), 0);
}

static void white_space_is_trimmed_also_where_it_does_not_break(void **state)
{
    (void)state;
    assert_text(text_trim(TEXT(" \t a b \r\n")), "a b");
    assert_text(text_trim(TEXT("\u00A0\u202F1 bar\u00A0")), "1 bar");
    assert_text(text_trim(TEXT(" \u00A0 ")), "");
    assert_text(text_trim(TEXT("é")), "é");
    assert_text(text_trim((struct text){0}), "");
    assert_text(text_trim(TEXT("\x80 ")), "\x80");
}

static void parts_are_found(void **state)
{
    (void)state;
    struct text whole = TEXT("machine.torque");
    assert_true(text_starts(whole, TEXT("machine")));
    assert_true(text_starts(whole, TEXT("")));
    assert_false(text_starts(TEXT("ma"), TEXT("machine")));
    assert_true(text_ends(whole, TEXT("torque")));
    assert_false(text_ends(whole, TEXT("torqu")));
    assert_false(text_ends(TEXT("ue"), TEXT("torque")));
    assert_int_equal(text_find(whole, TEXT("tor")), 8);
    assert_int_equal(text_find(TEXT("aab"), TEXT("ab")), 1);
    assert_int_equal(text_find(whole, TEXT("torques")), whole.length);
    assert_int_equal(text_find(whole, TEXT("x")), whole.length);
    assert_int_equal(text_find(whole, TEXT("")), 0);
    assert_int_equal(text_find((struct text){0}, TEXT("a")), 0);
    assert_text(text_slice(whole, 8, 14), "torque");
    assert_text(text_slice(whole, 14, 14), "");
}

static void cutting_takes_part_after_part(void **state)
{
    (void)state;
    struct text rest = TEXT("a,,bc");
    struct text part;
    assert_true(text_cut(&rest, ',', &part));
    assert_text(part, "a");
    assert_true(text_cut(&rest, ',', &part));
    assert_text(part, "");
    assert_true(text_cut(&rest, ',', &part));
    assert_text(part, "bc");
    assert_false(text_cut(&rest, ',', &part));
}

/* --- made in an arena -------------------------------------------------------------------- */

static void copies_and_joins(void **state)
{
    (void)state;
    const struct text parts[] = {TEXT("1"), TEXT("3"), TEXT("4")};
    assert_text(text_join(&arena, parts, 3, TEXT(", ")), "1, 3, 4");
    assert_text(text_join(&arena, parts, 1, TEXT(", ")), "1");
    assert_text(text_join(&arena, parts, 0, TEXT(", ")), "");
    assert_text(text_copy(&arena, TEXT("abc")), "abc");
    assert_text(text_copy(&arena, (struct text){0}), "");
    assert_string_equal(text_terminated(&arena, (struct text){"abcdef", 3}), "abc");
}

static void whole_numbers_are_written_out(void **state)
{
    (void)state;
    assert_text(text_number(&arena, 0), "0");
    assert_text(text_number(&arena, -7), "-7");
    assert_text(text_number(&arena, 9223372036854775807LL), "9223372036854775807");
    assert_text(text_number(&arena, -9223372036854775807LL - 1), "-9223372036854775808");
}

static void digits_of_a_number_are_rounded_to_nearest(void **state)
{
    (void)state;
    char digits[17];
    int exponent;
    text_digits(0.1, 15, digits, &exponent);
    assert_memory_equal(digits, "100000000000000", 15);
    assert_int_equal(exponent, 0);
    text_digits(0.1, 17, digits, &exponent);
    assert_memory_equal(digits, "10000000000000001", 17);
    text_digits(99.96, 3, digits, &exponent);
    assert_memory_equal(digits, "100", 3);
    assert_int_equal(exponent, 3);
    text_digits(5e-324, 1, digits, &exponent);
    assert_memory_equal(digits, "5", 1);
    assert_int_equal(exponent, -323);
}

static void blanks_are_filled_in_order_and_not_again(void **state)
{
    (void)state;
    assert_text(text_fill(&arena, "{} of {}{}", TEXT("{}"), TEXT("b"), TEXT("!")), "{} of b!");
    assert_text(text_fill(&arena, "{}", (struct text){0}), "");
    assert_text(text_fill(&arena, "{x} {}", TEXT("1")), "{x} 1");
}

/* Expected forms: Unicode Standard Annex 15, figures 3 to 6 (singletons, canonical order) and the
 * composition exclusions; confirmed with Python's unicodedata 14.0. */
static void texts_are_normalised_to_form_c(void **state)
{
    (void)state;
    assert_text(text_normalised(&arena, TEXT("e\u0301")), "\u00E9");
    assert_text(text_normalised(&arena, TEXT("\u2126")), "\u03A9");
    assert_text(text_normalised(&arena, TEXT("\u212B")), "\u00C5");
    assert_text(text_normalised(&arena, TEXT("D\u0323\u0307")), "\u1E0C\u0307");
    assert_text(text_normalised(&arena, TEXT("D\u0307\u0323")), "\u1E0C\u0307");
    assert_text(text_normalised(&arena, TEXT("\u1100\u1161\u11A8")), "\uAC01");
    assert_text(text_normalised(&arena, TEXT("\u0958")), "\u0915\u093C");
    assert_text(text_normalised(&arena, TEXT("  ´ \u00A0e\u0301 ")), "´ \u00A0\u00E9");
}

static void what_is_normal_already_is_not_copied(void **state)
{
    (void)state;
    const char *next = arena.next;
    struct text plain = TEXT("  Oil filter  ");
    assert_ptr_equal(text_normalised(&arena, plain).bytes, plain.bytes + 2);
    struct text latin = TEXT("Ölfilter, 5 N·m");
    assert_ptr_equal(text_normalised(&arena, latin).bytes, latin.bytes);
    struct text greek = TEXT("5 Ω – 漢字");
    assert_ptr_equal(text_normalised(&arena, greek).bytes, greek.bytes);
    assert_text(text_normalised(&arena, (struct text){0}), "");
    assert_ptr_equal(arena.next, next);
}

/* --- on the screen --------------------------------------------------------------------------- */

/* Wide: East_Asian_Width W or F (Unicode Standard Annex 11). */
static void width_counts_columns(void **state)
{
    (void)state;
    assert_int_equal(text_width(TEXT("abc")), 3);
    assert_int_equal(text_width(TEXT("25\u00A0N·m")), 6);
    assert_int_equal(text_width(TEXT("漢字")), 4);
    assert_int_equal(text_width(TEXT("Ａ")), 2);      /* fullwidth A */
    assert_int_equal(text_width(TEXT("e\u0301")), 1); /* combining acute */
    assert_int_equal(text_width(TEXT("x\u0323\u0307")), 1);
    assert_int_equal(text_width(TEXT("a\u200Bb")), 2);   /* zero width space */
    assert_int_equal(text_width(TEXT("\U0001F527")), 2); /* wrench */
    assert_int_equal(text_width(TEXT("\xC3(")), 2);      /* a broken byte takes a place */
    assert_int_equal(text_width(TEXT("")), 0);
    assert_int_equal(character_width('\t'), 1);
    assert_int_equal(character_width('\n'), 0);
}

static void check_wrap(struct text whole, unsigned width, const char *const *lines,
                       size_t count, const char *file, int line)
{
    struct text rest = whole;
    for (size_t i = 0; i < count; i++) {
        if (rest.length == 0)
            fail_msg("%s:%d: only %zu lines", file, line, i);
        check_text(text_wrap(&rest, width), lines[i], file, line);
    }
    if (rest.length != 0)
        fail_msg("%s:%d: more than %zu lines", file, line, count);
}

#define assert_wrap(whole, width, ...)                                                         \
    check_wrap(TEXT(whole), (width), (const char *const[]){__VA_ARGS__},                       \
               sizeof((const char *const[]){__VA_ARGS__}) / sizeof(char *), __FILE__,          \
               __LINE__)

static void lines_break_at_spaces(void **state)
{
    (void)state;
    assert_wrap("one two three", 7, "one two", "three");
    assert_wrap("one two three", 8, "one two", "three");
    assert_wrap("one two three", 6, "one", "two", "three");
    assert_wrap("one   two", 4, "one", "two");
    assert_wrap("one two   ", 20, "one two");
    assert_wrap("  deep one", 7, "  deep", "one");
    assert_wrap("abc", 3, "abc");
}

static void lines_end_where_the_text_says(void **state)
{
    (void)state;
    assert_wrap("one\n\ntwo\n", 20, "one", "", "two");
    assert_wrap("one \r\ntwo", 20, "one", "two");
    assert_wrap("one two\nthree", 3, "one", "two", "thr", "ee");
}

static void a_number_stays_with_its_unit(void **state)
{
    (void)state;
    assert_wrap("tighten to 25\u00A0N·m now", 15, "tighten to", "25\u00A0N·m now");
    assert_wrap("to 25\u00A0N·m", 8, "to", "25\u00A0N·m");
    for (unsigned width = 6; width < 30; width++) {
        struct text rest = TEXT("Tighten each nut to 25\u00A0N·m, then to 40\u00A0N·m more.");
        unsigned seen = 0;
        while (rest.length > 0) {
            struct text line = text_wrap(&rest, width);
            assert_true(text_width(line) <= width || text_find(line, TEXT(" ")) == line.length);
            seen += text_find(line, TEXT("25\u00A0N·m")) < line.length;
            seen += text_find(line, TEXT("40\u00A0N·m")) < line.length;
        }
        assert_int_equal(seen, 2);
    }
}

static void a_word_longer_than_the_line_is_cut_between_characters(void **state)
{
    (void)state;
    assert_wrap("abcdefg", 3, "abc", "def", "g");
    assert_wrap("漢字漢字", 5, "漢字", "漢字");
    assert_wrap("漢字", 1, "漢", "字"); /* wider than the line: still one at a time */
    assert_wrap("ae\u0301e\u0301", 2, "ae\u0301", "e\u0301");
    assert_wrap("ab", 0, "a", "b");
    assert_wrap("a     \u0301b", 3, "a", "\u0301b"); /* a mark behind spaces past the edge */
}

static void characters_are_counted_wherever_the_far_one_stands(void **state)
{
    char bytes[24];
    (void)state;
    for (size_t length = 0; length + 2 <= sizeof bytes; length++)
        for (size_t at = 0; at <= length; at++) {
            memset(bytes, 'x', sizeof bytes);
            struct text near = {bytes, length}, far = {bytes, length + 2};
            assert_true(text_is_ascii(near));
            assert_int_equal(text_characters(near), length);
            memcpy(bytes + at, "\u00b5", 2);
            assert_false(text_is_ascii(far));
            assert_int_equal(text_characters(far), length + 1);
        }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(characters_are_counted_wherever_the_far_one_stands),
        cmocka_unit_test(flaws_are_found_at_every_place_in_a_block),
        cmocka_unit_test(every_character_is_decoded_as_the_standard_encodes_it),
        cmocka_unit_test(texts_are_compared_by_bytes_and_length),
        cmocka_unit_test(white_space_is_trimmed_also_where_it_does_not_break),
        cmocka_unit_test(parts_are_found),
        cmocka_unit_test(cutting_takes_part_after_part),
        cmocka_unit_test(copies_and_joins),
        cmocka_unit_test(whole_numbers_are_written_out),
        cmocka_unit_test(digits_of_a_number_are_rounded_to_nearest),
        cmocka_unit_test(blanks_are_filled_in_order_and_not_again),
        cmocka_unit_test(texts_are_normalised_to_form_c),
        cmocka_unit_test(what_is_normal_already_is_not_copied),
        cmocka_unit_test(width_counts_columns),
        cmocka_unit_test(lines_break_at_spaces),
        cmocka_unit_test(lines_end_where_the_text_says),
        cmocka_unit_test(a_number_stays_with_its_unit),
        cmocka_unit_test(a_word_longer_than_the_line_is_cut_between_characters),
    };
    return cmocka_run_group_tests_name("base/text", tests, open_arena, close_arena);
}

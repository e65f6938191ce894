#include "base/check.h"
#include "base/diagnostic.h"

static struct arena arena;
static struct diagnostics found;

static int begin(void **state)
{
    (void)state;
    arena = arena_open(4 * MEBIBYTE, check_exhausted);
    diagnostics_begin(&found, &arena);
    return 0;
}

static int end(void **state)
{
    (void)state;
    arena_close(&arena);
    return 0;
}

static struct text written(void)
{
    struct page page;
    page_begin(&page, &arena);
    diagnostics_write(&found, &page.writer, &arena);
    return page_text(&page);
}

static struct place at(const struct source *source, unsigned line, unsigned column,
                       unsigned end_column)
{
    return (struct place){source, line, column, line, end_column};
}

/* --- the list ------------------------------------------------------------------------ */

static void codes_are_unique_and_have_their_form(void **state)
{
    (void)state;
    for (int i = 0; i < FINDING_COUNT; i++) {
        const char *code = finding_code((enum finding)i);
        assert_int_equal(strlen(code), 4);
        assert_true(code[0] >= 'A' && code[0] <= 'Z');
        assert_int_equal(strspn(code + 1, "0123456789"), 3);
        for (int j = 0; j < i; j++)
            assert_string_not_equal(code, finding_code((enum finding)j));
    }
}

static void a_finding_is_described(void **state)
{
    (void)state;
    assert_string_equal(finding_name(FINDING_DUPLICATE_KEY), "DUPLICATE_KEY");
    assert_string_equal(finding_code(FINDING_DUPLICATE_KEY), "Y002");
    assert_string_equal(finding_sentence(FINDING_DUPLICATE_KEY), "'{}' is given twice here");
    assert_int_equal(finding_severity(FINDING_DUPLICATE_KEY), SEVERITY_ERROR);
    assert_int_equal(finding_severity(FINDING_FIRST_GIVEN_HERE), SEVERITY_NOTE);
    assert_int_equal(finding_blank_count(FINDING_DUPLICATE_KEY), 1);
    assert_int_equal(finding_blank_count(FINDING_WRONG_KIND), 3);
}

/* --- collecting ------------------------------------------------------------------------- */

static void blanks_are_filled_and_severities_counted(void **state)
{
    (void)state;
    const struct source source = {TEXT("a.yaml"), TEXT("")};
    report(&found, FINDING_WRONG_KIND, at(&source, 3, 9, 14), TEXT("35 N·m"), TEXT("torque"),
           TEXT("length"));
    report(&found, FINDING_FIRST_GIVEN_HERE, at(&source, 1, 1, 1), TEXT("x"));
    assert_text(found.first->message, "35 N·m is a torque, but a length is needed here");
    assert_int_equal(found.count_by_severity[SEVERITY_ERROR], 1);
    assert_int_equal(found.count_by_severity[SEVERITY_NOTE], 1);
    assert_false(found.first->is_related);
    assert_true(found.first->next->is_related);
}

static void a_sentence_may_have_no_blank(void **state)
{
    (void)state;
    const struct source source = {TEXT("a.yaml"), TEXT("\xFF")};
    report(&found, FINDING_NOT_UTF8, at(&source, 1, 1, 2));
    assert_text(found.first->message, finding_sentence(FINDING_NOT_UTF8));
    assert_int_equal(finding_blank_count(FINDING_NOT_UTF8), 0);
}

static void findings_are_sorted_and_notes_stay_behind_theirs(void **state)
{
    (void)state;
    const struct source procedure = {TEXT("z.yaml"), TEXT("")};
    const struct source sheet = {TEXT("a.yaml"), TEXT("")};
    diagnostics_sort(&found); /* nothing yet */
    report(&found, FINDING_DUPLICATE_KEY, at(&procedure, 9, 3, 4), TEXT("d"));
    report(&found, FINDING_FIRST_GIVEN_HERE, at(&sheet, 1, 1, 2), TEXT("d note"));
    report(&found, FINDING_YAML_SYNTAX, at(&sheet, 2, 2, 3), TEXT("e"));
    report(&found, FINDING_YAML_SYNTAX, at(&procedure, 2, 8, 9), TEXT("b"));
    report(&found, FINDING_YAML_SYNTAX, at(&procedure, 2, 8, 9), TEXT("c"));
    report(&found, FINDING_YAML_SYNTAX, at(&procedure, 2, 1, 9), TEXT("a"));
    diagnostics_sort(&found);
    const char *const expected[] = {
        "not valid YAML: a",
        "not valid YAML: b",
        "not valid YAML: c",
        "'d' is given twice here",
        "'d note' was first given here",
        "not valid YAML: e",
    };
    const struct diagnostic *each = found.first;
    for (size_t i = 0; i < sizeof expected / sizeof *expected; i++, each = each->next)
        assert_text(each->message, expected[i]);
    assert_null(each);
    report(&found, FINDING_YAML_SYNTAX, at(&sheet, 1, 1, 2), TEXT("after"));
    assert_text((*found.last == NULL ? found.first : NULL)->message, "not valid YAML: a");
}

/* --- writing ------------------------------------------------------------------------------- */

static void the_place_is_shown_under_the_line(void **state)
{
    (void)state;
    const struct source source = {TEXT("oil.yaml"), TEXT("title: Oil\ntitle: Filter\n")};
    report(&found, FINDING_DUPLICATE_KEY, at(&source, 2, 1, 6), TEXT("title"));
    report(&found, FINDING_FIRST_GIVEN_HERE, at(&source, 1, 1, 6), TEXT("title"));
    assert_text(written(), "oil.yaml:2:1: error: 'title' is given twice here [Y002]\n"
                           "    2 | title: Filter\n"
                           "      | ^~~~~\n"
                           "oil.yaml:1:1: note: 'title' was first given here [N900]\n"
                           "    1 | title: Oil\n"
                           "      | ^~~~~\n");
}

static void the_caret_stands_by_display_width(void **state)
{
    (void)state;
    const struct source source = {TEXT("a"), TEXT("\t漢e\u0301: x漢y\r\n")};
    report(&found, FINDING_YAML_SYNTAX, at(&source, 1, 8, 9), TEXT("wide"));
    assert_text(written(), "a:1:8: error: not valid YAML: wide [Y001]\n"
                           "    1 |  漢e\u0301: x漢y\n"
                           "      |        ^~\n");
}

static void a_place_may_have_no_line_or_no_file(void **state)
{
    (void)state;
    const struct source source = {TEXT("a.yaml"), TEXT("one line")};
    report(&found, FINDING_YAML_SYNTAX, ((struct place){0}), TEXT("nowhere"));
    report(&found, FINDING_YAML_SYNTAX, ((struct place){&source, 0, 0, 0, 0}), TEXT("file"));
    report(&found, FINDING_YAML_SYNTAX, at(&source, 7, 3, 3), TEXT("past the end"));
    report(&found, FINDING_YAML_SYNTAX, at(&source, 1, 9, 9), TEXT("at the end"));
    assert_text(written(), "error: not valid YAML: nowhere [Y001]\n"
                           "a.yaml: error: not valid YAML: file [Y001]\n"
                           "a.yaml:7:3: error: not valid YAML: past the end [Y001]\n"
                           "    7 | \n"
                           "      | ^\n"
                           "a.yaml:1:9: error: not valid YAML: at the end [Y001]\n"
                           "    1 | one line\n"
                           "      |         ^\n");
}

static void a_long_line_is_cut_round_the_caret(void **state)
{
    (void)state;
    char line[600];
    for (size_t i = 0; i < sizeof line; i++)
        line[i] = (char)('0' + i % 10);
    const struct source source = {TEXT("a"), {line, sizeof line}};
    const unsigned columns[] = {1, 40, 95, 300, 590, 600};
    for (size_t i = 0; i < sizeof columns / sizeof *columns; i++) {
        diagnostics_begin(&found, &arena);
        unsigned column = columns[i];
        line[column - 1] = '#';
        report(&found, FINDING_YAML_SYNTAX, at(&source, 1, column, column + 1), TEXT("x"));
        struct text rest = written();
        struct text shown;
        struct text carets;
        assert_true(text_cut(&rest, '\n', &shown));
        assert_true(text_cut(&rest, '\n', &shown));
        assert_true(text_cut(&rest, '\n', &carets));
        assert_true(text_width(shown) <= 100);
        struct text before = text_slice(shown, 0, text_find(shown, TEXT("#")));
        assert_true(before.length < shown.length);
        assert_int_equal(text_width(before), text_find(carets, TEXT("^")));
        assert_int_equal(text_find(shown, TEXT("…")) < shown.length, 1);
        line[column - 1] = '0';
    }
}

static void a_cut_through_wide_letters_keeps_the_caret_in_place(void **state)
{
    (void)state;
    for (unsigned column = 1; column < 120; column++) {
        struct page page;
        page_begin(&page, &arena);
        for (unsigned i = 1; i < 120; i++)
            write_text(&page.writer, i == column  ? TEXT("#")
                                     : i % 3 == 0 ? TEXT("a\u0301")
                                                  : TEXT("漢"));
        /* a combining letter is a character too, as places count */
        unsigned characters = column + (column - 1) / 3;
        const struct source source = {TEXT("a"), page_text(&page)};
        diagnostics_begin(&found, &arena);
        report(&found, FINDING_YAML_SYNTAX, at(&source, 1, characters, characters + 1),
               TEXT("x"));
        struct text rest = written();
        struct text shown;
        struct text carets;
        assert_true(text_cut(&rest, '\n', &shown));
        assert_true(text_cut(&rest, '\n', &shown));
        assert_true(text_cut(&rest, '\n', &carets));
        assert_true(text_width(shown) <= 100);
        struct text before = text_slice(shown, 0, text_find(shown, TEXT("#")));
        assert_true(before.length < shown.length);
        assert_int_equal(text_width(before), text_find(carets, TEXT("^")));
    }
}

static void nothing_that_steers_a_terminal_comes_through(void **state)
{
    (void)state;
    const struct source source = {TEXT("a\x1B[2J"),
                                  TEXT("\x1B[31m \xC2\x9B \u202E \xFF\x07 # end")};
    report(&found, FINDING_YAML_SYNTAX, at(&source, 1, 13, 14), TEXT("\x1B]0;\nmine"));
    struct text shown = written();
    assert_int_equal(text_check(shown, NULL), TEXT_SOUND);
    assert_text(shown, "a\uFFFD[2J:1:13: error: not valid YAML: \uFFFD]0; mine [Y001]\n"
                       "    1 | \uFFFD[31m \uFFFD \uFFFD \uFFFD\uFFFD # end\n"
                       "      |             ^\n");
}

static void only_so_many_are_shown_and_the_rest_counted(void **state)
{
    (void)state;
    const struct source source = {TEXT("a"), TEXT("k: v")};
    for (int i = 0; i < DIAGNOSTICS_SHOWN + 7; i++) {
        report(&found, FINDING_DUPLICATE_KEY, at(&source, 1, 1, 2), TEXT("k"));
        report(&found, FINDING_FIRST_GIVEN_HERE, at(&source, 1, 1, 2), TEXT("k"));
    }
    struct text rest = written();
    struct text line = {0};
    unsigned errors = 0;
    unsigned notes = 0;
    while (text_cut(&rest, '\n', &line)) {
        errors += text_starts(line, TEXT("a:1:1: error"));
        notes += text_starts(line, TEXT("a:1:1: note"));
    }
    assert_int_equal(errors, DIAGNOSTICS_SHOWN);
    assert_int_equal(notes, DIAGNOSTICS_SHOWN);
    assert_text(line, "… and 7 more");
}

/* YAML 1.1, section 4.2: CR LF, CR, LF, U+2028 and U+2029 end a line. */
static void a_window_breaks_between_words_and_never_elsewhere(void **state)
{
    (void)state;
    const struct source source = {
        TEXT("folder/procedure.yaml"),
        TEXT("    reading: a long line that goes on beyond what forty columns can hold\n")};
    report(&found, FINDING_DUPLICATE_KEY, at(&source, 1, 5, 12), TEXT("reading"));
    const struct text whole = written();
    struct page page;
    page_begin(&page, &arena);
    diagnostics_write_within(&found, 40, &page.writer, &arena);
    struct text rest = page_text(&page), line;
    assert_text(text_cut(&rest, '\n', &line) ? line : TEXT(""),
                "folder/procedure.yaml:1:5: error:");
    assert_text(text_cut(&rest, '\n', &line) ? line : TEXT(""),
                "    'reading' is given twice here [Y002]");
    while (text_cut(&rest, '\n', &line))
        assert_true(text_width(line) <= 40);
    /* a file, and other programs, get one line for a finding */
    assert_true(text_find(whole, TEXT("'reading' is given twice here [Y002]\n")) ==
                strlen("folder/procedure.yaml:1:5: error: "));
}

static void lines_are_found_as_yaml_counts_them(void **state)
{
    (void)state;
    const struct source source = {TEXT("a"), TEXT("one\r\ntwo\rthree\n\nfive\u2028six\u2029")};
    const char *const lines[] = {"one", "two", "three", "", "five", "six", "", ""};
    for (unsigned i = 0; i < sizeof lines / sizeof *lines; i++)
        assert_text(source_line(&source, i + 1), lines[i]);
}

#define test(function) cmocka_unit_test_setup_teardown(function, begin, end)

int main(void)
{
    const struct CMUnitTest tests[] = {
        test(codes_are_unique_and_have_their_form),
        test(a_finding_is_described),
        test(blanks_are_filled_and_severities_counted),
        test(a_sentence_may_have_no_blank),
        test(findings_are_sorted_and_notes_stay_behind_theirs),
        test(the_place_is_shown_under_the_line),
        test(the_caret_stands_by_display_width),
        test(a_place_may_have_no_line_or_no_file),
        test(a_long_line_is_cut_round_the_caret),
        test(a_cut_through_wide_letters_keeps_the_caret_in_place),
        test(nothing_that_steers_a_terminal_comes_through),
        test(only_so_many_are_shown_and_the_rest_counted),
        test(a_window_breaks_between_words_and_never_elsewhere),
        test(lines_are_found_as_yaml_counts_them),
    };
    return cmocka_run_group_tests_name("base/diagnostic", tests, NULL, NULL);
}

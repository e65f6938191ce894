/* Every fixture says what it says it does, and every finding has one. */
#include "procedures/fixture.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

/* What any test of this program has provoked. */
static bool is_provoked[FINDING_COUNT];

/* Findings that no file by itself can provoke, and the test that does.  The test must name it. */
static const struct {
    enum finding finding;
    const char *test, *reason;
} elsewhere[] = {
    {FINDING_NOTHING_IN_FILE, "tests/procedures/test_fixtures.c", "a fixture is never empty"},
    {FINDING_FILE_TOO_LARGE, "tests/procedures/test_fixtures.c", "too large to be kept"},
    {FINDING_TOO_DEEP, "tests/procedures/test_fixtures.c", "made, not written"},
    {FINDING_TOO_MANY, "tests/procedures/test_fixtures.c", "made, not written"},
};

static void note_provoked(const struct diagnostics *found)
{
    for (const struct diagnostic *at = found->first; at != NULL; at = at->next)
        is_provoked[at->finding] = true;
}

/* --- the files ------------------------------------------------------------------------- */

static void finds_what_the_fixture_says(void **state)
{
    const char *path = *state;
    struct arena arena = arena_open(64 * MEBIBYTE, fixture_out_of_memory);
    struct fixture_shelf shelf = {.arena = &arena};
    struct fixture fixture = fixture_from(*fixture_source(path, &arena), &arena);
    struct diagnostics found;
    diagnostics_begin(&found, &arena);
    fixture_load(&fixture, &shelf, &found, &arena);
    diagnostics_sort(&found);
    note_provoked(&found);
    size_t differences = fixture_compare(&fixture, &found);
    /* A part may be faulty by itself and sound in what follows it. */
    bool is_part = strstr(path, "/parts/") != NULL;
    bool is_faulty = is_part ? fixture.expected_count > 0 : strstr(path, "/faulty/") != NULL;
    /* Most rules of writing only warn. */
    bool has_errors =
        fixture.has_rules ? found.first != NULL : found.count_by_severity[SEVERITY_ERROR] > 0;
    bool is_explained = fixture.explanation.length > 0;
    arena_close(&arena);
    assert_int_equal(differences, 0);
    assert_true(is_explained);
    assert_int_equal(has_errors, is_faulty);
}

static size_t add_folder(const char *folder, struct CMUnitTest *tests, size_t room,
                         struct arena *arena)
{
    size_t count;
    const struct text *names = fixture_names(folder, ".yaml", arena, &count);
    if (count == 0 || count > room)
        fixture_out_of_memory(count);
    for (size_t i = 0; i < count; i++) {
        struct text path = text_fill(arena, "{}{}", text_from(folder), names[i]);
        char *terminated = arena_array(arena, char, path.length + 1);
        memcpy(terminated, path.bytes, path.length);
        tests[i] = (struct CMUnitTest){.name = terminated,
                                       .test_func = finds_what_the_fixture_says,
                                       .initial_state = terminated};
    }
    return count;
}

/* --- files that are made --------------------------------------------------------------------- */

/* Loads bytes as a procedure and wants exactly this first finding, or none. */
static void wants_first(struct text bytes, enum finding wanted, unsigned line)
{
    struct arena arena = arena_open(256 * MEBIBYTE, fixture_out_of_memory);
    struct fixture_shelf shelf = {.arena = &arena};
    struct fixture fixture = {.source = {TEXT("made.yaml"), bytes}};
    struct diagnostics found;
    diagnostics_begin(&found, &arena);
    fixture_load(&fixture, &shelf, &found, &arena);
    note_provoked(&found);
    enum finding first = found.first == NULL ? FINDING_COUNT : found.first->finding;
    unsigned found_line = found.first == NULL ? 0 : found.first->place.line;
    arena_close(&arena);
    if (wanted != first)
        print_error("wanted %s, found %s\n",
                    wanted == FINDING_COUNT ? "nothing" : finding_name(wanted),
                    first == FINDING_COUNT ? "nothing" : finding_name(first));
    assert_int_equal(first, wanted);
    if (wanted != FINDING_COUNT)
        assert_int_equal(found_line, line);
}

static const char small[] = "procedure: small\n"
                            "title: Small\n"
                            "revision: 1\n"
                            "about: The least that is a procedure.\n"
                            "steps:\n"
                            "  - step: look\n"
                            "    do: Look at it.\n";

static void an_empty_file_holds_nothing(void **state)
{
    (void)state;
    wants_first(TEXT(""), FINDING_NOTHING_IN_FILE, 1);
    wants_first(TEXT("\n\n"), FINDING_NOTHING_IN_FILE, 1);
    wants_first(TEXT("# only a comment\n"), FINDING_NOTHING_IN_FILE, 1);
}

static void a_byte_order_mark_is_passed_over(void **state)
{
    (void)state;
    char bytes[sizeof small + 3];
    memcpy(bytes, "\xEF\xBB\xBF", 3);
    memcpy(bytes + 3, small, sizeof small);
    wants_first((struct text){bytes, sizeof small + 2}, FINDING_COUNT, 0);
}

static void utf_16_is_not_utf_8(void **state)
{
    (void)state;
    wants_first(TEXT("\xFF\xFE"
                     "p\0r\0o\0"),
                FINDING_NOT_UTF8, 1);
}

static void a_nul_is_a_control_character(void **state)
{
    (void)state;
    wants_first(TEXT("procedure: a\0b\n"), FINDING_CONTROL_CHARACTER, 1);
    wants_first(TEXT("# harmless\nprocedure: a\x1B[2J\n"), FINDING_CONTROL_CHARACTER, 2);
    wants_first(TEXT("# harmless\n# \x7F\n"), FINDING_CONTROL_CHARACTER, 2);
}

static void ten_thousand_brackets_are_too_deep(void **state)
{
    (void)state;
    static char bytes[20020];
    const char start[] = "procedure: ";
    size_t length = strlen(start);
    memcpy(bytes, start, length);
    memset(bytes + length, '[', 10000);
    wants_first((struct text){bytes, length + 10000}, FINDING_TOO_DEEP, 1);
    memset(bytes + length + 10000, ']', 10000);
    bytes[length + 20000] = '\n';
    wants_first((struct text){bytes, length + 20001}, FINDING_TOO_DEEP, 1);
}

static void ten_mebibytes_are_too_large(void **state)
{
    (void)state;
    size_t length = 10 * MEBIBYTE;
    char *bytes = malloc(length);
    assert_non_null(bytes);
    memset(bytes, '#', length);
    memcpy(bytes, small, sizeof small - 1);
    wants_first((struct text){bytes, length}, FINDING_FILE_TOO_LARGE, 1);
    free(bytes);
}

static void thousands_of_conditions_are_too_many(void **state)
{
    (void)state;
    struct arena arena = arena_open(16 * MEBIBYTE, fixture_out_of_memory);
    enum { CONDITIONS = 5000 };
    char *bytes = arena_array(&arena, char, sizeof small + 40 * CONDITIONS);
    size_t length = sizeof small - 1;
    memcpy(bytes, small, length);
    length += (size_t)snprintf(bytes + length, 40, "conditions:\n");
    for (int i = 0; i < CONDITIONS; i++)
        length += (size_t)snprintf(bytes + length, 40, "  c%d: {restore: Undo it.}\n", i);
    struct text whole = {bytes, length};
    struct fixture_shelf shelf = {.arena = &arena};
    struct fixture fixture = {.source = {TEXT("made.yaml"), whole}};
    struct arena room = arena_open(256 * MEBIBYTE, fixture_out_of_memory);
    struct diagnostics found;
    diagnostics_begin(&found, &room);
    fixture_load(&fixture, &shelf, &found, &room);
    note_provoked(&found);
    bool is_refused = false;
    for (const struct diagnostic *at = found.first; at != NULL; at = at->next)
        is_refused = is_refused || at->finding == FINDING_TOO_MANY;
    arena_close(&room);
    arena_close(&arena);
    assert_true(is_refused);
}

/* How many errors there are in the first bytes of a file. */
static unsigned errors_in(struct text bytes, struct arena *arena)
{
    struct arena_mark mark = arena_mark(arena);
    struct fixture_shelf shelf = {.arena = arena};
    struct fixture fixture = {.source = {TEXT("cut.yaml"), bytes}, .has_rules = true};
    struct diagnostics found;
    diagnostics_begin(&found, arena);
    fixture_load(&fixture, &shelf, &found, arena);
    diagnostics_sort(&found);
    struct page page;
    page_begin(&page, arena);
    diagnostics_write(&found, &page.writer, arena);
    unsigned errors = found.count_by_severity[SEVERITY_ERROR];
    arena_rewind(arena, mark);
    return errors;
}

/* As a disk that filled up leaves it. */
static void a_file_cut_short_wants_what_is_missing(void **state)
{
    (void)state;
    struct arena arena = arena_open(64 * MEBIBYTE, fixture_out_of_memory);
    for (size_t length = 0; length < sizeof small; length++) {
        bool has_all_keys = length > sizeof small - sizeof "Look at it.\n";
        assert_int_equal(errors_in((struct text){small, length}, &arena) > 0, !has_all_keys);
    }
    arena_close(&arena);
}

/* Whatever it says, it says it and comes back; that is the test. */
static void every_fixture_cut_anywhere_is_read_to_its_end(void **state)
{
    (void)state;
    enum { STRIDE = 7 };
    static const char *const folders[] = {"tests/procedures/sound/",
                                          "tests/procedures/faulty/"};
    struct arena arena = arena_open(64 * MEBIBYTE, fixture_out_of_memory);
    unsigned cuts_with_errors = 0;
    for (size_t f = 0; f < 2; f++) {
        size_t count;
        const struct text *names = fixture_names(folders[f], ".yaml", &arena, &count);
        for (size_t i = 0; i < count; i++) {
            struct text path = text_fill(&arena, "{}{}", text_from(folders[f]), names[i]);
            struct text bytes = fixture_source(text_terminated(&arena, path), &arena)->bytes;
            for (size_t length = i % STRIDE; length < bytes.length; length += STRIDE)
                cuts_with_errors += errors_in(text_slice(bytes, 0, length), &arena) > 0;
        }
    }
    arena_close(&arena);
    assert_true(cuts_with_errors > 1000);
}

/* --- every finding --------------------------------------------------------------------------- */

static bool is_named_in(const char *path, enum finding finding, struct arena *arena)
{
    struct text bytes = fixture_source(path, arena)->bytes;
    struct text name = text_fill(arena, "FINDING_{}", text_from(finding_name(finding)));
    return text_find(bytes, name) < bytes.length ||
           text_find(bytes, text_from(finding_code(finding))) < bytes.length;
}

/* What is found after loading is provoked where that is tested: proofs (V), answers (A). */
static const struct {
    char letter;
    const char *folder;
} later[] = {
    {'V', "tests/verify/"},   {'V', "tests/verify/faulty/"}, {'A', "tests/conversation/"},
    {'A', "tests/terminal/"}, {'A', "tests/command/"},       {'A', "tests/sessions/"},
};

static bool is_named_under(const char *folder, enum finding finding, struct arena *arena)
{
    static const char *const endings[] = {".yaml", ".c", ".sh", ".py", ".script"};
    for (size_t e = 0; e < sizeof endings / sizeof *endings; e++) {
        size_t count;
        const struct text *names = fixture_names(folder, endings[e], arena, &count);
        for (size_t i = 0; i < count; i++) {
            struct text path = text_fill(arena, "{}{}", text_from(folder), names[i]);
            if (is_named_in(text_terminated(arena, path), finding, arena))
                return true;
        }
    }
    return false;
}

static bool is_provoked_elsewhere(enum finding finding, struct arena *arena)
{
    for (size_t i = 0; i < sizeof later / sizeof *later; i++)
        if (finding_code(finding)[0] == later[i].letter &&
            is_named_under(later[i].folder, finding, arena))
            return true;
    for (size_t i = 0; i < sizeof elsewhere / sizeof *elsewhere; i++)
        if (elsewhere[i].finding == finding)
            return is_named_in(elsewhere[i].test, finding, arena);
    return false;
}

static void every_finding_is_provoked(void **state)
{
    (void)state;
    struct arena arena = arena_open(64 * MEBIBYTE, fixture_out_of_memory);
    unsigned missing = 0;
    for (unsigned i = 0; i < FINDING_COUNT; i++) {
        enum finding finding = (enum finding)i;
        if (is_provoked[finding] || is_provoked_elsewhere(finding, &arena))
            continue;
        print_error("no fixture provokes %s %s: %s\n", finding_code(finding),
                    finding_name(finding), finding_sentence(finding));
        missing++;
    }
    arena_close(&arena);
    assert_int_equal(missing, 0);
}

int main(int argc, char **argv)
{
    enum { TESTS_MAX = 1000 };
    struct arena arena = arena_open(16 * MEBIBYTE, fixture_out_of_memory);
    struct CMUnitTest *tests = arena_array(&arena, struct CMUnitTest, TESTS_MAX);
    if (argc > 1) { /* some files only */
        for (int i = 1; i < argc; i++)
            tests[i - 1] = (struct CMUnitTest){.name = argv[i],
                                               .test_func = finds_what_the_fixture_says,
                                               .initial_state = argv[i]};
        return _cmocka_run_group_tests("fixtures", tests, (size_t)argc - 1, NULL, NULL);
    }
    static const struct CMUnitTest made[] = {
        cmocka_unit_test(an_empty_file_holds_nothing),
        cmocka_unit_test(a_byte_order_mark_is_passed_over),
        cmocka_unit_test(utf_16_is_not_utf_8),
        cmocka_unit_test(a_nul_is_a_control_character),
        cmocka_unit_test(ten_thousand_brackets_are_too_deep),
        cmocka_unit_test(ten_mebibytes_are_too_large),
        cmocka_unit_test(thousands_of_conditions_are_too_many),
        cmocka_unit_test(a_file_cut_short_wants_what_is_missing),
        cmocka_unit_test(every_fixture_cut_anywhere_is_read_to_its_end),
        cmocka_unit_test(every_finding_is_provoked),
    };
    static const char *const folders[] = {FIXTURE_PARTS, "tests/procedures/sound/",
                                          "tests/procedures/faulty/"};
    size_t count = 0;
    for (size_t i = 0; i < 3; i++)
        count += add_folder(folders[i], tests + count, TESTS_MAX - 20 - count, &arena);
    for (size_t i = 0; i < sizeof made / sizeof *made; i++)
        tests[count++] = made[i];
    return _cmocka_run_group_tests("fixtures", tests, count, NULL, NULL);
}

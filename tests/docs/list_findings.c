/*
 * Writes docs/diagnostics.md: every finding, and a fixture that shows it.
 *
 *     list_findings              the whole file, to standard output
 *     list_findings --check FILE is that file up to date?
 */
#include "procedures/fixture.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static const struct {
    char letter;
    const char *title;
} chapters[] = {
    {'Y', "the YAML itself"},
    {'P', "the shape of a file"},
    {'N', "names"},
    {'Q', "quantities and units"},
    {'E', "expressions"},
    {'M', "a machine sheet or a gauge against a procedure"},
    {'S', "the safety library"},
    {'V', "the proof"},
    {'W', "the rules of writing"},
    {'A', "an answers file against the session it answers"},
};

/* Where fixtures lie, and the tests that provoke what no fixture can. */
static const char *const fixture_folders[] = {"tests/procedures/faulty/",
                                              "tests/verify/faulty/"};
static const char *const test_folders[] = {"tests/procedures/",   "tests/verify/",
                                           "tests/conversation/", "tests/terminal/",
                                           "tests/command/",      "tests/expression/"};

enum { FIXTURES_MAX = 1000, SHOWN_LENGTH = 160 };
struct fixtures {
    struct fixture items[FIXTURES_MAX];
    size_t count;
};

static void read_fixtures(struct fixtures *fixtures, struct arena *arena)
{
    for (size_t f = 0; f < sizeof fixture_folders / sizeof *fixture_folders; f++) {
        size_t count;
        const struct text *names = fixture_names(fixture_folders[f], ".yaml", arena, &count);
        for (size_t i = 0; i < count && fixtures->count < FIXTURES_MAX; i++) {
            struct text path =
                text_fill(arena, "{}{}", text_from(fixture_folders[f]), names[i]);
            fixtures->items[fixtures->count++] =
                fixture_from(*fixture_source(text_terminated(arena, path), arena), arena);
        }
    }
}

/* The fixture with the fewest other expectations shows a code best. */
static const struct expectation *best_fixture(const struct fixtures *fixtures, struct text code,
                                              const struct fixture **best)
{
    const struct expectation *shown = NULL;
    *best = NULL;
    for (size_t i = 0; i < fixtures->count; i++) {
        const struct fixture *fixture = &fixtures->items[i];
        if (*best != NULL && (*best)->expected_count <= fixture->expected_count)
            continue;
        for (size_t e = 0; e < fixture->expected_count; e++)
            if (text_equal(fixture->expected[e].code, code)) {
                *best = fixture;
                shown = &fixture->expected[e];
                break;
            }
    }
    return shown;
}

static void show_line(struct writer *writer, const struct fixture *fixture,
                      const struct expectation *expected, struct arena *arena)
{
    struct text line = source_line(&fixture->source, expected->line);
    line = text_slice(line, 0, text_find(line, TEXT("# expect")));
    line = text_trim(line);
    if (expected->file.length > 0 || line.length == 0 || line.length > SHOWN_LENGTH ||
        text_check(line, NULL) != TEXT_SOUND)
        return;
    write_fill(writer, arena, "\n```yaml\n{}\n```\n", line);
}

/* The test program that names the finding, if no fixture shows it. */
static struct text test_of(enum finding finding, struct arena *arena)
{
    struct text name = text_fill(arena, "FINDING_{}", text_from(finding_name(finding)));
    for (size_t f = 0; f < sizeof test_folders / sizeof *test_folders; f++) {
        size_t count;
        const struct text *names = fixture_names(test_folders[f], ".c", arena, &count);
        for (size_t i = 0; i < count; i++) {
            struct text path = text_fill(arena, "{}{}", text_from(test_folders[f]), names[i]);
            struct text bytes = fixture_source(text_terminated(arena, path), arena)->bytes;
            if (text_find(bytes, name) < bytes.length)
                return path;
        }
    }
    return TEXT("");
}

static void write_finding(struct writer *writer, enum finding finding,
                          const struct fixtures *fixtures, struct arena *arena)
{
    static const char *const severities[] = {
        [SEVERITY_NOTE] = "note", [SEVERITY_WARNING] = "warning", [SEVERITY_ERROR] = "error"};
    struct text code = text_from(finding_code(finding));
    write_fill(writer, arena, "\n### {}\n\n{}: `{}`\n", code,
               text_from(severities[finding_severity(finding)]),
               text_from(finding_sentence(finding)));
    const struct fixture *fixture;
    const struct expectation *shown = best_fixture(fixtures, code, &fixture);
    if (shown != NULL) {
        write_fill(writer, arena, "\n{} ([example](../{}), line {})\n", fixture->explanation,
                   fixture->source.path, text_number(arena, (long long)shown->line));
        show_line(writer, fixture, shown, arena);
        return;
    }
    struct text test = test_of(finding, arena);
    if (test.length > 0)
        write_fill(writer, arena, "\nShown by a test: [{}](../{})\n", test, test);
}

static void write_document(struct writer *writer, struct arena *arena)
{
    static struct fixtures fixtures;
    read_fixtures(&fixtures, arena);
    write_text(writer,
               TEXT("# Diagnostics\n\n"
                    "Everything `banksman check` can say about a file. An error means that the "
                    "file cannot be used;\na warning, that it probably does not say what you "
                    "mean; a note belongs to the finding before it.\n`{}` stands for a word of "
                    "your file. Codes never change their meaning.\n\n"
                    "This page is generated: `make docs`. The examples are fixtures of the "
                    "tests, so each is known\nto provoke what it shows.\n"));
    for (size_t c = 0; c < sizeof chapters / sizeof *chapters; c++) {
        char letter[2] = {chapters[c].letter, '\0'};
        bool is_begun = false;
        for (unsigned number = 0; number < 1000; number++) {
            char code[5];
            snprintf(code, sizeof code, "%c%03u", chapters[c].letter, number);
            enum finding finding = fixture_finding(text_from(code));
            if (finding == FINDING_COUNT)
                continue;
            if (!is_begun)
                write_fill(writer, arena, "\n## {}: {}\n", text_from(letter),
                           text_from(chapters[c].title));
            is_begun = true;
            write_finding(writer, finding, &fixtures, arena);
        }
    }
}

static bool is_up_to_date(struct text wanted, struct text got, const char *path)
{
    unsigned line = 0;
    while (wanted.length > 0 || got.length > 0) {
        struct text a = TEXT(""), b = TEXT("");
        bool has_a = text_cut(&wanted, '\n', &a);
        bool has_b = text_cut(&got, '\n', &b);
        line++;
        if (has_a != has_b || !text_equal(a, b)) {
            fprintf(stderr, "%s:%u: not up to date; run: make docs\n", path, line);
            return false;
        }
    }
    return true;
}

int main(int argc, char **argv)
{
    struct arena arena = arena_open(64 * MEBIBYTE, fixture_out_of_memory);
    struct page page;
    page_begin(&page, &arena);
    write_document(&page.writer, &arena);
    struct text document = page_text(&page);
    if (argc == 3 && strcmp(argv[1], "--check") == 0)
        return is_up_to_date(document, fixture_source(argv[2], &arena)->bytes, argv[2]) ? 0 : 1;
    if (argc != 1) {
        fprintf(stderr, "list_findings [--check FILE]\n");
        return 2;
    }
    return fwrite(document.bytes, 1, document.length, stdout) == document.length ? 0 : 3;
}

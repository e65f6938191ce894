/*
 * The examples of docs/procedure-format.md are what they say they are.
 *
 * A block marked `yaml procedure`, `yaml machine`, ... is a whole file that loads without a
 * finding, and is written as the rules of writing want it.  One marked `yaml faulty` carries its expectations, as a fixture does.  One marked
 * `yaml` alone is a piece of a file and is not looked at.  The first `yaml safety` is the library
 * of all others, and procedures may follow each other.
 */
#include "procedures/fixture.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>

#include <cmocka.h>

#define DOCUMENT "docs/procedure-format.md"

enum { BLOCKS_MAX = 100 };
struct block {
    struct text form; /* "procedure" */
    unsigned line;    /* of the fence */
    struct source source;
};
struct blocks {
    struct block items[BLOCKS_MAX];
    size_t count;
};

static struct blocks read_blocks(struct arena *arena)
{
    static const struct text fence = {"```", 3};
    struct blocks blocks = {.count = 0};
    struct text rest = fixture_source(DOCUMENT, arena)->bytes;
    struct text whole = rest;
    unsigned number = 0;
    bool is_open = false;
    size_t start = 0;
    for (struct text line; text_cut(&rest, '\n', &line);) {
        number++;
        if (!text_starts(line, fence))
            continue;
        struct block *block = &blocks.items[blocks.count];
        is_open = !is_open;
        if (is_open) {
            struct text info = text_slice(line, fence.length, line.length);
            struct text language;
            text_cut(&info, ' ', &language);
            *block = (struct block){.form = text_trim(info), .line = number};
            start = whole.length - rest.length;
        } else if (block->form.length > 0) {
            size_t end = (size_t)(line.bytes - whole.bytes);
            block->source.bytes = text_slice(whole, start, end);
            block->source.path = text_fill(arena, DOCUMENT " (block at line {})",
                                           text_number(arena, block->line));
            blocks.count++;
            assert_true(blocks.count < BLOCKS_MAX);
        }
    }
    assert_false(is_open);
    return blocks;
}

/* The name behind `procedure: ` in the block's first such line. */
static struct text procedure_name(const struct block *block)
{
    struct text rest = block->source.bytes;
    for (struct text line; text_cut(&rest, '\n', &line);) {
        struct text key;
        if (text_starts(line, TEXT("procedure: ")) && text_cut(&line, ' ', &key))
            return text_trim(line);
    }
    return TEXT("");
}

static struct fixture_shelf shelf_of(const struct blocks *blocks, struct arena *arena)
{
    const struct source **own = arena_array(arena, const struct source *, BLOCKS_MAX);
    struct text *names = arena_array(arena, struct text, BLOCKS_MAX);
    struct fixture_shelf shelf = {.arena = arena, .own = own, .own_names = names};
    for (size_t i = 0; i < blocks->count; i++) {
        const struct block *block = &blocks->items[i];
        if (shelf.library == NULL && text_equal(block->form, TEXT("safety")))
            shelf.library = &block->source;
        if (text_equal(block->form, TEXT("procedure"))) {
            own[shelf.own_count] = &block->source;
            names[shelf.own_count++] = procedure_name(block);
        }
    }
    assert_non_null(shelf.library);
    return shelf;
}

static const struct {
    const char *word;
    enum file_form form;
} forms[] = {{"procedure", FORM_PROCEDURE},
             {"machine", FORM_MACHINE},
             {"safety", FORM_SAFETY},
             {"gauges", FORM_GAUGES},
             {"answers", FORM_ANSWERS}};

static bool is_of_its_form(const struct block *block, struct arena *arena)
{
    if (text_equal(block->form, TEXT("faulty")))
        return true;
    for (size_t i = 0; i < sizeof forms / sizeof *forms; i++)
        if (text_equal(block->form, text_from(forms[i].word)))
            return file_form(&block->source, arena) == forms[i].form;
    return false;
}

static void every_example_is_what_it_says(void **state)
{
    (void)state;
    struct arena arena = arena_open(256 * MEBIBYTE, fixture_out_of_memory);
    struct blocks blocks = read_blocks(&arena);
    struct fixture_shelf shelf = shelf_of(&blocks, &arena);
    size_t differences = 0;
    for (size_t i = 0; i < blocks.count; i++) {
        const struct block *block = &blocks.items[i];
        struct fixture fixture = fixture_from(block->source, &arena);
        fixture.has_rules = true;
        fixture.is_alone = shelf.library->bytes.bytes == block->source.bytes.bytes;
        struct diagnostics found;
        diagnostics_begin(&found, &arena);
        fixture_load(&fixture, &shelf, &found, &arena);
        diagnostics_sort(&found);
        size_t more = fixture_compare(&fixture, &found);
        bool is_faulty = text_equal(block->form, TEXT("faulty"));
        if (!is_of_its_form(block, &arena) || (fixture.expected_count > 0) != is_faulty)
            more++;
        if (more > 0)
            print_error("the block at line %u is not what it says\n", block->line);
        differences += more;
    }
    size_t count = blocks.count;
    arena_close(&arena);
    assert_int_equal(differences, 0);
    assert_true(count >= 10);
}

/* Each form of file is shown whole at least once. */
static void every_form_has_an_example(void **state)
{
    (void)state;
    struct arena arena = arena_open(64 * MEBIBYTE, fixture_out_of_memory);
    struct blocks blocks = read_blocks(&arena);
    for (size_t f = 0; f < sizeof forms / sizeof *forms; f++) {
        bool is_shown = false;
        for (size_t i = 0; i < blocks.count; i++)
            is_shown = is_shown || text_equal(blocks.items[i].form, text_from(forms[f].word));
        if (!is_shown)
            print_error("no whole example of a file of the form %s\n", forms[f].word);
        assert_true(is_shown);
    }
    arena_close(&arena);
}

/* Every key the loader reads is in the document, between backquotes. */
static void every_key_is_explained(void **state)
{
    (void)state;
    struct arena arena = arena_open(64 * MEBIBYTE, fixture_out_of_memory);
    struct text document = fixture_source(DOCUMENT, &arena)->bytes;
    unsigned missing = 0;
    struct key_row row;
    for (size_t i = 0; key_row_at(i, &row); i++) {
        struct text quoted = text_fill(&arena, "`{}`", text_from(row.key));
        if (text_find(document, quoted) < document.length)
            continue;
        print_error(DOCUMENT " says nothing of '%s' (%s)\n", row.key, row.map);
        missing++;
    }
    arena_close(&arena);
    assert_int_equal(missing, 0);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(every_example_is_what_it_says),
        cmocka_unit_test(every_form_has_an_example),
        cmocka_unit_test(every_key_is_explained),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}

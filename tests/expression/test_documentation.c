/* Runs the examples of docs/expressions.md and compares its lists with the tables of the program.
 * Runs from the root of the repository, as all tests do. */
#include "world.h"

#include <stdio.h>

static struct text document(struct arena *arena)
{
    enum { LARGEST = 256 * 1024 };
    char *bytes = arena_array(arena, char, LARGEST);
    FILE *file = fopen("docs/expressions.md", "rb");
    assert_non_null(file);
    size_t length = fread(bytes, 1, LARGEST, file);
    (void)fclose(file);
    assert_in_range(length, 1, LARGEST - 1);
    return (struct text){bytes, length};
}

typedef void example_fn(struct world *world, struct text expression, struct text expected);

/* Calls `run` for every pair of lines in the boxes named `box`; says how many there were. */
static size_t each_example(struct world *world, struct text box, example_fn *run)
{
    struct text rest = document(&world->arena), line, expression = {0};
    bool is_inside = false;
    size_t count = 0;
    while (text_cut(&rest, '\n', &line)) {
        if (text_starts(line, TEXT("```"))) {
            is_inside = !is_inside && text_equal(text_slice(line, 3, line.length), box);
            assert_int_equal(expression.length, 0);
        } else if (is_inside && text_starts(line, TEXT("→ "))) {
            assert_true(expression.length > 0);
            run(world, expression, text_slice(line, sizeof("→ ") - 1, line.length));
            expression = (struct text){0};
            count++;
        } else if (is_inside) {
            assert_int_equal(expression.length, 0); /* the one before had no answer */
            expression = line;
        }
    }
    assert_false(is_inside);
    return count;
}

static struct text with_spaces(struct arena *arena, struct text shown)
{
    struct text parts[8], space = TEXT("\u00a0");
    size_t count = 0;
    for (;;) {
        size_t at = text_find(shown, space);
        assert_true(count < 8);
        parts[count++] = text_slice(shown, 0, at);
        if (at == shown.length)
            break;
        shown = text_slice(shown, at + space.length, shown.length);
    }
    return text_join(arena, parts, count, TEXT(" "));
}

static void compare(struct world *world, struct text expression, struct text got,
                    struct text expected)
{
    if (world->found.first != NULL)
        got = text_fill(&world->arena, "error: {}",
                        text_from(finding_code(world->found.first->finding)));
    if (!text_equal(got, expected))
        fail_msg("%.*s: '%.*s', not '%.*s'", (int)expression.length, expression.bytes,
                 (int)got.length, got.bytes, (int)expected.length, expected.bytes);
}

static void run_calc(struct world *world, struct text expression, struct text expected)
{
    diagnostics_begin(&world->found, &world->arena);
    struct source source = {TEXT("calc"), expression};
    struct text got =
        expression_calculate(expression, &source, &world->found, &world->arena).shown;
    compare(world, expression, with_spaces(&world->arena, got), expected);
}

static void run_engine(struct world *world, struct text expression, struct text expected)
{
    diagnostics_begin(&world->found, &world->arena);
    const struct expression *compiled =
        world_compile(world, text_terminated(&world->arena, expression));
    struct text got = TEXT("");
    if (compiled != NULL) {
        struct value value = expression_evaluate(compiled, &world->around, &world->arena);
        assert_false(value.items[0].is_missing);
        if (value.type.base == TYPE_TEXT)
            got = value.items[0].text;
        else
            got = value.items[0].truth ? TEXT("true") : TEXT("false");
    }
    compare(world, expression, got, expected);
}

static void every_example_gives_the_answer_printed(void **state)
{
    (void)state;
    struct world *world = world_open();
    world->elapsed = 90;
    assert_true(each_example(world, TEXT("calc"), run_calc) >= 50);
    assert_true(each_example(world, TEXT("engine"), run_engine) >= 10);
    world_close(world);
}

static bool used[FUNCTION_COUNT];

static bool is_in_word(char byte)
{
    return (byte >= 'a' && byte <= 'z') || byte == '_';
}

static void note_functions(struct world *world, struct text expression, struct text expected)
{
    if (text_starts(expected, TEXT("error")))
        return;
    for (int i = 0; i < FUNCTION_COUNT; i++) {
        struct text call =
            text_fill(&world->arena, "{}(", text_from(function_name((enum function)i)));
        size_t at = text_find(expression, call);
        if (at < expression.length && (at == 0 || !is_in_word(expression.bytes[at - 1])))
            used[i] = true;
    }
}

static void every_function_has_an_example(void **state)
{
    (void)state;
    struct world *world = world_open();
    memset(used, 0, sizeof used);
    (void)each_example(world, TEXT("calc"), note_functions);
    (void)each_example(world, TEXT("engine"), note_functions);
    for (int i = 0; i < FUNCTION_COUNT; i++)
        if (!used[i])
            fail_msg("%s has no example", function_name((enum function)i));
    world_close(world);
}

static bool can_be_written(struct text spelling)
{
    bool is_digit = spelling.bytes[0] >= '0' && spelling.bytes[0] <= '9';
    return !is_digit && text_find(spelling, TEXT("*")) == spelling.length &&
           text_find(spelling, TEXT("-")) == spelling.length;
}

static struct text unit_row(struct arena *arena, const struct unit *unit,
                            const struct text *spellings, size_t count)
{
    struct text written = TEXT("");
    for (size_t i = 0; i < count; i++)
        if (can_be_written(spellings[i]))
            written = text_fill(arena, "{}`{}` ", written, spellings[i]);
    return text_fill(arena, "\n| {} | {}| {} |\n", unit->symbol, written,
                     kind_name(arena, unit->kind));
}

static void every_unit_has_its_row(void **state)
{
    (void)state;
    struct world *world = world_open();
    struct text whole = document(&world->arena), line;
    const struct unit *unit;
    const struct text *spellings;
    size_t count, rows = 0, units = 0;
    for (size_t i = 0; unit_at(i, &unit, &spellings, &count); i++) {
        if (text_equal(unit->symbol, unit_one.symbol))
            continue;
        struct text row = unit_row(&world->arena, unit, spellings, count);
        if (text_find(whole, row) == whole.length)
            fail_msg("the list of units lacks this row:%.*s", (int)row.length, row.bytes);
        units++;
    }
    struct text rest =
        text_slice(whole, text_find(whole, TEXT("| shown | written | kind |")), whole.length);
    while (text_cut(&rest, '\n', &line))
        rows += text_starts(line, TEXT("| ")) ? 1U : 0U;
    assert_int_equal(rows, units + 2); /* the heading has two */
    world_close(world);
}

static void every_spelling_listed_is_read(void **state)
{
    (void)state;
    struct world *world = world_open();
    const struct unit *unit;
    const struct text *spellings;
    size_t count;
    for (size_t i = 0; unit_at(i, &unit, &spellings, &count); i++)
        for (size_t j = 0; j < count; j++) {
            if (!can_be_written(spellings[j]))
                continue;
            struct text written = text_fill(&world->arena, "3 {}", spellings[j]);
            const struct expression *expression =
                world_compile(world, text_terminated(&world->arena, written));
            assert_non_null(expression);
            assert_ptr_equal(expression->root->unit, unit);
        }
    world_close(world);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(every_example_gives_the_answer_printed),
        cmocka_unit_test(every_function_has_an_example),
        cmocka_unit_test(every_unit_has_its_row),
        cmocka_unit_test(every_spelling_listed_is_read),
    };
    return cmocka_run_group_tests_name("expression/documentation", tests, NULL, NULL);
}

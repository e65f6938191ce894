#include "procedure/loaded.h"
#include "procedure/yaml_tree.h"

struct read {
    struct arena arena;
    struct diagnostics found;
    struct source source;
    const struct yaml_node *root;
};

static struct read *read_bytes(struct text bytes)
{
    static struct read read;
    read = (struct read){.arena = arena_open(16 * MEBIBYTE, out_of_memory)};
    diagnostics_begin(&read.found, &read.arena);
    read.source = (struct source){TEXT("tree.yaml"), bytes};
    read.root = yaml_read(&read.source, &read.found, &read.arena);
    return &read;
}

static void assert_place(struct place place, unsigned line, unsigned column)
{
    assert_int_equal(place.line, line);
    assert_int_equal(place.column, column);
}

/* The only finding is this one, there. */
static void wants(struct text bytes, enum finding finding, unsigned line, unsigned column)
{
    struct read *read = read_bytes(bytes);
    assert_non_null(read->found.first);
    if (read->found.first->finding != finding)
        print_error("found %s\n", finding_name(read->found.first->finding));
    assert_int_equal(read->found.first->finding, finding);
    assert_place(read->found.first->place, line, column);
    assert_int_equal(read->found.count_by_severity[SEVERITY_ERROR], 1);
    arena_close(&read->arena);
}

static void texts_lists_and_maps_have_their_places(void **state)
{
    (void)state;
    struct read *read = read_bytes(TEXT("a: b c\nlist:\n  - x\n  - 'y'\nmap: {k: v}\n"));
    const struct yaml_node *root = read->root;
    assert_int_equal(root->shape, SHAPE_MAP);
    assert_int_equal(root->count, 3);
    assert_place(root->place, 1, 1);
    const struct yaml_node *a = yaml_find(root, TEXT("a"));
    assert_text(a->text, "b c");
    assert_place(a->place, 1, 4);
    assert_int_equal(a->place.end_column, 7);
    const struct yaml_node *list = yaml_find(root, TEXT("list"));
    assert_int_equal(list->count, 2);
    assert_place(list->first->place, 3, 5);
    assert_true(list->first->next->is_quoted);
    assert_place(list->first->next->place, 4, 5);
    const struct yaml_node *map = yaml_find(root, TEXT("map"));
    assert_place(map->place, 5, 6);
    assert_place(yaml_find(map, TEXT("k"))->place, 5, 10);
    arena_close(&read->arena);
}

static void a_part_of_a_quoted_text_stands_behind_the_quote(void **state)
{
    (void)state;
    struct read *read = read_bytes(TEXT("a: \"bcd\"\n"));
    struct place place = yaml_place_in(yaml_find(read->root, TEXT("a")), 1, 3);
    assert_place(place, 1, 6);
    assert_int_equal(place.end_column, 8);
    arena_close(&read->arena);
}

static void columns_count_characters(void **state)
{
    (void)state;
    struct read *read = read_bytes(TEXT("a: [\xC3\xA9\xC3\xA9, x]\n"));
    assert_place(yaml_find(read->root, TEXT("a"))->first->next->place, 1, 9);
    arena_close(&read->arena);
}

static void a_text_with_escapes_is_one_place(void **state)
{
    (void)state;
    struct read *read = read_bytes(TEXT("a: \"b\\tcd\"\nf: >\n  one\n  two\n"));
    const struct yaml_node *a = yaml_find(read->root, TEXT("a"));
    assert_false(yaml_is_verbatim(a));
    assert_place(yaml_place_in(a, 2, 3), 1, 4);
    const struct yaml_node *folded = yaml_find(read->root, TEXT("f"));
    assert_text(folded->text, "one two");
    assert_place(yaml_place_in(folded, 4, 7), 2, 4);
    arena_close(&read->arena);
}

static void texts_are_normalised(void **state)
{
    (void)state;
    struct read *read = read_bytes(TEXT("a: e\xCC\x81\n")); /* e, combining acute */
    assert_text(yaml_find(read->root, TEXT("a"))->text, "\xC3\xA9");
    arena_close(&read->arena);
}

static void what_yaml_would_guess_stays_a_text(void **state)
{
    (void)state;
    struct read *read = read_bytes(TEXT("a: no\nb: 1_000\nc: 0o17\nd: ~\n"));
    assert_text(yaml_find(read->root, TEXT("a"))->text, "no");
    assert_text(yaml_find(read->root, TEXT("b"))->text, "1_000");
    assert_text(yaml_find(read->root, TEXT("c"))->text, "0o17");
    assert_text(yaml_find(read->root, TEXT("d"))->text, "~");
    arena_close(&read->arena);
}

static void a_key_twice_is_told_with_the_first(void **state)
{
    (void)state;
    struct read *read = read_bytes(TEXT("a: 1\nb: 2\na: 3\n"));
    const struct diagnostic *at = read->found.first;
    assert_int_equal(at->finding, FINDING_DUPLICATE_KEY);
    assert_place(at->place, 3, 1);
    assert_int_equal(at->next->finding, FINDING_FIRST_GIVEN_HERE);
    assert_place(at->next->place, 1, 1);
    assert_int_equal(read->root->count, 2);
    assert_text(yaml_find(read->root, TEXT("a"))->text, "1");
    arena_close(&read->arena);
}

static void a_key_twice_among_many_is_found_too(void **state)
{
    (void)state;
    char bytes[4000];
    size_t length = 0;
    for (int i = 0; i < 100; i++)
        length += (size_t)snprintf(bytes + length, 20, "k%d: v\n", i);
    length += (size_t)snprintf(bytes + length, 20, "k37: v\n");
    wants((struct text){bytes, length}, FINDING_DUPLICATE_KEY, 101, 1);
}

static void what_is_refused_is_refused_where_it_stands(void **state)
{
    (void)state;
    wants(TEXT("a: &x 1\n"), FINDING_ANCHOR, 1, 4);
    wants(TEXT("a: !!int 1\n"), FINDING_TAG, 1, 4);
    wants(TEXT("a: 1\n---\nb: 2\n"), FINDING_SEVERAL_DOCUMENTS, 2, 1);
    wants(TEXT("? [a]\n: 1\n"), FINDING_KEY_NOT_TEXT, 1, 3);
    wants(TEXT("a:\n\tb: 1\n"), FINDING_TAB_INDENTS, 2, 1);
    wants(TEXT("a: 1\n  b: 2\n"), FINDING_YAML_SYNTAX, 2, 4);
    wants(TEXT("%YAML 1.1\n---\na: @\n"), FINDING_YAML_SYNTAX, 3, 4);
}

static void an_open_bracket_is_told_where_it_opened(void **state)
{
    (void)state;
    wants(TEXT("a: 1\nb: [x,\nc: 2\n"), FINDING_NOT_CLOSED, 2, 4);
    wants(TEXT("a: {x: 1\n"), FINDING_NOT_CLOSED, 1, 4);
    wants(TEXT("a: \"x\nb: 1\n"), FINDING_NOT_CLOSED, 1, 4);
}

static void characters_that_could_move_a_cursor_are_refused(void **state)
{
    (void)state;
    wants(TEXT("a: 1\nb: \x1B[2J\n"), FINDING_CONTROL_CHARACTER, 2, 4);
    wants(TEXT("a: \"\\e[2J\"\n"), FINDING_CONTROL_CHARACTER, 1, 4);
    wants(TEXT("a: \"x\\u202Ey\"\n"), FINDING_BIDIRECTIONAL, 1, 4);
    wants(TEXT("a: x\xE2\x80\xAEy\n"), FINDING_BIDIRECTIONAL, 1, 5);
    wants(TEXT("a: \xC3(\n"), FINDING_NOT_UTF8, 1, 4);
    wants(TEXT("a: x\0y\n"), FINDING_CONTROL_CHARACTER, 1, 5);
}

static void depth_ends_at_32(void **state)
{
    (void)state;
    char bytes[100] = "a: ";
    memset(bytes + 3, '[', 31);
    memset(bytes + 34, ']', 31);
    struct read *read = read_bytes((struct text){bytes, 65});
    assert_null(read->found.first);
    arena_close(&read->arena);
    memset(bytes + 3, '[', 32);
    memset(bytes + 35, ']', 32);
    wants((struct text){bytes, 67}, FINDING_TOO_DEEP, 1, 35);
}

static void maps_are_alike_in_any_order_and_lists_are_not(void **state)
{
    (void)state;
    struct read *read =
        read_bytes(TEXT("a: {x: 1, y: [2, 3]}\nb: {y: [2, 3], x: 1}\nc: {x: 1, y: [3, 2]}\n"));
    const struct yaml_node *a = yaml_find(read->root, TEXT("a"));
    assert_true(yaml_alike(a, yaml_find(read->root, TEXT("b"))));
    assert_false(yaml_alike(a, yaml_find(read->root, TEXT("c"))));
    arena_close(&read->arena);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(texts_lists_and_maps_have_their_places),
        cmocka_unit_test(a_part_of_a_quoted_text_stands_behind_the_quote),
        cmocka_unit_test(columns_count_characters),
        cmocka_unit_test(a_text_with_escapes_is_one_place),
        cmocka_unit_test(texts_are_normalised),
        cmocka_unit_test(what_yaml_would_guess_stays_a_text),
        cmocka_unit_test(a_key_twice_is_told_with_the_first),
        cmocka_unit_test(a_key_twice_among_many_is_found_too),
        cmocka_unit_test(what_is_refused_is_refused_where_it_stands),
        cmocka_unit_test(an_open_bracket_is_told_where_it_opened),
        cmocka_unit_test(characters_that_could_move_a_cursor_are_refused),
        cmocka_unit_test(depth_ends_at_32),
        cmocka_unit_test(maps_are_alike_in_any_order_and_lists_are_not),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}

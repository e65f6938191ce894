/* Whole files as an author writes them: a machine, two procedures with their parts, a library. */
#include "procedure/loaded.h"

#define EXAMPLES "tests/procedure/examples/"

static const struct source *example(struct arena *arena, struct text name)
{
    struct source *source = arena_new(arena, struct source);
    source->path = text_fill(arena, EXAMPLES "{}.yaml", name);
    FILE *file = fopen(text_terminated(arena, source->path), "rb");
    if (file == NULL)
        return NULL;
    enum { ROOM = 16384 };
    char *bytes = arena_array(arena, char, ROOM);
    size_t length = fread(bytes, 1, ROOM, file);
    (void)fclose(file);
    source->bytes = (struct text){bytes, length};
    return source;
}

static const struct source *fetch_example(void *self, struct text name)
{
    return example(&((struct loaded *)self)->arena, name);
}

static void load_example(struct loaded *loaded, const char *name)
{
    *loaded = (struct loaded){.arena = arena_open(32 * MEBIBYTE, out_of_memory)};
    diagnostics_begin(&loaded->found, &loaded->arena);
    const struct source **libraries = arena_array(&loaded->arena, const struct source *, 1);
    libraries[0] = example(&loaded->arena, TEXT("safety"));
    loaded->safety = safety_load(libraries, 1, &loaded->found, &loaded->arena);
    struct shelf shelf = {.self = loaded, .fetch = fetch_example};
    loaded->procedure = procedure_load(example(&loaded->arena, text_from(name)), loaded->safety,
                                       shelf, &loaded->found, &loaded->arena);
    for (const struct diagnostic *at = loaded->found.first; at != NULL; at = at->next)
        print_error("%.*s:%u:%u %s\n", (int)at->place.source->path.length,
                    at->place.source->path.bytes, at->place.line, at->place.column,
                    finding_code(at->finding));
    assert_int_equal(loaded->found.count_by_severity[SEVERITY_ERROR], 0);
    const struct machine *van =
        machine_load(example(&loaded->arena, TEXT("machine")), &loaded->found, &loaded->arena);
    assert_non_null(
        procedure_fit(loaded->procedure, van, NULL, &loaded->found, &loaded->arena));
}

static void a_compression_test_loads_and_fits(void **state)
{
    (void)state;
    struct loaded loaded;
    load_example(&loaded, "compression_test");
    const struct procedure *p = loaded.procedure;
    assert_int_equal(p->source_count, 4);
    const struct work *oil_in = procedure_find_step(p, TEXT("oil_in"));
    assert_int_equal(oil_in->parent->loop.subset, LOOP_WHERE);
    assert_false(oil_in->parent->when_each_round);
    assert_true(oil_in->step->sets[0].is_here);
    const struct step *crank = procedure_find_step(p, TEXT("crank_wet"))->step;
    assert_int_equal(crank->needs_count, 4);
    assert_int_equal(crank->messages[0].signal, SIGNAL_DANGER);
    int weak = procedure_find_symbol(p, TEXT("weak"));
    assert_int_equal(p->symbols[weak].type.base, TYPE_TRUTH);
    assert_int_equal(p->symbols[weak].type.index, 0);
    int torque = procedure_find_symbol(p, TEXT("plugs_in.torque"));
    assert_int_equal(p->symbols[torque].kind, SYMBOL_READING);
    assert_int_equal(p->symbols[torque].type.index, 0);
    loaded_close(&loaded);
}

static void an_oil_change_loads_and_fits(void **state)
{
    (void)state;
    struct loaded loaded;
    load_example(&loaded, "oil_change_part");
    const struct procedure *p = loaded.procedure;
    const struct work *look = procedure_find_step(p, TEXT("look"));
    assert_int_equal(look->parent->kind, WORK_REPEAT);
    assert_int_equal(look->parent->at_most, 6);
    const struct work *drain = procedure_find_step(p, TEXT("drain"));
    assert_true(drain->parent->is_away);
    const struct work *rings = procedure_find_step(p, TEXT("rings"));
    assert_null(rings->parent->when);
    assert_int_equal(rings->parent->parent->kind, WORK_EITHER);
    assert_int_equal(p->timer_count, 2);
    loaded_close(&loaded);
}

static void answers_and_the_library_load(void **state)
{
    (void)state;
    struct arena arena = arena_open(MEBIBYTE, out_of_memory);
    struct diagnostics found;
    diagnostics_begin(&found, &arena);
    const struct answers *answers =
        answers_load(example(&arena, TEXT("answers")), &found, &arena);
    const struct given *dry =
        given_find(given_find(&answers->answers, TEXT("crank_dry")), TEXT("dry"));
    assert_text(given_find(dry, TEXT("4"))->items[0].text, "11,6");
    const struct source *source = example(&arena, TEXT("safety"));
    const struct safety_library *library = safety_load(&source, 1, &found, &arena);
    assert_int_equal(found.count_by_severity[SEVERITY_ERROR], 0);
    assert_int_equal(library->condition_count, 11);
    assert_int_equal(library->no_precaution_count, 1);
    assert_float_equal(library->conditions[2]->lapses_after, 1800, 1e-9);
    assert_int_equal(library->conditions[7]->question.expected_count, 2);
    assert_true(library->activities[3]->is_refused);
    arena_close(&arena);
}

/* Counted in memory, which no other process disturbs as it would a time. */
static size_t bytes_for(unsigned steps)
{
    struct arena text_arena = arena_open(32 * MEBIBYTE, out_of_memory);
    struct page page;
    page_begin(&page, &text_arena);
    for (unsigned i = 0; i < steps; i++)
        write_fill(&page.writer, &text_arena,
                   "  - {step: s{}, each: cylinder, do: Read., record: {p{}: {unit: bar}}}\n",
                   text_number(&text_arena, i), text_number(&text_arena, i));
    struct loaded loaded;
    load_steps(&loaded, "", text_terminated(&text_arena, page_text(&page)));
    size_t used = (size_t)(loaded.arena.next - loaded.arena.base);
    unsigned errors = loaded.found.count_by_severity[SEVERITY_ERROR];
    loaded_close(&loaded);
    arena_close(&text_arena);
    assert_int_equal(errors, 0);
    return used;
}

static void twice_the_steps_take_twice_the_memory(void **state)
{
    (void)state;
    size_t once = bytes_for(1000), twice = bytes_for(2000);
    assert_true(twice > once);
    assert_true(twice < 5 * once / 2);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_compression_test_loads_and_fits),
        cmocka_unit_test(an_oil_change_loads_and_fits),
        cmocka_unit_test(answers_and_the_library_load),
        cmocka_unit_test(twice_the_steps_take_twice_the_memory),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}

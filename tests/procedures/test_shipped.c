/*
 * Every file that ships in procedures/ can be used as it is: no error, no warning.  Parts are
 * parts because they say so, and what a part lacks alone is there wherever it is followed.
 */
#include "procedures/fixture.h"
#include "verify/rules.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>

#include <cmocka.h>

#define SHIPPED "procedures/"

struct shipped {
    struct arena arena;
    const struct safety_library *safety;
    struct diagnostics found;
};

static const struct source *shipped_source(const char *folder, struct text name,
                                           struct arena *arena)
{
    struct text path = text_fill(arena, "{}{}.yaml", text_from(folder), name);
    return fixture_source(text_terminated(arena, path), arena);
}

static const struct source *fetch(void *self, struct text name)
{
    struct shipped *shipped = self;
    return shipped_source(SHIPPED, name, &shipped->arena);
}

static struct text nearest(void *self, struct text name)
{
    (void)self;
    (void)name;
    return TEXT("");
}

static void open_shipped(struct shipped *shipped)
{
    *shipped = (struct shipped){.arena = arena_open(256 * MEBIBYTE, fixture_out_of_memory)};
    diagnostics_begin(&shipped->found, &shipped->arena);
    const struct source **library = arena_array(&shipped->arena, const struct source *, 1);
    library[0] = shipped_source(SHIPPED, TEXT("safety"), &shipped->arena);
    shipped->safety = safety_load(library, 1, &shipped->found, &shipped->arena);
}

static const struct procedure *load(struct shipped *shipped, const struct source *source)
{
    struct shelf shelf = {shipped, fetch, nearest};
    diagnostics_begin(&shipped->found, &shipped->arena);
    return procedure_load(source, shipped->safety, shelf, &shipped->found, &shipped->arena);
}

/* The rules of writing: what ships shows how it is done. */
static void look_at_rules(struct shipped *shipped, const struct procedure *procedure,
                          const struct safety_library *library)
{
    struct arena scratch = arena_open(16 * MEBIBYTE, fixture_out_of_memory);
    if (procedure != NULL)
        rules_look(procedure, &shipped->found, &scratch);
    if (library != NULL)
        rules_look_at_library(library, &shipped->found, &scratch);
    arena_close(&scratch);
}

static unsigned wrong_in(const struct shipped *shipped)
{
    return shipped->found.count_by_severity[SEVERITY_ERROR] +
           shipped->found.count_by_severity[SEVERITY_WARNING];
}

static unsigned count_of(const struct shipped *shipped, enum finding finding)
{
    unsigned count = 0;
    for (const struct diagnostic *at = shipped->found.first; at != NULL; at = at->next)
        count += at->finding == finding;
    return count;
}

static void print_found(const struct shipped *shipped)
{
    for (const struct diagnostic *at = shipped->found.first; at != NULL; at = at->next)
        print_error("%.*s:%u: %s %.*s\n", (int)at->place.source->path.length,
                    at->place.source->path.bytes, at->place.line, finding_code(at->finding),
                    (int)at->message.length, at->message.bytes);
}

static void load_as_it_says(struct shipped *shipped, const struct source *source)
{
    struct arena *arena = &shipped->arena;
    struct diagnostics *found = &shipped->found;
    const struct procedure *procedure;
    const struct safety_library *library;
    diagnostics_begin(found, arena);
    switch (file_form(source, arena)) {
    case FORM_PROCEDURE:
        procedure = load(shipped, source);
        assert_non_null(procedure);
        look_at_rules(shipped, procedure, NULL);
        return;
    case FORM_MACHINE:
        assert_non_null(machine_load(source, found, arena));
        return;
    case FORM_SAFETY:
        library = safety_load(&source, 1, found, arena);
        assert_non_null(library);
        look_at_rules(shipped, NULL, library);
        return;
    case FORM_GAUGES:
        assert_non_null(gauges_load(source, found, arena));
        return;
    case FORM_ANSWERS:
        assert_non_null(answers_load(source, found, arena));
        return;
    case FORM_UNKNOWN:
        break;
    }
    fail_msg("%.*s: of no known form", (int)source->path.length, source->path.bytes);
}

static void every_file_that_ships_passes(void **state)
{
    (void)state;
    static const char *const folders[] = {SHIPPED, SHIPPED "machines/", SHIPPED "answers/"};
    struct shipped shipped;
    open_shipped(&shipped);
    unsigned wrong = wrong_in(&shipped);
    size_t files = 0;
    for (size_t f = 0; f < sizeof folders / sizeof *folders; f++) {
        size_t count;
        const struct text *names = fixture_names(folders[f], ".yaml", &shipped.arena, &count);
        assert_true(count > 0);
        for (size_t i = 0; i < count; i++, files++) {
            struct text path =
                text_fill(&shipped.arena, "{}{}", text_from(folders[f]), names[i]);
            load_as_it_says(&shipped, fixture_source(text_terminated(&shipped.arena, path),
                                                     &shipped.arena));
            if (wrong_in(&shipped) > 0)
                print_found(&shipped);
            wrong += wrong_in(&shipped);
        }
    }
    arena_close(&shipped.arena);
    assert_int_equal(wrong, 0);
    assert_true(files > 20);
}

/* --- hazards in words --------------------------------------------------------------------------- */

static bool has_activity(const struct safety_library *library, struct text name)
{
    for (size_t i = 0; i < library->activity_count; i++)
        if (text_equal(library->activities[i]->name, name))
            return true;
    return false;
}

/* Otherwise its words would be let pass in silence. */
static void every_hazard_in_words_has_an_activity_that_ships(void **state)
{
    (void)state;
    static const struct {
        const char *verb, *activities;
    } hazards[] = {
#define HAZARD(verb, objects, unless, activities) {(verb), (activities)},
#include "verify/rules_hazard_list.h"
#undef HAZARD
    };
    struct shipped shipped;
    open_shipped(&shipped);
    for (size_t i = 0; i < sizeof hazards / sizeof *hazards; i++) {
        struct text rest = text_from(hazards[i].activities), name;
        bool is_known = false;
        while (text_cut(&rest, ' ', &name))
            is_known = is_known || has_activity(shipped.safety, name);
        if (!is_known)
            print_error("%s: none of: %s\n", hazards[i].verb, hazards[i].activities);
        assert_true(is_known);
    }
    arena_close(&shipped.arena);
}

/* --- parts ----------------------------------------------------------------------------------- */

enum { SHIPPED_MAX = 200 };

/* Every procedure that ships, loaded. */
static size_t load_procedures(struct shipped *shipped, const struct procedure **procedures)
{
    size_t files, count = 0;
    const struct text *names = fixture_names(SHIPPED, ".yaml", &shipped->arena, &files);
    assert_true(files < SHIPPED_MAX);
    for (size_t i = 0; i < files; i++) {
        struct text path = text_fill(&shipped->arena, SHIPPED "{}", names[i]);
        const struct source *source =
            fixture_source(text_terminated(&shipped->arena, path), &shipped->arena);
        if (file_form(source, &shipped->arena) == FORM_PROCEDURE)
            procedures[count++] = load(shipped, source);
    }
    return count;
}

static bool follows(const struct procedure *procedure, struct text part)
{
    for (size_t i = 0; i < procedure->work_count; i++)
        if (procedure->works[i]->kind == WORK_FOLLOW &&
            text_equal(procedure->works[i]->followed, part))
            return true;
    return false;
}

static void every_part_is_followed_by_what_can_be_started(void **state)
{
    (void)state;
    struct shipped shipped;
    open_shipped(&shipped);
    const struct procedure *procedures[SHIPPED_MAX];
    size_t count = load_procedures(&shipped, procedures);
    size_t parts = 0;
    for (size_t i = 0; i < count; i++) {
        bool is_used = !procedures[i]->is_part;
        parts += procedures[i]->is_part;
        for (size_t k = 0; k < count; k++)
            is_used = is_used ||
                      (!procedures[k]->is_part && follows(procedures[k], procedures[i]->name));
        if (!is_used)
            print_error("nothing follows %.*s\n", (int)procedures[i]->name.length,
                        procedures[i]->name.bytes);
        assert_true(is_used);
    }
    arena_close(&shipped.arena);
    assert_true(parts > 0 && parts < count);
}

static void its_first_line_says_whether_it_is_a_part(void **state)
{
    (void)state;
    struct shipped shipped;
    open_shipped(&shipped);
    const struct procedure *procedures[SHIPPED_MAX];
    size_t count = load_procedures(&shipped, procedures);
    for (size_t i = 0; i < count; i++) {
        bool says_so = text_starts(procedures[i]->sources[0]->bytes, TEXT("# A part"));
        if (says_so != procedures[i]->is_part)
            print_error("%.*s\n", (int)procedures[i]->name.length, procedures[i]->name.bytes);
        assert_int_equal(says_so, procedures[i]->is_part);
    }
    arena_close(&shipped.arena);
}

static void what_is_rehearsed_is_no_part(void **state)
{
    (void)state;
    struct shipped shipped;
    open_shipped(&shipped);
    size_t count;
    const struct text *names =
        fixture_names(SHIPPED "answers/", ".yaml", &shipped.arena, &count);
    for (size_t i = 0; i < count; i++) {
        struct text path = text_fill(&shipped.arena, SHIPPED "answers/{}", names[i]);
        const struct answers *answers =
            answers_load(fixture_source(text_terminated(&shipped.arena, path), &shipped.arena),
                         &shipped.found, &shipped.arena);
        assert_non_null(answers);
        const struct procedure *procedure =
            load(&shipped, shipped_source(SHIPPED, answers->procedure, &shipped.arena));
        assert_false(procedure->is_part);
    }
    arena_close(&shipped.arena);
    assert_true(count > 0);
}

/* The file without the first place where this stands. */
static const struct source *without(const struct source *source, struct text words,
                                    struct arena *arena)
{
    size_t at = text_find(source->bytes, words);
    assert_true(at < source->bytes.length);
    struct source *changed = arena_new(arena, struct source);
    changed->path = source->path;
    changed->bytes =
        text_fill(arena, "{}{}", text_slice(source->bytes, 0, at),
                  text_slice(source->bytes, at + words.length, source->bytes.length));
    return changed;
}

static const struct text part_line = TEXT_CONSTANT("\npart: true");

static void without_its_word_a_part_lacks_what_others_bring(void **state)
{
    (void)state;
    struct shipped shipped;
    open_shipped(&shipped);
    const struct source *raise =
        shipped_source(SHIPPED, TEXT("raise_on_stands"), &shipped.arena);
    const struct source *close = shipped_source(SHIPPED, TEXT("close_drain"), &shipped.arena);
    load(&shipped, raise);
    assert_int_equal(wrong_in(&shipped), 0);
    load(&shipped, without(raise, part_line, &shipped.arena));
    assert_true(count_of(&shipped, FINDING_NEVER_SET) > 0);
    assert_true(count_of(&shipped, FINDING_NEVER_CLEARED) > 0);
    load(&shipped, close);
    assert_int_equal(wrong_in(&shipped), 0);
    load(&shipped, without(close, part_line, &shipped.arena));
    assert_int_equal(count_of(&shipped, FINDING_TIMER_UNKNOWN), 1);
    arena_close(&shipped.arena);
}

static void what_a_part_leaves_is_found_in_its_caller(void **state)
{
    (void)state;
    struct shipped shipped;
    open_shipped(&shipped);
    const struct source *look =
        shipped_source(SHIPPED, TEXT("look_underneath"), &shipped.arena);
    load(&shipped, look);
    assert_int_equal(wrong_in(&shipped), 0);
    load(&shipped, without(look, TEXT("  - follow: lower_to_ground\n"), &shipped.arena));
    assert_int_equal(count_of(&shipped, FINDING_NEVER_CLEARED), 3); /* up, beneath, on them */
    load(&shipped, without(look, TEXT("  - follow: level_and_chock\n"), &shipped.arena));
    assert_true(count_of(&shipped, FINDING_NEVER_SET) > 0);
    arena_close(&shipped.arena);
}

/* --- what `new` writes ---------------------------------------------------------------------- */

static const struct source *model(const char *which, struct text name, struct arena *arena)
{
    struct text rest = shipped_source(SHIPPED "new/", text_from(which), arena)->bytes;
    struct source *source = arena_new(arena, struct source);
    source->path = text_fill(arena, "{}.yaml", name);
    const struct text blank = TEXT("NEW_NAME");
    size_t names = 0;
    for (size_t at; (at = text_find(rest, blank)) < rest.length; names++) {
        source->bytes =
            text_fill(arena, "{}{}{}", source->bytes, text_slice(rest, 0, at), name);
        rest = text_slice(rest, at + blank.length, rest.length);
    }
    assert_true(names > 0);
    source->bytes = text_fill(arena, "{}{}", source->bytes, rest);
    return source;
}

static void what_new_writes_can_be_started(void **state)
{
    (void)state;
    struct shipped shipped;
    open_shipped(&shipped);
    struct arena *arena = &shipped.arena;
    const struct procedure *procedure =
        load(&shipped, model("procedure", TEXT("my_own"), arena));
    look_at_rules(&shipped, procedure, NULL);
    const struct machine *machine =
        machine_load(model("machine", TEXT("my_machine"), arena), &shipped.found, arena);
    if (wrong_in(&shipped) > 0)
        print_found(&shipped);
    assert_int_equal(wrong_in(&shipped), 0);
    assert_true(text_equal(procedure->name, TEXT("my_own")));
    assert_true(text_equal(machine->name, TEXT("my_machine")));
    assert_false(procedure->is_part);
    assert_non_null(procedure_fit(procedure, machine, NULL, &shipped.found, arena));
    if (wrong_in(&shipped) > 0)
        print_found(&shipped);
    assert_int_equal(wrong_in(&shipped), 0);
    arena_close(arena);
}

/* A value in the model would be taken for one of the machine. */
static void the_new_machine_brings_no_number_of_its_own(void **state)
{
    (void)state;
    struct shipped shipped;
    open_shipped(&shipped);
    const struct machine *machine = machine_load(
        model("machine", TEXT("my_machine"), &shipped.arena), &shipped.found, &shipped.arena);
    assert_int_equal(machine->value_count, 1);
    assert_true(text_equal(machine->values[0].name, TEXT("support")));
    arena_close(&shipped.arena);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(every_file_that_ships_passes),
        cmocka_unit_test(every_hazard_in_words_has_an_activity_that_ships),
        cmocka_unit_test(every_part_is_followed_by_what_can_be_started),
        cmocka_unit_test(its_first_line_says_whether_it_is_a_part),
        cmocka_unit_test(what_is_rehearsed_is_no_part),
        cmocka_unit_test(without_its_word_a_part_lacks_what_others_bring),
        cmocka_unit_test(what_a_part_leaves_is_found_in_its_caller),
        cmocka_unit_test(what_new_writes_can_be_started),
        cmocka_unit_test(the_new_machine_brings_no_number_of_its_own),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}

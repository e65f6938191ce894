#include "procedure/loaded.h"
#include "report/proof_json.h"

#include <jansson.h>

static const char two_steps[] =
    "  - step: chock\n    optional: true\n    do: Chock it.\n    sets: [chocked]\n"
    "  - step: wet_it\n    each: cylinder\n    do: Wet {cylinder}.\n    needs: [chocked]\n"
    "  - step: off\n    do: Chocks away.\n    clears: [chocked]\n";

struct told {
    struct loaded loaded;
    struct path_event events[8];
    struct unsafe_path path;
    struct proof proof;
    int here[8];
};

static const struct work *named(struct told *told, const char *name)
{
    const struct work *work = procedure_find_step(told->loaded.procedure, text_from(name));
    assert_non_null(work);
    return work;
}

static void begin(struct told *told)
{
    *told = (struct told){0};
    wants_sound(&told->loaded, "", two_steps);
    for (size_t i = 0; i < 8; i++)
        told->here[i] = INDEX_NONE;
    told->here[0] = 1;
    int chocked = procedure_find_condition(told->loaded.procedure, TEXT("chocked"));
    told->events[0] = (struct path_event){
        .kind = PATH_PASSED_OVER, .work = named(told, "chock"), .position = INDEX_NONE};
    told->events[1] = (struct path_event){.kind = PATH_STOPPED, .position = INDEX_NONE};
    told->events[2] = (struct path_event){.kind = PATH_ASKED_AT_START,
                                          .condition = (unsigned)chocked,
                                          .position = INDEX_NONE,
                                          .truth = false};
    told->path = (struct unsafe_path){.fault = FAULT_NEED,
                                      .work = named(told, "wet_it"),
                                      .here = told->here,
                                      .condition = (unsigned)chocked,
                                      .position = INDEX_NONE,
                                      .cause = CAUSE_PASSED_OVER,
                                      .helper = named(told, "chock"),
                                      .events = told->events,
                                      .event_count = 3};
    told->proof = (struct proof){.verdict = PROOF_UNSAFE,
                                 .states = 7,
                                 .branches = 1,
                                 .paths = &told->path,
                                 .path_count = 1};
}

static json_t *tell(struct told *told, const struct proof *proof)
{
    struct checked_file checked = {TEXT("te\"st.yaml"), &told->loaded.found,
                                   told->loaded.procedure, proof};
    struct page page;
    page_begin(&page, &told->loaded.arena);
    proof_json_write(&checked, &page.writer, &told->loaded.arena);
    struct text line = page_text(&page);
    assert_int_equal(line.bytes[line.length - 1], '\n');
    assert_int_equal(text_find(line, TEXT("\n")), line.length - 1);
    json_error_t flaw;
    json_t *read = json_loadb(line.bytes, line.length, 0, &flaw);
    if (read == NULL)
        fail_msg("%s", flaw.text);
    return read;
}

static const char *word(json_t *object, const char *key)
{
    const char *found = json_string_value(json_object_get(object, key));
    return found == NULL ? "(none)" : found;
}

static void a_path_is_told_with_its_names(void **state)
{
    (void)state;
    struct told told;
    begin(&told);
    json_t *whole = tell(&told, &told.proof);
    assert_string_equal(word(whole, "file"), "te\"st.yaml");
    json_t *proof = json_object_get(whole, "proof");
    assert_string_equal(word(proof, "verdict"), "unsafe");
    assert_int_equal(json_integer_value(json_object_get(proof, "states")), 7);
    json_t *path = json_array_get(json_object_get(proof, "paths"), 0);
    assert_string_equal(word(path, "fault"), "need");
    assert_string_equal(word(path, "step"), "wet_it");
    assert_string_equal(word(path, "condition"), "chocked");
    assert_string_equal(word(path, "cause"), "passed over");
    assert_string_equal(word(path, "helper"), "chock");
    assert_true(json_is_null(json_object_get(path, "undoer")));
    assert_string_equal(word(json_object_get(path, "here"), "cylinder"), "another");
    assert_int_equal(json_integer_value(json_object_get(path, "length")), 3);
    assert_true(strlen(word(path, "words")) > 10);
    json_decref(whole);
    loaded_close(&told.loaded);
}

static void the_events_are_told_in_their_order(void **state)
{
    (void)state;
    struct told told;
    begin(&told);
    json_t *whole = tell(&told, &told.proof);
    json_t *paths = json_object_get(json_object_get(whole, "proof"), "paths");
    json_t *events = json_object_get(json_array_get(paths, 0), "events");
    assert_int_equal(json_array_size(events), 3);
    assert_string_equal(word(json_array_get(events, 0), "kind"), "passed over");
    assert_string_equal(word(json_array_get(events, 0), "step"), "chock");
    assert_string_equal(word(json_array_get(events, 1), "kind"), "stopped");
    assert_true(json_is_null(json_object_get(json_array_get(events, 1), "step")));
    assert_string_equal(word(json_array_get(events, 2), "condition"), "chocked");
    assert_true(json_is_false(json_object_get(json_array_get(events, 2), "truth")));
    json_decref(whole);
    loaded_close(&told.loaded);
}

static void a_finding_carries_its_place_and_its_notes(void **state)
{
    (void)state;
    struct told told;
    begin(&told);
    struct place place = {&told.loaded.source, 7, 3, 7, 9};
    report(&told.loaded.found, FINDING_STEP_TWICE, place, TEXT("chock"));
    json_t *whole = tell(&told, NULL);
    json_t *finding = json_array_get(json_object_get(whole, "findings"), 0);
    assert_string_equal(word(finding, "code"), finding_code(FINDING_STEP_TWICE));
    assert_string_equal(word(finding, "severity"), "error");
    assert_string_equal(word(finding, "file"), "test.yaml");
    assert_int_equal(json_integer_value(json_object_get(finding, "line")), 7);
    assert_int_equal(json_integer_value(json_object_get(finding, "column")), 3);
    assert_true(json_is_null(json_object_get(whole, "proof")));
    json_decref(whole);
    loaded_close(&told.loaded);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_path_is_told_with_its_names),
        cmocka_unit_test(the_events_are_told_in_their_order),
        cmocka_unit_test(a_finding_carries_its_place_and_its_notes),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}

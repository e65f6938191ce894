/* A procedure against a machine sheet and the user's gauges. */
#include "procedure/loaded.h"

struct fit {
    struct loaded loaded;
    const struct machine *machine;
    const struct fitted *fitted;
};

static const char sheet[] =
    "machine: van\ntitle: A van\n"
    "positions:\n  cylinder: [1, 2, 3, 4]\n  wheel: [front, rear]\n"
    "firing_order: [1, 3, 4, 2]\n"
    "values:\n  volume: {is: 1731 mL, source: the book}\n  ratio: 9.7\n"
    "  plugs: 4\n  fuel: petrol\n  bolt: 18 mm\n  rough: \"84,210 mL\"\n";

static void fit_to(struct fit *fit, const char *sheet_bytes, const char *gauge_bytes,
                   const char *head, const char *steps)
{
    load_steps(&fit->loaded, head, steps);
    struct arena *arena = &fit->loaded.arena;
    struct diagnostics *found = &fit->loaded.found;
    assert_int_equal(found->count_by_severity[SEVERITY_ERROR], 0);
    struct source *source = arena_new(arena, struct source);
    *source = (struct source){TEXT("van.yaml"), text_from(sheet_bytes)};
    fit->machine = machine_load(source, found, arena);
    assert_non_null(fit->machine);
    const struct gauge_list *gauges = NULL;
    if (gauge_bytes != NULL) {
        struct source *own = arena_new(arena, struct source);
        *own = (struct source){TEXT("gauges.yaml"), text_from(gauge_bytes)};
        gauges = gauges_load(own, found, arena);
    }
    fit->fitted = procedure_fit(fit->loaded.procedure, fit->machine, gauges, found, arena);
}

static void unfit(const char *sheet_bytes, const char *head, const char *steps,
                  enum finding finding)
{
    struct fit fit;
    fit_to(&fit, sheet_bytes, NULL, head, steps);
    bool is_there = find_code(&fit.loaded, finding) != NULL;
    unsigned errors = fit.loaded.found.count_by_severity[SEVERITY_ERROR];
    bool is_refused = fit.fitted == NULL;
    loaded_close(&fit.loaded);
    assert_true(is_there);
    assert_true(is_refused);
    assert_int_equal(errors, 1);
}

#define LOOK "  - {step: look, do: Look.}\n"

static void positions_and_firing_order_come_from_the_sheet(void **state)
{
    (void)state;
    struct fit fit;
    fit_to(&fit, sheet, NULL, "",
           "  - {step: a, each: wheel, do: Look.}\n"
           "  - {step: b, each: cylinder, order: firing, do: Look.}\n");
    assert_non_null(fit.fitted);
    const struct labels *cylinders = &fit.fitted->indexes[0];
    assert_int_equal(cylinders->count, 4);
    assert_int_equal(cylinders->firing[1], 2);
    assert_text(fit.fitted->indexes[1].texts[1], "rear");
    loaded_close(&fit.loaded);
}

static void values_are_read_by_the_kind_wanted(void **state)
{
    (void)state;
    struct fit fit;
    fit_to(&fit, sheet, NULL,
           "machine:\n  volume: L\n  ratio: \"1\"\n  plugs: {unit: \"1\", whole: true}\n"
           "  fuel: {choices: [petrol, diesel]}\n  colour: {text: true}\n",
           LOOK);
    assert_non_null(fit.fitted);
    const struct manual_value *values = fit.fitted->values;
    assert_true(values[0].is_given);
    assert_float_equal(quantity_si(&values[0].quantity), 1731e-6, 1e-15);
    assert_text(values[0].source, "the book");
    assert_float_equal(values[1].quantity.number.value, 9.7, 0);
    assert_text(values[3].text, "petrol");
    assert_false(values[4].is_given); /* asked when the job starts */
    loaded_close(&fit.loaded);
}

static void a_value_of_the_wrong_kind_is_told_with_both_places(void **state)
{
    (void)state;
    struct fit fit;
    fit_to(&fit, sheet, NULL, "machine:\n  bolt: N.m\n", LOOK);
    assert_null(fit.fitted);
    const struct diagnostic *at = find_code(&fit.loaded, FINDING_VALUE_UNFIT);
    assert_non_null(at);
    assert_text(at->place.source->path, "van.yaml");
    assert_int_equal(at->place.line, 12);
    assert_int_equal(at->place.column, 9);
    assert_int_equal(at->next->finding, FINDING_WANTED_HERE);
    assert_text(at->next->place.source->path, "test.yaml");
    assert_int_equal(at->next->place.line, 6);
    loaded_close(&fit.loaded);
    unfit(sheet, "machine: {fuel: {choices: [diesel, gas]}}\n", LOOK, FINDING_VALUE_UNFIT);
    unfit(sheet, "machine: {ratio: {unit: \"1\", whole: true}}\n", LOOK, FINDING_VALUE_UNFIT);
    unfit(sheet, "machine: {plugs: mm}\n", LOOK, FINDING_VALUE_UNFIT);
    unfit(sheet, "machine: {rough: mL}\n", LOOK, FINDING_VALUE_UNFIT);
}

static void what_the_machine_has_not_is_told_where_it_is_used(void **state)
{
    (void)state;
    unfit(sheet, "", "  - {step: a, each: weel, do: Look.}\n", FINDING_NO_SUCH_POSITIONS);
    unfit(sheet, "", "  - {step: a, each: wheel, in: [front, left], do: Look.}\n",
          FINDING_NO_SUCH_POSITION);
    unfit(sheet, "",
          "  - {step: a, each: wheel, do: Read., record: {p: {unit: bar}}}\n"
          "  - {step: b, do: Look., when: \"p['left'] > 1 bar\"}\n",
          FINDING_NO_SUCH_POSITION);
    unfit("machine: m\ntitle: M\npositions: {cylinder: [1]}\n", "",
          "  - {step: a, each: cylinder, order: firing, do: Look.}\n", FINDING_NO_FIRING_ORDER);
}

static void an_index_of_the_library_that_nothing_uses_is_not_wanted(void **state)
{
    (void)state;
    struct fit fit;
    fit_to(&fit, "machine: cart\ntitle: A cart\n", NULL, "", LOOK);
    assert_non_null(fit.fitted);
    assert_int_equal(fit.fitted->indexes[0].count, 0);
    loaded_close(&fit.loaded);
}

static void a_gauge_of_ones_own_replaces_the_assumed_one(void **state)
{
    (void)state;
    const char *head = "gauges: {wrench: {unit: N.m, accuracy: 4 %}}\n";
    struct fit fit;
    fit_to(&fit, sheet, "gauges: {wrench: {unit: lbf.ft, accuracy: 2 %, due: 2027-01-31}}\n",
           head, LOOK);
    assert_non_null(fit.fitted);
    assert_float_equal(fit.fitted->gauges[0].accuracy[0].amount, 0.02, 1e-12);
    assert_text(fit.fitted->gauges[0].due, "2027-01-31");
    loaded_close(&fit.loaded);
    fit_to(&fit, sheet, "gauges: {wrench: {unit: bar}}\n", head, LOOK);
    assert_null(fit.fitted);
    assert_non_null(find_code(&fit.loaded, FINDING_GAUGE_UNFIT));
    loaded_close(&fit.loaded);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(positions_and_firing_order_come_from_the_sheet),
        cmocka_unit_test(values_are_read_by_the_kind_wanted),
        cmocka_unit_test(a_value_of_the_wrong_kind_is_told_with_both_places),
        cmocka_unit_test(what_the_machine_has_not_is_told_where_it_is_used),
        cmocka_unit_test(an_index_of_the_library_that_nothing_uses_is_not_wanted),
        cmocka_unit_test(a_gauge_of_ones_own_replaces_the_assumed_one),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}

/* What a step rests on must be recorded on every path to it. */
#include "procedure/loaded.h"

#define RECORD(name, reading)                                                                  \
    "  - {step: " name ", do: Read., record: {" reading ": {unit: bar}}}\n"
#define PER_CYLINDER(name, reading)                                                            \
    "  - {step: " name ", each: cylinder, do: Read., record: {" reading ": {unit: bar}}}\n"
#define USE(name, expression) "  - {step: " name ", do: Look., when: \"" expression "\"}\n"

static void sound(const char *head, const char *steps)
{
    struct loaded loaded;
    wants_sound(&loaded, head, steps);
    loaded_close(&loaded);
}

static void unread(const char *head, const char *steps)
{
    wants_error(head, steps, FINDING_PERHAPS_UNREAD);
}

static void what_comes_before_is_known(void **state)
{
    (void)state;
    sound("", RECORD("a", "p") USE("b", "p > 1 bar"));
    unread("", USE("b", "p > 1 bar") RECORD("a", "p"));
    unread("", "  - {step: a, do: \"Read {p}.\", record: {p: {unit: bar}}}\n");
    unread("",
           RECORD("z", "q") "  - {step: a, do: Turn., torque: p * 1 cm3}\n" RECORD("b", "p"));
}

static void the_place_is_the_name_and_the_note_the_reading(void **state)
{
    (void)state;
    struct loaded loaded;
    load_steps(&loaded, "", "  - {step: b, do: Look., when: 1 bar < p}\n" RECORD("a", "p"));
    const struct diagnostic *at = find_code(&loaded, FINDING_PERHAPS_UNREAD);
    assert_non_null(at);
    assert_int_equal(at->place.line, 6);
    assert_int_equal(at->place.column, 40);
    assert_int_equal(at->next->finding, FINDING_RECORDED_HERE);
    assert_int_equal(at->next->place.line, 7);
    loaded_close(&loaded);
}

static void what_may_be_left_out_is_not_known(void **state)
{
    (void)state;
    const char *head = "inputs: {kind: {choices: [one, two]}}\n";
    unread(head,
           "  - {step: a, do: Read., when: kind == \"one\", record: {p: {unit: bar}}}\n" USE(
               "b", "p > 1 bar"));
    unread(head, "  - {step: a, do: Read., optional: yes, record: {p: {unit: bar}}}\n" USE(
                     "b", "p > 1 bar"));
    sound(head, "  - section: S\n    when: kind == \"one\"\n    steps:\n    " RECORD(
                    "a", "p") "    " USE("b", "p > 1 bar"));
}

static void alternatives_must_all_record(void **state)
{
    (void)state;
    const char *head = "inputs: {kind: {choices: [one, two]}}\n";
#define ALTERNATIVE(when, name, reading)                                                       \
    "      - " when "\n        steps:\n        " RECORD(name, reading)
    sound(head, "  - either:\n" ALTERNATIVE("when: kind == \"one\"", "a", "p")
                    ALTERNATIVE("otherwise: true", "c", "p") USE("b", "p > 1 bar"));
    unread(head, "  - either:\n" ALTERNATIVE("when: kind == \"one\"", "a", "p")
                     ALTERNATIVE("otherwise: true", "c", "q") USE("b", "p > 1 bar"));
    sound(head, "  - either:\n" ALTERNATIVE("when: kind == \"one\"", "a", "p")
                    ALTERNATIVE("when: kind == \"two\"", "c", "p") USE("b", "p > 1 bar"));
}

static void a_vector_is_known_here_or_somewhere(void **state)
{
    (void)state;
    sound("", PER_CYLINDER("a", "p") USE("b", "min(p) > 1 bar"));
    sound("",
          PER_CYLINDER("a", "p") "  - {step: b, each: cylinder, do: \"See {p[cylinder]}.\"}\n");
    unread("", PER_CYLINDER("z", "q") "  - {step: b, each: cylinder, do: \"See "
                                      "{p[cylinder]}.\"}\n" PER_CYLINDER("a", "p"));
    sound("", PER_CYLINDER("a", "p") USE("b", "p[2] > 1 bar"));
}

static void a_subset_is_known_over_the_same_subset_only(void **state)
{
    (void)state;
    const char *head = "names: {weak: p < 5 bar}\n";
#define OVER(name, subset, text)                                                               \
    "  - {step: " name ", each: cylinder, in: \"" subset "\", do: " text "}\n"
    sound(head, PER_CYLINDER("a", "p") OVER("b", "weak", "Read., record: {w: {unit: bar}}")
                    OVER("c", "weak", "\"See {w[cylinder]}.\""));
    unread(head, PER_CYLINDER("a", "p") OVER("b", "weak", "Read., record: {w: {unit: bar}}")
                     OVER("c", "p < 4 bar", "\"See {w[cylinder]}.\""));
    unread(head, PER_CYLINDER("a", "p") OVER("b", "weak", "Read., record: {w: {unit: bar}}")
                     USE("c", "w[3] > 1 bar"));
    /* It may hold no position at all. */
    unread(head, PER_CYLINDER("a", "p") OVER("b", "weak", "Read., record: {w: {unit: bar}}")
                     USE("c", "min(w) > 1 bar"));
}

static void a_name_is_its_definition(void **state)
{
    (void)state;
    const char *head = "names: {low: half < 1 bar, half: p / 2}\n";
    sound(head, RECORD("a", "p") USE("b", "low") USE("c", "low"));
    unread(head, USE("b", "low") RECORD("a", "p"));
}

static void given_asks_whether_it_is_known(void **state)
{
    (void)state;
    sound("", USE("b", "given(p)") RECORD("a", "p"));
    sound("", USE("b", "given(p) and p > 1 bar") RECORD("a", "p"));
    sound("", USE("b", "not given(p) or p > 1 bar") RECORD("a", "p"));
    unread("", USE("b", "given(q) and p > 1 bar") RECORD("a", "p") RECORD("c", "q"));
    sound("", "  - section: S\n    when: given(p)\n    steps:\n      - {step: c, do: \"See "
              "{p}.\"}\n" RECORD("a", "p"));
}

static void a_sum_of_none_is_never_missing(void **state)
{
    (void)state;
    sound("",
          USE("b", "p > 1 L") "  - {step: a, do: Add., record: {p: {unit: L, again: adds}}}\n");
}

static void a_repeat_is_done_once_at_least(void **state)
{
    (void)state;
    sound("", "  - repeat: r\n    until: p > 1 bar\n    at_most: 3\n    steps:\n    " RECORD(
                  "a", "p") USE("b", "p > 2 bar"));
}

static void a_subset_met_again_under_the_same_when_is_known(void **state)
{
    (void)state;
    const char *head = "names: {weak: p < 5 bar}\n";
#define WEAK(name, text)                                                                       \
    "  - {step: " name ", when: any(weak), each: cylinder, in: weak, do: " text "}\n"
    sound(head, PER_CYLINDER("a", "p") WEAK("b", "Read., record: {w: {unit: bar}}")
                    WEAK("c", "\"See {w[cylinder]}.\""));
    /* Not if it can have turned out otherwise since. */
    unread(head, PER_CYLINDER("a", "p") WEAK("b", "Read., record: {w: {unit: bar}}")
                     PER_CYLINDER("d", "p") WEAK("c", "\"See {w[cylinder]}.\""));
}

static void results_may_find_it_missing(void **state)
{
    (void)state;
    sound("inputs: {kind: {choices: [one, two]}}\n",
          "  - {step: a, do: Read., when: kind == \"one\", record: {p: {unit: bar}}}\n"
          "results: [{result: r, value: p}]\nfindings: [{when: p > 1 bar, say: \"{p}\"}]\n");
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(what_comes_before_is_known),
        cmocka_unit_test(the_place_is_the_name_and_the_note_the_reading),
        cmocka_unit_test(what_may_be_left_out_is_not_known),
        cmocka_unit_test(alternatives_must_all_record),
        cmocka_unit_test(a_vector_is_known_here_or_somewhere),
        cmocka_unit_test(a_subset_is_known_over_the_same_subset_only),
        cmocka_unit_test(a_name_is_its_definition),
        cmocka_unit_test(given_asks_whether_it_is_known),
        cmocka_unit_test(a_sum_of_none_is_never_missing),
        cmocka_unit_test(a_repeat_is_done_once_at_least),
        cmocka_unit_test(a_subset_met_again_under_the_same_when_is_known),
        cmocka_unit_test(results_may_find_it_missing),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}

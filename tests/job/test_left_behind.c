#include "support/walked_job.h"

#include <math.h>

static bool is_near(double a, double b)
{
    return fabs(a - b) <= 1e-9 * fmax(fabs(a), fabs(b));
}

static struct type type_of(const struct walked *walked, const char *name)
{
    int symbol = procedure_find_symbol(walked->sound.procedure, text_from(name));
    assert_true(symbol >= 0);
    return walked->sound.procedure->symbols[symbol].type;
}

static size_t left(struct walked *walked, const char *name, const struct earlier_value **values)
{
    return job_left_behind(walked->job, text_from(name), type_of(walked, name), values,
                           &walked->scratch);
}

/* Half-widths over sqrt(3) (JCGM 100:2008, 4.3.7), the scatter of the mean s/sqrt(n) (4.2.3), the root of
 * the squares (5.1.2), freedom by Welch and Satterthwaite (G.4.1). */
static void a_reading_leaves_its_mean_with_what_it_was_uncertain_by(void **state)
{
    (void)state;
    struct walked walked;
    walked_begin(&walked, HEAD "gauges: {meter: {unit: V, resolution: 0.1 V, accuracy: 1 %}}\n"
                               "steps:\n"
                               "  - step: look\n    do: Look.\n"
                               "    record: {volts: {gauge: meter, readings: 3}}\n");
    walked_say(&walked, "12.0");
    walked_say(&walked, "12.2");
    walked_say(&walked, "12.4");
    const struct earlier_value *values;
    assert_int_equal(left(&walked, "volts", &values), 1);
    assert_true(text_equal(values[0].name, TEXT("volts")));
    assert_true(values[0].has_number && values[0].has_uncertainty);
    assert_true(is_near(values[0].si, 12.2));
    assert_says(values[0].shown, "12.2");
    double repeats = 0.2 / sqrt(3), accuracy = 0.122 / sqrt(3), resolution = 0.05 / sqrt(3);
    double squares = repeats * repeats + accuracy * accuracy + resolution * resolution;
    assert_true(is_near(values[0].uncertainty, sqrt(squares)));
    assert_true(is_near(values[0].freedom, squares * squares / (pow(repeats, 4) / 2)));
    walked_close(&walked);
}

/* 2 psi of 100 psi, rectangular, in the SI of NIST SP 811: 1 psi = 6894.757 Pa. */
static void it_is_the_gauge_of_that_job_that_counts(void **state)
{
    (void)state;
    struct walked walked;
    walked_begin_with(&walked,
                      HEAD "gauges: {tester: {unit: bar, accuracy: 0.01 bar}}\n"
                           "steps:\n"
                           "  - {step: look, do: Look., record: {oil: {gauge: tester}}}\n",
                      "gauges: {tester: {unit: psi, accuracy: 2 psi}}\n");
    walked_say(&walked, "100");
    const struct earlier_value *values;
    assert_int_equal(left(&walked, "oil", &values), 1);
    assert_says(values[0].shown, "100\u00a0psi");
    assert_true(fabs(values[0].uncertainty - 2 * 6894.757 / sqrt(3)) < 0.001);
    assert_true(values[0].freedom == 0);
    walked_close(&walked);
}

static const char adding[] = HEAD "inputs:\n"
                                  "  hours: {unit: h}\n"
                                  "  oil: {choices: [thin, thick]}\n"
                                  "steps:\n"
                                  "  - step: fill\n    do: Fill.\n    when: oil == \"thin\"\n"
                                  "    record: {poured: {unit: L, again: adds}}\n"
                                  "  - step: more\n    do: More.\n"
                                  "    record: {poured: {unit: L, again: adds}}\n"
                                  "  - step: drip\n    do: Watch.\n    when: oil == \"thin\"\n"
                                  "    record: {caught: {unit: mL, again: adds}, "
                                  "seen: {unit: mm}}\n"
                                  "  - {step: last, do: Close it.}\n";

static void what_was_added_is_left_as_its_sum_and_an_input_as_exact(void **state)
{
    (void)state;
    struct walked walked;
    walked_begin(&walked, adding);
    walked_say(&walked, "412.5");
    walked_say(&walked, "thin");
    walked_say(&walked, "0.25");
    walked_say(&walked, "0.5");
    const struct earlier_value *values;
    assert_int_equal(left(&walked, "poured", &values), 1);
    assert_true(is_near(values[0].si, 0.75e-3));
    assert_says(values[0].shown, "0.75\u00a0L");
    assert_int_equal(left(&walked, "hours", &values), 1);
    assert_true(values[0].has_uncertainty);
    assert_true(values[0].uncertainty == 0);
    assert_true(is_near(values[0].si, 412.5 * 3600));
    assert_int_equal(left(&walked, "oil", &values), 1);
    assert_false(values[0].has_number);
    assert_says(values[0].shown, "thin");
    walked_close(&walked);
}

/* As today's own reading of that kind: 0 until something is added. */
static void what_nothing_was_added_to_is_left_as_0(void **state)
{
    (void)state;
    struct walked walked;
    walked_begin(&walked, adding);
    walked_say(&walked, "412.5");
    walked_say(&walked, "thick");
    walked_say(&walked, "0.5");
    assert_prompt(&walked, PROMPT_ACTION, "last");
    struct value own = walked_value(&walked, "caught", &walked.scratch);
    assert_false(own.items[0].is_missing);
    const struct earlier_value *values;
    assert_int_equal(left(&walked, "caught", &values), 1);
    assert_true(values[0].has_number && values[0].has_uncertainty);
    assert_true(values[0].si == 0 && values[0].uncertainty == 0);
    assert_says(values[0].shown, "0\u00a0mL");
    assert_int_equal(left(&walked, "seen", &values), 0); /* not one that is added up */
    walked_close(&walked);
}

static void what_was_skipped_is_not_left_as_0(void **state)
{
    (void)state;
    struct walked walked;
    walked_begin(&walked, adding);
    walked_say(&walked, "412.5");
    walked_say(&walked, "thin");
    walked_say(&walked, "0.25");
    walked_say(&walked, "0.5");
    assert_prompt(&walked, PROMPT_READING, "caught");
    walked_take(&walked, job_skip(walked.job, TEXT("no jug"), walked.now, &walked.scratch));
    assert_taken(&walked);
    assert_prompt(&walked, PROMPT_ACTION, "last");
    const struct earlier_value *values;
    assert_int_equal(left(&walked, "caught", &values), 0);
    assert_int_equal(left(&walked, "poured", &values), 1);
    walked_close(&walked);
}

static void what_was_left_unread_is_not_left(void **state)
{
    (void)state;
    struct walked walked;
    walked_begin(&walked, HEAD "steps:\n"
                               "  - {step: look, do: Look., record: {depth: {unit: mm}}}\n"
                               "  - step: fill\n    do: Fill.\n"
                               "    record: {poured: {unit: L, again: adds}}\n");
    walked_say(&walked, "unread it is dark");
    walked_say(&walked, "unread no jug");
    const struct earlier_value *values;
    assert_int_equal(left(&walked, "depth", &values), 0);
    assert_int_equal(left(&walked, "poured", &values), 0);
    assert_int_equal(job_left_behind(walked.job, TEXT("nothing"), type_of(&walked, "depth"),
                                     &values, &walked.scratch),
                     0);
    walked_close(&walked);
}

static void a_reading_by_position_leaves_each_by_its_label(void **state)
{
    (void)state;
    struct walked walked;
    walked_begin(&walked, HEAD "steps:\n"
                               "  - step: look\n    do: Look.\n    each: wheel\n"
                               "    record: {depth: {unit: mm}}\n"
                               "results:\n"
                               "  - {result: most, value: max(depth), unit: mm}\n");
    walked_say(&walked, "4");
    walked_say(&walked, "unread it is off");
    walked_say(&walked, "6");
    walked_say(&walked, "7");
    const struct earlier_value *values;
    assert_int_equal(left(&walked, "depth", &values), 3);
    assert_true(text_equal(values[0].name, TEXT("depth[front left]")));
    assert_true(text_equal(values[1].name, TEXT("depth[rear left]")));
    assert_true(is_near(values[1].si, 0.006));
    assert_int_equal(left(&walked, "most", &values), 0); /* a result is not entered */
    walked_close(&walked);
}

/* What had the name then is another thing today. */
static void a_value_of_another_type_is_none(void **state)
{
    (void)state;
    struct walked walked;
    walked_begin(&walked, adding);
    walked_say(&walked, "412.5");
    walked_say(&walked, "thin");
    walked_say(&walked, "0.25");
    const struct earlier_value *values;
    struct type length = type_of(&walked, "seen"), text = type_of(&walked, "oil");
    struct type by_position = type_of(&walked, "poured");
    by_position.index = 0;
    struct text poured = TEXT("poured"), oil = TEXT("oil");
    struct arena *arena = &walked.scratch;
    assert_int_equal(job_left_behind(walked.job, poured, length, &values, arena), 0);
    assert_int_equal(job_left_behind(walked.job, poured, text, &values, arena), 0);
    assert_int_equal(job_left_behind(walked.job, poured, by_position, &values, arena), 0);
    assert_int_equal(job_left_behind(walked.job, oil, length, &values, arena), 0);
    walked_close(&walked);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_reading_leaves_its_mean_with_what_it_was_uncertain_by),
        cmocka_unit_test(it_is_the_gauge_of_that_job_that_counts),
        cmocka_unit_test(what_was_added_is_left_as_its_sum_and_an_input_as_exact),
        cmocka_unit_test(what_nothing_was_added_to_is_left_as_0),
        cmocka_unit_test(what_was_skipped_is_not_left_as_0),
        cmocka_unit_test(what_was_left_unread_is_not_left),
        cmocka_unit_test(a_reading_by_position_leaves_each_by_its_label),
        cmocka_unit_test(a_value_of_another_type_is_none),
    };
    return cmocka_run_group_tests_name("job/left_behind", tests, NULL, NULL);
}

#include "support/walked_job.h"

#include <math.h>

static double at(struct walked *walked, const char *name, size_t position)
{
    return walked_value(walked, name, &walked->scratch).items[position].number.value;
}

static double uncertainty_at(struct walked *walked, const char *name, size_t position)
{
    struct value value = walked_value(walked, name, &walked->scratch);
    return gradient_combined(value.items[position].number.gradient);
}

static bool is_near(double a, double b)
{
    return fabs(a - b) <= 1e-9 * fmax(fabs(a), fabs(b));
}

static const char gauged[] =
    HEAD "gauges:\n"
         "  tester: {unit: bar, resolution: 0.1 bar, accuracy: 2 %}\n"
         "steps:\n"
         "  - step: measure\n"
         "    each: cylinder\n"
         "    do: Measure.\n"
         "    record: {dry: {gauge: tester, readings: 2}}\n"
         "results:\n"
         "  - {result: ratio, value: min(dry) / max(dry), unit: \"1\"}\n";

/* JCGM 100:2008: rectangular half-widths over sqrt(3) (4.3.7), mean of n repeats s/sqrt(n) (4.2.3),
 * root of the sum of squares (5.1.2). */
static void a_reading_carries_what_it_is_uncertain_by(void **state)
{
    (void)state;
    struct walked walked;
    walked_begin(&walked, gauged);
    const char *const typed[] = {"11.6", "11.8", "11.4", "11.4", "8.1", "8.5", "12", "12"};
    for (size_t i = 0; i < 8; i++)
        walked_say(&walked, typed[i]);
    assert_true(job_has_ended(walked.job));
    assert_true(is_near(at(&walked, "dry", 0), 11.7e5));
    /* Squares within: 0.02 + 0 + 0.08 + 0 bar2, four degrees of freedom. */
    double repeat = sqrt(0.10 / 4.0) * 1e5 / sqrt(2.0);
    double accuracy = 0.02 * 11.7e5 / sqrt(3.0);
    double resolution = 0.05e5 / sqrt(3.0);
    double wanted = sqrt(repeat * repeat + accuracy * accuracy + resolution * resolution);
    assert_true(is_near(uncertainty_at(&walked, "dry", 0), wanted));
    walked_close(&walked);
}

/* 300 additions want 300 numbers, not 300 times all of them: with 900 a job found no end. */
static void many_additions_are_added_up_in_little_memory(void **state)
{
    (void)state;
    enum { ROUNDS = 300 };
    struct walked walked;
    walked_begin(&walked, HEAD "steps:\n"
                               "  - repeat: many\n"
                               "    times: 300\n"
                               "    steps:\n"
                               "      - {step: pour, do: Pour., record: {fill: {unit: mL, "
                               "again: adds}}}\n");
    for (int i = 0; i < ROUNDS; i++)
        walked_say(&walked, "0.1");
    struct arena little = arena_open(MEBIBYTE, walked_exhausted);
    struct value value = walked_value(&walked, "fill", &little);
    assert_true(is_near(value.items[0].number.value, ROUNDS * 0.1e-6));
    arena_close(&little);
    walked_close(&walked);
}

static void the_error_of_one_gauge_cancels_in_a_ratio(void **state)
{
    (void)state;
    struct walked walked;
    walked_begin(&walked, gauged);
    for (size_t i = 0; i < 8; i++)
        walked_say(&walked, i / 2 == 2 ? "8" : "12");
    double resolution = 0.05 / sqrt(3.0);
    double relative = sqrt(pow(resolution / 8.0, 2) + pow(resolution / 12.0, 2));
    assert_true(is_near(at(&walked, "ratio", 0), 8.0 / 12.0));
    assert_true(is_near(uncertainty_at(&walked, "ratio", 0), relative * 8.0 / 12.0));
    walked_close(&walked);
}

static void the_last_reading_stands_and_all_are_kept(void **state)
{
    (void)state;
    struct walked walked;
    walked_begin(&walked, HEAD "steps:\n"
                               "  - repeat: twice\n"
                               "    times: 2\n"
                               "    steps:\n"
                               "      - step: measure\n"
                               "        do: Measure.\n"
                               "        record:\n"
                               "          last: {unit: bar, readings: 2, use: highest}\n"
                               "          all_of: {unit: bar, again: repeats}\n"
                               "          filled: {unit: mL, again: adds}\n"
                               "          middle: {unit: V, readings: 3, use: median}\n");
    struct value never = walked_value(&walked, "filled", &walked.scratch);
    assert_false(never.items[0].is_missing);
    assert_true(never.items[0].number.value == 0.0);
    const char *const typed[] = {"1", "2",   "10", "100", "7", "5", "9",
                                 "3", "2.5", "20", "50",  "1", "4", "2"};
    for (size_t i = 0; i < 14; i++) {
        walked_say(&walked, typed[i]);
        assert_taken(&walked);
        if (walked.prompt.kind != PROMPT_INSIST)
            continue;
        walked_say(&walked, "keep it");
        walked_say(&walked, "they are far apart");
    }
    assert_true(job_has_ended(walked.job));
    assert_true(is_near(at(&walked, "last", 0), 3e5));
    assert_true(is_near(at(&walked, "all_of", 0), 15e5));
    assert_true(is_near(at(&walked, "filled", 0), 150e-6));
    assert_true(is_near(at(&walked, "middle", 0), 2.0));
    assert_int_equal(walked_count(&walked, EVENT_READ), 14);
    walked_close(&walked);
}

static void scatter_sees_the_repeats(void **state)
{
    (void)state;
    struct walked walked;
    walked_begin(&walked, HEAD "steps:\n"
                               "  - step: measure\n"
                               "    do: Measure.\n"
                               "    record: {volts: {unit: V, readings: 3}}\n"
                               "results:\n"
                               "  - {result: spread, value: scatter(volts), unit: V}\n");
    walked_say(&walked, "12");
    walked_say(&walked, "13");
    walked_say(&walked, "14");
    assert_true(is_near(at(&walked, "spread", 0), 1.0));
    walked_close(&walked);
}

static void an_earlier_value_comes_from_the_start_or_is_missing(void **state)
{
    (void)state;
    struct walked walked;
    walked_begin(&walked,
                 HEAD "inputs:\n"
                      "  odometer: {unit: km}\n"
                      "steps:\n"
                      "  - {step: look, do: Look.}\n"
                      "results:\n"
                      "  - {result: driven, value: odometer - earlier.odometer, unit: km}\n");
    walked_say(&walked, "84210 km");
    assert_true(walked_value(&walked, "driven", &walked.scratch).items[0].is_missing);
    struct earlier_value earlier = {
        .name = TEXT("odometer"), .has_number = true, .si = 80000e3, .shown = TEXT("80000 km")};
    struct event started = *job_events(walked.job, &(size_t){0});
    started.earlier = &earlier;
    started.earlier_count = 1;
    walked.job = job_begin(&walked.sound, walked.fitted, &walked.arena);
    job_apply(walked.job, &started);
    walked_look(&walked);
    walked_say(&walked, "84210 km");
    assert_true(is_near(at(&walked, "driven", 0), 4210e3));
    walked_close(&walked);
}

/* 11 V today, 1 % of them rectangular, after that value. */
static void walk_after(struct walked *walked, const struct earlier_value *earlier)
{
    walked_begin(walked, HEAD "gauges: {meter: {unit: V, accuracy: 1 %}}\n"
                              "steps:\n"
                              "  - {step: look, do: Look., record: {volts: {gauge: meter}}}\n"
                              "results:\n"
                              "  - {result: change, value: volts - earlier.volts, unit: V}\n"
                              "  - {result: nothing, value: earlier.volts - earlier.volts, "
                              "unit: V}\n");
    struct event started = *job_events(walked->job, &(size_t){0});
    started.earlier = earlier;
    started.earlier_count = 1;
    walked->job = job_begin(&walked->sound, walked->fitted, &walked->arena);
    job_apply(walked->job, &started);
    walked_look(walked);
    walked_say(walked, "11 V");
    assert_true(is_near(at(walked, "change", 0), -1));
}

/* JCGM 100:2008, 5.1.2 and G.4.1: one new source, of the freedom it had then. */
static void an_earlier_reading_has_the_error_it_had_then(void **state)
{
    (void)state;
    struct walked walked;
    struct earlier_value earlier = {.name = TEXT("volts"),
                                    .has_number = true,
                                    .si = 12,
                                    .shown = TEXT("12 V"),
                                    .has_uncertainty = true,
                                    .uncertainty = 0.5,
                                    .freedom = 4};
    walk_after(&walked, &earlier);
    double today = 0.11 / sqrt(3), both = sqrt(0.5 * 0.5 + today * today);
    assert_true(is_near(uncertainty_at(&walked, "change", 0), both));
    struct value change = walked_value(&walked, "change", &walked.scratch);
    assert_true(is_near(gradient_freedom(change.items[0].number.gradient),
                        pow(both, 4) / (pow(0.5, 4) / 4)));
    assert_true(uncertainty_at(&walked, "nothing", 0) ==
                0); /* one source, however often used */
    walked_close(&walked);
}

static void an_earlier_value_that_was_exact_stays_so(void **state)
{
    (void)state;
    struct walked walked;
    struct earlier_value earlier = {.name = TEXT("volts"),
                                    .has_number = true,
                                    .si = 12,
                                    .shown = TEXT("12 V"),
                                    .has_uncertainty = true};
    walk_after(&walked, &earlier);
    assert_true(is_near(uncertainty_at(&walked, "change", 0), 0.11 / sqrt(3)));
    walked_close(&walked);
}

/* A record from before it was kept: taken as good as today's gauge, 1 % of 12 V, and never as exact. */
static void an_earlier_value_of_unknown_uncertainty_is_not_taken_as_exact(void **state)
{
    (void)state;
    struct walked walked;
    struct earlier_value earlier = {
        .name = TEXT("volts"), .has_number = true, .si = 12, .shown = TEXT("12 V")};
    walk_after(&walked, &earlier);
    assert_true(is_near(uncertainty_at(&walked, "change", 0),
                        sqrt(0.12 * 0.12 + 0.11 * 0.11) / sqrt(3)));
    walked_close(&walked);
}

/* A part of the reading is a part of what the scale shows: 2 % of 20 °C are 0.4 K. */
static void a_part_of_a_temperature_is_of_what_is_read(void **state)
{
    (void)state;
    struct walked walked;
    walked_begin(&walked, HEAD "gauges: {thermometer: {unit: \"°C\", accuracy: 2 %}}\n"
                               "steps:\n"
                               "  - {step: look, do: Look., record: {warm: {gauge: "
                               "thermometer}}}\n"
                               "results:\n"
                               "  - {result: it, value: warm, unit: \"°C\"}\n");
    walked_say(&walked, "20");
    assert_true(is_near(uncertainty_at(&walked, "warm", 0), 0.4 / sqrt(3)));
    walked_close(&walked);
}

/* A meter that shows 2 % too much shows too much on both sides of zero. */
static void a_part_of_the_reading_turns_with_its_sign(void **state)
{
    (void)state;
    struct walked walked;
    walked_begin(&walked,
                 HEAD "gauges: {meter: {unit: V, accuracy: 2 %}}\n"
                      "steps:\n"
                      "  - {step: look, do: Look., record: {low: {gauge: meter}, high: {gauge: "
                      "meter}}}\n"
                      "results:\n"
                      "  - {result: swing, value: high - low, unit: V}\n"
                      "  - {result: middle, value: (high + low) / 2, unit: V}\n");
    walked_say(&walked, "-10");
    walked_say(&walked, "10");
    assert_true(is_near(uncertainty_at(&walked, "swing", 0), 0.4 / sqrt(3)));
    assert_true(uncertainty_at(&walked, "middle", 0) < 1e-12);
    walked_close(&walked);
}

/* Four positions with two readings each: one pool of four degrees of freedom. */
static void repeats_of_one_reading_are_one_pool(void **state)
{
    (void)state;
    struct walked walked;
    walked_begin(&walked,
                 HEAD "steps:\n"
                      "  - {step: look, each: cylinder, do: Look., record: {play: {unit: "
                      "mm, readings: 2}}}\n"
                      "results:\n"
                      "  - {result: apart, value: max(play) - min(play), unit: mm}\n");
    const char *const typed[] = {"1.0", "1.1", "2.0", "2.1", "3.0", "3.1", "4.0", "4.1"};
    for (size_t i = 0; i < 8; i++)
        walked_say(&walked, typed[i]);
    struct measured apart = walked_value(&walked, "apart", &walked.scratch).items[0].number;
    assert_true(fabs(gradient_freedom(apart.gradient) - 4) < 1e-9);
    /* s = 0.0707 mm, a mean of two 0.05 mm, the difference of two such 0.0707 mm; t(4) = 2.776 */
    assert_true(fabs(gradient_expanded(apart.gradient) - 2.776e-3 * 0.0707107) < 1e-7);
    walked_close(&walked);
}

static void a_blank_says_how_long_and_which_is_first(void **state)
{
    (void)state;
    struct walked walked;
    walked_begin(&walked,
                 HEAD "steps:\n"
                      "  - {step: pour, do: Pour it., starts: {soak: {at_least: 1 min}}}\n"
                      "  - step: read\n"
                      "    do: \"After {elapsed(soak)}, at {first_of(cylinder)}.\"\n"
                      "    awaits: soak\n"
                      "    record: {play: {unit: mm, readings: 2}}\n");
    walked_say(&walked, "");
    walked_pass(&walked, 60 * 65);
    walked_answer(&walked, (struct answer){.kind = ANSWER_WAKE});
    walked_say(&walked, "0.20");
    struct text action = job_fill(walked.job, &walked.prompt.work->step->action,
                                  &walked.prompt.spot, &walked.scratch);
    assert_true(text_equal(action, TEXT("After 65\u00a0min, at 1.")));
    walked_close(&walked);
}

static void blanks_show_values_as_they_were_typed(void **state)
{
    (void)state;
    struct walked walked;
    walked_begin(&walked,
                 HEAD "machine:\n"
                      "  displacement: mL\n"
                      "inputs:\n"
                      "  turns: {unit: \"1\"}\n"
                      "steps:\n"
                      "  - step: measure\n"
                      "    each: cylinder\n"
                      "    do: \"{turns} of {machine.displacement / size(cylinder)}.\"\n"
                      "    record: {play: {unit: mm}}\n"
                      "  - step: tell\n"
                      "    each: cylinder\n"
                      "    do: \"{play[cylinder]} and {play}, {{braces}}.\"\n");
    walked_say(&walked, "2.50");
    struct text action = job_fill(walked.job, &walked.prompt.work->step->action,
                                  &walked.prompt.spot, &walked.scratch);
    assert_true(text_equal(action, TEXT("2.50 of 400\u00a0mL.")));
    for (size_t i = 0; i < 4; i++)
        walked_say(&walked, "0.20");
    action = job_fill(walked.job, &walked.prompt.work->step->action, &walked.prompt.spot,
                      &walked.scratch);
    assert_says(action, "0.20\u00a0mm and 1: 0.2\u00a0mm, 2: 0.2\u00a0mm");
    assert_says(action, "{braces}");
    walked_close(&walked);
}

/* Worked out anew at each use, sixty doublings would be 2^60 evaluations. */
static void names_that_rest_twice_on_names_are_worked_out_once(void **state)
{
    (void)state;
    struct walked walked;
    char procedure[4000];
    size_t at = (size_t)snprintf(procedure, sizeof procedure,
                                 HEAD "inputs: {a: {unit: mm}}\nnames:\n  n0: a + a\n");
    for (int i = 1; i < 30; i++)
        at += (size_t)snprintf(procedure + at, sizeof procedure - at, "  n%d: n%d + n%d\n", i,
                               i - 1, i - 1);
    (void)snprintf(procedure + at, sizeof procedure - at,
                   "steps:\n  - {step: s, do: \"Set {n29}.\"}\n"
                   "results:\n  - {result: most, value: n29 + n29}\n");
    walked_begin(&walked, procedure);
    walked_say(&walked, "1 mm");
    assert_prompt(&walked, PROMPT_ACTION, "s");
    walked_say(&walked, "");
    assert_true(is_near(walked_value(&walked, "most", &walked.scratch).items[0].number.value,
                        0.001 * 2147483648.0));
    walked_close(&walked);
}

/* No unit of the author's fits what they are, so all of them are looked through for one. */
static void a_unit_is_not_sought_for_ever(void **state)
{
    (void)state;
    struct walked walked;
    char procedure[4000];
    size_t at = (size_t)snprintf(procedure, sizeof procedure,
                                 HEAD "inputs: {a: {unit: mm}}\nnames:\n  n0: a * a\n");
    for (int i = 1; i < 30; i++)
        at += (size_t)snprintf(procedure + at, sizeof procedure - at, "  n%d: n%d + n%d\n", i,
                               i - 1, i - 1);
    (void)snprintf(procedure + at, sizeof procedure - at,
                   "steps:\n  - {step: s, do: \"Set {n29}.\"}\n");
    walked_begin(&walked, procedure);
    walked_say(&walked, "1 mm");
    assert_prompt(&walked, PROMPT_ACTION, "s");
    assert_says(job_fill(walked.job, &walked.prompt.work->step->action, &walked.prompt.spot,
                         &walked.scratch),
                "Set ");
    walked_close(&walked);
}

static void a_template_shows_what_was_typed_and_rounds_what_was_worked_out(void **state)
{
    (void)state;
    struct walked walked;
    walked_begin(&walked, HEAD "inputs: {a: {unit: mm}}\n"
                               "steps:\n"
                               "  - {step: s, do: \"From {a} take {a / 7}.\"}\n");
    walked_say(&walked, "24.50 mm");
    assert_prompt(&walked, PROMPT_ACTION, "s");
    assert_says(job_fill(walked.job, &walked.prompt.work->step->action, &walked.prompt.spot,
                         &walked.scratch),
                "From 24.50\u00a0mm take 3.5\u00a0mm.");
    walked_close(&walked);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_reading_carries_what_it_is_uncertain_by),
        cmocka_unit_test(the_error_of_one_gauge_cancels_in_a_ratio),
        cmocka_unit_test(many_additions_are_added_up_in_little_memory),
        cmocka_unit_test(the_last_reading_stands_and_all_are_kept),
        cmocka_unit_test(scatter_sees_the_repeats),
        cmocka_unit_test(an_earlier_value_comes_from_the_start_or_is_missing),
        cmocka_unit_test(an_earlier_reading_has_the_error_it_had_then),
        cmocka_unit_test(an_earlier_value_that_was_exact_stays_so),
        cmocka_unit_test(an_earlier_value_of_unknown_uncertainty_is_not_taken_as_exact),
        cmocka_unit_test(a_part_of_a_temperature_is_of_what_is_read),
        cmocka_unit_test(a_part_of_the_reading_turns_with_its_sign),
        cmocka_unit_test(repeats_of_one_reading_are_one_pool),
        cmocka_unit_test(a_blank_says_how_long_and_which_is_first),
        cmocka_unit_test(blanks_show_values_as_they_were_typed),
        cmocka_unit_test(names_that_rest_twice_on_names_are_worked_out_once),
        cmocka_unit_test(a_unit_is_not_sought_for_ever),
        cmocka_unit_test(a_template_shows_what_was_typed_and_rounds_what_was_worked_out),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}

#include "support/walked_job.h"

static const char dry[] =
    HEAD "gauges:\n"
         "  tester: {unit: bar, resolution: 0.1 bar, accuracy: 2 %}\n"
         "steps:\n"
         "  - step: crank_it\n"
         "    each: cylinder\n"
         "    do: Crank.\n"
         "    record:\n"
         "      dry: {gauge: tester, readings: 2, between: [0 bar, 25 bar]}\n"
         "      strokes: {unit: \"1\", whole: true}\n";

static void a_value_is_taken_with_its_unit_and_echoed(void **state)
{
    (void)state;
    struct walked walked;
    walked_begin(&walked, dry);
    assert_prompt(&walked, PROMPT_READING, "dry");
    assert_says(walked.prompt.question, "cylinder 1 (1 of 2), in bar");
    walked_say(&walked, "11,6");
    assert_taken(&walked);
    assert_says(walked.last.echo, "cylinder 1: 11,6\u00a0bar");
    const struct event *read = walked_newest(&walked, EVENT_READ);
    assert_true(text_equal(read->typed, TEXT("11,6")));
    assert_true(text_equal(read->gauge, TEXT("tester")));
    assert_true(read->value > 1159999.0 && read->value < 1160001.0);
    walked_say(&walked, "171 psi");
    /* NIST SP 811: 1 psi = 6894.757 Pa. */
    assert_says(walked.last.echo, "171\u00a0psi (11.79\u00a0bar)");
    walked_replays(&walked);
    walked_close(&walked);
}

static const char psi_tester[] =
    "gauges:\n  tester: {unit: psi, resolution: 2 psi, accuracy: 2 %}\n";

/* NIST SP 811: 1 psi = 6894.757 Pa, so that 168 psi are 11.583 bar and 25 bar 362.6 psi. */
static void a_gauge_of_ones_own_is_asked_in_what_stands_on_its_scale(void **state)
{
    (void)state;
    struct walked walked;
    walked_begin_with(&walked, dry, psi_tester);
    assert_says(walked.prompt.question, "cylinder 1 (1 of 2), in psi");
    assert_true(text_equal(walked.prompt.unit->symbol, TEXT("psi")));
    walked_say(&walked, "168");
    assert_taken(&walked);
    assert_says(walked.last.echo, "cylinder 1: 168\u00a0psi (11.58\u00a0bar)");
    const struct event *read = walked_newest(&walked, EVENT_READ);
    assert_true(text_equal(read->typed, TEXT("168")));
    assert_true(text_equal(read->meaning, TEXT("168\u00a0psi")));
    assert_true(text_equal(read->unit, TEXT("psi")));
    assert_true(read->value > 1158318.0 && read->value < 1158320.0);
    walked_say(&walked, "11.6 bar");
    assert_says(walked.last.echo, "cylinder 1: 11.6\u00a0bar");
    assert_true(walked_newest(&walked, EVENT_READ)->value > 1159999.0);
    walked_replays(&walked);
    walked_close(&walked);
}

static void what_is_plausible_is_said_in_the_unit_of_the_gauge(void **state)
{
    (void)state;
    struct walked walked;
    walked_begin_with(&walked, dry, psi_tester);
    walked_say(&walked, "high");
    assert_refused(&walked, "a number, in psi if no unit is typed");
    walked_say(&walked, "1680");
    assert_prompt(&walked, PROMPT_INSIST, "dry");
    assert_says(walked.prompt.question, "1680\u00a0psi (115.8\u00a0bar) is unlikely; likely is "
                                        "0\u00a0psi to 362.6\u00a0psi.");
    walked_say(&walked, "keep it");
    assert_says(walked.prompt.question, "1680\u00a0psi is kept");
    walked_say(&walked, "");
    walked_say(&walked, "168");
    assert_prompt(&walked, PROMPT_READING, "dry");
    assert_int_equal(walked.prompt.repeat, 2);
    walked_close(&walked);
}

/* 25 N.m = 18.44 lbf.ft (NIST SP 811, B.8: 1 lbf.ft = 1.355 818 N.m); with 50 mm on a wrench of 200 mm,
 * 25 * 200 / 250 = 20 N.m = 14.75 lbf.ft. */
static void a_wrench_of_ones_own_is_set_by_its_own_scale(void **state)
{
    (void)state;
    struct walked walked;
    static const char cap[] = HEAD
        "gauges:\n  wrench: {unit: N.m, accuracy: 4 %}\n"
        "steps:\n"
        "  - {step: cap, do: Tighten it., torque: {is: 25 N.m, gauge: wrench}}\n"
        "  - step: nut\n    do: Tighten it.\n"
        "    torque: {is: 25 N.m, gauge: wrench, extension: 50 mm, wrench_length: 200 mm}\n"
        "  - {step: last, do: Close it.}\n";
    walked_begin_with(&walked, cap,
                      "gauges:\n  wrench: {unit: lbf.ft, resolution: 0.5 lbf.ft}\n");
    assert_says(walked.prompt.question, "Torque 25\u00a0N·m (18.44\u00a0lbf·ft)");
    assert_says(walked.prompt.question, "set to, in lbf·ft?");
    walked_say(&walked, "25");
    assert_says(walked.prompt.question,
                "18.44\u00a0lbf·ft was to be set, and 25\u00a0lbf·ft was.");
    walked_say(&walked, "18.5");
    assert_taken(&walked);
    assert_says(walked.prompt.question, "set the wrench to 14.75\u00a0lbf·ft.");
    walked_say(&walked, "20 N.m");
    assert_prompt(&walked, PROMPT_ACTION, "last");
    walked_replays(&walked);
    walked_close(&walked);
}

static void what_cannot_be_meant_is_refused_in_words(void **state)
{
    (void)state;
    struct walked walked;
    walked_begin(&walked, dry);
    walked_say(&walked, "");
    assert_refused(&walked, "Enter alone is none");
    walked_say(&walked, "12 mm");
    assert_refused(&walked, "A pressure is wanted here; 12\u00a0mm is a length.");
    walked_say(&walked, "84,210");
    assert_refused(&walked, "Type 84.210 or 84210.");
    walked_say(&walked, "12 baar");
    assert_refused(&walked, "There is no unit 'baar'.");
    walked_say(&walked, "12 bar bar");
    assert_refused(&walked, "There is no unit 'bar bar'. Type a number, in bar");
    walked_say(&walked, "12e3");
    assert_refused(&walked, "'12e3' is no number here. Type it with all its zeros.");
    walked_say(&walked, "high");
    assert_refused(&walked, "'high' is not a number");
    assert_null(walked_newest(&walked, EVENT_READ));
    walked_say(&walked, "12");
    walked_say(&walked, "12");
    assert_prompt(&walked, PROMPT_READING, "strokes");
    walked_say(&walked, "5.5");
    assert_refused(&walked, "whole number");
    walked_say(&walked, "5");
    assert_taken(&walked);
    walked_close(&walked);
}

/* Absolute zero is -273.15 degrees Celsius by definition (SI brochure, 9th edition, 2.3.1). */
static void nothing_is_colder_than_absolute_zero(void **state)
{
    (void)state;
    struct walked walked;
    walked_begin(&walked, "procedure: p\ntitle: P\nrevision: 1\nabout: P.\nsteps:\n"
                          "  - {step: a, do: Read., record: {warm: {unit: °C}}}\n");
    walked_say(&walked, "-274");
    assert_refused(&walked, "Nothing is as cold as -274\u00a0°C");
    walked_say(&walked, "-459.68 °F");
    assert_refused(&walked, "Nothing is as cold as");
    walked_say(&walked, "-273.15");
    assert_taken(&walked);
    walked_close(&walked);
}

static void an_implausible_value_is_measured_again(void **state)
{
    (void)state;
    struct walked walked;
    walked_begin(&walked, dry);
    walked_say(&walked, "116");
    assert_prompt(&walked, PROMPT_INSIST, "dry");
    assert_says(walked.prompt.question, "116\u00a0bar is unlikely");
    assert_true(text_equal(walked_newest(&walked, EVENT_ANSWERED)->typed, TEXT("116")));
    walked_replays(&walked);
    walked_say(&walked, "");
    assert_prompt(&walked, PROMPT_INSIST, "dry");
    walked_say(&walked, "1");
    assert_prompt(&walked, PROMPT_READING, "dry");
    walked_say(&walked, "11.6");
    assert_int_equal(walked.prompt.repeat, 2);
    walked_close(&walked);
}

static void an_implausible_value_is_kept_with_a_reason(void **state)
{
    (void)state;
    struct walked walked;
    walked_begin(&walked, dry);
    walked_say(&walked, "26 bar");
    walked_say(&walked, "keep it");
    assert_prompt(&walked, PROMPT_REASON, "dry");
    assert_true(walked.prompt.is_free_text);
    assert_says(walked.prompt.question, "Enter alone measures again");
    walked_replays(&walked);
    walked_say(&walked, "a diesel head on it");
    const struct event *read = walked_newest(&walked, EVENT_READ);
    assert_true(text_equal(read->typed, TEXT("26 bar")));
    assert_true(text_equal(read->reason, TEXT("a diesel head on it")));
    assert_true(read->value > 2599999.0 && read->value < 2600001.0);
    assert_int_equal(walked.prompt.repeat, 2);
    walked_close(&walked);
}

static void enter_at_the_reason_measures_again(void **state)
{
    (void)state;
    struct walked walked;
    walked_begin(&walked, dry);
    walked_say(&walked, "26 bar");
    walked_say(&walked, "keep it");
    walked_say(&walked, "");
    assert_taken(&walked);
    assert_prompt(&walked, PROMPT_READING, "dry");
    assert_int_equal(walked.prompt.repeat, 1);
    assert_null(walked_newest(&walked, EVENT_READ));
    walked_replays(&walked);
    walked_close(&walked);
}

static void a_repeat_far_from_the_one_before_is_asked_about_once(void **state)
{
    (void)state;
    struct walked walked;
    walked_begin(&walked, dry);
    walked_say(&walked, "5.3");
    assert_int_equal(walked.prompt.repeat, 2);
    walked_say(&walked, "11.5");
    assert_prompt(&walked, PROMPT_INSIST, "dry");
    assert_says(walked.prompt.question,
                "11.5\u00a0bar is far from the 5.3\u00a0bar read here before. What now?");
    assert_true(text_equal(walked_newest(&walked, EVENT_ANSWERED)->typed, TEXT("11.5")));
    walked_replays(&walked);
    walked_say(&walked, "measure again");
    walked_say(&walked, "11.4");
    assert_prompt(&walked, PROMPT_INSIST, "dry");
    walked_say(&walked, "keep it");
    walked_say(&walked, "the first stroke leaked");
    const struct event *read = walked_newest(&walked, EVENT_READ);
    assert_true(text_equal(read->typed, TEXT("11.4")));
    assert_true(text_equal(read->reason, TEXT("the first stroke leaked")));
    assert_int_equal(read->repeat, 2);
    walked_replays(&walked);
    walked_close(&walked);
}

/* A fifth of 10 bar is 2 bar; 12 bar is no farther than that. */
static void a_repeat_a_fifth_away_is_near(void **state)
{
    (void)state;
    struct walked walked;
    walked_begin(&walked, dry);
    walked_say(&walked, "10");
    walked_say(&walked, "12");
    assert_prompt(&walked, PROMPT_READING, "strokes");
    walked_close(&walked);
    walked_begin(&walked, dry);
    walked_say(&walked, "10");
    walked_say(&walked, "12.1");
    assert_prompt(&walked, PROMPT_INSIST, "dry");
    walked_close(&walked);
}

/* Read to 1 bar by a gauge good for 1 bar, one reading has a standard uncertainty of
 * sqrt(1^2/3 + 1^2/12) bar = 0.645 bar and the difference of two 0.913 bar; twice that is 1.83 bar. */
static void what_the_gauge_explains_is_not_far(void **state)
{
    (void)state;
    static const char coarse[] =
        HEAD "gauges:\n"
             "  tester: {unit: bar, resolution: 1 bar, accuracy: 1 bar}\n"
             "steps:\n"
             "  - {step: read, do: Read it., record: {low: {gauge: tester, readings: 2}}}\n";
    struct walked walked;
    walked_begin(&walked, coarse);
    walked_say(&walked, "2");
    walked_say(&walked, "3.8");
    assert_prompt(&walked, PROMPT_ENDED, "");
    walked_close(&walked);
    walked_begin(&walked, coarse);
    walked_say(&walked, "2");
    walked_say(&walked, "3.9");
    assert_prompt(&walked, PROMPT_INSIST, "low");
    walked_close(&walked);
}

/* 300 K and 311 K are 4 % apart, 0 and 9 degrees are without a part of anything. */
static void temperatures_are_far_by_their_difference(void **state)
{
    (void)state;
    static const char warm[] =
        HEAD "steps:\n"
             "  - {step: read, do: Read it., record: {oil: {unit: °C, readings: 2}}}\n";
    struct walked walked;
    walked_begin(&walked, warm);
    walked_say(&walked, "0");
    walked_say(&walked, "9.9");
    assert_prompt(&walked, PROMPT_ENDED, "");
    walked_close(&walked);
    walked_begin(&walked, warm);
    walked_say(&walked, "80");
    walked_say(&walked, "91");
    assert_prompt(&walked, PROMPT_INSIST, "oil");
    walked_close(&walked);
}

/* Plus or minus as shown: 1.8 and 2.2 of a hundred either way. */
static void a_deviation_has_no_fifth(void **state)
{
    (void)state;
    static const char uneven[] =
        HEAD "steps:\n"
             "  - step: read\n"
             "    do: Read it.\n"
             "    record:\n"
             "      off: {unit: rpm, readings: 2, between: [-100 rpm, 100 rpm]}\n"
             "      by: {unit: mm, readings: 2}\n";
    struct walked walked;
    walked_begin(&walked, uneven);
    walked_say(&walked, "0.5");
    walked_say(&walked, "2.2");
    walked_say(&walked, "-0.1");
    walked_say(&walked, "0.4");
    assert_prompt(&walked, PROMPT_ENDED, "");
    walked_close(&walked);
}

/* Two that agree are no slip; so the third is asked about only if it is far from both. */
static void one_of_those_before_near_it_is_enough(void **state)
{
    (void)state;
    static const char thrice[] =
        HEAD "steps:\n"
             "  - {step: read, do: Read it., record: {gap: {unit: mm, readings: 4}}}\n";
    struct walked walked;
    walked_begin(&walked, thrice);
    walked_say(&walked, "1");
    walked_say(&walked, "2");
    walked_say(&walked, "keep it");
    walked_say(&walked, "it sat askew");
    walked_say(&walked, "2.1");
    assert_int_equal(walked.prompt.repeat, 4);
    walked_say(&walked, "4");
    assert_prompt(&walked, PROMPT_INSIST, "gap");
    assert_says(walked.prompt.question,
                "4\u00a0mm is far from what was read here before, 2.1\u00a0mm at the nearest.");
    walked_close(&walked);
}

/* A step done again, a sum and a count are no repeats of one thing. */
static void only_repeats_are_held_against_each_other(void **state)
{
    (void)state;
    static const char several[] =
        HEAD "steps:\n"
             "  - repeat: again\n"
             "    steps:\n"
             "      - step: read\n"
             "        do: Read it.\n"
             "        record:\n"
             "          gap: {unit: mm}\n"
             "          poured: {unit: L, again: adds}\n"
             "          drops: {unit: \"1\", whole: true, readings: 2}\n"
             "          held: {unit: V, again: repeats}\n"
             "    until: gap < 0.1 mm\n"
             "    at_most: 3\n";
    struct walked walked;
    walked_begin(&walked, several);
    walked_say(&walked, "5");
    walked_say(&walked, "3 L");
    walked_say(&walked, "2");
    walked_say(&walked, "6");
    assert_prompt(&walked, PROMPT_READING, "held");
    walked_say(&walked, "12");
    walked_say(&walked, "0.5");
    walked_say(&walked, "0.1 L");
    walked_say(&walked, "1");
    walked_say(&walked, "1");
    assert_prompt(&walked, PROMPT_READING, "held");
    walked_say(&walked, "2");
    assert_prompt(&walked, PROMPT_INSIST, "held");
    walked_close(&walked);
}

static void a_new_value_at_what_now_is_the_measurement_again(void **state)
{
    (void)state;
    struct walked walked;
    walked_begin(&walked, dry);
    walked_say(&walked, "26 bar");
    assert_prompt(&walked, PROMPT_INSIST, "dry");
    walked_say(&walked, "27 bar");
    assert_prompt(&walked, PROMPT_INSIST, "dry");
    assert_null(walked_newest(&walked, EVENT_READ));
    walked_say(&walked, "no idea");
    assert_refused(&walked, "none of these");
    walked_say(&walked, "11.5 bar");
    assert_true(text_equal(walked_newest(&walked, EVENT_READ)->typed, TEXT("11.5 bar")));
    assert_int_equal(walked.prompt.repeat, 2);
    walked_replays(&walked);
    walked_close(&walked);
}

/* ISO 6789-1: 4 % above 10 N.m, 6 % up to there, for a wrench of type II, class A. */
static void a_wrench_set_to_something_else_is_asked_about(void **state)
{
    (void)state;
    struct walked walked;
    walked_begin(&walked, HEAD "machine:\n"
                               "  plug_torque: N.m\n"
                               "steps:\n"
                               "  - {step: tighten, do: Tighten it., torque: "
                               "machine.plug_torque}\n"
                               "  - {step: cap, do: Tighten the cap., torque: 5 N.m}\n"
                               "  - {step: last, do: Close it.}\n");
    assert_prompt(&walked, PROMPT_READING, "tighten.torque");
    walked_say(&walked, "21.9");
    assert_prompt(&walked, PROMPT_INSIST, "tighten.torque");
    assert_says(walked.prompt.question, "21\u00a0N·m was to be set, and 21.9\u00a0N·m was");
    walked_say(&walked, "21.8 N.m");
    assert_prompt(&walked, PROMPT_READING, "cap.torque");
    walked_say(&walked, "5.3");
    assert_prompt(&walked, PROMPT_ACTION, "last");
    walked_replays(&walked);
    walked_close(&walked);
}

static void a_torque_can_be_insisted_on(void **state)
{
    (void)state;
    struct walked walked;
    walked_begin(&walked, HEAD "steps:\n"
                               "  - {step: cap, do: Tighten the cap., torque: 5 N.m}\n"
                               "  - {step: last, do: Close it.}\n");
    walked_say(&walked, "0 N.m");
    assert_prompt(&walked, PROMPT_INSIST, "cap.torque");
    walked_say(&walked, "keep it");
    walked_say(&walked, "an old cap");
    assert_prompt(&walked, PROMPT_ACTION, "last");
    assert_true(text_equal(walked_newest(&walked, EVENT_READ)->reason, TEXT("an old cap")));
    walked_close(&walked);
}

static void what_a_wait_or_an_amount_rests_on_is_never_unread(void **state)
{
    (void)state;
    static const char *const uses[] = {
        "  - {step: b, do: Pour., starts: {soak: {at_least: r * 1 min}}}\n",
        "  - {step: b, do: Pour., consumes: {oil: {is: r * 1 mL, at_most: 5 mL}}}\n",
        "  - {step: b, do: Tighten., torque: r * 1 N.m}\n",
        "  - {step: b, do: \"Pour {r} in.\"}\n",
    };
    for (size_t i = 0; i < sizeof uses / sizeof *uses; i++) {
        struct walked walked;
        char procedure[500];
        (void)snprintf(procedure, sizeof procedure, "%s%s%s", HEAD,
                       "steps:\n  - {step: a, do: Read., record: {r: {unit: \"1\"}}}\n",
                       uses[i]);
        walked_begin(&walked, procedure);
        walked_say(&walked, "unread it is dark");
        assert_refused(&walked, "cannot be left out");
        walked_close(&walked);
    }
}

static void unread_leaves_a_position_missing_and_wants_a_reason(void **state)
{
    (void)state;
    struct walked walked;
    walked_begin(&walked, dry);
    walked_say(&walked, "unread");
    assert_refused(&walked, "Say why");
    walked_say(&walked, "unread the thread is stripped");
    assert_taken(&walked);
    assert_prompt(&walked, PROMPT_READING, "strokes");
    assert_true(walked_value(&walked, "dry", &walked.scratch).items[0].is_missing);
    assert_true(
        text_equal(walked_newest(&walked, EVENT_READ)->reason, TEXT("the thread is stripped")));
    walked_close(&walked);
}

static void what_a_when_rests_on_is_never_unread(void **state)
{
    (void)state;
    struct walked walked;
    walked_begin(&walked, HEAD "steps:\n"
                               "  - {step: volts, do: Measure., record: {rest: {unit: V}}}\n"
                               "  - {step: charge, when: low, do: Charge it.}\n"
                               "names:\n"
                               "  low: rest < 12 V\n");
    walked_say(&walked, "unread no meter");
    assert_refused(&walked, "rests on this reading");
    walked_take(&walked, job_skip(walked.job, TEXT("no meter"), walked.now, &walked.scratch));
    assert_refused(&walked, "rests on a reading");
    walked_say(&walked, "11.9");
    assert_prompt(&walked, PROMPT_ACTION, "charge");
    walked_close(&walked);
}

static void a_choice_is_meant_by_number_words_or_their_beginning(void **state)
{
    (void)state;
    struct walked walked;
    walked_begin(&walked, HEAD "steps:\n"
                               "  - step: look\n"
                               "    do: Look.\n"
                               "    record:\n"
                               "      a: {choices: [dry tan, dry black, wet]}\n"
                               "      b: {choices: [dry tan, dry black, wet]}\n"
                               "      c: {choices: [\"2\", \"1\", \"4\"]}\n"
                               "      d: {text: true}\n");
    walked_say(&walked, "dry");
    assert_refused(&walked, "begins several");
    walked_say(&walked, "4");
    assert_refused(&walked, "none of these");
    walked_say(&walked, "we");
    assert_refused(&walked, "too short");
    walked_say(&walked, "DRY  B");
    assert_true(text_equal(walked_newest(&walked, EVENT_READ)->meaning, TEXT("dry black")));
    walked_say(&walked, "3");
    assert_true(text_equal(walked_newest(&walked, EVENT_READ)->meaning, TEXT("wet")));
    walked_say(&walked, "1");
    assert_true(text_equal(walked_newest(&walked, EVENT_READ)->meaning, TEXT("1")));
    assert_true(walked.prompt.is_free_text);
    walked_say(&walked, "");
    assert_refused(&walked, "words");
    walked_say(&walked, "  a little scored ");
    assert_true(
        text_equal(walked_newest(&walked, EVENT_READ)->meaning, TEXT("a little scored")));
    assert_true(job_has_ended(walked.job));
    walked_close(&walked);
}

static void a_value_the_sheet_lacks_is_asked_with_its_source(void **state)
{
    (void)state;
    struct walked walked;
    walked_begin(&walked,
                 HEAD "machine:\n"
                      "  plug_torque: N.m\n"
                      "  drain_torque: N.m\n"
                      "steps:\n"
                      "  - {step: last, do: \"Tighten to {machine.drain_torque}.\"}\n");
    assert_prompt(&walked, PROMPT_MANUAL_VALUE, "drain_torque");
    walked_say(&walked, "33 mm");
    assert_refused(&walked, "torque is wanted");
    walked_say(&walked, "33");
    assert_prompt(&walked, PROMPT_SOURCE, "drain_torque");
    walked_say(&walked, "");
    assert_refused(&walked, "source");
    walked_replays(&walked);
    walked_say(&walked, "manual, page 12");
    const struct event *value = walked_newest(&walked, EVENT_ANSWERED);
    assert_true(text_equal(value->source, TEXT("manual, page 12")));
    assert_true(value->value == 33.0);
    assert_prompt(&walked, PROMPT_ACTION, "last");
    struct text action = job_fill(walked.job, &walked.prompt.work->step->action,
                                  &walked.prompt.spot, &walked.scratch);
    assert_true(text_equal(action, TEXT("Tighten to 33\u00a0N·m.")));
    walked_close(&walked);
}

static void an_implausible_input_is_asked_again_too(void **state)
{
    (void)state;
    struct walked walked;
    walked_begin(&walked, HEAD "inputs:\n"
                               "  rest: {unit: V, ask: Battery at rest, between: [9 V, 15 V]}\n"
                               "steps:\n"
                               "  - {step: last, do: Close it.}\n");
    assert_says(walked.prompt.question, "Battery at rest, in V");
    walked_say(&walked, "125");
    assert_prompt(&walked, PROMPT_INSIST, "rest");
    walked_say(&walked, "measure");
    assert_prompt(&walked, PROMPT_INPUT, "rest");
    walked_say(&walked, "12.5");
    assert_prompt(&walked, PROMPT_ACTION, "last");
    walked_close(&walked);
}

/* 86004 m is 86 km, and a car may have gone that far; so may one that has gone 86004 km. */
static void a_unit_that_may_be_a_slip_is_asked_about(void **state)
{
    (void)state;
    struct walked walked;
    walked_begin(&walked,
                 HEAD "inputs:\n"
                      "  odometer: {unit: km, ask: Odometer, between: [0 km, 2000000 km]}\n"
                      "steps:\n"
                      "  - step: pour\n"
                      "    do: Pour.\n"
                      "    record: {poured: {unit: L, between: [0 L, 15 L]}}\n"
                      "  - {step: last, do: Close it.}\n");
    walked_say(&walked, "86004 m");
    assert_prompt(&walked, PROMPT_INSIST, "odometer");
    assert_says(walked.prompt.question, "86004\u00a0m (86\u00a0km) is unlikely.");
    walked_replays(&walked);
    walked_say(&walked, "86004 km");
    assert_prompt(&walked, PROMPT_READING, "poured");
    walked_say(&walked, "350 mL"); /* nobody pours 350 L in */
    assert_taken(&walked);
    assert_prompt(&walked, PROMPT_ACTION, "last");
    walked_close(&walked);
}

/* 53440 mi is 86003 km (NIST SP 811: 1 mi = 1.609344 km). */
static void a_unit_near_the_one_asked_for_is_taken(void **state)
{
    (void)state;
    struct walked walked;
    walked_begin(&walked, HEAD "inputs:\n"
                               "  odometer: {unit: km, between: [0 km, 2000000 km]}\n"
                               "steps: [{step: last, do: Close it.}]\n");
    walked_say(&walked, "53440 mi");
    assert_taken(&walked);
    assert_prompt(&walked, PROMPT_ACTION, "last");
    walked_close(&walked);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_value_is_taken_with_its_unit_and_echoed),
        cmocka_unit_test(a_gauge_of_ones_own_is_asked_in_what_stands_on_its_scale),
        cmocka_unit_test(what_is_plausible_is_said_in_the_unit_of_the_gauge),
        cmocka_unit_test(a_wrench_of_ones_own_is_set_by_its_own_scale),
        cmocka_unit_test(what_cannot_be_meant_is_refused_in_words),
        cmocka_unit_test(nothing_is_colder_than_absolute_zero),
        cmocka_unit_test(an_implausible_value_is_measured_again),
        cmocka_unit_test(an_implausible_value_is_kept_with_a_reason),
        cmocka_unit_test(enter_at_the_reason_measures_again),
        cmocka_unit_test(a_repeat_far_from_the_one_before_is_asked_about_once),
        cmocka_unit_test(a_repeat_a_fifth_away_is_near),
        cmocka_unit_test(what_the_gauge_explains_is_not_far),
        cmocka_unit_test(temperatures_are_far_by_their_difference),
        cmocka_unit_test(a_deviation_has_no_fifth),
        cmocka_unit_test(one_of_those_before_near_it_is_enough),
        cmocka_unit_test(only_repeats_are_held_against_each_other),
        cmocka_unit_test(a_new_value_at_what_now_is_the_measurement_again),
        cmocka_unit_test(a_wrench_set_to_something_else_is_asked_about),
        cmocka_unit_test(a_torque_can_be_insisted_on),
        cmocka_unit_test(what_a_wait_or_an_amount_rests_on_is_never_unread),
        cmocka_unit_test(unread_leaves_a_position_missing_and_wants_a_reason),
        cmocka_unit_test(what_a_when_rests_on_is_never_unread),
        cmocka_unit_test(a_choice_is_meant_by_number_words_or_their_beginning),
        cmocka_unit_test(a_value_the_sheet_lacks_is_asked_with_its_source),
        cmocka_unit_test(an_implausible_input_is_asked_again_too),
        cmocka_unit_test(a_unit_that_may_be_a_slip_is_asked_about),
        cmocka_unit_test(a_unit_near_the_one_asked_for_is_taken),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}

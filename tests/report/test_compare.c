/* Two jobs side by side, as tests/cards shows it. */
#include "golden.h"
#include "report/compare.h"
#include "support/trial_ports.h"

#include <math.h>

#define CHOSEN    "    treated: {is: base < 9 bar}\n"
#define END(warm) "  warm_after: " warm " K\n  soak: {design: go on with this trial}\n"
#define LOW                                                                                    \
    "{1: [11.6, 11.7, 11.5], 2: [8.0, 8.1, 8.2], 3: [8.3, 8.2, 8.4], 4: [11.4, 11.5, 11.6]}"
#define HIGH                                                                                   \
    "{1: [11.7, 11.8, 11.6], 2: [9.1, 9.2, 9.0], 3: [9.4, 9.3, 9.2], 4: [11.5, 11.6, 11.7]}"

static struct compared_jobs two_jobs(const struct tried *before, const struct tried *after)
{
    return (struct compared_jobs){.before = {before->fake->session.job, 3},
                                  .after = {after->fake->session.job, 5}};
}

static struct text compared_as(const struct compared_jobs *jobs,
                               const struct compare_treated *treated, struct arena *arena)
{
    struct card card = compare_build(jobs, treated, arena);
    return card_as_text(&card, 80, arena);
}

static struct text compared(struct tried *before, struct tried *after)
{
    struct compared_jobs jobs = two_jobs(before, after);
    return compared_as(&jobs, &(struct compare_treated){0}, &before->fake->arena);
}

static struct text compared_treating(const char *labels, enum judged_better better,
                                     struct tried *before, struct tried *after)
{
    struct compared_jobs jobs = two_jobs(before, after);
    struct compare_treated treated = {.better = better};
    struct text refusal = {0};
    if (!compare_take_treated(&jobs, text_from(labels), &treated, &refusal,
                              &before->fake->arena))
        return refusal;
    return compared_as(&jobs, &treated, &before->fake->arena);
}

/* White space and line breaks are all one. */
static void expect_said(struct text text, const char *words, bool is_expected,
                        struct arena *arena)
{
    char *bytes = arena_array(arena, char, text.length + 1);
    size_t length = 0;
    for (size_t i = 0; i < text.length; i++) {
        bool is_no_break = i + 1 < text.length && memcmp(text.bytes + i, "\u00a0", 2) == 0;
        bool is_space = is_no_break || text.bytes[i] == '\n' || text.bytes[i] == ' ';
        i += is_no_break;
        if (!is_space || (length > 0 && bytes[length - 1] != ' '))
            bytes[length++] = is_space ? ' ' : text.bytes[i];
    }
    struct text flat = {bytes, length};
    if ((text_find(flat, text_from(words)) < length) != is_expected)
        fail_msg("'%s' is %s in: %.*s", words, is_expected ? "not" : "wrongly", (int)length,
                 bytes);
}
#define expect_words(text, words, tried) expect_said(text, words, true, &(tried).fake->arena)
#define expect_none(text, words, tried)  expect_said(text, words, false, &(tried).fake->arena)

static bool says(struct text text, const char *words)
{
    return text_find(text, text_from(words)) < text.length;
}

static void each_change_stands_with_its_band_and_what_else_differed(void **state)
{
    (void)state;
    struct tried before =
        try_out(TRIAL_PROCEDURE(CHOSEN, "3"), TRIAL_ANSWERS(LOW, HIGH, END("352")), 1);
    struct tried after =
        try_out(TRIAL_PROCEDURE(CHOSEN, "3"), TRIAL_ANSWERS(HIGH, HIGH, END("363")), 2);
    struct text text = compared(&before, &after);
    expect_golden(text, "compare-80", &before.fake->arena);
    /* Both means of three with s_r = 0.1 bar from pools of 8 degrees of freedom: u = 0.1 * sqrt(2/3),
     * 16 effective, t(0.975, 16) = 2.120 (NIST/SEMATECH e-Handbook, 1.3.6.7.2): 0.173 bar. */
    assert_true(says(text, "(1.00\u00a0±\u00a00.17)"));
    assert_true(says(text, "(0.10\u00a0±\u00a00.17)"));
    assert_true(says(text, "352\u00a0K"));
    assert_true(says(text, "363\u00a0K"));
    assert_true(says(text, "as the trial 'soak' of job 3 treated them"));
    fake_close(after.fake);
    fake_close(before.fake);
}

static void without_a_trial_nothing_is_known_to_be_left_alone(void **state)
{
    (void)state;
    struct tried before = try_out(TRIAL_PROCEDURE(CHOSEN "    reaches: all\n", "3"),
                                  TRIAL_ANSWERS(LOW, HIGH, END("352")), 1);
    struct tried after = try_out(TRIAL_PROCEDURE(CHOSEN "    reaches: all\n", "3"),
                                 TRIAL_ANSWERS(HIGH, HIGH, END("352")), 2);
    struct text text = compared(&before, &after);
    assert_true(says(text, "Between two jobs nothing is a control."));
    assert_true(says(text, "No position is known to have been left alone"));
    fake_close(after.fake);
    fake_close(before.fake);
}

static void what_was_not_read_has_no_change(void **state)
{
    (void)state;
    struct tried before = try_out(
        TRIAL_PROCEDURE(CHOSEN, "1"),
        TRIAL_ANSWERS("{1: 11, 2: 8, 3: 8, 4: 11}", "{1: 11, 2: 8, 3: 8, 4: 11}", END("352")),
        1);
    struct tried after = try_out(TRIAL_PROCEDURE("    treated: {draw: 2}\n", "1"),
                                 TRIAL_ANSWERS("{1: unread no access, 2: 8, 3: 8, 4: 11}",
                                               "{1: 11, 2: 8, 3: 8, 4: 11}", END("352")),
                                 2);
    assert_true(says(compared(&before, &after), "not read"));
    fake_close(after.fake);
    fake_close(before.fake);
}

/* --- one gauge or two -------------------------------------------------------------------------- */

#define GAUGE(accuracy, calibrated)                                                            \
    "gauges:\n"                                                                                \
    "  dial: {unit: bar, resolution: 0.1 bar, accuracy: " accuracy calibrated "}\n"
#define DATED           ", calibrated: 2026-01-10"
#define DATED_OTHERWISE ", calibrated: 2026-03-01"
#define READ_WITH(accuracy, calibrated)                                                        \
    TRIAL_PROCEDURE_READ(GAUGE(accuracy, calibrated), CHOSEN, "gauge: dial", "gauge: dial", "3")

#define ONCE  "its own error is counted once, if it still reads as it did."
#define TWICE "its own error is counted twice, as that of two gauges."

static void expect_gauges(const char *first, const char *second, const char *change,
                          const char *sentence)
{
    struct tried before = try_out(first, TRIAL_ANSWERS(LOW, HIGH, END("352")), 1);
    struct tried after = try_out(second, TRIAL_ANSWERS(HIGH, HIGH, END("352")), 2);
    struct text text = compared(&before, &after);
    expect_words(text, change, before);
    expect_words(text, sentence, before);
    fake_close(after.fake);
    fake_close(before.fake);
}

/* Cylinder 1, 11.6 bar and then 11.7 bar.  2 % over sqrt(3) (JCGM 100:2008, 4.3.7) is 0.13395 and
 * 0.13510 bar; a step of 0.1 bar over sqrt(12) is 0.02887 (F.2.2.1); a mean of three with s = 0.1 bar is
 * known to 0.1/sqrt(3) = 0.05774.
 * One gauge: 0.13510 - 0.13395 = 0.00115; with 2 * 0.02887^2 + 2 * 0.05774^2 = 0.008333: 0.09130,
 * with 16 (0.09130/0.08165)^4 = 25 degrees of freedom times t = 2.060: 0.188.
 * Two: 0.13395^2 + 0.13510^2 + 0.008333 = 0.04453, root 0.21102, times 1.960 (t of more than 700
 * degrees): 0.414. */
static void one_gauge_in_both_jobs_is_one_error(void **state)
{
    (void)state;
    expect_gauges(READ_WITH("2 %", DATED), READ_WITH("2 %", DATED), "(0.10 ± 0.19) bar", ONCE);
}

static void a_gauge_of_which_that_is_not_known_is_two(void **state)
{
    (void)state;
    const char *dated = READ_WITH("2 %", DATED), *undated = READ_WITH("2 %", "");
    const char *change = "(0.10 ± 0.41) bar";
    expect_gauges(undated, undated, change, "not both say when it was calibrated: " TWICE);
    expect_gauges(dated, undated, change, "not both say when it was calibrated: " TWICE);
    expect_gauges(dated, READ_WITH("2 %", DATED_OTHERWISE), change,
                  "it was calibrated in between: " TWICE);
    /* 2.0001 %: as good to four digits, and not the same */
    expect_gauges(dated, READ_WITH("2.0001 %", DATED), change,
                  "its accuracy is given otherwise: " TWICE);
}

/* --- did it work ----------------------------------------------------------------------------------- */

#define READ_PROCEDURE(head, keys, times)                                                      \
    "procedure: soaking\n"                                                                     \
    "title: Read the cylinders\n"                                                              \
    "revision: 1\n"                                                                            \
    "about: No trial.\n" head "steps:\n"                                                       \
    "  - step: crank\n"                                                                        \
    "    each: cylinder\n"                                                                     \
    "    do: Read cylinder {cylinder}.\n"                                                      \
    "    record: {base: {" keys ", readings: " times "}}\n"
#define READ_ANSWERS(opening, values)                                                          \
    "procedure: soaking\nanswers:\n" opening "  crank: {base: " values "}\n"
#define OPENING                                                                                \
    "inputs:\n"                                                                                \
    "  odometer: {unit: km, ask: Odometer}\n"                                                  \
    "  engine_state: {choices: [cold, warm], ask: How warm}\n"
#define ANSWERED(odometer, warmth) "  odometer: " odometer " km\n  engine_state: " warmth "\n"

#define LOW_ONCE     "{1: 11.0, 2: 8.0, 3: 8.1, 4: 11.1}"
#define READ(values) try_out(READ_PROCEDURE("", "unit: bar", "1"), READ_ANSWERS("", values), 1)

static void end(struct tried *before, struct tried *after)
{
    fake_close(after->fake);
    fake_close(before->fake);
}

/* Changes of the means of three: 0.1, 1.0, 1.0 and 0.1 bar, so by 0.9 bar more.  Neither group spreads, so
 * that the repeats (s = 0.1 bar in each four threes, 16 degrees of freedom together) stand in: a change
 * is known to 0.1 sqrt(2/3) = 0.08165 bar, each group of two gives half the variance of that, together
 * 0.08165 bar, times t(0.975, 16) = 2.120 (NIST/SEMATECH e-Handbook, 1.3.6.7.2): 0.173 bar. */
static void those_named_are_judged_against_those_left_alone(void **state)
{
    (void)state;
    const char *read = READ_PROCEDURE(OPENING GAUGE("2 %", DATED), "gauge: dial", "3");
    struct tried before = try_out(read, READ_ANSWERS(ANSWERED("40000", "cold"), LOW), 1);
    struct tried after = try_out(read, READ_ANSWERS(ANSWERED("41000", "warm"), HIGH), 2);
    struct text text = compared_treating("2 and 3", BETTER_HIGHER, &before, &after);
    expect_golden(text, "compare-treated-80", &before.fake->arena);
    expect_words(text, "went up by 0.90 bar, give or take 0.17 bar. Here that is better.",
                 before);
    expect_words(text, "cylinder 2, treated: +1.00 bar; against the others +0.90 bar", before);
    expect_words(text, "Verdict rose more, downgraded: engine state", before);
    expect_words(text, "Not comparable by engine state: in job 3 cold, in job 5 warm.", before);
    expect_words(text, "One job's repeats: ", before);
    expect_words(text, "the treated ones were the lowest before.", before);
    expect_words(text, "Ceiling: a healthy cylinder cannot get better.", before);
    expect_words(text, "Not drawn by lot:", before);
    expect_words(text, ONCE, before);
    expect_none(text, "Not comparable by odometer", before);
    expect_none(text, "Two gauges", before);
    text = compared_treating("2,3", BETTER_LOWER, &before, &after);
    expect_words(text, "Here that is WORSE.", before);
    text = compared_treating("1 4", BETTER_UNSAID, &before, &after);
    expect_words(text,
                 "went down by 0.90 bar, give or take 0.17 bar. Both groups went up, the "
                 "treated ones less. Before",
                 before);
    expect_words(text, "the treated ones were the highest before.", before);
    end(&before, &after);
}

/* Changes: 0.2, 0, 0.1 and 0.1 bar.  The treated 2 and 3: 0.05 bar, the others 0.15 bar; both variances
 * are 0.005 bar^2, so u = sqrt(0.005/2 + 0.005/2) = 0.0707 bar with 2 degrees of freedom, times
 * 4.303 (NIST/SEMATECH e-Handbook, 1.3.6.7.2): 0.304 bar. */
static void what_did_nothing_is_inconclusive(void **state)
{
    (void)state;
    struct tried before = READ("{1: 11.0, 2: 8.0, 3: 8.1, 4: 11.1}");
    struct tried after = READ("{1: 11.2, 2: 8.0, 3: 8.2, 4: 11.2}");
    struct text text = compared_treating("2,3", BETTER_HIGHER, &before, &after);
    expect_words(text,
                 "Inconclusive: the smallest change this could have shown is 0.30 bar; it came "
                 "out as −0.10 bar.",
                 before);
    expect_words(text, "Verdict inconclusive", before);
    expect_words(text, "Single readings: how much a reading scatters is not known.", before);
    expect_words(text, "1.03 standard deviations too low", before);
    expect_words(text, "Gauge: none was named in either job", before);
    expect_none(text, "downgraded", before);
    expect_none(text, "One job's repeats", before);
    text = compared_treating("1, 2 and 3", BETTER_UNSAID, &before, &after);
    expect_words(text, "No verdict: fewer than two untreated ones", before);
    end(&before, &after);
}

#define TWENTY                                                                                 \
    "machine: alder_engine\ntitle: Alder engine, twenty cylinders\npositions:\n"               \
    "  cylinder: [1, 2, 3, 4, 5, 6, 7, 8, 9, 10, 11, 12, 13, 14, 15, 16, 17, 18, 19, 20]\n"

/* The two processes of NIST/SEMATECH e-Handbook 7.3.1 as changes from 100 bar, the old one treated: means
 * 36.0909 and 32.2222, t = 2.2694 with 15.533 degrees of freedom, where 95 % are 2.1252 (scipy
 * 1.10, stats.t.ppf): 3.8687 bar, and a band of 3.8687 / 2.2694 * 2.1252 = 3.623 bar. */
static void effect_and_band_are_those_of_the_handbook(void **state)
{
    (void)state;
    const char *read = READ_PROCEDURE("", "unit: bar", "1");
    struct tried before = try_out_on(
        TWENTY, read,
        READ_ANSWERS("", "{1: 100, 2: 100, 3: 100, 4: 100, 5: 100, 6: 100, 7: 100, 8: 100, "
                         "9: 100, 10: 100, 11: 100, 12: 100, 13: 100, 14: 100, 15: 100, "
                         "16: 100, 17: 100, 18: 100, 19: 100, 20: 100}"),
        1);
    struct tried after = try_out_on(
        TWENTY, read,
        READ_ANSWERS("", "{1: 132, 2: 137, 3: 135, 4: 128, 5: 141, 6: 144, 7: 135, 8: 131, "
                         "9: 134, 10: 138, 11: 142, 12: 136, 13: 131, 14: 130, 15: 131, "
                         "16: 134, 17: 136, 18: 129, 19: 132, 20: 131}"),
        2);
    struct text text =
        compared_treating("1, 2, 3, 4, 5, 6, 7, 8, 9, 10, 11", BETTER_UNSAID, &before, &after);
    expect_words(text, "went up by 3.9 bar, give or take 3.6 bar.", before);
    expect_none(text, "Regression to the mean", before);
    end(&before, &after);
}

static void another_gauge_downgrades_by_its_name(void **state)
{
    (void)state;
    static const struct {
        const char *then, *verdict, *caution;
    } cases[] = {
        {READ_PROCEDURE(GAUGE("2 %", DATED), "gauge: dial", "3"), "Verdict rose more Set",
         ONCE},
        {READ_PROCEDURE(GAUGE("2 %", DATED_OTHERWISE), "gauge: dial", "3"),
         "Verdict rose more, downgraded: calibration", "Not comparable by calibration: before"},
        {READ_PROCEDURE(GAUGE("2 %", DATED ", title: Another"), "gauge: dial", "3"),
         "Verdict rose more, downgraded: gauge", "after (Another (calibrated 2026-01-10))"},
        {READ_PROCEDURE("", "unit: bar", "3"), "Verdict rose more, downgraded: gauge",
         "after (no gauge named)"},
        /* 2 % of what is read and was, over sqrt(3), are at most 0.25 bar between the groups */
        {READ_PROCEDURE(GAUGE("2 %", ""), "gauge: dial", "3"), "Verdict rose more Set",
         "Perhaps two gauges: before"},
        {READ_PROCEDURE(GAUGE("20 %", ""), "gauge: dial", "3"),
         "Verdict rose more, downgraded: accuracy of the gauge",
         "Not comparable by accuracy of the gauge"},
    };
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
        struct tried before = try_out(READ_PROCEDURE(GAUGE("2 %", DATED), "gauge: dial", "3"),
                                      READ_ANSWERS("", LOW), 1);
        struct tried after = try_out(cases[i].then, READ_ANSWERS("", HIGH), 2);
        struct text text = compared_treating("2,3", BETTER_UNSAID, &before, &after);
        expect_words(text, cases[i].verdict, before);
        expect_words(text, cases[i].caution, before);
        end(&before, &after);
    }
}

/* --- who was treated ---------------------------------------------------------------------------------- */

static void a_trial_says_who_was_treated_and_another_naming_is_not_hidden(void **state)
{
    (void)state;
    struct tried before =
        try_out(TRIAL_PROCEDURE(CHOSEN, "3"), TRIAL_ANSWERS(LOW, HIGH, END("352")), 1);
    struct tried after =
        try_out(TRIAL_PROCEDURE(CHOSEN, "3"), TRIAL_ANSWERS(HIGH, HIGH, END("352")), 2);
    struct text text = compared(&before, &after);
    expect_words(text, "Did it work? Base", before);
    expect_words(text, "2 and 3, as the trial 'soak' of job 3 treated them", before);
    /* read after the treatment already */
    expect_none(text, "Did it work? Retest", before);
    expect_none(text, "nothing is a control", before);
    text = compared_treating("1", BETTER_UNSAID, &before, &after);
    expect_words(text, "Treated 1, as named here", before);
    expect_words(text, "Also treated in between: 2 and 3, by the trial 'soak' of job 3.",
                 before);
    expect_words(text, "Carry-over: the trial 'soak' of job 3 had treated 2 and 3", before);
    end(&before, &after);
}

static void a_trial_of_a_job_in_between_says_it_too(void **state)
{
    (void)state;
    struct tried before = READ("{1: 11.0, 2: 8.0, 3: 8.1, 4: 11.1}");
    struct tried after = READ("{1: 11.2, 2: 9.5, 3: 9.6, 4: 11.2}");
    struct tried between =
        try_out(TRIAL_PROCEDURE(CHOSEN, "3"), TRIAL_ANSWERS(LOW, HIGH, END("352")), 1);
    struct compared_job trials[] = {{between.fake->session.job, 4}};
    struct compared_jobs jobs = two_jobs(&before, &after);
    jobs.between = trials;
    jobs.between_count = 1;
    struct text text = compared_as(&jobs, &(struct compare_treated){0}, &before.fake->arena);
    expect_words(text, "2 and 3, as the trial 'soak' of job 4 treated them", before);
    expect_words(text, "Here that is better.", before);
    expect_none(text, "Also treated in between", before);
    /* the same ones, once more: two remedies */
    struct tried first =
        try_out(TRIAL_PROCEDURE(CHOSEN, "3"), TRIAL_ANSWERS(LOW, HIGH, END("352")), 1);
    jobs.before.job = first.fake->session.job;
    text = compared_as(&jobs, &(struct compare_treated){0}, &before.fake->arena);
    expect_words(text, "2 and 3, as the trial 'soak' of job 3 treated them", before);
    expect_words(text, "Also treated in between: 2 and 3, by the trial 'soak' of job 4.",
                 before);
    fake_close(first.fake);
    fake_close(between.fake);
    end(&before, &after);
}

static void only_where_a_lot_chose_them_choices_are_counted(void **state)
{
    (void)state;
    const char *drawn = TRIAL_PROCEDURE("    treated: {draw: 2}\n", "3");
    struct tried before = try_out(drawn, TRIAL_ANSWERS(LOW, HIGH, END("352")), 1);
    struct tried after =
        try_out(READ_PROCEDURE("", "unit: bar", "3"), READ_ANSWERS("", HIGH), 2);
    struct text text = compared(&before, &after);
    expect_words(text, "of the 6 ways to choose who is treated", before);
    expect_none(text, "Not drawn by lot", before);
    end(&before, &after);
}

static void nothing_is_told_before_the_claim_is_made(void **state)
{
    (void)state;
    struct tried before = READ(LOW_ONCE);
    struct tried after = try_out(TRIAL_PROCEDURE(CHOSEN "    claim: Which got better?\n", "3"),
                                 TRIAL_ANSWERS(LOW, HIGH,
                                               "  warm_after: 352 K\n"
                                               "  soak: {design: go on with this trial, "
                                               "claim: none}\n"),
                                 1);
    fake_begin_job(after.fake); /* anew, as far as the question before the end */
    for (size_t i = 0; i < after.fake->event_count; i++)
        if (after.fake->events[i].kind != EVENT_ENDED)
            job_apply(after.fake->session.job, &after.fake->events[i]);
    struct text text = compared_treating("2,3", BETTER_UNSAID, &before, &after);
    expect_words(text, "not told before the end of job 5", before);
    expect_none(text, "Did it work?", before);
    end(&before, &after);
}

static void labels_that_there_are_not_are_refused_with_those_there_are(void **state)
{
    (void)state;
    struct tried before = READ(LOW_ONCE), after = READ(LOW_ONCE);
    const char *there_are = "there are: cylinder 1, 2, 3 and 4";
    expect_words(compared_treating("5", BETTER_UNSAID, &before, &after), "'5' names no",
                 before);
    expect_words(compared_treating("1 and 5", BETTER_UNSAID, &before, &after), there_are,
                 before);
    expect_words(compared_treating("wheel 1", BETTER_UNSAID, &before, &after), there_are,
                 before);
    expect_words(compared_treating("cylinder 1", BETTER_UNSAID, &before, &after),
                 "Treated 1, as named here", before);
    fake_close(after.fake);
    after = try_out_on("machine: alder_engine\ntitle: Alder engine\npositions: {cylinder: "
                       "[1, 2, 3, 5]}\n",
                       READ_PROCEDURE("", "unit: bar", "1"),
                       READ_ANSWERS("", "{1: 11, 2: 8, 3: 8, 5: 11}"), 2);
    expect_words(compared_treating("1", BETTER_UNSAID, &before, &after),
                 "no reading was taken at the same positions in both jobs", before);
    end(&before, &after);
}

#define CORNERS                                                                                \
    "machine: alder_engine\ntitle: Alder engine\npositions:\n"                                 \
    "  cylinder: [1, front left, 3]\n  wheel: [1, front left, 3]\n"

static void a_label_of_two_kinds_of_positions_is_asked_for_by_its_kind(void **state)
{
    (void)state;
    const char *read = READ_PROCEDURE("", "unit: bar", "1") "  - step: look\n"
                                                            "    each: wheel\n"
                                                            "    do: Read wheel {wheel}.\n"
                                                            "    record: {air: {unit: bar}}\n";
    const char *answers =
        READ_ANSWERS("", "{1: 11, front left: 8, 3: 8}") "  look: {air: {1: 2, front left: 2, "
                                                         "3: 2}}\n";
    struct tried before = try_out_on(CORNERS, read, answers, 1);
    struct tried after = try_out_on(CORNERS, read, answers, 1);
    expect_words(compared_treating("1", BETTER_UNSAID, &before, &after),
                 "'1' may be cylinder or wheel; say which, like 'cylinder 1'", before);
    expect_words(compared_treating("wheel frnt left", BETTER_UNSAID, &before, &after),
                 "did you mean front left? There are: wheel 1, front left and 3", before);
    struct text text = compared_treating("Wheel front left", BETTER_UNSAID, &before, &after);
    expect_words(text, "Did it work? Air", before);
    expect_none(text, "Did it work? Base", before);
    end(&before, &after);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(each_change_stands_with_its_band_and_what_else_differed),
        cmocka_unit_test(without_a_trial_nothing_is_known_to_be_left_alone),
        cmocka_unit_test(what_was_not_read_has_no_change),
        cmocka_unit_test(one_gauge_in_both_jobs_is_one_error),
        cmocka_unit_test(a_gauge_of_which_that_is_not_known_is_two),
        cmocka_unit_test(those_named_are_judged_against_those_left_alone),
        cmocka_unit_test(what_did_nothing_is_inconclusive),
        cmocka_unit_test(effect_and_band_are_those_of_the_handbook),
        cmocka_unit_test(another_gauge_downgrades_by_its_name),
        cmocka_unit_test(a_trial_says_who_was_treated_and_another_naming_is_not_hidden),
        cmocka_unit_test(a_trial_of_a_job_in_between_says_it_too),
        cmocka_unit_test(only_where_a_lot_chose_them_choices_are_counted),
        cmocka_unit_test(nothing_is_told_before_the_claim_is_made),
        cmocka_unit_test(labels_that_there_are_not_are_refused_with_those_there_are),
        cmocka_unit_test(a_label_of_two_kinds_of_positions_is_asked_for_by_its_kind),
    };
    return cmocka_run_group_tests_name("report/compare", tests, NULL, NULL);
}

/* What speaks against leaning on a trial, and what the gauges add to its effect. */
#include "job/trials.h"
#include "measure/uncertainty.h"
#include "support/trial_ports.h"

#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#define WEAK "    treated: {is: base < 9 bar}\n"
#define GAUGES(first, second)                                                                  \
    "gauges:\n"                                                                                \
    "  old: {unit: bar, resolution: 0.1 bar, accuracy: " first "}\n"                           \
    "  new: {unit: bar, resolution: 0.1 bar, accuracy: " second "}\n"
#define UNKNOWN_GAUGES                                                                         \
    "gauges:\n"                                                                                \
    "  old: {unit: bar, resolution: 0.1 bar}\n"                                                \
    "  new: {unit: bar, resolution: 0.1 bar}\n"
#define ONE_GAUGE(accuracy)                                                                    \
    TRIAL_PROCEDURE_READ(GAUGES(accuracy, "1 bar"), WEAK, "gauge: old", "gauge: old", "3")
#define TWO_GAUGES(first, second)                                                              \
    TRIAL_PROCEDURE_READ(GAUGES(first, second), WEAK, "gauge: old", "gauge: new", "3")

/* Means before 11.6, 8.1, 8.3, 11.5 bar, after 11.7, 9.1, 9.3, 11.6 bar; each three 0.1 bar apart. */
#define BEFORE                                                                                 \
    "{1: [11.6, 11.7, 11.5], 2: [8.0, 8.1, 8.2], 3: [8.3, 8.2, 8.4], 4: [11.4, 11.5, 11.6]}"
#define AFTER                                                                                  \
    "{1: [11.7, 11.8, 11.6], 2: [9.1, 9.2, 9.0], 3: [9.4, 9.3, 9.2], 4: [11.5, 11.6, 11.7]}"
#define END "  warm_after: 350 K\n  soak: {design: go on with this trial}\n"

/* Standard uncertainties in bar.  The floors of both groups are 0.1 * sqrt(2/3), and half of the
 * variance of each goes into the effect: 0.1 * sqrt(2/3).  A scale of 0.1 bar rounds by 0.1/sqrt(12)
 * (JCGM 100:2008, F.2.2.1), twice at each of four positions, each at a half. */
static const double spread = 0.0816497, rounding = 0.0408248;
static const double t_16 = 2.120; /* t(0.975, 16), NIST/SEMATECH e-Handbook, 1.3.6.7.2 */

static struct text plain(struct text text, struct arena *arena)
{
    char *bytes = arena_array(arena, char, text.length + 1);
    size_t length = 0;
    for (size_t i = 0; i < text.length; i++) {
        bool is_no_break = i + 1 < text.length && memcmp(text.bytes + i, "\u00a0", 2) == 0;
        bytes[length++] = is_no_break ? ' ' : text.bytes[i];
        i += is_no_break;
    }
    return (struct text){bytes, length};
}

static bool is_cautioned(const struct tried *tried, const char *words)
{
    struct trial_finding finding = trial_found(tried);
    for (size_t i = 0; i < finding.caution_count; i++) {
        struct text caution = plain(finding.cautions[i], &tried->fake->arena);
        if (text_find(caution, text_from(words)) < caution.length)
            return true;
    }
    return false;
}

static struct tried tried_with(const char *procedure)
{
    return try_out(procedure, TRIAL_ANSWERS(BEFORE, AFTER, END), 3);
}

static struct scalar effect_of(const struct tried *tried)
{
    const struct trial *trial = tried->fake->procedure->trials[0];
    return trial_value_of(tried->fake->session.job, trial->number * TRIAL_VALUES + TRIAL_EFFECT,
                          &tried->fake->arena)
        .items[0];
}

static void assert_expanded(const struct tried *tried, double bar)
{
    double expanded = gradient_expanded(effect_of(tried).number.gradient) / 1e5;
    if (!(fabs(expanded - bar) <= 5e-4 * bar))
        fail_msg("%.6f bar, not %.6f bar", expanded, bar);
}

/* --- accuracy and resolution -------------------------------------------------------------------- */

static void what_one_gauge_is_off_by_everywhere_is_not_in_the_effect(void **state)
{
    (void)state;
    struct tried tried = tried_with(ONE_GAUGE("0.5 bar"));
    assert_expanded(&tried, t_16 * hypot(spread, rounding));
    fake_close(tried.fake);
}

static void what_one_gauge_is_off_by_in_proportion_scales_the_effect(void **state)
{
    (void)state;
    struct tried tried = tried_with(ONE_GAUGE("20 %"));
    /* 20 % of 0.9 bar, over sqrt(3) (JCGM 100:2008, 4.3.7) */
    double accuracy = 0.2 * 0.9 / sqrt(3);
    assert_expanded(&tried, t_16 * hypot(hypot(spread, rounding), accuracy));
    /* and leaves the verdict as it is */
    struct trial_finding finding = trial_found(&tried);
    assert_true(text_equal(finding.verdict, TEXT("rose more")));
    assert_false(is_cautioned(&tried, "gauge"));
    fake_close(tried.fake);
}

static void what_two_gauges_are_off_by_everywhere_drops_out_between_the_groups(void **state)
{
    (void)state;
    struct tried tried = tried_with(TWO_GAUGES("0.5 bar", "0.8 bar"));
    assert_expanded(&tried, t_16 * hypot(spread, rounding));
    struct trial_finding finding = trial_found(&tried);
    assert_false(finding.is_downgraded);
    assert_true(is_cautioned(&tried, "Two gauges: before (old), after (new)."));
    assert_true(is_cautioned(&tried, "nothing grows with the reading"));
    /* but of a change at one position, between a reading of each: it is all there */
    struct arena *arena = &tried.fake->arena;
    struct surroundings surroundings = job_surroundings(tried.fake->session.job, arena);
    const struct trial *trial = tried.fake->procedure->trials[0];
    struct value base = surroundings.value_of(
        surroundings.self, tried.fake->procedure->readings[trial->before].symbol, arena);
    struct value retest = surroundings.value_of(
        surroundings.self, tried.fake->procedure->readings[trial->after].symbol, arena);
    const struct gradient *change = gradient_combine(arena, retest.items[0].number.gradient, 1,
                                                     base.items[0].number.gradient, -1);
    assert_true(gradient_combined(change) / 1e5 > hypot(0.5, 0.8) / sqrt(3));
    fake_close(tried.fake);
}

static void what_two_gauges_are_off_by_in_proportion_stays_in_the_effect(void **state)
{
    (void)state;
    struct tried tried = tried_with(TWO_GAUGES("3 %", "10 %"));
    /* 10 % of the means after, 9.2 less 11.65 bar, and 3 % of those before, 8.2 less 11.55 bar */
    double accuracy = hypot(0.10 * 2.45, 0.03 * 3.35) / sqrt(3);
    assert_expanded(&tried, t_16 * hypot(hypot(spread, rounding), accuracy));
    assert_false(trial_found(&tried).is_downgraded); /* 0.9 is more than both */
    /* 1.960 * accuracy (the normal quantile) */
    assert_true(is_cautioned(&tried, "Here that may be as much as 0.30 bar."));
    fake_close(tried.fake);
}

static void two_gauges_that_may_have_made_the_verdict_downgrade_it_by_name(void **state)
{
    (void)state;
    struct tried tried = tried_with(TWO_GAUGES("3 %", "40 %"));
    struct trial_finding finding = trial_found(&tried);
    assert_true(finding.is_downgraded);
    assert_true(text_equal(finding.verdict, TEXT("rose more, downgraded: gauge")));
    assert_true(effect_of(&tried).is_unsure);
    fake_close(tried.fake);
    tried =
        tried_with(TRIAL_PROCEDURE_READ(UNKNOWN_GAUGES, WEAK, "gauge: old", "gauge: new", "3"));
    assert_true(trial_found(&tried).is_downgraded);
    assert_true(is_cautioned(&tried, "How good they are is not given of both"));
    fake_close(tried.fake);
}

static void a_gauge_makes_no_band_narrower_than_that_of_the_verdict(void **state)
{
    (void)state;
    /* the treated ones spread, so that the band rests on one degree of freedom and a little */
    struct tried tried =
        try_out(ONE_GAUGE("1 %"),
                TRIAL_ANSWERS(BEFORE,
                              "{1: [11.7, 11.8, 11.6], 2: [9.1, 9.2, 9.0], 3: [8.4, 8.3, 8.5], "
                              "4: [11.5, 11.6, 11.7]}",
                              END),
                3);
    struct trial_outcome outcome = trial_outcome_of(
        tried.fake->session.job, tried.fake->procedure->trials[0], &tried.fake->arena);
    assert_true(outcome.freedom < 2);
    assert_true(gradient_expanded(effect_of(&tried).number.gradient) >= outcome.band);
    fake_close(tried.fake);
}

static void a_scale_too_coarse_to_show_scatter_is_said(void **state)
{
    (void)state;
    struct tried tried = try_out(
        ONE_GAUGE("1 %"),
        TRIAL_ANSWERS("{1: [11.6, 11.6, 11.6], 2: [8, 8, 8], 3: [8, 8, 8], "
                      "4: [11.4, 11.4, 11.4]}",
                      "{1: [11.6, 11.6, 11.6], 2: [8.05, 8.05, 8.05], 3: [8.05, 8.05, 8.05], "
                      "4: [11.4, 11.4, 11.41]}",
                      END),
        3);
    struct trial_finding finding = trial_found(&tried);
    assert_true(
        text_equal(finding.verdict, TEXT("rose more, downgraded: the steps of the scale")));
    assert_true(is_cautioned(&tried, "Rounding alone may make as much as 0.080 bar."));
    fake_close(tried.fake);
    tried = tried_with(ONE_GAUGE("1 %"));
    assert_false(is_cautioned(&tried, "steps of the scale"));
    fake_close(tried.fake);
}

/* --- what was done otherwise ------------------------------------------------------------------------ */

/* The job again up to its end, with an event of the test's own put in before that. */
static void replay_with(struct fake *fake, struct event *own)
{
    size_t count = fake->event_count;
    fake_begin_job(fake);
    for (size_t i = 0; i < count; i++) {
        if (fake->events[i].kind == EVENT_ENDED) {
            own->number = fake->events[i].number;
            own->at = fake->events[i].at;
            job_apply(fake->session.job, own);
            fake->events[i].number++;
        }
        job_apply(fake->session.job, &fake->events[i]);
    }
}

static const struct event *find_event(const struct fake *fake, enum event_kind kind,
                                      const char *name, int position)
{
    for (size_t i = 0; i < fake->event_count; i++)
        if (fake->events[i].kind == kind && fake->events[i].position == position &&
            text_equal(fake->events[i].name, text_from(name)))
            return &fake->events[i];
    return NULL;
}

static void who_was_treated_stands_whatever_is_corrected_and_it_is_said(void **state)
{
    (void)state;
    struct tried tried = tried_with(TRIAL_PROCEDURE(WEAK, "3"));
    const struct event *read = find_event(tried.fake, EVENT_READ, "base", 1);
    assert_non_null(read);
    struct event amended = *read;
    amended.kind = EVENT_AMENDED;
    amended.amends = read->number;
    amended.value = 12e5;
    amended.meaning = TEXT("12 bar");
    amended.reason = TEXT("misread");
    replay_with(tried.fake, &amended);
    assert_true(
        is_cautioned(&tried, "these would have been chosen: 3. Treated were: 2 and 3."));
    assert_true(text_starts(trial_found(&tried).treated, TEXT("2 and 3 ")));
    fake_close(tried.fake);
}

static void a_dose_that_was_skipped_counts_as_given_and_it_is_said(void **state)
{
    (void)state;
    struct tried tried = tried_with(TRIAL_PROCEDURE(WEAK, "3"));
    const struct procedure *procedure = tried.fake->procedure;
    for (size_t i = 0; i < tried.fake->event_count; i++) {
        struct event *event = &tried.fake->events[i];
        const struct step *step = procedure->works[event->spot.work]->step;
        if (event->kind == EVENT_DONE && step != NULL &&
            text_equal(step->own_name, TEXT("dose")) && event->spot.turns[0] == 2) {
            event->kind = EVENT_SKIPPED;
            event->reason = TEXT("the can was empty");
        }
    }
    fake_begin_job(tried.fake);
    for (size_t i = 0; i < tried.fake->event_count; i++)
        job_apply(tried.fake->session.job, &tried.fake->events[i]);
    assert_true(is_cautioned(&tried, "Skipped on treated ones, which count as treated all the "
                                     "same: dose (cylinder 3)."));
    fake_close(tried.fake);
}

static void choices_are_counted_only_where_the_lot_made_them(void **state)
{
    (void)state;
    struct tried tried = tried_with(TRIAL_PROCEDURE("    treated: {draw: 2}\n", "3"));
    assert_true(is_cautioned(&tried, "of the 6 ways to choose who is treated"));
    assert_false(is_cautioned(&tried, "Regression to the mean"));
    fake_close(tried.fake);
    tried = tried_with(TRIAL_PROCEDURE(WEAK, "3"));
    assert_false(is_cautioned(&tried, "By counting"));
    assert_true(is_cautioned(&tried, "Regression to the mean"));
    fake_close(tried.fake);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(what_one_gauge_is_off_by_everywhere_is_not_in_the_effect),
        cmocka_unit_test(what_one_gauge_is_off_by_in_proportion_scales_the_effect),
        cmocka_unit_test(what_two_gauges_are_off_by_everywhere_drops_out_between_the_groups),
        cmocka_unit_test(what_two_gauges_are_off_by_in_proportion_stays_in_the_effect),
        cmocka_unit_test(two_gauges_that_may_have_made_the_verdict_downgrade_it_by_name),
        cmocka_unit_test(a_gauge_makes_no_band_narrower_than_that_of_the_verdict),
        cmocka_unit_test(a_scale_too_coarse_to_show_scatter_is_said),
        cmocka_unit_test(who_was_treated_stands_whatever_is_corrected_and_it_is_said),
        cmocka_unit_test(a_dose_that_was_skipped_counts_as_given_and_it_is_said),
        cmocka_unit_test(choices_are_counted_only_where_the_lot_made_them),
    };
    return cmocka_run_group_tests_name("outcome/trial_cautions", tests, NULL, NULL);
}

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

static struct text compared(struct tried *before, struct tried *after)
{
    struct arena *arena = &before->fake->arena;
    struct card card = compare_build((struct compared_job){before->fake->session.job, 3},
                                     (struct compared_job){after->fake->session.job, 5}, arena);
    return card_as_text(&card, 80, arena);
}

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
    assert_true(says(text, "left the others alone"));
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

#define GAUGE(calibrated)                                                                      \
    "gauges:\n"                                                                                \
    "  dial: {unit: bar, resolution: 0.1 bar, accuracy: 2 %, calibrated: " calibrated "}\n"
#define READ_WITH_GAUGE(calibrated)                                                            \
    TRIAL_PROCEDURE_READ(GAUGE(calibrated), CHOSEN, "gauge: dial", "gauge: dial", "3")

static bool says_one_gauge(const char *then)
{
    struct tried before =
        try_out(READ_WITH_GAUGE("2026-01-10"), TRIAL_ANSWERS(LOW, HIGH, END("352")), 1);
    struct tried after = try_out(then, TRIAL_ANSWERS(HIGH, HIGH, END("352")), 2);
    struct text text = compared(&before, &after);
    /* Cylinder 1: 2 % of 11.6 bar over sqrt(3), 0.1 bar over sqrt(12), 0.1 bar over sqrt(3) make
     * 0.149 bar, and 0.150 bar in the other job: 0.211 bar, 1.96 times that 0.41 bar.  One error in
     * common would leave 0.18 bar. */
    assert_true(says(text, "(0.10\u00a0±\u00a00.41)"));
    bool is_said = says(text, "By its name the same gauge served in both jobs.");
    fake_close(after.fake);
    fake_close(before.fake);
    return is_said;
}

static void one_gauge_in_both_jobs_makes_the_band_wide_on_purpose(void **state)
{
    (void)state;
    assert_true(says_one_gauge(READ_WITH_GAUGE("2026-01-10")));
    assert_false(says_one_gauge(READ_WITH_GAUGE("2026-03-01")));
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(each_change_stands_with_its_band_and_what_else_differed),
        cmocka_unit_test(without_a_trial_nothing_is_known_to_be_left_alone),
        cmocka_unit_test(what_was_not_read_has_no_change),
        cmocka_unit_test(one_gauge_in_both_jobs_makes_the_band_wide_on_purpose),
    };
    return cmocka_run_group_tests_name("report/compare", tests, NULL, NULL);
}

/* Trials in whole sessions.  The arithmetic itself is checked in tests/measure/test_trial.c. */
#include "job/trials.h"
#include "support/trial_ports.h"

#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#define DRAW_2 "    treated: {draw: 2}\n"
#define CLAIM  "    claim: Which got better?\n"
#define MATCH  "    match: {engine temperature: abs(warm_after - warm_before) <= 5 K}\n"
#define WEAK_1 "    treated: {is: base < 9 bar}\n"

/* Cylinders 2 and 3 are weak and gain a bar; the others drift up by a tenth. */
#define BEFORE                                                                                 \
    "{1: [11.6, 11.7, 11.5], 2: [8.0, 8.1, 8.2], 3: [8.3, 8.2, 8.4], 4: [11.4, 11.5, 11.6]}"
#define GAINED                                                                                 \
    "{1: [11.7, 11.8, 11.6], 2: [9.1, 9.2, 9.0], 3: [9.4, 9.3, 9.2], 4: [11.5, 11.6, 11.7]}"
#define ALIKE                                                                                  \
    "{1: [11.7, 11.8, 11.6], 2: [8.1, 8.2, 8.3], 3: [8.4, 8.3, 8.5], 4: [11.5, 11.6, 11.7]}"
#define END(claim)                                                                             \
    "  warm_after: 352 K\n"                                                                    \
    "  soak: {design: go on with this trial" claim "}\n"

/* A no-break space as one that can be typed. */
static struct text plain(struct text text)
{
    static char bytes[2048];
    size_t length = 0;
    assert_true(text.length < sizeof bytes);
    for (size_t i = 0; i < text.length; i++) {
        bool is_no_break = i + 1 < text.length && memcmp(text.bytes + i, "\u00a0", 2) == 0;
        bytes[length++] = is_no_break ? ' ' : text.bytes[i];
        i += is_no_break;
    }
    return (struct text){bytes, length};
}

static bool has_line(const struct text *lines, size_t count, const char *words)
{
    for (size_t i = 0; i < count; i++)
        if (text_find(plain(lines[i]), text_from(words)) < plain(lines[i]).length)
            return true;
    return false;
}

static bool is_text(struct text text, const char *words)
{
    return text_equal(plain(text), text_from(words));
}

static void assert_sound(const struct tried *tried)
{
    assert_int_equal(tried->end, SESSION_COMPLETED);
    assert_null(tried->found.first);
}

/* --- who is treated --------------------------------------------------------------------------- */

static unsigned long long drawn_with(unsigned long long seed)
{
    struct tried tried =
        try_out(TRIAL_PROCEDURE(DRAW_2, "3"), TRIAL_ANSWERS(BEFORE, ALIKE, END("")), seed);
    assert_sound(&tried);
    const struct trial *trial = tried.fake->procedure->trials[0];
    const struct event *event = trial_allotted(tried.fake->session.job, trial);
    unsigned long long positions = event->positions;
    assert_int_equal(trial_count(positions), 2);
    fake_close(tried.fake);
    return positions;
}

static void a_seed_draws_the_same_and_seeds_draw_all_there_are(void **state)
{
    (void)state;
    enum { CHOICES = 6 }; /* of 2 from 4 */
    unsigned long long seen[64];
    unsigned count = 0;
    assert_int_equal(drawn_with(5), drawn_with(5));
    for (unsigned seed = 0; seed < 40; seed++) {
        unsigned long long positions = drawn_with(seed);
        bool is_new = true;
        for (unsigned i = 0; i < count; i++)
            is_new = is_new && seen[i] != positions;
        if (is_new)
            seen[count++] = positions;
    }
    assert_int_equal(count, CHOICES);
}

static void the_draw_is_an_event_with_its_seed_behind_the_hold_point(void **state)
{
    (void)state;
    struct tried tried =
        try_out(TRIAL_PROCEDURE(DRAW_2, "3"), TRIAL_ANSWERS(BEFORE, ALIKE, END("")), 12345);
    unsigned accepted = 0, drawn = 0, entered = 0;
    for (unsigned i = 0; i < tried.fake->event_count; i++) {
        const struct event *event = &tried.fake->events[i];
        if (event->kind == EVENT_ANSWERED && event->detail == ANSWERED_HOLD)
            accepted = i;
        if (event->kind == EVENT_DECIDED && is_text(event->name, "draw")) {
            drawn = i;
            assert_true(is_text(event->meaning, "2 by lot, number 12345"));
        }
        if (event->kind == EVENT_ENTERED && is_text(event->name, "lots"))
            entered = i;
    }
    assert_true(0 < accepted && accepted < drawn && drawn < entered);
    fake_close(tried.fake);
}

static void a_replay_draws_nothing_again(void **state)
{
    (void)state;
    struct tried tried =
        try_out(TRIAL_PROCEDURE(DRAW_2, "3"), TRIAL_ANSWERS(BEFORE, GAINED, END("")), 3);
    struct fake *fake = tried.fake;
    struct trial_finding before = trial_found(&tried);
    for (unsigned i = 0; i < fake->event_count; i++)
        if (fake->events[i].kind == EVENT_STARTED)
            fake->events[i].seed = 99; /* another lot, if there were one */
    fake_begin_job(fake);
    for (size_t i = 0; i < fake->event_count; i++)
        job_apply(fake->session.job, &fake->events[i]);
    struct trial_finding after = trial_found(&tried);
    assert_true(text_equal(before.treated, after.treated));
    assert_true(text_equal(before.said, after.said));
    fake_close(fake);
}

static void only_what_was_read_before_can_be_drawn(void **state)
{
    (void)state;
    for (unsigned seed = 0; seed < 12; seed++) {
        struct tried tried =
            try_out(TRIAL_PROCEDURE(DRAW_2, "1"),
                    TRIAL_ANSWERS("{1: 11, 2: 8, 3: 8, 4: unread no access}",
                                  "{1: 11, 2: 8, 3: 8, 4: unread no access}", END("")),
                    seed);
        assert_sound(&tried);
        const struct event *event =
            trial_allotted(tried.fake->session.job, tried.fake->procedure->trials[0]);
        assert_int_equal(event->positions >> 3, 0);
        assert_int_equal(trial_count(event->positions), 2);
        fake_close(tried.fake);
    }
}

/* --- the hold point -------------------------------------------------------------------------------- */

static struct text told(const struct tried *tried)
{
    return page_text(&tried->fake->told);
}

static bool was_told_before(const struct tried *tried, const char *first, const char *then)
{
    struct text all = told(tried);
    size_t a = text_find(all, text_from(first)), b = text_find(all, text_from(then));
    return a < b && b < all.length;
}

static void the_design_is_shown_before_anybody_is_treated(void **state)
{
    (void)state;
    struct tried tried = try_out(TRIAL_PROCEDURE(DRAW_2 "    worth: 0.5 bar\n", "3"),
                                 TRIAL_ANSWERS(BEFORE, GAINED, END("")), 3);
    assert_sound(&tried);
    /* s_r is 0.1 bar in each; of 20 000 simulated trials of this design 48.5 % see 2.73 times that
     * (tests/outside/error_rates.py). */
    assert_true(was_told_before(&tried, "the smallest change that could be seen is 0.27 bar",
                                "on the covers"));
    assert_true(was_told_before(
        &tried, "hangs on how differently each cylinder changes by itself", "on the covers"));
    /* 2 of 4 can be chosen in 4!/(2! 2!) = 6 ways */
    assert_true(was_told_before(&tried,
                                "Even if the 2 treated ones came out best, chance alone would "
                                "do that once in 6.",
                                "on the covers"));
    assert_true(was_told_before(
        &tried, "drawn by lot when you go on (number 3: with it the draw can be done again)",
        "Left alone"));
    assert_true(was_told_before(&tried, "Ceiling:", "on the covers"));
    assert_false(fake_was_told(tried.fake, "Regression to the mean"));
    fake_close(tried.fake);
}

static void what_a_trial_cannot_show_is_said(void **state)
{
    (void)state;
    struct tried tried = try_out(TRIAL_PROCEDURE(DRAW_2 "    worth: 0.1 bar\n", "3"),
                                 TRIAL_ANSWERS(BEFORE, GAINED, END("")), 3);
    assert_true(fake_was_told(tried.fake, "0.1 bar, would be missed more often than seen"));
    fake_close(tried.fake);
}

static bool trial_answer(struct fake *fake, const struct prompt *prompt, struct answer *answer,
                         struct arena *scratch)
{
    (void)scratch;
    const char *own = fake->own;
    answer->kind = ANSWER_TYPED;
    answer->typed = TEXT("10 bar");
    if (prompt->unit != NULL && is_text(prompt->unit->symbol, "K"))
        answer->typed = TEXT("350 K");
    if (prompt->kind == PROMPT_ACTION)
        answer->typed = (struct text){0};
    if (prompt->kind != PROMPT_TRIAL)
        return true;
    if (own == NULL) {
        answer->kind = ANSWER_END;
        return true;
    }
    answer->typed = text_from(own);
    fake->own = NULL;
    return true;
}

static enum session_end answer_design(struct fake *fake, const char *typed)
{
    static char line[64];
    (void)snprintf(line, sizeof line, "%s", typed);
    fake->own = line;
    fake->answer = trial_answer;
    return fake_start(fake);
}

static bool is_drawn(const struct fake *fake)
{
    return trial_allotted(fake->session.job, fake->procedure->trials[0]) != NULL;
}

static void enter_and_beginnings_do_not_pass_and_pause_draws_nobody(void **state)
{
    (void)state;
    static const char *const refused[] = {"", "go", "go on", "pause", "skip it is late"};
    for (size_t i = 0; i < sizeof refused / sizeof *refused; i++) {
        struct fake *fake = trial_open(TRIAL_PROCEDURE(DRAW_2, "1"));
        assert_int_equal(answer_design(fake, refused[i]), SESSION_PAUSED);
        assert_false(is_drawn(fake));
        fake_close(fake);
    }
    struct fake *fake = trial_open(TRIAL_PROCEDURE(DRAW_2, "1"));
    assert_int_equal(answer_design(fake, "go on with this trial"), SESSION_COMPLETED);
    assert_true(is_drawn(fake));
    fake_close(fake);
}

static void a_choice_by_the_same_readings_brings_regression_to_the_mean(void **state)
{
    (void)state;
    struct tried tried =
        try_out(TRIAL_PROCEDURE(WEAK_1, "3"), TRIAL_ANSWERS(BEFORE, GAINED, END("")), 3);
    assert_sound(&tried);
    /* the expected lowest of four: 1.03 standard deviations (order statistics of the normal
     * distribution), here of a mean of three readings that scatter by 0.1 bar: 1.03 * 0.1/sqrt(3) */
    assert_true(was_told_before(&tried,
                                "The lowest of 4 equal ones reads about 0.059 bar too low "
                                "by chance alone",
                                "on the covers"));
    assert_true(
        was_told_before(&tried, "Treated: 2 and 3 (2 of 4). Left alone: 2.", "on the covers"));
    struct trial_finding finding = trial_found(&tried);
    assert_true(has_line(finding.cautions, finding.caution_count, "Regression to the mean"));
    fake_close(tried.fake);
}

/* --- verdicts ------------------------------------------------------------------------------------------ */

static void more_than_the_untreated_is_said_so_and_never_because(void **state)
{
    (void)state;
    struct tried tried =
        try_out(TRIAL_PROCEDURE(WEAK_1 MATCH, "3"),
                TRIAL_ANSWERS(BEFORE, GAINED,
                              END("") "expect:\n  soak: {verdict: rose more, is: 0.90 bar}\n"
                                      "  gain: 0.9 bar\n"),
                3);
    assert_sound(&tried);
    struct trial_finding finding = trial_found(&tried);
    assert_true(is_text(finding.verdict, "rose more"));
    assert_true(fabs(finding.effect - 0.90e5) < 1e-3);
    assert_true(text_starts(plain(finding.said),
                            TEXT("Set against the untreated ones, the treated ones went up "
                                 "by 0.90 bar, give or take")));
    struct text all = told(&tried);
    assert_int_equal(text_find(all, TEXT("because")), all.length);
    assert_true(
        has_line(finding.changes, finding.change_count, "cylinder 1, left alone: +0.10 bar"));
    assert_true(
        has_line(finding.changes, finding.change_count, "cylinder 2, treated: +1.00 bar"));
    /* chosen by the readings, not by lot: there is nothing to count */
    assert_false(has_line(finding.cautions, finding.caution_count, "By counting"));
    fake_close(tried.fake);
}

static void inside_its_band_it_is_inconclusive_with_what_it_could_have_shown(void **state)
{
    (void)state;
    struct tried tried =
        try_out(TRIAL_PROCEDURE(WEAK_1, "3"),
                TRIAL_ANSWERS(BEFORE, ALIKE, END("") "expect:\n  soak: inconclusive\n"), 3);
    assert_sound(&tried);
    struct trial_finding finding = trial_found(&tried);
    /* Now both phases are known: 16 degrees of freedom, t(0.975, 16) = 2.120 (the same table):
     * 2.120 * 0.1 * sqrt(2/3) = 0.173 bar. */
    assert_true(text_starts(plain(finding.said),
                            TEXT("Inconclusive: the smallest change this could have shown is "
                                 "0.17 bar")));
    fake_close(tried.fake);
}

static void one_treated_is_held_against_the_others(void **state)
{
    (void)state;
    struct tried tried =
        try_out(TRIAL_PROCEDURE("    treated: {is: base < 8.2 bar}\n", "3"),
                TRIAL_ANSWERS(BEFORE,
                              "{1: [11.7, 11.8, 11.6], 2: [9.1, 9.2, 9.0], 3: [8.4, 8.3, 8.5], "
                              "4: [11.5, 11.6, 11.7]}",
                              END("") "expect:\n  soak: rose more\n"),
                3);
    assert_sound(&tried);
    assert_true(fake_was_told(tried.fake, "One alone is treated"));
    fake_close(tried.fake);
}

static void fewer_than_two_controls_give_numbers_and_no_verdict(void **state)
{
    (void)state;
    struct tried tried =
        try_out(TRIAL_PROCEDURE("    treated: {draw: 3}\n", "3"),
                TRIAL_ANSWERS(BEFORE, GAINED, END("") "expect:\n  soak: no verdict\n"), 3);
    assert_sound(&tried);
    assert_true(fake_was_told(tried.fake, "there will be no verdict, only the numbers"));
    struct trial_finding finding = trial_found(&tried);
    assert_true(finding.has_effect);
    assert_true(
        text_starts(plain(finding.said), TEXT("No verdict: fewer than two untreated ones")));
    fake_close(tried.fake);
}

static void what_reaches_all_has_no_control(void **state)
{
    (void)state;
    struct tried tried =
        try_out(TRIAL_PROCEDURE(WEAK_1 "    reaches: all\n", "3"),
                TRIAL_ANSWERS(BEFORE, GAINED, END("") "expect:\n  soak: no verdict\n"), 3);
    assert_sound(&tried);
    assert_true(was_told_before(
        &tried, "nothing on this machine is left as it was to compare with", "on the covers"));
    struct trial_finding finding = trial_found(&tried);
    assert_false(finding.has_effect);
    assert_true(has_line(finding.cautions, finding.caution_count, "Carry-over:"));
    fake_close(tried.fake);
}

static void single_readings_are_said_and_carry_no_verdict_alone(void **state)
{
    (void)state;
    struct tried tried = try_out(TRIAL_PROCEDURE(WEAK_1, "1"),
                                 TRIAL_ANSWERS("{1: 11.5, 2: 8.0, 3: 8.2, 4: 11.5}",
                                               "{1: 11.5, 2: 9.0, 3: 9.4, 4: 11.5}",
                                               END("") "expect:\n  soak: no verdict\n"),
                                 3);
    assert_sound(&tried);
    assert_true(was_told_before(&tried, "Single readings", "on the covers"));
    struct trial_finding finding = trial_found(&tried);
    assert_true(has_line(finding.cautions, finding.caution_count, "Single readings"));
    fake_close(tried.fake);
}

static void what_does_not_match_downgrades_by_its_name(void **state)
{
    (void)state;
    struct tried tried = try_out(
        TRIAL_PROCEDURE(WEAK_1 MATCH, "3"),
        TRIAL_ANSWERS(BEFORE, GAINED,
                      "  warm_after: 360 K\n  soak: {design: go on with this trial}\n"
                      "expect:\n  soak: \"rose more, downgraded: engine temperature\"\n"),
        3);
    assert_sound(&tried);
    struct trial_finding finding = trial_found(&tried);
    assert_true(finding.is_downgraded);
    assert_true(has_line(finding.cautions, finding.caution_count,
                         "Not comparable by engine temperature"));
    assert_true(text_find(finding.said, TEXT("not comparable by: engine temperature")) <
                finding.said.length);
    fake_close(tried.fake);
}

/* --- claims ----------------------------------------------------------------------------------------------- */

static struct tried claimed(const char *after, const char *claim)
{
    static char answers[2048];
    (void)snprintf(answers, sizeof answers,
                   TRIAL_ANSWERS(BEFORE, "%s",
                                 "  warm_after: 352 K\n"
                                 "  soak: {design: go on with this trial, claim: \"%s\"}\n"),
                   after, claim);
    return try_out(TRIAL_PROCEDURE(WEAK_1 CLAIM, "3"), answers, 3);
}

static void a_claim_is_asked_before_anything_is_shown(void **state)
{
    (void)state;
    struct tried tried = claimed(GAINED, "2 and 3");
    assert_sound(&tried);
    assert_true(was_told_before(&tried,
                                "Which got better? Type those meant (1, 2, 3, 4), or none. "
                                "Once the readings are shown, the answer "
                                "stands.",
                                "Did it work?"));
    struct trial_finding finding = trial_found(&tried);
    assert_true(is_text(finding.claim, "2 and 3"));
    assert_int_equal(finding.contradiction_count, 0);
    fake_close(tried.fake);
}

static void crediting_a_control_is_a_contradiction_with_both_sides(void **state)
{
    (void)state;
    struct tried tried = claimed(GAINED, "1");
    assert_sound(&tried);
    struct trial_finding finding = trial_found(&tried);
    assert_int_equal(finding.contradiction_count, 1);
    assert_true(is_text(finding.contradictions[0],
                        "You named cylinder 1. It was NOT treated: it was left alone as a "
                        "control. It changed by +0.10 bar, the treated ones by +1.0 bar on "
                        "average."));
    assert_true(fake_was_told(tried.fake, "CONTRADICTION: You named cylinder 1"));
    fake_close(tried.fake);
}

static void crediting_what_the_readings_do_not_show_is_a_contradiction(void **state)
{
    (void)state;
    struct tried tried = claimed(ALIKE, "2, 3");
    struct trial_finding finding = trial_found(&tried);
    assert_int_equal(finding.contradiction_count, 2);
    assert_true(has_line(finding.contradictions, 2,
                         "You named cylinder 2. Against the others it did not change."));
    fake_close(tried.fake);
    tried = claimed("{1: [11.7, 11.8, 11.6], 2: [8.3, 8.4, 8.2], 3: [8.4, 8.3, 8.5], "
                    "4: [11.5, 11.6, 11.7]}",
                    "2");
    finding = trial_found(&tried);
    assert_int_equal(finding.contradiction_count, 1);
    assert_true(has_line(finding.contradictions, 1, "give or take"));
    fake_close(tried.fake);
}

static void crediting_none_against_the_readings_is_a_contradiction(void **state)
{
    (void)state;
    struct tried tried = claimed(GAINED, "none");
    struct trial_finding finding = trial_found(&tried);
    assert_true(
        has_line(finding.contradictions, finding.contradiction_count, "You named none"));
    fake_close(tried.fake);
    tried = claimed(ALIKE, "none");
    finding = trial_found(&tried);
    assert_int_equal(finding.contradiction_count, 0);
    fake_close(tried.fake);
}

static void a_claim_that_names_no_position_is_refused(void **state)
{
    (void)state;
    struct tried tried = try_out(TRIAL_PROCEDURE(WEAK_1 CLAIM, "3"),
                                 TRIAL_ANSWERS(BEFORE, GAINED, END(", claim: \"5\"")), 3);
    assert_non_null(tried.found.first);
    assert_int_equal(tried.found.first->finding, FINDING_ANSWER_REFUSED);
    fake_close(tried.fake);
}

static void what_comes_out_otherwise_than_expected_is_a_finding(void **state)
{
    (void)state;
    struct tried tried = try_out(
        TRIAL_PROCEDURE(WEAK_1, "3"),
        TRIAL_ANSWERS(BEFORE, GAINED,
                      END("") "expect:\n  soak: {verdict: inconclusive, is: 0.4 bar}\n"),
        3);
    assert_int_equal(tried.found.first->finding, FINDING_EXPECT_VERDICT);
    assert_int_equal(tried.found.first->next->finding, FINDING_EXPECT_VALUE);
    fake_close(tried.fake);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_seed_draws_the_same_and_seeds_draw_all_there_are),
        cmocka_unit_test(the_draw_is_an_event_with_its_seed_behind_the_hold_point),
        cmocka_unit_test(a_replay_draws_nothing_again),
        cmocka_unit_test(only_what_was_read_before_can_be_drawn),
        cmocka_unit_test(the_design_is_shown_before_anybody_is_treated),
        cmocka_unit_test(what_a_trial_cannot_show_is_said),
        cmocka_unit_test(enter_and_beginnings_do_not_pass_and_pause_draws_nobody),
        cmocka_unit_test(a_choice_by_the_same_readings_brings_regression_to_the_mean),
        cmocka_unit_test(more_than_the_untreated_is_said_so_and_never_because),
        cmocka_unit_test(inside_its_band_it_is_inconclusive_with_what_it_could_have_shown),
        cmocka_unit_test(one_treated_is_held_against_the_others),
        cmocka_unit_test(fewer_than_two_controls_give_numbers_and_no_verdict),
        cmocka_unit_test(what_reaches_all_has_no_control),
        cmocka_unit_test(single_readings_are_said_and_carry_no_verdict_alone),
        cmocka_unit_test(what_does_not_match_downgrades_by_its_name),
        cmocka_unit_test(a_claim_is_asked_before_anything_is_shown),
        cmocka_unit_test(crediting_a_control_is_a_contradiction_with_both_sides),
        cmocka_unit_test(crediting_what_the_readings_do_not_show_is_a_contradiction),
        cmocka_unit_test(crediting_none_against_the_readings_is_a_contradiction),
        cmocka_unit_test(a_claim_that_names_no_position_is_refused),
        cmocka_unit_test(what_comes_out_otherwise_than_expected_is_a_finding),
    };
    return cmocka_run_group_tests_name("job/trials", tests, NULL, NULL);
}

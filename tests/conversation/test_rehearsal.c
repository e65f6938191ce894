#include "conversation/rehearsal.h"
#include "support/fake_ports.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

static const char SOUND[] = "procedure: pressure_check\n"
                            "machine:\n"
                            "  plug_torque: {is: 21 N.m, source: \"handbook, page 30\"}\n"
                            "begins: 2026-03-31T09:00\n"
                            "answers:\n"
                            "  hours: 412.5 h\n"
                            "  wheels_chocked: stayed still\n"
                            "  spark_off: none\n"
                            "  area_clear: nobody and nothing\n"
                            "  crank: {dry: {1: 11.6, 2: 8.1 bar}}\n"
                            "  plug_in: {torque: {1: 21, 2: 21 N.m}}\n"
                            "  feel: do\n"
                            "  look: nothing\n";

/* The same job in few words; what a test is about stands between. */
#define BEGUN                                                                                  \
    "procedure: pressure_check\n"                                                              \
    "machine:\n  plug_torque: {is: 21, source: handbook}\n"                                    \
    "answers:\n  hours: 1 h\n"
#define CLOSED "  plug_in: {torque: 21}\n  feel: pass over\n  look: nothing\n"

struct rehearsed {
    struct fake *fake;
    struct rehearsal *rehearsal;
    enum session_end end;
    unsigned resumed;
    struct diagnostics found;
};

static struct rehearsed rehearse_over(const char *procedure, const char *answers_text)
{
    struct rehearsed rehearsed = {.fake = procedure == NULL
                                              ? fake_open("tests/sessions/pressure_check.yaml",
                                                          "tests/sessions/machine.yaml")
                                              : fake_open_text(procedure)};
    struct fake *fake = rehearsed.fake;
    diagnostics_begin(&rehearsed.found, &fake->arena);
    const struct answers *answers =
        answers_load(fake_source(&fake->arena, "answers.yaml", text_from(answers_text)),
                     &rehearsed.found, &fake->arena);
    assert_int_equal(rehearsed.found.count_by_severity[SEVERITY_ERROR], 0);
    struct console echo = {fake, NULL, fake_tell};
    rehearsed.rehearsal = rehearsal_new(answers, fake->fitted, echo, fake->now, &fake->arena);
    fake->session.console = rehearsal_console(rehearsed.rehearsal);
    fake->session.clock = rehearsal_clock(rehearsed.rehearsal);
    rehearsed.end = fake_start(fake);
    while (rehearsal_was_interrupted(rehearsed.rehearsal)) {
        rehearsed.resumed++;
        fake_begin_job(fake);
        fake->session.console = rehearsal_console(rehearsed.rehearsal);
        fake->session.clock = rehearsal_clock(rehearsed.rehearsal);
        for (size_t i = 0; i < fake->event_count; i++)
            job_apply(fake->session.job, &fake->events[i]);
        rehearsed.end = session_resume(&fake->session);
    }
    rehearsal_judge(rehearsed.rehearsal, fake->session.job, &rehearsed.found, &fake->arena);
    return rehearsed;
}

static struct rehearsed rehearse(const char *answers_text)
{
    return rehearse_over(NULL, answers_text);
}

static bool has_finding(const struct rehearsed *rehearsed, enum finding finding, unsigned line)
{
    for (const struct diagnostic *at = rehearsed->found.first; at != NULL; at = at->next)
        if (at->finding == finding && at->place.line == line)
            return true;
    return false;
}

static unsigned finding_count(const struct rehearsed *rehearsed)
{
    unsigned count = 0;
    for (const struct diagnostic *at = rehearsed->found.first; at != NULL; at = at->next)
        count++;
    return count;
}

static struct text joined(struct arena *arena, const char *rest)
{
    return text_fill(arena, "{}{}", text_from(SOUND), text_from(rest));
}

static struct rehearsed rehearse_with(const char *rest)
{
    static char whole[4096];
    struct arena arena = arena_open(MEBIBYTE, fake_stop);
    struct text text = joined(&arena, rest);
    assert_true(text.length < sizeof whole);
    memcpy(whole, text.bytes, text.length);
    whole[text.length] = '\0';
    arena_close(&arena);
    return rehearse(whole);
}

/* --- tests ---------------------------------------------------------------------------------- */

static void answers_by_name_do_a_whole_job(void **state)
{
    (void)state;
    struct rehearsed rehearsed = rehearse_with("  warmth: cool\n"
                                               "expect:\n"
                                               "  lowest: {is: 8.1 bar, verdict: fail}\n"
                                               "  balance: {is: 69.8 %, verdict: fail}\n");
    assert_int_equal(rehearsed.end, SESSION_COMPLETED);
    assert_int_equal(finding_count(&rehearsed), 0);
    assert_true(fake_was_told(rehearsed.fake, "> nobody and nothing"));
    /* The timer of five minutes was jumped over, not slept through. */
    long long took = rehearsed.fake->events[rehearsed.fake->event_count - 1].at.wall -
                     rehearsed.fake->events[0].at.wall;
    assert_in_range(took, 5 * 60000, 20 * 60000);
    fake_close(rehearsed.fake);
}

static void what_is_asked_and_not_named_is_a_finding(void **state)
{
    (void)state;
    struct rehearsed rehearsed = rehearse_with("");
    assert_int_equal(rehearsed.end, SESSION_PAUSED);
    assert_true(has_finding(&rehearsed, FINDING_ANSWER_MISSING, 6));
    assert_int_equal(finding_count(&rehearsed), 1);
    assert_true(text_starts(rehearsed.found.first->message, TEXT("'warmth' was asked")));
    fake_close(rehearsed.fake);
}

static void what_is_named_and_never_asked_is_a_warning(void **state)
{
    (void)state;
    struct rehearsed rehearsed = rehearse_with("  warmth: cool\n"
                                               "  colour: tan\n"
                                               "  stand: {wet: 3}\n");
    assert_int_equal(rehearsed.end, SESSION_COMPLETED);
    assert_true(has_finding(&rehearsed, FINDING_ANSWER_UNASKED, 15));
    assert_true(has_finding(&rehearsed, FINDING_ANSWER_UNASKED, 16));
    assert_int_equal(finding_count(&rehearsed), 2);
    assert_int_equal(rehearsed.found.count_by_severity[SEVERITY_ERROR], 0);
    fake_close(rehearsed.fake);
}

static void a_refused_answer_is_a_finding_with_the_refusal(void **state)
{
    (void)state;
    struct rehearsed rehearsed = rehearse("procedure: pressure_check\n"
                                          "machine:\n"
                                          "  plug_torque: {is: 21 bar, source: handbook}\n"
                                          "answers: {hours: 1 h}\n");
    assert_int_equal(rehearsed.end, SESSION_PAUSED);
    assert_true(has_finding(&rehearsed, FINDING_ANSWER_REFUSED, 3));
    assert_int_equal(finding_count(&rehearsed), 1);
    fake_close(rehearsed.fake);
}

static void what_was_expected_is_compared(void **state)
{
    (void)state;
    struct rehearsed rehearsed = rehearse_with("  warmth: cool\n"
                                               "expect:\n"
                                               "  lowest: {is: 8.2 bar, verdict: pass}\n"
                                               "  balance: 70 %\n"
                                               "  balanse: 70 %\n");
    assert_true(has_finding(&rehearsed, FINDING_EXPECT_VALUE, 16));
    assert_true(has_finding(&rehearsed, FINDING_EXPECT_VERDICT, 16));
    assert_true(has_finding(&rehearsed, FINDING_EXPECT_UNKNOWN, 18));
    /* 69.83 % is 70 % at the digits typed. */
    assert_int_equal(finding_count(&rehearsed), 3);
    fake_close(rehearsed.fake);
}

static void a_pause_and_a_crash_come_once_and_are_resumed(void **state)
{
    (void)state;
    struct rehearsed rehearsed = rehearse_with("  warmth: cool\n"
                                               "  cue: a tag on the wheel\n"
                                               "pause_before: {step: plug_in, for: 2 h}\n"
                                               "fail_before: look\n"
                                               "expect:\n"
                                               "  lowest: {is: 8.1 bar}\n");
    assert_int_equal(rehearsed.resumed, 2);
    assert_int_equal(rehearsed.end, SESSION_COMPLETED);
    assert_int_equal(finding_count(&rehearsed), 0);
    size_t pauses = 0, resumes = 0;
    for (size_t i = 0; i < rehearsed.fake->event_count; i++) {
        pauses += rehearsed.fake->events[i].kind == EVENT_PAUSED;
        resumes += rehearsed.fake->events[i].kind == EVENT_RESUMED;
    }
    assert_int_equal(pauses, 1);
    assert_int_equal(resumes, 2);
    assert_true(fake_was_told(rehearsed.fake, "> a tag on the wheel"));
    fake_close(rehearsed.fake);
}

static const char REPEATED[] =
    "procedure: t\ntitle: T\nrevision: 1\nabout: A test.\n"
    "steps:\n"
    "  - repeat: level\n    until: seen == \"between\"\n    at_most: 4\n    steps:\n"
    "      - {step: look, do: Look., record: {seen: {choices: [below, between]}}}\n"
    "      - {step: add, when: seen == \"below\", do: Add a little., record: {added: {unit: L, "
    "again: adds, between: [0 L, 1 L]}}}\n"
    "  - {step: twice, do: Read twice., record: {volts: {unit: V, readings: 2}}}\n"
    "results:\n"
    "  - {result: sum_added, value: added, unit: L}\n"
    "  - {result: mean_volts, value: volts, unit: V}\n";

static void each_asking_takes_the_next_of_times(void **state)
{
    (void)state;
    struct rehearsed rehearsed =
        rehearse_over(REPEATED, "procedure: t\n"
                                "answers:\n"
                                "  look: {seen: {times: [below, below, between]}}\n"
                                "  add: {added: {times: [\"0.2\", \"0.3 L\"]}}\n"
                                "  twice: {volts: [12.4, 12.6]}\n"
                                "expect: {sum_added: 0.5 L, mean_volts: 12.5 V}\n");
    assert_int_equal(rehearsed.end, SESSION_COMPLETED);
    assert_int_equal(finding_count(&rehearsed), 0);
    fake_close(rehearsed.fake);
}

static void asked_more_often_than_answered_is_a_finding(void **state)
{
    (void)state;
    struct rehearsed rehearsed =
        rehearse_over(REPEATED, "procedure: t\n"
                                "answers:\n"
                                "  look: {seen: {times: [below, below]}}\n"
                                "  add: {added: 0.2}\n"
                                "  twice: {volts: [12.4, 12.6]}\n");
    assert_int_equal(rehearsed.end, SESSION_PAUSED);
    assert_true(has_finding(&rehearsed, FINDING_ANSWER_TOO_OFTEN, 3));
    fake_close(rehearsed.fake);
}

static void an_implausible_value_needs_a_reason_to_stand(void **state)
{
    (void)state;
    struct rehearsed rehearsed = rehearse_over(
        REPEATED, "procedure: t\n"
                  "answers:\n"
                  "  look: {seen: {times: [below, between]}}\n"
                  "  add: {added: {is: 1.5 L, insist: the sump was nearly empty}}\n"
                  "  twice: {volts: [12.4, 12.6]}\n"
                  "expect: {sum_added: 1.5 L}\n");
    assert_int_equal(rehearsed.end, SESSION_COMPLETED);
    assert_int_equal(finding_count(&rehearsed), 0);
    fake_close(rehearsed.fake);
    rehearsed = rehearse_over(REPEATED, "procedure: t\n"
                                        "answers:\n"
                                        "  look: {seen: {times: [below, between]}}\n"
                                        "  add: {added: 1.5 L}\n"
                                        "  twice: {volts: [12.4, 12.6]}\n");
    assert_int_equal(rehearsed.end, SESSION_PAUSED);
    assert_int_equal(finding_count(&rehearsed), 1);
    assert_int_equal(rehearsed.found.first->finding, FINDING_ANSWER_MISSING);
    fake_close(rehearsed.fake);
}

static void a_repeat_far_from_the_other_needs_a_reason_to_stand(void **state)
{
    (void)state;
    struct rehearsed rehearsed =
        rehearse_over(REPEATED, "procedure: t\n"
                                "answers:\n"
                                "  look: {seen: {times: [below, between]}}\n"
                                "  add: {added: 0.2 L}\n"
                                "  twice: {volts: [9, {is: 13 V, insist: it was on charge}]}\n"
                                "expect: {mean_volts: 11 V}\n");
    assert_int_equal(rehearsed.end, SESSION_COMPLETED);
    assert_int_equal(finding_count(&rehearsed), 0);
    fake_close(rehearsed.fake);
    rehearsed = rehearse_over(REPEATED, "procedure: t\n"
                                        "answers:\n"
                                        "  look: {seen: {times: [below, between]}}\n"
                                        "  add: {added: 0.2 L}\n"
                                        "  twice: {volts: [9, 13]}\n");
    assert_int_equal(rehearsed.end, SESSION_PAUSED);
    assert_true(has_finding(&rehearsed, FINDING_ANSWER_MISSING, 3));
    fake_close(rehearsed.fake);
}

static const char BY_POSITION[] =
    "procedure: t\ntitle: T\nrevision: 1\nabout: A test.\n"
    "steps:\n"
    "  - {step: look, each: cylinder, do: Look., record: {seen: {choices: [tan, black]}, "
    "dry: {unit: bar}}}\n"
    "  - {step: out, do: Take the bolts out., removes: {bolt: 4}}\n"
    "  - {step: in, do: Put the bolts in., refits: {bolt: 4}}\n"
    "  - {step: wipe, optional: true, do: Wipe it.}\n"
    "  - {step: polish, do: Polish it.}\n"
    "results:\n"
    "  - {result: colours, value: seen}\n"
    "  - {result: pressures, value: dry, unit: bar}\n";

static void positions_counts_and_steps_left_out(void **state)
{
    (void)state;
    struct rehearsed rehearsed = rehearse_over(
        BY_POSITION,
        "procedure: t\n"
        "answers:\n"
        "  look: {seen: {1: tan, 2: black}, dry: {1: 11, 2: unread the hose split}}\n"
        "  in: {count: 4}\n"
        "  wipe: {optional: pass over}\n"
        "  polish: {skip: no cloth at hand}\n"
        "expect:\n"
        "  colours: {is: \"1: tan, 2: tan\"}\n"
        "  pressures: {is: \"2: 11 bar\"}\n");
    assert_int_equal(rehearsed.end, SESSION_COMPLETED);
    assert_int_equal(finding_count(&rehearsed), 2);
    assert_true(has_finding(&rehearsed, FINDING_EXPECT_VALUE, 8));
    assert_true(has_finding(&rehearsed, FINDING_EXPECT_VALUE, 9));
    assert_true(text_ends(rehearsed.found.first->message, TEXT("not 1: tan, 2: tan")));
    assert_int_equal(job_void_from(rehearsed.fake->session.job), 5);
    assert_true(fake_was_told(rehearsed.fake, "Proof void from step 5"));
    fake_close(rehearsed.fake);
}

static void an_expected_list_names_the_positions_it_means(void **state)
{
    (void)state;
    struct rehearsed rehearsed =
        rehearse_over(BY_POSITION, "procedure: t\n"
                                   "answers:\n"
                                   "  look: {seen: {1: tan, 2: black}, dry: {1: 11, 2: 12}}\n"
                                   "  in: 4\n"
                                   "  wipe: do\n"
                                   "expect:\n"
                                   "  colours: \"1: tan, 2: black\"\n"
                                   "  pressures: \"2: 12.0 bar\"\n");
    assert_int_equal(rehearsed.end, SESSION_COMPLETED);
    assert_int_equal(finding_count(&rehearsed), 0);
    fake_close(rehearsed.fake);
}

static void a_value_of_another_kind_is_not_as_expected(void **state)
{
    (void)state;
    struct rehearsed rehearsed = rehearse_with("  warmth: cool\n"
                                               "expect:\n"
                                               "  lowest: \"1: 8.1 bar\"\n"
                                               "  balance: 69.8 bar\n");
    assert_int_equal(finding_count(&rehearsed), 2);
    assert_true(has_finding(&rehearsed, FINDING_EXPECT_VALUE, 16));
    assert_true(has_finding(&rehearsed, FINDING_EXPECT_VALUE, 17));
    fake_close(rehearsed.fake);
}

static void a_shut_gate_can_be_answered(void **state)
{
    (void)state;
    struct rehearsed rehearsed =
        rehearse(BEGUN "  wheels_chocked: {times: [moved, stayed still]}\n"
                       "  spark_off: none\n"
                       "  area_clear: nobody and nothing\n"
                       "  chock: {shut: go on without it}\n"
                       "  crank: {dry: 11.6 bar, shut: do chock again}\n" CLOSED);
    assert_int_equal(rehearsed.end, SESSION_COMPLETED);
    assert_int_equal(finding_count(&rehearsed), 0);
    fake_close(rehearsed.fake);
}

/* The next answer belongs to the next asking, and that comes when the step was done again. */
static void a_precaution_denied_once_is_seen_to_again(void **state)
{
    (void)state;
    struct rehearsed rehearsed = rehearse(
        BEGUN "  wheels_chocked: {times: [moved, stayed still]}\n"
              "  spark_off: none\n"
              "  area_clear: {times: [someone or something, nobody and nothing, nobody and "
              "nothing]}\n"
              "  crank: {dry: 11.6 bar}\n" CLOSED);
    assert_int_equal(finding_count(&rehearsed), 0);
    assert_int_equal(rehearsed.end, SESSION_COMPLETED);
    fake_close(rehearsed.fake);
}

static void answers_that_deny_a_gate_for_ever_are_a_finding(void **state)
{
    (void)state;
    static const char *const denials[] = {
        "  wheels_chocked: stayed still\n  area_clear: someone or something\n",
        "  wheels_chocked: moved\n  area_clear: nobody and nothing\n"
        "  chock: {shut: do chock again}\n",
    };
    for (size_t i = 0; i < 2; i++) {
        char answers[600];
        (void)snprintf(answers, sizeof answers,
                       BEGUN "%s  spark_off: none\n"
                             "  crank: {dry: 11.6 bar}\n",
                       denials[i]);
        struct rehearsed rehearsed = rehearse(answers);
        assert_int_equal(rehearsed.end, SESSION_PAUSED);
        assert_true(has_finding(&rehearsed, FINDING_ANSWER_FOR_EVER, i == 0 ? 7 : 6));
        fake_close(rehearsed.fake);
    }
}

static void a_missing_answer_says_what_it_could_be(void **state)
{
    (void)state;
    struct rehearsed rehearsed = rehearse(BEGUN);
    struct text message = rehearsed.found.first->message;
    assert_true(text_find(message, TEXT("'wheels_chocked'")) < message.length);
    assert_true(text_find(message, TEXT("stayed still")) < message.length);
    assert_true(text_find(message, TEXT("moved")) < message.length);
    fake_close(rehearsed.fake);
}

static void a_bound_that_is_reached_ends_it(void **state)
{
    (void)state;
    struct rehearsed rehearsed = rehearse_over(REPEATED, "procedure: t\n"
                                                         "answers:\n"
                                                         "  look: {seen: below}\n"
                                                         "  add: {added: 0.1}\n"
                                                         "  twice: {volts: 12}\n");
    assert_int_equal(rehearsed.end, SESSION_PAUSED);
    assert_int_equal(finding_count(&rehearsed), 1);
    assert_int_equal(rehearsed.found.first->finding, FINDING_ANSWER_MISSING);
    fake_close(rehearsed.fake);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(answers_by_name_do_a_whole_job),
        cmocka_unit_test(what_is_asked_and_not_named_is_a_finding),
        cmocka_unit_test(what_is_named_and_never_asked_is_a_warning),
        cmocka_unit_test(a_refused_answer_is_a_finding_with_the_refusal),
        cmocka_unit_test(what_was_expected_is_compared),
        cmocka_unit_test(a_pause_and_a_crash_come_once_and_are_resumed),
        cmocka_unit_test(each_asking_takes_the_next_of_times),
        cmocka_unit_test(asked_more_often_than_answered_is_a_finding),
        cmocka_unit_test(an_implausible_value_needs_a_reason_to_stand),
        cmocka_unit_test(a_repeat_far_from_the_other_needs_a_reason_to_stand),
        cmocka_unit_test(positions_counts_and_steps_left_out),
        cmocka_unit_test(an_expected_list_names_the_positions_it_means),
        cmocka_unit_test(a_value_of_another_kind_is_not_as_expected),
        cmocka_unit_test(a_shut_gate_can_be_answered),
        cmocka_unit_test(a_precaution_denied_once_is_seen_to_again),
        cmocka_unit_test(answers_that_deny_a_gate_for_ever_are_a_finding),
        cmocka_unit_test(a_missing_answer_says_what_it_could_be),
        cmocka_unit_test(a_bound_that_is_reached_ends_it),
    };
    return cmocka_run_group_tests_name("conversation/rehearsal", tests, NULL, NULL);
}

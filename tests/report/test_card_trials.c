/* The card of a trial, as tests/cards shows it. */
#include "golden.h"
#include "report/card.h"
#include "support/trial_ports.h"

static void a_trial_with_a_contradiction_looks_as_before(void **state)
{
    (void)state;
    struct tried tried =
        try_out(TRIAL_PROCEDURE(
                    "    worth: 0.5 bar\n"
                    "    treated: {is: base < 9 bar}\n"
                    "    match: {engine temperature: abs(warm_after - warm_before) <= 5 K}\n"
                    "    claim: Which got better?\n",
                    "3"),
                TRIAL_ANSWERS("{1: [11.6, 11.7, 11.5], 2: [8.0, 8.1, 8.2], 3: [8.3, 8.2, 8.4], "
                              "4: [11.4, 11.5, 11.6]}",
                              "{1: [11.7, 11.8, 11.6], 2: [9.1, 9.2, 9.0], 3: [9.4, 9.3, 9.2], "
                              "4: [11.5, 11.6, 11.7]}",
                              "  warm_after: 360 K\n"
                              "  soak: {design: go on with this trial, claim: 1}\n"),
                7);
    assert_int_equal(tried.end, SESSION_COMPLETED);
    struct arena *arena = &tried.fake->arena;
    struct card card = card_build(tried.fake->session.job,
                                  (struct card_heading){3, TEXT("banksman"), NULL}, arena);
    expect_golden(card_as_text(&card, 80, arena), "trial-80", arena);
    expect_golden(page_text(&tried.fake->told), "trial-session", arena);
    fake_close(tried.fake);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_trial_with_a_contradiction_looks_as_before),
    };
    return cmocka_run_group_tests_name("report/card_trials", tests, NULL, NULL);
}

#include "job/claim.h"
#include "support/fake_ports.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

static const char VALVE[] = "procedure: t\ntitle: T\nrevision: 1\nabout: A.\n"
                            "conditions: {valve_shut: {}, lamp_on: {}}\n"
                            "steps:\n"
                            "  - section: Before\n"
                            "  - {step: shut_valve, do: Shut it., sets: [valve_shut]}\n"
                            "  - section: Work\n"
                            "  - {step: open_it, do: Open it., needs: [valve_shut]}\n";

static void expect_words(struct fake *fake, struct critical_step critical, const char *words)
{
    critical.reached = procedure_find_step(fake->procedure, TEXT("open_it"));
    struct text said = claim_harm_words(&fake->arena, fake->procedure, &critical);
    assert_string_equal(text_terminated(&fake->arena, said), words);
}

static unsigned condition_named(const struct fake *fake, const char *name)
{
    for (unsigned i = 0; i < fake->procedure->condition_count; i++)
        if (text_equal(fake->procedure->conditions[i]->name, text_from(name)))
            return i;
    fail();
    return 0;
}

static void a_harm_is_told_with_its_step_and_what_is_wrong_there(void **state)
{
    (void)state;
    struct fake *fake = fake_open_text(VALVE);
    unsigned shut = condition_named(fake, "valve_shut"),
             lamp = condition_named(fake, "lamp_on");
    expect_words(
        fake,
        (struct critical_step){.harm = SIGNAL_DANGER, .fault = FAULT_NEED, .condition = shut},
        "DANGER at step 2 (open it) without this: valve shut");
    expect_words(fake,
                 (struct critical_step){
                     .harm = SIGNAL_CAUTION, .fault = FAULT_FORBIDDEN, .condition = lamp},
                 "CAUTION at step 2 (open it) with this still so: lamp on");
    expect_words(fake,
                 (struct critical_step){.harm = SIGNAL_WARNING,
                                        .fault = FAULT_REQUIRES,
                                        .condition = lamp,
                                        .required = shut},
                 "WARNING at step 2 (open it) without this: valve shut");
    expect_words(
        fake,
        (struct critical_step){.harm = SIGNAL_NOTICE, .fault = FAULT_LEFT, .condition = lamp},
        "left as it is: lamp on");
    fake_close(fake);
}

static void only_what_leads_to_a_warning_or_worse_is_marked(void **state)
{
    (void)state;
    struct fake *fake = fake_open_text(VALVE);
    const struct work *step = procedure_find_step(fake->procedure, TEXT("shut_valve"));
    const struct work *other = procedure_find_step(fake->procedure, TEXT("open_it"));
    struct critical_step steps[] = {{.work = step, .harm = SIGNAL_WARNING}};
    const struct ranking ranking = {
        .steps = steps, .count = 1, .unranked = &other, .unranked_count = 1};
    const struct critical_step *critical = NULL;
    assert_int_equal(claim_of_step(&ranking, step, &critical), HANGING_MUCH);
    assert_ptr_equal(critical, steps);
    assert_int_equal(claim_of_step(&ranking, other, &critical), HANGING_UNKNOWN);
    steps[0].harm = SIGNAL_CAUTION;
    assert_int_equal(claim_of_step(&ranking, step, &critical), HANGING_LITTLE);
    fake_close(fake);
}

static void an_older_record_claims_nothing(void **state)
{
    (void)state;
    struct fake *fake = fake_open_text(VALVE);
    assert_int_equal(claim_words(&fake->arena, fake->session.job).length, 0);
    struct event started = {.kind = EVENT_STARTED, .number = 1, .position = INDEX_NONE};
    job_apply(fake->session.job, &started);
    assert_int_equal(claim_words(&fake->arena, fake->session.job).length, 0);
    fake_begin_job(fake);
    started.proven = (struct proven){TEXT("sound"), 1, 1, TEXT("banksman 0.1")};
    job_apply(fake->session.job, &started);
    struct text said = claim_words(&fake->arena, fake->session.job);
    assert_true(text_find(said, TEXT("(1 state, 1 branch)")) < said.length);
    fake_close(fake);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_harm_is_told_with_its_step_and_what_is_wrong_there),
        cmocka_unit_test(only_what_leads_to_a_warning_or_worse_is_marked),
        cmocka_unit_test(an_older_record_claims_nothing),
    };
    return cmocka_run_group_tests_name("job/claim", tests, NULL, NULL);
}

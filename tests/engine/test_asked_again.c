#include "support/walked_job.h"

/* The gear stands first in the file, and the lever in a vehicle that stands on stands. */
static const char raised[] = HEAD
    "conditions:\n"
    "  gear: {ask: Gear?, expect: free, otherwise: [held]}\n"
    "  warm: {ask: Sump?, expect: warm, otherwise: [hot]}\n"
    "  beneath: {ask: Who is beneath?, expect: nobody, otherwise: [someone], lapses_after: 0 "
    "min}\n"
    "  up: {requires: [chocked], restore: Let it down.}\n"
    "  firm: {ask: Shake it. How?, expect: firm, otherwise: [rocked], requires: [chocked]}\n"
    "steps:\n"
    "  - {step: neutral, do: Out of gear., sets: [gear]}\n"
    "  - {step: chock, do: Chock it., sets: [chocked]}\n"
    "  - {step: raise, do: Raise it., needs: [chocked, beneath], sets: [up]}\n"
    "  - {step: shake, do: Shake it., needs: [up], sets: [firm]}\n"
    "  - {step: feel, do: Feel it., needs: [firm], sets: [warm]}\n"
    "  - {step: sweep, do: Sweep.}\n"
    "  - {step: work, do: Work., needs: [firm, beneath]}\n"
    "  - {step: down, do: Let it down., clears: [up, firm]}\n"
    "  - {step: away, do: Take them away., forbids: [up], clears: [chocked]}\n";

static void stop_while_raised(struct walked *walked)
{
    walked_begin(walked, raised);
    walked_say(walked, "free");
    walked_say(walked, "stayed still");
    assert_prompt(walked, PROMPT_CONDITION, "beneath");
    walked_say(walked, "nobody");
    walked_say(walked, "");
    walked_say(walked, "firm");
    walked_say(walked, "warm");
    assert_prompt(walked, PROMPT_ACTION, "sweep");
    walked_stop_and_resume(walked);
}

static void what_protects_who_looks_is_asked_first(void **state)
{
    (void)state;
    struct walked walked;
    stop_while_raised(&walked);
    static const char *const asked[][2] = {{"beneath", "nobody"},
                                           {"chocked", "stayed still"},
                                           {"firm", "firm"},
                                           {"gear", "free"},
                                           {"warm", "warm"}};
    for (size_t i = 0; i < sizeof asked / sizeof *asked; i++) {
        assert_prompt(&walked, PROMPT_CONDITION, asked[i][0]);
        walked_replays(&walked);
        walked_say(&walked, asked[i][1]);
    }
    assert_prompt(&walked, PROMPT_ACTION, "sweep");
    walked_say(&walked, "");
    /* answered on taking it up, and not for this step */
    assert_prompt(&walked, PROMPT_CONDITION, "beneath");
    walked_close(&walked);
}

static void nobody_is_sent_beneath_what_has_just_rocked(void **state)
{
    (void)state;
    struct walked walked;
    stop_while_raised(&walked);
    walked_say(&walked, "nobody");
    walked_say(&walked, "stayed still");
    walked_say(&walked, "rocked");
    assert_prompt(&walked, PROMPT_CONDITION, "gear");
    walked_say(&walked, "free");
    assert_prompt(&walked, PROMPT_ACTION, "sweep"); /* and nothing about the sump */
    walked_replays(&walked);
    walked_close(&walked);
}

static void with_someone_beneath_nothing_is_shaken_but_it_can_be_made_safe(void **state)
{
    (void)state;
    struct walked walked;
    stop_while_raised(&walked);
    walked_say(&walked, "someone");
    assert_prompt(&walked, PROMPT_CONDITION, "beneath");
    walked_replays(&walked);
    walked_take(&walked, job_begin_makesafe(walked.job, walked.now, &walked.scratch));
    assert_prompt(&walked, PROMPT_CONDITION, "chocked");
    walked_close(&walked);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(what_protects_who_looks_is_asked_first),
        cmocka_unit_test(nobody_is_sent_beneath_what_has_just_rocked),
        cmocka_unit_test(with_someone_beneath_nothing_is_shaken_but_it_can_be_made_safe),
    };
    return cmocka_run_group_tests_name("engine/asked_again", tests, NULL, NULL);
}

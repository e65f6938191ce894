#include "job/job_state.h"
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

/* Gloves protect in the work, and its gate asks for them; they show nothing about the chocks. */
static void what_protects_only_in_the_work_is_asked_at_its_gate_alone(void **state)
{
    (void)state;
    struct walked walked;
    walked_begin(&walked, HEAD
                 "conditions:\n"
                 "  gloved: {ask: Hands?, expect: gloves, otherwise: [bare], lapses_after: "
                 "0 min}\n"
                 "  drain_open: {restore: Put the plug in.}\n"
                 "steps:\n"
                 "  - {step: chock, do: Chock it., sets: [chocked]}\n"
                 "  - {step: open, do: Plug out., needs: [gloved, chocked], sets: "
                 "[drain_open]}\n"
                 "  - {step: wipe, do: Wipe., needs: [gloved]}\n"
                 "  - {step: close, do: Plug in., clears: [drain_open]}\n"
                 "  - {step: away, do: Take them away., clears: [chocked]}\n");
    walked_say(&walked, "");
    walked_say(&walked, "stayed still");
    walked_say(&walked, "gloves");
    walked_say(&walked, "");
    assert_prompt(&walked, PROMPT_CONDITION, "gloved");
    walked_stop_and_resume(&walked);
    assert_prompt(&walked, PROMPT_CONDITION, "chocked");
    walked_say(&walked, "stayed still");
    assert_prompt(&walked, PROMPT_CONDITION, "gloved");
    walked_replays(&walked);
    walked_say(&walked, "gloves");
    assert_prompt(&walked, PROMPT_ACTION, "wipe");
    walked_close(&walked);
}

/* Its lever is inside, and the step that applies it is forbidden while it is up. */
static const char braked[] =
    HEAD "conditions:\n"
         "  brake: {ask: Lever?, expect: applied, otherwise: [off], lapses_after: 30 min}\n"
         "  up: {requires: [chocked], restore: Let it down.}\n"
         "steps:\n"
         "  - {step: chock, do: Chock it., sets: [chocked]}\n"
         "  - {step: apply, do: Apply it., forbids: [up], sets: [brake]}\n"
         "  - {step: raise, do: Raise it., needs: [chocked, brake], sets: [up]}\n"
         "  - {step: sweep, do: Sweep.}\n"
         "  - {step: down, do: Let it down., clears: [up]}\n"
         "  - {step: away, do: Take them away., needs: [brake], forbids: [up], clears: "
         "[chocked]}\n";

static void walk_to_the_sweep(struct walked *walked)
{
    walked_begin(walked, braked);
    walked_say(walked, "");
    walked_say(walked, "stayed still");
    walked_say(walked, "");
    walked_say(walked, "applied");
    walked_say(walked, "");
    assert_prompt(walked, PROMPT_ACTION, "sweep");
}

static void nobody_is_asked_to_climb_in_while_it_is_up_and_it_counts_only_when_asked(
    void **state)
{
    (void)state;
    struct walked walked;
    walk_to_the_sweep(&walked);
    walked_stop_and_resume(&walked);
    assert_prompt(&walked, PROMPT_CONDITION, "chocked");
    walked_say(&walked, "stayed still");
    assert_prompt(&walked, PROMPT_ACTION, "sweep");
    int brake = procedure_find_condition(walked.fitted->procedure, TEXT("brake"));
    assert_false(condition_in_force(&walked.job->conditions, (unsigned)brake, INDEX_NONE, 0));
    walked_replays(&walked);
    walked_say(&walked, "");
    walked_say(&walked, "");
    assert_prompt(&walked, PROMPT_CONDITION, "brake"); /* on the ground, before it must hold */
    walked_say(&walked, "applied");
    assert_prompt(&walked, PROMPT_ACTION, "away");
    walked_close(&walked);
}

static void on_the_ground_the_brake_is_asked_on_taking_it_up(void **state)
{
    (void)state;
    struct walked walked;
    walk_to_the_sweep(&walked);
    walked_say(&walked, "");
    walked_say(&walked, "");
    assert_prompt(&walked, PROMPT_ACTION, "away");
    walked_stop_and_resume(&walked);
    assert_prompt(&walked, PROMPT_CONDITION, "chocked");
    walked_say(&walked, "stayed still");
    assert_prompt(&walked, PROMPT_CONDITION, "brake");
    walked_say(&walked, "applied");
    assert_prompt(&walked, PROMPT_ACTION, "away"); /* and not once more by its gate */
    walked_close(&walked);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(what_protects_who_looks_is_asked_first),
        cmocka_unit_test(nobody_is_sent_beneath_what_has_just_rocked),
        cmocka_unit_test(with_someone_beneath_nothing_is_shaken_but_it_can_be_made_safe),
        cmocka_unit_test(what_protects_only_in_the_work_is_asked_at_its_gate_alone),
        cmocka_unit_test(
            nobody_is_asked_to_climb_in_while_it_is_up_and_it_counts_only_when_asked),
        cmocka_unit_test(on_the_ground_the_brake_is_asked_on_taking_it_up),
    };
    return cmocka_run_group_tests_name("job/asked_again", tests, NULL, NULL);
}

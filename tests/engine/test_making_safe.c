#include "support/walked_job.h"

static const char plugs[] =
    HEAD "conditions:\n"
         "  hole_open: {each: cylinder, restore: Tighten the plug.}\n"
         "  wedged: {restore: Take the wedge out.}\n"
         "steps:\n"
         "  - {step: chock, do: Chock., sets: [chocked]}\n"
         "  - {step: out, each: cylinder, in: [2, 3], do: \"Take plug {cylinder} out.\", "
         "removes: plug, sets: [hole_open]}\n"
         "  - {step: wedge, do: Wedge it., sets: [wedged]}\n"
         "  - {step: sweep, do: Sweep.}\n"
         "  - {step: free, do: Free it., clears: [wedged]}\n"
         "  - {step: thread, each: cylinder, in: [2, 3], forbids: [wedged], do: \"Thread plug "
         "{cylinder} in.\", refits: plug}\n"
         "  - {step: tighten, each: cylinder, in: [2, 3], do: \"Tighten plug {cylinder}.\", "
         "clears: [hole_open]}\n"
         "  - {step: unchock, do: Unchock., clears: [chocked]}\n";

static void assert_moves(struct walked *walked, const char *const *names, size_t count)
{
    struct makesafe found = job_makesafe(walked->job, walked->now, &walked->scratch);
    assert_true(found.is_found);
    for (size_t i = 0; i < found.move_count && i < count; i++)
        assert_true(text_equal(found.moves[i].step->step->name, text_from(names[i])));
    assert_int_equal(found.move_count, count);
}

#define ASSERT_MOVES(walked, ...)                                                              \
    assert_moves((walked), (const char *const[]){__VA_ARGS__},                                 \
                 sizeof((const char *const[]){__VA_ARGS__}) / sizeof(const char *))

/* Up to the sweeping: two plugs out, the throttle wedged. */
static void take_plugs_out(struct walked *walked)
{
    walked_begin(walked, plugs);
    walked_say(walked, "stayed still");
    walked_say(walked, "");
    walked_say(walked, "");
    walked_say(walked, "");
    assert_prompt(walked, PROMPT_ACTION, "sweep");
}

static void a_plug_is_threaded_in_before_it_is_tightened(void **state)
{
    (void)state;
    struct walked walked;
    take_plugs_out(&walked);
    ASSERT_MOVES(&walked, "free", "thread", "thread", "tighten", "tighten", "unchock");
    struct makesafe found = job_makesafe(walked.job, walked.now, &walked.scratch);
    int cylinder = found.moves[1].step->loop.index;
    assert_int_equal(found.moves[1].here[cylinder], 1);
    assert_int_equal(found.moves[2].here[cylinder], 2);
    walked_close(&walked);
}

static void making_safe_is_walked_in_that_order_to_nothing_out(void **state)
{
    (void)state;
    struct walked walked;
    take_plugs_out(&walked);
    walked_take(&walked, job_begin_makesafe(walked.job, walked.now, &walked.scratch));
    static const char *const order[] = {"free",    "thread",  "thread",
                                        "tighten", "tighten", "unchock"};
    for (size_t i = 0; i < sizeof order / sizeof *order; i++) {
        assert_prompt(&walked, PROMPT_ACTION, order[i]);
        assert_int_equal(walked_newest(&walked, EVENT_ENTERED)->detail, ENTERED_MAKESAFE);
        walked_replays(&walked);
        walked_say(&walked, "");
    }
    assert_int_equal(walked.prompt.kind, PROMPT_SHUT);
    assert_says(walked.prompt.question, "nothing is out");
    const struct text *items;
    assert_int_equal(job_open_items(walked.job, walked.now, &items, &walked.scratch), 0);
    walked_close(&walked);
}

static void a_part_alone_is_out_and_is_put_back(void **state)
{
    (void)state;
    struct walked walked;
    walked_begin(&walked, HEAD "steps:\n"
                               "  - {step: off, do: Take the lid off., removes: lid}\n"
                               "  - {step: sweep, do: Sweep.}\n"
                               "  - {step: lid_on, do: Put the lid on., refits: lid}\n");
    walked_say(&walked, "");
    ASSERT_MOVES(&walked, "lid_on");
    walked_take(&walked, job_begin_makesafe(walked.job, walked.now, &walked.scratch));
    assert_prompt(&walked, PROMPT_ACTION, "lid_on");
    walked_say(&walked, "");
    assert_int_equal(walked.prompt.kind, PROMPT_SHUT);
    assert_says(walked.prompt.question, "nothing is out");
    walked_replays(&walked);
    walked_close(&walked);
}

/* The steps of a machine that stands on its own stand put nothing back on another. */
static void a_step_of_another_branch_puts_nothing_back(void **state)
{
    (void)state;
    struct walked walked;
    walked_begin(&walked,
                 HEAD "machine: {displacement: mL}\n"
                      "steps:\n"
                      "  - {step: off, do: Take the lid off., removes: lid}\n"
                      "  - {step: sweep, do: Sweep.}\n"
                      "  - either:\n"
                      "      - when: machine.displacement < 500 mL\n"
                      "        steps:\n"
                      "          - {step: small_on, do: Put the small lid on., refits: lid}\n"
                      "      - otherwise: true\n"
                      "        steps:\n"
                      "          - {step: large_on, do: Put the large lid on., refits: lid}\n");
    walked_say(&walked, "");
    ASSERT_MOVES(&walked, "large_on");
    walked_close(&walked);
}

/* Nothing is out yet, or perhaps: a plug that a hand was on counts as out. */
static void what_is_perhaps_out_is_put_back_too(void **state)
{
    (void)state;
    struct walked walked;
    walked_begin(&walked, HEAD "steps:\n"
                               "  - {step: sweep, do: Sweep.}\n"
                               "  - {step: off, do: Take the lid off., removes: lid}\n"
                               "  - {step: lid_on, do: Put the lid on., refits: lid}\n");
    struct makesafe found = job_makesafe(walked.job, walked.now, &walked.scratch);
    assert_true(found.is_found);
    assert_int_equal(found.move_count, 0);
    walked_say(&walked, "");
    assert_prompt(&walked, PROMPT_ACTION, "off");
    ASSERT_MOVES(&walked, "lid_on");
    walked_close(&walked);
}

/* The gate of the only step that puts it back stays shut: it is no move, and it is said. */
static void a_part_that_no_step_can_put_back_stays_on_the_list(void **state)
{
    (void)state;
    struct walked walked;
    walked_begin(&walked,
                 HEAD "steps:\n"
                      "  - {step: feel, do: Feel., sets: [cool]}\n"
                      "  - {step: off, do: Take the lid off., removes: [lid, ring]}\n"
                      "  - {step: sweep, do: Sweep.}\n"
                      "  - {step: lid_on, do: Put it on., needs: [cool], refits: lid}\n"
                      "  - {step: ring_on, do: Put it on., refits: ring}\n");
    walked_say(&walked, "cool");
    walked_say(&walked, "");
    walked_stop_and_resume(&walked);
    walked_say(&walked, "hot");
    ASSERT_MOVES(&walked, "ring_on");
    walked_take(&walked, job_begin_makesafe(walked.job, walked.now, &walked.scratch));
    assert_prompt(&walked, PROMPT_ACTION, "ring_on");
    walked_say(&walked, "");
    assert_int_equal(walked.prompt.kind, PROMPT_SHUT);
    assert_says(walked.prompt.question, "1 lid out");
    walked_close(&walked);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_plug_is_threaded_in_before_it_is_tightened),
        cmocka_unit_test(making_safe_is_walked_in_that_order_to_nothing_out),
        cmocka_unit_test(a_part_alone_is_out_and_is_put_back),
        cmocka_unit_test(a_step_of_another_branch_puts_nothing_back),
        cmocka_unit_test(what_is_perhaps_out_is_put_back_too),
        cmocka_unit_test(a_part_that_no_step_can_put_back_stays_on_the_list),
    };
    return cmocka_run_group_tests_name("engine/making_safe", tests, NULL, NULL);
}

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

static const char away[] =
    HEAD "conditions:\n"
         "  drain_open: {restore: Close the drain.}\n"
         "steps:\n"
         "  - {step: chock, do: Chock., sets: [chocked]}\n"
         "  - section: Out\n"
         "    away: true\n"
         "    steps:\n"
         "      - {step: loosen, do: Loosen it.}\n"
         "      - {step: let_out, do: Draw it out., removes: plug, sets: [drain_open]}\n"
         "      - {step: pour, do: Pour it., once: true}\n"
         "  - {step: sweep, do: Sweep.}\n"
         "  - {step: plug_in, do: Put the plug in., refits: plug}\n"
         "  - {step: close, do: Tighten it., clears: [drain_open]}\n"
         "  - {step: unchock, do: Unchock., clears: [chocked]}\n";

static const struct standing *standing_of_name(const struct walked *walked, const char *name)
{
    int id = procedure_find_condition(walked->sound.procedure, text_from(name));
    assert_true(id >= 0);
    return condition_at(job_conditions(walked->job), (unsigned)id, INDEX_NONE);
}

/* Killed with the card on the screen: nobody knows how far the hands got. */
static void every_step_on_a_card_has_perhaps_begun(void **state)
{
    (void)state;
    struct walked walked;
    walked_begin(&walked, away);
    walked_say(&walked, "stayed still");
    assert_prompt(&walked, PROMPT_ACTION, "Out");
    assert_true(standing_of_name(&walked, "drain_open")->is_perhaps);
    ASSERT_MOVES(&walked, "plug_in", "close", "unchock");
    struct part_out *out;
    assert_int_equal(job_parts_out(walked.job, &out, &walked.scratch), 1);
    assert_true(out[0].is_perhaps);
    walked_replays(&walked);
    walked_say(&walked, ""); /* the hands are free again */
    assert_prompt(&walked, PROMPT_ACTION, "loosen");
    walked_say(&walked, "");
    assert_true(standing_of_name(&walked, "drain_open")->is_perhaps);
    walked_say(&walked, "");
    assert_true(standing_of_name(&walked, "drain_open")->is_true);
    assert_false(standing_of_name(&walked, "drain_open")->is_perhaps);
    walked_replays(&walked);
    walked_close(&walked);
}

static void a_stop_at_a_card_asks_how_far_it_got(void **state)
{
    (void)state;
    struct walked walked;
    walked_begin(&walked, away);
    walked_say(&walked, "stayed still");
    walked_stop_and_resume(&walked);
    walked_say(&walked, "stayed still");
    assert_prompt(&walked, PROMPT_ONCE, "Out");
    walked_say(&walked, "not begun");
    assert_prompt(&walked, PROMPT_ACTION, "Out");
    walked_stop_and_resume(&walked);
    walked_say(&walked, "stayed still");
    assert_prompt(&walked, PROMPT_ONCE, "Out");
    walked_say(&walked, "in part");
    assert_prompt(&walked, PROMPT_ONCE, "pour");
    walked_replays(&walked);
    walked_say(&walked, "finished");
    assert_prompt(&walked, PROMPT_ACTION, "Out");
    walked_stop_and_resume(&walked);
    walked_say(&walked, "stayed still");
    walked_say(&walked, "finished");
    assert_prompt(&walked, PROMPT_ACTION, "loosen");
    assert_true(standing_of_name(&walked, "drain_open")->is_perhaps);
    walked_replays(&walked);
    walked_close(&walked);
}

static void what_was_not_begun_is_not_perhaps_so(void **state)
{
    (void)state;
    struct walked walked;
    walked_begin(&walked, HEAD "conditions:\n"
                               "  open: {restore: Close it.}\n"
                               "steps:\n"
                               "  - section: Out\n"
                               "    away: true\n"
                               "    steps:\n"
                               "      - {step: look, do: Look., forbids: [open]}\n"
                               "      - {step: let_out, do: Open it., sets: [open]}\n"
                               "  - {step: close, do: Close it., clears: [open]}\n");
    walked_stop_and_resume(&walked);
    walked_say(&walked, "in part"); /* who looks again must not find it open */
    assert_int_equal(walked.prompt.kind, PROMPT_SHUT);
    walked_close(&walked);
    walked_begin(&walked, HEAD "conditions:\n"
                               "  open: {restore: Close it.}\n"
                               "steps:\n"
                               "  - section: Out\n"
                               "    away: true\n"
                               "    steps:\n"
                               "      - {step: look, do: Look., forbids: [open]}\n"
                               "      - {step: let_out, do: Open it., sets: [open]}\n"
                               "  - {step: close, do: Close it., clears: [open]}\n");
    walked_stop_and_resume(&walked);
    walked_say(&walked, "not begun");
    assert_prompt(&walked, PROMPT_ACTION, "Out");
    walked_replays(&walked);
    walked_close(&walked);
}

static void what_an_optional_step_on_a_card_did_not_do_is_not_perhaps_so(void **state)
{
    (void)state;
    struct walked walked;
    walked_begin(&walked,
                 HEAD "conditions:\n"
                      "  open: {restore: Close it.}\n"
                      "steps:\n"
                      "  - section: Out\n"
                      "    away: true\n"
                      "    steps:\n"
                      "      - {step: let_out, do: Open it., optional: true, sets: [open]}\n"
                      "  - {step: close, do: Close it., clears: [open]}\n");
    walked_say(&walked, "");
    assert_prompt(&walked, PROMPT_OPTIONAL, "let_out");
    assert_true(standing_of_name(&walked, "open")->is_perhaps);
    walked_say(&walked, "pass it over");
    assert_false(standing_of_name(&walked, "open")->is_perhaps);
    walked_replays(&walked);
    walked_close(&walked);
}

/* The way back needs what the step has perhaps done; while making safe it is taken as done. */
static void making_safe_in_the_middle_of_a_step_finds_an_order_and_walks_it(void **state)
{
    (void)state;
    struct walked walked;
    walked_begin(&walked, HEAD
                 "conditions:\n"
                 "  filter_off: {restore: Fit the filter.}\n"
                 "steps:\n"
                 "  - {step: chock, do: Chock., sets: [chocked]}\n"
                 "  - {step: off, do: Unscrew it., removes: cap, sets: [filter_off]}\n"
                 "  - {step: thread, do: Thread it in., needs: [filter_off], refits: cap}\n"
                 "  - {step: tight, do: Tighten., needs: [filter_off], clears: "
                 "[filter_off]}\n"
                 "  - {step: unchock, do: Unchock., forbids: [filter_off], clears: "
                 "[chocked]}\n");
    walked_say(&walked, "stayed still");
    assert_prompt(&walked, PROMPT_ACTION, "off");
    ASSERT_MOVES(&walked, "thread", "tight", "unchock");
    walked_take(&walked, job_begin_makesafe(walked.job, walked.now, &walked.scratch));
    assert_prompt(&walked, PROMPT_ONCE, "off");
    assert_says(walked.prompt.question, "\"Unscrew it.\" had been begun.");
    walked_replays(&walked);
    walked_say(&walked, "in part");
    assert_prompt(&walked, PROMPT_ACTION, "thread");
    walked_replays(&walked);
    walked_say(&walked, "");
    assert_prompt(&walked, PROMPT_ACTION, "tight");
    walked_say(&walked, "");
    assert_prompt(&walked, PROMPT_ACTION, "unchock");
    walked_say(&walked, "");
    assert_says(walked.prompt.question, "nothing is out");
    walked_close(&walked);
}

/* Nobody pours oil on oil: what was not begun needs no putting right. */
static void what_was_not_begun_is_not_put_right(void **state)
{
    (void)state;
    struct walked walked;
    walked_begin(&walked,
                 HEAD "conditions:\n"
                      "  drained: {restore: Fill it.}\n"
                      "steps:\n"
                      "  - {step: chock, do: Chock., sets: [chocked]}\n"
                      "  - {step: drain, do: Drain it., removes: plug, sets: [drained]}\n"
                      "  - {step: plug_in, do: Put it in., refits: plug}\n"
                      "  - {step: fill, do: Fill it., clears: [drained]}\n"
                      "  - {step: unchock, do: Unchock., clears: [chocked]}\n");
    walked_say(&walked, "stayed still");
    walked_take(&walked, job_begin_makesafe(walked.job, walked.now, &walked.scratch));
    walked_say(&walked, "not begun");
    assert_prompt(&walked, PROMPT_ACTION, "unchock");
    walked_replays(&walked);
    walked_say(&walked, "");
    assert_says(walked.prompt.question, "nothing is out");
    walked_close(&walked);
}

/* The wheel stands in the air when the work stops: no step brings it down. */
static void without_an_order_the_list_ends_with_the_chocks(void **state)
{
    (void)state;
    struct walked walked;
    walked_begin(&walked,
                 HEAD "steps:\n"
                      "  - {step: chock, do: Chock., sets: [chocked]}\n"
                      "  - {step: stand, do: Stand., needs: [chocked], sets: [on_stands]}\n"
                      "  - {step: feel, do: Feel., sets: [cool]}\n"
                      "  - {step: lower, do: Lower., needs: [cool], clears: [on_stands]}\n"
                      "  - {step: unchock, do: Unchock., clears: [chocked]}\n");
    walked_say(&walked, "stayed still");
    walked_say(&walked, "stood firm");
    walked_say(&walked, "cool");
    walked_stop_and_resume(&walked);
    walked_say(&walked, "stayed still");
    walked_say(&walked, "stood firm");
    walked_say(&walked, "hot");
    /* the step that feels it is a way, unless it is gone */
    walked_take(&walked, job_begin_makesafe(walked.job, walked.now, &walked.scratch));
    walked_say(&walked, "not begun"); /* the lowering */
    assert_prompt(&walked, PROMPT_CONDITION, "cool");
    walked_close(&walked);
    walked_begin(&walked,
                 HEAD "steps:\n"
                      "  - {step: chock, do: Chock., sets: [chocked]}\n"
                      "  - {step: stand, do: Stand., needs: [chocked], sets: [on_stands]}\n"
                      "  - {step: feel, do: Feel., once: true, sets: [cool]}\n"
                      "  - {step: lower, do: Lower., needs: [cool], clears: [on_stands]}\n"
                      "  - {step: unchock, do: Unchock., clears: [chocked]}\n");
    walked_say(&walked, "stayed still");
    walked_say(&walked, "stood firm");
    walked_say(&walked, "hot");
    walked_take(&walked, job_begin_makesafe(walked.job, walked.now, &walked.scratch));
    assert_int_equal(walked.prompt.kind, PROMPT_SHUT);
    assert_says(walked.prompt.question, "in this order:\n- Lower it.\n- Take the chocks away.");
    assert_true(walked_has_choice(&walked, "go back to the step"));
    assert_false(walked_has_choice(&walked, "make safe"));
    walked_replays(&walked);
    walked_say(&walked, "go back to the step");
    assert_false(job_is_making_safe(walked.job));
    walked_close(&walked);
}

/* What is not worked on is not put right either. */
static void a_position_outside_the_subset_is_no_move(void **state)
{
    (void)state;
    struct walked walked;
    walked_begin(&walked, HEAD
                 "conditions:\n"
                 "  hole_open: {restore: Tighten the plugs.}\n"
                 "steps:\n"
                 "  - {step: out, do: Take them out., removes: plug, sets: [hole_open]}\n"
                 "  - {step: sweep, do: Sweep.}\n"
                 "  - {step: tighten, each: cylinder, in: [3], do: \"Tighten {cylinder}.\", "
                 "clears: [hole_open], refits: plug}\n");
    walked_say(&walked, "");
    struct makesafe found = job_makesafe(walked.job, walked.now, &walked.scratch);
    assert_int_equal(found.move_count, 1);
    assert_int_equal(found.moves[0].here[found.moves[0].step->loop.index], 2);
    walked_close(&walked);
}

/* --- where it is put right ----------------------------------------------------------------------- */

/* Air is let out by one of two ways, as the reading has it. */
static const char air[] =
    HEAD "conditions:\n"
         "  hole_open: {each: cylinder, restore: Tighten the plug.}\n"
         "  air_in: {restore: Let the air out.}\n"
         "steps:\n"
         "  - {step: open, each: cylinder, do: Open it., sets: [hole_open]}\n"
         "  - section: Air\n"
         "    each: cylinder\n"
         "    steps:\n"
         "      - step: fill\n"
         "        do: Let the air in.\n"
         "        sets: [air_in]\n"
         "        record: {crank: {ask: What did it do, choices: [stayed, turned]}}\n"
         "      - section: Turned\n"
         "        when: \"crank[cylinder] == 'turned'\"\n"
         "        steps:\n"
         "          - {step: early, do: Let it out., clears: [air_in]}\n"
         "      - {step: vent, do: Let it out., clears: [air_in]}\n"
         "  - {step: close, each: cylinder, do: Close it., clears: [hole_open]}\n";

/* The first move, and its position counted from 1. */
static void assert_first_move(struct walked *walked, const char *name, int position)
{
    struct makesafe found = job_makesafe(walked->job, walked->now, &walked->scratch);
    assert_true(found.is_found);
    const struct work *work = found.moves[0].step;
    assert_true(text_equal(work->step->name, text_from(name)));
    while (!work_is_each(work))
        work = work->parent;
    assert_int_equal(found.moves[0].here[work->loop.index], position - 1);
}

static void air_is_let_out_of_the_cylinder_it_was_let_into(void **state)
{
    (void)state;
    struct walked walked;
    walked_begin(&walked, air);
    for (int i = 0; i < 4; i++)
        walked_say(&walked, "");
    for (int cylinder = 1; cylinder <= 4; cylinder++) {
        assert_prompt(&walked, PROMPT_READING, "crank");
        /* not known yet which way will be taken: either will do, but here */
        assert_first_move(&walked, "early", cylinder);
        walked_say(&walked, "stayed");
        assert_prompt(&walked, PROMPT_ACTION, "vent");
        assert_first_move(&walked, "vent", cylinder);
        walked_say(&walked, "");
    }
    walked_close(&walked);
}

static void making_safe_is_walked_at_that_cylinder(void **state)
{
    (void)state;
    struct walked walked;
    walked_begin(&walked, air);
    for (int i = 0; i < 4; i++)
        walked_say(&walked, "");
    walked_say(&walked, "stayed");
    walked_say(&walked, "");
    walked_say(&walked, "stayed");
    walked_take(&walked, job_begin_makesafe(walked.job, walked.now, &walked.scratch));
    walked_say(&walked, "in part");
    assert_prompt(&walked, PROMPT_ACTION, "vent");
    assert_int_equal(walked_newest(&walked, EVENT_ENTERED)->spot.turns[0], 1);
    walked_replays(&walked);
    walked_close(&walked);
}

/* No condition is kept by cylinder, so the search knows of none. */
static void it_is_put_right_there_if_no_condition_has_positions(void **state)
{
    (void)state;
    struct walked walked;
    walked_begin(&walked, HEAD "conditions:\n"
                               "  gauge_in: {restore: Take it out.}\n"
                               "steps:\n"
                               "  - section: Test\n"
                               "    each: cylinder\n"
                               "    in: [3, 4]\n"
                               "    steps:\n"
                               "      - {step: in, do: Gauge in., sets: [gauge_in]}\n"
                               "      - {step: look, do: Look.}\n"
                               "      - {step: out, do: Gauge out., clears: [gauge_in]}\n");
    for (int cylinder = 3; cylinder <= 4; cylinder++) {
        walked_say(&walked, "");
        assert_prompt(&walked, PROMPT_ACTION, "look");
        assert_first_move(&walked, "out", cylinder);
        walked_say(&walked, "");
        walked_say(&walked, "");
    }
    walked_close(&walked);
}

/* A step for no cylinder stands first in the file, but the one for this cylinder says which. */
static void the_step_for_this_cylinder_goes_before_one_for_none(void **state)
{
    (void)state;
    struct walked walked;
    walked_begin(&walked, HEAD "conditions:\n"
                               "  hole_open: {each: cylinder, restore: Tighten the plug.}\n"
                               "  gauge_in: {restore: Take it out.}\n"
                               "steps:\n"
                               "  - {step: first_in, do: Gauge in., sets: [gauge_in]}\n"
                               "  - {step: first_out, do: Gauge out., clears: [gauge_in]}\n"
                               "  - section: Test\n"
                               "    each: cylinder\n"
                               "    steps:\n"
                               "      - {step: in, do: Gauge in., sets: [gauge_in]}\n"
                               "      - {step: look, do: Look.}\n"
                               "      - {step: out, do: Gauge out., clears: [gauge_in]}\n");
    walked_say(&walked, "");
    ASSERT_MOVES(&walked, "first_out");
    walked_say(&walked, "");
    for (int i = 0; i < 4; i++)
        walked_say(&walked, "");
    assert_prompt(&walked, PROMPT_ACTION, "look");
    assert_first_move(&walked, "out", 2);
    walked_close(&walked);
}

/* At cylinder 1 nothing can take the strap off: then it is taken off where it can be. */
static void elsewhere_if_it_cannot_be_done_there(void **state)
{
    (void)state;
    struct walked walked;
    walked_begin(&walked, HEAD
                 "conditions:\n"
                 "  strapped: {restore: Take the strap off.}\n"
                 "steps:\n"
                 "  - {step: on, each: cylinder, in: [1], do: Strap it., sets: [strapped]}\n"
                 "  - {step: look, do: Look.}\n"
                 "  - {step: off, each: cylinder, in: [3], do: Strap off., clears: "
                 "[strapped]}\n");
    walked_say(&walked, "");
    assert_prompt(&walked, PROMPT_ACTION, "look");
    assert_first_move(&walked, "off", 3);
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
        cmocka_unit_test(every_step_on_a_card_has_perhaps_begun),
        cmocka_unit_test(a_stop_at_a_card_asks_how_far_it_got),
        cmocka_unit_test(what_was_not_begun_is_not_perhaps_so),
        cmocka_unit_test(what_an_optional_step_on_a_card_did_not_do_is_not_perhaps_so),
        cmocka_unit_test(making_safe_in_the_middle_of_a_step_finds_an_order_and_walks_it),
        cmocka_unit_test(what_was_not_begun_is_not_put_right),
        cmocka_unit_test(without_an_order_the_list_ends_with_the_chocks),
        cmocka_unit_test(a_position_outside_the_subset_is_no_move),
        cmocka_unit_test(air_is_let_out_of_the_cylinder_it_was_let_into),
        cmocka_unit_test(making_safe_is_walked_at_that_cylinder),
        cmocka_unit_test(it_is_put_right_there_if_no_condition_has_positions),
        cmocka_unit_test(the_step_for_this_cylinder_goes_before_one_for_none),
        cmocka_unit_test(elsewhere_if_it_cannot_be_done_there),
    };
    return cmocka_run_group_tests_name("job/making_safe", tests, NULL, NULL);
}

#include "support/fake_ports.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

static const char UNDER[] =
    "procedure: under\ntitle: Under the tractor\nrevision: 1\nabout: A test.\n"
    "steps:\n"
    "  - step: chock\n    do: Put a chock before and behind one wheel.\n"
    "    sets: [wheels_chocked]\n"
    "  - section: Underneath\n    away: true\n    steps:\n"
    "      - step: undo\n        do: Undo the plug.\n"
    "        caution: {hazard: The oil may be hot., harm: Burns.}\n"
    "        danger: {hazard: It can roll., harm: Crushing.}\n"
    "        notice: The thread is soft.\n"
    "        needs: [wheels_chocked]\n"
    "        wear: gloves\n"
    "        tools: [15 mm key, a basin]\n"
    "        look_for: The oil runs black.\n"
    "        record: {colour: {choices: [black, brown]}}\n"
    "      - step: turn\n        each: cylinder\n        do: Turn screw {cylinder}.\n"
    "  - section: Again on top\n"
    "  - step: away_with_them\n    do: Take the chocks away.\n    clears: [wheels_chocked]\n";

static struct fake *typed(const char *procedure, const char *const *lines, size_t count)
{
    struct fake *fake = fake_open_text(procedure);
    fake_type(fake, lines, count);
    (void)fake_start(fake);
    return fake;
}

#define TYPED(procedure, ...)                                                                  \
    typed((procedure), (const char *const[]){__VA_ARGS__},                                     \
          sizeof((const char *const[]){__VA_ARGS__}) / sizeof(const char *))

static size_t place_of(const struct fake *fake, const char *words)
{
    struct text all = page_text(&fake->told);
    size_t at = text_find(all, text_from(words));
    if (at == all.length)
        (void)fprintf(stderr, "'%s' was not told:\n%.*s\n", words, (int)all.length, all.bytes);
    assert_int_not_equal(at, all.length);
    return at;
}

/* Each is told, and in this order. */
static void assert_order(const struct fake *fake, const char *const *words, size_t count)
{
    struct text rest = page_text(&fake->told);
    for (size_t i = 0; i < count; i++) {
        size_t at = text_find(rest, text_from(words[i]));
        if (at == rest.length)
            (void)fprintf(stderr, "'%s' is not told after what stands before it:\n%.*s\n",
                          words[i], (int)rest.length, rest.bytes);
        assert_int_not_equal(at, rest.length);
        rest = text_slice(rest, at, rest.length);
    }
}

#define ASSERT_ORDER(fake, ...)                                                                \
    assert_order((fake), (const char *const[]){__VA_ARGS__},                                   \
                 sizeof((const char *const[]){__VA_ARGS__}) / sizeof(const char *))

static void the_opening_collects_hazards_worst_first(void **state)
{
    (void)state;
    struct fake *fake = TYPED(UNDER, "!end");
    ASSERT_ORDER(fake, "Under the tractor", "Machine: Birch hand tractor", "own manual",
                 "cannot see whether a precaution is in force",
                 "DANGER: It can roll. Crushing.", "CAUTION: The oil may be hot. Burns.",
                 "NOTICE: The thread is soft.",
                 "Set up on the way and undone by the end: wheels chocked.",
                 "read it whole before you go: Underneath",
                 "Lay out first (see kit): 2 tools and 1 protective item.");
    fake_close(fake);
}

static void a_procedure_without_hazards_says_none(void **state)
{
    (void)state;
    struct fake *fake = TYPED("procedure: t\ntitle: T\nrevision: 1\nabout: A.\n"
                              "steps: [{step: look, do: Look at it.}]\n",
                              "!end");
    (void)place_of(fake, "Hazards this procedure names: none.");
    (void)place_of(fake, "undone by the end: nothing.");
    (void)place_of(fake, "Lay out first: nothing is named.");
    fake_close(fake);
}

static void an_away_section_is_warned_of_and_shown_whole(void **state)
{
    (void)state;
    struct fake *fake = TYPED(UNDER, "stayed still", "where", "", "", "black", "", "", "");
    ASSERT_ORDER(fake, "Section 1: Underneath", "DANGER: It can roll. Crushing.",
                 "CAUTION: The oil may be hot.", "read and understood",
                 "Your hands are not free in this section.", "1. Undo the plug.",
                 "Wear: gloves.", "Tools: 15 mm key and a basin.",
                 "Look for: The oil runs black.", "Keep in mind: colour.",
                 "2. For each cylinder: Turn screw ….", "That is the whole card.", "Step 2 ·",
                 "colour", "Step 3 ·", "Turn screw 1.", "Turn screw 2.",
                 "Section 1 complete, 3 of 3: Underneath.", "Completed.");
    fake_close(fake);
}

static void no_action_is_told_before_its_warning_was_read(void **state)
{
    (void)state;
    struct fake *fake = TYPED(UNDER, "stayed still", "!end");
    struct text all = page_text(&fake->told);
    assert_int_equal(text_find(all, TEXT("Undo the plug.")), all.length);
    fake_close(fake);
}

static void messages_stand_worst_first_whatever_the_file_says(void **state)
{
    (void)state;
    struct fake *fake = TYPED("procedure: t\ntitle: T\nrevision: 1\nabout: A.\nsteps:\n"
                              "  - step: one\n    do: Do one thing.\n    notice: N.\n"
                              "    caution: C.\n    warning: W.\n    danger: D.\n",
                              "", "!end");
    ASSERT_ORDER(fake, "Step 1 ·", "DANGER: D.", "WARNING: W.", "CAUTION: C.", "NOTICE: N.",
                 "read and understood", "Do one thing.");
    fake_close(fake);
}

static void a_refused_answer_does_not_bring_the_step_again(void **state)
{
    (void)state;
    struct fake *fake = TYPED("procedure: t\ntitle: T\nrevision: 1\nabout: A.\nsteps:\n"
                              "  - {step: one, do: Read the meter., record: {v: {unit: V}}}\n",
                              "much", "12.5 bar", "12.5");
    struct text all = page_text(&fake->told);
    size_t first = place_of(fake, "Read the meter.");
    struct text rest = text_slice(all, first + 1, all.length);
    assert_int_equal(text_find(rest, TEXT("Read the meter.")), rest.length);
    (void)place_of(fake, "Completed.");
    fake_close(fake);
}

static void supplies_are_told_with_their_amount_and_bound(void **state)
{
    (void)state;
    struct fake *fake =
        TYPED("procedure: t\ntitle: T\nrevision: 1\nabout: A.\nsteps:\n"
              "  - step: one\n    do: Pour it.\n"
              "    consumes: {engine oil: {is: 5 mL, at_most: 8 mL}}\n"
              "    parts: {sealing ring: 1}\n    why: It is dry.\n    tool: a can\n",
              "kit", "why", "", "!end");
    ASSERT_ORDER(fake, "1 tool, 1 part and 1 material", "Pour it.", "Tools:", "- a can",
                 "New parts:", "- sealing ring: 1",
                 "Fluids and materials:", "- engine oil: 5 mL", "It is dry.");
    (void)place_of(fake, "engine oil, 5 mL; never more than 8 mL.");
    (void)place_of(fake, "New part: sealing ring, 1.");
    fake_close(fake);
}

static void torque_turn_and_new_parts_are_told(void **state)
{
    (void)state;
    struct fake *fake =
        TYPED("procedure: t\ntitle: T\nrevision: 1\nabout: A.\nsteps:\n"
              "  - {step: out, do: Take the bolt out., removes: bolt, photo: optional}\n"
              "  - {step: in, do: Put it in., refits: {bolt: {new: true}}, parts: {bolt: 1}, "
              "torque: 25 N.m, turn: "
              "90 °}\n",
              "why", "", "25", "!end");
    ASSERT_ORDER(fake, "A picture can go with it", "The procedure gives no reason", "Step 2 ·",
                 "Put it in.", "Torque: 25 N·m.", "Then turn it on by 90°.", "A new bolt.");
    fake_close(fake);
}

static void rounds_timers_and_what_is_open_are_told_in_where(void **state)
{
    (void)state;
    struct fake *fake = TYPED(
        "procedure: t\ntitle: T\nrevision: 1\nabout: A.\n"
        "conditions: {cover_off: {each: cylinder, restore: Put the cover on.}}\nsteps:\n"
        "  - {step: off, each: cylinder, do: Take the cover off., sets: [cover_off], removes: "
        "cover}\n"
        "  - section: Soak\n"
        "  - {step: pour, do: Pour it in., starts: {soak: {at_least: 1 min, at_most: 2 min}}}\n"
        "  - {step: rest, do: Sit down.}\n"
        "  - {step: wipe, awaits: soak, do: Wipe it.}\n"
        "  - section: Close\n"
        "  - {step: on, each: cylinder, do: Put the cover on., clears: [cover_off], refits: "
        "cover}\n",
        "", "", "", "where", "", "", "", "", "!end");
    ASSERT_ORDER(
        fake, "Soak: 60 s left.", "Sit down.", "3 of 7 done", "cover",
        "Coming up:", "step 4: wipe (Soak)",
        "Section 1 complete, 3 of 3: Soak. Open: cover off (every cylinder) and 2 covers "
        "out.",
        "Section 2 complete, 2 of 2: Close. Open: nothing.", "Completed.");
    fake_close(fake);
}

/* A look back at an earlier section ends none, and is not counted twice. */
static void a_step_done_again_ends_no_section(void **state)
{
    (void)state;
    struct fake *fake = TYPED(
        "procedure: t\ntitle: T\nrevision: 1\nabout: A.\nsteps:\n"
        "  - section: Hold\n"
        "  - {step: chock, do: Chock it., sets: [wheels_chocked]}\n"
        "  - {step: sweep, do: Sweep.}\n"
        "  - section: Work\n"
        "  - {step: look, do: Look.}\n"
        "  - {step: under, do: Go under., needs: [wheels_chocked]}\n"
        "  - section: Close\n"
        "  - {step: away, do: Take them away., clears: [wheels_chocked]}\n",
        "moved", "go on without it", "", "", "do step 1 again", "stayed still", "", "", "!end");
    assert_false(fake_was_told(fake, "Section 2 complete, 1 of 1"));
    ASSERT_ORDER(fake, "Section 1 over, 2 of 2: Hold. NOT in force: wheels chocked.",
                 "Section 2: Work", "Chock it.", "Section 2 complete, 2 of 2: Work.");
    fake_close(fake);
}

static void what_comes_next_leaves_out_the_branch_of_another_machine(void **state)
{
    (void)state;
    struct fake *fake = TYPED("procedure: t\ntitle: T\nrevision: 1\nabout: A.\n"
                              "machine: {lowest_allowed: bar}\nsteps:\n"
                              "  - {step: a, do: A.}\n"
                              "  - {step: b, do: B., when: machine.lowest_allowed > 99 bar}\n"
                              "  - {step: c, do: C.}\n",
                              "where", "!end");
    ASSERT_ORDER(fake, "Coming up:", "step 3: c");
    assert_false(fake_was_told(fake, "step 2: b"));
    fake_close(fake);
}

/* More than a screen of them: what hurts worst is told, the rest is counted; and a step that this machine
 * never does brings none. */
static void a_long_list_of_hazards_is_cut_and_holds_only_what_can_come(void **state)
{
    (void)state;
    struct fake *fake =
        TYPED("procedure: t\ntitle: T\nrevision: 1\nabout: Short. And long.\n"
              "machine: {lowest_allowed: bar}\nsteps:\n"
              "  - {step: a, do: A., warning: {hazard: Heat one., harm: Burns.}}\n"
              "  - {step: b, do: B., warning: {hazard: Heat two., harm: Burns.}}\n"
              "  - {step: c, do: C., warning: {hazard: Heat three., harm: Burns.}}\n"
              "  - {step: d, do: D., caution: {hazard: Edge one., harm: Cuts.}}\n"
              "  - {step: e, do: E., caution: {hazard: Edge two., harm: Cuts.}}\n"
              "  - {step: f, do: F., caution: {hazard: Edge three., harm: Cuts.}}\n"
              "  - {step: g, do: G., notice: {hazard: It is soft.}}\n"
              "  - {step: h, when: machine.lowest_allowed > 900 bar, do: H., warning: {hazard: "
              "It leaps., "
              "harm: Bruises.}}\n",
              "where", "!end");
    ASSERT_ORDER(fake, "Short.",
                 "Hazards on the way (3 cautions and 1 notice come before their steps):",
                 "WARNING: Heat one. Burns.", "WARNING: Heat three. Burns.", "Set up");
    struct text all = page_text(&fake->told);
    size_t set_up = text_find(all, TEXT("Set up"));
    assert_true(text_find(all, TEXT("Edge one")) > set_up);
    assert_int_equal(text_find(all, TEXT("It leaps")), all.length);
    fake_close(fake);
}

/* The only step that puts the ring back takes something else out: that is no way to safety. */
static void what_no_step_can_put_back_is_said_with_the_order(void **state)
{
    (void)state;
    struct fake *fake =
        TYPED("procedure: t\ntitle: T\nrevision: 1\nabout: A.\nsteps:\n"
              "  - {step: off, do: Take both off., removes: [lid, seal_ring]}\n"
              "  - {step: look, do: Look at it.}\n"
              "  - {step: lid_on, do: Put the lid on., refits: lid}\n"
              "  - {step: swap, do: Swap them., refits: seal_ring, removes: cap}\n"
              "  - {step: cap_on, do: Put the cap on., refits: cap}\n",
              "", "makesafe", "go on with the work", "!end");
    ASSERT_ORDER(fake, "Out of its normal state now:", "1 lid out", "1 seal ring out",
                 "To make it safe, in this order:", "1. Put the lid on.",
                 "WARNING: No step of this procedure can put these back from here.",
                 "1 seal ring out");
    fake_close(fake);
}

static void a_section_ends_before_the_next_step_begins(void **state)
{
    (void)state;
    struct fake *fake = TYPED("procedure: t\ntitle: T\nrevision: 1\nabout: A.\n"
                              "conditions: {cover_off: {restore: Put the cover on.}}\nsteps:\n"
                              "  - section: Look\n"
                              "  - {step: look, do: Look at it.}\n"
                              "  - section: Open\n"
                              "  - {step: off, do: Take the cover off., sets: [cover_off]}\n"
                              "  - {step: on, do: Put the cover on., clears: [cover_off]}\n",
                              "", "", "", "!end");
    ASSERT_ORDER(fake, "Look at it.", "Section 1 complete, 1 of 1: Look. Open: nothing.",
                 "Section 2: Open", "Take the cover off.");
    fake_close(fake);
}

static void everything_told_can_be_read_at_40_columns(void **state)
{
    (void)state;
    struct fake *fake = TYPED(UNDER, "stayed still", "help", "", "", "", "black", "", "", "");
    struct text rest = page_text(&fake->told), line;
    while (text_cut(&rest, '\n', &line))
        while (line.length > 0) {
            struct text row = text_wrap(&line, 40);
            assert_true(text_width(row) <= 40);
            for (size_t i = 0; i < row.length;
                 i++) /* no rules, boxes or tabs to be read aloud */
                assert_true((unsigned char)row.bytes[i] >= ' ');
        }
    fake_close(fake);
}

static void a_warning_that_is_not_asked_for_again_is_shown_again(void **state)
{
    (void)state;
    struct fake *fake = TYPED("procedure: t\ntitle: T\nrevision: 1\nabout: A.\nsteps:\n"
                              "  - {step: one, do: Blow one out., caution: It spits.}\n"
                              "  - {step: two, do: Blow two out., caution: It spits.}\n",
                              "", "", "", "!end");
    ASSERT_ORDER(fake, "CAUTION: It spits.", "Blow one out.", "CAUTION: It spits.",
                 "Blow two out.");
    assert_true(job_has_ended(fake->session.job));
    fake_close(fake);
}

static void a_section_whose_precaution_was_denied_is_not_said_to_be_complete(void **state)
{
    (void)state;
    struct fake *fake =
        TYPED("procedure: t\ntitle: T\nrevision: 1\nabout: A.\n"
              "conditions: {lid_held: {ask: Pull it. What now?, expect: it holds, "
              "otherwise: [it lifts]}}\nsteps:\n"
              "  - section: Hold it\n"
              "  - {step: hold, do: Hold the lid., sets: [lid_held]}\n"
              "  - section: Work\n"
              "  - {step: work, do: Work.}\n"
              "  - {step: later, do: Later., needs: [lid_held]}\n",
              "it lifts", "go on without it", "!end");
    ASSERT_ORDER(fake, "over, 1 of 1: Hold it. NOT in force: lid held.", "Work.");
    assert_false(fake_was_told(fake, "complete, 1 of 1: Hold it"));
    assert_int_equal(fake_resume(fake), SESSION_PAUSED);
    ASSERT_ORDER(fake, "taken up again", "NOT in force: lid held.");
    assert_false(fake_was_told(fake, "What was answered as in force is asked again"));
    fake_close(fake);
}

/* Its line stands with its action, and nothing is ranked before a step is shown. */
static void what_hangs_on_a_step_is_told_with_it(void **state)
{
    (void)state;
    struct fake *fake = TYPED(UNDER, "");
    ASSERT_ORDER(fake, "Put a chock before and behind one wheel.",
                 "Critical: left out, DANGER at step 2 (undo) without this: "
                 "wheels chocked.");
    fake_close(fake);
    fake = TYPED("procedure: t\ntitle: T\nrevision: 1\nabout: A.\n"
                 "inputs: {hours: {unit: h, ask: Hours run}}\n"
                 "steps:\n  - {step: work, do: Work.}\n",
                 "!end");
    assert_true(fake_was_told(fake, "Hazards this procedure names: none."));
    assert_int_equal(fake->ranked, 0);
    assert_false(fake_was_told(fake, "Critical"));
    fake_close(fake);
}

static void it_is_told_again_when_a_job_is_taken_up(void **state)
{
    (void)state;
    struct fake *fake = TYPED(UNDER, "!end");
    fake_type(fake, (const char *const[]){"!end"}, 1);
    assert_int_equal(fake_resume(fake), SESSION_PAUSED);
    ASSERT_ORDER(fake, "taken up again", "Put a chock before and behind one wheel.",
                 "Critical: left out, DANGER at step 2 (undo)");
    fake_close(fake);
}

static void a_step_that_only_leaves_something_open_is_not_marked(void **state)
{
    (void)state;
    struct fake *fake = TYPED("procedure: t\ntitle: T\nrevision: 1\nabout: A.\n"
                              "conditions: {lid_off: {restore: Put it on.}}\nsteps:\n"
                              "  - {step: off, do: Take it off., sets: [lid_off]}\n"
                              "  - {step: on, do: Put it on., clears: [lid_off]}\n",
                              "", "");
    assert_true(fake->ranked > 0);
    assert_false(fake_was_told(fake, "Critical"));
    fake_close(fake);
}

static const struct ranking *nothing_ranked(void *self)
{
    struct fake *fake = self;
    const struct work **unranked = arena_array(&fake->arena, const struct work *, 1);
    unranked[0] = procedure_find_step(fake->procedure, TEXT("work"));
    fake->ranking = (struct ranking){.unranked = unranked, .unranked_count = 1};
    return &fake->ranking;
}

static void what_could_not_be_ranked_is_said_at_its_step(void **state)
{
    (void)state;
    struct fake *fake = fake_open_text("procedure: t\ntitle: T\nrevision: 1\nabout: A.\n"
                                       "steps:\n  - {step: work, do: Work.}\n");
    fake->session.ranker.rank = nothing_ranked;
    fake_type(fake, (const char *const[]){""}, 1);
    (void)fake_start(fake);
    ASSERT_ORDER(fake, "Work.",
                 "What hangs on this step is not ranked: too many combinations.");
    fake_close(fake);
}

static void a_gauge_past_its_calibration_is_told_in_the_opening_and_the_kit(void **state)
{
    (void)state;
    /* it is 2026-03-31 */
    static const char P[] =
        "procedure: p\ntitle: P\nrevision: 1\nabout: A test.\n"
        "gauges:\n"
        "  old: {title: brass gauge, unit: bar, due: 2026-03-30}\n"
        "  good: {unit: V, due: 2026-03-31}\n"
        "  counter: {unit: \"1\"}\n"
        "steps:\n"
        "  - {step: read, do: Read it., record: {a: {gauge: old}, b: {gauge: good}, "
        "c: {gauge: counter}}}\n";
    struct fake *fake = TYPED(P, "kit", "1", "2", "3");
    ASSERT_ORDER(fake, "Lay out first", "Brass gauge: calibration was due 2026-03-30: past.",
                 "Gauges:", "brass gauge, in bar; calibration was due 2026-03-30: past",
                 "good, in V\n", "counter\n");
    fake_close(fake);
}

static void what_was_proven_is_told_in_the_opening(void **state)
{
    (void)state;
    struct fake *fake = TYPED(UNDER, "!end");
    ASSERT_ORDER(fake, "It goes by your answers.",
                 "Proven before the start: on every path each declared precaution is reached "
                 "(120 states, 4 branches), if the answers are true and the library is "
                 "sufficient. Not proven: that the work was done",
                 "Hazards on the way");
    fake_close(fake);
    fake = fake_open_text(UNDER);
    struct event older = {.kind = EVENT_STARTED, .seed = 7, .zone = TEXT("+01:00")};
    fake_type(fake, (const char *const[]){"!end"}, 1);
    (void)session_start(&fake->session, &older);
    assert_false(fake_was_told(fake, "Proven"));
    fake_close(fake);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(the_opening_collects_hazards_worst_first),
        cmocka_unit_test(a_procedure_without_hazards_says_none),
        cmocka_unit_test(an_away_section_is_warned_of_and_shown_whole),
        cmocka_unit_test(no_action_is_told_before_its_warning_was_read),
        cmocka_unit_test(messages_stand_worst_first_whatever_the_file_says),
        cmocka_unit_test(a_refused_answer_does_not_bring_the_step_again),
        cmocka_unit_test(supplies_are_told_with_their_amount_and_bound),
        cmocka_unit_test(torque_turn_and_new_parts_are_told),
        cmocka_unit_test(rounds_timers_and_what_is_open_are_told_in_where),
        cmocka_unit_test(a_step_done_again_ends_no_section),
        cmocka_unit_test(what_comes_next_leaves_out_the_branch_of_another_machine),
        cmocka_unit_test(a_long_list_of_hazards_is_cut_and_holds_only_what_can_come),
        cmocka_unit_test(what_no_step_can_put_back_is_said_with_the_order),
        cmocka_unit_test(a_section_ends_before_the_next_step_begins),
        cmocka_unit_test(everything_told_can_be_read_at_40_columns),
        cmocka_unit_test(a_warning_that_is_not_asked_for_again_is_shown_again),
        cmocka_unit_test(a_section_whose_precaution_was_denied_is_not_said_to_be_complete),
        cmocka_unit_test(what_hangs_on_a_step_is_told_with_it),
        cmocka_unit_test(it_is_told_again_when_a_job_is_taken_up),
        cmocka_unit_test(a_step_that_only_leaves_something_open_is_not_marked),
        cmocka_unit_test(what_could_not_be_ranked_is_said_at_its_step),
        cmocka_unit_test(a_gauge_past_its_calibration_is_told_in_the_opening_and_the_kit),
        cmocka_unit_test(what_was_proven_is_told_in_the_opening),
    };
    return cmocka_run_group_tests_name("conversation/present", tests, NULL, NULL);
}

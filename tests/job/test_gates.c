#include "support/walked_job.h"

static const char cranked[] = HEAD "steps:\n"
                                   "  - {step: chock, do: Chock., sets: [chocked]}\n"
                                   "  - {step: spin, do: Crank., activity: crank}\n"
                                   "  - {step: unchock, do: Unchock., clears: [chocked]}\n";

#define ON_STANDS(work)                                                                        \
    HEAD "steps:\n"                                                                            \
         "  - {step: chock, do: Chock., sets: [chocked]}\n"                                    \
         "  - {step: stand, do: Stand., needs: [chocked], sets: [on_stands]}\n" work           \
         "  - {step: lower, do: Lower., clears: [on_stands]}\n"                                \
         "  - {step: unchock, do: Unchock., clears: [chocked]}\n"
static const char worked_under[] = ON_STANDS("  - {step: work, do: Work., activity: under}\n");
static const char swept[] = ON_STANDS("  - {step: sweep, do: Sweep.}\n");

static void what_is_asked_at_every_gate_is_asked_at_every_gate(void **state)
{
    (void)state;
    struct walked walked;
    walked_begin(&walked, cranked);
    assert_prompt(&walked, PROMPT_CONDITION, "chocked");
    walked_say(&walked, "stayed still");
    assert_prompt(&walked, PROMPT_CONDITION, "area_clear");
    walked_say(&walked, "");
    assert_refused(&walked, "Enter alone");
    walked_say(&walked, "someone");
    assert_says(walked.prompt.question, "NOT in force: area clear.");
    assert_false(walked_newest(&walked, EVENT_ENTERED)->spot.work == 2);
    assert_prompt(&walked, PROMPT_CONDITION, "area_clear");
    walked_say(&walked, "nobody");
    assert_prompt(&walked, PROMPT_WARNING, "spin");
    walked_say(&walked, "");
    assert_prompt(&walked, PROMPT_ACTION, "spin");
    walked_stop_and_resume(&walked);
    assert_prompt(&walked, PROMPT_CONDITION, "chocked");
    walked_say(&walked, "stayed still");
    assert_prompt(&walked, PROMPT_CONDITION, "area_clear");
    walked_say(&walked, "nobody");
    assert_prompt(&walked, PROMPT_WARNING, "spin");
    walked_replays(&walked);
    walked_say(&walked, "");
    walked_say(&walked, "");
    walked_say(&walked, "");
    assert_true(job_has_ended(walked.job));
    assert_int_equal(walked_newest(&walked, EVENT_ENDED)->detail, ENDED_COMPLETED);
    walked_close(&walked);
}

/* A single letter at a precaution is a slip of the finger. */
static void a_precaution_is_answered_by_number_or_all_its_words(void **state)
{
    (void)state;
    struct walked walked;
    walked_begin(&walked, cranked);
    walked_say(&walked, "s");
    assert_refused(&walked, "only the beginning");
    walked_say(&walked, "stayed");
    assert_refused(&walked, "all its words");
    assert_prompt(&walked, PROMPT_CONDITION, "chocked");
    walked_say(&walked, " Stayed  STILL ");
    assert_prompt(&walked, PROMPT_CONDITION, "area_clear");
    walked_close(&walked);
}

static void a_shut_gate_says_what_is_missing_and_lets_it_be_done_again(void **state)
{
    (void)state;
    struct walked walked;
    walked_begin(&walked, cranked);
    walked_say(&walked, "moved");
    assert_prompt(&walked, PROMPT_SHUT, "chock");
    walked_say(&walked, "go on without it");
    assert_prompt(&walked, PROMPT_SHUT, "spin");
    assert_says(walked.prompt.question, "begun: chocked is not in force.");
    assert_true(walked_has_choice(&walked, "do step 1 again: Chock"));
    assert_true(walked_has_choice(&walked, "make safe"));
    assert_true(walked_has_choice(&walked, "pause"));
    walked_say(&walked, "");
    assert_refused(&walked, "Enter alone");
    walked_replays(&walked);
    walked_say(&walked, "do step 1 again");
    assert_prompt(&walked, PROMPT_CONDITION, "chocked");
    assert_int_equal(walked_newest(&walked, EVENT_ENTERED)->detail, ENTERED_REDO);
    walked_replays(&walked);
    walked_say(&walked, "stayed still");
    assert_prompt(&walked, PROMPT_CONDITION, "area_clear");
    walked_close(&walked);
}

static void what_a_step_failed_to_set_is_told_at_once(void **state)
{
    (void)state;
    struct walked walked;
    walked_begin(&walked, cranked);
    walked_say(&walked, "moved");
    assert_prompt(&walked, PROMPT_SHUT, "chock");
    assert_says(walked.prompt.question, "NOT in force: chocked.");
    assert_true(walked_has_choice(&walked, "do step 1 again: Chock"));
    assert_true(walked_has_choice(&walked, "go on without it"));
    assert_true(walked_has_choice(&walked, "make safe"));
    assert_true(walked_has_choice(&walked, "pause"));
    const struct text *names;
    const struct work *all = walked.sound.procedure->works[0];
    assert_int_equal(job_denied(walked.job, all, &names, &walked.scratch), 1);
    assert_says(names[0], "chocked");
    walked_replays(&walked);
    walked_stop_and_resume(&walked);
    assert_prompt(&walked, PROMPT_SHUT, "chock");
    walked_say(&walked, "do step 1 again");
    assert_prompt(&walked, PROMPT_CONDITION, "chocked");
    walked_say(&walked, "stayed still");
    assert_int_equal(job_denied(walked.job, all, &names, &walked.scratch), 0);
    assert_prompt(&walked, PROMPT_CONDITION, "area_clear");
    walked_replays(&walked);
    walked_close(&walked);
}

static void a_skip_never_passes_a_shut_gate(void **state)
{
    (void)state;
    struct walked walked;
    walked_begin(&walked, cranked);
    walked_say(&walked, "moved");
    walked_say(&walked, "go on without it");
    walked_take(&walked, job_skip(walked.job, TEXT("in a hurry"), walked.now, &walked.scratch));
    assert_refused(&walked, "cannot be skipped");
    assert_prompt(&walked, PROMPT_SHUT, "spin");
    walked_close(&walked);
}

static void what_lapsed_is_asked_at_the_next_gate_that_needs_it(void **state)
{
    (void)state;
    struct walked walked;
    walked_begin(&walked, worked_under);
    walked_say(&walked, "stayed still");
    walked_say(&walked, "stood firm");
    assert_prompt(&walked, PROMPT_WARNING, "work");
    walked_pass(&walked, 31 * 60);
    walked_look(&walked);
    assert_prompt(&walked, PROMPT_CONDITION, "on_stands");
    walked_say(&walked, "stood firm");
    assert_prompt(&walked, PROMPT_WARNING, "work");
    walked_close(&walked);
}

static void a_denial_that_breaks_what_is_required_stops_the_work(void **state)
{
    (void)state;
    struct walked walked;
    walked_begin(&walked, swept);
    walked_say(&walked, "stayed still");
    walked_say(&walked, "stood firm");
    walked_stop_and_resume(&walked);
    assert_prompt(&walked, PROMPT_CONDITION, "chocked");
    walked_say(&walked, "moved");
    /* nobody is sent to shake the stands of a vehicle that rolls */
    assert_int_equal(walked.prompt.kind, PROMPT_SHUT);
    assert_null(walked.prompt.work);
    assert_true(walked_has_choice(&walked, "do step 1 again: Chock"));
    walked_say(&walked, "do step 1 again");
    walked_say(&walked, "stayed still");
    assert_prompt(&walked, PROMPT_CONDITION, "on_stands");
    walked_say(&walked, "stood firm");
    assert_prompt(&walked, PROMPT_ACTION, "sweep");
    walked_close(&walked);
}

static void each_reason_why_a_step_is_shut_is_a_sentence_of_its_own(void **state)
{
    (void)state;
    struct walked walked;
    walked_begin(&walked, HEAD "conditions:\n"
                               "  up: {requires: [chocked], restore: Let it down.}\n"
                               "  gear: {ask: Gear?, expect: free, otherwise: [held]}\n"
                               "steps:\n"
                               "  - {step: neutral, do: Out of gear., sets: [gear]}\n"
                               "  - {step: chock, do: Chock it., sets: [chocked]}\n"
                               "  - {step: raise, do: Raise it., sets: [up]}\n"
                               "  - {step: away, do: Away with them., needs: [gear], forbids: "
                               "[up], clears: [chocked]}\n"
                               "  - {step: down, do: Let it down., clears: [up]}\n");
    walked_say(&walked, "held");
    walked_say(&walked, "go on without it");
    walked_say(&walked, "stayed still");
    walked_say(&walked, "");
    assert_prompt(&walked, PROMPT_SHUT, "away");
    assert_says(
        walked.prompt.question,
        "begun. NOT in force: gear. It must not be while this holds: up; step 5 ends it. "
        "Up would be left without chocked, which it wants. These steps put it right:\n"
        "- step 1, Out of gear\n- step 5, Let it down");
    walked_close(&walked);
}

static void make_safe_is_walked_step_by_step(void **state)
{
    (void)state;
    struct walked walked;
    walked_begin(&walked, swept);
    walked_say(&walked, "stayed still");
    walked_say(&walked, "stood firm");
    walked_take(&walked, job_begin_makesafe(walked.job, walked.now, &walked.scratch));
    assert_prompt(&walked, PROMPT_ACTION, "lower");
    assert_int_equal(walked_newest(&walked, EVENT_ENTERED)->detail, ENTERED_MAKESAFE);
    walked_replays(&walked);
    walked_say(&walked, "");
    assert_prompt(&walked, PROMPT_ACTION, "unchock");
    walked_say(&walked, "");
    assert_int_equal(walked.prompt.kind, PROMPT_SHUT);
    assert_true(walked_has_choice(&walked, "go on with the work"));
    walked_replays(&walked);
    walked_say(&walked, "go on");
    assert_prompt(&walked, PROMPT_ACTION, "sweep");
    walked_say(&walked, "");
    assert_prompt(&walked, PROMPT_ACTION, "lower");
    walked_close(&walked);
}

/* The danger was read and the step stood on the screen; then everything it relied on was undone. */
static void a_step_on_show_is_gated_anew_after_making_safe(void **state)
{
    (void)state;
    struct walked walked;
    walked_begin(&walked, worked_under);
    walked_say(&walked, "stayed still");
    walked_say(&walked, "stood firm");
    walked_say(&walked, ""); /* the danger */
    assert_prompt(&walked, PROMPT_ACTION, "work");
    walked_take(&walked, job_begin_makesafe(walked.job, walked.now, &walked.scratch));
    walked_say(&walked, "");
    walked_say(&walked, "");
    walked_say(&walked, "go on with the work");
    assert_int_equal(walked.prompt.kind, PROMPT_SHUT);
    assert_true(walked_has_choice(&walked, "do steps 1 and 2 again, in this order"));
    assert_says(walked.prompt.question, "This step cannot be begun. NOT in force: chocked; on "
                                        "stands. These steps put it right:\n"
                                        "- step 1, Chock\n- step 2, Stand");
    walked_replays(&walked);
    walked_say(&walked, "do steps 1 and 2 again, in this order");
    assert_prompt(&walked, PROMPT_CONDITION, "chocked");
    walked_say(&walked, "stayed still");
    assert_prompt(&walked, PROMPT_CONDITION, "on_stands");
    assert_int_equal(walked_newest(&walked, EVENT_ENTERED)->detail, ENTERED_REDO);
    walked_replays(&walked);
    walked_say(&walked, "stood firm");
    assert_prompt(&walked, PROMPT_WARNING, "work");
    walked_close(&walked);
}

/* The way is left at the first denial; what now is asked anew. */
static void a_denial_on_the_way_ends_it(void **state)
{
    (void)state;
    struct walked walked;
    walked_begin(&walked, worked_under);
    walked_say(&walked, "stayed still");
    walked_say(&walked, "stood firm");
    walked_take(&walked, job_begin_makesafe(walked.job, walked.now, &walked.scratch));
    walked_say(&walked, "");
    walked_say(&walked, "");
    walked_say(&walked, "go on with the work");
    walked_say(&walked, "do steps 1 and 2 again, in this order");
    walked_say(&walked, "moved");
    assert_prompt(&walked, PROMPT_SHUT, "chock");
    assert_says(walked.prompt.question, "NOT in force: chocked.");
    walked_replays(&walked);
    walked_say(&walked, "do step 1 again");
    walked_say(&walked, "stayed still");
    assert_prompt(&walked, PROMPT_SHUT, "work");
    walked_close(&walked);
}

/* What nobody does twice was done while making safe; the work goes on behind it. */
static void a_once_step_done_while_making_safe_is_not_done_again(void **state)
{
    (void)state;
    struct walked walked;
    walked_begin(&walked, HEAD "conditions:\n"
                               "  drained: {restore: Fill it.}\n"
                               "steps:\n"
                               "  - {step: drain, do: Drain., sets: [drained]}\n"
                               "  - {step: sweep, do: Sweep.}\n"
                               "  - {step: fill, do: Fill., once: true, clears: [drained]}\n"
                               "  - {step: cap, do: Put the cap on.}\n");
    walked_say(&walked, "");
    walked_take(&walked, job_begin_makesafe(walked.job, walked.now, &walked.scratch));
    assert_prompt(&walked, PROMPT_ACTION, "fill");
    walked_say(&walked, "");
    walked_say(&walked, "go on with the work");
    assert_prompt(&walked, PROMPT_ACTION, "sweep");
    walked_say(&walked, "");
    assert_prompt(&walked, PROMPT_ACTION, "cap");
    walked_replays(&walked);
    walked_close(&walked);
}

static void making_safe_waits_for_what_a_step_it_undoes_has_started(void **state)
{
    (void)state;
    struct walked walked;
    walked_begin(&walked,
                 HEAD "conditions:\n"
                      "  drained: {restore: Fill it.}\n"
                      "  running: {restore: Switch it off.}\n"
                      "steps:\n"
                      "  - {step: run, do: Run it., sets: [running], starts: {warm: {at_least: "
                      "3 min}}}\n"
                      "  - {step: drain, do: Drain., sets: [drained], starts: {dripping: "
                      "{at_least: 10 min}}}\n"
                      "  - {step: look, do: Look.}\n"
                      "  - {step: off, awaits: warm, do: Switch it off., clears: [running]}\n"
                      "  - {step: wipe, awaits: dripping, do: Wipe.}\n"
                      "  - {step: fill, do: Fill., clears: [drained], forbids: [running]}\n");
    walked_say(&walked, "");
    walked_say(&walked, "");
    walked_take(&walked, job_begin_makesafe(walked.job, walked.now, &walked.scratch));
    assert_prompt(&walked, PROMPT_ACTION, "off"); /* an engine is switched off at once */
    walked_say(&walked, "");
    assert_prompt(&walked, PROMPT_WAIT, "fill");
    walked_replays(&walked);
    walked_pass(&walked, 10 * 60);
    walked_look(&walked);
    assert_prompt(&walked, PROMPT_ACTION, "fill");
    walked_close(&walked);
}

/* As in the library that ships: the chocks are what the push shows, the stands what the shake shows. */
static const char shown[] = HEAD
    "conditions:\n"
    "  still: {ask: Kick it. How?, expect: stayed, otherwise: [slid], restore: Take away.}\n"
    "  gear: {ask: Gear?, expect: free, otherwise: [held]}\n"
    "  pushed: {}\n"
    "  up: {restore: Bring it down.}\n"
    "  on: {restore: Raise it off.}\n"
    "  firm: {ask: Shake it. How?, expect: firm, otherwise: [rocked]}\n"
    "steps:\n"
    "  - {step: neutral, do: Out of gear., sets: [gear]}\n"
    "  - {step: chocks, do: Chock it., clears: [pushed], sets: [still]}\n"
    "  - step: push\n"
    "    do: Push it.\n"
    "    needs: [gear, still]\n"
    "    forbids: [up]\n"
    "    hold: {ask: What did it do?, expect: stayed still, otherwise: [moved]}\n"
    "    sets: [pushed]\n"
    "  - {step: raise, do: Raise it., needs: [pushed], sets: [up]}\n"
    "  - {step: weight_on, do: Set it down., needs: [up], clears: [firm], sets: [on]}\n"
    "  - {step: jack, do: Jack up again., needs: [on], clears: [firm]}\n"
    "  - {step: shake, do: Shake it., needs: [still, on], sets: [firm]}\n"
    "  - {step: phone, do: Phone., needs: [firm, on]}\n"
    "  - {step: weight_off, do: Raise it off., clears: [on, firm]}\n"
    "  - {step: down, do: Let it down., forbids: [on], clears: [up]}\n"
    "  - {step: away, do: Take them away., forbids: [up], clears: [still]}\n";

static void a_hold_answered_otherwise_withdraws_what_it_showed(void **state)
{
    (void)state;
    struct walked walked;
    walked_begin(&walked, shown);
    walked_say(&walked, "free");
    walked_say(&walked, "stayed");
    assert_prompt(&walked, PROMPT_HOLD, "push");
    walked_say(&walked, "moved");
    assert_prompt(&walked, PROMPT_SHUT, "push");
    assert_says(walked.prompt.question, "still is not in force");
    assert_false(walked_says(walked.prompt.question, "gear is not in force"));
    walked_replays(&walked);
    walked_say(&walked, "do step 2 again");
    assert_prompt(&walked, PROMPT_CONDITION, "still");
    walked_say(&walked, "stayed");
    assert_prompt(&walked, PROMPT_HOLD, "push");
    walked_say(&walked, "stayed still");
    assert_prompt(&walked, PROMPT_ACTION, "raise");
    walked_close(&walked);
}

static void stands_that_rock_are_set_anew_and_not_only_shaken_again(void **state)
{
    (void)state;
    struct walked walked;
    walked_begin(&walked, shown);
    walked_say(&walked, "free");
    walked_say(&walked, "stayed");
    walked_say(&walked, "stayed still");
    walked_say(&walked, "");
    walked_say(&walked, "");
    walked_say(&walked, "");
    assert_prompt(&walked, PROMPT_CONDITION, "firm");
    walked_say(&walked, "rocked");
    assert_prompt(&walked, PROMPT_SHUT, "shake");
    assert_false(walked_has_choice(&walked, "do step 7 again: Shake it"));
    const char *way = "do steps 9, 5, 6 and 7 again, in this order";
    assert_says(walked.prompt.question, "- step 9, Raise it off\n- step 5, Set it down\n"
                                        "- step 6, Jack up again\n- step 7, Shake it");
    assert_true(walked_has_choice(&walked, way));
    walked_replays(&walked);
    walked_say(&walked, way);
    assert_prompt(&walked, PROMPT_ACTION, "weight_off");
    walked_say(&walked, "");
    assert_prompt(&walked, PROMPT_ACTION, "weight_on");
    walked_replays(&walked);
    walked_say(&walked, "");
    assert_prompt(&walked, PROMPT_ACTION, "jack"); /* no gate asks for it; the shake is of it */
    walked_say(&walked, "");
    assert_prompt(&walked, PROMPT_CONDITION, "firm");
    walked_say(&walked, "firm");
    assert_prompt(&walked, PROMPT_ACTION, "phone");
    walked_stop_and_resume(&walked);
    walked_say(&walked, "stayed");
    walked_say(&walked, "free");
    walked_say(&walked, "rocked");
    assert_true(walked_has_choice(&walked, way));
    walked_close(&walked);
}

static void make_safe_ends_with_the_job_left_open(void **state)
{
    (void)state;
    struct walked walked;
    walked_begin(&walked, cranked);
    walked_say(&walked, "stayed still");
    walked_take(&walked, job_begin_makesafe(walked.job, walked.now, &walked.scratch));
    walked_say(&walked, "");
    walked_say(&walked, "end the job");
    assert_true(job_has_ended(walked.job));
    assert_int_equal(walked_newest(&walked, EVENT_ENDED)->detail, ENDED_LEFT_OPEN);
    walked_close(&walked);
}

static void a_condition_of_one_cylinder_forbids_only_while_it_holds(void **state)
{
    (void)state;
    struct walked walked;
    walked_begin(&walked, HEAD "steps:\n"
                               "  - {step: chock, do: Chock., sets: [chocked]}\n"
                               "  - section: Wet\n"
                               "    each: cylinder\n"
                               "    in: [3]\n"
                               "    steps:\n"
                               "      - {step: oil_in, do: Squirt., sets: [wet]}\n"
                               "      - {step: turn, do: Turn., clears: [wet]}\n"
                               "  - {step: spin, do: Crank., activity: crank}\n"
                               "  - {step: unchock, do: Unchock., clears: [chocked]}\n");
    walked_say(&walked, "stayed still");
    walked_say(&walked, "");
    const struct condition_state *conditions = job_conditions(walked.job);
    int wet = procedure_find_condition(walked.sound.procedure, TEXT("wet"));
    assert_true(condition_at(conditions, (unsigned)wet, 2)->is_true);
    assert_false(condition_at(conditions, (unsigned)wet, 1)->is_true);
    walked_say(&walked, "");
    assert_prompt(&walked, PROMPT_CONDITION, "area_clear");
    walked_close(&walked);
}

static void what_is_asked_at_every_gate_is_asked_again_after_a_skip(void **state)
{
    (void)state;
    struct walked walked;
    walked_begin(&walked, HEAD "steps:\n"
                               "  - {step: chock, do: Chock., sets: [chocked]}\n"
                               "  - {step: spin, do: Crank., activity: crank}\n"
                               "  - {step: spin_again, do: Crank., activity: crank}\n"
                               "  - {step: unchock, do: Unchock., clears: [chocked]}\n");
    walked_say(&walked, "stayed still");
    walked_say(&walked, "nobody");
    assert_prompt(&walked, PROMPT_WARNING, "spin");
    walked_take(&walked, job_skip(walked.job, TEXT("flat"), walked.now, &walked.scratch));
    assert_taken(&walked);
    assert_prompt(&walked, PROMPT_CONDITION, "area_clear");
    walked_replays(&walked);
    walked_close(&walked);
}

/* The library says why an open door is none, and so does the question that comes back. */
static void a_denial_that_names_no_precaution_is_told_why(void **state)
{
    (void)state;
    struct walked walked;
    static const char safety[] =
        "conditions:\n"
        "  gas_out:\n"
        "    ask: Where does the gas go?\n"
        "    expect: outside\n"
        "    otherwise: [out of the open door, into the room]\n"
        "    lapses_after: 0 min\n"
        "activities:\n"
        "  run: {signal: danger, hazard: Gas., harm: Death., needs: [gas_out]}\n"
        "not_a_precaution:\n"
        "  garage_door_open: Exhaust gas kills with the door open.\n"
        "  on_the_jack: A jack lifts.\n";
    walked_open(&walked);
    struct walked_files files = {
        .procedure = walked_source(&walked.arena, "procedure.yaml",
                                   HEAD "steps:\n  - {step: run, do: Run., activity: run}\n"),
        .machine = walked_source(&walked.arena, "machine.yaml", walked_machine),
        .safety = walked_source(&walked.arena, "safety.yaml", safety),
        .shelf = {NULL, walked_fetch, walked_nearest},
    };
    assert_true(walked_load(&walked, files));
    walked_begin_job(&walked, 7);
    walked_look(&walked);
    assert_false(walked_says(walked.prompt.question, "NOT in force"));
    walked_say(&walked, "into the room");
    assert_says(walked.prompt.question, "NOT in force: gas out.");
    assert_false(walked_says(walked.prompt.question, "door"));
    walked_say(&walked, "out of the open door");
    assert_says(walked.prompt.question, "Exhaust gas kills with the door open.");
    assert_says(walked.prompt.question, "Where does the gas go?");
    walked_replays(&walked);
    walked_close(&walked);
}

/* No gate sees the connectors; who counts them anew must take them off first. */
static void what_making_safe_put_back_is_taken_out_again(void **state)
{
    (void)state;
    struct walked walked;
    walked_begin(&walked, HEAD
                 "conditions:\n"
                 "  dead: {ask: How many?, expect: none, otherwise: [some], restore: On.}\n"
                 "steps:\n"
                 "  - {step: chock, do: Chock., sets: [chocked]}\n"
                 "  - {step: off, each: cylinder, in: [1, 2], do: \"Off {cylinder}.\", "
                 "removes: lead}\n"
                 "  - {step: count, do: Count., needs: [chocked], sets: [dead]}\n"
                 "  - {step: crank, do: Crank., needs: [dead]}\n"
                 "  - {step: on, each: cylinder, in: [1, 2], do: \"On {cylinder}.\", "
                 "refits: lead}\n"
                 "  - {step: pull, do: Pull., clears: [dead]}\n"
                 "  - {step: unchock, do: Unchock., clears: [chocked]}\n");
    walked_say(&walked, "stayed still");
    walked_say(&walked, "");
    walked_say(&walked, "");
    walked_say(&walked, "none");
    assert_prompt(&walked, PROMPT_ACTION, "crank");
    walked_take(&walked, job_begin_makesafe(walked.job, walked.now, &walked.scratch));
    for (int i = 0; i < 4; i++)
        walked_say(&walked, ""); /* on, on, pull, unchock */
    walked_say(&walked, "go on with the work");
    const char *way = "do steps 1, 2 and 3 again, in this order";
    assert_says(walked.prompt.question, "- step 2, Off …\n- step 3, Count");
    assert_true(walked_has_choice(&walked, way));
    walked_say(&walked, way);
    walked_say(&walked, "stayed still");
    assert_prompt(&walked, PROMPT_ACTION, "off");
    walked_replays(&walked);
    walked_say(&walked, "");
    assert_prompt(&walked, PROMPT_ACTION, "off");
    walked_say(&walked, "");
    assert_prompt(&walked, PROMPT_CONDITION, "dead");
    struct part_out *out;
    assert_int_equal(job_parts_out(walked.job, &out, &walked.scratch), 2);
    walked_say(&walked, "none");
    assert_prompt(&walked, PROMPT_ACTION, "crank");
    walked_close(&walked);
}

#define IN_TURN(loop)                                                                          \
    HEAD "conditions:\n  near: {}\n  held: {restore: Let go.}\nsteps:\n"                       \
         "  - section: Turn\n    " loop "\n    steps:\n"                                       \
         "      - {step: near, do: Come to it., sets: [near]}\n"                               \
         "      - {step: hold, do: Hold it., needs: [near], sets: [held]}\n"                   \
         "      - {step: turn, do: Turn it., needs: [held]}\n"                                 \
         "      - {step: let_go, do: Let go., clears: [held, near]}\n"
/* Some condition has the first index, none the second. */
static const char *const held_in_turn[] = {IN_TURN("each: cylinder\n    in: [1, 2]"),
                                           IN_TURN("each: wheel")};

/* At cylinder 2 it was let go, and there it is held again: not at the first in the list. */
static void the_way_back_is_where_the_person_stands(void **state)
{
    (void)state;
    for (size_t i = 0; i < sizeof held_in_turn / sizeof *held_in_turn; i++) {
        struct walked walked;
        walked_begin(&walked, held_in_turn[i]);
        for (int k = 0; k < 6; k++)
            walked_say(&walked, ""); /* near, hold, turn, let go; near, hold */
        assert_prompt(&walked, PROMPT_ACTION, "turn");
        int stands = walked.prompt.spot.turns[0];
        walked_take(&walked, job_begin_makesafe(walked.job, walked.now, &walked.scratch));
        walked_say(&walked, "");
        walked_say(&walked, "go on with the work");
        const char *way = "do steps 1 and 2 again, in this order";
        assert_true(walked_has_choice(&walked, way));
        walked_say(&walked, way);
        assert_prompt(&walked, PROMPT_ACTION, "near");
        assert_int_equal(walked.prompt.spot.turns[0], stands);
        walked_replays(&walked);
        walked_say(&walked, "");
        assert_prompt(&walked, PROMPT_ACTION, "hold");
        assert_int_equal(walked.prompt.spot.turns[0], stands);
        walked_say(&walked, "");
        assert_prompt(&walked, PROMPT_ACTION, "turn");
        assert_int_equal(walked.prompt.spot.turns[0], stands);
        walked_close(&walked);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(what_is_asked_at_every_gate_is_asked_at_every_gate),
        cmocka_unit_test(a_precaution_is_answered_by_number_or_all_its_words),
        cmocka_unit_test(a_shut_gate_says_what_is_missing_and_lets_it_be_done_again),
        cmocka_unit_test(what_a_step_failed_to_set_is_told_at_once),
        cmocka_unit_test(a_skip_never_passes_a_shut_gate),
        cmocka_unit_test(what_lapsed_is_asked_at_the_next_gate_that_needs_it),
        cmocka_unit_test(a_denial_that_breaks_what_is_required_stops_the_work),
        cmocka_unit_test(each_reason_why_a_step_is_shut_is_a_sentence_of_its_own),
        cmocka_unit_test(make_safe_is_walked_step_by_step),
        cmocka_unit_test(a_step_on_show_is_gated_anew_after_making_safe),
        cmocka_unit_test(a_denial_on_the_way_ends_it),
        cmocka_unit_test(a_once_step_done_while_making_safe_is_not_done_again),
        cmocka_unit_test(making_safe_waits_for_what_a_step_it_undoes_has_started),
        cmocka_unit_test(a_hold_answered_otherwise_withdraws_what_it_showed),
        cmocka_unit_test(stands_that_rock_are_set_anew_and_not_only_shaken_again),
        cmocka_unit_test(what_making_safe_put_back_is_taken_out_again),
        cmocka_unit_test(the_way_back_is_where_the_person_stands),
        cmocka_unit_test(make_safe_ends_with_the_job_left_open),
        cmocka_unit_test(a_denial_that_names_no_precaution_is_told_why),
        cmocka_unit_test(what_is_asked_at_every_gate_is_asked_again_after_a_skip),
        cmocka_unit_test(a_condition_of_one_cylinder_forbids_only_while_it_holds),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}

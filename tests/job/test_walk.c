#include "support/walked_job.h"

static void a_simple_procedure_walks_from_start_to_end(void **state)
{
    (void)state;
    struct walked walked;
    walked_begin(&walked, HEAD "steps:\n"
                               "  - step: one\n"
                               "    do: Do one.\n"
                               "  - step: two\n"
                               "    do: Do two.\n");
    assert_prompt(&walked, PROMPT_ACTION, "one");
    assert_true(walked.prompt.enter_passes);
    walked_say(&walked, "what");
    assert_refused(&walked, "'what'");
    walked_say(&walked, "");
    assert_prompt(&walked, PROMPT_ACTION, "two");
    unsigned done, total;
    job_progress(walked.job, &done, &total);
    assert_int_equal(done, 1);
    assert_int_equal(total, 2);
    walked_say(&walked, "");
    assert_prompt(&walked, PROMPT_ENDED, "");
    assert_true(job_has_ended(walked.job));
    assert_int_equal(walked_newest(&walked, EVENT_ENDED)->detail, ENDED_COMPLETED);
    walked_replays(&walked);
    walked_close(&walked);
}

static void each_goes_by_position_and_by_firing_order(void **state)
{
    (void)state;
    struct walked walked;
    walked_begin(&walked, HEAD "steps:\n"
                               "  - step: look\n"
                               "    each: cylinder\n"
                               "    do: Look at {cylinder}.\n"
                               "  - step: listen\n"
                               "    each: cylinder\n"
                               "    order: firing\n"
                               "    do: Listen at {cylinder}.\n");
    const char *const order[] = {"1", "2", "3", "4", "1", "3", "4", "2"};
    for (size_t i = 0; i < 8; i++) {
        struct text words = job_fill(walked.job, &walked.prompt.work->step->action,
                                     &walked.prompt.spot, &walked.scratch);
        assert_prompt(&walked, PROMPT_ACTION, i < 4 ? "look" : "listen");
        assert_true(text_ends(words, text_fill(&walked.scratch, " {}.", text_from(order[i]))));
        walked_replays(&walked);
        walked_say(&walked, "");
    }
    assert_true(job_has_ended(walked.job));
    walked_close(&walked);
}

static void a_subset_is_fixed_when_the_loop_begins(void **state)
{
    (void)state;
    struct walked walked;
    walked_begin(&walked, HEAD "steps:\n"
                               "  - step: measure\n"
                               "    each: cylinder\n"
                               "    do: Measure.\n"
                               "    record: {dry: {unit: bar}}\n"
                               "  - section: Again\n"
                               "    each: cylinder\n"
                               "    in: dry < 10 bar\n"
                               "    steps:\n"
                               "      - step: again\n"
                               "        do: Measure again.\n"
                               "        record: {wet: {unit: bar}}\n");
    walked_say(&walked, "9 bar");
    walked_say(&walked, "11");
    walked_say(&walked, "12");
    walked_say(&walked, "8");
    assert_prompt(&walked, PROMPT_READING, "wet");
    assert_true(text_equal(walked.prompt.position_label, TEXT("1")));
    walked_say(&walked, "9.5");
    assert_true(text_equal(walked.prompt.position_label, TEXT("4")));
    walked_replays(&walked);
    walked_say(&walked, "9.5");
    assert_true(job_has_ended(walked.job));
    struct value wet = walked_value(&walked, "wet", &walked.scratch);
    assert_false(wet.items[0].is_missing);
    assert_true(wet.items[1].is_missing);
    walked_close(&walked);
}

static void a_list_of_labels_is_a_subset(void **state)
{
    (void)state;
    struct walked walked;
    walked_begin(&walked, HEAD "steps:\n"
                               "  - step: pump\n"
                               "    each: wheel\n"
                               "    in: [front left, rear right]\n"
                               "    do: Pump it up.\n");
    struct text place = job_spot_name(walked.job, &walked.prompt.spot, &walked.scratch);
    assert_true(text_equal(place, TEXT("front left")));
    walked_say(&walked, "");
    place = job_spot_name(walked.job, &walked.prompt.spot, &walked.scratch);
    assert_true(text_equal(place, TEXT("rear right")));
    walked_say(&walked, "");
    assert_true(job_has_ended(walked.job));
    unsigned done, total;
    job_progress(walked.job, &done, &total);
    assert_int_equal(total, 2); /* two of them left out */
    assert_int_equal(done, 2);
    walked_close(&walked);
}

static const char either_or[] = HEAD "inputs:\n"
                                     "  kind: {choices: [spin-on, cartridge]}\n"
                                     "steps:\n"
                                     "  - either:\n"
                                     "      - when: kind == \"spin-on\"\n"
                                     "        steps: [{step: unscrew, do: Unscrew it.}]\n"
                                     "      - otherwise: true\n"
                                     "        steps: [{step: lift, do: Lift it out.}]\n"
                                     "  - step: rings\n"
                                     "    when: kind == \"cartridge\"\n"
                                     "    do: Change the rings.\n"
                                     "  - {step: last, do: Close it.}\n";

static void the_alternative_that_is_true_is_taken(void **state)
{
    (void)state;
    struct walked walked;
    walked_begin(&walked, either_or);
    assert_prompt(&walked, PROMPT_INPUT, "kind");
    walked_say(&walked, "SPIN-ON");
    assert_prompt(&walked, PROMPT_ACTION, "unscrew");
    walked_say(&walked, "");
    assert_prompt(&walked, PROMPT_ACTION, "last");
    unsigned done, total;
    job_progress(walked.job, &done, &total);
    assert_int_equal(total, 2); /* what is left out is not counted */
    assert_int_equal(done, 1);
    walked_close(&walked);
}

/* Whatever will be read: this machine never comes there. */
static void the_branch_of_another_machine_is_never_counted(void **state)
{
    (void)state;
    struct walked walked;
    walked_begin(&walked, HEAD "machine: {displacement: mL}\n"
                               "steps:\n"
                               "  - {step: sweep, do: Sweep.}\n"
                               "  - either:\n"
                               "      - when: machine.displacement < 500 mL\n"
                               "        steps: [{step: a, do: A.}, {step: b, do: B.}]\n"
                               "      - otherwise: true\n"
                               "        steps: [{step: c, do: C.}]\n");
    unsigned done, total;
    job_progress(walked.job, &done, &total);
    assert_int_equal(total, 2);
    assert_int_equal(done, 0);
    walked_close(&walked);
}

static void a_step_that_was_denied_is_not_among_the_last_ones(void **state)
{
    (void)state;
    struct walked walked;
    walked_begin(&walked, HEAD "steps:\n"
                               "  - {step: sweep, do: Sweep.}\n"
                               "  - {step: chock, do: Chock., sets: [chocked]}\n"
                               "  - {step: work, do: Work., needs: [chocked]}\n"
                               "  - {step: away, do: Away., clears: [chocked]}\n");
    struct spot spots[3];
    walked_say(&walked, "");
    walked_say(&walked, "moved");
    assert_int_equal(job_last_steps(walked.job, 3, spots), 1);
    walked_say(&walked, "do step 2 again");
    walked_say(&walked, "moved");
    assert_int_equal(job_last_steps(walked.job, 3, spots), 1); /* denied twice */
    walked_say(&walked, "do step 2 again");
    walked_say(&walked, "stayed still");
    assert_int_equal(job_last_steps(walked.job, 3, spots), 2);
    walked_close(&walked);
}

static void otherwise_is_taken_where_nothing_else_is_true(void **state)
{
    (void)state;
    struct walked walked;
    walked_begin(&walked, either_or);
    walked_say(&walked, "cart");
    assert_prompt(&walked, PROMPT_ACTION, "lift");
    walked_say(&walked, "");
    assert_prompt(&walked, PROMPT_ACTION, "rings");
    walked_replays(&walked);
    walked_close(&walked);
}

static const char level[] = HEAD "steps:\n"
                                 "  - repeat: level\n"
                                 "    until: seen == \"right\"\n"
                                 "    at_most: 3\n"
                                 "    steps:\n"
                                 "      - step: look\n"
                                 "        do: Look.\n"
                                 "        record: {seen: {choices: [low, right]}}\n"
                                 "      - step: add\n"
                                 "        when: seen == \"low\"\n"
                                 "        do: Add.\n"
                                 "        record: {added: {unit: mL, again: adds}}\n"
                                 "results:\n"
                                 "  - {result: all_in, value: added, unit: mL}\n";

static void a_repeat_ends_when_until_is_true(void **state)
{
    (void)state;
    struct walked walked;
    walked_begin(&walked, level);
    walked_say(&walked, "low");
    assert_prompt(&walked, PROMPT_READING, "added");
    walked_say(&walked, "100");
    assert_prompt(&walked, PROMPT_READING, "seen");
    assert_true(text_equal(job_spot_name(walked.job, &walked.prompt.spot, &walked.scratch),
                           TEXT("round 2")));
    walked_say(&walked, "low");
    walked_say(&walked, "50 mL");
    walked_replays(&walked);
    walked_say(&walked, "right");
    assert_true(job_has_ended(walked.job));
    struct value all = walked_value(&walked, "all_in", &walked.scratch);
    assert_true(all.items[0].number.value > 149.9e-6 && all.items[0].number.value < 150.1e-6);
    walked_close(&walked);
}

static void at_its_bound_a_repeat_is_a_hold_point(void **state)
{
    (void)state;
    struct walked walked;
    walked_begin(&walked, level);
    for (int i = 0; i < 3; i++) {
        walked_say(&walked, "low");
        walked_say(&walked, "10");
    }
    assert_prompt(&walked, PROMPT_BOUND, "level");
    assert_int_equal(walked.prompt.choices.count, 2);
    assert_false(walked.prompt.enter_passes);
    walked_say(&walked, "");
    assert_refused(&walked, "Enter alone");
    assert_prompt(&walked, PROMPT_BOUND, "level");
    walked_say(&walked, "pause");
    assert_prompt(&walked, PROMPT_CUE, "");
    walked_close(&walked);
}

static void times_is_a_fixed_number_of_rounds(void **state)
{
    (void)state;
    struct walked walked;
    walked_begin(&walked, HEAD "steps:\n"
                               "  - repeat: turn\n"
                               "    times: 3\n"
                               "    steps: [{step: turn_it, do: Turn it.}]\n");
    for (int i = 0; i < 3; i++) {
        assert_prompt(&walked, PROMPT_ACTION, "turn_it");
        walked_say(&walked, "");
    }
    assert_true(job_has_ended(walked.job));
    walked_close(&walked);
}

static const char away[] =
    HEAD "steps:\n"
         "  - {step: chock, do: Chock., sets: [chocked]}\n"
         "  - {step: stand, do: Stand., needs: [chocked], sets: [on_stands]}\n"
         "  - section: Under it\n"
         "    away: true\n"
         "    steps:\n"
         "      - step: undo\n"
         "        activity: under\n"
         "        do: Undo the plug.\n"
         "      - step: gap\n"
         "        do: Measure.\n"
         "        record: {play: {unit: mm}}\n"
         "  - {step: lower, do: Lower it., clears: [on_stands]}\n"
         "  - {step: unchock, do: Unchock., clears: [chocked]}\n";

static void away_answers_come_late_and_one_by_one(void **state)
{
    (void)state;
    struct walked walked;
    walked_begin(&walked, away);
    walked_say(&walked, "stayed still");
    walked_say(&walked, "stood firm");
    assert_int_equal(walked.prompt.kind, PROMPT_ACTION);
    assert_null(walked.prompt.work->step);
    assert_int_equal(walked_newest(&walked, EVENT_ENTERED)->spot.work, walked.prompt.spot.work);
    walked_say(&walked, "");
    assert_prompt(&walked, PROMPT_ACTION, "undo");
    assert_true(walked_newest(&walked, EVENT_ENTERED)->is_late);
    walked_replays(&walked);
    walked_say(&walked, "");
    assert_prompt(&walked, PROMPT_READING, "play");
    walked_say(&walked, "0.2 mm");
    assert_true(walked_newest(&walked, EVENT_READ)->is_late);
    assert_prompt(&walked, PROMPT_ACTION, "lower");
    assert_false(walked_newest(&walked, EVENT_ENTERED)->is_late);
    walked_close(&walked);
}

static void the_gate_of_away_stands_at_its_start(void **state)
{
    (void)state;
    struct walked walked;
    walked_begin(&walked, away);
    walked_say(&walked, "stayed still");
    walked_say(&walked, "stood firm");
    walked_stop_and_resume(&walked);
    assert_prompt(&walked, PROMPT_CONDITION, "chocked");
    walked_say(&walked, "stayed still");
    walked_say(&walked, "rocked");
    assert_int_equal(walked.prompt.kind, PROMPT_SHUT);
    assert_says(walked.prompt.question, "on stands");
    assert_true(walked_has_choice(&walked, "do step 2 again: Stand"));
    walked_replays(&walked);
    walked_close(&walked);
}

static void a_thousand_steps_stay_quick(void **state)
{
    (void)state;
    struct walked walked;
    walked_open(&walked);
    struct text parts[1001];
    parts[0] = TEXT(HEAD "steps:\n");
    for (size_t i = 1; i <= 1000; i++)
        parts[i] = text_fill(&walked.arena, "  - {step: s{}, do: Do it.}\n",
                             text_number(&walked.arena, (long long)i));
    const char *yaml =
        text_terminated(&walked.arena, text_join(&walked.arena, parts, 1001, (struct text){0}));
    struct walked_files files = {
        .procedure = walked_source(&walked.arena, "procedure.yaml", yaml),
        .machine = walked_source(&walked.arena, "machine.yaml", walked_machine),
        .safety = walked_source(&walked.arena, "safety.yaml", walked_safety),
        .shelf = {NULL, walked_fetch, walked_nearest},
    };
    assert_true(walked_load(&walked, files));
    walked_begin_job(&walked, 1);
    walked_look(&walked);
    for (size_t i = 0; i < 1000; i++) {
        struct arena_mark mark = arena_mark(&walked.scratch);
        walked_say(&walked, "");
        arena_rewind(&walked.scratch, mark);
    }
    assert_true(job_has_ended(walked.job));
    walked_close(&walked);
}

static void a_step_that_was_not_on_the_card_has_its_own_gate(void **state)
{
    (void)state;
    struct walked walked;
    walked_begin(&walked, HEAD "inputs:\n"
                               "  wanted: {choices: [both, one]}\n"
                               "steps:\n"
                               "  - {step: chock, do: Chock., sets: [chocked]}\n"
                               "  - section: Under it\n"
                               "    away: true\n"
                               "    steps:\n"
                               "      - {step: first, do: One.}\n"
                               "      - step: second\n"
                               "        when: wanted == \"both\"\n"
                               "        needs: [chocked]\n"
                               "        caution: {hazard: It drips., harm: Eyes.}\n"
                               "        do: Two.\n"
                               "      - {step: third, do: Three.}\n"
                               "  - {step: unchock, do: Unchock., clears: [chocked]}\n");
    walked_say(&walked, "one");
    unsigned wanted = walked_newest(&walked, EVENT_ANSWERED)->number;
    walked_say(&walked, "stayed still");
    assert_prompt(&walked, PROMPT_ACTION, "Under it");
    walked_say(&walked, "");
    walked_say(&walked, "");
    assert_prompt(&walked, PROMPT_ACTION, "third");
    walked_take(&walked, job_amend(walked.job, wanted, TEXT("both"), TEXT("misread"),
                                   walked.now, &walked.scratch));
    assert_prompt(&walked, PROMPT_AMEND, "");
    walked_say(&walked, "go by the corrected value");
    assert_prompt(&walked, PROMPT_WARNING, "second");
    walked_replays(&walked);
    walked_close(&walked);
}

static void too_much_of_something_is_told_before_the_hands_go_in(void **state)
{
    (void)state;
    struct walked walked;
    walked_begin(&walked, HEAD "inputs: {dose: {unit: mL}}\n"
                               "steps:\n"
                               "  - section: Under it\n"
                               "    away: true\n"
                               "    steps:\n"
                               "      - {step: first, do: One.}\n"
                               "      - step: squirt\n"
                               "        do: Squirt it in.\n"
                               "        consumes: {oil: {is: dose, at_most: 4 mL}}\n");
    walked_say(&walked, "5 mL");
    assert_prompt(&walked, PROMPT_SHUT, "squirt");
    walked_replays(&walked);
    walked_close(&walked);
}

static void more_than_sixty_four_positions_do_not_fit(void **state)
{
    (void)state;
    struct walked walked;
    walked_open(&walked);
    char machine[1200];
    size_t at = (size_t)snprintf(machine, sizeof machine,
                                 "machine: m\ntitle: M\npositions:\n  cylinder: [1");
    for (int i = 2; i <= 65; i++)
        at += (size_t)snprintf(machine + at, sizeof machine - at, ", %d", i);
    (void)snprintf(machine + at, sizeof machine - at, "]\n");
    struct walked_files files = {
        .procedure = walked_source(&walked.arena, "procedure.yaml",
                                   HEAD "steps:\n"
                                        "  - {step: look, each: cylinder, do: Look.}\n"),
        .machine = walked_source(&walked.arena, "machine.yaml", machine),
        .safety = walked_source(&walked.arena, "safety.yaml", walked_safety),
        .shelf = {NULL, walked_fetch, walked_nearest},
    };
    assert_false(walked_load(&walked, files));
    walked_close(&walked);
}

/* Wheel by wheel: what is denied at one says nothing about another, which is asked again. */
static void after_a_stop_a_denial_at_one_position_leaves_the_others_to_be_asked(void **state)
{
    (void)state;
    struct walked walked;
    walked_begin(&walked,
                 HEAD "conditions:\n"
                      "  held:\n"
                      "    each: wheel\n"
                      "    ask: Pull at it. What did it do?\n"
                      "    expect: stayed\n"
                      "    otherwise: [came]\n"
                      "  tight:\n"
                      "    each: wheel\n"
                      "    ask: Turn it. What did it do?\n"
                      "    expect: nothing\n"
                      "    otherwise: [turned]\n"
                      "    requires: [held]\n"
                      "steps:\n"
                      "  - {step: hold, each: wheel, do: Hold it., sets: [\"held[wheel]\"]}\n"
                      "  - step: tighten\n"
                      "    each: wheel\n"
                      "    in: [front right]\n"
                      "    do: Tighten it.\n"
                      "    sets: [\"tight[wheel]\"]\n"
                      "  - step: use\n"
                      "    each: wheel\n"
                      "    in: [front right]\n"
                      "    needs: [\"tight[wheel]\"]\n"
                      "    do: Use it.\n");
    for (int i = 0; i < 4; i++)
        walked_say(&walked, "stayed");
    assert_prompt(&walked, PROMPT_CONDITION, "tight");
    walked_say(&walked, "nothing");
    assert_prompt(&walked, PROMPT_ACTION, "use");
    walked_stop_and_resume(&walked);
    assert_prompt(&walked, PROMPT_CONDITION, "held");
    assert_true(text_equal(walked.prompt.position_label, TEXT("front left")));
    walked_say(&walked, "came"); /* nothing rests on this one */
    for (int i = 1; i < 4; i++) {
        assert_prompt(&walked, PROMPT_CONDITION, "held");
        walked_say(&walked, "stayed");
    }
    assert_true(job_asks_again(walked.job));
    assert_prompt(&walked, PROMPT_CONDITION, "tight");
    assert_true(text_equal(walked.prompt.position_label, TEXT("front right")));
    walked_say(&walked, "turned");
    assert_prompt(&walked, PROMPT_SHUT, "use");
    walked_replays(&walked);
    walked_close(&walked);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_simple_procedure_walks_from_start_to_end),
        cmocka_unit_test(each_goes_by_position_and_by_firing_order),
        cmocka_unit_test(a_subset_is_fixed_when_the_loop_begins),
        cmocka_unit_test(a_list_of_labels_is_a_subset),
        cmocka_unit_test(the_alternative_that_is_true_is_taken),
        cmocka_unit_test(the_branch_of_another_machine_is_never_counted),
        cmocka_unit_test(a_step_that_was_denied_is_not_among_the_last_ones),
        cmocka_unit_test(otherwise_is_taken_where_nothing_else_is_true),
        cmocka_unit_test(a_repeat_ends_when_until_is_true),
        cmocka_unit_test(at_its_bound_a_repeat_is_a_hold_point),
        cmocka_unit_test(times_is_a_fixed_number_of_rounds),
        cmocka_unit_test(away_answers_come_late_and_one_by_one),
        cmocka_unit_test(the_gate_of_away_stands_at_its_start),
        cmocka_unit_test(a_thousand_steps_stay_quick),
        cmocka_unit_test(a_step_that_was_not_on_the_card_has_its_own_gate),
        cmocka_unit_test(too_much_of_something_is_told_before_the_hands_go_in),
        cmocka_unit_test(more_than_sixty_four_positions_do_not_fit),
        cmocka_unit_test(after_a_stop_a_denial_at_one_position_leaves_the_others_to_be_asked),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}

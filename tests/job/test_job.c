/*
 * Random walks over whole procedures.  The person in them mostly means well, and now and then
 * types nonsense, denies, skips, stops, or loses power.  What must hold, holds at every turn.
 */
#include "job/job_state.h"
#include "support/walked_job.h"

#include <string.h>

/* --- files ------------------------------------------------------------------------------------ */

static const struct source *read_source(struct arena *arena, const char *path)
{
    FILE *file = fopen(path, "rb");
    if (file == NULL)
        return NULL;
    char *bytes = arena_array(arena, char, 1 << 18);
    size_t length = fread(bytes, 1, 1 << 18, file);
    fclose(file);
    struct source *source = arena_new(arena, struct source);
    *source = (struct source){text_copy(arena, text_from(path)), {bytes, length}};
    return source;
}

static const struct source *fetch(void *self, struct text name)
{
    struct arena *arena = self;
    return read_source(arena,
                       text_terminated(arena, text_fill(arena, "procedures/{}.yaml", name)));
}

static const struct {
    const char *procedure, *machine;
} shipped[] = {
    {"procedures/compression_test.yaml", "procedures/machines/rookdale_van.yaml"},
    {"procedures/oil_and_filter_change.yaml", "procedures/machines/rookdale_van.yaml"},
    {"procedures/battery_while_cranking.yaml", "procedures/machines/rookdale_van.yaml"},
    {"procedures/look_underneath.yaml", "procedures/machines/rookdale_van.yaml"},
};

/* What the shipped procedures may not have together, in one that is invented. */
static const char everything[] = HEAD
    "machine:\n"
    "  drain_torque: N.m\n"
    "inputs:\n"
    "  kind: {choices: [spin-on, cartridge]}\n"
    "  dose: {unit: mL, between: [1 mL, 20 mL]}\n"
    "trials:\n"
    "  oiled:\n"
    "    ask: Did the oil help?\n"
    "    before: dry\n"
    "    after: again\n"
    "    better: higher\n"
    "    treated: {is: dry < 10 bar}\n"
    "    claim: Which got better?\n"
    "steps:\n"
    "  - {step: feel, do: Feel it., sets: [cool]}\n"
    "  - {step: chock, do: Chock., sets: [chocked]}\n"
    "  - {step: stand, do: Stand., needs: [chocked], sets: [on_stands]}\n"
    "  - section: Under it\n"
    "    away: true\n"
    "    steps:\n"
    "      - {step: undo, activity: under, do: Undo it., removes: drain_plug}\n"
    "      - {step: gap, do: Measure., record: {play: {unit: mm}}}\n"
    "  - step: bolts_out\n"
    "    do: Take them out.\n"
    "    removes: {bolt: 9}\n"
    "    starts: {drip: {at_least: 25 min, at_most: 40 min}}\n"
    "  - step: dry_test\n"
    "    each: cylinder\n"
    "    order: firing\n"
    "    activity: crank\n"
    "    do: Crank.\n"
    "    record: {dry: {unit: bar, readings: 2, between: [0 bar, 25 bar]}}\n"
    "  - {step: lots, do: Mark them., allots: oiled}\n"
    "  - section: Weak ones\n"
    "    when: any(dry < 10 bar)\n"
    "    each: cylinder\n"
    "    in: dry < 10 bar\n"
    "    steps:\n"
    "      - step: oil_in\n"
    "        once: true\n"
    "        do: Squirt.\n"
    "        consumes: {oil: {is: dose, at_most: 18 mL}}\n"
    "        sets: [wet]\n"
    "      - step: turn\n"
    "        do: Turn it.\n"
    "        hold: {ask: How did it turn?, expect: freely, otherwise: [hard]}\n"
    "        clears: [wet]\n"
    "  - step: test_again\n"
    "    each: cylinder\n"
    "    do: Crank again.\n"
    "    record: {again: {unit: bar, readings: 2}}\n"
    "  - either:\n"
    "      - when: kind == \"spin-on\"\n"
    "        steps: [{step: unscrew, do: Unscrew it.}]\n"
    "      - otherwise: true\n"
    "        steps: [{step: lift, do: Lift it., optional: true}]\n"
    "  - repeat: level\n"
    "    until: seen == \"right\"\n"
    "    at_most: 4\n"
    "    steps:\n"
    "      - {step: look, do: Look., record: {seen: {choices: [low, right]}}}\n"
    "      - step: add\n"
    "        when: seen == \"low\"\n"
    "        do: Add.\n"
    "        record: {added: {unit: mL, again: adds}}\n"
    "  - {step: plug_in, activity: under, awaits: drip, do: Plug it., refits: drain_plug}\n"
    "  - {step: bolts_in, do: Put them in., refits: {bolt: 9}, torque: machine.drain_torque}\n"
    "  - {step: lower, do: Lower., clears: [on_stands]}\n"
    "  - {step: unchock, do: Unchock., clears: [chocked]}\n";

/* --- chance ------------------------------------------------------------------------------------- */

struct chance {
    unsigned long long state;
};

/* splitmix64 */
static unsigned roll(struct chance *chance, unsigned sides)
{
    unsigned long long z = (chance->state += 0x9e3779b97f4a7c15ULL);
    z = (z ^ (z >> 30)) * 0xbf58476d1ce4e5b9ULL;
    z = (z ^ (z >> 27)) * 0x94d049bb133111ebULL;
    return (unsigned)((z ^ (z >> 31)) % sides);
}

/* --- what must hold ----------------------------------------------------------------------------------- */

/* No step begins whose gate is not open, but in an away section, which was looked at as a whole. */
static void its_gate_is_open(struct walked *walked, const struct event *event)
{
    const struct work *work = walked->sound.procedure->works[event->spot.work];
    if (event->kind != EVENT_ENTERED || work->step == NULL || event->is_late)
        return;
    size_t indexes = walked->sound.procedure->index_count;
    int *here = arena_array(&walked->scratch, int, indexes);
    for (size_t i = 0; i < indexes; i++)
        here[i] = INDEX_NONE;
    for (const struct work *at = work; at != NULL; at = at->parent) {
        if (at->kind != WORK_REPEAT && at->loop.index != INDEX_NONE && at->loop_depth > 0)
            here[at->loop.index] = event->spot.turns[at->loop_depth - 1];
    }
    struct gate gate = gate_look(job_conditions(walked->job), work->step, here,
                                 job_time(walked->job, event->at), &walked->scratch);
    assert_int_equal(gate.verdict, GATE_OPEN);
}

static void settle(struct walked *walked)
{
    for (unsigned turns = 0;; turns++) {
        assert_in_range(turns, 0, 2000);
        struct decision settled = job_settle(walked->job, walked->now, &walked->scratch);
        if (settled.event_count == 0)
            break;
        for (size_t i = 0; i < settled.event_count; i++) {
            its_gate_is_open(walked, &settled.events[i]);
            job_apply(walked->job, &settled.events[i]);
        }
    }
    walked->prompt = job_prompt(walked->job, walked->now, &walked->scratch);
    walked->seen |= 1ULL << walked->prompt.kind;
    if (walked->prompt.kind == PROMPT_CONDITION || walked->prompt.kind == PROMPT_HOLD ||
        walked->prompt.kind == PROMPT_SHUT || walked->prompt.kind == PROMPT_BOUND ||
        walked->prompt.kind == PROMPT_TRIAL || walked->prompt.kind == PROMPT_CLAIM)
        assert_false(walked->prompt.enter_passes);
    assert_true(walked->prompt.question.length > 0);
}

static bool is_question(const struct event *event)
{
    return event->kind == EVENT_ANSWERED &&
           (event->detail == ANSWERED_GATE || event->detail == ANSWERED_SET ||
            event->detail == ANSWERED_HOLD);
}

/* Whatever was typed, something comes of it: an event, or words that say why not. */
static void answer(struct walked *walked, struct text typed)
{
    struct answer given = {ANSWER_TYPED, typed};
    struct decision decision =
        job_decide(walked->job, &walked->prompt, &given, walked->now, &walked->scratch);
    assert_true(decision.event_count > 0 || decision.refusal.length > 0 ||
                walked->prompt.kind == PROMPT_WAIT);
    for (size_t i = 0; i < decision.event_count; i++) {
        assert_false(text_trim(typed).length == 0 && is_question(&decision.events[i]));
        job_apply(walked->job, &decision.events[i]);
    }
}

static void take(struct walked *walked, struct decision decision)
{
    assert_true((decision.event_count > 0) != (decision.refusal.length > 0));
    for (size_t i = 0; i < decision.event_count; i++)
        job_apply(walked->job, &decision.events[i]);
}

/* --- a person --------------------------------------------------------------------------------------------- */

/* The answer that puts a condition in force or passes a hold point; empty for any other prompt. */
static struct text good_answer(const struct walked *walked)
{
    const struct prompt *prompt = &walked->prompt;
    const struct question *question = NULL;
    if (prompt->kind == PROMPT_CONDITION) {
        int id = procedure_find_condition(walked->sound.procedure, prompt->name);
        question = &walked->sound.procedure->conditions[id]->question;
    } else if (prompt->kind == PROMPT_HOLD) {
        question = &prompt->work->step->hold;
    }
    if (question == NULL)
        return (struct text){0};
    return question->any_text ? TEXT("it stands firm") : question->choices.texts[0];
}

static struct text some_value(struct walked *walked, struct chance *chance)
{
    struct text number = text_number(&walked->scratch, roll(chance, 30));
    if (walked->prompt.kind == PROMPT_COUNT)
        return roll(chance, 3) > 0 ? TEXT("9") : number;
    if (walked->prompt.kind == PROMPT_CLAIM)
        return roll(chance, 2) == 0 ? TEXT("none") : TEXT("1 and 3");
    if (walked->prompt.kind == PROMPT_CLOCK)
        return text_fill(&walked->scratch, "{} min", number);
    if (walked->prompt.unit == NULL && !walked->prompt.is_free_text)
        return (struct text){0};
    return walked->prompt.is_free_text ? TEXT("some words") : number;
}

static struct text some_choice(struct walked *walked, struct chance *chance)
{
    unsigned chosen = roll(chance, (unsigned)walked->prompt.choices.count);
    if (roll(chance, 2) == 0)
        return text_number(&walked->scratch, chosen + 1);
    return walked->prompt.choices.texts[chosen];
}

static void mean_well(struct walked *walked, struct chance *chance)
{
    struct text good = good_answer(walked);
    if (good.length > 0)
        answer(walked, good);
    else if (walked->prompt.choices.count > 0)
        answer(walked, some_choice(walked, chance));
    else
        answer(walked, some_value(walked, chance));
}

static void lose_power(struct walked *walked)
{
    struct job *again = job_begin(&walked->sound, walked->fitted, &walked->arena);
    size_t count;
    const struct event *events = job_events(walked->job, &count);
    for (size_t i = 0; i < count; i++)
        job_apply(again, &events[i]);
    walked->job = again;
    take(walked, job_resume(walked->job, walked->now, &walked->scratch));
}

static void correct_something(struct walked *walked, struct chance *chance)
{
    const unsigned *numbers;
    size_t count = job_amendable(walked->job, &numbers, &walked->scratch);
    if (count == 0)
        return;
    unsigned number = numbers[roll(chance, (unsigned)count)];
    struct text typed = roll(chance, 2) == 0 ? TEXT("1") : TEXT("11");
    take(walked,
         job_amend(walked->job, number, typed, TEXT("misread"), walked->now, &walked->scratch));
    assert_true(job_event_text(walked->job, number, &walked->scratch).length > 0);
}

static void type_nonsense(struct walked *walked, struct chance *chance)
{
    static const char *const lines[] = {"",      "1",  "99",     "12 mm",        "84,210",
                                        "1e9 V", "no", "unread", "unread it is", "-3 bar",
                                        "7/0",   "y",  ".",      "1 2 3",        "°"};
    answer(walked, text_from(lines[roll(chance, sizeof lines / sizeof *lines)]));
}

static void do_something_else(struct walked *walked, struct chance *chance)
{
    struct arena *scratch = &walked->scratch;
    switch (roll(chance, 9)) {
    case 0:
        take(walked, job_skip(walked->job, TEXT("no time"), walked->now, scratch));
        break;
    case 1:
        take(walked, job_pause(walked->job, PAUSED_STOPPED, walked->now, scratch));
        take(walked, job_resume(walked->job, walked->now, scratch));
        break;
    case 2:
        lose_power(walked);
        break;
    case 3:
        correct_something(walked, chance);
        break;
    case 4:
        take(walked, job_note(walked->job, TEXT("stiff"), walked->now, scratch));
        break;
    case 5:
        walked_pass(walked, 1200);
        break;
    case 6:
        walked->now.wall += 400000 - (long long)roll(chance, 800000);
        break;
    case 7:
        if (roll(chance, 4) == 0)
            take(walked, job_begin_makesafe(walked->job, walked->now, scratch));
        break;
    default:
        type_nonsense(walked, chance);
        break;
    }
}

static void go_on_if_paused(struct walked *walked)
{
    if (job_is_paused(walked->job))
        take(walked, job_resume(walked->job, walked->now, &walked->scratch));
}

enum { TURNS_MAX = 4000 };

enum outcome_of_walk { WALK_GOES_ON, WALK_LEFT_OPEN, WALK_COMPLETED };

static enum outcome_of_walk walk(struct walked *walked, unsigned long long seed,
                                 unsigned one_in)
{
    struct chance chance = {seed};
    struct arena_mark mark = arena_mark(&walked->arena);
    walked_begin_job(walked, seed);
    for (unsigned turn = 0; turn < TURNS_MAX && !job_has_ended(walked->job); turn++) {
        struct arena_mark start = arena_mark(&walked->scratch);
        settle(walked);
        if (roll(&chance, 16) == 0)
            walked_replays(walked);
        if (!job_has_ended(walked->job)) {
            if (one_in != 0 && roll(&chance, one_in) == 0)
                do_something_else(walked, &chance);
            else
                mean_well(walked, &chance);
            go_on_if_paused(walked);
        }
        walked_pass(walked, 1 + (long long)roll(&chance, 40));
        arena_rewind(&walked->scratch, start);
    }
    size_t count;
    const struct event *events = job_events(walked->job, &count);
    for (size_t i = 0; i < count; i++)
        assert_int_equal(events[i].number, i + 1);
    settle(walked);
    walked_replays(walked);
    enum outcome_of_walk outcome = WALK_GOES_ON;
    if (job_has_ended(walked->job))
        outcome = walked_newest(walked, EVENT_ENDED)->detail == ENDED_COMPLETED
                      ? WALK_COMPLETED
                      : WALK_LEFT_OPEN;
    arena_rewind(&walked->arena, mark);
    return outcome;
}

static void walk_often(struct walked *walked, unsigned walks)
{
    unsigned ended = 0;
    for (unsigned i = 0; i < walks; i++)
        ended += walk(walked, i, i % 4 == 0 ? 0 : 3 + i % 12) != WALK_GOES_ON;
    assert_true(ended > walks / 2);
}

/* --- the tests ------------------------------------------------------------------------------------------------ */

static void everything_together_is_walked_at_random(void **state)
{
    (void)state;
    struct walked walked;
    walked_begin(&walked, everything);
    walk_often(&walked, 150);
    assert_true(walked.seen == (2ULL << PROMPT_ENDED) - 1);
    walked_close(&walked);
}

static void shipped_procedures_are_walked_at_random(void **state)
{
    (void)state;
    for (size_t i = 0; i < sizeof shipped / sizeof *shipped; i++) {
        struct walked walked;
        walked_open(&walked);
        struct walked_files files = {
            .procedure = read_source(&walked.arena, shipped[i].procedure),
            .machine = read_source(&walked.arena, shipped[i].machine),
            .safety = read_source(&walked.arena, "procedures/safety.yaml"),
            .shelf = {&walked.arena, fetch, walked_nearest},
        };
        assert_non_null(files.procedure);
        assert_true(walked_load(&walked, files));
        walk_often(&walked, 12);
        walked_close(&walked);
    }
}

static void a_person_who_means_well_completes_the_job(void **state)
{
    (void)state;
    struct walked walked;
    walked_begin(&walked, everything);
    unsigned completed = 0;
    for (unsigned long long seed = 0; seed < 20; seed++)
        completed += walk(&walked, seed, 0) == WALK_COMPLETED;
    assert_true(completed >= 5);
    walked_close(&walked);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(everything_together_is_walked_at_random),
        cmocka_unit_test(shipped_procedures_are_walked_at_random),
        cmocka_unit_test(a_person_who_means_well_completes_the_job),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}

#include "verify/walker.h"

enum { ARENA_ANSWERS = 40, ANSWERS_MAX = 4000 };

void walker_open(struct wanderer *walker, const struct procedure *procedure,
                 const struct machine *machine, unsigned long long seed)
{
    *walker = (struct wanderer){.dice = {seed}};
    walked_open(&walker->walked);
    struct diagnostics found;
    diagnostics_begin(&found, &walker->walked.arena);
    walker->walked.sound = (struct sound_procedure){.procedure = procedure};
    walker->walked.fitted =
        procedure_fit(procedure, machine, NULL, &found, &walker->walked.arena);
    assert_non_null(walker->walked.fitted);
    walked_begin_job(&walker->walked, seed);
    walker->blank = arena_mark(&walker->walked.scratch);
    walked_look(&walker->walked);
}

void walker_close(struct wanderer *walker)
{
    walked_close(&walker->walked);
}

static void say_text(struct wanderer *walker, struct text words)
{
    walked_answer(&walker->walked, (struct answer){ANSWER_TYPED, words});
}

static void say(struct wanderer *walker, const char *words)
{
    say_text(walker, text_from(words));
}

static void say_value(struct wanderer *walker)
{
    static const char *const numbers[] = {"0.5", "1", "1.5", "2",  "3",  "4",
                                          "5",   "6", "9",   "12", "200"};
    enum { SMALL_NUMBERS = 2 }; /* most limits lie above these two, below the rest */
    const struct prompt *prompt = &walker->walked.prompt;
    if (prompt->choices.count > 0)
        say_text(
            walker,
            prompt->choices.texts[dice_below(&walker->dice, (unsigned)prompt->choices.count)]);
    else if (prompt->is_free_text)
        say(walker, "as it was");
    else
        say(walker,
            numbers[dice_below(&walker->dice, dice_chance(&walker->dice, 50)
                                                  ? SMALL_NUMBERS
                                                  : sizeof numbers / sizeof numbers[0])]);
}

static void say_expected(struct wanderer *walker, const struct question *question)
{
    if (question->any_text)
        say(walker, "as it should be");
    else
        say_text(walker, question->choices.texts[0]);
}

static void answer_condition(struct wanderer *walker)
{
    const struct procedure *procedure = walker->walked.sound.procedure;
    int id = procedure_find_condition(procedure, walker->walked.prompt.name);
    assert_true(id >= 0);
    const struct condition *condition = procedure->conditions[id];
    /* in the opening both are as good */
    bool is_opening = walker->walked.prompt.work == NULL && condition->asked_at_start &&
                      !job_asks_again(walker->walked.job);
    size_t last = condition->question.choices.count - 1;
    if (is_opening && last >= condition->question.expected_count &&
        dice_chance(&walker->dice, 50))
        say_text(walker, condition->question.choices.texts[last]);
    else
        say_expected(walker, &condition->question);
}

static void count_back(struct wanderer *walker)
{
    struct part_out *out;
    size_t count = job_parts_out(walker->walked.job, &out, &walker->walked.arena);
    for (size_t i = 0; i < count; i++)
        if (text_equal(walker->walked.sound.procedure->parts[out[i].part].name,
                       walker->walked.prompt.name)) {
            say_text(walker, text_number(&walker->walked.arena, out[i].count));
            return;
        }
    say(walker, "1");
}

static void do_action(struct wanderer *walker)
{
    struct walked *walked = &walker->walked;
    if (walked->prompt.enter_passes)
        say(walker, "");
    else
        walked_take(walked, job_attach(walked->job, TEXT("seen.jpg"), TEXT("picture"),
                                       walked->now, &walked->scratch));
}

void walker_answer(struct wanderer *walker)
{
    struct walked *walked = &walker->walked;
    switch (walked->prompt.kind) {
    case PROMPT_MANUAL_VALUE:
    case PROMPT_INPUT:
    case PROMPT_READING:
        say_value(walker);
        return;
    case PROMPT_SOURCE:
    case PROMPT_REASON:
    case PROMPT_CUE:
        say(walker, "book, page 3");
        return;
    case PROMPT_CONDITION:
        answer_condition(walker);
        return;
    case PROMPT_HOLD:
        say_expected(walker, &walked->prompt.work->step->hold);
        return;
    case PROMPT_ACTION:
        do_action(walker);
        return;
    case PROMPT_OPTIONAL:
        say_text(walker, walked->prompt.choices.texts[dice_below(&walker->dice, 2)]);
        return;
    case PROMPT_COUNT:
        count_back(walker);
        return;
    case PROMPT_INSIST:
        say(walker, "keep it");
        return;
    case PROMPT_ONCE:
        say(walker, dice_chance(&walker->dice, 50) ? "not begun" : "finished");
        return;
    case PROMPT_CLOCK:
        say(walker, "5 min");
        return;
    case PROMPT_WAIT:
        walked_pass(walked, (walked->prompt.wakes_at - walked->now.wall) / 1000 + 1);
        say(walker, "");
        return;
    case PROMPT_WARNING:
        say(walker, "");
        return;
    case PROMPT_TRIAL:
        say(walker, "go on with this trial");
        return;
    case PROMPT_CLAIM:
        say(walker, "none");
        return;
    case PROMPT_AMEND:
    case PROMPT_SHUT:
    case PROMPT_BOUND:
    case PROMPT_ENDED:
        break;
    }
    fail_msg("nothing to answer here");
}

static bool has_ended(const struct wanderer *walker, enum walk_end *end)
{
    const struct prompt *prompt = &walker->walked.prompt;
    *end = WALK_ELSEWHERE;
    if (prompt->kind == PROMPT_ENDED) {
        *end = job_has_ended(walker->walked.job) ? WALK_COMPLETED : WALK_ELSEWHERE;
        return true;
    }
    if (prompt->kind == PROMPT_BOUND)
        return true;
    if (prompt->kind == PROMPT_HOLD && prompt->work->step->hold.expected_count == 0 &&
        !prompt->work->step->hold.any_text)
        return true;
    if (prompt->kind != PROMPT_SHUT)
        return false;
    if (walked_says(prompt->question, "is not in force") ||
        walked_says(prompt->question, "must not be while this holds") ||
        walked_says(prompt->question, "would be left without"))
        *end = WALK_SHUT_BY_A_CONDITION;
    else if (walked_says(prompt->question, "The work is through"))
        *end = WALK_LEFT_OPEN;
    return true;
}

static bool has_order(struct walked *walked)
{
    struct arena_mark mark = arena_mark(&walked->arena);
    bool is_found = job_makesafe(walked->job, walked->now, &walked->arena).is_found;
    arena_rewind(&walked->arena, mark);
    return is_found;
}

/* A stop, and back, when what lapses has lapsed; false if there was no order to make safe. */
static bool stop_and_resume(struct wanderer *walker)
{
    struct walked *walked = &walker->walked;
    walked_take(walked, job_pause(walked->job, PAUSED_STOPPED, walked->now, &walked->scratch));
    if (!has_order(walked))
        return false;
    walked_take(walked, job_resume(walked->job, walked->now, &walked->scratch));
    return has_order(walked);
}

enum walk_end walker_walk(struct wanderer *walker)
{
    struct walked *walked = &walker->walked;
    enum walk_end end = WALK_ELSEWHERE;
    for (unsigned answers = 0; answers < ANSWERS_MAX && !has_ended(walker, &end); answers++) {
        if (answers % ARENA_ANSWERS == ARENA_ANSWERS - 1) {
            arena_rewind(&walked->scratch, walker->blank);
            walked_look(walked);
        }
        if (!dice_chance(&walker->dice, walker->stop_percent)) {
            walker_answer(walker);
        } else if (!stop_and_resume(walker)) {
            end = WALK_NO_ORDER;
            break;
        }
    }
    walker->said = walked->prompt.question;
    return end;
}

int walker_position(const struct wanderer *walker, const struct work *work,
                    const struct spot *spot)
{
    (void)walker;
    for (; work != NULL; work = work->parent)
        if ((work->kind == WORK_STEP || work->kind == WORK_SECTION) &&
            work->loop.index != INDEX_NONE)
            return spot->turns[work->loop_depth - 1];
    return INDEX_NONE;
}

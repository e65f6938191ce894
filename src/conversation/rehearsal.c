#include "job/look.h"
#include "job/say.h"
#include "rehearsal_state.h"

#include <math.h>

/* How long an answer takes: long enough that no two have one time. */
enum { ANSWER_TAKES = 20 * 1000 };

/* One question answered so often in the same words at the same place, or so many shut gates: nothing will
 * come of it. */
enum { SAME_ANSWERS_MAX = 4, SHUT_GATES_MAX = 100 };

/* --- what is used ------------------------------------------------------------------------- */

size_t rehearsal_visits(const struct rehearsal *rehearsal, const struct given *given)
{
    for (const struct visit *visit = rehearsal->visits; visit != NULL; visit = visit->next)
        if (visit->given == given)
            return visit->count;
    return 0;
}

static void visit(struct rehearsal *rehearsal, const struct given *given)
{
    for (struct visit *old = rehearsal->visits; old != NULL; old = old->next)
        if (old->given == given) {
            old->count++;
            return;
        }
    struct visit *new = arena_new(rehearsal->arena, struct visit);
    *new = (struct visit){given, 1, rehearsal->visits};
    rehearsal->visits = new;
}

static void add_trouble(struct rehearsal *rehearsal, struct trouble trouble)
{
    struct trouble *kept = arena_new(rehearsal->arena, struct trouble);
    *kept = trouble;
    kept->first = text_copy(rehearsal->arena, trouble.first);
    kept->second = text_copy(rehearsal->arena, trouble.second);
    kept->third = text_copy(rehearsal->arena, trouble.third);
    kept->next = NULL;
    *rehearsal->last_trouble = kept;
    rehearsal->last_trouble = &kept->next;
    rehearsal->is_stuck = true;
}

/* --- from a prompt to its answer ------------------------------------------------------------ */

static const struct given *find(struct rehearsal *rehearsal, const struct given *map,
                                struct text key)
{
    if (map == NULL || map->form != GIVEN_MAP || key.length == 0)
        return NULL;
    const struct given *found = given_find(map, key);
    if (found != NULL)
        visit(rehearsal, found);
    return found;
}

static struct text after_last_dot(struct text name)
{
    size_t from = 0;
    for (size_t i = 0; i < name.length; i++)
        if (name.bytes[i] == '.')
            from = i + 1;
    return text_slice(name, from, name.length);
}

static const struct given *find_either(struct rehearsal *rehearsal, const struct given *map,
                                       struct text full, struct text own)
{
    const struct given *found = find(rehearsal, map, full);
    return found != NULL ? found : find(rehearsal, map, own);
}

static const struct given *find_step(struct rehearsal *rehearsal, const struct prompt *prompt)
{
    if (prompt->work == NULL || prompt->work->step == NULL)
        return NULL;
    return find_either(rehearsal, &rehearsal->answers->answers, prompt->work->step->name,
                       prompt->work->step->own_name);
}

/* A key of the step's map; without a map, what stands at the step itself if that is the only thing
 * it can mean. */
static const struct given *find_in_step(struct rehearsal *rehearsal,
                                        const struct prompt *prompt, const char *key,
                                        bool step_may_be_it)
{
    const struct given *step = find_step(rehearsal, prompt);
    const struct given *inner = find(rehearsal, step, text_from(key));
    if (inner != NULL || !step_may_be_it)
        return inner;
    return step;
}

static const struct given *find_recorded(struct rehearsal *rehearsal,
                                         const struct prompt *prompt, const char *also)
{
    const struct given *step = find_step(rehearsal, prompt);
    struct text own = after_last_dot(prompt->name);
    const struct given *found = find_either(rehearsal, step, prompt->name, own);
    if (found == NULL && also != NULL)
        found = find(rehearsal, step, text_from(also));
    return found != NULL
               ? found
               : find_either(rehearsal, &rehearsal->answers->answers, prompt->name, own);
}

/* Under the trial's own name. */
static const struct given *find_of_trial(struct rehearsal *rehearsal,
                                         const struct prompt *prompt, const char *key)
{
    struct text name =
        prompt->kind == PROMPT_TRIAL ? prompt->work->step->allots->name : prompt->name;
    const struct given *trial =
        find_either(rehearsal, &rehearsal->answers->answers, name, after_last_dot(name));
    return find(rehearsal, trial, text_from(key));
}

static const struct given *find_machine_value(struct rehearsal *rehearsal,
                                              const struct prompt *prompt, const char *key)
{
    const struct given *value = find_either(rehearsal, &rehearsal->answers->machine_values,
                                            prompt->name, after_last_dot(prompt->name));
    if (value != NULL && value->form == GIVEN_MAP)
        return find(rehearsal, value, text_from(key));
    return strcmp(key, "is") == 0 ? value : NULL;
}

static const struct given *find_answer(struct rehearsal *rehearsal, const struct prompt *prompt)
{
    const struct given *given = NULL;
    switch (prompt->kind) {
    case PROMPT_MANUAL_VALUE:
        return find_machine_value(rehearsal, prompt, "is");
    case PROMPT_SOURCE:
        return find_machine_value(rehearsal, prompt, "source");
    case PROMPT_INPUT:
    case PROMPT_CONDITION:
        return find_either(rehearsal, &rehearsal->answers->answers, prompt->name,
                           after_last_dot(prompt->name));
    case PROMPT_READING:
        return find_recorded(rehearsal, prompt, NULL);
    case PROMPT_COUNT:
        given = find_recorded(rehearsal, prompt, "count");
        return given != NULL ? given : find_step(rehearsal, prompt);
    case PROMPT_HOLD:
        return find_in_step(rehearsal, prompt, "hold", true);
    case PROMPT_OPTIONAL:
        return find_in_step(rehearsal, prompt, "optional", true);
    case PROMPT_ACTION:
        return find_in_step(rehearsal, prompt, "skip", false);
    case PROMPT_ONCE:
        return find_in_step(rehearsal, prompt, "once", false);
    case PROMPT_SHUT:
        return find_in_step(rehearsal, prompt, "shut", false);
    case PROMPT_BOUND:
        return find_in_step(rehearsal, prompt, "bound", false);
    case PROMPT_INSIST:
    case PROMPT_REASON:
        return rehearsal->insists;
    case PROMPT_CUE:
        return find(rehearsal, &rehearsal->answers->answers, TEXT("cue"));
    case PROMPT_CLOCK:
        return find(rehearsal, &rehearsal->answers->answers, TEXT("clock"));
    case PROMPT_AMEND:
        return find(rehearsal, &rehearsal->answers->answers, TEXT("amend"));
    case PROMPT_TRIAL:
        return find_of_trial(rehearsal, prompt, "design");
    case PROMPT_CLAIM:
        return find_of_trial(rehearsal, prompt, "claim");
    case PROMPT_WARNING:
    case PROMPT_WAIT:
    case PROMPT_ENDED:
        break;
    }
    return NULL;
}

static bool is_last_repeat(const struct prompt *prompt)
{
    return prompt->repeats < 2 || prompt->repeat >= prompt->repeats;
}

/* One of `{times: [...]}`: each asking takes the next; the repeats of one asking share it. */
static const struct given *find_turn(struct rehearsal *rehearsal, const struct given *times,
                                     const struct prompt *prompt)
{
    size_t turn = rehearsal_visits(rehearsal, times);
    if (is_last_repeat(prompt))
        visit(rehearsal, times);
    if (turn < times->count) {
        visit(rehearsal, &times->items[turn]);
        return &times->items[turn];
    }
    add_trouble(rehearsal, (struct trouble){.finding = FINDING_ANSWER_TOO_OFTEN,
                                            .place = times->place,
                                            .first = prompt->name,
                                            .second = text_number(rehearsal->arena,
                                                                  (long long)times->count)});
    return NULL;
}

/* Down to the text: through positions, turns and repeats, in whatever order they stand. */
static const struct given *descend(struct rehearsal *rehearsal, const struct given *given,
                                   const struct prompt *prompt)
{
    while (given != NULL && given->form != GIVEN_TEXT) {
        if (given->form == GIVEN_LIST) {
            size_t repeat = prompt->repeat == 0 ? 0 : prompt->repeat - 1;
            if (repeat >= given->count)
                return NULL;
            given = &given->items[repeat];
            visit(rehearsal, given);
            continue;
        }
        const struct given *times = given_find(given, TEXT("times"));
        if (times != NULL && times->form == GIVEN_LIST) {
            if (prompt->kind == PROMPT_CONDITION)
                rehearsal->times = times;
            given = find_turn(rehearsal, times, prompt);
            continue;
        }
        const struct given *is = find(rehearsal, given, TEXT("is"));
        if (is != NULL) {
            rehearsal->insists = given_find(given, TEXT("insist"));
            given = is;
            continue;
        }
        given = find(rehearsal, given, prompt->position_label);
    }
    return given;
}

/* --- answering ---------------------------------------------------------------------------- */

static void tell_echo(const struct rehearsal *rehearsal, enum tone tone, struct text paragraph)
{
    if (rehearsal->echo.tell != NULL && paragraph.length > 0)
        rehearsal->echo.tell(rehearsal->echo.self, tone, paragraph);
}

static bool answers_with(struct rehearsal *rehearsal, const struct prompt *prompt,
                         struct answer *answer, struct text typed, struct arena *scratch)
{
    answer->kind = ANSWER_TYPED;
    answer->typed = text_copy(scratch, typed);
    rehearsal->answered = text_copy(rehearsal->arena, typed);
    tell_echo(rehearsal, TONE_PLAIN, prompt->question);
    tell_echo(rehearsal, TONE_PLAIN, text_fill(scratch, "> {}", typed));
    return true;
}

static void move_clock(struct rehearsal *rehearsal, long long milliseconds)
{
    rehearsal->now.wall += milliseconds;
    rehearsal->now.steady += milliseconds;
}

static bool stands_before(const struct prompt *prompt, struct text step)
{
    return step.length > 0 && prompt->work != NULL && prompt->work->step != NULL &&
           (text_equal(prompt->work->step->name, step) ||
            text_equal(prompt->work->step->own_name, step));
}

static struct text missing_name(const struct prompt *prompt)
{
    struct text name = prompt->name;
    if (name.length == 0 && prompt->work != NULL && prompt->work->step != NULL)
        name = prompt->work->step->name;
    return name.length == 0 ? TEXT("this") : name;
}

static struct text words_it_could_be(const struct rehearsal *rehearsal,
                                     const struct prompt *prompt)
{
    if (prompt->choices.count == 0)
        return prompt->question;
    return text_fill(
        rehearsal->arena, "{} ({})", prompt->question,
        text_join(rehearsal->arena, prompt->choices.texts, prompt->choices.count, TEXT("; ")));
}

static bool give_up(struct rehearsal *rehearsal, const struct prompt *prompt,
                    struct answer *answer)
{
    answer->kind = ANSWER_END;
    if (!rehearsal->is_stuck)
        add_trouble(rehearsal,
                    (struct trouble){.finding = FINDING_ANSWER_MISSING,
                                     .place = rehearsal->answers->answers.place,
                                     .first = missing_name(prompt),
                                     .second = words_it_could_be(rehearsal, prompt)});
    return true;
}

/* "do chock again, wheel 1": a person is shown the number of the step, an author knows its name. */
static struct text redo_meant(const struct rehearsal *rehearsal, struct text given,
                              struct arena *scratch)
{
    const struct procedure *procedure = rehearsal->fitted->procedure;
    size_t end = text_find(given, TEXT(" again"));
    long long number = 0;
    if (!text_starts(given, TEXT("do ")) || end == given.length)
        return given;
    struct text name = text_slice(given, 3, end);
    for (size_t i = 0; i < procedure->work_count; i++) {
        const struct work *work = procedure->works[i];
        if (work->kind != WORK_STEP)
            continue;
        number++;
        if (text_equal(name, work->step->name) || text_equal(name, work->step->own_name) ||
            text_equal(name, say_name(scratch, work->step->name)))
            return text_fill(scratch, "do step {}{}", text_number(scratch, number),
                             text_slice(given, end, given.length));
    }
    return given;
}

/* Some choices have names of their own in an answers file. */
static struct text choice_meant(const struct rehearsal *rehearsal, const struct prompt *prompt,
                                struct text given, struct arena *scratch)
{
    if (prompt->kind == PROMPT_SHUT)
        return redo_meant(rehearsal, given, scratch);
    if (prompt->kind == PROMPT_INSIST)
        return insist_choices.texts[INSIST_KEEP];
    if (prompt->kind == PROMPT_OPTIONAL && text_equal_folded(given, TEXT("do")))
        return optional_choices.texts[OPTIONAL_DO];
    if (prompt->kind == PROMPT_OPTIONAL && text_equal_folded(given, TEXT("pass over")))
        return optional_choices.texts[OPTIONAL_PASS];
    return given;
}

/* A precaution with answers left for another asking is meant to be seen to again. */
static const struct text *choice_to_do_again(const struct rehearsal *rehearsal,
                                             const struct prompt *prompt)
{
    const struct text again = TEXT(" again");
    if (prompt->kind != PROMPT_SHUT || rehearsal->times == NULL ||
        rehearsal_visits(rehearsal, rehearsal->times) >= rehearsal->times->count)
        return NULL;
    for (size_t i = 0; i < prompt->choices.count; i++) {
        struct text words = prompt->choices.texts[i];
        if (text_starts(words, TEXT("do ")) && text_find(words, again) < words.length)
            return &prompt->choices.texts[i];
    }
    return NULL;
}

static bool asks_the_same(const struct prompt *a, const struct prompt *b)
{
    return a->work == b->work && spot_equal(&a->spot, &b->spot) && a->position == b->position &&
           text_equal(a->name, b->name);
}

/* A file that denies a gate in the same words for ever would never come to an end. */
static bool goes_round(struct rehearsal *rehearsal, const struct prompt *prompt,
                       const struct given *given)
{
    if (prompt->kind == PROMPT_SHUT)
        return ++rehearsal->shut_gates > SHUT_GATES_MAX;
    if (prompt->kind != PROMPT_CONDITION)
        return false;
    bool is_same = rehearsal->same_answers > 0 && asks_the_same(&rehearsal->denied, prompt) &&
                   text_equal(rehearsal->denied_with, given->text);
    rehearsal->same_answers = is_same ? rehearsal->same_answers + 1 : 1;
    rehearsal->denied = *prompt;
    rehearsal->denied.name = text_copy(rehearsal->arena, prompt->name);
    rehearsal->denied_with = given->text;
    return rehearsal->same_answers > SAME_ANSWERS_MAX;
}

/* A bare number in an answers file is in the procedure's unit, whatever is on the scale of the gauge that
 * the machine's owner has. */
static struct text number_meant(const struct prompt *prompt, struct text given,
                                struct arena *scratch)
{
    struct quantity quantity;
    const struct unit *unit = prompt->unit_in_file;
    bool is_another =
        unit != NULL && prompt->unit != NULL && !text_equal(unit->symbol, prompt->unit->symbol);
    if (!is_another ||
        quantity_read(given, NULL, scratch, &quantity).flaw != QUANTITY_UNIT_MISSING)
        return given;
    return text_fill(scratch, "{} {}", given, unit->symbol);
}

static bool answer_by_name(struct rehearsal *rehearsal, const struct prompt *prompt,
                           struct answer *answer, struct arena *scratch)
{
    const struct given *given = find_answer(rehearsal, prompt);
    if (prompt->kind != PROMPT_INSIST && prompt->kind != PROMPT_REASON)
        rehearsal->insists = NULL;
    else if (given != NULL)
        visit(rehearsal, given);
    if (prompt->kind == PROMPT_CONDITION)
        rehearsal->times = NULL;
    given = descend(rehearsal, given, prompt);
    if (given != NULL)
        rehearsal->answered_at = given->place;
    if (prompt->kind == PROMPT_ACTION)
        return answers_with(
            rehearsal, prompt, answer,
            given == NULL ? TEXT("") : text_fill(scratch, "skip {}", given->text), scratch);
    if (prompt->kind == PROMPT_CUE && given == NULL)
        return answers_with(rehearsal, prompt, answer, TEXT("the key on the dash"), scratch);
    const struct text *again = choice_to_do_again(rehearsal, prompt);
    if (given == NULL && again != NULL)
        return answers_with(rehearsal, prompt, answer, *again, scratch);
    if (given == NULL)
        return give_up(rehearsal, prompt, answer);
    if (goes_round(rehearsal, prompt, given)) {
        add_trouble(rehearsal, (struct trouble){.finding = FINDING_ANSWER_FOR_EVER,
                                                .place = given->place,
                                                .first = missing_name(prompt),
                                                .second = given->text});
        return give_up(rehearsal, prompt, answer);
    }
    return answers_with(
        rehearsal, prompt, answer,
        number_meant(prompt, choice_meant(rehearsal, prompt, given->text, scratch), scratch),
        scratch);
}

static bool wait_for_timer(struct rehearsal *rehearsal, const struct prompt *prompt,
                           struct answer *answer, struct arena *scratch)
{
    if (prompt->wakes_at <= rehearsal->now.wall)
        return answers_with(rehearsal, prompt, answer, TEXT(""), scratch);
    tell_echo(rehearsal, TONE_PLAIN, prompt->question);
    move_clock(rehearsal, prompt->wakes_at - rehearsal->now.wall);
    answer->kind = ANSWER_WAKE;
    return true;
}

/* A file that chose to make safe has said so. */
static bool asks_whether_to_make_safe(const struct prompt *prompt)
{
    return prompt->kind == PROMPT_SHUT && prompt->work == NULL &&
           text_equal(prompt->name, TEXT("makesafe"));
}

static bool rehearsal_ask(void *self, const struct prompt *prompt, struct answer *answer,
                          struct arena *scratch)
{
    struct rehearsal *rehearsal = self;
    move_clock(rehearsal, ANSWER_TAKES);
    rehearsal->asked = text_copy(rehearsal->arena, missing_name(prompt));
    rehearsal->answered = (struct text){0};
    rehearsal->answered_at = rehearsal->answers->answers.place;
    if (rehearsal->is_stuck)
        return give_up(rehearsal, prompt, answer);
    if (!rehearsal->has_failed && stands_before(prompt, rehearsal->answers->fail_before.step)) {
        rehearsal->has_failed = true;
        rehearsal->was_interrupted = true;
        rehearsal->gap = rehearsal->answers->fail_before.seconds;
        return false;
    }
    if (!rehearsal->has_paused &&
        stands_before(prompt, rehearsal->answers->pause_before.step)) {
        rehearsal->has_paused = true;
        rehearsal->was_interrupted = true;
        rehearsal->gap = rehearsal->answers->pause_before.seconds;
        return answers_with(rehearsal, prompt, answer, TEXT(".pause"), scratch);
    }
    if (prompt->kind == PROMPT_WAIT)
        return wait_for_timer(rehearsal, prompt, answer, scratch);
    if (prompt->kind == PROMPT_WARNING)
        return answers_with(rehearsal, prompt, answer, TEXT(""), scratch);
    if (asks_whether_to_make_safe(prompt))
        return answers_with(rehearsal, prompt, answer, TEXT("make it safe now"), scratch);
    return answer_by_name(rehearsal, prompt, answer, scratch);
}

/* An answers file cannot think again: a refusal ends it. */
static void rehearsal_tell(void *self, enum tone tone, struct text paragraph)
{
    struct rehearsal *rehearsal = self;
    tell_echo(rehearsal, tone, paragraph);
    if (tone == TONE_REFUSAL && !rehearsal->is_stuck)
        add_trouble(rehearsal, (struct trouble){.finding = FINDING_ANSWER_REFUSED,
                                                .place = rehearsal->answered_at,
                                                .first = rehearsal->answered,
                                                .second = rehearsal->asked,
                                                .third = paragraph});
}

static struct instant rehearsal_now(void *self)
{
    return ((struct rehearsal *)self)->now;
}

struct rehearsal *rehearsal_new(const struct answers *answers, const struct fitted *fitted,
                                struct console echo, struct instant begins, struct arena *arena)
{
    struct rehearsal *rehearsal = arena_new(arena, struct rehearsal);
    *rehearsal = (struct rehearsal){
        .answers = answers, .fitted = fitted, .echo = echo, .arena = arena, .now = begins};
    rehearsal->last_trouble = &rehearsal->troubles;
    return rehearsal;
}

struct console rehearsal_console(struct rehearsal *rehearsal)
{
    return (struct console){rehearsal, rehearsal_ask, rehearsal_tell};
}

struct clock rehearsal_clock(struct rehearsal *rehearsal)
{
    return (struct clock){rehearsal, rehearsal_now};
}

bool rehearsal_was_interrupted(struct rehearsal *rehearsal)
{
    if (!rehearsal->was_interrupted)
        return false;
    rehearsal->was_interrupted = false;
    move_clock(rehearsal, (long long)llround(rehearsal->gap * 1000));
    return true;
}

#include "base/calendar.h"
#include "base/random.h"
#include "job/say.h"
#include "job/trials.h"
#include "job_state.h"

#include <assert.h>

/* --- choices ----------------------------------------------------------------------------------- */

/* The order varies from question to question, so that a habit answers for the person less easily;
 * the same job shows the same order again. */
static struct choices shuffled(const struct job *job, const struct choices *choices,
                               struct arena *scratch)
{
    struct text *texts = arena_array(scratch, struct text, choices->count);
    const struct event *started = job_started(job);
    uint64_t state = started != NULL ? started->seed : 0;
    state ^= (job->event_count + 1) * 0x2545f4914f6cdd1dULL;
    for (size_t i = 0; i < choices->count; i++) {
        size_t at = (size_t)(random_next(&state) % (i + 1));
        texts[i] = texts[at];
        texts[at] = choices->texts[i];
    }
    return (struct choices){choices->count, texts};
}

static struct choices option_choices(const struct stand *stand, struct arena *scratch)
{
    struct text *texts = arena_array(scratch, struct text, stand->option_count);
    for (size_t i = 0; i < stand->option_count; i++)
        texts[i] = stand->options[i].words;
    return (struct choices){stand->option_count, texts};
}

/* --- questions ------------------------------------------------------------------------------------ */

static struct text placed(const struct job *job, const struct stand *stand, struct text what,
                          struct arena *scratch)
{
    struct text place = job_spot_name(job, &stand->spot, scratch);
    return place.length > 0 ? text_fill(scratch, "{}, {}", what, place) : what;
}

static struct text field_name(const struct job *job, const struct stand *stand,
                              struct arena *scratch)
{
    if (stand->field->ask.written.length > 0)
        return job_fill(job, &stand->field->ask, &stand->spot, scratch);
    return say_name(scratch, stand->name);
}

/* A question of the author's own that has blanks says itself where it is. */
static struct text placed_name(const struct job *job, const struct stand *stand,
                               struct arena *scratch)
{
    struct text name = field_name(job, stand, scratch);
    const struct template *ask = &stand->field->ask;
    for (size_t i = 0; i < ask->piece_count; i++) {
        if (ask->pieces[i].value != NULL)
            return name;
    }
    return placed(job, stand, name, scratch);
}

static struct text unit_words(const struct job *job, const struct stand *stand,
                              struct arena *scratch)
{
    const struct unit *unit = fitted_unit(job->fitted, stand->field);
    if (stand->field->form != FIELD_QUANTITY || unit == NULL || unit == &unit_one)
        return (struct text){0};
    return text_fill(scratch, ", in {}", unit->symbol);
}

static struct text turn_words(const struct job *job, const struct stand *stand,
                              const struct surroundings *surroundings, struct arena *scratch)
{
    const struct expression *turn = stand->work->step->turn;
    double angle;
    if (turn == NULL || !work_out_number(turn, surroundings, &angle, NULL, scratch))
        return (struct text){0};
    return text_fill(scratch, " Then turn it on by {}.",
                     say_number(scratch, (struct measured){.value = angle},
                                say_unit(scratch, job->fitted, turn)));
}

static struct text torque_question(const struct job *job, const struct stand *stand,
                                   struct arena *scratch)
{
    const struct step *step = stand->work->step;
    struct surroundings surroundings =
        surroundings_at(job, &stand->spot, job_time(job, job->last), scratch);
    struct value wanted = expression_evaluate(step->torque, &surroundings, scratch);
    const struct unit *unit = given_unit(job->fitted, step->torque);
    if (unit == NULL)
        unit = stand->field->unit;
    const struct unit *asked = fitted_unit(job->fitted, stand->field);
    struct text words = value_in_words(job, &wanted, unit, scratch);
    bool is_of_another_scale =
        asked != NULL && unit != NULL && !text_equal(asked->symbol, unit->symbol);
    if (is_of_another_scale && step->extension == NULL) /* else it is not what is to be set */
        words =
            text_fill(scratch, "{} ({})", words, value_in_words(job, &wanted, asked, scratch));
    struct text turn = turn_words(job, stand, &surroundings, scratch);
    double set;
    if (step->extension == NULL || asked == NULL ||
        !job_wrench_setting(job, &stand->spot, &set, scratch))
        return text_fill(scratch, "Torque {}.{} What was the wrench set to{}?",
                         placed(job, stand, words, scratch), turn,
                         unit_words(job, stand, scratch));
    return text_fill(scratch,
                     "Torque {}; with the extension in line, set the wrench to {}.{} What was "
                     "it set to{}?",
                     placed(job, stand, words, scratch),
                     say_number(scratch, (struct measured){.value = set}, asked), turn,
                     unit_words(job, stand, scratch));
}

static struct text field_question(const struct job *job, const struct stand *stand,
                                  struct arena *scratch)
{
    if (stand->prompt == PROMPT_READING && job->procedure->readings[stand->item].is_torque &&
        stand->work->step->torque != NULL)
        return torque_question(job, stand, scratch);
    struct text what = placed_name(job, stand, scratch);
    if (stand->repeats > 1)
        what = text_fill(scratch, "{} ({} of {})", what, text_number(scratch, stand->repeat),
                         text_number(scratch, stand->repeats));
    return text_fill(scratch, "{}{}", what, unit_words(job, stand, scratch));
}

static struct text tried_question(const struct job *job, const struct stand *stand,
                                  const char *sentence, struct arena *scratch)
{
    struct text what = placed_name(job, stand, scratch);
    return text_fill(scratch, sentence, what,
                     say_number(scratch, (struct measured){.value = stand->tried->value},
                                fitted_unit(job->fitted, stand->field)));
}

/* "86004 m (86.004 km)": the unit that was typed is shown, for it may be the slip. */
static struct text tried_words(const struct stand *stand, struct arena *scratch)
{
    struct taken taken = {.meaning = stand->tried->meaning,
                          .has_value = true,
                          .value = stand->tried->value,
                          .unit = stand->tried->unit};
    struct text said = taken_words(stand->field, &taken, scratch);
    if (!text_equal(said, taken.meaning))
        return said;
    return say_number(scratch, (struct measured){.value = taken.value}, stand->field->unit);
}

/* A wrench that was set to something else is not unlikely, it is wrong. */
static struct text insist_question(const struct job *job, const struct stand *stand,
                                   struct arena *scratch)
{
    double wanted;
    bool is_torque = stand->work != NULL && stand->work->step != NULL &&
                     job->procedure->readings[stand->item].is_torque &&
                     job_wrench_setting(job, &stand->spot, &wanted, scratch);
    struct text likely =
        likely_words(job, stand->field, &stand->spot, stand->tried->value, scratch);
    if (likely.length == 0 && is_far_from_repeats(job, stand, stand->tried->value, scratch))
        return text_fill(scratch,
                         "{}: {} is far from {}. What now? A new value can be typed with its "
                         "unit; if it is the earlier one that is wrong, keep this one, then "
                         "amend that.",
                         placed_name(job, stand, scratch), tried_words(stand, scratch),
                         far_words(job, stand, stand->tried->value, scratch));
    if (!is_torque)
        return text_fill(scratch,
                         "{}: {} is unlikely{}. What now? A new value can be typed with its "
                         "unit.",
                         placed_name(job, stand, scratch), tried_words(stand, scratch), likely);
    const struct unit *unit = fitted_unit(job->fitted, stand->field);
    return text_fill(
        scratch, "{} What now?",
        text_fill(scratch, "{} was to be set, and {} was.",
                  say_number(scratch, (struct measured){.value = wanted}, unit),
                  say_number(scratch, (struct measured){.value = stand->tried->value}, unit)));
}

/* Of the words of a name like garage_door_open, those that say something. */
static bool is_telling(struct text word)
{
    return word.length >= 3 && !text_equal(word, TEXT("the")) && !text_equal(word, TEXT("was"));
}

static bool has_word(struct text said, struct text word)
{
    struct text rest = said;
    struct text next;
    while (text_cut(&rest, ' ', &next)) {
        if (text_equal_folded(next, word))
            return true;
    }
    return false;
}

/* Two words in common, or all if there are fewer: "out of the open door" is garage_door_open. */
static bool names_it(struct text said, struct text name)
{
    size_t telling = 0, found = 0;
    struct text word;
    while (text_cut(&name, '_', &word)) {
        telling += is_telling(word);
        found += is_telling(word) && has_word(said, word);
    }
    return found > 0 && (found >= 2 || found == telling);
}

/* Why the answer just given is no precaution, if the library lists it. */
static struct text no_precaution(const struct job *job, struct text said)
{
    const struct safety_library *safety = job->procedure->safety;
    for (size_t i = 0; i < safety->no_precaution_count; i++) {
        if (names_it(said, safety->no_precautions[i].name))
            return safety->no_precautions[i].reason;
    }
    return (struct text){0};
}

/* A question that comes back after a denial says why it does. */
static struct text denied_just_now(const struct job *job, const struct stand *stand,
                                   struct arena *scratch)
{
    const struct standing *standing =
        condition_at(&job->conditions, stand->item, stand->position);
    unsigned number = job->answered[standing - job->conditions.standings];
    if (stand->answered != ANSWERED_GATE || number == 0)
        return (struct text){0};
    const struct event *answer = job_event(job, number);
    if (is_expected(&job->procedure->conditions[stand->item]->question, answer->meaning))
        return (struct text){0};
    for (size_t i = number; i < job->event_count; i++) {
        enum event_kind kind = job->events[i].kind;
        if (kind != EVENT_NOTED && kind != EVENT_ATTACHED && kind != EVENT_AMENDED)
            return (struct text){0};
    }
    struct text reason = no_precaution(job, answer->meaning);
    struct text name = say_name(scratch, stand->name);
    if (reason.length == 0)
        return text_fill(scratch, "NOT in force: {}. Put it right, then answer again.\n", name);
    return text_fill(scratch, "NOT in force: {}. {} Put it right, then answer again.\n", name,
                     reason);
}

static struct text condition_question(const struct job *job, const struct stand *stand,
                                      struct arena *scratch)
{
    const struct condition *condition = job->procedure->conditions[stand->item];
    struct text ask = fill_at(job, &condition->question.ask, &stand->spot, condition->index,
                              stand->position, scratch);
    struct text denied = denied_just_now(job, stand, scratch);
    if (stand->position == INDEX_NONE)
        return text_fill(scratch, "{}{}", denied, ask);
    return text_fill(scratch, "{}{}: {}", denied,
                     index_label(job, condition->index, stand->position, scratch), ask);
}

/* The worst of what was shown, by its own word. */
static struct text warning_question(const struct stand *stand, struct arena *scratch)
{
    const struct step *step = stand->work->step;
    enum signal worst = SIGNAL_NOTICE;
    for (size_t i = 0; i < step->message_count; i++) {
        if (step->messages[i].signal > worst)
            worst = step->messages[i].signal;
    }
    return text_fill(scratch, "Enter when this {} is read and understood.",
                     text_from(signal_word(worst)));
}

static struct text zone_of(const struct job *job)
{
    for (size_t i = job->event_count; i > 0; i--) {
        if (job->events[i - 1].kind == EVENT_STARTED)
            return job->events[i - 1].zone;
    }
    return (struct text){0};
}

static struct text wait_question(const struct job *job, const struct stand *stand,
                                 long long now, struct arena *scratch)
{
    struct text name = say_name(scratch, job->procedure->timers[stand->timer].name);
    return text_fill(
        scratch,
        "Wait ({}): {} to go, until {}. The time runs on by itself; Enter looks again.", name,
        calendar_span_text(scratch, stand->wakes_at - now),
        calendar_clock_text(scratch, stand->wakes_at, zone_of(job)));
}

static struct text clock_question(const struct job *job, struct instant now,
                                  struct arena *scratch)
{
    struct instant before = job->is_clock_in_doubt ? job->before_doubt : job->last;
    long long wall = now.wall - before.wall;
    struct text gap =
        wall < 0 ? text_fill(scratch, "{} backwards", calendar_span_text(scratch, -wall))
                 : calendar_span_text(scratch, wall);
    if (before.boot.length == 0 || !text_equal(before.boot, now.boot))
        return text_fill(scratch,
                         "The clock went {} since the last answer. How long was it really "
                         "(5 min, 2 h)?",
                         gap);
    return text_fill(scratch,
                     "Since the last answer the clock went {}, this computer counted {}. How "
                     "long was it really (5 min, 2 h)?",
                     gap, calendar_span_text(scratch, now.steady - before.steady));
}

static struct text cue_question(const struct job *job, struct arena *scratch)
{
    if (job->paused != 0)
        return TEXT(
            "Leave one thing in sight that will remind you: a key on the dash, a tag on "
            "the wheel. What is it?");
    return text_fill(scratch,
                     "You left this to remind you: {}. Find it, then write how you found it.",
                     job_event(job, job->cue_asked)->meaning);
}

static struct text action_question(const struct stand *stand)
{
    if (stand->wants_photo)
        return TEXT("A picture belongs to this step: photo FILE, or none and the reason.");
    if (stand->work->step == NULL)
        return TEXT("Enter when all of it is done and the hands are free again.");
    return TEXT("Enter when it is done.");
}

static struct text count_question(const struct job *job, const struct stand *stand,
                                  struct arena *scratch)
{
    return text_fill(scratch, "{}: count them. How many go back?",
                     placed(job, stand,
                            say_name(scratch, job->procedure->parts[stand->item].name),
                            scratch));
}

static struct text bound_question(const struct stand *stand, struct arena *scratch)
{
    const struct work *section = say_section(stand->work);
    struct text what = section == NULL ? TEXT("This part")
                                       : text_fill(scratch, "The part '{}'", section->title);
    return text_fill(
        scratch,
        "{} was done {} times and is still not as it must be. The work does not go "
        "on.",
        what, text_number(scratch, stand->work->at_most));
}

struct text question_for(const struct job *job, const struct stand *stand,
                         struct arena *scratch)
{
    switch (stand->prompt) {
    case PROMPT_MANUAL_VALUE:
        return text_fill(scratch, "The machine sheet lacks: {}",
                         field_question(job, stand, scratch));
    case PROMPT_SOURCE:
        return TEXT("Where was it read (book and page)?");
    case PROMPT_INPUT:
    case PROMPT_READING:
        return field_question(job, stand, scratch);
    case PROMPT_CONDITION:
        return condition_question(job, stand, scratch);
    case PROMPT_WARNING:
        return warning_question(stand, scratch);
    case PROMPT_OPTIONAL:
        return text_fill(scratch, "Not a must: {}",
                         job_fill(job, &stand->work->step->action, &stand->spot, scratch));
    case PROMPT_ACTION:
        return action_question(stand);
    case PROMPT_COUNT:
        return count_question(job, stand, scratch);
    case PROMPT_HOLD:
        return job_fill(job, &stand->work->step->hold.ask, &stand->spot, scratch);
    case PROMPT_SHUT:
        return shut_words(job, stand, scratch);
    case PROMPT_INSIST:
        return insist_question(job, stand, scratch);
    case PROMPT_REASON:
        return tried_question(job, stand,
                              "{}: {} is kept. For what reason is it right? Enter alone "
                              "measures again; a word of command has a dot, .pause.",
                              scratch);
    case PROMPT_ONCE:
        if (stand->work->step == NULL)
            return TEXT("The card of this section had been shown. How far did the work get?");
        if (job->makesafe_since != 0)
            return text_fill(scratch, "\"{}\" had been begun. How far did it get?",
                             job_fill(job, &stand->work->step->action, &stand->spot, scratch));
        if (work_is_away(stand->work))
            return text_fill(scratch, "\"{}\" is never done twice. How far did it get?",
                             job_fill(job, &stand->work->step->action, &stand->spot, scratch));
        return TEXT(
            "This step is never done twice, and it had been begun. How far did it get?");
    case PROMPT_CUE:
        return cue_question(job, scratch);
    case PROMPT_AMEND:
        return amendment_words(job, scratch);
    case PROMPT_BOUND:
        return bound_question(stand, scratch);
    case PROMPT_TRIAL:
        return trial_question(job, stand->work->step->allots, scratch);
    case PROMPT_CLAIM:
        return claim_question(job, job->procedure->trials[stand->item], scratch);
    case PROMPT_ENDED:
        return job->ended != 0 ? TEXT("This job has ended.") : TEXT("This job is paused.");
    case PROMPT_WAIT:
    case PROMPT_CLOCK:
        break;
    }
    return (struct text){0};
}

/* --- the prompt ---------------------------------------------------------------------------------------- */

static void offer_choices(const struct job *job, const struct stand *stand,
                          struct prompt *prompt, struct arena *scratch)
{
    const struct question *question = NULL;
    if (stand->prompt == PROMPT_CONDITION)
        question = &job->procedure->conditions[stand->item]->question;
    else if (stand->prompt == PROMPT_HOLD)
        question = &stand->work->step->hold;
    if (question != NULL && question->any_text)
        prompt->is_free_text = true;
    else if (question != NULL)
        prompt->choices = shuffled(job, &question->choices, scratch);
    else if (stand->prompt == PROMPT_TRIAL)
        prompt->choices = shuffled(job, &trial_choices, scratch);
    else if (stand->prompt == PROMPT_INSIST)
        prompt->choices = insist_choices;
    else if (stand->prompt == PROMPT_ONCE)
        prompt->choices = once_choices;
    else if (stand->prompt == PROMPT_OPTIONAL)
        prompt->choices = optional_choices;
    else if (stand->prompt == PROMPT_AMEND)
        prompt->choices = amend_choices;
    else if (stand->prompt == PROMPT_SHUT || stand->prompt == PROMPT_BOUND)
        prompt->choices = option_choices(stand, scratch);
}

static void offer_field(const struct job *job, const struct stand *stand, struct prompt *prompt)
{
    bool is_asked = stand->prompt == PROMPT_MANUAL_VALUE || stand->prompt == PROMPT_INPUT ||
                    stand->prompt == PROMPT_READING;
    if (!is_asked)
        return;
    switch (stand->field->form) {
    case FIELD_QUANTITY:
        prompt->unit = fitted_unit(job->fitted, stand->field);
        prompt->unit_in_file = stand->field->unit;
        break;
    case FIELD_CHOICES:
        prompt->choices = stand->field->choices;
        break;
    case FIELD_TEXT:
        prompt->is_free_text = true;
        break;
    }
}

static int stand_index(const struct job *job, const struct stand *stand)
{
    if (stand->position == INDEX_NONE)
        return INDEX_NONE;
    if (stand->prompt == PROMPT_CONDITION)
        return job->procedure->conditions[stand->item]->index;
    if (stand->prompt == PROMPT_COUNT)
        return job->procedure->parts[stand->item].index;
    if (stand->prompt == PROMPT_READING ||
        (stand->work != NULL &&
         (stand->prompt == PROMPT_INSIST || stand->prompt == PROMPT_REASON)))
        return job->procedure->readings[stand->item].index;
    return INDEX_NONE;
}

/* Enter passes only where nothing hangs on it. */
static bool enter_passes(const struct job *job, const struct stand *stand)
{
    if (stand->prompt == PROMPT_ACTION)
        return !stand->wants_photo;
    return stand->prompt == PROMPT_WARNING || stand->prompt == PROMPT_WAIT ||
           stand->prompt == PROMPT_REASON || (stand->prompt == PROMPT_CUE && job->paused != 0);
}

struct prompt job_prompt(const struct job *job, struct instant now, struct arena *scratch)
{
    struct stand stand = job_stand(job, now, true, scratch);
    assert(stand.kind == STAND_ASK);
    struct prompt prompt = {
        .kind = stand.prompt,
        .spot = stand.spot,
        .work = stand.work,
        .name = stand.name,
        .position = stand.position,
        .repeat = stand.repeat,
        .repeats = stand.repeats,
        .enter_passes = enter_passes(job, &stand),
        .wakes_at = stand.wakes_at,
        .is_free_text = stand.prompt == PROMPT_SOURCE || stand.prompt == PROMPT_REASON ||
                        stand.prompt == PROMPT_CUE,
    };
    int index = stand_index(job, &stand);
    if (index != INDEX_NONE)
        prompt.position_label = job->fitted->indexes[index].texts[stand.position];
    offer_choices(job, &stand, &prompt, scratch);
    offer_field(job, &stand, &prompt);
    if (stand.prompt == PROMPT_WAIT)
        prompt.question = wait_question(job, &stand, now.wall, scratch);
    else if (stand.prompt == PROMPT_CLOCK)
        prompt.question = clock_question(job, now, scratch);
    else
        prompt.question = question_for(job, &stand, scratch);
    return prompt;
}

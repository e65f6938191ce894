#include "job/say.h"
#include "job/trials.h"
#include "job_state.h"

#include <assert.h>

/* --- answers by choice ----------------------------------------------------------------------------- */

/* `event` is the answer so far: what is answered, and what was typed. */
static struct decision decide_question(const struct job *job, const struct stand *stand,
                                       const struct question *question,
                                       const struct prompt *prompt, struct event event,
                                       struct arena *scratch)
{
    size_t chosen = 0;
    struct text refusal;
    if (question->any_text) {
        event.meaning = event.typed;
        bool is_denied = text_equal_folded(event.typed, TEXT("no"));
        if (!is_denied && !is_expected(question, event.meaning))
            return decision_refused(
                TEXT("At least two words: what did you see? If it is not so, type no."));
    } else if (choice_take(&prompt->choices, CHOICE_WHOLE, event.typed, &chosen, &refusal,
                           scratch)) {
        event.meaning = prompt->choices.texts[chosen];
    } else {
        return decision_refused(refusal);
    }
    struct decision decision = decision_of(scratch, &event);
    decision.echo = place_echo(job, stand, event.meaning, scratch);
    if (event.detail == ANSWERED_HOLD && !is_expected(question, event.meaning))
        decision.refusal = TEXT("With that answer the work does not go on. Put it right and "
                                "answer again, or make safe, or pause.");
    return decision;
}

static struct decision decide_option(const struct job *job, const struct option *option,
                                     struct instant now, struct arena *scratch)
{
    struct spot opening = spot_opening();
    struct event event;
    switch (option->kind) {
    case OPTION_REDO:
        event = event_begin(job, EVENT_DECIDED, &option->spot, now);
        event.detail = 1;
        event.name = TEXT("redo");
        return decision_of(scratch, &event);
    case OPTION_AGAIN:
        event = event_begin(job, EVENT_DECIDED, &option->spot, now);
        event.detail = 1;
        event.name = TEXT("again");
        return decision_of(scratch, &event);
    case OPTION_LEAVE_REDO:
        event = event_begin(job, EVENT_DECIDED, &job->redo, now);
        event.name = TEXT("redo");
        return decision_of(scratch, &event);
    case OPTION_GO_WITHOUT:
        event = event_begin(job, EVENT_DECIDED, &opening, now);
        event.name = TEXT("denied");
        return decision_of(scratch, &event);
    case OPTION_MAKESAFE:
        return job_begin_makesafe(job, now, scratch);
    case OPTION_GO_ON:
        event = event_begin(job, EVENT_DECIDED, &opening, now);
        event.name = TEXT("makesafe");
        return decision_of(scratch, &event);
    case OPTION_PAUSE:
        return job_pause(job, PAUSED_ASKED, now, scratch);
    case OPTION_END:
        return job_end(job, now, scratch);
    }
    return (struct decision){0};
}

/* What can be done may have changed since it was shown; it is found again by its words. */
static struct decision decide_words_of_option(const struct job *job, const struct stand *stand,
                                              struct text words, struct instant now,
                                              struct arena *scratch)
{
    for (size_t i = 0; i < stand->option_count; i++) {
        if (text_equal(stand->options[i].words, words))
            return decide_option(job, &stand->options[i], now, scratch);
    }
    return decision_refused(TEXT("Meanwhile this has changed; look again."));
}

static struct decision decide_choice(const struct job *job, const struct stand *stand,
                                     const struct prompt *prompt, struct text typed,
                                     struct instant now, struct arena *scratch)
{
    size_t chosen = 0;
    struct text refusal;
    struct decision measured;
    if (!choice_take(&prompt->choices, CHOICE_BEGINNING, typed, &chosen, &refusal, scratch)) {
        if (stand->prompt == PROMPT_INSIST &&
            decide_measured(job, stand, typed, now, &measured, scratch))
            return measured;
        return decision_refused(refusal);
    }
    struct text meaning = prompt->choices.texts[chosen];
    if (stand->prompt == PROMPT_SHUT || stand->prompt == PROMPT_BOUND)
        return decide_words_of_option(job, stand, meaning, now, scratch);
    if (stand->prompt == PROMPT_INSIST)
        return decide_insist(job, stand, meaning, now, scratch);
    if (stand->prompt == PROMPT_AMEND)
        return amendment_decided(job, chosen == AMEND_FOLLOW, now, scratch);
    struct event event;
    if (stand->prompt == PROMPT_OPTIONAL) {
        event = event_for(job, stand, EVENT_DECIDED, chosen == OPTIONAL_DO, now);
        event.name = TEXT("optional");
    } else {
        event = event_for(job, stand, EVENT_ANSWERED, ANSWERED_ONCE, now);
    }
    event.typed = typed;
    event.meaning = meaning;
    return decision_of(scratch, &event);
}

/* --- answers by Enter --------------------------------------------------------------------------------- */

static struct decision decide_warning(const struct job *job, const struct stand *stand,
                                      struct text typed, struct instant now,
                                      struct arena *scratch)
{
    if (typed.length > 0)
        return decision_refused(TEXT("Enter alone says that it is read."));
    struct event event = event_for(job, stand, EVENT_ANSWERED, ANSWERED_WARNING, now);
    return decision_of(scratch, &event);
}

static struct decision decide_photo(const struct job *job, const struct stand *stand,
                                    struct text typed, struct instant now,
                                    struct arena *scratch)
{
    struct text none = TEXT("none ");
    if (!text_starts(typed, none) || text_trim(typed).length <= none.length)
        return decision_refused(TEXT("A picture belongs to this step: photo FILE, or none and "
                                     "the reason."));
    struct event event = event_for(job, stand, EVENT_NOTED, 0, now);
    event.typed = typed;
    event.reason = text_trim(text_slice(typed, none.length, typed.length));
    return decision_of(scratch, &event);
}

static struct decision decide_action(const struct job *job, const struct stand *stand,
                                     const struct prompt *prompt, struct text typed,
                                     struct instant now, struct arena *scratch)
{
    if (!prompt->enter_passes)
        return decide_photo(job, stand, typed, now, scratch);
    if (typed.length > 0)
        return decision_refused(
            text_fill(scratch, "'{}' is no word known here. Enter alone says: done.", typed));
    struct event event = event_for(job, stand, EVENT_DONE, 0, now);
    return decision_of(scratch, &event);
}

/* --- other answers --------------------------------------------------------------------------------------- */

static struct decision decide_source(const struct job *job, const struct stand *stand,
                                     struct text typed, struct instant now,
                                     struct arena *scratch)
{
    if (typed.length == 0)
        return decision_refused(TEXT("A value without a source is not taken. Where was it "
                                     "read?"));
    struct event event = event_for(job, stand, EVENT_ANSWERED, ANSWERED_MANUAL_VALUE, now);
    event.typed = stand->tried->typed;
    event.meaning = stand->tried->meaning;
    event.has_value = stand->tried->has_value;
    event.value = stand->tried->value;
    event.unit = stand->tried->unit;
    event.reason = stand->tried->reason;
    event.source = typed;
    return decision_of(scratch, &event);
}

static struct decision decide_count(const struct job *job, const struct stand *stand,
                                    struct text typed, struct instant now,
                                    struct arena *scratch)
{
    struct field field = {.form = FIELD_QUANTITY,
                          .unit = &unit_one,
                          .is_whole = true,
                          .gauge = GAUGE_NONE,
                          .readings = 1};
    struct taken taken = field_take(job, &field, &stand->spot, typed, scratch);
    if (!taken.is_taken)
        return decision_refused(taken.refusal);
    const int *here = spot_here(job, &stand->spot, scratch);
    unsigned out = part_out_count(job, stand->item, here);
    struct event event = event_for(job, stand, EVENT_ANSWERED, ANSWERED_COUNT, now);
    event.typed = typed;
    event.meaning = taken.meaning;
    event.has_value = true;
    event.value = taken.value;
    struct decision decision = decision_of(scratch, &event);
    if (taken.value != (double)out)
        decision.refusal =
            text_fill(scratch, "{} out, {} back: that cannot be. Look for it and count again.",
                      text_number(scratch, out), taken.meaning);
    decision.echo = place_echo(job, stand, taken.meaning, scratch);
    return decision;
}

static struct decision decide_cue(const struct job *job, const struct stand *stand,
                                  struct text typed, struct instant now, struct arena *scratch)
{
    if (typed.length == 0 && job->paused == 0)
        return decision_refused(TEXT("Find it first, then write how you found it."));
    struct event event = event_for(job, stand, EVENT_ANSWERED, ANSWERED_CUE, now);
    event.typed = typed;
    event.meaning = typed;
    return decision_of(scratch, &event);
}

static struct decision decide_clock(const struct job *job, struct text typed,
                                    struct instant now, struct arena *scratch)
{
    struct field field = {.form = FIELD_QUANTITY,
                          .unit = unit_find(TEXT("min")),
                          .gauge = GAUGE_NONE,
                          .readings = 1};
    struct spot opening = spot_opening();
    struct taken taken = field_take(job, &field, &opening, typed, scratch);
    if (!taken.is_taken)
        return decision_refused(taken.refusal);
    if (!(taken.value >= 0.0))
        return decision_refused(TEXT("Time does not go backwards. How long was it?"));
    if (!(taken.value <= SECONDS_MAX))
        return decision_refused(TEXT("That is more than ten years. How long was it?"));
    struct event event = event_begin(job, EVENT_ANSWERED, &opening, now);
    event.detail = ANSWERED_CLOCK;
    event.name = TEXT("clock");
    event.typed = typed;
    event.meaning = taken.meaning;
    event.has_value = true;
    event.value = taken.value;
    event.unit = taken.unit;
    return decision_of(scratch, &event);
}

/* --- trials ------------------------------------------------------------------------------------------------ */

/* Whoever goes on has seen what it can show; only then is anybody drawn. */
static struct decision decide_trial(const struct job *job, const struct stand *stand,
                                    const struct prompt *prompt, struct text typed,
                                    struct instant now, struct arena *scratch)
{
    size_t chosen = 0;
    struct text refusal;
    if (!choice_take(&prompt->choices, CHOICE_WHOLE, typed, &chosen, &refusal, scratch))
        return decision_refused(refusal);
    struct text meaning = prompt->choices.texts[chosen];
    if (text_equal(meaning, trial_choices.texts[TRIAL_PAUSE]))
        return job_pause(job, PAUSED_ASKED, now, scratch);
    struct event event = event_for(job, stand, EVENT_ANSWERED, ANSWERED_HOLD, now);
    event.typed = typed;
    event.meaning = meaning;
    struct decision decision = decision_of(scratch, &event);
    decision.echo = meaning;
    return decision;
}

static struct decision decide_claim(const struct job *job, const struct stand *stand,
                                    struct text typed, struct instant now,
                                    struct arena *scratch)
{
    const struct trial *trial = job->procedure->trials[stand->item];
    unsigned long long positions;
    struct text refusal;
    if (!trial_claim_take(job, trial, typed, &positions, &refusal, scratch))
        return decision_refused(refusal);
    struct event event = event_for(job, stand, EVENT_ANSWERED, ANSWERED_CLAIM, now);
    event.typed = typed;
    event.meaning = trial_labels(job, trial, positions, scratch);
    event.positions = positions;
    struct decision decision = decision_of(scratch, &event);
    decision.echo = event.meaning;
    return decision;
}

/* --- the dispatch ------------------------------------------------------------------------------------------ */

/* Something may have lapsed or come due between the question and its answer. */
static bool is_still_asked(const struct prompt *prompt, const struct stand *stand)
{
    return stand->kind == STAND_ASK && stand->prompt == prompt->kind &&
           spot_equal(&stand->spot, &prompt->spot) && stand->work == prompt->work &&
           text_equal(stand->name, prompt->name) && stand->position == prompt->position &&
           stand->repeat == prompt->repeat;
}

static struct decision decide_typed(const struct job *job, const struct stand *stand,
                                    const struct prompt *prompt, struct text typed,
                                    struct instant now, struct arena *scratch)
{
    struct event event = event_for(job, stand, EVENT_ANSWERED, 0, now);
    event.typed = typed;
    switch (prompt->kind) {
    case PROMPT_MANUAL_VALUE:
    case PROMPT_INPUT:
    case PROMPT_READING:
        return decide_field(job, stand, typed, now, scratch);
    case PROMPT_SOURCE:
        return decide_source(job, stand, typed, now, scratch);
    case PROMPT_CONDITION:
        event.detail = (unsigned)stand->answered;
        return decide_question(job, stand, &job->procedure->conditions[stand->item]->question,
                               prompt, event, scratch);
    case PROMPT_HOLD:
        event.detail = ANSWERED_HOLD;
        return decide_question(job, stand, &stand->work->step->hold, prompt, event, scratch);
    case PROMPT_WARNING:
        return decide_warning(job, stand, typed, now, scratch);
    case PROMPT_ACTION:
        return decide_action(job, stand, prompt, typed, now, scratch);
    case PROMPT_COUNT:
        return decide_count(job, stand, typed, now, scratch);
    case PROMPT_WAIT:
        return decision_refused(
            TEXT("Not yet. Meanwhile: note, amend, where, kit, makesafe, pause."));
    case PROMPT_OPTIONAL:
    case PROMPT_SHUT:
    case PROMPT_INSIST:
    case PROMPT_ONCE:
    case PROMPT_AMEND:
    case PROMPT_BOUND:
        return decide_choice(job, stand, prompt, typed, now, scratch);
    case PROMPT_TRIAL:
        return decide_trial(job, stand, prompt, typed, now, scratch);
    case PROMPT_CLAIM:
        return decide_claim(job, stand, typed, now, scratch);
    case PROMPT_REASON:
        return decide_reason(job, stand, typed, now, scratch);
    case PROMPT_CUE:
        return decide_cue(job, stand, typed, now, scratch);
    case PROMPT_CLOCK:
        return decide_clock(job, typed, now, scratch);
    case PROMPT_ENDED:
        return decision_refused(TEXT("There is nothing more to answer."));
    }
    return (struct decision){0};
}

struct decision job_decide(const struct job *job, const struct prompt *prompt,
                           const struct answer *answer, struct instant now,
                           struct arena *scratch)
{
    switch (answer->kind) {
    case ANSWER_END:
        return job_pause(job, PAUSED_INPUT_ENDED, now, scratch);
    case ANSWER_INTERRUPT:
        return job_pause(job, PAUSED_INTERRUPTED, now, scratch);
    case ANSWER_STOP:
        return job_pause(job, PAUSED_STOPPED, now, scratch);
    case ANSWER_WAKE:
        return (struct decision){0};
    case ANSWER_TYPED:
        break;
    }
    struct text typed = text_normalised(scratch, answer->typed);
    if (prompt->kind == PROMPT_CLOCK)
        return decide_clock(job, typed, now, scratch);
    struct stand stand = job_stand(job, now, false, scratch);
    bool is_over = prompt->kind == PROMPT_WAIT && stand.kind != STAND_ASK;
    if (is_over || (prompt->kind == PROMPT_WAIT && stand.prompt != PROMPT_WAIT))
        return (struct decision){0};
    if (!is_still_asked(prompt, &stand))
        return decision_refused(TEXT("Meanwhile this has changed; look again."));
    return decide_typed(job, &stand, prompt, typed, now, scratch);
}

/* --- without a person ---------------------------------------------------------------------------------------- */

static struct event settled_event(const struct job *job, const struct stand *stand,
                                  struct instant now, struct arena *scratch)
{
    struct event event;
    switch (stand->kind) {
    case STAND_DECIDE:
        event = event_for(job, stand, EVENT_DECIDED, stand->truth, now);
        event.name = stand->decided;
        event.positions = stand->positions;
        if (stand->expression != NULL)
            event.meaning = stand->expression->written;
        if (stand->drawn.length > 0)
            event.meaning = stand->drawn;
        return event;
    case STAND_ENTER: {
        event = event_for(job, stand, EVENT_ENTERED, (unsigned)stand->entering, now);
        if (stand->work->step == NULL)
            return event;
        const int *here = spot_here(job, &stand->spot, scratch);
        long long late = timers_late(job, stand->work->step, here, job_time(job, now));
        event.has_value = late > 0;
        event.value = (double)late / 1000.0;
        return event;
    }
    case STAND_DONE:
        return event_for(job, stand, EVENT_DONE, 0, now);
    case STAND_FINISH:
    case STAND_ASK:
        break;
    }
    struct spot opening = spot_opening();
    event = event_begin(job, EVENT_ENDED, &opening, now);
    event.detail = ENDED_COMPLETED;
    return event;
}

struct decision job_settle(const struct job *job, struct instant now, struct arena *scratch)
{
    if (job->event_count == 0)
        return (struct decision){0};
    struct stand stand = job_stand(job, now, true, scratch);
    if (stand.kind == STAND_ASK)
        return (struct decision){0};
    struct event event = settled_event(job, &stand, now, scratch);
    return decision_of(scratch, &event);
}

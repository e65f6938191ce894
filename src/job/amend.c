#include "job/say.h"
#include "job/trials.h"
#include "job_state.h"

#include <assert.h>

/* --- what can be amended ------------------------------------------------------------------------------ */

static bool is_claim(const struct event *event)
{
    return event->kind == EVENT_ANSWERED && event->detail == ANSWERED_CLAIM;
}

static bool is_amendable(const struct event *event)
{
    if (event->kind == EVENT_READ)
        return true;
    return event->kind == EVENT_ANSWERED &&
           (event->detail == ANSWERED_INPUT || event->detail == ANSWERED_CLAIM ||
            (event->detail == ANSWERED_MANUAL_VALUE && event->source.length > 0));
}

/* The standing of a condition that was answered as in force, counts on that answer, and was not answered
 * since; or NULL. */
static const struct condition *deniable(const struct job *job, const struct event *event)
{
    bool is_answer = event->kind == EVENT_ANSWERED &&
                     (event->detail == ANSWERED_GATE || event->detail == ANSWERED_SET);
    int id = is_answer ? procedure_find_condition(job->procedure, event->name) : -1;
    if (id < 0)
        return NULL;
    const struct condition *condition = job->procedure->conditions[id];
    const struct standing *standing =
        condition_at(&job->conditions, condition->id, event->position);
    bool counts = standing->is_true && job->amended_by[event->number - 1] == 0 &&
                  job->answered[standing - job->conditions.standings] == event->number;
    return counts && is_expected(&condition->question, event->meaning) ? condition : NULL;
}

size_t job_amendable(const struct job *job, const unsigned **numbers, struct arena *arena)
{
    unsigned *found = arena_array(arena, unsigned, job->event_count);
    size_t count = 0;
    for (size_t i = job->event_count; i > 0; i--) {
        if (is_amendable(&job->events[i - 1]) || deniable(job, &job->events[i - 1]) != NULL)
            found[count++] = (unsigned)i;
    }
    *numbers = found;
    return count;
}

/* "dry, cylinder 3 (2)" */
static struct text event_name(const struct job *job, unsigned number, struct arena *arena)
{
    const struct event *event = job_event_now(job, number);
    struct text name = say_name(arena, event->name);
    if (is_claim(job_event(job, number)))
        name = text_fill(arena, "claim in the trial '{}'", name);
    struct text place = job_spot_name(job, &event->spot, arena);
    if (place.length > 0)
        name = text_fill(arena, "{}, {}", name, place);
    if (event->repeat > 1)
        name = text_fill(arena, "{} ({})", name, text_number(arena, event->repeat));
    return name;
}

static struct text event_meaning(const struct event *event)
{
    return event->meaning.length > 0 ? event->meaning : TEXT("not read");
}

struct text job_event_text(const struct job *job, unsigned number, struct arena *arena)
{
    return text_fill(arena, "{}: {}", event_name(job, number, arena),
                     event_meaning(job_event_now(job, number)));
}

/* The field and symbol of a value that was entered. */
struct entered_value {
    const struct field *field;
    unsigned symbol;
    bool is_found;
    const struct reading *reading; /* or NULL */
};

static struct entered_value entered_value_of(const struct job *job, const struct event *event)
{
    const struct procedure *procedure = job->procedure;
    for (size_t i = 0; event->kind == EVENT_READ && i < procedure->reading_count; i++) {
        const struct reading *reading = &procedure->readings[i];
        if (text_equal(reading->name, event->name))
            return (struct entered_value){&reading->field, reading->symbol, true, reading};
    }
    for (size_t i = 0; event->detail == ANSWERED_INPUT && i < procedure->input_count; i++) {
        const struct input *input = &procedure->inputs[i];
        if (event->kind == EVENT_ANSWERED && text_equal(input->name, event->name))
            return (struct entered_value){&input->field, input->symbol, true, NULL};
    }
    for (size_t i = 0; event->detail == ANSWERED_MANUAL_VALUE && i < procedure->want_count;
         i++) {
        const struct machine_want *want = &procedure->wants[i];
        if (event->kind == EVENT_ANSWERED && text_equal(want->name, event->name))
            return (struct entered_value){&want->field, want->symbol, true, NULL};
    }
    return (struct entered_value){0};
}

struct text job_amend_unit(const struct job *job, unsigned number)
{
    const struct field *field = entered_value_of(job, job_event(job, number)).field;
    if (field == NULL || field->form != FIELD_QUANTITY || field->unit == NULL)
        return (struct text){0};
    const struct unit *unit = fitted_unit(job->fitted, field);
    return unit == &unit_one ? (struct text){0} : unit->symbol;
}

/* Only to what is not so: to have it in force, the step that sets it is done again. */
static bool amended_condition(const struct condition *condition, struct text typed,
                              struct taken *taken, struct text *refusal, struct arena *scratch)
{
    const struct question *question = &condition->question;
    struct text no = TEXT("no");
    bool is_no = question->any_text && text_equal_folded(typed, no);
    if (is_no)
        taken->meaning = no;
    for (size_t i = question->expected_count;
         !question->any_text && i < question->choices.count; i++) {
        if (text_equal_folded(question->choices.texts[i], typed))
            taken->meaning = question->choices.texts[i];
    }
    taken->is_taken = taken->meaning.length > 0;
    if (taken->is_taken)
        return true;
    if (question->any_text) {
        *refusal = TEXT("A precaution is only corrected to what it is not: no.");
        return false;
    }
    struct text words =
        text_join(scratch, question->choices.texts + question->expected_count,
                  question->choices.count - question->expected_count, TEXT("; or: "));
    *refusal = text_fill(
        scratch, "A precaution is only corrected to what it is not, in these words: {}.",
        words);
    return false;
}

static const struct trial *trial_of_claim(const struct job *job, const struct event *claim)
{
    for (size_t i = 0; i < job->procedure->trial_count; i++)
        if (text_equal(job->procedure->trials[i]->name, claim->name))
            return job->procedure->trials[i];
    return NULL;
}

/* Until the end of the job nobody has been shown what the readings say. */
static bool amended_claim(const struct job *job, const struct event *original,
                          struct text typed, struct taken *taken, struct text *refusal,
                          struct arena *scratch)
{
    const struct trial *trial = trial_of_claim(job, original);
    assert(trial != NULL);
    taken->is_taken = trial_claim_take(job, trial, typed, &taken->positions, refusal, scratch);
    if (taken->is_taken)
        taken->meaning = trial_labels(job, trial, taken->positions, scratch);
    return taken->is_taken;
}

/* Refused, or taken; an unlikely value is put to the person by whoever asks. */
static bool amended_value(const struct job *job, unsigned number, struct text typed,
                          struct taken *taken, struct text *refusal, struct arena *scratch)
{
    const struct condition *condition =
        number < 1 || number > job->event_count ? NULL : deniable(job, job_event(job, number));
    if (number < 1 || number > job->event_count ||
        (condition == NULL && !is_amendable(job_event(job, number))))
        *refusal = TEXT("There is no such value to correct. A precaution is asked again after "
                        "pause and resume; for a hold point there are note and makesafe.");
    else if (job->ended != 0 && is_claim(job_event(job, number)))
        *refusal = TEXT("What the readings say has been shown: a claim made before that stands "
                        "as it was made.");
    else if (job->ended != 0)
        *refusal = TEXT("This job has ended; its answers stand.");
    if (refusal->length > 0)
        return false;
    if (condition != NULL)
        return amended_condition(condition, text_trim(text_normalised(scratch, typed)), taken,
                                 refusal, scratch);
    const struct event *original = job_event(job, number);
    if (is_claim(original))
        return amended_claim(job, original, text_normalised(scratch, typed), taken, refusal,
                             scratch);
    struct entered_value value = entered_value_of(job, original);
    assert(value.is_found);
    *taken =
        field_take(job, value.field, &original->spot, text_normalised(scratch, typed), scratch);
    *refusal = taken->refusal;
    if (taken->is_taken && value.reading != NULL &&
        is_set_otherwise(job, value.reading, &original->spot, taken->value, scratch))
        taken->is_implausible = true;
    return taken->is_taken;
}

struct decision job_amend_look(const struct job *job, unsigned number, struct text typed,
                               bool *is_unlikely, struct arena *scratch)
{
    struct taken taken = {0};
    struct text refusal = {0};
    (void)amended_value(job, number, typed, &taken, &refusal, scratch);
    *is_unlikely = taken.is_taken && taken.is_implausible;
    struct decision decision = decision_refused(refusal);
    if (!*is_unlikely)
        return decision;
    const struct event *original = job_event(job, number);
    const struct field *field = entered_value_of(job, original).field;
    decision.echo = text_fill(scratch, "{} is unlikely{}.", taken_words(field, &taken, scratch),
                              likely_words(job, field, &original->spot, taken.value, scratch));
    return decision;
}

struct decision job_amend(const struct job *job, unsigned number, struct text typed,
                          struct text reason, struct instant now, struct arena *scratch)
{
    struct taken taken = {0};
    struct text refusal = {0};
    if (!amended_value(job, number, typed, &taken, &refusal, scratch))
        return decision_refused(refusal);
    if (text_trim(reason).length == 0)
        return decision_refused(TEXT("Say why it is corrected."));
    const struct event *original = job_event(job, number);
    typed = text_normalised(scratch, typed);
    struct event event = *original;
    event.kind = EVENT_AMENDED;
    event.detail = 0;
    event.number = (unsigned)job->event_count + 1;
    event.at = now;
    event.typed = typed;
    event.meaning = taken.meaning;
    event.has_value = taken.has_value;
    event.value = taken.value;
    event.unit = taken.unit;
    event.positions = taken.positions;
    event.reason = text_trim(reason);
    event.amends = number;
    struct decision decision = decision_of(scratch, &event);
    const struct field *field = entered_value_of(job, original).field; /* NULL: a precaution */
    decision.echo =
        text_fill(scratch, "{}: {}, was {}", event_name(job, number, scratch),
                  field == NULL ? taken.meaning : taken_words(field, &taken, scratch),
                  event_meaning(job_event_now(job, number)));
    return decision;
}

/* --- what a correction changes ---------------------------------------------------------------------------- */

static const struct expression *decided_expression(const struct job *job,
                                                   const struct event *event)
{
    const struct work *work = job->procedure->works[event->spot.work];
    if (text_equal(event->name, TEXT("when")))
        return work->when;
    if (text_equal(event->name, TEXT("in")))
        return work->loop.where;
    if (text_equal(event->name, TEXT("until")))
        return work->until;
    return NULL;
}

static bool is_newest_decision(const struct job *job, const struct event *event)
{
    struct sought sought = {.kind = EVENT_DECIDED, .name = event->name, .position = INDEX_NONE};
    return fact_find(job, fact_at(job, &event->spot), &sought) == event;
}

/* Does it rest on something that was amended and not decided about yet? */
static bool rests_on_amended(const struct job *job, const struct expression *expression,
                             struct arena *scratch)
{
    for (size_t n = job->amended; n <= job->event_count; n++) {
        const struct event *event = job_event(job, (unsigned)n);
        if (event->kind != EVENT_AMENDED)
            continue;
        struct entered_value value = entered_value_of(job, job_event(job, event->amends));
        if (value.is_found && rests_on(job, expression, value.symbol, scratch))
            return true;
    }
    return false;
}

/* How a decision would come out now; false if as before, or if it cannot be worked out. */
static bool comes_out_differently(const struct job *job, const struct event *event,
                                  struct event *again, struct arena *scratch)
{
    const struct expression *expression = decided_expression(job, event);
    if (expression == NULL || !is_newest_decision(job, event) ||
        !rests_on_amended(job, expression, scratch))
        return false;
    struct surroundings surroundings =
        surroundings_at(job, &event->spot, job_time(job, job->last), scratch);
    struct value value = expression_evaluate(expression, &surroundings, scratch);
    *again = *event;
    if (text_equal(event->name, TEXT("in"))) {
        assert(value.count <= POSITIONS_MAX);
        again->positions = 0;
        for (size_t i = 0; i < value.count; i++) {
            if (!value.items[i].is_missing && value.items[i].truth)
                again->positions |= 1ULL << i;
        }
        again->detail = again->positions != 0;
        return again->positions != event->positions;
    }
    if (value.count != 1 || value.items[0].is_missing)
        return false;
    again->detail = value.items[0].truth;
    return again->detail != event->detail;
}

static size_t touched(const struct job *job, struct event *again, struct arena *scratch)
{
    size_t count = 0;
    for (size_t i = 0; i < job->event_count; i++) {
        if (job->events[i].kind == EVENT_DECIDED &&
            comes_out_differently(job, &job->events[i], &again[count], scratch))
            count++;
    }
    return count;
}

bool amendment_touches(const struct job *job, struct arena *scratch)
{
    return touched(job, arena_array(scratch, struct event, job->event_count + 1), scratch) > 0;
}

static struct text touched_words(const struct job *job, const struct event *again,
                                 struct arena *scratch)
{
    const struct work *work = job->procedure->works[again->spot.work];
    struct text name = work->step != NULL ? say_step(scratch, job, work) : work->title;
    struct spot spot = again->spot;
    bool is_before_loop = text_equal(again->name, TEXT("in")) ||
                          (text_equal(again->name, TEXT("when")) && !work->when_each_round);
    if (is_before_loop && work->parent != NULL)
        spot.work = work->parent->id;
    struct text place = job_spot_name(job, &spot, scratch);
    if (place.length > 0)
        name = text_fill(scratch, "{}, {}", name, place);
    if (text_equal(again->name, TEXT("in")))
        return text_fill(scratch, "{} would be done for other positions", name);
    if (text_equal(again->name, TEXT("until")))
        return text_fill(scratch,
                         again->detail != 0 ? "{} would be over" : "{} would not be over yet",
                         name);
    return text_fill(scratch, again->detail != 0 ? "{} would be done" : "{} would be left out",
                     name);
}

struct text amendment_words(const struct job *job, struct arena *scratch)
{
    struct event *again = arena_array(scratch, struct event, job->event_count + 1);
    size_t count = touched(job, again, scratch);
    struct text *words = arena_array(scratch, struct text, count);
    for (size_t i = 0; i < count; i++)
        words[i] = touched_words(job, &again[i], scratch);
    return text_fill(scratch, "With the corrected value {}. What now?",
                     text_join(scratch, words, count, TEXT("; ")));
}

struct decision amendment_decided(const struct job *job, bool follows, struct instant now,
                                  struct arena *scratch)
{
    struct event *again = arena_array(scratch, struct event, job->event_count + 1);
    size_t count = follows ? touched(job, again, scratch) : 0;
    struct spot opening = spot_opening();
    struct event *events = arena_array(scratch, struct event, count + 1);
    events[0] = event_begin(job, EVENT_ANSWERED, &opening, now);
    events[0].detail = ANSWERED_AMEND;
    events[0].name = TEXT("amend");
    events[0].meaning = amend_choices.texts[follows ? AMEND_FOLLOW : AMEND_KEEP];
    for (size_t i = 0; i < count; i++) {
        events[i + 1] = again[i];
        events[i + 1].at = now;
        events[i + 1].number = (unsigned)(job->event_count + i + 2);
    }
    return (struct decision){.events = events, .event_count = count + 1};
}

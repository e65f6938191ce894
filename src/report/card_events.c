/*
 * card_events.c - what was answered, skipped, interrupted, noted and attached.
 */
#include "base/calendar.h"
#include "job/say.h"
#include "telling.h"

static struct text capital(const struct telling *telling, struct text name)
{
    return say_capital(telling->arena, say_name(telling->arena, name));
}

static bool is_answer(const struct event *event, enum answered answered)
{
    return event->kind == EVENT_ANSWERED && event->detail == (unsigned)answered;
}

/* --- conditions -------------------------------------------------------------------------------- */

static bool is_as_expected(const struct question *question, struct text meaning)
{
    if (question->any_text)
        return meaning.length > 0;
    for (size_t i = 0; i < question->expected_count; i++)
        if (text_equal(question->choices.texts[i], meaning))
            return true;
    return false;
}

void tell_conditions(struct telling *telling)
{
    struct rows rows = rows_begin(telling->arena);
    rows_add(&rows, TEXT("When"), TEXT("Asked"), TEXT("Where"), TEXT("Answer"),
             TEXT("In force"));
    for (size_t i = 0; i < telling->event_count; i++) {
        const struct event *event = &telling->events[i];
        if (!is_answer(event, ANSWERED_GATE) && !is_answer(event, ANSWERED_SET))
            continue;
        int number = procedure_find_condition(telling->procedure, event->name);
        const struct condition *condition =
            number < 0 ? NULL : telling->procedure->conditions[number];
        int index = condition == NULL ? INDEX_NONE : condition->index;
        struct text where = say_position(telling->arena, telling->job, index, event->position);
        struct text verdict = {0};
        if (condition != NULL && condition->has_question)
            verdict = is_as_expected(&condition->question, told_now(telling, event)->meaning)
                          ? TEXT("yes")
                          : TEXT("DENIED");
        rows_add(&rows, tell_moment(telling, &event->at), capital(telling, event->name), where,
                 tell_value(told_now(telling, event)), verdict);
    }
    blocks_table(&telling->blocks, TEXT("Precautions and states, as answered"), &rows);
}

/* --- hold points and counts ------------------------------------------------------------------------ */

static const char *question_words(const struct event *event)
{
    switch ((enum answered)event->detail) {
    case ANSWERED_HOLD:
        return "hold point";
    case ANSWERED_COUNT:
        return "counted back";
    case ANSWERED_ONCE:
        return "on going on";
    case ANSWERED_CLOCK:
        return "the clock had jumped";
    case ANSWERED_AMEND:
        return "after a correction";
    case ANSWERED_CLAIM:
        return "claim";
    case ANSWERED_INPUT:
    case ANSWERED_MANUAL_VALUE:
    case ANSWERED_GATE:
    case ANSWERED_SET:
    case ANSWERED_WARNING:
    case ANSWERED_INSIST:
    case ANSWERED_CUE:
        break;
    }
    return NULL;
}

void tell_hold_points(struct telling *telling)
{
    struct rows rows = rows_begin(telling->arena);
    rows_add(&rows, TEXT("When"), TEXT("Step"), TEXT("Where"), TEXT("Asked"), TEXT("Answer"));
    for (size_t i = 0; i < telling->event_count; i++) {
        const struct event *event = &telling->events[i];
        const char *words = event->kind == EVENT_ANSWERED ? question_words(event) : NULL;
        if (words != NULL)
            rows_add(&rows, tell_moment(telling, &event->at), tell_step(telling, event),
                     tell_where(telling, event, INDEX_NONE), text_from(words),
                     tell_value(event));
    }
    blocks_table(&telling->blocks, TEXT("Hold points and counts"), &rows);
}

/* --- steps that were not done ----------------------------------------------------------------------- */

void tell_skipped(struct telling *telling)
{
    struct rows rows = rows_begin(telling->arena);
    rows_add(&rows, TEXT("Step"), TEXT("Where"), TEXT("When"), TEXT("Reason"));
    for (size_t i = 0; i < telling->event_count; i++) {
        const struct event *event = &telling->events[i];
        const struct work *work = telling->procedure->works[event->spot.work];
        if (event->kind != EVENT_SKIPPED)
            continue;
        struct text number = text_number(telling->arena, job_step_number(telling->job, work));
        rows_add(&rows, text_fill(telling->arena, "{} {}", number, tell_step(telling, event)),
                 tell_where(telling, event, INDEX_NONE), tell_moment(telling, &event->at),
                 event->reason);
    }
    blocks_table(&telling->blocks, TEXT("Steps skipped"), &rows);
}

/* Decisions against a part of the work; the name of one says what was decided. */
void tell_left_out(struct telling *telling)
{
    struct rows rows = rows_begin(telling->arena);
    for (size_t i = 0; i < telling->event_count; i++) {
        const struct event *event = &telling->events[i];
        bool is_optional = text_equal(event->name, TEXT("optional"));
        if (event->kind != EVENT_DECIDED || event->detail != 0 ||
            (!is_optional && !text_equal(event->name, TEXT("when"))))
            continue;
        const struct work *work = telling->procedure->works[event->spot.work];
        struct text what = tell_step(telling, event);
        struct text where = tell_where(telling, event, INDEX_NONE);
        if (where.length > 0)
            what = text_fill(telling->arena, "{}, {}", what, where);
        if (is_optional)
            rows_add(&rows, text_fill(telling->arena, "{}: passed over", what));
        else if (work->when != NULL && what.length > 0)
            rows_add(&rows, text_fill(telling->arena, "{}: only when {}", what,
                                      say_expression(telling->arena, work->when->written)));
    }
    blocks_list(&telling->blocks, TEXT("Left out, as the procedure has it"), &rows);
}

/* --- interruptions ------------------------------------------------------------------------------------ */

static struct text cause_words(const struct event *paused)
{
    switch ((enum paused)paused->detail) {
    case PAUSED_ASKED:
        return TEXT("asked for");
    case PAUSED_INTERRUPTED:
        return TEXT("interrupted");
    case PAUSED_INPUT_ENDED:
        return TEXT("no more input");
    case PAUSED_STOPPED:
        break;
    }
    return TEXT("stopped from outside");
}

/* Up to the next time the work was taken up again. */
static struct text cue_after(const struct telling *telling, size_t from)
{
    for (size_t i = from; i < telling->event_count; i++) {
        if (is_answer(&telling->events[i], ANSWERED_CUE))
            return tell_value(&telling->events[i]);
        if (telling->events[i].kind == EVENT_RESUMED)
            break;
    }
    return (struct text){0};
}

void tell_interruptions(struct telling *telling)
{
    struct rows rows = rows_begin(telling->arena);
    rows_add(&rows, TEXT("Stopped"), TEXT("Why"), TEXT("Cue left"), TEXT("Went on"),
             TEXT("After"));
    const struct event *stopped = NULL;
    struct text why = {0}, cue = {0};
    for (size_t i = 0; i < telling->event_count; i++) {
        const struct event *event = &telling->events[i];
        if (event->kind == EVENT_PAUSED) {
            stopped = event;
            why = cause_words(event);
            cue = cue_after(telling, i + 1);
        } else if (event->kind == EVENT_RESUMED) {
            const struct event *before = stopped != NULL || i == 0 ? stopped : event - 1;
            if (before == NULL)
                continue;
            rows_add(&rows, tell_moment(telling, &before->at),
                     stopped != NULL ? why : TEXT("broke off without a word"), cue,
                     tell_moment(telling, &event->at),
                     calendar_span_text(telling->arena, event->at.wall - before->at.wall));
            stopped = NULL;
            cue = (struct text){0};
        }
    }
    if (stopped != NULL)
        rows_add(&rows, tell_moment(telling, &stopped->at), why, cue, TEXT("not yet"),
                 TEXT(""));
    blocks_table(&telling->blocks, TEXT("Interruptions"), &rows);
}

/* --- notes and attachments ---------------------------------------------------------------------------- */

static struct text place_words(const struct telling *telling, const struct event *event)
{
    struct text step = tell_step(telling, event);
    struct text where = tell_where(telling, event, INDEX_NONE);
    if (step.length == 0 || where.length == 0)
        return step.length == 0 ? where : step;
    return text_fill(telling->arena, "{}, {}", step, where);
}

void tell_notes(struct telling *telling)
{
    struct rows rows = rows_begin(telling->arena);
    rows_add(&rows, TEXT("When"), TEXT("At"), TEXT("Note"));
    for (size_t i = 0; i < telling->event_count; i++) {
        const struct event *event = &telling->events[i];
        if (event->kind == EVENT_NOTED)
            rows_add(&rows, tell_moment(telling, &event->at), place_words(telling, event),
                     event->typed.length > 0 ? event->typed : event->meaning);
    }
    blocks_table(&telling->blocks, TEXT("Notes"), &rows);
}

/* "sha256:0123456789abcdef…": enough to tell two files apart by eye. */
static struct text short_digest(const struct telling *telling, struct text digest)
{
    enum { SHOWN = 7 + 16 };
    if (digest.length <= SHOWN)
        return digest;
    return text_fill(telling->arena, "{}\u2026", text_slice(digest, 0, SHOWN));
}

void tell_attachments(struct telling *telling)
{
    struct rows rows = rows_begin(telling->arena);
    rows_add(&rows, TEXT("When"), TEXT("At"), TEXT("File"), TEXT("Digest"));
    for (size_t i = 0; i < telling->event_count; i++) {
        const struct event *event = &telling->events[i];
        if (event->kind == EVENT_ATTACHED)
            rows_add(&rows, tell_moment(telling, &event->at), place_words(telling, event),
                     event->name.length > 0 ? event->name : event->typed,
                     short_digest(telling, event->source));
    }
    blocks_table(&telling->blocks, TEXT("Pictures and files"), &rows);
}

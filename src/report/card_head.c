/*
 * card_head.c - what the job is, how far it came, and what it left out of its normal state.
 */
#include "base/calendar.h"
#include "job/claim.h"
#include "job/say.h"
#include "telling.h"

/* --- how it stands ------------------------------------------------------------------------------ */

static bool is_at_step(const struct telling *telling, const struct event *event)
{
    switch (event->kind) {
    case EVENT_ANSWERED:
    case EVENT_ENTERED:
    case EVENT_READ:
    case EVENT_DONE:
    case EVENT_SKIPPED:
        return telling->procedure->works[event->spot.work]->step != NULL;
    case EVENT_STARTED:
    case EVENT_DECIDED:
    case EVENT_AMENDED:
    case EVENT_NOTED:
    case EVENT_ATTACHED:
    case EVENT_PAUSED:
    case EVENT_RESUMED:
    case EVENT_SETTLED:
    case EVENT_ENDED:
        break;
    }
    return false;
}

/* "at step 4 (Press, cylinder 1)", "after step 3 (Lid off)" */
static struct text standing_words(const struct telling *telling)
{
    struct arena *arena = telling->arena;
    for (size_t i = telling->event_count; i-- > 0;) {
        const struct event *event = &telling->events[i];
        if (!is_at_step(telling, event))
            continue;
        bool is_behind = event->kind == EVENT_DONE || event->kind == EVENT_SKIPPED;
        const struct work *work = telling->procedure->works[event->spot.work];
        struct text where = tell_where(telling, event, INDEX_NONE);
        return text_fill(arena, "{} step {} ({}{}{})", is_behind ? TEXT("after") : TEXT("at"),
                         text_number(arena, job_step_number(telling->job, work)),
                         tell_step(telling, event), where.length > 0 ? TEXT(", ") : TEXT(""),
                         where);
    }
    return TEXT("before the first step");
}

static struct text state_words(const struct telling *telling)
{
    if (telling->is_ended)
        return telling->is_completed ? TEXT("completed, everything put back")
                                     : TEXT("CLOSED, LEFT OPEN: it cannot be resumed");
    struct text standing = standing_words(telling);
    if (telling->event_count == 0 || !job_is_paused(telling->job))
        return text_fill(telling->arena, "OPEN: running, or broken off, {}", standing);
    return text_fill(telling->arena, "OPEN: paused {}; to be resumed", standing);
}

/* The last that was said of each place counts: a step done again is done once. */
static bool is_last_word(const struct telling *telling, size_t number)
{
    for (size_t i = number + 1; i < telling->event_count; i++) {
        const struct event *later = &telling->events[i];
        if ((later->kind == EVENT_DONE || later->kind == EVENT_SKIPPED) &&
            spot_equal(&later->spot, &telling->events[number].spot))
            return false;
    }
    return true;
}

static struct text count_words(const struct telling *telling)
{
    struct arena *arena = telling->arena;
    unsigned behind, total, done = 0, skipped = 0;
    job_progress(telling->job, &behind, &total);
    for (size_t i = 0; i < telling->event_count; i++) {
        const struct event *event = &telling->events[i];
        bool is_step = telling->procedure->works[event->spot.work]->step != NULL;
        if (event->kind == EVENT_DONE && is_step)
            done += is_last_word(telling, i);
        if (event->kind == EVENT_SKIPPED && is_step)
            skipped += is_last_word(telling, i);
    }
    unsigned left_out = behind > done + skipped ? behind - done - skipped : 0;
    unsigned ahead = total - behind;
    struct text words = text_fill(arena, "{} done", text_number(arena, done));
    if (skipped > 0)
        words = text_fill(arena, "{}, {} skipped", words, text_number(arena, skipped));
    if (left_out > 0)
        words = text_fill(arena, "{}, {} left out", words, text_number(arena, left_out));
    if (ahead > 0)
        words = text_fill(arena, telling->is_ended ? "{}, {} not done" : "{}, {} to go", words,
                          text_number(arena, ahead));
    return words;
}

/* The title says the job and what it is: what came of it has to stand in the first window. */
void tell_head(struct telling *telling, struct text program)
{
    struct arena *arena = telling->arena;
    const struct procedure *procedure = telling->procedure;
    const struct machine *machine = telling->fitted->machine;
    struct rows rows = rows_begin(arena);
    rows_add(&rows, TEXT("State"), state_words(telling));
    rows_add(&rows, TEXT("Steps"), count_words(telling));
    rows_add(&rows, TEXT("Procedure"),
             text_fill(arena, "{}, revision {}", procedure->name,
                       text_number(arena, procedure->revision)));
    rows_add(&rows, TEXT("Machine"),
             machine->title.length > 0
                 ? text_fill(arena, "{} ({})", machine->title, machine->name)
                 : machine->name);
    if (telling->event_count > 0) {
        const struct event *last = &telling->events[telling->event_count - 1];
        struct text zone = telling->zone.length > 0 ? telling->zone : TEXT("UTC");
        rows_add(&rows, TEXT("Begun"),
                 text_fill(arena, "{} ({})",
                           calendar_moment_text(arena, telling->begun, telling->zone), zone));
        rows_add(&rows, TEXT("Last entry"),
                 calendar_moment_text(arena, last->at.wall, telling->zone));
    }
    rows_add(&rows, TEXT("Made by"), program);
    blocks_fields(&telling->blocks, TEXT(""), &rows);
}

void tell_cautions(struct telling *telling)
{
    struct blocks *blocks = &telling->blocks;
    if (job_is_rehearsal(telling->job))
        blocks_paragraph(blocks, TONE_WARNING,
                         TEXT("REHEARSAL. The answers came from a file. Nobody did this work, "
                              "and nothing was measured."));
    blocks_paragraph(
        blocks, TONE_NOTICE,
        TEXT("This card says what was answered; it cannot know whether it was so. The "
             "machine's own manual, local rules and licensed practice come first."));
    unsigned void_from = job_void_from(telling->job);
    if (void_from > 0)
        blocks_paragraph(
            blocks, TONE_WARNING,
            text_fill(telling->arena,
                      "Step {} was skipped, and the proof is void from there: nothing is "
                      "claimed "
                      "about the order of the work; the gates held all the same.",
                      text_number(telling->arena, void_from)));
}

void tell_claim(struct telling *telling)
{
    struct text claim = claim_words(telling->arena, telling->job);
    if (claim.length == 0)
        return;
    blocks_heading(&telling->blocks, TEXT("What was proven"));
    blocks_paragraph(&telling->blocks, TONE_PLAIN,
                     text_fill(telling->arena, "{} {}", claim, claim_limit_words()));
}

/* --- what it left ------------------------------------------------------------------------------- */

static struct text timer_words(const struct telling *telling,
                               const struct timer_running *running)
{
    struct arena *arena = telling->arena;
    const struct timer *timer = &telling->procedure->timers[running->timer];
    struct text where = say_position(arena, telling->job, timer->index, running->position);
    const struct instant started = {.wall = running->started};
    const struct instant due = {.wall = running->due};
    const struct instant too_late = {.wall = running->too_late};
    struct text words = text_fill(
        arena, "{}{}{}: since {}", say_capital(arena, say_name(arena, timer->name)),
        where.length > 0 ? TEXT(", ") : TEXT(""), where, tell_moment(telling, &started));
    if (running->due != 0)
        words = text_fill(arena, "{}; long enough at {}", words, tell_moment(telling, &due));
    if (running->too_late != 0)
        words =
            text_fill(arena, "{}; too long after {}", words, tell_moment(telling, &too_late));
    return words;
}

/* What is open is told with how to undo it; the job lists the timers behind it. */
void tell_open(struct telling *telling)
{
    if (telling->event_count == 0)
        return;
    const struct event *last = &telling->events[telling->event_count - 1];
    const struct text *items;
    struct timer_running *running;
    size_t count = job_open_items(telling->job, last->at, &items, telling->arena);
    size_t running_count = job_timers(telling->job, &running, telling->arena);
    struct rows open = rows_begin(telling->arena), timers = rows_begin(telling->arena);
    for (size_t i = 0; i + running_count < count; i++)
        rows_add(&open, say_capital(telling->arena, items[i]));
    for (size_t i = 0; i < running_count; i++)
        rows_add(&timers, timer_words(telling, &running[i]));
    if (open.count > 0) {
        blocks_heading(&telling->blocks, TEXT("Still open"));
        blocks_paragraph(&telling->blocks, TONE_WARNING,
                         TEXT("This was not in its normal state at the last entry."));
        blocks_list(&telling->blocks, TEXT(""), &open);
    }
    blocks_list(&telling->blocks, TEXT("Timers running at the last entry"), &timers);
}

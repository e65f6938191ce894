#include "job_state.h"

#include <assert.h>

/* --- answers ------------------------------------------------------------------------------ */

static size_t standing_of(const struct job *job, unsigned condition, int position)
{
    return (size_t)(condition_at(&job->conditions, condition, position) -
                    job->conditions.standings);
}

/* The standings that an answer is about: one, or all positions. */
static void standings_of(const struct job *job, unsigned condition, int position, size_t *first,
                         size_t *count)
{
    bool is_of_one =
        position != INDEX_NONE && job->procedure->conditions[condition]->index != INDEX_NONE;
    *first = job->conditions.first[condition] + (is_of_one ? (size_t)position : 0);
    *count = is_of_one ? 1 : job->conditions.count[condition];
}

/* What was seen holds from the moment it was answered, not from the later end of its step. */
static void apply_set(struct job *job, const struct event *event, long long time)
{
    int condition = procedure_find_condition(job->procedure, event->name);
    assert(condition >= 0);
    size_t first, count;
    standings_of(job, (unsigned)condition, event->position, &first, &count);
    for (size_t i = first; i < first + count; i++)
        job->set_at[i] = time;
    for (size_t i = first; i < first + count; i++)
        job->answered[i] = event->number;
}

/* What is asked at every gate was asked for the step that now is not done next; the gate of the one
 * that is asks again. */
static void forget_gate_questions(struct job *job)
{
    for (size_t i = 0; i < job->procedure->condition_count; i++) {
        const struct condition *condition = job->procedure->conditions[i];
        if (!condition->lapses || condition->lapses_after > 0)
            continue;
        for (size_t at = 0; at < job->conditions.count[i]; at++) {
            struct standing *standing =
                &job->conditions.standings[job->conditions.first[i] + at];
            standing->has_lapsed = standing->is_true;
        }
    }
}

static void apply_condition(struct job *job, const struct event *event, long long time)
{
    int condition = procedure_find_condition(job->procedure, event->name);
    assert(condition >= 0);
    const struct condition *about = job->procedure->conditions[condition];
    size_t standing = standing_of(job, about->id, event->position);
    bool is_of_gates = about->lapses && about->lapses_after <= 0;
    bool was_asked_again = job->must_ask[standing];
    /* a question that stands before the others is put until it is answered well */
    job->must_ask[standing] =
        was_asked_again && is_of_gates && !is_expected(&about->question, event->meaning);
    job->answered[standing] = event->number;
    if (is_expected(&about->question, event->meaning))
        job->denied[standing] = 0;
    condition_answered(&job->conditions, about->id, event->position,
                       is_expected(&about->question, event->meaning), time);
    if (!is_expected(&about->question, event->meaning))
        withdraw_after_denial(job, about->id, event->position, time);
    if (was_asked_again && !job_asks_again(job))
        forget_gate_questions(job); /* the next gate asks for its own step */
}

static void apply_input(struct job *job, const struct event *event)
{
    for (size_t i = 0; i < job->procedure->input_count; i++) {
        if (text_equal(job->procedure->inputs[i].name, event->name))
            job->input_event[i] = event->number;
    }
}

static void apply_manual_value(struct job *job, const struct event *event)
{
    for (size_t i = 0; i < job->procedure->want_count; i++) {
        if (text_equal(job->procedure->wants[i].name, event->name) && event->source.length > 0)
            job->want_event[i] = event->number;
    }
}

static void apply_clock(struct job *job, const struct event *event)
{
    struct instant before = job->is_clock_in_doubt ? job->before_doubt : job->last;
    double seconds = event->value >= 0.0 ? event->value : 0.0;
    long long gap = (long long)((seconds <= SECONDS_MAX ? seconds : SECONDS_MAX) * 1000.0);
    job->shift += before.wall + gap - event->at.wall;
    job->is_clock_in_doubt = false;
}

static void apply_cue(struct job *job, const struct event *event)
{
    if (job->paused != 0) {
        job->cue = event->number;
        job->cue_asked = event->meaning.length > 0 ? event->number : 0;
    } else {
        job->cue_asked = 0;
    }
}

/* Other steps were done meanwhile, and what a step on show relied on may be gone: its gate, warnings
 * and questions are put again, as after a stop. */
static void come_back(struct job *job, unsigned number)
{
    job->resumed = number;
}

static void apply_answered(struct job *job, const struct event *event, long long time)
{
    switch ((enum answered)event->detail) {
    case ANSWERED_GATE:
        apply_condition(job, event, time);
        break;
    case ANSWERED_INPUT:
        apply_input(job, event);
        break;
    case ANSWERED_MANUAL_VALUE:
        apply_manual_value(job, event);
        break;
    case ANSWERED_CUE:
        apply_cue(job, event);
        break;
    case ANSWERED_AMEND:
        job->amended = 0;
        forget_gate_questions(job);
        break;
    case ANSWERED_SET:
        apply_set(job, event, time);
        break;
    case ANSWERED_ONCE:
        if (job->doubted != 0 && text_equal(event->meaning, once_choices.texts[ONCE_NOT_BEGUN]))
            doubts_end(job);
        job->doubted = 0;
        if (text_equal(event->meaning, once_choices.texts[ONCE_NOT_BEGUN]))
            card_not_begun(job, event);
        break;
    case ANSWERED_HOLD:
        if (job->procedure->works[event->spot.work]->step->has_hold &&
            withdraw_after_hold(job, event, time))
            come_back(job, event->number);
        break;
    case ANSWERED_CLOCK:
    case ANSWERED_WARNING:
    case ANSWERED_COUNT:
    case ANSWERED_INSIST:
    case ANSWERED_CLAIM:
        break;
    }
}

/* --- steps ------------------------------------------------------------------------------------ */

static void apply_entered(struct job *job, const struct event *event, long long time)
{
    const struct work *work = job->procedure->works[event->spot.work];
    struct fact *fact = fact_make(job, &event->spot);
    bool was_begun = fact->entered > fact->since;
    fact->entered = event->number;
    fact->entered_as = (enum entered)event->detail;
    if (work->step == NULL) {
        card_shown(job, event);
        return;
    }
    job->entered_last = event->number;
    if (job->card == 0 && !was_begun)
        doubts_begin(job);
    const int *here = spot_here(job, &event->spot, job->arena);
    condition_step_entered(&job->conditions, work->step, here);
    ledger_entered(job, work->step, here);
    timers_awaited(job, work->step, here, time);
}

static int position_of_use(const struct job *job, const struct condition_use *use,
                           const int *here)
{
    int index = job->procedure->conditions[use->condition]->index;
    return use->is_here ? place_here(index, here) : INDEX_NONE;
}

static const bool *what_was_set(struct job *job, const struct step *step,
                                const struct fact *fact, const int *here)
{
    bool *set = arena_array(job->arena, bool, step->sets_count);
    for (size_t i = 0; i < step->sets_count; i++) {
        const struct condition *condition = job->procedure->conditions[step->sets[i].condition];
        struct sought sought = {.kind = EVENT_ANSWERED,
                                .detail = ANSWERED_SET,
                                .name = condition->name,
                                .position = position_of_use(job, &step->sets[i], here),
                                .after = fact->since};
        const struct event *answer = fact_find(job, fact, &sought);
        set[i] = !condition->has_question ||
                 (answer != NULL && is_expected(&condition->question, answer->meaning));
    }
    return set;
}

static void note_set(struct job *job, const struct event *done, const struct condition_use *use,
                     const int *here, bool is_set)
{
    size_t first, count;
    standings_of(job, use->condition, position_of_use(job, use, here), &first, &count);
    for (size_t i = first; i < first + count; i++) {
        if (is_set)
            job->conditions.standings[i].shown = job->set_at[i];
        job->denied[i] = is_set ? 0 : done->number;
    }
}

/* Making safe looks for another way by itself. */
static void note_denials(struct job *job, const struct event *done, const struct step *step,
                         const int *here, const bool *set)
{
    job->denial = 0;
    for (size_t i = 0; i < step->clears_count; i++) {
        size_t first, count;
        int position = position_of_use(job, &step->clears[i], here);
        standings_of(job, step->clears[i].condition, position, &first, &count);
        memset(job->denied + first, 0, count * sizeof *job->denied);
    }
    for (size_t i = 0; i < step->sets_count; i++) {
        if (!job->procedure->conditions[step->sets[i].condition]->has_question)
            continue;
        note_set(job, done, &step->sets[i], here, set[i]);
        if (set[i] || job->makesafe_since != 0)
            continue;
        job->denial = done->number;
        job->again_since = 0;
        withdraw_needs(job, step, step->sets[i].condition, here, job_time(job, done->at));
    }
}

static void leave_mode(struct job *job, enum entered mode, unsigned number)
{
    if (mode != ENTERED_NORMAL)
        come_back(job, number);
    switch (mode) {
    case ENTERED_NORMAL:
        break;
    case ENTERED_REDO:
        job->redo_since = 0;
        break;
    case ENTERED_MAKESAFE:
        job->makesafe_step = 0;
        break;
    }
}

/* Before the ledger is changed. */
static void note_put_back(struct job *job, const struct step *step, const int *here,
                          enum entered mode)
{
    size_t first, count;
    for (size_t m = 0; m < step->refits_count; m++) {
        part_cells(job, step->refits[m].part, here, &first, &count);
        for (size_t i = first; i < first + count; i++)
            job->was_put_back[i] =
                mode == ENTERED_MAKESAFE && (job->was_put_back[i] || job->parts[i].count > 0);
    }
    for (size_t m = 0; m < step->removes_count; m++) {
        part_cells(job, step->removes[m].part, here, &first, &count);
        for (size_t i = first; i < first + count; i++)
            job->was_put_back[i] = false;
    }
}

static void apply_done(struct job *job, const struct event *event, long long time)
{
    const struct work *work = job->procedure->works[event->spot.work];
    struct fact *fact = fact_make(job, &event->spot);
    if (work->step != NULL) {
        const int *here = spot_here(job, &event->spot, job->arena);
        const bool *set = what_was_set(job, work->step, fact, here);
        condition_step_done(&job->conditions, work->step, here, set, time);
        for (size_t i = 0; i < work->step->sets_count; i++) {
            size_t first, cells;
            standings_of(job, work->step->sets[i].condition,
                         position_of_use(job, &work->step->sets[i], here), &first, &cells);
            for (size_t at = first; at < first + cells; at++)
                job->taken[at].is_perhaps = false;
        }
        note_denials(job, event, work->step, here, set);
        note_put_back(job, work->step, here, fact->entered_as);
        ledger_done(job, work->step, &event->spot, time);
        for (size_t i = RECENT_STEPS - 1; i > 0; i--)
            job->recent[i] = job->recent[i - 1];
        job->recent[0] = event->number;
    }
    if (fact->entered_as == ENTERED_NORMAL)
        fact->done = event->number;
    leave_mode(job, fact->entered_as, event->number);
    if (job->again_since != 0 && spot_equal(&job->again, &event->spot))
        job->again_since = 0;
    fact->since = event->number;
    card_goes_on(job, event);
}

/* What a step that was begun perhaps did stays perhaps: nobody knows how far it got. */
static void apply_skipped(struct job *job, const struct event *event)
{
    struct fact *fact = fact_make(job, &event->spot);
    bool is_second_doing = job->redo_since != 0 || job->makesafe_step != 0;
    if (job->redo_since != 0)
        job->redo_since = 0;
    else
        job->makesafe_step = 0;
    job->again_since = 0;
    if (!is_second_doing)
        fact->skipped = event->number;
    fact->since = event->number;
    if (job->void_from == 0)
        job->void_from = job->number_of[event->spot.work];
    forget_gate_questions(job);
}

/* The card, or the step on show, if what it did would have to be put right. */
static unsigned entered_in_doubt(const struct job *job)
{
    bool is_anything = false;
    for (size_t i = 0; i < job->conditions.standing_count; i++)
        is_anything =
            is_anything || (job->conditions.standings[i].is_perhaps && !job->was_perhaps[i]);
    for (size_t i = 0; i < job->part_cell_count; i++)
        is_anything = is_anything || (job->parts[i].is_perhaps && !job->part_was_perhaps[i]);
    if (!is_anything)
        return 0;
    return job->card != 0 ? job->card : job->entered_last;
}

/* Gates while making safe must agree with the order that was found, so what was perhaps so is taken as
 * so; left again with nothing done about it, it is perhaps so as before. */
static void take_perhaps(struct job *job, bool begins)
{
    struct standing *standings = job->conditions.standings;
    size_t count = job->conditions.standing_count;
    job->doubted = begins ? entered_in_doubt(job) : 0;
    if (begins) {
        for (size_t i = 0; i < count; i++)
            job->taken[i] = standings[i];
        condition_take_perhaps_as_so(&job->conditions);
        for (size_t i = 0; i < count; i++)
            job->taken[i].is_perhaps = job->taken[i].is_perhaps && !standings[i].is_perhaps;
        return;
    }
    for (unsigned id = 0; id < job->procedure->condition_count; id++) {
        bool can_be_owed = job->procedure->conditions[id]->restore.length > 0;
        for (unsigned at = 0; at < job->conditions.count[id]; at++) {
            size_t i = job->conditions.first[id] + at;
            bool is_untouched = standings[i].is_true && (standings[i].is_owed || !can_be_owed);
            if (job->taken[i].is_perhaps && is_untouched)
                standings[i] = job->taken[i];
            job->taken[i].is_perhaps = false;
        }
    }
}

static void apply_decided(struct job *job, const struct event *event)
{
    bool is_redo = text_equal(event->name, TEXT("redo"));
    bool is_makesafe = text_equal(event->name, TEXT("makesafe"));
    if (text_equal(event->name, TEXT("optional")))
        card_goes_on(job, event);
    bool is_again = text_equal(event->name, TEXT("again"));
    if (is_redo || is_makesafe || is_again || text_equal(event->name, TEXT("denied")))
        job->denial = 0;
    if (is_again) {
        job->again = event->spot;
        job->again_since = event->detail != 0 ? event->number : 0;
        job->redo_since = 0;
        job->again_redoes = fact_at(job, &event->spot)->done != 0;
        come_back(job, event->number);
        return;
    }
    if (is_makesafe || (is_redo && event->detail == 0))
        job->again_since = 0;
    if (!is_redo && !is_makesafe)
        return;
    if (event->detail == 0)
        come_back(job, event->number);
    forget_gate_questions(job);
    if (is_redo) {
        job->redo = event->spot;
        job->redo_since = event->detail != 0 ? event->number : 0;
    } else if (event->spot.work == 0) {
        take_perhaps(job, event->detail != 0);
        job->makesafe_since = event->detail != 0 ? event->number : 0;
        job->makesafe_step = 0;
        job->redo_since = 0;
    } else {
        job->makesafe = event->spot;
        job->makesafe_step = event->number;
    }
    if (event->spot.work != 0)
        fact_make(job, &event->spot)->since = event->number;
}

static void apply_read(struct job *job, const struct event *event)
{
    const struct procedure *procedure = job->procedure;
    size_t reading = 0;
    while (reading < procedure->reading_count &&
           !text_equal(procedure->readings[reading].name, event->name))
        reading++;
    assert(reading < procedure->reading_count);
    unsigned position = event->position < 0 ? 0 : (unsigned)event->position;
    struct cell *cell = &job->cells[job->first_cell[reading] + position];
    if (cell->count == cell->capacity) {
        cell->capacity = cell->capacity == 0 ? 4 : cell->capacity * 2;
        unsigned *takes = arena_array(job->arena, unsigned, cell->capacity);
        if (cell->count > 0)
            memcpy(takes, cell->takes, cell->count * sizeof *takes);
        cell->takes = takes;
    }
    cell->takes[cell->count++] = event->number;
}

/* A precaution was not as it was answered: what needs it is behind a shut gate from here on. */
static void deny(struct job *job, const struct event *event, const struct event *original,
                 long long time)
{
    int condition = procedure_find_condition(job->procedure, event->name);
    assert(condition >= 0);
    size_t first, count;
    unsigned done = fact_at(job, &original->spot)->since;
    standings_of(job, (unsigned)condition, event->position, &first, &count);
    for (size_t i = first; i < first + count; i++) {
        if (original->detail == ANSWERED_SET)
            job->denied[i] = done;
    }
    condition_answered(&job->conditions, (unsigned)condition, event->position, false, time);
    withdraw_after_denial(job, (unsigned)condition, event->position, time);
    forget_gate_questions(job);
    come_back(job, event->number);
}

static void apply_amended(struct job *job, const struct event *event, long long time)
{
    assert(event->amends >= 1 && event->amends < event->number);
    job->amended_by[event->amends - 1] = event->number;
    const struct event *original = job_event(job, event->amends);
    if (original->kind == EVENT_ANSWERED &&
        (original->detail == ANSWERED_GATE || original->detail == ANSWERED_SET)) {
        deny(job, event, original, time);
        return;
    }
    job->amended_last = event->number;
    if (job->amended == 0)
        job->amended = event->number;
    struct arena_mark mark = arena_mark(job->arena);
    if (!amendment_touches(job, job->arena))
        job->amended = 0;
    arena_rewind(job->arena, mark);
}

static void apply_resumed(struct job *job, const struct event *event)
{
    job->resumed = event->number;
    job->paused = 0;
    job->taken_up = event->number;
    ask_again_all(job);
    condition_stopped(&job->conditions);
}

/* The newest event is kept already, so that what is looked up here finds it too. */
static void apply_kind(struct job *job, const struct event *event, long long time)
{
    switch (event->kind) {
    case EVENT_ANSWERED:
        apply_answered(job, event, time);
        break;
    case EVENT_ENTERED:
        apply_entered(job, event, time);
        break;
    case EVENT_DECIDED:
        apply_decided(job, event);
        break;
    case EVENT_READ:
        apply_read(job, event);
        break;
    case EVENT_DONE:
        apply_done(job, event, time);
        break;
    case EVENT_SKIPPED:
        apply_skipped(job, event);
        break;
    case EVENT_AMENDED:
        apply_amended(job, event, time);
        break;
    case EVENT_PAUSED:
        job->paused = event->number;
        job->cue = event->detail == PAUSED_ASKED ? 0 : event->number;
        break;
    case EVENT_RESUMED:
        apply_resumed(job, event);
        break;
    case EVENT_ENDED:
        job->ended = event->number;
        break;
    case EVENT_STARTED:
    case EVENT_NOTED:
    case EVENT_ATTACHED:
    case EVENT_SETTLED:
        break;
    }
}

static void watch_clock(struct job *job, const struct event *event)
{
    bool answers_clock = event->kind == EVENT_ANSWERED && event->detail == ANSWERED_CLOCK;
    if (answers_clock) {
        apply_clock(job, event);
    } else if (job->event_count > 0 && !job->is_clock_in_doubt &&
               clock_jumped(job->last, event->at)) {
        job->is_clock_in_doubt = true;
        job->before_doubt = job->last;
    }
}

/* A step that is entered in the ordinary course has before it only what is over.  That stays over as
 * long as nothing is recorded about it and the job is not taken up again: the walk need not go through
 * it for every answer. */
static void note_walked_past(struct job *job, const struct event *event)
{
    unsigned child = job->root_child[event->spot.work];
    if (child < job->walked_past || job->resumed == event->number) {
        job->walked_past = 0;
        job->past = (struct step_counts){0};
    }
    if (event->kind == EVENT_ENTERED && event->detail == ENTERED_NORMAL)
        count_walked_past(job, child);
}

void job_apply(struct job *job, const struct event *event)
{
    assert(event->number == job->event_count + 1);
    assert(event->spot.work < job->procedure->work_count);
    assert(job->ended == 0 || event->kind == EVENT_SETTLED || event->kind == EVENT_NOTED ||
           event->kind == EVENT_ATTACHED);
    watch_clock(job, event);
    job_keep_event(job, event);
    const struct event *kept = &job->events[job->event_count - 1];
    job->last = kept->at;
    apply_kind(job, kept, job_time(job, kept->at));
    note_walked_past(job, kept);
    for (size_t i = 0; i < job->conditions.standing_count; i++) {
        const struct standing *standing = &job->conditions.standings[i];
        if (!standing->is_true && !standing->is_owed && !standing->is_perhaps)
            job->opened[i] = 0;
        else if (job->opened[i] == 0)
            job->opened[i] = kept->number;
    }
}

#include "job/trials.h"
#include "job_state.h"

#include <assert.h>

/* One step, in the order of semantics 12. */
struct phase {
    struct walker *walker;
    const struct work *work;
    const struct step *step;
    const struct fact *fact;
    const int *here;
    struct spot spot;
    enum entered mode;
};

static bool stop(const struct phase *phase, struct stand stand)
{
    stand.spot = phase->spot;
    stand.work = phase->work;
    stand.is_late = phase->walker->is_late;
    if (stand.name.length == 0)
        stand.name = phase->step->name;
    phase->walker->stand = stand;
    return true;
}

static const struct event *answer_to(const struct phase *phase, enum answered answered,
                                     struct text name, int position)
{
    struct sought sought = {.kind = EVENT_ANSWERED,
                            .detail = answered,
                            .name = name,
                            .position = position,
                            .after = phase->fact->since};
    return fact_find(phase->walker->job, phase->fact, &sought);
}

/* A step's own questions are about the machine as it is now: an answer from before a stop, or from an
 * earlier beginning of the step, is asked again. */
static const struct event *set_answer(const struct phase *phase, struct text name, int position)
{
    const struct event *answer = answer_to(phase, ANSWERED_SET, name, position);
    if (answer == NULL || answer->number < phase->walker->job->resumed ||
        answer->number < phase->fact->entered)
        return NULL;
    return answer;
}

static bool since_resumed(const struct phase *phase, unsigned number)
{
    return number > phase->fact->since && number > phase->walker->job->resumed;
}

/* --- before it begins ------------------------------------------------------------------------- */

static bool phase_optional(const struct phase *phase, bool *is_passed_over)
{
    *is_passed_over = false;
    if (!phase->step->is_optional || phase->mode != ENTERED_NORMAL)
        return false;
    struct sought sought = {.kind = EVENT_DECIDED,
                            .name = TEXT("optional"),
                            .position = INDEX_NONE,
                            .after = phase->fact->since};
    const struct event *decided = fact_find(phase->walker->job, phase->fact, &sought);
    if (decided == NULL)
        return stop(phase, (struct stand){.prompt = PROMPT_OPTIONAL, .position = INDEX_NONE});
    *is_passed_over = decided->detail == 0;
    return false;
}

static bool stop_unknown(const struct phase *phase, struct text missing)
{
    phase->walker->stand = (struct stand){.missing = missing};
    stand_shut(phase->walker, SHUT_UNKNOWN, phase->work, &phase->spot);
    return true;
}

/* True if the walk stops: more than may be, or nobody knows how much. */
static bool phase_supply(const struct phase *phase, const struct supply *supply,
                         const struct surroundings *surroundings)
{
    double amount, at_most;
    struct text missing;
    struct walker *walker = phase->walker;
    if (supply->amount == NULL || supply->at_most == NULL)
        return false;
    if (!work_out_number(supply->amount, surroundings, &amount, &missing, walker->scratch) ||
        !work_out_number(supply->at_most, surroundings, &at_most, &missing, walker->scratch))
        return stop_unknown(phase, missing);
    if (amount <= at_most)
        return false;
    walker->stand = (struct stand){.supply = supply};
    stand_shut(walker, SHUT_SUPPLY, phase->work, &phase->spot);
    return true;
}

static bool phase_supplies(const struct phase *phase)
{
    const struct step *step = phase->step;
    if (step->part_count + step->consume_count == 0)
        return false;
    struct walker *walker = phase->walker;
    struct surroundings surroundings =
        surroundings_at(walker->job, &phase->spot, walker->time, walker->scratch);
    for (size_t i = 0; i < step->part_count + step->consume_count; i++) {
        const struct supply *supply =
            i < step->part_count ? &step->parts[i] : &step->consumes[i - step->part_count];
        if (phase_supply(phase, supply, &surroundings))
            return true;
    }
    return false;
}

static bool is_done_anyway(const struct work *work, const struct work *section)
{
    for (; work != section; work = work->parent) {
        if (work->when != NULL || work->kind == WORK_EITHER ||
            work->loop_depth != section->loop_depth)
            return false;
    }
    return true;
}

static bool stands_in(const struct work *work, const struct work *section)
{
    while (work != NULL && work != section)
        work = work->parent;
    return work != NULL;
}

bool walk_away_supplies(struct walker *walker, const struct work *section,
                        const struct spot *spot)
{
    const struct procedure *procedure = walker->job->procedure;
    for (unsigned id = section->id + 1; id < procedure->work_count; id++) {
        const struct work *work = procedure->works[id];
        if (!stands_in(work, section))
            break;
        if (work->step == NULL || !is_done_anyway(work, section))
            continue;
        struct phase phase = {
            .walker = walker, .work = work, .step = work->step, .spot = *spot};
        phase.spot.work = work->id;
        if (phase_supplies(&phase))
            return true;
    }
    return false;
}

static bool is_unknown(const struct expression *expression,
                       const struct surroundings *surroundings, struct text *missing,
                       struct arena *scratch)
{
    if (expression == NULL)
        return false;
    struct value value = expression_evaluate(expression, surroundings, scratch);
    *missing = expression->written;
    for (size_t i = 0; i < value.count; i++) {
        if (!value.items[i].is_missing)
            return false;
        *missing = value.items[i].missing_name;
    }
    return true;
}

/* What cannot be worked out keeps the step from beginning: a torque nobody knows, a time nobody can
 * wait for, an action with a hole in it. */
static bool phase_values(const struct phase *phase)
{
    const struct step *step = phase->step;
    struct walker *walker = phase->walker;
    struct arena *scratch = walker->scratch;
    struct text missing;
    struct surroundings surroundings =
        surroundings_at(walker->job, &phase->spot, walker->time, scratch);
    bool is_missing = is_unknown(step->torque, &surroundings, &missing, scratch) ||
                      is_unknown(step->turn, &surroundings, &missing, scratch);
    for (size_t i = 0; i < step->action.piece_count && !is_missing; i++)
        is_missing = is_unknown(step->action.pieces[i].value, &surroundings, &missing, scratch);
    /* The way to safety is not shut by a hole in a sentence. */
    return is_missing && phase->mode != ENTERED_MAKESAFE && stop_unknown(phase, missing);
}

/* Before a step counts as done: what its timers last may rest on its own readings, and a correction may
 * have changed how much goes in. */
static bool phase_ending(const struct phase *phase)
{
    const struct step *step = phase->step;
    struct walker *walker = phase->walker;
    struct text missing;
    struct surroundings surroundings =
        surroundings_at(walker->job, &phase->spot, walker->time, walker->scratch);
    for (size_t i = 0; i < step->starts_count && phase->mode != ENTERED_MAKESAFE; i++) {
        if (is_unknown(step->starts[i].at_least, &surroundings, &missing, walker->scratch) ||
            is_unknown(step->starts[i].at_most, &surroundings, &missing, walker->scratch))
            return stop_unknown(phase, missing);
    }
    return phase_supplies(phase);
}

static bool stop_waiting(const struct phase *phase, long long due, unsigned timer)
{
    return stop(phase, (struct stand){.prompt = PROMPT_WAIT,
                                      .position = INDEX_NONE,
                                      .wakes_at = due - phase->walker->job->shift,
                                      .timer = timer});
}

static bool phase_timers(const struct phase *phase)
{
    long long due = 0;
    unsigned timer = 0;
    const struct job *job = phase->walker->job;
    if (phase->mode == ENTERED_MAKESAFE)
        return timers_of_undone(job, phase->step, phase->here, phase->walker->time, &due,
                                &timer) &&
               stop_waiting(phase, due, timer);
    if (timers_never_started(job, phase->step, phase->here, &timer)) {
        phase->walker->stand = (struct stand){.timer = timer};
        stand_shut(phase->walker, SHUT_TIMER, phase->work, &phase->spot);
        return true;
    }
    if (!timers_due(job, phase->step, phase->here, phase->walker->time, &due, &timer))
        return false;
    return stop_waiting(phase, due, timer);
}

static bool has_message(const struct step *step, const struct message *wanted)
{
    for (size_t i = 0; i < step->message_count; i++) {
        const struct message *message = &step->messages[i];
        if (message->signal == wanted->signal &&
            text_equal(message->hazard.written, wanted->hazard.written) &&
            text_equal(message->harm.written, wanted->harm.written))
            return true;
    }
    return false;
}

/* The same words as at the step before were read a moment ago; they are shown again, but an Enter that
 * is asked for at every step is pressed without reading. */
static bool was_read_just_now(const struct phase *phase)
{
    const struct job *job = phase->walker->job;
    if (job->entered_last == 0 || job->entered_last < job->resumed)
        return false;
    const struct event *entered = job_event(job, job->entered_last);
    const struct step *before = job->procedure->works[entered->spot.work]->step;
    if (entered->is_late || before->message_count != phase->step->message_count)
        return false;
    for (size_t i = 0; i < before->message_count; i++) {
        if (!has_message(before, &phase->step->messages[i]) ||
            !has_message(phase->step, &before->messages[i]))
            return false;
    }
    return true;
}

static bool phase_warnings(const struct phase *phase)
{
    bool is_warned = false;
    for (size_t i = 0; i < phase->step->message_count; i++)
        is_warned = is_warned || phase->step->messages[i].signal > SIGNAL_NOTICE;
    if (!is_warned || was_read_just_now(phase))
        return false;
    const struct event *read =
        answer_to(phase, ANSWERED_WARNING, phase->step->name, INDEX_NONE);
    if (read != NULL && since_resumed(phase, read->number))
        return false;
    return stop(phase, (struct stand){.prompt = PROMPT_WARNING, .position = INDEX_NONE});
}

static bool decide_who(const struct phase *phase, unsigned long long positions,
                       const struct expression *expression, struct text drawn)
{
    return stop(phase, (struct stand){.kind = STAND_DECIDE,
                                      .decided = TEXT("draw"),
                                      .drawn = drawn,
                                      .expression = expression,
                                      .positions = positions,
                                      .truth = positions != 0,
                                      .position = INDEX_NONE});
}

/* Who is treated is known before the action is shown, and fixed only when the person has seen what the
 * trial can show: nobody looks at the lot first and at the design then. */
static bool phase_allots(const struct phase *phase)
{
    const struct trial *trial = phase->step->allots;
    struct walker *walker = phase->walker;
    if (trial == NULL || trial_allotted(walker->job, trial) != NULL)
        return false;
    unsigned long long positions = 0;
    struct text missing;
    if (trial->chosen != NULL &&
        !trial_chosen(walker->job, trial, walker->time, &positions, &missing, walker->scratch))
        return stop_unknown(phase, missing);
    if (trial_read_before(walker->job, trial, walker->scratch) == 0)
        return stop_unknown(phase, walker->job->procedure->readings[trial->before].name);
    struct text name = walker->job->procedure->symbols[trial->symbols[TRIAL_TREATED]].name;
    if (answer_to(phase, ANSWERED_HOLD, name, INDEX_NONE) == NULL)
        return stop(phase, (struct stand){
                               .prompt = PROMPT_TRIAL, .name = name, .position = INDEX_NONE});
    if (trial->chosen != NULL)
        return decide_who(phase, positions, trial->chosen, (struct text){0});
    struct text drawn = text_fill(
        walker->scratch, "{} by lot, number {}", text_number(walker->scratch, trial->drawn),
        text_number(walker->scratch, (long long)trial_seed(walker->job, trial)));
    return decide_who(phase, trial_drawn(walker->job, trial, walker->scratch), NULL, drawn);
}

/* Away, it was all looked at before the hands went in, and is written down afterwards; unless a
 * correction made since then brings up a step that was not on the card. */
static bool was_on_card(const struct phase *phase)
{
    const struct walker *walker = phase->walker;
    return walker->is_late && walker->job->amended_last < walker->card;
}

/* A shut gate is told at once; its questions are asked when the wait is over, so that the answers are
 * as fresh as the step. */
static bool phase_beginning(const struct phase *phase)
{
    struct walker *walker = phase->walker;
    if (!was_on_card(phase)) {
        struct gate gate = gate_look(&walker->job->conditions, phase->step, phase->here,
                                     walker->time, walker->scratch);
        if (gate.verdict == GATE_SHUT)
            return walk_gate(walker, &gate, phase->work, &phase->spot);
        if (phase_allots(phase) || phase_supplies(phase) || phase_values(phase) ||
            phase_timers(phase) || walk_gate(walker, &gate, phase->work, &phase->spot) ||
            phase_warnings(phase))
            return true;
    }
    return stop(
        phase,
        (struct stand){.kind = STAND_ENTER, .entering = phase->mode, .position = INDEX_NONE});
}

/* --- what it asks --------------------------------------------------------------------------------- */

static bool was_read(const struct phase *phase, const struct reading *reading, int position,
                     unsigned repeat)
{
    struct sought sought = {.kind = EVENT_READ,
                            .name = reading->name,
                            .position = position,
                            .after = phase->fact->since};
    for (unsigned n = 1; n <= repeat; n++) {
        sought.repeat = n;
        const struct event *event = fact_find(phase->walker->job, phase->fact, &sought);
        if (event == NULL)
            return false;
        if (event->meaning.length == 0)
            return true; /* unread: the repeats after it are not asked for */
    }
    return true;
}

static bool ask_reading(const struct phase *phase, unsigned number)
{
    const struct reading *reading = &phase->walker->job->procedure->readings[number];
    int position = place_here(reading->index, phase->here);
    unsigned repeats = reading->field.readings == 0 ? 1 : reading->field.readings;
    for (unsigned repeat = 1; repeat <= repeats; repeat++) {
        if (was_read(phase, reading, position, repeat))
            continue;
        struct stand asked = {.prompt = PROMPT_READING,
                              .spot = phase->spot,
                              .work = phase->work,
                              .is_late = phase->walker->is_late,
                              .item = number,
                              .position = position,
                              .repeat = repeat,
                              .repeats = repeats,
                              .field = &reading->field,
                              .name = reading->name};
        return ask_field(phase->walker, &asked);
    }
    return false;
}

static bool ask_readings(const struct phase *phase)
{
    for (size_t i = 0; i < phase->step->reading_count; i++) {
        if (ask_reading(phase, phase->step->readings[i]))
            return true;
    }
    return false;
}

static bool ask_counts(const struct phase *phase)
{
    const struct job *job = phase->walker->job;
    for (size_t i = 0; i < phase->step->refits_count; i++) {
        const struct part_move *move = &phase->step->refits[i];
        unsigned out = part_out_count(job, move->part, phase->here);
        if (move->count == NULL || out == 0)
            continue;
        const struct part *part = &job->procedure->parts[move->part];
        int position = place_here(part->index, phase->here);
        const struct event *counted = answer_to(phase, ANSWERED_COUNT, part->name, position);
        if (counted != NULL && counted->value == (double)out)
            continue;
        return stop(phase, (struct stand){.prompt = PROMPT_COUNT,
                                          .item = move->part,
                                          .position = position,
                                          .name = part->name});
    }
    return false;
}

static bool ask_hold(const struct phase *phase)
{
    if (!phase->step->has_hold)
        return false;
    const struct event *answer = answer_to(phase, ANSWERED_HOLD, phase->step->name, INDEX_NONE);
    if (answer != NULL && is_expected(&phase->step->hold, answer->meaning))
        return false;
    return stop(phase, (struct stand){.prompt = PROMPT_HOLD, .position = INDEX_NONE});
}

static bool ask_sets(const struct phase *phase)
{
    for (size_t i = 0; i < phase->step->sets_count; i++) {
        const struct condition_use *use = &phase->step->sets[i];
        const struct condition *condition =
            phase->walker->job->procedure->conditions[use->condition];
        int position = use->is_here ? place_here(condition->index, phase->here) : INDEX_NONE;
        if (!condition->has_question || set_answer(phase, condition->name, position) != NULL)
            continue;
        return stop(phase, (struct stand){.prompt = PROMPT_CONDITION,
                                          .answered = ANSWERED_SET,
                                          .item = condition->id,
                                          .position = position,
                                          .name = condition->name});
    }
    return false;
}

static bool wants_photo(const struct phase *phase)
{
    if (phase->step->photo == PHOTO_REQUIRED)
        return true;
    for (size_t i = 0; i < phase->step->reading_count; i++) {
        unsigned reading = phase->step->readings[i];
        if (phase->walker->job->procedure->readings[reading].field.photo == PHOTO_REQUIRED)
            return true;
    }
    return false;
}

/* A rehearsal has no camera. */
static bool ask_photo(const struct phase *phase)
{
    const struct job *job = phase->walker->job;
    if (job_is_rehearsal(job) || !wants_photo(phase))
        return false;
    struct sought sought = {
        .kind = EVENT_ATTACHED, .position = INDEX_NONE, .after = phase->fact->since};
    if (fact_find(job, phase->fact, &sought) != NULL)
        return false;
    sought.kind = EVENT_NOTED;
    sought.name = TEXT("photo");
    if (fact_find(job, phase->fact, &sought) != NULL)
        return false;
    return stop(phase, (struct stand){.prompt = PROMPT_ACTION,
                                      .position = INDEX_NONE,
                                      .wants_photo = true,
                                      .name = TEXT("photo")});
}

static bool asks_something(const struct phase *phase)
{
    const struct step *step = phase->step;
    const struct job *job = phase->walker->job;
    bool asks = step->reading_count > 0 || step->has_hold ||
                (wants_photo(phase) && !job_is_rehearsal(job));
    for (size_t i = 0; i < step->sets_count; i++)
        asks = asks || job->procedure->conditions[step->sets[i].condition]->has_question;
    for (size_t i = 0; i < step->refits_count; i++)
        asks = asks || (step->refits[i].count != NULL &&
                        part_out_count(job, step->refits[i].part, phase->here) > 0);
    return asks;
}

static bool ask_next(const struct phase *phase)
{
    return ask_readings(phase) || ask_counts(phase) || ask_hold(phase) || ask_sets(phase) ||
           ask_photo(phase);
}

/* --- the whole step ------------------------------------------------------------------------------- */

static bool is_begun(const struct phase *phase)
{
    return phase->fact->entered > phase->fact->since;
}

/* Taken up again in the middle: true if the walk stops, else *goes_on says whether what was begun
 * counts as it is, or gate and warnings come first. */
static bool phase_resumed(const struct phase *phase, bool *goes_on)
{
    *goes_on = true;
    if (since_resumed(phase, phase->fact->entered))
        return false;
    struct stand before = phase->walker->stand;
    if (asks_something(phase) && !ask_next(phase))
        return phase_ending(phase) ||
               stop(phase, (struct stand){.kind = STAND_DONE, .position = INDEX_NONE});
    phase->walker->stand = before;
    *goes_on = false;
    if (!phase->step->is_once)
        return false;
    const struct event *once = answer_to(phase, ANSWERED_ONCE, phase->step->name, INDEX_NONE);
    if (once == NULL || !since_resumed(phase, once->number))
        return stop(phase, (struct stand){.prompt = PROMPT_ONCE, .position = INDEX_NONE});
    *goes_on = text_equal(once->meaning, once_choices.texts[ONCE_FINISHED]);
    return false;
}

static bool was_finished_once(const struct phase *phase)
{
    if (!phase->step->is_once || since_resumed(phase, phase->fact->entered))
        return false;
    const struct event *once = answer_to(phase, ANSWERED_ONCE, phase->step->name, INDEX_NONE);
    return once != NULL && since_resumed(phase, once->number) &&
           text_equal(once->meaning, once_choices.texts[ONCE_FINISHED]);
}

/* Done while making safe, or again: whichever way, it was done. */
static bool was_done_once(const struct phase *phase)
{
    struct sought sought = {.kind = EVENT_DONE, .position = INDEX_NONE};
    return phase->step->is_once && phase->fact->entered <= phase->fact->since &&
           fact_find(phase->walker->job, phase->fact, &sought) != NULL;
}

bool walk_step(struct walker *walker, const struct work *work, const struct spot *spot,
               enum entered mode)
{
    const struct job *job = walker->job;
    struct phase phase = {.walker = walker,
                          .work = work,
                          .step = work->step,
                          .fact = fact_at(job, spot),
                          .spot = *spot,
                          .mode = mode};
    if (mode == ENTERED_NORMAL && (phase.fact->done != 0 || phase.fact->skipped != 0))
        return false;
    if (mode == ENTERED_NORMAL && was_done_once(&phase))
        return false;
    phase.here = spot_here(job, spot, walker->scratch);
    bool is_passed_over;
    if (phase_optional(&phase, &is_passed_over))
        return true;
    if (is_passed_over)
        return false;
    bool goes_on = false;
    if (is_begun(&phase) && phase_resumed(&phase, &goes_on))
        return true;
    if (!goes_on)
        return phase_beginning(&phase);
    if (ask_next(&phase) || phase_ending(&phase))
        return true;
    if (asks_something(&phase) || was_finished_once(&phase))
        return stop(&phase, (struct stand){.kind = STAND_DONE, .position = INDEX_NONE});
    return stop(&phase, (struct stand){.prompt = PROMPT_ACTION, .position = INDEX_NONE});
}

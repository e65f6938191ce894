#include "job/trials.h"
#include "job_state.h"

#include <assert.h>

/* Sections in sections in followed procedures; the loader bounds each file, and FOLLOW goes four
 * deep. */
enum { WALK_DEPTH_MAX = 512 };

static bool walk_work(struct walker *walker, const struct work *work, struct spot spot,
                      unsigned depth);

/* --- decisions --------------------------------------------------------------------------------- */

/* The newest decision of that name at a spot, or NULL. */
static const struct event *decision_at(const struct walker *walker, const struct spot *spot,
                                       struct text name)
{
    struct sought sought = {.kind = EVENT_DECIDED, .name = name, .position = INDEX_NONE};
    return fact_find(walker->job, fact_at(walker->job, spot), &sought);
}

static bool stand_undecided(struct walker *walker, const struct work *work,
                            const struct spot *spot, const struct expression *expression,
                            struct text missing)
{
    walker->stand = (struct stand){.missing = missing, .expression = expression};
    stand_shut(walker, SHUT_UNDECIDED, work, spot);
    return true;
}

/* True if the walk stops to decide it; else *truth is what was decided. */
static bool decide_truth(struct walker *walker, const struct work *work,
                         const struct spot *spot, struct text name,
                         const struct expression *expression, bool *truth)
{
    const struct event *decided = decision_at(walker, spot, name);
    if (decided != NULL) {
        *truth = decided->detail != 0;
        return false;
    }
    struct surroundings surroundings =
        surroundings_at(walker->job, spot, walker->time, walker->scratch);
    struct value value = expression_evaluate(expression, &surroundings, walker->scratch);
    if (value.count != 1 || value.items[0].is_missing)
        return stand_undecided(walker, work, spot, expression,
                               value.count == 1 ? value.items[0].missing_name
                                                : expression->written);
    walker->stand = (struct stand){.kind = STAND_DECIDE,
                                   .spot = *spot,
                                   .work = work,
                                   .decided = name,
                                   .expression = expression,
                                   .truth = value.items[0].truth,
                                   .position = INDEX_NONE,
                                   .is_late = walker->is_late};
    return true;
}

/* A position whose truth is missing is not in it. */
static bool decide_subset(struct walker *walker, const struct work *work,
                          const struct spot *spot, unsigned long long *positions)
{
    const struct loop *loop = &work->loop;
    *positions = ~0ULL;
    if (loop->subset == LOOP_ALL)
        return false;
    if (loop->subset == LOOP_LABELS) {
        *positions = labelled_positions(walker->job, loop);
        return false;
    }
    const struct event *decided = decision_at(walker, spot, TEXT("in"));
    if (decided != NULL) {
        *positions = decided->positions;
        return false;
    }
    struct surroundings surroundings =
        surroundings_at(walker->job, spot, walker->time, walker->scratch);
    struct value value = expression_evaluate(loop->where, &surroundings, walker->scratch);
    unsigned long long found = 0;
    assert(value.count <= POSITIONS_MAX);
    for (size_t i = 0; i < value.count; i++) {
        if (!value.items[i].is_missing && value.items[i].truth)
            found |= 1ULL << i;
    }
    walker->stand = (struct stand){.kind = STAND_DECIDE,
                                   .spot = *spot,
                                   .work = work,
                                   .decided = TEXT("in"),
                                   .expression = loop->where,
                                   .truth = found != 0,
                                   .positions = found,
                                   .position = INDEX_NONE,
                                   .is_late = walker->is_late};
    return true;
}

/* --- the kinds of work ----------------------------------------------------------------------------- */

/* NOLINTNEXTLINE(misc-no-recursion): through walk_work */
static bool walk_children(struct walker *walker, const struct work *work, struct spot spot,
                          unsigned depth)
{
    bool is_root = work->id == 0;
    for (size_t i = is_root ? walker->job->walked_past : 0; i < work->child_count; i++) {
        if (walk_work(walker, work->children[i], spot, depth + 1))
            return true;
    }
    return false;
}

/* NOLINTNEXTLINE(misc-no-recursion): through walk_work */
static bool walk_either(struct walker *walker, const struct work *work, struct spot spot,
                        unsigned depth)
{
    for (size_t i = 0; i < work->child_count; i++) {
        const struct work *alternative = work->children[i];
        bool is_taken = true;
        struct spot there = spot;
        there.work = alternative->id;
        if (alternative->when != NULL && decide_truth(walker, alternative, &there, TEXT("when"),
                                                      alternative->when, &is_taken))
            return true;
        if (is_taken)
            return walk_work(walker, alternative, spot, depth + 1);
    }
    return false;
}

static bool stand_bound(struct walker *walker, const struct work *work, const struct spot *spot)
{
    walker->stand = (struct stand){.kind = STAND_ASK,
                                   .prompt = PROMPT_BOUND,
                                   .spot = *spot,
                                   .work = work,
                                   .position = INDEX_NONE,
                                   .name = work->title};
    add_option(walker, OPTION_MAKESAFE, TEXT("make safe"));
    add_option(walker, OPTION_PAUSE, TEXT("pause"));
    return true;
}

/* NOLINTNEXTLINE(misc-no-recursion): through walk_work */
static bool walk_repeat(struct walker *walker, const struct work *work, struct spot spot,
                        unsigned depth)
{
    unsigned bound = work->until == NULL ? work->times : work->at_most;
    for (unsigned round = 0; round < bound; round++) {
        spot.work = work->id;
        spot.turns[work->loop_depth - 1] = (unsigned short)round;
        if (walk_children(walker, work, spot, depth))
            return true;
        bool is_over = false;
        if (work->until != NULL &&
            decide_truth(walker, work, &spot, TEXT("until"), work->until, &is_over))
            return true;
        if (is_over)
            return false;
    }
    return work->until != NULL && stand_bound(walker, work, &spot);
}

static bool ask_how_far(struct walker *walker, const struct work *work, const struct spot *spot)
{
    walker->stand = (struct stand){.prompt = PROMPT_ONCE,
                                   .spot = *spot,
                                   .work = work,
                                   .name = work->step != NULL ? work->step->name : work->title,
                                   .position = INDEX_NONE};
    return true;
}

/* A stop after the card was shown: only the person knows how far the hands got.  True if the walk
 * stops to ask. */
static bool walk_card_again(struct walker *walker, const struct work *work,
                            const struct spot *spot, bool *is_finished)
{
    const struct job *job = walker->job;
    const struct event *answer = card_answer(job, spot);
    struct spot once;
    if (answer == NULL)
        return ask_how_far(walker, work, spot);
    *is_finished = text_equal(answer->meaning, once_choices.texts[ONCE_FINISHED]);
    bool is_in_part = text_equal(answer->meaning, once_choices.texts[ONCE_IN_PART]);
    return is_in_part && card_asks_once(job, work, spot, &once, walker->scratch) &&
           ask_how_far(walker, job->procedure->works[once.work], &once);
}

/* An away section: its gate, then its card (ENTERED), then Enter when the hands are free (DONE),
 * then its answers, late.  True if the walk stops. */
static bool walk_into_away(struct walker *walker, const struct work *work,
                           const struct spot *spot)
{
    const struct job *job = walker->job;
    const struct fact *fact = fact_at(job, spot);
    if (fact->done != 0)
        return false;
    bool is_finished = false;
    if (fact->entered != 0 && fact->entered < job->resumed && job->card == fact->entered &&
        card_asks_how_far(job, work) && walk_card_again(walker, work, spot, &is_finished))
        return true;
    if (is_finished) {
        walker->stand = (struct stand){.kind = STAND_DONE,
                                       .spot = *spot,
                                       .work = work,
                                       .name = work->title,
                                       .position = INDEX_NONE};
        return true;
    }
    if (fact->entered == 0 || fact->entered < job->resumed) {
        struct gate gate =
            gate_look_away(&job->conditions, work, spot_here(job, spot, walker->scratch),
                           walker->time, walker->scratch);
        if (walk_gate(walker, &gate, work, spot) || walk_away_supplies(walker, work, spot))
            return true;
    }
    bool is_shown = fact->entered != 0 && fact->entered > job->resumed;
    walker->stand = (struct stand){.kind = is_shown ? STAND_ASK : STAND_ENTER,
                                   .prompt = PROMPT_ACTION,
                                   .entering = ENTERED_NORMAL,
                                   .spot = *spot,
                                   .work = work,
                                   .name = work->title,
                                   .position = INDEX_NONE};
    return true;
}

/* NOLINTNEXTLINE(misc-no-recursion): through walk_work */
static bool walk_section(struct walker *walker, const struct work *work, struct spot spot,
                         unsigned depth)
{
    if (!work->is_away)
        return walk_children(walker, work, spot, depth);
    if (walk_into_away(walker, work, &spot))
        return true;
    bool was_late = walker->is_late;
    unsigned card_before = walker->card;
    walker->is_late = true;
    walker->card = fact_at(walker->job, &spot)->entered;
    bool stops = walk_children(walker, work, spot, depth);
    walker->is_late = was_late;
    walker->card = card_before;
    return stops;
}

/* NOLINTNEXTLINE(misc-no-recursion): through walk_work */
static bool walk_round(struct walker *walker, const struct work *work, struct spot spot,
                       unsigned depth)
{
    bool is_wanted = true;
    if (work->when != NULL && work->when_each_round &&
        decide_truth(walker, work, &spot, TEXT("when"), work->when, &is_wanted))
        return true;
    if (!is_wanted)
        return false;
    switch (work->kind) {
    case WORK_STEP:
        return walk_step(walker, work, &spot, ENTERED_NORMAL);
    case WORK_EITHER:
        return walk_either(walker, work, spot, depth);
    case WORK_REPEAT:
        return walk_repeat(walker, work, spot, depth);
    case WORK_SECTION:
    case WORK_FOLLOW:
        return walk_section(walker, work, spot, depth);
    }
    return false;
}

/* NOLINTNEXTLINE(misc-no-recursion): through walk_work */
static bool walk_loop(struct walker *walker, const struct work *work, struct spot spot,
                      unsigned depth)
{
    unsigned long long positions;
    if (decide_subset(walker, work, &spot, &positions))
        return true;
    const struct labels *labels = &walker->job->fitted->indexes[work->loop.index];
    for (size_t i = 0; i < labels->count; i++) {
        bool by_firing = work->loop.in_firing_order && labels->firing != NULL;
        unsigned position = by_firing ? labels->firing[i] : (unsigned)i;
        assert(position < POSITIONS_MAX);
        if ((positions >> position & 1ULL) == 0)
            continue;
        spot.turns[work->loop_depth - 1] = (unsigned short)position;
        if (walk_round(walker, work, spot, depth))
            return true;
    }
    return false;
}

/* NOLINTNEXTLINE(misc-no-recursion): WALK_DEPTH_MAX deep */
static bool walk_work(struct walker *walker, const struct work *work, struct spot spot,
                      unsigned depth)
{
    assert(depth < WALK_DEPTH_MAX);
    spot.work = work->id;
    bool is_wanted = true;
    if (work->when != NULL && !work->when_each_round &&
        decide_truth(walker, work, &spot, TEXT("when"), work->when, &is_wanted))
        return true;
    if (!is_wanted)
        return false;
    if (work_is_each(work))
        return walk_loop(walker, work, spot, depth);
    return walk_round(walker, work, spot, depth);
}

/* --- before and beside the work --------------------------------------------------------------------- */

static bool ask(struct walker *walker, struct stand stand)
{
    walker->stand = stand;
    return true;
}

static bool ask_simply(struct walker *walker, enum prompt_kind prompt)
{
    return ask(walker, (struct stand){.prompt = prompt, .position = INDEX_NONE});
}

/* An implausible value is asked about before anything else is asked in its place. */
bool ask_field(struct walker *walker, const struct stand *asked)
{
    const struct job *job = walker->job;
    struct spot spot = asked->spot;
    const struct fact *fact = fact_at(job, &spot);
    struct sought sought = {.kind = EVENT_ANSWERED,
                            .detail = ANSWERED_INSIST,
                            .name = asked->name,
                            .position = asked->position,
                            .repeat = asked->repeat,
                            .after = fact->since};
    const struct event *tried = fact_find(job, fact, &sought);
    walker->stand = *asked;
    walker->stand.kind = STAND_ASK;
    if (tried == NULL || measures_again(tried))
        return true;
    walker->stand.tried = tried;
    walker->stand.prompt = insists(tried) ? PROMPT_REASON : PROMPT_INSIST;
    return true;
}

static bool walk_manual_values(struct walker *walker)
{
    const struct job *job = walker->job;
    for (size_t i = 0; i < job->procedure->want_count; i++) {
        const struct machine_want *want = &job->procedure->wants[i];
        if (job->fitted->values[i].is_given || job->want_event[i] != 0)
            continue;
        struct stand asked = {.prompt = PROMPT_MANUAL_VALUE,
                              .answered = ANSWERED_MANUAL_VALUE,
                              .item = (unsigned)i,
                              .position = INDEX_NONE,
                              .repeat = 1,
                              .repeats = 1,
                              .field = &want->field,
                              .name = want->name};
        struct spot opening = spot_opening();
        struct sought sought = {.kind = EVENT_ANSWERED,
                                .detail = ANSWERED_MANUAL_VALUE,
                                .name = want->name,
                                .position = INDEX_NONE};
        const struct event *value = fact_find(job, fact_at(job, &opening), &sought);
        if (value == NULL)
            return ask_field(walker, &asked);
        asked.prompt = PROMPT_SOURCE;
        asked.tried = value;
        return ask(walker, asked);
    }
    return false;
}

static bool walk_inputs(struct walker *walker)
{
    const struct job *job = walker->job;
    for (size_t i = 0; i < job->procedure->input_count; i++) {
        if (job->input_event[i] != 0)
            continue;
        const struct input *input = &job->procedure->inputs[i];
        struct stand asked = {.prompt = PROMPT_INPUT,
                              .answered = ANSWERED_INPUT,
                              .item = (unsigned)i,
                              .position = INDEX_NONE,
                              .repeat = 1,
                              .repeats = 1,
                              .field = &input->field,
                              .name = input->name};
        return ask_field(walker, &asked);
    }
    return false;
}

static bool ask_condition(struct walker *walker, size_t condition, size_t at)
{
    const struct condition *about = walker->job->procedure->conditions[condition];
    return ask(walker,
               (struct stand){.prompt = PROMPT_CONDITION,
                              .answered = ANSWERED_GATE,
                              .item = about->id,
                              .position = about->index == INDEX_NONE ? INDEX_NONE : (int)at,
                              .name = about->name});
}

static bool walk_at_start(struct walker *walker)
{
    const struct job *job = walker->job;
    for (size_t i = 0; i < job->procedure->condition_count; i++) {
        for (size_t at = 0; at < job->conditions.count[i]; at++) {
            if (job->procedure->conditions[i]->asked_at_start &&
                job->answered[job->conditions.first[i] + at] == 0)
                return ask_condition(walker, i, at);
        }
    }
    return false;
}

static bool walk_asked_again(struct walker *walker)
{
    size_t condition, at;
    return find_asked_again(walker->job, &condition, &at) &&
           ask_condition(walker, condition, at);
}

static bool walk_broken(struct walker *walker)
{
    struct gate_item broken;
    if (!condition_broken(&walker->job->conditions, &broken))
        return false;
    struct gate_item *item = arena_array(walker->scratch, struct gate_item, 1);
    *item = broken;
    walker->stand = (struct stand){.gate = {GATE_SHUT, item, 1}};
    struct spot opening = spot_opening();
    stand_shut(walker, SHUT_BROKEN, NULL, &opening);
    return true;
}

/* A step is done, and what it sets was found not to be so: the person is told at once. */
static bool walk_denied(struct walker *walker)
{
    const struct job *job = walker->job;
    struct gate_item *items =
        arena_array(walker->scratch, struct gate_item, job->conditions.standing_count);
    size_t count = 0;
    for (size_t i = 0; job->denial != 0 && i < job->procedure->condition_count; i++) {
        bool has_positions = job->procedure->conditions[i]->index != INDEX_NONE;
        for (size_t at = 0; at < job->conditions.count[i]; at++) {
            if (job->denied[job->conditions.first[i] + at] == job->denial)
                items[count++] =
                    (struct gate_item){.reason = GATE_MISSING,
                                       .condition = (unsigned)i,
                                       .position = has_positions ? (int)at : INDEX_NONE};
        }
    }
    if (count == 0)
        return false;
    const struct event *done = job_event(job, job->denial);
    walker->stand = (struct stand){.gate = {GATE_SHUT, items, count}};
    stand_shut(walker, SHUT_DENIED, job->procedure->works[done->spot.work], &done->spot);
    return true;
}

/* --- make safe ------------------------------------------------------------------------------------------ */

static bool walk_makesafe(struct walker *walker, struct instant now)
{
    const struct job *job = walker->job;
    if (job->makesafe_step != 0)
        return walk_step(walker, job->procedure->works[job->makesafe.work], &job->makesafe,
                         ENTERED_MAKESAFE);
    if (job->doubted != 0) {
        const struct spot *spot = &job_event(job, job->doubted)->spot;
        return ask_how_far(walker, job->procedure->works[spot->work], spot);
    }
    struct makesafe found = job_makesafe(job, now, walker->scratch);
    struct spot opening = spot_opening();
    walker->stand = (struct stand){0};
    if (!found.is_found || found.move_count == 0) {
        stand_shut(walker, found.is_found ? SHUT_SAFE : SHUT_NO_ORDER, NULL, &opening);
        return true;
    }
    const struct work *step = found.moves[0].step;
    walker->stand = (struct stand){.kind = STAND_DECIDE,
                                   .spot = spot_for(job, step, found.moves[0].here),
                                   .work = step,
                                   .decided = TEXT("makesafe"),
                                   .truth = true,
                                   .position = INDEX_NONE};
    return true;
}

/* --- the whole --------------------------------------------------------------------------------------------- */

static bool walk_interruptions(struct walker *walker, struct instant now, bool looks_at_clock)
{
    const struct job *job = walker->job;
    if (job->ended != 0)
        return ask_simply(walker, PROMPT_ENDED);
    if (job->paused != 0)
        return ask_simply(walker, job->cue == 0 ? PROMPT_CUE : PROMPT_ENDED);
    bool jumped = looks_at_clock && job->event_count > 0 && clock_jumped(job->last, now);
    if (job->is_clock_in_doubt || jumped)
        return ask_simply(walker, PROMPT_CLOCK);
    if (job->cue_asked != 0)
        return ask_simply(walker, PROMPT_CUE);
    bool is_mending = job->redo_since != 0 || job->again_since != 0 || job->makesafe_since != 0;
    if (!is_mending && walk_broken(walker))
        return true; /* at the first denial that breaks something, not after the last question */
    if (walk_asked_again(walker))
        return true;
    if (job->amended != 0)
        return ask_simply(walker, PROMPT_AMEND);
    return false;
}

/* Before anything is shown of what the readings say. */
static bool walk_claims(struct walker *walker)
{
    const struct procedure *procedure = walker->job->procedure;
    for (size_t i = 0; i < procedure->trial_count; i++)
        if (trial_wants_claim(walker->job, procedure->trials[i], walker->scratch))
            return ask(walker, (struct stand){.prompt = PROMPT_CLAIM,
                                              .item = (unsigned)i,
                                              .position = INDEX_NONE,
                                              .name = procedure->trials[i]->name});
    return false;
}

static bool walk_end(struct walker *walker, struct instant now)
{
    const struct text *items;
    walker->stand = (struct stand){.kind = STAND_FINISH, .position = INDEX_NONE};
    if (job_open_items(walker->job, now, &items, walker->scratch) == 0)
        return true;
    struct spot opening = spot_opening();
    stand_shut(walker, SHUT_OPEN_END, NULL, &opening);
    return true;
}

struct stand job_stand(const struct job *job, struct instant now, bool looks_at_clock,
                       struct arena *scratch)
{
    struct walker walker = {.job = job, .time = job_time(job, now), .scratch = scratch};
    if (walk_interruptions(&walker, now, looks_at_clock))
        return walker.stand;
    bool stops;
    if (job->redo_since != 0)
        stops =
            walk_step(&walker, job->procedure->works[job->redo.work], &job->redo, ENTERED_REDO);
    else if (job->again_since != 0)
        stops = walk_again(&walker);
    else if (job->makesafe_since != 0)
        stops = walk_makesafe(&walker, now);
    else
        stops = walk_manual_values(&walker) || walk_inputs(&walker) || walk_at_start(&walker) ||
                walk_denied(&walker) ||
                walk_work(&walker, job->procedure->works[0], spot_opening(), 0) ||
                walk_claims(&walker) || walk_end(&walker, now);
    assert(stops);
    (void)stops;
    return walker.stand;
}

/*
 * The card of an away section, once it was shown.
 *
 * The hands go in and nothing is written down until they are free again.  So from the moment the card
 * is shown every step on it has perhaps begun: what it takes out, sets or undoes is perhaps so, until
 * its own answers say how it went.
 */
#include "job_state.h"

/* --- the steps on a card --------------------------------------------------------------------------- */

static bool stands_in(const struct work *work, const struct work *section)
{
    while (work != NULL && work != section)
        work = work->parent;
    return work != NULL;
}

/* The loops round the section stand where its card was shown. */
static bool is_in_same_turn(const struct work *section, const struct spot *card,
                            const struct spot *spot)
{
    for (unsigned i = 0; i < section->loop_depth; i++) {
        if (card->turns[i] != spot->turns[i])
            return false;
    }
    return true;
}

static bool is_passed_over(const struct job *job, const struct spot *spot)
{
    struct sought sought = {
        .kind = EVENT_DECIDED, .name = TEXT("optional"), .position = INDEX_NONE};
    const struct event *decided = fact_find(job, fact_at(job, spot), &sought);
    return decided != NULL && decided->detail == 0;
}

struct card_walk {
    struct job *job;
    const struct work *section;
    struct spot card;
    void (*visit)(struct job *job, const struct work *work, const struct spot *spot,
                  const int *here);
};

static void visit_places(const struct card_walk *walk, const struct work *work)
{
    struct job *job = walk->job;
    size_t places = work_place_count(job, work);
    for (size_t place = 0; place < places; place++) {
        const int *here = work_place(job, work, place, job->arena);
        struct spot spot = {.work = work->id};
        for (const struct work *around = work; around != NULL; around = around->parent) {
            if (work_is_each(around))
                spot.turns[around->loop_depth - 1] = (unsigned short)here[around->loop.index];
            else if (around->kind == WORK_REPEAT)
                spot.turns[around->loop_depth - 1] = walk->card.turns[around->loop_depth - 1];
        }
        if (!is_in_same_turn(walk->section, &walk->card, &spot) ||
            fact_at(job, &spot)->done != 0 || is_passed_over(job, &spot) ||
            place_is_left_out(job, work, &spot, job_time(job, job->last), job->arena) ||
            work_is_on_another_branch(job, work, &spot, job_time(job, job->last), job->arena))
            continue;
        walk->visit(job, work, &spot, here);
    }
}

static void visit_card(const struct card_walk *walk)
{
    struct arena_mark mark = arena_mark(walk->job->arena);
    const struct procedure *procedure = walk->job->procedure;
    for (unsigned id = walk->section->id + 1; id < procedure->work_count; id++) {
        const struct work *work = procedure->works[id];
        if (!stands_in(work, walk->section))
            break;
        if (work->kind == WORK_STEP)
            visit_places(walk, work);
    }
    arena_rewind(walk->job->arena, mark);
}

/* --- what is perhaps so ----------------------------------------------------------------------------- */

static void doubt(struct job *job, const struct work *work, const struct spot *spot,
                  const int *here)
{
    (void)spot;
    condition_step_entered(&job->conditions, work->step, here);
    ledger_entered(job, work->step, here);
}

void doubts_begin(struct job *job)
{
    for (size_t i = 0; i < job->conditions.standing_count; i++)
        job->was_perhaps[i] = job->conditions.standings[i].is_perhaps;
    for (size_t i = 0; i < job->part_cell_count; i++)
        job->part_was_perhaps[i] = job->parts[i].is_perhaps;
}

void doubts_end(struct job *job)
{
    for (size_t i = 0; i < job->conditions.standing_count; i++) {
        if (job->taken[i].is_perhaps && !job->was_perhaps[i]) {
            job->conditions.standings[i] = job->taken[i];
            job->taken[i].is_perhaps = false;
        }
        job->conditions.standings[i].is_perhaps =
            job->conditions.standings[i].is_perhaps && job->was_perhaps[i];
    }
    for (size_t i = 0; i < job->part_cell_count; i++)
        job->parts[i].is_perhaps = job->parts[i].is_perhaps && job->part_was_perhaps[i];
}

static void forget_doubts(struct job *job)
{
    for (size_t i = 0; i < job->conditions.standing_count; i++)
        job->conditions.standings[i].is_perhaps = job->was_perhaps[i];
    for (size_t i = 0; i < job->part_cell_count; i++)
        job->parts[i].is_perhaps = job->part_was_perhaps[i];
}

static struct card_walk card_walk_of(struct job *job)
{
    struct spot card = job_event(job, job->card)->spot;
    return (struct card_walk){job, job->procedure->works[card.work], card, doubt};
}

void card_shown(struct job *job, const struct event *event)
{
    /* shown again after a stop: the doubts of the first time stand, and are no older ones */
    bool is_again =
        job->card != 0 && spot_equal(&job_event(job, job->card)->spot, &event->spot);
    if (!is_again)
        doubts_begin(job);
    job->card = event->number;
    struct card_walk walk = card_walk_of(job);
    visit_card(&walk);
}

void card_not_begun(struct job *job, const struct event *event)
{
    if (job->card == 0 || !spot_equal(&job_event(job, job->card)->spot, &event->spot))
        return;
    doubts_end(job);
    job->card = 0;
}

bool card_has_perhaps_begun(const struct job *job, const struct work *work)
{
    return job->card != 0 &&
           stands_in(work, job->procedure->works[job_event(job, job->card)->spot.work]);
}

/* Two steps of a card may touch the same thing: what one has settled, the next has perhaps changed. */
void card_goes_on(struct job *job, const struct event *event)
{
    if (job->card == 0)
        return;
    struct card_walk walk = card_walk_of(job);
    const struct work *work = job->procedure->works[event->spot.work];
    if (work->kind != WORK_STEP)
        return;
    if (!stands_in(work, walk.section)) {
        job->card = 0;
        return;
    }
    for (size_t i = 0; i < job->conditions.standing_count; i++)
        job->was_perhaps[i] = job->was_perhaps[i] && job->conditions.standings[i].is_perhaps;
    for (size_t i = 0; i < job->part_cell_count; i++)
        job->part_was_perhaps[i] = job->part_was_perhaps[i] && job->parts[i].is_perhaps;
    forget_doubts(job);
    visit_card(&walk);
}

/* --- taken up again --------------------------------------------------------------------------------- */

const struct event *card_answer(const struct job *job, const struct spot *spot)
{
    struct sought sought = {.kind = EVENT_ANSWERED,
                            .detail = ANSWERED_ONCE,
                            .position = INDEX_NONE,
                            .after = job->resumed};
    return fact_find(job, fact_at(job, spot), &sought);
}

bool card_step_is_finished(const struct job *job, const struct spot *spot)
{
    const struct work *work = job->procedure->works[spot->work];
    if (work->step == NULL || !work->step->is_once)
        return false;
    struct sought sought = {
        .kind = EVENT_ANSWERED, .detail = ANSWERED_ONCE, .position = INDEX_NONE};
    const struct event *answer = fact_find(job, fact_at(job, spot), &sought);
    return answer != NULL && text_equal(answer->meaning, once_choices.texts[ONCE_FINISHED]);
}

/* What only looks or measures may be done again without a question. */
static bool leaves_a_trace(const struct step *step)
{
    return step->is_once || step->sets_count + step->clears_count > 0 ||
           step->removes_count + step->refits_count + step->starts_count + step->consume_count >
               0;
}

bool card_asks_how_far(const struct job *job, const struct work *section)
{
    for (unsigned id = section->id + 1; id < job->procedure->work_count; id++) {
        const struct work *work = job->procedure->works[id];
        if (!stands_in(work, section))
            break;
        if (work->step != NULL && leaves_a_trace(work->step))
            return true;
    }
    return false;
}

/* A step on the card that is never done twice, and of which nobody has said yet how far it got. */
bool card_asks_once(const struct job *job, const struct work *section, const struct spot *card,
                    struct spot *spot, struct arena *scratch)
{
    for (unsigned id = section->id + 1; id < job->procedure->work_count; id++) {
        const struct work *work = job->procedure->works[id];
        if (!stands_in(work, section))
            break;
        size_t places =
            work->step != NULL && work->step->is_once ? work_place_count(job, work) : 0;
        for (size_t place = 0; place < places; place++) {
            *spot = spot_for(job, work, work_place(job, work, place, scratch));
            if (is_in_same_turn(section, card, spot) && fact_at(job, spot)->done == 0 &&
                card_answer(job, spot) == NULL && !card_step_is_finished(job, spot) &&
                !place_is_left_out(job, work, spot, job_time(job, job->last), scratch) &&
                !work_is_on_another_branch(job, work, spot, job_time(job, job->last), scratch))
                return true;
        }
    }
    return false;
}

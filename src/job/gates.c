#include "job/say.h"
#include "job_state.h"

#include <assert.h>

/* --- what can be done at a shut gate ----------------------------------------------------------- */

void add_option(struct walker *walker, enum option_kind kind, struct text words)
{
    struct stand *stand = &walker->stand;
    for (size_t i = 0; i < stand->option_count; i++) {
        if (text_equal(stand->options[i].words, words))
            return;
    }
    if (stand->option_count < OPTIONS_MAX)
        stand->options[stand->option_count++] = (struct option){.kind = kind, .words = words};
}

static bool sets_it(const struct job *job, const struct work *work, const struct spot *spot,
                    unsigned condition, int position, struct arena *scratch)
{
    const int *here = spot_here(job, spot, scratch);
    for (size_t i = 0; i < work->step->sets_count; i++) {
        const struct condition_use *use = &work->step->sets[i];
        int index = job->procedure->conditions[use->condition]->index;
        if (use->condition == condition &&
            (!use->is_here || place_here(index, here) == position))
            return true;
    }
    return false;
}

/* It is not done twice what must not be, and what the ledger counts is not done again. */
static bool can_be_redone(struct walker *walker, const struct work *work,
                          const struct spot *spot)
{
    const struct step *step = work->step;
    if (step->is_once || step->removes_count > 0 || step->refits_count > 0)
        return false;
    const int *here = spot_here(walker->job, spot, walker->scratch);
    struct gate gate =
        gate_look(&walker->job->conditions, step, here, walker->time, walker->scratch);
    return gate.verdict != GATE_SHUT;
}

bool find_redo(struct walker *walker, unsigned condition, int position, struct spot *spot)
{
    const struct job *job = walker->job;
    unsigned newest = 0;
    for (size_t i = 0; i < job->fact_capacity; i++) {
        const struct fact *fact = &job->facts[i];
        unsigned number = fact->done != 0 ? fact->done : fact->skipped;
        if (fact->newest == 0 || number <= newest)
            continue;
        const struct work *work = job->procedure->works[fact->spot.work];
        if (work->kind != WORK_STEP ||
            !sets_it(job, work, &fact->spot, condition, position, walker->scratch) ||
            !can_be_redone(walker, work, &fact->spot))
            continue;
        newest = number;
        *spot = fact->spot;
    }
    return newest != 0;
}

enum { ACTION_COLUMNS = 50 }; /* of an action that is only named */

static void add_redo(struct walker *walker, unsigned condition, int position)
{
    struct spot spot;
    if (walker->stand.option_count >= OPTIONS_MAX - 4 ||
        !find_redo(walker, condition, position, &spot))
        return;
    const struct job *job = walker->job;
    const struct work *work = job->procedure->works[spot.work];
    struct text place = job_spot_name(job, &spot, walker->scratch);
    struct text action = job_fill(job, &work->step->action, &spot, walker->scratch);
    struct text words = text_fill(walker->scratch, "do step {} again{}{}: {}",
                                  text_number(walker->scratch, job_step_number(job, work)),
                                  place.length > 0 ? TEXT(", ") : TEXT(""), place,
                                  say_short(walker->scratch, action, ACTION_COLUMNS));
    size_t before = walker->stand.option_count;
    add_option(walker, OPTION_REDO, words);
    if (walker->stand.option_count > before)
        walker->stand.options[before].spot = spot;
}

static bool is_seen_through(const struct job *job, const struct work *work)
{
    return work->step->is_once || work->step->removes_count + work->step->refits_count > 0 ||
           job->makesafe_since != 0;
}

/* The way to the gate, if it is longer than one step; a step that was denied comes at its end.  False if
 * there is none, or if what is missing is set by one step. */
static bool add_way(struct walker *walker)
{
    const struct job *job = walker->job;
    struct stand *stand = &walker->stand;
    bool is_denied = stand->shut == SHUT_DENIED;
    if (stand->work == NULL || job->makesafe_since != 0 ||
        (stand->shut != SHUT_GATE && !is_denied) ||
        (is_denied && is_seen_through(job, stand->work)))
        return false;
    struct makesafe way =
        job_way(job, stand->work, &stand->spot, walker->time, walker->scratch);
    bool is_to_be_redone = stand->work->step != NULL && fact_at(job, &stand->spot)->done != 0;
    if (!way.is_found || way.move_count + (is_to_be_redone ? 1 : 0) < 2)
        return false;
    struct spot goal = stand->spot;
    struct way_said said =
        way_words(job, &way, is_to_be_redone ? stand->work : NULL, walker->scratch);
    stand->options[stand->option_count++] =
        (struct option){.kind = OPTION_AGAIN, .spot = goal, .words = said.choice};
    stand->way = said.lines;
    return true;
}

void stand_shut(struct walker *walker, enum shut shut, const struct work *work,
                const struct spot *spot)
{
    walker->stand.kind = STAND_ASK;
    walker->stand.prompt = PROMPT_SHUT;
    walker->stand.shut = shut;
    walker->stand.work = work;
    walker->stand.spot = *spot;
    walker->stand.position = INDEX_NONE;
    walker->stand.is_late = walker->is_late;
    if (work != NULL && work->step != NULL)
        walker->stand.name = work->step->name;
    const struct gate *gate = &walker->stand.gate;
    bool has_way = add_way(walker);
    for (size_t i = 0; i < gate->item_count && !has_way; i++) {
        const struct gate_item *item = &gate->items[i];
        if (item->reason == GATE_MISSING)
            add_redo(walker, item->condition, item->position);
        else if (item->reason == GATE_BREAKS)
            add_redo(walker, item->required, item->position);
    }
    if (walker->job->redo_since != 0)
        add_option(walker, OPTION_LEAVE_REDO, TEXT("leave it and go back"));
    if (shut == SHUT_DENIED)
        add_option(walker, OPTION_GO_WITHOUT, TEXT("go on without it"));
    if (shut == SHUT_SAFE)
        add_option(walker, OPTION_GO_ON, TEXT("go on with the work"));
    else if (shut == SHUT_NO_ORDER)
        add_option(walker, OPTION_GO_ON, TEXT("go back to the step"));
    else
        add_option(walker, OPTION_MAKESAFE, TEXT("make safe"));
    add_option(walker, OPTION_PAUSE, TEXT("pause"));
    if (shut == SHUT_OPEN_END || shut == SHUT_SAFE || shut == SHUT_NO_ORDER)
        add_option(walker, OPTION_END, TEXT("end the job and leave it open"));
}

/* --- gates ---------------------------------------------------------------------------------------- */

/* True if the work stops at this gate. */
bool walk_gate(struct walker *walker, const struct gate *gate, const struct work *work,
               const struct spot *spot)
{
    const struct gate_item *first;
    switch (gate->verdict) {
    case GATE_OPEN:
        return false;
    case GATE_ASK:
        first = &gate->items[0];
        walker->stand = (struct stand){
            .kind = STAND_ASK,
            .prompt = PROMPT_CONDITION,
            .spot = *spot,
            .work = work,
            .answered = ANSWERED_GATE,
            .item = first->condition,
            .position = first->position,
            .name = walker->job->procedure->conditions[first->condition]->name,
        };
        return true;
    case GATE_SHUT:
        walker->stand = (struct stand){.gate = *gate};
        stand_shut(walker, SHUT_GATE, work, spot);
        return true;
    }
    return false;
}

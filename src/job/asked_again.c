/*
 * What is asked again when a job is taken up, and in which order.
 *
 * A question can send a person to where something else should protect them: to shake a vehicle, to
 * climb into it, to lay a hand on what may move.  So first comes what makes the rest dangerous, then what
 * is asked at gates and was needed for what is still out, then what others require, then what requires
 * something itself, then the rest; and of these nothing before what the step that sets it needs.  The
 * order follows from the files alone: requires, forbids, and the needs of the steps that set.
 */
#include "job_state.h"

static bool uses(const struct condition_use *list, size_t count, size_t condition)
{
    for (size_t i = 0; i < count; i++) {
        if (list[i].condition == condition)
            return true;
    }
    return false;
}

static bool is_gate_question(const struct condition *condition)
{
    return condition->lapses && condition->lapses_after <= 0;
}

static bool holds_anywhere(const struct job *job, size_t condition)
{
    for (unsigned at = 0; at < job->conditions.count[condition]; at++) {
        if (condition_may_hold(&job->conditions, (unsigned)condition, (int)at))
            return true;
    }
    return false;
}

/* Was it done or begun, so that what it sets may be its work? */
static bool was_begun(const struct job *job, const struct work *work)
{
    for (size_t i = 0; i < job->fact_capacity; i++) {
        const struct fact *fact = &job->facts[i];
        if (fact->newest != 0 && fact->spot.work == work->id && fact->entered != 0)
            return true;
    }
    return false;
}

/* --- what is asked ------------------------------------------------------------------------------------ */

/* Something is still raised or running, and the step that did it needed this. */
static bool is_needed_for_what_is_out(const struct job *job, size_t asked)
{
    const struct procedure *procedure = job->procedure;
    for (size_t i = 0; i < procedure->work_count; i++) {
        const struct step *step = procedure->works[i]->step;
        if (step == NULL || !uses(step->needs, step->needs_count, asked) ||
            !was_begun(job, procedure->works[i]))
            continue;
        for (size_t k = 0; k < step->sets_count; k++) {
            unsigned set = step->sets[k].condition;
            if (procedure->conditions[set]->restore.length > 0 && holds_anywhere(job, set))
                return true;
        }
    }
    return false;
}

/* The steps that set it, as far as they were begun, are all forbidden now: what shows it is where
 * nobody goes, as into the cab of what stands on stands. */
static bool is_out_of_reach(const struct job *job, size_t condition)
{
    bool is_set = false;
    for (size_t i = 0; i < job->procedure->work_count; i++) {
        const struct work *work = job->procedure->works[i];
        if (work->step == NULL || !uses(work->step->sets, work->step->sets_count, condition) ||
            !was_begun(job, work))
            continue;
        bool is_forbidden = false;
        for (size_t k = 0; k < work->step->forbids_count; k++) {
            unsigned forbidden = work->step->forbids[k].condition;
            is_forbidden =
                is_forbidden || (forbidden != condition && holds_anywhere(job, forbidden));
        }
        if (!is_forbidden)
            return false;
        is_set = true;
    }
    return is_set;
}

/* What lapses has lapsed by the stop, so the gate that needs it asks, and until then it is not counted
 * on; only that may wait until it can be looked at. */
static bool is_asked_now(const struct job *job, size_t id, size_t at)
{
    const struct condition *condition = job->procedure->conditions[id];
    size_t standing = job->conditions.first[id] + at;
    return condition->has_question && !is_gate_question(condition) &&
           job->conditions.standings[standing].is_true &&
           !(condition->lapses && is_out_of_reach(job, id));
}

static bool is_asked_anywhere(const struct job *job, size_t id)
{
    for (size_t at = 0; at < job->conditions.count[id]; at++) {
        if (is_asked_now(job, id, at))
            return true;
    }
    return false;
}

/* Does a step that shows one of the questions to come need it, or one whose work still stands and rests on
 * what such a question is about?  Else it protects only in the work, and the gates of the work ask it:
 * gloves are not put on to look at chocks. */
static bool protects_who_looks(const struct job *job, size_t gate_question)
{
    const struct procedure *procedure = job->procedure;
    for (size_t i = 0; i < procedure->work_count; i++) {
        const struct step *step = procedure->works[i]->step;
        if (step == NULL || !uses(step->needs, step->needs_count, gate_question) ||
            !was_begun(job, procedure->works[i]))
            continue;
        for (size_t k = 0; k < step->sets_count; k++) {
            unsigned set = step->sets[k].condition;
            const struct condition *condition = procedure->conditions[set];
            if (is_asked_anywhere(job, set))
                return true;
            for (size_t r = 0; holds_anywhere(job, set) && r < condition->requires_count; r++) {
                if (is_asked_anywhere(job, condition->requires[r]))
                    return true;
            }
        }
    }
    return false;
}

void ask_again_all(struct job *job)
{
    for (size_t i = 0; i < job->procedure->condition_count; i++) {
        const struct condition *condition = job->procedure->conditions[i];
        bool protects = is_gate_question(condition) && condition->has_question &&
                        is_needed_for_what_is_out(job, i) && protects_who_looks(job, i);
        for (size_t at = 0; at < job->conditions.count[i]; at++)
            job->must_ask[job->conditions.first[i] + at] = protects || is_asked_now(job, i, at);
    }
}

/* Asked since the job was taken up, and found not to be so. */
static bool was_denied(const struct job *job, size_t condition, unsigned at)
{
    size_t standing = job->conditions.first[condition] + at;
    return job->answered[standing] > job->taken_up &&
           !job->conditions.standings[standing].is_true;
}

/* What the step that sets it needs, and was just denied: nobody is sent there to look. */
static bool rests_on_denied(const struct job *job, size_t condition)
{
    for (size_t i = 0; i < job->procedure->work_count; i++) {
        const struct work *work = job->procedure->works[i];
        if (work->step == NULL || !uses(work->step->sets, work->step->sets_count, condition) ||
            !was_begun(job, work))
            continue;
        for (size_t k = 0; k < work->step->needs_count; k++) {
            unsigned need = work->step->needs[k].condition;
            for (unsigned at = 0; at < job->conditions.count[need]; at++) {
                if (was_denied(job, need, at))
                    return true;
            }
        }
    }
    return false;
}

/* What rests on something that was just denied is not asked: its question may send a person to where
 * that something should protect them.  It is asked when that holds again. */
static bool is_to_be_asked(const struct job *job, size_t id, size_t at)
{
    const struct condition *condition = job->procedure->conditions[id];
    size_t standing = job->conditions.first[id] + at;
    if (!job->must_ask[standing])
        return false;
    if (is_gate_question(condition)) /* the way to safety is not shut by it */
        return job->makesafe_since == 0 && is_needed_for_what_is_out(job, id);
    if (!job->conditions.standings[standing].is_true || rests_on_denied(job, id))
        return false;
    for (size_t i = 0; i < condition->requires_count; i++) {
        if (!condition_requirement_met(&job->conditions, (unsigned)id, (unsigned)at,
                                       condition->requires[i]))
            return false;
    }
    return true;
}

/* --- in which order ----------------------------------------------------------------------------------- */

/* By an activity: while it holds, it makes other work dangerous. */
static bool is_a_hazard(const struct job *job, size_t condition)
{
    const struct safety_library *safety = job->procedure->safety;
    for (size_t i = 0; i < safety->activity_count; i++) {
        const struct activity *activity = safety->activities[i];
        for (size_t k = 0; k < activity->forbids_count; k++) {
            if (activity->forbids[k] == condition)
                return true;
        }
    }
    return false;
}

static bool is_required_now(const struct job *job, size_t condition)
{
    for (size_t i = 0; i < job->procedure->condition_count; i++) {
        const struct condition *other = job->procedure->conditions[i];
        for (size_t k = 0; k < other->requires_count; k++) {
            if (other->requires[k] == condition && holds_anywhere(job, i))
                return true;
        }
    }
    return false;
}

enum rank { RANK_HAZARD, RANK_GATE, RANK_REQUIRED, RANK_REQUIRES, RANK_OTHER, RANK_NONE };

static enum rank rank_of(const struct job *job, size_t id)
{
    const struct condition *condition = job->procedure->conditions[id];
    if (is_gate_question(condition))
        return RANK_GATE;
    if (condition->restore.length > 0 && is_a_hazard(job, id))
        return RANK_HAZARD;
    if (is_required_now(job, id))
        return RANK_REQUIRED;
    return condition->requires_count > 0 ? RANK_REQUIRES : RANK_OTHER;
}

/* Does the step that sets one need the other, which is still to be asked? */
static bool waits_for(const struct job *job, size_t id, size_t other)
{
    bool is_pending = false;
    for (size_t at = 0; at < job->conditions.count[other]; at++)
        is_pending = is_pending || (other != id && is_to_be_asked(job, other, at));
    for (size_t i = 0; is_pending && i < job->procedure->work_count; i++) {
        const struct step *step = job->procedure->works[i]->step;
        if (step != NULL && uses(step->sets, step->sets_count, id) &&
            uses(step->needs, step->needs_count, other) &&
            was_begun(job, job->procedure->works[i]))
            return true;
    }
    return false;
}

static bool waits(const struct job *job, size_t id)
{
    for (size_t other = 0; other < job->procedure->condition_count; other++) {
        if (waits_for(job, id, other))
            return true;
    }
    return false;
}

bool find_asked_again(const struct job *job, size_t *condition, size_t *at)
{
    unsigned best = 2 * RANK_NONE;
    for (size_t id = 0; id < job->procedure->condition_count; id++) {
        size_t first = 0;
        while (first < job->conditions.count[id] && !is_to_be_asked(job, id, first))
            first++;
        if (first == job->conditions.count[id])
            continue;
        /* what waits comes after all that does not; if all wait for each other, by rank */
        unsigned rank = rank_of(job, id) + (waits(job, id) ? RANK_NONE : 0);
        if (rank >= best)
            continue;
        best = rank;
        *condition = id;
        *at = first;
    }
    return best < 2 * RANK_NONE;
}

bool job_asks_again(const struct job *job)
{
    size_t condition, at;
    return find_asked_again(job, &condition, &at);
}

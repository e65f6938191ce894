#include "safety/gate_finder.h"

/*
 * The gate of an away section.  Its steps are done without a look at the screen, so every one of
 * them must be allowed before the first begins.  They are gone through in thought, in order, and at
 * their worst: what may be passed over sets nothing and clears nothing for sure, and what it may
 * bring about counts against those after it.  A body that is repeated is gone through twice.
 */

/* What is known of a standing while an away section is gone through in thought. */
struct foresight {
    bool is_sure;  /* in force, whatever is passed over on the way */
    bool is_held;  /* true at least, perhaps lapsed: what `requires` wants */
    bool may_be;   /* true, owed or perhaps: what `forbids` looks at */
    bool is_asked; /* not in force now, and asking at the section's start can make it so */
};

struct section_walk {
    struct gate_finder finder;
    struct foresight *foresights; /* by standing */
    const int *here;
};

static struct foresight *foresight_at(const struct section_walk *walk, unsigned condition,
                                      unsigned at)
{
    return &walk->foresights[walk->finder.state->first[condition] + at];
}

/* A position fixed outside the section stays; one of a loop inside it stands for all of them. */
static struct standing_span foreseen(const struct section_walk *walk, struct condition_use use)
{
    int index = walk->finder.state->procedure->conditions[use.condition]->index;
    if (use.is_here && (walk->here == NULL || index == INDEX_NONE || walk->here[index] < 0))
        use.is_here = false;
    return standings_covered(walk->finder.state, use, walk->here);
}

static void foresee_gate(struct section_walk *walk, const struct step *step)
{
    const struct condition_state *state = walk->finder.state;
    for (size_t i = 0; i < step->needs_count; i++) {
        unsigned id = step->needs[i].condition;
        struct standing_span span = foreseen(walk, step->needs[i]);
        for (unsigned at = span.from; at < span.to; at++) {
            const struct foresight *foresight = foresight_at(walk, id, at);
            struct gate_item item = {GATE_MISSING, id, standing_position(state, id, at), 0};
            if (foresight->is_sure)
                continue;
            if (!foresight->is_asked) {
                gate_add_shut(&walk->finder, item);
                continue;
            }
            item.reason = GATE_LAPSED;
            gate_add_ask(&walk->finder, item);
        }
    }
    for (size_t i = 0; i < step->forbids_count; i++) {
        unsigned id = step->forbids[i].condition;
        struct standing_span span = foreseen(walk, step->forbids[i]);
        for (unsigned at = span.from; at < span.to; at++)
            if (foresight_at(walk, id, at)->may_be)
                gate_add_shut(&walk->finder,
                              (struct gate_item){GATE_FORBIDDEN, id,
                                                 standing_position(state, id, at), 0});
    }
}

static void foresee_void(struct section_walk *walk, unsigned id)
{
    const struct condition *condition = walk->finder.state->procedure->conditions[id];
    for (size_t i = 0; i < condition->voids_count; i++)
        for (unsigned at = 0; at < walk->finder.state->count[condition->voids[i]]; at++) {
            struct foresight *foresight = foresight_at(walk, condition->voids[i], at);
            foresight->is_sure = foresight->is_held = foresight->is_asked = false;
        }
}

/* is_certain: no way through the section passes the step over. */
static void foresee_effects(struct section_walk *walk, const struct step *step, bool is_certain)
{
    const struct condition_state *state = walk->finder.state;
    for (size_t i = 0; i < step->clears_count; i++) {
        struct standing_span span = foreseen(walk, step->clears[i]);
        for (unsigned at = span.from; at < span.to; at++) {
            struct foresight *foresight = foresight_at(walk, step->clears[i].condition, at);
            foresight->is_sure = foresight->is_held = foresight->is_asked = false;
            if (is_certain)
                foresight->may_be = false;
        }
    }
    for (size_t i = 0; i < step->sets_count; i++) {
        unsigned id = step->sets[i].condition;
        /* Its own question comes when the hands are free again, and may find it not to be so. */
        bool is_asked = state->procedure->conditions[id]->has_question;
        bool is_sure = is_certain && !is_asked;
        struct standing_span span = foreseen(walk, step->sets[i]);
        for (unsigned at = span.from; at < span.to; at++) {
            struct foresight *foresight = foresight_at(walk, id, at);
            foresight->may_be = true;
            foresight->is_sure = is_sure || (foresight->is_sure && !is_asked);
            foresight->is_held = is_sure || (foresight->is_held && !is_asked);
            foresight->is_asked = foresight->is_asked && !is_asked;
        }
        foresee_void(walk, id);
    }
}

/* The same positions that condition_requirement_met() looks at, at what is foreseen of them. */
static bool foresees_requirement(const struct section_walk *walk, unsigned id, unsigned at,
                                 unsigned required)
{
    const struct condition_state *state = walk->finder.state;
    int index = state->procedure->conditions[id]->index;
    bool is_by_position =
        index != INDEX_NONE && state->procedure->conditions[required]->index == index;
    unsigned from = is_by_position ? at : 0;
    unsigned to = is_by_position ? at + 1 : state->count[required];
    for (unsigned other = from; other < to; other++) {
        if (!foresight_at(walk, required, other)->is_held)
            return false;
    }
    return true;
}

static void foresee_requires(struct section_walk *walk)
{
    const struct condition_state *state = walk->finder.state;
    for (unsigned id = 0; id < state->procedure->condition_count; id++) {
        const struct condition *condition = state->procedure->conditions[id];
        for (unsigned at = 0; condition->requires_count > 0 && at < state->count[id]; at++) {
            if (!foresight_at(walk, id, at)->may_be)
                continue;
            for (size_t i = 0; i < condition->requires_count; i++) {
                unsigned required = condition->requires[i];
                if (!foresees_requirement(walk, id, at, required))
                    gate_add_shut(&walk->finder,
                                  (struct gate_item){GATE_BREAKS, id,
                                                     standing_position(state, id, at),
                                                     required});
            }
        }
    }
}

static bool may_be_passed_over(const struct work *work)
{
    return work->when != NULL || (work->step != NULL && work->step->is_optional) ||
           (work->parent != NULL && work->parent->kind == WORK_EITHER) ||
           ((work->kind == WORK_STEP || work->kind == WORK_SECTION) &&
            work->loop.index != INDEX_NONE && work->loop.subset != LOOP_ALL);
}

// NOLINTNEXTLINE(misc-no-recursion): as deep as the sections of a file, which the loader bounds
static void foresee(struct section_walk *walk, const struct work *work, bool is_certain)
{
    is_certain = is_certain && !may_be_passed_over(work);
    bool is_repeated = work->kind == WORK_REPEAT || work->loop.index != INDEX_NONE;
    for (int round = 0; round < (is_repeated ? 2 : 1); round++) {
        if (work->step != NULL) {
            foresee_gate(walk, work->step);
            foresee_effects(walk, work->step, is_certain);
            foresee_requires(walk);
        }
        for (size_t i = 0; i < work->child_count; i++)
            foresee(walk, work->children[i], is_certain);
    }
}

struct gate gate_look_away(const struct condition_state *state, const struct work *section,
                           const int *here, long long now, struct arena *scratch)
{
    struct section_walk walk = {.finder = gate_finder_begin(state, now, scratch), .here = here};
    walk.foresights = arena_array(scratch, struct foresight, state->standing_count);
    for (unsigned id = 0; id < state->procedure->condition_count; id++)
        for (unsigned at = 0; at < state->count[id]; at++) {
            int position = standing_position(state, id, at);
            const struct standing *standing = condition_at(state, id, position);
            bool can_be_asked = !standing->is_perhaps &&
                                (standing->is_true ||
                                 condition_is_asked_at_gates(state->procedure->conditions[id]));
            *foresight_at(&walk, id, at) = (struct foresight){
                .is_sure = condition_in_force(state, id, position, now),
                .is_held = standing->is_true,
                .may_be = condition_may_hold(state, id, position),
                .is_asked = can_be_asked,
            };
        }
    for (size_t i = 0; i < section->child_count; i++)
        foresee(&walk, section->children[i], true);
    return gate_finder_verdict(&walk.finder);
}

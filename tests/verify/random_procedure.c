#include "verify/random_procedure.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

const char random_procedure_machine[] = "machine: two_pot\n"
                                        "title: Two pot\n"
                                        "positions:\n"
                                        "  cylinder: [1, 2]\n"
                                        "firing_order: [1, 2]\n";

/* Sebastiano Vigna's splitmix64, public domain: prng.di.unimi.it/splitmix64.c */
unsigned long long dice_roll(struct dice *dice)
{
    unsigned long long z = dice->state += 0x9e3779b97f4a7c15U;
    z = (z ^ (z >> 30)) * 0xbf58476d1ce4e5b9U;
    z = (z ^ (z >> 27)) * 0x94d049bb133111ebU;
    return z ^ (z >> 31);
}

unsigned dice_below(struct dice *dice, unsigned limit)
{
    return (unsigned)(dice_roll(dice) % limit);
}

bool dice_chance(struct dice *dice, unsigned percent)
{
    return dice_below(dice, 100) < percent;
}

/* --- what there is to say ----------------------------------------------------------------- */

enum { CONDITIONS_MAX = 6, CHILDREN_MAX = 24, NODES_MAX = 120, NONE = -1 };

static const char *const condition_names[CONDITIONS_MAX] = {"latched", "propped",  "wedged",
                                                            "drained", "uncapped", "tilted"};

/* Later pairs are opposites: the number with its last bit turned is the other side. */
static const char *const whens[] = {
    "kind == \"left\"",
    "kind != \"left\"",
    "load < 5 kg",
    "load >= 5 kg",
    "level < 2 L",
    "not level < 2 L",
    "look == \"dry\"",
    "look != \"dry\"",
    "any(wide)",
    "none(wide)",
    "level < 2 L and load < 5 kg",
    "level >= 2 L or not load < 5 kg",
    "all(wide)",
    "not all(wide)",
    "kind == \"both\" or look == \"wet\"",
    "not (kind == \"both\" or look == \"wet\")",
    "gap[cylinder] > 1 mm", /* from here on only under `each` */
    "not wide[cylinder]",
    "plug[cylinder] == \"black\"",
    "plug[cylinder] != \"black\"",
    "gap[cylinder] < 0.5 * max(gap)", /* these hang together with those before */
    "gap[cylinder] >= 0.5 * max(gap)",
};
static const char *const tied_whens[] = {"min(gap) <= 1 mm", "min(gap) > 1 mm"};
enum {
    WHENS_ANYWHERE = 16,
    WHENS = sizeof whens / sizeof whens[0],
    WHENS_PLAIN = WHENS - 2,
    TIED = 8 /* any(wide), none(wide): replaced by these, unless it is to be plain */
};

static const char *const subsets[] = {
    "wide",
    "wide",
    "plug == \"black\"",
    "gap > 1 mm",
    "not wide",
    "[1]", /* from here on not where it is to be plain */
    "[1]",
    "gap < 0.5 * max(gap)",
};
enum { SUBSETS = sizeof subsets / sizeof subsets[0], SUBSETS_PLAIN = 5 };

enum record { RECORD_LEVEL = 1, RECORD_LOOK = 2, RECORD_GAP = 4, RECORD_PLUG = 8 };

enum standing_guess { SURELY_NOT, SURELY, PERHAPS };

struct kind_of_condition {
    bool has_question, has_restore, is_each, lapses, is_asked_at_gates, is_asked_at_start;
    int requires, voids;
};

enum node_form { FORM_STEP, FORM_LIST, FORM_EITHER, FORM_REPEAT };

struct branch {
    enum node_form form;
    unsigned needs, needs_here, forbids, forbids_here, sets, clears; /* by condition */
    unsigned records;
    bool is_optional, is_once, is_each, is_away, removes, refits, is_pin;
    int when, subset, until;
    struct branch *parent;
    struct branch *children[CHILDREN_MAX];
    int child_count;
};

struct generator {
    struct dice dice;
    struct kind_of_condition conditions[CONDITIONS_MAX];
    unsigned condition_count;
    enum standing_guess standings[CONDITIONS_MAX];
    struct branch nodes[NODES_MAX];
    int node_count, step_count;
    bool is_under_each, is_lid_off, is_in_repeat, is_plain, has_lowest;
};

/* --- conditions ----------------------------------------------------------------------------- */

static void choose_restored(struct generator *g, unsigned id)
{
    struct kind_of_condition *c = &g->conditions[id];
    c->has_restore = true;
    c->has_question = dice_chance(&g->dice, 20);
    c->is_each = dice_chance(&g->dice, 35);
    if (dice_chance(&g->dice, 30))
    c->requires = (int)dice_below(&g->dice, id);
    if (dice_chance(&g->dice, 15) && c->requires == NONE)
        c->voids = (int)dice_below(&g->dice, id);
    c->is_asked_at_start =
        !c->is_each && c->voids == NONE && c->requires == NONE && dice_chance(&g->dice, 8);
    c->has_question |= c->is_asked_at_start;
}

static void choose_precaution(struct generator *g, unsigned id)
{
    struct kind_of_condition *c = &g->conditions[id];
    c->has_question = dice_chance(&g->dice, 50);
    c->lapses = c->has_question && dice_chance(&g->dice, 70);
    c->is_asked_at_gates = c->lapses && dice_chance(&g->dice, 15);
    c->is_asked_at_start =
        c->has_question && !c->is_asked_at_gates && dice_chance(&g->dice, 15);
    c->is_each = !c->has_question && dice_chance(&g->dice, 12);
    if (id > 0 && !c->is_asked_at_gates && !c->is_asked_at_start && dice_chance(&g->dice, 12))
    c->requires = (int)dice_below(&g->dice, id);
}

static void choose_conditions(struct generator *g)
{
    g->condition_count = 3 + dice_below(&g->dice, 4);
    unsigned precautions = 1 + dice_below(&g->dice, g->condition_count - 1);
    for (unsigned id = 0; id < g->condition_count; id++) {
        struct kind_of_condition *c = &g->conditions[id];
        *c = (struct kind_of_condition){.requires = NONE, .voids = NONE};
        if (id < precautions)
            choose_precaution(g, id);
        else
            choose_restored(g, id);
        if (c->requires != NONE && g->conditions[c->requires].is_asked_at_gates)
        c->requires = NONE;
        if (c->voids != NONE && g->conditions[c->voids].is_asked_at_gates)
            c->voids = NONE;
        g->standings[id] = c->is_asked_at_start ? PERHAPS : SURELY_NOT;
    }
}

/* --- the tree --------------------------------------------------------------------------------- */

static struct branch *new_branch(struct generator *g, enum node_form form)
{
    struct branch *branch = &g->nodes[g->node_count++];
    *branch = (struct branch){.form = form, .when = NONE, .subset = NONE, .until = NONE};
    return branch;
}

static bool has_room(const struct generator *g, const struct branch *list, int nodes)
{
    return g->node_count + nodes < NODES_MAX && list->child_count + 3 < CHILDREN_MAX;
}

static struct branch *hang(struct branch *list, struct branch *child)
{
    child->parent = list;
    list->children[list->child_count++] = child;
    return child;
}

static struct branch *add_step(struct generator *g, struct branch *list)
{
    g->step_count++;
    return hang(list, new_branch(g, FORM_STEP));
}

static int a_when(struct generator *g)
{
    unsigned here = g->is_plain ? WHENS_PLAIN : WHENS;
    return (int)dice_below(&g->dice, g->is_under_each ? here : WHENS_ANYWHERE);
}

static int a_subset(struct generator *g)
{
    return (int)dice_below(&g->dice, g->is_plain ? SUBSETS_PLAIN : SUBSETS);
}

/* What is surely so may be needed, what is surely not may be forbidden. */
static void demand(struct generator *g, struct branch *step, unsigned percent)
{
    for (unsigned id = 0; id < g->condition_count; id++) {
        const struct kind_of_condition *c = &g->conditions[id];
        bool is_needable = g->standings[id] == SURELY || c->is_asked_at_gates;
        if (is_needable && dice_chance(&g->dice, percent)) {
            if (c->is_each && g->is_under_each)
                step->needs_here |= 1U << id;
            else
                step->needs |= 1U << id;
        } else if (g->standings[id] == SURELY_NOT && !c->is_asked_at_gates &&
                   dice_chance(&g->dice, percent / 3)) {
            if (c->is_each && g->is_under_each && dice_chance(&g->dice, 50))
                step->forbids_here |= 1U << id;
            else
                step->forbids |= 1U << id;
        }
    }
}

static bool may_be_set(const struct generator *g, unsigned id)
{
    const struct kind_of_condition *c = &g->conditions[id];
    if (g->standings[id] != SURELY_NOT || c->is_asked_at_gates)
        return false;
    if (c->requires != NONE && g->standings[c->requires] != SURELY)
        return false;
    if (c->voids == NONE)
        return true;
    for (unsigned other = 0; other < g->condition_count; other++)
        if (g->conditions[other].requires == c->voids && g->standings[other] != SURELY_NOT)
            return false;
    return true;
}

static void take_as_set(struct generator *g, unsigned id)
{
    g->standings[id] = SURELY;
    int voided = g->conditions[id].voids;
    if (voided != NONE)
        g->standings[voided] = g->standings[voided] == SURELY_NOT ? SURELY_NOT : PERHAPS;
}

static bool is_settable_here(const struct generator *g, unsigned id)
{
    const struct kind_of_condition *c = &g->conditions[id];
    int required = c->requires;
    /* one for all that rests on each position, set under `each`, would lack the other position */
    return may_be_set(g, id) && (!g->is_under_each || c->is_each || c->has_restore) &&
           (required == NONE || c->is_each || !g->is_under_each ||
            !g->conditions[required].is_each);
}

static int choose_settable(struct generator *g, bool with_restore)
{
    unsigned start = dice_below(&g->dice, g->condition_count);
    for (unsigned i = 0; i < g->condition_count; i++) {
        unsigned id = (start + i) % g->condition_count;
        if (g->conditions[id].has_restore == with_restore && is_settable_here(g, id))
            return (int)id;
    }
    return NONE;
}

static void add_block(struct generator *g, struct branch *list, int depth);

static void add_work(struct generator *g, struct branch *list)
{
    struct branch *step = add_step(g, list);
    demand(g, step, 40);
    step->is_optional = dice_chance(&g->dice, 12);
    if (dice_chance(&g->dice, 10) && !g->is_under_each && !g->is_in_repeat)
        step->is_once = true;
    if (dice_chance(&g->dice, 12))
        step->when = a_when(g);
}

static void add_precaution(struct generator *g, struct branch *list)
{
    int id = choose_settable(g, false);
    if (id == NONE) {
        add_work(g, list);
        return;
    }
    struct branch *step = add_step(g, list);
    demand(g, step, 12);
    /* done again to make safe, with something open by then, it may be forbidden */
    for (unsigned other = 0; other < g->condition_count; other++)
        if (g->standings[other] == SURELY_NOT && g->conditions[other].has_restore &&
            dice_chance(&g->dice, 15))
            step->forbids |= 1U << other;
    step->is_once = dice_chance(&g->dice, 8) && !g->is_in_repeat;
    step->sets |= 1U << id;
    take_as_set(g, (unsigned)id);
    if (g->conditions[id].is_each && !g->is_under_each && dice_chance(&g->dice, 50)) {
        step->is_each = true;
        step->needs_here = step->forbids_here = 0;
    }
}

/* A way back out of everything that an inner list may have changed. */
static void forget_inner(struct generator *g, const enum standing_guess *before)
{
    for (unsigned id = 0; id < g->condition_count; id++)
        if (g->standings[id] != before[id])
            g->standings[id] = PERHAPS;
}

static struct branch *add_list(struct generator *g, struct branch *list, int depth)
{
    struct branch *inner = hang(list, new_branch(g, FORM_LIST));
    enum standing_guess before[CONDITIONS_MAX];
    memcpy(before, g->standings, sizeof before);
    add_block(g, inner, depth - 1);
    forget_inner(g, before);
    return inner;
}

/* The same positions, said by `when` instead of `in`. */
static void say_by_when(struct branch *step)
{
    static const int of_subset[] = {16, 16, 18, 16, 17};
    if (step->subset >= SUBSETS_PLAIN && step->subset != SUBSETS - 1)
        return;
    step->when = step->subset == SUBSETS - 1 ? WHENS_PLAIN : of_subset[step->subset];
    step->subset = NONE;
}

/* Open, work, close.  is_under: all three only where `when`, or only in a subset. */
static void add_episode(struct generator *g, struct branch *list, int depth)
{
    int id = choose_settable(g, true);
    if (id == NONE) {
        add_work(g, list);
        return;
    }
    bool is_each = g->conditions[id].is_each && !g->is_under_each;
    bool loops = is_each && dice_chance(&g->dice, 75);
    int subset = loops && dice_chance(&g->dice, 45) ? a_subset(g) : NONE;
    int when = !loops && dice_chance(&g->dice, 30) ? a_when(g) : NONE;
    enum standing_guess before[CONDITIONS_MAX];
    memcpy(before, g->standings, sizeof before);

    struct branch *open = add_step(g, list);
    demand(g, open, 25);
    open->sets |= 1U << id;
    open->is_each = loops;
    open->subset = subset;
    open->when = when;
    take_as_set(g, (unsigned)id);
    bool is_certain = subset == NONE && when == NONE;
    if (!is_certain)
        forget_inner(g, before);
    if (dice_chance(&g->dice, 80))
        add_block(g, list, depth - 1);
    if (!is_certain && dice_chance(&g->dice, 60) && has_room(g, list, 4)) {
        struct branch *use = add_step(g, list);
        use->is_each = loops;
        use->subset = subset;
        use->when = when;
        if (subset != NONE && dice_chance(&g->dice, 35))
            say_by_when(use);
        if (loops || (g->is_under_each && g->conditions[id].is_each))
            use->needs_here |= 1U << id;
        else
            use->needs |= 1U << id;
    }
    struct branch *close = add_step(g, list);
    demand(g, close, 30);
    close->needs &= ~(1U << id);
    close->needs_here &= ~(1U << id);
    close->clears |= 1U << id;
    close->is_each = loops;
    close->subset = dice_chance(&g->dice, 70) ? subset : NONE;
    close->when = dice_chance(&g->dice, 80) ? when : NONE;
    if (close->subset != NONE && dice_chance(&g->dice, 25))
        say_by_when(close);
    g->standings[id] = SURELY_NOT;
}

/* --- rarer ways of hanging together ---------------------------------------------------------- */

static struct branch *step_that(struct generator *g, struct branch *list, int sets, int clears)
{
    struct branch *step = add_step(g, list);
    if (sets != NONE)
        step->sets |= 1U << sets;
    if (clears != NONE)
        step->clears |= 1U << clears;
    return step;
}

static struct branch *each_step_that(struct generator *g, struct branch *list, int sets,
                                     int clears, int subset)
{
    struct branch *step = step_that(g, list, sets, clears);
    step->is_each = true;
    step->subset = subset;
    return step;
}

/* Not so now, tied to nothing, of this sort; or NONE. */
static int free_condition(struct generator *g, bool with_restore, bool is_each, int but_not)
{
    unsigned start = dice_below(&g->dice, g->condition_count);
    for (unsigned i = 0; i < g->condition_count; i++) {
        unsigned id = (start + i) % g->condition_count;
        const struct kind_of_condition *c = &g->conditions[id];
        if ((int)id != but_not && c->has_restore == with_restore && c->is_each == is_each &&
            g->standings[id] == SURELY_NOT && c->requires == NONE && c->voids == NONE &&
            !c->is_asked_at_gates && !c->is_asked_at_start)
            return (int)id;
    }
    return NONE;
}

/* Put back position by position, and read again in the same round. */
static void add_read_in_round(struct generator *g, struct branch *list)
{
    int id = free_condition(g, true, true, NONE);
    if (id == NONE)
        return;
    bool is_tied = !g->is_plain && dice_chance(&g->dice, 40);
    int subset = is_tied ? SUBSETS - 1 : 0;
    (void)each_step_that(g, list, id, NONE, subset);
    struct branch *section = hang(list, new_branch(g, FORM_LIST));
    section->is_each = true;
    if (is_tied || dice_chance(&g->dice, 50))
        section->subset = subset;
    struct branch *close = step_that(g, section, NONE, id);
    if (section->subset == NONE) {
        close->subset = subset;
        say_by_when(close);
    }
    struct branch *read = add_step(g, section);
    read->records = dice_chance(&g->dice, 80) ? RECORD_GAP : RECORD_PLUG;
}

/* Set twice, what it makes untrue only the first time; and what is untrue is owed all the same. */
static void add_void_twice(struct generator *g, struct branch *list)
{
    bool is_other_restored = dice_chance(&g->dice, 60);
    int id = free_condition(g, true, false, NONE);
    int other = free_condition(g, is_other_restored, false, id);
    if (id == NONE || other == NONE)
        return;
    g->conditions[id].voids = other;
    (void)step_that(g, list, other, NONE);
    (void)step_that(g, list, id, NONE);
    if (is_other_restored && dice_chance(&g->dice, 25))
        add_step(g, list)->forbids |= 1U << other;
    if (is_other_restored && dice_chance(&g->dice, 30)) {
        (void)step_that(g, list, NONE, id);
        step_that(g, list, NONE, other)->is_optional = true;
        return;
    }
    (void)step_that(g, list, other, NONE);
    step_that(g, list, id, NONE)->is_optional = dice_chance(&g->dice, 20);
    add_step(g, list)->needs |= 1U << other;
    (void)step_that(g, list, NONE, id);
    if (is_other_restored)
        (void)step_that(g, list, NONE, other);
}

/* What is made untrue at one position stays so at the other; and at the end it is owed. */
static void add_void_here(struct generator *g, struct branch *list)
{
    int id = free_condition(g, true, true, NONE);
    bool is_other_restored = dice_chance(&g->dice, 60);
    int other = free_condition(g, is_other_restored, true, id);
    if (id == NONE || other == NONE)
        return;
    g->conditions[id].voids = other;
    (void)each_step_that(g, list, other, NONE, NONE);
    (void)each_step_that(g, list, id, NONE, 0);
    each_step_that(g, list, NONE, NONE, 4)->needs_here |= 1U << other;
    (void)each_step_that(g, list, NONE, id, 0);
    if (is_other_restored)
        each_step_that(g, list, NONE, other, NONE)->is_optional = dice_chance(&g->dice, 30);
}

/* Made untrue but not put back, it still requires what it required. */
static void add_owed_requires(struct generator *g, struct branch *list)
{
    int id = free_condition(g, true, false, NONE);
    int other = free_condition(g, true, false, id);
    int required = free_condition(g, false, false, NONE);
    if (id == NONE || other == NONE || required == NONE)
        return;
    g->conditions[id].requires = required;
    g->conditions[other].voids = id;
    (void)step_that(g, list, required, NONE);
    (void)step_that(g, list, id, NONE);
    (void)step_that(g, list, other, NONE);
    bool is_early = dice_chance(&g->dice, 40);
    if (is_early)
        (void)step_that(g, list, NONE, required);
    (void)step_that(g, list, NONE, other);
    step_that(g, list, NONE, id)->is_optional = dice_chance(&g->dice, 20);
    if (!is_early)
        (void)step_that(g, list, NONE, required);
}

/* The way back needs what can be shown again only while nothing is open. */
static void add_way_back(struct generator *g, struct branch *list)
{
    int id = free_condition(g, true, false, NONE);
    int shown = free_condition(g, false, false, NONE);
    if (id == NONE || shown == NONE || !g->conditions[shown].has_question)
        return;
    struct branch *show = step_that(g, list, shown, NONE);
    if (dice_chance(&g->dice, 60))
        show->forbids |= 1U << id;
    else
        show->is_once = dice_chance(&g->dice, 50);
    step_that(g, list, id, NONE)->needs |= 1U << shown;
    struct branch *close = step_that(g, list, NONE, id);
    if (dice_chance(&g->dice, 70))
        close->needs |= 1U << shown;
    if (dice_chance(&g->dice, 50))
        close->clears |= 1U << shown;
    else
        g->standings[shown] = SURELY;
}

/* What was asked at the start may be either. */
static void add_asked(struct generator *g, struct branch *list)
{
    for (unsigned id = 0; id < g->condition_count; id++) {
        const struct kind_of_condition *c = &g->conditions[id];
        if (!c->is_asked_at_start || g->standings[id] != PERHAPS)
            continue;
        struct branch *step = add_step(g, list);
        if (c->has_restore || dice_chance(&g->dice, 50)) {
            step->clears |= 1U << id;
            g->standings[id] = SURELY_NOT;
        } else {
            step->needs |= 1U << id;
        }
        return;
    }
}

static void add_rarity(struct generator *g, struct branch *list)
{
    if (g->is_under_each || g->is_in_repeat || !has_room(g, list, 12) ||
        list->child_count + 8 > CHILDREN_MAX)
        return;
    switch (dice_below(&g->dice, 7)) {
    case 0:
        add_read_in_round(g, list);
        break;
    case 1:
        add_void_twice(g, list);
        break;
    case 2:
        add_void_here(g, list);
        break;
    case 3:
        add_owed_requires(g, list);
        break;
    case 4:
    case 5:
        add_way_back(g, list);
        break;
    default:
        add_asked(g, list);
        break;
    }
}

static void add_branches(struct generator *g, struct branch *list, int depth)
{
    struct branch *either = hang(list, new_branch(g, FORM_EITHER));
    enum standing_guess before[CONDITIONS_MAX], after[CONDITIONS_MAX];
    memcpy(before, g->standings, sizeof before);
    int alternatives = 2 + (dice_chance(&g->dice, 25) ? 1 : 0);
    for (int i = 0; i < alternatives; i++) {
        struct branch *one = hang(either, new_branch(g, FORM_LIST));
        one->when = i + 1 < alternatives ? a_when(g) : NONE;
        memcpy(g->standings, before, sizeof before);
        add_block(g, one, depth - 1);
        for (unsigned id = 0; id < g->condition_count; id++) {
            if (i == 0)
                after[id] = g->standings[id];
            else if (after[id] != g->standings[id])
                after[id] = PERHAPS;
        }
    }
    memcpy(g->standings, after, sizeof after);
}

static void add_rounds(struct generator *g, struct branch *list, int depth)
{
    struct branch *rounds = hang(list, new_branch(g, FORM_REPEAT));
    bool was_in_repeat = g->is_in_repeat;
    g->is_in_repeat = true;
    rounds->until = g->is_under_each ? NONE : (int)dice_below(&g->dice, 3) - 1;
    if (g->is_plain && rounds->until == NONE) /* the proof takes any number for `times: 2` */
        rounds->until = 0;
    enum standing_guess before[CONDITIONS_MAX];
    memcpy(before, g->standings, sizeof before);
    add_block(g, rounds, depth - 1);
    /* a second round begins as the first one ended: its guess must have been no better */
    forget_inner(g, before);
    if (rounds->until != NONE) {
        struct branch *read = add_step(g, rounds);
        read->records = rounds->until == 0 ? RECORD_LEVEL : RECORD_LOOK;
    }
    g->is_in_repeat = was_in_repeat;
}

static void add_each_section(struct generator *g, struct branch *list, int depth)
{
    struct branch *section = hang(list, new_branch(g, FORM_LIST));
    section->is_each = true;
    if (dice_chance(&g->dice, 50))
        section->subset = a_subset(g);
    if (dice_chance(&g->dice, 25))
        section->when = (int)dice_below(&g->dice, g->is_plain ? WHENS_PLAIN : WHENS);
    enum standing_guess before[CONDITIONS_MAX];
    memcpy(before, g->standings, sizeof before);
    g->is_under_each = true;
    add_block(g, section, depth - 1);
    g->is_under_each = false;
    forget_inner(g, before);
}

/* Nothing is asked in it: steps, an episode without branches. */
static void add_away_section(struct generator *g, struct branch *list)
{
    struct branch *section = hang(list, new_branch(g, FORM_LIST));
    section->is_away = true;
    enum standing_guess before[CONDITIONS_MAX];
    memcpy(before, g->standings, sizeof before);
    for (unsigned i = 0; i < 1 + dice_below(&g->dice, 3); i++) {
        struct branch *step = add_step(g, section);
        demand(g, step, 30);
        step->is_optional = dice_chance(&g->dice, 15);
        int id =
            dice_chance(&g->dice, 50) ? choose_settable(g, dice_chance(&g->dice, 60)) : NONE;
        if (id == NONE || step->is_optional)
            continue;
        step->sets |= 1U << id;
        take_as_set(g, (unsigned)id);
        if (g->conditions[id].has_restore && dice_chance(&g->dice, 80)) {
            add_step(g, section)->clears |= 1U << id;
            g->standings[id] = SURELY_NOT;
        }
    }
    forget_inner(g, before);
}

/* Pins are one for each cylinder, and moved one by one or all together. */
static void move_part(struct generator *g, struct branch *step, bool removes, bool is_pin)
{
    step->removes = removes;
    step->refits = !removes;
    step->is_pin = is_pin;
    step->is_each = is_pin && !g->is_under_each && dice_chance(&g->dice, 75);
    step->subset = step->is_each && dice_chance(&g->dice, 20) ? a_subset(g) : NONE;
}

static void add_part(struct generator *g, struct branch *list, int depth)
{
    if (g->is_lid_off || g->is_under_each) {
        add_work(g, list);
        return;
    }
    bool is_pin = dice_chance(&g->dice, 50);
    struct branch *off = add_step(g, list);
    move_part(g, off, true, is_pin);
    if (!off->is_each)
        demand(g, off, 20);
    g->is_lid_off = true;
    add_block(g, list, depth - 1);
    if (has_room(g, list, 8) && dice_chance(&g->dice, is_pin ? 40 : 10))
        move_part(g, add_step(g, list), dice_chance(&g->dice, 50), is_pin);
    move_part(g, add_step(g, list), false, is_pin);
    g->is_lid_off = false;
}

static void add_reading(struct generator *g, struct branch *list)
{
    struct branch *read = add_step(g, list);
    if (g->is_under_each) {
        read->records = dice_chance(&g->dice, 60) ? RECORD_GAP : RECORD_PLUG;
        return;
    }
    unsigned roll = dice_below(&g->dice, 3);
    read->records = roll == 0 ? RECORD_LEVEL : roll == 1 ? RECORD_LOOK : RECORD_GAP;
    read->is_each = read->records == RECORD_GAP;
}

static void add_fragment(struct generator *g, struct branch *list, int depth)
{
    unsigned roll = dice_below(&g->dice, 100);
    if (depth <= 0 || !has_room(g, list, 30) || g->step_count > 20)
        add_work(g, list);
    else if (roll < 18)
        add_work(g, list);
    else if (roll < 34)
        add_precaution(g, list);
    else if (roll < 62)
        add_episode(g, list, depth);
    else if (roll < 70)
        add_list(g, list, depth)->when = a_when(g);
    else if (roll < 77)
        add_branches(g, list, depth);
    else if (roll < 84 && !(g->is_plain && g->is_under_each))
        add_rounds(g, list, depth);
    else if (roll < 91 && !g->is_under_each)
        add_each_section(g, list, depth);
    else if (roll < 94)
        add_part(g, list, depth);
    else if (roll < 97 && !g->is_under_each && !g->is_plain)
        add_away_section(g, list);
    else
        add_reading(g, list);
}

static void add_block(struct generator *g, struct branch *list, int depth)
{
    int fragments = 1 + (int)dice_below(&g->dice, depth > 1 ? 3 : 2);
    for (int i = 0; i < fragments && has_room(g, list, 8); i++)
        add_fragment(g, list, depth);
}

/* --- faults -------------------------------------------------------------------------------------- */

static struct branch *any_node(struct generator *g, bool wants_step)
{
    for (int tries = 0; tries < 200; tries++) {
        struct branch *branch = &g->nodes[dice_below(&g->dice, (unsigned)g->node_count)];
        if (branch->parent != NULL && (!wants_step || branch->form == FORM_STEP))
            return branch;
    }
    return NULL;
}

static struct branch *any_changing_step(struct generator *g)
{
    for (int tries = 0; tries < 60; tries++) {
        struct branch *step = any_node(g, true);
        if (step != NULL && (step->sets | step->clears) != 0)
            return step;
    }
    return any_node(g, true);
}

static bool stands_under_each(const struct branch *branch)
{
    for (; branch != NULL; branch = branch->parent)
        if (branch->is_each)
            return true;
    return false;
}

static int place_in(const struct branch *list, const struct branch *child)
{
    int at = 0;
    while (list->children[at] != child)
        at++;
    return at;
}

static void take_out(struct branch *branch)
{
    struct branch *list = branch->parent;
    if (list->child_count < 2 || list->form == FORM_EITHER)
        return;
    int at = place_in(list, branch);
    list->child_count--;
    for (int i = at; i < list->child_count; i++)
        list->children[i] = list->children[i + 1];
    branch->parent = NULL;
}

static void swap_with_next(struct branch *branch)
{
    struct branch *list = branch->parent;
    int at = place_in(list, branch);
    if (at + 1 >= list->child_count || list->form == FORM_EITHER)
        return;
    list->children[at] = list->children[at + 1];
    list->children[at + 1] = branch;
}

static void read_again_before(struct generator *g, struct branch *branch)
{
    struct branch *list = branch->parent;
    if (list->child_count + 1 >= CHILDREN_MAX || g->node_count + 1 >= NODES_MAX ||
        list->form == FORM_EITHER)
        return;
    struct branch *read = new_branch(g, FORM_STEP);
    bool is_under = stands_under_each(list);
    read->records = is_under ? RECORD_GAP : 1U << dice_below(&g->dice, 4);
    read->is_each = !is_under && read->records >= RECORD_GAP;
    read->parent = list;
    int at = place_in(list, branch);
    for (int i = list->child_count++; i > at; i--)
        list->children[i] = list->children[i - 1];
    list->children[at] = read;
}

static void turn_when(struct generator *g, struct branch *branch)
{
    if (branch->when == NONE) {
        if (branch->parent->form != FORM_EITHER && branch->form != FORM_EITHER &&
            branch->form != FORM_REPEAT)
            branch->when = (int)dice_below(&g->dice, WHENS_ANYWHERE);
    } else if (dice_chance(&g->dice, 50)) {
        branch->when ^= 1;
    } else if (branch->parent->form != FORM_EITHER) {
        branch->when = NONE;
    }
}

static void demand_anything(struct generator *g, struct branch *step)
{
    unsigned id = dice_below(&g->dice, g->condition_count);
    bool is_here =
        g->conditions[id].is_each && stands_under_each(step) && dice_chance(&g->dice, 60);
    unsigned *list = dice_chance(&g->dice, 50)
                         ? (is_here ? &step->needs_here : &step->needs)
                         : (is_here ? &step->forbids_here : &step->forbids);
    if (!g->conditions[id].is_asked_at_gates)
        *list |= 1U << id;
}

static void change_anything(struct generator *g, struct branch *step)
{
    unsigned id = dice_below(&g->dice, g->condition_count);
    if (g->conditions[id].is_asked_at_gates ||
        (stands_under_each(step) && !g->conditions[id].is_each))
        return;
    if (dice_chance(&g->dice, 60))
        step->clears |= 1U << id;
    else
        step->sets |= 1U << id;
    step->sets &= ~step->clears;
}

static void tie_conditions(struct generator *g)
{
    unsigned id = 1 + dice_below(&g->dice, g->condition_count - 1);
    unsigned other = dice_below(&g->dice, id);
    struct kind_of_condition *c = &g->conditions[id];
    if (g->conditions[other].is_asked_at_gates || c->is_asked_at_gates || c->is_asked_at_start)
        return;
    if (dice_chance(&g->dice, 50))
    c->requires = (int)other;
    else c->voids = (int)other;
}

/* One step that moves a part is left out, is done only perhaps, or moves it the other way. */
static void move_any_part(struct generator *g)
{
    for (int tries = 0; tries < 60; tries++) {
        struct branch *step = any_node(g, true);
        if (step == NULL || (!step->removes && !step->refits))
            continue;
        unsigned roll = dice_below(&g->dice, 3);
        if (roll == 0)
            take_out(step);
        else if (roll == 1)
            turn_when(g, step);
        else
            move_part(g, step, !step->removes, step->is_pin);
        return;
    }
}

static void make_a_fault(struct generator *g)
{
    struct branch *step = dice_chance(&g->dice, 70) ? any_changing_step(g) : any_node(g, true);
    struct branch *branch = dice_chance(&g->dice, 60) ? step : any_node(g, false);
    if (step == NULL || branch == NULL)
        return;
    switch (dice_below(&g->dice, 14)) {
    case 0:
    case 1:
        step->is_optional = !step->is_optional;
        break;
    case 2:
        take_out(step);
        break;
    case 3:
        swap_with_next(branch);
        break;
    case 4:
        turn_when(g, branch);
        break;
    case 5:
        read_again_before(g, branch);
        break;
    case 6:
        if (branch->is_each)
            branch->subset = branch->subset == NONE ? a_subset(g) : NONE;
        else
            turn_when(g, branch);
        break;
    case 7:
        demand_anything(g, step);
        break;
    case 8:
        change_anything(g, step);
        break;
    case 9:
        tie_conditions(g);
        break;
    case 10:
        step->is_once = !step->is_once;
        break;
    case 12:
        move_any_part(g);
        break;
    case 11:
        read_again_before(g, step);
        break;
    default:
        step->needs = step->needs_here = 0;
        break;
    }
}

/* --- as text -------------------------------------------------------------------------------------- */

struct writing {
    FILE *out;
    const struct generator *g;
    int steps, lists;
};

static void indent(const struct writing *w, int depth)
{
    for (int i = 0; i < depth; i++)
        fputs("  ", w->out);
}

static void write_names(const struct writing *w, int depth, const char *key, unsigned all,
                        unsigned here)
{
    if ((all | here) == 0)
        return;
    indent(w, depth);
    fprintf(w->out, "%s: [", key);
    const char *comma = "";
    for (unsigned id = 0; id < w->g->condition_count; id++) {
        if ((all >> id & 1) != 0) {
            fprintf(w->out, "%s%s", comma, condition_names[id]);
            comma = ", ";
        }
        if ((here >> id & 1) != 0) {
            fprintf(w->out, "%s\"%s[cylinder]\"", comma, condition_names[id]);
            comma = ", ";
        }
    }
    fputs("]\n", w->out);
}

static const char *when_words(const struct writing *w, int when)
{
    bool is_tied = w->g->has_lowest && (when == TIED || when == TIED + 1);
    return is_tied ? tied_whens[when - TIED] : whens[when];
}

static void write_order(const struct writing *w, const struct branch *branch, int depth)
{
    if (branch->when != NONE) {
        indent(w, depth);
        fprintf(w->out, "when: '%s'\n", when_words(w, branch->when));
    }
    if (branch->is_each) {
        indent(w, depth);
        fputs("each: cylinder\n", w->out);
        if (branch->subset != NONE) {
            indent(w, depth);
            const char *subset = subsets[branch->subset];
            fprintf(w->out, subset[0] == '[' ? "in: %s\n" : "in: '%s'\n", subset);
        }
    }
}

static void write_records(const struct writing *w, unsigned records, int depth)
{
    static const char *const fields[] = {"level: {unit: L}",
                                         "look: {choices: [dry, damp, wet]}", "gap: {unit: mm}",
                                         "plug: {choices: [clean, black]}"};
    if (records == 0)
        return;
    indent(w, depth);
    fputs("record: {", w->out);
    const char *comma = "";
    for (unsigned i = 0; i < 4; i++)
        if ((records >> i & 1) != 0) {
            fprintf(w->out, "%s%s", comma, fields[i]);
            comma = ", ";
        }
    fputs("}\n", w->out);
}

static void write_step(struct writing *w, const struct branch *step, int depth)
{
    bool is_under = stands_under_each(step);
    indent(w, depth);
    fprintf(w->out, "- step: s%d\n", ++w->steps);
    depth++;
    indent(w, depth);
    fprintf(w->out, "do: Do number %d.\n", w->steps);
    write_order(w, step, depth);
    write_names(w, depth, "needs", step->needs, is_under ? step->needs_here : 0);
    write_names(w, depth, "forbids", step->forbids, is_under ? step->forbids_here : 0);
    write_names(w, depth, "sets", step->sets, 0);
    write_names(w, depth, "clears", step->clears, 0);
    write_records(w, step->records, depth);
    if (step->removes || step->refits) {
        indent(w, depth);
        fprintf(w->out, "%s: %s\n", step->removes ? "removes" : "refits",
                step->is_pin ? "pin" : "lid");
    }
    if (step->is_optional) {
        indent(w, depth);
        fputs("optional: true\n", w->out);
    }
    if (step->is_once) {
        indent(w, depth);
        fputs("once: true\n", w->out);
    }
}

// NOLINTNEXTLINE(misc-no-recursion): as deep as the tree that was made
static void write_node(struct writing *w, const struct branch *branch, int depth)
{
    int number = ++w->lists;
    switch (branch->form) {
    case FORM_STEP:
        write_step(w, branch, depth);
        return;
    case FORM_LIST:
        indent(w, depth);
        if (branch->parent->form != FORM_EITHER) {
            fprintf(w->out, "- section: Part %d\n", number);
            write_order(w, branch, depth + 1);
            if (branch->is_away) {
                indent(w, depth + 1);
                fputs("away: true\n", w->out);
            }
        } else if (branch->when != NONE) {
            fprintf(w->out, "- when: '%s'\n", when_words(w, branch->when));
        } else {
            fputs("- otherwise: true\n", w->out);
        }
        indent(w, depth + 1);
        fputs("steps:\n", w->out);
        break;
    case FORM_EITHER:
        indent(w, depth);
        fputs("- either:\n", w->out);
        break;
    case FORM_REPEAT:
        indent(w, depth);
        fprintf(w->out, "- repeat: round%d\n", number);
        indent(w, depth + 1);
        if (branch->until == NONE)
            fputs("times: 2\n", w->out);
        else
            fprintf(w->out, "until: '%s'\n",
                    branch->until == 0 ? "level >= 2 L" : "look == \"dry\"");
        if (branch->until != NONE) {
            indent(w, depth + 1);
            fputs("at_most: 4\n", w->out);
        }
        indent(w, depth + 1);
        fputs("steps:\n", w->out);
        break;
    }
    for (int i = 0; i < branch->child_count; i++)
        write_node(w, branch->children[i], depth + 2);
}

static void write_condition(const struct writing *w, unsigned id)
{
    const struct kind_of_condition *c = &w->g->conditions[id];
    const char *comma = "";
    fprintf(w->out, "  %s: {", condition_names[id]);
    if (c->has_question) {
        fputs("ask: How is it?, expect: so, otherwise: [not so]", w->out);
        comma = ", ";
    }
    if (c->has_restore) {
        fprintf(w->out, "%srestore: Put it back.", comma);
        comma = ", ";
    }
    if (c->is_each) {
        fprintf(w->out, "%seach: cylinder", comma);
        comma = ", ";
    }
    if (c->lapses) {
        fprintf(w->out, "%slapses_after: %s", comma, c->is_asked_at_gates ? "0 min" : "30 min");
        comma = ", ";
    }
    if (c->is_asked_at_start) {
        fprintf(w->out, "%sat_start: ask", comma);
        comma = ", ";
    }
    if (c->requires != NONE) {
        fprintf(w->out, "%srequires: [%s]", comma, condition_names[c->requires]);
        comma = ", ";
    }
    if (c->voids != NONE)
        fprintf(w->out, "%svoids: [%s]", comma, condition_names[c->voids]);
    fputs("}\n", w->out);
}

static struct branch *build(struct generator *g)
{
    struct branch *whole = new_branch(g, FORM_LIST);
    choose_conditions(g);
    /* everything that a `when` may rest on is read first */
    struct branch *one = add_step(g, whole);
    one->records = RECORD_LEVEL | RECORD_LOOK;
    struct branch *two = add_step(g, whole);
    two->records = RECORD_GAP | RECORD_PLUG;
    two->is_each = true;
    unsigned precautions = dice_below(&g->dice, 3);
    for (unsigned i = 0; i < precautions; i++)
        add_precaution(g, whole);
    int fragments = 2 + (int)dice_below(&g->dice, 3);
    for (int i = 0; i < fragments && has_room(g, whole, 12); i++) {
        add_fragment(g, whole, 3);
        if (dice_chance(&g->dice, 50))
            add_rarity(g, whole);
    }
    /* what was asked in the opening may be out of its normal state */
    for (unsigned id = 0; id < g->condition_count && has_room(g, whole, 2); id++)
        if (g->conditions[id].is_asked_at_start && g->conditions[id].has_restore)
            add_step(g, whole)->clears |= 1U << id;
    return whole;
}

char *random_procedure(unsigned long long seed, bool is_plain)
{
    struct generator *g = calloc(1, sizeof *g);
    if (g == NULL)
        abort();
    g->dice.state = seed * 0x2545f4914f6cdd1dU + 1;
    g->is_plain = is_plain;
    g->has_lowest = dice_chance(&g->dice, 40) && !is_plain;
    const struct branch *whole = build(g);
    if (dice_chance(&g->dice, 85)) {
        int faults = 2 + (int)dice_below(&g->dice, 4);
        for (int i = 0; i < faults; i++)
            make_a_fault(g);
    }
    char *text = NULL;
    size_t length;
    struct writing w = {.g = g, .out = open_memstream(&text, &length)};
    fputs("procedure: random\ntitle: Random\nrevision: 1\nabout: Made for a test.\n"
          "inputs:\n  kind: {choices: [left, right, both]}\n  load: {unit: kg}\n"
          "conditions:\n",
          w.out);
    for (unsigned id = 0; id < g->condition_count; id++)
        write_condition(&w, id);
    fputs("names:\n  wide: gap > 1 mm\nsteps:\n", w.out);
    for (int i = 0; i < whole->child_count; i++)
        write_node(&w, whole->children[i], 1);
    fclose(w.out);
    free(g);
    return text;
}

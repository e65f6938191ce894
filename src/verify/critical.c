/*
 * One step is ticked without being done, once, and the rest is done all the same.  The states of the sound
 * procedure are found first; where they come to a step, it is left out, and from there the search
 * goes on behind every fault.  What becomes of such a state does not depend on which step was left out,
 * so that all of them share one search, and a state that the sound procedure knows too is harmless.
 * Then each fault is carried back along the ways that lead to it, the worst first.
 */
#include "search.h"

#include <assert.h>
#include <string.h>

/* --- what is kept of the search ---------------------------------------------------------------- */

struct harm {
    enum signal signal;
    const struct fault *fault;
};

/* At a state of a strayed path; the worst there. */
struct met {
    int state;
    struct harm harm;
    struct met *next;
};

struct way {
    int from, to; /* STATE_NONE: nobody knows where to */
    struct way *next;
};

/* A step left out in a sound state. */
struct seed {
    const struct work *work;
    int state; /* the strayed state it leads to; STATE_NONE: none that strays */
    bool is_unknown;
    bool has_harm; /* on the very way there */
    struct harm harm;
    struct seed *next;
};

/* Of a step, over all states in which it was left out. */
struct rank {
    const struct harm *harm; /* NULL: none is known */
    unsigned distance;
    bool is_unknown;
};

struct straying {
    struct search *search;
    const bool *is_ruled_out; /* by work, or NULL */
    struct arena *arena;      /* not the search's own, which it rewinds behind each gate */
    int first;                /* states from here on stray */
    struct met *mets;
    struct way *ways;
    size_t way_count;
    struct seed *seeds, **last_seed;
    struct rank *ranks;  /* by work */
    struct seed *sowing; /* faults belong to it now; NULL: to the state at hand */
};

static enum signal signal_at(const struct fault *fault)
{
    const struct step *step = fault->work == NULL ? NULL : fault->work->step;
    bool is_at_its_gate = fault->kind == FAULT_NEED || fault->kind == FAULT_FORBIDDEN ||
                          fault->kind == FAULT_REQUIRES;
    if (step == NULL || !is_at_its_gate || step->message_count == 0)
        return SIGNAL_NOTICE;
    return step->messages[0].signal; /* the worst stands first */
}

/* The first of several that are as bad stays. */
static void keep_worse(struct straying *straying, bool is_first, struct harm *kept,
                       const struct fault *fault)
{
    enum signal signal = signal_at(fault);
    if (!is_first && signal <= kept->signal)
        return;
    struct fault *copy = arena_new(straying->arena, struct fault);
    *copy = *fault;
    *kept = (struct harm){signal, copy};
}

static void meet(void *self, const struct fault *fault)
{
    struct straying *straying = self;
    struct seed *seed = straying->sowing;
    if (fault->work != NULL && straying->is_ruled_out != NULL &&
        straying->is_ruled_out[fault->work->id])
        return;
    if (seed != NULL) {
        keep_worse(straying, !seed->has_harm, &seed->harm, fault);
        seed->has_harm = true;
        return;
    }
    bool is_first = straying->mets == NULL || straying->mets->state != fault->state;
    if (is_first) {
        struct met *met = arena_new(straying->arena, struct met);
        *met = (struct met){.state = fault->state, .next = straying->mets};
        straying->mets = met;
    }
    keep_worse(straying, is_first, &straying->mets->harm, fault);
}

static bool is_at_its_worst(void *self)
{
    const struct straying *straying = self;
    return straying->mets != NULL && straying->mets->state == straying->search->number &&
           straying->mets->harm.signal == SIGNAL_DANGER;
}

static void lead(void *self, int from, int to)
{
    struct straying *straying = self;
    if (to != STATE_NONE && to < straying->first)
        return;
    struct way *way = arena_new(straying->arena, struct way);
    *way = (struct way){from, to, straying->ways};
    straying->ways = way;
    straying->way_count++;
}

/* --- straying ----------------------------------------------------------------------------------- */

static bool has_effects(const struct step *step)
{
    return step != NULL && step->sets_count + step->clears_count + step->refits_count > 0;
}

/* Ticked: its truths are asked about again and it counts as done, and nothing else has changed. */
static void sow(struct straying *straying, const struct place_in_work *place, int number)
{
    struct search *search = straying->search;
    size_t words = search->program->layout.words;
    memcpy(search->after, state_bits(state_at(&search->table, number)),
           words * sizeof *search->after);
    for (size_t i = 0; i < words; i++)
        search->after[i] &= ~place->forgets[i];
    if (place->once_bit != MASK_NO_BIT)
        masks_set_bit(search->after, place->once_bit);
    struct seed *seed = arena_new(straying->arena, struct seed);
    *seed = (struct seed){.work = place->work};
    straying->sowing = seed;
    struct fault fault = {.state = number, .has_way = true, .way = WAY_YES};
    bool is_new;
    int to = search_reach(search, place->next[WAY_YES], &fault, &is_new);
    straying->sowing = NULL;
    seed->is_unknown = to == STATE_NONE && search->table.is_full;
    seed->state = to >= straying->first ? to : STATE_NONE;
    *straying->last_seed = seed;
    straying->last_seed = &seed->next;
}

static size_t room_of(const struct arena *arena)
{
    return (size_t)(arena->limit - arena->next);
}

static bool has_room(const struct straying *straying)
{
    enum { BYTES_FOR_EACH = 64, KEPT_FREE = 1 << 20 }; /* to carry the faults back with */
    size_t things = straying->search->table.count + straying->way_count;
    return room_of(straying->arena) > things * BYTES_FOR_EACH + KEPT_FREE &&
           room_of(straying->search->program->arena) > KEPT_FREE;
}

static void stray(struct straying *straying)
{
    struct search *search = straying->search;
    const struct search_listener listener = {straying, meet, is_at_its_worst, lead};
    search->listener = &listener;
    straying->first = (int)search->table.count;
    for (int number = 0; number < straying->first; number++) {
        const struct place_in_work *place =
            &search->program->places[state_at(&search->table, number)->place];
        if (place->kind != PLACE_STEP || !has_effects(place->work->step))
            continue;
        if (has_room(straying))
            sow(straying, place, number);
        else
            straying->ranks[place->work->id].is_unknown = true;
    }
    for (int number = straying->first; (size_t)number < search->table.count; number++)
        if (has_room(straying))
            search_on_from(search, number);
        else
            lead(straying, number, STATE_NONE);
    search->listener = NULL;
}

/* --- back along the ways ------------------------------------------------------------------------- */

/* By strayed state. */
struct becoming {
    size_t count;
    const struct harm **worst; /* NULL: nothing */
    unsigned *distance;        /* ways to it */
    bool *is_unknown;
    unsigned *first_way; /* into `from`: the ways that lead here; one more than states */
    int *from;
    int *queue;
    size_t queued;
};

static struct becoming lay_out_ways(const struct straying *straying)
{
    struct arena *arena = straying->arena;
    size_t count = straying->search->table.count - (size_t)straying->first;
    struct becoming becoming = {.count = count,
                                .worst = arena_array(arena, const struct harm *, count),
                                .distance = arena_array(arena, unsigned, count),
                                .is_unknown = arena_array(arena, bool, count),
                                .first_way = arena_array(arena, unsigned, count + 2),
                                .from = arena_array(arena, int, straying->way_count),
                                .queue = arena_array(arena, int, count)};
    unsigned *starts = becoming.first_way + 1;
    for (const struct way *way = straying->ways; way != NULL; way = way->next)
        if (way->to != STATE_NONE)
            starts[way->to - straying->first + 1]++;
    for (size_t i = 1; i <= count; i++)
        starts[i] += starts[i - 1];
    for (const struct way *way = straying->ways; way != NULL; way = way->next)
        if (way->to != STATE_NONE)
            becoming.from[starts[way->to - straying->first]++] = way->from - straying->first;
    return becoming;
}

static void carry_harm_back(struct becoming *becoming)
{
    for (size_t next = 0; next < becoming->queued; next++) {
        int at = becoming->queue[next];
        for (unsigned i = becoming->first_way[at]; i < becoming->first_way[at + 1]; i++) {
            int from = becoming->from[i];
            if (becoming->worst[from] != NULL)
                continue;
            becoming->worst[from] = becoming->worst[at];
            becoming->distance[from] = becoming->distance[at] + 1;
            becoming->queue[becoming->queued++] = from;
        }
    }
    becoming->queued = 0;
}

static void find_worst(const struct straying *straying, struct becoming *becoming)
{
    static const enum signal worst_first[] = {SIGNAL_DANGER, SIGNAL_WARNING, SIGNAL_CAUTION,
                                              SIGNAL_NOTICE};
    for (size_t i = 0; i < sizeof worst_first / sizeof *worst_first; i++) {
        for (const struct met *met = straying->mets; met != NULL; met = met->next) {
            int at = met->state - straying->first;
            if (met->harm.signal != worst_first[i] || becoming->worst[at] != NULL)
                continue;
            becoming->worst[at] = &met->harm;
            becoming->queue[becoming->queued++] = at;
        }
        carry_harm_back(becoming);
    }
}

static void find_unknown(const struct straying *straying, struct becoming *becoming)
{
    for (const struct way *way = straying->ways; way != NULL; way = way->next) {
        int at = way->from - straying->first;
        if (way->to != STATE_NONE || becoming->is_unknown[at])
            continue;
        becoming->is_unknown[at] = true;
        becoming->queue[becoming->queued++] = at;
    }
    for (size_t next = 0; next < becoming->queued; next++) {
        int at = becoming->queue[next];
        for (unsigned i = becoming->first_way[at]; i < becoming->first_way[at + 1]; i++) {
            int from = becoming->from[i];
            if (becoming->is_unknown[from])
                continue;
            becoming->is_unknown[from] = true;
            becoming->queue[becoming->queued++] = from;
        }
    }
}

/* --- the ranking ----------------------------------------------------------------------------------- */

static void take_harm(struct rank *rank, const struct harm *harm, unsigned distance)
{
    if (rank->harm != NULL &&
        (harm->signal < rank->harm->signal ||
         (harm->signal == rank->harm->signal && distance >= rank->distance)))
        return;
    rank->harm = harm;
    rank->distance = distance;
}

static void take_seeds(const struct straying *straying, const struct becoming *becoming)
{
    for (const struct seed *seed = straying->seeds; seed != NULL; seed = seed->next) {
        struct rank *rank = &straying->ranks[seed->work->id];
        if (seed->has_harm)
            take_harm(rank, &seed->harm, 0);
        rank->is_unknown = rank->is_unknown || seed->is_unknown;
        if (seed->state == STATE_NONE)
            continue;
        int at = seed->state - straying->first;
        if (becoming->worst[at] != NULL)
            take_harm(rank, becoming->worst[at], becoming->distance[at] + 1);
        rank->is_unknown = rank->is_unknown || becoming->is_unknown[at];
    }
}

/* False: too large for any of it to be known. */
static bool rank_all(const struct procedure *procedure, const bool *is_ruled_out,
                     struct rank *ranks, struct arena *arena, struct arena *scratch)
{
    struct program program = program_of(procedure, (struct omission){0}, scratch);
    if (program.is_too_large)
        return false;
    struct search *search = arena_new(scratch, struct search);
    search_all(search, &program, false, RANKING_STATES_MAX);
    if (search->has_given_up)
        return false;
    struct straying straying = {
        .search = search, .is_ruled_out = is_ruled_out, .arena = arena, .ranks = ranks};
    straying.last_seed = &straying.seeds;
    stray(&straying);
    struct becoming becoming = lay_out_ways(&straying);
    find_worst(&straying, &becoming);
    becoming.queued = 0;
    find_unknown(&straying, &becoming);
    take_seeds(&straying, &becoming);
    return true;
}

static struct critical_step critical_of(const struct work *work, const struct harm *harm)
{
    return (struct critical_step){.work = work,
                                  .harm = harm->signal,
                                  .reached = harm->fault->work,
                                  .fault = harm->fault->kind,
                                  .condition = harm->fault->condition,
                                  .required = harm->fault->required,
                                  .part = harm->fault->part};
}

static void put_in_order(struct critical_step *steps, size_t count)
{
    for (size_t i = 1; i < count; i++) {
        struct critical_step step = steps[i];
        size_t at = i;
        for (; at > 0 && steps[at - 1].harm < step.harm; at--)
            steps[at] = steps[at - 1];
        steps[at] = step;
    }
}

struct ranking verify_critical_steps(const struct procedure *procedure,
                                     const bool *is_ruled_out, struct arena *arena,
                                     struct arena *scratch)
{
    size_t most = procedure->work_count;
    struct critical_step *steps = arena_array(arena, struct critical_step, most);
    const struct work **unranked = arena_array(arena, const struct work *, most);
    struct ranking ranking = {.steps = steps, .unranked = unranked};
    struct arena_mark kept = arena_mark(arena), mark = arena_mark(scratch);
    struct rank *ranks = arena_array(scratch, struct rank, most);
    assert(arena != scratch);
    bool is_ranked = rank_all(procedure, is_ruled_out, ranks, arena, scratch);
    for (size_t i = 0; i < most; i++) {
        const struct work *work = procedure->works[i];
        bool is_known =
            is_ranked && (!ranks[i].is_unknown ||
                          (ranks[i].harm != NULL && ranks[i].harm->signal == SIGNAL_DANGER));
        if (!has_effects(work->step))
            continue;
        if (!is_known)
            unranked[ranking.unranked_count++] = work;
        else if (ranks[i].harm != NULL)
            steps[ranking.count++] = critical_of(work, ranks[i].harm);
    }
    arena_rewind(scratch, mark);
    arena_rewind(arena, kept);
    put_in_order(steps, ranking.count);
    return ranking;
}

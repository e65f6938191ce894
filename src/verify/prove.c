#include "prove.h"

#include "witness.h"
#include "words.h"

#include <assert.h>
#include <string.h>

/* --- the paths ------------------------------------------------------------------------------ */

static bool is_before(const struct unsafe_path *one, const struct unsafe_path *other)
{
    return one->event_count < other->event_count;
}

/* Shortest first; those that are as long stay in the order they were found. */
static void sort_paths(struct unsafe_path *paths, size_t count)
{
    for (size_t i = 1; i < count; i++) {
        struct unsafe_path path = paths[i];
        size_t at = i;
        for (; at > 0 && is_before(&path, &paths[at - 1]); at--)
            paths[at] = paths[at - 1];
        paths[at] = path;
    }
}

/* Steps that no path reaches; they are looked for only where no fault cut a path short. */
static size_t find_unreached(const struct program *program, struct unsafe_path *paths,
                             size_t room)
{
    const struct procedure *procedure = program->procedure;
    bool *is_reached = arena_array(program->arena, bool, procedure->work_count);
    for (size_t i = 0; i < program->place_count; i++)
        if (program->places[i].kind == PLACE_STEP && program->places[i].is_reached)
            is_reached[program->places[i].work->id] = true;
    size_t count = 0;
    for (size_t i = 0; i < procedure->work_count && count < room; i++) {
        const struct work *work = procedure->works[i];
        if (work->step == NULL || is_reached[i] || work == program->omission.deleted)
            continue;
        paths[count++] = (struct unsafe_path){.fault = FAULT_UNREACHED,
                                              .work = work,
                                              .position = INDEX_NONE,
                                              .cause = CAUSE_NO_STEP};
    }
    return count;
}

static void tell_paths(struct search *search, struct proof *proof, struct arena *arena)
{
    struct unsafe_path *paths = arena_array(arena, struct unsafe_path, PROOF_PATHS_MAX);
    for (size_t i = 0; i < search->fault_count; i++)
        paths[i] = witness_of(search, &search->faults[i], arena);
    proof->path_count = search->fault_count;
    if (proof->path_count == 0 && !search->has_given_up)
        proof->path_count = find_unreached(search->program, paths, PROOF_PATHS_MAX);
    sort_paths(paths, proof->path_count);
    proof->paths = paths;
    struct unsafe_path *doubts = arena_array(arena, struct unsafe_path, search->doubt_count);
    for (size_t i = 0; i < search->doubt_count; i++)
        doubts[i] = witness_of(search, &search->doubts[i], arena);
    proof->doubts = doubts;
}

/* --- too large ------------------------------------------------------------------------------- */

enum { NAMED_MAX = 8 };

struct multiplying {
    size_t count;
    struct text words;
};

/* "12 optional steps: a, b, c and more" */
static struct text counted_words(const char *sentence, size_t count, const struct text *names,
                                 struct arena *arena)
{
    size_t named = count < NAMED_MAX ? count : NAMED_MAX;
    return text_fill(arena, sentence, text_number(arena, (long long)count),
                     text_join(arena, names, named, TEXT(", ")),
                     named < count ? TEXT(" and more") : (struct text){0});
}

static struct multiplying optional_steps(const struct procedure *procedure, struct arena *arena)
{
    struct text names[NAMED_MAX];
    size_t count = 0;
    for (size_t i = 0; i < procedure->work_count; i++) {
        const struct step *step = procedure->works[i]->step;
        if (step == NULL || !step->is_optional)
            continue;
        if (count < NAMED_MAX)
            names[count] = say_name(arena, step->own_name);
        count++;
    }
    return (struct multiplying){
        count, counted_words("{} optional steps, each done or passed over: {}{}", count, names,
                             arena)};
}

static struct multiplying different_truths(const struct program *program, struct arena *arena)
{
    struct text names[NAMED_MAX];
    for (size_t i = 0; i < program->variable_count && i < NAMED_MAX; i++)
        names[i] = program->variables[i].expression->written;
    size_t count = program->variable_count;
    return (struct multiplying){
        count,
        counted_words("{} different things that are decided on: {}{}", count, names, arena)};
}

static struct multiplying asked_conditions(const struct program *program, struct arena *arena)
{
    struct text names[NAMED_MAX];
    size_t count = 0;
    for (size_t i = 0; i < program->place_count; i++) {
        if (program->places[i].kind != PLACE_ASK)
            continue;
        if (count < NAMED_MAX)
            names[count] =
                words_of_condition(program->procedure, program->places[i].condition, arena);
        count++;
    }
    return (struct multiplying){
        count, counted_words("{} facts asked at the start: {}{}", count, names, arena)};
}

/* After a stop each may be open or put right. */
static struct multiplying put_right(const struct program *program, struct arena *arena)
{
    struct text names[NAMED_MAX];
    size_t count = 0;
    for (size_t i = 0; i < program->procedure->condition_count; i++) {
        unsigned first = program->layout.shape.first[i];
        if (program->layout.owed_bits[first] == MASK_NO_BIT)
            continue;
        if (count < NAMED_MAX)
            names[count] = words_of_condition(program->procedure, (unsigned)i, arena);
        count++;
    }
    return (struct multiplying){
        count, counted_words("{} facts that a stop may leave to be put right, in one order or "
                             "another: {}{}",
                             count, names, arena)};
}

static void tell_what_is_large(const struct program *program, struct proof *proof,
                               struct text *told, struct arena *arena)
{
    if (program->layout.bit_count > PROOF_BITS_MAX)
        told[proof->multiply_count++] =
            text_fill(arena, "{} facts to keep apart, and {} at most are possible",
                      text_number(arena, (long long)program->layout.bit_count),
                      text_number(arena, PROOF_BITS_MAX));
    else if (program->is_too_large)
        told[proof->multiply_count++] =
            text_fill(arena,
                      "the steps, each followed apart at both positions of every loop "
                      "round it: more than {} places",
                      text_number(arena, (long long)program->place_count));
}

/* For want of orders: it was given up on the question how a stop is made safe. */
static void tell_multiplying(const struct program *program, bool for_want_of_orders,
                             struct proof *proof, struct arena *arena)
{
    struct multiplying all[] = {
        optional_steps(program->procedure, arena), different_truths(program, arena),
        asked_conditions(program, arena),
        for_want_of_orders ? put_right(program, arena) : (struct multiplying){0}};
    enum { ALL = sizeof all / sizeof *all };
    struct text *told = arena_array(arena, struct text, ALL + 1);
    for (size_t round = 0; round < ALL; round++) {
        size_t most = 0;
        for (size_t i = 1; i < ALL; i++)
            if (all[i].count > all[most].count)
                most = i;
        if (all[most].count > 0)
            told[proof->multiply_count++] = all[most].words;
        all[most].count = 0;
    }
    tell_what_is_large(program, proof, told, arena);
    proof->multiplies = told;
}

/* --- what is set or cleared for nothing ------------------------------------------------------------ */

struct idle {
    const struct program *program;
    size_t *first; /* by work: its first use */
    bool *is_useful;
};

static size_t number_uses(const struct procedure *procedure, size_t *first)
{
    size_t count = 0;
    for (size_t i = 0; i < procedure->work_count; i++) {
        const struct step *step = procedure->works[i]->step;
        first[i] = count;
        count += step == NULL ? 0 : step->sets_count + step->clears_count;
    }
    return count;
}

/* Does any position that the use covers stand so (in `bits`) that it does something? */
static bool does_something(const struct idle *idle, const struct place_in_work *place,
                           struct condition_use use, const uint64_t *bits, bool when_so)
{
    const struct mask_layout *layout = &idle->program->layout;
    int index = idle->program->procedure->conditions[use.condition]->index;
    bool is_one = use.is_here && index != INDEX_NONE && place->here[index] != INDEX_NONE;
    for (unsigned at = 0; at < layout->shape.count[use.condition]; at++) {
        unsigned standing = layout->shape.first[use.condition] + at;
        int is_true = layout->true_bits[standing];
        int is_owed = layout->owed_bits[standing];
        if (is_true == MASK_NO_BIT)
            return true; /* nobody asks */
        if (is_one && (int)at != place->here[index])
            continue;
        bool is_so = masks_bit(bits, is_true) ||
                     (when_so && is_owed != MASK_NO_BIT && masks_bit(bits, is_owed));
        if (is_so == when_so)
            return true;
    }
    return false;
}

static bool is_own_clearing(const struct step *step, unsigned condition)
{
    for (size_t i = 0; i < step->activity_count; i++)
        for (size_t k = 0; k < step->activities[i]->clears_count; k++)
            if (step->activities[i]->clears[k] == condition)
                return false;
    return true;
}

static void look_at_uses(const struct idle *idle, const struct place_in_work *place)
{
    const struct step *step = place->work->step;
    bool *is_useful = idle->is_useful + idle->first[place->work->id];
    for (size_t i = 0; i < step->sets_count; i++)
        is_useful[i] =
            is_useful[i] || does_something(idle, place, step->sets[i], place->always, false);
    for (size_t i = 0; i < step->clears_count; i++)
        is_useful[step->sets_count + i] =
            is_useful[step->sets_count + i] ||
            does_something(idle, place, step->clears[i], place->ever, true);
}

static void warn(const struct idle *idle, const struct work *work, struct diagnostics *found)
{
    const struct procedure *procedure = idle->program->procedure;
    const struct step *step = work->step;
    const bool *is_useful = idle->is_useful + idle->first[work->id];
    for (size_t i = 0; i < step->sets_count; i++) {
        const struct condition *set = procedure->conditions[step->sets[i].condition];
        if (!is_useful[i] && !set->has_question) /* a question is asked again for a reason */
            report(found, FINDING_SET_ALREADY, step->sets[i].place, set->name);
    }
    for (size_t i = 0; i < step->clears_count; i++) {
        const struct condition *cleared = procedure->conditions[step->clears[i].condition];
        /* Ending what may have been shown before is a habit; putting right what is right is not. */
        if (!is_useful[step->sets_count + i] && cleared->restore.length > 0 &&
            is_own_clearing(step, cleared->id))
            report(found, FINDING_CLEARED_NEVER_SO, step->clears[i].place, cleared->name);
    }
}

/* Only of a sound procedure: where a path was cut short, nobody knows what comes behind. */
static void warn_of_idle(const struct program *program, struct diagnostics *found)
{
    const struct procedure *procedure = program->procedure;
    struct idle idle = {.program = program,
                        .first = arena_array(program->arena, size_t, procedure->work_count)};
    idle.is_useful = arena_array(program->arena, bool, number_uses(procedure, idle.first));
    for (size_t i = 0; i < program->place_count; i++)
        if (program->places[i].kind == PLACE_STEP && program->places[i].is_reached)
            look_at_uses(&idle, &program->places[i]);
    for (size_t i = 0; i < procedure->work_count; i++)
        if (procedure->works[i]->step != NULL)
            warn(&idle, procedure->works[i], found);
}

/* --- the proof ------------------------------------------------------------------------------------- */

static size_t branches_of(const struct program *program)
{
    size_t count = 0;
    for (size_t i = 0; i < program->place_count; i++) {
        const struct place_in_work *place = &program->places[i];
        bool is_branch = place->kind == PLACE_ASK || place->kind == PLACE_DECIDE ||
                         place->kind == PLACE_CHOOSE || place->kind == PLACE_FORK ||
                         (place->kind == PLACE_STEP && place->work->step->is_optional);
        count += is_branch && place->is_reached;
    }
    return count;
}

static void judge(struct search *search, struct proof *proof, struct arena *arena)
{
    proof->states = search->table.count;
    proof->branches = branches_of(search->program);
    if (search->orders != NULL)
        proof->safe_orders = safe_orders_shown(search->orders);
    tell_paths(search, proof, arena);
    if (proof->path_count > 0) {
        proof->verdict = PROOF_UNSAFE;
    } else if (search->has_given_up) {
        proof->verdict = PROOF_TOO_LARGE;
        tell_multiplying(search->program, search->is_order_unknown, proof, arena);
    } else {
        proof->verdict = PROOF_SOUND;
        proof->doubt_count = search->doubt_count;
    }
}

struct proof prove(const struct procedure *procedure, struct proving proving,
                   struct arena *arena, struct arena *scratch)
{
    assert(arena != scratch);
    struct arena_mark mark = arena_mark(scratch);
    struct proof proof = {0};
    struct program program = program_of(procedure, proving.omission, scratch);
    if (program.is_too_large) {
        proof.verdict = PROOF_TOO_LARGE;
        tell_multiplying(&program, false, &proof, arena);
    } else {
        struct search *search = arena_new(scratch, struct search);
        search_all(search, &program, proving.with_orders, proving.states_max);
        judge(search, &proof, arena);
        if (proof.verdict == PROOF_SOUND && proving.found != NULL)
            warn_of_idle(&program, proving.found);
    }
    arena_rewind(scratch, mark);
    if (proof.verdict == PROOF_SOUND) {
        struct proof *kept = arena_new(arena, struct proof);
        proof.sound = (struct sound_procedure){procedure, kept};
        *kept = proof;
    }
    return proof;
}

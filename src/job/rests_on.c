/*
 * rests_on.c - what rests on what: which readings and answers an expression hangs on.
 */
#include "job_state.h"

enum { GIVEN_NODES_MAX = 32 };

struct dependence {
    const struct job *job;
    bool *rests;                                  /* by symbol */
    const struct node *forgiven[GIVEN_NODES_MAX]; /* under given(): may be missing */
    size_t forgiven_count;
};

static bool is_forgiven(const struct dependence *dependence, const struct node *node)
{
    for (size_t i = 0; i < dependence->forgiven_count; i++) {
        if (dependence->forgiven[i] == node)
            return true;
    }
    return false;
}

static void forgive(struct dependence *dependence, const struct node *node)
{
    if (dependence->forgiven_count < GIVEN_NODES_MAX)
        dependence->forgiven[dependence->forgiven_count++] = node;
}

static void note_dependence(void *self, const struct node *node);

static const struct expression *definition_of(const struct job *job, unsigned symbol)
{
    const struct symbol *about = &job->procedure->symbols[symbol];
    if (about->kind == SYMBOL_NAME)
        return job->procedure->names[about->item].value;
    if (about->kind == SYMBOL_RESULT)
        return job->procedure->results[about->item].definition.value;
    return NULL;
}

/* NOLINTNEXTLINE(misc-no-recursion): definitions do not go round in a circle */
static void walk_dependence(const struct job *job, const struct expression *expression,
                            bool *rests) /* NOLINT(readability-non-const-parameter): filled */
{
    struct dependence dependence = {.job = job, .rests = rests};
    expression_walk(expression->root, note_dependence, &dependence);
}

/* Who is treated rests on what was read before where an expression chooses; the effect on all of it. */
/* NOLINTNEXTLINE(misc-no-recursion): who is treated rests on no trial that is not yet allotted */
static void note_trial(struct dependence *dependence, unsigned symbol)
{
    const struct procedure *procedure = dependence->job->procedure;
    if (procedure->symbols[symbol].kind != SYMBOL_TRIAL)
        return;
    unsigned item = procedure->symbols[symbol].item;
    const struct trial *trial = procedure->trials[item / TRIAL_VALUES];
    if (trial->chosen != NULL && !dependence->rests[trial->symbols[TRIAL_TREATED]])
        walk_dependence(dependence->job, trial->chosen, dependence->rests);
    dependence->rests[trial->symbols[TRIAL_TREATED]] = true;
    if (item % TRIAL_VALUES == TRIAL_TREATED && trial->chosen != NULL)
        walk_dependence(dependence->job, trial->chosen, dependence->rests);
    if (item % TRIAL_VALUES == TRIAL_TREATED)
        return;
    dependence->rests[procedure->readings[trial->before].symbol] = true;
    dependence->rests[procedure->readings[trial->after].symbol] = true;
}

/* Definitions never go round in a circle (the loader refuses it), and each is walked only once. */
/* NOLINTNEXTLINE(misc-no-recursion): as said */
static void note_dependence(void *self, const struct node *node)
{
    struct dependence *dependence = self;
    bool passes_on = node->kind == NODE_HERE || node->kind == NODE_LABEL;
    if (node->kind == NODE_CALL && node->function == FUNCTION_given && node->argument_count > 0)
        forgive(dependence, node->arguments[0]);
    else if (passes_on && is_forgiven(dependence, node))
        forgive(dependence, node->first);
    if (node->kind != NODE_SYMBOL || is_forgiven(dependence, node) ||
        dependence->rests[node->symbol])
        return;
    dependence->rests[node->symbol] = true;
    note_trial(dependence, node->symbol);
    const struct expression *definition = definition_of(dependence->job, node->symbol);
    if (definition != NULL)
        walk_dependence(dependence->job, definition, dependence->rests);
}

void mark_rests(const struct job *job, const struct expression *expression, bool *symbols)
{
    walk_dependence(job, expression, symbols);
}

bool rests_on(const struct job *job, const struct expression *expression, unsigned symbol,
              struct arena *scratch)
{
    bool *rests = arena_array(scratch, bool, job->procedure->symbol_count);
    walk_dependence(job, expression, rests);
    return rests[symbol];
}

static void note_deciding(struct job *job, const struct expression *expression)
{
    if (expression != NULL)
        walk_dependence(job, expression, job->decides);
}

/* What a step cannot be done without: how long to wait, how much to fill in, how tight. */
static void note_needed(struct job *job, const struct step *step)
{
    for (size_t i = 0; i < step->starts_count; i++) {
        note_deciding(job, step->starts[i].at_least);
        note_deciding(job, step->starts[i].at_most);
    }
    for (size_t i = 0; i < step->part_count + step->consume_count; i++) {
        const struct supply *supply =
            i < step->part_count ? &step->parts[i] : &step->consumes[i - step->part_count];
        note_deciding(job, supply->amount);
        note_deciding(job, supply->at_most);
    }
    note_deciding(job, step->torque);
    note_deciding(job, step->turn);
    note_deciding(job, step->extension);
    note_deciding(job, step->wrench_length);
    for (size_t i = 0; i < step->action.piece_count; i++)
        note_deciding(job, step->action.pieces[i].value);
}

void find_deciding(struct job *job)
{
    job->decides = arena_array(job->arena, bool, job->procedure->symbol_count);
    for (size_t i = 0; i < job->procedure->work_count; i++) {
        const struct work *work = job->procedure->works[i];
        note_deciding(job, work->when);
        note_deciding(job, work->loop.where);
        note_deciding(job, work->until);
        if (work->step != NULL)
            note_needed(job, work->step);
        if (work->step != NULL && work->step->allots != NULL)
            note_deciding(job, work->step->allots->chosen);
    }
}

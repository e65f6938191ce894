#include "verify/rules_looking.h"

/* What the rules share: who is told, what is allowed, in which order they look. */

bool rules_is_own(const struct rules *rules, struct place place)
{
    return place.source == rules->own;
}

struct text rules_number(struct rules *rules, size_t number)
{
    return text_number(rules->scratch, (long long)number);
}

bool step_says_danger(const struct step *step)
{
    return step->message_count > 0 && step->messages[0].signal == SIGNAL_DANGER;
}

const struct condition *rules_condition(const struct rules *rules, unsigned id)
{
    return rules->procedure->conditions[id];
}

/* --- what is allowed --------------------------------------------------------------------------- */

static bool is_among(const struct allowance *allows, size_t count, enum finding finding,
                     bool *is_used)
{
    for (size_t i = 0; i < count; i++)
        if (allows[i].rule == finding) {
            is_used[i] = true;
            return true;
        }
    return false;
}

static bool is_allowed(struct rules *rules, const struct work *work, enum finding finding)
{
    const struct procedure *procedure = rules->procedure;
    if (procedure == NULL)
        return false;
    if (work != NULL && work->step != NULL && rules->allow_from != NULL &&
        is_among(work->step->allows, work->step->allow_count, finding,
                 rules->is_used + rules->allow_from[work->id]))
        return true;
    return is_among(procedure->allows, procedure->allow_count, finding, rules->is_used);
}

static void prepare_allowances(struct rules *rules)
{
    const struct procedure *procedure = rules->procedure;
    size_t count = procedure->allow_count;
    size_t *from = NULL;
    for (size_t i = 0; i < procedure->work_count; i++) {
        const struct step *step = procedure->works[i]->step;
        if (step == NULL || step->allow_count == 0)
            continue;
        if (from == NULL)
            from = arena_array(rules->scratch, size_t, procedure->work_count);
        from[i] = count;
        count += step->allow_count;
    }
    rules->allow_from = from;
    rules->is_used = arena_array(rules->scratch, bool, count);
}

static void report_unused(struct rules *rules, const struct allowance *allows, size_t count,
                          const bool *is_used)
{
    for (size_t i = 0; i < count; i++)
        if (!is_used[i] && rules_is_own(rules, allows[i].place))
            report(rules->found, FINDING_ALLOW_UNUSED, allows[i].place,
                   text_from(finding_code(allows[i].rule)));
}

static void unused_allowances(struct rules *rules)
{
    const struct procedure *procedure = rules->procedure;
    report_unused(rules, procedure->allows, procedure->allow_count, rules->is_used);
    for (size_t i = 0; rules->allow_from != NULL && i < procedure->work_count; i++) {
        const struct step *step = procedure->works[i]->step;
        if (step != NULL)
            report_unused(rules, step->allows, step->allow_count,
                          rules->is_used + rules->allow_from[i]);
    }
}

/* --- who is told -------------------------------------------------------------------------------- */

static void note_followed(struct rules *rules, const struct work *work)
{
    for (; work != NULL; work = work->parent)
        if (work->kind == WORK_FOLLOW)
            report(rules->found, FINDING_FOLLOWED_HERE, work->place);
}

void rules_say(struct rules *rules, const struct work *work, enum finding finding,
               struct place place, const struct text *filling, size_t filling_count)
{
    bool is_error = finding_severity(finding) == SEVERITY_ERROR;
    if (!is_error && (!rules_is_own(rules, place) || is_allowed(rules, work, finding)))
        return;
    diagnostics_add(rules->found, finding, place, filling, filling_count);
    if (!rules_is_own(rules, place))
        note_followed(rules, work);
}

/* --- looking ------------------------------------------------------------------------------------ */

/* One warning instead of one for every step, if the procedure is not in English. */
static void find_language(struct rules *rules)
{
    enum { STEPS_ENOUGH = 3 };
    const struct procedure *procedure = rules->procedure;
    size_t own_steps = 0;
    for (size_t i = 0; i < procedure->work_count; i++) {
        const struct work *work = procedure->works[i];
        if (work->kind != WORK_STEP || !rules_is_own(rules, work->place))
            continue;
        own_steps++;
        if (rules_begins_with_verb(rules, work->step)) {
            rules->are_words_known = true;
            return;
        }
    }
    rules->are_words_known = own_steps < STEPS_ENOUGH;
    if (!rules->are_words_known)
        SAY(rules, NULL, FINDING_WORDS_NOT_KNOWN, procedure->works[0]->place);
}

static const bool *find_guards(struct rules *rules)
{
    const struct procedure *procedure = rules->procedure;
    bool *guards = arena_array(rules->scratch, bool, procedure->condition_count);
    for (size_t i = 0; i < procedure->work_count; i++) {
        const struct step *step = procedure->works[i]->step;
        if (step == NULL || !step_says_danger(step))
            continue;
        for (size_t n = 0; n < step->needs_count; n++)
            guards[step->needs[n].condition] = true;
    }
    return guards;
}

void rules_look(const struct procedure *procedure, struct diagnostics *found,
                struct arena *scratch)
{
    struct arena_mark mark = arena_mark(scratch);
    struct rules rules = {.procedure = procedure,
                          .own = procedure->sources[0],
                          .found = found,
                          .scratch = scratch};
    prepare_allowances(&rules);
    find_language(&rules);
    rules.guards_danger = find_guards(&rules);
    for (size_t i = 0; i < procedure->work_count; i++) {
        const struct work *work = procedure->works[i];
        if (work->kind != WORK_STEP)
            continue;
        rules_texts_of_step(&rules, work);
        rules_gates_of_step(&rules, work);
    }
    rules_conditions(&rules);
    rules_order_of_work(&rules);
    rules_expressions(&rules);
    unused_allowances(&rules);
    arena_rewind(scratch, mark);
}

/* --- a safety library --------------------------------------------------------------------------- */

static void look_at_activity(struct rules *rules, const struct safety_library *library,
                             const struct activity *activity, bool *guards)
{
    rules_message_text(rules, NULL, activity->signal, activity->hazard, activity->place);
    rules_message_text(rules, NULL, activity->signal, activity->harm, activity->place);
    if (activity->signal != SIGNAL_DANGER || activity->is_refused)
        return;
    bool has_question = false;
    for (size_t i = 0; i < activity->needs_count; i++) {
        guards[activity->needs[i]] = true;
        has_question = has_question || library->conditions[activity->needs[i]]->has_question;
    }
    if (activity->needs_count > 0 && !has_question)
        SAY(rules, NULL, FINDING_GATE_ON_A_TICK, activity->place, activity->name);
}

void rules_look_at_library(const struct safety_library *library, struct diagnostics *found,
                           struct arena *scratch)
{
    struct arena_mark mark = arena_mark(scratch);
    struct rules rules = {.own = library->sources[library->source_count - 1],
                          .found = found,
                          .scratch = scratch,
                          .are_words_known = true};
    bool *guards = arena_array(scratch, bool, library->condition_count);
    for (size_t i = 0; i < library->activity_count; i++)
        look_at_activity(&rules, library, library->activities[i], guards);
    for (size_t i = 0; i < library->condition_count; i++) {
        const struct condition *condition = library->conditions[i];
        if (condition->has_question && rules_is_own(&rules, condition->place))
            rules_answers(&rules, NULL, &condition->question, condition->question.ask.place,
                          guards[i]);
    }
    arena_rewind(scratch, mark);
}

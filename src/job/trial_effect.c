/*
 * trial_effect.c - what a trial came to, as numbers that expressions use, and how far its gauges and the state
 * of the machine let it compare.
 */
#include "job/trials.h"
#include "job_state.h"

#include <math.h>

/* --- what the gauges add --------------------------------------------------------------------------------- */

/* Above a job's own sources of error, as those of earlier values (earlier_values.c), which no effect has. */
enum { EFFECT_SOURCES = 0x30000000 };

static struct value reading_of(const struct job *job, unsigned reading, struct arena *arena)
{
    struct surroundings surroundings = job_surroundings(job, arena);
    return surroundings.value_of(surroundings.self, job->procedure->readings[reading].symbol,
                                 arena);
}

/* What a gauge is off by everywhere drops out between before and after, and with two gauges still between
 * treated and untreated; what is a part of the reading does not. */
static const struct gradient *errors_of_effect(const struct job *job, const struct trial *trial,
                                               const struct trial_outcome *outcome,
                                               struct arena *arena)
{
    const struct event *allotted = trial_allotted(job, trial);
    struct value before = reading_of(job, trial->before, arena);
    struct value after = reading_of(job, trial->after, arena);
    struct trial_errors *errors = arena_array(arena, struct trial_errors, before.count);
    for (size_t i = 0; i < before.count; i++)
        errors[i] = (struct trial_errors){.is_treated = allotted != NULL &&
                                                        (allotted->positions >> i & 1ULL) != 0,
                                          .before = before.items[i].number.gradient,
                                          .after = after.items[i].number.gradient};
    return trial_effect_errors(outcome, errors, before.count, arena);
}

/* With the freedom of the band throughout: what is known of a gauge as if from infinitely many would by
 * the formula of Welch and Satterthwaite make a band that rests on two changes narrower, not wider. */
static const struct gradient *with_freedom_of(const struct error_term *band,
                                              const struct gradient *gradient,
                                              struct arena *arena)
{
    if (gradient == NULL)
        return NULL;
    struct error_term *terms = arena_array(arena, struct error_term, gradient->count);
    for (size_t i = 0; i < gradient->count; i++) {
        terms[i] = gradient->terms[i];
        terms[i].freedom = band->freedom;
        terms[i].pool = band->pool;
    }
    return gradient_of(arena, terms, gradient->count);
}

/* The verdict's band as one error, and what the gauges add. */
static struct measured effect_of(const struct job *job, const struct trial *trial,
                                 const struct trial_outcome *outcome, struct arena *arena)
{
    struct measured effect = {outcome->effect, NULL};
    if (outcome->verdict == TRIAL_NONE)
        return effect;
    struct error_term band = {.source = EFFECT_SOURCES + trial->number,
                              .slope =
                                  outcome->band / student_quantile(0.975, outcome->freedom),
                              .origin = ERROR_REPEATABILITY,
                              .freedom = outcome->freedom,
                              .pool = (unsigned)job->procedure->reading_count + trial->number};
    const struct gradient *errors = errors_of_effect(job, trial, outcome, arena);
    const struct gradient *gauges =
        gradient_combine(arena, gradient_of_origin(arena, errors, ERROR_ACCURACY), 1,
                         gradient_of_origin(arena, errors, ERROR_RESOLUTION), 1);
    effect.gradient = gradient_combine(arena, gradient_of(arena, &band, 1), 1,
                                       with_freedom_of(&band, gauges, arena), 1);
    return effect;
}

static const struct gauge *gauge_of(const struct job *job, unsigned reading)
{
    int gauge = job->procedure->readings[reading].field.gauge;
    return gauge == GAUGE_NONE ? NULL : &job->fitted->gauges[gauge];
}

static double step_of(const struct gauge *gauge)
{
    return gauge == NULL ? 0 : gauge->resolution;
}

static bool is_accuracy_known(const struct gauge *gauge)
{
    return gauge != NULL && gauge->accuracy_count > 0;
}

struct trial_gauges trial_gauges_of(const struct job *job, const struct trial *trial,
                                    const struct trial_outcome *outcome, struct arena *arena)
{
    const struct gauge *before = gauge_of(job, trial->before);
    const struct gauge *after = gauge_of(job, trial->after);
    struct trial_gauges gauges = {.are_two = before != after};
    if (isnan(outcome->effect))
        return gauges;
    const struct gradient *errors = errors_of_effect(job, trial, outcome, arena);
    gauges.scale = gradient_expanded(gradient_of_origin(arena, errors, ERROR_RESOLUTION));
    gauges.is_scale_coarse = trial_is_scale_coarse(outcome, step_of(before), step_of(after));
    gauges.may_be_scale = gauges.is_scale_coarse && trial_hangs_on(outcome, gauges.scale);
    if (!gauges.are_two)
        return gauges;
    gauges.is_accuracy_known = is_accuracy_known(before) && is_accuracy_known(after);
    gauges.off = gradient_expanded(gradient_of_origin(arena, errors, ERROR_ACCURACY));
    gauges.may_be_all =
        trial_hangs_on(outcome, gauges.is_accuracy_known ? gauges.off : INFINITY);
    return gauges;
}

enum trial_matching trial_match_now(const struct job *job, const struct trial_match *match,
                                    struct arena *scratch)
{
    struct surroundings surroundings = job_surroundings(job, scratch);
    struct value value = expression_evaluate(match->holds, &surroundings, scratch);
    if (value.count != 1 || value.items[0].is_missing)
        return MATCH_UNREAD;
    if (!value.items[0].truth)
        return MATCH_FAILS;
    return value.items[0].is_unsure ? MATCH_UNSURE : MATCH_HOLDS;
}

bool trial_is_behind(const struct job *job, const struct trial *trial,
                     const struct expression *expression, struct arena *scratch)
{
    return rests_on(job, expression, trial->symbols[TRIAL_ANSWER], scratch) ||
           rests_on(job, expression, trial->symbols[TRIAL_EFFECT], scratch) ||
           rests_on(job, expression, trial->symbols[TRIAL_BAND], scratch);
}

/* A condition that itself rests on what a trial came to would go round in a circle. */
static bool rests_on_some_trial(const struct job *job, const struct expression *expression,
                                struct arena *scratch)
{
    for (size_t i = 0; i < job->procedure->trial_count; i++)
        if (trial_is_behind(job, job->procedure->trials[i], expression, scratch))
            return true;
    return false;
}

/* Some `match` does not hold, or the gauges may be all there is: what rests on it is unsure. */
static bool is_downgraded(const struct job *job, const struct trial *trial,
                          const struct trial_outcome *outcome, struct arena *scratch)
{
    for (size_t i = 0; i < trial->match_count; i++)
        if (!rests_on_some_trial(job, trial->matches[i].holds, scratch) &&
            trial_match_now(job, &trial->matches[i], scratch) != MATCH_HOLDS)
            return true;
    struct trial_gauges gauges = trial_gauges_of(job, trial, outcome, scratch);
    return gauges.may_be_all || gauges.may_be_scale;
}

struct text trial_answer_words(enum trial_verdict verdict)
{
    switch (verdict) {
    case TRIAL_ROSE_MORE:
        return TEXT("rose more");
    case TRIAL_FELL_MORE:
        return TEXT("fell more");
    case TRIAL_INCONCLUSIVE:
        return TEXT("inconclusive");
    case TRIAL_NONE:
        break;
    }
    return TEXT("no verdict");
}

static struct value treated_value(const struct job *job, const struct trial *trial,
                                  const struct symbol *symbol, struct arena *arena)
{
    const struct event *allotted = trial_allotted(job, trial);
    size_t count = index_size(job, symbol->type.index);
    struct value value = value_missing(arena, symbol->type, count, symbol->name);
    for (size_t i = 0; i < count && allotted != NULL; i++)
        value.items[i] = (struct scalar){.truth = (allotted->positions >> i & 1ULL) != 0};
    return value;
}

struct value trial_value_of(const struct job *job, unsigned item, struct arena *arena)
{
    const struct trial *trial = job->procedure->trials[item / TRIAL_VALUES];
    enum trial_value which = (enum trial_value)(item % TRIAL_VALUES);
    const struct symbol *symbol = &job->procedure->symbols[trial->symbols[which]];
    if (which == TRIAL_TREATED)
        return treated_value(job, trial, symbol, arena);
    struct value value = value_missing(arena, symbol->type, 1, symbol->name);
    if (trial_allotted(job, trial) == NULL)
        return value;
    struct trial_outcome outcome = trial_outcome_of(job, trial, arena);
    bool is_judged = outcome.verdict != TRIAL_NONE;
    bool is_weakened = is_judged && is_downgraded(job, trial, &outcome, arena);
    if (which == TRIAL_ANSWER)
        value.items[0] = (struct scalar){.text = trial_answer_words(outcome.verdict),
                                         .is_unsure = is_weakened};
    if (which == TRIAL_EFFECT && !isnan(outcome.effect))
        value.items[0] = (struct scalar){.number = effect_of(job, trial, &outcome, arena),
                                         .is_unsure = !is_judged || is_weakened};
    if (which == TRIAL_BAND && isfinite(outcome.band))
        value.items[0] = (struct scalar){.number = {outcome.band, NULL}};
    return value;
}

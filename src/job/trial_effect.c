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

static const struct gradient *errors_of_origin(const struct gradient *gradient,
                                               enum error_origin origin, struct arena *arena)
{
    size_t count = 0;
    if (gradient == NULL)
        return NULL;
    struct error_term *terms = arena_array(arena, struct error_term, gradient->count);
    for (size_t i = 0; i < gradient->count; i++)
        if (gradient->terms[i].origin == origin)
            terms[count++] = gradient->terms[i];
    return gradient_of(arena, terms, count);
}

/* What the gauges add to the effect, by the readings that made it.  What a gauge is off by everywhere
 * drops out between before and after, and with two gauges still between treated and untreated; what
 * is a part of the reading does not. */
static const struct gradient *errors_of_gauges(const struct job *job, const struct trial *trial,
                                               const struct trial_outcome *outcome,
                                               enum error_origin origin, struct arena *arena)
{
    const struct event *allotted = trial_allotted(job, trial);
    struct value before = reading_of(job, trial->before, arena);
    struct value after = reading_of(job, trial->after, arena);
    const struct gradient *sum = NULL;
    for (size_t i = 0; i < before.count && i < after.count; i++) {
        if (!outcome->changes[i].is_worked_out || before.items[i].is_missing ||
            after.items[i].is_missing)
            continue;
        bool is_treated = allotted != NULL && (allotted->positions >> i & 1ULL) != 0;
        double share = is_treated ? 1.0 / outcome->treated : -1.0 / outcome->untreated;
        const struct gradient *a =
            errors_of_origin(before.items[i].number.gradient, origin, arena);
        const struct gradient *b =
            errors_of_origin(after.items[i].number.gradient, origin, arena);
        sum = gradient_combine(arena, sum, 1, gradient_combine(arena, b, share, a, -share), 1);
    }
    return sum;
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
    const struct gradient *gauges =
        gradient_combine(arena, errors_of_gauges(job, trial, outcome, ERROR_ACCURACY, arena), 1,
                         errors_of_gauges(job, trial, outcome, ERROR_RESOLUTION, arena), 1);
    effect.gradient = gradient_combine(arena, gradient_of(arena, &band, 1), 1,
                                       with_freedom_of(&band, gauges, arena), 1);
    return effect;
}

static double step_error(const struct job *job, unsigned reading)
{
    int gauge = job->procedure->readings[reading].field.gauge;
    return gauge == GAUGE_NONE
               ? 0
               : rectangular_uncertainty(job->fitted->gauges[gauge].resolution / 2);
}

/* Do readings scatter less than they are rounded? */
static bool hides_scatter(const struct job *job, const struct trial *trial,
                          const struct trial_outcome *outcome)
{
    double rounding = fmax(step_error(job, trial->before), step_error(job, trial->after));
    return outcome->repeat_freedom > 0 && outcome->repeat_scatter < rounding;
}

static bool is_accuracy_known(const struct job *job, int gauge)
{
    return gauge != GAUGE_NONE && job->fitted->gauges[gauge].accuracy_count > 0;
}

struct trial_gauges trial_gauges_of(const struct job *job, const struct trial *trial,
                                    const struct trial_outcome *outcome, struct arena *arena)
{
    int before = job->procedure->readings[trial->before].field.gauge;
    int after = job->procedure->readings[trial->after].field.gauge;
    struct trial_gauges gauges = {.are_two = before != after};
    if (isnan(outcome->effect))
        return gauges;
    double size = fabs(outcome->effect);
    bool is_beyond = outcome->verdict == TRIAL_ROSE_MORE || outcome->verdict == TRIAL_FELL_MORE;
    gauges.scale =
        gradient_expanded(errors_of_gauges(job, trial, outcome, ERROR_RESOLUTION, arena));
    gauges.is_scale_coarse = hides_scatter(job, trial, outcome);
    gauges.may_be_scale =
        is_beyond && gauges.is_scale_coarse && size <= hypot(outcome->band, gauges.scale);
    if (!gauges.are_two)
        return gauges;
    gauges.is_accuracy_known = is_accuracy_known(job, before) && is_accuracy_known(job, after);
    gauges.off =
        gradient_expanded(errors_of_gauges(job, trial, outcome, ERROR_ACCURACY, arena));
    gauges.may_be_all =
        is_beyond && (!gauges.is_accuracy_known || size <= hypot(outcome->band, gauges.off));
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

bool trial_is_downgraded(const struct job *job, const struct trial *trial,
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
    bool is_downgraded = is_judged && trial_is_downgraded(job, trial, &outcome, arena);
    if (which == TRIAL_ANSWER)
        value.items[0] = (struct scalar){.text = trial_answer_words(outcome.verdict),
                                         .is_unsure = is_downgraded};
    if (which == TRIAL_EFFECT && !isnan(outcome.effect))
        value.items[0] = (struct scalar){.number = effect_of(job, trial, &outcome, arena),
                                         .is_unsure = !is_judged || is_downgraded};
    if (which == TRIAL_BAND && isfinite(outcome.band))
        value.items[0] = (struct scalar){.number = {outcome.band, NULL}};
    return value;
}

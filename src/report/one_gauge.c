/* The errors of several jobs as errors of one whole. */
#include "one_gauge.h"

#include "job/say.h"

#include <string.h>

static struct text shown_name(const struct gauge *gauge)
{
    return gauge->title.length > 0 ? gauge->title : gauge->name;
}

struct text gauge_told(const struct gauge *gauge, struct arena *arena)
{
    struct text name = say_gauge(arena, gauge);
    return gauge->calibrated.length == 0
               ? name
               : text_fill(arena, "{} (calibrated {})", name, gauge->calibrated);
}

static bool is_as_accurate(const struct gauge *a, const struct gauge *b)
{
    if (a->accuracy_count != b->accuracy_count)
        return false;
    for (size_t i = 0; i < a->accuracy_count; i++)
        if (a->accuracy[i].form != b->accuracy[i].form ||
            a->accuracy[i].amount != b->accuracy[i].amount ||
            a->accuracy[i].full_scale != b->accuracy[i].full_scale)
            return false;
    return true;
}

enum gauges_alike gauges_compare(const struct gauge *a, const struct gauge *b)
{
    if (!text_equal(shown_name(a), shown_name(b)))
        return OTHER_GAUGE;
    if (!text_equal(a->calibrated, b->calibrated) && a->calibrated.length > 0 &&
        b->calibrated.length > 0)
        return GAUGE_RECALIBRATED;
    if (!is_as_accurate(a, b))
        return GAUGE_RERATED;
    return a->calibrated.length == 0 || b->calibrated.length == 0 ? GAUGE_UNDATED : ONE_GAUGE;
}

/* --- sources of error ---------------------------------------------------------------------------- */

/* Where an error comes from, or the scatter of repeats that it is known from. */
struct origin {
    size_t owner;              /* a job: the first that had the gauge */
    const struct gauge *gauge; /* as that job has it; NULL: no gauge's own error */
    unsigned source; /* which term of its accuracy; else the source's number in the job */
    bool is_pool;
};

static unsigned number_of(struct errors_of_jobs *errors, struct origin wanted)
{
    for (size_t i = 0; i < errors->count; i++)
        if (errors->origins[i].owner == wanted.owner &&
            errors->origins[i].gauge == wanted.gauge &&
            errors->origins[i].source == wanted.source &&
            errors->origins[i].is_pool == wanted.is_pool)
            return (unsigned)i;
    if (errors->count == errors->capacity) {
        size_t capacity = errors->capacity == 0 ? 32 : 2 * errors->capacity;
        struct origin *larger = arena_array(errors->arena, struct origin, capacity);
        if (errors->count > 0)
            memcpy(larger, errors->origins, errors->count * sizeof *larger);
        errors->origins = larger;
        errors->capacity = capacity;
    }
    errors->origins[errors->count] = wanted;
    return (unsigned)errors->count++;
}

/* The terms of a gauge's accuracy are numbered one after the other. */
static unsigned term_of(const struct job *job, const struct gauge *gauge, unsigned source)
{
    unsigned term = 0;
    while (source > term && job_source_gauge(job, source - term - 1) == gauge)
        term++;
    return term;
}

static struct origin origin_of(const struct errors_of_jobs *errors, size_t job, unsigned source)
{
    const struct gauge *gauge = job_source_gauge(errors->jobs[job], source);
    if (gauge == NULL)
        return (struct origin){.owner = job, .source = source};
    unsigned term = term_of(errors->jobs[job], gauge, source);
    for (size_t i = 0; i < job; i++) {
        const struct fitted *fitted = job_fitted(errors->jobs[i]);
        for (size_t k = 0; k < fitted->procedure->gauge_count; k++)
            if (gauges_compare(&fitted->gauges[k], gauge) == ONE_GAUGE)
                return (struct origin){.owner = i, .gauge = &fitted->gauges[k], .source = term};
    }
    return (struct origin){.owner = job, .gauge = gauge, .source = term};
}

/* Two gauges of one job may be one gauge of an earlier one; their errors are then one. */
static size_t put_in_order(struct error_term *terms, size_t count, struct error_term term)
{
    size_t at = count;
    while (at > 0 && terms[at - 1].source > term.source)
        at--;
    if (at > 0 && terms[at - 1].source == term.source) {
        terms[at - 1].slope += term.slope;
        return count;
    }
    memmove(&terms[at + 1], &terms[at], (count - at) * sizeof *terms);
    terms[at] = term;
    return count + 1;
}

const struct gradient *errors_in(struct errors_of_jobs *errors, size_t job,
                                 const struct gradient *gradient)
{
    if (gradient == NULL)
        return NULL;
    struct error_term *terms = arena_array(errors->arena, struct error_term, gradient->count);
    size_t count = 0;
    for (size_t i = 0; i < gradient->count; i++) {
        struct error_term term = gradient->terms[i];
        term.source = number_of(errors, origin_of(errors, job, term.source));
        struct origin pool = {.owner = job, .source = term.pool, .is_pool = true};
        if (term.freedom > 0)
            term.pool = number_of(errors, pool);
        count = put_in_order(terms, count, term);
    }
    return gradient_of(errors->arena, terms, count);
}

#include "measure/verdict.h"

#include <math.h>

/* The conformance probability that decides (JCGM 106:2012, 8.3.2; the default of ISO 14253-1). */
static const double sure = 0.95;
/* Two doubles nearer than this differ by the noise of their arithmetic only. */
static const double rounding = 1e-12;

static const struct gradient *difference_of(struct measured a, struct measured b,
                                            struct arena *scratch)
{
    if (a.gradient == NULL && b.gradient == NULL)
        return NULL;
    return gradient_combine(scratch, a.gradient, 1, b.gradient, -1);
}

static double noise_of(double a, double b)
{
    return rounding * fmax(fabs(a), fabs(b));
}

bool numbers_agree(double a, double b)
{
    return fabs(a - b) <= noise_of(a, b);
}

double probability_at_least(struct measured a, struct measured b, struct arena *scratch)
{
    const struct gradient *difference = difference_of(a, b, scratch);
    double above = a.value - b.value;
    double uncertainty = gradient_combined(difference);
    if (uncertainty > noise_of(a.value, b.value))
        return student_below(above / uncertainty, gradient_freedom(difference));
    return above >= 0 || numbers_agree(a.value, b.value) ? 1 : 0;
}

bool probability_is_unsure(double probability)
{
    return probability > 1 - sure && probability < sure;
}

static bool is_at_least(double a, double b)
{
    return a >= b || numbers_agree(a, b);
}

bool lies_within(struct measured value, struct bounds bounds)
{
    return (bounds.at_least == NULL || is_at_least(value.value, bounds.at_least->value)) &&
           (bounds.at_most == NULL || is_at_least(bounds.at_most->value, value.value));
}

double conformity_probability(struct measured value, struct bounds bounds,
                              struct arena *scratch)
{
    double conforms = 1;
    if (bounds.at_least != NULL)
        conforms = probability_at_least(value, *bounds.at_least, scratch);
    /* Beyond one limit and beyond the other exclude each other, so the two add up. */
    if (bounds.at_most != NULL)
        conforms += probability_at_least(*bounds.at_most, value, scratch) - 1;
    return fmax(conforms, 0);
}

enum conformity conformity_of(double probability)
{
    if (probability >= sure)
        return CONFORMITY_PASS;
    return probability <= 1 - sure ? CONFORMITY_FAIL : CONFORMITY_TOO_CLOSE;
}

double guard_band(const struct gradient *difference)
{
    double combined = gradient_combined(difference);
    return combined > 0 ? combined * student_quantile(sure, gradient_freedom(difference)) : 0;
}

/* --- what would settle it ----------------------------------------------------------- */

/* The nearer limit: how far off, and what that distance is uncertain by. */
struct distance {
    double from_limit;
    const struct gradient *gradient;
};

static struct distance distance_to_limit(struct measured value, struct bounds bounds,
                                         struct arena *scratch)
{
    struct distance nearest = {.from_limit = INFINITY};
    const struct measured *both[] = {bounds.at_least, bounds.at_most};
    for (size_t i = 0; i < 2; i++) {
        if (both[i] == NULL || fabs(value.value - both[i]->value) >= nearest.from_limit)
            continue;
        nearest.from_limit = fabs(value.value - both[i]->value);
        nearest.gradient = difference_of(value, *both[i], scratch);
    }
    return nearest;
}

/* What might be changed about how it was measured; begins as `as_it_was`. */
struct change {
    double accuracy, resolution; /* the part of them that is left */
    unsigned repeats, readings;  /* readings in place of repeats; 0: as many as there are */
};

static const struct change as_it_was = {.accuracy = 1, .resolution = 1};

/* The guard with that change.  Each further reading adds as much freedom as each of the first ones
 * did. */
static double guard_with(const struct gradient *gradient, struct change change,
                         struct arena *scratch)
{
    struct error_term *terms = arena_array(scratch, struct error_term, gradient->count);
    for (size_t i = 0; i < gradient->count; i++) {
        terms[i] = gradient->terms[i];
        if (terms[i].origin == ERROR_ACCURACY)
            terms[i].slope *= change.accuracy;
        if (terms[i].origin == ERROR_RESOLUTION)
            terms[i].slope *= change.resolution;
        if (terms[i].origin == ERROR_REPEATABILITY && change.readings > change.repeats) {
            terms[i].slope *= sqrt((double)change.repeats / change.readings);
            terms[i].freedom *= (double)(change.readings - 1) / (change.repeats - 1);
        }
    }
    return guard_band(gradient_of(scratch, terms, gradient->count));
}

static bool has_origin(const struct gradient *gradient, enum error_origin origin)
{
    for (size_t i = 0; i < gradient->count; i++)
        if (gradient->terms[i].origin == origin)
            return true;
    return false;
}

static unsigned readings_wanted(const struct distance *distance, unsigned repeats,
                                struct arena *scratch)
{
    if (repeats < 2 || !has_origin(distance->gradient, ERROR_REPEATABILITY))
        return 0;
    struct change change = as_it_was;
    change.repeats = repeats;
    for (change.readings = repeats + 1; change.readings <= READINGS_MOST; change.readings++)
        if (guard_with(distance->gradient, change, scratch) <= distance->from_limit)
            return change.readings;
    return 0;
}

static double guard_of_gauge(const struct distance *distance, double part, bool is_finer,
                             struct arena *scratch)
{
    struct change change = as_it_was;
    change.accuracy = part;
    if (is_finer)
        change.resolution = part;
    return guard_with(distance->gradient, change, scratch);
}

/* The largest part of its errors that a gauge may have; 0 if even a perfect one would not do. */
static double gauge_error_allowed(const struct distance *distance, bool is_finer,
                                  struct arena *scratch)
{
    enum { HALVINGS = 20 };
    double enough = 0, too_much = 1;
    if (guard_of_gauge(distance, enough, is_finer, scratch) > distance->from_limit)
        return 0;
    for (int i = 0; i < HALVINGS; i++) {
        double middle = (enough + too_much) / 2;
        if (guard_of_gauge(distance, middle, is_finer, scratch) <= distance->from_limit)
            enough = middle;
        else
            too_much = middle;
    }
    return enough;
}

struct settling verdict_settling(struct measured value, struct bounds bounds, unsigned repeats,
                                 struct arena *scratch)
{
    struct distance distance = distance_to_limit(value, bounds, scratch);
    if (distance.gradient == NULL || !(distance.from_limit > 0))
        return (struct settling){0};
    struct settling settling = {.readings = readings_wanted(&distance, repeats, scratch)};
    if (has_origin(distance.gradient, ERROR_ACCURACY))
        settling.gauge_error = gauge_error_allowed(&distance, false, scratch);
    settling.wants_finer_scale =
        settling.gauge_error == 0 && has_origin(distance.gradient, ERROR_RESOLUTION);
    if (settling.wants_finer_scale)
        settling.gauge_error = gauge_error_allowed(&distance, true, scratch);
    return settling;
}

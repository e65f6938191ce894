#include "trial_band.h"

#include "measure/uncertainty.h"

#include <math.h>

/* As the changes spread, but never less than their repeats say they must, so that controls which
 * happen to agree fake no precision. */
struct spread larger_of(const struct spread *own, const struct spread *floor)
{
    bool is_floor = floor->freedom > 0 && floor->deviation > own->deviation;
    return is_floor ? *floor : *own;
}

/* Half of what holds 95 % of a single change. */
static double reach_of(const struct spread *spread)
{
    return spread->freedom > 0 ? student_quantile(0.975, spread->freedom) * spread->deviation
                               : 0;
}

/* The same for one that is held against a group of others.  Not the larger deviation but the larger
 * reach decides: repeats know nothing of how the positions differ, so that the many degrees of freedom
 * of a floor must not make the reach less than the few of the changes do.  (Were it so, three controls
 * read three times would call one of 15 changes real that are not, two one of 8.)  The reach of the
 * changes alone errs in 5 %, and this one is never less. */
struct spread farther_of(const struct spread *own, const struct spread *floor)
{
    return reach_of(floor) > reach_of(own) ? *floor : *own;
}

/* Welch and Satterthwaite, by shares of the whole, so that no square overflows; two floors rest on one
 * pool of repeats and are no two estimates. */
static double freedom_of(const struct spread *treated, unsigned treated_count,
                         const struct spread *untreated, unsigned untreated_count)
{
    if (treated->is_floor && untreated->is_floor)
        return treated->freedom;
    double ratio =
        squared(treated->deviation / untreated->deviation) * untreated_count / treated_count;
    double of_untreated = 1 / (1 + ratio), of_treated = 1 - of_untreated;
    return 1 / (squared(of_treated) / treated->freedom +
                squared(of_untreated) / untreated->freedom);
}

static double welch_band(const struct side *treated, const struct side *untreated,
                         double *freedom)
{
    struct spread t = larger_of(&treated->own, &treated->floor);
    struct spread u = larger_of(&untreated->own, &untreated->floor);
    *freedom = freedom_of(&t, treated->count, &u, untreated->count);
    return student_quantile(0.975, *freedom) *
           hypot(t.deviation / sqrt(treated->count), u.deviation / sqrt(untreated->count));
}

/* Student's t with one spread for both, as if the treatment did not change how much they differ. */
static double pooled_band(const struct side *treated, const struct side *untreated,
                          double *freedom)
{
    *freedom = treated->own.freedom + untreated->own.freedom;
    double deviation = hypot(treated->own.deviation * sqrt(treated->own.freedom),
                             untreated->own.deviation * sqrt(untreated->own.freedom)) /
                       sqrt(*freedom);
    return student_quantile(0.975, *freedom) * deviation *
           sqrt(1.0 / treated->count + 1.0 / untreated->count);
}

/* Two or three that happen to agree make Welch's t trust the larger group alone: of 100 trials of two
 * against six or eight, with nothing to be found, it calls 7 or 9 real.  The pooled t errs in 5 of them,
 * so where both can be had the wider band counts.  With as many on both sides Welch's is never the
 * narrower one, but for its floors. */
double group_band(const struct side *treated, const struct side *untreated, double *freedom)
{
    enum { FEW = 3 };
    double welch = welch_band(treated, untreated, freedom), pooled_freedom;
    if (treated->count == untreated->count || (treated->count > FEW && untreated->count > FEW))
        return welch;
    double pooled = pooled_band(treated, untreated, &pooled_freedom);
    if (pooled <= welch)
        return welch;
    *freedom = pooled_freedom;
    return pooled;
}

/* One alone has no spread of its own: it is held against that of the others. */
double single_band(const struct spread *untreated, unsigned untreated_count)
{
    return reach_of(untreated) * sqrt(1 + 1.0 / untreated_count);
}

double ways_to_choose(unsigned from, unsigned wanted)
{
    double ways = 1;
    for (unsigned i = 1; i <= wanted; i++)
        ways = ways * (from - wanted + i) / i;
    return round(ways);
}

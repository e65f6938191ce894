#ifndef MEASURE_TRIAL_BAND_H
#define MEASURE_TRIAL_BAND_H
/*
 * trial_band.h - how far an effect may lie off by chance.
 *
 * Purpose   One rule for the band of a trial, whether its readings are there or are
 *           only foreseen.
 * Owns      spreads, the bands made of them, and how many allocations there are.
 * May call  uncertainty.
 */
#include <stdbool.h>

static inline double squared(double x)
{
    return x * x;
}

/* How much the changes of a group spread.  `freedom` 0: not known. */
struct spread {
    double deviation;
    double freedom;
    bool is_floor;
};

/* The treated or the untreated ones, as far as a band hangs on them. */
struct side {
    unsigned count;
    struct spread own, floor;
};

/* Of a group: as its changes spread, or the floor if that is more. */
struct spread larger_of(const struct spread *own, const struct spread *floor);
/* The same for one that is held against a group of others: whichever reaches farther. */
struct spread farther_of(const struct spread *own, const struct spread *floor);

/* Half the 95 % interval of the difference of two groups, with its degrees of freedom; both count at
 * least two. */
double group_band(const struct side *treated, const struct side *untreated, double *freedom);
/* Of one alone against the mean of others that spread like this. */
double single_band(const struct spread *untreated, unsigned untreated_count);

/* In how many ways so many can be chosen; rounded where that is above 2^53. */
double ways_to_choose(unsigned from, unsigned wanted);

#endif

#ifndef MEASURE_VERDICT_H
#define MEASURE_VERDICT_H
/*
 * verdict.h - is a value within its limits, and what would settle it.
 *
 * Purpose   A value of 8.9 bar ± 0.3 bar has not shown that it is above 8.8 bar.
 *           The probability that it is says so, and whether more readings or a
 *           better gauge could tell.
 * Owns      numbers only: the words are the outcome's.
 * May call  base, uncertainty.
 *
 * Sources: JCGM 106:2012, 7 (conformance probability), with Student's t in place
 * of the normal distribution where a scatter was estimated (JCGM 100:2008, G.3).
 * The guard that 95 % asks for is one-sided, as in ISO 14253-1: 1.65 standard
 * uncertainties where nothing was estimated.
 */
#include "measure/uncertainty.h"

/* The probability that a is above b, with what they share taken out; without uncertainty 1 if it
 * is or if the two are the same but for the rounding of the arithmetic, else 0. */
double probability_at_least(struct measured a, struct measured b, struct arena *scratch);
/* The same but for the rounding of the arithmetic: 12.3 - 12 is 0.3. */
bool numbers_agree(double a, double b);
/* Between 5 and 95 %: a comparison that nobody should lean on. */
bool probability_is_unsure(double probability);

struct bounds {
    const struct measured *at_least,
        *at_most; /* NULL: no such limit; both belong to the interval */
};

/* The value alone, without what it is uncertain by. */
bool lies_within(struct measured value, struct bounds bounds);
double conformity_probability(struct measured value, struct bounds bounds,
                              struct arena *scratch);

enum conformity { CONFORMITY_PASS, CONFORMITY_FAIL, CONFORMITY_TOO_CLOSE };
enum conformity conformity_of(double probability);

/* How far inside its limit a value must lie to pass, for the gradient of value minus limit. */
double guard_band(const struct gradient *difference);

/* What would settle it if the value came out the same again.  More readings help only against
 * scatter, a better gauge only against its own errors; nothing helps a value that lies on its limit. */
enum { READINGS_MOST = 30 }; /* nobody repeats a reading more often to settle a verdict */
struct settling {
    unsigned readings; /* of each, all together, up to READINGS_MOST; 0: no such number does */
    double
        gauge_error; /* the part of the present accuracy errors that is still allowed, below 1;
                           0: no gauge does */
    bool
        wants_finer_scale; /* and the same part of the resolution: accuracy alone would not do */
};
/* `repeats`: how many readings of each there are; below 2 the scatter is not known, and nobody can
 * tell how many would do. */
struct settling verdict_settling(struct measured value, struct bounds bounds, unsigned repeats,
                                 struct arena *scratch);

#endif

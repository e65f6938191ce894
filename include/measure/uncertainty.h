#ifndef MEASURE_UNCERTAINTY_H
#define MEASURE_UNCERTAINTY_H
/*
 * uncertainty.h - a number and what it is uncertain by.
 *
 * Purpose   Every computed value carries, beside the number, how much it moves
 *           with each source of error (its gradient), so that an error shared
 *           by two readings of one gauge cancels where it should.
 * Owns      the type that travels through expressions, and its arithmetic.
 * May call  base, quantity.
 *
 * The gradient is NULL for an exact value.  Sources of error are numbered by
 * whoever makes the readings (the job); a value worked out from two others has
 * the gradient that the chain rule gives (JCGM 100:2008, 5.1.2).
 */
#include "measure/quantity.h"

struct error_term {
    unsigned source; /* which source of error; terms are sorted by it */
    double slope; /* change of the value, in SI, for one standard uncertainty of the source */
};

struct gradient {
    size_t count;
    struct error_term terms[];
};

struct measured {
    double value;                    /* in the SI unit of its kind */
    const struct gradient *gradient; /* NULL: exact */
};

/* a * slope_a + b * slope_b for the gradients of two operands; either may be exact. */
const struct gradient *gradient_combine(struct arena *arena, const struct gradient *a,
                                        double slope_a, const struct gradient *b,
                                        double slope_b);
/* Root of the sum of squares (JCGM 100:2008, eq. 10); 0 for an exact value. */
double gradient_combined(const struct gradient *gradient);

#endif

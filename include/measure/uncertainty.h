#ifndef MEASURE_UNCERTAINTY_H
#define MEASURE_UNCERTAINTY_H
/*
 * uncertainty.h - a number and what it is uncertain by.
 *
 * Purpose   Every computed value carries, beside the number, how much it moves
 *           with each source of error (its gradient), so that an error shared
 *           by two readings of one gauge cancels where it should, and a scatter
 *           known from three repeats counts for no more than three repeats.
 * Owns      the type that travels through expressions, its arithmetic, Student's
 *           distribution, and how a value is written with its uncertainty.
 * May call  base, quantity.
 *
 * The gradient is NULL for an exact value.  Sources of error are numbered by
 * whoever makes the readings (the job); a value worked out from two others has
 * the gradient that the chain rule gives (JCGM 100:2008, 5.1.2).  All of it is of
 * first order; docs/expressions.md says where that is too good.
 */
#include "measure/quantity.h"

/* What kind of ignorance it is: what would make it smaller hangs on that. */
enum error_origin {
    ERROR_STATED,       /* written with ±: nothing done here changes it */
    ERROR_ACCURACY,     /* of a gauge: a better gauge */
    ERROR_RESOLUTION,   /* of its scale: a finer one */
    ERROR_REPEATABILITY /* scatter between repeats: more of them */
};

struct error_term {
    unsigned source; /* which source of error; terms are sorted by it */
    double slope; /* change of the value, in SI, for one standard uncertainty of the source */
    enum error_origin origin;
    /* Degrees of freedom of that standard uncertainty; 0: it was not estimated from a sample but is
     * known, as if from infinitely many. */
    double freedom;
    /* With freedom: terms of one pool rest on one estimated scatter, however many errors they are. */
    unsigned pool;
};

struct gradient {
    size_t count;
    struct error_term terms[];
};

struct measured {
    double value;                    /* in the SI unit of its kind */
    const struct gradient *gradient; /* NULL: exact */
};

/* --- made ----------------------------------------------------------------------- */

/* Terms as given, which must be sorted by source, each source once; those without slope are left
 * out, and NULL is what is left of none. */
const struct gradient *gradient_of(struct arena *arena, const struct error_term *terms,
                                   size_t count);
/* a * slope_a + b * slope_b for the gradients of two operands; either may be exact.  A source in
 * both keeps the origin, freedom and pool it has. */
const struct gradient *gradient_combine(struct arena *arena, const struct gradient *a,
                                        double slope_a, const struct gradient *b,
                                        double slope_b);

/* The errors of one origin among them. */
const struct gradient *gradient_of_origin(struct arena *arena, const struct gradient *gradient,
                                          enum error_origin origin);

/* The standard uncertainty of an error that lies anywhere within ± half_width alike: over sqrt(3)
 * (JCGM 100:2008, 4.3.7).  A scale of step r rounds by up to r/2 (F.2.2.1). */
double rectangular_uncertainty(double half_width);

/* --- a scatter known from repeats ----------------------------------------------- */

/* Squares within each group of repeats, and how many were free to differ: what groups of repeats
 * that scatter alike know together.  Begins as {0}. */
struct scatter {
    double squares, freedom;
};
void scatter_add(struct scatter *scatter, const double *repeats, size_t count);
/* The standard deviation of one repeat; 0 where nothing was repeated. */
double scatter_deviation(const struct scatter *scatter);

/* --- all sources together --------------------------------------------------------- */

/* Root of the sum of squares (JCGM 100:2008, eq. 10); 0 for an exact value; not finite if a slope is
 * not, and nothing below may then be asked. */
double gradient_combined(const struct gradient *gradient);
/* Effective degrees of freedom by Welch and Satterthwaite (G.4.1), not cut to a whole number; the
 * terms of one pool are added up first and entered once.  INFINITY if nothing was estimated. */
double gradient_freedom(const struct gradient *gradient);
/* Half the interval that holds the value with 95 %: Student's t times the combined uncertainty
 * (G.3.2); 0 for an exact value. */
double gradient_expanded(const struct gradient *gradient);

/* Student's distribution; `freedom` at least 1, any real number, or INFINITY for the normal one. */
double student_below(double t, double freedom);              /* probability */
double student_quantile(double probability, double freedom); /* t below which it lies */

/* --- written ------------------------------------------------------------------------ */

/* An uncertainty rounded to two digits: to the nearest, but upwards where that would make it more
 * than one part in forty too small (JCGM 100:2008, 7.2.6: 10.47 is 11, 28.05 is 28).  `place` is the
 * power of ten of its last digit. */
struct rounded {
    double amount;
    int place;
};
struct rounded uncertainty_rounded(double uncertainty);
/* "(8.20 ± 0.25) bar": the value to the last place of its uncertainty (7.2.2, 7.2.6).  Both in SI,
 * the uncertainty as a step and above 0. */
struct text measured_text(struct arena *arena, double si, double uncertainty,
                          const struct unit *unit);
/* The uncertainty alone: "0.25 bar", "1.8 °C". */
struct text uncertainty_text(struct arena *arena, double uncertainty, const struct unit *unit);

#endif

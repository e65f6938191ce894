#ifndef MEASURE_OUTLIER_H
#define MEASURE_OUTLIER_H
/*
 * outlier.h - which of several values stands out from the others by more than chance.
 *
 * Purpose   One weak cylinder of six, one slip of the pen among ten repeats: how far
 *           off must a value lie before it is more than the farthest of so many?
 * Owns      the arithmetic, numbers only: the words are the caller's.
 * May call  base, uncertainty.
 *
 * The values are taken to scatter alike, normally, but for the few that stand out.  With three
 * or four of them hardly any can: see outlier_critical().  Values read on a coarse scale do not
 * scatter so: where all others agree to its step, one step off stands out.
 *
 * A value that is NAN or infinite was not read: it is passed over and never stands out.  Where
 * all are equal, or differ by the rounding of the arithmetic alone (1e-12 of the largest), none
 * does.
 *
 * Sources: F. E. Grubbs, Technometrics 11(1), 1969; B. Rosner, Technometrics 25(2), 1983;
 * NIST/SEMATECH e-Handbook 1.3.5.17.1 and 1.3.5.17.3.
 */
#include <stdbool.h>
#include <stddef.h>

/* How far, in standard deviations of all `count` values (itself among them), the farthest from
 * their mean may lie in `risk` of all cases by chance alone: Grubbs' two-sided critical value;
 * the one-sided one of the same risk is that for twice the risk.  `count` at least 3; `risk`
 * between 0 and 1.  No value can lie farther than (count - 1)/sqrt(count), and of three the
 * critical value is that but for a thousandth. */
double outlier_critical(size_t count, double risk);

/* One value taken away: the farthest from the mean of those that were left. */
struct outlier_step {
    size_t which;
    double distance; /* in standard deviations; 0 where all left are equal */
    double critical; /* at 5 % */
};
/* The generalized ESD procedure: takes the farthest away, up to `most` times and while three are
 * left to judge it by, and gives how many steps it made.  How many values stand out is the last
 * step whose distance is above its critical value: two that hide one another are both found.
 * `is_taken` has room for `count`, `steps` for `most`. */
size_t outlier_steps(const double *values, size_t count, size_t most,
                     struct outlier_step *steps, bool *is_taken);
/* Which stand out, at 5 %; gives how many, up to `most`.  None of fewer than three that were read.
 * With `most` 1 chance alone makes one stand out in 5 % of all cases.  With more and few values
 * it does so oftener: of 8 values with 2 at most in 7.5 %, with 4 at most in 13.5 % (drawn);
 * Rosner's critical values hold from 25 values. */
size_t outliers_find(const double *values, size_t count, size_t most,
                     struct outlier_step *steps, bool *stands_out);

#endif

#ifndef MEASURE_TREND_H
#define MEASURE_TREND_H
/*
 * trend.h - does it rise, does it fall, or does it only scatter.
 *
 * Purpose   One reading over the years: a straight line through it with what the
 *           scatter round the line leaves uncertain, and a running average that
 *           shows a small drift before any single reading does.
 * Owns      the arithmetic, numbers only: the words are the caller's.
 * May call  careful.h.
 *
 *     struct line line;
 *     if (line_fit(&line, years, pressures, count))
 *         ... line.slope ± student_quantile(0.975, line.freedom) * line.slope_uncertainty
 *
 * Sources: least squares, JCGM 100:2008, H.3, and NIST StRD, linear regression; the moving range
 * and the running average, NIST/SEMATECH e-Handbook 6.3.2.2 and 6.3.2.4.  Everything in the unit of
 * the values given; nothing here may be NAN.
 */
#include <stdbool.h>
#include <stddef.h>

/* A straight line, kept at the middle of its points: there its height and its slope do not hang on
 * one another, and no digits are lost to a year like 2026. */
struct line {
    double at_middle;          /* the mean of x; 0 for a line through the origin */
    double middle;             /* its height there; 0 for a line through the origin */
    double slope;              /* per unit of x */
    double deviation;          /* the standard deviation of the points about it */
    double middle_uncertainty; /* standard uncertainties; 0 for the middle at the origin */
    double slope_uncertainty;
    double freedom; /* degrees of freedom of all three: points less 2, or less 1 */
};
/* The line with the least squares of vertical distances.  False with fewer than three points, or
 * with all at one x: then there is no line, or none with a scatter about it. */
bool line_fit(struct line *line, const double *x, const double *y, size_t count);
/* The same through (0, 0), as of what is used up over a distance; false with fewer than two
 * points, or with all at x = 0. */
bool line_fit_through_origin(struct line *line, const double *x, const double *y, size_t count);

double line_at(const struct line *line, double x);
/* The standard uncertainty of its height there; and of one more point there, which scatters as the
 * others did. */
double line_uncertainty(const struct line *line, double x);
double line_next_uncertainty(const struct line *line, double x);

/* The standard deviation of single values in the order in which they came, from how far each
 * lies from the one before: a slow drift does not make it larger.  Mean moving range over 1.128,
 * the mean range of two normal values (6.3.2.2).  At least two values. */
double moving_range_deviation(const double *values, size_t count);

/* A running average gives the newest value the weight `weight`, above 0 and at most 1, and what
 * was before the rest (6.3.2.4).  It begins at the target. */
double running_average_next(double average, double value, double weight);
/* How far from its target it may lie, three standard deviations of its own, when `steps` values
 * have gone in; INFINITY: after many.  `deviation`: of a single value. */
double running_average_limit(double deviation, double weight, double steps);

#endif

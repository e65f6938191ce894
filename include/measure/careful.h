#ifndef MEASURE_CAREFUL_H
#define MEASURE_CAREFUL_H
/*
 * careful.h - sums, means and spreads of a few numbers.
 *
 * Purpose   Numbers that are large and close together keep their digits, and
 *           are added up in one way wherever they are added up.
 * Owns      this arithmetic.
 * May call  nothing.
 */
#include <stddef.h>

double careful_total(const double *values, size_t count);
/* count >= 1 */
double careful_mean(const double *values, size_t count);
/* Of a sample, about its mean; count >= 2. */
double careful_deviation(const double *values, size_t count, double mean);

#endif

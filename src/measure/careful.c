#include "measure/careful.h"

#include <math.h>

/* Neumaier's sum: what a large sum swallows of a small number is kept aside.  Plain doubles, so
 * that every machine gives the same digits, which `long double` would not. */
struct careful_sum {
    double sum, lost;
};

static void careful_add(struct careful_sum *to, double value)
{
    double sum = to->sum + value;
    if (fabs(to->sum) >= fabs(value))
        to->lost += (to->sum - sum) + value;
    else
        to->lost += (value - sum) + to->sum;
    to->sum = sum;
}

double careful_total(const double *values, size_t count)
{
    struct careful_sum sum = {0, 0};
    for (size_t i = 0; i < count; i++)
        careful_add(&sum, values[i]);
    return sum.sum + sum.lost;
}

double careful_mean(const double *values, size_t count)
{
    return careful_total(values, count) / (double)count;
}

/* Two passes, corrected for the rounding of the mean (Chan, Golub, LeVeque 1983, eq. 1.7). */
double careful_deviation(const double *values, size_t count, double mean)
{
    struct careful_sum squares = {0, 0}, rests = {0, 0};
    for (size_t i = 0; i < count; i++) {
        double rest = values[i] - mean;
        careful_add(&squares, rest * rest);
        careful_add(&rests, rest);
    }
    double rest = rests.sum + rests.lost;
    double sum = squares.sum + squares.lost - rest * rest / (double)count;
    return sqrt(fmax(sum, 0) / (double)(count - 1));
}

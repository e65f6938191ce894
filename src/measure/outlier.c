#include "measure/outlier.h"

#include "measure/uncertainty.h"

#include <assert.h>
#include <math.h>

static const double risk_taken = 0.05;
/* Worked-out values that ought to be equal differ by their rounding: a part of the largest. */
static const double rounding = 1e-12;

double outlier_critical(size_t count, double risk)
{
    assert(count >= 3 && risk > 0 && risk < 1);
    double n = (double)count;
    double t = student_quantile(1 - risk / (2 * n), n - 2);
    return (n - 1) / sqrt(n) * sqrt(t * t / (n - 2 + t * t));
}

/* The farthest of the `left` that are not taken away. */
static struct outlier_step farthest(const double *values, size_t count, const bool *is_taken,
                                    size_t left)
{
    double mean = 0, squares = 0, largest = 0;
    for (size_t i = 0; i < count; i++) {
        if (is_taken[i])
            continue;
        mean += values[i] / (double)left;
        largest = fmax(largest, fabs(values[i]));
    }
    struct outlier_step step = {.which = count};
    double off = -1,
           scale = largest > 0 ? largest : 1; /* nothing squared is too small or large */
    for (size_t i = 0; i < count; i++) {
        if (is_taken[i])
            continue;
        double distance = fabs(values[i] - mean) / scale;
        squares += distance * distance;
        if (distance > off) {
            off = distance;
            step.which = i;
        }
    }
    double deviation = sqrt(squares / (double)(left - 1));
    step.distance = off > rounding ? off / deviation : 0;
    step.critical = outlier_critical(left, risk_taken);
    return step;
}

size_t outlier_steps(const double *values, size_t count, size_t most,
                     struct outlier_step *steps, bool *is_taken)
{
    size_t made = 0, left = 0;
    for (size_t i = 0; i < count; i++) {
        is_taken[i] = !isfinite(values[i]);
        left += !is_taken[i];
    }
    for (; made < most && left >= 3; made++, left--) {
        steps[made] = farthest(values, count, is_taken, left);
        is_taken[steps[made].which] = true;
    }
    return made;
}

size_t outliers_find(const double *values, size_t count, size_t most,
                     struct outlier_step *steps, bool *stands_out)
{
    size_t made = count < 3 ? 0 : outlier_steps(values, count, most, steps, stands_out);
    size_t found = 0;
    for (size_t i = 0; i < made; i++)
        if (steps[i].distance > steps[i].critical)
            found = i + 1;
    for (size_t i = 0; i < count; i++)
        stands_out[i] = false;
    for (size_t i = 0; i < found; i++)
        stands_out[steps[i].which] = true;
    return found;
}

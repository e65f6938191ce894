#include "measure/trend.h"

#include "measure/careful.h"

#include <assert.h>
#include <math.h>

/* About (at_middle, middle), which stay as they are. */
static bool fit_slope(struct line *line, const double *x, const double *y, size_t count)
{
    double squares = 0, products = 0, distances = 0;
    for (size_t i = 0; i < count; i++) {
        double along = x[i] - line->at_middle;
        squares += along * along;
        products += along * (y[i] - line->middle);
    }
    if (!(squares > 0))
        return false;
    line->slope = products / squares;
    for (size_t i = 0; i < count; i++) {
        double distance = y[i] - line->middle - line->slope * (x[i] - line->at_middle);
        distances += distance * distance;
    }
    line->deviation = sqrt(distances / line->freedom);
    line->slope_uncertainty = line->deviation / sqrt(squares);
    return true;
}

bool line_fit(struct line *line, const double *x, const double *y, size_t count)
{
    if (count < 3)
        return false;
    *line = (struct line){.at_middle = careful_mean(x, count),
                          .middle = careful_mean(y, count),
                          .freedom = (double)count - 2};
    if (!fit_slope(line, x, y, count))
        return false;
    line->middle_uncertainty = line->deviation / sqrt((double)count);
    return true;
}

bool line_fit_through_origin(struct line *line, const double *x, const double *y, size_t count)
{
    if (count < 2)
        return false;
    *line = (struct line){.freedom = (double)count - 1};
    return fit_slope(line, x, y, count);
}

double line_at(const struct line *line, double x)
{
    return line->middle + line->slope * (x - line->at_middle);
}

double line_uncertainty(const struct line *line, double x)
{
    return hypot(line->middle_uncertainty, line->slope_uncertainty * (x - line->at_middle));
}

double line_next_uncertainty(const struct line *line, double x)
{
    return hypot(line->deviation, line_uncertainty(line, x));
}

double moving_range_deviation(const double *values, size_t count)
{
    const double range_of_two = 1.128; /* 2/sqrt(pi), as the handbook rounds it */
    assert(count >= 2);
    double ranges = 0;
    for (size_t i = 1; i < count; i++)
        ranges += fabs(values[i] - values[i - 1]);
    return ranges / (double)(count - 1) / range_of_two;
}

double running_average_next(double average, double value, double weight)
{
    assert(weight > 0 && weight <= 1);
    return weight * value + (1 - weight) * average;
}

double running_average_limit(double deviation, double weight, double steps)
{
    assert(weight > 0 && weight <= 1);
    double settled = 1 - pow(1 - weight, 2 * steps);
    return 3 * deviation * sqrt(weight / (2 - weight) * settled);
}

/*
 * evaluate_positions.c - the functions that go over the positions of a vector.
 */
#include "language.h"
#include "measure/careful.h"
#include "measure/outlier.h"
#include "measure/verdict.h"

#include <math.h>

/* --- over the positions ------------------------------------------------------------------ */

struct readings read_positions(const struct evaluator *evaluator, const struct value *vector,
                               const struct node *node)
{
    struct readings readings = {.missing = scalar_missing(node->arguments[0]->text)};
    bool is_first = true;
    readings.values = arena_array(evaluator->arena, double, vector->count);
    readings.gradients = arena_array(evaluator->arena, const struct gradient *, vector->count);
    for (size_t i = 0; i < vector->count; i++) {
        const struct scalar *item = &vector->items[i];
        readings.is_unsure = readings.is_unsure || item->is_unsure;
        if (item->is_missing && is_first)
            readings.missing = *item;
        is_first = is_first && !item->is_missing;
        if (item->is_missing)
            continue;
        readings.values[readings.count] = item->number.value;
        readings.gradients[readings.count++] = item->number.gradient;
    }
    return readings;
}

/* Of equals the least is the first and the greatest the last: what lies between them is 0 by the scale,
 * not by being one reading. */
static struct scalar extreme(const struct readings *readings, bool is_max)
{
    size_t best = 0;
    for (size_t i = 1; i < readings->count; i++)
        if (is_max ? readings->values[i] >= readings->values[best]
                   : readings->values[i] < readings->values[best])
            best = i;
    return scalar_number(readings->values[best], readings->gradients[best]);
}

/* The gradient of a sum of the readings, each times `slope`. */
static const struct gradient *gradient_of_sum(const struct evaluator *evaluator,
                                              const struct readings *readings, double slope)
{
    const struct gradient *sum = NULL;
    for (size_t i = 0; i < readings->count; i++)
        if (readings->gradients[i] != NULL)
            sum = gradient_combine(evaluator->arena, sum, 1, readings->gradients[i], slope);
    return sum;
}

static struct scalar mean_of(const struct evaluator *evaluator, const struct node *node,
                             const struct readings *readings)
{
    return finite_scalar(
        evaluator, node,
        scalar_number(careful_mean(readings->values, readings->count),
                      gradient_of_sum(evaluator, readings, 1 / (double)readings->count)));
}

static struct scalar sum_of(const struct evaluator *evaluator, const struct node *node,
                            const struct readings *readings)
{
    return finite_scalar(evaluator, node,
                         scalar_number(careful_total(readings->values, readings->count),
                                       gradient_of_sum(evaluator, readings, 1)));
}

static struct scalar median_of(const struct evaluator *evaluator, struct readings *readings)
{
    /* by insertion: there are as many as an engine has cylinders */
    for (size_t i = 1; i < readings->count; i++)
        for (size_t j = i; j > 0 && readings->values[j - 1] > readings->values[j]; j--) {
            double value = readings->values[j];
            const struct gradient *gradient = readings->gradients[j];
            readings->values[j] = readings->values[j - 1];
            readings->gradients[j] = readings->gradients[j - 1];
            readings->values[j - 1] = value;
            readings->gradients[j - 1] = gradient;
        }
    size_t upper = readings->count / 2;
    if (readings->count % 2 == 1)
        return scalar_number(readings->values[upper], readings->gradients[upper]);
    double low = readings->values[upper - 1], high = readings->values[upper];
    return scalar_number(low / 2 + high / 2,
                         gradient_combine(evaluator->arena, readings->gradients[upper - 1], 0.5,
                                          readings->gradients[upper], 0.5));
}

/* ds/dx is (x - mean) / ((n - 1) s); with s 0 there is no slope, and none is claimed. */
static struct scalar deviation_of(const struct evaluator *evaluator, const struct node *node,
                                  const struct readings *readings)
{
    if (readings->count < 2)
        return scalar_missing(text_fill(evaluator->arena, "a second value in {}", node->text));
    double mean = careful_mean(readings->values, readings->count);
    double deviation = careful_deviation(readings->values, readings->count, mean);
    const struct gradient *gradient = NULL;
    for (size_t i = 0; i < readings->count && deviation > 0; i++)
        if (readings->gradients[i] != NULL)
            gradient = gradient_combine(evaluator->arena, gradient, 1, readings->gradients[i],
                                        (readings->values[i] - mean) /
                                            ((double)(readings->count - 1) * deviation));
    return finite_scalar(evaluator, node, scalar_number(deviation, gradient));
}

static struct scalar over_positions(const struct evaluator *evaluator, const struct node *node,
                                    struct readings *readings)
{
    if (readings->count == 0)
        return readings->missing;
    if (node->function == FUNCTION_min || node->function == FUNCTION_max)
        return extreme(readings, node->function == FUNCTION_max);
    if (node->function == FUNCTION_mean)
        return mean_of(evaluator, node, readings);
    if (node->function == FUNCTION_median)
        return median_of(evaluator, readings);
    if (node->function == FUNCTION_sum)
        return sum_of(evaluator, node, readings);
    return deviation_of(evaluator, node, readings);
}

/* NOLINTBEGIN(misc-no-recursion): a tree has at most NODES_MAX nodes */
struct value evaluate_over_positions(const struct evaluator *evaluator, const struct node *node)
{
    struct value x = evaluate(evaluator, node->arguments[0]);
    struct readings readings = read_positions(evaluator, &x, node);
    struct value value = value_blank(evaluator, node->type);
    value.items[0] = over_positions(evaluator, node, &readings);
    value.items[0].is_unsure = readings.is_unsure;
    return value;
}

/* min(a, b): one that is missing might have been the least, so the result is missing too. */
static struct scalar over_arguments(const struct evaluator *evaluator, const struct node *node,
                                    const struct value *arguments, size_t position)
{
    double values[ARGUMENTS_MAX];
    const struct gradient *gradients[ARGUMENTS_MAX];
    struct readings readings = {.values = values, .gradients = gradients};
    for (size_t i = 0; i < node->argument_count; i++) {
        struct scalar item = value_item(&arguments[i], position);
        if (item.is_missing)
            return scalar_missing(item.missing_name);
        values[i] = item.number.value;
        gradients[i] = item.number.gradient;
        readings.is_unsure = readings.is_unsure || item.is_unsure;
    }
    readings.count = node->argument_count;
    struct scalar result = over_positions(evaluator, node, &readings);
    result.is_unsure = readings.is_unsure;
    return result;
}

struct value evaluate_several(const struct evaluator *evaluator, const struct node *node)
{
    if (node->argument_count == 1)
        return evaluate_over_positions(evaluator, node);
    struct value arguments[ARGUMENTS_MAX];
    for (size_t i = 0; i < node->argument_count; i++)
        arguments[i] = evaluate(evaluator, node->arguments[i]);
    struct value value = value_blank(evaluator, node->type);
    for (size_t i = 0; i < value.count; i++)
        value.items[i] = over_arguments(evaluator, node, arguments, i);
    return value;
}

/* --- truths over the positions --------------------------------------------------------------- */

/* Is it unsure whether some position is missing?  Its truth could then be either. */
static bool is_perhaps_there(const struct value *truths)
{
    for (size_t i = 0; i < truths->count; i++)
        if (truths->items[i].is_missing && truths->items[i].is_unsure)
            return true;
    return false;
}

/* Missing positions are passed over; nothing read leaves any() false, and all() missing. */
static struct scalar any_of(const struct value *truths)
{
    struct scalar any = scalar_truth(false, is_perhaps_there(truths));
    for (size_t i = 0; i < truths->count; i++)
        if (!truths->items[i].is_missing)
            any = scalar_or(any, truths->items[i]);
    return any;
}

static struct scalar all_of(const struct value *truths, const struct node *node)
{
    struct scalar all = scalar_truth(true, is_perhaps_there(truths));
    struct scalar missing = scalar_missing(node->arguments[0]->text);
    bool is_read = false;
    for (size_t i = 0; i < truths->count; i++) {
        if (truths->items[i].is_missing && i == 0)
            missing = truths->items[i];
        if (!truths->items[i].is_missing)
            all = scalar_and(all, truths->items[i]);
        is_read = is_read || !truths->items[i].is_missing;
    }
    return is_read ? all : missing;
}

static struct scalar none_of(const struct value *truths)
{
    struct scalar any = any_of(truths);
    return scalar_truth(!any.truth, any.is_unsure);
}

static struct scalar beside_of(const struct value *truths)
{
    struct scalar beside = scalar_truth(false, is_perhaps_there(truths));
    for (size_t i = 1; i < truths->count; i++)
        if (!truths->items[i - 1].is_missing && !truths->items[i].is_missing)
            beside = scalar_or(beside, scalar_and(truths->items[i - 1], truths->items[i]));
    return beside;
}

/* "2", "2 and 3", "1, 2 and 4", "none" */
static struct scalar where_of(const struct evaluator *evaluator, const struct value *truths)
{
    const struct labels *labels = &evaluator->around->indexes[truths->type.index];
    struct text *words = arena_array(evaluator->arena, struct text, truths->count);
    size_t count = 0;
    for (size_t i = 0; i < truths->count; i++)
        if (!truths->items[i].is_missing && truths->items[i].truth)
            words[count++] = labels->texts[i];
    if (count == 0)
        return scalar_text(TEXT("none"));
    if (count == 1)
        return scalar_text(words[0]);
    struct text most = text_join(evaluator->arena, words, count - 1, TEXT(", "));
    return scalar_text(text_fill(evaluator->arena, "{} and {}", most, words[count - 1]));
}

static struct scalar count_of(const struct value *vector)
{
    size_t count = 0;
    for (size_t i = 0; i < vector->count; i++)
        if (!vector->items[i].is_missing)
            count += vector->type.base == TYPE_TRUTH ? vector->items[i].truth : 1U;
    return scalar_number((double)count, NULL);
}

/* Which positions, and how many, hangs on each of them. */
static bool is_some_unsure(const struct value *vector)
{
    for (size_t i = 0; i < vector->count; i++)
        if (vector->items[i].is_unsure)
            return true;
    return false;
}

struct value evaluate_truths(const struct evaluator *evaluator, const struct node *node)
{
    struct value truths = evaluate(evaluator, node->arguments[0]);
    struct value value = value_blank(evaluator, node->type);
    if (node->function == FUNCTION_any)
        value.items[0] = any_of(&truths);
    else if (node->function == FUNCTION_all)
        value.items[0] = all_of(&truths, node);
    else if (node->function == FUNCTION_none)
        value.items[0] = none_of(&truths);
    else if (node->function == FUNCTION_beside)
        value.items[0] = beside_of(&truths);
    else if (node->function == FUNCTION_where)
        value.items[0] = where_of(evaluator, &truths);
    else
        value.items[0] = count_of(&truths);
    if (node->function == FUNCTION_where || node->function == FUNCTION_count)
        value.items[0].is_unsure = is_some_unsure(&truths);
    return value;
}

/* --- which is the odd one ---------------------------------------------------------------------- */

/* More than a quarter of a family do not stand out from it.  And each more that may be looked for
 * lets chance alone find one oftener: of eight with the quarter in 7 or 8 % of cases, with half in
 * 13 %.  Of three it would find little but that two agree. */
enum { FAMILY_PER_ODD_ONE = 4 };

/* How far rounding to the steps of scales can have moved the value: half a step of each. */
static double half_steps(const struct gradient *gradient)
{
    double widths_per_uncertainty = 1 / rectangular_uncertainty(1), width = 0;
    for (size_t i = 0; gradient != NULL && i < gradient->count; i++)
        if (gradient->terms[i].origin == ERROR_RESOLUTION)
            width += fabs(gradient->terms[i].slope) * widths_per_uncertainty;
    return width;
}

/* A reading that was told apart, and the mean of those that were not. */
struct apart {
    struct measured odd, family;
    double steps; /* that rounding may have put between the two */
};

static struct apart apart_of(const struct evaluator *evaluator, const struct readings *readings,
                             const bool *stands_out, size_t which)
{
    struct readings others = {
        .values = arena_array(evaluator->arena, double, readings->count),
        .gradients = arena_array(evaluator->arena, const struct gradient *, readings->count)};
    double steps = 0;
    for (size_t i = 0; i < readings->count; i++) {
        if (stands_out[i])
            continue;
        steps += half_steps(readings->gradients[i]);
        others.values[others.count] = readings->values[i];
        others.gradients[others.count++] = readings->gradients[i];
    }
    double count = (double)others.count;
    return (struct apart){.odd = {readings->values[which], readings->gradients[which]},
                          .family = {careful_mean(others.values, others.count),
                                     gradient_of_sum(evaluator, &others, 1 / count)},
                          .steps = half_steps(readings->gradients[which]) + steps / count};
}

/* Where the others agree to the step of their scale, the test takes one step for a large
 * distance: such a one may be as they are.  One that is apart by no more than both are uncertain
 * by stands out perhaps. */
static struct scalar judged(const struct evaluator *evaluator, const struct readings *readings,
                            const bool *stands_out, size_t which)
{
    if (!stands_out[which])
        return scalar_truth(false, readings->is_unsure);
    const double rounding_here = 1e-9; /* one step is not to hang on the last digit of it */
    struct apart apart = apart_of(evaluator, readings, stands_out, which);
    double distance = fabs(apart.odd.value - apart.family.value);
    double probability = probability_at_least(apart.odd, apart.family, evaluator->arena);
    return scalar_truth(distance > apart.steps * (1 + rounding_here),
                        readings->is_unsure || probability_is_unsure(probability));
}

struct value evaluate_stands_out(const struct evaluator *evaluator, const struct node *node)
{
    struct value x = evaluate(evaluator, node->arguments[0]);
    struct readings readings = read_positions(evaluator, &x, node);
    size_t most = readings.count / FAMILY_PER_ODD_ONE;
    struct outlier_step *steps = arena_array(evaluator->arena, struct outlier_step, most);
    bool *stands_out = arena_array(evaluator->arena, bool, readings.count);
    (void)outliers_find(readings.values, readings.count, most, steps, stands_out);
    struct value value = value_blank(evaluator, node->type);
    struct text fourth = text_fill(evaluator->arena, "a fourth value in {}", node->text);
    for (size_t i = 0, read = 0; i < value.count; i++) {
        struct scalar item = value_item(&x, i);
        if (item.is_missing) {
            value.items[i] = item;
            value.items[i].is_unsure = readings.is_unsure;
        } else if (most == 0) {
            value.items[i] = scalar_missing(fourth);
            value.items[i].is_unsure = readings.is_unsure;
        } else {
            value.items[i] = judged(evaluator, &readings, stands_out, read++);
        }
    }
    return value;
}
/* NOLINTEND(misc-no-recursion) */

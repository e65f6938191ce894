/*
 * evaluate_call.c - what each function comes to.
 */
#include "language.h"
#include "measure/careful.h"

#include <assert.h>
#include <math.h>

/* NOLINTBEGIN(misc-no-recursion): a tree has at most NODES_MAX nodes */
/* --- at each position ---------------------------------------------------------------------- */

static struct scalar changed(const struct evaluator *evaluator, struct scalar x, double value,
                             double slope)
{
    if (x.number.gradient == NULL)
        return scalar_number(value, NULL);
    return scalar_number(value,
                         gradient_combine(evaluator->arena, x.number.gradient, slope, NULL, 0));
}

static struct scalar absolute(const struct evaluator *evaluator, struct scalar x)
{
    return x.number.value < 0 ? changed(evaluator, x, -x.number.value, -1) : x;
}

static struct scalar root(const struct evaluator *evaluator, const struct node *node,
                          struct scalar x)
{
    if (x.number.value < 0)
        return scalar_missing(
            text_fill(evaluator->arena, "square root of less than nothing in {}", node->text));
    double value = sqrt(x.number.value);
    /* At 0 the root has no slope to work with: without a band it would look exact. */
    if (value == 0 && x.number.gradient != NULL)
        return scalar_missing(text_fill(
            evaluator->arena, "square root of 0 with an uncertainty in {}", node->text));
    return changed(evaluator, x, value, value > 0 ? 1 / (2 * value) : 0);
}

static struct scalar uncertainty_of(struct scalar x)
{
    return scalar_number(gradient_combined(x.number.gradient), NULL);
}

static struct scalar pressure_at(const struct evaluator *evaluator, const struct node *node,
                                 struct scalar x)
{
    double pressure, slope;
    if (!standard_pressure(x.number.value, &pressure, &slope))
        return scalar_missing(text_fill(
            evaluator->arena, "an altitude from -5000 m to 11 000 m in {}", node->text));
    return changed(evaluator, x, pressure, slope);
}

static struct scalar star_text(const struct evaluator *evaluator, const struct node *node,
                               struct scalar x)
{
    double count = x.number.value;
    unsigned order[STAR_MAX];
    struct text words[STAR_MAX];
    if (!(count >= 1 && count <= STAR_MAX) || count != floor(count))
        return scalar_missing(
            text_fill(evaluator->arena, "a whole number from 1 to 64 in {}", node->text));
    (void)star_order((unsigned)count, order);
    for (unsigned i = 0; i < (unsigned)count; i++)
        words[i] = text_number(evaluator->arena, order[i]);
    return scalar_text(text_join(evaluator->arena, words, (size_t)count, TEXT("-")));
}

static struct scalar at_position(const struct evaluator *evaluator, const struct node *node,
                                 struct scalar x)
{
    if (x.is_missing)
        return x;
    if (node->function == FUNCTION_abs)
        return absolute(evaluator, x);
    if (node->function == FUNCTION_sqrt)
        return finite_scalar(evaluator, node, root(evaluator, node, x));
    if (node->function == FUNCTION_uncertainty)
        return uncertainty_of(x);
    if (node->function == FUNCTION_star)
        return star_text(evaluator, node, x);
    return pressure_at(evaluator, node, x);
}

static struct value evaluate_each(const struct evaluator *evaluator, const struct node *node)
{
    struct value x = evaluate(evaluator, node->arguments[0]);
    struct value value = value_blank(evaluator, node->type);
    for (size_t i = 0; i < value.count; i++) {
        value.items[i] = at_position(evaluator, node, value_item(&x, i));
        value.items[i].is_unsure = value_item(&x, i).is_unsure;
    }
    return value;
}

/* Halves go away from 0, as a person rounds. */
static struct scalar rounded(const struct evaluator *evaluator, const struct node *node,
                             struct scalar x, struct scalar step)
{
    if (x.is_missing || step.is_missing)
        return scalar_missing(x.is_missing ? x.missing_name : step.missing_name);
    double width = step.number.value;
    if (width == 0)
        return scalar_missing(
            text_fill(evaluator->arena, "a step that is not zero in {}", node->text));
    return finite_scalar(
        evaluator, node,
        scalar_number(round(x.number.value / width) * width, x.number.gradient));
}

static struct value evaluate_round(const struct evaluator *evaluator, const struct node *node)
{
    struct value x = evaluate(evaluator, node->arguments[0]);
    struct value step = value_number(evaluator->arena, 1, node->type.kind);
    if (node->argument_count == 2)
        step = evaluate(evaluator, node->arguments[1]);
    struct value value = value_blank(evaluator, node->type);
    for (size_t i = 0; i < value.count; i++) {
        struct scalar item = value_item(&x, i), width = value_item(&step, i);
        value.items[i] = rounded(evaluator, node, item, width);
        value.items[i].is_unsure = item.is_unsure || width.is_unsure;
    }
    return value;
}

static struct value evaluate_given(const struct evaluator *evaluator, const struct node *node)
{
    struct value x = evaluate(evaluator, node->arguments[0]);
    struct value value = value_blank(evaluator, node->type);
    for (size_t i = 0; i < value.count; i++)
        value.items[i] =
            scalar_truth(!value_item(&x, i).is_missing, value_item(&x, i).is_unsure);
    return value;
}

static struct value evaluate_previous(const struct evaluator *evaluator,
                                      const struct node *node)
{
    struct value x = evaluate(evaluator, node->arguments[0]);
    struct value value = value_blank(evaluator, node->type);
    const unsigned *firing = evaluator->around->indexes[node->type.index].firing;
    for (size_t i = 0; i < value.count; i++) {
        if (firing == NULL)
            value.items[i] = scalar_missing(TEXT("the firing order"));
        else
            value.items[firing[(i + 1) % value.count]] = value_item(&x, firing[i]);
    }
    return value;
}

/* --- what only the job knows ------------------------------------------------------------------- */

static struct scalar scatter_at(const struct evaluator *evaluator, const struct node *node,
                                const struct node *reading, size_t position)
{
    const struct surroundings *around = evaluator->around;
    struct value repeats =
        around->repeats_of(around->self, reading->symbol, (unsigned)position, evaluator->arena);
    struct readings readings = read_positions(evaluator, &repeats, node);
    if (readings.count < 2)
        return scalar_missing(text_fill(evaluator->arena, "a repeat of {}",
                                        node_shown(evaluator->arena, node->arguments[0])));
    double mean = careful_mean(readings.values, readings.count);
    return scalar_number(careful_deviation(readings.values, readings.count, mean), NULL);
}

/* The position of scatter(dry[cylinder]) or scatter(dry["3"]).  Where there is none, the value is
 * missing and nobody asks for the position. */
static size_t single_position(const struct evaluator *evaluator, const struct node *x)
{
    const struct labels *labels = &evaluator->around->indexes[x->index];
    size_t position = 0;
    if (x->kind == NODE_HERE)
        return (size_t)position_here(evaluator, x->index);
    while (position < labels->count && !text_equal(labels->texts[position], x->text))
        position++;
    return position;
}

static struct value evaluate_scatter(const struct evaluator *evaluator, const struct node *node)
{
    const struct node *x = node->arguments[0];
    const struct node *reading = x->kind == NODE_SYMBOL ? x : x->first;
    bool is_single = x->kind == NODE_HERE || x->kind == NODE_LABEL;
    struct value value = value_blank(evaluator, node->type);
    struct value picked = evaluate(evaluator, x);
    for (size_t i = 0; i < value.count; i++) {
        struct scalar item = value_item(&picked, i);
        size_t position = is_single ? single_position(evaluator, x) : i;
        value.items[i] = item.is_missing ? scalar_missing(item.missing_name)
                                         : scatter_at(evaluator, node, reading, position);
    }
    return value;
}

static struct value evaluate_size(const struct evaluator *evaluator, const struct node *node)
{
    struct type type = {.index = node->index};
    struct value value = value_blank(evaluator, node->type);
    value.items[0] = scalar_number((double)value_blank(evaluator, type).count, NULL);
    return value;
}

static struct value evaluate_first(const struct evaluator *evaluator, const struct node *node)
{
    const struct labels *labels = &evaluator->around->indexes[node->index];
    struct value value = value_blank(evaluator, node->type);
    assert(labels->count > 0);
    value.items[0] = scalar_text(labels->texts[0]);
    return value;
}

static struct value evaluate_timer(const struct evaluator *evaluator, const struct node *node)
{
    const struct surroundings *around = evaluator->around;
    int position =
        node->index == INDEX_NONE ? INDEX_NONE : position_here(evaluator, node->index);
    double seconds = node->function == FUNCTION_late
                         ? around->late(around->self, node->symbol, position)
                         : around->elapsed(around->self, node->symbol, position);
    struct value value = value_blank(evaluator, node->type);
    value.items[0] = seconds >= 0 ? scalar_number(seconds, NULL) : scalar_missing(node->text);
    return value;
}

/* --- every function ------------------------------------------------------------------------------ */

struct value evaluate_call(const struct evaluator *evaluator, const struct node *node)
{
    assert(node->function != FUNCTION_COUNT);
    switch (node->function) {
    case FUNCTION_min:
    case FUNCTION_max:
    case FUNCTION_mean:
        return evaluate_several(evaluator, node);
    case FUNCTION_median:
    case FUNCTION_sum:
    case FUNCTION_stdev:
        return evaluate_over_positions(evaluator, node);
    case FUNCTION_scatter:
        return evaluate_scatter(evaluator, node);
    case FUNCTION_uncertainty:
    case FUNCTION_abs:
    case FUNCTION_sqrt:
    case FUNCTION_star:
    case FUNCTION_standard_pressure:
        return evaluate_each(evaluator, node);
    case FUNCTION_round:
        return evaluate_round(evaluator, node);
    case FUNCTION_count:
    case FUNCTION_any:
    case FUNCTION_all:
    case FUNCTION_none:
    case FUNCTION_where:
    case FUNCTION_beside:
        return evaluate_truths(evaluator, node);
    case FUNCTION_given:
        return evaluate_given(evaluator, node);
    case FUNCTION_stands_out:
        return evaluate_stands_out(evaluator, node);
    case FUNCTION_previous:
        return evaluate_previous(evaluator, node);
    case FUNCTION_size:
        return evaluate_size(evaluator, node);
    case FUNCTION_first_of:
        return evaluate_first(evaluator, node);
    case FUNCTION_elapsed:
    case FUNCTION_late:
    case FUNCTION_COUNT:
        break;
    }
    return evaluate_timer(evaluator, node);
}
/* NOLINTEND(misc-no-recursion) */

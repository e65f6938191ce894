/*
 * evaluator.c - what every node comes to.
 *
 * A value that is missing says what was missing first, and every operation
 * hands that on; a number hands on how it moves with each source of error.
 */
#include "language.h"
#include "measure/verdict.h"

#include <assert.h>
#include <math.h>

/* --- scalars ------------------------------------------------------------------------ */

struct scalar scalar_number(double value, const struct gradient *gradient)
{
    return (struct scalar){.number = {.value = value, .gradient = gradient}};
}

struct scalar scalar_truth(bool truth, bool is_unsure)
{
    return (struct scalar){.truth = truth, .is_unsure = is_unsure};
}

struct scalar scalar_text(struct text text)
{
    return (struct scalar){.text = text};
}

struct scalar scalar_missing(struct text name)
{
    return (struct scalar){.is_missing = true, .missing_name = name};
}

/* The one that decides alone: false for `and`, true for `or`. */
static bool decides(struct scalar a, bool truth)
{
    return !a.is_missing && a.truth == truth;
}

/* What one alone decides is as sure as the surest that decides it; a missing one does not matter
 * then.  Otherwise the result is as unsure as either. */
static struct scalar decided(struct scalar a, struct scalar b, bool truth)
{
    if (decides(a, truth) && decides(b, truth))
        return scalar_truth(truth, a.is_unsure && b.is_unsure);
    if (decides(a, truth))
        return a;
    if (decides(b, truth))
        return b;
    if (a.is_missing)
        return a;
    if (b.is_missing)
        return b;
    return scalar_truth(!truth, a.is_unsure || b.is_unsure);
}

struct scalar scalar_and(struct scalar a, struct scalar b)
{
    return decided(a, b, false);
}

struct scalar scalar_or(struct scalar a, struct scalar b)
{
    return decided(a, b, true);
}

static struct scalar scalar_not(struct scalar a)
{
    return a.is_missing ? a : scalar_truth(!a.truth, a.is_unsure);
}

/* --- values -------------------------------------------------------------------------- */

static size_t positions(const struct evaluator *evaluator, int index)
{
    const struct surroundings *around = evaluator->around;
    if (index == INDEX_NONE)
        return 1;
    assert((size_t)index < around->index_count);
    return around->indexes[index].count;
}

struct value value_blank(const struct evaluator *evaluator, struct type type)
{
    struct value value = {.type = type, .count = positions(evaluator, type.index)};
    value.items = arena_array(evaluator->arena, struct scalar, value.count);
    return value;
}

struct scalar value_item(const struct value *value, size_t i)
{
    if (value->type.index == INDEX_NONE)
        i = 0;
    assert(i < value->count);
    return value->items[i];
}

static struct value value_of_one(const struct evaluator *evaluator, struct type type,
                                 struct scalar scalar)
{
    struct value value = {.type = type, .count = 1};
    value.type.index = INDEX_NONE;
    value.items = arena_new(evaluator->arena, struct scalar);
    value.items[0] = scalar;
    return value;
}

/* NOLINTBEGIN(misc-no-recursion): a tree has at most NODES_MAX nodes */
static struct value map(const struct evaluator *evaluator, const struct node *node,
                        struct scalar (*change)(struct scalar))
{
    struct value first = evaluate(evaluator, node->first);
    struct value value = value_blank(evaluator, node->type);
    for (size_t i = 0; i < value.count; i++)
        value.items[i] = change(value_item(&first, i));
    return value;
}

/* --- names ------------------------------------------------------------------------------ */

static struct text position_name(const struct evaluator *evaluator, const struct node *symbol,
                                 size_t position)
{
    int index = symbol->type.index;
    if (index == INDEX_NONE)
        return symbol->text;
    return text_fill(evaluator->arena, "{}[{}]", symbol->text,
                     evaluator->around->indexes[index].texts[position]);
}

/* What the caller holds, with names for what is missing where the caller gave none. */
static struct value evaluate_symbol(const struct evaluator *evaluator, const struct node *node)
{
    const struct surroundings *around = evaluator->around;
    struct value held = around->value_of(around->self, node->symbol, evaluator->arena);
    struct value value = value_blank(evaluator, node->type);
    for (size_t i = 0; i < value.count; i++) {
        value.items[i] = i < held.count ? held.items[i] : scalar_missing(TEXT(""));
        if (value.items[i].is_missing && value.items[i].missing_name.length == 0)
            value.items[i].missing_name = position_name(evaluator, node, i);
    }
    return value;
}

int position_here(const struct evaluator *evaluator, int index)
{
    const struct surroundings *around = evaluator->around;
    if (around->here == NULL || around->here[index] >= (int)positions(evaluator, index))
        return INDEX_NONE;
    return around->here[index];
}

static struct value evaluate_index(const struct evaluator *evaluator, const struct node *node)
{
    int position = position_here(evaluator, node->index);
    struct scalar label = scalar_missing(node->text);
    if (position != INDEX_NONE)
        label = scalar_text(evaluator->around->indexes[node->index].texts[position]);
    return value_of_one(evaluator, node->type, label);
}

static struct value evaluate_here(const struct evaluator *evaluator, const struct node *node)
{
    int position = position_here(evaluator, node->index);
    struct value all = evaluate(evaluator, node->first);
    struct scalar scalar = scalar_missing(node->text);
    if (position != INDEX_NONE)
        scalar = value_item(&all, (size_t)position);
    return value_of_one(evaluator, node->type, scalar);
}

static struct value evaluate_label(const struct evaluator *evaluator, const struct node *node)
{
    struct value all = evaluate(evaluator, node->first);
    for (size_t i = 0; i < all.count; i++)
        if (text_equal(evaluator->around->indexes[node->index].texts[i], node->text))
            return value_of_one(evaluator, node->type, all.items[i]);
    struct text name = text_fill(evaluator->arena, "{}[{}]", node->first->text, node->text);
    return value_of_one(evaluator, node->type, scalar_missing(name));
}

static struct value evaluate_pick(const struct evaluator *evaluator, const struct node *node)
{
    struct value x = evaluate(evaluator, node->first);
    struct value by = evaluate(evaluator, node->second);
    struct value value = value_blank(evaluator, node->type);
    for (size_t i = 0; i < value.count; i++) {
        struct scalar truth = value_item(&by, i);
        if (truth.is_missing)
            value.items[i] = truth;
        else
            value.items[i] = truth.truth ? value_item(&x, i) : scalar_missing(node->text);
        /* whether it is among them at all */
        value.items[i].is_unsure = value.items[i].is_unsure || truth.is_unsure;
    }
    return value;
}

/* --- numbers ---------------------------------------------------------------------------- */

static struct scalar moved(const struct evaluator *evaluator, double value, struct scalar a,
                           double slope_a, struct scalar b, double slope_b)
{
    if (a.number.gradient == NULL && b.number.gradient == NULL)
        return scalar_number(value, NULL);
    return scalar_number(value, gradient_combine(evaluator->arena, a.number.gradient, slope_a,
                                                 b.number.gradient, slope_b));
}

static struct scalar divide(const struct evaluator *evaluator, const struct node *node,
                            struct scalar a, struct scalar b)
{
    double x = a.number.value, y = b.number.value;
    if (y == 0)
        return scalar_missing(
            text_fill(evaluator->arena, "division by zero in {}", node->text));
    return moved(evaluator, x / y, a, 1 / y, b, -x / y / y);
}

static struct scalar raise(const struct evaluator *evaluator, struct scalar a, int exponent)
{
    double below = 1;
    for (int i = 1; i < exponent; i++)
        below *= a.number.value;
    return moved(evaluator, below * a.number.value, a, exponent * below, scalar_number(0, NULL),
                 0);
}

static struct scalar plus_minus(const struct evaluator *evaluator, const struct node *node,
                                struct scalar a, struct scalar b)
{
    bool is_relative =
        kind_is_plain(node->second->type.kind) && !kind_is_plain(node->first->type.kind);
    double half = b.number.value;
    if (is_relative)
        half *= a.number.value;
    return scalar_number(a.number.value,
                         written_gradient(evaluator->arena, node->symbol, half));
}

bool scalar_fits(struct scalar scalar)
{
    return number_fits(scalar.number.value, NUMBER_WORKED_OUT_MAX) &&
           number_fits(gradient_combined(scalar.number.gradient), NUMBER_WORKED_OUT_MAX);
}

/* A number nobody can measure is none: too large a one is missing, not infinite. */
struct scalar finite_scalar(const struct evaluator *evaluator, const struct node *node,
                            struct scalar scalar)
{
    if (scalar.is_missing || scalar_fits(scalar))
        return scalar;
    bool is_small = fabs(scalar.number.value) < 1 &&
                    gradient_combined(scalar.number.gradient) <= NUMBER_WORKED_OUT_MAX;
    return scalar_missing(text_fill(evaluator->arena, "too {} a number in {}",
                                    is_small ? TEXT("small") : TEXT("large"), node->text));
}

/* What was typed in tenths is no whole number of bits: a reading on its limit would fall on one side
 * or the other by chance. */
static bool compare_numbers(enum node_kind kind, double a, double b)
{
    bool is_equal = numbers_agree(a, b);
    if (kind == NODE_LESS)
        return a < b && !is_equal;
    if (kind == NODE_LESS_EQUAL)
        return a < b || is_equal;
    if (kind == NODE_GREATER)
        return a > b && !is_equal;
    if (kind == NODE_GREATER_EQUAL)
        return a > b || is_equal;
    return is_equal == (kind == NODE_EQUAL);
}

/* Equal to within what is known of them is unsure too: a longer look could tell them apart. */
static bool is_too_close(const struct evaluator *evaluator, struct measured a,
                         struct measured b)
{
    if (a.gradient == NULL && b.gradient == NULL)
        return false;
    return probability_is_unsure(probability_at_least(a, b, evaluator->arena));
}

static struct scalar compare(const struct evaluator *evaluator, const struct node *node,
                             struct scalar a, struct scalar b)
{
    bool is_equality = node->kind == NODE_EQUAL;
    enum type_base base = node->first->type.base;
    if (base == TYPE_TEXT)
        return scalar_truth(text_equal(a.text, b.text) == is_equality, false);
    if (base == TYPE_TRUTH)
        return scalar_truth((a.truth == b.truth) == is_equality, false);
    return scalar_truth(compare_numbers(node->kind, a.number.value, b.number.value),
                        is_too_close(evaluator, a.number, b.number));
}

static struct scalar operate(const struct evaluator *evaluator, const struct node *node,
                             struct scalar a, struct scalar b)
{
    double x = a.number.value, y = b.number.value;
    if (node->kind == NODE_ADD)
        return moved(evaluator, x + y, a, 1, b, 1);
    if (node->kind == NODE_SUBTRACT)
        return moved(evaluator, x - y, a, 1, b, -1);
    if (node->kind == NODE_MULTIPLY)
        return moved(evaluator, x * y, a, y, b, x);
    if (node->kind == NODE_DIVIDE)
        return divide(evaluator, node, a, b);
    return plus_minus(evaluator, node, a, b);
}

static struct scalar negate(struct scalar a)
{
    if (!a.is_missing)
        a.number.value = -a.number.value;
    return a;
}

static struct value evaluate_negate(const struct evaluator *evaluator, const struct node *node)
{
    struct value value = map(evaluator, node, negate);
    for (size_t i = 0; i < value.count; i++) {
        struct scalar *item = &value.items[i];
        if (!item->is_missing && item->number.gradient != NULL)
            item->number.gradient =
                gradient_combine(evaluator->arena, item->number.gradient, -1, NULL, 0);
    }
    return value;
}

static struct value evaluate_power(const struct evaluator *evaluator, const struct node *node)
{
    struct value base = evaluate(evaluator, node->first);
    struct value value = value_blank(evaluator, node->type);
    for (size_t i = 0; i < value.count; i++) {
        struct scalar item = value_item(&base, i);
        value.items[i] =
            item.is_missing
                ? item
                : finite_scalar(evaluator, node, raise(evaluator, item, node->exponent));
        value.items[i].is_unsure = item.is_unsure;
    }
    return value;
}

static struct value evaluate_pair(const struct evaluator *evaluator, const struct node *node)
{
    struct value first = evaluate(evaluator, node->first);
    struct value second = evaluate(evaluator, node->second);
    struct value value = value_blank(evaluator, node->type);
    bool is_truth = node->type.base == TYPE_TRUTH;
    for (size_t i = 0; i < value.count; i++) {
        struct scalar a = value_item(&first, i), b = value_item(&second, i);
        if (a.is_missing || b.is_missing)
            value.items[i] = scalar_missing(a.is_missing ? a.missing_name : b.missing_name);
        else if (is_truth)
            value.items[i] = compare(evaluator, node, a, b);
        else
            value.items[i] = finite_scalar(evaluator, node, operate(evaluator, node, a, b));
        value.items[i].is_unsure = value.items[i].is_unsure || a.is_unsure || b.is_unsure;
    }
    return value;
}

static struct value evaluate_logic(const struct evaluator *evaluator, const struct node *node)
{
    struct value first = evaluate(evaluator, node->first);
    struct value second = evaluate(evaluator, node->second);
    struct value value = value_blank(evaluator, node->type);
    for (size_t i = 0; i < value.count; i++) {
        struct scalar a = value_item(&first, i), b = value_item(&second, i);
        value.items[i] = node->kind == NODE_AND ? scalar_and(a, b) : scalar_or(a, b);
    }
    return value;
}

/* --- every node ------------------------------------------------------------------------- */

struct value evaluate(const struct evaluator *evaluator, const struct node *node)
{
    switch (node->kind) {
    case NODE_NUMBER:
        return value_of_one(evaluator, node->type,
                            scalar_number(node->number.value, node->number.gradient));
    case NODE_TEXT:
        return value_of_one(evaluator, node->type, scalar_text(node->text));
    case NODE_SYMBOL:
        return evaluate_symbol(evaluator, node);
    case NODE_INDEX:
        return evaluate_index(evaluator, node);
    case NODE_HERE:
        return evaluate_here(evaluator, node);
    case NODE_LABEL:
        return evaluate_label(evaluator, node);
    case NODE_PICK:
        return evaluate_pick(evaluator, node);
    case NODE_CALL:
        return evaluate_call(evaluator, node);
    case NODE_NEGATE:
        return evaluate_negate(evaluator, node);
    case NODE_NOT:
        return map(evaluator, node, scalar_not);
    case NODE_AND:
    case NODE_OR:
        return evaluate_logic(evaluator, node);
    case NODE_POWER:
        return evaluate_power(evaluator, node);
    case NODE_ADD:
    case NODE_SUBTRACT:
    case NODE_MULTIPLY:
    case NODE_DIVIDE:
    case NODE_LESS:
    case NODE_LESS_EQUAL:
    case NODE_GREATER:
    case NODE_GREATER_EQUAL:
    case NODE_EQUAL:
    case NODE_NOT_EQUAL:
    case NODE_PLUS_MINUS:
        break;
    }
    return evaluate_pair(evaluator, node);
}

struct value expression_evaluate(const struct expression *expression,
                                 const struct surroundings *surroundings, struct arena *arena)
{
    struct evaluator evaluator = {.around = surroundings, .arena = arena};
    return evaluate(&evaluator, expression->root);
}
/* NOLINTEND(misc-no-recursion) */

/*
 * check_call.c - what each function takes and what it makes of it.
 */
#include "language.h"

#include <assert.h>

static struct text user_of(const struct node *node)
{
    return text_from(function_name(node->function));
}

static bool want_positions(const struct compiler *compiler, const struct node *call)
{
    const struct node *x = call->arguments[0];
    if (x->type.index != INDEX_NONE)
        return true;
    report(compiler->found, FINDING_EXPRESSION_VECTOR, x->place, x->text, user_of(call));
    return false;
}

/* min(x) goes over the positions; min(a, b) compares value with value, position by position. */
static bool check_several(const struct compiler *compiler, struct node *node)
{
    const struct node *first = node->arguments[0];
    if (!want_base(compiler, first, TYPE_NUMBER, user_of(node)))
        return false;
    node->type = first->type;
    if (node->argument_count == 1) {
        node->type.index = INDEX_NONE;
        return want_positions(compiler, node);
    }
    for (size_t i = 1; i < node->argument_count; i++) {
        const struct node *next = node->arguments[i];
        struct node so_far = *first; /* what the arguments before this one are together */
        so_far.type = node->type;
        if (!want_base(compiler, next, TYPE_NUMBER, user_of(node)) ||
            !want_one_kind(compiler, &so_far, next, user_of(node), &node->type.kind) ||
            !want_one_index(compiler, &so_far, next, &node->type.index))
            return false;
    }
    return true;
}

/* A number for each position makes one number of the same kind. */
static bool check_over_positions(const struct compiler *compiler, struct node *node)
{
    node->type = node->arguments[0]->type;
    node->type.index = INDEX_NONE;
    return want_base(compiler, node->arguments[0], TYPE_NUMBER, user_of(node)) &&
           want_positions(compiler, node);
}

static bool check_sum_over(const struct compiler *compiler, struct node *node)
{
    return check_over_positions(compiler, node) &&
           want_no_point(compiler, node->arguments[0],
                         TEXT("temperatures have no sum; take their mean"));
}

static bool check_deviation(const struct compiler *compiler, struct node *node)
{
    bool is_sound = check_over_positions(compiler, node);
    node->type.kind = kind_difference(node->type.kind);
    return is_sound;
}

static bool check_count(const struct compiler *compiler, struct node *node)
{
    node->type = (struct type){.base = TYPE_NUMBER, .index = INDEX_NONE};
    return want_positions(compiler, node);
}

static bool is_reading(const struct node *node)
{
    switch (node->kind) {
    case NODE_SYMBOL:
        return true;
    case NODE_HERE:
    case NODE_LABEL:
    case NODE_PICK:
        return node->first->kind == NODE_SYMBOL;
    case NODE_NUMBER:
    case NODE_TEXT:
    case NODE_INDEX:
    case NODE_CALL:
    case NODE_NEGATE:
    case NODE_NOT:
    case NODE_AND:
    case NODE_OR:
    case NODE_ADD:
    case NODE_SUBTRACT:
    case NODE_MULTIPLY:
    case NODE_DIVIDE:
    case NODE_POWER:
    case NODE_LESS:
    case NODE_LESS_EQUAL:
    case NODE_GREATER:
    case NODE_GREATER_EQUAL:
    case NODE_EQUAL:
    case NODE_NOT_EQUAL:
    case NODE_PLUS_MINUS:
        break;
    }
    return false;
}

static bool check_spread(const struct compiler *compiler, struct node *node)
{
    const struct node *x = node->arguments[0];
    node->type = x->type;
    node->type.kind = kind_difference(x->type.kind);
    return want_base(compiler, x, TYPE_NUMBER, user_of(node));
}

static bool check_scatter(const struct compiler *compiler, struct node *node)
{
    const struct node *x = node->arguments[0];
    if (is_reading(x))
        return check_spread(compiler, node);
    report(compiler->found, FINDING_EXPRESSION_NAMED, x->place, x->text, TEXT("a reading"),
           TEXT("the name of one, as in scatter(dry)"));
    return false;
}

static bool check_abs(const struct compiler *compiler, struct node *node)
{
    return check_spread(compiler, node) &&
           want_no_point(compiler, node->arguments[0],
                         node->function == FUNCTION_round
                             ? TEXT("round is for differences; take -273.15 °C from it")
                             : TEXT("abs is for differences"));
}

static bool check_round(const struct compiler *compiler, struct node *node)
{
    const struct node *x = node->arguments[0];
    struct kind kind;
    if (!check_abs(compiler, node))
        return false;
    if (node->argument_count == 2) {
        const struct node *step = node->arguments[1];
        return want_base(compiler, step, TYPE_NUMBER, user_of(node)) &&
               want_one_kind(compiler, x, step, user_of(node), &kind) &&
               want_one_index(compiler, x, step, &node->type.index);
    }
    if (kind_is_plain(x->type.kind))
        return true;
    report(compiler->found, FINDING_EXPRESSION_ARGUMENTS, node->place,
           TEXT("round(x, step): a quantity is rounded to a multiple of a step, as 0.5 bar"));
    return false;
}

static bool check_root(const struct compiler *compiler, struct node *node)
{
    const struct node *x = node->arguments[0];
    node->type = x->type;
    if (!want_base(compiler, x, TYPE_NUMBER, user_of(node)))
        return false;
    if (!kind_is_point(x->type.kind) && kind_root(x->type.kind, &node->type.kind))
        return true;
    struct type one = x->type;
    one.index = INDEX_NONE;
    report(compiler->found, FINDING_EXPRESSION_ROOT, x->place, x->text,
           described(compiler, one));
    return false;
}

static bool check_truths(const struct compiler *compiler, struct node *node,
                         enum type_base made)
{
    node->type = (struct type){.base = made, .index = INDEX_NONE};
    return want_base(compiler, node->arguments[0], TYPE_TRUTH, user_of(node)) &&
           want_positions(compiler, node);
}

static bool check_given(struct node *node)
{
    node->type = (struct type){.base = TYPE_TRUTH, .index = node->arguments[0]->type.index};
    return true;
}

/* Which cylinder is the odd one: a truth for each. */
static bool check_stands_out(const struct compiler *compiler, struct node *node)
{
    const struct node *x = node->arguments[0];
    node->type = (struct type){.base = TYPE_TRUTH, .index = x->type.index};
    return want_base(compiler, x, TYPE_NUMBER, user_of(node)) && want_positions(compiler, node);
}

static bool check_previous(const struct compiler *compiler, struct node *node)
{
    node->type = node->arguments[0]->type;
    return want_positions(compiler, node);
}

static bool want_one_number(const struct compiler *compiler, struct node *node,
                            struct kind kind, struct text wanted)
{
    const struct node *x = node->arguments[0];
    if (x->type.base == TYPE_NUMBER && kind_equal(x->type.kind, kind))
        return true;
    report(compiler->found, FINDING_EXPRESSION_TYPE, x->place, x->text,
           described(compiler, x->type), user_of(node), wanted);
    return false;
}

static bool check_star(const struct compiler *compiler, struct node *node)
{
    const struct kind plain = {0};
    node->type = (struct type){.base = TYPE_TEXT, .index = node->arguments[0]->type.index};
    return want_one_number(compiler, node, plain, TEXT("a whole number"));
}

static bool check_standard_pressure(const struct compiler *compiler, struct node *node)
{
    const struct kind length = {.power = {[DIMENSION_LENGTH] = 1}};
    const struct kind pressure = {
        .power = {[DIMENSION_LENGTH] = -1, [DIMENSION_MASS] = 1, [DIMENSION_TIME] = -2}};
    node->type = node->arguments[0]->type;
    node->type.kind = pressure;
    return want_one_number(compiler, node, length, TEXT("an altitude, as 1500 m"));
}

/* size(cylinder), first_of(cylinder), elapsed(soak), late(soak): the parser left the name in `text`. */
static bool check_named(const struct compiler *compiler, struct node *node,
                        enum meaning_kind wanted)
{
    struct meaning meaning = {.index = INDEX_NONE};
    struct text name = node->text;
    const struct scope *scope = compiler->scope;
    bool is_timer = wanted == MEANING_TIMER;
    node->text = text_fill(compiler->arena, "{}({})", user_of(node), name);
    node->type = (struct type){.base = TYPE_NUMBER, .index = INDEX_NONE};
    if (is_timer)
        node->type.kind.power[DIMENSION_TIME] = 1;
    if (node->function == FUNCTION_first_of)
        node->type.base = TYPE_TEXT;
    if (!scope->find(scope->self, name, &meaning) || meaning.kind != wanted) {
        report(compiler->found, FINDING_EXPRESSION_NAMED, node->place, name,
               is_timer ? TEXT("a timer") : TEXT("an index"),
               text_from(function_signature(node->function)));
        return false;
    }
    node->symbol = meaning.symbol;
    node->index = meaning.index;
    if (!is_timer || meaning.index == INDEX_NONE || (scope->loops >> meaning.index & 1) == 1)
        return true;
    report(compiler->found, FINDING_EXPRESSION_EACH, node->place, name,
           index_name(compiler, meaning.index));
    return false;
}

bool check_call(const struct compiler *compiler, struct node *node)
{
    assert(node->function != FUNCTION_COUNT);
    switch (node->function) {
    case FUNCTION_min:
    case FUNCTION_max:
    case FUNCTION_mean:
        return check_several(compiler, node);
    case FUNCTION_median:
        return check_over_positions(compiler, node);
    case FUNCTION_sum:
        return check_sum_over(compiler, node);
    case FUNCTION_count:
        return check_count(compiler, node);
    case FUNCTION_stdev:
        return check_deviation(compiler, node);
    case FUNCTION_scatter:
        return check_scatter(compiler, node);
    case FUNCTION_uncertainty:
        return check_spread(compiler, node);
    case FUNCTION_abs:
        return check_abs(compiler, node);
    case FUNCTION_sqrt:
        return check_root(compiler, node);
    case FUNCTION_round:
        return check_round(compiler, node);
    case FUNCTION_any:
    case FUNCTION_all:
    case FUNCTION_none:
    case FUNCTION_beside:
        return check_truths(compiler, node, TYPE_TRUTH);
    case FUNCTION_where:
        return check_truths(compiler, node, TYPE_TEXT);
    case FUNCTION_given:
        return check_given(node);
    case FUNCTION_stands_out:
        return check_stands_out(compiler, node);
    case FUNCTION_previous:
        return check_previous(compiler, node);
    case FUNCTION_size:
    case FUNCTION_first_of:
        return check_named(compiler, node, MEANING_INDEX);
    case FUNCTION_star:
        return check_star(compiler, node);
    case FUNCTION_standard_pressure:
        return check_standard_pressure(compiler, node);
    case FUNCTION_elapsed:
    case FUNCTION_late:
    case FUNCTION_COUNT:
        break;
    }
    return check_named(compiler, node, MEANING_TIMER);
}

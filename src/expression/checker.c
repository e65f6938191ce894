/*
 * checker.c - what every node is: a number of which kind, a truth, a text, and
 * over which index.
 */
#include "language.h"

#include <assert.h>
#include <math.h>

static struct type type_of_base(enum type_base base)
{
    return (struct type){.base = base, .index = INDEX_NONE};
}

/* Kinds hold their powers in one byte; no quantity of a workshop comes near the limit. */
enum { KIND_POWER_MAX = 24 };

static bool want_low_powers(const struct compiler *compiler, const struct node *node,
                            struct kind kind)
{
    for (int i = 0; i < DIMENSION_COUNT; i++)
        if (kind.power[i] > KIND_POWER_MAX || kind.power[i] < -KIND_POWER_MAX) {
            report(compiler->found, FINDING_EXPRESSION_KIND_HIGH, node->place, node->text,
                   text_number(compiler->arena, kind.power[i]));
            return false;
        }
    return true;
}

/* --- names ------------------------------------------------------------------------- */

static int lowest_bit(unsigned long long bits)
{
    int bit = 0;
    while ((bits >> bit & 1) == 0)
        bit++;
    return bit;
}

static bool want_loops(const struct compiler *compiler, const struct node *node,
                       unsigned long long loops)
{
    unsigned long long absent = loops & ~compiler->scope->loops;
    if (absent == 0)
        return true;
    report(compiler->found, FINDING_EXPRESSION_EACH, node->place, node->text,
           index_name(compiler, lowest_bit(absent)));
    return false;
}

static bool refuse_name(const struct compiler *compiler, const struct node *node)
{
    const struct scope *scope = compiler->scope;
    enum function function;
    if (function_find(node->text, &function)) {
        report(compiler->found, FINDING_EXPRESSION_ARGUMENTS, node->place,
               text_from(function_signature(function)));
        return false;
    }
    struct text nearest =
        scope->nearest == NULL ? TEXT("") : scope->nearest(scope->self, node->text);
    report(compiler->found, FINDING_EXPRESSION_NAME, node->place, node->text,
           suggestion(compiler->arena, nearest));
    return false;
}

/* The one number that has a name of its own; no file can give the name to anything else. */
static bool check_pi(struct node *node)
{
    node->kind = NODE_NUMBER;
    node->number = (struct measured){.value = acos(-1.0)};
    node->unit = &unit_one;
    node->type = (struct type){.base = TYPE_NUMBER, .index = INDEX_NONE};
    return true;
}

static bool check_symbol(const struct compiler *compiler, struct node *node)
{
    struct meaning meaning = {.index = INDEX_NONE};
    if (text_equal(node->text, TEXT("pi")))
        return check_pi(node);
    if (!compiler->scope->find(compiler->scope->self, node->text, &meaning))
        return refuse_name(compiler, node);
    switch (meaning.kind) {
    case MEANING_VALUE:
        node->symbol = meaning.symbol;
        node->type = meaning.type;
        return want_loops(compiler, node, meaning.loops);
    case MEANING_INDEX:
        node->kind = NODE_INDEX;
        node->index = meaning.index;
        node->type = type_of_base(TYPE_TEXT);
        assert(meaning.index >= 0 && meaning.index < 64);
        return want_loops(compiler, node, 1ULL << meaning.index);
    case MEANING_TIMER:
        break;
    }
    report(compiler->found, FINDING_EXPRESSION_NAMED, node->place, node->text,
           TEXT("a value but a timer"), text_fill(compiler->arena, "elapsed({})", node->text));
    return false;
}

/* --- brackets ------------------------------------------------------------------------ */

static bool want_vector(const struct compiler *compiler, const struct node *node,
                        struct text user)
{
    if (node->type.index != INDEX_NONE)
        return true;
    report(compiler->found, FINDING_EXPRESSION_VECTOR, node->place, node->text, user);
    return false;
}

static bool check_label(const struct compiler *compiler, struct node *node)
{
    if (!want_vector(compiler, node->first, TEXT("[ ]")))
        return false;
    node->type = node->first->type;
    node->index = node->type.index;
    node->type.index = INDEX_NONE;
    return true;
}

static bool check_pick(const struct compiler *compiler, struct node *node)
{
    const struct node *x = node->first, *by = node->second;
    int index;
    if (!want_vector(compiler, x, TEXT("[ ]")))
        return false;
    if (by->kind == NODE_INDEX && by->index == x->type.index) {
        node->kind = NODE_HERE;
        node->index = by->index;
        node->second = NULL;
        node->type = x->type;
        node->type.index = INDEX_NONE;
        return true;
    }
    if (by->kind == NODE_INDEX) {
        report(compiler->found, FINDING_EXPRESSION_INDEXES, by->place, x->text,
               index_name(compiler, x->type.index), by->text, index_name(compiler, by->index));
        return false;
    }
    if (by->type.base != TYPE_TRUTH || by->type.index == INDEX_NONE) {
        report(compiler->found, FINDING_EXPRESSION_PICK, by->place, by->text);
        return false;
    }
    node->type = x->type;
    return want_one_index(compiler, x, by, &index);
}

/* --- operators ------------------------------------------------------------------------ */

static bool check_logic(const struct compiler *compiler, struct node *node, struct text user)
{
    node->type = type_of_base(TYPE_TRUTH);
    return want_base(compiler, node->first, TYPE_TRUTH, user) &&
           want_base(compiler, node->second, TYPE_TRUTH, user) &&
           want_one_index(compiler, node->first, node->second, &node->type.index);
}

static bool check_not(const struct compiler *compiler, struct node *node)
{
    node->type = node->first->type;
    return want_base(compiler, node->first, TYPE_TRUTH, TEXT("'not'"));
}

static bool check_negate(const struct compiler *compiler, struct node *node)
{
    node->type = node->first->type;
    return want_base(compiler, node->first, TYPE_NUMBER, TEXT("'-'")) &&
           want_no_point(compiler, node->first,
                         TEXT("a minus before it has no meaning; put it before the number"));
}

static bool want_numbers(const struct compiler *compiler, struct node *node, struct text user)
{
    node->type = type_of_base(TYPE_NUMBER);
    return want_base(compiler, node->first, TYPE_NUMBER, user) &&
           want_base(compiler, node->second, TYPE_NUMBER, user) &&
           want_one_index(compiler, node->first, node->second, &node->type.index);
}

/* A point takes only steps: point + step, step + point, point - step, point - point. */
static bool check_points(const struct compiler *compiler, struct node *node)
{
    const struct node *a = node->first, *b = node->second;
    bool is_sum = node->kind == NODE_ADD;
    bool has_two = kind_is_point(a->type.kind) && kind_is_point(b->type.kind);
    if (has_two && is_sum)
        return want_no_point(compiler, b,
                             TEXT("two of them cannot be added; add a difference "
                                  "in K, or take their mean"));
    if (!has_two && !is_sum && kind_is_point(b->type.kind))
        return want_no_point(compiler, b,
                             TEXT("it cannot be taken from a difference; turn the two round"));
    struct kind a_step = kind_difference(a->type.kind), b_step = kind_difference(b->type.kind);
    if (!kind_equal(a_step, b_step)) {
        struct kind ignored;
        return want_one_kind(compiler, a, b, is_sum ? TEXT("'+'") : TEXT("'-'"), &ignored);
    }
    node->type.kind = a_step;
    if (!has_two)
        node->type.kind.flavour = FLAVOUR_POINT;
    return true;
}

static bool check_sum(const struct compiler *compiler, struct node *node)
{
    struct text user = node->kind == NODE_ADD ? TEXT("'+'") : TEXT("'-'");
    const struct node *a = node->first, *b = node->second;
    if (!want_numbers(compiler, node, user))
        return false;
    if (kind_is_point(a->type.kind) || kind_is_point(b->type.kind))
        return check_points(compiler, node);
    return want_one_kind(compiler, a, b, user, &node->type.kind);
}

static bool check_product(const struct compiler *compiler, struct node *node)
{
    bool is_product = node->kind == NODE_MULTIPLY;
    const struct node *a = node->first, *b = node->second;
    struct text reason = TEXT("it cannot be multiplied or divided; take the difference from "
                              "another temperature first");
    if (!want_numbers(compiler, node, is_product ? TEXT("'*'") : TEXT("'/'")) ||
        !want_no_point(compiler, a, reason) || !want_no_point(compiler, b, reason))
        return false;
    node->type.kind = is_product ? kind_product(a->type.kind, b->type.kind)
                                 : kind_quotient(a->type.kind, b->type.kind);
    return want_low_powers(compiler, node, node->type.kind);
}

static bool check_power(const struct compiler *compiler, struct node *node)
{
    const struct node *base = node->first;
    node->type = base->type;
    if (!want_base(compiler, base, TYPE_NUMBER, TEXT("'^'")) ||
        !want_no_point(compiler, base, TEXT("it has no powers")))
        return false;
    for (int i = 1; i < node->exponent; i++) {
        node->type.kind = kind_product(node->type.kind, base->type.kind);
        if (!want_low_powers(compiler, node, node->type.kind))
            return false;
    }
    return true;
}

/* --- comparisons ------------------------------------------------------------------------ */

static bool check_equality(const struct compiler *compiler, struct node *node)
{
    const struct node *a = node->first, *b = node->second;
    struct text user = node->kind == NODE_EQUAL ? TEXT("'=='") : TEXT("'!='");
    struct kind kind;
    node->type = type_of_base(TYPE_TRUTH);
    if (a->type.base != b->type.base) {
        report(compiler->found, FINDING_EXPRESSION_KINDS, b->place, a->text,
               described(compiler, a->type), b->text, described(compiler, b->type), user);
        return false;
    }
    if (!want_one_index(compiler, a, b, &node->type.index))
        return false;
    if (a->type.base == TYPE_NUMBER)
        return want_one_kind(compiler, a, b, user, &kind);
    return want_among(compiler->found, a->type.choices, a->text, b) &&
           want_among(compiler->found, b->type.choices, b->text, a);
}

static bool check_order(const struct compiler *compiler, struct node *node)
{
    struct kind kind;
    struct text user = TEXT("a comparison by size");
    if (!want_numbers(compiler, node, user) ||
        !want_one_kind(compiler, node->first, node->second, TEXT("a comparison"), &kind))
        return false;
    node->type.base = TYPE_TRUTH;
    node->type.kind = (struct kind){0};
    return true;
}

/* --- ± --------------------------------------------------------------------------------- */

/* NOLINTNEXTLINE(misc-no-recursion): a tree has at most NODES_MAX nodes */
static bool is_constant(const struct node *node)
{
    switch (node->kind) {
    case NODE_NUMBER:
        return node->number.gradient == NULL;
    case NODE_NEGATE:
    case NODE_POWER:
        return is_constant(node->first);
    case NODE_ADD:
    case NODE_SUBTRACT:
    case NODE_MULTIPLY:
    case NODE_DIVIDE:
        return is_constant(node->first) && is_constant(node->second);
    case NODE_TEXT:
    case NODE_SYMBOL:
    case NODE_INDEX:
    case NODE_HERE:
    case NODE_LABEL:
    case NODE_PICK:
    case NODE_CALL:
    case NODE_NOT:
    case NODE_AND:
    case NODE_OR:
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

/* 5 ± 10 % could be 0.5 to one reader and 0.1 to another. */
static bool is_part_unclear(const struct node *a, const struct node *b)
{
    return kind_is_plain(a->type.kind) && b->kind == NODE_NUMBER && b->unit != &unit_one &&
           !(a->kind == NODE_NUMBER && a->unit == b->unit);
}

static bool check_plus_minus(const struct compiler *compiler, struct node *node)
{
    const struct node *a = node->first, *b = node->second;
    if (!want_base(compiler, a, TYPE_NUMBER, TEXT("'±'")) ||
        !want_base(compiler, b, TYPE_NUMBER, TEXT("'±'")))
        return false;
    if (!is_constant(a) || !is_constant(b)) {
        report(compiler->found, FINDING_EXPRESSION_PLUS_MINUS, node->place, node->text,
               TEXT("± joins two constants; a reading has its uncertainty from its gauge"));
        return false;
    }
    bool is_relative = kind_is_plain(b->type.kind) && !kind_is_plain(a->type.kind);
    if (is_relative && kind_is_point(a->type.kind)) {
        report(compiler->found, FINDING_EXPRESSION_PLUS_MINUS, node->place, node->text,
               TEXT("a part of a temperature hangs on where its scale begins; give it in K"));
        return false;
    }
    if (!is_relative &&
        !kind_equal(kind_difference(a->type.kind), kind_difference(b->type.kind))) {
        report(compiler->found, FINDING_EXPRESSION_PLUS_MINUS, node->place, node->text,
               TEXT("give it in a unit of the same kind, or in %"));
        return false;
    }
    if (is_part_unclear(a, b)) {
        report(compiler->found, FINDING_EXPRESSION_PLUS_MINUS, node->place, node->text,
               TEXT("is it that part of the number, or of 1? Write it without %"));
        return false;
    }
    node->type = a->type;
    node->symbol = next_written_error(compiler);
    return true;
}

/* --- every node ------------------------------------------------------------------------- */

bool check_node(const struct compiler *compiler, struct node *node)
{
    /* the parser makes neither; check_symbol and check_pick do */
    assert(node->kind != NODE_INDEX && node->kind != NODE_HERE);
    switch (node->kind) {
    case NODE_NUMBER:
        node->type = type_of_base(TYPE_NUMBER);
        node->type.kind = node->unit->kind;
        return true;
    case NODE_TEXT:
        node->type = type_of_base(TYPE_TEXT);
        return true;
    case NODE_SYMBOL:
        return check_symbol(compiler, node);
    case NODE_LABEL:
        return check_label(compiler, node);
    case NODE_PICK:
        return check_pick(compiler, node);
    case NODE_CALL:
        return check_call(compiler, node);
    case NODE_NEGATE:
        return check_negate(compiler, node);
    case NODE_NOT:
        return check_not(compiler, node);
    case NODE_AND:
        return check_logic(compiler, node, TEXT("'and'"));
    case NODE_OR:
        return check_logic(compiler, node, TEXT("'or'"));
    case NODE_ADD:
    case NODE_SUBTRACT:
        return check_sum(compiler, node);
    case NODE_MULTIPLY:
    case NODE_DIVIDE:
        return check_product(compiler, node);
    case NODE_POWER:
        return check_power(compiler, node);
    case NODE_LESS:
    case NODE_LESS_EQUAL:
    case NODE_GREATER:
    case NODE_GREATER_EQUAL:
        return check_order(compiler, node);
    case NODE_EQUAL:
    case NODE_NOT_EQUAL:
        return check_equality(compiler, node);
    case NODE_PLUS_MINUS:
    case NODE_INDEX:
    case NODE_HERE:
        break;
    }
    return check_plus_minus(compiler, node);
}

/*
 * composed_unit.c - the unit that a value worked out from others is said in.
 */
#include "job/say.h"
#include "job_state.h"

/* Litres by kilometres are no millimetres squared to anyone, although they are.  So a value of a kind
 * that none of its parts was given in is said in what its parts were given in: L/km, bar·L. */

/* Names may rest on names twice each, so that looking through all of them would take for ever. */
enum { FACTORS_MAX = 6, NAMES_LOOKED_INTO_MAX = 100 };

struct factor {
    const struct unit *unit;
    int power;
};
struct factors {
    const struct fitted *fitted;
    struct factor items[FACTORS_MAX];
    size_t count;
    unsigned names_looked_into;
    bool is_lost; /* of a part nobody knows the unit */
};

static void add_factor(struct factors *factors, const struct unit *unit, int power)
{
    if (unit == NULL || kind_is_point(unit->kind)) {
        factors->is_lost = true;
        return;
    }
    if (kind_is_plain(unit->kind))
        return;
    size_t at = 0;
    while (at < factors->count && factors->items[at].unit != unit)
        at++;
    if (at == FACTORS_MAX) {
        factors->is_lost = true;
        return;
    }
    if (at == factors->count)
        factors->items[factors->count++] = (struct factor){unit, 0};
    factors->items[at].power += power;
    if (factors->items[at].power != 0)
        return;
    factors->count--;
    for (; at < factors->count; at++)
        factors->items[at] = factors->items[at + 1];
}

static void take_factors(struct factors *factors, const struct node *node, int power);

/* NOLINTNEXTLINE(misc-no-recursion): definitions do not go round in a circle */
static void take_symbol(struct factors *factors, const struct node *node, int power)
{
    const struct procedure *procedure = factors->fitted->procedure;
    const struct symbol *symbol = &procedure->symbols[node->symbol];
    const struct unit *unit = symbol_unit(factors->fitted, node->symbol);
    const struct expression *definition = NULL;
    if (symbol->kind == SYMBOL_NAME)
        definition = procedure->names[symbol->item].value;
    if (symbol->kind == SYMBOL_RESULT)
        definition = procedure->results[symbol->item].definition.value;
    if (unit == NULL && definition != NULL &&
        ++factors->names_looked_into <= NAMES_LOOKED_INTO_MAX)
        take_factors(factors, definition->root, power);
    else
        add_factor(factors, unit != NULL ? unit : unit_for(node->type.kind), power);
}

/* min(dry) is of what dry is of; sqrt(area) is not. */
/* NOLINTNEXTLINE(misc-no-recursion): as said */
static void take_call(struct factors *factors, const struct node *node, int power)
{
    bool keeps_kind = node->argument_count > 0 && node->arguments[0] != NULL &&
                      node->arguments[0]->type.base == TYPE_NUMBER &&
                      kind_equal(node->arguments[0]->type.kind, node->type.kind);
    if (keeps_kind)
        take_factors(factors, node->arguments[0], power);
    else
        add_factor(factors, unit_for(node->type.kind), power);
}

/* NOLINTNEXTLINE(misc-no-recursion): a tree has an end */
static void take_factors(struct factors *factors, const struct node *node, int power)
{
    switch (node->kind) {
    case NODE_NUMBER:
        add_factor(factors, node->unit, power);
        return;
    case NODE_SYMBOL:
        take_symbol(factors, node, power);
        return;
    case NODE_CALL:
        take_call(factors, node, power);
        return;
    case NODE_HERE:
    case NODE_LABEL:
    case NODE_PICK:
    case NODE_NEGATE:
    case NODE_ADD:
    case NODE_SUBTRACT:
    case NODE_PLUS_MINUS:
        take_factors(factors, node->first, power);
        return;
    case NODE_MULTIPLY:
        take_factors(factors, node->first, power);
        take_factors(factors, node->second, power);
        return;
    case NODE_DIVIDE:
        take_factors(factors, node->first, power);
        take_factors(factors, node->second, -power);
        return;
    case NODE_POWER:
        take_factors(factors, node->first, power * node->exponent);
        return;
    case NODE_TEXT:
    case NODE_INDEX:
    case NODE_NOT:
    case NODE_AND:
    case NODE_OR:
    case NODE_LESS:
    case NODE_LESS_EQUAL:
    case NODE_GREATER:
    case NODE_GREATER_EQUAL:
    case NODE_EQUAL:
    case NODE_NOT_EQUAL:
        break;
    }
    factors->is_lost = true;
}

/* --- what people write ----------------------------------------------------------------------------- */

static bool is_simple(const struct factor *factor)
{
    const struct kind *kind = &factor->unit->kind;
    return (factor->power == 1 || factor->power == -1) && kind->flavour == FLAVOUR_NONE &&
           kind->power[DIMENSION_ANGLE] == 0 &&
           text_find(factor->unit->symbol, TEXT("/")) == factor->unit->symbol.length &&
           text_find(factor->unit->symbol, TEXT("·")) == factor->unit->symbol.length;
}

static bool is_of(const struct factors *factors, const char *unit)
{
    struct kind kind = unit_find(text_from(unit))->kind;
    for (size_t i = 0; i < factors->count; i++)
        if (kind_equal(factors->items[i].unit->kind, kind))
            return true;
    return false;
}

/* Where the kind has units of its own: one thing per another, or times another; but a length, a surface
 * or a volume, whatever they were worked out from, are said in theirs. */
static bool is_said_so(const struct factors *factors, struct kind kind)
{
    if (unit_for(kind) == NULL)
        return true;
    if (kind.flavour != FLAVOUR_NONE || factors->count == 0 || factors->count > 2)
        return false;
    for (size_t i = 0; i < factors->count; i++)
        if (!is_simple(&factors->items[i]))
            return false;
    bool is_per_distance = is_of(factors, "L") && is_of(factors, "km");
    return is_per_distance || !(kind_equal(kind, unit_find(TEXT("mm"))->kind) ||
                                kind_equal(kind, unit_find(TEXT("mm²"))->kind) ||
                                kind_equal(kind, unit_find(TEXT("L"))->kind));
}

static long long common_divisor(long long a, long long b)
{
    while (b != 0) {
        long long rest = a % b;
        a = b;
        b = rest;
    }
    return a;
}

/* False if it does not fit. */
static bool scale(struct unit *product, const struct unit *unit, bool is_below)
{
    long long above = is_below ? unit->denominator : unit->numerator;
    long long below = is_below ? unit->numerator : unit->denominator;
    long long first = common_divisor(product->numerator, below);
    long long second = common_divisor(above, product->denominator);
    product->pi_power += is_below ? -unit->pi_power : unit->pi_power;
    return !__builtin_mul_overflow(product->numerator / first, above / second,
                                   &product->numerator) &&
           !__builtin_mul_overflow(product->denominator / second, below / first,
                                   &product->denominator);
}

/* Source of the superscripts: the way they are written in the table of units. */
static struct text powered(struct arena *arena, const struct factor *factor, int power)
{
    static const char *const raised[] = {"", "", "²", "³"};
    if (power < (int)(sizeof raised / sizeof *raised))
        return text_fill(arena, "{}{}", factor->unit->symbol, text_from(raised[power]));
    return text_fill(arena, "{}^{}", factor->unit->symbol, text_number(arena, power));
}

static struct text symbol_of(const struct factors *factors, struct arena *arena)
{
    struct text above[FACTORS_MAX], below[FACTORS_MAX];
    size_t above_count = 0, below_count = 0;
    for (size_t i = 0; i < factors->count; i++) {
        const struct factor *factor = &factors->items[i];
        if (factor->power > 0)
            above[above_count++] = powered(arena, factor, factor->power);
        else
            below[below_count++] = powered(arena, factor, -factor->power);
    }
    struct text top =
        above_count == 0 ? TEXT("1") : text_join(arena, above, above_count, TEXT("·"));
    struct text bottom = text_join(arena, below, below_count, TEXT("·"));
    if (below_count == 0)
        return top;
    return text_fill(arena, below_count == 1 ? "{}/{}" : "{}/({})", top, bottom);
}

/* What is exactly another unit is called by its name: V·A is W.  But L/km is exactly mm², and stays L/km. */
static const struct unit *unit_like(const struct unit *composed)
{
    if (kind_equal(composed->kind, unit_find(TEXT("mm²"))->kind))
        return NULL;
    const struct unit *unit;
    const struct text *spellings;
    size_t count;
    const struct unit *usual = unit_for(composed->kind); /* N·m for a force times a length */
    for (size_t i = 0; usual != NULL && unit_at(i, &unit, &spellings, &count); i++)
        if (kind_equal(unit->kind, usual->kind) && unit->numerator == composed->numerator &&
            unit->denominator == composed->denominator && unit->pi_power == composed->pi_power)
            return unit;
    return NULL;
}

/* NULL if there is none that somebody would use. */
static const struct unit *composed_unit(struct arena *arena, const struct fitted *fitted,
                                        const struct expression *expression)
{
    struct kind kind = expression->type.kind;
    struct factors factors = {.fitted = fitted};
    take_factors(&factors, expression->root, 1);
    if (factors.is_lost || !is_said_so(&factors, kind))
        return NULL;
    struct unit product = {.kind = unit_one.kind,
                           .numerator = 1,
                           .denominator = 1,
                           .thousandths_offset_denominator = 1};
    for (size_t i = 0; i < factors.count; i++) {
        const struct factor *factor = &factors.items[i];
        bool is_below = factor->power < 0;
        for (int times = is_below ? -factor->power : factor->power; times > 0; times--) {
            product.kind = is_below ? kind_quotient(product.kind, factor->unit->kind)
                                    : kind_product(product.kind, factor->unit->kind);
            if (!scale(&product, factor->unit, is_below))
                return NULL;
        }
    }
    if (!kind_equal(product.kind, kind))
        return NULL;
    const struct unit *known = unit_like(&product);
    if (known != NULL)
        return known;
    struct unit *unit = arena_new(arena, struct unit);
    *unit = product;
    unit->symbol = symbol_of(&factors, arena);
    return unit;
}

const struct unit *say_unit(struct arena *arena, const struct fitted *fitted,
                            const struct expression *expression)
{
    if (expression->type.base != TYPE_NUMBER)
        return NULL;
    struct kind kind = expression->type.kind;
    const struct unit *unit = given_unit(fitted, expression);
    if (unit == NULL && !kind_is_plain(kind) && !kind_is_point(kind))
        unit = composed_unit(arena, fitted, expression);
    if (unit == NULL)
        unit = unit_for(kind);
    if (unit != NULL)
        return unit;
    struct unit *spelled = arena_new(arena, struct unit);
    *spelled = (struct unit){.symbol = kind_name(arena, kind),
                             .kind = kind,
                             .numerator = 1,
                             .denominator = 1,
                             .thousandths_offset_denominator = 1};
    return spelled;
}

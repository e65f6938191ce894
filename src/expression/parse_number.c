/*
 * parse_number.c - numbers, with the unit and the uncertainty behind them, and
 * brackets, which may have both as well.
 */
#include "parser.h"

#include <math.h>

/* --- numbers, units, ± ------------------------------------------------------------ */

unsigned next_written_error(const struct compiler *compiler)
{
    return (unsigned)WRITTEN_ERROR_SOURCES + (*compiler->written_errors)++;
}

const struct gradient *written_gradient(struct arena *arena, unsigned source, double half_width)
{
    const double normal_95 = 1.96; /* half a 95 % interval, in standard uncertainties */
    struct error_term term = {
        .source = source, .slope = fabs(half_width) / normal_95, .origin = ERROR_STATED};
    return gradient_of(arena, &term, 1);
}

/* 1e5, 1E-5: numbers have no exponents here. */
static bool is_exponent(struct text spelling)
{
    if (spelling.bytes[0] != 'e' && spelling.bytes[0] != 'E')
        return false;
    for (size_t i = 1; i < spelling.length; i++)
        if (spelling.bytes[i] < '0' || spelling.bytes[i] > '9')
            return false;
    return true;
}

static bool refuse_unit(struct parser *parser, struct text spelling, struct place place)
{
    const struct compiler *compiler = parser->compiler;
    struct meaning meaning;
    enum function function;
    size_t slash = text_find(spelling, TEXT("/"));
    if (parser_refuse_capitals(parser, spelling))
        return false;
    if (compiler->scope->find(compiler->scope->self, spelling, &meaning) ||
        function_find(spelling, &function))
        report(compiler->found, FINDING_EXPRESSION_UNIT_NAME, place, spelling, TEXT("*"));
    else if (is_exponent(spelling))
        report(compiler->found, FINDING_EXPRESSION_NUMBER, place, spelling,
               TEXT("write a number with all its zeros"));
    else if (slash < spelling.length)
        report(compiler->found, FINDING_EXPRESSION_UNIT_SLASH, place, spelling, TEXT("/"));
    else
        report(compiler->found, FINDING_EXPRESSION_UNIT, place, spelling,
               suggestion(compiler->arena, unit_nearest(spelling)));
    return false;
}

/* The unit that stands here, if one does; *unit stays NULL if not. */
static bool parse_unit(struct parser *parser, const struct unit **unit)
{
    *unit = NULL;
    if (parser->token.kind != TOKEN_NAME && parser->token.kind != TOKEN_UNIT_SIGN)
        return true;
    struct token token;
    struct text spelling = scan_unit(&parser->scanner, &parser->token, &token);
    *unit = unit_find(spelling);
    if (*unit == NULL)
        return refuse_unit(parser, spelling, parser_place(parser, &token));
    parser->token = token;
    return parser_take(parser);
}

/* Half the width of the interval behind `±`. */
struct spread {
    double half_width;
    const struct unit *unit; /* NULL: the one of the number, or of both */
};

static void refuse_spread(struct parser *parser, const struct token *from, struct text advice)
{
    struct token span = parser_span(parser, from);
    report(parser->compiler->found, FINDING_EXPRESSION_PLUS_MINUS, parser_place(parser, &span),
           parser_slice(parser, &span), advice);
}

static bool parse_spread(struct parser *parser, struct spread *spread)
{
    if (!parser_take(parser))
        return false;
    if (parser->token.kind != TOKEN_NUMBER)
        return parser_refuse(parser, TEXT("a number")) != NULL;
    spread->half_width = parser->token.number.value;
    return parser_take(parser) && parse_unit(parser, &spread->unit);
}

static bool is_percent(const struct unit *unit)
{
    return unit != NULL &&
           kind_is_plain(unit->kind); /* nobody can write unit_one behind a number */
}

/* Is there one way to read it?  `unit` is that of the number, NULL without one. */
static bool is_spread_clear(struct parser *parser, const struct token *from,
                            const struct unit *unit, const struct spread *spread)
{
    struct text advice = TEXT("");
    if (unit == NULL && is_percent(spread->unit))
        advice = TEXT("is it that part of the number, or of 1? Put the unit behind brackets, "
                      "as in (75 ± 2) %");
    else if (unit != NULL &&
             (spread->unit == NULL || (is_percent(unit) && is_percent(spread->unit))))
        advice = TEXT("put the number and its uncertainty in brackets and the unit after "
                      "them, as in (75 ± 2) %");
    else if (unit != NULL && kind_is_point(unit->kind) && kind_is_plain(spread->unit->kind))
        advice = TEXT("a part of a temperature hangs on where its scale begins; give it in K");
    else if (unit != NULL && !kind_is_plain(spread->unit->kind) &&
             !kind_equal(kind_difference(spread->unit->kind), kind_difference(unit->kind)))
        advice = TEXT("give it in a unit of the same kind, or in %");
    if (advice.length > 0)
        refuse_spread(parser, from, advice);
    return advice.length == 0;
}

/* In SI.  `unit` is that of the number, NULL without one. */
static double spread_width(const struct token *number, const struct unit *unit,
                           const struct spread *spread)
{
    const struct unit *own = spread->unit != NULL ? spread->unit : &unit_one;
    double width = unit_step_to_si(own, spread->half_width);
    bool is_part = unit != NULL && kind_is_plain(own->kind);
    return is_part ? width * unit_step_to_si(unit, number->number.value) : width;
}

/* 9 with seventy zeros is a number, but not in km; the same of what it is uncertain by. */
static bool is_sized(struct parser *parser, const struct token *from, const struct node *node)
{
    double value = node->number.value, error = gradient_combined(node->number.gradient);
    if (number_fits(value, NUMBER_TYPED_MAX) && number_fits(error, NUMBER_TYPED_MAX))
        return true;
    bool is_large = fabs(value) > 1 || !(error <= 1);
    struct token span = parser_span(parser, from);
    report(parser->compiler->found, FINDING_EXPRESSION_NUMBER, parser_place(parser, &span),
           parser_slice(parser, &span),
           is_large ? TEXT("it is too large") : TEXT("it is too small; write 0"));
    return false;
}

/* `number unit`, `number ± number unit`, `number unit ± number unit`, `number unit ± number %` */
struct node *parse_number(struct parser *parser)
{
    struct token from = parser->token;
    const struct unit *unit = NULL;
    struct spread spread = {0};
    if (!parser_take(parser) || !parse_unit(parser, &unit))
        return NULL;
    bool has_spread = parser->token.kind == TOKEN_PLUS_MINUS;
    if (has_spread &&
        (!parse_spread(parser, &spread) || !is_spread_clear(parser, &from, unit, &spread)))
        return NULL;
    struct node *node = parser_node(parser, NODE_NUMBER, &from);
    if (node == NULL)
        return NULL;
    node->unit = unit != NULL ? unit : (spread.unit != NULL ? spread.unit : &unit_one);
    node->number.value = unit_to_si(node->unit, from.number.value);
    if (has_spread)
        node->number.gradient =
            written_gradient(parser->compiler->arena, next_written_error(parser->compiler),
                             spread_width(&from, unit, &spread));
    if (!is_sized(parser, &from, node))
        return NULL;
    parser->bare = node;
    parser->bare_value = from.number.value;
    return node;
}

/* --- brackets -------------------------------------------------------------------- */

static struct node *unit_node(struct parser *parser, const struct token *at,
                              const struct unit *unit, double number)
{
    struct node *node = parser_node(parser, NODE_NUMBER, at);
    if (node == NULL)
        return NULL;
    node->unit = unit;
    node->number.value = unit_to_si(unit, number);
    return node;
}

/* (a ± b) bar is (a ± b) * 1 bar; on a scale with its own zero, as (20 ± 1) °C, the zero is added
 * to so many steps. */
static struct node *give_unit(struct parser *parser, const struct token *from,
                              const struct node *inner, const struct token *at,
                              const struct unit *unit)
{
    struct node *step = unit_node(parser, at, unit, 1);
    if (step == NULL)
        return NULL;
    if (!kind_is_point(unit->kind))
        return parser_pair(parser, NODE_MULTIPLY, from, inner, step);
    struct node *zero = unit_node(parser, at, unit, 0);
    if (zero == NULL)
        return NULL;
    struct node *difference = parser_pair(parser, NODE_SUBTRACT, at, step, zero);
    if (difference == NULL)
        return NULL;
    struct node *many = parser_pair(parser, NODE_MULTIPLY, from, inner, difference);
    return many == NULL ? NULL : parser_pair(parser, NODE_ADD, from, zero, many);
}

/* NOLINTBEGIN(misc-no-recursion): brackets are at most NESTING_MAX deep */
struct node *parse_group(struct parser *parser)
{
    struct token open = parser->token;
    if (!parser_take(parser))
        return NULL;
    struct token inside = parser->token;
    struct node *node = parser_inner(parser, PRECEDENCE_OR);
    if (node != NULL && parser->token.kind == TOKEN_PLUS_MINUS) {
        if (!parser_take(parser))
            return NULL;
        struct node *half = parser_inner(parser, PRECEDENCE_SUM);
        if (half == NULL)
            return NULL;
        node = parser_pair(parser, NODE_PLUS_MINUS, &inside, node, half);
    }
    if (node == NULL || !parser_close(parser, &open, TOKEN_RIGHT_ROUND))
        return NULL;
    parser->bare = NULL;
    struct token at = parser->token;
    const struct unit *unit = NULL;
    if (!parse_unit(parser, &unit))
        return NULL;
    return unit == NULL ? node : give_unit(parser, &open, node, &at, unit);
}
/* NOLINTEND(misc-no-recursion) */

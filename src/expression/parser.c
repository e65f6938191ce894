/*
 * parser.c - text to tree, by the grammar in docs/expressions.md.
 *
 * Operators between two operands are rows of token_list.h; how tightly each
 * binds is in its row, and parse_level() is all there is to it.
 */
#include "parser.h"

struct token_row {
    struct text shown;
    enum precedence precedence;
    enum node_kind node;
};

static const struct token_row rows[TOKEN_COUNT] = {
#define TOKEN(name, shown, precedence, node)                                                   \
    {{shown, sizeof(shown) - 1}, PRECEDENCE_##precedence, node},
#include "token_list.h"
#undef TOKEN
};

static struct node *parse_level(struct parser *parser, enum precedence least);

struct text parser_slice(const struct parser *parser, const struct token *token)
{
    return text_slice(parser->scanner.whole, token->from, token->to);
}

struct place parser_place(const struct parser *parser, const struct token *token)
{
    return token_place(&parser->scanner, token);
}

bool parser_take(struct parser *parser)
{
    parser->previous = parser->token;
    return scan(&parser->scanner, &parser->token);
}

struct token parser_span(const struct parser *parser, const struct token *from)
{
    struct token span = *from;
    span.to = parser->previous.to;
    span.end_column = parser->previous.end_column;
    return span;
}

/* "'bar'", "the end": what stands here, as a person would say it. */
static struct text token_shown(const struct parser *parser)
{
    const struct token *token = &parser->token;
    if (token->kind == TOKEN_END)
        return rows[TOKEN_END].shown;
    return text_fill(parser->compiler->arena, "'{}'", parser_slice(parser, token));
}

/* AND, Or: the words of the language are small. */
bool parser_refuse_capitals(struct parser *parser, struct text word)
{
    static const struct text words[] = {{"and", 3}, {"or", 2}, {"not", 3}};
    for (size_t i = 0; i < sizeof words / sizeof words[0]; i++)
        if (text_equal_folded(word, words[i]) && !text_equal(word, words[i])) {
            report(parser->compiler->found, FINDING_EXPRESSION_SIGN,
                   parser_place(parser, &parser->token), word,
                   text_fill(parser->compiler->arena, "; write {}", words[i]));
            return true;
        }
    return false;
}

struct node *parser_refuse(struct parser *parser, struct text wanted)
{
    if (parser_refuse_capitals(parser, parser_slice(parser, &parser->token)))
        return NULL;
    report(parser->compiler->found, FINDING_EXPRESSION_TOKEN,
           parser_place(parser, &parser->token), token_shown(parser), wanted);
    return NULL;
}

static struct node *refuse_deep(struct parser *parser, struct text how)
{
    report(parser->compiler->found, FINDING_EXPRESSION_DEEP,
           parser_place(parser, &parser->token), how);
    return NULL;
}

struct node *parser_node(struct parser *parser, enum node_kind kind, const struct token *from)
{
    if (parser->drafts->count == NODES_MAX)
        return refuse_deep(parser, TEXT("longer than 1000 parts"));
    struct draft *draft = arena_new(parser->compiler->arena, struct draft);
    *parser->drafts->last = draft;
    parser->drafts->last = &draft->next;
    parser->drafts->count++;
    struct token span = parser_span(parser, from);
    draft->node.kind = kind;
    draft->node.place = parser_place(parser, &span);
    draft->node.text = parser_slice(parser, &span);
    draft->node.index = INDEX_NONE;
    draft->node.type.index = INDEX_NONE;
    return &draft->node;
}

struct node *parser_pair(struct parser *parser, enum node_kind kind, const struct token *from,
                         const struct node *first, const struct node *second)
{
    struct node *node = parser_node(parser, kind, from);
    if (node != NULL) {
        node->first = first;
        node->second = second;
    }
    return node;
}

bool parser_close(struct parser *parser, const struct token *open, enum token_kind wanted)
{
    if (parser->token.kind == wanted)
        return parser_take(parser);
    if (parser->token.kind == TOKEN_END)
        report(parser->compiler->found, FINDING_EXPRESSION_BRACKET, parser_place(parser, open),
               parser_slice(parser, open), wanted == TOKEN_RIGHT_ROUND ? TEXT(")") : TEXT("]"));
    else
        (void)parser_refuse(parser, wanted == TOKEN_RIGHT_ROUND ? TEXT("an operator or ')'")
                                                                : TEXT("an operator or ']'"));
    return false;
}

/* NOLINTBEGIN(misc-no-recursion): brackets are at most NESTING_MAX deep */
/* --- names, calls, texts ------------------------------------------------------------ */

/* x[3], x["front left"]: the label as written, if nothing else stands in the brackets. */
static bool parse_label(struct parser *parser, struct text *label)
{
    enum token_kind kind = parser->token.kind;
    if (kind != TOKEN_NUMBER && kind != TOKEN_TEXT)
        return false;
    struct scanner before = parser->scanner;
    struct token token = parser->token, next;
    struct diagnostics ignored; /* what cannot be read is reported when it is read again */
    diagnostics_begin(&ignored, parser->compiler->arena);
    before.found = &ignored;
    if (!scan(&before, &next) || next.kind != TOKEN_RIGHT_SQUARE)
        return false;
    *label = parser_slice(parser, &token);
    if (kind == TOKEN_TEXT)
        *label =
            text_normalised(parser->compiler->arena, text_slice(*label, 1, label->length - 1));
    return true;
}

static struct node *parse_bracketed(struct parser *parser, const struct token *from,
                                    const struct node *symbol)
{
    struct token open = parser->token;
    struct text label;
    if (!parser_take(parser))
        return NULL;
    if (parse_label(parser, &label)) {
        (void)parser_take(parser); /* what follows the label was looked at already */
        if (!parser_close(parser, &open, TOKEN_RIGHT_SQUARE))
            return NULL;
        struct node *node = parser_pair(parser, NODE_LABEL, from, symbol, NULL);
        if (node != NULL)
            node->text = label;
        return node;
    }
    struct node *inner = parser_inner(parser, PRECEDENCE_OR);
    if (inner == NULL || !parser_close(parser, &open, TOKEN_RIGHT_SQUARE))
        return NULL;
    return parser_pair(parser, NODE_PICK, from, symbol, inner);
}

static struct node *refuse_arguments(struct parser *parser, enum function function,
                                     const struct token *from)
{
    struct token span = parser_span(parser, from);
    report(parser->compiler->found, FINDING_EXPRESSION_ARGUMENTS, parser_place(parser, &span),
           text_from(function_signature(function)));
    return NULL;
}

static struct node *parse_arguments(struct parser *parser, enum function function,
                                    const struct token *from)
{
    static const unsigned char least[] = {
#define FUNCTION(name, minimum, maximum, signature, summary) minimum,
#include "expression/function_list.h"
#undef FUNCTION
    };
    static const unsigned char most[] = {
#define FUNCTION(name, minimum, maximum, signature, summary) maximum,
#include "expression/function_list.h"
#undef FUNCTION
    };
    const struct node *arguments[ARGUMENTS_MAX];
    size_t count = 0;
    struct token open = parser->token;
    if (!parser_take(parser))
        return NULL;
    while (count > 0 || parser->token.kind != TOKEN_RIGHT_ROUND) {
        struct node *argument = parser_inner(parser, PRECEDENCE_OR);
        if (argument == NULL)
            return NULL;
        if (count == most[function])
            return refuse_arguments(parser, function, from);
        arguments[count++] = argument;
        if (parser->token.kind != TOKEN_COMMA)
            break;
        if (!parser_take(parser))
            return NULL;
    }
    if (!parser_close(parser, &open, TOKEN_RIGHT_ROUND))
        return NULL;
    if (count < least[function])
        return refuse_arguments(parser, function, from);
    struct node *node = parser_node(parser, NODE_CALL, from);
    if (node == NULL)
        return NULL;
    const struct node **kept = arena_array(parser->compiler->arena, const struct node *, count);
    for (size_t i = 0; i < count; i++)
        kept[i] = arguments[i];
    node->function = function;
    node->arguments = kept;
    node->argument_count = count;
    return node;
}

/* elapsed(soak), size(cylinder): a name that stands for no value. */
static struct node *parse_named(struct parser *parser, enum function function,
                                const struct token *from)
{
    struct token open = parser->token;
    if (!parser_take(parser))
        return NULL;
    struct token name = parser->token;
    if (name.kind != TOKEN_NAME)
        return parser_refuse(parser, function == FUNCTION_elapsed || function == FUNCTION_late
                                         ? TEXT("the name of a timer")
                                         : TEXT("the name of an index"));
    if (!parser_take(parser) || !parser_close(parser, &open, TOKEN_RIGHT_ROUND))
        return NULL;
    struct node *node = parser_node(parser, NODE_CALL, from);
    if (node == NULL)
        return NULL;
    node->function = function;
    node->text = parser_slice(parser, &name); /* until the checker has found what it means */
    return node;
}

static struct node *parse_call(struct parser *parser, const struct token *name)
{
    enum function function;
    struct text spelling = parser_slice(parser, name);
    if (!function_find(spelling, &function)) {
        report(parser->compiler->found, FINDING_EXPRESSION_FUNCTION, parser_place(parser, name),
               spelling, suggestion(parser->compiler->arena, function_nearest(spelling)));
        return NULL;
    }
    if (function == FUNCTION_size || function == FUNCTION_first_of ||
        function == FUNCTION_elapsed || function == FUNCTION_late)
        return parse_named(parser, function, name);
    return parse_arguments(parser, function, name);
}

static struct node *parse_name(struct parser *parser)
{
    struct token name = parser->token;
    if (!parser_take(parser))
        return NULL;
    if (parser->token.kind == TOKEN_LEFT_ROUND)
        return parse_call(parser, &name);
    struct node *node = parser_node(parser, NODE_SYMBOL, &name);
    if (node == NULL || parser->token.kind != TOKEN_LEFT_SQUARE)
        return node;
    return parse_bracketed(parser, &name, node);
}

static struct node *parse_text(struct parser *parser)
{
    struct token token = parser->token;
    if (!parser_take(parser))
        return NULL;
    struct node *node = parser_node(parser, NODE_TEXT, &token);
    if (node != NULL)
        node->text = text_normalised(parser->compiler->arena,
                                     text_slice(node->text, 1, node->text.length - 1));
    return node;
}

/* --- operators -------------------------------------------------------------------- */

/* 3/4, of a number that no bracket stands round. */
static bool is_unclear_fraction(const struct node *node)
{
    return node->unit == &unit_one && text_find(node->text, TEXT("/")) < node->text.length;
}

static struct node *refuse_unclear(struct parser *parser, const struct node *node,
                                   struct text advice)
{
    report(parser->compiler->found, FINDING_EXPRESSION_UNCLEAR, node->place, node->text,
           advice);
    return NULL;
}

static struct node *parse_power(struct parser *parser, const struct token *from,
                                const struct node *base)
{
    if (base == parser->bare && !text_equal(base->text, parser_slice(parser, from)))
        return refuse_unclear(parser, base, TEXT("put brackets round what ^ applies to"));
    if (base == parser->bare && is_unclear_fraction(base))
        return refuse_unclear(parser, base, TEXT("put brackets round what ^ applies to"));
    if (!parser_take(parser))
        return NULL;
    struct token token = parser->token;
    const struct number *number = &token.number;
    if (token.kind == TOKEN_MINUS || token.kind == TOKEN_END)
        return parser_refuse(parser, TEXT("a whole number from 1 to 9"));
    if (token.kind != TOKEN_NUMBER || token.to - token.from != 1 || number->value < 1) {
        report(parser->compiler->found, FINDING_EXPRESSION_POWER, parser_place(parser, &token),
               parser_slice(parser, &token));
        return NULL;
    }
    if (!parser_take(parser))
        return NULL;
    struct node *node = parser_pair(parser, NODE_POWER, from, base, NULL);
    if (node == NULL)
        return NULL;
    node->exponent = (int)number->value;
    if (parser->token.kind == TOKEN_POWER)
        return refuse_unclear(parser, node, TEXT("put brackets round one power"));
    return node;
}

static struct node *parse_primary(struct parser *parser)
{
    struct token from = parser->token;
    struct node *node = NULL;
    if (from.kind == TOKEN_NUMBER)
        node = parse_number(parser);
    else if (from.kind == TOKEN_LEFT_ROUND)
        node = parse_group(parser);
    else if (from.kind == TOKEN_NAME)
        node = parse_name(parser);
    else if (from.kind == TOKEN_TEXT)
        node = parse_text(parser);
    else if (from.kind == TOKEN_NOT)
        return parser_refuse(parser, TEXT("a value, or 'not' in brackets"));
    else
        return parser_refuse(parser, TEXT("a value"));
    if (node != NULL && parser->token.kind == TOKEN_POWER)
        return parse_power(parser, &from, node);
    return node;
}

static struct node *parse_prefix(struct parser *parser, enum precedence least)
{
    struct token from = parser->token;
    bool is_not = from.kind == TOKEN_NOT && least <= PRECEDENCE_NOT;
    if (!is_not && from.kind != TOKEN_MINUS)
        return parse_primary(parser);
    if (!parser_take(parser))
        return NULL;
    bool is_before_number = parser->token.kind == TOKEN_NUMBER;
    struct node *operand = parser_inner(parser, is_not ? PRECEDENCE_NOT : PRECEDENCE_SIGN);
    if (operand == NULL)
        return NULL;
    if (!is_not && is_before_number && operand == parser->bare) {
        /* -5 °C is 5 below zero, not 278.15 K less than nothing */
        operand->number.value = unit_to_si(operand->unit, -parser->bare_value);
        operand->place.column = from.column;
        operand->text = text_slice(parser->scanner.whole, from.from, parser->previous.to);
        parser->bare = NULL;
        return operand;
    }
    return parser_pair(parser, is_not ? NODE_NOT : NODE_NEGATE, &from, operand, NULL);
}

/* x / 3/4 looks like two divisions and is one, because 3/4 is a number. */
static bool is_unclear_divisor(const struct node *right)
{
    return is_unclear_fraction(right) &&
           text_find(right->text, TEXT(" ")) == right->text.length;
}

static bool is_comparison(enum token_kind kind)
{
    return rows[kind].precedence == PRECEDENCE_COMPARISON;
}

static struct node *parse_binary(struct parser *parser, const struct token *from,
                                 const struct node *left)
{
    struct token sign = parser->token;
    const struct token_row *row = &rows[sign.kind];
    if (!parser_take(parser))
        return NULL;
    struct node *right = parse_level(parser, (enum precedence)(row->precedence + 1));
    if (right == NULL)
        return NULL;
    if (sign.kind == TOKEN_DIVIDE && right == parser->bare && is_unclear_divisor(right))
        return refuse_unclear(parser, right, TEXT("put it in brackets, or spaces round its /"));
    if (is_comparison(sign.kind) && is_comparison(parser->token.kind)) {
        report(parser->compiler->found, FINDING_EXPRESSION_CHAINED,
               parser_place(parser, &parser->token),
               text_slice(parser->scanner.whole, from->from, parser->previous.to));
        return NULL;
    }
    return parser_pair(parser, row->node, from, left, right);
}

static struct node *parse_level(struct parser *parser, enum precedence least)
{
    struct token from = parser->token;
    struct node *left = parse_prefix(parser, least);
    while (left != NULL && rows[parser->token.kind].precedence != PRECEDENCE_NONE &&
           rows[parser->token.kind].precedence >= least)
        left = parse_binary(parser, &from, left);
    return left;
}

struct node *parser_inner(struct parser *parser, enum precedence least)
{
    if (parser->depth == NESTING_MAX)
        return refuse_deep(parser, TEXT("nested more than 64 deep"));
    parser->depth++;
    struct node *node = parse_level(parser, least);
    parser->depth--;
    return node;
}

const struct node *parse(const struct compiler *compiler, struct text written,
                         struct place place, struct drafts *drafts)
{
    struct parser parser = {.compiler = compiler, .drafts = drafts};
    parser.scanner = (struct scanner){.whole = written,
                                      .column = place.column,
                                      .place = place,
                                      .found = compiler->found,
                                      .arena = compiler->arena};
    *drafts = (struct drafts){.last = &drafts->first};
    if (text_trim(written).length == 0) {
        report(compiler->found, FINDING_EXPRESSION_EMPTY, place, TEXT("nothing"));
        return NULL;
    }
    if (!scan(&parser.scanner, &parser.token))
        return NULL;
    const struct node *root = parse_level(&parser, PRECEDENCE_OR);
    if (root == NULL || parser.token.kind == TOKEN_END)
        return root;
    return parser_refuse(&parser, TEXT("an operator or the end"));
}
/* NOLINTEND(misc-no-recursion) */

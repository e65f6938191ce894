#ifndef EXPRESSION_PARSER_H
#define EXPRESSION_PARSER_H
/*
 * parser.h - what the two halves of the parser share.
 *
 * Purpose   parser.c reads operators, names and calls, parse_number.c numbers
 *           with their units and uncertainties.
 * Owns      the state of one parse.
 * May call  base, measure.
 *
 * Every function that returns a node returns NULL once something was reported,
 * and whoever gets NULL hands it on.
 */
#include "language.h"

enum precedence {
    PRECEDENCE_NONE,
    PRECEDENCE_OR,         /* or */
    PRECEDENCE_AND,        /* and */
    PRECEDENCE_NOT,        /* not, before its operand */
    PRECEDENCE_COMPARISON, /* < <= > >= == != */
    PRECEDENCE_SUM,        /* + - */
    PRECEDENCE_PRODUCT,    /* * / */
    PRECEDENCE_SIGN        /* - before its operand */
};

struct parser {
    const struct compiler *compiler;
    struct scanner scanner;
    struct token token;    /* the next one */
    struct token previous; /* the last one taken */
    struct drafts *drafts;
    int depth;
    const struct node *bare; /* the number just read, if no bracket stands round it */
    double bare_value;       /* in its unit */
};

bool parser_take(struct parser *parser); /* on to the next token */
struct text parser_slice(const struct parser *parser, const struct token *token);
struct place parser_place(const struct parser *parser, const struct token *token);
/* From the beginning of `from` to the end of the last token taken. */
struct token parser_span(const struct parser *parser, const struct token *from);
/* The next token cannot stand here. */
struct node *parser_refuse(struct parser *parser, struct text wanted);
bool parser_refuse_capitals(struct parser *parser, struct text word);
/* A complete node, from `from` to the last token taken. */
struct node *parser_node(struct parser *parser, enum node_kind kind, const struct token *from);
struct node *parser_pair(struct parser *parser, enum node_kind kind, const struct token *from,
                         const struct node *first, const struct node *second);
bool parser_close(struct parser *parser, const struct token *open, enum token_kind wanted);
/* What stands inside something else: brackets, arguments, behind `not` and `-`. */
struct node *parser_inner(struct parser *parser, enum precedence least);

struct node *parse_number(struct parser *parser);
struct node *parse_group(struct parser *parser);

#endif

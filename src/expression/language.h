#ifndef EXPRESSION_LANGUAGE_H
#define EXPRESSION_LANGUAGE_H
/*
 * language.h - what the files of this module share and nobody else sees.
 *
 * Purpose   Text becomes tokens (scanner.c), tokens a tree (parser.h), the tree
 *           gets its types (checker.c, check_call.c, rules.c) and its
 *           values (evaluator.c, evaluate_call.c, evaluate_positions.c).
 * Owns      tokens; the list of nodes in the order they were completed.
 * May call  base, measure.
 *
 * The parser lists every node when it is complete, so operands stand before
 * what uses them; the checker goes along that list and needs no recursion.  It
 * runs only when the whole text could be read: a slip of the pen is then
 * reported once, not with everything that follows from it.
 */
#include "expression/expression.h"

/* Brackets, `not` and `-` within one another; people do not read deeper ones either. */
enum { NESTING_MAX = 64 };
/* Bounds the recursion over a long chain of operators. */
enum { NODES_MAX = 1000 };
enum { ARGUMENTS_MAX = 9 };

enum token_kind {
#define TOKEN(name, shown, precedence, node) TOKEN_##name,
#include "token_list.h"
#undef TOKEN
    TOKEN_COUNT
};

struct token {
    enum token_kind kind;
    size_t from, to; /* bytes of the text */
    unsigned column, end_column;
    struct number number; /* TOKEN_NUMBER */
};

struct scanner {
    struct text whole;
    size_t at;
    unsigned column;
    struct place place;
    struct diagnostics *found;
    struct arena *arena;
};

/* False after reporting what cannot be a token. */
bool scan(struct scanner *scanner, struct token *token);
/* A unit begins where `start` does: the longest run of what a unit may be spelled with. */
struct text scan_unit(struct scanner *scanner, const struct token *start, struct token *unit);
struct place token_place(const struct scanner *scanner, const struct token *token);

struct draft {
    struct node node;
    struct draft *next;
};

struct drafts {
    struct draft *first, **last;
    size_t count;
};

struct compiler {
    const struct scope *scope; /* never NULL */
    struct diagnostics *found;
    struct arena *arena;
    unsigned *written_errors;
};

/* NULL after reporting. */
const struct node *parse(const struct compiler *compiler, struct text written,
                         struct place place, struct drafts *drafts);
/* The next source of error for a `±`. */
unsigned next_written_error(const struct compiler *compiler);
const struct gradient *written_gradient(struct arena *arena, unsigned source,
                                        double half_width);

/* --- checking --------------------------------------------------------------------- */

bool check_node(const struct compiler *compiler, struct node *node);
bool check_call(const struct compiler *compiler, struct node *node);
/* `node` must be a number, or a truth; says so if not. */
bool want_base(const struct compiler *compiler, const struct node *node, enum type_base base,
               struct text user);
/* The kind two numbers have together; false after reporting that they have none. */
bool want_one_kind(const struct compiler *compiler, const struct node *a, const struct node *b,
                   struct text user, struct kind *kind);
/* The index of what two values make; false after reporting that they do not mix. */
bool want_one_index(const struct compiler *compiler, const struct node *a, const struct node *b,
                    int *index);
bool want_no_point(const struct compiler *compiler, const struct node *node,
                   struct text reason);
struct text index_name(const struct compiler *compiler, int index);
/* As a person would point at it: x[3] has only its label in `text`. */
struct text node_shown(struct arena *arena, const struct node *node);
struct text described(const struct compiler *compiler, struct type type);
/* "a pressure"; no name of a kind wants `an` (a test looks at each) */
struct text type_described(struct arena *arena, struct type type, struct text index_name);
/* Is the literal one of the choices?  Reports if not; `what` is what has the choices. */
bool want_among(struct diagnostics *found, const struct choices *choices, struct text what,
                const struct node *literal);
/* ", did you mean 'x'?" or nothing */
struct text suggestion(struct arena *arena, struct text nearest);

/* --- working out -------------------------------------------------------------------- */

struct evaluator {
    const struct surroundings *around;
    struct arena *arena;
};

struct value evaluate(const struct evaluator *evaluator, const struct node *node);
struct value evaluate_call(const struct evaluator *evaluator, const struct node *node);
/* What was read of a vector, in physical order; `missing` is the first that was not. */
struct readings {
    size_t count;
    double *values;
    const struct gradient **gradients;
    struct scalar missing;
    bool is_unsure; /* some reading is, or whether it counts is */
};
int position_here(const struct evaluator *evaluator, int index); /* or INDEX_NONE */
/* Neither the number nor what it is uncertain by is too large to work with, or too small. */
bool scalar_fits(struct scalar scalar);
/* Missing if it does not fit. */
struct scalar finite_scalar(const struct evaluator *evaluator, const struct node *node,
                            struct scalar scalar);
struct readings read_positions(const struct evaluator *evaluator, const struct value *vector,
                               const struct node *node);
struct value evaluate_over_positions(const struct evaluator *evaluator,
                                     const struct node *node);
struct value evaluate_several(const struct evaluator *evaluator, const struct node *node);
struct value evaluate_stands_out(const struct evaluator *evaluator, const struct node *node);
struct value evaluate_truths(const struct evaluator *evaluator, const struct node *node);
struct value value_blank(const struct evaluator *evaluator, struct type type);
struct scalar value_item(const struct value *value,
                         size_t i); /* a scalar is the same everywhere */
struct scalar scalar_number(double value, const struct gradient *gradient);
struct scalar scalar_truth(bool truth, bool is_unsure);
struct scalar scalar_text(struct text text);
struct scalar scalar_missing(struct text name);
struct scalar scalar_and(struct scalar a, struct scalar b);
struct scalar scalar_or(struct scalar a, struct scalar b);

bool function_find(struct text name, enum function *function);
struct text function_nearest(struct text name);

/* Pressure at a geometric altitude; false outside the troposphere. */
bool standard_pressure(double altitude, double *pressure, double *slope);

#endif

#ifndef EXPRESSION_EXPRESSION_H
#define EXPRESSION_EXPRESSION_H
/*
 * expression.h - the arithmetic of a procedure: parsed, checked, worked out.
 *
 * Purpose   `min(dry) / max(dry)` in a file becomes a tree whose every node has
 *           a type and a place.  Kinds are checked before a job can start, so
 *           that adding bar to litres is the author's mistake at the desk, not
 *           the mechanic's under the car.
 * Owns      the grammar, the functions (function_list.h), type rules, evaluation.
 * May call  base, measure.
 *
 * What a name means is the caller's business: it comes in through a `scope`
 * when checked and through `surroundings` when worked out.
 *
 * To add a function: one line in function_list.h; its cases in check_call.c and
 * evaluate_call.c (the compiler demands both); an example in
 * docs/expressions.md (a test demands it).
 */
#include "base/diagnostic.h"
#include "expression/value.h"

/* --- the tree ------------------------------------------------------------------- */

enum node_kind {
    NODE_NUMBER, /* 25 N.m; with its uncertainty: 25 N.m ± 4 % */
    NODE_TEXT,   /* "between the marks" */
    NODE_SYMBOL, /* dry, machine.displacement, soak.treated */
    NODE_INDEX,  /* cylinder: the label here, under its each */
    NODE_HERE,   /* x[cylinder]: first, at the current position of `index` */
    NODE_LABEL,  /* x[3], x["front left"]: first, at a named label (text) */
    NODE_PICK,   /* x[truth vector]: first where second, missing elsewhere */
    NODE_CALL,   /* function with its arguments */
    NODE_NEGATE,
    NODE_NOT,
    NODE_AND,
    NODE_OR,
    NODE_ADD,
    NODE_SUBTRACT,
    NODE_MULTIPLY,
    NODE_DIVIDE,
    NODE_POWER, /* first to the whole power `exponent` */
    NODE_LESS,
    NODE_LESS_EQUAL,
    NODE_GREATER,
    NODE_GREATER_EQUAL,
    NODE_EQUAL,
    NODE_NOT_EQUAL,
    NODE_PLUS_MINUS /* (a ± b): second is half a 95 % interval, or a part of first if only
                       second is a plain number */
};

enum function {
#define FUNCTION(name, minimum, maximum, signature, summary) FUNCTION_##name,
#include "expression/function_list.h"
#undef FUNCTION
    FUNCTION_COUNT
};

struct node {
    enum node_kind kind;
    struct type type;        /* set by the checker */
    struct place place;      /* in the file */
    struct measured number;  /* NODE_NUMBER, in SI */
    const struct unit *unit; /* NODE_NUMBER: the unit it was written with */
    struct text text;        /* NODE_TEXT, NODE_LABEL: what it says; any other: as written */
    unsigned symbol;         /* NODE_SYMBOL, and a CALL of elapsed or late: the timer's;
                                NODE_PLUS_MINUS: its source of error */
    int index;               /* NODE_INDEX, NODE_HERE, NODE_LABEL, and a CALL of size,
                                first_of, elapsed or late */
    int exponent;            /* NODE_POWER */
    enum function function;  /* NODE_CALL */
    const struct node *first, *second;   /* operands */
    const struct node *const *arguments; /* NODE_CALL; none of size, first_of, elapsed, late */
    size_t argument_count;
};

struct expression {
    struct text written; /* as in the file */
    struct place place;
    struct type type;
    const struct node *root;
};

/* Every `±` is a source of error of its own, numbered from here up, in the order the compiler met
 * them; a job numbers its own sources from 0, so the two never meet.  A `±` that is used twice
 * through a name is one source, and cancels as one. */
enum { WRITTEN_ERROR_SOURCES = 0x40000000 };

/* --- what names mean --------------------------------------------------------------- */

enum meaning_kind { MEANING_VALUE, MEANING_INDEX, MEANING_TIMER };

struct meaning {
    enum meaning_kind kind;
    unsigned symbol;  /* MEANING_VALUE, MEANING_TIMER: the caller's number for it */
    struct type type; /* MEANING_VALUE */
    int index; /* MEANING_INDEX; MEANING_TIMER: it runs for each of these, or INDEX_NONE */
    /* MEANING_VALUE: the indexes (bit i) under whose `each` alone it can be used */
    unsigned long long loops;
};

struct scope {
    void *self;
    /* False if nothing has this name; what is in scope is then asked for suggestions. */
    bool (*find)(void *self, struct text name, struct meaning *meaning);
    struct text (*nearest)(void *self, struct text name); /* a suggestion, or empty */
    unsigned long long loops; /* bit i: we stand under `each` of index i */
    struct text (*index_name)(void *self, int index); /* for findings; may be NULL */
    /* Counts the sources of error written with `±`; one counter for all expressions that are worked
     * out together.  NULL: every expression counts for itself. */
    unsigned *written_errors;
    /* Outside a procedure (calc) there is nothing to look up: find always fails. */
};

/* --- making one -------------------------------------------------------------------- */

/* Parses and checks.  `place` is where the text stands in its file (a one-line scalar; columns of
 * inner places are counted from it).  NULL after reporting at least one finding. */
const struct expression *expression_compile(struct text written, struct place place,
                                            const struct scope *scope,
                                            struct diagnostics *found, struct arena *arena);

/* Would the value of this type stand where `wanted` is needed?  Reports if not; `what` names the
 * place of use ("the limit").  A text with choices is compared with its choices. */
bool expression_expect(const struct expression *expression, struct type wanted,
                       struct text what, struct diagnostics *found);

/* "pressure for each cylinder", "truth", "text"; index_name may be empty. */
struct text type_name(struct arena *arena, struct type type, struct text index_name);

/* Calls `visit` for every node, parents first. */
void expression_walk(const struct node *root,
                     void (*visit)(void *self, const struct node *node), void *self);

/* Is this word part of the language (an operator word or a function), so that no name may be it? */
bool expression_reserves(struct text word);

/* --- working it out -------------------------------------------------------------- */

struct labels {
    size_t count;
    const struct text *texts; /* in physical order */
    const unsigned *firing;   /* positions in the order they fire; NULL if not known */
};

struct surroundings {
    void *self;
    /* The whole value of a symbol (a vector for each position); missing where nothing is known. */
    struct value (*value_of)(void *self, unsigned symbol, struct arena *arena);
    /* The repeats of a reading at one position, for scatter(); count 0 if none. */
    struct value (*repeats_of)(void *self, unsigned symbol, unsigned position,
                               struct arena *arena);
    /* Seconds since a timer was started; negative if it was not.  `late`: seconds past at_most. */
    double (*elapsed)(void *self, unsigned timer, int position);
    double (*late)(void *self, unsigned timer, int position);
    const struct labels *indexes; /* by index number */
    size_t index_count;
    const int *here; /* by index number: the current position, or INDEX_NONE outside its each */
};

/* Never fails: what cannot be worked out (division by nothing, a root of less than nothing, an
 * absent reading) is missing, with the name of what was missing. */
struct value expression_evaluate(const struct expression *expression,
                                 const struct surroundings *surroundings, struct arena *arena);

/* The order in which to tighten `count` fasteners across: 1 3 5 2 4 for five (common practice).
 * `order` takes `count` numbers from 1 up.  False, and nothing done, above STAR_MAX or for 0. */
enum { STAR_MAX = 64 };
bool star_order(unsigned count, unsigned *order);

/* Every function, for messages and docs. */
const char *function_name(enum function function);
const char *function_signature(enum function function);

/* --- calc ------------------------------------------------------------------------ */

/* Works out `EXPRESSION [in UNIT]` on its own.  After reporting findings `shown` is empty. */
struct calculation {
    struct text shown;    /* the answer, or why there is none, in words for a person */
    bool is_unanswerable; /* nothing is wrong in its writing, but it has no value: 1 / 0 */
};
struct calculation expression_calculate(struct text written, const struct source *source,
                                        struct diagnostics *found, struct arena *arena);

#endif

#ifndef EXPRESSION_VALUE_H
#define EXPRESSION_VALUE_H
/*
 * value.h - what an expression can be: a number of some kind, a truth, a text,
 * or one of these for each position of an index.
 *
 * Purpose   A cylinder that was not read is *missing*, not zero; a comparison
 *           that lies within its uncertainty is *unsure*, not simply true.
 *           Both travel with the value, so that no sum can lose them.
 * Owns      types and values.  An index is known here by its number only; its
 *           name and labels belong to the procedure and the machine.
 * May call  base, measure.
 */
#include "base/text.h"
#include "measure/uncertainty.h"

enum type_base { TYPE_NUMBER, TYPE_TRUTH, TYPE_TEXT };

/* The texts that a text with choices can be. */
struct choices {
    size_t count;
    const struct text *texts;
};

enum { INDEX_NONE = -1 };

struct type {
    enum type_base base;
    struct kind kind;              /* of a number */
    const struct choices *choices; /* of a text; NULL: any text */
    int index;                     /* the index it is a vector over, or INDEX_NONE */
};

struct scalar {
    bool is_missing;
    /* It could be otherwise, were the comparisons unknown whose probability lies between 5 and 95 %.
     * Of a number, a text or what is missing: a truth picked or counted it. */
    bool is_unsure;
    union {
        struct measured number;
        bool truth;
        struct text text;
    };
    struct text missing_name; /* what was missing first, in the author's words */
};

/* A scalar has one item; a vector one for each position, in physical order. */
struct value {
    struct type type;
    size_t count;
    struct scalar *items;
};

struct value value_missing(struct arena *arena, struct type type, size_t count,
                           struct text missing_name);
struct value value_number(struct arena *arena, double si, struct kind kind);
struct value value_words(struct arena *arena, struct text text);
/* Is it there, at one position at least? */
bool value_is_anything(const struct value *value);

#endif

#ifndef VERIFY_RULES_WORDS_H
#define VERIFY_RULES_WORDS_H
/*
 * rules_words.h - a sentence as words, and what each word can be.
 *
 * Purpose   The rules of writing look at words: does a step begin with a verb, is
 *           there a second one, is an answer only "yes".  Everything they know
 *           of English stands in three lists, rules_word_list.h,
 *           rules_name_list.h and rules_hazard_list.h.
 * Owns      cutting a text into words, looking them up, what makes a word an order.
 * May call  base.
 */
#include "base/text.h"

enum word_is {
    IS_VERB = 1,            /* a step can begin with it */
    IS_NOUN = 2,            /* and it is as often something else */
    IS_DETERMINER = 4,      /* what follows a verb and makes it one: "seal the joint" */
    IS_JOIN = 8,            /* "and", "then" */
    IS_IF = 16,             /* leaves a decision to the reader */
    IS_WHEN = 32,           /* the same, where it opens a clause */
    IS_NEGATION = 64,       /* "not", "never" */
    IS_DUTY = 128,          /* "must": an order in other words */
    IS_CHECK = 256,         /* looking, which needs an answer */
    IS_OUTCOME = 512,       /* "ensure" */
    IS_VAGUE = 1024,        /* "properly" */
    IS_LATE = 2048,         /* tells what holds after a time */
    IS_DEADLY = 4096,       /* harm beyond a caution */
    IS_BARE = 8192,         /* an answer that says nothing: "yes", "ok" */
    IS_BENEATH = 16384,     /* "under" */
    IS_SMALL = 32768,       /* too small a word to tell one thing from another */
    IS_PROTECTION = 65536,  /* "wear": an order in a message, whatever follows */
    IS_LOOSE = 131072,      /* may begin what leaves something to the reader */
    IS_HAZARD = 262144,     /* has rows in rules_hazard_list.h */
    IS_PREPOSITION = 524288 /* what a verb is done to does not stand behind it */
};

enum { WORD_LOWER_MAX = 24 }; /* no word of the lists is longer */

struct word {
    struct text text;     /* as written */
    const char *lower;    /* small letters, without hyphens and apostrophes */
    unsigned is;          /* enum word_is, of the word where it stands */
    bool opens;           /* first, or behind a mark, or behind "and" or "then" */
    bool opens_sentence;  /* first, or behind . ; ! ? */
    bool is_value;        /* digits or {a blank} */
    unsigned char length; /* of lower; 0: too long to be known */
};

struct words {
    struct word *items;
    size_t count;
};

/* A blank {…} counts as one word. */
struct words words_of(struct text text, struct arena *scratch);
/* What the list says of a word in small letters; 0: it is not there. */
unsigned word_known(struct text lower);
struct text word_lower(const struct word *word);
/* The verb a word comes from: "remove" for removes, removing, removed; empty if it comes from none. */
struct text word_verb(const struct word *word);
/* Is it an order there: at the beginning of a clause, and a verb without doubt? */
bool word_is_order(const struct words *words, size_t at);
/* The same two words, but for a plural? */
bool word_same(const struct word *a, const struct word *b);

/* A hazard that the words of a step tell of: the verb at `at`, with what it is done to. */
struct hazard {
    struct text verb, objects, unless, activities; /* words of each parted by spaces */
};
/* Calls `visit` for each hazard a text tells of; `phrase` is the part of the text. */
void words_hazards(const struct words *words, struct text whole,
                   void (*visit)(void *self, const struct hazard *hazard, struct text phrase),
                   void *self);

#endif

#ifndef VERIFY_RULES_LOOKING_H
#define VERIFY_RULES_LOOKING_H
/*
 * rules_looking.h - what the rules of writing know while they look.
 *
 * Purpose   Each group of rules is a file of its own; they share the procedure, what it
 *           allows, and how a finding is told.
 * Owns      nothing that outlives the look.
 * May call  base, measure, expression, procedure.
 */
#include "verify/rules.h"
#include "verify/rules_words.h"

struct rules {
    const struct procedure *procedure; /* NULL: a library */
    const struct source *own;
    struct diagnostics *found;
    struct arena *scratch;
    bool are_words_known;      /* the steps are in English */
    const bool *guards_danger; /* by condition: a step that says danger needs it */
    bool *is_used;             /* by allowance: the procedure's, then those of each step */
    const size_t *allow_from;  /* by work: its first allowance; NULL: no step has one */
};

bool rules_is_own(const struct rules *rules, struct place place);

/* say(rules, work, finding, place, one text for each {} in the sentence).  `work` is the step it
 * concerns, or NULL.  A warning in another file is not told; one that is allowed neither. */
#define SAY(...) SAY_FILLED(__VA_ARGS__, (struct text){0})
#define SAY_FILLED(rules, work, finding, place, ...)                                           \
    rules_say((rules), (work), (finding), (place), (const struct text[]){__VA_ARGS__},         \
              sizeof((const struct text[]){__VA_ARGS__}) / sizeof(struct text) - 1)
void rules_say(struct rules *rules, const struct work *work, enum finding finding,
               struct place place, const struct text *filling, size_t filling_count);

struct text rules_number(struct rules *rules, size_t number);
bool step_says_danger(const struct step *step);
const struct condition *rules_condition(const struct rules *rules, unsigned id);

/* rules_text.c */
void rules_texts_of_step(struct rules *rules, const struct work *work);
/* One text of a message, of a step or of an activity (work: NULL). */
void rules_message_text(struct rules *rules, const struct work *work, enum signal signal,
                        struct text text, struct place place);
bool rules_begins_with_verb(struct rules *rules, const struct step *step);
/* rules_answers.c */
void rules_answers(struct rules *rules, const struct work *work,
                   const struct question *question, struct place place, bool guards_danger);
/* rules_work.c */
void rules_gates_of_step(struct rules *rules, const struct work *work);
void rules_order_of_work(struct rules *rules);
/* rules_conditions.c */
void rules_conditions(struct rules *rules);
/* rules_expression.c */
void rules_expressions(struct rules *rules);

#endif

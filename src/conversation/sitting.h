#ifndef CONVERSATION_SITTING_H
#define CONVERSATION_SITTING_H
/*
 * sitting.h - one session while it runs: what words and the loop itself share.
 *
 * Purpose   Recording, and questions that belong to no step (which answer to
 *           correct, what to do about Ctrl-C).
 * Owns      the order: append, apply, tell.
 * May call  session.h, present.h.
 */
#include "present.h"

struct sitting {
    struct session *session;
    struct talk talk;
    bool has_failed;  /* the world did; session->failure says how */
    bool is_left;     /* the person or the system is gone: end after this turn */
    bool has_pending; /* an answer to a question of ours that was none: Ctrl-C, the end */
    enum answer_kind pending;
};

struct instant sitting_now(const struct sitting *sitting);
/* Makes the events durable, applies them, and only then tells what was understood.  False if it was
 * refused, or if the world failed. */
bool sitting_take(struct sitting *sitting, const struct decision *decision);

enum { CHOICE_NONE = -1 };
/* Asks something beside the work until one of the choices is given.  CHOICE_NONE if the person left
 * the question instead; `name` is how an answers file would call it. */
int sitting_choose(struct sitting *sitting, enum prompt_kind kind, struct text name,
                   struct text question, struct choices choices);
/* Asks for a text; false if it was left empty. */
bool sitting_ask_text(struct sitting *sitting, enum prompt_kind kind, struct text name,
                      struct text question, struct text *typed);

/* --- session_words.c ---------------------------------------------------------------------------- */

/* If what was typed begins with a word of command, and is not an answer to the prompt, does it. */
bool words_take(struct sitting *sitting, const struct prompt *prompt, struct text typed);
/* What to say of something typed where only Enter or a word is understood. */
void words_refuse(struct sitting *sitting, const struct prompt *prompt, struct text typed);
/* After a refusal: the word of command that was perhaps meant. */
void words_hint(struct sitting *sitting, const struct prompt *prompt, struct text typed);
/* True if it was said that a word with a dot, where a text is asked for, is none. */
bool words_refuse_dotted(struct sitting *sitting, const struct prompt *prompt,
                         struct text typed);
/* The make-safe list, and what to do about it: also an answer to Ctrl-C. */
void words_makesafe(struct sitting *sitting);
void words_pause(struct sitting *sitting);

#endif

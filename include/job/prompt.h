#ifndef JOB_PROMPT_H
#define JOB_PROMPT_H
/*
 * prompt.h - what the person is asked next, and what they did.
 *
 * Purpose   One question at a time, in words that are ready to be shown.  The
 *           console shows it and brings back what was typed; what that means is
 *           decided in the job, so that a terminal, an answers file and a
 *           test cannot differ about it.
 * Owns      the shape of a question and of an answer.
 * May call  base, procedure.
 */
#include "job/event.h"

enum prompt_kind {
    PROMPT_MANUAL_VALUE, /* a value of the machine that the sheet lacks */
    PROMPT_SOURCE,       /* where it was read */
    PROMPT_INPUT,
    PROMPT_CONDITION, /* a condition's question: choices */
    PROMPT_WARNING,   /* Enter: read */
    PROMPT_OPTIONAL,  /* do it, or pass over: choices */
    PROMPT_ACTION,    /* Enter: done */
    PROMPT_READING,
    PROMPT_COUNT,  /* how many came back */
    PROMPT_HOLD,   /* a hold point: choices, or a text */
    PROMPT_WAIT,   /* a timer still runs; Enter looks again */
    PROMPT_SHUT,   /* the work cannot just go on; what can be done: choices */
    PROMPT_INSIST, /* implausible: choices, measure again or keep it */
    PROMPT_REASON, /* a free text */
    PROMPT_ONCE,   /* how far a once step, a card or the step on show had got: choices */
    PROMPT_CUE,    /* a physical cue; free text */
    PROMPT_CLOCK,
    PROMPT_AMEND, /* a correction changes what was decided: leave it, or go by it */
    PROMPT_BOUND, /* a repeat's bound was reached: only make safe or pause */
    PROMPT_TRIAL, /* what a trial can show, before anyone is treated: choices; a hold point */
    PROMPT_CLAIM, /* which positions changed, asked before the results are shown */
    PROMPT_ENDED
};

struct prompt {
    enum prompt_kind kind;
    struct spot spot;
    const struct work *work; /* NULL in the opening */
    struct text name; /* what an answers file calls it: a reading, condition, input, step */
    int position;     /* INDEX_NONE, or the position it is about */
    struct text position_label;
    unsigned repeat, repeats; /* reading 2 of 3 */
    struct text question;     /* one line or two, complete */
    struct choices choices;   /* in the order shown; answered by number or by their words */
    const struct unit *unit;  /* of a bare number, or NULL */
    const struct unit
        *unit_in_file;  /* the procedure's own, where the person's gauge has another */
    bool enter_passes;  /* only where nothing hangs on it */
    bool is_free_text;  /* words of command begin with a dot here */
    long long wakes_at; /* wall clock; 0: never.  The console may return ANSWER_WAKE then */
};

enum answer_kind {
    ANSWER_TYPED,     /* a line, perhaps empty */
    ANSWER_END,       /* end of input */
    ANSWER_INTERRUPT, /* Ctrl-C */
    ANSWER_WAKE,      /* wakes_at has come */
    ANSWER_STOP       /* SIGTERM, SIGHUP: the process is going to end */
};
struct answer {
    enum answer_kind kind;
    struct text typed; /* in the arena given to ask() */
};

/* --- choices ------------------------------------------------------------------------------ */

/* Of PROMPT_INSIST and PROMPT_OPTIONAL, for whoever answers without a person. */
extern const struct choices insist_choices, optional_choices;
enum { INSIST_AGAIN, INSIST_KEEP };
enum { OPTIONAL_DO, OPTIONAL_PASS };

/* A beginning of three letters and more will do for a choice that nobody's safety hangs on; a hold
 * point and a condition want the number or the whole words. */
enum choice_words { CHOICE_BEGINNING, CHOICE_WHOLE };
/* The choice meant, by its words or its number; false with a refusal. */
bool choice_take(const struct choices *choices, enum choice_words words, struct text typed,
                 size_t *chosen, struct text *refusal, struct arena *scratch);
/* How a paragraph is meant; a console may use colour, but never colour alone. */
enum tone {
    TONE_PLAIN,
    TONE_HEADING, /* a section, a step's headline */
    TONE_ACTION,  /* what to do */
    TONE_DETAIL,  /* tools, torque, look for, why */
    TONE_NOTICE,
    TONE_CAUTION,
    TONE_WARNING,
    TONE_DANGER,
    TONE_ECHO,    /* what was understood */
    TONE_REFUSAL, /* why it was not taken */
    TONE_SUCCESS
};

#endif

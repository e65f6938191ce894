#ifndef CONVERSATION_REHEARSAL_STATE_H
#define CONVERSATION_REHEARSAL_STATE_H
/*
 * rehearsal_state.h - what a rehearsal remembers of its answers file.
 *
 * Purpose   Which answers were used and what went wrong, so that both can be
 *           judged when the session is over.
 * Owns      struct rehearsal.
 * May call  conversation/rehearsal.h.
 */
#include "conversation/rehearsal.h"

/* How often something in the file was used. */
struct visit {
    const struct given *given;
    size_t count;
    struct visit *next;
};

struct trouble {
    enum finding finding;
    struct place place;
    struct text first, second, third;
    struct trouble *next;
};

struct rehearsal {
    const struct answers *answers;
    const struct fitted *fitted;
    struct console echo;
    struct arena *arena;
    struct instant now;
    struct visit *visits;
    struct trouble *troubles, **last_trouble;
    bool has_paused, has_failed; /* pause_before and fail_before come once */
    bool was_interrupted;
    double gap;    /* seconds the interruption lasts */
    bool is_stuck; /* nothing more to say: the input has ended */
    struct text asked,
        answered; /* the last prompt's name and the answer to it, if it has one */
    struct place answered_at;
    const struct given *insists; /* beside the last value */
    const struct given *times;   /* the list the last condition's answer came from, or NULL */
    struct prompt denied; /* the last condition asked, to see one that is denied for ever */
    struct text denied_with;
    unsigned same_answers, shut_gates;
};

/* 0: never. */
size_t rehearsal_visits(const struct rehearsal *rehearsal, const struct given *given);

#endif

#ifndef CONVERSATION_SESSION_H
#define CONVERSATION_SESSION_H
/*
 * session.h - the loop that asks, decides, records and applies.
 *
 * Purpose   Everything the loop needs from the world comes in as three small
 *           ports; the terminal, the record and the system clock are one set of
 *           them, an answers file, tests and the fuzzer are others.
 * Owns      the order of things: append to the journal, then apply, then tell;
 *           how a step is presented; the words a person may type.
 * May call  job, outcome.
 */
#include "base/failure.h"
#include "outcome/outcome.h"

struct console {
    void *self;
    /* Shows the prompt and waits.  False: the console itself has failed. */
    bool (*ask)(void *self, const struct prompt *prompt, struct answer *answer,
                struct arena *scratch);
    /* Shows one paragraph; the console wraps it. */
    void (*tell)(void *self, enum tone tone, struct text paragraph);
};

struct journal {
    void *self;
    /* True only when every event is durable; all or none. */
    bool (*append)(void *self, const struct event *events, size_t count,
                   struct failure *failure);
    /* Reads a file for `photo FILE`; the bytes go into the arena. */
    bool (*read_file)(void *self, struct text path, struct text *bytes, struct arena *arena,
                      struct failure *failure);
};

struct clock {
    void *self;
    struct instant (*now)(void *self);
};

struct ranking; /* verify/verify.h */

/* What hangs on each step; asked for when the first step is shown, not before.  NULL `rank`, or a
 * NULL from it: nothing is said. */
struct ranker {
    void *self;
    const struct ranking *(*rank)(void *self);
};

enum session_end {
    SESSION_COMPLETED, /* everything restored */
    SESSION_LEFT_OPEN, /* ended with something owed, out or running */
    SESSION_PAUSED,
    SESSION_WORLD_FAILED /* see failure */
};

struct session {
    struct job *job;
    struct console console;
    struct journal journal;
    struct clock clock;
    struct ranker ranker;
    struct arena *scratch;  /* rewound at every turn */
    struct failure failure; /* filled in when it ends in SESSION_WORLD_FAILED */
};

/* A new job: what was loaded, the seed, earlier values are in the STARTED event given. */
enum session_end session_start(struct session *session, const struct event *started);
/* An interrupted one whose events have been applied. */
enum session_end session_resume(struct session *session);
/* The make-safe list in words, also for the command of that name. */
void session_tell_makesafe(struct session *session);

/* The words a person may type while a step is shown, for completion and help. */
struct session_word {
    const char *word, *argument, *summary;
};
bool session_word_at(size_t i, struct session_word *word);

#endif

#ifndef VERIFY_VERIFY_H
#define VERIFY_VERIFY_H
/*
 * verify.h - what must be true of a procedure before anyone follows it.
 *
 * Purpose   A job can be begun with a `struct sound_procedure` only, and only
 *           this module makes one: when on every path through the procedure,
 *           its branches, optional steps, rounds, parts and stops included, no
 *           step is reached without what it needs or with what it forbids,
 *           everything is put back at the end, and making safe has an order
 *           from everywhere.  Where it is not so, the shortest path that shows
 *           it is kept.
 * Owns      the walk through all states; the path to each fault; the order of
 *           importance of the steps; what the claim is.
 * May call  base, measure, expression, procedure, safety.
 *
 *     struct proof proof = verify_procedure(procedure, &found, &files, &scratch);
 *     if (proof.verdict == PROOF_SOUND) ... job_begin(&proof.sound, ...);
 *
 * What is taken for what is docs/safety.md, section 6: two positions for every
 * index, true answers, one truth for each distinct expression.  What is not
 * shown: that the person did it; that the library is complete; that a step
 * exposes one to no more than its activities say; times; anything after a step
 * was skipped by force.
 */
#include "procedure/procedure.h"

struct proof;

struct sound_procedure {
    const struct procedure *procedure;
    const struct proof *proof; /* what was shown; NULL for a job taken up from the record */
};

enum proof_verdict {
    PROOF_SOUND,
    PROOF_MISTAKES, /* errors were found while reading it, or there is no procedure */
    PROOF_PART,     /* no error in it, but it is proven in what follows it */
    PROOF_UNSAFE,   /* `paths` has at least one */
    PROOF_TOO_LARGE /* past PROOF_STATES_MAX or PROOF_BITS_MAX: not proven; `multiplies` says why */
};

/* One thing that happens on a path, each costing 1 in its length. */
enum path_event_kind {
    PATH_ASKED_AT_START, /* condition, truth: how it stands when the job begins */
    PATH_DONE,           /* work (a step), here */
    PATH_PASSED_OVER,    /* work: an optional step not done */
    PATH_DECIDED,        /* expression, here, truth; or, for one text, `text`: its answer */
    PATH_SUBSET,         /* work (a loop): `position` is in the subset (truth) or not */
    PATH_ROUND,          /* work (a repeat): another round (truth true) or no more */
    PATH_STOPPED,        /* a stop after what came before: what lapses has lapsed */
    PATH_BEGUN           /* work (a step), here: begun and not finished, then a stop */
};
struct path_event {
    enum path_event_kind kind;
    const struct work *work;             /* NULL where it has none */
    const int *here;                     /* by index: 0 "this one", 1 "another", INDEX_NONE */
    const struct expression *expression; /* PATH_DECIDED */
    unsigned condition;                  /* PATH_ASKED_AT_START */
    int position;                        /* PATH_SUBSET, PATH_ASKED_AT_START; or INDEX_NONE */
    bool truth;
    struct text text;
};

enum path_fault {
    FAULT_NEED,      /* condition is needed by work, and not in force */
    FAULT_FORBIDDEN, /* condition is forbidden by work, and is so */
    FAULT_REQUIRES,  /* work would leave condition without `required` */
    FAULT_LEFT,      /* at the end condition is out of its normal state */
    FAULT_PART_LEFT, /* at the end part is out */
    FAULT_PART_OUT,  /* work takes part out, which is out already, wherever work takes it out */
    FAULT_PART_IN,   /* a doubt: work puts part back, which is nowhere out */
    FAULT_ONCE,      /* work is marked once and would be done again */
    FAULT_NO_ORDER, /* from here no order makes safe: condition stays; `helper` would clear it, and `is_blocked` */
    FAULT_ROUND,    /* a round of work, a loop, leaves condition otherwise than it found it */
    FAULT_UNREACHED /* no path leads to work; no events */
};

/* Why the step that would have helped did not. */
enum path_cause {
    CAUSE_NO_STEP,     /* no step sets (or clears) it */
    CAUSE_NOT_YET,     /* it stands later in the work */
    CAUSE_PASSED_OVER, /* optional, and not done */
    CAUSE_LEFT_OUT,    /* its `when`, its branch or its subset was not taken */
    CAUSE_UNDONE /* it was done, and then undone: `undoer` cleared or voided it (or set it again) */
};
/* Of a condition that is so and must not be, `undoer` is the step that made it so, whatever the cause. */

struct unsafe_path {
    enum path_fault fault;
    const struct work *work; /* where it is refused; NULL: at the end */
    const int *here;
    unsigned condition, required, part;
    int position; /* of condition or part, or INDEX_NONE */
    enum path_cause cause;
    const struct work *helper, *undoer; /* NULL: none */
    /* FAULT_NO_ORDER: the gate of `helper` wants `blocked`: to be so, or (is_forbidden) not to be so. */
    bool is_blocked, is_forbidden;
    unsigned blocked;
    const struct path_event *events; /* from the beginning; the fault follows the last */
    size_t event_count;              /* the length of the path; no shorter one exists */
};

struct proof {
    enum proof_verdict verdict;
    struct sound_procedure sound; /* PROOF_SOUND */
    size_t states;                /* of (place, conditions, decisions) that can be reached */
    size_t branches;              /* places where the work can go more than one way */
    size_t safe_orders; /* distinct states from which an order to make safe was shown */
    const struct unsafe_path
        *paths; /* the shortest for each fault at each place; shortest first */
    size_t path_count;
    /* PROOF_SOUND all the same: the shortest path to each FAULT_PART_IN; shortest first. */
    const struct unsafe_path *doubts;
    size_t doubt_count;
    const struct text *multiplies; /* PROOF_TOO_LARGE: what multiplies, worst first, in words */
    size_t multiply_count;
};

enum { PROOF_STATES_MAX = 4000000, PROOF_BITS_MAX = 256, PROOF_PATHS_MAX = 20 };

/* Reports every fault to `found` (V...), in the order of the paths, each with a note of what would have
 * helped.  The proof lies in `arena`. */
struct proof verify_procedure(const struct procedure *procedure, struct diagnostics *found,
                              struct arena *arena, struct arena *scratch);
/* A job that is taken up from the record.  Its procedure was proven when the job was started, and its bytes
 * are those; it is not proven again, so that a checker which has learned to see more never stands
 * between a person and what is open.  Only mistakes in reading it refuse it. */
struct proof verify_taken_up(const struct procedure *procedure,
                             const struct diagnostics *found);

/* "Turn the key off" done, another round of …: one event of a path in words, one line. */
struct text path_event_words(const struct procedure *procedure, const struct path_event *event,
                             struct arena *arena);
/* What is wrong at its end, and why what would have helped did not: one or two sentences. */
struct text path_fault_words(const struct procedure *procedure, const struct unsafe_path *path,
                             struct arena *arena);

/* Which single step, ticked once and not done, leads to harm though everything else is done: each way
 * is followed behind the first fault too, as by somebody who believes in what was ticked, up to the
 * worst step that is then reached.  Sorted by how bad that is (the signal word of that step), then by
 * the order of the work. */
struct critical_step {
    const struct work *work;
    enum signal
        harm; /* of the worst step reached without it; SIGNAL_NOTICE: only left open at the end */
    const struct work *reached; /* that step; NULL: the end */
    enum path_fault fault;      /* what is wrong there, with ... */
    unsigned condition, required, part;
};
struct ranking {
    const struct critical_step *steps;
    size_t count;
    /* Too many combinations: how much hangs on these is not known. */
    const struct work *const *unranked;
    size_t unranked_count;
};
enum { RANKING_STATES_MAX = 1000000 };
/* is_ruled_out: by work, what this machine never comes to, so that no harm is looked for there; NULL:
 * nothing. */
struct ranking verify_critical_steps(const struct procedure *procedure,
                                     const bool *is_ruled_out, struct arena *arena,
                                     struct arena *scratch);

#endif

#ifndef SAFETY_CONDITIONS_H
#define SAFETY_CONDITIONS_H
/*
 * conditions.h - what holds, what is owed, and what a step's gate says to it.
 *
 * Purpose   A condition is in force when it was answered as such and has not
 *           lapsed; it is owed from the step that sets it until a step clears
 *           it, whatever was answered in between; and between a step's
 *           beginning and its end it is perhaps so.  Here, and only here, is
 *           written what a gate wants of that and what doing a step does to it:
 *           the job uses it with the machine's real positions, the proof
 *           with two for every index.
 * Owns      the state of all conditions by position; gates; effects; lapses.
 * May call  base, procedure.  Times are handed in.
 *
 *     struct gate gate = gate_look(&state, step, here, now, scratch);
 *     if (gate.verdict == GATE_OPEN) ... condition_step_done(&state, step, here, set, now);
 *
 * semantics: docs/safety.md; section numbers there.
 */
#include "procedure/procedure.h"

/* One condition at one position.  All false at the start. */
struct standing {
    bool is_true;    /* was answered or set as so, and not made untrue since */
    bool has_lapsed; /* true, but must be asked again before it counts */
    bool is_owed;    /* out of its normal state until a step clears it */
    bool is_perhaps; /* a step that sets, restores or voids it was begun and not finished */
    bool is_new;     /* became true in the step being done; false between steps */
    long long shown; /* when it was last answered, in milliseconds of the caller's clock */
};

struct condition_state {
    const struct procedure *procedure;
    const unsigned *first; /* by condition id: number of its first standing */
    const unsigned *count; /* by condition id: how many positions, 1 for the whole machine */
    struct standing *standings;
    size_t standing_count;
};

/* position_counts: by index number; NULL: two of each, as the proof has it. */
struct condition_state condition_state_begin(const struct procedure *procedure,
                                             const size_t *position_counts,
                                             struct arena *arena);
struct condition_state condition_state_copy(const struct condition_state *state,
                                            struct arena *arena);

/* position counts only for a condition with an index. */
struct standing *condition_at(const struct condition_state *state, unsigned condition,
                              int position);

/* In force is what `needs` wants: true, not perhaps being undone, and not lapsed, also not by the
 * clock. */
bool condition_in_force(const struct condition_state *state, unsigned condition, int position,
                        long long now);
/* Out of its normal state, or perhaps: what `forbids` and the end look at. */
bool condition_may_hold(const struct condition_state *state, unsigned condition, int position);

/* --- gates --------------------------------------------------------------------------- */

enum gate_verdict {
    GATE_OPEN,
    GATE_ASK, /* what lapsed, or is asked at every gate, to be asked now; then look again */
    GATE_SHUT
};
enum gate_reason {
    GATE_LAPSED,    /* or asked at every gate: ask it */
    GATE_MISSING,   /* needed, and not in force */
    GATE_FORBIDDEN, /* forbidden, and true, owed or perhaps */
    GATE_BREAKS     /* doing the step would leave `condition` true without `required` */
};
struct gate_item {
    enum gate_reason reason;
    unsigned condition;
    int position;      /* or INDEX_NONE */
    unsigned required; /* GATE_BREAKS */
};
struct gate {
    enum gate_verdict verdict;
    const struct gate_item
        *items; /* SHUT: what shuts it; ASK: what to ask, in the file's order */
    size_t item_count;
};

/* here: the current position by index number, INDEX_NONE outside its each. */
struct gate gate_look(const struct condition_state *state, const struct step *step,
                      const int *here, long long now, struct arena *scratch);
/* The same for the whole of an `away` section at its start.  Its steps are gone through in order: what
 * one of them certainly sets without a question counts for those after it; what one of them may
 * take away, or may bring about, counts against them; a step that is only perhaps done sets nothing. */
struct gate gate_look_away(const struct condition_state *state, const struct work *section,
                           const int *here, long long now, struct arena *scratch);

/* The steps that set a condition, in the order of the work; for "set by step …". */
const struct work *condition_setter(const struct procedure *procedure, unsigned condition);
const struct work *condition_clearer(const struct procedure *procedure, unsigned condition);

/* --- what changes them -------------------------------------------------------------------- */

/* A question was answered, outside the end of a step: at a gate, in the opening, on resuming.  What
 * is asked in the opening and has `restore` is owed from then on. */
void condition_answered(struct condition_state *state, unsigned condition, int position,
                        bool as_expected, long long now);
/* A step's action is about to be shown: what it sets with `restore` is perhaps so, and what it clears or
 * would void is no longer relied on. */
void condition_step_entered(struct condition_state *state, const struct step *step,
                            const int *here);
/* A step was done: clears, then sets (as_expected: by the order of step->sets; true for those
 * without a question), then voids.  Conditions asked at every gate lapse. */
void condition_step_done(struct condition_state *state, const struct step *step,
                         const int *here, const bool *as_expected, long long now);
/* A stop: every lapsing condition must be asked again. */
void condition_stopped(struct condition_state *state);
/* Making safe begins with a step perhaps half done.  What is perhaps out of its normal state and has no
 * question (a cap that is unscrewed or not) is taken as out, so that what puts it back may be
 * done.  What has no question and was perhaps taken away stays as it was: nothing could show it, and an
 * order that ends there helps nobody.  What has a question stays perhaps: nothing rests on it. */
void condition_take_perhaps_as_so(struct condition_state *state);

/* Is one thing that a condition requires true: at position `at` (0 for the whole machine) if both have
 * the same index, else at every position?  What has lapsed is not false. */
bool condition_requirement_met(const struct condition_state *state, unsigned condition,
                               unsigned at, unsigned required);

/* A `requires` that is broken now (by a denial): the first, or false. */
bool condition_broken(const struct condition_state *state, struct gate_item *broken);

/* Everything true, owed or perhaps that has `restore`; positions one by one. */
struct open_condition {
    unsigned condition;
    int position;
    bool is_perhaps; /* only perhaps */
};
size_t condition_open(const struct condition_state *state, struct open_condition **open,
                      struct arena *arena);

#endif

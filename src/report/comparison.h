#ifndef COMPARISON_H
#define COMPARISON_H
/*
 * comparison.h - what the parts of a comparison of two jobs share.
 *
 * Purpose   The two jobs, the readings that both took, and what else differed.
 * Owns      struct comparison.
 * May call  base, measure, expression, procedure, job, outcome.
 */
#include "blocks.h"
#include "job/look.h"
#include "one_gauge.h"
#include "report/compare.h"

struct side {
    const struct job *job;
    const struct procedure *procedure;
    const struct fitted *fitted;
    struct surroundings surroundings;
    struct text name; /* "job 3" */
};

/* A thing that was not alike in both jobs. */
enum bearing {
    BEARS_NOT,    /* what differs between any two jobs, or was done to find something out */
    BEARS_PERHAPS /* a reading: a condition, or what the treatment did, nobody wrote down which */
    ,
    BEARS /* a condition: before and after are not comparable by it */
};
struct difference {
    struct text what; /* "engine state" */
    struct text before, after;
    enum bearing bearing;
};

/* One reading that both jobs took. */
struct pair {
    const struct reading *reading, *then; /* in the first job, in the last */
    struct value before, after;
    const struct labels *labels; /* NULL: no vector */
};

enum { SIDE_BEFORE, SIDE_AFTER, SIDE_COUNT };
struct comparison {
    struct side before, after;
    const struct side *between;
    size_t between_count;
    const struct compare_treated *treated;
    const struct pair *pairs;
    size_t pair_count;
    const struct difference *differences;
    size_t difference_count;
    struct errors_of_jobs errors; /* by SIDE_BEFORE, SIDE_AFTER */
    struct blocks blocks;
    struct arena *arena;
};

/* --- comparison.c -------------------------------------------------------------------------- */

/* Without blocks or differences. */
struct comparison comparison_of(const struct compared_jobs *jobs, struct arena *arena);
struct value value_in(const struct side *side, unsigned symbol, struct arena *arena);
/* NULL: none was named. */
const struct gauge *gauge_in(const struct side *side, const struct reading *reading);
/* The name of what the positions of a pair with labels are positions of: "cylinder". */
struct text pair_index(const struct comparison *comparison, const struct pair *pair);
bool are_labels_alike(const struct labels *a, const struct labels *b);

/* --- compare_conditions.c ------------------------------------------------------------------ */
void find_differences(struct comparison *comparison);
/* All of them, with when each job was begun. */
void tell_differences(struct comparison *comparison);

/* --- compare_treated.c ---------------------------------------------------------------------- */
enum when_treated { TREATED_BEFORE_BOTH, TREATED_IN_BETWEEN, TREATED_AFTER_BOTH };
/* Who was treated by a trial of one of the jobs, seen from one reading. */
struct treatment {
    const struct side *side;
    const struct trial *trial;
    unsigned long long positions;
    enum when_treated when;
};
/* In the order of the jobs.  Those whose outcome is kept back are not among them. */
size_t treatments_of(const struct comparison *comparison, const struct pair *pair,
                     const struct treatment **treatments);

/* --- compare_trial.c ------------------------------------------------------------------------- */
/* Did it work, for each reading of which it is known who was treated in between; how many. */
size_t tell_whether_it_worked(struct comparison *comparison);

#endif

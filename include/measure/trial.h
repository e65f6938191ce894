#ifndef MEASURE_TRIAL_H
#define MEASURE_TRIAL_H
/*
 * trial.h - did it work, judged against what was left alone.
 *
 * Purpose   Readings before and after, on positions that were treated and on
 *           positions that were not: by how much more did the treated ones
 *           change, how far can that be trusted, and, before anyone starts,
 *           what such a trial could show at all.
 * Owns      the arithmetic of a trial, numbers only: the words are the outcome's.
 * May call  base, uncertainty.
 *
 *     struct trial_outcome outcome = trial_judge(positions, count, &scratch);
 *     if (outcome.verdict == TRIAL_INCONCLUSIVE) ... outcome.band is what it could have shown
 *
 * Sources: the effect is a difference in differences (Card and Krueger, American
 * Economic Review 84(4), 1994, table 3); its band Welch's t on the changes (NIST/SEMATECH
 * e-Handbook 7.3.1), or the pooled t (1.3.5.3) where that is wider and one side has two or
 * three only; one treated position alone: Crawford and Howell, The Clinical
 * Neuropsychologist 12(4), 1998; the count of allocations: Fisher's exact test by
 * randomization.  All amounts in SI, changes as steps.
 *
 * Where nothing was to be found, at most about 5 of 100 trials say that the treated ones
 * changed by more, however much the positions differ (`make compare` counts).
 *
 * The verdict rests on that band alone.  A gauge that reads in proportion too high makes effect and band
 * larger by the same part and decides nothing; what it adds to the uncertainty of the effect as a
 * number is the job's (trial_value_of).
 */
#include "base/arena.h"

#include <stdbool.h>
#include <stdint.h>

struct trial_position {
    bool is_treated;
    const double *before, *after; /* the repeats; a position without either is left out */
    size_t before_count, after_count;
};

enum trial_verdict {
    TRIAL_NONE,         /* see `lack`: the numbers alone */
    TRIAL_INCONCLUSIVE, /* |effect| <= band */
    TRIAL_ROSE_MORE,    /* the treated ones changed by more than the others did, upwards */
    TRIAL_FELL_MORE     /* the same, downwards */
};
enum trial_lack {
    LACK_NOTHING,
    LACK_NO_TREATED,   /* none of the treated was read before and after */
    LACK_FEW_CONTROLS, /* fewer than two untreated ones were */
    LACK_SCATTER /* the untreated ones all changed alike, and repeats, if any, were all the
                          same: no spread to judge by */
};

/* A position as it came out.  Its own band is for it alone against the untreated ones. */
struct trial_change {
    bool is_worked_out; /* read before and after */
    double change;      /* mean after less mean before */
    double beyond;      /* less the mean change of the (other) untreated ones */
    double band;        /* 95 %; INFINITY where it cannot be said */
};

struct trial_outcome {
    enum trial_verdict verdict;
    enum trial_lack lack;
    unsigned treated, untreated; /* read before and after */
    double effect;               /* mean change of the treated less that of the untreated */
    double band;                 /* half the 95 % interval of it; INFINITY with a lack */
    double freedom;              /* degrees of freedom of the band */
    double repeat_scatter; /* pooled within position and phase; NAN: nothing was repeated */
    double repeat_freedom;
    bool is_floor_treated,
        is_floor_untreated;  /* the repeats' scatter stood in for the spread */
    double allocations;      /* ways to choose as many from as many */
    double allocation_share; /* of them with an effect at least as large: the exact two-sided p;
                                NAN: too many to go through */
    const struct trial_change *changes; /* by position */
};

struct trial_outcome trial_judge(const struct trial_position *positions, size_t count,
                                 struct arena *arena);

/* --- errors that the repeats do not show ---------------------------------------------------- */

struct gradient; /* measure/uncertainty.h */

/* Of the readings at one position. */
struct trial_errors {
    bool is_treated;
    const struct gradient *before, *after;
};
/* Of the effect of an outcome that has one: those of each position that was worked out, by its share.  What
 * is alike in every change drops out. */
const struct gradient *trial_effect_errors(const struct trial_outcome *outcome,
                                           const struct trial_errors *errors, size_t count,
                                           struct arena *arena);
/* There is a verdict, and an effect that may besides be off by so much, 95 %, need not have got it;
 * INFINITY: nobody knows by how much. */
bool trial_hangs_on(const struct trial_outcome *outcome, double off);
/* Do the readings scatter less than they are rounded, by scales of these steps?  Then the band is too narrow. */
bool trial_is_scale_coarse(const struct trial_outcome *outcome, double step_before,
                           double step_after);

/* --- before the work -------------------------------------------------------------------------- */

/* What a trial of this design can show, before the work. */
struct trial_design {
    unsigned treated, untreated;
    unsigned before, after;                /* readings of each */
    double repeat_scatter, repeat_freedom; /* NAN: not known */
};
struct trial_prospect {
    /* What such a trial sees half the time, its band being what it may then come out as, if nothing
     * but the repeats scatters; NAN: not known. */
    double smallest_effect;
    double allocations;
    double smallest_share; /* the exact two-sided p cannot be below this */
};
struct trial_prospect trial_foresee(const struct trial_design *design);

/* How low the lowest of `count` equal ones lies when each was read once, in standard deviations of
 * the reading: the expected smallest of as many normal values (0.56 for 2, 0.85 for 3, ...). */
double trial_lowest_by_chance(unsigned count);

/* Draws `wanted` of `count`, every choice of as many equally likely; the same seed gives the same
 * choice.  `is_drawn` by position. */
void trial_draw(uint64_t seed, size_t count, size_t wanted, bool *is_drawn);

#endif

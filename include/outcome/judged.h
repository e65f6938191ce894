#ifndef OUTCOME_JUDGED_H
#define OUTCOME_JUDGED_H
/*
 * judged.h - what the numbers of a trial came to, in sentences.
 *
 * Purpose   Did it work, said in the same words whether before and after lie in one job or in
 *           two: the verdict, how each position changed, and what speaks against leaning on it.
 * Owns      these sentences; who was treated, and why, is the caller's.
 * May call  base, measure/trial.h, job/say.h.
 *
 *     struct judged judged = {.outcome = &outcome, .unit = unit, .names = names, ...};
 *     struct text said = judged_sentence(&judged, judged_lack(&outcome, true), TEXT(""));
 */
#include "measure/quantity.h"
#include "measure/trial.h"

enum judged_better { BETTER_UNSAID, BETTER_HIGHER, BETTER_LOWER };

struct judged {
    const struct trial_outcome *outcome;
    const struct unit *unit;  /* a step is shown in it */
    const struct text *names; /* by position: "cylinder 3" */
    size_t count;             /* of positions */
    unsigned long long treated;
    enum judged_better better; /* UNSAID: "better" and "WORSE" are left out */
    struct text unmatched; /* what before and after are not comparable by: "gauge", or empty */
    struct arena *arena;
};

bool judged_is_treated(const struct judged *judged, size_t position);
/* "inconclusive, downgraded: gauge". */
struct text judged_answer(const struct judged *judged);
/* "Set against the untreated ones, the treated ones went up by ..."; `lack`: why there is no
 * verdict, where there is none; `more`: goes behind a verdict, with a blank before it, or empty. */
struct text judged_sentence(const struct judged *judged, struct text lack, struct text more);
/* "fewer than two untreated ones were read before and after". */
struct text judged_lack(const struct trial_outcome *outcome, bool was_any_treated);
/* "cylinder 2, treated: +0.90 bar; against the others ..." */
struct text judged_change(const struct judged *judged, size_t position);

/* --- cautions: each begins with its name -------------------------------------------------- */

/* Nothing was read twice; empty where something was. */
struct text judged_single(const struct trial_outcome *outcome);
/* Several were treated, and one of them alone is looked at; empty without a verdict. */
struct text judged_one_by_one(const struct trial_outcome *outcome);
struct text judged_ceiling(struct arena *arena, struct text index);
/* Only a draw by lot makes every choice equally likely, so that choices can be counted; empty where
 * they cannot be. */
struct text judged_counting(const struct trial_outcome *outcome, struct arena *arena);
struct text judged_not_drawn(void);

struct regression {
    bool is_highest;       /* the highest were treated; else the lowest */
    size_t positions;      /* read before */
    double repeat_scatter; /* SI; not above 0, or NAN: not known */
    unsigned before;       /* readings of each */
};
/* `who`: how the treated ones stood before, a sentence. */
struct text judged_regression(struct text who, const struct regression *regression,
                              const struct unit *unit, struct arena *arena);

struct two_gauges {
    struct text
        mismatch; /* what it makes them not comparable by; empty: two gauges, and no more */
    bool is_perhaps_one; /* nobody knows whether it was one */
    bool is_accuracy_known;
    double off; /* SI, a step: as much as the effect may be off by, 95 % */
    struct text before, after;
};
struct text judged_two_gauges(const struct two_gauges *gauges, const struct unit *unit,
                              struct arena *arena);
/* Readings scatter less than the steps of the scale; `rounding` SI, a step. */
struct text judged_coarse_scale(bool may_be_all, double rounding, const struct unit *unit,
                                struct arena *arena);

#endif

#ifndef OUTCOME_OUTCOME_H
#define OUTCOME_OUTCOME_H
/*
 * outcome.h - what the readings of a job say.
 *
 * Purpose   Works out results against their limits, findings and follow-ups
 *           from a job, for the end of a session, the card and a rehearsal.
 * Owns      verdicts and their words.
 * May call  job, expression.
 */
#include "job/look.h"

enum verdict {
    VERDICT_NONE, /* no limit */
    VERDICT_PASS,
    VERDICT_FAIL,
    VERDICT_TOO_CLOSE,     /* too close to call */
    VERDICT_NOT_WORKED_OUT /* something it rests on is missing */
};
const char *verdict_words(enum verdict verdict); /* "too close to call" */

struct result_outcome {
    const struct result *result;
    const struct unit *unit; /* the value's; NULL for a text or truth */
    struct value value;
    /* "(8.20 ± 0.25) bar", half a 95 % interval; "8.2 bar" if none is known; for a vector one for
     * each position: "1: 11.6 bar, 2: …" */
    struct text shown;
    struct text limit_shown;  /* "at least 8.8 bar"; empty without limit */
    enum verdict verdict;     /* of a vector: the worst of its positions */
    struct text reason;       /* NOT_WORKED_OUT: what is missing */
    const struct text *notes; /* sentences: what would settle it, why it is so narrow */
    size_t note_count;
};
struct finding_outcome {
    const struct finding_rule *rule;
    struct text said;
    bool is_perhaps; /* would not hold if its unsure comparisons were unknown */
};
struct follow_up_outcome {
    const struct follow_up *follow_up;
    struct text what;
    struct text due;  /* "at 94210 km or by 2027-11-25"; empty if nothing is known */
    long long due_at; /* wall clock; 0: no date */
};
/* What a trial came to. */
struct trial_finding {
    const struct trial *trial;
    bool is_allotted; /* who is treated was fixed; else nothing below is there */
    struct text asked;
    struct text treated;   /* "2 and 3 of 4", and how they were chosen */
    struct text verdict;   /* "rose more", "inconclusive, downgraded: engine temperature" */
    bool is_downgraded;    /* the conditions before and after do not match */
    struct text unmatched; /* by name: "engine temperature, gauge" */
    bool has_effect;
    bool has_band; /* of the verdict: a give or take */
    double effect; /* SI, a step */
    const struct unit *unit;
    struct text said;           /* the verdict as a sentence */
    const struct text *changes; /* one for each position: "2, treated: +0.90 bar" */
    size_t change_count;
    const struct text *cautions; /* each begins with its name: "Ceiling: ..." */
    size_t caution_count;
    struct text claim;                 /* as answered; empty: nobody was asked */
    const struct text *contradictions; /* of the claim, with both sides */
    size_t contradiction_count;
};
struct outcome {
    const struct trial_finding *trials;
    size_t trial_count;
    const struct result_outcome *results;
    size_t result_count;
    const struct finding_outcome *findings;
    size_t finding_count;
    const struct follow_up_outcome *follow_ups;
    size_t follow_up_count;
    const struct text *cautions; /* sentences: what the bands of the results leave out */
    size_t caution_count;
};
struct outcome outcome_work_out(const struct job *job, struct arena *arena);

/* Before the work: what this trial's design can and cannot show, one sentence or two in each. */
size_t trial_design_words(const struct job *job, const struct trial *trial, long long time,
                          struct text **paragraphs, struct arena *arena);

#endif

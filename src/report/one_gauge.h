#ifndef ONE_GAUGE_H
#define ONE_GAUGE_H
/*
 * one_gauge.h - the errors of several jobs as errors of one whole.
 *
 * Purpose   Was it the same gauge in two jobs?  By its name, its calibration date and its accuracy, and in
 *           no other way: then its own error is one error in both, and drops out of a difference.
 *           Every other error is another in each job.
 * Owns      that rule.
 * May call  base, measure, procedure, job.
 */
#include "job/look.h"

/* "Dial gauge (calibrated 2026-01-10)". */
struct text gauge_told(const struct gauge *gauge, struct arena *arena);

/* As far as the files say, from the most they can have in common down. */
enum gauges_alike {
    ONE_GAUGE,
    GAUGE_UNDATED,      /* one name; not both say when it was calibrated */
    GAUGE_RERATED,      /* one name; another accuracy is given */
    GAUGE_RECALIBRATED, /* one name; calibrated on another day */
    OTHER_GAUGE
};
enum gauges_alike gauges_compare(const struct gauge *a, const struct gauge *b);

/* Sources of error numbered anew over jobs: begins as {.jobs, .job_count, .arena}. */
struct origin;
struct errors_of_jobs {
    const struct job *const *jobs;
    size_t job_count;
    struct arena *arena;
    struct origin *origins;
    size_t count, capacity;
};
/* What a value of this job (its number among them) moves with. */
const struct gradient *errors_in(struct errors_of_jobs *errors, size_t job,
                                 const struct gradient *gradient);

#endif

#ifndef REPORT_COMPARE_H
#define REPORT_COMPARE_H
/*
 * compare.h - the same readings in two jobs of one machine.
 *
 * Purpose   What changed from one job to the next, by how much, with its band,
 *           and what else differed in between: between two jobs nothing is a
 *           control.
 * Owns      that document.
 * May call  base, measure, expression, procedure, job, outcome.
 */
#include "report/card.h"

struct compared_job {
    const struct job *job;
    unsigned job_id;
};
/* `before` was begun first. */
struct card compare_build(struct compared_job before, struct compared_job after,
                          struct arena *arena);

#endif

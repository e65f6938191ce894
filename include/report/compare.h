#ifndef REPORT_COMPARE_H
#define REPORT_COMPARE_H
/*
 * compare.h - the same readings in two jobs of one machine.
 *
 * Purpose   What changed from one job to the next, by how much, with its band, and what else
 *           differed in between.  Where it is known who was treated in between and who was left
 *           alone, also whether it worked, as a trial within one job says it.
 * Owns      that document.
 * May call  base, measure, expression, procedure, job, outcome.
 *
 *     if (!compare_take_treated(&jobs, text_from("1 and 3"), &treated, &refusal, arena)) ...
 *     struct card card = compare_build(&jobs, &treated, arena);
 */
#include "outcome/judged.h"
#include "report/card.h"

struct job;
struct compared_job {
    const struct job *job;
    unsigned job_id;
};
struct compared_jobs {
    struct compared_job before, after; /* begun first, begun last */
    const struct compared_job
        *between; /* jobs on this machine in between, as they were begun */
    size_t between_count;
};

/* Begins as {0}: nobody was named, and not which way is better. */
struct compare_treated {
    bool is_named;
    struct text index; /* the name of what they are positions of: "cylinder" */
    unsigned long long positions;
    enum judged_better better;
};
/* Labels of positions that both jobs took a reading at, perhaps with the name of their index before
 * them: "1 and 3", "wheel front left".  False with a refusal that names those there are. */
bool compare_take_treated(const struct compared_jobs *jobs, struct text typed,
                          struct compare_treated *treated, struct text *refusal,
                          struct arena *arena);

struct card compare_build(const struct compared_jobs *jobs,
                          const struct compare_treated *treated, struct arena *arena);

#endif

#ifndef REPORT_HISTORY_H
#define REPORT_HISTORY_H
/*
 * history.h - one reading or result of one machine over the years.
 *
 * Purpose   Is the compression going down, does the oil use grow, or is it
 *           noise?  What was measured, job by job, with its band; whether a
 *           straight line through it rises or falls by more than the readings
 *           scatter; whether the newest is in line with those before it.
 * Owns      that document, and the list of what can be looked at.
 * May call  base, measure, expression, procedure, job, outcome.
 *
 *     struct history history = {.machine = name, .jobs = jobs, .job_count = count};
 *     size_t subject_count = history_subjects(&history, &subjects, arena);
 *     struct card card = history_build(&history, &subjects[3], false, arena);
 */
#include "report/card.h"

struct history_job {
    const struct job *job;
    unsigned job_id;
};

/* Jobs of the machine whose numbers are not looked at. */
enum why_left_out {
    LEFT_OUT_REHEARSAL,
    LEFT_OUT_UNFINISHED, /* its readings may still be taken again */
    LEFT_OUT_UNREADABLE,
    LEFT_OUT_OTHER_KIND /* the reading was another quantity then: found by the report itself */
};
enum { WHY_LEFT_OUT_COUNT = LEFT_OUT_OTHER_KIND + 1 };
struct history_left_out {
    unsigned job_id;
    struct text procedure; /* its name, as the record has it */
    enum why_left_out why;
    struct text reason; /* UNREADABLE: in words */
};

struct history {
    struct text machine; /* the name it goes by in the record */
    const struct history_job *jobs;
    size_t job_count;
    const struct history_left_out *left_out;
    size_t left_out_count;
    bool is_of_rehearsals; /* and of nothing else */
};

/* A reading or result that at least one of the jobs has a value of.  It is one procedure's: a name in
 * another procedure may mean another thing. */
struct history_subject {
    struct text procedure, name; /* both as the files have them, the newest job's */
    struct text title;           /* the procedure's */
    const struct unit *unit;     /* NULL: no number */
    bool is_result;
    size_t job_count;
    struct text first, last; /* days */
};
/* By procedure; in each the readings, then the results, in the order of its file. */
size_t history_subjects(const struct history *history, const struct history_subject **subjects,
                        struct arena *arena);

/* The list of what can be looked at.  (GNU readline has a history_list.) */
struct card history_overview(const struct history *history, struct arena *arena);
/* `is_by_date`: the line is laid over the date even where every job has an odometer or hours. */
struct card history_build(const struct history *history, const struct history_subject *subject,
                          bool is_by_date, struct arena *arena);

#endif

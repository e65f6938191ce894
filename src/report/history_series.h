#ifndef HISTORY_SERIES_H
#define HISTORY_SERIES_H
/*
 * history_series.h - what the parts of a history share.
 *
 * Purpose   The values of one reading or result, job by job, oldest first, the
 *           positions brought into one order.
 * Owns      struct series.
 * May call  base, measure, procedure, job, outcome.
 */
#include "blocks.h"
#include "report/history.h"

/* One job. */
struct sample {
    const struct job *job;
    const struct procedure *procedure;
    unsigned job_id;
    long long when; /* wall clock: when it was read */
    struct text day;
    const struct scalar *items; /* by the series' positions */
    enum verdict verdict;       /* of a result with a limit; else VERDICT_NONE */
    struct text limit;
    struct text remarks;
    const struct gauge *const *gauges; /* with what it was read */
    size_t gauge_count;
    struct text gauges_told;
    const struct unit *counter_unit; /* NULL: no odometer, no hours */
    double counter;                  /* SI */
};

struct series {
    const struct history *history;
    const struct history_subject *subject;
    const struct sample *samples;
    size_t count;
    struct type type;
    const struct unit *unit;      /* NULL: no number */
    const struct text *positions; /* "cylinder 3"; one empty text where it has none */
    size_t position_count;
    const struct history_left_out *others; /* whose value was of another kind */
    size_t other_count;
    bool has_counters; /* all of one kind, and none less than one before */
    struct arena *arena;
};

struct series series_of(const struct history *history, const struct history_subject *subject,
                        struct arena *arena);

/* In the order they were begun. */
const struct history_job *jobs_by_age(const struct history *history, struct arena *arena);
/* The day of a reading, or of the last reading for a result. */
long long read_at(const struct job *job, struct text reading);
struct text zone_of(const struct job *job);

/* An odometer or hours: nothing in a file says that a value counts what the machine has done; its name
 * and kind do. */
bool is_counter(struct text name, const struct field *field);

/* A temperature changes by a difference of two. */
const struct unit *history_step_unit(const struct unit *unit);

/* --- history.c: what both documents say ---------------------------------------------------- */
struct text history_of_rehearsals(void);
void tell_jobs_left_out(struct blocks *blocks, const struct history_left_out *left_out,
                        size_t count);

/* --- history_words.c: what the numbers say ------------------------------------------------- */
void tell_line(struct blocks *blocks, const struct series *series, bool is_by_date);

#endif

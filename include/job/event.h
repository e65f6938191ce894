#ifndef JOB_EVENT_H
#define JOB_EVENT_H
/*
 * event.h - something that happened in a job.
 *
 * Purpose   A job is its events and nothing else.  No program counter is
 *           stored: where the person is follows from what was done, keyed by
 *           place.  An event is durable before it counts.
 * Owns      the kinds of event and their fields.
 * May call  base, procedure.
 *
 * To add an event: its kind here; job_apply() in apply.c (the compiler demands
 * the case); its fields in record/event_json.c and schemas/event.schema.json;
 * a line in docs/record.md.
 */
#include "procedure/procedure.h"

/* A moment, by both clocks: the wall clock can jump, the steady one stops with the machine. */
struct instant {
    long long wall;   /* milliseconds since 1970-01-01 UTC */
    long long steady; /* milliseconds since `boot` */
    struct text boot; /* names one run of the machine; empty if unknown */
};

/* Which step, in which round: one turn for each loop and repeat around it, outermost first
 * (a position from 0, a round from 0). */
struct spot {
    unsigned work; /* procedure.works */
    unsigned short turns[LOOP_DEPTH_MAX];
};

enum event_kind {
    EVENT_STARTED,  /* what the job was started with */
    EVENT_ANSWERED, /* a question */
    EVENT_ENTERED,  /* a step begins; before its action is shown */
    EVENT_DECIDED,  /* the outcome of a when, in, until, optional; redo, makesafe, denied */
    EVENT_READ,     /* a reading, or that there is none */
    EVENT_DONE,     /* the step is done; its effects follow from the file */
    EVENT_SKIPPED,
    EVENT_AMENDED,
    EVENT_NOTED,
    EVENT_ATTACHED,
    EVENT_PAUSED,
    EVENT_RESUMED,
    EVENT_SETTLED, /* an obligation of an earlier job */
    EVENT_ENDED
};
enum { EVENT_KIND_COUNT = EVENT_ENDED + 1 };

/* What an ANSWERED event answers. */
enum answered {
    ANSWERED_INPUT,
    ANSWERED_MANUAL_VALUE, /* machine.NAME that the sheet lacks; source: where it was read */
    ANSWERED_GATE,         /* a condition, asked at a gate, in the opening or on resuming */
    ANSWERED_SET,          /* a condition's question at the end of the step that sets it */
    ANSWERED_HOLD,
    ANSWERED_WARNING, /* acknowledged */
    ANSWERED_COUNT,   /* how many came back (refits with a count) */
    ANSWERED_INSIST,  /* an implausible value insisted on; reason */
    ANSWERED_ONCE,    /* a once step on resuming: not begun, in part, finished */
    ANSWERED_CUE,     /* the physical cue, left or found again */
    ANSWERED_CLOCK,   /* the clock jumped; what it really was */
    ANSWERED_AMEND,   /* what to do about a passed when that would now differ */
    ANSWERED_CLAIM
};
enum entered { ENTERED_NORMAL, ENTERED_REDO, ENTERED_MAKESAFE };
enum paused { PAUSED_ASKED, PAUSED_INTERRUPTED, PAUSED_INPUT_ENDED, PAUSED_STOPPED };
enum ended { ENDED_COMPLETED, ENDED_LEFT_OPEN };

/* A value that an earlier job left behind, fixed when the job starts. */
struct earlier_value {
    struct text name;
    bool has_number;
    double si;
    struct text shown; /* with its unit, or the text itself */
    /* What it was uncertain by in that job, with that job's gauge.  Not there: nobody knows; the record is
     * older, or that job can no longer be read. */
    bool has_uncertainty;
    double uncertainty; /* one standard uncertainty, in SI as a step; 0: exact */
    double freedom;     /* its degrees of freedom; 0: it was not estimated from a sample */
};

/* What was proven of the procedure before the job began.  No verdict: the record is older and does not
 * say. */
struct proven {
    struct text verdict; /* "sound" */
    unsigned states, branches;
    struct text program; /* which proved it: "banksman 0.1" */
};

/* A flat record; each kind uses some of it. */
struct event {
    enum event_kind kind;
    unsigned detail; /* enum answered, entered, paused or ended; decided: 1 true, 0 false */
    unsigned number; /* in the job, from 1, without gaps */
    struct instant at;
    struct spot spot;    /* works[0] and no turns: the opening, or no place in particular */
    bool is_late;        /* entered after the event: an away section */
    struct text name;    /* input, value, condition, reading; decided: what was, as above */
    int position;        /* of the reading or condition; INDEX_NONE if it has none */
    unsigned repeat;     /* read: from 1 */
    struct text typed;   /* what the person typed, for ever */
    struct text meaning; /* what it was taken to mean: a choice, a text, "12.5 V" */
    bool has_value;      /* read, answered: a number; false in READ: unread, with a reason */
    double value;        /* SI */
    struct text unit;    /* as typed or taken from the prompt */
    struct text gauge;
    struct text source;           /* manual value: where it was read */
    struct text reason;           /* unread, skipped, insisted, amended */
    unsigned amends;              /* amended, settled: number of that event (or job) */
    unsigned long long positions; /* decided `in`, claimed: bit i for position i */
    struct text bytes;            /* attached: the file; never in memory again after replay */
    /* STARTED */
    unsigned long long seed;
    bool is_rehearsal;
    struct text zone; /* time zone as an ISO 8601 offset, "+01:00" */
    const struct earlier_value *earlier;
    size_t earlier_count;
    struct proven proven;
};

bool spot_equal(const struct spot *a, const struct spot *b);

#endif

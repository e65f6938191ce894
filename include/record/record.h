#ifndef RECORD_RECORD_H
#define RECORD_RECORD_H
/*
 * record.h - the one file that remembers every job.
 *
 * Purpose   An answer is on disk before it is acknowledged, and nothing that
 *           was written is ever changed.  The bytes a job was started with are
 *           kept with it, so it can go on, and be shown, when the files are long
 *           gone or different.
 * Owns      the SQLite file, its schema (schemas/record.sql, built in), the JSON
 *           of an event, digests, one process per job.
 * May call  base, job's event.h, the conversation's session.h; sqlite3, jansson, libmd.
 *
 * Everything a function gives back lies in the arena it was given; a failure's words lie in the
 * arena the record was opened with.
 *
 *     struct record *record;
 *     if (!record_open(&record, path, arena, &failure)) ...
 *     record_start_job(record, &start, &job_id, &failure);
 *     struct journal journal = record_journal(record, job_id);
 */
#include "base/failure.h"
#include "conversation/session.h"

struct record;

/* Makes the file and its schema when there is none.  Refuses, in words, a file that is not a record,
 * one of a newer schema, one that is damaged. */
bool record_open(struct record **record, struct text path, struct arena *arena,
                 struct failure *failure);
void record_close(struct record *record);

enum source_role {
    ROLE_PROCEDURE,
    ROLE_FOLLOWED,
    ROLE_SAFETY,
    ROLE_MACHINE,
    ROLE_GAUGES,
    ROLE_ANSWERS
};
struct job_source {
    enum source_role role;
    struct text name; /* by which it is asked for: a followed procedure's name */
    const struct source *source;
    struct text
        digest; /* SHA-256 of its bytes in hexadecimal; filled in by record_load_sources */
};

/* Keeps the bytes (each only once, by digest), reserves the next job number, and takes that job for
 * this process.  The first event is appended by the session; until then the job is not listed. */
struct job_start {
    struct text procedure, title, machine;
    const struct job_source *sources;
    size_t source_count;
};
bool record_start_job(struct record *record, const struct job_start *start, unsigned *job_id,
                      struct failure *failure);

/* Takes the job for this process until record_close (a kernel lock, so a crash frees it); false
 * with words if another process has it. */
bool record_take_job(struct record *record, unsigned job_id, struct failure *failure);

/* For a job that this process has taken.  append is durable when it returns true (synchronous=FULL);
 * all events or none.  read_file is the caller's to set. */
struct journal record_journal(struct record *record, unsigned job_id);

/* What was kept, in the order it was given; events in order.  Every digest and the whole chain are
 * worked out again, so damage or a change is a failure in words.  The bytes of an ATTACHED event
 * stay in the file; its `source` is their digest, "sha256:…". */
bool record_load_sources(struct record *record, unsigned job_id,
                         const struct job_source **sources, size_t *count, struct arena *arena,
                         struct failure *failure);
bool record_load_events(struct record *record, unsigned job_id, const struct event **events,
                        size_t *count, struct arena *arena, struct failure *failure);

/* The bytes of one ATTACHED event. */
bool record_load_attachment(struct record *record, unsigned job_id, unsigned number,
                            struct text *bytes, struct arena *arena, struct failure *failure);
/* Is the job, all it was started with and all that is attached to it what it was?  Keeps nothing. */
bool record_audit_job(struct record *record, unsigned job_id, struct failure *failure);

enum job_state { JOB_OPEN, JOB_COMPLETED, JOB_LEFT_OPEN };
struct job_summary {
    unsigned id;
    struct text procedure, title, machine;
    long long started, last; /* wall clock of the first and last event, milliseconds */
    struct text digest;      /* of the last event, and so of the whole job; for the card */
    enum job_state state;
    bool is_rehearsal;
    bool is_taken; /* by a running process */
};
/* In the order they were started. */
bool record_list_jobs(struct record *record, const struct job_summary **jobs, size_t *count,
                      struct arena *arena, struct failure *failure);

/* The jobs on this machine that may have left a value of a reading or input of that name, newest first:
 * completed, and no rehearsal. */
struct earlier_wanted {
    struct text machine, name;
};
bool record_earlier_jobs(struct record *record, const struct earlier_wanted *wanted,
                         const unsigned **ids, size_t *count, struct arena *arena,
                         struct failure *failure);
/* What was entered last under that name in a job, which is its value only where nothing is made of
 * several; without its uncertainty, which only the replayed job has.  Its name is empty if there is none,
 * and of a job that cannot be relied on, of which `failure`, empty before, then says so, although it
 * returns true. */
bool record_earlier(struct record *record, unsigned job_id, struct text name,
                    struct earlier_value *value, struct arena *arena, struct failure *failure);

#endif

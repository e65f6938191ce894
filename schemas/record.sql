-- record.sql - the file that remembers every job, version 1.
--
-- Rows are only ever added.  The triggers stop accidents, also those of another
-- program that opens the file; tampering shows in the chain of digests, which
-- docs/record.md describes.  All digests are SHA-256 in lower-case hexadecimal.

PRAGMA application_id = 1112429421; -- 'BNSm'
PRAGMA user_version = 1;

-- Files and pictures, each once.
CREATE TABLE kept_bytes (
    digest TEXT NOT NULL PRIMARY KEY CHECK (length(digest) = 64),
    bytes  BLOB NOT NULL
) STRICT;

-- One walk through one procedure.  The digest covers this row and its sources;
-- the first event carries it on.
CREATE TABLE job (
    id        INTEGER NOT NULL PRIMARY KEY CHECK (id > 0),
    procedure TEXT NOT NULL,
    title     TEXT NOT NULL,
    machine   TEXT NOT NULL,
    digest    TEXT NOT NULL CHECK (length(digest) = 64)
) STRICT;

-- The files a job was started with, in the order they were given.
CREATE TABLE job_source (
    job    INTEGER NOT NULL REFERENCES job (id),
    number INTEGER NOT NULL,
    role   TEXT NOT NULL CHECK (role IN
               ('procedure', 'followed', 'safety', 'machine', 'gauges', 'answers')),
    name   TEXT NOT NULL,
    path   TEXT NOT NULL,
    digest TEXT NOT NULL REFERENCES kept_bytes (digest),
    PRIMARY KEY (job, number)
) STRICT, WITHOUT ROWID;

-- What happened; body is described by event.schema.json.
CREATE TABLE event (
    job      INTEGER NOT NULL REFERENCES job (id),
    number   INTEGER NOT NULL,
    kind     TEXT NOT NULL,
    body     TEXT NOT NULL CHECK (json_valid(body)),
    previous TEXT NOT NULL CHECK (length(previous) = 64),
    digest   TEXT NOT NULL CHECK (length(digest) = 64),
    PRIMARY KEY (job, number),
    CHECK (kind = json_extract(body, '$.kind')),
    CHECK (number = json_extract(body, '$.number'))
) STRICT, WITHOUT ROWID;

-- The bytes that belong to an event.
CREATE TABLE attachment (
    job    INTEGER NOT NULL,
    number INTEGER NOT NULL,
    digest TEXT NOT NULL REFERENCES kept_bytes (digest),
    PRIMARY KEY (job, number),
    FOREIGN KEY (job, number) REFERENCES event (job, number)
) STRICT, WITHOUT ROWID;

CREATE INDEX job_by_machine ON job (machine);

-- Nothing is changed.
CREATE TRIGGER kept_bytes_are_not_changed BEFORE UPDATE ON kept_bytes
BEGIN SELECT raise(ABORT, 'what was kept is not changed'); END;
CREATE TRIGGER job_is_not_changed BEFORE UPDATE ON job
BEGIN SELECT raise(ABORT, 'a job is not changed'); END;
CREATE TRIGGER job_source_is_not_changed BEFORE UPDATE ON job_source
BEGIN SELECT raise(ABORT, 'what a job was started with is not changed'); END;
CREATE TRIGGER event_is_not_changed BEFORE UPDATE ON event
BEGIN SELECT raise(ABORT, 'what happened is not changed; a correction is an event'); END;
CREATE TRIGGER attachment_is_not_changed BEFORE UPDATE ON attachment
BEGIN SELECT raise(ABORT, 'an attachment is not changed'); END;

-- Nothing is taken away.
CREATE TRIGGER kept_bytes_are_not_deleted BEFORE DELETE ON kept_bytes
BEGIN SELECT raise(ABORT, 'what was kept is not deleted'); END;
CREATE TRIGGER job_is_not_deleted BEFORE DELETE ON job
BEGIN SELECT raise(ABORT, 'a job is not deleted'); END;
CREATE TRIGGER job_source_is_not_deleted BEFORE DELETE ON job_source
BEGIN SELECT raise(ABORT, 'what a job was started with is not deleted'); END;
CREATE TRIGGER event_is_not_deleted BEFORE DELETE ON event
BEGIN SELECT raise(ABORT, 'what happened is not deleted'); END;
CREATE TRIGGER attachment_is_not_deleted BEFORE DELETE ON attachment
BEGIN SELECT raise(ABORT, 'an attachment is not deleted'); END;

-- Nothing is replaced, put between or left out.  These also stop INSERT OR
-- REPLACE where recursive triggers are off, as they are in other programs.
CREATE TRIGGER kept_bytes_are_kept_once BEFORE INSERT ON kept_bytes
WHEN EXISTS (SELECT 1 FROM kept_bytes WHERE digest = new.digest)
BEGIN SELECT raise(ABORT, 'these bytes are kept already'); END;
CREATE TRIGGER job_follows_the_last BEFORE INSERT ON job
WHEN new.id IS NOT (SELECT coalesce(max(id), 0) + 1 FROM job)
BEGIN SELECT raise(ABORT, 'jobs are numbered without gaps'); END;
CREATE TRIGGER job_source_follows_the_last BEFORE INSERT ON job_source
WHEN new.number IS NOT
     (SELECT coalesce(max(number), 0) + 1 FROM job_source WHERE job = new.job)
BEGIN SELECT raise(ABORT, 'the files of a job are numbered without gaps'); END;
CREATE TRIGGER job_source_comes_before_events BEFORE INSERT ON job_source
WHEN EXISTS (SELECT 1 FROM event WHERE job = new.job)
BEGIN SELECT raise(ABORT, 'a job that has begun takes no more files'); END;
CREATE TRIGGER event_follows_the_last BEFORE INSERT ON event
WHEN new.number > 1
 AND new.previous IS NOT (SELECT digest FROM event WHERE job = new.job AND number = new.number - 1)
BEGIN SELECT raise(ABORT, 'an event follows the one before and holds its digest'); END;
CREATE TRIGGER event_begins_a_chain BEFORE INSERT ON event
WHEN new.number <= 1
 AND (new.number < 1 OR new.previous IS NOT (SELECT digest FROM job WHERE id = new.job))
BEGIN SELECT raise(ABORT, 'the first event holds the digest of its job'); END;
CREATE TRIGGER event_is_written_once BEFORE INSERT ON event
WHEN EXISTS (SELECT 1 FROM event WHERE job = new.job AND number >= new.number)
BEGIN SELECT raise(ABORT, 'events are numbered without gaps, each once'); END;
CREATE TRIGGER attachment_is_made_once BEFORE INSERT ON attachment
WHEN EXISTS (SELECT 1 FROM attachment WHERE job = new.job AND number = new.number)
BEGIN SELECT raise(ABORT, 'an event has its attachment already'); END;

/*
 * journal.c - events into the record, and out of it again.
 */
#include "event_json.h"
#include "store.h"

#include <assert.h>

struct job_journal {
    struct record *record;
    unsigned job_id;
};

/* --- appending ------------------------------------------------------------------------------- */

/* Where the chain ends: the last event, or what the job was started with. */
struct chain_end {
    unsigned number;
    struct digest digest;
};

static bool find_end(struct record *record, unsigned job_id, struct chain_end *end,
                     struct failure *failure)
{
    sqlite3_stmt *statement = store_statement(record, STATEMENT_LAST_EVENT);
    sqlite3_bind_int64(statement, 1, job_id);
    int result = sqlite3_step(statement);
    bool is_found = false;
    if (result == SQLITE_ROW) {
        struct text digest = store_column_text(statement, 1, &record->scratch);
        end->number = (unsigned)sqlite3_column_int64(statement, 0);
        is_found = digest.length == DIGEST_LENGTH;
        if (is_found)
            memcpy(end->digest.hexadecimal, digest.bytes, DIGEST_LENGTH);
        else
            store_refused(record, TEXT("write to"),
                          text_fill(record->arena,
                                    "the last event of job {} has no sound digest; do not rely "
                                    "on this job",
                                    text_number(record->arena, job_id)),
                          failure);
    } else if (result != SQLITE_DONE) {
        store_failed(record, TEXT("write to"), failure);
    }
    sqlite3_reset(statement);
    if (result != SQLITE_DONE)
        return is_found;
    end->number = 0;
    if (job_id == record->begun) { /* written a moment ago, and nobody else may since */
        end->digest = record->begun_digest;
        return true;
    }
    return job_begins_soundly(record, job_id, &end->digest, failure);
}

static bool attach(struct record *record, unsigned job_id, const struct event *event)
{
    if (event->bytes.length == 0)
        return true;
    struct digest digest = digest_of(event->bytes);
    sqlite3_stmt *keep = store_statement(record, STATEMENT_KEEP_BYTES);
    store_bind_text(keep, 1, digest_text(&digest));
    store_bind_bytes(keep, 2, event->bytes);
    if (!store_ran(keep))
        return false;
    sqlite3_stmt *add = store_statement(record, STATEMENT_ADD_ATTACHMENT);
    sqlite3_bind_int64(add, 1, job_id);
    sqlite3_bind_int64(add, 2, event->number);
    store_bind_text(add, 3, digest_text(&digest));
    return store_ran(add);
}

static bool append_one(struct record *record, unsigned job_id, const struct event *event,
                       struct chain_end *end)
{
    struct arena *scratch = &record->scratch;
    struct text kind = text_from(event_kind_name(event->kind));
    struct text body = event_json_write(event, scratch);
    struct text previous = digest_text(&end->digest);
    struct digest digest =
        digest_of_event(previous, job_id, event->number, kind, body, scratch);
    sqlite3_stmt *add = store_statement(record, STATEMENT_ADD_EVENT);
    sqlite3_bind_int64(add, 1, job_id);
    sqlite3_bind_int64(add, 2, event->number);
    store_bind_text(add, 3, kind);
    store_bind_text(add, 4, body);
    store_bind_text(add, 5, previous);
    store_bind_text(add, 6, digest_text(&digest));
    if (!store_ran(add) || !attach(record, job_id, event))
        return false;
    *end = (struct chain_end){event->number, digest};
    return true;
}

static bool append_all(struct record *record, unsigned job_id, const struct event *events,
                       size_t count, struct failure *failure)
{
    struct text operation = TEXT("write to");
    struct chain_end end = {0};
    if (!find_end(record, job_id, &end, failure))
        return false;
    for (size_t i = 0; i < count; i++) {
        if (events[i].number != end.number + 1)
            return store_refused(
                record, operation,
                text_fill(record->arena,
                          "job {} has gone on without this process; leave it here and go on "
                          "with 'banksman resume {}'",
                          text_number(record->arena, job_id),
                          text_number(record->arena, job_id)),
                failure);
        if (!append_one(record, job_id, &events[i], &end))
            return store_failed(record, operation, failure);
    }
    return true;
}

static bool append(void *self, const struct event *events, size_t count,
                   struct failure *failure)
{
    const struct job_journal *journal = self;
    struct record *record = journal->record;
    assert(lock_is_ours(record, journal->job_id));
    struct text operation = TEXT("write to");
    if (!store_begin(record, operation, failure))
        return false;
    struct arena_mark mark = arena_mark(&record->scratch);
    bool is_written = append_all(record, journal->job_id, events, count, failure);
    if (is_written)
        is_written = store_commit(record, operation, failure);
    else
        store_roll_back(record);
    arena_rewind(&record->scratch, mark);
    return is_written;
}

struct journal record_journal(struct record *record, unsigned job_id)
{
    struct job_journal *journal = arena_new(record->arena, struct job_journal);
    *journal = (struct job_journal){record, job_id};
    return (struct journal){.self = journal, .append = append};
}

/* --- reading --------------------------------------------------------------------------------- */

struct event_row {
    struct event event;
    struct event_row *next;
};

static bool event_refused(struct record *record, unsigned job_id, unsigned number,
                          const char *sentence, struct text flaw, struct failure *failure)
{
    struct text reason =
        text_fill(record->arena, "event {} of job {} {}{}", text_number(record->arena, number),
                  text_number(record->arena, job_id), text_from(sentence), flaw);
    return store_refused(record, TEXT("read"), reason, failure);
}

static bool read_event(struct record *record, unsigned job_id, struct chain_end *end,
                       struct event *event, struct arena *arena, struct failure *failure)
{
    sqlite3_stmt *statement = record->statements[STATEMENT_EVENTS];
    struct arena *scratch = &record->scratch;
    unsigned number = end->number + 1;
    struct text kind = store_column_text(statement, 1, scratch);
    struct text body = store_column_text(statement, 2, scratch);
    struct text previous = store_column_text(statement, 3, scratch);
    struct text digest = store_column_text(statement, 4, scratch);
    if (sqlite3_column_int64(statement, 0) != number)
        return event_refused(record, job_id, number, "is gone; do not rely on this job",
                             TEXT(""), failure);
    struct digest worked_out = digest_of_event(previous, job_id, number, kind, body, scratch);
    if (!text_equal(previous, digest_text(&end->digest)) ||
        !text_equal(digest, digest_text(&worked_out)))
        return event_refused(record, job_id, number,
                             "was changed after it was written; do not rely on this job",
                             TEXT(""), failure);
    struct text flaw = {0};
    if (!event_json_read(body, event, &flaw, arena))
        return event_refused(record, job_id, number, "cannot be understood: ", flaw, failure);
    if (event->number != number || !text_equal(kind, text_from(event_kind_name(event->kind))))
        return event_refused(record, job_id, number, "says it is another one", TEXT(""),
                             failure);
    *end = (struct chain_end){number, worked_out};
    return true;
}

static bool read_events(struct record *record, unsigned job_id, const struct event **events,
                        size_t *count, struct arena *arena, struct failure *failure)
{
    struct chain_end end = {0};
    if (!job_begins_soundly(record, job_id, &end.digest, failure))
        return false;
    struct event_row *first = NULL, **last = &first;
    sqlite3_stmt *statement = store_statement(record, STATEMENT_EVENTS);
    sqlite3_bind_int64(statement, 1, job_id);
    int result;
    while ((result = sqlite3_step(statement)) == SQLITE_ROW) {
        struct event_row *row = arena_new(&record->scratch, struct event_row);
        if (!read_event(record, job_id, &end, &row->event, arena, failure))
            return false;
        *last = row;
        last = &row->next;
    }
    if (result != SQLITE_DONE)
        return store_failed(record, TEXT("read"), failure);
    struct event *list = arena_array(arena, struct event, end.number);
    *count = 0;
    for (const struct event_row *row = first; row != NULL; row = row->next)
        list[(*count)++] = row->event;
    *events = list;
    return true;
}

/* Leaves what it used of scratch to the caller. */
static bool read_events_and_reset(struct record *record, unsigned job_id,
                                  const struct event **events, size_t *count,
                                  struct arena *arena, struct failure *failure)
{
    bool is_read = read_events(record, job_id, events, count, arena, failure);
    sqlite3_reset(record->statements[STATEMENT_EVENTS]);
    return is_read;
}

bool record_load_events(struct record *record, unsigned job_id, const struct event **events,
                        size_t *count, struct arena *arena, struct failure *failure)
{
    struct arena_mark mark = arena_mark(&record->scratch);
    bool is_read = read_events_and_reset(record, job_id, events, count, arena, failure);
    arena_rewind(&record->scratch, mark);
    return is_read;
}

/* --- attachments and the audit ----------------------------------------------------------------- */

/* bytes: NULL to look at them only. */
static bool check_attachment(struct record *record, unsigned job_id, unsigned number,
                             struct text *bytes, struct arena *arena, struct failure *failure)
{
    sqlite3_stmt *statement = store_statement(record, STATEMENT_ATTACHMENT);
    sqlite3_bind_int64(statement, 1, job_id);
    sqlite3_bind_int64(statement, 2, number);
    int result = sqlite3_step(statement);
    bool is_sound = false;
    if (result == SQLITE_ROW) {
        const char *blob = sqlite3_column_blob(statement, 1);
        struct text kept = {blob != NULL ? blob : "",
                            (size_t)sqlite3_column_bytes(statement, 1)};
        struct digest digest = digest_of(kept);
        struct text claimed = store_column_text(statement, 0, &record->scratch);
        is_sound = text_equal(digest_text(&digest), claimed);
        if (is_sound && bytes != NULL)
            *bytes = text_copy(arena, kept);
        if (!is_sound)
            event_refused(record, job_id, number, "has an attachment that was changed",
                          TEXT(""), failure);
    } else if (result == SQLITE_DONE) {
        event_refused(record, job_id, number, "has no attachment", TEXT(""), failure);
    } else {
        store_failed(record, TEXT("read"), failure);
    }
    sqlite3_reset(statement);
    return is_sound;
}

bool record_load_attachment(struct record *record, unsigned job_id, unsigned number,
                            struct text *bytes, struct arena *arena, struct failure *failure)
{
    struct arena_mark mark = arena_mark(&record->scratch);
    bool is_read = check_attachment(record, job_id, number, bytes, arena, failure);
    arena_rewind(&record->scratch, mark);
    return is_read;
}

bool record_audit_job(struct record *record, unsigned job_id, struct failure *failure)
{
    struct arena_mark mark = arena_mark(&record->scratch);
    const struct event *events = NULL;
    size_t count = 0;
    bool is_sound =
        read_events_and_reset(record, job_id, &events, &count, &record->scratch, failure);
    for (size_t i = 0; is_sound && i < count; i++)
        if (events[i].kind == EVENT_ATTACHED && events[i].source.length > 0)
            is_sound = check_attachment(record, job_id, events[i].number, NULL, NULL, failure);
    arena_rewind(&record->scratch, mark);
    return is_sound;
}

/* --- earlier values ------------------------------------------------------------------------------ */

static bool gives_value(const struct event *event, struct text name)
{
    bool is_value = event->kind == EVENT_READ ||
                    (event->kind == EVENT_ANSWERED && event->detail == ANSWERED_INPUT);
    /* one of many positions is not the value of the machine; an unread one is none */
    return is_value && event->position < 0 && text_equal(event->name, name) &&
           (event->has_value || event->meaning.length > 0 ||
            (event->typed.length > 0 && event->reason.length == 0));
}

/* What was taken as the value: the last one, corrected if somebody corrected it. */
static const struct event *last_value(const struct event *events, size_t count,
                                      struct text name)
{
    const struct event *value = NULL;
    unsigned number = 0;
    for (size_t i = 0; i < count; i++) {
        if (gives_value(&events[i], name)) {
            value = &events[i];
            number = events[i].number;
        } else if (events[i].kind == EVENT_AMENDED && number > 0 &&
                   events[i].amends == number) {
            value = &events[i];
        }
    }
    return value;
}

static struct text shown(const struct event *event, struct arena *arena)
{
    if (event->meaning.length > 0)
        return text_copy(arena, event->meaning);
    if (event->unit.length == 0 || text_ends(event->typed, event->unit))
        return text_copy(arena, event->typed);
    return text_fill(arena, "{}\u00A0{}", event->typed, event->unit);
}

/* A job that was tampered with, and not a disk that cannot be read. */
static bool is_unsound_job(const struct record *record)
{
    int result = sqlite3_errcode(record->database) & 0xFF;
    return result == SQLITE_OK || result == SQLITE_ROW || result == SQLITE_DONE;
}

/* As it stands in the file of the part that declares it. */
static struct text own_name(struct text name)
{
    for (size_t i = name.length; i > 0; i--)
        if (name.bytes[i - 1] == '.')
            return text_slice(name, i, name.length);
    return name;
}

struct job_row {
    unsigned id;
    struct job_row *next;
};

bool record_earlier_jobs(struct record *record, const struct earlier_wanted *wanted,
                         const unsigned **ids, size_t *count, struct arena *arena,
                         struct failure *failure)
{
    struct arena_mark mark = arena_mark(&record->scratch);
    sqlite3_stmt *jobs = store_statement(record, STATEMENT_EARLIER_JOBS);
    store_bind_text(jobs, 1, wanted->machine);
    store_bind_text(jobs, 2, wanted->name);
    store_bind_text(jobs, 3, own_name(wanted->name));
    struct job_row *first = NULL, **last = &first;
    int result;
    *count = 0;
    while ((result = sqlite3_step(jobs)) == SQLITE_ROW) {
        struct job_row *row = arena_new(&record->scratch, struct job_row);
        row->id = (unsigned)sqlite3_column_int64(jobs, 0);
        *last = row;
        last = &row->next;
        ++*count;
    }
    bool is_read = result == SQLITE_DONE || store_failed(record, TEXT("read"), failure);
    sqlite3_reset(jobs);
    unsigned *list = arena_array(arena, unsigned, *count);
    size_t i = 0;
    for (const struct job_row *row = first; row != NULL; row = row->next)
        list[i++] = row->id;
    *ids = list;
    arena_rewind(&record->scratch, mark);
    return is_read;
}

bool record_earlier(struct record *record, unsigned job_id, struct text name,
                    struct earlier_value *value, struct arena *arena, struct failure *failure)
{
    struct arena_mark mark = arena_mark(&record->scratch);
    const struct event *events = NULL;
    size_t count = 0;
    bool is_sound =
        read_events_and_reset(record, job_id, &events, &count, &record->scratch, failure);
    bool is_read = is_sound || is_unsound_job(record);
    const struct event *event = is_sound ? last_value(events, count, name) : NULL;
    *value = (struct earlier_value){0};
    if (event != NULL)
        *value = (struct earlier_value){.name = text_copy(arena, name),
                                        .has_number = event->has_value,
                                        .si = event->value,
                                        .shown = shown(event, arena)};
    arena_rewind(&record->scratch, mark);
    return is_read;
}

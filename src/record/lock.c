/*
 * lock.c - one process per job, by a kernel lock.
 *
 * A byte of the lock file beside the record stands for each job.  Open file
 * description locks, because those of a process are lost when any descriptor
 * of the file is closed.  A crash frees them.
 */
#define _GNU_SOURCE /* F_OFD_SETLK */ // NOLINT(bugprone-reserved-identifier)
#include "store.h"

#include <errno.h>
#include <fcntl.h>
#include <limits.h>
#include <stdlib.h>
#include <string.h>

bool lock_is_ours(const struct record *record, unsigned job_id)
{
    for (const struct taken_job *taken = record->taken; taken != NULL; taken = taken->next)
        if (taken->id == job_id)
            return true;
    return false;
}

static bool open_lock_file(struct record *record)
{
    if (record->lock_file < 0) {
        /* beside the file itself: by whatever link it was reached, one lock for one record */
        char resolved[PATH_MAX];
        struct text record_path = record->path;
        if (realpath(text_terminated(&record->scratch, record_path), resolved) != NULL)
            record_path = text_from(resolved);
        struct text path = text_fill(&record->scratch, "{}.lock", record_path);
        record->lock_file = open(text_terminated(&record->scratch, path),
                                 O_RDWR | O_CREAT | O_CLOEXEC, 0666); /* less the umask */
    }
    return record->lock_file >= 0;
}

static struct flock byte_of(unsigned job_id)
{
    return (struct flock){
        .l_type = F_WRLCK, .l_whence = SEEK_SET, .l_start = (off_t)job_id, .l_len = 1};
}

bool record_take_job(struct record *record, unsigned job_id, struct failure *failure)
{
    if (lock_is_ours(record, job_id))
        return true;
    struct text operation =
        text_fill(record->arena, "take job {} of", text_number(record->arena, job_id));
    struct flock byte = byte_of(job_id);
    if (open_lock_file(record) && fcntl(record->lock_file, F_OFD_SETLK, &byte) == 0) {
        struct taken_job *taken = arena_new(record->arena, struct taken_job);
        *taken = (struct taken_job){job_id, record->taken};
        record->taken = taken;
        return true;
    }
    if (record->lock_file >= 0 && (errno == EAGAIN || errno == EACCES))
        return store_refused(
            record, operation,
            text_fill(record->arena,
                      "another banksman is working on job {}; go on there, or end it there "
                      "with 'pause' first",
                      text_number(record->arena, job_id)),
            failure);
    return store_refused(record, operation,
                         text_fill(record->arena,
                                   "the file {}.lock beside it cannot be used ({}); see that "
                                   "the folder may be written to",
                                   record->path, text_from(strerror(errno))),
                         failure);
}

bool lock_is_taken(struct record *record, unsigned job_id)
{
    if (lock_is_ours(record, job_id))
        return true;
    struct flock byte = byte_of(job_id);
    return open_lock_file(record) && fcntl(record->lock_file, F_OFD_GETLK, &byte) == 0 &&
           byte.l_type != F_UNLCK;
}

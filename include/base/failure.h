#ifndef BASE_FAILURE_H
#define BASE_FAILURE_H
/*
 * failure.h - what the world did not let us do.
 *
 * Purpose   A disk that is full or a file that is gone is neither our mistake
 *           nor the author's.  A function that meets one returns false and
 *           fills this in; it is passed up to command/, which alone prints it
 *           and exits with status 3.
 * Owns      nothing: three texts.
 * May call  text.
 */
#include "base/text.h"

struct failure {
    struct text operation; /* what was tried, as a verb phrase: "open", "write the answer to" */
    struct text object;    /* on what: a path, "the record" */
    struct text reason;    /* the system's or library's own words, and what to do */
};

#endif

#ifndef REPORT_CARD_H
#define REPORT_CARD_H
/*
 * card.h - the job card as a small document.
 *
 * Purpose   card_build() knows jobs and no formats; the writers know cards and
 *           no jobs.  New content is one file, a new format is another.
 * Owns      what stands on a card, and in which order.
 * May call  base, measure, expression, procedure, job, outcome.
 *
 *     struct card card = card_build(job, heading, arena);
 *     text_card_write(&card, 80, writer, arena);
 */
#include "outcome/outcome.h"

struct ranking; /* verify/verify.h */

enum block_kind {
    BLOCK_HEADING,
    BLOCK_PARAGRAPH,
    BLOCK_FIELDS, /* rows of two cells: a name and what it is */
    BLOCK_TABLE,  /* first row: headings */
    BLOCK_LIST
};
struct card_row {
    const struct text *cells;
    size_t count;
};
struct card_block {
    enum block_kind kind;
    enum tone tone;   /* TONE_DANGER and so on where it matters */
    struct text text; /* heading, paragraph */
    const struct card_row *rows;
    size_t row_count;
};
struct card {
    struct text title;
    const struct card_block *blocks;
    size_t block_count;
};

/* What the card cannot know from the job. */
struct card_heading {
    unsigned job_id;
    struct text program;           /* "banksman 0.1" */
    const struct ranking *ranking; /* what hangs on each step; NULL: it is not told */
};
struct card card_build(const struct job *job, struct card_heading heading, struct arena *arena);

/* What the record knows besides: the files a job was started with, and the digest of its last event,
 * by which `audit` tells whether the record still is what it was when the card was made. */
struct card_file {
    struct text role, name, digest; /* "procedure", "raise_on_stands", hexadecimal */
};
struct card card_with_record(struct card card, const struct card_file *files, size_t file_count,
                             struct text job_digest, struct arena *arena);

/* A moment of the wall clock, and the zone it falls on a day in; 0: not known. */
struct day {
    long long wall;
    struct text zone;
};

/* What to lay out first: tools, parts, fluids, gauges (and which of them should have been calibrated
 * before today), protective equipment, manual values still to be found; and the steps on which most
 * hangs (NULL: not told), by what they guard against, or `every_step` in a row of its own with what
 * follows from it. */
struct card kit_build(const struct fitted *fitted, const struct ranking *ranking,
                      bool every_step, const struct day *today, struct arena *arena);

#endif

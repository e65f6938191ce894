#ifndef BASE_DIAGNOSTIC_H
#define BASE_DIAGNOSTIC_H
/*
 * diagnostic.h - telling the author of a file what is wrong and where.
 *
 * Purpose   Modules that read what people wrote report findings here and carry
 *           on, so one run shows every mistake.  Nothing is printed from here;
 *           diagnostics_write() makes the words, command/ prints them.
 * Owns      the list of findings, their order, their count by severity, their
 *           wording and layout.
 * May call  arena, text, writer.
 *
 *     report(found, FINDING_DUPLICATE_KEY, place, key);
 *
 * To add a finding: one line in diagnostic_list.h with the next free code of
 * its letter; a fixture in tests/procedures/faulty that provokes it (a test
 * fails while there is none); `make docs`, which rewrites docs/diagnostics.md.
 */
#include "base/text.h"
#include "base/writer.h"

enum severity { SEVERITY_NOTE, SEVERITY_WARNING, SEVERITY_ERROR };

enum finding {
#define FINDING(name, code, severity, sentence) FINDING_##name,
#include "base/diagnostic_list.h"
#undef FINDING
    FINDING_COUNT
};

/* A file as it was read.  It outlives everything that was made from it. */
struct source {
    struct text path;  /* as the person would name it */
    struct text bytes; /* the whole file */
};

/* Lines and columns count from 1; a column is a character, not a byte.  The end is the first
 * column after the last character.  A place without a source is nowhere in particular. */
struct place {
    const struct source *source;
    unsigned line, column;
    unsigned end_line, end_column;
};

struct diagnostic {
    enum finding finding;
    struct place place;
    struct text message;
    bool is_related; /* a note that belongs to the finding before it */
    struct diagnostic *next;
};

struct diagnostics {
    struct arena *arena;
    struct diagnostic *first, **last;
    unsigned count_by_severity[SEVERITY_ERROR + 1];
};

void diagnostics_begin(struct diagnostics *diagnostics, struct arena *arena);

/* report(to, finding, place, one text for each {} in the sentence).  The empty text at the end lets
 * a sentence have no {} at all: ISO C wants at least one argument for the dots. */
#define report(...) REPORT_FILLED(__VA_ARGS__, (struct text){0})
#define REPORT_FILLED(to, finding, place, ...)                                                 \
    diagnostics_add((to), (finding), (place), (const struct text[]){__VA_ARGS__},              \
                    sizeof((const struct text[]){__VA_ARGS__}) / sizeof(struct text) - 1)

/* A finding of severity NOTE is related to the finding added before it, if there is one. */
void diagnostics_add(struct diagnostics *to, enum finding finding, struct place place,
                     const struct text *filling, size_t filling_count);

/* Sorts by file (in order of first mention), line and column; a NOTE stays behind what it follows;
 * findings at one place stay in the order they were made. */
void diagnostics_sort(struct diagnostics *diagnostics);

/* At most this many are written, each with its notes; the rest are counted. */
enum { DIAGNOSTICS_SHOWN = 50 };

/* file:line:column: error: sentence [P001], then the source line and a caret under the place.  A
 * long line is cut round the caret.  What could move a cursor or turn letters round is shown as
 * U+FFFD, so this is safe for a source that text_check refused. */
void diagnostics_write(const struct diagnostics *diagnostics, struct writer *writer,
                       struct arena *scratch);
/* The same for a window of `width` columns: the sentence broken between words, later lines indented, and
 * the source line cut to it. */
void diagnostics_write_within(const struct diagnostics *diagnostics, unsigned width,
                              struct writer *writer, struct arena *scratch);

const char *finding_name(enum finding finding); /* "DUPLICATE_KEY" */
const char *finding_code(enum finding finding);
enum severity finding_severity(enum finding finding);
const char *finding_sentence(enum finding finding);
size_t finding_blank_count(enum finding finding);

/* The whole line `line` of a source, without its end; empty if there is no such line.  A line ends
 * where YAML ends it: at LF, CR, CR LF, U+2028 and U+2029. */
struct text source_line(const struct source *source, unsigned line);

#endif

#ifndef TESTS_PROCEDURES_FIXTURE_H
#define TESTS_PROCEDURES_FIXTURE_H
/*
 * fixture.h - files that carry their own expectations.
 *
 * Purpose   A fixture is one file as an author might write it.  What the loader
 *           must say about a line stands behind that line, so that file and
 *           expectation are read together and cannot drift apart.
 * Owns      reading fixtures, what their comments mean, comparing with what was found.
 * May call  verify and below.
 *
 *     # A torque is a torque, never a length.        the first line says what is shown
 *     # fitted to: pond_pump                         fit it as well; see fixture_load
 *     # rules                                      the rules of writing too, by the library that ships
 *     # expect@5:3: Y001                             for a line that can carry no comment
 *     # expect@other.yaml:7: N005                    found in a file beside this one
 *     torque: 35 mm   # expect: E010 N003@12         codes, with columns where they matter
 *
 * Notes belong to the finding before them: one that is expected must be there, one that is not
 * may be.  Everything else that is found must be expected.
 */
#include "procedure/load.h"

#define FIXTURE_PARTS "tests/procedures/parts/"

struct expectation {
    struct text file;      /* the last part of another file's path; empty: the fixture itself */
    unsigned line, column; /* column 0: any */
    struct text code;
    bool is_met;
};

struct fixture {
    struct source source;
    struct text explanation; /* the first comment */
    struct text fitted_to;   /* names of what it is fitted to, or empty */
    bool has_rules;          /* the rules of writing are looked at too */
    bool is_alone;           /* a safety library that stands for the one that ships */
    struct expectation *expected;
    size_t expected_count;
};

/* What stands beside a fixture: followed procedures from some files by name, then from the parts
 * folder; the safety library of the parts folder, unless another is given. */
struct fixture_shelf {
    struct arena *arena;
    const struct source *library;
    const struct source *const *own;
    const struct text *own_names;
    size_t own_count;
};

/* Stops the test program when an arena is full. */
void fixture_out_of_memory(size_t bytes_wanted);

/* The whole file; stops the test program if it cannot be read. */
const struct source *fixture_source(const char *path, struct arena *arena);
/* The sorted names of the files in a folder that end in `ending`; none if there is no folder. */
const struct text *fixture_names(const char *folder, const char *ending, struct arena *arena,
                                 size_t *count);

/* Takes the expectations out of a file's comments. */
struct fixture fixture_from(struct source source, struct arena *arena);

/* Loads it as what its keys say it is, a procedure if they say nothing; a safety library behind
 * the one in the parts folder.  `fitted to: MACHINE` behind a procedure, `fitted to: PROCEDURE`
 * behind a machine sheet, `fitted to: PROCEDURE MACHINE` behind gauges.  A procedure without errors
 * that is no part is proven as well. */
void fixture_load(const struct fixture *fixture, const struct fixture_shelf *shelf,
                  struct diagnostics *found, struct arena *arena);

/* Prints every difference; how many there were. */
size_t fixture_compare(struct fixture *fixture, const struct diagnostics *found);

/* FINDING_COUNT if there is no such code. */
enum finding fixture_finding(struct text code);

#endif

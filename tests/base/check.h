#ifndef TESTS_BASE_CHECK_H
#define TESTS_BASE_CHECK_H
/*
 * check.h - what every test of texts and numbers needs.
 *
 * Purpose   cmocka's includes in their order, an arena that fails the test when it
 *           is exhausted, texts compared with both shown when they differ.
 * Owns      nothing.
 * May call  base, cmocka.
 */
#include "base/text.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

static inline void check_exhausted(size_t bytes_wanted)
{
    fail_msg("the arena could not give %zu bytes", bytes_wanted);
}

static inline void check_text(struct text got, const char *expected, const char *file, int line)
{
    if (got.length == strlen(expected) &&
        (got.length == 0 || memcmp(got.bytes, expected, got.length) == 0))
        return;
    print_error("got \"%.*s\", expected \"%s\"\n", (int)got.length,
                got.length > 0 ? got.bytes : "", expected);
    _fail(file, line);
}

#define assert_text(got, expected) check_text((got), (expected), __FILE__, __LINE__)

static inline void check_near(double got, double expected, double tolerance, const char *what,
                              const char *file, int line)
{
    double apart = got > expected ? got - expected : expected - got;
    if (apart <= tolerance)
        return;
    print_error("%s: got %.17g, expected %.17g within %g\n", what, got, expected, tolerance);
    _fail(file, line);
}

#define assert_near(got, expected, tolerance, what)                                            \
    check_near((got), (expected), (tolerance), (what), __FILE__, __LINE__)

#endif

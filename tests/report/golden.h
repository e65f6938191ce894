#ifndef GOLDEN_H
#define GOLDEN_H
/*
 * golden.h - compares a card with the file in tests/cards that shows how it must look.
 *
 * With GOLDEN=1 in the environment the files are written anew; read the
 * difference like code.
 */
#include "report/card_writers.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>

#include <cmocka.h>

static inline void golden_exhausted(size_t bytes_wanted)
{
    fail_msg("no memory for %zu bytes", bytes_wanted);
    abort();
}

static inline struct text card_as_text(const struct card *card, unsigned width,
                                       struct arena *arena)
{
    struct page page;
    page_begin(&page, arena);
    text_card_write(card, width, &page.writer, arena);
    return page_text(&page);
}

static inline void expect_golden(struct text found, const char *name, struct arena *arena)
{
    char path[256];
    snprintf(path, sizeof path, "tests/cards/%s.txt", name);
    const char *wish = getenv("GOLDEN");
    if (wish != NULL && wish[0] == '1') {
        FILE *file = fopen(path, "wb");
        assert_non_null(file);
        assert_int_equal(fwrite(found.bytes, 1, found.length, file), found.length);
        fclose(file);
        return;
    }
    FILE *file = fopen(path, "rb");
    if (file == NULL)
        fail_msg("%s is missing; GOLDEN=1 makes it", path);
    enum { LONGEST = 1 << 20 };
    char *bytes = arena_array(arena, char, LONGEST);
    size_t length = fread(bytes, 1, LONGEST, file);
    fclose(file);
    size_t same = 0, line = 1;
    while (same < length && same < found.length && bytes[same] == found.bytes[same])
        line += bytes[same++] == '\n';
    if (same < length || same < found.length)
        fail_msg("%s differs in line %zu; it came out as:\n%s", path, line,
                 text_terminated(arena, found));
}

#endif

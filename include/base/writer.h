#ifndef BASE_WRITER_H
#define BASE_WRITER_H
/*
 * writer.h - a place that bytes are written to.
 *
 * Purpose   What makes output (a card, a page, a list) does not know where it
 *           goes.  The first error sticks and is looked at once, at the end: a
 *           full disk is then a failure, not a truncated card.
 * Owns      the sticking error; pages, which are writers into an arena.
 * May call  arena, text.
 *
 *     struct page page;
 *     page_begin(&page, arena);
 *     write_text(&page.writer, TEXT("Oil: "));
 *     struct text whole = page_text(&page);
 */
#include "base/text.h"

struct writer {
    bool (*put)(struct writer *writer, const char *bytes, size_t length);
    bool failed; /* sticks; nothing more is put once it is set */
};

void write_text(struct writer *writer, struct text text);
void write_repeated(struct writer *writer, char what, size_t times);
#define write_fill(writer, arena, sentence, ...)                                               \
    write_text((writer), text_fill((arena), (sentence), __VA_ARGS__))

/* A writer that keeps what it is given; it grows as needed and cannot fail. */
struct page {
    struct writer writer; /* first member: the page is found from it */
    struct arena *arena;
    char *bytes;
    size_t length, capacity;
};
void page_begin(struct page *page, struct arena *arena);
struct text page_text(const struct page *page);

#endif

#include "base/writer.h"

#include <string.h>

void write_text(struct writer *writer, struct text text)
{
    if (writer->failed || text.length == 0)
        return;
    if (!writer->put(writer, text.bytes, text.length))
        writer->failed = true;
}

void write_repeated(struct writer *writer, char what, size_t times)
{
    char run[64];
    memset(run, what, sizeof run);
    while (times > 0) {
        size_t length = times < sizeof run ? times : sizeof run;
        write_text(writer, (struct text){run, length});
        times -= length;
    }
}

static bool put_on_page(struct writer *writer, const char *bytes, size_t length)
{
    struct page *page = (struct page *)writer;
    if (length > page->capacity - page->length) {
        size_t capacity = 2 * (page->length + length);
        char *larger = arena_array(page->arena, char, capacity);
        if (page->length > 0)
            memcpy(larger, page->bytes, page->length);
        page->bytes = larger;
        page->capacity = capacity;
    }
    memcpy(page->bytes + page->length, bytes, length);
    page->length += length;
    return true;
}

void page_begin(struct page *page, struct arena *arena)
{
    enum { FIRST_CAPACITY = 512 };
    *page = (struct page){.writer = {.put = put_on_page}, .arena = arena};
    page->bytes = arena_array(arena, char, FIRST_CAPACITY);
    page->capacity = FIRST_CAPACITY;
}

struct text page_text(const struct page *page)
{
    return (struct text){page->bytes, page->length};
}

#include "base/diagnostic.h"

#include <assert.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

static const struct {
    const char *name;
    const char *code;
    enum severity severity;
    const char *sentence;
} findings[] = {
#define FINDING(name, code, severity, sentence) {#name, code, SEVERITY_##severity, sentence},
#include "base/diagnostic_list.h"
#undef FINDING
};

const char *finding_name(enum finding finding)
{
    return findings[finding].name;
}

const char *finding_code(enum finding finding)
{
    return findings[finding].code;
}

enum severity finding_severity(enum finding finding)
{
    return findings[finding].severity;
}

const char *finding_sentence(enum finding finding)
{
    return findings[finding].sentence;
}

size_t finding_blank_count(enum finding finding)
{
    size_t count = 0;
    for (const char *at = findings[finding].sentence; (at = strstr(at, "{}")) != NULL; at += 2)
        count++;
    return count;
}

/* --- collecting and sorting -------------------------------------------------------- */

void diagnostics_begin(struct diagnostics *diagnostics, struct arena *arena)
{
    *diagnostics = (struct diagnostics){.arena = arena};
    diagnostics->last = &diagnostics->first;
}

void diagnostics_add(struct diagnostics *to, enum finding finding, struct place place,
                     const struct text *filling, size_t filling_count)
{
    struct diagnostic *added = arena_new(to->arena, struct diagnostic);
    added->finding = finding;
    added->place = place;
    added->message = text_filled(to->arena, findings[finding].sentence, filling, filling_count);
    added->is_related = findings[finding].severity == SEVERITY_NOTE && to->first != NULL;
    *to->last = added;
    to->last = &added->next;
    to->count_by_severity[findings[finding].severity]++;
}

/* A finding with the notes behind it, as they are sorted. */
struct group {
    struct diagnostic *first, *last;
    size_t file_rank;
    size_t order;
};

static int group_compare(const void *left, const void *right)
{
    const struct group *a = left;
    const struct group *b = right;
    if (a->file_rank != b->file_rank)
        return a->file_rank < b->file_rank ? -1 : 1;
    if (a->first->place.line != b->first->place.line)
        return a->first->place.line < b->first->place.line ? -1 : 1;
    if (a->first->place.column != b->first->place.column)
        return a->first->place.column < b->first->place.column ? -1 : 1;
    return a->order < b->order ? -1 : a->order > b->order;
}

/* The same file has the rank of the first group that mentions it. */
static size_t file_rank(const struct group *groups, size_t count, const struct source *source)
{
    for (size_t i = count; i > 0; i--)
        if (groups[i - 1].first->place.source == source)
            return groups[i - 1].file_rank;
    return count;
}

void diagnostics_sort(struct diagnostics *diagnostics)
{
    size_t count = 0;
    for (const struct diagnostic *at = diagnostics->first; at != NULL; at = at->next)
        count++;
    if (count < 2)
        return;

    struct arena_mark mark = arena_mark(diagnostics->arena);
    struct group *groups = arena_array(diagnostics->arena, struct group, count);
    size_t used = 0;
    for (struct diagnostic *at = diagnostics->first; at != NULL; at = at->next) {
        if (at->is_related && used > 0) {
            groups[used - 1].last = at;
            continue;
        }
        groups[used] = (struct group){at, at, 0, used};
        groups[used].file_rank = file_rank(groups, used, at->place.source);
        used++;
    }
    qsort(groups, used, sizeof *groups, group_compare);

    diagnostics->last = &diagnostics->first;
    for (size_t i = 0; i < used; i++) {
        *diagnostics->last = groups[i].first;
        diagnostics->last = &groups[i].last->next;
    }
    *diagnostics->last = NULL;
    arena_rewind(diagnostics->arena, mark);
}

/* --- lines of a source ---------------------------------------------------------------- */

/* The bytes of the line end at `at`, or 0 if there is none. */
static size_t line_end_length(struct text bytes, size_t at)
{
    const unsigned char *b = (const unsigned char *)bytes.bytes + at;
    size_t available = bytes.length - at;
    if (b[0] == '\n')
        return 1;
    if (b[0] == '\r')
        return available > 1 && b[1] == '\n' ? 2 : 1;
    if (b[0] == 0xE2 && available > 2 && b[1] == 0x80 && (b[2] == 0xA8 || b[2] == 0xA9))
        return 3;
    return 0;
}

/* Where a line starts.  Findings are written in order, so the next one is looked for from here. */
struct cursor {
    const struct source *source;
    unsigned line;
    size_t offset;
};

static struct text line_at(struct cursor *cursor, const struct source *source, unsigned line)
{
    if (cursor->source != source || cursor->line > line)
        *cursor = (struct cursor){source, 1, 0};
    struct text bytes = source->bytes;
    size_t at = cursor->offset;
    while (at < bytes.length && cursor->line < line) {
        size_t end = line_end_length(bytes, at);
        at += end > 0 ? end : 1;
        if (end > 0) {
            cursor->line++;
            cursor->offset = at;
        }
    }
    if (cursor->line < line)
        return (struct text){0};
    size_t from = at;
    while (at < bytes.length && line_end_length(bytes, at) == 0)
        at++;
    return text_slice(bytes, from, at);
}

struct text source_line(const struct source *source, unsigned line)
{
    struct cursor cursor = {0};
    return line_at(&cursor, source, line);
}

/* --- writing ------------------------------------------------------------------------------ */

/* Columns of a source line, so that the number before it fits 100; or what a window leaves of it. */
enum { LINE_SHOWN = 88, LINE_SHOWN_MIN = 20, BEFORE_LINE = 10, HANG = 4 };

/* What is written to, and where in the files; `width` 0: nothing is broken. */
struct printing {
    struct writer *writer;
    struct arena *scratch;
    unsigned width;
    struct cursor cursor;
};

static unsigned columns_of_line(unsigned width)
{
    if (width == 0 || width >= LINE_SHOWN + BEFORE_LINE)
        return LINE_SHOWN;
    return width >= LINE_SHOWN_MIN + BEFORE_LINE ? width - BEFORE_LINE : LINE_SHOWN_MIN;
}

static bool is_harmless(unsigned character)
{
    bool is_control = character < 0x20 || (character >= 0x7F && character <= 0x9F);
    bool turns_letters = (character >= 0x202A && character <= 0x202E) ||
                         (character >= 0x2066 && character <= 0x2069);
    bool ends_line = character == 0x2028 || character == 0x2029;
    return !is_control && !turns_letters && !ends_line;
}

/* The character as it is shown, with its bytes. */
static struct text shown(struct text whole, size_t at, size_t length, unsigned *character)
{
    if (*character == '\t' || *character == '\n') {
        *character = ' ';
        return TEXT(" ");
    }
    if (*character == 0xFFFD || !is_harmless(*character)) {
        *character = 0xFFFD;
        return TEXT("\xEF\xBF\xBD");
    }
    return text_slice(whole, at, at + length);
}

static void write_harmless(struct writer *writer, struct text whole)
{
    if (text_check(whole, NULL) == TEXT_SOUND &&
        (whole.length == 0 || memchr(whole.bytes, '\n', whole.length) == NULL)) {
        write_text(writer, whole);
        return;
    }
    for (size_t at = 0; at < whole.length;) {
        unsigned character;
        size_t length = text_character(whole, at, &character);
        write_text(writer, shown(whole, at, length, &character));
        at += length;
    }
}

/* A source line as it will stand on the screen. */
struct layout {
    struct text line;
    unsigned from, to;           /* the columns shown, counted from 0, `to` not included */
    unsigned caret, caret_width; /* columns from the start of the line */
    unsigned width;              /* of the whole line */
};

static struct layout layout_of(struct text line, const struct place *place, unsigned columns)
{
    struct layout layout = {.line = line};
    bool ends_here = place->end_line == place->line && place->end_column > place->column;
    unsigned end_column = ends_here ? place->end_column : place->column + 1;
    unsigned number = 1; /* of the character, as places count */
    unsigned caret_end = 0;
    for (size_t at = 0; at < line.length; number++) {
        unsigned character;
        size_t length = text_character(line, at, &character);
        (void)shown(line, at, length, &character);
        unsigned width = character_width(character);
        if (number < place->column)
            layout.caret += width;
        if (number < end_column)
            caret_end += width;
        layout.width += width;
        at += length;
    }
    layout.caret_width = caret_end > layout.caret ? caret_end - layout.caret : 1;

    layout.to = layout.width;
    if (layout.width > columns) {
        unsigned before = layout.caret_width < columns / 2 ? columns / 2 : columns / 4;
        layout.from = layout.caret > before ? layout.caret - before : 0;
        if (layout.width - layout.from < columns)
            layout.from = layout.width - columns;
        layout.to = layout.from + columns;
    }
    return layout;
}

/* Writes the part of the line in the window; says how many columns were taken before the caret. */
static unsigned write_window(struct writer *writer, const struct layout *layout)
{
    unsigned column = 0;
    unsigned before_caret = 0;
    unsigned last_width = 0;
    bool is_cut = layout->from > 0;
    if (is_cut) {
        write_text(writer, TEXT("…"));
        before_caret = 1;
    }
    for (size_t at = 0; at < layout->line.length;) {
        unsigned character;
        size_t length = text_character(layout->line, at, &character);
        struct text as_shown = shown(layout->line, at, length, &character);
        unsigned width = character_width(character);
        at += length;
        bool is_in_window = column >= layout->from + is_cut && column + width <= layout->to;
        bool hangs_on_left_edge = width == 0 && last_width == 0 && is_cut;
        if (is_in_window && !hangs_on_left_edge) {
            write_text(writer, as_shown);
            if (column < layout->caret)
                before_caret += width;
            last_width = width > 0 ? width : last_width;
        }
        column += width;
    }
    if (layout->to < layout->width)
        write_text(writer, TEXT("…"));
    return before_caret;
}

static void write_source_line(struct printing *printing, const struct diagnostic *diagnostic)
{
    enum { NUMBER_WIDTH = 5 };
    struct writer *writer = printing->writer;
    const struct place *place = &diagnostic->place;
    struct text line = line_at(&printing->cursor, place->source, place->line);
    struct layout layout = layout_of(line, place, columns_of_line(printing->width));
    struct text number = text_number(printing->scratch, place->line);

    write_repeated(writer, ' ',
                   number.length < NUMBER_WIDTH ? NUMBER_WIDTH - number.length : 0);
    write_text(writer, number);
    write_text(writer, TEXT(" | "));
    unsigned before_caret = write_window(writer, &layout);
    write_text(writer, TEXT("\n"));

    write_repeated(writer, ' ', number.length > NUMBER_WIDTH ? number.length : NUMBER_WIDTH);
    write_text(writer, TEXT(" | "));
    write_repeated(writer, ' ', before_caret);
    write_text(writer, TEXT("^"));
    unsigned room = layout.to > layout.caret ? layout.to - layout.caret : 1;
    unsigned marked = layout.caret_width < room ? layout.caret_width : room;
    write_repeated(writer, '~', marked > 0 ? marked - 1 : 0);
    write_text(writer, TEXT("\n"));
}

static struct text head_of(const struct diagnostic *diagnostic, struct arena *arena)
{
    static const char *const severities[] = {"note", "warning", "error"};
    const struct place *place = &diagnostic->place;
    struct page page;
    page_begin(&page, arena);
    struct writer *writer = &page.writer;
    if (place->source != NULL) {
        write_harmless(writer, place->source->path);
        write_text(writer, TEXT(":"));
    }
    if (place->source != NULL && place->line > 0)
        write_fill(writer, arena, "{}:{}:", text_number(arena, place->line),
                   text_number(arena, place->column));
    if (place->source != NULL)
        write_text(writer, TEXT(" "));
    write_text(writer, text_from(severities[finding_severity(diagnostic->finding)]));
    write_text(writer, TEXT(": "));
    write_harmless(writer, diagnostic->message);
    write_fill(writer, arena, " [{}]", text_from(finding_code(diagnostic->finding)));
    return page_text(&page);
}

/* Other programs read a finding by its line; only a person's window breaks it. */
static void write_head(struct printing *printing, struct text head)
{
    if (printing->width > HANG && text_check(head, NULL) == TEXT_SOUND) {
        write_text(printing->writer, text_wrap(&head, printing->width));
        while (head.length > 0) {
            write_text(printing->writer, TEXT("\n"));
            write_repeated(printing->writer, ' ', HANG);
            write_text(printing->writer, text_wrap(&head, printing->width - HANG));
        }
    } else {
        write_text(printing->writer, head);
    }
    write_text(printing->writer, TEXT("\n"));
}

void diagnostics_write(const struct diagnostics *diagnostics, struct writer *writer,
                       struct arena *scratch)
{
    diagnostics_write_within(diagnostics, 0, writer, scratch);
}

void diagnostics_write_within(const struct diagnostics *diagnostics, unsigned width,
                              struct writer *writer, struct arena *scratch)
{
    struct printing printing = {.writer = writer, .scratch = scratch, .width = width};
    size_t written = 0;
    size_t left_out = 0;
    for (const struct diagnostic *at = diagnostics->first; at != NULL; at = at->next) {
        if (!at->is_related && written == DIAGNOSTICS_SHOWN) {
            left_out++;
            continue;
        }
        if (left_out > 0)
            continue; /* a note goes with what it belongs to */
        written += !at->is_related;
        write_head(&printing,
                   head_of(at, scratch)); /* not rewound: a page may grow in scratch */
        if (at->place.source != NULL && at->place.line > 0)
            write_source_line(&printing, at);
    }
    if (left_out > 0)
        write_fill(writer, scratch, "… and {} more\n",
                   text_number(scratch, (long long)left_out));
}

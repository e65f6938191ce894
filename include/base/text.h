#ifndef BASE_TEXT_H
#define BASE_TEXT_H
/*
 * text.h - text that carries its length.
 *
 * Purpose   A `struct text` is a view of bytes somebody else owns, usually the
 *           file they were read from or an arena.  It is always valid UTF-8
 *           without control characters but tab and newline: whatever brings
 *           bytes into the program checks them once, at the door, so that no
 *           file can repaint a person's terminal.
 * Owns      checking, comparing, normalising, display width, wrapping, filling
 *           the blanks of a sentence, suggestions for a misspelling.
 * May call  arena, utf8proc.
 *
 *     struct text line = text_fill(arena, "{} of {} done", text_number(arena, 3), total);
 *     while (rest.length > 0)
 *         print(text_wrap(&rest, 76));
 */
#include "base/arena.h"

#include <assert.h>
#include <stdbool.h>
#include <stddef.h>
#include <string.h>

struct text {
    const char *bytes;
    size_t length;
};

#define TEXT(literal) ((struct text){(literal), sizeof(literal) - 1})
/* The same in a static table, where ISO C wants a constant. */
#define TEXT_CONSTANT(literal)                                                                 \
    {                                                                                          \
        (literal), sizeof(literal) - 1                                                         \
    }

/* What text_check found wrong, and where. */
enum text_flaw {
    TEXT_SOUND,
    TEXT_NOT_UTF8, /* a byte that cannot stand there */
    TEXT_CONTROL,  /* a C0 or C1 control character other than tab, newline, carriage return */
    TEXT_BIDIRECTIONAL /* an override, embedding or isolate that reorders what is shown */
};
/* `offset`, which may be NULL, gets the byte the flaw starts at; it is left alone if there is none. */
enum text_flaw text_check(struct text bytes, size_t *offset);

/* --- views: nothing is copied ------------------------------------------------ */
struct text text_from(const char *terminated);
/* Inline because names are looked up by the million, and nearly all are not the one. */
static inline bool text_equal(struct text a, struct text b)
{
    return a.length == b.length && (a.length == 0 || (a.bytes[0] == b.bytes[0] &&
                                                      memcmp(a.bytes, b.bytes, a.length) == 0));
}
bool text_equal_folded(struct text a, struct text b); /* ASCII letters without case */
int text_compare(struct text a, struct text b);       /* by bytes; <0, 0, >0 */
static inline struct text text_slice(struct text whole, size_t from, size_t to)
{
    assert(from <= to && to <= whole.length);
    return (struct text){to > from ? whole.bytes + from : whole.bytes, to - from};
}
static inline bool text_starts(struct text whole, struct text start)
{
    return whole.length >= start.length &&
           text_equal(text_slice(whole, 0, start.length), start);
}
static inline bool text_ends(struct text whole, struct text end)
{
    return whole.length >= end.length &&
           text_equal(text_slice(whole, whole.length - end.length, whole.length), end);
}
struct text text_trim(struct text whole); /* white space off both ends, no-break spaces too */
/* How many characters, each of which is one column of a place. */
size_t text_characters(struct text whole);
bool text_is_ascii(struct text whole);
size_t text_find(struct text whole, struct text wanted); /* offset, or whole.length if absent */
/* Takes the part before the next `separator` off `rest`; false when `rest` was empty. */
bool text_cut(struct text *rest, char separator, struct text *part);
/* The character that starts at byte `at`, and how many bytes it takes.  Where the bytes are not
 * UTF-8, which text_check would have found, it is U+FFFD and takes one byte. */
size_t text_character(struct text whole, size_t at, unsigned *character);

/* --- made in an arena ---------------------------------------------------------- */
struct text text_copy(struct arena *arena, struct text whole);
const char *text_terminated(struct arena *arena, struct text whole); /* for a library's door */
struct text text_number(struct arena *arena, long long number);
/* The first `count` (1 to 17) digits of a finite number above 0, rounded to nearest, no point, no
 * terminator; value = 0.DIGITS * 10^exponent. */
void text_digits(double value, unsigned count, char *digits, int *exponent);
struct text text_join(struct arena *arena, const struct text *parts, size_t count,
                      struct text separator);
/* Trimmed and in Unicode normalisation form C.  Returns the view itself if it is so already. */
struct text text_normalised(struct arena *arena, struct text whole);
/* Each {} of the sentence is filled with one text, in order.  A count that does not match is an
 * assertion. */
#define text_fill(arena, sentence, ...)                                                        \
    text_filled((arena), (sentence), (const struct text[]){__VA_ARGS__},                       \
                sizeof((const struct text[]){__VA_ARGS__}) / sizeof(struct text))
struct text text_filled(struct arena *arena, const char *sentence, const struct text *filling,
                        size_t filling_count);

/* --- on the screen -------------------------------------------------------------- */
/* Columns on a terminal: East Asian wide characters take two, combining ones none. */
unsigned text_width(struct text whole);
unsigned character_width(unsigned character); /* a tab takes one */
/* Takes one line of at most `width` columns off the front of `rest`.  Breaks at U+0020 and at
 * newlines only, so a number and its unit joined by U+00A0 stay together; a longer word is cut. */
struct text text_wrap(struct text *rest, unsigned width);

/* The candidate nearest to a misspelt word, or an empty text if none is near. */
struct text text_nearest(struct text wanted, const struct text *candidates, size_t count);

#endif

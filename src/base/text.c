#include "base/text.h"

#include <assert.h>
#include <limits.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>

#include <utf8proc.h>

enum { REPLACEMENT = 0xFFFD, NO_BREAK_SPACE = 0xA0, NARROW_NO_BREAK_SPACE = 0x202F };

/* --- characters ------------------------------------------------------------------ */

static bool is_continuation(unsigned char byte)
{
    return (byte & 0xC0) == 0x80;
}

/* The length of the character at `at`, or 0 if the bytes are not UTF-8 (The Unicode Standard,
 * table 3-7: shortest form, no surrogates, nothing above U+10FFFF). */
static size_t decode(const unsigned char *at, size_t available, unsigned *character)
{
    unsigned lead = at[0];
    if (lead < 0x80) {
        *character = lead;
        return 1;
    }
    size_t length = lead < 0xC2 ? 0 : lead < 0xE0 ? 2 : lead < 0xF0 ? 3 : lead < 0xF5 ? 4 : 0;
    if (length == 0 || length > available)
        return 0;
    unsigned value = lead & (0x7Fu >> length);
    for (size_t i = 1; i < length; i++) {
        if (!is_continuation(at[i]))
            return 0;
        value = value << 6 | (at[i] & 0x3Fu);
    }
    bool is_overlong = (length == 3 && value < 0x800) || (length == 4 && value < 0x10000);
    bool is_surrogate = value >= 0xD800 && value <= 0xDFFF;
    if (is_overlong || is_surrogate || value > 0x10FFFF)
        return 0;
    *character = value;
    return length;
}

size_t text_character(struct text whole, size_t at, unsigned *character)
{
    const unsigned char *bytes = (const unsigned char *)whole.bytes;
    size_t length = decode(bytes + at, whole.length - at, character);
    if (length > 0)
        return length;
    *character = REPLACEMENT;
    return 1;
}

bool text_is_ascii(struct text whole)
{
    const char *at = whole.bytes, *end = whole.bytes + whole.length;
    uint64_t bits = 0, eight;
    for (; end - at >= (ptrdiff_t)sizeof eight; at += sizeof eight) {
        memcpy(&eight, at, sizeof eight);
        bits |= eight;
    }
    for (; at < end; at++)
        bits |= (unsigned char)*at;
    return (bits & 0x8080808080808080ULL) == 0;
}

size_t text_characters(struct text whole)
{
    if (text_is_ascii(whole))
        return whole.length;
    size_t count = 0;
    for (size_t i = 0; i < whole.length; i++)
        count += !is_continuation((unsigned char)whole.bytes[i]);
    return count;
}

/* --- the check at the door --------------------------------------------------------- */

typedef unsigned char lanes __attribute__((vector_size(16)));

/* Sixteen bytes of printable ASCII, tabs and line ends: nearly all of nearly every file. */
static bool is_plain_block(const unsigned char *at)
{
    lanes block;
    memcpy(&block, at, sizeof block);
    lanes flawed =
        (lanes)((block < 0x20) & (block != '\n') & (block != '\t') & (block != '\r')) |
        (lanes)(block > 0x7E);
    uint64_t halves[2];
    memcpy(halves, &flawed, sizeof halves);
    return (halves[0] | halves[1]) == 0;
}

static enum text_flaw flaw_of_character(unsigned character)
{
    if (character < 0x20 && character != '\t' && character != '\n' && character != '\r')
        return TEXT_CONTROL;
    if (character >= 0x7F && character <= 0x9F)
        return TEXT_CONTROL;
    if ((character >= 0x202A && character <= 0x202E) ||
        (character >= 0x2066 && character <= 0x2069))
        return TEXT_BIDIRECTIONAL;
    return TEXT_SOUND;
}

enum text_flaw text_check(struct text bytes, size_t *offset)
{
    const unsigned char *from = (const unsigned char *)bytes.bytes;
    size_t at = 0;
    while (at < bytes.length) {
        if (bytes.length - at >= sizeof(lanes) && is_plain_block(from + at)) {
            at += sizeof(lanes);
            continue;
        }
        size_t block_end = at + sizeof(lanes);
        while (at < block_end && at < bytes.length) {
            unsigned character = 0;
            size_t length = decode(from + at, bytes.length - at, &character);
            enum text_flaw flaw = length == 0 ? TEXT_NOT_UTF8 : flaw_of_character(character);
            if (flaw != TEXT_SOUND) {
                if (offset != NULL)
                    *offset = at;
                return flaw;
            }
            at += length;
        }
    }
    return TEXT_SOUND;
}

/* --- views -------------------------------------------------------------------------- */

struct text text_from(const char *terminated)
{
    return (struct text){terminated, strlen(terminated)};
}

static unsigned char folded(char byte)
{
    return (unsigned char)(byte >= 'A' && byte <= 'Z' ? byte - 'A' + 'a' : byte);
}

bool text_equal_folded(struct text a, struct text b)
{
    if (a.length != b.length)
        return false;
    for (size_t i = 0; i < a.length; i++)
        if (folded(a.bytes[i]) != folded(b.bytes[i]))
            return false;
    return true;
}

int text_compare(struct text a, struct text b)
{
    size_t shared = a.length < b.length ? a.length : b.length;
    int order = shared == 0 ? 0 : memcmp(a.bytes, b.bytes, shared);
    if (order != 0)
        return order;
    return a.length < b.length ? -1 : a.length > b.length;
}

static bool is_white(unsigned character)
{
    return character == ' ' || (character >= '\t' && character <= '\r') ||
           character == NO_BREAK_SPACE || character == NARROW_NO_BREAK_SPACE;
}

/* Nothing to trim: nearly every text that comes from a file. */
static bool is_bare(struct text whole)
{
    char first = whole.bytes[0], last = whole.bytes[whole.length - 1];
    return first > ' ' && first < 0x7F && last > ' ' && last < 0x7F;
}

struct text text_trim(struct text whole)
{
    if (whole.length > 0 && is_bare(whole))
        return whole;
    size_t from = 0;
    size_t to = whole.length;
    unsigned character;
    while (from < to) {
        size_t length = text_character(whole, from, &character);
        if (!is_white(character))
            break;
        from += length;
    }
    while (to > from) {
        size_t start = to - 1;
        while (start > from && is_continuation((unsigned char)whole.bytes[start]))
            start--;
        (void)text_character(whole, start, &character);
        if (!is_white(character))
            break;
        to = start;
    }
    return text_slice(whole, from, to);
}

size_t text_find(struct text whole, struct text wanted)
{
    if (wanted.length == 0)
        return 0;
    size_t at = 0;
    while (whole.length - at >= wanted.length) {
        size_t starts = whole.length - at - wanted.length + 1;
        const char *first = memchr(whole.bytes + at, wanted.bytes[0], starts);
        if (first == NULL)
            break;
        if (memcmp(first, wanted.bytes, wanted.length) == 0)
            return (size_t)(first - whole.bytes);
        at = (size_t)(first - whole.bytes) + 1;
    }
    return whole.length;
}

bool text_cut(struct text *rest, char separator, struct text *part)
{
    if (rest->length == 0)
        return false;
    const char *found = memchr(rest->bytes, separator, rest->length);
    size_t length = found == NULL ? rest->length : (size_t)(found - rest->bytes);
    *part = text_slice(*rest, 0, length);
    *rest = text_slice(*rest, found == NULL ? length : length + 1, rest->length);
    return true;
}

/* --- made in an arena ------------------------------------------------------------------- */

static char *append(char *to, struct text part)
{
    if (part.length > 0)
        memcpy(to, part.bytes, part.length);
    return to + part.length;
}

struct text text_copy(struct arena *arena, struct text whole)
{
    char *copy = arena_array(arena, char, whole.length);
    append(copy, whole);
    return (struct text){copy, whole.length};
}

const char *text_terminated(struct arena *arena, struct text whole)
{
    char *copy = arena_array(arena, char, whole.length + 1);
    append(copy, whole);
    return copy;
}

struct text text_number(struct arena *arena, long long number)
{
    char digits[24];
    size_t at = sizeof digits;
    unsigned long long rest =
        number < 0 ? 0ULL - (unsigned long long)number : (unsigned long long)number;
    do {
        digits[--at] = (char)('0' + rest % 10);
        rest /= 10;
    } while (rest > 0);
    if (number < 0)
        digits[--at] = '-';
    return text_copy(arena, (struct text){digits + at, sizeof digits - at});
}

/* No point is printed that a locale could change: the byte after the first digit is skipped. */
void text_digits(double value, unsigned count, char *digits, int *exponent)
{
    assert(count >= 1 && count <= 17);
    assert(value > 0 && value <= 1.7976931348623157e308);
    char printed[40];
    int length = snprintf(printed, sizeof printed, "%.*e", (int)count - 1, value);
    assert(length > 0 && (size_t)length < sizeof printed);
    const char *power = strchr(printed, 'e');
    digits[0] = printed[0];
    memcpy(digits + 1, power - (count - 1), count - 1);
    *exponent = (int)strtol(power + 1, NULL, 10) + 1;
}

struct text text_join(struct arena *arena, const struct text *parts, size_t count,
                      struct text separator)
{
    size_t length = count > 1 ? (count - 1) * separator.length : 0;
    for (size_t i = 0; i < count; i++)
        length += parts[i].length;
    char *joined = arena_array(arena, char, length);
    char *at = joined;
    for (size_t i = 0; i < count; i++) {
        if (i > 0)
            at = append(at, separator);
        at = append(at, parts[i]);
    }
    return (struct text){joined, length};
}

/* Every character below U+0300 is in form C and stays so whatever follows it; those are exactly
 * the ones whose first byte is below 0xCC (Unicode Standard Annex 15). */
static bool is_surely_normal(struct text whole)
{
    for (size_t i = 0; i < whole.length; i++)
        if ((unsigned char)whole.bytes[i] >= 0xCC)
            return false;
    return true;
}

struct text text_normalised(struct arena *arena, struct text whole)
{
    whole = text_trim(whole);
    if (is_surely_normal(whole))
        return whole;

    const utf8proc_option_t options = UTF8PROC_STABLE | UTF8PROC_COMPOSE;
    const utf8proc_uint8_t *bytes = (const utf8proc_uint8_t *)whole.bytes;
    utf8proc_ssize_t length = (utf8proc_ssize_t)whole.length;
    struct arena_mark mark = arena_mark(arena);

    utf8proc_ssize_t count = utf8proc_decompose(bytes, length, NULL, 0, options);
    assert(count >= 0);
    utf8proc_int32_t *buffer = arena_array(arena, utf8proc_int32_t, (size_t)count + 1);
    utf8proc_decompose(bytes, length, buffer, count, options);
    utf8proc_ssize_t encoded = utf8proc_reencode(buffer, count, options);
    assert(encoded >= 0);

    struct text normal = {(const char *)buffer, (size_t)encoded};
    if (!text_equal(normal, whole))
        return normal;
    arena_rewind(arena, mark);
    return whole;
}

struct text text_filled(struct arena *arena, const char *sentence, const struct text *filling,
                        size_t filling_count)
{
    size_t length = strlen(sentence);
    for (size_t i = 0; i < filling_count; i++)
        length += filling[i].length;
    char *filled = arena_array(arena, char, length);
    char *at = filled;
    size_t used = 0;
    for (;;) {
        const char *blank = strstr(sentence, "{}");
        if (blank == NULL)
            break;
        assert(used < filling_count);
        at = append(at, (struct text){sentence, (size_t)(blank - sentence)});
        at = append(at, filling[used++]);
        sentence = blank + 2;
    }
    assert(used == filling_count);
    at = append(at, text_from(sentence));
    return (struct text){filled, (size_t)(at - filled)};
}

/* --- on the screen ------------------------------------------------------------------------ */

unsigned character_width(unsigned character)
{
    if (character >= 0x20 && character < 0x7F)
        return 1;
    if (character == '\t')
        return 1;
    int width = utf8proc_charwidth((utf8proc_int32_t)character);
    return width > 0 ? (unsigned)width : 0;
}

unsigned text_width(struct text whole)
{
    unsigned width = 0;
    unsigned character;
    for (size_t at = 0; at < whole.length;) {
        at += text_character(whole, at, &character);
        width += character_width(character);
    }
    return width;
}

static struct text without_trailing_space(struct text line)
{
    while (line.length > 0 &&
           (line.bytes[line.length - 1] == ' ' || line.bytes[line.length - 1] == '\r'))
        line.length--;
    return line;
}

static struct text take_line(struct text *rest, size_t end, size_t resume)
{
    struct text line = without_trailing_space(text_slice(*rest, 0, end));
    *rest = text_slice(*rest, resume, rest->length);
    return line;
}

struct text text_wrap(struct text *rest, unsigned width)
{
    size_t break_end = 0;    /* the line would end here */
    size_t break_resume = 0; /* and the next begin here; 0: no break seen yet */
    bool has_word = false;
    unsigned column = 0;
    for (size_t at = 0; at < rest->length;) {
        unsigned character;
        size_t length = text_character(*rest, at, &character);
        unsigned taken = character_width(character);
        if (character == '\n')
            return take_line(rest, at, at + 1);
        if (character == ' ') {
            if (has_word && break_resume != at)
                break_end = at;
            if (has_word)
                break_resume = at + 1;
        } else if (column + taken > width && at > 0) {
            return break_resume > 0 ? take_line(rest, break_end, break_resume)
                                    : take_line(rest, at, at);
        } else {
            has_word = true;
        }
        column += taken;
        at += length;
    }
    return take_line(rest, rest->length, rest->length);
}

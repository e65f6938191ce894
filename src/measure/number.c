#include "measure/quantity.h"

#include <math.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

static bool is_digit(struct text whole, size_t at)
{
    return at < whole.length && whole.bytes[at] >= '0' && whole.bytes[at] <= '9';
}

static size_t digits_end(struct text whole, size_t at)
{
    while (is_digit(whole, at))
        at++;
    return at;
}

/* --- the value of digits ------------------------------------------------------------------ */

/* Up to fifteen digits and 10^22 are exact in a double, so one division rounds correctly (the
 * fast path of D. M. Gay's "Correctly rounded binary-decimal conversions", 1990). */
static bool short_value(struct text whole, struct text part, double *value)
{
    static const double powers[] = {1e0, 1e1, 1e2,  1e3,  1e4,  1e5,  1e6,  1e7,
                                    1e8, 1e9, 1e10, 1e11, 1e12, 1e13, 1e14, 1e15};
    if (whole.length + part.length > 15)
        return false;
    int64_t digits = 0;
    for (size_t i = 0; i < whole.length; i++)
        digits = digits * 10 + (whole.bytes[i] - '0');
    for (size_t i = 0; i < part.length; i++)
        digits = digits * 10 + (part.bytes[i] - '0');
    *value = (double)digits / powers[part.length];
    return true;
}

/* The value of WHOLE.PART.  The point is never given to strtod, which would look for the one of
 * the locale. */
static double decimal_value(struct text whole, struct text part, struct arena *arena)
{
    double value;
    if (short_value(whole, part, &value))
        return value;
    struct arena_mark mark = arena_mark(arena);
    struct text power = text_number(arena, -(long long)part.length);
    struct text spelt = text_fill(arena, "{}{}e{}", whole, part, power);
    value = strtod(text_terminated(arena, spelt), NULL);
    arena_rewind(arena, mark);
    return value;
}

/* --- what was typed -------------------------------------------------------------------------- */

/* Where the parts of a number stand in what was typed. */
struct parts {
    size_t end;
    struct text whole, part;            /* digits before and after the point */
    struct text numerator, denominator; /* of a fraction; empty without one */
};

static size_t sign_length(struct text typed, bool *is_negative)
{
    *is_negative = false;
    if (text_starts(typed, TEXT("+")))
        return 1;
    *is_negative = text_starts(typed, TEXT("-")) || text_starts(typed, TEXT("\u2212"));
    if (!*is_negative)
        return 0;
    return typed.bytes[0] == '-' ? 1 : sizeof("\u2212") - 1;
}

/* A comma and exactly three digits: a thousand to one reader, a decimal comma to another.  Only a
 * lone 0, or nothing, before it leaves no doubt. */
static bool is_comma_unclear(const struct parts *parts)
{
    if (parts->part.length != 3)
        return false;
    return parts->whole.length > 0 && !text_equal(parts->whole, TEXT("0"));
}

/* NUMERATOR/DENOMINATOR at `at`. */
static bool fraction_at(struct text typed, size_t at, struct parts *parts)
{
    size_t slash = digits_end(typed, at);
    if (slash == at || slash >= typed.length || typed.bytes[slash] != '/')
        return false;
    size_t end = digits_end(typed, slash + 1);
    if (end == slash + 1)
        return false;
    parts->numerator = text_slice(typed, at, slash);
    parts->denominator = text_slice(typed, slash + 1, end);
    parts->end = end;
    return true;
}

static size_t skip_space(struct text typed, size_t at)
{
    struct text rest = text_slice(typed, at, typed.length);
    while (at < typed.length) {
        unsigned character;
        size_t length = text_character(typed, at, &character);
        if (text_trim(text_slice(rest, 0, length)).length > 0)
            break;
        at += length;
        rest = text_slice(typed, at, typed.length);
    }
    return at;
}

/* `7/16` or `1 7/16`: a whole number has been read already. */
static void read_fraction(struct text typed, size_t start, struct parts *parts)
{
    if (fraction_at(typed, start, parts)) {
        parts->whole = (struct text){0};
        return;
    }
    size_t next = skip_space(typed, parts->end);
    if (next > parts->end)
        (void)fraction_at(typed, next, parts);
}

static enum quantity_flaw read_parts(struct text typed, size_t start, bool comma_allowed,
                                     struct parts *parts)
{
    *parts = (struct parts){0};
    size_t point = digits_end(typed, start);
    parts->whole = text_slice(typed, start, point);
    parts->end = point;
    bool has_comma = comma_allowed && point < typed.length && typed.bytes[point] == ',';
    bool has_point = point < typed.length && typed.bytes[point] == '.';
    if ((has_comma || has_point) && is_digit(typed, point + 1)) {
        parts->end = digits_end(typed, point + 1);
        parts->part = text_slice(typed, point + 1, parts->end);
        return has_comma && is_comma_unclear(parts) ? QUANTITY_COMMA_UNCLEAR : QUANTITY_READ;
    }
    if (parts->whole.length == 0)
        return QUANTITY_NOT_A_NUMBER;
    if (comma_allowed)
        read_fraction(typed, start, parts);
    return QUANTITY_READ;
}

/* False for a fraction nobody means: over 0, or 1 17/16. */
static bool parts_value(const struct parts *parts, struct arena *arena, double *value)
{
    const struct text none = {0};
    if (parts->denominator.length == 0) {
        *value = decimal_value(parts->whole, parts->part, arena);
        return true;
    }
    double numerator = decimal_value(parts->numerator, none, arena);
    double denominator = decimal_value(parts->denominator, none, arena);
    bool is_mixed = parts->whole.length > 0;
    if (denominator == 0 || (is_mixed && numerator >= denominator))
        return false;
    double whole = is_mixed ? decimal_value(parts->whole, none, arena) : 0;
    *value = (double)(((long double)whole * (long double)denominator + (long double)numerator) /
                      (long double)denominator);
    return true;
}

bool number_fits(double si, double max)
{
    return si == 0 || (fabs(si) <= max && fabs(si) >= 1 / max);
}

enum quantity_flaw number_read(struct text *rest, bool comma_allowed, struct arena *arena,
                               struct number *number)
{
    bool is_negative;
    size_t start = sign_length(*rest, &is_negative);
    struct parts parts;
    enum quantity_flaw flaw = read_parts(*rest, start, comma_allowed, &parts);
    if (flaw != QUANTITY_READ)
        return flaw;
    double value;
    if (!parts_value(&parts, arena, &value))
        return QUANTITY_NOT_A_NUMBER;
    if (!number_fits(value, NUMBER_TYPED_MAX))
        return value > 1 ? QUANTITY_TOO_LARGE : QUANTITY_TOO_SMALL;
    number->digits = text_copy(arena, text_slice(*rest, 0, parts.end));
    number->value = is_negative ? 0 - value : value;
    number->decimals = (unsigned)parts.part.length;
    *rest = text_slice(*rest, parts.end, rest->length);
    return QUANTITY_READ;
}

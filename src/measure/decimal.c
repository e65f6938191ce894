#include "decimal.h"

#include <assert.h>
#include <math.h>
#include <string.h>

static bool is_zero(const struct decimal *decimal)
{
    return decimal->count == 0 || decimal->digits[0] == '0';
}

struct decimal decimal_from(double value, unsigned precise)
{
    assert(isfinite(value));
    struct decimal decimal = {.is_negative = value < 0};
    if (value == 0) {
        decimal.digits[0] = '0';
        decimal.count = 1;
        decimal.exponent = 1;
        return decimal;
    }
    text_digits(fabs(value), precise, decimal.digits, &decimal.exponent);
    decimal.count = (int)precise;
    return decimal;
}

/* Adds one in the last place kept. */
static void carry(struct decimal *decimal)
{
    int at = decimal->count;
    while (at > 0 && decimal->digits[at - 1] == '9')
        decimal->digits[--at] = '0';
    if (at > 0) {
        decimal->digits[at - 1]++;
        return;
    }
    if (decimal->count == 0)
        decimal->count = 1;
    decimal->digits[0] = '1'; /* the zeros behind it are there already */
    decimal->exponent++;
}

void decimal_round(struct decimal *decimal, int kept)
{
    if (kept >= decimal->count)
        return;
    if (kept < 0) {
        decimal->count = 0;
        return;
    }
    const char *dropped = decimal->digits + kept;
    size_t dropped_count = (size_t)(decimal->count - kept);
    char last_kept = '0';
    if (kept > 0)
        last_kept = decimal->digits[kept - 1];
    bool is_beyond_tie = false;
    for (size_t i = 1; i < dropped_count; i++)
        is_beyond_tie = is_beyond_tie || dropped[i] != '0';
    bool goes_up = dropped[0] > '5' ||
                   (dropped[0] == '5' && (is_beyond_tie || (last_kept - '0') % 2 == 1));
    decimal->count = kept;
    if (goes_up)
        carry(decimal);
}

static char digit_at(const struct decimal *decimal, int place)
{
    if (place < 0 || place >= decimal->count || is_zero(decimal))
        return '0';
    return decimal->digits[place];
}

struct text decimal_text(struct arena *arena, const struct decimal *decimal, unsigned decimals)
{
    int whole = decimal->exponent > 1 && !is_zero(decimal) ? decimal->exponent : 1;
    int first = decimal->exponent - whole; /* the place of the first digit shown */
    char *shown = arena_array(arena, char, (size_t)whole + decimals + 2);
    size_t length = 0;
    bool has_digit = false;
    if (decimal->is_negative)
        shown[length++] = '-';
    for (int i = 0; i < whole + (int)decimals; i++) {
        if (i == whole)
            shown[length++] = '.';
        char digit = digit_at(decimal, first + i);
        has_digit = has_digit || digit != '0';
        shown[length++] = digit;
    }
    struct text text = {shown, length};
    return decimal->is_negative && !has_digit ? text_slice(text, 1, length) : text;
}

struct text decimal_text_scientific(struct arena *arena, const struct decimal *decimal)
{
    struct text mantissa = {decimal->digits + 1, (size_t)(decimal->count - 1)};
    return text_fill(arena, "{}{}{}{}e{}", decimal->is_negative ? TEXT("-") : TEXT(""),
                     ((struct text){decimal->digits, 1}),
                     decimal->count > 1 ? TEXT(".") : TEXT(""), mantissa,
                     text_number(arena, decimal->exponent - 1));
}

#include "measure/quantity.h"

#include "decimal.h"

#include <math.h>

enum { MOST_DIGITS = 15 };

/* --- reading ----------------------------------------------------------------------------------- */

/* The unit with each run of white space replaced by `joint`. */
static struct text without_space(struct arena *arena, struct text unit, struct text joint)
{
    struct text joined = {0};
    size_t at = 0;
    size_t from = 0;
    while (at <= unit.length) {
        unsigned character;
        size_t length = at < unit.length ? text_character(unit, at, &character) : 1;
        struct text here = text_slice(unit, at, at < unit.length ? at + length : at);
        if (text_trim(here).length == 0) {
            if (at > from) {
                struct text part = text_slice(unit, from, at);
                joined =
                    joined.length == 0 ? part : text_fill(arena, "{}{}{}", joined, joint, part);
            }
            from = at + length;
        }
        at += length;
    }
    return joined;
}

/* A person writes `fl oz` for fl.oz and `L / 100 km` for L/100km. */
static const struct unit *unit_as_meant(struct arena *arena, struct text unit)
{
    enum { LONGEST_UNIT = 40 };
    const struct unit *found = unit_find(unit);
    if (found != NULL || unit.length > LONGEST_UNIT)
        return found;
    struct arena_mark mark = arena_mark(arena);
    found = unit_find(without_space(arena, unit, TEXT(".")));
    if (found == NULL)
        found = unit_find(without_space(arena, unit, TEXT("")));
    arena_rewind(arena, mark);
    return found;
}

struct quantity_reading quantity_read(struct text typed, const struct unit *bare,
                                      struct arena *arena, struct quantity *quantity)
{
    struct quantity_reading reading = {0};
    struct arena_mark mark = arena_mark(arena);
    struct text trimmed = text_trim(typed);
    struct text rest = trimmed;
    struct quantity read = {.unit = bare};
    reading.flaw = number_read(&rest, true, arena, &read.number);
    if (reading.flaw != QUANTITY_READ)
        return reading;

    struct text unit = text_trim(rest);
    if (unit.length > 0) {
        reading.unit_from = (size_t)(unit.bytes - typed.bytes);
        reading.unit_to = reading.unit_from + unit.length;
        read.unit = unit_as_meant(arena, unit);
        if (read.unit == NULL)
            reading.flaw = QUANTITY_UNIT_UNKNOWN;
    } else if (bare == NULL) {
        reading.flaw = QUANTITY_UNIT_MISSING;
    }
    double si = reading.flaw == QUANTITY_READ ? unit_to_si(read.unit, read.number.value) : 0;
    if (!number_fits(si, NUMBER_TYPED_MAX))
        reading.flaw = fabs(si) > 1 ? QUANTITY_TOO_LARGE : QUANTITY_TOO_SMALL;
    if (reading.flaw == QUANTITY_READ)
        *quantity = read;
    else
        arena_rewind(arena, mark);
    return reading;
}

double quantity_si(const struct quantity *quantity)
{
    return unit_to_si(quantity->unit, quantity->number.value);
}

/* --- showing ------------------------------------------------------------------------------------- */

static struct text with_unit(struct arena *arena, struct text digits, const struct unit *unit)
{
    if (text_equal(unit->symbol, unit_one.symbol))
        return digits;
    bool stands_close = text_equal(unit->symbol, TEXT("°"));
    return text_fill(arena, "{}{}{}", digits, stands_close ? TEXT("") : TEXT("\u00a0"),
                     unit->symbol);
}

struct text quantity_text(struct arena *arena, const struct quantity *quantity)
{
    return with_unit(arena, quantity->number.digits, quantity->unit);
}

/* 0 degrees Celsius is 273.15 K, which is not a double: taking the offset off again leaves noise in
 * the fourteenth decimal.  Ten are more than any thermometer has. */
static double shown_value(double si, const struct unit *unit)
{
    double value = unit_from_si(unit, si);
    if (unit->thousandths_offset_numerator == 0)
        return value;
    return (double)(rintl((long double)value * 1e10L) / 1e10L);
}

struct text value_text(struct arena *arena, double si, const struct unit *unit,
                       unsigned significant)
{
    double value = shown_value(si, unit);
    if (!isfinite(value))
        return TEXT("not a finite number");
    if (value == 0)
        return with_unit(arena, TEXT("0"), unit);
    int kept = significant < 1 ? 1 : significant > MOST_DIGITS ? MOST_DIGITS : (int)significant;
    struct decimal decimal = decimal_from(value, MOST_DIGITS);
    decimal_round(&decimal, kept);
    decimal.count = decimal.count > kept ? kept : decimal.count;
    struct text digits;
    if (decimal.exponent > 15 || decimal.exponent <= -9)
        digits = decimal_text_scientific(arena, &decimal);
    else
        digits = decimal_text(
            arena, &decimal, kept > decimal.exponent ? (unsigned)(kept - decimal.exponent) : 0);
    return with_unit(arena, digits, unit);
}

struct text value_text_decimals(struct arena *arena, double si, const struct unit *unit,
                                unsigned decimals)
{
    double value = shown_value(si, unit);
    if (!isfinite(value))
        return TEXT("not a finite number");
    int behind = decimals > MOST_DIGITS ? MOST_DIGITS : (int)decimals;
    struct decimal decimal = decimal_from(value, MOST_DIGITS);
    decimal_round(&decimal, decimal.exponent + behind);
    struct text digits = decimal.exponent > 15
                             ? decimal_text_scientific(arena, &decimal)
                             : decimal_text(arena, &decimal, (unsigned)behind);
    return with_unit(arena, digits, unit);
}

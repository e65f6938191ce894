#ifndef MEASURE_QUANTITY_H
#define MEASURE_QUANTITY_H
/*
 * quantity.h - numbers as they were typed, units, and the kinds of quantity.
 *
 * Purpose   A workshop writes pressure in four units and torque in five.  Here
 *           each is an exact ratio to the SI unit, a number keeps the digits
 *           that were typed, and what may not be mixed is known by its kind:
 *           torque is not energy, a temperature is not a temperature
 *           difference, though their dimensions agree.
 * Owns      the table of units (unit_list.h), conversion, reading and showing.
 * May call  base.
 *
 *     struct quantity pressure;
 *     if (quantity_read(TEXT("171 psi"), NULL, arena, &pressure) == QUANTITY_READ)
 *         double bar = unit_from_si(unit_find(TEXT("bar")), quantity_si(&pressure));
 *
 * Sources: factors from NIST SP 811 (2008), appendix B, and its exact
 * definitions (1 in = 0.0254 m, 1 lb = 0.453 592 37 kg, g = 9.806 65 m/s2,
 * 1 US gallon = 231 in3, 1 imperial gallon = 4.546 09 L, 1 mile = 1609.344 m).
 *
 * To add a unit: one line in unit_list.h with its source; a row in
 * tests/measure/units.csv; the list in docs/expressions.md (a test compares).
 */
#include "base/text.h"

/* --- kinds -------------------------------------------------------------------- */

enum base_dimension {
    DIMENSION_LENGTH,
    DIMENSION_MASS,
    DIMENSION_TIME,
    DIMENSION_CURRENT,
    DIMENSION_TEMPERATURE,
    DIMENSION_ANGLE,
    DIMENSION_COUNT
};

/* What dimensions alone cannot tell apart. */
enum flavour {
    FLAVOUR_NONE,
    FLAVOUR_TORQUE, /* force times lever: fits a product of force and length, never energy */
    FLAVOUR_ENERGY,
    FLAVOUR_POINT /* a temperature on a scale (°C, °F), not a difference of two (K, Δ°C, Δ°F) */
};

struct kind {
    signed char power[DIMENSION_COUNT];
    unsigned char flavour; /* enum flavour */
};

bool kind_equal(struct kind a, struct kind b);
/* May a value of kind `got` stand where `wanted` is needed?  A product of force and length, which
 * has no flavour, fits torque and energy; not the other way round. */
bool kind_fits(struct kind got, struct kind wanted);
bool kind_is_plain(struct kind kind); /* a number without dimension */
bool kind_is_point(struct kind kind); /* a temperature on a scale */
/* The kind of a difference of two values: that of two points has no flavour, any other stays. */
struct kind kind_difference(struct kind kind);
/* A torque is energy per angle (SP 811, 4.2.2 says why both are N.m): torque times angle is
 * energy, torque times speed of rotation is power, and the other way round energy over angle and
 * power over speed of rotation are torque, energy over torque is an angle.  Times or over a plain
 * number a torque stays a torque and energy energy; any other product loses the flavour.  A point
 * has no product: refuse it first (kind_is_point), or it is taken as kelvin. */
struct kind kind_product(struct kind a, struct kind b);
struct kind kind_quotient(struct kind a, struct kind b);
bool kind_root(struct kind kind, struct kind *root); /* false if a power is odd */
/* "pressure", "torque", "temperature difference"; for one without a name, "kg·m/s2" */
struct text kind_name(struct arena *arena, struct kind kind);

/* --- units -------------------------------------------------------------------- */

/* si = value * numerator / denominator * pi^pi_power + offset; the offset is exact in 1/1000ths.
 * `K` is a difference; there is no unit for absolute kelvin, which nobody reads off a gauge. */
struct unit {
    struct text symbol; /* as it is shown: "N·m", "bar", "°C" */
    struct kind kind;
    long long numerator, denominator;
    int pi_power;
    int thousandths_offset_numerator, thousandths_offset_denominator; /* °C: 273150/1; or 0/1 */
};

extern const struct unit
    unit_one; /* a number without unit, spelled 1: unit_find("1") is &unit_one */

/* By any of its spellings ("N.m", "Nm", "N·m"); NULL if there is none.  Case counts.  No spelling
 * has a space in it. */
const struct unit *unit_find(struct text spelling);
/* For a suggestion: the spelling nearest to a misspelt one, or empty. */
struct text unit_nearest(struct text spelling);
/* The unit a value of this kind is shown in when nobody asked for one, the first of its kind in the
 * table; NULL if there is none.  A product of force and length is shown in N·m. */
const struct unit *unit_for(struct kind kind);
double unit_to_si(const struct unit *unit, double value);
double unit_from_si(const struct unit *unit, double si);
/* From one unit to another without going through the SI value, so that what is exact stays so: 1 ft
 * is 12 in.  Distance per volume and volume per distance convert too (mpg to L/100km).  False if
 * the kinds do not allow it, or a reciprocal is taken of 0. */
bool unit_convert(const struct unit *from, const struct unit *to, double value, double *result);
/* For a difference or an uncertainty: without the offset of a temperature scale. */
double unit_step_to_si(const struct unit *unit, double value);
double unit_step_from_si(const struct unit *unit, double si);
/* Every unit in the order of the table: its symbol and all spellings; false past the end. */
bool unit_at(size_t i, const struct unit **unit, const struct text **spellings, size_t *count);

/* --- numbers and quantities -------------------------------------------------- */

struct number {
    struct text digits; /* as typed, for ever: "24.50", "7/16", "-11,8" */
    double value;
    unsigned decimals; /* digits after the point; 0 for a fraction */
};

struct quantity {
    struct number number;
    const struct unit *unit; /* never NULL */
};

enum quantity_flaw {
    QUANTITY_READ,
    QUANTITY_NOT_A_NUMBER,  /* no number at the start */
    QUANTITY_UNIT_MISSING,  /* a bare number, and no unit was offered */
    QUANTITY_UNIT_UNKNOWN,  /* `unit_from` and `unit_to` say which bytes */
    QUANTITY_COMMA_UNCLEAR, /* 84,210: a decimal comma or a thousand? */
    QUANTITY_TOO_LARGE,     /* beyond NUMBER_TYPED_MAX in SI */
    QUANTITY_TOO_SMALL      /* not 0, but nearer to it than one over that */
};

/* Nothing anybody can measure is beyond the first (1e75); the fourth powers that a trial works with
 * still fit a double.  What is worked out may go to the second (1e150): its square fits, and so does
 * its value in the smallest unit.  So nothing becomes infinite where no one looks for it. */
#define NUMBER_TYPED_MAX      1e75
#define NUMBER_WORKED_OUT_MAX 1e150
/* 0, or from 1 / max to max in size; false for what is not finite. */
bool number_fits(double si, double max);

struct quantity_reading {
    enum quantity_flaw flaw;
    size_t unit_from, unit_to; /* bytes of the unit in what was typed; equal if there is none */
};

/* Reads `11.8 bar`, `25N.m`, `7/16 in`, `1 7/16 in`, `11,8`, `-.5 mm`.  No exponents: `1e3` is 1 of
 * an unknown unit.  Space in the unit is taken as a person means it: `fl oz`, `imp gal`, `ft lb`,
 * `L / 100 km`.  A bare number takes `bare`, unless that is NULL.  No unit is known here to be the
 * wrong one: compare kinds afterwards.  `quantity` is filled in only when it was read. */
struct quantity_reading quantity_read(struct text typed, const struct unit *bare,
                                      struct arena *arena, struct quantity *quantity);

/* Reads a number alone off the front of `rest`, digits first or a sign.  Without `comma_allowed`,
 * as expressions use it, there are neither decimal commas nor fractions: `a/7/16` divides twice.
 * `rest` and `number` are left alone unless the result is QUANTITY_READ. */
enum quantity_flaw number_read(struct text *rest, bool comma_allowed, struct arena *arena,
                               struct number *number);

double quantity_si(const struct quantity *quantity);

/* As typed, with a no-break space before the unit: "24.50 N·m"; none before ° (SP 811, 7.2). */
struct text quantity_text(struct arena *arena, const struct quantity *quantity);
/* A computed value in a unit, with that many significant digits (1 to 15), a no-break space before
 * the unit; no unit after a plain number.  A tie goes to the even digit (SP 811, B.7.1), and what is
 * a tie is decided by the 15 leading digits (for a temperature the 10 first decimals), beyond which
 * a double holds noise.  An exponent only from 1e15 up and below 1e-9.  Zero is "0", never "-0". */
struct text value_text(struct arena *arena, double si, const struct unit *unit,
                       unsigned significant);
/* The same with a fixed number of decimals (at most 15). */
struct text value_text_decimals(struct arena *arena, double si, const struct unit *unit,
                                unsigned decimals);

#endif

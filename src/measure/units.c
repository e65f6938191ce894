#include "measure/kinds.h"

#include <assert.h>
#include <math.h>

/* NIST SP 811 counts a revolution as 2 pi rad; the digits fill a long double. */
static const long double pi = 3.14159265358979323846264338327950288L;

static const struct row {
    struct unit unit;
    const struct text *spellings; /* the symbol is the first */
    size_t spelling_count;
} units[] = {
/* NOLINTBEGIN(bugprone-macro-parentheses): what is put in is an initialiser */
#define AS(spelling) {spelling, sizeof(spelling) - 1},
#define SPELLED(...)                                                                           \
    (const struct text[]){__VA_ARGS__},                                                        \
        sizeof((const struct text[]){__VA_ARGS__}) / sizeof(struct text)
#define UNIT(symbol, kind, numerator, denominator, spellings)                                  \
    {{AS(symbol) kind, numerator, denominator, 0, 0, 1}, SPELLED(AS(symbol) spellings)},
#define ANGLE(symbol, kind, numerator, denominator, spellings)                                 \
    {{AS(symbol) kind, numerator, denominator, 1, 0, 1}, SPELLED(AS(symbol) spellings)},
#define SCALE(symbol, numerator, denominator, above, below, spellings)                         \
    {{AS(symbol) POINT, numerator, denominator, 0, above, below},                              \
     SPELLED(AS(symbol) spellings)},
#include "unit_list.h"
/* NOLINTEND(bugprone-macro-parentheses) */
#undef UNIT
#undef ANGLE
#undef SCALE
};

enum { UNIT_COUNT = sizeof units / sizeof *units };

const struct unit unit_one = {AS("1") PLAIN, 1, 1, 0, 0, 1};

/* The first row is the plain number, which has a name of its own. */
static const struct unit *unit_of(size_t row)
{
    return row == 0 ? &unit_one : &units[row].unit;
}

/* --- looking up -------------------------------------------------------------------------- */

const struct unit *unit_find(struct text spelling)
{
    if (spelling.length == 0)
        return NULL;
    for (size_t i = 0; i < UNIT_COUNT; i++)
        for (size_t j = 0; j < units[i].spelling_count; j++) {
            const struct text *known = &units[i].spellings[j];
            if (known->length == spelling.length && known->bytes[0] == spelling.bytes[0] &&
                text_equal(*known, spelling))
                return unit_of(i);
        }
    return NULL;
}

/* The degree sign is on few keyboards, and a letter alone is near to every other letter. */
static struct text degree_meant(struct text spelling)
{
    if (text_equal(spelling, TEXT("C")) || text_equal(spelling, TEXT("c")))
        return TEXT("degC");
    if (text_equal(spelling, TEXT("F")) || text_equal(spelling, TEXT("f")))
        return TEXT("degF");
    return (struct text){0};
}

struct text unit_nearest(struct text spelling)
{
    enum { MOST_SPELLINGS = 600 };
    struct text degree = degree_meant(spelling);
    if (degree.length > 0)
        return degree;
    struct text all[MOST_SPELLINGS];
    size_t count = 0;
    for (size_t i = 0; i < UNIT_COUNT; i++)
        for (size_t j = 0; j < units[i].spelling_count; j++) {
            assert(count < MOST_SPELLINGS);
            all[count++] = units[i].spellings[j];
        }
    return text_nearest(spelling, all, count);
}

const struct unit *unit_for(struct kind kind)
{
    if (kind_equal(kind, (struct kind)WORK))
        kind = (struct kind)TORQUE;
    for (size_t i = 0; i < UNIT_COUNT; i++)
        if (kind_equal(units[i].unit.kind, kind))
            return unit_of(i);
    return NULL;
}

bool unit_at(size_t i, const struct unit **unit, const struct text **spellings, size_t *count)
{
    if (i >= UNIT_COUNT)
        return false;
    *unit = unit_of(i);
    *spellings = units[i].spellings;
    *count = units[i].spelling_count;
    return true;
}

/* --- to and from SI ------------------------------------------------------------------------ */

static long double power_of_pi(int power)
{
    long double product = 1;
    for (; power > 0; power--)
        product *= pi;
    for (; power < 0; power++)
        product /= pi;
    return product;
}

static long double offset(const struct unit *unit)
{
    return (long double)unit->thousandths_offset_numerator /
           (1000.0L * (long double)unit->thousandths_offset_denominator);
}

static long double step_to_si(const struct unit *unit, long double value)
{
    return value * (long double)unit->numerator * power_of_pi(unit->pi_power) /
           (long double)unit->denominator;
}

static long double step_from_si(const struct unit *unit, long double si)
{
    return si * (long double)unit->denominator /
           ((long double)unit->numerator * power_of_pi(unit->pi_power));
}

double unit_to_si(const struct unit *unit, double value)
{
    return (double)(step_to_si(unit, value) + offset(unit));
}

double unit_from_si(const struct unit *unit, double si)
{
    return (double)step_from_si(unit, (long double)si - offset(unit));
}

double unit_step_to_si(const struct unit *unit, double value)
{
    return (double)step_to_si(unit, value);
}

double unit_step_from_si(const struct unit *unit, double si)
{
    return (double)step_from_si(unit, si);
}

/* --- from unit to unit ----------------------------------------------------------------------- */

__extension__ typedef unsigned __int128 wide;

static wide greatest_common_divisor(wide a, wide b)
{
    while (b != 0) {
        wide rest = a % b;
        a = b;
        b = rest;
    }
    return a;
}

struct ratio {
    wide numerator, denominator; /* in lowest terms */
};

/* a/b * c/d; four numbers below 2^63, so the products fit. */
static struct ratio ratio_product(long long a, long long b, long long c, long long d)
{
    wide numerator = (wide)a * (wide)c;
    wide denominator = (wide)b * (wide)d;
    wide common = greatest_common_divisor(numerator, denominator);
    return (struct ratio){numerator / common, denominator / common};
}

static long double scaled(long double value, struct ratio ratio)
{
    return value * (long double)ratio.numerator / (long double)ratio.denominator;
}

static bool is_reciprocal(struct kind a, struct kind b)
{
    if (a.flavour != FLAVOUR_NONE || b.flavour != FLAVOUR_NONE)
        return false;
    for (int i = 0; i < DIMENSION_COUNT; i++)
        if (a.power[i] != -b.power[i])
            return false;
    return true;
}

/* Both scales as whole numbers: value_to = (value * A + B) / C, so that 212 degrees Fahrenheit are
 * 100 degrees Celsius and not a hair more. */
static long double scale_to_scale(const struct unit *from, const struct unit *to, double value)
{
    long double from_numerator = (long double)from->numerator;
    long double from_denominator = (long double)from->denominator;
    long double above_difference = (long double)from->thousandths_offset_numerator *
                                       (long double)to->thousandths_offset_denominator -
                                   (long double)to->thousandths_offset_numerator *
                                       (long double)from->thousandths_offset_denominator;
    long double below = 1000.0L * (long double)from->thousandths_offset_denominator *
                        (long double)to->thousandths_offset_denominator;
    long double si_above =
        (long double)value * from_numerator * below + above_difference * from_denominator;
    return si_above * (long double)to->denominator /
           (from_denominator * below * (long double)to->numerator);
}

bool unit_convert(const struct unit *from, const struct unit *to, double value, double *result)
{
    if (kind_equal(from->kind, to->kind)) {
        if (kind_is_point(from->kind)) {
            *result = (double)scale_to_scale(from, to, value);
            return true;
        }
        struct ratio ratio =
            ratio_product(from->numerator, from->denominator, to->denominator, to->numerator);
        *result = (double)(scaled(value, ratio) * power_of_pi(from->pi_power - to->pi_power));
        return true;
    }
    if (is_reciprocal(from->kind, to->kind) && value != 0) {
        struct ratio ratio =
            ratio_product(from->denominator, from->numerator, to->denominator, to->numerator);
        *result = (double)(scaled(1, ratio) / (long double)value /
                           power_of_pi(from->pi_power + to->pi_power));
        return true;
    }
    return false;
}

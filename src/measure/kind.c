#include "measure/kinds.h"

#include <assert.h>
#include <limits.h>

static const struct {
    struct kind kind;
    struct text name;
} named[] = {
#define NAMED(kind, name)                                                                      \
    {                                                                                          \
        kind,                                                                                  \
        {                                                                                      \
            name, sizeof(name) - 1                                                             \
        }                                                                                      \
    }
    NAMED(PLAIN, "plain number"),
    NAMED(PRESSURE, "pressure"),
    NAMED(LEAK, "change of pressure per time"),
    NAMED(TORQUE, "torque"),
    NAMED(ENERGY, "quantity of energy"),
    NAMED(WORK, "product of force and length"),
    NAMED(POWER, "power"),
    NAMED(FORCE, "force"),
    NAMED(STIFFNESS, "stiffness"),
    NAMED(LENGTH, "length"),
    NAMED(AREA, "surface or volume per distance"),
    NAMED(VOLUME, "volume"),
    NAMED(MASS, "mass"),
    NAMED(DENSITY, "density"),
    NAMED(TIME, "time"),
    NAMED(FREQUENCY, "frequency"),
    NAMED(TEMPERATURE, "temperature difference"),
    NAMED(POINT, "temperature"),
    NAMED(SPEED, "speed"),
    NAMED(ACCELERATION, "rate of acceleration"),
    NAMED(TURN, "turning angle"),
    NAMED(ROTATION, "speed of rotation"),
    NAMED(VOLTAGE, "voltage"),
    NAMED(CURRENT, "current"),
    NAMED(RESISTANCE, "resistance"),
    NAMED(CHARGE, "charge"),
    NAMED(ECONOMY, "distance per volume"),
    NAMED(FLOW, "flow"),
    NAMED(VISCOSITY, "viscosity"),
#undef NAMED
};

static bool powers_equal(struct kind a, struct kind b)
{
    for (int i = 0; i < DIMENSION_COUNT; i++)
        if (a.power[i] != b.power[i])
            return false;
    return true;
}

bool kind_equal(struct kind a, struct kind b)
{
    return powers_equal(a, b) && a.flavour == b.flavour;
}

static bool is_force_times_length(struct kind kind)
{
    return kind_equal(kind, (struct kind)WORK);
}

bool kind_fits(struct kind got, struct kind wanted)
{
    if (kind_equal(got, wanted))
        return true;
    return is_force_times_length(got) && powers_equal(got, wanted);
}

bool kind_is_plain(struct kind kind)
{
    return kind_equal(kind, (struct kind)PLAIN);
}

bool kind_is_point(struct kind kind)
{
    return kind.flavour == FLAVOUR_POINT;
}

struct kind kind_difference(struct kind kind)
{
    if (kind_is_point(kind))
        kind.flavour = FLAVOUR_NONE;
    return kind;
}

/* a times b to the `sign`; powers that do not fit stay at the end of their range, where nothing a
 * workshop measures will ever be. */
static struct kind powers_combined(struct kind a, struct kind b, int sign)
{
    struct kind combined = {0};
    for (int i = 0; i < DIMENSION_COUNT; i++) {
        int power = a.power[i] + sign * b.power[i];
        power = power > SCHAR_MAX ? SCHAR_MAX : power < SCHAR_MIN ? SCHAR_MIN : power;
        combined.power[i] = (signed char)power;
    }
    return combined;
}

/* N.m/rad is torque, whatever it came from. */
static struct kind with_torque_recognised(struct kind kind)
{
    struct kind turned = kind;
    turned.power[DIMENSION_ANGLE] = 0;
    if (kind.power[DIMENSION_ANGLE] == -1 && is_force_times_length(turned))
        return (struct kind)TORQUE;
    return kind;
}

static bool is_kept_by_plain_factor(struct kind kind)
{
    return kind.flavour == FLAVOUR_TORQUE || kind.flavour == FLAVOUR_ENERGY;
}

/* Torque times what has one power of angle in it: the angle goes into the energy. */
static struct kind torque_turned(struct kind torque, struct kind turning)
{
    struct kind product = powers_combined(torque, turning, 1);
    product.power[DIMENSION_ANGLE] = 0;
    if (is_force_times_length(product))
        return (struct kind)ENERGY;
    return product;
}

/* A force at the end of an arm is a torque when it is turned (TM 9-8000, paragraph 2-31). */
static bool turns(struct kind kind)
{
    return kind.flavour == FLAVOUR_TORQUE ||
           (kind.flavour == FLAVOUR_NONE && is_force_times_length(kind));
}

struct kind kind_product(struct kind a, struct kind b)
{
    if (is_kept_by_plain_factor(a) && kind_is_plain(b))
        return a;
    if (is_kept_by_plain_factor(b) && kind_is_plain(a))
        return b;
    if (turns(a) && b.power[DIMENSION_ANGLE] == 1)
        return torque_turned(a, b);
    if (turns(b) && a.power[DIMENSION_ANGLE] == 1)
        return torque_turned(b, a);
    return with_torque_recognised(powers_combined(a, b, 1));
}

struct kind kind_quotient(struct kind a, struct kind b)
{
    if (is_kept_by_plain_factor(a) && kind_is_plain(b))
        return a;
    struct kind quotient = powers_combined(a, b, -1);
    bool is_work = a.flavour == FLAVOUR_ENERGY || kind_equal(a, (struct kind)POWER);
    if (is_work && b.flavour == FLAVOUR_TORQUE) {
        quotient.power[DIMENSION_ANGLE] = 1;
        return quotient;
    }
    return with_torque_recognised(quotient);
}

bool kind_root(struct kind kind, struct kind *root)
{
    struct kind found = {0};
    for (int i = 0; i < DIMENSION_COUNT; i++) {
        if (kind.power[i] % 2 != 0)
            return false;
        found.power[i] = (signed char)(kind.power[i] / 2);
    }
    *root = found;
    return true;
}

/* --- names --------------------------------------------------------------------------------- */

/* The factors whose power has this sign, joined: "kg·m2". */
static struct text factors(struct arena *arena, struct kind kind, int sign)
{
    /* in the order in which people write them */
    static const struct {
        enum base_dimension dimension;
        const char *symbol;
    } order[] = {{DIMENSION_MASS, "kg"},       {DIMENSION_LENGTH, "m"},
                 {DIMENSION_TIME, "s"},        {DIMENSION_CURRENT, "A"},
                 {DIMENSION_TEMPERATURE, "K"}, {DIMENSION_ANGLE, "rad"}};
    struct text parts[DIMENSION_COUNT];
    size_t count = 0;
    for (size_t i = 0; i < DIMENSION_COUNT; i++) {
        int power = sign * kind.power[order[i].dimension];
        struct text symbol = text_from(order[i].symbol);
        if (power == 1)
            parts[count++] = symbol;
        else if (power > 1)
            parts[count++] = text_fill(arena, "{}{}", symbol, text_number(arena, power));
    }
    return text_join(arena, parts, count, TEXT("·"));
}

struct text kind_name(struct arena *arena, struct kind kind)
{
    for (size_t i = 0; i < sizeof named / sizeof *named; i++)
        if (kind_equal(named[i].kind, kind))
            return named[i].name;
    struct text above = factors(arena, kind, 1);
    struct text below = factors(arena, kind, -1);
    if (below.length == 0)
        return above;
    return text_fill(arena, "{}/{}", above.length > 0 ? above : TEXT("1"), below);
}

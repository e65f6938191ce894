#ifndef MEASURE_KINDS_H
#define MEASURE_KINDS_H
/*
 * kinds.h - the kinds that have a name in the trade.
 *
 * Purpose   The table of units and the names of kinds are made from one list.
 * Owns      which powers of length, mass, time, current, temperature and angle
 *           make up each kind.
 * May call  nothing.
 */
#include "measure/quantity.h"

/* An initialiser for struct kind: powers of length, mass, time, current, temperature, angle, in the
 * order of enum base_dimension, then the flavour. */
/* clang-format off */
#define PLAIN        {{ 0,  0,  0,  0,  0,  0}, FLAVOUR_NONE}
#define PRESSURE     {{-1,  1, -2,  0,  0,  0}, FLAVOUR_NONE}
#define LEAK         {{-1,  1, -3,  0,  0,  0}, FLAVOUR_NONE}
#define TORQUE       {{ 2,  1, -2,  0,  0,  0}, FLAVOUR_TORQUE}
#define ENERGY       {{ 2,  1, -2,  0,  0,  0}, FLAVOUR_ENERGY}
#define WORK         {{ 2,  1, -2,  0,  0,  0}, FLAVOUR_NONE}
#define POWER        {{ 2,  1, -3,  0,  0,  0}, FLAVOUR_NONE}
#define FORCE        {{ 1,  1, -2,  0,  0,  0}, FLAVOUR_NONE}
#define STIFFNESS    {{ 0,  1, -2,  0,  0,  0}, FLAVOUR_NONE}
#define LENGTH       {{ 1,  0,  0,  0,  0,  0}, FLAVOUR_NONE}
#define AREA         {{ 2,  0,  0,  0,  0,  0}, FLAVOUR_NONE}
#define VOLUME       {{ 3,  0,  0,  0,  0,  0}, FLAVOUR_NONE}
#define MASS         {{ 0,  1,  0,  0,  0,  0}, FLAVOUR_NONE}
#define DENSITY      {{-3,  1,  0,  0,  0,  0}, FLAVOUR_NONE}
#define TIME         {{ 0,  0,  1,  0,  0,  0}, FLAVOUR_NONE}
#define FREQUENCY    {{ 0,  0, -1,  0,  0,  0}, FLAVOUR_NONE}
#define TEMPERATURE  {{ 0,  0,  0,  0,  1,  0}, FLAVOUR_NONE}
#define POINT        {{ 0,  0,  0,  0,  1,  0}, FLAVOUR_POINT}
#define SPEED        {{ 1,  0, -1,  0,  0,  0}, FLAVOUR_NONE}
#define ACCELERATION {{ 1,  0, -2,  0,  0,  0}, FLAVOUR_NONE}
#define TURN         {{ 0,  0,  0,  0,  0,  1}, FLAVOUR_NONE}
#define ROTATION     {{ 0,  0, -1,  0,  0,  1}, FLAVOUR_NONE}
#define VOLTAGE      {{ 2,  1, -3, -1,  0,  0}, FLAVOUR_NONE}
#define CURRENT      {{ 0,  0,  0,  1,  0,  0}, FLAVOUR_NONE}
#define RESISTANCE   {{ 2,  1, -3, -2,  0,  0}, FLAVOUR_NONE}
#define CHARGE       {{ 0,  0,  1,  1,  0,  0}, FLAVOUR_NONE}
#define ECONOMY      {{-2,  0,  0,  0,  0,  0}, FLAVOUR_NONE}
#define FLOW         {{ 3,  0, -1,  0,  0,  0}, FLAVOUR_NONE}
#define VISCOSITY    {{ 2,  0, -1,  0,  0,  0}, FLAVOUR_NONE}
/* clang-format on */

#endif

#include "language.h"

#include <math.h>

/* U.S. Standard Atmosphere, 1976 (NOAA-S/T 76-1562): its constants, its formula for the layer
 * below 11 km, which it begins at -5 km. */
bool standard_pressure(double altitude, double *pressure, double *slope)
{
    const double gravity = 9.80665;               /* m/s2 */
    const double gas = 8.31432;                   /* J/(mol K), the value of 1976 */
    const double molar_mass = 0.0289644;          /* kg/mol */
    const double earth = 6356766;                 /* m */
    const double temperature = 288.15;            /* K, at sea level */
    const double at_sea_level = 101325;           /* Pa */
    const double lapse = -0.0065;                 /* K/m */
    const double lowest = -5000, highest = 11000; /* m, geopotential */

    double height = earth * altitude / (earth + altitude);
    if (!(height >= lowest && height <= highest))
        return false;
    double ratio = (temperature + lapse * height) / temperature;
    double exponent = gravity * molar_mass / (-lapse * gas);
    *pressure = at_sea_level * pow(ratio, exponent);
    double stretch = earth / (earth + altitude);
    *slope = *pressure * exponent / ratio * lapse / temperature * stretch * stretch;
    return true;
}

/* Halved until it is odd or 2.  Odd: steps of (n - 1) / 2, which has no factor in common with n, so
 * that it visits all.  Then doubled again: each is followed by the one opposite. */
bool star_order(unsigned count, unsigned *order)
{
    if (count == 0 || count > STAR_MAX)
        return false;
    unsigned size = count;
    while (size > 2 && size % 2 == 0)
        size /= 2;
    unsigned step = size <= 2 ? 1 : (size - 1) / 2;
    for (unsigned i = 0; i < size; i++)
        order[i] = i * step % size + 1;
    for (; size < count; size *= 2)
        for (unsigned i = size; i-- > 0;) {
            unsigned *pair = order + 2 * (size_t)i;
            pair[1] = order[i] + size;
            pair[0] = order[i];
        }
    return true;
}

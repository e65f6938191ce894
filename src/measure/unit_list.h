/*
 * unit_list.h - every unit, one line each.
 *
 * UNIT(symbol, kind, numerator, denominator, other spellings)
 *      one of the unit is numerator/denominator of the SI unit, exactly
 * ANGLE(...)   the same, times pi
 * SCALE(symbol, numerator, denominator, offset numerator, offset denominator, other spellings)
 *      a temperature scale: K = value * ratio + offset / 1000
 *
 * The first unit of a kind is the one its values are shown in when nobody asks
 * for another.  No spelling has a space in it, none stands twice, and a
 * spelling that the trade uses for two units is left out: plain `gal` is the US
 * one because the imperial one is always written `imp.gal`, but a `kgm` or a
 * `ton` is whatever the reader is used to.
 *
 * Sources: NIST SP 811 (2008) appendix B for every ratio; the SI brochure (9th
 * edition) for SI units and prefixes.  No include guard: included twice.
 */
/* clang-format off */

/* plain numbers */
UNIT("1",          PLAIN,       1, 1, )
UNIT("%",          PLAIN,       1, 100, )
UNIT("ppm",        PLAIN,       1, 1000000, )

/* pressure; psi = lbf/in2; mercury and water columns are the conventional ones of SP 811 */
UNIT("bar",        PRESSURE,    100000, 1, )
UNIT("Pa",         PRESSURE,    1, 1, )
UNIT("hPa",        PRESSURE,    100, 1, )
UNIT("kPa",        PRESSURE,    1000, 1, )
UNIT("MPa",        PRESSURE,    1000000, 1, AS("N/mm2") AS("N/mm²"))
UNIT("mbar",       PRESSURE,    100, 1, )
UNIT("psi",        PRESSURE,    8896443230521, 1290320000, AS("lbf/in2") AS("lbf/in²") AS("PSI"))
UNIT("kgf/cm²",    PRESSURE,    196133, 2, AS("kgf/cm2") AS("at"))
UNIT("inHg",       PRESSURE,    3386388640341, 1000000000, AS("in.Hg"))
UNIT("mmHg",       PRESSURE,    133322387415, 1000000000, AS("mm.Hg"))
UNIT("inH2O",      PRESSURE,    24908891, 100000, AS("inH₂O") AS("in.H2O"))
UNIT("mmH2O",      PRESSURE,    980665, 100000, AS("mmH₂O") AS("mm.H2O"))
UNIT("atm",        PRESSURE,    101325, 1, )
UNIT("bar/min",    LEAK,        5000, 3, )
UNIT("kPa/min",    LEAK,        50, 3, )
UNIT("psi/min",    LEAK,        8896443230521, 77419200000, )

/* torque; energy over angle, so never interchangeable with J */
UNIT("N·m",        TORQUE,      1, 1, AS("N.m") AS("Nm") AS("N*m") AS("N-m"))
UNIT("cN·m",       TORQUE,      1, 100, AS("cN.m") AS("cNm") AS("cN*m"))
UNIT("kN·m",       TORQUE,      1000, 1, AS("kN.m") AS("kNm") AS("kN*m"))
UNIT("lbf·ft",     TORQUE,      13558179483314004, 10000000000000000, AS("lbf.ft") AS("lbf-ft") AS("lb·ft") AS("lb.ft") AS("lb-ft") AS("ft·lbf") AS("ft.lbf") AS("ft-lbf") AS("ft·lb") AS("ft.lb") AS("ft-lb"))
UNIT("lbf·in",     TORQUE,      1129848290276167, 10000000000000000, AS("lbf.in") AS("lbf-in") AS("lb·in") AS("lb.in") AS("lb-in") AS("in·lbf") AS("in.lbf") AS("in-lbf") AS("in·lb") AS("in.lb") AS("in-lb"))
UNIT("kgf·m",      TORQUE,      980665, 100000, AS("kgf.m") AS("kgf-m") AS("kgf*m"))
UNIT("kgf·cm",     TORQUE,      980665, 10000000, AS("kgf.cm") AS("kgf-cm") AS("kgf*cm"))

/* energy; calories and BTU have several definitions and are left out */
UNIT("J",          ENERGY,      1, 1, )
UNIT("kJ",         ENERGY,      1000, 1, )
UNIT("MJ",         ENERGY,      1000000, 1, )
UNIT("Wh",         ENERGY,      3600, 1, AS("W.h") AS("W·h"))
UNIT("kWh",        ENERGY,      3600000, 1, AS("kW.h") AS("kW·h"))

/* power; hp is 550 ft.lbf/s, PS is 75 kgf.m/s */
UNIT("kW",         POWER,       1000, 1, )
UNIT("W",          POWER,       1, 1, )
UNIT("MW",         POWER,       1000000, 1, )
UNIT("hp",         POWER,       74569987158227022, 100000000000000, AS("HP"))
UNIT("PS",         POWER,       73549875, 100000, )

/* force and stiffness */
UNIT("N",          FORCE,       1, 1, )
UNIT("daN",        FORCE,       10, 1, )
UNIT("kN",         FORCE,       1000, 1, )
UNIT("lbf",        FORCE,       44482216152605, 10000000000000, )
UNIT("kgf",        FORCE,       980665, 100000, )
UNIT("N/mm",       STIFFNESS,   1000, 1, )
UNIT("lbf/in",     STIFFNESS,   44482216152605, 254000000000, AS("lb/in"))

/* length; thou and mil are one unit */
UNIT("mm",         LENGTH,      1, 1000, )
UNIT("µm",         LENGTH,      1, 1000000, AS("um") AS("μm"))
UNIT("cm",         LENGTH,      1, 100, )
UNIT("m",          LENGTH,      1, 1, )
UNIT("km",         LENGTH,      1000, 1, )
UNIT("in",         LENGTH,      254, 10000, AS("inch") AS("inches"))
UNIT("thou",       LENGTH,      254, 10000000, AS("mil"))
UNIT("ft",         LENGTH,      3048, 10000, AS("foot") AS("feet"))
UNIT("yd",         LENGTH,      9144, 10000, AS("yard") AS("yards"))
UNIT("mile",       LENGTH,      1609344, 1000, AS("miles") AS("mi"))

/* area */
UNIT("mm²",        AREA,        1, 1000000, AS("mm2"))
UNIT("cm²",        AREA,        1, 10000, AS("cm2"))
UNIT("m²",         AREA,        1, 1, AS("m2"))
UNIT("in²",        AREA,        64516, 100000000, AS("in2") AS("sq.in"))

/* volume; gallon = 231 in3, imperial gallon = 4.546 09 L */
UNIT("L",          VOLUME,      1, 1000, AS("l") AS("litre") AS("litres") AS("liter") AS("liters"))
UNIT("mL",         VOLUME,      1, 1000000, AS("ml"))
UNIT("cL",         VOLUME,      1, 100000, AS("cl"))
UNIT("dL",         VOLUME,      1, 10000, AS("dl"))
UNIT("cm³",        VOLUME,      1, 1000000, AS("cm3") AS("cc") AS("ccm"))
UNIT("mm³",        VOLUME,      1, 1000000000, AS("mm3"))
UNIT("m³",         VOLUME,      1, 1, AS("m3"))
UNIT("in³",        VOLUME,      16387064, 1000000000000, AS("in3") AS("cu.in"))
UNIT("ft³",        VOLUME,      28316846592, 1000000000000, AS("ft3") AS("cu.ft"))
UNIT("gal",        VOLUME,      3785411784, 1000000000000, AS("US.gal") AS("gallon") AS("gallons"))
UNIT("qt",         VOLUME,      946352946, 1000000000000, AS("US.qt") AS("quart") AS("quarts"))
UNIT("pt",         VOLUME,      473176473, 1000000000000, AS("US.pt") AS("pint") AS("pints"))
UNIT("fl.oz",      VOLUME,      295735295625, 10000000000000000, AS("floz") AS("US.fl.oz") AS("US.floz"))
UNIT("imp.gal",    VOLUME,      454609, 100000000, )
UNIT("imp.qt",     VOLUME,      11365225, 10000000000, )
UNIT("imp.pt",     VOLUME,      56826125, 100000000000, )
UNIT("imp.fl.oz",  VOLUME,      284130625, 10000000000000, AS("imp.floz"))

/* mass and density */
UNIT("kg",         MASS,        1, 1, )
UNIT("mg",         MASS,        1, 1000000, )
UNIT("g",          MASS,        1, 1000, )
UNIT("t",          MASS,        1000, 1, )
UNIT("lb",         MASS,        45359237, 100000000, AS("lbs"))
UNIT("oz",         MASS,        28349523125, 1000000000000, )
UNIT("kg/L",       DENSITY,     1000, 1, AS("kg/l"))
UNIT("g/cm³",      DENSITY,     1000, 1, AS("g/cm3") AS("g/mL") AS("g/ml"))
UNIT("kg/m³",      DENSITY,     1, 1, AS("kg/m3"))

/* time and frequency */
UNIT("s",          TIME,        1, 1, AS("sec") AS("second") AS("seconds"))
UNIT("ms",         TIME,        1, 1000, )
UNIT("min",        TIME,        60, 1, AS("minute") AS("minutes"))
UNIT("h",          TIME,        3600, 1, AS("hour") AS("hours") AS("hr"))
UNIT("day",        TIME,        86400, 1, AS("days") AS("d"))
UNIT("Hz",         FREQUENCY,   1, 1, AS("1/s"))
UNIT("kHz",        FREQUENCY,   1000, 1, )

/* temperature: points on a scale, then differences */
SCALE("°C",        1, 1, 273150, 1, AS("degC") AS("℃"))
SCALE("°F",        5, 9, 2298350, 9, AS("degF") AS("℉"))
UNIT("K",          TEMPERATURE, 1, 1, AS("K"))
UNIT("Δ°C",        TEMPERATURE, 1, 1, AS("ΔC") AS("deltaC"))
UNIT("Δ°F",        TEMPERATURE, 5, 9, AS("ΔF") AS("deltaF"))

/* speed and acceleration */
UNIT("km/h",       SPEED,       5, 18, )
UNIT("m/s",        SPEED,       1, 1, )
UNIT("ft/s",       SPEED,       3048, 10000, )
UNIT("mph",        SPEED,       44704, 100000, AS("mile/h"))
UNIT("m/s²",       ACCELERATION, 1, 1, AS("m/s2"))

/* angle and rotation: one revolution is 2 pi rad */
ANGLE("°",         TURN,        1, 180, AS("deg"))
UNIT("rad",        TURN,        1, 1, )
ANGLE("rev",       TURN,        2, 1, AS("turn") AS("turns"))
ANGLE("rpm",       ROTATION,    1, 30, AS("r/min") AS("rev/min") AS("1/min") AS("RPM"))
ANGLE("rev/s",     ROTATION,    2, 1, AS("r/s"))
ANGLE("°/s",       ROTATION,    1, 180, AS("deg/s"))
UNIT("rad/s",      ROTATION,    1, 1, )

/* electricity */
UNIT("V",          VOLTAGE,     1, 1, )
UNIT("mV",         VOLTAGE,     1, 1000, )
UNIT("kV",         VOLTAGE,     1000, 1, )
UNIT("A",          CURRENT,     1, 1, )
UNIT("mA",         CURRENT,     1, 1000, )
UNIT("Ω",          RESISTANCE,  1, 1, AS("Ω") AS("ohm") AS("ohms"))
UNIT("mΩ",         RESISTANCE,  1, 1000, AS("mΩ") AS("mohm"))
UNIT("kΩ",         RESISTANCE,  1000, 1, AS("kΩ") AS("kohm"))
UNIT("MΩ",         RESISTANCE,  1000000, 1, AS("MΩ") AS("Mohm"))
UNIT("Ah",         CHARGE,      3600, 1, AS("A.h") AS("A·h"))
UNIT("mAh",        CHARGE,      18, 5, AS("mA.h") AS("mA·h"))

/* volume per distance and distance per volume */
UNIT("L/100km",    AREA,        1, 100000000, AS("l/100km"))
UNIT("L/1000km",   AREA,        1, 1000000000, AS("l/1000km"))
UNIT("mL/1000km",  AREA,        1, 1000000000000, AS("ml/1000km"))
UNIT("qt/1000mile", AREA,       946352946, 1609344000000000000, AS("qt/1000mi"))
UNIT("km/L",       ECONOMY,     1000000, 1, AS("km/l"))
UNIT("US.mpg",     ECONOMY,     1609344000000000, 3785411784, AS("mpg"))
UNIT("imp.mpg",    ECONOMY,     160934400000, 454609, )

/* flow and kinematic viscosity */
UNIT("L/min",      FLOW,        1, 60000, AS("l/min"))
UNIT("L/h",        FLOW,        1, 3600000, AS("l/h"))
UNIT("mL/min",     FLOW,        1, 60000000, AS("ml/min"))
UNIT("m³/h",       FLOW,        1, 3600, AS("m3/h"))
UNIT("ft³/h",      FLOW,        28316846592, 3600000000000000, AS("ft3/h"))
UNIT("ft³/min",    FLOW,        28316846592, 60000000000000, AS("ft3/min") AS("cfm"))
UNIT("gal/min",    FLOW,        3785411784, 60000000000000, AS("gpm"))
UNIT("imp.gal/min", FLOW,       454609, 6000000000, )
UNIT("mm²/s",      VISCOSITY,   1, 1000000, AS("mm2/s") AS("cSt"))
/* clang-format on */

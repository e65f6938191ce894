#include "base/check.h"
#include "measure/quantity.h"

#include <math.h>
#include <stdio.h>
#include <unistd.h>

/* The tables are read from the folder the tests are started in, the top of the project. */
#define UNITS_CSV       "tests/measure/units.csv"
#define UNIT_CHECKS_CSV "tests/measure/unit_checks.csv"
#define TORQUE_CSV      "tests/measure/torque_tm_f1.csv"

static const struct unit *unit(const char *spelling)
{
    const struct unit *found = unit_find(text_from(spelling));
    if (found == NULL)
        fail_msg("no unit %s", spelling);
    return found;
}

static double converted(double value, const char *from, const char *to)
{
    double result = NAN;
    if (!unit_convert(unit(from), unit(to), value, &result))
        fail_msg("%s does not convert to %s", from, to);
    return result;
}

/* --- tables of published values --------------------------------------------------------- */

enum { MOST_FIELDS = 10 };

struct table {
    FILE *file;
    char line[1024];
    char *field[MOST_FIELDS];
    int row;
};

static struct table table_open(const char *path)
{
    struct table table = {.file = fopen(path, "r")};
    if (table.file == NULL)
        fail_msg("cannot open %s", path);
    return table;
}

/* The next row that is no comment; commas split fields, the last keeps its own. */
static bool table_next(struct table *table, int field_count)
{
    while (fgets(table->line, sizeof table->line, table->file) != NULL) {
        if (table->line[0] == '#')
            continue;
        table->line[strcspn(table->line, "\n")] = '\0';
        char *at = table->line;
        for (int i = 0; i < field_count; i++) {
            table->field[i] = at;
            char *comma = i + 1 < field_count ? strchr(at, ',') : NULL;
            if (comma != NULL)
                *comma = '\0';
            at = comma != NULL ? comma + 1 : at + strlen(at);
        }
        if (table->row++ > 0) /* the first names the columns */
            return true;
    }
    fclose(table->file);
    return false;
}

/* The tables spell units as their sources do. */
static const char *as_spelt_here(const char *unit_of_table)
{
    static const char *const spellings[][2] = {
        {"gal(US)", "gal"},         {"qt(US liquid)", "qt"},
        {"pt(US liquid)", "pt"},    {"fl oz(US)", "fl.oz"},
        {"gal(imp)", "imp.gal"},    {"qt(imp)", "imp.qt"},
        {"pt(imp)", "imp.pt"},      {"fl oz(imp)", "imp.fl.oz"},
        {"hp(550 ft.lbf/s)", "hp"}, {"hp(metric)", "PS"},
        {"mpg(US)", "mpg"},         {"mpg(imp)", "imp.mpg"},
        {"delta degF", "deltaF"},   {"delta K", "K"},
    };
    for (size_t i = 0; i < sizeof spellings / sizeof *spellings; i++)
        if (strcmp(spellings[i][0], unit_of_table) == 0)
            return spellings[i][1];
    return unit_of_table;
}

/* Half a unit of the last digit of 6.894757E+03, with room for a figure that ends in 5. */
static double half_of_last_digit(const char *printed)
{
    const char *point = strchr(printed, '.');
    const char *power = strchr(printed, 'E');
    int decimals = point == NULL ? 0 : (int)strspn(point + 1, "0123456789");
    int exponent = power == NULL ? 0 : (int)strtol(power + 1, NULL, 10);
    return 0.5001 * pow(10, exponent - decimals);
}

static void check_factor(char *const *field)
{
    const char *from = as_spelt_here(field[0]);
    const char *to = as_spelt_here(field[1]);
    double got = converted(1, from, to);
    double full = strtod(field[5], NULL);
    bool is_exact = strcmp(field[4], "yes") == 0;
    assert_near(got, full, is_exact ? 0 : full * 3e-15, field[0]);
    if (field[3][0] != '\0')
        assert_near(got, strtod(field[3], NULL), half_of_last_digit(field[3]), field[0]);
    assert_near(converted(got, to, from), 1, 1e-15, field[0]);
    assert_near(unit_step_to_si(unit(from), 1) / unit_step_to_si(unit(to), 1), full,
                full * 3e-15, field[0]);
}

/* SP 811, B.9: both rules for degrees Fahrenheit, and that for degrees Celsius. */
static void check_affine(char *const *field)
{
    for (int i = -400; i <= 4000; i += 7) {
        double x = i / 10.0;
        double got;
        double expected;
        if (strcmp(field[3], "(x-32)/1.8") == 0) {
            got = converted(x, "degF", "degC");
            expected = (x - 32) / 1.8;
        } else if (strcmp(field[3], "(x+459.67)/1.8") == 0) {
            got = unit_to_si(unit("degF"), x);
            expected = (x + 459.67) / 1.8;
        } else {
            assert_string_equal(field[3], "x+273.15");
            got = unit_to_si(unit("degC"), x);
            expected = x + 273.15;
        }
        assert_near(got, expected, 2.5e-13, field[3]); /* two steps of a double there */
    }
}

static void check_reciprocal(char *const *field)
{
    const char *from = as_spelt_here(field[0]);
    double product = strtod(strcmp(from, "mpg") == 0 ? field[5] : "282.4809363318222", NULL);
    for (double economy = 5; economy < 120; economy += 2.5) {
        double got = converted(economy, from, field[1]);
        assert_near(got, product / economy, 1e-13 * got, field[0]);
        assert_near(converted(got, field[1], from), economy, 1e-13 * economy, field[0]);
    }
    /* SP 811 prints 235.215 */
    if (strcmp(from, "mpg") == 0)
        assert_near(converted(1, from, field[1]), 235.215, 0.0005, field[0]);
}

/* tests/measure/units.csv: NIST SP 811 (2008), appendix B.8 and B.9; its head says how each row
 * was seen. */
static void factors_agree_with_sp_811(void **state)
{
    (void)state;
    struct table table = table_open(UNITS_CSV);
    while (table_next(&table, 8)) {
        if (strcmp(table.field[2], "affine") == 0)
            check_affine(table.field);
        else if (strcmp(table.field[2], "reciprocal") == 0)
            check_reciprocal(table.field);
        else
            check_factor(table.field);
    }
    assert_int_equal(table.row - 1, 39);
}

/* What the source prints is known to be wrong where the row says "; exact VALUE". */
static void check_misprint(double got, const char *printed, const char *exact)
{
    char *end;
    double value = strtod(exact, &end);
    const char *point = memchr(exact, '.', (size_t)(end - exact));
    double half = 0.5001 * pow(10, point == NULL ? 0 : (double)(point + 1 - end));
    assert_near(got, value, half, exact);
    assert_true(fabs(got - strtod(printed, NULL)) > 0.3);
}

/* tests/measure/unit_checks.csv: worked conversions, mostly as printed in the Army manuals named in
 * each row; seven of them are misprints there. */
static void worked_conversions_agree_with_their_sources(void **state)
{
    (void)state;
    struct table table = table_open(UNIT_CHECKS_CSV);
    int misprints = 0;
    while (table_next(&table, 6)) {
        double value = strtod(table.field[0], NULL);
        const char *from = as_spelt_here(table.field[1]);
        const char *to = as_spelt_here(table.field[2]);
        double got =
            strcmp(to, "K") == 0 ? unit_to_si(unit(from), value) : converted(value, from, to);
        const char *exact = strstr(table.field[5], "; exact ");
        if (exact != NULL) {
            check_misprint(got, table.field[3], exact + strlen("; exact "));
            misprints++;
            continue;
        }
        double half = 0.5 * pow(10, -strtod(table.field[4], NULL));
        assert_near(got, strtod(table.field[3], NULL), half * (1 + 1e-9), table.field[5]);
    }
    assert_int_equal(table.row - 1, 25);
    assert_int_equal(misprints, 7);
}

/* tests/measure/torque_tm_f1.csv: TM 9-2320-362-14&P, table F-1, prints each torque in lb-ft and
 * N.m, whole numbers.  Four of its N.m were rounded by another factor. */
static void bolt_torques_agree_with_the_manual(void **state)
{
    (void)state;
    struct table table = table_open(TORQUE_CSV);
    int others = 0;
    while (table_next(&table, 4)) {
        double got = converted(strtod(table.field[2], NULL), "lb-ft", "N.m");
        double printed = strtod(table.field[3], NULL);
        assert_near(got, printed, printed > 400 ? 1.3 : 0.6, table.field[0]);
        others += fabs(got - printed) > 0.5;
    }
    assert_int_equal(table.row - 1, 34);
    assert_int_equal(others, 4);
}

/* --- every unit against GNU units --------------------------------------------------------- */

struct counterpart {
    const char *symbol;
    const char *gnu; /* an expression of GNU units for one of it */
    const char *si;  /* and for the SI unit of its kind */
};

/* GNU units knows no flavours, and takes a revolution as 2 pi. */
static const struct counterpart counterparts[] = {
    {"1", "1", "1"},
    {"%", "percent", "1"},
    {"ppm", "ppm", "1"},
    {"bar", "bar", "Pa"},
    {"Pa", "Pa", "Pa"},
    {"hPa", "hPa", "Pa"},
    {"kPa", "kPa", "Pa"},
    {"MPa", "MPa", "Pa"},
    {"mbar", "mbar", "Pa"},
    {"psi", "psi", "Pa"},
    {"kgf/cm²", "kgf/cm^2", "Pa"},
    {"inHg", "inHg", "Pa"},
    {"mmHg", "mmHg", "Pa"},
    {"inH2O", "inH2O", "Pa"},
    {"mmH2O", "mmH2O", "Pa"},
    {"atm", "atm", "Pa"},
    {"bar/min", "bar/min", "Pa/s"},
    {"kPa/min", "kPa/min", "Pa/s"},
    {"psi/min", "psi/min", "Pa/s"},
    {"N·m", "N m", "N m"},
    {"cN·m", "cN m", "N m"},
    {"kN·m", "kN m", "N m"},
    {"lbf·ft", "lbf ft", "N m"},
    {"lbf·in", "lbf in", "N m"},
    {"kgf·m", "kgf m", "N m"},
    {"kgf·cm", "kgf cm", "N m"},
    {"J", "J", "J"},
    {"kJ", "kJ", "J"},
    {"MJ", "MJ", "J"},
    {"Wh", "W hr", "J"},
    {"kWh", "kW hr", "J"},
    {"kW", "kW", "W"},
    {"W", "W", "W"},
    {"MW", "MW", "W"},
    {"hp", "hp", "W"},
    {"PS", "metrichorsepower", "W"},
    {"N", "N", "N"},
    {"daN", "daN", "N"},
    {"kN", "kN", "N"},
    {"lbf", "lbf", "N"},
    {"kgf", "kgf", "N"},
    {"N/mm", "N/mm", "N/m"},
    {"lbf/in", "lbf/inch", "N/m"},
    {"mm", "mm", "m"},
    {"µm", "um", "m"},
    {"cm", "cm", "m"},
    {"m", "m", "m"},
    {"km", "km", "m"},
    {"in", "inch", "m"},
    {"thou", "thou", "m"},
    {"ft", "ft", "m"},
    {"yd", "yard", "m"},
    {"mile", "mile", "m"},
    {"mm²", "mm^2", "m^2"},
    {"cm²", "cm^2", "m^2"},
    {"m²", "m^2", "m^2"},
    {"in²", "in^2", "m^2"},
    {"L", "liter", "m^3"},
    {"mL", "ml", "m^3"},
    {"cL", "cl", "m^3"},
    {"dL", "dl", "m^3"},
    {"cm³", "cm^3", "m^3"},
    {"mm³", "mm^3", "m^3"},
    {"m³", "m^3", "m^3"},
    {"in³", "in^3", "m^3"},
    {"ft³", "ft^3", "m^3"},
    {"gal", "usgallon", "m^3"},
    {"qt", "usquart", "m^3"},
    {"pt", "uspint", "m^3"},
    {"fl.oz", "usfloz", "m^3"},
    {"imp.gal", "brgallon", "m^3"},
    {"imp.qt", "brquart", "m^3"},
    {"imp.pt", "brpint", "m^3"},
    {"imp.fl.oz", "brfloz", "m^3"},
    {"kg", "kg", "kg"},
    {"mg", "mg", "kg"},
    {"g", "g", "kg"},
    {"t", "tonne", "kg"},
    {"lb", "lb", "kg"},
    {"oz", "oz", "kg"},
    {"kg/L", "kg/liter", "kg/m^3"},
    {"g/cm³", "g/cm^3", "kg/m^3"},
    {"kg/m³", "kg/m^3", "kg/m^3"},
    {"s", "s", "s"},
    {"ms", "ms", "s"},
    {"min", "min", "s"},
    {"h", "hour", "s"},
    {"day", "day", "s"},
    {"Hz", "Hz", "1/s"},
    {"kHz", "kHz", "1/s"},
    {"°C", "tempC(1)", "K"},
    {"°F", "tempF(1)", "K"},
    {"K", "K", "K"},
    {"Δ°C", "degC", "K"},
    {"Δ°F", "degF", "K"},
    {"km/h", "km/hour", "m/s"},
    {"m/s", "m/s", "m/s"},
    {"ft/s", "ft/s", "m/s"},
    {"mph", "mph", "m/s"},
    {"m/s²", "m/s^2", "m/s^2"},
    {"°", "degree", "radian"},
    {"rad", "radian", "radian"},
    {"rev", "revolution", "radian"},
    {"rpm", "rpm", "radian/s"},
    {"rev/s", "revolution/s", "radian/s"},
    {"°/s", "degree/s", "radian/s"},
    {"rad/s", "radian/s", "radian/s"},
    {"V", "V", "V"},
    {"mV", "mV", "V"},
    {"kV", "kV", "V"},
    {"A", "A", "A"},
    {"mA", "mA", "A"},
    {"Ω", "ohm", "ohm"},
    {"mΩ", "milliohm", "ohm"},
    {"kΩ", "kiloohm", "ohm"},
    {"MΩ", "megaohm", "ohm"},
    {"Ah", "A hour", "C"},
    {"mAh", "mA hour", "C"},
    {"L/100km", "liter/100 km", "m^2"},
    {"L/1000km", "liter/1000 km", "m^2"},
    {"mL/1000km", "ml/1000 km", "m^2"},
    {"qt/1000mile", "usquart/1000 mile", "m^2"},
    {"km/L", "km/liter", "m/m^3"},
    {"US.mpg", "mile/usgallon", "m/m^3"},
    {"imp.mpg", "mile/brgallon", "m/m^3"},
    {"L/min", "liter/min", "m^3/s"},
    {"L/h", "liter/hour", "m^3/s"},
    {"mL/min", "ml/min", "m^3/s"},
    {"m³/h", "m^3/hour", "m^3/s"},
    {"ft³/h", "ft^3/hour", "m^3/s"},
    {"ft³/min", "ft^3/min", "m^3/s"},
    {"gal/min", "usgallon/min", "m^3/s"},
    {"imp.gal/min", "brgallon/min", "m^3/s"},
    {"mm²/s", "mm^2/s", "m^2/s"},
};

enum { COUNTERPARTS = sizeof counterparts / sizeof *counterparts };

static const struct counterpart *counterpart_of(const struct unit *of)
{
    for (size_t i = 0; i < COUNTERPARTS; i++)
        if (text_equal(text_from(counterparts[i].symbol), of->symbol))
            return &counterparts[i];
    fail_msg("%s is not checked against GNU units", of->symbol.bytes);
    return NULL;
}

/* GNU units 2.22 or newer, asked for all units in one run: pairs of lines in, one line out. */
static void every_unit_agrees_with_gnu_units(void **state)
{
    (void)state;
    char questions[] = "/tmp/units_XXXXXX";
    int descriptor = mkstemp(questions);
    assert_true(descriptor >= 0);
    FILE *file = fdopen(descriptor, "w");
    assert_non_null(file);
    const struct unit *each;
    const struct text *spellings;
    size_t count;
    size_t unit_count = 0;
    for (; unit_at(unit_count, &each, &spellings, &count); unit_count++) {
        const struct counterpart *counterpart = counterpart_of(each);
        fprintf(file, "%s\n%s\n", counterpart->gnu, counterpart->si);
    }
    fclose(file);
    assert_int_equal(unit_count, COUNTERPARTS);

    char command[100];
    snprintf(command, sizeof command, "units -t -q -o %%.17g < %s", questions);
    FILE *answers = popen(command, "r");
    assert_non_null(answers);
    size_t answered = 0;
    char line[200];
    while (fgets(line, sizeof line, answers) != NULL &&
           unit_at(answered, &each, &spellings, &count)) {
        char *end;
        double expected = strtod(line, &end);
        if (end == line)
            fail_msg("GNU units on %s: %s", each->symbol.bytes, line);
        assert_near(unit_to_si(each, 1), expected, fabs(expected) * 1e-15, each->symbol.bytes);
        answered++;
    }
    int status = pclose(answers);
    unlink(questions);
    if (answered != unit_count)
        fail_msg("GNU units answered %zu of %zu, status %d: is the package units installed?",
                 answered, unit_count, status);
}

/* --- the table itself --------------------------------------------------------------------- */

static void every_spelling_finds_its_unit_and_no_other(void **state)
{
    (void)state;
    const struct unit *each;
    const struct text *spellings;
    size_t count;
    for (size_t i = 0; unit_at(i, &each, &spellings, &count); i++) {
        assert_true(text_equal(spellings[0], each->symbol));
        for (size_t j = 0; j < count; j++) {
            if (unit_find(spellings[j]) != each)
                fail_msg("%s is spelled twice", spellings[j].bytes);
            assert_int_equal(text_find(spellings[j], TEXT(" ")), spellings[j].length);
            assert_int_equal(text_check(spellings[j], NULL), TEXT_SOUND);
        }
        assert_true(each->numerator > 0 && each->denominator > 0);
        assert_true(each->thousandths_offset_denominator > 0);
    }
    assert_ptr_equal(unit_find(TEXT("1")), &unit_one);
    assert_null(unit_find(TEXT("")));
    assert_null(unit_find(TEXT("BAR")));
    assert_null(unit_find(TEXT("kgm")));
}

static void trade_spellings_are_known(void **state)
{
    (void)state;
    static const char *const same[][8] = {
        {"N.m", "N·m", "Nm", "N*m"},
        {"lbf.ft", "ft-lb", "ft.lb", "ft-lbf", "lb-ft", "lbf-ft", "lb.ft"},
        {"lbf.in", "in-lb", "in.lb", "in-lbf"},
        {"kgf/cm2", "kgf/cm²", "at"},
        {"um", "\u00B5m", "\u03BCm"},
        {"in", "inch"},
        {"thou", "mil"},
        {"mile", "mi"},
        {"cm3", "cc", "cm³"},
        {"in3", "cu.in"},
        {"fl.oz", "floz"},
        {"s", "sec"},
        {"h", "hour"},
        {"day", "d"},
        {"°C", "degC"},
        {"°F", "degF"},
        {"Δ°C", "deltaC"},
        {"rpm", "r/min", "1/min"},
        {"deg", "°"},
        {"rev", "turn"},
        {"ohm", "\u03A9", "\u2126"},
        {"qt/1000mile", "qt/1000mi"},
    };
    for (size_t i = 0; i < sizeof same / sizeof *same; i++)
        for (size_t j = 1; j < 8 && same[i][j] != NULL; j++)
            assert_ptr_equal(unit(same[i][j]), unit(same[i][0]));
}

static void a_misspelt_unit_gets_a_suggestion(void **state)
{
    (void)state;
    assert_text(unit_nearest(TEXT("barr")), "bar");
    assert_text(unit_nearest(TEXT("Bar")), "bar");
    assert_text(unit_nearest(TEXT("nm")), "Nm");
    assert_text(unit_nearest(TEXT("L/100Km")), "L/100km");
    assert_text(unit_nearest(TEXT("furlong")), "");
    assert_text(unit_nearest(TEXT("C")), "degC");
    assert_text(unit_nearest(TEXT("c")), "degC");
    assert_text(unit_nearest(TEXT("f")), "degF");
    assert_text(unit_nearest(TEXT("F")), "degF");
    assert_text(unit_nearest(TEXT("f")), "degF");
}

static void each_kind_is_shown_in_one_unit(void **state)
{
    (void)state;
    assert_ptr_equal(unit_for(unit("psi")->kind), unit("bar"));
    assert_ptr_equal(unit_for(unit("lbf.ft")->kind), unit("N.m"));
    assert_ptr_equal(unit_for(kind_product(unit("N")->kind, unit("m")->kind)), unit("N.m"));
    assert_ptr_equal(unit_for(unit("Wh")->kind), unit("J"));
    assert_ptr_equal(unit_for(unit("°F")->kind), unit("°C"));
    assert_ptr_equal(unit_for(unit("deltaF")->kind), unit("K"));
    assert_ptr_equal(unit_for(unit("%")->kind), &unit_one);
    assert_null(unit_for(kind_product(unit("N")->kind, unit("kg")->kind)));
}

/* --- from unit to unit -------------------------------------------------------------------- */

static void conversions_that_are_exact_stay_exact(void **state)
{
    (void)state;
    assert_near(converted(1, "ft", "in"), 12, 0, "ft");
    assert_near(converted(1, "in", "mil"), 1000, 0, "in");
    assert_near(converted(3, "gal", "qt"), 12, 0, "gal");
    assert_near(converted(1, "gal", "in3"), 231, 0, "gal"); /* Handbook 44, appendix C */
    assert_near(converted(1, "imp.gal", "imp.floz"), 160, 0, "imp.gal");
    assert_near(converted(1, "lb", "oz"), 16, 0, "lb");
    assert_near(converted(100, "lbf.ft", "lbf.in"), 1200, 0, "lbf.ft");
    assert_near(converted(1, "mile", "ft"), 5280, 0, "mile");
    assert_near(converted(2, "rev", "deg"), 720, 0, "rev");
    assert_near(converted(1, "rad", "deg"), 57.295779513082320877, 0, "rad"); /* 180/pi */
    assert_near(converted(90, "km/h", "m/s"), 25, 0, "km/h");
    assert_near(converted(212, "°F", "°C"), 100, 0, "°F");
    assert_near(converted(-40, "°C", "°F"), -40, 0, "°C");
    assert_near(converted(98.6, "°F", "°C"), 37, 1e-14, "°F");
    assert_near(converted(18, "deltaF", "K"), 10, 0, "deltaF");
    assert_near(converted(60, "rpm", "rev/s"), 1, 0, "rpm");
    assert_near(converted(0.1, "bar", "kPa"), 10, 0, "bar");
    assert_near(converted(100, "L/1000km", "L/100km"), 10, 0, "L/1000km");
    assert_near(converted(10, "km/L", "L/100km"), 10, 0, "km/L");
}

static void what_differs_in_kind_does_not_convert(void **state)
{
    (void)state;
    static const char *const pairs[][2] = {
        {"bar", "N"}, {"N.m", "J"},  {"°C", "K"},  {"K", "°F"},
        {"rev", "1"}, {"rpm", "Hz"}, {"1", "bar"}, {"bar", "1"},
    };
    double result = 7;
    for (size_t i = 0; i < sizeof pairs / sizeof *pairs; i++)
        assert_false(unit_convert(unit(pairs[i][0]), unit(pairs[i][1]), 1, &result));
    assert_false(unit_convert(unit("mpg"), unit("L/100km"), 0, &result));
    assert_near(result, 7, 0, "untouched");
}

static void a_step_of_temperature_has_no_offset(void **state)
{
    (void)state;
    assert_near(unit_step_to_si(unit("°F"), 9), 5, 0, "step");
    assert_near(unit_step_from_si(unit("°C"), 5), 5, 0, "step");
    assert_near(unit_to_si(unit("°C"), 0), 273.15, 0, "point");
    assert_near(unit_from_si(unit("°F"), 273.15), 32, 1e-12, "point");
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(factors_agree_with_sp_811),
        cmocka_unit_test(worked_conversions_agree_with_their_sources),
        cmocka_unit_test(bolt_torques_agree_with_the_manual),
        cmocka_unit_test(every_unit_agrees_with_gnu_units),
        cmocka_unit_test(every_spelling_finds_its_unit_and_no_other),
        cmocka_unit_test(trade_spellings_are_known),
        cmocka_unit_test(a_misspelt_unit_gets_a_suggestion),
        cmocka_unit_test(each_kind_is_shown_in_one_unit),
        cmocka_unit_test(conversions_that_are_exact_stay_exact),
        cmocka_unit_test(what_differs_in_kind_does_not_convert),
        cmocka_unit_test(a_step_of_temperature_has_no_offset),
    };
    return cmocka_run_group_tests_name("measure/units", tests, NULL, NULL);
}

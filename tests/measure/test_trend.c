#include "measure/columns.h"
#include "measure/trend.h"
#include "measure/uncertainty.h"

#include <math.h>

/* How many digits agree, at most 15. */
static void assert_digits(double got, double certified, double digits, const char *what)
{
    assert_near(got, certified, fabs(certified) * pow(10, -digits), what);
}

/* NIST StRD, linear regression, Norris (lower level of difficulty). */
static void norris_comes_out_as_certified(void **state)
{
    (void)state;
    struct columns norris;
    struct line line;
    columns_read(&norris, "tests/measure/strd/norris.csv", "y,x");
    assert_int_equal(norris.rows, 36);
    assert_true(line_fit(&line, norris.of[1], norris.of[0], norris.rows));
    assert_digits(line_at(&line, 0), -0.262323073774029, 12, "B0");
    assert_digits(line.slope, 1.00211681802045, 14, "B1");
    assert_digits(line_uncertainty(&line, 0), 0.232818234301152, 13, "sd of B0");
    assert_digits(line.slope_uncertainty, 0.429796848199937E-03, 13, "sd of B1");
    assert_digits(line.deviation, 0.884796396144373, 13, "residual sd");
    assert_near(line.freedom, 34, 0, "degrees of freedom");
}

/* NIST StRD, linear regression, NoInt1: a line through the origin. */
static void noint1_comes_out_as_certified(void **state)
{
    (void)state;
    struct columns noint;
    struct line line;
    columns_read(&noint, "tests/measure/strd/noint1.csv", "y,x");
    assert_int_equal(noint.rows, 11);
    assert_true(line_fit_through_origin(&line, noint.of[1], noint.of[0], noint.rows));
    assert_digits(line.slope, 2.07438016528926, 14, "B1");
    assert_digits(line.slope_uncertainty, 0.165289256198347E-01, 13, "sd of B1");
    assert_digits(line.deviation, 3.56753034006338, 13, "residual sd");
    assert_near(line.freedom, 10, 0, "degrees of freedom");
    assert_near(line_at(&line, 0), 0, 0, "at the origin");
    assert_near(line_uncertainty(&line, 0), 0, 0, "at the origin");
}

/* JCGM 100:2008, H.3: corrections b of a thermometer against its temperature, about 20 °C. */
static void the_thermometer_of_jcgm_100_h_3(void **state)
{
    (void)state;
    static const double t[] = {21.521, 22.012, 22.512, 23.003, 23.507, 23.999,
                               24.513, 25.002, 25.503, 26.010, 26.511};
    static const double b[] = {-0.171, -0.169, -0.166, -0.159, -0.164, -0.165,
                               -0.156, -0.157, -0.159, -0.161, -0.160};
    struct line line;
    assert_true(line_fit(&line, t, b, 11));
    assert_near(line_at(&line, 20), -0.1712, 0.00005, "y1");
    assert_near(line_uncertainty(&line, 20), 0.0029, 0.00005, "u(y1)");
    assert_near(line.slope, 0.00218, 0.000005, "y2");
    assert_near(line.slope_uncertainty, 0.00067, 0.000005, "u(y2)");
    assert_near(line.deviation, 0.0035, 0.00005, "s");
    assert_near(line_at(&line, 30), -0.1494, 0.00005, "b(30)");
    assert_near(line_uncertainty(&line, 30), 0.0041, 0.00005, "u(b(30))");
    /* r(y1, y2) = -0.930: at the middle of the points the two do not hang together, at 20 °C they do. */
    double r = -(line.at_middle - 20) * line.slope_uncertainty / line_uncertainty(&line, 20);
    assert_near(r, -0.930, 0.0005, "r");
}

static void a_large_year_costs_no_digits(void **state)
{
    (void)state;
    const double years[] = {2021, 2022, 2023, 2024, 2025}, at[] = {0, 1, 2, 3, 4},
                 y[] = {11.9, 11.8, 11.6, 11.7, 11.4};
    struct line far, near;
    assert_true(line_fit(&far, years, y, 5));
    assert_true(line_fit(&near, at, y, 5));
    assert_digits(far.slope, near.slope, 14, "slope");
    assert_digits(far.slope_uncertainty, near.slope_uncertainty, 14, "its uncertainty");
    assert_digits(line_at(&far, 2026), line_at(&near, 5), 14, "next year");
    assert_true(line_next_uncertainty(&far, 2026) > line_uncertainty(&far, 2026));
    assert_digits(line_next_uncertainty(&far, 2026),
                  far.deviation * sqrt(1 + 1.0 / 5 + 9.0 / 10), 14, "of a sixth point");
}

/* The same where the sum of a thousand large values has no room for their last digits. */
static void a_large_sum_costs_no_digits(void **state)
{
    (void)state;
    enum { COUNT = 1000 };
    static double x[COUNT], y[COUNT];
    struct line line;
    for (size_t i = 0; i < COUNT; i++) {
        x[i] = (double)i;
        y[i] = 1e15 + (i % 2 == 0 ? 3 : 1);
    }
    assert_true(line_fit(&line, x, y, COUNT));
    assert_near(line.middle, 1e15 + 2, 0, "its height in the middle");
    /* by hand: of y, +1 and -1 in turns, the products with x sum to -500, squares of x to (n^3 - n)/12 */
    assert_near(line.slope, -500 / ((1e9 - 1000) / 12), 1e-12, "slope");
}

static void without_a_scatter_there_is_no_line(void **state)
{
    (void)state;
    const double x[] = {1, 2, 2}, y[] = {3, 4, 5}, same[] = {7, 7, 7}, zeros[] = {0, 0};
    struct line line;
    assert_false(line_fit(&line, x, y, 2));
    assert_false(line_fit(&line, same, y, 3));
    assert_true(line_fit(&line, x, y, 3));
    assert_false(line_fit_through_origin(&line, x, y, 1));
    assert_false(line_fit_through_origin(&line, zeros, y, 2));
    assert_true(line_fit_through_origin(&line, x, y, 2));
}

/* NIST/SEMATECH e-Handbook 6.3.2.2: limits three deviations about the mean. */
static void the_moving_range_of_the_e_handbook(void **state)
{
    (void)state;
    const double values[] = {49.6, 47.6, 49.9, 51.3, 47.8, 51.2, 52.6, 52.4, 53.6, 52.1};
    double deviation = moving_range_deviation(values, 10);
    assert_near(deviation * 1.128, 1.8778, 0.00005, "mean moving range");
    assert_near(50.81 + 3 * deviation, 55.8041, 0.00005, "upper limit");
    assert_near(50.81 - 3 * deviation, 45.8159, 0.00005, "lower limit");
}

/* NIST/SEMATECH e-Handbook 6.3.2.4. */
static void the_running_average_of_the_e_handbook(void **state)
{
    (void)state;
    const double values[] = {52.0, 47.0, 53.0, 49.3, 50.1, 47.0, 51.0, 50.1, 51.2, 50.5,
                             49.6, 47.6, 49.9, 51.3, 47.8, 51.2, 52.6, 52.4, 53.6, 52.1};
    const double printed[] = {50.60, 49.52, 50.56, 50.18, 50.16, 49.21, 49.75,
                              49.85, 50.26, 50.33, 50.11, 49.36, 49.52, 50.05,
                              49.38, 49.92, 50.73, 51.23, 51.94, 51.99};
    double average = 50;
    for (size_t i = 0; i < sizeof values / sizeof *values; i++) {
        average = running_average_next(average, values[i], 0.3);
        assert_near(average, printed[i], 0.0051, "running average");
    }
    double limit = running_average_limit(2.0539, 0.3, INFINITY);
    assert_near(50 + limit, 52.5884, 0.00005, "upper limit");
    assert_near(50 - limit, 47.4115, 0.0001, "lower limit"); /* cut, not rounded, in print */
}

static void of_one_value_the_running_average_scatters_by_its_weight(void **state)
{
    (void)state;
    assert_near(running_average_limit(2, 0.3, 1), 3 * 2 * 0.3, 1e-14, "after one");
    assert_near(running_average_limit(2, 1, 7), 6, 1e-14, "the newest alone");
    assert_true(running_average_limit(2, 0.3, 3) < running_average_limit(2, 0.3, INFINITY));
}

/* Pressures in psi over kilometres, or in bar over miles: every figure of the line is scaled, the order
 * of the points is none of its business. */
static void units_and_order_do_not_matter(void **state)
{
    (void)state;
    enum { COUNT = 6 };
    static const double x[] = {0, 1000, 2500, 2600, 4000, 7000};
    static const double y[] = {11.8, 11.9, 11.2, 11.4, 10.9, 10.1};
    static const unsigned order[] = {3, 0, 5, 1, 4, 2};
    const double of_x = 0.621371192, of_y = 14.503773773;
    double there[COUNT], then[COUNT];
    struct line line, origin, again;
    for (size_t i = 0; i < COUNT; i++) {
        there[i] = x[order[i]] * of_x;
        then[i] = y[order[i]] * of_y;
    }
    assert_true(line_fit(&line, x, y, COUNT) && line_fit(&again, there, then, COUNT));
    assert_near(again.slope * of_x / of_y, line.slope, 1e-15, "slope");
    assert_near(again.slope_uncertainty * of_x / of_y, line.slope_uncertainty, 1e-15, "its u");
    assert_near(again.deviation / of_y, line.deviation, 1e-12, "deviation");
    assert_near(line_at(&again, 9000 * of_x) / of_y, line_at(&line, 9000), 1e-12, "height");
    assert_near(line_next_uncertainty(&again, 9000 * of_x) / of_y,
                line_next_uncertainty(&line, 9000), 1e-12, "of one more");
    assert_true(line_fit_through_origin(&origin, x, y, COUNT) &&
                line_fit_through_origin(&again, there, then, COUNT));
    assert_near(again.slope * of_x / of_y, origin.slope, 1e-15, "slope through 0");
    assert_near(again.freedom, origin.freedom, 0, "freedom");
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(norris_comes_out_as_certified),
        cmocka_unit_test(noint1_comes_out_as_certified),
        cmocka_unit_test(the_thermometer_of_jcgm_100_h_3),
        cmocka_unit_test(a_large_year_costs_no_digits),
        cmocka_unit_test(a_large_sum_costs_no_digits),
        cmocka_unit_test(without_a_scatter_there_is_no_line),
        cmocka_unit_test(the_moving_range_of_the_e_handbook),
        cmocka_unit_test(the_running_average_of_the_e_handbook),
        cmocka_unit_test(of_one_value_the_running_average_scatters_by_its_weight),
        cmocka_unit_test(units_and_order_do_not_matter),
    };
    return cmocka_run_group_tests_name("measure/trend", tests, NULL, NULL);
}

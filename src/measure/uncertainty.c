#include "measure/uncertainty.h"

#include <math.h>

#include <gsl/gsl_cdf.h>

static size_t term_count(const struct gradient *gradient)
{
    return gradient == NULL ? 0 : gradient->count;
}

static struct gradient *gradient_new(struct arena *arena, size_t count)
{
    size_t bytes = sizeof(struct gradient) + count * sizeof(struct error_term);
    return arena_allocate(arena, 1, bytes, alignof(struct gradient));
}

const struct gradient *gradient_of(struct arena *arena, const struct error_term *terms,
                                   size_t count)
{
    struct gradient *gradient = gradient_new(arena, count);
    for (size_t i = 0; i < count; i++)
        if (terms[i].slope != 0)
            gradient->terms[gradient->count++] = terms[i];
    return gradient->count > 0 ? gradient : NULL;
}

const struct gradient *gradient_combine(struct arena *arena, const struct gradient *a,
                                        double slope_a, const struct gradient *b,
                                        double slope_b)
{
    size_t count_a = term_count(a);
    size_t count_b = term_count(b);
    if (count_a + count_b == 0)
        return NULL;
    struct gradient *sum = gradient_new(arena, count_a + count_b);
    size_t i = 0;
    size_t j = 0;
    while (i < count_a || j < count_b) {
        bool takes_a =
            j == count_b || (i < count_a && a->terms[i].source <= b->terms[j].source);
        bool takes_b =
            i == count_a || (j < count_b && b->terms[j].source <= a->terms[i].source);
        struct error_term term = takes_a ? a->terms[i] : b->terms[j];
        term.slope = 0;
        if (takes_a)
            term.slope += slope_a * a->terms[i++].slope;
        if (takes_b)
            term.slope += slope_b * b->terms[j++].slope;
        if (term.slope != 0)
            sum->terms[sum->count++] = term;
    }
    return sum->count > 0 ? sum : NULL;
}

const struct gradient *gradient_of_origin(struct arena *arena, const struct gradient *gradient,
                                          enum error_origin origin)
{
    if (gradient == NULL)
        return NULL;
    struct gradient *chosen = gradient_new(arena, gradient->count);
    for (size_t i = 0; i < gradient->count; i++)
        if (gradient->terms[i].origin == origin)
            chosen->terms[chosen->count++] = gradient->terms[i];
    return chosen->count > 0 ? chosen : NULL;
}

double rectangular_uncertainty(double half_width)
{
    return fabs(half_width) / sqrt(3.0);
}

/* --- a scatter known from repeats ----------------------------------------------- */

/* Two passes, corrected for the rounding of the mean (Chan, Golub, LeVeque 1983, eq. 1.7). */
void scatter_add(struct scatter *scatter, const double *repeats, size_t count)
{
    if (count < 2)
        return;
    double sum = 0, squares = 0, rests = 0;
    for (size_t i = 0; i < count; i++)
        sum += repeats[i];
    double mean = sum / (double)count;
    for (size_t i = 0; i < count; i++) {
        squares += (repeats[i] - mean) * (repeats[i] - mean);
        rests += repeats[i] - mean;
    }
    scatter->squares += fmax(squares - rests * rests / (double)count, 0);
    scatter->freedom += (double)(count - 1);
}

double scatter_deviation(const struct scatter *scatter)
{
    return scatter->freedom > 0 ? sqrt(scatter->squares / scatter->freedom) : 0;
}

/* --- all sources together --------------------------------------------------------- */

static double largest_slope(const struct gradient *gradient)
{
    double largest = 0;
    for (size_t i = 0; i < term_count(gradient); i++)
        largest = fmax(largest, fabs(gradient->terms[i].slope));
    return largest;
}

/* Of squares relative to the largest, which can neither overflow nor vanish. */
static double relative_squares(const struct gradient *gradient, double largest)
{
    double sum = 0;
    for (size_t i = 0; i < term_count(gradient); i++) {
        double relative = gradient->terms[i].slope / largest;
        sum += relative * relative;
    }
    return sum;
}

double gradient_combined(const struct gradient *gradient)
{
    double largest = largest_slope(gradient);
    return largest == 0 ? 0 : largest * sqrt(relative_squares(gradient, largest));
}

static bool came_before(const struct gradient *gradient, size_t i)
{
    for (size_t before = 0; before < i; before++)
        if (gradient->terms[before].freedom > 0 &&
            gradient->terms[before].pool == gradient->terms[i].pool)
            return true;
    return false;
}

/* The squares of one pool together: the pool of the term at `first`. */
static double pool_squares(const struct gradient *gradient, size_t first, double largest)
{
    double sum = 0;
    for (size_t i = first; i < gradient->count; i++) {
        const struct error_term *term = &gradient->terms[i];
        if (term->freedom > 0 && term->pool == gradient->terms[first].pool)
            sum += term->slope / largest * (term->slope / largest);
    }
    return sum;
}

double gradient_freedom(const struct gradient *gradient)
{
    double largest = largest_slope(gradient);
    double shares = 0;
    if (largest == 0)
        return INFINITY;
    double all = relative_squares(gradient, largest);
    for (size_t i = 0; i < gradient->count; i++) {
        double freedom = gradient->terms[i].freedom;
        if (!(freedom > 0) || came_before(gradient, i))
            continue;
        double share = pool_squares(gradient, i, largest) / all;
        shares += share * share / freedom;
    }
    return shares > 0 ? 1 / shares : INFINITY;
}

double gradient_expanded(const struct gradient *gradient)
{
    const double upper = 0.975; /* 95 % between as much below and above */
    double combined = gradient_combined(gradient);
    return combined > 0 ? combined * student_quantile(upper, gradient_freedom(gradient)) : 0;
}

/* From here on the two differ by less than a millionth, and far beyond gsl's search for the quantile
 * no longer converges, at which it ends the program. */
static bool is_normal(double freedom)
{
    return freedom >= 1e6;
}

double student_below(double t, double freedom)
{
    return is_normal(freedom) ? gsl_cdf_ugaussian_P(t) : gsl_cdf_tdist_P(t, freedom);
}

double student_quantile(double probability, double freedom)
{
    return is_normal(freedom) ? gsl_cdf_ugaussian_Pinv(probability)
                              : gsl_cdf_tdist_Pinv(probability, freedom);
}

/* --- written ------------------------------------------------------------------------ */

enum { DECIMALS_MAX = 15 };

struct rounded uncertainty_rounded(double uncertainty)
{
    enum { CERTAIN = 15 };
    const double too_small = 1.0 / 40;
    char digits[CERTAIN];
    int exponent = 0;
    text_digits(uncertainty, CERTAIN, digits, &exponent);
    double exact = 0;
    for (int i = CERTAIN; i-- > 0;)
        exact = exact / 10 + (digits[i] - '0');
    exact *= 10; /* of 10 or more, below 100 */
    double two = round(exact);
    if (two < exact * (1 - too_small))
        two++;
    struct rounded rounded = {.place = exponent - 2};
    if (two > 99) {
        two = 10;
        rounded.place++;
    }
    rounded.amount =
        rounded.place < 0 ? two / pow(10, -rounded.place) : two * pow(10, rounded.place);
    return rounded;
}

static unsigned decimals_to(int place)
{
    if (place >= 0)
        return 0;
    return place < -DECIMALS_MAX ? DECIMALS_MAX : (unsigned)-place;
}

static struct text with_unit(struct arena *arena, struct text number, const struct unit *unit)
{
    if (text_equal(unit->symbol, unit_one.symbol))
        return number;
    bool is_degree = text_equal(unit->symbol, TEXT("\u00b0"));
    return text_fill(arena, is_degree ? "{}{}" : "{}\u00a0{}", number, unit->symbol);
}

static struct rounded rounded_in(const struct unit *unit, double uncertainty)
{
    return uncertainty_rounded(fabs(unit_step_from_si(unit, uncertainty)));
}

/* The power of ten of the first digit of a value, or of its uncertainty if that is the larger. */
static int first_place(double value, double uncertainty)
{
    char digit;
    int exponent = 0;
    double larger = fmax(fabs(value), uncertainty);
    text_digits(larger, 1, &digit, &exponent);
    return exponent - 1;
}

/* "(1.000 ± 0.100)e-20": with all its zeros it would be nothing, or not to be counted. */
static struct text scaled_text(struct arena *arena, double value, double uncertainty, int power)
{
    long double scale = powl(10, power);
    struct text shown = measured_text(arena, (double)((long double)value / scale),
                                      (double)((long double)uncertainty / scale), &unit_one);
    return text_fill(arena, "{}e{}", shown, text_number(arena, power));
}

struct text measured_text(struct arena *arena, double si, double uncertainty,
                          const struct unit *unit)
{
    double value = unit_from_si(unit, si);
    struct rounded rounded = rounded_in(unit, uncertainty);
    int power = first_place(value, fabs(unit_step_from_si(unit, uncertainty)));
    if (power >= DECIMALS_MAX || (rounded.place < -DECIMALS_MAX && power < 0))
        return with_unit(
            arena, scaled_text(arena, value, fabs(unit_step_from_si(unit, uncertainty)), power),
            unit);
    unsigned decimals = decimals_to(rounded.place);
    if (rounded.place > 0) /* 1234 ± 123 is 1230 ± 120 */
        value = round(value / pow(10, rounded.place)) * pow(10, rounded.place);
    struct text shown = text_fill(
        arena, "({}\u00a0±\u00a0{})", value_text_decimals(arena, value, &unit_one, decimals),
        value_text_decimals(arena, rounded.amount, &unit_one, decimals));
    return with_unit(arena, shown, unit);
}

struct text uncertainty_text(struct arena *arena, double uncertainty, const struct unit *unit)
{
    struct rounded rounded = rounded_in(unit, uncertainty);
    if (rounded.place + 1 >= DECIMALS_MAX || rounded.place < -DECIMALS_MAX)
        return with_unit(arena, value_text(arena, rounded.amount, &unit_one, 2), unit);
    struct text number =
        value_text_decimals(arena, rounded.amount, &unit_one, decimals_to(rounded.place));
    return with_unit(arena, number, unit);
}

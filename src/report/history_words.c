/*
 * history_words.c - does it rise, does it fall, or is it noise?
 */
#include "history_series.h"
#include "job/say.h"
#include "measure/trend.h"
#include "one_gauge.h"

#include <math.h>

enum {
    LINE_FROM = 3,     /* two points always lie on a line */
    EXPECTED_FROM = 4, /* the line through those before the newest */
    CHART_BASE = 8     /* what a chart takes as the usual scatter; see tell_chart */
};

/* --- over what the line is laid ------------------------------------------------------------------- */

struct axis {
    const double *at; /* of each sample, in steps of `per` */
    struct text per;  /* "a year", "per 10 000 km" */
    struct text over; /* "the date", "the distance" */
    bool is_any;      /* false: all in one place */
};

/* A power of ten. */
static struct text step_number(struct arena *arena, double number)
{
    long long whole = llround(number);
    if (number < 1)
        return value_text_decimals(arena, number, &unit_one, (unsigned)lround(-log10(number)));
    if (whole < 10000)
        return text_number(arena, whole);
    struct text thousands = text_number(arena, whole / 1000);
    char rest[3];
    for (int i = 2; i >= 0; i--, whole /= 10)
        rest[i] = (char)('0' + whole % 10);
    return text_fill(arena, "{}\u00a0{}", thousands,
                     text_copy(arena, (struct text){rest, sizeof rest}));
}

/* Said per a round number that the jobs really span, so that nothing is drawn out far beyond them. */
static double round_step(double span)
{
    return pow(10.0, floor(log10(span * 2.0)));
}

static struct axis axis_of_counter(const struct series *series)
{
    const struct unit *unit = series->samples[series->count - 1].counter_unit;
    double first = unit_from_si(unit, series->samples[0].counter);
    double span = unit_from_si(unit, series->samples[series->count - 1].counter) - first;
    double step = fmin(round_step(span), 10000.0);
    double *at = arena_array(series->arena, double, series->count);
    for (size_t i = 0; i < series->count; i++)
        at[i] = (unit_from_si(unit, series->samples[i].counter) - first) / step;
    bool is_time = kind_equal(unit->kind, unit_find(TEXT("h"))->kind);
    return (struct axis){.at = at,
                         .per = text_fill(series->arena, "per {}\u00a0{}",
                                          step_number(series->arena, step), unit->symbol),
                         .over = is_time ? TEXT("the hours") : TEXT("the distance"),
                         .is_any = true};
}

static struct axis axis_of_date(const struct series *series)
{
    const double day = 24.0 * 60.0 * 60.0 * 1000.0,
                 year = 365.2425 * day; /* of the calendar, on average */
    long long first = series->samples[0].when, last = first;
    for (size_t i = 1; i < series->count; i++) {
        first = series->samples[i].when < first ? series->samples[i].when : first;
        last = series->samples[i].when > last ? series->samples[i].when : last;
    }
    double span = (double)(last - first);
    double step = span >= year / 2.0 ? year : span >= 15.0 * day ? 30.0 * day : day;
    double *at = arena_array(series->arena, double, series->count);
    for (size_t i = 0; i < series->count; i++)
        at[i] = (double)(series->samples[i].when - first) / step;
    return (struct axis){.at = at,
                         .per = step > 30.0 * day ? TEXT("a year")
                                : step > day      ? TEXT("in 30 days")
                                                  : TEXT("a day"),
                         .over = TEXT("the date"),
                         .is_any = span >= 2.0 * day};
}

/* --- the numbers of one position -------------------------------------------------------------------- */

struct points {
    const struct series *series;
    const struct axis *axis;
    double *at, *values; /* SI */
    size_t *samples;     /* which job each is of */
    size_t count;
    size_t position;
    struct text where; /* "Cylinder 3"; empty without positions */
};

static struct points points_of(const struct series *series, const struct axis *axis,
                               size_t position)
{
    struct arena *arena = series->arena;
    struct points points = {.series = series,
                            .axis = axis,
                            .position = position,
                            .where = say_capital(arena, series->positions[position]),
                            .at = arena_array(arena, double, series->count),
                            .values = arena_array(arena, double, series->count),
                            .samples = arena_array(arena, size_t, series->count)};
    for (size_t i = 0; i < series->count; i++) {
        const struct scalar *item = &series->samples[i].items[position];
        if (item->is_missing)
            continue;
        points.at[points.count] = axis->at[i];
        points.values[points.count] = item->number.value;
        points.samples[points.count++] = i;
    }
    return points;
}

static struct text job_name(const struct points *points, size_t i)
{
    struct arena *arena = points->series->arena;
    return text_fill(arena, "job {}",
                     text_number(arena, points->series->samples[points->samples[i]].job_id));
}

/* --- what the gauges and the repeats leave open -------------------------------------------------------- */

/* Half the 95 % interval of a sum of the values, each times its weight. */
static double band_of_sum(const struct points *points, const double *weights)
{
    const struct series *series = points->series;
    const struct job **jobs = arena_array(series->arena, const struct job *, series->count);
    for (size_t i = 0; i < series->count; i++)
        jobs[i] = series->samples[i].job;
    struct errors_of_jobs errors = {
        .jobs = jobs, .job_count = series->count, .arena = series->arena};
    const struct gradient *sum = NULL;
    for (size_t i = 0; i < points->count; i++) {
        size_t sample = points->samples[i];
        const struct gradient *own = errors_in(
            &errors, sample, series->samples[sample].items[points->position].number.gradient);
        sum = gradient_combine(series->arena, sum, 1.0, own, weights[i]);
    }
    return gradient_expanded(sum);
}

/* --- the line --------------------------------------------------------------------------------------------- */

/* Half a 95 % interval from the scatter about a line. */
static double band_of_scatter(double uncertainty, double freedom)
{
    return student_quantile(0.975, freedom) * uncertainty;
}

/* How much each of the first `count` values counts in the height of their line at `at`, or, where
 * `is_slope`, in its slope. */
static double *weights_in_line(const struct points *points, const struct line *line,
                               size_t count, double at, bool is_slope)
{
    double *weights = arena_array(points->series->arena, double, points->count);
    double squares = 0.0;
    for (size_t i = 0; i < count; i++)
        squares += (points->at[i] - line->at_middle) * (points->at[i] - line->at_middle);
    for (size_t i = 0; i < count; i++) {
        double in_slope = (points->at[i] - line->at_middle) / squares;
        weights[i] =
            is_slope ? in_slope : 1.0 / (double)count + in_slope * (at - line->at_middle);
    }
    return weights;
}

/* By how much it changes per step of the axis, in SI, and half its 95 % interval: from the scatter, and
 * never less than resolution, repeats and different gauges leave open. */
struct change {
    double slope, band;
    bool is_known;
};

static struct change change_of(const struct points *points)
{
    struct line line;
    if (!line_fit(&line, points->at, points->values, points->count))
        return (struct change){0};
    double *weights = weights_in_line(points, &line, points->count, 0.0, true);
    return (struct change){.slope = line.slope,
                           .band = fmax(band_of_scatter(line.slope_uncertainty, line.freedom),
                                        band_of_sum(points, weights)),
                           .is_known = true};
}

static struct text amount_words(const struct points *points, double amount, double band)
{
    const struct unit *unit = history_step_unit(points->series->unit);
    return band > 0 ? measured_text(points->series->arena, amount, band, unit)
                    : say_number(points->series->arena, (struct measured){amount, NULL}, unit);
}

static struct text change_words(const struct points *points)
{
    struct arena *arena = points->series->arena;
    struct text per = points->axis->per;
    struct change change = change_of(points);
    if (!change.is_known)
        return TEXT("all read in one place, so there is no line.");
    if (fabs(change.slope) > change.band)
        return text_fill(arena, "{} by {} {}, more than the readings scatter.",
                         change.slope < 0 ? TEXT("falls") : TEXT("rises"),
                         amount_words(points, fabs(change.slope), change.band), per);
    if (!(change.band > 0))
        return TEXT("always the same.");
    return text_fill(
        arena, "too close to call, {} {}; a change shows from {} up.",
        amount_words(points, change.slope, change.band), per,
        uncertainty_text(arena, change.band, history_step_unit(points->series->unit)));
}

/* --- the newest ------------------------------------------------------------------------------------------- */

/* Where one more value was to be expected, from the line through all before it. */
static struct text newest_words(const struct points *points)
{
    struct arena *arena = points->series->arena;
    struct line line;
    size_t before = points->count - 1;
    if (points->count < EXPECTED_FROM || !line_fit(&line, points->at, points->values, before))
        return TEXT("");
    double at = points->at[before];
    double *weights = weights_in_line(points, &line, before, at, false);
    weights[before] = -1.0;
    double band = fmax(band_of_scatter(line_next_uncertainty(&line, at), line.freedom),
                       band_of_sum(points, weights));
    double expected = line_at(&line, at);
    struct text words = amount_words(points, expected, band);
    if (band > 0)
        words = measured_text(arena, expected, band, points->series->unit);
    bool is_in_line = fabs(points->values[before] - expected) <= band;
    return text_fill(arena,
                     is_in_line ? " {} is in line with the {} before it: {} was to be expected."
                                : " {} is out of line with the {} before it: {} was to be "
                                  "expected.",
                     say_capital(arena, job_name(points, before)),
                     text_number(arena, (long long)before), words);
}

/* --- the chart ---------------------------------------------------------------------------------------------- */

/* What a value scatters by at least: its own resolution and repeats, without the gauge's accuracy, which
 * is alike in all. */
static double least_scatter(const struct points *points)
{
    size_t sample = points->samples[points->count - 1];
    const struct gradient *gradient =
        points->series->samples[sample].items[points->position].number.gradient;
    double squares = 0.0;
    for (size_t i = 0; gradient != NULL && i < gradient->count; i++)
        if (gradient->terms[i].origin != ERROR_ACCURACY)
            squares += gradient->terms[i].slope * gradient->terms[i].slope;
    return sqrt(squares);
}

/* The running average of those after the first eight (NIST/SEMATECH e-Handbook, 6.3.2.4), whose usual
 * value and scatter the eight give: a standard deviation of eight values is itself known to about a
 * quarter, of four to no better than two fifths. */
static struct text chart_words(const struct points *points)
{
    const double weight = 0.2; /* 0.2 to 0.3 is usual, says 6.3.2.4 */
    struct arena *arena = points->series->arena;
    if (points->count <= CHART_BASE)
        return TEXT("");
    double deviation =
        fmax(moving_range_deviation(points->values, CHART_BASE), least_scatter(points));
    double target = 0.0;
    for (size_t i = 0; i < CHART_BASE; i++)
        target += points->values[i] / CHART_BASE;
    double average = target;
    size_t since = points->count;
    for (size_t i = CHART_BASE; i < points->count; i++) {
        average = running_average_next(average, points->values[i], weight);
        double limit = running_average_limit(deviation, weight, (double)(i - CHART_BASE + 1));
        bool is_outside = fabs(average - target) > limit;
        since = !is_outside ? points->count : since < points->count ? since : i;
    }
    if (since == points->count)
        return TEXT(" The running average since the first eight is within its limits.");
    return text_fill(
        arena, " The running average since the first eight lies {} its limits from {} on.",
        average < target ? TEXT("below") : TEXT("above"), job_name(points, since));
}

/* --- all of it ---------------------------------------------------------------------------------------------- */

static struct text words_of(const struct points *points)
{
    struct arena *arena = points->series->arena;
    struct text words = TEXT("one value.");
    if (points->count == 2)
        words = TEXT("two values; a line needs three.");
    if (points->count >= LINE_FROM)
        words = text_fill(arena, "{}{}{}", change_words(points), newest_words(points),
                          chart_words(points));
    return points->where.length > 0 ? text_fill(arena, "{}: {}", points->where, words)
                                    : say_capital(arena, words);
}

static void tell_how_far(struct blocks *blocks, const struct series *series, size_t most)
{
    if (most == LINE_FROM)
        blocks_paragraph(blocks, TONE_PLAIN,
                         TEXT("Three jobs can show only a very large change."));
    if (most >= EXPECTED_FROM && most <= CHART_BASE)
        blocks_paragraph(blocks, TONE_PLAIN,
                         TEXT("From the ninth job on a running average shows a small lasting "
                              "change sooner; from fewer than eight its limits are known too "
                              "badly."));
    blocks_paragraph(
        blocks, TONE_PLAIN,
        text_fill(
            series->arena,
            "The ± of {} with 95 %, from how the readings scatter about the line; it is "
            "never less than resolution and repeats leave open. The accuracy of a gauge "
            "that by name and calibration date served throughout drops out of it, but not "
            "out of the ± of each value.",
            most < EXPECTED_FROM ? TEXT("a change holds")
                                 : TEXT("a change and of what was to be expected holds")));
    if (series->position_count > 1)
        blocks_paragraph(blocks, TONE_PLAIN,
                         TEXT("Of twenty lines without any change, about one looks like a "
                              "change all the same."));
}

static void tell_few(struct blocks *blocks, const struct series *series)
{
    struct arena *arena = series->arena;
    if (series->count == 1) {
        blocks_paragraph(blocks, TONE_PLAIN,
                         TEXT("Only one job has it: there is nothing yet to compare it with."));
        return;
    }
    blocks_paragraph(
        blocks, TONE_PLAIN,
        text_fill(
            arena,
            "Two jobs have it, and two points always lie on a line. Side by side: banksman "
            "compare {} {}",
            text_number(arena, series->samples[0].job_id),
            text_number(arena, series->samples[1].job_id)));
}

void tell_line(struct blocks *blocks, const struct series *series, bool is_by_date)
{
    struct arena *arena = series->arena;
    if (series->count < LINE_FROM) {
        tell_few(blocks, series);
        return;
    }
    struct axis axis =
        series->has_counters && !is_by_date ? axis_of_counter(series) : axis_of_date(series);
    if (!axis.is_any) {
        blocks_paragraph(blocks, TONE_PLAIN,
                         TEXT("All were read within two days, too short for a line over the "
                              "date."));
        return;
    }
    struct rows rows = rows_begin(arena);
    size_t most = 0;
    for (size_t i = 0; i < series->position_count; i++) {
        struct points points = points_of(series, &axis, i);
        most = points.count > most ? points.count : most;
        if (points.count > 0)
            rows_add(&rows, words_of(&points));
    }
    blocks_list(blocks, text_fill(arena, "A straight line over {}", axis.over), &rows);
    if (most >= LINE_FROM)
        tell_how_far(blocks, series, most);
}

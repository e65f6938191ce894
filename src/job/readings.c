/*
 * readings.c - the value of a reading, from its repeats, with what it is uncertain by.
 */
#include "measure/careful.h"
#include "values.h"

#include <math.h>

/* --- one reading at one position ------------------------------------------------------------- */

/* The repeats that belong together: those of one doing of the step. */
struct group {
    const double *values;
    size_t count;
    bool is_unread;
    struct text text; /* a choice or a text: the last */
};

static bool is_unread(const struct event *event)
{
    return event->meaning.length == 0;
}

/* How many takes from `at` on belong together: the next first repeat begins another group. */
static size_t group_length(const struct job *job, const struct cell *cell, size_t at)
{
    size_t end = at + 1;
    while (end < cell->count && job_event_now(job, cell->takes[end])->repeat > 1)
        end++;
    return end - at;
}

/* Takes the group that begins at `*at` and moves on behind it. */
static struct group take_group(const struct job *job, const struct cell *cell, size_t *at,
                               struct arena *arena)
{
    double *values = arena_array(arena, double, group_length(job, cell, *at));
    struct group group = {.values = values};
    bool is_first = true;
    for (; *at < cell->count; (*at)++, is_first = false) {
        const struct event *event = job_event_now(job, cell->takes[*at]);
        if (event->repeat <= 1 && !is_first)
            break;
        if (is_unread(event))
            group.is_unread = group.count == 0;
        else if (event->has_value)
            values[group.count++] = event->value;
        group.text = event->meaning;
    }
    return group;
}

static struct group whole_cell(const struct job *job, const struct cell *cell,
                               struct arena *arena)
{
    double *values = arena_array(arena, double, cell->count);
    struct group all = {.values = values, .is_unread = true};
    for (size_t i = 0; i < cell->count; i++) {
        const struct event *event = job_event_now(job, cell->takes[i]);
        if (is_unread(event))
            continue;
        all.is_unread = false;
        all.text = event->meaning;
        if (event->has_value)
            values[all.count++] = event->value;
    }
    return all;
}

static struct group last_group(const struct job *job, const struct cell *cell,
                               struct arena *arena)
{
    struct group group = {.is_unread = true};
    for (size_t at = 0; at < cell->count;)
        group = take_group(job, cell, &at, arena);
    return group;
}

static struct group counted_group(const struct job *job, const struct reading *reading,
                                  const struct cell *cell, struct arena *arena)
{
    return reading->field.again == AGAIN_REPEATS ? whole_cell(job, cell, arena)
                                                 : last_group(job, cell, arena);
}

static double median_of(const double *values, size_t count, struct arena *arena)
{
    double *sorted = arena_array(arena, double, count);
    for (size_t i = 0; i < count; i++) {
        size_t at = i;
        for (; at > 0 && sorted[at - 1] > values[i]; at--)
            sorted[at] = sorted[at - 1];
        sorted[at] = values[i];
    }
    return count % 2 == 1 ? sorted[count / 2]
                          : (sorted[count / 2 - 1] + sorted[count / 2]) / 2.0;
}

static double extreme_of(const double *values, size_t count, double sign)
{
    double extreme = values[0];
    for (size_t i = 1; i < count; i++)
        extreme = sign * values[i] > sign * extreme ? values[i] : extreme;
    return extreme;
}

static double group_value(const struct group *group, enum use_of_repeats use,
                          struct arena *arena)
{
    switch (use) {
    case USE_MEAN:
        return careful_mean(group->values, group->count);
    case USE_MEDIAN:
        return median_of(group->values, group->count, arena);
    case USE_HIGHEST:
        return extreme_of(group->values, group->count, 1.0);
    case USE_LOWEST:
        return extreme_of(group->values, group->count, -1.0);
    }
    return 0.0;
}

/* --- what it is uncertain by ------------------------------------------------------------------ */

/* Pooled over all positions with repeats. */
static struct scatter pooled_scatter(const struct job *job, unsigned reading,
                                     struct arena *arena)
{
    const struct reading *about = &job->procedure->readings[reading];
    size_t count = about->index == INDEX_NONE ? 1 : index_size(job, about->index);
    struct scatter scatter = {0};
    struct arena_mark mark = arena_mark(arena);
    for (size_t i = 0; i < count; i++) {
        struct group group =
            counted_group(job, about, &job->cells[job->first_cell[reading] + i], arena);
        scatter_add(&scatter, group.values, group.count);
    }
    arena_rewind(arena, mark); /* of each of 900 additions it is asked again */
    return scatter;
}

/* How much less the value scatters than one repeat does.  The median's factor sqrt(pi/2) holds for
 * many repeats of a normal scatter; the extremes are taken to scatter like one. */
static double scatter_factor(enum use_of_repeats use, size_t count)
{
    switch (use) {
    case USE_MEAN:
        return 1.0 / sqrt((double)count);
    case USE_MEDIAN:
        return (count > 2 ? sqrt(acos(-1.0) / 2.0) : 1.0) / sqrt((double)count);
    case USE_HIGHEST:
    case USE_LOWEST:
        return 1.0;
    }
    return 1.0;
}

double accuracy_half_width(const struct gauge *gauge, const struct accuracy_term *term,
                           double value)
{
    switch (term->form) {
    case ACCURACY_ABSOLUTE:
        return term->amount;
    case ACCURACY_OF_READING:
        return term->amount * unit_step_to_si(gauge->unit, unit_from_si(gauge->unit, value));
    case ACCURACY_OF_FULL_SCALE:
        return term->amount * term->full_scale;
    }
    return 0.0;
}

/* One take of a reading at one position. */
struct take {
    const struct job *job;
    unsigned reading;
    size_t cell;
    bool
        is_shared; /* the error of the gauge with all its readings, as it is; or, to see what that
                       does, with none */
    double value, scatter_factor;
};

const struct gauge *job_source_gauge(const struct job *job, unsigned source)
{
    for (size_t i = 0; i < job->procedure->gauge_count; i++) {
        const struct gauge *gauge = &job->fitted->gauges[i];
        if (source >= job->first_source[i] &&
            source < job->first_source[i] + gauge->accuracy_count)
            return gauge;
    }
    return NULL;
}

/* Signed, as what is a part of the reading turns with it. */
static size_t accuracy_terms(const struct take *take, const struct gauge *gauge,
                             struct error_term *terms)
{
    const struct job *job = take->job;
    unsigned first = job->first_source[job->procedure->readings[take->reading].field.gauge];
    if (!take->is_shared)
        first +=
            job->gauge_sources * (1 + (unsigned)take->cell) + 2 * (unsigned)job->cell_count;
    for (size_t i = 0; i < gauge->accuracy_count; i++) {
        double half_width = accuracy_half_width(gauge, &gauge->accuracy[i], take->value);
        terms[i] = (struct error_term){
            .source = first + (unsigned)i,
            .slope = copysign(rectangular_uncertainty(half_width), half_width),
            .origin = ERROR_ACCURACY};
    }
    return gauge->accuracy_count;
}

/* Sources of error: each gauge's accuracy terms first, shared by all its readings; then one
 * resolution for each cell; then one repeatability for each. */
static const struct gradient *reading_gradient(const struct take *take, struct arena *arena)
{
    const struct job *job = take->job;
    const struct field *field = &job->procedure->readings[take->reading].field;
    const struct gauge *gauge =
        field->gauge == GAUGE_NONE ? NULL : &job->fitted->gauges[field->gauge];
    struct scatter scatter = pooled_scatter(job, take->reading, arena);
    unsigned own = job->gauge_sources + (unsigned)take->cell;
    size_t most = 2 + (gauge == NULL ? 0 : gauge->accuracy_count), count = 0;
    struct error_term *terms = arena_array(arena, struct error_term, most);
    if (gauge != NULL && take->is_shared)
        count += accuracy_terms(take, gauge, terms);
    if (gauge != NULL)
        terms[count++] =
            (struct error_term){.source = own,
                                .slope = rectangular_uncertainty(gauge->resolution / 2.0),
                                .origin = ERROR_RESOLUTION};
    terms[count++] =
        (struct error_term){.source = own + (unsigned)job->cell_count,
                            .slope = scatter_deviation(&scatter) * take->scatter_factor,
                            .origin = ERROR_REPEATABILITY,
                            .freedom = scatter.freedom,
                            .pool = take->reading};
    if (gauge != NULL && !take->is_shared)
        count += accuracy_terms(take, gauge, terms + count);
    return gradient_of(arena, terms, count);
}

/* --- the value of a reading -------------------------------------------------------------------- */

static struct scalar group_scalar(struct take *take, const struct group *group,
                                  struct arena *arena)
{
    const struct reading *about = &take->job->procedure->readings[take->reading];
    if (group->is_unread)
        return scalar_without(about->name);
    if (about->field.form != FIELD_QUANTITY)
        return (struct scalar){.text = group->text};
    if (group->count == 0)
        return scalar_without(about->name);
    take->value = group_value(group, about->field.use, arena);
    take->scatter_factor = scatter_factor(about->field.use, group->count);
    return (struct scalar){.number = {take->value, reading_gradient(take, arena)}};
}

static struct scalar added_up(struct take *take, struct arena *arena)
{
    const struct cell *takes = &take->job->cells[take->cell];
    struct scalar sum = {.number = {0.0, NULL}};
    for (size_t at = 0; at < takes->count;) {
        struct group group = take_group(take->job, takes, &at, arena);
        struct scalar one = group_scalar(take, &group, arena);
        if (one.is_missing)
            return one;
        sum.number.value += one.number.value;
        sum.number.gradient =
            gradient_combine(arena, sum.number.gradient, 1.0, one.number.gradient, 1.0);
    }
    return sum;
}

struct value value_of_reading(const struct job *job, unsigned reading, bool is_shared,
                              struct arena *arena)
{
    const struct reading *about = &job->procedure->readings[reading];
    size_t count = about->index == INDEX_NONE ? 1 : index_size(job, about->index);
    struct value value = {.type = job->procedure->symbols[about->symbol].type,
                          .count = count,
                          .items = arena_array(arena, struct scalar, count)};
    for (size_t i = 0; i < count; i++) {
        struct take take = {.job = job,
                            .reading = reading,
                            .cell = job->first_cell[reading] + i,
                            .is_shared = is_shared};
        if (about->field.again == AGAIN_ADDS) {
            value.items[i] = added_up(&take, arena);
            continue;
        }
        struct group group = counted_group(job, about, &job->cells[take.cell], arena);
        value.items[i] = group_scalar(&take, &group, arena);
    }
    return value;
}

struct value reading_value(const struct job *job, unsigned reading, struct arena *arena)
{
    return value_of_reading(job, reading, true, arena);
}

const double *reading_numbers(const struct job *job, unsigned reading, size_t position,
                              size_t *count, struct arena *arena)
{
    const struct reading *about = &job->procedure->readings[reading];
    size_t cell = job->first_cell[reading] + (about->index == INDEX_NONE ? 0 : position);
    struct group group = counted_group(job, about, &job->cells[cell], arena);
    *count = group.is_unread ? 0 : group.count;
    return group.values;
}

size_t reading_repeats(const struct job *job, unsigned reading, size_t position,
                       struct arena *scratch)
{
    size_t count;
    (void)reading_numbers(job, reading, position, &count, scratch);
    return count;
}

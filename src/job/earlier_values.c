/*
 * earlier_values.c - what jobs before left behind, as values of this one.
 */
#include "values.h"

#include <math.h>

/* Above a job's own sources, below those written with a ±; an index has 64 positions at most. */
enum { EARLIER_SOURCES = 0x20000000, EARLIER_SOURCES_EACH = 64 };

const struct gauge *earlier_gauge(const struct job *job, const struct symbol *symbol)
{
    const struct symbol *then = &job->procedure->symbols[symbol->item];
    int number = then->kind == SYMBOL_READING ? job->procedure->readings[then->item].field.gauge
                                              : GAUGE_NONE;
    return number == GAUGE_NONE ? NULL : &job->fitted->gauges[number];
}

/* A record that does not say what it was uncertain by: never as if it were exact, while there is a gauge
 * to go by; the card says so. */
double uncertainty_by_gauge(const struct gauge *gauge, double value)
{
    if (gauge == NULL)
        return 0.0;
    double resolution = rectangular_uncertainty(gauge->resolution / 2.0);
    double squares = resolution * resolution;
    for (size_t i = 0; i < gauge->accuracy_count; i++) {
        double accuracy =
            rectangular_uncertainty(accuracy_half_width(gauge, &gauge->accuracy[i], value));
        squares += accuracy * accuracy;
    }
    return sqrt(squares);
}

/* What was read then had an error of its own, another than today's: one new source, with what is known of
 * it. */
static const struct gradient *earlier_gradient(const struct job *job,
                                               const struct symbol *symbol, size_t position,
                                               const struct earlier_value *earlier,
                                               struct arena *arena)
{
    unsigned source =
        EARLIER_SOURCES + EARLIER_SOURCES_EACH * symbol->item + (unsigned)position;
    struct error_term term = {
        .source = source,
        .slope = earlier->has_uncertainty
                     ? earlier->uncertainty
                     : uncertainty_by_gauge(earlier_gauge(job, symbol), earlier->si),
        .origin = ERROR_STATED,
        .freedom = earlier->has_uncertainty ? earlier->freedom : 0.0,
        .pool = source};
    return gradient_of(arena, &term, 1);
}

/* An earlier value of one position is named "dry[3]". */
static struct scalar earlier_scalar(const struct job *job, const struct symbol *symbol,
                                    struct text name, size_t position, struct arena *arena)
{
    const struct event *started = job_started(job);
    for (size_t i = 0; started != NULL && i < started->earlier_count; i++) {
        const struct earlier_value *earlier = &started->earlier[i];
        if (!text_equal(earlier->name, name))
            continue;
        if (symbol->type.base == TYPE_NUMBER && earlier->has_number)
            return (struct scalar){
                .number = {earlier->si,
                           earlier_gradient(job, symbol, position, earlier, arena)}};
        if (symbol->type.base == TYPE_TEXT)
            return (struct scalar){.text = earlier->shown};
    }
    return scalar_without(
        text_fill(arena, "earlier.{}", job->procedure->symbols[symbol->item].name));
}

struct value value_of_earlier(const struct job *job, const struct symbol *symbol,
                              struct arena *arena)
{
    struct text name = job->procedure->symbols[symbol->item].name;
    int index = symbol->type.index;
    if (index == INDEX_NONE)
        return value_of_scalar(arena, symbol->type,
                               earlier_scalar(job, symbol, name, 0, arena));
    struct value value = {.type = symbol->type, .count = index_size(job, index)};
    value.items = arena_array(arena, struct scalar, value.count);
    for (size_t i = 0; i < value.count; i++) {
        struct text label = job->fitted->indexes[index].texts[i];
        value.items[i] =
            earlier_scalar(job, symbol, text_fill(arena, "{}[{}]", name, label), i, arena);
    }
    return value;
}

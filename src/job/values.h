#ifndef JOB_VALUES_H
#define JOB_VALUES_H
/*
 * values.h - the parts of working out a value.
 *
 * Purpose   values.c asks readings.c for what was read here and earlier_values.c for what was read
 *           in jobs before.
 * Owns      the numbers of sources of error: a gauge's accuracy, each cell's resolution and
 *           repeatability (readings.c); earlier values (earlier_values.c).
 * May call  everything the module may.
 */
#include "job_state.h"

static inline struct scalar scalar_without(struct text name)
{
    return (struct scalar){.is_missing = true, .missing_name = name};
}

static inline struct value value_of_scalar(struct arena *arena, struct type type,
                                           struct scalar scalar)
{
    struct value value = {.type = type, .count = 1, .items = arena_new(arena, struct scalar)};
    value.items[0] = scalar;
    return value;
}

/* --- readings.c ------------------------------------------------------------------------------ */

/* is_shared: the error of the gauge with all its readings, as it is; or, to see what that does, each
 * reading with an error of its own. */
struct value value_of_reading(const struct job *job, unsigned reading, bool is_shared,
                              struct arena *arena);
/* In SI, a step.  A part of the reading is one of what the gauge shows: of 20 degrees, not of 293
 * kelvin. */
double accuracy_half_width(const struct gauge *gauge, const struct accuracy_term *term,
                           double value);

/* --- earlier_values.c -------------------------------------------------------------------------- */

struct value value_of_earlier(const struct job *job, const struct symbol *symbol,
                              struct arena *arena);

#endif

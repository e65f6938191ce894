#include "job/say.h"
#include "job_state.h"

#include <math.h>

/*
 * A repeat is there to show how far a reading scatters; one typed wrong shows up as scatter and makes a
 * value that nothing can be read from.  So a repeat far from all before it is asked about once.
 *
 * Far is farther than a fifth of what was read before, because workshop readings of one thing seldom
 * differ by so much, and a slip of the finger mostly by more; a temperature, of which a fifth means
 * nothing, by more than 10 K.  Both are common practice.  And far is farther than the gauge explains:
 * two readings of the same thing differ by more than twice the standard uncertainty of their
 * difference in one case of twenty (JCGM 100, G.3).
 */
static const double worth_asking_part = 0.20, worth_asking_kelvin = 10.0;

static double gauge_explains(const struct job *job, const struct field *field, double value,
                             double before)
{
    if (field->gauge == GAUGE_NONE)
        return 0.0;
    const struct gauge *gauge = &job->fitted->gauges[field->gauge];
    return 2.0 * hypot(uncertainty_by_gauge(gauge, value), uncertainty_by_gauge(gauge, before));
}

static double worth_asking(const struct field *field, double before)
{
    return field->unit != NULL && kind_is_point(field->unit->kind)
               ? worth_asking_kelvin
               : worth_asking_part * fabs(before);
}

/* Of nothing, and of what lies as well above 0 as below it, a fifth means nothing. */
static bool is_far(const struct job *job, const struct field *field, double value,
                   double before)
{
    double away = fabs(value - before);
    bool is_point = field->unit != NULL && kind_is_point(field->unit->kind);
    bool is_nothing = before == 0.0 && field->gauge == GAUGE_NONE;
    if (!is_point && (value < 0.0 || before < 0.0 || is_nothing))
        return false;
    return away > worth_asking(field, before) * (1.0 + 1e-9) &&
           away > gauge_explains(job, field, value, before);
}

/* The repeats before this one, newest first: those of this doing of the step, or all. */
static size_t earlier_repeats(const struct job *job, const struct stand *stand,
                              const double **values, struct arena *scratch)
{
    const struct reading *reading = &job->procedure->readings[stand->item];
    size_t at = stand->position == INDEX_NONE ? 0 : (size_t)stand->position;
    const struct cell *cell = &job->cells[job->first_cell[stand->item] + at];
    double *found = arena_array(scratch, double, cell->count);
    size_t count = 0;
    bool is_over = reading->field.again != AGAIN_REPEATS && stand->repeat <= 1;
    for (size_t i = cell->count; i > 0 && !is_over; i--) {
        const struct event *event = job_event_now(job, cell->takes[i - 1]);
        if (event->meaning.length > 0 && event->has_value)
            found[count++] = event->value;
        is_over = reading->field.again != AGAIN_REPEATS && event->repeat <= 1;
    }
    *values = found;
    return count;
}

/* A deviation, which is as plausible below 0 as above it. */
static bool is_deviation(const struct job *job, const struct stand *stand,
                         struct arena *scratch)
{
    const struct field *field = stand->field;
    struct surroundings surroundings =
        surroundings_at(job, &stand->spot, job_time(job, job->last), scratch);
    double low;
    return field->unit != NULL && !kind_is_point(field->unit->kind) &&
           field->between.at_least != NULL &&
           work_out_number(field->between.at_least, &surroundings, &low, NULL, scratch) &&
           low < 0.0;
}

/* What is added up, counted or set is not the same thing read once more. */
static bool can_be_far(const struct job *job, const struct stand *stand, struct arena *scratch)
{
    if (stand->work == NULL || stand->work->step == NULL)
        return false;
    const struct reading *reading = &job->procedure->readings[stand->item];
    return reading->field.form == FIELD_QUANTITY && reading->field.again != AGAIN_ADDS &&
           !reading->field.is_whole && !reading->is_torque &&
           !is_deviation(job, stand, scratch);
}

bool is_far_from_repeats(const struct job *job, const struct stand *stand, double value,
                         struct arena *scratch)
{
    const double *before;
    size_t count =
        can_be_far(job, stand, scratch) ? earlier_repeats(job, stand, &before, scratch) : 0;
    for (size_t i = 0; i < count; i++)
        if (!is_far(job, stand->field, value, before[i]))
            return false;
    return count > 0;
}

struct text far_words(const struct job *job, const struct stand *stand, double value,
                      struct arena *scratch)
{
    const double *before = NULL;
    size_t count = earlier_repeats(job, stand, &before, scratch);
    double nearest = before[0];
    for (size_t i = 1; i < count; i++)
        if (fabs(value - before[i]) < fabs(value - nearest))
            nearest = before[i];
    struct text shown = say_number(scratch, (struct measured){.value = nearest},
                                   fitted_unit(job->fitted, stand->field));
    return text_fill(scratch,
                     count == 1 ? "the {} read here before"
                                : "what was read here before, {} at the nearest",
                     shown);
}

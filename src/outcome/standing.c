#include "standing.h"

#include "base/calendar.h"
#include "job/say.h"

#include <math.h>

/* --- too close to call ---------------------------------------------------------------------- */

/* Does the spread between the positions of a trial stand behind it? */
static bool is_of_a_trial(const struct weighed *weighed)
{
    const struct gradient *gradient = weighed->value.gradient;
    for (size_t i = 0; gradient != NULL && i < gradient->count; i++)
        if (gradient->terms[i].origin == ERROR_REPEATABILITY &&
            gradient->terms[i].pool >= job_fitted(weighed->job)->procedure->reading_count)
            return true;
    return false;
}

/* The fewest repeats behind what scatters in this value; 0 if more would not make it scatter less. */
static unsigned fewest_repeats(const struct weighed *weighed, struct arena *scratch)
{
    const struct job *job = weighed->job;
    const struct gradient *gradient = weighed->value.gradient;
    size_t fewest = 0;
    for (size_t i = 0; gradient != NULL && i < gradient->count; i++) {
        const struct error_term *term = &gradient->terms[i];
        if (term->origin != ERROR_REPEATABILITY)
            continue;
        if (term->pool >= job_fitted(job)->procedure->reading_count)
            return 0; /* the spread between the positions of a trial */
        const struct reading *reading = &job_fitted(job)->procedure->readings[term->pool];
        bool is_averaged = reading->field.use == USE_MEAN || reading->field.use == USE_MEDIAN;
        size_t positions = reading->index == INDEX_NONE ? 1 : index_size(job, reading->index);
        if (!is_averaged || reading->field.again == AGAIN_ADDS)
            return 0;
        for (size_t position = 0; position < positions; position++) {
            size_t repeats = reading_repeats(job, term->pool, position, scratch);
            if (repeats > 0 && (fewest == 0 || repeats < fewest))
                fewest = repeats;
        }
    }
    return (unsigned)fewest;
}

/* The gauge that alone brings accuracy errors into this value; NULL if there are several. */
static const struct gauge *only_gauge(const struct weighed *weighed)
{
    const struct gradient *gradient = weighed->value.gradient;
    const struct gauge *only = NULL;
    for (size_t i = 0; gradient != NULL && i < gradient->count; i++) {
        const struct gauge *gauge =
            gradient->terms[i].origin == ERROR_ACCURACY
                ? job_source_gauge(weighed->job, gradient->terms[i].source)
                : NULL;
        if (gauge != NULL && only != NULL && only != gauge)
            return NULL;
        if (gauge != NULL)
            only = gauge;
    }
    return only;
}

/* Also by a gauge whose accuracy drops out and whose steps stay. */
static bool rests_on_several_gauges(const struct weighed *weighed, struct arena *scratch)
{
    const struct job *job = weighed->job;
    const struct procedure *procedure = job_fitted(job)->procedure;
    bool *bears = arena_array(scratch, bool, procedure->symbol_count);
    mark_rests(job, weighed->expression, bears);
    int only = GAUGE_NONE;
    for (size_t i = 0; i < procedure->reading_count; i++) {
        const struct reading *reading = &procedure->readings[i];
        if (reading->field.gauge == GAUGE_NONE || !bears[reading->symbol])
            continue;
        if (only != GAUGE_NONE && only != reading->field.gauge)
            return true;
        only = reading->field.gauge;
    }
    return false;
}

/* Two digits, downwards: what is asked of a gauge must do. */
static double cut_short(double amount)
{
    double place = pow(10, floor(log10(amount)) - 1);
    return floor(amount / place) * place;
}

static struct text step_in(const struct unit *unit, double amount, struct arena *arena)
{
    struct measured step = {.value = amount};
    bool is_degree = text_equal(unit->symbol, TEXT("\u00b0"));
    return text_fill(arena, is_degree ? "{}{}" : "{}\u00a0{}",
                     say_number(arena, step, &unit_one), unit->symbol);
}

/* "a gauge good to 0.1 bar instead of 0.3 bar" */
static struct text gauge_wanted(const struct weighed *weighed, const struct settling *settling,
                                struct arena *arena)
{
    double part = settling->gauge_error;
    struct text percentage = text_number(arena, (long long)floor(part * 100));
    const struct gauge *gauge = only_gauge(weighed);
    if (settling->wants_finer_scale)
        return text_fill(
            arena,
            rests_on_several_gauges(weighed, arena)
                ? "gauges whose errors and scale steps are at most {}\u00a0% of these"
                : "a gauge whose error and scale steps are at most {}\u00a0% of this one's",
            percentage);
    if (gauge == NULL)
        return text_fill(arena, "gauges with at most {}\u00a0% of the errors of these",
                         percentage);
    if (gauge->accuracy_count != 1)
        return text_fill(arena, "a gauge with at most {}\u00a0% of this one's error",
                         percentage);
    const struct accuracy_term *term = &gauge->accuracy[0];
    const struct unit *percent = unit_find(TEXT("%"));
    bool is_absolute = term->form == ACCURACY_ABSOLUTE;
    const struct unit *unit = is_absolute ? gauge->unit : percent;
    double amount = unit_step_from_si(unit, term->amount);
    const char *sentence = term->form == ACCURACY_OF_FULL_SCALE
                               ? "a gauge good to {} of its full scale instead of {}"
                               : "a gauge good to {} instead of {}";
    return text_fill(arena, sentence, step_in(unit, cut_short(amount * part), arena),
                     step_in(unit, amount, arena));
}

static struct text settled_by(const struct weighed *weighed, const struct settling *settling,
                              unsigned repeats, struct arena *arena)
{
    struct text readings = {0}, gauge = {0};
    if (settling->readings > 0)
        readings =
            text_fill(arena, "{} readings of each instead of {}",
                      text_number(arena, settling->readings), text_number(arena, repeats));
    if (settling->gauge_error > 0)
        gauge = gauge_wanted(weighed, settling, arena);
    if (readings.length > 0 && gauge.length > 0)
        return text_fill(arena, "{}, or {}, would settle it", readings, gauge);
    if (readings.length > 0 || gauge.length > 0)
        return text_fill(arena, "{} would settle it", readings.length > 0 ? readings : gauge);
    return is_of_a_trial(weighed)
               ? TEXT(
                     "only a larger trial could settle it: more treated, more left alone, more "
                     "readings of each")
               : TEXT("neither more readings nor a better gauge alone would settle it");
}

/* 0.9496 is no 95 in 100 where 95 would pass. */
static long chance_in_100(double probability)
{
    const long most = 94, least = 6;
    long chance = lround(probability * 100);
    return chance > most ? most : chance < least ? least : chance;
}

static struct text close_call(const struct weighed *weighed, struct arena *arena)
{
    double probability = conformity_probability(weighed->value, weighed->limits, arena);
    unsigned repeats = fewest_repeats(weighed, arena);
    struct settling settling =
        verdict_settling(weighed->value, weighed->limits, repeats, arena);
    if (settling.gauge_error * 100 < 1)
        settling.gauge_error = 0;
    if (conformity_of(probability) == CONFORMITY_FAIL)
        return text_fill(arena,
                         "It lies within its limits, but they are closer together than ± can "
                         "tell. Should it come out the same again, {}.",
                         settled_by(weighed, &settling, repeats, arena));
    return text_fill(
        arena,
        "The chance that it is within its limit is {} in 100; pass needs 95, fail 5. "
        "Should it come out the same again, {}.",
        text_number(arena, chance_in_100(probability)),
        settled_by(weighed, &settling, repeats, arena));
}

/* --- what the readings share -------------------------------------------------------------------- */

static double apart_uncertainty(const struct weighed *weighed, struct arena *arena)
{
    struct surroundings surroundings = surroundings_apart(weighed->job, arena);
    struct value value = expression_evaluate(weighed->expression, &surroundings, arena);
    size_t position = value.count == 1 ? 0 : weighed->position;
    return gradient_expanded(value.items[position].number.gradient);
}

/* Said where the difference shows: a tenth is nobody's worry. */
static bool tells_shared(const struct weighed *weighed, struct text *note, struct arena *arena)
{
    const double worth_saying = 1.1;
    double together = gradient_expanded(weighed->value.gradient);
    double apart = apart_uncertainty(weighed, arena);
    if (!(apart > together * worth_saying))
        return false;
    *note =
        text_fill(arena, "One gauge, whose error tends to cancel: ±\u00a0{}, not ±\u00a0{}.",
                  together > 0 ? uncertainty_text(arena, together, weighed->unit) : TEXT("0"),
                  uncertainty_text(arena, apart, weighed->unit));
    return true;
}

size_t standing_notes(const struct weighed *weighed, struct text *notes, struct arena *arena)
{
    size_t count = 0;
    if (weighed->is_too_close)
        notes[count++] = close_call(weighed, arena);
    if (tells_shared(weighed, &notes[count], arena))
        count++;
    return count;
}

/* --- what no band shows ------------------------------------------------------------------------- */

/* By symbol: does the number of some result rest on it? */
static const bool *what_bears_on_results(const struct job *job, struct arena *scratch)
{
    const struct procedure *procedure = job_fitted(job)->procedure;
    bool *bears = arena_array(scratch, bool, procedure->symbol_count);
    for (size_t i = 0; i < procedure->result_count; i++) {
        const struct expression *value = procedure->results[i].definition.value;
        if (value->type.base == TYPE_NUMBER)
            mark_rests(job, value, bears);
    }
    return bears;
}

static size_t most_repeats(const struct job *job, unsigned number, struct arena *scratch)
{
    const struct reading *reading = &job_fitted(job)->procedure->readings[number];
    size_t positions = reading->index == INDEX_NONE ? 1 : index_size(job, reading->index);
    size_t most = 0;
    for (size_t position = 0; position < positions; position++) {
        size_t repeats = reading_repeats(job, number, position, scratch);
        most = repeats > most ? repeats : most;
    }
    return most;
}

static bool was_overdue(const struct job *job, const struct gauge *gauge)
{
    const struct event *started = job_started(job);
    return started != NULL && calendar_is_over(gauge->due, started->at.wall, started->zone);
}

struct names {
    struct text *items;
    size_t count;
};

static void add_name(struct names *names, struct text name)
{
    for (size_t i = 0; i < names->count; i++)
        if (text_equal(names->items[i], name))
            return;
    names->items[names->count++] = name;
}

/* Did a job before leave this number without saying what it was uncertain by? */
static bool is_of_unknown_uncertainty(const struct job *job, struct text name,
                                      struct arena *scratch)
{
    size_t events = 0;
    const struct event *started = job_events(job, &events);
    struct text at_position = text_fill(scratch, "{}[", name);
    for (size_t i = 0; events > 0 && i < started->earlier_count; i++) {
        const struct earlier_value *earlier = &started->earlier[i];
        if (earlier->has_number && !earlier->has_uncertainty &&
            (text_equal(earlier->name, name) || text_starts(earlier->name, at_position)))
            return true;
    }
    return false;
}

/* "Uncertainty of earlier values unknown: ..."; what stands in for it is said too. */
static size_t earlier_cautions(const struct job *job, const bool *bears, struct text *said,
                               struct arena *arena)
{
    const struct procedure *procedure = job_fitted(job)->procedure;
    struct names by_gauge = {arena_array(arena, struct text, procedure->symbol_count), 0};
    struct names without = {arena_array(arena, struct text, procedure->symbol_count), 0};
    size_t count = 0;
    for (unsigned i = 0; i < procedure->symbol_count; i++) {
        const struct symbol *symbol = &procedure->symbols[i];
        if (symbol->kind != SYMBOL_EARLIER)
            continue;
        struct text name = procedure->symbols[symbol->item].name;
        if (is_of_unknown_uncertainty(job, name, arena) && bears[i])
            add_name(earlier_gauge(job, symbol) != NULL ? &by_gauge : &without,
                     say_name(arena, name));
    }
    if (by_gauge.count > 0)
        said[count++] = text_fill(
            arena, "Uncertainty of the earlier value unknown, today's gauge taken instead: {}.",
            say_list(arena, by_gauge.items, by_gauge.count));
    if (without.count > 0)
        said[count++] =
            text_fill(arena, "Uncertainty of the earlier value unknown, so not in the ±: {}.",
                      say_list(arena, without.items, without.count));
    return count;
}

size_t standing_cautions(const struct job *job, const struct text **cautions,
                         struct arena *arena)
{
    enum { CAUTIONS = 5 };
    size_t most = job_fitted(job)->procedure->reading_count, count = 0;
    struct names once = {arena_array(arena, struct text, most), 0};
    struct names unknown = {arena_array(arena, struct text, most), 0};
    struct names overdue = {arena_array(arena, struct text, most), 0};
    const bool *bears = what_bears_on_results(job, arena);
    for (unsigned i = 0; i < most; i++) {
        const struct reading *reading = &job_fitted(job)->procedure->readings[i];
        if (reading->field.gauge == GAUGE_NONE || !bears[reading->symbol])
            continue;
        const struct gauge *gauge = &job_fitted(job)->gauges[reading->field.gauge];
        size_t repeats = most_repeats(job, i, arena);
        if (repeats == 1)
            add_name(&once, say_name(arena, reading->name));
        if (repeats > 0 && gauge->accuracy_count == 0)
            add_name(&unknown, say_gauge(arena, gauge));
        if (repeats > 0 && was_overdue(job, gauge))
            add_name(&overdue,
                     text_fill(arena, "{} ({})", say_gauge(arena, gauge), gauge->due));
    }
    struct text *said = arena_array(arena, struct text, CAUTIONS);
    if (overdue.count > 0)
        said[count++] = text_fill(arena, "Calibration was due before this job: {}.",
                                  say_list(arena, overdue.items, overdue.count));
    if (unknown.count > 0)
        said[count++] = text_fill(arena, "Accuracy not given, so not in the ±: {}.",
                                  say_list(arena, unknown.items, unknown.count));
    if (once.count > 0)
        said[count++] =
            text_fill(arena, "Repeatability unknown (one reading), so not in the ±: {}.",
                      say_list(arena, once.items, once.count));
    count += earlier_cautions(job, bears, said + count, arena);
    *cautions = said;
    return count;
}

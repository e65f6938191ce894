/*
 * history_series.c - the values of one reading or result, job by job.
 */
#include "history_series.h"

#include "base/calendar.h"
#include "job/say.h"
#include "one_gauge.h"
#include "telling.h"

/* --- jobs ------------------------------------------------------------------------------------ */

struct text zone_of(const struct job *job)
{
    const struct event *started = job_started(job);
    return started == NULL ? (struct text){0} : started->zone;
}

static long long begun_at(const struct job *job)
{
    const struct event *started = job_started(job);
    return started == NULL ? 0 : started->at.wall;
}

long long read_at(const struct job *job, struct text reading)
{
    size_t count = 0;
    const struct event *events = job_events(job, &count);
    for (size_t i = count; i-- > 0;)
        if (events[i].kind == EVENT_READ &&
            (reading.length == 0 || text_equal(events[i].name, reading)))
            return events[i].at.wall;
    return begun_at(job);
}

const struct history_job *jobs_by_age(const struct history *history, struct arena *arena)
{
    struct history_job *jobs = arena_array(arena, struct history_job, history->job_count);
    for (size_t i = 0; i < history->job_count; i++) {
        size_t at = i;
        for (; at > 0 && begun_at(jobs[at - 1].job) > begun_at(history->jobs[i].job); at--)
            jobs[at] = jobs[at - 1];
        jobs[at] = history->jobs[i];
    }
    return jobs;
}

static bool was_left_open(const struct job *job)
{
    const struct event *ended = job_ended(job);
    return ended != NULL && ended->detail == ENDED_LEFT_OPEN;
}

/* --- odometer and hours ---------------------------------------------------------------------------- */

static bool has_word(struct text name, struct text word)
{
    size_t at = text_find(name, word);
    if (at == name.length)
        return false;
    size_t end = at + word.length;
    bool begins = at == 0 || name.bytes[at - 1] == '_' || name.bytes[at - 1] == '.';
    bool ends = end == name.length || name.bytes[end] == '_';
    return begins && ends;
}

bool is_counter(struct text name, const struct field *field)
{
    if (field->form != FIELD_QUANTITY || field->unit == NULL)
        return false;
    bool is_length = kind_equal(field->unit->kind, unit_find(TEXT("km"))->kind);
    bool is_time = kind_equal(field->unit->kind, unit_find(TEXT("h"))->kind);
    return (is_length && has_word(name, TEXT("odometer"))) ||
           (is_time && has_word(name, TEXT("hours")));
}

static void take_counter(struct sample *sample, unsigned symbol, const struct unit *unit,
                         struct arena *arena)
{
    struct surroundings surroundings = job_surroundings(sample->job, arena);
    struct value value = surroundings.value_of(surroundings.self, symbol, arena);
    if (value.count != 1 || value.type.base != TYPE_NUMBER || value.items[0].is_missing)
        return;
    double counted = value.items[0].number.value;
    bool is_first = sample->counter_unit == NULL;
    if (!is_first && !kind_equal(unit->kind, sample->counter_unit->kind))
        return;
    /* of a start and an end, the end: the machine only ever counts up */
    sample->counter = is_first || counted > sample->counter ? counted : sample->counter;
    sample->counter_unit = unit;
}

static void find_counter(struct sample *sample, struct text subject, struct arena *arena)
{
    const struct procedure *procedure = sample->procedure;
    for (size_t i = 0; i < procedure->input_count; i++) {
        const struct input *input = &procedure->inputs[i];
        if (is_counter(input->name, &input->field))
            take_counter(sample, input->symbol, input->field.unit, arena);
    }
    for (size_t i = 0; i < procedure->reading_count; i++) {
        const struct reading *reading = &procedure->readings[i];
        if (reading->index == INDEX_NONE && !text_equal(reading->name, subject) &&
            is_counter(reading->name, &reading->field))
            take_counter(sample, reading->symbol, reading->field.unit, arena);
    }
}

/* --- with what it was read ------------------------------------------------------------------------- */

struct gauges_found {
    const struct sample *sample;
    const struct gauge **gauges;
    size_t count;
};

static void add_gauge(struct gauges_found *found, const struct field *field)
{
    if (field->form != FIELD_QUANTITY || field->gauge == GAUGE_NONE)
        return;
    const struct gauge *gauge = &job_fitted(found->sample->job)->gauges[field->gauge];
    for (size_t i = 0; i < found->count; i++)
        if (found->gauges[i] == gauge)
            return;
    found->gauges[found->count++] = gauge;
}

/* Seeks nothing, and so comes past every symbol. */
static bool notice_reading(void *self, const struct symbol *symbol)
{
    struct gauges_found *found = self;
    const struct procedure *procedure = found->sample->procedure;
    if (symbol->kind == SYMBOL_READING)
        add_gauge(found, &procedure->readings[symbol->item].field);
    if (symbol->kind == SYMBOL_TRIAL) {
        const struct trial *trial = procedure->trials[symbol->item / TRIAL_VALUES];
        add_gauge(found, &procedure->readings[trial->before].field);
        add_gauge(found, &procedure->readings[trial->after].field);
    }
    return false;
}

static void find_gauges(struct sample *sample, const struct reading *reading,
                        const struct result *result, struct arena *arena)
{
    const struct procedure *procedure = sample->procedure;
    struct gauges_found found = {
        .sample = sample,
        .gauges = arena_array(arena, const struct gauge *, 2 * procedure->reading_count + 2)};
    if (reading != NULL)
        add_gauge(&found, &reading->field);
    if (result != NULL)
        (void)told_rests_on(procedure, result->definition.value, notice_reading, &found);
    struct text *names = arena_array(arena, struct text, found.count + 1);
    size_t name_count = 0;
    for (size_t i = 0; i < found.count; i++) {
        struct text name = gauge_told(found.gauges[i], arena);
        bool is_new = true;
        for (size_t k = 0; k < name_count; k++)
            is_new = is_new && !text_equal(names[k], name);
        if (is_new)
            names[name_count++] = name;
    }
    sample->gauges = found.gauges;
    sample->gauge_count = found.count;
    sample->gauges_told =
        name_count == 0 ? TEXT("no gauge named") : say_list(arena, names, name_count);
}

/* --- values ----------------------------------------------------------------------------------------- */

static bool was_corrected(const struct job *job, struct text reading)
{
    size_t count = 0;
    const struct event *events = job_events(job, &count);
    for (size_t i = 0; i < count; i++) {
        unsigned about = events[i].kind == EVENT_AMENDED ? events[i].amends : 0;
        if (about > 0 && about <= count && events[about - 1].kind == EVENT_READ &&
            text_equal(events[about - 1].name, reading))
            return true;
    }
    return false;
}

static void add_remark(struct sample *sample, struct text remark, struct arena *arena)
{
    sample->remarks = sample->remarks.length == 0
                          ? remark
                          : text_fill(arena, "{}, {}", sample->remarks, remark);
}

/* A value with what it takes to show it. */
struct found_value {
    struct value value;
    const struct unit *unit;
    int index;
    bool is_found;
};

static struct found_value find_reading(struct sample *sample, struct text name,
                                       struct arena *arena)
{
    struct surroundings surroundings = job_surroundings(sample->job, arena);
    for (size_t i = 0; i < sample->procedure->reading_count; i++) {
        const struct reading *reading = &sample->procedure->readings[i];
        if (!text_equal(reading->name, name) || reading->is_torque)
            continue;
        struct found_value found = {
            .value = surroundings.value_of(surroundings.self, reading->symbol, arena),
            .unit = reading->field.form == FIELD_QUANTITY ? reading->field.unit : NULL,
            .index = reading->index};
        found.is_found = value_is_anything(&found.value);
        find_gauges(sample, reading, NULL, arena);
        if (was_corrected(sample->job, name))
            add_remark(sample, TEXT("corrected"), arena);
        return found;
    }
    return (struct found_value){0};
}

static struct found_value find_result(struct sample *sample, struct text name,
                                      struct arena *arena)
{
    struct outcome outcome = outcome_work_out(sample->job, arena);
    for (size_t i = 0; i < outcome.result_count; i++) {
        const struct result_outcome *result = &outcome.results[i];
        if (!text_equal(result->result->definition.name, name))
            continue;
        struct found_value found = {
            .value = result->value, .unit = result->unit, .index = result->value.type.index};
        found.is_found = value_is_anything(&found.value);
        sample->verdict = result->result->has_limit ? result->verdict : VERDICT_NONE;
        sample->limit = result->limit_shown;
        find_gauges(sample, NULL, result->result, arena);
        return found;
    }
    return (struct found_value){0};
}

static struct found_value find_value(struct sample *sample,
                                     const struct history_subject *subject, struct arena *arena)
{
    return subject->is_result ? find_result(sample, subject->name, arena)
                              : find_reading(sample, subject->name, arena);
}

static const struct labels *labels_of(const struct sample *sample, int index)
{
    return index == INDEX_NONE ? NULL : &job_fitted(sample->job)->indexes[index];
}

/* By label: a machine sheet may name its positions in another order one day. */
static const struct scalar *in_order(const struct labels *wanted, const struct labels *labels,
                                     const struct value *value, struct arena *arena)
{
    if (wanted == NULL || labels == NULL)
        return value->items;
    struct scalar *items = arena_array(arena, struct scalar, wanted->count);
    for (size_t i = 0; i < wanted->count; i++) {
        items[i] = (struct scalar){.is_missing = true};
        for (size_t k = 0; k < labels->count && k < value->count; k++)
            if (text_equal(wanted->texts[i], labels->texts[k]))
                items[i] = value->items[k];
    }
    return items;
}

static bool is_of_one_kind(const struct found_value *a, const struct found_value *b)
{
    if (a->value.type.base != b->value.type.base ||
        (a->index == INDEX_NONE) != (b->index == INDEX_NONE))
        return false;
    return a->value.type.base != TYPE_NUMBER ||
           (a->unit != NULL && b->unit != NULL && kind_equal(a->unit->kind, b->unit->kind));
}

/* --- the series --------------------------------------------------------------------------------------- */

static struct sample sample_of(const struct history_job *job,
                               const struct history_subject *subject, struct arena *arena)
{
    struct text reading = subject->is_result ? (struct text){0} : subject->name;
    struct sample sample = {.job = job->job,
                            .procedure = job_fitted(job->job)->procedure,
                            .job_id = job->job_id,
                            .when = read_at(job->job, reading)};
    sample.day = calendar_day_text(arena, sample.when, zone_of(job->job));
    if (was_left_open(job->job))
        add_remark(&sample, TEXT("closed, left open"), arena);
    find_counter(&sample, subject->name, arena);
    return sample;
}

static bool have_counters(const struct sample *samples, size_t count)
{
    for (size_t i = 0; i < count; i++) {
        if (samples[i].counter_unit == NULL)
            return false;
        if (i > 0 &&
            (!kind_equal(samples[i].counter_unit->kind, samples[0].counter_unit->kind) ||
             samples[i].counter < samples[i - 1].counter))
            return false;
    }
    return count > 1 && samples[count - 1].counter > samples[0].counter;
}

static void name_positions(struct series *series, const struct sample *newest, int index)
{
    const struct labels *labels = labels_of(newest, index);
    series->position_count = labels == NULL ? 1 : labels->count;
    struct text *names = arena_array(series->arena, struct text, series->position_count);
    for (size_t i = 0; i < series->position_count; i++)
        names[i] = labels == NULL ? (struct text){0}
                                  : say_position(series->arena, newest->job, index, (int)i);
    series->positions = names;
}

static void leave_out(struct series *series, struct history_left_out *others,
                      const struct sample *sample)
{
    others[series->other_count++] =
        (struct history_left_out){.job_id = sample->job_id,
                                  .procedure = sample->procedure->name,
                                  .why = LEFT_OUT_OTHER_KIND};
}

/* From the newest back: what it is now says what the earlier ones are looked at as. */
struct series series_of(const struct history *history, const struct history_subject *subject,
                        struct arena *arena)
{
    const struct history_job *jobs = jobs_by_age(history, arena);
    size_t count = history->job_count, first = count;
    struct sample *samples = arena_array(arena, struct sample, count);
    struct history_left_out *others = arena_array(arena, struct history_left_out, count);
    struct series series = {
        .history = history, .subject = subject, .others = others, .arena = arena};
    struct found_value newest = {0};
    const struct labels *wanted = NULL;
    for (size_t i = count; i-- > 0;) {
        if (!text_equal(job_fitted(jobs[i].job)->procedure->name, subject->procedure))
            continue;
        struct sample sample = sample_of(&jobs[i], subject, arena);
        struct found_value found = find_value(&sample, subject, arena);
        if (!found.is_found)
            continue;
        if (series.positions == NULL) {
            newest = found;
            wanted = labels_of(&sample, found.index);
            name_positions(&series, &sample, found.index);
        }
        if (!is_of_one_kind(&found, &newest)) {
            leave_out(&series, others, &sample);
            continue;
        }
        sample.items = in_order(wanted, labels_of(&sample, found.index), &found.value, arena);
        samples[--first] = sample;
    }
    series.samples = samples + first;
    series.count = count - first;
    series.type = newest.value.type;
    series.unit = newest.value.type.base == TYPE_NUMBER ? newest.unit : NULL;
    series.has_counters = have_counters(series.samples, series.count);
    return series;
}

const struct unit *history_step_unit(const struct unit *unit)
{
    return kind_is_point(unit->kind) ? unit_for(kind_difference(unit->kind)) : unit;
}

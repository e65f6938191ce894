/*
 * history_list.c - what can be looked at over the years.
 */
#include "base/calendar.h"
#include "history_series.h"
#include "job/say.h"

struct growing {
    struct history_subject *items;
    size_t count, capacity;
    struct arena *arena;
};

/* One job's value of something. */
struct sighting {
    const struct job *job;
    struct text name;
    const struct unit *unit;
    bool is_result;
};

static struct history_subject *subject_for(struct growing *subjects,
                                           const struct sighting *sighting)
{
    struct text procedure = job_fitted(sighting->job)->procedure->name;
    for (size_t i = 0; i < subjects->count; i++)
        if (subjects->items[i].is_result == sighting->is_result &&
            text_equal(subjects->items[i].name, sighting->name) &&
            text_equal(subjects->items[i].procedure, procedure))
            return &subjects->items[i];
    if (subjects->count == subjects->capacity) {
        size_t capacity = subjects->capacity == 0 ? 32 : subjects->capacity * 2;
        struct history_subject *larger =
            arena_array(subjects->arena, struct history_subject, capacity);
        if (subjects->count > 0)
            memcpy(larger, subjects->items, subjects->count * sizeof *larger);
        subjects->items = larger;
        subjects->capacity = capacity;
    }
    struct history_subject *subject = &subjects->items[subjects->count++];
    *subject = (struct history_subject){
        .procedure = procedure, .name = sighting->name, .is_result = sighting->is_result};
    return subject;
}

static void note(struct growing *subjects, const struct sighting *sighting)
{
    struct history_subject *subject = subject_for(subjects, sighting);
    struct text reading = sighting->is_result ? (struct text){0} : sighting->name;
    struct text day = calendar_day_text(subjects->arena, read_at(sighting->job, reading),
                                        zone_of(sighting->job));
    if (subject->job_count++ == 0)
        subject->first = day;
    subject->last = day;
    subject->title = job_fitted(sighting->job)->procedure->title;
    subject->unit = sighting->unit;
}

static void note_all_of(struct growing *subjects, const struct job *job)
{
    struct arena *arena = subjects->arena;
    const struct procedure *procedure = job_fitted(job)->procedure;
    struct surroundings surroundings = job_surroundings(job, arena);
    for (size_t i = 0; i < procedure->reading_count; i++) {
        const struct reading *reading = &procedure->readings[i];
        if (reading->is_torque)
            continue;
        struct value value = surroundings.value_of(surroundings.self, reading->symbol, arena);
        struct sighting sighting = {
            job, reading->name,
            reading->field.form == FIELD_QUANTITY ? reading->field.unit : NULL, false};
        if (value_is_anything(&value))
            note(subjects, &sighting);
    }
    struct outcome outcome = outcome_work_out(job, arena);
    for (size_t i = 0; i < outcome.result_count; i++) {
        const struct result_outcome *result = &outcome.results[i];
        struct sighting sighting = {job, result->result->definition.name, result->unit, true};
        if (value_is_anything(&result->value))
            note(subjects, &sighting);
    }
}

/* Stable, so that in each procedure the order of its file stays. */
static bool stands_before(const struct history_subject *a, const struct history_subject *b)
{
    int order = text_compare(a->procedure, b->procedure);
    return order != 0 ? order < 0 : !a->is_result && b->is_result;
}

size_t history_subjects(const struct history *history, const struct history_subject **subjects,
                        struct arena *arena)
{
    struct growing found = {.arena = arena};
    const struct history_job *jobs = jobs_by_age(history, arena);
    for (size_t i = 0; i < history->job_count; i++)
        note_all_of(&found, jobs[i].job);
    struct history_subject *sorted = arena_array(arena, struct history_subject, found.count);
    for (size_t i = 0; i < found.count; i++) {
        size_t at = i;
        for (; at > 0 && stands_before(&found.items[i], &sorted[at - 1]); at--)
            sorted[at] = sorted[at - 1];
        sorted[at] = found.items[i];
    }
    *subjects = sorted;
    return found.count;
}

/* --- the list ------------------------------------------------------------------------------------ */

static struct text unit_words(const struct history_subject *subject)
{
    if (subject->unit == NULL)
        return TEXT("words");
    return subject->unit == &unit_one ? TEXT("number") : subject->unit->symbol;
}

static void list_procedure(struct blocks *blocks, const struct history_subject *subjects,
                           size_t count, struct arena *arena)
{
    struct rows rows = rows_begin(arena);
    rows_add(&rows, TEXT("Name"), TEXT("Is a"), TEXT("Jobs"), TEXT("First"), TEXT("Last"),
             TEXT("Unit"));
    for (size_t i = 0; i < count; i++)
        rows_add(&rows, subjects[i].name,
                 subjects[i].is_result ? TEXT("result") : TEXT("reading"),
                 text_number(arena, (long long)subjects[i].job_count), subjects[i].first,
                 subjects[i].last, unit_words(&subjects[i]));
    blocks_table(blocks, text_fill(arena, "{} ({})", subjects[0].title, subjects[0].procedure),
                 &rows);
}

static bool is_shared(const struct history_subject *subjects, size_t count, size_t which)
{
    for (size_t i = 0; i < count; i++)
        if (i != which && text_equal(subjects[i].name, subjects[which].name))
            return true;
    return false;
}

/* A number that was read most often has most to show. */
static size_t example_of(const struct history_subject *subjects, size_t count)
{
    size_t best = 0;
    for (size_t i = 1; i < count; i++)
        if (subjects[i].unit != NULL &&
            (subjects[best].unit == NULL || subjects[i].job_count > subjects[best].job_count))
            best = i;
    return best;
}

static void tell_how(struct blocks *blocks, const struct history *history,
                     const struct history_subject *subjects, size_t count)
{
    struct arena *arena = blocks->arena;
    const struct history_subject *example = &subjects[example_of(subjects, count)];
    struct text name = is_shared(subjects, count, (size_t)(example - subjects))
                           ? text_fill(arena, "{}.{}", example->procedure, example->name)
                           : example->name;
    struct text option = history->is_of_rehearsals ? TEXT(" --rehearsals") : TEXT("");
    blocks_paragraph(blocks, TONE_PLAIN,
                     text_fill(arena,
                               "One of them over the years, for example: banksman history {} "
                               "{}{}",
                               history->machine, name, option));
    for (size_t i = 0; i < count; i++)
        if (is_shared(subjects, count, i)) {
            blocks_paragraph(
                blocks, TONE_PLAIN,
                text_fill(arena,
                          "A name that two procedures have is typed with its procedure: {}.{}",
                          subjects[i].procedure, subjects[i].name));
            return;
        }
}

struct card history_overview(const struct history *history, struct arena *arena)
{
    struct blocks blocks = blocks_begin(arena);
    const struct history_subject *subjects;
    size_t count = history_subjects(history, &subjects, arena);
    if (history->is_of_rehearsals)
        blocks_paragraph(&blocks, TONE_NOTICE, history_of_rehearsals());
    if (count == 0)
        blocks_paragraph(&blocks, TONE_PLAIN, TEXT("No value is in the record yet."));
    for (size_t from = 0, to; from < count; from = to) {
        for (to = from + 1;
             to < count && text_equal(subjects[to].procedure, subjects[from].procedure);)
            to++;
        list_procedure(&blocks, subjects + from, to - from, arena);
    }
    if (count > 0)
        tell_how(&blocks, history, subjects, count);
    tell_jobs_left_out(&blocks, history->left_out, history->left_out_count);
    struct text machine =
        history->job_count == 0
            ? history->machine
            : text_fill(arena, "{} ({})", job_fitted(history->jobs[0].job)->machine->title,
                        history->machine);
    return (struct card){text_fill(arena, "What was read on {}", machine), blocks.items,
                         blocks.count};
}

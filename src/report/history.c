/*
 * history.c - one reading or result of one machine over the years.
 */
#include "report/history.h"

#include "history_series.h"
#include "job/say.h"
#include "one_gauge.h"

/* More would not stand side by side in 80 columns. */
enum { POSITIONS_IN_A_TABLE = 4 };

struct text history_of_rehearsals(void)
{
    return TEXT("These are rehearsals: their answers came from files. They say nothing of a "
                "machine.");
}

/* --- job by job ----------------------------------------------------------------------------------- */

/* The unit stands in the heading. */
static struct text bare_words(struct arena *arena, struct text shown, const struct unit *unit)
{
    const struct text no_break = TEXT("\u00a0");
    if (unit == NULL || unit == &unit_one || !text_ends(shown, unit->symbol))
        return shown;
    shown.length -= unit->symbol.length;
    if (text_ends(shown, no_break))
        shown.length -= no_break.length;
    bool is_bracketed = text_starts(shown, TEXT("(")) && text_ends(shown, TEXT(")"));
    return text_copy(arena, is_bracketed ? text_slice(shown, 1, shown.length - 1) : shown);
}

static struct text cell_words(const struct series *series, const struct scalar *scalar)
{
    struct arena *arena = series->arena;
    if (scalar->is_missing)
        return TEXT("not read");
    if (series->unit == NULL)
        return say_scalar(arena, scalar, series->type, NULL);
    double band = gradient_expanded(scalar->number.gradient);
    struct text shown = band > 0
                            ? measured_text(arena, scalar->number.value, band, series->unit)
                            : say_number(arena, scalar->number, series->unit);
    return bare_words(arena, shown, series->unit);
}

static struct text counter_words(const struct sample *sample, const struct unit *unit,
                                 struct arena *arena)
{
    if (sample->counter_unit == NULL || !kind_equal(sample->counter_unit->kind, unit->kind))
        return TEXT("");
    struct measured counter = {sample->counter, NULL};
    return bare_words(arena, value_text_decimals(arena, counter.value, unit, 0), unit);
}

/* That of the newest job that has one. */
static const struct unit *counter_unit(const struct series *series)
{
    for (size_t i = series->count; i-- > 0;)
        if (series->samples[i].counter_unit != NULL)
            return series->samples[i].counter_unit;
    return NULL;
}

static bool differ_in_revision(const struct series *series)
{
    for (size_t i = 1; i < series->count; i++)
        if (series->samples[i].procedure->revision != series->samples[0].procedure->revision)
            return true;
    return false;
}

static struct text verdict_of(const struct sample *sample)
{
    return sample->verdict == VERDICT_NONE ? TEXT("")
                                           : text_from(verdict_words(sample->verdict));
}

enum { COLUMNS_BESIDE = 6, COLUMNS_MAX = COLUMNS_BESIDE + POSITIONS_IN_A_TABLE };

static void add_headings(const struct series *series, struct rows *rows, size_t from, size_t to)
{
    struct text cells[COLUMNS_MAX];
    size_t count = 0;
    const struct unit *counter = counter_unit(series);
    cells[count++] = TEXT("Job");
    cells[count++] = TEXT("Date");
    cells[count++] = counter == NULL ? TEXT("") : counter->symbol;
    for (size_t i = from; i < to; i++)
        cells[count++] = series->positions[i].length > 0
                             ? say_capital(series->arena, series->positions[i])
                             : TEXT("Value");
    cells[count++] = TEXT("Verdict");
    cells[count++] = TEXT("Revision");
    cells[count++] = TEXT("Remarks");
    rows_put(rows, cells, count);
}

static void add_sample(const struct series *series, struct rows *rows,
                       const struct sample *sample, size_t from, size_t to)
{
    struct arena *arena = series->arena;
    struct text cells[COLUMNS_MAX];
    size_t count = 0;
    const struct unit *counter = counter_unit(series);
    cells[count++] = text_number(arena, sample->job_id);
    cells[count++] = sample->day;
    cells[count++] = counter == NULL ? TEXT("") : counter_words(sample, counter, arena);
    for (size_t i = from; i < to; i++)
        cells[count++] = cell_words(series, &sample->items[i]);
    cells[count++] = verdict_of(sample);
    cells[count++] =
        differ_in_revision(series) ? text_number(arena, sample->procedure->revision) : TEXT("");
    cells[count++] = sample->remarks;
    rows_put(rows, cells, count);
}

static struct text in_unit(const struct series *series)
{
    if (series->unit == NULL || series->unit == &unit_one)
        return TEXT("");
    return text_fill(series->arena, ", in {}", series->unit->symbol);
}

static void tell_table(struct blocks *blocks, const struct series *series)
{
    size_t tables = (series->position_count + POSITIONS_IN_A_TABLE - 1) / POSITIONS_IN_A_TABLE;
    size_t each = (series->position_count + tables - 1) / tables;
    for (size_t from = 0; from < series->position_count; from += each) {
        size_t to = from + each < series->position_count ? from + each : series->position_count;
        struct rows rows = rows_begin(series->arena);
        add_headings(series, &rows, from, to);
        for (size_t i = 0; i < series->count; i++)
            add_sample(series, &rows, &series->samples[i], from, to);
        struct text heading = text_fill(series->arena, "Job by job{}", in_unit(series));
        blocks_table(blocks, from == 0 ? heading : TEXT(""), &rows);
    }
}

/* --- what it is ------------------------------------------------------------------------------------ */

static bool is_one_name(const struct series *series)
{
    for (size_t i = 1; i < series->count; i++)
        if (!text_equal(series->samples[i].gauges_told, series->samples[0].gauges_told))
            return false;
    return true;
}

/* Of one name throughout: what is it that keeps it from counting as one gauge? */
static enum gauges_alike least_alike(const struct series *series)
{
    const struct sample *first = &series->samples[0];
    enum gauges_alike least = ONE_GAUGE;
    for (size_t i = 1; i < series->count; i++)
        for (size_t k = 0; k < first->gauge_count; k++) {
            const struct sample *sample = &series->samples[i];
            if (first->gauges[k]->accuracy_count == 0)
                continue;
            enum gauges_alike alike = k < sample->gauge_count
                                          ? gauges_compare(first->gauges[k], sample->gauges[k])
                                          : OTHER_GAUGE;
            least = alike > least ? alike : least;
        }
    return least;
}

/* A limit may hang on the height above the sea, or on another machine sheet. */
static bool is_one_limit(const struct series *series)
{
    for (size_t i = 1; i < series->count; i++)
        if (!text_equal(series->samples[i].limit, series->samples[0].limit))
            return false;
    return true;
}

static void tell_subject(struct blocks *blocks, const struct series *series)
{
    struct arena *arena = series->arena;
    const struct sample *newest = &series->samples[series->count - 1];
    struct rows rows = rows_begin(arena);
    rows_add(&rows, series->subject->is_result ? TEXT("Result") : TEXT("Reading"),
             series->subject->name);
    rows_add(&rows, TEXT("Procedure"),
             text_fill(arena, "{} ({})", newest->procedure->title, newest->procedure->name));
    rows_add(&rows, TEXT("Machine"),
             text_fill(arena, "{} ({})", job_fitted(newest->job)->machine->title,
                       series->history->machine));
    if (newest->limit.length > 0)
        rows_add(&rows, TEXT("Limit"),
                 is_one_limit(series) ? newest->limit
                                      : text_fill(arena, "{}, in job {}", newest->limit,
                                                  text_number(arena, newest->job_id)));
    if (is_one_name(series) && series->unit != NULL)
        rows_add(&rows, TEXT("Gauge"), newest->gauges_told);
    blocks_fields(blocks, TEXT(""), &rows);
}

/* --- how far it goes --------------------------------------------------------------------------------- */

/* "job 1: X", "jobs 2 and 3: Y"; `words` by sample. */
static void add_by_words(struct rows *rows, const struct series *series,
                         const struct text *words)
{
    struct arena *arena = series->arena;
    struct text *numbers = arena_array(arena, struct text, series->count);
    for (size_t i = 0; i < series->count; i++) {
        size_t count = 0;
        bool is_first = true;
        for (size_t k = 0; k < series->count; k++) {
            if (!text_equal(words[k], words[i]))
                continue;
            is_first = is_first && k >= i;
            numbers[count++] = text_number(arena, series->samples[k].job_id);
        }
        if (is_first)
            rows_add(rows, text_fill(arena, count == 1 ? "Job {}: {}" : "Jobs {}: {}",
                                     say_list(arena, numbers, count), words[i]));
    }
}

static bool are_alike(const struct text *words, size_t count)
{
    for (size_t i = 1; i < count; i++)
        if (!text_equal(words[i], words[0]))
            return false;
    return true;
}

static void tell_gauge_of_one_name(struct blocks *blocks, const struct series *series)
{
    enum gauges_alike alike = least_alike(series);
    if (alike == ONE_GAUGE)
        return;
    blocks_heading(blocks, TEXT("Perhaps not one gauge throughout"));
    blocks_paragraph(
        blocks, TONE_CAUTION,
        alike == GAUGE_UNDATED
            ? TEXT("By its name it is, but when it was calibrated is not given. Whether it "
                   "still reads as it did is not known: its own error counts as another one in "
                   "each job, and the ± of a change holds it.")
            : TEXT(
                  "By its name it is, but its accuracy is not given alike. Its own error "
                  "counts as another one where that changed, and the ± of a change holds it."));
}

static void tell_gauge(struct blocks *blocks, const struct series *series)
{
    if (series->unit == NULL)
        return;
    if (is_one_name(series)) {
        tell_gauge_of_one_name(blocks, series);
        return;
    }
    struct rows rows = rows_begin(series->arena);
    struct text *gauges = arena_array(series->arena, struct text, series->count);
    for (size_t i = 0; i < series->count; i++)
        gauges[i] = series->samples[i].gauges_told;
    add_by_words(&rows, series, gauges);
    blocks_heading(blocks, TEXT("Not one gauge throughout"));
    blocks_paragraph(blocks, TONE_CAUTION,
                     TEXT("Each gauge is wrong in its own way, as far as its accuracy "
                          "allows. Between gauges that does not cancel: a step where the gauge "
                          "changed may be the gauge."));
    blocks_list(blocks, TEXT(""), &rows);
}

/* A choice at the start, such as warm or cold. */
static struct text choice_in(const struct sample *sample, struct text input,
                             struct arena *arena)
{
    const struct procedure *procedure = sample->procedure;
    for (size_t i = 0; i < procedure->input_count; i++) {
        const struct input *own = &procedure->inputs[i];
        if (!text_equal(own->name, input) || own->field.form != FIELD_CHOICES)
            continue;
        struct surroundings surroundings = job_surroundings(sample->job, arena);
        struct value value = surroundings.value_of(surroundings.self, own->symbol, arena);
        if (value.count == 1 && !value.items[0].is_missing)
            return say_scalar(arena, &value.items[0], value.type, NULL);
    }
    return TEXT("not known");
}

static void tell_choices(struct blocks *blocks, const struct series *series)
{
    struct arena *arena = series->arena;
    const struct procedure *procedure = series->samples[series->count - 1].procedure;
    struct text *choices = arena_array(arena, struct text, series->count);
    for (size_t i = 0; i < procedure->input_count; i++) {
        struct text input = procedure->inputs[i].name;
        if (procedure->inputs[i].field.form != FIELD_CHOICES)
            continue;
        for (size_t k = 0; k < series->count; k++)
            choices[k] = choice_in(&series->samples[k], input, arena);
        if (are_alike(choices, series->count))
            continue;
        struct rows rows = rows_begin(arena);
        add_by_words(&rows, series, choices);
        blocks_list(blocks, text_fill(arena, "Not alike: {}", say_name(arena, input)), &rows);
    }
}

static const struct {
    const char *one, *many;
} left_out_words[] = {
    [LEFT_OUT_REHEARSAL] = {"Job {} is a rehearsal; --rehearsals looks at it.",
                            "Jobs {} are rehearsals; --rehearsals looks at them."},
    [LEFT_OUT_UNFINISHED] = {"Job {} is not finished.", "Jobs {} are not finished."},
    [LEFT_OUT_UNREADABLE] = {"Job {}: {}.", "Job {}: {}."},
    [LEFT_OUT_OTHER_KIND] = {"In job {} it was another kind of value.",
                             "In jobs {} it was another kind of value."}};

void tell_jobs_left_out(struct blocks *blocks, const struct history_left_out *left_out,
                        size_t count)
{
    struct arena *arena = blocks->arena;
    struct rows rows = rows_begin(arena);
    struct text *numbers = arena_array(arena, struct text, count);
    for (unsigned why = 0; why < WHY_LEFT_OUT_COUNT; why++) {
        size_t alike = 0;
        for (size_t i = 0; i < count; i++) {
            if (left_out[i].why != why)
                continue;
            numbers[alike++] = text_number(arena, left_out[i].job_id);
            if (why == LEFT_OUT_UNREADABLE)
                rows_add(&rows, text_fill(arena, left_out_words[why].one, numbers[alike - 1],
                                          left_out[i].reason));
        }
        if (alike > 0 && why != LEFT_OUT_UNREADABLE)
            rows_add(&rows,
                     text_fill(arena,
                               alike == 1 ? left_out_words[why].one : left_out_words[why].many,
                               say_list(arena, numbers, alike)));
    }
    blocks_list(blocks, TEXT("Left out"), &rows);
}

static void tell_those_left_out(struct blocks *blocks, const struct series *series)
{
    const struct history *history = series->history;
    struct history_left_out *all = arena_array(series->arena, struct history_left_out,
                                               history->left_out_count + series->other_count);
    size_t count = 0;
    for (size_t i = 0; i < history->left_out_count; i++)
        if (text_equal(history->left_out[i].procedure, series->subject->procedure))
            all[count++] = history->left_out[i];
    for (size_t i = series->other_count; i-- > 0;)
        all[count++] = series->others[i];
    tell_jobs_left_out(blocks, all, count);
}

struct card history_build(const struct history *history, const struct history_subject *subject,
                          bool is_by_date, struct arena *arena)
{
    struct blocks blocks = blocks_begin(arena);
    struct series series = series_of(history, subject, arena);
    if (history->is_of_rehearsals)
        blocks_paragraph(&blocks, TONE_NOTICE, history_of_rehearsals());
    tell_subject(&blocks, &series);
    tell_table(&blocks, &series);
    if (series.unit != NULL)
        tell_line(&blocks, &series, is_by_date);
    tell_gauge(&blocks, &series);
    tell_choices(&blocks, &series);
    tell_those_left_out(&blocks, &series);
    blocks_paragraph(
        &blocks, TONE_PLAIN,
        TEXT("Like is compared with like only if the conditions were alike: as warm, "
             "as well charged, read in the same way. That cannot be seen from here."));
    struct text title = text_fill(
        arena, "{} over the years: {}", say_capital(arena, say_name(arena, subject->name)),
        job_fitted(series.samples[series.count - 1].job)->machine->title);
    return (struct card){title, blocks.items, blocks.count};
}

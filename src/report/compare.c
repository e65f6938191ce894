/*
 * compare.c - two jobs of one machine, side by side.
 */
#include "report/compare.h"

#include "comparison.h"
#include "history_series.h"
#include "job/say.h"
#include "job/trials.h"

#include <math.h>

/* --- the two jobs --------------------------------------------------------------------------------- */

static struct side side_of(struct compared_job compared, struct arena *arena)
{
    const struct fitted *fitted = job_fitted(compared.job);
    return (struct side){.job = compared.job,
                         .procedure = fitted->procedure,
                         .fitted = fitted,
                         .surroundings = job_surroundings(compared.job, arena),
                         .name =
                             text_fill(arena, "job {}", text_number(arena, compared.job_id))};
}

struct value value_in(const struct side *side, unsigned symbol, struct arena *arena)
{
    return side->surroundings.value_of(side->surroundings.self, symbol, arena);
}

const struct gauge *gauge_in(const struct side *side, const struct reading *reading)
{
    return reading->field.gauge == GAUGE_NONE ? NULL
                                              : &side->fitted->gauges[reading->field.gauge];
}

struct text pair_index(const struct comparison *comparison, const struct pair *pair)
{
    return comparison->before.procedure->index_names[pair->reading->index];
}

static bool is_anything(const struct value *value)
{
    for (size_t i = 0; i < value->count; i++)
        if (!value->items[i].is_missing)
            return true;
    return false;
}

bool are_labels_alike(const struct labels *a, const struct labels *b)
{
    if (a == NULL || b == NULL || a->count != b->count)
        return a == b;
    for (size_t i = 0; i < a->count; i++)
        if (!text_equal(a->texts[i], b->texts[i]))
            return false;
    return true;
}

static const struct labels *labels_of(const struct side *side, const struct reading *reading)
{
    return reading->index == INDEX_NONE ? NULL : &side->fitted->indexes[reading->index];
}

static bool is_quantity(const struct reading *reading)
{
    return !reading->is_torque && reading->field.form == FIELD_QUANTITY &&
           reading->field.unit != NULL;
}

/* Of one name, one kind, at the same positions. */
static bool is_the_same(const struct comparison *comparison, const struct reading *reading,
                        const struct reading *then)
{
    return text_equal(reading->name, then->name) && is_quantity(reading) && is_quantity(then) &&
           kind_equal(reading->field.unit->kind, then->field.unit->kind) &&
           are_labels_alike(labels_of(&comparison->before, reading),
                            labels_of(&comparison->after, then));
}

static void find_pairs(struct comparison *comparison)
{
    struct arena *arena = comparison->arena;
    const struct side *before = &comparison->before, *after = &comparison->after;
    struct pair *pairs = arena_array(arena, struct pair, before->procedure->reading_count);
    size_t count = 0;
    for (size_t i = 0; i < before->procedure->reading_count; i++)
        for (size_t k = 0; k < after->procedure->reading_count; k++) {
            const struct reading *reading = &before->procedure->readings[i];
            const struct reading *then = &after->procedure->readings[k];
            if (!is_the_same(comparison, reading, then))
                continue;
            struct pair pair = {.reading = reading,
                                .then = then,
                                .before = value_in(before, reading->symbol, arena),
                                .after = value_in(after, then->symbol, arena),
                                .labels = labels_of(before, reading)};
            if (is_anything(&pair.before) && is_anything(&pair.after))
                pairs[count++] = pair;
        }
    comparison->pairs = pairs;
    comparison->pair_count = count;
}

struct comparison comparison_of(const struct compared_jobs *jobs, struct arena *arena)
{
    struct comparison comparison = {.before = side_of(jobs->before, arena),
                                    .after = side_of(jobs->after, arena),
                                    .between_count = jobs->between_count,
                                    .arena = arena};
    struct side *between = arena_array(arena, struct side, jobs->between_count);
    for (size_t i = 0; i < jobs->between_count; i++)
        between[i] = side_of(jobs->between[i], arena);
    comparison.between = between;
    const struct job **both = arena_array(arena, const struct job *, SIDE_COUNT);
    both[SIDE_BEFORE] = jobs->before.job;
    both[SIDE_AFTER] = jobs->after.job;
    comparison.errors =
        (struct errors_of_jobs){.jobs = both, .job_count = SIDE_COUNT, .arena = arena};
    find_pairs(&comparison);
    return comparison;
}

/* --- by how much ------------------------------------------------------------------------------- */

static struct text change_words(struct arena *arena, struct measured change,
                                const struct unit *unit)
{
    double band = gradient_expanded(change.gradient);
    if (!(band > 0))
        return say_number(arena, change, unit);
    struct text sized = measured_text(arena, change.value, band, unit);
    return fabs(change.value) > band ? sized : text_fill(arena, "{}, inside its band", sized);
}

static struct text read_words(struct arena *arena, const struct scalar *scalar,
                              const struct unit *unit)
{
    if (scalar->is_missing)
        return TEXT("not read");
    double band = gradient_expanded(scalar->number.gradient);
    return band > 0 ? measured_text(arena, scalar->number.value, band, unit)
                    : say_number(arena, scalar->number, unit);
}

static struct measured change_at(struct comparison *comparison, const struct pair *pair,
                                 size_t i)
{
    const struct measured *a = &pair->before.items[i].number, *b = &pair->after.items[i].number;
    return (struct measured){
        b->value - a->value,
        gradient_combine(comparison->arena,
                         errors_in(&comparison->errors, SIDE_AFTER, b->gradient), 1.0,
                         errors_in(&comparison->errors, SIDE_BEFORE, a->gradient), -1.0)};
}

static void compare_pair(struct comparison *comparison, const struct pair *pair)
{
    struct arena *arena = comparison->arena;
    const struct unit *unit = pair->reading->field.unit;
    struct rows rows = rows_begin(arena);
    struct measured sum = {0.0, NULL};
    size_t both = 0;
    rows_add(&rows, TEXT("Where"), say_capital(arena, comparison->before.name),
             say_capital(arena, comparison->after.name), TEXT("Change"));
    for (size_t i = 0; i < pair->before.count; i++) {
        const struct scalar *a = &pair->before.items[i], *b = &pair->after.items[i];
        struct text change = {0};
        if (!a->is_missing && !b->is_missing) {
            struct measured by = change_at(comparison, pair, i);
            change = change_words(arena, by, history_step_unit(unit));
            sum.value += by.value;
            sum.gradient = gradient_combine(arena, sum.gradient, 1.0, by.gradient, 1.0);
            both++;
        }
        rows_add(&rows,
                 pair->labels == NULL ? TEXT("")
                                      : say_position(arena, comparison->before.job,
                                                     pair->reading->index, (int)i),
                 read_words(arena, a, unit), read_words(arena, b, unit), change);
    }
    if (pair->labels != NULL && both > 1) {
        double share = 1.0 / (double)both;
        struct measured mean = {sum.value * share,
                                gradient_combine(arena, sum.gradient, share, NULL, 0.0)};
        rows_add(&rows, TEXT("mean change"), TEXT(""), TEXT(""),
                 change_words(arena, mean, history_step_unit(unit)));
    }
    blocks_table(&comparison->blocks, say_capital(arena, say_name(arena, pair->reading->name)),
                 &rows);
}

/* --- one gauge or two ------------------------------------------------------------------------------ */

static void tell_gauges_of(struct comparison *comparison)
{
    static const char *const sentences[] = {
        [ONE_GAUGE] =
            "The same gauge by its name and calibration served in both: its own error "
            "is counted once, if it still reads as it did.",
        [GAUGE_UNDATED] =
            "By its name the same gauge served in both jobs, but not both say when "
            "it was calibrated: its own error is counted twice, as that of two "
            "gauges.",
        [GAUGE_RERATED] = "By its name the same gauge served in both jobs, but its accuracy is "
                          "given otherwise: its own error is counted twice, as that of two "
                          "gauges.",
        [GAUGE_RECALIBRATED] = "By its name the same gauge served in both jobs, but it was "
                               "calibrated in between: its own error is counted twice, as "
                               "that of two gauges."};
    bool is_so[OTHER_GAUGE + 1] = {false};
    for (size_t i = 0; i < comparison->pair_count; i++) {
        const struct pair *pair = &comparison->pairs[i];
        const struct gauge *gauge = gauge_in(&comparison->before, pair->reading);
        const struct gauge *then = gauge_in(&comparison->after, pair->then);
        if (gauge != NULL && then != NULL && gauge->accuracy_count + then->accuracy_count > 0)
            is_so[gauges_compare(gauge, then)] = true;
    }
    for (enum gauges_alike alike = ONE_GAUGE; alike < OTHER_GAUGE; alike++)
        if (is_so[alike])
            blocks_paragraph(&comparison->blocks, TONE_PLAIN, text_from(sentences[alike]));
}

/* --- what can be leaned on ------------------------------------------------------------------------ */

/* "--treated 1", with a label that there is. */
static void tell_how_to_name(struct comparison *comparison)
{
    struct arena *arena = comparison->arena;
    for (size_t i = 0; i < comparison->pair_count; i++) {
        const struct pair *pair = &comparison->pairs[i];
        if (pair->labels == NULL || pair->labels->count < 2)
            continue;
        struct text label = pair->labels->texts[0];
        bool is_plain = text_find(label, TEXT(" ")) == label.length;
        blocks_paragraph(
            &comparison->blocks, TONE_PLAIN,
            text_fill(arena,
                      "If some were treated in between and the others left alone, name them, "
                      "and it says whether it worked: {}.",
                      text_fill(arena, is_plain ? "--treated {}" : "--treated '{}'", label)));
        return;
    }
}

static void tell_no_control(struct comparison *comparison)
{
    struct blocks *blocks = &comparison->blocks;
    blocks_paragraph(blocks, TONE_CAUTION,
                     TEXT("Between two jobs nothing is a control. Whatever else changed in "
                          "between may have done it as well: wear, weather, fuel, who "
                          "measured."));
    blocks_paragraph(blocks, TONE_PLAIN,
                     TEXT("No position is known to have been left alone, so this says that "
                          "something changed and not what changed it."));
    tell_how_to_name(comparison);
}

/* What a trial came to is not to be known before somebody was asked what they saw. */
static bool is_kept_back(const struct side *side)
{
    for (size_t i = 0; i < side->procedure->trial_count; i++)
        if (trial_is_kept_back(side->job, side->procedure->trials[i]))
            return true;
    return false;
}

static void tell_rehearsals(struct comparison *comparison)
{
    if (job_is_rehearsal(comparison->before.job) && job_is_rehearsal(comparison->after.job))
        blocks_paragraph(&comparison->blocks, TONE_NOTICE, history_of_rehearsals());
}

static void tell_effect(struct comparison *comparison)
{
    const struct side *sides[SIDE_COUNT] = {&comparison->before, &comparison->after};
    for (size_t i = 0; i < SIDE_COUNT; i++)
        if (is_kept_back(sides[i])) {
            blocks_paragraph(
                &comparison->blocks, TONE_NOTICE,
                text_fill(comparison->arena,
                          "Whether it worked is not told before the end of {}: somebody is "
                          "asked there first what they saw.",
                          sides[i]->name));
            return;
        }
    if (tell_whether_it_worked(comparison) == 0)
        tell_no_control(comparison);
}

struct card compare_build(const struct compared_jobs *jobs,
                          const struct compare_treated *treated, struct arena *arena)
{
    struct comparison comparison = comparison_of(jobs, arena);
    struct blocks *blocks = &comparison.blocks;
    comparison.treated = treated;
    comparison.blocks = blocks_begin(arena);
    find_differences(&comparison);
    tell_rehearsals(&comparison);
    tell_effect(&comparison);
    for (size_t i = 0; i < comparison.pair_count; i++)
        compare_pair(&comparison, &comparison.pairs[i]);
    if (comparison.pair_count == 0)
        blocks_paragraph(blocks, TONE_PLAIN, TEXT("No reading was taken in both jobs."));
    tell_differences(&comparison);
    blocks_paragraph(
        blocks, TONE_PLAIN,
        TEXT("The change lies within ± with 95 %, as far as is known of the gauges "
             "and the repeats."));
    tell_gauges_of(&comparison);
    struct text title =
        text_fill(arena, "{} and {} compared: {}", say_capital(arena, comparison.before.name),
                  comparison.after.name, comparison.before.fitted->machine->title);
    return (struct card){title, blocks->items, blocks->count};
}

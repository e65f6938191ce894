/*
 * comparison.c - two jobs of one machine, and the readings that both took.
 */
#include "comparison.h"

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
            if (value_is_anything(&pair.before) && value_is_anything(&pair.after))
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

/* Who was treated between two jobs. */
#include "comparison.h"
#include "job/say.h"
#include "job/trials.h"

/* --- as somebody names them -------------------------------------------------------------------- */

/* One for each name of an index that both jobs took a reading over. */
static size_t indexes_of(const struct comparison *comparison, const struct pair **firsts)
{
    size_t count = 0;
    for (size_t i = 0; i < comparison->pair_count; i++) {
        const struct pair *pair = &comparison->pairs[i];
        bool is_new = pair->labels != NULL;
        for (size_t k = 0; is_new && k < count; k++)
            is_new =
                !text_equal(pair_index(comparison, firsts[k]), pair_index(comparison, pair));
        if (is_new)
            firsts[count++] = pair;
    }
    return count;
}

/* What stands behind the name of the index, if that stands first. */
static bool behind_name(struct text typed, struct text index, struct text *rest)
{
    if (typed.length <= index.length || typed.bytes[index.length] != ' ' ||
        !text_equal_folded(text_slice(typed, 0, index.length), index))
        return false;
    *rest = text_trim(text_slice(typed, index.length, typed.length));
    return true;
}

static struct text up_to_comma(struct text words)
{
    size_t comma = text_find(words, TEXT(","));
    return text_trim(text_slice(words, 0, comma));
}

static struct text refuse_label(const struct comparison *comparison,
                                const struct pair *const *pairs, size_t count,
                                struct text unknown)
{
    struct arena *arena = comparison->arena;
    struct text list = {0}, near = {0};
    for (size_t i = 0; i < count; i++) {
        const struct labels *labels = pairs[i]->labels;
        struct text some =
            text_fill(arena, "{} {}", say_name(arena, pair_index(comparison, pairs[i])),
                      say_list(arena, labels->texts, labels->count));
        list = i == 0 ? some : text_fill(arena, "{}; {}", list, some);
        if (near.length == 0)
            near = text_nearest(unknown, labels->texts, labels->count);
    }
    return near.length > 0
               ? text_fill(arena,
                           "'{}' names no position that both jobs read; did you mean {}? There "
                           "are: {}",
                           unknown, near, list)
               : text_fill(arena, "'{}' names no position that both jobs read; there are: {}",
                           unknown, list);
}

bool compare_take_treated(const struct compared_jobs *jobs, struct text typed,
                          struct compare_treated *treated, struct text *refusal,
                          struct arena *arena)
{
    struct comparison comparison = comparison_of(jobs, arena);
    const struct pair **pairs = arena_array(arena, const struct pair *, comparison.pair_count);
    size_t count = indexes_of(&comparison, pairs), meant = 0;
    struct text words = text_trim(typed), unknown = up_to_comma(words), rest;
    for (size_t i = 0; i < count; i++)
        if (behind_name(words, pair_index(&comparison, pairs[i]), &rest)) {
            words = rest;
            pairs[0] = pairs[i];
            count = 1;
        }
    if (count == 0) {
        *refusal = TEXT("no reading was taken at the same positions in both jobs, so that "
                        "nothing was left alone to compare with");
        return false;
    }
    struct text *names = arena_array(arena, struct text, count);
    for (size_t i = 0; i < count; i++) {
        unsigned long long positions;
        if (!labels_take(pairs[i]->labels, words, &positions, &rest)) {
            unknown = count == 1 || positions != 0 ? up_to_comma(rest) : unknown;
            continue;
        }
        treated->is_named = true;
        treated->index = pair_index(&comparison, pairs[i]);
        treated->positions = positions;
        names[meant++] = say_name(arena, treated->index);
    }
    if (meant == 0)
        *refusal = refuse_label(&comparison, pairs, count, unknown);
    if (meant > 1)
        *refusal = text_fill(arena, "'{}' may be {}; say which, like '{} {}'", typed,
                             text_join(arena, names, meant, TEXT(" or ")), names[0], typed);
    return meant == 1;
}

/* --- as a trial treated them ---------------------------------------------------------------------- */

/* The number of the first or last time it was read; 0: never. */
static unsigned read_at(const struct job *job, const struct reading *reading, bool is_last)
{
    size_t count;
    unsigned number = 0;
    const struct event *events = job_events(job, &count);
    for (size_t i = 0; i < count && (is_last || number == 0); i++)
        if (events[i].kind == EVENT_READ && text_equal(events[i].name, reading->name))
            number = events[i].number;
    return number;
}

static enum when_treated when_treated(const struct comparison *comparison,
                                      const struct pair *pair, const struct side *side,
                                      unsigned allotted)
{
    if (side == &comparison->before)
        return read_at(side->job, pair->reading, true) < allotted ? TREATED_IN_BETWEEN
                                                                  : TREATED_BEFORE_BOTH;
    if (side == &comparison->after)
        return read_at(side->job, pair->then, false) > allotted ? TREATED_IN_BETWEEN
                                                                : TREATED_AFTER_BOTH;
    return TREATED_IN_BETWEEN;
}

static bool is_over(const struct comparison *comparison, const struct pair *pair,
                    const struct side *side, const struct trial *trial)
{
    int index = trial_index(side->job, trial);
    return text_equal(side->procedure->index_names[index], pair_index(comparison, pair)) &&
           are_labels_alike(&side->fitted->indexes[index], pair->labels);
}

static size_t add_treatments(const struct comparison *comparison, const struct pair *pair,
                             const struct side *side, struct treatment *treatments)
{
    size_t count = 0;
    for (size_t i = 0; i < side->procedure->trial_count; i++) {
        const struct trial *trial = side->procedure->trials[i];
        const struct event *allotted = trial_allotted(side->job, trial);
        if (allotted == NULL || trial_is_kept_back(side->job, trial) ||
            !is_over(comparison, pair, side, trial))
            continue;
        unsigned long long all =
            pair->labels->count >= 64 ? ~0ULL : (1ULL << pair->labels->count) - 1ULL;
        unsigned long long positions = trial->reaches_all ? all : allotted->positions;
        if (positions != 0)
            treatments[count++] = (struct treatment){
                side, trial, positions, when_treated(comparison, pair, side, allotted->number)};
    }
    return count;
}

size_t treatments_of(const struct comparison *comparison, const struct pair *pair,
                     const struct treatment **treatments)
{
    size_t most =
        comparison->before.procedure->trial_count + comparison->after.procedure->trial_count;
    for (size_t i = 0; i < comparison->between_count; i++)
        most += comparison->between[i].procedure->trial_count;
    struct treatment *found = arena_array(comparison->arena, struct treatment, most);
    size_t count = add_treatments(comparison, pair, &comparison->before, found);
    for (size_t i = 0; i < comparison->between_count; i++)
        count += add_treatments(comparison, pair, &comparison->between[i], found + count);
    count += add_treatments(comparison, pair, &comparison->after, found + count);
    *treatments = found;
    return count;
}

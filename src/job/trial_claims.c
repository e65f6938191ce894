/*
 * trial_claims.c - positions named by a person, and what somebody claims about a trial before it is told.
 */
#include "job/say.h"
#include "job/trials.h"
#include "job_state.h"

/* --- positions by their labels ------------------------------------------------------------------------- */

static bool find_label(const struct labels *labels, struct text words,
                       unsigned long long *positions)
{
    for (size_t i = 0; i < labels->count; i++) {
        if (!text_equal_folded(labels->texts[i], words))
            continue;
        *positions |= 1ULL << i;
        return true;
    }
    return false;
}

/* The longest beginning that is a label; labels may have spaces in them. */
static size_t label_length(const struct labels *labels, struct text rest,
                           unsigned long long *positions)
{
    for (size_t end = rest.length; end > 0; end--) {
        bool is_whole = end == rest.length || rest.bytes[end] == ' ' || rest.bytes[end] == ',';
        if (is_whole && find_label(labels, text_slice(rest, 0, end), positions))
            return end;
    }
    return 0;
}

bool labels_take(const struct labels *labels, struct text typed, unsigned long long *positions,
                 struct text *rest)
{
    const struct text conjunction = TEXT("and ");
    *rest = text_trim(typed);
    *positions = 0;
    if (rest->length == 0)
        return false;
    while (rest->length > 0) {
        size_t taken = label_length(labels, *rest, positions);
        if (taken == 0)
            return false;
        *rest = text_slice(*rest, taken, rest->length);
        while (rest->length > 0 && (rest->bytes[0] == ' ' || rest->bytes[0] == ','))
            *rest = text_slice(*rest, 1, rest->length);
        if (text_starts(*rest, conjunction))
            *rest = text_trim(text_slice(*rest, conjunction.length, rest->length));
    }
    return true;
}

struct text labels_told(const struct labels *labels, unsigned long long positions,
                        struct arena *arena)
{
    struct text *items = arena_array(arena, struct text, labels->count);
    size_t count = 0;
    for (size_t i = 0; i < labels->count; i++)
        if ((positions >> i & 1ULL) != 0)
            items[count++] = labels->texts[i];
    return count == 0 ? TEXT("none") : say_list(arena, items, count);
}

struct text trial_labels(const struct job *job, const struct trial *trial,
                         unsigned long long positions, struct arena *arena)
{
    return labels_told(&job->fitted->indexes[trial_index(job, trial)], positions, arena);
}

/* --- claims -------------------------------------------------------------------------------------------- */

bool trial_claim_take(const struct job *job, const struct trial *trial, struct text typed,
                      unsigned long long *positions, struct text *refusal,
                      struct arena *scratch)
{
    const struct labels *labels = &job->fitted->indexes[trial_index(job, trial)];
    struct text words = text_trim(typed), rest;
    *positions = 0;
    if (text_equal_folded(words, TEXT("none")))
        return true;
    if (text_equal_folded(words, TEXT("all"))) {
        for (size_t i = 0; i < labels->count; i++)
            *positions |= 1ULL << i;
        return true;
    }
    if (labels_take(labels, words, positions, &rest))
        return true;
    if (words.length == 0)
        *refusal = text_fill(scratch,
                             "Enter alone does not answer this. Type those meant, like {}, or "
                             "none, or all.",
                             labels->texts[0]);
    else
        *refusal = text_fill(scratch,
                             "'{}' names no position. Type those meant, like {}, or none, or "
                             "all.",
                             typed, labels->texts[0]);
    return false;
}

const struct event *trial_claimed(const struct job *job, const struct trial *trial)
{
    struct spot opening = spot_opening();
    struct sought sought = {.kind = EVENT_ANSWERED,
                            .detail = ANSWERED_CLAIM,
                            .name = trial->name,
                            .position = INDEX_NONE};
    const struct event *first = fact_find(job, fact_at(job, &opening), &sought);
    return first == NULL ? NULL : job_event_now(job, first->number);
}

bool trial_is_kept_back(const struct job *job, const struct trial *trial)
{
    return trial->claim.written.length > 0 && job->ended == 0 &&
           trial_allotted(job, trial) != NULL;
}

bool trial_wants_claim(const struct job *job, const struct trial *trial, struct arena *scratch)
{
    return trial->claim.written.length > 0 && trial_allotted(job, trial) != NULL &&
           trial_claimed(job, trial) == NULL &&
           (trial_read_after(job, trial, scratch) & trial_read_before(job, trial, scratch)) !=
               0;
}

struct text claim_question(const struct job *job, const struct trial *trial,
                           struct arena *arena)
{
    struct spot opening = spot_opening();
    const struct labels *labels = &job->fitted->indexes[trial_index(job, trial)];
    return text_fill(arena,
                     "{} Type those meant ({}), or none. Once the readings are shown, the "
                     "answer stands.",
                     job_fill(job, &trial->claim, &opening, arena),
                     text_join(arena, labels->texts, labels->count, TEXT(", ")));
}

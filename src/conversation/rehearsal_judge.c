/* After a rehearsal: what was not asked, and whether it came out as expected. */
#include "job/say.h"
#include "rehearsal_state.h"

/* NOLINTNEXTLINE(misc-no-recursion): as deep as the tree of the file */
static void report_unasked(const struct rehearsal *rehearsal, const struct given *given,
                           struct text name, struct diagnostics *found)
{
    if (rehearsal_visits(rehearsal, given) == 0) {
        report(found, FINDING_ANSWER_UNASKED,
               given->key.length > 0 ? given->key_place : given->place, name);
        return;
    }
    for (size_t i = 0; i < given->count; i++)
        report_unasked(rehearsal, &given->items[i],
                       given->items[i].key.length > 0 ? given->items[i].key : name, found);
}

/* As many decimals as were typed decide: 8.2 is met by 8.24 and not by 8.26. */
static bool is_equal_as_typed(const struct quantity *typed, double si, struct arena *arena)
{
    unsigned decimals = typed->number.decimals;
    struct text got = value_text_decimals(arena, si, typed->unit, decimals);
    struct text wanted = value_text_decimals(arena, quantity_si(typed), typed->unit, decimals);
    return text_equal(got, wanted);
}

static bool is_as_expected(const struct result_outcome *result, const struct scalar *scalar,
                           struct text wanted, struct arena *arena)
{
    struct quantity quantity;
    if (scalar->is_missing)
        return false;
    if (result->value.type.base != TYPE_NUMBER)
        return text_equal(say_scalar(arena, scalar, result->value.type, NULL), wanted);
    if (quantity_read(wanted, result->unit, arena, &quantity).flaw != QUANTITY_READ ||
        !kind_fits(result->value.type.kind, quantity.unit->kind))
        return false;
    return is_equal_as_typed(&quantity, scalar->number.value, arena);
}

static struct text came_out_as(const struct result_outcome *result, struct arena *arena)
{
    return result->shown.length > 0 ? result->shown
                                    : text_fill(arena, "nothing ({})", result->reason);
}

/* One "3: 8.2 bar" of a list of positions. */
static bool is_met_at(const struct labels *labels, const struct result_outcome *result,
                      struct text item, struct arena *arena)
{
    struct text label, rest = item;
    if (!text_cut(&rest, ':', &label))
        return false;
    for (size_t position = 0; position < labels->count; position++)
        if (text_equal(labels->texts[position], text_trim(label)))
            return is_as_expected(result, &result->value.items[position], text_trim(rest),
                                  arena);
    return false;
}

/* A vector is written as it is shown: 1: 11.6 bar, 3: 8.2 bar; what is not named may be anything. */
static bool is_met(const struct rehearsal *rehearsal, const struct result_outcome *result,
                   struct text expected, struct arena *arena)
{
    struct text rest = expected;
    if (result->value.count == 0)
        return false;
    if (result->value.type.index == INDEX_NONE)
        return is_as_expected(result, &result->value.items[0], rest, arena);
    const struct labels *labels = &rehearsal->fitted->indexes[result->value.type.index];
    const struct text comma = TEXT(", ");
    while (rest.length > 0) {
        size_t end = text_find(rest, comma);
        if (!is_met_at(labels, result, text_slice(rest, 0, end), arena))
            return false;
        size_t next = end + comma.length;
        rest = next < rest.length ? text_slice(rest, next, rest.length) : TEXT("");
    }
    return true;
}

static void judge_result(const struct rehearsal *rehearsal, const struct result_outcome *result,
                         const struct given *expected, struct diagnostics *found)
{
    const struct given *is = expected;
    const struct given *verdict = NULL;
    if (expected->form == GIVEN_MAP) {
        is = given_find(expected, TEXT("is"));
        verdict = given_find(expected, TEXT("verdict"));
    }
    if (is != NULL && !is_met(rehearsal, result, is->text, found->arena))
        report(found, FINDING_EXPECT_VALUE, is->place, result->result->definition.name,
               came_out_as(result, found->arena), is->text);
    struct text got = text_from(verdict_words(result->verdict));
    if (verdict != NULL && !text_equal(got, verdict->text))
        report(found, FINDING_EXPECT_VERDICT, verdict->place, result->result->definition.name,
               got, verdict->text);
}

static void judge_trial(const struct trial_finding *trial, const struct given *expected,
                        struct diagnostics *found)
{
    const struct given *is = NULL, *verdict = expected;
    struct text name = trial->trial->name;
    struct quantity quantity;
    if (expected->form == GIVEN_MAP) {
        is = given_find(expected, TEXT("is"));
        verdict = given_find(expected, TEXT("verdict"));
    }
    struct text got = trial->is_allotted ? trial->verdict : TEXT("not allotted");
    if (verdict != NULL && !text_equal(got, verdict->text))
        report(found, FINDING_EXPECT_VERDICT, verdict->place, name, got, verdict->text);
    if (is == NULL)
        return;
    bool is_met =
        trial->has_effect &&
        quantity_read(is->text, trial->unit, found->arena, &quantity).flaw == QUANTITY_READ &&
        kind_fits(trial->unit->kind, quantity.unit->kind) &&
        is_equal_as_typed(&quantity, trial->effect, found->arena);
    struct text effect =
        trial->has_effect
            ? say_number(found->arena, (struct measured){.value = trial->effect}, trial->unit)
            : TEXT("nothing");
    if (!is_met)
        report(found, FINDING_EXPECT_VALUE, is->place, name, effect, is->text);
}

/* True if the name is a trial's. */
static bool judge_trials(const struct outcome *outcome, const struct given *expected,
                         struct diagnostics *found)
{
    for (size_t i = 0; i < outcome->trial_count; i++) {
        if (!text_equal(outcome->trials[i].trial->name, expected->key))
            continue;
        judge_trial(&outcome->trials[i], expected, found);
        return true;
    }
    return false;
}

static void judge_expected(const struct rehearsal *rehearsal, const struct job *job,
                           struct diagnostics *found, struct arena *arena)
{
    const struct given *expect = &rehearsal->answers->expect;
    struct outcome outcome = outcome_work_out(job, arena);
    struct text *names = arena_array(arena, struct text, outcome.result_count);
    for (size_t i = 0; i < outcome.result_count; i++)
        names[i] = outcome.results[i].result->definition.name;
    for (size_t e = 0; e < expect->count; e++) {
        bool is_known = judge_trials(&outcome, &expect->items[e], found);
        for (size_t i = 0; i < outcome.result_count; i++)
            if (text_equal(names[i], expect->items[e].key)) {
                is_known = true;
                judge_result(rehearsal, &outcome.results[i], &expect->items[e], found);
            }
        if (is_known)
            continue;
        struct text near = text_nearest(expect->items[e].key, names, outcome.result_count);
        report(found, FINDING_EXPECT_UNKNOWN, expect->items[e].key_place, expect->items[e].key,
               near.length == 0 ? near : text_fill(arena, "; did you mean '{}'?", near));
    }
}

void rehearsal_judge(const struct rehearsal *rehearsal, const struct job *job,
                     struct diagnostics *found, struct arena *arena)
{
    for (const struct trouble *trouble = rehearsal->troubles; trouble != NULL;
         trouble = trouble->next) {
        struct text filling[] = {trouble->first, trouble->second, trouble->third};
        diagnostics_add(found, trouble->finding, trouble->place, filling,
                        finding_blank_count(trouble->finding));
    }
    if (!job_has_ended(job))
        return;
    const struct given *answers = &rehearsal->answers->answers;
    for (size_t i = 0; i < answers->count; i++)
        report_unasked(rehearsal, &answers->items[i], answers->items[i].key, found);
    judge_expected(rehearsal, job, found, arena);
}

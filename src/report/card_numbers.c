/*
 * card_numbers.c - what stands behind the numbers of the results.
 */
#include "job/say.h"
#include "telling.h"

static bool has_band(const struct result_outcome *result)
{
    const struct value *value = &result->value;
    for (size_t i = 0; value->type.base == TYPE_NUMBER && i < value->count; i++)
        if (!value->items[i].is_missing &&
            gradient_combined(value->items[i].number.gradient) > 0)
            return true;
    return false;
}

static bool is_any_banded(const struct outcome *outcome)
{
    for (size_t i = 0; i < outcome->result_count; i++)
        if (has_band(&outcome->results[i]))
            return true;
    for (size_t i = 0; i < outcome->trial_count; i++)
        if (outcome->trials[i].has_band)
            return true;
    return false;
}

static bool is_any_judged(const struct outcome *outcome)
{
    for (size_t i = 0; i < outcome->result_count; i++) {
        enum verdict verdict = outcome->results[i].verdict;
        bool is_by_chance =
            verdict == VERDICT_PASS || verdict == VERDICT_FAIL || verdict == VERDICT_TOO_CLOSE;
        if (is_by_chance && has_band(&outcome->results[i]))
            return true;
    }
    return false;
}

/* What was gone by at the time, if the readings as they stand now still say so, and cannot tell. */
static bool was_close_call(const struct telling *telling, const struct event *event)
{
    const struct work *work = telling->procedure->works[event->spot.work];
    if (event->kind != EVENT_DECIDED || work->when == NULL ||
        !text_equal(event->name, TEXT("when")))
        return false;
    struct surroundings surroundings = job_surroundings(telling->job, telling->arena);
    surroundings.here = told_here(telling, &event->spot);
    struct value truth = expression_evaluate(work->when, &surroundings, telling->arena);
    return truth.count == 1 && !truth.items[0].is_missing && truth.items[0].is_unsure &&
           truth.items[0].truth == (event->detail == 1);
}

static void tell_close_calls(const struct telling *telling, struct rows *rows)
{
    struct arena *arena = telling->arena;
    for (size_t i = 0; i < telling->event_count; i++) {
        const struct event *event = &telling->events[i];
        if (!was_close_call(telling, event))
            continue;
        struct text what = tell_step(telling, event);
        struct text where = tell_where(telling, event, INDEX_NONE);
        if (where.length > 0)
            what = text_fill(arena, "{}, {}", what, where);
        const struct expression *when = telling->procedure->works[event->spot.work]->when;
        const char *sentence = event->detail == 1 ? "{}: done, on a close call: {}."
                                                  : "{}: left out, on a close call: {}.";
        rows_add(rows, text_fill(arena, sentence, what, say_expression(arena, when->written)));
    }
}

void tell_numbers(struct telling *telling, const struct outcome *outcome)
{
    struct arena *arena = telling->arena;
    struct rows rows = rows_begin(arena);
    if (is_any_banded(outcome))
        rows_add(
            &rows,
            TEXT("± means give or take: with 95\u00a0% the true value lies within it, if the "
                 "gauges are as good as is said of them."));
    if (is_any_judged(outcome))
        rows_add(&rows, TEXT("Pass: within its limit with a chance of 95 in 100 or more. Fail: "
                             "with 5 in 100 or less."));
    for (size_t i = 0; i < outcome->result_count; i++) {
        const struct result_outcome *result = &outcome->results[i];
        struct text name = say_capital(arena, say_name(arena, result->result->definition.name));
        for (size_t k = 0; k < result->note_count; k++)
            rows_add(&rows, text_fill(arena, "{}: {}", name, result->notes[k]));
    }
    for (size_t i = 0; i < outcome->caution_count; i++)
        rows_add(&rows, outcome->cautions[i]);
    tell_close_calls(telling, &rows);
    blocks_list(&telling->blocks, TEXT("Behind the numbers"), &rows);
}

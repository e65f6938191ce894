#include "outcome/outcome.h"

#include "base/calendar.h"
#include "job/say.h"
#include "standing.h"
#include "trial_words.h"

#include <math.h>

const char *verdict_words(enum verdict verdict)
{
    switch (verdict) {
    case VERDICT_NONE:
        return "no limit";
    case VERDICT_PASS:
        return "pass";
    case VERDICT_FAIL:
        return "fail";
    case VERDICT_TOO_CLOSE:
        return "too close to call";
    case VERDICT_NOT_WORKED_OUT:
        break;
    }
    return "cannot be worked out";
}

/* --- verdicts -------------------------------------------------------------------------- */

/* A sheet or an input may turn them round: nothing lies between such limits, and nothing fails them. */
static bool are_reversed(const struct scalar *low, const struct scalar *high)
{
    return low != NULL && high != NULL && !low->is_missing && !high->is_missing &&
           low->number.value > high->number.value &&
           !numbers_agree(low->number.value, high->number.value);
}

static enum verdict verdict_at(const struct scalar *value, const struct scalar *at_least,
                               const struct scalar *at_most, struct arena *arena)
{
    if (value->is_missing || (at_least != NULL && at_least->is_missing) ||
        (at_most != NULL && at_most->is_missing) || are_reversed(at_least, at_most))
        return VERDICT_NOT_WORKED_OUT;
    struct bounds limits = {.at_least = at_least == NULL ? NULL : &at_least->number,
                            .at_most = at_most == NULL ? NULL : &at_most->number};
    switch (conformity_of(conformity_probability(value->number, limits, arena))) {
    case CONFORMITY_PASS:
        return VERDICT_PASS;
    case CONFORMITY_FAIL:
        if (!lies_within(value->number, limits))
            return VERDICT_FAIL;
        break; /* a band wider than the limits shows nothing, and no fault either */
    case CONFORMITY_TOO_CLOSE:
        break;
    }
    return VERDICT_TOO_CLOSE;
}

static int badness(enum verdict verdict)
{
    switch (verdict) {
    case VERDICT_NOT_WORKED_OUT:
    case VERDICT_NONE:
        return 0;
    case VERDICT_PASS:
        return 1;
    case VERDICT_TOO_CLOSE:
        return 2;
    case VERDICT_FAIL:
        break;
    }
    return 3;
}

static const struct scalar *scalar_at(const struct value *value, size_t i)
{
    if (value == NULL || value->count == 0)
        return NULL;
    return value->type.index == INDEX_NONE || value->count == 1 ? &value->items[0]
                                                                : &value->items[i];
}

struct judged {
    const struct value *value, *at_least, *at_most; /* the limits: NULL if there is none */
    enum verdict worst;
    size_t worst_position;
};

/* A tie goes to the value further from its limit, so that the worst position is the worst one. */
static double margin_at(const struct judged *judged, size_t i)
{
    const struct scalar *value = scalar_at(judged->value, i);
    const struct scalar *low = scalar_at(judged->at_least, i);
    const struct scalar *high = scalar_at(judged->at_most, i);
    double margin = INFINITY;
    if (low != NULL)
        margin = value->number.value - low->number.value;
    if (high != NULL)
        margin = fmin(margin, high->number.value - value->number.value);
    return margin;
}

static void judge(struct judged *judged, struct arena *arena)
{
    double worst_margin = INFINITY;
    judged->worst = VERDICT_NOT_WORKED_OUT;
    for (size_t i = 0; i < judged->value->count; i++) {
        enum verdict here = verdict_at(&judged->value->items[i], scalar_at(judged->at_least, i),
                                       scalar_at(judged->at_most, i), arena);
        if (here == VERDICT_NOT_WORKED_OUT)
            continue;
        double margin = margin_at(judged, i);
        int worse = badness(here) - badness(judged->worst);
        if (worse > 0 || (worse == 0 && margin < worst_margin)) {
            judged->worst = here;
            judged->worst_position = i;
            worst_margin = margin;
        }
    }
}

/* --- results ---------------------------------------------------------------------------- */

/* Why there is no value, in words: what it rests on and was never there. */
static struct text missing_words(const struct job *job, struct text name, struct arena *arena)
{
    const struct procedure *procedure = job_fitted(job)->procedure;
    if (name.length == 0)
        return TEXT("something it rests on is missing");
    int number = procedure_find_symbol(procedure, name);
    if (number < 0)
        return text_find(name, TEXT(" ")) < name.length
                   ? name
                   : text_fill(arena, "{} is missing", say_name(arena, name));
    switch (procedure->symbols[number].kind) {
    case SYMBOL_READING:
        return text_fill(arena, "{} was not read", say_name(arena, name));
    case SYMBOL_EARLIER:
        return text_fill(arena, "there is no earlier {}", say_name(arena, name));
    case SYMBOL_TIMER:
        return text_fill(arena, "{} was not started", say_name(arena, name));
    case SYMBOL_TRIAL:
        return trial_lack_words(
            job, procedure->trials[procedure->symbols[number].item / TRIAL_VALUES], arena);
    case SYMBOL_MACHINE:
    case SYMBOL_INPUT:
    case SYMBOL_NAME:
    case SYMBOL_RESULT:
        break;
    }
    return text_fill(arena, "{} is not known", say_name(arena, name));
}

static bool is_wholly_missing(const struct value *value, struct text *name)
{
    *name = (struct text){0};
    for (size_t i = 0; i < value->count; i++) {
        if (!value->items[i].is_missing)
            return false;
        if (name->length == 0)
            *name = value->items[i].missing_name;
    }
    return true;
}

static struct text manual_source(const struct job *job, const struct expression *limit)
{
    const struct procedure *procedure = job_fitted(job)->procedure;
    size_t event_count = 0;
    const struct event *events = job_events(job, &event_count);
    if (limit == NULL || limit->root->kind != NODE_SYMBOL)
        return (struct text){0};
    const struct symbol *symbol = &procedure->symbols[limit->root->symbol];
    if (symbol->kind != SYMBOL_MACHINE)
        return (struct text){0};
    const struct manual_value *value = &job_fitted(job)->values[symbol->item];
    if (value->is_given)
        return value->source;
    for (size_t i = event_count; i-- > 0;)
        if (events[i].kind == EVENT_ANSWERED && events[i].detail == ANSWERED_MANUAL_VALUE &&
            text_equal(events[i].name, procedure->wants[symbol->item].name))
            return events[i].source;
    return (struct text){0};
}

/* A result without a unit of its own is compared in the words of the author: at most 10 %. */
static const struct unit *limit_unit(const struct job *job,
                                     const struct result_outcome *outcome,
                                     const struct expression *limit)
{
    const struct unit *own =
        outcome->result->unit == NULL ? given_unit(job_fitted(job), limit) : NULL;
    return own != NULL ? own : outcome->unit;
}

static struct text limit_words(const struct job *job, const struct result_outcome *outcome,
                               const struct judged *judged, struct arena *arena)
{
    const struct result *result = outcome->result;
    size_t at = judged->worst_position;
    const struct scalar *low = scalar_at(judged->at_least, at);
    const struct scalar *high = scalar_at(judged->at_most, at);
    struct text words = {0};
    struct text source = result->source;
    struct text low_words = low == NULL
                                ? words
                                : say_scalar(arena, low, judged->at_least->type,
                                             limit_unit(job, outcome, result->limit.at_least));
    struct text high_words = high == NULL
                                 ? words
                                 : say_scalar(arena, high, judged->at_most->type,
                                              limit_unit(job, outcome, result->limit.at_most));
    if (low != NULL && high != NULL)
        words = text_fill(arena, "between {} and {}", low_words, high_words);
    else if (low != NULL)
        words = text_fill(arena, "at least {}", low_words);
    else if (high != NULL)
        words = text_fill(arena, "at most {}", high_words);
    if (source.length == 0)
        source = manual_source(job, result->limit.at_least);
    if (source.length == 0)
        source = manual_source(job, result->limit.at_most);
    return source.length == 0 ? words : text_fill(arena, "{} ({})", words, source);
}

/* Half a 95 % interval behind the number, as far as one is known. */
static struct text number_words(struct arena *arena, const struct scalar *scalar,
                                struct type type, const struct unit *unit)
{
    double expanded = type.base != TYPE_NUMBER || scalar->is_missing || unit == NULL
                          ? 0
                          : gradient_expanded(scalar->number.gradient);
    return expanded > 0 ? measured_text(arena, scalar->number.value, expanded, unit)
                        : say_scalar(arena, scalar, type, unit);
}

/* "cylinder 1: 46 %, 2: 45 %"; a value never stands on another line than its label. */
static struct text vector_words(const struct job *job, const struct result_outcome *outcome,
                                struct arena *arena)
{
    const struct value *value = &outcome->value;
    const struct labels *labels = &job_fitted(job)->indexes[value->type.index];
    struct text *parts = arena_array(arena, struct text, value->count);
    size_t count = 0;
    for (size_t i = 0; i < value->count; i++) {
        if (value->items[i].is_missing)
            continue;
        struct text label =
            count > 0 ? labels->texts[i] : index_label(job, value->type.index, (int)i, arena);
        parts[count++] =
            text_fill(arena, "{}:\u00a0{}", label,
                      number_words(arena, &value->items[i], value->type, outcome->unit));
    }
    return text_join(arena, parts, count, TEXT(", "));
}

static struct text shown_words(const struct job *job, const struct result_outcome *outcome,
                               const struct judged *judged, struct arena *arena)
{
    const struct value *value = &outcome->value;
    if (value->type.index == INDEX_NONE)
        return number_words(arena, &value->items[0], value->type, outcome->unit);
    struct text all = vector_words(job, outcome, arena);
    if (!outcome->result->has_limit || judged->worst == VERDICT_NOT_WORKED_OUT)
        return all;
    return text_fill(arena, "{}; worst: {}", all,
                     say_position(arena, job, value->type.index, (int)judged->worst_position));
}

/* Of a vector without a verdict no one number is the result. */
static void add_notes(const struct job *job, struct result_outcome *outcome,
                      const struct judged *judged, struct arena *arena)
{
    const struct value *value = &outcome->value;
    size_t position = judged->worst_position;
    bool is_judged = judged->worst != VERDICT_NOT_WORKED_OUT;
    if (value->type.base != TYPE_NUMBER || outcome->unit == NULL ||
        (value->type.index != INDEX_NONE && !is_judged) || value->items[position].is_missing)
        return;
    const struct scalar *low = scalar_at(judged->at_least, position);
    const struct scalar *high = scalar_at(judged->at_most, position);
    struct weighed weighed = {
        .job = job,
        .expression = outcome->result->definition.value,
        .unit = outcome->unit,
        .position = position,
        .value = value->items[position].number,
        .limits = {low == NULL ? NULL : &low->number, high == NULL ? NULL : &high->number},
        .is_too_close = outcome->verdict == VERDICT_TOO_CLOSE};
    struct text *notes = arena_array(arena, struct text, STANDING_NOTES + 1);
    outcome->note_count = standing_notes(&weighed, notes, arena);
    if (trial_weakens(job, weighed.expression, &notes[outcome->note_count], arena))
        outcome->note_count++;
    outcome->notes = notes;
}

static const struct value *limit_value(const struct expression *limit,
                                       const struct surroundings *surroundings,
                                       struct arena *arena)
{
    if (limit == NULL)
        return NULL;
    struct value *value = arena_new(arena, struct value);
    *value = expression_evaluate(limit, surroundings, arena);
    return value;
}

/* Is the number that is judged one of a trial that came to no verdict? */
static bool has_no_judge(const struct job *job, const struct result *result,
                         struct text *reason, struct arena *arena)
{
    enum { VALUE_AND_LIMITS = 3 };
    const struct expression *all[VALUE_AND_LIMITS] = {
        result->definition.value, result->limit.at_least, result->limit.at_most};
    for (size_t i = 0; i < VALUE_AND_LIMITS; i++)
        if (all[i] != NULL && trial_leaves_open(job, all[i], reason, arena))
            return true;
    return false;
}

static void judge_result(const struct job *job, struct judged *judged,
                         struct result_outcome *outcome, struct arena *arena)
{
    struct text missing;
    if (has_no_judge(job, outcome->result, &outcome->reason, arena)) {
        outcome->verdict = VERDICT_NOT_WORKED_OUT;
        return;
    }
    judge(judged, arena);
    outcome->verdict = judged->worst;
    outcome->limit_shown = limit_words(job, outcome, judged, arena);
    if (outcome->verdict != VERDICT_NOT_WORKED_OUT)
        return;
    for (size_t i = 0; i < judged->value->count; i++)
        if (are_reversed(scalar_at(judged->at_least, i), scalar_at(judged->at_most, i))) {
            outcome->reason = TEXT("the lower limit lies above the upper one; put right what "
                                   "they come from");
            return;
        }
    const struct value *limit =
        judged->at_least != NULL && is_wholly_missing(judged->at_least, &missing)
            ? judged->at_least
            : judged->at_most;
    if (limit != NULL)
        (void)is_wholly_missing(limit, &missing);
    outcome->reason = missing_words(job, missing, arena);
}

static struct result_outcome result_work_out(const struct job *job, const struct result *result,
                                             const struct surroundings *surroundings,
                                             struct arena *arena)
{
    struct result_outcome outcome = {.result = result};
    struct text missing;
    outcome.value = expression_evaluate(result->definition.value, surroundings, arena);
    if (outcome.value.type.base == TYPE_NUMBER)
        outcome.unit = result->unit != NULL
                           ? result->unit
                           : say_unit(arena, job_fitted(job), result->definition.value);
    if (trial_keeps_back(job, result->definition.value, arena)) {
        outcome.verdict = VERDICT_NOT_WORKED_OUT;
        outcome.shown = TEXT("not told yet");
        outcome.reason = TEXT("it is told at the end of the job, when the claim has been made");
        return outcome;
    }
    struct judged judged = {.value = &outcome.value, .worst = VERDICT_NOT_WORKED_OUT};
    if (result->has_limit) {
        judged.at_least = limit_value(result->limit.at_least, surroundings, arena);
        judged.at_most = limit_value(result->limit.at_most, surroundings, arena);
        outcome.limit_shown = limit_words(job, &outcome, &judged, arena);
    }
    if (is_wholly_missing(&outcome.value, &missing)) {
        outcome.verdict = VERDICT_NOT_WORKED_OUT;
        outcome.reason = missing_words(job, missing, arena);
        return outcome;
    }
    if (result->has_limit)
        judge_result(job, &judged, &outcome, arena);
    outcome.shown = shown_words(job, &outcome, &judged, arena);
    add_notes(job, &outcome, &judged, arena);
    return outcome;
}

/* --- findings and follow-ups -------------------------------------------------------------- */

static bool finding_work_out(const struct job *job, const struct finding_rule *rule,
                             const struct surroundings *surroundings,
                             struct finding_outcome *outcome, struct arena *arena)
{
    const struct spot nowhere = {0};
    struct value when = expression_evaluate(rule->when, surroundings, arena);
    if (when.count == 0 || when.items[0].is_missing || !when.items[0].truth ||
        trial_keeps_back(job, rule->when, arena))
        return false;
    *outcome = (struct finding_outcome){.rule = rule,
                                        .said = job_fill(job, &rule->say, &nowhere, arena),
                                        .is_perhaps = when.items[0].is_unsure};
    return true;
}

struct end {
    long long wall;
    struct text zone;
};

static struct end end_of(const struct job *job)
{
    struct end end = {0};
    size_t count = 0;
    const struct event *events = job_events(job, &count);
    for (size_t i = 0; i < count; i++) {
        if (events[i].kind == EVENT_STARTED)
            end.zone = events[i].zone;
        end.wall = events[i].at.wall;
    }
    return end;
}

static long long add_span(struct end end, const struct span *span)
{
    if (span->months > 0)
        return calendar_add_months(end.wall, span->months, end.zone);
    return end.wall + (long long)llround(span->seconds * 1000);
}

static struct text time_words(struct end end, const struct span *span, const char *whole_day,
                              struct arena *arena)
{
    enum { SECONDS_PER_DAY = 24 * 60 * 60 };
    long long due = add_span(end, span);
    if (span->months > 0 || span->seconds >= SECONDS_PER_DAY)
        return text_fill(arena, whole_day, calendar_day_text(arena, due, end.zone));
    return text_fill(arena, "at {} on {}", calendar_clock_text(arena, due, end.zone),
                     calendar_day_text(arena, due, end.zone));
}

static struct follow_up_outcome follow_up_work_out(const struct job *job,
                                                   const struct follow_up *follow_up,
                                                   const struct surroundings *surroundings,
                                                   struct arena *arena)
{
    const struct spot nowhere = {0};
    struct end end = end_of(job);
    struct text ways[3];
    size_t count = 0;
    struct follow_up_outcome outcome = {
        .follow_up = follow_up, .what = job_fill(job, &follow_up->what, &nowhere, arena)};
    if (follow_up->after.is_given) {
        outcome.due_at = add_span(end, &follow_up->after);
        ways[count++] = time_words(end, &follow_up->after, "on {}", arena);
    }
    if (follow_up->at != NULL) {
        struct value at = expression_evaluate(follow_up->at, surroundings, arena);
        if (at.count > 0 && !at.items[0].is_missing)
            ways[count++] =
                text_fill(arena, "at {}",
                          say_scalar(arena, &at.items[0], at.type,
                                     say_unit(arena, job_fitted(job), follow_up->at)));
    }
    if (follow_up->within.is_given) {
        long long by = add_span(end, &follow_up->within);
        if (outcome.due_at == 0 || by < outcome.due_at)
            outcome.due_at = by;
        ways[count++] = time_words(end, &follow_up->within, "by {}", arena);
    }
    if (count > 0)
        outcome.due = text_join(arena, ways, count, TEXT(" or "));
    return outcome;
}

struct outcome outcome_work_out(const struct job *job, struct arena *arena)
{
    const struct procedure *procedure = job_fitted(job)->procedure;
    struct surroundings surroundings = job_surroundings(job, arena);
    struct outcome outcome = {0};
    struct result_outcome *results =
        arena_array(arena, struct result_outcome, procedure->result_count);
    for (size_t i = 0; i < procedure->result_count; i++)
        results[i] = result_work_out(job, &procedure->results[i], &surroundings, arena);
    struct finding_outcome *findings =
        arena_array(arena, struct finding_outcome, procedure->finding_count);
    for (size_t i = 0; i < procedure->finding_count; i++)
        if (finding_work_out(job, &procedure->findings[i], &surroundings,
                             &findings[outcome.finding_count], arena))
            outcome.finding_count++;
    struct follow_up_outcome *follow_ups =
        arena_array(arena, struct follow_up_outcome, procedure->follow_up_count);
    for (size_t i = 0; i < procedure->follow_up_count; i++)
        follow_ups[i] =
            follow_up_work_out(job, &procedure->follow_ups[i], &surroundings, arena);
    struct trial_finding *trials =
        arena_array(arena, struct trial_finding, procedure->trial_count);
    for (size_t i = 0; i < procedure->trial_count; i++)
        trials[i] = trial_work_out(job, procedure->trials[i], arena);
    outcome.trials = trials;
    outcome.trial_count = procedure->trial_count;
    outcome.results = results;
    outcome.result_count = procedure->result_count;
    outcome.findings = findings;
    outcome.follow_ups = follow_ups;
    outcome.follow_up_count = procedure->follow_up_count;
    outcome.caution_count = standing_cautions(job, &outcome.cautions, arena);
    return outcome;
}

#include "report/card.h"

#include "job/say.h"
#include "telling.h"

/* --- what it says -------------------------------------------------------------------------------- */

static struct text verdict_cell(struct arena *arena, const struct result_outcome *result)
{
    switch (result->verdict) {
    case VERDICT_NONE:
        return TEXT("");
    case VERDICT_FAIL:
        return TEXT("FAIL");
    case VERDICT_NOT_WORKED_OUT:
        return result->reason.length == 0
                   ? TEXT("NOT WORKED OUT")
                   : text_fill(arena, "NOT WORKED OUT: {}", result->reason);
    case VERDICT_PASS:
    case VERDICT_TOO_CLOSE:
        break;
    }
    return text_from(verdict_words(result->verdict));
}

/* Without a value, and not only without a verdict. */
static bool is_wanting(const struct result_outcome *result)
{
    return result->verdict == VERDICT_NOT_WORKED_OUT && result->shown.length == 0;
}

/* In a job that was not completed much is missing, and all for the same reason. */
static void tell_not_worked_out(struct telling *telling, const struct outcome *outcome)
{
    struct arena *arena = telling->arena;
    struct text *names = arena_array(arena, struct text, outcome->result_count);
    size_t count = 0;
    for (size_t i = 0; i < outcome->result_count; i++)
        if (is_wanting(&outcome->results[i]))
            names[count++] = say_name(arena, outcome->results[i].result->definition.name);
    if (count > 0)
        blocks_paragraph(&telling->blocks, TONE_PLAIN,
                         text_fill(arena, "Not worked out, for want of readings: {}.",
                                   text_join(arena, names, count, TEXT(", "))));
}

static void tell_results(struct telling *telling, const struct outcome *outcome)
{
    struct arena *arena = telling->arena;
    struct rows rows = rows_begin(arena), sources = rows_begin(arena);
    rows_add(&rows, TEXT("Result"), TEXT("Value"), TEXT("Limit"), TEXT("Verdict"));
    for (size_t i = 0; i < outcome->result_count; i++) {
        const struct result_outcome *result = &outcome->results[i];
        struct text name = say_capital(arena, say_name(arena, result->result->definition.name));
        if (is_wanting(result) && !telling->is_completed)
            continue;
        rows_add(&rows, name, result->shown, result->limit_shown, verdict_cell(arena, result));
        struct text source = result->result->source; /* the limit may name it already */
        if (source.length > 0 &&
            text_find(result->limit_shown, source) == result->limit_shown.length)
            rows_add(&sources, name, source);
    }
    blocks_table(&telling->blocks, TEXT("Results"), &rows);
    blocks_fields(&telling->blocks, TEXT("Where the results come from"), &sources);
    if (!telling->is_completed)
        tell_not_worked_out(telling, outcome);
}

/* A reading that was taken, or a timer that was started. */
static bool was_measured(void *self, const struct symbol *symbol)
{
    const struct telling *telling = self;
    if (symbol->kind == SYMBOL_TIMER)
        return true;
    for (size_t i = 0; symbol->kind == SYMBOL_READING && i < telling->event_count; i++) {
        const struct event *event = &telling->events[i];
        if (event->kind == EVENT_READ && text_equal(event->name, symbol->name) &&
            told_now(telling, event)->meaning.length > 0)
            return true;
    }
    return false;
}

/* Before the job is completed a finding must rest on something that was read: "tested cold" is
 * nothing found where nothing was tested. */
static bool is_told(struct telling *telling, const struct finding_rule *rule)
{
    return telling->is_completed ||
           told_rests_on(telling->procedure, rule->when, was_measured, telling);
}

static void tell_findings(struct telling *telling, const struct outcome *outcome)
{
    struct arena *arena = telling->arena;
    struct rows rows = rows_begin(arena);
    for (size_t i = 0; i < outcome->finding_count; i++) {
        const struct finding_outcome *finding = &outcome->findings[i];
        if (!is_told(telling, finding->rule))
            continue;
        struct text said = finding->is_perhaps && !text_starts(finding->said, TEXT("Perhaps"))
                               ? text_fill(arena, "Perhaps: {}", finding->said)
                               : finding->said;
        if (finding->rule->source.length > 0)
            said = text_fill(arena, "{} (source: {})", said, finding->rule->source);
        rows_add(&rows, said);
    }
    blocks_list(&telling->blocks, TEXT("Findings"), &rows);
}

static bool was_any_step_done(const struct telling *telling)
{
    for (size_t i = 0; i < telling->event_count; i++)
        if (telling->events[i].kind == EVENT_DONE &&
            telling->procedure->works[telling->events[i].spot.work]->step != NULL)
            return true;
    return false;
}

/* What is to be done a week after the work; while it lies open there is no such day. */
static void tell_obligations(struct telling *telling, const struct outcome *outcome)
{
    struct rows rows = rows_begin(telling->arena);
    if (!telling->is_ended || !was_any_step_done(telling))
        return;
    rows_add(&rows, TEXT("To do later"), TEXT("Due"));
    for (size_t i = 0; i < outcome->follow_up_count; i++)
        rows_add(&rows, outcome->follow_ups[i].what,
                 outcome->follow_ups[i].due.length > 0 ? outcome->follow_ups[i].due
                                                       : TEXT("not known when"));
    blocks_table(&telling->blocks, TEXT("To do later"), &rows);
}

static void tell_used_gauges(struct telling *telling)
{
    const struct procedure *procedure = telling->procedure;
    bool *is_used = arena_array(telling->arena, bool, procedure->gauge_count);
    for (size_t i = 0; i < telling->event_count; i++) {
        if (telling->events[i].kind != EVENT_READ)
            continue;
        for (size_t r = 0; r < procedure->reading_count; r++)
            if (procedure->readings[r].field.gauge != GAUGE_NONE &&
                text_equal(procedure->readings[r].name, telling->events[i].name))
                is_used[procedure->readings[r].field.gauge] = true;
    }
    const struct day day = {telling->begun, telling->zone};
    tell_gauges(&telling->blocks, TEXT("Gauges"), telling->fitted, is_used, &day);
}

static void tell_method(struct telling *telling)
{
    struct rows rows = rows_begin(telling->arena);
    for (size_t i = 0; i < telling->procedure->source_note_count; i++)
        rows_add(&rows, telling->procedure->source_notes[i]);
    blocks_list(&telling->blocks, TEXT("Where the method comes from"), &rows);
}

struct card card_build(const struct job *job, struct card_heading heading, struct arena *arena)
{
    struct telling telling = {.job = job, .fitted = job_fitted(job), .arena = arena};
    telling.procedure = telling.fitted->procedure;
    telling.events = job_events(job, &telling.event_count);
    if (telling.event_count > 0) {
        telling.zone = telling.events[0].zone;
        telling.begun = telling.events[0].at.wall;
    }
    const struct event *ended = job_ended(job);
    telling.is_ended = ended != NULL;
    telling.is_completed = ended != NULL && ended->detail == ENDED_COMPLETED;
    telling.blocks = blocks_begin(arena);
    struct outcome outcome = outcome_work_out(job, arena);
    tell_head(&telling, heading.program);
    tell_cautions(&telling);
    tell_open(&telling);
    tell_trials(&telling, &outcome);
    tell_results(&telling, &outcome);
    tell_numbers(&telling, &outcome);
    tell_missing(&telling);
    tell_findings(&telling, &outcome);
    tell_obligations(&telling, &outcome);
    tell_inputs(&telling);
    tell_readings(&telling);
    tell_torques(&telling);
    tell_used_gauges(&telling);
    tell_conditions(&telling);
    tell_hold_points(&telling);
    tell_parts(&telling);
    tell_supplies(&telling);
    tell_timers(&telling);
    tell_claim(&telling);
    tell_hanging_steps(&telling, heading.ranking);
    tell_skipped(&telling);
    tell_left_out(&telling);
    tell_interruptions(&telling);
    tell_notes(&telling);
    tell_attachments(&telling);
    tell_method(&telling);
    struct text title = text_fill(arena, "Job card {}: {}", text_number(arena, heading.job_id),
                                  telling.procedure->title);
    if (job_is_rehearsal(job))
        title = text_fill(arena, "{} (rehearsal)", title);
    return (struct card){title, telling.blocks.items, telling.blocks.count};
}

/* --- what the record adds ------------------------------------------------------------------------- */

/* In groups of eight, as one reads it out. */
static struct text grouped(struct text digest, size_t shown, struct arena *arena)
{
    enum { GROUP = 8 };
    struct text words = {0};
    for (size_t at = 0; at < digest.length && at < shown; at += GROUP) {
        size_t end = at + GROUP < digest.length ? at + GROUP : digest.length;
        words = text_fill(arena, "{}{}{}", words, at > 0 ? TEXT(" ") : TEXT(""),
                          text_slice(digest, at, end));
    }
    return words;
}

struct card card_with_record(struct card card, const struct card_file *files, size_t file_count,
                             struct text job_digest, struct arena *arena)
{
    enum { SHORT = 16, WHOLE = 64 };
    struct blocks blocks = {.arena = arena,
                            .items =
                                arena_array(arena, struct card_block, card.block_count + 1),
                            .count = card.block_count,
                            .capacity = card.block_count + 1};
    if (card.block_count > 0)
        memcpy(blocks.items, card.blocks, card.block_count * sizeof *blocks.items);
    struct rows rows = rows_begin(arena);
    rows_add(&rows, TEXT("Kept with the job"), TEXT("Name"), TEXT("SHA-256 begins"));
    for (size_t i = 0; i < file_count; i++)
        rows_add(&rows, files[i].role, files[i].name, grouped(files[i].digest, SHORT, arena));
    blocks_table(&blocks, TEXT("Files"), &rows);
    if (job_digest.length > 0)
        blocks_paragraph(
            &blocks, TONE_PLAIN,
            text_fill(arena,
                      "Digest of the job: {}. Keep this card: the record is what it was then "
                      "only if it still has this digest.",
                      grouped(job_digest, WHOLE, arena)));
    return (struct card){card.title, blocks.items, blocks.count};
}

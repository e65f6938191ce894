/* What a person is told before a job begins, and what to lay out for it. */
#include "job/claim.h"
#include "job/look.h"
#include "job/say.h"
#include "present.h"

struct distinct {
    struct text *items;
    size_t count, capacity;
};

static struct distinct distinct_begin(struct arena *arena, size_t capacity)
{
    return (struct distinct){arena_array(arena, struct text, capacity), 0, capacity};
}

static void distinct_add(struct distinct *list, struct text item)
{
    for (size_t i = 0; i < list->count; i++)
        if (text_equal(list->items[i], item))
            return;
    if (list->count < list->capacity)
        list->items[list->count++] = item;
}

static const struct procedure *procedure_of(const struct talk *talk)
{
    return job_fitted(talk->session->job)->procedure;
}

/* --- hazards ------------------------------------------------------------------------------ */

/* The steps that this machine may come to, in the order of the file. */
struct steps {
    const struct work **works;
    size_t count;
};

static struct steps steps_to_come(const struct talk *talk)
{
    const struct procedure *procedure = procedure_of(talk);
    struct arena *arena = talk_scratch(talk);
    struct steps steps = {arena_array(arena, const struct work *, procedure->work_count), 0};
    for (size_t i = 0; i < procedure->work_count; i++) {
        const struct work *work = procedure->works[i];
        if (work->kind == WORK_STEP && !job_never_does(talk->session->job, work, arena))
            steps.works[steps.count++] = work;
    }
    return steps;
}

static size_t message_count(const struct steps *steps)
{
    size_t count = 0;
    for (size_t i = 0; i < steps->count; i++)
        count += steps->works[i]->step->message_count;
    return count;
}

static void collect_hazards(const struct steps *steps, enum signal signal,
                            struct distinct *hazards, struct arena *arena)
{
    for (size_t i = 0; i < steps->count; i++) {
        const struct step *step = steps->works[i]->step;
        for (size_t m = 0; m < step->message_count; m++)
            if (step->messages[m].signal == signal)
                distinct_add(hazards,
                             present_message_words(
                                 arena, signal, say_template(arena, &step->messages[m].hazard),
                                 say_template(arena, &step->messages[m].harm)));
    }
}

/* More hazards than a screen shows are no help; what hurts worst then stands here, and the rest before
 * its step, where all of them are told again. */
enum { HAZARDS_SHOWN = 6 };

static struct text hazards_heading(struct arena *arena, size_t cautions, size_t notices)
{
    struct text items[2];
    size_t count = 0;
    if (cautions > 0)
        items[count++] = say_count(arena, cautions, "caution");
    if (notices > 0)
        items[count++] = say_count(arena, notices, "notice");
    if (count == 0)
        return TEXT("Hazards on the way:");
    return text_fill(arena, "Hazards on the way ({} come before their steps):",
                     say_list(arena, items, count));
}

static void tell_hazards(struct talk *talk, const struct steps *steps)
{
    static const enum signal worst_first[] = {SIGNAL_DANGER, SIGNAL_WARNING, SIGNAL_CAUTION,
                                              SIGNAL_NOTICE};
    enum { SIGNALS = sizeof worst_first / sizeof *worst_first };
    struct arena *arena = talk_scratch(talk);
    struct distinct hazards[SIGNALS];
    size_t most = message_count(steps), all = 0;
    for (size_t i = 0; i < SIGNALS; i++) {
        hazards[i] = distinct_begin(arena, most);
        collect_hazards(steps, worst_first[i], &hazards[i], arena);
        all += hazards[i].count;
    }
    if (all == 0) {
        talk_tell(talk, TONE_PLAIN, TEXT("Hazards this procedure names: none."));
        return;
    }
    bool shows_all = all <= HAZARDS_SHOWN;
    talk_tell(talk, TONE_PLAIN,
              hazards_heading(arena, shows_all ? 0 : hazards[SIGNALS - 2].count,
                              shows_all ? 0 : hazards[SIGNALS - 1].count));
    for (size_t i = 0; i < SIGNALS; i++)
        for (size_t h = 0; h < hazards[i].count; h++)
            if (shows_all || worst_first[i] > SIGNAL_CAUTION)
                talk_tell(talk, TONE_PLAIN, text_fill(arena, "  {}", hazards[i].items[h]));
}

/* --- what will be out --------------------------------------------------------------------- */

static void tell_what_will_be_out(struct talk *talk, const struct steps *steps)
{
    const struct procedure *procedure = procedure_of(talk);
    struct arena *arena = talk_scratch(talk);
    struct distinct states = distinct_begin(arena, procedure->condition_count);
    struct distinct parts = distinct_begin(arena, procedure->part_count);
    struct distinct away = distinct_begin(arena, procedure->work_count);
    for (size_t i = 0; i < procedure->work_count; i++) {
        const struct work *work = procedure->works[i];
        if (work->kind == WORK_SECTION && work->is_away)
            distinct_add(&away, work->title.length == 0 ? TEXT("one section") : work->title);
    }
    for (size_t i = 0; i < steps->count; i++) {
        const struct step *step = steps->works[i]->step;
        for (size_t s = 0; s < step->sets_count; s++) {
            const struct condition *condition = procedure->conditions[step->sets[s].condition];
            if (condition->restore.length > 0)
                distinct_add(&states, say_name(arena, condition->name));
        }
        for (size_t r = 0; r < step->removes_count; r++)
            distinct_add(&parts, say_name(arena, procedure->parts[step->removes[r].part].name));
    }
    talk_tell(talk, TONE_PLAIN,
              text_fill(arena, "Set up on the way and undone by the end: {}.",
                        say_list(arena, states.items, states.count)));
    if (parts.count > 0)
        talk_tell(talk, TONE_PLAIN,
                  text_fill(arena, "Taken out and put back: {}.",
                            say_list(arena, parts.items, parts.count)));
    if (away.count > 0)
        talk_tell(talk, TONE_PLAIN,
                  text_fill(arena, "Hands not free, so read it whole before you go: {}.",
                            say_list(arena, away.items, away.count)));
}

/* --- the kit ------------------------------------------------------------------------------ */

struct kit {
    struct distinct tools, wear, parts, materials, gauges;
};

static size_t kit_size(const struct procedure *procedure, const struct steps *steps)
{
    size_t size = procedure->gauge_count;
    for (size_t i = 0; i < steps->count; i++) {
        const struct step *step = steps->works[i]->step;
        size += step->tool_count + step->wear_count + step->part_count + step->consume_count;
    }
    return size;
}

static struct text supply_words(const struct talk *talk, const struct supply *supply)
{
    struct arena *arena = talk_scratch(talk);
    struct surroundings surroundings = job_surroundings(talk->session->job, arena);
    if (supply->amount == NULL)
        return supply->name;
    struct value amount = expression_evaluate(supply->amount, &surroundings, arena);
    if (amount.count != 1 || amount.type.index != INDEX_NONE || amount.items[0].is_missing)
        return supply->name;
    return text_fill(
        arena, "{}: {}", supply->name,
        say_amount(arena, &amount.items[0], amount.type,
                   say_unit(arena, job_fitted(talk->session->job), supply->amount)));
}

static void kit_add_step(struct kit *kit, const struct talk *talk, const struct work *work)
{
    const struct step *step = work->step;
    const struct spot spot = {.work = work->id};
    for (size_t i = 0; i < step->tool_count; i++)
        distinct_add(&kit->tools,
                     job_fill(talk->session->job, &step->tools[i], &spot, talk_scratch(talk)));
    for (size_t i = 0; i < step->wear_count; i++)
        distinct_add(&kit->wear,
                     job_fill(talk->session->job, &step->wear[i], &spot, talk_scratch(talk)));
    for (size_t i = 0; i < step->part_count; i++)
        distinct_add(&kit->parts, supply_words(talk, &step->parts[i]));
    for (size_t i = 0; i < step->consume_count; i++)
        distinct_add(&kit->materials, supply_words(talk, &step->consumes[i]));
}

static struct text overdue_words(const struct talk *talk, const struct gauge *gauge)
{
    const struct session *session = talk->session;
    const struct event *started = job_started(session->job);
    return say_overdue(talk_scratch(talk), gauge, session->clock.now(session->clock.self).wall,
                       started != NULL ? started->zone : (struct text){0});
}

/* "brass pressure gauge, in psi; calibration was due 2026-03-01: past" */
static struct text gauge_words(const struct talk *talk, const struct gauge *gauge)
{
    struct arena *arena = talk_scratch(talk);
    struct text words = say_gauge(arena, gauge);
    struct text overdue = overdue_words(talk, gauge);
    if (gauge->unit != NULL && gauge->unit != &unit_one)
        words = text_fill(arena, "{}, in {}", words, gauge->unit->symbol);
    return overdue.length == 0 ? words : text_fill(arena, "{}; {}", words, overdue);
}

static void tell_overdue(struct talk *talk)
{
    struct arena *arena = talk_scratch(talk);
    const struct fitted *fitted = job_fitted(talk->session->job);
    for (size_t i = 0; i < fitted->procedure->gauge_count; i++) {
        const struct gauge *gauge = &fitted->gauges[i];
        struct text overdue = overdue_words(talk, gauge);
        if (overdue.length > 0)
            talk_tell(talk, TONE_NOTICE,
                      text_fill(arena, "{}: {}.", say_capital(arena, say_gauge(arena, gauge)),
                                overdue));
    }
}

static struct kit kit_collect(const struct talk *talk)
{
    const struct procedure *procedure = procedure_of(talk);
    struct arena *arena = talk_scratch(talk);
    struct steps steps = steps_to_come(talk);
    size_t size = kit_size(procedure, &steps);
    struct kit kit = {distinct_begin(arena, size), distinct_begin(arena, size),
                      distinct_begin(arena, size), distinct_begin(arena, size),
                      distinct_begin(arena, size)};
    for (size_t i = 0; i < steps.count; i++)
        kit_add_step(&kit, talk, steps.works[i]);
    for (size_t i = 0; i < procedure->gauge_count; i++) {
        const struct gauge *gauge = &job_fitted(talk->session->job)->gauges[i];
        distinct_add(&kit.gauges, gauge_words(talk, gauge));
    }
    return kit;
}

static void tell_kit_count(struct talk *talk)
{
    struct arena *arena = talk_scratch(talk);
    struct kit kit = kit_collect(talk);
    struct text items[5];
    size_t count = 0;
    if (kit.tools.count > 0)
        items[count++] = say_count(arena, kit.tools.count, "tool");
    if (kit.gauges.count > 0)
        items[count++] = say_count(arena, kit.gauges.count, "gauge");
    if (kit.wear.count > 0)
        items[count++] = say_count(arena, kit.wear.count, "protective item");
    if (kit.parts.count > 0)
        items[count++] = say_count(arena, kit.parts.count, "part");
    if (kit.materials.count > 0)
        items[count++] = say_count(arena, kit.materials.count, "material");
    if (count == 0)
        talk_tell(talk, TONE_PLAIN, TEXT("Lay out first: nothing is named."));
    else
        talk_tell(
            talk, TONE_PLAIN,
            text_fill(arena, "Lay out first (see kit): {}.", say_list(arena, items, count)));
}

static void tell_kit_part(struct talk *talk, const char *heading, const struct distinct *items)
{
    if (items->count == 0)
        return;
    talk_tell(talk, TONE_PLAIN, text_from(heading));
    talk_list(talk, TONE_DETAIL, items->items, items->count);
}

void present_kit(struct talk *talk)
{
    struct kit kit = kit_collect(talk);
    tell_kit_part(talk, "Tools:", &kit.tools);
    tell_kit_part(talk, "Gauges:", &kit.gauges);
    tell_kit_part(talk, "To wear:", &kit.wear);
    tell_kit_part(talk, "New parts:", &kit.parts);
    tell_kit_part(talk, "Fluids and materials:", &kit.materials);
    if (kit.tools.count + kit.gauges.count + kit.wear.count + kit.parts.count +
            kit.materials.count ==
        0)
        talk_tell(talk, TONE_PLAIN, TEXT("This procedure names nothing to lay out."));
}

/* --- the opening -------------------------------------------------------------------------- */

static struct text first_sentence(struct text whole)
{
    size_t end = text_find(whole, TEXT(". "));
    return end < whole.length ? text_slice(whole, 0, end + 1) : whole;
}

void present_opening(struct talk *talk)
{
    struct arena *arena = talk_scratch(talk);
    const struct fitted *fitted = job_fitted(talk->session->job);
    const struct procedure *procedure = fitted->procedure;
    struct text machine = text_fill(arena, "Machine: {}.", fitted->machine->title);
    if (procedure->duration.length > 0)
        machine = text_fill(arena, "{} Time: about {}.", machine, procedure->duration);
    talk_tell(talk, TONE_HEADING, procedure->title);
    talk_tell(talk, TONE_PLAIN, machine);
    if (job_is_rehearsal(talk->session->job))
        talk_tell(talk, TONE_NOTICE, TEXT("REHEARSAL: nothing here was done to a machine."));
    talk_tell(talk, TONE_PLAIN, first_sentence(procedure->about));
    if (procedure->applies_to.length > 0)
        talk_tell(talk, TONE_PLAIN, text_fill(arena, "For: {}.", procedure->applies_to));
    talk_tell(
        talk, TONE_NOTICE,
        TEXT("The machine's own manual, local rules and licensed practice come first. This "
             "program cannot see whether a precaution is in force. It goes by your answers."));
    struct text claim = claim_words(arena, talk->session->job);
    if (claim.length > 0)
        talk_tell(talk, TONE_DETAIL, text_fill(arena, "{} {}", claim, claim_limit_words()));
    struct steps steps = steps_to_come(talk);
    tell_hazards(talk, &steps);
    tell_what_will_be_out(talk, &steps);
    tell_kit_count(talk);
    tell_overdue(talk);
    talk_tell(talk, TONE_PLAIN,
              TEXT("Type a word at any time: why, where, note, pause. help lists them all."));
}

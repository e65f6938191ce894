#include "verify/rules_looking.h"

/* Steps as gates, sections, followed parts, and what the work as a whole says. */

/* --- gates ------------------------------------------------------------------------------------- */

/* Conditions that a person is asked before the step, each once. */
static size_t asked_before(const struct rules *rules, const struct step *step)
{
    size_t asked = 0;
    for (size_t i = 0; i < step->needs_count; i++) {
        bool is_repeated = false;
        for (size_t j = 0; j < i; j++)
            is_repeated = is_repeated || step->needs[j].condition == step->needs[i].condition;
        asked += !is_repeated && rules_condition(rules, step->needs[i].condition)->has_question;
    }
    return asked;
}

static void look_at_danger(struct rules *rules, const struct work *work)
{
    const struct step *step = work->step;
    if (!step_says_danger(step))
        return;
    const struct message *message = &step->messages[0];
    if (step->why.written.length == 0)
        SAY(rules, work, FINDING_DANGER_UNEXPLAINED, work->place);
    if (message->activity == NULL && step->needs_count == 0 && step->forbids_count == 0)
        SAY(rules, work, FINDING_DANGER_UNGATED, message->place);
}

/* A fluid that every round of a repeat pours in again; rags may be used up as often as need be. */
static bool is_poured(const struct supply *supply)
{
    return supply->amount != NULL && supply->at_most == NULL &&
           (kind_fits(supply->amount->type.kind, unit_find(TEXT("L"))->kind) ||
            kind_fits(supply->amount->type.kind, unit_find(TEXT("kg"))->kind));
}

static bool is_in_repeat(const struct work *work)
{
    for (; work != NULL; work = work->parent)
        if (work->kind == WORK_REPEAT)
            return true;
    return false;
}

static bool sums_up(const struct rules *rules, const struct step *step)
{
    for (size_t i = 0; i < step->reading_count; i++)
        if (rules->procedure->readings[step->readings[i]].field.again == AGAIN_ADDS)
            return true;
    return false;
}

static void look_at_supplies(struct rules *rules, const struct work *work)
{
    const struct step *step = work->step;
    if (step->consume_count == 0 || step->is_once || !is_in_repeat(work) ||
        sums_up(rules, step))
        return;
    for (size_t i = 0; i < step->consume_count; i++)
        if (is_poured(&step->consumes[i]))
            SAY(rules, work, FINDING_ADDED_EACH_ROUND, step->consumes[i].place,
                step->consumes[i].name);
}

void rules_gates_of_step(struct rules *rules, const struct work *work)
{
    enum { ASKED_MAX = 7 };
    size_t asked = asked_before(rules, work->step);
    if (asked > ASKED_MAX)
        SAY(rules, work, FINDING_GATE_LONG, work->place, rules_number(rules, asked));
    look_at_danger(rules, work);
    look_at_supplies(rules, work);
}

/* --- sections ----------------------------------------------------------------------------------- */

static bool has_own_end(const struct work *work)
{
    return work->kind == WORK_FOLLOW || (work->kind == WORK_SECTION && work->title.length > 0);
}

/* Steps in a row: what has an end of its own ends the row around it. */
struct row {
    size_t here, longest;
};

static void add_to_row(struct row *row, enum work_kind kind, size_t steps)
{
    if (kind == WORK_EITHER) /* one of the alternatives is gone through */
        row->here = steps > row->here ? steps : row->here;
    else
        row->here += steps;
    row->longest = row->here > row->longest ? row->here : row->longest;
}

static void look_at_sections(struct rules *rules)
{
    enum { STEPS_MAX = 12 };
    const struct procedure *procedure = rules->procedure;
    struct row *rows = arena_array(rules->scratch, struct row, procedure->work_count);
    for (size_t i = procedure->work_count; i-- > 0;) { /* children before their parents */
        const struct work *work = procedure->works[i];
        size_t steps = work->kind == WORK_STEP ? 1 : rows[i].longest;
        bool is_section = i == 0 || (work->kind == WORK_SECTION && work->title.length > 0);
        if (is_section && steps > STEPS_MAX)
            SAY(rules, NULL, FINDING_SECTION_LONG, work->place, rules_number(rules, steps));
        if (work->parent == NULL)
            continue;
        struct row *around = &rows[work->parent->id];
        if (has_own_end(work))
            around->here = 0;
        else
            add_to_row(around, work->parent->kind, steps);
    }
}

/* --- followed parts ------------------------------------------------------------------------------ */

static void look_at_follows(struct rules *rules)
{
    enum { DEPTH_MAX = 2 };
    const struct procedure *procedure = rules->procedure;
    unsigned *depths = arena_array(rules->scratch, unsigned, procedure->work_count);
    for (size_t i = procedure->work_count; i-- > 0;) {
        const struct work *work = procedure->works[i];
        depths[i] += work->kind == WORK_FOLLOW;
        if (work->kind == WORK_FOLLOW && depths[i] > DEPTH_MAX)
            SAY(rules, NULL, FINDING_FOLLOWED_DEEPLY, work->place,
                rules_number(rules, depths[i]));
        if (work->parent != NULL && depths[i] > depths[work->parent->id])
            depths[work->parent->id] = depths[i];
    }
}

/* --- the whole ----------------------------------------------------------------------------------- */

static bool names_something(const struct step *step)
{
    return step->tool_count > 0 || step->wear_count > 0 || step->part_count > 0 ||
           step->consume_count > 0 || step->torque != NULL;
}

static void look_at_kit(struct rules *rules)
{
    enum { STEPS_MIN = 5 }; /* a look at one place may well want nothing */
    const struct procedure *procedure = rules->procedure;
    if (procedure->is_part || procedure->step_count < STEPS_MIN || procedure->gauge_count > 0)
        return;
    for (size_t i = 0; i < procedure->work_count; i++)
        if (procedure->works[i]->step != NULL && names_something(procedure->works[i]->step))
            return;
    SAY(rules, NULL, FINDING_NOTHING_NEEDED, procedure->works[0]->place);
}

/* How many steps there are on the longest way, and how many of them say danger. */
struct tally {
    size_t steps, dangers;
};

/* A part's dangers are its own file's affair, and that of whoever checks it. */
static void look_at_dilution(struct rules *rules)
{
    enum { STEPS_MIN = 20, ONE_IN = 5 };
    const struct procedure *procedure = rules->procedure;
    struct tally *tallies = arena_array(rules->scratch, struct tally, procedure->work_count);
    for (size_t i = procedure->work_count; i-- > 0;) {
        const struct work *work = procedure->works[i];
        struct tally *own = &tallies[i];
        if (work->step != NULL && rules_is_own(rules, work->place))
            *own = (struct tally){1, step_says_danger(work->step)};
        if (work->parent == NULL)
            continue;
        struct tally *whole = &tallies[work->parent->id];
        if (work->parent->kind != WORK_EITHER) {
            whole->steps += own->steps;
            whole->dangers += own->dangers;
        } else if (own->steps > whole->steps) {
            *whole = *own;
        }
    }
    if (tallies[0].steps >= STEPS_MIN && tallies[0].dangers * ONE_IN > tallies[0].steps)
        SAY(rules, NULL, FINDING_DANGER_DILUTED, procedure->works[0]->place,
            rules_number(rules, tallies[0].dangers), rules_number(rules, tallies[0].steps));
}

void rules_order_of_work(struct rules *rules)
{
    look_at_sections(rules);
    look_at_follows(rules);
    look_at_kit(rules);
    look_at_dilution(rules);
}

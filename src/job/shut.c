#include "job/say.h"
#include "job_state.h"

/* --- why a gate is shut --------------------------------------------------------------------------- */

static struct text condition_name(const struct job *job, unsigned id, int position,
                                  struct arena *scratch)
{
    const struct condition *condition = job->procedure->conditions[id];
    struct text name = say_name(scratch, condition->name);
    if (position == INDEX_NONE)
        return name;
    return text_fill(scratch, "{}, {}", name,
                     index_label(job, condition->index, position, scratch));
}

/* Of several that set or clear it, the first that this machine and these readings do not rule out. */
static const struct work *step_about(const struct job *job, unsigned condition, bool sets,
                                     struct arena *scratch)
{
    const struct work *first = NULL;
    for (size_t i = 0; i < job->procedure->work_count; i++) {
        const struct work *work = job->procedure->works[i];
        const struct step *step = work->step;
        size_t count = step == NULL ? 0 : sets ? step->sets_count : step->clears_count;
        bool is_about = false;
        for (size_t k = 0; k < count; k++)
            is_about = is_about || (sets ? step->sets : step->clears)[k].condition == condition;
        if (!is_about)
            continue;
        struct spot spot = {.work = work->id};
        if (first == NULL)
            first = work;
        if (!job_never_does(job, work, scratch) &&
            !work_is_on_another_branch(job, work, &spot, job_time(job, job->last), scratch))
            return work;
    }
    return first;
}

/* Then the choice names it. */
static bool is_offered(const struct stand *stand, const struct work *setter)
{
    bool is_offered = false;
    for (size_t i = 0; i < stand->option_count; i++)
        is_offered = is_offered || (stand->options[i].kind == OPTION_REDO &&
                                    stand->options[i].spot.work == setter->id);
    return is_offered;
}

static struct text missing_words(const struct job *job, const struct stand *stand,
                                 const struct gate_item *item, struct arena *scratch)
{
    struct text name = condition_name(job, item->condition, item->position, scratch);
    const struct work *setter = step_about(job, item->condition, true, scratch);
    if (setter == NULL || is_offered(stand, setter))
        return text_fill(scratch, "{} is not in force.", name);
    return text_fill(scratch, "{} is not in force; {} sees to that.", name,
                     say_step(scratch, job, setter));
}

static struct text forbidden_words(const struct job *job, const struct gate_item *item,
                                   struct arena *scratch)
{
    struct text name = condition_name(job, item->condition, item->position, scratch);
    const struct work *clearer = step_about(job, item->condition, false, scratch);
    if (clearer == NULL)
        return text_fill(scratch, "it must not be while this holds: {}.", name);
    return text_fill(scratch, "it must not be while this holds: {}; {} ends it.", name,
                     say_step(scratch, job, clearer));
}

static struct text item_words(const struct job *job, const struct stand *stand,
                              const struct gate_item *item, struct arena *scratch)
{
    switch (item->reason) {
    case GATE_LAPSED:
        return text_fill(scratch, "{} must be asked again.",
                         condition_name(job, item->condition, item->position, scratch));
    case GATE_MISSING:
        return missing_words(job, stand, item, scratch);
    case GATE_FORBIDDEN:
        return forbidden_words(job, item, scratch);
    case GATE_BREAKS:
        return text_fill(scratch, "{} would be left without {}, which it wants.",
                         condition_name(job, item->condition, item->position, scratch),
                         condition_name(job, item->required, INDEX_NONE, scratch));
    }
    return (struct text){0};
}

/* The first follows a colon; each further one is a sentence of its own. */
static struct text gate_words(const struct job *job, const struct stand *stand,
                              struct arena *scratch)
{
    struct text *parts = arena_array(scratch, struct text, stand->gate.item_count);
    for (size_t i = 0; i < stand->gate.item_count; i++) {
        struct text words = item_words(job, stand, &stand->gate.items[i], scratch);
        parts[i] = i == 0 ? words : say_capital(scratch, words);
    }
    return text_join(scratch, parts, stand->gate.item_count, TEXT(" "));
}

/* With the way to it below, one step a line: what is missing is only named. */
static struct text gate_words_with_way(const struct job *job, const struct stand *stand,
                                       struct arena *scratch)
{
    struct text *missing = arena_array(scratch, struct text, stand->gate.item_count);
    struct text others = {0};
    size_t count = 0;
    for (size_t i = 0; i < stand->gate.item_count; i++) {
        const struct gate_item *item = &stand->gate.items[i];
        if (item->reason == GATE_MISSING)
            missing[count++] = condition_name(job, item->condition, item->position, scratch);
        else
            others = text_fill(scratch, "{} {}", others,
                               say_capital(scratch, item_words(job, stand, item, scratch)));
    }
    struct text named = text_join(scratch, missing, count, TEXT("; "));
    if (count > 0)
        named = text_fill(scratch, " NOT in force: {}.", named);
    return text_fill(scratch, "{}{} These steps put it right:{}", named, others, stand->way);
}

static struct text supply_words(const struct job *job, const struct stand *stand,
                                struct arena *scratch)
{
    struct surroundings surroundings =
        surroundings_at(job, &stand->spot, job_time(job, job->last), scratch);
    const struct supply *supply = stand->supply;
    const struct unit *unit = say_unit(scratch, job->fitted, supply->amount);
    struct value amount = expression_evaluate(supply->amount, &surroundings, scratch);
    struct value most = expression_evaluate(supply->at_most, &surroundings, scratch);
    return text_fill(scratch,
                     "{} of {} is more than the {} allowed here. Correct what this "
                     "rests on, or stop.",
                     value_in_words(job, &amount, unit, scratch), supply->name,
                     value_in_words(job, &most, unit, scratch));
}

static struct text timer_words(const struct job *job, const struct stand *stand,
                               struct arena *scratch)
{
    return text_fill(scratch, "it waits for {}, which was never started.",
                     say_name(scratch, job->procedure->timers[stand->timer].name));
}

static bool stands_in(const struct work *work, const struct work *inside)
{
    while (work != NULL && work != inside)
        work = work->parent;
    return work != NULL;
}

size_t job_denied(const struct job *job, const struct work *inside, const struct text **names,
                  struct arena *arena)
{
    struct text *found = arena_array(arena, struct text, job->conditions.standing_count);
    size_t count = 0;
    for (unsigned i = 0; i < job->procedure->condition_count; i++) {
        bool has_positions = job->procedure->conditions[i]->index != INDEX_NONE;
        for (unsigned at = 0; at < job->conditions.count[i]; at++) {
            unsigned done = job->denied[job->conditions.first[i] + at];
            if (done != 0 &&
                stands_in(job->procedure->works[job_event(job, done)->spot.work], inside))
                found[count++] =
                    condition_name(job, i, has_positions ? (int)at : INDEX_NONE, arena);
        }
    }
    *names = found;
    return count;
}

/* Said at once, at the step whose own question was answered so. */
static struct text denied_words(const struct job *job, const struct stand *stand,
                                struct arena *scratch)
{
    struct text *names = arena_array(scratch, struct text, stand->gate.item_count);
    for (size_t i = 0; i < stand->gate.item_count; i++)
        names[i] = condition_name(job, stand->gate.items[i].condition,
                                  stand->gate.items[i].position, scratch);
    struct text named = say_list(scratch, names, stand->gate.item_count);
    if (stand->way.length > 0)
        return text_fill(scratch,
                         "NOT in force: {}. What needs it stays shut until it is. These steps "
                         "put it right:{}",
                         named, stand->way);
    return text_fill(
        scratch, "NOT in force: {}. What needs it stays shut until it is. What now?", named);
}

static struct text open_words(const struct job *job, struct arena *scratch)
{
    const struct text *items;
    size_t count = job_open_items(job, job->last, &items, scratch);
    return text_join(scratch, items, count, TEXT("; "));
}

static struct text safe_words(const struct job *job, struct arena *scratch)
{
    struct text rest = open_words(job, scratch);
    if (rest.length == 0)
        return TEXT("Every condition is back in its normal state; nothing is out or running.");
    return text_fill(scratch, "Every condition is back in its normal state. Still open: {}.",
                     rest);
}

/* Its headline stands above the question; its action is not told, because its gate is shut. */
static struct text shut_work(const struct stand *stand, struct arena *scratch)
{
    if (stand->work != NULL && stand->work->step != NULL)
        return TEXT("this step");
    if (stand->work != NULL && stand->work->title.length > 0)
        return text_fill(scratch, "the part '{}'", stand->work->title);
    return TEXT("the next part");
}

/* One thing a line: what it takes to put it right, then what else is out. */
static struct text no_order_words(const struct job *job, struct arena *scratch)
{
    struct makesafe_order order = job_makesafe_order(job, job->last, scratch);
    const struct makesafe *makesafe = &order.makesafe;
    struct text *lines =
        arena_array(scratch, struct text, makesafe->open_count + order.left_count + 1);
    size_t count = 0;
    lines[count++] =
        TEXT("No order was found in which the steps of this procedure put it right. "
             "By hand, with care, and in this order:");
    for (size_t i = 0; i < makesafe->open_count; i++) {
        const struct open_condition *open = &makesafe->open[i];
        const struct condition *condition = job->procedure->conditions[open->condition];
        struct text where = say_position(scratch, job, condition->index, open->position);
        lines[count++] = where.length == 0
                             ? text_fill(scratch, "- {}", condition->restore)
                             : text_fill(scratch, "- {} ({})", condition->restore, where);
    }
    struct text *parts = arena_array(scratch, struct text, order.left_count);
    size_t part_count = say_parts(scratch, job, order.left, order.left_count, parts);
    for (size_t i = 0; i < part_count; i++)
        lines[count++] = text_fill(scratch, "- {}", parts[i]);
    return text_join(scratch, lines, count, TEXT("\n"));
}

struct text shut_words(const struct job *job, const struct stand *stand, struct arena *scratch)
{
    struct text step = say_capital(scratch, shut_work(stand, scratch));
    switch (stand->shut) {
    case SHUT_GATE:
        if (stand->way.length > 0)
            return text_fill(scratch, "{} cannot be begun.{}", step,
                             gate_words_with_way(job, stand, scratch));
        return text_fill(scratch, "{} cannot be begun: {}", step,
                         gate_words(job, stand, scratch));
    case SHUT_SUPPLY:
        return text_fill(scratch, "{} cannot be begun: {}", step,
                         supply_words(job, stand, scratch));
    case SHUT_UNDECIDED:
        return text_fill(
            scratch,
            "Whether {} is to be done cannot be worked out: {} is missing. Correct "
            "it, or stop.",
            shut_work(stand, scratch), stand->missing);
    case SHUT_UNKNOWN:
        return text_fill(
            scratch,
            "{} cannot go on: {} is missing, and it is needed here. Correct it, or stop.", step,
            stand->missing);
    case SHUT_TIMER:
        return text_fill(scratch, "{} cannot be begun: {}", step,
                         timer_words(job, stand, scratch));
    case SHUT_DENIED:
        return denied_words(job, stand, scratch);
    case SHUT_BROKEN:
        return text_fill(scratch, "The work does not go on: {}",
                         gate_words(job, stand, scratch));
    case SHUT_OPEN_END:
        return text_fill(scratch, "The work is through, but not all is put right: {}.",
                         open_words(job, scratch));
    case SHUT_SAFE:
        return safe_words(job, scratch);
    case SHUT_NO_ORDER:
        return no_order_words(job, scratch);
    }
    return (struct text){0};
}

#include "job/claim.h"

#include "job/say.h"

struct text claim_words(struct arena *arena, const struct job *job)
{
    const struct event *started = job_started(job);
    if (started == NULL || started->proven.verdict.length == 0)
        return (struct text){0};
    const struct proven *proven = &started->proven;
    return text_fill(
        arena,
        "Proven before the start: on every path each declared precaution is reached "
        "({}, {}), if the answers are true and the library is sufficient.",
        say_count(arena, proven->states, "state"),
        proven->branches == 1
            ? TEXT("1 branch")
            : text_fill(arena, "{} branches", text_number(arena, (long long)proven->branches)));
}

struct text claim_limit_words(void)
{
    return TEXT(
        "Not proven: that the work was done, or done well; times; anything after a step "
        "skipped by force.");
}

long long claim_step_number(const struct procedure *procedure, const struct work *step)
{
    long long number = 0;
    for (size_t i = 0; i <= step->id; i++)
        number += procedure->works[i]->step != NULL;
    return number;
}

struct text claim_step_words(struct arena *arena, const struct procedure *procedure,
                             const struct work *step)
{
    return text_fill(arena, "step {} ({})",
                     text_number(arena, claim_step_number(procedure, step)),
                     say_name(arena, step->step->own_name));
}

/* "DANGER at step 23 (turn over)"; a step that warns of nothing hurts nobody. */
static struct text reached_words(struct arena *arena, const struct procedure *procedure,
                                 const struct critical_step *critical)
{
    if (critical->reached == NULL || critical->reached->step == NULL)
        return TEXT("a section or round");
    struct text step = claim_step_words(arena, procedure, critical->reached);
    static const char *const signals[] = {[SIGNAL_NOTICE] = "",
                                          [SIGNAL_CAUTION] = "CAUTION at ",
                                          [SIGNAL_WARNING] = "WARNING at ",
                                          [SIGNAL_DANGER] = "DANGER at "};
    return text_fill(arena, "{}{}", text_from(signals[critical->harm]), step);
}

struct text claim_harm_words(struct arena *arena, const struct procedure *procedure,
                             const struct critical_step *critical)
{
    struct text condition = {0};
    if (critical->fault != FAULT_PART_LEFT && procedure->condition_count > 0)
        condition = say_name(arena, procedure->conditions[critical->condition]->name);
    struct text where = reached_words(arena, procedure, critical);
    switch (critical->fault) {
    case FAULT_NEED:
        return text_fill(arena, "{} without this: {}", where, condition);
    case FAULT_FORBIDDEN:
        return text_fill(arena, "{} with this still so: {}", where, condition);
    case FAULT_REQUIRES:
        return text_fill(arena, "{} without this: {}", where,
                         say_name(arena, procedure->conditions[critical->required]->name));
    case FAULT_PART_LEFT:
        return text_fill(arena, "not put back at the end: {}",
                         say_name(arena, procedure->parts[critical->part].name));
    case FAULT_PART_OUT: /* no harm of a step left out, only of how the work is written */
    case FAULT_PART_IN:
        return where;
    case FAULT_LEFT:
    case FAULT_ROUND:
    case FAULT_NO_ORDER:
        return text_fill(arena, "left as it is: {}", condition);
    case FAULT_ONCE:
    case FAULT_UNREACHED:
        break;
    }
    return where;
}

enum hanging claim_of_step(const struct ranking *ranking, const struct work *step,
                           const struct critical_step **critical)
{
    for (size_t i = 0; i < ranking->count; i++) {
        if (ranking->steps[i].work != step)
            continue;
        *critical = &ranking->steps[i];
        return ranking->steps[i].harm >= SIGNAL_WARNING ? HANGING_MUCH : HANGING_LITTLE;
    }
    for (size_t i = 0; i < ranking->unranked_count; i++)
        if (ranking->unranked[i] == step)
            return HANGING_UNKNOWN;
    return HANGING_LITTLE;
}

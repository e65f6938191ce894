#include "verify/verify.h"

#include "prove.h"
#include "words.h"

/* --- where to say it ------------------------------------------------------------------------ */

static bool is_of_procedure(const struct procedure *procedure, const struct place *place)
{
    for (size_t i = 0; i < procedure->source_count; i++)
        if (place->source == procedure->sources[i])
            return true;
    return false;
}

/* Where the step says so itself; what an activity wants is said at the step. */
static struct place place_of_use(const struct procedure *procedure, const struct work *work,
                                 const struct condition_use *uses, size_t count,
                                 unsigned condition)
{
    for (size_t i = 0; work->step != NULL && i < count; i++)
        if (uses[i].condition == condition && is_of_procedure(procedure, &uses[i].place))
            return uses[i].place;
    return work->place;
}

static struct place place_of_fault(const struct procedure *procedure,
                                   const struct unsafe_path *path)
{
    const struct work *work = path->work;
    if (work == NULL)
        work = path->undoer != NULL ? path->undoer : procedure->works[0];
    const struct step *step = work->step;
    if (step == NULL)
        return work->place;
    switch (path->fault) {
    case FAULT_NEED:
        return place_of_use(procedure, work, step->needs, step->needs_count, path->condition);
    case FAULT_FORBIDDEN:
        return place_of_use(procedure, work, step->forbids, step->forbids_count,
                            path->condition);
    case FAULT_LEFT:
        return place_of_use(procedure, work, step->sets, step->sets_count, path->condition);
    case FAULT_REQUIRES:
    case FAULT_PART_LEFT:
    case FAULT_PART_OUT:
    case FAULT_PART_IN:
    case FAULT_ONCE:
    case FAULT_NO_ORDER:
    case FAULT_ROUND:
    case FAULT_UNREACHED:
        break;
    }
    return work->place;
}

/* --- findings --------------------------------------------------------------------------------- */

static void report_fault(const struct procedure *procedure, const struct unsafe_path *path,
                         struct diagnostics *found)
{
    struct arena *arena = found->arena;
    struct place place = place_of_fault(procedure, path);
    struct text cause = words_of_cause(path, arena);
    struct text condition = procedure->condition_count == 0
                                ? (struct text){0}
                                : procedure->conditions[path->condition]->name;
    switch (path->fault) {
    case FAULT_NEED:
        report(found, FINDING_NEED_UNMET, place, condition, cause);
        break;
    case FAULT_FORBIDDEN:
        report(found, FINDING_FORBIDDEN_SO, place, condition, cause);
        break;
    case FAULT_REQUIRES:
        report(found, FINDING_REQUIRED_BROKEN, place, condition,
               procedure->conditions[path->required]->name, cause);
        break;
    case FAULT_LEFT:
        report(found, FINDING_LEFT_OPEN, place, condition, cause);
        break;
    case FAULT_PART_LEFT:
        report(found, FINDING_PART_LEFT_OUT, place, procedure->parts[path->part].name, cause);
        break;
    case FAULT_PART_OUT:
        report(found, FINDING_PART_OUT_ALREADY, place, procedure->parts[path->part].name,
               cause);
        break;
    case FAULT_PART_IN:
        report(found, FINDING_PART_IN_ALREADY, place, procedure->parts[path->part].name, cause);
        break;
    case FAULT_ONCE:
        report(found, FINDING_ONCE_DONE_TWICE, place);
        break;
    case FAULT_NO_ORDER:
        report(found, FINDING_NO_SAFE_ORDER, place, condition,
               words_of_block(procedure, path, arena));
        break;
    case FAULT_ROUND:
        report(found, FINDING_ROUND_UNEVEN, place, condition);
        break;
    case FAULT_UNREACHED:
        report(found, FINDING_STEP_UNREACHED, place);
        break;
    }
}

static void report_path(const struct procedure *procedure, const struct unsafe_path *path,
                        struct diagnostics *found)
{
    report_fault(procedure, path, found);
    if (path->helper != NULL && path->helper != path->work)
        report(found, FINDING_WOULD_HELP_HERE, path->helper->place);
    if (path->undoer != NULL && path->undoer != path->work && path->work != NULL)
        report(found, FINDING_MADE_SO_HERE, path->undoer->place);
}

static void report_too_large(const struct procedure *procedure, const struct proof *proof,
                             struct diagnostics *found)
{
    struct arena *arena = found->arena;
    struct text what = TEXT("Divide it into several procedures.");
    if (proof->multiply_count > 0)
        what =
            text_fill(arena, "What multiplies: {}. Divide it into several procedures.",
                      text_join(arena, proof->multiplies, proof->multiply_count, TEXT("; ")));
    struct place place = procedure->works[0]->place;
    report(found, FINDING_NOT_PROVEN, place, what);
}

struct proof verify_procedure(const struct procedure *procedure, struct diagnostics *found,
                              struct arena *arena, struct arena *scratch)
{
    if (procedure == NULL || found->count_by_severity[SEVERITY_ERROR] > 0)
        return (struct proof){.verdict = PROOF_MISTAKES};
    if (procedure->is_part)
        return (struct proof){.verdict = PROOF_PART};
    struct proving proving = {
        .with_orders = true, .states_max = PROOF_STATES_MAX, .found = found};
    struct proof proof = prove(procedure, proving, arena, scratch);
    for (size_t i = 0; i < proof.path_count; i++)
        report_path(procedure, &proof.paths[i], found);
    for (size_t i = 0; i < proof.doubt_count; i++)
        report_path(procedure, &proof.doubts[i], found);
    if (proof.verdict == PROOF_TOO_LARGE)
        report_too_large(procedure, &proof, found);
    return proof;
}

struct proof verify_taken_up(const struct procedure *procedure, const struct diagnostics *found)
{
    if (procedure == NULL || found->count_by_severity[SEVERITY_ERROR] > 0)
        return (struct proof){.verdict = PROOF_MISTAKES};
    if (procedure->is_part)
        return (struct proof){.verdict = PROOF_PART};
    return (struct proof){.verdict = PROOF_SOUND, .sound = {.procedure = procedure}};
}

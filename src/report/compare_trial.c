/* Did it work: what was treated between two jobs, held against what was left alone. */
#include "comparison.h"
#include "history_series.h"
#include "job/say.h"
#include "job/trials.h"
#include "measure/careful.h"

#include <math.h>

/* One reading, and who was treated between its two times. */
struct weighing {
    struct comparison *comparison;
    const struct pair *pair;
    const struct treatment *treatments; /* those of trials, whenever they were */
    size_t treatment_count;
    const struct treatment
        *taken; /* the one that treated just these; NULL: somebody named them */
    struct trial_position *positions;
    struct trial_outcome outcome;
    struct judged judged;
    struct rows cautions;
    struct arena *arena;
};

/* --- who ------------------------------------------------------------------------------------------- */

static struct text trial_told(struct arena *arena, const struct treatment *treatment)
{
    return text_fill(arena, "the trial '{}' of {}", say_name(arena, treatment->trial->name),
                     treatment->side->name);
}

/* Who was named; else the first that a trial treated in between.  False: nobody is known. */
static bool find_treated(struct weighing *weighing)
{
    const struct comparison *comparison = weighing->comparison;
    const struct compare_treated *named = comparison->treated;
    if (named->is_named && !text_equal(named->index, pair_index(comparison, weighing->pair)))
        return false;
    for (size_t i = 0; i < weighing->treatment_count && weighing->taken == NULL; i++) {
        const struct treatment *treatment = &weighing->treatments[i];
        bool is_meant = named->is_named ? treatment->positions == named->positions
                                        : !treatment->trial->reaches_all;
        if (treatment->when == TREATED_IN_BETWEEN && is_meant)
            weighing->taken = treatment;
    }
    struct judged *judged = &weighing->judged;
    judged->treated = named->is_named           ? named->positions
                      : weighing->taken != NULL ? weighing->taken->positions
                                                : 0;
    judged->better = named->better;
    if (judged->better == BETTER_UNSAID && weighing->taken != NULL)
        judged->better = weighing->taken->trial->is_lower_better ? BETTER_LOWER : BETTER_HIGHER;
    return judged->treated != 0;
}

static struct text treated_told(const struct weighing *weighing)
{
    struct arena *arena = weighing->arena;
    struct text labels = labels_told(weighing->pair->labels, weighing->judged.treated, arena);
    if (weighing->taken == NULL)
        return text_fill(arena, "{}, as named here", labels);
    bool is_one = trial_count(weighing->judged.treated) == 1;
    return text_fill(arena, is_one ? "{}, as {} treated it" : "{}, as {} treated them", labels,
                     trial_told(arena, weighing->taken));
}

/* --- the numbers ----------------------------------------------------------------------------------- */

static unsigned reading_number(const struct side *side, const struct reading *reading)
{
    return (unsigned)(reading - side->procedure->readings);
}

static void judge(struct weighing *weighing)
{
    struct arena *arena = weighing->arena;
    const struct comparison *comparison = weighing->comparison;
    const struct pair *pair = weighing->pair;
    size_t count = pair->labels->count;
    struct text *names = arena_array(arena, struct text, count);
    weighing->positions = arena_array(arena, struct trial_position, count);
    for (unsigned i = 0; i < count; i++) {
        struct trial_position *position = &weighing->positions[i];
        position->is_treated = judged_is_treated(&weighing->judged, i);
        position->before = reading_numbers(comparison->before.job,
                                           reading_number(&comparison->before, pair->reading),
                                           i, &position->before_count, arena);
        position->after = reading_numbers(comparison->after.job,
                                          reading_number(&comparison->after, pair->then), i,
                                          &position->after_count, arena);
        names[i] = say_position(arena, comparison->before.job, pair->reading->index, (int)i);
    }
    weighing->outcome = trial_judge(weighing->positions, count, arena);
    weighing->judged.outcome = &weighing->outcome;
    weighing->judged.unit = history_step_unit(pair->reading->field.unit);
    weighing->judged.names = names;
    weighing->judged.count = count;
    weighing->judged.arena = arena;
}

/* By how much errors of one origin may move the effect, 95 %. */
static double effect_moved_by(struct weighing *weighing, enum error_origin origin)
{
    struct arena *arena = weighing->arena;
    size_t count = weighing->judged.count;
    struct errors_of_jobs *of_jobs = &weighing->comparison->errors;
    struct trial_errors *errors = arena_array(arena, struct trial_errors, count);
    for (size_t i = 0; i < count; i++)
        errors[i] = (struct trial_errors){
            .is_treated = judged_is_treated(&weighing->judged, i),
            .before = errors_in(of_jobs, SIDE_BEFORE,
                                weighing->pair->before.items[i].number.gradient),
            .after =
                errors_in(of_jobs, SIDE_AFTER, weighing->pair->after.items[i].number.gradient)};
    const struct gradient *sum = trial_effect_errors(&weighing->outcome, errors, count, arena);
    return gradient_expanded(gradient_of_origin(arena, sum, origin));
}

/* --- what speaks against leaning on it ----------------------------------------------------------------- */

static void add_caution(struct weighing *weighing, struct text caution)
{
    if (caution.length > 0)
        rows_add(&weighing->cautions, caution);
}

static void downgrade(struct weighing *weighing, struct text by)
{
    struct text *unmatched = &weighing->judged.unmatched;
    *unmatched =
        unmatched->length == 0 ? by : text_fill(weighing->arena, "{}, {}", *unmatched, by);
}

static struct text dated(const struct gauge *gauge, struct arena *arena)
{
    if (gauge == NULL)
        return TEXT("no gauge named");
    struct text told = gauge_told(gauge, arena);
    return gauge->calibrated.length > 0 ? told
                                        : text_fill(arena, "{}, no calibration date", told);
}

/* Another gauge, or the same one adjusted, is not the same to read with; of one without a date nobody
 * knows, and it is asked whether two gauges would have been enough to make it. */
static void add_gauges(struct weighing *weighing)
{
    struct arena *arena = weighing->arena;
    const struct comparison *comparison = weighing->comparison;
    const struct gauge *before = gauge_in(&comparison->before, weighing->pair->reading);
    const struct gauge *after = gauge_in(&comparison->after, weighing->pair->then);
    if (before == NULL && after == NULL) {
        add_caution(weighing, TEXT("Gauge: none was named in either job; whether it was the "
                                   "same one is not known."));
        return;
    }
    bool are_both = before != NULL && after != NULL;
    enum gauges_alike alike = are_both ? gauges_compare(before, after) : OTHER_GAUGE;
    struct two_gauges two = {
        .is_accuracy_known =
            are_both && before->accuracy_count > 0 && after->accuracy_count > 0,
        .off = isnan(weighing->outcome.effect) ? 0 : effect_moved_by(weighing, ERROR_ACCURACY),
        .before = dated(before, arena),
        .after = dated(after, arena)};
    bool may_be_all =
        trial_hangs_on(&weighing->outcome, two.is_accuracy_known ? two.off : INFINITY);
    switch (alike) {
    case ONE_GAUGE:
        return;
    case GAUGE_UNDATED:
        two.is_perhaps_one = true;
        two.mismatch = may_be_all ? TEXT("gauge") : TEXT("");
        break;
    case GAUGE_RERATED:
        two.mismatch = TEXT("accuracy of the gauge");
        break;
    case GAUGE_RECALIBRATED:
        two.mismatch = TEXT("calibration");
        break;
    case OTHER_GAUGE:
        two.mismatch = TEXT("gauge");
        break;
    }
    if (two.mismatch.length > 0)
        downgrade(weighing, two.mismatch);
    add_caution(weighing, judged_two_gauges(&two, weighing->judged.unit, arena));
}

static double step_of(const struct gauge *gauge)
{
    return gauge == NULL ? 0 : gauge->resolution;
}

static void add_scale(struct weighing *weighing)
{
    const struct trial_outcome *outcome = &weighing->outcome;
    const struct comparison *comparison = weighing->comparison;
    double before = step_of(gauge_in(&comparison->before, weighing->pair->reading));
    double after = step_of(gauge_in(&comparison->after, weighing->pair->then));
    if (isnan(outcome->effect) || !trial_is_scale_coarse(outcome, before, after))
        return;
    double moved = effect_moved_by(weighing, ERROR_RESOLUTION);
    bool may_be_all = trial_hangs_on(outcome, moved);
    if (may_be_all)
        downgrade(weighing, TEXT("the steps of the scale"));
    add_caution(weighing,
                judged_coarse_scale(may_be_all, moved, weighing->judged.unit, weighing->arena));
}

static void add_differences(struct weighing *weighing)
{
    struct arena *arena = weighing->arena;
    const struct comparison *comparison = weighing->comparison;
    struct text *others = arena_array(arena, struct text, comparison->difference_count);
    size_t count = 0;
    for (size_t i = 0; i < comparison->difference_count; i++) {
        const struct difference *difference = &comparison->differences[i];
        if (difference->bearing == BEARS_PERHAPS)
            others[count++] = difference->what;
        if (difference->bearing != BEARS)
            continue;
        downgrade(weighing, difference->what);
        add_caution(weighing,
                    text_fill(arena, "Not comparable by {}: in {} {}, in {} {}.",
                              difference->what, comparison->before.name, difference->before,
                              comparison->after.name, difference->after));
    }
    if (count > 0)
        add_caution(weighing,
                    text_fill(arena,
                              "Read otherwise too: {}. If that came of the treatment, well; "
                              "if the readings were taken in another state, they do not "
                              "compare.",
                              say_list(arena, others, count)));
}

/* Who else was treated, or was already. */
static void add_treatments(struct weighing *weighing)
{
    struct arena *arena = weighing->arena;
    for (size_t i = 0; i < weighing->treatment_count; i++) {
        const struct treatment *treatment = &weighing->treatments[i];
        struct text who =
            treatment->trial->reaches_all
                ? TEXT("all of them")
                : labels_told(weighing->pair->labels, treatment->positions, arena);
        if (treatment->when == TREATED_IN_BETWEEN && treatment != weighing->taken)
            add_caution(weighing,
                        text_fill(arena,
                                  "Also treated in between: {}, by {}. This comparison cannot "
                                  "tell the two apart.",
                                  who, trial_told(arena, treatment)));
        if (treatment->when == TREATED_BEFORE_BOTH)
            add_caution(weighing,
                        text_fill(arena,
                                  "Carry-over: {} had treated {} before the first of "
                                  "these readings. What it did may still be changing.",
                                  trial_told(arena, treatment), who));
    }
}

/* The treated ones all below, or all above, those left alone. */
static void add_regression(struct weighing *weighing)
{
    const struct trial_outcome *outcome = &weighing->outcome;
    struct regression regression = {.repeat_scatter = NAN};
    struct scatter scatter = {0};
    double lowest[2] = {INFINITY, INFINITY}, highest[2] = {-INFINITY, -INFINITY};
    for (size_t i = 0; i < weighing->judged.count; i++) {
        const struct trial_position *position = &weighing->positions[i];
        if (!outcome->changes[i].is_worked_out)
            continue;
        double mean = careful_mean(position->before, position->before_count);
        lowest[position->is_treated] = fmin(lowest[position->is_treated], mean);
        highest[position->is_treated] = fmax(highest[position->is_treated], mean);
        scatter_add(&scatter, position->before, position->before_count);
        if (regression.positions++ == 0 || position->before_count < regression.before)
            regression.before = (unsigned)position->before_count;
    }
    if (outcome->treated == 0 || outcome->untreated == 0)
        return;
    regression.is_highest = lowest[true] > highest[false];
    if (!regression.is_highest && !(highest[true] < lowest[false]))
        return;
    if (scatter.freedom > 0)
        regression.repeat_scatter = scatter_deviation(&scatter);
    struct text who = text_fill(weighing->arena,
                                outcome->treated == 1 ? "the treated one was the {} before."
                                                      : "the treated ones were the {} before.",
                                regression.is_highest ? TEXT("highest") : TEXT("lowest"));
    add_caution(weighing,
                judged_regression(who, &regression, weighing->judged.unit, weighing->arena));
}

static void add_cautions(struct weighing *weighing)
{
    const struct trial_outcome *outcome = &weighing->outcome;
    struct arena *arena = weighing->arena;
    bool is_drawn = weighing->taken != NULL && weighing->taken->trial->chosen == NULL &&
                    !weighing->taken->trial->reaches_all;
    add_gauges(weighing);
    add_scale(weighing);
    add_differences(weighing);
    add_treatments(weighing);
    add_caution(weighing, judged_single(outcome));
    if (outcome->verdict != TRIAL_NONE &&
        (outcome->is_floor_treated || outcome->is_floor_untreated))
        add_caution(weighing,
                    TEXT("One job's repeats: the give or take goes by how readings scatter "
                         "within a job. "
                         "Set up anew on another day they scatter more, and so few positions "
                         "need not show it."));
    add_caution(weighing, judged_one_by_one(outcome));
    add_regression(weighing);
    add_caution(weighing, judged_ceiling(arena, say_name(arena, pair_index(weighing->comparison,
                                                                           weighing->pair))));
    add_caution(weighing, is_drawn ? judged_counting(outcome, arena) : judged_not_drawn());
}

/* --- all of it ---------------------------------------------------------------------------------------------- */

struct weighings {
    struct weighing *items;
    size_t count;
};

static bool has_caution(const struct weighing *weighing, struct text caution)
{
    for (size_t i = 0; i < weighing->cautions.count; i++)
        if (text_equal(weighing->cautions.items[i].cells[0], caution))
            return true;
    return false;
}

/* What is said of every reading is said once, below them. */
static bool is_common(const struct weighings *weighings, struct text caution)
{
    for (size_t i = 0; i < weighings->count; i++)
        if (!has_caution(&weighings->items[i], caution))
            return false;
    return weighings->count > 1;
}

static void tell_cautions(const struct weighings *weighings, const struct weighing *of,
                          bool are_common, struct text heading)
{
    struct rows rows = rows_begin(of->arena);
    for (size_t i = 0; i < of->cautions.count; i++) {
        struct text caution = of->cautions.items[i].cells[0];
        if (is_common(weighings, caution) == are_common)
            rows_add(&rows, caution);
    }
    blocks_list(&of->comparison->blocks, heading, &rows);
}

static void tell_weighing(const struct weighings *weighings, const struct weighing *weighing)
{
    struct arena *arena = weighing->arena;
    struct blocks *blocks = &weighing->comparison->blocks;
    struct rows rows = rows_begin(arena), changes = rows_begin(arena);
    struct text name = say_capital(arena, say_name(arena, weighing->pair->reading->name));
    rows_add(&rows, TEXT("Treated"), treated_told(weighing));
    rows_add(&rows, TEXT("Verdict"), judged_answer(&weighing->judged));
    blocks_fields(blocks, text_fill(arena, "Did it work? {}", name), &rows);
    blocks_paragraph(
        blocks, TONE_PLAIN,
        judged_sentence(&weighing->judged, judged_lack(&weighing->outcome, true), TEXT("")));
    for (size_t i = 0; i < weighing->judged.count; i++)
        rows_add(&changes, judged_change(&weighing->judged, i));
    blocks_list(blocks, TEXT("By how much each changed"), &changes);
    tell_cautions(weighings, weighing, false, TEXT("How far this can be leaned on"));
}

static void tell_all(const struct weighings *weighings, struct comparison *comparison)
{
    struct blocks *blocks = &comparison->blocks;
    blocks_paragraph(blocks, TONE_CAUTION,
                     TEXT("Those left alone are the only thing to compare with. What changed "
                          "in all of them alike in between, like weather or fuel, drops out. "
                          "What else was done to some of them does not, and need not be in "
                          "the record."));
    for (size_t i = 0; i < weighings->count; i++)
        tell_weighing(weighings, &weighings->items[i]);
    if (weighings->count < 2)
        return;
    tell_cautions(weighings, &weighings->items[0], true,
                  TEXT("How far all of these can be leaned on"));
    blocks_paragraph(blocks, TONE_PLAIN,
                     TEXT("Where nothing works, about one reading in twenty looks as if it "
                          "did: the more readings are looked at, the sooner one does."));
}

size_t tell_whether_it_worked(struct comparison *comparison)
{
    struct weighings weighings = {
        arena_array(comparison->arena, struct weighing, comparison->pair_count), 0};
    for (size_t i = 0; i < comparison->pair_count; i++) {
        const struct pair *pair = &comparison->pairs[i];
        struct weighing *weighing = &weighings.items[weighings.count];
        *weighing = (struct weighing){.comparison = comparison,
                                      .pair = pair,
                                      .cautions = rows_begin(comparison->arena),
                                      .arena = comparison->arena};
        if (pair->labels == NULL)
            continue;
        weighing->treatment_count = treatments_of(comparison, pair, &weighing->treatments);
        if (!find_treated(weighing))
            continue;
        judge(weighing);
        add_cautions(weighing);
        weighings.count++;
    }
    if (weighings.count > 0)
        tell_all(&weighings, comparison);
    return weighings.count;
}

#include "job/trials.h"

#include "job/say.h"
#include "job_state.h"

#include <math.h>

/* --- who is treated --------------------------------------------------------------------------- */

const struct event *trial_allotted(const struct job *job, const struct trial *trial)
{
    struct spot spot = {.work = trial->allotted_by->id};
    struct sought sought = {
        .kind = EVENT_DECIDED, .name = TEXT("draw"), .position = INDEX_NONE};
    return fact_find(job, fact_at(job, &spot), &sought);
}

int trial_index(const struct job *job, const struct trial *trial)
{
    return job->procedure->readings[trial->before].index;
}

unsigned trial_count(unsigned long long positions)
{
    unsigned count = 0;
    for (; positions != 0; positions &= positions - 1)
        count++;
    return count;
}

static unsigned long long read_positions(const struct job *job, unsigned reading,
                                         struct arena *scratch)
{
    size_t count = index_size(job, job->procedure->readings[reading].index);
    unsigned long long positions = 0;
    for (size_t i = 0; i < count; i++)
        if (reading_repeats(job, reading, i, scratch) > 0)
            positions |= 1ULL << i;
    return positions;
}

unsigned long long trial_read_before(const struct job *job, const struct trial *trial,
                                     struct arena *scratch)
{
    return read_positions(job, trial->before, scratch);
}

bool trial_chosen(const struct job *job, const struct trial *trial, long long time,
                  unsigned long long *positions, struct text *missing, struct arena *scratch)
{
    struct spot spot = {.work = trial->allotted_by->id};
    struct surroundings surroundings = surroundings_at(job, &spot, time, scratch);
    struct value value = expression_evaluate(trial->chosen, &surroundings, scratch);
    bool is_known = false;
    *positions = 0;
    *missing = trial->chosen->written;
    for (size_t i = 0; i < value.count; i++) {
        if (value.items[i].is_missing)
            *missing = value.items[i].missing_name;
        else
            is_known = true;
        if (!value.items[i].is_missing && value.items[i].truth)
            *positions |= 1ULL << i;
    }
    return is_known;
}

unsigned long long trial_seed(const struct job *job, const struct trial *trial)
{
    unsigned long long seed = job_event(job, 1)->seed + 0x9e3779b97f4a7c15ULL * trial->number;
    return seed & 0x7fffffffffffffffULL; /* as it is written down */
}

unsigned long long trial_drawn(const struct job *job, const struct trial *trial,
                               struct arena *scratch)
{
    unsigned long long from = trial_read_before(job, trial, scratch), positions = 0;
    size_t count = trial_count(from), at = 0;
    size_t wanted = trial->drawn < count ? trial->drawn : count;
    bool *is_drawn = arena_array(scratch, bool, count);
    trial_draw(trial_seed(job, trial), count, wanted, is_drawn);
    for (unsigned i = 0; i < POSITIONS_MAX; i++)
        if ((from >> i & 1ULL) != 0 && is_drawn[at++])
            positions |= 1ULL << i;
    return positions;
}

/* --- before the work ----------------------------------------------------------------------------- */

/* How often one round of the work, with all its repeats, reads it. */
static unsigned planned_repeats(const struct job *job, unsigned reading)
{
    const struct field *field = &job->procedure->readings[reading].field;
    unsigned once = field->readings == 0 ? 1 : field->readings, sum = 0;
    if (field->again != AGAIN_REPEATS)
        return once;
    for (size_t i = 0; i < job->procedure->work_count; i++) {
        const struct work *work = job->procedure->works[i];
        unsigned rounds = once;
        bool reads = false;
        for (size_t r = 0; work->step != NULL && r < work->step->reading_count; r++)
            reads = reads || work->step->readings[r] == reading;
        for (const struct work *around = work; reads && around != NULL; around = around->parent)
            if (around->kind == WORK_REPEAT && around->times > 0)
                rounds *= around->times;
        sum += reads ? rounds : 0;
    }
    return sum;
}

static const double *repeats_at(const struct job *job, unsigned reading, unsigned position,
                                size_t *count, struct arena *arena)
{
    struct surroundings surroundings = job_surroundings(job, arena);
    struct value repeats = surroundings.repeats_of(
        surroundings.self, job->procedure->readings[reading].symbol, position, arena);
    double *values = arena_array(arena, double, repeats.count);
    for (size_t i = 0; i < repeats.count; i++)
        values[i] = repeats.items[i].number.value;
    *count = repeats.count;
    return values;
}

struct trial_prospects trial_prospects_of(const struct job *job, const struct trial *trial,
                                          unsigned long long positions, struct arena *scratch)
{
    unsigned long long from = trial_read_before(job, trial, scratch);
    struct scatter scatter = {0};
    size_t fewest = 0;
    for (unsigned i = 0; i < index_size(job, trial_index(job, trial)); i++) {
        size_t count;
        const double *values = repeats_at(job, trial->before, i, &count, scratch);
        scatter_add(&scatter, values, count);
        if (count > 0 && (fewest == 0 || count < fewest))
            fewest = count;
    }
    struct trial_prospects prospects = {.positions = trial_count(from)};
    unsigned treated = trial->chosen != NULL ? trial_count(positions & from) : trial->drawn;
    if (treated > prospects.positions || trial->reaches_all)
        treated = (unsigned)prospects.positions;
    prospects.design = (struct trial_design){
        .treated = treated,
        .untreated = (unsigned)prospects.positions - treated,
        .before = (unsigned)fewest,
        .after = planned_repeats(job, trial->after),
        .repeat_scatter = scatter.freedom > 0 ? scatter_deviation(&scatter) : NAN,
        .repeat_freedom = scatter.freedom > 0 ? scatter.freedom : NAN};
    prospects.prospect = trial_foresee(&prospects.design);
    prospects.is_single = scatter.freedom <= 0;
    unsigned symbol = job->procedure->readings[trial->before].symbol;
    prospects.rests_on_before =
        trial->chosen != NULL && rests_on(job, trial->chosen, symbol, scratch);
    return prospects;
}

/* --- after it -------------------------------------------------------------------------------------- */

struct trial_outcome trial_outcome_of(const struct job *job, const struct trial *trial,
                                      struct arena *arena)
{
    const struct event *allotted = trial_allotted(job, trial);
    size_t count = index_size(job, trial_index(job, trial));
    struct trial_position *positions = arena_array(arena, struct trial_position, count);
    for (unsigned i = 0; i < count; i++) {
        struct trial_position *position = &positions[i];
        position->is_treated =
            trial->reaches_all || (allotted != NULL && (allotted->positions >> i & 1ULL) != 0);
        position->before = repeats_at(job, trial->before, i, &position->before_count, arena);
        position->after = repeats_at(job, trial->after, i, &position->after_count, arena);
    }
    return trial_judge(positions, count, arena);
}

const struct unit *trial_unit(const struct job *job, const struct trial *trial)
{
    const struct reading *before = &job->procedure->readings[trial->before];
    struct kind kind = job->procedure->symbols[before->symbol].type.kind;
    struct kind step = kind_difference(kind);
    return before->field.unit != NULL && kind_equal(step, before->field.unit->kind)
               ? before->field.unit
               : unit_for(step);
}

/* Above a job's own sources of error, as those of earlier values (values.c), which no effect has. */
enum { EFFECT_SOURCES = 0x30000000 };

static struct value reading_of(const struct job *job, unsigned reading, struct arena *arena)
{
    struct surroundings surroundings = job_surroundings(job, arena);
    return surroundings.value_of(surroundings.self, job->procedure->readings[reading].symbol,
                                 arena);
}

static const struct gradient *errors_of_origin(const struct gradient *gradient,
                                               enum error_origin origin, struct arena *arena)
{
    size_t count = 0;
    if (gradient == NULL)
        return NULL;
    struct error_term *terms = arena_array(arena, struct error_term, gradient->count);
    for (size_t i = 0; i < gradient->count; i++)
        if (gradient->terms[i].origin == origin)
            terms[count++] = gradient->terms[i];
    return gradient_of(arena, terms, count);
}

/* What the gauges add to the effect, by the readings that made it.  What a gauge is off by everywhere
 * drops out between before and after, and with two gauges still between treated and untreated; what
 * is a part of the reading does not. */
static const struct gradient *errors_of_gauges(const struct job *job, const struct trial *trial,
                                               const struct trial_outcome *outcome,
                                               enum error_origin origin, struct arena *arena)
{
    const struct event *allotted = trial_allotted(job, trial);
    struct value before = reading_of(job, trial->before, arena);
    struct value after = reading_of(job, trial->after, arena);
    const struct gradient *sum = NULL;
    for (size_t i = 0; i < before.count && i < after.count; i++) {
        if (!outcome->changes[i].is_worked_out || before.items[i].is_missing ||
            after.items[i].is_missing)
            continue;
        bool is_treated = allotted != NULL && (allotted->positions >> i & 1ULL) != 0;
        double share = is_treated ? 1.0 / outcome->treated : -1.0 / outcome->untreated;
        const struct gradient *a =
            errors_of_origin(before.items[i].number.gradient, origin, arena);
        const struct gradient *b =
            errors_of_origin(after.items[i].number.gradient, origin, arena);
        sum = gradient_combine(arena, sum, 1, gradient_combine(arena, b, share, a, -share), 1);
    }
    return sum;
}

/* With the freedom of the band throughout: what is known of a gauge as if from infinitely many would by
 * the formula of Welch and Satterthwaite make a band that rests on two changes narrower, not wider. */
static const struct gradient *with_freedom_of(const struct error_term *band,
                                              const struct gradient *gradient,
                                              struct arena *arena)
{
    if (gradient == NULL)
        return NULL;
    struct error_term *terms = arena_array(arena, struct error_term, gradient->count);
    for (size_t i = 0; i < gradient->count; i++) {
        terms[i] = gradient->terms[i];
        terms[i].freedom = band->freedom;
        terms[i].pool = band->pool;
    }
    return gradient_of(arena, terms, gradient->count);
}

/* The verdict's band as one error, and what the gauges add. */
static struct measured effect_of(const struct job *job, const struct trial *trial,
                                 const struct trial_outcome *outcome, struct arena *arena)
{
    struct measured effect = {outcome->effect, NULL};
    if (outcome->verdict == TRIAL_NONE)
        return effect;
    struct error_term band = {.source = EFFECT_SOURCES + trial->number,
                              .slope =
                                  outcome->band / student_quantile(0.975, outcome->freedom),
                              .origin = ERROR_REPEATABILITY,
                              .freedom = outcome->freedom,
                              .pool = (unsigned)job->procedure->reading_count + trial->number};
    const struct gradient *gauges =
        gradient_combine(arena, errors_of_gauges(job, trial, outcome, ERROR_ACCURACY, arena), 1,
                         errors_of_gauges(job, trial, outcome, ERROR_RESOLUTION, arena), 1);
    effect.gradient = gradient_combine(arena, gradient_of(arena, &band, 1), 1,
                                       with_freedom_of(&band, gauges, arena), 1);
    return effect;
}

static double step_error(const struct job *job, unsigned reading)
{
    int gauge = job->procedure->readings[reading].field.gauge;
    return gauge == GAUGE_NONE
               ? 0
               : rectangular_uncertainty(job->fitted->gauges[gauge].resolution / 2);
}

/* Do readings scatter less than they are rounded? */
static bool hides_scatter(const struct job *job, const struct trial *trial,
                          const struct trial_outcome *outcome)
{
    double rounding = fmax(step_error(job, trial->before), step_error(job, trial->after));
    return outcome->repeat_freedom > 0 && outcome->repeat_scatter < rounding;
}

static bool is_accuracy_known(const struct job *job, int gauge)
{
    return gauge != GAUGE_NONE && job->fitted->gauges[gauge].accuracy_count > 0;
}

struct trial_gauges trial_gauges_of(const struct job *job, const struct trial *trial,
                                    const struct trial_outcome *outcome, struct arena *arena)
{
    int before = job->procedure->readings[trial->before].field.gauge;
    int after = job->procedure->readings[trial->after].field.gauge;
    struct trial_gauges gauges = {.are_two = before != after};
    if (isnan(outcome->effect))
        return gauges;
    double size = fabs(outcome->effect);
    bool is_beyond = outcome->verdict == TRIAL_ROSE_MORE || outcome->verdict == TRIAL_FELL_MORE;
    gauges.scale =
        gradient_expanded(errors_of_gauges(job, trial, outcome, ERROR_RESOLUTION, arena));
    gauges.is_scale_coarse = hides_scatter(job, trial, outcome);
    gauges.may_be_scale =
        is_beyond && gauges.is_scale_coarse && size <= hypot(outcome->band, gauges.scale);
    if (!gauges.are_two)
        return gauges;
    gauges.is_accuracy_known = is_accuracy_known(job, before) && is_accuracy_known(job, after);
    gauges.off =
        gradient_expanded(errors_of_gauges(job, trial, outcome, ERROR_ACCURACY, arena));
    gauges.may_be_all =
        is_beyond && (!gauges.is_accuracy_known || size <= hypot(outcome->band, gauges.off));
    return gauges;
}

enum trial_matching trial_match_now(const struct job *job, const struct trial_match *match,
                                    struct arena *scratch)
{
    struct surroundings surroundings = job_surroundings(job, scratch);
    struct value value = expression_evaluate(match->holds, &surroundings, scratch);
    if (value.count != 1 || value.items[0].is_missing)
        return MATCH_UNREAD;
    if (!value.items[0].truth)
        return MATCH_FAILS;
    return value.items[0].is_unsure ? MATCH_UNSURE : MATCH_HOLDS;
}

bool trial_is_behind(const struct job *job, const struct trial *trial,
                     const struct expression *expression, struct arena *scratch)
{
    return rests_on(job, expression, trial->symbols[TRIAL_ANSWER], scratch) ||
           rests_on(job, expression, trial->symbols[TRIAL_EFFECT], scratch) ||
           rests_on(job, expression, trial->symbols[TRIAL_BAND], scratch);
}

/* A condition that itself rests on what a trial came to would go round in a circle. */
static bool rests_on_some_trial(const struct job *job, const struct expression *expression,
                                struct arena *scratch)
{
    for (size_t i = 0; i < job->procedure->trial_count; i++)
        if (trial_is_behind(job, job->procedure->trials[i], expression, scratch))
            return true;
    return false;
}

bool trial_is_downgraded(const struct job *job, const struct trial *trial,
                         const struct trial_outcome *outcome, struct arena *scratch)
{
    for (size_t i = 0; i < trial->match_count; i++)
        if (!rests_on_some_trial(job, trial->matches[i].holds, scratch) &&
            trial_match_now(job, &trial->matches[i], scratch) != MATCH_HOLDS)
            return true;
    struct trial_gauges gauges = trial_gauges_of(job, trial, outcome, scratch);
    return gauges.may_be_all || gauges.may_be_scale;
}

struct text trial_answer_words(enum trial_verdict verdict)
{
    switch (verdict) {
    case TRIAL_ROSE_MORE:
        return TEXT("rose more");
    case TRIAL_FELL_MORE:
        return TEXT("fell more");
    case TRIAL_INCONCLUSIVE:
        return TEXT("inconclusive");
    case TRIAL_NONE:
        break;
    }
    return TEXT("no verdict");
}

static struct value treated_value(const struct job *job, const struct trial *trial,
                                  const struct symbol *symbol, struct arena *arena)
{
    const struct event *allotted = trial_allotted(job, trial);
    size_t count = index_size(job, symbol->type.index);
    struct value value = value_missing(arena, symbol->type, count, symbol->name);
    for (size_t i = 0; i < count && allotted != NULL; i++)
        value.items[i] = (struct scalar){.truth = (allotted->positions >> i & 1ULL) != 0};
    return value;
}

struct value trial_value_of(const struct job *job, unsigned item, struct arena *arena)
{
    const struct trial *trial = job->procedure->trials[item / TRIAL_VALUES];
    enum trial_value which = (enum trial_value)(item % TRIAL_VALUES);
    const struct symbol *symbol = &job->procedure->symbols[trial->symbols[which]];
    if (which == TRIAL_TREATED)
        return treated_value(job, trial, symbol, arena);
    struct value value = value_missing(arena, symbol->type, 1, symbol->name);
    if (trial_allotted(job, trial) == NULL)
        return value;
    struct trial_outcome outcome = trial_outcome_of(job, trial, arena);
    bool is_judged = outcome.verdict != TRIAL_NONE;
    bool is_downgraded = is_judged && trial_is_downgraded(job, trial, &outcome, arena);
    if (which == TRIAL_ANSWER)
        value.items[0] = (struct scalar){.text = trial_answer_words(outcome.verdict),
                                         .is_unsure = is_downgraded};
    if (which == TRIAL_EFFECT && !isnan(outcome.effect))
        value.items[0] = (struct scalar){.number = effect_of(job, trial, &outcome, arena),
                                         .is_unsure = !is_judged || is_downgraded};
    if (which == TRIAL_BAND && isfinite(outcome.band))
        value.items[0] = (struct scalar){.number = {outcome.band, NULL}};
    return value;
}

/* --- claims ---------------------------------------------------------------------------------------- */

static bool find_label(const struct labels *labels, struct text words,
                       unsigned long long *positions)
{
    for (size_t i = 0; i < labels->count; i++) {
        if (!text_equal_folded(labels->texts[i], words))
            continue;
        *positions |= 1ULL << i;
        return true;
    }
    return false;
}

/* The longest beginning that is a label; labels may have spaces in them. */
static size_t label_length(const struct labels *labels, struct text rest,
                           unsigned long long *positions)
{
    for (size_t end = rest.length; end > 0; end--) {
        bool is_whole = end == rest.length || rest.bytes[end] == ' ' || rest.bytes[end] == ',';
        if (is_whole && find_label(labels, text_slice(rest, 0, end), positions))
            return end;
    }
    return 0;
}

bool labels_take(const struct labels *labels, struct text typed, unsigned long long *positions,
                 struct text *rest)
{
    const struct text conjunction = TEXT("and ");
    *rest = text_trim(typed);
    *positions = 0;
    if (rest->length == 0)
        return false;
    while (rest->length > 0) {
        size_t taken = label_length(labels, *rest, positions);
        if (taken == 0)
            return false;
        *rest = text_slice(*rest, taken, rest->length);
        while (rest->length > 0 && (rest->bytes[0] == ' ' || rest->bytes[0] == ','))
            *rest = text_slice(*rest, 1, rest->length);
        if (text_starts(*rest, conjunction))
            *rest = text_trim(text_slice(*rest, conjunction.length, rest->length));
    }
    return true;
}

bool trial_claim_take(const struct job *job, const struct trial *trial, struct text typed,
                      unsigned long long *positions, struct text *refusal,
                      struct arena *scratch)
{
    const struct labels *labels = &job->fitted->indexes[trial_index(job, trial)];
    struct text words = text_trim(typed), rest;
    *positions = 0;
    if (text_equal_folded(words, TEXT("none")))
        return true;
    if (text_equal_folded(words, TEXT("all"))) {
        for (size_t i = 0; i < labels->count; i++)
            *positions |= 1ULL << i;
        return true;
    }
    if (labels_take(labels, words, positions, &rest))
        return true;
    *refusal = text_fill(scratch,
                         "'{}' names no position. Type those meant, like {}, or none, or "
                         "all.",
                         typed, labels->texts[0]);
    return false;
}

const struct event *trial_claimed(const struct job *job, const struct trial *trial)
{
    struct spot opening = spot_opening();
    struct sought sought = {.kind = EVENT_ANSWERED,
                            .detail = ANSWERED_CLAIM,
                            .name = trial->name,
                            .position = INDEX_NONE};
    const struct event *first = fact_find(job, fact_at(job, &opening), &sought);
    return first == NULL ? NULL : job_event_now(job, first->number);
}

bool trial_is_kept_back(const struct job *job, const struct trial *trial)
{
    return trial->claim.written.length > 0 && job->ended == 0 &&
           trial_allotted(job, trial) != NULL;
}

bool trial_wants_claim(const struct job *job, const struct trial *trial, struct arena *scratch)
{
    return trial->claim.written.length > 0 && trial_allotted(job, trial) != NULL &&
           trial_claimed(job, trial) == NULL &&
           (read_positions(job, trial->after, scratch) &
            trial_read_before(job, trial, scratch)) != 0;
}

/* --- what is asked about it ---------------------------------------------------------------- */

static const struct text choice_texts[] = {{"go on with this trial", 21}, {"pause", 5}};
const struct choices trial_choices = {2, choice_texts};

struct text trial_labels(const struct job *job, const struct trial *trial,
                         unsigned long long positions, struct arena *arena)
{
    const struct labels *labels = &job->fitted->indexes[trial_index(job, trial)];
    struct text *items = arena_array(arena, struct text, labels->count);
    size_t count = 0;
    for (size_t i = 0; i < labels->count; i++)
        if ((positions >> i & 1ULL) != 0)
            items[count++] = labels->texts[i];
    return count == 0 ? TEXT("none") : say_list(arena, items, count);
}

struct text trial_question(const struct job *job, const struct trial *trial,
                           struct arena *arena)
{
    (void)job;
    return text_fill(arena, "The trial '{}': is this worth doing so?",
                     say_name(arena, trial->name));
}

struct text claim_question(const struct job *job, const struct trial *trial,
                           struct arena *arena)
{
    struct spot opening = spot_opening();
    const struct labels *labels = &job->fitted->indexes[trial_index(job, trial)];
    return text_fill(arena, "{} Type those meant ({}), or none.",
                     job_fill(job, &trial->claim, &opening, arena),
                     text_join(arena, labels->texts, labels->count, TEXT(", ")));
}

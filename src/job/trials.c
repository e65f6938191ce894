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

unsigned long long trial_read_after(const struct job *job, const struct trial *trial,
                                    struct arena *scratch)
{
    return read_positions(job, trial->after, scratch);
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
    unsigned long long seed = job_started(job)->seed + 0x9e3779b97f4a7c15ULL * trial->number;
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

struct trial_prospects trial_prospects_of(const struct job *job, const struct trial *trial,
                                          unsigned long long positions, struct arena *scratch)
{
    unsigned long long from = trial_read_before(job, trial, scratch);
    struct scatter scatter = {0};
    size_t fewest = 0;
    for (unsigned i = 0; i < index_size(job, trial_index(job, trial)); i++) {
        size_t count;
        const double *values = reading_numbers(job, trial->before, i, &count, scratch);
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
        position->before =
            reading_numbers(job, trial->before, i, &position->before_count, arena);
        position->after = reading_numbers(job, trial->after, i, &position->after_count, arena);
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

/* --- what is asked about it ---------------------------------------------------------------- */

static const struct text choice_texts[] = {{"go on with this trial", 21}, {"pause", 5}};
const struct choices trial_choices = {2, choice_texts};

struct text trial_question(const struct job *job, const struct trial *trial,
                           struct arena *arena)
{
    (void)job;
    return text_fill(arena, "The trial '{}': is this worth doing so?",
                     say_name(arena, trial->name));
}

#include "job/trials.h"
#include "job_state.h"

#include <assert.h>
#include <math.h>

/* --- one reading at one position ------------------------------------------------------------- */

/* The repeats that belong together: those of one doing of the step. */
struct group {
    const double *values;
    size_t count;
    bool is_unread;
    struct text text; /* a choice or a text: the last */
};

static bool is_unread(const struct event *event)
{
    return event->meaning.length == 0;
}

/* How many takes from `at` on belong together: the next first repeat begins another group. */
static size_t group_length(const struct job *job, const struct cell *cell, size_t at)
{
    size_t end = at + 1;
    while (end < cell->count && job_event_now(job, cell->takes[end])->repeat > 1)
        end++;
    return end - at;
}

/* Takes the group that begins at `*at` and moves on behind it. */
static struct group take_group(const struct job *job, const struct cell *cell, size_t *at,
                               struct arena *arena)
{
    double *values = arena_array(arena, double, group_length(job, cell, *at));
    struct group group = {.values = values};
    bool is_first = true;
    for (; *at < cell->count; (*at)++, is_first = false) {
        const struct event *event = job_event_now(job, cell->takes[*at]);
        if (event->repeat <= 1 && !is_first)
            break;
        if (is_unread(event))
            group.is_unread = group.count == 0;
        else if (event->has_value)
            values[group.count++] = event->value;
        group.text = event->meaning;
    }
    return group;
}

static struct group whole_cell(const struct job *job, const struct cell *cell,
                               struct arena *arena)
{
    double *values = arena_array(arena, double, cell->count);
    struct group all = {.values = values, .is_unread = true};
    for (size_t i = 0; i < cell->count; i++) {
        const struct event *event = job_event_now(job, cell->takes[i]);
        if (is_unread(event))
            continue;
        all.is_unread = false;
        all.text = event->meaning;
        if (event->has_value)
            values[all.count++] = event->value;
    }
    return all;
}

static struct group last_group(const struct job *job, const struct cell *cell,
                               struct arena *arena)
{
    struct group group = {.is_unread = true};
    for (size_t at = 0; at < cell->count;)
        group = take_group(job, cell, &at, arena);
    return group;
}

static struct group counted_group(const struct job *job, const struct reading *reading,
                                  const struct cell *cell, struct arena *arena)
{
    return reading->field.again == AGAIN_REPEATS ? whole_cell(job, cell, arena)
                                                 : last_group(job, cell, arena);
}

static double mean_of(const double *values, size_t count)
{
    double sum = 0.0;
    for (size_t i = 0; i < count; i++)
        sum += values[i];
    return sum / (double)count;
}

static double median_of(const double *values, size_t count, struct arena *arena)
{
    double *sorted = arena_array(arena, double, count);
    for (size_t i = 0; i < count; i++) {
        size_t at = i;
        for (; at > 0 && sorted[at - 1] > values[i]; at--)
            sorted[at] = sorted[at - 1];
        sorted[at] = values[i];
    }
    return count % 2 == 1 ? sorted[count / 2]
                          : (sorted[count / 2 - 1] + sorted[count / 2]) / 2.0;
}

static double extreme_of(const double *values, size_t count, double sign)
{
    double extreme = values[0];
    for (size_t i = 1; i < count; i++)
        extreme = sign * values[i] > sign * extreme ? values[i] : extreme;
    return extreme;
}

static double group_value(const struct group *group, enum use_of_repeats use,
                          struct arena *arena)
{
    switch (use) {
    case USE_MEAN:
        return mean_of(group->values, group->count);
    case USE_MEDIAN:
        return median_of(group->values, group->count, arena);
    case USE_HIGHEST:
        return extreme_of(group->values, group->count, 1.0);
    case USE_LOWEST:
        return extreme_of(group->values, group->count, -1.0);
    }
    return 0.0;
}

/* --- what it is uncertain by ------------------------------------------------------------------ */

/* Pooled over all positions with repeats. */
static struct scatter pooled_scatter(const struct job *job, unsigned reading,
                                     struct arena *arena)
{
    const struct reading *about = &job->procedure->readings[reading];
    size_t count = about->index == INDEX_NONE ? 1 : index_size(job, about->index);
    struct scatter scatter = {0};
    struct arena_mark mark = arena_mark(arena);
    for (size_t i = 0; i < count; i++) {
        struct group group =
            counted_group(job, about, &job->cells[job->first_cell[reading] + i], arena);
        scatter_add(&scatter, group.values, group.count);
    }
    arena_rewind(arena, mark); /* of each of 900 additions it is asked again */
    return scatter;
}

/* How much less the value scatters than one repeat does.  The median's factor sqrt(pi/2) holds for
 * many repeats of a normal scatter; the extremes are taken to scatter like one. */
static double scatter_factor(enum use_of_repeats use, size_t count)
{
    switch (use) {
    case USE_MEAN:
        return 1.0 / sqrt((double)count);
    case USE_MEDIAN:
        return (count > 2 ? sqrt(acos(-1.0) / 2.0) : 1.0) / sqrt((double)count);
    case USE_HIGHEST:
    case USE_LOWEST:
        return 1.0;
    }
    return 1.0;
}

/* A part of the reading is one of what the gauge shows: of 20 degrees, not of 293 kelvin. */
static double accuracy_half_width(const struct gauge *gauge, const struct accuracy_term *term,
                                  double value)
{
    switch (term->form) {
    case ACCURACY_ABSOLUTE:
        return term->amount;
    case ACCURACY_OF_READING:
        return term->amount * unit_step_to_si(gauge->unit, unit_from_si(gauge->unit, value));
    case ACCURACY_OF_FULL_SCALE:
        return term->amount * term->full_scale;
    }
    return 0.0;
}

/* One take of a reading at one position. */
struct take {
    const struct job *job;
    unsigned reading;
    size_t cell;
    bool
        is_shared; /* the error of the gauge with all its readings, as it is; or, to see what that
                       does, with none */
    double value, scatter_factor;
};

const struct gauge *job_source_gauge(const struct job *job, unsigned source)
{
    for (size_t i = 0; i < job->procedure->gauge_count; i++) {
        const struct gauge *gauge = &job->fitted->gauges[i];
        if (source >= job->first_source[i] &&
            source < job->first_source[i] + gauge->accuracy_count)
            return gauge;
    }
    return NULL;
}

/* Signed, as what is a part of the reading turns with it. */
static size_t accuracy_terms(const struct take *take, const struct gauge *gauge,
                             struct error_term *terms)
{
    const struct job *job = take->job;
    unsigned first = job->first_source[job->procedure->readings[take->reading].field.gauge];
    if (!take->is_shared)
        first +=
            job->gauge_sources * (1 + (unsigned)take->cell) + 2 * (unsigned)job->cell_count;
    for (size_t i = 0; i < gauge->accuracy_count; i++) {
        double half_width = accuracy_half_width(gauge, &gauge->accuracy[i], take->value);
        terms[i] = (struct error_term){
            .source = first + (unsigned)i,
            .slope = copysign(rectangular_uncertainty(half_width), half_width),
            .origin = ERROR_ACCURACY};
    }
    return gauge->accuracy_count;
}

/* Sources of error: each gauge's accuracy terms first, shared by all its readings; then one
 * resolution for each cell; then one repeatability for each. */
static const struct gradient *reading_gradient(const struct take *take, struct arena *arena)
{
    const struct job *job = take->job;
    const struct field *field = &job->procedure->readings[take->reading].field;
    const struct gauge *gauge =
        field->gauge == GAUGE_NONE ? NULL : &job->fitted->gauges[field->gauge];
    struct scatter scatter = pooled_scatter(job, take->reading, arena);
    unsigned own = job->gauge_sources + (unsigned)take->cell;
    size_t most = 2 + (gauge == NULL ? 0 : gauge->accuracy_count), count = 0;
    struct error_term *terms = arena_array(arena, struct error_term, most);
    if (gauge != NULL && take->is_shared)
        count += accuracy_terms(take, gauge, terms);
    if (gauge != NULL)
        terms[count++] =
            (struct error_term){.source = own,
                                .slope = rectangular_uncertainty(gauge->resolution / 2.0),
                                .origin = ERROR_RESOLUTION};
    terms[count++] =
        (struct error_term){.source = own + (unsigned)job->cell_count,
                            .slope = scatter_deviation(&scatter) * take->scatter_factor,
                            .origin = ERROR_REPEATABILITY,
                            .freedom = scatter.freedom,
                            .pool = take->reading};
    if (gauge != NULL && !take->is_shared)
        count += accuracy_terms(take, gauge, terms + count);
    return gradient_of(arena, terms, count);
}

/* --- the value of a reading -------------------------------------------------------------------- */

static struct scalar missing_scalar(struct text name)
{
    return (struct scalar){.is_missing = true, .missing_name = name};
}

static struct scalar group_scalar(struct take *take, const struct group *group,
                                  struct arena *arena)
{
    const struct reading *about = &take->job->procedure->readings[take->reading];
    if (group->is_unread)
        return missing_scalar(about->name);
    if (about->field.form != FIELD_QUANTITY)
        return (struct scalar){.text = group->text};
    if (group->count == 0)
        return missing_scalar(about->name);
    take->value = group_value(group, about->field.use, arena);
    take->scatter_factor = scatter_factor(about->field.use, group->count);
    return (struct scalar){.number = {take->value, reading_gradient(take, arena)}};
}

static struct scalar added_up(struct take *take, struct arena *arena)
{
    const struct cell *takes = &take->job->cells[take->cell];
    struct scalar sum = {.number = {0.0, NULL}};
    for (size_t at = 0; at < takes->count;) {
        struct group group = take_group(take->job, takes, &at, arena);
        struct scalar one = group_scalar(take, &group, arena);
        if (one.is_missing)
            return one;
        sum.number.value += one.number.value;
        sum.number.gradient =
            gradient_combine(arena, sum.number.gradient, 1.0, one.number.gradient, 1.0);
    }
    return sum;
}

static struct value value_of_reading(const struct job *job, unsigned reading, bool is_shared,
                                     struct arena *arena)
{
    const struct reading *about = &job->procedure->readings[reading];
    size_t count = about->index == INDEX_NONE ? 1 : index_size(job, about->index);
    struct value value = {.type = job->procedure->symbols[about->symbol].type,
                          .count = count,
                          .items = arena_array(arena, struct scalar, count)};
    for (size_t i = 0; i < count; i++) {
        struct take take = {.job = job,
                            .reading = reading,
                            .cell = job->first_cell[reading] + i,
                            .is_shared = is_shared};
        if (about->field.again == AGAIN_ADDS) {
            value.items[i] = added_up(&take, arena);
            continue;
        }
        struct group group = counted_group(job, about, &job->cells[take.cell], arena);
        value.items[i] = group_scalar(&take, &group, arena);
    }
    return value;
}

struct value reading_value(const struct job *job, unsigned reading, struct arena *arena)
{
    return value_of_reading(job, reading, true, arena);
}

size_t reading_repeats(const struct job *job, unsigned reading, size_t position,
                       struct arena *scratch)
{
    const struct reading *about = &job->procedure->readings[reading];
    struct group group =
        counted_group(job, about, &job->cells[job->first_cell[reading] + position], scratch);
    return group.is_unread ? 0 : group.count;
}

/* --- symbols ------------------------------------------------------------------------------------- */

struct view {
    const struct job *job;
    long long time;
    struct spot spot;
    const int *here;
    struct arena *arena;
    struct value *definitions; /* by symbol: worked out once; NULL items: not yet */
    bool is_apart;             /* each reading with an error of its own */
};

static struct value scalar_value(struct arena *arena, struct type type, struct scalar scalar)
{
    struct value value = {
        .type = type, .count = 1, .items = arena_array(arena, struct scalar, 1)};
    value.items[0] = scalar;
    return value;
}

static struct scalar event_scalar(const struct job *job, unsigned number, enum field_form form,
                                  struct text name)
{
    if (number == 0)
        return missing_scalar(name);
    const struct event *event = job_event_now(job, number);
    if (form == FIELD_QUANTITY)
        return (struct scalar){.number = {event->value, NULL}};
    return (struct scalar){.text = event->meaning};
}

static struct scalar machine_scalar(const struct job *job, unsigned want)
{
    const struct machine_want *about = &job->procedure->wants[want];
    const struct manual_value *given = &job->fitted->values[want];
    if (!given->is_given)
        return event_scalar(job, job->want_event[want], about->field.form, about->name);
    if (about->field.form == FIELD_QUANTITY)
        return (struct scalar){.number = {quantity_si(&given->quantity), NULL}};
    return (struct scalar){.text = given->text};
}

/* Above a job's own sources, below those written with a ±; an index has 64 positions at most. */
enum { EARLIER_SOURCES = 0x20000000, EARLIER_SOURCES_EACH = 64 };

const struct gauge *earlier_gauge(const struct job *job, const struct symbol *symbol)
{
    const struct symbol *then = &job->procedure->symbols[symbol->item];
    int number = then->kind == SYMBOL_READING ? job->procedure->readings[then->item].field.gauge
                                              : GAUGE_NONE;
    return number == GAUGE_NONE ? NULL : &job->fitted->gauges[number];
}

/* A record that does not say what it was uncertain by: never as if it were exact, while there is a gauge
 * to go by; the card says so. */
static double uncertainty_by_gauge(const struct gauge *gauge, double value)
{
    if (gauge == NULL)
        return 0.0;
    double resolution = rectangular_uncertainty(gauge->resolution / 2.0);
    double squares = resolution * resolution;
    for (size_t i = 0; i < gauge->accuracy_count; i++) {
        double accuracy =
            rectangular_uncertainty(accuracy_half_width(gauge, &gauge->accuracy[i], value));
        squares += accuracy * accuracy;
    }
    return sqrt(squares);
}

/* What was read then had an error of its own, another than today's: one new source, with what is known of
 * it. */
static const struct gradient *earlier_gradient(const struct job *job,
                                               const struct symbol *symbol, size_t position,
                                               const struct earlier_value *earlier,
                                               struct arena *arena)
{
    unsigned source =
        EARLIER_SOURCES + EARLIER_SOURCES_EACH * symbol->item + (unsigned)position;
    struct error_term term = {
        .source = source,
        .slope = earlier->has_uncertainty
                     ? earlier->uncertainty
                     : uncertainty_by_gauge(earlier_gauge(job, symbol), earlier->si),
        .origin = ERROR_STATED,
        .freedom = earlier->has_uncertainty ? earlier->freedom : 0.0,
        .pool = source};
    return gradient_of(arena, &term, 1);
}

/* An earlier value of one position is named "dry[3]". */
static struct scalar earlier_scalar(const struct job *job, const struct symbol *symbol,
                                    struct text name, size_t position, struct arena *arena)
{
    const struct event *started = job->event_count > 0 ? job_event(job, 1) : NULL;
    for (size_t i = 0; started != NULL && i < started->earlier_count; i++) {
        const struct earlier_value *earlier = &started->earlier[i];
        if (!text_equal(earlier->name, name))
            continue;
        if (symbol->type.base == TYPE_NUMBER && earlier->has_number)
            return (struct scalar){
                .number = {earlier->si,
                           earlier_gradient(job, symbol, position, earlier, arena)}};
        if (symbol->type.base == TYPE_TEXT)
            return (struct scalar){.text = earlier->shown};
    }
    return missing_scalar(
        text_fill(arena, "earlier.{}", job->procedure->symbols[symbol->item].name));
}

static struct value earlier_value(const struct job *job, const struct symbol *symbol,
                                  struct arena *arena)
{
    struct text name = job->procedure->symbols[symbol->item].name;
    int index = symbol->type.index;
    if (index == INDEX_NONE)
        return scalar_value(arena, symbol->type, earlier_scalar(job, symbol, name, 0, arena));
    struct value value = {.type = symbol->type, .count = index_size(job, index)};
    value.items = arena_array(arena, struct scalar, value.count);
    for (size_t i = 0; i < value.count; i++) {
        struct text label = job->fitted->indexes[index].texts[i];
        value.items[i] =
            earlier_scalar(job, symbol, text_fill(arena, "{}[{}]", name, label), i, arena);
    }
    return value;
}

static struct surroundings surroundings_of(struct view *view);

/* Names that rest on names twice each would be worked out twice each time: exponentially often.  So each
 * is worked out once for a look at the job. */
static struct value defined_value(struct view *view, unsigned symbol,
                                  const struct expression *expression)
{
    if (view->definitions == NULL)
        view->definitions =
            arena_array(view->arena, struct value, view->job->procedure->symbol_count);
    struct value *kept = &view->definitions[symbol];
    if (kept->items == NULL) {
        struct surroundings surroundings = surroundings_of(view);
        *kept = expression_evaluate(expression, &surroundings, view->arena);
    }
    return *kept;
}

static struct value value_of(void *self, unsigned symbol, struct arena *arena)
{
    struct view *view = self;
    const struct job *job = view->job;
    const struct procedure *procedure = job->procedure;
    const struct symbol *about = &procedure->symbols[symbol];
    switch (about->kind) {
    case SYMBOL_MACHINE:
        return scalar_value(arena, about->type, machine_scalar(job, about->item));
    case SYMBOL_INPUT:
        return scalar_value(arena, about->type,
                            event_scalar(job, job->input_event[about->item],
                                         procedure->inputs[about->item].field.form,
                                         about->name));
    case SYMBOL_EARLIER:
        return earlier_value(job, about, arena);
    case SYMBOL_READING:
        return value_of_reading(job, about->item, !view->is_apart, arena);
    case SYMBOL_NAME:
        return defined_value(view, symbol, procedure->names[about->item].value);
    case SYMBOL_RESULT:
        return defined_value(view, symbol, procedure->results[about->item].definition.value);
    case SYMBOL_TRIAL:
        return trial_value_of(job, about->item, arena);
    case SYMBOL_TIMER:
        break;
    }
    return value_missing(arena, about->type, 1, about->name);
}

static struct value repeats_of(void *self, unsigned symbol, unsigned position,
                               struct arena *arena)
{
    const struct view *view = self;
    const struct symbol *about = &view->job->procedure->symbols[symbol];
    struct value value = {.type = about->type};
    value.type.index = INDEX_NONE;
    if (about->kind != SYMBOL_READING)
        return value;
    const struct reading *reading = &view->job->procedure->readings[about->item];
    size_t cell =
        view->job->first_cell[about->item] + (reading->index == INDEX_NONE ? 0 : position);
    struct group group = counted_group(view->job, reading, &view->job->cells[cell], arena);
    value.count = group.is_unread ? 0 : group.count;
    value.items = arena_array(arena, struct scalar, value.count);
    for (size_t i = 0; i < value.count; i++)
        value.items[i].number.value = group.values[i];
    return value;
}

static const struct timer_cell *timer_at(const struct view *view, unsigned symbol, int position)
{
    unsigned timer = view->job->procedure->symbols[symbol].item;
    size_t offset = position < 0 ? 0 : (size_t)position;
    if (view->job->procedure->timers[timer].index == INDEX_NONE)
        offset = 0;
    return &view->job->timers[view->job->first_timer[timer] + offset];
}

static double elapsed(void *self, unsigned timer, int position)
{
    const struct view *view = self;
    const struct timer_cell *cell = timer_at(view, timer, position);
    if (!cell->is_started)
        return -1.0;
    long long until = cell->awaited != 0 ? cell->awaited : view->time;
    return (double)(until - cell->started) / 1000.0;
}

static double late(void *self, unsigned timer, int position)
{
    const struct view *view = self;
    const struct timer_cell *cell = timer_at(view, timer, position);
    if (!cell->is_started)
        return -1.0;
    double over = elapsed(self, timer, position) - (double)cell->most / 1000.0;
    return cell->has_most && over > 0.0 ? over : 0.0;
}

static struct surroundings surroundings_of(struct view *view)
{
    const struct job *job = view->job;
    return (struct surroundings){
        .self = view,
        .value_of = value_of,
        .repeats_of = repeats_of,
        .elapsed = elapsed,
        .late = late,
        .indexes = job->fitted->indexes,
        .index_count = job->procedure->index_count,
        .here = view->here,
    };
}

struct surroundings surroundings_at(const struct job *job, const struct spot *spot,
                                    long long time, struct arena *arena)
{
    struct view *view = arena_new(arena, struct view);
    *view = (struct view){.job = job,
                          .time = time,
                          .spot = *spot,
                          .here = spot_here(job, spot, arena),
                          .arena = arena};
    return surroundings_of(view);
}

struct surroundings surroundings_apart(const struct job *job, struct arena *arena)
{
    struct surroundings surroundings = job_surroundings(job, arena);
    ((struct view *)surroundings.self)->is_apart = true;
    return surroundings;
}

struct surroundings job_surroundings(const struct job *job, struct arena *arena)
{
    struct spot opening = spot_opening();
    return surroundings_at(job, &opening, job_time(job, job->last), arena);
}

bool work_out_number(const struct expression *expression,
                     const struct surroundings *surroundings, double *si, struct text *missing,
                     struct arena *arena)
{
    struct value value = expression_evaluate(expression, surroundings, arena);
    if (value.count != 1 || value.items[0].is_missing) {
        if (missing != NULL)
            *missing = value.count == 1 ? value.items[0].missing_name : expression->written;
        return false;
    }
    *si = value.items[0].number.value;
    return true;
}

/* --- what rests on what ------------------------------------------------------------------------ */

enum { GIVEN_NODES_MAX = 32 };

struct dependence {
    const struct job *job;
    bool *rests;                                  /* by symbol */
    const struct node *forgiven[GIVEN_NODES_MAX]; /* under given(): may be missing */
    size_t forgiven_count;
};

static bool is_forgiven(const struct dependence *dependence, const struct node *node)
{
    for (size_t i = 0; i < dependence->forgiven_count; i++) {
        if (dependence->forgiven[i] == node)
            return true;
    }
    return false;
}

static void forgive(struct dependence *dependence, const struct node *node)
{
    if (dependence->forgiven_count < GIVEN_NODES_MAX)
        dependence->forgiven[dependence->forgiven_count++] = node;
}

static void note_dependence(void *self, const struct node *node);

static const struct expression *definition_of(const struct job *job, unsigned symbol)
{
    const struct symbol *about = &job->procedure->symbols[symbol];
    if (about->kind == SYMBOL_NAME)
        return job->procedure->names[about->item].value;
    if (about->kind == SYMBOL_RESULT)
        return job->procedure->results[about->item].definition.value;
    return NULL;
}

/* NOLINTNEXTLINE(misc-no-recursion): definitions do not go round in a circle */
static void walk_dependence(const struct job *job, const struct expression *expression,
                            bool *rests) /* NOLINT(readability-non-const-parameter): filled */
{
    struct dependence dependence = {.job = job, .rests = rests};
    expression_walk(expression->root, note_dependence, &dependence);
}

/* Who is treated rests on what was read before where an expression chooses; the effect on all of it. */
/* NOLINTNEXTLINE(misc-no-recursion): who is treated rests on no trial that is not yet allotted */
static void note_trial(struct dependence *dependence, unsigned symbol)
{
    const struct procedure *procedure = dependence->job->procedure;
    if (procedure->symbols[symbol].kind != SYMBOL_TRIAL)
        return;
    unsigned item = procedure->symbols[symbol].item;
    const struct trial *trial = procedure->trials[item / TRIAL_VALUES];
    if (trial->chosen != NULL && !dependence->rests[trial->symbols[TRIAL_TREATED]])
        walk_dependence(dependence->job, trial->chosen, dependence->rests);
    dependence->rests[trial->symbols[TRIAL_TREATED]] = true;
    if (item % TRIAL_VALUES == TRIAL_TREATED && trial->chosen != NULL)
        walk_dependence(dependence->job, trial->chosen, dependence->rests);
    if (item % TRIAL_VALUES == TRIAL_TREATED)
        return;
    dependence->rests[procedure->readings[trial->before].symbol] = true;
    dependence->rests[procedure->readings[trial->after].symbol] = true;
}

/* Definitions never go round in a circle (the loader refuses it), and each is walked only once. */
/* NOLINTNEXTLINE(misc-no-recursion): as said */
static void note_dependence(void *self, const struct node *node)
{
    struct dependence *dependence = self;
    bool passes_on = node->kind == NODE_HERE || node->kind == NODE_LABEL;
    if (node->kind == NODE_CALL && node->function == FUNCTION_given && node->argument_count > 0)
        forgive(dependence, node->arguments[0]);
    else if (passes_on && is_forgiven(dependence, node))
        forgive(dependence, node->first);
    if (node->kind != NODE_SYMBOL || is_forgiven(dependence, node) ||
        dependence->rests[node->symbol])
        return;
    dependence->rests[node->symbol] = true;
    note_trial(dependence, node->symbol);
    const struct expression *definition = definition_of(dependence->job, node->symbol);
    if (definition != NULL)
        walk_dependence(dependence->job, definition, dependence->rests);
}

void mark_rests(const struct job *job, const struct expression *expression, bool *symbols)
{
    walk_dependence(job, expression, symbols);
}

bool rests_on(const struct job *job, const struct expression *expression, unsigned symbol,
              struct arena *scratch)
{
    bool *rests = arena_array(scratch, bool, job->procedure->symbol_count);
    walk_dependence(job, expression, rests);
    return rests[symbol];
}

static void note_deciding(struct job *job, const struct expression *expression)
{
    if (expression != NULL)
        walk_dependence(job, expression, job->decides);
}

/* What a step cannot be done without: how long to wait, how much to fill in, how tight. */
static void note_needed(struct job *job, const struct step *step)
{
    for (size_t i = 0; i < step->starts_count; i++) {
        note_deciding(job, step->starts[i].at_least);
        note_deciding(job, step->starts[i].at_most);
    }
    for (size_t i = 0; i < step->part_count + step->consume_count; i++) {
        const struct supply *supply =
            i < step->part_count ? &step->parts[i] : &step->consumes[i - step->part_count];
        note_deciding(job, supply->amount);
        note_deciding(job, supply->at_most);
    }
    note_deciding(job, step->torque);
    note_deciding(job, step->turn);
    note_deciding(job, step->extension);
    note_deciding(job, step->wrench_length);
    for (size_t i = 0; i < step->action.piece_count; i++)
        note_deciding(job, step->action.pieces[i].value);
}

void find_deciding(struct job *job)
{
    job->decides = arena_array(job->arena, bool, job->procedure->symbol_count);
    for (size_t i = 0; i < job->procedure->work_count; i++) {
        const struct work *work = job->procedure->works[i];
        note_deciding(job, work->when);
        note_deciding(job, work->loop.where);
        note_deciding(job, work->until);
        if (work->step != NULL)
            note_needed(job, work->step);
        if (work->step != NULL && work->step->allots != NULL)
            note_deciding(job, work->step->allots->chosen);
    }
}

#include "procedure/loading.h"

/* A procedure against one machine and the user's gauges. */

struct fitting {
    const struct procedure *procedure;
    const struct machine *machine;
    struct diagnostics *found;
    struct arena *arena;
};

static struct text or_rather(const struct fitting *fitting, struct text wanted,
                             const struct text *names, size_t count)
{
    struct text near = text_nearest(wanted, names, count);
    return near.length == 0 ? near : text_fill(fitting->arena, "; did you mean '{}'?", near);
}

/* --- positions ---------------------------------------------------------------------------------- */

static const struct machine_index *find_index(const struct machine *machine, struct text name)
{
    for (size_t i = 0; i < machine->index_count; i++)
        if (text_equal(machine->indexes[i].name, name))
            return &machine->indexes[i];
    return NULL;
}

static const struct labels *fit_indexes(const struct fitting *fitting)
{
    const struct procedure *procedure = fitting->procedure;
    const struct machine *machine = fitting->machine;
    struct labels *labels = arena_array(fitting->arena, struct labels, procedure->index_count);
    struct text *names = arena_array(fitting->arena, struct text, machine->index_count);
    for (size_t i = 0; i < machine->index_count; i++)
        names[i] = machine->indexes[i].name;
    for (size_t i = 0; i < procedure->index_count; i++) {
        const struct machine_index *index = find_index(machine, procedure->index_names[i]);
        bool is_used = procedure->index_places[i].source != NULL;
        if (index != NULL && is_used && index->labels.count > FITTED_POSITIONS_MAX)
            report(fitting->found, FINDING_TOO_MANY_POSITIONS, procedure->index_places[i],
                   text_number(fitting->arena, (long long)index->labels.count),
                   procedure->index_names[i],
                   text_number(fitting->arena, FITTED_POSITIONS_MAX));
        else if (index != NULL)
            labels[i] = index->labels;
        else if (procedure->index_places[i].source != NULL)
            report(fitting->found, FINDING_NO_SUCH_POSITIONS, procedure->index_places[i],
                   procedure->index_names[i],
                   or_rather(fitting, procedure->index_names[i], names, machine->index_count));
    }
    return labels;
}

static void fit_labels(const struct fitting *fitting, const struct labels *indexes)
{
    const struct procedure *procedure = fitting->procedure;
    for (size_t i = 0; i < procedure->label_use_count; i++) {
        const struct label_use *use = &procedure->label_uses[i];
        const struct labels *labels = &indexes[use->index];
        bool is_there = labels->count == 0; /* reported as a whole */
        for (size_t k = 0; k < labels->count && !is_there; k++)
            is_there = text_equal(labels->texts[k], use->label);
        if (!is_there)
            report(fitting->found, FINDING_NO_SUCH_POSITION, use->place,
                   procedure->index_names[use->index], use->label,
                   or_rather(fitting, use->label, labels->texts, labels->count));
    }
}

static void fit_orders(const struct fitting *fitting, const struct labels *indexes)
{
    for (size_t i = 0; i < fitting->procedure->work_count; i++) {
        const struct work *work = fitting->procedure->works[i];
        if (!work->loop.in_firing_order || work->loop.index == INDEX_NONE)
            continue;
        const struct labels *labels = &indexes[work->loop.index];
        if (labels->count > 0 && labels->firing == NULL)
            report(fitting->found, FINDING_NO_FIRING_ORDER, work->place);
    }
}

/* --- values ------------------------------------------------------------------------------------- */

static struct text kind_wanted(const struct fitting *fitting, const struct field *field)
{
    switch (field->form) {
    case FIELD_QUANTITY:
        return field->is_whole && kind_is_plain(field->unit->kind)
                   ? TEXT("a whole number")
                   : kind_name(fitting->arena, field->unit->kind);
    case FIELD_CHOICES:
        return text_fill(
            fitting->arena, "one of: {}",
            text_join(fitting->arena, field->choices.texts, field->choices.count, TEXT(", ")));
    case FIELD_TEXT:
        break;
    }
    return TEXT("a text");
}

static void unfit(const struct fitting *fitting, const struct machine_want *want,
                  const struct machine_value *value, struct text what)
{
    struct text wanted = kind_wanted(fitting, &want->field);
    report(fitting->found, FINDING_VALUE_UNFIT, value->written_place, value->name, what,
           wanted);
    report(fitting->found, FINDING_WANTED_HERE, want->place, want->name, wanted);
}

static bool is_whole(double value)
{
    return value >= -1e15 && value <= 1e15 && !(value < (double)(long long)value) &&
           !(value > (double)(long long)value);
}

static void fit_quantity(const struct fitting *fitting, const struct machine_want *want,
                         const struct machine_value *value, struct manual_value *manual)
{
    struct quantity quantity;
    /* A bare number is a plain number: on a sheet nobody is asked for a unit. */
    struct quantity_reading reading =
        quantity_read(value->written, &unit_one, fitting->arena, &quantity);
    struct text quoted = text_fill(fitting->arena, "'{}'", value->written);
    if (reading.flaw == QUANTITY_COMMA_UNCLEAR) {
        unfit(fitting, want, value,
              text_fill(fitting->arena, "{}, where the comma may be a point or a thousand,",
                        quoted));
        return;
    }
    if (reading.flaw != QUANTITY_READ) {
        unfit(fitting, want, value, quoted);
        return;
    }
    if (!kind_fits(quantity.unit->kind, want->field.unit->kind)) {
        struct text kind = kind_name(fitting->arena, quantity.unit->kind);
        unfit(fitting, want, value, text_fill(fitting->arena, "{}, {},", quoted, kind));
        return;
    }
    if (want->field.is_whole && !is_whole(quantity.number.value)) {
        unfit(fitting, want, value, quoted);
        return;
    }
    manual->is_given = true;
    manual->quantity = quantity;
}

static void fit_value(const struct fitting *fitting, const struct machine_want *want,
                      const struct machine_value *value, struct manual_value *manual)
{
    const struct choices *choices = &want->field.choices;
    manual->source = value->source;
    switch (want->field.form) {
    case FIELD_QUANTITY:
        if (want->field.unit != NULL)
            fit_quantity(fitting, want, value, manual);
        return;
    case FIELD_CHOICES:
        for (size_t i = 0; i < choices->count; i++)
            if (text_equal(choices->texts[i], value->written)) {
                manual->is_given = true;
                manual->text = value->written;
                return;
            }
        unfit(fitting, want, value, text_fill(fitting->arena, "'{}'", value->written));
        return;
    case FIELD_TEXT:
        manual->is_given = true;
        manual->text = value->written;
        return;
    }
}

static const struct manual_value *fit_values(const struct fitting *fitting)
{
    const struct procedure *procedure = fitting->procedure;
    const struct machine *machine = fitting->machine;
    struct manual_value *values =
        arena_array(fitting->arena, struct manual_value, procedure->want_count);
    struct name_table table = {0};
    for (unsigned i = 0; i < machine->value_count; i++)
        name_table_add(&table, fitting->arena, machine->values[i].name, i);
    for (size_t i = 0; i < procedure->want_count; i++) {
        const struct machine_want *want = &procedure->wants[i];
        int number = name_table_find(&table, (struct text){0}, want->name);
        if (number != NAME_ABSENT)
            fit_value(fitting, want, &machine->values[number], &values[i]);
    }
    return values;
}

/* --- trials -------------------------------------------------------------------------------------- */

static void fit_trials(const struct fitting *fitting, const struct labels *indexes)
{
    const struct procedure *procedure = fitting->procedure;
    for (size_t i = 0; i < procedure->trial_count; i++) {
        const struct trial *trial = procedure->trials[i];
        int index = procedure->symbols[trial->symbols[TRIAL_TREATED]].type.index;
        if (index == INDEX_NONE || indexes[index].count == 0 ||
            trial->drawn <= indexes[index].count)
            continue;
        report(fitting->found, FINDING_DRAWN_TOO_MANY, trial->place, trial->name,
               text_number(fitting->arena, trial->drawn),
               text_number(fitting->arena, (long long)indexes[index].count),
               procedure->index_names[index]);
    }
}

/* --- gauges ------------------------------------------------------------------------------------- */

static const struct gauge *fit_gauges(const struct fitting *fitting,
                                      const struct gauge_list *own)
{
    const struct procedure *procedure = fitting->procedure;
    struct gauge *gauges = arena_array(fitting->arena, struct gauge, procedure->gauge_count);
    struct name_table table = {0};
    for (unsigned i = 0; own != NULL && i < own->count; i++)
        name_table_add(&table, fitting->arena, own->gauges[i].name, i);
    for (size_t i = 0; i < procedure->gauge_count; i++) {
        const struct gauge *assumed = &procedure->gauges[i];
        gauges[i] = *assumed;
        int number = name_table_find(&table, (struct text){0}, assumed->name);
        if (number == NAME_ABSENT || own == NULL)
            continue;
        const struct gauge *mine = &own->gauges[number];
        if (mine->unit == NULL || assumed->unit == NULL)
            continue;
        if (kind_equal(mine->unit->kind, assumed->unit->kind)) {
            gauges[i] = *mine;
            continue;
        }
        struct text wanted = kind_name(fitting->arena, assumed->unit->kind);
        report(fitting->found, FINDING_GAUGE_UNFIT, mine->place, mine->name,
               kind_name(fitting->arena, mine->unit->kind), wanted);
        report(fitting->found, FINDING_WANTED_HERE, assumed->place, assumed->name, wanted);
    }
    return gauges;
}

const struct unit *fitted_unit(const struct fitted *fitted, const struct field *field)
{
    if (field->gauge == GAUGE_NONE || field->form != FIELD_QUANTITY || field->unit == NULL)
        return field->unit;
    const struct unit *assumed = fitted->procedure->gauges[field->gauge].unit;
    const struct unit *own = fitted->gauges[field->gauge].unit;
    bool is_another = own != NULL && assumed != NULL &&
                      !text_equal(own->symbol, assumed->symbol) &&
                      kind_equal(own->kind, field->unit->kind);
    return is_another ? own : field->unit;
}

const struct fitted *procedure_fit(const struct procedure *procedure,
                                   const struct machine *machine,
                                   const struct gauge_list *gauges, struct diagnostics *found,
                                   struct arena *arena)
{
    const struct fitting fitting = {procedure, machine, found, arena};
    unsigned errors = found->count_by_severity[SEVERITY_ERROR];
    struct fitted *fitted = arena_new(arena, struct fitted);
    fitted->procedure = procedure;
    fitted->machine = machine;
    fitted->indexes = fit_indexes(&fitting);
    fit_labels(&fitting, fitted->indexes);
    fit_orders(&fitting, fitted->indexes);
    fit_trials(&fitting, fitted->indexes);
    fitted->values = fit_values(&fitting);
    fitted->gauges = fit_gauges(&fitting, gauges);
    return found->count_by_severity[SEVERITY_ERROR] == errors ? fitted : NULL;
}

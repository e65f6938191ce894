/*
 * kit.c - what to lay out before the work begins.
 */
#include "before_job.h"
#include "hanging.h"
#include "job/say.h"
#include "report/card.h"

/* --- totals --------------------------------------------------------------------------------------- */

struct total {
    struct text name;
    struct kind kind;
    const struct unit *unit;
    double amount;
    bool is_unknown; /* at least in part */
    bool is_bound;   /* it may be less: not every step of it is always done */
    struct total *next;
};

/* How often a step is done at most; 0: nobody knows. */
static unsigned rounds_of(const struct fitted *fitted, const struct work *step, bool *is_bound,
                          struct arena *arena)
{
    unsigned rounds = 1;
    *is_bound = step->step->is_optional;
    for (const struct work *work = step; work != NULL; work = work->parent) {
        if (!machine_makes_sure(fitted, work, arena))
            *is_bound = true;
        if (work->kind == WORK_REPEAT) {
            *is_bound = *is_bound || work->until != NULL;
            rounds *= work->until != NULL ? work->at_most : work->times;
        } else if (work_is_each(work)) {
            *is_bound = *is_bound || work->loop.subset == LOOP_WHERE;
            rounds *= (unsigned)(work->loop.subset == LOOP_LABELS
                                     ? work->loop.label_count
                                     : fitted->indexes[work->loop.index].count);
        }
    }
    return rounds;
}

static void add_supply(const struct fitted *fitted, const struct supply *supply,
                       const struct work *step, struct total **totals, struct arena *arena)
{
    struct total **at = totals;
    while (*at != NULL && !text_equal((*at)->name, supply->name))
        at = &(*at)->next;
    if (*at == NULL) {
        *at = arena_new(arena, struct total);
        (*at)->name = supply->name;
        if (supply->amount != NULL)
            (*at)->kind = supply->amount->type.kind;
    }
    struct total *total = *at;
    bool is_bound;
    unsigned rounds = rounds_of(fitted, step, &is_bound, arena);
    total->is_bound = total->is_bound || is_bound;
    if (supply->amount == NULL) {
        total->is_unknown = true;
        return;
    }
    struct surroundings surroundings = before_job(fitted, arena);
    struct value amount = expression_evaluate(supply->amount, &surroundings, arena);
    if (amount.count != 1 || amount.type.base != TYPE_NUMBER || amount.items[0].is_missing ||
        !kind_equal(supply->amount->type.kind, total->kind)) {
        total->is_unknown = true;
        return;
    }
    total->amount += amount.items[0].number.value * rounds;
    if (total->unit == NULL)
        total->unit = say_unit(arena, fitted, supply->amount);
}

static struct text total_words(const struct total *total, struct arena *arena)
{
    if (total->amount == 0)
        return total->is_unknown ? TEXT("amount not said") : TEXT("none");
    struct text shown = told_amount(arena, total->amount, total->unit);
    if (total->is_unknown)
        return text_fill(arena, "{} and more", shown);
    return total->is_bound ? text_fill(arena, "up to {}", shown) : shown;
}

static void tell_totals(struct blocks *blocks, struct text heading, struct text column,
                        const struct total *totals)
{
    struct rows rows = rows_begin(blocks->arena);
    rows_add(&rows, column, TEXT("How much"));
    for (const struct total *total = totals; total != NULL; total = total->next)
        rows_add(&rows, say_capital(blocks->arena, say_name(blocks->arena, total->name)),
                 total_words(total, blocks->arena));
    blocks_table(blocks, heading, &rows);
}

static void tell_supplies_of(struct blocks *blocks, const struct fitted *fitted)
{
    struct total *parts = NULL, *consumed = NULL;
    for (size_t w = 0; w < fitted->procedure->work_count; w++) {
        const struct work *work = fitted->procedure->works[w];
        if (work->step == NULL || machine_rules_out(fitted, work, blocks->arena))
            continue;
        for (size_t i = 0; i < work->step->part_count; i++)
            add_supply(fitted, &work->step->parts[i], work, &parts, blocks->arena);
        for (size_t i = 0; i < work->step->consume_count; i++)
            add_supply(fitted, &work->step->consumes[i], work, &consumed, blocks->arena);
    }
    tell_totals(blocks, TEXT("New parts"), TEXT("Part"), parts);
    tell_totals(blocks, TEXT("Fluids and materials"), TEXT("What"), consumed);
}

/* --- words with blanks --------------------------------------------------------------------------- */

/* A value of the machine as its sheet has it; "…" for what only the job will know. */
static struct text blank_words(const struct fitted *fitted, const struct expression *value,
                               struct arena *arena)
{
    const struct node *root = value->root;
    if (root->kind == NODE_SYMBOL &&
        fitted->procedure->symbols[root->symbol].kind == SYMBOL_MACHINE) {
        unsigned want = fitted->procedure->symbols[root->symbol].item;
        if (!fitted->values[want].is_given)
            return text_fill(arena, "{} (look up)",
                             say_name(arena, fitted->procedure->wants[want].name));
        if (root->type.base == TYPE_NUMBER)
            return quantity_text(arena, &fitted->values[want].quantity);
    }
    struct surroundings surroundings = before_job(fitted, arena);
    struct value worked_out = expression_evaluate(value, &surroundings, arena);
    bool is_by_position = root->kind == NODE_INDEX || root->kind == NODE_HERE;
    if (is_by_position || worked_out.count != 1 || worked_out.items[0].is_missing)
        return TEXT("\u2026");
    if (worked_out.type.base != TYPE_NUMBER)
        return say_scalar(arena, &worked_out.items[0], worked_out.type, NULL);
    if (kind_is_point(worked_out.type.kind)) /* a temperature is no amount */
        return say_scalar(arena, &worked_out.items[0], worked_out.type,
                          say_unit(arena, fitted, value));
    return told_amount(arena, worked_out.items[0].number.value, say_unit(arena, fitted, value));
}

static struct text filled(const struct fitted *fitted, const struct template *template,
                          struct arena *arena)
{
    struct text words = {0};
    for (size_t i = 0; i < template->piece_count; i++) {
        const struct template_piece *piece = &template->pieces[i];
        struct text value = {0};
        if (piece->value != NULL)
            value = blank_words(fitted, piece->value, arena);
        words = text_fill(arena, "{}{}{}", words, piece->literal, value);
    }
    return words;
}

/* --- things ------------------------------------------------------------------------------------------ */

static void add_once(struct rows *rows, struct text item)
{
    for (size_t i = 0; i < rows->count; i++)
        if (text_equal(rows->items[i].cells[0], item))
            return;
    rows_add(rows, item);
}

/* A measuring jug is a gauge, and stands there with how good it is. */
static bool is_gauge(const struct fitted *fitted, struct text tool, const bool *is_wanted,
                     struct arena *arena)
{
    for (size_t i = 0; i < fitted->procedure->gauge_count; i++) {
        const struct gauge *gauge = &fitted->gauges[i];
        if (is_wanted[i] && (text_equal_folded(tool, gauge->title) ||
                             text_equal_folded(tool, say_name(arena, gauge->name))))
            return true;
    }
    return false;
}

static void tell_tools(struct blocks *blocks, const struct fitted *fitted,
                       const bool *gauge_is_wanted)
{
    struct arena *arena = blocks->arena;
    struct rows tools = rows_begin(arena), wear = rows_begin(arena);
    for (size_t w = 0; w < fitted->procedure->work_count; w++) {
        const struct work *work = fitted->procedure->works[w];
        const struct step *step = work->step;
        if (step == NULL || machine_rules_out(fitted, work, arena))
            continue;
        for (size_t i = 0; i < step->tool_count; i++) {
            struct text tool = filled(fitted, &step->tools[i], arena);
            if (!is_gauge(fitted, tool, gauge_is_wanted, arena))
                add_once(&tools, tool);
        }
        for (size_t i = 0; i < step->wear_count; i++)
            add_once(&wear, filled(fitted, &step->wear[i], arena));
    }
    blocks_list(blocks, TEXT("To wear"), &wear);
    blocks_list(blocks, TEXT("Tools"), &tools);
}

static void note_gauge(int gauge, bool is_done, bool *is_used, bool *is_wanted)
{
    if (gauge == GAUGE_NONE)
        return;
    is_used[gauge] = true;
    is_wanted[gauge] = is_wanted[gauge] || is_done;
}

/* By gauge number.  One that only steps of other machines use is left where it hangs. */
static const bool *gauges_wanted(const struct fitted *fitted, struct arena *arena)
{
    const struct procedure *procedure = fitted->procedure;
    bool *is_used = arena_array(arena, bool, procedure->gauge_count);
    bool *is_wanted = arena_array(arena, bool, procedure->gauge_count);
    for (size_t i = 0; i < procedure->input_count; i++)
        note_gauge(procedure->inputs[i].field.gauge, true, is_used, is_wanted);
    for (size_t w = 0; w < procedure->work_count; w++) {
        const struct work *work = procedure->works[w];
        if (work->step == NULL)
            continue;
        bool is_done = !machine_rules_out(fitted, work, arena);
        for (size_t i = 0; i < work->step->reading_count; i++)
            note_gauge(procedure->readings[work->step->readings[i]].field.gauge, is_done,
                       is_used, is_wanted);
        if (work->step->torque != NULL)
            note_gauge(work->step->torque_gauge, is_done, is_used, is_wanted);
    }
    for (size_t i = 0; i < procedure->gauge_count; i++)
        is_wanted[i] = is_wanted[i] || !is_used[i];
    return is_wanted;
}

static struct text form_words(const struct fitted *fitted, const struct field *field,
                              struct arena *arena)
{
    const struct unit *unit = fitted_unit(fitted, field);
    switch (field->form) {
    case FIELD_QUANTITY:
        return kind_is_plain(unit->kind) && text_equal(unit->symbol, unit_one.symbol)
                   ? TEXT("a number")
                   : text_fill(arena, "in {}", unit->symbol);
    case FIELD_CHOICES:
        return text_fill(
            arena, "one of: {}",
            text_join(arena, field->choices.texts, field->choices.count, TEXT(", ")));
    case FIELD_TEXT:
        break;
    }
    return TEXT("a text");
}

static void tell_values_wanted(struct blocks *blocks, const struct fitted *fitted)
{
    struct arena *arena = blocks->arena;
    const struct procedure *procedure = fitted->procedure;
    struct rows missing = rows_begin(arena), known = rows_begin(arena),
                inputs = rows_begin(arena);
    rows_add(&missing, TEXT("Value"), TEXT("How it is asked"));
    rows_add(&known, TEXT("Value"), TEXT("Is"), TEXT("Read in"));
    rows_add(&inputs, TEXT("Value"), TEXT("How it is asked"));
    for (size_t i = 0; i < procedure->want_count; i++) {
        const struct manual_value *value = &fitted->values[i];
        const struct field *field = &procedure->wants[i].field;
        struct text name = say_capital(arena, say_name(arena, procedure->wants[i].name));
        if (!value->is_given)
            rows_add(&missing, name, form_words(fitted, field, arena));
        else
            rows_add(&known, name,
                     field->form == FIELD_QUANTITY ? quantity_text(arena, &value->quantity)
                                                   : value->text,
                     value->source.length > 0 ? value->source : TEXT("not said where"));
    }
    for (size_t i = 0; i < procedure->input_count; i++)
        rows_add(&inputs, say_capital(arena, say_name(arena, procedure->inputs[i].name)),
                 form_words(fitted, &procedure->inputs[i].field, arena));
    blocks_table(blocks, TEXT("Look up first: values the machine sheet lacks"), &missing);
    blocks_table(blocks, TEXT("Asked at the start"), &inputs);
    blocks_table(blocks, TEXT("Values of the manual; compare them with it"), &known);
}

struct kit_steps {
    const struct fitted *fitted;
    struct arena *arena;
};

static bool may_be_done(const void *self, const struct work *step)
{
    const struct kit_steps *steps = self;
    return !machine_rules_out(steps->fitted, step, steps->arena);
}

struct card kit_build(const struct fitted *fitted, const struct ranking *ranking,
                      bool every_step, const struct day *today, struct arena *arena)
{
    const struct procedure *procedure = fitted->procedure;
    const struct machine *machine = fitted->machine;
    struct blocks blocks = blocks_begin(arena);
    struct rows head = rows_begin(arena);
    rows_add(&head, TEXT("Procedure"),
             text_fill(arena, "{}, revision {}", procedure->name,
                       text_number(arena, procedure->revision)));
    rows_add(&head, TEXT("Machine"),
             machine->title.length > 0
                 ? text_fill(arena, "{} ({})", machine->title, machine->name)
                 : machine->name);
    if (procedure->duration.length > 0)
        rows_add(&head, TEXT("Takes"), procedure->duration);
    blocks_fields(&blocks, TEXT(""), &head);
    tell_values_wanted(&blocks, fitted);
    const bool *gauge_is_wanted = gauges_wanted(fitted, arena);
    tell_tools(&blocks, fitted, gauge_is_wanted);
    tell_gauges(&blocks, TEXT("Gauges"), fitted, gauge_is_wanted, today);
    tell_supplies_of(&blocks, fitted);
    const struct kit_steps steps = {fitted, arena};
    const struct hanging_on hanging = {.procedure = procedure,
                                       .ranking = ranking,
                                       .is_wanted = may_be_done,
                                       .self = &steps,
                                       .are_grouped = !every_step};
    tell_hanging(&blocks, &hanging);
    return (struct card){text_fill(arena, "To lay out: {}", procedure->title), blocks.items,
                         blocks.count};
}

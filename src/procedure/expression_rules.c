#include "procedure/loading.h"

/* What can be said of expressions only when each has its type. */

static const struct symbol *symbol_at(const struct loader *loader, unsigned number)
{
    return VECTOR_AT(loader->symbols, struct symbol, number);
}

/* --- numbers that can be compared at the desk --------------------------------------------------- */

static bool is_constant(const struct expression *expression, double *value)
{
    if (expression == NULL)
        return false;
    const struct node *node = expression->root;
    double sign = 1;
    if (node->kind == NODE_NEGATE) {
        sign = -1;
        node = node->first;
    }
    if (node->kind != NODE_NUMBER)
        return false;
    *value = sign * node->number.value;
    return true;
}

static void check_limits(struct loader *loader)
{
    for (size_t i = 0; i < loader->limits.count; i++) {
        const struct limits *limits = VECTOR_AT(loader->limits, struct limit_note, i)->limits;
        double low, high;
        if (is_constant(limits->at_least, &low) && is_constant(limits->at_most, &high) &&
            low > high)
            report(loader->found, FINDING_LIMITS_REVERSED, limits->at_least->place,
                   limits->at_least->written, limits->at_most->written);
    }
}

static void check_supplies(struct loader *loader)
{
    for (size_t i = 0; i < loader->supplies.count; i++) {
        const struct supply *supply =
            VECTOR_AT(loader->supplies, struct supply_note, i)->supply;
        double amount, most;
        if (is_constant(supply->amount, &amount) && is_constant(supply->at_most, &most) &&
            amount > most)
            report(loader->found, FINDING_AMOUNT_TOO_LARGE, supply->amount->place,
                   supply->amount->written, supply->name, supply->at_most->written);
    }
}

static void check_units(struct loader *loader)
{
    for (size_t i = 0; i < loader->result_units.count; i++) {
        const struct unit_note *note = VECTOR_AT(loader->result_units, struct unit_note, i);
        const struct expression *value = note->result->definition.value;
        if (value == NULL)
            continue;
        struct type type = value->type;
        struct kind kind = note->result->unit->kind;
        if (type.base == TYPE_NUMBER && kind_fits(type.kind, kind))
            continue;
        struct text wanted = type.base == TYPE_NUMBER
                                 ? kind_name(loader->arena, type.kind)
                                 : type_name(loader->arena, type, (struct text){0});
        report(loader->found, FINDING_WRONG_KIND, note->value->place,
               text_fill(loader->arena, "the unit {}", note->value->text),
               kind_name(loader->arena, kind), wanted);
    }
}

/* --- torques ------------------------------------------------------------------------------------ */

/* The unit the author or the machine sheet thinks in; a bare number typed in is taken in it. */
static const struct unit *torque_unit(const struct loader *loader, const struct step *step)
{
    const struct node *node = step->torque == NULL ? NULL : step->torque->root;
    if (step->torque_gauge != GAUGE_NONE)
        return (*VECTOR_AT(loader->gauges, struct gauge *, step->torque_gauge))->unit;
    if (node != NULL && node->kind == NODE_PLUS_MINUS)
        node = node->first;
    if (node != NULL && node->kind == NODE_NUMBER)
        return node->unit;
    if (node != NULL && node->kind == NODE_SYMBOL &&
        symbol_at(loader, node->symbol)->kind == SYMBOL_MACHINE)
        return (*VECTOR_AT(loader->wants, struct machine_want *,
                           symbol_at(loader, node->symbol)->item))
            ->field.unit;
    return NULL;
}

static void give_torque_units(struct loader *loader)
{
    for (size_t i = 0; i < loader->steps.count; i++) {
        const struct step_note *note = VECTOR_AT(loader->steps, struct step_note, i);
        if (note->torque_reading == NAME_ABSENT)
            continue;
        const struct unit *unit = torque_unit(loader, note->step);
        if (unit != NULL)
            (*VECTOR_AT(loader->readings, struct reading *, note->torque_reading))->field.unit =
                unit;
    }
}

/* --- alternatives ------------------------------------------------------------------------------- */

struct coverage {
    const struct loader *loader;
    const struct choices *choices; /* of the one text that is looked at */
    int symbol;
    bool *is_covered;
    bool is_other; /* something else is looked at */
};

static void cover(struct coverage *coverage, const struct node *symbol, const struct node *text)
{
    if (coverage->symbol == NAME_ABSENT && symbol->type.choices != NULL) {
        coverage->symbol = (int)symbol->symbol;
        coverage->choices = symbol->type.choices;
        coverage->is_covered =
            arena_array(coverage->loader->arena, bool, coverage->choices->count);
    }
    if (coverage->symbol != (int)symbol->symbol || coverage->choices == NULL) {
        coverage->is_other = true;
        return;
    }
    for (size_t i = 0; i < coverage->choices->count; i++)
        if (text_equal(coverage->choices->texts[i], text->text))
            coverage->is_covered[i] = true;
}

/* NOLINTNEXTLINE(misc-no-recursion): as deep as an expression, or definitions, may be */
static void gather_coverage(struct coverage *coverage, const struct node *node)
{
    if (node->kind == NODE_OR) {
        gather_coverage(coverage, node->first);
        gather_coverage(coverage, node->second);
    } else if (node->kind == NODE_EQUAL && node->first->kind == NODE_SYMBOL &&
               node->second->kind == NODE_TEXT) {
        cover(coverage, node->first, node->second);
    } else if (node->kind == NODE_EQUAL && node->second->kind == NODE_SYMBOL &&
               node->first->kind == NODE_TEXT) {
        cover(coverage, node->second, node->first);
    } else if (node->kind == NODE_SYMBOL &&
               symbol_at(coverage->loader, node->symbol)->kind == SYMBOL_NAME) {
        const struct definition *definition =
            *VECTOR_AT(coverage->loader->definitions, struct definition *,
                       symbol_at(coverage->loader, node->symbol)->item);
        gather_coverage(coverage, definition->value->root);
    } else {
        coverage->is_other = true;
    }
}

static bool names_every_choice(const struct loader *loader, const struct work *either)
{
    struct coverage coverage = {.loader = loader, .symbol = NAME_ABSENT};
    for (size_t i = 0; i < either->child_count; i++)
        gather_coverage(&coverage, either->children[i]->when->root);
    if (coverage.is_other || coverage.choices == NULL)
        return false;
    for (size_t i = 0; i < coverage.choices->count; i++)
        if (!coverage.is_covered[i])
            return false;
    return true;
}

static void check_alternatives(struct loader *loader)
{
    for (size_t i = 0; i < loader->eithers.count; i++) {
        const struct either_note *note = VECTOR_AT(loader->eithers, struct either_note, i);
        bool is_known = !note->has_otherwise && !note->is_faulty;
        for (size_t k = 0; k < note->work->child_count && is_known; k++)
            is_known = note->work->children[k]->when != NULL;
        if (is_known && !names_every_choice(loader, note->work))
            report(loader->found, FINDING_EITHER_INCOMPLETE, note->work->place);
    }
}

/* --- loops, and hands that are not free --------------------------------------------------------- */

static void mark_rounds(struct loader *loader)
{
    for (size_t i = 0; i < loader->works.count; i++) {
        struct work *work = *VECTOR_AT(loader->works, struct work *, i);
        if (work->when != NULL && work->loop.index != INDEX_NONE)
            work->when_each_round =
                (loops_named(loader, work->when) >> work->loop.index & 1) != 0;
    }
}

static const struct work *away_around(const struct work *work)
{
    for (; work != NULL; work = work->parent)
        if (work->is_away)
            return work;
    return NULL;
}

struct away {
    struct loader *loader;
    const struct work *section;
    const struct work **recorded_in; /* by reading: the away section, or NULL */
    unsigned char *is_seen;          /* by definition */
    bool rests_on_own;
};

/* NOLINTNEXTLINE(misc-no-recursion): definitions rest on one another, NAME_DEPTH_MAX deep */
static void look_away(void *self, const struct node *node)
{
    struct away *away = self;
    if (node->kind != NODE_SYMBOL)
        return;
    const struct symbol *symbol = symbol_at(away->loader, node->symbol);
    if (symbol->kind == SYMBOL_READING && away->recorded_in[symbol->item] == away->section)
        away->rests_on_own = true;
    if (symbol->kind != SYMBOL_NAME || away->is_seen[symbol->item])
        return;
    away->is_seen[symbol->item] = true;
    const struct definition *definition =
        *VECTOR_AT(away->loader->definitions, struct definition *, symbol->item);
    if (definition->value != NULL)
        expression_walk(definition->value->root, look_away, away);
}

static void check_away_expression(struct away *away, const struct expression *expression,
                                  const char *key)
{
    if (expression == NULL)
        return;
    away->rests_on_own = false;
    memset(away->is_seen, 0, away->loader->definitions.count);
    expression_walk(expression->root, look_away, away);
    if (away->rests_on_own)
        report(away->loader->found, FINDING_NOT_IN_AWAY, expression->place, text_from(key));
}

static void check_away(struct loader *loader)
{
    struct away away = {.loader = loader};
    bool is_needed = false;
    for (size_t i = 0; i < loader->works.count && !is_needed; i++)
        is_needed = (*VECTOR_AT(loader->works, struct work *, i))->is_away;
    if (!is_needed)
        return;
    away.recorded_in = arena_array(loader->arena, const struct work *, loader->readings.count);
    away.is_seen = arena_array(loader->arena, unsigned char, loader->definitions.count + 1);
    for (size_t i = 0; i < loader->steps.count; i++) {
        const struct step_note *note = VECTOR_AT(loader->steps, struct step_note, i);
        const struct work *section = away_around(note->work);
        for (size_t k = 0; k < note->step->reading_count && section != NULL; k++)
            away.recorded_in[note->step->readings[k]] = section;
    }
    for (size_t i = 0; i < loader->works.count; i++) {
        const struct work *work = *VECTOR_AT(loader->works, struct work *, i);
        away.section = away_around(work);
        if (away.section == NULL)
            continue;
        check_away_expression(&away, work->when, "when");
        check_away_expression(&away, work->loop.where, "in");
    }
}

void expressions_check(struct loader *loader)
{
    check_limits(loader);
    check_supplies(loader);
    check_units(loader);
    give_torque_units(loader);
    check_alternatives(loader);
    mark_rounds(loader);
    check_away(loader);
}

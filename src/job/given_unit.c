/*
 * given_unit.c - the unit that somebody gave the parts of a value in.
 */
#include "job_state.h"

/* Names may rest on names twice each, so that looking through all of them would take for ever. */
enum { SYMBOLS_LOOKED_AT_MAX = 500 };

struct unit_finder {
    const struct fitted *fitted;
    struct kind kind;
    const struct unit *unit;
    unsigned *looked_at;
};

static const struct unit *find_given_unit(const struct fitted *fitted,
                                          const struct expression *expression,
                                          unsigned *looked_at);

/* `rate` is said as the result that shows it: L/1000km. */
static const struct unit *unit_of_result_showing(const struct procedure *procedure,
                                                 unsigned symbol)
{
    for (size_t i = 0; i < procedure->result_count; i++) {
        const struct result *result = &procedure->results[i];
        const struct node *root =
            result->definition.value == NULL ? NULL : result->definition.value->root;
        if (root != NULL && root->kind == NODE_SYMBOL && root->symbol == symbol &&
            result->unit != NULL)
            return result->unit;
    }
    return NULL;
}

static const struct unit *machine_unit(const struct fitted *fitted, unsigned want)
{
    const struct field *field = &fitted->procedure->wants[want].field;
    return fitted->values[want].is_given && field->form == FIELD_QUANTITY
               ? fitted->values[want].quantity.unit
               : field->unit;
}

/* NOLINTNEXTLINE(misc-no-recursion): definitions do not go round in a circle */
static const struct unit *find_symbol_unit(const struct fitted *fitted, unsigned symbol,
                                           unsigned *looked_at)
{
    const struct procedure *procedure = fitted->procedure;
    const struct symbol *about = &procedure->symbols[symbol];
    const struct unit *shown;
    switch (about->kind) {
    case SYMBOL_MACHINE:
        return machine_unit(fitted, about->item);
    case SYMBOL_INPUT:
        return procedure->inputs[about->item].field.unit;
    case SYMBOL_READING:
        return procedure->readings[about->item].field.unit;
    case SYMBOL_RESULT:
        return procedure->results[about->item].unit != NULL
                   ? procedure->results[about->item].unit
                   : find_given_unit(fitted, procedure->results[about->item].definition.value,
                                     looked_at);
    case SYMBOL_NAME:
        shown = unit_of_result_showing(procedure, symbol);
        return shown != NULL
                   ? shown
                   : find_given_unit(fitted, procedure->names[about->item].value, looked_at);
    case SYMBOL_EARLIER:
        return find_symbol_unit(fitted, about->item, looked_at);
    case SYMBOL_TRIAL: /* of the kind of its readings, or a step of it */
        return procedure->readings[procedure->trials[about->item / TRIAL_VALUES]->before]
            .field.unit;
    case SYMBOL_TIMER:
        break;
    }
    return NULL;
}

/* NOLINTNEXTLINE(misc-no-recursion): as said */
static void find_unit(void *self, const struct node *node)
{
    struct unit_finder *finder = self;
    if (finder->unit != NULL)
        return;
    if (node->kind == NODE_SYMBOL && ++*finder->looked_at > SYMBOLS_LOOKED_AT_MAX)
        return;
    const struct unit *unit = NULL;
    if (node->kind == NODE_NUMBER)
        unit = node->unit;
    else if (node->kind == NODE_SYMBOL && node->type.base == TYPE_NUMBER)
        unit = find_symbol_unit(finder->fitted, node->symbol, finder->looked_at);
    if (unit != NULL && kind_equal(unit->kind, finder->kind))
        finder->unit = unit;
}

/* NOLINTNEXTLINE(misc-no-recursion): as said */
static const struct unit *find_given_unit(
    const struct fitted *fitted, const struct expression *expression,
    unsigned *looked_at) /* NOLINT(readability-non-const-parameter): counted */
{
    if (expression->type.base != TYPE_NUMBER)
        return NULL;
    struct unit_finder finder = {
        .fitted = fitted, .kind = expression->type.kind, .looked_at = looked_at};
    expression_walk(expression->root, find_unit, &finder);
    return finder.unit;
}

const struct unit *given_unit(const struct fitted *fitted, const struct expression *expression)
{
    unsigned looked_at = 0;
    return find_given_unit(fitted, expression, &looked_at);
}

const struct unit *symbol_unit(const struct fitted *fitted, unsigned symbol)
{
    unsigned looked_at = 0;
    return find_symbol_unit(fitted, symbol, &looked_at);
}

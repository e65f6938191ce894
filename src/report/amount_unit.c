/*
 * amount_unit.c - the unit a worked-out amount is best said in.
 */
#include "job/say.h"
#include "telling.h"

#include <math.h>

struct unit_search {
    const struct fitted *fitted;
    struct kind kind;
    const struct unit *found;
};

static const struct unit *symbol_unit(const struct fitted *fitted, const struct symbol *symbol)
{
    const struct procedure *procedure = fitted->procedure;
    switch (symbol->kind) {
    case SYMBOL_MACHINE:
        return fitted->values[symbol->item].is_given
                   ? fitted->values[symbol->item].quantity.unit
                   : procedure->wants[symbol->item].field.unit;
    case SYMBOL_INPUT:
        return procedure->inputs[symbol->item].field.unit;
    case SYMBOL_READING:
        return procedure->readings[symbol->item].field.unit;
    case SYMBOL_RESULT:
        return procedure->results[symbol->item].unit;
    case SYMBOL_NAME:
        return told_unit(fitted, procedure->names[symbol->item].value);
    case SYMBOL_TRIAL:
        return procedure->readings[procedure->trials[symbol->item / TRIAL_VALUES]->before]
            .field.unit;
    case SYMBOL_EARLIER:
    case SYMBOL_TIMER:
        break;
    }
    return NULL;
}

static void look_at(void *self, const struct node *node)
{
    struct unit_search *search = self;
    const struct unit *unit = node->kind == NODE_NUMBER ? node->unit : NULL;
    if (search->found != NULL)
        return;
    if (node->kind == NODE_SYMBOL && node->type.base == TYPE_NUMBER)
        unit = symbol_unit(search->fitted, &search->fitted->procedure->symbols[node->symbol]);
    if (unit != NULL && kind_equal(unit->kind, search->kind))
        search->found = unit;
}

const struct unit *told_unit(const struct fitted *fitted, const struct expression *expression)
{
    struct unit_search search = {fitted, expression->type.kind, NULL};
    expression_walk(expression->root, look_at, &search);
    return search.found != NULL ? search.found : unit_for(search.kind);
}

struct text told_amount(struct arena *arena, double si, const struct unit *unit)
{
    const int digits = 3;
    double shown = unit == NULL ? si : unit_step_from_si(unit, si);
    bool is_counted = unit == NULL ||
                      (kind_is_plain(unit->kind) && text_equal(unit->symbol, unit_one.symbol));
    if (!is_counted && shown != 0 && isfinite(shown)) {
        double place = pow(10, floor(log10(fabs(shown))) - (digits - 1));
        si *= round(shown / place) * place / shown;
    }
    struct scalar amount = {.number.value = si};
    struct type type = {.base = TYPE_NUMBER,
                        .kind = unit == NULL ? unit_one.kind : unit->kind,
                        .index = INDEX_NONE};
    return say_amount(arena, &amount, type, unit);
}

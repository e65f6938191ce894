/*
 * amount_unit.c - an amount as a person measures it out.
 */
#include "job/say.h"
#include "telling.h"

#include <math.h>

struct text told_amount(struct arena *arena, double si, const struct unit *unit)
{
    const int digits = 3;
    double shown = unit_step_from_si(unit, si);
    bool is_counted = kind_is_plain(unit->kind) && text_equal(unit->symbol, unit_one.symbol);
    if (!is_counted && shown != 0 && isfinite(shown)) {
        double place = pow(10, floor(log10(fabs(shown))) - (digits - 1));
        si *= round(shown / place) * place / shown;
    }
    struct scalar amount = {.number.value = si};
    struct type type = {.base = TYPE_NUMBER, .kind = unit->kind, .index = INDEX_NONE};
    return say_amount(arena, &amount, type, unit);
}

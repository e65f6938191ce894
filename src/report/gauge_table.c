#include "job/say.h"
#include "telling.h"

#include <math.h>

/* An amount without the offset of a temperature scale. */
static struct text step_words(struct arena *arena, const struct unit *unit, double step)
{
    struct measured amount = {.value = unit_step_from_si(unit, step)};
    struct text number = say_number(arena, amount, &unit_one);
    if (kind_is_plain(unit->kind) && text_equal(unit->symbol, unit_one.symbol))
        return number;
    const char *sentence = text_equal(unit->symbol, TEXT("\u00B0")) ? "{}{}" : "{}\u00A0{}";
    return text_fill(arena, sentence, number, unit->symbol);
}

static struct text percent(struct arena *arena, double ratio)
{
    struct measured amount = {.value = ratio * 100.0};
    return text_fill(arena, "{}\u00A0%", say_number(arena, amount, &unit_one));
}

static struct text term_words(struct arena *arena, const struct gauge *gauge,
                              const struct accuracy_term *term)
{
    switch (term->form) {
    case ACCURACY_ABSOLUTE:
        return step_words(arena, gauge->unit, term->amount);
    case ACCURACY_OF_READING:
        return text_fill(arena, "{} of the reading", percent(arena, term->amount));
    case ACCURACY_OF_FULL_SCALE:
        break;
    }
    return text_fill(arena, "{} of {}", percent(arena, term->amount),
                     step_words(arena, gauge->unit, term->full_scale));
}

static struct text accuracy_words(struct arena *arena, const struct gauge *gauge)
{
    struct text *terms = arena_array(arena, struct text, gauge->accuracy_count);
    for (size_t i = 0; i < gauge->accuracy_count; i++)
        terms[i] = term_words(arena, gauge, &gauge->accuracy[i]);
    return text_join(arena, terms, gauge->accuracy_count, TEXT(" and "));
}

static struct text unit_words(const struct gauge *gauge)
{
    bool is_number = gauge->unit == NULL || (kind_is_plain(gauge->unit->kind) &&
                                             text_equal(gauge->unit->symbol, unit_one.symbol));
    return is_number ? TEXT("a number") : gauge->unit->symbol;
}

static void tell_overdue(struct blocks *blocks, const struct fitted *fitted,
                         const bool *is_wanted, const struct day *day)
{
    struct arena *arena = blocks->arena;
    for (size_t i = 0; i < fitted->procedure->gauge_count; i++) {
        const struct gauge *gauge = &fitted->gauges[i];
        struct text overdue = say_overdue(arena, gauge, day->wall, day->zone);
        if ((is_wanted == NULL || is_wanted[i]) && overdue.length > 0)
            blocks_paragraph(blocks, TONE_NOTICE,
                             text_fill(arena, "{}: {}.",
                                       say_capital(arena, say_gauge(arena, gauge)), overdue));
    }
}

void tell_gauges(struct blocks *blocks, struct text heading, const struct fitted *fitted,
                 const bool *is_wanted, const struct day *day)
{
    struct arena *arena = blocks->arena;
    struct rows rows = rows_begin(arena);
    rows_add(&rows, TEXT("Gauge"), TEXT("Unit"), TEXT("Resolution"), TEXT("Accuracy"),
             TEXT("Calibrated"), TEXT("Due"));
    for (size_t i = 0; i < fitted->procedure->gauge_count; i++) {
        const struct gauge *gauge = &fitted->gauges[i];
        if (is_wanted != NULL && !is_wanted[i])
            continue;
        rows_add(&rows, say_capital(arena, say_gauge(arena, gauge)), unit_words(gauge),
                 gauge->resolution > 0 ? step_words(arena, gauge->unit, gauge->resolution)
                                       : TEXT("not given"),
                 gauge->accuracy_count > 0 ? accuracy_words(arena, gauge) : TEXT("not given"),
                 gauge->calibrated.length > 0 ? gauge->calibrated : TEXT("not known"),
                 gauge->due);
    }
    blocks_table(blocks, heading, &rows);
    tell_overdue(blocks, fitted, is_wanted, day);
}

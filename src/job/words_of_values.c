#include "base/calendar.h"
#include "job/say.h"
#include "job_state.h"

#include <math.h>

/* --- values in words ---------------------------------------------------------------------------- */

static struct text scalar_words(const struct scalar *scalar, struct type type,
                                const struct unit *unit, struct arena *arena)
{
    if (scalar->is_missing)
        return TEXT("not known");
    switch (type.base) {
    case TYPE_TRUTH:
        return scalar->truth ? TEXT("yes") : TEXT("no");
    case TYPE_TEXT:
        return scalar->text;
    case TYPE_NUMBER:
        break;
    }
    if (unit == NULL)
        unit = kind_is_plain(type.kind) ? &unit_one : unit_for(type.kind);
    return say_number(arena, (struct measured){.value = scalar->number.value}, unit);
}

struct text value_in_words(const struct job *job, const struct value *value,
                           const struct unit *unit, struct arena *arena)
{
    if (value->count == 1 && value->type.index == INDEX_NONE)
        return scalar_words(&value->items[0], value->type, unit, arena);
    struct text *parts = arena_array(arena, struct text, value->count);
    for (size_t i = 0; i < value->count; i++)
        parts[i] = text_fill(arena, "{}: {}", job->fitted->indexes[value->type.index].texts[i],
                             scalar_words(&value->items[i], value->type, unit, arena));
    return text_join(arena, parts, value->count, TEXT(", "));
}

/* --- blanks ---------------------------------------------------------------------------------------- */

/* A value that was typed is shown as typed: 24.50 stays 24.50. */
static bool as_typed(const struct job *job, const struct node *node, const int *here,
                     struct text *words, struct arena *arena)
{
    bool is_here = node->kind == NODE_HERE;
    if (is_here)
        node = node->first;
    if (node->kind != NODE_SYMBOL)
        return false;
    const struct symbol *symbol = &job->procedure->symbols[node->symbol];
    if (symbol->kind == SYMBOL_MACHINE && job->fitted->values[symbol->item].is_given &&
        job->procedure->wants[symbol->item].field.form == FIELD_QUANTITY) {
        *words = quantity_text(arena, &job->fitted->values[symbol->item].quantity);
        return true;
    }
    unsigned number = 0;
    if (symbol->kind == SYMBOL_MACHINE)
        number = job->want_event[symbol->item];
    else if (symbol->kind == SYMBOL_INPUT)
        number = job->input_event[symbol->item];
    else if (symbol->kind == SYMBOL_READING) {
        int index = job->procedure->readings[symbol->item].index;
        int position = is_here ? place_here(index, here) : INDEX_NONE;
        if ((position == INDEX_NONE) != (index == INDEX_NONE))
            return false;
        const struct cell *cell = &job->cells[job->first_cell[symbol->item] +
                                              (position < 0 ? 0 : (unsigned)position)];
        number = cell->count == 1 ? cell->takes[0] : 0;
    }
    if (number == 0 || job_event_now(job, number)->meaning.length == 0)
        return false;
    *words = job_event_now(job, number)->meaning;
    return true;
}

/* How long something has been going on is said like every wait: "65 min", not "3900 s"; but a wait that
 * is left is rounded up, and what has gone by to the nearest. */
static bool as_span(const struct expression *expression, const struct value *value,
                    struct text *words, struct arena *arena)
{
    const struct node *root = expression->root;
    bool is_span = root->kind == NODE_CALL &&
                   (root->function == FUNCTION_elapsed || root->function == FUNCTION_late);
    if (!is_span || value->items[0].is_missing)
        return false;
    double seconds = value->items[0].number.value;
    double step = seconds < 600.0 ? 1.0 : 60.0;
    *words = calendar_span_text(arena, llround(seconds / step) * llround(step * 1000.0));
    return true;
}

struct text fill_at(const struct job *job, const struct template *template,
                    const struct spot *spot, int index, int position, struct arena *arena)
{
    if (template->piece_count == 0)
        return template->written;
    struct surroundings surroundings =
        surroundings_at(job, spot, job_time(job, job->last), arena);
    int *here = arena_array(arena, int, job->procedure->index_count);
    for (size_t i = 0; i < job->procedure->index_count; i++)
        here[i] = (int)i == index && position != INDEX_NONE ? position : surroundings.here[i];
    surroundings.here = here;
    struct text *parts = arena_array(arena, struct text, template->piece_count * 2);
    size_t count = 0;
    for (size_t i = 0; i < template->piece_count; i++) {
        const struct template_piece *piece = &template->pieces[i];
        parts[count++] = piece->literal;
        if (piece->value == NULL)
            continue;
        struct text words;
        if (!as_typed(job, piece->value->root, surroundings.here, &words, arena)) {
            struct value value = expression_evaluate(piece->value, &surroundings, arena);
            if (!as_span(piece->value, &value, &words, arena))
                words = value_in_words(job, &value, say_unit(arena, job->fitted, piece->value),
                                       arena);
        }
        parts[count++] = words;
    }
    return text_join(arena, parts, count, (struct text){0});
}

struct text job_fill(const struct job *job, const struct template *template,
                     const struct spot *spot, struct arena *arena)
{
    return fill_at(job, template, spot, INDEX_NONE, INDEX_NONE, arena);
}

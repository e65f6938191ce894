#include "program.h"

#include <string.h>

/* A decision that nobody looks at again, before it is forgotten, tells two states apart for nothing.  The
 * bits that are still looked at are found backwards from where that happens, as a compiler finds
 * which variables live. */

struct foregone {
    const struct program *program;
    uint64_t *decisions; /* every bit of a truth, and of a subset */
    uint64_t **wanted;   /* by place: those that are looked at from there on */
    uint64_t *sum;       /* of the place at hand */
};

static bool looks_at_truth(const struct place_in_work *place)
{
    return place->kind == PLACE_DECIDE || place->kind == PLACE_CHOOSE;
}

static void mark_variable(const struct variable *variable, uint64_t *bits)
{
    for (unsigned i = 0; i < variable->bit_count; i++)
        masks_set_bit(bits, (int)(variable->first_bit + i));
}

static void find_decisions(struct foregone *foregone)
{
    const struct program *program = foregone->program;
    for (size_t i = 0; i < program->variable_count; i++)
        mark_variable(&program->variables[i], foregone->decisions);
    for (size_t i = 0; i < program->place_count; i++)
        if (program->places[i].kind == PLACE_TEST)
            masks_set_bit(foregone->decisions, program->places[i].bit);
}

/* Of what is wanted behind the place, what it settles itself. */
static void take_settled(const struct foregone *foregone, const struct place_in_work *place)
{
    if (place->kind == PLACE_KEEP)
        masks_clear_bit(foregone->sum, place->bit);
    if (place->kind != PLACE_STEP || place->work->step->is_optional)
        return;
    for (size_t i = 0; i < foregone->program->layout.words; i++)
        foregone->sum[i] &= ~place->masks.clears[i];
}

/* Did anything come to what is wanted at the place? */
static bool look_back(const struct foregone *foregone, size_t number)
{
    const struct program *program = foregone->program;
    const struct place_in_work *place = &program->places[number];
    const uint64_t *no = foregone->wanted[place->next[WAY_NO]];
    const uint64_t *yes = foregone->wanted[place->next[WAY_YES]];
    for (size_t i = 0; i < program->layout.words; i++)
        foregone->sum[i] = no[i] | yes[i];
    take_settled(foregone, place);
    if (looks_at_truth(place))
        mark_variable(&program->variables[place->variable], foregone->sum);
    if (place->kind == PLACE_TEST)
        masks_set_bit(foregone->sum, place->bit);
    bool is_more = false;
    uint64_t *wanted = foregone->wanted[number];
    for (size_t i = 0; i < program->layout.words; i++) {
        is_more = is_more || (foregone->sum[i] & ~wanted[i]) != 0;
        wanted[i] |= foregone->sum[i];
    }
    return is_more;
}

void program_forego(struct program *program)
{
    size_t words = program->layout.words;
    struct arena *arena = program->arena;
    struct foregone foregone = {
        .program = program,
        .decisions = arena_array(arena, uint64_t, words),
        .wanted = arena_array(arena, uint64_t *, program->place_count),
        .sum = arena_array(arena, uint64_t, words),
    };
    find_decisions(&foregone);
    for (size_t i = 0; i < program->place_count; i++)
        foregone.wanted[i] = arena_array(arena, uint64_t, words);
    /* Places are made from the end backwards, so that one round is mostly enough. */
    for (bool is_more = true; is_more;) {
        is_more = false;
        for (size_t i = 0; i < program->place_count; i++)
            is_more = look_back(&foregone, i) || is_more;
    }
    for (size_t i = 0; i < program->place_count; i++) {
        uint64_t *bits = foregone.wanted[i];
        for (size_t k = 0; k < words; k++)
            bits[k] = foregone.decisions[k] & ~bits[k];
        program->places[i].foregone = bits;
    }
}

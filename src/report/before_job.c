/*
 * before_job.c - what the machine alone says of a procedure, before there is a job.
 */
#include "before_job.h"

/* --- working out ------------------------------------------------------------------------------ */

static struct value value_of(void *self, unsigned symbol, struct arena *arena);

static struct value nothing_read(void *self, unsigned symbol, unsigned position,
                                 struct arena *arena)
{
    (void)position;
    const struct fitted *fitted = self;
    const struct symbol *about = &fitted->procedure->symbols[symbol];
    return value_missing(arena, about->type, 0, about->name);
}

static double not_started(void *self, unsigned timer, int position)
{
    (void)self;
    (void)timer;
    (void)position;
    return -1.0;
}

struct surroundings before_job(const struct fitted *fitted, struct arena *arena)
{
    /* expression/ hands `self` back as it was; nothing is changed through it */
    union {
        const struct fitted *fitted;
        void *self;
    } handle = {fitted};
    return (struct surroundings){.self = handle.self,
                                 .value_of = value_of,
                                 .repeats_of = nothing_read,
                                 .elapsed = not_started,
                                 .late = not_started,
                                 .indexes = fitted->indexes,
                                 .index_count = fitted->procedure->index_count,
                                 .here =
                                     arena_array(arena, int, fitted->procedure->index_count)};
}

static struct value value_of(void *self, unsigned symbol, struct arena *arena)
{
    const struct fitted *fitted = self;
    const struct procedure *procedure = fitted->procedure;
    const struct symbol *about = &procedure->symbols[symbol];
    if (about->kind == SYMBOL_MACHINE && fitted->values[about->item].is_given) {
        const struct manual_value *value = &fitted->values[about->item];
        return about->type.base == TYPE_NUMBER
                   ? value_number(arena, quantity_si(&value->quantity), about->type.kind)
                   : value_words(arena, value->text);
    }
    if (about->kind == SYMBOL_NAME) {
        struct surroundings surroundings = before_job(fitted, arena);
        return expression_evaluate(procedure->names[about->item].value, &surroundings, arena);
    }
    size_t count =
        about->type.index == INDEX_NONE ? 1 : fitted->indexes[about->type.index].count;
    return value_missing(arena, about->type, count, about->name);
}

/* --- branches --------------------------------------------------------------------------------- */

static bool is_of_the_job(void *self, const struct symbol *symbol)
{
    (void)self;
    return symbol->kind != SYMBOL_MACHINE;
}

struct machine_view {
    const struct fitted *fitted;
    struct arena *arena;
};

struct places_named {
    bool is_any;
};

static void look_for_place(void *self, const struct node *node)
{
    struct places_named *named = self;
    if (node->kind == NODE_INDEX || node->kind == NODE_HERE)
        named->is_any = true;
}

/* `any(weak)` is false before anything was read, and that says nothing; what names a position may
 * be so at another. */
static bool is_known(void *self, const struct expression *when, bool truth)
{
    const struct machine_view *view = self;
    struct places_named named = {false};
    expression_walk(when->root, look_for_place, &named);
    if (named.is_any || told_rests_on(view->fitted->procedure, when, is_of_the_job, NULL))
        return false;
    struct surroundings surroundings = before_job(view->fitted, view->arena);
    struct value value = expression_evaluate(when, &surroundings, view->arena);
    return value.count == 1 && !value.items[0].is_missing && value.items[0].truth == truth;
}

bool machine_rules_out(const struct fitted *fitted, const struct work *work,
                       struct arena *arena)
{
    struct machine_view view = {fitted, arena};
    return work_is_ruled_out(work, is_known, &view);
}

bool machine_makes_sure(const struct fitted *fitted, const struct work *work,
                        struct arena *arena)
{
    struct machine_view view = {fitted, arena};
    if (work->when != NULL && !is_known(&view, work->when, true))
        return false;
    const struct work *either = work->parent;
    if (either == NULL || either->kind != WORK_EITHER)
        return true;
    for (size_t i = 0; either->children[i] != work; i++)
        if (either->children[i]->when == NULL ||
            !is_known(&view, either->children[i]->when, false))
            return false;
    return true;
}

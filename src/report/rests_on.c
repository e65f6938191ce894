/*
 * rests_on.c - what an expression goes back to, through names and results.
 */
#include "telling.h"

struct search {
    const struct procedure *procedure;
    bool (*is_sought)(void *self, const struct symbol *symbol);
    void *self;
    bool is_found;
};

/* NOLINTNEXTLINE(misc-no-recursion): names and results go back to earlier ones only */
static void look_at(void *self, const struct node *node)
{
    struct search *search = self;
    bool is_timer = node->kind == NODE_CALL &&
                    (node->function == FUNCTION_elapsed || node->function == FUNCTION_late);
    if (search->is_found || (node->kind != NODE_SYMBOL && !is_timer))
        return;
    const struct procedure *procedure = search->procedure;
    const struct symbol *symbol = &procedure->symbols[node->symbol];
    const struct expression *behind = NULL;
    if (symbol->kind == SYMBOL_NAME)
        behind = procedure->names[symbol->item].value;
    if (symbol->kind == SYMBOL_RESULT)
        behind = procedure->results[symbol->item].definition.value;
    search->is_found = behind == NULL
                           ? search->is_sought(search->self, symbol)
                           : told_rests_on(procedure, behind, search->is_sought, search->self);
}

/* NOLINTNEXTLINE(misc-no-recursion): see above */
bool told_rests_on(const struct procedure *procedure, const struct expression *expression,
                   bool (*is_sought)(void *self, const struct symbol *symbol), void *self)
{
    struct search search = {procedure, is_sought, self, false};
    expression_walk(expression->root, look_at, &search);
    return search.is_found;
}

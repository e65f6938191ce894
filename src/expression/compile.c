#include "language.h"

static bool find_nothing(void *self, struct text name, struct meaning *meaning)
{
    (void)self, (void)name, (void)meaning;
    return false;
}

static const struct scope empty_scope = {.find = find_nothing};

const struct expression *expression_compile(struct text written, struct place place,
                                            const struct scope *scope,
                                            struct diagnostics *found, struct arena *arena)
{
    unsigned own_errors = 0;
    struct compiler compiler = {.scope = scope != NULL ? scope : &empty_scope,
                                .found = found,
                                .arena = arena,
                                .written_errors = &own_errors};
    if (compiler.scope->written_errors != NULL)
        compiler.written_errors = compiler.scope->written_errors;
    struct drafts drafts;
    const struct node *root = parse(&compiler, written, place, &drafts);
    if (root == NULL)
        return NULL;
    for (struct draft *draft = drafts.first; draft != NULL; draft = draft->next)
        if (!check_node(&compiler, &draft->node))
            return NULL;
    struct expression *expression = arena_new(arena, struct expression);
    *expression = (struct expression){
        .written = written, .place = place, .type = root->type, .root = root};
    return expression;
}

static bool type_fits(struct type got, struct type wanted)
{
    if (got.base != wanted.base || got.index != wanted.index)
        return false;
    return got.base != TYPE_NUMBER || kind_fits(got.kind, wanted.kind);
}

bool expression_expect(const struct expression *expression, struct type wanted,
                       struct text what, struct diagnostics *found)
{
    struct arena *arena = found->arena;
    const struct node *root = expression->root;
    if (!type_fits(expression->type, wanted)) {
        report(found, FINDING_EXPRESSION_TYPE, root->place, expression->written,
               type_described(arena, expression->type, TEXT("")), what,
               type_described(arena, wanted, TEXT("")));
        return false;
    }
    return wanted.base != TYPE_TEXT || want_among(found, wanted.choices, what, root);
}

/* NOLINTNEXTLINE(misc-no-recursion): a tree has at most NODES_MAX nodes */
void expression_walk(const struct node *root,
                     void (*visit)(void *self, const struct node *node), void *self)
{
    visit(self, root);
    if (root->first != NULL)
        expression_walk(root->first, visit, self);
    if (root->second != NULL)
        expression_walk(root->second, visit, self);
    for (size_t i = 0; i < root->argument_count; i++)
        expression_walk(root->arguments[i], visit, self);
}

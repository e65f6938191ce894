/*
 * rules.c - what the checks of nodes and of functions have in common, and how
 * types are called when a check fails.
 */
#include "language.h"

/* --- in words -------------------------------------------------------------------- */

struct text suggestion(struct arena *arena, struct text nearest)
{
    return nearest.length == 0 ? TEXT("") : text_fill(arena, "; did you mean '{}'?", nearest);
}

struct text type_name(struct arena *arena, struct type type, struct text index_name)
{
    struct text base = TEXT("text");
    if (type.base == TYPE_TRUTH)
        base = TEXT("truth");
    else if (type.base == TYPE_NUMBER)
        base = kind_name(arena, type.kind);
    if (type.index == INDEX_NONE)
        return base;
    return text_fill(arena, "{} for each {}", base,
                     index_name.length == 0 ? TEXT("position") : index_name);
}

struct text type_described(struct arena *arena, struct type type, struct text index_name)
{
    return text_fill(arena, "a {}", type_name(arena, type, index_name));
}

struct text index_name(const struct compiler *compiler, int index)
{
    const struct scope *scope = compiler->scope;
    if (index == INDEX_NONE || scope->index_name == NULL)
        return TEXT("position");
    return scope->index_name(scope->self, index);
}

struct text node_shown(struct arena *arena, const struct node *node)
{
    if (node->kind != NODE_LABEL)
        return node->text;
    return text_fill(arena, "{}[{}]", node->first->text, node->text);
}

struct text described(const struct compiler *compiler, struct type type)
{
    return type_described(compiler->arena, type, index_name(compiler, type.index));
}

/* --- rules that several nodes share --------------------------------------------------- */

bool want_base(const struct compiler *compiler, const struct node *node, enum type_base base,
               struct text user)
{
    if (node->type.base == base)
        return true;
    report(compiler->found, FINDING_EXPRESSION_TYPE, node->place,
           node_shown(compiler->arena, node), described(compiler, node->type), user,
           base == TYPE_TRUTH ? TEXT("a truth") : TEXT("a number"));
    return false;
}

bool want_one_kind(const struct compiler *compiler, const struct node *a, const struct node *b,
                   struct text user, struct kind *kind)
{
    if (kind_fits(a->type.kind, b->type.kind)) {
        *kind = b->type.kind;
        return true;
    }
    if (kind_fits(b->type.kind, a->type.kind)) {
        *kind = a->type.kind;
        return true;
    }
    struct type one = a->type, other = b->type;
    one.index = other.index = INDEX_NONE;
    report(compiler->found, FINDING_EXPRESSION_KINDS, b->place, node_shown(compiler->arena, a),
           described(compiler, one), node_shown(compiler->arena, b), described(compiler, other),
           user);
    return false;
}

bool want_one_index(const struct compiler *compiler, const struct node *a, const struct node *b,
                    int *index)
{
    *index = a->type.index != INDEX_NONE ? a->type.index : b->type.index;
    if (b->type.index == INDEX_NONE || b->type.index == *index)
        return true;
    report(compiler->found, FINDING_EXPRESSION_INDEXES, b->place, a->text,
           index_name(compiler, a->type.index), b->text, index_name(compiler, b->type.index));
    return false;
}

bool want_no_point(const struct compiler *compiler, const struct node *node, struct text reason)
{
    if (!kind_is_point(node->type.kind))
        return true;
    report(compiler->found, FINDING_EXPRESSION_POINT, node->place, node->text, reason);
    return false;
}

/* --- choices ---------------------------------------------------------------------- */

static bool is_choice(const struct choices *choices, struct text text)
{
    for (size_t i = 0; i < choices->count; i++)
        if (text_equal(choices->texts[i], text))
            return true;
    return false;
}

static struct text choices_advice(struct arena *arena, const struct choices *choices,
                                  struct text got)
{
    struct text nearest = text_nearest(got, choices->texts, choices->count);
    if (nearest.length > 0)
        return text_fill(arena, "did you mean '{}'?", nearest);
    return text_fill(arena, "it is one of: {}",
                     text_join(arena, choices->texts, choices->count, TEXT(", ")));
}

bool want_among(struct diagnostics *found, const struct choices *choices, struct text what,
                const struct node *literal)
{
    if (literal->kind != NODE_TEXT || choices == NULL || is_choice(choices, literal->text))
        return true;
    report(found, FINDING_EXPRESSION_CHOICE, literal->place, what, literal->text,
           choices_advice(found->arena, choices, literal->text));
    return false;
}

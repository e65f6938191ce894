#include "procedure/loading.h"

#include <assert.h>

/* The one namespace, and the expressions that look names up in it. */

/* --- declaring ---------------------------------------------------------------------------------- */

struct text full_name(struct loader *loader, struct text prefix, struct text name)
{
    return prefix.length == 0 ? name : text_fill(loader->arena, "{}{}", prefix, name);
}

static const char *kind_of_name(enum symbol_kind kind)
{
    switch (kind) {
    case SYMBOL_MACHINE:
        return "a machine value";
    case SYMBOL_INPUT:
        return "an input";
    case SYMBOL_EARLIER:
        return "an earlier value";
    case SYMBOL_READING:
        return "a reading";
    case SYMBOL_NAME:
        return "something under 'names'";
    case SYMBOL_RESULT:
        return "a result";
    case SYMBOL_TIMER:
        return "a timer";
    case SYMBOL_TRIAL:
        return "a trial";
    }
    return "";
}

static bool is_reserved(struct text name)
{
    return expression_reserves(name) || text_equal(name, TEXT("machine")) ||
           text_equal(name, TEXT("earlier"));
}

static struct text own_part(struct text name)
{
    size_t from = name.length;
    while (from > 0 && name.bytes[from - 1] != '.')
        from--;
    return text_slice(name, from, name.length);
}

static bool is_free(struct loader *loader, struct text name, struct place place)
{
    int symbol = name_table_find(&loader->symbol_table, (struct text){0}, name);
    if (symbol != NAME_ABSENT) {
        const struct symbol *other = VECTOR_AT(loader->symbols, struct symbol, symbol);
        report(loader->found, FINDING_NAME_TAKEN, place, name,
               text_from(kind_of_name(other->kind)));
        report(loader->found, FINDING_FIRST_GIVEN_HERE, other->place, name);
        return false;
    }
    if (name_table_find(&loader->index_table, (struct text){0}, name) != NAME_ABSENT) {
        report(loader->found, FINDING_NAME_TAKEN, place, name, TEXT("positions"));
        return false;
    }
    return true;
}

int symbol_declare(struct loader *loader, enum symbol_kind kind, struct text name,
                   struct place place)
{
    if (kind != SYMBOL_MACHINE && is_reserved(own_part(name))) {
        report(loader->found, FINDING_NAME_RESERVED, place, own_part(name));
        return NAME_ABSENT;
    }
    if (!is_free(loader, name, place))
        return NAME_ABSENT;
    unsigned number = (unsigned)loader->symbols.count;
    name_table_add(&loader->symbol_table, loader->arena, name, number);
    struct symbol *symbol = VECTOR_ADD(&loader->symbols, loader->arena, struct symbol);
    *symbol = (struct symbol){.kind = kind, .name = name, .place = place};
    symbol->type.index = INDEX_NONE;
    struct symbol_note *note =
        VECTOR_ADD(&loader->symbol_notes, loader->arena, struct symbol_note);
    note->piece = loader->piece;
    note->pending = NAME_ABSENT;
    return (int)number;
}

int index_number(struct loader *loader, struct text name, struct place place)
{
    int number = name_table_find(&loader->index_table, (struct text){0}, name);
    if (number != NAME_ABSENT)
        return number;
    if (is_reserved(name)) {
        report(loader->found, FINDING_NAME_RESERVED, place, name);
        return NAME_ABSENT;
    }
    if (loader->indexes.count == INDEXES_MAX) {
        report(loader->found, FINDING_TOO_MANY, place, text_number(loader->arena, INDEXES_MAX),
               TEXT("kinds of positions"));
        return NAME_ABSENT;
    }
    if (!is_free(loader, name, place))
        return NAME_ABSENT;
    name_table_add(&loader->index_table, loader->arena, name, (unsigned)loader->indexes.count);
    *VECTOR_ADD(&loader->indexes, loader->arena, struct text) = name;
    VECTOR_ADD(&loader->index_places, loader->arena, struct place);
    return (int)loader->indexes.count - 1;
}

void index_is_used(struct loader *loader, int index, struct place place)
{
    struct place *first = VECTOR_AT(loader->index_places, struct place, index);
    if (first->source == NULL)
        *first = place;
}

/* --- looking up --------------------------------------------------------------------------------- */

int symbol_find(const struct loader *loader, const struct piece *piece, struct text name)
{
    const struct name_table *table = &loader->symbol_table;
    int number = NAME_ABSENT;
    if (piece->name_prefix.length > 0)
        number = name_table_find(table, piece->name_prefix, name);
    if (number == NAME_ABSENT && piece->step_prefix.length > 0)
        number = name_table_find(table, piece->step_prefix, name);
    if (number == NAME_ABSENT)
        number = name_table_find(table, (struct text){0}, name);
    return number;
}

struct lookup {
    struct loader *loader;
    const struct pending *pending;
};

static void define(struct loader *loader, int symbol);

static struct symbol *symbol_at(const struct loader *loader, int number)
{
    return VECTOR_AT(loader->symbols, struct symbol, number);
}

static struct symbol_note *note_at(const struct loader *loader, int number)
{
    return VECTOR_AT(loader->symbol_notes, struct symbol_note, number);
}

static bool is_defined(enum symbol_kind kind)
{
    return kind == SYMBOL_NAME || kind == SYMBOL_RESULT;
}

/* The last value from a job before: of the same type as what it is named after. */
static int find_earlier(struct loader *loader, const struct piece *piece, struct text name)
{
    int of = symbol_find(loader, piece, text_slice(name, 8, name.length));
    if (of == NAME_ABSENT || symbol_at(loader, of)->kind == SYMBOL_TIMER ||
        symbol_at(loader, of)->kind == SYMBOL_MACHINE ||
        symbol_at(loader, of)->kind == SYMBOL_TRIAL)
        return NAME_ABSENT;
    int known =
        name_table_find(&loader->symbol_table, TEXT("earlier."), symbol_at(loader, of)->name);
    if (known != NAME_ABSENT)
        return known;
    if (is_defined(symbol_at(loader, of)->kind))
        define(loader, of);
    struct text full = text_fill(loader->arena, "earlier.{}", symbol_at(loader, of)->name);
    int number = symbol_declare(loader, SYMBOL_EARLIER, full, symbol_at(loader, of)->place);
    if (number == NAME_ABSENT)
        return NAME_ABSENT;
    symbol_at(loader, number)->type = symbol_at(loader, of)->type;
    symbol_at(loader, number)->item = (unsigned)of;
    note_at(loader, number)->is_faulty = note_at(loader, of)->is_faulty;
    return number;
}

static bool find_name(void *self, struct text name, struct meaning *meaning)
{
    const struct lookup *lookup = self;
    struct loader *loader = lookup->loader;
    int index = name_table_find(&loader->index_table, (struct text){0}, name);
    if (index != NAME_ABSENT) {
        index_is_used(loader, index, lookup->pending->place);
        *meaning = (struct meaning){.kind = MEANING_INDEX, .index = index};
        return true;
    }
    int number = text_starts(name, TEXT("earlier."))
                     ? find_earlier(loader, lookup->pending->piece, name)
                     : symbol_find(loader, lookup->pending->piece, name);
    if (number == NAME_ABSENT)
        return false;
    if (is_defined(symbol_at(loader, number)->kind))
        define(loader, number);
    const struct symbol *symbol = symbol_at(loader, number);
    const struct symbol_note *note = note_at(loader, number);
    if (note->is_faulty)
        loader->is_poisoned = true;
    bool is_timer = symbol->kind == SYMBOL_TIMER;
    *meaning = (struct meaning){.kind = is_timer ? MEANING_TIMER : MEANING_VALUE,
                                .symbol = (unsigned)number,
                                .type = symbol->type,
                                .index = is_timer ? symbol->type.index : INDEX_NONE,
                                .loops = note->loops};
    return true;
}

static struct text find_nearest(void *self, struct text name)
{
    struct loader *loader = ((const struct lookup *)self)->loader;
    if (loader->suggestions++ > SUGGESTIONS_MAX)
        return (struct text){0};
    struct text near = name_table_nearest(&loader->symbol_table, name, loader->arena);
    return near.length > 0 ? near
                           : name_table_nearest(&loader->index_table, name, loader->arena);
}

static struct text index_named(void *self, int index)
{
    const struct lookup *lookup = self;
    return *VECTOR_AT(lookup->loader->indexes, struct text, index);
}

/* --- compiling ---------------------------------------------------------------------------------- */

/* The loader's own list takes over what was found by one expression. */
static void hand_over(struct loader *loader, struct diagnostics *own,
                      const struct pending *pending)
{
    if (own->first == NULL)
        return;
    for (struct diagnostic *at = own->first; at != NULL; at = at->next)
        if (!pending->is_verbatim && at->place.source == pending->place.source)
            at->place = pending->place;
    *loader->found->last = own->first;
    loader->found->last = own->last;
    for (int i = 0; i <= SEVERITY_ERROR; i++)
        loader->found->count_by_severity[i] += own->count_by_severity[i];
}

static bool is_wanted(struct loader *loader, const struct pending *pending,
                      const struct expression *expression, struct diagnostics *own)
{
    struct type wanted = {.base = TYPE_NUMBER, .index = pending->index};
    struct type got = expression->type;
    switch (pending->want) {
    case WANT_ANY:
        return true;
    case WANT_TRUTH:
        wanted.base = TYPE_TRUTH;
        break;
    case WANT_NUMBER:
        wanted.kind = pending->kind;
        break;
    case WANT_SCALAR:
        wanted.kind = got.kind;
        break;
    case WANT_LIKE:
        if (*pending->like == NULL)
            return true; /* that one was reported */
        wanted = (*pending->like)->type;
        if (got.index == INDEX_NONE)
            wanted.index = INDEX_NONE;
        break;
    }
    if (wanted.base == TYPE_NUMBER && got.base == TYPE_NUMBER && got.index == wanted.index) {
        if (kind_fits(got.kind, wanted.kind))
            return true;
        report(own, FINDING_WRONG_KIND, pending->place, pending->written,
               kind_name(loader->arena, got.kind), kind_name(loader->arena, wanted.kind));
        return false;
    }
    return expression_expect(expression, wanted, text_from(pending->what), own);
}

struct node_notes {
    const struct loader *loader;
    struct vector *labels; /* NULL: not wanted */
    unsigned long long loops;
    unsigned depth; /* of the deepest definition that is named */
};

static void note_node(void *self, const struct node *node)
{
    struct node_notes *notes = self;
    if (node->kind == NODE_HERE || node->kind == NODE_INDEX)
        notes->loops |= 1ULL << node->index;
    if (node->kind == NODE_SYMBOL) {
        const struct symbol_note *named = note_at(notes->loader, (int)node->symbol);
        notes->loops |= named->loops;
        if (named->depth > notes->depth)
            notes->depth = named->depth;
    }
    if (node->kind == NODE_LABEL && notes->labels != NULL)
        *VECTOR_ADD(notes->labels, notes->loader->arena, struct label_use) =
            (struct label_use){node->first->type.index, node->text, node->place};
}

unsigned long long loops_named(const struct loader *loader, const struct expression *expression)
{
    struct node_notes notes = {.loader = loader};
    expression_walk(expression->root, note_node, &notes);
    return notes.loops;
}

static unsigned long long compile(struct loader *loader, struct pending *pending)
{
    struct diagnostics own;
    diagnostics_begin(&own, loader->arena);
    bool was_poisoned = loader->is_poisoned;
    loader->is_poisoned = false;
    struct lookup lookup = {loader, pending};
    struct scope scope = {.self = &lookup,
                          .find = find_name,
                          .nearest = find_nearest,
                          .loops = pending->loops,
                          .index_name = index_named,
                          .written_errors = &loader->written_errors};
    const struct expression *expression =
        expression_compile(pending->written, pending->place, &scope, &own, loader->arena);
    struct node_notes notes = {.loader = loader, .labels = &loader->labels};
    if (!loader->is_poisoned) {
        if (expression != NULL && is_wanted(loader, pending, expression, &own)) {
            *pending->target = expression;
            expression_walk(expression->root, note_node, &notes);
        }
        hand_over(loader, &own, pending);
    }
    loader->is_poisoned = was_poisoned;
    pending->is_done = true;
    return notes.loops;
}

static void report_circle(struct loader *loader, int symbol, unsigned from)
{
    struct text name = symbol_at(loader, symbol)->name;
    struct text names[NAME_DEPTH_MAX + 1];
    unsigned count = 0;
    for (unsigned i = from; i < loader->open_count; i++)
        names[count++] = loader->open_names[i];
    names[count++] = name;
    report(loader->found, FINDING_RESTS_ON_ITSELF, symbol_at(loader, symbol)->place, name,
           text_join(loader->arena, names, count, TEXT(" rests on ")));
    note_at(loader, symbol)->is_faulty = true;
}

static void report_depth(struct loader *loader, int symbol, const struct pending *pending)
{
    report(loader->found, FINDING_RESTS_TOO_DEEP, pending->place,
           symbol_at(loader, symbol)->name, text_number(loader->arena, NAME_DEPTH_MAX));
    note_at(loader, symbol)->is_faulty = true;
}

/* Definitions that are written in their order are never open together, and yet worked out one in the
 * other. */
static bool is_too_deep(struct loader *loader, int symbol, const struct expression *expression)
{
    struct node_notes notes = {.loader = loader};
    expression_walk(expression->root, note_node, &notes);
    note_at(loader, symbol)->depth = notes.depth + 1;
    return notes.depth == NAME_DEPTH_MAX;
}

/* Works out the type of a definition, and first of what it rests on. */
/* NOLINTNEXTLINE(misc-no-recursion): through find_name, no deeper than NAME_DEPTH_MAX */
static void define(struct loader *loader, int symbol)
{
    const struct symbol_note *note = note_at(loader, symbol);
    if (note->pending == NAME_ABSENT || note->is_faulty)
        return;
    struct pending *pending = VECTOR_AT(loader->pending, struct pending, note->pending);
    if (pending->is_done)
        return;
    struct text name = symbol_at(loader, symbol)->name;
    if (pending->is_open) {
        unsigned from = 0;
        while (from < loader->open_count && !text_equal(loader->open_names[from], name))
            from++;
        report_circle(loader, symbol, from);
        return;
    }
    if (loader->open_count == NAME_DEPTH_MAX) {
        report_depth(loader, symbol, pending);
        return;
    }
    pending->is_open = true;
    loader->open_names[loader->open_count++] = name;
    unsigned long long loops = compile(loader, pending);
    loader->open_count--;
    const struct expression *expression = *pending->target;
    struct symbol_note *after = note_at(loader, symbol); /* the list may have moved */
    after->loops = loops;
    if (expression == NULL)
        after->is_faulty = true;
    else if (is_too_deep(loader, symbol, expression))
        report_depth(loader, symbol,
                     VECTOR_AT(loader->pending, struct pending, after->pending));
    else
        symbol_at(loader, symbol)->type = expression->type;
}

void expressions_compile(struct loader *loader)
{
    for (size_t i = 0; i < loader->pending.count; i++) {
        struct pending *pending = VECTOR_AT(loader->pending, struct pending, i);
        if (pending->is_done)
            continue;
        if (pending->definition > 0)
            define(loader, pending->definition - 1);
        else
            compile(loader, pending);
    }
}

/* --- timers ------------------------------------------------------------------------------------- */

static int timer_find(struct loader *loader, const struct step_note *note, struct text name,
                      struct place place)
{
    int number = symbol_find(loader, note->piece, name);
    if (number != NAME_ABSENT && symbol_at(loader, number)->kind == SYMBOL_TIMER)
        return (int)symbol_at(loader, number)->item;
    if (loader->is_part_alone) /* a step of another procedure may start it */
        return NAME_ABSENT;
    struct text *names = arena_array(loader->arena, struct text, loader->timers.count);
    for (size_t i = 0; i < loader->timers.count; i++)
        names[i] = VECTOR_AT(loader->timers, struct timer, i)->name;
    report(loader->found, FINDING_TIMER_UNKNOWN, place, name,
           did_you_mean(loader, text_nearest(name, names, loader->timers.count)));
    return NAME_ABSENT;
}

void timers_resolve(struct loader *loader)
{
    for (size_t i = 0; i < loader->steps.count; i++) {
        const struct step_note *note = VECTOR_AT(loader->steps, struct step_note, i);
        const struct yaml_node *item = NULL;
        if (note->awaits == NULL)
            continue;
        size_t given = read_items(loader, note->awaits, &item);
        unsigned *timers = arena_array(loader->arena, unsigned, given);
        for (size_t k = 0; k < given; k++, item = item->next) {
            struct text name;
            int timer = item_name(loader, note->awaits, item, &name)
                            ? timer_find(loader, note, name, item->place)
                            : NAME_ABSENT;
            if (timer != NAME_ABSENT)
                timers[note->step->awaits_count++] = (unsigned)timer;
        }
        note->step->awaits = timers;
    }
}

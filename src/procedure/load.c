#include "procedure/loading.h"

/* From files to models: the entry points. */

struct loader loader_begin(struct diagnostics *found, struct arena *arena)
{
    struct loader loader = {.arena = arena, .found = found, .index = INDEX_NONE};
    loader.kinds.torque = unit_find(TEXT("N.m"))->kind;
    loader.kinds.time = unit_find(TEXT("s"))->kind;
    loader.kinds.length = unit_find(TEXT("m"))->kind;
    loader.kinds.angle = unit_find(TEXT("deg"))->kind;
    return loader;
}

void loader_take_safety(struct loader *loader, const struct safety_library *safety)
{
    struct arena *arena = loader->arena;
    if (safety == NULL)
        return;
    loader->safety = safety;
    name_table_reserve(&loader->condition_table, arena, safety->condition_count);
    name_table_reserve(&loader->activity_table, arena, safety->activity_count);
    for (size_t i = 0; i < safety->index_count; i++) {
        *VECTOR_ADD(&loader->indexes, arena, struct text) = safety->index_names[i];
        VECTOR_ADD(&loader->index_places, arena, struct place);
        name_table_add(&loader->index_table, arena, safety->index_names[i], (unsigned)i);
    }
    vector_extend(&loader->conditions, sizeof(struct condition *), safety->condition_count,
                  arena);
    vector_extend(&loader->condition_notes, sizeof(struct condition_note),
                  safety->condition_count, arena);
    for (unsigned i = 0; i < safety->condition_count; i++)
        name_table_add(&loader->condition_table, arena, safety->conditions[i]->name, i);
    if (safety->condition_count > 0) /* only those behind them are changed here */
        memcpy(loader->conditions.items, safety->conditions,
               safety->condition_count * sizeof(struct condition *));
    loader->borrowed_conditions = safety->condition_count;
    vector_extend(&loader->activities, sizeof(struct activity *), safety->activity_count,
                  arena);
    for (unsigned i = 0; i < safety->activity_count; i++)
        name_table_add(&loader->activity_table, arena, safety->activities[i]->name, i);
    if (safety->activity_count > 0)
        memcpy(loader->activities.items, safety->activities,
               safety->activity_count * sizeof(struct activity *));
    for (size_t i = 0; i < safety->no_precaution_count; i++)
        *VECTOR_ADD(&loader->no_precautions, arena, struct no_precaution) =
            safety->no_precautions[i];
}

struct text did_you_mean(struct loader *loader, struct text nearest)
{
    if (nearest.length == 0)
        return nearest;
    return text_fill(loader->arena, "; did you mean '{}'?", nearest);
}

struct text nearest_of(struct loader *loader, const struct name_table *table,
                       struct text misspelt)
{
    if (loader->suggestions++ > SUGGESTIONS_MAX)
        return (struct text){0};
    return did_you_mean(loader, name_table_nearest(table, misspelt, loader->arena));
}

/* --- what a file is ----------------------------------------------------------------------------- */

/* Keys at the top that tell files apart. */
enum top_key {
    TOP_PROCEDURE = 1,
    TOP_STEPS = 2, /* what only a procedure has */
    TOP_MACHINE = 4,
    TOP_SHEET = 8,   /* what only a machine sheet has */
    TOP_SAFETY = 16, /* what only a library has */
    TOP_CONDITIONS = 32,
    TOP_GAUGES = 64,
    TOP_ANSWERS = 128
};

static unsigned top_key(struct text key)
{
    static const struct {
        const char *key;
        unsigned is;
    } keys[] = {
        {"procedure", TOP_PROCEDURE},   {"steps", TOP_STEPS},
        {"revision", TOP_STEPS},        {"about", TOP_STEPS},
        {"machine", TOP_MACHINE},       {"positions", TOP_SHEET},
        {"firing_order", TOP_SHEET},    {"values", TOP_SHEET},
        {"activities", TOP_SAFETY},     {"not_a_precaution", TOP_SAFETY},
        {"conditions", TOP_CONDITIONS}, {"gauges", TOP_GAUGES},
        {"answers", TOP_ANSWERS},       {"expect", TOP_ANSWERS},
        {"begins", TOP_ANSWERS},        {"seed", TOP_ANSWERS},
        {"pause_before", TOP_ANSWERS},  {"fail_before", TOP_ANSWERS},
    };
    for (size_t i = 0; i < sizeof keys / sizeof *keys; i++)
        if (text_equal(key, text_from(keys[i].key)))
            return keys[i].is;
    return 0;
}

static enum file_form form_of_keys(unsigned keys)
{
    if ((keys & TOP_STEPS) != 0)
        return FORM_PROCEDURE;
    if ((keys & TOP_ANSWERS) != 0)
        return FORM_ANSWERS;
    if ((keys & TOP_PROCEDURE) != 0)
        return FORM_PROCEDURE;
    if ((keys & (TOP_MACHINE | TOP_SHEET)) != 0)
        return FORM_MACHINE;
    if ((keys & (TOP_SAFETY | TOP_CONDITIONS)) != 0)
        return FORM_SAFETY;
    return (keys & TOP_GAUGES) != 0 ? FORM_GAUGES : FORM_UNKNOWN;
}

enum file_form form_of_tree(const struct yaml_node *root)
{
    unsigned keys = 0;
    if (root->shape != SHAPE_MAP)
        return FORM_UNKNOWN;
    for (const struct yaml_node *key = root->first; key != NULL; key = key->next->next)
        keys |= top_key(key->text);
    return form_of_keys(keys);
}

/* A map in braces has its keys anywhere. */
static enum file_form form_in_braces(const struct source *source, struct arena *scratch)
{
    struct diagnostics unread;
    diagnostics_begin(&unread, scratch);
    const struct yaml_node *root = yaml_read(source, &unread, scratch);
    return root == NULL ? FORM_UNKNOWN : form_of_tree(root);
}

enum file_form file_form(const struct source *source, struct arena *scratch)
{
    const unsigned enough = TOP_STEPS | TOP_ANSWERS | TOP_SHEET | TOP_SAFETY;
    struct text rest = source->bytes;
    if (text_starts(rest, TEXT("\xEF\xBB\xBF")))
        rest = text_slice(rest, 3, rest.length);
    unsigned keys = 0;
    for (struct text line; (keys & enough) == 0 && text_cut(&rest, '\n', &line);) {
        if (line.length > 0 && line.bytes[0] == '{')
            return form_in_braces(source, scratch);
        if (line.length == 0 || line.bytes[0] < 'a' || line.bytes[0] > 'z')
            continue;
        const char *colon = memchr(line.bytes, ':', line.length);
        if (colon != NULL)
            keys |= top_key(text_trim(text_slice(line, 0, (size_t)(colon - line.bytes))));
    }
    return form_of_keys(keys);
}

static const char *form_name(enum file_form form)
{
    switch (form) {
    case FORM_UNKNOWN:
        return "nothing known here";
    case FORM_PROCEDURE:
        return "a procedure";
    case FORM_MACHINE:
        return "a machine sheet";
    case FORM_SAFETY:
        return "a safety library";
    case FORM_GAUGES:
        return "a list of gauges";
    case FORM_ANSWERS:
        return "an answers file";
    }
    return "";
}

const struct yaml_node *read_root(struct loader *loader, const struct source *source,
                                  enum file_form form)
{
    bool is_listed = false;
    for (size_t i = 0; i < loader->sources.count; i++)
        is_listed =
            is_listed || *VECTOR_AT(loader->sources, const struct source *, i) == source;
    if (!is_listed)
        *VECTOR_ADD(&loader->sources, loader->arena, const struct source *) = source;
    const struct yaml_node *root = yaml_read(source, loader->found, loader->arena);
    if (root == NULL || root->is_faulty)
        return NULL;
    if (root->shape != SHAPE_MAP) {
        report(loader->found, FINDING_WRONG_FORM, root->place,
               text_from(yaml_shape_name(root->shape)), text_from(form_name(form)));
        return NULL;
    }
    enum file_form is = form_of_tree(root);
    if (is == form || is == FORM_UNKNOWN)
        return root;
    report(loader->found, FINDING_WRONG_FORM, root->first->place, text_from(form_name(is)),
           text_from(form_name(form)));
    return NULL;
}

/* --- procedures --------------------------------------------------------------------------------- */

/* NOLINTBEGIN(bugprone-macro-parentheses): a type cannot stand in any */
#define FREEZE(loader, vector, type, list, list_count)                                         \
    do {                                                                                       \
        type *frozen = arena_array((loader)->arena, type, (vector).count);                     \
        for (size_t number = 0; number < (vector).count; number++)                             \
            frozen[number] = **VECTOR_AT(vector, type *, number);                              \
        (list) = frozen;                                                                       \
        (list_count) = (vector).count;                                                         \
    } while (0)
/* NOLINTEND(bugprone-macro-parentheses) */

/* The model points into the lists of the loader, which end here. */
static void freeze(struct loader *loader, struct procedure *procedure)
{
    procedure->sources = loader->sources.items;
    procedure->source_count = loader->sources.count;
    procedure->safety = loader->safety;
    procedure->index_names = loader->indexes.items;
    procedure->index_places = loader->index_places.items;
    procedure->index_count = loader->indexes.count;
    procedure->label_uses = loader->labels.items;
    procedure->label_use_count = loader->labels.count;
    procedure->conditions = (const struct condition *const *)loader->conditions.items;
    procedure->condition_count = loader->conditions.count;
    FREEZE(loader, loader->gauges, struct gauge, procedure->gauges, procedure->gauge_count);
    FREEZE(loader, loader->wants, struct machine_want, procedure->wants, procedure->want_count);
    FREEZE(loader, loader->inputs, struct input, procedure->inputs, procedure->input_count);
    FREEZE(loader, loader->readings, struct reading, procedure->readings,
           procedure->reading_count);
    FREEZE(loader, loader->definitions, struct definition, procedure->names,
           procedure->name_count);
    FREEZE(loader, loader->results, struct result, procedure->results, procedure->result_count);
    FREEZE(loader, loader->findings, struct finding_rule, procedure->findings,
           procedure->finding_count);
    FREEZE(loader, loader->follow_ups, struct follow_up, procedure->follow_ups,
           procedure->follow_up_count);
    procedure->symbols = loader->symbols.items;
    procedure->symbol_count = loader->symbols.count;
    procedure->parts = loader->parts.items;
    procedure->part_count = loader->parts.count;
    procedure->timers = loader->timers.items;
    procedure->timer_count = loader->timers.count;
    procedure->trials = (const struct trial *const *)loader->trials.items;
    procedure->trial_count = loader->trials.count;
    procedure->works = (const struct work *const *)loader->works.items;
    procedure->work_count = loader->works.count;
    procedure->step_count = loader->steps.count;
}

static const struct follow_note *follow_of(const struct loader *loader,
                                           const struct source *source)
{
    for (size_t i = 0; i < loader->follows.count; i++) {
        const struct follow_note *note = VECTOR_AT(loader->follows, struct follow_note, i);
        if (note->source == source)
            return note;
    }
    return NULL;
}

/* Behind each finding in another file: where that file was followed, up to the procedure's own. */
static void note_followed(struct loader *loader, struct diagnostic *at)
{
    while (at != NULL) {
        struct diagnostic *last = at;
        while (last->next != NULL && last->next->is_related)
            last = last->next;
        const struct follow_note *follow = follow_of(loader, at->place.source);
        for (unsigned depth = 0; follow != NULL && depth < FOLLOW_DEPTH_MAX; depth++) {
            struct diagnostic *note = arena_new(loader->arena, struct diagnostic);
            note->finding = FINDING_FOLLOWED_HERE;
            note->place = follow->place;
            note->message = text_from(finding_sentence(FINDING_FOLLOWED_HERE));
            note->is_related = true;
            note->next = last->next;
            last->next = note;
            if (loader->found->last == &last->next)
                loader->found->last = &note->next;
            loader->found->count_by_severity[SEVERITY_NOTE]++;
            last = note;
            follow = follow_of(loader, follow->place.source);
        }
        at = last->next;
    }
}

const struct procedure *procedure_load(const struct source *source,
                                       const struct safety_library *safety, struct shelf shelf,
                                       struct diagnostics *found, struct arena *arena)
{
    struct loader loader = loader_begin(found, arena);
    struct diagnostic **own = found->last;
    loader.shelf = shelf;
    loader_take_safety(&loader, safety);
    struct piece *piece = arena_new(arena, struct piece);
    piece->source = source;
    loader.piece = piece;
    const struct yaml_node *root = read_root(&loader, source, FORM_PROCEDURE);
    if (root == NULL)
        return NULL;
    const struct yaml_node *name = yaml_find(root, TEXT("procedure"));
    if (name != NULL)
        piece->procedure = name->text;
    struct procedure *procedure = arena_new(arena, struct procedure);
    loader.work = work_new(&loader, WORK_SECTION, root->place, NULL);
    read_procedure(&loader, root, procedure);
    additions_resolve(&loader);
    condition_uses_resolve(&loader);
    timers_resolve(&loader);
    trials_resolve(&loader);
    conditions_check(&loader);
    expressions_compile(&loader);
    expressions_check(&loader);
    freeze(&loader, procedure);
    rests_check(&loader, procedure);
    note_followed(&loader, *own);
    return procedure;
}

/* --- finding ------------------------------------------------------------------------------------ */

int procedure_find_condition(const struct procedure *procedure, struct text name)
{
    for (size_t i = 0; i < procedure->condition_count; i++)
        if (text_equal(procedure->conditions[i]->name, name))
            return (int)i;
    return NAME_ABSENT;
}

int procedure_find_symbol(const struct procedure *procedure, struct text name)
{
    for (size_t i = 0; i < procedure->symbol_count; i++)
        if (text_equal(procedure->symbols[i].name, name))
            return (int)i;
    return NAME_ABSENT;
}

const struct work *procedure_find_step(const struct procedure *procedure, struct text name)
{
    for (size_t i = 0; i < procedure->work_count; i++)
        if (procedure->works[i]->kind == WORK_STEP &&
            text_equal(procedure->works[i]->step->name, name))
            return procedure->works[i];
    return NULL;
}

#include "procedure/loading.h"

/* The top of a procedure file, and what stands beside its steps. */

struct top_reader {
    struct procedure *procedure; /* NULL in a followed one */
    const struct yaml_node *map;
};

/* --- about it ----------------------------------------------------------------------------------- */

static void top_name(struct loader *loader, void *object, const struct yaml_node *key)
{
    struct top_reader *reader = object;
    struct text name;
    if (read_name(loader, key, &name) && reader->procedure != NULL)
        reader->procedure->name = name;
}

static void top_title(struct loader *loader, void *object, const struct yaml_node *key)
{
    struct top_reader *reader = object;
    struct text title;
    if (!read_text(loader, key, &title))
        return;
    if (reader->procedure != NULL)
        reader->procedure->title = title;
    else
        loader->work->title = title;
}

static void top_revision(struct loader *loader, void *object, const struct yaml_node *key)
{
    struct top_reader *reader = object;
    unsigned revision;
    enum { REVISION_MAX = 1000000 };
    if (read_whole(loader, key, 0, REVISION_MAX, &revision) && reader->procedure != NULL)
        reader->procedure->revision = revision;
}

static void top_about(struct loader *loader, void *object, const struct yaml_node *key)
{
    struct top_reader *reader = object;
    struct text about;
    if (read_text(loader, key, &about) && reader->procedure != NULL)
        reader->procedure->about = about;
}

static void top_applies_to(struct loader *loader, void *object, const struct yaml_node *key)
{
    struct top_reader *reader = object;
    struct text applies_to;
    if (read_text(loader, key, &applies_to) && reader->procedure != NULL)
        reader->procedure->applies_to = applies_to;
}

static void top_duration(struct loader *loader, void *object, const struct yaml_node *key)
{
    struct top_reader *reader = object;
    struct span span = {0};
    if (read_span(loader, key, &span) && reader->procedure != NULL)
        reader->procedure->duration = key->next->text;
}

static void top_part(struct loader *loader, void *object, const struct yaml_node *key)
{
    struct top_reader *reader = object;
    bool is_part;
    if (!read_yes_no(loader, key, &is_part) || reader->procedure == NULL)
        return;
    reader->procedure->is_part = is_part;
    loader->is_part_alone = is_part;
}

static void top_allow(struct loader *loader, void *object, const struct yaml_node *key)
{
    struct top_reader *reader = object;
    size_t count;
    const struct allowance *allows = read_allow(loader, key, &count);
    if (reader->procedure == NULL)
        return;
    reader->procedure->allows = allows;
    reader->procedure->allow_count = count;
}

static void top_sources(struct loader *loader, void *object, const struct yaml_node *key)
{
    struct top_reader *reader = object;
    size_t count;
    const struct text *notes = read_texts(loader, key, &count);
    if (reader->procedure == NULL)
        return;
    reader->procedure->source_notes = notes;
    reader->procedure->source_note_count = count;
}

/* --- values from elsewhere ---------------------------------------------------------------------- */

static void values_unalike(struct loader *loader, const struct yaml_node *key, const char *what,
                           struct place first)
{
    report(loader->found, FINDING_DECLARED_UNALIKE, key->place, key->text, text_from(what));
    report(loader->found, FINDING_FIRST_GIVEN_HERE, first, key->text);
}

static bool is_alike(const struct symbol_note *note, const struct field *field,
                     const struct yaml_node *declaration)
{
    const struct yaml_node *a = note->declaration->shape == SHAPE_MAP
                                    ? yaml_find(note->declaration, TEXT("between"))
                                    : NULL;
    const struct yaml_node *b =
        declaration->shape == SHAPE_MAP ? yaml_find(declaration, TEXT("between")) : NULL;
    return note->is_faulty || (field_alike(&note->field, field) && yaml_alike(a, b));
}

static void note_field(struct loader *loader, int symbol, const struct yaml_node *declaration,
                       const struct field *field, bool is_usable)
{
    struct symbol_note *note = VECTOR_AT(loader->symbol_notes, struct symbol_note, symbol);
    note->declaration = declaration;
    note->field = *field;
    note->is_faulty = !is_usable;
    VECTOR_AT(loader->symbols, struct symbol, symbol)->type = field_type(loader, field);
}

static void read_want(struct loader *loader, const struct yaml_node *key)
{
    struct machine_want *want = arena_new(loader->arena, struct machine_want);
    bool is_usable = read_field(loader, key, &want->field);
    struct text name = text_fill(loader->arena, "machine.{}", key->text);
    int symbol = name_table_find(&loader->symbol_table, (struct text){0}, name);
    if (symbol != NAME_ABSENT) {
        const struct symbol_note *note =
            VECTOR_AT(loader->symbol_notes, struct symbol_note, symbol);
        if (is_usable && !is_alike(note, &want->field, key->next))
            values_unalike(loader, key, "a machine value",
                           VECTOR_AT(loader->symbols, struct symbol, symbol)->place);
        return;
    }
    symbol = symbol_declare(loader, SYMBOL_MACHINE, name, key->place);
    if (symbol == NAME_ABSENT)
        return;
    want->name = key->text;
    want->place = key->place;
    want->symbol = (unsigned)symbol;
    VECTOR_AT(loader->symbols, struct symbol, symbol)->item = (unsigned)loader->wants.count;
    *VECTOR_ADD(&loader->wants, loader->arena, struct machine_want *) = want;
    note_field(loader, symbol, key->next, &want->field, is_usable);
}

static void read_input(struct loader *loader, const struct yaml_node *key)
{
    struct input *input = arena_new(loader->arena, struct input);
    bool is_usable = read_field(loader, key, &input->field);
    int symbol = name_table_find(&loader->symbol_table, (struct text){0}, key->text);
    if (symbol != NAME_ABSENT) {
        const struct symbol *known = VECTOR_AT(loader->symbols, struct symbol, symbol);
        const struct symbol_note *note =
            VECTOR_AT(loader->symbol_notes, struct symbol_note, symbol);
        if (known->kind == SYMBOL_INPUT) {
            if (is_usable && !is_alike(note, &input->field, key->next))
                values_unalike(loader, key, "an input", known->place);
            return;
        }
    }
    symbol = symbol_declare(loader, SYMBOL_INPUT, key->text, key->place);
    if (symbol == NAME_ABSENT)
        return;
    input->name = key->text;
    input->place = key->place;
    input->symbol = (unsigned)symbol;
    VECTOR_AT(loader->symbols, struct symbol, symbol)->item = (unsigned)loader->inputs.count;
    *VECTOR_ADD(&loader->inputs, loader->arena, struct input *) = input;
    note_field(loader, symbol, key->next, &input->field, is_usable);
}

static void top_machine(struct loader *loader, void *object, const struct yaml_node *key)
{
    (void)object;
    if (!wants_shape(loader, key, SHAPE_MAP))
        return;
    for (const struct yaml_node *at = key->next->first; at != NULL; at = at->next->next)
        if (check_name(loader, at))
            read_want(loader, at);
}

static void top_inputs(struct loader *loader, void *object, const struct yaml_node *key)
{
    (void)object;
    if (!wants_shape(loader, key, SHAPE_MAP))
        return;
    for (const struct yaml_node *at = key->next->first; at != NULL; at = at->next->next)
        if (check_name(loader, at))
            read_input(loader, at);
}

static void top_gauges(struct loader *loader, void *object, const struct yaml_node *key)
{
    (void)object;
    read_gauges(loader, key);
}

static void top_conditions(struct loader *loader, void *object, const struct yaml_node *key)
{
    (void)object;
    read_conditions(loader, key);
}

static void top_trials(struct loader *loader, void *object, const struct yaml_node *key)
{
    (void)object;
    read_trials(loader, key);
}

/* --- steps -------------------------------------------------------------------------------------- */

static void top_steps(struct loader *loader, void *object, const struct yaml_node *key)
{
    (void)object;
    read_work_list(loader, key, loader->work);
}

/* --- definitions -------------------------------------------------------------------------------- */

static void definition_later(struct loader *loader, const struct yaml_node *key,
                             const struct yaml_node *value, struct definition *definition,
                             unsigned long long loops)
{
    unsigned long long outer = loader->loops;
    loader->loops = loops;
    struct pending *pending = expression_later(loader, key, value, &definition->value);
    loader->loops = outer;
    struct symbol_note *note =
        VECTOR_AT(loader->symbol_notes, struct symbol_note, definition->symbol);
    note->value = &definition->value;
    note->is_faulty = pending == NULL;
    if (pending != NULL)
        pending->definition = (int)definition->symbol + 1;
    note->pending = pending == NULL ? NAME_ABSENT : (int)loader->pending.count - 1;
}

static void read_definition(struct loader *loader, const struct yaml_node *key)
{
    struct text name = full_name(loader, loader->piece->name_prefix, key->text);
    int symbol = symbol_declare(loader, SYMBOL_NAME, name, key->place);
    if (symbol == NAME_ABSENT)
        return;
    struct definition *definition = arena_new(loader->arena, struct definition);
    definition->name = name;
    definition->place = key->place;
    definition->symbol = (unsigned)symbol;
    VECTOR_AT(loader->symbols, struct symbol, symbol)->item =
        (unsigned)loader->definitions.count;
    *VECTOR_ADD(&loader->definitions, loader->arena, struct definition *) = definition;
    definition_later(loader, key, key->next, definition, ~0ULL);
}

static void top_names(struct loader *loader, void *object, const struct yaml_node *key)
{
    (void)object;
    if (!wants_shape(loader, key, SHAPE_MAP))
        return;
    for (const struct yaml_node *at = key->next->first; at != NULL; at = at->next->next)
        if (check_name(loader, at))
            read_definition(loader, at);
}

/* --- results ------------------------------------------------------------------------------------ */

static void result_name(struct loader *loader, void *object, const struct yaml_node *key)
{
    struct result *result = object;
    struct text name;
    result->definition.symbol = 0;
    if (!read_name(loader, key, &name))
        return;
    struct text full = full_name(loader, loader->piece->name_prefix, name);
    int symbol = symbol_declare(loader, SYMBOL_RESULT, full, key->next->place);
    if (symbol == NAME_ABSENT)
        return;
    result->definition.name = full;
    result->definition.place = key->next->place;
    result->definition.symbol = (unsigned)symbol;
    VECTOR_AT(loader->symbols, struct symbol, symbol)->item = (unsigned)loader->results.count;
    *VECTOR_ADD(&loader->results, loader->arena, struct result *) = result;
}

static void result_value(struct loader *loader, void *object, const struct yaml_node *key)
{
    struct result *result = object;
    if (result->definition.name.length > 0)
        definition_later(loader, key, key->next, &result->definition, 0);
    else
        expression_later(loader, key, key->next, &result->definition.value);
}

static void result_unit(struct loader *loader, void *object, const struct yaml_node *key)
{
    struct result *result = object;
    if (read_unit(loader, key, &result->unit))
        *VECTOR_ADD(&loader->result_units, loader->arena, struct unit_note) =
            (struct unit_note){result, key->next};
}

static void result_limit(struct loader *loader, void *object, const struct yaml_node *key)
{
    struct result *result = object;
    result->has_limit = true;
    read_limits(loader, key, WANT_LIKE, unit_one.kind, &result->definition.value,
                &result->limit);
}

static void result_source(struct loader *loader, void *object, const struct yaml_node *key)
{
    read_text(loader, key, &((struct result *)object)->source);
}

static const struct key_entry result_keys[] = {
    {"limit", false, 2, result_limit},   {"result", true, 0, result_name},
    {"source", false, 1, result_source}, {"unit", false, 1, result_unit},
    {"value", true, 1, result_value},
};
const struct key_map result_map = KEY_MAP("result", "a result", result_keys);

static void top_results(struct loader *loader, void *object, const struct yaml_node *key)
{
    (void)object;
    if (!wants_shape(loader, key, SHAPE_LIST))
        return;
    for (const struct yaml_node *item = key->next->first; item != NULL; item = item->next)
        keys_read(loader, &result_map, item, NULL, arena_new(loader->arena, struct result));
}

/* --- findings and what follows later ------------------------------------------------------------- */

static void finding_when(struct loader *loader, void *object, const struct yaml_node *key)
{
    truth_later(loader, key, &((struct finding_rule *)object)->when);
}

static void finding_say(struct loader *loader, void *object, const struct yaml_node *key)
{
    read_template(loader, key, key->next, &((struct finding_rule *)object)->say);
}

static void finding_source(struct loader *loader, void *object, const struct yaml_node *key)
{
    read_text(loader, key, &((struct finding_rule *)object)->source);
}

static const struct key_entry finding_keys[] = {
    {"say", true, 0, finding_say},
    {"source", false, 0, finding_source},
    {"when", true, 0, finding_when},
};
const struct key_map finding_map = KEY_MAP("finding", "a finding", finding_keys);

static void top_findings(struct loader *loader, void *object, const struct yaml_node *key)
{
    (void)object;
    if (!wants_shape(loader, key, SHAPE_LIST))
        return;
    for (const struct yaml_node *item = key->next->first; item != NULL; item = item->next) {
        struct finding_rule *rule = arena_new(loader->arena, struct finding_rule);
        rule->place = item->place;
        *VECTOR_ADD(&loader->findings, loader->arena, struct finding_rule *) = rule;
        keys_read(loader, &finding_map, item, NULL, rule);
    }
}

static void follow_up_what(struct loader *loader, void *object, const struct yaml_node *key)
{
    read_template(loader, key, key->next, &((struct follow_up *)object)->what);
}

static void follow_up_after(struct loader *loader, void *object, const struct yaml_node *key)
{
    read_span(loader, key, &((struct follow_up *)object)->after);
}

static void follow_up_within(struct loader *loader, void *object, const struct yaml_node *key)
{
    read_span(loader, key, &((struct follow_up *)object)->within);
}

static void follow_up_at(struct loader *loader, void *object, const struct yaml_node *key)
{
    struct pending *pending =
        expression_later(loader, key, key->next, &((struct follow_up *)object)->at);
    if (pending != NULL) {
        pending->want = WANT_SCALAR;
        pending->what = "what it is due at";
    }
}

static const struct key_entry follow_up_keys[] = {
    {"after", false, 0, follow_up_after},
    {"at", false, 0, follow_up_at},
    {"what", true, 0, follow_up_what},
    {"within", false, 0, follow_up_within},
};
const struct key_map follow_up_map = KEY_MAP("follow_up", "a follow-up", follow_up_keys);

static void top_follow_up(struct loader *loader, void *object, const struct yaml_node *key)
{
    (void)object;
    if (!wants_shape(loader, key, SHAPE_LIST))
        return;
    for (const struct yaml_node *item = key->next->first; item != NULL; item = item->next) {
        struct follow_up *follow_up = arena_new(loader->arena, struct follow_up);
        follow_up->place = item->place;
        *VECTOR_ADD(&loader->follow_ups, loader->arena, struct follow_up *) = follow_up;
        keys_read(loader, &follow_up_map, item, NULL, follow_up);
    }
}

/* --- the top ------------------------------------------------------------------------------------ */

static const struct key_entry procedure_keys[] = {
    {"about", true, 1, top_about},
    {"allow", false, 1, top_allow},
    {"applies_to", false, 1, top_applies_to},
    {"conditions", false, 1, top_conditions},
    {"duration", false, 1, top_duration},
    {"findings", false, 1, top_findings},
    {"follow_up", false, 1, top_follow_up},
    {"gauges", false, 0, top_gauges},
    {"inputs", false, 1, top_inputs},
    {"machine", false, 1, top_machine},
    {"names", false, 1, top_names},
    {"part", false, 1, top_part},
    {"procedure", true, 0, top_name},
    {"results", false, 1, top_results},
    {"revision", true, 1, top_revision},
    {"sources", false, 1, top_sources},
    {"steps", true, 2, top_steps},
    {"title", true, 1, top_title},
    {"trials", false, 1, top_trials},
};
const struct key_map procedure_map = KEY_MAP("procedure", "a procedure", procedure_keys);

void read_procedure(struct loader *loader, const struct yaml_node *root,
                    struct procedure *procedure)
{
    struct top_reader reader = {procedure, root};
    /* What stands beside the steps is under no loop, wherever the procedure is followed. */
    keys_read(loader, &procedure_map, root, NULL, &reader);
}

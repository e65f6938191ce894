#include "procedure/loading.h"

/* Machine sheets, and the user's own gauges. */

struct sheet_reader {
    struct machine *machine;
    struct vector indexes, values; /* struct machine_index, machine_value */
};

/* --- positions ---------------------------------------------------------------------------------- */

enum { POSITIONS_MAX = 1000 };

static const struct text *read_labels(struct loader *loader, const struct yaml_node *key,
                                      size_t *count)
{
    const struct yaml_node *list = key->next;
    struct text *labels = arena_array(loader->arena, struct text, list->count);
    struct name_table table = {0};
    *count = 0;
    if (list->count == 0)
        report(loader->found, FINDING_LIST_EMPTY, list->place, key->text);
    if (list->count > POSITIONS_MAX) {
        report(loader->found, FINDING_TOO_MANY, list->place,
               text_number(loader->arena, POSITIONS_MAX), TEXT("positions"));
        return labels;
    }
    for (const struct yaml_node *item = list->first; item != NULL; item = item->next) {
        struct text label;
        if (!item_text(loader, key, item, &label))
            continue;
        if (name_table_find(&table, (struct text){0}, label) != NAME_ABSENT) {
            report(loader->found, FINDING_SAID_TWICE, item->place, label);
            continue;
        }
        name_table_add(&table, loader->arena, label, 0);
        labels[(*count)++] = label;
    }
    return labels;
}

static void sheet_positions(struct loader *loader, void *object, const struct yaml_node *key)
{
    struct sheet_reader *reader = object;
    if (!wants_shape(loader, key, SHAPE_MAP))
        return;
    for (const struct yaml_node *at = key->next->first; at != NULL; at = at->next->next) {
        if (!check_name(loader, at) || !wants_shape(loader, at, SHAPE_LIST))
            continue;
        struct machine_index *index =
            VECTOR_ADD(&reader->indexes, loader->arena, struct machine_index);
        index->name = at->text;
        index->place = at->place;
        index->labels.texts = read_labels(loader, at, &index->labels.count);
    }
}

static struct machine_index *find_index(const struct sheet_reader *reader, struct text name)
{
    for (size_t i = 0; i < reader->indexes.count; i++) {
        struct machine_index *index = VECTOR_AT(reader->indexes, struct machine_index, i);
        if (text_equal(index->name, name))
            return index;
    }
    return NULL;
}

static int label_number(const struct labels *labels, struct text label)
{
    for (size_t i = 0; i < labels->count; i++)
        if (text_equal(labels->texts[i], label))
            return (int)i;
    return NAME_ABSENT;
}

static bool read_order(struct loader *loader, const struct yaml_node *list,
                       const struct labels *labels, unsigned *order)
{
    bool *is_named = arena_array(loader->arena, bool, labels->count);
    size_t count = 0;
    for (const struct yaml_node *item = list->first; item != NULL; item = item->next) {
        int number = item->shape == SHAPE_TEXT ? label_number(labels, item->text) : NAME_ABSENT;
        if (number == NAME_ABSENT || is_named[number]) {
            report(loader->found, FINDING_FIRING_ORDER_WRONG, item->place,
                   number == NAME_ABSENT
                       ? text_fill(loader->arena, "there is no cylinder '{}'", item->text)
                       : text_fill(loader->arena, "'{}' is there twice", item->text));
            return false;
        }
        is_named[number] = true;
        order[count++] = (unsigned)number;
    }
    for (size_t i = 0; i < labels->count; i++)
        if (!is_named[i]) {
            report(loader->found, FINDING_FIRING_ORDER_WRONG, list->place,
                   text_fill(loader->arena, "'{}' is missing", labels->texts[i]));
            return false;
        }
    return true;
}

static void sheet_firing_order(struct loader *loader, void *object, const struct yaml_node *key)
{
    struct sheet_reader *reader = object;
    if (!wants_shape(loader, key, SHAPE_LIST))
        return;
    struct machine_index *cylinders = find_index(reader, TEXT("cylinder"));
    if (cylinders == NULL) {
        report(loader->found, FINDING_FIRING_ORDER_WRONG, key->place,
               TEXT("the sheet names no positions 'cylinder'"));
        return;
    }
    unsigned *order = arena_array(loader->arena, unsigned, cylinders->labels.count);
    if (read_order(loader, key->next, &cylinders->labels, order))
        cylinders->labels.firing = order;
}

/* --- values ------------------------------------------------------------------------------------- */

static void value_is(struct loader *loader, void *object, const struct yaml_node *key)
{
    struct machine_value *value = object;
    if (read_text(loader, key, &value->written))
        value->written_place = key->next->place;
}

static void value_source(struct loader *loader, void *object, const struct yaml_node *key)
{
    read_text(loader, key, &((struct machine_value *)object)->source);
}

static const struct key_entry machine_value_keys[] = {
    {"is", true, 0, value_is},
    {"source", false, 0, value_source},
};
const struct key_map machine_value_map =
    KEY_MAP("machine value", "a machine value", machine_value_keys);

static void sheet_values(struct loader *loader, void *object, const struct yaml_node *key)
{
    struct sheet_reader *reader = object;
    if (!wants_shape(loader, key, SHAPE_MAP))
        return;
    for (const struct yaml_node *at = key->next->first; at != NULL; at = at->next->next) {
        if (!check_name(loader, at))
            continue;
        struct machine_value value = {.name = at->text, .place = at->place};
        if (at->next->shape == SHAPE_TEXT)
            value_is(loader, &value, at);
        else
            keys_read(loader, &machine_value_map, at->next, at, &value);
        if (value.written.length > 0)
            *VECTOR_ADD(&reader->values, loader->arena, struct machine_value) = value;
    }
}

/* --- the sheet ---------------------------------------------------------------------------------- */

static void sheet_name(struct loader *loader, void *object, const struct yaml_node *key)
{
    read_name(loader, key, &((struct sheet_reader *)object)->machine->name);
}

static void sheet_title(struct loader *loader, void *object, const struct yaml_node *key)
{
    read_text(loader, key, &((struct sheet_reader *)object)->machine->title);
}

static const struct key_entry machine_keys[] = {
    {"firing_order", false, 1, sheet_firing_order},
    {"machine", true, 0, sheet_name},
    {"positions", false, 0, sheet_positions},
    {"title", true, 0, sheet_title},
    {"values", false, 0, sheet_values},
};
const struct key_map machine_map = KEY_MAP("machine", "a machine sheet", machine_keys);

const struct machine *machine_load(const struct source *source, struct diagnostics *found,
                                   struct arena *arena)
{
    struct loader loader = loader_begin(found, arena);
    const struct yaml_node *root = read_root(&loader, source, FORM_MACHINE);
    if (root == NULL)
        return NULL;
    struct machine *machine = arena_new(arena, struct machine);
    struct sheet_reader reader = {.machine = machine};
    keys_read(&loader, &machine_map, root, NULL, &reader);
    machine->origin = source;
    machine->indexes = reader.indexes.items;
    machine->index_count = reader.indexes.count;
    machine->values = reader.values.items;
    machine->value_count = reader.values.count;
    return machine;
}

/* --- gauges ------------------------------------------------------------------------------------- */

static void gauges_all(struct loader *loader, void *object, const struct yaml_node *key)
{
    (void)object;
    read_gauges(loader, key);
}

static const struct key_entry gauges_keys[] = {
    {"gauges", true, 0, gauges_all},
};
const struct key_map gauges_map = KEY_MAP("gauges", "a list of gauges", gauges_keys);

const struct gauge_list *gauges_load(const struct source *source, struct diagnostics *found,
                                     struct arena *arena)
{
    struct loader loader = loader_begin(found, arena);
    const struct yaml_node *root = read_root(&loader, source, FORM_GAUGES);
    if (root == NULL)
        return NULL;
    keys_read(&loader, &gauges_map, root, NULL, NULL);
    struct gauge_list *list = arena_new(arena, struct gauge_list);
    struct gauge *gauges = arena_array(arena, struct gauge, loader.gauges.count);
    for (size_t i = 0; i < loader.gauges.count; i++)
        gauges[i] = **VECTOR_AT(loader.gauges, struct gauge *, i);
    *list = (struct gauge_list){source, gauges, loader.gauges.count};
    return list;
}

#include "procedure/loading.h"

#include <assert.h>

enum { MAPS = 31 };

static const struct key_map *const maps[MAPS] = {
    &procedure_map, &condition_map, &gauge_map,   &limits_map,        &reading_map,
    &message_map,   &hold_map,      &supply_map,  &torque_map,        &timer_map,
    &move_map,      &step_map,      &section_map, &alternative_map,   &either_map,
    &repeat_map,    &follow_map,    &result_map,  &finding_map,       &follow_up_map,
    &trial_map,     &treated_map,   &machine_map, &machine_value_map, &gauges_map,
    &safety_map,    &activity_map,  &answers_map, &answers_value_map, &pause_before_map,
    &expected_map,
};

bool key_row_at(size_t i, struct key_row *row)
{
    for (size_t m = 0; m < MAPS; m++) {
        if (i < maps[m]->count) {
            const struct key_entry *entry = &maps[m]->entries[i];
            *row = (struct key_row){maps[m]->map, entry->key, entry->is_required};
            return true;
        }
        i -= maps[m]->count;
    }
    return false;
}

void read_elsewhere(struct loader *loader, void *object, const struct yaml_node *key)
{
    (void)loader;
    (void)object;
    (void)key;
}

/* Short, and mostly different in the first letters: not worth a call. */
static int compare_key(struct text text, const char *key)
{
    for (size_t i = 0; i < text.length; i++) {
        int order = (unsigned char)text.bytes[i] - (unsigned char)key[i];
        if (order != 0)
            return order;
    }
    return key[text.length] == '\0' ? 0 : -1;
}

static int entry_number(const struct key_map *map, struct text key)
{
    size_t low = 0, high = map->count;
    while (low < high) {
        size_t middle = (low + high) / 2;
        int order = compare_key(key, map->entries[middle].key);
        if (order == 0)
            return (int)middle;
        if (order < 0)
            high = middle;
        else
            low = middle + 1;
    }
    return -1;
}

static void report_unknown(struct loader *loader, const struct key_map *map,
                           const struct yaml_node *key)
{
    struct text keys[KEYS_MAX];
    for (size_t i = 0; i < map->count; i++)
        keys[i] = text_from(map->entries[i].key);
    struct text near = text_nearest(key->text, keys, map->count);
    report(loader->found, FINDING_UNKNOWN_KEY, key->place, key->text, text_from(map->spoken),
           did_you_mean(loader, near));
}

static bool has_no_value(const struct yaml_node *value)
{
    return value->shape == SHAPE_TEXT && !value->is_quoted && !value->is_faulty &&
           value->text.length == 0;
}

static void read_value(struct loader *loader, const struct key_entry *entry,
                       const struct yaml_node *key, void *object)
{
    if (key->next->is_faulty)
        return;
    if (has_no_value(key->next))
        report(loader->found, FINDING_NO_VALUE, key->place, key->text);
    else
        entry->read(loader, object, key);
}

struct key_given {
    const struct key_entry *entry;
    const struct yaml_node *key;
};

/* By turn, and in a turn as the entries stand.  A map has few of all the keys that it could have. */
static void put_in_turn(struct key_given *given, size_t count, struct key_given next)
{
    while (count > 0 && (given[count - 1].entry->turn > next.entry->turn ||
                         (given[count - 1].entry->turn == next.entry->turn &&
                          given[count - 1].entry > next.entry))) {
        given[count] = given[count - 1];
        count--;
    }
    given[count] = next;
}

void keys_read(struct loader *loader, const struct key_map *map, const struct yaml_node *node,
               const struct yaml_node *where, void *object)
{
    assert(map->count <= KEYS_MAX);
    if (node->is_faulty)
        return;
    if (node->shape != SHAPE_MAP) {
        report(loader->found, FINDING_WRONG_SHAPE, node->place,
               where != NULL ? where->text : text_from(map->spoken), TEXT("a map"),
               text_from(yaml_shape_name(node->shape)));
        return;
    }
    struct key_given given[KEYS_MAX];
    size_t count = 0;
    unsigned long long seen = 0; /* a bit for each entry */
    for (const struct yaml_node *key = node->first; key != NULL; key = key->next->next) {
        int number = entry_number(map, key->text);
        if (number < 0) {
            report_unknown(loader, map, key);
            continue;
        }
        put_in_turn(given, count++, (struct key_given){&map->entries[number], key});
        seen |= 1ULL << number;
    }
    for (size_t i = 0; i < count; i++)
        read_value(loader, given[i].entry, given[i].key, object);
    for (size_t i = 0; i < map->count; i++)
        if (map->entries[i].is_required && (seen >> i & 1) == 0)
            report(loader->found, FINDING_KEY_MISSING, node->place, text_from(map->spoken),
                   text_from(map->entries[i].key));
}

const struct yaml_node *key_in(const struct yaml_node *map, const char *key)
{
    if (map->shape != SHAPE_MAP)
        return NULL;
    for (const struct yaml_node *at = map->first; at != NULL; at = at->next->next)
        if (compare_key(at->text, key) == 0)
            return at;
    return NULL;
}

void key_wants(struct loader *loader, const struct yaml_node *map, const struct yaml_node *key,
               const char *other)
{
    if (key_in(map, other) == NULL)
        report(loader->found, FINDING_KEY_WANTS_KEY, key->place, key->text, text_from(other));
}

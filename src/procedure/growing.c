#include "procedure/growing.h"

#include <assert.h>

enum { VECTOR_FIRST = 8, TABLE_FIRST = 32, SUGGESTED_FROM_MAX = 4096 };

void vector_extend(struct vector *vector, size_t size, size_t count, struct arena *arena)
{
    size_t capacity = vector->capacity == 0 ? VECTOR_FIRST : vector->capacity;
    while (capacity < vector->count + count)
        capacity *= 2;
    if (capacity > vector->capacity) {
        char *items = arena_allocate(arena, size, capacity, alignof(max_align_t));
        if (vector->count > 0)
            memcpy(items, vector->items, size * vector->count);
        vector->items = items;
        vector->capacity = capacity;
    }
    vector->count += count;
}

void *vector_add(struct vector *vector, size_t size, struct arena *arena)
{
    if (vector->count == vector->capacity) {
        vector_extend(vector, size, 1, arena);
        return (char *)vector->items + size * (vector->count - 1);
    }
    return (char *)vector->items + size * vector->count++;
}

static unsigned hash_more(unsigned hash, struct text text)
{
    for (size_t i = 0; i < text.length; i++)
        hash = (hash ^ (unsigned char)text.bytes[i]) * 16777619U; /* FNV-1a */
    return hash;
}

static const unsigned hash_start = 2166136261U;

static bool is_joined(struct text whole, struct text prefix, struct text name)
{
    return whole.length == prefix.length + name.length && text_starts(whole, prefix) &&
           text_ends(whole, name);
}

int name_table_find(const struct name_table *table, struct text prefix, struct text name)
{
    if (table->count == 0)
        return NAME_ABSENT;
    unsigned hash = hash_more(hash_more(hash_start, prefix), name);
    for (size_t i = hash & (table->capacity - 1); table->slots[i].number != 0;
         i = (i + 1) & (table->capacity - 1))
        if (table->slots[i].hash == hash && is_joined(table->slots[i].name, prefix, name))
            return (int)table->slots[i].number - 1;
    return NAME_ABSENT;
}

static void put(struct name_table *table, struct name_slot slot)
{
    size_t i = slot.hash & (table->capacity - 1);
    while (table->slots[i].number != 0)
        i = (i + 1) & (table->capacity - 1);
    table->slots[i] = slot;
}

void name_table_reserve(struct name_table *table, struct arena *arena, size_t count)
{
    assert(table->capacity == 0);
    table->capacity = TABLE_FIRST;
    while (table->capacity < 2 * count)
        table->capacity *= 2;
    table->slots = arena_array(arena, struct name_slot, table->capacity);
}

void name_table_add(struct name_table *table, struct arena *arena, struct text name,
                    unsigned number)
{
    if (2 * (table->count + 1) > table->capacity) {
        struct name_table larger = {0};
        larger.capacity = table->capacity == 0 ? TABLE_FIRST : 2 * table->capacity;
        larger.slots = arena_array(arena, struct name_slot, larger.capacity);
        larger.count = table->count;
        for (size_t i = 0; i < table->capacity; i++)
            if (table->slots[i].number != 0)
                put(&larger, table->slots[i]);
        *table = larger;
    }
    put(table, (struct name_slot){name, hash_more(hash_start, name), number + 1});
    table->count++;
}

struct text name_table_nearest(const struct name_table *table, struct text misspelt,
                               struct arena *arena)
{
    struct text *names = arena_array(arena, struct text, table->count);
    size_t count = 0;
    for (size_t i = 0; i < table->capacity && count < SUGGESTED_FROM_MAX; i++)
        if (table->slots[i].number != 0)
            names[count++] = table->slots[i].name;
    return text_nearest(misspelt, names, count);
}

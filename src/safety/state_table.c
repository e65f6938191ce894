#include "safety/state_table.h"

#include <assert.h>
#include <string.h>

enum { FIRST_CHUNK = 64, FIRST_SLOTS = 256 };

static size_t record_size(const struct state_table *table)
{
    return sizeof(struct state_record) + table->words * sizeof(uint64_t);
}

struct state_table state_table_begin(size_t words, size_t max, struct arena *arena)
{
    assert(max < INT_MAX);
    struct state_table table = {.arena = arena, .words = words, .max = max};
    table.slot_count = FIRST_SLOTS;
    table.slots = arena_array(arena, unsigned, table.slot_count);
    return table;
}

static unsigned chunk_of(size_t number)
{
    unsigned long long from_first = (number + FIRST_CHUNK) / FIRST_CHUNK;
    return 63U - (unsigned)__builtin_clzll(from_first);
}

struct state_record *state_at(const struct state_table *table, int number)
{
    assert(number >= 0 && (size_t)number < table->count);
    unsigned chunk = chunk_of((size_t)number);
    size_t within = (size_t)number + FIRST_CHUNK - ((size_t)FIRST_CHUNK << chunk);
    return (struct state_record *)(void *)(table->chunks[chunk] + within * record_size(table));
}

uint64_t *state_bits(struct state_record *record)
{
    return (uint64_t *)(void *)(record + 1);
}

static size_t hash_of(unsigned place, const uint64_t *bits, size_t words)
{
    uint64_t hash = 14695981039346656037U ^ place; /* FNV-1a over words, and a last mixing */
    for (size_t i = 0; i < words; i++) {
        hash = (hash ^ bits[i]) * 1099511628211U;
        hash ^= hash >> 29;
    }
    hash *= 0x9e3779b97f4a7c15U;
    return (size_t)(hash ^ hash >> 32);
}

static bool has_room(const struct state_table *table, size_t bytes)
{
    enum { KEPT_FREE = 1 << 16 }; /* for what has to be said about it */
    return (size_t)(table->arena->limit - table->arena->next) > bytes + KEPT_FREE;
}

static bool grow_slots(struct state_table *table)
{
    size_t wider = table->slot_count * 2;
    if (!has_room(table, wider * sizeof *table->slots))
        return false;
    unsigned *slots = arena_array(table->arena, unsigned, wider);
    for (size_t i = 0; i < table->count; i++) {
        struct state_record *record = state_at(table, (int)i);
        size_t at = hash_of(record->place, state_bits(record), table->words) & (wider - 1);
        while (slots[at] != 0)
            at = (at + 1) & (wider - 1);
        slots[at] = (unsigned)i + 1;
    }
    table->slots = slots;
    table->slot_count = wider;
    return true;
}

static bool grow_records(struct state_table *table)
{
    unsigned chunk = chunk_of(table->count);
    if (table->chunks[chunk] != NULL)
        return true;
    size_t count = (size_t)FIRST_CHUNK << chunk;
    if (!has_room(table, count * record_size(table)))
        return false;
    uint64_t *room =
        arena_array(table->arena, uint64_t, count * record_size(table) / sizeof(uint64_t));
    table->chunks[chunk] = (char *)room;
    return true;
}

int state_add(struct state_table *table, unsigned place, const uint64_t *bits, bool *is_new)
{
    *is_new = false;
    size_t hash = hash_of(place, bits, table->words);
    size_t at = hash & (table->slot_count - 1);
    for (; table->slots[at] != 0; at = (at + 1) & (table->slot_count - 1)) {
        struct state_record *record = state_at(table, (int)table->slots[at] - 1);
        if (record->place == place &&
            memcmp(state_bits(record), bits, table->words * sizeof *bits) == 0)
            return (int)table->slots[at] - 1;
    }
    bool is_crowded = table->count * 2 >= table->slot_count;
    if (table->count == table->max || !grow_records(table) ||
        (is_crowded && !grow_slots(table))) {
        table->is_full = true;
        return STATE_NONE;
    }
    for (at = hash & (table->slot_count - 1); table->slots[at] != 0;)
        at = (at + 1) & (table->slot_count - 1);
    table->slots[at] = (unsigned)++table->count;
    struct state_record *record = state_at(table, (int)table->count - 1);
    *record = (struct state_record){.place = place, .before = STATE_NONE};
    if (table->words > 0)
        memcpy(state_bits(record), bits, table->words * sizeof *bits);
    *is_new = true;
    return (int)table->count - 1;
}

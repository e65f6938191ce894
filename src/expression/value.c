#include "expression/value.h"

static struct value one(struct arena *arena, struct type type)
{
    struct value value = {.type = type, .count = 1, .items = arena_new(arena, struct scalar)};
    return value;
}

struct value value_missing(struct arena *arena, struct type type, size_t count,
                           struct text missing_name)
{
    struct value value = {.type = type, .count = count};
    value.items = arena_array(arena, struct scalar, count);
    for (size_t i = 0; i < count; i++) {
        value.items[i].is_missing = true;
        value.items[i].missing_name = missing_name;
    }
    return value;
}

bool value_is_anything(const struct value *value)
{
    for (size_t i = 0; i < value->count; i++)
        if (!value->items[i].is_missing)
            return true;
    return false;
}

struct value value_number(struct arena *arena, double si, struct kind kind)
{
    struct type type = {.base = TYPE_NUMBER, .kind = kind, .index = INDEX_NONE};
    struct value value = one(arena, type);
    value.items[0].number.value = si;
    return value;
}

struct value value_words(struct arena *arena, struct text text)
{
    struct value value = one(arena, (struct type){.base = TYPE_TEXT, .index = INDEX_NONE});
    value.items[0].text = text;
    return value;
}

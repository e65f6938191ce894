#ifndef PROCEDURE_GROWING_H
#define PROCEDURE_GROWING_H
/*
 * growing.h - lists that grow while a file is read, and names found by a hash.
 *
 * Purpose   What a file declares is counted only when it has been read.  Both
 *           double in an arena: what they leave behind there is less than what
 *           they hold.
 * Owns      nothing of any file's meaning.
 * May call  base.
 */
#include "base/text.h"

/* Items move when it grows: keep numbers, not pointers, until it is finished. */
struct vector {
    void *items;
    size_t count, capacity;
};

/* A zeroed item at the end. */
void *vector_add(struct vector *vector, size_t size, struct arena *arena);
/* Several, in one go. */
void vector_extend(struct vector *vector, size_t size, size_t count, struct arena *arena);
#define VECTOR_ADD(vector, arena, type) ((type *)vector_add((vector), sizeof(type), (arena)))
#define VECTOR_AT(vector, type, number) ((type *)(vector).items + (number))

struct name_slot {
    struct text name;
    unsigned hash;
    unsigned number; /* the caller's, plus one; 0: free */
};

struct name_table {
    struct name_slot *slots;
    size_t capacity, count;
};

enum { NAME_ABSENT = -1 };

/* The number of `prefix` and `name` in one, or NAME_ABSENT. */
int name_table_find(const struct name_table *table, struct text prefix, struct text name);
/* Makes room for `count` names at once, before the first one. */
void name_table_reserve(struct name_table *table, struct arena *arena, size_t count);
/* The name must not be in it yet. */
void name_table_add(struct name_table *table, struct arena *arena, struct text name,
                    unsigned number);
/* The name in it that is nearest to a misspelt one, or empty. */
struct text name_table_nearest(const struct name_table *table, struct text misspelt,
                               struct arena *arena);

#endif

#ifndef TESTS_SAFETY_SHIPPED_H
#define TESTS_SAFETY_SHIPPED_H
/* Every procedure that ships and is no part, read with the safety library that ships. */
#include "procedure/load.h"

#include <dirent.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

enum { SHIPPED_MAX = 100 };

struct shipped {
    struct arena arena, scratch;
    struct diagnostics found;
    const struct safety_library *safety;
    const struct procedure *procedures[SHIPPED_MAX];
    size_t count;
};

static inline void shipped_full(size_t bytes_wanted)
{
    (void)fprintf(stderr, "no room for %zu bytes\n", bytes_wanted);
    abort();
}

static inline const struct source *shipped_file(struct arena *arena, struct text path)
{
    FILE *file = fopen(text_terminated(arena, path), "rb");
    if (file == NULL)
        return NULL;
    enum { MOST = 1 << 20 };
    char *bytes = arena_array(arena, char, MOST);
    size_t length = fread(bytes, 1, MOST, file);
    (void)fclose(file);
    struct source *source = arena_new(arena, struct source);
    *source = (struct source){path, {bytes, length}};
    return source;
}

static inline const struct source *shipped_source(struct arena *arena, struct text name)
{
    return shipped_file(arena, text_fill(arena, "procedures/{}.yaml", name));
}

static inline const struct source *shipped_fetch(void *self, struct text name)
{
    return shipped_source(self, name);
}

static inline struct text shipped_nearest(void *self, struct text name)
{
    (void)self;
    (void)name;
    return (struct text){0};
}

static inline void shipped_open(struct shipped *shipped)
{
    *shipped = (struct shipped){.arena = arena_open(256 * MEBIBYTE, shipped_full),
                                .scratch = arena_open(256 * MEBIBYTE, shipped_full)};
    struct arena *arena = &shipped->arena;
    diagnostics_begin(&shipped->found, arena);
    const struct source **library = arena_array(arena, const struct source *, 1);
    library[0] = shipped_source(arena, TEXT("safety"));
    shipped->safety = safety_load(library, 1, &shipped->found, arena);
    DIR *folder = opendir("procedures");
    assert_non_null(folder);
    struct shelf shelf = {arena, shipped_fetch, shipped_nearest};
    for (struct dirent *entry; (entry = readdir(folder)) != NULL;) {
        struct text name = text_copy(arena, text_from(entry->d_name));
        if (!text_ends(name, TEXT(".yaml")))
            continue;
        name.length -= 5;
        const struct source *source = shipped_source(arena, name);
        if (file_form(source, arena) != FORM_PROCEDURE)
            continue;
        const struct procedure *procedure =
            procedure_load(source, shipped->safety, shelf, &shipped->found, arena);
        assert_true(procedure != NULL && shipped->count < SHIPPED_MAX);
        if (!procedure->is_part)
            shipped->procedures[shipped->count++] = procedure;
    }
    (void)closedir(folder);
    assert_int_equal(shipped->found.count_by_severity[SEVERITY_ERROR], 0);
    assert_true(shipped->count > 3);
}

static inline void shipped_close(struct shipped *shipped)
{
    arena_close(&shipped->scratch);
    arena_close(&shipped->arena);
}

#endif

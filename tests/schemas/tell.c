/*
 * Tells the schema test what the loader knows.
 *
 *     tell keys             map, key, "required" or "optional", one row a line
 *     tell errors FILE...   how many errors the loader finds, and the file
 */
#include "procedures/fixture.h"

#include <stdio.h>
#include <string.h>

static void tell_keys(void)
{
    struct key_row row;
    for (size_t i = 0; key_row_at(i, &row); i++)
        printf("%s\t%s\t%s\n", row.map, row.key, row.is_required ? "required" : "optional");
}

static void tell_errors(const char *path)
{
    struct arena arena = arena_open(64 * MEBIBYTE, fixture_out_of_memory);
    struct fixture_shelf shelf = {.arena = &arena};
    struct fixture fixture = fixture_from(*fixture_source(path, &arena), &arena);
    struct diagnostics found;
    diagnostics_begin(&found, &arena);
    fixture_load(&fixture, &shelf, &found, &arena);
    printf("%u\t%s\n", found.count_by_severity[SEVERITY_ERROR], path);
    arena_close(&arena);
}

int main(int argc, char **argv)
{
    if (argc == 2 && strcmp(argv[1], "keys") == 0) {
        tell_keys();
        return 0;
    }
    if (argc < 3 || strcmp(argv[1], "errors") != 0) {
        fprintf(stderr, "tell keys | tell errors FILE...\n");
        return 2;
    }
    for (int i = 2; i < argc; i++)
        tell_errors(argv[i]);
    return 0;
}

#ifndef TESTS_MEASURE_COLUMNS_H
#define TESTS_MEASURE_COLUMNS_H
/*
 * columns.h - a small table of numbers from a file.
 *
 * Purpose   Published data sets stand in files of their own; a test reads them by
 *           column.
 * Owns      nothing.
 * May call  cmocka, stdio.
 */
#include "base/check.h"

#include <stdio.h>

enum { ROWS_MAX = 256, COLUMNS_MAX = 2 };
struct columns {
    double of[COLUMNS_MAX][ROWS_MAX];
    size_t rows;
};

static inline void columns_read(struct columns *columns, const char *path, const char *heading)
{
    FILE *file = fopen(path, "r");
    char line[64];
    assert_non_null(file);
    assert_non_null(fgets(line, sizeof line, file));
    assert_string_equal(strtok(line, "\r\n"), heading);
    columns->rows = 0;
    while (fgets(line, sizeof line, file) != NULL) {
        assert_true(columns->rows < ROWS_MAX);
        char *at = line;
        for (size_t i = 0; i < COLUMNS_MAX; i++) {
            columns->of[i][columns->rows] = strtod(at, &at);
            at += *at == ',';
        }
        columns->rows++;
    }
    (void)fclose(file);
}

#endif

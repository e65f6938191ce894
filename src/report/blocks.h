#ifndef BLOCKS_H
#define BLOCKS_H
/*
 * blocks.h - putting a card together, block by block.
 *
 * Purpose   What stands on a card is written down in the order it is read; what
 *           turns out empty leaves nothing behind, not even its heading.
 * Owns      growing lists of blocks and rows.
 * May call  base, report/card.h.
 *
 *     struct blocks blocks = blocks_begin(arena);
 *     struct rows rows = rows_begin(arena);
 *     rows_add(&rows, TEXT("Result"), TEXT("Value"));
 *     rows_add(&rows, name, shown);
 *     blocks_table(&blocks, TEXT("Results"), &rows);
 */
#include "report/card.h"

struct rows {
    struct arena *arena;
    struct card_row *items;
    size_t count, capacity;
};
struct rows rows_begin(struct arena *arena);
#define rows_add(rows, ...)                                                                    \
    rows_put((rows), (const struct text[]){__VA_ARGS__},                                       \
             sizeof((const struct text[]){__VA_ARGS__}) / sizeof(struct text))
void rows_put(struct rows *rows, const struct text *cells, size_t count);

struct blocks {
    struct arena *arena;
    struct card_block *items;
    size_t count, capacity;
};
struct blocks blocks_begin(struct arena *arena);
void blocks_heading(struct blocks *blocks, struct text heading);
void blocks_paragraph(struct blocks *blocks, enum tone tone, struct text paragraph);
/* The heading may be empty: none.  Nothing is added if there is no row; for a table, none below its
 * headings.  A column of a table in which nothing stands is left out. */
void blocks_table(struct blocks *blocks, struct text heading, const struct rows *rows);
void blocks_fields(struct blocks *blocks, struct text heading, const struct rows *rows);
/* One cell in each row. */
void blocks_list(struct blocks *blocks, struct text heading, const struct rows *rows);

#endif

#include "blocks.h"

#include <assert.h>

enum { FIRST_CAPACITY = 8 };

struct rows rows_begin(struct arena *arena)
{
    return (struct rows){.arena = arena,
                         .items = arena_array(arena, struct card_row, FIRST_CAPACITY),
                         .capacity = FIRST_CAPACITY};
}

void rows_put(struct rows *rows, const struct text *cells, size_t count)
{
    if (rows->count == rows->capacity) {
        struct card_row *larger = arena_array(rows->arena, struct card_row, rows->capacity * 2);
        memcpy(larger, rows->items, rows->count * sizeof *larger);
        rows->items = larger;
        rows->capacity *= 2;
    }
    struct text *kept = arena_array(rows->arena, struct text, count);
    memcpy(kept, cells, count * sizeof *kept);
    rows->items[rows->count++] = (struct card_row){kept, count};
}

struct blocks blocks_begin(struct arena *arena)
{
    return (struct blocks){.arena = arena,
                           .items = arena_array(arena, struct card_block, FIRST_CAPACITY),
                           .capacity = FIRST_CAPACITY};
}

static void put(struct blocks *blocks, struct card_block block)
{
    if (blocks->count == blocks->capacity) {
        struct card_block *larger =
            arena_array(blocks->arena, struct card_block, blocks->capacity * 2);
        memcpy(larger, blocks->items, blocks->count * sizeof *larger);
        blocks->items = larger;
        blocks->capacity *= 2;
    }
    blocks->items[blocks->count++] = block;
}

void blocks_heading(struct blocks *blocks, struct text heading)
{
    if (heading.length > 0)
        put(blocks,
            (struct card_block){.kind = BLOCK_HEADING, .tone = TONE_HEADING, .text = heading});
}

void blocks_paragraph(struct blocks *blocks, enum tone tone, struct text paragraph)
{
    if (paragraph.length > 0)
        put(blocks,
            (struct card_block){.kind = BLOCK_PARAGRAPH, .tone = tone, .text = paragraph});
}

static bool is_column_empty(const struct rows *rows, size_t column)
{
    for (size_t i = 1; i < rows->count; i++)
        if (rows->items[i].cells[column].length > 0)
            return false;
    return true;
}

void blocks_table(struct blocks *blocks, struct text heading, const struct rows *rows)
{
    if (rows->count < 2)
        return;
    size_t columns = rows->items[0].count, kept_count = 0;
    size_t *kept = arena_array(blocks->arena, size_t, columns);
    for (size_t c = 0; c < columns; c++)
        if (!is_column_empty(rows, c))
            kept[kept_count++] = c;
    struct card_row *items = arena_array(blocks->arena, struct card_row, rows->count);
    for (size_t i = 0; i < rows->count; i++) {
        struct text *cells = arena_array(blocks->arena, struct text, kept_count);
        assert(rows->items[i].count == columns);
        for (size_t c = 0; c < kept_count; c++)
            cells[c] = rows->items[i].cells[kept[c]];
        items[i] = (struct card_row){cells, kept_count};
    }
    blocks_heading(blocks, heading);
    put(blocks,
        (struct card_block){.kind = BLOCK_TABLE, .rows = items, .row_count = rows->count});
}

static void put_rows(struct blocks *blocks, enum block_kind kind, struct text heading,
                     const struct rows *rows)
{
    if (rows->count == 0)
        return;
    blocks_heading(blocks, heading);
    put(blocks,
        (struct card_block){.kind = kind, .rows = rows->items, .row_count = rows->count});
}

void blocks_fields(struct blocks *blocks, struct text heading, const struct rows *rows)
{
    put_rows(blocks, BLOCK_FIELDS, heading, rows);
}

void blocks_list(struct blocks *blocks, struct text heading, const struct rows *rows)
{
    put_rows(blocks, BLOCK_LIST, heading, rows);
}

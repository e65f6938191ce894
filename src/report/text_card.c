#include "report/card_writers.h"

#include <assert.h>

/* Between two columns; and the narrowest a column of wrapped text may become. */
enum { GAP = 2, COLUMN_WIDTH_MIN = 10, FIELD_WIDTH_MIN = 20, CARD_WIDTH_MIN = 20 };

struct layout_of_card {
    struct writer *writer;
    struct arena *scratch;
    unsigned width;
};

/* --- lines ---------------------------------------------------------------------------------- */

static void end_line(struct layout_of_card *layout)
{
    write_text(layout->writer, TEXT("\n"));
}

/* `before` on the first line, as much space on the others. */
static void write_hanging(struct layout_of_card *layout, struct text before, unsigned indent,
                          struct text text)
{
    struct text rest = text;
    bool is_first = true;
    do {
        struct text line = text_wrap(&rest, layout->width - indent);
        unsigned used = is_first ? text_width(before) : 0;
        if (is_first)
            write_text(layout->writer, line.length > 0 ? before : text_trim(before));
        if (line.length > 0)
            write_repeated(layout->writer, ' ', indent - used);
        write_text(layout->writer, line);
        end_line(layout);
        is_first = false;
    } while (rest.length > 0);
}

static void write_underlined(struct layout_of_card *layout, struct text text, char with)
{
    struct text rest = text;
    unsigned widest = 0;
    do {
        struct text line = text_wrap(&rest, layout->width);
        unsigned width = text_width(line);
        widest = width > widest ? width : widest;
        write_text(layout->writer, line);
        end_line(layout);
    } while (rest.length > 0);
    write_repeated(layout->writer, with, widest);
    end_line(layout);
}

/* What colour would say, as a word. */
static struct text tone_word(enum tone tone)
{
    switch (tone) {
    case TONE_DANGER:
        return TEXT("DANGER: ");
    case TONE_WARNING:
        return TEXT("WARNING: ");
    case TONE_CAUTION:
        return TEXT("CAUTION: ");
    case TONE_NOTICE:
        return TEXT("NOTICE: ");
    case TONE_PLAIN:
    case TONE_HEADING:
    case TONE_ACTION:
    case TONE_DETAIL:
    case TONE_ECHO:
    case TONE_REFUSAL:
    case TONE_SUCCESS:
        break;
    }
    return TEXT("");
}

/* --- measuring -------------------------------------------------------------------------------- */

/* The widest stretch that a line break cannot divide, and the widest line. */
static void measure(struct text text, unsigned *widest_word, unsigned *widest_line)
{
    size_t word = 0, line = 0;
    for (size_t i = 0; i <= text.length; i++) {
        bool is_line_end = i == text.length || text.bytes[i] == '\n';
        if (!is_line_end && text.bytes[i] != ' ')
            continue;
        unsigned width = text_width(text_slice(text, word, i));
        *widest_word = width > *widest_word ? width : *widest_word;
        word = i + 1;
        if (!is_line_end)
            continue;
        width = text_width(text_slice(text, line, i));
        *widest_line = width > *widest_line ? width : *widest_line;
        line = i + 1;
    }
}

/* The width of each column, the widest ones narrowed until all stand side by side; false if they
 * cannot. */
static bool fit_columns(const struct card_block *block, unsigned available, unsigned *widths,
                        unsigned *floors)
{
    size_t columns = block->rows[0].count;
    unsigned total = 0, least = 0;
    for (size_t c = 0; c < columns; c++) {
        widths[c] = floors[c] = 0;
        for (size_t r = 0; r < block->row_count; r++)
            measure(block->rows[r].cells[c], &floors[c], &widths[c]);
        if (floors[c] < COLUMN_WIDTH_MIN)
            floors[c] = widths[c] < COLUMN_WIDTH_MIN ? widths[c] : COLUMN_WIDTH_MIN;
        unsigned gap = c > 0 ? GAP : 0;
        total += widths[c] + gap;
        least += floors[c] + gap;
    }
    if (least > available)
        return false;
    for (; total > available; total--) {
        size_t widest = columns;
        for (size_t c = 0; c < columns; c++)
            if (widths[c] > floors[c] && (widest == columns || widths[c] > widths[widest]))
                widest = c;
        assert(widest < columns);
        widths[widest]--;
    }
    return true;
}

/* --- blocks ------------------------------------------------------------------------------------ */

static void write_row(struct layout_of_card *layout, const struct card_row *row,
                      const unsigned *widths)
{
    struct text *rests = arena_array(layout->scratch, struct text, row->count);
    memcpy(rests, row->cells, row->count * sizeof *rests);
    bool is_more;
    do {
        unsigned owed = 0; /* spaces before the next thing written, so that none end a line */
        is_more = false;
        for (size_t c = 0; c < row->count; c++) {
            struct text line = {0};
            if (rests[c].length > 0)
                line = text_wrap(&rests[c], widths[c]);
            if (line.length > 0) {
                write_repeated(layout->writer, ' ', owed);
                write_text(layout->writer, line);
                owed = 0;
            }
            owed += widths[c] - text_width(line) + GAP;
            is_more = is_more || rests[c].length > 0;
        }
        end_line(layout);
    } while (is_more);
}

static void write_columns(struct layout_of_card *layout, const struct card_block *block,
                          const unsigned *widths)
{
    for (size_t r = 0; r < block->row_count; r++) {
        write_row(layout, &block->rows[r], widths);
        for (size_t c = 0; r == 0 && c < block->rows[0].count; c++) {
            if (c > 0)
                write_repeated(layout->writer, ' ', GAP);
            write_repeated(layout->writer, '-', widths[c]);
        }
        if (r == 0)
            end_line(layout);
    }
}

/* Row by row, each cell on a line of its own behind its heading. */
static void write_stacked(struct layout_of_card *layout, const struct card_block *block)
{
    const struct text *headings = block->rows[0].cells;
    for (size_t r = 1; r < block->row_count; r++) {
        const struct card_row *row = &block->rows[r];
        bool is_first = true;
        for (size_t c = 0; c < row->count; c++) {
            if (row->cells[c].length == 0)
                continue;
            struct text line = headings[c].length == 0 ? row->cells[c]
                                                       : text_fill(layout->scratch, "{}: {}",
                                                                   headings[c], row->cells[c]);
            write_hanging(layout, is_first ? TEXT("* ") : TEXT(""), 2, line);
            is_first = false;
        }
    }
}

static void write_table(struct layout_of_card *layout, const struct card_block *block)
{
    if (block->row_count == 0)
        return;
    size_t columns = block->rows[0].count;
    unsigned *widths = arena_array(layout->scratch, unsigned, columns);
    unsigned *floors = arena_array(layout->scratch, unsigned, columns);
    if (fit_columns(block, layout->width, widths, floors))
        write_columns(layout, block, widths);
    else
        write_stacked(layout, block);
}

static void write_fields(struct layout_of_card *layout, const struct card_block *block)
{
    unsigned indent = 0;
    for (size_t r = 0; r < block->row_count; r++) {
        unsigned width = text_width(block->rows[r].cells[0]) + GAP;
        indent = width > indent ? width : indent;
    }
    bool is_beside = indent + FIELD_WIDTH_MIN <= layout->width;
    for (size_t r = 0; r < block->row_count; r++) {
        const struct text *cells = block->rows[r].cells;
        if (is_beside) {
            write_hanging(layout, cells[0], indent, cells[1]);
            continue;
        }
        write_hanging(layout, TEXT(""), 0, text_fill(layout->scratch, "{}:", cells[0]));
        write_hanging(layout, TEXT(""), GAP, cells[1]);
    }
}

static void write_block(struct layout_of_card *layout, const struct card_block *block)
{
    switch (block->kind) {
    case BLOCK_HEADING:
        write_underlined(layout, block->text, '-');
        break;
    case BLOCK_PARAGRAPH:
        write_hanging(layout, TEXT(""), 0,
                      text_fill(layout->scratch, "{}{}", tone_word(block->tone), block->text));
        break;
    case BLOCK_FIELDS:
        write_fields(layout, block);
        break;
    case BLOCK_TABLE:
        write_table(layout, block);
        break;
    case BLOCK_LIST:
        for (size_t r = 0; r < block->row_count; r++)
            write_hanging(layout, TEXT("- "), 2, block->rows[r].cells[0]);
        break;
    }
}

void text_card_write(const struct card *card, unsigned width, struct writer *writer,
                     struct arena *scratch)
{
    struct layout_of_card layout = {writer, scratch,
                                    width < CARD_WIDTH_MIN ? CARD_WIDTH_MIN : width};
    if (card->title.length > 0)
        write_underlined(&layout, card->title, '=');
    for (size_t i = 0; i < card->block_count; i++) {
        const struct card_block *block = &card->blocks[i];
        bool follows_heading = i > 0 && card->blocks[i - 1].kind == BLOCK_HEADING;
        if (!follows_heading && (i > 0 || card->title.length > 0))
            end_line(&layout);
        write_block(&layout, block);
    }
}

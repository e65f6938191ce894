#include "svg.h"

#include <assert.h>

struct svg svg_begin(struct writer *writer, struct arena *scratch)
{
    return (struct svg){.writer = writer, .scratch = scratch};
}

static void end_tag(struct svg *svg)
{
    if (svg->is_tag_open)
        write_text(svg->writer, TEXT(">"));
    svg->is_tag_open = false;
}

void svg_open(struct svg *svg, const char *element)
{
    assert(svg->depth < SVG_DEPTH_MAX);
    end_tag(svg);
    /* White space inside <text> would be drawn. */
    if (svg->depth > 0 && strcmp(svg->open[svg->depth - 1], "text") != 0)
        write_text(svg->writer, TEXT("\n"));
    write_text(svg->writer, TEXT("<"));
    write_text(svg->writer, text_from(element));
    svg->open[svg->depth++] = element;
    svg->is_tag_open = true;
}

/* XML 1.0, 2.2: what may stand in a document; 2.4: what must be escaped. */
static struct text escaped(unsigned character)
{
    switch (character) {
    case '<':
        return TEXT("&lt;");
    case '>':
        return TEXT("&gt;");
    case '&':
        return TEXT("&amp;");
    case '"':
        return TEXT("&quot;");
    case '\n':
    case '\r':
    case '\t':
        return TEXT(" ");
    default: /* any other character */
        break;
    }
    bool is_refused = character < 0x20 || (character >= 0xD800 && character <= 0xDFFF) ||
                      character == 0xFFFE || character == 0xFFFF;
    return is_refused ? TEXT("\xEF\xBF\xBD") : (struct text){0};
}

static void write_escaped(struct svg *svg, struct text text)
{
    size_t from = 0, at = 0;
    while (at < text.length) {
        unsigned character;
        size_t length = text_character(text, at, &character);
        struct text instead = escaped(character);
        if (instead.length > 0) {
            write_text(svg->writer, text_slice(text, from, at));
            write_text(svg->writer, instead);
            from = at + length;
        }
        at += length;
    }
    write_text(svg->writer, text_slice(text, from, text.length));
}

void svg_attribute(struct svg *svg, const char *name, struct text value)
{
    assert(svg->is_tag_open);
    write_text(svg->writer, TEXT(" "));
    write_text(svg->writer, text_from(name));
    write_text(svg->writer, TEXT("=\""));
    write_escaped(svg, value);
    write_text(svg->writer, TEXT("\""));
}

void svg_number(struct svg *svg, const char *name, int value)
{
    svg_attribute(svg, name, text_number(svg->scratch, value));
}

void svg_text(struct svg *svg, struct text text)
{
    assert(svg->depth > 0);
    end_tag(svg);
    write_escaped(svg, text);
}

void svg_close(struct svg *svg)
{
    assert(svg->depth > 0);
    const char *element = svg->open[--svg->depth];
    if (svg->is_tag_open) {
        write_text(svg->writer, TEXT("/>"));
        svg->is_tag_open = false;
        return;
    }
    write_text(svg->writer, TEXT("</"));
    write_text(svg->writer, text_from(element));
    write_text(svg->writer, TEXT(">"));
}

/* --- what is drawn most ---------------------------------------------------------------- */

void svg_rectangle(struct svg *svg, const char *class, struct svg_box box, int rounding)
{
    svg_open(svg, "rect");
    svg_attribute(svg, "class", text_from(class));
    svg_number(svg, "x", box.left);
    svg_number(svg, "y", box.top);
    svg_number(svg, "width", box.width);
    svg_number(svg, "height", box.height);
    if (rounding > 0)
        svg_number(svg, "rx", rounding);
    svg_close(svg);
}

void svg_path(struct svg *svg, const char *class, struct text data)
{
    svg_open(svg, "path");
    svg_attribute(svg, "class", text_from(class));
    svg_attribute(svg, "d", data);
    svg_close(svg);
}

void svg_words(struct svg *svg, const char *class, int x, int y, struct text words)
{
    svg_open(svg, "text");
    svg_attribute(svg, "class", text_from(class));
    svg_number(svg, "x", x);
    svg_number(svg, "y", y);
    svg_text(svg, words);
    svg_close(svg);
}

/* --- how wide it comes out ----------------------------------------------------------- */

/* In hundredths of the size: the advance widths of DejaVu Sans, the widest font the style sheet
 * names, rounded up by groups. */
static int character_hundredths(unsigned character)
{
    if (character_width(character) == 0)
        return 0;
    if (character_width(character) == 2)
        return 110;
    if (character < 0x80 && strchr("ijlI.,:;'!| ", (int)character) != NULL)
        return 33;
    if (character < 0x80 && strchr("ft()[]r-", (int)character) != NULL)
        return 45;
    if (character < 0x80 && strchr("mwMW@%", (int)character) != NULL)
        return 100;
    if ((character >= 'A' && character <= 'Z') || character == '<' || character == '>' ||
        character == '=' || character == '+')
        return 76;
    return character < 0x250 ? 64 : 85;
}

int svg_width(struct text text, int size)
{
    int hundredths = 0;
    for (size_t at = 0; at < text.length;) {
        unsigned character;
        at += text_character(text, at, &character);
        hundredths += character_hundredths(character);
    }
    return (hundredths * size + 99) / 100;
}

static bool is_break(unsigned character)
{
    return character == ' ' || character == '\n' || character == '\t' || character == '\r';
}

struct text svg_wrap(struct text *rest, int width, int size)
{
    *rest = text_trim(*rest);
    size_t at = 0, last_break = 0;
    int hundredths = 0;
    while (at < rest->length) {
        unsigned character;
        size_t length = text_character(*rest, at, &character);
        if (is_break(character))
            last_break = at;
        hundredths += character_hundredths(character);
        if (hundredths * size > width * 100 && at > 0 && !is_break(character))
            break;
        at += length;
    }
    size_t end = at;
    if (at < rest->length && last_break > 0)
        end = last_break;
    struct text line = text_trim(text_slice(*rest, 0, end));
    *rest = text_trim(text_slice(*rest, end, rest->length));
    return line;
}

size_t svg_fit(struct text text, int width, int size, struct text *lines, size_t line_count,
               struct arena *arena)
{
    size_t count = 0;
    struct text rest = text_trim(text);
    while (rest.length > 0 && count < line_count) {
        struct text before = rest;
        lines[count++] = svg_wrap(&rest, width, size);
        if (count == line_count && rest.length > 0) {
            struct text short_line = svg_wrap(&before, width - size, size);
            lines[count - 1] = text_fill(arena, "{} …", short_line);
        }
    }
    return count;
}

#include "terminal/layout.h"

struct style {
    unsigned indent; /* columns, of every line */
    bool has_blank_above;
    const char *begin; /* escape sequence, when there is colour */
};

/* Bold and two colours at most.  The words DANGER, WARNING stand in the text itself. */
static struct style style_of(enum tone tone)
{
    switch (tone) {
    case TONE_PLAIN:
        return (struct style){0, false, ""};
    case TONE_HEADING:
        return (struct style){0, true, "\033[1m"};
    case TONE_ACTION:
        return (struct style){2, true, "\033[1m"};
    case TONE_DETAIL:
        return (struct style){4, false, ""};
    case TONE_NOTICE:
        return (struct style){2, false, ""};
    case TONE_CAUTION:
        return (struct style){2, true, "\033[33m"};
    case TONE_WARNING:
        return (struct style){2, true, "\033[1;33m"};
    case TONE_DANGER:
        return (struct style){2, true, "\033[1;31m"};
    case TONE_ECHO:
        return (struct style){2, false, ""};
    case TONE_REFUSAL:
        return (struct style){2, false, "\033[1m"};
    case TONE_SUCCESS:
        return (struct style){0, false, "\033[1m"};
    }
    return (struct style){0, false, ""};
}

static void write_line(const struct layout *layout, struct style style, struct text line,
                       struct writer *writer)
{
    bool is_styled = layout->has_colour && style.begin[0] != '\0';
    if (line.length > 0)
        write_repeated(writer, ' ', style.indent);
    if (is_styled)
        write_text(writer, text_from(style.begin));
    write_text(writer, line);
    if (is_styled)
        write_text(writer, TEXT("\033[0m"));
    write_text(writer, TEXT("\n"));
}

static unsigned width_within(const struct layout *layout, struct style style)
{
    enum { NARROWEST = 10 };
    return layout->width > style.indent + NARROWEST ? layout->width - style.indent : NARROWEST;
}

/* "- ", "12. " and "3  " stand out; what is wrapped stands behind them. */
static unsigned hanging_indent(struct text line)
{
    size_t digits = 0;
    if (text_starts(line, TEXT("- ")))
        return 2;
    while (digits < line.length && line.bytes[digits] >= '0' && line.bytes[digits] <= '9')
        digits++;
    struct text rest = text_slice(line, digits, line.length);
    bool is_numbered =
        digits > 0 && (text_starts(rest, TEXT(". ")) || text_starts(rest, TEXT("  ")));
    return is_numbered ? (unsigned)digits + 2 : 0;
}

/* Lines of a paragraph that begin with spaces keep them, and what is wrapped from them too. */
void layout_paragraph(const struct layout *layout, enum tone tone, struct text paragraph,
                      struct writer *writer, struct arena *scratch)
{
    (void)scratch;
    struct style style = style_of(tone);
    if (style.has_blank_above)
        write_text(writer, TEXT("\n"));
    struct text rest = paragraph;
    struct text line = {0};
    bool is_first = true;
    while (text_cut(&rest, '\n', &line) || is_first) {
        is_first = false;
        struct style inner = style;
        while (line.length > 0 && line.bytes[0] == ' ') {
            line = text_slice(line, 1, line.length);
            inner.indent++;
        }
        unsigned hanging = hanging_indent(line);
        write_line(layout, inner, text_wrap(&line, width_within(layout, inner)), writer);
        inner.indent += hanging;
        while (line.length > 0)
            write_line(layout, inner, text_wrap(&line, width_within(layout, inner)), writer);
    }
}

void layout_question(const struct layout *layout, const struct prompt *prompt,
                     struct writer *writer, struct arena *scratch)
{
    if (prompt->question.length > 0) {
        write_text(writer, TEXT("\n"));
        layout_paragraph(layout, TONE_PLAIN, prompt->question, writer, scratch);
    }
    for (size_t i = 0; i < prompt->choices.count; i++) {
        struct text number = text_number(scratch, (long long)i + 1);
        layout_paragraph(layout, TONE_DETAIL,
                         text_fill(scratch, "{}  {}", number, prompt->choices.texts[i]), writer,
                         scratch);
    }
}

struct text layout_cue(const struct prompt *prompt, struct arena *arena)
{
    if (prompt->choices.count > 0)
        return text_fill(arena, "1-{} > ",
                         text_number(arena, (long long)prompt->choices.count));
    if (prompt->unit != NULL && prompt->unit != &unit_one)
        return text_fill(arena, "{} > ", prompt->unit->symbol);
    return TEXT("> ");
}

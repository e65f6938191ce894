#ifndef TERMINAL_LAYOUT_H
#define TERMINAL_LAYOUT_H
/*
 * layout.h - how a paragraph and a question stand on the screen.
 *
 * Purpose   One scrolling transcript: headings at the edge, what to do set in a
 *           little, details further; a word says what a colour would.
 * Owns      indents, blank lines, the escape sequences for bold and colour.
 * May call  base, job's prompt.h.
 */
#include "base/writer.h"
#include "job/prompt.h"

struct layout {
    unsigned width;
    bool has_colour;
};

void layout_paragraph(const struct layout *layout, enum tone tone, struct text paragraph,
                      struct writer *writer, struct arena *scratch);
/* The question and its numbered choices; not the line the person types on. */
void layout_question(const struct layout *layout, const struct prompt *prompt,
                     struct writer *writer, struct arena *scratch);
/* What stands before the cursor: "bar > ", "1-3 > ", "> ". */
struct text layout_cue(const struct prompt *prompt, struct arena *arena);

#endif

#ifndef SVG_H
#define SVG_H
/*
 * svg.h - elements of a drawing, written so that they are always well-formed.
 *
 * Purpose   Every element that is opened is closed, and no text from a file can
 *           become mark-up.
 * Owns      the stack of open elements, escaping, how wide text may come out.
 * May call  base.
 *
 *     svg_open(&svg, "rect");
 *     svg_number(&svg, "width", 120);
 *     svg_close(&svg);
 *
 * Lengths are whole tenths of a millimetre, so no number is ever rounded
 * differently on another machine.
 */
#include "base/writer.h"

enum { SVG_DEPTH_MAX = 12 };

struct svg {
    struct writer *writer;
    struct arena *scratch;
    const char *open[SVG_DEPTH_MAX];
    unsigned depth;
    bool is_tag_open; /* attributes may still be added */
};

struct svg svg_begin(struct writer *writer, struct arena *scratch);
void svg_open(struct svg *svg, const char *element);
void svg_attribute(struct svg *svg, const char *name, struct text value);
void svg_number(struct svg *svg, const char *name, int value);
void svg_text(struct svg *svg, struct text text);
void svg_close(struct svg *svg);

/* What is drawn most.  `class` is a word of the style sheet. */
struct svg_box {
    int left, top, width, height;
};
void svg_rectangle(struct svg *svg, const char *class, struct svg_box box, int rounding);
void svg_path(struct svg *svg, const char *class, struct text data);
/* The baseline is at `y`. */
void svg_words(struct svg *svg, const char *class, int x, int y, struct text words);

/* How wide `text` comes out at most at a size of `size`: characters are taken as wide as in the widest
 * of the fonts the style sheet names. */
int svg_width(struct text text, int size);
/* Takes one line that is no wider than `width` off the front of `rest`. */
struct text svg_wrap(struct text *rest, int width, int size);
/* At most `line_count` lines; what does not fit ends in "…".  Returns how many there are. */
size_t svg_fit(struct text text, int width, int size, struct text *lines, size_t line_count,
               struct arena *arena);

#endif

#include "picture_shapes.h"

void draw_line(struct svg *svg, const char *class, int x, int from, int to)
{
    if (from != to)
        svg_path(svg, class,
                 text_fill(svg->scratch, "M{} {}V{}", NUMBER(svg, x), NUMBER(svg, from),
                           NUMBER(svg, to)));
}

/* Its point at (x, y), after a move to the right (+1), the left (-1) or down (0). */
void draw_tip(struct svg *svg, bool is_walked, int x, int y, int direction)
{
    long long size = is_walked ? 22 : 15, half = size * 6 / 10;
    const char *class = is_walked ? "walktip" : "tip";
    if (direction == 0)
        svg_path(svg, class,
                 text_fill(svg->scratch, "M{} {}l{} {}h{}z", NUMBER(svg, x), NUMBER(svg, y),
                           NUMBER(svg, -half), NUMBER(svg, -size), NUMBER(svg, 2 * half)));
    else
        svg_path(svg, class,
                 text_fill(svg->scratch, "M{} {}l{} {}v{}z", NUMBER(svg, x), NUMBER(svg, y),
                           NUMBER(svg, -direction * size), NUMBER(svg, -half),
                           NUMBER(svg, 2 * half)));
}

static const char *upper_signal(enum signal signal)
{
    switch (signal) {
    case SIGNAL_NOTICE:
        return "NOTICE";
    case SIGNAL_CAUTION:
        return "CAUTION";
    case SIGNAL_WARNING:
        return "WARNING";
    case SIGNAL_DANGER:
        return "DANGER";
    }
    return "";
}

/* ANSI Z535.4: the triangle stands before every word but NOTICE. */
void draw_signal(struct svg *svg, enum signal signal, int x, int y)
{
    bool is_light = signal == SIGNAL_CAUTION || signal == SIGNAL_WARNING;
    svg_rectangle(svg, signal_word(signal), (struct svg_box){x, y, TAG_WIDTH, TAG_HEIGHT}, 4);
    int words = x + 12;
    if (signal != SIGNAL_NOTICE) {
        const char *class = is_light ? "alertdark" : "alert";
        const char *sign = signal_word(signal);
        svg_path(svg, class,
                 text_fill(svg->scratch, "M{} {}l18 30h-36z", NUMBER(svg, x + 26),
                           NUMBER(svg, y + 3)));
        svg_path(svg, sign,
                 text_fill(svg->scratch, "M{} {}h4l-1 11h-2zM{} {}h4v4h-4z",
                           NUMBER(svg, x + 24), NUMBER(svg, y + 13), NUMBER(svg, x + 24),
                           NUMBER(svg, y + 26)));
        words = x + 50;
    }
    svg_words(svg, is_light ? "onlight" : (signal == SIGNAL_NOTICE ? "onblue" : "onred"), words,
              y + 27, text_from(upper_signal(signal)));
}

/* Eight corners, as a stop sign has (ISO 7010 has none; the shape is that of road signs). */
void draw_stop(struct svg *svg, int x, int y)
{
    svg_path(svg, "stop",
             text_fill(svg->scratch, "M{} {}h20l14 14v20l-14 14h-20l-14 -14v-20z",
                       NUMBER(svg, x + 14), NUMBER(svg, y)));
    svg_path(svg, "alert",
             text_fill(svg->scratch, "M{} {}h8l-2 20h-4zM{} {}h8v7h-8z", NUMBER(svg, x + 20),
                       NUMBER(svg, y + 9), NUMBER(svg, x + 20), NUMBER(svg, y + 33)));
}

void draw_question_shape(struct svg *svg, const struct row *row)
{
    int half = row->box_height / 2;
    svg_path(svg, row->is_walked ? "done" : "question",
             text_fill(svg->scratch, "M{} {}H{}L{} {}L{} {}H{}L{} {}z",
                       NUMBER(svg, row->left + HEXAGON), NUMBER(svg, row->top),
                       NUMBER(svg, row->right - HEXAGON), NUMBER(svg, row->right),
                       NUMBER(svg, row->top + half), NUMBER(svg, row->right - HEXAGON),
                       NUMBER(svg, row->top + row->box_height),
                       NUMBER(svg, row->left + HEXAGON), NUMBER(svg, row->left),
                       NUMBER(svg, row->top + half)));
}

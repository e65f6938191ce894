#ifndef PICTURE_SHAPES_H
#define PICTURE_SHAPES_H
/*
 * picture_shapes.h - the parts a picture is drawn with.
 *
 * Purpose   The legend shows the very shapes that the work is drawn with.
 * Owns      arrows, signs, the form of a question; head and foot of the sheet.
 * May call  picture_layout.h, svg.h.
 */
#include "picture_layout.h"

enum { BOX_CORNER = 10, HEXAGON = 26, MARK_HEIGHT = 40, TAG_HEIGHT = 36, TAG_WIDTH = 190 };

#define NUMBER(svg, number) text_number((svg)->scratch, (number))

/* Straight down (or up); nothing where it would be a dot. */
void draw_line(struct svg *svg, const char *class, int x, int from, int to);
/* Its point at (x, y), after a move to the right (+1), the left (-1) or down (0). */
void draw_tip(struct svg *svg, bool is_walked, int x, int y, int direction);
void draw_signal(struct svg *svg, enum signal signal, int x, int y);
void draw_stop(struct svg *svg, int x, int y);
void draw_question_shape(struct svg *svg, const struct row *row);

/* --- picture_head.c ------------------------------------------------------------------ */

struct text picture_verdict(const struct picture *picture);
struct text picture_counts(const struct picture *picture);
/* Title, verdict and legend; returns where the work may begin. */
int picture_head(struct svg *svg, const struct picture *picture);
/* The name of a sheet, for links. */
struct text sheet_anchor(struct arena *arena, size_t sheet);
/* At the bottom of a page of the sheet, counted from 0. */
void picture_foot(struct svg *svg, const struct picture *picture, int page, int page_count);
/* The path in words, from `y` down; returns where it ends. */
int picture_list(struct svg *svg, const struct picture *picture, int y);

#endif

#ifndef PICTURE_LAYOUT_H
#define PICTURE_LAYOUT_H
/*
 * picture_layout.h - what stands where in the picture of a procedure.
 *
 * Purpose   The order of work becomes rows, one below the other, and lines that
 *           lead round them: past what is not always done, back to do it again,
 *           out of an alternative.  Between two rows is a gap in which such
 *           lines meet; each has a height of its own there, so no two cover
 *           one another.
 * Owns      all places and sizes; which of it the unsafe path touches.
 * May call  svg.h.
 *
 * A sheet is cut into pages where it is printed: no row and no line of words stands across a cut.
 *
 * Lengths are tenths of a millimetre.
 */
#include "svg.h"
#include "verify/verify.h"

enum {
    PAGE_WIDTH = 2100, /* A4 */
    PAGE_HEIGHT = 2970,
    PAGE_MARGIN = 60,
    PAGE_EDGE =
        110, /* left free above and below each cut; the number of the page stands in it */
    LANE_RETURN = 66, /* of the unsafe path, where it goes back up */
    LANE_PATH = 130,
    MAIN_LEFT = 215,
    MAIN_RIGHT = 1450,
    SPINE = 690, /* where the work runs down from row to row */
    SIDE_LEFT = 1490,
    SIDE_RIGHT = 2050,
    SIZE_BODY = 32,
    SIZE_SMALL = 25,
    LINE_BODY = 40,
    LINE_SMALL = 33
};

enum row_kind {
    ROW_START,
    ROW_BAND, /* the title of a section */
    ROW_QUESTION,
    ROW_EACH,
    ROW_REPEAT,
    ROW_UNTIL,
    ROW_FOLLOW,
    ROW_STEP,
    ROW_END
};

/* A row has at most this many lines of each sort; `notes` are cut with an ellipsis. */
enum { ROW_LINES_MAX = 2, ROW_NOTES_MAX = 4 };

struct row {
    enum row_kind kind;
    const struct work *work; /* NULL: start and end */
    unsigned number;         /* step */
    int left, right;
    int top, box_height, height; /* the box, then notes and the fault below it */
    struct text lines[ROW_LINES_MAX];
    size_t line_count;
    struct text hazard; /* behind the signal word; step */
    const struct text *sides;
    size_t side_count;
    struct text notes[ROW_NOTES_MAX];
    size_t note_count;
    struct text marks; /* "3, 9": when the path comes by */
    size_t mark_count;
    const struct text *fault; /* the sentences, wrapped */
    size_t fault_line_count;
    size_t slot_count; /* of lines that end in the gap below */
    bool is_away;
    bool is_walked, is_struck;
    bool is_optional; /* question: may it be passed over, not `when` */
};

enum span_kind {
    SPAN_BYPASS,
    SPAN_EXIT, /* of an alternative, to the end of its `either` */
    SPAN_RETURN,
    SPAN_BRACKET,
    SPAN_FRAME
};
struct way {
    enum span_kind kind;
    const struct work *work;
    size_t first, last; /* rows; of an exit: the last of the alternative, the last of all */
    size_t from_slot;   /* exit: in the gap below `first` */
    size_t slot;        /* in the gap below `last` */
    int x, right;       /* the line; of a frame the left and right edges */
    bool is_walked, is_away;
};

struct picture {
    const struct procedure *procedure;
    const struct proof *proof;
    const struct unsafe_path *path;          /* NULL: none */
    size_t sheet, sheet_count;               /* one for each path that is marked; from 0 */
    const struct unsafe_path *const *marked; /* by sheet */
    struct arena *arena;
    struct row *rows;
    size_t row_count, row_capacity;
    struct way *spans;
    size_t span_count, span_capacity;
    const size_t *event_rows; /* by event of the path: its row */
    int lane;                 /* how far a nested thing is set in */
    int head_height, bottom;
};

/* The rows and lines of a procedure, without heights. */
void picture_build(struct picture *picture);
/* What the unsafe path touches: marks, notes, what was passed over, the fault. */
void picture_follow_path(struct picture *picture);
/* Where something as tall as `height` may stand: at `top`, or on the next page. */
int page_fit(int top, int height);
/* What is wrong, in capitals where it is unsafe: the heading of the fault. */
struct text picture_fault_heading(const struct picture *picture,
                                  const struct unsafe_path *path);
/* Heights, from `top` down. */
void picture_place(struct picture *picture, int top);

int row_middle(const struct row *row);
int row_bottom(const struct row *row);
int slot_y(const struct row *row, size_t slot);

/* "fuel_off" as words. */
struct text spaced(struct arena *arena, struct text name);

#endif

#include "report/picture.h"

#include "picture_shapes.h"

#include <assert.h>

/* Safety colours: red, orange, yellow and blue as ANSI Z535.1 wants them on a screen (from memory:
 * Pantone 186, 151, 109, 285).  The black words on orange and yellow, the white ones on red and
 * blue, are those of ANSI Z535.4. */
static const char style_sheet[] =
    "@page{size:A4;margin:0}"
    "text{font-family:Helvetica,Arial,'Liberation Sans','DejaVu Sans',sans-serif;fill:#1b1b1b;"
    "font-size:32px;white-space:pre}"
    ".paper{fill:#fff}.title{font-size:54px;font-weight:bold}.bold{font-weight:bold}"
    ".small,.side{font-size:25px}.quiet{fill:#555}"
    ".line,.box,.away,.question,.round,.frame,.hands,.bracket{stroke:#555;stroke-width:3}"
    ".line,.frame,.hands,.bracket,.walk{fill:none}.frame{stroke-dasharray:4 6}"
    ".hands{stroke-width:6;stroke-dasharray:22 10}"
    ".box,.away,.question{fill:#fff}.away{stroke-dasharray:22 10}.round,.band{fill:#e3e7eb}"
    ".band{stroke:none}.tip{fill:#555}"
    ".walk{stroke:#000;stroke-width:9;stroke-linejoin:round}.walktip,.mark{fill:#000}"
    ".done{stroke:#000;stroke-width:8;fill:#fff}.struck{stroke:#000;stroke-width:3;opacity:.55}"
    ".marktext{fill:#fff;font-size:25px;font-weight:bold;text-anchor:middle}"
    ".fault{fill:#fff;stroke:#c8102e;stroke-width:9}.stop{fill:#c8102e}"
    ".onred,.onblue{fill:#fff;font-weight:bold;font-size:25px}.onblue{font-style:italic}"
    ".onlight{fill:#000;font-weight:bold;font-size:25px}"
    ".danger{fill:#c8102e}.warning{fill:#ff8200}.caution{fill:#ffd100}.notice{fill:#0072ce}"
    ".alert{fill:#fff}.alertdark{fill:#000}"
    "@media screen and "
    "(prefers-color-scheme:dark){text{fill:#eee}.paper{fill:#16181b}.quiet{fill:#b5b9bd}"
    ".line,.box,.away,.question,.round,.frame,.hands,.bracket{stroke:#a3a8ad}"
    ".box,.away,.question,.done,.fault{fill:#16181b}.round,.band{fill:#343a40}.tip{fill:#"
    "a3a8ad}"
    ".walk,.done,.struck{stroke:#fff}.walktip,.mark{fill:#fff}.marktext{fill:#000}"
    ".fault{stroke:#ff5a6e}.onred,.onblue{fill:#fff}.onlight{fill:#000}}";

/* --- rows ----------------------------------------------------------------------------------- */

static void draw_shape(struct svg *svg, const struct row *row)
{
    struct svg_box box = {row->left, row->top, row->right - row->left, row->box_height};
    switch (row->kind) {
    case ROW_START:
    case ROW_END:
        svg_rectangle(svg, row->is_walked ? "done" : "round", box, row->box_height / 2);
        break;
    case ROW_BAND:
        svg_rectangle(svg, "band", box, 0);
        break;
    case ROW_QUESTION:
        draw_question_shape(svg, row);
        break;
    case ROW_EACH:
    case ROW_REPEAT:
    case ROW_UNTIL:
        svg_rectangle(svg, "round", box, row->box_height / 3);
        break;
    case ROW_FOLLOW:
        svg_rectangle(svg, "band", box, 0);
        break;
    case ROW_STEP:
        svg_rectangle(svg, row->is_walked ? "done" : (row->is_away ? "away" : "box"), box,
                      BOX_CORNER);
        break;
    }
}

static int text_left(const struct row *row)
{
    switch (row->kind) {
    case ROW_STEP:
        return row->left + 90;
    case ROW_QUESTION:
        return row->left + 44;
    case ROW_START:
    case ROW_BAND:
    case ROW_EACH:
    case ROW_REPEAT:
    case ROW_UNTIL:
    case ROW_FOLLOW:
    case ROW_END:
        return row->left + 28;
    }
    return row->left;
}

static void draw_hazard(struct svg *svg, const struct row *row)
{
    int y = row->top + 14 + (int)row->line_count * LINE_BODY + 4, x = row->left + 90;
    draw_signal(svg, row->work->step->messages[0].signal, x, y);
    struct text line;
    int room = row->right - x - TAG_WIDTH - 40;
    if (svg_fit(row->hazard, room, SIZE_SMALL, &line, 1, svg->scratch) > 0)
        svg_words(svg, "small", x + TAG_WIDTH + 16, y + 27, line);
}

static void draw_fault(struct svg *svg, const struct row *row)
{
    int height = (int)row->fault_line_count * LINE_BODY + 28 + LINE_BODY - 20;
    int top = row->top + row->box_height + 14;
    if (row->note_count > 0)
        top += (int)row->note_count * LINE_SMALL + 8;
    svg_rectangle(svg, "fault",
                  (struct svg_box){row->left, top, row->right - row->left, height}, 0);
    draw_stop(svg, row->left + 20, top + 14);
    int y = top + 50;
    for (size_t i = 0; i < row->fault_line_count; i++) {
        svg_words(svg, i == 0 ? "bold" : "body", row->left + (i == 0 ? 84 : 30), y,
                  row->fault[i]);
        y += LINE_BODY + (i == 0 ? 12 : 0);
    }
}

static void draw_row(struct svg *svg, const struct row *row)
{
    bool is_bold = row->kind == ROW_BAND || row->kind == ROW_FOLLOW || row->kind == ROW_START ||
                   row->kind == ROW_END;
    draw_shape(svg, row);
    if (row->is_struck)
        svg_path(svg, "struck",
                 text_fill(svg->scratch, "M{} {}L{} {}M{} {}L{} {}", NUMBER(svg, row->left),
                           NUMBER(svg, row->top), NUMBER(svg, row->right),
                           NUMBER(svg, row->top + row->box_height), NUMBER(svg, row->left),
                           NUMBER(svg, row->top + row->box_height), NUMBER(svg, row->right),
                           NUMBER(svg, row->top)));
    if (row->kind == ROW_STEP)
        svg_words(svg, "bold", row->left + 18, row->top + 44, NUMBER(svg, row->number));
    int y = row->top + 44;
    for (size_t i = 0; i < row->line_count; i++, y += LINE_BODY)
        svg_words(svg, is_bold ? "bold" : "body", text_left(row), y, row->lines[i]);
    if (row->kind == ROW_STEP && row->hazard.length > 0)
        draw_hazard(svg, row);
    y = row->top + row->box_height + 28;
    for (size_t i = 0; i < row->note_count; i++, y += LINE_SMALL)
        svg_words(svg, "small", SPINE + 24, y, row->notes[i]);
    y = row->top + 30;
    for (size_t i = 0; i < row->side_count; i++, y += LINE_SMALL)
        svg_words(svg, "side", SIDE_LEFT, y, row->sides[i]);
    if (row->fault_line_count > 0)
        draw_fault(svg, row);
}

/* --- lines between the rows ---------------------------------------------------------------- */

static const struct way *span_at_slot(const struct picture *picture, size_t row, size_t slot,
                                      bool *is_leaving)
{
    for (size_t i = 0; i < picture->span_count; i++) {
        const struct way *span = &picture->spans[i];
        bool ends_here = span->last == row && span->slot == slot && span->kind != SPAN_RETURN &&
                         span->kind != SPAN_BRACKET;
        *is_leaving = span->kind == SPAN_EXIT && span->first == row && span->from_slot == slot;
        if (ends_here || *is_leaving)
            return span;
    }
    return NULL;
}

static bool is_any_exit_walked(const struct picture *picture, size_t row, size_t slot)
{
    for (size_t i = 0; i < picture->span_count; i++)
        if (picture->spans[i].kind == SPAN_EXIT && picture->spans[i].last == row &&
            picture->spans[i].slot == slot && picture->spans[i].is_walked)
            return true;
    return false;
}

static const char *line_class(bool is_walked)
{
    return is_walked ? "walk" : "line";
}

/* The spine from one row to the next.  Where a line leaves it, it is broken until one comes back. */
static void draw_gap(struct svg *svg, const struct picture *picture, size_t at)
{
    const struct row *row = &picture->rows[at], *next = &picture->rows[at + 1];
    int y = row->top + row->box_height;
    bool is_walked = row->is_walked && row->fault_line_count == 0, is_broken = false;
    for (size_t slot = 0; slot < row->slot_count; slot++) {
        bool is_leaving = false;
        const struct way *span = span_at_slot(picture, at, slot, &is_leaving);
        int to = slot_y(row, slot);
        if (span == NULL || span->kind == SPAN_FRAME)
            continue;
        if (is_leaving) {
            draw_line(svg, line_class(span->is_walked), SPINE, y, to);
            is_walked = false;
            is_broken = true;
        } else {
            if (!is_broken)
                draw_line(svg, line_class(is_walked && next->is_walked), SPINE, y, to);
            is_broken = false;
            is_walked = is_walked || (span->kind == SPAN_BYPASS && span->is_walked) ||
                        is_any_exit_walked(picture, at, slot);
        }
        y = to;
    }
    bool is_on = is_walked && next->is_walked;
    if (is_broken)
        return;
    draw_line(svg, line_class(is_on), SPINE, y, next->top - 8);
    draw_tip(svg, is_on, SPINE, next->top, 0);
}

static void draw_bypass(struct svg *svg, const struct picture *picture, const struct way *span)
{
    const struct row *first = &picture->rows[span->first];
    int from = first->top + first->box_height;
    int to = slot_y(&picture->rows[span->last], span->slot);
    svg_path(svg, span->is_walked ? "walk" : "line",
             text_fill(svg->scratch, "M{} {}V{}H{}", NUMBER(svg, span->x),
                       NUMBER(svg, from - (span->x < first->left + HEXAGON ? 6 : 0)),
                       NUMBER(svg, to), NUMBER(svg, SPINE - 10)));
    draw_tip(svg, span->is_walked, SPINE, to, 1);
    svg_words(svg, "small", span->x + 10, from + 27, TEXT("no"));
    svg_words(svg, "small", SPINE - 60, from + 27, TEXT("yes"));
}

static void draw_exit(struct svg *svg, const struct picture *picture, const struct way *span)
{
    int from = slot_y(&picture->rows[span->first], span->from_slot);
    int to = slot_y(&picture->rows[span->last], span->slot);
    svg_path(svg, span->is_walked ? "walk" : "line",
             text_fill(svg->scratch, "M{} {}H{}V{}H{}", NUMBER(svg, SPINE), NUMBER(svg, from),
                       NUMBER(svg, span->x), NUMBER(svg, to), NUMBER(svg, SPINE + 10)));
    draw_tip(svg, span->is_walked, SPINE, to, -1);
}

static void draw_span(struct svg *svg, const struct picture *picture, const struct way *span)
{
    const struct row *first = &picture->rows[span->first], *last = &picture->rows[span->last];
    switch (span->kind) {
    case SPAN_BYPASS:
        draw_bypass(svg, picture, span);
        break;
    case SPAN_EXIT:
        draw_exit(svg, picture, span);
        break;
    case SPAN_RETURN:
        svg_path(svg, span->is_walked ? "walk" : "line",
                 text_fill(svg->scratch, "M{} {}H{}V{}H{}", NUMBER(svg, last->right),
                           NUMBER(svg, row_middle(last)), NUMBER(svg, span->x),
                           NUMBER(svg, row_middle(first)), NUMBER(svg, first->right + 10)));
        draw_tip(svg, span->is_walked, first->right, row_middle(first), -1);
        break;
    case SPAN_BRACKET:
        svg_path(svg, "bracket",
                 text_fill(svg->scratch, "M{} {}V{}h14", NUMBER(svg, span->x),
                           NUMBER(svg, first->top + first->box_height),
                           NUMBER(svg, row_bottom(last))));
        break;
    case SPAN_FRAME:
        svg_rectangle(svg, span->is_away ? "hands" : "frame",
                      (struct svg_box){span->x, first->top, span->right - span->x,
                                       slot_y(last, span->slot) - first->top},
                      0);
        break;
    }
}

/* --- the path beside the rows ----------------------------------------------------------- */

static void draw_path_lane(struct svg *svg, const struct picture *picture)
{
    const struct unsafe_path *path = picture->path;
    if (path->fault == FAULT_UNREACHED)
        return;
    size_t end = 0;
    for (size_t i = 0; i < picture->row_count; i++)
        if (picture->rows[i].fault_line_count > 0)
            end = i;
    size_t from = 0;
    svg_path(svg, "walk",
             text_fill(svg->scratch, "M{} {}H{}", NUMBER(svg, picture->rows[0].left),
                       NUMBER(svg, row_middle(&picture->rows[0])), NUMBER(svg, LANE_PATH - 4)));
    for (size_t e = 0; e <= path->event_count; e++) {
        size_t to = e < path->event_count ? picture->event_rows[e] : end;
        int y = row_middle(&picture->rows[from]), next = row_middle(&picture->rows[to]);
        if (to >= from) {
            draw_line(svg, "walk", LANE_PATH, y, next);
        } else {
            svg_path(svg, "walk",
                     text_fill(svg->scratch, "M{} {}H{}V{}H{}", NUMBER(svg, LANE_PATH),
                               NUMBER(svg, y), NUMBER(svg, LANE_RETURN), NUMBER(svg, next),
                               NUMBER(svg, LANE_PATH)));
            draw_tip(svg, true, LANE_PATH - 44, next, 1);
        }
        from = to;
    }
    const struct row *last = &picture->rows[end];
    svg_path(svg, "walk",
             text_fill(svg->scratch, "M{} {}H{}", NUMBER(svg, LANE_PATH),
                       NUMBER(svg, row_middle(last)), NUMBER(svg, last->left - 14)));
    draw_tip(svg, true, last->left - 4, row_middle(last), 1);
}

static void draw_marks(struct svg *svg, const struct picture *picture)
{
    for (size_t i = 0; i < picture->row_count; i++) {
        const struct row *row = &picture->rows[i];
        if (row->mark_count == 0)
            continue;
        int width = svg_width(row->marks, SIZE_SMALL) + 28;
        width = width < MARK_HEIGHT ? MARK_HEIGHT : width;
        int left = LANE_PATH - width / 2, right = MAIN_LEFT - 8;
        if (left + width > right)
            left = right - width;
        svg_rectangle(
            svg, "mark",
            (struct svg_box){left, row_middle(row) - MARK_HEIGHT / 2, width, MARK_HEIGHT},
            MARK_HEIGHT / 2);
        svg_words(svg, "marktext", left + width / 2, row_middle(row) + 9, row->marks);
    }
}

/* --- the whole --------------------------------------------------------------------------- */

static void begin_document(struct svg *svg, const struct picture *picture, int height)
{
    struct arena *arena = picture->arena;
    svg_open(svg, "svg");
    svg_attribute(svg, "xmlns", TEXT("http://www.w3.org/2000/svg"));
    /* The links of several sheets are something to go to; an image has nothing in it. */
    svg_attribute(svg, "role", picture->sheet_count > 1 ? TEXT("group") : TEXT("img"));
    svg_attribute(svg, "aria-labelledby", TEXT("title about"));
    svg_attribute(svg, "lang", TEXT("en"));
    svg_attribute(svg, "width", TEXT("210mm"));
    svg_attribute(svg, "height",
                  text_fill(arena, "{}mm", text_number(arena, (height + 9) / 10)));
    svg_attribute(svg, "viewBox",
                  text_fill(arena, "0 0 {} {}", text_number(arena, PAGE_WIDTH),
                            text_number(arena, height)));
    svg_open(svg, "title");
    svg_attribute(svg, "id", TEXT("title"));
    svg_text(svg, picture->procedure->title);
    svg_close(svg);
    svg_open(svg, "desc");
    svg_attribute(svg, "id", TEXT("about"));
    struct text about =
        text_fill(arena, "{}. {}", picture_counts(picture), picture_verdict(picture));
    if (picture->path != NULL)
        about = text_fill(arena, "{} {}", about,
                          path_fault_words(picture->procedure, picture->path, picture->arena));
    svg_text(svg, about);
    svg_close(svg);
    svg_open(svg, "style");
    /* The style sheet needs no escaping: it holds no < and no &. */
    svg_text(svg, (struct text){0});
    write_text(svg->writer, text_from(style_sheet));
    svg_close(svg);
    svg_rectangle(svg, "paper", (struct svg_box){0, 0, PAGE_WIDTH, height}, 0);
}

static void draw_work(struct svg *svg, const struct picture *picture)
{
    for (size_t i = 0; i < picture->span_count; i++)
        if (!picture->spans[i].is_walked)
            draw_span(svg, picture, &picture->spans[i]);
    for (size_t i = 0; i < picture->span_count; i++)
        if (picture->spans[i].is_walked)
            draw_span(svg, picture, &picture->spans[i]);
    for (size_t i = 0; i + 1 < picture->row_count; i++)
        draw_gap(svg, picture, i);
    if (picture->path != NULL)
        draw_path_lane(svg, picture);
    for (size_t i = 0; i < picture->row_count; i++)
        draw_row(svg, &picture->rows[i]);
    if (picture->path != NULL)
        draw_marks(svg, picture);
}

static bool discard(struct writer *writer, const char *bytes, size_t length)
{
    (void)writer;
    (void)bytes;
    (void)length;
    return true;
}

/* A step that no way leads to has no path, and is shown only where nothing else is. */
static size_t paths_to_mark(const struct proof *proof, const struct unsafe_path **marked)
{
    size_t count = 0;
    for (size_t i = 0; proof != NULL && i < proof->path_count; i++)
        if (proof->paths[i].fault != FAULT_UNREACHED)
            marked[count++] = &proof->paths[i];
    if (count == 0 && proof != NULL && proof->path_count > 0)
        marked[count++] = &proof->paths[0];
    return count;
}

/* What has no fixed height is drawn to nowhere first.  Returns how tall the sheet is. */
static int lay_out(struct picture *picture)
{
    picture_build(picture);
    if (picture->path != NULL)
        picture_follow_path(picture);
    struct writer nowhere = {.put = discard};
    struct svg trial = svg_begin(&nowhere, picture->arena);
    svg_open(&trial, "svg");
    picture_place(picture, picture_head(&trial, picture));
    return picture_list(&trial, picture, picture->bottom + LINE_BODY) + PAGE_MARGIN;
}

static int pages_of(int height)
{
    return (height + PAGE_HEIGHT - 1) / PAGE_HEIGHT;
}

/* What a link leads to: the drawing moved up until this sheet is at the top. */
static void put_view(struct svg *svg, const struct picture *picture, int top, int height)
{
    struct arena *arena = picture->arena;
    if (picture->sheet_count == 1)
        return;
    svg_open(svg, "view");
    svg_attribute(svg, "id", sheet_anchor(arena, picture->sheet));
    svg_attribute(svg, "viewBox",
                  text_fill(arena, "0 {} {} {}", text_number(arena, top),
                            text_number(arena, PAGE_WIDTH), text_number(arena, height)));
    svg_attribute(svg, "preserveAspectRatio", TEXT("xMidYMin meet"));
    svg_close(svg);
}

/* Each sheet begins on a page of its own. */
static void draw_sheet(struct svg *svg, const struct picture *picture, int top, int height)
{
    struct arena *arena = picture->arena;
    put_view(svg, picture, top, height);
    svg_open(svg, "g");
    svg_attribute(svg, "transform",
                  text_fill(arena, "translate(0 {})", text_number(arena, top)));
    (void)picture_head(svg, picture);
    draw_work(svg, picture);
    (void)picture_list(svg, picture, picture->bottom + LINE_BODY);
    int pages = pages_of(height);
    for (int page = 0; pages > 1 && page < pages; page++)
        picture_foot(svg, picture, page, pages);
    svg_close(svg);
}

void picture_write(const struct procedure *procedure, const struct proof *proof,
                   struct writer *writer, struct arena *scratch)
{
    const struct unsafe_path *marked[PROOF_PATHS_MAX] = {NULL};
    size_t count = paths_to_mark(proof, marked);
    size_t sheets = count == 0 ? 1 : count;
    struct picture *pictures = arena_array(scratch, struct picture, sheets);
    int *heights = arena_array(scratch, int, sheets);
    int bottom = 0;
    for (size_t i = 0; i < sheets; i++) {
        pictures[i] = (struct picture){.procedure = procedure,
                                       .proof = proof,
                                       .path = marked[i],
                                       .sheet = i,
                                       .sheet_count = sheets,
                                       .marked = marked,
                                       .arena = scratch};
        heights[i] = lay_out(&pictures[i]);
        bottom += pages_of(heights[i]) * PAGE_HEIGHT;
    }
    bottom = sheets == 1 && heights[0] <= PAGE_HEIGHT ? heights[0] : bottom;
    struct svg svg = svg_begin(writer, scratch);
    begin_document(&svg, &pictures[0], bottom);
    int top = 0;
    for (size_t i = 0; i < sheets; i++) {
        draw_sheet(&svg, &pictures[i], top, heights[i]);
        top += pages_of(heights[i]) * PAGE_HEIGHT;
    }
    svg_close(&svg);
    write_text(writer, TEXT("\n"));
}

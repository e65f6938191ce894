#include "picture_layout.h"

#include <assert.h>

enum {
    ROWS_AT_FIRST = 64,
    LANE_WIDEST = 48,
    LANES_ROOM = 420,
    GAP = 34,
    SLOT = 30,
    PADDING = 14
};

struct edges {
    int left, right;
};

/* --- growing ------------------------------------------------------------------------ */

static struct row *add_row(struct picture *picture, enum row_kind kind, const struct work *work,
                           struct edges edges)
{
    if (picture->row_count == picture->row_capacity) {
        size_t capacity =
            picture->row_capacity == 0 ? ROWS_AT_FIRST : picture->row_capacity * 2;
        struct row *larger = arena_array(picture->arena, struct row, capacity);
        if (picture->row_count > 0)
            memcpy(larger, picture->rows, picture->row_count * sizeof *larger);
        picture->rows = larger;
        picture->row_capacity = capacity;
    }
    struct row *row = &picture->rows[picture->row_count++];
    *row = (struct row){.kind = kind, .work = work, .left = edges.left, .right = edges.right};
    return row;
}

static struct way *add_span(struct picture *picture, enum span_kind kind,
                            const struct work *work, size_t first)
{
    if (picture->span_count == picture->span_capacity) {
        size_t capacity =
            picture->span_capacity == 0 ? ROWS_AT_FIRST : picture->span_capacity * 2;
        struct way *larger = arena_array(picture->arena, struct way, capacity);
        if (picture->span_count > 0)
            memcpy(larger, picture->spans, picture->span_count * sizeof *larger);
        picture->spans = larger;
        picture->span_capacity = capacity;
    }
    struct way *span = &picture->spans[picture->span_count++];
    *span = (struct way){.kind = kind, .work = work, .first = first};
    return span;
}

/* A line that meets the spine below the last row so far. */
static void end_span(struct picture *picture, size_t span)
{
    size_t last = picture->row_count - 1;
    picture->spans[span].last = last;
    picture->spans[span].slot = picture->rows[last].slot_count++;
}

/* --- words ------------------------------------------------------------------------------ */

struct text spaced(struct arena *arena, struct text name)
{
    char *words = arena_array(arena, char, name.length);
    for (size_t i = 0; i < name.length; i++) {
        words[i] = name.bytes[i];
        if (words[i] == '_')
            words[i] = ' ';
    }
    return (struct text){words, name.length};
}

static void put_lines(struct picture *picture, struct row *row, struct text words, int room)
{
    row->line_count =
        svg_fit(words, room, SIZE_BODY, row->lines, ROW_LINES_MAX, picture->arena);
}

static struct text each_words(const struct picture *picture, const struct work *work)
{
    struct arena *arena = picture->arena;
    const struct loop *loop = &work->loop;
    struct text index = spaced(arena, picture->procedure->index_names[loop->index]);
    struct text words = text_fill(arena, "for each {}", index);
    switch (loop->subset) {
    case LOOP_ALL:
        break;
    case LOOP_WHERE:
        words = text_fill(arena, "{} where {}", words, loop->where->written);
        break;
    case LOOP_LABELS:
        words = text_fill(arena, "{}: {}", words,
                          text_join(arena, loop->labels, loop->label_count, TEXT(", ")));
        break;
    }
    return loop->in_firing_order ? text_fill(arena, "{}, in firing order", words) : words;
}

static struct text until_words(const struct picture *picture, const struct work *work)
{
    struct arena *arena = picture->arena;
    if (work->until == NULL)
        return text_fill(arena, "{} times in all", text_number(arena, work->times));
    return text_fill(arena, "again until {}, at most {} times", work->until->written,
                     text_number(arena, work->at_most));
}

static struct text hazard_words(const struct picture *picture, const struct step *step)
{
    if (step->message_count == 0)
        return (struct text){0};
    struct text words = step->messages[0].hazard.written;
    if (step->message_count == 1)
        return words;
    return text_fill(picture->arena, "{} (+{} more)", words,
                     text_number(picture->arena, (long long)step->message_count - 1));
}

/* --- what a step needs and changes -------------------------------------------------- */

struct sides {
    struct arena *arena;
    struct text *lines;
    size_t count, capacity;
};

static void put_side(struct sides *sides, struct text words)
{
    struct text rest = words;
    while (rest.length > 0) {
        if (sides->count == sides->capacity) {
            size_t capacity = sides->capacity == 0 ? 8 : sides->capacity * 2;
            struct text *larger = arena_array(sides->arena, struct text, capacity);
            if (sides->count > 0)
                memcpy(larger, sides->lines, sides->count * sizeof *larger);
            sides->lines = larger;
            sides->capacity = capacity;
        }
        sides->lines[sides->count++] = svg_wrap(&rest, SIDE_RIGHT - SIDE_LEFT, SIZE_SMALL);
    }
}

/* All of one sort behind one sign, so that a long list stays low. */
static void put_uses(struct sides *sides, const struct picture *picture, const char *sign,
                     const struct condition_use *uses, size_t count)
{
    struct arena *arena = picture->arena;
    struct text *names = arena_array(arena, struct text, count);
    for (size_t i = 0; i < count; i++) {
        const struct condition *condition = picture->procedure->conditions[uses[i].condition];
        names[i] = spaced(arena, condition->name);
        if (uses[i].is_here && condition->index != INDEX_NONE)
            names[i] =
                text_fill(arena, "{} (this {})", names[i],
                          spaced(arena, picture->procedure->index_names[condition->index]));
    }
    if (count > 0)
        put_side(sides, text_fill(arena, "{}{}", text_from(sign),
                                  text_join(arena, names, count, TEXT(", "))));
}

static void put_moves(struct sides *sides, const struct picture *picture, const char *sign,
                      const struct part_move *moves, size_t count)
{
    struct arena *arena = picture->arena;
    struct text *names = arena_array(arena, struct text, count);
    for (size_t i = 0; i < count; i++)
        names[i] = spaced(arena, picture->procedure->parts[moves[i].part].name);
    if (count > 0)
        put_side(sides, text_fill(arena, "{}{}", text_from(sign),
                                  text_join(arena, names, count, TEXT(", "))));
}

static void put_sides(struct picture *picture, struct row *row, const struct step *step)
{
    struct sides sides = {.arena = picture->arena};
    put_uses(&sides, picture, "needs ", step->needs, step->needs_count);
    put_uses(&sides, picture, "not while ", step->forbids, step->forbids_count);
    put_uses(&sides, picture, "− ", step->clears, step->clears_count);
    put_uses(&sides, picture, "+ ", step->sets, step->sets_count);
    put_moves(&sides, picture, "out: ", step->removes, step->removes_count);
    put_moves(&sides, picture, "back: ", step->refits, step->refits_count);
    row->sides = sides.lines;
    row->side_count = sides.count;
}

/* --- the order of work ----------------------------------------------------------------- */

static void build_work(struct picture *picture, const struct work *work, struct edges edges);

// NOLINTNEXTLINE(misc-no-recursion): as deep as the tree of the file
static void build_children(struct picture *picture, const struct work *work, struct edges edges)
{
    for (size_t i = 0; i < work->child_count; i++)
        build_work(picture, work->children[i], edges);
}

static void build_step(struct picture *picture, const struct work *work, struct edges edges)
{
    unsigned number = 1;
    for (unsigned id = 0; id < work->id; id++)
        number += picture->procedure->works[id]->kind == WORK_STEP;
    struct row *row = add_row(picture, ROW_STEP, work, edges);
    row->number = number;
    put_lines(picture, row, work->step->action.written, edges.right - edges.left - 120);
    row->hazard = hazard_words(picture, work->step);
    put_sides(picture, row, work->step);
    for (const struct work *around = work; around != NULL; around = around->parent)
        row->is_away = row->is_away || around->is_away;
}

// NOLINTNEXTLINE(misc-no-recursion): as deep as the tree of the file
static void build_section(struct picture *picture, const struct work *work, struct edges edges)
{
    size_t frame = picture->span_count, first = picture->row_count;
    bool is_framed = work->is_away;
    if (work->title.length > 0 || is_framed) {
        struct row *row = add_row(picture, ROW_BAND, work, edges);
        row->is_away = work->is_away;
        put_lines(picture, row,
                  work->is_away
                      ? text_fill(picture->arena, "{} (away: hands not free)", work->title)
                      : work->title,
                  edges.right - edges.left - 80);
    }
    if (is_framed) {
        struct way *span = add_span(picture, SPAN_FRAME, work, first);
        span->x = edges.left;
        span->right = edges.right;
        span->is_away = true;
        edges.left += picture->lane / 2;
        edges.right -= picture->lane / 2;
    }
    build_children(picture, work, edges);
    if (is_framed)
        end_span(picture, frame);
}

// NOLINTNEXTLINE(misc-no-recursion): as deep as the tree of the file
static void build_follow(struct picture *picture, const struct work *work, struct edges edges)
{
    size_t frame = picture->span_count;
    struct way *span = add_span(picture, SPAN_FRAME, work, picture->row_count);
    span->x = edges.left;
    span->right = edges.right;
    struct row *row = add_row(picture, ROW_FOLLOW, work, edges);
    struct text words = work->as.length == 0 ? work->title
                                             : text_fill(picture->arena, "{} ({})", work->title,
                                                         spaced(picture->arena, work->as));
    put_lines(picture, row, words, edges.right - edges.left - 80);
    edges.left += picture->lane / 2;
    edges.right -= picture->lane / 2;
    build_children(picture, work, edges);
    end_span(picture, frame);
}

// NOLINTNEXTLINE(misc-no-recursion): as deep as the tree of the file
static void build_repeat(struct picture *picture, const struct work *work, struct edges edges)
{
    size_t back = picture->span_count;
    struct way *span = add_span(picture, SPAN_RETURN, work, picture->row_count);
    span->x = edges.right - picture->lane / 3;
    edges.right -= picture->lane;
    struct row *row = add_row(picture, ROW_REPEAT, work, edges);
    put_lines(picture, row,
              text_fill(picture->arena, "repeat: {}", spaced(picture->arena, work->title)),
              edges.right - edges.left - 80);
    build_children(picture, work, edges);
    picture->spans[back].last = picture->row_count;
    row = add_row(picture, ROW_UNTIL, work, edges);
    put_lines(picture, row, until_words(picture, work), edges.right - edges.left - 120);
}

/* Tried in order: each is led round to the next, and out of each a line leads to the end. */
// NOLINTNEXTLINE(misc-no-recursion): as deep as the tree of the file
static void build_either(struct picture *picture, const struct work *work, struct edges edges)
{
    int outside = edges.right - picture->lane / 3;
    edges.right -= picture->lane;
    size_t exits = 0;
    size_t *spans = arena_array(picture->arena, size_t, work->child_count);
    for (size_t i = 0; i < work->child_count; i++) {
        const struct work *child = work->children[i];
        struct edges inner = edges;
        bool is_last = i + 1 == work->child_count;
        size_t bypass = picture->span_count;
        struct row *row = add_row(picture, ROW_QUESTION, child, edges);
        put_lines(picture, row,
                  child->when == NULL
                      ? TEXT("otherwise")
                      : text_fill(picture->arena, "if {}", child->when->written),
                  edges.right - edges.left - 140);
        inner.left += picture->lane;
        if (!is_last)
            add_span(picture, SPAN_BYPASS, child, picture->row_count - 1)->x =
                edges.left + picture->lane / 2;
        build_section(picture, child, inner);
        if (is_last)
            break;
        size_t last = picture->row_count - 1;
        spans[exits++] = picture->span_count;
        struct way *leaving = add_span(picture, SPAN_EXIT, child, last);
        leaving->x = outside;
        leaving->from_slot = picture->rows[last].slot_count++;
        end_span(picture, bypass);
    }
    for (size_t i = 0; i < exits; i++)
        picture->spans[spans[i]].last = picture->row_count - 1;
    if (exits > 0) { /* all of them meet in one */
        size_t slot = picture->rows[picture->row_count - 1].slot_count++;
        for (size_t i = 0; i < exits; i++)
            picture->spans[spans[i]].slot = slot;
    }
}

static size_t begin_bypass(struct picture *picture, const struct work *work,
                           struct edges *edges, struct text question)
{
    size_t span = picture->span_count;
    add_span(picture, SPAN_BYPASS, work, picture->row_count)->x =
        edges->left + picture->lane / 2;
    struct row *row = add_row(picture, ROW_QUESTION, work, *edges);
    put_lines(picture, row, question, edges->right - edges->left - 140);
    edges->left += picture->lane;
    return span;
}

static size_t begin_each(struct picture *picture, const struct work *work, struct edges *edges)
{
    size_t span = picture->span_count;
    add_span(picture, SPAN_BRACKET, work, picture->row_count)->x =
        edges->left + picture->lane / 3;
    struct row *row = add_row(picture, ROW_EACH, work, *edges);
    put_lines(picture, row, each_words(picture, work), edges->right - edges->left - 80);
    edges->left += picture->lane;
    return span;
}

// NOLINTNEXTLINE(misc-no-recursion): as deep as the tree of the file
static void build_inside(struct picture *picture, const struct work *work, struct edges edges)
{
    switch (work->kind) {
    case WORK_STEP:
        build_step(picture, work, edges);
        break;
    case WORK_SECTION:
        build_section(picture, work, edges);
        break;
    case WORK_EITHER:
        build_either(picture, work, edges);
        break;
    case WORK_REPEAT:
        build_repeat(picture, work, edges);
        break;
    case WORK_FOLLOW:
        build_follow(picture, work, edges);
        break;
    }
}

/* From outside in: `when`, each, `when` of this position, optional. */
// NOLINTNEXTLINE(misc-no-recursion): as deep as the tree of the file
static void build_work(struct picture *picture, const struct work *work, struct edges edges)
{
    size_t bypasses[2], bypass_count = 0;
    struct text question = {0};
    if (work->when != NULL)
        question = text_fill(picture->arena, "if {}", work->when->written);
    if (work->when != NULL && !work->when_each_round)
        bypasses[bypass_count++] = begin_bypass(picture, work, &edges, question);
    bool is_each = work_is_each(work);
    size_t bracket = is_each ? begin_each(picture, work, &edges) : 0;
    if (work->when != NULL && work->when_each_round)
        bypasses[bypass_count++] = begin_bypass(picture, work, &edges, question);
    if (work->kind == WORK_STEP && work->step->is_optional) {
        bypasses[bypass_count++] =
            begin_bypass(picture, work, &edges, TEXT("optional: is it done?"));
        picture->rows[picture->row_count - 1].is_optional = true;
    }
    build_inside(picture, work, edges);
    if (is_each)
        picture->spans[bracket].last = picture->row_count - 1;
    for (size_t i = bypass_count; i > 0; i--)
        end_span(picture, bypasses[i - 1]);
}

/* How many things stand in one another at most; each is set in by at most two lanes. */
static int deepest(const struct procedure *procedure)
{
    int most = 1;
    for (size_t id = 0; id < procedure->work_count; id++) {
        int depth = 0;
        for (const struct work *work = procedure->works[id]; work != NULL; work = work->parent)
            depth += (work->when != NULL) + work_is_each(work) +
                     (work->kind == WORK_STEP && work->step->is_optional) +
                     (work->kind == WORK_EITHER || work->kind == WORK_REPEAT ||
                      work->kind == WORK_FOLLOW || work->is_away);
        most = depth > most ? depth : most;
    }
    return most;
}

void picture_build(struct picture *picture)
{
    int lane = LANES_ROOM / deepest(picture->procedure);
    picture->lane = lane < LANE_WIDEST ? lane : LANE_WIDEST;
    struct edges edges = {MAIN_LEFT, MAIN_RIGHT};
    struct row *row = add_row(picture, ROW_START, NULL, edges);
    put_lines(picture, row, TEXT("The job begins"), MAIN_RIGHT - MAIN_LEFT - 80);
    build_children(picture, picture->procedure->works[0], edges);
    row = add_row(picture, ROW_END, NULL, edges);
    put_lines(picture, row, TEXT("The job is done"), MAIN_RIGHT - MAIN_LEFT - 80);
}

/* --- heights ----------------------------------------------------------------------------- */

int row_middle(const struct row *row)
{
    return row->top + row->box_height / 2;
}

int row_bottom(const struct row *row)
{
    return row->top + row->height;
}

int slot_y(const struct row *row, size_t slot)
{
    return row_bottom(row) + GAP / 2 + (int)slot * SLOT;
}

int page_fit(int top, int height)
{
    int page = top / PAGE_HEIGHT;
    int first = page * PAGE_HEIGHT + (page == 0 ? 0 : PAGE_EDGE);
    int last = (page + 1) * PAGE_HEIGHT - PAGE_EDGE;
    if (top < first)
        return first;
    bool is_too_tall = height > PAGE_HEIGHT - 2 * PAGE_EDGE; /* it is cut wherever it stands */
    return top + height <= last || is_too_tall ? top : (page + 1) * PAGE_HEIGHT + PAGE_EDGE;
}

/* The lines that meet in the gap below a row stay with it. */
static int slots_height(const struct row *row)
{
    return row->slot_count == 0 ? 0 : GAP / 2 + (int)row->slot_count * SLOT;
}

/* A heading or a question does not stand alone at the foot of a page. */
static int kept_below(const struct row *row)
{
    enum { ROOM_FOR_A_STEP = 180 };
    return row->kind == ROW_STEP || row->kind == ROW_UNTIL || row->kind == ROW_END
               ? 0
               : ROOM_FOR_A_STEP;
}

void picture_place(struct picture *picture, int top)
{
    for (size_t i = 0; i < picture->row_count; i++) {
        struct row *row = &picture->rows[i];
        row->box_height = (int)row->line_count * LINE_BODY + 2 * PADDING;
        if (row->hazard.length > 0)
            row->box_height += LINE_BODY + 4;
        row->height = row->box_height;
        if (row->note_count > 0)
            row->height += (int)row->note_count * LINE_SMALL + 8;
        if (row->fault_line_count > 0)
            row->height +=
                (int)row->fault_line_count * LINE_BODY + 2 * PADDING + LINE_BODY + 14;
        int sides = (int)row->side_count * LINE_SMALL + 8;
        if (sides > row->height)
            row->height = sides;
        top = row->top = page_fit(top, row->height + slots_height(row) + kept_below(row));
        /* The labels at the two ends of a by-pass want room beneath the question. */
        int gap = GAP + (row->kind == ROW_QUESTION ? 8 : 0);
        top += row->height + gap + (int)row->slot_count * SLOT;
    }
    picture->bottom = top;
}

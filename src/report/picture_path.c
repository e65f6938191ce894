#include "picture_layout.h"

#include <assert.h>

/* Which rows the unsafe path comes by, in its order; what it leaves out; where it ends. */

enum { NO_ROW = -1, MARKS_SHOWN = 3, FAULT_LINES_MAX = 12 };

static int find_row(const struct picture *picture, const struct work *work, enum row_kind kind)
{
    for (size_t i = 0; i < picture->row_count; i++)
        if (picture->rows[i].work == work && picture->rows[i].kind == kind)
            return (int)i;
    return NO_ROW;
}

/* Where a fault stands: the step, or the head of what is not one (a section away from the screen, a
 * loop).  NULL: at the end. */
static int find_place(const struct picture *picture, const struct work *work)
{
    const enum row_kind kinds[] = {ROW_STEP,   ROW_BAND,   ROW_EACH,
                                   ROW_REPEAT, ROW_FOLLOW, ROW_QUESTION};
    for (size_t i = 0; work != NULL && i < sizeof kinds / sizeof *kinds; i++) {
        int found = find_row(picture, work, kinds[i]);
        if (found != NO_ROW)
            return found;
    }
    return NO_ROW;
}

static int find_optional(const struct picture *picture, const struct work *work)
{
    for (size_t i = 0; i < picture->row_count; i++)
        if (picture->rows[i].work == work && picture->rows[i].is_optional)
            return (int)i;
    return NO_ROW;
}

/* One truth belongs to one text, wherever it is written: the next such place counts, else the first. */
static int find_decision(const struct picture *picture, const struct path_event *event,
                         size_t after)
{
    if (event->expression == NULL)
        return NO_ROW;
    struct text wanted = event->expression->written;
    if (event->text.length > 0)
        wanted = text_fill(picture->arena, "{} == \"{}\"", wanted, event->text);
    int found = NO_ROW;
    for (size_t i = 0; i < picture->row_count; i++) {
        const struct row *row = &picture->rows[i];
        const struct expression *asked = NULL;
        if (row->kind == ROW_QUESTION && !row->is_optional)
            asked = row->work->when;
        if (row->kind == ROW_UNTIL)
            asked = row->work->until;
        if (asked == NULL || !text_equal(asked->written, wanted))
            continue;
        if (found == NO_ROW || (i >= after && (size_t)found < after))
            found = (int)i;
    }
    return found;
}

static int row_of_event(const struct picture *picture, const struct path_event *event,
                        size_t after)
{
    switch (event->kind) {
    case PATH_ASKED_AT_START:
        return 0;
    case PATH_DONE:
    case PATH_BEGUN:
        return find_row(picture, event->work, ROW_STEP);
    case PATH_PASSED_OVER:
        return find_optional(picture, event->work);
    case PATH_DECIDED:
        return find_decision(picture, event, after);
    case PATH_SUBSET:
        return find_row(picture, event->work, ROW_EACH);
    case PATH_ROUND:
        return find_row(picture, event->work, ROW_UNTIL);
    case PATH_STOPPED:
        return NO_ROW; /* where the one before it was */
    }
    return NO_ROW;
}

/* What a mark alone does not tell. */
static struct text note_of_event(const struct picture *picture, const struct path_event *event)
{
    switch (event->kind) {
    case PATH_DONE:
        return (struct text){0};
    case PATH_PASSED_OVER:
        return TEXT("passed over");
    case PATH_STOPPED:
        return TEXT("a stop, and on another day");
    case PATH_BEGUN:
        return TEXT("begun and not finished, then a stop");
    case PATH_DECIDED:
        if (event->text.length > 0)
            return text_fill(picture->arena, "answered: {}", event->text);
        return event->truth ? TEXT("yes") : TEXT("no");
    case PATH_ROUND:
        return event->truth ? TEXT("another round") : TEXT("no other round");
    case PATH_SUBSET:
        return event->truth ? TEXT("this one is among them")
                            : TEXT("this one is not among them");
    case PATH_ASKED_AT_START:
        return path_event_words(picture->procedure, event, picture->arena);
    }
    return (struct text){0};
}

static void put_note(struct picture *picture, struct row *row, struct text note)
{
    int room = row->right - row->left - 40;
    if (row->note_count < ROW_NOTES_MAX)
        row->note_count +=
            svg_fit(note, room, SIZE_SMALL, row->notes + row->note_count, 1, picture->arena);
    else
        row->notes[ROW_NOTES_MAX - 1] = TEXT("and more: see the list below");
}

static void put_mark(struct picture *picture, struct row *row, size_t number)
{
    struct arena *arena = picture->arena;
    struct text shown = text_number(arena, (long long)number);
    row->mark_count++;
    if (row->mark_count == 1)
        row->marks = shown;
    else if (row->mark_count <= MARKS_SHOWN)
        row->marks = text_fill(arena, "{}, {}", row->marks, shown);
    else if (row->mark_count == MARKS_SHOWN + 1)
        row->marks = text_fill(arena, "{} …", row->marks);
}

/* Everything that stands around a row that is come by is come by too. */
static void walk_row(struct picture *picture, size_t at)
{
    picture->rows[at].is_walked = true;
    for (const struct work *around = picture->rows[at].work; around != NULL;
         around = around->parent)
        for (size_t i = 0; i < at; i++)
            if (picture->rows[i].work == around && picture->rows[i].kind != ROW_STEP &&
                picture->rows[i].kind != ROW_UNTIL)
                picture->rows[i].is_walked = true;
}

static void strike(struct picture *picture, const struct way *span)
{
    for (size_t i = span->first; i <= span->last; i++)
        if (picture->rows[i].kind == ROW_STEP && !picture->rows[i].is_walked)
            picture->rows[i].is_struck = true;
}

/* The lines the path takes round what it leaves out. */
static void follow_bypasses(struct picture *picture)
{
    for (size_t e = 0; e < picture->path->event_count; e++) {
        const struct path_event *event = &picture->path->events[e];
        bool is_no = event->kind == PATH_PASSED_OVER ||
                     (event->kind == PATH_DECIDED && event->text.length == 0 && !event->truth);
        for (size_t i = 0; is_no && i < picture->span_count; i++) {
            struct way *span = &picture->spans[i];
            if (span->kind != SPAN_BYPASS || span->first != picture->event_rows[e] ||
                picture->rows[span->first].kind != ROW_QUESTION)
                continue;
            span->is_walked = true;
            strike(picture, span);
        }
    }
}

static bool is_walked_after(const struct picture *picture, size_t row)
{
    for (size_t i = row + 1; i < picture->row_count; i++)
        if (picture->rows[i].is_walked)
            return true;
    return false;
}

/* Does the path come by a step of `whole`, from the row `from` down? */
static bool holds_walked(const struct picture *picture, const struct work *whole, size_t from)
{
    for (size_t i = from; i < picture->row_count; i++) {
        const struct row *row = &picture->rows[i];
        const struct work *around = row->work;
        while (around != NULL && around != whole)
            around = around->parent;
        if (around != NULL && row->kind == ROW_STEP && row->is_walked)
            return true;
    }
    return false;
}

static bool is_inside_bypassed(const struct picture *picture, size_t row)
{
    for (size_t i = 0; i < picture->span_count; i++) {
        const struct way *span = &picture->spans[i];
        if (span->kind == SPAN_BYPASS && span->is_walked && span->first < row &&
            row <= span->last)
            return true;
    }
    return false;
}

/* An expression is decided once and told once; where it is asked again, or is one answer of several,
 * what the path does not touch between two places that it does touch was led round. */
static void infer_bypasses(struct picture *picture)
{
    for (size_t i = 0; i < picture->span_count; i++) {
        struct way *span = &picture->spans[i];
        if (span->kind != SPAN_BYPASS || is_inside_bypassed(picture, span->first))
            continue;
        const struct work *work = span->work, *parent = work->parent;
        bool is_whole = parent->parent == NULL;
        bool is_passed = parent->kind == WORK_EITHER
                             ? holds_walked(picture, parent, span->last + 1)
                             : is_walked_after(picture, span->last) &&
                                   (is_whole || holds_walked(picture, parent, 0));
        if (!is_passed || holds_walked(picture, work, 0))
            continue;
        span->is_walked = true;
        picture->rows[span->first].is_walked = true;
        strike(picture, span);
    }
}

static void follow_lines(struct picture *picture)
{
    follow_bypasses(picture);
    infer_bypasses(picture);
    for (size_t i = 0; i < picture->span_count; i++) {
        struct way *span = &picture->spans[i];
        if (span->kind == SPAN_EXIT)
            span->is_walked =
                picture->rows[span->first].is_walked && is_walked_after(picture, span->last);
        for (size_t e = 0; e < picture->path->event_count; e++)
            if (span->kind == SPAN_RETURN && picture->path->events[e].kind == PATH_ROUND &&
                picture->path->events[e].work == span->work && picture->path->events[e].truth)
                span->is_walked = true;
    }
}

/* --- the fault ------------------------------------------------------------------------ */

struct text picture_fault_heading(const struct picture *picture, const struct unsafe_path *path)
{
    struct arena *arena = picture->arena;
    const struct procedure *procedure = picture->procedure;
    struct text name = {0};
    if (procedure->condition_count > 0)
        name = spaced(arena, procedure->conditions[path->condition]->name);
    switch (path->fault) {
    case FAULT_NEED:
        return text_fill(arena, "UNSAFE: needs {}, not in force", name);
    case FAULT_FORBIDDEN:
        return text_fill(arena, "UNSAFE: not while {}, and it is so", name);
    case FAULT_REQUIRES:
        return text_fill(arena, "UNSAFE: leaves {} without {}", name,
                         spaced(arena, procedure->conditions[path->required]->name));
    case FAULT_LEFT:
        return text_fill(arena, "UNSAFE: {} is left so at the end", name);
    case FAULT_PART_LEFT:
        return text_fill(arena, "UNSAFE: {} is left out at the end",
                         spaced(arena, procedure->parts[path->part].name));
    case FAULT_PART_OUT:
        return text_fill(arena, "UNSAFE: {} is taken out, and is out already",
                         spaced(arena, procedure->parts[path->part].name));
    case FAULT_PART_IN:
        return text_fill(arena, "{} is put back, and is not out",
                         spaced(arena, procedure->parts[path->part].name));
    case FAULT_ONCE:
        return TEXT("UNSAFE: done again, and may be done only once");
    case FAULT_NO_ORDER:
        return text_fill(arena, "UNSAFE: from here no order puts {} right", name);
    case FAULT_ROUND:
        return text_fill(arena, "UNSAFE: a round leaves {} otherwise than before", name);
    case FAULT_UNREACHED:
        return TEXT("NEVER REACHED: no way leads here");
    }
    return (struct text){0};
}

static const char *helper_words(enum path_fault fault)
{
    switch (fault) {
    case FAULT_NEED:
    case FAULT_REQUIRES:
        return "would have set it";
    case FAULT_FORBIDDEN:
    case FAULT_LEFT:
    case FAULT_NO_ORDER:
        return "would have cleared it";
    case FAULT_PART_LEFT:
    case FAULT_PART_OUT:
        return "would have put it back";
    case FAULT_PART_IN:
        return "would have taken it out";
    case FAULT_ONCE:
    case FAULT_UNREACHED:
        return "has to do with it";
    case FAULT_ROUND:
        return "changes it";
    }
    return "";
}

/* Of what is so and must not be, it is the step that made it so. */
static const char *undoer_words(enum path_fault fault)
{
    return fault == FAULT_NEED || fault == FAULT_REQUIRES ? "undid it" : "made it so";
}

static void put_fault(struct picture *picture, struct row *row)
{
    struct text *lines = arena_array(picture->arena, struct text, FAULT_LINES_MAX);
    int room = row->right - row->left - 60;
    /* The heading is set wider than the sentences. */
    size_t count = svg_fit(picture_fault_heading(picture, picture->path), room - 100, SIZE_BODY,
                           lines, 2, picture->arena);
    struct text sentences = path_fault_words(picture->procedure, picture->path, picture->arena);
    count += svg_fit(sentences, room, SIZE_BODY, lines + count, FAULT_LINES_MAX - count,
                     picture->arena);
    row->fault = lines;
    row->fault_line_count = count;
    row->is_walked = true;
}

static void note_on(struct picture *picture, const struct work *work, const char *words)
{
    int at = work == NULL ? NO_ROW : find_row(picture, work, ROW_STEP);
    if (at != NO_ROW)
        put_note(picture, &picture->rows[at],
                 text_fill(picture->arena, "◀ {}", text_from(words)));
}

void picture_follow_path(struct picture *picture)
{
    const struct unsafe_path *path = picture->path;
    size_t *rows = arena_array(picture->arena, size_t, path->event_count);
    picture->event_rows = rows;
    if (path->fault == FAULT_UNREACHED) {
        int at = find_place(picture, path->work);
        put_fault(picture, &picture->rows[at == NO_ROW ? 0 : at]);
        picture->rows[at == NO_ROW ? 0 : at].is_walked = false;
        return;
    }
    picture->rows[0].is_walked = true;
    note_on(picture, path->helper, helper_words(path->fault));
    if (path->undoer != path->helper)
        note_on(picture, path->undoer, undoer_words(path->fault));
    size_t before = 0;
    for (size_t e = 0; e < path->event_count; e++) {
        int at = row_of_event(picture, &path->events[e], before);
        if (at != NO_ROW)
            before = (size_t)at;
        rows[e] = before;
        walk_row(picture, before);
        put_mark(picture, &picture->rows[before], e + 1);
        struct text note = note_of_event(picture, &path->events[e]);
        if (note.length > 0)
            put_note(picture, &picture->rows[before],
                     text_fill(picture->arena, "{}: {}",
                               text_number(picture->arena, (long long)e + 1), note));
    }
    int end = find_place(picture, path->work);
    size_t last = end == NO_ROW ? picture->row_count - 1 : (size_t)end;
    put_fault(picture, &picture->rows[last]);
    walk_row(picture, last);
    follow_lines(picture);
}

#include "picture_shapes.h"

/* What stands above and below the work: title, verdict, legend; the path in words. */

enum { HEAD_TOP = 110 };

static struct text counted(struct arena *arena, size_t count, const char *one, const char *many)
{
    return text_fill(arena, "{} {}", text_number(arena, (long long)count),
                     text_from(count == 1 ? one : many));
}

struct text picture_verdict(const struct picture *picture)
{
    struct arena *arena = picture->arena;
    if (picture->proof == NULL)
        return TEXT("NOT examined: whether every precaution is reached on every path.");
    switch (picture->proof->verdict) {
    case PROOF_SOUND:
        return TEXT(
            "No unsafe path was found: every way through it was looked at, as written.");
    case PROOF_MISTAKES:
        return TEXT("NOT proven: there are mistakes in it.");
    case PROOF_PART:
        return TEXT("A part: it is proven in the procedures that follow it, not alone.");
    case PROOF_UNSAFE:
        break;
    case PROOF_TOO_LARGE:
        return TEXT("NOT proven: it has too many ways through.");
    }
    if (picture->path != NULL && picture->path->fault == FAULT_UNREACHED)
        return TEXT("NOT right: there is a step that no way leads to; it is marked.");
    size_t count = picture->proof->path_count;
    struct text length = counted(arena, picture->path == NULL ? 0 : picture->path->event_count,
                                 "thing that happens", "things that happen");
    if (count <= 1)
        return text_fill(arena, "UNSAFE: one unsafe path, marked: {}.", length);
    return text_fill(arena, "UNSAFE: {} unsafe paths; marked here is path {}: {}.",
                     text_number(arena, (long long)count),
                     text_number(arena, (long long)picture->sheet + 1), length);
}

struct text picture_counts(const struct picture *picture)
{
    struct arena *arena = picture->arena;
    struct text words =
        text_fill(arena, "Revision {} · {}", text_number(arena, picture->procedure->revision),
                  counted(arena, picture->procedure->step_count, "step", "steps"));
    if (picture->proof == NULL)
        return words;
    return text_fill(arena, "{}, {}", words,
                     counted(arena, picture->proof->branches, "branch", "branches"));
}

static int draw_lines(struct svg *svg, const char *class, int y, struct text words)
{
    /* Bold letters are a tenth wider. */
    int size = strcmp(class, "bold") == 0 ? SIZE_BODY * 11 / 10 : SIZE_BODY;
    while (words.length > 0) {
        y = page_fit(y - LINE_BODY, LINE_BODY + 4) + LINE_BODY;
        svg_words(svg, class, PAGE_MARGIN, y,
                  svg_wrap(&words, PAGE_WIDTH - 2 * PAGE_MARGIN, size));
        y += LINE_BODY + 4;
    }
    return y;
}

/* One entry: `x` is where the next may begin. */
static int draw_entry_words(struct svg *svg, int x, int y, struct text words)
{
    svg_words(svg, "small", x, y, words);
    return x + svg_width(words, SIZE_SMALL) + 36;
}

static void draw_legend(struct svg *svg, const struct picture *picture, int y)
{
    struct row question = {.kind = ROW_QUESTION, .left = 0, .top = y - 28, .box_height = 36};
    int x = PAGE_MARGIN;
    svg_rectangle(svg, "box", (struct svg_box){x, y - 28, 56, 36}, BOX_CORNER);
    x = draw_entry_words(svg, x + 68, y, TEXT("a step"));
    question.left = x;
    question.right = x + 76;
    draw_question_shape(svg, &question);
    x = draw_entry_words(svg, x + 88, y, TEXT("a question"));
    svg_rectangle(svg, "round", (struct svg_box){x, y - 28, 56, 36}, 12);
    x = draw_entry_words(svg, x + 68, y, TEXT("again and again"));
    svg_rectangle(svg, "frame", (struct svg_box){x, y - 28, 56, 36}, 0);
    x = draw_entry_words(svg, x + 68, y, TEXT("a part"));
    svg_rectangle(svg, "hands", (struct svg_box){x, y - 28, 56, 36}, 0);
    x = draw_entry_words(svg, x + 68, y, TEXT("away: hands not free"));
    (void)draw_entry_words(svg, x, y, TEXT("+ sets   − clears"));
    y += 54;
    x = PAGE_MARGIN;
    for (int signal = SIGNAL_DANGER; signal >= SIGNAL_NOTICE; signal--) {
        draw_signal(svg, (enum signal)signal, x, y - 27);
        x += TAG_WIDTH + 24;
    }
    if (picture->path == NULL)
        return;
    svg_rectangle(svg, "mark", (struct svg_box){x, y - 29, 44, MARK_HEIGHT}, MARK_HEIGHT / 2);
    svg_words(svg, "marktext", x + 22, y, TEXT("1"));
    x = draw_entry_words(svg, x + 56, y, TEXT("the unsafe path, in order"));
    draw_stop(svg, x, y - 34);
    (void)draw_entry_words(svg, x + 60, y, TEXT("where it is unsafe"));
}

struct text sheet_anchor(struct arena *arena, size_t sheet)
{
    return text_fill(arena, "path-{}", text_number(arena, (long long)sheet + 1));
}

/* Every path by its number, each a link to its own sheet. */
static int draw_contents(struct svg *svg, const struct picture *picture, int y)
{
    struct arena *arena = picture->arena;
    for (size_t i = 0; picture->sheet_count > 1 && i < picture->sheet_count; i++) {
        const struct unsafe_path *path = picture->marked[i];
        bool is_this = i == picture->sheet;
        struct text where = TEXT("at the end");
        if (path->work != NULL && path->work->step != NULL)
            where = text_fill(arena, "at {}", spaced(arena, path->work->step->name));
        struct text line = text_fill(
            arena, is_this ? "▶ path {}, marked here: {} ({})" : "path {}: {} ({})",
            text_number(arena, (long long)i + 1), picture_fault_heading(picture, path), where);
        svg_open(svg, "a");
        svg_attribute(svg, "href", text_fill(arena, "#{}", sheet_anchor(arena, i)));
        y = draw_lines(svg, is_this ? "bold" : "body", y, line);
        svg_close(svg);
    }
    return y;
}

void picture_foot(struct svg *svg, const struct picture *picture, int page, int page_count)
{
    struct arena *arena = picture->arena;
    struct text words = text_fill(arena, "page {} of {}", text_number(arena, page + 1),
                                  text_number(arena, page_count));
    if (picture->sheet_count > 1)
        words = text_fill(arena, "path {} of {}, {}",
                          text_number(arena, (long long)picture->sheet + 1),
                          text_number(arena, (long long)picture->sheet_count), words);
    svg_words(svg, "small", SIDE_LEFT, (page + 1) * PAGE_HEIGHT - PAGE_EDGE / 2, words);
}

int picture_head(struct svg *svg, const struct picture *picture)
{
    int y = HEAD_TOP;
    struct text rest = picture->procedure->title;
    while (rest.length > 0) {
        svg_words(svg, "title", PAGE_MARGIN, y,
                  svg_wrap(&rest, PAGE_WIDTH - 2 * PAGE_MARGIN, 60));
        y += 66;
    }
    y = draw_lines(svg, "body", y, picture_counts(picture));
    y = draw_lines(svg, "bold", y, picture_verdict(picture));
    y = draw_contents(svg, picture, y);
    draw_legend(svg, picture, y + 24);
    return y + 24 + 54 + 60;
}

int picture_list(struct svg *svg, const struct picture *picture, int y)
{
    struct arena *arena = picture->arena;
    if (picture->path != NULL) {
        y = draw_lines(svg, "bold", y, TEXT("The unsafe path in words"));
        for (size_t e = 0; e < picture->path->event_count; e++)
            y = draw_lines(svg, "body", y,
                           text_fill(arena, "{}  {}", text_number(arena, (long long)e + 1),
                                     path_event_words(picture->procedure,
                                                      &picture->path->events[e], arena)));
        y = draw_lines(svg, "bold", y,
                       path_fault_words(picture->procedure, picture->path, arena));
        y += LINE_BODY;
    }
    return draw_lines(svg, "quiet", y,
                      TEXT("The picture shows what is written, not that anybody did it. The "
                           "machine's own manual and local rules stand above it."));
}

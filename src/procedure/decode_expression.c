#include "procedure/loading.h"

/* --- expressions ----------------------------------------------------------------------------- */

static struct pending *pending_add(struct loader *loader, struct text written,
                                   struct place place, const struct expression **target)
{
    struct pending *pending = VECTOR_ADD(&loader->pending, loader->arena, struct pending);
    pending->written = written;
    pending->place = place;
    pending->piece = loader->piece;
    pending->loops = loader->loops;
    pending->index = INDEX_NONE;
    pending->what = "this";
    pending->target = target;
    return pending;
}

struct pending *expression_later(struct loader *loader, const struct yaml_node *key,
                                 const struct yaml_node *value,
                                 const struct expression **target)
{
    struct text written;
    if (!item_text(loader, key, value, &written))
        return NULL;
    if (memchr(written.bytes, '\n', written.length) != NULL) {
        report(loader->found, FINDING_EXPRESSION_PLACE, value->place);
        return NULL;
    }
    struct pending *pending =
        pending_add(loader, written, yaml_place_in(value, 0, written.length), target);
    pending->is_verbatim = yaml_is_verbatim(value);
    return pending;
}

void truth_later(struct loader *loader, const struct yaml_node *key,
                 const struct expression **target)
{
    struct pending *pending = expression_later(loader, key, key->next, target);
    if (pending != NULL) {
        pending->want = WANT_TRUTH;
        pending->what = "a condition of the work";
    }
}

void number_later(struct loader *loader, const struct yaml_node *key,
                  const struct yaml_node *value, struct kind kind, const char *what,
                  const struct expression **target)
{
    struct pending *pending = expression_later(loader, key, value, target);
    if (pending != NULL) {
        pending->want = WANT_NUMBER;
        pending->kind = kind;
        pending->what = what;
    }
}

/* --- texts with blanks ------------------------------------------------------------------------- */

struct template_reader {
    struct loader *loader;
    const struct yaml_node *value;
    struct template_piece *pieces;
    size_t count;
    char *literal; /* room for all of it, without doubled braces */
    size_t length, start;
    bool is_verbatim;
    size_t counted;  /* bytes of the text whose column is known */
    unsigned column; /* there */
};

/* Like yaml_place_in, but a text of many blanks is counted through once. */
static struct place place_in(struct template_reader *reader, size_t from, size_t to)
{
    struct place place = reader->value->place;
    if (!reader->is_verbatim)
        return place;
    struct text text = reader->value->text;
    for (; reader->counted < from; reader->counted++)
        reader->column += ((unsigned char)text.bytes[reader->counted] & 0xC0) != 0x80;
    place.column = place.end_column = reader->column;
    for (size_t i = from; i < to; i++)
        place.end_column += ((unsigned char)text.bytes[i] & 0xC0) != 0x80;
    return place;
}

static struct text literal_taken(struct template_reader *reader)
{
    struct text literal = {reader->literal + reader->start, reader->length - reader->start};
    reader->start = reader->length;
    return literal;
}

/* The byte after the blank's expression: its `}`; quotes hide braces. */
static size_t blank_end(struct text text, size_t from)
{
    char quote = '\0';
    for (size_t i = from; i < text.length; i++) {
        char c = text.bytes[i];
        if (quote != '\0')
            quote = (char)(c == quote ? '\0' : quote);
        else if (c == '"' || c == '\'')
            quote = c;
        else if (c == '}')
            return i;
    }
    return text.length;
}

/* Returns where reading goes on. */
static size_t read_blank(struct template_reader *reader, size_t at)
{
    struct text text = reader->value->text;
    size_t end = blank_end(text, at + 1);
    if (end == text.length) {
        report(reader->loader->found, FINDING_BLANK_NOT_CLOSED, place_in(reader, at, at + 1));
        return end;
    }
    size_t from = at + 1, to = end;
    while (from < to && text.bytes[from] == ' ')
        from++;
    while (to > from && text.bytes[to - 1] == ' ')
        to--;
    struct template_piece *piece = &reader->pieces[reader->count++];
    piece->literal = literal_taken(reader);
    struct place place =
        from == to ? place_in(reader, at, end + 1) : place_in(reader, from, to);
    struct pending *pending =
        pending_add(reader->loader, text_slice(text, from, to), place, &piece->value);
    pending->is_verbatim = reader->is_verbatim;
    return end + 1;
}

static size_t count_braces(struct text text)
{
    size_t count = 0;
    for (size_t i = 0; i < text.length; i++)
        count += text.bytes[i] == '{';
    return count;
}

static void read_pieces(struct template_reader *reader)
{
    struct text text = reader->value->text;
    for (size_t at = 0; at < text.length;) {
        char c = text.bytes[at];
        bool is_brace = c == '{' || c == '}';
        bool is_doubled = is_brace && at + 1 < text.length && text.bytes[at + 1] == c;
        if (c == '{' && !is_doubled) {
            at = read_blank(reader, at);
            continue;
        }
        if (c == '}' && !is_doubled)
            report(reader->loader->found, FINDING_BRACE_ALONE, place_in(reader, at, at + 1));
        reader->literal[reader->length++] = c;
        at += is_doubled ? 2 : 1;
    }
    if (reader->length > reader->start)
        reader->pieces[reader->count++].literal = literal_taken(reader);
}

void read_template(struct loader *loader, const struct yaml_node *key,
                   const struct yaml_node *value, struct template *template)
{
    struct text text;
    if (!item_text(loader, key, value, &text))
        return;
    template->written = text;
    template->place = value->place;
    bool is_plain = memchr(text.bytes, '{', text.length) == NULL &&
                    memchr(text.bytes, '}', text.length) == NULL;
    struct template_reader reader = {.loader = loader, .value = value};
    size_t room = is_plain ? 1 : count_braces(text) + 1;
    reader.pieces = arena_array(loader->arena, struct template_piece, room);
    if (is_plain) {
        reader.pieces[0].literal = text;
        reader.count = 1;
    } else {
        reader.literal = arena_array(loader->arena, char, text.length);
        reader.is_verbatim = yaml_is_verbatim(value);
        reader.column = value->place.column + (value->is_quoted ? 1U : 0U);
        read_pieces(&reader);
    }
    template->pieces = reader.pieces;
    template->piece_count = reader.count;
}

/* --- questions ---------------------------------------------------------------------------------- */

void read_question_ask(struct loader *loader, const struct yaml_node *key,
                       struct question *question)
{
    read_template(loader, key, key->next, &question->ask);
}

static bool is_said_before(const struct text *texts, size_t count, struct text text)
{
    for (size_t i = 0; i < count; i++)
        if (text_equal(texts[i], text))
            return true;
    return false;
}

enum { ANSWERS_MAX = 64 };

static void add_answers(struct loader *loader, const struct yaml_node *key, struct text *texts,
                        size_t *count)
{
    const struct yaml_node *item = NULL;
    size_t given = read_some(loader, key, &item);
    for (size_t i = 0; i < given; i++, item = item->next) {
        struct text text;
        if (!item_text(loader, key, item, &text))
            continue;
        if (is_said_before(texts, *count, text))
            report(loader->found, FINDING_SAID_TWICE, item->place, text);
        else if (*count == ANSWERS_MAX)
            report(loader->found, FINDING_TOO_MANY, item->place,
                   text_number(loader->arena, ANSWERS_MAX), TEXT("answers"));
        else
            texts[(*count)++] = text;
        if (*count == ANSWERS_MAX)
            break;
    }
}

void read_answers_wanted(struct loader *loader, const struct yaml_node *map,
                         struct question *question)
{
    const struct yaml_node *expect = key_in(map, "expect");
    const struct yaml_node *otherwise = key_in(map, "otherwise");
    struct text texts[ANSWERS_MAX];
    size_t count = 0;
    if (expect != NULL)
        add_answers(loader, expect, texts, &count);
    question->any_text = is_said_before(texts, count, TEXT("any text"));
    if (question->any_text && (count > 1 || otherwise != NULL))
        report(loader->found, FINDING_ANY_TEXT_BESIDE, expect->next->place);
    if (question->any_text)
        return;
    question->expected_count = count;
    if (otherwise != NULL)
        add_answers(loader, otherwise, texts, &count);
    struct text *kept = arena_array(loader->arena, struct text, count);
    if (count > 0)
        memcpy(kept, texts, count * sizeof *texts);
    question->choices = (struct choices){count, kept};
}

static void hold_ask(struct loader *loader, void *object, const struct yaml_node *key)
{
    read_question_ask(loader, key, object);
}

static const struct key_entry hold_keys[] = {
    {"ask", true, 0, hold_ask},
    {"expect", false, 0, read_elsewhere},
    {"otherwise", false, 0, read_elsewhere},
};
const struct key_map hold_map = KEY_MAP("hold", "a hold point", hold_keys);

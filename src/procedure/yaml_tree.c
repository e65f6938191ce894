#include "procedure/yaml_tree.h"

#include <assert.h>
#include <stdint.h>

#include <yaml.h>

/* The findings of one kind in one file that are worth reading. */
enum { FLAWS_SHOWN = 20 };
/* A map of so few keys is searched faster than a table is made. */
enum { FEW_KEYS = 8 };

struct level {
    struct yaml_node *node;
    struct yaml_node **tail;
};

struct builder {
    const struct source *source;
    struct diagnostics *found;
    struct arena *arena;
    struct yaml_node *root;
    struct level levels[YAML_DEPTH_MAX + 1];
    unsigned depth;
    unsigned documents;
    bool is_over; /* nothing more can be read */
    bool has_failed;
};

/* --- places ----------------------------------------------------------------------------- */

/* libyaml counts from 0, in characters. */
static struct place place_between(const struct source *source, yaml_mark_t from, yaml_mark_t to)
{
    return (struct place){source, (unsigned)from.line + 1, (unsigned)from.column + 1,
                          (unsigned)to.line + 1, (unsigned)to.column + 1};
}

static struct place place_at(const struct source *source, yaml_mark_t mark)
{
    yaml_mark_t next = mark;
    next.column++;
    return place_between(source, mark, next);
}

/* The place of one byte, counted as libyaml would: U+0085 was refused before it came here. */
static struct place place_of_byte(const struct source *source, size_t offset)
{
    struct text bytes = source->bytes;
    unsigned line = 1;
    size_t start = text_starts(bytes, TEXT("\xEF\xBB\xBF")) ? 3 : 0;
    for (size_t at = start; at < offset;) {
        unsigned character;
        size_t step = text_character(bytes, at, &character);
        bool is_pair =
            character == '\r' && at + 1 < bytes.length && bytes.bytes[at + 1] == '\n';
        at += step;
        if (character == '\n' || (character == '\r' && !is_pair) || character == 0x2028 ||
            character == 0x2029) {
            line++;
            start = at;
        }
    }
    unsigned column = 1;
    for (size_t at = start; at < offset; column++) {
        unsigned character;
        at += text_character(bytes, at, &character);
    }
    return (struct place){source, line, column, line, column + 1};
}

bool yaml_is_verbatim(const struct yaml_node *node)
{
    const struct place *place = &node->place;
    return place->line == place->end_line &&
           place->end_column - place->column ==
               text_characters(node->text) + (node->is_quoted ? 2U : 0U);
}

struct place yaml_place_in(const struct yaml_node *node, size_t from, size_t to)
{
    struct place place = node->place;
    if (!yaml_is_verbatim(node))
        return place;
    unsigned start = place.column + (node->is_quoted ? 1U : 0U);
    place.column = start + (unsigned)text_characters(text_slice(node->text, 0, from));
    place.end_column = start + (unsigned)text_characters(text_slice(node->text, 0, to));
    return place;
}

/* --- the door ----------------------------------------------------------------------------- */

static bool check_bytes(const struct source *source, struct diagnostics *found)
{
    struct text rest = source->bytes;
    size_t passed = 0, flaw_count = 0, offset = 0;
    while (flaw_count < FLAWS_SHOWN) {
        enum text_flaw flaw = text_check(rest, &offset);
        if (flaw == TEXT_SOUND)
            break;
        struct place place = place_of_byte(source, passed + offset);
        enum finding finding = flaw == TEXT_NOT_UTF8  ? FINDING_NOT_UTF8
                               : flaw == TEXT_CONTROL ? FINDING_CONTROL_CHARACTER
                                                      : FINDING_BIDIRECTIONAL;
        report(found, finding, place);
        flaw_count++;
        if (flaw == TEXT_NOT_UTF8)
            break; /* another encoding is wrong everywhere */
        unsigned character;
        offset += text_character(rest, offset, &character);
        passed += offset;
        rest = text_slice(rest, offset, rest.length);
    }
    return flaw_count == 0;
}

/* --- what libyaml says ------------------------------------------------------------------------ */

static bool is_one_of(const char *problem, const char *words)
{
    return problem != NULL && strstr(problem, words) != NULL;
}

static struct text in_plain_words(const char *problem)
{
    static const struct {
        const char *theirs, *ours;
    } words[] = {
        {"mapping values are not allowed",
         "a ':' stands where no key can be; put the text in quotes, or look at the line above"},
        {"did not find expected key",
         "a key with ':' is wanted here; look at the indentation and the quotes"},
        {"could not find expected ':'", "a key without ':'; put ': ' behind the key"},
        {"did not find expected '-' indicator",
         "an item with '- ' is wanted here; look at the indentation"},
        {"did not find expected <document start>",
         "this does not belong to what stands above; look at the indentation"},
        {"cannot start any token", "a text cannot begin with this character; put it in quotes"},
        {"block sequence entries are not allowed",
         "a '- ' cannot stand here; begin it on a line of its own"},
        {"unknown escape character", "no such escape; write '\\\\' for the backslash"},
        {"did not find expected hexdecimal number", "an escape needs digits here"},
        {"did not find expected ',' or ']'", "a ',' or ']' is wanted"},
        {"did not find expected ',' or '}'", "a ',' or '}' is wanted"},
        {"did not find expected node content", "a value is wanted here"},
        {"found unexpected end of stream", "the end of the file came first"},
        {"found unexpected document indicator", "a line '---' or '...' came first"},
    };
    for (size_t i = 0; i < sizeof words / sizeof *words; i++)
        if (is_one_of(problem, words[i].theirs))
            return text_from(words[i].ours);
    return text_from(problem == NULL ? "it cannot be read" : problem);
}

/* libyaml reports an unclosed bracket where it gave up; the useful place is where it opened. */
static bool is_unclosed(const yaml_parser_t *parser)
{
    return is_one_of(parser->context, "while parsing a flow") ||
           is_one_of(parser->context, "while scanning a quoted scalar");
}

static void report_failure(struct builder *builder, const yaml_parser_t *parser)
{
    const struct source *source = builder->source;
    struct text reason = in_plain_words(parser->problem);
    size_t at = parser->problem_mark.index;
    bool is_tab = is_one_of(parser->problem, "tab character");
    if (is_one_of(parser->problem, "cannot start any token")) {
        struct text line = source_line(source, (unsigned)parser->problem_mark.line + 1);
        size_t byte = 0;
        unsigned character = 0;
        for (size_t i = 0; i <= parser->problem_mark.column && byte < line.length; i++)
            byte += text_character(line, byte, &character);
        is_tab = character == '\t';
    }
    if (is_tab)
        report(builder->found, FINDING_TAB_INDENTS, place_at(source, parser->problem_mark));
    else if (is_unclosed(parser) && !is_one_of(parser->problem, "escape") &&
             !is_one_of(parser->problem, "hexdecimal") && at >= parser->context_mark.index)
        report(
            builder->found, FINDING_NOT_CLOSED, place_at(source, parser->context_mark),
            text_fill(builder->arena, "{} before line {}, column {}", reason,
                      text_number(builder->arena, (long long)parser->problem_mark.line + 1),
                      text_number(builder->arena, (long long)parser->problem_mark.column + 1)));
    else
        report(builder->found, FINDING_YAML_SYNTAX, place_at(source, parser->problem_mark),
               reason);
    builder->has_failed = true;
}

/* --- one map is complete ------------------------------------------------------------------------ */

static uint32_t hash_of(struct text text)
{
    uint32_t hash = 2166136261U; /* FNV-1a */
    for (size_t i = 0; i < text.length; i++)
        hash = (hash ^ (unsigned char)text.bytes[i]) * 16777619U;
    return hash;
}

static const struct yaml_node *earlier_pair(const struct yaml_node *map,
                                            const struct yaml_node *key)
{
    for (const struct yaml_node *at = map->first; at != key; at = at->next->next)
        if (text_equal(at->text, key->text))
            return at;
    return NULL;
}

/* Open addressing; the table is twice as large as what comes into it. */
static const struct yaml_node *earlier_in_table(const struct yaml_node **table, size_t size,
                                                const struct yaml_node *key)
{
    size_t slot = hash_of(key->text) & (size - 1);
    for (; table[slot] != NULL; slot = (slot + 1) & (size - 1))
        if (text_equal(table[slot]->text, key->text))
            return table[slot];
    table[slot] = key;
    return NULL;
}

static void drop_double_keys(struct builder *builder, struct yaml_node *map)
{
    struct arena_mark mark = arena_mark(builder->arena);
    const struct yaml_node **table = NULL;
    size_t size = (size_t)2 * FEW_KEYS;
    if (map->count > FEW_KEYS) {
        while (size < 2 * map->count)
            size *= 2;
        table = arena_array(builder->arena, const struct yaml_node *, size);
    }
    bool is_sound = true;
    for (struct yaml_node **link = &map->first; *link != NULL;) {
        struct yaml_node *key = *link;
        const struct yaml_node *earlier =
            table != NULL ? earlier_in_table(table, size, key) : earlier_pair(map, key);
        if (earlier == NULL) {
            link = &key->next->next;
            continue;
        }
        report(builder->found, FINDING_DUPLICATE_KEY, key->place, key->text);
        report(builder->found, FINDING_FIRST_GIVEN_HERE, earlier->place, key->text);
        *link = key->next->next;
        map->count--;
        is_sound = false;
    }
    if (is_sound) /* else the findings may stand behind the mark */
        arena_rewind(builder->arena, mark);
}

static void finish_map(struct builder *builder, struct yaml_node *map)
{
    map->count /= 2;
    for (struct yaml_node **link = &map->first; *link != NULL;) {
        struct yaml_node *key = *link;
        if (key->shape == SHAPE_TEXT && !key->is_faulty) {
            link = &key->next->next;
            continue;
        }
        if (key->shape != SHAPE_TEXT)
            report(builder->found, FINDING_KEY_NOT_TEXT, key->place,
                   text_from(key->shape == SHAPE_LIST ? "list" : "map"));
        *link = key->next->next;
        map->count--;
    }
    drop_double_keys(builder, map);
}

/* --- events ---------------------------------------------------------------------------------- */

static struct yaml_node *node_new(struct builder *builder, enum yaml_shape shape,
                                  const yaml_event_t *event)
{
    struct yaml_node *node = arena_new(builder->arena, struct yaml_node);
    node->shape = shape;
    node->place = place_between(builder->source, event->start_mark, event->end_mark);
    if (builder->depth > 0) {
        struct level *level = &builder->levels[builder->depth - 1];
        *level->tail = node;
        level->tail = &node->next;
        level->node->count++;
    } else {
        builder->root = node;
    }
    return node;
}

static void refuse_marks(struct builder *builder, const yaml_char_t *anchor,
                         const yaml_char_t *tag, const yaml_event_t *event)
{
    if (anchor != NULL)
        report(builder->found, FINDING_ANCHOR, place_at(builder->source, event->start_mark));
    if (tag != NULL)
        report(builder->found, FINDING_TAG, place_at(builder->source, event->start_mark));
}

static void open_collection(struct builder *builder, enum yaml_shape shape,
                            const yaml_event_t *event)
{
    if (builder->depth == YAML_DEPTH_MAX) {
        report(builder->found, FINDING_TOO_DEEP, place_at(builder->source, event->start_mark),
               text_number(builder->arena, YAML_DEPTH_MAX));
        builder->is_over = builder->has_failed = true;
        return;
    }
    struct yaml_node *node = node_new(builder, shape, event);
    if (event->start_mark.index == event->end_mark.index)
        node->place = place_at(builder->source, event->start_mark);
    builder->levels[builder->depth++] = (struct level){node, &node->first};
}

static void close_collection(struct builder *builder)
{
    assert(builder->depth > 0);
    struct yaml_node *node = builder->levels[--builder->depth].node;
    if (node->shape == SHAPE_MAP)
        finish_map(builder, node);
}

static void add_scalar(struct builder *builder, const yaml_event_t *event)
{
    refuse_marks(builder, event->data.scalar.anchor, event->data.scalar.tag, event);
    struct yaml_node *node = node_new(builder, SHAPE_TEXT, event);
    yaml_scalar_style_t style = event->data.scalar.style;
    node->is_quoted =
        style == YAML_SINGLE_QUOTED_SCALAR_STYLE || style == YAML_DOUBLE_QUOTED_SCALAR_STYLE;
    struct text text = {(const char *)event->data.scalar.value, event->data.scalar.length};
    /* Escapes can make what the door refused. */
    enum text_flaw flaw =
        style == YAML_DOUBLE_QUOTED_SCALAR_STYLE ? text_check(text, NULL) : TEXT_SOUND;
    if (flaw != TEXT_SOUND) {
        report(builder->found,
               flaw == TEXT_CONTROL    ? FINDING_CONTROL_CHARACTER
               : flaw == TEXT_NOT_UTF8 ? FINDING_NOT_UTF8
                                       : FINDING_BIDIRECTIONAL,
               node->place);
        node->is_faulty = true;
        return;
    }
    node->text = text_trim(text_copy(builder->arena, text));
    if (!text_is_ascii(node->text))
        node->text = text_normalised(builder->arena, node->text);
}

static void add_event(struct builder *builder, const yaml_event_t *event)
{
    switch (event->type) {
    case YAML_SCALAR_EVENT:
        add_scalar(builder, event);
        break;
    case YAML_SEQUENCE_START_EVENT:
        refuse_marks(builder, event->data.sequence_start.anchor, event->data.sequence_start.tag,
                     event);
        open_collection(builder, SHAPE_LIST, event);
        break;
    case YAML_MAPPING_START_EVENT:
        refuse_marks(builder, event->data.mapping_start.anchor, event->data.mapping_start.tag,
                     event);
        open_collection(builder, SHAPE_MAP, event);
        break;
    case YAML_SEQUENCE_END_EVENT:
    case YAML_MAPPING_END_EVENT:
        close_collection(builder);
        break;
    case YAML_ALIAS_EVENT:
        report(builder->found, FINDING_ANCHOR, place_at(builder->source, event->start_mark));
        node_new(builder, SHAPE_TEXT, event)->is_faulty = true;
        break;
    case YAML_DOCUMENT_START_EVENT:
        if (++builder->documents > 1) {
            report(builder->found, FINDING_SEVERAL_DOCUMENTS,
                   place_between(builder->source, event->start_mark, event->end_mark));
            builder->is_over = true;
        }
        break;
    case YAML_STREAM_END_EVENT:
        builder->is_over = true;
        break;
    case YAML_NO_EVENT:
    case YAML_STREAM_START_EVENT:
    case YAML_DOCUMENT_END_EVENT:
        break;
    }
}

const struct yaml_node *yaml_read(const struct source *source, struct diagnostics *found,
                                  struct arena *arena)
{
    struct place start = {source, 1, 1, 1, 1};
    if (source->bytes.length > (size_t)YAML_MEBIBYTES_MAX * MEBIBYTE) {
        report(found, FINDING_FILE_TOO_LARGE, start, text_number(arena, YAML_MEBIBYTES_MAX));
        return NULL;
    }
    if (!check_bytes(source, found))
        return NULL;
    struct text bytes = source->bytes;
    if (text_starts(bytes,
                    TEXT("\xEF\xBB\xBF"))) /* a byte order mark, which says nothing in UTF-8 */
        bytes = text_slice(bytes, 3, bytes.length);
    if (bytes.length == 0) { /* libyaml wants bytes */
        report(found, FINDING_NOTHING_IN_FILE, start);
        return NULL;
    }
    struct builder builder = {.source = source, .found = found, .arena = arena};
    yaml_parser_t parser;
    if (yaml_parser_initialize(&parser) == 0)
        arena->exhausted(sizeof parser); /* libyaml's only way to fail here */
    yaml_parser_set_encoding(&parser, YAML_UTF8_ENCODING);
    yaml_parser_set_input_string(&parser, (const unsigned char *)bytes.bytes, bytes.length);
    while (!builder.is_over) {
        yaml_event_t event;
        if (yaml_parser_parse(&parser, &event) == 0) {
            report_failure(&builder, &parser);
            break;
        }
        add_event(&builder, &event);
        yaml_event_delete(&event);
    }
    yaml_parser_delete(&parser);
    if (builder.has_failed)
        return NULL;
    const struct yaml_node *root = builder.root;
    if (root == NULL ||
        (root->shape == SHAPE_TEXT && root->text.length == 0 && !root->is_faulty)) {
        report(found, FINDING_NOTHING_IN_FILE, start);
        return NULL;
    }
    return root;
}

/* --- looking at it ------------------------------------------------------------------------- */

const struct yaml_node *yaml_find(const struct yaml_node *map, struct text key)
{
    if (map == NULL || map->shape != SHAPE_MAP)
        return NULL;
    for (const struct yaml_node *at = map->first; at != NULL; at = at->next->next)
        if (text_equal(at->text, key))
            return at->next;
    return NULL;
}

const char *yaml_shape_name(enum yaml_shape shape)
{
    switch (shape) {
    case SHAPE_TEXT:
        return "a text";
    case SHAPE_LIST:
        return "a list";
    case SHAPE_MAP:
        return "a map";
    }
    return "";
}

/* NOLINTNEXTLINE(misc-no-recursion): no deeper than YAML_DEPTH_MAX */
bool yaml_alike(const struct yaml_node *a, const struct yaml_node *b)
{
    if (a == NULL || b == NULL)
        return a == b;
    if (a->shape != b->shape || a->count != b->count)
        return false;
    if (a->shape == SHAPE_TEXT)
        return text_equal(a->text, b->text);
    if (a->shape == SHAPE_MAP) {
        for (const struct yaml_node *key = a->first; key != NULL; key = key->next->next)
            if (!yaml_alike(key->next, yaml_find(b, key->text)))
                return false;
        return true;
    }
    const struct yaml_node *x = a->first, *y = b->first;
    for (; x != NULL && y != NULL; x = x->next, y = y->next)
        if (!yaml_alike(x, y))
            return false;
    return x == y;
}

#include "procedure/loading.h"

/* The order of work: sections, alternatives, repeats, followed procedures. */

struct work *work_new(struct loader *loader, enum work_kind kind, struct place place,
                      struct work *parent)
{
    struct work *work = arena_new(loader->arena, struct work);
    work->kind = kind;
    work->id = (unsigned)loader->works.count;
    work->place = place;
    work->parent = parent;
    work->loop_depth = parent == NULL ? 0 : parent->loop_depth;
    work->loop.index = INDEX_NONE;
    *VECTOR_ADD(&loader->works, loader->arena, struct work *) = work;
    if (parent != NULL)
        *VECTOR_ADD(&loader->siblings, loader->arena, struct work *) = work;
    return work;
}

/* Gives the parent what was made since `from`; deeper ones have been taken by theirs. */
static void work_adopt(struct loader *loader, struct work *parent, size_t from)
{
    size_t count = loader->siblings.count - from;
    const struct work **children =
        arena_array(loader->arena, const struct work *, parent->child_count + count);
    for (size_t i = 0; i < parent->child_count; i++)
        children[i] = parent->children[i];
    for (size_t i = 0; i < count; i++)
        children[parent->child_count + i] =
            *VECTOR_AT(loader->siblings, struct work *, from + i);
    parent->children = children;
    parent->child_count += count;
    loader->siblings.count = from;
}

static void deepen(struct loader *loader, struct work *work)
{
    work->loop_depth++;
    if (work->loop_depth == LOOP_DEPTH_MAX + 1)
        report(loader->found, FINDING_LOOPS_TOO_DEEP, work->place,
               text_number(loader->arena, LOOP_DEPTH_MAX));
}

/* --- keys of steps and sections ----------------------------------------------------------------- */

void work_when(struct loader *loader, void *object, const struct yaml_node *key)
{
    truth_later(loader, key, &((struct work_reader *)object)->work->when);
}

void work_each(struct loader *loader, void *object, const struct yaml_node *key)
{
    struct work_reader *reader = object;
    struct text name;
    if (!read_name(loader, key, &name))
        return;
    int index = index_number(loader, name, key->next->place);
    if (index == NAME_ABSENT)
        return;
    if ((reader->outer >> index & 1) != 0) {
        report(loader->found, FINDING_LOOP_IN_ITSELF, key->place, name);
        return;
    }
    index_is_used(loader, index, key->next->place);
    reader->work->loop.index = index;
    loader->loops = reader->outer | 1ULL << index;
    loader->index = index;
    deepen(loader, reader->work);
}

static void read_labels(struct loader *loader, struct loop *loop, const struct yaml_node *key)
{
    const struct yaml_node *list = key->next;
    struct text *labels = arena_array(loader->arena, struct text, list->count);
    struct name_table said = {0};
    if (list->count == 0)
        report(loader->found, FINDING_LIST_EMPTY, list->place, key->text);
    for (const struct yaml_node *item = list->first; item != NULL; item = item->next) {
        struct text label;
        if (!item_text(loader, key, item, &label))
            continue;
        if (name_table_find(&said, (struct text){0}, label) != NAME_ABSENT) {
            report(loader->found, FINDING_SAID_TWICE, item->place, label);
            continue;
        }
        name_table_add(&said, loader->arena, label, 0);
        labels[loop->label_count++] = label;
        *VECTOR_ADD(&loader->labels, loader->arena, struct label_use) =
            (struct label_use){loop->index, label, item->place};
    }
    loop->labels = labels;
    loop->subset = LOOP_LABELS;
}

void work_in(struct loader *loader, void *object, const struct yaml_node *key)
{
    struct work_reader *reader = object;
    struct loop *loop = &reader->work->loop;
    if (loop->index == INDEX_NONE) {
        key_wants(loader, reader->map, key, "each");
        return;
    }
    if (key->next->shape == SHAPE_LIST) {
        read_labels(loader, loop, key);
        return;
    }
    unsigned long long loops = loader->loops;
    loader->loops = reader->outer; /* the subset is fixed when the loop begins */
    loop->subset = LOOP_WHERE;
    struct pending *pending = expression_later(loader, key, key->next, &loop->where);
    if (pending != NULL) {
        pending->want = WANT_TRUTH;
        pending->index = loop->index;
        pending->what = "the subset";
    }
    loader->loops = loops;
}

void work_order(struct loader *loader, void *object, const struct yaml_node *key)
{
    static const char *const words[] = {"firing", NULL};
    unsigned which;
    struct work_reader *reader = object;
    key_wants(loader, reader->map, key, "each");
    if (read_word(loader, key, words, &which))
        reader->work->loop.in_firing_order = true;
}

/* --- sections ----------------------------------------------------------------------------------- */

static void section_title(struct loader *loader, void *object, const struct yaml_node *key)
{
    read_text(loader, key, &((struct work_reader *)object)->work->title);
}

static void section_away(struct loader *loader, void *object, const struct yaml_node *key)
{
    struct work *work = ((struct work_reader *)object)->work;
    if (read_yes_no(loader, key, &work->is_away) && work->is_away)
        loader->is_away = true;
}

static void section_steps(struct loader *loader, void *object, const struct yaml_node *key)
{
    read_work_list(loader, key, ((struct work_reader *)object)->work);
}

static const struct key_entry section_keys[] = {
    {"away", false, 0, section_away},    {"each", false, 0, work_each},
    {"in", false, 1, work_in},           {"order", false, 1, work_order},
    {"section", true, 0, section_title}, {"steps", false, 2, section_steps},
    {"when", false, 1, work_when},
};
const struct key_map section_map = KEY_MAP("section", "a section", section_keys);

void work_read(struct loader *loader, const struct key_map *map, struct work_reader *reader,
               const struct yaml_node *key)
{
    unsigned long long loops = loader->loops;
    int index = loader->index;
    bool is_away = loader->is_away;
    struct work *outer = loader->work;
    loader->work = reader->work;
    reader->outer = loops;
    keys_read(loader, map, reader->map, key, reader);
    loader->work = outer;
    loader->loops = loops;
    loader->index = index;
    loader->is_away = is_away;
}

static void read_section(struct loader *loader, const struct yaml_node *node,
                         const struct yaml_node *key, struct work *work)
{
    struct work_reader reader = {.work = work, .map = node};
    if (key_in(node, "steps") == NULL)
        for (const struct yaml_node *at = node->first; at != NULL; at = at->next->next)
            if (at != key && key_in(node, "steps") == NULL &&
                (text_equal(at->text, TEXT("when")) || text_equal(at->text, TEXT("each")) ||
                 text_equal(at->text, TEXT("in")) || text_equal(at->text, TEXT("away")) ||
                 text_equal(at->text, TEXT("order")))) {
                report(loader->found, FINDING_HEADING_TAKES, at->place, at->text);
                return;
            }
    work_read(loader, &section_map, &reader, NULL);
}

/* --- alternatives ------------------------------------------------------------------------------- */

static void alternative_otherwise(struct loader *loader, void *object,
                                  const struct yaml_node *key)
{
    struct work_reader *reader = object;
    const struct yaml_node *when = key_in(reader->map, "when");
    bool yes = false;
    if (!read_yes_no(loader, key, &yes))
        return;
    if (!yes)
        report(loader->found, FINDING_NOT_ONE_OF, key->next->place, key->next->text,
               TEXT("true, yes"), (struct text){0});
    if (when != NULL)
        report(loader->found, FINDING_KEYS_EXCLUDE, key->place, key->text, when->text);
}

static const struct key_entry alternative_keys[] = {
    {"otherwise", false, 0, alternative_otherwise},
    {"steps", true, 2, section_steps},
    {"when", false, 1, work_when},
};
const struct key_map alternative_map =
    KEY_MAP("alternative", "an alternative", alternative_keys);

static void read_alternative(struct loader *loader, const struct yaml_node *node,
                             struct work *parent)
{
    struct work *work = work_new(loader, WORK_SECTION, node->place, parent);
    struct work_reader reader = {.work = work, .map = node};
    const struct yaml_node *otherwise = key_in(node, "otherwise");
    work_read(loader, &alternative_map, &reader, NULL);
    if (node->shape != SHAPE_MAP)
        return;
    if (otherwise == NULL && key_in(node, "when") == NULL)
        report(loader->found, FINDING_KEY_MISSING, node->place, TEXT("an alternative"),
               TEXT("when"));
    bool is_last = node->next == NULL;
    if (otherwise != NULL && !is_last)
        report(loader->found, FINDING_OTHERWISE_NOT_LAST, otherwise->place);
}

static void either_list(struct loader *loader, void *object, const struct yaml_node *key)
{
    struct work *work = ((struct work_reader *)object)->work;
    if (!wants_shape(loader, key, SHAPE_LIST))
        return;
    if (key->next->count == 0)
        report(loader->found, FINDING_LIST_EMPTY, key->next->place, key->text);
    size_t from = loader->siblings.count;
    struct either_note note = {.work = work, .is_faulty = key->next->count == 0};
    for (const struct yaml_node *item = key->next->first; item != NULL; item = item->next) {
        read_alternative(loader, item, work);
        note.has_otherwise = note.has_otherwise || key_in(item, "otherwise") != NULL;
        note.is_faulty = note.is_faulty || key_in(item, "when") == NULL;
    }
    *VECTOR_ADD(&loader->eithers, loader->arena, struct either_note) = note;
    work_adopt(loader, work, from);
}

static const struct key_entry either_keys[] = {
    {"either", true, 0, either_list},
};
const struct key_map either_map = KEY_MAP("either", "an either", either_keys);

/* --- repeats ------------------------------------------------------------------------------------ */

enum { REPEATS_MAX = 1000 };

static void repeat_name(struct loader *loader, void *object, const struct yaml_node *key)
{
    read_name(loader, key, &((struct work_reader *)object)->work->title);
}

static void repeat_times(struct loader *loader, void *object, const struct yaml_node *key)
{
    read_whole(loader, key, 1, REPEATS_MAX, &((struct work_reader *)object)->work->times);
}

static void repeat_at_most(struct loader *loader, void *object, const struct yaml_node *key)
{
    read_whole(loader, key, 1, REPEATS_MAX, &((struct work_reader *)object)->work->at_most);
}

static void repeat_until(struct loader *loader, void *object, const struct yaml_node *key)
{
    truth_later(loader, key, &((struct work_reader *)object)->work->until);
}

static const struct key_entry repeat_keys[] = {
    {"at_most", false, 0, repeat_at_most}, {"repeat", true, 0, repeat_name},
    {"steps", true, 2, section_steps},     {"times", false, 0, repeat_times},
    {"until", false, 1, repeat_until},
};
const struct key_map repeat_map = KEY_MAP("repeat", "a repeat", repeat_keys);

static void check_bounds(struct loader *loader, const struct yaml_node *node,
                         const struct yaml_node *key)
{
    const struct yaml_node *times = key_in(node, "times"), *until = key_in(node, "until");
    const struct yaml_node *at_most = key_in(node, "at_most");
    if (times != NULL && (until != NULL || at_most != NULL))
        report(loader->found, FINDING_KEYS_EXCLUDE, times->place, times->text,
               until != NULL ? until->text : at_most->text);
    else if (times == NULL && (until == NULL || at_most == NULL))
        report(loader->found, FINDING_REPEAT_WITHOUT_END, key->place);
}

static void read_repeat(struct loader *loader, const struct yaml_node *node,
                        const struct yaml_node *key, struct work *parent)
{
    struct work *work = work_new(loader, WORK_REPEAT, key->next->place, parent);
    struct work_reader reader = {.work = work, .map = node};
    if (loader->is_away)
        report(loader->found, FINDING_NOT_IN_AWAY, key->place, key->text);
    deepen(loader, work);
    check_bounds(loader, node, key);
    work_read(loader, &repeat_map, &reader, NULL);
}

/* --- followed procedures ------------------------------------------------------------------------ */

static void follow_name(struct loader *loader, void *object, const struct yaml_node *key)
{
    read_name(loader, key, &((struct work_reader *)object)->work->followed);
}

static void follow_as(struct loader *loader, void *object, const struct yaml_node *key)
{
    read_name(loader, key, &((struct work_reader *)object)->work->as);
}

static const struct key_entry follow_keys[] = {
    {"as", false, 0, follow_as},
    {"follow", true, 0, follow_name},
};
const struct key_map follow_map = KEY_MAP("follow", "a follow", follow_keys);

/* "a, b, a", outermost first; empty if it follows nothing that follows it. */
static struct text circle_to(struct loader *loader, struct text procedure)
{
    struct text names[FOLLOW_DEPTH_MAX + 2];
    size_t count = 0;
    bool is_circle = false;
    names[FOLLOW_DEPTH_MAX + 1 - count++] = procedure;
    for (const struct piece *at = loader->piece; at != NULL && !is_circle; at = at->caller) {
        names[FOLLOW_DEPTH_MAX + 1 - count++] = at->procedure;
        is_circle = text_equal(at->procedure, procedure);
    }
    if (!is_circle)
        return (struct text){0};
    return text_join(loader->arena, names + FOLLOW_DEPTH_MAX + 2 - count, count,
                     TEXT(" follows "));
}

static const struct source *fetch_followed(struct loader *loader, const struct work *work)
{
    struct text name = work->followed;
    struct text circle = circle_to(loader, name);
    if (circle.length > 0) {
        report(loader->found, FINDING_FOLLOWS_ITSELF, work->place, circle);
        return NULL;
    }
    if (loader->piece->depth == FOLLOW_DEPTH_MAX) {
        report(loader->found, FINDING_FOLLOWED_TOO_DEEP, work->place,
               text_number(loader->arena, FOLLOW_DEPTH_MAX));
        return NULL;
    }
    const struct source *source =
        loader->shelf.fetch == NULL ? NULL : loader->shelf.fetch(loader->shelf.self, name);
    if (source == NULL) {
        struct text near = loader->shelf.nearest == NULL
                               ? (struct text){0}
                               : loader->shelf.nearest(loader->shelf.self, name);
        report(loader->found, FINDING_PROCEDURE_UNKNOWN, work->place, name,
               did_you_mean(loader, near));
    }
    return source;
}

static void expand(struct loader *loader, struct work *work, const struct source *source,
                   struct text step_prefix)
{
    struct piece *piece = arena_new(loader->arena, struct piece);
    piece->source = source;
    piece->procedure = work->followed;
    piece->step_prefix = step_prefix;
    piece->name_prefix = loader->piece->name_prefix;
    if (work->as.length > 0)
        piece->name_prefix =
            text_fill(loader->arena, "{}{}.", loader->piece->name_prefix, work->as);
    piece->caller = loader->piece;
    piece->depth = loader->piece->depth + 1;
    const struct piece *outer = loader->piece;
    struct work *outer_work = loader->work;
    loader->piece = piece;
    loader->work = work;
    *VECTOR_ADD(&loader->follows, loader->arena, struct follow_note) =
        (struct follow_note){source, work->place};
    const struct yaml_node *root = read_root(loader, source, FORM_PROCEDURE);
    if (root != NULL)
        read_procedure(loader, root, NULL);
    loader->piece = outer;
    loader->work = outer_work;
}

static void read_follow(struct loader *loader, const struct yaml_node *node,
                        const struct yaml_node *key, struct work *parent)
{
    struct work *work = work_new(loader, WORK_FOLLOW, key->next->place, parent);
    struct work_reader reader = {.work = work, .map = node};
    work_read(loader, &follow_map, &reader, NULL);
    if (work->followed.length == 0)
        return;
    struct text name = work->as.length > 0 ? work->as : work->followed;
    struct text prefix = text_fill(loader->arena, "{}{}.", loader->piece->step_prefix, name);
    const struct source *source = fetch_followed(loader, work);
    if (source == NULL)
        return;
    int earlier = name_table_find(&loader->prefix_table, (struct text){0}, prefix);
    if (earlier != NAME_ABSENT) {
        report(loader->found, FINDING_FOLLOWED_TWICE, work->place, name);
        report(loader->found, FINDING_FIRST_GIVEN_HERE,
               (*VECTOR_AT(loader->works, struct work *, earlier))->place, name);
        return;
    }
    name_table_add(&loader->prefix_table, loader->arena, prefix, work->id);
    expand(loader, work, source, prefix);
}

/* --- lists of work ------------------------------------------------------------------------------ */

struct list_reader {
    struct work *parent;  /* of the list */
    struct work *heading; /* the section whose steps follow it in the list, or NULL */
    size_t siblings;      /* of the heading begin there */
};

static void close_heading(struct loader *loader, struct list_reader *reader)
{
    if (reader->heading != NULL)
        work_adopt(loader, reader->heading, reader->siblings);
    reader->heading = NULL;
}

static void list_section(struct loader *loader, struct list_reader *reader,
                         const struct yaml_node *node, const struct yaml_node *key)
{
    close_heading(loader, reader);
    struct work *work = work_new(loader, WORK_SECTION, key->next->place, reader->parent);
    read_section(loader, node, key, work);
    if (key_in(node, "steps") == NULL) {
        reader->heading = work;
        reader->siblings = loader->siblings.count;
    }
}

static void read_item(struct loader *loader, struct list_reader *reader,
                      const struct yaml_node *node)
{
    struct work *parent = reader->heading != NULL ? reader->heading : reader->parent;
    const struct yaml_node *key;
    if ((key = key_in(node, "step")) != NULL) {
        read_step(loader, node, key, parent);
    } else if ((key = key_in(node, "section")) != NULL) {
        list_section(loader, reader, node, key);
    } else if ((key = key_in(node, "either")) != NULL) {
        struct work_reader either = {.map = node};
        either.work = work_new(loader, WORK_EITHER, key->place, parent);
        work_read(loader, &either_map, &either, NULL);
    } else if ((key = key_in(node, "repeat")) != NULL) {
        read_repeat(loader, node, key, parent);
    } else if ((key = key_in(node, "follow")) != NULL) {
        read_follow(loader, node, key, parent);
    } else {
        report(loader->found, FINDING_WORK_UNKNOWN, node->place);
    }
}

void read_work_list(struct loader *loader, const struct yaml_node *key, struct work *parent)
{
    if (!wants_shape(loader, key, SHAPE_LIST))
        return;
    if (key->next->count == 0)
        report(loader->found, FINDING_LIST_EMPTY, key->next->place, key->text);
    struct list_reader reader = {.parent = parent};
    size_t from = loader->siblings.count;
    for (const struct yaml_node *item = key->next->first; item != NULL; item = item->next)
        if (!item->is_faulty)
            read_item(loader, &reader, item);
    close_heading(loader, &reader);
    work_adopt(loader, parent, from);
}

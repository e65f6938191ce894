#include "procedure/loading.h"

/* Conditions, wherever they are declared, and the safety library. */

/* --- conditions -------------------------------------------------------------------------------- */

struct condition_reader {
    struct condition *condition;
    const struct yaml_node *map;
    bool is_again; /* it was declared before: what is not repeated stands */
};

static void condition_each(struct loader *loader, void *object, const struct yaml_node *key)
{
    struct condition_reader *reader = object;
    struct text name;
    if (read_name(loader, key, &name))
        reader->condition->index = index_number(loader, name, key->next->place);
}

static void condition_ask(struct loader *loader, void *object, const struct yaml_node *key)
{
    struct condition_reader *reader = object;
    struct condition *condition = reader->condition;
    unsigned long long loops = loader->loops;
    loader->loops = condition->index == INDEX_NONE ? 0 : 1ULL << condition->index;
    condition->has_question = true;
    read_question_ask(loader, key, &condition->question);
    read_answers_wanted(loader, reader->map, &condition->question);
    if (!reader->is_again)
        key_wants(loader, reader->map, key, "expect");
    loader->loops = loops;
}

static void condition_expect(struct loader *loader, void *object, const struct yaml_node *key)
{
    const struct condition_reader *reader = object;
    if (!reader->is_again)
        key_wants(loader, reader->map, key, "ask");
}

static void condition_at_start(struct loader *loader, void *object, const struct yaml_node *key)
{
    static const char *const words[] = {"ask", NULL};
    unsigned which;
    struct condition_reader *reader = object;
    reader->condition->asked_at_start = read_word(loader, key, words, &which);
    if (!reader->is_again && key_in(reader->map, "ask") == NULL)
        report(loader->found, FINDING_LAPSES_UNASKED, key->place, reader->condition->name);
}

static void condition_lapses(struct loader *loader, void *object, const struct yaml_node *key)
{
    struct condition_reader *reader = object;
    struct text text;
    reader->condition->lapses = true;
    if (read_text(loader, key, &text))
        read_amount(loader, key->next, loader->kinds.time, &reader->condition->lapses_after);
    if (!reader->is_again && key_in(reader->map, "ask") == NULL)
        report(loader->found, FINDING_LAPSES_UNASKED, key->place, reader->condition->name);
}

static void condition_restore(struct loader *loader, void *object, const struct yaml_node *key)
{
    read_text(loader, key, &((struct condition_reader *)object)->condition->restore);
}

static void condition_source(struct loader *loader, void *object, const struct yaml_node *key)
{
    read_text(loader, key, &((struct condition_reader *)object)->condition->source);
}

static void add_later(struct loader *loader, enum addition_to to, unsigned owner,
                      const struct yaml_node *key)
{
    struct addition *addition = VECTOR_ADD(&loader->additions, loader->arena, struct addition);
    *addition = (struct addition){to, owner, key};
}

static void condition_requires(struct loader *loader, void *object, const struct yaml_node *key)
{
    add_later(loader, ADD_REQUIRES, ((struct condition_reader *)object)->condition->id, key);
}

static void condition_voids(struct loader *loader, void *object, const struct yaml_node *key)
{
    add_later(loader, ADD_VOIDS, ((struct condition_reader *)object)->condition->id, key);
}

static const struct key_entry condition_keys[] = {
    {"ask", false, 1, condition_ask},
    {"at_start", false, 1, condition_at_start},
    {"each", false, 0, condition_each},
    {"expect", false, 1, condition_expect},
    {"lapses_after", false, 1, condition_lapses},
    {"otherwise", false, 1, condition_expect},
    {"requires", false, 1, condition_requires},
    {"restore", false, 1, condition_restore},
    {"source", false, 1, condition_source},
    {"voids", false, 1, condition_voids},
};
const struct key_map condition_map = KEY_MAP("condition", "a condition", condition_keys);

static struct condition *condition_at(const struct loader *loader, int id)
{
    return *VECTOR_AT(loader->conditions, struct condition *, id);
}

static bool question_alike(const struct question *a, const struct question *b)
{
    if (a->any_text != b->any_text || a->expected_count != b->expected_count ||
        a->choices.count != b->choices.count || !text_equal(a->ask.written, b->ask.written))
        return false;
    for (size_t i = 0; i < a->choices.count; i++)
        if (!text_equal(a->choices.texts[i], b->choices.texts[i]))
            return false;
    return true;
}

static bool lapse_alike(const struct condition *a, const struct condition *b)
{
    return a->lapses == b->lapses && !(a->lapses_after < b->lapses_after) &&
           !(a->lapses_after > b->lapses_after);
}

static bool condition_alike(const struct condition *a, const struct condition *b)
{
    return question_alike(&a->question, &b->question) && text_equal(a->restore, b->restore) &&
           a->index == b->index && lapse_alike(a, b) && a->asked_at_start == b->asked_at_start;
}

static bool is_no_precaution(const struct loader *loader, struct text name, struct text *reason)
{
    for (size_t i = 0; i < loader->no_precautions.count; i++) {
        const struct no_precaution *no =
            VECTOR_AT(loader->no_precautions, struct no_precaution, i);
        if (text_equal(no->name, name)) {
            *reason = no->reason;
            return true;
        }
    }
    return false;
}

static struct condition *condition_new(struct loader *loader, const struct yaml_node *key)
{
    struct condition *condition = arena_new(loader->arena, struct condition);
    condition->id = (unsigned)loader->conditions.count;
    condition->name = key->text;
    condition->place = key->place;
    condition->index = INDEX_NONE;
    return condition;
}

/* Reads a declaration aside, to be compared with the earlier one. */
static struct condition *condition_aside(struct loader *loader, const struct yaml_node *key)
{
    size_t additions = loader->additions.count;
    struct condition *again = condition_new(loader, key);
    struct condition_reader reader = {again, key->next, true};
    keys_read(loader, &condition_map, key->next, key, &reader);
    loader->additions.count = additions;
    return again;
}

static void declare_again(struct loader *loader, const struct yaml_node *key, int earlier)
{
    const struct condition_note *note =
        VECTOR_AT(loader->condition_notes, struct condition_note, earlier);
    const struct condition *again = condition_aside(loader, key);
    const struct condition *first = condition_at(loader, earlier);
    bool is_alike = note->declaration != NULL ? yaml_alike(note->declaration, key->next)
                                              : condition_alike(first, again);
    if (is_alike)
        return;
    report(loader->found, FINDING_DECLARED_UNALIKE, key->place, key->text, TEXT("a condition"));
    report(loader->found, FINDING_FIRST_GIVEN_HERE, first->place, key->text);
}

/* False when there is no room for one more. */
static bool condition_add(struct loader *loader, const struct yaml_node *key)
{
    if (loader->conditions.count == CONDITIONS_MAX) {
        report(loader->found, FINDING_TOO_MANY, key->place,
               text_number(loader->arena, CONDITIONS_MAX), TEXT("conditions"));
        return false;
    }
    struct condition *condition = condition_new(loader, key);
    name_table_add(&loader->condition_table, loader->arena, key->text, condition->id);
    *VECTOR_ADD(&loader->conditions, loader->arena, struct condition *) = condition;
    VECTOR_ADD(&loader->condition_notes, loader->arena, struct condition_note)->declaration =
        key->next;
    struct condition_reader reader = {condition, key->next, false};
    keys_read(loader, &condition_map, key->next, key, &reader);
    return true;
}

void read_conditions(struct loader *loader, const struct yaml_node *key)
{
    if (!wants_shape(loader, key, SHAPE_MAP))
        return;
    for (const struct yaml_node *at = key->next->first; at != NULL; at = at->next->next) {
        struct text reason;
        if (!check_name(loader, at))
            continue;
        int earlier = name_table_find(&loader->condition_table, (struct text){0}, at->text);
        if (earlier != NAME_ABSENT)
            declare_again(loader, at, earlier);
        else if (is_no_precaution(loader, at->text, &reason))
            report(loader->found, FINDING_NO_PRECAUTION, at->place, at->text, reason);
        else if (!condition_add(loader, at))
            return;
    }
}

int condition_find(struct loader *loader, struct text name, struct place place)
{
    int id = name_table_find(&loader->condition_table, (struct text){0}, name);
    struct text reason;
    if (id != NAME_ABSENT)
        return id;
    if (is_no_precaution(loader, name, &reason))
        report(loader->found, FINDING_NO_PRECAUTION, place, name, reason);
    else
        report(loader->found, FINDING_CONDITION_UNKNOWN, place, name,
               nearest_of(loader, &loader->condition_table, name));
    return NAME_ABSENT;
}

/* --- a library behind the one that ships ------------------------------------------------------- */

static void unalike(struct loader *loader, const struct yaml_node *key, struct text name)
{
    report(loader->found, FINDING_LIBRARY_UNALIKE, key->place, name);
}

static void condition_tighten(struct loader *loader, const struct yaml_node *key, int id)
{
    const struct condition *first = condition_at(loader, id);
    const struct condition *again = condition_aside(loader, key);
    if (key->next->shape != SHAPE_MAP)
        return;
    for (const struct yaml_node *at = key->next->first; at != NULL; at = at->next->next) {
        struct text word = at->text;
        bool is_alike = true;
        if (text_equal(word, TEXT("requires")))
            add_later(loader, ADD_REQUIRES, (unsigned)id, at);
        else if (text_equal(word, TEXT("voids")))
            add_later(loader, ADD_VOIDS, (unsigned)id, at);
        else if (text_equal(word, TEXT("restore")))
            is_alike = text_equal(first->restore, again->restore);
        else if (text_equal(word, TEXT("each")))
            is_alike = first->index == again->index;
        else if (text_equal(word, TEXT("lapses_after")))
            is_alike = lapse_alike(first, again);
        else if (text_equal(word, TEXT("at_start")))
            is_alike = first->asked_at_start == again->asked_at_start;
        else if (text_equal(word, TEXT("source")))
            is_alike = text_equal(first->source, again->source);
        else if (text_equal(word, TEXT("ask")))
            is_alike = question_alike(&first->question, &again->question);
        else if (text_equal(word, TEXT("expect")) || text_equal(word, TEXT("otherwise")))
            is_alike = key_in(key->next, "ask") != NULL; /* compared with its question */
        if (!is_alike)
            unalike(loader, at, key->text);
    }
}

/* --- activities -------------------------------------------------------------------------------- */

struct activity_reader {
    struct activity *activity;
    unsigned number;
};

static const char *const signal_words[] = {"notice", "caution", "warning", "danger", NULL};

const char *signal_word(enum signal signal)
{
    return signal_words[signal];
}

static void activity_signal(struct loader *loader, void *object, const struct yaml_node *key)
{
    unsigned which;
    if (read_word(loader, key, signal_words, &which))
        ((struct activity_reader *)object)->activity->signal = (enum signal)which;
}

static void activity_hazard(struct loader *loader, void *object, const struct yaml_node *key)
{
    read_text(loader, key, &((struct activity_reader *)object)->activity->hazard);
}

static void activity_harm(struct loader *loader, void *object, const struct yaml_node *key)
{
    read_text(loader, key, &((struct activity_reader *)object)->activity->harm);
}

static void activity_source(struct loader *loader, void *object, const struct yaml_node *key)
{
    read_text(loader, key, &((struct activity_reader *)object)->activity->source);
}

static void activity_refused(struct loader *loader, void *object, const struct yaml_node *key)
{
    read_yes_no(loader, key, &((struct activity_reader *)object)->activity->is_refused);
}

static void activity_reason(struct loader *loader, void *object, const struct yaml_node *key)
{
    read_text(loader, key, &((struct activity_reader *)object)->activity->reason);
}

static void activity_needs(struct loader *loader, void *object, const struct yaml_node *key)
{
    add_later(loader, ADD_ACTIVITY_NEEDS, ((struct activity_reader *)object)->number, key);
}

static void activity_forbids(struct loader *loader, void *object, const struct yaml_node *key)
{
    add_later(loader, ADD_ACTIVITY_FORBIDS, ((struct activity_reader *)object)->number, key);
}

static void activity_clears(struct loader *loader, void *object, const struct yaml_node *key)
{
    add_later(loader, ADD_ACTIVITY_CLEARS, ((struct activity_reader *)object)->number, key);
}

static const struct key_entry activity_keys[] = {
    {"clears", false, 1, activity_clears},   {"forbids", false, 1, activity_forbids},
    {"harm", false, 0, activity_harm},       {"hazard", false, 0, activity_hazard},
    {"needs", false, 1, activity_needs},     {"reason", false, 0, activity_reason},
    {"refused", false, 0, activity_refused}, {"signal", false, 0, activity_signal},
    {"source", false, 0, activity_source},
};
const struct key_map activity_map = KEY_MAP("activity", "an activity", activity_keys);

static void activity_add(struct loader *loader, const struct yaml_node *key)
{
    struct activity *activity = arena_new(loader->arena, struct activity);
    activity->name = key->text;
    activity->place = key->place;
    unsigned number = (unsigned)loader->activities.count;
    name_table_add(&loader->activity_table, loader->arena, key->text, number);
    *VECTOR_ADD(&loader->activities, loader->arena, struct activity *) = activity;
    struct activity_reader reader = {activity, number};
    keys_read(loader, &activity_map, key->next, key, &reader);
    static const char *const wanted[] = {"signal", "hazard"};
    for (size_t i = 0; i < 2 && key->next->shape == SHAPE_MAP; i++)
        if (key_in(key->next, wanted[i]) == NULL)
            report(loader->found, FINDING_KEY_MISSING, key->place, TEXT("an activity"),
                   text_from(wanted[i]));
}

static void activity_tighten(struct loader *loader, const struct yaml_node *key, int number)
{
    const struct activity *first = *VECTOR_AT(loader->activities, struct activity *, number);
    struct activity again = *first;
    struct activity_reader reader = {&again, (unsigned)number};
    keys_read(loader, &activity_map, key->next, key, &reader);
    if (key->next->shape != SHAPE_MAP)
        return;
    for (const struct yaml_node *at = key->next->first; at != NULL; at = at->next->next) {
        struct text word = at->text;
        bool is_alike = true;
        if (text_equal(word, TEXT("signal")))
            is_alike = first->signal == again.signal;
        else if (text_equal(word, TEXT("hazard")))
            is_alike = text_equal(first->hazard, again.hazard);
        else if (text_equal(word, TEXT("harm")))
            is_alike = text_equal(first->harm, again.harm);
        else if (text_equal(word, TEXT("refused")))
            is_alike = first->is_refused == again.is_refused;
        else if (text_equal(word, TEXT("reason")))
            is_alike = text_equal(first->reason, again.reason);
        else if (text_equal(word, TEXT("source")))
            is_alike = text_equal(first->source, again.source);
        if (!is_alike)
            unalike(loader, at, key->text);
    }
}

/* --- names of conditions, once all are known --------------------------------------------------- */

static void additions_read(struct loader *loader, const struct yaml_node *key,
                           const unsigned **ids, size_t *count)
{
    const struct yaml_node *item = NULL;
    size_t given = read_items(loader, key, &item);
    unsigned *all = arena_array(loader->arena, unsigned, *count + given);
    if (*count > 0)
        memcpy(all, *ids, *count * sizeof *all);
    for (size_t i = 0; i < given; i++, item = item->next) {
        struct text name;
        int id = item_name(loader, key, item, &name) ? condition_find(loader, name, item->place)
                                                     : NAME_ABSENT;
        bool is_new = id != NAME_ABSENT;
        for (size_t k = 0; k < *count && is_new; k++)
            is_new = all[k] != (unsigned)id;
        if (is_new)
            all[(*count)++] = (unsigned)id;
    }
    *ids = all;
}

/* Another file cannot let an activity clear more: that would take a precaution, or what is owed, away
 * without anybody being asked.  Nor can a new activity of its own let what is owed to another
 * file's condition go. */
static void clears_read(struct loader *loader, const struct yaml_node *key,
                        struct activity *owner)
{
    size_t before = owner->clears_count;
    additions_read(loader, key, &owner->clears, &owner->clears_count);
    if (owner->place.source != key->place.source && owner->clears_count > before)
        unalike(loader, key, owner->name);
    for (size_t i = before; i < owner->clears_count; i++) {
        const struct condition *cleared = condition_at(loader, (int)owner->clears[i]);
        if (owner->place.source == key->place.source && cleared->restore.length > 0 &&
            cleared->place.source != key->place.source)
            unalike(loader, key, cleared->name);
    }
}

void additions_resolve(struct loader *loader)
{
    for (size_t i = 0; i < loader->additions.count; i++) {
        const struct addition *addition = VECTOR_AT(loader->additions, struct addition, i);
        if (addition->to <= ADD_VOIDS) {
            struct condition *owner = condition_at(loader, (int)addition->owner);
            if (addition->to == ADD_REQUIRES)
                additions_read(loader, addition->key, &owner->requires, &owner->requires_count);
            else
                additions_read(loader, addition->key, &owner->voids, &owner->voids_count);
            continue;
        }
        struct activity *owner =
            *VECTOR_AT(loader->activities, struct activity *, addition->owner);
        if (addition->to == ADD_ACTIVITY_NEEDS)
            additions_read(loader, addition->key, &owner->needs, &owner->needs_count);
        else if (addition->to == ADD_ACTIVITY_FORBIDS)
            additions_read(loader, addition->key, &owner->forbids, &owner->forbids_count);
        else
            clears_read(loader, addition->key, owner);
    }
}

/* --- the file ----------------------------------------------------------------------------------- */

static bool is_declared(const struct name_table *table, const struct yaml_node *key,
                        int *number)
{
    *number = name_table_find(table, (struct text){0}, key->text);
    return *number != NAME_ABSENT;
}

static void safety_conditions(struct loader *loader, void *object, const struct yaml_node *key)
{
    (void)object;
    if (!wants_shape(loader, key, SHAPE_MAP))
        return;
    for (const struct yaml_node *at = key->next->first; at != NULL; at = at->next->next) {
        int earlier;
        struct text reason;
        if (!check_name(loader, at))
            continue;
        if (is_declared(&loader->condition_table, at, &earlier))
            condition_tighten(loader, at, earlier);
        else if (is_no_precaution(loader, at->text, &reason))
            report(loader->found, FINDING_NO_PRECAUTION, at->place, at->text, reason);
        else if (!condition_add(loader, at))
            return;
    }
}

static void safety_activities(struct loader *loader, void *object, const struct yaml_node *key)
{
    (void)object;
    if (!wants_shape(loader, key, SHAPE_MAP))
        return;
    for (const struct yaml_node *at = key->next->first; at != NULL; at = at->next->next) {
        int earlier;
        if (!check_name(loader, at))
            continue;
        if (is_declared(&loader->activity_table, at, &earlier))
            activity_tighten(loader, at, earlier);
        else
            activity_add(loader, at);
    }
}

static void safety_no_precautions(struct loader *loader, void *object,
                                  const struct yaml_node *key)
{
    (void)object;
    if (!wants_shape(loader, key, SHAPE_MAP))
        return;
    for (const struct yaml_node *at = key->next->first; at != NULL; at = at->next->next) {
        struct no_precaution no = {at->text, {0}};
        if (!check_name(loader, at) || !read_text(loader, at, &no.reason))
            continue;
        int earlier;
        struct text reason;
        bool is_again = is_no_precaution(loader, at->text, &reason);
        if (is_declared(&loader->condition_table, at, &earlier) ||
            (is_again && !text_equal(reason, no.reason)))
            unalike(loader, at, at->text);
        else if (!is_again)
            *VECTOR_ADD(&loader->no_precautions, loader->arena, struct no_precaution) = no;
    }
}

static const struct key_entry safety_keys[] = {
    {"activities", false, 1, safety_activities},
    {"conditions", false, 0, safety_conditions},
    {"not_a_precaution", false, 0, safety_no_precautions},
};
const struct key_map safety_map = KEY_MAP("safety", "a safety library", safety_keys);

static void note_dangers(struct loader *loader)
{
    for (size_t i = 0; i < loader->activities.count; i++) {
        const struct activity *activity = *VECTOR_AT(loader->activities, struct activity *, i);
        if (activity->signal != SIGNAL_DANGER)
            continue;
        for (size_t k = 0; k < activity->needs_count; k++)
            VECTOR_AT(loader->condition_notes, struct condition_note, activity->needs[k])
                ->danger = activity->name;
    }
}

const struct safety_library *safety_load(const struct source *const *sources, size_t count,
                                         struct diagnostics *found, struct arena *arena)
{
    struct loader loader = loader_begin(found, arena);
    for (size_t i = 0; i < count; i++) {
        struct piece *piece = arena_new(arena, struct piece);
        piece->source = sources[i];
        loader.piece = piece;
        const struct yaml_node *root = read_root(&loader, sources[i], FORM_SAFETY);
        if (root != NULL)
            keys_read(&loader, &safety_map, root, NULL, NULL);
    }
    additions_resolve(&loader);
    expressions_compile(&loader);
    note_dangers(&loader);
    conditions_check(&loader);
    struct safety_library *library = arena_new(arena, struct safety_library);
    library->sources = sources;
    library->source_count = count;
    library->index_names = loader.indexes.items;
    library->index_count = loader.indexes.count;
    library->conditions = (const struct condition *const *)loader.conditions.items;
    library->condition_count = loader.conditions.count;
    library->activities = (const struct activity *const *)loader.activities.items;
    library->activity_count = loader.activities.count;
    library->no_precautions = loader.no_precautions.items;
    library->no_precaution_count = loader.no_precautions.count;
    return library;
}

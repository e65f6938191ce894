#include "procedure/loading.h"

/* How a value is typed in, limits, and gauges. */

/* --- limits ----------------------------------------------------------------------------------- */

struct limits_reader {
    struct limits *limits;
    enum want want;
    struct kind kind;
    const struct expression *const *like;
    const char *what;
};

static void limit_later(struct loader *loader, const struct limits_reader *reader,
                        const struct yaml_node *key, const struct yaml_node *value,
                        const struct expression **target)
{
    struct pending *pending = expression_later(loader, key, value, target);
    if (pending == NULL)
        return;
    pending->want = reader->want;
    pending->kind = reader->kind;
    pending->like = reader->like;
    pending->what = reader->what;
}

static void read_between(struct loader *loader, const struct limits_reader *reader,
                         const struct yaml_node *key)
{
    if (!wants_shape(loader, key, SHAPE_LIST))
        return;
    const struct yaml_node *list = key->next;
    if (list->count != 2) {
        report(loader->found, FINDING_BETWEEN_WANTS_TWO, list->place);
        return;
    }
    limit_later(loader, reader, key, list->first, &reader->limits->at_least);
    limit_later(loader, reader, key, list->first->next, &reader->limits->at_most);
    VECTOR_ADD(&loader->limits, loader->arena, struct limit_note)->limits = reader->limits;
}

static void limits_at_least(struct loader *loader, void *object, const struct yaml_node *key)
{
    struct limits_reader *reader = object;
    limit_later(loader, reader, key, key->next, &reader->limits->at_least);
}

static void limits_at_most(struct loader *loader, void *object, const struct yaml_node *key)
{
    struct limits_reader *reader = object;
    limit_later(loader, reader, key, key->next, &reader->limits->at_most);
}

static void limits_between(struct loader *loader, void *object, const struct yaml_node *key)
{
    read_between(loader, object, key);
}

static const struct key_entry limits_keys[] = {
    {"at_least", false, 0, limits_at_least},
    {"at_most", false, 0, limits_at_most},
    {"between", false, 0, limits_between},
};
const struct key_map limits_map = KEY_MAP("limits", "a limit", limits_keys);

void read_limits(struct loader *loader, const struct yaml_node *map, enum want want,
                 struct kind kind, const struct expression *const *like, struct limits *limits)
{
    struct limits_reader reader = {limits, want, kind, like, "the limit"};
    const struct yaml_node *value = map->next;
    keys_read(loader, &limits_map, value, map, &reader);
    if (value->shape != SHAPE_MAP || value->is_faulty)
        return;
    const struct yaml_node *between = key_in(value, "between");
    const struct yaml_node *least = key_in(value, "at_least"), *most = key_in(value, "at_most");
    if (between == NULL && least == NULL && most == NULL)
        report(loader->found, FINDING_LIMIT_SAYS_NOTHING, map->place, map->text);
    if (between != NULL && (least != NULL || most != NULL))
        report(loader->found, FINDING_KEYS_EXCLUDE, between->place, between->text,
               least != NULL ? least->text : most->text);
    if (between == NULL && least != NULL && most != NULL)
        VECTOR_ADD(&loader->limits, loader->arena, struct limit_note)->limits = limits;
}

/* --- fields ----------------------------------------------------------------------------------- */

struct field_reader {
    struct field *field;
    const struct yaml_node *form; /* the key that said what it is */
    bool is_broken;               /* its form was reported */
};

static bool says_form(struct loader *loader, struct field_reader *reader,
                      const struct yaml_node *key)
{
    if (reader->form != NULL) {
        report(loader->found, FINDING_KEYS_EXCLUDE, key->place, key->text, reader->form->text);
        return false;
    }
    reader->form = key;
    return true;
}

static void field_unit(struct loader *loader, void *object, const struct yaml_node *key)
{
    struct field_reader *reader = object;
    if (says_form(loader, reader, key) && !read_unit(loader, key, &reader->field->unit))
        reader->is_broken = true;
}

static const struct gauge *gauge_at(const struct loader *loader, int number)
{
    return *VECTOR_AT(loader->gauges, struct gauge *, number);
}

static int find_gauge(struct loader *loader, const struct yaml_node *key)
{
    struct text name;
    if (!read_name(loader, key, &name))
        return GAUGE_NONE;
    int number = name_table_find(&loader->gauge_table, (struct text){0}, name);
    if (number == NAME_ABSENT)
        report(loader->found, FINDING_GAUGE_UNKNOWN, key->next->place, name,
               nearest_of(loader, &loader->gauge_table, name));
    return number == NAME_ABSENT ? GAUGE_NONE : number;
}

int read_gauge_name(struct loader *loader, const struct yaml_node *key)
{
    return find_gauge(loader, key);
}

static void field_gauge(struct loader *loader, void *object, const struct yaml_node *key)
{
    struct field_reader *reader = object;
    if (!says_form(loader, reader, key))
        return;
    reader->field->gauge = find_gauge(loader, key);
    if (reader->field->gauge == GAUGE_NONE)
        reader->is_broken = true;
    else
        reader->field->unit = gauge_at(loader, reader->field->gauge)->unit;
}

static void field_choices(struct loader *loader, void *object, const struct yaml_node *key)
{
    struct field_reader *reader = object;
    if (!says_form(loader, reader, key))
        return;
    reader->field->form = FIELD_CHOICES;
    reader->is_broken = true;
    if (!wants_shape(loader, key, SHAPE_LIST))
        return;
    const struct yaml_node *list = key->next;
    if (list->count == 0) {
        report(loader->found, FINDING_LIST_EMPTY, list->place, key->text);
        return;
    }
    struct text *texts = arena_array(loader->arena, struct text, list->count);
    struct name_table said = {0};
    size_t count = 0;
    for (const struct yaml_node *item = list->first; item != NULL; item = item->next) {
        if (!item_text(loader, key, item, &texts[count]))
            continue;
        if (list->count > 1 &&
            name_table_find(&said, (struct text){0}, texts[count]) != NAME_ABSENT) {
            report(loader->found, FINDING_SAID_TWICE, item->place, texts[count]);
            continue;
        }
        name_table_add(&said, loader->arena, texts[count], 0);
        count++;
    }
    reader->is_broken = count == 0;
    reader->field->choices = (struct choices){count, texts};
}

static void field_text(struct loader *loader, void *object, const struct yaml_node *key)
{
    struct field_reader *reader = object;
    bool yes = false;
    if (!read_yes_no(loader, key, &yes)) {
        reader->is_broken = true;
        return;
    }
    if (yes && says_form(loader, reader, key))
        reader->field->form = FIELD_TEXT;
}

static void field_whole(struct loader *loader, void *object, const struct yaml_node *key)
{
    read_yes_no(loader, key, &((struct field_reader *)object)->field->is_whole);
}

enum { READINGS_MAX = 100 };

static void field_readings(struct loader *loader, void *object, const struct yaml_node *key)
{
    read_whole(loader, key, 1, READINGS_MAX, &((struct field_reader *)object)->field->readings);
}

static void field_use(struct loader *loader, void *object, const struct yaml_node *key)
{
    static const char *const words[] = {"mean", "median", "highest", "lowest", NULL};
    unsigned which;
    if (read_word(loader, key, words, &which))
        ((struct field_reader *)object)->field->use = (enum use_of_repeats)which;
}

static void field_again(struct loader *loader, void *object, const struct yaml_node *key)
{
    static const char *const words[] = {"replaces", "repeats", "adds", NULL};
    unsigned which;
    if (read_word(loader, key, words, &which))
        ((struct field_reader *)object)->field->again = (enum reading_again)which;
}

static void field_photo(struct loader *loader, void *object, const struct yaml_node *key)
{
    static const char *const words[] = {"optional", "required", NULL};
    unsigned which;
    if (read_word(loader, key, words, &which))
        ((struct field_reader *)object)->field->photo =
            which == 0 ? PHOTO_OPTIONAL : PHOTO_REQUIRED;
}

static void field_ask(struct loader *loader, void *object, const struct yaml_node *key)
{
    read_template(loader, key, key->next, &((struct field_reader *)object)->field->ask);
}

static void field_between(struct loader *loader, void *object, const struct yaml_node *key)
{
    struct field_reader *reader = object;
    struct field *field = reader->field;
    if (field->form != FIELD_QUANTITY) {
        report(loader->found, FINDING_KEYS_EXCLUDE, key->place, key->text, reader->form->text);
        return;
    }
    struct limits_reader limits = {.limits = &field->between, .what = "the plausible range"};
    if (field->unit != NULL) {
        limits.want = WANT_NUMBER;
        limits.kind = field->unit->kind;
    }
    read_between(loader, &limits, key);
}

static const struct key_entry reading_keys[] = {
    {"again", false, 1, field_again},       {"ask", false, 1, field_ask},
    {"between", false, 1, field_between},   {"choices", false, 0, field_choices},
    {"gauge", false, 0, field_gauge},       {"photo", false, 1, field_photo},
    {"readings", false, 1, field_readings}, {"text", false, 0, field_text},
    {"unit", false, 0, field_unit},         {"use", false, 1, field_use},
    {"whole", false, 1, field_whole},
};
const struct key_map reading_map = KEY_MAP("reading", "a reading", reading_keys);

/* What only numbers can have. */
static void check_number_keys(struct loader *loader, const struct yaml_node *map,
                              const struct field_reader *reader)
{
    static const char *const keys[] = {"whole", "use", "again"};
    if (reader->field->form == FIELD_QUANTITY || reader->form == NULL)
        return;
    for (size_t i = 0; i < 3; i++) {
        const struct yaml_node *key = key_in(map, keys[i]);
        bool is_harmless = i == 2 && reader->field->again != AGAIN_ADDS;
        if (key != NULL && !is_harmless)
            report(loader->found, FINDING_KEYS_EXCLUDE, key->place, key->text,
                   reader->form->text);
    }
}

bool read_field(struct loader *loader, const struct yaml_node *key, struct field *field)
{
    const struct yaml_node *value = key->next;
    field->gauge = GAUGE_NONE;
    field->readings = 1;
    if (value->is_faulty)
        return false;
    if (value->shape == SHAPE_TEXT && value->text.length > 0)
        return read_unit(loader, key, &field->unit);
    struct field_reader reader = {.field = field};
    bool is_empty = value->shape == SHAPE_TEXT && !value->is_quoted;
    unsigned errors = loader->found->count_by_severity[SEVERITY_ERROR];
    if (!is_empty)
        keys_read(loader, &reading_map, value, key, &reader);
    bool is_map = value->shape == SHAPE_MAP;
    if (is_map)
        check_number_keys(loader, value, &reader);
    bool is_silent = errors == loader->found->count_by_severity[SEVERITY_ERROR];
    if (is_silent && reader.form == NULL)
        report(loader->found, FINDING_FIELD_SAYS_NOTHING, key->place, key->text);
    return is_map && reader.form != NULL && !reader.is_broken;
}

static bool choices_alike(const struct choices *a, const struct choices *b)
{
    if (a->count != b->count)
        return false;
    for (size_t i = 0; i < a->count; i++)
        if (!text_equal(a->texts[i], b->texts[i]))
            return false;
    return true;
}

/* The question may be put in other words; what is meant by the answer may not differ. */
bool field_alike(const struct field *a, const struct field *b)
{
    return a->form == b->form && a->unit == b->unit && a->is_whole == b->is_whole &&
           a->gauge == b->gauge && a->readings == b->readings && a->use == b->use &&
           a->again == b->again && choices_alike(&a->choices, &b->choices);
}

struct type field_type(struct loader *loader, const struct field *field)
{
    struct type type = {.base = TYPE_TEXT, .index = INDEX_NONE};
    switch (field->form) {
    case FIELD_QUANTITY:
        type.base = TYPE_NUMBER;
        if (field->unit != NULL)
            type.kind = field->unit->kind;
        break;
    case FIELD_CHOICES: {
        struct choices *choices = arena_new(loader->arena, struct choices);
        *choices = field->choices;
        type.choices = choices;
        break;
    }
    case FIELD_TEXT:
        break;
    }
    return type;
}

/* --- gauges ------------------------------------------------------------------------------------ */

/* The kind of a difference of two such values: what a resolution or an error is. */
static struct kind step_kind(struct kind kind)
{
    if (kind.flavour == FLAVOUR_POINT)
        kind.flavour = FLAVOUR_NONE;
    return kind;
}

static bool read_step_amount(struct loader *loader, const struct yaml_node *value,
                             const struct unit *unit, double *si)
{
    struct quantity quantity;
    struct quantity_reading reading =
        quantity_read(value->text, NULL, loader->arena, &quantity);
    if (reading.flaw == QUANTITY_READ && kind_equal(quantity.unit->kind, unit->kind) &&
        unit->kind.flavour == FLAVOUR_POINT) {
        *si = unit_step_to_si(quantity.unit, quantity.number.value);
        return true;
    }
    return read_amount(loader, value, step_kind(unit->kind), si);
}

/* An error of 0 would make exact what nobody knows exactly; less than 0 is a slip of the hand. */
static bool is_above_zero(struct loader *loader, const struct yaml_node *value, double amount)
{
    if (amount < 0)
        report(loader->found, FINDING_NOT_A_QUANTITY, value->place, value->text,
               TEXT("it must not be below 0"));
    else if (!(amount > 0))
        report(loader->found, FINDING_NOT_ABOVE_ZERO, value->place, value->text);
    return amount > 0;
}

static void gauge_unit(struct loader *loader, void *object, const struct yaml_node *key)
{
    read_unit(loader, key, &((struct gauge *)object)->unit);
}

static void gauge_title(struct loader *loader, void *object, const struct yaml_node *key)
{
    read_text(loader, key, &((struct gauge *)object)->title);
}

static void gauge_resolution(struct loader *loader, void *object, const struct yaml_node *key)
{
    struct gauge *gauge = object;
    struct text text;
    if (read_text(loader, key, &text) && gauge->unit != NULL &&
        read_step_amount(loader, key->next, gauge->unit, &gauge->resolution))
        (void)is_above_zero(loader, key->next, gauge->resolution);
}

static bool read_ratio(struct text text, struct arena *arena, double *ratio)
{
    struct quantity quantity;
    if (quantity_read(text, NULL, arena, &quantity).flaw != QUANTITY_READ ||
        !kind_is_plain(quantity.unit->kind))
        return false;
    *ratio = quantity_si(&quantity);
    return true;
}

static void check_accuracy(struct loader *loader, const struct yaml_node *item,
                           const struct accuracy_term *term)
{
    bool is_part = term->form != ACCURACY_ABSOLUTE;
    if (!is_above_zero(loader, item, term->amount) || !is_part)
        return;
    if (term->amount > 1)
        report(loader->found, FINDING_ACCURACY_OVER_WHOLE, item->place, item->text);
    if (term->form == ACCURACY_OF_FULL_SCALE)
        (void)is_above_zero(loader, item, term->full_scale);
}

static void read_accuracy(struct loader *loader, const struct yaml_node *item,
                          const struct gauge *gauge, struct accuracy_term *term)
{
    struct text text = item->text;
    size_t of = text_find(text, TEXT(" of "));
    if (of < text.length) {
        struct yaml_node full = *item;
        full.text = text_trim(text_slice(text, of + 4, text.length));
        term->form = ACCURACY_OF_FULL_SCALE;
        if (!read_ratio(text_slice(text, 0, of), loader->arena, &term->amount))
            report(loader->found, FINDING_NOT_AN_ACCURACY, item->place, text);
        else if (read_step_amount(loader, &full, gauge->unit, &term->full_scale))
            check_accuracy(loader, item, term);
        return;
    }
    struct quantity quantity;
    if (quantity_read(text, NULL, loader->arena, &quantity).flaw != QUANTITY_READ) {
        report(loader->found, FINDING_NOT_AN_ACCURACY, item->place, text);
        return;
    }
    bool is_ratio = text_ends(text, TEXT("%")) && !kind_is_plain(gauge->unit->kind);
    term->form = is_ratio ? ACCURACY_OF_READING : ACCURACY_ABSOLUTE;
    if (is_ratio ? read_ratio(text, loader->arena, &term->amount)
                 : read_step_amount(loader, item, gauge->unit, &term->amount))
        check_accuracy(loader, item, term);
}

static void gauge_accuracy(struct loader *loader, void *object, const struct yaml_node *key)
{
    struct gauge *gauge = object;
    const struct yaml_node *item = NULL;
    size_t count = read_some(loader, key, &item);
    if (gauge->unit == NULL)
        return;
    struct accuracy_term *terms = arena_array(loader->arena, struct accuracy_term, count);
    gauge->accuracy = terms;
    gauge->accuracy_count = count;
    for (size_t i = 0; i < count; i++, item = item->next) {
        struct text text;
        if (item_text(loader, key, item, &text))
            read_accuracy(loader, item, gauge, &terms[i]);
    }
}

static void gauge_calibrated(struct loader *loader, void *object, const struct yaml_node *key)
{
    read_date(loader, key, &((struct gauge *)object)->calibrated);
}

static void gauge_due(struct loader *loader, void *object, const struct yaml_node *key)
{
    read_date(loader, key, &((struct gauge *)object)->due);
}

static const struct key_entry gauge_keys[] = {
    {"accuracy", false, 1, gauge_accuracy}, {"calibrated", false, 1, gauge_calibrated},
    {"due", false, 1, gauge_due},           {"resolution", false, 1, gauge_resolution},
    {"title", false, 1, gauge_title},       {"unit", true, 0, gauge_unit},
};
const struct key_map gauge_map = KEY_MAP("gauge", "a gauge", gauge_keys);

static bool gauge_alike(const struct gauge *a, const struct gauge *b)
{
    if (a->unit != b->unit || a->accuracy_count != b->accuracy_count ||
        a->resolution < b->resolution || a->resolution > b->resolution)
        return false;
    for (size_t i = 0; i < a->accuracy_count; i++) {
        const struct accuracy_term *x = &a->accuracy[i], *y = &b->accuracy[i];
        if (x->form != y->form || x->amount < y->amount || x->amount > y->amount ||
            x->full_scale < y->full_scale || x->full_scale > y->full_scale)
            return false;
    }
    return true;
}

static void add_gauge(struct loader *loader, const struct yaml_node *key, struct gauge *gauge)
{
    int earlier = name_table_find(&loader->gauge_table, (struct text){0}, gauge->name);
    if (earlier == NAME_ABSENT) {
        name_table_add(&loader->gauge_table, loader->arena, gauge->name,
                       (unsigned)loader->gauges.count);
        *VECTOR_ADD(&loader->gauges, loader->arena, struct gauge *) = gauge;
        return;
    }
    if (gauge_alike(gauge, gauge_at(loader, earlier)))
        return;
    report(loader->found, FINDING_DECLARED_UNALIKE, key->place, key->text, TEXT("a gauge"));
    report(loader->found, FINDING_FIRST_GIVEN_HERE, gauge_at(loader, earlier)->place,
           key->text);
}

static struct place place_of_key(const struct yaml_node *map, struct text key)
{
    for (const struct yaml_node *at = map->first; at != NULL; at = at->next->next)
        if (text_equal(at->text, key))
            return at->next->place;
    return map->place;
}

/* ISO 8601 dates stand in the order of their letters. */
static void check_due(struct loader *loader, const struct yaml_node *map,
                      const struct gauge *gauge)
{
    if (gauge->due.length > 0 && gauge->calibrated.length > 0 &&
        text_compare(gauge->due, gauge->calibrated) < 0)
        report(loader->found, FINDING_DUE_TOO_EARLY, place_of_key(map, TEXT("due")), gauge->due,
               gauge->calibrated);
}

static void check_step(struct loader *loader, const struct yaml_node *map,
                       const struct gauge *gauge)
{
    for (size_t i = 0; i < gauge->accuracy_count; i++) {
        double scale = gauge->accuracy[i].full_scale;
        if (scale > 0 && gauge->resolution > scale) {
            struct unit step = *gauge->unit;
            step.thousandths_offset_numerator = 0;
            report(loader->found, FINDING_STEP_OVER_SCALE,
                   place_of_key(map, TEXT("resolution")),
                   value_text(loader->arena, gauge->resolution, &step, 6),
                   value_text(loader->arena, scale, &step, 6));
            return;
        }
    }
}

void read_gauges(struct loader *loader, const struct yaml_node *key)
{
    if (!wants_shape(loader, key, SHAPE_MAP))
        return;
    for (const struct yaml_node *at = key->next->first; at != NULL; at = at->next->next) {
        struct gauge *gauge = arena_new(loader->arena, struct gauge);
        gauge->name = at->text;
        gauge->place = at->place;
        bool is_named = check_name(loader, at);
        keys_read(loader, &gauge_map, at->next, at, gauge);
        check_due(loader, at->next, gauge);
        check_step(loader, at->next, gauge);
        if (is_named)
            add_gauge(loader, at, gauge);
    }
}

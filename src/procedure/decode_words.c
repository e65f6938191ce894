#include "procedure/loading.h"

/* --- shapes ------------------------------------------------------------------------------ */

bool wants_shape(struct loader *loader, const struct yaml_node *key, enum yaml_shape shape)
{
    const struct yaml_node *value = key->next;
    if (value->is_faulty)
        return false;
    if (value->shape == shape)
        return true;
    report(loader->found, FINDING_WRONG_SHAPE, value->place, key->text,
           text_from(yaml_shape_name(shape)), text_from(yaml_shape_name(value->shape)));
    return false;
}

static bool is_plain_text(struct loader *loader, const struct yaml_node *key,
                          const struct yaml_node *value)
{
    if (value->is_faulty)
        return false;
    if (value->shape != SHAPE_TEXT) {
        report(loader->found, FINDING_WRONG_SHAPE, value->place, key->text, TEXT("a text"),
               text_from(yaml_shape_name(value->shape)));
        return false;
    }
    if (value->text.length == 0) {
        report(loader->found, FINDING_TEXT_EMPTY, value->place, key->text);
        return false;
    }
    return true;
}

size_t read_items(struct loader *loader, const struct yaml_node *key,
                  const struct yaml_node **first)
{
    const struct yaml_node *value = key->next;
    if (value->is_faulty)
        return 0;
    if (value->shape == SHAPE_MAP) {
        report(loader->found, FINDING_WRONG_SHAPE, value->place, key->text,
               TEXT("a text or a list"), TEXT("a map"));
        return 0;
    }
    *first = value->shape == SHAPE_TEXT ? value : value->first;
    return value->shape == SHAPE_TEXT ? 1 : value->count;
}

size_t read_some(struct loader *loader, const struct yaml_node *key,
                 const struct yaml_node **first)
{
    size_t count = read_items(loader, key, first);
    if (count == 0 && key->next->shape == SHAPE_LIST && !key->next->is_faulty)
        report(loader->found, FINDING_LIST_EMPTY, key->next->place, key->text);
    return count;
}

/* --- texts and names ------------------------------------------------------------------------ */

bool item_text(struct loader *loader, const struct yaml_node *key, const struct yaml_node *item,
               struct text *text)
{
    if (!is_plain_text(loader, key, item))
        return false;
    *text = item->text;
    return true;
}

bool read_text(struct loader *loader, const struct yaml_node *key, struct text *text)
{
    return item_text(loader, key, key->next, text);
}

bool is_name(struct text text)
{
    if (text.length == 0 || text.bytes[0] < 'a' || text.bytes[0] > 'z')
        return false;
    for (size_t i = 0; i < text.length; i++) {
        char c = text.bytes[i];
        if (!((c >= 'a' && c <= 'z') || (c >= '0' && c <= '9') || c == '_'))
            return false;
    }
    return true;
}

bool check_name(struct loader *loader, const struct yaml_node *node)
{
    if (is_name(node->text))
        return true;
    report(loader->found, FINDING_NOT_A_NAME, node->place, node->text);
    return false;
}

bool item_name(struct loader *loader, const struct yaml_node *key, const struct yaml_node *item,
               struct text *name)
{
    if (!is_plain_text(loader, key, item) || !check_name(loader, item))
        return false;
    *name = item->text;
    return true;
}

bool read_name(struct loader *loader, const struct yaml_node *key, struct text *name)
{
    return item_name(loader, key, key->next, name);
}

const struct text *read_texts(struct loader *loader, const struct yaml_node *key, size_t *count)
{
    const struct yaml_node *item = NULL;
    size_t given = read_items(loader, key, &item);
    struct text *texts = arena_array(loader->arena, struct text, given);
    *count = 0;
    for (size_t i = 0; i < given; i++, item = item->next)
        if (item_text(loader, key, item, &texts[*count]))
            ++*count;
    return texts;
}

/* --- words from a short list ---------------------------------------------------------------- */

bool read_word(struct loader *loader, const struct yaml_node *key, const char *const *words,
               unsigned *which)
{
    if (!is_plain_text(loader, key, key->next))
        return false;
    struct text known[8];
    unsigned count = 0;
    for (; words[count] != NULL; count++) {
        known[count] = text_from(words[count]);
        if (text_equal(known[count], key->next->text)) {
            *which = count;
            return true;
        }
    }
    struct text near = text_nearest(key->next->text, known, count);
    report(loader->found, FINDING_NOT_ONE_OF, key->next->place, key->next->text,
           text_join(loader->arena, known, count, TEXT(", ")), did_you_mean(loader, near));
    return false;
}

bool read_yes_no(struct loader *loader, const struct yaml_node *key, bool *yes)
{
    static const char *const words[] = {"yes", "no", "true", "false", NULL};
    unsigned which;
    if (!read_word(loader, key, words, &which))
        return false;
    *yes = which % 2 == 0;
    return true;
}

bool read_whole(struct loader *loader, const struct yaml_node *key, unsigned least,
                unsigned most, unsigned *number)
{
    if (!is_plain_text(loader, key, key->next))
        return false;
    struct text text = key->next->text;
    unsigned long long value = 0;
    bool is_whole = true;
    for (size_t i = 0; i < text.length && is_whole; i++) {
        is_whole = text.bytes[i] >= '0' && text.bytes[i] <= '9' && value <= most;
        value = 10 * value + (unsigned long long)(text.bytes[i] - '0');
    }
    if (!is_whole || value < least || value > most) {
        report(loader->found, FINDING_NOT_A_WHOLE_NUMBER, key->next->place, text,
               text_number(loader->arena, least), text_number(loader->arena, most));
        return false;
    }
    *number = (unsigned)value;
    return true;
}

/* --- dates, units, amounts ------------------------------------------------------------------ */

static bool digits_at(struct text text, size_t at, size_t count, unsigned *number)
{
    *number = 0;
    for (size_t i = at; i < at + count; i++) {
        if (i >= text.length || text.bytes[i] < '0' || text.bytes[i] > '9')
            return false;
        *number = 10 * *number + (unsigned)(text.bytes[i] - '0');
    }
    return true;
}

bool is_date(struct text text)
{
    unsigned year, month, day;
    if (text.length != 10 || text.bytes[4] != '-' || text.bytes[7] != '-' ||
        !digits_at(text, 0, 4, &year) || !digits_at(text, 5, 2, &month) ||
        !digits_at(text, 8, 2, &day) || month < 1 || month > 12)
        return false;
    static const unsigned char days[] = {31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31};
    bool is_leap = (year % 4 == 0 && year % 100 != 0) || year % 400 == 0;
    unsigned last = days[month - 1] + (month == 2 && is_leap ? 1U : 0U);
    return day >= 1 && day <= last;
}

bool read_date(struct loader *loader, const struct yaml_node *key, struct text *date)
{
    if (!read_text(loader, key, date))
        return false;
    if (is_date(*date))
        return true;
    report(loader->found, FINDING_NOT_A_DATE, key->next->place, *date);
    *date = (struct text){0};
    return false;
}

bool read_unit(struct loader *loader, const struct yaml_node *key, const struct unit **unit)
{
    if (!is_plain_text(loader, key, key->next))
        return false;
    *unit = unit_find(key->next->text);
    if (*unit == NULL)
        report(loader->found, FINDING_NOT_A_UNIT, key->next->place, key->next->text,
               did_you_mean(loader, unit_nearest(key->next->text)));
    return *unit != NULL;
}

static const char *flaw_in_words(enum quantity_flaw flaw)
{
    switch (flaw) {
    case QUANTITY_READ:
        return "";
    case QUANTITY_NOT_A_NUMBER:
        return "it does not begin with a number";
    case QUANTITY_UNIT_MISSING:
        return "it has no unit";
    case QUANTITY_UNIT_UNKNOWN:
        return "its unit is not known";
    case QUANTITY_COMMA_UNCLEAR:
        return "the comma may be a decimal comma or a thousand; write a point, or no comma";
    case QUANTITY_TOO_LARGE:
        return "the number is too large";
    case QUANTITY_TOO_SMALL:
        return "the number is too small; 0 is written 0";
    }
    return "";
}

bool read_amount(struct loader *loader, const struct yaml_node *value, struct kind kind,
                 double *si)
{
    struct quantity quantity;
    struct quantity_reading reading = quantity_read(
        value->text, kind_is_plain(kind) ? &unit_one : NULL, loader->arena, &quantity);
    if (reading.flaw == QUANTITY_UNIT_UNKNOWN) {
        struct text unit = text_slice(value->text, reading.unit_from, reading.unit_to);
        report(loader->found, FINDING_NOT_A_UNIT,
               yaml_place_in(value, reading.unit_from, reading.unit_to), unit,
               did_you_mean(loader, unit_nearest(unit)));
        return false;
    }
    if (reading.flaw != QUANTITY_READ) {
        report(loader->found, FINDING_NOT_A_QUANTITY, value->place, value->text,
               text_from(flaw_in_words(reading.flaw)));
        return false;
    }
    if (!kind_fits(quantity.unit->kind, kind)) {
        report(loader->found, FINDING_WRONG_KIND, value->place, value->text,
               kind_name(loader->arena, quantity.unit->kind), kind_name(loader->arena, kind));
        return false;
    }
    *si = quantity_si(&quantity);
    return true;
}

/* Months and years are not quantities: they are counted by the calendar. */
bool read_span(struct loader *loader, const struct yaml_node *key, struct span *span)
{
    struct text text;
    if (!read_text(loader, key, &text))
        return false;
    static const struct {
        const char *word;
        unsigned months;
    } words[] = {{"months", 1}, {"month", 1}, {"years", 12}, {"year", 12}};
    for (size_t i = 0; i < 4; i++) {
        struct text word = text_from(words[i].word);
        if (!text_ends(text, word))
            continue;
        struct text digits = text_trim(text_slice(text, 0, text.length - word.length));
        unsigned number = 0;
        if (digits.length == 0 || digits.length > 4 ||
            !digits_at(digits, 0, digits.length, &number))
            break;
        *span = (struct span){.is_given = true, .months = number * words[i].months};
        return true;
    }
    struct quantity quantity;
    struct quantity_reading reading = quantity_read(text, NULL, loader->arena, &quantity);
    if (reading.flaw != QUANTITY_READ || !kind_fits(quantity.unit->kind, loader->kinds.time) ||
        quantity_si(&quantity) < 0) {
        report(loader->found, FINDING_NOT_A_SPAN, key->next->place, text);
        return false;
    }
    *span = (struct span){.is_given = true, .seconds = quantity_si(&quantity)};
    return true;
}

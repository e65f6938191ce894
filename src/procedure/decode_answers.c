#include "procedure/loading.h"

#include <math.h>

/* Answers files: what a person would answer, by name. */

struct answers_reader {
    struct answers *answers;
};

/* NOLINTNEXTLINE(misc-no-recursion): as deep as the tree of the file */
static struct given given_from(struct loader *loader, const struct yaml_node *key,
                               const struct yaml_node *value)
{
    struct given given = {.text = value->text, .place = value->place};
    given.form = value->shape == SHAPE_TEXT   ? GIVEN_TEXT
                 : value->shape == SHAPE_LIST ? GIVEN_LIST
                                              : GIVEN_MAP;
    if (key != NULL) {
        given.key = key->text;
        given.key_place = key->place;
    }
    if (value->shape == SHAPE_TEXT && value->text.length == 0 && !value->is_quoted &&
        !value->is_faulty)
        report(loader->found, FINDING_NO_VALUE, value->place,
               key != NULL ? key->text : TEXT("-"));
    struct given *items = arena_array(loader->arena, struct given, value->count);
    given.items = items;
    given.count = value->count;
    const struct yaml_node *at = value->first;
    for (size_t i = 0; i < value->count; i++) {
        bool is_map = value->shape == SHAPE_MAP;
        items[i] = given_from(loader, is_map ? at : NULL, is_map ? at->next : at);
        at = is_map ? at->next->next : at->next;
    }
    return given;
}

const struct given *given_find(const struct given *map, struct text key)
{
    if (map->form != GIVEN_MAP)
        return NULL;
    for (size_t i = 0; i < map->count; i++)
        if (text_equal(map->items[i].key, key))
            return &map->items[i];
    return NULL;
}

static struct given read_given_map(struct loader *loader, const struct yaml_node *key)
{
    if (!wants_shape(loader, key, SHAPE_MAP))
        return (struct given){.form = GIVEN_MAP};
    return given_from(loader, key, key->next);
}

/* --- values for what the sheet lacks --------------------------------------------------------- */

static void given_text(struct loader *loader, void *object, const struct yaml_node *key)
{
    struct text text;
    (void)object;
    read_text(loader, key, &text);
}

static const struct key_entry answers_value_keys[] = {
    {"is", true, 0, given_text},
    {"source", false, 0, given_text},
};
const struct key_map answers_value_map =
    KEY_MAP("answers value", "a machine value", answers_value_keys);

static void read_machine_values(struct loader *loader, struct answers *answers,
                                const struct yaml_node *key)
{
    if (!wants_shape(loader, key, SHAPE_MAP))
        return;
    for (const struct yaml_node *at = key->next->first; at != NULL; at = at->next->next)
        if (check_name(loader, at) && at->next->shape != SHAPE_TEXT)
            keys_read(loader, &answers_value_map, at->next, at, NULL);
    answers->machine_values = given_from(loader, key, key->next);
}

/* --- the top ------------------------------------------------------------------------------------ */

static void answers_procedure(struct loader *loader, void *object, const struct yaml_node *key)
{
    read_name(loader, key, &((struct answers_reader *)object)->answers->procedure);
}

static void answers_machine(struct loader *loader, void *object, const struct yaml_node *key)
{
    struct answers *answers = ((struct answers_reader *)object)->answers;
    if (key->next->shape == SHAPE_MAP)
        read_machine_values(loader, answers, key);
    else
        read_name(loader, key, &answers->machine);
}

static void answers_answers(struct loader *loader, void *object, const struct yaml_node *key)
{
    struct answers *answers = ((struct answers_reader *)object)->answers;
    answers->answers = read_given_map(loader, key);
    const struct yaml_node *machine = key_in(key->next, "machine");
    if (machine != NULL && machine->next->shape == SHAPE_MAP)
        read_machine_values(loader, answers, machine);
}

static const struct key_entry expected_keys[] = {
    {"is", false, 0, given_text},
    {"verdict", false, 0, given_text},
};
const struct key_map expected_map = KEY_MAP("expected", "what is expected", expected_keys);

static void answers_expect(struct loader *loader, void *object, const struct yaml_node *key)
{
    struct answers *answers = ((struct answers_reader *)object)->answers;
    answers->expect = read_given_map(loader, key);
    if (key->next->shape != SHAPE_MAP)
        return;
    for (const struct yaml_node *at = key->next->first; at != NULL; at = at->next->next)
        if (at->next->shape == SHAPE_MAP)
            keys_read(loader, &expected_map, at->next, at, NULL);
}

static void pause_step(struct loader *loader, void *object, const struct yaml_node *key)
{
    read_text(loader, key, &((struct interruption *)object)->step);
}

static void pause_for(struct loader *loader, void *object, const struct yaml_node *key)
{
    const double ten_years = 10 * 365.25 * 24 * 60 * 60;
    struct interruption *pause = object;
    struct text text;
    if (!read_text(loader, key, &text) ||
        !read_amount(loader, key->next, loader->kinds.time, &pause->seconds) ||
        fabs(pause->seconds) <= ten_years)
        return;
    report(loader->found, FINDING_NOT_A_QUANTITY, key->next->place, text,
           TEXT("a pause is ten years at most"));
    pause->seconds = 0;
}

static const struct key_entry pause_before_keys[] = {
    {"for", false, 0, pause_for},
    {"step", true, 0, pause_step},
};
const struct key_map pause_before_map = KEY_MAP("pause_before", "a pause", pause_before_keys);

static void answers_pause(struct loader *loader, void *object, const struct yaml_node *key)
{
    keys_read(loader, &pause_before_map, key->next, key,
              &((struct answers_reader *)object)->answers->pause_before);
}

static void answers_fail(struct loader *loader, void *object, const struct yaml_node *key)
{
    read_text(loader, key, &((struct answers_reader *)object)->answers->fail_before.step);
}

static bool is_pattern(struct text text, const char *pattern)
{
    for (size_t i = 0; i < text.length; i++) {
        bool is_digit = text.bytes[i] >= '0' && text.bytes[i] <= '9';
        if (pattern[i] == '\0' || (pattern[i] == '0' ? !is_digit : text.bytes[i] != pattern[i]))
            return false;
    }
    return true;
}

static unsigned two_digits(struct text text, size_t at)
{
    return (unsigned)(10 * (text.bytes[at] - '0') + (text.bytes[at + 1] - '0'));
}

/* 2026-03-31T08:00, with seconds or without, with Z or +01:00 or without. */
static bool is_time(struct text text)
{
    struct text zone = text_slice(text, text.length < 16 ? text.length : 16, text.length);
    if (text.length < 16 || !is_pattern(text_slice(text, 0, 16), "0000-00-00T00:00"))
        return false;
    if (zone.length >= 3 && is_pattern(text_slice(zone, 0, 3), ":00")) {
        if (two_digits(zone, 1) > 59)
            return false;
        zone = text_slice(zone, 3, zone.length);
    }
    bool is_zone =
        zone.length == 0 || text_equal(zone, TEXT("Z")) ||
        (zone.length == 6 && (is_pattern(zone, "+00:00") || is_pattern(zone, "-00:00")));
    return is_zone && is_date(text_slice(text, 0, 10)) && two_digits(text, 11) <= 23 &&
           two_digits(text, 14) <= 59;
}

static void answers_begins(struct loader *loader, void *object, const struct yaml_node *key)
{
    struct answers *answers = ((struct answers_reader *)object)->answers;
    if (!read_text(loader, key, &answers->begins) || is_time(answers->begins))
        return;
    report(loader->found, FINDING_NOT_A_TIME, key->next->place, answers->begins);
    answers->begins = (struct text){0};
}

static void answers_seed(struct loader *loader, void *object, const struct yaml_node *key)
{
    struct answers *answers = ((struct answers_reader *)object)->answers;
    unsigned seed;
    enum { SEED_MAX = 1000000000 };
    if (!read_whole(loader, key, 0, SEED_MAX, &seed))
        return;
    answers->has_seed = true;
    answers->seed = seed;
}

static const struct key_entry answers_keys[] = {
    {"answers", false, 0, answers_answers},    {"begins", false, 0, answers_begins},
    {"expect", false, 0, answers_expect},      {"fail_before", false, 0, answers_fail},
    {"machine", false, 0, answers_machine},    {"pause_before", false, 0, answers_pause},
    {"procedure", true, 0, answers_procedure}, {"seed", false, 0, answers_seed},
};
const struct key_map answers_map = KEY_MAP("answers", "an answers file", answers_keys);

const struct answers *answers_load(const struct source *source, struct diagnostics *found,
                                   struct arena *arena)
{
    struct loader loader = loader_begin(found, arena);
    const struct yaml_node *root = read_root(&loader, source, FORM_ANSWERS);
    if (root == NULL)
        return NULL;
    struct answers *answers = arena_new(arena, struct answers);
    answers->source = source;
    answers->answers.form = answers->machine_values.form = answers->expect.form = GIVEN_MAP;
    struct answers_reader reader = {.answers = answers};
    keys_read(&loader, &answers_map, root, NULL, &reader);
    return answers;
}

#include "event_json.h"

#include "chain.h"

#include <assert.h>
#include <math.h>
#include <stdint.h>

#include <jansson.h>

/* --- the table ----------------------------------------------------------------------------- */

static const char *const kind_names[EVENT_KIND_COUNT] = {
    [EVENT_STARTED] = "started",   [EVENT_ANSWERED] = "answered", [EVENT_ENTERED] = "entered",
    [EVENT_DECIDED] = "decided",   [EVENT_READ] = "read",         [EVENT_DONE] = "done",
    [EVENT_SKIPPED] = "skipped",   [EVENT_AMENDED] = "amended",   [EVENT_NOTED] = "noted",
    [EVENT_ATTACHED] = "attached", [EVENT_PAUSED] = "paused",     [EVENT_RESUMED] = "resumed",
    [EVENT_SETTLED] = "settled",   [EVENT_ENDED] = "ended"};

static const char *const answered_names[] = {
    [ANSWERED_INPUT] = "input", [ANSWERED_MANUAL_VALUE] = "manual value",
    [ANSWERED_GATE] = "gate",   [ANSWERED_SET] = "set",
    [ANSWERED_HOLD] = "hold",   [ANSWERED_WARNING] = "warning",
    [ANSWERED_COUNT] = "count", [ANSWERED_INSIST] = "insist",
    [ANSWERED_ONCE] = "once",   [ANSWERED_CUE] = "cue",
    [ANSWERED_CLOCK] = "clock", [ANSWERED_AMEND] = "amend",
    [ANSWERED_CLAIM] = "claim"};
static const char *const entered_names[] = {
    [ENTERED_NORMAL] = "normal", [ENTERED_REDO] = "redo", [ENTERED_MAKESAFE] = "makesafe"};
static const char *const decided_names[] = {"no", "yes"};
static const char *const paused_names[] = {[PAUSED_ASKED] = "asked",
                                           [PAUSED_INTERRUPTED] = "interrupted",
                                           [PAUSED_INPUT_ENDED] = "input ended",
                                           [PAUSED_STOPPED] = "stopped"};
static const char *const ended_names[] = {
    [ENDED_COMPLETED] = "completed", [ENDED_LEFT_OPEN] = "left open"};

/* What `detail` says, by kind; the other kinds have none. */
static const struct {
    const char *const *names;
    size_t count;
} details[EVENT_KIND_COUNT] = {
#define NAMES(list)                                                                            \
    {                                                                                          \
        (list), sizeof(list) / sizeof *(list)                                                  \
    }
    [EVENT_ANSWERED] = NAMES(answered_names), [EVENT_ENTERED] = NAMES(entered_names),
    [EVENT_DECIDED] = NAMES(decided_names),   [EVENT_PAUSED] = NAMES(paused_names),
    [EVENT_ENDED] = NAMES(ended_names),
#undef NAMES
};

#define OF(kind) (1u << EVENT_##kind)

/* The kinds that are about a field always have it, the others when it is not empty. */
static const struct {
    const char *key;
    size_t offset;
    unsigned always;
} text_fields[] = {
    {"name", offsetof(struct event, name), OF(ANSWERED) | OF(READ) | OF(ATTACHED)},
    {"typed", offsetof(struct event, typed),
     OF(ANSWERED) | OF(READ) | OF(AMENDED) | OF(NOTED) | OF(ATTACHED)},
    {"meaning", offsetof(struct event, meaning), 0},
    {"unit", offsetof(struct event, unit), 0},
    {"gauge", offsetof(struct event, gauge), 0},
    {"source", offsetof(struct event, source), OF(ATTACHED)},
    {"reason", offsetof(struct event, reason), OF(SKIPPED) | OF(AMENDED)},
    {"zone", offsetof(struct event, zone), OF(STARTED)},
};
static const struct {
    const char *key;
    size_t offset;
    unsigned always;
} count_fields[] = {
    {"repeat", offsetof(struct event, repeat), OF(READ)},
    {"amends", offsetof(struct event, amends), OF(AMENDED) | OF(SETTLED)},
};
static const struct {
    const char *key;
    size_t offset;
    unsigned always;
} long_fields[] = {
    {"positions", offsetof(struct event, positions), 0},
    {"seed", offsetof(struct event, seed), OF(STARTED)},
};

#define COUNT_OF(list) (sizeof(list) / sizeof *(list))

static bool is_always(unsigned always, enum event_kind kind)
{
    return (always >> kind & 1u) != 0;
}

const char *event_kind_name(enum event_kind kind)
{
    return kind_names[kind];
}

/* --- writing --------------------------------------------------------------------------------- */

static void set_text(json_t *object, const char *key, struct text text)
{
    int result = json_object_set_new(
        object, key, json_stringn(text.length > 0 ? text.bytes : "", text.length));
    assert(result == 0); /* every text was checked when it came in */
    (void)result;
}

static void set_whole(json_t *object, const char *key, long long number)
{
    json_object_set_new(object, key, json_integer(number));
}

static void set_long(json_t *object, const char *key, unsigned long long number)
{
    char figures[20];
    size_t first = sizeof figures;
    do {
        figures[--first] = (char)('0' + number % 10);
        number /= 10;
    } while (number > 0);
    set_text(object, key, (struct text){figures + first, sizeof figures - first});
}

/* "-1.2345678901234567e-5": also a JSON number, which is how it is read. */
static void set_double(json_t *object, const char *key, double value, struct arena *scratch)
{
    enum { SIGNIFICANT = 17 };
    assert(isfinite(value));
    char figures[SIGNIFICANT] = "00000000000000000";
    int exponent = 1;
    if (value != 0.0)
        text_digits(fabs(value), SIGNIFICANT, figures, &exponent);
    set_text(object, key,
             text_fill(scratch, "{}{}.{}e{}", signbit(value) ? TEXT("-") : TEXT(""),
                       ((struct text){figures, 1}),
                       ((struct text){figures + 1, SIGNIFICANT - 1}),
                       text_number(scratch, exponent - 1)));
}

static json_t *instant_object(const struct instant *at)
{
    json_t *object = json_object();
    set_whole(object, "wall", at->wall);
    set_whole(object, "steady", at->steady);
    set_text(object, "boot", at->boot);
    return object;
}

static json_t *spot_object(const struct spot *spot)
{
    size_t count = LOOP_DEPTH_MAX;
    while (count > 0 && spot->turns[count - 1] == 0)
        count--;
    json_t *turns = json_array();
    for (size_t i = 0; i < count; i++)
        json_array_append_new(turns, json_integer(spot->turns[i]));
    json_t *object = json_object();
    set_whole(object, "work", spot->work);
    json_object_set_new(object, "turns", turns);
    return object;
}

static json_t *earlier_array(const struct event *event, struct arena *scratch)
{
    json_t *array = json_array();
    for (size_t i = 0; i < event->earlier_count; i++) {
        const struct earlier_value *value = &event->earlier[i];
        json_t *object = json_object();
        set_text(object, "name", value->name);
        set_text(object, "shown", value->shown);
        if (value->has_number)
            set_double(object, "value", value->si, scratch);
        if (value->has_uncertainty)
            set_double(object, "uncertainty", value->uncertainty, scratch);
        if (value->has_uncertainty && value->freedom > 0)
            set_double(object, "freedom", value->freedom, scratch);
        json_array_append_new(array, object);
    }
    return array;
}

static json_t *proven_object(const struct proven *proven)
{
    json_t *object = json_object();
    set_text(object, "verdict", proven->verdict);
    set_whole(object, "states", proven->states);
    set_whole(object, "branches", proven->branches);
    set_text(object, "program", proven->program);
    return object;
}

static struct text text_field(const struct event *event, size_t offset)
{
    struct text text;
    memcpy(&text, (const char *)event + offset, sizeof text);
    return text;
}

static void set_fields(json_t *object, const struct event *event)
{
    for (size_t i = 0; i < COUNT_OF(text_fields); i++) {
        struct text text = text_field(event, text_fields[i].offset);
        if (text.length > 0 || is_always(text_fields[i].always, event->kind))
            set_text(object, text_fields[i].key, text);
    }
    for (size_t i = 0; i < COUNT_OF(count_fields); i++) {
        unsigned number;
        memcpy(&number, (const char *)event + count_fields[i].offset, sizeof number);
        if (number > 0 || is_always(count_fields[i].always, event->kind))
            set_whole(object, count_fields[i].key, number);
    }
    for (size_t i = 0; i < COUNT_OF(long_fields); i++) {
        unsigned long long number;
        memcpy(&number, (const char *)event + long_fields[i].offset, sizeof number);
        if (number > 0 || is_always(long_fields[i].always, event->kind))
            set_long(object, long_fields[i].key, number);
    }
}

static struct text dumped(const json_t *object, struct arena *arena)
{
    enum { USUAL_LENGTH = 1024 }; /* so that nearly every event is laid out once only */
    size_t flags = JSON_COMPACT;
    char *bytes = arena_array(arena, char, USUAL_LENGTH);
    size_t length = json_dumpb(object, bytes, USUAL_LENGTH, flags);
    if (length > USUAL_LENGTH) {
        bytes = arena_array(arena, char, length);
        length = json_dumpb(object, bytes, length, flags);
    }
    assert(length > 0);
    return (struct text){bytes, length};
}

struct text event_json_write(const struct event *event, struct arena *arena)
{
    assert((int)event->kind < EVENT_KIND_COUNT && event->number > 0);
    assert(event->bytes.length == 0 || event->kind == EVENT_ATTACHED);
    json_t *object = json_object();
    set_text(object, "kind", text_from(kind_names[event->kind]));
    set_whole(object, "number", event->number);
    json_object_set_new(object, "at", instant_object(&event->at));
    json_object_set_new(object, "spot", spot_object(&event->spot));
    json_object_set_new(object, "late", json_boolean(event->is_late));
    json_object_set_new(object, "position",
                        event->position >= 0 ? json_integer(event->position) : json_null());
    if (details[event->kind].count > 0) {
        assert(event->detail < details[event->kind].count);
        set_text(object, "what", text_from(details[event->kind].names[event->detail]));
    } else if (event->detail > 0) {
        set_whole(object, "detail", event->detail);
    }
    set_fields(object, event);
    if (event->has_value)
        set_double(object, "value", event->value, arena);
    if (event->bytes.length > 0) {
        struct digest digest = digest_of(event->bytes);
        set_text(object, "source", text_fill(arena, "sha256:{}", digest_text(&digest)));
    }
    if (event->kind == EVENT_STARTED || event->is_rehearsal)
        json_object_set_new(object, "rehearsal", json_boolean(event->is_rehearsal));
    if (event->kind == EVENT_STARTED || event->earlier_count > 0)
        json_object_set_new(object, "earlier", earlier_array(event, arena));
    if (event->proven.verdict.length > 0)
        json_object_set_new(object, "proven", proven_object(&event->proven));
    struct text body = dumped(object, arena);
    json_decref(object);
    return body;
}

/* --- reading ----------------------------------------------------------------------------------- */

/* Takes fields out of an object one by one; what is left over at the end is unknown.  The first
 * flaw stays. */
struct reader {
    struct arena *arena;
    json_t *object; /* a copy whose fields are taken out */
    struct text flaw;
};

static void complain(struct reader *reader, const char *sentence, const char *key)
{
    if (reader->flaw.length == 0)
        reader->flaw = text_fill(reader->arena, sentence, text_from(key));
}

/* NULL if it is not there, which is a flaw only if `is_wanted`. */
static json_t *peek(struct reader *reader, const char *key, bool is_wanted)
{
    json_t *found = json_object_get(reader->object, key);
    if (found == NULL && is_wanted)
        complain(reader, "the field '{}' is missing", key);
    return found;
}

static struct text take_text(struct reader *reader, const char *key, bool is_wanted)
{
    struct text text = {0};
    json_t *found = peek(reader, key, is_wanted);
    if (found == NULL)
        return text;
    if (json_is_string(found))
        text = text_copy(reader->arena,
                         (struct text){json_string_value(found), json_string_length(found)});
    else
        complain(reader, "the field '{}' is not a text", key);
    if (text_check(text, NULL) != TEXT_SOUND)
        complain(reader, "the field '{}' has control characters in it", key);
    json_object_del(reader->object, key);
    return text;
}

static long long take_whole(struct reader *reader, const char *key, bool is_wanted,
                            long long lowest, long long highest)
{
    json_t *found = peek(reader, key, is_wanted);
    if (found == NULL)
        return 0;
    long long number = json_integer_value(found);
    if (!json_is_integer(found) || number < lowest || number > highest) {
        complain(reader, "the field '{}' is not a whole number that can stand there", key);
        number = 0;
    }
    json_object_del(reader->object, key);
    return number;
}

static bool take_truth(struct reader *reader, const char *key, bool is_wanted)
{
    json_t *found = peek(reader, key, is_wanted);
    if (found == NULL)
        return false;
    bool truth = json_is_true(found);
    if (!json_is_boolean(found))
        complain(reader, "the field '{}' is not true or false", key);
    json_object_del(reader->object, key);
    return truth;
}

static unsigned long long take_long(struct reader *reader, const char *key, bool is_wanted)
{
    struct text figures = take_text(reader, key, is_wanted);
    unsigned long long number = 0;
    for (size_t i = 0; i < figures.length; i++) {
        unsigned figure = (unsigned)(figures.bytes[i] - '0');
        if (figure > 9 || __builtin_mul_overflow(number, 10ULL, &number) ||
            __builtin_add_overflow(number, (unsigned long long)figure, &number))
            complain(reader, "the field '{}' is not a number in figures", key);
    }
    if (figures.length == 0 && is_wanted)
        complain(reader, "the field '{}' is not a number in figures", key);
    return number;
}

/* jansson turns it into a double, correctly rounded and whatever the locale. */
static bool take_double(struct reader *reader, const char *key, double *value)
{
    if (peek(reader, key, false) == NULL)
        return false;
    struct text figures = take_text(reader, key, true);
    json_t *number = json_loadb(figures.bytes, figures.length, JSON_DECODE_ANY, NULL);
    bool is_read = json_is_real(number);
    if (is_read)
        *value = json_real_value(number);
    else
        complain(reader, "the field '{}' is not a number in figures", key);
    json_decref(number);
    return is_read;
}

/* The number of the name that stands there. */
static unsigned take_name(struct reader *reader, const char *key, const char *const *names,
                          size_t count)
{
    struct text name = take_text(reader, key, true);
    for (size_t i = 0; i < count; i++)
        if (text_equal(name, text_from(names[i])))
            return (unsigned)i;
    complain(reader, "the field '{}' says something this program does not know", key);
    return 0;
}

/* A reader for an object inside; flaws go to the outer one when it is left. */
static struct reader enter(struct reader *outer, const char *key)
{
    struct reader inner = {.arena = outer->arena};
    json_t *found = peek(outer, key, true);
    if (json_is_object(found)) {
        inner.object = json_incref(found);
    } else {
        complain(outer, "the field '{}' is not an object", key);
        inner.object = json_object();
    }
    json_object_del(outer->object, key);
    return inner;
}

static void expect_no_more(struct reader *reader)
{
    const char *key = json_object_iter_key(json_object_iter(reader->object));
    if (key == NULL || reader->flaw.length > 0)
        return;
    bool is_sound = text_check(text_from(key), NULL) == TEXT_SOUND;
    complain(reader, "there is a field '{}' this program does not know", is_sound ? key : "?");
}

static void leave(struct reader *outer, struct reader *inner)
{
    expect_no_more(inner);
    if (outer->flaw.length == 0)
        outer->flaw = inner->flaw;
    json_decref(inner->object);
}

static void read_instant(struct reader *reader, struct instant *at)
{
    struct reader inner = enter(reader, "at");
    at->wall = take_whole(&inner, "wall", true, INT64_MIN, INT64_MAX);
    at->steady = take_whole(&inner, "steady", true, INT64_MIN, INT64_MAX);
    at->boot = take_text(&inner, "boot", true);
    leave(reader, &inner);
}

static void read_spot(struct reader *reader, struct spot *spot)
{
    struct reader inner = enter(reader, "spot");
    spot->work = (unsigned)take_whole(&inner, "work", true, 0, UINT32_MAX);
    json_t *turns = peek(&inner, "turns", true);
    if (!json_is_array(turns) || json_array_size(turns) > LOOP_DEPTH_MAX)
        complain(&inner, "the field '{}' is not a list of rounds", "turns");
    for (size_t i = 0; inner.flaw.length == 0 && i < json_array_size(turns); i++) {
        json_t *turn = json_array_get(turns, i);
        long long number = json_integer_value(turn);
        if (!json_is_integer(turn) || number < 0 || number > UINT16_MAX)
            complain(&inner, "the field '{}' is not a list of rounds", "turns");
        else
            spot->turns[i] = (unsigned short)number;
    }
    json_object_del(inner.object, "turns");
    leave(reader, &inner);
}

/* Records from before it was kept have none. */
static void read_earlier_uncertainty(struct reader *reader, struct earlier_value *value)
{
    value->has_uncertainty = take_double(reader, "uncertainty", &value->uncertainty);
    bool has_freedom = take_double(reader, "freedom", &value->freedom);
    if (value->uncertainty < 0 || (value->has_uncertainty && !value->has_number))
        complain(reader, "the field '{}' says something that cannot be", "uncertainty");
    if (has_freedom && (!(value->freedom >= 1) || !value->has_uncertainty))
        complain(reader, "the field '{}' says something that cannot be", "freedom");
}

static void read_earlier(struct reader *reader, struct event *event)
{
    json_t *array = peek(reader, "earlier", event->kind == EVENT_STARTED);
    if (array == NULL)
        return;
    if (!json_is_array(array))
        complain(reader, "the field '{}' is not a list", "earlier");
    size_t count = json_array_size(array);
    struct earlier_value *values = arena_array(reader->arena, struct earlier_value, count);
    for (size_t i = 0; i < count; i++) {
        json_t *item = json_array_get(array, i);
        struct reader inner = {.arena = reader->arena};
        inner.object = json_is_object(item) ? json_incref(item) : json_object();
        values[i].name = take_text(&inner, "name", true);
        values[i].shown = take_text(&inner, "shown", true);
        values[i].has_number = take_double(&inner, "value", &values[i].si);
        read_earlier_uncertainty(&inner, &values[i]);
        leave(reader, &inner);
    }
    event->earlier = values;
    event->earlier_count = count;
    json_object_del(reader->object, "earlier");
}

/* Records from before it was kept have none. */
static void read_proven(struct reader *reader, struct proven *proven)
{
    if (peek(reader, "proven", false) == NULL)
        return;
    struct reader inner = enter(reader, "proven");
    proven->verdict = take_text(&inner, "verdict", true);
    if (inner.flaw.length == 0 && !text_equal(proven->verdict, TEXT("sound")))
        complain(&inner, "the field '{}' says something this program does not know", "verdict");
    proven->states = (unsigned)take_whole(&inner, "states", true, 0, UINT32_MAX);
    proven->branches = (unsigned)take_whole(&inner, "branches", true, 0, UINT32_MAX);
    proven->program = take_text(&inner, "program", true);
    leave(reader, &inner);
}

static void read_fields(struct reader *reader, struct event *event)
{
    for (size_t i = 0; i < COUNT_OF(text_fields); i++) {
        struct text text = take_text(reader, text_fields[i].key,
                                     is_always(text_fields[i].always, event->kind));
        memcpy((char *)event + text_fields[i].offset, &text, sizeof text);
    }
    for (size_t i = 0; i < COUNT_OF(count_fields); i++) {
        bool is_wanted = is_always(count_fields[i].always, event->kind);
        unsigned number =
            (unsigned)take_whole(reader, count_fields[i].key, is_wanted, 0, UINT32_MAX);
        memcpy((char *)event + count_fields[i].offset, &number, sizeof number);
    }
    for (size_t i = 0; i < COUNT_OF(long_fields); i++) {
        unsigned long long number = take_long(reader, long_fields[i].key,
                                              is_always(long_fields[i].always, event->kind));
        memcpy((char *)event + long_fields[i].offset, &number, sizeof number);
    }
}

static int take_position(struct reader *reader)
{
    json_t *found = peek(reader, "position", true);
    if (!json_is_null(found))
        return (int)take_whole(reader, "position", true, 0, INT32_MAX);
    json_object_del(reader->object, "position");
    return INDEX_NONE;
}

static void read_event(struct reader *reader, struct event *event)
{
    event->kind = (enum event_kind)take_name(reader, "kind", kind_names, EVENT_KIND_COUNT);
    event->number = (unsigned)take_whole(reader, "number", true, 1, UINT32_MAX);
    read_instant(reader, &event->at);
    read_spot(reader, &event->spot);
    event->is_late = take_truth(reader, "late", true);
    event->position = take_position(reader);
    if (details[event->kind].count > 0)
        event->detail =
            take_name(reader, "what", details[event->kind].names, details[event->kind].count);
    else
        event->detail = (unsigned)take_whole(reader, "detail", false, 0, UINT32_MAX);
    read_fields(reader, event);
    event->has_value = take_double(reader, "value", &event->value);
    event->is_rehearsal = take_truth(reader, "rehearsal", event->kind == EVENT_STARTED);
    read_earlier(reader, event);
    if (event->kind == EVENT_STARTED)
        read_proven(reader, &event->proven);
    expect_no_more(reader);
}

bool event_json_read(struct text body, struct event *event, struct text *flaw,
                     struct arena *arena)
{
    json_error_t error;
    json_t *object = json_loadb(body.bytes, body.length, JSON_REJECT_DUPLICATES, &error);
    *event = (struct event){0};
    if (!json_is_object(object)) {
        json_decref(object);
        *flaw = TEXT("it is not a JSON object");
        return false;
    }
    struct reader reader = {.arena = arena, .object = object};
    read_event(&reader, event);
    json_decref(object);
    *flaw = reader.flaw;
    return reader.flaw.length == 0;
}

/*
 * With EVENT_FOLDER in the environment, every event written here goes into that folder, and every
 * one refused into "faulty" below it; check_event_schema.py holds both against the schema.
 */
#include "record/event_json.h"
#include "record_fixture.h"

#include <math.h>

#include <jansson.h>

/* Wide, joined and combining characters, quotes, brackets, line ends, a no-break space. */
#define ODD                                                                                    \
    "\"3\\4\"\n\tZ\u00FCndkerze \u706B\u82B1\u585E e\u0301 12\u00A0N\u00B7m "                  \
    "{\xF0\x9F\x94\xA7}"

static unsigned kept_count;

static void keep(const char *subfolder, struct text body)
{
    const char *folder = getenv("EVENT_FOLDER");
    if (folder == NULL)
        return;
    char path[512];
    snprintf(path, sizeof path, "%s%s/%03u.json", folder, subfolder, kept_count++);
    FILE *file = fopen(path, "wb");
    assert_non_null(file);
    assert_int_equal(fwrite(body.bytes, 1, body.length, file), body.length);
    fclose(file);
}

/* One of each kind, with every field the kind is about. */
static struct event event_of(enum event_kind kind)
{
    struct event event = {.kind = kind,
                          .number = 7 + (unsigned)kind,
                          .at = {1700000000123, 98765, TEXT("b0")},
                          .spot = {.work = 12, .turns = {1, 0, 3}},
                          .position = INDEX_NONE};
    static const struct earlier_value earlier[] = {
        {{"odometer", 8}, true, 84210000.0, {"84210\u00A0km", 9}, true, 0, 0},
        {{"oil", 3}, false, 0, {"5W-30", 5}, false, 0, 0},
        {{"base", 4}, true, 1.17e6, {"11.7\u00A0bar", 9}, true, 14567.25, 4.75},
        {{"old", 3}, true, 1.0, {"1\u00A0m", 4}, false, 0, 0}};
    switch (kind) {
    case EVENT_STARTED:
        event.seed = UINT64_MAX;
        event.is_rehearsal = true;
        event.zone = TEXT("-03:30");
        event.earlier = earlier;
        event.earlier_count = 4;
        event.proven = (struct proven){TEXT("sound"), 967, 6, TEXT("banksman 0.1")};
        break;
    case EVENT_ANSWERED:
        event.detail = ANSWERED_MANUAL_VALUE;
        event.name = TEXT("plug_torque");
        event.typed = TEXT(ODD);
        event.meaning = TEXT("21\u00A0N\u00B7m");
        event.has_value = true;
        event.value = 21.0;
        event.unit = TEXT("N.m");
        event.source = TEXT("manual, page 12");
        break;
    case EVENT_ENTERED:
        event.detail = ENTERED_MAKESAFE;
        break;
    case EVENT_DECIDED:
        event.detail = 1;
        event.name = TEXT("dry < 9 bar");
        event.positions = 1ULL << 63;
        break;
    case EVENT_READ:
        event.name = TEXT("dry");
        event.position = 3;
        event.repeat = 2;
        event.typed = TEXT("11,80");
        event.has_value = true;
        event.value = 1180000.0000000002;
        event.unit = TEXT("bar");
        event.gauge = TEXT("compression_gauge");
        event.is_late = true;
        break;
    case EVENT_DONE:
        break;
    case EVENT_SKIPPED:
        event.reason = TEXT(ODD);
        break;
    case EVENT_AMENDED:
        event.amends = 4294967295;
        event.typed = TEXT("-40 \u00B0C");
        event.reason = TEXT("misread");
        event.has_value = true;
        event.value = -0.1;
        break;
    case EVENT_NOTED:
        event.typed = TEXT(ODD);
        break;
    case EVENT_ATTACHED:
        event.name = TEXT("plug_look");
        event.typed = TEXT("photos/plug 3.jpg");
        event.bytes = TEXT("abc");
        break;
    case EVENT_PAUSED:
        event.detail = PAUSED_INPUT_ENDED;
        event.meaning = TEXT("key on the dash");
        break;
    case EVENT_RESUMED:
        event.detail = 3;
        break;
    case EVENT_SETTLED:
        event.amends = 2;
        break;
    case EVENT_ENDED:
        event.detail = ENDED_LEFT_OPEN;
        break;
    }
    return event;
}

static void same_text(struct text a, struct text b)
{
    if (!text_equal(a, b))
        fail_msg("'%.*s' is not '%.*s'", (int)a.length, a.bytes, (int)b.length, b.bytes);
}

static void same_event(const struct event *a, const struct event *b)
{
    assert_int_equal(a->kind, b->kind);
    assert_int_equal(a->detail, b->detail);
    assert_int_equal(a->number, b->number);
    assert_true(a->at.wall == b->at.wall && a->at.steady == b->at.steady);
    same_text(a->at.boot, b->at.boot);
    assert_int_equal(a->spot.work, b->spot.work);
    assert_memory_equal(a->spot.turns, b->spot.turns, sizeof a->spot.turns);
    assert_int_equal(a->is_late, b->is_late);
    assert_int_equal(a->position, b->position);
    assert_int_equal(a->repeat, b->repeat);
    same_text(a->name, b->name);
    same_text(a->typed, b->typed);
    same_text(a->meaning, b->meaning);
    same_text(a->unit, b->unit);
    same_text(a->gauge, b->gauge);
    same_text(a->reason, b->reason);
    same_text(a->zone, b->zone);
    assert_int_equal(a->has_value, b->has_value);
    assert_memory_equal(&a->value, &b->value, sizeof a->value);
    assert_int_equal(a->amends, b->amends);
    assert_true(a->positions == b->positions && a->seed == b->seed);
    assert_int_equal(a->is_rehearsal, b->is_rehearsal);
    assert_int_equal(a->earlier_count, b->earlier_count);
    for (size_t i = 0; i < a->earlier_count; i++) {
        same_text(a->earlier[i].name, b->earlier[i].name);
        same_text(a->earlier[i].shown, b->earlier[i].shown);
        assert_int_equal(a->earlier[i].has_number, b->earlier[i].has_number);
        assert_memory_equal(&a->earlier[i].si, &b->earlier[i].si, sizeof(double));
        assert_int_equal(a->earlier[i].has_uncertainty, b->earlier[i].has_uncertainty);
        assert_memory_equal(&a->earlier[i].uncertainty, &b->earlier[i].uncertainty,
                            sizeof(double));
        assert_memory_equal(&a->earlier[i].freedom, &b->earlier[i].freedom, sizeof(double));
    }
    same_text(a->proven.verdict, b->proven.verdict);
    same_text(a->proven.program, b->proven.program);
    assert_int_equal(a->proven.states, b->proven.states);
    assert_int_equal(a->proven.branches, b->proven.branches);
}

static struct event round_trip(struct arena *arena, const struct event *event)
{
    struct text body = event_json_write(event, arena);
    keep("", body);
    struct event read;
    struct text flaw = {0};
    if (!event_json_read(body, &read, &flaw, arena))
        fail_msg("%.*s: %.*s", (int)flaw.length, flaw.bytes, (int)body.length, body.bytes);
    return read;
}

static void an_event_of_every_kind_comes_back_as_it_was(void **state)
{
    struct fixture *fixture = *state;
    for (int kind = 0; kind < EVENT_KIND_COUNT; kind++) {
        struct event event = event_of((enum event_kind)kind);
        struct event read = round_trip(&fixture->arena, &event);
        same_event(&event, &read);
        assert_int_equal(read.bytes.length, 0);
        if (event.kind != EVENT_ATTACHED)
            same_text(event.source, read.source);
        struct text again = event_json_write(&read, &fixture->arena);
        same_text(event_json_write(&event, &fixture->arena), again);
    }
}

static void an_attachment_is_named_by_its_digest(void **state)
{
    struct fixture *fixture = *state;
    struct event event = event_of(EVENT_ATTACHED);
    struct event read = round_trip(&fixture->arena, &event);
    /* NIST, "Examples with Intermediate Values", SHA-256 of "abc" */
    same_text(read.source,
              TEXT("sha256:"
                   "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad"));
}

static void every_field_survives_in_every_kind(void **state)
{
    struct fixture *fixture = *state;
    for (int kind = 0; kind < EVENT_KIND_COUNT; kind++) {
        struct event event = event_of((enum event_kind)kind);
        event.name = event.typed = event.meaning = event.unit = event.gauge = TEXT(ODD);
        event.reason = event.zone = TEXT(ODD);
        event.repeat = event.amends = 3;
        event.positions = event.seed = 5;
        event.is_rehearsal = event.has_value = event.is_late = true;
        event.value = 0.1;
        event.position = 0;
        struct event read = round_trip(&fixture->arena, &event);
        same_event(&event, &read);
    }
}

/* Doubles that a careless decimal loses: the largest, the smallest normal and subnormal, neighbours
 * of 1, halves of a digit (IEEE 754-2008, 3.4 and 5.12.2). */
static void every_double_comes_back_exactly(void **state)
{
    struct fixture *fixture = *state;
    const double values[] = {0.0,
                             -0.0,
                             0.1,
                             1.0 / 3,
                             1e22,
                             1e23,
                             1.7976931348623157e308,
                             4.9e-324,
                             2.2250738585072014e-308,
                             2.2250738585072009e-308,
                             1.0000000000000002,
                             0.99999999999999989,
                             -273.15,
                             9007199254740993.0};
    for (size_t i = 0; i < sizeof values / sizeof *values; i++) {
        struct event event = event_of(EVENT_READ);
        event.value = values[i];
        struct event read = round_trip(&fixture->arena, &event);
        assert_memory_equal(&read.value, &values[i], sizeof(double));
    }
    uint64_t bits = 88172645463325252ULL;
    for (int i = 0; i < 20000; i++) {
        bits ^= bits << 13, bits ^= bits >> 7, bits ^= bits << 17;
        double value;
        memcpy(&value, &bits, sizeof value);
        if (!isfinite(value))
            continue;
        struct arena_mark mark = arena_mark(&fixture->arena);
        struct event event = event_of(EVENT_READ), read;
        event.value = value;
        struct text flaw;
        assert_true(event_json_read(event_json_write(&event, &fixture->arena), &read, &flaw,
                                    &fixture->arena));
        assert_memory_equal(&read.value, &value, sizeof value);
        arena_rewind(&fixture->arena, mark);
    }
}

static void expect_refused(struct arena *arena, struct text body, const char *words)
{
    struct event event;
    struct text flaw = {0};
    keep("/faulty", body);
    if (event_json_read(body, &event, &flaw, arena))
        fail_msg("was read: %.*s", (int)body.length, body.bytes);
    if (text_find(flaw, text_from(words)) == flaw.length)
        fail_msg("'%s' is not in: %.*s", words, (int)flaw.length, flaw.bytes);
}

static struct text dumped(struct arena *arena, const json_t *object)
{
    char *bytes = json_dumps(object, JSON_COMPACT);
    struct text body = text_copy(arena, text_from(bytes));
    free(bytes);
    return body;
}

static json_t *object_of(struct arena *arena, enum event_kind kind)
{
    struct event event = event_of(kind);
    struct text body = event_json_write(&event, arena);
    json_t *object = json_loadb(body.bytes, body.length, 0, NULL);
    assert_non_null(object);
    return object;
}

/* Fields that may be left out when they say nothing. */
static bool may_be_missing(enum event_kind kind, const char *key)
{
    static const char *const optional[] = {"value", "meaning",   "unit",
                                           "gauge", "positions", "detail"};
    for (size_t i = 0; i < sizeof optional / sizeof *optional; i++)
        if (strcmp(key, optional[i]) == 0)
            return true;
    return (kind == EVENT_STARTED && strcmp(key, "proven") == 0) ||
           (kind == EVENT_ANSWERED && strcmp(key, "source") == 0) ||
           (kind == EVENT_DECIDED && strcmp(key, "name") == 0);
}

static void a_missing_field_is_said(void **state)
{
    struct fixture *fixture = *state;
    for (int kind = 0; kind < EVENT_KIND_COUNT; kind++) {
        json_t *whole = object_of(&fixture->arena, (enum event_kind)kind);
        const char *key;
        json_t *value;
        json_object_foreach(whole, key, value)
        {
            if (may_be_missing((enum event_kind)kind, key))
                continue;
            json_t *part = json_copy(whole);
            json_object_del(part, key);
            char words[64];
            snprintf(words, sizeof words, "the field '%s' is missing", key);
            expect_refused(&fixture->arena, dumped(&fixture->arena, part), words);
            json_decref(part);
        }
        json_decref(whole);
    }
}

static void a_field_of_another_type_is_said(void **state)
{
    struct fixture *fixture = *state;
    for (int kind = 0; kind < EVENT_KIND_COUNT; kind++) {
        json_t *whole = object_of(&fixture->arena, (enum event_kind)kind);
        const char *key;
        json_t *value;
        json_object_foreach(whole, key, value)
        {
            json_t *changed = json_copy(whole);
            json_object_set_new(changed, key, json_real(1.5));
            char words[64];
            snprintf(words, sizeof words, "'%s'", key);
            expect_refused(&fixture->arena, dumped(&fixture->arena, changed), words);
            json_decref(changed);
        }
        json_decref(whole);
    }
}

static void expect_changed_refused(struct arena *arena, const char *key, json_t *value,
                                   const char *words)
{
    json_t *object = object_of(arena, EVENT_ANSWERED);
    json_object_set_new(object, key, value);
    expect_refused(arena, dumped(arena, object), words);
    json_decref(object);
}

static void what_this_program_does_not_know_is_said(void **state)
{
    struct fixture *fixture = *state;
    struct arena *arena = &fixture->arena;
    expect_changed_refused(arena, "kind", json_string("guessed"), "'kind' says something");
    expect_changed_refused(arena, "what", json_string("rumour"), "'what' says something");
    expect_changed_refused(arena, "colour", json_string("red"), "a field 'colour'");
    expect_changed_refused(arena, "colour\x1b[2J", json_string("red"), "a field '?'");
    expect_changed_refused(arena, "value", json_string("0x10"), "'value' is not a number");
    expect_changed_refused(arena, "value", json_string("1.0000000000000000e9999"), "'value'");
    expect_changed_refused(arena, "typed", json_string("\x1b[2J"), "control characters");
    expect_changed_refused(arena, "number", json_integer(0), "'number' is not");
    expect_changed_refused(arena, "number", json_integer(4294967296), "'number' is not");
    expect_changed_refused(arena, "amends", json_integer(-1), "'amends' is not");
    expect_changed_refused(arena, "position", json_integer(-1), "'position' is not");
    expect_changed_refused(arena, "seed", json_string("-1"), "'seed' is not");
    expect_changed_refused(
        arena, "spot",
        json_pack("{s:i,s:[i,i,i,i,i,i,i,i,i]}", "work", 1, "turns", 1, 2, 3, 4, 5, 6, 7, 8, 9),
        "'turns' is not");
    expect_changed_refused(arena, "spot", json_pack("{s:i,s:[i]}", "work", 1, "turns", 65536),
                           "'turns' is not");
    expect_changed_refused(arena, "at", json_object(), "'wall' is missing");
    expect_changed_refused(arena, "earlier", json_pack("[i]", 1), "'name' is missing");
    static const char *const impossible[][3] = {
        {"uncertainty", "-1.0e0", "'uncertainty' says something that cannot be"},
        {"uncertainty", "much", "'uncertainty' is not a number"},
        {"freedom", "0.5e0", "'freedom' says something that cannot be"},
        {"freedom", "-2.0e0", "'freedom' says something that cannot be"},
    };
    for (size_t i = 0; i < sizeof impossible / sizeof *impossible; i++) {
        json_t *value = json_pack("{s:s,s:s,s:s,s:s}", "name", "base", "shown", "1 m", "value",
                                  "1.0e0", "uncertainty", "1.0e0");
        json_object_set_new(value, impossible[i][0], json_string(impossible[i][1]));
        expect_changed_refused(arena, "earlier", json_pack("[o]", value), impossible[i][2]);
    }
    expect_changed_refused(
        arena, "earlier",
        json_pack("[{s:s,s:s,s:s}]", "name", "oil", "shown", "thin", "uncertainty", "1.0e0"),
        "'uncertainty' says something that cannot be");
}

/* As it was written before its uncertainty was kept: unknown, and not 0. */
static void an_earlier_value_without_its_uncertainty_is_read(void **state)
{
    struct fixture *fixture = *state;
    struct text body =
        TEXT("{\"kind\":\"started\",\"number\":1,\"at\":{\"wall\":1772874000000,"
             "\"steady\":17,\"boot\":\"b\"},\"spot\":{\"work\":0,\"turns\":[]},"
             "\"late\":false,\"position\":null,\"zone\":\"+00:00\",\"seed\":\"3\","
             "\"rehearsal\":true,\"earlier\":[{\"name\":\"odometer\",\"shown\":\"84210 km\","
             "\"value\":\"8.4210000000000000e7\"}]}");
    keep("", body);
    struct event event;
    struct text flaw = {0};
    assert_true(event_json_read(body, &event, &flaw, &fixture->arena));
    assert_int_equal(event.earlier_count, 1);
    assert_true(event.earlier[0].has_number);
    assert_false(event.earlier[0].has_uncertainty);
    same_text(event_json_write(&event, &fixture->arena),
              body); /* the chain goes over these bytes */
}

/* As it was written before what was proven was kept. */
static void a_start_that_does_not_say_what_was_proven_is_read(void **state)
{
    struct fixture *fixture = *state;
    struct text body =
        TEXT("{\"kind\":\"started\",\"number\":1,\"at\":{\"wall\":1772874000000,"
             "\"steady\":17,\"boot\":\"b\"},\"spot\":{\"work\":0,\"turns\":[]},"
             "\"late\":false,\"position\":null,\"zone\":\"+00:00\",\"seed\":\"3\","
             "\"rehearsal\":true,\"earlier\":[]}");
    keep("", body);
    struct event event;
    struct text flaw = {0};
    assert_true(event_json_read(body, &event, &flaw, &fixture->arena));
    assert_int_equal(event.proven.verdict.length, 0);
    assert_int_equal(event.proven.states, 0);
    same_text(event_json_write(&event, &fixture->arena),
              body); /* the chain goes over these bytes */
}

static void a_verdict_that_begins_no_job_is_refused(void **state)
{
    struct fixture *fixture = *state;
    json_t *object = object_of(&fixture->arena, EVENT_STARTED);
    json_object_set_new(json_object_get(object, "proven"), "verdict", json_string("unsafe"));
    expect_refused(&fixture->arena, dumped(&fixture->arena, object),
                   "'verdict' says something");
    json_object_del(json_object_get(object, "proven"), "verdict");
    expect_refused(&fixture->arena, dumped(&fixture->arena, object), "'verdict' is missing");
    json_decref(object);
    expect_changed_refused(&fixture->arena, "proven", json_object(), "a field 'proven'");
}

static void what_is_no_object_is_refused(void **state)
{
    struct fixture *fixture = *state;
    struct event event;
    struct text flaw;
    const struct text bodies[] = {
        TEXT(""),     TEXT("[]"),    TEXT("null"),
        TEXT("{"),    TEXT("{} {}"), TEXT("{\"kind\":1,\"kind\":1}"),
        TEXT("\xff"), TEXT("\"a\""), TEXT("{\"kind\":\"do\\u0000ne\"}")};
    for (size_t i = 0; i < sizeof bodies / sizeof *bodies; i++) {
        flaw = (struct text){0};
        assert_false(event_json_read(bodies[i], &event, &flaw, &fixture->arena));
        assert_true(flaw.length > 0);
    }
}

/* Every cut and every changed byte is either read or refused in words; the sanitizers watch. */
static void no_bytes_at_all_bring_it_down(void **state)
{
    struct fixture *fixture = *state;
    for (int kind = 0; kind < EVENT_KIND_COUNT; kind++) {
        struct event event = event_of((enum event_kind)kind), read;
        struct text body = event_json_write(&event, &fixture->arena), flaw;
        char *bytes = arena_array(&fixture->arena, char, body.length);
        for (size_t i = 0; i < body.length; i++) {
            struct arena_mark mark = arena_mark(&fixture->arena);
            assert_false(
                event_json_read((struct text){body.bytes, i}, &read, &flaw, &fixture->arena));
            memcpy(bytes, body.bytes, body.length);
            bytes[i] = (char)(bytes[i] ^ (1 << i % 8));
            flaw = (struct text){0};
            if (!event_json_read((struct text){bytes, body.length}, &read, &flaw,
                                 &fixture->arena))
                assert_true(flaw.length > 0);
            arena_rewind(&fixture->arena, mark);
        }
    }
}

int main(void)
{
#define TEST(name) cmocka_unit_test_setup_teardown(name, fixture_begin, fixture_end)
    const struct CMUnitTest tests[] = {TEST(an_event_of_every_kind_comes_back_as_it_was),
                                       TEST(an_attachment_is_named_by_its_digest),
                                       TEST(every_field_survives_in_every_kind),
                                       TEST(every_double_comes_back_exactly),
                                       TEST(a_missing_field_is_said),
                                       TEST(a_field_of_another_type_is_said),
                                       TEST(what_this_program_does_not_know_is_said),
                                       TEST(what_is_no_object_is_refused),
                                       TEST(a_start_that_does_not_say_what_was_proven_is_read),
                                       TEST(an_earlier_value_without_its_uncertainty_is_read),
                                       TEST(a_verdict_that_begins_no_job_is_refused),
                                       TEST(no_bytes_at_all_bring_it_down)};
    return cmocka_run_group_tests(tests, NULL, NULL);
}

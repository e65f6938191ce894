#ifndef CARD_FIXTURE_H
#define CARD_FIXTURE_H
/*
 * card_fixture.h - the invented pump of tests/cards, and events put into a job by hand.
 */
#include "golden.h"
#include "procedure/load.h"
#include "verify/verify.h"

struct card_fixture {
    struct arena arena;
    struct diagnostics found;
    const struct fitted *fitted;
    struct job *job;
    struct ranking ranking;
    long long wall;
};

static inline const struct source *read_source(struct arena *arena, const char *path)
{
    enum { LONGEST = 1 << 16 };
    FILE *file = fopen(path, "rb");
    if (file == NULL)
        fail_msg("%s cannot be opened", path);
    char *bytes = arena_array(arena, char, LONGEST);
    size_t length = fread(bytes, 1, LONGEST, file);
    fclose(file);
    struct source *source = arena_new(arena, struct source);
    *source = (struct source){text_from(path), {bytes, length}};
    return source;
}

static const struct source *fetch_nothing(void *self, struct text name)
{
    (void)self;
    (void)name;
    return NULL;
}

static struct text nearest_nothing(void *self, struct text name)
{
    (void)self;
    (void)name;
    return (struct text){0};
}

static inline int card_fixture_begin_with(void **state, const char *procedure_path)
{
    struct card_fixture *fixture = test_calloc(1, sizeof *fixture);
    fixture->arena = arena_open(256 * MEBIBYTE, golden_exhausted);
    struct arena *arena = &fixture->arena;
    diagnostics_begin(&fixture->found, arena);
    const struct source *safety_source = read_source(arena, "tests/cards/safety.yaml");
    const struct safety_library *safety =
        safety_load(&safety_source, 1, &fixture->found, arena);
    const struct procedure *procedure = procedure_load(
        read_source(arena, procedure_path), safety,
        (struct shelf){NULL, fetch_nothing, nearest_nothing}, &fixture->found, arena);
    const struct machine *machine =
        machine_load(read_source(arena, "tests/cards/bench_pump.yaml"), &fixture->found, arena);
    if (procedure != NULL && machine != NULL)
        fixture->fitted = procedure_fit(procedure, machine, NULL, &fixture->found, arena);
    /* Not proven: a card is made of whatever was done. */
    struct sound_procedure sound = {.procedure = procedure};
    if (fixture->fitted == NULL || procedure->is_part) {
        struct page page;
        page_begin(&page, arena);
        diagnostics_write(&fixture->found, &page.writer, arena);
        fail_msg("%s", text_terminated(arena, page_text(&page)));
    }
    fixture->job = job_begin(&sound, fixture->fitted, arena);
    struct arena scratch = arena_open(64 * MEBIBYTE, golden_exhausted);
    fixture->ranking = verify_critical_steps(procedure, NULL, arena, &scratch);
    arena_close(&scratch);
    fixture->wall = 1772524800000; /* 2026-03-03 08:00 UTC */
    *state = fixture;
    return 0;
}

static inline int card_fixture_begin(void **state)
{
    return card_fixture_begin_with(state, "tests/cards/pump_check.yaml");
}

static inline int card_fixture_end(void **state)
{
    struct card_fixture *fixture = *state;
    arena_close(&fixture->arena);
    test_free(fixture);
    return 0;
}

/* --- events by hand: each a minute after the one before ------------------------------------- */

static inline unsigned put(struct card_fixture *fixture, struct event event)
{
    size_t count;
    (void)job_events(fixture->job, &count);
    event.number = (unsigned)count + 1;
    event.at = (struct instant){fixture->wall, fixture->wall - 1772524700000, TEXT("boot")};
    fixture->wall += 60000;
    job_apply(fixture->job, &event);
    return event.number;
}

static inline struct event at_step(struct card_fixture *fixture, enum event_kind kind,
                                   const char *step, int position)
{
    struct event event = {.kind = kind, .position = INDEX_NONE};
    if (step != NULL) {
        const struct work *work =
            procedure_find_step(fixture->fitted->procedure, text_from(step));
        assert_non_null(work);
        event.spot.work = work->id;
        if (position >= 0)
            event.spot.turns[work->loop_depth - 1] = (unsigned short)position;
    }
    return event;
}

static inline void start(struct card_fixture *fixture, bool is_rehearsal)
{
    struct event event = at_step(fixture, EVENT_STARTED, NULL, -1);
    event.zone = TEXT("+01:00");
    event.is_rehearsal = is_rehearsal;
    event.proven = (struct proven){TEXT("sound"), 120, 4, TEXT("banksman 0.1")};
    put(fixture, event);
}

static inline unsigned answer(struct card_fixture *fixture, const char *step, int position,
                              enum answered what, const char *name, const char *meaning)
{
    struct event event = at_step(fixture, EVENT_ANSWERED, step, position);
    event.detail = what;
    event.name = text_from(name);
    event.typed = event.meaning = text_from(meaning);
    return put(fixture, event);
}

static inline unsigned answer_number(struct card_fixture *fixture, enum answered what,
                                     const char *name, const char *typed, const char *unit,
                                     double number)
{
    struct event event = at_step(fixture, EVENT_ANSWERED, NULL, -1);
    event.detail = what;
    event.name = text_from(name);
    event.typed = text_from(typed);
    event.unit = text_from(unit);
    event.has_value = true;
    event.value = unit_to_si(unit_find(event.unit), number);
    event.meaning = value_text(&fixture->arena, event.value, unit_find(event.unit), 3);
    if (what == ANSWERED_MANUAL_VALUE)
        event.source = TEXT("pump leaflet, page 9");
    return put(fixture, event);
}

static inline unsigned read_number(struct card_fixture *fixture, const char *step, int position,
                                   const char *name, unsigned repeat, const char *typed,
                                   const char *unit, double number)
{
    struct event event = at_step(fixture, EVENT_READ, step, position);
    event.name = text_from(name);
    event.position = position;
    event.repeat = repeat;
    event.typed = text_from(typed);
    event.unit = text_from(unit);
    event.has_value = true;
    event.value = unit_to_si(unit_find(event.unit), number);
    event.meaning = value_text(&fixture->arena, event.value, unit_find(event.unit), 3);
    return put(fixture, event);
}

static inline void do_step(struct card_fixture *fixture, const char *step, int position)
{
    put(fixture, at_step(fixture, EVENT_ENTERED, step, position));
    put(fixture, at_step(fixture, EVENT_DONE, step, position));
}

/* Up to the pressing: the opening, the valve, the lid, the plugs. */
static inline void begin_work(struct card_fixture *fixture)
{
    answer_number(fixture, ANSWERED_INPUT, "hours", "1250", "h", 1250);
    answer(fixture, NULL, -1, ANSWERED_INPUT, "weather", "dry");
    answer_number(fixture, ANSWERED_MANUAL_VALUE, "bolt_torque", "21", "N.m", 21);
    put(fixture, at_step(fixture, EVENT_ENTERED, "shut_valve", -1));
    answer(fixture, "shut_valve", -1, ANSWERED_SET, "valve_shut", "it moves");
    answer(fixture, "shut_valve", -1, ANSWERED_SET, "valve_shut", "it is at its end");
    put(fixture, at_step(fixture, EVENT_DONE, "shut_valve", -1));
    put(fixture, at_step(fixture, EVENT_ENTERED, "lid_off", -1));
    struct event look = at_step(fixture, EVENT_READ, "lid_off", -1);
    look.name = TEXT("lid_look");
    look.repeat = 1;
    look.typed = TEXT("2");
    look.meaning = TEXT("dirty");
    put(fixture, look);
    read_number(fixture, "lid_off", -1, "warmth", 1, "19.5", "\u00B0C", 19.5);
    put(fixture, at_step(fixture, EVENT_DONE, "lid_off", -1));
    for (int i = 0; i < 3; i++)
        do_step(fixture, "plug_out", i);
}

static inline void expect_card(struct card_fixture *fixture, const char *name, unsigned width)
{
    struct card_heading heading = {12, TEXT("banksman 0.1"), &fixture->ranking};
    struct card card = card_build(fixture->job, heading, &fixture->arena);
    expect_golden(card_as_text(&card, width, &fixture->arena), name, &fixture->arena);
}

static inline struct text card_words(struct card_fixture *fixture)
{
    struct card_heading heading = {12, TEXT("banksman 0.1"), &fixture->ranking};
    struct card card = card_build(fixture->job, heading, &fixture->arena);
    return card_as_text(&card, 200, &fixture->arena);
}

static inline void expect_says(struct card_fixture *fixture, const char *words)
{
    struct text card = card_words(fixture);
    if (text_find(card, text_from(words)) == card.length)
        fail_msg("'%s' is not on the card:\n%s", words, text_terminated(&fixture->arena, card));
}

static inline void expect_silent(struct card_fixture *fixture, const char *words)
{
    struct text card = card_words(fixture);
    if (text_find(card, text_from(words)) < card.length)
        fail_msg("'%s' is on the card:\n%s", words, text_terminated(&fixture->arena, card));
}

#endif

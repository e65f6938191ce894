#ifndef SUPPORT_WALKED_JOB_H
#define SUPPORT_WALKED_JOB_H
/*
 * walked_job.h - a job that a test walks through, without a session.
 *
 * Purpose   Loads a procedure that stands in the test, settles what needs no
 *           person, and answers prompts one by one; after every answer the job
 *           can be replayed and compared.
 * Owns      a small machine and safety library, both invented for the tests.
 */
#include "job/job_state.h"
#include "job/look.h"
#include "procedure/load.h"
#include "verify/verify.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>

#include <cmocka.h>

struct walked {
    struct arena arena, scratch;
    struct sound_procedure sound;
    const struct fitted *fitted;
    struct job *job;
    struct instant now;
    struct prompt prompt;
    struct decision last;
    unsigned long long seen; /* kinds of prompt, by bit; for whoever counts them */
};

#define HEAD "procedure: p\ntitle: T\nrevision: 1\nabout: For a test.\n"

static const char walked_machine[] =
    "machine: rowan_van\n"
    "title: Rowan van\n"
    "positions:\n"
    "  cylinder: [1, 2, 3, 4]\n"
    "  wheel: [front left, front right, rear left, rear right]\n"
    "firing_order: [1, 3, 4, 2]\n"
    "values:\n"
    "  plug_torque: {is: 21 N.m, source: \"manual, 28\"}\n"
    "  displacement: 1600 mL\n";

static const char walked_safety[] = "conditions:\n"
                                    "  chocked:\n"
                                    "    ask: Push it hard. What did it do?\n"
                                    "    expect: stayed still\n"
                                    "    otherwise: [moved]\n"
                                    "    restore: Take the chocks away.\n"
                                    "  on_stands:\n"
                                    "    ask: Shake it. What did it do?\n"
                                    "    expect: stood firm\n"
                                    "    otherwise: [rocked]\n"
                                    "    lapses_after: 30 min\n"
                                    "    requires: [chocked]\n"
                                    "    restore: Lower it.\n"
                                    "  area_clear:\n"
                                    "    ask: Who is near?\n"
                                    "    expect: nobody\n"
                                    "    otherwise: [someone]\n"
                                    "    lapses_after: 0 min\n"
                                    "  cool:\n"
                                    "    ask: How is the manifold?\n"
                                    "    expect: cool\n"
                                    "    otherwise: [hot]\n"
                                    "  wet:\n"
                                    "    each: cylinder\n"
                                    "    restore: Turn it by hand.\n"
                                    "activities:\n"
                                    "  under:\n"
                                    "    signal: danger\n"
                                    "    hazard: It can fall.\n"
                                    "    harm: Crushing.\n"
                                    "    needs: [chocked, on_stands]\n"
                                    "  crank:\n"
                                    "    signal: danger\n"
                                    "    hazard: Moving belts.\n"
                                    "    harm: Crushed fingers.\n"
                                    "    needs: [chocked, area_clear]\n"
                                    "    forbids: [wet]\n";

static inline void walked_exhausted(size_t wanted)
{
    fprintf(stderr, "out of memory: %zu\n", wanted);
    abort();
}

static inline struct source *walked_source(struct arena *arena, const char *name,
                                           const char *bytes)
{
    struct source *source = arena_new(arena, struct source);
    *source = (struct source){text_from(name), text_from(bytes)};
    return source;
}

static inline const struct source *walked_fetch(void *self, struct text name)
{
    (void)self;
    (void)name;
    return NULL;
}

static inline struct text walked_nearest(void *self, struct text name)
{
    (void)self;
    (void)name;
    return (struct text){0};
}

static inline void walked_report(const struct diagnostics *found)
{
    for (const struct diagnostic *d = found->first; d != NULL; d = d->next) {
        if (finding_severity(d->finding) == SEVERITY_ERROR)
            fprintf(stderr, "%u:%u: %.*s [%s]\n", d->place.line, d->place.column,
                    (int)d->message.length, d->message.bytes, finding_code(d->finding));
    }
}

struct walked_files {
    const struct source *procedure, *machine, *safety;
    const struct source *gauges; /* the user's own, or NULL */
    struct shelf shelf;
};

/* False if the files have errors. */
static inline bool walked_load(struct walked *walked, struct walked_files files)
{
    struct arena *arena = &walked->arena;
    struct diagnostics found;
    diagnostics_begin(&found, arena);
    const struct source *const sources[] = {files.safety};
    const struct safety_library *safety = safety_load(sources, 1, &found, arena);
    const struct machine *machine = machine_load(files.machine, &found, arena);
    const struct procedure *procedure =
        procedure_load(files.procedure, safety, files.shelf, &found, arena);
    const struct gauge_list *own =
        files.gauges == NULL ? NULL : gauges_load(files.gauges, &found, arena);
    if (procedure != NULL && machine != NULL)
        walked->fitted = procedure_fit(procedure, machine, own, &found, arena);
    /* Not proven: some of these procedures are unsafe on purpose, so that a gate has something to
     * hold back. */
    bool is_sound = procedure != NULL && !procedure->is_part &&
                    found.count_by_severity[SEVERITY_ERROR] == 0;
    walked->sound = (struct sound_procedure){.procedure = procedure};
    if (!is_sound || walked->fitted == NULL)
        walked_report(&found);
    return is_sound && walked->fitted != NULL;
}

static inline void walked_begin_job(struct walked *walked, unsigned long long seed)
{
    walked->job = job_begin(&walked->sound, walked->fitted, &walked->arena);
    walked->now = (struct instant){.wall = 1700000000000, .steady = 5000, .boot = TEXT("a")};
    struct event started = {.kind = EVENT_STARTED,
                            .number = 1,
                            .at = walked->now,
                            .position = INDEX_NONE,
                            .seed = seed,
                            .zone = TEXT("+00:00")};
    job_apply(walked->job, &started);
}

static inline void walked_open(struct walked *walked)
{
    *walked = (struct walked){0};
    walked->arena = arena_open(64 * MEBIBYTE, walked_exhausted);
    walked->scratch = arena_open(64 * MEBIBYTE, walked_exhausted);
}

static inline void walked_close(struct walked *walked)
{
    arena_close(&walked->arena);
    arena_close(&walked->scratch);
}

static inline void walked_pass(struct walked *walked, long long seconds)
{
    walked->now.wall += seconds * 1000;
    walked->now.steady += seconds * 1000;
}

static inline void walked_apply(struct walked *walked)
{
    for (size_t i = 0; i < walked->last.event_count; i++)
        job_apply(walked->job, &walked->last.events[i]);
}

/* The walk leaves out what it has behind it.  That must make no difference, whatever was answered. */
static inline void walked_whole_walk_agrees(struct walked *walked)
{
    struct arena_mark mark = arena_mark(&walked->scratch);
    struct job whole = *walked->job;
    whole.walked_past = 0;
    whole.past = (struct step_counts){0};
    unsigned done, total, done_from_root, total_from_root;
    job_progress(walked->job, &done, &total);
    job_progress(&whole, &done_from_root, &total_from_root);
    assert_int_equal(done, done_from_root);
    assert_int_equal(total, total_from_root);
    struct stand stand = job_stand(walked->job, walked->now, true, &walked->scratch);
    struct stand from_root = job_stand(&whole, walked->now, true, &walked->scratch);
    assert_int_equal(stand.kind, from_root.kind);
    assert_int_equal(stand.prompt, from_root.prompt);
    assert_true(spot_equal(&stand.spot, &from_root.spot));
    assert_ptr_equal(stand.work, from_root.work);
    assert_ptr_equal(stand.expression, from_root.expression);
    assert_ptr_equal(stand.field, from_root.field);
    assert_ptr_equal(stand.tried, from_root.tried);
    assert_true(text_equal(stand.decided, from_root.decided));
    assert_true(text_equal(stand.name, from_root.name));
    assert_int_equal(stand.item, from_root.item);
    assert_int_equal(stand.position, from_root.position);
    assert_int_equal(stand.is_late, from_root.is_late);
    arena_rewind(&walked->scratch, mark);
}

/* Settles, then looks at the prompt. */
static inline void walked_look(struct walked *walked)
{
    for (;;) {
        struct decision settled = job_settle(walked->job, walked->now, &walked->scratch);
        if (settled.event_count == 0)
            break;
        assert_int_equal(settled.refusal.length, 0);
        for (size_t i = 0; i < settled.event_count; i++)
            job_apply(walked->job, &settled.events[i]);
        walked_whole_walk_agrees(walked);
    }
    walked_whole_walk_agrees(walked);
    walked->prompt = job_prompt(walked->job, walked->now, &walked->scratch);
}

/* `gauges`: the user's own, or NULL. */
static inline void walked_begin_with(struct walked *walked, const char *procedure,
                                     const char *gauges)
{
    walked_open(walked);
    struct walked_files files = {
        .procedure = walked_source(&walked->arena, "procedure.yaml", procedure),
        .machine = walked_source(&walked->arena, "machine.yaml", walked_machine),
        .safety = walked_source(&walked->arena, "safety.yaml", walked_safety),
        .gauges = gauges == NULL ? NULL : walked_source(&walked->arena, "gauges.yaml", gauges),
        .shelf = {NULL, walked_fetch, walked_nearest},
    };
    assert_true(walked_load(walked, files));
    walked_begin_job(walked, 7);
    walked_look(walked);
}

static inline void walked_begin(struct walked *walked, const char *procedure)
{
    walked_begin_with(walked, procedure, NULL);
}

static inline void walked_answer(struct walked *walked, struct answer answer)
{
    walked->last =
        job_decide(walked->job, &walked->prompt, &answer, walked->now, &walked->scratch);
    walked_apply(walked);
    walked_pass(walked, 1);
    walked_look(walked);
}

/* Types a line, and looks what comes next. */
static inline void walked_say(struct walked *walked, const char *typed)
{
    walked_answer(walked, (struct answer){ANSWER_TYPED, text_from(typed)});
}

/* Takes a decision of one of the words. */
static inline void walked_take(struct walked *walked, struct decision decision)
{
    walked->last = decision;
    walked_apply(walked);
    walked_pass(walked, 1);
    walked_look(walked);
}

static inline void walked_stop_and_resume(struct walked *walked)
{
    walked_take(walked, job_pause(walked->job, PAUSED_STOPPED, walked->now, &walked->scratch));
    assert_true(job_is_paused(walked->job));
    walked_take(walked, job_resume(walked->job, walked->now, &walked->scratch));
}

static inline bool walked_says(struct text whole, const char *part)
{
    return text_find(whole, text_from(part)) < whole.length;
}

#define assert_prompt(walked, wanted_kind, wanted_name)                                        \
    do {                                                                                       \
        if (!text_equal((walked)->prompt.name, text_from(wanted_name)))                        \
            print_error("asked: %.*s: %.*s\n", (int)(walked)->prompt.name.length,              \
                        (walked)->prompt.name.bytes, (int)(walked)->prompt.question.length,    \
                        (walked)->prompt.question.bytes);                                      \
        assert_int_equal((walked)->prompt.kind, (wanted_kind));                                \
        assert_true(text_equal((walked)->prompt.name, text_from(wanted_name)));                \
    } while (0)

#define assert_says(text_value, part)                                                          \
    do {                                                                                       \
        struct text said_ = (text_value);                                                      \
        if (!walked_says(said_, (part)))                                                       \
            print_error("'%s' not in: %.*s\n", (part), (int)said_.length, said_.bytes);        \
        assert_true(walked_says(said_, (part)));                                               \
    } while (0)

#define assert_refused(walked, part) assert_says((walked)->last.refusal, part)
#define assert_taken(walked)         assert_int_equal((walked)->last.refusal.length, 0)

static inline bool walked_has_choice(const struct walked *walked, const char *words)
{
    for (size_t i = 0; i < walked->prompt.choices.count; i++) {
        if (text_equal(walked->prompt.choices.texts[i], text_from(words)))
            return true;
    }
    return false;
}

static inline void walked_print_choices(const struct walked *walked)
{
    for (size_t i = 0; i < walked->prompt.choices.count; i++)
        print_error("  %.*s\n", (int)walked->prompt.choices.texts[i].length,
                    walked->prompt.choices.texts[i].bytes);
}

static inline const struct event *walked_newest(const struct walked *walked,
                                                enum event_kind kind)
{
    size_t count;
    const struct event *events = job_events(walked->job, &count);
    while (count > 0 && events[count - 1].kind != kind)
        count--;
    return count > 0 ? &events[count - 1] : NULL;
}

static inline size_t walked_count(const struct walked *walked, enum event_kind kind)
{
    size_t count, found = 0;
    const struct event *events = job_events(walked->job, &count);
    for (size_t i = 0; i < count; i++)
        found += events[i].kind == kind;
    return found;
}

static inline struct value walked_value(const struct walked *walked, const char *name,
                                        struct arena *arena)
{
    struct surroundings surroundings = job_surroundings(walked->job, arena);
    int symbol = procedure_find_symbol(walked->sound.procedure, text_from(name));
    assert_true(symbol >= 0);
    return surroundings.value_of(surroundings.self, (unsigned)symbol, arena);
}

/* --- replaying ----------------------------------------------------------------------------------- */

static inline struct text walked_state(const struct job *job, struct instant now,
                                       struct arena *arena)
{
    const struct condition_state *state = job_conditions(job);
    struct text *parts = arena_array(arena, struct text, state->standing_count + 2);
    size_t count = 0;
    for (size_t i = 0; i < state->standing_count; i++) {
        const struct standing *s = &state->standings[i];
        int bits = s->is_true | s->has_lapsed << 1 | s->is_owed << 2 | s->is_perhaps << 3;
        parts[count++] =
            text_fill(arena, "{}@{}", text_number(arena, bits), text_number(arena, s->shown));
    }
    const struct text *items;
    size_t open = job_open_items(job, now, &items, arena);
    parts[count++] = text_join(arena, items, open, TEXT("; "));
    unsigned done, total;
    job_progress(job, &done, &total);
    parts[count++] =
        text_fill(arena, "{} of {}, void from {}", text_number(arena, done),
                  text_number(arena, total), text_number(arena, job_void_from(job)));
    return text_join(arena, parts, count, TEXT(" | "));
}

/* The events alone give the same job again: the same state and the same question. */
static inline void walked_replays(struct walked *walked)
{
    struct arena arena = arena_open(64 * MEBIBYTE, walked_exhausted);
    struct job *again = job_begin(&walked->sound, walked->fitted, &arena);
    size_t count;
    const struct event *events = job_events(walked->job, &count);
    for (size_t i = 0; i < count; i++)
        job_apply(again, &events[i]);
    struct text live = walked_state(walked->job, walked->now, &arena);
    assert_true(text_equal(live, walked_state(again, walked->now, &arena)));
    struct prompt prompt = job_prompt(again, walked->now, &arena);
    assert_int_equal(prompt.kind, walked->prompt.kind);
    assert_true(text_equal(prompt.question, walked->prompt.question));
    assert_true(text_equal(prompt.name, walked->prompt.name));
    assert_true(spot_equal(&prompt.spot, &walked->prompt.spot));
    assert_int_equal(prompt.choices.count, walked->prompt.choices.count);
    for (size_t i = 0; i < prompt.choices.count; i++)
        assert_true(text_equal(prompt.choices.texts[i], walked->prompt.choices.texts[i]));
    arena_close(&arena);
}

#endif

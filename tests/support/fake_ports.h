#ifndef TESTS_ENGINE_FAKE_PORTS_H
#define TESTS_ENGINE_FAKE_PORTS_H
/* A console, a journal and a clock that are only memory, and a procedure read from tests/sessions. */
#include "conversation/session.h"
#include "procedure/load.h"
#include "verify/verify.h"

#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>

enum { FAKE_EVENTS_MAX = 4000 };

struct fake {
    struct arena arena, scratch;
    const struct procedure *procedure;
    const struct fitted *fitted;
    struct sound_procedure sound;
    struct ranking ranking;
    unsigned ranked; /* how often it was asked for */
    struct diagnostics found;

    struct event *events; /* what the journal keeps */
    size_t event_count;
    unsigned appends, fail_at; /* the append that fails, from 1; 0: none */

    struct instant now;
    long long answer_takes; /* milliseconds */
    bool woke;              /* a wait was slept through: Enter says that the person is back */
    struct page told;       /* everything told and asked */

    /* Answers: lines, or whatever a test makes of it. */
    const char *const *lines;
    size_t line_count, next_line;
    bool (*answer)(struct fake *fake, const struct prompt *prompt, struct answer *answer,
                   struct arena *scratch);
    void *own;

    struct session session;
};

static inline void fake_stop(size_t bytes_wanted)
{
    (void)fprintf(stderr, "out of memory: %zu bytes\n", bytes_wanted);
    abort();
}

static inline struct text fake_read_file(struct arena *arena, const char *path)
{
    FILE *file = fopen(path, "rb");
    if (file == NULL) {
        (void)fprintf(stderr, "cannot open %s\n", path);
        abort();
    }
    enum { MOST = 1 << 18 };
    char *bytes = arena_array(arena, char, MOST);
    size_t length = fread(bytes, 1, MOST, file);
    (void)fclose(file);
    return (struct text){bytes, length};
}

static inline const struct source *fake_source(struct arena *arena, const char *path,
                                               struct text bytes)
{
    struct source *source = arena_new(arena, struct source);
    *source = (struct source){text_copy(arena, text_from(path)), bytes};
    return source;
}

static inline const struct source *fake_fetch(void *self, struct text name)
{
    (void)self;
    (void)name;
    return NULL;
}

static inline struct text fake_nearest(void *self, struct text name)
{
    (void)self;
    (void)name;
    return (struct text){0};
}

static inline void fake_show_findings(struct fake *fake)
{
    struct page page;
    page_begin(&page, &fake->scratch);
    diagnostics_write(&fake->found, &page.writer, &fake->scratch);
    struct text all = page_text(&page);
    (void)fwrite(all.bytes, 1, all.length, stderr);
}

/* --- ports -------------------------------------------------------------------------------- */

/* A no-break space is told as a space, so that what a test looks for can be typed. */
static inline void fake_write(struct fake *fake, struct text words)
{
    const struct text no_break = TEXT("\u00a0");
    for (;;) {
        size_t at = text_find(words, no_break);
        write_text(&fake->told.writer, text_slice(words, 0, at));
        if (at == words.length)
            return;
        write_text(&fake->told.writer, TEXT(" "));
        words = text_slice(words, at + no_break.length, words.length);
    }
}

static inline void fake_tell(void *self, enum tone tone, struct text paragraph)
{
    struct fake *fake = self;
    (void)tone;
    fake_write(fake, paragraph);
    write_text(&fake->told.writer, TEXT("\n"));
}

static inline bool fake_ask(void *self, const struct prompt *prompt, struct answer *answer,
                            struct arena *scratch)
{
    struct fake *fake = self;
    fake_write(fake, prompt->question);
    write_text(&fake->told.writer, TEXT("\n"));
    for (size_t i = 0; i < prompt->choices.count; i++) {
        write_text(&fake->told.writer, TEXT("  "));
        fake_write(fake, prompt->choices.texts[i]);
        write_text(&fake->told.writer, TEXT("\n"));
    }
    fake->now.wall += fake->answer_takes;
    fake->now.steady += fake->answer_takes;
    return fake->answer(fake, prompt, answer, scratch);
}

/* A line typed; one that begins with ! is something else that can happen. */
static inline bool fake_answer_line(struct fake *fake, const struct prompt *prompt,
                                    struct answer *answer, struct arena *scratch)
{
    if (prompt->kind == PROMPT_WAIT && prompt->wakes_at > fake->now.wall) {
        fake->now.steady += prompt->wakes_at - fake->now.wall;
        fake->now.wall = prompt->wakes_at;
        answer->kind = ANSWER_WAKE;
        fake->woke = true;
        return true;
    }
    if (fake->woke) {
        fake->woke = false;
        answer->kind = ANSWER_TYPED;
        return true;
    }
    answer->kind = ANSWER_END;
    if (fake->next_line == fake->line_count)
        return true;
    const char *line = fake->lines[fake->next_line++];
    if (strcmp(line, "!gone") == 0)
        return false;
    if (strcmp(line, "!end") == 0)
        return true;
    answer->kind = ANSWER_INTERRUPT;
    if (strcmp(line, "!interrupt") == 0)
        return true;
    answer->kind = ANSWER_STOP;
    if (strcmp(line, "!stop") == 0)
        return true;
    answer->kind = ANSWER_TYPED;
    answer->typed = text_copy(scratch, text_from(line));
    write_fill(&fake->told.writer, scratch, "> {}\n", answer->typed);
    return true;
}

static inline struct event fake_kept(struct arena *arena, const struct event *event)
{
    struct event kept = *event;
    struct text *const texts[] = {&kept.at.boot, &kept.name,  &kept.typed,  &kept.meaning,
                                  &kept.unit,    &kept.gauge, &kept.source, &kept.reason,
                                  &kept.bytes,   &kept.zone};
    for (size_t i = 0; i < sizeof texts / sizeof *texts; i++)
        *texts[i] = text_copy(arena, *texts[i]);
    return kept;
}

static inline bool fake_append(void *self, const struct event *events, size_t count,
                               struct failure *failure)
{
    struct fake *fake = self;
    if (++fake->appends == fake->fail_at || fake->event_count + count > FAKE_EVENTS_MAX) {
        *failure = (struct failure){TEXT("write the answer to"), TEXT("the record"),
                                    TEXT("no space is left on the device")};
        return false;
    }
    for (size_t i = 0; i < count; i++)
        fake->events[fake->event_count++] = fake_kept(&fake->arena, &events[i]);
    return true;
}

static inline bool fake_file(void *self, struct text path, struct text *bytes,
                             struct arena *arena, struct failure *failure)
{
    (void)self;
    if (text_equal(path, TEXT("pictures/plug.jpg"))) {
        *bytes = text_copy(arena, TEXT("a picture"));
        return true;
    }
    *failure = (struct failure){TEXT("read"), text_copy(arena, path), TEXT("no such file")};
    return false;
}

static inline struct instant fake_now(void *self)
{
    return ((struct fake *)self)->now;
}

/* --- what hangs on each step -------------------------------------------------------------- */

static inline const struct ranking *fake_rank(void *self)
{
    struct fake *fake = self;
    if (fake->ranked++ == 0)
        fake->ranking =
            verify_critical_steps(fake->procedure, NULL, &fake->arena, &fake->scratch);
    return &fake->ranking;
}

/* --- making one --------------------------------------------------------------------------- */

static inline void fake_begin_job(struct fake *fake)
{
    fake->session = (struct session){
        .job = job_begin(&fake->sound, fake->fitted, &fake->arena),
        .console = {fake, fake_ask, fake_tell},
        .journal = {fake, fake_append, fake_file},
        .clock = {fake, fake_now},
        .ranker = {fake, fake_rank},
        .scratch = &fake->scratch,
    };
}

static inline struct fake *fake_open_sources(struct fake *fake, const struct source *procedure,
                                             const struct source *machine)
{
    struct arena *arena = &fake->arena;
    const char *library_path = "tests/sessions/safety.yaml";
    const struct source *library =
        fake_source(arena, library_path, fake_read_file(arena, library_path));
    struct shelf shelf = {NULL, fake_fetch, fake_nearest};
    diagnostics_begin(&fake->found, arena);
    const struct safety_library *safety = safety_load(&library, 1, &fake->found, arena);
    fake->procedure = procedure_load(procedure, safety, shelf, &fake->found, arena);
    const struct machine *sheet = machine_load(machine, &fake->found, arena);
    if (fake->found.count_by_severity[SEVERITY_ERROR] == 0)
        fake->fitted = procedure_fit(fake->procedure, sheet, NULL, &fake->found, arena);
    if (fake->fitted == NULL || fake->procedure->is_part) {
        fake_show_findings(fake);
        abort();
    }
    /* Not proven: some of these procedures are unsafe on purpose, so that a gate has something to
     * hold back. */
    fake->sound = (struct sound_procedure){.procedure = fake->procedure};
    fake->events = arena_array(arena, struct event, FAKE_EVENTS_MAX);
    /* 2026-03-31T08:00:00Z */
    fake->now = (struct instant){1774944000000, 1000, TEXT("boot")};
    fake->answer_takes = 1000;
    fake->answer = fake_answer_line;
    page_begin(&fake->told, arena);
    fake_begin_job(fake);
    return fake;
}

static inline struct fake *fake_new(void)
{
    struct fake *fake = calloc(1, sizeof *fake);
    if (fake == NULL)
        abort();
    fake->arena = arena_open(64 * MEBIBYTE, fake_stop);
    fake->scratch = arena_open(64 * MEBIBYTE, fake_stop);
    return fake;
}

static inline struct fake *fake_open(const char *procedure, const char *machine)
{
    struct fake *fake = fake_new();
    struct arena *arena = &fake->arena;
    return fake_open_sources(fake,
                             fake_source(arena, procedure, fake_read_file(arena, procedure)),
                             fake_source(arena, machine, fake_read_file(arena, machine)));
}

/* The procedure as text; the machine is that of tests/sessions. */
static inline struct fake *fake_open_text(const char *procedure)
{
    struct fake *fake = fake_new();
    struct arena *arena = &fake->arena;
    const char *machine = "tests/sessions/machine.yaml";
    return fake_open_sources(fake, fake_source(arena, "test.yaml", text_from(procedure)),
                             fake_source(arena, machine, fake_read_file(arena, machine)));
}

static inline void fake_close(struct fake *fake)
{
    arena_close(&fake->scratch);
    arena_close(&fake->arena);
    free(fake);
}

static inline void fake_type(struct fake *fake, const char *const *lines, size_t count)
{
    fake->lines = lines;
    fake->line_count = count;
    fake->next_line = 0;
}

static inline struct event fake_started(void)
{
    return (struct event){.kind = EVENT_STARTED,
                          .seed = 7,
                          .zone = TEXT("+01:00"),
                          .proven = {TEXT("sound"), 120, 4, TEXT("banksman 0.1")}};
}

static inline enum session_end fake_start(struct fake *fake)
{
    struct event started = fake_started();
    return session_start(&fake->session, &started);
}

/* As another process would: a new job from what the journal keeps. */
static inline enum session_end fake_resume(struct fake *fake)
{
    fake_begin_job(fake);
    for (size_t i = 0; i < fake->event_count; i++)
        job_apply(fake->session.job, &fake->events[i]);
    return session_resume(&fake->session);
}

static inline bool fake_was_told(const struct fake *fake, const char *words)
{
    struct text all = page_text(&fake->told);
    return text_find(all, text_from(words)) < all.length;
}

#endif

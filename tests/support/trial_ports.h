#ifndef TRIAL_PORTS_H
#define TRIAL_PORTS_H
/*
 * trial_ports.h - whole sessions of an invented trial on an invented engine of four cylinders.
 */
#include "conversation/rehearsal.h"
#include "support/fake_ports.h"

#define TRIAL_MACHINE                                                                          \
    "machine: alder_engine\n"                                                                  \
    "title: Alder engine, four cylinders\n"                                                    \
    "positions:\n"                                                                             \
    "  cylinder: [1, 2, 3, 4]\n"                                                               \
    "firing_order: [1, 3, 4, 2]\n"

/* `keys`: of the trial, one on a line with four spaces; `times`: readings of each, before and after;
 * `base`, `retest`: their units or gauges; `head`: what declares those. */
#define TRIAL_PROCEDURE_READ(head, keys, base, retest, times)                                  \
    "procedure: soaking\n"                                                                     \
    "title: Soak the cylinders\n"                                                              \
    "revision: 1\n"                                                                            \
    "about: A trial.\n" head "trials:\n"                                                       \
    "  soak:\n"                                                                                \
    "    ask: Did the soak help?\n"                                                            \
    "    before: base\n"                                                                       \
    "    after: retest\n"                                                                      \
    "    better: higher\n" keys "steps:\n"                                                     \
    "  - step: crank_before\n"                                                                 \
    "    each: cylinder\n"                                                                     \
    "    do: Read cylinder {cylinder}.\n"                                                      \
    "    record: {base: {" base ", readings: " times "}}\n"                                    \
    "  - step: warm_before\n"                                                                  \
    "    do: Read the oil.\n"                                                                  \
    "    record: {warm_before: {unit: K}}\n"                                                   \
    "  - step: lots\n"                                                                         \
    "    do: Write {where(soak.treated)} on the covers.\n"                                     \
    "    allots: soak\n"                                                                       \
    "  - step: dose\n"                                                                         \
    "    each: cylinder\n"                                                                     \
    "    in: soak.treated\n"                                                                   \
    "    do: Pour the dose into cylinder {cylinder}.\n"                                        \
    "  - step: crank_after\n"                                                                  \
    "    each: cylinder\n"                                                                     \
    "    do: Read cylinder {cylinder} again.\n"                                                \
    "    record: {retest: {" retest ", readings: " times "}}\n"                                \
    "  - step: warm_after\n"                                                                   \
    "    do: Read the oil.\n"                                                                  \
    "    record: {warm_after: {unit: K}}\n"                                                    \
    "results:\n"                                                                               \
    "  - result: gain\n"                                                                       \
    "    value: soak.effect\n"                                                                 \
    "    unit: bar\n"

#define TRIAL_PROCEDURE(keys, times)                                                           \
    TRIAL_PROCEDURE_READ("", keys, "unit: bar", "unit: bar", times)

#define TRIAL_ANSWERS(before, after, rest)                                                     \
    "procedure: soaking\n"                                                                     \
    "answers:\n"                                                                               \
    "  crank_before: {base: " before "}\n"                                                     \
    "  warm_before: 350 K\n"                                                                   \
    "  crank_after: {retest: " after "}\n" rest

struct tried {
    struct fake *fake;
    struct rehearsal *rehearsal;
    enum session_end end;
    struct diagnostics found;
};

static inline struct fake *trial_open_on(const char *machine, const char *procedure)
{
    struct fake *fake = fake_new();
    struct arena *arena = &fake->arena;
    return fake_open_sources(fake, fake_source(arena, "soaking.yaml", text_from(procedure)),
                             fake_source(arena, "alder.yaml", text_from(machine)));
}

static inline struct fake *trial_open(const char *procedure)
{
    return trial_open_on(TRIAL_MACHINE, procedure);
}

static inline struct tried try_out_on(const char *machine, const char *procedure,
                                      const char *answers_text, unsigned long long seed)
{
    struct tried tried = {.fake = trial_open_on(machine, procedure)};
    struct fake *fake = tried.fake;
    diagnostics_begin(&tried.found, &fake->arena);
    const struct answers *answers =
        answers_load(fake_source(&fake->arena, "answers.yaml", text_from(answers_text)),
                     &tried.found, &fake->arena);
    struct console echo = {fake, NULL, fake_tell};
    tried.rehearsal = rehearsal_new(answers, fake->fitted, echo, fake->now, &fake->arena);
    fake->session.console = rehearsal_console(tried.rehearsal);
    fake->session.clock = rehearsal_clock(tried.rehearsal);
    struct event started = fake_started();
    started.seed = seed;
    started.is_rehearsal = true;
    tried.end = session_start(&fake->session, &started);
    rehearsal_judge(tried.rehearsal, fake->session.job, &tried.found, &fake->arena);
    if (tried.found.first != NULL) {
        fake->found = tried.found;
        fake_show_findings(fake);
    }
    return tried;
}

static inline struct tried try_out(const char *procedure, const char *answers_text,
                                   unsigned long long seed)
{
    return try_out_on(TRIAL_MACHINE, procedure, answers_text, seed);
}

static inline struct trial_finding trial_found(const struct tried *tried)
{
    return outcome_work_out(tried->fake->session.job, &tried->fake->arena).trials[0];
}

#endif

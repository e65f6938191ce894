#include "base/calendar.h"
#include "command.h"
#include "conversation/rehearsal.h"
#include "report/card_writers.h"
#include "terminal/console.h"

#include <stdlib.h>
#include <string.h>
#include <unistd.h>

static struct terminal_settings settings_now(struct world *world, bool has_person)
{
    bool is_terminal = isatty(STDIN_FILENO) && isatty(STDOUT_FILENO);
    const char *kind = getenv("TERM");
    const char *no_colour = getenv("NO_COLOR");
    bool is_dumb = kind == NULL || strcmp(kind, "dumb") == 0;
    return (struct terminal_settings){
        .is_interactive = is_terminal && has_person,
        .has_colour =
            isatty(STDOUT_FILENO) && !is_dumb && (no_colour == NULL || no_colour[0] == '\0'),
        .history_path = text_fill(&world->library, "{}/history", world->home)};
}

enum status print_document(struct world *world, struct card card)
{
    struct writer out = standard_output();
    text_card_write(&card, terminal_columns(0), &out, &world->scratch);
    return finish_output(&out) ? STATUS_FINE : STATUS_WORLD_FAILED;
}

static struct text role_words(enum source_role role)
{
    switch (role) {
    case ROLE_PROCEDURE:
        return TEXT("procedure");
    case ROLE_FOLLOWED:
        return TEXT("part");
    case ROLE_SAFETY:
        return TEXT("safety library");
    case ROLE_MACHINE:
        return TEXT("machine sheet");
    case ROLE_GAUGES:
        return TEXT("gauges");
    case ROLE_ANSWERS:
        return TEXT("answers");
    }
    return TEXT("");
}

/* The card with the digests of the files and of the job, as the record has them now. */
enum status print_card(struct world *world, const struct walk *walk)
{
    struct record *record = walk->record;
    unsigned job_id = walk->job_id;
    struct arena *arena = &world->scratch;
    struct failure failure;
    const struct job_source *sources;
    const struct job_summary *jobs;
    size_t source_count;
    size_t job_count;
    if (!record_load_sources(record, job_id, &sources, &source_count, arena, &failure) ||
        !record_list_jobs(record, &jobs, &job_count, arena, &failure))
        return fail(failure);
    struct card_file *files = arena_array(arena, struct card_file, source_count);
    for (size_t i = 0; i < source_count; i++)
        files[i] =
            (struct card_file){role_words(sources[i].role), sources[i].name, sources[i].digest};
    struct text digest = {0};
    for (size_t i = 0; i < job_count; i++)
        if (jobs[i].id == job_id)
            digest = jobs[i].digest;
    struct card_heading heading = {job_id, TEXT("banksman " BANKSMAN_VERSION),
                                   loaded_ranking(world, walk->loaded)};
    struct card card = card_with_record(card_build(walk->job, heading, arena), files,
                                        source_count, digest, arena);
    return print_document(world, card);
}

static enum status say_end(struct world *world, const struct walk *walk, enum session_end end,
                           struct failure failure)
{
    struct arena *arena = &world->scratch;
    struct text number = text_number(arena, walk->job_id);
    switch (end) {
    case SESSION_COMPLETED:
    case SESSION_LEFT_OPEN:
        print_text(text_fill(arena, "\nThe job card: banksman card {}\n", number));
        return end == SESSION_COMPLETED ? STATUS_FINE : STATUS_NO;
    case SESSION_PAUSED:
        print_text(text_fill(arena,
                             "\nJob {} is kept.\nTo go on: banksman resume {}\n"
                             "To see what is out of its normal state:\n"
                             "  banksman makesafe {}\n",
                             number, number, number));
        return STATUS_NO;
    case SESSION_WORLD_FAILED:
        (void)fail(failure);
        print_text(text_fill(
            arena, "What was acknowledged is kept.\nTo go on: banksman resume {}\n", number));
        return STATUS_WORLD_FAILED;
    }
    return STATUS_FINE;
}

struct to_rank {
    struct world *world;
    struct loaded *loaded;
};

static const struct ranking *rank(void *self)
{
    const struct to_rank *to_rank = self;
    return loaded_ranking(to_rank->world, to_rank->loaded);
}

static enum session_end run_session(struct world *world, const struct walk *walk,
                                    struct console console, struct clock clock,
                                    const struct event *started, struct failure *failure)
{
    struct to_rank to_rank = {world, walk->loaded};
    struct session session = {.job = walk->job,
                              .console = console,
                              .journal = record_journal(walk->record, walk->job_id),
                              .clock = clock,
                              .ranker = {&to_rank, rank},
                              .scratch = &world->scratch};
    session.journal.read_file = photo_read;
    enum session_end end =
        started != NULL ? session_start(&session, started) : session_resume(&session);
    *failure = session.failure;
    return end;
}

static unsigned digits(struct text text, size_t at, size_t count)
{
    unsigned number = 0;
    for (size_t i = at; i < at + count; i++)
        number = number * 10 + (unsigned)(text.bytes[i] - '0');
    return number;
}

/* When the answers file says that its job begins: 2026-03-31T08:00, which the loader has looked at,
 * perhaps with seconds and a zone.  Without it the job begins now. */
static struct instant rehearsal_begins(const struct answers *answers)
{
    struct instant begins = system_clock().now(NULL);
    struct text written = answers->begins;
    if (written.length < 16)
        return begins;
    struct date date = {(int)digits(written, 0, 4), digits(written, 5, 2),
                        digits(written, 8, 2)};
    bool has_seconds = written.length >= 19 && written.bytes[16] == ':';
    long long seconds = calendar_days(date) * 86400 + digits(written, 11, 2) * 3600LL +
                        digits(written, 14, 2) * 60LL;
    if (has_seconds)
        seconds += digits(written, 17, 2);
    struct text zone = text_slice(written, has_seconds ? 19 : 16, written.length);
    begins.wall = (seconds - 60LL * calendar_zone_minutes(zone)) * 1000;
    return begins;
}

/* With an answers file the session goes on by itself after each interruption the file asks for. */
static enum status rehearse(struct world *world, const struct walk *walk, struct console echo)
{
    struct failure failure = {0};
    struct rehearsal *rehearsal = rehearsal_new(walk->answers, walk->loaded->fitted, echo,
                                                rehearsal_begins(walk->answers), &world->job);
    const struct event *started = walk->started;
    enum session_end end;
    do {
        end = run_session(world, walk, rehearsal_console(rehearsal), rehearsal_clock(rehearsal),
                          started, &failure);
        started = NULL;
    } while (end == SESSION_PAUSED && rehearsal_was_interrupted(rehearsal));
    if (end == SESSION_COMPLETED || end == SESSION_LEFT_OPEN)
        (void)print_card(world, walk);
    struct diagnostics found;
    diagnostics_begin(&found, &world->files);
    rehearsal_judge(rehearsal, walk->job, &found, &world->files);
    diagnostics_sort(&found);
    print_findings(&found, &world->scratch);
    enum status status = say_end(world, walk, end, failure);
    bool is_wrong = found.count_by_severity[SEVERITY_ERROR] > 0;
    return status == STATUS_FINE && is_wrong ? STATUS_NO : status;
}

enum status walk_job(struct world *world, const struct walk *walk)
{
    struct terminal_settings settings = settings_now(world, walk->answers == NULL);
    struct terminal *terminal = terminal_open(settings, &world->library);
    struct console console = terminal_console(terminal);
    enum status status;
    if (walk->answers != NULL) {
        status = rehearse(world, walk, console);
    } else {
        struct failure failure = {0};
        enum session_end end =
            run_session(world, walk, console, system_clock(), walk->started, &failure);
        bool has_ended = end == SESSION_COMPLETED || end == SESSION_LEFT_OPEN;
        /* On a screen the results were just told; the card would push them off it. */
        if (has_ended && !settings.is_interactive)
            (void)print_card(world, walk);
        status = say_end(world, walk, end, failure);
    }
    terminal_close(terminal);
    return status;
}

#ifndef COMMAND_COMMAND_H
#define COMMAND_COMMAND_H
/*
 * command.h - what every command of the program has in common.
 *
 * Purpose   The one layer that knows files, the environment, the clock and exit
 *           statuses.  Each command is one file with one `struct command`.
 * Owns      argv, exit status, where things live, wiring the ports together.
 * May call  everything.
 *
 * To add a command: its file with its `struct command`; its line in `commands`
 * in main.c; its case in tests/command/test_commands.py (which asks every
 * command for --help); a line in README.md.
 */
#include "base/arena.h"
#include "base/failure.h"
#include "procedure/load.h"
#include "record/record.h"
#include "report/card.h"
#include "verify/verify.h"

enum status {
    STATUS_FINE = 0,
    STATUS_NO = 1,
    STATUS_USED_WRONGLY = 2,
    STATUS_WORLD_FAILED = 3
};

/* Where things are, and memory.  One for the run of the program. */
struct world {
    struct arena library;       /* the safety library: lives as long as the program */
    struct arena files;         /* what was read and made of it: rewound per file by check */
    struct arena job;           /* a job and its events */
    struct arena scratch;       /* one turn */
    struct text home;           /* the user's data folder */
    struct text shipped;        /* the folder of the procedures that ship; empty if not found */
    const struct text *folders; /* where procedures are looked for, in order */
    size_t folder_count;
    const struct safety_library *safety;
    const struct source *const *safety_sources;
    size_t safety_source_count;
};

struct command {
    const char *name, *arguments, *summary;
    enum status (*run)(struct world *world, int argc, char **argv);
};

extern const struct command check_command, list_command, kit_command, start_command,
    resume_command, makesafe_command, jobs_command, card_command, compare_command,
    history_command, calc_command, new_command;

/* --- world.c ---------------------------------------------------------------------------- */

void world_begin(struct world *world);
void world_end(struct world *world);

/* A regular file, whole; larger ones are refused. */
enum { FILE_BYTES_MAX = 4 * 1024 * 1024, PHOTO_BYTES_MAX = 24 * 1024 * 1024 };
bool file_read_up_to(size_t bytes_max, struct text path, const struct source **source,
                     struct arena *arena, struct failure *failure);
bool file_read(struct text path, const struct source **source, struct arena *arena,
               struct failure *failure);
bool file_exists(struct text path, struct arena *scratch);
/* Makes the folder and those above it. */
bool folder_make(struct text path, struct arena *scratch, struct failure *failure);

/* A procedure, machine sheet or answers file by its name or by a path (which has a / or ends in
 * .yaml).  STATUS_USED_WRONGLY when there is none of that name, with a suggestion. */
enum thing { THING_PROCEDURE, THING_MACHINE, THING_ANSWERS };
enum status thing_find(struct world *world, enum thing thing, struct text name,
                       const struct source **source, struct failure *failure);
/* Every name of that kind, sorted, without doubles. */
size_t thing_list(struct world *world, enum thing thing, const struct text **names,
                  struct arena *arena);
struct shelf world_shelf(struct world *world);

/* The safety library: what ships, then the user's own.  False after printing why. */
bool world_load_safety(struct world *world);

/* --- earlier.c: what jobs before left behind ------------------------------------------------- */

struct loaded;
/* Fills in the earlier values of a job that starts; false if the record cannot be read.  A job that cannot
 * be relied on is passed over, with a warning. */
bool find_earlier(struct world *world, struct record *record, const struct loaded *loaded,
                  struct event *started, struct failure *failure);

/* --- errand.c: which procedure, on which machine ------------------------------------------ */

struct errand {
    struct text procedure, machine, gauges;
    bool is_told_elsewhere; /* an answers file says what is not typed */
};
/* For argp's children; their input is a struct errand. */
extern const struct argp errand_argp;

/* --- loaded.c: a procedure on a machine, ready to be begun ----------------------------- */

struct loaded {
    const struct procedure *procedure;
    const struct machine *machine;
    const struct gauge_list *gauges; /* NULL: none of the user's own */
    const struct fitted *fitted;
    struct sound_procedure sound;
    const struct job_source *sources; /* every file it rests on */
    size_t source_count;
    const struct ranking *ranking; /* NULL until it is first asked for, see loaded_ranking() */
};
/* What hangs on each step, found when it is first asked for; it refuses nothing. */
const struct ranking *loaded_ranking(struct world *world, struct loaded *loaded);
/* Findings are printed; the status says why when it is not STATUS_FINE. */
enum status load_for_job(struct world *world, struct text procedure, struct text machine,
                         struct text gauges, struct loaded *loaded);
/* Says that a part is not started alone, and what uses it; STATUS_NO. */
enum status refuse_part(struct world *world, const struct procedure *part);
/* From what the record kept, without looking at any file. */
enum status load_from_record(struct world *world, struct record *record, unsigned job_id,
                             struct loaded *loaded);
/* The same, printing nothing: false with a failure, empty before, or without if today's program makes
 * nothing of those files. */
bool load_from_record_quietly(struct world *world, struct record *record, unsigned job_id,
                              struct loaded *loaded, struct failure *failure);
/* The job with its events applied, as the record has it. */
enum status replay_from_record(struct world *world, struct record *record, unsigned job_id,
                               const struct loaded *loaded, struct job **job);
bool replay_quietly(struct world *world, struct record *record, unsigned job_id,
                    const struct loaded *loaded, struct job **job, struct failure *failure);

bool open_record(struct world *world, struct record **record);
/* A job's number from the command line.  When text is empty: the latest of all, or else the latest to
 * be resumed, which a rehearsal never is: somebody at the machine would be told of another job. */
enum status choose_job(struct world *world, struct record *record, struct text typed,
                       bool finished_too, unsigned *job_id);

/* --- walk.c: a session on the ports of this machine ------------------------------------------ */

struct walk {
    struct record *record;
    unsigned job_id;
    struct loaded *loaded;
    struct job *job;
    const struct event *started;   /* a new job; NULL: one to be resumed */
    const struct answers *answers; /* NULL: a person */
};
enum status walk_job(struct world *world, const struct walk *walk);
/* The journal's read_file: a picture by its path as typed, perhaps from ~/; anything else is
 * refused in words. */
bool photo_read(void *self, struct text typed, struct text *bytes, struct arena *arena,
                struct failure *failure);
enum status print_card(struct world *world, const struct walk *walk);
/* At the window's width; STATUS_WORLD_FAILED if it could not be written. */
enum status print_document(struct world *world, struct card card);

/* --- output.c: what is printed, and the time ------------------------------------------------------------- */

enum status fail(struct failure failure); /* prints; STATUS_WORLD_FAILED */
enum status refuse(struct text why);      /* prints; STATUS_USED_WRONGLY */
void warn(struct text what);              /* prints; the work goes on */
void print_findings(const struct diagnostics *found, struct arena *scratch);
/* Paragraphs that end in newlines, broken between words to the window's width.  A line that begins
 * with spaces goes on behind as many; a word wider than the window stays whole, to be copied. */
void print_text(struct text text);
struct writer standard_output(void);
/* Flushes; false if anything failed, but for a reader that left: `card | head` has what it wants. */
bool finish_output(const struct writer *writer);
bool reader_has_left(void); /* of standard output, a pipe */

struct clock system_clock(void);
struct text zone_now(struct arena *arena); /* "+01:00" */

#endif

#include "command.h"

#include <argp.h>
#include <locale.h>
#include <signal.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

const char *argp_program_version = "banksman " BANKSMAN_VERSION;

static const struct command *const commands[] = {
    &list_command,    &check_command,    &kit_command,  &start_command,
    &resume_command,  &makesafe_command, &jobs_command, &card_command,
    &compare_command, &history_command,  &calc_command, &new_command,
};
enum { COMMAND_COUNT = sizeof commands / sizeof commands[0] };

static const char about[] =
    "Walks a person through the service of an engine or a vehicle, step by step.\v"
    "Each command explains itself: banksman COMMAND --help\n\n"
    "A first job, on the demo machine:\n"
    "  banksman list\n"
    "  banksman kit compression_test -m rookdale_van\n"
    "  banksman start compression_test -m rookdale_van\n\n"
    "A procedure is looked for in ./procedures first, then in the folders of $BANKSMAN_PATH, "
    "in "
    "the data folder and in what was installed; the first that has it is used.\n\n"
    "The machine's own manual, local rules and licensed practice come before what "
    "this program says.  It proves nothing about the machine in front of you.\n\n"
    "Exit status: 0 fine; 1 the answer is no; 2 used wrongly; 3 the world failed.";

/* The table of commands, as it stands in the help: argp frees what is returned. */
static char *list_commands(int key, const char *text, void *input)
{
    (void)input;
    if (key != ARGP_KEY_HELP_PRE_DOC)
        return text == NULL ? NULL : strdup(text);
    static const char row[] = "  %-33s %s\n";
    char listing[4096];
    int used = snprintf(listing, sizeof listing, "%s\n\n", text == NULL ? "" : text);
    for (size_t i = 0; i < COMMAND_COUNT; i++) {
        char usage[64];
        (void)snprintf(usage, sizeof usage, "%s %s", commands[i]->name, commands[i]->arguments);
        used += snprintf(listing + used, sizeof listing - (size_t)used, row, usage,
                         commands[i]->summary);
    }
    return strdup(listing);
}

struct chosen {
    const struct command *command;
    int argc;
    char **argv;
};

static error_t take_word(int key, char *word, struct argp_state *state)
{
    struct chosen *chosen = state->input;
    if (key == ARGP_KEY_NO_ARGS)
        argp_usage(state);
    if (key != ARGP_KEY_ARG)
        return ARGP_ERR_UNKNOWN;
    struct text names[COMMAND_COUNT];
    for (size_t i = 0; i < COMMAND_COUNT; i++) {
        names[i] = text_from(commands[i]->name);
        if (strcmp(word, commands[i]->name) == 0)
            chosen->command = commands[i];
    }
    if (chosen->command == NULL) {
        struct text near = text_nearest(text_from(word), names, COMMAND_COUNT);
        if (near.length > 0)
            argp_error(state, "there is no command '%s'; did you mean '%.*s'?", word,
                       (int)near.length, near.bytes);
        argp_error(state, "there is no command '%s'", word);
    }
    chosen->argc = state->argc - state->next + 1;
    chosen->argv = state->argv + state->next - 1;
    state->next = state->argc; /* the rest is the command's */
    return 0;
}

static const struct argp argp = {NULL,          take_word, "COMMAND [ARGUMENT...]", about, NULL,
                                 list_commands, NULL};

/* Whatever was printed, by argp too, must have gone out; a full disk is a failure. */
static void check_output(void)
{
    if ((fflush(stdout) == 0 && !ferror(stdout)) || reader_has_left())
        return;
    (void)fputs("banksman: cannot write to standard output\n", stderr);
    _exit(STATUS_WORLD_FAILED);
}

/* What is typed on the command line is shown back in messages, and must not repaint the terminal. */
static bool are_sound(int argc, char **argv)
{
    for (int i = 1; i < argc; i++)
        if (text_check(text_from(argv[i]), NULL) != TEXT_SOUND)
            return false;
    return true;
}

int main(int argc, char **argv)
{
    (void)atexit(check_output);
    /* A file that may grow no further is for SQLite to report, a reader that left for us. */
    (void)signal(SIGXFSZ, SIG_IGN);
    (void)signal(SIGPIPE, SIG_IGN);
    if (!are_sound(argc, argv))
        return (int)refuse(TEXT("an argument holds a character that cannot be used: a control "
                                "character, or bytes that are no UTF-8"));
    /* Only how characters are shown: a comma locale must not reach the numbers. */
    (void)setlocale(LC_CTYPE, "");
    argp_err_exit_status = STATUS_USED_WRONGLY;
    struct chosen chosen = {0};
    (void)argp_parse(&argp, argc, argv, ARGP_IN_ORDER, NULL, &chosen);

    static char name[64];
    (void)snprintf(name, sizeof name, "banksman %s", chosen.command->name);
    chosen.argv[0] = name;
    struct world world;
    world_begin(&world);
    enum status status = chosen.command->run(&world, chosen.argc, chosen.argv);
    world_end(&world);
    return (int)status;
}

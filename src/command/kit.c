#include "command.h"

#include <argp.h>

struct options {
    struct text procedure, machine, gauges;
};

static const struct argp_option offered[] = {
    {"machine", 'm', "MACHINE", 0, "The machine sheet, by name or path", 0},
    {"gauges", 'g', "FILE", 0, "Your own gauges", 0},
    {0},
};

static error_t take(int key, char *word, struct argp_state *state)
{
    struct options *options = state->input;
    switch (key) {
    case 'm':
        options->machine = text_from(word);
        return 0;
    case 'g':
        options->gauges = text_from(word);
        return 0;
    case ARGP_KEY_ARG:
        if (options->procedure.length > 0)
            argp_error(state, "one procedure at a time");
        options->procedure = text_from(word);
        return 0;
    case ARGP_KEY_END:
        if (options->procedure.length == 0)
            argp_error(state, "which procedure? `banksman list` shows them");
        if (options->machine.length == 0)
            argp_error(state, "which machine? say -m MACHINE; `banksman list` shows them");
        return 0;
    default: /* argp's keys are open-ended */
        return ARGP_ERR_UNKNOWN;
    }
}

static const struct argp argp = {
    offered,
    take,
    "PROCEDURE -m MACHINE",
    "Lists what to lay out before the work begins: tools, parts, fluids, gauges, protective "
    "equipment, and the manual's values that are still to be looked up.",
    NULL,
    NULL,
    NULL};

static enum status run(struct world *world, int argc, char **argv)
{
    struct options options = {0};
    (void)argp_parse(&argp, argc, argv, 0, NULL, &options);
    struct loaded loaded;
    enum status status =
        load_for_job(world, options.procedure, options.machine, options.gauges, &loaded);
    if (status == STATUS_FINE)
        status = print_document(world, kit_build(loaded.fitted, &world->scratch));
    return status;
}

const struct command kit_command = {"kit", "PROCEDURE -m MACHINE",
                                    "tools, parts, fluids, gauges to lay out first", run};

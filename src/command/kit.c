#include "command.h"

#include <argp.h>

enum { OPTION_STEPS = 1 };

struct options {
    struct errand errand;
    bool every_step;
};

static const struct argp_option offered[] = {
    {"steps", OPTION_STEPS, NULL, 0,
     "What follows if a step is ticked and not done, step by step", 0},
    {0},
};

/* NOLINTNEXTLINE(readability-non-const-parameter): as argp calls it */
static error_t take(int key, char *word, struct argp_state *state)
{
    (void)word;
    struct options *options = state->input;
    if (key == ARGP_KEY_INIT)
        state->child_inputs[0] = &options->errand;
    else if (key == OPTION_STEPS)
        options->every_step = true;
    else
        return ARGP_ERR_UNKNOWN;
    return 0;
}

static const struct argp_child children[] = {{&errand_argp, 0, NULL, 0}, {0}};
static const struct argp argp = {
    offered,
    take,
    NULL,
    "Lists what to lay out before the work begins: tools, parts, fluids, gauges, protective "
    "equipment, and the manual's values that are still to be looked up.",
    children,
    NULL,
    NULL};

static enum status run(struct world *world, int argc, char **argv)
{
    struct options options = {0};
    const struct errand *told = &options.errand;
    (void)argp_parse(&argp, argc, argv, 0, NULL, &options);
    struct loaded loaded;
    enum status status =
        load_for_job(world, told->procedure, told->machine, told->gauges, &loaded);
    if (status != STATUS_FINE)
        return status;
    const struct day today = {system_clock().now(NULL).wall, zone_now(&world->files)};
    status = print_document(world, kit_build(loaded.fitted, loaded_ranking(world, &loaded),
                                             options.every_step, &today, &world->scratch));
    return status;
}

const struct command kit_command = {"kit", "PROCEDURE -m MACHINE",
                                    "tools, parts, fluids and gauges to lay out", run};

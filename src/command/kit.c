#include "command.h"

#include <argp.h>

/* NOLINTNEXTLINE(readability-non-const-parameter): as argp calls it */
static error_t take(int key, char *word, struct argp_state *state)
{
    (void)word;
    if (key != ARGP_KEY_INIT)
        return ARGP_ERR_UNKNOWN;
    state->child_inputs[0] = state->input;
    return 0;
}

static const struct argp_child children[] = {{&errand_argp, 0, NULL, 0}, {0}};
static const struct argp argp = {
    NULL,
    take,
    NULL,
    "Lists what to lay out before the work begins: tools, parts, fluids, gauges, protective "
    "equipment, and the manual's values that are still to be looked up.",
    children,
    NULL,
    NULL};

static enum status run(struct world *world, int argc, char **argv)
{
    struct errand told = {0};
    (void)argp_parse(&argp, argc, argv, 0, NULL, &told);
    struct loaded loaded;
    enum status status =
        load_for_job(world, told.procedure, told.machine, told.gauges, &loaded);
    if (status != STATUS_FINE)
        return status;
    const struct day today = {system_clock().now(NULL).wall, zone_now(&world->files)};
    status = print_document(world, kit_build(loaded.fitted, loaded_ranking(world, &loaded),
                                             &today, &world->scratch));
    return status;
}

const struct command kit_command = {"kit", "PROCEDURE -m MACHINE",
                                    "tools, parts, fluids and gauges to lay out", run};

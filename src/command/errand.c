/* What the commands about a procedure on a machine are told in the same way. */
#include "command.h"

#include <argp.h>

static const struct argp_option offered[] = {
    {"machine", 'm', "MACHINE", 0, "The machine sheet, by name or path", 0},
    {"gauges", 'g', "FILE", 0,
     "Your own gauges; without it gauges.yaml in the data folder, if there is one", 0},
    {0},
};

static error_t take(int key, char *word, struct argp_state *state)
{
    struct errand *errand = state->input;
    switch (key) {
    case 'm':
        errand->machine = text_from(word);
        return 0;
    case 'g':
        errand->gauges = text_from(word);
        return 0;
    case ARGP_KEY_ARG:
        if (errand->procedure.length > 0)
            argp_error(state, "one procedure at a time");
        errand->procedure = text_from(word);
        return 0;
    case ARGP_KEY_END:
        if (errand->procedure.length == 0 && !errand->is_told_elsewhere)
            argp_error(state, "which procedure? `banksman list` shows them");
        if (errand->machine.length == 0 && !errand->is_told_elsewhere)
            argp_error(state, "which machine? say -m MACHINE; `banksman list` shows them, "
                              "`banksman new machine NAME` makes one");
        return 0;
    default: /* argp's keys are open-ended */
        return ARGP_ERR_UNKNOWN;
    }
}

const struct argp errand_argp = {offered, take, "PROCEDURE -m MACHINE", NULL, NULL, NULL, NULL};

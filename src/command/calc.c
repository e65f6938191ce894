#include "command.h"

#include <argp.h>
#include <string.h>

struct options {
    char **words;
    int count;
};

// NOLINTNEXTLINE(readability-non-const-parameter): the type is argp's
static error_t take(int key, char *word, struct argp_state *state)
{
    struct options *options = state->input;
    (void)word;
    if (key == ARGP_KEY_NO_ARGS)
        argp_usage(state);
    if (key != ARGP_KEY_ARGS)
        return ARGP_ERR_UNKNOWN;
    options->words = state->argv + state->next;
    options->count = state->argc - state->next;
    return 0;
}

static const struct argp argp = {
    NULL,
    take,
    "EXPRESSION",
    "Works out an expression: numbers with units, comparisons, functions.\v"
    "Examples (quote them, so that the shell leaves them alone):\n"
    "  banksman calc '171 psi in bar'\n"
    "  banksman calc '25 N.m in lbf.ft'\n"
    "  banksman calc '1731 mL / 4 / (9.7 - 1)'          room above the piston\n"
    "  banksman calc 'pi / 4 * (81 mm)^2 * 84 mm in mL'   swept by one piston\n"
    "  banksman calc '0.6 L / 1850 km in L/1000km'      oil used\n"
    "  banksman calc '30 mpg in L/100km'      US gallons; else imp.mpg\n"
    "  banksman calc '(11.2 ± 0.2 bar) / (12.1 ± 0.2 bar)'\n"
    "  banksman calc '25 N.m ± 4 % in lbf.ft'\n"
    "  banksman calc '60 N.m * 300 mm / (300 mm + 50 mm)'   to set, with extension\n"
    "  banksman calc 'star(5)'\n"
    "A unit behind `in` or `to` is what it is shown in.  A decimal comma will do.\n"
    "An expression that begins with a minus comes after --.\n"
    "Units and functions are listed in docs/expressions.md.",
    NULL,
    NULL,
    NULL};

static bool is_digit(char byte)
{
    return byte >= '0' && byte <= '9';
}

/* Three digits are left alone: 1,731 may be meant as thousands. */
static bool is_decimals(struct text rest)
{
    size_t count = 0;
    while (count < rest.length && is_digit(rest.bytes[count]))
        count++;
    return count > 0 && count != 3;
}

/* Typed by hand: `11,8 bar to psi`.  A file is held to one way of writing; here nothing is ambiguous
 * while no function could take the comma to separate two values.  The places stay the same. */
static struct text as_meant(struct text typed, struct arena *arena)
{
    char *bytes = arena_array(arena, char, typed.length + 1);
    bool may_separate = false;
    for (size_t i = 0; i < typed.length; i++) {
        bytes[i] = typed.bytes[i];
        may_separate = may_separate ||
                       (i > 0 && bytes[i] == '(' && bytes[i - 1] >= 'a' && bytes[i - 1] <= 'z');
    }
    for (size_t i = 1; i < typed.length; i++)
        if (bytes[i] == ',' && is_digit(bytes[i - 1]) && !may_separate &&
            is_decimals(text_slice(typed, i + 1, typed.length)))
            bytes[i] = '.';
    struct text meant = {bytes, typed.length};
    size_t at = text_find(meant, TEXT(" to "));
    if (at < meant.length)
        memcpy(bytes + at, " in ", 4);
    return meant;
}

static enum status run(struct world *world, int argc, char **argv)
{
    struct options options = {0};
    (void)argp_parse(&argp, argc, argv, ARGP_IN_ORDER, NULL, &options);
    struct arena *arena = &world->files;
    struct text *words = arena_array(arena, struct text, (size_t)options.count);
    for (int i = 0; i < options.count; i++)
        words[i] = text_from(options.words[i]);
    struct source source = {TEXT("calc"),
                            text_join(arena, words, (size_t)options.count, TEXT(" "))};
    size_t offset;
    if (text_check(source.bytes, &offset) != TEXT_SOUND)
        return refuse(TEXT("there is a character in that expression that cannot be used"));
    struct diagnostics found;
    diagnostics_begin(&found, arena);
    source.bytes = as_meant(source.bytes, arena);
    struct calculation answer = expression_calculate(source.bytes, &source, &found, arena);
    if (found.first != NULL)
        print_findings(&found, &world->scratch);
    if (found.count_by_severity[SEVERITY_ERROR] > 0)
        return STATUS_NO;
    print_text(text_fill(arena, "{}\n", answer.shown));
    struct writer out = standard_output();
    if (!finish_output(&out))
        return STATUS_WORLD_FAILED;
    return answer.is_unanswerable ? STATUS_NO : STATUS_FINE;
}

const struct command calc_command = {"calc", "EXPRESSION", "the arithmetic alone, with units",
                                     run};

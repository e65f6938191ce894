#include "verify/spin_run.h"

#include <stdlib.h>
#include <string.h>
#include <unistd.h>

/* Of C11's `system` only the result matters: 0, or it failed. */
static bool runs(const char *command)
{
    return system(command) == 0;
}

bool spin_is_here(void)
{
    return runs(
        "command -v spin >/dev/null && { command -v tcc || command -v cc; } >/dev/null");
}

static void read_trail(struct spin_answer *answer, const char *folder, unsigned number)
{
    char command[300];
    snprintf(command, sizeof command, "cd %s && WHICH=%u ./pan -r -w16 2>&1", folder, number);
    FILE *out = popen(command, "r");
    char line[400];
    size_t length = 0;
    while (out != NULL && fgets(line, sizeof line, out) != NULL) {
        const char *mark = line + strspn(line, " \t");
        if (mark[0] == '!' && answer->fault[0] == '\0')
            snprintf(answer->fault, sizeof answer->fault, "%.*s", (int)strcspn(mark + 1, "\n"),
                     mark + 1);
        if (mark[0] != '@')
            continue;
        answer->length++;
        int added = snprintf(answer->path + length, sizeof answer->path - length, "  %s", mark);
        if (added > 0 && (size_t)added < sizeof answer->path - length)
            length += (size_t)added;
    }
    if (out != NULL)
        pclose(out);
}

static void read_works(bool *works, const char *line)
{
    char *rest;
    for (const char *at = line;; at = rest) {
        unsigned long work = strtoul(at, &rest, 10);
        if (rest == at)
            return;
        if (work < SPIN_WORKS_MAX)
            works[work] = true;
    }
}

static void run_one(struct spin_answer *answer, const char *folder, unsigned number)
{
    char command[300];
    snprintf(command, sizeof command, "cd %s && WHICH=%u ./pan -w16 2>&1", folder, number);
    FILE *out = popen(command, "r");
    char line[8000];
    bool is_complete = true;
    while (out != NULL && fgets(line, sizeof line, out) != NULL) {
        const char *errors = strstr(line, "errors: ");
        if (errors != NULL) {
            answer->is_known = true;
            answer->is_safe = atoi(errors + 8) == 0;
        }
        if (strstr(line, "out of memory") != NULL || strstr(line, "too small") != NULL ||
            strstr(line, "pan:1: invalid end state") != NULL)
            is_complete = false;
        if (strncmp(line, "reached:", 8) == 0)
            read_works(answer->reached, line + 8);
        if (strncmp(line, "doubted:", 8) == 0)
            read_works(answer->doubted, line + 8);
    }
    if (out != NULL)
        pclose(out);
    answer->is_known = answer->is_known && is_complete;
    if (answer->is_known && !answer->is_safe)
        read_trail(answer, folder, number);
}

/* The search runs for a moment only: a compiler that is quick itself is the better one. */
static bool build(const char *folder)
{
    char command[600];
    snprintf(
        command, sizeof command,
        "cd %s && spin -a model.pml >said 2>&1 && compiler=$(command -v tcc || command -v cc) "
        "&& $compiler -w -DSAFETY -DBFS -DNOREDUCE -DVECTORSZ=2048 -o pan pan.c >>said 2>&1 "
        "|| { cat said >&2; false; }",
        folder);
    return runs(command);
}

static bool write_model(const char *folder, const struct procedure *const *procedures,
                        unsigned count, bool with_make_safe, struct spin_answer *answers)
{
    char path[200];
    snprintf(path, sizeof path, "%s/model.pml", folder);
    FILE *out = fopen(path, "w");
    if (out == NULL)
        return false;
    unsigned numbers[SPIN_BATCH_MAX];
    unsigned written = 0;
    promela_write_head(out);
    for (unsigned i = 0; i < count; i++) {
        answers[i] = (struct spin_answer){.is_translated = false};
        answers[i].is_translated = promela_write(out, procedures[i], i, with_make_safe);
        if (answers[i].is_translated)
            numbers[written++] = i;
    }
    promela_write_choice(out, numbers, written);
    return fclose(out) == 0;
}

bool spin_ask(const struct procedure *const *procedures, unsigned count, bool with_make_safe,
              struct spin_answer *answers)
{
    char folder[] = "/tmp/banksman_spin_XXXXXX";
    if (count > SPIN_BATCH_MAX || mkdtemp(folder) == NULL)
        return false;
    bool is_done =
        write_model(folder, procedures, count, with_make_safe, answers) && build(folder);
    for (unsigned i = 0; is_done && i < count; i++)
        if (answers[i].is_translated)
            run_one(&answers[i], folder, i);
    char command[300];
    const char *kept = getenv("KEEP_SPIN");
    snprintf(command, sizeof command, kept != NULL ? "echo kept %s >&2" : "rm -rf %s", folder);
    return runs(command) && is_done;
}

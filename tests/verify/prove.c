/* prove COUNT SEED WORKERS VERDICTS: SPIN beside the prover at length (make prove).  The file gets a line
 * for each procedure; run_mutants.py takes SPIN's verdicts from there. */
#include "verify/oracle.h"

#include <stdlib.h>
#include <sys/wait.h>
#include <unistd.h>

enum { WORKERS_MAX = 16 };

static void add(struct oracle_tally *sum, const struct oracle_tally *part)
{
    sum->procedures += part->procedures;
    sum->safe += part->safe;
    sum->unsafe += part->unsafe;
    sum->dead += part->dead;
    sum->doubted += part->doubted;
    sum->equal += part->equal;
    sum->different += part->different;
    sum->length_equal += part->length_equal;
    sum->prover_shorter += part->prover_shorter;
    sum->prover_longer += part->prover_longer;
    sum->not_translated += part->not_translated;
}

static void work(struct oracle_range range, int answer)
{
    char *lines = NULL;
    size_t length;
    FILE *out = open_memstream(&lines, &length);
    struct oracle_tally tally = {0};
    bool is_done = oracle_compare(range, out, &tally);
    fclose(out);
    FILE *pipe = fdopen(answer, "w");
    is_done = is_done && fwrite(&tally, sizeof tally, 1, pipe) == 1 &&
              fwrite(lines, 1, length, pipe) == length && fclose(pipe) == 0;
    _exit(is_done ? 0 : 1);
}

/* Reads one worker to its end. */
static bool take(int answer, struct oracle_tally *sum, FILE *verdicts)
{
    FILE *pipe = fdopen(answer, "r");
    struct oracle_tally part;
    bool is_whole = fread(&part, sizeof part, 1, pipe) == 1;
    if (is_whole)
        add(sum, &part);
    for (int byte; is_whole && (byte = fgetc(pipe)) != EOF;)
        fputc(byte, verdicts);
    fclose(pipe);
    int status = 1;
    return wait(&status) > 0 && status == 0 && is_whole;
}

int main(int argc, char **argv)
{
    if (argc != 5) {
        fputs("usage: prove COUNT SEED WORKERS VERDICTS\n", stderr);
        return 2;
    }
    if (!spin_is_here()) {
        puts("spin or cc is not installed: nothing was compared");
        return 0;
    }
    unsigned count = (unsigned)strtoul(argv[1], NULL, 10);
    unsigned long long seed = strtoull(argv[2], NULL, 10);
    unsigned workers = (unsigned)strtoul(argv[3], NULL, 10);
    workers = workers < 1 ? 1 : workers > WORKERS_MAX ? WORKERS_MAX : workers;
    FILE *verdicts = fopen(argv[4], "w");
    if (verdicts == NULL)
        return 2;
    int answers[WORKERS_MAX];
    for (unsigned i = 0; i < workers; i++) {
        int ends[2];
        if (pipe(ends) != 0)
            return 2;
        answers[i] = ends[0];
        pid_t child = fork();
        if (child < 0)
            return 2;
        if (child == 0) {
            struct oracle_range range = {seed + i, workers,
                                         count / workers + (i < count % workers ? 1 : 0)};
            work(range, ends[1]);
        }
        close(ends[1]);
    }
    struct oracle_tally sum = {0};
    bool is_done = true;
    for (unsigned i = 0; i < workers; i++)
        is_done = take(answers[i], &sum, verdicts) && is_done;
    fclose(verdicts);
    oracle_tell(&sum, stdout);
    return is_done && sum.different == 0 && sum.prover_longer == 0 ? 0 : 1;
}

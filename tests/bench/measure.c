/*
 * measure - runs a program and prints what it took: wall, user and system seconds, and KiB
 * resident at most.
 *
 *     measure end PROGRAM ARGUMENT...      to its end, without input, its output thrown away
 *     measure prompt PROGRAM ARGUMENT...   wall: on a terminal, until it asks "> "; then its input
 *                                          ends, and the rest is taken to its end
 *
 * A process of its own, because what a script interpreter occupies counts for its children.
 */
#include <fcntl.h>
#include <stdbool.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/resource.h>
#include <sys/wait.h>
#include <time.h>
#include <unistd.h>

/* Outside X/Open; from the C library all the same. */
pid_t wait4(pid_t pid, int *status, int options, struct rusage *usage);

enum { PATIENCE_SECONDS = 300 };

static double now(void)
{
    struct timespec time;
    (void)clock_gettime(CLOCK_MONOTONIC, &time);
    return (double)time.tv_sec + (double)time.tv_nsec / 1e9;
}

static double seconds(struct timeval time)
{
    return (double)time.tv_sec + (double)time.tv_usec / 1e6;
}

static void die(const char *what)
{
    perror(what);
    exit(3);
}

static void become(char **program, int input, int output)
{
    if (dup2(input, STDIN_FILENO) < 0 || dup2(output, STDOUT_FILENO) < 0 ||
        dup2(output, STDERR_FILENO) < 0)
        die("dup2");
    (void)execv(program[0], program);
    die(program[0]);
}

static pid_t run_to_end(char **program)
{
    pid_t child = fork();
    if (child < 0)
        die("fork");
    if (child == 0) {
        int nothing = open("/dev/null", O_RDWR);
        if (nothing < 0)
            die("/dev/null");
        become(program, nothing, nothing);
    }
    return child;
}

static int open_terminal(void)
{
    int terminal = posix_openpt(O_RDWR | O_NOCTTY | O_CLOEXEC);
    if (terminal < 0 || grantpt(terminal) != 0 || unlockpt(terminal) != 0)
        die("a terminal");
    return terminal;
}

static pid_t run_on_terminal(char **program, int terminal)
{
    pid_t child = fork();
    if (child < 0)
        die("fork");
    if (child == 0) {
        (void)setsid(); /* the terminal that is opened next then controls it */
        int other_end = open(ptsname(terminal), O_RDWR);
        if (other_end < 0)
            die("the other end of the terminal");
        become(program, other_end, other_end);
    }
    return child;
}

/* Reads on; true when "> " has been seen, false when there is nothing more. */
static bool read_until_prompt(int terminal, bool to_end)
{
    char bytes[4096];
    char last = 0;
    for (;;) {
        ssize_t got = read(terminal, bytes, sizeof bytes);
        if (got <= 0)
            return false;
        for (ssize_t i = 0; i < got; i++) {
            if (!to_end && last == '>' && bytes[i] == ' ')
                return true;
            last = bytes[i];
        }
    }
}

int main(int argc, char **argv)
{
    if (argc < 3) {
        (void)fputs("measure end|prompt PROGRAM ARGUMENT...\n", stderr);
        return 2;
    }
    bool until_prompt = strcmp(argv[1], "prompt") == 0;
    (void)alarm(PATIENCE_SECONDS);
    int terminal = until_prompt ? open_terminal() : -1;
    double began = now();
    double took = 0;
    pid_t child = until_prompt ? run_on_terminal(argv + 2, terminal) : run_to_end(argv + 2);
    if (until_prompt) {
        if (!read_until_prompt(terminal, false)) {
            (void)fputs("it ended before it asked anything\n", stderr);
            return 3;
        }
        took = now() - began;
        if (write(terminal, "\004", 1) != 1)
            die("end of input");
        (void)read_until_prompt(terminal, true);
    }
    int status = 0;
    struct rusage usage;
    if (wait4(child, &status, 0, &usage) != child)
        die("wait4");
    if (!until_prompt)
        took = now() - began;
    printf("%.6f %.6f %.6f %ld %d\n", took, seconds(usage.ru_utime), seconds(usage.ru_stime),
           usage.ru_maxrss, WIFEXITED(status) ? WEXITSTATUS(status) : 128 + WTERMSIG(status));
    return 0;
}

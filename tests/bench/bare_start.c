/*
 * bare_start DATABASE FILE... - what the start of a job is held against: the same libraries, the
 * events of the same files, one durable insert, and readline's first prompt.
 */
#include "bare_events.h"

#include <jansson.h>
#include <readline/history.h>
#include <readline/readline.h>
#include <sha2.h>
#include <sqlite3.h>
#include <utf8proc.h>

static bool insert_durably(const char *path)
{
    sqlite3 *database;
    bool is_done =
        sqlite3_open(path, &database) == SQLITE_OK &&
        sqlite3_exec(
            database,
            "PRAGMA journal_mode = WAL; PRAGMA synchronous = FULL;"
            "CREATE TABLE IF NOT EXISTS answer (number INTEGER PRIMARY KEY, body TEXT);"
            "INSERT INTO answer (body) VALUES ('{\"kind\":\"started\"}')",
            NULL, NULL, NULL) == SQLITE_OK;
    (void)sqlite3_close(database);
    return is_done;
}

/* One call into each library that the insert and the prompt leave out, so that all are loaded and
 * bound as in the program itself. */
static bool touch_libraries(void)
{
    SHA2_CTX digest;
    SHA256Init(&digest);
    json_t *object = json_object();
    bool is_fine = object != NULL && utf8proc_charwidth('a') == 1;
    json_decref(object);
    return is_fine;
}

static void take_line(char *line)
{
    free(line);
    rl_callback_handler_remove();
    exit(0);
}

int main(int argc, char **argv)
{
    unsigned long events = 0;
    for (int i = 2; i < argc; i++)
        if (!bare_events_read(argv[i], &events)) {
            (void)fprintf(stderr, "bare_start: cannot read %s\n", argv[i]);
            return 3;
        }
    if (argc < 3 || !touch_libraries() || !insert_durably(argv[1]))
        return 3;
    using_history();
    rl_callback_handler_install("> ", take_line);
    for (;;)
        rl_callback_read_char();
}

#include "command.h"

#include <argp.h>
#include <errno.h>
#include <fcntl.h>
#include <string.h>
#include <unistd.h>

struct options {
    struct text thing, name;
};

static error_t take(int key, char *word, struct argp_state *state)
{
    struct options *options = state->input;
    if (key == ARGP_KEY_END &&
        (options->name.length == 0 || (!text_equal(options->thing, TEXT("procedure")) &&
                                       !text_equal(options->thing, TEXT("machine")))))
        argp_error(state, "say `new procedure NAME` or `new machine NAME`");
    if (key != ARGP_KEY_ARG)
        return key == ARGP_KEY_END ? 0 : ARGP_ERR_UNKNOWN;
    if (options->name.length > 0)
        argp_error(state, "one name at a time");
    *(options->thing.length == 0 ? &options->thing : &options->name) = text_from(word);
    return 0;
}

static const struct argp argp = {
    NULL,
    take,
    "procedure|machine NAME",
    "Writes a commented file to start from: procedures/NAME.yaml, or "
    "procedures/machines/NAME.yaml, in the folder you stand in.\v"
    "A name is lower-case letters, digits and underscores, and begins with a letter.  "
    "docs/procedure-format.md explains every key.",
    NULL,
    NULL,
    NULL};

static bool is_name(struct text name)
{
    for (size_t i = 0; i < name.length; i++) {
        char c = name.bytes[i];
        bool is_letter = c >= 'a' && c <= 'z';
        bool is_other = (c >= '0' && c <= '9') || c == '_';
        if (!is_letter && (i == 0 || !is_other))
            return false;
    }
    return name.length > 0;
}

/* The model names itself NEW_NAME wherever the new name belongs. */
static struct text named(struct text model, struct text name, struct arena *arena)
{
    struct page page;
    page_begin(&page, arena);
    const struct text blank = TEXT("NEW_NAME");
    for (;;) {
        size_t at = text_find(model, blank);
        write_text(&page.writer, text_slice(model, 0, at));
        if (at == model.length)
            return page_text(&page);
        write_text(&page.writer, name);
        model = text_slice(model, at + blank.length, model.length);
    }
}

/* Never over a file that is there. */
static bool write_new(struct text path, struct text bytes, struct arena *arena,
                      struct failure *failure)
{
    *failure = (struct failure){.operation = TEXT("write"), .object = path};
    int file =
        open(text_terminated(arena, path), O_WRONLY | O_CREAT | O_EXCL | O_CLOEXEC, 0666);
    if (file < 0) {
        failure->reason = errno == EEXIST
                              ? TEXT("there is such a file already; choose another name")
                              : text_copy(arena, text_from(strerror(errno)));
        return false;
    }
    size_t done = 0;
    while (done < bytes.length) {
        ssize_t put = write(file, bytes.bytes + done, bytes.length - done);
        if (put <= 0)
            break;
        done += (size_t)put;
    }
    failure->reason = text_copy(arena, text_from(strerror(errno)));
    return close(file) == 0 && done == bytes.length;
}

static enum status run(struct world *world, int argc, char **argv)
{
    struct options options = {0};
    (void)argp_parse(&argp, argc, argv, 0, NULL, &options);
    struct arena *arena = &world->files;
    if (!is_name(options.name))
        return refuse(text_fill(arena,
                                "'{}' cannot be a name: lower-case letters, digits and "
                                "underscores, a letter first",
                                options.name));
    bool is_machine = text_equal(options.thing, TEXT("machine"));
    struct text folder = is_machine ? TEXT("procedures/machines") : TEXT("procedures");
    struct text path = text_fill(arena, "{}/{}.yaml", folder, options.name);
    const struct source *model;
    struct failure failure = {TEXT("find"), TEXT("the file to start from"),
                              TEXT("no procedures beside the program; install it whole")};
    if (world->shipped.length == 0)
        return fail(failure);
    if (!file_read(text_fill(arena, "{}/new/{}.yaml", world->shipped, options.thing), &model,
                   arena, &failure) ||
        !folder_make(folder, arena, &failure) ||
        !write_new(path, named(model->bytes, options.name, arena), arena, &failure))
        return fail(failure);
    print_text(
        text_fill(arena, "Wrote {}.  Edit it, then:\n  banksman check {}\n", path, path));
    return STATUS_FINE;
}

const struct command new_command = {"new", "procedure|machine NAME",
                                    "a commented file to start from", run};

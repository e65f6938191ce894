#include "command.h"

#include <dirent.h>
#include <errno.h>
#include <fcntl.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

enum { PATH_BYTES_MAX = 4096 };

/* --- memory ------------------------------------------------------------------------------- */

static void die_out_of_memory(size_t bytes_wanted)
{
    (void)bytes_wanted;
    (void)fputs("banksman: cannot go on: this is larger than the program allows for.\n",
                stderr);
    (void)fputs("What was acknowledged is kept.  Split the procedure.\n", stderr);
    exit(STATUS_WORLD_FAILED);
}

/* --- folders ------------------------------------------------------------------------------ */

static struct text from_environment(const char *name)
{
    const char *value = getenv(name);
    size_t offset;
    if (value == NULL || text_check(text_from(value), &offset) != TEXT_SOUND)
        return TEXT("");
    return text_from(value);
}

/* Empty if nothing says where the data are kept; whoever needs the folder says so. */
static struct text home_folder(struct arena *arena)
{
    const char *chosen = getenv("BANKSMAN_HOME");
    if (chosen != NULL && chosen[0] != '\0')
        return from_environment(
            "BANKSMAN_HOME"); /* never another record than the one asked for */
    struct text data = from_environment("XDG_DATA_HOME");
    if (data.length > 0 && data.bytes[0] == '/')
        return text_fill(arena, "{}/banksman", data);
    struct text home = from_environment("HOME");
    return home.length > 0 ? text_fill(arena, "{}/.local/share/banksman", home) : TEXT("");
}

/* What ships lies beside the program (installed), above it (built here), or where it was
 * configured to be. */
static struct text shipped_folder(struct arena *arena)
{
    char program[PATH_BYTES_MAX];
    ssize_t length = readlink("/proc/self/exe", program, sizeof program);
    struct text folder = {program, length > 0 ? (size_t)length : 0};
    while (folder.length > 0 && folder.bytes[folder.length - 1] != '/')
        folder.length--;
    const struct text candidates[] = {
        text_fill(arena, "{}../share/banksman/procedures", folder),
        text_fill(arena, "{}../../procedures", folder),
        TEXT(BANKSMAN_DATA "/procedures"),
    };
    for (size_t i = 0; i < sizeof candidates / sizeof candidates[0]; i++) {
        char resolved[PATH_BYTES_MAX];
        if (file_exists(text_fill(arena, "{}/safety.yaml", candidates[i]), arena) &&
            realpath(text_terminated(arena, candidates[i]), resolved) != NULL)
            return text_copy(arena, text_from(resolved));
    }
    return TEXT("");
}

static void add_folder(struct text *folders, size_t *count, struct text folder)
{
    for (size_t i = 0; i < *count; i++)
        if (text_equal(folders[i], folder))
            return;
    folders[(*count)++] = folder;
}

void world_begin(struct world *world)
{
    *world = (struct world){0};
    world->library = arena_open(16 * MEBIBYTE, die_out_of_memory);
    world->files = arena_open(64 * MEBIBYTE, die_out_of_memory);
    world->job = arena_open(256 * MEBIBYTE, die_out_of_memory);
    world->scratch = arena_open(256 * MEBIBYTE, die_out_of_memory);
    struct arena *arena = &world->library;
    world->home = home_folder(arena);
    world->shipped = shipped_folder(arena);
    struct text path = from_environment("BANKSMAN_PATH");
    size_t capacity = 4;
    for (size_t i = 0; i < path.length; i++)
        capacity += path.bytes[i] == ':';
    struct text *folders = arena_array(arena, struct text, capacity);
    add_folder(folders, &world->folder_count, TEXT("procedures"));
    struct text folder;
    while (text_cut(&path, ':', &folder))
        if (folder.length > 0)
            add_folder(folders, &world->folder_count, folder);
    if (world->home.length > 0)
        add_folder(folders, &world->folder_count,
                   text_fill(arena, "{}/procedures", world->home));
    if (world->shipped.length > 0)
        add_folder(folders, &world->folder_count, world->shipped);
    world->folders = folders;
}

void world_end(struct world *world)
{
    arena_close(&world->scratch);
    arena_close(&world->job);
    arena_close(&world->files);
    arena_close(&world->library);
}

/* --- files ----------------------------------------------------------------------------------- */

static struct text system_reason(struct arena *arena)
{
    return text_copy(arena, text_from(strerror(errno)));
}

static bool refused(struct failure *failure, struct text path, struct text reason)
{
    *failure = (struct failure){TEXT("read"), path, reason};
    return false;
}

static bool read_all(int file, char *bytes, size_t size, size_t *length)
{
    *length = 0;
    while (*length < size) {
        ssize_t got = read(file, bytes + *length, size - *length);
        if (got < 0 && errno == EINTR)
            continue;
        if (got < 0)
            return false;
        if (got == 0)
            break;
        *length += (size_t)got;
    }
    return true;
}

/* Opened without waiting, so that a FIFO without a writer is refused and not waited for. */
bool file_read_up_to(size_t bytes_max, struct text path, const struct source **source,
                     struct arena *arena, struct failure *failure)
{
    int file = open(text_terminated(arena, path), O_RDONLY | O_NONBLOCK | O_CLOEXEC);
    if (file < 0)
        return refused(failure, path, system_reason(arena));
    struct stat status;
    bool is_read = false;
    if (fstat(file, &status) != 0) {
        (void)refused(failure, path, system_reason(arena));
    } else if (S_ISDIR(status.st_mode)) {
        (void)refused(failure, path, TEXT("it is a folder; name a file in it"));
    } else if (!S_ISREG(status.st_mode)) {
        (void)refused(failure, path, TEXT("it is not an ordinary file"));
    } else if ((unsigned long long)status.st_size > bytes_max) {
        (void)refused(failure, path,
                      text_fill(arena, "it is larger than {} MiB, the most that is read",
                                text_number(arena, (long long)(bytes_max / MEBIBYTE))));
    } else {
        size_t size = (size_t)status.st_size;
        char *bytes = arena_array(arena, char, size);
        struct source *made = arena_new(arena, struct source);
        is_read = read_all(file, bytes, size, &made->bytes.length);
        if (!is_read)
            (void)refused(failure, path, system_reason(arena));
        made->path = text_copy(arena, path);
        made->bytes.bytes = bytes;
        *source = made;
    }
    (void)close(file);
    return is_read;
}

bool file_read(struct text path, const struct source **source, struct arena *arena,
               struct failure *failure)
{
    return file_read_up_to(FILE_BYTES_MAX, path, source, arena, failure);
}

bool file_exists(struct text path, struct arena *scratch)
{
    struct stat status;
    return stat(text_terminated(scratch, path), &status) == 0;
}

bool folder_make(struct text path, struct arena *scratch, struct failure *failure)
{
    for (size_t i = 1; i <= path.length; i++) {
        if (i < path.length && path.bytes[i] != '/')
            continue;
        const char *part = text_terminated(scratch, text_slice(path, 0, i));
        if (mkdir(part, 0777) != 0 && errno != EEXIST) {
            *failure = (struct failure){TEXT("make the folder"), path, system_reason(scratch)};
            return false;
        }
    }
    return true;
}

/* --- finding things by name -------------------------------------------------------------------- */

static struct text subfolder_of(enum thing thing)
{
    switch (thing) {
    case THING_PROCEDURE:
        return TEXT("");
    case THING_MACHINE:
        return TEXT("/machines");
    case THING_ANSWERS:
        return TEXT("/answers");
    }
    return TEXT("");
}

static struct text word_for(enum thing thing)
{
    switch (thing) {
    case THING_PROCEDURE:
        return TEXT("procedure");
    case THING_MACHINE:
        return TEXT("machine");
    case THING_ANSWERS:
        return TEXT("answers file");
    }
    return TEXT("");
}

static bool is_path(struct text name)
{
    return text_find(name, TEXT("/")) < name.length || text_ends(name, TEXT(".yaml")) ||
           text_ends(name, TEXT(".yml"));
}

static struct text path_of(struct world *world, size_t folder, enum thing thing,
                           struct text name, struct arena *arena)
{
    return text_fill(arena, "{}{}/{}.yaml", world->folders[folder], subfolder_of(thing), name);
}

/* Files of that folder which are no procedures. */
static bool is_procedure_name(struct text name)
{
    return !text_equal(name, TEXT("safety")) && !text_equal(name, TEXT("gauges"));
}

static void list_folder(struct text folder, enum thing thing, struct text *names, size_t *count,
                        size_t capacity, struct arena *arena)
{
    DIR *listing = opendir(text_terminated(arena, folder));
    if (listing == NULL)
        return;
    for (struct dirent *entry; (entry = readdir(listing)) != NULL && *count < capacity;) {
        struct text file = text_from(entry->d_name);
        size_t offset;
        if (!text_ends(file, TEXT(".yaml")) || text_check(file, &offset) != TEXT_SOUND)
            continue;
        struct text name = text_slice(file, 0, file.length - 5);
        bool is_known = thing == THING_PROCEDURE && !is_procedure_name(name);
        for (size_t i = 0; i < *count && !is_known; i++)
            is_known = text_equal(names[i], name);
        if (!is_known)
            names[(*count)++] = text_copy(arena, name);
    }
    (void)closedir(listing);
}

static int by_name(const void *a, const void *b)
{
    return text_compare(*(const struct text *)a, *(const struct text *)b);
}

size_t thing_list(struct world *world, enum thing thing, const struct text **names,
                  struct arena *arena)
{
    enum { NAMES_MAX = 2000 };
    struct text *list = arena_array(arena, struct text, NAMES_MAX);
    size_t count = 0;
    for (size_t i = 0; i < world->folder_count; i++) {
        struct text folder = text_fill(arena, "{}{}", world->folders[i], subfolder_of(thing));
        list_folder(folder, thing, list, &count, NAMES_MAX, arena);
    }
    qsort(list, count, sizeof *list, by_name);
    *names = list;
    return count;
}

enum status thing_find(struct world *world, enum thing thing, struct text name,
                       const struct source **source, struct failure *failure)
{
    struct arena *arena = &world->files;
    if (is_path(name))
        return file_read(name, source, arena, failure) ? STATUS_FINE : STATUS_WORLD_FAILED;
    for (size_t i = 0; i < world->folder_count; i++) {
        struct text path = path_of(world, i, thing, name, arena);
        if (file_exists(path, arena))
            return file_read(path, source, arena, failure) ? STATUS_FINE : STATUS_WORLD_FAILED;
    }
    const struct text *names;
    size_t count = thing_list(world, thing, &names, arena);
    struct text near = text_nearest(name, names, count);
    struct text hint = near.length > 0 ? text_fill(arena, "; did you mean {}?", near)
                                       : TEXT("; `banksman list` shows what there is");
    *failure = (struct failure){
        text_fill(arena, "find the {}", word_for(thing)), name,
        text_fill(arena, "no {}.yaml in the folders of procedures{}", name, hint)};
    return STATUS_USED_WRONGLY;
}

static const struct source *fetch(void *self, struct text procedure_name)
{
    struct world *world = self;
    const struct source *source = NULL;
    struct failure failure;
    if (is_path(procedure_name) ||
        thing_find(world, THING_PROCEDURE, procedure_name, &source, &failure) != STATUS_FINE)
        return NULL;
    return source;
}

static struct text nearest_procedure(void *self, struct text procedure_name)
{
    struct world *world = self;
    const struct text *names;
    size_t count = thing_list(world, THING_PROCEDURE, &names, &world->files);
    return text_nearest(procedure_name, names, count);
}

struct shelf world_shelf(struct world *world)
{
    return (struct shelf){world, fetch, nearest_procedure};
}

/* --- the safety library ------------------------------------------------------------------------- */

/* A copy of what ships, in the folder we stand in, is not an addition to it. */
static bool is_another(const struct source *const *sources, size_t count,
                       const struct source *source)
{
    for (size_t i = 0; i < count; i++)
        if (text_equal(sources[i]->bytes, source->bytes))
            return false;
    return true;
}

bool world_load_safety(struct world *world)
{
    struct arena *arena = &world->library;
    struct failure failure;
    const struct source **sources =
        arena_array(arena, const struct source *, world->folder_count + 1);
    size_t count = 0;
    if (world->shipped.length == 0) {
        (void)fail(
            (struct failure){TEXT("find"), TEXT("the safety library"),
                             TEXT("no safety.yaml beside the program; install it whole")});
        return false;
    }
    if (!file_read(text_fill(arena, "{}/safety.yaml", world->shipped), &sources[count++], arena,
                   &failure)) {
        (void)fail(failure);
        return false;
    }
    for (size_t i = 0; i < world->folder_count; i++) {
        struct text path = text_fill(arena, "{}/safety.yaml", world->folders[i]);
        if (!file_exists(path, arena))
            continue;
        if (!file_read(path, &sources[count], arena, &failure)) {
            (void)fail(failure);
            return false;
        }
        if (is_another(sources, count, sources[count]))
            count++;
    }
    struct diagnostics found;
    diagnostics_begin(&found, arena);
    world->safety = safety_load(sources, count, &found, arena);
    world->safety_sources = sources;
    world->safety_source_count = count;
    if (found.first != NULL) {
        diagnostics_sort(&found);
        print_findings(&found, &world->scratch);
    }
    return world->safety != NULL && found.count_by_severity[SEVERITY_ERROR] == 0;
}

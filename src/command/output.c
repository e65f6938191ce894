#include "command.h"
#include "terminal/console.h"

#include <errno.h>
#include <poll.h>
#include <stdio.h>
#include <string.h>
#include <time.h>
#include <unistd.h>

static bool put_on_standard_output(struct writer *writer, const char *bytes, size_t length)
{
    (void)writer;
    return fwrite(bytes, 1, length, stdout) == length;
}

static bool put_on_standard_error(struct writer *writer, const char *bytes, size_t length)
{
    (void)writer;
    return fwrite(bytes, 1, length, stderr) == length;
}

struct writer standard_output(void)
{
    return (struct writer){.put = put_on_standard_output};
}

bool reader_has_left(void)
{
    struct pollfd standard_output = {.fd = STDOUT_FILENO, .events = POLLOUT};
    return poll(&standard_output, 1, 0) == 1 && (standard_output.revents & POLLERR) != 0;
}

bool finish_output(const struct writer *writer)
{
    bool is_out = fflush(stdout) == 0 && !writer->failed;
    return is_out || reader_has_left();
}

/* One line of the text, broken between words only: a path or a command is there to be copied. */
static void write_wrapped(struct writer *writer, struct text line, unsigned width)
{
    size_t indent = 0;
    unsigned column = 0;
    while (indent < line.length && line.bytes[indent] == ' ')
        indent++;
    struct text rest = text_slice(line, indent, line.length);
    struct text word;
    size_t owed = indent; /* spaces before the next word */
    while (text_cut(&rest, ' ', &word)) {
        if (word.length == 0) {
            owed++;
            continue;
        }
        unsigned needed = (unsigned)owed + text_width(word);
        if (column > indent && column + needed > width) {
            write_text(writer, TEXT("\n"));
            column = 0;
            owed = indent;
        }
        write_repeated(writer, ' ', owed);
        write_text(writer, word);
        column += (unsigned)owed + text_width(word);
        owed = 1;
    }
    write_text(writer, TEXT("\n"));
}

static void write_paragraphs(struct writer *writer, struct text text)
{
    unsigned width = terminal_columns(0);
    struct text line;
    while (text_cut(&text, '\n', &line))
        write_wrapped(writer, line, width);
}

void print_text(struct text text)
{
    struct writer writer = standard_output();
    write_paragraphs(&writer, text);
}

enum { COMPLAINT_BYTES_MAX = 4096 };

/* Wrapped as one; a complaint of monstrous length goes out as it is. */
static void complain(const struct text *pieces, size_t count)
{
    char whole[COMPLAINT_BYTES_MAX];
    size_t length = 0;
    bool is_whole = true;
    struct writer writer = {.put = put_on_standard_error};
    (void)fflush(stdout);
    for (size_t i = 0; i < count && is_whole; i++) {
        is_whole = pieces[i].length <= sizeof whole - length;
        if (is_whole && pieces[i].length > 0)
            memcpy(whole + length, pieces[i].bytes, pieces[i].length);
        length += pieces[i].length;
    }
    if (is_whole) {
        write_paragraphs(&writer, (struct text){whole, length});
        return;
    }
    for (size_t i = 0; i < count; i++)
        write_text(&writer, pieces[i]);
    write_text(&writer, TEXT("\n"));
}

enum status fail(struct failure failure)
{
    bool has_object = failure.object.length > 0;
    const struct text pieces[] = {TEXT("banksman: cannot "),
                                  failure.operation,
                                  has_object ? TEXT(" ") : TEXT(""),
                                  failure.object,
                                  TEXT(": "),
                                  failure.reason};
    complain(pieces, sizeof pieces / sizeof *pieces);
    return STATUS_WORLD_FAILED;
}

void warn(struct text what)
{
    const struct text pieces[] = {TEXT("banksman: "), what};
    complain(pieces, sizeof pieces / sizeof *pieces);
}

enum status refuse(struct text why)
{
    warn(why);
    return STATUS_USED_WRONGLY;
}

void print_findings(const struct diagnostics *found, struct arena *scratch)
{
    (void)fflush(stdout);
    struct writer writer = {.put = put_on_standard_error};
    unsigned width = isatty(STDERR_FILENO) ? terminal_columns(0) : 0;
    diagnostics_write_within(found, width, &writer, scratch);
}

/* --- the time ----------------------------------------------------------------------- */

static long long milliseconds(clockid_t which)
{
    struct timespec now;
    (void)clock_gettime(which, &now);
    return (long long)now.tv_sec * 1000 + now.tv_nsec / 1000000;
}

/* One run of the machine: the steady clock counts from its start. */
static struct text boot_name(void)
{
    static char name[40]; /* read once; a boot does not change while we run */
    static size_t length;
    if (length == 0) {
        FILE *file = fopen("/proc/sys/kernel/random/boot_id", "re");
        if (file != NULL) {
            length = fread(name, 1, 36, file);
            (void)fclose(file);
        }
    }
    return (struct text){name, length};
}

static struct instant now_of_system(void *self)
{
    (void)self;
    return (struct instant){milliseconds(CLOCK_REALTIME), milliseconds(CLOCK_BOOTTIME),
                            boot_name()};
}

struct clock system_clock(void)
{
    return (struct clock){NULL, now_of_system};
}

struct text zone_now(struct arena *arena)
{
    time_t now = (time_t)(milliseconds(CLOCK_REALTIME) / 1000);
    struct tm local;
    char zone[8] = "+0000";
    if (localtime_r(&now, &local) != NULL)
        (void)strftime(zone, sizeof zone, "%z", &local);
    struct text digits = text_from(zone);
    return text_fill(arena, "{}:{}", text_copy(arena, text_slice(digits, 0, 3)),
                     text_copy(arena, text_slice(digits, 3, 5)));
}

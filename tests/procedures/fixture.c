#include "procedures/fixture.h"

#include "verify/rules.h"
#include "verify/verify.h"

#include <dirent.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static void stop(const char *what, const char *which)
{
    fprintf(stderr, "%s: %s\n", which, what);
    exit(3);
}

void fixture_out_of_memory(size_t bytes_wanted)
{
    fprintf(stderr, "the arena has no room for %zu bytes\n", bytes_wanted);
    exit(3);
}

/* --- files ------------------------------------------------------------------------- */

static bool file_exists(const char *path)
{
    FILE *file = fopen(path, "rb");
    if (file != NULL)
        fclose(file);
    return file != NULL;
}

const struct source *fixture_source(const char *path, struct arena *arena)
{
    FILE *file = fopen(path, "rb");
    if (file == NULL)
        stop("cannot be opened", path);
    fseek(file, 0, SEEK_END);
    long size = ftell(file);
    rewind(file);
    if (size < 0)
        stop("has no size", path);
    char *bytes = arena_array(arena, char, (size_t)size + 1);
    if (fread(bytes, 1, (size_t)size, file) != (size_t)size)
        stop("cannot be read", path);
    fclose(file);

    struct source *source = arena_new(arena, struct source);
    source->path = text_copy(arena, text_from(path));
    source->bytes = (struct text){bytes, (size_t)size};
    return source;
}

static int name_compare(const void *left, const void *right)
{
    const struct text *a = left;
    const struct text *b = right;
    return text_compare(*a, *b);
}

const struct text *fixture_names(const char *folder, const char *ending, struct arena *arena,
                                 size_t *count)
{
    enum { NAMES_MAX = 1000 };
    struct text *names = arena_array(arena, struct text, NAMES_MAX);
    *count = 0;
    DIR *open = opendir(folder);
    if (open == NULL)
        return names;
    for (const struct dirent *entry; (entry = readdir(open)) != NULL;) {
        struct text name = text_from(entry->d_name);
        if (name.bytes[0] == '.' || !text_ends(name, text_from(ending)))
            continue;
        if (*count == NAMES_MAX)
            stop("holds too many files", folder);
        names[(*count)++] = text_copy(arena, name);
    }
    closedir(open);
    qsort(names, *count, sizeof *names, name_compare);
    return names;
}

static const struct source *part(struct text name, struct arena *arena)
{
    struct text path = text_fill(arena, FIXTURE_PARTS "{}.yaml", name);
    return fixture_source(text_terminated(arena, path), arena);
}

/* --- expectations -------------------------------------------------------------------- */

static bool take_word(struct text *rest, struct text *word)
{
    *rest = text_trim(*rest);
    return text_cut(rest, ' ', word);
}

static unsigned number_of(struct text digits)
{
    unsigned number = 0;
    for (size_t i = 0; i < digits.length; i++) {
        if (digits.bytes[i] < '0' || digits.bytes[i] > '9')
            return 0;
        number = number * 10 + (unsigned)(digits.bytes[i] - '0');
    }
    return number;
}

static bool is_number(struct text word)
{
    return number_of(word) > 0;
}

/* `@5:3: `, `@5: `, `@other.yaml:5: ` */
static void take_place(struct text *rest, struct expectation *place)
{
    struct text whole = text_slice(*rest, 1, text_find(*rest, TEXT(": ")));
    *rest = text_slice(*rest, whole.length + 3, rest->length);
    struct text piece;
    place->line = 0;
    while (text_cut(&whole, ':', &piece)) {
        if (!is_number(piece))
            place->file = piece;
        else if (place->line == 0)
            place->line = number_of(piece);
        else
            place->column = number_of(piece);
    }
}

static void take_codes(struct text codes, struct expectation place, struct fixture *fixture,
                       struct arena *arena)
{
    struct text word;
    while (take_word(&codes, &word)) {
        if (word.bytes[0] == '#')
            return;
        struct expectation *added = &fixture->expected[fixture->expected_count++];
        *added = place;
        text_cut(&word, '@', &added->code);
        if (is_number(word))
            added->column = number_of(word);
        if (fixture_finding(added->code) == FINDING_COUNT)
            stop("expects a code that does not exist", text_terminated(arena, added->code));
    }
}

static void take_line(struct text line, unsigned number, struct fixture *fixture,
                      struct arena *arena)
{
    static const struct text mark = {"# expect", 8};
    for (size_t at; (at = text_find(line, mark)) < line.length;) {
        struct text rest = text_slice(line, at + mark.length, line.length);
        line = rest;
        struct expectation place = {.line = number};
        if (text_starts(rest, TEXT("@")))
            take_place(&rest, &place);
        else if (text_starts(rest, TEXT(": ")))
            rest = text_slice(rest, 2, rest.length);
        else
            continue;
        take_codes(rest, place, fixture, arena);
    }
}

struct fixture fixture_from(struct source source, struct arena *arena)
{
    enum { EXPECTED_MAX = 200 };
    struct fixture fixture = {.source = source};
    fixture.expected = arena_array(arena, struct expectation, EXPECTED_MAX);
    struct text rest = source.bytes;
    unsigned number = 0;
    for (struct text line; text_cut(&rest, '\n', &line);) {
        number++;
        if (text_starts(line, TEXT("# ")) && fixture.explanation.length == 0)
            fixture.explanation = text_trim(text_slice(line, 2, line.length));
        if (text_starts(line, TEXT("# fitted to: ")))
            fixture.fitted_to = text_trim(text_slice(line, 13, line.length));
        if (text_equal(line, TEXT("# rules")))
            fixture.has_rules = true;
        if (text_starts(line, TEXT("# alone")))
            fixture.is_alone = true;
        take_line(line, number, &fixture, arena);
    }
    return fixture;
}

/* --- loading ----------------------------------------------------------------------------- */

static const struct source *fetch(void *self, struct text name)
{
    const struct fixture_shelf *shelf = self;
    for (size_t i = 0; i < shelf->own_count; i++)
        if (text_equal(shelf->own_names[i], name))
            return shelf->own[i];
    /* The faulty folder too: procedures that follow each other in a circle are both faulty. */
    static const char *const folders[] = {FIXTURE_PARTS, "tests/procedures/faulty/"};
    for (size_t i = 0; i < 2; i++) {
        struct text path = text_fill(shelf->arena, "{}{}.yaml", text_from(folders[i]), name);
        const char *terminated = text_terminated(shelf->arena, path);
        if (file_exists(terminated))
            return fixture_source(terminated, shelf->arena);
    }
    return NULL;
}

static struct text nearest(void *self, struct text name)
{
    const struct fixture_shelf *shelf = self;
    size_t count;
    const struct text *files = fixture_names(FIXTURE_PARTS, ".yaml", shelf->arena, &count);
    struct text *names = arena_array(shelf->arena, struct text, count);
    for (size_t i = 0; i < count; i++)
        names[i] = text_slice(files[i], 0, files[i].length - strlen(".yaml"));
    return text_nearest(name, names, count);
}

/* What stands beside a fixture is sound by itself; what is found while it is read is told all the
 * same, since nobody expects it. */
struct beside {
    const struct fixture_shelf *shelf;
    const struct safety_library *safety;
    struct diagnostics *found;
    struct arena *arena;
};

static const struct procedure *load_procedure(const struct beside *beside,
                                              const struct source *source)
{
    struct fixture_shelf *shelf = arena_new(beside->arena, struct fixture_shelf);
    *shelf = *beside->shelf;
    struct shelf port = {shelf, fetch, nearest};
    return procedure_load(source, beside->safety, port, beside->found, beside->arena);
}

static const struct machine *load_machine(const struct beside *beside, struct text name)
{
    return machine_load(part(name, beside->arena), beside->found, beside->arena);
}

static void fit(const struct beside *beside, const struct procedure *procedure,
                const struct machine *machine, const struct gauge_list *gauges)
{
    if (procedure == NULL || machine == NULL)
        return;
    if (beside->found->count_by_severity[SEVERITY_ERROR] == 0)
        procedure_fit(procedure, machine, gauges, beside->found, beside->arena);
}

static void load_gauges(const struct beside *beside, const struct fixture *fixture)
{
    const struct gauge_list *gauges =
        gauges_load(&fixture->source, beside->found, beside->arena);
    struct text rest = fixture->fitted_to;
    struct text procedure, machine;
    if (take_word(&rest, &procedure) && take_word(&rest, &machine))
        fit(beside, load_procedure(beside, part(procedure, beside->arena)),
            load_machine(beside, machine), gauges);
}

static void look_at_rules(const struct procedure *procedure,
                          const struct safety_library *library, struct diagnostics *found)
{
    struct arena scratch = arena_open(16 * MEBIBYTE, fixture_out_of_memory);
    if (procedure != NULL && found->count_by_severity[SEVERITY_ERROR] == 0)
        rules_look(procedure, found, &scratch);
    if (library != NULL && found->count_by_severity[SEVERITY_ERROR] == 0)
        rules_look_at_library(library, found, &scratch);
    arena_close(&scratch);
}

static void prove(const struct procedure *procedure, struct diagnostics *found,
                  struct arena *arena)
{
    struct arena scratch = arena_open(16 * MEBIBYTE, fixture_out_of_memory);
    (void)verify_procedure(procedure, found, arena, &scratch);
    arena_close(&scratch);
}

void fixture_load(const struct fixture *fixture, const struct fixture_shelf *shelf,
                  struct diagnostics *found, struct arena *arena)
{
    const struct source *libraries[2] = {shelf->library, &fixture->source};
    if (libraries[0] == NULL)
        libraries[0] = fixture->has_rules ? fixture_source("procedures/safety.yaml", arena)
                                          : part(TEXT("safety"), arena);
    struct beside beside = {shelf, NULL, found, arena};
    enum file_form form = file_form(&fixture->source, arena);
    if (form == FORM_SAFETY) {
        const struct safety_library *library = fixture->is_alone
                                                   ? safety_load(libraries + 1, 1, found, arena)
                                                   : safety_load(libraries, 2, found, arena);
        if (fixture->has_rules)
            look_at_rules(NULL, library, found);
        return;
    }
    beside.safety = safety_load(libraries, 1, found, arena);
    if (form == FORM_PROCEDURE || form == FORM_UNKNOWN) {
        const struct procedure *procedure = load_procedure(&beside, &fixture->source);
        if (fixture->has_rules)
            look_at_rules(procedure, NULL, found);
        if (fixture->fitted_to.length > 0)
            fit(&beside, procedure, load_machine(&beside, fixture->fitted_to), NULL);
        if (!fixture->has_rules) /* those are about words, and need not be safe */
            prove(procedure, found, arena);
    } else if (form == FORM_MACHINE) {
        const struct machine *machine = machine_load(&fixture->source, found, arena);
        if (fixture->fitted_to.length > 0)
            fit(&beside, load_procedure(&beside, part(fixture->fitted_to, arena)), machine,
                NULL);
    } else if (form == FORM_GAUGES) {
        load_gauges(&beside, fixture);
    } else {
        answers_load(&fixture->source, found, arena);
    }
}

/* --- comparing --------------------------------------------------------------------------- */

enum finding fixture_finding(struct text code)
{
    for (unsigned i = 0; i < FINDING_COUNT; i++)
        if (text_equal(text_from(finding_code((enum finding)i)), code))
            return (enum finding)i;
    return FINDING_COUNT;
}

static bool is_of(const struct expectation *expected, const struct diagnostic *at,
                  const struct source *own)
{
    if (!text_equal(expected->code, text_from(finding_code(at->finding))))
        return false;
    if (expected->line != at->place.line)
        return false;
    if (expected->column != 0 && expected->column != at->place.column)
        return false;
    if (expected->file.length == 0)
        return at->place.source == own;
    return at->place.source != NULL && text_ends(at->place.source->path, expected->file);
}

static void say(struct text path, unsigned line, unsigned column, const char *what,
                const char *code, struct text message)
{
    fprintf(stderr, "%.*s:%u:%u: %s %s %.*s\n", (int)path.length, path.bytes, line, column,
            what, code, (int)message.length, message.bytes);
}

size_t fixture_compare(struct fixture *fixture, const struct diagnostics *found)
{
    size_t differences = 0;
    for (const struct diagnostic *at = found->first; at != NULL; at = at->next) {
        bool is_expected = finding_severity(at->finding) == SEVERITY_NOTE;
        for (size_t i = 0; i < fixture->expected_count; i++) {
            struct expectation *expected = &fixture->expected[i];
            if (!expected->is_met && is_of(expected, at, &fixture->source)) {
                expected->is_met = true;
                is_expected = true;
                break;
            }
        }
        if (is_expected)
            continue;
        differences++;
        say(at->place.source != NULL ? at->place.source->path : fixture->source.path,
            at->place.line, at->place.column, "not expected:", finding_code(at->finding),
            at->message);
    }
    for (size_t i = 0; i < fixture->expected_count; i++) {
        const struct expectation *expected = &fixture->expected[i];
        if (expected->is_met)
            continue;
        differences++;
        say(fixture->source.path, expected->line, expected->column,
            "not found:", finding_code(fixture_finding(expected->code)), expected->file);
    }
    return differences;
}

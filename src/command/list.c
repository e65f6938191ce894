#include "command.h"

#include <argp.h>

static const struct argp argp = {
    NULL,
    NULL,
    NULL,
    "Lists the procedures and machines that can be used.\v"
    "They are looked for in ./procedures, in the folders of $BANKSMAN_PATH, in the user's data "
    "folder (BANKSMAN_HOME moves it) and in what was installed; machines in the folder "
    "`machines` "
    "in each of these.  The first that has a name is used.",
    NULL,
    NULL,
    NULL};

static const struct text procedure_headings[] = {TEXT_CONSTANT("Procedure"),
                                                 TEXT_CONSTANT("What it is")};
static const struct text part_headings[] = {TEXT_CONSTANT("Parts, used by others"),
                                            TEXT_CONSTANT("What it is")};
static const struct text machine_headings[] = {TEXT_CONSTANT("Machine"),
                                               TEXT_CONSTANT("What it is")};

/* A title, or that the file has mistakes; what they are is for `check` to say. */
static struct text title_of(struct world *world, enum thing thing, struct text name,
                            bool *is_part, struct arena *arena)
{
    const struct source *source;
    struct failure failure;
    struct diagnostics found;
    diagnostics_begin(&found, &world->files);
    *is_part = false;
    if (thing_find(world, thing, name, &source, &failure) != STATUS_FINE)
        return text_copy(arena, failure.reason);
    struct text title = {0};
    if (thing == THING_PROCEDURE) {
        const struct procedure *procedure =
            procedure_load(source, world->safety, world_shelf(world), &found, &world->files);
        if (procedure != NULL)
            title = procedure->title;
        *is_part = procedure != NULL && procedure->is_part;
    } else {
        const struct machine *machine = machine_load(source, &found, &world->files);
        if (machine != NULL)
            title = machine->title;
    }
    if (found.count_by_severity[SEVERITY_ERROR] > 0)
        return text_fill(arena, "cannot be used: banksman check {}", source->path);
    return text_copy(arena, title);
}

struct listing {
    enum thing thing;
    bool of_parts; /* only those, or only the others */
    const struct text *headings;
};

static struct card_block table_of(struct world *world, const struct listing *listing,
                                  struct arena *arena)
{
    const struct text *names;
    size_t count = thing_list(world, listing->thing, &names, arena);
    struct card_row *rows = arena_array(arena, struct card_row, count + 1);
    size_t row_count = 1;
    rows[0] = (struct card_row){listing->headings, 2};
    for (size_t i = 0; i < count; i++) {
        struct text *cells = arena_array(arena, struct text, 2);
        struct arena_mark mark = arena_mark(&world->files);
        bool is_part;
        cells[0] = names[i];
        cells[1] = title_of(world, listing->thing, names[i], &is_part, arena);
        arena_rewind(&world->files, mark);
        if (is_part == listing->of_parts)
            rows[row_count++] = (struct card_row){cells, 2};
    }
    return (struct card_block){.kind = BLOCK_TABLE, .rows = rows, .row_count = row_count};
}

static enum status run(struct world *world, int argc, char **argv)
{
    (void)argp_parse(&argp, argc, argv, 0, NULL, NULL);
    if (!world_load_safety(world))
        return STATUS_NO;
    struct arena *arena = &world->scratch;
    static const struct listing listings[] = {
        {THING_PROCEDURE, false, procedure_headings},
        {THING_PROCEDURE, true, part_headings},
        {THING_MACHINE, false, machine_headings},
    };
    struct card_block blocks[sizeof listings / sizeof *listings + 1];
    size_t count = 0;
    for (size_t i = 0; i < sizeof listings / sizeof *listings; i++) {
        blocks[count] = table_of(world, &listings[i], arena);
        bool is_empty = blocks[count].row_count == 1;
        count += !(listings[i].of_parts && is_empty);
    }
    blocks[count++] = (struct card_block){
        .kind = BLOCK_PARAGRAPH, .text = TEXT("To begin: banksman start PROCEDURE -m MACHINE")};
    return print_document(world, (struct card){TEXT("What can be used"), blocks, count});
}

const struct command list_command = {"list", "", "procedures and machines that can be used",
                                     run};

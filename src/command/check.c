#include "command.h"
#include "picture_file.h"
#include "report/proof_json.h"
#include "verify/rules.h"

#include <argp.h>
#include <stdio.h>

struct options {
    char **files;
    int file_count;
    bool is_quiet, is_json;
    struct text picture; /* the file; empty: none is wanted */
};

/* What is said once, behind all files. */
struct remarks {
    unsigned proven, parts;
};

static const struct argp_option offered[] = {
    {"quiet", 'q', NULL, 0, "Print only what is wrong", 0},
    {"picture", 'p', "FILE", 0, "Draw the procedure, an unsafe path marked, as FILE.svg", 0},
    {"json", 'j', NULL, 0, "Print the findings and the paths as JSON, a line for each file", 0},
    {0},
};

// NOLINTNEXTLINE(readability-non-const-parameter): the type is argp's
static error_t take(int key, char *word, struct argp_state *state)
{
    struct options *options = state->input;
    switch (key) {
    case 'q':
        options->is_quiet = true;
        return 0;
    case 'p':
        options->picture = text_from(word);
        return 0;
    case 'j':
        options->is_json = true;
        return 0;
    case ARGP_KEY_ARGS:
        options->files = state->argv + state->next;
        options->file_count = state->argc - state->next;
        return 0;
    case ARGP_KEY_NO_ARGS:
        argp_usage(state);
        return 0;
    default: /* argp's keys are open-ended */
        return ARGP_ERR_UNKNOWN;
    }
}

static const struct argp argp = {
    offered,
    take,
    "FILE...",
    "Reads procedures, machine sheets, gauges, safety libraries and answers files, and shows "
    "every mistake with its line and column.\v"
    "A procedure is followed in thought on every path: every branch, optional step, "
    "repeat, subset and stop.  If a step can be reached without its precaution, or "
    "something can be left open, the shortest path to it is shown.\n"
    "Exit status: 0 no mistake, and proven; 1 a file cannot be used.",
    NULL,
    NULL,
    NULL};

/* The named kinds in words, for "rowan.yaml: a machine sheet without a mistake". */
static struct text form_words(enum file_form form)
{
    switch (form) {
    case FORM_PROCEDURE:
    case FORM_UNKNOWN:
        return TEXT("a procedure");
    case FORM_MACHINE:
        return TEXT("a machine sheet");
    case FORM_SAFETY:
        return TEXT("a safety library");
    case FORM_GAUGES:
        return TEXT("a list of gauges");
    case FORM_ANSWERS:
        return TEXT("an answers file");
    }
    return TEXT("");
}

static struct text counted(struct arena *arena, size_t count, const char *one, const char *many)
{
    return text_fill(arena, "{} {}", text_number(arena, (long long)count),
                     text_from(count == 1 ? one : many));
}

/* A library of the user's own is read as an addition to what ships, as it will be when used. */
static void load_safety(struct world *world, const struct source *source,
                        struct diagnostics *found)
{
    const struct source **sources =
        arena_array(&world->files, const struct source *, world->safety_source_count + 1);
    size_t count = 0;
    bool is_shipped = false;
    for (size_t i = 0; i < world->safety_source_count && !is_shipped; i++) {
        is_shipped = text_equal(world->safety_sources[i]->bytes, source->bytes);
        if (!is_shipped)
            sources[count++] = world->safety_sources[i];
    }
    sources[count++] = source;
    const struct safety_library *library = safety_load(sources, count, found, &world->files);
    if (library != NULL && found->count_by_severity[SEVERITY_ERROR] == 0)
        rules_look_at_library(library, found, &world->scratch);
}

static const struct procedure *load(struct world *world, enum file_form form,
                                    const struct source *source, struct diagnostics *found)
{
    switch (form) {
    case FORM_PROCEDURE:
    case FORM_UNKNOWN:
        return procedure_load(source, world->safety, world_shelf(world), found, &world->files);
    case FORM_MACHINE:
        (void)machine_load(source, found, &world->files);
        return NULL;
    case FORM_SAFETY:
        load_safety(world, source, found);
        return NULL;
    case FORM_GAUGES:
        (void)gauges_load(source, found, &world->files);
        return NULL;
    case FORM_ANSWERS:
        (void)answers_load(source, found, &world->files);
        return NULL;
    }
    return NULL;
}

static void print_verdict(struct world *world, struct text path, enum file_form form,
                          const struct procedure *procedure, const struct diagnostics *found)
{
    struct arena *scratch = &world->scratch;
    unsigned errors = found->count_by_severity[SEVERITY_ERROR];
    unsigned warnings = found->count_by_severity[SEVERITY_WARNING];
    if (errors > 0) {
        print_text(text_fill(scratch, "{}: {}; it cannot be used\n", path,
                             counted(scratch, errors, "mistake", "mistakes")));
        return;
    }
    struct text but = warnings == 0
                          ? TEXT("no mistake found")
                          : text_fill(scratch, "no mistake, {}",
                                      counted(scratch, warnings, "warning", "warnings"));
    if (procedure == NULL) {
        print_text(text_fill(scratch, "{}: {}, {}\n", path, form_words(form), but));
        return;
    }
    print_text(text_fill(scratch, "{}: {} of {}, {}\n", path,
                         procedure->is_part ? TEXT("a part") : form_words(form),
                         counted(scratch, procedure->step_count, "step", "steps"), but));
}

/* --- the proof ------------------------------------------------------------------------------ */

static void print_path(struct world *world, const struct procedure *procedure,
                       const struct unsafe_path *path)
{
    struct arena *arena = &world->scratch;
    struct text head = path->fault == FAULT_PART_IN ? TEXT("Doubtful") : TEXT("UNSAFE");
    print_text(text_fill(arena, path->event_count == 0 ? "{}\n" : "{}, on this path:\n", head));
    for (size_t i = 0; i < path->event_count; i++)
        print_text(text_fill(arena, "  {}. {}\n", text_number(arena, (long long)i + 1),
                             path_event_words(procedure, &path->events[i], arena)));
    print_text(text_fill(arena, "  => {}\n", path_fault_words(procedure, path, arena)));
}

static void print_proof(struct world *world, const struct procedure *procedure,
                        const struct proof *proof, bool is_quiet)
{
    struct arena *arena = &world->scratch;
    switch (proof->verdict) {
    case PROOF_SOUND:
        for (size_t i = 0; i < proof->doubt_count; i++)
            print_path(world, procedure, &proof->doubts[i]);
        if (!is_quiet)
            print_text(text_fill(arena, "  Proven for {}, {}, assuming the answers are true.\n",
                                 counted(arena, proof->states, "state", "states"),
                                 counted(arena, proof->branches, "branch", "branches")));
        break;
    case PROOF_UNSAFE:
        for (size_t i = 0; i < proof->path_count; i++)
            print_path(world, procedure, &proof->paths[i]);
        break;
    case PROOF_TOO_LARGE:
        print_text(TEXT("NOT PROVEN: too many combinations to follow them all.\n"));
        for (size_t i = 0; i < proof->multiply_count; i++)
            print_text(text_fill(arena, "  {}\n", proof->multiplies[i]));
        break;
    case PROOF_MISTAKES:
    case PROOF_PART:
        break;
    }
}

static void say_remarks(const struct remarks *remarks)
{
    if (remarks->parts == 1)
        print_text(TEXT("  A part is proven in the procedures that follow it, not alone.\n"));
    if (remarks->parts > 1)
        print_text(TEXT("Parts are proven in the procedures that follow them, not alone.\n"));
    if (remarks->proven > 0)
        print_text(TEXT("  What no proof shows: that it was really done, that the safety "
                        "library is complete, and how long things take.\n"));
}

static void print_json(struct world *world, struct text path, const struct procedure *procedure,
                       const struct proof *proof, const struct diagnostics *found)
{
    struct writer out = standard_output();
    struct checked_file checked = {path, found, procedure, proof};
    proof_json_write(&checked, &out, &world->scratch);
}

static bool check_file(struct world *world, struct text path, const struct options *options,
                       struct remarks *remarks, enum status *worst)
{
    const struct source *source;
    struct failure failure;
    if (!file_read(path, &source, &world->files, &failure)) {
        *worst = fail(failure);
        return false;
    }
    enum file_form form = file_form(source, &world->scratch);
    struct diagnostics found;
    diagnostics_begin(&found, &world->files);
    const struct procedure *procedure = load(world, form, source, &found);
    bool is_read = procedure != NULL && found.count_by_severity[SEVERITY_ERROR] == 0;
    struct proof proof = verify_procedure(procedure, &found, &world->files, &world->scratch);
    if (is_read)
        rules_look(procedure, &found, &world->scratch);
    diagnostics_sort(&found);
    bool is_wrong = found.count_by_severity[SEVERITY_ERROR] > 0;
    if (options->is_json) {
        print_json(world, path, procedure, procedure == NULL ? NULL : &proof, &found);
    } else {
        if (found.first != NULL)
            print_findings(&found, &world->scratch);
        if (!options->is_quiet || is_wrong)
            print_verdict(world, path, form, procedure, &found);
        print_proof(world, procedure, &proof, options->is_quiet);
    }
    if (options->picture.length > 0) {
        enum status drawn = picture_file_write(world, options->picture, procedure, &proof,
                                               options->is_quiet || options->is_json);
        *worst = drawn == STATUS_FINE ? *worst : drawn;
    }
    if (is_wrong && *worst == STATUS_FINE)
        *worst = STATUS_NO;
    remarks->proven += proof.verdict == PROOF_SOUND;
    remarks->parts += proof.verdict == PROOF_PART;
    return !is_wrong;
}

static enum status run(struct world *world, int argc, char **argv)
{
    struct options options = {0};
    (void)argp_parse(&argp, argc, argv, 0, NULL, &options);
    if (options.picture.length > 0 && options.file_count > 1)
        return refuse(TEXT("A picture is of one procedure; name one"));
    if (options.picture.length > 0 && !text_ends(options.picture, TEXT(".svg")))
        return refuse(TEXT("The file of a picture ends in .svg"));
    if (!world_load_safety(world))
        return STATUS_NO;
    enum status worst = STATUS_FINE;
    int wrong = 0;
    struct remarks remarks = {0};
    for (int i = 0; i < options.file_count; i++) {
        struct arena_mark files = arena_mark(&world->files);
        struct arena_mark scratch = arena_mark(&world->scratch);
        wrong += !check_file(world, text_from(options.files[i]), &options, &remarks, &worst);
        arena_rewind(&world->scratch, scratch);
        arena_rewind(&world->files, files);
    }
    if (options.file_count > 1 && !options.is_json)
        print_text(
            text_fill(&world->scratch, "{}, {} that cannot be used\n",
                      counted(&world->scratch, (size_t)options.file_count, "file", "files"),
                      text_number(&world->scratch, wrong)));
    if (!options.is_quiet && !options.is_json)
        say_remarks(&remarks);
    struct writer out = standard_output();
    return finish_output(&out) ? worst : STATUS_WORLD_FAILED;
}

const struct command check_command = {"check", "FILE...", "is it right, and can it be used",
                                      run};

#ifndef PROCEDURE_LOAD_H
#define PROCEDURE_LOAD_H
/*
 * load.h - from the bytes of a file to the typed model.
 *
 * Purpose   Reads procedures, machine sheets, gauges, the safety library and
 *           answers files.  Every mistake is reported with its place; reading
 *           goes on, so that one run shows them all.  Nothing is repaired: a
 *           file with an error cannot be used.
 * Owns      YAML and its traps, the tables of keys, how names are resolved.
 * May call  base, measure, expression, procedure; libyaml in yaml_tree.c.
 *
 * Files are not opened here: bytes come in, and a followed procedure comes from
 * a `shelf`, which is the disk, the record of a job, or a test.
 *
 *     const struct procedure *p = procedure_load(source, safety, shelf, &found, arena);
 *     if (found.count_by_severity[SEVERITY_ERROR] == 0) ...
 */
#include "procedure/procedure.h"

/* Where followed procedures are found. */
struct shelf {
    void *self;
    /* NULL if there is none of that name. */
    const struct source *(*fetch)(void *self, struct text procedure_name);
    struct text (*nearest)(void *self, struct text procedure_name); /* for a suggestion */
};

/* What a file says it is, by its first key of that kind. */
enum file_form {
    FORM_UNKNOWN,
    FORM_PROCEDURE,
    FORM_MACHINE,
    FORM_SAFETY,
    FORM_GAUGES,
    FORM_ANSWERS
};
/* Reads only as much as it needs: the keys at the top.  Reports nothing. */
enum file_form file_form(const struct source *source, struct arena *scratch);

/* The library that ships comes first; later ones may add, and tighten, but never loosen. */
const struct safety_library *safety_load(const struct source *const *sources, size_t count,
                                         struct diagnostics *found, struct arena *arena);
/* Each returns NULL only when nothing usable was found; whether it may be used, the errors say.
 * scratch is rewound by the caller. */
const struct procedure *procedure_load(const struct source *source,
                                       const struct safety_library *safety, struct shelf shelf,
                                       struct diagnostics *found, struct arena *arena);
const struct machine *machine_load(const struct source *source, struct diagnostics *found,
                                   struct arena *arena);
const struct gauge_list *gauges_load(const struct source *source, struct diagnostics *found,
                                     struct arena *arena);

/* --- answers files ----------------------------------------------------------------------- */

/* What a person would answer: a text, a list (repeats, or `times`), or a map. */
enum given_form { GIVEN_TEXT, GIVEN_LIST, GIVEN_MAP };
struct given {
    enum given_form form;
    struct text key;  /* in the map it stands in */
    struct text text; /* GIVEN_TEXT */
    struct place place, key_place;
    const struct given *items;
    size_t count;
};
/* The item of that key, or NULL. */
const struct given *given_find(const struct given *map, struct text key);

struct interruption {
    struct text step; /* empty: none */
    double seconds;   /* how long the pause lasts */
};
struct answers {
    const struct source *source;
    struct text procedure, machine;
    struct given answers;        /* GIVEN_MAP, may be empty */
    struct given machine_values; /* NAME: {is, source} */
    struct given expect;         /* results and verdicts */
    struct interruption pause_before, fail_before;
    bool has_seed;
    unsigned long long seed;
    struct text begins; /* ISO 8601 date and time, or empty */
};
const struct answers *answers_load(const struct source *source, struct diagnostics *found,
                                   struct arena *arena);

/* --- the tables, for schemas and docs ------------------------------------------------------- */

/* Every key of every kind of map in these files ("procedure", "step", "condition", ...): for the
 * test that compares them with schemas/.  False past the end. */
struct key_row {
    const char *map, *key;
    bool is_required;
};
bool key_row_at(size_t i, struct key_row *row);

#endif

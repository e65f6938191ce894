#ifndef PROCEDURE_LOADING_H
#define PROCEDURE_LOADING_H
/*
 * loading.h - what is known while a file is being read.
 *
 * Purpose   A file is read in two passes.  The first, decode_*.c, goes through
 *           the tree: what is declared is put on lists, and every expression
 *           and every name of something that may stand further down is kept
 *           for later.  The second, names*.c, resolves these.
 * Owns      nothing that outlives the reading.
 * May call  base, measure, expression, and this folder.
 */
#include "procedure/growing.h"
#include "procedure/load.h"
#include "procedure/yaml_tree.h"

enum {
    FOLLOW_DEPTH_MAX = 4,
    INDEXES_MAX = 64,      /* as many as `loops` has bits */
    CONDITIONS_MAX = 1000, /* far beyond what anybody keeps in mind, or a proof */
    NAME_DEPTH_MAX = 64,   /* definitions resting on definitions */
    SUGGESTIONS_MAX = 60   /* more than are shown */
};

/* A file, as it is used in a procedure: its own, or a followed one. */
struct piece {
    const struct source *source;
    struct text procedure;   /* its name in the file */
    struct text step_prefix; /* "raise_on_stands." or empty */
    struct text name_prefix; /* "front." or empty */
    const struct piece *caller;
    unsigned depth;
};

/* --- what waits for the second pass ----------------------------------------------------- */

enum want { WANT_ANY, WANT_TRUTH, WANT_NUMBER, WANT_SCALAR, WANT_LIKE };

/* An expression to compile, and where it goes. */
struct pending {
    struct text written;
    struct place place;
    bool is_verbatim; /* columns inside it can be counted */
    bool is_done, is_open;
    const struct piece *piece;
    unsigned long long loops;
    enum want want;
    struct kind kind;                     /* WANT_NUMBER */
    int index;                            /* the vector wanted, or INDEX_NONE */
    const struct expression *const *like; /* WANT_LIKE: of the kind of this one */
    const char *what;                     /* "the limit", for sentences */
    int definition;                       /* the symbol it defines, plus one; 0: none */
    const struct expression **target;
};

/* What a symbol is besides its entry in the model. */
struct symbol_note {
    const struct piece *piece;
    const struct yaml_node *declaration; /* of an input, want or reading */
    struct field field;                  /* to compare with */
    unsigned long long loops; /* NAME: indexes under whose each alone it can be used */
    unsigned depth; /* NAME, RESULT: how many definitions it rests on, one on the other */
    bool is_faulty; /* already reported: nothing can be said of its type */
    int pending;    /* NAME, RESULT: its definition, or -1 */
    const struct expression **value; /* NAME, RESULT */
};

struct condition_note {
    const struct yaml_node *declaration;
    struct place set_place, need_place; /* first by a step; no source: never */
    bool is_cleared;                    /* by a step's own words */
    struct text danger; /* an activity of signal danger that needs it, or empty */
};

/* Conditions that are named before all are known: resolved when they are. */
enum addition_to {
    ADD_REQUIRES,
    ADD_VOIDS,
    ADD_ACTIVITY_NEEDS,
    ADD_ACTIVITY_FORBIDS,
    ADD_ACTIVITY_CLEARS
};
struct addition {
    enum addition_to to;
    unsigned owner; /* number of the condition or activity */
    const struct yaml_node *key;
};

struct step_note {
    struct step *step;
    struct work *work;
    const struct piece *piece;
    unsigned long long loops;
    int index; /* of the innermost each, or INDEX_NONE */
    bool is_away;
    const struct yaml_node *activity, *needs, *forbids, *sets, *clears, *awaits,
        *allots; /* the keys */
    struct place torque_place;
    int torque_reading; /* or -1 */
};

/* A pair of limits or amounts to compare once both are known. */
struct limit_note {
    const struct limits *limits;
};
struct supply_note {
    const struct supply *supply;
};
struct either_note {
    const struct work *work;
    bool has_otherwise, is_faulty;
};
struct follow_note {
    const struct source *source;
    struct place place; /* where it is followed */
};
struct trial_note {
    struct trial *trial;
    const struct piece *piece;
    const struct yaml_node *before, *after; /* the keys, or NULL */
    bool is_resolved;                       /* its readings are */
    int worth, chosen;                      /* their numbers in pending, or -1 */
    struct place allotted;                  /* no source: by no step */
};
struct unit_note {
    struct result *result;
    const struct yaml_node *value;
};

/* Looked up once. */
struct known_kinds {
    struct kind torque, time, length, angle;
};

struct loader {
    struct arena *arena;
    struct diagnostics *found;
    const struct safety_library *safety; /* NULL: none */
    struct shelf shelf;
    unsigned suggestions; /* made so far */
    struct known_kinds kinds;

    /* Where we are. */
    const struct piece *piece;
    struct work *work; /* the one whose parts are being read */
    unsigned long long loops;
    int index; /* of the innermost each, or INDEX_NONE */
    bool is_away;
    /* The root is a part: what another procedure makes good is no mistake of it.  What a followed
     * file says of itself does not count, so that nothing is hidden where it is used. */
    bool is_part_alone;

    /* What has been declared. */
    struct vector sources;      /* const struct source * */
    struct vector indexes;      /* struct text */
    struct vector index_places; /* struct place */
    struct vector conditions;   /* struct condition *, the library's too */
    struct vector condition_notes;
    struct vector activities;     /* struct activity * */
    struct vector no_precautions; /* struct no_precaution */
    struct vector additions;
    size_t borrowed_conditions; /* those of the library, which are not ours to change */
    struct vector gauges, wants, inputs, readings, definitions, results;
    struct vector findings, follow_ups, parts, timers;
    struct vector trials; /* struct trial * */
    struct vector trial_notes;
    struct vector symbols, symbol_notes;
    struct vector works;    /* struct work * */
    struct vector steps;    /* struct step_note */
    struct vector siblings; /* struct work *: children not yet given to their parent */
    struct vector labels;   /* struct label_use */
    struct vector pending;
    struct vector limits, supplies, result_units, eithers, follows; /* their notes */

    struct name_table index_table, condition_table, activity_table, gauge_table, part_table;
    struct name_table symbol_table, step_table, prefix_table;

    /* While expressions are compiled. */
    unsigned written_errors;
    struct text open_names[NAME_DEPTH_MAX];
    unsigned open_count;
    bool is_poisoned; /* it uses something already reported */
};

struct loader loader_begin(struct diagnostics *found, struct arena *arena);
/* Makes the library's indexes, conditions and activities known. */
void loader_take_safety(struct loader *loader, const struct safety_library *safety);

/* "; did you mean 'x'?", or empty: for the last blank of a sentence. */
struct text did_you_mean(struct loader *loader, struct text nearest);
struct text nearest_of(struct loader *loader, const struct name_table *table,
                       struct text misspelt);

/* --- keys ---------------------------------------------------------------------------------- */

/* `key` stands in the map; its value is key->next. */
typedef void key_reader(struct loader *loader, void *object, const struct yaml_node *key);

struct key_entry {
    const char *key;
    bool is_required;
    unsigned char turn; /* those of turn 0 are read first: what others need to know */
    key_reader *read;
};
enum { KEYS_MAX = 48 };

/* The entries are sorted by key. */
struct key_map {
    const char *map;    /* as in schemas: "step" */
    const char *spoken; /* in sentences: "a step" */
    const struct key_entry *entries;
    size_t count;
};
#define KEY_MAP(name, spoken, entries)                                                         \
    {                                                                                          \
        (name), (spoken), (entries), sizeof(entries) / sizeof *(entries)                       \
    }

extern const struct key_map trial_map, treated_map, procedure_map, condition_map, gauge_map,
    limits_map, reading_map, message_map, hold_map, supply_map, torque_map, timer_map, move_map,
    step_map, section_map, alternative_map, either_map, repeat_map, follow_map, result_map,
    finding_map, follow_up_map, machine_map, machine_value_map, gauges_map, safety_map,
    activity_map, answers_map, answers_value_map, pause_before_map, expected_map;

/* Reads every key in its turn; reports unknown ones, missing ones and those without a value.
 * `where` is named if the map itself is wrong: the key it stands at, or NULL. */
void keys_read(struct loader *loader, const struct key_map *map, const struct yaml_node *node,
               const struct yaml_node *where, void *object);
/* Reports at `key` if the map has no `other`. */
void key_wants(struct loader *loader, const struct yaml_node *map, const struct yaml_node *key,
               const char *other);
/* The key itself (its value is next), or NULL. */
const struct yaml_node *key_in(const struct yaml_node *map, const char *key);
/* Reads nothing: for keys that another one reads. */
key_reader read_elsewhere;

/* --- words: decode_words.c ------------------------------------------------------------------ */

/* Each reports what is wrong with the value of `key`, and is false then. */
bool read_text(struct loader *loader, const struct yaml_node *key, struct text *text);
bool read_name(struct loader *loader, const struct yaml_node *key, struct text *name);
bool read_yes_no(struct loader *loader, const struct yaml_node *key, bool *yes);
bool read_whole(struct loader *loader, const struct yaml_node *key, unsigned least,
                unsigned most, unsigned *number);
/* words: NULL at the end; the number of the one given */
bool read_word(struct loader *loader, const struct yaml_node *key, const char *const *words,
               unsigned *which);
bool is_date(struct text text); /* 2026-03-31, and there is such a day */
bool read_date(struct loader *loader, const struct yaml_node *key, struct text *date);
bool read_unit(struct loader *loader, const struct yaml_node *key, const struct unit **unit);
/* A quantity of that kind, in SI. */
/* `value` must be a text. */
bool read_amount(struct loader *loader, const struct yaml_node *value, struct kind kind,
                 double *si);
bool read_span(struct loader *loader, const struct yaml_node *key, struct span *span);

/* One text, or a list of texts: the first item and how many.  0 after reporting. */
size_t read_items(struct loader *loader, const struct yaml_node *key,
                  const struct yaml_node **first);
/* The same; an empty list is an error. */
size_t read_some(struct loader *loader, const struct yaml_node *key,
                 const struct yaml_node **first);
/* An item of such a list as a text, a name. */
bool item_text(struct loader *loader, const struct yaml_node *key, const struct yaml_node *item,
               struct text *text);
bool item_name(struct loader *loader, const struct yaml_node *key, const struct yaml_node *item,
               struct text *name);
bool is_name(struct text text);
bool check_name(struct loader *loader, const struct yaml_node *node);
const struct text *read_texts(struct loader *loader, const struct yaml_node *key,
                              size_t *count);
bool wants_shape(struct loader *loader, const struct yaml_node *key, enum yaml_shape shape);

void read_template(struct loader *loader, const struct yaml_node *key,
                   const struct yaml_node *value, struct template *template);
void read_question_ask(struct loader *loader, const struct yaml_node *key,
                       struct question *question);
/* From `expect` and `otherwise` of a map. */
void read_answers_wanted(struct loader *loader, const struct yaml_node *map,
                         struct question *question);

/* Keeps an expression for the second pass. */
struct pending *expression_later(struct loader *loader, const struct yaml_node *key,
                                 const struct yaml_node *value,
                                 const struct expression **target);
void truth_later(struct loader *loader, const struct yaml_node *key,
                 const struct expression **target);
void number_later(struct loader *loader, const struct yaml_node *key,
                  const struct yaml_node *value, struct kind kind, const char *what,
                  const struct expression **target);

/* --- parts of files ----------------------------------------------------------------------------- */

/* A field, from a map or from a unit alone; false if nothing usable is there. */
bool read_field(struct loader *loader, const struct yaml_node *key, struct field *field);
int read_gauge_name(struct loader *loader, const struct yaml_node *key);
bool field_alike(const struct field *a, const struct field *b);
void read_limits(struct loader *loader, const struct yaml_node *map, enum want want,
                 struct kind kind, const struct expression *const *like, struct limits *limits);
struct type field_type(struct loader *loader, const struct field *field);
void read_gauges(struct loader *loader, const struct yaml_node *key);
void read_conditions(struct loader *loader, const struct yaml_node *key);
void read_trials(struct loader *loader, const struct yaml_node *key);
void trials_resolve(struct loader *loader);
void additions_resolve(struct loader *loader);
void read_work_list(struct loader *loader, const struct yaml_node *key, struct work *parent);
void read_procedure(struct loader *loader, const struct yaml_node *root,
                    struct procedure *procedure);

/* The rules of writing silenced here; NULL if there are none. */
const struct allowance *read_allow(struct loader *loader, const struct yaml_node *key,
                                   size_t *count);

/* What the keys of a step or a section are read into. */
struct work_reader {
    struct work *work;
    const struct yaml_node *map;
    unsigned long long outer; /* loops around it, without its own */
};
key_reader work_when, work_each, work_in, work_order;
/* Reads the keys of a work with its own loop in force; what was in force comes back after. */
void work_read(struct loader *loader, const struct key_map *map, struct work_reader *reader,
               const struct yaml_node *key);
void read_step(struct loader *loader, const struct yaml_node *node, const struct yaml_node *key,
               struct work *parent);

/* The root of a file, after checking that it is a map and of that form; NULL after reporting. */
const struct yaml_node *read_root(struct loader *loader, const struct source *source,
                                  enum file_form form);
enum file_form form_of_tree(const struct yaml_node *root);

/* A new one, among the children of `parent` when these are adopted. */
struct work *work_new(struct loader *loader, enum work_kind kind, struct place place,
                      struct work *parent);

/* --- names ------------------------------------------------------------------------------------- */

/* The number of an index; a new one is added.  -1 after reporting. */
int index_number(struct loader *loader, struct text name, struct place place);
void index_is_used(struct loader *loader, int index, struct place place);

/* The full name of something declared in the current piece. */
struct text full_name(struct loader *loader, struct text prefix, struct text name);
/* Reports a clash or a reserved word; the new symbol's number, or -1. */
int symbol_declare(struct loader *loader, enum symbol_kind kind, struct text name,
                   struct place place);
int symbol_find(const struct loader *loader, const struct piece *piece, struct text name);

/* The id of a condition; reports an unknown one at that place.  -1 then. */
int condition_find(struct loader *loader, struct text name, struct place place);
void condition_uses_resolve(struct loader *loader);
void conditions_check(struct loader *loader);

void expressions_compile(struct loader *loader);
void timers_resolve(struct loader *loader);
/* What can be said only when every expression has its type. */
void expressions_check(struct loader *loader);
/* Indexes (bit i) of which an expression names the current position, also through names. */
unsigned long long loops_named(const struct loader *loader,
                               const struct expression *expression);
/* Is everything recorded before it is used?  After the whole model is there. */
void rests_check(struct loader *loader, const struct procedure *procedure);

#endif

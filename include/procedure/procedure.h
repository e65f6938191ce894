#ifndef PROCEDURE_PROCEDURE_H
#define PROCEDURE_PROCEDURE_H
/*
 * procedure.h - what a procedure is, once it has been read.
 *
 * Purpose   The typed model of everything an author writes: steps and the order
 *           of work, conditions and activities, readings and results.  `follow`
 *           is already expanded: one tree holds the parts of other files too,
 *           and each part of it knows the file, line and column it came from.
 * Owns      the meaning of every key of a procedure file.
 * May call  base, measure, expression.
 *
 * Everything here is made by load.h, lives in one arena and never changes.
 * Zero is the valid empty value of every struct.  Lists are a pointer and a count.
 *
 * To add a key: its member here; its row in the table of keys.c and its decoder; its line in
 * schemas/procedure.schema.json (a test compares the two) and in
 * docs/procedure-format.md; what it means, in safety/ or job/; one sound and
 * one faulty fixture in tests/procedures.
 */
#include "base/diagnostic.h"
#include "expression/expression.h"

/* --- words shared by many keys -------------------------------------------------- */

/* ANSI Z535: the signal word says how bad it can get. */
enum signal { SIGNAL_NOTICE, SIGNAL_CAUTION, SIGNAL_WARNING, SIGNAL_DANGER };

/* A text with blanks: `Take plug {cylinder} out.`  The literal comes before the value; the last
 * piece may have no value. */
struct template_piece {
    struct text literal;
    const struct expression *value; /* NULL: none */
};
struct template
{
    struct text written; /* as in the file, normalised; empty: no such key */
    struct place place;
    const struct template_piece *pieces;
    size_t piece_count;
};

/* A question with answers to choose from.  The expected ones stand first in `choices`. */
struct question {
    struct template ask;
    struct choices choices;
    size_t expected_count; /* 0 with !any_text: a hold point that nothing passes */
    bool any_text;         /* any text of at least two words is the expected answer */
};

/* Limits are closed; either may be NULL. */
struct limits {
    const struct expression *at_least, *at_most;
};

/* `allow`: a rule of writing (a finding W...) that does not hold here, with the author's reason. */
struct allowance {
    enum finding rule;
    struct text reason;
    struct place place;
};

/* --- conditions and activities ------------------------------------------------- */

/* Conditions are numbered: those of the safety library first, in its order, so that a condition
 * of the library has the same number in every procedure; then the procedure's own. */
struct condition {
    unsigned id;
    struct text name;
    struct place place;
    bool has_question;
    struct question question;
    struct text restore; /* how to undo it; not empty: owed until a step clears it */
    int index; /* one fact per position of this index; INDEX_NONE: one for the machine */
    bool lapses;
    double lapses_after; /* seconds; 0: asked at every gate that needs it */
    bool asked_at_start;
    const unsigned *requires; /* ids; while this is true those must be */
    size_t requires_count;
    const unsigned *voids; /* ids; becoming true makes those false */
    size_t voids_count;
    struct text source;
};

struct activity {
    struct text name;
    struct place place;
    enum signal signal;
    struct text hazard, harm, source;
    bool is_refused; /* in any procedure */
    struct text reason;
    const unsigned *needs, *forbids, *clears; /* condition ids */
    size_t needs_count, forbids_count, clears_count;
};

/* Something an author might take for a precaution, and why it is none. */
struct no_precaution {
    struct text name, reason;
};

struct safety_library {
    const struct source *const *sources;
    size_t source_count;
    const struct text
        *index_names; /* named by `each` of its conditions; numbered as in every procedure */
    size_t index_count;
    const struct condition *const *conditions; /* by id */
    size_t condition_count;
    const struct activity *const *activities;
    size_t activity_count;
    const struct no_precaution *no_precautions;
    size_t no_precaution_count;
};

/* A condition named by a step: `x`, or `x[cylinder]` for this position only. */
struct condition_use {
    unsigned condition; /* id */
    bool is_here;
    struct place place;
};

/* --- values: machine, inputs, readings ---------------------------------------------- */

enum field_form { FIELD_QUANTITY, FIELD_CHOICES, FIELD_TEXT };
enum use_of_repeats { USE_MEAN, USE_MEDIAN, USE_HIGHEST, USE_LOWEST };
enum reading_again { AGAIN_REPLACES, AGAIN_REPEATS, AGAIN_ADDS };
enum photo { PHOTO_NONE, PHOTO_OPTIONAL, PHOTO_REQUIRED };

enum { GAUGE_NONE = -1 };

/* How a value is typed in. */
struct field {
    enum field_form form;
    const struct unit *unit; /* FIELD_QUANTITY: what a bare number is taken in */
    struct choices choices;  /* FIELD_CHOICES */
    bool is_whole;
    int gauge;             /* number in procedure.gauges, or GAUGE_NONE */
    struct limits between; /* outside: asked again, may be insisted on with a reason */
    unsigned readings;     /* repeats asked for; at least 1 */
    enum use_of_repeats use;
    enum reading_again again;
    enum photo photo;
    struct template ask; /* the question; empty: the name serves */
};

/* One of the machine's own values that the procedure wants: machine.NAME. */
struct machine_want {
    struct text name;
    struct place place;
    struct field field;
    unsigned symbol;
};

struct input {
    struct text name; /* as in the file; one name, whoever declares it */
    struct place place;
    struct field field;
    unsigned symbol;
};

struct reading {
    struct text name; /* in full: with the `as` of its part in front */
    struct place place;
    struct field field;
    unsigned symbol;
    int index;               /* a vector over this index, or INDEX_NONE */
    const struct work *work; /* the first step that records it */
    bool is_torque;          /* STEP.torque: what the wrench was set to */
};

/* accuracy: half-widths of rectangular distributions (JCGM 100:2008, 4.3.7). */
enum accuracy_form { ACCURACY_ABSOLUTE, ACCURACY_OF_READING, ACCURACY_OF_FULL_SCALE };
struct accuracy_term {
    enum accuracy_form form;
    double amount;     /* SI step of the gauge's kind, or a ratio */
    double full_scale; /* SI; ACCURACY_OF_FULL_SCALE */
};
struct gauge {
    struct text name, title;
    struct place place;
    const struct unit *unit;
    double resolution; /* SI step; 0: none given */
    const struct accuracy_term *accuracy;
    size_t accuracy_count;
    struct text calibrated, due; /* ISO 8601 dates, or empty */
};
struct gauge_list {
    const struct source *source;
    const struct gauge *gauges;
    size_t count;
};

/* --- symbols: the one namespace ------------------------------------------------------ */

enum symbol_kind {
    SYMBOL_MACHINE, /* machine.NAME */
    SYMBOL_INPUT,
    SYMBOL_EARLIER, /* earlier.NAME: the last value on this machine, possibly missing */
    SYMBOL_READING,
    SYMBOL_NAME,
    SYMBOL_RESULT,
    SYMBOL_TIMER,
    SYMBOL_TRIAL /* NAME, NAME.treated, NAME.effect, NAME.band */
};
struct symbol {
    enum symbol_kind kind;
    struct text name; /* in full */
    struct place place;
    struct type type;
    unsigned
        item; /* number in the procedure's list of that kind; for EARLIER the other symbol; for
                 TRIAL the trial's number times TRIAL_VALUES, and which of them */
};

/* --- trials: did it work ------------------------------------------------------------ */

/* What a trial yields, each under its name in the one namespace. */
enum trial_value {
    TRIAL_TREATED, /* NAME.treated: a truth vector, known once a step has allotted it */
    TRIAL_EFFECT,  /* NAME.effect: by how much more the treated ones changed */
    TRIAL_BAND,    /* NAME.band: half its 95 % interval */
    TRIAL_ANSWER,  /* NAME: "rose more", "fell more", "inconclusive" or "no verdict" */
    TRIAL_VALUES
};
/* Must hold, or the comparison is downgraded by this name. */
struct trial_match {
    struct text name;
    struct place place;
    const struct expression *holds; /* a truth */
};
struct trial {
    unsigned number;  /* in procedure.trials */
    struct text name; /* in full */
    struct place place;
    struct template ask, claim; /* claim may be empty: nobody is asked */
    unsigned before, after;     /* readings, vectors over one index, quantities of one kind */
    bool is_lower_better;
    const struct expression *worth; /* the smallest change worth having; NULL: unsaid */
    unsigned drawn;                 /* by lot so many; 0: `chosen` says who */
    const struct expression *chosen;
    bool reaches_all; /* nothing on this machine is left as it was */
    const struct trial_match *matches;
    size_t match_count;
    unsigned symbols[TRIAL_VALUES];
    const struct work *allotted_by; /* the one step */
};

/* A definition, worked out when it is used; also the value of a result. */
struct definition {
    struct text name;
    struct place place;
    const struct expression *value;
    unsigned symbol;
};

struct result {
    struct definition definition;
    const struct unit *unit; /* shown in; NULL: unit_for(its kind) */
    bool has_limit;
    struct limits limit;
    struct text source;
};

struct finding_rule {
    struct place place;
    const struct expression *when;
    struct template say;
    struct text source;
};

/* A span of time: seconds, or calendar months (a year is twelve). */
struct span {
    bool is_given;
    double seconds;
    unsigned months;
};
struct follow_up {
    struct place place;
    struct template what;
    struct span after, within;
    const struct expression *at; /* NULL: none */
};

/* --- steps --------------------------------------------------------------------------- */

struct message {
    enum signal signal;
    struct template hazard, harm; /* harm may be empty */
    struct place place;
    const struct activity *activity; /* it came from there, or NULL */
};

/* `parts`, `consumes`: a name and an amount; more than at_most is refused. */
struct supply {
    struct text name;
    struct place place;
    const struct expression *amount;  /* NULL: unsaid */
    const struct expression *at_most; /* NULL: no bound */
};

/* The ledger: something taken out or put back. */
struct part_move {
    unsigned part; /* number in procedure.parts */
    struct place place;
    const struct expression *count; /* NULL: the one thing */
    bool is_new;                    /* refits: a new one */
};
struct part {
    struct text name;
    int index; /* one per position, or INDEX_NONE */
};

struct timer {
    struct text name;
    struct place place;
    unsigned symbol;
    int index;
};
struct timer_start {
    unsigned timer; /* number in procedure.timers */
    struct place place;
    const struct expression *at_least, *at_most; /* times; NULL: none */
};

struct step {
    struct text name;       /* in full: "raise_on_stands.jack_up" in a followed part */
    struct text own_name;   /* as in its file */
    struct template action; /* do */
    struct template why, look_for;
    const struct template *tools, *wear; /* `tool` and `tools` together */
    size_t tool_count, wear_count;
    const struct supply *parts, *consumes;
    size_t part_count, consume_count;
    const struct message *messages; /* the step's and its activities', worst first */
    size_t message_count;
    const struct activity *const *activities;
    size_t activity_count;
    const struct condition_use *needs, *forbids; /* its own, then its activities' */
    size_t needs_count, forbids_count;
    const struct condition_use *sets;
    size_t sets_count;
    const struct condition_use
        *clears; /* its own, then its activities'; is_here where under `each` */
    size_t clears_count;
    const struct part_move *removes, *refits;
    size_t removes_count, refits_count;
    const struct expression *torque, *turn; /* NULL: none */
    int torque_gauge;
    const struct expression *extension, *wrench_length; /* lengths; NULL: none */
    const unsigned *readings; /* numbers in procedure.readings; the torque's last */
    size_t reading_count;
    const struct timer_start *starts;
    size_t starts_count;
    const unsigned *awaits; /* timers */
    size_t awaits_count;
    const struct trial *allots; /* NULL: none */
    bool has_hold;
    struct question hold;
    bool is_optional, is_once;
    enum photo photo;
    const struct allowance *allows;
    size_t allow_count;
};

/* --- the order of work ------------------------------------------------------------------ */

enum work_kind {
    WORK_STEP,
    WORK_SECTION, /* a heading with what stands under it; also an alternative of `either` */
    WORK_EITHER,  /* children: sections, tried in order; `otherwise` has no `when` */
    WORK_REPEAT,
    WORK_FOLLOW /* the steps of another procedure */
};

enum loop_subset { LOOP_ALL, LOOP_WHERE, LOOP_LABELS };
enum { LOOP_DEPTH_MAX = 8 };

/* Once per position. */
struct loop {
    int index; /* INDEX_NONE: no loop */
    enum loop_subset subset;
    const struct expression *where; /* LOOP_WHERE: a truth vector */
    const struct text *labels;      /* LOOP_LABELS */
    size_t label_count;
    bool in_firing_order;
};

struct work {
    enum work_kind kind;
    unsigned
        id; /* number in procedure.works; parents before children, in the order of the file */
    struct place place;
    const struct work *parent; /* NULL at the top */
    const struct work *const *children;
    size_t child_count;
    unsigned loop_depth; /* loops and repeats around it, its own included */

    struct text title; /* section: its heading; repeat: its name; follow: the title */
    const struct expression *when; /* NULL: always */
    bool when_each_round;          /* `when` names this position: looked at in every round */
    struct loop loop;              /* step, section */
    bool is_away;                  /* section: hands not free */
    unsigned times;                /* repeat: a fixed number, or 0 */
    const struct expression *until;
    unsigned at_most;
    struct text followed, as; /* follow: the procedure's name, and its prefix or empty */
    const struct step *step;  /* step */
};

/* A position named by its label: `in: [front left]`, `x["front left"]`. */
struct label_use {
    int index;
    struct text label;
    struct place place;
};

struct procedure {
    const struct source *const *sources; /* its own first, then each followed one */
    size_t source_count;
    const struct safety_library *safety;

    struct text name, title, about, applies_to, duration;
    unsigned revision;
    /* `part: true`: followed by other procedures, never started.  What it needs from them, and
     * leaves to them, is judged there and not here. */
    bool is_part;
    const struct text *source_notes; /* `sources`: where the method comes from */
    size_t source_note_count;
    const struct allowance
        *allows; /* its own file's; a part's own are looked at with the part */
    size_t allow_count;

    const struct text *index_names;   /* "cylinder", "wheel" */
    const struct place *index_places; /* where the work first uses it; no source: it does not */
    size_t index_count;
    const struct label_use *label_uses;
    size_t label_use_count;
    const struct condition *const *conditions; /* by id: the library's, then its own */
    size_t condition_count;
    const struct gauge *gauges; /* what is needed and assumed */
    size_t gauge_count;
    const struct machine_want *wants;
    size_t want_count;
    const struct input *inputs;
    size_t input_count;
    const struct reading *readings;
    size_t reading_count;
    const struct symbol *symbols;
    size_t symbol_count;
    const struct definition *names;
    size_t name_count;
    const struct result *results;
    size_t result_count;
    const struct finding_rule *findings;
    size_t finding_count;
    const struct follow_up *follow_ups;
    size_t follow_up_count;
    const struct part *parts;
    size_t part_count;
    const struct timer *timers;
    size_t timer_count;
    const struct trial *const *trials;
    size_t trial_count;

    const struct work *const *works; /* by id; works[0] is the whole, a section without title */
    size_t work_count;
    size_t step_count;
};

/* --- machine sheets ------------------------------------------------------------------ */

struct machine_index {
    struct text name;
    struct labels labels;
    struct place place;
};
struct machine_value {
    struct text name, written, source; /* interpreted by the kind a procedure wants */
    struct place place, written_place;
};
struct machine {
    const struct source *origin;
    struct text name, title;
    const struct machine_index *indexes;
    size_t index_count;
    const struct machine_value *values;
    size_t value_count;
};

/* --- a procedure fitted to one machine ---------------------------------------------------- */

/* A value of the machine as the procedure wants it. */
struct manual_value {
    bool is_given;
    struct quantity quantity; /* FIELD_QUANTITY */
    struct text text;         /* otherwise */
    struct text source;
};

struct fitted {
    const struct procedure *procedure;
    const struct machine *machine;
    const struct labels *indexes;      /* by the procedure's index numbers */
    const struct manual_value *values; /* by want; those not given are asked in the opening */
    const struct gauge
        *gauges; /* by the procedure's gauge numbers; the user's replace its own */
};

/* Of an index that the work uses: which of them are wanted is one bit each. */
enum { FITTED_POSITIONS_MAX = 64 };

/* Reports what the machine cannot offer (an index it does not have, or with too many positions, a value of the wrong kind, a
 * label that is none of its positions); NULL if an error was reported.  A missing value is none. */
const struct fitted *procedure_fit(const struct procedure *procedure,
                                   const struct machine *machine,
                                   const struct gauge_list *gauges, struct diagnostics *found,
                                   struct arena *arena);

/* The unit that a value is asked in, and a bare number is taken in: what is on the scale of the user's
 * own gauge, where that is another than on the scale the procedure assumed; else the field's own. */
const struct unit *fitted_unit(const struct fitted *fitted, const struct field *field);

/* A name as a person reads it: underscores become spaces, the prefix of a followed part is left
 * out. */
struct text say_name(struct arena *arena, struct text name);

/* A name's number, or -1. */
int procedure_find_condition(const struct procedure *procedure, struct text name);
int procedure_find_symbol(const struct procedure *procedure, struct text name);
const struct work *procedure_find_step(const struct procedure *procedure, struct text name);

/* Done once for every position of an index, or of a subset of it. */
bool work_is_each(const struct work *work);
/* Surely not done: a `when` of its own or around it is known to be false, or an alternative before it is
 * taken.  is_known: is this `when` known to come out so?  What is not known rules nothing out. */
bool work_is_ruled_out(const struct work *work,
                       bool (*is_known)(void *self, const struct expression *when, bool truth),
                       void *self);

const char *signal_word(enum signal signal); /* "danger" */

#endif

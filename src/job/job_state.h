#ifndef JOB_JOB_STATE_H
#define JOB_JOB_STATE_H
/*
 * job_state.h - what a job remembers, and where it stands.
 *
 * Purpose   Events are kept as they came; beside them stands only what would be
 *           slow to find again: which events belong to a spot, which to a
 *           reading, the conditions, the ledger, the timers.  All of it is made
 *           by job_apply() and can be made again from the events.
 * Owns      struct job, facts by spot, cells by position, struct stand.
 * May call  everything the module may.
 */
#include "job/look.h"

/* --- facts: what happened at a spot ------------------------------------------------------- */

/* An entry of the hash table of spots.  Empty if `newest` is 0. */
struct fact {
    struct spot spot;
    unsigned newest;  /* newest event here; older ones through job.older */
    unsigned since;   /* the doing of the step that counts now began after this event */
    unsigned entered; /* newest EVENT_ENTERED, or 0 */
    enum entered entered_as;
    unsigned done, skipped; /* in the normal course of the work */
};

/* The readings taken for one reading at one position: event numbers in order. */
struct cell {
    unsigned *takes;
    size_t count, capacity;
};

struct part_cell {
    unsigned count; /* out */
    bool is_perhaps;
};

struct timer_cell {
    bool is_started, has_least, has_most;
    long long started;     /* in the job's time */
    long long least, most; /* milliseconds */
    long long awaited;     /* when a step that awaits it began; 0: not yet */
};

/* Steps at their places.  done: also skipped and passed over. */
struct step_counts {
    unsigned done, total, skipped, passed_over;
};

struct job {
    struct arena *arena;
    const struct procedure *procedure;
    const struct fitted *fitted;

    struct event *events; /* number n at n - 1 */
    unsigned *older;      /* by number: the event before it at the same spot */
    unsigned *amended_by; /* by number: its newest amendment, or 0 */
    size_t event_count, event_capacity;

    struct fact *facts;
    size_t fact_count, fact_capacity;

    struct condition_state conditions;
    bool *must_ask;     /* by standing: asked again since the job was taken up again? not yet */
    unsigned *answered; /* by standing: the newest event that answered it, or 0 */
    long long *set_at;  /* by standing: when a step's own question about it was last answered */
    unsigned *denied;   /* by standing: the end of the step that should have set it; 0: none */

    unsigned *want_event, *input_event; /* newest answer with its source, or 0 */
    unsigned *first_cell;               /* by reading */
    struct cell *cells;
    size_t cell_count;
    unsigned *first_source; /* by gauge: its first source of error */
    unsigned gauge_sources;
    unsigned *first_part; /* by part */
    struct part_cell *parts;
    bool *was_put_back; /* by part cell: while making safe, and not taken out again since */
    size_t part_cell_count;
    unsigned *first_timer; /* by timer */
    struct timer_cell *timers;
    size_t timer_cell_count;
    bool *decides;           /* by symbol: a when, in, until or either rests on it */
    unsigned *number_of;     /* by work: the number of a step */
    unsigned *root_child;    /* by work: in which child of the root it stands */
    unsigned walked_past;    /* so many children of the root are over */
    struct step_counts past; /* in those */

    unsigned taken_up;             /* by this EVENT_RESUMED, or 0 */
    unsigned resumed, paused, cue; /* event numbers, or 0; paused is 0 again when resumed */
    unsigned cue_asked;            /* the cue left at the last pause, to be found again, or 0 */
    unsigned ended;
    unsigned void_from;
    struct spot redo;
    unsigned redo_since;  /* a step is being done again, or 0 */
    struct spot again;    /* the way to this gate is being done again since ... */
    unsigned again_since; /* ... this event, or 0 */
    bool again_redoes;    /* and in the end the step itself */
    struct spot makesafe;
    unsigned makesafe_since; /* making safe since this event, or 0 */
    unsigned makesafe_step;  /* the move chosen by this event is being made, or 0 */
    unsigned amended;      /* the first amendment whose consequences nobody decided yet, or 0 */
    unsigned amended_last; /* the newest amendment, or 0 */
    unsigned denial;       /* the end of a step that left something not in force, until it is
                            * decided how to go on */
    unsigned entered_last; /* the newest step entered, wherever it was */
    unsigned
        card; /* the card of an away section was shown by this event, and its steps are not all
                    * answered yet; or 0 */
    /* by standing, by part cell: before that card, or before the newest step that was entered */
    bool *was_perhaps, *part_was_perhaps;
    unsigned
        doubted; /* making safe began while what this event entered was not over; 0: how far it
                       * got was said, or matters to nothing */
    unsigned *opened; /* by standing: the event since which it may hold, or 0 */
    struct standing
        *taken; /* by standing: as it was when making safe began; is_perhaps if it has
                             * been taken as so since */

    struct instant last; /* of the newest event */
    long long shift;     /* the job's time is the wall clock and this */
    bool is_clock_in_doubt;
    struct instant before_doubt;
    unsigned *recent; /* the last steps done: event numbers, a ring */
};

enum { RECENT_STEPS = 8 };

enum {
    POSITIONS_MAX = FITTED_POSITIONS_MAX
}; /* of an index, as in an event; a machine with more does not fit */
/* Ten years: no timer and no pause is longer, and in milliseconds it is far from any overflow. */
#define SECONDS_MAX (10.0 * 365.25 * 86400.0)

const struct fact *fact_at(const struct job *job, const struct spot *spot);
/* Makes it if there is none. */
struct fact *fact_make(struct job *job, const struct spot *spot);
/* The event as amended. */
const struct event *job_event_now(const struct job *job, unsigned number);
void job_keep_event(struct job *job, const struct event *event);

/* What is sought among the events at a spot. */
struct sought {
    enum event_kind kind;
    unsigned detail;  /* ANSWERED only */
    struct text name; /* empty: any */
    int position;
    unsigned repeat; /* 0: any */
    unsigned after;  /* event number */
};
/* The newest such event, or NULL. */
const struct event *fact_find(const struct job *job, const struct fact *fact,
                              const struct sought *sought);

/* --- time and places ------------------------------------------------------------------------ */

bool clock_jumped(struct instant before, struct instant after);
int place_here(int index, const int *here);

/* --- values ---------------------------------------------------------------------------------- */

struct surroundings surroundings_at(const struct job *job, const struct spot *spot,
                                    long long time, struct arena *arena);
struct value reading_value(const struct job *job, unsigned reading, struct arena *arena);
/* Standard, in SI, of one value: by the accuracy and the resolution of the gauge; 0 without one. */
double uncertainty_by_gauge(const struct gauge *gauge, double value);
/* A scalar or vector in words; `unit` NULL: what its parts were given in. */
struct text value_in_words(const struct job *job, const struct value *value,
                           const struct unit *unit, struct arena *arena);
/* Of what a symbol stands for, declared or given; NULL if nothing is. */
const struct unit *symbol_unit(const struct fitted *fitted, unsigned symbol);
void find_deciding(struct job *job);
/* Counts the steps in the children of the root that the walk has behind it now. */
void count_walked_past(struct job *job, unsigned children);

/* --- the ledger ----------------------------------------------------------------------------- */

/* The cells that a move of a part touches at this spot: from `first`, `count` of them. */
void part_cells(const struct job *job, unsigned part, const int *here, size_t *first,
                size_t *count);
unsigned part_out_count(const struct job *job, unsigned part, const int *here);
void ledger_entered(struct job *job, const struct step *step, const int *here);
void ledger_done(struct job *job, const struct step *step, const struct spot *spot,
                 long long time);
void timers_awaited(struct job *job, const struct step *step, const int *here, long long time);
/* When the last of the awaited timers is due, if one still runs. */
bool timers_due(const struct job *job, const struct step *step, const int *here, long long time,
                long long *due, unsigned *timer);
/* While making safe: does the step undo what a step did that started a wait, and does that wait still
 * run?  What itself awaits it goes on at once: an engine is switched off. */
bool timers_of_undone(const struct job *job, const struct step *step, const int *here,
                      long long time, long long *due, unsigned *timer);
/* True if the step awaits a timer that no step started, although none of those that start it may be
 * left out. */
bool timers_never_started(const struct job *job, const struct step *step, const int *here,
                          unsigned *timer);
/* Does it start a timer that some step awaits? */
bool step_starts_awaited(const struct job *job, const struct step *step);
/* How late the awaited timers are, in milliseconds; 0 if in time. */
long long timers_late(const struct job *job, const struct step *step, const int *here,
                      long long time);
/* What is out by these cells; the job's own are job->parts. */
size_t parts_out_of(const struct job *job, const struct part_cell *cells, struct part_out **out,
                    struct arena *arena);
size_t timers_running_at(const struct job *job, long long time, struct timer_running **out,
                         struct arena *arena);

/* --- the card of an away section ------------------------------------------------------------- */

/* All steps on it have perhaps begun. */
void card_shown(struct job *job, const struct event *event);
/* What stands before a step may bring it into doubt. */
void doubts_begin(struct job *job);
/* Nothing of what was entered last has happened. */
void doubts_end(struct job *job);
/* The person said, after a stop, that none of them had. */
void card_not_begun(struct job *job, const struct event *event);
/* A step is done, or passed over: what those after it on the card have perhaps done stays so. */
void card_goes_on(struct job *job, const struct event *event);
bool card_has_perhaps_begun(const struct job *job, const struct work *work);
/* How far the person said, since the job was taken up again, that the card or a step on it got. */
const struct event *card_answer(const struct job *job, const struct spot *spot);
bool card_asks_how_far(const struct job *job, const struct work *section);
bool card_asks_once(const struct job *job, const struct work *section, const struct spot *card,
                    struct spot *spot, struct arena *scratch);

/* --- branches, and making safe --------------------------------------------------------------- */

/* At how many places a step is done, as far as loops over an index go; and the nth of them, as for a
 * gate. */
size_t work_place_count(const struct job *job, const struct work *work);
const int *work_place(const struct job *job, const struct work *work, size_t number,
                      struct arena *arena);
/* Known by now to be an alternative that is false, or behind one that is true. */
bool work_is_on_another_branch(const struct job *job, const struct work *work,
                               const struct spot *spot, long long time, struct arena *scratch);
/* Not among the positions that a loop round it is done for, as decided or, before that, as it would be
 * decided now. */
bool place_is_left_out(const struct job *job, const struct work *work, const struct spot *spot,
                       long long time, struct arena *scratch);

/* The steps to be done again until the gate of a step or away section is no longer shut. */
struct makesafe job_way(const struct job *job, const struct work *goal, const struct spot *spot,
                        long long time, struct arena *arena);
/* The way as a choice, "do steps 1 and 2 again, in this order", and what these steps are, one a line.
 * `last`: the step itself, if it comes in the end; or NULL. */
struct way_said {
    struct text choice, lines;
};
struct way_said way_words(const struct job *job, const struct makesafe *way,
                          const struct work *last, struct arena *scratch);
/* What a denial of `shown` says about more than itself: those needs of the step that shows it
 * whose setting anew would end it (docs/safety.md, 3).  They are not in force any more. */
void withdraw_needs(struct job *job, const struct step *step, unsigned shown, const int *here,
                    long long time);
void withdraw_after_denial(struct job *job, unsigned shown, int position, long long time);
/* True if it withdrew something, so that the step must begin anew. */
bool withdraw_after_hold(struct job *job, const struct event *event, long long time);

/* --- where the job stands --------------------------------------------------------------------- */

enum stand_kind {
    STAND_ASK,    /* it is somebody's turn: `prompt` */
    STAND_DECIDE, /* a when, in, until or the next move of make safe */
    STAND_ENTER,
    STAND_DONE,
    STAND_FINISH
};
enum shut {
    SHUT_GATE,
    SHUT_SUPPLY,    /* more than at_most */
    SHUT_UNDECIDED, /* a when is missing */
    SHUT_UNKNOWN,   /* an amount, a time, a torque or the action itself is missing */
    SHUT_TIMER,     /* an awaited timer was never started */
    SHUT_DENIED,    /* a step is done, and what it sets was found not to be so */
    SHUT_BROKEN,    /* a denial broke a `requires` */
    SHUT_OPEN_END,  /* the work is over, and something is not put right */
    SHUT_SAFE,      /* make safe is through */
    SHUT_NO_ORDER   /* no order to make safe was found */
};
enum option_kind {
    OPTION_REDO,
    OPTION_AGAIN, /* the whole way to the gate */
    OPTION_LEAVE_REDO,
    OPTION_GO_WITHOUT, /* what needs it stays shut */
    OPTION_MAKESAFE,
    OPTION_GO_ON, /* leave make safe */
    OPTION_PAUSE,
    OPTION_END
};
struct option {
    enum option_kind kind;
    struct spot spot; /* REDO, AGAIN */
    struct text words;
};
enum { OPTIONS_MAX = 12 };

struct stand {
    enum stand_kind kind;
    enum prompt_kind prompt;
    struct spot spot;
    enum entered entering; /* ENTER */
    const struct work *work;
    /* DECIDE */
    struct text decided;
    struct text drawn; /* how: by lot, with the seed */
    const struct expression *expression;
    unsigned long long positions;
    /* ASK */
    const struct field *field; /* manual value, input, reading, and INSIST or REASON about it */
    struct text name;
    const struct event *tried; /* INSIST, REASON: the implausible try; SOURCE: the value */
    enum answered answered;    /* condition, input, manual value */
    unsigned item;             /* reading, input, want, condition or part */
    int position;
    unsigned repeat, repeats;
    unsigned timer; /* WAIT */
    long long wakes_at;
    struct gate gate; /* SHUT */
    const struct supply *supply;
    struct text missing;
    struct option options[OPTIONS_MAX];
    size_t option_count;
    enum shut shut;
    struct text way;  /* SHUT: the steps of OPTION_AGAIN, one a line; or empty */
    bool truth;       /* DECIDE */
    bool wants_photo; /* ACTION: not done before a picture is there */
    bool is_late;
};

struct walker {
    const struct job *job;
    long long time;
    struct arena *scratch;
    struct stand stand;
    bool is_late;
    unsigned card; /* late: the event that showed the section's card */
};

/* `looks_at_clock`: an answer that was on its way when the clock jumped is still taken. */
struct stand job_stand(const struct job *job, struct instant now, bool looks_at_clock,
                       struct arena *scratch);
/* Each true if the walk stops here; then walker->stand says where. */
bool walk_step(struct walker *walker, const struct work *work, const struct spot *spot,
               enum entered mode);
bool walk_gate(struct walker *walker, const struct gate *gate, const struct work *work,
               const struct spot *spot);
/* Before the hands go in: too much of something in a step that is done whatever comes. */
bool walk_away_supplies(struct walker *walker, const struct work *section,
                        const struct spot *spot);
bool walk_again(struct walker *walker);
/* On taking a job up: what is to be asked again, and which of it comes next. */
void ask_again_all(struct job *job);
bool find_asked_again(const struct job *job, size_t *condition, size_t *at);
bool ask_field(struct walker *walker, const struct stand *asked);
void stand_shut(struct walker *walker, enum shut shut, const struct work *work,
                const struct spot *spot);
/* The positions an `in` names by their labels, bit by bit. */
unsigned long long labelled_positions(const struct job *job, const struct loop *loop);
void add_option(struct walker *walker, enum option_kind kind, struct text words);
/* The newest doing of a step that sets this, if it may be done again now. */
bool find_redo(struct walker *walker, unsigned condition, int position, struct spot *spot);
bool is_expected(const struct question *question, struct text meaning);
bool insists(const struct event *event);
bool measures_again(const struct event *event);
/* What a correction changes of what was decided, in words. */
struct text amendment_words(const struct job *job, struct arena *scratch);
bool amendment_touches(const struct job *job, struct arena *scratch);
struct decision amendment_decided(const struct job *job, bool follows, struct instant now,
                                  struct arena *scratch);

/* --- making events --------------------------------------------------------------------------- */

struct event event_begin(const struct job *job, enum event_kind kind, const struct spot *spot,
                         struct instant now);
struct decision decision_of(struct arena *scratch, const struct event *event);
struct decision decision_refused(struct text refusal);
/* The event for the prompt's question, with late and place filled in. */
struct event event_for(const struct job *job, const struct stand *stand, enum event_kind kind,
                       unsigned detail, struct instant now);

/* The question of a shut gate, and of any other field or place. */
struct text shut_words(const struct job *job, const struct stand *stand, struct arena *scratch);
struct text question_for(const struct job *job, const struct stand *stand,
                         struct arena *scratch);

/* What was typed into a field. */
struct taken {
    bool is_taken, is_implausible;
    struct text meaning, refusal, unit;
    bool has_value;
    double value;
    unsigned long long positions; /* of a claim: bit i for position i */
};
struct taken field_take(const struct job *job, const struct field *field,
                        const struct spot *spot, struct text typed, struct arena *scratch);
/* "; likely is 0 psi to 290 psi", in the unit that is asked for; nothing where the value lies within, so
 * that it is the unit that is doubted. */
struct text likely_words(const struct job *job, const struct field *field,
                         const struct spot *spot, double tried, struct arena *scratch);
/* What was understood: "171 psi (11.79 bar)" if it was typed in another unit than the field's. */
struct text taken_words(const struct field *field, const struct taken *taken,
                        struct arena *scratch);
/* A torque further off what was to be set than a wrench may be. */
bool is_set_otherwise(const struct job *job, const struct reading *reading,
                      const struct spot *spot, double si, struct arena *scratch);
/* Is a repeat far from all that were read before it at the same place?  Asked about as if implausible. */
bool is_far_from_repeats(const struct job *job, const struct stand *stand, double value,
                         struct arena *scratch);
/* Of such a one: "the 5.3 bar read here before". */
struct text far_words(const struct job *job, const struct stand *stand, double value,
                      struct arena *scratch);
struct decision decide_field(const struct job *job, const struct stand *stand,
                             struct text typed, struct instant now, struct arena *scratch);
struct decision decide_insist(const struct job *job, const struct stand *stand,
                              struct text meaning, struct instant now, struct arena *scratch);
bool decide_measured(const struct job *job, const struct stand *stand, struct text typed,
                     struct instant now, struct decision *decision, struct arena *scratch);
struct decision decide_reason(const struct job *job, const struct stand *stand,
                              struct text typed, struct instant now, struct arena *scratch);
struct text place_echo(const struct job *job, const struct stand *stand, struct text meaning,
                       struct arena *scratch);

extern const struct choices once_choices, amend_choices;
enum { ONCE_NOT_BEGUN, ONCE_IN_PART, ONCE_FINISHED };
enum { AMEND_KEEP, AMEND_FOLLOW };

#endif

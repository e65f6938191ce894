#include "verify/promela.h"

#include <assert.h>
#include <stdarg.h>
#include <stdint.h>
#include <stdlib.h>

/*
 * Variables of the model, shared by all procedures in it:
 *   c[]  a condition at a position is true       o[]  it is owed
 *   t[]  a truth: 99 undecided, else its value   p[]  a part at a position is out
 *   n[]  a `once` step was done                  s[]  a subset; what a round found
 *   v, b what was looked at just now             w[]  became true in this step
 * Positions are unrolled: every round of `each` has its own copy of the body.
 */
enum {
    STANDINGS_MAX = 96,
    TRUTHS_MAX = 96,
    DEPENDENCES_MAX = 12,
    PARTS_MAX = 32,
    ONCE_MAX = 16,
    SAVED_MAX = 96,
    KEY_MAX = 400,
    MOVES_MAX = 64,
    TABLE_BITS_MAX = 16,
    POSITIONS = 2,
    WHOLE = -1,
    UNDECIDED = 99
};

struct dependence {
    unsigned symbol;
    int position; /* or WHOLE */
};

/* One thing that is decided: a truth, or which of its choices a text is. */
struct truth {
    char key[KEY_MAX];
    size_t choices; /* 0: a truth */
    bool is_fleeting;
    struct dependence dependences[DEPENDENCES_MAX];
    int dependence_count;
};

struct once {
    const struct work *work;
    int here[8];
};

struct translation {
    FILE *out;
    const struct procedure *procedure;
    unsigned number;
    bool with_make_safe, is_beyond;
    unsigned first[STANDINGS_MAX]; /* by condition */
    unsigned standing_count;
    unsigned first_part[PARTS_MAX], part_count;
    struct truth truths[TRUTHS_MAX];
    int truth_count;
    struct once once[ONCE_MAX];
    int once_count;
    unsigned saved_count;
    unsigned begun_count;
    FILE *checks; /* C functions of the begun steps */
    int here[8];
};

static void put(const struct translation *t, const char *format, ...)
{
    va_list arguments;
    va_start(arguments, format);
    vfprintf(t->out, format, arguments);
    va_end(arguments);
}

static const struct condition *condition_of(const struct translation *t, unsigned id)
{
    return t->procedure->conditions[id];
}

static unsigned positions_of(const struct translation *t, unsigned id)
{
    return condition_of(t, id)->index == INDEX_NONE ? 1 : POSITIONS;
}

static bool is_abnormal(const struct condition *condition)
{
    return condition->restore.length > 0;
}

/* Asked at every gate that needs it: whoever does what should be done finds it so. */
static bool is_asked_anew(const struct condition *condition)
{
    return condition->lapses && condition->lapses_after <= 0;
}

struct covered {
    unsigned from, to; /* standings */
};

static struct covered covered_by(const struct translation *t, struct condition_use use,
                                 const int *here)
{
    unsigned first = t->first[use.condition];
    int index = condition_of(t, use.condition)->index;
    if (use.is_here && index != INDEX_NONE && here[index] != INDEX_NONE)
        return (struct covered){first + (unsigned)here[index],
                                first + (unsigned)here[index] + 1};
    return (struct covered){first, first + positions_of(t, use.condition)};
}

/* --- truths ----------------------------------------------------------------------------------- */

struct key {
    struct truth truth;
    size_t length;
};

static void key_add(struct key *key, const char *format, ...)
{
    va_list arguments;
    va_start(arguments, format);
    int length =
        vsnprintf(key->truth.key + key->length, KEY_MAX - key->length, format, arguments);
    va_end(arguments);
    if (length < 0 || key->length + (size_t)length >= KEY_MAX)
        abort();
    key->length += (size_t)length;
}

static void key_rests_on(struct key *key, unsigned symbol, int position)
{
    for (int i = 0; i < key->truth.dependence_count; i++)
        if (key->truth.dependences[i].symbol == symbol &&
            key->truth.dependences[i].position == position)
            return;
    if (key->truth.dependence_count == DEPENDENCES_MAX)
        abort();
    key->truth.dependences[key->truth.dependence_count++] =
        (struct dependence){symbol, position};
}

static const struct node *meaning_of(const struct translation *t, const struct node *node)
{
    while (node->kind == NODE_SYMBOL && t->procedure->symbols[node->symbol].kind == SYMBOL_NAME)
        node = t->procedure->names[t->procedure->symbols[node->symbol].item].value->root;
    return node;
}

/* These see all positions of what stands in them. */
static bool sees_all(const struct node *call)
{
    switch (call->function) {
    case FUNCTION_min:
    case FUNCTION_max:
    case FUNCTION_mean:
        return call->argument_count == 1;
    case FUNCTION_median:
    case FUNCTION_sum:
    case FUNCTION_count:
    case FUNCTION_stdev:
    case FUNCTION_scatter:
    case FUNCTION_any:
    case FUNCTION_all:
    case FUNCTION_none:
    case FUNCTION_where:
    case FUNCTION_beside:
    case FUNCTION_stands_out:
    case FUNCTION_previous:
        return true;
    case FUNCTION_uncertainty:
    case FUNCTION_abs:
    case FUNCTION_sqrt:
    case FUNCTION_round:
    case FUNCTION_given:
    case FUNCTION_size:
    case FUNCTION_first_of:
    case FUNCTION_star:
    case FUNCTION_standard_pressure:
    case FUNCTION_elapsed:
    case FUNCTION_late:
    case FUNCTION_COUNT:
        return false;
    }
    return false;
}

static const char *sign_of(enum node_kind kind)
{
    switch (kind) {
    case NODE_NEGATE:
        return "neg";
    case NODE_NOT:
        return "not";
    case NODE_AND:
        return "and";
    case NODE_OR:
        return "or";
    case NODE_ADD:
        return "+";
    case NODE_SUBTRACT:
        return "-";
    case NODE_MULTIPLY:
        return "*";
    case NODE_DIVIDE:
        return "/";
    case NODE_POWER:
        return "^";
    case NODE_LESS:
    case NODE_GREATER_EQUAL:
        return "<";
    case NODE_LESS_EQUAL:
    case NODE_GREATER:
        return "<=";
    case NODE_EQUAL:
    case NODE_NOT_EQUAL:
        return "==";
    case NODE_PLUS_MINUS:
        return "+-";
    case NODE_PICK:
        return "pick";
    case NODE_NUMBER:
    case NODE_TEXT:
    case NODE_SYMBOL:
    case NODE_INDEX:
    case NODE_HERE:
    case NODE_LABEL:
    case NODE_CALL:
        break;
    }
    return "?";
}

static void key_of(const struct translation *t, struct key *key, const struct node *node,
                   int at);

static void key_of_call(const struct translation *t, struct key *key, const struct node *node,
                        int at)
{
    if (node->function == FUNCTION_elapsed || node->function == FUNCTION_late)
        key->truth.is_fleeting = true;
    key_add(key, "%s%u(", function_name(node->function), node->symbol);
    for (size_t i = 0; i < node->argument_count; i++) {
        key_of(t, key, node->arguments[i], sees_all(node) ? WHOLE : at);
        key_add(key, ",");
    }
    key_add(key, ")");
}

/* at: the position at which a vector is meant, or WHOLE. */
static void key_of(const struct translation *t, struct key *key, const struct node *node,
                   int at)
{
    node = meaning_of(t, node);
    if (node->kind == NODE_NUMBER) {
        key_add(key, "%.17g", node->number.value);
    } else if (node->kind == NODE_TEXT) {
        key_add(key, "\"%.*s\"", (int)node->text.length, node->text.bytes);
    } else if (node->kind == NODE_INDEX) {
        key_add(key, "here%d", t->here[node->index]);
    } else if (node->kind == NODE_SYMBOL) {
        int position = node->type.index == INDEX_NONE ? WHOLE : at;
        key_add(key, "$%u@%d", node->symbol, position);
        key_rests_on(key, node->symbol, position);
    } else if (node->kind == NODE_HERE) {
        key_of(t, key, node->first, t->here[node->index]);
    } else if (node->kind == NODE_LABEL) {
        key_of(t, key, node->first, WHOLE);
        key_add(key, "[%.*s]", (int)node->text.length, node->text.bytes);
    } else if (node->kind == NODE_CALL) {
        key_of_call(t, key, node, at);
    } else {
        key_add(key, "(%s ", sign_of(node->kind));
        if (node->first != NULL)
            key_of(t, key, node->first, at);
        key_add(key, " ");
        if (node->second != NULL)
            key_of(t, key, node->second, at);
        key_add(key, "%d)", node->exponent);
    }
}

static int truth_number(struct translation *t, const struct truth *wanted)
{
    for (int i = 0; i < t->truth_count; i++)
        if (strcmp(t->truths[i].key, wanted->key) == 0)
            return i;
    if (t->truth_count == TRUTHS_MAX) {
        t->is_beyond = true;
        return 0;
    }
    t->truths[t->truth_count] = *wanted;
    return t->truth_count++;
}

/* Decides what is undecided, which somebody sees, then compares. */
static void put_decided(struct translation *t, const struct truth *truth, size_t wanted,
                        bool is_opposite)
{
    int number = truth_number(t, truth);
    put(t, "atomic { if :: t[%d] == %d -> if", number, UNDECIDED);
    size_t sides = truth->choices == 0 ? 2 : truth->choices;
    for (size_t i = 0; i < sides; i++)
        put(t, " :: t[%d] = %zu; printf(\"@decided t%d %zu\\n\")", number, i, number, i);
    put(t, " fi :: else fi; v = (t[%d] %s %zu)", number, is_opposite ? "!=" : "==", wanted);
    if (truth->is_fleeting)
        put(t, "; t[%d] = %d", number, UNDECIDED);
    put(t, " };\n");
}

/* `text == "choice"`: which of its choices the text is, is one thing. */
static bool put_choice(struct translation *t, const struct node *node, int at)
{
    const struct node *first = meaning_of(t, node->first);
    const struct node *second = meaning_of(t, node->second);
    if (first->kind == NODE_TEXT) {
        const struct node *swapped = first;
        first = second;
        second = swapped;
    }
    if (second->kind != NODE_TEXT || first->type.base != TYPE_TEXT ||
        first->type.choices == NULL)
        return false;
    struct key key = {.length = 0};
    key_of(t, &key, first, at);
    key.truth.choices = first->type.choices->count;
    for (size_t i = 0; i < key.truth.choices; i++)
        if (text_equal(first->type.choices->texts[i], second->text)) {
            put_decided(t, &key.truth, i, node->kind == NODE_NOT_EQUAL);
            return true;
        }
    return false;
}

static void put_comparison(struct translation *t, const struct node *node, int at)
{
    bool is_opposite = node->kind == NODE_GREATER_EQUAL || node->kind == NODE_GREATER ||
                       node->kind == NODE_NOT_EQUAL;
    if ((node->kind == NODE_EQUAL || node->kind == NODE_NOT_EQUAL) && put_choice(t, node, at))
        return;
    struct key key = {.length = 0};
    key_of(t, &key, node, at);
    put_decided(t, &key.truth, 1, is_opposite);
}

static bool is_comparison(const struct node *node)
{
    return node->kind == NODE_LESS || node->kind == NODE_LESS_EQUAL ||
           node->kind == NODE_GREATER || node->kind == NODE_GREATER_EQUAL ||
           node->kind == NODE_EQUAL || node->kind == NODE_NOT_EQUAL;
}

static bool asks_of_all(const struct node *node)
{
    return node->kind == NODE_CALL &&
           (node->function == FUNCTION_any || node->function == FUNCTION_all ||
            node->function == FUNCTION_none);
}

static void put_truth(struct translation *t, const struct node *node, int at);

/* The second is looked at only where the first leaves it open. */
static void put_joined(struct translation *t, bool is_and, const struct node *first, int at,
                       const struct node *second, int second_at)
{
    put_truth(t, first, at);
    put(t, "if :: %sv ->\n", is_and ? "" : "!");
    put_truth(t, second, second_at);
    put(t, ":: else fi;\n");
}

/* Leaves in v whether it is so (or is_opposite: not so) at some third position: the two of the proof
 * stand for any number, and what neither shows may still be. */
static void put_some_third(struct translation *t, const struct node *node, bool is_opposite)
{
    node = meaning_of(t, node);
    while (node->kind == NODE_NOT) {
        node = meaning_of(t, node->first);
        is_opposite = !is_opposite;
    }
    if (node->kind == NODE_GREATER_EQUAL || node->kind == NODE_GREATER ||
        node->kind == NODE_NOT_EQUAL)
        is_opposite = !is_opposite;
    struct key key = {.length = 0};
    key_add(&key, "third%d:", is_opposite);
    key_of(t, &key, node, WHOLE);
    put_decided(t, &key.truth, 1, false);
}

/* any, all, none: from the two positions, and from whether a third one is so. */
static void put_of_all(struct translation *t, const struct node *node)
{
    const struct node *of = node->arguments[0];
    bool is_all = node->function == FUNCTION_all;
    put_joined(t, is_all, of, 0, of, 1);
    put(t, "if :: %sv ->\n", is_all ? "" : "!");
    put_some_third(t, of, is_all);
    put(t, "%s:: else fi;\n", is_all ? "v = 1 - v;\n" : "");
    if (node->function == FUNCTION_none)
        put(t, "v = 1 - v;\n");
}

/* Leaves the truth of an expression in v. */
static void put_truth(struct translation *t, const struct node *node, int at)
{
    node = meaning_of(t, node);
    if (node->kind == NODE_AND || node->kind == NODE_OR) {
        put_joined(t, node->kind == NODE_AND, node->first, at, node->second, at);
    } else if (node->kind == NODE_NOT) {
        put_truth(t, node->first, at);
        put(t, "v = 1 - v;\n");
    } else if (node->kind == NODE_HERE) {
        put_truth(t, node->first, t->here[node->index]);
    } else if (asks_of_all(node)) {
        put_of_all(t, node);
    } else if (is_comparison(node)) {
        put_comparison(t, node, at);
    } else {
        struct key key = {.length = 0}; /* the name of a truth, or a function that gives one */
        key_of(t, &key, node, at);
        put_decided(t, &key.truth, 1, false);
    }
}

/* A reading is taken: what rested on the old one is open again. */
static void put_recorded(struct translation *t, const struct reading *reading)
{
    int here = reading->index == INDEX_NONE ? WHOLE : t->here[reading->index];
    for (int i = 0; i < t->truth_count; i++) {
        const struct truth *truth = &t->truths[i];
        for (int k = 0; k < truth->dependence_count; k++) {
            struct dependence rests = truth->dependences[k];
            if (rests.symbol == reading->symbol &&
                (rests.position == WHOLE || here == WHOLE || rests.position == here)) {
                put(t, "t[%d] = %d; ", i, UNDECIDED);
                break;
            }
        }
    }
}

/* --- a step --------------------------------------------------------------------------------------- */

static void put_fault(const struct translation *t, const char *fault, const char *about)
{
    put(t, "printf(\"!%s %s\\n\"); assert(false)", fault, about);
}

static const char *short_name(const struct text name)
{
    static char kept[80];
    snprintf(kept, sizeof kept, "%.*s", (int)name.length, name.bytes);
    return kept;
}

static void put_gate(const struct translation *t, const struct step *step)
{
    put(t, "if :: true");
    for (size_t i = 0; i < step->needs_count; i++) {
        struct covered span = covered_by(t, step->needs[i], t->here);
        for (unsigned at = span.from; at < span.to; at++)
            if (!is_asked_anew(condition_of(t, step->needs[i].condition)))
                put(t, " && c[%u]", at);
    }
    put(t, " :: else -> ");
    put_fault(t, "need", short_name(step->name));
    put(t, " fi;\nif :: true");
    for (size_t i = 0; i < step->forbids_count; i++) {
        struct covered span = covered_by(t, step->forbids[i], t->here);
        for (unsigned at = span.from; at < span.to; at++)
            put(t, " && !c[%u] && !o[%u]", at, at);
    }
    put(t, " :: else -> ");
    put_fault(t, "forbidden", short_name(step->name));
    put(t, " fi;\n");
}

/* While one is true or owed, what it requires must be true. */
static void put_requires(const struct translation *t, const char *where)
{
    put(t, "if :: true");
    for (unsigned id = 0; id < t->procedure->condition_count; id++) {
        const struct condition *condition = condition_of(t, id);
        for (size_t i = 0; i < condition->requires_count; i++) {
            unsigned required = condition->requires[i];
            bool is_alike = condition->index != INDEX_NONE &&
                            condition_of(t, required)->index == condition->index;
            for (unsigned at = 0; at < positions_of(t, id); at++)
                for (unsigned other = 0; other < positions_of(t, required); other++) {
                    unsigned one = t->first[id] + at;
                    if (!is_alike || other == at)
                        put(t, " && ((!c[%u] && !o[%u]) || c[%u])", one, one,
                            t->first[required] + other);
                }
        }
    }
    put(t, " :: else -> ");
    put_fault(t, "requires", where);
    put(t, " fi;\n");
}

static void put_effects(const struct translation *t, const struct step *step)
{
    for (size_t i = 0; i < step->clears_count; i++) {
        struct covered span = covered_by(t, step->clears[i], t->here);
        for (unsigned at = span.from; at < span.to; at++)
            put(t, "c[%u] = 0; o[%u] = 0;\n", at, at);
    }
    for (size_t i = 0; i < step->sets_count; i++) {
        struct covered span = covered_by(t, step->sets[i], t->here);
        const struct condition *set = condition_of(t, step->sets[i].condition);
        for (unsigned at = span.from; at < span.to; at++) {
            if (set->voids_count > 0)
                put(t, "w[%u] = 1 - c[%u]; ", at, at);
            put(t, "c[%u] = 1;", at);
            if (is_abnormal(set))
                put(t, " o[%u] = 1;", at);
            put(t, "\n");
        }
    }
    for (size_t i = 0; i < step->sets_count; i++) {
        struct covered span = covered_by(t, step->sets[i], t->here);
        const struct condition *set = condition_of(t, step->sets[i].condition);
        if (set->voids_count == 0)
            continue;
        for (unsigned at = span.from; at < span.to; at++) {
            put(t, "if :: w[%u] -> w[%u] = 0", at, at);
            for (size_t k = 0; k < set->voids_count; k++) {
                unsigned other = set->voids[k];
                bool is_alike =
                    set->index != INDEX_NONE && condition_of(t, other)->index == set->index;
                for (unsigned position = 0; position < positions_of(t, other); position++)
                    if (!is_alike || position == at - t->first[set->id])
                        put(t, "; c[%u] = 0", t->first[other] + position);
            }
            put(t, " :: else fi;\n");
        }
    }
}

static void put_parts(const struct translation *t, const struct part_move *moves, size_t count,
                      int is_out)
{
    for (size_t i = 0; i < count; i++) {
        int index = t->procedure->parts[moves[i].part].index;
        unsigned first = t->first_part[moves[i].part];
        unsigned all = index == INDEX_NONE ? 1 : POSITIONS;
        for (unsigned at = 0; at < all; at++)
            if (index == INDEX_NONE || t->here[index] == INDEX_NONE ||
                t->here[index] == (int)at)
                put(t, "p[%u] = %d; ", first + at, is_out);
    }
}

/* Whether a part is out (or in) at any position at which the step moves it. */
static void put_any_part(const struct translation *t, unsigned part, const char *look)
{
    int index = t->procedure->parts[part].index;
    unsigned all = index == INDEX_NONE ? 1 : POSITIONS;
    put(t, "if :: false");
    for (unsigned at = 0; at < all; at++)
        if (index == INDEX_NONE || t->here[index] == INDEX_NONE || t->here[index] == (int)at)
            put(t, look, t->first_part[part] + at);
    put(t, " :: else -> ");
}

/* What is nowhere in is not taken out; what is nowhere out is put back, and that is told. */
static void put_part_looks(const struct translation *t, const struct work *work)
{
    const struct step *step = work->step;
    for (size_t i = 0; i < step->removes_count; i++) {
        put_any_part(t, step->removes[i].part, " || !p[%u]");
        put_fault(t, "part_out", short_name(step->name));
        put(t, " fi;\n");
    }
    for (size_t i = 0; i < step->refits_count; i++) {
        bool is_replaced = false;
        for (size_t k = 0; k < step->removes_count; k++)
            is_replaced = is_replaced || step->removes[k].part == step->refits[i].part;
        if (is_replaced)
            continue;
        put_any_part(t, step->refits[i].part, " || p[%u]");
        put(t, "c_code { was_doubted[%u] = 1; } fi;\n", work->id);
    }
}

static int once_number(struct translation *t, const struct work *work, const int *here)
{
    for (int i = 0; i < t->once_count; i++)
        if (t->once[i].work == work && memcmp(t->once[i].here, here, sizeof t->here) == 0)
            return i;
    if (t->once_count == ONCE_MAX) {
        t->is_beyond = true;
        return 0;
    }
    t->once[t->once_count].work = work;
    memcpy(t->once[t->once_count].here, here, sizeof t->here);
    return t->once_count++;
}

/* Half done, what a step clears or would void is relied on no more if there is a question; what has none
 * is taken as it was. */
static void put_half_undone(const struct translation *t, unsigned id, struct covered span)
{
    const struct condition *condition = condition_of(t, id);
    if (!condition->has_question)
        return;
    for (unsigned at = span.from; at < span.to; at++)
        fprintf(t->checks, "    C[%u] = 0;\n", at);
}

/* The state with this step begun and not finished, then a stop. */
static void put_begun_look(struct translation *t, const struct work *work)
{
    const struct step *step = work->step;
    unsigned number = t->begun_count++;
    fprintf(t->checks,
            "static int begun_%u_%u(const unsigned char *c, const unsigned char *o, "
            "const unsigned char *n) {\n    unsigned char C[%d], O[%d], N[%d];\n"
            "    memcpy(C, c, %d); memcpy(O, o, %d); memcpy(N, n, %d);\n",
            t->number, number, STANDINGS_MAX, STANDINGS_MAX, ONCE_MAX, STANDINGS_MAX,
            STANDINGS_MAX, ONCE_MAX);
    for (size_t i = 0; i < step->sets_count; i++) {
        const struct condition *set = condition_of(t, step->sets[i].condition);
        struct covered span = covered_by(t, step->sets[i], t->here);
        for (unsigned at = span.from; is_abnormal(set) && at < span.to; at++)
            fprintf(t->checks, "    O[%u] = 1; C[%u] = %d;\n", at, at,
                    set->has_question ? 0 : 1);
        for (size_t k = 0; k < set->voids_count; k++) {
            struct condition_use use = step->sets[i];
            use.condition = set->voids[k];
            use.is_here = use.is_here && set->index != INDEX_NONE &&
                          condition_of(t, use.condition)->index == set->index;
            put_half_undone(t, use.condition, covered_by(t, use, t->here));
        }
    }
    for (size_t i = 0; i < step->clears_count; i++)
        put_half_undone(t, step->clears[i].condition, covered_by(t, step->clears[i], t->here));
    if (step->is_once)
        fprintf(t->checks, "    N[%d] = 1;\n", once_number(t, work, t->here));
    fprintf(t->checks, "    return stop_%u(C, O, N);\n}\n", t->number);
    put(t, "c_code { now.b = begun_%u_%u(now.c, now.o, now.n); };\n", t->number, number);
}

static void put_stop_check(const struct translation *t, const char *where)
{
    if (!t->with_make_safe)
        return;
    put(t, "c_code { now.v = stop_%u(now.c, now.o, now.n); };\n", t->number);
    put(t, "if :: v -> v = 0 :: else -> printf(\"@stopped\\n\"); ");
    put_fault(t, "no_order", where);
    put(t, " fi;\n");
}

static void put_step(struct translation *t, const struct work *work)
{
    const struct step *step = work->step;
    put(t, "atomic {\n");
    put_gate(t, step);
    int once = step->is_once ? once_number(t, work, t->here) : -1;
    if (once >= 0) {
        put(t, "if :: !n[%d] :: else -> ", once);
        put_fault(t, "once", short_name(step->name));
        put(t, " fi;\n");
    }
    put_part_looks(t, work);
    bool may_stop_within = t->with_make_safe && step->sets_count + step->clears_count > 0;
    if (may_stop_within)
        put_begun_look(t, work);
    put_effects(t, step);
    put_requires(t, short_name(step->name));
    /* the gate looks ahead to the end of the step: only then is it begun */
    if (may_stop_within) {
        put(t, "if :: b -> b = 0 :: else -> printf(\"@begun\\n\"); ");
        put_fault(t, "no_order", short_name(step->name));
        put(t, " fi;\n");
    }
    put_parts(t, step->removes, step->removes_count, 1);
    put_parts(t, step->refits, step->refits_count, 0);
    for (size_t i = 0; i < step->reading_count; i++)
        put_recorded(t, &t->procedure->readings[step->readings[i]]);
    if (once >= 0)
        put(t, "n[%d] = 1;\n", once);
    put(t, "c_code { was_done[%u] = 1; };\n", work->id);
    put(t, "printf(\"@done %s\\n\");\n", short_name(step->name));
    put_stop_check(t, short_name(step->name));
    put(t, "};\n");
}

/* --- hands not free ----------------------------------------------------------------------------------- */

/* What is known of a standing while an away section is gone through beforehand. */
enum foreseen { AS_IT_IS, FORESEEN_YES, FORESEEN_NO };
struct foresight {
    enum foreseen is_sure, is_held, may_be;
};

struct away {
    struct translation *t;
    struct foresight standings[STANDINGS_MAX];
};

static void put_foreseen(const struct away *away, enum foreseen foreseen, const char *as_it_is,
                         unsigned at)
{
    if (foreseen == AS_IT_IS)
        put(away->t, as_it_is, at, at);
    else
        put(away->t, foreseen == FORESEEN_YES ? "true" : "false");
}

static void foresee_gate(struct away *away, const struct step *step)
{
    for (size_t i = 0; i < step->needs_count; i++) {
        struct covered span = covered_by(away->t, step->needs[i], away->t->here);
        for (unsigned at = span.from; at < span.to; at++)
            if (!is_asked_anew(condition_of(away->t, step->needs[i].condition))) {
                put(away->t, " && ");
                put_foreseen(away, away->standings[at].is_sure, "c[%u]", at);
            }
    }
    for (size_t i = 0; i < step->forbids_count; i++) {
        struct covered span = covered_by(away->t, step->forbids[i], away->t->here);
        for (unsigned at = span.from; at < span.to; at++) {
            put(away->t, " && !");
            put_foreseen(away, away->standings[at].may_be, "(c[%u] || o[%u])", at);
        }
    }
}

static void foresee_effects(struct away *away, const struct step *step, bool is_certain)
{
    const struct translation *t = away->t;
    for (size_t i = 0; i < step->clears_count; i++) {
        struct covered span = covered_by(t, step->clears[i], t->here);
        for (unsigned at = span.from; at < span.to; at++) {
            struct foresight *foresight = &away->standings[at];
            foresight->is_sure = foresight->is_held = FORESEEN_NO;
            if (is_certain)
                foresight->may_be = FORESEEN_NO;
        }
    }
    for (size_t i = 0; i < step->sets_count; i++) {
        const struct condition *set = condition_of(t, step->sets[i].condition);
        struct covered span = covered_by(t, step->sets[i], t->here);
        for (unsigned at = span.from; at < span.to; at++) {
            struct foresight *foresight = &away->standings[at];
            foresight->may_be = FORESEEN_YES;
            if (is_certain && !set->has_question)
                foresight->is_sure = foresight->is_held = FORESEEN_YES;
        }
        for (size_t k = 0; k < set->voids_count; k++)
            for (unsigned at = 0; at < positions_of(t, set->voids[k]); at++) {
                struct foresight *other = &away->standings[t->first[set->voids[k]] + at];
                other->is_sure = other->is_held = FORESEEN_NO;
            }
    }
}

static void foresee_requires(struct away *away)
{
    const struct translation *t = away->t;
    for (unsigned id = 0; id < t->procedure->condition_count; id++)
        for (size_t i = 0; i < condition_of(t, id)->requires_count; i++) {
            unsigned required = condition_of(t, id)->requires[i];
            for (unsigned at = t->first[id]; at < t->first[id] + positions_of(t, id); at++)
                for (unsigned other = 0; other < positions_of(t, required); other++) {
                    put(t, " && (!");
                    put_foreseen(away, away->standings[at].may_be, "(c[%u] || o[%u])", at);
                    put(t, " || ");
                    put_foreseen(away, away->standings[t->first[required] + other].is_held,
                                 "c[%u]", t->first[required] + other);
                    put(t, ")");
                }
        }
}

static void foresee(struct away *away, const struct work *work, bool is_certain)
{
    bool is_loop = work->kind != WORK_EITHER && work->kind != WORK_REPEAT &&
                   work->kind != WORK_FOLLOW && work->loop.index != INDEX_NONE;
    bool is_alternative = work->parent->kind == WORK_EITHER;
    bool is_chosen = work->step != NULL && work->step->is_optional;
    if (work->when != NULL || is_alternative || is_chosen ||
        (is_loop && work->loop.subset != LOOP_ALL))
        is_certain = false;
    int rounds = is_loop || work->kind == WORK_REPEAT ? 2 : 1;
    for (int round = 0; round < rounds; round++) {
        if (work->step != NULL) {
            foresee_gate(away, work->step);
            foresee_effects(away, work->step, is_certain);
            foresee_requires(away);
        }
        for (size_t i = 0; i < work->child_count; i++)
            foresee(away, work->children[i], is_certain);
    }
}

/* Its steps are done without a look at the screen: all of them must be allowed before the first. */
static void put_away(struct translation *t, const struct work *section)
{
    struct away away = {.t = t};
    put(t, "atomic { if :: true");
    for (size_t i = 0; i < section->child_count; i++)
        foresee(&away, section->children[i], true);
    put(t, " :: else -> ");
    put_fault(t, "away", "");
    put(t, " fi };\n");
}

/* --- the order of work ------------------------------------------------------------------------------ */

static void put_work(struct translation *t, const struct work *work);

static void put_children(struct translation *t, const struct work *work)
{
    for (size_t i = 0; i < work->child_count; i++)
        put_work(t, work->children[i]);
}

static void put_body(struct translation *t, const struct work *work)
{
    if (work->kind != WORK_STEP) {
        if (work->is_away)
            put_away(t, work);
        put_children(t, work);
        put(t, "skip;\n");
        return;
    }
    if (!work->step->is_optional) {
        put_step(t, work);
        return;
    }
    /* an `else` at the head of an option would be taken for this one's */
    put(t, "if :: printf(\"@passed %s\\n\") :: true ->\n", short_name(work->step->name));
    put_step(t, work);
    put(t, "fi;\n");
}

static void mark_touched(const struct translation *t, const struct work *work, bool *touched)
{
    for (size_t i = 0; i < work->child_count; i++)
        mark_touched(t, work->children[i], touched);
    if (work->step == NULL)
        return;
    for (size_t i = 0; i < work->step->sets_count; i++)
        touched[work->step->sets[i].condition] = true;
    for (size_t i = 0; i < work->step->clears_count; i++)
        touched[work->step->clears[i].condition] = true;
}

static bool is_outside(const struct translation *t, const struct work *loop, unsigned id,
                       const bool *touched)
{
    return touched[id] && condition_of(t, id)->index != loop->loop.index;
}

/* What is not of the round's own position must be left as the round found it. */
static void put_round(struct translation *t, const struct work *work)
{
    bool touched[STANDINGS_MAX] = {false};
    mark_touched(t, work, touched);
    unsigned first = t->saved_count;
    for (unsigned id = 0; id < t->procedure->condition_count; id++)
        for (unsigned k = 0; is_outside(t, work, id, touched) && k < positions_of(t, id); k++) {
            put(t, "atomic { s[%u] = c[%u]; s[%u] = o[%u] };\n", t->saved_count,
                t->first[id] + k, t->saved_count + 1, t->first[id] + k);
            t->saved_count += 2;
        }
    put_body(t, work);
    for (unsigned id = 0, at = first; id < t->procedure->condition_count; id++)
        for (unsigned k = 0; is_outside(t, work, id, touched) && k < positions_of(t, id); k++) {
            put(t, "atomic { if :: s[%u] == c[%u] && s[%u] == o[%u] :: else -> ", at,
                t->first[id] + k, at + 1, t->first[id] + k);
            put_fault(t, "round", "");
            put(t, " fi; s[%u] = 0; s[%u] = 0 };\n", at, at + 1);
            at += 2;
        }
    if (t->saved_count > SAVED_MAX)
        t->is_beyond = true;
}

/* `in: [1, 3]`: the same list in any order is the same subset, and never decided again. */
static void put_labels_truth(struct translation *t, const struct loop *loop, int at)
{
    struct key key = {.length = 0};
    key_add(&key, "labels%d@%d", loop->index, at);
    struct text last = {"", 0};
    for (size_t i = 0; i < loop->label_count; i++) {
        const struct text *next = NULL;
        for (size_t k = 0; k < loop->label_count; k++)
            if ((last.length == 0 || text_compare(loop->labels[k], last) > 0) &&
                (next == NULL || text_compare(loop->labels[k], *next) < 0))
                next = &loop->labels[k];
        if (next == NULL)
            break;
        last = *next;
        key_add(&key, ",%.*s", (int)last.length, last.bytes);
    }
    put_decided(t, &key.truth, 1, false);
}

static void put_loop(struct translation *t, const struct work *work)
{
    const struct loop *loop = &work->loop;
    unsigned subset = t->saved_count;
    bool is_subset = loop->subset != LOOP_ALL;
    if (is_subset)
        t->saved_count += POSITIONS;
    for (int at = 0; is_subset && at < POSITIONS; at++) {
        if (loop->subset == LOOP_WHERE)
            put_truth(t, loop->where->root, at);
        else
            put_labels_truth(t, loop, at);
        put(t, "atomic { s[%u] = v; v = 0 };\n", subset + (unsigned)at);
    }
    for (int at = 0; at < POSITIONS; at++) {
        if (is_subset)
            put(t, "if :: s[%u] -> s[%u] = 0;\n", subset + (unsigned)at, subset + (unsigned)at);
        t->here[loop->index] = at;
        bool looks = work->when != NULL && work->when_each_round;
        if (looks) {
            put_truth(t, work->when->root, WHOLE);
            put(t, "if :: v -> v = 0;\n");
        }
        put_round(t, work);
        if (looks)
            put(t, ":: else fi;\n");
        t->here[loop->index] = INDEX_NONE;
        if (is_subset)
            put(t, ":: else fi;\n");
    }
}

static void put_either(struct translation *t, const struct work *work)
{
    size_t open = 0;
    bool has_otherwise = false;
    for (size_t i = 0; i < work->child_count; i++) {
        const struct work *one = work->children[i];
        if (one->when == NULL) {
            has_otherwise = true;
            put_children(t, one);
            put(t, "skip;\n");
            break;
        }
        put_truth(t, one->when->root, WHOLE);
        put(t, "if :: v -> v = 0;\n");
        put_children(t, one);
        put(t, "skip;\n:: else ->\n");
        open++;
    }
    if (!has_otherwise) {
        put_fault(t, "none_of_all", "");
        put(t, ";\n");
    }
    for (size_t i = 0; i < open; i++)
        put(t, "fi;\n");
}

static void put_repeat(struct translation *t, const struct work *work)
{
    put(t, "do :: true ->\n");
    put_children(t, work);
    if (work->until == NULL) {
        put(t, "if :: printf(\"@round 0\\n\"); break :: printf(\"@round 1\\n\") fi\nod;\n");
        return;
    }
    put_truth(t, work->until->root, WHOLE);
    put(t, "if :: v -> atomic { v = 0; printf(\"@round 0\\n\") }; break "
           ":: else -> printf(\"@round 1\\n\") fi\nod;\n");
}

static void put_work(struct translation *t, const struct work *work)
{
    if (work->kind == WORK_EITHER) {
        put_either(t, work);
        return;
    }
    if (work->kind == WORK_REPEAT) {
        put_repeat(t, work);
        return;
    }
    bool is_loop = (work->kind == WORK_STEP || work->kind == WORK_SECTION) &&
                   work->loop.index != INDEX_NONE;
    bool looks = work->when != NULL && !(is_loop && work->when_each_round);
    if (looks) {
        put_truth(t, work->when->root, WHOLE);
        put(t, "if :: v -> v = 0;\n");
    }
    if (is_loop)
        put_loop(t, work);
    else
        put_body(t, work);
    if (looks)
        put(t, ":: else fi;\n");
}

static void put_start(struct translation *t)
{
    for (unsigned id = 0; id < t->procedure->condition_count; id++) {
        const struct condition *condition = condition_of(t, id);
        if (!condition->asked_at_start)
            continue;
        for (unsigned at = t->first[id]; at < t->first[id] + positions_of(t, id); at++)
            put(t,
                "atomic { if :: c[%u] = 1; o[%u] = %d :: skip fi; printf(\"@asked\\n\") };\n",
                at, at, is_abnormal(condition) ? 1 : 0);
    }
    put(t, "atomic {\n");
    put_stop_check(t, "start");
    put(t, "skip };\n");
}

static void put_end(const struct translation *t)
{
    put(t, "atomic {\nif :: true");
    for (unsigned id = 0; id < t->procedure->condition_count; id++)
        for (unsigned at = t->first[id];
             is_abnormal(condition_of(t, id)) && at < t->first[id] + positions_of(t, id); at++)
            put(t, " && !c[%u] && !o[%u]", at, at);
    put(t, " :: else -> ");
    put_fault(t, "left", "");
    put(t, " fi;\nif :: true");
    for (unsigned at = 0; at < t->part_count; at++)
        put(t, " && !p[%u]", at);
    put(t, " :: else -> ");
    put_fault(t, "part_left", "");
    put(t, " fi }\n");
}

/* --- making safe, backwards ---------------------------------------------------------------------------- */

struct facts {
    unsigned char c[STANDINGS_MAX], o[STANDINGS_MAX], n[ONCE_MAX];
};

struct table {
    int of_true[STANDINGS_MAX], of_owed[STANDINGS_MAX], of_once[ONCE_MAX]; /* bit, or -1 */
    int bits;
    struct once moves[MOVES_MAX];
    int move_count;
};

static bool can_be_a_move(const struct step *step)
{
    return step != NULL && step->removes_count == 0 &&
           step->sets_count + step->clears_count > 0;
}

static void add_moves(struct translation *t, struct table *table, const struct work *work,
                      const struct work *inner, int *here)
{
    for (const struct work *at = inner; at != NULL; at = at->parent) {
        bool is_loop =
            (at->kind == WORK_STEP || at->kind == WORK_SECTION) && at->loop.index != INDEX_NONE;
        if (!is_loop)
            continue;
        for (int position = 0; position < POSITIONS; position++) {
            here[at->loop.index] = position;
            add_moves(t, table, work, at->parent, here);
        }
        here[at->loop.index] = INDEX_NONE;
        return;
    }
    if (table->move_count == MOVES_MAX) {
        t->is_beyond = true;
        return;
    }
    table->moves[table->move_count].work = work;
    memcpy(table->moves[table->move_count].here, here, sizeof t->here);
    table->move_count++;
}

static void plan_table(struct translation *t, struct table *table)
{
    for (unsigned id = 0; id < t->procedure->condition_count; id++)
        for (unsigned at = t->first[id]; at < t->first[id] + positions_of(t, id); at++) {
            table->of_true[at] = table->bits++;
            table->of_owed[at] = is_abnormal(condition_of(t, id)) ? table->bits++ : -1;
        }
    for (size_t i = 0; i < t->procedure->work_count; i++)
        if (can_be_a_move(t->procedure->works[i]->step))
            add_moves(t, table, t->procedure->works[i], t->procedure->works[i],
                      (int[8]){-1, -1, -1, -1, -1, -1, -1, -1});
    for (int i = 0; i < table->move_count; i++)
        if (table->moves[i].work->step->is_once)
            (void)once_number(t, table->moves[i].work, table->moves[i].here);
    for (int i = 0; i < t->once_count; i++)
        table->of_once[i] = can_be_a_move(t->once[i].work->step) ? table->bits++ : -1;
    if (table->bits > TABLE_BITS_MAX)
        t->is_beyond = true;
    if (table->bits < 2)
        table->bits = 2;
}

static void unfold(const struct translation *t, const struct table *table, unsigned state,
                   struct facts *facts)
{
    for (unsigned at = 0; at < t->standing_count; at++) {
        facts->c[at] = state >> table->of_true[at] & 1;
        facts->o[at] = table->of_owed[at] >= 0 && (state >> table->of_owed[at] & 1) != 0;
    }
    for (int i = 0; i < t->once_count; i++)
        facts->n[i] = table->of_once[i] >= 0 && (state >> table->of_once[i] & 1) != 0;
}

static unsigned fold(const struct translation *t, const struct table *table,
                     const struct facts *facts)
{
    unsigned state = 0;
    for (unsigned at = 0; at < t->standing_count; at++) {
        state |= (unsigned)facts->c[at] << table->of_true[at];
        if (table->of_owed[at] >= 0)
            state |= (unsigned)facts->o[at] << table->of_owed[at];
    }
    for (int i = 0; i < t->once_count; i++)
        if (table->of_once[i] >= 0)
            state |= (unsigned)facts->n[i] << table->of_once[i];
    return state;
}

static bool stands_open(const struct translation *t, const struct facts *facts,
                        const struct step *step, const int *here)
{
    for (size_t i = 0; i < step->needs_count; i++) {
        struct covered span = covered_by(t, step->needs[i], here);
        for (unsigned at = span.from; at < span.to; at++)
            if (!facts->c[at] && !is_asked_anew(condition_of(t, step->needs[i].condition)))
                return false;
    }
    for (size_t i = 0; i < step->forbids_count; i++) {
        struct covered span = covered_by(t, step->forbids[i], here);
        for (unsigned at = span.from; at < span.to; at++)
            if (facts->c[at] || facts->o[at])
                return false;
    }
    return true;
}

static bool keeps_requires(const struct translation *t, const struct facts *facts)
{
    for (unsigned id = 0; id < t->procedure->condition_count; id++) {
        const struct condition *condition = condition_of(t, id);
        for (size_t i = 0; i < condition->requires_count; i++) {
            unsigned required = condition->requires[i];
            bool is_alike = condition->index != INDEX_NONE &&
                            condition_of(t, required)->index == condition->index;
            for (unsigned at = 0; at < positions_of(t, id); at++)
                for (unsigned other = 0; other < positions_of(t, required); other++) {
                    unsigned one = t->first[id] + at;
                    if ((!is_alike || other == at) && (facts->c[one] || facts->o[one]) &&
                        !facts->c[t->first[required] + other])
                        return false;
                }
        }
    }
    return true;
}

static void take_effect(const struct translation *t, struct facts *facts,
                        const struct step *step, const int *here)
{
    bool is_new[STANDINGS_MAX] = {false};
    for (size_t i = 0; i < step->clears_count; i++) {
        struct covered span = covered_by(t, step->clears[i], here);
        for (unsigned at = span.from; at < span.to; at++)
            facts->c[at] = facts->o[at] = 0;
    }
    for (size_t i = 0; i < step->sets_count; i++) {
        struct covered span = covered_by(t, step->sets[i], here);
        for (unsigned at = span.from; at < span.to; at++) {
            is_new[at] = !facts->c[at];
            facts->c[at] = 1;
            if (is_abnormal(condition_of(t, step->sets[i].condition)))
                facts->o[at] = 1;
        }
    }
    for (unsigned id = 0; id < t->procedure->condition_count; id++) {
        const struct condition *set = condition_of(t, id);
        for (unsigned position = 0; position < positions_of(t, id); position++)
            for (size_t k = 0; is_new[t->first[id] + position] && k < set->voids_count; k++) {
                unsigned other = set->voids[k];
                bool is_alike =
                    set->index != INDEX_NONE && condition_of(t, other)->index == set->index;
                for (unsigned at = 0; at < positions_of(t, other); at++)
                    if (!is_alike || at == position)
                        facts->c[t->first[other] + at] = 0;
            }
    }
}

/* Where a move leads, or -1. */
static int led_to(const struct translation *t, const struct table *table, unsigned state,
                  const struct once *move)
{
    struct facts facts = {{0}, {0}, {0}};
    unfold(t, table, state, &facts);
    const struct step *step = move->work->step;
    int once = -1;
    for (int i = 0; step->is_once && i < t->once_count; i++)
        if (t->once[i].work == move->work &&
            memcmp(t->once[i].here, move->here, sizeof t->here) == 0)
            once = i;
    if ((once >= 0 && facts.n[once]) || !stands_open(t, &facts, step, move->here))
        return -1;
    take_effect(t, &facts, step, move->here);
    if (once >= 0)
        facts.n[once] = 1;
    return keeps_requires(t, &facts) ? (int)fold(t, table, &facts) : -1;
}

static bool owes_nothing(const struct translation *t, const struct table *table, unsigned state)
{
    for (unsigned at = 0; at < t->standing_count; at++)
        if (table->of_owed[at] >= 0 && (state >> table->of_owed[at] & 1) != 0)
            return false;
    return true;
}

/* All states from which moves lead to "nothing owed": grown until nothing is added. */
static unsigned char *find_safe(const struct translation *t, const struct table *table)
{
    unsigned states = 1U << table->bits;
    assert(states >= 4);
    size_t moves = (size_t)table->move_count;
    unsigned char *is_safe = calloc(states, 1);
    int *leads = malloc((size_t)states * (moves + 1) * sizeof *leads);
    if (is_safe == NULL || leads == NULL)
        abort();
    for (unsigned state = 0; state < states; state++) {
        is_safe[state] = owes_nothing(t, table, state);
        for (size_t i = 0; i < moves; i++)
            leads[state * moves + i] = led_to(t, table, state, &table->moves[i]);
    }
    for (bool grew = true; grew;) {
        grew = false;
        for (unsigned state = 0; state < states; state++)
            for (size_t i = 0; !is_safe[state] && i < moves; i++) {
                int next = leads[state * moves + i];
                if (next >= 0 && is_safe[next])
                    is_safe[state] = grew = true;
            }
    }
    free(leads);
    return is_safe;
}

static void put_table(struct translation *t)
{
    struct table *table = calloc(1, sizeof *table);
    if (table == NULL)
        abort();
    plan_table(t, table);
    if (!t->is_beyond) {
        unsigned char *is_safe = find_safe(t, table);
        put(t, "static const unsigned char safe_%u[] = \"", t->number);
        /* four states to a letter: the text would be too long for SPIN otherwise */
        for (unsigned state = 0; state < 1U << table->bits; state += 4)
            put(t, "%c",
                'A' + is_safe[state] + 2 * is_safe[state + 1] + 4 * is_safe[state + 2] +
                    8 * is_safe[state + 3]);
        put(t,
            "\";\nstatic int stop_%u(const unsigned char *c, const unsigned char *o, const "
            "unsigned char *n) {\n    unsigned state = 0;\n",
            t->number);
        for (unsigned id = 0; id < t->procedure->condition_count; id++)
            for (unsigned at = t->first[id]; at < t->first[id] + positions_of(t, id); at++) {
                /* a stop: what lapses counts as denied */
                if (!condition_of(t, id)->lapses || is_asked_anew(condition_of(t, id)))
                    put(t, "    state |= (unsigned)c[%u] << %d;\n", at, table->of_true[at]);
                if (table->of_owed[at] >= 0)
                    put(t, "    state |= (unsigned)o[%u] << %d;\n", at, table->of_owed[at]);
            }
        for (int i = 0; i < t->once_count; i++)
            if (table->of_once[i] >= 0)
                put(t, "    state |= (unsigned)n[%d] << %d;\n", i, table->of_once[i]);
        put(t, "    return safe_%u[state / 4] - 'A' >> state %% 4 & 1;\n}\n", t->number);
        free(is_safe);
    }
    free(table);
}

/* --- the whole -------------------------------------------------------------------------------------------- */

static void number_standings(struct translation *t)
{
    for (unsigned id = 0; id < t->procedure->condition_count; id++) {
        if (id >= STANDINGS_MAX || t->standing_count + POSITIONS > STANDINGS_MAX) {
            t->is_beyond = true;
            return;
        }
        t->first[id] = t->standing_count;
        t->standing_count += positions_of(t, id);
    }
    for (size_t i = 0; i < t->procedure->part_count; i++) {
        if (i >= PARTS_MAX || t->part_count + POSITIONS > PARTS_MAX) {
            t->is_beyond = true;
            return;
        }
        t->first_part[i] = t->part_count;
        t->part_count += t->procedure->parts[i].index == INDEX_NONE ? 1 : POSITIONS;
    }
}

/* Twice: what rests on a reading is known only when all was seen. */
static char *translated(struct translation *t, char **checks)
{
    char *text = NULL;
    for (int round = 0; round < 2; round++) {
        size_t length, checks_length;
        free(text);
        free(*checks);
        t->out = open_memstream(&text, &length);
        t->checks = open_memstream(checks, &checks_length);
        t->saved_count = t->begun_count = 0;
        for (size_t i = 0; i < 8; i++)
            t->here[i] = INDEX_NONE;
        put_start(t);
        put_children(t, t->procedure->works[0]);
        put_end(t);
        fclose(t->out);
        fclose(t->checks);
        if (t->is_beyond)
            break;
    }
    return text;
}

bool promela_write(FILE *out, const struct procedure *procedure, unsigned number,
                   bool with_make_safe)
{
    if (procedure->index_count > 8)
        return false;
    struct translation *t = calloc(1, sizeof *t);
    if (t == NULL)
        abort();
    t->procedure = procedure;
    t->number = number;
    t->with_make_safe = with_make_safe;
    number_standings(t);
    char *table = NULL;
    char *checks = NULL;
    char *text = NULL;
    if (!t->is_beyond)
        text = translated(t, &checks);
    if (!t->is_beyond && with_make_safe) {
        size_t length;
        t->out = open_memstream(&table, &length);
        put_table(t);
        fclose(t->out);
    }
    bool is_written = !t->is_beyond;
    if (is_written) {
        if (with_make_safe)
            fprintf(out, "c_decl {\n%s%s}\n", table, checks);
        fprintf(out, "proctype p%u() {\n%s}\n\n", number, text);
    }
    free(table);
    free(checks);
    free(text);
    free(t);
    return is_written;
}

void promela_write_head(FILE *out)
{
    fprintf(out,
            "c_decl {\n"
            "static unsigned char was_done[400], was_doubted[400];\n"
            "static void tell_works(const char *what, const unsigned char *works) {\n"
            "    printf(\"%%s:\", what);\n"
            "    for (unsigned i = 0; i < sizeof was_done; i++) if (works[i]) printf(\" %%u\", "
            "i);\n    printf(\"\\n\");\n}\n"
            "static void tell_reached(void) {\n    tell_works(\"reached\", was_done);\n"
            "    tell_works(\"doubted\", was_doubted);\n}\n}\n"
            "byte c[%d]; byte o[%d]; byte t[%d] = %d; byte p[%d];\n"
            "byte n[%d]; byte s[%d]; byte w[%d]; byte v; byte b; byte which;\n\n",
            STANDINGS_MAX, STANDINGS_MAX, TRUTHS_MAX, UNDECIDED, PARTS_MAX, ONCE_MAX, SAVED_MAX,
            STANDINGS_MAX);
}

void promela_write_choice(FILE *out, const unsigned *numbers, unsigned count)
{
    fprintf(out, "init { atomic {\nc_code { now.which = atoi(getenv(\"WHICH\")); "
                 "atexit(tell_reached); };\nif\n");
    for (unsigned i = 0; i < count; i++)
        fprintf(out, ":: which == %u -> run p%u()\n", numbers[i], numbers[i]);
    fprintf(out, ":: else\nfi } }\n");
}

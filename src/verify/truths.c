#include "program.h"

#include <string.h>

/*
 * What is the same truth?  An expression is taken apart at `and`, `or` and `not`, names are
 * replaced by what they stand for, and what is left, the atoms, are compared as written out by
 * put_node: equal letters are an equal truth.  Where a position is meant, its number is among them.
 */

enum { INDEXES_AT_ONCE = 64 };

struct growing_text {
    struct arena *arena;
    char *bytes;
    size_t length, capacity;
};

/* Which position a vector is looked at, by index; INDEX_NONE: the whole vector. */
struct elements {
    int at[INDEXES_AT_ONCE];
};

struct look {
    struct program *program;
    const int *here;
    const struct work
        *loop; /* see struct standpoint; NULL as soon as it is not the whole any more */
    int position;
    struct elements elements;
};

struct atom {
    struct growing_text key;
    struct resting *rests;
    size_t rest_count, rest_capacity;
    bool is_constant, is_volatile;
};

static const struct symbol *symbol_of(const struct look *look, const struct node *node)
{
    return &look->program->procedure->symbols[node->symbol];
}

/* NULL: it is no definition. */
static const struct expression *definition_of(const struct look *look, const struct node *node)
{
    const struct procedure *procedure = look->program->procedure;
    const struct symbol *symbol = symbol_of(look, node);
    switch (symbol->kind) {
    case SYMBOL_NAME:
        return procedure->names[symbol->item].value;
    case SYMBOL_RESULT:
        return procedure->results[symbol->item].definition.value;
    case SYMBOL_MACHINE:
    case SYMBOL_INPUT:
    case SYMBOL_EARLIER:
    case SYMBOL_READING:
    case SYMBOL_TIMER:
    case SYMBOL_TRIAL: /* fixed once, before any use, and never again */
        return NULL;
    }
    return NULL;
}

/* --- writing an atom out --------------------------------------------------------------------- */

static void put_bytes(struct growing_text *text, const void *bytes, size_t length)
{
    if (text->length + length > text->capacity) {
        size_t capacity = 2 * (text->length + length) + 64;
        char *wider = arena_array(text->arena, char, capacity);
        if (text->length > 0)
            memcpy(wider, text->bytes, text->length);
        text->bytes = wider;
        text->capacity = capacity;
    }
    if (length > 0)
        memcpy(text->bytes + text->length, bytes, length);
    text->length += length;
}

static void put_number(struct growing_text *text, int number)
{
    put_bytes(text, &number, sizeof number);
}

static void add_resting(struct atom *atom, unsigned reading, int position)
{
    for (size_t i = 0; i < atom->rest_count; i++)
        if (atom->rests[i].reading == reading && atom->rests[i].position == position)
            return;
    if (atom->rest_count == atom->rest_capacity) {
        size_t capacity = 2 * atom->rest_capacity + 4;
        struct resting *wider = arena_array(atom->key.arena, struct resting, capacity);
        if (atom->rest_count > 0)
            memcpy(wider, atom->rests, atom->rest_count * sizeof *wider);
        atom->rests = wider;
        atom->rest_capacity = capacity;
    }
    atom->rests[atom->rest_count++] = (struct resting){reading, position};
}

static void put_node(struct look *look, struct atom *atom, const struct node *node);

/* NOLINTNEXTLINE(misc-no-recursion): definitions rest on one another, NAME_DEPTH_MAX deep */
static void put_symbol(struct look *look, struct atom *atom, const struct node *node)
{
    const struct expression *definition = definition_of(look, node);
    if (definition != NULL) {
        put_node(look, atom, definition->root);
        return;
    }
    const struct symbol *symbol = symbol_of(look, node);
    int index = symbol->type.index;
    int position = index == INDEX_NONE ? INDEX_NONE : look->elements.at[index];
    atom->is_constant = false;
    put_bytes(&atom->key, "S", 1);
    put_number(&atom->key, (int)node->symbol);
    put_number(&atom->key, position);
    if (symbol->kind == SYMBOL_READING)
        add_resting(atom, symbol->item, position);
}

static bool looks_at_all(enum function function)
{
    switch (function) {
    case FUNCTION_min:
    case FUNCTION_max:
    case FUNCTION_mean:
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
        break;
    }
    return false;
}

static void forget_elements(struct elements *elements)
{
    for (size_t i = 0; i < INDEXES_AT_ONCE; i++)
        elements->at[i] = INDEX_NONE;
}

/* NOLINTNEXTLINE(misc-no-recursion): as deep as an expression */
static void put_call(struct look *look, struct atom *atom, const struct node *node)
{
    put_bytes(&atom->key, "F", 1);
    put_number(&atom->key, (int)node->function);
    if (node->type.index != INDEX_NONE)
        put_number(&atom->key, look->elements.at[node->type.index]);
    if (node->function == FUNCTION_elapsed || node->function == FUNCTION_late)
        atom->is_volatile = true;
    if (node->function == FUNCTION_size || node->function == FUNCTION_first_of ||
        atom->is_volatile) {
        atom->is_constant = false;
        put_number(&atom->key, node->index);
        put_number(&atom->key, (int)node->symbol);
    }
    struct elements outer = look->elements;
    if (looks_at_all(node->function))
        forget_elements(&look->elements);
    for (size_t i = 0; i < node->argument_count; i++)
        put_node(look, atom, node->arguments[i]);
    look->elements = outer;
    put_bytes(&atom->key, ")", 1);
}

/* NOLINTNEXTLINE(misc-no-recursion): as deep as an expression */
static void put_at(struct look *look, struct atom *atom, const struct node *node, int position)
{
    int outer = look->elements.at[node->index];
    look->elements.at[node->index] = position;
    put_node(look, atom, node->first);
    look->elements.at[node->index] = outer;
}

/* NOLINTNEXTLINE(misc-no-recursion): as deep as an expression */
static void put_operands(struct look *look, struct atom *atom, const struct node *node)
{
    put_bytes(&atom->key, "O", 1);
    put_number(&atom->key, (int)node->kind);
    put_number(&atom->key, node->exponent);
    if (node->first != NULL)
        put_node(look, atom, node->first);
    if (node->second != NULL)
        put_node(look, atom, node->second);
}

/* NOLINTNEXTLINE(misc-no-recursion): as deep as an expression */
static void put_node(struct look *look, struct atom *atom, const struct node *node)
{
    switch (node->kind) {
    case NODE_NUMBER:
        put_bytes(&atom->key, "N", 1);
        put_bytes(&atom->key, &node->number.value, sizeof node->number.value);
        break;
    case NODE_TEXT:
        put_bytes(&atom->key, "T", 1);
        put_number(&atom->key, (int)node->text.length);
        put_bytes(&atom->key, node->text.bytes, node->text.length);
        break;
    case NODE_SYMBOL:
        put_symbol(look, atom, node);
        break;
    case NODE_INDEX:
        atom->is_constant = false;
        put_bytes(&atom->key, "I", 1);
        put_number(&atom->key, node->index);
        put_number(&atom->key, look->here[node->index]);
        break;
    case NODE_HERE:
        put_at(look, atom, node, look->here[node->index]);
        break;
    case NODE_LABEL:
        put_bytes(&atom->key, "L", 1);
        put_number(&atom->key, (int)node->text.length);
        put_bytes(&atom->key, node->text.bytes, node->text.length);
        put_at(look, atom, node, INDEX_NONE);
        break;
    case NODE_PLUS_MINUS: /* a comparison goes by the value */
        put_node(look, atom, node->first);
        break;
    case NODE_CALL:
        put_call(look, atom, node);
        break;
    case NODE_PICK:
    case NODE_NEGATE:
    case NODE_NOT:
    case NODE_AND:
    case NODE_OR:
    case NODE_ADD:
    case NODE_SUBTRACT:
    case NODE_MULTIPLY:
    case NODE_DIVIDE:
    case NODE_POWER:
    case NODE_LESS:
    case NODE_LESS_EQUAL:
    case NODE_GREATER:
    case NODE_GREATER_EQUAL:
    case NODE_EQUAL:
    case NODE_NOT_EQUAL:
        put_operands(look, atom, node);
        break;
    }
}

/* --- variables ---------------------------------------------------------------------------------- */

static const struct expression *atom_as_written(struct program *program,
                                                const struct node *node)
{
    struct expression *expression = arena_new(program->arena, struct expression);
    *expression = (struct expression){node->text, node->place, node->type, node};
    return expression;
}

/* It stands in as few bits as its values and "undecided" need. */
static unsigned bits_for(const struct choices *choices)
{
    size_t values = choices == NULL ? 2 : choices->count;
    unsigned bits = 0;
    while ((size_t)1 << bits < values + 1)
        bits++;
    return bits;
}

static unsigned variable_of(struct program *program, const struct variable *wanted)
{
    for (size_t i = 0; i < program->variable_count; i++)
        if (text_equal(program->variables[i].key, wanted->key))
            return (unsigned)i;
    if (program->variable_count == program->variable_capacity) {
        size_t capacity = 2 * program->variable_capacity + 8;
        struct variable *wider = arena_array(program->arena, struct variable, capacity);
        if (program->variable_count > 0)
            memcpy(wider, program->variables, program->variable_count * sizeof *wider);
        program->variables = wider;
        program->variable_capacity = capacity;
    }
    struct variable *added = &program->variables[program->variable_count];
    *added = *wanted;
    added->bit_count = bits_for(wanted->choices);
    added->first_bit = program->layout.bit_count;
    program->layout.bit_count += added->bit_count;
    return (unsigned)program->variable_count++;
}

static struct atom atom_begin(struct look *look, const char *sort)
{
    struct atom atom = {.key = {.arena = look->program->arena}, .is_constant = true};
    put_bytes(&atom.key, sort, 1);
    return atom;
}

static struct text key_of(const struct atom *atom)
{
    return (struct text){atom->key.bytes, atom->key.length};
}

/* Of which positions it speaks. */
static const int *positions_meant(const struct look *look)
{
    size_t count = look->program->procedure->index_count;
    int *here = arena_array(look->program->arena, int, count);
    for (size_t i = 0; i < count; i++)
        here[i] = look->elements.at[i] == INDEX_NONE ? look->here[i] : look->elements.at[i];
    return here;
}

static unsigned decide_place(struct look *look, unsigned variable,
                             const struct expression *expression, unsigned yes, unsigned no)
{
    bool is_subset = look->loop != NULL;
    return program_add(look->program, (struct place_in_work){
                                          .kind = PLACE_DECIDE,
                                          .work = look->loop,
                                          .here = positions_meant(look),
                                          .next = {no, yes},
                                          .variable = variable,
                                          .position = look->position,
                                          .event = is_subset ? PATH_SUBSET : PATH_DECIDED,
                                          .expression = expression,
                                      });
}

static bool value_of_constant(struct look *look, const struct node *node, bool *truth)
{
    struct expression expression = {node->text, node->place, node->type, node};
    struct surroundings none = {.here = look->here};
    struct value value = expression_evaluate(&expression, &none, look->program->arena);
    if (value.count != 1 || value.items[0].is_missing || value.type.base != TYPE_TRUTH)
        return false;
    *truth = value.items[0].truth;
    return true;
}

static unsigned atom_place(struct look *look, const struct node *node, unsigned yes,
                           unsigned no)
{
    struct atom atom = atom_begin(look, "A");
    put_node(look, &atom, node);
    bool truth;
    if (atom.is_constant && value_of_constant(look, node, &truth))
        return truth ? yes : no;
    const struct expression *written = atom_as_written(look->program, node);
    if (atom.is_volatile)
        return program_add(look->program, (struct place_in_work){.kind = PLACE_FORK,
                                                                 .here = positions_meant(look),
                                                                 .next = {no, yes},
                                                                 .event = PATH_DECIDED,
                                                                 .position = INDEX_NONE,
                                                                 .expression = written});
    struct variable variable = {.key = key_of(&atom),
                                .expression = written,
                                .rests = atom.rests,
                                .rest_count = atom.rest_count};
    return decide_place(look, variable_of(look->program, &variable), written, yes, no);
}

/* a >= b is the opposite of a < b: written out as that. */
static unsigned opposite_place(struct look *look, const struct node *node, enum node_kind kind,
                               unsigned yes, unsigned no)
{
    struct node *opposite = arena_new(look->program->arena, struct node);
    *opposite = *node;
    opposite->kind = kind;
    opposite->text = (struct text){0};
    struct atom atom = atom_begin(look, "A");
    put_node(look, &atom, opposite);
    bool truth;
    if (atom.is_constant && value_of_constant(look, node, &truth))
        return truth ? yes : no;
    /* Said as it is written here, whichever of the two words decided it: so the ways are swapped twice. */
    look->loop = NULL;
    unsigned place;
    if (atom.is_volatile) {
        place = atom_place(look, node, yes, no);
    } else {
        struct variable variable = {.key = key_of(&atom),
                                    .expression = atom_as_written(look->program, node),
                                    .rests = atom.rests,
                                    .rest_count = atom.rest_count};
        place = decide_place(look, variable_of(look->program, &variable), variable.expression,
                             no, yes);
        look->program->places[place].value =
            1; /* its truth is the opposite of what is written */
    }
    return place;
}

/* --- expressions ---------------------------------------------------------------------------------- */

/* One side is a text with choices, the other one of them; NULL: it is not so. */
static const struct node *text_with_choices(const struct node *node, const struct node **choice)
{
    const struct node *first = node->first;
    const struct node *second = node->second;
    if (first->kind == NODE_TEXT) {
        first = node->second;
        second = node->first;
    }
    if (second->kind != NODE_TEXT || first->type.base != TYPE_TEXT ||
        first->type.choices == NULL || first->kind == NODE_TEXT)
        return NULL;
    *choice = second;
    return first;
}

static unsigned choice_place(struct look *look, const struct node *of, struct text choice,
                             unsigned yes, unsigned no)
{
    struct atom atom = atom_begin(look, "C");
    put_node(look, &atom, of);
    const struct choices *choices = of->type.choices;
    size_t value = 0;
    while (value < choices->count && !text_equal(choices->texts[value], choice))
        value++;
    if (value == choices->count)
        return no;
    struct variable variable = {.key = key_of(&atom),
                                .expression = atom_as_written(look->program, of),
                                .choices = choices,
                                .rests = atom.rests,
                                .rest_count = atom.rest_count};
    return program_add(look->program, (struct place_in_work){
                                          .kind = PLACE_CHOOSE,
                                          .here = positions_meant(look),
                                          .next = {no, yes},
                                          .variable = variable_of(look->program, &variable),
                                          .value = (unsigned)value,
                                          .position = INDEX_NONE,
                                          .event = PATH_DECIDED,
                                          .expression = variable.expression,
                                      });
}

static unsigned node_place(struct look *look, const struct node *node, unsigned yes,
                           unsigned no);

/* NOLINTNEXTLINE(misc-no-recursion): as deep as an expression */
static unsigned equal_place(struct look *look, const struct node *node, unsigned yes,
                            unsigned no)
{
    const struct node *choice;
    const struct node *of = text_with_choices(node, &choice);
    if (of != NULL)
        return node->kind == NODE_EQUAL ? choice_place(look, of, choice->text, yes, no)
                                        : choice_place(look, of, choice->text, no, yes);
    if (node->kind == NODE_EQUAL)
        return atom_place(look, node, yes, no);
    return opposite_place(look, node, NODE_EQUAL, yes, no);
}

/* The truth without its `not`, its `>=` and the names it goes by, so that all(x >= 2) and any(x < 2)
 * are asked alike. */
static const struct node *plain_truth(const struct look *look, const struct node *node,
                                      bool *is_opposite, enum node_kind *kind)
{
    for (;;) {
        *kind = node->kind;
        if (node->kind == NODE_NOT) {
            *is_opposite = !*is_opposite;
            node = node->first;
            continue;
        }
        const struct expression *definition =
            node->kind == NODE_SYMBOL ? definition_of(look, node) : NULL;
        if (definition == NULL)
            break;
        node = definition->root;
    }
    if (node->kind == NODE_GREATER_EQUAL)
        *kind = NODE_LESS;
    else if (node->kind == NODE_LESS_EQUAL)
        *kind = NODE_GREATER;
    else if (node->kind == NODE_NOT_EQUAL)
        *kind = NODE_EQUAL;
    if (*kind != node->kind)
        *is_opposite = !*is_opposite;
    return node;
}

/* Two positions stand for any number, so neither of them being so does not mean that none is: is it so, or
 * (is_opposite) not so, at some third one?  `written` is true where it is, or (is_negated) where it
 * is not. */
static unsigned others_place(struct look *look, const struct node *written,
                             const struct node *vector, bool is_opposite, bool is_negated,
                             unsigned some, unsigned none)
{
    enum node_kind kind;
    struct node plain = *plain_truth(look, vector, &is_opposite, &kind);
    plain.kind = kind;
    struct atom atom = atom_begin(look, "E");
    put_number(&atom.key, is_opposite ? 1 : 0);
    put_node(look, &atom, &plain);
    const struct expression *expression = atom_as_written(look->program, written);
    if (atom.is_volatile)
        return program_add(look->program, (struct place_in_work){.kind = PLACE_FORK,
                                                                 .here = positions_meant(look),
                                                                 .next = {none, some},
                                                                 .event = PATH_DECIDED,
                                                                 .position = INDEX_NONE,
                                                                 .expression = expression});
    struct variable variable = {.key = key_of(&atom),
                                .expression = expression,
                                .rests = atom.rests,
                                .rest_count = atom.rest_count};
    unsigned place =
        decide_place(look, variable_of(look->program, &variable), expression, some, none);
    look->program->places[place].value = is_negated ? 1 : 0;
    return place;
}

/* any, all and none follow from what is so at the two positions, and at others. */
/* NOLINTNEXTLINE(misc-no-recursion): as deep as an expression */
static unsigned quantified_place(struct look *look, const struct node *node, unsigned yes,
                                 unsigned no)
{
    const struct node *vector = node->arguments[0];
    int index = vector->type.index;
    if (index == INDEX_NONE)
        return atom_place(look, node, yes, no);
    look->loop = NULL;
    /* One that is so settles any and none; one that is not so settles all. */
    bool is_of_all = node->function == FUNCTION_all;
    bool is_negated = node->function != FUNCTION_any;
    unsigned settled = is_negated ? no : yes;
    unsigned so_far =
        others_place(look, node, vector, is_of_all, is_negated, settled, is_negated ? yes : no);
    int outer = look->elements.at[index];
    for (int position = 1; position >= 0; position--) {
        look->elements.at[index] = position;
        so_far = is_of_all ? node_place(look, vector, so_far, settled)
                           : node_place(look, vector, settled, so_far);
    }
    look->elements.at[index] = outer;
    return so_far;
}

/* NOLINTNEXTLINE(misc-no-recursion): as deep as an expression */
static unsigned here_place(struct look *look, const struct node *node, unsigned yes,
                           unsigned no)
{
    int outer = look->elements.at[node->index];
    look->elements.at[node->index] = look->here[node->index];
    unsigned place = node_place(look, node->first, yes, no);
    look->elements.at[node->index] = outer;
    return place;
}

/* NOLINTNEXTLINE(misc-no-recursion): as deep as an expression */
static unsigned call_place(struct look *look, const struct node *node, unsigned yes,
                           unsigned no)
{
    bool is_quantified = node->function == FUNCTION_any || node->function == FUNCTION_all ||
                         node->function == FUNCTION_none;
    return is_quantified ? quantified_place(look, node, yes, no)
                         : atom_place(look, node, yes, no);
}

/* NOLINTNEXTLINE(misc-no-recursion): as deep as an expression */
static unsigned node_place(struct look *look, const struct node *node, unsigned yes,
                           unsigned no)
{
    switch (node->kind) {
    case NODE_AND:
        look->loop = NULL;
        return node_place(look, node->first, node_place(look, node->second, yes, no), no);
    case NODE_OR:
        look->loop = NULL;
        return node_place(look, node->first, yes, node_place(look, node->second, yes, no));
    case NODE_NOT:
        look->loop = NULL;
        return node_place(look, node->first, no, yes);
    case NODE_SYMBOL: {
        const struct expression *definition = definition_of(look, node);
        return definition == NULL ? atom_place(look, node, yes, no)
                                  : node_place(look, definition->root, yes, no);
    }
    case NODE_HERE:
        return here_place(look, node, yes, no);
    case NODE_CALL:
        return call_place(look, node, yes, no);
    case NODE_EQUAL:
    case NODE_NOT_EQUAL:
        return equal_place(look, node, yes, no);
    case NODE_GREATER_EQUAL:
        return opposite_place(look, node, NODE_LESS, yes, no);
    case NODE_LESS_EQUAL:
        return opposite_place(look, node, NODE_GREATER, yes, no);
    case NODE_LESS:
    case NODE_GREATER:
    case NODE_NUMBER:
    case NODE_TEXT:
    case NODE_INDEX:
    case NODE_LABEL:
    case NODE_PICK:
    case NODE_NEGATE:
    case NODE_ADD:
    case NODE_SUBTRACT:
    case NODE_MULTIPLY:
    case NODE_DIVIDE:
    case NODE_POWER:
    case NODE_PLUS_MINUS:
        break;
    }
    return atom_place(look, node, yes, no);
}

static struct look look_from(struct program *program, struct standpoint standpoint)
{
    struct look look = {.program = program,
                        .here = standpoint.here,
                        .loop = standpoint.loop,
                        .position = standpoint.loop == NULL ? INDEX_NONE : standpoint.position};
    forget_elements(&look.elements);
    if (standpoint.loop != NULL)
        look.elements.at[standpoint.loop->loop.index] = standpoint.position;
    return look;
}

unsigned truth_place(struct program *program, const struct expression *expression,
                     struct standpoint standpoint, unsigned yes, unsigned no)
{
    struct look look = look_from(program, standpoint);
    return node_place(&look, expression->root, yes, no);
}

/* --- subsets ------------------------------------------------------------------------------------- */

unsigned label_place(struct program *program, const struct work *loop,
                     struct standpoint standpoint, unsigned yes, unsigned no)
{
    struct look look = look_from(program, standpoint);
    struct atom atom = atom_begin(&look, "B");
    put_number(&atom.key, loop->loop.index);
    put_number(&atom.key, standpoint.position);
    struct text last = {0};
    for (size_t i = 0; i < loop->loop.label_count; i++) { /* in the order of their letters */
        struct text next = {0};
        for (size_t k = 0; k < loop->loop.label_count; k++) {
            struct text label = loop->loop.labels[k];
            bool is_behind = i == 0 || text_compare(label, last) > 0;
            if (is_behind && (next.length == 0 || text_compare(label, next) < 0))
                next = label;
        }
        put_number(&atom.key, (int)next.length);
        put_bytes(&atom.key, next.bytes, next.length);
        last = next;
        if (next.length == 0)
            break;
    }
    struct expression *written = arena_new(program->arena, struct expression);
    written->written = text_fill(
        program->arena, "[{}]",
        text_join(program->arena, loop->loop.labels, loop->loop.label_count, TEXT(", ")));
    written->place = loop->place;
    struct variable variable = {.key = key_of(&atom), .expression = written};
    return decide_place(&look, variable_of(program, &variable), written, yes, no);
}

/* Does a step in the work record one of these readings? */
/* NOLINTNEXTLINE(misc-no-recursion): as deep as the tree of the file */
static bool records_any(const struct work *work, const struct atom *atom)
{
    const struct step *step = work->step;
    for (size_t i = 0; step != NULL && i < step->reading_count; i++)
        for (size_t k = 0; k < atom->rest_count; k++)
            if (step->readings[i] == atom->rests[k].reading)
                return true;
    for (size_t i = 0; i < work->child_count; i++)
        if (records_any(work->children[i], atom))
            return true;
    return false;
}

bool truth_may_change_in(struct program *program, const struct work *loop)
{
    int *here = arena_array(program->arena, int, program->procedure->index_count);
    for (size_t i = 0; i < program->procedure->index_count; i++)
        here[i] = 0;
    struct look look = look_from(program, (struct standpoint){here, loop, 0});
    struct atom atom = atom_begin(&look, "A");
    put_node(&look, &atom, loop->loop.where->root);
    return atom.is_volatile || records_any(loop, &atom);
}

void truths_forgotten(const struct program *program, const struct step *step, const int *here,
                      uint64_t *bits)
{
    for (size_t i = 0; i < program->variable_count; i++) {
        const struct variable *variable = &program->variables[i];
        bool is_forgotten = false;
        for (size_t k = 0; k < variable->rest_count; k++)
            for (size_t r = 0; r < step->reading_count; r++) {
                const struct resting *rest = &variable->rests[k];
                int index = program->procedure->readings[rest->reading].index;
                int position = index == INDEX_NONE ? INDEX_NONE : here[index];
                is_forgotten =
                    is_forgotten || (rest->reading == step->readings[r] &&
                                     (rest->position == INDEX_NONE || position == INDEX_NONE ||
                                      rest->position == position));
            }
        for (unsigned bit = 0; is_forgotten && bit < variable->bit_count; bit++)
            masks_set_bit(bits, (int)(variable->first_bit + bit));
    }
}

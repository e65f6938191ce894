#include "procedure/loading.h"

#include <assert.h>

/*
 * Is what a step rests on recorded on every path to it?  Looked at over the tree, once, with what
 * holds on every path so far:
 *
 *   of a reading     SOME    it was recorded, of a vector at one position at least
 *                    HERE    it was recorded at the position of the loop we are in
 *                    SUBSET  over which positions it was recorded: 0 none for certain, 1 all,
 *                            else the number of a subset (of the words it is written with)
 *   of a definition  WHOLE, HERE: everything it rests on was found recorded
 *   of a trial       a step has fixed who is treated
 *   of a `when`      the number of what was recorded under it: known again under the same words,
 *                    unless something they rest on has been recorded since
 *
 * Facts only ever become true along a path, so that what was found of a definition stays found;
 * where paths part, what each adds is taken back, and where they meet what all added is kept.
 */

enum { OF_READING = 3, SOME = 0, HERE = 1, SUBSET = 2 };
enum { OF_DEFINITION = 2, WHOLE = 0, AT_POSITION = 1 };
enum { SUBSET_ALL = 1 };

struct change {
    unsigned fact, before;
};

struct gain {
    unsigned fact, value;
};

/* What was recorded under a `when`, beside what was known from the episode before. */
struct episode {
    const struct gain *gains;
    size_t count;
    unsigned before; /* its number plus one; 0: none */
    unsigned clock;  /* when its `when` was looked at */
};

struct rests {
    struct loader *loader;
    const struct procedure *procedure;
    unsigned *facts;
    struct vector trail; /* struct change: what was set, to be taken back */
    struct name_table subset_table;
    struct vector subsets; /* const struct loop *: one of each, numbered from SUBSET_ALL + 1 */
    unsigned
        loop_subset[INDEXES_MAX]; /* of the loop over each index that we are in; 0: in none */
    struct name_table when_table; /* by the words of a `when` */
    unsigned when_count;
    struct vector episodes;
    unsigned clock;          /* recordings so far */
    unsigned *last_recorded; /* by reading: the clock then */
    /* While an expression is looked at. */
    const struct expression *expression;
    const struct node *outermost; /* the name in it that led into a definition, or NULL */
};

static unsigned reading_fact(unsigned reading, unsigned which)
{
    return OF_READING * reading + which;
}

/* Results stand behind the definitions. */
static unsigned definition_fact(const struct rests *rests, const struct symbol *symbol,
                                unsigned which)
{
    size_t number = symbol->item;
    if (symbol->kind == SYMBOL_RESULT)
        number += rests->procedure->name_count;
    return (unsigned)(OF_READING * rests->procedure->reading_count + OF_DEFINITION * number +
                      which);
}

/* Trials stand behind these. */
static unsigned first_trial(const struct rests *rests)
{
    return (unsigned)(OF_READING * rests->procedure->reading_count +
                      OF_DEFINITION *
                          (rests->procedure->name_count + rests->procedure->result_count));
}

static void set(struct rests *rests, unsigned fact, unsigned value)
{
    if (rests->facts[fact] == value)
        return;
    *VECTOR_ADD(&rests->trail, rests->loader->arena, struct change) =
        (struct change){fact, rests->facts[fact]};
    rests->facts[fact] = value;
}

static void take_back(struct rests *rests, size_t mark)
{
    while (rests->trail.count > mark) {
        const struct change *last =
            VECTOR_AT(rests->trail, struct change, rests->trail.count - 1);
        rests->facts[last->fact] = last->before;
        rests->trail.count--;
    }
}

static void set_recorded(struct rests *rests, unsigned reading)
{
    set(rests, reading_fact(reading, SOME), 1);
    if (rests->procedure->readings[reading].index != INDEX_NONE)
        set(rests, reading_fact(reading, HERE), 1);
}

/* --- one expression ----------------------------------------------------------------------------- */

static const struct symbol *symbol_of(const struct rests *rests, const struct node *node)
{
    return &rests->procedure->symbols[node->symbol];
}

static struct place place_of_use(const struct rests *rests, const struct node *node)
{
    struct place place = rests->outermost != NULL ? rests->outermost->place : node->place;
    struct place whole = rests->expression->place;
    bool is_inside = place.line == whole.line && whole.line == whole.end_line &&
                     place.end_column <= whole.end_column;
    return is_inside ? place : whole;
}

static bool is_recorded_here(const struct rests *rests, unsigned reading)
{
    int index = rests->procedure->readings[reading].index;
    unsigned loop = rests->loop_subset[index];
    unsigned subset = rests->facts[reading_fact(reading, SUBSET)];
    return rests->facts[reading_fact(reading, HERE)] != 0 || subset == SUBSET_ALL ||
           (loop != 0 && subset == loop);
}

static void want_reading(struct rests *rests, const struct node *node, unsigned number,
                         bool is_recorded)
{
    const struct reading *reading = &rests->procedure->readings[number];
    /* The sum of none is nothing, and never missing. */
    if (is_recorded || reading->field.again == AGAIN_ADDS)
        return;
    report(rests->loader->found, FINDING_PERHAPS_UNREAD, place_of_use(rests, node),
           reading->name);
    report(rests->loader->found, FINDING_RECORDED_HERE, reading->place, reading->name);
    set_recorded(rests, number); /* said once on this path */
}

static void want_allotted(struct rests *rests, const struct node *node,
                          const struct trial *trial)
{
    unsigned fact = first_trial(rests) + trial->number;
    if (rests->facts[fact] != 0 || trial->allotted_by == NULL)
        return;
    struct text name = text_fill(rests->loader->arena, "{}.treated", trial->name);
    report(rests->loader->found, FINDING_PERHAPS_UNREAD, place_of_use(rests, node), name);
    report(rests->loader->found, FINDING_RECORDED_HERE, trial->allotted_by->place, name);
    set(rests, fact, 1); /* said once on this path */
}

/* The effect wants both readings as well; a vector that was read at one position will do. */
static void look_trial(struct rests *rests, const struct node *node)
{
    unsigned item = symbol_of(rests, node)->item;
    const struct trial *trial = rests->procedure->trials[item / TRIAL_VALUES];
    want_allotted(rests, node, trial);
    if (item % TRIAL_VALUES == TRIAL_TREATED)
        return;
    want_reading(rests, node, trial->before,
                 rests->facts[reading_fact(trial->before, SOME)] != 0);
    want_reading(rests, node, trial->after,
                 rests->facts[reading_fact(trial->after, SOME)] != 0);
}

static void look(struct rests *rests, const struct node *node, int here);

/* NOLINTNEXTLINE(misc-no-recursion): definitions rest on one another, NAME_DEPTH_MAX deep */
static void look_symbol(struct rests *rests, const struct node *node, int here)
{
    const struct symbol *symbol = symbol_of(rests, node);
    bool is_here = here != INDEX_NONE && symbol->type.index == here;
    switch (symbol->kind) {
    case SYMBOL_READING:
        want_reading(rests, node, symbol->item,
                     is_here ? is_recorded_here(rests, symbol->item)
                             : rests->facts[reading_fact(symbol->item, SOME)] != 0);
        break;
    case SYMBOL_NAME:
    case SYMBOL_RESULT: {
        const struct definition *definition =
            symbol->kind == SYMBOL_NAME ? &rests->procedure->names[symbol->item]
                                        : &rests->procedure->results[symbol->item].definition;
        unsigned fact = definition_fact(rests, symbol, is_here ? AT_POSITION : WHOLE);
        if (rests->facts[fact] != 0 || definition->value == NULL)
            break;
        set(rests, fact, 1);
        const struct node *outer = rests->outermost;
        if (outer == NULL)
            rests->outermost = node;
        look(rests, definition->value->root, is_here ? here : INDEX_NONE);
        rests->outermost = outer;
        break;
    }
    case SYMBOL_TRIAL:
        look_trial(rests, node);
        break;
    case SYMBOL_MACHINE:
    case SYMBOL_INPUT:
    case SYMBOL_EARLIER:
    case SYMBOL_TIMER:
        break;
    }
}

/* What follows from the truth of an expression: that `given(x)` in it has a value. */
/* NOLINTNEXTLINE(misc-no-recursion): as deep as an expression */
static void grant_given(struct rests *rests, const struct node *node, bool is_true)
{
    if (node->kind == (is_true ? NODE_AND : NODE_OR)) {
        grant_given(rests, node->first, is_true);
        grant_given(rests, node->second, is_true);
        return;
    }
    if (node->kind == NODE_NOT) {
        grant_given(rests, node->first, !is_true);
        return;
    }
    if (!is_true || node->kind != NODE_CALL || node->function != FUNCTION_given)
        return;
    const struct node *what = node->arguments[0];
    bool is_here = what->kind == NODE_HERE;
    const struct node *symbol = is_here ? what->first : what;
    if (symbol->kind != NODE_SYMBOL || symbol_of(rests, symbol)->kind != SYMBOL_READING ||
        what->type.index != INDEX_NONE)
        return;
    set_recorded(rests, symbol_of(rests, symbol)->item);
}

/* NOLINTNEXTLINE(misc-no-recursion): as deep as an expression */
static void look_call(struct rests *rests, const struct node *node, int here)
{
    if (node->function == FUNCTION_given)
        return;
    /* One value from a vector: the other positions count too. */
    bool is_over_all = node->type.index == INDEX_NONE || node->function == FUNCTION_previous ||
                       node->function == FUNCTION_stands_out;
    for (size_t i = 0; i < node->argument_count; i++)
        look(rests, node->arguments[i], is_over_all ? INDEX_NONE : here);
}

/* Was the reading certainly recorded at this label? */
static bool is_recorded_at(const struct rests *rests, unsigned reading, struct text label)
{
    unsigned subset = rests->facts[reading_fact(reading, SUBSET)];
    if (subset <= SUBSET_ALL)
        return subset == SUBSET_ALL;
    const struct loop *loop =
        *VECTOR_AT(rests->subsets, const struct loop *, subset - SUBSET_ALL - 1);
    for (size_t i = 0; i < loop->label_count; i++)
        if (text_equal(loop->labels[i], label))
            return true;
    return false;
}

/* NOLINTNEXTLINE(misc-no-recursion): as deep as an expression */
static void look_label(struct rests *rests, const struct node *node)
{
    const struct node *vector = node->first;
    if (vector->kind == NODE_SYMBOL && symbol_of(rests, vector)->kind == SYMBOL_READING)
        want_reading(rests, node, symbol_of(rests, vector)->item,
                     is_recorded_at(rests, symbol_of(rests, vector)->item, node->text));
    else
        look(rests, vector, INDEX_NONE);
}

/* here: the index at whose current position the value is wanted, or INDEX_NONE for the whole. */
/* NOLINTNEXTLINE(misc-no-recursion): as deep as an expression */
static void look(struct rests *rests, const struct node *node, int here)
{
    switch (node->kind) {
    case NODE_NUMBER:
    case NODE_TEXT:
    case NODE_INDEX:
        return;
    case NODE_SYMBOL:
        look_symbol(rests, node, here);
        return;
    case NODE_HERE:
        look(rests, node->first, node->index);
        return;
    case NODE_LABEL:
        look_label(rests, node);
        return;
    case NODE_CALL:
        look_call(rests, node, here);
        return;
    case NODE_AND: /* false and missing is false */
    case NODE_OR: {
        size_t mark = rests->trail.count;
        bool is_and = node->kind == NODE_AND;
        grant_given(rests, node, is_and);
        bool is_granted = rests->trail.count > mark;
        look(rests, node->first, here);
        look(rests, node->second, here);
        if (is_granted)
            take_back(rests, mark);
        return;
    }
    case NODE_PICK:
    case NODE_NEGATE:
    case NODE_NOT:
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
    case NODE_PLUS_MINUS:
        if (node->first != NULL)
            look(rests, node->first, here);
        if (node->second != NULL)
            look(rests, node->second, here);
        return;
    }
}

static void use(struct rests *rests, const struct expression *expression)
{
    if (expression == NULL)
        return;
    rests->expression = expression;
    rests->outermost = NULL;
    look(rests, expression->root, INDEX_NONE);
}

static void use_template(struct rests *rests, const struct template *template)
{
    for (size_t i = 0; i < template->piece_count; i++)
        use(rests, template->pieces[i].value);
}

/* --- a step ------------------------------------------------------------------------------------- */

static void use_supplies(struct rests *rests, const struct supply *supplies, size_t count)
{
    for (size_t i = 0; i < count; i++) {
        use(rests, supplies[i].amount);
        use(rests, supplies[i].at_most);
    }
}

static void use_moves(struct rests *rests, const struct part_move *moves, size_t count)
{
    for (size_t i = 0; i < count; i++)
        use(rests, moves[i].count);
}

static void use_before(struct rests *rests, const struct step *step)
{
    use_template(rests, &step->action);
    use_template(rests, &step->why);
    use_template(rests, &step->look_for);
    for (size_t i = 0; i < step->tool_count; i++)
        use_template(rests, &step->tools[i]);
    for (size_t i = 0; i < step->wear_count; i++)
        use_template(rests, &step->wear[i]);
    for (size_t i = 0; i < step->message_count; i++) {
        use_template(rests, &step->messages[i].hazard);
        use_template(rests, &step->messages[i].harm);
    }
    use_supplies(rests, step->parts, step->part_count);
    use_moves(rests, step->removes, step->removes_count);
    use_moves(rests, step->refits, step->refits_count);
    use(rests, step->torque);
    use(rests, step->turn);
    use(rests, step->extension);
    use(rests, step->wrench_length);
}

/* Who is treated is fixed before the action is shown, from what was read before. */
static void allot(struct rests *rests, const struct trial *trial)
{
    const struct reading *before = &rests->procedure->readings[trial->before];
    use(rests, trial->chosen);
    use(rests, trial->worth);
    if (rests->facts[reading_fact(trial->before, SOME)] == 0) {
        report(rests->loader->found, FINDING_PERHAPS_UNREAD, trial->allotted_by->place,
               before->name);
        report(rests->loader->found, FINDING_RECORDED_HERE, before->place, before->name);
    }
    set(rests, first_trial(rests) + trial->number, 1);
}

static void visit_step(struct rests *rests, const struct step *step)
{
    size_t allotted = rests->trail.count;
    rests->clock++;
    if (step->allots != NULL)
        allot(rests, step->allots);
    for (size_t i = 0; i < step->reading_count; i++)
        rests->last_recorded[step->readings[i]] = rests->clock;
    use_before(rests, step);
    for (size_t i = 0; i < step->reading_count; i++) {
        const struct field *field = &rests->procedure->readings[step->readings[i]].field;
        use_template(rests, &field->ask);
        use(rests, field->between.at_least);
        use(rests, field->between.at_most);
    }
    size_t mark = rests->trail.count;
    for (size_t i = 0; i < step->reading_count; i++)
        set_recorded(rests, step->readings[i]);
    /* What is asked or fixed once the readings are in. */
    use_template(rests, &step->hold.ask);
    use_supplies(rests, step->consumes, step->consume_count);
    for (size_t i = 0; i < step->starts_count; i++) {
        use(rests, step->starts[i].at_least);
        use(rests, step->starts[i].at_most);
    }
    if (step->is_optional)
        take_back(rests, step->allots != NULL ? allotted : mark);
}

/* --- the order of work -------------------------------------------------------------------------- */

static void visit(struct rests *rests, const struct work *work);

/* NOLINTNEXTLINE(misc-no-recursion): as deep as the tree of the file */
static void visit_children(struct rests *rests, const struct work *work)
{
    for (size_t i = 0; i < work->child_count; i++)
        visit(rests, work->children[i]);
}

/* What was set since the mark, with what it is now. */
static struct gain *gains_since(struct rests *rests, size_t mark, size_t *count)
{
    size_t changes = rests->trail.count - mark;
    struct gain *gains = arena_array(rests->loader->arena, struct gain, changes);
    for (size_t i = 0; i < changes; i++) {
        unsigned fact = VECTOR_AT(rests->trail, struct change, mark + i)->fact;
        gains[i] = (struct gain){fact, rests->facts[fact]};
    }
    *count = changes;
    return gains;
}

static unsigned first_when(const struct rests *rests)
{
    return first_trial(rests) + (unsigned)rests->procedure->trial_count;
}

/* What is true if one of two was: of the subsets, the one that both have. */
static unsigned met(const struct rests *rests, unsigned fact, unsigned a, unsigned b)
{
    if (fact >= first_when(rests))
        return a == b ? a : 0;
    bool is_subset =
        fact < OF_READING * rests->procedure->reading_count && fact % OF_READING == SUBSET;
    if (a == b || !is_subset)
        return a < b ? a : b;
    return a == SUBSET_ALL ? b : b == SUBSET_ALL ? a : 0;
}

/* NOLINTNEXTLINE(misc-no-recursion): as deep as the tree of the file */
static void visit_either(struct rests *rests, const struct work *either)
{
    struct gain *common = NULL;
    size_t count = 0;
    for (size_t i = 0; i < either->child_count; i++) {
        const struct work *alternative = either->children[i];
        use(rests, alternative->when);
        size_t mark = rests->trail.count;
        if (alternative->when != NULL)
            grant_given(rests, alternative->when->root, true);
        visit_children(rests, alternative);
        if (i == 0)
            common = gains_since(rests, mark, &count);
        for (size_t k = 0; k < count && i > 0; k++)
            common[k].value =
                met(rests, common[k].fact, common[k].value, rests->facts[common[k].fact]);
        take_back(rests, mark);
    }
    for (size_t k = 0; k < count; k++)
        if (common[k].value != 0)
            set(rests, common[k].fact, common[k].value);
}

/* NOLINTNEXTLINE(misc-no-recursion): as deep as the tree of the file */
static void visit_body(struct rests *rests, const struct work *work)
{
    switch (work->kind) {
    case WORK_STEP:
        visit_step(rests, work->step);
        break;
    case WORK_SECTION:
    case WORK_FOLLOW:
        visit_children(rests, work);
        break;
    case WORK_EITHER:
        visit_either(rests, work);
        break;
    case WORK_REPEAT:
        visit_children(rests, work);
        use(rests, work->until);
        break;
    }
}

/* The same words are the same subset. */
static unsigned subset_number(struct rests *rests, const struct loop *loop)
{
    struct text words;
    switch (loop->subset) {
    case LOOP_ALL:
        return SUBSET_ALL;
    case LOOP_WHERE:
        if (loop->where == NULL)
            return SUBSET_ALL;
        words = loop->where->written;
        break;
    case LOOP_LABELS:
        words = text_fill(
            rests->loader->arena, "[{}]",
            text_join(rests->loader->arena, loop->labels, loop->label_count, TEXT(", ")));
        break;
    }
    int known = name_table_find(&rests->subset_table, (struct text){0}, words);
    if (known != NAME_ABSENT)
        return (unsigned)known;
    unsigned number = SUBSET_ALL + 1 + (unsigned)rests->subsets.count;
    *VECTOR_ADD(&rests->subsets, rests->loader->arena, const struct loop *) = loop;
    name_table_add(&rests->subset_table, rests->loader->arena, words, number);
    return number;
}

/* Does the fact speak of the position we are at? */
static bool is_of_position(const struct rests *rests, unsigned fact)
{
    size_t readings = OF_READING * rests->procedure->reading_count;
    if (fact < readings)
        return fact % OF_READING == HERE;
    if (fact >= first_trial(rests))
        return false;
    unsigned number = (unsigned)((fact - readings) / OF_DEFINITION);
    if ((fact - readings) % OF_DEFINITION == AT_POSITION)
        return true;
    if (number >= rests->procedure->name_count)
        return false;
    unsigned symbol = rests->procedure->names[number].symbol;
    return VECTOR_AT(rests->loader->symbol_notes, struct symbol_note, symbol)->loops != 0;
}

/* What one round added, for the loop as a whole. */
static void leave_loop(struct rests *rests, const struct loop *loop, size_t mark,
                       unsigned subset)
{
    size_t count;
    const struct gain *gains = gains_since(rests, mark, &count);
    take_back(rests, mark);
    bool has_rounds = loop->subset != LOOP_WHERE;
    for (size_t i = 0; i < count; i++) {
        unsigned fact = gains[i].fact;
        if (!is_of_position(rests, fact)) {
            if (has_rounds)
                set(rests, fact, gains[i].value);
            continue;
        }
        bool is_reading = fact < OF_READING * rests->procedure->reading_count;
        if (!is_reading || gains[i].value == 0 ||
            rests->procedure->readings[fact / OF_READING].index != loop->index)
            continue;
        unsigned known = fact - HERE + SUBSET;
        if (rests->facts[known] != SUBSET_ALL)
            set(rests, known, subset);
        if (has_rounds)
            set(rests, fact - HERE + SOME, 1);
    }
}

/* NOLINTNEXTLINE(misc-no-recursion): as deep as the tree of the file */
static void visit_loop(struct rests *rests, const struct work *work)
{
    const struct loop *loop = &work->loop;
    use(rests, loop->where);
    unsigned outer = rests->loop_subset[loop->index];
    unsigned subset = subset_number(rests, loop);
    rests->loop_subset[loop->index] = subset;
    size_t mark = rests->trail.count;
    if (work->when != NULL && work->when_each_round) {
        use(rests, work->when);
        size_t round = rests->trail.count;
        grant_given(rests, work->when->root, true);
        visit_body(rests, work);
        take_back(rests, round);
    } else {
        visit_body(rests, work);
    }
    leave_loop(rests, loop, mark, subset);
    rests->loop_subset[loop->index] = outer;
}

/* --- the same `when` again ---------------------------------------------------------------------- */

static unsigned when_fact(struct rests *rests, const struct expression *when)
{
    int known = name_table_find(&rests->when_table, (struct text){0}, when->written);
    if (known == NAME_ABSENT) {
        known = (int)rests->when_count++;
        name_table_add(&rests->when_table, rests->loader->arena, when->written,
                       (unsigned)known);
    }
    return first_when(rests) + (unsigned)known;
}

struct freshness {
    const struct rests *rests;
    unsigned char *is_seen; /* by definition, results behind */
    unsigned clock;
    bool is_stale;
};

/* NOLINTNEXTLINE(misc-no-recursion): definitions rest on one another, NAME_DEPTH_MAX deep */
static void look_for_changes(void *self, const struct node *node)
{
    struct freshness *freshness = self;
    const struct procedure *procedure = freshness->rests->procedure;
    if (node->kind == NODE_HERE || node->kind == NODE_INDEX ||
        (node->kind == NODE_CALL &&
         (node->function == FUNCTION_elapsed || node->function == FUNCTION_late)))
        freshness->is_stale = true; /* it may be another truth each time */
    if (node->kind != NODE_SYMBOL)
        return;
    const struct symbol *symbol = symbol_of(freshness->rests, node);
    if (symbol->kind == SYMBOL_READING &&
        freshness->rests->last_recorded[symbol->item] > freshness->clock)
        freshness->is_stale = true;
    if (symbol->kind != SYMBOL_NAME && symbol->kind != SYMBOL_RESULT)
        return;
    bool is_name = symbol->kind == SYMBOL_NAME;
    size_t number = symbol->item + (is_name ? 0 : procedure->name_count);
    const struct definition *definition = is_name
                                              ? &procedure->names[symbol->item]
                                              : &procedure->results[symbol->item].definition;
    if (freshness->is_seen[number] != 0 || definition->value == NULL)
        return;
    freshness->is_seen[number] = 1;
    expression_walk(definition->value->root, look_for_changes, freshness);
}

/* More than anybody records under one `when`; what lies further back is asked for again. */
enum { RECALLED_MAX = 1000 };

/* The episode that is known here (its number plus one), or 0. */
static unsigned recall(struct rests *rests, const struct expression *when)
{
    unsigned number = rests->facts[when_fact(rests, when)];
    if (number == 0)
        return 0;
    const struct episode *episode = VECTOR_AT(rests->episodes, struct episode, number - 1);
    struct arena *arena = rests->loader->arena;
    size_t definitions = rests->procedure->name_count + rests->procedure->result_count;
    struct arena_mark mark = arena_mark(arena);
    struct freshness freshness = {.rests = rests, .clock = episode->clock};
    freshness.is_seen = arena_array(arena, unsigned char, definitions);
    expression_walk(when->root, look_for_changes, &freshness);
    arena_rewind(arena, mark);
    if (freshness.is_stale)
        return 0;
    size_t recalled = 0;
    for (unsigned at = number; at != 0 && recalled < RECALLED_MAX; at = episode->before) {
        episode = VECTOR_AT(rests->episodes, struct episode, at - 1);
        for (size_t i = 0; i < episode->count; i++, recalled++)
            if (rests->facts[episode->gains[i].fact] == 0)
                set(rests, episode->gains[i].fact, episode->gains[i].value);
    }
    return number;
}

struct under_when {
    size_t mark, recalled; /* of the trail: before, and behind what was known from before */
    unsigned clock, episode;
};

/* Takes back what was set under a `when`, and keeps it for where the same words come again. */
static void leave_when(struct rests *rests, const struct expression *when,
                       const struct under_when *under)
{
    size_t count, kept = 0;
    struct gain *gains = gains_since(rests, under->recalled, &count);
    take_back(rests, under->mark);
    for (size_t i = 0; i < count; i++)
        if (!is_of_position(rests, gains[i].fact) && gains[i].value != 0)
            gains[kept++] = gains[i];
    if (kept == 0)
        return;
    *VECTOR_ADD(&rests->episodes, rests->loader->arena, struct episode) =
        (struct episode){gains, kept, under->episode, under->clock};
    set(rests, when_fact(rests, when), (unsigned)rests->episodes.count);
}

/* NOLINTNEXTLINE(misc-no-recursion): as deep as the tree of the file */
static void visit(struct rests *rests, const struct work *work)
{
    bool is_conditional = work->when != NULL && !work->when_each_round;
    if (is_conditional)
        use(rests, work->when);
    /* What is recorded from here on may change the truth. */
    struct under_when under = {.mark = rests->trail.count, .clock = rests->clock};
    if (is_conditional) {
        under.episode = recall(rests, work->when);
        under.recalled = rests->trail.count;
        grant_given(rests, work->when->root, true);
    }
    if (work->loop.index == INDEX_NONE)
        visit_body(rests, work);
    else
        visit_loop(rests, work);
    if (is_conditional)
        leave_when(rests, work->when, &under);
}

void rests_check(struct loader *loader, const struct procedure *procedure)
{
    if (loader->is_part_alone) /* others may record it before */
        return;
    struct rests rests = {.loader = loader, .procedure = procedure};
    rests.last_recorded = arena_array(loader->arena, unsigned, procedure->reading_count);
    /* There are no more different `when`s than works. */
    rests.facts =
        arena_array(loader->arena, unsigned, first_when(&rests) + procedure->work_count);
    if (procedure->work_count > 0)
        visit(&rests, procedure->works[0]);
}

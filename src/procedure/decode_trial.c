#include "procedure/loading.h"

/* Trials: who is treated, what is read before and after, and which step fixes it. */

struct trial_reader {
    struct trial *trial;
    struct trial_note note;
    bool is_treated_said;
};

static struct trial *trial_of(void *object)
{
    return ((struct trial_reader *)object)->trial;
}

static int last_pending(const struct loader *loader, const struct pending *pending)
{
    return pending == NULL ? NAME_ABSENT : (int)loader->pending.count - 1;
}

/* --- keys ------------------------------------------------------------------------------------ */

static void trial_ask(struct loader *loader, void *object, const struct yaml_node *key)
{
    read_template(loader, key, key->next, &trial_of(object)->ask);
}

static void trial_claim(struct loader *loader, void *object, const struct yaml_node *key)
{
    read_template(loader, key, key->next, &trial_of(object)->claim);
}

static void trial_before(struct loader *loader, void *object, const struct yaml_node *key)
{
    (void)loader;
    ((struct trial_reader *)object)->note.before = key;
}

static void trial_after(struct loader *loader, void *object, const struct yaml_node *key)
{
    (void)loader;
    ((struct trial_reader *)object)->note.after = key;
}

static void trial_better(struct loader *loader, void *object, const struct yaml_node *key)
{
    static const char *const words[] = {"higher", "lower", NULL};
    unsigned which;
    if (read_word(loader, key, words, &which))
        trial_of(object)->is_lower_better = which == 1;
}

/* Of which kind it must be is known only when the readings are. */
static void trial_worth(struct loader *loader, void *object, const struct yaml_node *key)
{
    struct trial_reader *reader = object;
    struct pending *pending = expression_later(loader, key, key->next, &reader->trial->worth);
    reader->note.worth = last_pending(loader, pending);
}

static void treated_draw(struct loader *loader, void *object, const struct yaml_node *key)
{
    struct trial_reader *reader = object;
    enum { DRAWN_MAX = 64 };
    reader->is_treated_said = true;
    read_whole(loader, key, 1, DRAWN_MAX, &reader->trial->drawn);
}

static void treated_is(struct loader *loader, void *object, const struct yaml_node *key)
{
    struct trial_reader *reader = object;
    reader->is_treated_said = true;
    struct pending *pending = expression_later(loader, key, key->next, &reader->trial->chosen);
    reader->note.chosen = last_pending(loader, pending);
}

static const struct key_entry treated_keys[] = {
    {"draw", false, 0, treated_draw},
    {"is", false, 0, treated_is},
};
const struct key_map treated_map = KEY_MAP("treated", "who is treated", treated_keys);

static void trial_treated(struct loader *loader, void *object, const struct yaml_node *key)
{
    struct trial_reader *reader = object;
    keys_read(loader, &treated_map, key->next, key, object);
    if (key->next->shape != SHAPE_MAP)
        return;
    const struct yaml_node *draw = key_in(key->next, "draw");
    if (draw != NULL && key_in(key->next, "is") != NULL)
        report(loader->found, FINDING_KEYS_EXCLUDE, draw->place, TEXT("draw"), TEXT("is"));
    else if (!reader->is_treated_said)
        report(loader->found, FINDING_TREATED_UNSAID, key->next->place);
}

static void trial_reaches(struct loader *loader, void *object, const struct yaml_node *key)
{
    static const char *const words[] = {"treated", "all", NULL};
    unsigned which;
    if (read_word(loader, key, words, &which))
        trial_of(object)->reaches_all = which == 1;
}

static void trial_matches(struct loader *loader, void *object, const struct yaml_node *key)
{
    struct trial *trial = trial_of(object);
    if (!wants_shape(loader, key, SHAPE_MAP))
        return;
    struct trial_match *matches =
        arena_array(loader->arena, struct trial_match, key->next->count);
    for (const struct yaml_node *at = key->next->first; at != NULL; at = at->next->next) {
        struct trial_match *match = &matches[trial->match_count++];
        match->name = at->text;
        match->place = at->place;
        truth_later(loader, at, &match->holds);
    }
    trial->matches = matches;
}

static const struct key_entry trial_keys[] = {
    {"after", true, 0, trial_after},      {"ask", true, 0, trial_ask},
    {"before", true, 0, trial_before},    {"better", true, 0, trial_better},
    {"claim", false, 0, trial_claim},     {"match", false, 0, trial_matches},
    {"reaches", false, 0, trial_reaches}, {"treated", true, 0, trial_treated},
    {"worth", false, 0, trial_worth},
};
const struct key_map trial_map = KEY_MAP("trial", "a trial", trial_keys);

/* --- its names ------------------------------------------------------------------------------- */

static struct type value_type(enum trial_value which)
{
    static const struct text texts[] = {
        {"rose more", 9}, {"fell more", 9}, {"inconclusive", 12}, {"no verdict", 10}};
    static const struct choices answers = {4, texts};
    struct type type = {.base = TYPE_NUMBER, .index = INDEX_NONE};
    if (which == TRIAL_TREATED)
        type.base = TYPE_TRUTH;
    if (which == TRIAL_ANSWER)
        type = (struct type){.base = TYPE_TEXT, .choices = &answers, .index = INDEX_NONE};
    return type;
}

static bool declare_values(struct loader *loader, struct trial *trial)
{
    static const char *const ends[TRIAL_VALUES] = {".treated", ".effect", ".band", ""};
    for (unsigned i = 0; i < TRIAL_VALUES; i++) {
        struct text name = text_fill(loader->arena, "{}{}", trial->name, text_from(ends[i]));
        int symbol = symbol_declare(loader, SYMBOL_TRIAL, name, trial->place);
        if (symbol == NAME_ABSENT)
            return false;
        trial->symbols[i] = (unsigned)symbol;
        struct symbol *entry = VECTOR_AT(loader->symbols, struct symbol, symbol);
        entry->item = trial->number * TRIAL_VALUES + i;
        entry->type = value_type((enum trial_value)i);
        /* until the readings are known */
        VECTOR_AT(loader->symbol_notes, struct symbol_note, symbol)->is_faulty = true;
    }
    return true;
}

static void read_trial(struct loader *loader, const struct yaml_node *key)
{
    struct trial *trial = arena_new(loader->arena, struct trial);
    struct trial_reader reader = {
        .trial = trial, .note = {.trial = trial, .worth = NAME_ABSENT, .chosen = NAME_ABSENT}};
    trial->name = full_name(loader, loader->piece->name_prefix, key->text);
    trial->place = key->place;
    trial->number = (unsigned)loader->trials.count;
    bool is_declared = declare_values(loader, trial);
    keys_read(loader, &trial_map, key->next, key, &reader);
    if (!is_declared)
        return;
    reader.note.piece = loader->piece;
    *VECTOR_ADD(&loader->trials, loader->arena, struct trial *) = trial;
    *VECTOR_ADD(&loader->trial_notes, loader->arena, struct trial_note) = reader.note;
}

void read_trials(struct loader *loader, const struct yaml_node *key)
{
    if (!wants_shape(loader, key, SHAPE_MAP))
        return;
    for (const struct yaml_node *at = key->next->first; at != NULL; at = at->next->next)
        if (check_name(loader, at))
            read_trial(loader, at);
}

/* --- when all readings are known --------------------------------------------------------------- */

static int find_reading(struct loader *loader, const struct trial_note *note,
                        const struct yaml_node *key)
{
    struct text name;
    if (key == NULL || !read_name(loader, key, &name))
        return NAME_ABSENT;
    int symbol = symbol_find(loader, note->piece, name);
    const struct symbol *about =
        symbol == NAME_ABSENT ? NULL : VECTOR_AT(loader->symbols, struct symbol, symbol);
    if (about != NULL && about->kind == SYMBOL_READING &&
        VECTOR_AT(loader->symbol_notes, struct symbol_note, symbol)->is_faulty)
        return NAME_ABSENT;
    if (about != NULL && about->kind == SYMBOL_READING && about->type.base == TYPE_NUMBER &&
        about->type.index != INDEX_NONE) {
        const struct reading *reading =
            *VECTOR_AT(loader->readings, struct reading *, about->item);
        if (reading->field.again != AGAIN_ADDS)
            return (int)about->item;
    }
    report(loader->found, FINDING_NOT_A_TRIAL_READING, key->next->place, name);
    return NAME_ABSENT;
}

static void set_types(struct loader *loader, const struct trial_note *note, struct type type)
{
    struct trial *trial = note->trial;
    struct kind step = kind_difference(type.kind);
    for (unsigned i = 0; i < TRIAL_VALUES; i++) {
        struct symbol *symbol = VECTOR_AT(loader->symbols, struct symbol, trial->symbols[i]);
        if (i == TRIAL_TREATED)
            symbol->type.index = type.index;
        else if (i != TRIAL_ANSWER)
            symbol->type.kind = step;
        VECTOR_AT(loader->symbol_notes, struct symbol_note, trial->symbols[i])->is_faulty =
            false;
    }
    if (note->worth != NAME_ABSENT) {
        struct pending *worth = VECTOR_AT(loader->pending, struct pending, note->worth);
        worth->want = WANT_NUMBER;
        worth->kind = step;
        worth->what = "the smallest change worth having";
    }
    if (note->chosen != NAME_ABSENT) {
        struct pending *chosen = VECTOR_AT(loader->pending, struct pending, note->chosen);
        chosen->want = WANT_TRUTH;
        chosen->index = type.index;
        chosen->what = "who is treated";
    }
}

static void resolve_readings(struct loader *loader, struct trial_note *note)
{
    struct trial *trial = note->trial;
    int before = find_reading(loader, note, note->before);
    int after = find_reading(loader, note, note->after);
    if (before == NAME_ABSENT || after == NAME_ABSENT)
        return;
    const struct reading *a = *VECTOR_AT(loader->readings, struct reading *, before);
    const struct reading *b = *VECTOR_AT(loader->readings, struct reading *, after);
    struct type type = VECTOR_AT(loader->symbols, struct symbol, a->symbol)->type;
    struct type other = VECTOR_AT(loader->symbols, struct symbol, b->symbol)->type;
    if (before == after || type.index != other.index || !kind_equal(type.kind, other.kind)) {
        report(loader->found, FINDING_TRIAL_UNALIKE, note->after->next->place, a->name,
               b->name);
        return;
    }
    trial->before = (unsigned)before;
    trial->after = (unsigned)after;
    note->is_resolved = true;
    set_types(loader, note, type);
}

static struct trial_note *find_trial(struct loader *loader, const struct step_note *step)
{
    struct text name;
    if (!read_name(loader, step->allots, &name))
        return NULL;
    int symbol = symbol_find(loader, step->piece, name);
    for (size_t i = 0; i < loader->trial_notes.count && symbol != NAME_ABSENT; i++) {
        struct trial_note *note = VECTOR_AT(loader->trial_notes, struct trial_note, i);
        if (note->trial->symbols[TRIAL_ANSWER] == (unsigned)symbol)
            return note;
    }
    struct text *names = arena_array(loader->arena, struct text, loader->trials.count);
    for (size_t i = 0; i < loader->trials.count; i++)
        names[i] = (*VECTOR_AT(loader->trials, struct trial *, i))->name;
    report(loader->found, FINDING_TRIAL_UNKNOWN, step->allots->next->place, name,
           did_you_mean(loader, text_nearest(name, names, loader->trials.count)));
    return NULL;
}

static void resolve_allots(struct loader *loader, const struct step_note *step)
{
    struct trial_note *note = find_trial(loader, step);
    if (note == NULL)
        return;
    if (step->work->loop_depth > 0)
        report(loader->found, FINDING_ALLOTS_IN_LOOP, step->allots->place);
    if (note->allotted.source != NULL) {
        report(loader->found, FINDING_ALLOTTED_TWICE, step->allots->next->place,
               note->trial->name);
        report(loader->found, FINDING_FIRST_GIVEN_HERE, note->allotted, note->trial->name);
        return;
    }
    note->allotted = step->allots->next->place;
    note->trial->allotted_by = step->work;
    if (note->is_resolved)
        step->step->allots = note->trial;
}

void trials_resolve(struct loader *loader)
{
    for (size_t i = 0; i < loader->trial_notes.count; i++)
        resolve_readings(loader, VECTOR_AT(loader->trial_notes, struct trial_note, i));
    for (size_t i = 0; i < loader->steps.count; i++) {
        const struct step_note *step = VECTOR_AT(loader->steps, struct step_note, i);
        if (step->allots != NULL)
            resolve_allots(loader, step);
    }
    for (size_t i = 0; i < loader->trial_notes.count; i++) {
        const struct trial_note *note = VECTOR_AT(loader->trial_notes, struct trial_note, i);
        if (note->allotted.source == NULL)
            report(loader->found, FINDING_TRIAL_NOT_ALLOTTED, note->trial->place,
                   note->trial->name, note->trial->name);
    }
}

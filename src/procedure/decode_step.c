#include "procedure/loading.h"

struct step_reader {
    struct work_reader of_work; /* first: the keys of every work read into it */
    struct step *step;
    struct step_note note;
    struct message messages[SIGNAL_DANGER + 1];
    size_t message_count;
};

static struct step *step_of(void *object)
{
    return ((struct step_reader *)object)->step;
}

/* --- texts ------------------------------------------------------------------------------------ */

static void step_name(struct loader *loader, void *object, const struct yaml_node *key)
{
    struct step_reader *reader = object;
    struct text name;
    if (!read_name(loader, key, &name))
        return;
    struct step *step = reader->step;
    step->own_name = name;
    step->name = full_name(loader, loader->piece->step_prefix, name);
    int earlier = name_table_find(&loader->step_table, (struct text){0}, step->name);
    if (earlier == NAME_ABSENT) {
        name_table_add(&loader->step_table, loader->arena, step->name,
                       reader->of_work.work->id);
        return;
    }
    report(loader->found, FINDING_STEP_TWICE, key->next->place, name);
    report(loader->found, FINDING_FIRST_GIVEN_HERE,
           (*VECTOR_AT(loader->works, struct work *, earlier))->place, name);
}

static void step_do(struct loader *loader, void *object, const struct yaml_node *key)
{
    read_template(loader, key, key->next, &step_of(object)->action);
}

static void step_why(struct loader *loader, void *object, const struct yaml_node *key)
{
    read_template(loader, key, key->next, &step_of(object)->why);
}

static void step_look_for(struct loader *loader, void *object, const struct yaml_node *key)
{
    read_template(loader, key, key->next, &step_of(object)->look_for);
}

/* `tool` and `tools` are one list. */
static const struct template *templates_added(struct loader *loader,
                                              const struct yaml_node *key,
                                              const struct template *earlier, size_t *count)
{
    const struct yaml_node *item = NULL;
    size_t given = read_items(loader, key, &item);
    struct template *all = arena_array(loader->arena, struct template, *count + given);
    if (*count > 0)
        memcpy(all, earlier, *count * sizeof *all);
    for (size_t i = 0; i < given; i++, item = item->next) {
        read_template(loader, key, item, &all[*count]);
        if (all[*count].written.length > 0)
            ++*count;
    }
    return all;
}

static void step_tools(struct loader *loader, void *object, const struct yaml_node *key)
{
    struct step *step = step_of(object);
    step->tools = templates_added(loader, key, step->tools, &step->tool_count);
}

static void step_wear(struct loader *loader, void *object, const struct yaml_node *key)
{
    struct step *step = step_of(object);
    step->wear = templates_added(loader, key, step->wear, &step->wear_count);
}

/* --- messages and activities ---------------------------------------------------------------------- */

static void message_hazard(struct loader *loader, void *object, const struct yaml_node *key)
{
    read_template(loader, key, key->next, &((struct message *)object)->hazard);
}

static void message_harm(struct loader *loader, void *object, const struct yaml_node *key)
{
    read_template(loader, key, key->next, &((struct message *)object)->harm);
}

static const struct key_entry message_keys[] = {
    {"harm", false, 0, message_harm},
    {"hazard", true, 0, message_hazard},
};
const struct key_map message_map = KEY_MAP("message", "a message", message_keys);

static void add_message(struct loader *loader, void *object, const struct yaml_node *key,
                        enum signal signal)
{
    struct step_reader *reader = object;
    struct message *message = &reader->messages[reader->message_count++];
    message->signal = signal;
    message->place = key->next->place;
    if (key->next->shape == SHAPE_TEXT)
        read_template(loader, key, key->next, &message->hazard);
    else
        keys_read(loader, &message_map, key->next, key, message);
}

static void step_danger(struct loader *loader, void *object, const struct yaml_node *key)
{
    add_message(loader, object, key, SIGNAL_DANGER);
}

static void step_warning(struct loader *loader, void *object, const struct yaml_node *key)
{
    add_message(loader, object, key, SIGNAL_WARNING);
}

static void step_caution(struct loader *loader, void *object, const struct yaml_node *key)
{
    add_message(loader, object, key, SIGNAL_CAUTION);
}

static void step_notice(struct loader *loader, void *object, const struct yaml_node *key)
{
    add_message(loader, object, key, SIGNAL_NOTICE);
}

static const struct activity *activity_find(struct loader *loader, struct text name,
                                            struct place place)
{
    int number = name_table_find(&loader->activity_table, (struct text){0}, name);
    if (number == NAME_ABSENT) {
        report(loader->found, FINDING_ACTIVITY_UNKNOWN, place, name,
               nearest_of(loader, &loader->activity_table, name));
        return NULL;
    }
    const struct activity *activity = *VECTOR_AT(loader->activities, struct activity *, number);
    if (!activity->is_refused)
        return activity;
    struct text reason = activity->reason.length > 0 ? activity->reason : activity->hazard;
    report(loader->found, FINDING_ACTIVITY_REFUSED, place, name, reason);
    return NULL;
}

static void step_activity(struct loader *loader, void *object, const struct yaml_node *key)
{
    struct step *step = step_of(object);
    const struct yaml_node *item = NULL;
    size_t given = read_items(loader, key, &item);
    ((struct step_reader *)object)->note.activity = key;
    const struct activity **activities =
        arena_array(loader->arena, const struct activity *, given);
    for (size_t i = 0; i < given; i++, item = item->next) {
        struct text name;
        if (!item_name(loader, key, item, &name))
            continue;
        activities[step->activity_count] = activity_find(loader, name, item->place);
        if (activities[step->activity_count] != NULL)
            step->activity_count++;
    }
    step->activities = activities;
}

static struct template template_plain(struct loader *loader, struct text text,
                                      struct place place)
{
    struct template template = {.written = text, .place = place};
    if (text.length > 0) {
        struct template_piece *piece = arena_new(loader->arena, struct template_piece);
        piece->literal = text;
        template.pieces = piece;
        template.piece_count = 1;
    }
    return template;
}

/* Worst first; of equal ones, the step's own first. */
static void gather_messages(struct loader *loader, struct step_reader *reader)
{
    struct step *step = reader->step;
    size_t count = reader->message_count + step->activity_count, filled = 0;
    if (count == 0)
        return;
    struct message *messages = arena_array(loader->arena, struct message, count);
    for (int signal = SIGNAL_DANGER; signal >= SIGNAL_NOTICE; signal--) {
        for (size_t i = 0; i < reader->message_count; i++)
            if ((int)reader->messages[i].signal == signal)
                messages[filled++] = reader->messages[i];
        for (size_t i = 0; i < step->activity_count; i++) {
            const struct activity *activity = step->activities[i];
            if ((int)activity->signal != signal)
                continue;
            struct message *message = &messages[filled++];
            message->signal = activity->signal;
            message->place = activity->place;
            message->hazard = template_plain(loader, activity->hazard, activity->place);
            message->harm = template_plain(loader, activity->harm, activity->place);
            message->activity = activity;
        }
    }
    step->messages = messages;
    step->message_count = filled;
}

/* --- supplies ----------------------------------------------------------------------------------- */

static void supply_is(struct loader *loader, void *object, const struct yaml_node *key)
{
    struct supply *supply = object;
    expression_later(loader, key, key->next, &supply->amount);
}

static void supply_at_most(struct loader *loader, void *object, const struct yaml_node *key)
{
    struct supply *supply = object;
    struct pending *pending = expression_later(loader, key, key->next, &supply->at_most);
    if (pending != NULL) {
        pending->want = WANT_LIKE;
        pending->like = &supply->amount;
        pending->what = "the most allowed";
    }
}

static const struct key_entry supply_keys[] = {
    {"at_most", false, 1, supply_at_most},
    {"is", true, 0, supply_is},
};
const struct key_map supply_map = KEY_MAP("supply", "an amount", supply_keys);

static const struct supply *read_supplies(struct loader *loader, const struct yaml_node *key,
                                          size_t *count)
{
    const struct yaml_node *value = key->next;
    struct supply *supplies = arena_array(loader->arena, struct supply, value->count + 1);
    if (value->shape != SHAPE_MAP) {
        size_t given = 0;
        const struct text *names = read_texts(loader, key, &given);
        supplies = arena_array(loader->arena, struct supply, given);
        for (size_t i = 0; i < given; i++)
            supplies[i] = (struct supply){.name = names[i], .place = value->place};
        *count = given;
        return supplies;
    }
    for (const struct yaml_node *at = value->first; at != NULL; at = at->next->next) {
        struct supply *supply = &supplies[(*count)++];
        supply->name = at->text;
        supply->place = at->place;
        if (at->next->shape == SHAPE_TEXT)
            supply_is(loader, supply, at);
        else
            keys_read(loader, &supply_map, at->next, at, supply);
        VECTOR_ADD(&loader->supplies, loader->arena, struct supply_note)->supply = supply;
    }
    return supplies;
}

static void step_parts(struct loader *loader, void *object, const struct yaml_node *key)
{
    struct step *step = step_of(object);
    step->parts = read_supplies(loader, key, &step->part_count);
}

static void step_consumes(struct loader *loader, void *object, const struct yaml_node *key)
{
    struct step *step = step_of(object);
    step->consumes = read_supplies(loader, key, &step->consume_count);
}

/* --- the ledger --------------------------------------------------------------------------------- */

static unsigned part_number(struct loader *loader, struct text name)
{
    int number = name_table_find(&loader->part_table, (struct text){0}, name);
    if (number == NAME_ABSENT) {
        number = (int)loader->parts.count;
        name_table_add(&loader->part_table, loader->arena, name, (unsigned)number);
        struct part *part = VECTOR_ADD(&loader->parts, loader->arena, struct part);
        *part = (struct part){name, INDEX_NONE};
    }
    struct part *part = VECTOR_AT(loader->parts, struct part, number);
    if (loader->index != INDEX_NONE)
        part->index = loader->index;
    return (unsigned)number;
}

static void move_count(struct loader *loader, void *object, const struct yaml_node *key)
{
    struct part_move *move = object;
    number_later(loader, key, key->next, unit_one.kind, "a number of parts", &move->count);
}

static void move_new(struct loader *loader, void *object, const struct yaml_node *key)
{
    read_yes_no(loader, key, &((struct part_move *)object)->is_new);
}

static const struct key_entry move_keys[] = {
    {"count", false, 0, move_count},
    {"new", false, 0, move_new},
};
const struct key_map move_map = KEY_MAP("move", "a part", move_keys);

static void read_move(struct loader *loader, const struct yaml_node *name,
                      const struct yaml_node *value, struct part_move *move)
{
    move->part = part_number(loader, name->text);
    move->place = name->place;
    if (value == NULL)
        return;
    if (value->shape == SHAPE_TEXT)
        move_count(loader, move, name);
    else
        keys_read(loader, &move_map, value, name, move);
}

static const struct part_move *read_moves(struct loader *loader, const struct yaml_node *key,
                                          size_t *count)
{
    const struct yaml_node *value = key->next, *item = NULL;
    struct part_move *moves = arena_array(loader->arena, struct part_move, value->count + 1);
    if (value->shape == SHAPE_MAP) {
        for (item = value->first; item != NULL; item = item->next->next)
            if (check_name(loader, item))
                read_move(loader, item, item->next, &moves[(*count)++]);
        return moves;
    }
    size_t given = read_some(loader, key, &item);
    for (size_t i = 0; i < given; i++, item = item->next) {
        struct text name;
        if (item_name(loader, key, item, &name))
            read_move(loader, item, NULL, &moves[(*count)++]);
    }
    return moves;
}

static void step_removes(struct loader *loader, void *object, const struct yaml_node *key)
{
    struct step *step = step_of(object);
    step->removes = read_moves(loader, key, &step->removes_count);
    for (size_t i = 0; i < step->removes_count; i++)
        if (step->removes[i].is_new)
            report(loader->found, FINDING_KEYS_EXCLUDE, step->removes[i].place, TEXT("new"),
                   TEXT("removes"));
}

static void step_refits(struct loader *loader, void *object, const struct yaml_node *key)
{
    struct step_reader *reader = object;
    struct step *step = reader->step;
    step->refits = read_moves(loader, key, &step->refits_count);
    for (size_t i = 0; i < step->refits_count; i++)
        if (step->refits[i].is_new && key_in(reader->of_work.map, "parts") == NULL)
            report(loader->found, FINDING_KEY_WANTS_KEY, step->refits[i].place, TEXT("new"),
                   TEXT("parts"));
}

/* --- torque ------------------------------------------------------------------------------------- */

static void torque_is(struct loader *loader, void *object, const struct yaml_node *key)
{
    number_later(loader, key, key->next, loader->kinds.torque, "the torque",
                 &step_of(object)->torque);
}

static void torque_gauge(struct loader *loader, void *object, const struct yaml_node *key)
{
    struct step *step = step_of(object);
    step->torque_gauge = read_gauge_name(loader, key);
    if (step->torque_gauge == GAUGE_NONE)
        return;
    const struct gauge *gauge = *VECTOR_AT(loader->gauges, struct gauge *, step->torque_gauge);
    struct kind torque = loader->kinds.torque;
    if (gauge->unit != NULL && !kind_fits(gauge->unit->kind, torque))
        report(loader->found, FINDING_WRONG_KIND, key->next->place, key->next->text,
               kind_name(loader->arena, gauge->unit->kind), kind_name(loader->arena, torque));
}

static void torque_extension(struct loader *loader, void *object, const struct yaml_node *key)
{
    number_later(loader, key, key->next, loader->kinds.length, "the extension",
                 &step_of(object)->extension);
}

static void torque_wrench(struct loader *loader, void *object, const struct yaml_node *key)
{
    number_later(loader, key, key->next, loader->kinds.length, "the length of the wrench",
                 &step_of(object)->wrench_length);
}

static const struct key_entry torque_keys[] = {
    {"extension", false, 0, torque_extension},
    {"gauge", false, 0, torque_gauge},
    {"is", true, 0, torque_is},
    {"wrench_length", false, 0, torque_wrench},
};
const struct key_map torque_map = KEY_MAP("torque", "a torque", torque_keys);

static void step_torque(struct loader *loader, void *object, const struct yaml_node *key)
{
    struct step_reader *reader = object;
    reader->note.torque_place = key->next->place;
    if (key->next->shape == SHAPE_TEXT) {
        torque_is(loader, object, key);
        return;
    }
    keys_read(loader, &torque_map, key->next, key, object);
    if (key->next->shape != SHAPE_MAP)
        return;
    const struct yaml_node *extension = key_in(key->next, "extension");
    const struct yaml_node *wrench = key_in(key->next, "wrench_length");
    if (extension != NULL)
        key_wants(loader, key->next, extension, "wrench_length");
    else if (wrench != NULL)
        key_wants(loader, key->next, wrench, "extension");
}

static void step_turn(struct loader *loader, void *object, const struct yaml_node *key)
{
    number_later(loader, key, key->next, loader->kinds.angle, "the turn",
                 &step_of(object)->turn);
}

/* --- readings ----------------------------------------------------------------------------------- */

static void unalike(struct loader *loader, const struct yaml_node *key,
                    const struct reading *first)
{
    report(loader->found, FINDING_DECLARED_UNALIKE, key->place, key->text, TEXT("a reading"));
    report(loader->found, FINDING_RECORDED_HERE, first->place, key->text);
}

static const struct yaml_node *range_of(const struct yaml_node *declaration)
{
    return declaration == NULL ? NULL : yaml_find(declaration, TEXT("between"));
}

/* The same name recorded by a later step of the same file is the same reading. */
static int record_again(struct loader *loader, const struct yaml_node *key, int symbol,
                        const struct field *field)
{
    const struct symbol *known = VECTOR_AT(loader->symbols, struct symbol, symbol);
    const struct symbol_note *note =
        VECTOR_AT(loader->symbol_notes, struct symbol_note, symbol);
    const struct reading *first = *VECTOR_AT(loader->readings, struct reading *, known->item);
    if (first->index != loader->index) {
        int index = first->index != INDEX_NONE ? first->index : loader->index;
        report(loader->found, FINDING_RECORDED_UNALIKE, key->place, key->text,
               *VECTOR_AT(loader->indexes, struct text, index));
        report(loader->found, FINDING_RECORDED_HERE, first->place, key->text);
    } else if (!note->is_faulty &&
               (!field_alike(&note->field, field) ||
                !yaml_alike(range_of(note->declaration), range_of(key->next)))) {
        unalike(loader, key, first);
    }
    return (int)known->item;
}

static int reading_add(struct loader *loader, struct text name, struct place place,
                       struct reading *reading)
{
    int symbol = symbol_declare(loader, SYMBOL_READING, name, place);
    if (symbol == NAME_ABSENT)
        return NAME_ABSENT;
    int number = (int)loader->readings.count;
    reading->name = name;
    reading->place = place;
    reading->symbol = (unsigned)symbol;
    reading->index = loader->index;
    reading->work = loader->work;
    *VECTOR_ADD(&loader->readings, loader->arena, struct reading *) = reading;
    struct symbol *entry = VECTOR_AT(loader->symbols, struct symbol, symbol);
    entry->item = (unsigned)number;
    entry->type = field_type(loader, &reading->field);
    entry->type.index = loader->index;
    return number;
}

static int read_reading(struct loader *loader, const struct yaml_node *key)
{
    struct text name = full_name(loader, loader->piece->name_prefix, key->text);
    int earlier = name_table_find(&loader->symbol_table, (struct text){0}, name);
    struct reading *reading = arena_new(loader->arena, struct reading);
    bool is_usable = read_field(loader, key, &reading->field);
    if (earlier != NAME_ABSENT) {
        const struct symbol *symbol = VECTOR_AT(loader->symbols, struct symbol, earlier);
        const struct symbol_note *note =
            VECTOR_AT(loader->symbol_notes, struct symbol_note, earlier);
        if (symbol->kind == SYMBOL_READING && note->piece == loader->piece)
            return record_again(loader, key, earlier, &reading->field);
    }
    int number = reading_add(loader, name, key->place, reading);
    if (number == NAME_ABSENT)
        return NAME_ABSENT;
    struct symbol_note *note =
        VECTOR_AT(loader->symbol_notes, struct symbol_note, reading->symbol);
    note->declaration = key->next;
    note->field = reading->field;
    note->is_faulty = !is_usable;
    return number;
}

static void step_record(struct loader *loader, void *object, const struct yaml_node *key)
{
    struct step *step = step_of(object);
    if (!wants_shape(loader, key, SHAPE_MAP))
        return;
    unsigned *readings = arena_array(loader->arena, unsigned, key->next->count + 1);
    for (const struct yaml_node *at = key->next->first; at != NULL; at = at->next->next) {
        int number = check_name(loader, at) ? read_reading(loader, at) : NAME_ABSENT;
        if (number != NAME_ABSENT)
            readings[step->reading_count++] = (unsigned)number;
    }
    step->readings = readings;
}

/* STEP.torque: what the wrench was set to. */
static void add_torque_reading(struct loader *loader, struct step_reader *reader)
{
    struct step *step = reader->step;
    if (reader->note.torque_place.source == NULL || step->name.length == 0)
        return;
    struct reading *reading = arena_new(loader->arena, struct reading);
    reading->is_torque = true;
    reading->field.unit = unit_for(loader->kinds.torque);
    reading->field.gauge = step->torque_gauge;
    reading->field.readings = 1;
    struct text name = text_fill(loader->arena, "{}.torque", step->name);
    if (name_table_find(&loader->symbol_table, (struct text){0}, name) != NAME_ABSENT)
        return; /* the step's name was given twice, and reported */
    int number = reading_add(loader, name, reader->note.torque_place, reading);
    if (number == NAME_ABSENT)
        return;
    VECTOR_AT(loader->symbol_notes, struct symbol_note, reading->symbol)->field =
        reading->field;
    reader->note.torque_reading = number;
    unsigned *readings = arena_array(loader->arena, unsigned, step->reading_count + 1);
    if (step->reading_count > 0)
        memcpy(readings, step->readings, step->reading_count * sizeof *readings);
    readings[step->reading_count++] = (unsigned)number;
    step->readings = readings;
}

/* --- timers ------------------------------------------------------------------------------------- */

static void timer_at_least(struct loader *loader, void *object, const struct yaml_node *key)
{
    number_later(loader, key, key->next, loader->kinds.time, "a time to wait",
                 &((struct timer_start *)object)->at_least);
}

static void timer_at_most(struct loader *loader, void *object, const struct yaml_node *key)
{
    number_later(loader, key, key->next, loader->kinds.time, "a time to wait",
                 &((struct timer_start *)object)->at_most);
}

static const struct key_entry timer_keys[] = {
    {"at_least", false, 0, timer_at_least},
    {"at_most", false, 0, timer_at_most},
};
const struct key_map timer_map = KEY_MAP("timer", "a timer", timer_keys);

static int timer_number(struct loader *loader, const struct yaml_node *key)
{
    struct text name = full_name(loader, loader->piece->name_prefix, key->text);
    int symbol = name_table_find(&loader->symbol_table, (struct text){0}, name);
    if (symbol != NAME_ABSENT) {
        const struct symbol *known = VECTOR_AT(loader->symbols, struct symbol, symbol);
        const struct symbol_note *note =
            VECTOR_AT(loader->symbol_notes, struct symbol_note, symbol);
        if (known->kind == SYMBOL_TIMER && note->piece == loader->piece) {
            const struct timer *timer = VECTOR_AT(loader->timers, struct timer, known->item);
            if (timer->index != loader->index) {
                int index = timer->index != INDEX_NONE ? timer->index : loader->index;
                report(loader->found, FINDING_RECORDED_UNALIKE, key->place, key->text,
                       *VECTOR_AT(loader->indexes, struct text, index));
            }
            return (int)known->item;
        }
    }
    symbol = symbol_declare(loader, SYMBOL_TIMER, name, key->place);
    if (symbol == NAME_ABSENT)
        return NAME_ABSENT;
    int number = (int)loader->timers.count;
    VECTOR_AT(loader->symbols, struct symbol, symbol)->item = (unsigned)number;
    VECTOR_AT(loader->symbols, struct symbol, symbol)->type.index = loader->index;
    *VECTOR_ADD(&loader->timers, loader->arena, struct timer) =
        (struct timer){name, key->place, (unsigned)symbol, loader->index};
    return number;
}

static void step_starts(struct loader *loader, void *object, const struct yaml_node *key)
{
    struct step *step = step_of(object);
    if (!wants_shape(loader, key, SHAPE_MAP))
        return;
    struct timer_start *starts =
        arena_array(loader->arena, struct timer_start, key->next->count);
    for (const struct yaml_node *at = key->next->first; at != NULL; at = at->next->next) {
        int number = check_name(loader, at) ? timer_number(loader, at) : NAME_ABSENT;
        struct timer_start *start = &starts[step->starts_count];
        keys_read(loader, &timer_map, at->next, at, start);
        if (number == NAME_ABSENT)
            continue;
        start->timer = (unsigned)number;
        start->place = at->place;
        step->starts_count++;
    }
    step->starts = starts;
}

/* --- the rest ----------------------------------------------------------------------------------- */

static void step_needs(struct loader *loader, void *object, const struct yaml_node *key)
{
    (void)loader;
    ((struct step_reader *)object)->note.needs = key;
}

static void step_forbids(struct loader *loader, void *object, const struct yaml_node *key)
{
    (void)loader;
    ((struct step_reader *)object)->note.forbids = key;
}

static void step_sets(struct loader *loader, void *object, const struct yaml_node *key)
{
    (void)loader;
    ((struct step_reader *)object)->note.sets = key;
}

static void step_clears(struct loader *loader, void *object, const struct yaml_node *key)
{
    (void)loader;
    ((struct step_reader *)object)->note.clears = key;
}

static void not_in_away(struct loader *loader, const struct yaml_node *key)
{
    if (loader->is_away)
        report(loader->found, FINDING_NOT_IN_AWAY, key->place, key->text);
}

static void step_awaits(struct loader *loader, void *object, const struct yaml_node *key)
{
    not_in_away(loader, key);
    ((struct step_reader *)object)->note.awaits = key;
}

static void step_allots(struct loader *loader, void *object, const struct yaml_node *key)
{
    not_in_away(loader, key);
    ((struct step_reader *)object)->note.allots = key;
}

static void step_hold(struct loader *loader, void *object, const struct yaml_node *key)
{
    struct step *step = step_of(object);
    not_in_away(loader, key);
    step->has_hold = true;
    keys_read(loader, &hold_map, key->next, key, &step->hold);
    if (key->next->shape == SHAPE_MAP)
        read_answers_wanted(loader, key->next, &step->hold);
}

static void step_optional(struct loader *loader, void *object, const struct yaml_node *key)
{
    read_yes_no(loader, key, &step_of(object)->is_optional);
}

static void step_once(struct loader *loader, void *object, const struct yaml_node *key)
{
    read_yes_no(loader, key, &step_of(object)->is_once);
}

static void step_allow(struct loader *loader, void *object, const struct yaml_node *key)
{
    struct step *step = step_of(object);
    step->allows = read_allow(loader, key, &step->allow_count);
}

static void step_photo(struct loader *loader, void *object, const struct yaml_node *key)
{
    static const char *const words[] = {"optional", "required", NULL};
    unsigned which;
    if (read_word(loader, key, words, &which))
        step_of(object)->photo = which == 0 ? PHOTO_OPTIONAL : PHOTO_REQUIRED;
}

static const struct key_entry step_keys[] = {
    {"activity", false, 1, step_activity},
    {"allots", false, 1, step_allots},
    {"allow", false, 1, step_allow},
    {"awaits", false, 1, step_awaits},
    {"caution", false, 1, step_caution},
    {"clears", false, 1, step_clears},
    {"consumes", false, 1, step_consumes},
    {"danger", false, 1, step_danger},
    {"do", true, 1, step_do},
    {"each", false, 0, work_each},
    {"forbids", false, 1, step_forbids},
    {"hold", false, 1, step_hold},
    {"in", false, 1, work_in},
    {"look_for", false, 1, step_look_for},
    {"needs", false, 1, step_needs},
    {"notice", false, 1, step_notice},
    {"once", false, 1, step_once},
    {"optional", false, 1, step_optional},
    {"order", false, 1, work_order},
    {"parts", false, 1, step_parts},
    {"photo", false, 1, step_photo},
    {"record", false, 1, step_record},
    {"refits", false, 2, step_refits},
    {"removes", false, 1, step_removes},
    {"sets", false, 1, step_sets},
    {"starts", false, 1, step_starts},
    {"step", true, 0, step_name},
    {"tool", false, 1, step_tools},
    {"tools", false, 1, step_tools},
    {"torque", false, 1, step_torque},
    {"turn", false, 1, step_turn},
    {"warning", false, 1, step_warning},
    {"wear", false, 1, step_wear},
    {"when", false, 1, work_when},
    {"why", false, 1, step_why},
};
const struct key_map step_map = KEY_MAP("step", "a step", step_keys);

void read_step(struct loader *loader, const struct yaml_node *node, const struct yaml_node *key,
               struct work *parent)
{
    struct work *work = work_new(loader, WORK_STEP, key->next->place, parent);
    struct step *step = arena_new(loader->arena, struct step);
    step->torque_gauge = GAUGE_NONE;
    work->step = step;
    struct step_reader reader = {.of_work = {.work = work, .map = node}, .step = step};
    reader.note = (struct step_note){.step = step,
                                     .work = work,
                                     .piece = loader->piece,
                                     .is_away = loader->is_away,
                                     .torque_reading = NAME_ABSENT};
    unsigned long long loops = loader->loops;
    int index = loader->index;
    struct work *outer = loader->work;
    loader->work = work;
    reader.of_work.outer = loops;
    keys_read(loader, &step_map, node, NULL, &reader);
    add_torque_reading(loader, &reader);
    gather_messages(loader, &reader);
    reader.note.loops = loader->loops;
    reader.note.index = loader->index;
    *VECTOR_ADD(&loader->steps, loader->arena, struct step_note) = reader.note;
    loader->work = outer;
    loader->loops = loops;
    loader->index = index;
}

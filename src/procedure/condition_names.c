#include "procedure/loading.h"

/* The conditions that steps name, and what must hold of all of them together. */

static const struct condition *condition_at(const struct loader *loader, unsigned id)
{
    return *VECTOR_AT(loader->conditions, struct condition *, id);
}

static struct condition_note *note_at(const struct loader *loader, unsigned id)
{
    return VECTOR_AT(loader->condition_notes, struct condition_note, id);
}

static struct text index_name(const struct loader *loader, int index)
{
    return *VECTOR_AT(loader->indexes, struct text, index);
}

/* --- what a step names -------------------------------------------------------------------------- */

/* Takes `[index]` off the end of a name; false if it is written wrongly. */
static bool cut_position(struct text *name, struct text *position)
{
    const char *bracket = memchr(name->bytes, '[', name->length);
    *position = (struct text){0};
    if (bracket == NULL)
        return true;
    size_t at = (size_t)(bracket - name->bytes);
    if (name->bytes[name->length - 1] != ']')
        return false;
    *position = text_trim(text_slice(*name, at + 1, name->length - 1));
    *name = text_trim(text_slice(*name, 0, at));
    return is_name(*position);
}

static bool check_position(struct loader *loader, const struct step_note *step,
                           const struct condition *condition, struct text position,
                           struct place place)
{
    if (condition->index == INDEX_NONE) {
        report(loader->found, FINDING_NOT_BY_POSITION, place, condition->name, position);
        return false;
    }
    struct text wanted = index_name(loader, condition->index);
    if (text_equal(position, wanted) && (step->loops >> condition->index & 1) != 0)
        return true;
    report(loader->found, FINDING_OUTSIDE_ITS_EACH, place, condition->name, position, wanted);
    return false;
}

static bool read_use(struct loader *loader, const struct step_note *step,
                     const struct yaml_node *key, const struct yaml_node *item,
                     struct condition_use *use)
{
    struct text name, position;
    if (!item_text(loader, key, item, &name))
        return false;
    if (!cut_position(&name, &position) || !is_name(name)) {
        report(loader->found, FINDING_NOT_A_NAME, item->place, item->text);
        return false;
    }
    int id = condition_find(loader, name, item->place);
    if (id == NAME_ABSENT)
        return false;
    const struct condition *condition = condition_at(loader, (unsigned)id);
    if (condition->index != INDEX_NONE)
        index_is_used(loader, condition->index, item->place);
    *use = (struct condition_use){(unsigned)id, position.length > 0, item->place};
    return position.length == 0 ||
           check_position(loader, step, condition, position, item->place);
}

static bool is_in(const struct condition_use *uses, size_t count, struct condition_use use)
{
    for (size_t i = 0; i < count; i++)
        if (uses[i].condition == use.condition && uses[i].is_here == use.is_here)
            return true;
    return false;
}

/* Its own, with room for more of its activities'. */
static struct condition_use *read_uses(struct loader *loader, const struct step_note *step,
                                       const struct yaml_node *key, size_t room, size_t *count)
{
    const struct yaml_node *item = NULL;
    size_t given = key == NULL ? 0 : read_items(loader, key, &item);
    struct condition_use *uses = arena_array(loader->arena, struct condition_use, given + room);
    for (size_t i = 0; i < given; i++, item = item->next) {
        struct condition_use use;
        if (!read_use(loader, step, key, item, &use))
            continue;
        if (is_in(uses, *count, use))
            report(loader->found, FINDING_SAID_TWICE, item->place, item->text);
        else
            uses[(*count)++] = use;
    }
    return uses;
}

static struct place place_of_activity(const struct step_note *note, size_t number)
{
    struct text name = note->step->activities[number]->name;
    const struct yaml_node *value = note->activity->next;
    const struct yaml_node *item = value->shape == SHAPE_LIST ? value->first : value;
    for (size_t i = 0; value->shape == SHAPE_LIST && i < value->count; i++, item = item->next)
        if (text_equal(item->text, name))
            break;
    return item == NULL ? value->place : item->place;
}

struct id_list {
    const unsigned *ids;
    size_t count;
};

static struct id_list ids_of(const struct activity *activity, enum addition_to which)
{
    if (which == ADD_ACTIVITY_NEEDS)
        return (struct id_list){activity->needs, activity->needs_count};
    if (which == ADD_ACTIVITY_FORBIDS)
        return (struct id_list){activity->forbids, activity->forbids_count};
    return (struct id_list){activity->clears, activity->clears_count};
}

static void add_uses(struct loader *loader, const struct step_note *note,
                     struct condition_use *uses, size_t *count, enum addition_to which)
{
    const struct step *step = note->step;
    for (size_t a = 0; a < step->activity_count; a++) {
        struct id_list list = ids_of(step->activities[a], which);
        struct place place = place_of_activity(note, a);
        for (size_t i = 0; i < list.count; i++) {
            int index = condition_at(loader, list.ids[i])->index;
            struct condition_use use = {list.ids[i], false, place};
            if (which == ADD_ACTIVITY_CLEARS && index != INDEX_NONE)
                use.is_here = (note->loops >> index & 1) != 0;
            if (index != INDEX_NONE)
                index_is_used(loader, index, place);
            if (!is_in(uses, *count, use))
                uses[(*count)++] = use;
        }
    }
}

static size_t activities_total(const struct step *step, enum addition_to which)
{
    size_t total = 0;
    for (size_t i = 0; i < step->activity_count; i++)
        total += ids_of(step->activities[i], which).count;
    return total;
}

/* Under its each, what a step sets or clears is of this position. */
static void put_here(const struct loader *loader, const struct step_note *note,
                     struct condition_use *uses, size_t count)
{
    for (size_t i = 0; i < count; i++) {
        int index = condition_at(loader, uses[i].condition)->index;
        if (index != INDEX_NONE)
            uses[i].is_here = (note->loops >> index & 1) != 0;
    }
}

static struct text worst_activity(const struct step *step)
{
    for (size_t i = 0; i < step->activity_count; i++)
        if (step->activities[i]->signal == SIGNAL_DANGER)
            return step->activities[i]->name;
    return (struct text){0};
}

static void note_needs(struct loader *loader, const struct step *step)
{
    struct text danger = worst_activity(step);
    for (size_t i = 0; i < step->needs_count; i++) {
        struct condition_note *note = note_at(loader, step->needs[i].condition);
        if (note->need_place.source == NULL)
            note->need_place = step->needs[i].place;
        if (note->danger.length == 0)
            note->danger = danger;
    }
}

static void resolve_step(struct loader *loader, const struct step_note *note)
{
    struct step *step = note->step;
    size_t needs = 0, forbids = 0, clears = 0, sets = 0;
    struct condition_use *uses;
    uses = read_uses(loader, note, note->needs, activities_total(step, ADD_ACTIVITY_NEEDS),
                     &needs);
    add_uses(loader, note, uses, &needs, ADD_ACTIVITY_NEEDS);
    step->needs = uses;
    step->needs_count = needs;
    uses = read_uses(loader, note, note->forbids, activities_total(step, ADD_ACTIVITY_FORBIDS),
                     &forbids);
    add_uses(loader, note, uses, &forbids, ADD_ACTIVITY_FORBIDS);
    step->forbids = uses;
    step->forbids_count = forbids;
    uses = read_uses(loader, note, note->sets, 0, &sets);
    put_here(loader, note, uses, sets);
    step->sets = uses;
    step->sets_count = sets;
    for (size_t i = 0; i < sets; i++)
        if (note_at(loader, uses[i].condition)->set_place.source == NULL)
            note_at(loader, uses[i].condition)->set_place = uses[i].place;
    uses = read_uses(loader, note, note->clears, activities_total(step, ADD_ACTIVITY_CLEARS),
                     &clears);
    put_here(loader, note, uses, clears);
    for (size_t i = 0; i < clears; i++) /* only a step's own words restore anything */
        note_at(loader, uses[i].condition)->is_cleared = true;
    add_uses(loader, note, uses, &clears, ADD_ACTIVITY_CLEARS);
    step->clears = uses;
    step->clears_count = clears;
    note_needs(loader, step);
}

void condition_uses_resolve(struct loader *loader)
{
    for (size_t i = 0; i < loader->steps.count; i++)
        resolve_step(loader, VECTOR_AT(loader->steps, struct step_note, i));
}

/* --- all together ------------------------------------------------------------------------------- */

enum mark { UNSEEN, OPEN, DONE };

struct circles {
    struct loader *loader;
    unsigned char *marks; /* enum mark */
    unsigned *path;
    size_t depth;
};

static void report_circle(const struct circles *circles, unsigned id)
{
    struct loader *loader = circles->loader;
    struct text *names = arena_array(loader->arena, struct text, circles->depth + 1);
    size_t from = 0, count = 0;
    while (circles->path[from] != id)
        from++;
    for (; from < circles->depth; from++)
        names[count++] = condition_at(loader, circles->path[from])->name;
    names[count++] = condition_at(loader, id)->name;
    report(loader->found, FINDING_REQUIRES_ITSELF, condition_at(loader, id)->place,
           text_join(loader->arena, names, count, TEXT(" requires ")));
}

/* NOLINTNEXTLINE(misc-no-recursion): no deeper than there are conditions, CONDITIONS_MAX */
static void follow_requires(struct circles *circles, unsigned id)
{
    const struct condition *condition = condition_at(circles->loader, id);
    circles->marks[id] = OPEN;
    circles->path[circles->depth++] = id;
    for (size_t i = 0; i < condition->requires_count; i++) {
        unsigned next = condition->requires[i];
        if (circles->marks[next] == OPEN)
            report_circle(circles, next);
        else if (circles->marks[next] == UNSEEN)
            follow_requires(circles, next);
    }
    circles->depth--;
    circles->marks[id] = DONE;
}

static void check_circles(struct loader *loader)
{
    struct circles circles = {.loader = loader};
    size_t count = loader->conditions.count;
    circles.marks = arena_array(loader->arena, unsigned char, count);
    circles.path = arena_array(loader->arena, unsigned, count);
    for (size_t i = 0; i < loader->borrowed_conditions; i++)
        circles.marks[i] = DONE; /* they can require only one another, and were looked at */
    for (size_t i = loader->borrowed_conditions; i < count; i++)
        if (circles.marks[i] == UNSEEN)
            follow_requires(&circles, (unsigned)i);
}

static bool needs_no_step(const struct condition *condition)
{
    return condition->asked_at_start || (condition->lapses && !(condition->lapses_after > 0));
}

void conditions_check(struct loader *loader)
{
    check_circles(loader);
    for (unsigned id = 0; id < loader->conditions.count; id++) {
        const struct condition *condition = condition_at(loader, id);
        const struct condition_note *note = note_at(loader, id);
        bool is_borrowed = id < loader->borrowed_conditions;
        if (condition->question.any_text && note->danger.length > 0)
            report(loader->found, FINDING_ANY_TEXT_GUARDS,
                   is_borrowed ? note->need_place : condition->place, condition->name,
                   note->danger);
        if (loader->is_part_alone) /* others set what it needs and clear what it leaves */
            continue;
        bool is_set = note->set_place.source != NULL;
        if (note->need_place.source != NULL && !is_set && !needs_no_step(condition))
            report(loader->found, FINDING_NEVER_SET, note->need_place, condition->name);
        if (is_set && condition->restore.length > 0 && !note->is_cleared)
            report(loader->found, FINDING_NEVER_CLEARED, note->set_place, condition->name);
    }
}

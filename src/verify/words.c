#include "words.h"

#include <string.h>

/* What an author or a mechanic reads of a path: plain sentences, the step's own words. */

static struct text position_words(const struct procedure *procedure, int index, int position,
                                  struct arena *arena)
{
    return text_fill(arena, "{} {}", position == 0 ? TEXT("this") : TEXT("another"),
                     say_name(arena, procedure->index_names[index]));
}

/* " (this cylinder)", or nothing. */
static struct text here_words(const struct procedure *procedure, const int *here,
                              struct arena *arena)
{
    struct text *places = arena_array(arena, struct text, procedure->index_count);
    size_t count = 0;
    for (size_t i = 0; here != NULL && i < procedure->index_count; i++)
        if (here[i] != INDEX_NONE)
            places[count++] = position_words(procedure, (int)i, here[i], arena);
    if (count == 0)
        return (struct text){0};
    return text_fill(arena, " ({})", text_join(arena, places, count, TEXT(", ")));
}

static struct text at_words(const struct procedure *procedure, int index, int position,
                            struct arena *arena)
{
    if (index == INDEX_NONE || position == INDEX_NONE)
        return (struct text){0};
    return text_fill(arena, " ({})", position_words(procedure, index, position, arena));
}

struct text words_of_condition(const struct procedure *procedure, unsigned condition,
                               struct arena *arena)
{
    return say_name(arena, procedure->conditions[condition]->name);
}

static struct text condition_at_words(const struct procedure *procedure, unsigned condition,
                                      int position, struct arena *arena)
{
    return text_fill(
        arena, "{}{}", words_of_condition(procedure, condition, arena),
        at_words(procedure, procedure->conditions[condition]->index, position, arena));
}

/* A step's own words; its blanks as the author wrote them, but a position as "this cylinder". */
static struct text action_words(const struct step *step, const int *here, struct arena *arena)
{
    struct text *parts = arena_array(arena, struct text, 2 * step->action.piece_count);
    size_t count = 0;
    for (size_t i = 0; i < step->action.piece_count; i++) {
        const struct template_piece *piece = &step->action.pieces[i];
        parts[count++] = piece->literal;
        if (piece->value == NULL)
            continue;
        const struct node *root = piece->value->root;
        bool is_position =
            root->kind == NODE_INDEX && here != NULL && here[root->index] != INDEX_NONE;
        parts[count++] = is_position
                             ? (here[root->index] == 0 ? TEXT("(this one)") : TEXT("(another)"))
                             : text_fill(arena, "({})", piece->value->written);
    }
    if (count == 0)
        return step->action.written;
    return text_join(arena, parts, count, (struct text){0});
}

/* The name of a step, or what a section is called. */
struct text words_of_work(const struct work *work, struct arena *arena)
{
    if (work == NULL)
        return TEXT("the end");
    if (work->step != NULL)
        return say_name(arena, work->step->own_name);
    return work->title.length > 0 ? say_name(arena, work->title) : TEXT("this section");
}

static bool names_position(const struct step *step)
{
    for (size_t i = 0; i < step->action.piece_count; i++) {
        const struct expression *value = step->action.pieces[i].value;
        if (value != NULL && value->root->kind == NODE_INDEX)
            return true;
    }
    return false;
}

static struct text doing(const char *sentence, const struct procedure *procedure,
                         const struct path_event *event, struct arena *arena)
{
    const struct step *step = event->work->step;
    struct text here = {0};
    if (!names_position(step))
        here = here_words(procedure, event->here, arena);
    return text_fill(arena, sentence, action_words(step, event->here, arena), here);
}

static struct text decision_words(const struct procedure *procedure,
                                  const struct path_event *event, struct arena *arena)
{
    struct text here = here_words(procedure, event->here, arena);
    if (event->text.length > 0)
        return text_fill(arena, "It comes out that {} is \"{}\"{}", event->expression->written,
                         event->text, here);
    return text_fill(arena,
                     event->truth ? "It comes out that {}{}" : "It does not come out that {}{}",
                     event->expression->written, here);
}

static struct text subset_words(const struct procedure *procedure,
                                const struct path_event *event, struct arena *arena)
{
    int index = event->work->loop.index;
    struct text where = event->work->loop.where != NULL ? event->work->loop.where->written
                                                        : event->expression->written;
    return text_fill(arena,
                     event->truth ? "With {} it is to be done: it is in {}"
                                  : "With {} it is not to be done: it is not in {}",
                     position_words(procedure, index, event->position, arena), where);
}

struct text path_event_words(const struct procedure *procedure, const struct path_event *event,
                             struct arena *arena)
{
    switch (event->kind) {
    case PATH_ASKED_AT_START:
        return text_fill(
            arena, event->truth ? "At the start it is so: {}" : "At the start it is not so: {}",
            condition_at_words(procedure, event->condition, event->position, arena));
    case PATH_DONE:
        return doing("{}{}", procedure, event, arena);
    case PATH_PASSED_OVER:
        return doing("Passed over, as it is optional: {}{}", procedure, event, arena);
    case PATH_DECIDED:
        return decision_words(procedure, event, arena);
    case PATH_SUBSET:
        return subset_words(procedure, event, arena);
    case PATH_ROUND:
        return text_fill(arena, event->truth ? "Another round of {}" : "No other round of {}",
                         words_of_work(event->work, arena));
    case PATH_STOPPED:
        return TEXT("Stopped here, to go on another day");
    case PATH_BEGUN:
        return doing("Begun and not finished: {}{}", procedure, event, arena);
    }
    return (struct text){0};
}

/* --- what is wrong ------------------------------------------------------------------------------ */

/* verb: what the step would have done, "sets"; and what it did, "set". */
struct text words_of_cause(const struct unsafe_path *path, struct arena *arena)
{
    bool is_to_be_set = path->fault == FAULT_NEED || path->fault == FAULT_REQUIRES;
    struct text verb = is_to_be_set ? TEXT("sees to it") : TEXT("puts it right");
    struct text did = is_to_be_set ? TEXT("saw to it") : TEXT("put it right");
    if (path->fault == FAULT_PART_OUT) {
        verb = TEXT("puts it back");
        did = TEXT("put it back");
    }
    if (path->fault == FAULT_PART_IN) {
        is_to_be_set = true;
        verb = TEXT("takes it out");
        did = TEXT("took it out");
    }
    struct text helper =
        path->helper == NULL ? (struct text){0} : words_of_work(path->helper, arena);
    struct text made = {0};
    if (!is_to_be_set && path->undoer != NULL && path->cause != CAUSE_UNDONE)
        made = text_fill(arena, "'{}' made it so. ", words_of_work(path->undoer, arena));
    switch (path->cause) {
    case CAUSE_NO_STEP:
        return text_fill(arena, "{}No step {}.", made, verb);
    case CAUSE_NOT_YET:
        return text_fill(arena, "{}'{}' {}, but comes later.", made, helper, verb);
    case CAUSE_PASSED_OVER:
        return text_fill(arena, "{}'{}' {}, but is optional and was passed over.", made, helper,
                         verb);
    case CAUSE_LEFT_OUT:
        return text_fill(arena, "{}'{}' {}, but is left out on this way.", made, helper, verb);
    case CAUSE_UNDONE:
        return text_fill(arena, "'{}' {}, and then '{}' undid that.", helper, did,
                         words_of_work(path->undoer, arena));
    }
    return (struct text){0};
}

struct text words_of_block(const struct procedure *procedure, const struct unsafe_path *path,
                           struct arena *arena)
{
    if (path->helper == NULL)
        return TEXT("No step puts it right.");
    struct text helper = words_of_work(path->helper, arena);
    if (!path->is_blocked)
        return text_fill(arena,
                         path->helper->step->is_once
                             ? "'{}' puts it right, but is marked 'once' and was begun."
                             : "'{}' puts it right, but not everything can be put right.",
                         helper);
    return text_fill(arena,
                     path->is_forbidden
                         ? "'{}' puts it right, but is not allowed while this is so: {}."
                         : "'{}' puts it right, but needs this, which is not in force: {}.",
                     helper, words_of_condition(procedure, path->blocked, arena));
}

static bool is_of_part(enum path_fault fault)
{
    return fault == FAULT_PART_LEFT || fault == FAULT_PART_OUT || fault == FAULT_PART_IN;
}

struct text path_fault_words(const struct procedure *procedure, const struct unsafe_path *path,
                             struct arena *arena)
{
    struct text condition =
        is_of_part(path->fault)
            ? text_fill(arena, "{}{}", say_name(arena, procedure->parts[path->part].name),
                        at_words(procedure, procedure->parts[path->part].index, path->position,
                                 arena))
            : condition_at_words(procedure, path->condition, path->position, arena);
    struct text work = words_of_work(path->work, arena);
    struct text cause = words_of_cause(path, arena);
    switch (path->fault) {
    case FAULT_NEED:
        return text_fill(arena, "'{}' needs this, and it is not in force: {}. {}", work,
                         condition, cause);
    case FAULT_FORBIDDEN:
        return text_fill(arena, "'{}' is not allowed while this is so, and it is: {}. {}", work,
                         condition, cause);
    case FAULT_REQUIRES:
        return text_fill(
            arena, "'{}' would leave '{}' without this, which must be so with it: {}. {}", work,
            condition, words_of_condition(procedure, path->required, arena), cause);
    case FAULT_LEFT:
        return text_fill(arena, "At the end this is not as it should be left: {}. {}",
                         condition, cause);
    case FAULT_PART_LEFT:
        return text_fill(arena, "At the end this is still out: {}. {}", condition, cause);
    case FAULT_PART_OUT:
        return text_fill(arena, "'{}' takes this out, and it is out already: {}. {}", work,
                         condition, cause);
    case FAULT_PART_IN:
        return text_fill(arena, "'{}' puts this back, and it is not out: {}. {}", work,
                         condition, cause);
    case FAULT_ONCE:
        return text_fill(arena, "'{}' must be done only once, and would be done again.", work);
    case FAULT_NO_ORDER:
        return text_fill(arena, "From here nothing makes safe: this stays as it is: {}. {}",
                         condition, words_of_block(procedure, path, arena));
    case FAULT_ROUND:
        return text_fill(arena, "This round of '{}' leaves it otherwise than it found it: {}.",
                         work, condition);
    case FAULT_UNREACHED:
        return text_fill(arena, "No way leads to '{}'.", work);
    }
    return (struct text){0};
}

#include "command.h"

/* What to say of a part that somebody wants to start. */

static bool follows(const struct procedure *procedure, struct text part)
{
    for (size_t i = 0; i < procedure->work_count; i++)
        if (procedure->works[i]->kind == WORK_FOLLOW &&
            text_equal(procedure->works[i]->followed, part))
            return true;
    return false;
}

/* How many steps there are in a procedure that can be started and follows the part; 0: it does
 * not, or cannot be started. */
static size_t steps_around(struct world *world, struct text name, struct text part)
{
    const struct source *source;
    struct failure failure;
    struct diagnostics found;
    diagnostics_begin(&found, &world->files);
    if (thing_find(world, THING_PROCEDURE, name, &source, &failure) != STATUS_FINE)
        return 0;
    const struct procedure *procedure =
        procedure_load(source, world->safety, world_shelf(world), &found, &world->files);
    if (procedure == NULL || procedure->is_part || found.count_by_severity[SEVERITY_ERROR] > 0)
        return 0;
    return follows(procedure, part) ? procedure->step_count : 0;
}

/* The shortest that follows it, since that shows the part with the least beside it; empty if
 * there is none. */
static struct text shortest_user(struct world *world, struct text part)
{
    const struct text *names;
    size_t count = thing_list(world, THING_PROCEDURE, &names, &world->scratch);
    struct text user = {0};
    size_t fewest = 0;
    for (size_t i = 0; i < count; i++) {
        struct arena_mark mark = arena_mark(&world->files);
        size_t steps = steps_around(world, names[i], part);
        arena_rewind(&world->files, mark);
        if (steps == 0 || (fewest != 0 && steps >= fewest))
            continue;
        fewest = steps;
        user = names[i];
    }
    return user;
}

enum status refuse_part(struct world *world, const struct procedure *part)
{
    struct arena *arena = &world->scratch;
    struct text user = shortest_user(world, part->name);
    struct text what = text_fill(
        arena, "{} is a part of other procedures and is not started alone", part->name);
    if (user.length > 0)
        what = text_fill(arena, "{}; {} uses it", what, user);
    (void)refuse(what);
    return STATUS_NO;
}

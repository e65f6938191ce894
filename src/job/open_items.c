/*
 * open_items.c - what is out of its normal state or unfinished, in words.
 */
#include "base/calendar.h"
#include "job/say.h"
#include "job_state.h"

/* "cylinder 1 and 3", "every cylinder"; empty for none. */
static struct text say_places(struct arena *arena, const struct job *job, int index,
                              const struct text *labels, size_t count)
{
    const struct fitted *fitted = job_fitted(job);
    if (index == INDEX_NONE || count == 0)
        return (struct text){0};
    struct text name = say_name(arena, fitted->procedure->index_names[index]);
    if (count > 1 && count == fitted->indexes[index].count)
        return text_fill(arena, "every {}", name);
    return text_fill(arena, "{} {}", name, say_list(arena, labels, count));
}

/* All positions of one condition together. */
static struct text say_condition(struct arena *arena, const struct job *job,
                                 const struct open_condition *like,
                                 const struct open_condition *open, size_t count)
{
    const struct condition *condition = job->procedure->conditions[like->condition];
    struct text *where = arena_array(arena, struct text, count);
    size_t places = 0;
    for (size_t i = 0; i < count; i++)
        if (open[i].condition == like->condition && open[i].is_perhaps == like->is_perhaps &&
            condition->index != INDEX_NONE && open[i].position != INDEX_NONE)
            where[places++] = job->fitted->indexes[condition->index].texts[open[i].position];
    struct text name = say_name(arena, condition->name);
    if (like->is_perhaps)
        name = text_fill(arena, "perhaps {}", name);
    struct text all = say_places(arena, job, condition->index, where, places);
    return all.length == 0 ? name : text_fill(arena, "{} ({})", name, all);
}

/* All pieces of one kind of part together; those that are perhaps out by themselves. */
static struct text say_part(struct arena *arena, const struct job *job,
                            const struct part_out *like, const struct part_out *out,
                            size_t count)
{
    const struct part *kind = &job->procedure->parts[like->part];
    const char *name = text_terminated(arena, say_name(arena, kind->name));
    size_t pieces = 0, places = 0;
    struct text *where = arena_array(arena, struct text, count);
    for (size_t i = 0; i < count; i++) {
        if (out[i].part != like->part || out[i].is_perhaps != like->is_perhaps)
            continue;
        pieces += out[i].count == 0 ? 1 : out[i].count;
        if (out[i].position != INDEX_NONE && kind->index != INDEX_NONE)
            where[places++] = job->fitted->indexes[kind->index].texts[out[i].position];
    }
    struct text said = text_fill(arena, like->is_perhaps ? "perhaps {} out" : "{} out",
                                 say_count(arena, pieces, name));
    if (places == 0 || places == job->fitted->indexes[kind->index].count)
        return said;
    return text_fill(arena, "{} ({})", said,
                     say_places(arena, job, kind->index, where, places));
}

static bool part_came_earlier(const struct part_out *out, size_t i)
{
    for (size_t before = 0; before < i; before++)
        if (out[before].part == out[i].part && out[before].is_perhaps == out[i].is_perhaps)
            return true;
    return false;
}

static bool condition_came_earlier(const struct open_condition *open, size_t i)
{
    for (size_t before = 0; before < i; before++)
        if (open[before].condition == open[i].condition &&
            open[before].is_perhaps == open[i].is_perhaps)
            return true;
    return false;
}

size_t say_parts(struct arena *arena, const struct job *job, const struct part_out *out,
                 size_t out_count, struct text *items)
{
    size_t count = 0;
    for (size_t i = 0; i < out_count; i++)
        if (!part_came_earlier(out, i))
            items[count++] = say_part(arena, job, &out[i], out, out_count);
    return count;
}

/* With what each condition wants to be undone, or without. */
static size_t say_conditions(struct arena *arena, const struct job *job,
                             const struct open_condition *open, size_t open_count,
                             bool has_restore, struct text *items)
{
    size_t count = 0;
    for (size_t i = 0; i < open_count; i++) {
        if (condition_came_earlier(open, i))
            continue;
        items[count] = say_condition(arena, job, &open[i], open, open_count);
        if (has_restore)
            items[count] = text_fill(arena, "{}: {}", items[count],
                                     job->procedure->conditions[open[i].condition]->restore);
        count++;
    }
    return count;
}

size_t say_open(struct arena *arena, const struct job *job, struct text **items)
{
    struct open_condition *open = NULL;
    struct part_out *out = NULL;
    size_t open_count = condition_open(&job->conditions, &open, arena);
    size_t out_count = job_parts_out(job, &out, arena);
    *items = arena_array(arena, struct text, open_count + out_count);
    size_t count = say_conditions(arena, job, open, open_count, false, *items);
    return count + say_parts(arena, job, out, out_count, *items + count);
}

size_t job_open_items(const struct job *job, struct instant now, const struct text **items,
                      struct arena *arena)
{
    struct open_condition *open = NULL;
    struct part_out *out = NULL;
    struct timer_running *running = NULL;
    size_t open_count = condition_open(&job->conditions, &open, arena);
    size_t out_count = job_parts_out(job, &out, arena);
    size_t running_count = timers_running_at(job, job_time(job, now), &running, arena);
    struct text *words =
        arena_array(arena, struct text, open_count + out_count + running_count);
    size_t count = say_conditions(arena, job, open, open_count, true, words);
    count += say_parts(arena, job, out, out_count, words + count);
    for (size_t i = 0; i < running_count; i++) {
        const struct timer *timer = &job->procedure->timers[running[i].timer];
        struct text where = say_position(arena, job, timer->index, running[i].position);
        words[count++] = text_fill(
            arena, where.length == 0 ? "still running: {}{}" : "still running: {} ({})",
            say_name(arena, timer->name), where);
    }
    *items = words;
    return count;
}

struct text say_timer(struct arena *arena, const struct job *job,
                      const struct timer_running *running, long long now)
{
    const struct timer *timer = &job_fitted(job)->procedure->timers[running->timer];
    struct text name = say_name(arena, timer->name);
    struct text where = say_position(arena, job, timer->index, running->position);
    if (where.length > 0)
        name = text_fill(arena, "{} ({})", name, where);
    if (running->due > now)
        return text_fill(arena, "{}: {} left", name,
                         calendar_span_text(arena, running->due - now));
    if (running->too_late > 0 && now > running->too_late)
        return text_fill(arena, "{}: too late since {}", name,
                         calendar_span_text(arena, now - running->too_late));
    if (running->too_late > 0)
        return text_fill(arena, "{}: long enough; {} until it is too long", name,
                         calendar_span_text(arena, running->too_late - now));
    return text_fill(arena, "{}: long enough, running for {}", name,
                     calendar_span_text(arena, now - running->started));
}

#include "job_state.h"

#include <assert.h>

struct spot spot_opening(void)
{
    return (struct spot){0};
}

bool spot_equal(const struct spot *a, const struct spot *b)
{
    return a->work == b->work && memcmp(a->turns, b->turns, sizeof a->turns) == 0;
}

/* Outside loops, where most spots are, every work has a slot of its own; what turns add is spread. */
static size_t spot_hash(const struct spot *spot)
{
    unsigned long long turns[2], hash;
    static_assert(sizeof turns == sizeof spot->turns, "all the turns, and nothing else");
    memcpy(turns, spot->turns, sizeof turns);
    hash = (turns[0] ^ turns[1] * 0xff51afd7ed558ccdULL) * 0x9e3779b97f4a7c15ULL;
    return (size_t)(spot->work + (hash >> 32));
}

static struct fact *fact_slot(struct fact *facts, size_t capacity, const struct spot *spot)
{
    size_t at = spot_hash(spot) & (capacity - 1);
    while (facts[at].newest != 0 && !spot_equal(&facts[at].spot, spot))
        at = (at + 1) & (capacity - 1);
    return &facts[at];
}

const struct fact *fact_at(const struct job *job, const struct spot *spot)
{
    return fact_slot(job->facts, job->fact_capacity, spot);
}

/* Capacity is a power of two and never more than half full, so that a search always ends. */
static void facts_grow(struct job *job)
{
    size_t capacity = job->fact_capacity * 2;
    struct fact *facts = arena_array(job->arena, struct fact, capacity);
    for (size_t i = 0; i < job->fact_capacity; i++) {
        if (job->facts[i].newest != 0)
            *fact_slot(facts, capacity, &job->facts[i].spot) = job->facts[i];
    }
    job->facts = facts;
    job->fact_capacity = capacity;
}

struct fact *fact_make(struct job *job, const struct spot *spot)
{
    if (job->fact_count * 2 >= job->fact_capacity)
        facts_grow(job);
    struct fact *fact = fact_slot(job->facts, job->fact_capacity, spot);
    if (fact->newest == 0) {
        fact->spot = *spot;
        job->fact_count++;
    }
    return fact;
}

const struct event *job_event(const struct job *job, unsigned number)
{
    assert(number >= 1 && number <= job->event_count);
    return &job->events[number - 1];
}

const struct event *job_event_now(const struct job *job, unsigned number)
{
    unsigned amendment = job->amended_by[number - 1];
    return job_event(job, amendment != 0 ? amendment : number);
}

const struct event *fact_find(const struct job *job, const struct fact *fact,
                              const struct sought *sought)
{
    for (unsigned n = fact->newest; n > sought->after; n = job->older[n - 1]) {
        const struct event *event = job_event(job, n);
        if (event->kind != sought->kind ||
            (event->kind == EVENT_ANSWERED && event->detail != sought->detail))
            continue;
        if (sought->name.length > 0 && !text_equal(event->name, sought->name))
            continue;
        if (event->position != sought->position ||
            (sought->repeat != 0 && event->repeat != sought->repeat))
            continue;
        return event;
    }
    return NULL;
}

static void events_grow(struct job *job)
{
    size_t capacity = job->event_capacity * 2;
    struct event *events = arena_array(job->arena, struct event, capacity);
    unsigned *older = arena_array(job->arena, unsigned, capacity);
    unsigned *amended = arena_array(job->arena, unsigned, capacity);
    memcpy(events, job->events, job->event_count * sizeof *events);
    memcpy(older, job->older, job->event_count * sizeof *older);
    memcpy(amended, job->amended_by, job->event_count * sizeof *amended);
    job->events = events;
    job->older = older;
    job->amended_by = amended;
    job->event_capacity = capacity;
}

static const struct earlier_value *earlier_copy(struct arena *arena, const struct event *event)
{
    struct earlier_value *copy = arena_array(arena, struct earlier_value, event->earlier_count);
    for (size_t i = 0; i < event->earlier_count; i++) {
        copy[i] = event->earlier[i];
        copy[i].name = text_copy(arena, event->earlier[i].name);
        copy[i].shown = text_copy(arena, event->earlier[i].shown);
    }
    return copy;
}

/* The bytes of an attached file stay in the record; they are not kept in memory. */
void job_keep_event(struct job *job, const struct event *event)
{
    if (job->event_count == job->event_capacity)
        events_grow(job);
    struct event *kept = &job->events[job->event_count++];
    *kept = *event;
    kept->at.boot = text_copy(job->arena, event->at.boot);
    kept->name = text_copy(job->arena, event->name);
    kept->typed = text_copy(job->arena, event->typed);
    kept->meaning = text_copy(job->arena, event->meaning);
    kept->unit = text_copy(job->arena, event->unit);
    kept->gauge = text_copy(job->arena, event->gauge);
    kept->source = text_copy(job->arena, event->source);
    kept->reason = text_copy(job->arena, event->reason);
    kept->zone = text_copy(job->arena, event->zone);
    kept->bytes = (struct text){0};
    kept->earlier = earlier_copy(job->arena, event);
    kept->proven.verdict = text_copy(job->arena, event->proven.verdict);
    kept->proven.program = text_copy(job->arena, event->proven.program);
    struct fact *fact = fact_make(job, &kept->spot);
    job->older[kept->number - 1] = fact->newest;
    fact->newest = kept->number;
}

/* --- making events ---------------------------------------------------------------------- */

struct event event_begin(const struct job *job, enum event_kind kind, const struct spot *spot,
                         struct instant now)
{
    return (struct event){
        .kind = kind,
        .number = (unsigned)job->event_count + 1,
        .at = now,
        .spot = *spot,
        .position = INDEX_NONE,
    };
}

struct event event_for(const struct job *job, const struct stand *stand, enum event_kind kind,
                       unsigned detail, struct instant now)
{
    struct event event = event_begin(job, kind, &stand->spot, now);
    event.detail = detail;
    event.name = stand->name;
    event.position = stand->position;
    event.repeat = kind == EVENT_READ || detail == ANSWERED_INSIST ? stand->repeat : 0;
    event.is_late = stand->is_late;
    return event;
}

struct decision decision_of(struct arena *scratch, const struct event *event)
{
    struct event *events = arena_array(scratch, struct event, 1);
    events[0] = *event;
    return (struct decision){.events = events, .event_count = 1};
}

struct decision decision_refused(struct text refusal)
{
    return (struct decision){.refusal = refusal};
}

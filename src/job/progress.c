/*
 * progress.c - how much of the work is done, of how much.
 */
#include "job_state.h"

#include <assert.h>

struct progress {
    const struct job *job;
    struct step_counts counts;
};

static void count_work(struct progress *progress, const struct work *work, struct spot spot,
                       bool is_left_out);

static const struct event *decision_of_name(const struct job *job, const struct spot *spot,
                                            struct text name)
{
    struct sought sought = {.kind = EVENT_DECIDED, .name = name, .position = INDEX_NONE};
    return fact_find(job, fact_at(job, spot), &sought);
}

static bool was_decided(const struct job *job, const struct spot *spot, struct text name,
                        bool truth)
{
    const struct event *event = decision_of_name(job, spot, name);
    return event != NULL && (event->detail != 0) == truth;
}

/* NOLINTNEXTLINE(misc-no-recursion): through count_work */
static void count_children(struct progress *progress, const struct work *work, struct spot spot,
                           bool is_left_out)
{
    bool is_taken = false;
    for (size_t i = 0; i < work->child_count; i++) {
        count_work(progress, work->children[i], spot, is_left_out || is_taken);
        if (work->kind != WORK_EITHER)
            continue;
        struct spot there = spot;
        there.work = work->children[i]->id;
        is_taken = is_taken || was_decided(progress->job, &there, TEXT("when"), true);
    }
}

/* Of a repeat without a fixed number only the rounds that are known of are counted. */
/* NOLINTNEXTLINE(misc-no-recursion): through count_work */
static void count_rounds(struct progress *progress, const struct work *work, struct spot spot,
                         bool is_left_out)
{
    unsigned bound = work->until == NULL ? work->times : work->at_most;
    for (unsigned round = 0; round < bound; round++) {
        spot.work = work->id;
        spot.turns[work->loop_depth - 1] = (unsigned short)round;
        count_children(progress, work, spot, is_left_out);
        if (work->until != NULL && !was_decided(progress->job, &spot, TEXT("until"), false))
            break;
    }
}

/* NOLINTNEXTLINE(misc-no-recursion): through count_work */
static void count_round(struct progress *progress, const struct work *work, struct spot spot,
                        bool is_left_out)
{
    const struct job *job = progress->job;
    if (work->when != NULL && was_decided(job, &spot, TEXT("when"), false))
        is_left_out = true;
    if (work->kind == WORK_REPEAT) {
        count_rounds(progress, work, spot, is_left_out);
    } else if (work->kind != WORK_STEP) {
        count_children(progress, work, spot, is_left_out);
    } else {
        const struct fact *fact = fact_at(job, &spot);
        bool is_skipped = fact->done == 0 && fact->skipped != 0;
        bool is_passed_over = fact->done == 0 && !is_skipped && work->step->is_optional &&
                              was_decided(job, &spot, TEXT("optional"), false);
        bool is_over = fact->done != 0 || is_skipped || is_passed_over;
        progress->counts.total += is_over || !is_left_out;
        progress->counts.done += is_over;
        progress->counts.skipped += is_skipped;
        progress->counts.passed_over += is_passed_over;
    }
}

/* A bit for each; all of them while it is not decided which. */
static unsigned long long loop_positions_known(const struct job *job, const struct loop *loop,
                                               const struct spot *spot)
{
    const struct event *decided = NULL;
    switch (loop->subset) {
    case LOOP_ALL:
        break;
    case LOOP_LABELS:
        return labelled_positions(job, loop);
    case LOOP_WHERE:
        decided = decision_of_name(job, spot, TEXT("in"));
        break;
    }
    return decided == NULL ? ~0ULL : decided->positions;
}

static bool is_alternative(const struct work *work)
{
    return work->parent != NULL && work->parent->kind == WORK_EITHER;
}

/* NOLINTNEXTLINE(misc-no-recursion): as deep as the work, which the loader bounds */
static void count_work(struct progress *progress, const struct work *work, struct spot spot,
                       bool is_left_out)
{
    const struct job *job = progress->job;
    spot.work = work->id;
    is_left_out = is_left_out || ((work->when != NULL || is_alternative(work)) &&
                                  job_never_does(job, work, job->arena));
    if (!work_is_each(work)) {
        count_round(progress, work, spot, is_left_out);
        return;
    }
    if (work->when != NULL && !work->when_each_round &&
        was_decided(job, &spot, TEXT("when"), false))
        is_left_out = true;
    unsigned long long positions = loop_positions_known(job, &work->loop, &spot);
    size_t count = index_size(job, work->loop.index);
    assert(count <= POSITIONS_MAX);
    for (size_t i = 0; i < count; i++) {
        bool is_in = (positions >> i & 1ULL) != 0;
        spot.turns[work->loop_depth - 1] = (unsigned short)i;
        count_round(progress, work, spot, is_left_out || !is_in);
    }
}

static struct step_counts count_children_of_root(const struct job *job, size_t from, size_t to)
{
    struct progress progress = {.job = job};
    const struct work *root = job->procedure->works[0];
    struct arena_mark mark = arena_mark(job->arena); /* what is worked out on the way */
    for (size_t i = from; i < to; i++)
        count_work(&progress, root->children[i], spot_opening(), false);
    arena_rewind(job->arena, mark);
    return progress.counts;
}

static struct step_counts sum_of(struct step_counts a, struct step_counts b)
{
    return (struct step_counts){a.done + b.done, a.total + b.total, a.skipped + b.skipped,
                                a.passed_over + b.passed_over};
}

void count_walked_past(struct job *job, unsigned children)
{
    job->past = sum_of(job->past, count_children_of_root(job, job->walked_past, children));
    job->walked_past = children;
}

static struct step_counts progress_of(const struct job *job)
{
    size_t count = job->procedure->works[0]->child_count;
    return sum_of(job->past, count_children_of_root(job, job->walked_past, count));
}

void job_progress(const struct job *job, unsigned *done, unsigned *total)
{
    struct step_counts progress = progress_of(job);
    *done = progress.done;
    *total = progress.total;
}

struct text job_progress_words(const struct job *job, struct arena *arena)
{
    struct step_counts progress = progress_of(job);
    unsigned done = progress.done - progress.skipped - progress.passed_over;
    struct text words = text_fill(arena, "{} of {} done", text_number(arena, done),
                                  text_number(arena, progress.total - progress.passed_over));
    if (progress.skipped == 0)
        return words;
    return text_fill(arena, "{}, {} skipped", words, text_number(arena, progress.skipped));
}

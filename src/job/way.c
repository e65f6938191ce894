/*
 * The way back to a shut gate, and what an answer withdraws.
 *
 * After making safe, or after a denial, one step done again is often not enough: a vehicle is chocked,
 * pushed, raised and shaken before anybody goes beneath it.  The whole way is searched for, as for
 * making safe but towards one gate, offered as one choice and then walked step by step.
 */
#include "job/say.h"
#include "job_state.h"
#include "safe_places.h"

/* --- what may be done again ------------------------------------------------------------------------ */

struct way_search {
    const struct job *job;
    const struct work *goal;
    long long time;
    struct arena *arena;
    const int *stands; /* by index: where the goal is, or else where the person stands */
    bool is_behind;    /* only what stands before the goal in the file, or was done already */
    bool stays_in_place;
};

static bool was_ever_done(const struct job *job, const struct spot *spot)
{
    struct sought sought = {.kind = EVENT_DONE, .position = INDEX_NONE};
    return fact_find(job, fact_at(job, spot), &sought) != NULL;
}

/* What is in its place already is not put there again, and what is out is not taken out. */
static bool moves_what_it_can(const struct job *job, const struct step *step, const int *here)
{
    for (size_t i = 0; i < step->removes_count; i++) {
        if (part_out_count(job, step->removes[i].part, here) > 0)
            return false;
    }
    for (size_t i = 0; i < step->refits_count; i++) {
        if (part_out_count(job, step->refits[i].part, here) == 0)
            return false;
    }
    return true;
}

static bool may_do_at(const struct way_search *search, const struct work *step, const int *here)
{
    const struct job *job = search->job;
    struct spot spot = spot_for(job, step, here);
    const struct fact *fact = fact_at(job, &spot);
    bool was_begun = fact->done != 0 || fact->entered != 0 || was_ever_done(job, &spot);
    if (step->step->is_once && (was_begun || card_has_perhaps_begun(job, step)))
        return false;
    if (search->is_behind && step->id > search->goal->id && !was_begun)
        return false;
    return moves_what_it_can(job, step->step, here) &&
           !place_is_left_out(job, step, &spot, search->time, search->arena) &&
           !work_is_on_another_branch(job, step, &spot, search->time, search->arena);
}

/* How many of its loops are elsewhere than where the person stands. */
static unsigned loops_elsewhere(const struct way_search *search, const int *place)
{
    unsigned count = 0;
    for (size_t i = 0; i < search->job->procedure->index_count; i++)
        count += place[i] != INDEX_NONE && search->stands[i] != INDEX_NONE &&
                 place[i] != search->stands[i];
    return count;
}

/* A move of the search knows only the positions that some condition has.  Of the places it stands for it is
 * made where the person stands, or as near as it may be; NULL: nowhere. */
static const int *place_of_move(const struct way_search *search, const struct work *step,
                                const int *here)
{
    const int *best = NULL;
    size_t places = work_place_count(search->job, step);
    for (size_t i = 0; i < places; i++) {
        const int *place = work_place(search->job, step, i, search->arena);
        if (safe_is_same_place(search->job, place, here) && may_do_at(search, step, place) &&
            (best == NULL || loops_elsewhere(search, place) < loops_elsewhere(search, best)))
            best = place;
    }
    return best;
}

static bool may_do(void *self, const struct work *step, const int *here)
{
    const struct way_search *search = self;
    const int *place = place_of_move(search, step, here);
    return place != NULL && !(search->stays_in_place && loops_elsewhere(search, place) > 0);
}

static void put_in_place(const struct way_search *search, struct makesafe *way)
{
    struct makesafe_move *moves =
        arena_array(search->arena, struct makesafe_move, way->move_count);
    for (size_t i = 0; i < way->move_count; i++) {
        moves[i] = way->moves[i];
        moves[i].here = place_of_move(search, moves[i].step, moves[i].here);
    }
    way->moves = moves;
}

static const int *where_it_stands(const struct job *job, const struct makesafe_move *goal,
                                  long long time, struct arena *arena)
{
    const int *last = safe_permission_begin(job, time, arena).stands;
    int *stands = arena_array(arena, int, job->procedure->index_count);
    for (size_t i = 0; i < job->procedure->index_count; i++)
        stands[i] = goal->here[i] != INDEX_NONE ? goal->here[i] : last[i];
    return stands;
}

/* --- what the way leaves out -------------------------------------------------------------------------- */

static unsigned last_done(const struct job *job, const struct work *work, const int *here)
{
    struct spot spot = spot_for(job, work, here);
    struct sought sought = {.kind = EVENT_DONE, .position = INDEX_NONE};
    const struct event *done = fact_find(job, fact_at(job, &spot), &sought);
    return done == NULL ? 0 : done->number;
}

static bool uses(const struct condition_use *list, size_t count, unsigned condition)
{
    for (size_t i = 0; i < count; i++) {
        if (list[i].condition == condition)
            return true;
    }
    return false;
}

/* It sets nothing, so no gate asks for it; but it ends what the next move shows, so it belongs to what is
 * shown: the jack brought up again beneath a vehicle, before that is shaken. */
static bool belongs_before(const struct job *job, const struct work *work,
                           const struct makesafe_move *move)
{
    const struct step *step = work->step;
    if (step == NULL || step->sets_count + step->removes_count + step->refits_count > 0 ||
        step->is_once || step->has_hold || step->reading_count > 0)
        return false;
    unsigned done = last_done(job, work, move->here);
    if (done == 0 || (job->again_since != 0 && done > job->again_since))
        return false;
    for (size_t i = 0; i < step->clears_count; i++) {
        const struct step *next = move->step->step;
        if (uses(next->sets, next->sets_count, step->clears[i].condition))
            return true;
    }
    return false;
}

static bool do_in_thought(struct condition_state *state, const struct makesafe_move *move,
                          long long time, struct arena *arena)
{
    const struct step *step = move->step->step;
    struct gate gate = gate_look(state, step, move->here, time, arena);
    bool *as_expected = arena_array(arena, bool, step->sets_count);
    for (size_t i = 0; i < step->sets_count; i++)
        as_expected[i] = true;
    condition_step_done(state, step, move->here, as_expected, time);
    return gate.verdict != GATE_SHUT;
}

/* --- what making safe has put back ------------------------------------------------------------------- */

/* No gate sees a part, so what was out when making safe began and is in now comes out again, unless a
 * condition says it and the way has it already: the connectors, before the coils are counted. */
static bool takes_out_again(const struct job *job, const struct work *work, const int *here)
{
    const struct step *step = work->step;
    if (step->removes_count == 0 || step->sets_count > 0 || step->is_once ||
        work_is_away(work) || last_done(job, work, here) == 0 ||
        !moves_what_it_can(job, step, here))
        return false;
    for (size_t i = 0; i < step->removes_count; i++) {
        size_t first, count;
        part_cells(job, step->removes[i].part, here, &first, &count);
        for (size_t cell = first; cell < first + count; cell++) {
            if (job->was_put_back[cell])
                return true;
        }
    }
    return false;
}

/* A way with what comes out again put between its moves, and how things stand behind them. */
struct woven {
    const struct job *job;
    struct makesafe_move *moves;
    size_t count;
    struct condition_state state;
    long long time;
    struct arena *arena;
};

static size_t places_of_step(const struct job *job, const struct work *work)
{
    return work->step == NULL ? 0 : work_place_count(job, work);
}

static void add_if_taken_out(struct woven *woven, const struct work *work)
{
    size_t places = places_of_step(woven->job, work);
    for (size_t place = 0; place < places; place++) {
        struct makesafe_move out = {work, work_place(woven->job, work, place, woven->arena)};
        struct condition_state tried = condition_state_copy(&woven->state, woven->arena);
        if (!takes_out_again(woven->job, work, out.here) ||
            !do_in_thought(&tried, &out, woven->time, woven->arena))
            continue;
        woven->state = tried;
        woven->moves[woven->count++] = out;
    }
}

/* Each where it stands in the file, if its gate allows it there. */
static void take_out_again(const struct job *job, struct makesafe *way, long long time,
                           struct arena *arena)
{
    const struct procedure *procedure = job->procedure;
    size_t most = way->move_count;
    for (size_t i = 0; i < procedure->work_count; i++)
        most += places_of_step(job, procedure->works[i]);
    struct woven woven = {.job = job,
                          .moves = arena_array(arena, struct makesafe_move, most),
                          .state = condition_state_copy(&job->conditions, arena),
                          .time = time,
                          .arena = arena};
    unsigned from = 0;
    for (size_t i = 0; i <= way->move_count; i++) {
        bool is_behind_all = i == way->move_count;
        unsigned to = is_behind_all ? (unsigned)procedure->work_count : way->moves[i].step->id;
        for (; from < to; from++)
            add_if_taken_out(&woven, procedure->works[from]);
        if (is_behind_all)
            break;
        (void)do_in_thought(&woven.state, &way->moves[i], time, arena);
        woven.moves[woven.count++] = way->moves[i];
    }
    way->moves = woven.moves;
    way->move_count = woven.count;
}

/* Before the first move stands what was done last on this way, if it was begun. */
static unsigned behind_first(const struct job *job, const struct makesafe_move *first)
{
    if (job->again_since == 0 || job->recent[0] < job->again_since)
        return first->step->id;
    return job_event(job, job->recent[0])->spot.work;
}

/* `goal`: done again in the end; or NULL. */
static void weave_in(const struct job *job, struct makesafe *way,
                     const struct makesafe_move *goal, long long time, struct arena *arena)
{
    const struct procedure *procedure = job->procedure;
    struct condition_state state = condition_state_copy(&job->conditions, arena);
    struct makesafe_move *moves =
        arena_array(arena, struct makesafe_move, way->move_count + procedure->work_count + 1);
    size_t count = 0;
    size_t all = way->move_count + (goal != NULL ? 1 : 0);
    for (size_t i = 0; i < all; i++) {
        const struct makesafe_move *move = i < way->move_count ? &way->moves[i] : goal;
        unsigned from = i == 0 ? behind_first(job, move) : way->moves[i - 1].step->id;
        for (unsigned id = from + 1; id < move->step->id; id++) {
            struct makesafe_move beside = {procedure->works[id], move->here};
            struct condition_state tried = condition_state_copy(&state, arena);
            if (belongs_before(job, beside.step, move) &&
                do_in_thought(&tried, &beside, time, arena) &&
                do_in_thought(&tried, move, time, arena)) {
                moves[count++] = beside;
                (void)do_in_thought(&state, &beside, time, arena);
            }
        }
        (void)do_in_thought(&state, move, time, arena);
        moves[count++] = *move;
    }
    way->moves = moves;
    way->move_count = goal != NULL ? count - 1 : count;
}

struct makesafe job_way(const struct job *job, const struct work *goal, const struct spot *spot,
                        long long time, struct arena *arena)
{
    struct makesafe_move to = {goal, spot_here(job, spot, arena)};
    struct way_search *search = arena_new(arena, struct way_search);
    struct makesafe found = {0};
    static const struct {
        enum set_anew set_anew;
        bool is_behind, stays_in_place;
    } tries[] = {
        {SET_ANEW_FROM_THE_GROUND, true, true},  {SET_ANEW_FROM_THE_GROUND, true, false},
        {SET_ANEW_FROM_THE_GROUND, false, true}, {SET_ANEW_FROM_THE_GROUND, false, false},
        {SET_ANEW_AS_IT_IS, true, true},         {SET_ANEW_AS_IT_IS, true, false},
        {SET_ANEW_AS_IT_IS, false, true},        {SET_ANEW_AS_IT_IS, false, false}};
    const int *stands = where_it_stands(job, &to, time, arena);
    for (size_t i = 0; i < sizeof tries / sizeof *tries && !found.is_found; i++) {
        *search = (struct way_search){
            job, goal, time, arena, stands, tries[i].is_behind, tries[i].stays_in_place};
        found =
            makesafe_find_way(&job->conditions, &to, tries[i].set_anew, may_do, search, arena);
    }
    if (found.is_found)
        put_in_place(search, &found);
    if (found.is_found && found.move_count > 0)
        take_out_again(job, &found, time, arena);
    if (found.is_found)
        weave_in(job, &found, goal->step != NULL && fact_at(job, spot)->done != 0 ? &to : NULL,
                 time, arena);
    return found;
}

enum { ACTION_COLUMNS = 40 }; /* of an action that is only named */

static struct text step_words(const struct job *job, const struct work *step,
                              struct arena *scratch)
{
    return text_fill(
        scratch, "step {}, {}", text_number(scratch, (long long)job_step_number(job, step)),
        say_short(scratch, say_template(scratch, &step->step->action), ACTION_COLUMNS));
}

/* Several positions of one step are named once. */
static size_t steps_of(const struct makesafe *way, const struct work *last,
                       const struct work **steps)
{
    size_t count = 0;
    for (size_t i = 0; i < way->move_count; i++)
        if (i == 0 || way->moves[i - 1].step != way->moves[i].step)
            steps[count++] = way->moves[i].step;
    if (last != NULL)
        steps[count++] = last;
    return count;
}

struct way_said way_words(const struct job *job, const struct makesafe *way,
                          const struct work *last, struct arena *scratch)
{
    const struct work **steps = arena_array(scratch, const struct work *, way->move_count + 1);
    size_t count = steps_of(way, last, steps);
    struct text *lines = arena_array(scratch, struct text, count);
    struct text *numbers = arena_array(scratch, struct text, count);
    for (size_t i = 0; i < count; i++) {
        lines[i] = text_fill(scratch, "\n- {}", step_words(job, steps[i], scratch));
        numbers[i] = text_number(scratch, (long long)job_step_number(job, steps[i]));
    }
    return (struct way_said){
        .choice = text_fill(
            scratch, count == 1 ? "do step {} again" : "do steps {} again, in this order",
            say_list(scratch, numbers, count)),
        .lines = text_join(scratch, lines, count, TEXT(""))};
}

/* --- walking it ------------------------------------------------------------------------------------- */

static bool stand_decide(struct walker *walker, const struct spot *spot, struct text decided,
                         bool truth)
{
    walker->stand = (struct stand){.kind = STAND_DECIDE,
                                   .spot = *spot,
                                   .work = walker->job->procedure->works[spot->work],
                                   .decided = decided,
                                   .truth = truth,
                                   .position = INDEX_NONE};
    return true;
}

bool walk_again(struct walker *walker)
{
    const struct job *job = walker->job;
    const struct work *goal = job->procedure->works[job->again.work];
    struct makesafe way = job_way(job, goal, &job->again, walker->time, walker->scratch);
    if (way.is_found && way.move_count > 0) {
        struct spot spot = spot_for(job, way.moves[0].step, way.moves[0].here);
        return stand_decide(walker, &spot, TEXT("redo"), true);
    }
    bool is_to_be_redone = way.is_found && goal->step != NULL && job->again_redoes;
    return stand_decide(walker, &job->again, is_to_be_redone ? TEXT("redo") : TEXT("again"),
                        is_to_be_redone);
}

/* --- what an answer withdraws ------------------------------------------------------------------------- */

/* Does setting this anew end what was shown of it?  Then it is what was looked at. */
static bool is_shown_by(const struct procedure *procedure, unsigned need, unsigned shown)
{
    for (size_t i = 0; i < procedure->work_count; i++) {
        const struct step *step = procedure->works[i]->step;
        if (step != NULL && uses(step->sets, step->sets_count, need) &&
            uses(step->clears, step->clears_count, shown))
            return true;
    }
    return false;
}

void withdraw_needs(struct job *job, const struct step *step, unsigned shown, const int *here,
                    long long time)
{
    for (size_t i = 0; i < step->needs_count; i++) {
        unsigned need = step->needs[i].condition;
        int index = job->procedure->conditions[need]->index;
        int position = step->needs[i].is_here ? place_here(index, here) : INDEX_NONE;
        if (is_shown_by(job->procedure, need, shown))
            condition_answered(&job->conditions, need, position, false, time);
    }
}

bool withdraw_after_hold(struct job *job, const struct event *event, long long time)
{
    const struct step *step = job->procedure->works[event->spot.work]->step;
    if (step == NULL || is_expected(&step->hold, event->meaning) || job->makesafe_since != 0)
        return false;
    bool withdraws = false;
    for (size_t i = 0; i < step->sets_count; i++) {
        unsigned shown = step->sets[i].condition;
        for (size_t n = 0; n < step->needs_count; n++)
            withdraws =
                withdraws || is_shown_by(job->procedure, step->needs[n].condition, shown);
        withdraw_needs(job, step, shown, spot_here(job, &event->spot, job->arena), time);
    }
    return withdraws;
}

void withdraw_after_denial(struct job *job, unsigned shown, int position, long long time)
{
    if (job->makesafe_since != 0)
        return;
    for (size_t i = 0; i < job->procedure->work_count; i++) {
        const struct work *work = job->procedure->works[i];
        if (work->step == NULL || !uses(work->step->sets, work->step->sets_count, shown))
            continue;
        int *here = arena_array(job->arena, int, job->procedure->index_count);
        for (size_t k = 0; k < job->procedure->index_count; k++)
            here[k] = INDEX_NONE;
        int index = job->procedure->conditions[shown]->index;
        if (index != INDEX_NONE)
            here[index] = position;
        withdraw_needs(job, work->step, shown, here, time);
    }
}

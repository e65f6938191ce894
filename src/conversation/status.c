/* Where the job stands, what is out, how to put it right, and what came of it. */
#include "base/calendar.h"
#include "job/look.h"
#include "job/say.h"
#include "present.h"

enum { STEPS_SHOWN_AGAIN = 3, STEPS_SHOWN_AHEAD = 3 };

static void tell_open(struct talk *talk, const char *heading, struct instant now)
{
    const struct text *items = NULL;
    size_t count = job_open_items(talk->session->job, now, &items, talk_scratch(talk));
    if (count == 0) {
        talk_tell(talk, TONE_PLAIN, TEXT("Nothing is out of its normal state."));
        return;
    }
    talk_tell(talk, TONE_PLAIN, text_from(heading));
    talk_list(talk, TONE_DETAIL, items, count);
}

void present_timers(struct talk *talk, struct instant now)
{
    struct arena *arena = talk_scratch(talk);
    struct timer_running *running = NULL;
    size_t count = job_timers(talk->session->job, &running, arena);
    for (size_t i = 0; i < count; i++)
        talk_tell(talk, TONE_DETAIL,
                  text_fill(arena, "{}.",
                            say_capital(arena, say_timer(arena, talk->session->job, &running[i],
                                                         now.wall))));
}

/* --- where -------------------------------------------------------------------------------- */

/* The loop whose positions come one after another at this work; NULL: none. */
static const struct work *loop_around(const struct work *work)
{
    while (work != NULL && work->loop.index == INDEX_NONE)
        work = work->parent;
    return work;
}

static bool is_within(const struct work *work, const struct work *around)
{
    while (work != NULL && work != around)
        work = work->parent;
    return work != NULL;
}

/* A step ahead is said without its action: its gate was not looked at yet. */
static void tell_ahead(struct talk *talk, const struct prompt *prompt)
{
    struct arena *arena = talk_scratch(talk);
    const struct procedure *procedure = job_fitted(talk->session->job)->procedure;
    struct text items[STEPS_SHOWN_AHEAD + 1];
    size_t count = 0, steps = 0;
    const struct work *loop = loop_around(prompt->work);
    unsigned from = prompt->work == NULL ? 0 : prompt->work->id;
    for (size_t i = from + 1; i < procedure->work_count && steps < STEPS_SHOWN_AHEAD; i++) {
        const struct work *work = procedure->works[i];
        if (loop != NULL && !is_within(work, loop)) {
            items[count++] =
                text_fill(arena, "the same for the next {}, if one is left",
                          say_name(arena, procedure->index_names[loop->loop.index]));
            loop = NULL;
        }
        const struct spot spot = {.work = work->id};
        if (work->kind != WORK_STEP || job_never_does(talk->session->job, work, arena))
            continue;
        struct text number =
            text_number(arena, (long long)job_step_number(talk->session->job, work));
        struct spot outside = spot;
        outside.work = 0;
        struct text place = present_place(talk, work, &outside);
        struct text name = say_name(arena, work->step->own_name);
        steps++;
        items[count++] = place.length == 0
                             ? text_fill(arena, "step {}: {}", number, name)
                             : text_fill(arena, "step {}: {} ({})", number, name, place);
    }
    if (count == 0)
        return;
    talk_tell(talk, TONE_PLAIN, TEXT("Coming up:"));
    talk_list(talk, TONE_DETAIL, items, count);
}

void present_where(struct talk *talk, const struct prompt *prompt, struct instant now)
{
    struct arena *arena = talk_scratch(talk);
    const struct job *job = talk->session->job;
    unsigned done = 0, total = 0;
    job_progress(job, &done, &total);
    talk_tell(talk, TONE_PLAIN,
              text_fill(arena, "{}. Each position is counted; what this job leaves out is not.",
                        job_progress_words(job, arena)));
    if (prompt->work != NULL && prompt->work->step != NULL) {
        struct text place = present_place(talk, prompt->work, &prompt->spot);
        talk_tell(talk, TONE_PLAIN,
                  text_fill(arena, "You are at step {}{}{}.",
                            text_number(arena, job_step_number(job, prompt->work)),
                            place.length == 0 ? TEXT("") : TEXT(": "), place));
    } else if (done == 0) { /* between sections, and on a card, what comes next says it */
        talk_tell(talk, TONE_PLAIN, TEXT("You are before the first step."));
        talk_tell(talk, TONE_PLAIN, job_fitted(job)->procedure->about);
    }
    if (job_void_from(job) > 0)
        talk_tell(talk, TONE_WARNING,
                  text_fill(arena, "Proof void from step {} on: it was skipped.",
                            text_number(arena, job_void_from(job))));
    tell_open(talk, "Out of its normal state now:", now);
    present_timers(talk, now);
    tell_ahead(talk, prompt);
}

/* --- make safe, pause, resume ------------------------------------------------------------- */

static bool names_its_place(const struct template *action, int index)
{
    for (size_t i = 0; i < action->piece_count; i++) {
        const struct expression *value = action->pieces[i].value;
        if (value != NULL && value->root->kind == NODE_INDEX && value->root->index == index)
            return true;
    }
    return false;
}

static struct text move_words(struct talk *talk, const struct makesafe_move *move)
{
    struct arena *arena = talk_scratch(talk);
    const struct fitted *fitted = job_fitted(talk->session->job);
    const struct template *action = &move->step->step->action;
    struct spot spot = spot_for(talk->session->job, move->step, move->here);
    struct text said = job_fill(talk->session->job, action, &spot, arena);
    for (size_t i = 0; i < fitted->procedure->index_count; i++)
        if (move->here != NULL && move->here[i] != INDEX_NONE &&
            !names_its_place(action, (int)i))
            said = text_fill(arena, "{} ({})", said,
                             say_position(arena, talk->session->job, (int)i, move->here[i]));
    return said;
}

static void tell_restores(struct talk *talk, const struct makesafe *makesafe)
{
    struct arena *arena = talk_scratch(talk);
    const struct procedure *procedure = job_fitted(talk->session->job)->procedure;
    for (size_t i = 0; i < makesafe->open_count; i++) {
        const struct condition *condition = procedure->conditions[makesafe->open[i].condition];
        struct text where = say_position(arena, talk->session->job, condition->index,
                                         makesafe->open[i].position);
        talk_tell(talk, TONE_DETAIL,
                  where.length == 0 ? text_fill(arena, "- {}", condition->restore)
                                    : text_fill(arena, "- {} ({})", condition->restore, where));
    }
}

/* What nothing in this procedure puts back is for the person to think of. */
static void tell_left(struct talk *talk, const struct makesafe_order *order)
{
    struct arena *arena = talk_scratch(talk);
    struct text *items = arena_array(arena, struct text, order->left_count);
    size_t count = say_parts(arena, talk->session->job, order->left, order->left_count, items);
    if (count == 0)
        return;
    talk_tell(talk, TONE_WARNING,
              TEXT("WARNING: No step of this procedure can put these back from here. Do it by "
                   "hand:"));
    talk_list(talk, TONE_DETAIL, items, count);
}

void present_makesafe(struct talk *talk, struct instant now)
{
    struct arena *arena = talk_scratch(talk);
    struct makesafe_order order = job_makesafe_order(talk->session->job, now, arena);
    const struct makesafe *makesafe = &order.makesafe;
    tell_open(talk, "Out of its normal state now:", now);
    if (!makesafe->is_found) {
        talk_tell(talk, TONE_WARNING,
                  TEXT("WARNING: No order was found in which the steps of this procedure allow "
                       "it. What each thing needs:"));
        tell_restores(talk, makesafe);
        return;
    }
    bool is_perhaps = false;
    for (size_t i = 0; i < makesafe->open_count; i++)
        is_perhaps = is_perhaps || makesafe->open[i].is_perhaps;
    if (is_perhaps && makesafe->move_count > 0)
        talk_tell(talk, TONE_NOTICE,
                  TEXT("What is only perhaps so: look first. A step that puts right what never "
                       "happened is left out."));
    if (makesafe->move_count > 0)
        talk_tell(talk, TONE_PLAIN, TEXT("To make it safe, in this order:"));
    for (size_t i = 0; i < makesafe->move_count; i++)
        talk_tell(talk, TONE_DETAIL,
                  text_fill(arena, "{}. {}", text_number(arena, (long long)i + 1),
                            move_words(talk, &makesafe->moves[i])));
    if (makesafe->move_count > 0)
        talk_tell(talk, TONE_PLAIN,
                  TEXT("Before each of them its precautions still count. This program cannot "
                       "see the machine."));
    tell_left(talk, &order);
}

void present_paused(struct talk *talk, struct instant now)
{
    talk_tell(talk, TONE_HEADING, TEXT("Paused"));
    present_makesafe(talk, now);
    present_timers(talk, now);
}

/* The last events before this resume: when the work stopped, and the cue that was left. */
static void tell_the_gap(struct talk *talk)
{
    struct arena *arena = talk_scratch(talk);
    size_t count = 0;
    const struct event *events = job_events(talk->session->job, &count);
    long long resumed = 0;
    for (size_t i = count; i-- > 0;) {
        if (events[i].kind == EVENT_RESUMED && resumed == 0) {
            resumed = events[i].at.wall;
        } else if (resumed != 0) {
            talk_tell(talk, TONE_PLAIN,
                      text_fill(arena, "The last thing on record was {} ago.",
                                calendar_span_text(arena, resumed - events[i].at.wall)));
            return;
        }
    }
}

static void tell_denied(struct talk *talk)
{
    struct arena *arena = talk_scratch(talk);
    const struct job *job = talk->session->job;
    const struct text *names = NULL;
    size_t count = job_denied(job, job_fitted(job)->procedure->works[0], &names, arena);
    if (count > 0)
        talk_tell(talk, TONE_WARNING,
                  text_fill(arena, "NOT in force: {}.", say_list(arena, names, count)));
}

void present_resumed(struct talk *talk, struct instant now)
{
    struct arena *arena = talk_scratch(talk);
    const struct fitted *fitted = job_fitted(talk->session->job);
    struct spot spots[STEPS_SHOWN_AGAIN];
    size_t count = job_last_steps(talk->session->job, STEPS_SHOWN_AGAIN, spots);
    talk_tell(talk, TONE_HEADING,
              text_fill(arena, "{}, taken up again", fitted->procedure->title));
    talk_tell(talk, TONE_PLAIN, text_fill(arena, "Machine: {}.", fitted->machine->title));
    tell_the_gap(talk);
    if (count > 0)
        talk_tell(talk, TONE_PLAIN,
                  TEXT("The last steps that were done. Look at each and see that it is so:"));
    for (size_t i = count; i-- > 0;) {
        const struct work *work = fitted->procedure->works[spots[i].work];
        struct text place = present_place(talk, work, &spots[i]);
        struct text action =
            job_fill(talk->session->job, &work->step->action, &spots[i], arena);
        talk_tell(talk, TONE_DETAIL,
                  place.length == 0 ? text_fill(arena, "- {}", action)
                                    : text_fill(arena, "- {}: {}", place, action));
    }
    tell_open(talk, "Out of its normal state now:", now);
    present_timers(talk, now);
    tell_denied(talk);
    if (job_asks_again(talk->session->job))
        talk_tell(
            talk, TONE_PLAIN,
            TEXT("What was answered as in force is asked again before the work goes on."));
}

/* --- the end ------------------------------------------------------------------------------ */

static void tell_result(struct talk *talk, const struct result_outcome *result)
{
    struct arena *arena = talk_scratch(talk);
    struct text name = say_capital(arena, say_name(arena, result->result->definition.name));
    struct text said, shown = result->shown;
    if (result->verdict == VERDICT_NOT_WORKED_OUT && shown.length == 0)
        said = text_fill(arena, "{}: cannot be worked out: {}.", name, result->reason);
    else if (result->verdict == VERDICT_NOT_WORKED_OUT)
        said = text_fill(arena, "{}: {}; no verdict: {}.", name, shown, result->reason);
    else if (result->verdict == VERDICT_NONE)
        said = text_fill(arena, "{}: {}.", name, shown);
    else
        said = text_fill(arena, "{}: {}; wanted {}: {}.", name, shown, result->limit_shown,
                         text_from(verdict_words(result->verdict)));
    talk_tell(talk, TONE_PLAIN, said);
    talk_list(talk, TONE_DETAIL, result->notes, result->note_count);
}

/* The claim stood before any of this was shown. */
static void tell_trial(struct talk *talk, const struct trial_finding *trial)
{
    struct arena *arena = talk_scratch(talk);
    if (!trial->is_allotted)
        return;
    talk_tell(talk, TONE_HEADING, text_fill(arena, "Did it work? {}", trial->asked));
    talk_tell(talk, TONE_PLAIN, text_fill(arena, "Treated: {}.", trial->treated));
    talk_tell(talk, TONE_PLAIN, trial->said);
    talk_list(talk, TONE_DETAIL, trial->changes, trial->change_count);
    for (size_t i = 0; i < trial->contradiction_count; i++)
        talk_tell(talk, TONE_WARNING,
                  text_fill(arena, "CONTRADICTION: {}", trial->contradictions[i]));
    for (size_t i = 0; i < trial->caution_count; i++)
        talk_tell(talk, TONE_DETAIL, trial->cautions[i]);
}

static void tell_outcome(struct talk *talk)
{
    struct arena *arena = talk_scratch(talk);
    struct outcome outcome = outcome_work_out(talk->session->job, arena);
    for (size_t i = 0; i < outcome.trial_count; i++)
        tell_trial(talk, &outcome.trials[i]);
    if (outcome.result_count > 0)
        talk_tell(talk, TONE_HEADING, TEXT("Results"));
    for (size_t i = 0; i < outcome.result_count; i++)
        tell_result(talk, &outcome.results[i]);
    for (size_t i = 0; i < outcome.caution_count; i++)
        talk_tell(talk, TONE_DETAIL, outcome.cautions[i]);
    if (outcome.finding_count > 0)
        talk_tell(talk, TONE_HEADING, TEXT("What it points to"));
    for (size_t i = 0; i < outcome.finding_count; i++)
        talk_tell(talk, TONE_PLAIN,
                  outcome.findings[i].is_perhaps
                      ? text_fill(arena, "Perhaps: {}", outcome.findings[i].said)
                      : outcome.findings[i].said);
    if (outcome.follow_up_count > 0)
        talk_tell(talk, TONE_HEADING, TEXT("Later"));
    for (size_t i = 0; i < outcome.follow_up_count; i++)
        talk_tell(talk, TONE_PLAIN,
                  outcome.follow_ups[i].due.length == 0
                      ? text_fill(arena, "{}.", outcome.follow_ups[i].what)
                      : text_fill(arena, "{}: {}.", outcome.follow_ups[i].what,
                                  outcome.follow_ups[i].due));
}

static bool was_completed(const struct job *job)
{
    const struct event *ended = job_ended(job);
    return ended != NULL && ended->detail == ENDED_COMPLETED;
}

void present_end(struct talk *talk)
{
    struct arena *arena = talk_scratch(talk);
    const struct job *job = talk->session->job;
    struct instant now = talk->session->clock.now(talk->session->clock.self);
    const struct text *items = NULL;
    size_t count = job_open_items(job, now, &items, arena);
    tell_outcome(talk);
    talk_tell(talk, TONE_HEADING, TEXT("The end"));
    if (job_void_from(job) > 0)
        talk_tell(talk, TONE_WARNING,
                  text_fill(arena, "Proof void from step {} on: it was skipped.",
                            text_number(arena, job_void_from(job))));
    if (was_completed(job)) {
        talk_tell(talk, TONE_SUCCESS,
                  TEXT("Completed. By your answers everything is back in its normal state."));
        return;
    }
    talk_tell(talk, TONE_WARNING, TEXT("LEFT OPEN. This job is not completed. Still open:"));
    if (count == 0)
        talk_tell(talk, TONE_DETAIL, TEXT("- steps that were not done"));
    talk_list(talk, TONE_DETAIL, items, count);
}

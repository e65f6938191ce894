#include "conversation/session.h"

#include "job/look.h"
#include "sitting.h"

/* --- recording ---------------------------------------------------------------------------- */

struct instant sitting_now(const struct sitting *sitting)
{
    return sitting->session->clock.now(sitting->session->clock.self);
}

static bool record(struct sitting *sitting, const struct event *events, size_t count)
{
    struct session *session = sitting->session;
    if (count == 0)
        return true;
    if (!session->journal.append(session->journal.self, events, count, &session->failure)) {
        sitting->has_failed = true;
        return false;
    }
    for (size_t i = 0; i < count; i++)
        job_apply(session->job, &events[i]);
    return true;
}

bool sitting_take(struct sitting *sitting, const struct decision *decision)
{
    if (!record(sitting, decision->events, decision->event_count))
        return false;
    talk_tell(&sitting->talk, TONE_ECHO, decision->echo);
    talk_tell(&sitting->talk, TONE_REFUSAL, decision->refusal);
    for (size_t i = 0; i < decision->event_count; i++)
        if (decision->events[i].kind == EVENT_PAUSED)
            present_paused(&sitting->talk, sitting_now(sitting));
    return decision->refusal.length == 0;
}

/* What needs nobody: decided and recorded step by step, so that each rests on what is on record.
 * `now` is the moment at which there was nothing more of the kind; the next prompt is that moment's. */
static bool settle(struct sitting *sitting, struct instant *now)
{
    struct session *session = sitting->session;
    bool is_settled = false;
    while (!is_settled && !sitting->has_failed) {
        struct arena_mark mark = arena_mark(session->scratch);
        *now = sitting_now(sitting);
        struct decision decision = job_settle(session->job, *now, session->scratch);
        is_settled = decision.event_count == 0;
        for (size_t i = 0; i < decision.event_count; i++)
            present_going_to(&sitting->talk, &decision.events[i]);
        (void)sitting_take(sitting, &decision);
        arena_rewind(session->scratch, mark);
    }
    return !sitting->has_failed;
}

/* --- asking ------------------------------------------------------------------------------- */

static bool ask(struct sitting *sitting, const struct prompt *prompt, struct answer *answer)
{
    struct session *session = sitting->session;
    *answer = (struct answer){0};
    if (session->console.ask(session->console.self, prompt, answer, session->scratch))
        return true;
    session->failure = (struct failure){.operation = TEXT("ask a question on"),
                                        .object = TEXT("the console"),
                                        .reason = TEXT("it is gone; what was answered is kept, "
                                                       "and resume goes on")};
    sitting->has_failed = true;
    return false;
}

/* False if what came back was no typed line; the loop then acts on it as if it had come in answer to
 * the work's own question. */
static bool ask_aside(struct sitting *sitting, const struct prompt *prompt, struct text *typed)
{
    struct answer answer;
    do {
        if (!ask(sitting, prompt, &answer))
            return false;
    } while (answer.kind == ANSWER_WAKE);
    if (answer.kind != ANSWER_TYPED) {
        sitting->has_pending = true;
        sitting->pending = answer.kind;
        return false;
    }
    *typed = text_trim(answer.typed);
    return true;
}

int sitting_choose(struct sitting *sitting, enum prompt_kind kind, struct text name,
                   struct text question, struct choices choices)
{
    struct prompt prompt = {.kind = kind,
                            .name = name,
                            .position = INDEX_NONE,
                            .question = question,
                            .choices = choices};
    for (;;) {
        struct text typed;
        if (!ask_aside(sitting, &prompt, &typed))
            return CHOICE_NONE;
        size_t choice = 0;
        struct text refusal = {0};
        if (choice_take(&choices, CHOICE_BEGINNING, typed, &choice, &refusal,
                        sitting->session->scratch))
            return (int)choice;
        talk_tell(&sitting->talk, TONE_REFUSAL, refusal);
    }
}

bool sitting_ask_text(struct sitting *sitting, enum prompt_kind kind, struct text name,
                      struct text question, struct text *typed)
{
    struct prompt prompt = {.kind = kind,
                            .name = name,
                            .position = INDEX_NONE,
                            .question = question,
                            .is_free_text = true};
    return ask_aside(sitting, &prompt, typed) && typed->length > 0;
}

/* --- a turn ------------------------------------------------------------------------------- */

static void leave(struct sitting *sitting, enum paused cause)
{
    struct session *session = sitting->session;
    struct decision decision =
        job_pause(session->job, cause, sitting_now(sitting), session->scratch);
    sitting->is_left = true; /* also if it is paused already, and only the cue is wanted */
    if (!sitting_take(sitting, &decision))
        return;
    talk_tell(&sitting->talk, TONE_PLAIN,
              TEXT("Nothing that was answered is lost. resume goes on."));
}

static void interrupted(struct sitting *sitting)
{
    static const struct text texts[] = {{"go on", 5}, {"pause", 5}, {"make safe", 9}};
    struct choices choices = {3, texts};
    talk_tell(&sitting->talk, TONE_PLAIN, TEXT("Interrupted. Once more pauses at once."));
    int choice =
        sitting_choose(sitting, PROMPT_SHUT, TEXT("interrupted"), TEXT("What now?"), choices);
    if (sitting->has_pending && sitting->pending == ANSWER_INTERRUPT) {
        sitting->has_pending = false;
        leave(sitting, PAUSED_INTERRUPTED);
    }
    if (choice == 0)
        present_forget(&sitting->talk);
    if (choice == 1)
        words_pause(sitting);
    if (choice == 2)
        words_makesafe(sitting);
}

static bool wants_only_enter(const struct prompt *prompt)
{
    return prompt->enter_passes && prompt->choices.count == 0 && !prompt->is_free_text;
}

/* What is out, and the order, is shown before it begins. */
static bool begins_makesafe(const struct decision *decision)
{
    return decision->event_count == 1 && decision->events[0].kind == EVENT_DECIDED &&
           decision->events[0].detail != 0 &&
           text_equal(decision->events[0].name, TEXT("makesafe"));
}

static void typed(struct sitting *sitting, const struct prompt *prompt,
                  const struct answer *answer)
{
    struct session *session = sitting->session;
    if (words_take(sitting, prompt, answer->typed))
        return;
    if (wants_only_enter(prompt) && text_trim(answer->typed).length > 0) {
        words_refuse(sitting, prompt, text_trim(answer->typed));
        return;
    }
    if (words_refuse_dotted(sitting, prompt, answer->typed))
        return;
    struct decision decision =
        job_decide(session->job, prompt, answer, sitting_now(sitting), session->scratch);
    if (begins_makesafe(&decision)) {
        words_makesafe(sitting);
        return;
    }
    if (!sitting_take(sitting, &decision) && decision.event_count == 0)
        words_hint(sitting, prompt, answer->typed);
}

/* An Enter that was on its way when the time was up must not acknowledge what is shown next. */
static void wait_is_over(struct sitting *sitting, const struct prompt *wait)
{
    struct prompt prompt = {.kind = PROMPT_WARNING,
                            .spot = wait->spot,
                            .work = wait->work,
                            .name = wait->name,
                            .position = INDEX_NONE,
                            .question = TEXT("Enter when you are ready: the time is up."),
                            .enter_passes = true};
    struct text typed;
    if (ask_aside(sitting, &prompt, &typed) && typed.length > 0 &&
        !words_take(sitting, wait, typed))
        words_refuse(sitting, wait, typed);
}

static void act_on(struct sitting *sitting, const struct prompt *prompt,
                   const struct answer *answer)
{
    switch (answer->kind) {
    case ANSWER_TYPED:
        typed(sitting, prompt, answer);
        break;
    case ANSWER_END:
        leave(sitting, PAUSED_INPUT_ENDED);
        break;
    case ANSWER_INTERRUPT:
        interrupted(sitting);
        break;
    case ANSWER_STOP:
        leave(sitting, PAUSED_STOPPED);
        break;
    case ANSWER_WAKE: /* the next prompt says what the time has changed */
        if (prompt->kind == PROMPT_WAIT)
            wait_is_over(sitting, prompt);
        break;
    }
}

/* What a question of ours brought back instead of an answer. */
static void act_on_pending(struct sitting *sitting, const struct prompt *prompt)
{
    while (sitting->has_pending && !sitting->has_failed && !sitting->is_left) {
        struct answer answer = {.kind = sitting->pending};
        sitting->has_pending = false;
        act_on(sitting, prompt, &answer);
    }
}

static bool is_over(const struct sitting *sitting)
{
    const struct job *job = sitting->session->job;
    return sitting->has_failed || sitting->is_left || job_has_ended(job) || job_is_paused(job);
}

/* Nobody can read a warning with both hands in the work, so all of it is read before.  False if the
 * person did something else than read. */
static bool away_is_read(struct sitting *sitting, const struct prompt *work)
{
    struct prompt prompt = {.kind = PROMPT_WARNING,
                            .spot = work->spot,
                            .work = work->work,
                            .name = work->name,
                            .position = INDEX_NONE,
                            .question = TEXT("Enter when this is read and understood."),
                            .enter_passes = true};
    struct text typed;
    if (!ask_aside(sitting, &prompt, &typed))
        return false;
    if (typed.length == 0)
        return true;
    if (!words_take(sitting, work, typed))
        words_refuse(sitting, &prompt, typed);
    return false;
}

static void turn(struct sitting *sitting)
{
    struct session *session = sitting->session;
    struct answer answer;
    struct instant now;
    if (!settle(sitting, &now) || is_over(sitting))
        return;
    struct prompt prompt = job_prompt(session->job, now, session->scratch);
    present_before(&sitting->talk, &prompt, now);
    if (present_away_messages(&sitting->talk, &prompt) && !away_is_read(sitting, &prompt)) {
        act_on_pending(sitting, &prompt);
        return;
    }
    if (prompt.kind == PROMPT_ACTION && prompt.work != NULL && prompt.work->is_away)
        present_away_card(&sitting->talk, &prompt);
    if (!ask(sitting, &prompt, &answer))
        return;
    act_on(sitting, &prompt, &answer);
    act_on_pending(sitting, &prompt);
}

static enum session_end end_of(const struct sitting *sitting)
{
    const struct event *ended = job_ended(sitting->session->job);
    if (sitting->has_failed)
        return SESSION_WORLD_FAILED;
    if (ended == NULL)
        return SESSION_PAUSED;
    return ended->detail == ENDED_COMPLETED ? SESSION_COMPLETED : SESSION_LEFT_OPEN;
}

static enum session_end run(struct sitting *sitting)
{
    struct session *session = sitting->session;
    do {
        struct arena_mark mark = arena_mark(session->scratch);
        turn(sitting);
        arena_rewind(session->scratch, mark);
    } while (!is_over(sitting));
    if (!sitting->has_failed && job_has_ended(session->job)) {
        struct arena_mark mark = arena_mark(session->scratch);
        if (end_of(sitting) == SESSION_COMPLETED)
            present_work_over(&sitting->talk);
        present_end(&sitting->talk);
        arena_rewind(session->scratch, mark);
    }
    return end_of(sitting);
}

/* --- the session -------------------------------------------------------------------------- */

enum session_end session_start(struct session *session, const struct event *started)
{
    struct sitting sitting = {.session = session, .talk = {.session = session}};
    struct event first = *started;
    first.kind = EVENT_STARTED;
    first.number = 1;
    first.position = INDEX_NONE;
    if (first.at.wall == 0)
        first.at = sitting_now(&sitting);
    if (!record(&sitting, &first, 1))
        return SESSION_WORLD_FAILED;
    struct arena_mark mark = arena_mark(session->scratch);
    present_opening(&sitting.talk);
    arena_rewind(session->scratch, mark);
    return run(&sitting);
}

enum session_end session_resume(struct session *session)
{
    struct sitting sitting = {.session = session, .talk = {.session = session}};
    if (!job_has_ended(session->job)) {
        struct arena_mark mark = arena_mark(session->scratch);
        struct decision decision =
            job_resume(session->job, sitting_now(&sitting), session->scratch);
        if (!record(&sitting, decision.events, decision.event_count))
            return SESSION_WORLD_FAILED;
        present_resumed(&sitting.talk, sitting_now(&sitting));
        arena_rewind(session->scratch, mark);
    }
    return run(&sitting);
}

void session_tell_makesafe(struct session *session)
{
    struct talk talk = {.session = session};
    struct arena_mark mark = arena_mark(session->scratch);
    struct instant now = session->clock.now(session->clock.self);
    present_makesafe(&talk, now);
    present_timers(&talk, now);
    arena_rewind(session->scratch, mark);
}

#include "present.h"

#include "job/look.h"
#include "job/say.h"
#include "job/trials.h"

void talk_tell(struct talk *talk, enum tone tone, struct text paragraph)
{
    if (paragraph.length > 0)
        talk->session->console.tell(talk->session->console.self, tone, paragraph);
}

struct arena *talk_scratch(const struct talk *talk)
{
    return talk->session->scratch;
}

void talk_list(struct talk *talk, enum tone tone, const struct text *items, size_t count)
{
    for (size_t i = 0; i < count; i++)
        talk_tell(talk, tone, text_fill(talk_scratch(talk), "- {}", items[i]));
}

void present_forget(struct talk *talk)
{
    talk->has_spot = false;
    talk->messages_told = false;
    talk->action_told = false;
    talk->away_told = NULL;
    talk->design_told = NULL;
}

/* --- where a spot is ---------------------------------------------------------------------- */

static bool is_titled(const struct work *work)
{
    return say_section(work) == work;
}

bool present_stands_in(const struct work *work, const struct work *section)
{
    while (work != NULL && work != section)
        work = work->parent;
    return work != NULL;
}

/* The loops round a section are the same turns; its own loop is not looked at. */
static bool in_same_turn(const struct work *section, const struct spot *a, const struct spot *b)
{
    unsigned depth = section->parent == NULL ? 0 : section->parent->loop_depth;
    for (unsigned i = 0; i < depth; i++)
        if (a->turns[i] != b->turns[i])
            return false;
    return true;
}

struct text present_place(struct talk *talk, const struct work *work, const struct spot *spot)
{
    const struct work *section = say_section(work);
    struct text parts[2];
    size_t count = 0;
    struct text name = job_spot_name(talk->session->job, spot, talk_scratch(talk));
    if (section != NULL)
        parts[count++] = section->title;
    if (name.length > 0)
        parts[count++] = name;
    return text_join(talk_scratch(talk), parts, count, TEXT(" · "));
}

/* --- sections ----------------------------------------------------------------------------- */

/* The number of a section among those that stand in no other; 0 for one that does. */
static size_t section_number(const struct procedure *procedure, const struct work *section)
{
    size_t number = 0;
    if (say_section(section->parent) != NULL)
        return 0;
    for (size_t i = 0; i <= section->id; i++)
        if (is_titled(procedure->works[i]) && say_section(procedure->works[i]->parent) == NULL)
            number++;
    return number;
}

struct tally {
    size_t done, skipped;
};

static struct tally tally_section(const struct job *job, const struct work *section,
                                  const struct spot *spot)
{
    struct tally tally = {0};
    size_t count = 0;
    const struct event *events = job_events(job, &count);
    const struct procedure *procedure = job_fitted(job)->procedure;
    for (size_t i = 0; i < count; i++) {
        if ((events[i].kind != EVENT_DONE && events[i].kind != EVENT_SKIPPED) ||
            procedure->works[events[i].spot.work]->kind != WORK_STEP ||
            !present_stands_in(procedure->works[events[i].spot.work], section) ||
            !in_same_turn(section, &events[i].spot, spot) || !job_event_counts(job, &events[i]))
            continue;
        if (events[i].kind == EVENT_DONE)
            tally.done++;
        else
            tally.skipped++;
    }
    return tally;
}

static void tell_section_over(struct talk *talk, const struct work *section,
                              const struct spot *spot)
{
    struct arena *arena = talk_scratch(talk);
    const struct job *job = talk->session->job;
    struct tally tally = tally_section(job, section, spot);
    size_t number = section_number(job_fitted(job)->procedure, section);
    struct text *items = NULL;
    size_t open = say_open(arena, job, &items);
    if (tally.done + tally.skipped == 0)
        return;
    struct text name =
        number > 0 ? text_fill(arena, "Section {}", text_number(arena, (long long)number))
                   : TEXT("Part");
    struct text counted =
        text_fill(arena, "{} of {}", text_number(arena, (long long)tally.done),
                  text_number(arena, (long long)(tally.done + tally.skipped)));
    if (tally.skipped > 0)
        counted = text_fill(arena, "{}, {} skipped", counted,
                            text_number(arena, (long long)tally.skipped));
    const struct text *denied = NULL;
    size_t denied_count = job_denied(job, section, &denied, arena);
    struct text over =
        denied_count == 0
            ? text_fill(arena, "{} complete, {}: {}.", name, counted, section->title)
            : text_fill(arena, "{} over, {}: {}. NOT in force: {}.", name, counted,
                        section->title, say_list(arena, denied, denied_count));
    talk_tell(talk, TONE_HEADING,
              text_fill(arena, "{} Open: {}.", over, say_list(arena, items, open)));
}

static void tell_section_begins(struct talk *talk, const struct work *section)
{
    struct arena *arena = talk_scratch(talk);
    const struct procedure *procedure = job_fitted(talk->session->job)->procedure;
    size_t number = section_number(procedure, section);
    if (number == 0)
        talk_tell(talk, TONE_HEADING, section->title);
    else
        talk_tell(talk, TONE_HEADING,
                  text_fill(arena, "Section {}: {}", text_number(arena, (long long)number),
                            section->title));
}

/* Of several that end together only the outermost is said: what is open is the same. */
static void leave_sections(struct talk *talk, const struct work *to, const struct spot *spot)
{
    const struct work *outermost = NULL;
    for (const struct work *left = say_section(talk->inside); left != NULL;
         left = say_section(left->parent))
        if (!present_stands_in(to, left) || !in_same_turn(left, spot, &talk->inside_spot))
            outermost = left;
    if (outermost == NULL)
        return;
    tell_section_over(talk, outermost, &talk->inside_spot);
    talk->inside = outermost->parent;
}

void present_going_to(struct talk *talk, const struct event *entered)
{
    const struct procedure *procedure = job_fitted(talk->session->job)->procedure;
    if (entered->kind == EVENT_ENTERED && entered->detail == ENTERED_NORMAL)
        leave_sections(talk, procedure->works[entered->spot.work], &entered->spot);
}

/* Outermost first: of those the spot stands in and the last one did not, the nth from within. */
static const struct work *entered_section(const struct talk *talk, const struct work *section,
                                          const struct spot *spot, size_t nth)
{
    while (section != NULL && !(present_stands_in(talk->inside, section) &&
                                in_same_turn(section, spot, &talk->inside_spot))) {
        if (nth-- == 0)
            return section;
        section = say_section(section->parent);
    }
    return NULL;
}

/* The headline of a step names the section around it; that is not said twice.  True if the innermost
 * section was told by a heading of its own. */
static bool enter_sections(struct talk *talk, const struct work *to, const struct spot *spot)
{
    const struct procedure *procedure = job_fitted(talk->session->job)->procedure;
    const struct work *innermost = say_section(to);
    bool is_told = false;
    size_t count = 0;
    while (entered_section(talk, innermost, spot, count) != NULL)
        count++;
    while (count-- > 0) {
        const struct work *section = entered_section(talk, innermost, spot, count);
        is_told = section == innermost;
        if (!is_told || to->kind != WORK_STEP || section_number(procedure, section) > 0)
            tell_section_begins(talk, section);
        else
            is_told = false;
    }
    return is_told;
}

void present_work_over(struct talk *talk)
{
    const struct spot nowhere = {0};
    leave_sections(talk, NULL, &nowhere);
    talk->inside = NULL;
}

/* --- before a prompt ---------------------------------------------------------------------- */

enum stage {
    STAGE_OUTSIDE, /* no step is being done */
    STAGE_GATE,    /* the step is known, but must not be shown */
    STAGE_WARNING,
    STAGE_ACTION
};

/* The question of a condition that the step itself sets comes when its action was done; any other is a
 * gate's. */
static bool asks_what_the_step_sets(const struct talk *talk, const struct prompt *prompt)
{
    const struct procedure *procedure = job_fitted(talk->session->job)->procedure;
    size_t count = 0;
    const struct event *events = job_events(talk->session->job, &count);
    bool is_set_here = false;
    if (prompt->work == NULL || prompt->work->step == NULL)
        return false;
    const struct step *step = prompt->work->step;
    for (size_t i = 0; i < step->sets_count; i++)
        is_set_here =
            is_set_here ||
            text_equal(procedure->conditions[step->sets[i].condition]->name, prompt->name);
    for (size_t i = count; is_set_here && i-- > 0;)
        if (spot_equal(&events[i].spot, &prompt->spot) &&
            (events[i].kind == EVENT_ENTERED || events[i].kind == EVENT_DONE))
            return events[i].kind == EVENT_ENTERED;
    return false;
}

static enum stage stage_of(const struct talk *talk, const struct prompt *prompt)
{
    switch (prompt->kind) {
    case PROMPT_MANUAL_VALUE:
    case PROMPT_SOURCE:
    case PROMPT_INPUT:
    case PROMPT_CUE:
    case PROMPT_CLOCK:
    case PROMPT_AMEND:
    case PROMPT_BOUND:
    case PROMPT_CLAIM:
    case PROMPT_ENDED:
        return STAGE_OUTSIDE;
    case PROMPT_CONDITION:
        return asks_what_the_step_sets(talk, prompt) ? STAGE_ACTION : STAGE_GATE;
    case PROMPT_SHUT:
    case PROMPT_ONCE:
    case PROMPT_WAIT:
    case PROMPT_OPTIONAL:
    case PROMPT_TRIAL:
        return STAGE_GATE;
    case PROMPT_WARNING:
        return STAGE_WARNING;
    case PROMPT_ACTION:
    case PROMPT_READING:
    case PROMPT_COUNT:
    case PROMPT_HOLD:
    case PROMPT_INSIST:
    case PROMPT_REASON:
        break;
    }
    return STAGE_ACTION;
}

/* A step keeps its number in the file, as menus and the card name it; how far the work is, is the count
 * of what has to be done, which leaves out the branches not taken. */
static void tell_headline(struct talk *talk, const struct work *work, const struct spot *spot,
                          bool section_is_told)
{
    struct arena *arena = talk_scratch(talk);
    const struct job *job = talk->session->job;
    struct text place =
        section_is_told ? job_spot_name(job, spot, arena) : present_place(talk, work, spot);
    struct text number =
        text_fill(arena, "Step {}", text_number(arena, (long long)job_step_number(job, work)));
    if (job_is_making_safe(job))
        number = text_fill(arena, "Make safe · {}", number);
    else
        number = text_fill(arena, "{} · {}", number, job_progress_words(job, arena));
    talk_tell(talk, TONE_HEADING,
              place.length == 0 ? number : text_fill(arena, "{} · {}", number, place));
}

static void tell_running_timers(struct talk *talk, struct instant now)
{
    struct arena *arena = talk_scratch(talk);
    struct timer_running *running = NULL;
    size_t count = job_timers(talk->session->job, &running, arena);
    for (size_t i = 0; i < count; i++)
        if (running[i].due > now.wall || running[i].too_late > 0)
            talk_tell(talk, TONE_DETAIL,
                      text_fill(arena, "{}.",
                                say_capital(arena, say_timer(arena, talk->session->job,
                                                             &running[i], now.wall))));
}

static void come_to(struct talk *talk, const struct prompt *prompt, struct instant now)
{
    bool section_is_told = false;
    const struct job *job = talk->session->job;
    if (!job_is_beside_the_work(job)) {
        leave_sections(talk, prompt->work, &prompt->spot);
        section_is_told = enter_sections(talk, prompt->work, &prompt->spot);
        talk->inside = prompt->work;
        talk->inside_spot = prompt->spot;
    }
    if (prompt->work->kind != WORK_STEP ||
        (talk->has_spot && spot_equal(&talk->spot, &prompt->spot)))
        return;
    present_forget(talk);
    talk->has_spot = true;
    talk->spot = prompt->spot;
    tell_headline(talk, prompt->work, &prompt->spot, section_is_told);
    if (prompt->kind != PROMPT_WAIT) /* its question says how long */
        tell_running_timers(talk, now);
}

/* What the trial can show is read before anybody is treated. */
static void present_design(struct talk *talk, const struct prompt *prompt, struct instant now)
{
    const struct job *job = talk->session->job;
    const struct trial *trial = prompt->work->step->allots;
    struct text *paragraphs;
    if (talk->design_told == trial)
        return;
    talk->design_told = trial;
    size_t count =
        trial_design_words(job, trial, job_time(job, now), &paragraphs, talk_scratch(talk));
    for (size_t i = 0; i < count; i++)
        talk_tell(talk, i == 0 ? TONE_HEADING : TONE_DETAIL, paragraphs[i]);
}

void present_before(struct talk *talk, const struct prompt *prompt, struct instant now)
{
    if (prompt->work == NULL || prompt->work->parent == NULL)
        return;
    enum stage stage = stage_of(talk, prompt);
    if (stage == STAGE_OUTSIDE)
        return;
    come_to(talk, prompt, now);
    if (prompt->kind == PROMPT_TRIAL)
        present_design(talk, prompt, now);
    const struct step *step = prompt->work->step;
    if (step == NULL || stage == STAGE_GATE)
        return;
    /* What is written down afterwards was warned of before the hands went in; what a correction has
     * brought up since is warned of now. */
    if (!talk->messages_told &&
        (prompt->kind == PROMPT_WARNING || !work_is_away(prompt->work) ||
         job_is_making_safe(talk->session->job)))
        present_messages(talk, step, &prompt->spot);
    talk->messages_told = true;
    if (stage == STAGE_ACTION && !talk->action_told) {
        talk->action_told = true;
        present_action(talk, step, &prompt->spot);
    }
}

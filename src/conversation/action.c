/* One step as it is shown: its messages, what to do, with what, and the card of an away section. */
#include "job/claim.h"
#include "job/look.h"
#include "job/say.h"
#include "present.h"

/* --- messages ----------------------------------------------------------------------------- */

static enum tone tone_of(enum signal signal)
{
    switch (signal) {
    case SIGNAL_NOTICE:
        return TONE_NOTICE;
    case SIGNAL_CAUTION:
        return TONE_CAUTION;
    case SIGNAL_WARNING:
        return TONE_WARNING;
    case SIGNAL_DANGER:
        break;
    }
    return TONE_DANGER;
}

static struct text capitals(struct arena *arena, const char *word)
{
    struct text text = text_from(word);
    char *bytes = arena_array(arena, char, text.length);
    for (size_t i = 0; i < text.length; i++)
        bytes[i] = (char)(word[i] >= 'a' && word[i] <= 'z' ? word[i] - 'a' + 'A' : word[i]);
    return (struct text){bytes, text.length};
}

struct text present_message_words(struct arena *arena, enum signal signal, struct text hazard,
                                  struct text harm)
{
    struct text word = capitals(arena, signal_word(signal));
    return harm.length == 0 ? text_fill(arena, "{}: {}", word, hazard)
                            : text_fill(arena, "{}: {} {}", word, hazard, harm);
}

static void tell_message(struct talk *talk, const struct message *message,
                         const struct spot *spot)
{
    struct arena *arena = talk_scratch(talk);
    const struct job *job = talk->session->job;
    talk_tell(talk, tone_of(message->signal),
              present_message_words(arena, message->signal,
                                    job_fill(job, &message->hazard, spot, arena),
                                    job_fill(job, &message->harm, spot, arena)));
}

void present_messages(struct talk *talk, const struct step *step, const struct spot *spot)
{
    for (size_t i = 0; i < step->message_count; i++)
        tell_message(talk, &step->messages[i], spot);
}

/* --- the action --------------------------------------------------------------------------- */

static bool work_out_at(const struct talk *talk, const struct expression *expression,
                        const struct spot *spot, struct text *shown)
{
    struct arena *arena = talk_scratch(talk);
    const struct job *job = talk->session->job;
    struct surroundings surroundings = job_surroundings(job, arena);
    surroundings.here = spot_here(job, spot, arena);
    struct value value = expression_evaluate(expression, &surroundings, arena);
    if (value.count != 1 || value.type.index != INDEX_NONE || value.items[0].is_missing)
        return false;
    *shown = say_amount(arena, &value.items[0], value.type,
                        say_unit(arena, job_fitted(job), expression));
    return true;
}

static void tell_supplies(struct talk *talk, const char *heading, const struct supply *supplies,
                          size_t count, const struct spot *spot)
{
    struct arena *arena = talk_scratch(talk);
    for (size_t i = 0; i < count; i++) {
        struct text amount, most;
        struct text said = text_fill(arena, "{}: {}", text_from(heading), supplies[i].name);
        if (supplies[i].amount != NULL && work_out_at(talk, supplies[i].amount, spot, &amount))
            said = text_fill(arena, "{}, {}", said, amount);
        if (supplies[i].at_most != NULL && work_out_at(talk, supplies[i].at_most, spot, &most))
            said = text_fill(arena, "{}; never more than {}", said, most);
        talk_tell(talk, TONE_DETAIL, text_fill(arena, "{}.", said));
    }
}

static const struct unit *torque_unit(const struct talk *talk, const struct step *step)
{
    const struct procedure *procedure = job_fitted(talk->session->job)->procedure;
    for (size_t i = 0; i < step->reading_count; i++)
        if (procedure->readings[step->readings[i]].is_torque)
            return fitted_unit(job_fitted(talk->session->job),
                               &procedure->readings[step->readings[i]].field);
    return NULL;
}

/* The torque is given in another unit than stands on the wrench. */
static bool is_of_another_scale(const struct talk *talk, const struct step *step)
{
    const struct fitted *fitted = job_fitted(talk->session->job);
    const struct unit *given = say_unit(talk_scratch(talk), fitted, step->torque);
    const struct unit *on_wrench = torque_unit(talk, step);
    return on_wrench != NULL && !text_equal(given->symbol, on_wrench->symbol);
}

static void tell_torque(struct talk *talk, const struct step *step, const struct spot *spot)
{
    struct arena *arena = talk_scratch(talk);
    double setting = 0;
    struct text wanted, turn;
    if (step->torque != NULL && job_wrench_setting(talk->session->job, spot, &setting, arena)) {
        const struct unit *unit = torque_unit(talk, step);
        struct text shown = say_number(arena, (struct measured){.value = setting},
                                       unit != NULL ? unit : unit_for(step->torque->type.kind));
        if (!work_out_at(talk, step->torque, spot, &wanted))
            wanted = shown;
        if (step->extension != NULL)
            talk_tell(talk, TONE_DETAIL,
                      text_fill(arena,
                                "Torque: {}. Set the wrench to {}: the extension, in line with "
                                "it, is reckoned in.",
                                wanted, shown));
        else if (is_of_another_scale(talk, step))
            talk_tell(talk, TONE_DETAIL,
                      text_fill(arena, "Torque: {}, {} on this wrench.", wanted, shown));
        else
            talk_tell(talk, TONE_DETAIL, text_fill(arena, "Torque: {}.", shown));
    }
    if (step->turn != NULL && work_out_at(talk, step->turn, spot, &turn))
        talk_tell(talk, TONE_DETAIL, text_fill(arena, "Then turn it on by {}.", turn));
}

static void tell_ledger(struct talk *talk, const struct step *step, const struct spot *spot)
{
    struct arena *arena = talk_scratch(talk);
    const struct fitted *fitted = job_fitted(talk->session->job);
    const int *here = spot_here(talk->session->job, spot, arena);
    for (size_t i = 0; i < step->refits_count; i++) {
        const struct part *part = &fitted->procedure->parts[step->refits[i].part];
        struct text name = say_name(arena, part->name);
        if (step->refits[i].is_new)
            talk_tell(talk, TONE_DETAIL, text_fill(arena, "A new {}.", name));
        else if (part->index != INDEX_NONE && here[part->index] != INDEX_NONE)
            talk_tell(talk, TONE_DETAIL,
                      text_fill(arena, "The same {} that came from {}.", name,
                                say_position(arena, talk->session->job, part->index,
                                             here[part->index])));
    }
}

static void tell_filled(struct talk *talk, const char *sentence,
                        const struct template *template, const struct spot *spot)
{
    struct arena *arena = talk_scratch(talk);
    if (template->written.length > 0)
        talk_tell(
            talk, TONE_DETAIL,
            text_fill(arena, sentence, job_fill(talk->session->job, template, spot, arena)));
}

static void tell_filled_list(struct talk *talk, const char *sentence,
                             const struct template *templates, size_t count,
                             const struct spot *spot)
{
    struct arena *arena = talk_scratch(talk);
    struct text *items = arena_array(arena, struct text, count);
    for (size_t i = 0; i < count; i++)
        items[i] = job_fill(talk->session->job, &templates[i], spot, arena);
    if (count > 0)
        talk_tell(talk, TONE_DETAIL, text_fill(arena, sentence, say_list(arena, items, count)));
}

void present_action(struct talk *talk, const struct step *step, const struct spot *spot)
{
    struct arena *arena = talk_scratch(talk);
    tell_filled_list(talk, "Wear: {}.", step->wear, step->wear_count, spot);
    tell_filled_list(talk, "Tools: {}.", step->tools, step->tool_count, spot);
    tell_supplies(talk, "New part", step->parts, step->part_count, spot);
    tell_supplies(talk, "Material", step->consumes, step->consume_count, spot);
    talk_tell(talk, TONE_ACTION, job_fill(talk->session->job, &step->action, spot, arena));
    tell_torque(talk, step, spot);
    tell_ledger(talk, step, spot);
    tell_filled(talk, "Look for: {}", &step->look_for, spot);
    if (step->photo == PHOTO_REQUIRED)
        talk_tell(talk, TONE_DETAIL, TEXT("A picture belongs to this step: photo FILE."));
    if (step->photo == PHOTO_OPTIONAL)
        talk_tell(talk, TONE_DETAIL, TEXT("A picture can go with it: photo FILE."));
    present_hanging(talk, job_fitted(talk->session->job)->procedure->works[spot->work]);
}

void present_hanging(struct talk *talk, const struct work *step)
{
    struct arena *arena = talk_scratch(talk);
    const struct ranker *ranker = &talk->session->ranker;
    const struct ranking *ranking = ranker->rank == NULL ? NULL : ranker->rank(ranker->self);
    const struct critical_step *critical = NULL;
    if (ranking == NULL)
        return;
    switch (claim_of_step(ranking, step, &critical)) {
    case HANGING_LITTLE:
        break;
    case HANGING_MUCH:
        talk_tell(talk, TONE_NOTICE,
                  text_fill(arena, "Critical: left out, {}.",
                            claim_harm_words(arena, job_fitted(talk->session->job)->procedure,
                                             critical)));
        break;
    case HANGING_UNKNOWN:
        talk_tell(talk, TONE_DETAIL,
                  TEXT("What hangs on this step is not ranked: too many combinations."));
        break;
    }
}

void present_why(struct talk *talk, const struct work *work, const struct spot *spot)
{
    if (work == NULL || work->step == NULL)
        talk_tell(talk, TONE_DETAIL,
                  TEXT("The procedure gives no reason for this question; it belongs to no "
                       "step."));
    else if (work->step->why.written.length == 0)
        talk_tell(talk, TONE_DETAIL, TEXT("The procedure gives no reason for this step."));
    else
        tell_filled(talk, "{}", &work->step->why, spot);
}

/* --- away --------------------------------------------------------------------------------- */

static void tell_away_messages(struct talk *talk, const struct step *step)
{
    struct arena *arena = talk_scratch(talk);
    for (size_t i = 0; i < step->message_count; i++)
        talk_tell(talk, tone_of(step->messages[i].signal),
                  present_message_words(arena, step->messages[i].signal,
                                        say_template(arena, &step->messages[i].hazard),
                                        say_template(arena, &step->messages[i].harm)));
}

/* Steps in a loop of their own inside the section are shown once, for every position. */
static void tell_away_step(struct talk *talk, const struct work *work,
                           const struct work *section, const struct spot *spot, size_t number)
{
    struct arena *arena = talk_scratch(talk);
    const struct procedure *procedure = job_fitted(talk->session->job)->procedure;
    const struct step *step = work->step;
    struct spot there = *spot;
    there.work = work->id;
    struct text action = say_template(arena, &step->action);
    if (work->loop_depth == section->loop_depth)
        action = job_fill(talk->session->job, &step->action, &there, arena);
    else if (work->loop.index != INDEX_NONE)
        action = text_fill(arena, "For each {}: {}",
                           say_name(arena, procedure->index_names[work->loop.index]), action);
    tell_away_messages(talk, step);
    if (card_step_is_finished(talk->session->job, &there)) {
        talk_tell(talk, TONE_ACTION,
                  text_fill(arena, "{}. Done before the stop, and never twice: {}",
                            text_number(arena, (long long)number), action));
        return;
    }
    talk_tell(talk, TONE_ACTION,
              text_fill(arena, "{}. {}", text_number(arena, (long long)number), action));
    if (work->loop_depth == section->loop_depth) {
        tell_filled_list(talk, "Wear: {}.", step->wear, step->wear_count, &there);
        tell_filled_list(talk, "Tools: {}.", step->tools, step->tool_count, &there);
        tell_supplies(talk, "New part", step->parts, step->part_count, &there);
        tell_torque(talk, step, &there);
        tell_filled(talk, "Look for: {}", &step->look_for, &there);
    }
    for (size_t i = 0; i < step->reading_count; i++)
        talk_tell(talk, TONE_DETAIL,
                  text_fill(arena, "Keep in mind: {}.",
                            say_name(arena, procedure->readings[step->readings[i]].name)));
    present_hanging(talk, work);
}

bool present_away_messages(struct talk *talk, const struct prompt *prompt)
{
    const struct procedure *procedure = job_fitted(talk->session->job)->procedure;
    bool is_warned = false;
    if (prompt->kind != PROMPT_ACTION || prompt->work == NULL || !prompt->work->is_away ||
        talk->away_told == prompt->work)
        return false;
    for (size_t i = prompt->work->id + 1; i < procedure->work_count; i++) {
        const struct work *work = procedure->works[i];
        if (work->kind != WORK_STEP || !present_stands_in(work, prompt->work))
            continue;
        tell_away_messages(talk, work->step);
        is_warned = is_warned || work->step->message_count > 0;
    }
    return is_warned;
}

void present_away_card(struct talk *talk, const struct prompt *prompt)
{
    const struct work *section = prompt->work;
    const struct procedure *procedure = job_fitted(talk->session->job)->procedure;
    size_t number = 0;
    talk_tell(
        talk, TONE_PLAIN,
        TEXT("Your hands are not free in this section. Read the whole card now. Answer the "
             "questions when you are back."));
    for (size_t i = section->id + 1; i < procedure->work_count; i++)
        if (procedure->works[i]->kind == WORK_STEP &&
            present_stands_in(procedure->works[i], section))
            tell_away_step(talk, procedure->works[i], section, &prompt->spot, ++number);
    talk->away_told = section;
    talk_tell(talk, TONE_PLAIN,
              TEXT("That is the whole card. What follows is asked one by one."));
}

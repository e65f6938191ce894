#include "job/say.h"
#include "job_state.h"

#include <assert.h>
#include <math.h>

/* --- choices --------------------------------------------------------------------------------------- */

/* A choice that is itself a figure ("4") can only be meant by its words. */
static bool has_figures(const struct choices *choices)
{
    for (size_t i = 0; i < choices->count; i++) {
        struct text choice = choices->texts[i];
        bool is_figure = choice.length > 0;
        for (size_t k = 0; k < choice.length; k++)
            is_figure = is_figure && choice.bytes[k] >= '0' && choice.bytes[k] <= '9';
        if (is_figure)
            return true;
    }
    return false;
}

/* 0 if it is no whole number. */
static size_t whole_from(struct text typed)
{
    size_t number = 0;
    for (size_t i = 0; i < typed.length; i++) {
        if (typed.bytes[i] < '0' || typed.bytes[i] > '9' || number > 1000000)
            return 0;
        number = number * 10 + (size_t)(typed.bytes[i] - '0');
    }
    return number;
}

enum { SHORTEST_BEGINNING = 3 };

/* Two spaces between words are one. */
static struct text single_spaced(struct text words, struct arena *scratch)
{
    char *bytes = arena_array(scratch, char, words.length);
    size_t length = 0;
    for (size_t i = 0; i < words.length; i++) {
        bool is_space = words.bytes[i] == ' ' || words.bytes[i] == '\t';
        if (!is_space)
            bytes[length++] = words.bytes[i];
        else if (length > 0 && bytes[length - 1] != ' ')
            bytes[length++] = ' ';
    }
    return text_trim((struct text){bytes, length});
}

static size_t count_prefixed(const struct choices *choices, struct text typed, size_t *chosen)
{
    size_t found = 0;
    for (size_t i = 0; i < choices->count; i++) {
        struct text front = text_slice(
            choices->texts[i], 0,
            typed.length < choices->texts[i].length ? typed.length : choices->texts[i].length);
        if (!text_equal_folded(front, typed))
            continue;
        *chosen = i;
        found++;
    }
    return found;
}

/* "1", "1 or 2", "1 to 3". */
static struct text numbers_of(const struct choices *choices, struct arena *scratch)
{
    if (choices->count < 2)
        return TEXT("1");
    return text_fill(scratch, choices->count == 2 ? "1 or {}" : "1 to {}",
                     text_number(scratch, (long long)choices->count));
}

static struct text choice_refusal(const struct choices *choices, enum choice_words words,
                                  struct text typed, struct arena *scratch)
{
    size_t first = 0;
    size_t fitting = count_prefixed(choices, typed, &first);
    struct text most = numbers_of(choices, scratch);
    if (fitting == 0)
        return text_fill(scratch, "'{}' is none of these. Type {}, or the words.", typed, most);
    if (words == CHOICE_WHOLE)
        return text_fill(scratch,
                         "'{}' is only the beginning of an answer. Here it counts when it is "
                         "whole: type its number, {}, or all its words.",
                         typed, most);
    return text_fill(scratch,
                     fitting > 1 ? "'{}' begins several of these. Type {}, or more of the "
                                   "words."
                                 : "'{}' is too short to be sure. Type {}, or more of the "
                                   "words.",
                     typed, most);
}

bool choice_take(const struct choices *choices, enum choice_words words, struct text typed,
                 size_t *chosen, struct text *refusal, struct arena *scratch)
{
    typed = single_spaced(typed, scratch);
    if (typed.length == 0) {
        *refusal = text_fill(scratch,
                             "Enter alone does not answer this. Type {}, or the "
                             "words.",
                             numbers_of(choices, scratch));
        return false;
    }
    for (size_t i = 0; i < choices->count; i++) {
        if (text_equal_folded(single_spaced(choices->texts[i], scratch), typed)) {
            *chosen = i;
            return true;
        }
    }
    size_t number = whole_from(typed);
    if (number >= 1 && number <= choices->count && !has_figures(choices)) {
        *chosen = number - 1;
        return true;
    }
    if (words == CHOICE_BEGINNING && typed.length >= SHORTEST_BEGINNING &&
        count_prefixed(choices, typed, chosen) == 1)
        return true;
    *refusal = choice_refusal(choices, words, typed, scratch);
    return false;
}

/* --- quantities -------------------------------------------------------------------------------------- */

static struct text with_article(struct text noun, struct arena *scratch)
{
    struct text vowels = TEXT("aeiou");
    bool is_vowel =
        noun.length > 0 && text_find(vowels, text_slice(noun, 0, 1)) < vowels.length;
    return text_fill(scratch, is_vowel ? "an {}" : "a {}", noun);
}

static struct text both_spellings(struct text typed, struct arena *scratch)
{
    char *point = arena_array(scratch, char, typed.length);
    char *without = arena_array(scratch, char, typed.length);
    size_t kept = 0;
    for (size_t i = 0; i < typed.length; i++) {
        point[i] = typed.bytes[i];
        if (typed.bytes[i] == ',')
            point[i] = '.';
        else
            without[kept++] = typed.bytes[i];
    }
    return text_fill(scratch, "'{}' can be read in two ways. Type {} or {}.", typed,
                     ((struct text){point, typed.length}), ((struct text){without, kept}));
}

static struct text quantity_refusal(const struct unit *asked, struct text typed,
                                    const struct quantity_reading *reading,
                                    struct arena *scratch)
{
    struct text unit = text_slice(typed, reading->unit_from, reading->unit_to);
    struct text like =
        asked == &unit_one || asked == NULL
            ? TEXT("a number")
            : text_fill(scratch, "a number, in {} if no unit is typed", asked->symbol);
    switch (reading->flaw) {
    case QUANTITY_READ:
        break;
    case QUANTITY_NOT_A_NUMBER:
        return text_fill(scratch, "'{}' is not a number. Type {}.", typed, like);
    case QUANTITY_UNIT_MISSING:
        return text_fill(scratch, "'{}' has no unit. Type the unit after it.", typed);
    case QUANTITY_UNIT_UNKNOWN: {
        bool is_power = unit.length > 1 && text_find(TEXT("eE"), text_slice(unit, 0, 1)) < 2 &&
                        text_find(TEXT("+-0123456789"), text_slice(unit, 1, 2)) < 12;
        if (is_power)
            return text_fill(scratch, "'{}' is no number here. Type it with all its zeros.",
                             typed);
        struct text near = unit_nearest(unit);
        if (unit.length > 0 && (unit.bytes[0] == '.' || unit.bytes[0] == ','))
            return text_fill(scratch, "'{}' is not a number. Type {}.", typed, like);
        if (unit.length > 0 && unit.bytes[0] >= '0' && unit.bytes[0] <= '9')
            return text_fill(scratch, "'{}' has a space within the number. Type it without.",
                             typed);
        return near.length > 0
                   ? text_fill(scratch, "There is no unit '{}'. Is it {}?", unit, near)
                   : text_fill(scratch, "There is no unit '{}'. Type {}.", unit, like);
    }
    case QUANTITY_COMMA_UNCLEAR:
        return both_spellings(typed, scratch);
    case QUANTITY_TOO_LARGE:
        return text_fill(scratch, "'{}' is too large a number. Type {}.", typed, like);
    case QUANTITY_TOO_SMALL:
        return text_fill(scratch, "'{}' is too small a number. If it is nothing, type 0.",
                         typed);
    }
    return (struct text){0};
}

static bool is_outside(const struct job *job, const struct field *field,
                       const struct spot *spot, double si, struct arena *scratch)
{
    struct surroundings surroundings =
        surroundings_at(job, spot, job_time(job, job->last), scratch);
    double bound;
    if (field->between.at_least != NULL &&
        work_out_number(field->between.at_least, &surroundings, &bound, NULL, scratch) &&
        si < bound)
        return true;
    return field->between.at_most != NULL &&
           work_out_number(field->between.at_most, &surroundings, &bound, NULL, scratch) &&
           si > bound;
}

/* 86004 m where 86004 km would be believed as well: nobody can tell a slip of the unit from a small
 * amount.  350 mL where 350 L would not be believed is meant as it was typed. */
static bool is_perhaps_misspelt(const struct job *job, const struct field *field,
                                const struct spot *spot, const struct quantity *quantity,
                                struct arena *scratch)
{
    const double worth_asking = 1000.0;
    bool has_range = field->between.at_least != NULL || field->between.at_most != NULL;
    const struct unit *asked = fitted_unit(job->fitted, field);
    if (asked == NULL || !has_range)
        return false;
    double times = unit_step_to_si(quantity->unit, 1.0) / unit_step_to_si(asked, 1.0);
    bool is_far_off = fmax(times, 1.0 / times) > worth_asking * (1.0 - 1e-9);
    double as_asked = unit_to_si(asked, quantity->number.value);
    return is_far_off && !is_outside(job, field, spot, as_asked, scratch);
}

static struct taken quantity_take(const struct job *job, const struct field *field,
                                  const struct spot *spot, struct text typed,
                                  struct arena *scratch)
{
    struct quantity quantity;
    const struct unit *asked = fitted_unit(job->fitted, field);
    struct quantity_reading reading = quantity_read(typed, asked, scratch, &quantity);
    if (reading.flaw != QUANTITY_READ)
        return (struct taken){.refusal = quantity_refusal(asked, typed, &reading, scratch)};
    struct text shown = quantity_text(scratch, &quantity);
    if (asked != NULL && !kind_fits(quantity.unit->kind, asked->kind))
        return (struct taken){
            .refusal = text_fill(
                scratch, "{} is wanted here; {} is {}.",
                say_capital(scratch, with_article(kind_name(scratch, asked->kind), scratch)),
                shown, with_article(kind_name(scratch, quantity.unit->kind), scratch))};
    double si = quantity_si(&quantity);
    if (kind_is_point(quantity.unit->kind) && si < 0)
        return (struct taken){
            .refusal = text_fill(scratch,
                                 "Nothing is as cold as {}; the coldest there is are "
                                 "-273.15 °C. Type what was read.",
                                 shown)};
    double own = asked == NULL ? si : unit_from_si(asked, si);
    if (field->is_whole && fabs(own - round(own)) > 1e-9 * fmax(1.0, fabs(own)))
        return (struct taken){
            .refusal = text_fill(scratch, "A whole number is wanted here, not {}.", shown)};
    return (struct taken){
        .is_taken = true,
        .is_implausible = is_outside(job, field, spot, si, scratch) ||
                          is_perhaps_misspelt(job, field, spot, &quantity, scratch),
        .meaning = shown,
        .unit = quantity.unit->symbol,
        .has_value = true,
        .value = si,
    };
}

struct taken field_take(const struct job *job, const struct field *field,
                        const struct spot *spot, struct text typed, struct arena *scratch)
{
    size_t chosen = 0;
    struct taken taken = {0};
    switch (field->form) {
    case FIELD_QUANTITY:
        if (typed.length == 0)
            return (struct taken){.refusal =
                                      TEXT("A value is wanted here; Enter alone is none.")};
        return quantity_take(job, field, spot, typed, scratch);
    case FIELD_CHOICES:
        taken.is_taken = choice_take(&field->choices, CHOICE_BEGINNING, typed, &chosen,
                                     &taken.refusal, scratch);
        if (taken.is_taken)
            taken.meaning = field->choices.texts[chosen];
        return taken;
    case FIELD_TEXT:
        if (typed.length == 0)
            return (struct taken){.refusal = TEXT("Some words are wanted here.")};
        return (struct taken){.is_taken = true, .meaning = typed};
    }
    return taken;
}

bool job_wrench_setting(const struct job *job, const struct spot *spot, double *si,
                        struct arena *scratch)
{
    const struct step *step = job->procedure->works[spot->work]->step;
    if (step == NULL || step->torque == NULL)
        return false;
    struct surroundings surroundings =
        surroundings_at(job, spot, job_time(job, job->last), scratch);
    if (!work_out_number(step->torque, &surroundings, si, NULL, scratch))
        return false;
    double length, extension;
    if (step->extension != NULL && step->wrench_length != NULL &&
        work_out_number(step->extension, &surroundings, &extension, NULL, scratch) &&
        work_out_number(step->wrench_length, &surroundings, &length, NULL, scratch) &&
        length + extension > 0.0)
        *si *= length / (length + extension);
    return true;
}

/* What a wrench may be off by itself: 4 %, or 6 % up to 10 N.m (ISO 6789-1, type II, class A).  Set
 * further off than that, it was set to something else. */
bool is_set_otherwise(const struct job *job, const struct reading *reading,
                      const struct spot *spot, double si, struct arena *scratch)
{
    double wanted;
    if (!reading->is_torque || !job_wrench_setting(job, spot, &wanted, scratch))
        return false;
    double part = wanted > 10.0 ? 0.04 : 0.06;
    return !(fabs(si - wanted) <= part * fabs(wanted) * (1.0 + 1e-9));
}

/* --- answers to fields ----------------------------------------------------------------------------------- */

struct text place_echo(const struct job *job, const struct stand *stand, struct text meaning,
                       struct arena *scratch)
{
    struct text place = job_spot_name(job, &stand->spot, scratch);
    struct text name = say_name(scratch, stand->name);
    if (place.length > 0)
        name = text_fill(scratch, "{}, {}", name, place);
    return text_fill(scratch, "{}: {}", name, meaning);
}

struct text likely_words(const struct job *job, const struct field *field,
                         const struct spot *spot, double tried, struct arena *scratch)
{
    const struct limits *between = &field->between;
    const struct unit *unit = fitted_unit(job->fitted, field);
    struct surroundings surroundings =
        surroundings_at(job, spot, job_time(job, job->last), scratch);
    double low = 0, high = 0;
    bool has_low = between->at_least != NULL &&
                   work_out_number(between->at_least, &surroundings, &low, NULL, scratch);
    bool has_high = between->at_most != NULL &&
                    work_out_number(between->at_most, &surroundings, &high, NULL, scratch);
    if (!(has_low && tried < low) && !(has_high && tried > high))
        return (struct text){0};
    struct text least = say_number(scratch, (struct measured){.value = low}, unit);
    struct text most = say_number(scratch, (struct measured){.value = high}, unit);
    if (has_low && has_high)
        return text_fill(scratch, "; likely is {} to {}", least, most);
    return text_fill(scratch, has_low ? "; likely is at least {}" : "; likely is at most {}",
                     has_low ? least : most);
}

struct text taken_words(const struct field *field, const struct taken *taken,
                        struct arena *scratch)
{
    const struct unit *unit = field->unit;
    if (!taken->has_value || unit == NULL || text_equal(unit->symbol, taken->unit))
        return taken->meaning;
    return text_fill(scratch, "{} ({})", taken->meaning,
                     say_number(scratch, (struct measured){.value = taken->value}, unit));
}

static void put_value(struct event *event, const struct taken *taken)
{
    event->meaning = taken->meaning;
    event->has_value = taken->has_value;
    event->value = taken->value;
    event->unit = taken->unit;
}

static struct event value_event(const struct job *job, const struct stand *stand,
                                struct instant now)
{
    bool is_reading = stand->work != NULL;
    struct event event = event_for(job, stand, is_reading ? EVENT_READ : EVENT_ANSWERED,
                                   is_reading ? 0 : (unsigned)stand->answered, now);
    if (stand->field->gauge != GAUGE_NONE)
        event.gauge = job->fitted->gauges[stand->field->gauge].name;
    return event;
}

static struct decision decide_unread(const struct job *job, const struct stand *stand,
                                     struct text typed, struct text reason, struct instant now,
                                     struct arena *scratch)
{
    const struct reading *reading = &job->procedure->readings[stand->item];
    if (reason.length == 0)
        return decision_refused(TEXT("Say why it is not read: unread REASON."));
    if (job->decides[reading->symbol])
        return decision_refused(
            TEXT("What is done next rests on this reading; it cannot be left out."));
    struct event event = event_for(job, stand, EVENT_READ, 0, now);
    event.typed = typed;
    event.reason = reason;
    struct decision decision = decision_of(scratch, &event);
    decision.echo = place_echo(job, stand, TEXT("not read"), scratch);
    return decision;
}

static bool says_unread(const struct stand *stand, struct text typed, struct text *reason)
{
    struct text word = stand->field->form == FIELD_TEXT ? TEXT(".unread") : TEXT("unread");
    if (stand->prompt != PROMPT_READING)
        return false;
    if (text_starts(typed, TEXT(".unread")))
        word = TEXT(".unread");
    if (!text_starts(typed, word) ||
        (typed.length > word.length && typed.bytes[word.length] != ' '))
        return false;
    *reason = text_trim(text_slice(typed, word.length, typed.length));
    return true;
}

struct decision decide_field(const struct job *job, const struct stand *stand,
                             struct text typed, struct instant now, struct arena *scratch)
{
    struct text reason;
    if (says_unread(stand, typed, &reason))
        return decide_unread(job, stand, typed, reason, now, scratch);
    struct taken taken = field_take(job, stand->field, &stand->spot, typed, scratch);
    if (!taken.is_taken)
        return decision_refused(taken.refusal);
    struct event event = value_event(job, stand, now);
    bool is_reading = stand->work != NULL && stand->work->step != NULL;
    if (taken.is_implausible || is_far_from_repeats(job, stand, taken.value, scratch) ||
        (is_reading && is_set_otherwise(job, &job->procedure->readings[stand->item],
                                        &stand->spot, taken.value, scratch)))
        event = event_for(job, stand, EVENT_ANSWERED, ANSWERED_INSIST, now);
    event.typed = typed;
    put_value(&event, &taken);
    struct decision decision = decision_of(scratch, &event);
    if (event.detail != ANSWERED_INSIST ||
        event.kind != EVENT_ANSWERED) /* else it is asked about */
        decision.echo =
            place_echo(job, stand, taken_words(stand->field, &taken, scratch), scratch);
    return decision;
}

/* --- implausible values ------------------------------------------------------------------------------------- */

bool insists(const struct event *event)
{
    return text_equal(event->meaning, insist_choices.texts[INSIST_KEEP]);
}

bool measures_again(const struct event *event)
{
    return text_equal(event->meaning, insist_choices.texts[INSIST_AGAIN]);
}

/* The value goes along, so that the prompt for the reason can show it. */
struct decision decide_insist(const struct job *job, const struct stand *stand,
                              struct text meaning, struct instant now, struct arena *scratch)
{
    struct event event = event_for(job, stand, EVENT_ANSWERED, ANSWERED_INSIST, now);
    event.meaning = meaning;
    event.has_value = true;
    event.value = stand->tried->value;
    event.unit = stand->tried->unit;
    return decision_of(scratch, &event);
}

/* A value typed instead of a choice is the measurement taken again; false if it is none. */
bool decide_measured(const struct job *job, const struct stand *stand, struct text typed,
                     struct instant now, struct decision *decision, struct arena *scratch)
{
    struct taken taken = field_take(job, stand->field, &stand->spot, typed, scratch);
    if (stand->field->form != FIELD_QUANTITY || !taken.is_taken)
        return false;
    struct stand asked = *stand;
    asked.prompt = stand->work != NULL ? PROMPT_READING : PROMPT_INPUT;
    struct decision again =
        decide_insist(job, stand, insist_choices.texts[INSIST_AGAIN], now, scratch);
    *decision = decide_field(job, &asked, typed, now, scratch);
    struct event *events = arena_array(scratch, struct event, 2);
    events[0] = again.events[0];
    events[1] = decision->events[0];
    events[1].number = events[0].number + 1;
    decision->events = events;
    decision->event_count = 2;
    return true;
}

/* The try that was kept: the one before the event that keeps it. */
static const struct event *kept_try(const struct job *job, const struct event *kept)
{
    for (unsigned n = kept->number; n != 0; n = job->older[n - 1]) {
        const struct event *event = job_event(job, n);
        if (event->kind == EVENT_ANSWERED && event->detail == ANSWERED_INSIST &&
            text_equal(event->name, kept->name) && event->position == kept->position &&
            event->repeat == kept->repeat && !insists(event) && !measures_again(event))
            return event;
    }
    assert(false);
    return kept;
}

struct decision decide_reason(const struct job *job, const struct stand *stand,
                              struct text typed, struct instant now, struct arena *scratch)
{
    if (typed.length == 0)
        return decide_insist(job, stand, insist_choices.texts[INSIST_AGAIN], now, scratch);
    const struct event *tried = kept_try(job, stand->tried);
    struct event event = value_event(job, stand, now);
    event.typed = tried->typed;
    event.meaning = tried->meaning;
    event.has_value = tried->has_value;
    event.value = tried->value;
    event.unit = tried->unit;
    event.reason = typed;
    struct decision decision = decision_of(scratch, &event);
    decision.echo = place_echo(job, stand, tried->meaning, scratch);
    return decision;
}

#include "verify/rules_looking.h"

/* The words of a step: one order, nothing left to the reader, hazards tagged, messages without orders. */

static bool is_word(const struct words *words, size_t at, const char *wanted)
{
    return at < words->count && text_equal(word_lower(&words->items[at]), text_from(wanted));
}

static bool is_any_word(const struct words *words, size_t at, const char *const *wanted)
{
    for (size_t i = 0; wanted[i] != NULL; i++)
        if (is_word(words, at, wanted[i]))
            return true;
    return false;
}

/* From the first byte of one word to the last of another. */
static struct text span_of(const struct words *words, size_t from, size_t to)
{
    const struct text *first = &words->items[from].text, *last = &words->items[to].text;
    return (struct text){first->bytes, (size_t)(last->bytes - first->bytes) + last->length};
}

bool rules_begins_with_verb(struct rules *rules, const struct step *step)
{
    struct arena_mark mark = arena_mark(rules->scratch);
    struct words words = words_of(step->action.written, rules->scratch);
    bool begins = words.count > 0 && (words.items[0].is & IS_VERB) != 0;
    arena_rewind(rules->scratch, mark);
    return begins;
}

/* --- an order --------------------------------------------------------------------------------- */

static bool is_ban_at(const struct words *words, size_t at)
{
    if (!words->items[at].opens)
        return false;
    return is_word(words, at, "never") || is_word(words, at, "dont") ||
           (is_word(words, at, "do") && is_word(words, at + 1, "not"));
}

static void look_at_beginning(struct rules *rules, const struct work *work,
                              const struct words *words)
{
    struct place place = work->step->action.place;
    const struct word *first = &words->items[0];
    if (is_ban_at(words, 0) || (first->is & IS_VERB) != 0)
        return;
    struct text verb = word_verb(first), hint = {0};
    if (verb.length > 0)
        hint = text_fill(rules->scratch, "; write '{}'", verb);
    SAY(rules, work, FINDING_NO_ORDER, place, first->text, hint);
}

static void look_for_second_order(struct rules *rules, const struct work *work,
                                  const struct words *words)
{
    if ((words->items[0].is & IS_VERB) == 0)
        return;
    for (size_t i = 1; i < words->count; i++)
        if (word_is_order(words, i)) {
            SAY(rules, work, FINDING_TWO_ACTIONS, work->step->action.place,
                words->items[0].text, words->items[i].text);
            return;
        }
}

/* --- what is left to the reader ------------------------------------------------------------------ */

/* "as necessary", "if needed" */
static bool is_vague_pair(const struct words *words, size_t at)
{
    static const char *const before[] = {"as", "if", "where", "when", NULL};
    static const char *const behind[] = {"necessary",   "needed",     "required",
                                         "appropriate", "applicable", NULL};
    return is_any_word(words, at, before) && is_any_word(words, at + 1, behind);
}

/* "Read it when the needle rests" waits for what will come; "When warm, …" is a condition. */
static bool is_condition_at(const struct words *words, size_t at)
{
    const struct word *word = &words->items[at];
    bool is_last = at + 1 == words->count;
    return (word->is & IS_IF) != 0 || ((word->is & IS_WHEN) != 0 && word->opens && !is_last);
}

static bool is_outcome_pair(const struct words *words, size_t at)
{
    static const char *const before[] = {"make", "be", NULL};
    return (is_any_word(words, at, before) && is_word(words, at + 1, "sure")) ||
           (is_word(words, at, "see") && is_word(words, at + 1, "that"));
}

static void look_for_loose_words(struct rules *rules, const struct work *work,
                                 const struct words *words)
{
    struct place place = work->step->action.place;
    for (size_t i = 0; i < words->count; i++) {
        const struct word *word = &words->items[i];
        if ((word->is & (IS_LOOSE | IS_VAGUE)) == 0)
            continue;
        if (is_vague_pair(words, i))
            SAY(rules, work, FINDING_VAGUE, place, span_of(words, i, i + 1));
        else if ((word->is & IS_VAGUE) != 0)
            SAY(rules, work, FINDING_VAGUE, place, word->text);
        else if (is_condition_at(words, i))
            SAY(rules, work, FINDING_CONDITION_IN_TEXT, place, word->text);
        else if (is_outcome_pair(words, i))
            SAY(rules, work, FINDING_OUTCOME_FOR_ACTION, place, span_of(words, i, i + 1));
        else if ((word->is & IS_OUTCOME) != 0)
            SAY(rules, work, FINDING_OUTCOME_FOR_ACTION, place, word->text);
        else if (is_ban_at(words, i))
            SAY(rules, work, FINDING_WHAT_NOT_TO_DO, place);
        else
            continue;
        return; /* one of them is mended at a time: often it is one phrase */
    }
}

static bool has_answer(const struct rules *rules, const struct step *step)
{
    if (step->has_hold || step->reading_count > 0)
        return true;
    for (size_t i = 0; i < step->sets_count; i++)
        if (rules_condition(rules, step->sets[i].condition)->has_question)
            return true;
    return false;
}

static void look_for_answer(struct rules *rules, const struct work *work,
                            const struct words *words)
{
    if ((words->items[0].is & IS_CHECK) != 0 && !has_answer(rules, work->step))
        SAY(rules, work, FINDING_LOOK_WITHOUT_ANSWER, work->step->action.place,
            words->items[0].text);
}

/* --- hazards told in words ---------------------------------------------------------------------- */

struct hazard_search {
    struct rules *rules;
    const struct work *work;
    bool is_told; /* one is enough */
};

static bool has_activity(const struct step *step, struct text name)
{
    for (size_t i = 0; i < step->activity_count; i++)
        if (text_equal(step->activities[i]->name, name))
            return true;
    return false;
}

static bool knows_activity(const struct safety_library *safety, struct text name)
{
    for (size_t i = 0; safety != NULL && i < safety->activity_count; i++)
        if (text_equal(safety->activities[i]->name, name))
            return true;
    return false;
}

static void visit_hazard(void *self, const struct hazard *hazard, struct text phrase)
{
    struct hazard_search *search = self;
    struct rules *rules = search->rules;
    struct text rest = hazard->activities, name, wanted = {0};
    if (search->is_told)
        return;
    while (text_cut(&rest, ' ', &name)) {
        if (has_activity(search->work->step, name))
            return;
        if (wanted.length == 0 && knows_activity(rules->procedure->safety, name))
            wanted = name;
    }
    if (wanted.length == 0)
        return;
    search->is_told = true;
    SAY(rules, search->work, FINDING_HAZARD_UNTAGGED, search->work->step->action.place, phrase,
        wanted);
}

/* --- messages ----------------------------------------------------------------------------------- */

/* What in a message is an order; false if there is none. */
static bool find_order(const struct words *words, struct text *order)
{
    for (size_t i = 0; i < words->count; i++) {
        const struct word *word = &words->items[i];
        bool is_last = i + 1 == words->count || words->items[i + 1].opens;
        bool protects = word->opens && (word->is & IS_PROTECTION) != 0 && !is_last &&
                        (words->items[i + 1].is & IS_SMALL) == 0;
        bool is_order = protects || (word->is & IS_DUTY) != 0 || is_ban_at(words, i) ||
                        (word_is_order(words, i) && (word->opens_sentence || i > 0));
        if (is_order) {
            *order = is_last ? word->text : span_of(words, i, i + 1);
            return true;
        }
    }
    return false;
}

static void look_for_orders(struct rules *rules, const struct work *work,
                            const struct words *words, struct place place)
{
    struct text order;
    if (find_order(words, &order))
        SAY(rules, work, FINDING_ACTION_IN_MESSAGE, place, order);
}

static void look_for_deadly_words(struct rules *rules, const struct work *work,
                                  enum signal signal, const struct words *words,
                                  struct place place)
{
    if (signal > SIGNAL_CAUTION)
        return;
    for (size_t i = 0; i < words->count; i++)
        if ((words->items[i].is & IS_DEADLY) != 0) {
            SAY(rules, work, FINDING_SIGNAL_TOO_WEAK, place, words->items[i].text,
                text_from(signal_word(signal)));
            return;
        }
}

void rules_message_text(struct rules *rules, const struct work *work, enum signal signal,
                        struct text text, struct place place)
{
    struct arena_mark mark = arena_mark(rules->scratch);
    struct words words = words_of(text, rules->scratch);
    look_for_deadly_words(rules, work, signal, &words, place);
    look_for_orders(rules, work, &words, place);
    arena_rewind(rules->scratch, mark);
}

static bool is_telling(const struct word *word)
{
    return word->length >= 3 && (word->is & (IS_SMALL | IS_DETERMINER | IS_JOIN)) == 0;
}

/* Do most of the telling words of one stand in the other? */
static bool tells_the_same(const struct words *message, const struct words *other)
{
    unsigned telling = 0, shared = 0;
    for (size_t i = 0; i < message->count; i++) {
        if (!is_telling(&message->items[i]))
            continue;
        telling++;
        for (size_t j = 0; j < other->count; j++)
            if (word_same(&message->items[i], &other->items[j])) {
                shared++;
                break;
            }
    }
    return shared >= 2 && shared * 5 >= telling * 3;
}

/* The activity's message stands beside it: the same hazard twice, once with a weaker word. */
static void look_for_weaker_word(struct rules *rules, const struct work *work,
                                 const struct message *message)
{
    const struct step *step = work->step;
    struct words words = {0};
    for (size_t i = 0; i < step->activity_count; i++) {
        const struct activity *activity = step->activities[i];
        if (activity->signal <= message->signal)
            continue;
        if (words.items == NULL)
            words = words_of(message->hazard.written, rules->scratch);
        struct words other = words_of(activity->hazard, rules->scratch);
        if (tells_the_same(&words, &other)) {
            SAY(rules, work, FINDING_SIGNAL_WEAKENED, message->place,
                text_from(signal_word(message->signal)), activity->name,
                text_from(signal_word(activity->signal)));
            return;
        }
    }
}

static void look_at_messages(struct rules *rules, const struct work *work)
{
    const struct step *step = work->step;
    for (size_t i = 0; i < step->message_count; i++) {
        const struct message *message = &step->messages[i];
        if (message->activity != NULL)
            continue;
        look_for_weaker_word(rules, work, message);
        if (message->signal > SIGNAL_NOTICE && message->harm.written.length == 0)
            SAY(rules, work, FINDING_MESSAGE_WITHOUT_HARM, message->place,
                text_from(signal_word(message->signal)));
        rules_message_text(rules, work, message->signal, message->hazard.written,
                           message->hazard.place);
        rules_message_text(rules, work, message->signal, message->harm.written,
                           message->harm.place);
    }
}

/* --- a step -------------------------------------------------------------------------------------- */

void rules_texts_of_step(struct rules *rules, const struct work *work)
{
    struct arena_mark mark = arena_mark(rules->scratch);
    const struct step *step = work->step;
    struct words words = words_of(step->action.written, rules->scratch);
    struct hazard_search search = {rules, work, false};
    words_hazards(&words, step->action.written, visit_hazard, &search);
    if (rules->are_words_known && words.count > 0 && rules_is_own(rules, work->place)) {
        look_at_beginning(rules, work, &words);
        look_for_second_order(rules, work, &words);
        look_for_loose_words(rules, work, &words);
        look_for_answer(rules, work, &words);
    }
    look_at_messages(rules, work);
    if (step->has_hold)
        rules_answers(rules, work, &step->hold, step->hold.ask.place, step_says_danger(step));
    arena_rewind(rules->scratch, mark);
}

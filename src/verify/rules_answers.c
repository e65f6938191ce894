#include "verify/rules_looking.h"

/* Questions: an answer says what was seen, and there are few of them. */

enum { ANSWERS_MAX = 7 };

/* "yes", "ok", "all done": nothing in it that could be seen. */
static bool is_bare(struct rules *rules, struct text answer)
{
    struct words words = words_of(answer, rules->scratch);
    bool is_said = false;
    for (size_t i = 0; i < words.count; i++) {
        unsigned is = words.items[i].is;
        if ((is & (IS_BARE | IS_SMALL | IS_DETERMINER)) == 0)
            return false;
        is_said = is_said || ((is & IS_BARE) != 0 &&
                              (words.count == 1 || (is & (IS_SMALL | IS_DETERMINER)) == 0));
    }
    return is_said;
}

/* "Have you …?", "Did you …?": whoever forgot it says yes. */
static bool asks_for_a_yes(struct text ask)
{
    static const struct text beginnings[] = {TEXT_CONSTANT("Have you "),
                                             TEXT_CONSTANT("Did you ")};
    for (size_t i = 0; i < sizeof beginnings / sizeof *beginnings; i++)
        if (ask.length > beginnings[i].length &&
            text_equal_folded(text_slice(ask, 0, beginnings[i].length), beginnings[i]))
            return true;
    return false;
}

void rules_answers(struct rules *rules, const struct work *work,
                   const struct question *question, struct place place, bool guards_danger)
{
    if (question->choices.count > ANSWERS_MAX)
        SAY(rules, work, FINDING_ANSWERS_MANY, place,
            rules_number(rules, question->choices.count));
    if (asks_for_a_yes(question->ask.written))
        SAY(rules, work, FINDING_ASKS_FOR_A_YES, place);
    for (size_t i = 0; i < question->expected_count; i++) {
        struct text answer = question->choices.texts[i];
        if (!is_bare(rules, answer))
            continue;
        if (guards_danger)
            SAY(rules, work, FINDING_DANGER_ANSWER_BARE, place, answer);
        else
            SAY(rules, work, FINDING_ANSWER_BARE, place, answer);
        return;
    }
}

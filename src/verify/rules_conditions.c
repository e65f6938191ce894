#include "verify/rules_looking.h"

/* Conditions: who sets and undoes them, and in which words. */

/* Of procedures/safety.yaml: what a step that makes the engine run sets, and what it must need. */
static const struct text running_condition = TEXT_CONSTANT("engine_running");
static const struct text clear_condition = TEXT_CONSTANT("area_clear");

struct uses {
    unsigned needed, setters, clearers; /* steps */
};

static void count_uses(const struct step *step, struct uses *uses)
{
    for (size_t i = 0; i < step->needs_count; i++)
        uses[step->needs[i].condition].needed++;
    for (size_t i = 0; i < step->sets_count; i++)
        uses[step->sets[i].condition].setters++;
    for (size_t i = 0; i < step->clears_count; i++)
        uses[step->clears[i].condition].clearers++;
}

static void look_at_optional(struct rules *rules, const struct work *work,
                             const struct uses *uses)
{
    const struct step *step = work->step;
    for (size_t i = 0; i < step->sets_count; i++) {
        unsigned id = step->sets[i].condition;
        if (uses[id].needed > 0 && uses[id].setters == 1)
            SAY(rules, work, FINDING_OPTIONAL_SETS, work->place, TEXT("sets"),
                rules_condition(rules, id)->name);
    }
    for (size_t i = 0; i < step->clears_count; i++) {
        const struct condition *condition = rules_condition(rules, step->clears[i].condition);
        if (condition->restore.length > 0 && uses[condition->id].clearers == 1)
            SAY(rules, work, FINDING_OPTIONAL_SETS, work->place, TEXT("undoes"),
                condition->name);
    }
}

/* --- putting back -------------------------------------------------------------------------------- */

/* Is it a thing, rather than how it is handled: "filter", not "tighten"? */
static bool is_thing(const struct word *word)
{
    bool is_only_verb = (word->is & (IS_VERB | IS_NOUN)) == IS_VERB;
    return word->length >= 3 && !is_only_verb &&
           (word->is & (IS_SMALL | IS_DETERMINER | IS_JOIN)) == 0;
}

static bool share_a_thing(const struct words *a, const struct words *b)
{
    for (size_t i = 0; i < a->count; i++)
        for (size_t j = 0; is_thing(&a->items[i]) && j < b->count; j++)
            if (word_same(&a->items[i], &b->items[j]))
                return true;
    return false;
}

static struct text spoken_name(struct rules *rules, struct text name)
{
    char *spoken = arena_array(rules->scratch, char, name.length);
    for (size_t i = 0; i < name.length; i++)
        spoken[i] = name.bytes[i];
    for (size_t i = 0; i < name.length; i++)
        if (spoken[i] == '_')
            spoken[i] = ' ';
    return (struct text){spoken, name.length};
}

/* In its order, in its name, or in the parts that it puts back. */
static bool says_what_it_undoes(struct rules *rules, const struct step *step,
                                const struct condition *condition)
{
    struct arena *scratch = rules->scratch;
    struct words restore = words_of(condition->restore, scratch);
    struct words name = words_of(spoken_name(rules, condition->name), scratch);
    struct text said[2] = {step->action.written, spoken_name(rules, step->own_name)};
    for (size_t i = 0; i < 2 + step->refits_count; i++) {
        struct text text =
            i < 2 ? said[i]
                  : spoken_name(rules, rules->procedure->parts[step->refits[i - 2].part].name);
        struct words words = words_of(text, scratch);
        if (share_a_thing(&words, &restore) || share_a_thing(&words, &name))
            return true;
    }
    return false;
}

static void look_at_restoring(struct rules *rules, const struct work *work)
{
    enum { UNDOES_MAX = 3 };
    const struct step *step = work->step;
    size_t undone = 0;
    for (size_t i = 0; i < step->clears_count; i++) {
        const struct condition *condition = rules_condition(rules, step->clears[i].condition);
        if (condition->restore.length == 0)
            continue;
        undone++;
        if (rules->are_words_known && !says_what_it_undoes(rules, step, condition))
            SAY(rules, work, FINDING_UNDOES_UNSAID, step->action.place, condition->name);
    }
    if (undone > UNDOES_MAX)
        SAY(rules, work, FINDING_UNDOES_MANY, work->place, rules_number(rules, undone));
}

/* --- energy -------------------------------------------------------------------------------------- */

static bool needs(const struct step *step, int id)
{
    for (size_t i = 0; i < step->needs_count; i++)
        if ((int)step->needs[i].condition == id)
            return true;
    return false;
}

static void look_at_energy(struct rules *rules, const struct work *work, int running, int clear)
{
    const struct step *step = work->step;
    for (size_t i = 0; i < step->sets_count; i++)
        if ((int)step->sets[i].condition == running && !needs(step, clear))
            SAY(rules, work, FINDING_ENERGISED_UNCLEAR, work->place, clear_condition);
}

/* --- questions ----------------------------------------------------------------------------------- */

static void look_at_questions(struct rules *rules)
{
    const struct procedure *procedure = rules->procedure;
    size_t first = procedure->safety == NULL ? 0 : procedure->safety->condition_count;
    for (size_t i = first; i < procedure->condition_count; i++) {
        const struct condition *condition = procedure->conditions[i];
        if (!condition->has_question)
            continue;
        rules_answers(rules, NULL, &condition->question, condition->question.ask.place,
                      rules->guards_danger[i]);
        for (size_t j = 0; j < i; j++) {
            const struct condition *other = procedure->conditions[j];
            if (other->has_question &&
                text_equal(other->question.ask.written, condition->question.ask.written)) {
                SAY(rules, NULL, FINDING_ASKED_TWICE, condition->place, condition->name,
                    other->name);
                break;
            }
        }
    }
}

void rules_conditions(struct rules *rules)
{
    const struct procedure *procedure = rules->procedure;
    struct uses *uses = arena_array(rules->scratch, struct uses, procedure->condition_count);
    int running = procedure_find_condition(procedure, running_condition);
    int clear = procedure_find_condition(procedure, clear_condition);
    for (size_t i = 0; i < procedure->work_count; i++)
        if (procedure->works[i]->step != NULL)
            count_uses(procedure->works[i]->step, uses);
    for (size_t i = 0; i < procedure->work_count; i++) {
        const struct work *work = procedure->works[i];
        if (work->step == NULL)
            continue;
        if (running >= 0 && clear >= 0)
            look_at_energy(rules, work, running, clear);
        if (!rules_is_own(rules, work->place))
            continue;
        if (work->step->is_optional)
            look_at_optional(rules, work, uses);
        look_at_restoring(rules, work);
    }
    look_at_questions(rules);
}

#include "hanging.h"

#include "before_job.h"
#include "job/claim.h"
#include "job/say.h"

static bool is_told(const struct hanging_on *hanging, const struct work *step)
{
    return hanging->is_wanted == NULL || hanging->is_wanted(hanging->self, step);
}

static struct text step_cell(struct arena *arena, const struct hanging_on *hanging,
                             const struct work *step)
{
    return say_capital(arena, claim_step_words(arena, hanging->procedure, step));
}

static void tell_unranked(struct blocks *blocks, const struct hanging_on *hanging)
{
    struct arena *arena = blocks->arena;
    const struct ranking *ranking = hanging->ranking;
    struct text *names = arena_array(arena, struct text, ranking->unranked_count);
    size_t count = 0;
    for (size_t i = 0; i < ranking->unranked_count; i++)
        if (is_told(hanging, ranking->unranked[i]))
            names[count++] = claim_step_words(arena, hanging->procedure, ranking->unranked[i]);
    if (count > 0)
        blocks_paragraph(blocks, TONE_WARNING,
                         text_fill(arena, "Not ranked: too many combinations: {}.",
                                   text_join(arena, names, count, TEXT(", "))));
}

/* What is only left open at the end, or makes a step that warns of nothing impossible, is counted. */
static void tell_rest(struct blocks *blocks, size_t count)
{
    if (count > 0)
        blocks_paragraph(
            blocks, TONE_PLAIN,
            text_fill(blocks->arena,
                      count == 1
                          ? "{} other step leads to no warning when it is left out: something "
                            "then stays open, or a later step cannot be done."
                          : "{} other steps lead to no warning when left out: something then "
                            "stays open, or a later step cannot be done.",
                      text_number(blocks->arena, (long long)count)));
}

/* Fifty rows that say "done" would hide the one that does not. */
static void tell_as_said(struct blocks *blocks, size_t count, bool are_more)
{
    if (count == 0)
        return;
    struct text number = text_number(blocks->arena, (long long)count);
    struct text words =
        count == 1 ? TEXT("1 step on which a warning hangs was answered as done, once and in "
                          "its order.")
                   : text_fill(blocks->arena,
                               "{} steps on which a warning hangs were answered as done, "
                               "each in its order.",
                               number);
    if (are_more)
        words = text_fill(blocks->arena, "{} Not so:", words);
    blocks_paragraph(blocks, TONE_PLAIN, words);
}

/* --- each step by itself ---------------------------------------------------------------------- */

static size_t tell_singly(struct blocks *blocks, const struct hanging_on *hanging)
{
    const struct ranking *ranking = hanging->ranking;
    struct arena *arena = blocks->arena;
    struct rows rows = rows_begin(arena);
    rows_add(&rows, TEXT("No."), TEXT("Step"), TEXT("Ticked and not done, it leads to"),
             TEXT("In this job"));
    size_t rest = 0, as_said = 0;
    for (size_t i = 0; i < ranking->count; i++) {
        const struct critical_step *critical = &ranking->steps[i];
        if (!is_told(hanging, critical->work))
            continue;
        if (critical->harm == SIGNAL_NOTICE) {
            rest++;
            continue;
        }
        struct text became = TEXT("");
        if (hanging->became != NULL &&
            hanging->became(hanging->self, critical->work, &became)) {
            as_said++;
            continue;
        }
        rows_add(&rows, text_number(arena, (long long)rows.count),
                 step_cell(arena, hanging, critical->work),
                 claim_harm_words(arena, hanging->procedure, critical), became);
    }
    tell_as_said(blocks, as_said, rows.count > 1);
    if (rows.count > 1)
        blocks_table(blocks, TEXT(""), &rows);
    return rest;
}

/* --- by what they guard against --------------------------------------------------------------- */

static struct text short_words(struct arena *arena, const struct hanging_on *hanging,
                               const struct work *step)
{
    return text_fill(arena, "{} ({})",
                     text_number(arena, claim_step_number(hanging->procedure, step)),
                     say_name(arena, step->step->own_name));
}

/* "DANGER: Coil voltage, fuel mist." of the step that is reached, as it warns there. */
static struct text harm_cell(struct arena *arena, const struct hanging_on *hanging,
                             const struct critical_step *critical)
{
    static const char *const signals[] = {[SIGNAL_NOTICE] = "NOTICE",
                                          [SIGNAL_CAUTION] = "CAUTION",
                                          [SIGNAL_WARNING] = "WARNING",
                                          [SIGNAL_DANGER] = "DANGER"};
    const struct work *reached = critical->reached;
    struct text told = TEXT("");
    for (size_t i = 0;
         reached != NULL && reached->step != NULL && i < reached->step->message_count; i++) {
        const struct message *message = &reached->step->messages[i];
        if (message->signal != critical->harm)
            continue;
        struct text hazard = say_template(arena, &message->hazard);
        told = told.length == 0
                   ? text_fill(arena, "{}: {}", text_from(signals[critical->harm]), hazard)
                   : text_fill(arena, "{} {}", told, hazard);
    }
    return told.length > 0 ? told : claim_harm_words(arena, hanging->procedure, critical);
}

/* Fifty rows are not read; the harms are few, and which steps stand before one is. */
static size_t tell_grouped(struct blocks *blocks, const struct hanging_on *hanging)
{
    const struct ranking *ranking = hanging->ranking;
    struct arena *arena = blocks->arena;
    struct text *harms = arena_array(arena, struct text, ranking->count);
    struct text *names = arena_array(arena, struct text, ranking->count);
    size_t rest = 0;
    for (size_t i = 0; i < ranking->count; i++) {
        bool is_wanted = is_told(hanging, ranking->steps[i].work);
        bool is_rest = ranking->steps[i].harm == SIGNAL_NOTICE;
        rest += is_wanted && is_rest;
        harms[i] =
            is_wanted && !is_rest ? harm_cell(arena, hanging, &ranking->steps[i]) : TEXT("");
    }
    struct rows rows = rows_begin(arena);
    rows_add(&rows, TEXT("They guard against"), TEXT("Steps"));
    for (size_t i = 0; i < ranking->count; i++) {
        if (harms[i].length == 0)
            continue;
        const struct text harm = harms[i];
        size_t count = 0;
        for (size_t k = i; k < ranking->count; k++) {
            if (!text_equal(harms[k], harm))
                continue;
            names[count++] = short_words(arena, hanging, ranking->steps[k].work);
            harms[k] = TEXT("");
        }
        rows_add(&rows, harm,
                 text_fill(arena, "{}: {}", say_count(arena, count, "step"),
                           text_join(arena, names, count, TEXT(", "))));
    }
    if (rows.count > 1) {
        blocks_paragraph(blocks, TONE_PLAIN,
                         TEXT("Ticked and not done, each of these leads to harm at a later "
                              "step. Take your time at them. kit --steps says what follows "
                              "from each."));
        blocks_table(blocks, TEXT(""), &rows);
    }
    return rest;
}

void tell_hanging(struct blocks *blocks, const struct hanging_on *hanging)
{
    const struct ranking *ranking = hanging->ranking;
    if (ranking == NULL || ranking->count + ranking->unranked_count == 0)
        return;
    blocks_heading(blocks, TEXT("Steps on which most hangs"));
    tell_rest(blocks, hanging->are_grouped ? tell_grouped(blocks, hanging)
                                           : tell_singly(blocks, hanging));
    tell_unranked(blocks, hanging);
}

/* --- on a card ------------------------------------------------------------------------------------ */

static bool may_be_done(const void *self, const struct work *step)
{
    const struct telling *telling = self;
    return !machine_rules_out(telling->fitted, step, telling->arena);
}

static bool was_done_before(const struct telling *telling, size_t number)
{
    for (size_t i = 0; i < number; i++)
        if (telling->events[i].kind == EVENT_DONE &&
            spot_equal(&telling->events[i].spot, &telling->events[number].spot))
            return true;
    return false;
}

/* At every position and in every round of it; true if it was simply done. */
static bool became(const void *self, const struct work *step, struct text *told)
{
    const struct telling *telling = self;
    struct arena *arena = telling->arena;
    long long done = 0, again = 0, skipped = 0;
    for (size_t i = 0; i < telling->event_count; i++) {
        const struct event *event = &telling->events[i];
        if (event->spot.work != step->id)
            continue;
        bool is_done = event->kind == EVENT_DONE;
        bool is_again = is_done && was_done_before(telling, i);
        again += is_again;
        done += is_done && !is_again;
        skipped += event->kind == EVENT_SKIPPED;
    }
    struct text words = TEXT("");
    if (done > 0)
        words = done == 1 ? TEXT("done")
                          : text_fill(arena, "done {} times", text_number(arena, done));
    if (again > 0)
        words = text_fill(arena, "{}, redone", words);
    if (skipped > 0)
        words = text_fill(arena, "{}{}SKIPPED", words, done > 0 ? TEXT(", ") : TEXT(""));
    *told = words.length > 0 ? words : TEXT("not done");
    return done > 0 && again == 0 && skipped == 0;
}

void tell_hanging_steps(struct telling *telling, const struct ranking *ranking)
{
    const struct hanging_on hanging = {.procedure = telling->procedure,
                                       .ranking = ranking,
                                       .is_wanted = may_be_done,
                                       .became = became,
                                       .self = telling};
    tell_hanging(&telling->blocks, &hanging);
}

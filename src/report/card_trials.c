/*
 * card_trials.c - did it work, on the card.
 */
#include "job/say.h"
#include "telling.h"

static void tell_trial(struct telling *telling, const struct trial_finding *trial)
{
    struct arena *arena = telling->arena;
    struct text name = say_capital(arena, say_name(arena, trial->trial->name));
    struct rows rows = rows_begin(arena), changes = rows_begin(arena),
                cautions = rows_begin(arena);
    rows_add(&rows, TEXT("Asked"), trial->asked);
    rows_add(&rows, TEXT("Treated"), trial->treated);
    rows_add(&rows, TEXT("Verdict"), trial->verdict);
    if (trial->claim.length > 0)
        rows_add(&rows, TEXT("Claimed beforehand"), trial->claim);
    blocks_fields(&telling->blocks, text_fill(arena, "Did it work? {}", name), &rows);
    blocks_paragraph(&telling->blocks, TONE_PLAIN, trial->said);
    for (size_t i = 0; i < trial->contradiction_count; i++)
        blocks_paragraph(&telling->blocks, TONE_WARNING,
                         text_fill(arena, "CONTRADICTION: {}", trial->contradictions[i]));
    for (size_t i = 0; i < trial->change_count; i++)
        rows_add(&changes, trial->changes[i]);
    blocks_list(&telling->blocks, TEXT("By how much each changed"), &changes);
    for (size_t i = 0; i < trial->caution_count; i++)
        rows_add(&cautions, trial->cautions[i]);
    blocks_list(&telling->blocks, TEXT("How far this trial can be leaned on"), &cautions);
}

void tell_trials(struct telling *telling, const struct outcome *outcome)
{
    for (size_t i = 0; i < outcome->trial_count; i++)
        if (outcome->trials[i].is_allotted)
            tell_trial(telling, &outcome->trials[i]);
}

/*
 * choices.c - answers out of a few that can be given, and those that a question wants.
 */
#include "job_state.h"

static const struct text insist_texts[] = {{"measure again", 13}, {"keep it", 7}};
static const struct text once_texts[] = {{"not begun", 9}, {"in part", 7}, {"finished", 8}};
static const struct text optional_texts[] = {{"do it", 5}, {"pass it over", 12}};
static const struct text amend_texts[] = {{"leave the work as it was done", 29},
                                          {"go by the corrected value", 25}};
const struct choices insist_choices = {2, insist_texts};
const struct choices once_choices = {3, once_texts};
const struct choices optional_choices = {2, optional_texts};
const struct choices amend_choices = {2, amend_texts};

bool is_expected(const struct question *question, struct text meaning)
{
    if (question->any_text)
        return text_find(text_trim(meaning), TEXT(" ")) < text_trim(meaning).length;
    for (size_t i = 0; i < question->expected_count; i++) {
        if (text_equal(question->choices.texts[i], meaning))
            return true;
    }
    return false;
}

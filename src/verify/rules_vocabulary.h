#ifndef VERIFY_RULES_VOCABULARY_H
#define VERIFY_RULES_VOCABULARY_H
/*
 * rules_vocabulary.h - the words the rules of writing know, looked up.
 *
 * Purpose   Every word of every text of a procedure is looked up, and most are in
 *           no list: what that costs is what `check` costs.
 * Owns      the tables made from rules_word_list.h and rules_name_list.h.
 * May call  base.
 */
#include "base/text.h"

/* The word as the list has it, which stays; empty if it is not there.  `lower` is in small letters,
 * here and below. */
struct text word_listed(struct text lower);
/* Are two words, in this order, the name of something: "drain plug"?  Neither is longer than
 * WORD_LOWER_MAX. */
bool words_are_name(struct text first, struct text second);

#endif

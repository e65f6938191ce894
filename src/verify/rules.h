#ifndef VERIFY_RULES_H
#define VERIFY_RULES_H
/*
 * rules.h - is a procedure written so that it can be followed?
 *
 * Purpose   What a proof cannot see: two actions in one step, a hazard told in
 *           words and not tagged, an answer that says nothing.  The rules, their
 *           sources and what else keeps them are docs/writing-rules.md.
 * Owns      the findings W..., and what `allow` silences.
 * May call  base, measure, expression, procedure.
 *
 * Warnings are about the procedure's own file only: a part is looked at when it is checked
 * itself.  Errors are told of followed parts too, since a job would be begun with them.
 */
#include "procedure/procedure.h"

/* The procedure was read without an error.  Findings go to `found`, sorted by nobody. */
void rules_look(const struct procedure *procedure, struct diagnostics *found,
                struct arena *scratch);

/* The questions of a safety library, as far as they stand in its last file. */
void rules_look_at_library(const struct safety_library *library, struct diagnostics *found,
                           struct arena *scratch);

#endif

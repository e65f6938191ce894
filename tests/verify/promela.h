#ifndef TESTS_PROMELA_H
#define TESTS_PROMELA_H
/*
 * promela.h - a procedure as a model for SPIN, to check the checker.
 *
 * Purpose   A second reading of docs/safety.md, made from the typed tree of a
 *           procedure and from nothing of src/verify or src/safety, so that a
 *           mistake there is not copied here.  SPIN walks it.
 * Owns      the translation, and a table of the states from which making safe
 *           has an order, found backwards from "nothing owed" over all states.
 * May call  base, expression, procedure; the C library.
 *
 * One model holds several procedures, of which the environment variable WHICH
 * picks one when the model runs.  Whatever a person sees or chooses is printed as a line
 * that begins with @ (the event) or ! (the fault).
 */
#include "procedure/procedure.h"

#include <stdio.h>

/* False, and nothing written: something in it that the translation does not know, or too many
 * conditions for the table (with_make_safe). */
bool promela_write(FILE *out, const struct procedure *procedure, unsigned number,
                   bool with_make_safe);
void promela_write_head(FILE *out);
/* The choice among the procedures written, by number. */
void promela_write_choice(FILE *out, const unsigned *numbers, unsigned count);

#endif

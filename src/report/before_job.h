#ifndef BEFORE_JOB_H
#define BEFORE_JOB_H
/*
 * before_job.h - what the machine alone says of a procedure, before there is a job.
 *
 * Purpose   Who lays tools out wants those of this machine, and no others.
 * Owns      expressions without readings; branches that this machine settles.
 * May call  expression, procedure, telling.h.
 */
#include "telling.h"

/* Everything but the machine's values is missing.  As at the first position: an amount that differs
 * between them is not the author's usual case. */
struct surroundings before_job(const struct fitted *fitted, struct arena *arena);

/* No job on this machine ever comes to this work; whatever rests on more than the machine's values is
 * left open. */
bool machine_rules_out(const struct fitted *fitted, const struct work *work,
                       struct arena *arena);
/* Every job that comes to where this work stands does it, as far as its `when` and the alternatives
 * before it go; what is around it is not looked at. */
bool machine_makes_sure(const struct fitted *fitted, const struct work *work,
                        struct arena *arena);

#endif

#ifndef TESTS_RANDOM_PROCEDURE_H
#define TESTS_RANDOM_PROCEDURE_H
/*
 * random_procedure.h - procedures by the thousand, each from a number.
 *
 * Purpose   A sound skeleton (set up, work, put back) with every construct the
 *           proof knows, then perhaps one or two small faults of the kind an
 *           author makes: a setter made optional, a `when` turned round, a step
 *           lost or moved, a reading taken again in between.  Faults that are
 *           near misses are what shows whether a checker looks closely.
 * Owns      the generator and its random numbers; the same seed always gives the
 *           same text.
 * May call  the C library only.
 */
#include <stdbool.h>
#include <stddef.h>

struct dice {
    unsigned long long state;
};
unsigned long long dice_roll(struct dice *dice);        /* splitmix64 */
unsigned dice_below(struct dice *dice, unsigned limit); /* 0 to limit - 1 */
bool dice_chance(struct dice *dice, unsigned percent);

/* The YAML text, complete with conditions of its own; the caller frees it.  is_plain: nothing in it
 * makes two decisions hang together that the proof takes apart (a lowest value and each value; a position
 * named by its label), so that every path of the proof can be walked. */
char *random_procedure(unsigned long long seed, bool is_plain);

/* A machine sheet on which every one of them can be done. */
extern const char random_procedure_machine[];

#endif

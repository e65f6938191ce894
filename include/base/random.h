#ifndef BASE_RANDOM_H
#define BASE_RANDOM_H
/*
 * random.h - numbers that look drawn by lot, and are the same again from the same seed.
 *
 * Purpose   Who is treated, and the order in which choices are shown: a record
 *           replayed draws what was drawn.
 * Owns      this generator, splitmix64 (Steele, Lea, Flood 2014).
 * May call  nothing.
 */
#include <stdint.h>

/* Every seed is a good one, and the first state. */
uint64_t random_next(uint64_t *state);

#endif

#ifndef MEASURE_DECIMAL_H
#define MEASURE_DECIMAL_H
/*
 * decimal.h - a number as the decimal digits a person sees.
 *
 * Purpose   Rounding is done on decimal digits, not on binary fractions: what
 *           is a tie on paper is a tie here.
 * Owns      rounding half to even (NIST SP 811, B.7.1) and the layout of digits.
 * May call  base.
 */
#include "base/text.h"

struct decimal {
    char digits[20];
    int count;    /* digits kept; the first is not 0 unless all are */
    int exponent; /* value = 0.DIGITS * 10^exponent */
    bool is_negative;
};

/* The `precise` (1 to 17) leading digits of a finite value. */
struct decimal decimal_from(double value, unsigned precise);
/* Keeps `kept` digits, which may be 0 or less: what is left is then 0 or a 1 in the next place. */
void decimal_round(struct decimal *decimal, int kept);
/* With exactly `decimals` digits behind the point; digits that are missing are zeros. */
struct text decimal_text(struct arena *arena, const struct decimal *decimal, unsigned decimals);
/* 1.23e15 */
struct text decimal_text_scientific(struct arena *arena, const struct decimal *decimal);

#endif

/*
 * function_list.h - every function of the expression language.
 *
 * Columns: name, least and most arguments, signature, one-line summary.
 * The type rule of each is in check_call.c, its working in evaluate_call.c; each
 * has an example in docs/expressions.md.
 * No include guard: the file is included once for each table made from it.
 */
/* clang-format off */
FUNCTION(min,      1, 9, "min(x), min(a, b, ...)",  "the least of a vector's positions, or of several values")
FUNCTION(max,      1, 9, "max(x), max(a, b, ...)",  "the greatest")
FUNCTION(mean,     1, 9, "mean(x), mean(a, b, ...)", "the arithmetic mean")
FUNCTION(median,   1, 1, "median(x)",     "the middle one")
FUNCTION(sum,      1, 1, "sum(x)",        "the sum over the positions")
FUNCTION(count,    1, 1, "count(x), count(t)", "how many positions were read, or are true")
FUNCTION(stdev,    1, 1, "stdev(x)",      "sample standard deviation over the positions")
FUNCTION(scatter,  1, 1, "scatter(x)",    "the repeats' standard deviation, at each position")
FUNCTION(uncertainty, 1, 1, "uncertainty(x)", "standard uncertainty")
FUNCTION(abs,      1, 1, "abs(x)",        "without its sign")
FUNCTION(sqrt,     1, 1, "sqrt(x)",       "square root")
FUNCTION(round,    1, 2, "round(x), round(x, step)", "to the nearest whole number, or multiple of the step")
FUNCTION(any,      1, 1, "any(t)",        "is it true at some position")
FUNCTION(all,      1, 1, "all(t)",        "is it true at every position")
FUNCTION(none,     1, 1, "none(t)",       "is it true at no position")
FUNCTION(where,    1, 1, "where(t)",      "the positions where it is true, as text: 2 and 3")
FUNCTION(given,    1, 1, "given(x)",      "is there a value")
FUNCTION(beside,   1, 1, "beside(t)",     "is it true at some two physical neighbours")
FUNCTION(stands_out, 1, 1, "stands_out(x)", "does a position lie apart from the others by more than chance")
FUNCTION(previous, 1, 1, "previous(x)",   "the value at the cylinder that fires before")
FUNCTION(size,     1, 1, "size(cylinder)", "how many positions an index has")
FUNCTION(first_of, 1, 1, "first_of(cylinder)", "the label that the machine names first")
FUNCTION(star,     1, 1, "star(n)",       "the order in which to tighten n fasteners across")
FUNCTION(standard_pressure, 1, 1, "standard_pressure(altitude)", "US Standard Atmosphere 1976, up to 11 000 m")
FUNCTION(elapsed,  1, 1, "elapsed(timer)", "time since the timer was started")
FUNCTION(late,     1, 1, "late(timer)",   "by how much its at_most was overrun")
/* clang-format on */

/*
 * tell_numbers.c - what the product's arithmetic says, for programs in other languages to judge.
 *
 * A line of standard input is a question, a line of standard output its answer, in as many digits as
 * a double has.  A number may be `inf`, a limit `-` for none.  TERM is slope, freedom (0: known), pool.
 *
 *     below T FREEDOM                             probability
 *     quantile PROBABILITY FREEDOM                t
 *     rectangular HALF_WIDTH                      standard uncertainty
 *     scatter (COUNT VALUE...)...                 deviation, freedom
 *     band TERM...                                combined, freedom, expanded, guard
 *     conform VALUE LOW HIGH TERM...              probability, verdict
 *     judge (TREATED BEFORE AFTER VALUE...)...    verdict, lack, effect, band, freedom, repeat scatter,
 *                                                 its freedom, share of the allocations
 *     foresee TREATED UNTREATED BEFORE AFTER SCATTER FREEDOM
 *                                                 smallest effect, allocations, smallest share
 *     lowest COUNT                                standard deviations
 *     calc EXPRESSION                             value, combined, expanded; or `missing`
 */
#include "expression/expression.h"
#include "measure/trial.h"
#include "measure/verdict.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum { LINE_MOST = 1 << 16, NUMBERS_MOST = 4096 };

static double numbers[NUMBERS_MOST];

static void stop(const char *why, const char *line)
{
    (void)fprintf(stderr, "tell_numbers: %s: %s\n", why, line);
    exit(2);
}

static void stop_exhausted(size_t bytes_wanted)
{
    (void)bytes_wanted;
    stop("no room", "");
}

static size_t read_numbers(const char *at)
{
    size_t count = 0;
    while (*at != '\0') {
        char *end;
        while (*at == ' ')
            at++;
        if (*at == '\0')
            break;
        if (*at == '-' && (at[1] == ' ' || at[1] == '\0')) {
            numbers[count] = NAN;
            end = (char *)(uintptr_t)(at + 1);
        } else {
            numbers[count] = strtod(at, &end);
        }
        if (end == at || ++count == NUMBERS_MOST)
            stop("not so many numbers", at);
        at = end;
    }
    return count;
}

static const struct gradient *terms_from(size_t first, size_t count, struct arena *arena)
{
    size_t term_count = (count - first) / 3;
    struct error_term *terms = arena_array(arena, struct error_term, term_count);
    for (size_t i = 0; i < term_count; i++)
        terms[i] = (struct error_term){.source = (unsigned)i,
                                       .slope = numbers[first + 3 * i],
                                       .origin = ERROR_STATED,
                                       .freedom = numbers[first + 3 * i + 1],
                                       .pool = (unsigned)numbers[first + 3 * i + 2]};
    return gradient_of(arena, terms, term_count);
}

static void tell_scatter(size_t count)
{
    struct scatter scatter = {0};
    for (size_t at = 0; at < count; at += 1 + (size_t)numbers[at])
        scatter_add(&scatter, &numbers[at + 1], (size_t)numbers[at]);
    (void)printf("%.17g %.17g\n", scatter_deviation(&scatter), scatter.freedom);
}

static void tell_band(size_t count, struct arena *arena)
{
    const struct gradient *gradient = terms_from(0, count, arena);
    (void)printf("%.17g %.17g %.17g %.17g\n", gradient_combined(gradient),
                 gradient_freedom(gradient), gradient_expanded(gradient), guard_band(gradient));
}

static void tell_conformity(size_t count, struct arena *arena)
{
    struct measured value = {numbers[0], terms_from(3, count, arena)};
    struct measured low = {numbers[1], NULL}, high = {numbers[2], NULL};
    struct bounds bounds = {isnan(numbers[1]) ? NULL : &low, isnan(numbers[2]) ? NULL : &high};
    double probability = conformity_probability(value, bounds, arena);
    (void)printf("%.17g %d\n", probability, (int)conformity_of(probability));
}

static void tell_judgement(size_t count, struct arena *arena)
{
    struct trial_position *positions = arena_array(arena, struct trial_position, count);
    size_t position_count = 0;
    for (size_t at = 0; at < count;) {
        struct trial_position *position = &positions[position_count++];
        position->is_treated = numbers[at] != 0;
        position->before_count = (size_t)numbers[at + 1];
        position->after_count = (size_t)numbers[at + 2];
        position->before = &numbers[at + 3];
        position->after = position->before + position->before_count;
        at += 3 + position->before_count + position->after_count;
    }
    struct trial_outcome outcome = trial_judge(positions, position_count, arena);
    (void)printf("%d %d %.17g %.17g %.17g %.17g %.17g %.17g\n", (int)outcome.verdict,
                 (int)outcome.lack, outcome.effect, outcome.band, outcome.freedom,
                 outcome.repeat_scatter, outcome.repeat_freedom, outcome.allocation_share);
}

static void tell_prospect(void)
{
    struct trial_design design = {(unsigned)numbers[0], (unsigned)numbers[1],
                                  (unsigned)numbers[2], (unsigned)numbers[3],
                                  numbers[4],           numbers[5]};
    struct trial_prospect prospect = trial_foresee(&design);
    (void)printf("%.17g %.17g %.17g\n", prospect.smallest_effect, prospect.allocations,
                 prospect.smallest_share);
}

static bool find_nothing(void *self, struct text name, struct meaning *meaning)
{
    (void)self, (void)name, (void)meaning;
    return false;
}

static struct text nearest_nothing(void *self, struct text name)
{
    (void)self, (void)name;
    return TEXT("");
}

static void tell_calculation(const char *written, struct arena *arena)
{
    struct diagnostics found;
    diagnostics_begin(&found, arena);
    struct source source = {TEXT("standard input"), text_from(written)};
    struct place place = {&source, 1, 1, 1, 1};
    struct scope scope = {.find = find_nothing, .nearest = nearest_nothing};
    const struct expression *expression =
        expression_compile(source.bytes, place, &scope, &found, arena);
    if (expression == NULL)
        stop("no expression", written);
    struct surroundings around = {0};
    struct value value = expression_evaluate(expression, &around, arena);
    if (value.items[0].is_missing) {
        (void)puts("missing");
        return;
    }
    struct measured number = value.items[0].number;
    (void)printf("%.17g %.17g %.17g\n", number.value, gradient_combined(number.gradient),
                 gradient_expanded(number.gradient));
}

static void answer(const char *line, struct arena *arena)
{
    const char *rest = strchr(line, ' ');
    if (rest == NULL)
        stop("no numbers", line);
    size_t word = (size_t)(rest++ - line);
    if (strncmp(line, "calc", word) == 0) {
        tell_calculation(rest, arena);
        return;
    }
    size_t count = read_numbers(rest);
    if (strncmp(line, "below", word) == 0)
        (void)printf("%.17g\n", student_below(numbers[0], numbers[1]));
    else if (strncmp(line, "quantile", word) == 0)
        (void)printf("%.17g\n", student_quantile(numbers[0], numbers[1]));
    else if (strncmp(line, "rectangular", word) == 0)
        (void)printf("%.17g\n", rectangular_uncertainty(numbers[0]));
    else if (strncmp(line, "scatter", word) == 0)
        tell_scatter(count);
    else if (strncmp(line, "band", word) == 0)
        tell_band(count, arena);
    else if (strncmp(line, "conform", word) == 0)
        tell_conformity(count, arena);
    else if (strncmp(line, "judge", word) == 0)
        tell_judgement(count, arena);
    else if (strncmp(line, "foresee", word) == 0)
        tell_prospect();
    else if (strncmp(line, "lowest", word) == 0)
        (void)printf("%.17g\n", trial_lowest_by_chance((unsigned)numbers[0]));
    else
        stop("not a question", line);
}

int main(void)
{
    static char line[LINE_MOST];
    struct arena arena = arena_open(64 * (size_t)MEBIBYTE, stop_exhausted);
    while (fgets(line, sizeof line, stdin) != NULL) {
        struct arena_mark mark = arena_mark(&arena);
        line[strcspn(line, "\n")] = '\0';
        answer(line, &arena);
        arena_rewind(&arena, mark);
    }
    arena_close(&arena);
    return 0;
}

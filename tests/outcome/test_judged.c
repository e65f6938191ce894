/* What the numbers of a trial came to, in sentences; the numbers are invented, their trial hand-made. */
#include "outcome/judged.h"
#include "report/golden.h"

#include <math.h>

static struct arena arena;

static int begin(void **state)
{
    (void)state;
    arena = arena_open((size_t)1 << 24, golden_exhausted);
    return 0;
}
static int end(void **state)
{
    (void)state;
    arena_close(&arena);
    return 0;
}

/* In bar; the third and fourth were treated. */
static struct trial_outcome outcome_of(const double *changes)
{
    static const double zero = 0;
    static double after[4];
    struct trial_position positions[4];
    for (size_t i = 0; i < 4; i++) {
        after[i] = changes[i] * 1e5;
        positions[i] = (struct trial_position){i >= 2, &zero, &after[i], 1, 1};
    }
    return trial_judge(positions, 4, &arena);
}

static struct judged judged_of(const struct trial_outcome *outcome)
{
    struct text *names = arena_array(&arena, struct text, 4);
    for (int i = 0; i < 4; i++)
        names[i] = text_fill(&arena, "cylinder {}", text_number(&arena, i + 1));
    return (struct judged){.outcome = outcome,
                           .unit = unit_find(TEXT("bar")),
                           .names = names,
                           .count = 4,
                           .treated = 0xc,
                           .arena = &arena};
}

static void expect(struct text said, const char *words)
{
    if (text_find(said, text_from(words)) == said.length)
        fail_msg("'%s' is not in '%.*s'", words, (int)said.length, said.bytes);
}

static void expect_none(struct text said, const char *words)
{
    if (text_find(said, text_from(words)) < said.length)
        fail_msg("'%s' is in '%.*s'", words, (int)said.length, said.bytes);
}

static void better_and_worse_are_said_only_where_somebody_said_which(void **state)
{
    (void)state;
    struct trial_outcome outcome = outcome_of((const double[]){0.0, 0.1, 2.0, 2.1});
    struct judged judged = judged_of(&outcome);
    expect(judged_answer(&judged), "rose more");
    expect_none(judged_sentence(&judged, TEXT(""), TEXT("")), "Here that is");
    judged.better = BETTER_HIGHER;
    expect(judged_sentence(&judged, TEXT(""), TEXT(" Enough.")),
           "Here that is better. Enough.");
    judged.better = BETTER_LOWER;
    expect(judged_sentence(&judged, TEXT(""), TEXT("")), "Here that is WORSE.");
    outcome = outcome_of((const double[]){0.0, 0.1, -2.0, -2.1});
    expect(judged_answer(&judged), "fell more");
    expect(judged_sentence(&judged, TEXT(""), TEXT("")), "Here that is better.");
}

static void what_does_not_match_stands_behind_the_verdict(void **state)
{
    (void)state;
    struct trial_outcome outcome = outcome_of((const double[]){0.0, 0.1, 2.0, 2.1});
    struct judged judged = judged_of(&outcome);
    judged.unmatched = TEXT("gauge");
    expect(judged_answer(&judged), "rose more, downgraded: gauge");
    expect(judged_sentence(&judged, TEXT(""), TEXT("")),
           " Before and after are not comparable by: gauge.");
}

static void without_a_spread_there_is_no_verdict_to_downgrade(void **state)
{
    (void)state;
    struct trial_outcome outcome = outcome_of((const double[]){0.0, 0.0, 2.0, 2.1});
    struct judged judged = judged_of(&outcome);
    judged.unmatched = TEXT("gauge");
    struct text said = judged_sentence(&judged, judged_lack(&outcome, true), TEXT(""));
    expect(said, "No verdict: the untreated ones all changed alike and nothing was read twice");
    expect_none(said, "not comparable");
    assert_int_equal(judged_one_by_one(&outcome).length, 0);
    expect(judged_single(&outcome), "Single readings:");
}

static void each_position_says_on_which_side_it_stood(void **state)
{
    (void)state;
    struct trial_outcome outcome = outcome_of((const double[]){0.0, 0.1, 2.0, 2.1});
    struct judged judged = judged_of(&outcome);
    expect(judged_change(&judged, 1), "cylinder 2, left alone: ");
    expect(judged_change(&judged, 2), "cylinder 3, treated: ");
    expect(judged_one_by_one(&outcome), "One by one:");
}

/* The lowest of four normal values lies 1.0294 standard deviations below their mean (R 4.2.2,
 * integrate(function(x) 4*x*dnorm(x)*pnorm(x)^3, -Inf, Inf)): of 0.1 bar 0.103, and 0.10 would be more than
 * one part in forty too small. */
static void by_how_much_the_lowest_comes_back_is_said_where_it_is_known(void **state)
{
    (void)state;
    struct regression regression = {.positions = 4, .repeat_scatter = 1e4, .before = 1};
    const struct unit *bar = unit_find(TEXT("bar"));
    struct text said = judged_regression(TEXT("picked."), &regression, bar, &arena);
    expect(said, "Regression to the mean: picked. The lowest of 4 equal ones reads about 0.11");
    expect(said, "too low by chance alone");
    regression.repeat_scatter = NAN;
    regression.is_highest = true;
    said = judged_regression(TEXT("picked."), &regression, bar, &arena);
    expect(said, "The highest of 4 equal ones reads about 1.03 standard deviations too high");
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(better_and_worse_are_said_only_where_somebody_said_which),
        cmocka_unit_test(what_does_not_match_stands_behind_the_verdict),
        cmocka_unit_test(without_a_spread_there_is_no_verdict_to_downgrade),
        cmocka_unit_test(each_position_says_on_which_side_it_stood),
        cmocka_unit_test(by_how_much_the_lowest_comes_back_is_said_where_it_is_known),
    };
    return cmocka_run_group_tests_name("outcome/judged", tests, begin, end);
}

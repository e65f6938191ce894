#include "base/check.h"

static const struct text keys[] = {
    TEXT_CONSTANT("title"),   TEXT_CONSTANT("revision"), TEXT_CONSTANT("steps"),
    TEXT_CONSTANT("machine"), TEXT_CONSTANT("at_least"), TEXT_CONSTANT("at_most"),
    TEXT_CONSTANT("between"), TEXT_CONSTANT("do"),
};

static struct text nearest(const char *misspelt)
{
    return text_nearest(text_from(misspelt), keys, sizeof keys / sizeof *keys);
}

static void a_slip_of_the_finger_is_recognised(void **state)
{
    (void)state;
    assert_text(nearest("titel"), "title");       /* two letters swapped */
    assert_text(nearest("step"), "steps");        /* one left out */
    assert_text(nearest("machinne"), "machine");  /* one too many */
    assert_text(nearest("at-least"), "at_least"); /* one changed */
    assert_text(nearest("revisoin"), "revision");
    assert_text(nearest("betwen"), "between");
}

static void case_alone_is_the_nearest_of_all(void **state)
{
    (void)state;
    assert_text(nearest("Steps"), "steps");
    const struct text units[] = {TEXT("mPa"), TEXT("MPa"), TEXT("Pa")};
    assert_text(text_nearest(TEXT("PA"), units, 3), "Pa");
}

static void a_different_word_gets_no_suggestion(void **state)
{
    (void)state;
    assert_text(nearest("torque"), "");
    assert_text(nearest("x"), "");
    assert_text(nearest(""), "");
    assert_text(nearest("no"), "do"); /* one of two letters */
    assert_text(nearest("a very long line of words that nobody mistyped for a key"), "");
    assert_text(text_nearest(TEXT("do"), NULL, 0), "");
}

static void characters_count_not_bytes(void **state)
{
    (void)state;
    const struct text units[] = {TEXT("N·m")};
    assert_text(text_nearest(TEXT("N.m"), units, 1), "N·m");
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_slip_of_the_finger_is_recognised),
        cmocka_unit_test(case_alone_is_the_nearest_of_all),
        cmocka_unit_test(a_different_word_gets_no_suggestion),
        cmocka_unit_test(characters_count_not_bytes),
    };
    return cmocka_run_group_tests_name("base/nearest", tests, NULL, NULL);
}

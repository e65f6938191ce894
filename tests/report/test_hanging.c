#include "card_fixture.h"

static void a_card_says_what_became_of_each(void **state)
{
    struct card_fixture *fixture = *state;
    start(fixture, false);
    expect_says(fixture, "Step 1 (shut valve)  WARNING at step 4 (press) without this: "
                         "valve shut  not done");
    do_step(fixture, "shut_valve", -1);
    /* what was simply done is counted, so that the rest stands out */
    expect_says(fixture,
                "1 step on which a warning hangs was answered as done, once and in its "
                "order.");
    do_step(fixture, "shut_valve", -1);
    expect_says(fixture, "valve shut  done, redone");
}

static void a_skipped_one_stands_out(void **state)
{
    struct card_fixture *fixture = *state;
    start(fixture, false);
    struct event skipped = at_step(fixture, EVENT_SKIPPED, "shut_valve", -1);
    skipped.reason = TEXT("it is stuck");
    put(fixture, skipped);
    expect_says(fixture, "valve shut  SKIPPED");
}

static void what_only_stays_open_is_counted(void **state)
{
    struct card_fixture *fixture = *state;
    start(fixture, false);
    expect_says(fixture, "3 other steps lead to no warning when left out");
    fixture->ranking.steps += 3;
    fixture->ranking.count = 1;
    expect_says(fixture, "1 other step leads to no warning when it is left out");
}

static void what_could_not_be_ranked_is_named(void **state)
{
    struct card_fixture *fixture = *state;
    const struct work *unranked =
        procedure_find_step(fixture->fitted->procedure, TEXT("shut_valve"));
    start(fixture, false);
    fixture->ranking = (struct ranking){.unranked = &unranked, .unranked_count = 1};
    expect_says(fixture, "Not ranked: too many combinations: step 1 (shut valve).");
}

/* Two steps that guard against the same harm are one row; each row is named by the warning it goes by. */
static void a_kit_groups_them_by_what_they_guard_against(void **state)
{
    struct card_fixture *fixture = *state;
    const struct day today = {0};
    struct card kit =
        kit_build(fixture->fitted, &fixture->ranking, false, &today, &fixture->arena);
    struct text words = card_as_text(&kit, 200, &fixture->arena);
    assert_true(text_find(words, TEXT("1 step: 1 (shut valve)")) < words.length);
    assert_true(text_find(words, TEXT("leads to\n")) == words.length);
    kit = kit_build(fixture->fitted, &fixture->ranking, true, &today, &fixture->arena);
    words = card_as_text(&kit, 200, &fixture->arena);
    assert_true(text_find(words, TEXT("WARNING at step 4 (press) without this")) <
                words.length);
}

static void nothing_hangs_on_anything_says_nothing(void **state)
{
    struct card_fixture *fixture = *state;
    start(fixture, false);
    fixture->ranking = (struct ranking){.count = 0};
    struct text card = card_words(fixture);
    assert_int_equal(text_find(card, TEXT("hangs")), card.length);
}

#define CASE(test) cmocka_unit_test_setup_teardown(test, card_fixture_begin, card_fixture_end)

int main(void)
{
    const struct CMUnitTest tests[] = {
        CASE(a_card_says_what_became_of_each),
        CASE(a_skipped_one_stands_out),
        CASE(what_only_stays_open_is_counted),
        CASE(what_could_not_be_ranked_is_named),
        CASE(a_kit_groups_them_by_what_they_guard_against),
        CASE(nothing_hangs_on_anything_says_nothing),
    };
    return cmocka_run_group_tests_name("report/hanging", tests, NULL, NULL);
}

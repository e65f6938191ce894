/* The words the rules of writing know: forms of verbs, false friends, hazards told in words. */
#include "verify/rules_vocabulary.h"
#include "verify/rules_words.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>

#include <cmocka.h>

static void out_of_memory(size_t bytes_wanted)
{
    (void)fprintf(stderr, "no room for %zu bytes\n", bytes_wanted);
    abort();
}

static int open_arena(void **state)
{
    static struct arena arena;
    arena = arena_open(16 * MEBIBYTE, out_of_memory);
    *state = &arena;
    return 0;
}

static int close_arena(void **state)
{
    arena_close(*state);
    return 0;
}

/* --- the lists ----------------------------------------------------------------------------------- */

static const struct {
    const char *word;
    unsigned is;
} list[] = {
#define WORD(word, is) {(word), (is)},
#include "verify/rules_word_list.h"
#undef WORD
};
enum { LISTED = sizeof list / sizeof *list };

static const struct {
    const char *verb, *activities;
} hazard_list[] = {
#define HAZARD(verb, objects, unless, activities) {(verb), (activities)},
#include "verify/rules_hazard_list.h"
#undef HAZARD
};
enum { HAZARDS_LISTED = sizeof hazard_list / sizeof *hazard_list };

static void the_words_are_sorted_and_each_is_found(void **state)
{
    (void)state;
    for (size_t i = 0; i < LISTED; i++) {
        if (i > 0)
            assert_true(strcmp(list[i - 1].word, list[i].word) < 0);
        assert_true(strlen(list[i].word) <= WORD_LOWER_MAX);
        assert_int_equal(word_known(text_from(list[i].word)), list[i].is);
    }
    assert_int_equal(word_known(TEXT("aardvark")), 0);
    assert_int_equal(word_known(TEXT("zzz")), 0);
    assert_int_equal(word_known(TEXT("tak")), 0);
    assert_int_equal(word_known(TEXT("takes")), 0);
}

static void the_names_are_sorted_and_each_is_found(void **state)
{
    static const char *const names[] = {
#define NAME(name) name,
#include "verify/rules_name_list.h"
#undef NAME
    };
    (void)state;
    for (size_t i = 0; i < sizeof names / sizeof *names; i++) {
        if (i > 0)
            assert_true(strcmp(names[i - 1], names[i]) < 0);
        struct text second = text_from(names[i]), first;
        assert_true(text_cut(&second, ' ', &first));
        assert_true(words_are_name(first, second));
        assert_false(words_are_name(second, first));
    }
    assert_false(words_are_name(TEXT("drain"), TEXT("plu")));
    assert_false(words_are_name(TEXT("drain"), TEXT("plugs")));
}

static void every_hazard_begins_with_a_word_that_is_marked(void **state)
{
    (void)state;
    size_t marked = 0;
    for (size_t h = 0; h < HAZARDS_LISTED; h++)
        assert_true((word_known(text_from(hazard_list[h].verb)) & IS_HAZARD) != 0);
    for (size_t i = 0; i < LISTED; i++) {
        if ((list[i].is & IS_HAZARD) == 0)
            continue;
        bool has_row = false;
        for (size_t h = 0; h < HAZARDS_LISTED; h++)
            has_row = has_row || strcmp(list[i].word, hazard_list[h].verb) == 0;
        if (!has_row)
            print_error("%s has no row\n", list[i].word);
        assert_true(has_row);
        marked++;
    }
    assert_true(marked > 20);
}

/* --- cutting --------------------------------------------------------------------------------------- */

static void a_text_is_cut_into_words(void **state)
{
    struct words words =
        words_of(TEXT("Take plug {cylinder} out, 1.5 turns; then wipe it."), *state);
    static const char *const wanted[] = {"Take",  "plug", "{cylinder}", "out", "1.5",
                                         "turns", "then", "wipe",       "it"};
    assert_int_equal(words.count, sizeof wanted / sizeof *wanted);
    for (size_t i = 0; i < words.count; i++)
        assert_true(text_equal(words.items[i].text, text_from(wanted[i])));
    assert_true(words.items[0].opens_sentence);
    assert_true(words.items[2].is_value);
    assert_true(words.items[4].opens && !words.items[4].opens_sentence);
    assert_true(words.items[6].opens_sentence);
    assert_true(words.items[7].opens); /* behind "then" */
    assert_false(words.items[8].opens);
}

static void nothing_is_no_word(void **state)
{
    assert_int_equal(words_of(TEXT(""), *state).count, 0);
    assert_int_equal(words_of(TEXT(" ,. ; "), *state).count, 0);
    assert_int_equal(words_of(TEXT("{"), *state).count, 0);
    assert_int_equal(words_of(TEXT("{{x}}"), *state).count, 1);
    assert_int_equal(words_of(TEXT("{a"), *state).count, 1);
}

static void hyphens_and_apostrophes_do_not_count(void **state)
{
    struct words words = words_of(TEXT("De-energise it, don't touch O-rings"), *state);
    assert_true((words.items[0].is & IS_VERB) != 0);
    assert_true((words.items[2].is & IS_NEGATION) != 0);
    assert_true(text_equal(word_lower(&words.items[4]), TEXT("orings")));
}

static void dashes_part_and_curled_apostrophes_join(void **state)
{
    struct words words = words_of(TEXT("Push it home \u2014 don\u2019t twist it"), *state);
    assert_int_equal(words.count, 6);
    assert_true(words.items[3].opens);
    assert_true((words.items[3].is & IS_NEGATION) != 0);
}

static void a_word_too_long_for_the_list_is_not_known(void **state)
{
    struct words words = words_of(TEXT("Donaudampfschifffahrtsgesellschaft abbauen"), *state);
    assert_int_equal(words.count, 2);
    assert_int_equal(words.items[0].is, 0);
    assert_int_equal(word_lower(&words.items[0]).length, 0);
}

/* --- forms of a verb --------------------------------------------------------------------------------- */

static void forms_lead_back_to_their_verb(void **state)
{
    static const struct {
        const char *form, *verb;
    } cases[] = {
        {"remove", "remove"},
        {"Removes", "remove"},
        {"removing", "remove"},
        {"removed", "remove"},
        {"fitting", "fit"},
        {"unplugged", "unplug"},
        {"tightening", "tighten"},
        {"applied", "apply"},
        {"applies", "apply"},
        {"presses", "press"},
        {"Wiping", "wipe"},
        {"drilled", "drill"},
        {"filling", "fill"},
        {"verifies", "verify"},
        {"charged", "charge"},
        {"spring", ""},
        {"The", ""},
        {"bearing", ""},
        {"red", ""},
        {"string", ""},
        {"nut", ""},
    };
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
        struct words words = words_of(text_from(cases[i].form), *state);
        struct text verb = word_verb(&words.items[0]);
        if (!text_equal(verb, text_from(cases[i].verb)))
            print_error("%s: %.*s\n", cases[i].form, (int)verb.length, verb.bytes);
        assert_true(text_equal(verb, text_from(cases[i].verb)));
    }
}

static void a_plural_is_the_same_word(void **state)
{
    struct words words = words_of(TEXT("filter filters gas brass filth"), *state);
    assert_true(word_same(&words.items[0], &words.items[1]));
    assert_false(word_same(&words.items[0], &words.items[4]));
    assert_true(word_same(&words.items[2], &words.items[2]));
    assert_false(word_same(&words.items[2], &words.items[3]));
}

/* --- orders -------------------------------------------------------------------------------------------- */

/* How many orders there are behind the first word. */
static size_t orders_behind(const char *text, struct arena *arena)
{
    struct words words = words_of(text_from(text), arena);
    size_t orders = 0;
    for (size_t i = 1; i < words.count; i++)
        orders += word_is_order(&words, i);
    return orders;
}

static void a_second_order_is_seen(void **state)
{
    static const char *const texts[] = {
        "Undo the bolts and take the cover off.",
        "Undo the bolts, then remove the cover.",
        "Undo the bolts and seal the joint.",
        "Loosen and remove bolt 3.",
        "Hold the rod; turn the nut.",
        "Wipe the stick, push it home.",
        "Take it off and carefully drain it.",
        "Open the tap and check each joint.",
        "Slacken the nut and turn {count} turns.",
    };
    for (size_t i = 0; i < sizeof texts / sizeof *texts; i++) {
        if (orders_behind(texts[i], *state) == 0)
            print_error("no second order in: %s\n", texts[i]);
        assert_true(orders_behind(texts[i], *state) > 0);
    }
}

static void what_is_only_a_list_is_no_second_order(void **state)
{
    static const char *const texts[] = {
        "Take plug, washer and seal off.",
        "Look over the engine for tools, rags and loose caps.",
        "Take the cable off the pump and clamp.",
        "Take the check valve and drain plug off.",
        "Turn the switch to stop and start position.",
        "Run the engine at idle, ears on the sound.",
        "Push the vehicle hard both ways, brake off.",
        "Read the grade on the can. Wanted: {machine.oil_grade}.",
        "Count the old rings in the row and the new ones on the cap.",
        "Wipe the seat clean and dry.",
        "Rock the gear lever from side to side, clutch in.",
        "Loosen the lock nut, drive belt and jack point by eye.",
    };
    for (size_t i = 0; i < sizeof texts / sizeof *texts; i++) {
        if (orders_behind(texts[i], *state) != 0)
            print_error("an order was seen in: %s\n", texts[i]);
        assert_int_equal(orders_behind(texts[i], *state), 0);
    }
}

static void the_name_of_a_thing_is_no_verb(void **state)
{
    static const char *const names[] = {"Check valves", "Start position", "Drain plug",
                                        "Jack stands",  "Torque wrench",  "Crank pulley"};
    for (size_t i = 0; i < sizeof names / sizeof *names; i++) {
        struct words words = words_of(text_from(names[i]), *state);
        assert_int_equal(words.items[0].is & (IS_VERB | IS_CHECK | IS_HAZARD), 0);
    }
    struct words words = words_of(TEXT("Check the valve"), *state);
    assert_int_equal(words.items[0].is & (IS_VERB | IS_CHECK), IS_VERB | IS_CHECK);
}

/* --- hazards ------------------------------------------------------------------------------------------- */

struct told {
    struct text phrase, activities;
    size_t count;
};

static void note_hazard(void *self, const struct hazard *hazard, struct text phrase)
{
    struct told *told = self;
    told->phrase = phrase;
    told->activities = hazard->activities;
    told->count++;
}

static struct told hazard_in(const char *text, struct arena *arena)
{
    struct told told = {.count = 0};
    struct text whole = text_from(text);
    struct words words = words_of(whole, arena);
    words_hazards(&words, whole, note_hazard, &told);
    return told;
}

static void hazards_are_told_by_their_words(void **state)
{
    static const struct {
        const char *text, *phrase, *activity;
    } cases[] = {
        {"Crank until the needle stops rising.", "Crank", "crank_engine"},
        {"Hold the throttle open, then crank for ten seconds.", "crank", "crank_engine"},
        {"Start the engine.", "Start the engine", "run_engine"},
        {"Turn the key to start the engine.", "start the engine", "run_engine"},
        {"Run the warm engine at idle.", "Run the warm engine", "run_engine"},
        {"Turn the crankshaft two full turns.", "Turn the crankshaft", "turn_by_hand"},
        {"Get down under the sill.", "Get down under", "work_underneath"},
        {"Crawl beneath it.", "Crawl beneath", "work_underneath"},
        {"Jack up the rear.", "Jack up", "lifting"},
        {"Raise one end with the jack.", "Raise one end", "lifting"},
        {"Lower the car to the ground.", "Lower the car", "lowering"},
        {"Open the fuel line at the pump.", "Open the fuel line", "open_fuel"},
        {"Disconnect both fuel hoses.", "Disconnect both fuel hoses", "open_fuel"},
        {"Remove the radiator cap.", "Remove the radiator cap", "open_coolant"},
        {"Drain the old oil.", "Drain the old oil", "drain_hot_oil"},
        {"Disconnect the battery.", "Disconnect the battery", "disconnect_battery"},
        {"Charge the battery.", "Charge the battery", "charge_battery"},
        {"Blow the dirt out of the wells.", "Blow the dirt", "compressed_air"},
        {"Pressurise the cylinder.", "Pressurise", "compressed_air"},
        {"Read the gauge while cranking.", "cranking", "crank_engine"},
        {"Line up the marks by turning the crankshaft.", "turning the crankshaft",
         "turn_by_hand"},
        {"Roll the vehicle forward.", "Roll the vehicle", "move_vehicle"},
    };
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
        struct told told = hazard_in(cases[i].text, *state);
        struct text activity = text_from(cases[i].activity);
        if (told.count == 0)
            print_error("no hazard in: %s\n", cases[i].text);
        assert_true(told.count > 0);
        if (!text_equal(told.phrase, text_from(cases[i].phrase)))
            print_error("%s: %.*s\n", cases[i].text, (int)told.phrase.length,
                        told.phrase.bytes);
        assert_true(text_equal(told.phrase, text_from(cases[i].phrase)));
        assert_true(text_find(told.activities, activity) < told.activities.length);
    }
}

static void words_that_are_no_hazard_are_let_pass(void **state)
{
    static const char *const texts[] = {
        "Turn the engine off.",
        "Run a cloth along the engine.",
        "Start at the front of the engine.",
        "Start the timer.",
        "Loosen the crank bolt.",
        "Look at belts, crank and fan.",
        "Set the switch to the start position.",
        "Slide a sheet of cardboard in beneath the engine.",
        "Set the pan under the drain plug.",
        "Lift the bonnet of the car.",
        "Raise the machine cover.",
        "Drive the pin out.",
        "Drain the oil pan into the can.",
        "Roll the jack away.",
        "Put the jack under the axle.",
        "Read the engine number.",
        "Charge the printer.",
        "Remove the battery cover.",
        "Disconnect the charger from the battery.",
        "Crank the window down by its handle.",
        "Warm the bearing to hand heat.",
        "Take the fuel pump fuse out.",
        "Go to the front.",
        "Read the cranking voltage again.",
        "Hold the cover by its turning handle.",
        "Wipe the lines for coolant and fuel.",
    };
    for (size_t i = 0; i < sizeof texts / sizeof *texts; i++) {
        struct told told = hazard_in(texts[i], *state);
        if (told.count > 0)
            print_error("a hazard was seen in: %s\n", texts[i]);
        assert_int_equal(told.count, 0);
    }
}

int main(void)
{
    static const struct CMUnitTest tests[] = {
        cmocka_unit_test(the_words_are_sorted_and_each_is_found),
        cmocka_unit_test(the_names_are_sorted_and_each_is_found),
        cmocka_unit_test(every_hazard_begins_with_a_word_that_is_marked),
        cmocka_unit_test(a_text_is_cut_into_words),
        cmocka_unit_test(nothing_is_no_word),
        cmocka_unit_test(hyphens_and_apostrophes_do_not_count),
        cmocka_unit_test(dashes_part_and_curled_apostrophes_join),
        cmocka_unit_test(a_word_too_long_for_the_list_is_not_known),
        cmocka_unit_test(forms_lead_back_to_their_verb),
        cmocka_unit_test(a_plural_is_the_same_word),
        cmocka_unit_test(a_second_order_is_seen),
        cmocka_unit_test(what_is_only_a_list_is_no_second_order),
        cmocka_unit_test(the_name_of_a_thing_is_no_verb),
        cmocka_unit_test(hazards_are_told_by_their_words),
        cmocka_unit_test(words_that_are_no_hazard_are_let_pass),
    };
    return cmocka_run_group_tests(tests, open_arena, close_arena);
}

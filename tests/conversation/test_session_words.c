#include "support/fake_ports.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

static struct fake *typed(const char *const *lines, size_t count)
{
    struct fake *fake =
        fake_open("tests/sessions/pressure_check.yaml", "tests/sessions/machine.yaml");
    fake_type(fake, lines, count);
    (void)fake_start(fake);
    return fake;
}

#define TYPED(...)                                                                             \
    typed((const char *const[]){"21", "handbook, page 30", "412.5", __VA_ARGS__},              \
          3 + sizeof((const char *const[]){__VA_ARGS__}) / sizeof(const char *))

static const struct event *last_of(const struct fake *fake, enum event_kind kind)
{
    for (size_t i = fake->event_count; i-- > 0;)
        if (fake->events[i].kind == kind)
            return &fake->events[i];
    return NULL;
}

static void every_word_has_a_summary_and_stands_alone(void **state)
{
    (void)state;
    struct session_word word, other;
    size_t count = 0;
    for (; session_word_at(count, &word); count++) {
        assert_true(strlen(word.summary) > 0);
        for (size_t i = 0; i < count; i++) {
            assert_true(session_word_at(i, &other));
            assert_string_not_equal(word.word, other.word);
        }
    }
    assert_int_equal(count, 10);
}

struct lines {
    size_t count;
    bool counts;
};

static void count_lines(void *self, enum tone tone, struct text paragraph)
{
    struct lines *lines = ((struct fake *)self)->own;
    (void)tone;
    if (text_starts(paragraph, TEXT("Enter alone")))
        lines->counts = true;
    if (text_starts(paragraph, TEXT("Step 1 ·")))
        lines->counts = false;
    for (struct text rest = paragraph; lines->counts && rest.length > 0;) {
        (void)text_wrap(&rest, 80);
        lines->count++;
    }
}

static void help_fits_a_screen(void **state)
{
    (void)state;
    static const char *const LINES[] = {"21", "handbook, page 30", "412.5", "help", "!end"};
    struct lines lines = {0};
    struct fake *fake =
        fake_open("tests/sessions/pressure_check.yaml", "tests/sessions/machine.yaml");
    fake->own = &lines;
    fake->session.console.tell = count_lines;
    fake_type(fake, LINES, 5);
    (void)fake_start(fake);
    assert_in_range(lines.count, 12, 24);
    fake_close(fake);
}

static void a_dot_makes_a_word_where_a_text_is_asked(void **state)
{
    (void)state;
    static const char *const LINES[] = {"21", ".help", "pause", "412.5", "!end"};
    struct fake *fake =
        fake_open("tests/sessions/pressure_check.yaml", "tests/sessions/machine.yaml");
    fake_type(fake, LINES, 5);
    (void)fake_start(fake);
    assert_true(fake_was_told(fake, "why: the reason for this step"));
    bool is_source = false;
    for (size_t i = 0; i < fake->event_count; i++)
        is_source = is_source || text_equal(fake->events[i].source, TEXT("pause"));
    assert_true(is_source);
    fake_close(fake);
}

static void a_note_is_kept_as_it_was_typed(void **state)
{
    (void)state;
    struct fake *fake = TYPED("Note  the left tyre is worn", "!end");
    const struct event *noted = last_of(fake, EVENT_NOTED);
    assert_non_null(noted);
    assert_true(text_equal(noted->typed, TEXT("the left tyre is worn")) ||
                text_equal(noted->meaning, TEXT("the left tyre is worn")));
    fake_close(fake);
}

static void a_picture_is_kept_with_its_bytes(void **state)
{
    (void)state;
    struct fake *fake = TYPED("photo pictures/plug.jpg", "photo", "photo none.jpg", "!end");
    const struct event *attached = last_of(fake, EVENT_ATTACHED);
    assert_non_null(attached);
    assert_true(text_equal(attached->bytes, TEXT("a picture")));
    assert_true(text_equal(attached->name, TEXT("plug.jpg")));
    assert_true(fake_was_told(fake, "Name the file behind the word"));
    assert_true(fake_was_told(fake, "Could not read none.jpg: no such file."));
    fake_close(fake);
}

static void a_correction_keeps_the_old_answer(void **state)
{
    (void)state;
    struct fake *fake = TYPED("amend", "1", "512.5", "misread", "!end");
    const struct event *amended = last_of(fake, EVENT_AMENDED);
    assert_non_null(amended);
    assert_true(text_equal(amended->typed, TEXT("512.5")));
    assert_true(text_equal(amended->reason, TEXT("misread")));
    const struct event *old = &fake->events[amended->amends - 1];
    assert_true(text_equal(old->typed, TEXT("412.5")));
    fake_close(fake);
}

static void a_correction_can_be_left(void **state)
{
    (void)state;
    struct fake *fake =
        TYPED("amend", "nothing, go on", "amend", "1", "", "amend", "1", "3", "", "!end");
    assert_null(last_of(fake, EVENT_AMENDED));
    fake_close(fake);
}

static void skipping_wants_a_reason_and_stands_on_record(void **state)
{
    (void)state;
    struct fake *fake =
        TYPED("stayed still", "none", "skip", "skip it is out already", "where", "!end");
    const struct event *skipped = last_of(fake, EVENT_SKIPPED);
    assert_non_null(skipped);
    assert_true(text_equal(skipped->reason, TEXT("it is out already")));
    assert_true(fake_was_told(fake, "Proof void from step 3"));
    fake_close(fake);
}

static void making_safe_asks_for_its_steps_and_can_end_there(void **state)
{
    (void)state;
    struct fake *fake =
        TYPED("stayed still", "none", "makesafe", "make it safe now", "", "", "end", "!end");
    assert_true(fake_was_told(fake, "To make it safe, in this order:"));
    assert_true(fake_was_told(fake, "Make safe"));
    struct open_condition *open = NULL;
    assert_int_equal(condition_open(job_conditions(fake->session.job), &open, &fake->scratch),
                     0);
    fake_close(fake);
}

static void a_job_can_be_ended_left_open(void **state)
{
    (void)state;
    static const char *const LINES[] = {"21",       "handbook, page 30",
                                        "412.5",    "stayed still",
                                        "makesafe", "end the job here, left open"};
    struct fake *fake =
        fake_open("tests/sessions/pressure_check.yaml", "tests/sessions/machine.yaml");
    fake_type(fake, LINES, 6);
    assert_int_equal(fake_start(fake), SESSION_LEFT_OPEN);
    assert_true(fake_was_told(fake, "LEFT OPEN"));
    assert_true(fake_was_told(fake, "wheels chocked"));
    fake_close(fake);
}

static void a_misspelt_word_is_not_taken_for_done(void **state)
{
    (void)state;
    struct fake *fake = TYPED("stayed still", "none", "", "wyh", "!end");
    assert_true(fake_was_told(fake, "Did you mean why?"));
    assert_true(fake_was_told(fake, "help lists the words"));
    const struct event *done = last_of(fake, EVENT_DONE);
    assert_true(
        text_equal(fake->procedure->works[done->spot.work]->step->name, TEXT("lead_off")));
    fake_close(fake);
}

static void what_a_person_guesses_is_answered(void **state)
{
    (void)state;
    struct fake *fake =
        TYPED("stayed still", "none", "done", "quit", "read it", "card", "!end");
    assert_true(fake_was_told(fake,
                              "'done' is no word that is known here. Enter alone means it "
                              "is read. help lists the words."));
    assert_true(fake_was_told(fake, "pause stops here; nothing is lost."));
    assert_true(fake_was_told(fake, "banksman card"));
    assert_null(last_of(fake, EVENT_NOTED));
    fake_close(fake);
}

static void a_dotted_word_misspelt_is_no_text(void **state)
{
    (void)state;
    static const char *const LINES[] = {"21", ".helpp", "handbook, page 30", "412.5", "!end"};
    struct fake *fake =
        fake_open("tests/sessions/pressure_check.yaml", "tests/sessions/machine.yaml");
    fake_type(fake, LINES, 5);
    (void)fake_start(fake);
    assert_true(fake_was_told(fake, "Did you mean .help?"));
    for (size_t i = 0; i < fake->event_count; i++)
        assert_false(text_equal(fake->events[i].source, TEXT(".helpp")));
    fake_close(fake);
}

static void make_safe_from_a_menu_shows_its_order_before_it_begins(void **state)
{
    (void)state;
    struct fake *fake = TYPED("moved", "make safe", "go on with the work", "make safe",
                              "make it safe now", "!end");
    assert_true(fake_was_told(fake, "To make it safe, in this order:"));
    size_t begun = 0;
    for (size_t i = 0; i < fake->event_count; i++)
        begun += fake->events[i].kind == EVENT_DECIDED && fake->events[i].spot.work == 0 &&
                 text_equal(fake->events[i].name, TEXT("makesafe")); /* not of one step */
    assert_int_equal(begun, 1);
    fake_close(fake);
}

static struct fake *typed_into(const char *procedure, const char *const *lines, size_t count)
{
    struct fake *fake = fake_open_text(procedure);
    fake_type(fake, lines, count);
    (void)fake_start(fake);
    return fake;
}

#define MANY_READ                                                                              \
    "procedure: t\ntitle: T\nrevision: 1\nabout: A test.\n"                                    \
    "steps:\n"                                                                                 \
    "  - repeat: often\n    times: 11\n    steps:\n"                                           \
    "      - {step: read, do: Read it., record: {volts: {unit: V, between: [0 V, 15 V]}}}\n"   \
    "  - {step: last, do: Close it.}\n"

static void an_answer_older_than_nine_others_can_be_corrected(void **state)
{
    (void)state;
    const char *const lines[] = {"1",  "2",  "3",     "4",  "5", "6",   "7",    "8",   "9",
                                 "10", "11", "amend", "10", "2", "1.5", "slip", "!end"};
    struct fake *fake = typed_into(MANY_READ, lines, sizeof lines / sizeof *lines);
    const struct event *amended = last_of(fake, EVENT_AMENDED);
    assert_non_null(amended);
    assert_true(text_equal(fake->events[amended->amends - 1].typed, TEXT("1")));
    fake_close(fake);
}

static void a_correction_is_looked_at_before_its_reason(void **state)
{
    (void)state;
    const char *const lines[] = {"12",
                                 "amend",
                                 "1",
                                 "3 bar",
                                 "amend",
                                 "1",
                                 "120",
                                 "leave it as it was",
                                 "amend",
                                 "1",
                                 "120",
                                 "keep it",
                                 "a charger is on",
                                 "!end"};
    struct fake *fake = typed_into(MANY_READ, lines, sizeof lines / sizeof *lines);
    assert_true(fake_was_told(fake, "is wanted here"));
    assert_true(fake_was_told(fake, "Nothing was corrected."));
    const struct event *amended = last_of(fake, EVENT_AMENDED);
    assert_non_null(amended);
    assert_true(text_equal(amended->reason, TEXT("a charger is on")));
    fake_close(fake);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(every_word_has_a_summary_and_stands_alone),
        cmocka_unit_test(help_fits_a_screen),
        cmocka_unit_test(a_dot_makes_a_word_where_a_text_is_asked),
        cmocka_unit_test(a_note_is_kept_as_it_was_typed),
        cmocka_unit_test(a_picture_is_kept_with_its_bytes),
        cmocka_unit_test(a_correction_keeps_the_old_answer),
        cmocka_unit_test(a_correction_can_be_left),
        cmocka_unit_test(skipping_wants_a_reason_and_stands_on_record),
        cmocka_unit_test(making_safe_asks_for_its_steps_and_can_end_there),
        cmocka_unit_test(a_job_can_be_ended_left_open),
        cmocka_unit_test(a_misspelt_word_is_not_taken_for_done),
        cmocka_unit_test(what_a_person_guesses_is_answered),
        cmocka_unit_test(a_dotted_word_misspelt_is_no_text),
        cmocka_unit_test(make_safe_from_a_menu_shows_its_order_before_it_begins),
        cmocka_unit_test(an_answer_older_than_nine_others_can_be_corrected),
        cmocka_unit_test(a_correction_is_looked_at_before_its_reason),
    };
    return cmocka_run_group_tests_name("conversation/session_words", tests, NULL, NULL);
}

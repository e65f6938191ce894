/* One reading over the years, as tests/cards shows it.  The engine, its gauge and every number are
 * invented; what is worked out from them was worked out by hand, beside each check. */
#include "base/calendar.h"
#include "conversation/rehearsal.h"
#include "golden.h"
#include "report/history.h"
#include "support/fake_ports.h"

#define PRESS_PROCEDURE(revision, gauge, dry, results)                                         \
    "procedure: press_check\n"                                                                 \
    "title: Press every cylinder\n"                                                            \
    "revision: " revision "\n"                                                                 \
    "about: The same every year.\n"                                                            \
    "inputs:\n"                                                                                \
    "  odometer: {unit: km, ask: Odometer}\n"                                                  \
    "  engine_state: {choices: [cold, warm]}\n"                                                \
    "gauges:\n"                                                                                \
    "  dial: {title: " gauge ", unit: bar, resolution: 0.1 bar, accuracy: 2 %}\n"              \
    "steps:\n"                                                                                 \
    "  - step: press\n"                                                                        \
    "    each: cylinder\n"                                                                     \
    "    do: Press cylinder {cylinder}.\n"                                                     \
    "    record: {dry: " dry "}\n"                                                             \
    "  - step: look\n"                                                                         \
    "    do: Look at the oil.\n"                                                               \
    "    record: {colour: {choices: [clear, black]}}\n" results
#define LOWEST                                                                                 \
    "results:\n"                                                                               \
    "  - result: lowest\n"                                                                     \
    "    value: min(dry)\n"                                                                    \
    "    unit: bar\n"                                                                          \
    "    limit: {at_least: 9 bar}\n"                                                           \
    "    source: invented\n"

#define DATED       ", calibrated: 2015-06-01"
#define PRESS       PRESS_PROCEDURE("1", "Dial gauge" DATED, "{gauge: dial}", LOWEST)
#define OTHER_GAUGE PRESS_PROCEDURE("1", "Another dial" DATED, "{gauge: dial}", LOWEST)
#define UNDATED     PRESS_PROCEDURE("1", "Dial gauge", "{gauge: dial}", LOWEST)
#define REVISED     PRESS_PROCEDURE("2", "Dial gauge" DATED, "{gauge: dial}", LOWEST)
#define OTHER_KIND  PRESS_PROCEDURE("1", "Dial gauge", "{unit: mm}", "")
#define ALDER(order)                                                                           \
    "machine: alder_engine\ntitle: Alder engine\npositions: {cylinder: " order "}\n"

/* One job, begun at noon of the day. */
struct year {
    struct date day;
    const char *answers; /* of the opening and the cylinders */
};
#define ANSWERS(odometer, state, dry)                                                          \
    "procedure: press_check\n"                                                                 \
    "answers:\n"                                                                               \
    "  odometer: " odometer "\n"                                                               \
    "  engine_state: " state "\n"                                                              \
    "  press: {dry: " dry "}\n"                                                                \
    "  look: {colour: clear}\n"

static struct fake *done(const char *procedure, const char *machine, struct year year)
{
    struct fake *fake = fake_new();
    struct arena *arena = &fake->arena;
    fake_open_sources(fake, fake_source(arena, "press.yaml", text_from(procedure)),
                      fake_source(arena, "alder.yaml", text_from(machine)));
    fake->now.wall = (calendar_days(year.day) * 24 + 12) * 3600000;
    struct diagnostics found;
    diagnostics_begin(&found, arena);
    const struct answers *answers = answers_load(
        fake_source(arena, "answers.yaml", text_from(year.answers)), &found, arena);
    struct console echo = {fake, NULL, fake_tell};
    struct rehearsal *rehearsal = rehearsal_new(answers, fake->fitted, echo, fake->now, arena);
    fake->session.console = rehearsal_console(rehearsal);
    fake->session.clock = rehearsal_clock(rehearsal);
    struct event started = fake_started();
    enum session_end end = session_start(&fake->session, &started);
    rehearsal_judge(rehearsal, fake->session.job, &found, arena);
    assert_int_equal(found.count_by_severity[SEVERITY_ERROR], 0);
    assert_int_equal(end, SESSION_COMPLETED);
    return fake;
}

enum { JOBS_MAX = 12 };
struct past {
    struct fake *fakes[JOBS_MAX];
    struct history_job jobs[JOBS_MAX];
    struct history history;
    struct arena arena;
};

static struct past *past_begin(void)
{
    struct past *past = calloc(1, sizeof *past);
    assert_non_null(past);
    past->arena = arena_open(64 * MEBIBYTE, golden_exhausted);
    past->history = (struct history){.machine = TEXT("alder_engine"), .jobs = past->jobs};
    return past;
}

static void past_end(struct past *past)
{
    for (size_t i = 0; i < past->history.job_count; i++)
        fake_close(past->fakes[i]);
    arena_close(&past->arena);
    free(past);
}

static void add_done(struct past *past, const char *procedure, const char *machine,
                     struct year year)
{
    size_t at = past->history.job_count++;
    assert_true(at < JOBS_MAX);
    past->fakes[at] = done(procedure, machine, year);
    past->jobs[at] = (struct history_job){past->fakes[at]->session.job, (unsigned)(2 * at + 1)};
}

static void add(struct past *past, struct year year)
{
    add_done(past, PRESS, ALDER("[1, 2]"), year);
}

static const struct history_subject *subject_named(struct past *past, const char *name)
{
    const struct history_subject *subjects;
    size_t count = history_subjects(&past->history, &subjects, &past->arena);
    for (size_t i = 0; i < count; i++)
        if (text_equal(subjects[i].name, text_from(name)))
            return &subjects[i];
    fail_msg("no subject %s", name);
    return NULL;
}

/* One space for all there is between two words, no-break ones too: what a test looks for can be typed. */
static struct text flat(struct text text, struct arena *arena)
{
    char *bytes = arena_array(arena, char, text.length + 1);
    size_t length = 0;
    for (size_t at = 0; at < text.length;) {
        unsigned character;
        size_t taken = text_character(text, at, &character);
        bool is_space = character == '\n' || character == 0xA0 || character == ' ';
        if (is_space && length > 0 && bytes[length - 1] != ' ')
            bytes[length++] = ' ';
        for (size_t i = 0; i < taken && !is_space; i++)
            bytes[length++] = text.bytes[at + i];
        at += taken;
    }
    return (struct text){bytes, length};
}

static struct text history_at(struct past *past, const char *name, unsigned width)
{
    struct card card =
        history_build(&past->history, subject_named(past, name), false, &past->arena);
    return card_as_text(&card, width, &past->arena);
}

static struct text history_by_date(struct past *past, const char *name)
{
    struct card card =
        history_build(&past->history, subject_named(past, name), true, &past->arena);
    return flat(card_as_text(&card, 500, &past->arena), &past->arena);
}

static struct text history_of(struct past *past, const char *name)
{
    return flat(history_at(past, name, 500), &past->arena);
}

static bool says(struct text text, const char *words)
{
    return text_find(text, text_from(words)) < text.length;
}

static void expect_words(struct text text, const char *words)
{
    if (!says(text, words))
        fail_msg("'%s' is not in: %.*s", words, (int)text.length, text.bytes);
}

static void expect_no_words(struct text text, const char *words)
{
    if (says(text, words))
        fail_msg("'%s' is in: %.*s", words, (int)text.length, text.bytes);
}

/* --- the document ---------------------------------------------------------------------------- */

/* Cylinder 2 loses 0.2 bar a year; 1 goes up and down by 0.1. */
static void add_many(struct past *past, size_t count)
{
    static const struct year years[] = {
        {{2016, 5, 1}, ANSWERS("10000 km", "warm", "{1: 11.5, 2: 10.8}")},
        {{2017, 5, 1}, ANSWERS("20000 km", "warm", "{1: 11.6, 2: 10.5}")},
        {{2018, 5, 1}, ANSWERS("30000 km", "warm", "{1: 11.4, 2: 10.4}")},
        {{2019, 5, 1}, ANSWERS("40000 km", "cold", "{1: 11.5, 2: 10.2}")},
        {{2020, 5, 1}, ANSWERS("50000 km", "warm", "{1: 11.4, 2: 10.0}")},
        {{2021, 5, 1}, ANSWERS("60000 km", "warm", "{1: 11.6, 2: 9.7}")},
        {{2022, 5, 1}, ANSWERS("70000 km", "warm", "{1: 11.5, 2: 9.6}")},
        {{2023, 5, 1}, ANSWERS("80000 km", "warm", "{1: 11.6, 2: 9.4}")},
        {{2024, 5, 1}, ANSWERS("90000 km", "warm", "{1: 11.4, 2: 9.2}")},
        {{2025, 5, 1}, ANSWERS("100000 km", "warm", "{1: 11.5, 2: 8.9}")},
    };
    for (size_t i = 0; i < count; i++)
        add(past, years[i]);
}

static void each_job_is_a_line_and_what_the_numbers_say_stands_below(void **state)
{
    (void)state;
    struct past *past = past_begin();
    add_many(past, 10);
    const struct history_left_out left_out[] = {
        {2, TEXT("press_check"), LEFT_OUT_REHEARSAL, TEXT("")},
        {4, TEXT("press_check"), LEFT_OUT_REHEARSAL, TEXT("")},
        {6, TEXT("press_check"), LEFT_OUT_UNFINISHED, TEXT("")},
        {8, TEXT("another_check"), LEFT_OUT_UNFINISHED, TEXT("")},
        {10, TEXT("press_check"), LEFT_OUT_UNREADABLE, TEXT("its events were changed")}};
    past->history.left_out = left_out;
    past->history.left_out_count = sizeof left_out / sizeof *left_out;
    expect_golden(history_at(past, "dry", 80), "history-80", &past->arena);
    expect_golden(history_at(past, "dry", 40), "history-40", &past->arena);
    expect_golden(history_at(past, "lowest", 80), "history-result-80", &past->arena);
    struct text text = history_of(past, "dry");
    expect_words(text, "Jobs 2 and 4 are rehearsals");
    expect_words(text, "Job 6 is not finished.");
    expect_words(text, "Job 10: its events were changed.");
    past_end(past);
}

static void what_can_be_looked_at_is_listed_with_how_often_and_when(void **state)
{
    (void)state;
    struct past *past = past_begin();
    add_many(past, 3);
    struct card card = history_overview(&past->history, &past->arena);
    expect_golden(card_as_text(&card, 80, &past->arena), "history-list-80", &past->arena);
    past_end(past);
}

/* --- the numbers ------------------------------------------------------------------------------- */

/* Four jobs at 0, 1, 2, 3 times 10 000 km: 10.0, 9.7, 9.5, 9.1.  Mean 9.575; slope
 * (-1.5 * 0.425 - 0.5 * 0.125 - 0.5 * 0.075 - 1.5 * 0.475)/5 = -0.29; left over -0.01, -0.02, 0.07,
 * -0.04, in squares 0.007; u = sqrt(0.007/2/5) = 0.02646; t(0.975, 2) = 4.303 (NIST/SEMATECH
 * e-Handbook, 1.3.6.7.2): 0.1138, written 0.12 (0.11 would be more than a fortieth too small).
 * From the first three: mean 9.7333, slope -0.25, so 9.2333 at 3; left over 1/60, -2/60, 1/60, in
 * squares 1/600; s = 0.04082; t(0.975, 1) = 12.706; sqrt(1 + 1/3 + 2^2/2) = 1.8257: 0.947. */
static void the_slope_is_the_one_worked_out_by_hand(void **state)
{
    (void)state;
    struct past *past = past_begin();
    add(past, (struct year){{2020, 5, 1}, ANSWERS("10000 km", "warm", "{1: 11, 2: 10.0}")});
    add(past, (struct year){{2021, 5, 1}, ANSWERS("20000 km", "warm", "{1: 11, 2: 9.7}")});
    add(past, (struct year){{2022, 5, 1}, ANSWERS("30000 km", "warm", "{1: 11, 2: 9.5}")});
    add(past, (struct year){{2023, 5, 1}, ANSWERS("40000 km", "warm", "{1: 11, 2: 9.1}")});
    struct text text = history_of(past, "dry");
    expect_words(text, "Cylinder 2: falls by (0.29 ± 0.12) bar per 10 000 km, more than the "
                       "readings scatter. Job 7 is in line with the 3 before it: "
                       "(9.23 ± 0.95) bar was to be expected.");
    /* Always 11.0, but for steps of 0.1 bar: u = 0.05/sqrt(3) of each, over sqrt(5); times 1.960: 0.0253. */
    expect_words(text,
                 "Cylinder 1: too close to call, (0.000 ± 0.025) bar per 10 000 km; a change "
                 "shows from 0.025 bar up.");
    /* The years are of 365, 365 and 365 days, of 365.2425 on average. */
    expect_words(history_by_date(past, "lowest"), "Falls by (0.29 ± 0.12) bar a year");
    past_end(past);
}

static void a_job_out_of_line_with_those_before_is_named(void **state)
{
    (void)state;
    struct past *past = past_begin();
    add_many(past, 8);
    add(past, (struct year){{2024, 5, 1}, ANSWERS("90000 km", "warm", "{1: 10.6, 2: 9.2}")});
    struct text text = history_of(past, "dry");
    expect_words(text, "Job 17 is out of line with the 8 before it");
    /* Eight values of mean 11.5125 and mean moving range (0.1 + 0.2 + 0.1 + 0.1 + 0.2 + 0.1 + 0.1)/7 =
     * 0.12857: s = 0.12857/1.128 = 0.1140.  The average 11.5125 - 0.2 * 0.9125 = 11.33 lies
     * below by 0.1825; its limit is 3 * 0.2 * 0.1140 = 0.068. */
    expect_words(text,
                 "The running average since the first eight lies below its limits from job 17 "
                 "on.");
    past_end(past);
}

static void one_job_is_no_history_and_two_are_for_compare(void **state)
{
    (void)state;
    struct past *past = past_begin();
    add_many(past, 1);
    expect_words(history_of(past, "dry"), "Only one job has it");
    past_end(past);
    past = past_begin();
    add_many(past, 2);
    expect_words(history_of(past, "dry"), "banksman compare 1 3");
    past_end(past);
    past = past_begin();
    add_many(past, 3);
    expect_words(history_of(past, "dry"), "Three jobs can show only a very large change.");
    expect_no_words(history_of(past, "dry"), "was to be expected");
    past_end(past);
}

/* --- what is not alike ---------------------------------------------------------------------------- */

/* At 10 bar the 2 % of one gauge are u = 0.2/sqrt(3) = 0.1155.  With another from the third job on, the
 * slope over 0, 1, 2, 3 weighs them -0.3 - 0.1 = -0.4 and 0.4: 0.4 * 0.1155 * sqrt(2) = 0.0653, and
 * with the steps u = 0.02887/sqrt(5) = 0.0129: 0.0666, times 1.960: 0.1305. */
static void two_gauges_do_not_cancel(void **state)
{
    (void)state;
    struct past *past = past_begin();
    add(past, (struct year){{2020, 5, 1}, ANSWERS("10000 km", "warm", "{1: 10, 2: 10}")});
    add(past, (struct year){{2021, 5, 1}, ANSWERS("20000 km", "warm", "{1: 10, 2: 10}")});
    add_done(past, OTHER_GAUGE, ALDER("[1, 2]"),
             (struct year){{2022, 5, 1}, ANSWERS("30000 km", "warm", "{1: 10, 2: 10}")});
    add_done(past, OTHER_GAUGE, ALDER("[1, 2]"),
             (struct year){{2023, 5, 1}, ANSWERS("40000 km", "warm", "{1: 10, 2: 10}")});
    struct text text = history_of(past, "dry");
    expect_words(text, "Not one gauge throughout");
    expect_words(text, "Jobs 1 and 3: Dial gauge");
    expect_words(text, "Jobs 5 and 7: Another dial");
    expect_words(text, "(0.00 ± 0.13) bar per 10 000 km");
    expect_words(history_of(past, "lowest"), "Not one gauge throughout");
    past_end(past);
}

/* All four at 10 bar count as gauges of their own: u = sqrt(0.1155^2 + 0.02887^2) = 0.1190 each, times the
 * root of the squared weights 0.3, 0.1, 0.1 and 0.3, sqrt(0.2): 0.0532, times 1.960: 0.1043. */
static void a_gauge_without_a_calibration_date_does_not_cancel(void **state)
{
    (void)state;
    static const struct year years[] = {
        {{2020, 5, 1}, ANSWERS("10000 km", "warm", "{1: 10, 2: 10}")},
        {{2021, 5, 1}, ANSWERS("20000 km", "warm", "{1: 10, 2: 10}")},
        {{2022, 5, 1}, ANSWERS("30000 km", "warm", "{1: 10, 2: 10}")},
        {{2023, 5, 1}, ANSWERS("40000 km", "warm", "{1: 10, 2: 10}")}};
    struct past *past = past_begin();
    for (size_t i = 0; i < 4; i++)
        add_done(past, UNDATED, ALDER("[1, 2]"), years[i]);
    struct text text = history_of(past, "dry");
    expect_words(text, "Perhaps not one gauge throughout");
    expect_words(text, "when it was calibrated is not given");
    expect_words(text, "(0.00 ± 0.11) bar per 10 000 km");
    past_end(past);
}

static void what_was_chosen_at_the_start_and_differs_is_listed(void **state)
{
    (void)state;
    struct past *past = past_begin();
    add_many(past, 4);
    struct text text = history_of(past, "dry");
    expect_words(text, "Not alike: engine state");
    expect_words(text, "Jobs 1, 3 and 5: warm");
    expect_words(text, "Job 7: cold");
    past_end(past);
    past = past_begin();
    add_many(past, 3);
    expect_no_words(history_of(past, "dry"), "Not alike");
    past_end(past);
}

static void positions_go_by_their_labels(void **state)
{
    (void)state;
    struct past *past = past_begin();
    add_done(past, PRESS, ALDER("[2, 1]"),
             (struct year){{2020, 5, 1}, ANSWERS("10000 km", "warm", "{1: 11.5, 2: 8.5}")});
    add(past, (struct year){{2021, 5, 1}, ANSWERS("20000 km", "warm", "{1: 11.5, 2: 8.5}")});
    struct card card =
        history_build(&past->history, subject_named(past, "dry"), false, &past->arena);
    struct text text = flat(card_as_text(&card, 80, &past->arena), &past->arena);
    expect_words(text, "1 2020-05-01 10000 11.50 ± 0.27 8.50 ± 0.20");
    expect_words(text, "3 2021-05-01 20000 11.50 ± 0.27 8.50 ± 0.20");
    past_end(past);
}

static void a_corrected_value_counts_as_corrected_and_is_marked(void **state)
{
    (void)state;
    struct past *past = past_begin();
    add_many(past, 2);
    /* The second job again from its journal, with a correction before its end. */
    struct fake *fake = past->fakes[1];
    struct event ended = fake->events[fake->event_count - 1];
    assert_int_equal(ended.kind, EVENT_ENDED);
    struct event amended = {.kind = EVENT_AMENDED,
                            .number = ended.number,
                            .at = ended.at,
                            .typed = TEXT("7.5"),
                            .meaning = TEXT("7.5 bar"),
                            .has_value = true,
                            .value = 7.5e5,
                            .unit = TEXT("bar"),
                            .reason = TEXT("misread")};
    ended.number++;
    struct job *job = job_begin(&fake->sound, fake->fitted, &fake->arena);
    for (size_t i = 0; i + 1 < fake->event_count; i++) {
        job_apply(job, &fake->events[i]);
        if (fake->events[i].kind == EVENT_READ && fake->events[i].position == 0)
            amended.amends = fake->events[i].number;
    }
    assert_int_not_equal(amended.amends, 0);
    job_apply(job, &amended);
    job_apply(job, &ended);
    past->jobs[1].job = job;
    struct text text = history_of(past, "dry");
    expect_words(text, "7.50 ± ");
    expect_words(text, "corrected");
    past_end(past);
}

static void a_job_closed_with_something_open_counts_and_is_marked(void **state)
{
    (void)state;
    struct past *past = past_begin();
    add_many(past, 2);
    struct fake *fake = past->fakes[1];
    struct job *job = job_begin(&fake->sound, fake->fitted, &fake->arena);
    fake->events[fake->event_count - 1].detail = ENDED_LEFT_OPEN;
    for (size_t i = 0; i < fake->event_count; i++)
        job_apply(job, &fake->events[i]);
    past->jobs[1].job = job;
    expect_words(history_of(past, "dry"), "11.60 ± 0.27 10.50 ± 0.24 closed, left open");
    past_end(past);
}

static void another_revision_is_shown_and_another_quantity_is_left_out(void **state)
{
    (void)state;
    struct past *past = past_begin();
    add_done(past, OTHER_KIND, ALDER("[1, 2]"),
             (struct year){{2014, 5, 1}, ANSWERS("1000 km", "warm", "{1: 11 mm, 2: 10 mm}")});
    add_many(past, 2);
    add_done(past, REVISED, ALDER("[1, 2]"),
             (struct year){{2020, 5, 1}, ANSWERS("50000 km", "warm", "{1: 11.5, 2: 10.0}")});
    struct text text = history_of(past, "dry");
    expect_words(text, "Cylinder 2 Revision");
    expect_words(text, "50000 11.50 ± 0.27 10.00 ± 0.23 2");
    expect_words(text, "In job 1 it was another kind of value.");
    expect_no_words(text, "2014");
    past_end(past);
}

static void words_have_a_table_and_no_line(void **state)
{
    (void)state;
    struct past *past = past_begin();
    add_many(past, 4);
    struct text text = history_of(past, "colour");
    expect_words(text, "clear");
    expect_no_words(text, "straight line");
    past_end(past);
}

static void jobs_are_taken_oldest_first_whatever_their_numbers(void **state)
{
    (void)state;
    struct past *past = past_begin();
    add(past, (struct year){{2022, 5, 1}, ANSWERS("30000 km", "warm", "{1: 11, 2: 9.5}")});
    add(past, (struct year){{2020, 5, 1}, ANSWERS("10000 km", "warm", "{1: 11, 2: 10.1}")});
    add(past, (struct year){{2021, 5, 1}, ANSWERS("20000 km", "warm", "{1: 11, 2: 9.8}")});
    struct text text = history_of(past, "dry");
    assert_true(text_find(text, TEXT("2020-05-01")) < text_find(text, TEXT("2021-05-01")));
    assert_true(text_find(text, TEXT("2021-05-01")) < text_find(text, TEXT("2022-05-01")));
    expect_words(text, "(0.300 ± ");
    past_end(past);
}

/* An odometer that went back counts nothing; a line over one day would be drawn out over a year. */
static void without_a_distance_it_goes_by_the_date_and_not_within_a_day(void **state)
{
    (void)state;
    struct past *past = past_begin();
    add(past, (struct year){{2020, 5, 1}, ANSWERS("90000 km", "warm", "{1: 11, 2: 10.1}")});
    add(past, (struct year){{2021, 5, 1}, ANSWERS("20000 km", "warm", "{1: 11, 2: 9.8}")});
    add(past, (struct year){{2022, 5, 1}, ANSWERS("30000 km", "warm", "{1: 11, 2: 9.5}")});
    expect_words(history_of(past, "dry"), "A straight line over the date");
    past_end(past);
    past = past_begin();
    add(past, (struct year){{2020, 5, 1}, ANSWERS("90000 km", "warm", "{1: 11, 2: 10.1}")});
    add(past, (struct year){{2020, 5, 1}, ANSWERS("90000 km", "warm", "{1: 11, 2: 9.8}")});
    add(past, (struct year){{2020, 5, 2}, ANSWERS("90000 km", "warm", "{1: 11, 2: 9.5}")});
    expect_words(history_of(past, "dry"), "All were read within two days");
    past_end(past);
}

/* Three drives of 200 m: the line is said per 100 m, and not per nothing. */
static void a_short_distance_is_said_in_tenths(void **state)
{
    (void)state;
    struct past *past = past_begin();
    add(past, (struct year){{2020, 5, 1}, ANSWERS("500 km", "warm", "{1: 11, 2: 10}")});
    add(past, (struct year){{2020, 5, 9}, ANSWERS("500.2 km", "warm", "{1: 11, 2: 11}")});
    add(past, (struct year){{2020, 6, 1}, ANSWERS("500.4 km", "warm", "{1: 11, 2: 12}")});
    expect_words(history_of(past, "dry"), "per 0.1 km");
    past_end(past);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(each_job_is_a_line_and_what_the_numbers_say_stands_below),
        cmocka_unit_test(what_can_be_looked_at_is_listed_with_how_often_and_when),
        cmocka_unit_test(the_slope_is_the_one_worked_out_by_hand),
        cmocka_unit_test(a_short_distance_is_said_in_tenths),
        cmocka_unit_test(a_job_out_of_line_with_those_before_is_named),
        cmocka_unit_test(one_job_is_no_history_and_two_are_for_compare),
        cmocka_unit_test(two_gauges_do_not_cancel),
        cmocka_unit_test(a_gauge_without_a_calibration_date_does_not_cancel),
        cmocka_unit_test(what_was_chosen_at_the_start_and_differs_is_listed),
        cmocka_unit_test(positions_go_by_their_labels),
        cmocka_unit_test(a_corrected_value_counts_as_corrected_and_is_marked),
        cmocka_unit_test(a_job_closed_with_something_open_counts_and_is_marked),
        cmocka_unit_test(another_revision_is_shown_and_another_quantity_is_left_out),
        cmocka_unit_test(words_have_a_table_and_no_line),
        cmocka_unit_test(jobs_are_taken_oldest_first_whatever_their_numbers),
        cmocka_unit_test(without_a_distance_it_goes_by_the_date_and_not_within_a_day),
    };
    return cmocka_run_group_tests_name("report/history", tests, NULL, NULL);
}

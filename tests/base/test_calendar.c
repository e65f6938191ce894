#include "base/calendar.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

static void stop(size_t bytes_wanted)
{
    fail_msg("wanted %zu bytes", bytes_wanted);
}

#define assert_words(got, wanted) assert_string_equal(text_terminated(&arena, (got)), (wanted))

/* Day numbers: modified Julian dates as IERS and USNO publish them (MJD 40587 is 1970-01-01, MJD
 * 51544 is 2000-01-01, MJD 15020 is 1900-01-01, MJD 0 is 1858-11-17); 2038-01-19 is the day on which
 * 2^31 s after the epoch of IEEE Std 1003.1 are over, 24855 whole days.  1582-10-15 is
 * the first day of the calendar (bull Inter gravissimas). */
static void agrees_with_published_days(void **state)
{
    (void)state;
    static const struct {
        struct date date;
        long long days;
    } ROWS[] = {
        {{1970, 1, 1}, 0},        {{2000, 1, 1}, 51544 - 40587}, {{1900, 1, 1}, 15020 - 40587},
        {{1858, 11, 17}, -40587}, {{2038, 1, 19}, 24855},        {{1582, 10, 15}, -141427},
    };
    for (size_t i = 0; i < sizeof ROWS / sizeof *ROWS; i++) {
        assert_int_equal(calendar_days(ROWS[i].date), ROWS[i].days);
        struct date back = calendar_date(ROWS[i].days);
        assert_int_equal(back.year, ROWS[i].date.year);
        assert_int_equal(back.month, ROWS[i].date.month);
        assert_int_equal(back.day, ROWS[i].date.day);
    }
}

/* The rule of the bull Inter gravissimas: every fourth year, of the hundreds only every fourth. */
static void knows_leap_years(void **state)
{
    (void)state;
    assert_true(calendar_is_leap(2000));
    assert_true(calendar_is_leap(2024));
    assert_false(calendar_is_leap(1900));
    assert_false(calendar_is_leap(2026));
    assert_int_equal(calendar_month_length(2024, 2), 29);
    assert_int_equal(calendar_month_length(2100, 2), 28);
}

static void every_day_of_400_years_comes_back(void **state)
{
    (void)state;
    struct date expected = {1800, 1, 1};
    long long first = calendar_days(expected);
    for (long long days = first; days < first + 146097; days++) {
        struct date date = calendar_date(days);
        assert_int_equal(date.year, expected.year);
        assert_int_equal(date.month, expected.month);
        assert_int_equal(date.day, expected.day);
        assert_int_equal(calendar_days(date), days);
        if (expected.day++ == calendar_month_length(expected.year, expected.month)) {
            expected.day = 1;
            expected.month = expected.month % 12 + 1;
            expected.year += expected.month == 1;
        }
    }
    assert_int_equal(expected.year, 2200);
}

static void reads_what_iso_8601_writes(void **state)
{
    (void)state;
    struct arena arena = arena_open(MEBIBYTE, stop);
    long long wall = 0;
    /* 2^31 - 1 s, the last second of a 32-bit clock: 2038-01-19T03:14:07Z (IEEE Std 1003.1). */
    assert_true(calendar_read(TEXT("2038-01-19T03:14:07Z"), TEXT("+05:00"), &wall));
    assert_int_equal(wall, 2147483647000LL);
    assert_true(calendar_read(TEXT("2038-01-19T04:14:07"), TEXT("+01:00"), &wall));
    assert_int_equal(wall, 2147483647000LL);
    assert_true(calendar_read(TEXT("2038-01-18T23:44:07-03:30"), TEXT(""), &wall));
    assert_int_equal(wall, 2147483647000LL);
    assert_true(calendar_read(TEXT("1970-01-02"), TEXT("Z"), &wall));
    assert_int_equal(wall, 86400000);
    assert_words(calendar_moment_text(&arena, 2147483647000LL, TEXT("+01:00")),
                 "2038-01-19 04:14");
    assert_words(calendar_day_text(&arena, -1, TEXT("")), "1969-12-31");
    assert_words(calendar_clock_text(&arena, -60000, TEXT("")), "23:59");
    assert_words(calendar_day_text(&arena, 0, TEXT("-03:30")), "1969-12-31");
    arena_close(&arena);
}

static void refuses_what_is_no_moment(void **state)
{
    (void)state;
    long long wall = 17;
    static const char *const WRONG[] = {
        "",           "2026-02-29",         "2026-13-01",        "2026-00-01",
        "2026-1-1",   "2026-03-31T24:00",   "2026-03-31T08",     "2026-03-31T08:60",
        "31.03.2026", "2026-03-31x08:00",   "2026-03-31T08:00+", "2026-03-31T08:00Zz",
        "2026-04-31", "2026-03-31T08:00:7",
    };
    for (size_t i = 0; i < sizeof WRONG / sizeof *WRONG; i++)
        assert_false(calendar_read(text_from(WRONG[i]), TEXT(""), &wall));
    assert_int_equal(wall, 17);
    assert_int_equal(calendar_zone_minutes(TEXT("Berlin")), 0);
    assert_int_equal(calendar_zone_minutes(TEXT("-0330")), -210);
    assert_int_equal(calendar_zone_minutes(TEXT("+01")), 60);
}

static void months_are_counted_by_the_calendar(void **state)
{
    (void)state;
    struct arena arena = arena_open(MEBIBYTE, stop);
    static const struct {
        const char *from;
        unsigned months;
        const char *to;
    } ROWS[] = {
        {"2026-11-25T10:24", 12, "2027-11-25 10:24"},
        {"2026-01-31T08:00", 1, "2026-02-28 08:00"},
        {"2024-01-31T08:00", 1, "2024-02-29 08:00"},
        {"2024-02-29T08:00", 12, "2025-02-28 08:00"},
        {"2026-12-31T23:59", 2, "2027-02-28 23:59"},
        {"2026-03-15T00:00", 24, "2028-03-15 00:00"},
        {"2026-01-31T00:30", 1, "2026-02-28 00:30"},
    };
    for (size_t i = 0; i < sizeof ROWS / sizeof *ROWS; i++) {
        long long wall = 0;
        assert_true(calendar_read(text_from(ROWS[i].from), TEXT("+02:00"), &wall));
        wall = calendar_add_months(wall, ROWS[i].months, TEXT("+02:00"));
        assert_words(calendar_moment_text(&arena, wall, TEXT("+02:00")), ROWS[i].to);
    }
    arena_close(&arena);
}

/* 2026-03-01 ends in UTC at 1772409600 s (GNU date -d 2026-03-02T00:00Z +%s). */
static void a_day_is_over_at_its_end_where_it_is(void **state)
{
    (void)state;
    const long long hour = 3600000, end = 1772409600000;
    struct text day = TEXT("2026-03-01");
    assert_false(calendar_is_over(day, end - 1, TEXT("Z")));
    assert_true(calendar_is_over(day, end, TEXT("Z")));
    assert_false(calendar_is_over(day, end, TEXT("-05:00")));
    assert_true(calendar_is_over(day, end + 5 * hour, TEXT("-05:00")));
    assert_true(calendar_is_over(day, end - hour, TEXT("+01:00")));
    assert_false(calendar_is_over(day, 0, TEXT("Z")));
    assert_false(calendar_is_over(TEXT(""), end, TEXT("Z")));
    assert_false(calendar_is_over(TEXT("soon"), end, TEXT("Z")));
}

static void spans_are_rounded_up(void **state)
{
    (void)state;
    struct arena arena = arena_open(MEBIBYTE, stop);
    assert_words(calendar_span_text(&arena, -5), "0\u00a0s");
    assert_words(calendar_span_text(&arena, 1), "1\u00a0s");
    assert_words(calendar_span_text(&arena, 90001), "1\u00a0min 31\u00a0s");
    assert_words(calendar_span_text(&arena, 3 * 60000), "3\u00a0min");
    assert_words(calendar_span_text(&arena, 9 * 60000 + 59001), "10\u00a0min");
    assert_words(calendar_span_text(&arena, 11 * 60000 + 1), "12\u00a0min");
    assert_words(calendar_span_text(&arena, 125 * 60000), "2\u00a0h 5\u00a0min");
    assert_words(calendar_span_text(&arena, 180 * 60000), "3\u00a0h");
    assert_words(calendar_span_text(&arena, 49LL * 3600000), "3 days");
    arena_close(&arena);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(agrees_with_published_days),
        cmocka_unit_test(knows_leap_years),
        cmocka_unit_test(every_day_of_400_years_comes_back),
        cmocka_unit_test(reads_what_iso_8601_writes),
        cmocka_unit_test(refuses_what_is_no_moment),
        cmocka_unit_test(months_are_counted_by_the_calendar),
        cmocka_unit_test(a_day_is_over_at_its_end_where_it_is),
        cmocka_unit_test(spans_are_rounded_up),
    };
    return cmocka_run_group_tests_name("base/calendar", tests, NULL, NULL);
}

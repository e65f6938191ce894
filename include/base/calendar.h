#ifndef BASE_CALENDAR_H
#define BASE_CALENDAR_H
/*
 * calendar.h - dates from a number of milliseconds, and back.
 *
 * Purpose   "In twelve months" means the same day next year, not 365 times 24
 *           hours, and a job must come out the same on every machine.  So the
 *           dates are worked out here, from the wall clock and the zone that
 *           the job was started in, without asking the system.
 * Owns      the proleptic Gregorian calendar; ISO 8601 dates, times and offsets.
 * May call  base.
 *
 *     long long due = calendar_add_months(ended, 12, zone);
 *     struct text day = calendar_day_text(arena, due, zone);     // 2027-11-25
 *
 * A zone is an ISO 8601 offset, "+01:00", "-0330" or "Z"; one that cannot be read is UTC.
 * Years 1 to 9999 are written with four digits.
 */
#include "base/text.h"

struct date {
    int year;
    unsigned month, day; /* from 1 */
};

/* Days since 1970-01-01, negative before. */
long long calendar_days(struct date date);
struct date calendar_date(long long days);
bool calendar_is_leap(int year);
unsigned calendar_month_length(int year, unsigned month);

/* The offset in minutes east of UTC. */
int calendar_zone_minutes(struct text zone);

/* Milliseconds since 1970-01-01 UTC. */
struct date calendar_local_date(long long wall, struct text zone);
struct text calendar_day_text(struct arena *arena, long long wall, struct text zone);
struct text calendar_clock_text(struct arena *arena, long long wall,
                                struct text zone); /* 08:05 */
struct text calendar_moment_text(struct arena *arena, long long wall, struct text zone);

/* The same time of day so many calendar months later; the last day of the month where the month is
 * shorter: 31 January and one month is 28 or 29 February. */
long long calendar_add_months(long long wall, unsigned months, struct text zone);

/* "2026-03-31", "2026-03-31T08:00", "2026-03-31 08:00:30", perhaps with an offset, which then counts
 * instead of `zone`.  False if it is no such moment. */
bool calendar_read(struct text written, struct text zone, long long *wall);

/* Is the day named over?  What is due is good up to the end of that day.  False if it cannot be read, or
 * if nobody knows the time (`wall` 0). */
bool calendar_is_over(struct text day, long long wall, struct text zone);

/* A length of time in words, rounded up to the unit it is said in: "45 s", "2 min 30 s" (below ten
 * minutes), "12 min", "2 h 5 min", "3 days". */
struct text calendar_span_text(struct arena *arena, long long milliseconds);

#endif

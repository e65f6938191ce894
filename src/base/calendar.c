#include "base/calendar.h"

/* The year is taken to begin in March, so that the leap day is the last day of its year and every
 * month before it has a fixed place; 400 years are 146097 days, after which all repeats. */
enum { DAYS_IN_400_YEARS = 146097, DAYS_FROM_0000_03_01_TO_1970 = 719468 };

static const long long day_length = 24LL * 60 * 60 * 1000;
static const long long minute_length = 60LL * 1000;

static long long floor_divide(long long number, long long by)
{
    long long quotient = number / by;
    return number % by < 0 ? quotient - 1 : quotient;
}

long long calendar_days(struct date date)
{
    long long year = date.month > 2 ? date.year : (long long)date.year - 1;
    long long era = floor_divide(year, 400);
    long long year_of_era = year - era * 400;
    long long month_from_march = date.month > 2 ? date.month - 3 : date.month + 9;
    long long day_of_year = (153 * month_from_march + 2) / 5 + date.day - 1;
    long long day_of_era =
        year_of_era * 365 + year_of_era / 4 - year_of_era / 100 + day_of_year;
    return era * DAYS_IN_400_YEARS + day_of_era - DAYS_FROM_0000_03_01_TO_1970;
}

struct date calendar_date(long long days)
{
    long long shifted = days + DAYS_FROM_0000_03_01_TO_1970;
    long long era = floor_divide(shifted, DAYS_IN_400_YEARS);
    long long day_of_era = shifted - era * DAYS_IN_400_YEARS;
    long long year_of_era =
        (day_of_era - day_of_era / 1460 + day_of_era / 36524 - day_of_era / 146096) / 365;
    long long day_of_year =
        day_of_era - (365 * year_of_era + year_of_era / 4 - year_of_era / 100);
    long long month_from_march = (5 * day_of_year + 2) / 153;
    struct date date = {.year = (int)(year_of_era + era * 400),
                        .month = (unsigned)(month_from_march < 10 ? month_from_march + 3
                                                                  : month_from_march - 9),
                        .day = (unsigned)(day_of_year - (153 * month_from_march + 2) / 5 + 1)};
    if (date.month <= 2)
        date.year++;
    return date;
}

bool calendar_is_leap(int year)
{
    return year % 4 == 0 && (year % 100 != 0 || year % 400 == 0);
}

unsigned calendar_month_length(int year, unsigned month)
{
    static const unsigned char lengths[] = {31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31};
    return month == 2 && calendar_is_leap(year) ? 29 : lengths[(month - 1) % 12];
}

/* --- reading --------------------------------------------------------------------------- */

static bool take_digits(struct text *rest, size_t count, unsigned *number)
{
    unsigned sum = 0;
    if (rest->length < count)
        return false;
    for (size_t i = 0; i < count; i++) {
        if (rest->bytes[i] < '0' || rest->bytes[i] > '9')
            return false;
        sum = sum * 10 + (unsigned)(rest->bytes[i] - '0');
    }
    *rest = text_slice(*rest, count, rest->length);
    *number = sum;
    return true;
}

static bool take_one(struct text *rest, const char *any_of)
{
    if (rest->length == 0 || strchr(any_of, rest->bytes[0]) == NULL || rest->bytes[0] == '\0')
        return false;
    *rest = text_slice(*rest, 1, rest->length);
    return true;
}

static bool take_offset(struct text *rest, int *minutes)
{
    unsigned hours = 0, more = 0;
    if (take_one(rest, "Zz")) {
        *minutes = 0;
        return true;
    }
    if (rest->length == 0)
        return false;
    int sign = rest->bytes[0] == '-' ? -1 : 1;
    if (!take_one(rest, "+-") || !take_digits(rest, 2, &hours))
        return false;
    (void)take_one(rest, ":");
    if (rest->length > 0 && !take_digits(rest, 2, &more))
        return false;
    if (hours > 24 || more > 59)
        return false;
    *minutes = sign * (int)(hours * 60 + more);
    return true;
}

int calendar_zone_minutes(struct text zone)
{
    int minutes = 0;
    struct text rest = zone;
    return take_offset(&rest, &minutes) && rest.length == 0 ? minutes : 0;
}

static bool take_date(struct text *rest, struct date *date)
{
    unsigned year = 0;
    if (!take_digits(rest, 4, &year) || !take_one(rest, "-") ||
        !take_digits(rest, 2, &date->month) || !take_one(rest, "-") ||
        !take_digits(rest, 2, &date->day))
        return false;
    date->year = (int)year;
    return date->month >= 1 && date->month <= 12 && date->day >= 1 &&
           date->day <= calendar_month_length(date->year, date->month);
}

bool calendar_read(struct text written, struct text zone, long long *wall)
{
    struct text rest = text_trim(written);
    struct date date = {0};
    unsigned hour = 0, minute = 0, second = 0;
    int offset = calendar_zone_minutes(zone);
    if (!take_date(&rest, &date))
        return false;
    if (rest.length > 0) {
        if (!take_one(&rest, "Tt ") || !take_digits(&rest, 2, &hour) || !take_one(&rest, ":") ||
            !take_digits(&rest, 2, &minute))
            return false;
        if (take_one(&rest, ":") && !take_digits(&rest, 2, &second))
            return false;
        if (rest.length > 0 && !take_offset(&rest, &offset))
            return false;
    }
    if (rest.length > 0 || hour > 23 || minute > 59 || second > 59)
        return false;
    *wall = calendar_days(date) * day_length +
            ((long long)hour * 60 + minute - offset) * minute_length + (long long)second * 1000;
    return true;
}

bool calendar_is_over(struct text day, long long wall, struct text zone)
{
    long long begins;
    return wall != 0 && calendar_read(day, zone, &begins) && wall >= begins + day_length;
}

/* --- writing --------------------------------------------------------------------------- */

static long long local(long long wall, struct text zone)
{
    return wall + calendar_zone_minutes(zone) * minute_length;
}

struct date calendar_local_date(long long wall, struct text zone)
{
    return calendar_date(floor_divide(local(wall, zone), day_length));
}

static struct text padded(struct arena *arena, long long number, size_t width)
{
    struct text digits = text_number(arena, number);
    if (digits.length >= width)
        return digits;
    return text_fill(arena, "{}{}", text_slice(TEXT("0000"), 0, width - digits.length), digits);
}

struct text calendar_day_text(struct arena *arena, long long wall, struct text zone)
{
    struct date date = calendar_local_date(wall, zone);
    return text_fill(arena, "{}-{}-{}", padded(arena, date.year, 4),
                     padded(arena, date.month, 2), padded(arena, date.day, 2));
}

struct text calendar_clock_text(struct arena *arena, long long wall, struct text zone)
{
    long long minutes = floor_divide(local(wall, zone), minute_length);
    long long of_day = minutes - floor_divide(minutes, 24LL * 60) * 24 * 60;
    return text_fill(arena, "{}:{}", padded(arena, of_day / 60, 2),
                     padded(arena, of_day % 60, 2));
}

struct text calendar_moment_text(struct arena *arena, long long wall, struct text zone)
{
    return text_fill(arena, "{} {}", calendar_day_text(arena, wall, zone),
                     calendar_clock_text(arena, wall, zone));
}

long long calendar_add_months(long long wall, unsigned months, struct text zone)
{
    long long here = local(wall, zone);
    long long days = floor_divide(here, day_length);
    struct date date = calendar_date(days);
    long long month_count = (long long)date.month - 1 + months;
    date.year += (int)(month_count / 12);
    date.month = (unsigned)(month_count % 12) + 1;
    unsigned length = calendar_month_length(date.year, date.month);
    if (date.day > length)
        date.day = length;
    return wall + (calendar_days(date) - days) * day_length;
}

struct text calendar_span_text(struct arena *arena, long long milliseconds)
{
    long long seconds = milliseconds <= 0 ? 0 : (milliseconds + 999) / 1000;
    if (seconds <= 90)
        return text_fill(arena, "{}\u00a0s", text_number(arena, seconds));
    if (seconds < 600 && seconds % 60 != 0)
        return text_fill(arena, "{}\u00a0min {}\u00a0s", text_number(arena, seconds / 60),
                         text_number(arena, seconds % 60));
    long long minutes = (seconds + 59) / 60;
    if (minutes < 120)
        return text_fill(arena, "{}\u00a0min", text_number(arena, minutes));
    if (minutes < 48LL * 60) {
        struct text hours = text_number(arena, minutes / 60);
        if (minutes % 60 == 0)
            return text_fill(arena, "{}\u00a0h", hours);
        return text_fill(arena, "{}\u00a0h {}\u00a0min", hours,
                         text_number(arena, minutes % 60));
    }
    return text_fill(arena, "{} days",
                     text_number(arena, (minutes + 24LL * 60 - 1) / (24LL * 60)));
}

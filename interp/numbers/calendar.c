/* SPDX-FileCopyrightText: the Rundlet developers */
/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Days and dates. Years are counted from 1 March, so that the leap day is the last of its year and both
 * directions are plain integer arithmetic over 400-year eras of 146097 days. */
#include "numbers/calendar.h"

#include <string.h>

enum { DAYS_PER_ERA = 146097, DAYS_TO_EPOCH = 719468 };

static bool is_leap(int year) {
    return (year % 4 == 0 && year % 100 != 0) || year % 400 == 0;
}

int calendar_month_days(int year, int month) {
    static const int days[] = {31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31};
    return month == 2 && is_leap(year) ? 29 : days[month - 1];
}

bool calendar_is_valid(CalendarDate date) {
    return date.year >= 0 && date.year <= 9999 && date.month >= 1 && date.month <= 12 && date.day >= 1 &&
           date.day <= calendar_month_days(date.year, date.month);
}

long calendar_days(CalendarDate date) {
    long year = date.month <= 2 ? date.year - 1 : date.year;
    long era = (year >= 0 ? year : year - 399) / 400;
    long year_of_era = year - era * 400;
    long month_from_march = (date.month + 9) % 12;
    long day_of_year = (153 * month_from_march + 2) / 5 + date.day - 1;
    long day_of_era = year_of_era * 365 + year_of_era / 4 - year_of_era / 100 + day_of_year;
    return era * DAYS_PER_ERA + day_of_era - DAYS_TO_EPOCH;
}

CalendarDate calendar_date(long days) {
    long shifted = days + DAYS_TO_EPOCH;
    long era = (shifted >= 0 ? shifted : shifted - (DAYS_PER_ERA - 1)) / DAYS_PER_ERA;
    long day_of_era = shifted - era * DAYS_PER_ERA;
    long year_of_era =
        (day_of_era - day_of_era / 1460 + day_of_era / 36524 - day_of_era / (DAYS_PER_ERA - 1)) / 365;
    long day_of_year = day_of_era - (365 * year_of_era + year_of_era / 4 - year_of_era / 100);
    long month_from_march = (5 * day_of_year + 2) / 153;
    CalendarDate date = {.day = (int)(day_of_year - (153 * month_from_march + 2) / 5 + 1),
                         .month = (int)(month_from_march < 10 ? month_from_march + 3 : month_from_march - 9)};
    date.year = (int)(year_of_era + era * 400) + (date.month <= 2);
    return date;
}

CalendarDate calendar_add_months(CalendarDate date, long months) {
    long all = 12L * date.year + (date.month - 1) + months;
    long year = all >= 0 ? all / 12 : -((11 - all) / 12);
    CalendarDate moved = {.year = (int)year, .month = (int)(all - 12 * year) + 1, .day = date.day};
    int last = calendar_month_days(moved.year, moved.month);
    if (moved.day > last)
        moved.day = last;
    return moved;
}

int calendar_weekday(long days) {
    long shifted = (days + 3) % 7; /* 1970-01-01 was a Thursday */
    return (int)(shifted < 0 ? shifted + 7 : shifted);
}

const char *calendar_weekday_name(long days) {
    static const char *const names[] = {"Monday", "Tuesday",  "Wednesday", "Thursday",
                                        "Friday", "Saturday", "Sunday"};
    return names[calendar_weekday(days)];
}

/* ---- from texts ---- */

typedef struct Reader {
    const char *at, *end;
} Reader;

static bool is_digit(const char *at, const char *end) {
    return at < end && *at >= '0' && *at <= '9';
}

static bool accept(Reader *reader, const char *sign) {
    size_t length = strlen(sign);
    if ((size_t)(reader->end - reader->at) < length || memcmp(reader->at, sign, length) != 0)
        return false;
    reader->at += length;
    return true;
}

/* So many digits, as a number of at most `most`. */
static bool read_digits(Reader *reader, int count, int most, int *number) {
    *number = 0;
    for (int i = 0; i < count; i++, reader->at++) {
        if (!is_digit(reader->at, reader->end))
            return false;
        *number = *number * 10 + (*reader->at - '0');
    }
    return *number <= most;
}

static bool read_date(Reader *reader, CalendarDate *date) {
    return read_digits(reader, 4, 9999, &date->year) && accept(reader, "-") &&
           read_digits(reader, 2, 99, &date->month) && accept(reader, "-") &&
           read_digits(reader, 2, 99, &date->day);
}

bool calendar_read(const char *bytes, size_t length, CalendarDate *date) {
    Reader reader = {bytes, bytes + length};
    return read_date(&reader, date) && reader.at == reader.end;
}

/* ":30", ":30:15" or ":30:15.250" after the hour. */
static bool read_minutes(Reader *reader, double *seconds) {
    int minutes, whole;
    if (!accept(reader, ":") || !read_digits(reader, 2, 59, &minutes))
        return false;
    *seconds = 60.0 * minutes;
    if (!accept(reader, ":"))
        return true;
    if (!read_digits(reader, 2, 59, &whole))
        return false;
    *seconds += whole;
    if (!accept(reader, "."))
        return true;
    double place = 1;
    const char *start = reader->at;
    for (; is_digit(reader->at, reader->end); reader->at++)
        *seconds += (place /= 10) * (*reader->at - '0');
    return reader->at > start;
}

/* Z, +01:00, +0100, +01 or nothing. */
static bool read_zone(Reader *reader, double *seconds, bool *zoned) {
    int hours, minutes = 0;
    *seconds = 0;
    *zoned = reader->at < reader->end;
    if (!*zoned || accept(reader, "Z"))
        return reader->at == reader->end;
    bool west = accept(reader, "-") || accept(reader, "\u2212");
    if ((!west && !accept(reader, "+")) || !read_digits(reader, 2, 14, &hours))
        return false;
    accept(reader, ":");
    if (reader->at < reader->end && !read_digits(reader, 2, 59, &minutes))
        return false;
    *seconds = (west ? -1 : 1) * (3600.0 * hours + 60.0 * minutes);
    return reader->at == reader->end;
}

bool calendar_read_moment(const char *bytes, size_t length, double *days, bool *zoned) {
    Reader reader = {bytes, bytes + length};
    CalendarDate date;
    int hours;
    double seconds, ahead;
    *zoned = false;
    if (!read_date(&reader, &date) || !calendar_is_valid(date))
        return false;
    *days = (double)calendar_days(date);
    if (reader.at == reader.end)
        return true;
    if (!(accept(&reader, "T") || accept(&reader, " ")) || !read_digits(&reader, 2, 23, &hours) ||
        !read_minutes(&reader, &seconds) || !read_zone(&reader, &ahead, zoned))
        return false;
    *days += (3600.0 * hours + seconds - ahead) / 86400;
    return true;
}

/* SPDX-FileCopyrightText: the Rundlet developers */
/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The calendar against dates published elsewhere, and every day of ten thousand years against counting. */
#include <criterion/criterion.h>

#include "numbers/calendar.h"

static const struct {
    CalendarDate date;
    long days;   /* since 1970-01-01 */
    int weekday; /* 0 Monday */
    const char *source;
} known[] = {
    {{1970, 1, 1}, 0, 3, "POSIX: the epoch, a Thursday"},
    {{2000, 1, 1}, 10957, 5, "J2000.0 is JD 2451545.0, the epoch JD 2440587.5; Saturday"},
    {{1858, 11, 17}, -40587, 2, "zero of the Modified Julian Date; Wednesday"},
    {{1582, 10, 15}, -141427, 4, "first day of the Gregorian calendar, JD 2299160.5; Friday"},
    {{1601, 1, 1}, -134774, 0, "ANSI COBOL day 1; Monday"},
    {{2038, 1, 19}, 24855, 1, "2^31 s after the epoch; Tuesday"},
    {{1969, 7, 20}, -165, 6, "the first landing on the Moon; Sunday"},
    {{2008, 12, 31}, 14244, 2, "leap second of UTC, IERS Bulletin C 36; Wednesday"},
};

Test(calendar, known_dates) {
    for (size_t i = 0; i < sizeof known / sizeof *known; i++) {
        cr_expect_eq(calendar_days(known[i].date), known[i].days, "%s: %ld", known[i].source,
                     calendar_days(known[i].date));
        cr_expect_eq(calendar_weekday(known[i].days), known[i].weekday, "%s", known[i].source);
        CalendarDate back = calendar_date(known[i].days);
        cr_expect(back.year == known[i].date.year && back.month == known[i].date.month &&
                      back.day == known[i].date.day,
                  "%s: %d-%d-%d", known[i].source, back.year, back.month, back.day);
    }
    cr_expect_str_eq(calendar_weekday_name(0), "Thursday");
    cr_expect_str_eq(calendar_weekday_name(-165), "Sunday");
}

/* Counts on from 0000-01-01 by the rule of ISO 8601 written another way, a day at a time. */
Test(calendar, every_day) {
    CalendarDate date = {0, 1, 1};
    int weekday = 5; /* 0000-01-01 was a Saturday: 146097 days are 20871 weeks, so as 2000-01-01 */
    for (long days = CALENDAR_FIRST; days <= CALENDAR_LAST; days++) {
        CalendarDate got = calendar_date(days);
        cr_assert(got.year == date.year && got.month == date.month && got.day == date.day, "%ld: %d-%d-%d",
                  days, got.year, got.month, got.day);
        cr_assert_eq(calendar_days(date), days);
        cr_assert(calendar_is_valid(date));
        cr_assert_eq(calendar_weekday(days), weekday);
        weekday = (weekday + 1) % 7;
        bool leap = date.year % 400 == 0 || (date.year % 4 == 0 && date.year % 100 != 0);
        bool short_month = date.month == 4 || date.month == 6 || date.month == 9 || date.month == 11;
        int last = date.month == 2 ? (leap ? 29 : 28) : short_month ? 30 : 31;
        if (date.day++ == last) {
            date.day = 1;
            date.month++;
        }
        if (date.month == 13) {
            date.month = 1;
            date.year++;
        }
    }
    cr_assert(date.year == 10000, "the last day is 9999-12-31");
}

Test(calendar, impossible_dates) {
    static const CalendarDate bad[] = {{2026, 2, 29}, {1900, 2, 29}, {2100, 2, 29}, {2027, 4, 31},
                                       {2027, 13, 1}, {2027, 0, 1},  {2027, 1, 0},  {2027, 1, 32},
                                       {10000, 1, 1}, {-1, 12, 31}};
    static const CalendarDate good[] = {{2024, 2, 29}, {2000, 2, 29}, {0, 2, 29}, {9999, 12, 31}, {0, 1, 1}};
    for (size_t i = 0; i < sizeof bad / sizeof *bad; i++)
        cr_expect_not(calendar_is_valid(bad[i]), "%d-%d-%d", bad[i].year, bad[i].month, bad[i].day);
    for (size_t i = 0; i < sizeof good / sizeof *good; i++)
        cr_expect(calendar_is_valid(good[i]), "%d-%d-%d", good[i].year, good[i].month, good[i].day);
    cr_expect_eq(calendar_month_days(2024, 2), 29);
    cr_expect_eq(calendar_month_days(2023, 2), 28);
    cr_expect_eq(calendar_month_days(1900, 2), 28);
    cr_expect_eq(calendar_month_days(2027, 12), 31);
}

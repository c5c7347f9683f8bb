/* SPDX-FileCopyrightText: the Rundlet developers */
/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Days and dates. Years are counted from 1 March, so that the leap day is the last of its year and both
 * directions are plain integer arithmetic over 400-year eras of 146097 days. */
#include "numbers/calendar.h"

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

int calendar_weekday(long days) {
    long shifted = (days + 3) % 7; /* 1970-01-01 was a Thursday */
    return (int)(shifted < 0 ? shifted + 7 : shifted);
}

const char *calendar_weekday_name(long days) {
    static const char *const names[] = {"Monday", "Tuesday",  "Wednesday", "Thursday",
                                        "Friday", "Saturday", "Sunday"};
    return names[calendar_weekday(days)];
}

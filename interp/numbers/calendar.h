/* SPDX-FileCopyrightText: the Rundlet developers */
/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The proleptic Gregorian calendar (ISO 8601) as days since 1970-01-01. */
#ifndef RUNDLET_CALENDAR_H
#define RUNDLET_CALENDAR_H

#include <stdbool.h>
#include <stddef.h>

typedef struct CalendarDate {
    int year;  /* 0 to 9999 */
    int month; /* 1 to 12 */
    int day;   /* 1 to 31 */
} CalendarDate;

#define CALENDAR_FIRST (-719528L) /* 0000-01-01 */
#define CALENDAR_LAST  2932896L   /* 9999-12-31 */

bool calendar_is_valid(CalendarDate date);
int calendar_month_days(int year, int month);
long calendar_days(CalendarDate date);
CalendarDate calendar_date(long days);
/* The same day so many months later (or, below 0, earlier); the last day of a month that is too short for it:
 * 31 January and a month is 28 or 29 February. Years outside 0 to 9999 are for the caller to refuse. */
CalendarDate calendar_add_months(CalendarDate date, long months);
int calendar_weekday(long days);              /* 0 Monday … 6 Sunday */
const char *calendar_weekday_name(long days); /* "Monday" */

/* Four, two and two digits joined by `-`, and nothing else. The day need not exist: ask calendar_is_valid. */
bool calendar_read(const char *bytes, size_t length, CalendarDate *date);
/* A day that exists, alone (its midnight) or with a time of day as loggers write it: T or a space, hours and
 * minutes, seconds or not, a zone (Z, +01:00) or not (ISO 8601, RFC 3339). In days since 1970-01-01, with a
 * zone in UTC. `zoned` tells whether there was one. */
bool calendar_read_moment(const char *bytes, size_t length, double *days, bool *zoned);

#endif

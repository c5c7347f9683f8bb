/* SPDX-FileCopyrightText: the Rundlet developers */
/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Quantities and units out of plain text: "1.050 SG", "g/L", for quantity(text) and the columns of
 * read(file). Built-in units only; blanks at both ends are ignored. */
#ifndef RUNDLET_QUANTITY_TEXT_H
#define RUNDLET_QUANTITY_TEXT_H

#include "values/value.h"

/* A unit as a script writes it: names, `*` or `·`, `/`, `^n`. The fault names the part that is no unit, with
 * the nearest. */
bool quantity_text_unit(UnitTable *units, const char *bytes, size_t length, UnitId *unit, Fault *fault);
/* A plain decimal number, with a sign or without. False if it is none. */
bool quantity_text_number(const char *bytes, size_t length, double *number);
/* A date, four-two-two digits. False if it is none, or no day of the calendar. */
bool quantity_text_date(const char *bytes, size_t length, double *days);
/* A date with a time of day, as loggers write them (ISO 8601, and RFC 3339's blank in place of the T): hours
 * and minutes, seconds or not, a zone (Z, +01:00) or not; a date alone is its midnight. In days since
 * 1970-01-01, with a zone in UTC. `zoned` tells whether there was one. */
bool quantity_text_moment(const char *bytes, size_t length, double *days, bool *zoned);
/* Does it look like a date, of the calendar or not? */
bool quantity_text_date_like(const char *bytes, size_t length);
/* A number, a quantity or a date. */
bool quantity_text_read(UnitTable *units, const char *bytes, size_t length, Value *value, Fault *fault);

#endif

/* SPDX-FileCopyrightText: the Rundlet developers */
/* SPDX-License-Identifier: GPL-3.0-or-later */
/* How a value looks to a person (docs/reference/language.md, "How a quantity prints" and "Output"). */
#ifndef RUNDLET_DISPLAY_H
#define RUNDLET_DISPLAY_H

#include "numbers/format.h"
#include "values/heap.h"

/* A standard uncertainty below this share of its value is noise: what two runs differ by in rounding
 * (docs/reference/language.md, "Readings with their ±"). */
#define DISPLAY_SPREAD_LEAST 1e-6

/* What a value holds beyond so many bytes of text is not shown: a list that holds another twice, sixty times
 * over, has no end that anyone would see. */
enum { DISPLAY_MOST = 16 << 20 };

/* One number of a shown value, on the unit it is shown in. */
typedef struct ShownNumber {
    double number;
    UnitId unit;
} ShownNumber;

/* `5 gal`, `1.050 SG`, `[a, b]`, `{k: v}`, `11.36 L, 1.057 SG, 0.0 %ABV`, true, none, 2027-02-14. Texts stand
 * bare at the top and in quotes inside lists and records. A list or record breaks off with `...` after
 * DISPLAY_MOST bytes. What `to` rounds is for display_rounds to judge: it is ignored elsewhere. */
void display_value(Text *out, const UnitTable *units, Value value, FormatSpec format);
/* The same with a standard uncertainty for each number it shows, in order (a liquid shows three); NULL for
 * none. */
void display_value_spread(Text *out, const UnitTable *units, Value value, FormatSpec format,
                          const double *spreads);
/* Fault for `to` on a text, date or truth. */
bool display_rounds(const UnitTable *units, Value value, FormatSpec format, Fault *fault);
/* Is a standard uncertainty one to be shown beside its number? Not one below DISPLAY_SPREAD_LEAST of it, nor
 * one below a tenth of the last decimal that the unit, or a format that asks for more, shows. */
bool display_has_spread(const UnitTable *units, double number, UnitId unit, double spread, FormatSpec format);
/* The numbers a value shows, in order, the first million of them; at most `room` are written. Their count. */
int display_numbers(const UnitTable *units, Value value, ShownNumber *numbers, int room);
/* The number without its unit, by the unit's rule or the format, and its ± where it has one to be shown
 * (spread 0: none): the one place that rounds a ±. */
void display_number(Text *out, const UnitTable *units, double number, UnitId unit, double spread,
                    FormatSpec format);
void display_quantity(Text *out, const UnitTable *units, double number, UnitId unit, FormatSpec format);
/* The unit after a number, a space before it; nothing for plain numbers. */
void display_unit(Text *out, const UnitTable *units, UnitId unit);
/* In place of a name in an expression: with the digits that it shows, or so many where these are not the
 * number itself (0: never); what begins with a minus sign gets brackets, and what has a unit before a ^
 * (`raised`). */
void display_operand(Text *out, const UnitTable *units, Value value, int digits, bool raised);
/* For messages: a long value breaks off early. `literal` as display_literal writes it. */
void display_brief(Text *out, const UnitTable *units, Value value, bool literal);
/* How much room an argument has. */
typedef enum DisplayWidth { DISPLAY_FULL, DISPLAY_SHORT, DISPLAY_TERSE } DisplayWidth;
/* An argument in one line: of a long text its beginning; of a list or record the first three items, where
 * there is room, and how many it has. A number is never cut. */
void display_argument(Text *out, const UnitTable *units, Value value, DisplayWidth width);
/* Just as a script would write it, in full precision: `1.05 SG`, `"text"`; for inputs and examples in
 * messages. */
void display_literal(Text *out, const UnitTable *units, Value value);

#endif

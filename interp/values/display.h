/* SPDX-License-Identifier: GPL-3.0-or-later */
/* How a value looks to a person (language.md §3, §5 show). */
#ifndef RUNDLET_DISPLAY_H
#define RUNDLET_DISPLAY_H

#include "numbers/format.h"
#include "values/heap.h"

/* `5 gal`, `1.050 SG`, `[a, b]`, `{k: v}`, `3.785 L, 1.080 SG, 0.0 %ABV`, true, none, 2027-02-14. Texts stand bare at
 * the top and in quotes inside lists and records. Fault for `to` on a text, date or truth. */
bool display_value(Text *out, const UnitTable *units, Value value, FormatSpec format, Fault *fault);
/* The number alone, by the unit's rule or the format, without the unit (for table cells). */
void display_number(Text *out, const UnitTable *units, double number, UnitId unit, FormatSpec format);
void display_quantity(Text *out, const UnitTable *units, double number, UnitId unit, FormatSpec format);
/* Just as a script would write it, in full precision: `1.05 SG`, `"text"`; for inputs and examples in messages. */
void display_literal(Text *out, const UnitTable *units, Value value);

#endif

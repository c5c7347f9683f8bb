/* SPDX-FileCopyrightText: the Rundlet developers */
/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What a statement or a parameter asks of the kind of a value, and how a value that does not fit is reported.
 * Where the rules of arithmetic end (arith.h), these begin: `is volume`, conditions, `x = …`, counted loops,
 * ±. */
#ifndef RUNDLET_KIND_CHECK_H
#define RUNDLET_KIND_CHECK_H

#include "values/chunk.h"

/* Quantities of one kind, amounts or readings both, or two values of one tag. */
bool kind_same(const UnitTable *units, Value a, Value b);

/* Each sets the fault and returns false when the value does not fit. */

/* `is volume`, `is g/min`. `result`: the check is on what a formula gives, not on a parameter. */
bool kind_check_is(const UnitTable *units, const KindCheck *check, Value value, bool result, Fault *fault);
/* The kind that a check asks for; KIND_NONE where several will do. */
Kind kind_check_only(const UnitTable *units, const KindCheck *check);
Kind kind_check_hinted(const UnitTable *units, const KindCheck *check); /* the one that a hint shows */
/* The answer to a question: true or false. */
bool kind_check_truth(const UnitTable *units, Value value, Fault *fault);
/* `name = …` keeps the kind that the name has; `none` may come and go. */
/* A loop goes through something else than a list, or with two names than a list or a record. Returns false.
 */
bool kind_fault_loop(const UnitTable *units, Value value, bool entries, Fault *fault);
bool kind_check_kept(const UnitTable *units, Value old, Value changed, const char *name, Fault *fault);
/* The bounds and the step (absent: left out) of a counted loop. */
bool kind_check_range(const UnitTable *units, Value from, Value to, Value by, Fault *fault);
/* `value ± spread` and `tolerance(value, spread)`; a spread below zero is not looked at. */
bool kind_check_spread(const UnitTable *units, Value value, Value spread, PlusMinus how, Fault *fault);
/* The item of a list, counted from 1, from the end below 0; or the fault that there is none. */
bool kind_check_item(const ListObject *list, double index, Value *result, Fault *fault);
/* The field of a record, or the fault that it has none. */
bool kind_check_field(const RecordObject *record, const TextObject *name, Value *value, Fault *fault);

/* The fault of a value that has no fields; returns false. */
bool kind_fault_field(const UnitTable *units, Value value, const char *name, Fault *fault);
/* Where the source behind `.` says of what a formula's name was asked as a field: shows the line with the
 * call. */
void kind_hint_call(Fault *fault, const char *source, Span object, Span name);
/* "FORMULA needs WANTED for `ARGUMENT`, not WHAT CAME": the one form for formulas and natives. Returns false.
 */
bool kind_fault_argument(const UnitTable *units, const char *formula, const char *argument, MessageArg wanted,
                         Value value, Fault *fault);
/* A reading was given where its difference is needed: hints at that, 5 F° for 5 °F. */
void kind_hint_difference(const UnitTable *units, Value reading, Fault *fault);
/* Hints how a value of that kind is written: a plain number with the units it may have meant ("write 40 °F or
 * 40 °C"), else an example, or no hint. `unit`: the one that is asked for, UNIT_NUMBER for any of the kind.
 */
void kind_hint_wanted(const UnitTable *units, Kind kind, UnitId unit, Value value, Fault *fault);
/* Hints how a plain number that was to be converted is written: `50 gal as L`. Leaves the hint where no other
 * unit is likely. */
void kind_hint_converted(const UnitTable *units, double number, UnitId to, Fault *fault);
/* Hints "did you mean 1.050 SG?" at 1050 SG. */
void kind_hint_gravity(const UnitTable *units, Value value, Fault *fault);
/* Sets a fault whose first words describe a value, the second (NULL: none) as given; returns false. */
bool kind_fault(const UnitTable *units, MessageId id, Value value, const char *second, Fault *fault);
/* Sets a fault whose two words describe two values; returns false. */
bool kind_fault_pair(const UnitTable *units, MessageId id, Value a, Value b, Fault *fault);

#endif

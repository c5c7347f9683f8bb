/* SPDX-FileCopyrightText: the Rundlet developers */
/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What arithmetic says when the rules forbid it: the message, the labels of both sides, and what to write
 * instead. Private to the values layer. Each sets the fault and returns false. */
#ifndef RUNDLET_ARITH_FAULT_H
#define RUNDLET_ARITH_FAULT_H

#include "values/arith.h"

/* 5% as 0.05; all else as it is. */
Value arith_plain_percent(Value v);

bool arith_fault_pair(const Arith *arith, MessageId id, Value a, Value b); /* %1 and %2 are the two kinds */
bool arith_fault_sum(const Arith *arith, Value a, Value b, bool subtract);
bool arith_fault_percent_sum(const Arith *arith, Value a, Value b, bool subtract);
bool arith_fault_readings_added(const Arith *arith, Value a, Value b);
bool arith_fault_reading_moved(const Arith *arith, Value a, Value b, bool subtract); /* one is a reading */
bool arith_fault_liquid_subtracted(const Arith *arith, Value a, Value b);
bool arith_fault_product(const Arith *arith, Value a, Value b, bool divide);
bool arith_fault_negate(const Arith *arith, Value a);
bool arith_fault_attach(const Arith *arith, Value a, UnitId unit);
bool arith_fault_convert(const Arith *arith, Value a, UnitId unit);
/* After a conversion that failed: shows a plain number with the unit that it may have been in. */
void arith_fault_unit_missing(const Arith *arith, Value a, UnitId unit);
/* After a conversion that failed: ounces were to become a volume? Returns false. */
bool arith_fault_ounce(const Arith *arith, Value a, UnitId unit);
/* A volume divided by ounces, which may be meant for fluid ounces. Returns false. */
bool arith_fault_divides_ounce(const Arith *arith, Value a, Value b);

#endif

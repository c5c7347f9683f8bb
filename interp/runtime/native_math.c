/* SPDX-FileCopyrightText: the Rundlet developers */
/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Natives on one value: rounding, functions of plain numbers, what a value is, dates. */
#include <math.h>

#include "numbers/calendar.h"
#include "runtime/native_tables.h"
#include "values/display.h"
#include "values/value_arg.h"

/* A result of arithmetic this near to a whole number (or to a half) is taken for it: 0.3/0.1 is 3. */
#define NEAR 1e-9

/* ---- rounding ---- */

static double whole_below(double x) {
    double nearest = nearbyint(x);
    return fabs(x - nearest) <= NEAR ? nearest : floor(x);
}

static double whole_above(double x) {
    return -whole_below(-x);
}

/* Halves away from zero. */
static double whole_nearest(double x) {
    double size = fabs(x);
    double up = fmax(size + NEAR, nextafter(size, HUGE_VAL)); /* 267.49999999999997 comes of 2.675/0.01 */
    double whole = size >= 0x1p52 ? size : floor(up + 0.5);
    return copysign(whole, x);
}

/* x to the nearest multiple. Steps such as 0.01 are not binary numbers, their inverses are: 268/100 is 2.68.
 */
static double nearest_multiple(double x, double step) {
    double inverse = nearbyint(1 / step);
    double count = whole_nearest(x / step);
    if (inverse >= 1 && fabs(inverse * step - 1) < 1e-12)
        return count / inverse;
    return count * step;
}

/* The step of `round` as a number in the unit of x: a difference for a reading, a plain number means that
 * unit. */
static bool read_step(Call *call, double *step) {
    UnitTable *units = call->arith.units;
    Value x = call->args[0], by = call->args[1];
    const Unit *unit = unit_get(units, x.unit);
    if (value_is_plain(by)) {
        *step = by.as.number;
    } else if (x.tag == TAG_AMOUNT) {
        if (!native_in(call, 1, x.unit, step))
            return false;
    } else {
        bool curved = unit->scale == SCALE_BRIX || unit->scale == SCALE_BAUME;
        if (curved) /* points are not even steps there */
            return native_wants(call, 1, arg_words(PHRASE_PLAIN_NUMBER));
        if (!native_in(call, 1, unit->difference, step))
            return false;
        if (unit->scale == SCALE_SG)
            *step *= 0.001;
    }
    if (*step > 0)
        return true;
    return native_fail(call, 1, MSG_NATIVE_STEP, ARGS(call->name, arg_words(PHRASE_ABOVE_ZERO)));
}

static bool round_native(Call *call) {
    double step = 1;
    return read_step(call, &step) &&
           native_give(call, nearest_multiple(call->args[0].as.number, step), call->args[0].unit);
}

static bool floor_native(Call *call) {
    return native_give(call, whole_below(call->args[0].as.number), call->args[0].unit);
}

static bool ceil_native(Call *call) {
    return native_give(call, whole_above(call->args[0].as.number), call->args[0].unit);
}

static bool abs_native(Call *call) {
    return native_give(call, fabs(call->args[0].as.number), call->args[0].unit);
}

/* ---- functions ---- */

static bool fail_undefined(Call *call, MessageId condition) {
    return native_fail(call, 0, MSG_NATIVE_UNDEFINED,
                       ARGS(call->name, arg_value(call->arith.units, call->args[0]), arg_words(condition)));
}

static bool sqrt_native(Call *call) {
    Value x = call->args[0];
    UnitId unit = UNIT_NUMBER;
    double factor = 1;
    if (x.as.number < 0)
        return fail_undefined(call, PHRASE_AT_LEAST_0);
    if (x.unit == UNIT_PERCENT)
        return native_give(call, sqrt(x.as.number / 100), UNIT_NUMBER);
    if (x.unit != UNIT_NUMBER &&
        !unit_square_root(call->arith.units, x.unit, &unit, &factor, call->arith.fault))
        return native_place(call, 0);
    return native_give(call, sqrt(x.as.number) * factor, unit);
}

static bool of_plain(Call *call, double (*function)(double)) {
    double x = 0;
    return native_number(call, 0, &x) && native_give(call, function(x), UNIT_NUMBER);
}

static bool of_positive(Call *call, double (*function)(double)) {
    double x = 0;
    if (!native_number(call, 0, &x))
        return false;
    return x > 0 ? native_give(call, function(x), UNIT_NUMBER) : fail_undefined(call, PHRASE_ABOVE_0);
}

static bool exp_native(Call *call) {
    return of_plain(call, exp);
}
static bool sin_native(Call *call) {
    return of_plain(call, sin);
}
static bool cos_native(Call *call) {
    return of_plain(call, cos);
}
static bool tan_native(Call *call) {
    return of_plain(call, tan);
}
static bool ln_native(Call *call) {
    return of_positive(call, log);
}
static bool log10_native(Call *call) {
    return of_positive(call, log10);
}

/* ---- what a value is ---- */

static bool number_native(Call *call) {
    return native_give(call, call->args[0].as.number, UNIT_NUMBER);
}

static bool kind_native(Call *call) {
    call->result = value_string(call->arith.heap, value_kind_text(call->arith.units, call->args[0]));
    return true;
}

static bool text_native(Call *call) {
    Text out = {0};
    display_value(&out, call->arith.units, call->args[0], (FormatSpec){FORMAT_DEFAULT, 0});
    bool done = heap_allows(call->arith.heap, out.length, call->arith.fault);
    if (done)
        call->result = value_text(call->arith.heap, text_string(&out), out.length);
    text_free(&out);
    return done;
}

/* ---- uncertainty ---- */

/* Formulas for which the compiler writes instructions of their own (OP_PLUS_MINUS, OP_CORRELATE, OP_JUDGE),
 * so that this is never called. */
static bool instruction_native(Call *call) {
    call->result = call->args[0];
    return true;
}

/* ---- dates ---- */

static bool today_native(Call *call) {
    call->context->today_used = true;
    call->result = value_reading(call->context->today, UNIT_DATE);
    return true;
}

static bool read_day(Call *call, long *day) {
    double days = 0;
    if (!native_in(call, 0, UNIT_DATE, &days))
        return false;
    if (!(days >= CALENDAR_FIRST && days <= CALENDAR_LAST))
        return native_fail(call, 0, MSG_DATE_RANGE, NO_ARGS);
    *day = (long)floor(days);
    return true;
}

static bool weekday_native(Call *call) {
    long day = 0;
    if (!read_day(call, &day))
        return false;
    call->result = value_string(call->arith.heap, calendar_weekday_name(day));
    return true;
}

static bool year_native(Call *call) {
    long day = 0;
    return read_day(call, &day) && native_give(call, calendar_date(day).year, UNIT_NUMBER);
}

static bool month_native(Call *call) {
    long day = 0;
    return read_day(call, &day) && native_give(call, calendar_date(day).month, UNIT_NUMBER);
}

static bool day_native(Call *call) {
    long day = 0;
    return read_day(call, &day) && native_give(call, calendar_date(day).day, UNIT_NUMBER);
}

/* ---- refusals ---- */

/* A value that is of one kind with another, in the unit of that one. */
static bool in_unit_of_native(Call *call) {
    UnitTable *units = call->arith.units;
    Value value = call->args[0], other = call->args[1];
    double number;
    bool same = value_is_quantity(value) && value_is_quantity(other) &&
                unit_same_kind(units, value.unit, other.unit) &&
                unit_convert(units, value.as.number, value.unit, other.unit, &number, call->arith.fault);
    fault_clear(call->arith.fault);
    call->result = same ? value_quantity(units, number, other.unit) : value;
    return true;
}

static bool refuse_native(Call *call) {
    if (native_text(call, 0)->length == 0)
        return native_fail(call, 0, MSG_REFUSE_EMPTY, NO_ARGS);
    fault_set(call->arith.fault, MSG_REFUSED, ARGS(native_text(call, 0)->bytes));
    if (!native_absent(call, 1))
        fault_hint(call->arith.fault, HINT_REFUSED, ARGS(native_text(call, 1)->bytes));
    if (!native_absent(call, 2))
        call->arith.fault->argument = 3;
    return false;
}

static const Native rows[] = {
    NATIVE(abs),
    {"as_weighed", instruction_native},
    {"bad_end", instruction_native},
    NATIVE(ceil),
    {"correlated", instruction_native},
    NATIVE(cos),
    NATIVE(day),
    NATIVE(exp),
    NATIVE(floor),
    NATIVE(in_unit_of),
    NATIVE(kind),
    NATIVE(ln),
    NATIVE(log10),
    NATIVE(month),
    NATIVE(number),
    NATIVE(refuse),
    NATIVE(round),
    NATIVE(sin),
    NATIVE(sqrt),
    NATIVE(tan),
    NATIVE(text),
    NATIVE(today),
    {"tolerance", instruction_native},
    NATIVE(weekday),
    NATIVE(year),
};

const NativeTable native_math_table = NATIVE_TABLE(rows);

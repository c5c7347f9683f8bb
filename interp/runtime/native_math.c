/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Natives on one value: rounding, functions of plain numbers, what a value is, dates. */
#include <math.h>

#include "numbers/calendar.h"
#include "runtime/native_tables.h"
#include "values/display.h"

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

/* x to the nearest multiple. Steps such as 0.01 are no binary numbers, their inverses are: 268/100 is 2.68.
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
        if (curved) /* points are no even steps there */
            return native_wants(call, 1, "a plain number");
        if (!native_in(call, 1, unit->difference, step))
            return false;
        if (unit->scale == SCALE_SG)
            *step *= 0.001;
    }
    if (*step > 0)
        return true;
    return native_fail(call, 1, MSG_NATIVE_STEP, ARGS("round", "above zero"));
}

static bool quantity_but_date(Call *call) {
    Value x = call->args[0];
    return (value_is_quantity(x) && x.unit != UNIT_DATE) || native_wants(call, 0, "a quantity");
}

static bool round_native(Call *call) {
    double step = 1;
    if (!quantity_but_date(call) || !read_step(call, &step))
        return false;
    return native_give(call, nearest_multiple(call->args[0].as.number, step), call->args[0].unit);
}

static bool floor_native(Call *call) {
    return quantity_but_date(call) &&
           native_give(call, whole_below(call->args[0].as.number), call->args[0].unit);
}

static bool ceil_native(Call *call) {
    return quantity_but_date(call) &&
           native_give(call, whole_above(call->args[0].as.number), call->args[0].unit);
}

static bool abs_native(Call *call) {
    Value x = call->args[0];
    if (x.tag != TAG_AMOUNT)
        return native_wants(call, 0, "a number or an amount");
    return native_give(call, fabs(x.as.number), x.unit);
}

/* ---- functions ---- */

static bool fail_undefined(Call *call, const char *condition) {
    Text shown = {0};
    display_brief(&shown, call->arith.units, call->args[0], false);
    native_fail(call, 0, MSG_NATIVE_UNDEFINED, ARGS(call->native->name, text_string(&shown), condition));
    text_free(&shown);
    return false;
}

static bool sqrt_native(Call *call) {
    Value x = call->args[0];
    UnitId unit = UNIT_NUMBER;
    double factor = 1;
    if (x.tag != TAG_AMOUNT)
        return native_wants(call, 0, "a number or an amount");
    if (x.as.number < 0)
        return fail_undefined(call, "at least 0");
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
    return x > 0 ? native_give(call, function(x), UNIT_NUMBER) : fail_undefined(call, "above 0");
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
    if (quantity_but_date(call))
        return native_give(call, call->args[0].as.number, UNIT_NUMBER);
    if (call->args[0].tag == TAG_TEXT)
        fault_hint(call->arith.fault, "quantity(text) reads a number or a quantity out of a text");
    return false;
}

static bool kind_native(Call *call) {
    call->result = value_string(call->arith.heap, value_kind_text(call->arith.units, call->args[0]));
    return true;
}

static bool text_native(Call *call) {
    Text out = {0};
    bool done = display_value(&out, call->arith.units, call->args[0], (FormatSpec){FORMAT_DEFAULT, 0},
                              call->arith.fault) &&
                heap_allows(call->arith.heap, out.length, call->arith.fault);
    if (done)
        call->result = value_text(call->arith.heap, text_string(&out), out.length);
    text_free(&out);
    return done;
}

/* ---- uncertainty ---- */

/* tolerance and correlated: the compiler writes instructions of their own for them (OP_PLUS_MINUS,
 * OP_CORRELATE); the rows are for help and for binding arguments. */
static bool tolerance_native(Call *call) {
    call->result = call->args[0];
    return true;
}

/* ---- dates ---- */

static bool today_native(Call *call) {
    call->context->today_used = true;
    call->result = value_reading(call->context->today, UNIT_DATE);
    return true;
}

static bool weekday_native(Call *call) {
    double days = 0;
    if (!native_in(call, 0, UNIT_DATE, &days))
        return false;
    call->result = value_string(call->arith.heap, calendar_weekday_name((long)days));
    return true;
}

/* ---- refusals ---- */

static bool refuse_native(Call *call) {
    const TextObject *text, *advice;
    if (!native_text(call, 0, &text) || (!native_absent(call, 1) && !native_text(call, 1, &advice)))
        return false;
    fault_set(call->arith.fault, MSG_REFUSED, ARGS(text->bytes));
    if (!native_absent(call, 1))
        fault_hint(call->arith.fault, advice->bytes);
    return false;
}

#define GENERAL "General"

static const Native rows[] = {
    {"abs", "x", GENERAL,
     "The size of a number or an amount, without its sign.\n"
     "x: a plain number or any amount; a reading (°C, SG, pH, a date) has no size.\n"
     "Source: common practice",
     abs_native, GIVES(RESULT_FIRST)},
    {"ceil", "x", GENERAL,
     "The next whole number upwards, in the unit x stands in: ceil(5.3 gal) is 6 gal.\n"
     "x: any quantity but a date; within 1e-9 of a whole number it is that number.\n"
     "Source: common practice",
     ceil_native, GIVES(RESULT_FIRST)},
    {"correlated", "readings, pairs", GENERAL,
     "Readings that err together: the same record, its ± correlated.\n"
     "readings: a record, each field a quantity with a ± of its own: {a: 5.0 ± 0.1, b: 3.0 ± 0.2}.\n"
     "pairs: a list of [name, name, coefficient from -1 to 1]; pairs left out are not correlated.\n"
     "Where a common cause is known, a shared source says it better: let offset = 0 pts ± 1 pts, then a + "
     "offset, b + offset.\n"
     "Source: JCGM 100:2008, 5.2 and H.2",
     tolerance_native, GIVES(RESULT_UNKNOWN)},
    {"cos", "x", GENERAL, "The cosine.\nx: a plain number, the angle in radians.\nSource: ISO 80000-2",
     cos_native, GIVES_UNIT(UNIT_NUMBER)},
    {"exp", "x", GENERAL, "e to the power of x.\nx: a plain number, up to about 709.\nSource: ISO 80000-2",
     exp_native, GIVES_UNIT(UNIT_NUMBER)},
    {"floor", "x", GENERAL,
     "The next whole number downwards, in the unit x stands in: floor(5.3 gal) is 5 gal.\n"
     "x: any quantity but a date; within 1e-9 of a whole number it is that number.\n"
     "Source: common practice",
     floor_native, GIVES(RESULT_FIRST)},
    {"kind", "x", GENERAL,
     "What x is, as a text: \"volume\", \"gravity\", \"list\", …; a compound without a word gives its "
     "units.\n"
     "x: any value.\n"
     "Source: common practice",
     kind_native, GIVES(RESULT_TEXT)},
    {"ln", "x", GENERAL, "The natural logarithm.\nx: a plain number above 0.\nSource: ISO 80000-2", ln_native,
     GIVES_UNIT(UNIT_NUMBER)},
    {"log10", "x", GENERAL, "The logarithm to base 10.\nx: a plain number above 0.\nSource: ISO 80000-2",
     log10_native, GIVES_UNIT(UNIT_NUMBER)},
    {"number", "x", GENERAL,
     "The plain number of x in the unit it stands in: number(5%) is 5, number(5 gal as L) is 18.93.\n"
     "x: any quantity but a date.\n"
     "Source: common practice",
     number_native, GIVES_UNIT(UNIT_NUMBER)},
    {"refuse", "text, hint?", GENERAL,
     "Stops with an error of one's own, for a formula that does not hold for what it was given.\n"
     "text: what is wrong.\nhint: what to write or do instead.\n"
     "Source: common practice",
     refuse_native, GIVES(RESULT_UNKNOWN)},
    {"round", "x, step: 1", GENERAL,
     "The nearest multiple of a step, halves away from zero, in the unit x stands in.\n"
     "x: any quantity but a date.\n"
     "step: of the same kind, above zero (for a reading a difference: 1 pts, 0.5 C°); a plain number means "
     "so much "
     "of the unit of x.\n"
     "Source: common practice",
     round_native, GIVES(RESULT_FIRST)},
    {"sin", "x", GENERAL, "The sine.\nx: a plain number, the angle in radians.\nSource: ISO 80000-2",
     sin_native, GIVES_UNIT(UNIT_NUMBER)},
    {"sqrt", "x", GENERAL,
     "The square root; that of an area is a length.\n"
     "x: a plain number or an amount, at least 0, whose unit has a square root.\n"
     "Source: ISO 80000-2",
     sqrt_native, GIVES(RESULT_ROOT)},
    {"tan", "x", GENERAL, "The tangent.\nx: a plain number, the angle in radians.\nSource: ISO 80000-2",
     tan_native, GIVES_UNIT(UNIT_NUMBER)},
    {"text", "x", GENERAL,
     "x as show prints it.\n"
     "x: any value.\n"
     "Source: common practice",
     text_native, GIVES(RESULT_TEXT)},
    {"today", "", GENERAL,
     "Today's date; it counts as an input of the report. --today DATE sets it.\n"
     "Source: ISO 8601",
     today_native, GIVES_UNIT(UNIT_DATE)},
    {"tolerance", "x, within", GENERAL,
     "x, known to lie within so much of what is written: a rectangle, standard uncertainty within/√3.\n"
     "x: any quantity but a date.\n"
     "within: the half-width, a difference on the scale of x: 1 pts, 0.1 gal.\n"
     "Source: JCGM 100:2008, 4.3.7",
     tolerance_native, GIVES(RESULT_UNKNOWN)},
    {"weekday", "date", GENERAL,
     "The day of the week in English: \"Monday\".\n"
     "date: a date.\n"
     "Source: ISO 8601, Gregorian calendar",
     weekday_native, GIVES(RESULT_TEXT)},
};

const NativeTable native_math_table = NATIVE_TABLE(rows);

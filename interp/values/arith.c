/* SPDX-FileCopyrightText: the Rundlet developers */
/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The rules of docs/reference/language.md, "Amounts and readings", for + - × ÷ of mod ^ and units. Comparison
 * is in compare.c. */
#include "values/arith.h"

#include <float.h>
#include <math.h>

#include "numbers/calendar.h"
#include "values/arith_fault.h"
#include "values/liquid_value.h"

/* ---- percent ---- */

static bool is_percent(Value v) {
    return v.tag == TAG_AMOUNT && v.unit == UNIT_PERCENT;
}

Value arith_plain_percent(Value v) {
    return is_percent(v) ? value_number(v.as.number / 100) : v;
}

static bool finish(const Arith *arith, double number, UnitId unit, Value *result) {
    if (!isfinite(number))
        return fault_set(arith->fault, MSG_OVERFLOW, NO_ARGS);
    *result = value_quantity(arith->units, number, unit);
    return true;
}

/* ---- readings ---- */

/* How many numbers on the scale one unit of its difference is; 0 where the scale is not a straight line of
 * it. */
static double scale_per_difference(Scale scale) {
    switch (scale) {
    case SCALE_CELSIUS:
    case SCALE_FAHRENHEIT:
    case SCALE_KELVIN:
    case SCALE_OECHSLE:
    case SCALE_PH:
    case SCALE_DATE:
        return 1;
    case SCALE_SG:
        return 0.001;
    case SCALE_LINEAR:
    case SCALE_PERCENT:
    case SCALE_BRIX:
    case SCALE_BAUME:
    case SCALE_ABV:
    case SCALE_ABW:
    case SCALE_US_PROOF:
    case SCALE_UK_PROOF:
    case SCALE_LOVIBOND:
        break;
    }
    return 0;
}

static bool whole_days(const Arith *arith, double *days) {
    double nearest = nearbyint(*days);
    if (fabs(*days - nearest) > 1e-6)
        return fault_set(arith->fault, MSG_DATE_FRACTION, NO_ARGS);
    *days = nearest;
    return true;
}

static bool in_calendar(const Arith *arith, double date) {
    if (date < CALENDAR_FIRST || date > CALENDAR_LAST)
        return fault_set(arith->fault, MSG_DATE_RANGE, NO_ARGS);
    return true;
}

/* A date moved by whole months, which have no fixed number of days. */
static bool move_by_months(const Arith *arith, Value date, Value difference, double sign, Value *result) {
    double months = difference.as.number * unit_get(arith->units, difference.unit)->factor;
    double whole = nearbyint(months);
    if (fabs(months - whole) > 1e-6)
        return fault_set(arith->fault, MSG_DATE_MONTHS, NO_ARGS);
    if (fabs(whole) > CALENDAR_LAST)
        return fault_set(arith->fault, MSG_DATE_RANGE, NO_ARGS);
    CalendarDate moved = calendar_add_months(calendar_date((long)date.as.number), (long)(sign * whole));
    if (moved.year < 0 || moved.year > 9999)
        return fault_set(arith->fault, MSG_DATE_RANGE, NO_ARGS);
    return finish(arith, (double)calendar_days(moved), UNIT_DATE, result);
}

/* reading + sign × difference, on the reading's own unit. `turned`: the difference was written first. */
static bool move_reading(const Arith *arith, Value reading, Value difference, double sign, bool turned,
                         Value *result) {
    const Unit *unit = unit_get(arith->units, reading.unit);
    difference = arith_plain_percent(difference);
    if (unit->scale == SCALE_DATE && unit_get(arith->units, difference.unit)->kind == KIND_MONTHS)
        return move_by_months(arith, reading, difference, sign, result);
    if (!unit_same_kind(arith->units, difference.unit, unit->difference))
        return arith_fault_reading_moved(arith, turned ? difference : reading, turned ? reading : difference,
                                         sign < 0);
    double steps;
    if (!unit_convert(arith->units, difference.as.number, difference.unit, unit->difference, &steps,
                      arith->fault))
        return false;
    if (unit->scale == SCALE_DATE && !whole_days(arith, &steps))
        return false;
    double per_step = scale_per_difference(unit->scale);
    if (per_step > 0) {
        double moved = reading.as.number + sign * steps * per_step;
        if (unit->scale == SCALE_DATE && !in_calendar(arith, moved))
            return false;
        return finish(arith, moved, reading.unit, result);
    }
    double base, moved; /* °Bx and °Be: differences are gravity points, 0.001 SG each */
    return unit_reading_base(arith->units, reading.as.number, reading.unit, &base, arith->fault) &&
           unit_reading_from_base(arith->units, base + sign * steps * 0.001, reading.unit, &moved,
                                  arith->fault) &&
           finish(arith, moved, reading.unit, result);
}

static bool subtract_readings(const Arith *arith, Value a, Value b, Value *result) {
    if (!unit_same_kind(arith->units, a.unit, b.unit))
        return arith_fault_pair(arith, MSG_SUBTRACT_KINDS, a, b);
    const Unit *unit = unit_get(arith->units, a.unit);
    double per_step = scale_per_difference(unit->scale);
    if (per_step > 0) {
        double other;
        return unit_convert(arith->units, b.as.number, b.unit, a.unit, &other, arith->fault) &&
               finish(arith, per_step < 1 ? (a.as.number - other) * 1000 : a.as.number - other,
                      unit->difference, result);
    }
    double base_a, base_b;
    return unit_reading_base(arith->units, a.as.number, a.unit, &base_a, arith->fault) &&
           unit_reading_base(arith->units, b.as.number, b.unit, &base_b, arith->fault) &&
           finish(arith, (base_a - base_b) * 1000, unit->difference, result);
}

/* ---- sums ---- */

/* Two amounts; sign is +1 or −1. */
static bool sum_amounts(const Arith *arith, Value a, Value b, double sign, Value *result) {
    if (is_percent(a) != is_percent(b)) {
        Value other = is_percent(a) ? b : a;
        if (other.unit != UNIT_NUMBER)
            return arith_fault_percent_sum(arith, a, b, sign < 0);
        a = arith_plain_percent(a);
        b = arith_plain_percent(b);
    }
    if (a.unit == b.unit)
        return finish(arith, a.as.number + sign * b.as.number, a.unit, result);
    if (!unit_same_kind(arith->units, a.unit, b.unit))
        return arith_fault_sum(arith, a, b, sign < 0);
    const Unit *left = unit_get(arith->units, a.unit), *right = unit_get(arith->units, b.unit);
    if (left->scale == SCALE_LOVIBOND ||
        right->scale == SCALE_LOVIBOND) /* its zero is not that of the others */
        return fault_set(arith->fault, MSG_UNIT_COLOUR_PART,
                         ARGS((left->scale == SCALE_LOVIBOND ? left : right)->name));
    double other;
    return unit_convert(arith->units, b.as.number, b.unit, a.unit, &other, arith->fault) &&
           finish(arith, a.as.number + sign * other, a.unit, result);
}

static bool pour(const Arith *arith, const LiquidObject *a, const LiquidObject *b, Value *result) {
    if (!liquid_value_add(arith, a, b, result))
        return false;
    if (arith->pours)
        arith->pours->poured(arith->pours->context, &a->liquid, &b->liquid);
    return true;
}

bool arith_add(const Arith *arith, Value a, Value b, Value *result) {
    if (a.tag == TAG_AMOUNT && b.tag == TAG_AMOUNT)
        return sum_amounts(arith, a, b, 1, result);
    if (a.tag == TAG_READING && b.tag == TAG_AMOUNT)
        return move_reading(arith, a, b, 1, false, result);
    if (a.tag == TAG_AMOUNT && b.tag == TAG_READING)
        return move_reading(arith, b, a, 1, true, result);
    if (a.tag == TAG_READING && b.tag == TAG_READING)
        return arith_fault_readings_added(arith, a, b);
    if (a.tag == TAG_LIQUID && b.tag == TAG_LIQUID)
        return pour(arith, a.as.liquid, b.as.liquid, result);
    return arith_fault_sum(arith, a, b, false);
}

bool arith_subtract(const Arith *arith, Value a, Value b, Value *result) {
    if (a.tag == TAG_AMOUNT && b.tag == TAG_AMOUNT)
        return sum_amounts(arith, a, b, -1, result);
    if (a.tag == TAG_READING && b.tag == TAG_READING)
        return subtract_readings(arith, a, b, result);
    if (a.tag == TAG_READING && b.tag == TAG_AMOUNT)
        return move_reading(arith, a, b, -1, false, result);
    if (a.tag == TAG_LIQUID)
        return arith_fault_liquid_subtracted(arith, a, b);
    return arith_fault_sum(arith, a, b, true);
}

/* ---- products ---- */

static bool multiply_amounts(const Arith *arith, Value a, Value b, Value *result) {
    if (is_percent(a) || is_percent(b)) {
        bool keeps = value_is_plain(a) || value_is_plain(b); /* number × % stays % */
        if (keeps)
            return finish(arith, a.as.number * b.as.number, UNIT_PERCENT, result);
        a = arith_plain_percent(a);
        b = arith_plain_percent(b);
    }
    if (b.unit == UNIT_NUMBER || a.unit == UNIT_NUMBER)
        return finish(arith, a.as.number * b.as.number, a.unit == UNIT_NUMBER ? b.unit : a.unit, result);
    UnitId unit;
    double factor;
    return unit_multiply(arith->units, a.unit, b.unit, false, &unit, &factor, arith->fault) &&
           finish(arith, a.as.number * b.as.number * factor, unit, result);
}

bool arith_multiply(const Arith *arith, Value a, Value b, Value *result) {
    if (a.tag == TAG_AMOUNT && b.tag == TAG_AMOUNT)
        return multiply_amounts(arith, a, b, result);
    Value plain_a = arith_plain_percent(a), plain_b = arith_plain_percent(b);
    if (a.tag == TAG_LIQUID && value_is_plain(plain_b))
        return liquid_value_scale(arith, a.as.liquid, plain_b.as.number, result);
    if (b.tag == TAG_LIQUID && value_is_plain(plain_a))
        return liquid_value_scale(arith, b.as.liquid, plain_a.as.number, result);
    return arith_fault_product(arith, a, b, false);
}

static bool divide_amounts(const Arith *arith, Value a, Value b, Value *result) {
    if (b.as.number == 0)
        return fault_set(arith->fault, MSG_DIVISION_BY_ZERO, NO_ARGS);
    if (is_percent(a) && value_is_plain(b))
        return finish(arith, a.as.number / b.as.number, UNIT_PERCENT, result);
    a = arith_plain_percent(a);
    b = arith_plain_percent(b);
    if (b.unit == UNIT_NUMBER)
        return finish(arith, a.as.number / b.as.number, a.unit, result);
    if (a.unit == b.unit)
        return finish(arith, a.as.number / b.as.number, UNIT_NUMBER, result);
    UnitId unit;
    double factor;
    if (a.unit != UNIT_NUMBER && unit_same_kind(arith->units, a.unit, b.unit)) {
        double other; /* scales that are not straight lines (%ABW against %ABV) convert as they do in a sum */
        return unit_convert(arith->units, b.as.number, b.unit, a.unit, &other, arith->fault) &&
               finish(arith, a.as.number / other, UNIT_NUMBER, result);
    }
    return unit_multiply(arith->units, a.unit, b.unit, true, &unit, &factor, arith->fault) &&
           finish(arith, a.as.number / b.as.number * factor, unit, result);
}

bool arith_divide(const Arith *arith, Value a, Value b, Value *result) {
    bool amounts = a.tag == TAG_AMOUNT && b.tag == TAG_AMOUNT;
    if (amounts && b.unit == UNIT_OZ && unit_same_kind(arith->units, a.unit, UNIT_FLOZ))
        return arith_fault_divides_ounce(arith, a, b);
    if (amounts)
        return divide_amounts(arith, a, b, result);
    Value plain_b = arith_plain_percent(b);
    if (a.tag == TAG_LIQUID && value_is_plain(plain_b)) {
        if (plain_b.as.number == 0)
            return fault_set(arith->fault, MSG_DIVISION_BY_ZERO, NO_ARGS);
        return liquid_value_scale(arith, a.as.liquid, 1 / plain_b.as.number, result);
    }
    return arith_fault_product(arith, a, b, true);
}

bool arith_of(const Arith *arith, Value a, Value b, Value *result) {
    Value share = arith_plain_percent(a);
    if (value_is_plain(share))
        return arith_multiply(arith, share, b, result);
    if (b.tag == TAG_LIQUID && a.tag == TAG_AMOUNT)
        return liquid_value_of(arith, a, b.as.liquid, result);
    return arith_fault_pair(arith, MSG_OF_KINDS, a, b);
}

bool arith_modulo(const Arith *arith, Value a, Value b, Value *result) {
    if (a.tag != TAG_AMOUNT || b.tag != TAG_AMOUNT)
        return arith_fault_product(arith, a, b, true);
    a = arith_plain_percent(a);
    b = arith_plain_percent(b);
    if (!unit_same_kind(arith->units, a.unit, b.unit))
        return arith_fault_pair(arith, MSG_MODULO_KINDS, a, b);
    double step;
    if (!unit_convert(arith->units, b.as.number, b.unit, a.unit, &step, arith->fault))
        return false;
    if (step == 0)
        return fault_set(arith->fault, MSG_DIVISION_BY_ZERO, NO_ARGS);
    double rest = a.as.number - step * floor(a.as.number / step);
    /* 0.3 mod 0.1 is 0, as a person expects: what misses a whole step by a billionth of it, or by the
     * rounding of a, is one */
    double slack = fmax(1e-9 * fabs(step), 4 * DBL_EPSILON * fabs(a.as.number));
    if (fabs(rest) < slack || fabs(step - rest) < slack)
        rest = 0;
    return finish(arith, rest, a.unit, result);
}

bool arith_power(const Arith *arith, Value a, Value b, Value *result) {
    a = arith_plain_percent(a);
    b = arith_plain_percent(b);
    if (a.tag != TAG_AMOUNT || !value_is_plain(b))
        return arith_fault_pair(arith, MSG_POWER_KINDS, a, b);
    double exponent = b.as.number;
    if (a.as.number == 0 && exponent < 0)
        return fault_set(arith->fault, MSG_DIVISION_BY_ZERO, NO_ARGS);
    if (a.as.number < 0 && exponent != floor(exponent))
        return fault_set(arith->fault, MSG_POWER_NEGATIVE, NO_ARGS);
    double power = pow(a.as.number, exponent);
    if (a.unit == UNIT_NUMBER)
        return finish(arith, power, UNIT_NUMBER, result);
    if (exponent != floor(exponent) || fabs(exponent) > 100)
        return fault_set(arith->fault, MSG_POWER_UNIT, NO_ARGS);
    UnitId unit;
    double factor;
    return unit_power(arith->units, a.unit, (int)exponent, &unit, &factor, arith->fault) &&
           finish(arith, power * factor, unit, result);
}

bool arith_negate(const Arith *arith, Value a, Value *result) {
    if (a.tag != TAG_AMOUNT)
        return arith_fault_negate(arith, a);
    *result = a;
    result->as.number = -a.as.number;
    return true;
}

/* ---- units ---- */

bool arith_attach(const Arith *arith, Value a, UnitId unit, Value *result) {
    if (!value_is_plain(a))
        return arith_fault_attach(arith, a, unit);
    *result = value_quantity(arith->units, a.as.number, unit);
    return true;
}

bool arith_convert(const Arith *arith, Value a, UnitId unit, Value *result) {
    if (!value_is_quantity(a))
        return arith_fault_convert(arith, a, unit);
    double number;
    if (unit_convert(arith->units, a.as.number, a.unit, unit, &number, arith->fault))
        return finish(arith, number, unit, result);
    arith_fault_unit_missing(arith, a, unit);
    return arith_fault_ounce(arith, a, unit);
}

bool arith_spread(const Arith *arith, Value value, Value spread, bool same, double *uncertainty) {
    Value moved;
    *uncertainty = spread.as.number;
    if (spread.as.number < 0)
        return fault_set(arith->fault, MSG_PLUS_MINUS_NEGATIVE, NO_ARGS);
    if (same)
        return true;
    if (value.tag == TAG_AMOUNT)
        return unit_convert(arith->units, spread.as.number, spread.unit, value.unit, uncertainty,
                            arith->fault);
    if (!arith_add(arith, value, spread, &moved))
        return false;
    *uncertainty = fabs(moved.as.number - value.as.number);
    return true;
}

/* SPDX-FileCopyrightText: the Rundlet developers */
/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Comparison with the tolerance of docs/reference/language.md, "Expressions", and distances for `near` and
 * `find`. */
#include <math.h>
#include <string.h>

#include "values/arith_fault.h"
#include "values/value_arg.h"

/* Both numbers on one scale: amounts in a's unit, readings on their base (SG, K, pH, days). */
static bool on_common_scale(const Arith *arith, Value a, Value b, double *number_a, double *number_b) {
    if (a.tag == TAG_READING) {
        return unit_reading_base(arith->units, a.as.number, a.unit, number_a, arith->fault) &&
               unit_reading_base(arith->units, b.as.number, b.unit, number_b, arith->fault);
    }
    *number_a = a.as.number;
    *number_b = b.as.number;
    return a.unit == b.unit ||
           unit_convert(arith->units, b.as.number, b.unit, a.unit, number_b, arith->fault);
}

static void hint_comparison(const Arith *arith, Value a, Value b) {
    if (a.tag == TAG_TEXT || b.tag == TAG_TEXT)
        fault_hint(arith->fault, HINT_TEXT_COMPARED, NO_ARGS);
    else if (!value_is_quantity(a) || !value_is_quantity(b))
        return;
    else if (value_is_plain(a) != value_is_plain(b))
        fault_hint(arith->fault, HINT_PLAIN_COMPARED, NO_ARGS);
    else if (a.tag != b.tag)
        fault_hint(arith->fault, HINT_READING_COMPARED, NO_ARGS);
    else if (a.tag == TAG_AMOUNT)
        fault_hint(arith->fault, HINT_AMOUNTS_COMPARED, NO_ARGS);
}

/* Brings two quantities to one scale, or says that their kinds differ. */
static bool comparable(const Arith *arith, Value *a, Value *b, double *number_a, double *number_b) {
    *a = arith_plain_percent(*a);
    *b = arith_plain_percent(*b);
    if (!value_is_quantity(*a) || !value_is_quantity(*b) || !unit_same_kind(arith->units, a->unit, b->unit)) {
        arith_fault_pair(arith, MSG_COMPARE_KINDS, *a, *b);
        hint_comparison(arith, *a, *b);
        return false;
    }
    return on_common_scale(arith, *a, *b, number_a, number_b);
}

bool arith_compare(const Arith *arith, Value a, Value b, int *order) {
    double left, right;
    if (!value_is_quantity(a) || !value_is_quantity(b)) {
        arith_fault_pair(arith, MSG_ORDER_KINDS, a, b);
        return false;
    }
    if (!comparable(arith, &a, &b, &left, &right))
        return false;
    double gap = left - right;
    *order = fabs(gap) <= arith_tolerance(left, right) ? 0 : gap < 0 ? -1 : 1;
    return true;
}

/* Lists in lists: comparing recurses, a script may nest them without end, and one that holds another twice,
 * sixty times over, is more than any machine could go through. */
enum { COMPARED_DEPTH = 1000, COMPARED_VALUES = 20000000 };

typedef struct Walk {
    const Arith *arith;
    int depth;
    int values; /* looked at so far */
} Walk;

static bool equal_at(Walk *c, Value a, Value b, bool *result);

static bool equal_lists(Walk *c, const ListObject *a, const ListObject *b, bool *result) {
    *result = a->count == b->count;
    for (uint32_t i = 0; *result && i < a->count; i++)
        if (!heap_work(c->arith->heap, 2, c->arith->fault) || !equal_at(c, a->items[i], b->items[i], result))
            return false;
    return true;
}

static bool equal_records(Walk *c, const RecordObject *a, const RecordObject *b, bool *result) {
    *result = a->count == b->count;
    for (uint32_t i = 0; *result && i < a->count; i++) {
        if (!heap_work(c->arith->heap, 2 + a->count, c->arith->fault))
            return false;
        const Value *other = record_find(b, a->fields[i].name);
        if (!other) {
            *result = false;
            return true;
        }
        if (!equal_at(c, a->fields[i].value, *other, result))
            return false;
    }
    return true;
}

static bool equal_nested(Walk *c, Value a, Value b, bool *result) {
    if (c->depth == COMPARED_DEPTH)
        return fault_set(c->arith->fault, MSG_COMPARE_DEPTH, NO_ARGS);
    c->depth++;
    bool compared = a.tag == TAG_LIST ? equal_lists(c, a.as.list, b.as.list, result)
                                      : equal_records(c, a.as.record, b.as.record, result);
    c->depth--;
    return compared;
}

static bool equal_at(Walk *c, Value a, Value b, bool *result) {
    const Arith *arith = c->arith;
    if (++c->values > COMPARED_VALUES)
        return fault_set(arith->fault, MSG_COMPARE_LONG, NO_ARGS);
    if (value_is_quantity(a) && value_is_quantity(b)) {
        double left, right;
        if (!comparable(arith, &a, &b, &left, &right))
            return false;
        *result = fabs(left - right) <= arith_tolerance(left, right);
        return true;
    }
    if (a.tag == TAG_NONE || b.tag == TAG_NONE) {
        *result = a.tag == b.tag;
        return true;
    }
    if (a.tag == TAG_FORMULA && b.tag == TAG_FORMULA) {
        *result = a.as.formula == b.as.formula;
        return true;
    }
    if (a.tag != b.tag || a.tag == TAG_LIQUID) {
        arith_fault_pair(arith, MSG_COMPARE_KINDS, a, b);
        if (a.tag == TAG_LIQUID && b.tag == TAG_LIQUID)
            fault_hint(arith->fault, HINT_LIQUIDS_COMPARED, NO_ARGS);
        else
            hint_comparison(arith, a, b);
        return false;
    }
    if (a.tag == TAG_LIST || a.tag == TAG_RECORD)
        return equal_nested(c, a, b, result);
    if (a.tag == TAG_TRUTH)
        *result = a.as.truth == b.as.truth;
    else
        *result = a.as.text->length == b.as.text->length &&
                  memcmp(a.as.text->bytes, b.as.text->bytes, a.as.text->length) == 0;
    return true;
}

bool arith_equal(const Arith *arith, Value a, Value b, bool *result) {
    Walk walk = {.arith = arith};
    return equal_at(&walk, a, b, result);
}

bool arith_gap(const Arith *arith, Value a, Value b, double *gap) {
    double left, right;
    if (!comparable(arith, &a, &b, &left, &right))
        return false;
    *gap = left - right;
    return true;
}

bool arith_within_allowed(const Arith *arith, Value within) {
    if (within.tag != TAG_AMOUNT || !(within.as.number < 0))
        return true;
    return fault_set(arith->fault, MSG_WITHIN_NEGATIVE, ARGS(arg_value(arith->units, within)));
}

/* |a − b| ≤ d, where d is a difference on the scale of a and b. */
bool arith_near(const Arith *arith, Value a, Value b, Value within, bool *result) {
    double left, right, span;
    if (within.tag == TAG_READING)
        return arith_fault_pair(arith, MSG_WITHIN_READING, a, within);
    if (!comparable(arith, &a, &b, &left, &right))
        return false;
    within = arith_plain_percent(within);
    const Unit *unit = unit_get(arith->units, a.unit);
    UnitId wanted = a.tag == TAG_READING ? unit->difference : a.unit;
    if (within.tag != TAG_AMOUNT || !unit_same_kind(arith->units, within.unit, wanted))
        return arith_fault_pair(arith, MSG_WITHIN_KIND, a, within);
    if (!arith_within_allowed(arith, within))
        return false;
    /* on the common scale a gravity's point is 0.001 SG and a Fahrenheit difference 5/9 K */
    UnitId base = unit->kind == KIND_TEMPERATURE ? (UnitId)UNIT_CELSIUS_DIFFERENCE : wanted;
    if (!unit_convert(arith->units, within.as.number, within.unit, base, &span, arith->fault))
        return false;
    if (unit->kind == KIND_GRAVITY)
        span *= 0.001;
    *result = fabs(left - right) <= span + arith_tolerance(left, right);
    return true;
}

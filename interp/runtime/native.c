/* SPDX-FileCopyrightText: the Rundlet developers */
/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The registry of natives, and how they read their arguments.
 *
 * Names are looked up when a script is compiled, never while it runs: a binary search in each of a handful of
 * sorted tables is enough. */
#include "runtime/native.h"

#include <math.h>
#include <string.h>

#include "runtime/native_tables.h"
#include "values/kind_check.h"
#include "values/value_arg.h"

static const NativeTable *const tables[] = {
#define TABLE(topic) &native_##topic##_table,
    NATIVE_TABLES(TABLE)
#undef TABLE
};
enum { TABLE_COUNT = sizeof tables / sizeof *tables };

/* ---- the registry ---- */

static const Native *find_in(const NativeTable *table, const char *name) {
    int low = 0, high = table->count;
    while (low < high) {
        int middle = (low + high) / 2;
        int order = strcmp(name, table->rows[middle].name);
        if (order == 0)
            return &table->rows[middle];
        if (order < 0)
            high = middle;
        else
            low = middle + 1;
    }
    return NULL;
}

const Native *native_find(const char *name) {
    for (int i = 0; i < TABLE_COUNT; i++) {
        const Native *found = find_in(tables[i], name);
        if (found)
            return found;
    }
    return NULL;
}

/* ---- faults ---- */

bool native_fail(Call *call, int index, MessageId id, MessageArg *args) {
    fault_set(call->arith.fault, id, args);
    call->arith.fault->argument = index + 1;
    return false;
}

bool native_place(Call *call, int index) {
    fault_label(call->arith.fault, NULL, NULL); /* there is no operator whose sides they could name */
    call->arith.fault->argument = index + 1;
    return false;
}

bool native_wants(Call *call, int index, MessageArg wanted) {
    kind_fault_argument(call->arith.units, call->name, call->formula->params[index].label, wanted,
                        call->args[index], call->arith.fault);
    call->arith.fault->argument = index + 1;
    return false;
}

/* An end of a range, in the unit that the argument was given in. */
static MessageArg end_of(const Call *call, double end, UnitId unit, UnitId given) {
    Fault ignored = {0};
    double shown = end;
    bool converted = unit_convert(call->arith.units, end, unit, given, &shown, &ignored);
    fault_clear(&ignored);
    return arg_quantity(call->arith.units, converted ? shown : end, converted ? given : unit);
}

static bool fail_range(Call *call, int index, UnitId unit, double low, double high) {
    Value value = call->args[index];
    native_fail(call, index, MSG_NATIVE_RANGE,
                ARGS(call->name, call->formula->params[index].label, end_of(call, low, unit, value.unit),
                     end_of(call, high, unit, value.unit), arg_value(call->arith.units, value)));
    kind_hint_gravity(call->arith.units, value, call->arith.fault);
    return false;
}

/* ---- reports ---- */

void native_assume(const Call *call, MessageId id) {
    if (call->context->assume)
        call->context->assume(call->context->callback_context, id);
}

void native_note(const Call *call, MessageId id, MessageArg *args) {
    if (call->context->note)
        call->context->note(call->context->callback_context, id, args);
    else
        args_free(args);
}

bool native_caution(const NativeContext *context, const char *topic, MessageId id, MessageArg *args) {
    if (context->caution)
        return context->caution(context->callback_context, topic, id, args);
    args_free(args);
    return false;
}

/* ---- arguments ---- */

bool native_absent(const Call *call, int index) {
    return index >= call->count || call->args[index].tag == TAG_ABSENT;
}

bool native_in(Call *call, int index, UnitId unit, double *number) {
    Value value = call->args[index];
    UnitTable *units = call->arith.units;
    if (value_is_quantity(value) && value.unit == unit) {
        *number = value.as.number;
        return true;
    }
    if (!value_is_quantity(value) || !unit_same_kind(units, value.unit, unit)) {
        Kind kind = unit_get(units, unit)->kind;
        bool exact = kind == KIND_OTHER || unit == UNIT_VOLS;
        native_wants(call, index, arg_unit_kind(units, unit));
        kind_hint_wanted(units, kind, exact ? unit : (UnitId)UNIT_NUMBER, value, call->arith.fault);
        return false;
    }
    return unit_convert(units, value.as.number, value.unit, unit, number, call->arith.fault) ||
           native_place(call, index);
}

bool native_number(Call *call, int index, double *number) {
    return native_in(call, index, UNIT_NUMBER, number);
}

bool native_within(Call *call, int index, UnitId unit, double low, double high, double *number) {
    double slack = 1e-9 * fmax(fabs(low), fabs(high));
    if (!native_in(call, index, unit, number))
        return false;
    if (!(*number >= low - slack && *number <= high + slack))
        return fail_range(call, index, unit, low, high);
    *number = fmin(fmax(*number, low), high);
    return true;
}

bool native_give(Call *call, double number, UnitId unit) {
    if (!isfinite(number))
        return native_fail(call, -1, MSG_OVERFLOW, NO_ARGS);
    call->result = value_quantity(call->arith.units, number, unit);
    return true;
}

/* ---- a call ---- */

static bool check_kinds(Call *call) {
    const Formula *formula = call->formula;
    for (int i = 0; i < formula->param_count && !formula->variadic; i++) {
        const KindCheck *kind = formula_parameter_kind(formula, i);
        if (kind && call->args[i].tag != TAG_ABSENT &&
            !kind_check_is(call->arith.units, kind, call->args[i], false, call->arith.fault)) {
            call->arith.fault->argument = i + 1;
            return false;
        }
    }
    return true;
}

/* A number by itself or in a field of a record. */
static bool gives_finite(Value value) {
    if (value_is_quantity(value))
        return isfinite(value.as.number);
    for (uint32_t i = 0; value.tag == TAG_RECORD && i < value.as.record->count; i++)
        if (!gives_finite(value.as.record->fields[i].value))
            return false;
    return true;
}

bool native_call(Call *call) {
    if (!check_kinds(call) || !call->formula->native->function(call))
        return false;
    return gives_finite(call->result) || native_fail(call, -1, MSG_OVERFLOW, NO_ARGS);
}

/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The registry of natives, and how they read their arguments.
 *
 * Names are looked up when a script is compiled, never while it runs: a binary search in each of a handful of
 * sorted tables is enough. */
#include "runtime/native.h"

#include <math.h>
#include <string.h>

#include "runtime/native_tables.h"
#include "values/display.h"
#include "values/kind_check.h"

static const NativeTable *const tables[] = {&native_math_table,   &native_list_table,   &native_text_table,
                                            &native_data_table,   &native_liquid_table, &native_physics_table,
                                            &native_record_table, &native_log_table};
enum { TABLE_COUNT = sizeof tables / sizeof *tables };

static const FormatSpec plain_format = {FORMAT_DEFAULT, 0};

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

const Native *native_at(int index) {
    for (int i = 0; index >= 0 && i < TABLE_COUNT; i++) {
        if (index < tables[i]->count)
            return &tables[i]->rows[index];
        index -= tables[i]->count;
    }
    return NULL;
}

int native_index(const Native *native) {
    int before = 0;
    for (int i = 0; i < TABLE_COUNT; i++) {
        if (native >= tables[i]->rows && native < tables[i]->rows + tables[i]->count)
            return before + (int)(native - tables[i]->rows);
        before += tables[i]->count;
    }
    return -1;
}

/* ---- faults ---- */

const char *native_parameter(const Native *native, int index, Text *out) {
    const char *at = native->signature;
    text_clear(out);
    for (int i = 0; i < index && !strstr(at, "..."); i++) {
        const char *comma = strchr(at, ',');
        if (!comma)
            break;
        at = comma + 1 + strspn(comma + 1, " ");
    }
    text_add(out, at, strcspn(at, ",:?. "));
    return text_string(out);
}

bool native_fail(Call *call, int index, MessageId id, const char *const *args) {
    fault_set(call->arith.fault, id, args);
    call->arith.fault->argument = index + 1;
    return false;
}

bool native_place(Call *call, int index) {
    fault_label(call->arith.fault, NULL, NULL); /* there is no operator whose sides they could name */
    call->arith.fault->argument = index + 1;
    return false;
}

bool native_wants(Call *call, int index, const char *wanted) {
    Text name = {0};
    native_parameter(call->native, index, &name);
    kind_fault_argument(call->arith.units, call->native->name, text_string(&name), wanted, call->args[index],
                        call->arith.fault);
    call->arith.fault->argument = index + 1;
    text_free(&name);
    return false;
}

static bool wants_kind(Call *call, int index, Kind kind, UnitId unit, const char *wanted) {
    native_wants(call, index, wanted);
    kind_hint_wanted(call->arith.units, kind, unit, call->args[index], call->arith.fault);
    return false;
}

/* An end of a range, in the unit that the argument was given in. */
static void add_end(Text *out, const Call *call, double end, UnitId unit, UnitId given) {
    Fault ignored = {0};
    double shown = end;
    bool converted = unit_convert(call->arith.units, end, unit, given, &shown, &ignored);
    display_quantity(out, call->arith.units, converted ? shown : end, converted ? given : unit, plain_format);
    fault_clear(&ignored);
}

static bool fail_range(Call *call, int index, UnitId unit, double low, double high) {
    Text name = {0}, least = {0}, most = {0}, came = {0};
    native_parameter(call->native, index, &name);
    add_end(&least, call, low, unit, call->args[index].unit);
    add_end(&most, call, high, unit, call->args[index].unit);
    display_brief(&came, call->arith.units, call->args[index], false);
    native_fail(call, index, MSG_NATIVE_RANGE,
                ARGS(call->native->name, text_string(&name), text_string(&least), text_string(&most),
                     text_string(&came)));
    kind_hint_gravity(call->arith.units, call->args[index], call->arith.fault);
    text_free(&name);
    text_free(&least);
    text_free(&most);
    text_free(&came);
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
        Text wanted = {0};
        value_describe(units, value_quantity(units, 0, unit), &wanted);
        Kind kind = unit_get(units, unit)->kind;
        bool exact = kind == KIND_OTHER || unit == UNIT_VOLS;
        wants_kind(call, index, kind, exact ? unit : (UnitId)UNIT_NUMBER, text_string(&wanted));
        text_free(&wanted);
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

bool native_text(Call *call, int index, const TextObject **text) {
    *text = call->args[index].as.text;
    return call->args[index].tag == TAG_TEXT || wants_kind(call, index, KIND_TEXT, UNIT_NUMBER, "a text");
}

bool native_list(Call *call, int index, const ListObject **list) {
    *list = call->args[index].as.list;
    return call->args[index].tag == TAG_LIST || wants_kind(call, index, KIND_LIST, UNIT_NUMBER, "a list");
}

bool native_liquid(Call *call, int index, LiquidObject **liquid) {
    *liquid = call->args[index].as.liquid;
    return call->args[index].tag == TAG_LIQUID ||
           wants_kind(call, index, KIND_LIQUID, UNIT_NUMBER, "a liquid");
}

bool native_give(Call *call, double number, UnitId unit) {
    if (!isfinite(number))
        return native_fail(call, -1, MSG_OVERFLOW, NO_ARGS);
    call->result = value_quantity(call->arith.units, number, unit);
    return true;
}

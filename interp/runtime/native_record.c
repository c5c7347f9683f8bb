/* SPDX-FileCopyrightText: the Rundlet developers */
/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Natives on records: `scale` and `has_fields`, which see fields whatever their names. */
#include "runtime/native_tables.h"
#include "values/liquid_value.h"
#include "values/value_arg.h"

/* A record that holds records that hold … : far beyond any recipe, well within the stack. */
enum { NESTING_MOST = 100 };

static bool scale_value(Call *call, Value value, double factor, int depth, Value *result);

static bool scale_list(Call *call, const ListObject *list, double factor, int depth, Value *result) {
    if (!heap_allows(call->arith.heap, list->count * sizeof(Value), call->arith.fault))
        return false;
    ListObject *scaled = list_new(call->arith.heap, list->count);
    for (uint32_t i = 0; i < list->count; i++)
        if (!scale_value(call, list->items[i], factor, depth + 1, &scaled->items[i]))
            return false;
    *result = value_of_list(scaled);
    return true;
}

static bool scale_record(Call *call, const RecordObject *record, double factor, int depth, Value *result) {
    if (!heap_allows(call->arith.heap, record->count * sizeof *record->fields, call->arith.fault))
        return false;
    RecordObject *scaled = record_new(call->arith.heap, record->count);
    for (uint32_t i = 0; i < record->count; i++) {
        scaled->fields[i].name = record->fields[i].name;
        if (!scale_value(call, record->fields[i].value, factor, depth + 1, &scaled->fields[i].value))
            return false;
    }
    *result = value_of_record(scaled);
    return true;
}

/* Does an amount grow with the batch? A rate, a strength, a temperature, a time do not. */
static bool grows(const Call *call, Value value) {
    Kind kind = value_kind(call->arith.units, value);
    return kind == KIND_VOLUME || kind == KIND_MASS || kind == KIND_COUNT || kind == KIND_MONEY;
}

static bool scale_value(Call *call, Value value, double factor, int depth, Value *result) {
    *result = value;
    if (depth > NESTING_MOST)
        return native_wants(call, 0, arg_words(PHRASE_RECORD_NESTED));
    switch ((Tag)value.tag) {
    case TAG_AMOUNT:
        return !grows(call, value) || arith_multiply(&call->arith, value, value_number(factor), result) ||
               native_place(call, 0);
    case TAG_LIQUID:
        return liquid_value_scale(&call->arith, value.as.liquid, factor, result) || native_place(call, 0);
    case TAG_LIST:
        return scale_list(call, value.as.list, factor, depth, result);
    case TAG_RECORD:
        return scale_record(call, value.as.record, factor, depth, result);
    case TAG_READING:
    case TAG_NONE:
    case TAG_TRUTH:
    case TAG_TEXT:
    case TAG_FORMULA:
    case TAG_ABSENT:
        break;
    }
    return true;
}

static bool wants_amount(Call *call, int index, MessageId wanted) {
    return native_fail(call, index, MSG_ARGUMENT_KIND,
                       ARGS(call->formula->name, arg_words(wanted), call->formula->params[index].label,
                            arg_value(call->arith.units, call->args[index])));
}

static bool scale_native(Call *call) {
    Value from = call->args[1], to = call->args[2];
    double to_number = 0;
    if (!native_in(call, 2, from.unit, &to_number))
        return false;
    if (!(from.as.number > 0))
        return wants_amount(call, 1, PHRASE_AMOUNT_ABOVE_0);
    if (!(to.as.number >= 0))
        return wants_amount(call, 2, PHRASE_AMOUNT_FROM_0);
    return scale_value(call, call->args[0], to_number / from.as.number, 0, &call->result);
}

static bool has_fields_native(Call *call) {
    const ListObject *names = call->args[1].as.list;
    bool has = call->args[0].tag == TAG_RECORD;
    for (uint32_t i = 0; i < names->count; i++) {
        if (names->items[i].tag != TAG_TEXT)
            return native_wants(call, 1, arg_words(PHRASE_LIST_OF_TEXTS));
        has = has && record_find_string(call->args[0].as.record, names->items[i].as.text->bytes);
    }
    call->result = value_truth(has);
    return true;
}

static const Native rows[] = {
    NATIVE(has_fields),
    NATIVE(scale),
};

const NativeTable native_record_table = NATIVE_TABLE(rows);

/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Instructions on lists, records, texts and ranges. */
#include <math.h>
#include <string.h>

#include "base/mem.h"
#include "runtime/vm_parts.h"
#include "values/display.h"
#include "values/liquid_value.h"

/* Sets a fault whose first words describe a value. */
static bool fault_about(Vm *vm, MessageId id, Value value, const char *second) {
    Text what = {0};
    value_describe(vm->registry->units, value, &what);
    fault_set(&vm->fault, id, second ? ARGS(text_string(&what), second) : ARGS(text_string(&what)));
    text_free(&what);
    return false;
}

/* ---- items and fields ---- */

static bool list_item(Vm *vm, const ListObject *list, double index, Value *result) {
    if (index != floor(index)) {
        Text number = {0};
        format_shortest(&number, index);
        fault_set(&vm->fault, MSG_INDEX_WHOLE, ARGS(text_string(&number)));
        text_free(&number);
        return false;
    }
    double at = index < 0 ? list->count + index : index - 1;
    if (index != 0 && at >= 0 && at < list->count) {
        *result = list->items[(uint32_t)at];
        return true;
    }
    Text number = {0}, count = {0};
    format_shortest(&number, index);
    text_add_integer(&count, list->count);
    fault_set(&vm->fault, MSG_INDEX_RANGE, ARGS(text_string(&number), text_string(&count)));
    text_free(&number);
    text_free(&count);
    return false;
}

bool vm_index(Vm *vm, Value object, Value index, Value *result) {
    if (object.tag == TAG_LIST && value_is_plain(index))
        return list_item(vm, object.as.list, index.as.number, result);
    if (index.tag == TAG_TEXT && (object.tag == TAG_RECORD || object.tag == TAG_LIQUID)) {
        const TextObject *name = text_intern(vm->registry->heap, index.as.text->bytes, index.as.text->length);
        return vm_field(vm, object, name, result);
    }
    if (object.tag == TAG_LIST) {
        Text what = {0};
        value_describe(vm->registry->units, index, &what);
        fault_set(&vm->fault, MSG_INDEX_WHOLE, ARGS(text_string(&what)));
        text_free(&what);
        return false;
    }
    return fault_about(vm, MSG_INDEX_KIND, object, NULL);
}

static bool missing_field(Vm *vm, const RecordObject *record, const TextObject *name) {
    Text fields = {0};
    for (uint32_t i = 0; i < record->count && i < 12; i++) {
        if (i)
            text_add_string(&fields, i + 1 == record->count ? " and " : ", ");
        text_add_string(&fields, record->fields[i].name->bytes);
    }
    if (record->count > 12)
        text_add_string(&fields, " and more");
    fault_set(&vm->fault, MSG_NO_FIELD, ARGS(name->bytes, record->count ? text_string(&fields) : "none at all"));
    text_free(&fields);
    return false;
}

bool vm_field(Vm *vm, Value object, const TextObject *name, Value *result) {
    Arith arith = vm_arith(vm);
    if (object.tag == TAG_RECORD) {
        const Value *found = record_find(object.as.record, name);
        if (!found)
            return missing_field(vm, object.as.record, name);
        *result = *found;
        return true;
    }
    if (object.tag == TAG_LIQUID)
        return liquid_value_field(&arith, object.as.liquid, name->bytes, result);
    return fault_about(vm, MSG_FIELD_KIND, object, name->bytes);
}

Value vm_record(Vm *vm, const ListObject *names, const Value *values) {
    RecordObject *record = record_new(vm->registry->heap, names->count);
    for (uint32_t i = 0; i < names->count; i++) {
        record->fields[i].name = names->items[i].as.text;
        record->fields[i].value = values[i];
    }
    return value_of_record(record);
}

static Value changed_record(Vm *vm, const RecordObject *old, const RecordObject *changes) {
    uint32_t added = 0;
    for (uint32_t i = 0; i < changes->count; i++)
        added += record_find(old, changes->fields[i].name) == NULL;
    RecordObject *record = record_new(vm->registry->heap, old->count + added);
    memcpy(record->fields, old->fields, old->count * sizeof *old->fields);
    uint32_t next = old->count;
    for (uint32_t i = 0; i < changes->count; i++) {
        uint32_t at = 0;
        while (at < old->count && record->fields[at].name != changes->fields[i].name)
            at++;
        record->fields[at < old->count ? at : next++] = changes->fields[i];
    }
    return value_of_record(record);
}

bool vm_with(Vm *vm, Value object, Value changes, Value *result) {
    Arith arith = vm_arith(vm);
    if (object.tag == TAG_RECORD) {
        *result = changed_record(vm, object.as.record, changes.as.record);
        return true;
    }
    if (object.tag == TAG_LIQUID)
        return liquid_value_with(&arith, object.as.liquid, changes.as.record, result);
    return fault_about(vm, MSG_WITH_KIND, object, NULL);
}

/* ---- lists under construction ---- */

void vm_list_begin(Vm *vm) {
    if (vm->builder_count >= vm->builder_capacity) {
        int old = vm->builder_capacity;
        vm->builder_capacity = old ? old * 2 : 4;
        vm->builders = mem_resize_array(vm->builders, (size_t)vm->builder_capacity, sizeof *vm->builders);
        memset(vm->builders + old, 0, (size_t)(vm->builder_capacity - old) * sizeof *vm->builders);
    }
    vm->builders[vm->builder_count++].count = 0; /* keeps its memory from list to list */
}

bool vm_list_append(Vm *vm, Value value) {
    ListBuilder *builder = &vm->builders[vm->builder_count - 1];
    if (!heap_allows(vm->registry->heap, ((size_t)builder->count + 1) * 2 * sizeof(Value), &vm->fault))
        return false;
    MEM_GROW(builder->items, builder->count, builder->capacity);
    builder->items[builder->count++] = value;
    return true;
}

Value vm_list_end(Vm *vm) {
    ListBuilder *builder = &vm->builders[--vm->builder_count];
    ListObject *list = list_new(vm->registry->heap, builder->count);
    if (builder->count)
        memcpy(list->items, builder->items, builder->count * sizeof(Value));
    return value_of_list(list);
}

/* ---- texts ---- */

bool vm_format(Vm *vm, Value value, FormatSpec format, Value *result) {
    if (value.tag == TAG_TEXT && format.mode == FORMAT_DEFAULT) {
        *result = value;
        return true;
    }
    Text text = {0};
    bool shown = display_value(&text, vm->registry->units, value, format, &vm->fault);
    if (shown)
        *result = value_text(vm->registry->heap, text_string(&text), text.length);
    text_free(&text);
    return shown;
}

Value vm_concat(Vm *vm, const Value *texts, int count) {
    Text joined = {0};
    for (int i = 0; i < count; i++)
        text_add(&joined, texts[i].as.text->bytes, texts[i].as.text->length);
    Value result = value_text(vm->registry->heap, text_string(&joined), joined.length);
    text_free(&joined);
    return result;
}

/* ---- kinds ---- */

static bool has_kind(const UnitTable *units, const KindCheck *check, Value value) {
    if (check->is_unit)
        return value_is_quantity(value) && unit_same_kind(units, value.unit, check->unit);
    return value_kind(units, value) == check->kind;
}

static void add_article(Text *out, const char *word) {
    static const char *const bare[] = {"money", "truth", NULL};
    for (int i = 0; bare[i]; i++)
        if (strcmp(word, bare[i]) == 0) {
            text_add_string(out, i == 0 ? "money" : "a truth (true or false)");
            return;
        }
    text_add_string(out, strchr("aeiou", word[0]) ? "an " : "a ");
    for (const char *p = word; *p; p++)
        text_add_char(out, *p == '_' ? ' ' : *p);
}

bool vm_check_kind(Vm *vm, const KindCheck *check, Value value, bool result) {
    if (has_kind(vm->registry->units, check, value))
        return true;
    Text wanted = {0}, came = {0};
    if (check->is_unit) {
        text_add_string(&wanted, "in ");
        text_add_string(&wanted, check->word);
    } else {
        add_article(&wanted, check->word);
    }
    value_describe(vm->registry->units, value, &came);
    fault_set(&vm->fault, result ? MSG_RESULT_KIND : MSG_PARAMETER_KIND,
              ARGS(check->subject, text_string(&wanted), text_string(&came)));
    text_free(&wanted);
    text_free(&came);
    return false;
}

/* ---- counted loops: range[0] from, [1] to, [2] by, [3] turn, [4] turns, [5] the variable ---- */

static bool bad_bounds(Vm *vm, MessageId id, Value a, Value b) {
    Text left = {0}, right = {0};
    value_describe(vm->registry->units, a, &left);
    value_describe(vm->registry->units, b, &right);
    fault_set(&vm->fault, id, ARGS(text_string(&left), text_string(&right)));
    text_free(&left);
    text_free(&right);
    return false;
}

/* The distance of `to` from `from` and the step, on one scale, so that their quotient counts steps. */
static bool measure_range(Vm *vm, Value *range, double *distance, double *step) {
    Arith arith = vm_arith(vm);
    if (range[0].tag == TAG_AMOUNT) {
        if (!arith_in_unit_of(&arith, range[0], range[1], distance) ||
            !arith_in_unit_of(&arith, range[0], range[2], step))
            return false;
        *distance -= range[0].as.number;
        range[2] = value_amount(*step, range[0].unit);
        return true;
    }
    Value first, second, moved;
    if (!arith_add(&arith, range[0], range[2], &moved))
        return false;
    if (!arith_subtract(&arith, range[1], range[0], &first) || !arith_subtract(&arith, moved, range[0], &second))
        return false;
    *distance = first.as.number;
    *step = second.as.number;
    return true;
}

static Value default_step(const Vm *vm, Value from) {
    const Unit *unit = unit_get(vm->registry->units, from.unit);
    if (from.tag == TAG_AMOUNT)
        return value_amount(1, from.unit);
    return value_amount(unit->scale == SCALE_SG ? 1000 : 1, unit->difference); /* 1 SG is 1000 pts */
}

bool vm_for_step(Vm *vm, Value *range, bool *has_turn) {
    const UnitTable *units = vm->registry->units;
    if (range[0].meta == VALUE_META(TAG_AMOUNT, UNIT_PERCENT) && value_is_plain(range[1]))
        range[1] = value_amount(range[1].as.number * 100, UNIT_PERCENT);
    bool comparable = value_is_quantity(range[0]) && value_is_quantity(range[1]) &&
                      unit_same_kind(units, range[0].unit, range[1].unit);
    if (!comparable)
        return bad_bounds(vm, MSG_LOOP_BOUNDS, range[0], range[1]);
    if (range[2].tag == TAG_ABSENT)
        range[2] = default_step(vm, range[0]);
    UnitId wanted = range[0].tag == TAG_AMOUNT ? range[0].unit : unit_get(units, range[0].unit)->difference;
    if (range[2].tag != TAG_AMOUNT || !unit_same_kind(units, range[2].unit, wanted))
        return bad_bounds(vm, MSG_LOOP_STEP_KIND, range[0], range[2]);
    double distance, step;
    if (!measure_range(vm, range, &distance, &step))
        return false;
    if (step == 0)
        return fault_set(&vm->fault, MSG_LOOP_STEP_ZERO, NO_ARGS);
    double steps = distance / step;
    /* an end that is met but for rounding is included */
    double turns = floor(steps + 1e-9 * fmax(1, fabs(steps))) + 1;
    range[3] = value_number(0);
    range[4] = value_number(turns);
    range[5] = range[0];
    *has_turn = turns >= 1;
    return true;
}

bool vm_for_step_value(Vm *vm, Value *range) {
    Arith arith = vm_arith(vm);
    Value moved = range[2];
    moved.as.number *= range[3].as.number;
    return arith_add(&arith, range[0], moved, &range[5]);
}

/* ---- ± ---- */

bool vm_plus_minus(Vm *vm, Value value, Value spread, bool same_unit, Value *result) {
    const UnitTable *units = vm->registry->units;
    if (!value_is_quantity(value) || value.unit == UNIT_DATE)
        return fault_about(vm, MSG_PLUS_MINUS_VALUE, value, NULL);
    const Unit *unit = unit_get(units, value.unit);
    UnitId wanted = value.tag == TAG_READING ? unit->difference : value.unit;
    bool fits = same_unit ? value_is_plain(spread)
                          : spread.tag == TAG_AMOUNT && unit_same_kind(units, spread.unit, wanted) &&
                                (spread.unit != UNIT_PERCENT || value.unit == UNIT_PERCENT);
    if (!fits)
        return bad_bounds(vm, MSG_PLUS_MINUS_KIND, value, spread);
    if (spread.as.number < 0)
        return fault_set(&vm->fault, MSG_PLUS_MINUS_NEGATIVE, NO_ARGS);
    *result = value;
    return true;
}

/* SPDX-FileCopyrightText: the Rundlet developers */
/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Natives on several values: the smallest, the sum, the mean; making, sorting and joining lists. */
#include <math.h>
#include <string.h>

#include "base/mem.h"
#include "runtime/native_tables.h"
#include "values/display.h"
#include "values/kind_check.h"
#include "values/liquid_value.h"
#include "values/value_arg.h"

enum { LIST_LONGEST = 10000000 };

/* ---- several values, or one list of them ---- */

typedef struct Items {
    const Value *values;
    uint32_t count;
    bool listed;
} Items;

static Items items_of(const Call *call) {
    if (call->count == 1 && call->args[0].tag == TAG_LIST)
        return (Items){call->args[0].as.list->items, call->args[0].as.list->count, true};
    return (Items){call->args, (uint32_t)call->count, false};
}

/* "NAME takes WANTED, and value 3 is a text". */
static bool fail_item(Call *call, const Items *items, uint32_t at, MessageArg wanted) {
    return native_fail(call, items->listed ? 0 : (int)at, MSG_NATIVE_ITEM,
                       ARGS(call->name, wanted, arg_whole((long long)at + 1),
                            arg_kind(call->arith.units, items->values[at])));
}

static bool place_item(Call *call, const Items *items, uint32_t at) {
    return native_place(call, items->listed ? 0 : (int)at);
}

static bool some_items(Call *call, const Items *items) {
    return items->count > 0 || native_fail(call, items->listed ? 0 : -1, MSG_NATIVE_EMPTY, ARGS(call->name));
}

/* One value in the unit of the first. */
static bool in_first_unit(Call *call, const Items *items, uint32_t at, double *number) {
    UnitTable *units = call->arith.units;
    Value first = items->values[0], value = items->values[at];
    if (value_is_quantity(value) && value.meta == first.meta) {
        *number = value.as.number;
        return true;
    }
    if (!value_is_quantity(first))
        return fail_item(call, items, 0, arg_words(PHRASE_QUANTITIES));
    if (!value_is_quantity(value) || !unit_same_kind(units, value.unit, first.unit)) {
        MessageArg wanted = arg_phrase(PHRASE_LIKE_FIRST, ARGS(arg_kind(units, first)));
        return fail_item(call, items, at, wanted);
    }
    if (unit_convert(units, value.as.number, value.unit, first.unit, number, call->arith.fault))
        return true;
    return place_item(call, items, at);
}

/* sign is 1 for the smallest, -1 for the largest. */
static bool extreme(Call *call, double sign) {
    Items items = items_of(call);
    double best = 0;
    if (!some_items(call, &items))
        return false;
    for (uint32_t i = 0; i < items.count; i++) {
        double number = 0;
        if (!in_first_unit(call, &items, i, &number))
            return false;
        if (i == 0 || sign * number < sign * best)
            best = number;
    }
    return native_give(call, best, items.values[0].unit);
}

static bool min_native(Call *call) {
    return extreme(call, 1);
}
static bool max_native(Call *call) {
    return extreme(call, -1);
}

/* A sum that keeps what rounding loses (Neumaier, ZAMM 54 (1974) 39-51): ten times 0.1 is 1. */
typedef struct Accumulator {
    double sum, rest;
} Accumulator;

static void accumulate(Accumulator *total, double number) {
    double sum = total->sum + number;
    bool larger = fabs(total->sum) >= fabs(number);
    total->rest += larger ? (total->sum - sum) + number : (number - sum) + total->sum;
    total->sum = sum;
}

/* ---- sum and mean ---- */

static bool sum_of_alike(Call *call, const Items *items) {
    Accumulator total = {0, 0};
    for (uint32_t i = 0; i < items->count; i++)
        accumulate(&total, items->values[i].as.number);
    return native_give(call, total.sum + total.rest, items->values[0].unit);
}

static bool sum_native(Call *call) {
    Items items = items_of(call);
    bool alike = true;
    if (items.count == 0) {
        call->result = value_number(0);
        return true;
    }
    for (uint32_t i = 0; i < items.count; i++) {
        Value value = items.values[i];
        if (value.tag != TAG_AMOUNT && value.tag != TAG_LIQUID)
            return fail_item(call, &items, i, arg_words(PHRASE_AMOUNTS_OR_LIQUIDS));
        alike = alike && value.tag == TAG_AMOUNT && value.meta == items.values[0].meta;
    }
    if (alike)
        return sum_of_alike(call, &items);
    call->result = items.values[0];
    for (uint32_t i = 1; i < items.count; i++)
        if (!arith_add(&call->arith, call->result, items.values[i], &call->result))
            return place_item(call, &items, i);
    return true;
}

static bool mean_native(Call *call) {
    Items items = items_of(call);
    Accumulator total = {0, 0};
    if (!some_items(call, &items))
        return false;
    UnitId unit = items.values[0].unit;
    if (value_is_quantity(items.values[0]) && unit == UNIT_PH)
        return native_fail(call, 0, MSG_NATIVE_MEAN_PH, NO_ARGS);
    for (uint32_t i = 0; i < items.count; i++) {
        double number = 0;
        if (!in_first_unit(call, &items, i, &number))
            return false;
        accumulate(&total, number);
    }
    double mean = (total.sum + total.rest) / items.count;
    return native_give(call, unit == UNIT_DATE ? floor(mean + 0.5) : mean, unit); /* dates are whole days */
}

/* ---- lists ---- */

static bool length_native(Call *call) {
    Value x = call->args[0];
    double length = 0;
    if (x.tag == TAG_LIST)
        length = x.as.list->count;
    else if (x.tag == TAG_RECORD)
        length = x.as.record->count;
    else
        length = (double)utf8_count(x.as.text->bytes, x.as.text->length);
    return native_give(call, length, UNIT_NUMBER);
}

static bool append_native(Call *call) {
    const ListObject *list = native_list(call, 0);
    if (!heap_allows(call->arith.heap, (list->count + 1) * sizeof(Value), call->arith.fault))
        return false;
    ListObject *longer = list_new(call->arith.heap, list->count + 1);
    memcpy(longer->items, list->items, list->count * sizeof(Value));
    longer->items[list->count] = call->args[1];
    call->result = value_of_list(longer);
    return true;
}

static bool join_native(Call *call) {
    const ListObject *list = native_list(call, 0);
    const TextObject *between = native_text(call, 1);
    Text out = {0};
    bool done = true;
    for (uint32_t i = 0; done && i < list->count; i++) {
        if (i)
            text_add(&out, between->bytes, between->length);
        display_value(&out, call->arith.units, list->items[i], (FormatSpec){FORMAT_DEFAULT, 0});
        done = heap_allows(call->arith.heap, out.length, call->arith.fault);
    }
    if (done)
        call->result = value_text(call->arith.heap, text_string(&out), out.length);
    text_free(&out);
    return done;
}

static bool all_lists(Call *call, const Items *items, size_t *count) {
    *count = 0;
    for (uint32_t i = 0; i < items->count; i++) {
        if (items->values[i].tag != TAG_LIST)
            return fail_item(call, items, i, arg_words(PHRASE_LISTS));
        *count += items->values[i].as.list->count;
    }
    return true;
}

static bool concat_native(Call *call) {
    Items items = items_of(call);
    size_t count, at = 0;
    if (!all_lists(call, &items, &count))
        return false;
    if (count > LIST_LONGEST)
        return native_fail(call, -1, MSG_NATIVE_LIST_LONG, NO_ARGS);
    if (!heap_allows(call->arith.heap, count * sizeof(Value), call->arith.fault))
        return false;
    ListObject *all = list_new(call->arith.heap, (uint32_t)count);
    for (uint32_t i = 0; i < items.count; i++) {
        const ListObject *list = items.values[i].as.list;
        memcpy(all->items + at, list->items, list->count * sizeof(Value));
        at += list->count;
    }
    call->result = value_of_list(all);
    return true;
}

/* ---- what items are sorted and grouped by ---- */

enum { BY = 1 };

/* As many results as items, which the argument holds: a list, or what a formula made of each item. */
static bool one_each(Call *call, uint32_t wanted) {
    if (native_absent(call, BY) || call->args[BY].tag != TAG_LIST || native_list(call, BY)->count == wanted)
        return true;
    Text items = {0}, came = {0};
    text_add_integer(&items, wanted);
    text_add_integer(&came, native_list(call, BY)->count);
    native_fail(call, BY, MSG_NATIVE_EACH, ARGS(call->name, text_string(&items), text_string(&came)));
    text_free(&items);
    text_free(&came);
    return false;
}

/* What the argument `by` says of one item: its key in a list of keys, or the field of a record or a liquid;
 * the item itself without it. */
static bool key_of(Call *call, const Items *items, uint32_t at, Value *key) {
    Value item = items->values[at];
    if (native_absent(call, BY) || call->args[BY].tag == TAG_LIST) {
        *key = native_absent(call, BY) ? item : native_list(call, BY)->items[at];
        return true;
    }
    const TextObject *by = native_text(call, BY);
    const TextObject *name = text_object_intern(call->arith.heap, by->bytes, by->length);
    if (item.tag == TAG_LIQUID)
        return liquid_value_field(&call->arith, item.as.liquid, name->bytes, key) || native_place(call, BY);
    if (item.tag != TAG_RECORD)
        return fail_item(call, items, at, arg_words(PHRASE_RECORDS_BY_FIELD));
    return kind_check_field(item.as.record, name, key, call->arith.fault) || native_place(call, BY);
}

static bool fill_keys(Call *call, const Items *items, Value *keys) {
    for (uint32_t i = 0; i < items->count; i++)
        if (!key_of(call, items, i, &keys[i]))
            return false;
    return true;
}

/* ---- sort ---- */

/* A value, its key, and the key's place on the common scale, worked out once. */
typedef struct Sorted {
    double place;
    Value key, value;
} Sorted;

/* Texts by code point, whatever the computer's language: UTF-8 keeps that order. */
static bool goes_before(const Sorted *a, const Sorted *b) {
    if (a->key.tag != TAG_TEXT)
        return a->place < b->place;
    const TextObject *left = a->key.as.text, *right = b->key.as.text;
    size_t shorter = left->length < right->length ? left->length : right->length;
    int order = memcmp(left->bytes, right->bytes, shorter);
    return order ? order < 0 : left->length < right->length;
}

/* Merges two sorted neighbours of `from` into `to`. */
static void merge(const Sorted *from, Sorted *to, size_t start, size_t middle, size_t end) {
    size_t left = start, right = middle;
    for (size_t at = start; at < end; at++) {
        bool take_right = left >= middle || (right < end && goes_before(&from[right], &from[left]));
        to[at] = from[take_right ? right++ : left++];
    }
}

/* Stable, bottom up. Returns whichever of the two arrays holds the result. */
static Sorted *merge_sort(Sorted *items, Sorted *spare, size_t count) {
    for (size_t width = 1; width < count; width *= 2) {
        for (size_t start = 0; start < count; start += 2 * width) {
            size_t middle = start + width < count ? start + width : count;
            size_t end = start + 2 * width < count ? start + 2 * width : count;
            merge(items, spare, start, middle, end);
        }
        Sorted *merged = spare;
        spare = items;
        items = merged;
    }
    return items;
}

/* `keys` are as many as the items; a key that does not fit the first is reported as the item it belongs to.
 */
static bool fill_sorted(Call *call, const Items *items, const Value *keys, Sorted *sorted) {
    Items by = {keys, items->count, true};
    bool texts = items->count > 0 && keys[0].tag == TAG_TEXT;
    for (uint32_t i = 0; i < items->count; i++) {
        sorted[i] = (Sorted){.key = keys[i], .value = items->values[i]};
        if (texts && keys[i].tag != TAG_TEXT)
            return fail_item(call, &by, i, arg_words(PHRASE_TEXTS));
        if (!texts && !in_first_unit(call, &by, i, &sorted[i].place))
            return false;
    }
    return true;
}

static bool sort_native(Call *call) {
    const ListObject *list = native_list(call, 0);
    size_t bytes = list->count * (2 * sizeof(Sorted) + 2 * sizeof(Value));
    if (!heap_allows(call->arith.heap, bytes, call->arith.fault))
        return false;
    Items items = {list->items, list->count, true};
    if (!one_each(call, list->count))
        return false;
    Sorted *first = mem_array(list->count, sizeof *first), *second = mem_array(list->count, sizeof *second);
    Value *keys = mem_array(list->count, sizeof *keys);
    bool done = fill_keys(call, &items, keys) && fill_sorted(call, &items, keys, first);
    if (done) {
        const Sorted *sorted = merge_sort(first, second, list->count);
        ListObject *result = list_new(call->arith.heap, list->count);
        for (uint32_t i = 0; i < list->count; i++)
            result->items[i] = sorted[i].value;
        call->result = value_of_list(result);
    }
    mem_free(keys);
    mem_free(first);
    mem_free(second);
    return done;
}

/* ---- group ---- */

/* The groups so far, in the order in which their first items came. */
typedef struct Groups {
    Value *keys;
    uint32_t *sizes;
    uint32_t *group_of; /* by item */
    uint32_t count;
} Groups;

/* Keys of different kinds are different. */
static bool same_key(Call *call, Value a, Value b, bool *same) {
    *same = false;
    return !kind_same(call->arith.units, a, b) || arith_equal(&call->arith, a, b, same) ||
           native_place(call, 0);
}

static bool find_groups(Call *call, const ListObject *list, Groups *groups) {
    Items items = {list->items, list->count, true};
    for (uint32_t i = 0; i < list->count; i++) {
        Value key;
        uint32_t at = 0;
        bool same = false;
        if (!key_of(call, &items, i, &key) || !heap_work(call->arith.heap, groups->count, call->arith.fault))
            return false;
        while (at < groups->count && !same) {
            if (!same_key(call, groups->keys[at], key, &same))
                return false;
            at += !same;
        }
        if (at == groups->count)
            groups->keys[groups->count++] = key;
        groups->sizes[at]++;
        groups->group_of[i] = at;
    }
    return true;
}

static Value make_groups(Call *call, const ListObject *list, const Groups *groups) {
    Heap *heap = call->arith.heap;
    ListObject *result = list_new(heap, groups->count);
    ListObject **items = mem_array((size_t)groups->count + 1, sizeof(ListObject *));
    for (uint32_t g = 0; g < groups->count; g++) {
        RecordObject *group = record_new(heap, 2);
        items[g] = list_new(heap, groups->sizes[g]);
        group->fields[0].name = text_object_intern(heap, "key", strlen("key"));
        group->fields[0].value = groups->keys[g];
        group->fields[1].name = text_object_intern(heap, "items", strlen("items"));
        group->fields[1].value = value_of_list(items[g]);
        result->items[g] = value_of_record(group);
        groups->sizes[g] = 0;
    }
    for (uint32_t i = 0; i < list->count; i++) {
        uint32_t g = groups->group_of[i];
        items[g]->items[groups->sizes[g]++] = list->items[i];
    }
    mem_free(items);
    return value_of_list(result);
}

static bool group_native(Call *call) {
    const ListObject *list = native_list(call, 0);
    if (!one_each(call, list->count))
        return false;
    size_t room = list->count, each = 2 * sizeof(Value) + sizeof(RecordObject) + 4 * sizeof(Value);
    if (!heap_allows(call->arith.heap, room * each, call->arith.fault))
        return false;
    Groups groups = {.keys = mem_array(room + 1, sizeof(Value)),
                     .sizes = mem_array(room + 1, sizeof(uint32_t)),
                     .group_of = mem_array(room + 1, sizeof(uint32_t))};
    bool done = find_groups(call, list, &groups);
    if (done)
        call->result = make_groups(call, list, &groups);
    mem_free(groups.keys);
    mem_free(groups.sizes);
    mem_free(groups.group_of);
    return done;
}

/* ---- map and filter: the formula has been called already, for each item ---- */

static bool map_native(Call *call) {
    if (!one_each(call, native_list(call, 0)->count))
        return false;
    call->result = call->args[BY];
    return true;
}

static bool filter_native(Call *call) {
    const ListObject *list = native_list(call, 0), *kept = native_list(call, BY);
    if (!one_each(call, list->count))
        return false;
    uint32_t count = 0;
    for (uint32_t i = 0; i < list->count; i++) {
        if (!kind_check_truth(call->arith.units, kept->items[i], call->arith.fault))
            return native_place(call, BY);
        count += kept->items[i].as.truth;
    }
    ListObject *result = list_new(call->arith.heap, count);
    for (uint32_t i = 0, at = 0; i < list->count; i++)
        if (kept->items[i].as.truth)
            result->items[at++] = list->items[i];
    call->result = value_of_list(result);
    return true;
}

/* ---- range ---- */

/* a + i × by for as long as b is not passed; an end that is met (within the tolerance of ==) is included. */
typedef struct Steps {
    Value a, b, by;
    bool down;
    Value *items;
    uint32_t count, capacity;
} Steps;

static bool step_at(Call *call, const Steps *steps, Value *value) {
    double i = steps->count;
    if (i == 0) {
        *value = steps->a;
        return true;
    }
    Value moved = steps->by;
    moved.as.number *= i;
    if (moved.meta == steps->a.meta) {
        *value = steps->a;
        value->as.number += moved.as.number;
        return true;
    }
    return arith_add(&call->arith, steps->a, moved, value) || native_place(call, 2);
}

static bool passed(Call *call, const Steps *steps, Value value, bool *is_passed) {
    int order = 0;
    if (value.meta == steps->b.meta && value.tag == TAG_AMOUNT) {
        double gap = value.as.number - steps->b.as.number;
        order = fabs(gap) <= arith_tolerance(value.as.number, steps->b.as.number) ? 0 : gap < 0 ? -1 : 1;
    } else if (!arith_compare(&call->arith, value, steps->b, &order)) {
        return native_place(call, 1);
    }
    *is_passed = steps->down ? order < 0 : order > 0;
    return true;
}

static bool fill_steps(Call *call, Steps *steps) {
    for (;;) {
        Value value;
        bool is_passed = false;
        if (!step_at(call, steps, &value) || !passed(call, steps, value, &is_passed))
            return false;
        if (is_passed)
            return true;
        if (steps->count >= LIST_LONGEST)
            return native_fail(call, -1, MSG_NATIVE_LIST_LONG, NO_ARGS);
        if (steps->count == steps->capacity &&
            !heap_allows(call->arith.heap, 2 * (size_t)steps->capacity * sizeof(Value), call->arith.fault))
            return false;
        MEM_GROW(steps->items, steps->count, steps->capacity);
        steps->items[steps->count++] = value;
    }
}

/* `by`, or 1 in the unit of a. Left out it has the tag of a, too: that is added without a look at
 * differences, so that 10 °Bx goes on to 11 °Bx. */
static bool read_by(Call *call, Steps *steps) {
    if (native_absent(call, 2)) {
        steps->by = steps->a;
        steps->by.as.number = 1;
        return true;
    }
    steps->by = call->args[2];
    if (steps->by.tag != TAG_AMOUNT) {
        bool reading = steps->a.tag == TAG_READING;
        native_wants(call, 2, arg_words(reading ? PHRASE_DIFFERENCE : PHRASE_AMOUNT));
        if (reading)
            kind_hint_difference(call->arith.units, steps->by, call->arith.fault);
        return false;
    }
    if (steps->by.as.number == 0)
        return native_fail(call, 2, MSG_NATIVE_STEP, ARGS(call->name, arg_words(PHRASE_NOT_ZERO)));
    return true;
}

static bool range_native(Call *call) {
    Steps steps = {.a = call->args[0], .b = call->args[1]};
    if (!read_by(call, &steps))
        return false;
    steps.down = steps.by.as.number < 0;
    bool done = fill_steps(call, &steps);
    if (done) {
        ListObject *list = list_new(call->arith.heap, steps.count);
        if (steps.count)
            memcpy(list->items, steps.items, steps.count * sizeof(Value));
        call->result = value_of_list(list);
    }
    mem_free(steps.items);
    return done;
}

static const Native rows[] = {
    NATIVE(append), NATIVE(concat), NATIVE(filter), NATIVE(group), NATIVE(join), NATIVE(length), NATIVE(map),
    NATIVE(max),    NATIVE(mean),   NATIVE(min),    NATIVE(range), NATIVE(sort), NATIVE(sum),
};

const NativeTable native_list_table = NATIVE_TABLE(rows);

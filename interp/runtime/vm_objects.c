/* SPDX-FileCopyrightText: the Rundlet developers */
/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Instructions on lists, records, texts and ranges. */
#include <math.h>
#include <string.h>

#include "base/mem.h"
#include "numbers/calendar.h"
#include "runtime/settle.h"
#include "runtime/source_names.h"
#include "runtime/vm_parts.h"
#include "values/display.h"
#include "values/value_arg.h"
#include "values/kind_check.h"
#include "values/liquid_value.h"

/* ---- items and fields ---- */

bool vm_index(Vm *vm, Value object, Value index, Value *result) {
    if (object.tag == TAG_LIST && value_is_plain(index))
        return kind_check_item(object.as.list, index.as.number, result, &vm->fault);
    if (index.tag == TAG_TEXT && (object.tag == TAG_RECORD || object.tag == TAG_LIQUID)) {
        const TextObject *name =
            text_object_intern(vm->registry->heap, index.as.text->bytes, index.as.text->length);
        return vm_field(vm, object, name, result);
    }
    if (object.tag == TAG_LIST)
        return kind_fault(vm->registry->units, MSG_INDEX_WHOLE, index, NULL, &vm->fault);
    return kind_fault(vm->registry->units, MSG_INDEX_KIND, object, NULL, &vm->fault);
}

bool vm_field(Vm *vm, Value object, const TextObject *name, Value *result) {
    Arith arith = vm_arith(vm);
    if (object.tag == TAG_RECORD)
        return kind_check_field(object.as.record, name, result, &vm->fault);
    if (object.tag == TAG_LIQUID)
        return liquid_value_field(&arith, object.as.liquid, name->bytes, result);
    return kind_fault_field(vm->registry->units, object, name->bytes, &vm->fault);
}

Value vm_record(Vm *vm, const ListObject *names, const Value *values) {
    RecordObject *record = record_new(vm->registry->heap, names->count);
    for (uint32_t i = 0; i < names->count; i++) {
        record->fields[i].name = names->items[i].as.text;
        record->fields[i].value = values[i];
    }
    return value_of_record(record);
}

bool vm_record_named(Vm *vm, const ListObject *names, const Value *values, Value *result) {
    Heap *heap = vm->registry->heap;
    RecordObject *record = record_new(heap, names->count);
    record->count = 0;
    for (uint32_t i = 0; i < names->count; i++) {
        const TextObject *name = names->items[i].as.text;
        TextObject *interned = text_object_intern(heap, name->bytes, name->length);
        if (record_find(record, interned))
            return fault_set(&vm->fault, MSG_FIELD_TWICE, ARGS(name->bytes));
        record->fields[i].name = interned;
        record->fields[i].value = values[i];
        record->count++;
    }
    *result = value_of_record(record);
    return true;
}

/* ---- texts compared ---- */

static bool is_literal(const char *source, Span side) {
    return source[side.start] == '"' || source[side.start] == '\'';
}

void vm_note_case(Vm *vm, const Instruction *site, Value a, Value b) {
    enum { LETTERS_MIN = 2, WORDS_MAX = 60 }; /* "a" and "A" may be two codes */
    const Chunk *chunk = vm_frame(vm)->chunk;
    const char *source = chunk->source->text;
    CodeSpan spans = chunk->spans[site - chunk->code];
    if (chunk->library || b.tag != TAG_TEXT || b.as.text->length < LETTERS_MIN ||
        !text_differs_in_case(a.as.text->bytes, a.as.text->length, b.as.text->bytes, b.as.text->length) ||
        is_literal(source, spans.left) == is_literal(source, spans.right))
        return;
    bool turned = is_literal(source, spans.left);
    Span side = turned ? spans.right : spans.left;
    size_t length = side.end - side.start;
    if (length > WORDS_MAX || memchr(source + side.start, '\n', length))
        return;
    Text words = {0};
    text_add(&words, source + side.start, length);
    const UnitTable *units = vm->registry->units;
    char *note =
        message_take(NOTE_CASE_DIFFERS, ARGS(arg_taken(ARG_TEXT, &words), arg_value(units, turned ? b : a),
                                             arg_value(units, turned ? a : b)));
    report_say_once(vm->report, ITEM_NOTE, note);
    mem_free(note);
}

/* ---- loops with two names ---- */

static Value entry_of(Vm *vm, Value first, Value second) {
    ListObject *entry = list_new(vm->registry->heap, 2);
    entry->items[0] = first;
    entry->items[1] = second;
    return value_of_list(entry);
}

bool vm_entries(Vm *vm, Value source, Value *result) {
    Heap *heap = vm->registry->heap;
    bool is_list = source.tag == TAG_LIST;
    if (!is_list && source.tag != TAG_RECORD)
        return kind_fault_loop(vm->registry->units, source, true, &vm->fault);
    uint32_t count = is_list ? source.as.list->count : source.as.record->count;
    if (!heap_allows(heap, count * (sizeof(ListObject) + 3 * sizeof(Value)), &vm->fault))
        return false;
    ListObject *entries = list_new(heap, count);
    for (uint32_t i = 0; i < count; i++)
        entries->items[i] = is_list ? entry_of(vm, value_number(i + 1.0), source.as.list->items[i])
                                    : entry_of(vm, value_of_text(source.as.record->fields[i].name),
                                               source.as.record->fields[i].value);
    *result = value_of_list(entries);
    return true;
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
    return kind_fault(vm->registry->units, MSG_WITH_KIND, object, NULL, &vm->fault);
}

/* ---- lists under construction ---- */

enum { BUILDER_KEPT = 1024 }; /* a builder of more items gives its memory back */

void vm_list_begin(Vm *vm) {
    if (vm->builder_count >= vm->builder_capacity) {
        int old = vm->builder_capacity;
        vm->builder_capacity = old ? old * 2 : 4;
        vm->builders = mem_resize_array(vm->builders, (size_t)vm->builder_capacity, sizeof *vm->builders);
        memset(vm->builders + old, 0, (size_t)(vm->builder_capacity - old) * sizeof *vm->builders);
    }
    vm->builders[vm->builder_count++].count = 0; /* a small one keeps its memory from list to list */
}

bool vm_list_append(Vm *vm, Value value) {
    ListBuilder *builder = &vm->builders[vm->builder_count - 1];
    if (builder->count == builder->capacity) {
        Heap *heap = vm->registry->heap;
        if (!heap_allows(heap, ((size_t)builder->count + 1) * 2 * sizeof(Value), &vm->fault))
            return false;
        heap->outside -= builder->capacity * sizeof(Value);
        MEM_GROW(builder->items, builder->count, builder->capacity);
        heap->outside += builder->capacity * sizeof(Value);
    }
    builder->items[builder->count++] = value;
    return true;
}

Value vm_list_end(Vm *vm) {
    ListBuilder *builder = &vm->builders[--vm->builder_count];
    ListObject *list = list_new(vm->registry->heap, builder->count);
    if (builder->count)
        memcpy(list->items, builder->items, builder->count * sizeof(Value));
    if (builder->capacity > BUILDER_KEPT) {
        vm->registry->heap->outside -= builder->capacity * sizeof(Value);
        mem_free(builder->items);
        *builder = (ListBuilder){0};
    }
    return value_of_list(list);
}

/* ---- texts ---- */

bool vm_format(Vm *vm, const Instruction *site, Value value, Value *result) {
    FormatSpec format = {.mode = (FormatMode)(site->x & ~FORMAT_SAID), .count = site->c};
    bool said = (site->x & FORMAT_SAID) != 0;
    if (value.tag == TAG_TEXT && format.mode == FORMAT_DEFAULT) {
        *result = value;
        return true;
    }
    if (!display_rounds(vm->registry->units, value, format, &vm->fault))
        return false;
    Shown shown = {.value = value, .format = format, .number = -1, .face = -1};
    if (vm->worlds->mode != WORLD_PLAIN && !vm->report->muted)
        shown.number = worlds_show(vm->worlds, vm_place(vm, site), value);
    bool followed = shown.number >= 0;
    bool quoted = said && followed && !vm->report->silent && !vm_frame(vm)->chunk->library;
    Text text = {0};
    if (quoted)
        report_add_quote(vm->report, &shown, &text);
    else if (followed && vm->worlds->mode == WORLD_AGAIN)
        settle_quote(vm, &shown, &text);
    else
        display_value(&text, vm->registry->units, value, format);
    if (followed && !quoted && vm->worlds->mode == WORLD_CENTRAL)
        worlds_work(vm->worlds, shown.number);
    *result = value_text(vm->registry->heap, text_string(&text), text.length);
    text_free(&text);
    return true;
}

bool vm_concat(Vm *vm, const Value *texts, int count, Value *result) {
    size_t length = 0;
    for (int i = 0; i < count; i++)
        length += texts[i].as.text->length;
    if (!heap_allows(vm->registry->heap, 2 * length, &vm->fault)) /* it is put together beside the heap */
        return false;
    Text joined = {0};
    for (int i = 0; i < count; i++)
        text_add(&joined, texts[i].as.text->bytes, texts[i].as.text->length);
    *result = value_text(vm->registry->heap, text_string(&joined), joined.length);
    text_free(&joined);
    return true;
}

/* ---- kinds ---- */

bool vm_check_kind(Vm *vm, const KindCheck *check, Value value, bool result) {
    return kind_check_is(vm->registry->units, check, value, result, &vm->fault);
}

/* ---- counted loops: range[0] from, [1] to, [2] by, [3] turn, [4] turns, [5] the variable ---- */

/* Without `by` a loop goes by 1 on the scale of its first bound, also where that scale is not a straight line
 * (°Bx, °Be); such a step is kept as a plain number. */
static bool steps_on_scale(const Value *range) {
    return range[0].tag == TAG_READING && value_is_plain(range[2]) && range[0].unit != UNIT_PH;
}

static bool steps_by_months(const Vm *vm, const Value *range) {
    return range[0].unit == UNIT_DATE && unit_get(vm->registry->units, range[2].unit)->kind == KIND_MONTHS;
}

/* How often a step of months, a day clipped to the end of its month, goes into a range of dates: to within
 * one by the months alone, then by the dates themselves. */
static bool measure_months(Vm *vm, const Value *range, double *distance, double *step) {
    Arith arith = vm_arith(vm);
    Value by = range[2], moved;
    int direction = by.as.number < 0 ? -1 : 1;
    if (!arith_add(&arith, range[0], by, &moved)) /* no whole months */
        return false;
    CalendarDate from = calendar_date((long)range[0].as.number), to = calendar_date((long)range[1].as.number);
    double months = 12.0 * (to.year - from.year) + (to.month - from.month);
    double turns = by.as.number == 0 ? 0 : floor(months / by.as.number);
    *step = by.as.number == 0 ? 0 : 1;
    by.as.number *= turns;
    if (!arith_add(&arith, range[0], by, &moved))
        return false;
    *distance = direction * (moved.as.number - range[1].as.number) > 0 ? turns - 1 : turns;
    return true;
}

/* The distance of `to` from `from` and the step, on one scale, so that their quotient counts steps. */
static bool measure_range(Vm *vm, Value *range, double *distance, double *step) {
    Arith arith = vm_arith(vm);
    if (steps_by_months(vm, range))
        return measure_months(vm, range, distance, step);
    if (range[0].tag == TAG_AMOUNT || steps_on_scale(range)) {
        const UnitTable *units = vm->registry->units;
        UnitId unit = range[0].unit;
        if (!unit_convert(units, range[1].as.number, range[1].unit, unit, distance, &vm->fault))
            return false;
        *distance -= range[0].as.number;
        *step = range[2].as.number;
        if (range[0].tag == TAG_READING)
            return true;
        if (!unit_convert(units, range[2].as.number, range[2].unit, unit, step, &vm->fault))
            return false;
        range[2] = value_amount(*step, unit);
        return true;
    }
    Value first, second, moved;
    if (!arith_add(&arith, range[0], range[2], &moved))
        return false;
    if (!arith_subtract(&arith, range[1], range[0], &first) ||
        !arith_subtract(&arith, moved, range[0], &second))
        return false;
    *distance = first.as.number;
    *step = second.as.number;
    return true;
}

/* The step when `by` is left out: 1 on the scale of the first bound; for a plot a sixtieth of the range. */
static bool default_step(Vm *vm, const Value *range, bool drawn, Value *step) {
    double size = 1, end;
    if (drawn) {
        if (!unit_convert(vm->registry->units, range[1].as.number, range[1].unit, range[0].unit, &end,
                          &vm->fault))
            return false;
        double part = (end - range[0].as.number) / 60;
        size = range[0].unit == UNIT_DATE ? fmax(1, ceil(part)) : part;
        if (size == 0)
            size = 1;
    }
    *step = range[0].tag == TAG_AMOUNT ? value_amount(size, range[0].unit) : value_number(size);
    return true;
}

bool vm_for_step(Vm *vm, Value *range, bool drawn, bool *has_turn) {
    if (!kind_check_range(vm->registry->units, range[0], range[1], range[2], &vm->fault))
        return false;
    if (range[2].tag == TAG_ABSENT && !default_step(vm, range, drawn, &range[2]))
        return false;
    double distance, step;
    if (!measure_range(vm, range, &distance, &step))
        return false;
    if (step == 0)
        return fault_set(&vm->fault, MSG_LOOP_STEP_ZERO, NO_ARGS);
    double steps = distance / step;
    if (!isfinite(steps))
        return fault_set(&vm->fault, MSG_OVERFLOW, NO_ARGS);
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
    if (steps_on_scale(range)) {
        range[5] = value_reading(range[0].as.number + moved.as.number, range[0].unit);
        return true;
    }
    return arith_add(&arith, range[0], moved, &range[5]);
}

/* ---- ± ---- */

bool vm_plus_minus(Vm *vm, const Instruction *site, Value value, Value spread, PlusMinus how, Value *result) {
    Arith arith = vm_arith(vm);
    double uncertainty;
    if (!kind_check_spread(vm->registry->units, value, spread, how, &vm->fault) ||
        !arith_spread(&arith, value, spread, how == PLUS_MINUS_SAME_UNIT, &uncertainty))
        return false;
    if (how == PLUS_MINUS_WITHIN)
        uncertainty /= sqrt(3.0);
    *result = value;
    if (vm->worlds->mode == WORLD_PLAIN || uncertainty == 0)
        return true;
    const Chunk *chunk = vm_frame(vm)->chunk;
    SourceWords name = {0};
    if (vm->worlds->mode == WORLD_CENTRAL)
        name = source_words(chunk, (int32_t)(site - chunk->code), vm->frames[0].chunk->source);
    result->as.number = worlds_source(vm->worlds, vm_place(vm, site), name, value, uncertainty,
                                      how == PLUS_MINUS_WITHIN ? SPREAD_RECTANGULAR : SPREAD_NORMAL);
    return true;
}

/* Is it judged for a verdict, rather than to be refused? */
static bool gives_verdict(const Vm *vm) {
    static const char ending[] = "_verdict";
    for (int i = 0; i < vm->frame_count; i++) {
        const Chunk *chunk = vm->frames[i].chunk;
        size_t length = chunk->library && chunk->name ? strlen(chunk->name) : 0;
        if (length >= sizeof ending && strcmp(chunk->name + length - (sizeof ending - 1), ending) == 0)
            return true;
    }
    return false;
}

Value vm_judge(Vm *vm, const Instruction *site, Value figure, Judge how) {
    if (!vm->worlds->turned.verdict)
        vm->worlds->turned.verdict = gives_verdict(vm);
    if (vm->worlds->mode != WORLD_PLAIN && vm->probing == 0)
        return worlds_judge(vm->worlds, vm_place(vm, site), figure, how);
    return figure;
}

/* SPDX-FileCopyrightText: the Rundlet developers */
/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What the sides of a check that failed were: `abv(og, fg) = abv(1.061 SG, 1.002 SG) = 7.8 %ABV`. */
#include <string.h>

#include "base/mem.h"
#include "runtime/vm_parts.h"
#include "values/display.h"
#include "values/value_arg.h"

enum { LINE_MOST = 100 };

/* Follows `a.b` from a value. False: it leads nowhere. */
static bool follow(Vm *vm, Value value, const char *path, Value *result) {
    while (path && *path) {
        size_t length = strcspn(path, ".");
        Value name = value_text(vm->registry->heap, path, length);
        if (!vm_field(vm, value, name.as.text, &value)) {
            fault_clear(&vm->fault);
            return false;
        }
        path += length + (path[length] == '.');
    }
    *result = value;
    return true;
}

static bool value_of_read(Vm *vm, const CheckRead *read, Value *value) {
    Value from = read->global >= 0 ? vm->registry->global_values[read->global] : vm_registers(vm)[read->reg];
    return from.tag != TAG_ABSENT && follow(vm, from, read->path, value) && value->tag != TAG_LIQUID &&
           value->tag != TAG_LIST && value->tag != TAG_RECORD && value->tag != TAG_FORMULA;
}

/* The next read of the check from an offset of the source on; NULL: there is none before `end`. */
static const CheckRead *next_read(const Chunk *chunk, int32_t code, uint32_t at, uint32_t end) {
    const CheckRead *next = NULL;
    for (int i = 0; i < chunk->check_read_count; i++) {
        const CheckRead *read = &chunk->check_reads[i];
        bool ahead = read->code == code && read->span.start >= at && read->span.end <= end;
        if (ahead && (!next || read->span.start < next->span.start))
            next = read;
    }
    return next;
}

/* False: nothing in it was read, or what it says is on the line already. */
static bool put_values(Vm *vm, int32_t code, Span side, const char *shown, Text *out) {
    const Chunk *chunk = vm_frame(vm)->chunk;
    uint32_t at = side.start;
    bool any = false;
    const CheckRead *read;
    while ((read = next_read(chunk, code, at, side.end))) {
        Value value;
        bool known = value_of_read(vm, read, &value);
        const char *after = chunk->source->text + read->span.end;
        source_add_part(out, chunk->source->text, side,
                        (Span){at, known ? read->span.start : read->span.end});
        if (known)
            display_operand(out, vm->registry->units, value, 0, after[strspn(after, " \t")] == '^');
        any = any || known;
        at = read->span.end;
    }
    source_add_part(out, chunk->source->text, side, (Span){at, side.end});
    return any && strcmp(text_string(out), shown) != 0;
}

void vm_explain_check(Vm *vm, Diag *diag, const Instruction *i, Span side, const char *shown) {
    const Chunk *chunk = vm_frame(vm)->chunk;
    Text values = {0}, written = {0};
    if (vm->report->muted || worlds_are_moved(vm->worlds)) /* nobody hears of it */
        return;
    bool says = put_values(vm, (int32_t)(i - chunk->code), side, shown, &values);
    source_add_part(&written, chunk->source->text, side, side);
    size_t length = utf8_width(text_string(&values), values.length) + utf8_width(shown, strlen(shown)) + 9;
    if (says && length + utf8_width(text_string(&written), written.length) <= LINE_MOST)
        diag_add_trace(diag, PHRASE_CHECK_SIDE, ARGS(text_string(&written), text_string(&values), shown));
    else if (says && length <= LINE_MOST)
        diag_add_trace(diag, PHRASE_CHECK_VALUES, ARGS(text_string(&values), shown));
    text_free(&values);
    text_free(&written);
}

void vm_mark(Vm *vm, int32_t mark, MarkPhase phase, Value value) {
    const Heap *heap = vm->registry->heap;
    size_t kept = (size_t)vm->recorder->count * sizeof(Record);
    if (heap->limit && heap->bytes + heap->outside + kept > heap->limit / 2)
        recorder_give_up(vm->recorder);
    else
        recorder_add(vm->recorder, vm_frame(vm)->chunk, mark, phase, vm->frame_count, value);
}

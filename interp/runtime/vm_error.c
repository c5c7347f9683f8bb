/* SPDX-FileCopyrightText: the Rundlet developers */
/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The error that ends a run, and where in the script it is shown. */
#include <string.h>

#include "base/mem.h"
#include "runtime/vm_parts.h"
#include "values/display.h"
#include "values/kind_check.h"
#include "values/liquid_value.h"

bool vm_error_is_final(const Vm *vm) {
    return vm->error && message_class(vm->error->id) == CLASS_LIMIT;
}

void vm_drop_error(Vm *vm) {
    diag_free(vm->error);
    vm->error = NULL;
}

/* The span a call's faulty argument has, or the whole. */
static Span argument_place(const Chunk *chunk, const Fault *fault, CodeSpan spans) {
    if (fault->argument > 0 && (uint32_t)fault->argument <= spans.left.end)
        return chunk->argument_spans[spans.left.start + (uint32_t)fault->argument - 1];
    return spans.at;
}

static Diag *diag_at(Vm *vm, const Chunk *chunk, CodeSpan spans) {
    Span at = argument_place(chunk, &vm->fault, spans);
    liquid_value_name_solid(&vm->fault, chunk->source->text, spans.at, spans.right);
    kind_hint_call(&vm->fault, chunk->source->text, spans.left, spans.at);
    return diag_from_sides(&vm->fault, chunk->source, at, spans.left, spans.right);
}

int vm_users_frame(const Vm *vm) {
    int index = vm->frame_count - 1;
    while (index > 0 && vm->frames[index].chunk->library)
        index--;
    return index;
}

static CodeSpan frame_spans(const Frame *frame) {
    return frame->chunk->spans[frame->pc - 1 - frame->chunk->code];
}

/* Which parameter of its formula a faulty argument in a library chunk is by itself, from 1; else 0. */
static int passed_on(const Vm *vm, const Chunk *chunk, int argument, CodeSpan spans) {
    const Formula *formula = NULL;
    if (argument <= 0 || (uint32_t)argument > spans.left.end)
        return 0;
    for (int i = 0; i < vm->registry->formula_count && !formula; i++)
        if (vm->registry->formulas[i]->chunk == chunk)
            formula = vm->registry->formulas[i];
    Span given = chunk->argument_spans[spans.left.start + (uint32_t)argument - 1];
    size_t length = given.end - given.start;
    for (int i = 0; formula && i < formula->param_count; i++)
        if (strlen(formula->params[i].name) == length &&
            memcmp(formula->params[i].name, chunk->source->text + given.start, length) == 0)
            return i + 1;
    return 0;
}

/* The fault of a formula of the library, at the argument of the script that it came from or at the call. */
static Diag *diag_of_library(Vm *vm, int users, CodeSpan spans) {
    int argument = vm->fault.argument;
    for (int i = vm->frame_count - 1; i > users; i--)
        argument = passed_on(vm, vm->frames[i].chunk, argument,
                             i == vm->frame_count - 1 ? spans : frame_spans(&vm->frames[i]));
    const Frame *frame = &vm->frames[users];
    CodeSpan call = frame_spans(frame);
    vm->fault.argument = (frame->pc - 1)->op == OP_CALL ? argument : 0;
    return diag_from_sides(&vm->fault, frame->chunk->source, argument_place(frame->chunk, &vm->fault, call),
                           (Span){0}, (Span){0});
}

bool vm_fail(Vm *vm, CodeSpan spans) {
    if (vm->quiet && message_class(vm->fault.id) != CLASS_LIMIT) {
        fault_clear(&vm->fault);
        return false;
    }
    int index = vm_users_frame(vm);
    Diag *diag = index == vm->frame_count - 1 ? diag_at(vm, vm->frames[index].chunk, spans)
                                              : diag_of_library(vm, index, spans);
    vm_add_trace(vm, diag, index);
    vm_drop_error(vm);
    vm->error = diag;
    return false;
}

char *vm_shown(const Vm *vm, Value value) {
    Text text = {0};
    display_brief(&text, vm->registry->units, value,
                  value.tag == TAG_TEXT); /* in messages a text is in quotes */
    return text_take(&text);
}

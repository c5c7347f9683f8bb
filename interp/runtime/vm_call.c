/* SPDX-FileCopyrightText: the Rundlet developers */
/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Calls: an argument of the wrong kind, and formulas that are values, for which what a compiled call knows
 * beforehand is settled here. */
#include <string.h>

#include "base/mem.h"
#include "runtime/vm_parts.h"
#include "values/kind_check.h"

/* An argument of the wrong kind is shown where it was given; a wrong default where it is written. */
bool vm_fail_argument(Vm *vm, const Instruction *pc, int parameter, CodeSpan spans) {
    const Frame *caller = vm->frame_count > 1 ? &vm->frames[vm->frame_count - 2] : NULL;
    const Instruction *call = caller && caller->pc ? caller->pc - 1 : NULL;
    vm_frame(vm)->pc = pc;
    if (!call || (call->op != OP_CALL && call->op != OP_CALL_VALUE))
        return vm_fail(vm, spans);
    CodeSpan places = caller->chunk->spans[call - caller->chunk->code];
    if ((uint32_t)parameter >= places.left.end) /* its own default */
        return vm_fail(vm, spans);
    Span given = caller->chunk->argument_spans[places.left.start + (uint32_t)parameter];
    if (given.start == places.at.start && given.end == places.at.end)
        return vm_fail(vm, spans);
    vm->frame_count--;
    return vm_fail(vm, (CodeSpan){.at = given});
}

static const Formula *fail(Vm *vm, MessageId id, Span at, MessageArg *args) {
    fault_set(&vm->fault, id, args);
    vm_fail(vm, (CodeSpan){.at = at});
    return NULL;
}

static int required_count(const Formula *formula) {
    int count = 0;
    for (int i = 0; i < formula->param_count; i++)
        count += !formula->params[i].optional;
    return count;
}

/* The only argument is a list, and the formula needs several: its items are they. */
static void spread_list(const Formula *formula, Value *args, int *count) {
    if (formula->variadic || required_count(formula) < 2 || args[0].tag != TAG_LIST)
        return;
    const ListObject *list = args[0].as.list;
    *count = (int)list->count;
    for (int i = 0; i < *count && i < formula->param_count; i++)
        args[i] = list->items[i];
}

/* The first that is missing, or -1. */
static int missing_argument(const Formula *formula, int count) {
    for (int i = count; i < formula->param_count; i++)
        if (!formula->params[i].optional)
            return i;
    return formula->variadic && count == 0 ? 0 : -1;
}

const Formula *vm_open_value_call(Vm *vm, const Instruction *i, int *count, CodeSpan spans) {
    const Chunk *chunk = vm_frame(vm)->chunk;
    Value *args = vm_registers(vm) + i->a, callee = vm_registers(vm)[i->b];
    if (callee.tag != TAG_FORMULA) {
        char *name = mem_copy(chunk->source->text + spans.right.start, spans.right.end - spans.right.start);
        fail(vm, MSG_VALUE_AS_FORMULA, spans.right, ARGS(name));
        mem_free(name);
        return NULL;
    }
    const Formula *formula = callee.as.formula;
    if (i->c)
        spread_list(formula, args, count);
    if (!formula->variadic && *count > formula->param_count)
        return fail(vm, MSG_TOO_MANY_ARGUMENTS, spans.at, ARGS(formula->name, formula->usage));
    int missing = missing_argument(formula, *count);
    if (missing >= 0)
        return fail(vm, MSG_MISSING_ARGUMENT, spans.at,
                    ARGS(formula->name, formula->params[missing].label, formula->usage));
    for (int at = *count; !formula->variadic && at < formula->param_count; at++) {
        int initial = formula->params[at].initial;
        args[at] = initial < 0 ? value_absent() : formula->chunk->constants[initial];
    }
    if (!formula->variadic)
        *count = formula->param_count;
    return formula;
}

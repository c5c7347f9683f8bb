/* SPDX-FileCopyrightText: the Rundlet developers */
/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Where a run is: the same place in two runs of a script, whatever ways they took to get there. And how a
 * hidden run continues after a statement that has nothing to hand out. */
#include "runtime/vm_parts.h"

/* splitmix64's finalizer (Steele, Lea, Flood, OOPSLA 2014): every bit of both sides reaches all others. */
static uint64_t mixed(uint64_t hash, uint64_t word) {
    uint64_t z = (hash ^ word) + 0x9e3779b97f4a7c15u;
    z = (z ^ (z >> 30)) * 0xbf58476d1ce4e5b9u;
    z = (z ^ (z >> 27)) * 0x94d049bb133111ebu;
    return z ^ (z >> 31);
}

/* An instruction, and the turns of the loops around it. */
static uint64_t add_frame(const Vm *vm, const Frame *frame, const Instruction *at, uint64_t hash) {
    const Chunk *chunk = frame->chunk;
    int32_t index = (int32_t)(at - chunk->code);
    for (int i = 0; i < chunk->loop_count; i++) {
        const LoopRange *loop = &chunk->loops[i];
        if (loop->top <= index && index <= loop->end)
            hash = mixed(hash, (uint64_t)vm->stack[frame->base + loop->counter].as.number);
    }
    return mixed(hash, (uint64_t)(uintptr_t)at);
}

uint64_t vm_place(const Vm *vm, const Instruction *site) {
    uint64_t hash = 0;
    int top = vm->frame_count - 1;
    for (int i = 0; i < top; i++)
        if (vm->frames[i].pc)
            hash = add_frame(vm, &vm->frames[i], vm->frames[i].pc - 1, hash);
    return add_frame(vm, &vm->frames[top], site, hash);
}

/* The handout whose code holds an instruction, or NULL. */
static const Handout *handout_around(const Chunk *chunk, int32_t index) {
    for (int i = 0; i < chunk->handout_count; i++)
        if (chunk->handouts[i].start <= index && index <= chunk->handouts[i].at)
            return &chunk->handouts[i];
    return NULL;
}

/* Neither what the running frame would hand out nor the numbers in its texts have a value. */
static void refuse_handout(Vm *vm, const Handout *handout) {
    const Instruction *code = vm_frame(vm)->chunk->code;
    for (int32_t i = handout->start; i <= handout->at; i++)
        if (i == handout->at || code[i].op == OP_FORMAT)
            worlds_refuse(vm->worlds, vm_place(vm, code + i), vm->error, i == handout->at);
}

/* Tables under way around an instruction of a frame. */
static int tables_around(const Frame *frame, int32_t index) {
    int tables = frame->tables;
    for (int i = 0; i < frame->chunk->loop_count; i++) {
        const LoopRange *loop = &frame->chunk->loops[i];
        bool around = loop->top <= index && index <= loop->end;
        const Instruction *top = frame->chunk->code + loop->top;
        tables += around && (top + (top->op == OP_ENTRY))->op == OP_TABLE_ROW;
    }
    return tables;
}

const Instruction *vm_behind_handout(Vm *vm, int entry, int *tables) {
    bool may = worlds_are_moved(vm->worlds) && !vm->report->muted && !vm->report->silent && vm->error &&
               !vm_error_is_final(vm);
    for (int i = vm->frame_count - 1; may && i >= entry - 1; i--) {
        const Frame *frame = &vm->frames[i];
        const Instruction *code = frame->chunk->code;
        const Handout *handout =
            frame->pc ? handout_around(frame->chunk, (int32_t)(frame->pc - 1 - code)) : NULL;
        if (!handout)
            continue;
        vm->frame_count = i + 1;
        vm->builder_count = frame->builders;
        *tables = tables_around(frame, handout->at);
        refuse_handout(vm, handout);
        vm_drop_error(vm);
        return code + handout->at + 1;
    }
    return NULL;
}

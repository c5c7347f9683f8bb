/* SPDX-FileCopyrightText: the Rundlet developers */
/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Marks in the code, from which a run that shows its working knows what was read, called and given a name. */
#include "base/mem.h"
#include "front/compile_state.h"

static bool has_marks(const Compiler *c) {
    return c->options.marks == MARKS_ALL || (c->options.marks == MARKS_OWN && !c->module->library);
}

int compile_make_mark(Compiler *c, MarkRole role, Span span, const char *name) {
    Chunk *chunk = c->chunk;
    if (!has_marks(c))
        return -1;
    MEM_GROW(chunk->marks, chunk->mark_count, chunk->mark_capacity);
    chunk->marks[chunk->mark_count] =
        (Mark){.role = role,
               .span = span,
               .whole = role == MARK_READ || role == MARK_CALL ? c->within : (Span){0, 0},
               .name = mem_copy_string(name),
               .global = -1,
               .reg = -1,
               .number = -1,
               .inside = c->inside,
               .loop = c->turn_mark,
               .list = -1};
    return chunk->mark_count++;
}

void compile_emit_mark(Compiler *c, int mark, MarkPhase phase, uint16_t reg) {
    compiler_emit(c, (Instruction){.op = OP_MARK, .x = (uint8_t)phase, .a = reg, .d = mark},
                  c->chunk->marks[mark].span);
}

void compile_mark_defined(Compiler *c, int mark, uint16_t reg) {
    int slot;
    if (mark < 0)
        return;
    Mark *made = &c->chunk->marks[mark];
    const Local *local = compiler_find_local(c, made->name);
    if (local)
        made->reg = local->reg;
    else if (name_map_get(&c->module->globals, made->name, &slot))
        made->global = slot;
    compile_mark(c, mark, MARK_DONE, reg);
}

void compile_emit_part(Compiler *c, const Node *node, uint16_t reg) {
    bool sum = node->type == NODE_BINARY && node->as.binary.op == OPERATOR_ADD && !node->bracketed;
    if (!sum) /* its own parts are marked */
        compile_mark(c, compile_new_mark(c, MARK_PART, node->span, NULL), MARK_DONE, reg);
}

void compile_mark_taken(Compiler *c, const Node *choice, const Node *branch, uint16_t reg) {
    int mark = compile_new_mark(c, MARK_TAKEN, branch->span, NULL);
    if (mark >= 0)
        c->chunk->marks[mark].whole = choice->span;
    compile_mark(c, mark, MARK_DONE, reg);
}

void compile_emit_read(Compiler *c, const Node *node, const Local *local, int global, uint16_t reg) {
    const char *name = node->type == NODE_NAME ? node->as.name.name : NULL;
    int mark = compile_new_mark(c, MARK_READ, node->span, name);
    if (mark < 0)
        return;
    if (name)
        c->chunk->marks[mark].whole = local ? local->binder : (Span){0, 0};
    c->chunk->marks[mark].reg = local ? local->reg : -1;
    c->chunk->marks[mark].global = global;
    compile_mark(c, mark, MARK_DONE, reg);
}

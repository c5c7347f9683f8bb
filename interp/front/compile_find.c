/* SPDX-FileCopyrightText: the Rundlet developers */
/* SPDX-License-Identifier: GPL-3.0-or-later */
/* `find`: the bounds are computed once; each side of a condition becomes a part that the solver runs again
 * and again. */
#include <string.h>

#include "base/mem.h"
#include "front/compile_state.h"

static void compile_unknown(Compiler *c, const Unknown *unknown, FindUnknown *plan) {
    plan->name = mem_copy_string(unknown->name);
    plan->from = compiler_new_reg(c);
    plan->to = compiler_new_reg(c);
    plan->old = compiler_new_reg(c);
    plan->whole = unknown->whole;
    plan->global = -1;
    plan->span = unknown->name_span;
    plan->from_span = unknown->from->span;
    plan->to_span = unknown->to->span;
    compile_expr(c, unknown->from, plan->from);
    compile_expr(c, unknown->to, plan->to);
}

static Relation relation_of(Operator op) {
    return op == OPERATOR_EQUAL        ? RELATION_EQUAL
           : op == OPERATOR_LESS_EQUAL ? RELATION_LESS_EQUAL
                                       : RELATION_GREATER_EQUAL;
}

/* `name`: of a goal, the word for it. */
static void compile_side(Compiler *c, const Node *side, const char *name, uint16_t reg) {
    int mark = compile_new_mark(c, MARK_SIDE, side->span, name);
    compile_mark(c, mark, MARK_BEGIN, reg);
    compile_expr(c, side, reg);
    compile_mark(c, mark, MARK_DONE, reg);
}

static void compile_condition_part(Compiler *c, const Node *condition, FindPart *part) {
    part->start = c->chunk->count;
    part->relation = relation_of(condition->as.binary.op);
    part->span = condition->span;
    part->left_span = condition->as.binary.left->span;
    part->right_span = condition->as.binary.right->span;
    part->left = compiler_new_reg(c);
    part->right = compiler_new_reg(c);
    int mark = compile_new_mark(c, MARK_HOLDS, condition->span, NULL);
    compile_mark(c, mark, MARK_BEGIN, part->left);
    compile_side(c, condition->as.binary.left, NULL, part->left);
    compile_side(c, condition->as.binary.right, NULL, part->right);
    compile_mark(c, mark, MARK_DONE, part->left);
    compiler_emit(c, (Instruction){.op = OP_PART_END}, condition->span);
}

static void compile_goal_part(Compiler *c, const Node *goal, int direction, FindPart *part) {
    part->start = c->chunk->count;
    part->span = part->left_span = goal->span;
    part->left = compiler_new_reg(c);
    compile_side(c, goal, direction < 0 ? "least" : "most", part->left);
    compiler_emit(c, (Instruction){.op = OP_PART_END}, goal->span);
}

/* Inside the conditions an unknown is a local name; where it is declared at top level, the solver keeps the
 * global in step, so that formulas which read it see each trial value too. */
static void open_unknowns(Compiler *c, const FindTree *find, const FindPlan *plan) {
    compiler_open_body(c);
    for (int i = 0; i < plan->unknown_count; i++) {
        const Unknown *unknown = &find->unknowns[i];
        compiler_declare_local(c, unknown->name, unknown->name_span, plan->unknowns[i].reg);
    }
}

static void declare_results(Compiler *c, const Statement *s, const FindPlan *plan) {
    for (int i = 0; i < plan->unknown_count; i++) {
        const Unknown *unknown = &s->as.find.unknowns[i];
        uint16_t reg = plan->unknowns[i].reg;
        int mark = compile_new_mark(c, MARK_FIND, s->span, unknown->name);
        compile_store_new(c, unknown->name, unknown->name_span, reg, GLOBAL_LET);
        compile_mark_defined(c, mark, reg);
    }
}

/* `dose = 0.19 gal`, for who typed the find. */
static void show_results(Compiler *c, const FindPlan *plan) {
    for (int i = 0; i < plan->unknown_count; i++) {
        MEM_GROW(c->chunk->shows, c->chunk->show_count, c->chunk->show_capacity);
        c->chunk->shows[c->chunk->show_count] = (ShowPlan){.label = mem_copy_string(plan->unknowns[i].name)};
        compiler_emit(c,
                      (Instruction){.op = OP_SHOW, .a = plan->unknowns[i].reg, .d = c->chunk->show_count++},
                      plan->unknowns[i].span);
    }
}

/* `is_global`: its unknowns are values of the top level; `is_value`: it is an expression. The unknowns have
 * the first registers. */
static FindPlan emit_find(Compiler *c, const FindTree *find, Span span, bool is_global, bool is_value) {
    FindPlan plan = {.unknown_count = find->unknown_count,
                     .condition_count = find->condition_count,
                     .direction = find->direction};
    plan.unknowns = mem_array((size_t)plan.unknown_count, sizeof *plan.unknowns);
    plan.conditions = mem_array((size_t)plan.condition_count + 1, sizeof *plan.conditions);
    for (int i = 0; i < plan.unknown_count; i++)
        plan.unknowns[i].reg = compiler_new_reg(c);
    int saved = c->next_reg; /* locals keep the unknowns' registers */
    for (int i = 0; i < plan.unknown_count; i++) {
        compile_unknown(c, &find->unknowns[i], &plan.unknowns[i]);
        int slot;
        if (is_global && name_map_get(&c->module->globals, plan.unknowns[i].name, &slot))
            plan.unknowns[i].global = slot;
    }
    MEM_GROW(c->chunk->finds, c->chunk->find_count, c->chunk->find_capacity);
    int index = c->chunk->find_count++;
    c->chunk->finds[index] = plan;
    compiler_emit(c, (Instruction){.op = OP_FIND, .d = index}, span);
    Span around = c->within;
    c->within = is_value ? span : around;
    c->binder = is_value ? span : (Span){0, 0};
    open_unknowns(c, find, &plan);
    c->binder = (Span){0, 0};
    for (int i = 0; i < plan.condition_count; i++)
        compile_condition_part(c, find->conditions[i], &plan.conditions[i]);
    if (plan.direction)
        compile_goal_part(c, find->goal, plan.direction, &plan.goal);
    c->within = around;
    compiler_close_body(c);
    plan.end = c->chunk->count;
    c->chunk->finds[index] = plan; /* a part may have held another find: the array may have moved */
    c->next_reg = saved;
    return plan;
}

void compile_find(Compiler *c, const Statement *s) {
    bool local = c->depth > 0 || c->formula;
    FindPlan plan = emit_find(c, &s->as.find, s->span, !local, false);
    declare_results(c, s, &plan);
    if (c->options.show_found && !local)
        show_results(c, &plan);
    if (!local)
        c->next_reg -= plan.unknown_count;
}

/* The value of one unknown, or a record of several. */
void compile_find_value(Compiler *c, const Node *node, uint16_t target) {
    int saved = c->next_reg;
    FindPlan plan = emit_find(c, &node->as.find, node->span, false, true);
    if (plan.unknown_count == 1) {
        compiler_emit(c, (Instruction){.op = OP_MOVE, .a = target, .b = plan.unknowns[0].reg}, node->span);
    } else {
        ListObject *names = list_new(c->registry->heap, (uint32_t)plan.unknown_count);
        for (int i = 0; i < plan.unknown_count; i++)
            names->items[i] = compiler_text(c, plan.unknowns[i].name, strlen(plan.unknowns[i].name));
        compiler_emit_record(c, names, plan.unknowns[0].reg, target, node->span);
    }
    c->next_reg = saved;
}

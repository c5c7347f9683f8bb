/* SPDX-FileCopyrightText: the Rundlet developers */
/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Expressions to code. Each leaves its value in the register asked for. */
#include <string.h>

#include "base/mem.h"
#include "front/compile_state.h"
#include "values/arith.h"

/* ---- constants ---- */

bool compile_unit(const Registry *registry, const Module *module, const UnitExpr *expr, UnitId *unit,
                  Fault *fault) {
    UnitFactor factors[64];
    if (expr->count > 64)
        return fault_set(fault, MSG_UNIT_TOO_COMPLICATED, NO_ARGS);
    for (int i = 0; i < expr->count; i++) {
        const UnitTerm *term = &expr->terms[i];
        factors[i].exponent = term->exponent;
        if (!module_find_unit(registry, module, term->qualifier, term->name, &factors[i].unit))
            return fault_set(fault, MSG_UNIT_UNKNOWN, ARGS(term->name));
    }
    return unit_compose(registry->units, factors, expr->count, unit, fault);
}

static bool constant_binary(const Arith *arith, const Node *node, Value a, Value b, Value *value) {
    switch (node->as.binary.op) {
    case OPERATOR_ADD:
        return arith_add(arith, a, b, value);
    case OPERATOR_SUBTRACT:
        return arith_subtract(arith, a, b, value);
    case OPERATOR_MULTIPLY:
        return arith_multiply(arith, a, b, value);
    case OPERATOR_DIVIDE:
        return arith_divide(arith, a, b, value);
    default:
        return false;
    }
}

bool compile_constant(const Registry *registry, const Module *module, const Node *node, Value *value,
                      Fault *fault) {
    Arith arith = {.units = registry->units, .heap = registry->heap, .fault = fault};
    Value a, b;
    UnitId unit;
    switch (node->type) {
    case NODE_NUMBER:
        *value = value_number(node->as.number);
        return true;
    case NODE_DATE:
        *value = value_reading(node->as.number, UNIT_DATE);
        return true;
    case NODE_TRUTH:
        *value = value_truth(node->as.truth);
        return true;
    case NODE_NONE:
        *value = value_none();
        return true;
    case NODE_TEXT:
        if (node->as.text.count > 1 || (node->as.text.count == 1 && !node->as.text.parts[0].literal))
            return false;
        *value = node->as.text.count == 0 ? value_text(registry->heap, "", 0)
                                          : value_text(registry->heap, node->as.text.parts[0].literal,
                                                       node->as.text.parts[0].length);
        return true;
    case NODE_ATTACH:
        return compile_constant(registry, module, node->as.attach.operand, &a, fault) &&
               compile_unit(registry, module, node->as.attach.unit, &unit, fault) &&
               arith_attach(&arith, a, unit, value);
    case NODE_UNARY:
        return node->as.unary.op == OPERATOR_NEGATE &&
               compile_constant(registry, module, node->as.unary.operand, &a, fault) &&
               arith_negate(&arith, a, value);
    case NODE_BINARY:
        return compile_constant(registry, module, node->as.binary.left, &a, fault) &&
               compile_constant(registry, module, node->as.binary.right, &b, fault) &&
               constant_binary(&arith, node, a, b, value);
    default:
        return false;
    }
}

/* Only literals are folded: what could fail stays for the run, so that its error comes when its turn does. */
static bool literal_value(Compiler *c, const Node *node, Value *value) {
    const Node *inner = node;
    if (inner->type == NODE_UNARY && inner->as.unary.op == OPERATOR_NEGATE)
        inner = inner->as.unary.operand;
    if (inner->type == NODE_ATTACH)
        inner = inner->as.attach.operand;
    if (inner->type != NODE_NUMBER &&
        !(inner == node &&
          (inner->type == NODE_DATE || inner->type == NODE_TRUTH || inner->type == NODE_NONE)))
        return false;
    Fault fault = {0};
    bool folded = compile_constant(c->registry, c->module, node, value, &fault);
    fault_clear(&fault);
    return folded;
}

/* ---- names ---- */

static void compile_name(Compiler *c, const Node *node, uint16_t target) {
    const char *name = node->as.name.name;
    const Local *local = compiler_find_local(c, name);
    int slot;
    if (local) {
        if (local->reg != target)
            compiler_emit(c, (Instruction){.op = OP_MOVE, .a = target, .b = local->reg}, node->span);
        compile_mark_read(c, node, local, -1, target);
    } else if (name_map_get(&c->module->globals, name, &slot)) {
        if (!c->formula && !c->registry->globals[slot].declared)
            compiler_error(c, MSG_USED_BEFORE, node->span, ARGS(name));
        compiler_emit(c, (Instruction){.op = OP_GET_GLOBAL, .a = target, .d = slot}, node->span);
        compile_mark_read(c, node, NULL, slot, target);
    } else {
        compile_unknown_value(c, name, node->span);
    }
}

uint16_t compile_operand(Compiler *c, const Node *node) {
    if (node->type == NODE_NAME) {
        const Local *local = compiler_find_local(c, node->as.name.name);
        if (local) {
            compile_mark_read(c, node, local, -1, local->reg);
            return local->reg;
        }
    }
    uint16_t reg = compiler_new_reg(c);
    compile_expr(c, node, reg);
    return reg;
}

/* ---- operators ---- */

Opcode compile_operator(Operator op) {
    switch (op) {
    case OPERATOR_ADD:
        return OP_ADD;
    case OPERATOR_SUBTRACT:
        return OP_SUBTRACT;
    case OPERATOR_MULTIPLY:
        return OP_MULTIPLY;
    case OPERATOR_DIVIDE:
        return OP_DIVIDE;
    case OPERATOR_OF:
        return OP_OF;
    case OPERATOR_MODULO:
        return OP_MODULO;
    case OPERATOR_POWER:
        return OP_POWER;
    case OPERATOR_EQUAL:
        return OP_EQUAL;
    case OPERATOR_NOT_EQUAL:
        return OP_NOT_EQUAL;
    case OPERATOR_LESS:
    case OPERATOR_GREATER_EQUAL:
        return OP_LESS;
    case OPERATOR_LESS_EQUAL:
    case OPERATOR_GREATER:
        return OP_LESS_EQUAL;
    case OPERATOR_NEGATE:
    case OPERATOR_NOT:
    case OPERATOR_OR:
    case OPERATOR_AND:
        break;
    }
    return OP_MOVE;
}

static CodeSpan binary_spans(const Node *node) {
    return (CodeSpan){.at = node->as.binary.operator_span,
                      .left = node->as.binary.left->span,
                      .right = node->as.binary.right->span};
}

static bool has_constant_form(Opcode op) {
    return op == OP_ADD || op == OP_SUBTRACT || op == OP_MULTIPLY || op == OP_DIVIDE;
}

/* Arithmetic and comparison: two operands in registers, or the right one a constant. */
static void compile_arithmetic(Compiler *c, const Node *node, uint16_t target) {
    int saved = c->next_reg;
    Opcode op = compile_operator(node->as.binary.op);
    int mark = op == OP_ADD ? compile_new_mark(c, MARK_SUM, node->span, NULL) : -1;
    compile_mark(c, mark, MARK_BEGIN, target);
    uint16_t left = compile_operand(c, node->as.binary.left);
    if (op == OP_ADD)
        compile_mark_part(c, node->as.binary.left, left);
    Value constant;
    Instruction instruction = {.op = (uint8_t)op, .a = target, .b = left};
    if (has_constant_form(op) && c->chunk->constant_count < CHUNK_CONSTANT_OPERAND_MAX &&
        literal_value(c, node->as.binary.right, &constant)) {
        instruction.op = (uint8_t)(op + 1); /* the _K form is after each */
        instruction.c = (uint16_t)chunk_add_constant(c->chunk, constant);
    } else {
        instruction.c = compile_operand(c, node->as.binary.right);
        if (op == OP_ADD)
            compile_mark_part(c, node->as.binary.right, instruction.c);
    }
    compiler_emit_spans(c, instruction, binary_spans(node));
    if (node->as.binary.op == OPERATOR_GREATER || node->as.binary.op == OPERATOR_GREATER_EQUAL)
        compiler_emit(c, (Instruction){.op = OP_NOT, .a = target, .b = target}, node->span);
    compile_mark(c, mark, MARK_DONE, target);
    c->next_reg = saved;
}

static void compile_and_or(Compiler *c, const Node *node, uint16_t target) {
    compile_expr(c, node->as.binary.left, target);
    Opcode skip = node->as.binary.op == OPERATOR_AND ? OP_JUMP_IF_FALSE : OP_JUMP_IF_TRUE;
    int jump = compiler_emit_jump(c, skip, target, node->as.binary.left->span);
    compile_expr(c, node->as.binary.right, target);
    compiler_emit(c, (Instruction){.op = OP_CHECK_TRUTH, .a = target}, node->as.binary.right->span);
    if (c->options.marks == MARKS_NONE) {
        compiler_patch(c, jump);
        return;
    }
    int over = compiler_emit_jump(c, OP_JUMP, 0, node->span);
    compiler_patch(c, jump);
    compile_mark_taken(c, node, node->as.binary.left, target);
    compiler_patch(c, over);
}

static void compile_binary(Compiler *c, const Node *node, uint16_t target) {
    if (node->as.binary.op == OPERATOR_AND || node->as.binary.op == OPERATOR_OR)
        compile_and_or(c, node, target);
    else
        compile_arithmetic(c, node, target);
}

static void compile_unary(Compiler *c, const Node *node, uint16_t target) {
    int saved = c->next_reg;
    uint16_t operand = compile_operand(c, node->as.unary.operand);
    Opcode op = node->as.unary.op == OPERATOR_NEGATE ? OP_NEGATE : OP_NOT;
    Span at = op == OP_NOT ? node->as.unary.operand->span : node->span;
    compiler_emit(c, (Instruction){.op = (uint8_t)op, .a = target, .b = operand}, at);
    c->next_reg = saved;
}

/* ---- conditions ---- */

static void add_jump(JumpList *jumps, int jump) {
    MEM_GROW(jumps->items, jumps->count, jumps->capacity);
    jumps->items[jumps->count++] = jump;
}

void compile_patch_all(Compiler *c, JumpList *jumps) {
    for (int i = 0; i < jumps->count; i++)
        compiler_patch(c, jumps->items[i]);
    mem_free(jumps->items);
    *jumps = (JumpList){0};
}

/* A compare-and-jump pair. a > b is "not a <= b": the tolerance (docs/reference/language.md, "Expressions")
 * makes that exact. */
static void compile_test(Compiler *c, const Node *node, bool jump_when, JumpList *jumps) {
    int saved = c->next_reg;
    Operator op = node->as.binary.op;
    bool negated = op == OPERATOR_NOT_EQUAL || op == OPERATOR_GREATER || op == OPERATOR_GREATER_EQUAL;
    Instruction test = {.x = (uint8_t)(jump_when != negated)};
    test.op = op == OPERATOR_EQUAL || op == OPERATOR_NOT_EQUAL      ? OP_TEST_EQUAL
              : op == OPERATOR_LESS || op == OPERATOR_GREATER_EQUAL ? OP_TEST_LESS
                                                                    : OP_TEST_LESS_EQUAL;
    test.b = compile_operand(c, node->as.binary.left);
    Value constant;
    if (test.op != OP_TEST_EQUAL && c->chunk->constant_count < CHUNK_CONSTANT_OPERAND_MAX &&
        literal_value(c, node->as.binary.right, &constant)) {
        test.op++; /* the _K form */
        test.c = (uint16_t)chunk_add_constant(c->chunk, constant);
    } else {
        test.c = compile_operand(c, node->as.binary.right);
    }
    compiler_emit_spans(c, test, binary_spans(node));
    add_jump(jumps, compiler_emit_jump(c, OP_JUMP, 0, node->span));
    c->next_reg = saved;
}

void compile_condition(Compiler *c, const Node *node, bool jump_when, JumpList *jumps) {
    if (node->type == NODE_UNARY && node->as.unary.op == OPERATOR_NOT) {
        compile_condition(c, node->as.unary.operand, !jump_when, jumps);
        return;
    }
    if (node->type == NODE_BINARY && operator_compares(node->as.binary.op)) {
        compile_test(c, node, jump_when, jumps);
        return;
    }
    bool is_and = node->type == NODE_BINARY && node->as.binary.op == OPERATOR_AND;
    bool is_or = node->type == NODE_BINARY && node->as.binary.op == OPERATOR_OR;
    if (is_and || is_or) {
        if (is_or == jump_when) { /* either side alone decides the jump */
            compile_condition(c, node->as.binary.left, jump_when, jumps);
            compile_condition(c, node->as.binary.right, jump_when, jumps);
        } else {
            JumpList decided = {0};
            compile_condition(c, node->as.binary.left, !jump_when, &decided);
            compile_condition(c, node->as.binary.right, jump_when, jumps);
            compile_patch_all(c, &decided);
        }
        return;
    }
    int saved = c->next_reg;
    uint16_t reg = compile_operand(c, node);
    add_jump(jumps, compiler_emit_jump(c, jump_when ? OP_JUMP_IF_TRUE : OP_JUMP_IF_FALSE, reg, node->span));
    c->next_reg = saved;
}

static void compile_choice(Compiler *c, const Node *node, uint16_t target) {
    JumpList otherwise = {0};
    int mark = compile_new_mark(c, MARK_CONDITION, node->as.choice.condition->span, NULL);
    compile_mark(c, mark, MARK_BEGIN, 0);
    compile_condition(c, node->as.choice.condition, false, &otherwise);
    compile_mark(c, mark, MARK_HELD, 0);
    compile_expr(c, node->as.choice.then, target);
    compile_mark_taken(c, node, node->as.choice.then, target);
    int over = compiler_emit_jump(c, OP_JUMP, 0, node->span);
    compile_patch_all(c, &otherwise);
    compile_mark(c, mark, MARK_FAILED, 0);
    compile_expr(c, node->as.choice.otherwise, target);
    compile_mark_taken(c, node, node->as.choice.otherwise, target);
    compiler_patch(c, over);
}

/* ---- units ---- */

static bool unit_of(Compiler *c, const UnitExpr *expr, UnitId *unit) {
    Fault fault = {0};
    if (compile_unit(c->registry, c->module, expr, unit, &fault))
        return true;
    compiler_fault(c, &fault, expr->span);
    return false;
}

static void compile_attach(Compiler *c, const Node *node, uint16_t target) {
    const Node *operand = node->as.attach.operand;
    const UnitExpr *expr = node->as.attach.unit;
    Opcode op = node->type == NODE_AS ? OP_CONVERT : OP_ATTACH;
    UnitId unit;
    compile_expr(c, operand, target);
    if (unit_of(c, expr, &unit))
        compiler_emit_spans(c, (Instruction){.op = (uint8_t)op, .a = target, .d = (int32_t)unit},
                            (CodeSpan){.at = node->span, .left = operand->span, .right = expr->span});
}

static void compile_plus_minus(Compiler *c, const Node *node, uint16_t target) {
    int saved = c->next_reg;
    uint16_t value = compiler_new_reg(c), spread = compiler_new_reg(c);
    compile_expr(c, node->as.plus_minus.value, value);
    compile_expr(c, node->as.plus_minus.uncertainty, spread);
    UnitId unit;
    bool shared = node->as.plus_minus.unit != NULL;
    if (shared && unit_of(c, node->as.plus_minus.unit, &unit))
        compiler_emit(c, (Instruction){.op = OP_ATTACH, .a = value, .d = (int32_t)unit}, node->span);
    c->registry->has_sources = true;
    compiler_emit_spans(c,
                        (Instruction){.op = OP_PLUS_MINUS,
                                      .a = target,
                                      .b = value,
                                      .c = spread,
                                      .x = shared ? PLUS_MINUS_SAME_UNIT : PLUS_MINUS_DIFFERENCE},
                        (CodeSpan){.at = node->as.plus_minus.operator_span,
                                   .left = node->as.plus_minus.value->span,
                                   .right = node->as.plus_minus.uncertainty->span});
    compile_name_source(c, node);
    c->next_reg = saved;
}

/* ---- texts, lists, records ---- */

static void compile_text(Compiler *c, const Node *node, uint16_t target) {
    int count = node->as.text.count;
    const TextPart *parts = node->as.text.parts;
    if (count == 0 || (count == 1 && parts[0].literal)) {
        Value text = count ? compiler_text(c, parts[0].literal, parts[0].length) : compiler_text(c, "", 0);
        compiler_emit_constant(c, target, text, node->span);
        return;
    }
    int saved = c->next_reg;
    uint8_t said = node == c->said ? FORMAT_SAID : 0;
    uint16_t first = (uint16_t)c->next_reg;
    for (int i = 0; i < count; i++) {
        uint16_t reg = compiler_new_reg(c);
        if (parts[i].literal) {
            compiler_emit_constant(c, reg, compiler_text(c, parts[i].literal, parts[i].length), node->span);
            continue;
        }
        compile_expr(c, parts[i].expr, reg);
        compiler_emit(c,
                      (Instruction){.op = OP_FORMAT,
                                    .x = (uint8_t)(parts[i].format.mode | said),
                                    .a = reg,
                                    .b = reg,
                                    .c = (uint16_t)parts[i].format.count},
                      parts[i].expr->span);
    }
    compiler_emit(c, (Instruction){.op = OP_CONCAT, .a = target, .b = first, .c = (uint16_t)count},
                  node->span);
    c->next_reg = saved;
}

static void compile_list(Compiler *c, const Node *node, uint16_t target) {
    int saved = c->next_reg;
    if (node->as.list.count <= 32) { /* short: side by side in registers */
        uint16_t first = (uint16_t)c->next_reg;
        for (int i = 0; i < node->as.list.count; i++)
            compile_expr(c, node->as.list.items[i], compiler_new_reg(c));
        compiler_emit(
            c, (Instruction){.op = OP_LIST, .a = target, .b = first, .c = (uint16_t)node->as.list.count},
            node->span);
    } else {
        uint16_t item = compiler_new_reg(c);
        compiler_emit(c, (Instruction){.op = OP_LIST_BEGIN}, node->span);
        for (int i = 0; i < node->as.list.count; i++) {
            compile_expr(c, node->as.list.items[i], item);
            compiler_emit(c, (Instruction){.op = OP_LIST_APPEND, .a = item}, node->span);
        }
        compiler_emit(c, (Instruction){.op = OP_LIST_END, .a = target}, node->span);
    }
    c->next_reg = saved;
}

uint16_t compile_list_source(Compiler *c, const Node *list, bool entries) {
    uint16_t base = compiler_new_reg(c);
    int more = entries ? 4 : 2; /* position, item; and the two parts of an entry */
    for (int i = 0; i < more; i++)
        compiler_new_reg(c);
    compile_expr(c, list, base);
    if (entries)
        compiler_emit(c, (Instruction){.op = OP_ENTRIES, .a = base}, list->span);
    return base;
}

void compile_declare_turn(Compiler *c, const char *name, Span span, uint16_t reg) {
    compiler_declare_local(c, name, span, reg);
}

/* Appends the items to the list under way. */
static void compile_clause(Compiler *c, const Node *node) {
    bool entries = node->as.comprehension.second != NULL;
    uint16_t list = compile_list_source(c, node->as.comprehension.list, entries);
    compiler_open_body(c);
    c->binder = node->span;
    compile_declare_turn(c, node->as.comprehension.variable, node->as.comprehension.variable_span,
                         (uint16_t)(list + (entries ? 3 : 2)));
    if (entries)
        compile_declare_turn(c, node->as.comprehension.second, node->as.comprehension.second_span,
                             (uint16_t)(list + 4));
    c->binder = (Span){0, 0};
    int none = compiler_emit_jump(c, OP_FOR_IN, list, node->as.comprehension.list->span);
    int top = c->chunk->count;
    if (entries)
        compiler_emit(c, (Instruction){.op = OP_ENTRY, .a = list}, node->span);
    int mark = compile_new_mark(c, MARK_TURN, node->span, NULL);
    if (mark >= 0)
        c->chunk->marks[mark].whole = node->span;
    compile_mark(c, mark, MARK_BEGIN, list);
    JumpList left_out = {0};
    Span around = c->within;
    c->within = node->span;
    if (node->as.comprehension.condition)
        compile_condition(c, node->as.comprehension.condition, false, &left_out);
    if (node->as.comprehension.flat) {
        compile_clause(c, node->as.comprehension.body);
    } else {
        uint16_t item = compiler_new_reg(c);
        compile_expr(c, node->as.comprehension.body, item);
        compiler_emit(c, (Instruction){.op = OP_LIST_APPEND, .a = item}, node->span);
    }
    c->within = around;
    compile_patch_all(c, &left_out);
    compiler_jump_back(c, OP_FOR_IN_NEXT, list, top, node->span);
    compiler_patch(c, none);
    compile_mark(c, mark, MARK_DONE, list);
    compiler_close_body(c);
}

static void compile_comprehension(Compiler *c, const Node *node, uint16_t target) {
    int saved = c->next_reg;
    compiler_emit(c, (Instruction){.op = OP_LIST_BEGIN}, node->span);
    compile_clause(c, node);
    compiler_emit(c, (Instruction){.op = OP_LIST_END, .a = target}, node->span);
    c->next_reg = saved;
}

void compiler_emit_record(Compiler *c, ListObject *names, uint16_t first, uint16_t target, Span span) {
    int constant = chunk_add_constant(c->chunk, value_of_list(names));
    if (constant > CHUNK_CONSTANT_OPERAND_MAX)
        compiler_error(c, MSG_TOO_LARGE, span, NO_ARGS);
    compiler_emit(c, (Instruction){.op = OP_RECORD, .a = target, .b = first, .c = (uint16_t)constant}, span);
}

/* Some name is worked out: all of them go into a list of their own. */
static void compile_computed_names(Compiler *c, const FieldExpr *fields, int count, uint16_t names,
                                   Span span) {
    uint16_t first = (uint16_t)c->next_reg;
    for (int i = 0; i < count; i++) {
        uint16_t reg = compiler_new_reg(c);
        if (fields[i].computed)
            compile_expr(c, fields[i].computed, reg);
        else
            compiler_emit_constant(c, reg, compiler_text(c, fields[i].name, strlen(fields[i].name)),
                                   fields[i].name_span);
    }
    compiler_emit(c, (Instruction){.op = OP_LIST, .a = names, .b = first, .c = (uint16_t)count}, span);
}

static void compile_fields(Compiler *c, const FieldExpr *fields, int count, Span span, uint16_t target) {
    int saved = c->next_reg;
    bool computed = false;
    for (int i = 0; i < count; i++)
        computed = computed || fields[i].computed;
    uint16_t names = computed ? compiler_new_reg(c) : 0, first = (uint16_t)c->next_reg;
    ListObject *fixed = list_new(c->registry->heap, (uint32_t)count);
    for (int i = 0; i < count; i++) {
        if (!computed)
            fixed->items[i] = compiler_text(c, fields[i].name, strlen(fields[i].name));
        Around before = compile_around_field(c, fields[i].name);
        compile_expr(c, fields[i].value, compiler_new_reg(c));
        c->around = before;
    }
    if (computed) {
        compile_computed_names(c, fields, count, names, span);
        compiler_emit(c, (Instruction){.op = OP_RECORD_NAMED, .a = target, .b = first, .c = names}, span);
    } else {
        compiler_emit_record(c, fixed, first, target, span);
    }
    c->next_reg = saved;
}

static void compile_with(Compiler *c, const Node *node, uint16_t target) {
    int saved = c->next_reg;
    uint16_t operand = compile_operand(c, node->as.with.operand), changes = compiler_new_reg(c);
    compile_fields(c, node->as.with.fields, node->as.with.count, node->span, changes);
    compiler_emit_spans(c, (Instruction){.op = OP_WITH, .a = target, .b = operand, .c = changes},
                        (CodeSpan){.at = node->span, .left = node->as.with.operand->span});
    c->next_reg = saved;
}

static void compile_field(Compiler *c, const Node *node, uint16_t target) {
    int saved = c->next_reg;
    uint16_t object = compile_operand(c, node->as.field.object);
    Value name = compiler_text(c, node->as.field.name, strlen(node->as.field.name));
    CodeSpan spans = {.at = node->as.field.name_span, .left = node->as.field.object->span};
    int constant = chunk_add_constant(c->chunk, name);
    if (constant <= CHUNK_CONSTANT_OPERAND_MAX) {
        compiler_emit_spans(
            c, (Instruction){.op = OP_FIELD, .a = target, .b = object, .c = (uint16_t)constant}, spans);
    } else {
        uint16_t reg = compiler_new_reg(c);
        compiler_emit(c, (Instruction){.op = OP_CONSTANT, .a = reg, .d = constant}, node->span);
        compiler_emit_spans(c, (Instruction){.op = OP_INDEX, .a = target, .b = object, .c = reg}, spans);
    }
    compile_mark_read(c, node, NULL, -1, target);
    c->next_reg = saved;
}

static void compile_index(Compiler *c, const Node *node, uint16_t target) {
    int saved = c->next_reg;
    uint16_t object = compile_operand(c, node->as.index.object),
             index = compile_operand(c, node->as.index.index);
    compiler_emit_spans(c, (Instruction){.op = OP_INDEX, .a = target, .b = object, .c = index},
                        (CodeSpan){.at = node->as.index.index->span, .left = node->as.index.object->span});
    compile_mark_read(c, node, NULL, -1, target);
    c->next_reg = saved;
}

static void compile_near(Compiler *c, const Node *node, uint16_t target) {
    int saved = c->next_reg;
    uint16_t first = compiler_new_reg(c);
    compile_expr(c, node->as.near.value, first);
    compile_expr(c, node->as.near.target, compiler_new_reg(c));
    compile_expr(c, node->as.near.within, compiler_new_reg(c));
    compiler_emit_spans(
        c, (Instruction){.op = OP_NEAR, .a = target, .b = first},
        (CodeSpan){.at = node->span, .left = node->as.near.value->span, .right = node->as.near.target->span});
    c->next_reg = saved;
}

static void compile_record(Compiler *c, const Node *node, uint16_t target) {
    compile_fields(c, node->as.record.fields, node->as.record.count, node->span, target);
}

void compile_expr(Compiler *c, const Node *node, uint16_t target) {
    static void (*const compilers[])(Compiler * c, const Node *node, uint16_t target) = {
#define NODE(type, check, compile, ...) [NODE_##type] = compile,
#include "front/language.def"
    };
    Value constant;
    if (literal_value(c, node, &constant))
        compiler_emit_constant(c, target, constant, node->span);
    else if (compilers[node->type])
        compilers[node->type](c, node, target);
}

/* SPDX-FileCopyrightText: the Rundlet developers */
/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Calls: their errors, and their code. */
#include <string.h>

#include "base/mem.h"
#include "front/callee.h"
#include "front/compile_state.h"

typedef struct NearName {
    const char *wanted;
    const char *best;
    int distance;
} NearName;

static void consider(void *argument, const char *name) {
    NearName *near = argument;
    text_nearest(near->wanted, name, &near->best, &near->distance);
}

static void unknown_formula(Compiler *c, const Node *node) {
    const char *name = node->as.call.name;
    NearName near = {.wanted = name, .distance = 99};
    for (uint32_t i = 0; i < c->module->formulas.capacity; i++)
        if (c->module->formulas.entries[i].name)
            consider(&near, c->module->formulas.entries[i].name);
    c->host->each_formula(c->host->context, consider, &near);
    Diag *diag = compiler_error(c, MSG_UNKNOWN_FORMULA, node->as.call.name_span, ARGS(name));
    if (near.best)
        diag_hint(diag, HINT_MEANT_CALL, ARGS(arg_meant(name, near.best)));
}

/* NULL after an error. */
static const Formula *find_callee(Compiler *c, const Node *node, int *index) {
    const char *name = node->as.call.name, *qualifier = node->as.call.qualifier;
    switch (callee_find(c->registry, c->module, c->host, node, index)) {
    case CALLEE_FOUND:
        return c->registry->formulas[*index];
    case CALLEE_NO_ALIAS:
        compiler_error(c, MSG_FIELD_CALLED, node->span, ARGS(qualifier, name));
        break;
    case CALLEE_NOT_THERE:
        compiler_error(c, MSG_ALIAS_FORMULA, node->as.call.name_span, ARGS(qualifier, name));
        break;
    case CALLEE_UNKNOWN:
        unknown_formula(c, node);
        break;
    }
    return NULL;
}

/* ---- arguments to parameters ---- */

/* `labels`: the labels matter too, not only what the values look like. */
static void hint_example(Diag *diag, const Formula *callee, bool labels) {
    char *example = formula_example(callee);
    if (diag && example && labels)
        diag_hint(diag, HINT_CALLED_AS, ARGS(callee->usage, example));
    else if (diag && example)
        diag_hint(diag, HINT_EXAMPLE, ARGS(example));
    else if (diag)
        diag_hint(diag, HINT_CALLED_SO, ARGS(callee->usage));
    mem_free(example);
}

static void unknown_label(Compiler *c, const Node *node, const Formula *callee, const ArgumentExpr *arg) {
    const char *best = NULL;
    int distance = 99;
    for (int i = 0; i < callee->param_count && !callee->variadic; i++)
        text_nearest(arg->label, callee->params[i].label, &best, &distance);
    Diag *diag = compiler_error(c, MSG_UNKNOWN_LABEL, arg->label_span, ARGS(node->as.call.name, arg->label));
    if (best)
        diag_hint(diag, HINT_MEANT_LABEL, ARGS(arg_meant(arg->label, best), callee->usage));
    else
        hint_example(diag, callee, true);
}

/* Fills `bound` (by parameter, NULL: left out). False after an error. */
static bool bind_arguments(Compiler *c, const Node *node, const Formula *callee, const ArgumentExpr **bound) {
    const char *name = node->as.call.name;
    CalleeBinding binding = callee_bind(node, callee, bound);
    const ArgumentExpr *arg = binding.argument >= 0 ? &node->as.call.args[binding.argument] : NULL;
    switch (binding.state) {
    case BINDING_DONE:
        return true;
    case BINDING_NO_LABEL:
        unknown_label(c, node, callee, arg);
        return false;
    case BINDING_TOO_MANY:
        hint_example(compiler_error(c, MSG_TOO_MANY_ARGUMENTS, arg->value->span, ARGS(name, callee->usage)),
                     callee, true);
        return false;
    case BINDING_TWICE:
        compiler_error(c, MSG_ARGUMENT_TWICE, arg->label ? arg->label_span : arg->value->span,
                       ARGS(name, callee->params[binding.parameter].label));
        return false;
    case BINDING_MISSING:
        hint_example(compiler_error(c, MSG_MISSING_ARGUMENT, node->span,
                                    ARGS(name, callee->params[binding.parameter].label, callee->usage)),
                     callee, false);
        return false;
    }
    return false;
}

static void add_argument_span(Compiler *c, Span span) {
    Chunk *chunk = c->chunk;
    MEM_GROW(chunk->argument_spans, chunk->argument_span_count, chunk->argument_span_capacity);
    chunk->argument_spans[chunk->argument_span_count++] = span;
}

/* A formula in Rundlet works its defaults out itself. */
static Value default_of(const Formula *callee, int index) {
    int initial = callee->params[index].initial;
    return initial < 0 ? value_absent() : callee->chunk->constants[initial];
}

/* ---- formulas as arguments ---- */

static bool is_special(const Formula *callee) {
    return callee->native &&
           (strcmp(callee->name, "tolerance") == 0 || strcmp(callee->name, "correlated") == 0);
}

/* The formula that a bare name stands for where an argument is wanted; NULL when it is anything else. */
static const Formula *formula_named(const Compiler *c, const Node *node) {
    Node call = {.type = NODE_CALL, .span = node->span};
    int index;
    if (node->type == NODE_NAME) {
        call.as.call.name = node->as.name.name;
    } else if (node->type == NODE_FIELD && node->as.field.object->type == NODE_NAME) {
        call.as.call.qualifier = node->as.field.object->as.name.name;
        call.as.call.name = node->as.field.name;
    } else {
        return NULL;
    }
    if (node->bracketed ||
        compile_is_value(c, call.as.call.qualifier ? call.as.call.qualifier : call.as.call.name) ||
        callee_find(c->registry, c->module, c->host, &call, &index) != CALLEE_FOUND)
        return NULL;
    const Formula *formula = c->registry->formulas[index];
    return is_special(formula) ? NULL : formula;
}

/* A parameter that is known to want something else. */
static bool may_take_formula(const Formula *callee, int index) {
    const KindCheck *kind = formula_parameter_kind(callee, index);
    return !kind || (!kind->is_unit && (kind->kinds & KIND_SET(KIND_FORMULA)));
}

static bool takes_text(const Formula *callee, int index) {
    const KindCheck *kind = formula_parameter_kind(callee, index);
    return kind && !kind->is_unit && (kind->kinds & KIND_SET(KIND_TEXT));
}

/* A native takes no formula, but what it makes of each item of the list in its first argument: R[reg] becomes
 * that list when it holds a formula. */
static void compile_each(Compiler *c, uint16_t reg, int index, Span span) {
    int over = compiler_emit_jump(c, OP_UNLESS_FORMULA, reg, span);
    c->chunk->code[over].x = (uint8_t)index;
    int saved = c->next_reg;
    uint16_t list = compiler_new_reg(c), position = compiler_new_reg(c), item = compiler_new_reg(c),
             result = compiler_new_reg(c);
    (void)position;
    compiler_emit(c, (Instruction){.op = OP_MOVE, .a = list, .b = (uint16_t)(reg - index)}, span);
    compiler_emit(c, (Instruction){.op = OP_LIST_BEGIN}, span);
    int none = compiler_emit_jump(c, OP_FOR_IN, list, span);
    int top = c->chunk->count, first = c->chunk->argument_span_count;
    add_argument_span(c, span);
    compiler_emit(c, (Instruction){.op = OP_MOVE, .a = result, .b = item}, span);
    compiler_emit_spans(c, (Instruction){.op = OP_CALL_VALUE, .x = 1, .a = result, .b = reg, .c = 1},
                        (CodeSpan){.at = span, .left = {(uint32_t)first, 1}, .right = span});
    compiler_emit(c, (Instruction){.op = OP_LIST_APPEND, .a = result}, span);
    compiler_jump_back(c, OP_FOR_IN_NEXT, list, top, span);
    compiler_patch(c, none);
    compiler_emit(c, (Instruction){.op = OP_LIST_END, .a = reg}, span);
    compiler_patch(c, over);
    c->next_reg = saved;
}

/* The value of an argument; `label`: NULL without. */
static void compile_labelled(Compiler *c, const char *called, const char *label, const Node *value,
                             uint16_t reg) {
    Around before = compile_around_argument(c, called, label);
    compile_expr(c, value, reg);
    c->around = before;
}

/* Puts an argument, its default, or "left out" into its register. */
static void compile_argument(Compiler *c, const Node *node, const Formula *callee, int index,
                             const ArgumentExpr *arg) {
    uint16_t reg = compiler_new_reg(c);
    if (!arg) {
        compiler_emit_constant(c, reg, default_of(callee, index), node->span);
        return;
    }
    const Formula *named = may_take_formula(callee, index) ? formula_named(c, arg->value) : NULL;
    int errors = c->errors->count;
    if (named)
        compiler_emit_constant(c, reg, value_of_formula(named), arg->value->span);
    else
        compile_labelled(c, callee->name, callee->params[index].label, arg->value, reg);
    if (arg->value->type == NODE_NAME && takes_text(callee, index))
        compile_hint_quotes(c, arg->value, errors);
    const KindCheck *kind = callee->native ? formula_parameter_kind(callee, index) : NULL;
    bool each = kind && !kind->is_unit && (kind->kinds & KIND_SET(KIND_FORMULA));
    if (each && arg->value->type != NODE_TEXT && arg->value->type != NODE_LIST)
        compile_each(c, reg, index, arg->value->span);
}

/* Natives that are instructions of their own, since they deal in sources of uncertainty: whatever the formula
 * is called that stands for one. */
static bool is_native(const Compiler *c, const Formula *callee, const char *name) {
    return callee->native && callee->native == c->host->native(name);
}

/* tolerance(x, a) is not a call but a source of uncertainty: its instruction has its own form. */
static void emit_tolerance(Compiler *c, const Node *node, uint16_t base, const Span *spans) {
    c->registry->has_sources = true;
    compiler_emit_spans(
        c,
        (Instruction){
            .op = OP_PLUS_MINUS, .x = PLUS_MINUS_WITHIN, .a = base, .b = base, .c = (uint16_t)(base + 1)},
        (CodeSpan){.at = node->span, .left = spans[0], .right = spans[1]});
    compile_name_source(c, node);
}

/* Does only the library call it, and is its instruction OP_JUDGE? Then `how` says what it asks. */
static bool is_judge(const Compiler *c, const Formula *callee, Judge *how) {
    static const struct {
        const char *name;
        Judge how;
    } rows[] = {{"bad_end", JUDGE_BAD_END}, {"as_weighed", JUDGE_WEIGHED}};
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        *how = rows[i].how;
        if (is_native(c, callee, rows[i].name))
            return true;
    }
    return false;
}

static void emit_correlated(Compiler *c, const Node *node, uint16_t base, uint16_t opened,
                            const Span *spans) {
    c->registry->has_sources = true;
    compiler_emit_spans(c, (Instruction){.op = OP_CORRELATE, .a = base, .b = opened},
                        (CodeSpan){.at = node->span, .left = spans[0], .right = spans[1]});
}

static void emit_call(Compiler *c, const Node *node, int index, uint16_t base, int count, Span *spans) {
    int first = c->chunk->argument_span_count;
    for (int i = 0; i < count; i++)
        add_argument_span(c, spans[i]);
    CodeSpan places = {
        .at = node->span, .left = {(uint32_t)first, (uint32_t)count}, .right = node->as.call.name_span};
    compiler_emit_spans(c,
                        (Instruction){.op = c->registry->formulas[index]->native ? OP_CALL_NATIVE : OP_CALL,
                                      .x = (uint8_t)count,
                                      .a = base,
                                      .d = index},
                        places);
}

static void compile_variadic(Compiler *c, const Node *node, int index, uint16_t base) {
    const Formula *callee = c->registry->formulas[index];
    Span spans[CALL_ARGUMENTS_MAX];
    if (node->as.call.count == 0) {
        hint_example(compiler_error(c, MSG_MISSING_ARGUMENT, node->span,
                                    ARGS(node->as.call.name, callee->params[0].label, callee->usage)),
                     callee, false);
        return;
    }
    for (int i = 0; i < node->as.call.count; i++) {
        const ArgumentExpr *arg = &node->as.call.args[i];
        if (arg->label) {
            unknown_label(c, node, callee, arg);
            return;
        }
        compile_labelled(c, callee->name, NULL, arg->value, compiler_new_reg(c));
        spans[i] = arg->value->span;
    }
    emit_call(c, node, index, base, node->as.call.count, spans);
}

static void compile_bound(Compiler *c, const Node *node, int index, uint16_t base, int mark) {
    const Formula *callee = c->registry->formulas[index];
    const ArgumentExpr *bound[CALL_ARGUMENTS_MAX] = {NULL};
    Span spans[CALL_ARGUMENTS_MAX];
    if (callee->param_count > CALL_ARGUMENTS_MAX)
        return; /* reported where it is declared */
    if (!bind_arguments(c, node, callee, bound))
        return;
    for (int i = 0; i < callee->param_count && i < 64 && mark >= 0; i++)
        c->chunk->marks[mark].left_out |= (uint64_t)!bound[i] << i;
    uint16_t opened = (uint16_t)(base - 1); /* reserved by compile_call */
    if (is_native(c, callee, "correlated"))
        compiler_emit(c, (Instruction){.op = OP_SOURCES_OPEN, .a = opened}, node->span);
    for (int i = 0; i < callee->param_count; i++) {
        compile_argument(c, node, callee, i, bound[i]);
        spans[i] = bound[i] ? bound[i]->value->span : node->span;
    }
    Judge how;
    if (is_judge(c, callee, &how))
        compiler_emit(c, (Instruction){.op = OP_JUDGE, .x = (uint8_t)how, .a = base}, node->span);
    else if (is_native(c, callee, "correlated"))
        emit_correlated(c, node, base, opened, spans);
    else if (is_native(c, callee, "tolerance"))
        emit_tolerance(c, node, base, spans);
    else
        emit_call(c, node, index, base, callee->param_count, spans);
}

/* `f(x)` where f is a value: what it holds is known when the script runs. */
static void compile_value_call(Compiler *c, const Node *node, uint16_t target) {
    int saved = c->next_reg;
    Node name = {.type = NODE_NAME, .span = node->as.call.name_span};
    name.as.name.name = node->as.call.name;
    uint16_t callee = compile_operand(c, &name), base = (uint16_t)c->next_reg;
    Span spans[CALL_ARGUMENTS_MAX];
    if (node->as.call.count == 0)
        compiler_new_reg(c);
    for (int i = 0; i < node->as.call.count; i++) {
        const ArgumentExpr *arg = &node->as.call.args[i];
        const Formula *named = formula_named(c, arg->value);
        uint16_t reg = compiler_new_reg(c);
        spans[i] = arg->value->span;
        if (arg->label)
            compiler_error(c, MSG_VALUE_LABEL, arg->label_span, ARGS(node->as.call.name));
        if (named)
            compiler_emit_constant(c, reg, value_of_formula(named), arg->value->span);
        else
            compile_labelled(c, node->as.call.name, NULL, arg->value, reg);
    }
    int first = c->chunk->argument_span_count;
    for (int i = 0; i < node->as.call.count; i++)
        add_argument_span(c, spans[i]);
    CodeSpan places = {.at = node->span,
                       .left = {(uint32_t)first, (uint32_t)node->as.call.count},
                       .right = node->as.call.name_span};
    compiler_emit_spans(
        c, (Instruction){.op = OP_CALL_VALUE, .x = (uint8_t)node->as.call.count, .a = base, .b = callee},
        places);
    if (base != target)
        compiler_emit(c, (Instruction){.op = OP_MOVE, .a = target, .b = base}, node->span);
    c->next_reg = saved;
}

void compile_call(Compiler *c, const Node *node, uint16_t target) {
    int index = -1;
    int saved = c->next_reg;
    if (node->as.call.count > CALL_ARGUMENTS_MAX) {
        compiler_error(c, MSG_CALL_TOO_LONG, node->span, ARGS(node->as.call.name));
        return;
    }
    if (!node->as.call.qualifier && compile_is_value(c, node->as.call.name) &&
        callee_find(c->registry, c->module, c->host, node, &index) == CALLEE_UNKNOWN) {
        compile_value_call(c, node, target);
        return;
    }
    const Formula *callee = find_callee(c, node, &index);
    if (!callee) {
        uint16_t spare = compiler_new_reg(c); /* names inside the arguments are still looked at */
        for (int i = 0; i < node->as.call.count; i++)
            compile_expr(c, node->as.call.args[i].value, spare);
        c->next_reg = saved;
        return;
    }
    if (is_native(c, callee, "correlated"))
        compiler_new_reg(c); /* for the number of its first source, below the arguments */
    uint16_t base = (uint16_t)c->next_reg;
    int mark = compile_new_mark(c, MARK_CALL, node->span, callee->name);
    if (mark >= 0)
        c->chunk->marks[mark].number = index;
    compile_mark(c, mark, MARK_BEGIN, base);
    if (callee->variadic)
        compile_variadic(c, node, index, base);
    else
        compile_bound(c, node, index, base, mark);
    compile_mark(c, mark, MARK_DONE, base);
    c->next_reg = saved;
    if (callee->param_count == 0)
        compiler_new_reg(c), c->next_reg = saved; /* the result needs its register even without arguments */
    if (base != target)
        compiler_emit(c, (Instruction){.op = OP_MOVE, .a = target, .b = base}, node->span);
}

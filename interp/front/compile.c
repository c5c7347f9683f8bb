/* SPDX-FileCopyrightText: the Rundlet developers */
/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The compiler's frame: registers, scopes, jumps, formulas, and a whole script. */
#include "front/compile.h"

#include <string.h>

#include "base/mem.h"
#include "front/compile_state.h"

/* ---- errors ---- */

Diag *compiler_error(Compiler *c, MessageId id, Span span, MessageArg *args) {
    return diag_add(c->errors, id, c->source, span, args);
}

void compiler_fault(Compiler *c, Fault *fault, Span span) {
    diag_list_push(c->errors, diag_from_fault(fault, c->source, span));
}

/* ---- code ---- */

uint16_t compiler_new_reg(Compiler *c) {
    if (c->next_reg >= CHUNK_REGISTERS_MAX) {
        if (c->next_reg == CHUNK_REGISTERS_MAX) {
            const Chunk *chunk = c->chunk;
            compiler_error(c, MSG_TOO_LARGE, chunk->count ? chunk->spans[chunk->count - 1].at : (Span){0, 0},
                           NO_ARGS);
        }
        c->next_reg = CHUNK_REGISTERS_MAX;
        return (uint16_t)c->next_reg++;
    }
    int reg = c->next_reg++;
    if (c->next_reg + 1 > c->chunk->registers)
        c->chunk->registers = c->next_reg + 1;
    return (uint16_t)reg;
}

int compiler_emit_spans(Compiler *c, Instruction instruction, CodeSpan spans) {
    return chunk_emit(c->chunk, instruction, spans);
}

int compiler_emit(Compiler *c, Instruction instruction, Span at) {
    return chunk_emit(c->chunk, instruction, (CodeSpan){.at = at});
}

void compiler_emit_constant(Compiler *c, uint16_t target, Value value, Span at) {
    compiler_emit(c, (Instruction){.op = OP_CONSTANT, .a = target, .d = chunk_add_constant(c->chunk, value)},
                  at);
}

int compiler_emit_jump(Compiler *c, Opcode op, uint16_t reg, Span at) {
    return compiler_emit(c, (Instruction){.op = (uint8_t)op, .a = reg}, at);
}

void compiler_patch(Compiler *c, int jump) {
    c->chunk->code[jump].d = c->chunk->count - jump - 1;
}

void compiler_jump_back(Compiler *c, Opcode op, uint16_t reg, int target, Span at) {
    int jump = compiler_emit_jump(c, op, reg, at);
    c->chunk->code[jump].d = target - jump - 1;
    int beside = op == OP_FOR_STEP_NEXT ? 3 : op == OP_FOR_IN_NEXT ? 1 : 0;
    MEM_GROW(c->chunk->loops, c->chunk->loop_count, c->chunk->loop_capacity);
    c->chunk->loops[c->chunk->loop_count++] =
        (LoopRange){.top = target, .end = jump, .counter = (uint16_t)(reg + beside)};
}

Value compiler_text(Compiler *c, const char *bytes, size_t length) {
    return value_of_text(text_object_intern(c->registry->heap, bytes, length));
}

/* ---- names ---- */

/* Names are looked through one by one: so many are enough for anyone's formula. */
enum { LOCALS_MOST = 10000 };

const Local *compiler_find_local(const Compiler *c, const char *name) {
    if (c->local_count > LOCALS_MOST)
        return &c->locals[c->local_count - 1]; /* the code is thrown away: any will do */
    for (int i = c->local_count - 1; i >= 0; i--)
        if (strcmp(c->locals[i].name, name) == 0)
            return &c->locals[i];
    return NULL;
}

void compiler_declare_local(Compiler *c, const char *name, Span span, uint16_t reg) {
    if (c->local_count == LOCALS_MOST)
        compiler_error(c, MSG_TOO_LARGE, span, NO_ARGS);
    bool few = c->local_count < LOCALS_MOST;
    for (int i = c->local_count - 1; few && i >= 0 && c->locals[i].depth == c->depth; i--) {
        if (strcmp(c->locals[i].name, name) == 0) {
            compiler_error(c, MSG_DECLARED_TWICE, span, ARGS(name));
            return;
        }
    }
    MEM_GROW(c->locals, c->local_count, c->local_capacity);
    c->locals[c->local_count++] = (Local){.name = name, .reg = reg, .depth = c->depth, .binder = c->binder};
}

void compiler_open_body(Compiler *c) {
    c->depth++;
}

void compiler_close_body(Compiler *c) {
    c->depth--;
    while (c->local_count && c->locals[c->local_count - 1].depth > c->depth)
        c->local_count--;
}

void compile_store_new(Compiler *c, const char *name, Span span, uint16_t reg, GlobalKind kind) {
    if (c->depth > 0 || c->formula) {
        compiler_declare_local(c, name, span, reg);
        return;
    }
    int slot;
    bool known = name_map_get(&c->module->globals, name, &slot);
    if (!known)
        slot = registry_add_global(c->registry, c->module, name, kind, span);
    Global *global = &c->registry->globals[slot];
    if (global->declared && !global->earlier && (kind == GLOBAL_INPUT || global->kind == GLOBAL_INPUT)) {
        compiler_error(c, MSG_INPUT_TWICE, span, ARGS(name));
        return;
    }
    global->declared = true;
    global->earlier = false;
    global->kind = kind;
    global->span = span;
    compiler_emit(c, (Instruction){.op = OP_SET_GLOBAL, .a = reg, .d = slot}, span);
}

/* ---- kinds ---- */

static KindSet kinds_of_word(const char *word) {
    Kind kind = KIND_NONE; /* the word `none`, too */
    KindSet group = kind_group(word);
    if (!group)
        kind_find(word, &kind);
    return group ? group : KIND_SET(kind);
}

static int add_kind_check(Compiler *c, const KindExpr *kind, const char *formula, const char *argument) {
    KindCheck check = {0};
    Fault fault = {0};
    Text written = {0};
    text_add(&written, c->source->text + kind->span.start, kind->span.end - kind->span.start);
    if (!kind->word) {
        check.is_unit = true;
        if (!compile_unit(c->registry, c->module, kind->unit, &check.unit, &fault))
            compiler_fault(c, &fault, kind->span);
    }
    for (const KindExpr *each = kind; each && !check.is_unit; each = each->next)
        check.kinds |= kinds_of_word(each->word);
    check.word = text_take(&written);
    check.formula = mem_copy_string(formula);
    check.argument = argument ? mem_copy_string(argument) : NULL;
    MEM_GROW(c->chunk->kinds, c->chunk->kind_count, c->chunk->kind_capacity);
    c->chunk->kinds[c->chunk->kind_count] = check;
    return c->chunk->kind_count++;
}

/* ---- formulas ---- */

void compiler_emit_give(Compiler *c, uint16_t reg, Span at) {
    if (c->result_check >= 0)
        compiler_emit(c, (Instruction){.op = OP_CHECK_KIND, .x = 1, .a = reg, .d = c->result_check}, at);
    compiler_emit(c, (Instruction){.op = OP_GIVE, .a = reg}, at);
}

static void add_source(Text *out, const Source *source, Span span) {
    text_add(out, source->text + span.start, span.end - span.start);
}

/* Of a native: a parameter whose default is `none` is nothing to it when it is left out. */
static bool may_be_absent(const Parameter *param) {
    return param->initial && param->initial->type == NODE_NONE;
}

static char *usage_of(const Source *source, const FormulaTree *tree) {
    Text usage = {0};
    text_add_string(&usage, tree->name);
    text_add_char(&usage, '(');
    for (int i = 0; i < tree->param_count; i++) {
        if (i)
            text_add_string(&usage, ", ");
        text_add_string(&usage, tree->params[i].label);
        if (tree->variadic) {
            text_add_string(&usage, "...");
        } else if (tree->native && may_be_absent(&tree->params[i])) {
            text_add_char(&usage, '?');
        } else if (tree->params[i].initial) {
            text_add_string(&usage, ": ");
            add_source(&usage, source, tree->params[i].initial->span);
        }
    }
    text_add_char(&usage, ')');
    return text_take(&usage);
}

/* ---- formulas in C ---- */

static int find_parameter(const FormulaTree *tree, const char *name) {
    for (int i = 0; name && i < tree->param_count; i++)
        if (strcmp(tree->params[i].name, name) == 0)
            return i;
    return -1;
}

static void take_result_rule(Compiler *c, Formula *formula, const FormulaTree *tree) {
    const char *rule = tree->result_rule;
    formula->result = (FormulaResult){.rule = *rule == 'r'                ? RESULT_ROOT
                                              : strcmp(rule, "list") == 0 ? RESULT_LIST
                                                                          : RESULT_LIKE,
                                      .kind = -1,
                                      .first = find_parameter(tree, tree->result_of[0]),
                                      .second = find_parameter(tree, tree->result_of[1])};
    if (formula->result.first < 0 || (tree->result_of[1] && formula->result.second < 0))
        compiler_error(c, MSG_UNKNOWN_VALUE, tree->name_span, ARGS(tree->result_of[0]));
}

/* Whole at once: a call needs its kinds and defaults. */
static void take_native(Compiler *outer, Formula *formula, const FormulaTree *tree) {
    Compiler c = *outer;
    c.chunk = formula->chunk = chunk_new(tree->name, outer->source);
    c.chunk->library = true;
    for (int i = 0; i < tree->param_count; i++) {
        const Parameter *param = &tree->params[i];
        Fault fault = {0};
        Value initial;
        if (param->kind)
            formula->params[i].kind = add_kind_check(&c, param->kind, tree->name, param->label);
        if (param->initial && !may_be_absent(param) &&
            compile_constant(c.registry, c.module, param->initial, &initial, &fault))
            formula->params[i].initial = chunk_add_constant(c.chunk, initial);
        fault_clear(&fault);
    }
    if (tree->result)
        formula->result.kind = add_kind_check(&c, tree->result, tree->name, NULL);
    else if (tree->result_rule)
        take_result_rule(&c, formula, tree);
    formula->variadic = tree->variadic;
    formula->native = c.host->native(tree->native);
    if (!formula->native)
        compiler_error(&c, MSG_UNKNOWN_FORMULA, tree->native_span, ARGS(tree->native));
}

/* ---- formulas ---- */

/* Makes a formula known by name, before any code is written, so that formulas may be anywhere in the file.
 */
static void announce_formula(Compiler *c, const Statement *statement) {
    const FormulaTree *tree = &statement->as.formula;
    int existing;
    bool known_name = name_map_get(&c->module->formulas, tree->name, &existing);
    if (known_name && !(c->options.prompt && existing < c->options.earlier_formulas)) {
        const Formula *known = c->registry->formulas[existing];
        bool same = known->module == c->module && known->span.start == statement->span.start;
        if (!same) /* one of the library may be read by itself before its file is */
            compiler_error(c, MSG_FORMULA_TWICE, tree->name_span, ARGS(tree->name));
        return;
    }
    Formula *formula = mem_alloc(sizeof *formula);
    formula->name = mem_copy_string(tree->name);
    formula->usage = usage_of(c->source, tree);
    formula->doc = mem_copy_string(statement->doc);
    formula->module = c->module;
    formula->span = statement->span;
    formula->param_count = tree->param_count;
    formula->params = mem_array((size_t)tree->param_count + 1, sizeof *formula->params);
    for (int i = 0; i < tree->param_count; i++) {
        formula->params[i].label = mem_copy_string(tree->params[i].label);
        formula->params[i].name = mem_copy_string(tree->params[i].name);
        formula->params[i].optional = tree->params[i].initial != NULL;
        formula->params[i].kind = formula->params[i].initial = -1;
    }
    formula->result = (FormulaResult){.rule = RESULT_KIND, .kind = -1};
    if (tree->native)
        take_native(c, formula, tree);
    name_map_set(&c->module->formulas, tree->name, registry_add_formula(c->registry, formula));
}

static void check_parameter_count(Compiler *c, const FormulaTree *tree) {
    if (tree->param_count <= CALL_ARGUMENTS_MAX)
        return;
    Text most = {0};
    text_add_integer(&most, CALL_ARGUMENTS_MAX);
    compiler_error(c, MSG_PARAMETERS_MANY, tree->name_span, ARGS(tree->name, text_string(&most)));
    text_free(&most);
}

static void compile_parameters(Compiler *c, Formula *formula, const FormulaTree *tree) {
    check_parameter_count(c, tree);
    for (int i = 0; i < tree->param_count; i++)
        compiler_new_reg(c);
    for (int i = 0; i < tree->param_count; i++) {
        const Parameter *param = &tree->params[i];
        if (param->initial) {
            int given = compiler_emit_jump(c, OP_DEFAULT, (uint16_t)i, param->span);
            Around before = compile_around_field(c, param->label);
            compile_expr(c, param->initial, (uint16_t)i);
            c->around = before;
            compiler_patch(c, given);
        }
        if (param->kind) {
            int check = add_kind_check(c, param->kind, tree->name, param->label);
            formula->params[i].kind = check;
            compiler_emit(c, (Instruction){.op = OP_CHECK_KIND, .a = (uint16_t)i, .d = check}, param->span);
        }
        compiler_declare_local(c, param->name, param->span, (uint16_t)i);
        for (int j = 0; j < i && tree->param_count <= CALL_ARGUMENTS_MAX; j++)
            if (strcmp(tree->params[j].label, param->label) == 0 &&
                strcmp(tree->params[j].name, param->name) != 0)
                compiler_error(c, MSG_LABEL_TWICE, param->span, ARGS(param->label));
    }
}

static bool is_typed(const Compiler *c) {
    return c->options.prompt && !c->source->path;
}

static void compile_formula(Compiler *outer, const Statement *statement) {
    const FormulaTree *tree = &statement->as.formula;
    int index;
    if (!name_map_get(&outer->module->formulas, tree->name, &index))
        return;
    Formula *formula = outer->registry->formulas[index];
    if (formula->module != outer->module || formula->span.start != statement->span.start || formula->chunk)
        return; /* the second of one name, reported already */
    Compiler c = *outer;
    c.chunk = chunk_new(tree->name, outer->source);
    c.chunk->module = outer->module;
    c.chunk->library = outer->module->library;
    c.chunk->typed = is_typed(outer);
    c.formula = formula;
    c.locals = NULL;
    c.local_count = c.local_capacity = 0;
    c.depth = 0;
    c.next_reg = 0;
    c.chunk->registers = 1;
    c.loop = NULL;
    c.table_columns = -1;
    c.inside = c.turn_mark = -1;
    formula->chunk = c.chunk;
    compile_parameters(&c, formula, tree);
    c.result_check = tree->result ? add_kind_check(&c, tree->result, tree->name, NULL) : -1;
    formula->result.kind = c.result_check;
    if (tree->expr) {
        uint16_t result = compiler_new_reg(&c);
        int mark = compile_new_mark(&c, MARK_GIVE, tree->expr->span, NULL);
        compile_mark(&c, mark, MARK_BEGIN, result);
        compile_expr(&c, tree->expr, result);
        compile_mark(&c, mark, MARK_DONE, result);
        compiler_emit_give(&c, result, tree->expr->span);
    } else {
        compile_block(&c, &tree->block);
        compiler_emit(&c, (Instruction){.op = OP_NO_GIVE}, tree->name_span);
    }
    mem_free(c.locals);
}

/* ---- scripts ---- */

/* Values that any statement of the file declares at its top level: formulas may read them wherever they
 * stand. */
static void announce_globals(Compiler *c, const Block *block) {
    for (int i = 0; i < block->count; i++) {
        const Statement *s = block->items[i];
        int slot;
        if ((s->type == STATEMENT_LET || s->type == STATEMENT_INPUT)) {
            const char *name = s->type == STATEMENT_LET ? s->as.let.name : s->as.input.name;
            Span span = s->type == STATEMENT_LET ? s->as.let.name_span : s->as.input.name_span;
            if (!name_map_get(&c->module->globals, name, &slot))
                registry_add_global(c->registry, c->module, name,
                                    s->type == STATEMENT_INPUT ? GLOBAL_INPUT : GLOBAL_LET, span);
        } else if (s->type == STATEMENT_FIND) {
            for (int u = 0; u < s->as.find.unknown_count; u++)
                if (!name_map_get(&c->module->globals, s->as.find.unknowns[u].name, &slot))
                    registry_add_global(c->registry, c->module, s->as.find.unknowns[u].name, GLOBAL_LET,
                                        s->as.find.unknowns[u].name_span);
        }
    }
}

static int last_input(const Block *block) {
    int last = -1;
    for (int i = 0; i < block->count; i++)
        if (block->items[i]->type == STATEMENT_INPUT)
            last = i;
    return last;
}

/* The statements that run: a file of the library has none, and is compiled piece by piece. */
static void compile_main(Compiler *c, const Block *block) {
    Module *module = c->module;
    c->chunk = chunk_new(NULL, module->source);
    c->chunk->module = module;
    c->chunk->typed = is_typed(c);
    c->chunk->registers = 1;
    chunk_free(module->main);
    module->main = c->chunk;
    announce_globals(c, block);
    int count = c->options.inputs_only ? last_input(block) + 1 : block->count;
    for (int i = 0; i < count; i++)
        compile_statement(c, block->items[i]);
    compiler_emit(c, (Instruction){.op = OP_END},
                  (Span){(uint32_t)module->source->length, (uint32_t)module->source->length});
}

bool compile_program(Registry *registry, Module *module, const Program *program, const CompileHost *host,
                     CompileOptions options, DiagList *errors) {
    int errors_before = errors->count;
    const Block *block = &program->block;
    Compiler c = {.registry = registry,
                  .module = module,
                  .host = host,
                  .options = options,
                  .errors = errors,
                  .source = module->source,
                  .table_columns = -1,
                  .inside = -1,
                  .turn_mark = -1,
                  .result_check = -1};
    for (int i = 0; i < block->count; i++)
        if (block->items[i]->type == STATEMENT_FORMULA)
            announce_formula(&c, block->items[i]);
    if (!module->library)
        compile_main(&c, block);
    for (int i = 0; i < block->count; i++)
        if (block->items[i]->type == STATEMENT_FORMULA)
            compile_formula(&c, block->items[i]);
    mem_free(c.locals);
    return errors->count == errors_before;
}

/* SPDX-FileCopyrightText: the Rundlet developers */
/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Statements to code. */
#include <string.h>

#include "base/mem.h"
#include "front/compile_state.h"
#include "front/word.h"
#include "values/report.h"

void compile_block(Compiler *c, const Block *block) {
    compiler_open_body(c);
    for (int i = 0; i < block->count; i++)
        compile_statement(c, block->items[i]);
    compiler_close_body(c);
}

/* A body whose registers are free again afterwards. */
static void compile_body(Compiler *c, const Block *block) {
    int saved = c->next_reg;
    compile_block(c, block);
    c->next_reg = saved;
}

static bool at_top(const Compiler *c) {
    return c->depth == 0 && !c->formula;
}

/* ---- values ---- */

static void compile_let(Compiler *c, const Statement *s) {
    int saved = c->next_reg;
    uint16_t reg = compiler_new_reg(c);
    int mark = compile_new_mark(c, MARK_LET, s->as.let.value->span, s->as.let.name);
    compile_mark(c, mark, MARK_BEGIN, reg);
    Around before = compile_around(c, s->as.let.name, s->as.let.value);
    compile_expr(c, s->as.let.value, reg);
    c->around = before;
    compile_store_new(c, s->as.let.name, s->as.let.name_span, reg, GLOBAL_LET);
    compile_mark_defined(c, mark, reg);
    if (at_top(c))
        c->next_reg = saved; /* a local keeps its register until its body ends */
}

/* Does `name = node` keep the kind of name by its very form: name × number, name ± literal amount, …? Then
 * the last operation may write straight into the name's register. */
static bool keeps_kind_by_form(const Compiler *c, const Node *node, const char *name) {
    Value constant;
    Fault fault = {0};
    if (node->type == NODE_NAME)
        return strcmp(node->as.name.name, name) == 0;
    if (node->type != NODE_BINARY || !keeps_kind_by_form(c, node->as.binary.left, name))
        return false;
    bool literal = compile_constant(c->registry, c->module, node->as.binary.right, &constant, &fault);
    fault_clear(&fault);
    if (!literal || constant.tag != TAG_AMOUNT)
        return false;
    switch (node->as.binary.op) {
    case OPERATOR_ADD:
    case OPERATOR_SUBTRACT:
        return true; /* an amount or a reading moved by an amount stays what it is */
    case OPERATOR_MULTIPLY:
    case OPERATOR_DIVIDE:
        return constant.unit == UNIT_NUMBER;
    default:
        return false;
    }
}

static void compile_assign_local(Compiler *c, const Statement *s, const Local *local) {
    int saved = c->next_reg;
    const Node *value = s->as.let.value;
    uint16_t reg = local->reg;
    if (c->formula && reg < c->formula->param_count) /* the first registers are the parameters */
        c->formula->params[reg].assigned = true;
    int mark = compile_new_mark(c, MARK_ASSIGN, value->span, s->as.let.name);
    if (mark >= 0)
        c->chunk->marks[mark].declared = local->depth;
    compile_mark(c, mark, MARK_BEGIN, reg);
    Around before = compile_around(c, s->as.let.name, NULL);
    if (value->type == NODE_BINARY && keeps_kind_by_form(c, value, s->as.let.name)) {
        compile_expr(c, value, reg);
    } else {
        uint16_t temporary = compiler_new_reg(c);
        compile_expr(c, value, temporary);
        compiler_emit_spans(c, (Instruction){.op = OP_ASSIGN, .a = reg, .b = temporary},
                            (CodeSpan){.at = s->span, .left = s->as.let.name_span, .right = value->span});
    }
    c->around = before;
    compile_mark_defined(c, mark, reg);
    c->next_reg = saved;
}

static void compile_assign(Compiler *c, const Statement *s) {
    const char *name = s->as.let.name;
    const Local *local = compiler_find_local(c, name);
    int slot;
    if (local) {
        compile_assign_local(c, s, local);
        return;
    }
    if (!name_map_get(&c->module->globals, name, &slot)) {
        compile_unknown_assigned(c, name, s->as.let.name_span);
        return;
    }
    Global *global = &c->registry->globals[slot];
    if (c->formula) {
        compiler_error(c, MSG_FORMULA_CHANGES, s->as.let.name_span, ARGS(name));
        return;
    }
    if (global->kind == GLOBAL_INPUT) {
        compiler_error(c, MSG_INPUT_CHANGED, s->as.let.name_span, ARGS(name));
        return;
    }
    if (!global->declared)
        compiler_error(c, MSG_USED_BEFORE, s->as.let.name_span, ARGS(name));
    int saved = c->next_reg;
    uint16_t reg = compiler_new_reg(c);
    int mark = compile_new_mark(c, MARK_ASSIGN, s->as.let.value->span, name);
    compile_mark(c, mark, MARK_BEGIN, reg);
    Around before = compile_around(c, name, NULL);
    compile_expr(c, s->as.let.value, reg);
    c->around = before;
    compiler_emit_spans(
        c, (Instruction){.op = OP_ASSIGN_GLOBAL, .a = reg, .d = slot},
        (CodeSpan){.at = s->span, .left = s->as.let.name_span, .right = s->as.let.value->span});
    compile_mark_defined(c, mark, reg);
    c->next_reg = saved;
}

static void compile_input(Compiler *c, const Statement *s) {
    int saved = c->next_reg;
    uint16_t base = compiler_new_reg(c), from = compiler_new_reg(c), to = compiler_new_reg(c);
    const Node *value = s->as.input.value;
    bool reported = compile_report_bare_choices(c, s);
    Around before = compile_around(c, s->as.input.name, value);
    if (value && !reported) {
        compile_expr(c, value, base);
    } else {
        compiler_emit_constant(c, base, value_absent(), s->span);
    }
    if (s->as.input.from && !reported)
        compile_expr(c, s->as.input.from, from);
    if (s->as.input.to)
        compile_expr(c, s->as.input.to, to);
    c->around = before;
    MEM_GROW(c->chunk->inputs, c->chunk->input_count, c->chunk->input_capacity);
    c->chunk->inputs[c->chunk->input_count] = (InputPlan){.name = mem_copy_string(s->as.input.name),
                                                          .doc = mem_copy_string(s->doc),
                                                          .ranged = s->as.input.to != NULL,
                                                          .chosen = s->as.input.from && !s->as.input.to,
                                                          .name_span = s->as.input.name_span};
    compiler_emit_spans(
        c, (Instruction){.op = OP_INPUT, .a = base, .d = c->chunk->input_count++},
        (CodeSpan){.at = s->as.input.name_span, .left = (value ? value : s->as.input.from)->span});
    compile_store_new(c, s->as.input.name, s->as.input.name_span, base, GLOBAL_INPUT);
    int mark = compile_new_mark(c, MARK_INPUT, (value ? value : s->as.input.from)->span, s->as.input.name);
    compile_mark_defined(c, mark, base);
    c->next_reg = saved;
}

/* ---- what is handed out ---- */

/* The instruction just emitted hands out what the code from `start` on made. */
static void note_handout(Compiler *c, int start) {
    MEM_GROW(c->chunk->handouts, c->chunk->handout_count, c->chunk->handout_capacity);
    c->chunk->handouts[c->chunk->handout_count++] = (Handout){.start = start, .at = c->chunk->count - 1};
}

static void compile_show_item(Compiler *c, const ShowItem *item) {
    int saved = c->next_reg, start = c->chunk->count;
    uint16_t value = compiler_new_reg(c), label = compiler_new_reg(c);
    bool fixed = !item->label || item->label->as.text.count == 0 ||
                 (item->label->as.text.count == 1 && item->label->as.text.parts[0].literal);
    const char *text = !item->label                      ? item->source_label
                       : item->label->as.text.count == 0 ? ""
                       : fixed                           ? item->label->as.text.parts[0].literal
                                                         : NULL;
    int mark = compile_new_mark(c, MARK_SHOW, item->expr->span, text);
    if (mark >= 0)
        c->chunk->marks[mark].format = item->format;
    compile_mark(c, mark, MARK_BEGIN, value);
    Around before = compile_around(c, item->label ? text : NULL, NULL);
    compile_expr(c, item->expr, value);
    c->around = before;
    compile_mark(c, mark, MARK_DONE, value);
    c->said = item->label;
    if (!fixed)
        compile_expr(c, item->label, label);
    MEM_GROW(c->chunk->shows, c->chunk->show_count, c->chunk->show_capacity);
    c->chunk->shows[c->chunk->show_count] =
        (ShowPlan){.label = mem_copy_string(text), .label_in_register = !fixed, .format = item->format};
    compiler_emit(c, (Instruction){.op = OP_SHOW, .a = value, .d = c->chunk->show_count++}, item->expr->span);
    note_handout(c, start);
    c->next_reg = saved;
}

static void compile_show(Compiler *c, const Statement *s) {
    for (int i = 0; i < s->as.show.count; i++)
        compile_show_item(c, &s->as.show.items[i]);
}

static void compile_say(Compiler *c, const Statement *s) {
    static const ItemType items[] = {[STATEMENT_PRINT] = ITEM_PRINT,
                                     [STATEMENT_HEADING] = ITEM_HEADING,
                                     [STATEMENT_NOTE] = ITEM_NOTE,
                                     [STATEMENT_CAUTION] = ITEM_CAUTION};
    int saved = c->next_reg, start = c->chunk->count;
    c->said = s->as.simple.expr;
    uint16_t reg = compile_operand(c, s->as.simple.expr);
    compiler_emit(c, (Instruction){.op = OP_SAY, .x = (uint8_t)items[s->type], .a = reg},
                  s->as.simple.expr->span);
    note_handout(c, start);
    c->next_reg = saved;
}

static void compile_event(Compiler *c, const Statement *s) {
    int saved = c->next_reg, start = c->chunk->count;
    c->said = s->as.event.text;
    uint16_t date = compile_operand(c, s->as.event.date), text = compile_operand(c, s->as.event.text);
    compiler_emit_spans(c, (Instruction){.op = OP_EVENT, .a = date, .b = text},
                        (CodeSpan){.at = s->as.event.date->span,
                                   .left = s->as.event.date->span,
                                   .right = s->as.event.text->span});
    note_handout(c, start);
    c->next_reg = saved;
}

/* At the prompt an expression alone is shown, and is `it` from then on. */
static void compile_expression(Compiler *c, const Statement *s) {
    const Node *node = s->as.simple.expr;
    if (!c->options.prompt || !at_top(c)) {
        const char *name = node->type == NODE_NAME ? node->as.name.name : "";
        const Word *word = word_find(name, strlen(name));
        bool begun = word && word->opens != NO_STATEMENT;
        compiler_error(c, begun ? MSG_WORD_ALONE : MSG_EXPRESSION_ALONE, s->span, ARGS(begun ? name : ""));
        return;
    }
    int saved = c->next_reg, slot;
    uint16_t reg = compiler_new_reg(c);
    int mark = compile_new_mark(c, MARK_SHOW, node->span, NULL);
    compile_mark(c, mark, MARK_BEGIN, reg);
    compile_expr(c, node, reg);
    compile_mark(c, mark, MARK_DONE, reg);
    MEM_GROW(c->chunk->shows, c->chunk->show_count, c->chunk->show_capacity);
    /* its value continues as `it`: this is not a Handout */
    c->chunk->shows[c->chunk->show_count] = (ShowPlan){.label = mem_copy_string("")};
    compiler_emit(c, (Instruction){.op = OP_SHOW, .a = reg, .d = c->chunk->show_count++}, node->span);
    if (!name_map_get(&c->module->globals, "it", &slot))
        slot = registry_add_global(c->registry, c->module, "it", GLOBAL_LET, node->span);
    c->registry->globals[slot].declared = true;
    compiler_emit(c, (Instruction){.op = OP_SET_GLOBAL, .a = reg, .d = slot}, node->span);
    c->next_reg = saved;
}

/* ---- control ---- */

static bool leaves(const Block *block) {
    StatementType last = block->count ? block->items[block->count - 1]->type : NO_STATEMENT;
    return last == STATEMENT_GIVE || last == STATEMENT_SKIP || last == STATEMENT_STOP;
}

static void compile_if(Compiler *c, const Statement *s) {
    JumpList ends = {0};
    int outside = c->inside, mark = -1;
    for (int i = 0; i < s->as.choice.count; i++) {
        JumpList next = {0};
        const Node *condition = s->as.choice.branches[i].condition;
        mark = compile_new_mark(c, MARK_CONDITION, condition->span, NULL);
        compile_mark(c, mark, MARK_BEGIN, 0);
        compile_condition(c, condition, false, &next);
        compile_mark(c, mark, MARK_HELD, 0);
        c->inside = mark < 0 ? c->inside : mark;
        compile_body(c, &s->as.choice.branches[i].block);
        bool last = i + 1 == s->as.choice.count && !s->as.choice.has_otherwise;
        if (!last || mark >= 0) {
            MEM_GROW(ends.items, ends.count, ends.capacity);
            ends.items[ends.count++] = compiler_emit_jump(c, OP_JUMP, 0, s->span);
        }
        compile_patch_all(c, &next);
        compile_mark(c, mark, MARK_FAILED, 0);
    }
    if (s->as.choice.has_otherwise)
        compile_body(c, &s->as.choice.otherwise);
    compile_patch_all(c, &ends);
    /* what follows a branch that gives a result, or leaves its turn, depends on its condition */
    bool decides = mark >= 0 && s->as.choice.count == 1 && !s->as.choice.has_otherwise &&
                   leaves(&s->as.choice.branches[0].block);
    c->inside = decides ? mark : outside;
}

static void patch_exits(Compiler *c, int *jumps, int count) {
    for (int i = 0; i < count; i++)
        compiler_patch(c, jumps[i]);
    mem_free(jumps);
}

static void add_exit(int **jumps, int *count, int *capacity, int jump) {
    MEM_GROW(*jumps, *count, *capacity);
    (*jumps)[(*count)++] = jump;
}

static void compile_loop_exit(Compiler *c, const Statement *s) {
    if (!c->loop) {
        compiler_error(c, MSG_OUTSIDE_LOOP, s->span, ARGS(word_of_statement(s->type)));
        return;
    }
    if (c->loop->is_table)
        compiler_emit(c, (Instruction){.op = OP_TABLE_DROP}, s->span);
    int jump = compiler_emit_jump(c, OP_JUMP, 0, s->span);
    if (s->type == STATEMENT_STOP)
        add_exit(&c->loop->stops, &c->loop->stop_count, &c->loop->stop_capacity, jump);
    else
        add_exit(&c->loop->skips, &c->loop->skip_count, &c->loop->skip_capacity, jump);
}

enum { STEP_REGISTERS = 6 }; /* from, to, by, counter, count, variable */

static uint16_t compile_range(Compiler *c, const Node *from, const Node *to, const Node *by, Span span) {
    uint16_t base = compiler_new_reg(c);
    for (int i = 1; i < STEP_REGISTERS; i++)
        compiler_new_reg(c);
    compile_expr(c, from, base);
    compile_expr(c, to, (uint16_t)(base + 1));
    if (by)
        compile_expr(c, by, (uint16_t)(base + 2));
    else
        compiler_emit_constant(c, (uint16_t)(base + 2), value_absent(), span);
    return base;
}

static Span turns_span(const TurnsExpr *turns) {
    if (turns->list)
        return turns->list->span;
    Span span = span_join(turns->from->span, turns->to->span);
    return turns->by ? span_join(span, turns->by->span) : span;
}

/* A counted loop under way, as its body sees it. */
typedef struct Turn {
    uint16_t counter;  /* register: the turn's number, from 0 */
    uint16_t variable; /* register */
    Span span;         /* of what is gone through */
} Turn;

typedef void (*TurnBody)(Compiler *c, const Statement *s, Turn turn);

/* Every counted loop: open, jump past it when there is no turn, body, next turn. `plan`: of the table whose
 * rows the turns are, or -1. */
static void compile_turns(Compiler *c, const Statement *s, const TurnsExpr *turns, int plan, TurnBody body) {
    int saved = c->next_reg;
    bool stepped = turns->list == NULL, is_plot = plan >= 0 && s->as.table.is_plot;
    Span span = turns_span(turns);
    int list = compile_new_mark(c, MARK_LIST, span, NULL);
    compile_mark(c, list, MARK_BEGIN, 0);
    uint16_t base = stepped ? compile_range(c, turns->from, turns->to, turns->by, s->span)
                            : compile_list_source(c, turns->list, turns->second != NULL);
    compile_mark(c, list, stepped ? MARK_HELD : MARK_DONE, base);
    Turn turn = {.counter = (uint16_t)(base + (stepped ? 3 : 1)),
                 .variable = (uint16_t)(base + (stepped         ? STEP_REGISTERS - 1
                                                : turns->second ? 3
                                                                : 2)),
                 .span = span};
    if (plan >= 0)
        compiler_emit(c, (Instruction){.op = OP_TABLE_BEGIN, .d = plan}, s->span);
    Loop loop = {.outer = c->loop, .is_table = plan >= 0};
    c->loop = &loop;
    int none = compiler_emit_jump(c, stepped ? OP_FOR_STEP : OP_FOR_IN, base, span);
    c->chunk->code[none].x = stepped && is_plot;
    int top = c->chunk->count;
    compiler_open_body(c);
    compile_declare_turn(c, turns->name, turns->name_span, turn.variable);
    if (turns->second) {
        compile_declare_turn(c, turns->second, turns->second_span, (uint16_t)(base + 4));
        compiler_emit(c, (Instruction){.op = OP_ENTRY, .a = base}, span);
    }
    if (plan >= 0)
        compiler_emit(c, (Instruction){.op = OP_TABLE_ROW, .a = turn.variable, .d = plan}, span);
    int mark = compile_new_mark(c, MARK_TURN, span, turns->name), outside = c->turn_mark;
    if (mark >= 0) {
        c->chunk->marks[mark].reg = turn.variable;
        c->chunk->marks[mark].list = list;
        c->chunk->marks[mark].declared = c->depth - 1; /* the body is open */
    }
    compile_mark(c, mark, MARK_BEGIN, turn.variable);
    c->turn_mark = mark;
    int inside = c->inside;
    body(c, s, turn);
    c->inside = inside;
    c->turn_mark = outside;
    compiler_close_body(c);
    patch_exits(c, loop.skips, loop.skip_count);
    compiler_jump_back(c, stepped ? OP_FOR_STEP_NEXT : OP_FOR_IN_NEXT, base, top, s->span);
    compiler_patch(c, none);
    patch_exits(c, loop.stops, loop.stop_count);
    compile_mark(c, mark, MARK_DONE, 0);
    c->loop = loop.outer;
    c->next_reg = saved;
}

static void compile_for_body(Compiler *c, const Statement *s, Turn turn) {
    (void)turn;
    compile_block(c, &s->as.for_.body);
}

static void compile_for(Compiler *c, const Statement *s) {
    compile_turns(c, s, &s->as.for_.turns, -1, compile_for_body);
}

static void compile_while(Compiler *c, const Statement *s) {
    Loop loop = {.outer = c->loop};
    JumpList done = {0};
    int saved = c->next_reg;
    uint16_t turns = compiler_new_reg(c);
    c->loop = &loop;
    compiler_emit(
        c, (Instruction){.op = OP_CONSTANT, .a = turns, .d = chunk_add_constant(c->chunk, value_number(0))},
        s->span);
    int top = c->chunk->count;
    int mark = compile_new_mark(c, MARK_TURN, s->as.while_.condition->span, NULL), outside = c->turn_mark;
    if (mark >= 0)
        c->chunk->marks[mark].declared = c->depth;
    compile_mark(c, mark, MARK_BEGIN, turns);
    c->turn_mark = mark;
    int condition = compile_new_mark(c, MARK_CONDITION, s->as.while_.condition->span, NULL),
        inside = c->inside;
    compile_mark(c, condition, MARK_BEGIN, turns);
    compile_condition(c, s->as.while_.condition, false, &done);
    compile_mark(c, condition, MARK_HELD, turns);
    c->inside = condition;
    compile_body(c, &s->as.while_.body);
    c->inside = inside;
    c->turn_mark = outside;
    patch_exits(c, loop.skips, loop.skip_count);
    compiler_jump_back(c, OP_WHILE_NEXT, turns, top, s->span);
    compile_patch_all(c, &done);
    compile_mark(c, condition, MARK_FAILED, turns);
    patch_exits(c, loop.stops, loop.stop_count);
    compile_mark(c, mark, MARK_DONE, turns);
    c->loop = loop.outer;
    c->next_reg = saved;
}

static void compile_give(Compiler *c, const Statement *s) {
    if (!c->formula) {
        compiler_error(c, MSG_GIVE_OUTSIDE, s->span, NO_ARGS);
        return;
    }
    int saved = c->next_reg;
    uint16_t reg = compiler_new_reg(c);
    int mark = compile_new_mark(c, MARK_GIVE, s->as.simple.expr->span, NULL);
    compile_mark(c, mark, MARK_BEGIN, reg);
    compile_expr(c, s->as.simple.expr, reg);
    compile_mark(c, mark, MARK_DONE, reg);
    compiler_emit_give(c, reg, s->as.simple.expr->span);
    c->next_reg = saved;
}

/* ---- tables ---- */

static int count_columns(const Block *block) {
    int count = 0;
    for (int i = 0; i < block->count; i++)
        count += block->items[i]->type == STATEMENT_COLUMN;
    return count;
}

/* A turn of the second loop of a table of two inputs is a column, there though its cell may be skipped. */
static void compile_across_body(Compiler *c, const Statement *s, Turn turn) {
    compiler_emit(c, (Instruction){.op = OP_TABLE_TURN, .a = turn.counter, .b = turn.variable}, turn.span);
    c->across_turn = turn.counter;
    compile_block(c, &s->as.table.body);
    c->across_turn = 0;
}

static void compile_row_body(Compiler *c, const Statement *s, Turn turn) {
    int outer_columns = c->table_columns;
    (void)turn;
    c->table_columns = 0;
    if (s->as.table.across.name)
        compile_turns(c, s, &s->as.table.across, -1, compile_across_body);
    else
        compile_body(c, &s->as.table.body);
    c->table_columns = outer_columns;
}

static void compile_table(Compiler *c, const Statement *s) {
    const TurnsExpr *turns = &s->as.table.turns, *across = &s->as.table.across;
    int columns = count_columns(&s->as.table.body);
    if (columns == 0 && c->errors->count == 0) /* else its column is what could not be read */
        compiler_error(c, MSG_TABLE_EMPTY, s->span, NO_ARGS);
    if (across->name && columns > 1)
        compiler_error(c, MSG_TABLE_ACROSS, across->name_span, NO_ARGS);
    MEM_GROW(c->chunk->tables, c->chunk->table_count, c->chunk->table_capacity);
    int plan = c->chunk->table_count++;
    c->chunk->tables[plan] = (TablePlan){.loop_label = mem_copy_string(turns->name),
                                         .column_count = columns,
                                         .first_column = c->chunk->column_count,
                                         .is_plot = s->as.table.is_plot,
                                         .across_label = mem_copy_string(across->name)};
    compile_turns(c, s, turns, plan, compile_row_body);
    compiler_emit(c, (Instruction){.op = OP_TABLE_END, .d = plan}, s->span);
}

/* A cell is a part of its own: when it fails, the table shows a dash and continues. */
static void compile_column(Compiler *c, const Statement *s) {
    if (c->table_columns < 0) {
        compiler_error(c, MSG_COLUMN_PLACE, s->span, NO_ARGS);
        return;
    }
    int saved = c->next_reg;
    const Node *label = s->as.column.label;
    bool fixed = label->as.text.count == 0 || (label->as.text.count == 1 && label->as.text.parts[0].literal);
    MEM_GROW(c->chunk->columns, c->chunk->column_count, c->chunk->column_capacity);
    int index = c->chunk->column_count++;
    uint16_t reg = compiler_new_reg(c), label_reg = compiler_new_reg(c);
    c->chunk->columns[index] = (ColumnPlan){
        .label = fixed ? mem_copy_string(label->as.text.count ? label->as.text.parts[0].literal : "") : NULL,
        .label_reg = label_reg,
        .reg = reg,
        .format = s->as.column.format,
        .across = c->across_turn > 0,
        .turn = (uint16_t)c->across_turn,
        .index = c->table_columns++};
    compiler_emit(c, (Instruction){.op = OP_TABLE_COLUMN, .d = index}, s->as.column.expr->span);
    c->chunk->columns[index].start = c->chunk->count;
    if (!fixed)
        compile_expr(c, label, label_reg);
    int mark = compile_new_mark(c, MARK_COLUMN, s->as.column.expr->span, c->chunk->columns[index].label);
    if (mark >= 0)
        c->chunk->marks[mark].format = s->as.column.format;
    compile_mark(c, mark, MARK_BEGIN, reg);
    Around before = compile_around(c, c->chunk->columns[index].label, NULL);
    compile_expr(c, s->as.column.expr, reg);
    c->around = before;
    compile_mark(c, mark, MARK_DONE, reg);
    compiler_emit(c, (Instruction){.op = OP_PART_END}, s->as.column.expr->span);
    c->chunk->columns[index].end = c->chunk->count;
    c->next_reg = saved;
}

/* ---- checks ---- */

static Comparison comparison_of(Operator op) {
    switch ((int)op) {
    case OPERATOR_EQUAL:
        return COMPARISON_EQUAL;
    case OPERATOR_NOT_EQUAL:
        return COMPARISON_NOT_EQUAL;
    case OPERATOR_LESS:
        return COMPARISON_LESS;
    case OPERATOR_LESS_EQUAL:
        return COMPARISON_LESS_EQUAL;
    case OPERATOR_GREATER:
        return COMPARISON_GREATER;
    default:
        return COMPARISON_GREATER_EQUAL;
    }
}

/* One part of a check: its values stay in registers from `base` on, so that a part that fails is reported
 * with them. */
typedef struct CheckPart {
    Instruction report;       /* OP_EXPECT… on those registers */
    const Node *left, *right; /* NULL: it has one side */
} CheckPart;

static CheckPart compile_check_values(Compiler *c, const Node *node) {
    if (node->type == NODE_NEAR) {
        uint16_t base = compiler_new_reg(c);
        compile_expr(c, node->as.near.value, base);
        compile_expr(c, node->as.near.target, compiler_new_reg(c));
        compile_expr(c, node->as.near.within, compiler_new_reg(c));
        return (CheckPart){{.op = OP_EXPECT_NEAR, .a = base}, node->as.near.value, node->as.near.target};
    }
    if (node->type == NODE_BINARY && operator_compares(node->as.binary.op)) {
        uint16_t left = compile_operand(c, node->as.binary.left),
                 right = compile_operand(c, node->as.binary.right);
        uint8_t comparison = (uint8_t)comparison_of(node->as.binary.op);
        return (CheckPart){{.op = OP_EXPECT_COMPARE, .x = comparison, .b = left, .c = right},
                           node->as.binary.left,
                           node->as.binary.right};
    }
    return (CheckPart){{.op = OP_EXPECT, .a = compile_operand(c, node)}, node, NULL};
}

static CodeSpan spans_of_part(const CheckPart *part, Span at) {
    return (CodeSpan){
        .at = at, .left = part->left->span, .right = part->right ? part->right->span : (Span){0, 0}};
}

static void report_check_part(Compiler *c, const Statement *s, const CheckPart *part) {
    Instruction report = part->report;
    if (s->as.expect.why) { /* never register 0: the values lie below it */
        uint16_t why = compiler_new_reg(c);
        compile_expr(c, s->as.expect.why, why);
        if (report.op == OP_EXPECT_COMPARE)
            report.a = why;
        else
            report.b = why;
    }
    compiler_emit_spans(c, report, spans_of_part(part, s->span));
    compile_check_reads(c, part->left, part->right);
}

/* Jumps on when the part holds. */
static int compile_check_test(Compiler *c, const Node *node, const CheckPart *part) {
    uint16_t holds = compiler_new_reg(c);
    CodeSpan spans = spans_of_part(part, node->span);
    if (part->report.op == OP_EXPECT_NEAR) {
        compiler_emit_spans(c, (Instruction){.op = OP_NEAR, .a = holds, .b = part->report.a}, spans);
    } else if (part->report.op == OP_EXPECT_COMPARE) {
        Operator op = node->as.binary.op;
        Opcode code = compile_operator(op);
        compiler_emit_spans(
            c, (Instruction){.op = (uint8_t)code, .a = holds, .b = part->report.b, .c = part->report.c},
            spans);
        if (op == OPERATOR_GREATER || op == OPERATOR_GREATER_EQUAL)
            compiler_emit(c, (Instruction){.op = OP_NOT, .a = holds, .b = holds}, node->span);
    } else {
        holds = part->report.a;
    }
    return compiler_emit_jump(c, OP_JUMP_IF_TRUE, holds, node->span);
}

/* `expect a and b`: every part but the last jumps on when it holds; the first that fails is the one reported.
 */
static void compile_check(Compiler *c, const Statement *s, const Node *node, bool last, JumpList *ends) {
    if (node->type == NODE_BINARY && node->as.binary.op == OPERATOR_AND) {
        compile_check(c, s, node->as.binary.left, false, ends);
        compile_check(c, s, node->as.binary.right, last, ends);
        return;
    }
    CheckPart part = compile_check_values(c, node);
    int on = last && !s->as.expect.why ? -1 : compile_check_test(c, node, &part);
    report_check_part(c, s, &part);
    if (on < 0)
        return;
    MEM_GROW(ends->items, ends->count, ends->capacity);
    ends->items[ends->count++] = compiler_emit_jump(c, OP_JUMP, 0, node->span);
    compiler_patch(c, on);
    if (last) /* its own words are put together only when they are needed */
        report_check_part(c, &(Statement){.span = s->span}, &part);
}

static void compile_expect(Compiler *c, const Statement *s) {
    int saved = c->next_reg;
    JumpList ends = {0};
    compile_check(c, s, s->as.expect.condition, true, &ends);
    compile_patch_all(c, &ends);
    c->next_reg = saved;
}

static void compile_expect_error(Compiler *c, const Statement *s) {
    int saved = c->next_reg;
    uint16_t reg = compiler_new_reg(c), why = compiler_new_reg(c);
    if (s->as.expect.why)
        compile_expr(c, s->as.expect.why, why);
    int over = compiler_emit_jump(c, OP_EXPECT_ERROR, 0, s->span);
    c->chunk->spans[over].left = s->as.expect.condition->span;
    c->chunk->code[over].x = s->as.expect.why != NULL;
    compile_expr(c, s->as.expect.condition, reg);
    compiler_emit(c, (Instruction){.op = OP_PART_END}, s->span);
    compiler_patch(c, over);
    /* what the part left, for the message when there was no error */
    c->chunk->code[over].a = reg;
    c->next_reg = saved;
}

/* ---- declarations ---- */

static void compile_use(Compiler *c, const Statement *s) {
    int module = c->host->used_module(c->host->context, s);
    if (module >= 0)
        compiler_emit(c, (Instruction){.op = OP_USE, .d = module}, s->as.use.path_span);
}

/* ---- all of them ---- */

typedef void CompileStatement(Compiler *c, const Statement *s);
static CompileStatement *const compilers[] = {
#define STATEMENT(type, allowed, parse, check, compile, ...) [STATEMENT_##type] = compile,
#include "front/language.def"
};

void compile_statement(Compiler *c, const Statement *s) {
    if (statement_allowed(s->type) == ALLOWED_TOP && !at_top(c))
        compiler_error(c, MSG_TOP_ONLY, s->span, ARGS(word_of_statement(s->type)));
    else if (compilers[s->type])
        compilers[s->type](c, s);
}

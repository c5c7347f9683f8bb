/* SPDX-FileCopyrightText: the Rundlet developers */
/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What the parts of the compiler share. Private to compile*.c. */
#ifndef RUNDLET_COMPILE_STATE_H
#define RUNDLET_COMPILE_STATE_H

#include "front/compile.h"

typedef struct Local {
    const char *name;
    uint16_t reg;
    int depth;
    Span binder; /* the expression that gives it its values, as in a list made with `for`; empty for others */
} Local;

/* The innermost loop: where `skip` and `stop` jump to, patched when the loop ends. */
typedef struct Loop {
    struct Loop *outer;
    bool is_table; /* its row under way is dropped by `skip` and `stop` */
    int *stops;
    int stop_count, stop_capacity;
    int *skips;
    int skip_count, skip_capacity;
} Loop;

/* What an expression is part of, for the names of its sources of uncertainty. */
typedef struct Around {
    const char *name;   /* what is defined, or the label of what is shown */
    const char *called; /* the formula whose argument it is */
    const char *part;   /* the label of that argument, or the field of a record */
    const Node *whole;  /* all of the value of a let or input */
} Around;

typedef struct Compiler {
    Registry *registry;
    Module *module;
    const CompileHost *host;
    CompileOptions options;
    DiagList *errors;
    Source *source;
    Chunk *chunk;     /* being written */
    Formula *formula; /* being written, or NULL for top-level code */
    Local *locals;
    int local_count, local_capacity;
    int depth; /* 0: the top level of a script or formula */
    int next_reg;
    Loop *loop;
    int table_columns; /* columns so far of the table being written; -1 outside */
    int across_turn;   /* register of the turn of a table's second loop; 0 without */
    const Node *said;  /* a text that is handed out as it is (FORMAT_SAID) */
    Around around;     /* the expression being written */
    int inside;        /* the mark of the condition around the statement; -1: none */
    Span binder;       /* of names that are declared now: the expression they belong to; empty for none */
    Span within; /* a list made with `for`, or a find, whose parts have other values by turns; empty: none */
    int turn_mark;    /* the mark of the loop around it; -1: none */
    int result_check; /* kind check of the formula's result; -1: none */
} Compiler;

/* ---- compile.c ---- */
uint16_t compiler_new_reg(Compiler *c); /* the next free register */
int compiler_emit(Compiler *c, Instruction instruction, Span at);
int compiler_emit_spans(Compiler *c, Instruction instruction, CodeSpan spans);
void compiler_emit_constant(Compiler *c, uint16_t target, Value value, Span at);
int compiler_emit_jump(Compiler *c, Opcode op, uint16_t reg, Span at); /* to be patched */
void compiler_patch(Compiler *c, int jump);                            /* to the next instruction */
void compiler_jump_back(Compiler *c, Opcode op, uint16_t reg, int target, Span at);
Diag *compiler_error(Compiler *c, MessageId id, Span span, MessageArg *args);
void compiler_fault(Compiler *c, Fault *fault, Span span); /* reports and clears it */
const Local *compiler_find_local(const Compiler *c, const char *name);
/* A new name in the current body, at a given register. */
void compiler_declare_local(Compiler *c, const char *name, Span span, uint16_t reg);
void compiler_open_body(Compiler *c);
void compiler_close_body(Compiler *c);
void compiler_emit_give(Compiler *c, uint16_t reg, Span at);
Value compiler_text(Compiler *c, const char *bytes, size_t length); /* interned */

/* ---- compile_mark.c: what code is compiled without marks does not come to call ---- */
int compile_make_mark(Compiler *c, MarkRole role, Span span, const char *name);
void compile_emit_mark(Compiler *c, int mark, MarkPhase phase, uint16_t reg);
void compile_emit_part(Compiler *c, const Node *node, uint16_t reg);
void compile_emit_read(Compiler *c, const Node *node, const Local *local, int global, uint16_t reg);
/* The number of a new mark, -1 without; its first phase is not emitted yet. */
static inline int compile_new_mark(Compiler *c, MarkRole role, Span span, const char *name) {
    return c->options.marks == MARKS_NONE ? -1 : compile_make_mark(c, role, span, name);
}
static inline void compile_mark(Compiler *c, int mark, MarkPhase phase, uint16_t reg) {
    if (mark >= 0)
        compile_emit_mark(c, mark, phase, reg);
}
/* The mark defines its name, which was just stored (compile_store_new). */
void compile_mark_defined(Compiler *c, int mark, uint16_t reg);
/* One of a choice's branches was taken. */
void compile_mark_taken(Compiler *c, const Node *choice, const Node *branch, uint16_t reg);
/* An operand of a sum. */
static inline void compile_mark_part(Compiler *c, const Node *node, uint16_t reg) {
    if (c->options.marks != MARKS_NONE)
        compile_emit_part(c, node, reg);
}
/* A value was read: of a name where `local` or `global` is one. */
static inline void compile_mark_read(Compiler *c, const Node *node, const Local *local, int global,
                                     uint16_t reg) {
    if (c->options.marks != MARKS_NONE)
        compile_emit_read(c, node, local, global, reg);
}

/* ---- compile_check_reads.c ---- */
/* Notes what the sides of a check read, whose instruction was just written; either may be NULL. */
void compile_check_reads(Compiler *c, const Node *left, const Node *right);

/* ---- compile_expr.c ---- */
void compile_expr(Compiler *c, const Node *node, uint16_t target);
uint16_t compile_operand(Compiler *c,
                         const Node *node); /* a register that holds it: a local's own, or a new one */
/* The instruction of an operator between two values; a > b and a >= b are the negated a <= b and a < b. */
Opcode compile_operator(Operator op);
/* Jumps to be patched, taken when the condition is false. */
typedef struct JumpList {
    int *items;
    int count, capacity;
} JumpList;
void compile_condition(Compiler *c, const Node *node, bool jump_when, JumpList *jumps);
void compile_patch_all(Compiler *c, JumpList *jumps);

/* The registers of a loop through a list: the list, the position, the item; with `entries` of a record or
 * list also the two parts of the item, which OP_ENTRY fills. */
uint16_t compile_list_source(Compiler *c, const Node *list, bool entries);
void compile_declare_turn(Compiler *c, const char *name, Span span, uint16_t reg); /* a loop's own name */
/* R[target] = a record with these names of the values from register `first` on. */
void compiler_emit_record(Compiler *c, ListObject *names, uint16_t first, uint16_t target, Span span);

/* ---- compile_names.c ---- */
/* Reports a name without a value where one is read, or where one is changed. */
void compile_unknown_value(Compiler *c, const char *name, Span span);
/* Has the name a value here, in a formula or of the script? */
bool compile_is_value(const Compiler *c, const char *name);
/* The line with `instead` in place of a span: to be typed. */
MessageArg compile_line_with(const Compiler *c, Span span, const char *instead);
/* The same, where nothing else can have been meant: the prompt runs it. */
MessageArg compile_line_surely(const Compiler *c, Span span, const char *instead);
/* A name without a value where a text is wanted: hints at the quotes unless it is near another name. */
void compile_hint_quotes(Compiler *c, const Node *node, int errors_before);
/* The choices of an input are names without values: true after reporting them, with the quotes they lack. */
bool compile_report_bare_choices(Compiler *c, const Statement *s);
void compile_unknown_assigned(Compiler *c, const char *name, Span span);

/* ---- compile_source.c: each of these begins something, and returns what to set `around` back to ---- */
Around compile_around(Compiler *c, const char *name, const Node *whole);
/* `label`: NULL where the argument has none. */
Around compile_around_argument(Compiler *c, const char *called, const char *label);
Around compile_around_field(Compiler *c, const char *field); /* NULL: its name is worked out */
/* The instruction just emitted is the ± of this node. */
void compile_name_source(Compiler *c, const Node *node);

/* ---- compile_call.c ---- */
void compile_call(Compiler *c, const Node *node, uint16_t target);

/* ---- compile_statement.c, compile_find.c ---- */
void compile_block(Compiler *c, const Block *block);
void compile_statement(Compiler *c, const Statement *statement);
void compile_find(Compiler *c, const Statement *statement);
void compile_find_value(Compiler *c, const Node *node, uint16_t target);
/* Declares a top-level or local name and stores register `reg` there. */
void compile_store_new(Compiler *c, const char *name, Span span, uint16_t reg, GlobalKind kind);

#endif

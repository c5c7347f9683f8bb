/* SPDX-FileCopyrightText: the Rundlet developers */
/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What the files of the virtual machine share. Private to runtime/vm*.c and find.c. */
#ifndef RUNDLET_VM_PARTS_H
#define RUNDLET_VM_PARTS_H

#include "runtime/vm.h"

static inline Frame *vm_frame(Vm *vm) {
    return &vm->frames[vm->frame_count - 1];
}
static inline Value *vm_registers(Vm *vm) {
    return vm->stack + vm_frame(vm)->base;
}
/* Does the run show its working, and is this a part of it? */
static inline bool vm_records(const Vm *vm) {
    return vm->recorder && !vm->recorder->paused && (!vm->probing || vm->recorder->beside) &&
           !worlds_are_moved(vm->worlds);
}
/* vm_check.c: keeps a value of a run that shows its working. Where it takes half of the memory there may be,
 * nothing is kept: the run is not to fail for it. */
void vm_mark(Vm *vm, int32_t mark, MarkPhase phase, Value value);
static inline Arith vm_arith(Vm *vm) {
    return (Arith){
        .units = vm->registry->units, .heap = vm->registry->heap, .fault = &vm->fault, .pours = &vm->pours};
}

/* Runs a part of the current frame's chunk up to its PART_END. On failure everything it had opened is closed
 * again; vm->error holds the Diag, to be thrown away by vm_drop_error or passed on. */
bool vm_run_part(Vm *vm, int32_t start);
/* Makes vm->error from vm->fault at a place of the current frame's chunk. Returns false. */
bool vm_fail(Vm *vm, CodeSpan spans);
void vm_note(Vm *vm, MessageId id, MessageArg *args); /* an item of the report */
/* A text of a value as `show` prints it; the caller frees it. */
char *vm_shown(const Vm *vm, Value value);

/* The frame that runs the script: an error inside the library is shown where the script called. */
int vm_users_frame(const Vm *vm);

/* ---- vm_trace.c ---- */
/* The calls that led to an error, and their values; `users`: the frame that runs the script. */
void vm_add_trace(Vm *vm, Diag *diag, int users);

/* ---- vm_place.c ---- */
/* A number that stands for an instruction of the running frame, the calls that led there and the turns of all
 * loops around them: the same in every run of a script that gets there. */
uint64_t vm_place(const Vm *vm, const Instruction *site);
/* In a moved or drawn run: where it continues after vm->error inside a Handout (`show`, `print` and their
 * like), which hands out nothing then; the error becomes the reason of that place. NULL where it cannot.
 * `entry` as in run_code; `tables`: how many stay under way. */
const Instruction *vm_behind_handout(Vm *vm, int entry, int *tables);

bool vm_find(Vm *vm, const FindPlan *plan, Span span); /* find.c */
bool vm_find_many(Vm *vm, const FindPlan *plan,
                  Span span); /* find_many.c: several unknowns or conditions, or a goal */
/* correlated(readings, pairs): correlate.c. `first`: the number of its first source. */
bool vm_correlate(Vm *vm, int first, Value readings, Value pairs, Value *result);

/* ---- vm_call.c ---- */
/* vm_fail for an argument that is not of its kind. `pc`: after the check in the formula called. */
bool vm_fail_argument(Vm *vm, const Instruction *pc, int parameter, CodeSpan spans);
/* The formula that an OP_CALL_VALUE calls; its arguments are put in order in their registers, those left out
 * too, and `count` becomes how many there are. NULL after vm_fail. */
const Formula *vm_open_value_call(Vm *vm, const Instruction *i, int *count, CodeSpan spans);

/* ---- vm_statements.c; inputs: vm_input.c ---- */

/* The instructions that hand out results, `i` in the current frame. */
#define OPCODE(name, operands)
#define RESULT(name, operands, function) bool function(Vm *vm, const Instruction *i, CodeSpan spans);
#include "values/opcode.def"
#undef OPCODE

/* vm_check.c: adds what a side of a check that failed was, where a line can hold it. */
void vm_explain_check(Vm *vm, Diag *diag, const Instruction *i, Span side, const char *shown);
/* Counts a check, and tells the listeners of it; takes `diag`. */
void vm_tell_check(Vm *vm, bool passed, Diag *diag, Source *source, Span at);
bool vm_expect_error(Vm *vm, int32_t start, uint16_t reg, bool has_why, CodeSpan spans);
void vm_table_begin(Vm *vm, const Chunk *chunk, const TablePlan *plan);
bool vm_table_row(Vm *vm, const Instruction *site, Value loop_value, CodeSpan spans);
bool vm_table_turn(Vm *vm, Value turn, Value value, CodeSpan spans);
bool vm_table_column(Vm *vm, const ColumnPlan *plan, CodeSpan spans);
void vm_table_drop(Vm *vm);
void vm_table_end(Vm *vm);

/* ---- vm_objects.c: lists, records, texts, fields, loops ---- */
bool vm_index(Vm *vm, Value object, Value index, Value *result);
bool vm_field(Vm *vm, Value object, const TextObject *name, Value *result);
bool vm_with(Vm *vm, Value object, Value changes, Value *result);
Value vm_record(Vm *vm, const ListObject *names, const Value *values);
/* The same of names that were worked out; a fault when two are alike. */
bool vm_record_named(Vm *vm, const ListObject *names, const Value *values, Value *result);
/* What a loop with two names goes through: lists of [name, value], or of [position, item]. */
bool vm_entries(Vm *vm, Value source, Value *result);
/* Two texts are not equal: notes it where one is written in the script and only the case of letters differs.
 */
void vm_note_case(Vm *vm, const Instruction *site, Value a, Value b);
bool vm_format(Vm *vm, const Instruction *site, Value value, Value *result);
bool vm_concat(Vm *vm, const Value *texts, int count, Value *result);
bool vm_check_kind(Vm *vm, const KindCheck *check, Value value, bool result);
/* `drawn`: of a plot, for which a step left out is a sixtieth of the range. */
bool vm_for_step(Vm *vm, Value *range, bool drawn, bool *has_turn);
bool vm_for_step_value(Vm *vm, Value *range);
/* A source of uncertainty; how: PLUS_MINUS_… of chunk.h. `site` is its instruction. */
bool vm_plus_minus(Vm *vm, const Instruction *site, Value value, Value spread, PlusMinus how, Value *result);
/* What the library judges by a limit, or what is weighed out (bad_end.h). A trial of `find` is not judged,
 * but what it found is. */
Value vm_judge(Vm *vm, const Instruction *site, Value figure, Judge how);
void vm_list_begin(Vm *vm);
bool vm_list_append(Vm *vm, Value value);
Value vm_list_end(Vm *vm);

#endif

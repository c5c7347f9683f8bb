/* SPDX-FileCopyrightText: the Rundlet developers */
/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The dispatch loop, calls, limits and collections. */
#include "runtime/vm.h"

#include <float.h>
#include <math.h>
#include <string.h>
#include <time.h>

#include "base/mem.h"
#include "runtime/cautions.h"
#include "runtime/vm_parts.h"
#include "values/display.h"
#include "values/kind_check.h"

enum { FIRST_STACK = 256, FIRST_FRAMES = 16, POLLS = 1000, NESTING_MAX = 300 };

/* For deadlines, in seconds. */
static double clock_s(void) {
    struct timespec now;
    clock_gettime(CLOCK_MONOTONIC, &now);
    return (double)now.tv_sec + (double)now.tv_nsec * 1e-9;
}

static void grow_stack(Vm *vm, size_t needed) {
    size_t size = vm->stack_size ? vm->stack_size : FIRST_STACK;
    while (size < needed)
        size *= 2;
    vm->stack = mem_resize_array(vm->stack, size, sizeof(Value));
    for (size_t i = vm->stack_size; i < size; i++)
        vm->stack[i] = value_none();
    vm->registry->heap->outside += (size - vm->stack_size) * sizeof(Value);
    vm->stack_size = size;
}

/* Interruption and time. */
static bool watch(void *context, Fault *fault) {
    const Vm *vm = context;
    if (*vm->interrupt)
        return fault_set(fault, MSG_INTERRUPTED, NO_ARGS);
    if (vm->deadline > 0 && clock_s() > vm->deadline)
        return fault_set(fault, MSG_TIME_LIMIT, NO_ARGS);
    return true;
}

static void poured(void *context, const Liquid *a, const Liquid *b) {
    const Vm *vm = context;
    if (!vm->report->muted)
        caution_poured(vm->natives, a, b);
}

Vm *vm_new(Registry *registry, NativeContext *natives, VmLimits limits, volatile sig_atomic_t *interrupt) {
    Vm *vm = mem_alloc(sizeof *vm);
    vm->registry = registry;
    vm->natives = natives;
    natives->registry = registry;
    vm->limits = limits;
    vm->interrupt = interrupt;
    vm->polls_left = POLLS;
    vm->worlds = worlds_new();
    vm->pours = (PourListener){.poured = poured, .context = vm};
    vm->worlds->units = registry->units;
    registry->heap->watch = (Watch){.holds = watch, .context = vm};
    grow_stack(vm, FIRST_STACK);
    return vm;
}

static void override_free(InputOverride *override) {
    mem_free(override->name);
    mem_free(override->text);
    fault_clear(&override->why);
}

void vm_drop_overrides(Vm *vm) {
    for (int i = 0; i < vm->override_count; i++)
        override_free(&vm->overrides[i]);
    mem_free(vm->overrides);
    vm->overrides = NULL;
    vm->override_count = 0;
}

void vm_free(Vm *vm) {
    if (!vm)
        return;
    for (int i = 0; i < vm->builder_capacity; i++)
        mem_free(vm->builders[i].items);
    for (int i = 0; i < vm->table_count; i++)
        table_free(vm->tables[i]);
    vm_drop_overrides(vm);
    mem_free(vm->builders);
    mem_free(vm->tables);
    mem_free(vm->stack);
    mem_free(vm->frames);
    fault_clear(&vm->fault);
    diag_free(vm->error);
    worlds_free(vm->worlds);
    mem_free(vm);
}

void vm_start(Vm *vm) {
    vm->deadline = vm->limits.seconds > 0 ? clock_s() + vm->limits.seconds : 0;
    vm->polls_left = POLLS;
    vm->failure_bytes = 0;
}

/* ---- collections ---- */

static void mark_tables(Vm *vm) {
    for (int t = 0; t < vm->table_count; t++)
        for (int c = 0; c < vm->tables[t]->column_count; c++)
            for (int r = 0; r < vm->tables[t]->row_count; r++)
                heap_mark(vm->tables[t]->columns[c].cells[r].value);
}

/* Registers above the running frame are cleared, those of frames are marked whether still needed or not: so a
 * register never points to a swept object. */
static void collect(Vm *vm) {
    size_t top = vm_frame(vm)->base + (size_t)vm_frame(vm)->chunk->registers + 1;
    for (size_t i = 0; i < vm->stack_size; i++) {
        if (i < top)
            heap_mark(vm->stack[i]);
        else
            vm->stack[i] = value_none();
    }
    for (int b = 0; b < vm->builder_count; b++)
        for (uint32_t i = 0; i < vm->builders[b].count; i++)
            heap_mark(vm->builders[b].items[i]);
    for (int i = 0; i < vm->override_count; i++)
        heap_mark(vm->overrides[i].value);
    for (int i = 0; i < vm->frame_count; i++)
        chunk_mark(vm->frames[i].chunk);
    mark_tables(vm);
    registry_mark(vm->registry);
    report_mark(vm->report);
    if (vm->mark_more)
        vm->mark_more(vm->mark_context);
    heap_sweep(vm->registry->heap);
}

/* At backward jumps, calls, and after whatever makes large objects: interruption, time, memory. */
static bool poll(Vm *vm) {
    Heap *heap = vm->registry->heap;
    if (heap_wants_collection(heap)) {
        collect(vm);
        if (heap->limit && heap->bytes > heap->limit)
            return fault_set(&vm->fault, MSG_MEMORY_LIMIT, NO_ARGS);
    }
    if (vm->polls_left > 0)
        return true;
    vm->polls_left = POLLS;
    size_t results = vm->report->bytes + vm->failure_bytes + worlds_bytes(vm->worlds);
    return heap_allows(heap, results, &vm->fault) && watch(vm, &vm->fault);
}

/* ---- calls ---- */

static void push_frame(Vm *vm, const Chunk *chunk, size_t base) {
    if (vm->frame_count >= vm->frame_capacity) {
        vm->frame_capacity = vm->frame_capacity ? vm->frame_capacity * 2 : FIRST_FRAMES;
        vm->frames = mem_resize_array(vm->frames, (size_t)vm->frame_capacity, sizeof(Frame));
    }
    vm->frames[vm->frame_count++] = (Frame){
        .chunk = chunk, .pc = NULL, .base = base, .builders = vm->builder_count, .tables = vm->table_count};
    size_t needed = base + (size_t)chunk->registers + CALL_ARGUMENTS_MAX + 8;
    if (needed > vm->stack_size)
        grow_stack(vm, needed);
}

static bool too_deep(Vm *vm) {
    Text depth = {0};
    text_add_integer(&depth, vm->limits.depth);
    fault_set(&vm->fault, MSG_DEPTH_LIMIT, ARGS(text_string(&depth)));
    text_free(&depth);
    return false;
}

/* A list or text takes its time: its share of the steps until the next look at the clock. */
static bool count_work(Heap *heap, Value value, Fault *fault) {
    if (value.tag == TAG_LIST)
        return heap_work(heap, value.as.list->count, fault);
    return value.tag != TAG_TEXT || heap_work(heap, value.as.text->length / 8, fault);
}

static bool call_native(Vm *vm, const Arith *arith, const Formula *formula, Value *args, int count) {
    int users = vm_users_frame(vm);
    bool is_part = !formula->doc && users + 1 < vm->frame_count;
    Call call = {.arith = *arith,
                 .formula = formula,
                 .name = is_part ? vm->frames[users + 1].chunk->name : formula->name,
                 .context = vm->natives,
                 .args = args,
                 .count = count,
                 .module = vm_frame(vm)->chunk->module,
                 .result = value_none()};
    if (!native_call(&call))
        return false;
    bool goes_on = (count == 0 || count_work(arith->heap, args[0], &vm->fault)) &&
                   count_work(arith->heap, call.result, &vm->fault);
    args[0] = call.result;
    return goes_on;
}

/* After a slow sum with a constant: keep the constant in the other side's unit, so that the next turn is
 * fast. */
static void refresh_view(const Arith *arith, Value left, Value constant, Value result, Value *view) {
    Fault ignored = {0};
    double number;
    if (left.tag == TAG_AMOUNT && constant.tag == TAG_AMOUNT && result.meta == left.meta &&
        unit_convert(arith->units, constant.as.number, constant.unit, left.unit, &number, &ignored))
        *view = value_amount(number, left.unit);
    fault_clear(&ignored);
}

static bool bad_truth(Vm *vm, Value value) {
    return kind_check_truth(vm->registry->units, value, &vm->fault);
}

static bool keeps_kind(Vm *vm, Value old, Value new_value, const char *name) {
    return kind_check_kept(vm->registry->units, old, new_value, name, &vm->fault);
}

static bool assign_local(Vm *vm, Value *target, Value value, CodeSpan spans) {
    const Source *source = vm_frame(vm)->chunk->source;
    if (target->meta != value.meta) {
        char *name = mem_copy(source->text + spans.left.start, spans.left.end - spans.left.start);
        bool kept = keeps_kind(vm, *target, value, name);
        mem_free(name);
        if (!kept)
            return false;
    }
    *target = value;
    return true;
}

static bool assign_global(Vm *vm, int slot, Value value) {
    Value *target = &vm->registry->global_values[slot];
    const char *name = vm->registry->globals[slot].name;
    if (target->tag == TAG_ABSENT)
        return fault_set(&vm->fault, MSG_NO_VALUE_YET, ARGS(name));
    if (!keeps_kind(vm, *target, value, name))
        return false;
    *target = value;
    return true;
}

/* ---- the loop ---- */

#define IS_FINITE(number)              (fabs(number) <= DBL_MAX)
#define BOTH_AMOUNTS_OF_ONE_UNIT(l, r) ((l)->meta == (r)->meta && (l)->tag == TAG_AMOUNT)
#define STORE(target, number_, meta_)                                                                        \
    do {                                                                                                     \
        (target)->as.number = (number_);                                                                     \
        (target)->meta = (meta_);                                                                            \
    } while (0)
#define POLL()                                                                                               \
    do {                                                                                                     \
        if (--vm->polls_left <= 0 || heap_wants_collection(heap))                                            \
            if (!poll(vm))                                                                                   \
                goto failed;                                                                                 \
    } while (0)
#define LOAD_FRAME()                                                                                         \
    do {                                                                                                     \
        chunk = vm_frame(vm)->chunk;                                                                         \
        R = vm_registers(vm);                                                                                \
        K = chunk->constants;                                                                                \
        views = chunk->views;                                                                                \
    } while (0)
#define SPANS() (chunk->spans[pc - 1 - chunk->code])
#define CHECKED(call)                                                                                        \
    do {                                                                                                     \
        if (!(call))                                                                                         \
            goto failed;                                                                                     \
    } while (0)
#define REPORTED(call)                                                                                       \
    do {                                                                                                     \
        if (!(call))                                                                                         \
            goto reported;                                                                                   \
    } while (0)

/* Runs the top frame from pc until the code of frame `entry` (how many there were) ends, its formula gives,
 * or a part ends. On failure vm->error is set and frames are as they were, each `pc` after the instruction
 * that failed, for the caller to unwind. */
static bool run_code(Vm *vm, const Instruction *pc, const int entry) {
    Heap *const heap = vm->registry->heap;
    const Arith arith = vm_arith(vm);
    const Chunk *chunk;
    Value *R;
    const Value *K;
    Value *views;
    LOAD_FRAME();
    for (;;) {
        const Instruction i = *pc++;
        switch ((Opcode)i.op) {
        case OP_MOVE:
            R[i.a] = R[i.b];
            break;
        case OP_CONSTANT:
            R[i.a] = K[i.d];
            break;
        case OP_GET_GLOBAL: {
            Value value = vm->registry->global_values[i.d];
            if (value.tag == TAG_ABSENT) {
                fault_set(&vm->fault, MSG_NO_VALUE_YET, ARGS(vm->registry->globals[i.d].name));
                goto failed;
            }
            R[i.a] = value;
            break;
        }
        case OP_SET_GLOBAL:
            vm->registry->global_values[i.d] = R[i.a];
            break;
        case OP_ASSIGN:
            CHECKED(assign_local(vm, &R[i.a], R[i.b], SPANS()));
            break;
        case OP_ASSIGN_GLOBAL:
            CHECKED(assign_global(vm, i.d, R[i.a]));
            break;

        case OP_ADD: {
            const Value *l = &R[i.b], *r = &R[i.c];
            double sum = l->as.number + r->as.number;
            if (BOTH_AMOUNTS_OF_ONE_UNIT(l, r) && IS_FINITE(sum))
                STORE(&R[i.a], sum, l->meta);
            else
                CHECKED(arith_add(&arith, *l, *r, &R[i.a]));
            break;
        }
        case OP_ADD_K: {
            const Value *l = &R[i.b], *r = &views[i.c];
            double sum = l->as.number + r->as.number;
            if (BOTH_AMOUNTS_OF_ONE_UNIT(l, r) && IS_FINITE(sum)) {
                STORE(&R[i.a], sum, l->meta);
            } else {
                Value left = *l;
                CHECKED(arith_add(&arith, left, K[i.c], &R[i.a]));
                refresh_view(&arith, left, K[i.c], R[i.a], &views[i.c]);
            }
            break;
        }
        case OP_SUBTRACT: {
            const Value *l = &R[i.b], *r = &R[i.c];
            double rest = l->as.number - r->as.number;
            if (BOTH_AMOUNTS_OF_ONE_UNIT(l, r) && IS_FINITE(rest))
                STORE(&R[i.a], rest, l->meta);
            else
                CHECKED(arith_subtract(&arith, *l, *r, &R[i.a]));
            break;
        }
        case OP_SUBTRACT_K: {
            const Value *l = &R[i.b], *r = &views[i.c];
            double rest = l->as.number - r->as.number;
            if (BOTH_AMOUNTS_OF_ONE_UNIT(l, r) && IS_FINITE(rest)) {
                STORE(&R[i.a], rest, l->meta);
            } else {
                Value left = *l;
                CHECKED(arith_subtract(&arith, left, K[i.c], &R[i.a]));
                refresh_view(&arith, left, K[i.c], R[i.a], &views[i.c]);
            }
            break;
        }
        case OP_MULTIPLY:
        case OP_MULTIPLY_K: {
            const Value *l = &R[i.b], *r = i.op == OP_MULTIPLY ? &R[i.c] : &K[i.c];
            double product = l->as.number * r->as.number;
            if (r->meta == 0 && l->tag == TAG_AMOUNT && IS_FINITE(product))
                STORE(&R[i.a], product, l->meta);
            else if (l->meta == 0 && r->tag == TAG_AMOUNT && IS_FINITE(product))
                STORE(&R[i.a], product, r->meta);
            else
                CHECKED(arith_multiply(&arith, *l, *r, &R[i.a]));
            break;
        }
        case OP_DIVIDE:
        case OP_DIVIDE_K: {
            const Value *l = &R[i.b], *r = i.op == OP_DIVIDE ? &R[i.c] : &K[i.c];
            double quotient = l->as.number / r->as.number;
            if (r->meta == 0 && l->tag == TAG_AMOUNT && IS_FINITE(quotient))
                STORE(&R[i.a], quotient, l->meta);
            else
                CHECKED(arith_divide(&arith, *l, *r, &R[i.a]));
            break;
        }
        case OP_OF:
            CHECKED(arith_of(&arith, R[i.b], R[i.c], &R[i.a]));
            break;
        case OP_MODULO:
            CHECKED(arith_modulo(&arith, R[i.b], R[i.c], &R[i.a]));
            break;
        case OP_POWER:
            CHECKED(arith_power(&arith, R[i.b], R[i.c], &R[i.a]));
            break;
        case OP_NEGATE:
            CHECKED(arith_negate(&arith, R[i.b], &R[i.a]));
            break;
        case OP_NOT:
            if (R[i.b].tag != TAG_TRUTH) {
                bad_truth(vm, R[i.b]);
                goto failed;
            }
            R[i.a] = value_truth(!R[i.b].as.truth);
            break;
        case OP_ATTACH:
            if (R[i.a].meta == 0)
                R[i.a] = value_quantity(arith.units, R[i.a].as.number, (UnitId)i.d);
            else
                CHECKED(arith_attach(&arith, R[i.a], (UnitId)i.d, &R[i.a]));
            break;
        case OP_CONVERT:
            CHECKED(arith_convert(&arith, R[i.a], (UnitId)i.d, &R[i.a]));
            break;
        case OP_PLUS_MINUS:
            CHECKED(vm_plus_minus(vm, pc - 1, R[i.b], R[i.c], (PlusMinus)i.x, &R[i.a]));
            break;
        case OP_SOURCES_OPEN:
            R[i.a] = value_number(vm->worlds->next_source);
            break;
        case OP_CORRELATE:
            CHECKED(vm_correlate(vm, (int)R[i.b].as.number, R[i.a], R[i.a + 1], &R[i.a]));
            break;
        case OP_MARK:
            if (vm_records(vm))
                vm_mark(vm, i.d, (MarkPhase)i.x, R[i.a]);
            break;
        case OP_JUDGE:
            R[i.a] = vm_judge(vm, pc - 1, R[i.a], (Judge)i.x);
            break;

        case OP_EQUAL:
        case OP_NOT_EQUAL: {
            bool equal;
            CHECKED(arith_equal(&arith, R[i.b], R[i.c], &equal));
            if (!equal && R[i.b].tag == TAG_TEXT)
                vm_note_case(vm, pc - 1, R[i.b], R[i.c]);
            R[i.a] = value_truth(equal == (i.op == OP_EQUAL));
            break;
        }
        case OP_LESS:
        case OP_LESS_EQUAL: {
            int order;
            CHECKED(arith_compare(&arith, R[i.b], R[i.c], &order));
            R[i.a] = value_truth(i.op == OP_LESS ? order < 0 : order <= 0);
            break;
        }
        case OP_NEAR: {
            bool near;
            CHECKED(arith_near(&arith, R[i.b], R[i.b + 1], R[i.b + 2], &near));
            R[i.a] = value_truth(near);
            break;
        }

        case OP_JUMP:
            if (i.d < 0)
                POLL();
            pc += i.d;
            break;
        case OP_JUMP_IF_FALSE:
        case OP_JUMP_IF_TRUE:
            if (R[i.a].tag != TAG_TRUTH) {
                bad_truth(vm, R[i.a]);
                goto failed;
            }
            if (R[i.a].as.truth == (i.op == OP_JUMP_IF_TRUE))
                pc += i.d;
            break;
        case OP_CHECK_TRUTH:
            if (R[i.a].tag != TAG_TRUTH) {
                bad_truth(vm, R[i.a]);
                goto failed;
            }
            break;
        case OP_TEST_EQUAL: {
            bool equal;
            CHECKED(arith_equal(&arith, R[i.b], R[i.c], &equal));
            if (!equal && R[i.b].tag == TAG_TEXT)
                vm_note_case(vm, pc - 1, R[i.b], R[i.c]);
            pc += equal == (i.x != 0) ? pc->d + 1 : 1;
            break;
        }
        case OP_TEST_LESS:
        case OP_TEST_LESS_K: {
            const Value *l = &R[i.b], *r = i.op == OP_TEST_LESS ? &R[i.c] : &K[i.c];
            bool less;
            if (BOTH_AMOUNTS_OF_ONE_UNIT(l, r)) {
                less = r->as.number - l->as.number > arith_tolerance(l->as.number, r->as.number);
            } else {
                int order;
                CHECKED(arith_compare(&arith, *l, *r, &order));
                less = order < 0;
            }
            pc += less == (i.x != 0) ? pc->d + 1 : 1;
            break;
        }
        case OP_TEST_LESS_EQUAL:
        case OP_TEST_LESS_EQUAL_K: {
            const Value *l = &R[i.b], *r = i.op == OP_TEST_LESS_EQUAL ? &R[i.c] : &K[i.c];
            bool less;
            if (BOTH_AMOUNTS_OF_ONE_UNIT(l, r)) {
                less = l->as.number - r->as.number <= arith_tolerance(l->as.number, r->as.number);
            } else {
                int order;
                CHECKED(arith_compare(&arith, *l, *r, &order));
                less = order <= 0;
            }
            pc += less == (i.x != 0) ? pc->d + 1 : 1;
            break;
        }

        case OP_CALL: {
            const Chunk *callee = vm->registry->formulas[i.d]->chunk;
            POLL();
            if (vm->frame_count > vm->limits.depth) {
                too_deep(vm);
                goto failed;
            }
            vm_frame(vm)->pc = pc;
            push_frame(vm, callee, (size_t)(R - vm->stack) + i.a);
            LOAD_FRAME();
            pc = chunk->code;
            break;
        }
        case OP_CALL_NATIVE:
            CHECKED(call_native(vm, &arith, vm->registry->formulas[i.d], &R[i.a], i.x));
            POLL();
            break;
        case OP_UNLESS_FORMULA:
            if (R[i.a].tag != TAG_FORMULA || R[i.a - i.x].tag != TAG_LIST)
                pc += i.d;
            break;
        case OP_CALL_VALUE: {
            int count = i.x;
            POLL(); /* a collection clears the registers beyond the frame's own, where defaults may go */
            const Formula *formula = vm_open_value_call(vm, pc - 1, &count, SPANS());
            REPORTED(formula != NULL);
            if (formula->native) {
                CHECKED(call_native(vm, &arith, formula, &R[i.a], count));
                break;
            }
            if (vm->frame_count > vm->limits.depth) {
                too_deep(vm);
                goto failed;
            }
            vm_frame(vm)->pc = pc;
            push_frame(vm, formula->chunk, (size_t)(R - vm->stack) + i.a);
            LOAD_FRAME();
            pc = chunk->code;
            break;
        }
        case OP_GIVE:
            R[0] = R[i.a];
            vm->frame_count--;
            if (vm->frame_count < entry)
                return true;
            pc = vm_frame(vm)->pc;
            LOAD_FRAME();
            break;
        case OP_NO_GIVE:
            fault_set(&vm->fault, MSG_NOTHING_GIVEN, ARGS(chunk->name));
            goto failed;
        case OP_DEFAULT:
            if (R[i.a].tag != TAG_ABSENT)
                pc += i.d;
            break;
        case OP_CHECK_KIND:
            CHECKED(vm_check_kind(vm, &chunk->kinds[i.d], R[i.a], i.x != 0));
            break;

        case OP_LIST: {
            ListObject *list = list_new(heap, i.c);
            memcpy(list->items, &R[i.b], i.c * sizeof(Value));
            R[i.a] = value_of_list(list);
            POLL();
            break;
        }
        case OP_LIST_BEGIN:
            vm_list_begin(vm);
            break;
        case OP_LIST_APPEND:
            CHECKED(vm_list_append(vm, R[i.a]));
            break;
        case OP_LIST_END:
            R[i.a] = vm_list_end(vm);
            POLL();
            break;
        case OP_RECORD:
            R[i.a] = vm_record(vm, K[i.c].as.list, &R[i.b]);
            break;
        case OP_RECORD_NAMED:
            CHECKED(vm_record_named(vm, R[i.c].as.list, &R[i.b], &R[i.a]));
            break;
        case OP_INDEX:
            CHECKED(vm_index(vm, R[i.b], R[i.c], &R[i.a]));
            break;
        case OP_FIELD:
            CHECKED(vm_field(vm, R[i.b], K[i.c].as.text, &R[i.a]));
            break;
        case OP_WITH:
            CHECKED(vm_with(vm, R[i.b], R[i.c], &R[i.a]));
            break;
        case OP_FORMAT:
            CHECKED(vm_format(vm, pc - 1, R[i.b], &R[i.a]));
            break;
        case OP_CONCAT:
            CHECKED(vm_concat(vm, &R[i.b], i.c, &R[i.a]));
            POLL();
            break;

        case OP_FOR_STEP: {
            bool has_turn;
            CHECKED(vm_for_step(vm, &R[i.a], i.x != 0, &has_turn));
            if (!has_turn)
                pc += i.d;
            break;
        }
        case OP_FOR_STEP_NEXT: {
            Value *range = &R[i.a];
            double turn = range[3].as.number + 1;
            if (turn >= range[4].as.number)
                break;
            range[3].as.number = turn;
            if (range[0].tag == TAG_AMOUNT)
                STORE(&range[5], range[0].as.number + turn * range[2].as.number, range[0].meta);
            else
                CHECKED(vm_for_step_value(vm, range));
            POLL();
            pc += i.d;
            break;
        }
        case OP_FOR_IN: {
            if (R[i.a].tag != TAG_LIST) {
                kind_fault_loop(arith.units, R[i.a], false, &vm->fault);
                goto failed;
            }
            R[i.a + 1] = value_number(0);
            if (R[i.a].as.list->count == 0)
                pc += i.d;
            else
                R[i.a + 2] = R[i.a].as.list->items[0];
            break;
        }
        case OP_FOR_IN_NEXT: {
            double position = R[i.a + 1].as.number + 1;
            if (position >= R[i.a].as.list->count)
                break;
            R[i.a + 1].as.number = position;
            R[i.a + 2] = R[i.a].as.list->items[(uint32_t)position];
            POLL();
            pc += i.d;
            break;
        }

        case OP_ENTRIES:
            CHECKED(vm_entries(vm, R[i.a], &R[i.a]));
            POLL();
            break;
        case OP_ENTRY: {
            const Value *entry_parts = R[i.a + 2].as.list->items;
            R[i.a + 3] = entry_parts[0];
            R[i.a + 4] = entry_parts[1];
            break;
        }

        case OP_WHILE_NEXT:
            R[i.a].as.number += 1;
            POLL();
            pc += i.d;
            break;

        case OP_PART_END:
            return true;
        case OP_FIND:
            REPORTED(vm_find(vm, &chunk->finds[i.d], SPANS().at));
            LOAD_FRAME();
            pc = chunk->code + chunk->finds[i.d].end;
            break;
        case OP_TABLE_BEGIN:
            vm_table_begin(vm, chunk, &chunk->tables[i.d]);
            break;
        case OP_TABLE_ROW:
            REPORTED(vm_table_row(vm, pc - 1, R[i.a], SPANS()));
            break;
        case OP_TABLE_DROP:
            vm_table_drop(vm);
            break;
        case OP_TABLE_TURN:
            REPORTED(vm_table_turn(vm, R[i.a], R[i.b], SPANS()));
            break;
        case OP_TABLE_COLUMN:
            REPORTED(vm_table_column(vm, &chunk->columns[i.d], SPANS()));
            LOAD_FRAME();
            pc = chunk->code + chunk->columns[i.d].end;
            break;
        case OP_TABLE_END:
            vm_table_end(vm);
            break;

#define OPCODE(name, operands)
#define RESULT(name, operands, function)                                                                     \
    case OP_##name:                                                                                          \
        REPORTED(function(vm, pc - 1, SPANS()));                                                             \
        break;
#include "values/opcode.def"
#undef OPCODE

        case OP_EXPECT_ERROR:
            REPORTED(vm_expect_error(vm, (int32_t)(pc - chunk->code), i.a, i.x != 0, SPANS()));
            LOAD_FRAME();
            pc += i.d;
            break;
        case OP_USE: {
            Module *module = vm->registry->modules[i.d];
            if (!module->has_run) {
                vm_frame(vm)->pc = pc;
                vm->report->silent++;
                bool ran = vm_run_module(vm, module);
                vm->report->silent--;
                REPORTED(ran);
                LOAD_FRAME();
            }
            break;
        }
        case OP_END:
            vm->frame_count--;
            return true;
        case OPCODE_COUNT:
            return false;
        }
        continue;
    failed:
        if (i.op == OP_CHECK_KIND && i.x == 0)
            return vm_fail_argument(vm, pc, i.a, SPANS());
        vm_fail(vm, SPANS());
    reported:
        vm_frame(vm)->pc = pc;
        return false;
    }
}

/* What is open when a run or a part of one begins: a failure closes all that was opened since. */
typedef struct Marks {
    int frames, builders, tables, muted;
} Marks;

static Marks take_marks(const Vm *vm) {
    return (Marks){vm->frame_count, vm->builder_count, vm->table_count, vm->report->muted};
}

static void drop_table(Vm *vm) {
    TableResult *table = vm->tables[--vm->table_count];
    vm->registry->heap->outside -= table_bytes(table);
    table_free(table);
}

/* A run that stops inside tables still gives the rows that were done. */
static void give_unfinished(Vm *vm, const Marks *marks) {
    while (vm->table_count > marks->tables) {
        bool has_rows = vm->tables[vm->table_count - 1]->row_count > 1;
        if (has_rows) {
            vm_table_drop(vm);
            vm_table_end(vm);
        } else {
            drop_table(vm);
        }
    }
}

static void close_to(Vm *vm, const Marks *marks) {
    vm->builder_count = marks->builders;
    while (vm->table_count > marks->tables)
        drop_table(vm);
    vm->report->muted = marks->muted;
}

/* As run_code, and a hidden run continues after a statement that has nothing to hand out. */
static bool execute(Vm *vm, const Instruction *pc) {
    const int entry = vm->frame_count;
    while (!run_code(vm, pc, entry)) {
        int tables = vm->table_count;
        pc = vm_behind_handout(vm, entry, &tables);
        while (pc && vm->table_count > tables)
            drop_table(vm);
        if (!pc)
            return false;
    }
    return true;
}

bool vm_run_module(Vm *vm, Module *module) {
    size_t base = 0;
    if (vm->frame_count)
        base = vm_frame(vm)->base + (size_t)vm_frame(vm)->chunk->registers + 1;
    Marks marks = take_marks(vm);
    module->has_run = true;
    push_frame(vm, module->main, base);
    bool ran = execute(vm, module->main->code);
    vm->frame_count = marks.frames;
    if (!ran) {
        module->has_run = false;
        give_unfinished(vm, &marks);
        close_to(vm, &marks);
    }
    return ran;
}

bool vm_run_part(Vm *vm, int32_t start) {
    Marks marks = take_marks(vm);
    CodeSpan spans = {.at = vm_frame(vm)->chunk->spans[start].at};
    if (vm->nesting >= NESTING_MAX) {
        too_deep(vm);
        return vm_fail(vm, spans);
    }
    /* a find may run thousands of parts that neither call nor loop */
    if ((--vm->polls_left <= 0 || heap_wants_collection(vm->registry->heap)) && !poll(vm))
        return vm_fail(vm, spans);
    vm->nesting++;
    bool ran = execute(vm, vm_frame(vm)->chunk->code + start);
    vm->nesting--;
    vm->frame_count = marks.frames;
    if (!ran)
        close_to(vm, &marks);
    return ran;
}

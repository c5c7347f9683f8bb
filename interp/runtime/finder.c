/* SPDX-FileCopyrightText: the Rundlet developers */
/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Bounds, trial values and evaluations of a `find`. A trial value is in the unknown's register, and in
 * its global so that formulas see it; evaluations are muted, and errors in them are worded only once. */
#include "runtime/finder.h"

#include <math.h>

#include "base/mem.h"
#include "values/value_arg.h"

/* ---- trial values ---- */

static void set_unknowns(Finder *f, const double *x) {
    Vm *vm = f->vm;
    for (int j = 0; j < f->plan->unknown_count; j++) {
        const FindUnknown *unknown = &f->plan->unknowns[j];
        Value value = value_quantity(vm->registry->units, x[j], f->units[j]);
        vm_registers(vm)[unknown->reg] = value;
        if (unknown->global >= 0)
            vm->registry->global_values[unknown->global] = value;
    }
}

static void restore_globals(Finder *f) {
    for (int j = 0; j < f->plan->unknown_count; j++) {
        const FindUnknown *unknown = &f->plan->unknowns[j];
        if (unknown->global >= 0)
            f->vm->registry->global_values[unknown->global] = vm_registers(f->vm)[unknown->old];
    }
}

/* The size of a side, for tolerances: readings count as 1, as their numbers depend on the scale they are
 * in. */
static double size_of(Value value) {
    if (value.tag != TAG_AMOUNT)
        return 1;
    return value.unit == UNIT_PERCENT ? fabs(value.as.number) / 100 : fabs(value.as.number);
}

static bool evaluate_condition(Finder *f, int i) {
    const FindPart *part = &f->plan->conditions[i];
    FinderGap *gap = &f->gaps[i];
    if (!vm_run_part(f->vm, part->start))
        return false;
    Arith arith = vm_arith(f->vm);
    const Value *registers = vm_registers(f->vm);
    Value left = registers[part->left], right = registers[part->right];
    if (!arith_gap(&arith, left, right, &gap->gap))
        return vm_fail(f->vm,
                       (CodeSpan){.at = part->span, .left = part->left_span, .right = part->right_span});
    gap->size = fmax(size_of(left), fabs(gap->gap));
    gap->left_moves = gap->left_moves || (gap->has_value && left.as.number != gap->last_left);
    gap->right_moves = gap->right_moves || (gap->has_value && right.as.number != gap->last_right);
    gap->last_left = left.as.number;
    gap->last_right = right.as.number;
    gap->has_value = true;
    return true;
}

static bool evaluate_goal(Finder *f) {
    const FindPart *part = &f->plan->goal;
    if (!vm_run_part(f->vm, part->start))
        return false;
    Value value = vm_registers(f->vm)[part->left];
    if (!value_is_quantity(value)) {
        fault_set(&f->vm->fault, MSG_FIND_GOAL, ARGS(arg_kind(f->vm->registry->units, value)));
        return vm_fail(f->vm, (CodeSpan){.at = part->span});
    }
    if (f->first_goal.tag == TAG_NONE)
        f->first_goal = value;
    Arith arith = vm_arith(f->vm);
    if (!arith_gap(&arith, f->first_goal, value, &f->goal))
        return vm_fail(f->vm, (CodeSpan){.at = part->span});
    f->goal = -f->goal;
    return true;
}

/* Always all of it, in order: so the sources of ± keep their numbers. */
static bool evaluate_all(Finder *f, const double *x) {
    set_unknowns(f, x);
    f->vm->worlds->next_source = f->first_source;
    for (int i = 0; i < f->plan->condition_count; i++)
        if (!evaluate_condition(f, i))
            return false;
    return !f->plan->direction || evaluate_goal(f);
}

bool finder_evaluate(Finder *f, const double *x) {
    Vm *vm = f->vm;
    if (f->stopped)
        return false;
    bool was_quiet = vm->quiet;
    vm->quiet = was_quiet || f->first_error != NULL;
    bool evaluated = evaluate_all(f, x);
    vm->quiet = was_quiet;
    if (evaluated)
        return true;
    f->stopped = vm_error_is_final(vm);
    if (!f->stopped && !f->first_error) {
        f->first_error = vm->error;
        vm->error = NULL;
    } else if (!f->stopped) {
        vm_drop_error(vm);
    }
    return false;
}

/* One of the unknowns, as what was weighed out by this find. */
static uint64_t place_of(const Finder *f, int unknown) {
    return f->place + (uint64_t)unknown * 0xd1342543de82ef95u;
}

/* The answer of a find in the script as it is; not that of one within the trials of another. */
static void weigh_out(Finder *f, const double *x) {
    Worlds *worlds = f->vm->worlds;
    if (worlds->mode != WORLD_CENTRAL || f->vm->probing > 0)
        return;
    for (int j = 0; j < f->plan->unknown_count; j++)
        worlds_judge(worlds, place_of(f, j), value_quantity(f->vm->registry->units, x[j], f->units[j]),
                     JUDGE_WEIGHED);
}

bool finder_settle(Finder *f, const double *x) {
    Vm *vm = f->vm;
    vm->report->muted--;
    vm->report->silent++;
    vm->probing--;
    bool evaluated = finder_evaluate(f, x);
    if (evaluated)
        weigh_out(f, x);
    vm->probing++;
    vm->report->silent--;
    vm->report->muted++;
    set_unknowns(f, x);
    return evaluated;
}

void finder_record_beside(Finder *f, const double *x, int steps) {
    Recorder *recorder = f->vm->recorder;
    double beside = *x + steps;
    if (!recorder || f->vm->probing > 1 || worlds_are_moved(f->vm->worlds) || beside < f->low[0] ||
        beside > f->high[0])
        return;
    recorder->beside = steps;
    recorder->beside_depth = f->vm->frame_count;
    if (!finder_evaluate(f, &beside)) { /* it may have no value there, or there is no time for it */
        vm_drop_error(f->vm);
        f->stopped = false;
    }
    recorder->beside = 0;
    set_unknowns(f, x);
}

bool finder_recall(Finder *f, double *x) {
    if (f->vm->probing > 1)
        return false;
    for (int j = 0; j < f->plan->unknown_count; j++)
        if (!worlds_recall(f->vm->worlds, place_of(f, j), f->units[j], &x[j]))
            return false;
    if (!finder_settle(f, x)) /* what it meets need not hold there */
        vm_drop_error(f->vm);
    return true;
}

bool finder_holds(const Finder *f, int condition, double gap, double size) {
    double tolerance = arith_tolerance(size, 0);
    switch (f->plan->conditions[condition].relation) {
    case RELATION_EQUAL:
        return fabs(gap) <= tolerance;
    case RELATION_LESS_EQUAL:
        return gap <= tolerance;
    case RELATION_GREATER_EQUAL:
        return gap >= -tolerance;
    }
    return false;
}

/* ---- messages ---- */

MessageArg finder_at(const Finder *f, int unknown, double x) {
    return arg_value(f->vm->registry->units, value_quantity(f->vm->registry->units, x, f->units[unknown]));
}

bool finder_fail_everywhere(Finder *f) {
    vm_drop_error(f->vm);
    f->vm->error = f->first_error;
    f->first_error = NULL;
    return false;
}

bool finder_fail_hint(Finder *f, MessageId id, MessageArg *args, MessageId hint, MessageArg *hint_args,
                      Span at) {
    fault_clear(&f->vm->fault);
    fault_set(&f->vm->fault, id, args);
    fault_hint(&f->vm->fault, hint, hint_args);
    return vm_fail(f->vm, (CodeSpan){.at = at});
}

bool finder_fail(Finder *f, MessageId id, MessageArg *args, Span at) {
    return finder_fail_hint(f, id, args, MSG_NONE, NO_ARGS, at);
}

void finder_note_several(Finder *f, double first, double second) {
    f->vm->report->muted--;
    vm_note(f->vm, NOTE_SEVERAL,
            ARGS(f->plan->unknowns[0].name, finder_at(f, 0, first), finder_at(f, 0, second)));
    f->vm->report->muted++;
}

/* ---- set-up ---- */

static Span bounds_span(const FindUnknown *unknown) {
    return span_join(unknown->from_span, unknown->to_span);
}

static bool fail_bound_kinds(Finder *f, const FindUnknown *unknown, Value from, Value to) {
    const UnitTable *units = f->vm->registry->units;
    return finder_fail(f, MSG_FIND_BOUND, ARGS(arg_kind(units, from), arg_kind(units, to)),
                       bounds_span(unknown));
}

static bool read_bounds(Finder *f, int j) {
    Vm *vm = f->vm;
    const UnitTable *units = vm->registry->units;
    const FindUnknown *unknown = &f->plan->unknowns[j];
    Value from = vm_registers(vm)[unknown->from], to = vm_registers(vm)[unknown->to];
    if (value_is_plain(to) && from.meta == VALUE_META(TAG_AMOUNT, UNIT_PERCENT))
        to = value_amount(to.as.number * 100, UNIT_PERCENT);
    if (!value_is_quantity(from) || !value_is_quantity(to) || !unit_same_kind(units, from.unit, to.unit))
        return fail_bound_kinds(f, unknown, from, to);
    if (!unit_convert(vm->registry->units, to.as.number, to.unit, from.unit, &f->high[j], &vm->fault))
        return vm_fail(vm, (CodeSpan){.at = unknown->to_span});
    f->low[j] = from.as.number;
    f->units[j] = from.unit;
    if (f->high[j] >= f->low[j])
        return true;
    return finder_fail(f, MSG_FIND_REVERSED,
                       ARGS(unknown->name, arg_value(units, from), arg_value(units, to)),
                       bounds_span(unknown));
}

static void release(Finder *f) {
    mem_free(f->low);
    mem_free(f->units);
    mem_free(f->gaps);
    diag_free(f->first_error);
}

bool finder_open(Finder *f, Vm *vm, const FindPlan *plan) {
    size_t n = (size_t)plan->unknown_count;
    *f =
        (Finder){.vm = vm, .plan = plan, .first_goal = value_none(), .first_source = vm->worlds->next_source};
    f->low = mem_array(2 * n, sizeof *f->low);
    f->high = f->low + n;
    f->units = mem_array(n, sizeof *f->units);
    f->gaps = mem_array((size_t)plan->condition_count + 1, sizeof *f->gaps);
    for (int j = 0; j < plan->unknown_count; j++) {
        if (!read_bounds(f, j)) {
            release(f);
            return false;
        }
    }
    for (int j = 0; j < plan->unknown_count; j++) /* in a register, where a collection finds it */
        vm_registers(vm)[plan->unknowns[j].old] = plan->unknowns[j].global >= 0
                                                      ? vm->registry->global_values[plan->unknowns[j].global]
                                                      : value_none();
    f->muted = vm->report->muted++;
    vm->probing++;
    if (vm->worlds->mode != WORLD_PLAIN)
        f->place = vm_place(vm, vm_frame(vm)->chunk->code + plan->end - 1);
    return true;
}

bool finder_close(Finder *f, bool found) {
    f->vm->report->muted = f->muted;
    f->vm->probing--;
    found = found && !f->stopped;
    if (!found)
        restore_globals(f);
    if (!found && !f->vm->error && !f->vm->quiet)
        finder_fail_everywhere(f);
    release(f);
    return found;
}

/* SPDX-License-Identifier: GPL-3.0-or-later */
/* `find` with one unknown (language.md §7): look at even steps of the range, close in on each change of sign, and make
 * sure that what was found is a solution and neither a jump nor a pole. */
#include <float.h>
#include <math.h>

#include "base/mem.h"
#include "numbers/numeric.h"
#include "runtime/vm_parts.h"

enum { FIND_STEPS = 200, WHOLE_MAX = 1000000, GOLDEN_STEPS = 60 };

typedef struct Finder {
    Vm *vm;
    const FindPlan *plan;
    const FindUnknown *unknown;
    const FindPart *part;
    Value from, to;      /* `to` in the unit of `from` */
    Value old_global;    /* to be put back when nothing is found */
    Diag *first_error;   /* of a value where a side failed */
    bool stopped;        /* a limit or an interruption */
    double scale;        /* size of the sides where last evaluated */
    double jump;         /* where the sides first jumped past each other; NUMERIC_NONE: nowhere */
    int first_source;    /* a ± evaluated again by another trial value is the same source */
} Finder;

/* ---- trial values ---- */

static void set_unknown(Finder *f, double x) {
    Value value = value_quantity(f->vm->registry->units, x, f->from.unit);
    vm_registers(f->vm)[f->unknown->reg] = value;
    if (f->unknown->global >= 0)
        f->vm->registry->global_values[f->unknown->global] = value;
}

static bool evaluate_sides(Finder *f, double x, double *gap) {
    Vm *vm = f->vm;
    set_unknown(f, x);
    vm->worlds->next_source = f->first_source;
    if (!vm_run_part(vm, f->part->start))
        return false;
    Arith arith = vm_arith(vm);
    const Value *registers = vm_registers(vm);
    Value left = registers[f->part->left], right = registers[f->part->right];
    if (!arith_gap(&arith, left, right, gap))
        return vm_fail(vm, (CodeSpan){.at = f->part->span, .left = f->part->left_span, .right = f->part->right_span});
    f->scale = fmax(fabs(left.as.number), fabs(*gap));
    return true;
}

/* Left − right at x; NUMERIC_NONE where a side is an error. The first such error is kept, later ones are not worded. */
static double gap_at(double x, void *context) {
    Finder *f = context;
    double gap;
    if (f->stopped)
        return NUMERIC_NONE;
    bool was_quiet = f->vm->quiet;
    f->vm->quiet = was_quiet || f->first_error != NULL;
    bool evaluated = evaluate_sides(f, x, &gap);
    f->vm->quiet = was_quiet;
    if (evaluated)
        return gap;
    f->stopped = vm_error_is_final(f->vm);
    if (!f->stopped && !f->first_error) {
        f->first_error = f->vm->error;
        f->vm->error = NULL;
    } else if (!f->stopped) {
        vm_drop_error(f->vm);
    }
    return NUMERIC_NONE;
}

/* ---- roots ---- */

typedef struct Scan {
    double x[FIND_STEPS + 1];
    double gap[FIND_STEPS + 1];
    double scale[FIND_STEPS + 1];
} Scan;

static double range_of(const Finder *f) {
    return f->to.as.number - f->from.as.number;
}

static void scan_range(Finder *f, Scan *scan) {
    for (int i = 0; i <= FIND_STEPS && !f->stopped; i++) {
        scan->x[i] = i == FIND_STEPS ? f->to.as.number : f->from.as.number + range_of(f) * i / FIND_STEPS;
        scan->gap[i] = gap_at(scan->x[i], f);
        scan->scale[i] = f->scale;
    }
}

static bool is_solution(double gap, double scale) {
    return fabs(gap) <= 1e-9 * fmax(1, scale);
}

/* Is the change of sign at x one that passes through zero? A jump or a pole stays large on one side however near. */
static bool passes_through_zero(Finder *f, double x, double outer_gap) {
    double step = fmax(1e-11 * range_of(f), 4 * DBL_EPSILON * fabs(x));
    double low = gap_at(fmax(x - step, f->from.as.number), f), high = gap_at(fmin(x + step, f->to.as.number), f);
    if (isnan(low) || isnan(high))
        return is_solution(gap_at(x, f), f->scale);
    double worst = fmax(fabs(low), fabs(high));
    return worst <= 1e-9 * fmax(1, f->scale) || worst <= 1e-3 * outer_gap;
}

static bool close_in(Finder *f, double low, double high, double outer_gap, double *root) {
    double tolerance = fmax(1e-12 * range_of(f), DBL_MIN);
    if (!numeric_find_root(gap_at, f, low, high, tolerance, root))
        return false;
    if (passes_through_zero(f, *root, outer_gap))
        return true;
    if (isnan(f->jump))
        f->jump = *root;
    return false;
}

/* A root that touches without crossing: the smallest |gap| between two steps (golden section). */
static bool touch(Finder *f, double low, double high, double sign, double *root) {
    const double ratio = 0.6180339887498949;
    double a = high - ratio * (high - low), b = low + ratio * (high - low);
    double gap_a = gap_at(a, f) * sign, gap_b = gap_at(b, f) * sign;
    for (int i = 0; i < GOLDEN_STEPS && !isnan(gap_a) && !isnan(gap_b); i++) {
        if (gap_a < 0 || gap_b < 0) { /* it crosses after all, twice: the first crossing is in reach */
            double crossing = gap_a < 0 ? a : b;
            return close_in(f, low, crossing, fabs(gap_at(low, f)), root);
        }
        if (gap_a < gap_b) {
            high = b;
            b = a;
            gap_b = gap_a;
            a = high - ratio * (high - low);
            gap_a = gap_at(a, f) * sign;
        } else {
            low = a;
            a = b;
            gap_a = gap_b;
            b = low + ratio * (high - low);
            gap_b = gap_at(b, f) * sign;
        }
    }
    *root = (low + high) / 2;
    double gap = gap_at(*root, f);
    return !isnan(gap) && is_solution(gap, f->scale);
}

/* Does a solution lie in step i to i + 1, or touch around i? */
static bool root_at(Finder *f, const Scan *scan, int i, double *root) {
    double gap = scan->gap[i];
    if (isnan(gap))
        return false;
    bool at_end = i == 0 || i == FIND_STEPS || isnan(scan->gap[i - 1]) || isnan(scan->gap[i + 1]);
    if (gap == 0 || (at_end && fabs(gap) <= 1e-12 * fmax(1, scan->scale[i]))) {
        *root = scan->x[i];
        return true;
    }
    if (i == FIND_STEPS)
        return false;
    double next = scan->gap[i + 1];
    if (next != 0 && !isnan(next) && (gap < 0) != (next < 0))
        return close_in(f, scan->x[i], scan->x[i + 1], fmax(fabs(gap), fabs(next)), root);
    if (i == 0 || isnan(next) || isnan(scan->gap[i - 1]))
        return false;
    double before = scan->gap[i - 1];
    bool lowest = fabs(gap) <= fabs(before) && fabs(gap) <= fabs(next) && (before < 0) == (gap < 0) && next != 0;
    return lowest && fabs(gap) < fmax(fabs(before), fabs(next)) && touch(f, scan->x[i - 1], scan->x[i + 1], gap < 0 ? -1 : 1, root);
}

static bool is_flat(const Scan *scan) {
    double low = 0, high = 0, scale = 1;
    bool any = false;
    for (int i = 0; i <= FIND_STEPS; i++) {
        if (isnan(scan->gap[i]))
            return false;
        low = any ? fmin(low, scan->gap[i]) : scan->gap[i];
        high = any ? fmax(high, scan->gap[i]) : scan->gap[i];
        scale = fmax(scale, scan->scale[i]);
        any = true;
    }
    return high - low <= 1e-13 * scale;
}

/* ---- what is said ---- */

static char *shown_x(Finder *f, double x) {
    return vm_shown(f->vm, value_quantity(f->vm->registry->units, x, f->from.unit));
}

/* "at 0 gal: 1.050 SG against 1.080 SG" */
static void describe_end(Finder *f, double x, Text *out) {
    char *place = shown_x(f, x);
    bool there = !isnan(gap_at(x, f));
    text_add_string(out, "at ");
    text_add_string(out, place);
    if (there) {
        char *left = vm_shown(f->vm, vm_registers(f->vm)[f->part->left]);
        char *right = vm_shown(f->vm, vm_registers(f->vm)[f->part->right]);
        text_add_string(out, " they are ");
        text_add_string(out, left);
        text_add_string(out, " and ");
        text_add_string(out, right);
        mem_free(left);
        mem_free(right);
    } else {
        text_add_string(out, " one of them is an error");
    }
    mem_free(place);
}

static void restore_global(Finder *f) {
    if (f->unknown->global >= 0)
        f->vm->registry->global_values[f->unknown->global] = f->old_global;
}

/* No solution: both ends are shown, and nothing is bound. */
static bool give_up(Finder *f, MessageId id) {
    Text hint = {0};
    char *from = shown_x(f, f->from.as.number), *to = shown_x(f, f->to.as.number);
    describe_end(f, f->from.as.number, &hint);
    text_add_string(&hint, "; ");
    describe_end(f, f->to.as.number, &hint);
    restore_global(f);
    fault_clear(&f->vm->fault);
    if (isnan(f->jump)) {
        fault_set(&f->vm->fault, id, ARGS(f->unknown->name, from, to));
    } else {
        char *jump = shown_x(f, f->jump);
        fault_set(&f->vm->fault, MSG_FIND_NOT_CONVERGED, ARGS(f->unknown->name, from, to, jump));
        mem_free(jump);
    }
    fault_hint(&f->vm->fault, text_string(&hint));
    text_free(&hint);
    mem_free(from);
    mem_free(to);
    return vm_fail(f->vm, (CodeSpan){.at = f->part->span});
}

static bool fail_with(Finder *f, MessageId id, const char *second, Span at) {
    restore_global(f);
    fault_set(&f->vm->fault, id, second ? ARGS(f->unknown->name, second) : ARGS(f->unknown->name));
    return vm_fail(f->vm, (CodeSpan){.at = at});
}

/* Every value of the range failed: the first failure is the answer. */
static bool fail_everywhere(Finder *f) {
    restore_global(f);
    vm_drop_error(f->vm);
    f->vm->error = f->first_error;
    f->first_error = NULL;
    return false;
}

static bool nothing_found(Finder *f, const Scan *scan) {
    bool any = false;
    for (int i = 0; i <= FIND_STEPS; i++)
        any = any || !isnan(scan->gap[i]);
    if (!any && f->first_error)
        return fail_everywhere(f);
    if (is_flat(scan))
        return fail_with(f, MSG_FIND_FLAT, NULL, f->part->span);
    return give_up(f, f->part->relation == RELATION_EQUAL ? MSG_FIND_NO_SOLUTION : MSG_FIND_NONE_HOLDS);
}

/* The value stands: one last evaluation, whose cautions count. */
static bool settle(Finder *f, double x) {
    Vm *vm = f->vm;
    vm->report->muted--;
    vm->report->silent++;
    double gap = gap_at(x, f);
    vm->report->silent--;
    vm->report->muted++;
    set_unknown(f, x);
    return !isnan(gap) && !f->stopped;
}

static void note_several(Finder *f, double first, double second) {
    char *taken = shown_x(f, first), *other = shown_x(f, second);
    Text note = {0};
    text_add_string(&note, f->unknown->name);
    text_add_string(&note, " has several solutions: ");
    text_add_string(&note, taken);
    text_add_string(&note, " is the smallest and is taken, the next is ");
    text_add_string(&note, other);
    f->vm->report->muted--;
    report_text(f->vm->report, ITEM_NOTE, text_string(&note));
    f->vm->report->muted++;
    text_free(&note);
    mem_free(taken);
    mem_free(other);
}

/* ---- the three kinds of question ---- */

static bool find_equal(Finder *f) {
    Scan scan;
    scan_range(f, &scan);
    if (f->stopped)
        return false;
    double root = 0, other;
    int i = 0;
    while (i <= FIND_STEPS && !root_at(f, &scan, i, &root))
        i++;
    if (f->stopped)
        return false;
    if (i > FIND_STEPS || (range_of(f) > 0 && is_flat(&scan)))
        return nothing_found(f, &scan);
    for (int j = i + 1; j <= FIND_STEPS; j++) {
        if (!root_at(f, &scan, j, &other) || fabs(other - root) <= 1e-6 * range_of(f))
            continue;
        note_several(f, root, other);
        break;
    }
    return settle(f, root);
}

static bool holds(const Finder *f, double gap) {
    double tolerance = 1e-9 * fmax(1, f->scale);
    switch (f->part->relation) {
    case RELATION_EQUAL:
        return fabs(gap) <= tolerance;
    case RELATION_LESS_EQUAL:
        return gap <= tolerance;
    case RELATION_GREATER_EQUAL:
        return gap >= -tolerance;
    }
    return false;
}

/* The smallest value of the range that meets an inequality: the first step that does, closed in from the one before. */
static bool find_least(Finder *f) {
    Scan scan;
    scan_range(f, &scan);
    if (f->stopped)
        return false;
    int i = 0;
    while (i <= FIND_STEPS) {
        f->scale = scan.scale[i];
        if (!isnan(scan.gap[i]) && holds(f, scan.gap[i]))
            break;
        i++;
    }
    if (i > FIND_STEPS)
        return nothing_found(f, &scan);
    double low = i ? scan.x[i - 1] : scan.x[0], high = scan.x[i];
    while (i && high - low > 1e-12 * range_of(f)) {
        double middle = low + (high - low) / 2;
        if (middle <= low || middle >= high)
            break;
        double gap = gap_at(middle, f);
        if (!isnan(gap) && holds(f, gap))
            high = middle;
        else
            low = middle;
    }
    return settle(f, high);
}

static bool find_whole(Finder *f) {
    double first = ceil(f->from.as.number - 1e-9), last = floor(f->to.as.number + 1e-9);
    if (last - first > WHOLE_MAX) {
        char *from = shown_x(f, first), *to = shown_x(f, last);
        fault_set(&f->vm->fault, MSG_FIND_WHOLE_STEPS, ARGS(from, to));
        mem_free(from);
        mem_free(to);
        restore_global(f);
        return vm_fail(f->vm, (CodeSpan){.at = span_join(f->unknown->from_span, f->unknown->to_span)});
    }
    bool any = false;
    for (double x = first; x <= last && !f->stopped; x++) {
        double gap = gap_at(x, f);
        any = any || !isnan(gap);
        if (!isnan(gap) && holds(f, gap))
            return settle(f, x);
    }
    if (f->stopped)
        return false;
    if (!any && f->first_error)
        return fail_everywhere(f);
    return give_up(f, f->part->relation == RELATION_EQUAL ? MSG_FIND_NO_SOLUTION : MSG_FIND_NONE_HOLDS);
}

/* ---- set-up ---- */

static bool bounds_fault(Finder *f, MessageId id, const char *a, const char *b, const char *c) {
    fault_set(&f->vm->fault, id, c ? ARGS(a, b, c) : ARGS(a, b));
    return vm_fail(f->vm, (CodeSpan){.at = span_join(f->unknown->from_span, f->unknown->to_span)});
}

static bool read_bounds(Finder *f) {
    Vm *vm = f->vm;
    const UnitTable *units = vm->registry->units;
    Value from = vm_registers(vm)[f->unknown->from], to = vm_registers(vm)[f->unknown->to];
    if (value_is_plain(to) && from.meta == VALUE_META(TAG_AMOUNT, UNIT_PERCENT))
        to = value_amount(to.as.number * 100, UNIT_PERCENT);
    if (!value_is_quantity(from) || !value_is_quantity(to) || !unit_same_kind(units, from.unit, to.unit)) {
        Text a = {0}, b = {0};
        value_describe(units, from, &a);
        value_describe(units, to, &b);
        bounds_fault(f, MSG_FIND_BOUND, text_string(&a), text_string(&b), NULL);
        text_free(&a);
        text_free(&b);
        return false;
    }
    double end;
    if (!unit_convert(units, to.as.number, to.unit, from.unit, &end, &vm->fault))
        return vm_fail(vm, (CodeSpan){.at = f->unknown->to_span});
    f->from = from;
    f->to = value_quantity(units, end, from.unit);
    if (end >= from.as.number)
        return true;
    char *a = vm_shown(vm, from), *b = vm_shown(vm, to);
    bounds_fault(f, MSG_FIND_REVERSED, f->unknown->name, a, b);
    mem_free(a);
    mem_free(b);
    return false;
}

bool vm_find(Vm *vm, const FindPlan *plan, Span span) {
    if (plan->unknown_count != 1 || plan->condition_count != 1 || plan->direction) {
        fault_set(&vm->fault, MSG_FIND_SEVERAL, NO_ARGS);
        return vm_fail(vm, (CodeSpan){.at = span});
    }
    Finder f = {.vm = vm,
                .plan = plan,
                .unknown = &plan->unknowns[0],
                .part = &plan->conditions[0],
                .jump = NUMERIC_NONE,
                .first_source = vm->worlds->next_source};
    if (!read_bounds(&f))
        return false;
    if (f.unknown->global >= 0)
        f.old_global = vm->registry->global_values[f.unknown->global];
    int muted = vm->report->muted++;
    bool found = f.unknown->whole                        ? find_whole(&f)
                 : f.part->relation == RELATION_EQUAL ? find_equal(&f)
                                                      : find_least(&f);
    vm->report->muted = muted;
    if (f.stopped || !found)
        restore_global(&f);
    diag_free(f.first_error);
    return found && !f.stopped;
}

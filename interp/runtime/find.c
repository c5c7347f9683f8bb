/* SPDX-FileCopyrightText: the Rundlet developers */
/* SPDX-License-Identifier: GPL-3.0-or-later */
/* `find` with one unknown and one condition (docs/reference/language.md, "Working backwards"): look at even
 * steps of the range, close in on each change of sign, and make sure that what was found is a solution and
 * neither a jump nor a pole. */
#include <math.h>

#include "base/mem.h"
#include "numbers/numeric.h"
#include "find/scan.h"
#include "runtime/finder.h"
#include "values/value_arg.h"

enum { WHOLE_MOST = 1000000 };
#define APART 1e-6 /* of the range: two solutions nearer than this are one */

static double gap_at(double x, void *context, double *size) {
    Finder *f = context;
    if (!finder_evaluate(f, &x))
        return NUMERIC_NONE;
    *size = f->gaps[0].size;
    return f->gaps[0].gap;
}

static bool has_value(const Finder *f) {
    return f->gaps[0].has_value;
}

/* ---- messages ---- */

/* "at 0 L they are 1.044 SG and 1.066 SG" */
static MessageArg end_of(Finder *f, double x) {
    const FindPart *part = &f->plan->conditions[0];
    const UnitTable *units = f->vm->registry->units;
    if (!finder_evaluate(f, &x))
        return arg_phrase(PHRASE_AT_END_NOTHING, ARGS(finder_at(f, 0, x)));
    return arg_phrase(PHRASE_AT_END,
                      ARGS(finder_at(f, 0, x), arg_value(units, vm_registers(f->vm)[part->left]),
                           arg_value(units, vm_registers(f->vm)[part->right])));
}

/* No solution: both ends are shown, and nothing is bound. `jump`: where the sides jump past each other, or no
 * number. */
static bool give_up(Finder *f, double jump) {
    const FindPart *part = &f->plan->conditions[0];
    if (f->stopped || f->vm->quiet) /* within the trial of another find nobody hears it */
        return false;
    MessageId id = !isnan(jump)                       ? MSG_FIND_JUMP
                   : part->relation == RELATION_EQUAL ? MSG_FIND_NO_SOLUTION
                                                      : MSG_FIND_NONE_HOLDS;
    MessageArg low = end_of(f, f->low[0]), high = end_of(f, f->high[0]);
    MessageArg where = isnan(jump) ? arg_text("") : finder_at(f, 0, jump);
    return finder_fail_hint(
        f, id,
        ARGS(f->plan->unknowns[0].name, finder_at(f, 0, f->low[0]), finder_at(f, 0, f->high[0]), where),
        HINT_FIND_ENDS, ARGS(low, high), part->span);
}

static bool nothing_found(Finder *f, const Scan *scan) {
    if (f->stopped)
        return false;
    if (scan_is_empty(scan) && f->first_error)
        return finder_fail_everywhere(f);
    if (scan_is_flat(scan))
        return finder_fail(f, MSG_FIND_FLAT, ARGS(f->plan->unknowns[0].name), f->plan->conditions[0].span);
    return give_up(f, scan->jump);
}

/* ---- the three kinds of question ---- */

static bool find_equal(Finder *f, Scan *scan) {
    double root = 0, range = f->high[0] - f->low[0];
    int i = 0;
    while (i < scan->count && !scan_root(scan, i, &root))
        i++;
    if (i == scan->count || (range > 0 && scan_is_flat(scan)))
        return nothing_found(f, scan);
    for (int j = i + 1; j < scan->count && !f->stopped; j++) {
        double other;
        if (!scan_root(scan, j, &other) || other - root <= APART * range)
            continue;
        finder_note_several(f, root, other);
        break;
    }
    return finder_settle(f, &root);
}

/* Is the condition met without its tolerance? Then the value closed in on is the border itself. */
static bool holds_strictly(const Finder *f, double gap) {
    return f->plan->conditions[0].relation == RELATION_LESS_EQUAL ? gap <= 0 : gap >= 0;
}

/* The smallest value of the range that meets an inequality: the first step that does, closed in from the one
 * before. */
static bool find_least(Finder *f, Scan *scan) {
    int i = 0;
    while (i < scan->count &&
           (isnan(scan->nodes[i].gap) || !finder_holds(f, 0, scan->nodes[i].gap, scan->nodes[i].size)))
        i++;
    if (i == scan->count)
        return nothing_found(f, scan);
    double low = scan->nodes[i ? i - 1 : 0].x, high = scan->nodes[i].x;
    while (holds_strictly(f, scan->nodes[i].gap) && !f->stopped) {
        double middle = low + (high - low) / 2;
        if (middle <= low || middle >= high)
            break;
        if (finder_evaluate(f, &middle) && holds_strictly(f, f->gaps[0].gap))
            high = middle;
        else
            low = middle;
    }
    return finder_settle(f, &high);
}

static bool fail_whole_steps(Finder *f, double first, double last) {
    const FindUnknown *unknown = &f->plan->unknowns[0];
    return finder_fail(f, MSG_FIND_WHOLE_STEPS, ARGS(finder_at(f, 0, first), finder_at(f, 0, last)),
                       span_join(unknown->from_span, unknown->to_span));
}

static bool find_whole(Finder *f) {
    double first = ceil(f->low[0] - 1e-9), steps = floor(f->high[0] + 1e-9) - first;
    if (steps > WHOLE_MOST)
        return fail_whole_steps(f, first, first + steps);
    for (int i = 0; i <= steps && !f->stopped; i++) {
        double x = first + i;
        if (!finder_evaluate(f, &x) || !finder_holds(f, 0, f->gaps[0].gap, f->gaps[0].size))
            continue;
        bool settled = finder_settle(f, &x);
        for (int beside = -1; beside <= 1 && settled; beside += 2)
            finder_record_beside(f, &x, beside);
        return settled;
    }
    if (!f->stopped && !has_value(f) && f->first_error)
        return finder_fail_everywhere(f);
    return give_up(f, NUMERIC_NONE);
}

static bool find_on_range(Finder *f) {
    Scan scan;
    scan_range(&scan, gap_at, f, f->low[0], f->high[0]);
    return f->plan->conditions[0].relation == RELATION_EQUAL ? find_equal(f, &scan) : find_least(f, &scan);
}

bool vm_find(Vm *vm, const FindPlan *plan, Span span) {
    Finder f;
    if (plan->unknown_count != 1 || plan->condition_count != 1 || plan->direction)
        return vm_find_many(vm, plan, span);
    if (!finder_open(&f, vm, plan))
        return false;
    double weighed;
    if (finder_recall(&f, &weighed))
        return finder_close(&f, true);
    return finder_close(&f, plan->unknowns[0].whole ? find_whole(&f) : find_on_range(&f));
}

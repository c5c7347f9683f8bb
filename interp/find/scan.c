/* SPDX-FileCopyrightText: the Rundlet developers */
/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Even steps, changes of sign, touching roots, jumps. The function may cost a run of a script, so a root
 * takes about ten calls and the proof that it is one four more. */
#include "find/scan.h"

#include <float.h>
#include <math.h>

#include "numbers/numeric.h"

enum { GOLDEN_STEPS = 80, EDGE_STEPS = 45 };
#define GOLDEN_RATIO 0.6180339887498949
/* A root is closed to this of the range: far below the promised 1e-12, so that one near 0 in a wide range is
 * good too. The method converges so fast at its end that this costs two calls. */
#define CLOSENESS 1e-18
/* The wide and the near distance at which a root's surroundings are compared, of the range. */
#define WIDE 1e-7

/* Is a gap nothing beside the size of its sides? (docs/reference/language.md, "Expressions") */
static bool is_zero(double gap, double size) {
    return fabs(gap) <= 1e-9 * fmax(1, size);
}

static ScanNode node_at(const Scan *scan, double x) {
    ScanNode node = {.x = x};
    node.gap = scan->function(x, scan->context, &node.size);
    return node;
}

/* ---- the steps ---- */

/* Between a step with a value and one without: the last value towards the other. */
static ScanNode edge_between(const Scan *scan, ScanNode inside, double outside) {
    for (int i = 0; i < EDGE_STEPS; i++) {
        double middle = inside.x + (outside - inside.x) / 2;
        if (middle == inside.x || middle == outside)
            break;
        ScanNode tried = node_at(scan, middle);
        if (isnan(tried.gap))
            outside = middle;
        else
            inside = tried;
    }
    return inside;
}

void scan_range(Scan *scan, ScanFunction function, void *context, double low, double high) {
    scan->function = function;
    scan->context = context;
    scan->low = low;
    scan->high = high;
    scan->count = 0;
    scan->jump = NUMERIC_NONE;
    for (int i = 0; i <= SCAN_STEPS; i++) {
        ScanNode node = node_at(scan, i == SCAN_STEPS ? high : low + (high - low) * i / SCAN_STEPS);
        ScanNode before = i ? scan->nodes[scan->count - 1] : node;
        if (isnan(before.gap) && !isnan(node.gap)) {
            ScanNode edge = edge_between(scan, node, before.x);
            if (edge.x != node.x)
                scan->nodes[scan->count++] = edge;
        } else if (!isnan(before.gap) && isnan(node.gap)) {
            ScanNode edge = edge_between(scan, before, node.x);
            if (edge.x != before.x)
                scan->nodes[scan->count++] = edge;
        }
        scan->nodes[scan->count++] = node;
    }
}

bool scan_is_empty(const Scan *scan) {
    for (int i = 0; i < scan->count; i++)
        if (!isnan(scan->nodes[i].gap))
            return false;
    return true;
}

bool scan_is_flat(const Scan *scan) {
    double lowest = NUMERIC_ENDLESS, highest = -NUMERIC_ENDLESS, size = 0;
    for (int i = 0; i < scan->count; i++) {
        if (isnan(scan->nodes[i].gap))
            return false;
        lowest = fmin(lowest, scan->nodes[i].gap);
        highest = fmax(highest, scan->nodes[i].gap);
        size = fmax(size, scan->nodes[i].size);
    }
    return highest - lowest <= 1e-13 * size;
}

/* ---- one root ---- */

static double gap_at(double x, void *context) {
    const Scan *scan = context;
    double size;
    return scan->function(x, scan->context, &size);
}

/* Does the gap on this side of x go down to nothing? Near a jump or a pole it does not, however near one
 * looks; towards a root it does, however steep. */
static bool goes_down(const Scan *scan, double x, double near, double wide) {
    ScanNode inner = node_at(scan, numeric_clamp(x + near, scan->low, scan->high));
    if (isnan(inner.gap) || is_zero(inner.gap, inner.size))
        return true; /* an edge of the values is not a jump */
    ScanNode outer = node_at(scan, numeric_clamp(x + wide, scan->low, scan->high));
    return !isnan(outer.gap) && fabs(inner.gap) <= fabs(outer.gap) / 2;
}

static bool close_in(Scan *scan, double low, double high, double *root) {
    double range = scan->high - scan->low, found;
    if (!numeric_find_root(gap_at, scan, low, high, fmax(CLOSENESS * range, DBL_MIN), &found))
        return false;
    double near = fmax(4 * DBL_EPSILON * fabs(found), 2 * CLOSENESS * range),
           wide = fmax(WIDE * range, 2 * near);
    ScanNode at = node_at(scan, found);
    bool passes = goes_down(scan, found, -near, -wide) && goes_down(scan, found, near, wide);
    if (!passes || isnan(at.gap)) {
        scan->jump = found;
        return false;
    }
    *root = found;
    return true;
}

/* A root that touches without crossing: the smallest |gap| between two nodes (golden section). */
static bool touch(Scan *scan, double low, double high, double sign, double *root) {
    double first = low, a = high - GOLDEN_RATIO * (high - low), b = low + GOLDEN_RATIO * (high - low);
    double gap_a = gap_at(a, scan) * sign, gap_b = gap_at(b, scan) * sign;
    for (int i = 0; i < GOLDEN_STEPS && !isnan(gap_a) && !isnan(gap_b) && a < b; i++) {
        if (gap_a < 0 || gap_b < 0) /* it crosses after all, twice: the first crossing is in reach */
            return close_in(scan, first, gap_a < 0 ? a : b, root);
        if (gap_a < gap_b) {
            high = b;
            b = a;
            gap_b = gap_a;
            a = high - GOLDEN_RATIO * (high - low);
            gap_a = gap_at(a, scan) * sign;
        } else {
            low = a;
            a = b;
            gap_a = gap_b;
            b = low + GOLDEN_RATIO * (high - low);
            gap_b = gap_at(b, scan) * sign;
        }
    }
    ScanNode found = node_at(scan, (low + high) / 2);
    *root = found.x;
    return !isnan(found.gap) && is_zero(found.gap, found.size);
}

/* At an end of the values: |gap| is least there and yet goes down inwards, as the parabola through three
 * nodes tells. */
static bool touches_near_end(Scan *scan, int node, double *root) {
    bool is_first =
        node + 2 < scan->count && !isnan(scan->nodes[node + 1].gap) && !isnan(scan->nodes[node + 2].gap);
    bool is_last = node >= 2 && !isnan(scan->nodes[node - 1].gap) && !isnan(scan->nodes[node - 2].gap);
    if (is_first == is_last)
        return false;
    int inwards = is_first ? 1 : -1;
    const ScanNode *a = &scan->nodes[node], *b = a + inwards, *c = b + inwards;
    double sign = a->gap < 0 ? -1 : 1;
    if (a->gap * sign > b->gap * sign || b->gap * sign < 0)
        return false;
    double slope_ab = (b->gap - a->gap) / (b->x - a->x), slope_bc = (c->gap - b->gap) / (c->x - b->x);
    double slope = slope_ab - (slope_bc - slope_ab) / (c->x - a->x) * (b->x - a->x);
    if (slope * sign * inwards >= 0)
        return false;
    return touch(scan, fmin(a->x, b->x), fmax(a->x, b->x), sign, root);
}

bool scan_root(Scan *scan, int node, double *root) {
    const ScanNode *here = &scan->nodes[node];
    ScanNode none = {.gap = NUMERIC_NONE};
    ScanNode before = node ? here[-1] : none, next = node + 1 < scan->count ? here[1] : none;
    if (isnan(here->gap))
        return false;
    bool at_end = isnan(before.gap) || isnan(next.gap);
    if (here->gap == 0 || (at_end && fabs(here->gap) <= 1e-12 * fmax(1, here->size))) {
        *root = here->x;
        return true;
    }
    if (!isnan(next.gap) && next.gap != 0 && (here->gap < 0) != (next.gap < 0))
        return close_in(scan, here->x, next.x, root);
    if (at_end)
        return touches_near_end(scan, node, root);
    if (next.gap == 0 || (before.gap < 0) != (here->gap < 0))
        return false;
    bool lowest = fabs(here->gap) <= fabs(before.gap) && fabs(here->gap) <= fabs(next.gap);
    return lowest && fabs(here->gap) < fmax(fabs(before.gap), fabs(next.gap)) &&
           touch(scan, before.x, next.x, here->gap < 0 ? -1 : 1, root);
}

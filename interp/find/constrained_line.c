/* SPDX-FileCopyrightText: the Rundlet developers */
/* SPDX-License-Identifier: GPL-3.0-or-later */
/* One unknown: the best place is an end of the range or of the values, a root of a condition, or a low point
 * of the goal. All of these are collected; the best that meets every condition is the answer. */
#include "find/constrained_line.h"

#include <math.h>

#include "base/mem.h"
#include "numbers/numeric.h"
#include "find/scan.h"

enum { GOLDEN_STEPS = 70, SWITCH_STEPS = 50 };
#define GOLDEN_RATIO 0.6180339887498949
#define APART        1e-6 /* of the range: two solutions nearer than this are one */

typedef struct Line {
    const ConstrainedProblem *problem;
    double *gaps, *tolerances;
    double goal;
    int watched; /* the condition whose gap is scanned; -1: what is to be made small */
    int used;    /* only so many conditions count */
    int aim;     /* make this condition's gap small; -1: the problem's own goal */
    bool stopped;
    double *candidates;
    int count, capacity;
} Line;

static bool value_at(Line *line, double x) {
    if (line->stopped)
        return false;
    SequentialAnswer answer =
        line->problem->evaluate(line->problem->context, &x, line->gaps, line->tolerances, &line->goal);
    line->stopped = answer == SEQUENTIAL_STOP;
    return answer == SEQUENTIAL_VALUE;
}

/* How far a condition is from being met, in its own unit. */
static double unmet(const Line *line, int i) {
    switch (line->problem->relations[i]) {
    case CONSTRAINED_EQUAL:
        return fabs(line->gaps[i]);
    case CONSTRAINED_AT_MOST:
        return fmax(0, line->gaps[i]);
    case CONSTRAINED_AT_LEAST:
        return fmax(0, -line->gaps[i]);
    }
    return NUMERIC_ENDLESS;
}

static double wanted_small(const Line *line, double x) {
    if (line->aim >= 0)
        return unmet(line, line->aim);
    return line->problem->goal_direction ? -line->problem->goal_direction * line->goal : x;
}

static double watched_gap(double x, void *context, double *size) {
    Line *line = context;
    *size = 0;
    if (!value_at(line, x))
        return NUMERIC_NONE;
    if (line->watched < 0)
        return wanted_small(line, x);
    *size = 1e9 * line->tolerances[line->watched];
    return line->gaps[line->watched];
}

static void add_candidate(Line *line, double x) {
    MEM_GROW(line->candidates, line->count, line->capacity);
    line->candidates[line->count++] = x;
}

/* ---- what may be the answer ---- */

static void add_ends(Line *line, const Scan *scan) {
    for (int i = 0; i < scan->count; i++) {
        if (isnan(scan->nodes[i].gap))
            continue;
        bool first = i == 0 || isnan(scan->nodes[i - 1].gap);
        bool last = i == scan->count - 1 || isnan(scan->nodes[i + 1].gap);
        if (first || last)
            add_candidate(line, scan->nodes[i].x);
    }
}

static void add_roots(Line *line, Scan *scan) {
    for (int i = 0; i < scan->count && !line->stopped; i++) {
        double root;
        if (scan_root(scan, i, &root))
            add_candidate(line, root);
    }
}

/* Golden section between two nodes around a low one. */
static double lowest_between(Line *line, double low, double high) {
    double size, a = high - GOLDEN_RATIO * (high - low), b = low + GOLDEN_RATIO * (high - low);
    double at_a = watched_gap(a, line, &size), at_b = watched_gap(b, line, &size);
    for (int i = 0; i < GOLDEN_STEPS && a < b && !isnan(at_a) && !isnan(at_b); i++) {
        if (at_a <= at_b) {
            high = b;
            b = a;
            at_b = at_a;
            at_a = watched_gap(a = high - GOLDEN_RATIO * (high - low), line, &size);
        } else {
            low = a;
            a = b;
            at_a = at_b;
            at_b = watched_gap(b = low + GOLDEN_RATIO * (high - low), line, &size);
        }
    }
    return at_a <= at_b ? a : b;
}

/* The low points of what is wanted, and the best of the steps themselves. */
static void add_low_points(Line *line, const Scan *scan) {
    for (int i = 0; i < scan->count && !line->stopped; i++) {
        const ScanNode *here = &scan->nodes[i];
        if (isnan(here->gap))
            continue;
        add_candidate(line, here->x); /* conditions that hold only here and there */
        bool has_before = i > 0 && !isnan(here[-1].gap),
             has_next = i + 1 < scan->count && !isnan(here[1].gap);
        bool low = (!has_before || here->gap <= here[-1].gap) && (!has_next || here->gap <= here[1].gap);
        bool flat = has_before && has_next && here->gap == here[-1].gap && here->gap == here[1].gap;
        if (low && !flat)
            add_candidate(line, lowest_between(line, has_before ? here[-1].x : here->x,
                                               has_next ? here[1].x : here->x));
    }
}

static bool inequalities_hold(Line *line, double x) {
    if (!value_at(line, x))
        return false;
    for (int i = 0; i < line->used; i++)
        if (line->problem->relations[i] != CONSTRAINED_EQUAL && unmet(line, i) > line->tolerances[i])
            return false;
    return true;
}

/* Where the inequalities begin or cease to hold without passing through zero: at a jump. */
static void add_switches(Line *line, const Scan *scan) {
    bool held = false;
    for (int i = 0; i < scan->count && !line->stopped; i++) {
        double holds_at = scan->nodes[i].x, fails_at = i ? scan->nodes[i - 1].x : holds_at;
        bool holds = inequalities_hold(line, holds_at);
        if (i && holds != held) {
            if (held) {
                holds_at = scan->nodes[i - 1].x;
                fails_at = scan->nodes[i].x;
            }
            for (int turn = 0; turn < SWITCH_STEPS; turn++) {
                double middle = holds_at + (fails_at - holds_at) / 2;
                if (inequalities_hold(line, middle))
                    holds_at = middle;
                else
                    fails_at = middle;
            }
            add_candidate(line, holds_at);
        }
        held = holds;
    }
}

static void collect(Line *line) {
    const ConstrainedProblem *problem = line->problem;
    double low = problem->low[0], high = problem->high[0];
    Scan *scan = mem_alloc(sizeof *scan);
    line->count = 0;
    line->watched = -1;
    scan_range(scan, watched_gap, line, low, high);
    add_ends(line, scan);
    add_low_points(line, scan);
    add_switches(line, scan);
    for (int i = 0; i < line->used && !line->stopped; i++) {
        line->watched = i;
        scan_range(scan, watched_gap, line, low, high);
        add_roots(line, scan);
    }
    mem_free(scan);
}

/* ---- the choice ---- */

static bool meets(const Line *line) {
    for (int i = 0; i < line->used; i++)
        if (unmet(line, i) > line->tolerances[i])
            return false;
    return true;
}

/* The best candidate that meets the conditions in use; false without one. */
static bool choose(Line *line, double *best_x, double *best) {
    bool any = false;
    for (int i = 0; i < line->count && !line->stopped; i++) {
        double x = line->candidates[i];
        if (!value_at(line, x) || !meets(line))
            continue;
        double wanted = wanted_small(line, x);
        if (any && (wanted > *best || (wanted == *best && x >= *best_x)))
            continue;
        *best = wanted;
        *best_x = x;
        any = true;
    }
    return any && !line->stopped;
}

static double next_solution(Line *line, double first) {
    const ConstrainedProblem *problem = line->problem;
    double next = NUMERIC_NONE;
    bool by_equality = false;
    for (int i = 0; i < problem->conditions; i++)
        by_equality = by_equality || problem->relations[i] == CONSTRAINED_EQUAL;
    for (int i = 0; by_equality && !problem->goal_direction && i < line->count; i++) {
        double x = line->candidates[i];
        if (x - first > APART * (problem->high[0] - problem->low[0]) && !(x >= next) && value_at(line, x) &&
            meets(line))
            next = x;
    }
    return next;
}

/* The first condition that cannot be met with those before it, and where it is nearest met. */
static ConstrainedOutcome diagnose(Line *line, ConstrainedResult *result) {
    for (int k = 0; k < line->problem->conditions && !line->stopped; k++) {
        double x = 0, least = 0;
        line->used = k;
        line->aim = k;
        collect(line);
        if (!choose(line, &x, &least))
            return line->stopped ? CONSTRAINED_STOPPED
                   : k           ? CONSTRAINED_NOT_CONVERGED
                                 : CONSTRAINED_NO_VALUES;
        value_at(line, x);
        if (least <= line->tolerances[k])
            continue;
        result->x[0] = x;
        result->failed = k;
        return CONSTRAINED_IMPOSSIBLE;
    }
    return line->stopped ? CONSTRAINED_STOPPED : CONSTRAINED_NOT_CONVERGED;
}

ConstrainedOutcome constrained_solve_line(const ConstrainedProblem *problem, ConstrainedResult *result) {
    size_t m = (size_t)problem->conditions;
    Line line = {.problem = problem, .used = problem->conditions, .aim = -1};
    line.gaps = mem_array(2 * m + 1, sizeof(double));
    line.tolerances = line.gaps + m;
    ConstrainedOutcome outcome = CONSTRAINED_FOUND;
    double best = 0;
    collect(&line);
    if (line.count == 0 && !line.stopped)
        outcome = CONSTRAINED_NO_VALUES;
    else if (choose(&line, &result->x[0], &best))
        result->another = next_solution(&line, result->x[0]);
    else
        outcome = line.stopped ? CONSTRAINED_STOPPED : diagnose(&line, result);
    mem_free(line.gaps);
    mem_free(line.candidates);
    return line.stopped ? CONSTRAINED_STOPPED : outcome;
}

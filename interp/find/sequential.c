/* SPDX-FileCopyrightText: the Rundlet developers */
/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Sequential quadratic programming with an l1 merit function: at each point the conditions are made linear by
 * differences, a small quadratic program gives the step, a line search takes as much of it as helps, and
 * Powell's damped BFGS formula learns the curvature. Where the linear conditions contradict each other,
 * slacks at a price take up what cannot be met. Linear problems are the same loop with exact slopes, a small
 * fixed curvature and whole steps: the proximal point method, which ends at a solution of a linear program
 * and cannot cycle. Sources: J. Nocedal and S. Wright, Numerical Optimization, 2nd ed., Springer 2006, ch. 18
 * (18.3 merit function, 18.23 damped BFGS, 18.4 elastic mode, 18.11 second-order correction); R. T.
 * Rockafellar, SIAM J. Control Optim. 14 (1976) 877-898 (proximal points). */
#include "find/sequential.h"

#include <math.h>
#include <string.h>

#include "base/mem.h"
#include "numbers/numeric.h"
#include "find/quadratic.h"
#include "find/value_edge.h"

enum { STEPS_MOST = 100, LINEAR_STEPS_MOST = 60, POLISHES = 4, EDGES_MOST = 12, EDGES_FOUND_MOST = 40 };

#define DIFFERENCE      1e-5 /* step of central differences, of a range: error about 1e-10 */
#define FINE_DIFFERENCE 2e-4
#define PROXIMAL        0.1 /* curvature given to a linear goal */
#define SLACK_CURVATURE 1e-2
#define SMALL_STEP      1e-9
#define NO_STEP         1e-14
#define SMALL_GAIN      1e-17
#define MERIT_NOISE     1e-13
#define NO_SLOPE        1e-12 /* functions are scaled to vary by 1 over the ranges */
#define PRICE_MOST      1e6
#define PRICE_LEAST     1e-6
#define WELL_MET        1e-3 /* of the tolerance */

typedef struct Work {
    const SequentialProblem *problem;
    int n, m;
    SequentialPoint *at;
    SequentialPoint trial, aside;
    double *jacobian, *old_jacobian; /* m by n */
    double *slope, *old_slope;       /* of the goal, n */
    double *curvature;               /* n by n */
    double *step, *old_t;            /* n */
    double *multipliers, *prices;    /* m */
    double *unmet;                   /* m: violation the linear conditions leave after the whole step */
    double *edges;               /* planes beyond which there are no values: n numbers and an offset each */
    int edge_count, edges_found; /* the last EDGES_MOST are kept */
    double *numbers;             /* the block all of these lie in */
    bool stopped, is_elastic;
    int lessons; /* steps the curvature was learned from */
} Work;

/* ---- points ---- */

void sequential_point_open(SequentialPoint *point, int unknowns, int conditions) {
    point->t = mem_array((size_t)(unknowns + 2 * conditions), sizeof(double));
    point->values = point->t + unknowns;
    point->tolerances = point->values + conditions;
    point->goal = 0;
    point->violation = NUMERIC_ENDLESS;
}

void sequential_point_close(SequentialPoint *point) {
    mem_free(point->t);
}

void sequential_point_copy(SequentialPoint *to, const SequentialPoint *from, int unknowns, int conditions) {
    memcpy(to->t, from->t, (size_t)(unknowns + 2 * conditions) * sizeof(double));
    to->goal = from->goal;
    to->violation = from->violation;
}

static double unmet_by(const SequentialProblem *problem, int i, double value) {
    return problem->equal[i] ? fabs(value) : fmax(0, -value);
}

SequentialAnswer sequential_evaluate(const SequentialProblem *problem, SequentialPoint *point) {
    SequentialAnswer answer =
        problem->evaluate(problem->context, point->t, point->values, point->tolerances, &point->goal);
    if (answer != SEQUENTIAL_VALUE)
        return answer;
    point->violation = 0;
    for (int i = 0; i < problem->conditions; i++)
        point->violation =
            fmax(point->violation, unmet_by(problem, i, point->values[i]) / point->tolerances[i]);
    if (problem->has_goal)
        return answer;
    point->goal = 0;
    for (int j = 0; j < problem->unknowns; j++)
        point->goal += (point->t[j] - problem->middle[j]) * (point->t[j] - problem->middle[j]) / 2;
    return answer;
}

static bool try_at(Work *w, SequentialPoint *point) {
    if (w->stopped)
        return false;
    SequentialAnswer answer = sequential_evaluate(w->problem, point);
    w->stopped = answer == SEQUENTIAL_STOP;
    return answer == SEQUENTIAL_VALUE;
}

/* ---- derivatives ---- */

static void set_column(Work *w, int j, const SequentialPoint *a, const SequentialPoint *b, double distance) {
    for (int i = 0; i < w->m; i++)
        w->jacobian[i * w->n + j] = (b->values[i] - a->values[i]) / distance;
    w->slope[j] = (b->goal - a->goal) / distance;
}

/* One-sided, of second order: (-3 f(0) + 4 f(h) - f(2h)) / 2h. */
static bool one_sided(Work *w, int j, double h) {
    double t = w->at->t[j];
    w->trial.t[j] = t + h;
    w->aside.t[j] = t + 2 * h;
    if (w->aside.t[j] < 0 || w->aside.t[j] > 1 || !try_at(w, &w->trial) || !try_at(w, &w->aside))
        return false;
    for (int i = 0; i < w->m; i++)
        w->jacobian[i * w->n + j] =
            (4 * w->trial.values[i] - 3 * w->at->values[i] - w->aside.values[i]) / (2 * h);
    w->slope[j] = (4 * w->trial.goal - 3 * w->at->goal - w->aside.goal) / (2 * h);
    return true;
}

/* Adds to a column: (8 (f(h) - f(-h)) - (f(2h) - f(-2h))) / 12h in two goes. */
static bool add_difference(Work *w, int j, double h, double factor) {
    w->trial.t[j] = w->at->t[j] + h;
    w->aside.t[j] = w->at->t[j] - h;
    if (w->trial.t[j] > 1 || w->aside.t[j] < 0 || !try_at(w, &w->trial) || !try_at(w, &w->aside))
        return false;
    for (int i = 0; i < w->m; i++)
        w->jacobian[i * w->n + j] += factor * (w->trial.values[i] - w->aside.values[i]);
    w->slope[j] += factor * (w->trial.goal - w->aside.goal);
    return true;
}

static bool differentiate_finely(Work *w, int j) {
    const double h = FINE_DIFFERENCE;
    for (int i = 0; i < w->m; i++)
        w->jacobian[i * w->n + j] = 0;
    w->slope[j] = 0;
    return add_difference(w, j, h, 8 / (12 * h)) && add_difference(w, j, 2 * h, -1 / (12 * h));
}

static void differentiate_along(Work *w, int j) {
    const double h = DIFFERENCE;
    double t = w->at->t[j];
    bool central = t - h >= 0 && t + h <= 1, is_fixed = w->problem->lower[j] >= w->problem->upper[j];
    sequential_point_copy(&w->trial, w->at, w->n, w->m);
    sequential_point_copy(&w->aside, w->at, w->n, w->m);
    if (w->problem->fine && !is_fixed && differentiate_finely(w, j))
        return;
    if (central && !is_fixed) {
        w->aside.t[j] = t - h;
        w->trial.t[j] = t + h;
        if (try_at(w, &w->aside) && try_at(w, &w->trial)) {
            set_column(w, j, &w->aside, &w->trial, 2 * h);
            return;
        }
    }
    if (!is_fixed && (one_sided(w, j, h) || one_sided(w, j, -h)))
        return;
    for (int i = 0; i < w->m; i++)
        w->jacobian[i * w->n + j] = 0;
    w->slope[j] = 0;
}

static void differentiate(Work *w) {
    const SequentialProblem *problem = w->problem;
    size_t n = (size_t)w->n, m = (size_t)w->m;
    memcpy(w->old_jacobian, w->jacobian, n * m * sizeof(double));
    memcpy(w->old_slope, w->slope, n * sizeof(double));
    if (problem->jacobian) {
        memcpy(w->jacobian, problem->jacobian, n * m * sizeof(double));
        memcpy(w->slope, problem->slope, n * sizeof(double));
    } else {
        for (int j = 0; j < w->n; j++)
            differentiate_along(w, j);
    }
    for (int j = 0; j < w->n && !problem->has_goal; j++)
        w->slope[j] = w->at->t[j] - problem->middle[j];
}

/* ---- the quadratic program ---- */

static double along(const double *slopes, const double *step, int n) {
    double sum = 0;
    for (int j = 0; j < n; j++)
        sum += slopes[j] * step[j];
    return sum;
}

typedef struct Rows {
    int variables, count, equalities;
    double *normals, *offsets;
    int *condition; /* which one a row is of; -1: a bound */
    double *scale;  /* what its normal was divided by */
} Rows;

static double *add_row(Rows *rows, int condition, double offset, double length) {
    rows->offsets[rows->count] = offset / length;
    rows->condition[rows->count] = condition;
    rows->scale[rows->count] = length;
    return rows->normals + (size_t)rows->count++ * (size_t)rows->variables;
}

/* The linear conditions of one sort; `slack` is the number of the first slack variable, or -1. */
static int add_conditions(const Work *w, Rows *rows, bool equal, const double *values, int slack) {
    for (int i = 0; i < w->m; i++) {
        const double *slopes = w->jacobian + i * w->n;
        double length = 0;
        if (w->problem->equal[i] != equal)
            continue;
        for (int j = 0; j < w->n; j++)
            length += slopes[j] * slopes[j];
        length = sqrt(length);
        if (length <= NO_SLOPE && slack < 0)
            continue; /* nothing to be done about it from here */
        if (slack >= 0)
            length = hypot(length, 1);
        double *normal = add_row(rows, i, values[i], length);
        for (int j = 0; j < w->n; j++)
            normal[j] = slopes[j] / length;
        if (slack < 0)
            continue;
        normal[slack++] = 1 / length;
        if (equal)
            normal[slack++] = -1 / length;
    }
    return slack;
}

static void add_bounds(const Work *w, Rows *rows) {
    for (int j = 0; j < w->n; j++) {
        double t = w->at->t[j];
        add_row(rows, -1, t - w->problem->lower[j], 1)[j] = 1;
        add_row(rows, -1, w->problem->upper[j] - t, 1)[j] = -1;
    }
    for (int k = w->n; k < rows->variables; k++)
        add_row(rows, -1, 0, 1)[k] = 1;
    for (int e = 0; e < w->edge_count; e++) {
        const double *edge = w->edges + e * (w->n + 1);
        double *normal = add_row(rows, -1, fmax(0, along(edge, w->at->t, w->n) + edge[w->n]), 1);
        memcpy(normal, edge, (size_t)w->n * sizeof *normal);
    }
}

static int slack_count(const Work *w) {
    int count = 0;
    for (int i = 0; i < w->m; i++)
        count += w->problem->equal[i] ? 2 : 1;
    return count;
}

static void set_prices(const Work *w, double *gradient) {
    int slack = w->n;
    for (int pass = 0; pass < 2; pass++) {
        for (int i = 0; i < w->m; i++) {
            if (w->problem->equal[i] != (pass == 0))
                continue;
            gradient[slack++] = w->prices[i];
            if (pass == 0)
                gradient[slack++] = w->prices[i];
        }
    }
}

/* The step from here towards `values` being met; multipliers and what stays unmet come with it. */
static QuadraticOutcome solve_step(Work *w, const double *values, bool elastic, double *step) {
    int extra = elastic ? slack_count(w) : 0, variables = w->n + extra,
        most = w->m + 2 * w->n + extra + w->edge_count;
    size_t v = (size_t)variables, rows_most = (size_t)most;
    double *block = mem_array(v * v + 2 * v + rows_most * (v + 3) + 1, sizeof *block);
    double *hessian = block, *gradient = hessian + v * v, *x = gradient + v, *multipliers = x + v;
    Rows rows = {.variables = variables, .offsets = multipliers + rows_most};
    rows.scale = rows.offsets + rows_most;
    rows.normals = rows.scale + rows_most;
    rows.condition = mem_array(rows_most + 1, sizeof *rows.condition);
    for (int i = 0; i < w->n; i++) {
        gradient[i] = w->slope[i];
        memcpy(hessian + i * variables, w->curvature + i * w->n, (size_t)w->n * sizeof(double));
    }
    for (int k = w->n; k < variables; k++)
        hessian[k * variables + k] = SLACK_CURVATURE;
    if (elastic)
        set_prices(w, gradient);
    int slack = add_conditions(w, &rows, true, values, elastic ? w->n : -1);
    rows.equalities = rows.count;
    add_conditions(w, &rows, false, values, slack);
    add_bounds(w, &rows);
    QuadraticProgram program = {.variables = variables,
                                .rows = rows.count,
                                .equalities = rows.equalities,
                                .hessian = hessian,
                                .gradient = gradient,
                                .normals = rows.normals,
                                .offsets = rows.offsets};
    QuadraticOutcome outcome = quadratic_solve(&program, x, multipliers);
    if (outcome == QUADRATIC_SOLVED) {
        memcpy(step, x, (size_t)w->n * sizeof(double));
        memset(w->multipliers, 0, (size_t)w->m * sizeof(double));
        for (int r = 0; r < rows.count; r++)
            if (rows.condition[r] >= 0)
                w->multipliers[rows.condition[r]] = multipliers[r] / rows.scale[r];
    }
    mem_free(block);
    mem_free(rows.condition);
    return outcome;
}

static double longest(const double *step, int n) {
    double most = 0;
    for (int j = 0; j < n; j++)
        most = fmax(most, fabs(step[j]));
    return most;
}

/* ---- one step ---- */

static double merit(const Work *w, const SequentialPoint *point) {
    double sum = point->goal;
    for (int i = 0; i < w->m; i++)
        sum += w->prices[i] * unmet_by(w->problem, i, point->values[i]);
    return sum;
}

/* By how much the linear model says the merit falls with the whole step. */
static double expected_gain(const Work *w) {
    double gain = -along(w->slope, w->step, w->n);
    for (int i = 0; i < w->m; i++)
        gain += w->prices[i] * (unmet_by(w->problem, i, w->at->values[i]) - w->unmet[i]);
    return gain;
}

static bool find_step(Work *w) {
    QuadraticOutcome outcome = solve_step(w, w->at->values, false, w->step);
    w->is_elastic = outcome != QUADRATIC_SOLVED;
    if (w->is_elastic && w->problem->jacobian)
        return false;
    if (w->is_elastic && solve_step(w, w->at->values, true, w->step) != QUADRATIC_SOLVED)
        return false;
    for (int i = 0; i < w->m; i++) {
        double linear = w->at->values[i] + along(w->jacobian + i * w->n, w->step, w->n);
        w->unmet[i] = unmet_by(w->problem, i, linear);
        double needed = 1.5 * fabs(w->multipliers[i]) + PRICE_LEAST;
        if (!w->is_elastic) /* Powell's rule: up at once, down by and by; too high a price makes short steps
                             */
            w->prices[i] = fmax(needed, (w->prices[i] + needed) / 2);
    }
    return true;
}

/* trial = at + part of the step; false where there is no value. */
static bool try_step(Work *w, const double *step, double part) {
    for (int j = 0; j < w->n; j++)
        w->trial.t[j] =
            numeric_clamp(w->at->t[j] + part * step[j], w->problem->lower[j], w->problem->upper[j]);
    return try_at(w, &w->trial);
}

static void accept_trial(Work *w) {
    memcpy(w->old_t, w->at->t, (size_t)w->n * sizeof(double));
    sequential_point_copy(w->at, &w->trial, w->n, w->m);
}

/* The step ends where there are no values: the edge of the values becomes a row of the program. */
static bool learn_edge(Work *w) {
    if (w->edges_found >= EDGES_FOUND_MOST)
        return false;
    double *edge = w->edges + (w->edges_found % EDGES_MOST) * (w->n + 1);
    double *kept = mem_array((size_t)w->n + 1, sizeof *kept);
    bool found = value_edge_find(w->problem, w->at->t, w->step, &w->aside, kept, &kept[w->n], &w->stopped);
    if (found) {
        memcpy(edge, kept, ((size_t)w->n + 1) * sizeof *edge);
        w->edges_found++;
        w->edge_count = w->edges_found < EDGES_MOST ? w->edges_found : EDGES_MOST;
    }
    mem_free(kept);
    return found;
}

/* The whole step bends off the conditions: a second program brings it back (its step is counted from `at`).
 */
static bool correct_step(Work *w, double wanted) {
    double *values = w->aside.values, *step = w->aside.t;
    double *kept = mem_array((size_t)w->m + 1, sizeof *kept);
    memcpy(kept, w->multipliers, (size_t)w->m * sizeof(double));
    for (int i = 0; i < w->m; i++)
        values[i] = w->trial.values[i] - along(w->jacobian + i * w->n, w->step, w->n);
    bool helps = solve_step(w, values, false, step) == QUADRATIC_SOLVED && try_step(w, step, 1) &&
                 merit(w, &w->trial) <= wanted;
    memcpy(w->multipliers, kept, (size_t)w->m * sizeof(double));
    mem_free(kept);
    return helps;
}

static bool search_line(Work *w, double gain) {
    double from = merit(w, w->at), noise = MERIT_NOISE * (1 + fabs(from));
    for (double part = 1; part > 1e-9 && !w->stopped; part /= part > 0.1 ? 2 : 4) {
        double wanted = from - 1e-4 * part * gain + noise;
        bool has_value = try_step(w, w->step, part);
        if (has_value && merit(w, &w->trial) <= wanted)
            return true;
        if (has_value && part == 1 && !w->is_elastic && correct_step(w, wanted))
            return true;
    }
    return false;
}

/* ---- curvature ---- */

static void set_curvature(Work *w, double size) {
    for (int i = 0; i < w->n * w->n; i++)
        w->curvature[i] = i % (w->n + 1) == 0 ? size : 0;
}

static void reset_curvature(Work *w, double size) {
    set_curvature(w, size);
    w->lessons = 0;
}

static double lagrangian_slope(const Work *w, const double *slope, const double *jacobian, int j) {
    double sum = slope[j];
    for (int i = 0; i < w->m; i++)
        sum -= w->multipliers[i] * jacobian[i * w->n + j];
    return sum;
}

/* s: the last step; y: what it did to the slope of the Lagrangian. False when differences cannot tell. */
static bool last_change(const Work *w, double *s, double *y) {
    double longest_y = 0, ss = 0, steepest = 1;
    for (int j = 0; j < w->n; j++) {
        s[j] = w->at->t[j] - w->old_t[j];
        y[j] = lagrangian_slope(w, w->slope, w->jacobian, j) -
               lagrangian_slope(w, w->old_slope, w->old_jacobian, j);
        ss += s[j] * s[j];
        longest_y = fmax(longest_y, fabs(y[j]));
        steepest = fmax(steepest, fabs(w->slope[j]));
    }
    return ss > 1e-24 && (ss > 1e-14 || longest_y > 1e-8 * steepest);
}

static void learn_curvature(Work *w) {
    double *s = w->trial.t, *y = w->aside.t, *Bs = w->step; /* all free at this moment */
    double sBs = 0, sr = 0, sy, yy;
    if (!last_change(w, s, y))
        return;
    sy = along(s, y, w->n);
    yy = along(y, y, w->n);
    if (w->lessons++ == 0 && w->problem->has_goal && sy > 0)
        set_curvature(w, numeric_clamp(yy / sy, 1e-6, 1e8)); /* Nocedal and Wright (6.20) */
    for (int i = 0; i < w->n; i++) {
        Bs[i] = along(w->curvature + i * w->n, s, w->n);
        sBs += s[i] * Bs[i];
    }
    if (sBs <= 0)
        return;
    double theta = sy >= 0.2 * sBs ? 1 : 0.8 * sBs / (sBs - sy);
    for (int j = 0; j < w->n; j++) {
        y[j] = theta * y[j] + (1 - theta) * Bs[j];
        sr += s[j] * y[j];
    }
    for (int i = 0; i < w->n; i++)
        for (int j = 0; j < w->n; j++)
            w->curvature[i * w->n + j] += y[i] * y[j] / sr - Bs[i] * Bs[j] / sBs;
    for (int i = 0; i < w->n; i++) { /* never so flat that the program becomes singular */
        double *diagonal = &w->curvature[i * w->n + i];
        *diagonal = fmax(*diagonal, 1e-7);
    }
}

/* ---- the loops ---- */

/* The last corrections onto the conditions, as long as they bring anything. */
static void polish(Work *w) {
    for (int i = 0; i < POLISHES && w->at->violation > 0 && !w->stopped; i++) {
        if (solve_step(w, w->at->values, false, w->step) != QUADRATIC_SOLVED || !try_step(w, w->step, 1) ||
            !(w->trial.violation < w->at->violation))
            return;
        accept_trial(w);
    }
}

static SequentialOutcome solve_linear(Work *w) {
    reset_curvature(w, w->problem->has_goal ? PROXIMAL : 1);
    for (int i = 0; i < LINEAR_STEPS_MOST; i++) {
        differentiate(w);
        if (!find_step(w))
            return SEQUENTIAL_LOCALLY_IMPOSSIBLE;
        double length = longest(w->step, w->n);
        if (!try_step(w, w->step, 1))
            return SEQUENTIAL_STALLED;
        accept_trial(w);
        if (length <= 1e-12 || (i > 0 && length <= 1e-10))
            return SEQUENTIAL_CONVERGED;
    }
    return SEQUENTIAL_STALLED;
}

static void raise_prices(Work *w) {
    for (int i = 0; i < w->m; i++)
        w->prices[i] *= 10;
}

static double highest_price(const Work *w) {
    double most = 0;
    for (int i = 0; i < w->m; i++)
        most = fmax(most, w->prices[i]);
    return most;
}

/* What one turn of the loop comes to. */
typedef enum Turn { TURN_MOVED, TURN_AGAIN, TURN_CONVERGED, TURN_IMPOSSIBLE, TURN_STUCK } Turn;

/* Nothing can be gained from here: is that the answer? TURN_MOVED when there is something to gain. */
static Turn judge_place(Work *w, double gain, double length) {
    /* before the curvature is known a short step may only come from a steep first guess */
    bool knows = !w->problem->has_goal || w->lessons > w->n;
    bool still = gain <= SMALL_GAIN || length <= (knows ? SMALL_STEP : NO_STEP);
    if (still && w->at->violation <= WELL_MET)
        return TURN_CONVERGED;
    if (w->is_elastic && length <= 1e-7 && w->at->violation > 1) {
        if (highest_price(w) >= PRICE_MOST)
            return TURN_IMPOSSIBLE;
        raise_prices(w);
        return TURN_AGAIN;
    }
    return still && w->at->violation <= 1 ? TURN_CONVERGED : TURN_MOVED;
}

static Turn take_turn(Work *w, bool fresh) {
    if (!find_step(w)) {
        bool helpless = fresh && !w->edge_count;
        w->edge_count = 0;
        return helpless ? TURN_STUCK : TURN_AGAIN;
    }
    double gain = expected_gain(w), length = longest(w->step, w->n);
    Turn judged = judge_place(w, gain, length);
    if (judged != TURN_MOVED)
        return judged;
    if (length > 1e-11 && !try_step(w, w->step, 1) && !w->stopped && learn_edge(w))
        return TURN_AGAIN;
    if (search_line(w, gain)) {
        accept_trial(w);
        return TURN_MOVED;
    }
    if (!fresh)
        return TURN_AGAIN;
    return w->at->violation <= 1 && gain <= 1e-9 ? TURN_CONVERGED : TURN_STUCK;
}

static SequentialOutcome solve_smooth(Work *w) {
    bool fresh = true; /* the curvature is the first guess */
    reset_curvature(w, 1);
    for (int i = 0; i < STEPS_MOST && !w->stopped; i++) {
        differentiate(w);
        if (i > 0 && !fresh)
            learn_curvature(w);
        int edges = w->edges_found;
        Turn turn = w->stopped ? TURN_STUCK : take_turn(w, fresh);
        if (turn == TURN_IMPOSSIBLE)
            return SEQUENTIAL_LOCALLY_IMPOSSIBLE;
        if (turn == TURN_STUCK)
            break;
        if (turn == TURN_CONVERGED) {
            if (w->at->violation > WELL_MET)
                polish(w);
            return SEQUENTIAL_CONVERGED;
        }
        if (turn == TURN_AGAIN && edges == w->edges_found && !w->is_elastic)
            reset_curvature(w, 1);
        fresh = turn == TURN_AGAIN && (edges == w->edges_found || fresh);
    }
    return SEQUENTIAL_STALLED;
}

SequentialOutcome sequential_solve(const SequentialProblem *problem, SequentialPoint *point) {
    size_t n = (size_t)problem->unknowns, m = (size_t)problem->conditions;
    Work w = {.problem = problem, .n = problem->unknowns, .m = problem->conditions, .at = point};
    sequential_point_open(&w.trial, w.n, w.m);
    sequential_point_open(&w.aside, w.n, w.m);
    w.numbers = mem_array(2 * m * n + 4 * n + n * n + 3 * m + EDGES_MOST * (n + 1) + 1, sizeof(double));
    w.jacobian = w.numbers;
    w.old_jacobian = w.jacobian + m * n;
    w.slope = w.old_jacobian + m * n;
    w.old_slope = w.slope + n;
    w.step = w.old_slope + n;
    w.old_t = w.step + n;
    w.curvature = w.old_t + n;
    w.multipliers = w.curvature + n * n;
    w.prices = w.multipliers + m;
    w.unmet = w.prices + m;
    w.edges = w.unmet + m;
    for (int i = 0; i < w.m; i++)
        w.prices[i] = 1;
    SequentialOutcome outcome = problem->jacobian ? solve_linear(&w) : solve_smooth(&w);
    sequential_point_close(&w.trial);
    sequential_point_close(&w.aside);
    mem_free(w.numbers);
    return w.stopped ? SEQUENTIAL_STOPPED : outcome;
}

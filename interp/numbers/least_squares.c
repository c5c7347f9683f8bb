/* SPDX-FileCopyrightText: the Rundlet developers */
/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Levenberg and Marquardt's method, linear regression, Student's t.
 *
 * Each turn factors the Jacobian once (with the residuals as one more column, so that Qᵀr comes along); what
 * is tried for one damping after another is then a system of the size of the parameters only. A parameter
 * that rests on a bound and needs to leave it outwards stands still for the turn; a step is cut at the
 * bounds. */
#include "numbers/least_squares.h"

#include <assert.h>
#include <float.h>
#include <math.h>
#include <string.h>

#include "base/mem.h"
#include "numbers/numeric.h"

/* ---- Householder ---- */

/* Turns the first `pivots` columns of a matrix, row after row, into an upper triangle. */
static void triangulate(double *matrix, int rows, int columns, int pivots) {
    for (int k = 0; k < pivots && k < rows; k++) {
        double norm = 0;
        for (int i = k; i < rows; i++)
            norm = hypot(norm, matrix[i * columns + k]);
        if (norm == 0)
            continue;
        double head = matrix[k * columns + k], corner = head > 0 ? -norm : norm;
        double first = head - corner; /* the vector is (first, the rest of the column) */
        for (int j = k + 1; j < columns; j++) {
            double dot = first * matrix[k * columns + j];
            for (int i = k + 1; i < rows; i++)
                dot += matrix[i * columns + k] * matrix[i * columns + j];
            double part = dot / (norm * (norm + fabs(head)));
            matrix[k * columns + j] -= part * first;
            for (int i = k + 1; i < rows; i++)
                matrix[i * columns + j] -= part * matrix[i * columns + k];
        }
        matrix[k * columns + k] = corner;
        for (int i = k + 1; i < rows; i++)
            matrix[i * columns + k] = 0;
    }
}

/* x of R x = right, the right side being the column after the triangle. A pivot of 0 gives 0. */
static void solve_triangle(const double *matrix, int columns, int size, double *x) {
    for (int i = size - 1; i >= 0; i--) {
        double rest = matrix[i * columns + size];
        for (int j = i + 1; j < size; j++)
            rest -= matrix[i * columns + j] * x[j];
        double pivot = matrix[i * columns + i];
        x[i] = pivot == 0 ? 0 : rest / pivot;
    }
}

/* Nothing is known of `size` parameters. */
static void leave_unknown(double *covariance, int size) {
    for (int i = 0; i < size * size; i++)
        covariance[i] = NUMERIC_ENDLESS;
}

/* (RᵀR)⁻¹ × scale, out of the triangle in the first columns; unknown where that is too large for a double. */
static void invert_square(const double *matrix, int columns, int size, double scale, double *inverse) {
    double root[LEAST_SQUARES_MOST * LEAST_SQUARES_MOST] = {0}; /* R⁻¹, an upper triangle too */
    for (int j = 0; j < size; j++) {
        for (int i = j; i >= 0; i--) {
            double rest = i == j;
            for (int k = i + 1; k <= j; k++)
                rest -= matrix[i * columns + k] * root[k * size + j];
            root[i * size + j] = rest / matrix[i * columns + i];
        }
    }
    for (int i = 0; i < size; i++)
        for (int j = 0; j < size; j++) {
            double dot = 0;
            for (int k = i > j ? i : j; k < size; k++)
                dot += root[i * size + k] * root[j * size + k];
            inverse[i * size + j] = scale * dot;
        }
    for (int i = 0; i < size * size; i++)
        if (!isfinite(inverse[i])) {
            leave_unknown(inverse, size);
            break;
        }
}

/* Is a pivot nothing beside its column? */
static bool is_dependent(const double *matrix, int columns, int size) {
    for (int j = 0; j < size; j++) {
        double length = 0;
        for (int i = 0; i <= j; i++)
            length = hypot(length, matrix[i * columns + j]);
        if (!(fabs(matrix[j * columns + j]) > 1e-12 * length))
            return true;
    }
    return false;
}

/* ---- linear ---- */

bool least_squares_linear(int rows, int columns, const double *design, const double *values,
                          double *coefficients, double *covariance, double *sum) {
    if (columns < 1 || columns > LEAST_SQUARES_MOST || rows < columns)
        return false;
    int width = columns + 1;
    double *matrix = mem_array((size_t)rows * (size_t)width, sizeof *matrix);
    for (int i = 0; i < rows; i++) {
        memcpy(matrix + i * width, design + i * columns, (size_t)columns * sizeof *design);
        matrix[i * width + columns] = values[i];
    }
    triangulate(matrix, rows, width, columns);
    bool independent = !is_dependent(matrix, width, columns);
    if (independent) {
        solve_triangle(matrix, width, columns, coefficients);
        *sum = 0;
        for (int i = 0; i < rows; i++) { /* not from the triangle: a small rest would be lost in it */
            double rest = values[i];
            for (int j = 0; j < columns; j++)
                rest -= design[i * columns + j] * coefficients[j];
            *sum += rest * rest;
        }
        if (covariance && rows > columns)
            invert_square(matrix, width, columns, *sum / (rows - columns), covariance);
        else if (covariance)
            leave_unknown(covariance, columns);
    }
    mem_free(matrix);
    return independent;
}

/* ---- not linear ---- */

enum { POLISH_MOST = 20 };

typedef struct Fit {
    const LeastSquaresProblem *problem;
    double *x, *trial; /* parameters */
    double *residuals, *trial_residuals;
    double *jacobian, *lower_residuals; /* rows × parameters; one side of a difference */
    double *matrix;                     /* rows × (free + 1): triangle and Qᵀr */
    double scale[LEAST_SQUARES_MOST];   /* the longest a column was */
    int free[LEAST_SQUARES_MOST];       /* parameters not held by a bound */
    int free_count;
    double sum, damping, growth;
    double begun; /* length of the residuals at the start */
    int polished;
} Fit;

static double low_of(const LeastSquaresProblem *problem, int at) {
    return problem->low ? problem->low[at] : -NUMERIC_ENDLESS;
}

static double high_of(const LeastSquaresProblem *problem, int at) {
    return problem->high ? problem->high[at] : NUMERIC_ENDLESS;
}

static bool evaluate(const LeastSquaresProblem *problem, const double *x, double *residuals, double *sum) {
    if (!problem->function(x, residuals, NULL, problem->context))
        return false;
    *sum = 0;
    for (int i = 0; i < problem->rows; i++)
        *sum += residuals[i] * residuals[i];
    return isfinite(*sum);
}

static double typical_of(const LeastSquaresProblem *problem, int at) {
    return problem->typical ? problem->typical[at] : 0;
}

/* A column by central differences, one-sided where the function or the bounds end; *change is how far apart
 * the residuals of the two sides lie. */
static bool difference_by(Fit *fit, int at, double step, double *change) {
    const LeastSquaresProblem *problem = fit->problem;
    double here = fit->x[at], ignored = 0;
    double above = fmin(here + step, high_of(problem, at)), below = fmax(here - step, low_of(problem, at));
    fit->x[at] = above;
    if (!evaluate(problem, fit->x, fit->trial_residuals, &ignored)) {
        above = here;
        memcpy(fit->trial_residuals, fit->residuals, (size_t)problem->rows * sizeof(double));
    }
    fit->x[at] = below;
    if (!evaluate(problem, fit->x, fit->lower_residuals, &ignored)) {
        below = here;
        memcpy(fit->lower_residuals, fit->residuals, (size_t)problem->rows * sizeof(double));
    }
    fit->x[at] = here;
    if (!(above > below))
        return false;
    *change = 0;
    for (int i = 0; i < problem->rows; i++) {
        double apart = fit->trial_residuals[i] - fit->lower_residuals[i];
        fit->jacobian[i * problem->parameters + at] = apart / (above - below);
        *change = hypot(*change, apart);
    }
    return true;
}

/* A parameter that came near 0 on its way, or began there, says nothing of the size that matters: a step by
 * its own size may change nothing but the last digits. */
static bool difference(Fit *fit, int at) {
    double size = fmax(fabs(fit->x[at]), typical_of(fit->problem, at)), change = 0;
    double relative = cbrt(DBL_EPSILON);
    bool done = difference_by(fit, at, relative * (size == 0 ? 1 : size), &change);
    bool is_blind = !done || change <= 1e-10 * fit->begun;
    if (is_blind && !fit->problem->typical && size < 1)
        done = difference_by(fit, at, relative, &change) || done;
    return done;
}

static bool derive(Fit *fit) {
    const LeastSquaresProblem *problem = fit->problem;
    if (problem->has_jacobian)
        return problem->function(fit->x, fit->trial_residuals, fit->jacobian, problem->context);
    for (int j = 0; j < problem->parameters; j++)
        if (!difference(fit, j))
            return false;
    return true;
}

/* Which parameters may move, and the triangle of their columns. True when the slope is nothing. */
static bool factor(Fit *fit) {
    const LeastSquaresProblem *problem = fit->problem;
    int rows = problem->rows, parameters = problem->parameters;
    bool flat = true;
    fit->free_count = 0;
    for (int j = 0; j < parameters; j++) {
        double slope = 0, length = 0;
        for (int i = 0; i < rows; i++) {
            double d = fit->jacobian[i * parameters + j];
            slope += d * fit->residuals[i];
            length += d * d;
        }
        length = sqrt(length);
        fit->scale[j] = fmax(fit->scale[j], length);
        bool held =
            (slope > 0 && fit->x[j] <= low_of(problem, j)) || (slope < 0 && fit->x[j] >= high_of(problem, j));
        if (!held)
            fit->free[fit->free_count++] = j;
        flat = flat && (held || fabs(slope) <= 1e-15 * length * sqrt(fit->sum));
    }
    int width = fit->free_count + 1;
    for (int i = 0; i < rows; i++) {
        for (int k = 0; k < fit->free_count; k++)
            fit->matrix[i * width + k] = fit->jacobian[i * parameters + fit->free[k]];
        fit->matrix[i * width + fit->free_count] = fit->residuals[i];
    }
    triangulate(fit->matrix, rows, width, fit->free_count);
    return flat;
}

/* The damped step from the triangle, into `trial` and cut at the bounds; returns by how much the linear model
 * lowers the sum, and how long the step is beside the parameters. */
static double propose(Fit *fit, double *relative) {
    enum { MOST = LEAST_SQUARES_MOST };
    double damped[2 * MOST * (MOST + 1)] = {0}, step[MOST], moved[MOST];
    const LeastSquaresProblem *problem = fit->problem;
    int size = fit->free_count, width = size + 1;
    for (int i = 0; i < size; i++) {
        for (int j = i; j < size; j++)
            damped[i * width + j] = fit->matrix[i * width + j];
        damped[i * width + size] = -fit->matrix[i * width + size];
        double scale = fit->scale[fit->free[i]];
        damped[(size + i) * width + i] = sqrt(fit->damping) * (scale > 0 ? scale : 1);
    }
    triangulate(damped, 2 * size, width, size);
    solve_triangle(damped, width, size, step);
    memcpy(fit->trial, fit->x, (size_t)problem->parameters * sizeof(double));
    *relative = 0;
    for (int k = 0; k < size; k++) {
        int at = fit->free[k];
        fit->trial[at] = numeric_clamp(fit->x[at] + step[k], low_of(problem, at), high_of(problem, at));
        moved[k] = fit->trial[at] - fit->x[at];
        double around = fmax(fabs(fit->x[at]), typical_of(problem, at));
        *relative = fmax(*relative, fabs(moved[k]) / (around + DBL_MIN));
    }
    double gain = 0;
    for (int i = 0; i < size; i++) {
        double before = fit->matrix[i * width + size], change = 0;
        for (int j = i; j < size; j++)
            change += fit->matrix[i * width + j] * moved[j];
        gain -= change * (2 * before + change);
    }
    return gain;
}

static void accept(Fit *fit, double sum) {
    double *old = fit->x, *old_residuals = fit->residuals;
    fit->x = fit->trial;
    fit->trial = old;
    fit->residuals = fit->trial_residuals;
    fit->trial_residuals = old_residuals;
    fit->sum = sum;
}

typedef enum Turn { TURN_MOVED, TURN_ENDED, TURN_STALLED } Turn;

/* Raises the damping until a step helps. Steps that promise less than rounding can show in the sum still
 * bring the parameters nearer: a few of them are taken on trust. */
static Turn turn(Fit *fit) {
    while (fit->damping < 1e20) {
        double relative = 0, sum = 0, gain = propose(fit, &relative);
        bool valued = evaluate(fit->problem, fit->trial, fit->trial_residuals, &sum);
        bool last = relative <= 1e-12 || gain <= 1e-14 * fit->sum;
        if (last && valued && sum <= fit->sum * (1 + 1e-12)) {
            bool finer = relative > 1e-10 && fit->polished++ < POLISH_MOST;
            fit->damping = fmax(fit->damping * 1e-3, 1e-20);
            accept(fit, sum);
            return finer ? TURN_MOVED : TURN_ENDED;
        }
        if (last && relative <= 1e-12)
            return TURN_ENDED;
        if (valued && sum < fit->sum) {
            double ratio = gain > 0 ? (fit->sum - sum) / gain : 1, swing = 2 * ratio - 1;
            fit->damping = fmax(fit->damping * fmax(1.0 / 3, 1 - swing * swing * swing), 1e-20);
            fit->growth = 2;
            accept(fit, sum);
            return TURN_MOVED;
        }
        fit->damping *= fit->growth;
        fit->growth *= 2;
    }
    return TURN_STALLED;
}

static LeastSquaresOutcome descend(Fit *fit) {
    for (int step = 0; step < LEAST_SQUARES_STEPS; step++) {
        if (!derive(fit))
            return LEAST_SQUARES_NO_VALUE;
        if (factor(fit) || fit->free_count == 0 || fit->sum == 0)
            return LEAST_SQUARES_CONVERGED;
        Turn outcome = turn(fit);
        if (outcome == TURN_STALLED)
            return LEAST_SQUARES_STALLED;
        if (outcome == TURN_ENDED) /* the triangle of the place it ended at is wanted */
            return derive(fit) ? (factor(fit), LEAST_SQUARES_CONVERGED) : LEAST_SQUARES_NO_VALUE;
    }
    return LEAST_SQUARES_TOO_LONG;
}

static void spread_covariance(const Fit *fit, double *covariance) {
    double inner[LEAST_SQUARES_MOST * LEAST_SQUARES_MOST];
    int size = fit->free_count, parameters = fit->problem->parameters;
    int spare = fit->problem->rows - size;
    bool is_scaled = !fit->problem->is_standardised;
    if ((is_scaled && spare <= 0) || is_dependent(fit->matrix, size + 1, size)) {
        leave_unknown(covariance, parameters);
        return;
    }
    invert_square(fit->matrix, size + 1, size, is_scaled ? fit->sum / spare : 1, inner);
    memset(covariance, 0, (size_t)(parameters * parameters) * sizeof *covariance);
    for (int i = 0; i < size; i++)
        for (int j = 0; j < size; j++)
            covariance[fit->free[i] * parameters + fit->free[j]] = inner[i * size + j];
}

LeastSquaresOutcome least_squares_fit(const LeastSquaresProblem *problem, double *parameters,
                                      double *covariance, double *sum) {
    assert(problem->parameters >= 1 && problem->parameters <= LEAST_SQUARES_MOST);
    assert(problem->rows >= problem->parameters);
    size_t rows = (size_t)problem->rows, width = (size_t)problem->parameters;
    double *block = mem_array(2 * width + 3 * rows + rows * width + rows * (width + 1), sizeof *block);
    Fit fit = {.problem = problem, .damping = 1e-3, .growth = 2};
    fit.x = block;
    fit.trial = fit.x + width;
    fit.residuals = fit.trial + width;
    fit.trial_residuals = fit.residuals + rows;
    fit.lower_residuals = fit.trial_residuals + rows;
    fit.jacobian = fit.lower_residuals + rows;
    fit.matrix = fit.jacobian + rows * width;
    for (int j = 0; j < problem->parameters; j++)
        fit.x[j] = numeric_clamp(parameters[j], low_of(problem, j), high_of(problem, j));
    LeastSquaresOutcome outcome = LEAST_SQUARES_NO_VALUE;
    *sum = NUMERIC_ENDLESS;
    if (evaluate(problem, fit.x, fit.residuals, &fit.sum)) {
        fit.begun = sqrt(fit.sum);
        outcome = descend(&fit);
        memcpy(parameters, fit.x, width * sizeof *parameters);
        *sum = fit.sum;
    }
    if (covariance && outcome == LEAST_SQUARES_NO_VALUE)
        leave_unknown(covariance, problem->parameters);
    else if (covariance)
        spread_covariance(&fit, covariance);
    mem_free(block);
    return outcome;
}

/* ---- Student's t ---- */

/* The continued fraction by Lentz's method, good for x < (a + 1)/(a + b + 2). */
static double beta_fraction(double a, double b, double x) {
    const double tiny = 1e-300;
    double c = 1, d = 1 - (a + b) * x / (a + 1), product;
    d = 1 / (fabs(d) < tiny ? tiny : d);
    product = d;
    for (int m = 1; m <= 1000; m++) {
        for (int half = 0; half < 2; half++) {
            double part = half == 0 ? m * (b - m) * x / ((a + 2 * m - 1) * (a + 2 * m))
                                    : -(a + m) * (a + b + m) * x / ((a + 2 * m) * (a + 2 * m + 1));
            d = 1 + part * d;
            c = 1 + part / c;
            d = 1 / (fabs(d) < tiny ? tiny : d);
            c = fabs(c) < tiny ? tiny : c;
            product *= c * d;
        }
        if (fabs(c * d - 1) < 1e-15)
            break;
    }
    return product;
}

static double incomplete_beta(double a, double b, double x, double other) {
    if (x <= 0 || other <= 0)
        return x <= 0 ? 0 : 1;
    double front = exp(lgamma(a + b) - lgamma(a) - lgamma(b) + a * log(x) + b * log(other));
    if (x < (a + 1) / (a + b + 2))
        return front * beta_fraction(a, b, x) / a;
    return 1 - front * beta_fraction(b, a, other) / b;
}

double least_squares_student(double t, double freedom) {
    if (isinf(t))
        return t > 0;
    double square = t * t, x = freedom / (freedom + square), other = square / (freedom + square);
    double tail = 0.5 * incomplete_beta(0.5 * freedom, 0.5, x, other);
    return t > 0 ? 1 - tail : tail;
}

typedef struct Quantile {
    double probability, freedom;
} Quantile;

/* Over the logarithm of t, which the far tails of one degree of freedom need. */
static double quantile_gap(double log_t, void *context) {
    const Quantile *wanted = context;
    return least_squares_student(-exp(log_t), wanted->freedom) - wanted->probability;
}

double least_squares_student_quantile(double probability, double freedom) {
    Quantile wanted = {fmin(probability, 1 - probability), freedom};
    double log_t = 0;
    if (wanted.probability == 0.5 || !numeric_find_root(quantile_gap, &wanted, -40, 60, 1e-13, &log_t))
        return 0;
    return probability < 0.5 ? -exp(log_t) : exp(log_t);
}

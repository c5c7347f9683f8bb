/* SPDX-FileCopyrightText: the Rundlet developers */
/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Goldfarb and Idnani's dual method. With G = LL', J = L^-T Q and R hold the active normals N as J'N = (R,
 * 0)', kept up by Givens rotations as rows enter and leave. The letters d, z, r, s, t, u are those of the
 * paper. */
#include "find/quadratic.h"

#include <float.h>
#include <math.h>
#include <stddef.h>

#include "base/mem.h"
#include "numbers/numeric.h"

/* A normal is taken as a combination of the active ones when so little of it is left beside them. Finite
 * differences are good to about 1e-10, so less than that is noise. */
#define DEPENDENT 1e-9
#define SATISFIED 1e-13

typedef struct Solver {
    const QuadraticProgram *program;
    int n; /* variables */
    double *x;
    double *J; /* n by n, by row */
    double *R; /* n by n, by row; its upper left q by q is in use */
    double *d, *z, *r;
    double *u;       /* one an active row, the entering one last */
    int *active;     /* row numbers */
    double *sign;    /* an equality may be met from either side: its normal is turned around by -1 */
    int q;           /* active rows */
    bool *is_active; /* by row */
} Solver;

static const double *normal(const Solver *s, int row) {
    return s->program->normals + (size_t)row * (size_t)s->n;
}

static double dot(const double *a, const double *b, int count) {
    double sum = 0;
    for (int i = 0; i < count; i++)
        sum += a[i] * b[i];
    return sum;
}

static double row_value(const Solver *s, int row) {
    return dot(normal(s, row), s->x, s->n) + s->program->offsets[row];
}

/* ---- set-up ---- */

/* J = L^-T of G = LL', and x = -G^-1 g. */
static bool factor(Solver *s) {
    int n = s->n;
    double *L = s->R; /* not in use yet */
    for (int j = 0; j < n; j++) {
        double diagonal = s->program->hessian[j * n + j] - dot(L + j * n, L + j * n, j);
        if (!(diagonal > 0) || !isfinite(diagonal))
            return false;
        L[j * n + j] = sqrt(diagonal);
        for (int i = j + 1; i < n; i++)
            L[i * n + j] = (s->program->hessian[i * n + j] - dot(L + i * n, L + j * n, j)) / L[j * n + j];
    }
    for (int column = 0; column < n; column++) { /* L y = e_column; J's row is y */
        for (int i = 0; i < n; i++) {
            double sum = i == column ? 1 : 0;
            for (int k = column; k < i; k++)
                sum -= L[i * n + k] * s->J[column * n + k];
            s->J[column * n + i] = i < column ? 0 : sum / L[i * n + i];
        }
    }
    for (int i = 0; i < n * n; i++)
        L[i] = 0;
    return true;
}

static void start_unconstrained(Solver *s) {
    int n = s->n;
    for (int k = 0; k < n; k++) { /* d = J'g */
        s->d[k] = 0;
        for (int i = 0; i < n; i++)
            s->d[k] += s->J[i * n + k] * s->program->gradient[i];
    }
    for (int i = 0; i < n; i++)
        s->x[i] = -dot(s->J + i * n, s->d, n);
}

/* ---- the active set ---- */

/* Rotates two numbers so that the second becomes 0. */
static void rotation(double a, double b, double *c, double *s, double *length) {
    *length = hypot(a, b);
    *c = *length > 0 ? a / *length : 1;
    *s = *length > 0 ? b / *length : 0;
}

static void rotate_columns(double *J, int n, int k, double c, double s) {
    for (int i = 0; i < n; i++) {
        double a = J[i * n + k], b = J[i * n + k + 1];
        J[i * n + k] = c * a + s * b;
        J[i * n + k + 1] = c * b - s * a;
    }
}

/* The row whose d is at hand becomes the last active one. */
static void enter(Solver *s, int row, double sign) {
    int n = s->n;
    for (int k = n - 2; k >= s->q; k--) {
        double c, sine, length;
        rotation(s->d[k], s->d[k + 1], &c, &sine, &length);
        rotate_columns(s->J, n, k, c, sine);
        s->d[k] = length;
        s->d[k + 1] = 0;
    }
    for (int i = 0; i <= s->q; i++)
        s->R[i * n + s->q] = s->d[i];
    s->active[s->q] = row;
    s->sign[s->q] = sign;
    s->is_active[row] = true;
    s->q++;
}

static void leave(Solver *s, int place) {
    int n = s->n;
    s->is_active[s->active[place]] = false;
    for (int j = place; j < s->q - 1; j++) {
        s->active[j] = s->active[j + 1];
        s->sign[j] = s->sign[j + 1];
        for (int i = 0; i <= j + 1; i++)
            s->R[i * n + j] = s->R[i * n + j + 1];
    }
    for (int j = place; j < s->q; j++)
        s->u[j] = s->u[j + 1]; /* the entering row's comes along */
    s->q--;
    for (int j = place; j < s->q; j++) {
        double c, sine, length;
        rotation(s->R[j * n + j], s->R[(j + 1) * n + j], &c, &sine, &length);
        for (int k = j; k < s->q; k++) {
            double a = s->R[j * n + k], b = s->R[(j + 1) * n + k];
            s->R[j * n + k] = c * a + sine * b;
            s->R[(j + 1) * n + k] = c * b - sine * a;
        }
        rotate_columns(s->J, n, j, c, sine);
    }
}

/* d = J'n, z = J2 d2 (the step in x), r = R^-1 d1 (the step in the active multipliers). False when z is
 * nothing. */
static bool directions(Solver *s, const double *row, double sign) {
    int n = s->n;
    double whole = 0, beside = 0;
    for (int k = 0; k < n; k++) {
        double sum = 0;
        for (int i = 0; i < n; i++)
            sum += s->J[i * n + k] * row[i];
        s->d[k] = sign * sum;
        whole += sum * sum;
        beside += k >= s->q ? sum * sum : 0;
    }
    for (int i = 0; i < n; i++)
        s->z[i] = dot(s->J + i * n + s->q, s->d + s->q, n - s->q);
    for (int i = s->q - 1; i >= 0; i--) {
        double sum = s->d[i];
        for (int k = i + 1; k < s->q; k++)
            sum -= s->R[i * n + k] * s->r[k];
        s->r[i] = sum / s->R[i * n + i];
    }
    return beside > DEPENDENT * DEPENDENT * whole;
}

/* How far the multipliers can go before one of an inequality turns negative. */
static double dual_room(const Solver *s, int *blocking) {
    double room = NUMERIC_ENDLESS;
    *blocking = -1;
    for (int j = 0; j < s->q; j++) {
        if (s->active[j] < s->program->equalities || !(s->r[j] > 0))
            continue;
        if (s->u[j] / s->r[j] < room) {
            room = s->u[j] / s->r[j];
            *blocking = j;
        }
    }
    return room;
}

static double tolerance_of(const Solver *s, int row) {
    double size = fabs(s->program->offsets[row]);
    const double *n = normal(s, row);
    for (int i = 0; i < s->n; i++)
        size += fabs(n[i] * s->x[i]);
    return SATISFIED * fmax(size, 1e-3);
}

/* The next row to be met: equalities in their order, then the inequality that is violated most. -1: none. */
static int most_violated(const Solver *s) {
    int worst = -1;
    double most = 1;
    for (int row = 0; row < s->program->rows; row++) {
        if (s->is_active[row])
            continue;
        double value = row_value(s, row), tolerance = tolerance_of(s, row);
        if (row < s->program->equalities && fabs(value) > tolerance)
            return row;
        if (row >= s->program->equalities && -value > most * tolerance) {
            most = -value / tolerance;
            worst = row;
        }
    }
    return worst;
}

/* Moves until the row holds, dropping active rows that are in the way. */
static QuadraticOutcome meet(Solver *s, int row) {
    double sign = row < s->program->equalities && row_value(s, row) > 0 ? -1 : 1;
    s->u[s->q] = 0;
    for (int turn = 0; turn <= s->program->rows + s->n; turn++) {
        bool moves = directions(s, normal(s, row), sign);
        int blocking;
        double dual = dual_room(s, &blocking), full = NUMERIC_ENDLESS, value = sign * row_value(s, row);
        if (moves)
            full = fmax(0, -value / (sign * dot(s->z, normal(s, row), s->n)));
        double t = fmin(dual, full);
        if (!isfinite(
                t)) /* a combination of rows that hold: with noise in it when it came from differences */
            return -value <= DEPENDENT ? QUADRATIC_SOLVED : QUADRATIC_IMPOSSIBLE;
        for (int i = 0; moves && i < s->n; i++)
            s->x[i] += t * s->z[i];
        for (int j = 0; j < s->q; j++)
            s->u[j] -= t * s->r[j];
        s->u[s->q] += t;
        if (full <= dual) {
            enter(s, row, sign);
            return QUADRATIC_SOLVED;
        }
        leave(s, blocking);
    }
    return QUADRATIC_NOT_CONVERGED;
}

static QuadraticOutcome run(Solver *s) {
    if (!factor(s))
        return QUADRATIC_NOT_CONVEX;
    start_unconstrained(s);
    int most = 50 * (s->n + s->program->rows) + 50;
    for (int turn = 0; turn < most; turn++) {
        int row = most_violated(s);
        if (row < 0)
            return QUADRATIC_SOLVED;
        int active = s->q;
        QuadraticOutcome outcome = meet(s, row);
        if (outcome != QUADRATIC_SOLVED)
            return outcome;
        if (s->q == active && !s->is_active[row])
            s->is_active[row] =
                true; /* dependent on active rows and met within noise: left alone from now on */
    }
    return QUADRATIC_NOT_CONVERGED;
}

QuadraticOutcome quadratic_solve(const QuadraticProgram *program, double *x, double *multipliers) {
    size_t n = (size_t)program->variables, rows = (size_t)program->rows;
    Solver s = {.program = program, .n = program->variables, .x = x};
    double *numbers = mem_array(2 * n * n + 5 * n + 4, sizeof *numbers);
    s.J = numbers;
    s.R = s.J + n * n;
    s.d = s.R + n * n;
    s.z = s.d + n;
    s.r = s.z + n;
    s.sign = s.r + n;
    s.u = s.sign + n + 1;
    s.active = mem_array(n + 1, sizeof *s.active);
    s.is_active = mem_array(rows + 1, sizeof *s.is_active);
    QuadraticOutcome outcome = run(&s);
    for (size_t i = 0; i < rows; i++)
        multipliers[i] = 0;
    for (int j = 0; j < s.q; j++)
        multipliers[s.active[j]] = s.sign[j] * s.u[j];
    mem_free(numbers);
    mem_free(s.active);
    mem_free(s.is_active);
    return outcome;
}

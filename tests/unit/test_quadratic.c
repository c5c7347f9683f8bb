/* SPDX-FileCopyrightText: the Rundlet developers */
/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Quadratic programs: published ones, and random ones whose answer is proved by the conditions of Karush,
 * Kuhn and Tucker, which no wrong answer meets. */
#include "find/quadratic.h"

#include "near.h"

#include <criterion/criterion.h>
#include <math.h>
#include <string.h>

enum { MOST_VARIABLES = 8, MOST_ROWS = 24 };

/* A linear congruential generator (Knuth, MMIX): the same numbers on every machine. */
static double next_random(unsigned long long *state) {
    *state = *state * 6364136223846793005u + 1442695040888963407u;
    return (double)(*state >> 11) / 9007199254740992.0 * 2 - 1;
}

static double row_value(const QuadraticProgram *p, int row, const double *x) {
    double sum = p->offsets[row];
    for (int j = 0; j < p->variables; j++)
        sum += p->normals[row * p->variables + j] * x[j];
    return sum;
}

/* The largest violation of the optimality conditions: slope, feasibility, sign, complementarity. */
static double worst_condition(const QuadraticProgram *p, const double *x, const double *u) {
    double worst = 0;
    for (int i = 0; i < p->variables; i++) {
        double slope = p->gradient[i];
        for (int j = 0; j < p->variables; j++)
            slope += p->hessian[i * p->variables + j] * x[j];
        for (int row = 0; row < p->rows; row++)
            slope -= u[row] * p->normals[row * p->variables + i];
        worst = fmax(worst, fabs(slope));
    }
    for (int row = 0; row < p->rows; row++) {
        double value = row_value(p, row, x);
        worst = fmax(worst, row < p->equalities ? fabs(value) : fmax(0, -value));
        if (row >= p->equalities)
            worst = fmax(worst, fmax(-u[row], fabs(u[row] * value)));
    }
    return worst;
}

/* R. Fletcher's and Goldfarb and Idnani's own small example (1983, sec. 5). */
Test(quadratic, example_of_the_paper) {
    const double G[] = {4, -2, -2, 4}, g[] = {6, 0};
    const double normals[] = {1, 0, 0, 1, 1, 1}, offsets[] = {0, 0, -2};
    QuadraticProgram p = {
        .variables = 2, .rows = 3, .hessian = G, .gradient = g, .normals = normals, .offsets = offsets};
    double x[2], u[3];
    cr_assert_eq(quadratic_solve(&p, x, u), QUADRATIC_SOLVED);
    cr_assert(near(x[0], 0.5, 0, 1e-14) && near(x[1], 1.5, 0, 1e-14), "%.17g %.17g", x[0], x[1]);
    cr_assert(near(u[0], 0, 0, 1e-14) && near(u[1], 0, 0, 1e-14) && near(u[2], 5, 0, 1e-13), "%.17g", u[2]);
}

/* Lawson and Hanson, Solving Least Squares Problems, ch. 23 sec. 7: a line through four points with p, q >=
 * 0, p + q <= 1. */
Test(quadratic, line_of_lawson_and_hanson) {
    const double t[] = {0.25, 0.5, 0.5, 0.8}, w[] = {0.5, 0.6, 0.7, 1.2};
    double G[4] = {0}, g[2] = {0}, x[2], u[3], sum = 0;
    const double normals[] = {1, 0, 0, 1, -1, -1}, offsets[] = {0, 0, 1};
    for (int i = 0; i < 4; i++) {
        G[0] += t[i] * t[i];
        G[1] += t[i];
        G[3] += 1;
        g[0] -= t[i] * w[i];
        g[1] -= w[i];
    }
    G[2] = G[1];
    QuadraticProgram p = {
        .variables = 2, .rows = 3, .hessian = G, .gradient = g, .normals = normals, .offsets = offsets};
    cr_assert_eq(quadratic_solve(&p, x, u), QUADRATIC_SOLVED);
    for (int i = 0; i < 4; i++)
        sum += (x[0] * t[i] + x[1] - w[i]) * (x[0] * t[i] + x[1] - w[i]);
    cr_assert(near(x[0], 0.685 / 1.1025, 1e-13, 0), "closed form p = 0.685/1.1025, got %.17g", x[0]);
    cr_assert(near(x[1], 0.37868481, 0, 1e-8) && near(sqrt(sum), 0.33822935, 0, 1e-8), "%.17g %.17g", x[1],
              sqrt(sum));
}

/* linear_blends.csv, NNLS-5x5: min |Ax - b|, x >= 0. */
Test(quadratic, least_squares_not_negative) {
    const double A[5][5] = {{-0.24, -0.82, 1.35, 0.36, 0.35},
                            {-0.53, -0.20, -0.76, 0.98, -0.54},
                            {0.22, 1.25, -1.60, -1.37, -1.94},
                            {-0.51, -0.56, -0.08, 0.96, 0.46},
                            {0.48, -2.25, 0.38, 0.06, -1.29}};
    const double b[] = {-1.6, 0.19, 0.17, 0.31, -1.27}, want[] = {2.2010416, 1.1900992, 0, 1.5500135, 0};
    double G[25] = {0}, g[5] = {0}, normals[25] = {0}, offsets[5] = {0}, x[5], u[5], sum = 0;
    for (int i = 0; i < 5; i++) {
        normals[i * 5 + i] = 1;
        for (int k = 0; k < 5; k++) {
            g[i] -= A[k][i] * b[k];
            for (int j = 0; j < 5; j++)
                G[i * 5 + j] += A[k][i] * A[k][j];
        }
    }
    QuadraticProgram p = {
        .variables = 5, .rows = 5, .hessian = G, .gradient = g, .normals = normals, .offsets = offsets};
    cr_assert_eq(quadratic_solve(&p, x, u), QUADRATIC_SOLVED);
    for (int k = 0; k < 5; k++) {
        double miss = -b[k];
        for (int j = 0; j < 5; j++)
            miss += A[k][j] * x[j];
        sum += miss * miss;
        cr_assert(near(x[k], want[k], 0, 1e-6), "x[%d] is %.17g, published %.8g", k, x[k], want[k]);
    }
    cr_assert(near(sqrt(sum), 0.98827937, 0, 1e-8), "residual %.17g", sqrt(sum));
}

static QuadraticProgram random_program(unsigned long long *state, double *numbers, int wanted) {
    int n = 1 + (int)((next_random(state) + 1) / 2 * MOST_VARIABLES),
        rows = n + (int)((next_random(state) + 1) * 5);
    int equalities = wanted < n ? wanted : 0;
    double *factor = numbers, *G = factor + 64, *g = G + 64, *normals = g + 8,
           *offsets = normals + 8 * MOST_ROWS;
    for (int i = 0; i < n * n; i++)
        factor[i] = next_random(state);
    for (int i = 0; i < n; i++) {
        g[i] = 5 * next_random(state);
        for (int j = 0; j < n; j++) {
            G[i * n + j] = i == j ? 0.1 : 0;
            for (int k = 0; k < n; k++)
                G[i * n + j] += factor[i * n + k] * factor[j * n + k];
        }
    }
    for (int row = 0; row < rows; row++) {
        double length = 0;
        for (int j = 0; j < n; j++) {
            normals[row * n + j] = next_random(state);
            length += normals[row * n + j] * normals[row * n + j];
        }
        for (int j = 0; j < n; j++)
            normals[row * n + j] /= sqrt(length);
        offsets[row] =
            row < equalities ? next_random(state) : fabs(next_random(state)); /* 0 meets the inequalities */
    }
    return (QuadraticProgram){.variables = n,
                              .rows = rows,
                              .equalities = equalities,
                              .hessian = G,
                              .gradient = g,
                              .normals = normals,
                              .offsets = offsets};
}

Test(quadratic, random_programs_meet_the_optimality_conditions) {
    unsigned long long state = 20;
    int solved = 0, impossible = 0;
    static double numbers[64 + 64 + 8 + 8 * MOST_ROWS + MOST_ROWS];
    for (int k = 0; k < 3000; k++) {
        double x[MOST_VARIABLES], u[MOST_ROWS];
        QuadraticProgram p = random_program(&state, numbers, k % 3);
        QuadraticOutcome outcome = quadratic_solve(&p, x, u);
        cr_assert(outcome == QUADRATIC_SOLVED || (p.equalities && outcome == QUADRATIC_IMPOSSIBLE),
                  "program %d: %d", k, outcome);
        impossible += outcome == QUADRATIC_IMPOSSIBLE;
        if (outcome != QUADRATIC_SOLVED)
            continue;
        solved++;
        double size = 1;
        for (int row = 0; row < p.rows; row++)
            size = fmax(size, fabs(u[row]));
        cr_assert(worst_condition(&p, x, u) <= 1e-11 * size * size, "program %d: %g", k,
                  worst_condition(&p, x, u));
    }
    cr_assert(solved > 2500 && impossible > 10, "%d solved, %d impossible", solved, impossible);
}

Test(quadratic, contradictions_are_found) {
    const double G[] = {1, 0, 0, 1}, g[] = {0, 0};
    const double normals[] = {1, 0, -1, 0, 0, 1}, offsets[] = {-2, 1, 0}; /* x >= 2, x <= 1 */
    QuadraticProgram p = {
        .variables = 2, .rows = 3, .hessian = G, .gradient = g, .normals = normals, .offsets = offsets};
    double x[2], u[3];
    cr_assert_eq(quadratic_solve(&p, x, u), QUADRATIC_IMPOSSIBLE);
    p.equalities = 2;
    cr_assert_eq(quadratic_solve(&p, x, u), QUADRATIC_IMPOSSIBLE);
}

Test(quadratic, rows_said_twice_do_no_harm) {
    const double G[] = {1, 0, 0, 1}, g[] = {-3, -1};
    const double normals[] = {0.6, 0.8, 0.6, 0.8, -0.6, -0.8, 1, 0, 1, 0}, offsets[] = {-1, -1, 1, 0, 0};
    QuadraticProgram p = {.variables = 2,
                          .rows = 5,
                          .equalities = 3,
                          .hessian = G,
                          .gradient = g,
                          .normals = normals,
                          .offsets = offsets};
    double x[2], u[5];
    cr_assert_eq(quadratic_solve(&p, x, u), QUADRATIC_SOLVED);
    cr_assert(near(0.6 * x[0] + 0.8 * x[1], 1, 0, 1e-14) && worst_condition(&p, x, u) <= 1e-13);
}

Test(quadratic, what_is_not_convex_is_refused) {
    const double G[] = {1, 2, 2, 1}, g[] = {0, 0};
    QuadraticProgram p = {.variables = 2, .hessian = G, .gradient = g};
    double x[2], u[1];
    cr_assert_eq(quadratic_solve(&p, x, u), QUADRATIC_NOT_CONVEX);
}

/* SPDX-FileCopyrightText: the Rundlet developers */
/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Small strictly convex quadratic programs, dense, in plain doubles.
 *
 *     minimise  1/2 x'Gx + g'x   so that  n_i'x + b_i == 0  (the first rows),  n_i'x + b_i >= 0  (the others)
 *
 * The dual active-set method: it starts at the unconstrained minimum and takes one violated row after the
 * other into the active set, so it needs no feasible start and finds out by itself when the rows contradict
 * each other. Source: D. Goldfarb and A. Idnani, A numerically stable dual method for solving strictly convex
 * quadratic programs, Mathematical Programming 27 (1983) 1-33. */
#ifndef FIND_QUADRATIC_H
#define FIND_QUADRATIC_H

#include <stdbool.h>

typedef struct QuadraticProgram {
    int variables;
    int rows;               /* bounds are rows like any other */
    int equalities;         /* the first so many rows are met exactly */
    const double *hessian;  /* G, variables², symmetric and positive definite */
    const double *gradient; /* g */
    const double
        *normals; /* n, row after row, each `variables` long; best of length 1: the tolerance is a distance */
    const double *offsets; /* b, one a row */
} QuadraticProgram;

typedef enum QuadraticOutcome {
    QUADRATIC_SOLVED,
    QUADRATIC_IMPOSSIBLE,   /* the rows contradict each other */
    QUADRATIC_NOT_CONVEX,   /* G is not positive definite, or something is not a number */
    QUADRATIC_NOT_CONVERGED /* rounding kept it from ending */
} QuadraticOutcome;

/* x: `variables` numbers. multipliers: `rows` numbers, 0 for rows that do not bind, of any sign for
 * equalities, so that Gx + g is the sum of multiplier times normal. Rows hold to about 1e-13 of the size of
 * x. Both are only good after QUADRATIC_SOLVED; after QUADRATIC_IMPOSSIBLE `x` is where it stood when it
 * found out. */
QuadraticOutcome quadratic_solve(const QuadraticProgram *program, double *x, double *multipliers);

#endif

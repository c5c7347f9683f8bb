/* SPDX-FileCopyrightText: the Rundlet developers */
/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Least squares for small dense problems, linear and not, in plain doubles.
 *
 * Both go through Householder's QR (G. H. Golub, Numerische Mathematik 7 (1965) 206-216), never through the
 * normal equations, so that nearly dependent columns cost no more digits than they must. */
#ifndef NUMBERS_LEAST_SQUARES_H
#define NUMBERS_LEAST_SQUARES_H

#include <stdbool.h>

enum { LEAST_SQUARES_MOST = 16 }; /* parameters */

/* Fills `rows` residuals and, when the problem says it can and `jacobian` is not NULL, their derivatives, row
 * after row, `parameters` a row. False: there is no value here. */
typedef bool (*LeastSquaresFunction)(const double *parameters, double *residuals, double *jacobian,
                                     void *context);

typedef struct LeastSquaresProblem {
    int rows, parameters;     /* rows >= parameters >= 1, up to LEAST_SQUARES_MOST parameters */
    const double *low, *high; /* bounds of the parameters; NULL for none on that side */
    /* Sizes of the parameters, above 0: one that is smaller, or 0, is moved as if it were so large when
     * differences are taken. NULL: its own size, and 1 where that changes nothing that can be seen. */
    const double *typical;
    bool has_jacobian;    /* else central differences are taken */
    bool is_standardised; /* residuals are in units of their standard uncertainty */
    LeastSquaresFunction function;
    void *context;
} LeastSquaresProblem;

typedef enum LeastSquaresOutcome {
    LEAST_SQUARES_CONVERGED,
    LEAST_SQUARES_STALLED, /* no step lowers the sum, yet the derivatives say one should; the best is given */
    LEAST_SQUARES_NO_VALUE, /* the function has none at the start or around the best */
    LEAST_SQUARES_TOO_LONG, /* not done in LEAST_SQUARES_STEPS */
} LeastSquaresOutcome;

enum { LEAST_SQUARES_STEPS = 2000 };

/* `parameters` in: a start, moved into the bounds; out: the best found. `covariance` may be NULL; else
 * parameters² numbers: (JᵀJ)⁻¹, for residuals that are not standardised times *sum / (rows − parameters in
 * motion), with rows and columns of 0 for parameters that rest on a bound. Throughout infinite, as nothing is
 * known, when the derivatives are dependent, no row is to spare for that factor, or there is no value. *sum
 * is that of the squared residuals, infinite where the start has no value. Nothing given is ever NaN. Source:
 * D. W. Marquardt, J. SIAM 11 (1963) 431-441; scaling by column norms: J. J. Moré, in Lecture Notes in
 * Mathematics 630 (1978) 105-116; damping by the gain: H. B. Nielsen, IMM-REP-1999-05 (from memory). */
LeastSquaresOutcome least_squares_fit(const LeastSquaresProblem *problem, double *parameters,
                                      double *covariance, double *sum);

/* Coefficients of design × coefficients = values, all finite; `design` row after row. `covariance` and *sum
 * as above, not standardised. False when columns depend on one another (to 1e-12 of their length), or there
 * are more of them than rows.
 */
bool least_squares_linear(int rows, int columns, const double *design, const double *values,
                          double *coefficients, double *covariance, double *sum);

/* Student's t: the probability of a value up to t, and the value that a probability in (0, 1) belongs to.
 * freedom > 0, fractions too. Relative error below 1e-10 of the smaller tail.
 * Source: continued fraction of the incomplete beta function, NIST DLMF 8.17.22. */
double least_squares_student(double t, double freedom);
double least_squares_student_quantile(double probability, double freedom);

#endif

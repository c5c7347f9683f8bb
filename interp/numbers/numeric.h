/* SPDX-FileCopyrightText: the Rundlet developers */
/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Roots of one-variable functions, and polynomials. Plain doubles, no state, no allocation. */
#ifndef NUMBERS_NUMERIC_H
#define NUMBERS_NUMERIC_H

#include <math.h>
#include <stdbool.h>
#include <stddef.h>

/* "No value", as a double (NAN itself is a float). */
#define NUMERIC_NONE ((double)NAN)
/* Beyond every number, as a double. */
#define NUMERIC_ENDLESS ((double)INFINITY)

/* A function of one variable. A value that is not a number means "no value here" and ends a search. */
typedef double (*NumericFunction)(double x, void *context);

/* A function and its derivative. */
typedef void (*NumericSlope)(double x, void *context, double *value, double *slope);

/* Finds x in [low, high] where f changes sign, to within `tolerance` (absolute) plus rounding of x.
 * Chandrupatla's hybrid of bisection and inverse quadratic interpolation: never slower than three
 * bisections a halving, usually 6 to 10 calls.
 * False when low > high, when the ends do not differ in sign (a zero at an end is a root), when f is not
 * a number somewhere, or when the tolerance was not met in NUMERIC_MAX_STEPS calls; *root is then
 * untouched. A sign change at a pole is found like a root: look at f(*root) where that matters.
 * Source: T. R. Chandrupatla, Advances in Engineering Software 28 (1997) 145-149. */
bool numeric_find_root(NumericFunction f, void *context, double low, double high, double tolerance,
                       double *root);

/* Newton's method from `guess`, kept inside [low, high]: a step that leaves the bracket or does not shrink
 * is replaced by a bisection. It ends with the first step not longer than `tolerance` (absolute), which is
 * still taken; as the error falls quadratically, a tolerance of 1e-9 of the scale gives full precision.
 * False as above. The function must be monotone between the ends. */
bool numeric_find_root_newton(NumericSlope f, void *context, double low, double high, double guess,
                              double tolerance, double *root);

enum { NUMERIC_MAX_STEPS = 400 };

/* c[0] + c[1] x + ... + c[count-1] x^(count-1). */
double numeric_polynomial(const double *coefficients, size_t count, double x);

/* The same polynomial and its derivative in one pass. */
double numeric_polynomial_slope(const double *coefficients, size_t count, double x, double *slope);

/* x moved into [low, high]; low must not exceed high. */
double numeric_clamp(double x, double low, double high);

/* True when x is finite and low <= x <= high, with `slack` allowed beyond both ends. */
bool numeric_within(double x, double low, double high, double slack);

#endif

/* SPDX-FileCopyrightText: the Rundlet developers */
/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Roots against published problems with known answers, and what must be refused. */
#include "numbers/numeric.h"

#include "csv_rows.h"
#include "near.h"

#include <criterion/criterion.h>
#include <math.h>
#include <string.h>

/* ---- The functions of roots.csv; n and a are the row's constants ---- */

typedef struct Problem {
    const char *id;
    double (*f)(double x, double n, double a);
    double n, a;
    int calls;
} Problem;

static double sine(double x, double n, double a) {
    return (void)n, (void)a, sin(x);
}
static double cosine(double x, double n, double a) {
    return (void)n, (void)a, cos(x);
}
static double root_of_size(double x, double n, double a) {
    return (void)n, (void)a, copysign(sqrt(fabs(x)), x);
}
static double x_times_exp(double x, double n, double a) {
    return n * x * exp(a * x);
}
static double poles(double x, double n, double a) {
    double sum = 0;
    (void)n, (void)a;
    for (int i = 1; i <= 20; i++)
        sum += pow(2 * i - 5, 2) / pow(x - i * i, 3);
    return -2 * sum;
}
static double power_less(double x, double n, double a) {
    return pow(x, n) - a;
}
static double aps_06(double x, double n, double a) {
    return (void)a, 2 * x * exp(-n) - 2 * exp(-n * x) + 1;
}
static double aps_07(double x, double n, double a) {
    return (void)a, (1 + pow(1 - n, 2)) * x - pow(1 - n * x, 2);
}
static double aps_08(double x, double n, double a) {
    return (void)a, x * x - pow(1 - x, n);
}
static double aps_09(double x, double n, double a) {
    return (void)a, (1 + pow(1 - n, 4)) * x - pow(1 - n * x, 4);
}
static double aps_10(double x, double n, double a) {
    return (void)a, exp(-n * x) * (x - 1) + pow(x, n);
}
static double aps_11(double x, double n, double a) {
    return (void)a, (n * x - 1) / ((n - 1) * x);
}
static double aps_12(double x, double n, double a) {
    return (void)a, pow(x, 1 / n) - pow(n, 1 / n);
}
static double aps_13(double x, double n, double a) {
    return (void)n, (void)a, x == 0 ? 0 : x / exp(1 / (x * x));
}
static double aps_14(double x, double n, double a) {
    return (void)a, x <= 0 ? -n / 20 : n / 20 * (x / 1.5 + sin(x) - 1);
}
static double aps_15(double x, double n, double a) {
    (void)a;
    if (x < 0)
        return -0.859;
    return x > 2e-3 / (1 + n) ? exp(1) - 1.859 : exp((n + 1) * x / 2 * 1000) - 1.859;
}

static const Problem PROBLEMS[] = {
    {"gsl.sin.1", sine, 0, 0, 0},           {"gsl.sin.3", sine, 0, 0, 0},
    {"gsl.cos.2", cosine, 0, 0, 0},         {"gsl.sqrtsgn", root_of_size, 0, 0, 0},
    {"gsl.xexp", x_times_exp, 1, -1, 0},    {"gsl.bad.1", sine, 0, 0, 0},
    {"gsl.bad.3", sine, 0, 0, 0},           {"aps.02.00", poles, 0, 0, 0},
    {"aps.02.02", poles, 0, 0, 0},          {"aps.02.04", poles, 0, 0, 0},
    {"aps.02.06", poles, 0, 0, 0},          {"aps.02.08", poles, 0, 0, 0},
    {"aps.03.00", x_times_exp, -40, -1, 0}, {"aps.03.02", x_times_exp, -200, -3, 0},
    {"aps.04.01", power_less, 6, 0.2, 0},   {"aps.04.03", power_less, 10, 0.2, 0},
    {"aps.06.00", aps_06, 1, 0, 0},         {"aps.06.02", aps_06, 3, 0, 0},
    {"aps.07.00", aps_07, 5, 0, 0},         {"aps.07.02", aps_07, 20, 0, 0},
    {"aps.08.01", aps_08, 5, 0, 0},         {"aps.08.03", aps_08, 15, 0, 0},
    {"aps.09.01", aps_09, 2, 0, 0},         {"aps.10.00", aps_10, 1, 0, 0},
    {"aps.10.02", aps_10, 10, 0, 0},        {"aps.11.01", aps_11, 5, 0, 0},
    {"aps.12.01", aps_12, 3, 0, 0},         {"aps.13.00", aps_13, 0, 0, 0},
    {"aps.14.01", aps_14, 2, 0, 0},         {"aps.15.00", aps_15, 20, 0, 0},
    {"aps.15.02", aps_15, 22, 0, 0}};

static double call(double x, void *context) {
    Problem *problem = context;
    problem->calls++;
    return problem->f(x, problem->n, problem->a);
}

static bool find_problem(const char *id, Problem *problem) {
    for (size_t i = 0; i < sizeof PROBLEMS / sizeof *PROBLEMS; i++)
        if (strcmp(PROBLEMS[i].id, id) == 0) {
            *problem = PROBLEMS[i];
            return true;
        }
    return false;
}

Test(numeric, published_roots) {
    CsvRows rows;
    cr_assert(csv_rows_read(&rows, "roots.csv"));
    cr_assert_geq(rows.count, (size_t)30);
    for (size_t i = 0; i < rows.count; i++) {
        const char *id = csv_rows_text(&rows, i, "id");
        double want = csv_rows_number(&rows, i, "root"), root = 12345;
        Problem problem;
        cr_assert(find_problem(id, &problem), "no function for row %s", id);
        bool found = numeric_find_root(call, &problem, csv_rows_number(&rows, i, "bracket_lo"),
                                       csv_rows_number(&rows, i, "bracket_hi"), 1e-15, &root);
        if (isnan(want)) {
            cr_expect(!found && root == 12345, "%s must be refused and leave the result alone", id);
            continue;
        }
        cr_expect(found, "%s: no root", id);
        /* All derivatives of 13.00 vanish at its root: only the value can be asked for. */
        if (strcmp(id, "aps.13.00") == 0)
            cr_expect(fabs(call(root, &problem)) < 1e-12, "%s: value %g", id, call(root, &problem));
        else
            cr_expect(near(root, want, 1e-12, 1e-14), "%s: got %.17g, want %.17g", id, root, want);
        cr_expect(problem.calls < 150, "%s took %d calls", id, problem.calls);
    }
}

static double line(double x, void *context) {
    return x - *(double *)context;
}
static double no_value(double x, void *context) {
    return (void)context, x < 0.4 ? x - 0.7 : (double)NAN;
}
static double step(double x, void *context) {
    return (void)context, x < 0.3 ? -1 : 1;
}

Test(numeric, ends_and_refusals) {
    double at = 0.25, root = 0;
    cr_expect(numeric_find_root(line, &at, 0.25, 1, 1e-12, &root) && root == 0.25, "root at the low end");
    cr_expect(numeric_find_root(line, &at, 0, 0.25, 1e-12, &root) && root == 0.25, "root at the high end");
    cr_expect(numeric_find_root(line, &at, 0.25, 0.25, 1e-12, &root) && root == 0.25, "no width");
    root = 9;
    cr_expect(!numeric_find_root(line, &at, 0.3, 1, 1e-12, &root), "root below");
    cr_expect(!numeric_find_root(line, &at, 1, 0, 1e-12, &root), "reversed");
    cr_expect(!numeric_find_root(line, &at, (double)NAN, 1, 1e-12, &root), "end that is no number");
    cr_expect(!numeric_find_root(line, &at, 0, (double)INFINITY, 1e-12, &root), "endless");
    cr_expect(!numeric_find_root(no_value, NULL, 0, 1, 1e-12, &root), "a side without a value");
    cr_expect(root == 9, "a refusal changed the result");
    cr_expect(numeric_find_root(step, NULL, 0, 1, 1e-12, &root) && near(root, 0.3, 0, 2e-12), "jump");
}

/* x^3 - c, the textbook of Newton's method. */
static void cube(double x, void *context, double *value, double *slope) {
    *value = x * x * x - *(double *)context;
    *slope = 3 * x * x;
}
static void arc(double x, void *context, double *value, double *slope) {
    (void)context;
    *value = atan(x); /* plain Newton runs away from |x| > 1.39 */
    *slope = 1 / (1 + x * x);
}
static void flat(double x, void *context, double *value, double *slope) {
    (void)context;
    *value = x - 5;
    *slope = 0;
}

Test(numeric, newton) {
    double root = 0;
    for (double c = 0.001; c < 1e6; c *= 7.3) {
        cr_expect(numeric_find_root_newton(cube, &c, 1e-3, 1e3, 1, 1e-9 * cbrt(c), &root), "cube %g", c);
        cr_expect(near(root, cbrt(c), 1e-14, 0), "cube root of %g: %.17g", c, root);
    }
    for (double guess = -50; guess <= 50; guess += 12.5) {
        cr_expect(numeric_find_root_newton(arc, NULL, -60, 80, guess, 1e-9, &root), "arc from %g", guess);
        cr_expect(near(root, 0, 0, 1e-14), "arc from %g: %g", guess, root);
    }
    double c = 8;
    cr_expect(numeric_find_root_newton(cube, &c, 2, 3, 3, 1e-9, &root) && near(root, 2, 1e-14, 0), "low end");
    cr_expect(numeric_find_root_newton(cube, &c, 1, 2, 1, 1e-9, &root) && near(root, 2, 1e-14, 0),
              "high end");
    root = 9;
    cr_expect(!numeric_find_root_newton(cube, &c, 2.5, 3, 2.7, 1e-9, &root), "root below");
    cr_expect(!numeric_find_root_newton(cube, &c, 1, 1.5, 1.2, 1e-9, &root), "root above");
    cr_expect(!numeric_find_root_newton(flat, NULL, 0, 9, 1, 1e-9, &root), "no slope");
    cr_expect(!numeric_find_root_newton(cube, &c, 0, 3, (double)NAN, 1e-9, &root), "no guess");
    cr_expect(root == 9, "a refusal changed the result");
}

Test(numeric, polynomials_and_ranges) {
    const double c[] = {1, -2, 0.5, 3};
    double slope;
    cr_expect(near(numeric_polynomial(c, 4, 2), 1 - 4 + 2 + 24, 1e-15, 0));
    cr_expect(near(numeric_polynomial_slope(c, 4, 2, &slope), 23, 1e-15, 0));
    cr_expect(near(slope, -2 + 2 + 36, 1e-15, 0));
    cr_expect(numeric_polynomial(c, 0, 2) == 0, "no terms");
    cr_expect(numeric_clamp(-1, 0, 1) == 0 && numeric_clamp(2, 0, 1) == 1 && numeric_clamp(0.5, 0, 1) == 0.5);
    cr_expect(numeric_within(1 + 1e-10, 0, 1, 1e-9) && !numeric_within(1 + 1e-8, 0, 1, 1e-9));
    cr_expect(!numeric_within((double)NAN, 0, 1, 1e-9) && !numeric_within((double)INFINITY, 0, 1, 1e-9));
}

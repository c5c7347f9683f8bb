/* SPDX-FileCopyrightText: the Rundlet developers */
/* SPDX-License-Identifier: GPL-3.0-or-later */
/* All roots of a function on a range: against polynomials whose roots are known, and against the bracketing
 * solver of the GNU Scientific Library where it is installed. */
#include "find/scan.h"

#include "near.h"
#include "numbers/numeric.h"

#include <criterion/criterion.h>
#include <math.h>
#ifdef HAVE_GSL
#include <gsl/gsl_errno.h>
#include <gsl/gsl_roots.h>
#endif

typedef double (*Plain)(double x);

typedef struct Counted {
    Plain function;
    int calls;
} Counted;

static double counted(double x, void *context, double *size) {
    Counted *this = context;
    this->calls++;
    *size = 1;
    return this->function(x);
}

/* The roots found, near ones taken as one; how many. */
static int all_roots(Plain function, double low, double high, double *roots, int *calls, double *jump) {
    static Scan scan;
    Counted this = {function, 0};
    int count = 0;
    scan_range(&scan, counted, &this, low, high);
    for (int i = 0; i < scan.count; i++) {
        double root;
        if (scan_root(&scan, i, &root) && (!count || root - roots[count - 1] > 1e-6 * (high - low)))
            roots[count++] = root;
    }
    *calls = this.calls;
    *jump = scan.jump;
    return count;
}

static double cubic(double x) {
    return (x + 2.5) * (x - 0.1234567) * (x - 3.999);
}
static double twice(double x) {
    return (x - 1.0 / 3) * (x - 1.0 / 3);
}
static double twice_near_the_end(double x) {
    return (x - 0.001) * (x - 0.001);
}
static double pair_near_the_end(double x) {
    return (x - 4.9951) * (x - 4.9953);
}
static double pair_within_a_step(double x) {
    return (x - 1.0002) * (x - 1.0104);
}
static double pole(double x) {
    return 1 / (x - 1.2345);
}
static double jump_down(double x) {
    return x < 2.2222 ? 1e-3 : -1e-3;
}
static double small_jump(double x) {
    return x < 2.2222 ? x - 2.2223 : x - 2.2220;
}
static double ninth_root(double x) {
    return cbrt(cbrt(x - 1.7));
}
static double behind_an_edge(double x) {
    return x < 0.502 ? NUMERIC_NONE : x - 0.503;
}
static double before_an_edge(double x) {
    return x > 3.1234 ? NUMERIC_NONE : x - 3.1233;
}
static double straight(double x) {
    return x - 0.7;
}
static double flat(double x) {
    return (void)x, 0.25;
}

Test(scan, known_roots) {
    const struct {
        const char *name;
        Plain function;
        int count;
        double roots[3], tolerance;
    } rows[] = {
        {"cubic", cubic, 3, {-2.5, 0.1234567, 3.999}, 1e-14},
        {"touching", twice, 1, {1.0 / 3}, 1e-7},
        {"touching near an end", twice_near_the_end, 1, {0.001}, 1e-7},
        {"a pair near an end", pair_near_the_end, 1, {4.9951}, 1e-12}, /* the first of the two is enough */
        {"a pair within one step", pair_within_a_step, 1, {1.0002}, 1e-12},
        {"infinite slope", ninth_root, 1, {1.7}, 1e-15},
        {"behind an edge", behind_an_edge, 1, {0.503}, 1e-14},
        {"before an edge", before_an_edge, 1, {3.1233}, 1e-14},
        {"straight", straight, 1, {0.7}, 1e-15},
        {"pole", pole, 0, {0}, 0},
        {"jump", jump_down, 0, {0}, 0},
        {"small jump", small_jump, 0, {0}, 0},
        {"flat", flat, 0, {0}, 0},
    };
    for (size_t k = 0; k < sizeof rows / sizeof *rows; k++) {
        double roots[2 * SCAN_STEPS], jump;
        int calls,
            count = all_roots(rows[k].function, rows[k].function == cubic ? -4 : 0, 5, roots, &calls, &jump);
        cr_expect_eq(count, rows[k].count, "%s: %d roots", rows[k].name, count);
        for (int i = 0; i < count && i < rows[k].count; i++)
            cr_expect(near(roots[i], rows[k].roots[i], rows[k].tolerance, rows[k].tolerance), "%s: %.17g",
                      rows[k].name, roots[i]);
    }
}

Test(scan, jumps_are_told) {
    double roots[4], jump;
    int calls;
    cr_expect_eq(all_roots(pole, 0, 5, roots, &calls, &jump), 0);
    cr_expect(near(jump, 1.2345, 1e-12, 0), "%.17g", jump);
    cr_expect_eq(all_roots(small_jump, 0, 5, roots, &calls, &jump), 0);
    cr_expect(near(jump, 2.2222, 1e-12, 0), "%.17g", jump);
    all_roots(cubic, -4, 5, roots, &calls, &jump);
    cr_expect(isnan(jump));
}

Test(scan, costs_little_beside_its_steps) {
    double roots[4], jump;
    int calls;
    all_roots(cubic, -4, 5, roots, &calls, &jump);
    cr_expect(calls <= SCAN_STEPS + 1 + 3 * 20, "%d calls for three roots", calls);
    all_roots(straight, 0, 5, roots, &calls, &jump);
    cr_expect(calls <= SCAN_STEPS + 1 + 12, "%d calls for a straight line", calls);
}

Test(scan, flat_and_empty) {
    static Scan scan;
    Counted this = {flat, 0};
    scan_range(&scan, counted, &this, 0, 1);
    cr_expect(scan_is_flat(&scan) && !scan_is_empty(&scan));
    this.function = straight;
    scan_range(&scan, counted, &this, 0, 1);
    cr_expect(!scan_is_flat(&scan));
    this.function = behind_an_edge;
    scan_range(&scan, counted, &this, 0, 0.4);
    cr_expect(scan_is_empty(&scan) && !scan_is_flat(&scan));
    scan_range(&scan, counted, &this, 0, 1);
    cr_expect(!scan_is_empty(&scan) && !scan_is_flat(&scan));
}

#ifdef HAVE_GSL
static double wave(double x, void *frequency) {
    return sin(*(double *)frequency * x) - 0.3 * x + 0.1;
}

static double wave_sized(double x, void *context, double *size) {
    *size = 1;
    return wave(x, context);
}

static double gsl_root(double frequency, double low, double high) {
    gsl_function function = {.function = wave, .params = &frequency};
    gsl_root_fsolver *solver = gsl_root_fsolver_alloc(gsl_root_fsolver_brent);
    gsl_root_fsolver_set(solver, &function, low, high);
    for (int i = 0; i < 200; i++) {
        gsl_root_fsolver_iterate(solver);
        if (gsl_root_test_interval(gsl_root_fsolver_x_lower(solver), gsl_root_fsolver_x_upper(solver), 0,
                                   1e-15) == GSL_SUCCESS)
            break;
    }
    double root = gsl_root_fsolver_root(solver);
    gsl_root_fsolver_free(solver);
    return root;
}

Test(scan, agrees_with_the_gnu_scientific_library) {
    static Scan scan;
    int compared = 0;
    for (double frequency = 0.5; frequency < 20; frequency += 0.37) {
        scan_range(&scan, wave_sized, &frequency, -4, 4);
        for (int i = 0; i + 1 < scan.count; i++) {
            double root;
            if ((scan.nodes[i].gap < 0) == (scan.nodes[i + 1].gap < 0))
                continue;
            cr_assert(scan_root(&scan, i, &root), "frequency %g, node %d", frequency, i);
            double want = gsl_root(frequency, scan.nodes[i].x, scan.nodes[i + 1].x);
            cr_expect(near(root, want, 1e-12, 1e-13), "frequency %g: %.17g, GSL %.17g", frequency, root,
                      want);
            compared++;
        }
    }
    cr_expect(compared > 200, "%d roots compared", compared);
}
#endif

/* SPDX-FileCopyrightText: the Rundlet developers */
/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Least squares against the certified values of the NIST Statistical Reference Datasets (StRD, NIST/ITL):
 * non-linear from both published starts, linear by QR. Student's t goes against printed tables and closed
 * forms. Data, starts and certified values were written down from memory; that the fits meet the certified
 * values to nine digits shows that they were written down right. */
#include "numbers/least_squares.h"

#include "near.h"

#include <criterion/criterion.h>
#include <math.h>
#include <stdio.h>
#include <string.h>

enum { PARAMETERS_MOST = 7, ROWS_MOST = 60 };

typedef double (*Model)(const double *b, double x);

typedef struct Reference {
    const char *name;
    Model model;
    int parameters, rows;
    const double *x, *y;
    double starts[2][PARAMETERS_MOST], certified[PARAMETERS_MOST], deviations[PARAMETERS_MOST], sum;
} Reference;

static double misra1a(const double *b, double x) {
    return b[0] * (1 - exp(-b[1] * x));
}
static double chwirut(const double *b, double x) {
    return exp(-b[0] * x) / (b[1] + b[2] * x);
}
static double rat42(const double *b, double x) {
    return b[0] / (1 + exp(b[1] - b[2] * x));
}
static double rat43(const double *b, double x) {
    return b[0] / pow(1 + exp(b[1] - b[2] * x), 1 / b[3]);
}
static double mgh09(const double *b, double x) {
    return b[0] * (x * x + x * b[1]) / (x * x + x * b[2] + b[3]);
}
static double thurber(const double *b, double x) {
    return (b[0] + x * (b[1] + x * (b[2] + x * b[3]))) / (1 + x * (b[4] + x * (b[5] + x * b[6])));
}

static const double misra1a_x[] = {77.6,  114.9, 141.1, 190.8, 239.9, 289.0, 332.8,
                                   378.4, 434.8, 477.3, 536.8, 593.1, 689.1, 760.0};
static const double misra1a_y[] = {10.07, 14.73, 17.94, 23.93, 29.61, 35.18, 40.02,
                                   44.82, 50.76, 55.05, 61.01, 66.40, 75.47, 81.78};
static const double chwirut2_x[] = {0.5,  1.0,  1.75,  3.75, 5.75, 0.875, 2.25, 3.25, 5.25, 0.75, 1.75,
                                    2.75, 4.75, 0.625, 1.25, 2.25, 4.25,  0.5,  3.0,  0.75, 3.0,  1.5,
                                    6.0,  3.0,  6.0,   1.5,  3.0,  0.5,   2.0,  4.0,  0.75, 2.0,  5.0,
                                    0.75, 2.25, 3.75,  5.75, 3.0,  0.75,  2.5,  4.0,  0.75, 2.5,  4.0,
                                    0.75, 2.5,  4.0,   0.5,  6.0,  3.0,   0.5,  2.75, 0.5,  1.75};
static const double chwirut2_y[] = {
    92.9, 57.1,  31.05, 11.5875, 8.025, 63.6, 21.4,  14.25, 8.475, 63.8,  26.8, 16.4625, 7.125, 67.3,
    41.0, 21.15, 8.175, 81.5,    13.12, 59.9, 14.62, 32.9,  5.44,  12.56, 5.44, 32.0,    13.95, 75.8,
    20.0, 10.42, 59.5,  21.67,   8.55,  62.0, 20.2,  7.76,  3.75,  11.81, 54.7, 23.7,    11.55, 61.3,
    17.7, 8.74,  59.2,  16.3,    8.62,  81.0, 4.87,  14.62, 81.7,  17.17, 81.3, 28.9};
static const double rat42_x[] = {9, 14, 21, 28, 42, 57, 63, 70, 79};
static const double rat42_y[] = {8.930, 10.800, 18.590, 22.330, 39.350, 56.110, 61.730, 64.620, 67.080};
static const double rat43_x[] = {1, 2, 3, 4, 5, 6, 7, 8, 9, 10, 11, 12, 13, 14, 15};
static const double rat43_y[] = {16.08,  33.83,  65.80,  97.20,  191.55, 326.20, 386.87, 520.53,
                                 590.03, 651.92, 724.93, 699.56, 689.96, 637.56, 717.41};
static const double mgh09_x[] = {4, 2, 1, 0.5, 0.25, 0.167, 0.125, 0.1, 0.0833, 0.0714, 0.0625};
static const double mgh09_y[] = {0.1957, 0.1947, 0.1735, 0.1600, 0.0844, 0.0627,
                                 0.0456, 0.0342, 0.0323, 0.0235, 0.0246};
static const double thurber_x[] = {
    -3.067, -2.981, -2.921, -2.912, -2.840, -2.797, -2.702, -2.699, -2.633, -2.481, -2.363, -2.322, -1.501,
    -1.460, -1.274, -1.212, -1.100, -1.046, -0.915, -0.714, -0.566, -0.545, -0.400, -0.309, -0.109, -0.103,
    0.010,  0.119,  0.377,  0.790,  0.963,  1.006,  1.115,  1.572,  1.841,  2.047,  2.200};
static const double thurber_y[] = {
    80.574,   84.248,   87.264,   87.195,   89.076,   89.608,   89.868,   90.101,   92.405,   95.854,
    100.696,  101.060,  401.672,  390.724,  567.534,  635.316,  733.054,  759.087,  894.206,  990.785,
    1090.109, 1080.914, 1122.643, 1178.351, 1260.531, 1273.514, 1288.339, 1327.543, 1353.863, 1414.509,
    1425.208, 1421.384, 1442.962, 1464.350, 1468.705, 1447.894, 1457.628};

#define DATA(name_) (int)(sizeof name_##_x / sizeof *name_##_x), name_##_x, name_##_y

static const Reference references[] = {
    {"Misra1a",
     misra1a,
     2,
     DATA(misra1a),
     {{500, 0.0001}, {250, 0.0005}},
     {2.3894212918E+02, 5.5015643181E-04},
     {2.7070075241E+00, 7.2668688436E-06},
     1.2455138894E-01},
    {"Chwirut2",
     chwirut,
     3,
     DATA(chwirut2),
     {{0.1, 0.01, 0.02}, {0.15, 0.008, 0.010}},
     {1.6657666537E-01, 5.1653291286E-03, 1.2150007096E-02},
     {3.8303286810E-02, 6.6621605126E-04, 1.5304234767E-03},
     5.1304802941E+02},
    {"Rat42",
     rat42,
     3,
     DATA(rat42),
     {{100, 1, 0.1}, {75, 2.5, 0.07}},
     {7.2462237576E+01, 2.6180768402E+00, 6.7359200066E-02},
     {1.7340283401E+00, 8.8295217536E-02, 3.4465663377E-03},
     8.0565229338E+00},
    {"Rat43",
     rat43,
     4,
     DATA(rat43),
     {{100, 10, 1, 1}, {700, 5, 0.75, 1.3}},
     {6.9964151270E+02, 5.2771253025E+00, 7.5962938329E-01, 1.2792483859E+00},
     {1.6302297817E+01, 2.0828735829E+00, 1.9566123451E-01, 6.8761936385E-01},
     8.7864049080E+03},
    {"MGH09",
     mgh09,
     4,
     DATA(mgh09),
     {{25, 39, 41.5, 39}, {0.25, 0.39, 0.415, 0.39}},
     {1.9280693458E-01, 1.9128232873E-01, 1.2305650693E-01, 1.3606233068E-01},
     {1.1435312227E-02, 1.9633220911E-01, 8.0842031232E-02, 9.0025542308E-02},
     3.0750560385E-04},
    {"Thurber",
     thurber,
     7,
     DATA(thurber),
     {{1000, 1000, 400, 40, 0.7, 0.3, 0.03}, {1300, 1500, 500, 75, 1, 0.4, 0.05}},
     {1.2881396800E+03, 1.4910792535E+03, 5.8323836877E+02, 7.5416644291E+01, 9.6629502864E-01,
      3.9797285797E-01, 4.9727297349E-02},
     {4.6647963344E+00, 3.9571156086E+01, 2.8698696102E+01, 5.5675370270E+00, 3.1333340687E-02,
      1.4984928198E-02, 6.5842344623E-03},
     5.6427082397E+03},
};

static bool residuals_of(const double *b, double *residuals, double *jacobian, void *context) {
    const Reference *reference = context;
    (void)jacobian;
    for (int i = 0; i < reference->rows; i++)
        residuals[i] = reference->model(b, reference->x[i]) - reference->y[i];
    return true;
}

static void check_reference(const Reference *reference, int start) {
    enum { MOST = PARAMETERS_MOST };
    double b[MOST], covariance[MOST * MOST], sum = 0;
    LeastSquaresProblem problem = {.rows = reference->rows,
                                   .parameters = reference->parameters,
                                   .function = residuals_of,
                                   .context = (void *)(size_t)reference};
    memcpy(b, reference->starts[start], sizeof b);
    LeastSquaresOutcome outcome = least_squares_fit(&problem, b, covariance, &sum);
    cr_expect_eq(outcome, LEAST_SQUARES_CONVERGED, "%s from start %d: outcome %d, sum %.12g", reference->name,
                 start + 1, (int)outcome, sum);
    cr_expect(near(sum, reference->sum, 1e-9, 0), "%s: sum %.12g", reference->name, sum);
    for (int j = 0; j < reference->parameters; j++) {
        double deviation = sqrt(covariance[j * (reference->parameters + 1)]);
        cr_expect(near(b[j], reference->certified[j], 1e-8, 0), "%s from start %d: b%d %.12g for %.12g",
                  reference->name, start + 1, j + 1, b[j], reference->certified[j]);
        cr_expect(near(deviation, reference->deviations[j], 1e-6, 0), "%s: deviation %d %.12g for %.12g",
                  reference->name, j + 1, deviation, reference->deviations[j]);
    }
}

Test(least_squares, certified_non_linear) {
    for (size_t i = 0; i < sizeof references / sizeof *references; i++)
        for (int start = 0; start < 2; start++)
            check_reference(&references[i], start);
}

/* The same with the derivatives written out, for one. */
static bool rat42_with_slopes(const double *b, double *residuals, double *jacobian, void *context) {
    (void)context;
    for (int i = 0; i < 9; i++) {
        double power = exp(b[1] - b[2] * rat42_x[i]), share = 1 / (1 + power);
        residuals[i] = b[0] * share - rat42_y[i];
        if (!jacobian)
            continue;
        jacobian[3 * i] = share;
        jacobian[3 * i + 1] = -b[0] * share * share * power;
        jacobian[3 * i + 2] = b[0] * share * share * power * rat42_x[i];
    }
    return true;
}

Test(least_squares, certified_with_derivatives_given) {
    const Reference *reference = &references[2];
    LeastSquaresProblem problem = {
        .rows = 9, .parameters = 3, .has_jacobian = true, .function = rat42_with_slopes};
    double b[3] = {100, 1, 0.1}, sum = 0, covariance[9];
    cr_assert_eq(least_squares_fit(&problem, b, covariance, &sum), LEAST_SQUARES_CONVERGED);
    for (int j = 0; j < 3; j++) {
        cr_expect(near(b[j], reference->certified[j], 2e-10, 0), "b%d %.12g", j + 1, b[j]);
        cr_expect(near(sqrt(covariance[4 * j]), reference->deviations[j], 1e-8, 0), "%.12g",
                  sqrt(covariance[4 * j]));
    }
}

/* A bound that binds: the rest is fitted with the bound one as a constant, and its spread is 0. */
Test(least_squares, bounds) {
    const double low[] = {0, 0, 0}, high[] = {70, 10, 1};
    LeastSquaresProblem problem = {.rows = 9,
                                   .parameters = 3,
                                   .low = low,
                                   .high = high,
                                   .has_jacobian = true,
                                   .function = rat42_with_slopes};
    double b[3] = {100, 1, 0.1}, covariance[9], sum = 0, residuals[9], jacobian[27];
    cr_assert_eq(least_squares_fit(&problem, b, covariance, &sum), LEAST_SQUARES_CONVERGED);
    cr_expect_eq(b[0], 70);
    cr_expect_eq(covariance[0], 0);
    cr_expect_gt(sum, references[2].sum);
    rat42_with_slopes(b, residuals, jacobian, NULL);
    for (int j = 0; j < 3; j++) { /* flat along the free ones, downhill only out of the bound */
        double slope = 0, length = 0;
        for (int i = 0; i < 9; i++) {
            slope += jacobian[3 * i + j] * residuals[i];
            length += jacobian[3 * i + j] * jacobian[3 * i + j];
        }
        cr_expect(j == 0 ? slope < 0 : fabs(slope) < 1e-9 * sqrt(length * sum), "slope %d %.3g", j, slope);
    }
}

static bool half_a_root(const double *b, double *residuals, double *jacobian, void *context) {
    (void)jacobian;
    (void)context;
    residuals[0] = sqrt(b[0]) - 0.1;
    residuals[1] = 0;
    return b[0] >= 0;
}

static bool nowhere(const double *b, double *residuals, double *jacobian, void *context) {
    (void)b, (void)residuals, (void)jacobian, (void)context;
    return false;
}

static bool two_as_one(const double *b, double *residuals, double *jacobian, void *context) {
    (void)jacobian, (void)context;
    for (int i = 0; i < 4; i++)
        residuals[i] = (b[0] + b[1]) * i - 2.0 * i * i;
    return true;
}

static bool line_of_two(const double *b, double *residuals, double *jacobian, void *context) {
    (void)jacobian, (void)context;
    residuals[0] = b[0] - 3;
    residuals[1] = b[0] + b[1] - 8;
    return true;
}

/* What a caller meets at the edges: places without a value, an exact fit, dependent parameters. */
Test(least_squares, edges) {
    double b[2] = {4, 0}, sum = 1, covariance[4];
    LeastSquaresProblem problem = {.rows = 2, .parameters = 1, .function = half_a_root};
    cr_expect_eq(least_squares_fit(&problem, b, NULL, &sum), LEAST_SQUARES_CONVERGED);
    cr_expect(near(b[0], 0.01, 1e-7, 0) && sum < 1e-18, "%.12g %.3g", b[0], sum);
    problem.function = nowhere;
    cr_expect_eq(least_squares_fit(&problem, b, covariance, &sum), LEAST_SQUARES_NO_VALUE);
    cr_expect(covariance[0] == (double)INFINITY && sum == (double)INFINITY);
    problem = (LeastSquaresProblem){.rows = 4, .parameters = 2, .function = two_as_one};
    b[0] = 1;
    cr_expect_eq(least_squares_fit(&problem, b, covariance, &sum), LEAST_SQUARES_CONVERGED);
    cr_expect(near(b[0] + b[1], 2 * 36.0 / 14, 1e-9, 0), "%.12g", b[0] + b[1]);
    for (int i = 0; i < 4; i++)
        cr_expect_eq(covariance[i], (double)INFINITY, "nothing is known of two that act as one");
    problem = (LeastSquaresProblem){.rows = 2, .parameters = 2, .function = line_of_two};
    cr_expect_eq(least_squares_fit(&problem, b, covariance, &sum), LEAST_SQUARES_CONVERGED);
    cr_expect(near(b[0], 3, 1e-9, 0) && near(b[1], 5, 1e-9, 0), "%.12g %.12g", b[0], b[1]);
    cr_expect_eq(covariance[0], (double)INFINITY, "two points: a line, and no telling how good");
    problem.is_standardised =
        true; /* then the spread of the rows is told: 1, and b1 is a difference of two */
    cr_expect_eq(least_squares_fit(&problem, b, covariance, &sum), LEAST_SQUARES_CONVERGED);
    cr_expect(near(covariance[0], 1, 1e-6, 0) && near(covariance[3], 2, 1e-6, 0), "%.9g %.9g", covariance[0],
              covariance[3]);
}

/* b0 + b1 exp(-b2 x) with noise: wherever b0 begins, the same best. */
static bool decay(const double *b, double *residuals, double *jacobian, void *context) {
    double offset = *(const double *)context;
    (void)jacobian;
    for (int i = 0; i < 20; i++)
        residuals[i] =
            b[0] + b[1] * exp(-b[2] * i) - 50 * exp(-0.3 * i) - offset * (i * 7919 % 13 - 6) * 0.05;
    return true;
}

Test(least_squares, a_tiny_start_is_no_size) {
    static const double starts[] = {1, 0, 1e-3, 1e-9, 1e-12, 1e-15, -1e-300};
    const double typical[] = {1, 10, 0.1};
    double noise = 1;
    for (int told = 0; told < 2; told++)
        for (size_t i = 0; i < sizeof starts / sizeof *starts; i++) {
            LeastSquaresProblem problem = {.rows = 20,
                                           .parameters = 3,
                                           .typical = told ? typical : NULL,
                                           .function = decay,
                                           .context = &noise};
            double b[3] = {starts[i], 40, 0.2}, covariance[9], sum = 0;
            cr_expect_eq(least_squares_fit(&problem, b, covariance, &sum), LEAST_SQUARES_CONVERGED);
            cr_expect(near(b[0], 0.013698146, 0, 1e-8) && near(b[1], 49.67938652, 1e-9, 0) &&
                          near(b[2], 0.2982224757, 1e-9, 0) && near(sum, 0.591135336422, 1e-10, 0),
                      "from %g: %.10g %.10g %.10g, sum %.12g", starts[i], b[0], b[1], b[2], sum);
            cr_expect(near(sqrt(covariance[0]), 0.0706699, 1e-5, 0), "from %g: ± %g", starts[i],
                      sqrt(covariance[0]));
        }
}

/* Without noise b0 itself is 0, where no step by its own size shows. */
Test(least_squares, a_parameter_that_ends_at_nothing) {
    const double typical[] = {1, 10, 0.1};
    double noise = 0;
    for (int told = 0; told < 2; told++) {
        LeastSquaresProblem problem = {.rows = 20,
                                       .parameters = 3,
                                       .typical = told ? typical : NULL,
                                       .function = decay,
                                       .context = &noise};
        double b[3] = {1e-9, 40, 0.2}, covariance[9], sum = 0;
        cr_expect_eq(least_squares_fit(&problem, b, covariance, &sum), LEAST_SQUARES_CONVERGED);
        cr_expect(fabs(b[0]) < 1e-11 && near(b[1], 50, 1e-11, 0) && near(b[2], 0.3, 1e-11, 0),
                  "%g %.14g %.14g", b[0], b[1], b[2]);
        for (int j = 0; j < 9; j++)
            cr_expect(isfinite(covariance[j]), "%d: %g", j, covariance[j]);
    }
}

/* ---- linear ---- */

static const double norris[] = {
    0.1,   0.2,   338.8, 337.4, 118.1, 118.2, 888.0, 884.6, 9.2,   10.1,  228.1, 226.5, 668.5, 666.3, 998.5,
    996.3, 449.1, 448.6, 778.9, 777.0, 559.2, 558.2, 0.3,   0.4,   0.1,   0.6,   778.1, 775.5, 668.8, 666.9,
    339.3, 338.0, 448.9, 447.5, 10.8,  11.6,  557.7, 556.0, 228.3, 228.1, 998.0, 995.8, 888.8, 887.6, 119.6,
    120.2, 0.3,   0.3,   0.6,   0.3,   557.6, 556.8, 339.3, 339.1, 888.0, 887.2, 998.5, 999.0, 778.9, 779.0,
    10.2,  11.1,  117.6, 118.3, 228.9, 229.2, 668.4, 669.1, 449.2, 448.9, 0.2,   0.5}; /* y, x */

Test(least_squares, certified_line) {
    double design[72], y[36], b[2], covariance[4], sum = 0;
    for (int i = 0; i < 36; i++) {
        design[2 * i] = 1;
        design[2 * i + 1] = norris[2 * i + 1];
        y[i] = norris[2 * i];
    }
    cr_assert(least_squares_linear(36, 2, design, y, b, covariance, &sum));
    cr_expect(near(b[0], -0.262323073774029, 1e-11, 0), "%.15g", b[0]);
    cr_expect(near(b[1], 1.00211681802045, 1e-13, 0), "%.15g", b[1]);
    cr_expect(near(sqrt(covariance[0]), 0.232818234301152, 1e-12, 0), "%.15g", sqrt(covariance[0]));
    cr_expect(near(sqrt(covariance[3]), 0.429796848199937E-03, 1e-12, 0), "%.15g", sqrt(covariance[3]));
    cr_expect(near(sqrt(sum / 34), 0.884796396144373, 1e-12, 0), "%.15g", sqrt(sum / 34));
}

static const double longley[16][7] = {
    {60323, 83.0, 234289, 2356, 1590, 107608, 1947},  {61122, 88.5, 259426, 2325, 1456, 108632, 1948},
    {60171, 88.2, 258054, 3682, 1616, 109773, 1949},  {61187, 89.5, 284599, 3351, 1650, 110929, 1950},
    {63221, 96.2, 328975, 2099, 3099, 112075, 1951},  {63639, 98.1, 346999, 1932, 3594, 113270, 1952},
    {64989, 99.0, 365385, 1870, 3547, 115094, 1953},  {63761, 100.0, 363112, 3578, 3350, 116219, 1954},
    {66019, 101.2, 397469, 2904, 3048, 117388, 1955}, {67857, 104.6, 419180, 2822, 2857, 118734, 1956},
    {68169, 108.4, 442769, 2936, 2798, 120445, 1957}, {66513, 110.8, 444546, 4681, 2637, 121950, 1958},
    {68655, 112.6, 482704, 3813, 2552, 123366, 1959}, {69564, 114.2, 502601, 3931, 2514, 125368, 1960},
    {69331, 115.7, 518173, 4806, 2572, 127852, 1961}, {70551, 116.9, 554894, 4007, 2827, 130081, 1962}};

Test(least_squares, certified_nearly_dependent) {
    static const double certified[] = {-3482258.63459582, 15.0618722713733,  -0.358191792925910E-01,
                                       -2.02022980381683, -1.03322686717359, -0.511041056535807E-01,
                                       1829.15146461355};
    static const double deviations[] = {890420.383607373,  84.9149257747669,  0.334910077722432E-01,
                                        0.488399681651699, 0.214274163161675, 0.226073200069370,
                                        455.478499142212};
    double design[16 * 7], y[16], b[7], covariance[49], sum = 0;
    for (int i = 0; i < 16; i++) {
        y[i] = longley[i][0];
        design[7 * i] = 1;
        for (int j = 1; j < 7; j++)
            design[7 * i + j] = longley[i][j];
    }
    cr_assert(least_squares_linear(16, 7, design, y, b, covariance, &sum));
    for (int j = 0; j < 7; j++) {
        cr_expect(near(b[j], certified[j], 1e-8, 0), "B%d %.15g", j, b[j]);
        cr_expect(near(sqrt(covariance[8 * j]), deviations[j], 1e-8, 0), "%.15g", sqrt(covariance[8 * j]));
    }
    cr_expect(near(sqrt(sum / 9), 304.854073561965, 1e-10, 0), "%.15g", sqrt(sum / 9));
}

Test(least_squares, linear_edges) {
    const double same[] = {1, 2, 2, 4, 3, 6}, y[] = {1, 2, 3}, design[] = {1, 1, 1, 2};
    double b[2], covariance[4], sum = 0;
    cr_expect_not(least_squares_linear(3, 2, same, y, b, covariance, &sum), "one column twice the other");
    cr_expect_not(least_squares_linear(1, 2, same, y, b, covariance, &sum), "more columns than rows");
    cr_expect(least_squares_linear(2, 2, design, y, b, covariance, &sum));
    cr_expect(near(b[0], 0, 0, 1e-14) && near(b[1], 1, 1e-14, 0) && covariance[0] == (double)INFINITY,
              "two points: a line, and no telling how good");
}

/* ---- Student's t ---- */

Test(least_squares, student_t) {
    /* two-sided 95 %, as every table of t prints it (from memory) */
    static const double table[][2] = {{1, 12.706}, {2, 4.303},  {3, 3.182},  {4, 2.776},  {5, 2.571},
                                      {7, 2.365},  {10, 2.228}, {20, 2.086}, {30, 2.042}, {120, 1.980}};
    for (size_t i = 0; i < sizeof table / sizeof *table; i++) {
        double t = least_squares_student_quantile(0.975, table[i][0]);
        cr_expect(near(t, table[i][1], 0, 5e-4), "%g: %.6f", table[i][0], t);
        cr_expect(near(least_squares_student_quantile(0.025, table[i][0]), -t, 1e-10, 0));
    }
    for (double t = -30; t <= 30; t += 0.7) { /* closed forms for 1 and 2 degrees of freedom */
        double one = 0.5 + atan(t) / acos(-1.0), two = 0.5 + t / (2 * sqrt(2 + t * t));
        cr_expect(near(least_squares_student(t, 1), one, 1e-12, 1e-15), "%g", t);
        cr_expect(near(least_squares_student(t, 2), two, 1e-11, 1e-14), "%g", t);
    }
    cr_expect_eq(least_squares_student_quantile(0.5, 3), 0);
    double normal = least_squares_student_quantile(0.975, 1e7);
    cr_expect(near(normal, 1.959964, 0, 1e-6), "%.9f", normal);
    for (double freedom = 0.5; freedom < 5000; freedom *= 1.9) /* there and back, fractions too */
        for (double p = 1e-6; p < 0.5; p *= 3) {
            double t = least_squares_student_quantile(p, freedom);
            cr_expect(near(least_squares_student(t, freedom), p, 1e-9, 0), "%g %g", p, freedom);
        }
}

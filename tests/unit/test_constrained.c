/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Constrained problems with published solutions. HS n: W. Hock and K. Schittkowski, Test Examples for
 * Nonlinear Programming Codes, Lecture Notes in Economics and Mathematical Systems 187, Springer 1981,
 * problem n (problems and solutions from memory; each solution is also checked against the problem's own
 * conditions). Linear ones as in published/linear_blends.csv. Ranges that the sources leave open are chosen
 * wide. */
#include "numbers/constrained.h"

#include "near.h"

#include <criterion/criterion.h>
#include <math.h>

enum { MOST = 10 };
typedef void (*Functions)(const double *x, double *gaps, double *goal);

typedef struct Case {
    const char *name;
    int unknowns, conditions, equalities; /* the first conditions are == 0, the others >= 0 */
    double low, high;
    Functions functions;
    int direction;
    double goal;
    double solution[MOST];
    double tolerance; /* of the goal, relative to 1 and to itself */
} Case;

typedef struct Counter {
    const Case *this;
    int calls;
} Counter;

static SequentialAnswer evaluate(void *context, const double *x, double *gaps, double *tolerances,
                                 double *goal) {
    Counter *counter = context;
    counter->calls++;
    for (int i = 0; i < counter->this->conditions; i++)
        tolerances[i] = 1e-9;
    counter->this->functions(x, gaps, goal);
    for (int i = 0; i < counter->this->conditions; i++)
        if (isnan(gaps[i]))
            return SEQUENTIAL_NO_VALUE;
    return isnan(*goal) ? SEQUENTIAL_NO_VALUE : SEQUENTIAL_VALUE;
}

static void hs7(const double *x, double *c, double *f) {
    c[0] = pow(1 + x[0] * x[0], 2) + x[1] * x[1] - 4;
    *f = log(1 + x[0] * x[0]) - x[1];
}
static void hs35(const double *x, double *c, double *f) {
    c[0] = 3 - x[0] - x[1] - 2 * x[2];
    *f = 9 - 8 * x[0] - 6 * x[1] - 4 * x[2] + 2 * x[0] * x[0] + 2 * x[1] * x[1] + x[2] * x[2] +
         2 * x[0] * x[1] + 2 * x[0] * x[2];
}
static void hs43(const double *x, double *c, double *f) {
    c[0] = 8 - x[0] * x[0] - x[1] * x[1] - x[2] * x[2] - x[3] * x[3] - x[0] + x[1] - x[2] + x[3];
    c[1] = 10 - x[0] * x[0] - 2 * x[1] * x[1] - x[2] * x[2] - 2 * x[3] * x[3] + x[0] + x[3];
    c[2] = 5 - 2 * x[0] * x[0] - x[1] * x[1] - x[2] * x[2] - 2 * x[0] + x[1] + x[3];
    *f = x[0] * x[0] + x[1] * x[1] + 2 * x[2] * x[2] + x[3] * x[3] - 5 * x[0] - 5 * x[1] - 21 * x[2] +
         7 * x[3];
}
static void hs71(const double *x, double *c, double *f) {
    c[0] = x[0] * x[0] + x[1] * x[1] + x[2] * x[2] + x[3] * x[3] - 40;
    c[1] = x[0] * x[1] * x[2] * x[3] - 25;
    *f = x[0] * x[3] * (x[0] + x[1] + x[2]) + x[2];
}
static void hs76(const double *x, double *c, double *f) {
    c[0] = 5 - x[0] - 2 * x[1] - x[2] - x[3];
    c[1] = 4 - 3 * x[0] - x[1] - 2 * x[2] + x[3];
    c[2] = x[1] + 4 * x[2] - 1.5;
    *f = x[0] * x[0] + 0.5 * x[1] * x[1] + x[2] * x[2] + 0.5 * x[3] * x[3] - x[0] * x[2] + x[2] * x[3] -
         x[0] - 3 * x[1] + x[2] - x[3];
}
static void hs100(const double *x, double *c, double *f) {
    c[0] = 127 - 2 * x[0] * x[0] - 3 * pow(x[1], 4) - x[2] - 4 * x[3] * x[3] - 5 * x[4];
    c[1] = 282 - 7 * x[0] - 3 * x[1] - 10 * x[2] * x[2] - x[3] + x[4];
    c[2] = 196 - 23 * x[0] - x[1] * x[1] - 6 * x[5] * x[5] + 8 * x[6];
    c[3] = -4 * x[0] * x[0] - x[1] * x[1] + 3 * x[0] * x[1] - 2 * x[2] * x[2] - 5 * x[5] + 11 * x[6];
    *f = pow(x[0] - 10, 2) + 5 * pow(x[1] - 12, 2) + pow(x[2], 4) + 3 * pow(x[3] - 11, 2) +
         10 * pow(x[4], 6) + 7 * x[5] * x[5] + pow(x[6], 4) - 4 * x[5] * x[6] - 10 * x[5] - 8 * x[6];
}
static void rosenbrock(const double *x, double *c, double *f) {
    c[0] = 100 - x[0] - x[1];
    *f = pow(1 - x[0], 2) + 100 * pow(x[1] - x[0] * x[0], 2);
}
/* Six unknowns v1 v2 o1 o2 o3 y. */
static void williams(const double *x, double *c, double *f) {
    double hardness = 8.8 * x[0] + 6.1 * x[1] + 2 * x[2] + 4.2 * x[3] + 5 * x[4];
    c[0] = x[0] + x[1] + x[2] + x[3] + x[4] - x[5];
    c[1] = 200 - x[0] - x[1];
    c[2] = 250 - x[2] - x[3] - x[4];
    c[3] = 6 * x[5] - hardness;
    c[4] = hardness - 3 * x[5];
    *f = 150 * x[5] - 110 * x[0] - 120 * x[1] - 130 * x[2] - 110 * x[3] - 115 * x[4];
}
static void beale(const double *x, double *c, double *f) {
    c[0] = -(0.25 * x[0] - 60 * x[1] - 0.04 * x[2] + 9 * x[3]);
    c[1] = -(0.5 * x[0] - 90 * x[1] - 0.02 * x[2] + 3 * x[3]);
    c[2] = 1 - x[2];
    *f = -0.75 * x[0] + 150 * x[1] - 0.02 * x[2] + 6 * x[3];
}

static const Case CASES[] = {
    {"HS 7", 2, 1, 1, -10, 10, hs7, -1, -1.7320508075688772, {0, 1.7320508075688772}, 1e-10},
    {"HS 35", 3, 1, 0, 0, 10, hs35, -1, 1.0 / 9, {4.0 / 3, 7.0 / 9, 4.0 / 9}, 1e-10},
    {"HS 43", 4, 3, 0, -10, 10, hs43, -1, -44, {0, 1, 2, -1}, 1e-10},
    {"HS 71", 4, 2, 1, 1, 5, hs71, -1, 17.0140173, {1, 4.7429994, 3.8211503, 1.3794082}, 1e-8},
    {"HS 76", 4, 3, 0, 0, 10, hs76, -1, -4.681818181818182, {0.2727273, 2.0909091, 0, 0.5454545}, 1e-10},
    {"HS 100",
     7,
     4,
     0,
     -10,
     10,
     hs100,
     -1,
     680.6300573,
     {2.330499, 1.951372, -0.4775414, 4.365726, -0.6244870, 1.038131, 1.594227},
     1e-9},
    {"Rosenbrock 1960", 2, 1, 0, -5, 5, rosenbrock, -1, 0, {1, 1}, 1e-12},
    {"LP-williams-1",
     6,
     5,
     1,
     0,
     1000,
     williams,
     1,
     17592.592592592593,
     {159.25925925925927, 40.74074074074074, 0, 250, 0, 450},
     1e-12},
    {"LP-beale", 4, 3, 0, 0, 100, beale, -1, -0.05, {0.04, 0, 1, 0}, 1e-12},
};

static ConstrainedOutcome solve(const Case *this, const bool *whole, double *x, ConstrainedResult *result,
                                int *calls) {
    double low[MOST], high[MOST];
    bool none[MOST] = {false};
    ConstrainedRelation relations[MOST];
    Counter counter = {.this = this};
    for (int j = 0; j < this->unknowns; j++) {
        low[j] = this->low;
        high[j] = this->high;
    }
    for (int i = 0; i < this->conditions; i++)
        relations[i] = i < this->equalities ? CONSTRAINED_EQUAL : CONSTRAINED_AT_LEAST;
    ConstrainedProblem problem = {.unknowns = this->unknowns,
                                  .low = low,
                                  .high = high,
                                  .whole = whole ? whole : none,
                                  .conditions = this->conditions,
                                  .relations = relations,
                                  .goal_direction = this->direction,
                                  .evaluate = evaluate,
                                  .context = &counter};
    *result = (ConstrainedResult){.x = x};
    ConstrainedOutcome outcome = constrained_solve(&problem, result);
    *calls = counter.calls;
    return outcome;
}

Test(constrained, published_problems) {
    for (size_t k = 0; k < sizeof CASES / sizeof *CASES; k++) {
        const Case *this = &CASES[k];
        double x[MOST], gaps[MOST], goal = 0;
        int calls;
        ConstrainedResult result;
        cr_assert_eq(solve(this, NULL, x, &result, &calls), CONSTRAINED_FOUND, "%s", this->name);
        this->functions(x, gaps, &goal);
        cr_expect(near(goal, this->goal, this->tolerance, this->tolerance), "%s: %.12g, published %.12g",
                  this->name, goal, this->goal);
        for (int j = 0; j < this->unknowns; j++)
            cr_expect(near(x[j], this->solution[j], 2e-6, 2e-6) && x[j] >= this->low && x[j] <= this->high,
                      "%s: x[%d] = %.12g, published %.12g", this->name, j, x[j], this->solution[j]);
        for (int i = 0; i < this->conditions; i++)
            cr_expect(i < this->equalities ? fabs(gaps[i]) <= 1e-9 : gaps[i] >= -1e-9, "%s: condition %d: %g",
                      this->name, i, gaps[i]);
        cr_expect(calls < 6000, "%s: %d calls", this->name, calls);
    }
}

Test(constrained, linear_programs_are_exact) {
    for (size_t k = 0; k < sizeof CASES / sizeof *CASES; k++) {
        const Case *this = &CASES[k];
        double x[MOST];
        int calls;
        ConstrainedResult result;
        if (this->functions != williams && this->functions != beale)
            continue;
        solve(this, NULL, x, &result, &calls);
        for (int j = 0; j < this->unknowns; j++)
            cr_expect(near(x[j], this->solution[j], 1e-12, 1e-12), "%s: x[%d] = %.17g", this->name, j, x[j]);
        cr_expect(calls < 400, "%s: %d calls", this->name, calls);
    }
}

/* ---- without a goal: the middle-most, in closed form ---- */

static void on_a_plane(const double *x, double *c, double *f) {
    (void)f;
    c[0] = x[0] + 2 * x[1] + 3 * x[2] - 3;
}
static void on_a_circle(const double *x, double *c, double *f) {
    (void)f;
    c[0] = x[0] * x[0] + x[1] * x[1] - 25;
}

Test(constrained, the_middle_most_is_the_foot_of_the_perpendicular) {
    const Case plane = {"plane", 3, 1, 1, 0, 10, on_a_plane, 0, 0, {0}, 0};
    double x[MOST];
    int calls;
    ConstrainedResult result;
    /* from (5, 5, 5) along (1, 2, 3) until it would leave the box at z = 0, then along (1, 2) */
    cr_assert_eq(solve(&plane, NULL, x, &result, &calls), CONSTRAINED_FOUND);
    cr_expect(near(x[0] + 2 * x[1] + 3 * x[2], 3, 0, 1e-12));
    cr_expect(near(x[0], 2.6, 0, 1e-9) && near(x[1], 0.2, 0, 1e-9) && x[2] == 0, "%.12g %.12g %.12g", x[0],
              x[1], x[2]);
    const Case circle = {"circle", 2, 1, 1, -2, 10, on_a_circle, 0, 0, {0}, 0};
    cr_assert_eq(solve(&circle, NULL, x, &result, &calls), CONSTRAINED_FOUND);
    cr_expect(near(x[0], 5 / sqrt(2), 0, 1e-8) && near(x[1], 5 / sqrt(2), 0, 1e-8), "%.12g %.12g", x[0],
              x[1]);
}

/* ---- what cannot be met ---- */

static void too_much(const double *x, double *c, double *f) {
    *f = 0;
    c[0] = x[0] + x[1] - 5;
    c[1] = x[0] - x[1] - 20; /* at best 5 - 0 */
}
static void outside_the_curve(const double *x, double *c, double *f) {
    *f = x[0];
    c[0] = 1 - x[0] * x[0] - x[1] * x[1];
    c[1] = x[0] + x[1] - 2; /* at best the square root of 2 */
}

Test(constrained, the_failing_condition_is_named_where_it_is_nearest_met) {
    const Case line = {"line", 2, 2, 1, 0, 10, too_much, 0, 0, {0}, 0};
    const Case curve = {"curve", 2, 2, 0, -3, 3, outside_the_curve, -1, 0, {0}, 0};
    double x[MOST];
    int calls;
    ConstrainedResult result;
    cr_assert_eq(solve(&line, NULL, x, &result, &calls), CONSTRAINED_IMPOSSIBLE);
    cr_expect(result.failed == 1 && near(x[0], 5, 0, 1e-9) && near(x[1], 0, 0, 1e-9), "%d %.12g %.12g",
              result.failed, x[0], x[1]);
    cr_assert_eq(solve(&curve, NULL, x, &result, &calls), CONSTRAINED_IMPOSSIBLE);
    cr_expect(result.failed == 1 && near(x[0] + x[1], sqrt(2), 0, 1e-8), "%d %.12g", result.failed,
              x[0] + x[1]);
}

/* ---- places without a value ---- */

static void only_right_of_the_middle(const double *x, double *c, double *f) {
    *f = x[0] + x[1];
    c[0] = x[0] > 6 ? log(x[0] - 6) + x[1] - 1 : NAN;
}
static void nowhere(const double *x, double *c, double *f) {
    *f = x[0];
    c[0] = NAN;
}

Test(constrained, places_without_a_value_do_not_count) {
    const Case half = {"half", 2, 1, 1, 0, 10, only_right_of_the_middle, -1, 0, {0}, 0};
    const Case none = {"none", 2, 1, 1, 0, 10, nowhere, -1, 0, {0}, 0};
    double x[MOST];
    int calls;
    ConstrainedResult result;
    cr_assert_eq(solve(&half, NULL, x, &result, &calls), CONSTRAINED_FOUND);
    cr_expect(near(log(x[0] - 6) + x[1], 1, 0, 1e-9));
    cr_expect(near(x[0], 7, 0, 1e-5) && near(x[1], 1, 0, 1e-5), "%.12g %.12g", x[0],
              x[1]); /* d/dx of x + 1 - ln(x - 6) */
    cr_assert_eq(solve(&none, NULL, x, &result, &calls), CONSTRAINED_NO_VALUES);
}

/* ---- whole numbers: against all of them tried ---- */

static void cans(const double *x, double *c, double *f) {
    c[0] = 3.7 * x[0] + 5.3 * x[1] + 1.9 * x[2] - 47.5;
    *f = 2.1 * x[0] + 3.3 * x[1] + 1.3 * x[2];
}

Test(constrained, whole_numbers_by_branching_are_the_best_of_all) {
    const Case this = {"cans", 3, 1, 0, 0, 40, cans, -1, 0, {0}, 0}; /* 68 921 choices: branched on */
    const bool whole[] = {true, true, true};
    double best = INFINITY, x[MOST], gap, goal;
    int calls;
    ConstrainedResult result;
    for (int i = 0; i <= 40; i++)
        for (int j = 0; j <= 40; j++)
            for (int k = 0; k <= 40; k++) {
                const double tried[] = {i, j, k};
                cans(tried, &gap, &goal);
                best = gap >= 0 && goal < best ? goal : best;
            }
    cr_assert_eq(solve(&this, whole, x, &result, &calls), CONSTRAINED_FOUND);
    cans(x, &gap, &goal);
    cr_expect(near(goal, best, 1e-12, 0) && gap >= -1e-9, "%.12g, the best of all is %.12g", goal, best);
    for (int j = 0; j < 3; j++)
        cr_expect_eq(x[j], round(x[j]));
    cr_expect(calls < 20000, "%d calls", calls);
}

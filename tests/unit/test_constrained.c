/* SPDX-FileCopyrightText: the Rundlet developers */
/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Constrained problems with published solutions. HS n: W. Hock and K. Schittkowski, Test Examples for
 * Nonlinear Programming Codes, Lecture Notes in Economics and Mathematical Systems 187, Springer 1981,
 * problem n (problems and solutions from memory; each solution is also checked against the problem's own
 * conditions). Linear ones as in published/linear_blends.csv. Ranges that the sources leave open are chosen
 * wide. */
#include "find/constrained.h"

#include "near.h"
#include "numbers/numeric.h"

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
    c[0] = x[0] > 6 ? log(x[0] - 6) + x[1] - 1 : NUMERIC_NONE;
}
static void nowhere(const double *x, double *c, double *f) {
    *f = x[0];
    c[0] = NUMERIC_NONE;
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
    double best = NUMERIC_ENDLESS, x[MOST], gap, goal;
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

/* ---- linear programs of small whole numbers, degenerate more often than not: against every corner there is
 * ---- */

enum { LP_UNKNOWNS = 3, LP_ROWS = 4, LP_PLANES = LP_ROWS + 2 * LP_UNKNOWNS };

typedef struct LinearProgram {
    double planes[LP_PLANES]
                 [LP_UNKNOWNS + 1]; /* rows, then both bounds of each unknown: normal, then the other side */
    double goal[LP_UNKNOWNS];
    ConstrainedRelation relations[LP_ROWS];
} LinearProgram;

static const double LP_HIGH[LP_UNKNOWNS] = {5, 4, 10};

static double plane_gap(const double *plane, const double *x) {
    return plane[0] * x[0] + plane[1] * x[1] + plane[2] * x[2] - plane[3];
}

static SequentialAnswer evaluate_linear(void *context, const double *x, double *gaps, double *tolerances,
                                        double *goal) {
    const LinearProgram *lp = context;
    for (int i = 0; i < LP_ROWS; i++) {
        gaps[i] = plane_gap(lp->planes[i], x);
        tolerances[i] = 1e-9 * fmax(1, fabs(lp->planes[i][3]));
    }
    *goal = lp->goal[0] * x[0] + lp->goal[1] * x[1] + lp->goal[2] * x[2];
    return SEQUENTIAL_VALUE;
}

static bool meets_all(const LinearProgram *lp, const double *x, double slack) {
    for (int i = 0; i < LP_ROWS; i++) {
        double gap = plane_gap(lp->planes[i], x);
        if ((lp->relations[i] != CONSTRAINED_AT_LEAST && gap > slack) ||
            (lp->relations[i] != CONSTRAINED_AT_MOST && gap < -slack))
            return false;
    }
    for (int j = 0; j < LP_UNKNOWNS; j++)
        if (x[j] < -slack || x[j] > LP_HIGH[j] + slack)
            return false;
    return true;
}

static double determinant(const double *a, const double *b, const double *c, int replaced) {
    double m[3][3];
    const double *rows[] = {a, b, c};
    for (int i = 0; i < 3; i++)
        for (int j = 0; j < 3; j++)
            m[i][j] = rows[i][j == replaced ? 3 : j];
    return m[0][0] * (m[1][1] * m[2][2] - m[1][2] * m[2][1]) -
           m[0][1] * (m[1][0] * m[2][2] - m[1][2] * m[2][0]) +
           m[0][2] * (m[1][0] * m[2][1] - m[1][1] * m[2][0]);
}

/* The least goal of all corners that meet everything; infinite without one. Cramer's rule. */
static double least_corner(LinearProgram *lp) {
    double least = NUMERIC_ENDLESS;
    for (int i = 0; i < LP_PLANES; i++)
        for (int j = i + 1; j < LP_PLANES; j++)
            for (int k = j + 1; k < LP_PLANES; k++) {
                double x[LP_UNKNOWNS], gaps[LP_ROWS], tolerances[LP_ROWS], goal;
                const double *a = lp->planes[i], *b = lp->planes[j], *c = lp->planes[k];
                double whole = determinant(a, b, c, -1);
                if (whole == 0)
                    continue;
                for (int r = 0; r < LP_UNKNOWNS; r++)
                    x[r] = determinant(a, b, c, r) / whole;
                evaluate_linear(lp, x, gaps, tolerances, &goal);
                if (goal < least && meets_all(lp, x, 1e-9))
                    least = goal;
            }
    return least;
}

static int small_number(unsigned long long *state, int least, int count) {
    *state = *state * 6364136223846793005u + 1442695040888963407u; /* Knuth, MMIX */
    return least + (int)((*state >> 33) % (unsigned)count);
}

static LinearProgram random_linear_program(unsigned long long *state) {
    LinearProgram lp = {0};
    for (int i = 0; i < LP_ROWS; i++) {
        for (int j = 0; j < LP_UNKNOWNS; j++)
            lp.planes[i][j] = small_number(state, -3, 7);
        lp.planes[i][3] = small_number(state, -2, 13);
        lp.relations[i] = (ConstrainedRelation)(small_number(state, 0, 5) % 3);
    }
    for (int j = 0; j < LP_UNKNOWNS; j++) {
        lp.planes[LP_ROWS + 2 * j][j] = lp.planes[LP_ROWS + 2 * j + 1][j] = 1;
        lp.planes[LP_ROWS + 2 * j + 1][3] = LP_HIGH[j];
        lp.goal[j] = small_number(state, -3, 7);
    }
    return lp;
}

Test(constrained, random_linear_programs_end_at_the_best_corner) {
    unsigned long long state = 7;
    const double low[LP_UNKNOWNS] = {0};
    const bool whole[LP_UNKNOWNS] = {false};
    int found = 0, impossible = 0;
    for (int k = 0; k < 1500; k++) {
        LinearProgram lp = random_linear_program(&state);
        double x[LP_UNKNOWNS], gaps[LP_ROWS], tolerances[LP_ROWS], goal, best = least_corner(&lp);
        ConstrainedProblem problem = {.unknowns = LP_UNKNOWNS,
                                      .low = low,
                                      .high = LP_HIGH,
                                      .whole = whole,
                                      .conditions = LP_ROWS,
                                      .relations = lp.relations,
                                      .goal_direction = -1,
                                      .evaluate = evaluate_linear,
                                      .context = &lp};
        ConstrainedResult result = {.x = x};
        ConstrainedOutcome outcome = constrained_solve(&problem, &result);
        cr_assert_eq(outcome, isfinite(best) ? CONSTRAINED_FOUND : CONSTRAINED_IMPOSSIBLE,
                     "program %d: outcome %d", k, outcome);
        found += outcome == CONSTRAINED_FOUND;
        impossible += outcome == CONSTRAINED_IMPOSSIBLE;
        if (outcome != CONSTRAINED_FOUND)
            continue;
        evaluate_linear(&lp, x, gaps, tolerances, &goal);
        cr_assert(near(goal, best, 0, 1e-10) && meets_all(&lp, x, 1e-10),
                  "program %d: %.12g, the best corner %.12g", k, goal, best);
    }
    cr_expect(found > 300 && impossible > 300, "%d found, %d impossible", found, impossible);
}

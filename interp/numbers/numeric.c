/* SPDX-FileCopyrightText: the Rundlet developers */
/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Root finding for the physics and for `find`. Both solvers keep a bracket, so a result is either inside it
 * or refused; neither ever returns its last guess as if it were a root. */
#include "numbers/numeric.h"

#include <float.h>
#include <math.h>

/* The three points Chandrupatla's method carries: `near` and `far` bracket the root, `old` is the last one
 * thrown out. */
typedef struct Points {
    double near_x, near_y;
    double far_x, far_y;
    double old_x, old_y;
} Points;

static bool same_sign(double a, double b) {
    return (a > 0) == (b > 0);
}

static void points_add(Points *points, double x, double y) {
    if (same_sign(y, points->near_y)) {
        points->old_x = points->near_x;
        points->old_y = points->near_y;
    } else {
        points->old_x = points->far_x;
        points->old_y = points->far_y;
        points->far_x = points->near_x;
        points->far_y = points->near_y;
    }
    points->near_x = x;
    points->near_y = y;
}

/* The next point as a part of the way from near to far: inverse quadratic interpolation where the three
 * points make it trustworthy (Chandrupatla 1997 eq. 5), the middle otherwise. */
static double points_next(const Points *points) {
    double x1 = points->near_x, x2 = points->far_x, x3 = points->old_x;
    double y1 = points->near_y, y2 = points->far_y, y3 = points->old_y;
    double xi = (x1 - x2) / (x3 - x2);
    double phi = (y1 - y2) / (y3 - y2);
    if (!(phi * phi < xi && (1 - phi) * (1 - phi) < 1 - xi))
        return 0.5;
    return y1 / (y2 - y1) * (y3 / (y2 - y3)) + (x3 - x1) / (x2 - x1) * (y1 / (y3 - y1)) * (y2 / (y3 - y2));
}

bool numeric_find_root(NumericFunction f, void *context, double low, double high, double tolerance,
                       double *root) {
    if (!(low <= high) || !isfinite(low) || !isfinite(high))
        return false;
    double low_y = f(low, context);
    if (low_y == 0) {
        *root = low;
        return true;
    }
    double high_y = f(high, context);
    if (high_y == 0) {
        *root = high;
        return true;
    }
    if (isnan(low_y) || isnan(high_y) || same_sign(low_y, high_y))
        return false;
    Points points = {low, low_y, high, high_y, high, high_y};
    double part = 0.5;
    for (int step = 0; step < NUMERIC_MAX_STEPS; step++) {
        double x = points.near_x + part * (points.far_x - points.near_x);
        double y = f(x, context);
        if (isnan(y))
            return false;
        points_add(&points, x, y);
        bool far_is_better = fabs(points.far_y) < fabs(points.near_y);
        double best = far_is_better ? points.far_x : points.near_x;
        double best_y = far_is_better ? points.far_y : points.near_y;
        double width = fabs(points.far_x - points.near_x);
        double least = 2 * DBL_EPSILON * fabs(best) + tolerance;
        if (best_y == 0 || width <= 2 * least) {
            *root = best;
            return true;
        }
        part = numeric_clamp(points_next(&points), least / width, 1 - least / width);
    }
    return false;
}

/* Where Newton's next point may be: an end is `known` once the function was seen there or beyond it. */
typedef struct Bracket {
    double low, high;
    bool low_known, high_known;
} Bracket;

/* A step inside the bracket is taken when it shrinks; one that leaves it first tries the end itself, when
 * nothing is known of it, so that a root on the very end is found at once. */
static double newton_next(const Bracket *bracket, double x, double step, double last_step) {
    double next = x + step;
    if (next >= bracket->high && !bracket->high_known)
        return bracket->high;
    if (next <= bracket->low && !bracket->low_known)
        return bracket->low;
    bool inside = next > bracket->low && next < bracket->high;
    if (inside && fabs(step) <= 0.5 * fabs(last_step))
        return next;
    return bracket->low + 0.5 * (bracket->high - bracket->low);
}

bool numeric_find_root_newton(NumericSlope f, void *context, double low, double high, double guess,
                              double tolerance, double *root) {
    if (!(low <= high) || isnan(guess))
        return false;
    Bracket bracket = {low, high, false, false};
    double x = numeric_clamp(guess, low, high);
    double last_step = 2 * (high - low);
    for (int count = 0; count < NUMERIC_MAX_STEPS; count++) {
        double y, slope;
        f(x, context, &y, &slope);
        if (isnan(y) || isnan(slope) || slope == 0)
            return false;
        double step = -y / slope;
        if (fabs(step) <= tolerance) {
            *root = numeric_clamp(x + step, low, high);
            return true;
        }
        bool root_is_above = step > 0;
        if (root_is_above ? x >= high : x <= low)
            return false;
        if (root_is_above) {
            bracket.low = x;
            bracket.low_known = true;
        } else {
            bracket.high = x;
            bracket.high_known = true;
        }
        double middle = bracket.low + 0.5 * (bracket.high - bracket.low);
        if (bracket.low_known && bracket.high_known &&
            (bracket.high - bracket.low <= tolerance || middle <= bracket.low || middle >= bracket.high)) {
            *root = middle;
            return true;
        }
        double next = newton_next(&bracket, x, step, last_step);
        last_step = next - x;
        x = next;
    }
    return false;
}

double numeric_polynomial(const double *coefficients, size_t count, double x) {
    double sum = 0;
    for (size_t i = count; i-- > 0;)
        sum = sum * x + coefficients[i];
    return sum;
}

double numeric_polynomial_slope(const double *coefficients, size_t count, double x, double *slope) {
    double sum = 0, rise = 0;
    for (size_t i = count; i-- > 0;) {
        rise = rise * x + sum;
        sum = sum * x + coefficients[i];
    }
    *slope = rise;
    return sum;
}

double numeric_clamp(double x, double low, double high) {
    return x < low ? low : x > high ? high : x;
}

bool numeric_within(double x, double low, double high, double slack) {
    return isfinite(x) && x >= low - slack && x <= high + slack;
}

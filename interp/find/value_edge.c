/* SPDX-FileCopyrightText: the Rundlet developers */
/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Rays are sent at the edge from a place just inside it, one beside the other; through where they end a plane
 * is laid. For edges that are planes it is exact, for curved ones it is good nearby, and a later step finds a
 * better one. */
#include "find/value_edge.h"

#include <math.h>

#include "numbers/numeric.h"

enum { HALVINGS = 60, REACH_DOUBLINGS = 8 };
#define HAIR  1e-12 /* rounding must not carry a place on the plane over the edge */
#define ASIDE 0.25  /* how much the rays part */
#define BACK  0.5   /* they begin so much of the way back from the edge */

typedef struct Ray {
    const SequentialProblem *problem;
    SequentialPoint *point;
    const double *from;
    double direction[VALUE_EDGE_UNKNOWNS_MOST];
    bool *stopped;
} Ray;

static bool has_value(const Ray *ray, double distance) {
    for (int j = 0; j < ray->problem->unknowns; j++) {
        double t = ray->from[j] + distance * ray->direction[j];
        if (t < 0 || t > 1)
            return false; /* a bound, which is not an edge but ends the ray */
        ray->point->t[j] = t;
    }
    if (*ray->stopped)
        return false;
    SequentialAnswer answer = sequential_evaluate(ray->problem, ray->point);
    *ray->stopped = answer == SEQUENTIAL_STOP;
    return answer == SEQUENTIAL_VALUE;
}

static bool is_inside(const Ray *ray, double distance) {
    for (int j = 0; j < ray->problem->unknowns; j++) {
        double t = ray->from[j] + distance * ray->direction[j];
        if (t < 0 || t > 1)
            return false;
    }
    return true;
}

/* How far the values go along a ray; false when it leaves the box before. */
static bool find_end(const Ray *ray, double reach, double *distance) {
    double low = 0, high = reach;
    for (int i = 0; i < REACH_DOUBLINGS && has_value(ray, high); i++) {
        low = high;
        high *= 2;
    }
    if (has_value(ray, high))
        return false;
    for (int i = 0; i < HALVINGS && high - low > 1e-16; i++) {
        double middle = low + (high - low) / 2;
        if (has_value(ray, middle))
            low = middle;
        else
            high = middle;
    }
    *distance = low;
    return is_inside(ray, low + 1e-12) && !*ray->stopped;
}

/* Gaussian elimination with partial pivoting, n by n + 1 in place; the solution is left in the last column.
 */
static bool solve_linear_system(double *rows, int n) {
    int width = n + 1;
    for (int k = 0; k < n; k++) {
        int pivot = k;
        for (int i = k + 1; i < n; i++)
            if (fabs(rows[i * width + k]) > fabs(rows[pivot * width + k]))
                pivot = i;
        for (int j = 0; j < width; j++) {
            double kept = rows[k * width + j];
            rows[k * width + j] = rows[pivot * width + j];
            rows[pivot * width + j] = kept;
        }
        if (!(fabs(rows[k * width + k]) > 1e-14))
            return false;
        for (int i = 0; i < n; i++) {
            double factor = i == k ? 0 : rows[i * width + k] / rows[k * width + k];
            for (int j = k; j < width; j++)
                rows[i * width + j] -= factor * rows[k * width + j];
        }
    }
    for (int k = 0; k < n; k++)
        rows[k * width + n] /= rows[k * width + k];
    return true;
}

/* The ray along `step` with its side pushed along unknown j, away from the nearer bound. */
static void aim(Ray *ray, const double *step, int n, int j) {
    double length = 0;
    for (int i = 0; i < n; i++)
        length += step[i] * step[i];
    length = sqrt(length);
    for (int i = 0; i < n; i++)
        ray->direction[i] = step[i] / length;
    if (j >= 0)
        ray->direction[j] += ray->from[j] > 0.5 ? -ASIDE : ASIDE;
}

bool value_edge_find(const SequentialProblem *problem, const double *from, const double *step,
                     SequentialPoint *point, double *normal, double *offset, bool *stopped) {
    double base[VALUE_EDGE_UNKNOWNS_MOST], rows[VALUE_EDGE_UNKNOWNS_MOST * (VALUE_EDGE_UNKNOWNS_MOST + 1)];
    int n = problem->unknowns;
    double distance, length = 0;
    Ray ray = {.problem = problem, .point = point, .from = from, .stopped = stopped};
    if (n > VALUE_EDGE_UNKNOWNS_MOST)
        return false;
    for (int j = 0; j < n; j++)
        length += step[j] * step[j];
    length = sqrt(length);
    aim(&ray, step, n, -1);
    if (!(length > 0) || !find_end(&ray, length, &distance))
        return false;
    double back = fmin(fmax(distance * BACK, 1e-6), distance);
    for (int j = 0; j < n; j++)
        base[j] = from[j] + (distance - back) * ray.direction[j];
    ray.from = base;
    for (int k = 0; k < n; k++) { /* a·(end - base) = 1 for each ray's end */
        double end;
        aim(&ray, step, n, problem->upper[k] > problem->lower[k] ? k : -1);
        if (!find_end(&ray, fmax(back, 1e-9), &end))
            return false;
        for (int j = 0; j < n; j++)
            rows[k * (n + 1) + j] = problem->upper[j] > problem->lower[j] ? end * ray.direction[j] : j == k;
        rows[k * (n + 1) + n] = problem->upper[k] > problem->lower[k] ? 1 : 0;
        for (int j = 0; j < n && problem->upper[k] <= problem->lower[k]; j++)
            rows[k * (n + 1) + j] = j == k; /* a fixed unknown has no part in the normal */
    }
    if (!solve_linear_system(rows, n))
        return false;
    double size = 0;
    *offset = 1;
    for (int j = 0; j < n; j++) {
        double a = rows[j * (n + 1) + n];
        normal[j] = -a;
        *offset += a * base[j];
        size += a * a;
    }
    size = sqrt(size);
    for (int j = 0; j < n; j++)
        normal[j] /= size;
    *offset = *offset / size - HAIR;
    return isfinite(*offset) && size > 0;
}

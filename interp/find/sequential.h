/* SPDX-FileCopyrightText: the Rundlet developers */
/* SPDX-License-Identifier: GPL-3.0-or-later */
/* One local solve of a smooth constrained problem whose unknowns, conditions and goal are already scaled to
 * about 1: sequential quadratic programming. What calls it (constrained.c) chooses the starts. Private to
 * find/. */
#ifndef FIND_SEQUENTIAL_H
#define FIND_SEQUENTIAL_H

#include <stdbool.h>

typedef enum SequentialAnswer {
    SEQUENTIAL_VALUE,
    SEQUENTIAL_NO_VALUE, /* the functions have none here */
    SEQUENTIAL_STOP      /* give everything up */
} SequentialAnswer;

/* Fills values (one a condition), tolerances (how far from met is met) and the goal. */
typedef SequentialAnswer (*SequentialFunction)(void *context, const double *t, double *values,
                                               double *tolerances, double *goal);

typedef struct SequentialProblem {
    int unknowns, conditions;
    const bool *equal;           /* by condition: value == 0, else value >= 0 */
    const double *lower, *upper; /* bounds of the unknowns, within [0, 1] */
    const double *middle;        /* without a goal: 1/2 |t - middle|² is minimised */
    bool has_goal;
    const double *jacobian; /* conditions by unknowns, when all functions are known to be linear; else NULL */
    const double *slope;    /* then also the goal's */
    bool fine;              /* derivatives of fourth order, at twice the calls */
    SequentialFunction evaluate;
    void *context;
} SequentialProblem;

typedef struct SequentialPoint {
    double *t, *values, *tolerances;
    double goal;
    double violation; /* the worst condition's, in tolerances: up to 1 is met */
} SequentialPoint;

typedef enum SequentialOutcome {
    SEQUENTIAL_CONVERGED,
    SEQUENTIAL_STALLED, /* no step helps, the derivatives say one should; the point may be met or not */
    SEQUENTIAL_LOCALLY_IMPOSSIBLE,
    SEQUENTIAL_STOPPED
} SequentialOutcome;

void sequential_point_open(SequentialPoint *point, int unknowns, int conditions);
void sequential_point_close(SequentialPoint *point);
void sequential_point_copy(SequentialPoint *to, const SequentialPoint *from, int unknowns, int conditions);
/* Evaluates at point->t. */
SequentialAnswer sequential_evaluate(const SequentialProblem *problem, SequentialPoint *point);
/* Starts at *point, which is evaluated, and leaves the best place reached there. */
SequentialOutcome sequential_solve(const SequentialProblem *problem, SequentialPoint *point);

#endif

/* SPDX-FileCopyrightText: the Rundlet developers */
/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Several unknowns within bounds, conditions on them, and what is wanted: the smallest goal, or the place
 * nearest the middles of the ranges. The functions are black boxes that may have no value at some places.
 *
 * Linear problems are recognised and solved exactly. Others are solved by sequential quadratic programming
 * from the middle and from the best of some hundred evenly spread places. One unknown is looked for on 200
 * even steps, so the result is the best of the whole range at that resolution. Whole unknowns are tried one
 * by one where all are whole and few, else by branch and bound. */
#ifndef FIND_CONSTRAINED_H
#define FIND_CONSTRAINED_H

#include <stdbool.h>

#include "find/sequential.h"

typedef enum ConstrainedRelation {
    CONSTRAINED_EQUAL,   /* gap == 0 */
    CONSTRAINED_AT_MOST, /* gap <= 0 */
    CONSTRAINED_AT_LEAST /* gap >= 0 */
} ConstrainedRelation;

/* Fills the gaps, how large a gap still counts as none, and the goal where there is one. */
typedef SequentialAnswer (*ConstrainedFunction)(void *context, const double *x, double *gaps,
                                                double *tolerances, double *goal);

typedef struct ConstrainedProblem {
    int unknowns;
    const double *low, *high; /* finite, low <= high */
    const bool *whole;        /* by unknown: only whole numbers count */
    int conditions;
    const ConstrainedRelation *relations;
    int goal_direction; /* -1: the smallest goal, 1: the largest, 0: no goal */
    ConstrainedFunction evaluate;
    void *context;
} ConstrainedProblem;

typedef enum ConstrainedOutcome {
    CONSTRAINED_FOUND,
    CONSTRAINED_IMPOSSIBLE,    /* result.failed cannot be met together with the conditions before it */
    CONSTRAINED_NO_VALUES,     /* the functions have a value nowhere that was looked */
    CONSTRAINED_NO_WHOLE,      /* a range holds no whole number: result.failed is the unknown */
    CONSTRAINED_NOT_CONVERGED, /* the conditions can be met, but the best place could not be closed in on */
    CONSTRAINED_STOPPED
} ConstrainedOutcome;

typedef struct ConstrainedResult {
    double *x; /* `unknowns` numbers of the caller's: the solution; when impossible, where `failed` is nearest
                  met */
    int failed;
    double another; /* one unknown without a goal: the next solution apart from x; else not a number */
} ConstrainedResult;

ConstrainedOutcome constrained_solve(const ConstrainedProblem *problem, ConstrainedResult *result);

#endif

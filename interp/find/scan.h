/* SPDX-FileCopyrightText: the Rundlet developers */
/* SPDX-License-Identifier: GPL-3.0-or-later */
/* All roots of a function on a range, as `find` looks for them: even steps first, then each change of sign
 * closed in on, each near-touch looked into. What changes sign at a jump or a pole is told apart from a root.
 */
#ifndef FIND_SCAN_H
#define FIND_SCAN_H

#include <stdbool.h>

enum { SCAN_STEPS = 200, SCAN_NODES_MOST = 2 * SCAN_STEPS + 1 };

/* A value and the size of what it is the difference of: both sides of an equation may be large and their gap
 * rounding. Not a number: no value here. */
typedef double (*ScanFunction)(double x, void *context, double *size);

typedef struct ScanNode {
    double x, gap, size;
} ScanNode;

typedef struct Scan {
    ScanFunction function;
    void *context;
    double low, high;
    ScanNode nodes[SCAN_NODES_MOST]; /* by x: the even steps, and beside a step without a value the edge of
                                        the values */
    int count;
    double jump; /* where scan_root last refused a change of sign; not a number: nowhere */
} Scan;

/* Evaluates the steps (both ends included) and finds the edges. low must not exceed high. */
void scan_range(Scan *scan, ScanFunction function, void *context, double low, double high);
/* The root that belongs to a node: at it, between it and the next, or touching around it. It is closed to
 * rounding. */
bool scan_root(Scan *scan, int node, double *root);
/* Every node has a value, and they differ by rounding only. */
bool scan_is_flat(const Scan *scan);
bool scan_is_empty(const Scan *scan); /* no node has a value */

#endif

/* SPDX-FileCopyrightText: the Rundlet developers */
/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Arithmetic and comparison of values with every rule of docs/reference/language.md, "Quantities" and
 * "Expressions": the slow and complete path. The dispatch loop handles the common case (same unit) itself and
 * comes here for all else. */
#ifndef RUNDLET_ARITH_H
#define RUNDLET_ARITH_H

#include "values/heap.h"

/* Told of each pour of one liquid into another. */
typedef struct PourListener {
    void (*poured)(void *context, const Liquid *a, const Liquid *b);
    void *context;
} PourListener;

typedef struct Arith {
    UnitTable *units;
    Heap *heap;
    Fault *fault;
    const PourListener *pours; /* NULL: nobody listens */
} Arith;

/* Each sets the fault and returns false when the rules forbid it; the hint says what to write instead. */
bool arith_add(const Arith *arith, Value a, Value b, Value *result);
bool arith_subtract(const Arith *arith, Value a, Value b, Value *result);
bool arith_multiply(const Arith *arith, Value a, Value b, Value *result);
bool arith_divide(const Arith *arith, Value a, Value b, Value *result);
bool arith_of(const Arith *arith, Value a, Value b, Value *result);
bool arith_modulo(const Arith *arith, Value a, Value b, Value *result);
bool arith_power(const Arith *arith, Value a, Value b, Value *result);
bool arith_negate(const Arith *arith, Value a, Value *result);
bool arith_attach(const Arith *arith, Value a, UnitId unit, Value *result);  /* `n gal` */
bool arith_convert(const Arith *arith, Value a, UnitId unit, Value *result); /* `x as gal` */

/* The right side of `value ± spread` as a number on the value's own unit; `same`: it is one already. The
 * kinds fit (kind_check_spread). */
bool arith_spread(const Arith *arith, Value value, Value spread, bool same, double *uncertainty);

bool arith_equal(const Arith *arith, Value a, Value b, bool *result);
/* -1, 0 (within the tolerance of docs/reference/language.md, "Expressions") or 1. */
bool arith_compare(const Arith *arith, Value a, Value b, int *order);
/* |a - b| <= within; a fault for a negative `within`, which nothing could meet. */
bool arith_near(const Arith *arith, Value a, Value b, Value within, bool *result);
/* A fault for a negative amount; its kind is not looked at. */
bool arith_within_allowed(const Arith *arith, Value within);
/* The tolerance of two numbers already in the left unit. */
static inline double arith_tolerance(double a, double b) {
    double magnitude_a = a < 0 ? -a : a, magnitude_b = b < 0 ? -b : b;
    double largest = magnitude_a > magnitude_b ? magnitude_a : magnitude_b;
    return 1e-9 * (largest > 1.0 ? largest : 1.0);
}

/* a − b as a number on a common scale, for root finding: 0 when equal; false for what cannot be compared. */
bool arith_gap(const Arith *arith, Value a, Value b, double *gap);

#endif

/* SPDX-FileCopyrightText: the Rundlet developers */
/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The one comparison of doubles in the unit tests. */
#ifndef TESTS_UNIT_NEAR_H
#define TESTS_UNIT_NEAR_H

#include <math.h>
#include <stdbool.h>

/* True when got is within `abs` plus `rel` times |want| of want; NaN is near nothing. */
static inline bool near(double got, double want, double rel, double abs) {
    return got == want || fabs(got - want) <= abs + rel * fabs(want);
}

#endif

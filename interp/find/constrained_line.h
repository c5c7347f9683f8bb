/* SPDX-FileCopyrightText: the Rundlet developers */
/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The case of one unknown that need not be whole: 200 steps and all that lies between them. Private to
 * find/. */
#ifndef FIND_CONSTRAINED_LINE_H
#define FIND_CONSTRAINED_LINE_H

#include "find/constrained.h"

/* As constrained_solve. Without a goal the smallest solution is taken, not the middle-most. */
ConstrainedOutcome constrained_solve_line(const ConstrainedProblem *problem, ConstrainedResult *result);

#endif

/* SPDX-FileCopyrightText: the Rundlet developers */
/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Where functions cease to have a value, as a plane: `(batch - a - b) of base` is an error beyond a + b =
 * batch, and the best place may lie just there. Private to find/. */
#ifndef FIND_VALUE_EDGE_H
#define FIND_VALUE_EDGE_H

#include "find/sequential.h"

enum { VALUE_EDGE_UNKNOWNS_MOST = 24 };

/* The plane through the edge met on the way from `from`, which has a value, by `step`, whose end has none:
 * normal·t + offset >= 0 on the side of the values, the normal of length 1, the plane moved inwards by a
 * hair. `point` is scratch. False when no plane could be told (or the problem asked to stop, see *stopped).
 */
bool value_edge_find(const SequentialProblem *problem, const double *from, const double *step,
                     SequentialPoint *point, double *normal, double *offset, bool *stopped);

#endif

/* SPDX-FileCopyrightText: the Rundlet developers */
/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A value with its standard uncertainty, as `10.53 ± 0.27` (GUM 7.2.6). */
#ifndef RUNDLET_FORMAT_SPREAD_H
#define RUNDLET_FORMAT_SPREAD_H

#include "numbers/format.h"

/* A number with more digits before the point than that, unless they were asked for, is written with an
 * exponent, and so are two of which the larger begins that far behind it. */
enum { FORMAT_WHOLE_MOST = 21 };

/* Two significant digits of the uncertainty, the value to the same place. `to N places` or `digits` rounds
 * both alike; an uncertainty that would vanish then keeps its first digit. `uncertainty` is positive and
 * finite. */
void format_spread(Text *out, double number, double uncertainty, FormatSpec format);

/* The decimal places that two significant digits of an uncertainty ask for; negative for tens. */
int format_spread_places(double uncertainty);

#endif

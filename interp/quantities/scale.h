/* SPDX-FileCopyrightText: the Rundlet developers */
/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Scales that are not a factor apart: temperatures, gravities, strengths. Each reaches its kind's base scale
 * (K, SG, %ABV) and comes back by the published relation of physics/sugar.h and physics/alcohol.h. */
#ifndef RUNDLET_SCALE_H
#define RUNDLET_SCALE_H

#include <stdbool.h>
#include "quantities/unit.h"

/* Between two scales of one kind. Temperatures go by long double, so that 212 °F is exactly 100 °C. False
 * when the number is out of the range of `from`: below absolute zero, a gravity outside 0.75 SG to that of
 * dry sugar, a strength outside nothing to pure alcohol (physics/sugar.h, physics/alcohol.h). */
bool scale_convert(Scale from, Scale to, double number, double *result);

/* To and from the base: temperatures K, gravities SG, strengths %ABV, colours SRM, pH and dates themselves.
 * SG, %ABV and SRM are taken as they are. False when out of range, as above. */
bool scale_to_base(Scale scale, double number, double *base);
bool scale_from_base(Scale scale, double base, double *number);

/* The ends of a scale, for messages; *high is infinite for temperatures and colours. False for scales without
 * limits. */
bool scale_range(Scale scale, double *low, double *high);

#endif

/* SPDX-FileCopyrightText: the Rundlet developers */
/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What natives on liquids share: reading a gravity as a juice, and wording what cannot be. Private to
 * native_*.c. Indexes of arguments count from 0; each sets the fault and returns false when it fails. */
#ifndef RUNDLET_NATIVE_LIQUID_H
#define RUNDLET_NATIVE_LIQUID_H

#include "runtime/native.h"

/* 1 kg of juice of the gravity in an argument; `share` of its solids is no sugar. */
bool native_liquid_juice(Call *call, int index, double share, Liquid *juice);
/* 1 kg of a liquid of the apparent gravity and the strength in two arguments. */
bool native_liquid_measured(Call *call, int gravity_at, int strength_at, Liquid *liquid);
/* What became of a fermentation whose target is argument `index`; true for LIQUID_OK. */
bool native_liquid_fermented(Call *call, int index, LiquidResult outcome, const Liquid *before,
                             const FermentLimit *limit);

#endif

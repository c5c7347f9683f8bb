/* SPDX-FileCopyrightText: the Rundlet developers */
/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What natives on liquids share: reading a gravity as a juice, and wording what cannot be. Private to
 * native_*.c. Indexes of arguments count from 0; each sets the fault and returns false when it fails. */
#ifndef RUNDLET_NATIVE_LIQUID_H
#define RUNDLET_NATIVE_LIQUID_H

#include "runtime/native.h"

/* The arguments of `ferment`; natives whose second one is a final gravity word its faults as ferment does. */
enum { FERMENT_LIQUID, FERMENT_TO, FERMENT_TOLERANCE, FERMENT_ATTENUATION, FERMENT_FLOOR };

/* 1 kg of juice of the gravity in an argument; `share` of its solids is not sugar. */
bool native_liquid_juice(Call *call, int index, double share, Liquid *juice);
/* The border between sugar and other solids out of an optional `floor:`; as it was when that is absent. */
bool native_liquid_floor(Call *call, int index, Liquid *liquid);
/* True for LIQUID_OK, else its fault, placed at the argument. */
bool native_liquid_outcome(Call *call, int index, LiquidResult outcome);
/* What became of a fermentation whose target is argument `index`; true for LIQUID_OK. */
bool native_liquid_fermented(Call *call, int index, double target, LiquidResult outcome, const Liquid *before,
                             const FermentLimit *limit);

#endif

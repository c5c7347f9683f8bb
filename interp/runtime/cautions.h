/* SPDX-FileCopyrightText: the Rundlet developers */
/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The cautions that formulas in C and plain pours give: each topic once per run, in the words of this
 * catalogue. Those of formulas written in the language are in stdlib. The law differs by place. */
#ifndef RUNDLET_CAUTIONS_H
#define RUNDLET_CAUTIONS_H

#include "physics/liquid.h"
#include "runtime/native.h"

/* Distilled alcohol must be in it: above 22 %ABV, the most a fortified wine holds in EU law (Regulation (EU)
 * 1308/2013, Annex VII), or from 15 %ABV on, the least of a spirit drink (Regulation (EU) 2019/787), where
 * nothing is dissolved in it. */
bool caution_is_spirit(const Liquid *liquid);

/* Tax-paid spirit, its flash point, servings. A run that named an ordinary spirit first hears once more of
 * one that gives off flammable vapour in any room. */
void caution_spirit(const NativeContext *context, double strength_abv);
void caution_sweetening(const NativeContext *context);
/* Two liquids poured together: spirit into anything; sugar into what has fermented, unless the blend is above
 * 18 %ABV, where few yeasts work. Of two fermented liquids only where a sweet one meets a drier one. */
void caution_poured(const NativeContext *context, const Liquid *a, const Liquid *b);
/* Fermented away: CO2 in the room, when it would take a small closed one past 5000 ppm. */
void caution_fermented(const NativeContext *context, const Liquid *before, const Liquid *after);

#endif

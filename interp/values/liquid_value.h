/* SPDX-FileCopyrightText: the Rundlet developers */
/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Liquids as values (docs/reference/language.md, "Liquids"): pouring, scaling, `of`, fields and `with`, with
 * their units, currencies and errors.
 *
 * Each function returns false after setting the fault. A liquid's volume costs a solve; it is kept in the
 * object at its first use (LiquidObject.volume_l), so that `dose of syrup` inside `find` solves nothing for
 * `syrup`. */
#ifndef RUNDLET_LIQUID_VALUE_H
#define RUNDLET_LIQUID_VALUE_H

#include "values/arith.h"

/* a + b. Two different currencies cannot be poured together. */
bool liquid_value_add(const Arith *arith, const LiquidObject *a, const LiquidObject *b, Value *result);
/* Everything times a plain number, which must not be negative. */
bool liquid_value_scale(const Arith *arith, const LiquidObject *liquid, double factor, Value *result);
/* `amount of liquid`: a volume or a mass of the recipe, whatever its own size; also a plain number or
 * percent, which scales what there is. */
bool liquid_value_of(const Arith *arith, Value amount, LiquidObject *liquid, Value *result);
/* `.name`: every field. `.cost` is none when it has none. */
bool liquid_value_field(const Arith *arith, LiquidObject *liquid, const char *name, Value *result);
/* `liquid with {acid: 6.5 g/L}`: acid, nitrogen, sulphite, bitterness, colour, sugar or cost. */
bool liquid_value_with(const Arith *arith, const LiquidObject *liquid, const RecordObject *changes,
                       Value *result);

/* The names of the fields in the order of the reference, NULL past the end; for completion and help. */
const char *liquid_value_field_name(int index);
/* Volume at 20 °C in L, kept in the object. An empty liquid has 0. */
double liquid_value_volume_l(LiquidObject *liquid);

/* Its volume and its mass in the units it was measured in; L and kg where nobody said. */
Value liquid_value_volume(const UnitTable *units, LiquidObject *liquid);
Value liquid_value_mass(const UnitTable *units, const LiquidObject *liquid);
/* A volume in L of something else, in the unit of this liquid. */
Value liquid_value_volume_like(const UnitTable *units, const LiquidObject *liquid, double volume_l);
/* What was made of a liquid is shown in its units, unless it has its own. Of two that are poured together,
 * the left one is asked first, as in all sums. */
void liquid_value_keep_units(LiquidObject *made, const LiquidObject *from);

/* `take(l, amount)` and `lose(l, amount)`: a part of what there is, with its share of the cost, and what is
 * left, which has cost all that the whole has. */
bool liquid_value_take(const Arith *arith, LiquidObject *liquid, Value amount, Value *result);
bool liquid_value_lose(const Arith *arith, LiquidObject *liquid, Value amount, Value *result);

/* What of a dry solid was asked for by volume, where the source after `of` says it: shows the line by
 * weight. */
void liquid_value_name_solid(Fault *fault, const char *source, Span of, Span solid);
/* A new liquid of these contents; false when it is not possible (a negative or not finite mass). */
bool liquid_value_make(const Arith *arith, const Liquid *liquid, UnitId money, Value *result);
/* The fault of a physics result: a range by name, no room for a strength, more than there is. LIQUID_OK is
 * true. */
bool liquid_value_check(const Arith *arith, LiquidResult outcome);

/* Sets acid, nitrogen, sulphite, bitterness, colour or sugar from a concentration or a colour; the fault
 * names what cannot be set or is of the wrong kind. And the cost: a currency, or none. */
bool liquid_value_set(const Arith *arith, const char *name, Value value, Liquid *liquid);
bool liquid_value_set_cost(const Arith *arith, Value cost, Liquid *liquid, UnitId *money);

#endif

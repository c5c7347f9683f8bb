/* SPDX-FileCopyrightText: the Rundlet developers */
/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Mixtures of water and ethanol: density and the scales of strength.
 *
 * Source of all densities: OIML International Recommendation R 22 (1973/75), "International alcoholometric
 * tables", the formula of Council Directive 76/766/EEC; mass fraction 0 to 1, temperature -20 to 40 degC.
 * `strength_abv` is a number of % ABV, both volumes at 20 degC; `mass_fraction` is 0 to 1.
 * The functions accept a hair (1e-9) beyond their ranges, so that results of arithmetic can come back. */
#ifndef PHYSICS_ALCOHOL_H
#define PHYSICS_ALCOHOL_H

#include <stdbool.h>

#define ALCOHOL_TEMP_MIN_C       (-20.0)
#define ALCOHOL_TEMP_MAX_C       40.0
#define ALCOHOL_STRENGTH_MAX_ABV 100.0
/* US proof of pure ethanol. */
#define ALCOHOL_PROOF_MAX 200.0

/* R 22 at 20 degC with no alcohol (its coefficient A1): the one water of every mass and volume in Rundlet. */
#define ALCOHOL_WATER_DENSITY_KG_M3 998.20123

/* R 22 at 20 degC for pure ethanol, as the formula gives it (the tables print 789.24). */
#define ALCOHOL_ETHANOL_DENSITY_KG_M3 789.2391233

/* Flash point of a spirit, degC, closed cup; straight lines between published points. Below 40 %ABV it is
 * higher than this gives: the end is kept, the safe side. Points at 40, 60, 70 and 96 %ABV from memory, as
 * safety tables of ethanol and water print them; pure ethanol: NIOSH Pocket Guide to Chemical Hazards (55
 * degF). */
#define ALCOHOL_FLASH_LEAST_ABV 40.0
double alcohol_flash_point_c(double strength_abv);

/* Density in kg/m3; no range check (false precision outside R 22's range is the caller's to refuse). */
double alcohol_density_kg_m3(double mass_fraction, double temp_c);

/* Density in kg/m3 at 20 degC and its derivative by mass fraction. */
double alcohol_density_20_kg_m3(double mass_fraction, double *slope);

/* True when R 22 holds for this strength. */
bool alcohol_strength_in_range(double strength_abv);

/* Mass fraction of the mixture whose density at temp_c is density_kg_m3. Below 0 degC the density has a
 * maximum in the water-rich part, so only 0 to 40 degC is accepted. Densities above that of
 * water are carried on to a mass fraction of -0.05, so that a rounding error there is not out of range; the
 * caller refuses what is clearly below 0. False when out of range. */
bool alcohol_fraction_from_density(double density_kg_m3, double temp_c, double *mass_fraction);

/* Strength by volume at 20 degC: q = p rho(p)/rho(1); 0 to 100. Round trip better than 1e-12. */
double alcohol_abv_from_fraction(double mass_fraction);
bool alcohol_fraction_from_abv(double strength_abv, double *mass_fraction);

/* % by mass, that is 100 times the mass fraction, as scale beside the others. */
bool alcohol_abw_from_abv(double strength_abv, double *strength_abw);
bool alcohol_abv_from_abw(double strength_abw, double *strength_abv);

/* US proof: twice the % by volume with both volumes at 60 degF (27 CFR 5.1, 30.11); 0 to 200. */
bool alcohol_proof_from_abv(double strength_abv, double *proof);
bool alcohol_abv_from_proof(double proof, double *strength_abv);

/* Degrees of UK proof: volumes of proof spirit that 100 volumes make, all at 51 degF. Proof spirit weighs
 * 12/13 of an equal volume of water there (Alcoholic Liquor Duties Act 1979 s. 2(2) as enacted): 49.27 % by
 * mass, 57.15 %ABV. 0 to 175.37. */
bool alcohol_uk_proof_from_abv(double strength_abv, double *uk_proof);
bool alcohol_abv_from_uk_proof(double uk_proof, double *strength_abv);

/* The mixture with `alcohol_kg_m3` of alcohol per volume at 20 degC (p rho(p) = alcohol): its mass fraction.
 * 0 to 789.24 kg/m3. */
bool alcohol_fraction_from_concentration(double alcohol_kg_m3, double *mass_fraction);

#endif

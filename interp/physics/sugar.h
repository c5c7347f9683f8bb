/* SPDX-FileCopyrightText: the Rundlet developers */
/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Solutions of sucrose in water, the model of every juice, must and syrup; and water itself.
 *
 * Density: ICUMSA method SPS-4, rho(w,t) = rho_w(t) + sum_j ((t-20)/100)^j sum_i c_ji w^i, w the mass
 * fraction. Water: Bettin and Spieweck, PTB-Mitteilungen 100 (1990) 195, in its rational form, ITS-90, 0 to
 * 100 degC. Gravity is relative density 20 degC/20 degC in vacuum. degBx and degP are both 100 w here (the
 * NBS 20 degC and ASBC tables differ from it by 0.012 at 20 and 0.018 at 30). Masses and volumes of liquids
 * use one water, ALCOHOL_WATER_DENSITY_KG_M3, so that g/L of solids is w * d(w) * 998.2012 with d(w) the
 * gravity. */
#ifndef PHYSICS_SUGAR_H
#define PHYSICS_SUGAR_H

#include <stdbool.h>

/* Range of SPS-4 in mass fraction. */
#define SUGAR_FRACTION_MAX 0.85
/* Gravity of a solution of mass fraction SUGAR_FRACTION_MAX. */
#define SUGAR_GRAVITY_MAX_SG 1.4485404901938459
/* Temperatures of SPS-4 (from memory; checked here against tables from 5 to 40). */
#define SUGAR_TEMP_MIN_C 0.0
#define SUGAR_TEMP_MAX_C 80.0

/* The polynomial in w is smooth and strictly rising from -0.9 to 1, so it extends the scale: below 1.000 SG
 * for dry ciders and spirits (pure ethanol is 0.7907), above 0.85 for dry sugar in a recipe. A reading of
 * gravity converts on every scale between these ends; only 1.000 to SUGAR_GRAVITY_MAX_SG is published. */
#define SUGAR_GRAVITY_EXTENDED_MIN_SG 0.75
#define SUGAR_FRACTION_EXTENDED_MIN   (-0.79)
#define SUGAR_GRAVITY_EXTENDED_MAX_SG 1.5547052372282457
#define SUGAR_FRACTION_EXTENDED_MAX   1.0

/* Density of air-free water, kg/m3, 0 to 100 degC. */
double sugar_water_density_kg_m3(double temp_c);

/* Density of a sucrose solution, kg/m3; no range check. */
double sugar_density_kg_m3(double mass_fraction, double temp_c);

/* Mass fraction of the solution whose density at temp_c is density_kg_m3, within the extended range. */
bool sugar_fraction_from_density(double density_kg_m3, double temp_c, double *mass_fraction);

/* Gravity of a mass fraction; the second also gives its derivative. */
double sugar_gravity_from_fraction(double mass_fraction);
double sugar_gravity_slope(double mass_fraction, double *slope);
/* The inverse, to 1e-14; false outside the extended range. */
bool sugar_fraction_from_gravity(double gravity_sg, double *mass_fraction);
/* True from 1.000 SG (to 1e-12) to SUGAR_GRAVITY_MAX_SG: what a juice can be. */
bool sugar_gravity_in_range(double gravity_sg);
/* True within the extended range: what a reading can be. */
bool sugar_gravity_in_extended_range(double gravity_sg);

/* Dissolved solids, g per L of solution at 20 degC. */
double sugar_g_l_from_fraction(double mass_fraction);
bool sugar_fraction_from_g_l(double solids_g_l, double *mass_fraction);

/* Scales of gravity. degOe = 1000 (SG - 1); degBe = 145 - 145/SG (US "heavy" Baume, modulus 145), both
 * below 1 negative; degBx = degP = 100 w. All refuse what lies outside the extended range. */
bool sugar_oechsle_from_gravity(double gravity_sg, double *oechsle);
bool sugar_gravity_from_oechsle(double oechsle, double *gravity_sg);
bool sugar_baume_from_gravity(double gravity_sg, double *baume);
bool sugar_gravity_from_baume(double baume, double *gravity_sg);
bool sugar_brix_from_gravity(double gravity_sg, double *brix_pct);
bool sugar_gravity_from_brix(double brix_pct, double *gravity_sg);

#endif

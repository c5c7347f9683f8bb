/* SPDX-FileCopyrightText: the Rundlet developers */
/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Henry's law with Weiss's constants. The gas is not ideal: its fugacity is what dissolves, about 0.6 % below
 * its pressure at each atmosphere, so both directions go through it. */
#include "physics/carbon_dioxide.h"

#include "numbers/numeric.h"

#include <math.h>

#define ZERO_C_K     273.15
#define MOLAR_MASS_G 44.009 /* CO2, CIAAW atomic weights */
#define GAS_CONSTANT 82.057 /* cm3 atm/(mol K), Weiss 1974 */
#define SLACK        1e-9

/* Weiss 1974 table I, K0 in mol/(L atm). */
static const double K0_CONSTANT = -58.0931, K0_INVERSE = 90.5069, K0_LOGARITHM = 22.2940;
/* Weiss 1974 eq. 6, virial coefficient in cm3/mol by powers of T. */
static const double VIRIAL[] = {-1636.75, 12.0408, -3.27957e-2, 3.16528e-5};

static double virial_cm3_mol(double temp_k) {
    return numeric_polynomial(VIRIAL, sizeof VIRIAL / sizeof *VIRIAL, temp_k);
}

/* exp(beta p) is the fugacity coefficient, p in atm. */
static double beta_per_atm(double temp_c) {
    double temp_k = temp_c + ZERO_C_K;
    return virial_cm3_mol(temp_k) / (GAS_CONSTANT * temp_k);
}

static double henry_mol_l_atm(double temp_c) {
    double hundreds_k = (temp_c + ZERO_C_K) / 100;
    return exp(K0_CONSTANT + K0_INVERSE / hundreds_k + K0_LOGARITHM * log(hundreds_k));
}

static double fugacity_kpa(double partial_kpa, double temp_c) {
    return partial_kpa * exp(beta_per_atm(temp_c) * partial_kpa / CO2_ATMOSPHERE_KPA);
}

static double solubility_ratio(double strength_abv, double sugar_g_l) {
    return (0.86 - 0.01 * strength_abv) / 0.86 * (1 - 0.00144 * sugar_g_l);
}

static bool is_known(Carbonated liquid) {
    return numeric_within(liquid.temp_c, CO2_TEMP_MIN_C, CO2_TEMP_MAX_C, SLACK) &&
           numeric_within(liquid.strength_abv, 0, CO2_STRENGTH_MAX_ABV, SLACK) &&
           numeric_within(liquid.sugar_g_l, 0, CO2_SUGAR_MAX_G_L, SLACK);
}

/* g/L dissolved per atm of fugacity. */
static double solubility_g_l_atm(Carbonated liquid) {
    return MOLAR_MASS_G * henry_mol_l_atm(liquid.temp_c) *
           solubility_ratio(liquid.strength_abv, liquid.sugar_g_l);
}

bool co2_dissolved_g_l(Carbonated liquid, double partial_kpa, double *co2_g_l) {
    if (!is_known(liquid) || !numeric_within(partial_kpa, 0, CO2_PRESSURE_MAX_KPA, SLACK))
        return false;
    double fugacity = fugacity_kpa(fmax(partial_kpa, 0), liquid.temp_c);
    *co2_g_l = solubility_g_l_atm(liquid) * fugacity / CO2_ATMOSPHERE_KPA;
    return true;
}

typedef struct FugacityTarget {
    double beta_per_atm;
    double fugacity_atm;
} FugacityTarget;

/* p exp(beta p) rises up to 1/|beta|, which is 140 atm or more. */
static void fugacity_misses(double pressure_atm, void *context, double *value, double *slope) {
    const FugacityTarget *target = context;
    double coefficient = exp(target->beta_per_atm * pressure_atm);
    *value = pressure_atm * coefficient - target->fugacity_atm;
    *slope = coefficient * (1 + target->beta_per_atm * pressure_atm);
}

bool co2_partial_kpa(Carbonated liquid, double co2_g_l, double *partial_kpa) {
    const double most_atm = CO2_PRESSURE_MAX_KPA / CO2_ATMOSPHERE_KPA;
    double pressure_atm;
    if (!is_known(liquid) || !isfinite(co2_g_l) || co2_g_l < -SLACK)
        return false;
    FugacityTarget target = {beta_per_atm(liquid.temp_c), fmax(co2_g_l, 0) / solubility_g_l_atm(liquid)};
    if (!numeric_find_root_newton(fugacity_misses, &target, 0, most_atm, target.fugacity_atm, 1e-9,
                                  &pressure_atm))
        return false;
    *partial_kpa = pressure_atm * CO2_ATMOSPHERE_KPA;
    return true;
}

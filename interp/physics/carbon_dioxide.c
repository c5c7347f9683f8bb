/* SPDX-FileCopyrightText: the Rundlet developers */
/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Henry's law with Weiss's constants, and with Carroll's in hot liquids. The gas is not ideal: its fugacity
 * is what dissolves, about 0.6 % below its pressure at each atmosphere, so both directions go through it. */
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

/* Carroll, Slupsky and Mather 1991, ln(H/MPa) by powers of 1/T, H per mole fraction. */
static const double HOT_HENRY[] = {-6.8346, 1.2817e4, -3.7668e6, 2.997e8};

/* Moles of water in a litre at 20 degC: 998.2 g/L, 18.015 g/mol. */
#define WATER_MOL_L (998.2 / 18.015)

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

static double henry_mpa(double temp_c) {
    double inverse_k = 1 / (temp_c + ZERO_C_K);
    return exp(numeric_polynomial(HOT_HENRY, sizeof HOT_HENRY / sizeof *HOT_HENRY, inverse_k));
}

/* Weiss counts moles in a litre, Carroll their share of all moles. The liquid is water here. */
static double mol_l_from_fugacity(double temp_c, double fugacity_atm) {
    if (temp_c <= CO2_COOL_MAX_C + SLACK)
        return henry_mol_l_atm(temp_c) * fugacity_atm;
    double share = fugacity_atm * CO2_ATMOSPHERE_KPA / 1000 / henry_mpa(temp_c);
    return WATER_MOL_L * share / (1 - share);
}

static double fugacity_from_mol_l(double temp_c, double mol_l) {
    if (temp_c <= CO2_COOL_MAX_C + SLACK)
        return mol_l / henry_mol_l_atm(temp_c);
    return mol_l / (mol_l + WATER_MOL_L) * henry_mpa(temp_c) * 1000 / CO2_ATMOSPHERE_KPA;
}

/* g/L dissolved for each mol/L that water would take. */
static double grams_per_mole(Carbonated liquid) {
    return MOLAR_MASS_G * solubility_ratio(liquid.strength_abv, liquid.sugar_g_l);
}

bool co2_dissolved_g_l(Carbonated liquid, double partial_kpa, double *co2_g_l) {
    if (!is_known(liquid) || !numeric_within(partial_kpa, 0, CO2_PRESSURE_MAX_KPA, SLACK))
        return false;
    double fugacity_atm = fugacity_kpa(fmax(partial_kpa, 0), liquid.temp_c) / CO2_ATMOSPHERE_KPA;
    *co2_g_l = grams_per_mole(liquid) * mol_l_from_fugacity(liquid.temp_c, fugacity_atm);
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
    double mol_l = fmax(co2_g_l, 0) / grams_per_mole(liquid);
    FugacityTarget target = {beta_per_atm(liquid.temp_c), fugacity_from_mol_l(liquid.temp_c, mol_l)};
    if (!numeric_find_root_newton(fugacity_misses, &target, 0, most_atm, target.fugacity_atm, 1e-9,
                                  &pressure_atm))
        return false;
    *partial_kpa = pressure_atm * CO2_ATMOSPHERE_KPA;
    return true;
}

/* SPDX-FileCopyrightText: the Rundlet developers */
/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Carbon dioxide dissolved in cider and beer, and the pressure that holds it there.
 *
 * Solubility in water: R. F. Weiss, Marine Chemistry 2 (1974) 203-215, with his fugacity; 0 to 40 degC.
 * Alcohol and sugar lower it as in Commission Regulation (EEC) 2676/90 ch. 37: used as a ratio to its own
 * water, (0.86 - 0.01 A)/0.86 (1 - 0.00144 S), A %ABV 0 to 20, S g/L of sugar.
 * Water vapour: Antoine's equation. Gauge pressure = p(CO2) + p(water) - ambient.
 * Pressures are absolute kPa unless the name says gauge. 1 "volume" is 1.9768 g/L. */
#ifndef PHYSICS_CARBON_DIOXIDE_H
#define PHYSICS_CARBON_DIOXIDE_H

#include <stdbool.h>

#define CO2_TEMP_MIN_C       0.0
#define CO2_TEMP_MAX_C       40.0
#define CO2_STRENGTH_MAX_ABV 20.0
/* Our own end to a linear factor that nobody has tested on syrups. */
#define CO2_SUGAR_MAX_G_L    300.0
#define CO2_PRESSURE_MAX_KPA 3000.0
#define CO2_ATMOSPHERE_KPA   101.325
/* Density of the gas at 0 degC and 1 atm: what "1 vol" means. */
#define CO2_G_L_PER_VOLUME 1.9768

/* The gas at 20 degC and 1 atm: molar mass 44.009 g/mol, virial coefficient as above. */
#define CO2_GAS_20C_KG_M3 1.839

/* A liquid as far as carbonation cares. */
typedef struct Carbonated {
    double temp_c;
    double strength_abv;
    double sugar_g_l;
} Carbonated;

typedef enum Co2Result {
    CO2_OK,
    CO2_TEMP_OUT_OF_RANGE,
    CO2_STRENGTH_OUT_OF_RANGE,
    CO2_SUGAR_OUT_OF_RANGE,
    CO2_PRESSURE_OUT_OF_RANGE, /* negative, or above CO2_PRESSURE_MAX_KPA */
    CO2_AMOUNT_OUT_OF_RANGE    /* negative, or more than CO2_PRESSURE_MAX_KPA dissolves */
} Co2Result;

/* Vapour pressure of water, kPa, 1 to 100 degC (C. Antoine's equation, constants 8.07131, 1730.63, 233.426
 * for mmHg and degC). */
double co2_water_vapour_kpa(double temp_c);

/* Fugacity of CO2 at a partial pressure, kPa (Weiss 1974 eq. 9, virial coefficient in cm3/mol). */
double co2_fugacity_kpa(double partial_kpa, double temp_c);

/* The ratio by which alcohol and sugar lower the solubility; no range check. */
double co2_solubility_ratio(double strength_abv, double sugar_g_l);

/* The share of the solubility that can be counted on: 1 at 20 degC and without alcohol, where the factors are
 * proved, else 0.85. Away from 20 degC the CO2 in alcoholic drinks is known only to 10 to 15 % (Lonvaud-Funel
 * and Matsumoto, Vitis 18 (1979) 137; tables of sparkling wine read lower pressures cold and higher ones
 * warm). */
double co2_surest_share(Carbonated liquid);

/* g/L dissolved at a partial pressure of CO2. */
Co2Result co2_dissolved_g_l(Carbonated liquid, double partial_kpa, double *co2_g_l);
/* The partial pressure that holds co2_g_l in solution; round trip 1e-12. */
Co2Result co2_partial_kpa(Carbonated liquid, double co2_g_l, double *partial_kpa);

/* Gauge pressure for an amount dissolved, at an ambient pressure, and back. A gauge pressure may be negative
 * (flat and cold); one that leaves less than no CO2 is CO2_PRESSURE_OUT_OF_RANGE. */
Co2Result co2_gauge_kpa(Carbonated liquid, double co2_g_l, double ambient_kpa, double *gauge_kpa);
/* The same at the bad end, where only co2_surest_share dissolves; infinite when that takes more than
 * CO2_PRESSURE_MAX_KPA. For liquids and amounts of which co2_gauge_kpa said CO2_OK. */
double co2_highest_gauge_kpa(Carbonated liquid, double co2_g_l, double ambient_kpa);
Co2Result co2_dissolved_at_gauge_g_l(Carbonated liquid, double gauge_kpa, double ambient_kpa,
                                     double *co2_g_l);

#endif

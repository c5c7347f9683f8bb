/* SPDX-FileCopyrightText: the Rundlet developers */
/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Carbon dioxide dissolved in cider and beer, and the pressure that holds it there.
 *
 * Solubility in water: R. F. Weiss, Marine Chemistry 2 (1974) 203-215, with his fugacity; 0 to 40 degC. Above
 * that, up to 80 degC: J. J. Carroll, J. D. Slupsky and A. E. Mather, J. Phys. Chem. Ref. Data 20 (1991)
 * 1201-1209, with the same fugacity; theirs holds below 1 MPa and is extended beyond. The two do not meet:
 * from 40 degC to just above, the solubility rises by 2.6 % at 1 atm and by 2.9 % at 8 bar. Alcohol and sugar
 * lower it as in Commission Regulation (EEC) 2676/90 ch. 37: used as a ratio to its own water, (0.86 - 0.01
 * A)/0.86 (1 - 0.00144 S), A %ABV 0 to 20, S g/L of sugar. Pressures are absolute, kPa;
 * stdlib/carbonation.rlet makes gauge pressures of them. */
#ifndef PHYSICS_CARBON_DIOXIDE_H
#define PHYSICS_CARBON_DIOXIDE_H

#include <stdbool.h>

#define CO2_TEMP_MIN_C 0.0
#define CO2_TEMP_MAX_C 80.0
/* The warmest for Weiss; above it counts Carroll. Also the warmest that a keg is planned for. */
#define CO2_COOL_MAX_C       40.0
#define CO2_STRENGTH_MAX_ABV 20.0
/* Our own end to a linear factor that nobody has tested on syrups. */
#define CO2_SUGAR_MAX_G_L    300.0
#define CO2_PRESSURE_MAX_KPA 3000.0
#define CO2_ATMOSPHERE_KPA   101.325

/* The gas at 20 degC and 1 atm: molar mass 44.009 g/mol, virial coefficient as above. */
#define CO2_GAS_20C_KG_M3 1.839

/* A liquid as far as carbonation cares. */
typedef struct Carbonated {
    double temp_c;
    double strength_abv;
    double sugar_g_l;
} Carbonated;

/* g/L dissolved at a partial pressure of CO2. False, with the result untouched, outside the ranges above. */
bool co2_dissolved_g_l(Carbonated liquid, double partial_kpa, double *co2_g_l);
/* The partial pressure that holds co2_g_l in solution; round trip 1e-12. */
bool co2_partial_kpa(Carbonated liquid, double co2_g_l, double *partial_kpa);

#endif

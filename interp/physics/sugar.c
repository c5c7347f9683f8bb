/* SPDX-FileCopyrightText: the Rundlet developers */
/* SPDX-License-Identifier: GPL-3.0-or-later */
/* ICUMSA SPS-4 and the water formula it is based on. Gravity, the scale of every hydrometer, is the
 * polynomial at 20 degC over its own water; its inverse is Newton's method from a cubic guess. */
#include "physics/sugar.h"

#include "numbers/numeric.h"
#include "physics/alcohol.h"

#include <math.h>
#include <stddef.h>

enum { FRACTION_TERMS = 6, TEMP_TERMS = 5 };

/* SPS-4, c[j][i-1] multiplies w^i ((t-20)/100)^j, kg/m3 (as in Bubnik et al., Sugar Technologists Manual,
 * Bartens 1995, p. 164). */
static const double C[TEMP_TERMS][FRACTION_TERMS] = {
    {385.1761, 135.3705, 40.9299, -3.9643, 13.4853, -17.2890},
    {-46.2720, -7.1720, 1.1597, 5.1126, 17.5254},
    {59.7712, 7.2491, 12.3630, -35.4791},
    {-47.2207, -21.6977, 27.6301},
    {18.3184, 12.3081}};

/* Bettin and Spieweck 1990: numerator by powers of t, and the denominator's slope. */
static const double WATER[] = {999.83952,     16.952577,    -7.9905127e-3,
                               -46.241757e-6, 105.84601e-9, -281.03006e-12};
#define WATER_DENOMINATOR 16.887236e-3
/* That formula at 20 degC: the water of the gravity scale. */
#define WATER_20_KG_M3 998.20312273735454

#define SLACK         1e-9
#define GRAVITY_SLACK 1e-12
#define LAST_STEP     1e-9

/* Coefficients of w^0..w^6 of the density less its water at one temperature. */
typedef struct RiseAt {
    double by_power[FRACTION_TERMS + 1];
} RiseAt;

static RiseAt rise_at(double temp_c) {
    double tau = (temp_c - 20) / 100;
    RiseAt at;
    at.by_power[0] = 0;
    for (size_t i = 0; i < FRACTION_TERMS; i++) {
        double c = 0;
        for (size_t j = TEMP_TERMS; j-- > 0;)
            c = c * tau + C[j][i];
        at.by_power[i + 1] = c;
    }
    return at;
}

double sugar_water_density_kg_m3(double temp_c) {
    return numeric_polynomial(WATER, sizeof WATER / sizeof *WATER, temp_c) / (1 + WATER_DENOMINATOR * temp_c);
}

double sugar_density_kg_m3(double mass_fraction, double temp_c) {
    RiseAt at = rise_at(temp_c);
    return sugar_water_density_kg_m3(temp_c) +
           numeric_polynomial(at.by_power, FRACTION_TERMS + 1, mass_fraction);
}

static bool temp_in_range(double temp_c) {
    return numeric_within(temp_c, SUGAR_TEMP_MIN_C, SUGAR_TEMP_MAX_C, SLACK);
}

/* A rise of density that a mass fraction is to reach. */
typedef struct Target {
    const double *by_power;
    double value;
} Target;

static void rise_misses(double fraction, void *context, double *value, double *slope) {
    const Target *target = context;
    *value = numeric_polynomial_slope(target->by_power, FRACTION_TERMS + 1, fraction, slope) - target->value;
}

bool sugar_fraction_from_density(double density_kg_m3, double temp_c, double *mass_fraction) {
    if (!temp_in_range(temp_c) || !isfinite(density_kg_m3))
        return false;
    RiseAt at = rise_at(temp_c);
    Target target = {at.by_power, density_kg_m3 - sugar_water_density_kg_m3(temp_c)};
    double guess = target.value / 480;
    return numeric_find_root_newton(rise_misses, &target, SUGAR_FRACTION_EXTENDED_MIN,
                                    SUGAR_FRACTION_EXTENDED_MAX, guess, LAST_STEP, mass_fraction);
}

/* w times the polynomial, written out: this is the innermost step of every blend. */
static double rise_20(double w) {
    const double *c = C[0];
    return w * (c[0] + w * (c[1] + w * (c[2] + w * (c[3] + w * (c[4] + w * c[5])))));
}

double sugar_gravity_from_fraction(double mass_fraction) {
    return 1 + rise_20(mass_fraction) / WATER_20_KG_M3;
}

double sugar_gravity_slope(double mass_fraction, double *slope) {
    double inner_slope;
    double inner = numeric_polynomial_slope(C[0], FRACTION_TERMS, mass_fraction, &inner_slope);
    *slope = (inner + mass_fraction * inner_slope) / WATER_20_KG_M3;
    return 1 + mass_fraction * inner / WATER_20_KG_M3;
}

bool sugar_gravity_in_range(double gravity_sg) {
    return numeric_within(gravity_sg, 1, SUGAR_GRAVITY_MAX_SG, GRAVITY_SLACK);
}

bool sugar_gravity_in_extended_range(double gravity_sg) {
    return numeric_within(gravity_sg, SUGAR_GRAVITY_EXTENDED_MIN_SG, SUGAR_GRAVITY_EXTENDED_MAX_SG,
                          GRAVITY_SLACK);
}

static void gravity_misses(double fraction, void *context, double *value, double *slope) {
    const double *rise_sg = context;
    *value = sugar_gravity_slope(fraction, slope) - 1 - *rise_sg;
}

bool sugar_fraction_from_gravity(double gravity_sg, double *mass_fraction) {
    if (!sugar_gravity_in_extended_range(gravity_sg))
        return false;
    double rise_sg = gravity_sg - 1;
    double guess = rise_sg * (2.59155 - rise_sg * (2.32 - rise_sg * 1.7));
    return numeric_find_root_newton(gravity_misses, &rise_sg, SUGAR_FRACTION_EXTENDED_MIN,
                                    SUGAR_FRACTION_EXTENDED_MAX, guess, LAST_STEP, mass_fraction);
}

double sugar_g_l_from_fraction(double mass_fraction) {
    return mass_fraction * sugar_gravity_from_fraction(mass_fraction) * ALCOHOL_WATER_DENSITY_KG_M3;
}

static void g_l_misses(double fraction, void *context, double *value, double *slope) {
    const double *share = context;
    double gravity_slope;
    double gravity = sugar_gravity_slope(fraction, &gravity_slope);
    *value = fraction * gravity - *share;
    *slope = gravity + fraction * gravity_slope;
}

/* w d(w) rises all through the extended range (it was tabulated from -1 to 1), so the root is the only one.
 */
bool sugar_fraction_from_g_l(double solids_g_l, double *mass_fraction) {
    double share = solids_g_l / ALCOHOL_WATER_DENSITY_KG_M3;
    if (!isfinite(share))
        return false;
    double guess = share * (1 - share * (0.386 - share * 0.16));
    return numeric_find_root_newton(g_l_misses, &share, SUGAR_FRACTION_EXTENDED_MIN,
                                    SUGAR_FRACTION_EXTENDED_MAX, guess, LAST_STEP, mass_fraction);
}

/* ---- Scales ---- */

bool sugar_oechsle_from_gravity(double gravity_sg, double *oechsle) {
    if (!sugar_gravity_in_extended_range(gravity_sg))
        return false;
    *oechsle = 1000 * (gravity_sg - 1);
    return true;
}

bool sugar_gravity_from_oechsle(double oechsle, double *gravity_sg) {
    double gravity = 1 + oechsle / 1000;
    if (!sugar_gravity_in_extended_range(gravity))
        return false;
    *gravity_sg = gravity;
    return true;
}

bool sugar_baume_from_gravity(double gravity_sg, double *baume) {
    if (!sugar_gravity_in_extended_range(gravity_sg))
        return false;
    *baume = 145 - 145 / gravity_sg;
    return true;
}

bool sugar_gravity_from_baume(double baume, double *gravity_sg) {
    double gravity = 145 / (145 - baume);
    if (!sugar_gravity_in_extended_range(gravity))
        return false;
    *gravity_sg = gravity;
    return true;
}

bool sugar_brix_from_gravity(double gravity_sg, double *brix_pct) {
    double fraction;
    if (!sugar_fraction_from_gravity(gravity_sg, &fraction))
        return false;
    *brix_pct = 100 * fraction;
    return true;
}

bool sugar_gravity_from_brix(double brix_pct, double *gravity_sg) {
    if (!numeric_within(brix_pct, 100 * SUGAR_FRACTION_EXTENDED_MIN, 100 * SUGAR_FRACTION_EXTENDED_MAX,
                        SLACK))
        return false;
    double gravity = sugar_gravity_from_fraction(brix_pct / 100);
    if (!sugar_gravity_in_extended_range(gravity))
        return false;
    *gravity_sg = gravity;
    return true;
}

/* SPDX-FileCopyrightText: the Rundlet developers */
/* SPDX-License-Identifier: GPL-3.0-or-later */
/* OIML R 22 as a polynomial in the mass fraction whose coefficients depend on the temperature. Every scale of
 * strength is p rho(p,t)/(pure or proof spirit at t) at its own temperature t, so one solver inverts them
 * all. */
#include "physics/alcohol.h"

#include "numbers/numeric.h"

#include <math.h>
#include <stddef.h>

enum { FRACTION_TERMS = 12, TEMP_TERMS = 6, CROSS_TERMS = 11 };

/* R 22: A1..A12, multiplying p^0..p^11. */
static const double A[FRACTION_TERMS] = {9.982012300E2, -1.929769495E2, 3.891238958E2, -1.668103923E3,
                                         1.352215441E4, -8.829278388E4, 3.062874042E5, -6.138381234E5,
                                         7.470172998E5, -5.478461354E5, 2.234460334E5, -3.903285426E4};

/* R 22: B1..B6, multiplying (t-20)^1..6. */
static const double B[TEMP_TERMS] = {-2.0618513E-1, -5.2682542E-3, 3.6130013E-5,
                                     -3.8957702E-7, 7.1693540E-9,  -9.9739231E-11};

/* R 22: C1,k..C5,k, multiplying p^k (t-20)^i with k = 1..m_i, m = 11, 10, 9, 4, 2. */
static const double C[5][CROSS_TERMS] = {
    {1.693443461530087E-1, -1.046914743455169E1, 7.196353469546523E1, -7.047478054272792E2,
     3.924090430035045E3, -1.210164659068747E4, 2.248646550400788E4, -2.605562982188164E4,
     1.852373922069467E4, -7.420201433430137E3, 1.285617841998974E3},
    {-1.193013005057010E-2, 2.517399633803461E-1, -2.170575700536993, 1.353034988843029E1,
     -5.029988758547014E1, 1.096355666577570E2, -1.422753946421155E2, 1.080435942856230E2,
     -4.414153236817392E1, 7.442971530188783},
    {-6.802995733503803E-4, 1.876837790289664E-2, -2.002561813734156E-1, 1.022992966719220,
     -2.895696483903638, 4.810060584300675, -4.672147440794683, 2.458043105903461, -5.411227621436812E-1},
    {4.075376675622027E-6, -8.763058573471110E-6, 6.515031360099368E-6, -1.515784836987210E-6},
    {-2.788074354782409E-8, 1.345612883493354E-8}};

#define TEMP_20_C       20.0
#define TEMP_60_F_IN_C  (140.0 / 9.0)
#define TEMP_51_F_IN_C  (95.0 / 9.0)
#define LOWEST_FRACTION (-0.05)
#define SLACK           1e-9
/* The last Newton step taken may be this long; the error left is then far below rounding. */
#define LAST_STEP 1e-9

/* UK proof spirit: rho(p) = 12/13 rho(0) at 51 degF, solved once (a test solves it again). */
#define UK_PROOF_FRACTION 0.4927013636120642

/* R 22 at one temperature: coefficients of p^0..p^11. */
typedef struct DensityAt {
    double by_power[FRACTION_TERMS];
} DensityAt;

static DensityAt density_at(double temp_c) {
    double tau = temp_c - TEMP_20_C;
    DensityAt at;
    at.by_power[0] = A[0] + tau * numeric_polynomial(B, TEMP_TERMS, tau);
    for (size_t k = 0; k < CROSS_TERMS; k++) {
        double c = 0;
        for (size_t i = 5; i-- > 0;)
            c = (c + C[i][k]) * tau;
        at.by_power[k + 1] = A[k + 1] + c;
    }
    return at;
}

/* Which function of the mass fraction is to reach the target: the density, or the alcohol per volume. */
typedef struct Target {
    const double *by_power;
    double value;
} Target;

static void density_misses(double fraction, void *context, double *value, double *slope) {
    const Target *target = context;
    *value = numeric_polynomial_slope(target->by_power, FRACTION_TERMS, fraction, slope) - target->value;
}

static void concentration_misses(double fraction, void *context, double *value, double *slope) {
    const Target *target = context;
    double density_slope;
    double density = numeric_polynomial_slope(target->by_power, FRACTION_TERMS, fraction, &density_slope);
    *value = fraction * density - target->value;
    *slope = density + fraction * density_slope;
}

/* p with p rho(p) = concentration; the guess is good to 0.02. */
static bool fraction_from_concentration(const double *by_power, double concentration_kg_m3,
                                        double *fraction) {
    double share = concentration_kg_m3 / ALCOHOL_ETHANOL_DENSITY_KG_M3;
    Target target = {by_power, concentration_kg_m3};
    double guess = share * (0.79 + 0.06 * share + 0.15 * share * share);
    return numeric_find_root_newton(concentration_misses, &target, 0, 1, guess, LAST_STEP, fraction);
}

double alcohol_density_kg_m3(double mass_fraction, double temp_c) {
    DensityAt at = density_at(temp_c);
    return numeric_polynomial(at.by_power, FRACTION_TERMS, mass_fraction);
}

double alcohol_density_20_kg_m3(double mass_fraction, double *slope) {
    return numeric_polynomial_slope(A, FRACTION_TERMS, mass_fraction, slope);
}

bool alcohol_strength_in_range(double strength_abv) {
    return numeric_within(strength_abv, 0, ALCOHOL_STRENGTH_MAX_ABV, SLACK);
}

bool alcohol_fraction_from_density(double density_kg_m3, double temp_c, double *mass_fraction) {
    if (!numeric_within(temp_c, 0, ALCOHOL_TEMP_MAX_C, SLACK) || !isfinite(density_kg_m3))
        return false;
    DensityAt at = density_at(temp_c);
    Target target = {at.by_power, density_kg_m3};
    /* Almost straight from 10 % by mass on; the bracket looks after the rest. */
    double guess = (at.by_power[0] - density_kg_m3) / 200.0;
    return numeric_find_root_newton(density_misses, &target, LOWEST_FRACTION, 1, guess, LAST_STEP,
                                    mass_fraction);
}

double alcohol_abv_from_fraction(double mass_fraction) {
    return 100 * mass_fraction * numeric_polynomial(A, FRACTION_TERMS, mass_fraction) /
           ALCOHOL_ETHANOL_DENSITY_KG_M3;
}

bool alcohol_fraction_from_abv(double strength_abv, double *mass_fraction) {
    if (!alcohol_strength_in_range(strength_abv))
        return false;
    double share = numeric_clamp(strength_abv / 100, 0, 1);
    return fraction_from_concentration(A, share * ALCOHOL_ETHANOL_DENSITY_KG_M3, mass_fraction);
}

bool alcohol_fraction_from_concentration(double alcohol_kg_m3, double *mass_fraction) {
    if (!numeric_within(alcohol_kg_m3, 0, ALCOHOL_ETHANOL_DENSITY_KG_M3, 1e-6))
        return false;
    return fraction_from_concentration(A, numeric_clamp(alcohol_kg_m3, 0, ALCOHOL_ETHANOL_DENSITY_KG_M3),
                                       mass_fraction);
}

bool alcohol_abw_from_abv(double strength_abv, double *strength_abw) {
    double fraction;
    if (!alcohol_fraction_from_abv(strength_abv, &fraction))
        return false;
    *strength_abw = 100 * fraction;
    return true;
}

bool alcohol_abv_from_abw(double strength_abw, double *strength_abv) {
    if (!numeric_within(strength_abw, 0, 100, SLACK))
        return false;
    *strength_abv = alcohol_abv_from_fraction(numeric_clamp(strength_abw / 100, 0, 1));
    return true;
}

/* A scale of strength: alcohol per volume at its own temperature, against that of a reference spirit, which
 * is at `top` degrees. */
typedef struct StrengthScale {
    double temp_c;
    double reference_fraction;
    double reference_degrees;
} StrengthScale;

static const StrengthScale US_PROOF = {TEMP_60_F_IN_C, 1, ALCOHOL_PROOF_MAX};
static const StrengthScale UK_PROOF = {TEMP_51_F_IN_C, UK_PROOF_FRACTION, 100};

static double concentration(const DensityAt *at, double fraction) {
    return fraction * numeric_polynomial(at->by_power, FRACTION_TERMS, fraction);
}

static double degrees_from_fraction(const StrengthScale *scale, double fraction) {
    DensityAt at = density_at(scale->temp_c);
    return scale->reference_degrees * concentration(&at, fraction) /
           concentration(&at, scale->reference_fraction);
}

static bool degrees_from_abv(const StrengthScale *scale, double strength_abv, double *degrees) {
    double fraction;
    if (!alcohol_fraction_from_abv(strength_abv, &fraction))
        return false;
    *degrees = degrees_from_fraction(scale, fraction);
    return true;
}

static bool abv_from_degrees(const StrengthScale *scale, double degrees, double *strength_abv) {
    DensityAt at = density_at(scale->temp_c);
    double per_degree = concentration(&at, scale->reference_fraction) / scale->reference_degrees;
    double most = concentration(&at, 1) / per_degree;
    double fraction;
    if (!numeric_within(degrees, 0, most, SLACK) ||
        !fraction_from_concentration(at.by_power, numeric_clamp(degrees, 0, most) * per_degree, &fraction))
        return false;
    *strength_abv = alcohol_abv_from_fraction(fraction);
    return true;
}

bool alcohol_proof_from_abv(double strength_abv, double *proof) {
    return degrees_from_abv(&US_PROOF, strength_abv, proof);
}

bool alcohol_abv_from_proof(double proof, double *strength_abv) {
    return abv_from_degrees(&US_PROOF, proof, strength_abv);
}

bool alcohol_uk_proof_from_abv(double strength_abv, double *uk_proof) {
    return degrees_from_abv(&UK_PROOF, strength_abv, uk_proof);
}

bool alcohol_abv_from_uk_proof(double uk_proof, double *strength_abv) {
    return abv_from_degrees(&UK_PROOF, uk_proof, strength_abv);
}

/* ---- safety ---- */

typedef struct FlashPoint {
    double strength_abv, temp_c;
} FlashPoint;

static const FlashPoint flash_points[] = {
    {ALCOHOL_FLASH_LEAST_ABV, 26}, {60, 22}, {70, 21}, {96, 17}, {ALCOHOL_STRENGTH_MAX_ABV, 13}};

double alcohol_flash_point_c(double strength_abv) {
    const FlashPoint *at = flash_points, *last = at + sizeof flash_points / sizeof *flash_points - 1;
    while (at < last - 1 && strength_abv > at[1].strength_abv)
        at++;
    double share = (strength_abv - at[0].strength_abv) / (at[1].strength_abv - at[0].strength_abv);
    return at[0].temp_c + fmin(fmax(share, 0), 1) * (at[1].temp_c - at[0].temp_c);
}

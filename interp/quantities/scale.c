/* SPDX-FileCopyrightText: the Rundlet developers */
/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Conversions between scales. Temperatures pivot on °C, where the fixed points of °F are whole numbers;
 * gravities on SG and strengths on %ABV, where the relations are published. */
#include "quantities/scale.h"

#include <math.h>

#include "physics/alcohol.h"
#include "physics/sugar.h"

#define ZERO_C_IN_K 273.15L
#define SLACK_K     1e-9 /* what rounding may leave of absolute zero */

static bool is_temperature(Scale scale) {
    return scale == SCALE_CELSIUS || scale == SCALE_FAHRENHEIT || scale == SCALE_KELVIN;
}

static bool is_gravity(Scale scale) {
    return scale == SCALE_SG || scale == SCALE_BRIX || scale == SCALE_OECHSLE || scale == SCALE_BAUME;
}

static bool is_strength(Scale scale) {
    return scale == SCALE_ABV || scale == SCALE_ABW || scale == SCALE_US_PROOF || scale == SCALE_UK_PROOF;
}

/* ---- temperature ---- */

static long double celsius_from(Scale scale, double number) {
    if (scale == SCALE_FAHRENHEIT)
        return ((long double)number - 32) * 5 / 9;
    return scale == SCALE_KELVIN ? (long double)number - ZERO_C_IN_K : (long double)number;
}

static double from_celsius(Scale scale, long double celsius) {
    if (scale == SCALE_FAHRENHEIT)
        return (double)(celsius * 9 / 5 + 32);
    return (double)(scale == SCALE_KELVIN ? celsius + ZERO_C_IN_K : celsius);
}

static bool convert_temperature(Scale from, Scale to, double number, double *result) {
    long double celsius = celsius_from(from, number);
    if (!(celsius >= -ZERO_C_IN_K - (long double)SLACK_K))
        return false;
    *result = from_celsius(to, celsius);
    return true;
}

/* ---- gravity and strength ---- */

/* Common practice: the visual scale of Lovibond against the absorbance of the same worts. */
#define SRM_PER_LOVIBOND 1.3546
#define LOVIBOND_OFFSET  0.76
#define SLACK_SRM        1e-9 /* what rounding may leave of no colour at all */

static bool is_colour(Scale scale) {
    return scale == SCALE_LOVIBOND || scale == SCALE_LINEAR;
}

static bool srm_from_lovibond(double lovibond, double *srm) {
    *srm = SRM_PER_LOVIBOND * lovibond - LOVIBOND_OFFSET;
    return *srm >= -SLACK_SRM;
}

static bool lovibond_from_srm(double srm, double *lovibond) {
    *lovibond = (srm + LOVIBOND_OFFSET) / SRM_PER_LOVIBOND;
    return srm >= 0;
}

typedef bool (*Way)(double from, double *to);

/* Scales other than their base: SG for gravities, %ABV for strengths, SRM for colours. */
static const struct {
    Way to_base, from_base;
} curves[SCALE_DATE + 1] = {
    [SCALE_BRIX] = {sugar_gravity_from_brix, sugar_brix_from_gravity},
    [SCALE_OECHSLE] = {sugar_gravity_from_oechsle, sugar_oechsle_from_gravity},
    [SCALE_BAUME] = {sugar_gravity_from_baume, sugar_baume_from_gravity},
    [SCALE_ABW] = {alcohol_abv_from_abw, alcohol_abw_from_abv},
    [SCALE_US_PROOF] = {alcohol_abv_from_proof, alcohol_proof_from_abv},
    [SCALE_UK_PROOF] = {alcohol_abv_from_uk_proof, alcohol_uk_proof_from_abv},
    [SCALE_LOVIBOND] = {srm_from_lovibond, lovibond_from_srm},
};

static bool go(Way way, double from, double *to) {
    if (way)
        return way(from, to);
    *to = from;
    return true;
}

/* ---- any ---- */

bool scale_to_base(Scale scale, double number, double *base) {
    if (is_temperature(scale))
        return convert_temperature(scale, SCALE_KELVIN, number, base);
    return go(curves[scale].to_base, number, base);
}

bool scale_from_base(Scale scale, double base, double *number) {
    if (is_temperature(scale))
        return convert_temperature(SCALE_KELVIN, scale, base, number);
    return go(curves[scale].from_base, base, number);
}

bool scale_convert(Scale from, Scale to, double number, double *result) {
    if (from == to) {
        *result = number;
        return true;
    }
    if (is_temperature(from))
        return convert_temperature(from, to, number, result);
    double base;
    return scale_to_base(from, number, &base) && scale_from_base(to, base, result);
}

bool scale_range(Scale scale, double *low, double *high) {
    if (is_temperature(scale)) {
        *high = HUGE_VAL;
        return scale_from_base(scale, 0, low);
    }
    if (is_gravity(scale))
        return scale_from_base(scale, SUGAR_GRAVITY_EXTENDED_MIN_SG, low) &&
               scale_from_base(scale, SUGAR_GRAVITY_EXTENDED_MAX_SG, high);
    if (is_strength(scale))
        return scale_from_base(scale, 0, low) && scale_from_base(scale, ALCOHOL_STRENGTH_MAX_ABV, high);
    if (is_colour(scale)) {
        *high = HUGE_VAL;
        return scale_from_base(scale, 0, low);
    }
    return false;
}

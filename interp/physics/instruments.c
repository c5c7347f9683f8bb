/* SPDX-FileCopyrightText: the Rundlet developers */
/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A floating glass instrument weighs the liquid it displaces with a body that swells a little in the warmth;
 * a refractometer sees sugar and alcohol at once. Both are undone here. */
#include "physics/instruments.h"

#include "numbers/numeric.h"
#include "physics/alcohol.h"
#include "physics/liquid.h"
#include "physics/sugar.h"

#include <math.h>
#include <stddef.h>

#define SLACK 1e-9

/* nD at 20 degC by degBx: fit to the ICUMSA (1974) points 0, 20, 40, 60, 85. */
static const double SUCROSE_INDEX[] = {1.33299, 1.42701190e-3, 5.4229762e-6, 1.75952381e-8, -1.19047619e-12};
enum { INDEX_TERMS = sizeof SUCROSE_INDEX / sizeof *SUCROSE_INDEX };
/* Rise of nD by g/L of ethanol: fit to the CRC Handbook's table of ethanol solutions, to 16 % by mass. */
static const double ETHANOL_RISE[] = {0, 5.8235e-5, 8.0715e-8};

static double glass_growth(double temp_c, double calibrated_c) {
    return 1 + INSTRUMENT_GLASS_EXPANSION * (temp_c - calibrated_c);
}

static InstrumentResult check_temperatures(double temp_c, double calibrated_c, double highest_c) {
    if (!numeric_within(temp_c, INSTRUMENT_TEMP_MIN_C, highest_c, SLACK))
        return INSTRUMENT_TEMP_OUT_OF_RANGE;
    if (!numeric_within(calibrated_c, INSTRUMENT_TEMP_MIN_C, highest_c, SLACK))
        return INSTRUMENT_CALIBRATION_OUT_OF_RANGE;
    return INSTRUMENT_OK;
}

InstrumentResult instrument_hydrometer_sg(double reading_sg, double temp_c, double calibrated_c,
                                          double *gravity_sg) {
    double fraction;
    InstrumentResult result = check_temperatures(temp_c, calibrated_c, INSTRUMENT_TEMP_MAX_C);
    if (result != INSTRUMENT_OK)
        return result;
    double density_kg_m3 =
        reading_sg * sugar_water_density_kg_m3(calibrated_c) / glass_growth(temp_c, calibrated_c);
    if (!sugar_fraction_from_density(density_kg_m3, temp_c, &fraction))
        return INSTRUMENT_READING_OUT_OF_RANGE;
    double found_sg = sugar_gravity_from_fraction(fraction);
    if (!sugar_gravity_in_extended_range(found_sg) || fraction > SUGAR_FRACTION_MAX)
        return INSTRUMENT_READING_OUT_OF_RANGE;
    *gravity_sg = found_sg;
    return INSTRUMENT_OK;
}

InstrumentResult instrument_alcoholmeter_fraction(double reading_fraction, double temp_c, double calibrated_c,
                                                  double *mass_fraction) {
    InstrumentResult result = check_temperatures(temp_c, calibrated_c, ALCOHOL_TEMP_MAX_C);
    if (result != INSTRUMENT_OK)
        return result;
    double density_kg_m3 =
        alcohol_density_kg_m3(reading_fraction, calibrated_c) / glass_growth(temp_c, calibrated_c);
    double found;
    if (!alcohol_fraction_from_density(density_kg_m3, temp_c, &found) || found < -SLACK)
        return INSTRUMENT_READING_OUT_OF_RANGE;
    *mass_fraction = fmax(found, 0);
    return INSTRUMENT_OK;
}

/* ---- Refractometer ---- */

double instrument_sucrose_index(double brix_pct) {
    return numeric_polynomial(SUCROSE_INDEX, INDEX_TERMS, brix_pct);
}

double instrument_ethanol_index_rise(double alcohol_g_l) {
    return numeric_polynomial(ETHANOL_RISE, 3, alcohol_g_l);
}

static void index_misses(double brix_pct, void *context, double *value, double *slope) {
    const double *index = context;
    *value = numeric_polynomial_slope(SUCROSE_INDEX, INDEX_TERMS, brix_pct, slope) - *index;
}

InstrumentResult instrument_refractometer_brix(double alcohol_g_l, double solids_g_l,
                                               double *reading_brix_pct) {
    double fraction;
    if (!numeric_within(alcohol_g_l, 0, INSTRUMENT_ETHANOL_MAX_G_L, SLACK))
        return INSTRUMENT_ALCOHOL_OUT_OF_RANGE;
    if (!(solids_g_l >= 0) || !sugar_fraction_from_g_l(solids_g_l, &fraction))
        return INSTRUMENT_READING_OUT_OF_RANGE;
    double sugar_brix_pct = 100 * fraction;
    double index = instrument_sucrose_index(sugar_brix_pct) + instrument_ethanol_index_rise(alcohol_g_l);
    /* 1e-7 degBx is far below any reading, and its square is what is left. */
    if (!numeric_find_root_newton(index_misses, &index, 0, 2 * INSTRUMENT_BRIX_MAX_PCT, sugar_brix_pct, 1e-7,
                                  reading_brix_pct))
        return INSTRUMENT_READING_OUT_OF_RANGE;
    return INSTRUMENT_OK;
}

typedef struct Refraction {
    Liquid juice;
    double reading_brix_pct;
    InstrumentResult result;
} Refraction;

/* What the refractometer would show beyond the reading, when this share of the sugar has fermented. */
static double reading_excess(double share, void *context) {
    Refraction *refraction = context;
    Liquid fermented;
    double reading_brix_pct = 0, solids_g_l = 0;
    if (liquid_ferment_share(&refraction->juice, share, &fermented) != LIQUID_OK ||
        liquid_get(&fermented, LIQUID_SOLIDS_G_L, &solids_g_l) != LIQUID_OK)
        return NUMERIC_NONE;
    double alcohol_g_l = 1000 * fermented.alcohol_kg / liquid_volume_l(&fermented);
    refraction->result = instrument_refractometer_brix(alcohol_g_l, solids_g_l, &reading_brix_pct);
    return refraction->result == INSTRUMENT_OK ? reading_brix_pct - refraction->reading_brix_pct
                                               : NUMERIC_NONE;
}

/* The largest share of the sugar whose alcohol the fit still covers. */
static double largest_share(const Liquid *juice) {
    double low = 0, high = 1;
    for (int halving = 0; halving < 50; halving++) {
        double share = halving == 0 ? 1 : low + 0.5 * (high - low);
        Liquid fermented;
        if (liquid_ferment_share(juice, share, &fermented) == LIQUID_OK &&
            1000 * fermented.alcohol_kg / liquid_volume_l(&fermented) <= INSTRUMENT_ETHANOL_MAX_G_L)
            low = share;
        else
            high = share;
        if (low >= high)
            break;
    }
    return low;
}

InstrumentResult instrument_refractometer_sg(double reading_brix_pct, double original_sg,
                                             double *gravity_sg) {
    const double slack_brix = 1e-9;
    Refraction refraction = {.reading_brix_pct = reading_brix_pct, .result = INSTRUMENT_OK};
    double share = 0;
    if (!numeric_within(reading_brix_pct, 0, INSTRUMENT_BRIX_MAX_PCT, SLACK))
        return INSTRUMENT_READING_OUT_OF_RANGE;
    if (liquid_make_juice(original_sg, 0, &refraction.juice) != LIQUID_OK)
        return INSTRUMENT_ORIGINAL_OUT_OF_RANGE;
    double excess = reading_excess(0, &refraction);
    if (excess < -slack_brix)
        return INSTRUMENT_READING_ABOVE_ORIGINAL;
    if (excess > slack_brix) {
        double most = largest_share(&refraction.juice);
        double excess_at_most = reading_excess(most, &refraction);
        if (fabs(excess_at_most) <= slack_brix)
            share = most;
        else if (excess_at_most > 0)
            return most < 1 ? INSTRUMENT_ALCOHOL_OUT_OF_RANGE : INSTRUMENT_READING_TOO_LOW;
        else if (!numeric_find_root(reading_excess, &refraction, 0, most, 1e-15, &share))
            return refraction.result != INSTRUMENT_OK ? refraction.result : INSTRUMENT_READING_OUT_OF_RANGE;
    }
    Liquid present;
    liquid_ferment_share(&refraction.juice, share, &present);
    *gravity_sg = liquid_gravity_sg(&present);
    return INSTRUMENT_OK;
}

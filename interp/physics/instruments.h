/* SPDX-FileCopyrightText: the Rundlet developers */
/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What a hydrometer and a refractometer show, turned into gravity at 20 degC; an alcoholmeter, into strength.
 */
#ifndef PHYSICS_INSTRUMENTS_H
#define PHYSICS_INSTRUMENTS_H

#include <stdbool.h>

#define INSTRUMENT_TEMP_MIN_C 0.0
#define INSTRUMENT_TEMP_MAX_C 60.0
/* Cubic expansion of hydrometer glass, 1/K (ISO 1768). */
#define INSTRUMENT_GLASS_EXPANSION 25e-6

/* 16 % by mass, where the fit of the index of ethanol ends (about 19.7 %ABV). */
#define INSTRUMENT_ETHANOL_MAX_G_L 156.0
/* A refractometer's scale, degBx: as far as the fit of the index holds. */
#define INSTRUMENT_BRIX_MAX_PCT 75.0

typedef enum InstrumentResult {
    INSTRUMENT_OK,
    INSTRUMENT_TEMP_OUT_OF_RANGE,
    INSTRUMENT_CALIBRATION_OUT_OF_RANGE,
    INSTRUMENT_READING_OUT_OF_RANGE,
    INSTRUMENT_ORIGINAL_OUT_OF_RANGE,
    INSTRUMENT_READING_ABOVE_ORIGINAL, /* a refractometer never rises while sugar turns into alcohol */
    INSTRUMENT_READING_TOO_LOW,        /* below what is left when every solid has fermented */
    INSTRUMENT_ALCOHOL_OUT_OF_RANGE    /* above INSTRUMENT_ETHANOL_MAX_G_L */
} InstrumentResult;

/* Gravity at 20 degC of a sugar solution from a hydrometer reading at temp_c on an instrument made for
 * calibrated_c (its scale taken as relative density to water at calibrated_c).
 * rho(temp) = reading * rho_w(calibrated)/(1 + 25e-6 (temp - calibrated)), then the sucrose solution of
 * that density. 0 to 60 degC. */
InstrumentResult instrument_hydrometer_sg(double reading_sg, double temp_c, double calibrated_c,
                                          double *gravity_sg);

/* Mass fraction of alcohol from the strength a glass alcoholmeter shows at temp_c: `reading_fraction` is the
 * mass fraction whose density at calibrated_c the mark stands for. 0 to 40 degC. A reading below what water
 * shows there, or beyond pure alcohol, is INSTRUMENT_READING_OUT_OF_RANGE. */
InstrumentResult instrument_alcoholmeter_fraction(double reading_fraction, double temp_c, double calibrated_c,
                                                  double *mass_fraction);

/* Refractive index of sucrose in water at 20 degC, sodium D line, from % by mass: fit to the ICUMSA (1974)
 * points; within 7e-5 (0.05 degBx) of the CRC Handbook's table to 70, 2e-4 off at 80. */
double instrument_sucrose_index(double brix_pct);
/* Rise of the index by ethanol, from g/L: fit to the CRC Handbook's table, up to 16 % by mass. */
double instrument_ethanol_index_rise(double alcohol_g_l);

/* What a refractometer (degBx, 20 degC) shows for a liquid with so much alcohol and solids: the rises of the
 * index by each add up at equal g/L. */
InstrumentResult instrument_refractometer_brix(double alcohol_g_l, double solids_g_l,
                                               double *reading_brix_pct);

/* Present gravity of a fermenting juice from a refractometer reading and its original gravity: the one
 * unknown is the alcohol formed (Balling's balance). */
InstrumentResult instrument_refractometer_sg(double reading_brix_pct, double original_sg, double *gravity_sg);

#endif

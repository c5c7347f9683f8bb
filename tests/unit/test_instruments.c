/* SPDX-FileCopyrightText: the Rundlet developers */
/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Hydrometers in glass against printed corrections, and the refractometer with alcohol in the glass. */
#include "physics/instruments.h"

#include "physics/alcohol.h"
#include "physics/liquid.h"
#include "physics/sugar.h"
#include "published_expect.h"

#include <criterion/criterion.h>

Test(instruments, published_tables) {
    expect_table(published_hydrometer, 41);
    expect_table(published_corrections, 34);
}

Test(instruments, hydrometer) {
    double sg = 0, fraction = 0;
    /* 1.080 read at 30 degC is 3.1 points more, where water alone would give 2.5. */
    cr_expect(instrument_hydrometer_sg(1.080, 30, 20, &sg) == INSTRUMENT_OK && near(sg, 1.0831, 0, 5e-5),
              "%g", sg);
    for (double reading = 0.99; reading < 1.3; reading += 0.01) {
        cr_expect(instrument_hydrometer_sg(reading, 20, 20, &sg) == INSTRUMENT_OK &&
                      near(sg, reading, 1e-13, 0),
                  "at its own temperature %g reads %g", reading, sg);
        for (double t = 0; t <= 60; t += 6) {
            cr_expect(instrument_hydrometer_sg(reading, t, 15.5556, &sg) == INSTRUMENT_OK, "%g at %g",
                      reading, t);
            /* What floats it at t is the found solution; the glass grows by 25e-6 per degC (ISO 1768). */
            cr_expect(sugar_fraction_from_gravity(sg, &fraction));
            double floats = sugar_density_kg_m3(fraction, t) * (1 + 25e-6 * (t - 15.5556));
            cr_expect(near(floats / sugar_water_density_kg_m3(15.5556), reading, 1e-13, 0),
                      "%g at %g degC back as %.15g", reading, t, floats / sugar_water_density_kg_m3(15.5556));
        }
    }
    cr_expect(instrument_hydrometer_sg(1, 15.5556, 15.5556, &sg) == INSTRUMENT_OK && near(sg, 1, 1e-14, 0));
}

Test(instruments, alcoholmeter) {
    for (double p = 0; p <= 0.98; p += 0.07)
        for (double t = 0; t <= 40; t += 5) {
            double mark = -1, back = -1;
            double floats = alcohol_density_kg_m3(p, t) * (1 + 25e-6 * (t - 20));
            if (!alcohol_fraction_from_density(floats, 20, &mark))
                continue; /* off the scale of the instrument */
            cr_expect(instrument_alcoholmeter_fraction(mark, t, 20, &back) == INSTRUMENT_OK &&
                          near(back, p, 0, 5e-12),
                      "p %g at %g degC back as %.15g", p, t, back);
        }
}

/* From 12 degBx (Balling's balance and the two fits): what is left at 40 and at 80 %. */
Test(instruments, refractometer) {
    double original = 0, sg = 0, reading = 0;
    cr_assert(sugar_gravity_from_brix(12, &original));
    cr_expect(instrument_refractometer_sg(8.32, original, &sg) == INSTRUMENT_OK && near(sg, 1.0246, 0, 1e-4),
              "%g", sg);
    cr_expect(instrument_refractometer_sg(4.58, original, &sg) == INSTRUMENT_OK && near(sg, 1.0010, 0, 1e-4),
              "%g", sg);
    cr_expect(instrument_refractometer_sg(12, original, &sg) == INSTRUMENT_OK &&
              near(sg, original, 1e-12, 0));
    for (double brix = 5; brix <= 32; brix += 3)
        for (double share = 0; share <= 1; share += 0.125) {
            Liquid juice, present;
            double alcohol_g, volume_l, solids_g_l;
            cr_assert(sugar_gravity_from_brix(brix, &original));
            cr_assert_eq(liquid_make_juice(original, 0, &juice), LIQUID_OK);
            cr_assert_eq(liquid_ferment_share(&juice, share, &present), LIQUID_OK);
            liquid_get(&present, LIQUID_ALCOHOL_G, &alcohol_g);
            liquid_get(&present, LIQUID_VOLUME_L, &volume_l);
            liquid_get(&present, LIQUID_SOLIDS_G_L, &solids_g_l);
            if (alcohol_g / volume_l > INSTRUMENT_ETHANOL_MAX_G_L)
                continue;
            cr_expect(instrument_refractometer_brix(alcohol_g / volume_l, solids_g_l, &reading) ==
                      INSTRUMENT_OK);
            cr_expect(instrument_refractometer_sg(reading, original, &sg) == INSTRUMENT_OK &&
                          near(sg, liquid_gravity_sg(&present), 1e-11, 0),
                      "%g degBx, %g fermented: reads %g, got %.12g, want %.12g", brix, share, reading, sg,
                      liquid_gravity_sg(&present));
            /* Alcohol alone still shows: a refractometer does not reach 0. */
            cr_expect(share < 1 || reading > 0.2 * brix, "dry from %g degBx it reads %g", brix, reading);
        }
}

Test(instruments, refusals) {
    double x = 7;
    cr_expect(instrument_hydrometer_sg(1.05, -1, 20, &x) == INSTRUMENT_TEMP_OUT_OF_RANGE);
    cr_expect(instrument_hydrometer_sg(1.05, 61, 20, &x) == INSTRUMENT_TEMP_OUT_OF_RANGE);
    cr_expect(instrument_hydrometer_sg(1.05, 20, 80, &x) == INSTRUMENT_CALIBRATION_OUT_OF_RANGE);
    cr_expect(instrument_hydrometer_sg(1.6, 20, 20, &x) == INSTRUMENT_READING_OUT_OF_RANGE);
    cr_expect(instrument_hydrometer_sg(0.5, 20, 20, &x) == INSTRUMENT_READING_OUT_OF_RANGE);
    cr_expect(instrument_hydrometer_sg((double)NAN, 20, 20, &x) == INSTRUMENT_READING_OUT_OF_RANGE);
    cr_expect(instrument_alcoholmeter_fraction(0.4, 45, 20, &x) == INSTRUMENT_TEMP_OUT_OF_RANGE);
    cr_expect(instrument_alcoholmeter_fraction(1, 40, 20, &x) == INSTRUMENT_OK && x < 1);
    x = 7;
    cr_expect(instrument_alcoholmeter_fraction(1, 0, 20, &x) == INSTRUMENT_READING_OUT_OF_RANGE);
    cr_expect(instrument_alcoholmeter_fraction(0, 30, 20, &x) == INSTRUMENT_READING_OUT_OF_RANGE,
              "heavier than water");
    cr_expect(instrument_alcoholmeter_fraction(0.4, 20, 99, &x) == INSTRUMENT_CALIBRATION_OUT_OF_RANGE);
    cr_expect(instrument_refractometer_sg(13, 1.048, &x) == INSTRUMENT_READING_ABOVE_ORIGINAL);
    cr_expect(instrument_refractometer_sg(1, 1.048, &x) == INSTRUMENT_READING_TOO_LOW);
    cr_expect(instrument_refractometer_sg(-1, 1.048, &x) == INSTRUMENT_READING_OUT_OF_RANGE);
    cr_expect(instrument_refractometer_sg(80, 1.44, &x) == INSTRUMENT_READING_OUT_OF_RANGE);
    cr_expect(instrument_refractometer_sg(5, 0.99, &x) == INSTRUMENT_ORIGINAL_OUT_OF_RANGE);
    cr_expect(instrument_refractometer_sg(12, 1.30, &x) == INSTRUMENT_ALCOHOL_OUT_OF_RANGE);
    cr_expect(instrument_refractometer_brix(200, 0, &x) == INSTRUMENT_ALCOHOL_OUT_OF_RANGE);
    cr_expect(instrument_refractometer_brix(10, -1, &x) == INSTRUMENT_READING_OUT_OF_RANGE);
    cr_expect(x == 7, "a refusal changed the result");
}

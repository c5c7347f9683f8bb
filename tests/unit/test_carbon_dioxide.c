/* SPDX-FileCopyrightText: the Rundlet developers */
/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Weiss's solubility against measured tables, the factor for alcohol and sugar, and pressures both ways.
 * Gauge pressures and the bad end of them are formulas of stdlib, checked in tests/stdlib/carbonation.rlet.
 */
#include "physics/carbon_dioxide.h"

#include "published_expect.h"

#include <math.h>

#include <criterion/criterion.h>

Test(carbon_dioxide, published_tables) {
    expect_table(published_carbonation, 45);
}

/* Weiss 1974 in this test's own arithmetic, at 12 degC and 3 atm. */
Test(carbon_dioxide, law) {
    double t = 285.15, p = 3, g_l = 0;
    double k0 = exp(-58.0931 + 90.5069 * (100 / t) + 22.2940 * log(t / 100));
    double b = -1636.75 + 12.0408 * t - 0.0327957 * t * t + 3.16528e-5 * t * t * t;
    double want = 44.009 * k0 * p * exp(b * p / (82.057 * t));
    cr_expect(co2_dissolved_g_l((Carbonated){12, 0, 0}, 3 * 101.325, &g_l));
    cr_expect(near(g_l, want, 1e-12, 0), "got %.12g, want %.12g", g_l, want);
    /* Commission Regulation (EEC) 2676/90 ch. 37. */
    double with_alcohol = 0, ratio = (0.86 - 0.01 * 11) / 0.86 * (1 - 0.00144 * 10);
    cr_expect(co2_dissolved_g_l((Carbonated){12, 11, 10}, 3 * 101.325, &with_alcohol));
    cr_expect(near(with_alcohol / g_l, ratio, 1e-13, 0));
}

static double dissolved(double temp_c, double kpa) {
    double g_l = -1;
    cr_expect(co2_dissolved_g_l((Carbonated){temp_c, 0, 0}, kpa, &g_l));
    return g_l;
}

/* CRC Handbook of Chemistry and Physics, p. 8-90: 1000 x mole fraction of CO2 at a partial pressure, accurate
 * to 2 %. */
Test(carbon_dioxide, hot_water) {
    static const struct {
        double temp_c, kpa, thousandths;
    } rows[] = {{45, 100, 0.389}, {60, 100, 0.300}, {70, 100, 0.261}, {70, 50, 0.131}};
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        double moles = dissolved(rows[i].temp_c, rows[i].kpa) / 44.009;
        double thousandths = 1000 * moles / (moles + 998.2 / 18.015);
        cr_expect(near(thousandths, rows[i].thousandths, 0.012, 0), "%g at %g degC", thousandths,
                  rows[i].temp_c);
    }
}

/* Carroll, Slupsky and Mather 1991 in this test's own arithmetic, at 65 degC and 7 bar. */
Test(carbon_dioxide, hot_law) {
    double t = 338.15, atm = 700 / 101.325;
    double henry_mpa = exp(-6.8346 + 12817 / t - 3.7668e6 / (t * t) + 2.997e8 / (t * t * t));
    double b = -1636.75 + 12.0408 * t - 0.0327957 * t * t + 3.16528e-5 * t * t * t;
    double share = 0.7 * exp(b * atm / (82.057 * t)) / henry_mpa;
    double want = 44.009 * 998.2 / 18.015 * share / (1 - share);
    cr_expect(near(dissolved(65, 700), want, 1e-12, 0));
    double in_cider = 0, ratio = (0.86 - 0.01 * 6) / 0.86 * (1 - 0.00144 * 40);
    cr_expect(co2_dissolved_g_l((Carbonated){65, 6, 40}, 700, &in_cider));
    cr_expect(near(in_cider / want, ratio, 1e-12, 0));
}

/* Where Carroll takes over from Weiss, nothing moves below, and the step is what the documentation says. */
Test(carbon_dioxide, seam) {
    cr_expect(near(dissolved(40, 101.325), 1.0387, 1e-5, 0), "got %.6g", dissolved(40, 101.325));
    cr_expect(near(dissolved(40.0001, 101.325) / dissolved(40, 101.325), 1.026, 0, 5e-4));
    cr_expect(near(dissolved(40.0001, 800) / dissolved(40, 800), 1.029, 0, 5e-4));
    for (double t = 41.5; t < 79; t += 1)
        cr_expect(dissolved(t, 800) < dissolved(40, 800) && dissolved(t + 1, 800) < dissolved(t, 800));
}

Test(carbon_dioxide, round_trips) {
    for (double t = 0; t <= 80; t += 4)
        for (double abv = 0; abv <= 20; abv += 5)
            for (double kpa = 0; kpa <= 2900; kpa = kpa * 1.7 + 1) {
                Carbonated cider = {t, abv, abv * 5};
                double g_l = -1, back = -1;
                cr_expect(co2_dissolved_g_l(cider, kpa, &g_l));
                cr_expect(co2_partial_kpa(cider, g_l, &back) && near(back, kpa, 1e-12, 1e-12),
                          "%g kPa at %g degC back as %.15g", kpa, t, back);
            }
}

Test(carbon_dioxide, refusals) {
    double x = 7;
    cr_expect_not(co2_dissolved_g_l((Carbonated){-0.1, 0, 0}, 100, &x));
    cr_expect_not(co2_dissolved_g_l((Carbonated){80.1, 0, 0}, 100, &x));
    cr_expect_not(co2_dissolved_g_l((Carbonated){(double)NAN, 0, 0}, 100, &x));
    cr_expect_not(co2_dissolved_g_l((Carbonated){20, 20.1, 0}, 100, &x));
    cr_expect_not(co2_dissolved_g_l((Carbonated){20, 0, -1}, 100, &x));
    cr_expect_not(co2_dissolved_g_l((Carbonated){20, 0, 301}, 100, &x));
    cr_expect_not(co2_dissolved_g_l((Carbonated){20, 0, 0}, -1, &x));
    cr_expect_not(co2_dissolved_g_l((Carbonated){20, 0, 0}, 3001, &x));
    cr_expect_not(co2_partial_kpa((Carbonated){20, 0, 0}, -1, &x));
    cr_expect_not(co2_partial_kpa((Carbonated){20, 0, 0}, 500, &x));
    cr_expect_not(co2_partial_kpa((Carbonated){20, 0, 0}, (double)NAN, &x));
    cr_expect(x == 7, "a refusal changed the result");
}

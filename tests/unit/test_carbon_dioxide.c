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

Test(carbon_dioxide, round_trips) {
    for (double t = 0; t <= 40; t += 4)
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
    cr_expect_not(co2_dissolved_g_l((Carbonated){40.1, 0, 0}, 100, &x));
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

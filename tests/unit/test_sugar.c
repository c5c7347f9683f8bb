/* SPDX-FileCopyrightText: the Rundlet developers */
/* SPDX-License-Identifier: GPL-3.0-or-later */
/* SPS-4 and the water formula against printed tables, and the scales of gravity there and back. */
#include "physics/sugar.h"

#include "csv_rows.h"
#include "physics/alcohol.h"
#include "published_expect.h"

#include <criterion/criterion.h>
#include <stdio.h>

Test(sugar, published_tables) {
    expect_table(published_water, 63);
    expect_table(published_sucrose, 130);
    expect_table(published_dry_extract, 40);
    expect_table(published_solutions, 309);
    expect_table(published_must, 2);
}

/* The formula again from the published coefficients, "c[j][i] (w^.." in the file. */
Test(sugar, coefficients) {
    CsvRows rows;
    cr_assert(csv_rows_read(&rows, "sucrose_density_coefficients.csv"));
    cr_assert_geq(rows.count, (size_t)20);
    for (double w = 0; w <= 0.85; w += 0.05)
        for (double t = 5; t <= 80; t += 12.5) {
            double rise = 0;
            for (size_t i = 0; i < rows.count; i++) {
                int temp_power = -1, index = -1;
                cr_assert_eq(sscanf(csv_rows_text(&rows, i, "coefficient"), "c[%d][%d]", &temp_power, &index),
                             2);
                rise +=
                    csv_rows_number(&rows, i, "value") * pow(w, index + 1) * pow((t - 20) / 100, temp_power);
            }
            double got = sugar_density_kg_m3(w, t) - sugar_water_density_kg_m3(t);
            cr_expect(near(got, rise, 1e-12, 1e-11), "w %g, t %g: got %.12g, want %.12g", w, t, got, rise);
        }
}

Test(sugar, round_trips) {
    for (int i = -30; i <= 100; i++) {
        double w = i / 100.0, back = -1, sg = sugar_gravity_from_fraction(w), slope;
        cr_expect(near(sugar_gravity_slope(w, &slope), sg, 1e-15, 0), "two ways at %g", w);
        cr_expect(sugar_fraction_from_gravity(sg, &back) && near(back, w, 1e-13, 1e-15), "w %g: %.17g", w,
                  back);
        cr_expect(sugar_fraction_from_g_l(sugar_g_l_from_fraction(w), &back) && near(back, w, 1e-13, 1e-15),
                  "g/L of %g: %.17g", w, back);
        cr_expect(sugar_brix_from_gravity(sg, &back) && near(back, 100 * w, 1e-13, 1e-13), "degBx %g", back);
        cr_expect(sugar_gravity_from_brix(100 * w, &back) && near(back, sg, 1e-15, 0), "SG of %g degBx",
                  100 * w);
        for (double t = 0; t <= 80; t += 20)
            cr_expect(sugar_fraction_from_density(sugar_density_kg_m3(w, t), t, &back) &&
                          near(back, w, 1e-12, 1e-14),
                      "w %g at %g degC: %.17g", w, t, back);
    }
    for (double sg = 0.76; sg < 1.55; sg += 0.01) {
        double back = -1, degrees = 0;
        cr_expect(sugar_oechsle_from_gravity(sg, &degrees) && sugar_gravity_from_oechsle(degrees, &back) &&
                  near(back, sg, 1e-14, 0));
        cr_expect(sugar_baume_from_gravity(sg, &degrees) && sugar_gravity_from_baume(degrees, &back) &&
                  near(back, sg, 1e-14, 0));
        cr_expect(sugar_fraction_from_gravity(sg, &back) &&
                  near(sugar_gravity_from_fraction(back), sg, 1e-14, 0));
    }
}

Test(sugar, smooth_through_water) {
    double w = -1, below = 0, above = 0;
    cr_expect(sugar_fraction_from_gravity(1, &w) && w == 0, "1.000 SG is %g", w);
    cr_expect(sugar_gravity_from_fraction(0) == 1 && sugar_g_l_from_fraction(0) == 0);
    cr_expect(sugar_fraction_from_gravity(1 - 1e-6, &below) && sugar_fraction_from_gravity(1 + 1e-6, &above));
    cr_expect(near(above, -below, 1e-5, 0), "a kink at 1.000 SG: %g and %g", below, above);
    /* A dry cider of 0.996 SG has an apparent extract just below zero. */
    cr_expect(sugar_fraction_from_gravity(0.996, &w) && w < -0.01 && w > -0.011, "0.996 SG: %g", w);
    double baume = 0, oechsle = 0;
    cr_expect(sugar_baume_from_gravity(0.996, &baume) && baume < 0);
    cr_expect(sugar_oechsle_from_gravity(0.996, &oechsle) && oechsle < 0);
}

Test(sugar, ranges) {
    double x = 7;
    cr_expect(!sugar_fraction_from_gravity(0.74, &x) && !sugar_fraction_from_gravity(1.56, &x));
    cr_expect(!sugar_fraction_from_gravity((double)NAN, &x) && !sugar_gravity_from_brix(101, &x));
    cr_expect(!sugar_gravity_from_baume(145, &x) && !sugar_gravity_from_baume(200, &x));
    cr_expect(!sugar_oechsle_from_gravity(0.74, &x) && !sugar_baume_from_gravity(1.56, &x));
    cr_expect(!sugar_gravity_from_oechsle(600, &x) && !sugar_gravity_from_brix(-79.5, &x));
    cr_expect(!sugar_fraction_from_g_l(2000, &x) && !sugar_fraction_from_density(1000, 81, &x));
    cr_expect(!sugar_fraction_from_density(1700, 20, &x) && x == 7, "a refusal changed the result");
    cr_expect(sugar_gravity_in_range(1) && sugar_gravity_in_range(SUGAR_GRAVITY_MAX_SG));
    cr_expect(!sugar_gravity_in_range(0.999) && !sugar_gravity_in_range(1.4486));
    cr_expect(sugar_gravity_in_extended_range(0.79) && !sugar_gravity_in_extended_range(0.74));
    cr_expect(near(sugar_gravity_from_fraction(SUGAR_FRACTION_MAX), SUGAR_GRAVITY_MAX_SG, 1e-15, 0));
    cr_expect(near(sugar_gravity_from_fraction(1), SUGAR_GRAVITY_EXTENDED_MAX_SG, 1e-15, 0));
    cr_expect(near(sugar_water_density_kg_m3(20), 998.2031, 0, 5e-5), "the tables' own water");
    cr_expect(near(sugar_density_kg_m3(0, 20), sugar_water_density_kg_m3(20), 1e-15, 0));
}

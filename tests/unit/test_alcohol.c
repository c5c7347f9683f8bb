/* SPDX-FileCopyrightText: the Rundlet developers */
/* SPDX-License-Identifier: GPL-3.0-or-later */
/* OIML R 22 against its own printed cells and other tables; the scales of strength by their definitions. */
#include "physics/alcohol.h"

#include "csv_rows.h"
#include "published_expect.h"

#include <criterion/criterion.h>
#include <stdlib.h>
#include <string.h>

Test(alcohol, published_tables) {
    expect_table(published_alcohol, 130);
    expect_table(published_proof, 16);
    expect_table(published_contraction, 105);
}

/* The formula again, term by term from the published coefficients, p and t both away from where terms vanish.
 */
static double density_from_table(const CsvRows *rows, double p, double t) {
    double sum = 0;
    for (size_t i = 0; i < rows->count; i++) {
        const char *name = csv_rows_text(rows, i, "name");
        double value = csv_rows_number(rows, i, "value"), k = csv_rows_number(rows, i, "k");
        if (*name == 'A')
            sum += value * pow(p, k - 1);
        else if (*name == 'B')
            sum += value * pow(t - 20, k);
        else
            sum += value * pow(p, k) * pow(t - 20, csv_rows_number(rows, i, "i"));
    }
    return sum;
}

Test(alcohol, coefficients) {
    CsvRows rows;
    cr_assert(csv_rows_read(&rows, "oiml_r22_coefficients.csv"));
    cr_assert_eq(rows.count, (size_t)54, "R 22 has 54 coefficients, the file %zu", rows.count);
    for (double p = 0; p <= 1; p += 0.0625)
        for (double t = -20; t <= 40; t += 7.5)
            cr_expect(near(alcohol_density_kg_m3(p, t), density_from_table(&rows, p, t), 1e-12, 0),
                      "p %g, t %g: %.12g", p, t, alcohol_density_kg_m3(p, t));
    double slope, step = 1e-5;
    for (double p = 0.01; p < 1; p += 0.07) {
        double rise =
            (alcohol_density_kg_m3(p + step, 20) - alcohol_density_kg_m3(p - step, 20)) / (2 * step);
        cr_expect(near(alcohol_density_20_kg_m3(p, &slope), alcohol_density_kg_m3(p, 20), 1e-14, 0), "p %g",
                  p);
        cr_expect(near(slope, rise, 1e-6, 0), "slope at p %g: %g, want %g", p, slope, rise);
    }
    cr_expect(near(ALCOHOL_WATER_DENSITY_KG_M3, density_from_table(&rows, 0, 20), 1e-14, 0));
    cr_expect(near(ALCOHOL_ETHANOL_DENSITY_KG_M3, density_from_table(&rows, 1, 20), 1e-12, 0));
}

/* Every scale there and back. */
typedef struct Scale {
    const char *name;
    bool (*from_abv)(double, double *);
    bool (*to_abv)(double, double *);
} Scale;

Test(alcohol, round_trips) {
    static const Scale scales[] = {{"mass fraction", alcohol_fraction_from_abv, NULL},
                                   {"%ABW", alcohol_abw_from_abv, alcohol_abv_from_abw},
                                   {"proof", alcohol_proof_from_abv, alcohol_abv_from_proof},
                                   {"ukproof", alcohol_uk_proof_from_abv, alcohol_abv_from_uk_proof}};
    for (size_t i = 0; i < sizeof scales / sizeof *scales; i++)
        for (int tenth = 0; tenth <= 1000; tenth++) {
            double abv = tenth / 10.0, there = -1, back = -1;
            cr_expect(scales[i].from_abv(abv, &there), "%s of %g", scales[i].name, abv);
            if (scales[i].to_abv)
                cr_expect(scales[i].to_abv(there, &back), "%s %g back", scales[i].name, there);
            else
                back = alcohol_abv_from_fraction(there);
            cr_expect(near(back, abv, 1e-12, 1e-13), "%s: %.17g back as %.17g", scales[i].name, abv, back);
        }
    for (double t = 0; t <= 40; t += 5)
        for (double p = -0.04; p <= 1; p += 0.02) {
            double back = -1;
            cr_expect(alcohol_fraction_from_density(alcohol_density_kg_m3(p, t), t, &back), "p %g at %g", p,
                      t);
            cr_expect(near(back, p, 0, 2e-12), "p %.17g at %g degC back as %.17g", p, t, back);
        }
}

Test(alcohol, definitions) {
    double x = 0;
    /* 80 proof is 40.07 %ABV, and twice %ABV overstates proof by up to 0.15 (20 degC against 60
     * degF). */
    cr_expect(alcohol_abv_from_proof(80, &x) && near(x, 40.07, 0, 0.005), "80 proof: %g", x);
    cr_expect(alcohol_abv_from_proof(200, &x) && near(x, 100, 1e-13, 0), "200 proof: %.15g", x);
    /* 12/13 of the weight of water at 51 degF. */
    double temp_c = (51 - 32) / 1.8, fraction = 0;
    cr_expect(alcohol_abv_from_uk_proof(100, &x) && alcohol_fraction_from_abv(x, &fraction));
    cr_expect(
        near(alcohol_density_kg_m3(fraction, temp_c) / alcohol_density_kg_m3(0, temp_c), 12.0 / 13, 1e-12, 0),
        "UK proof spirit: %.15g", fraction);
    cr_expect(near(100 * fraction, 49.27, 0, 0.005) && near(x, 57.15, 0, 0.006));
    cr_expect(alcohol_abw_from_abv(100, &x) && near(x, 100, 1e-14, 0));
    cr_expect(alcohol_abw_from_abv(40, &x) && near(x, 33.30, 0, 0.01), "40 %%ABV is %g %% by mass", x);
    cr_expect(alcohol_fraction_from_concentration(0.4 * ALCOHOL_ETHANOL_DENSITY_KG_M3, &fraction) &&
              near(100 * fraction, x, 1e-13, 0));
}

Test(alcohol, ranges) {
    double x = 7;
    cr_expect(!alcohol_fraction_from_abv(-0.001, &x) && !alcohol_fraction_from_abv(100.001, &x));
    cr_expect(!alcohol_fraction_from_abv((double)NAN, &x) && !alcohol_abv_from_abw(101, &x));
    cr_expect(!alcohol_abv_from_proof(200.1, &x) && !alcohol_abv_from_proof(-1, &x));
    cr_expect(!alcohol_abv_from_uk_proof(175.4, &x) && alcohol_abv_from_uk_proof(175.3, &x) && x < 100);
    x = 7;
    cr_expect(!alcohol_fraction_from_density(1200, 20, &x) && !alcohol_fraction_from_density(700, 20, &x));
    cr_expect(!alcohol_fraction_from_density(950, 41, &x) && !alcohol_fraction_from_density(950, -1, &x));
    cr_expect(!alcohol_fraction_from_concentration(790, &x) && !alcohol_fraction_from_concentration(-1, &x));
    cr_expect(x == 7, "a refusal changed the result");
    cr_expect(alcohol_strength_in_range(100) && !alcohol_strength_in_range(-1));
    cr_expect(alcohol_fraction_from_abv(100 + 1e-11, &x) && x == 1, "a hair above 100");
}

/* Straight lines between the points; below 40 %ABV the end is kept. */
Test(alcohol, flash_points) {
    static const double points[][2] = {{0, 26},  {40, 26}, {50, 24}, {60, 22}, {70, 21},
                                       {83, 19}, {96, 17}, {98, 15}, {100, 13}};
    for (size_t i = 0; i < sizeof points / sizeof *points; i++)
        cr_expect(near(alcohol_flash_point_c(points[i][0]), points[i][1], 1e-12, 0), "%g %%ABV: %g",
                  points[i][0], alcohol_flash_point_c(points[i][0]));
}

/* SPDX-FileCopyrightText: the Rundlet developers */
/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Scales of temperature, gravity and strength against published values, and there and back on fine grids. */
#include <criterion/criterion.h>
#include <math.h>
#include <string.h>

#include "csv_rows.h"
#include "near.h"
#include "quantities/scale.h"

#define NOT_A_NUMBER ((double)NAN)

static double converted(Scale from, Scale to, double number) {
    double result = NOT_A_NUMBER;
    return scale_convert(from, to, number, &result) ? result : NOT_A_NUMBER;
}

/* ---- temperature ---- */

Test(scale, temperatures) {
    static const struct {
        Scale from, to;
        double number, want;
        const char *source;
    } rows[] = {
        {SCALE_FAHRENHEIT, SCALE_CELSIUS, 32, 0, "ice point"},
        {SCALE_FAHRENHEIT, SCALE_CELSIUS, 212, 100, "steam point"},
        {SCALE_FAHRENHEIT, SCALE_CELSIUS, -40, -40, "where the scales meet"},
        {SCALE_FAHRENHEIT, SCALE_CELSIUS, 68, 20, "NIST SP 811, app. B.8: (t/°F - 32)/1.8"},
        {SCALE_FAHRENHEIT, SCALE_CELSIUS, 60, 140.0 / 9, "27 CFR 30.11: 60 °F is 15.56 °C"},
        {SCALE_CELSIUS, SCALE_FAHRENHEIT, 20, 68, "NIST SP 811"},
        {SCALE_CELSIUS, SCALE_FAHRENHEIT, 37, 98.6, "NIST SP 811"},
        {SCALE_CELSIUS, SCALE_KELVIN, 0, 273.15, "SI Brochure"},
        {SCALE_KELVIN, SCALE_CELSIUS, 293.15, 20, "SI Brochure"},
        {SCALE_KELVIN, SCALE_FAHRENHEIT, 255.37222222222223, 0, "NIST SP 811: (t/°F + 459.67)/1.8"},
        {SCALE_FAHRENHEIT, SCALE_KELVIN, -459.67, 0, "NIST SP 811"},
    };
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        double got = converted(rows[i].from, rows[i].to, rows[i].number);
        cr_expect(near(got, rows[i].want, 0, 6e-14), "%s: %.17g", rows[i].source, got);
    }
    cr_expect(converted(SCALE_FAHRENHEIT, SCALE_CELSIUS, 68) == 20, "to the last bit");
    cr_expect(converted(SCALE_CELSIUS, SCALE_FAHRENHEIT, 37) == 98.6);
    cr_expect(isnan(converted(SCALE_CELSIUS, SCALE_KELVIN, -273.16)), "below absolute zero");
    cr_expect(isnan(converted(SCALE_CELSIUS, SCALE_KELVIN, NOT_A_NUMBER)));
}

/* ---- there and back ---- */

static void check_round_trips(const Scale *scales, size_t count, double low, double high, double step,
                              double tolerance) {
    for (size_t i = 0; i < count; i++)
        for (size_t j = 0; j < count; j++)
            for (double base = low; base <= high; base += step) {
                double number = NOT_A_NUMBER, there, back;
                cr_assert(scale_from_base(scales[i], base, &number), "%g has no place on scale %d", base,
                          scales[i]);
                there = converted(scales[i], scales[j], number);
                back = converted(scales[j], scales[i], there);
                double again = NOT_A_NUMBER;
                cr_assert(near(back, number, tolerance, tolerance), "scale %d by %d: %.17g, %.17g", scales[i],
                          scales[j], number, back);
                cr_assert(scale_to_base(scales[j], there, &again));
                cr_assert(near(again, base, tolerance, tolerance), "scale %d: %.17g, %.17g", scales[j], base,
                          again);
            }
}

static const Scale temperatures[] = {SCALE_CELSIUS, SCALE_FAHRENHEIT, SCALE_KELVIN};
static const Scale gravities[] = {SCALE_SG, SCALE_BRIX, SCALE_OECHSLE, SCALE_BAUME};
static const Scale strengths[] = {SCALE_ABV, SCALE_ABW, SCALE_US_PROOF, SCALE_UK_PROOF};

/* SG to °Bx and back must agree to 1e-9; 1e-12 is what it does, as °Bx goes to 100 and SG to 1.55. */
Test(scale, round_trips) {
    check_round_trips(temperatures, 3, 0, 400, 0.37, 3e-13);
    check_round_trips(gravities, 4, 0.75, 1.554, 0.00031, 1e-12);
    check_round_trips(strengths, 4, 0, 100, 0.013, 1e-12);
}

/* A dry cider stands below water: no corner, no clamp there. The slope of °Bx by SG changes evenly
 * across 1.000. */
Test(scale, smooth_across_water) {
    double previous = NOT_A_NUMBER, change = NOT_A_NUMBER;
    for (int step = 0; step <= 80; step++) {
        double sg = 0.98 + 0.0005 * step;
        double slope =
            (converted(SCALE_SG, SCALE_BRIX, sg + 1e-6) - converted(SCALE_SG, SCALE_BRIX, sg - 1e-6)) / 2e-6;
        cr_assert(slope > 240 && slope < 275, "%g: %g", sg, slope);
        cr_assert(step < 2 || fabs(slope - previous - change) < 0.002, "%g: %g after %g, by %g before", sg,
                  slope, previous, change);
        change = slope - previous;
        previous = slope;
    }
    cr_expect(converted(SCALE_SG, SCALE_BRIX, 1) == 0);
    cr_expect(converted(SCALE_SG, SCALE_OECHSLE, 1) == 0);
    cr_expect(converted(SCALE_SG, SCALE_BAUME, 1) == 0);
    cr_expect_lt(converted(SCALE_SG, SCALE_BRIX, 0.996), -0.9);
    cr_expect(near(converted(SCALE_SG, SCALE_OECHSLE, 0.996), -4, 0, 1e-10), "1000 (SG - 1)");
}

Test(scale, each_rises_with_its_base) {
    const struct {
        const Scale *scales;
        size_t count;
        double low, high;
    } kinds[] = {{temperatures, 3, 0, 1000}, {gravities, 4, 0.75, 1.55}, {strengths, 4, 0, 100}};
    for (size_t k = 0; k < 3; k++)
        for (size_t i = 0; i < kinds[k].count; i++) {
            double before = -HUGE_VAL, now = NOT_A_NUMBER;
            for (int step = 0; step <= 2000; step++) {
                double base = kinds[k].low + (kinds[k].high - kinds[k].low) * step / 2000;
                cr_assert(scale_from_base(kinds[k].scales[i], base, &now));
                cr_assert(now > before, "scale %d at %g", kinds[k].scales[i], base);
                before = now;
            }
        }
}

/* ---- ranges ---- */

Test(scale, ranges) {
    static const struct {
        Scale scale;
        double low, high;
    } rows[] = {
        {SCALE_SG, 0.75, 1.5547},
        {SCALE_BRIX, -79, 100},
        {SCALE_OECHSLE, -250, 554.7},
        {SCALE_BAUME, -48.33, 51.74},
        {SCALE_ABV, 0, 100},
        {SCALE_ABW, 0, 100},
        {SCALE_US_PROOF, 0, 200},
        {SCALE_UK_PROOF, 0, 175.3},
        {SCALE_CELSIUS, -273.15, HUGE_VAL},
        {SCALE_FAHRENHEIT, -459.67, HUGE_VAL},
        {SCALE_KELVIN, 0, HUGE_VAL},
        {SCALE_LOVIBOND, 0.76 / 1.3546, HUGE_VAL},
    };
    double low, high, ignored;
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        cr_assert(scale_range(rows[i].scale, &low, &high));
        cr_expect(near(low, rows[i].low, 0.003, 1e-9), "scale %d from %g", rows[i].scale, low);
        cr_expect(near(high, rows[i].high, 0.003, 0), "scale %d to %g", rows[i].scale, high);
        if (rows[i].scale == SCALE_SG || rows[i].scale == SCALE_ABV)
            continue; /* they are taken as they are */
        cr_expect(scale_to_base(rows[i].scale, low, &ignored));
        cr_expect_not(scale_to_base(rows[i].scale, low - 0.01, &ignored), "scale %d below", rows[i].scale);
        if (isfinite(high)) {
            cr_expect(scale_to_base(rows[i].scale, high, &ignored), "scale %d at its end", rows[i].scale);
            cr_expect_not(scale_to_base(rows[i].scale, high + 0.01, &ignored), "scale %d above",
                          rows[i].scale);
        }
    }
    cr_expect(scale_range(SCALE_LINEAR, &low, &high) && low == 0, "of colours");
    cr_expect_not(scale_range(SCALE_PH, &low, &high));
    cr_expect(scale_to_base(SCALE_PH, 3.4, &low) && low == 3.4);
    cr_expect(scale_from_base(SCALE_DATE, 20000, &low) && low == 20000);
    cr_expect_not(scale_convert(SCALE_SG, SCALE_OECHSLE, 1050, &low), "a gravity without its point");
}

/* ---- published tables ---- */

/* Rows of sucrose_density.csv that are scales of gravity. */
Test(scale, published_gravities) {
    CsvRows rows;
    cr_assert(csv_rows_read(&rows, "sucrose_density.csv"));
    int seen = 0;
    for (size_t i = 0; i < rows.count; i++) {
        const char *quantity = csv_rows_text(&rows, i, "quantity"),
                   *source = csv_rows_text(&rows, i, "source");
        double brix = csv_rows_number(&rows, i, "brix_pct"),
               want = csv_rows_number(&rows, i, "printed_value"), got, tolerance;
        if (strcmp(quantity, "baume145") == 0) {
            got = converted(SCALE_BRIX, SCALE_BAUME, brix);
            tolerance = brix > 50 ? 0.04 : 0.012; /* printed to 0.01, after older tables of density */
        } else if (strcmp(quantity, "sg_true_20_20") == 0) {
            got = converted(SCALE_BRIX, SCALE_SG, brix);
            tolerance = 3e-6 * brix; /* NBS Circular 440 is 0.012 °Bx apart at 20, 0.024 at 50 */
        } else if (strcmp(quantity, "sg_apparent_20_20_air") == 0) {
            double in_vacuum = converted(SCALE_BRIX, SCALE_SG, brix);
            got = in_vacuum + (in_vacuum - 1) * 0.0012 / (0.9982 - 0.0012); /* weighed in air of 1.2 kg/m3 */
            tolerance = 0.00009;
        } else
            continue;
        seen++;
        cr_expect(near(got, want, 0, tolerance), "%s at %g °Bx: %.6f, %s prints %.6f", quantity, brix, got,
                  source, want);
    }
    cr_expect_eq(seen, 23);
}

/* proof_and_drinks.csv: proof of both kinds. */
Test(scale, published_strengths) {
    CsvRows rows;
    cr_assert(csv_rows_read(&rows, "proof_and_drinks.csv"));
    int seen = 0;
    for (size_t i = 0; i < rows.count; i++) {
        const char *kind = csv_rows_text(&rows, i, "kind"), *source = csv_rows_text(&rows, i, "source");
        double input = csv_rows_number(&rows, i, "input"), want = csv_rows_number(&rows, i, "expected"), got;
        if (strcmp(kind, "us_proof_from_abv20") == 0)
            got = converted(SCALE_ABV, SCALE_US_PROOF, input);
        else if (strcmp(kind, "uk_degrees_from_abv20") == 0)
            got = converted(SCALE_ABV, SCALE_UK_PROOF, input);
        else if (strcmp(kind, "uk_proof_abv20C") == 0)
            got = converted(SCALE_UK_PROOF, SCALE_ABV, 100);
        else if (strcmp(kind, "uk_proof_mass_pct") == 0)
            got = converted(SCALE_UK_PROOF, SCALE_ABW, 100);
        else if (strcmp(kind, "abv60_from_abw") == 0) /* half the US proof */
            got = converted(SCALE_ABW, SCALE_US_PROOF, input) / 2;
        else
            continue;
        seen++;
        cr_expect(near(got, want, 0, csv_rows_number(&rows, i, "tolerance")), "%s %g: %.4f, %s says %g", kind,
                  input, got, source, want);
    }
    cr_expect_eq(seen, 14);
}

/* What README.md and docs/reference/language.md, "Quantities", print. */
Test(scale, promised) {
    cr_expect(near(converted(SCALE_US_PROOF, SCALE_ABV, 80), 40.07, 0, 0.005), "80 proof is 40.07 %%ABV");
    cr_expect(near(converted(SCALE_SG, SCALE_BRIX, 1.080), 19.3, 0, 0.05), "1.080 SG is 19.3 °Bx");
    cr_expect(near(converted(SCALE_ABV, SCALE_ABW, 40), 33.3, 0, 0.05),
              "OIML R 22, table: 40 %% vol is 33.3 %% by mass");
}

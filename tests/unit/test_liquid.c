/* SPDX-FileCopyrightText: the Rundlet developers */
/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The liquid: exact limits of its density, conservation of mass, and Balling's balance in every direction. */
#include "physics/liquid.h"

#include "physics/alcohol.h"
#include "physics/sugar.h"
#include "published_expect.h"

#include <criterion/criterion.h>
#include <stdint.h>

#define GALLON_L 3.785411784
#define LB_KG    0.45359237

static double get(const Liquid *liquid, LiquidProperty property) {
    double value = (double)NAN;
    return liquid_get(liquid, property, &value) == LIQUID_OK ? value : (double)NAN;
}

static Liquid of_volume(Liquid made, double volume_l) {
    cr_assert_eq(liquid_scale(&made, volume_l / liquid_volume_l(&made), &made), LIQUID_OK);
    return made;
}

static Liquid of_mass(Liquid made, double mass_kg) {
    cr_assert_eq(liquid_scale(&made, mass_kg / liquid_mass_kg(&made), &made), LIQUID_OK);
    return made;
}

static Liquid juice(double sg, double unfermentable, double volume_l) {
    Liquid made;
    cr_assert_eq(liquid_make_juice(sg, unfermentable, &made), LIQUID_OK, "juice of %g", sg);
    return of_volume(made, volume_l);
}

static Liquid spirit(double abv, double volume_l) {
    Liquid made;
    cr_assert_eq(liquid_make_spirit(abv, &made), LIQUID_OK, "spirit of %g", abv);
    return of_volume(made, volume_l);
}

static Liquid water(double volume_l) {
    return of_volume(liquid_make_water(), volume_l);
}

Test(liquid, published_tables) {
    expect_table(published_fermentation, 14);
    expect_table(published_energy, 1);
}

/* No solids: the alcohol table. No alcohol: the sugar table. And no step on the way to either. */
Test(liquid, limits_of_density) {
    for (int i = 0; i <= 100; i++) {
        double p = i / 100.0, slope;
        Liquid mixture = {.water_kg = 1 - p, .alcohol_kg = p};
        Liquid syrup = {.water_kg = 1 - p, .sugar_kg = 0.7 * p, .solids_kg = 0.3 * p};
        double rho = alcohol_density_20_kg_m3(p, &slope);
        double sugar = ALCOHOL_WATER_DENSITY_KG_M3 * sugar_gravity_from_fraction(p);
        cr_expect(near(get(&mixture, LIQUID_DENSITY_KG_M3), rho, 1e-15, 0), "p %g", p);
        cr_expect(near(get(&mixture, LIQUID_STRENGTH_ABV), alcohol_abv_from_fraction(p), 1e-14, 1e-15),
                  "p %g", p);
        cr_expect(near(get(&syrup, LIQUID_DENSITY_KG_M3), sugar, 1e-15, 0), "w %g", p);
        Liquid trace = mixture, drop = syrup;
        trace.sugar_kg = 1e-12;
        drop.alcohol_kg = 1e-12;
        cr_expect(near(liquid_gravity_sg(&trace), liquid_gravity_sg(&mixture), 0, 2e-12), "step at p %g", p);
        cr_expect(near(liquid_gravity_sg(&drop), liquid_gravity_sg(&syrup), 0, 3e-12), "step at w %g", p);
    }
    for (double sg = 1; sg < 1.44; sg += 0.005) {
        Liquid made = juice(sg, 0.18, 3.7);
        cr_expect(near(liquid_gravity_sg(&made), sg, 1e-14, 0) && near(liquid_volume_l(&made), 3.7, 1e-14, 0),
                  "juice of %g", sg);
    }
}

/* Tabarie's relation holds for what the solver returns, over every composition there can be. */
Test(liquid, density_of_all_three) {
    uint64_t state = 20260701;
    for (int i = 0; i < 20000; i++) {
        double share[3];
        for (int k = 0; k < 3; k++) {
            state = state * 6364136223846793005u + 1442695040888963407u;
            share[k] = pow((double)(state >> 11) / 9007199254740992.0, 1 + i % 5);
        }
        Liquid mixed = {.water_kg = i % 7 ? share[0] : 0, .alcohol_kg = share[1], .sugar_kg = share[2]};
        double abv = get(&mixed, LIQUID_STRENGTH_ABV), solids_g_l = get(&mixed, LIQUID_SOLIDS_G_L);
        double alone_sg = 0, solids = 0;
        cr_expect(liquid_lowest_gravity_sg(abv, &alone_sg) == LIQUID_OK &&
                      sugar_fraction_from_g_l(solids_g_l, &solids),
                  "%g %g %g: %g %%ABV, %g g/L", mixed.water_kg, mixed.alcohol_kg, mixed.sugar_kg, abv,
                  solids_g_l);
        double sum_sg = alone_sg + sugar_gravity_from_fraction(solids) - 1;
        cr_expect(near(liquid_gravity_sg(&mixed), sum_sg, 2e-12, 0), "%g %g %g: %.15g, %.15g", mixed.water_kg,
                  mixed.alcohol_kg, mixed.sugar_kg, liquid_gravity_sg(&mixed), sum_sg);
    }
}

Test(liquid, measured_and_back) {
    for (double abv = 0; abv <= 40; abv += 2.5)
        for (double above = 0; above < 0.2; above += 0.013) {
            double lowest = 0;
            Liquid made;
            cr_assert_eq(liquid_lowest_gravity_sg(abv, &lowest), LIQUID_OK);
            cr_expect_eq(liquid_make_measured(lowest + above, abv, &made), LIQUID_OK, "%g %%ABV + %g", abv,
                         above);
            cr_expect(near(liquid_gravity_sg(&made), lowest + above, 1e-12, 0), "%.15g",
                      liquid_gravity_sg(&made));
            cr_expect(near(liquid_strength_abv(&made), abv, 1e-12, 1e-13), "%.15g",
                      liquid_strength_abv(&made));
            cr_expect(near(liquid_mass_kg(&made), 1, 1e-14, 0) && liquid_is_possible(&made));
        }
    Liquid made = {0};
    cr_expect_eq(liquid_make_measured(0.990, 5, &made), LIQUID_LIGHTER_THAN_STRENGTH);
    cr_expect_eq(liquid_make_measured(1.30, 80, &made), LIQUID_HEAVIER_THAN_STRENGTH);
    cr_expect_eq(liquid_make_measured(1.20, 90, &made), LIQUID_HEAVIER_THAN_STRENGTH, "no water left");
    cr_expect_eq(liquid_make_measured(1.60, 0, &made), LIQUID_GRAVITY_OUT_OF_RANGE);
    cr_expect_eq(liquid_make_measured(1.00, 101, &made), LIQUID_STRENGTH_OUT_OF_RANGE);
    cr_expect(liquid_mass_kg(&made) == 0, "a refusal changed the result");
}

Test(liquid, making) {
    Liquid made = {0};
    cr_expect_eq(liquid_make_juice(0.999, 0.18, &made), LIQUID_GRAVITY_OUT_OF_RANGE);
    cr_expect_eq(liquid_make_juice(1.449, 0.18, &made), LIQUID_GRAVITY_OUT_OF_RANGE);
    cr_expect_eq(liquid_make_juice((double)NAN, 0.18, &made), LIQUID_GRAVITY_OUT_OF_RANGE);
    cr_expect_eq(liquid_make_juice(1.05, 1.01, &made), LIQUID_SHARE_OUT_OF_RANGE);
    cr_expect_eq(liquid_make_honey(-0.1, 0, &made), LIQUID_SHARE_OUT_OF_RANGE);
    cr_expect_eq(liquid_make_spirit(-1, &made), LIQUID_STRENGTH_OUT_OF_RANGE);
    cr_expect_eq(liquid_make_juice(1.05, 0.18, &made), LIQUID_OK);
    cr_expect(near(made.solids_kg / (made.solids_kg + made.sugar_kg), 0.18, 1e-14, 0));
    cr_expect_eq(liquid_make_honey(0.17, 0.06, &made), LIQUID_OK);
    cr_expect(near(made.water_kg, 0.17, 1e-15, 0) && near(made.sugar_kg, 0.83 * 0.94, 1e-15, 0));
    made = liquid_make_dextrose();
    cr_expect(near(made.sugar_kg, 10.0 / 11, 1e-15, 0) && near(liquid_mass_kg(&made), 1, 1e-15, 0));
    made = of_mass(liquid_make_sucrose(), 0.25);
    cr_expect(near(made.sugar_kg, 0.25, 1e-15, 0) && made.water_kg == 0);
    made = spirit(40, 2);
    cr_expect(near(liquid_volume_l(&made), 2, 1e-14, 0) && near(liquid_strength_abv(&made), 40, 1e-13, 0));
}

/* A form is kept while nothing else is poured in, and given up with the first of it. */
Test(liquid, forms) {
    Liquid honey = {0}, water = liquid_make_water(), none = of_mass(water, 0), sum, part, rest;
    cr_assert_eq(liquid_make_honey(0.17, 0.06, &honey), LIQUID_OK);
    cr_expect(near(liquid_gravity_sg(&honey), 1.4237, 1e-12, 0)); /* White 1975 */
    cr_expect(near(liquid_volume_l(&honey), 1 / (1.4237 * 0.99820123), 1e-12, 0));
    sum = liquid_pour(&none, &honey);
    cr_expect_eq(sum.form, LIQUID_HONEY);
    sum = liquid_pour(&honey, &honey);
    cr_expect_eq(sum.form, LIQUID_HONEY);
    cr_assert_eq(liquid_take_volume(&honey, 0.2, &part, &rest), LIQUID_OK);
    cr_expect(part.form == LIQUID_HONEY && rest.form == LIQUID_HONEY);
    sum = liquid_pour(&honey, &water);
    cr_expect_eq(sum.form, LIQUID_MIXED);
    Liquid as_juice = sum;
    as_juice.form = LIQUID_MIXED;
    cr_expect(near(liquid_gravity_sg(&sum), liquid_gravity_sg(&as_juice), 1e-15, 0));
    cr_assert_eq(liquid_ferment(&honey, &sum), LIQUID_OK);
    cr_expect_eq(sum.form, LIQUID_MIXED);
    Liquid sucrose = liquid_make_sucrose(), dextrose = liquid_make_dextrose();
    cr_expect(sucrose.form == LIQUID_DRY && dextrose.form == LIQUID_DRY);
    sum = liquid_pour(&sucrose, &dextrose);
    cr_expect_eq(sum.form, LIQUID_DRY);
    sum = liquid_pour(&sucrose, &honey);
    cr_expect_eq(sum.form, LIQUID_MIXED);
}

/* Masses are conserved to the last digit; volumes are not. */
Test(liquid, conservation) {
    Liquid a = juice(1.045, 0.18, 19), b = spirit(62.5, 3.1), sum = {0}, part, rest;
    a.acid_kg = 0.1, a.nitrogen_kg = 0.002, b.sulphite_kg = 0.001, a.cost = 12.5, a.has_cost = true;
    sum = liquid_pour(&a, &b);
    cr_expect(near(liquid_mass_kg(&sum), liquid_mass_kg(&a) + liquid_mass_kg(&b), 1e-15, 0));
    cr_expect(liquid_volume_l(&sum) < 22.1 && liquid_volume_l(&sum) > 21.9, "contraction: %g",
              liquid_volume_l(&sum));
    cr_expect(sum.acid_kg == 0.1 && sum.nitrogen_kg == 0.002 && sum.sulphite_kg == 0.001 && sum.has_cost);
    cr_expect_eq(liquid_take_volume(&sum, 4, &part, &rest), LIQUID_OK);
    cr_expect(near(liquid_volume_l(&part), 4, 1e-13, 0));
    cr_expect(near(liquid_volume_l(&rest), liquid_volume_l(&sum) - 4, 1e-12, 0));
    Liquid again = liquid_pour(&part, &rest);
    cr_expect(near(liquid_mass_kg(&again), liquid_mass_kg(&sum), 1e-15, 0) &&
              near(again.cost, 12.5, 1e-15, 0));
    cr_expect(near(again.alcohol_kg, sum.alcohol_kg, 1e-15, 0) && near(again.acid_kg, 0.1, 1e-15, 0));
    cr_expect_eq(liquid_take_volume(&sum, 23, &part, &rest), LIQUID_MORE_THAN_THERE_IS);
    cr_expect_eq(liquid_take_mass(&sum, -1, &part, &rest), LIQUID_NEGATIVE);
    cr_expect_eq(liquid_take_mass(&sum, liquid_mass_kg(&sum), NULL, &rest), LIQUID_OK);
    cr_expect(liquid_mass_kg(&rest) == 0 && liquid_volume_l(&rest) == 0);
    cr_expect_eq(liquid_scale(&sum, -1, &part), LIQUID_NEGATIVE);
    cr_expect_eq(liquid_scale(&sum, (double)INFINITY, &part), LIQUID_NEGATIVE);
    cr_expect_eq(liquid_scale(&sum, (double)NAN, &part), LIQUID_NEGATIVE);
    Liquid free_a = juice(1.05, 0, 1), free_sum = liquid_pour(&free_a, &b);
    cr_expect(!free_sum.has_cost, "two liquids without a cost make one without");
}

Test(liquid, properties) {
    Liquid cider = juice(1.050, 0.18, 5), copy, empty = {0};
    double value = 7;
    cr_expect_eq(liquid_ferment_to_gravity(&cider, 1.004, &cider, NULL), LIQUID_OK);
    double volume = get(&cider, LIQUID_VOLUME_L), alcohol = get(&cider, LIQUID_ALCOHOL_G);
    double solids = get(&cider, LIQUID_SOLIDS_G_L), sugar = get(&cider, LIQUID_SUGAR_G_L);
    cr_expect(near(alcohol / volume / 7.892391233, get(&cider, LIQUID_STRENGTH_ABV), 1e-12, 0));
    cr_expect(get(&cider, LIQUID_GRAVITY_SG) == liquid_gravity_sg(&cider));
    cr_expect(near(get(&cider, LIQUID_GRAVITY_SG), 1.004, 1e-13, 0));
    cr_expect(near(get(&cider, LIQUID_ENERGY_KJ_L), 29 * alcohol / volume + 17 * solids, 1e-13, 0));
    cr_expect(near(get(&cider, LIQUID_CALORIES_KCAL_L), 7 * alcohol / volume + 4 * solids, 1e-13, 0));
    cr_expect(
        near(get(&cider, LIQUID_POTENTIAL_ABV), get(&cider, LIQUID_STRENGTH_ABV) + sugar / 16.83, 1e-13, 0));
    cr_expect(near(get(&cider, LIQUID_BRIX_PCT), solids / get(&cider, LIQUID_DENSITY_KG_M3) * 100, 1e-13, 0));
    cr_expect(near(get(&cider, LIQUID_MASS_KG), volume * get(&cider, LIQUID_DENSITY_KG_M3) / 1000, 1e-13, 0));
    cr_expect_eq(liquid_set_rider(&cider, LIQUID_ACID, 6.5, &copy), LIQUID_OK);
    cr_expect(near(get(&copy, LIQUID_ACID_G_L), 6.5, 1e-14, 0) &&
              liquid_gravity_sg(&copy) == liquid_gravity_sg(&cider));
    cr_expect_eq(liquid_set_rider(&cider, LIQUID_NITROGEN, 0.059, &copy), LIQUID_OK);
    cr_expect(near(get(&copy, LIQUID_NITROGEN_MG_L), 59, 1e-14, 0));
    cr_expect_eq(liquid_set_rider(&cider, LIQUID_SULPHITE, 0.040, &copy), LIQUID_OK);
    cr_expect(near(get(&copy, LIQUID_SULPHITE_MG_L), 40, 1e-14, 0));
    cr_expect_eq(liquid_set_sugar_g_l(&cider, 3, &copy), LIQUID_OK);
    cr_expect(near(get(&copy, LIQUID_SUGAR_G_L), 3, 1e-13, 0) &&
              near(get(&copy, LIQUID_SOLIDS_G_L), solids, 1e-14, 0));
    cr_expect_eq(liquid_set_sugar_g_l(&cider, solids + 1, &copy), LIQUID_SUGAR_ABOVE_SOLIDS);
    cr_expect_eq(liquid_set_rider(&cider, LIQUID_ACID, -1, &copy), LIQUID_NEGATIVE);
    cr_expect_eq(liquid_set_rider(&empty, LIQUID_ACID, 1, &copy), LIQUID_EMPTY);
    for (int p = LIQUID_VOLUME_L; p <= LIQUID_CALORIES_KCAL_L; p++) {
        bool amount = p == LIQUID_VOLUME_L || p == LIQUID_MASS_KG || p == LIQUID_ALCOHOL_G;
        value = 7;
        cr_expect_eq(liquid_get(&empty, (LiquidProperty)p, &value), amount ? LIQUID_OK : LIQUID_EMPTY);
        cr_expect(value == (amount ? 0 : 7), "property %d of nothing", p);
        cr_expect_eq(liquid_get(&(Liquid){.water_kg = 2, .sugar_kg = -1}, (LiquidProperty)p, &value),
                     LIQUID_NEGATIVE);
    }
}

/* Bitterness and colour are in a volume as the acid is, and a mixture has their mean by volume. */
Test(liquid, bitterness_and_colour) {
    Liquid pale = juice(1.050, 0.18, 5), dark = juice(1.050, 0.18, 15), both;
    cr_expect_eq(liquid_set_rider(&pale, LIQUID_BITTERNESS, 0.040, &pale), LIQUID_OK);
    cr_expect_eq(liquid_set_rider(&pale, LIQUID_COLOUR, 8, &pale), LIQUID_OK);
    cr_expect_eq(liquid_set_rider(&dark, LIQUID_COLOUR, 48, &dark), LIQUID_OK);
    cr_expect(near(get(&pale, LIQUID_BITTERNESS_MG_L), 40, 1e-13, 0));
    both = liquid_pour(&pale, &dark);
    cr_expect(near(get(&both, LIQUID_BITTERNESS_MG_L), 10, 1e-13, 0));
    cr_expect(near(get(&both, LIQUID_COLOUR_EBC), 38, 1e-13, 0));
    cr_expect(liquid_gravity_sg(&both) == liquid_gravity_sg(&dark), "neither has a mass that counts");
    cr_expect_eq(liquid_ferment(&both, &both), LIQUID_OK);
    cr_expect(near(get(&both, LIQUID_COLOUR_EBC) * get(&both, LIQUID_VOLUME_L), 38 * 20, 1e-12, 0));
}

/* Of malt 20 % of the solids are sure to stay, whatever was told; a reading that leaves less disproves it. */
Test(liquid, malt) {
    Liquid wort, beer, juiced = juice(1.050, 0.18, 1), both;
    double most = 0;
    cr_expect_eq(liquid_make_malt(0.125, 0.30, &wort), LIQUID_OK);
    liquid_assume_share(&wort);
    double solids = get(&wort, LIQUID_SOLIDS_G_L);
    cr_expect(near(get(&wort, LIQUID_SUGAR_G_L), 0.7 * solids, 1e-12, 0));
    cr_expect(near(get(&wort, LIQUID_SUGAR_MOST_G_L), 0.8 * solids, 1e-12, 0));
    cr_expect(liquid_malt_share(&wort) == 1);
    cr_expect_eq(liquid_ferment_to_attenuation(&wort, 0.78, &beer, NULL), LIQUID_OK);
    cr_expect_not(beer.disproved);
    cr_expect(near(liquid_malt_share(&beer), 1, 1e-3, 0), "its alcohol came from malt too");
    cr_expect_eq(liquid_ferment_to_attenuation(&wort, 0.94, &beer, NULL), LIQUID_OK);
    cr_expect_not(beer.disproved, "an apparent attenuation of 94 %% leaves more than 20 %%");
    cr_expect_eq(liquid_ferment_to_attenuation(&wort, 1.00, &beer, NULL), LIQUID_OK);
    cr_expect(beer.disproved);
    both = liquid_pour(&wort, &juiced);
    liquid_get(&both, LIQUID_SUGAR_MOST_G_L, &most);
    double sure = 0.2 * get(&wort, LIQUID_SOLIDS_G_L) * get(&wort, LIQUID_VOLUME_L) +
                  0.1 * get(&juiced, LIQUID_SOLIDS_G_L) * get(&juiced, LIQUID_VOLUME_L);
    double all = get(&both, LIQUID_SOLIDS_G_L) * get(&both, LIQUID_VOLUME_L);
    cr_expect(near(most * get(&both, LIQUID_VOLUME_L), all - sure, 1e-12, 0));
    cr_expect_eq(liquid_make_malt(0.96, 0.30, &wort), LIQUID_OK);
    cr_expect_eq(wort.form, LIQUID_DRY);
    cr_expect_eq(liquid_make_malt(1.01, 0.30, &wort), LIQUID_SHARE_OUT_OF_RANGE);
}

/* By Balling's and Tabarie's relations worked out by hand, +-0.02, as in tests/stdlib/facts.rlet. `abv` of
 * two gravities: tests/stdlib/strength.rlet. */
Test(liquid, facts_of_the_trade) {
    /* An unsugared apple juice: 18 % of its solids stay (USDA SR 09016). */
    Liquid dry;
    static const double ciders[][4] = {
        {1.050, 0.18, 6.57, 1.000}, {1.080, 0.18, 10.58, 1.000}, {1.050, 0, 8.0, 0.989}};
    for (size_t i = 0; i < sizeof ciders / sizeof *ciders; i++) {
        Liquid must = juice(ciders[i][0], ciders[i][1], 1);
        cr_expect_eq(liquid_ferment(&must, &dry), LIQUID_OK);
        cr_expect(near(liquid_strength_abv(&dry), ciders[i][2], 0, 0.02), "%g", liquid_strength_abv(&dry));
        cr_expect(near(liquid_gravity_sg(&dry), ciders[i][3], 0, 5e-4), "%g", liquid_gravity_sg(&dry));
    }
}

/* Balling's balance over the whole range; its inverses are formulas of stdlib (tests/stdlib/strength.rlet).
 */
Test(liquid, ferment_to_gravity) {
    for (double og = 1.010; og <= 1.26; og += 0.02)
        for (double fg = 0.985; fg < og; fg += 0.009) {
            Liquid must = juice(og, 0, 2), fermented;
            FermentLimit limit;
            LiquidResult result = liquid_ferment_to_gravity(&must, fg, &fermented, &limit);
            if (result == LIQUID_FINAL_TOO_LOW) {
                cr_expect(limit.lowest_sg > fg && !limit.reachable, "%g to %g", og, fg);
                continue;
            }
            cr_expect_eq(result, LIQUID_OK);
            cr_expect(near(liquid_gravity_sg(&fermented), fg, 1e-13, 0), "%g to %g: %.15g", og, fg,
                      liquid_gravity_sg(&fermented));
            double lost = liquid_mass_kg(&must) - liquid_mass_kg(&fermented);
            cr_expect(near(lost, 1.0665 * fermented.alcohol_kg, 1e-11, 1e-15), "Balling's loss");
            cr_expect(fermented.water_kg == must.water_kg, "the water stays");
        }
}

Test(liquid, fermenting) {
    Liquid must = juice(1.050, 0.18, 1), out = {0}, dry;
    FermentLimit limit = {0};
    /* language reference: "1.050 to 0.996 SG: 11.6 %", cut, as a larger share would not allow it. */
    cr_expect_eq(liquid_ferment_to_gravity(&must, 0.996, &out, &limit), LIQUID_FINAL_TOO_LOW);
    cr_expect(floor(1000 * limit.unfermentable_share) == 116 && limit.reachable, "%g",
              limit.unfermentable_share);
    cr_expect_eq(liquid_ferment(&must, &dry), LIQUID_OK);
    cr_expect(dry.sugar_kg == 0 && limit.lowest_sg == liquid_gravity_sg(&dry));
    Liquid exact = juice(1.050, limit.unfermentable_share, 1);
    cr_expect_eq(liquid_ferment_to_gravity(&exact, 0.996, &out, NULL), LIQUID_OK);
    cr_expect(near(out.sugar_kg, 0, 0, 1e-13), "the limit leaves %g", out.sugar_kg);
    cr_expect_eq(liquid_ferment_to_gravity(&must, limit.lowest_sg, &out, NULL), LIQUID_OK);
    cr_expect_eq(liquid_ferment_to_gravity(&must, 0.980, &out, &limit), LIQUID_FINAL_TOO_LOW);
    cr_expect(!limit.reachable, "0.980 is below 1.050 without any solids");
    cr_expect_eq(liquid_ferment_to_gravity(&must, 1.051, &out, NULL), LIQUID_FINAL_ABOVE_PRESENT);
    cr_expect_eq(liquid_ferment_to_gravity(&must, 2, &out, NULL), LIQUID_GRAVITY_OUT_OF_RANGE);
    cr_expect_eq(liquid_ferment_to_gravity(&must, 1.050, &out, NULL), LIQUID_OK);
    cr_expect(near(out.alcohol_kg, 0, 0, 1e-14));
    /* Tolerance: met, or the sugar ends first, or it was passed long ago. */
    cr_expect(liquid_ferment_to_strength(&must, 5, &out) == LIQUID_OK &&
              near(liquid_strength_abv(&out), 5, 1e-12, 0));
    cr_expect(liquid_ferment_to_strength(&must, 15, &out) == LIQUID_OK && out.sugar_kg == 0);
    Liquid strong = spirit(20, 1);
    cr_expect(liquid_ferment_to_strength(&strong, 15, &out) == LIQUID_OK &&
              near(liquid_strength_abv(&out), 20, 1e-13, 0));
    cr_expect_eq(liquid_ferment_to_strength(&must, 120, &out), LIQUID_STRENGTH_OUT_OF_RANGE);
    /* Attenuation is apparent, in degP, and may pass 100 %. */
    double brix = 0, final_brix = 0;
    cr_expect_eq(liquid_ferment_to_attenuation(&must, 0.75, &out, NULL), LIQUID_OK);
    cr_expect(sugar_brix_from_gravity(1.050, &brix) &&
              sugar_brix_from_gravity(liquid_gravity_sg(&out), &final_brix));
    cr_expect(near(final_brix, 0.25 * brix, 1e-11, 0), "%g of %g degP", final_brix, brix);
    Liquid all_sugar = juice(1.050, 0, 1);
    cr_expect_eq(liquid_ferment_to_attenuation(&all_sugar, 1.1, &out, NULL), LIQUID_OK);
    cr_expect(liquid_gravity_sg(&out) < 1 &&
              liquid_ferment_to_attenuation(&must, 0, &out, NULL) == LIQUID_OK);
    cr_expect_eq(liquid_ferment_to_attenuation(&must, 1.2, &out, &limit), LIQUID_FINAL_TOO_LOW);
    cr_expect_eq(liquid_ferment_to_attenuation(&must, -0.1, &out, NULL), LIQUID_SHARE_OUT_OF_RANGE);
    Liquid plain = water(1), empty = {0};
    cr_expect_eq(liquid_ferment_to_attenuation(&plain, 0.5, &out, NULL), LIQUID_GRAVITY_OUT_OF_RANGE);
    cr_expect_eq(liquid_ferment_to_attenuation(&empty, 0.5, &out, NULL), LIQUID_EMPTY);
    cr_expect(liquid_ferment_to_strength(&must, 0, &out) == LIQUID_OK && out.sugar_kg == must.sugar_kg);
    cr_expect_eq(liquid_ferment_to_gravity(&empty, 1, &out, NULL), LIQUID_EMPTY);
    cr_expect_eq(liquid_ferment_to_strength(&empty, 5, &out), LIQUID_EMPTY);
    cr_expect_eq(liquid_ferment_share(&must, 1.5, &out), LIQUID_SHARE_OUT_OF_RANGE);
}

/* Dilution goes by mass (7 CFR 52.6321). */
Test(liquid, pouring) {
    double sg = 0, brix;
    Liquid a, b, sum;
    cr_assert(sugar_gravity_from_brix(32, &sg));
    a = juice(sg, 0, 1), b = water(1.95), sum = liquid_pour(&a, &b);
    cr_expect(near(brix = get(&sum, LIQUID_BRIX_PCT), 11.80, 0, 0.005), "32 degBx with 1.95 water: %g", brix);
    cr_assert(sugar_gravity_from_brix(42.3, &sg));
    a = juice(sg, 0, 1), b = water(3), sum = liquid_pour(&a, &b);
    cr_expect(near(brix = get(&sum, LIQUID_BRIX_PCT), 12.0, 0, 0.05), "42.3 degBx 3 + 1: %g", brix);
    /* 24 degBx of juice at 12 and syrup at 65, 41 : 12 by mass, is 81.1 : 18.9 by volume. */
    double low = 0, high = 0, syrup_kg = 0;
    cr_assert(sugar_gravity_from_brix(12, &low) && sugar_gravity_from_brix(65, &high) &&
              sugar_gravity_from_brix(24, &sg));
    a = of_mass(juice(low, 0, 1), 41), b = juice(high, 0, 1);
    cr_expect(liquid_addition_for_gravity(&a, &b, sg, &syrup_kg) == LIQUID_OK &&
              near(syrup_kg, 12, 1e-11, 0));
    b = of_mass(b, syrup_kg);
    cr_expect(near(liquid_volume_l(&a) / (liquid_volume_l(&a) + liquid_volume_l(&b)), 0.811, 0, 5e-4));
    /* 1 lb of sucrose in 1 US gal of solution is 46 points; added to 1 gal of water it makes 43. */
    double points = 0, fraction = 0;
    cr_expect(sugar_fraction_from_g_l(1000 * LB_KG / GALLON_L, &fraction) &&
                  near(points = 1000 * (sugar_gravity_from_fraction(fraction) - 1), 46, 0, 0.5),
              "%g", points);
    a = water(GALLON_L), b = of_mass(liquid_make_sucrose(), LB_KG), sum = liquid_pour(&a, &b);
    cr_expect(near(points = 1000 * (liquid_gravity_sg(&sum) - 1), 43, 0, 0.5), "%g", points);
    /* Sugar displaces 0.618 L/kg (27 CFR 24.181), within 1.5 %. */
    cr_expect(near((liquid_volume_l(&sum) - GALLON_L) / LB_KG, 0.618, 0.015, 0), "%g",
              (liquid_volume_l(&sum) - GALLON_L) / LB_KG);
    /* A concentrate of 50 degBx in a juice of 11 degBx: solids and masses add up, 10.8 kg and 1.2 kg make 12
     * kg of 14.9 degBx. */
    double sum_brix = 0;
    cr_assert(sugar_gravity_from_brix(11, &sg));
    a = of_mass(juice(sg, 0.18, 1), 10.8);
    cr_assert(sugar_gravity_from_brix(50, &sg));
    b = of_mass(juice(sg, 0.18, 1), 1.2), sum = liquid_pour(&a, &b);
    cr_expect(sugar_brix_from_gravity(liquid_gravity_sg(&sum), &sum_brix) && near(sum_brix, 14.9, 1e-9, 0),
              "%g", sum_brix);
}

/* What is found is poured, and meets the target. */
static void expect_addition(const Liquid *liquid, const Liquid *addition, double target, bool strength) {
    double kg = -1;
    LiquidResult result = strength ? liquid_addition_for_strength(liquid, addition, target, &kg)
                                   : liquid_addition_for_gravity(liquid, addition, target, &kg);
    cr_expect_eq(result, LIQUID_OK, "target %g", target);
    Liquid dose = of_mass(*addition, kg);
    Liquid both = liquid_pour(liquid, &dose);
    double met = strength ? liquid_strength_abv(&both) : liquid_gravity_sg(&both);
    cr_expect(near(met, target, 1e-12, 0), "target %g: %g kg make %.15g", target, kg, met);
}

Test(liquid, additions) {
    Liquid cider = juice(1.050, 0.18, 20), brandy = spirit(60, 3), plain = water(7),
           sucrose = liquid_make_sucrose();
    cr_expect_eq(liquid_ferment(&cider, &cider), LIQUID_OK);
    for (double abv = 7; abv < 59; abv += 4)
        expect_addition(&cider, &brandy, abv, true);
    for (double abv = 59; abv > 0.5; abv -= 4)
        expect_addition(&brandy, &plain, abv, true);
    for (double sg = 1.001; sg < 1.3; sg += 0.02)
        expect_addition(&cider, &sucrose, sg, false);
    double kg = 7, present = liquid_strength_abv(&cider);
    cr_expect(liquid_addition_for_strength(&cider, &brandy, present, &kg) == LIQUID_OK && kg == 0,
              "already there");
    kg = 7;
    cr_expect_eq(liquid_addition_for_strength(&cider, &brandy, 61, &kg), LIQUID_ADDITION_OUT_OF_REACH);
    cr_expect_eq(liquid_addition_for_strength(&cider, &brandy, 3, &kg), LIQUID_ADDITION_OUT_OF_REACH);
    cr_expect_eq(liquid_addition_for_strength(&cider, &brandy, 60, &kg), LIQUID_ADDITION_ENDLESS);
    cr_expect_eq(liquid_addition_for_strength(&cider, &plain, 0, &kg), LIQUID_ADDITION_ENDLESS);
    cr_expect_eq(liquid_addition_for_strength(&cider, &brandy, 101, &kg), LIQUID_STRENGTH_OUT_OF_RANGE);
    cr_expect_eq(liquid_addition_for_gravity(&cider, &sucrose, 0.9, &kg), LIQUID_ADDITION_OUT_OF_REACH);
    cr_expect_eq(liquid_addition_for_gravity(&cider, &sucrose, 1.9, &kg), LIQUID_GRAVITY_OUT_OF_RANGE);
    cr_expect_eq(liquid_addition_for_gravity(&(Liquid){0}, &sucrose, 1.1, &kg), LIQUID_EMPTY);
    cr_expect(kg == 7, "a refusal changed the result");
}

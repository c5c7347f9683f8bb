/* SPDX-FileCopyrightText: the Rundlet developers */
/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Density first: everything a liquid can be asked follows from its masses and its density. Sugar and water
 * alone, or alcohol and water alone, have it in closed form (the speed of `find` on juices rests on that);
 * the three together take a few Newton steps, with a bracketed solve as a fallback. */
#include "physics/liquid.h"

#include "numbers/numeric.h"
#include "physics/alcohol.h"
#include "physics/sugar.h"

#include <float.h>
#include <math.h>
#include <stddef.h>

#define WATER_KG_M3   ALCOHOL_WATER_DENSITY_KG_M3
#define ETHANOL_KG_M3 ALCOHOL_ETHANOL_DENSITY_KG_M3
/* Rounding that may be left over where a range or an amount ends. */
#define SLACK 1e-9
/* Newton's last step, relative: what is left after it is its square. */
#define LAST_STEP   1e-8
#define NEWTON_MOST 12

enum {
    MASSES = sizeof((Liquid){0}.masses_kg) / sizeof(double),
    FIRST_RIDER = offsetof(Liquid, acid_kg) / sizeof(double)
};
_Static_assert(offsetof(Liquid, cost) == MASSES * sizeof(double), "masses_kg");

/* Energy factors, kJ/g and kcal/g: Regulation (EU) 1169/2011 Annex XIV. */
#define ALCOHOL_KJ_G        29.0
#define CARBOHYDRATE_KJ_G   17.0
#define ALCOHOL_KCAL_G      7.0
#define CARBOHYDRATE_KCAL_G 4.0

/* ---- Density ---- */

static bool is_amount(double amount) {
    return amount >= 0 && amount <= DBL_MAX;
}

static double all_solids_kg(const Liquid *liquid) {
    return liquid->sugar_kg + liquid->solids_kg;
}

double liquid_mass_kg(const Liquid *liquid) {
    return liquid->water_kg + liquid->alcohol_kg + all_solids_kg(liquid);
}

/* Mass shares of alcohol and of dissolved solids. */
typedef struct Shares {
    double alcohol;
    double solids;
} Shares;

/* Tabarie's relation as three equations in the density y (kg/m3), the mass fraction p of water and alcohol
 * alone at the same alcohol per volume, and w of water and sugar alone at the same solids per volume:
 *     p rho(p) = alcohol y,   w D(w) = solids y,   rho(p) + D(w) - rho(0) = y.
 * The first two are eliminated from each Newton step. False when it strays or stalls. */
static bool density_by_newton(Shares shares, double *density_kg_m3) {
    double p = shares.alcohol / (1 - shares.solids);
    double slope_ignored;
    double y =
        1 / ((1 - shares.solids) / alcohol_density_20_kg_m3(p, &slope_ignored) + 0.62e-3 * shares.solids);
    double part = shares.solids * y / WATER_KG_M3;
    double w = part * (1 - part * (0.386 - part * 0.16));
    for (int count = 0; count < NEWTON_MOST; count++) {
        double rho_slope, gravity_slope;
        double rho = alcohol_density_20_kg_m3(p, &rho_slope);
        double sugar = WATER_KG_M3 * sugar_gravity_slope(w, &gravity_slope);
        double sugar_slope = WATER_KG_M3 * gravity_slope;
        double alcohol_miss = p * rho - shares.alcohol * y;
        double solids_miss = w * sugar - shares.solids * y;
        double density_miss = rho + sugar - WATER_KG_M3 - y;
        double per_p = 1 / (rho + p * rho_slope);
        double per_w = 1 / (sugar + w * sugar_slope);
        double step = (density_miss - rho_slope * alcohol_miss * per_p - sugar_slope * solids_miss * per_w) /
                      (1 - rho_slope * shares.alcohol * per_p - sugar_slope * shares.solids * per_w);
        y += step;
        p = numeric_clamp(p + (shares.alcohol * step - alcohol_miss) * per_p, 0, 1);
        w = numeric_clamp(w + (shares.solids * step - solids_miss) * per_w, 0, SUGAR_FRACTION_EXTENDED_MAX);
        /* All three equations, as a clamped p or w could make the density stand still elsewhere. */
        if (fabs(step) + fabs(alcohol_miss) + fabs(solids_miss) <= LAST_STEP * y) {
            *density_kg_m3 = y;
            return true;
        }
    }
    return false;
}

/* Relative density 20/20 of honey with 13, 14, … 21 % of water. */
static const double HONEY_SG[] = {1.4457, 1.4404, 1.4350, 1.4295, 1.4237, 1.4171, 1.4101, 1.4027, 1.3950};
enum { HONEY_FIRST_PCT = 13, HONEY_STEPS = sizeof HONEY_SG / sizeof *HONEY_SG - 1 };

/* Outside the table it is lighter than sucrose by the same share, which ends where the solids end. */
static double honey_density_kg_m3(double solids_share) {
    double water_pct = 100 * (1 - solids_share);
    double in_table_pct = numeric_clamp(water_pct, HONEY_FIRST_PCT, HONEY_FIRST_PCT + HONEY_STEPS);
    double at = in_table_pct - HONEY_FIRST_PCT;
    int step = (int)fmin(floor(at), HONEY_STEPS - 1);
    double honey_sg = HONEY_SG[step] + (at - step) * (HONEY_SG[step + 1] - HONEY_SG[step]);
    double lighter = 1 - honey_sg / sugar_gravity_from_fraction(1 - in_table_pct / 100);
    if (water_pct > in_table_pct)
        lighter *= solids_share / (1 - in_table_pct / 100);
    return WATER_KG_M3 * sugar_gravity_from_fraction(solids_share) * (1 - lighter);
}

/* By how much Tabarie's density exceeds the one tried. */
static double density_excess(double density_kg_m3, void *context) {
    const Shares *shares = context;
    double p, w, slope_ignored;
    if (!alcohol_fraction_from_concentration(shares->alcohol * density_kg_m3, &p) ||
        !sugar_fraction_from_g_l(shares->solids * density_kg_m3, &w))
        return NUMERIC_NONE;
    return alcohol_density_20_kg_m3(p, &slope_ignored) + WATER_KG_M3 * (sugar_gravity_from_fraction(w) - 1) -
           density_kg_m3;
}

/* The excess is rho(0) at density 0, and below zero where the liquid would be all alcohol or all solids. */
static bool density_by_bracket(Shares shares, double *density_kg_m3) {
    double most_by_alcohol = ETHANOL_KG_M3 / shares.alcohol;
    double most_by_solids = WATER_KG_M3 * SUGAR_GRAVITY_EXTENDED_MAX_SG / shares.solids;
    double most = fmin(most_by_alcohol, most_by_solids);
    return numeric_find_root(density_excess, &shares, 0, most, 1e-10, density_kg_m3);
}

static bool find_density(const Liquid *liquid, double mass_kg, double *density_kg_m3) {
    double solids_kg = all_solids_kg(liquid);
    if (!(mass_kg > 0) || !isfinite(mass_kg))
        return false;
    if (liquid->form == LIQUID_HONEY) {
        *density_kg_m3 = honey_density_kg_m3(solids_kg / mass_kg);
        return true;
    }
    if (liquid->alcohol_kg <= 0) {
        *density_kg_m3 = WATER_KG_M3 * sugar_gravity_from_fraction(solids_kg / mass_kg);
        return true;
    }
    if (solids_kg <= 0) {
        double slope_ignored;
        *density_kg_m3 = alcohol_density_20_kg_m3(liquid->alcohol_kg / mass_kg, &slope_ignored);
        return true;
    }
    Shares shares = {liquid->alcohol_kg / mass_kg, solids_kg / mass_kg};
    return density_by_newton(shares, density_kg_m3) || density_by_bracket(shares, density_kg_m3);
}

/* ---- Asking ---- */

bool liquid_is_possible(const Liquid *liquid) {
    for (size_t i = 0; i < MASSES; i++)
        if (!is_amount(liquid->masses_kg[i]))
            return false;
    return true;
}

double liquid_volume_l(const Liquid *liquid) {
    double mass_kg = liquid_mass_kg(liquid);
    double density_kg_m3;
    if (mass_kg == 0)
        return 0;
    return find_density(liquid, mass_kg, &density_kg_m3) ? 1000 * mass_kg / density_kg_m3 : NUMERIC_NONE;
}

double liquid_gravity_sg(const Liquid *liquid) {
    double density_kg_m3;
    return find_density(liquid, liquid_mass_kg(liquid), &density_kg_m3) ? density_kg_m3 / WATER_KG_M3
                                                                        : NUMERIC_NONE;
}

static double abv_of(const Liquid *liquid, double volume_l) {
    return 100 * (1000 * liquid->alcohol_kg / volume_l) / ETHANOL_KG_M3;
}

double liquid_strength_abv(const Liquid *liquid) {
    double volume_l = liquid_volume_l(liquid);
    return volume_l > 0 ? abv_of(liquid, volume_l) : NUMERIC_NONE;
}

/* What is left of a subtraction is rounding, not sugar. */
static double sugar_most_kg(const Liquid *liquid) {
    double all = all_solids_kg(liquid), most = fmax(all - liquid->inert_kg, liquid->sugar_kg);
    return most > 1e-12 * all ? most : 0;
}

static double per_volume(const Liquid *liquid, double volume_l, LiquidProperty property) {
    double sugar_g_l = 1000 * liquid->sugar_kg / volume_l;
    double solids_g_l = 1000 * all_solids_kg(liquid) / volume_l;
    double alcohol_g_l = 1000 * liquid->alcohol_kg / volume_l;
    switch (property) {
    case LIQUID_STRENGTH_ABV:
        return abv_of(liquid, volume_l);
    case LIQUID_SUGAR_G_L:
        return sugar_g_l;
    case LIQUID_SUGAR_MOST_G_L:
        return 1000 * sugar_most_kg(liquid) / volume_l;
    case LIQUID_SOLIDS_G_L:
        return solids_g_l;
    case LIQUID_ACID_G_L:
        return 1000 * liquid->acid_kg / volume_l;
    case LIQUID_NITROGEN_MG_L:
        return 1e6 * liquid->nitrogen_kg / volume_l;
    case LIQUID_SULPHITE_MG_L:
        return 1e6 * liquid->sulphite_kg / volume_l;
    case LIQUID_BITTERNESS_MG_L:
        return 1e6 * liquid->bitter_kg / volume_l;
    case LIQUID_COLOUR_EBC:
        return 1000 * liquid->colour_ebc_m3 / volume_l;
    case LIQUID_POTENTIAL_ABV:
        return abv_of(liquid, volume_l) + sugar_g_l / LIQUID_SUGAR_PER_ABV_G_L;
    case LIQUID_ENERGY_KJ_L:
        return ALCOHOL_KJ_G * alcohol_g_l + CARBOHYDRATE_KJ_G * solids_g_l;
    case LIQUID_CALORIES_KCAL_L:
        return ALCOHOL_KCAL_G * alcohol_g_l + CARBOHYDRATE_KCAL_G * solids_g_l;
    case LIQUID_VOLUME_L:
    case LIQUID_MASS_KG:
    case LIQUID_DENSITY_KG_M3:
    case LIQUID_GRAVITY_SG:
    case LIQUID_BRIX_PCT:
    case LIQUID_ALCOHOL_G:
        break;
    }
    return NUMERIC_NONE;
}

LiquidResult liquid_get(const Liquid *liquid, LiquidProperty property, double *value) {
    double mass_kg = liquid_mass_kg(liquid);
    bool is_amount =
        property == LIQUID_VOLUME_L || property == LIQUID_MASS_KG || property == LIQUID_ALCOHOL_G;
    double found;
    if (!liquid_is_possible(liquid))
        return LIQUID_NEGATIVE;
    if (mass_kg == 0 && !is_amount)
        return LIQUID_EMPTY;
    if (mass_kg == 0)
        found = 0;
    else if (property == LIQUID_MASS_KG)
        found = mass_kg;
    else if (property == LIQUID_ALCOHOL_G)
        found = 1000 * liquid->alcohol_kg;
    else if (property == LIQUID_BRIX_PCT)
        found = 100 * all_solids_kg(liquid) / mass_kg;
    else if (!find_density(liquid, mass_kg, &found))
        return LIQUID_NOT_CONVERGED;
    else if (property == LIQUID_GRAVITY_SG)
        found /= WATER_KG_M3;
    else if (property == LIQUID_VOLUME_L)
        found = 1000 * mass_kg / found;
    else if (property != LIQUID_DENSITY_KG_M3)
        found = per_volume(liquid, 1000 * mass_kg / found, property);
    *value = found;
    return LIQUID_OK;
}

/* ---- Making ---- */

static bool is_share(double share) {
    return numeric_within(share, 0, 1, SLACK);
}

/* 1 kg of a solution, its solids parted into sugar and what yeast leaves. */
static Liquid solution(double solids_share, double unfermentable_share) {
    double stays = numeric_clamp(unfermentable_share, 0, 1);
    Liquid made = {.water_kg = 1 - solids_share,
                   .sugar_kg = solids_share * (1 - stays),
                   .solids_kg = solids_share * stays};
    return made;
}

LiquidResult liquid_make_juice(double gravity_sg, double unfermentable_share, Liquid *out) {
    double fraction;
    if (!is_share(unfermentable_share))
        return LIQUID_SHARE_OUT_OF_RANGE;
    if (!sugar_gravity_in_range(gravity_sg) || !sugar_fraction_from_gravity(gravity_sg, &fraction))
        return LIQUID_GRAVITY_OUT_OF_RANGE;
    *out = solution(numeric_clamp(fraction, 0, 1), unfermentable_share);
    out->least_kg = LIQUID_JUICE_INERT_SHARE * all_solids_kg(out);
    out->inert_kg = fmin(out->solids_kg, out->least_kg);
    return LIQUID_OK;
}

void liquid_assume_share(Liquid *liquid) {
    liquid->assumed_kg = liquid->solids_kg;
}

Liquid liquid_make_water(void) {
    return solution(0, 0);
}

LiquidResult liquid_make_spirit(double strength_abv, Liquid *out) {
    double fraction;
    if (!alcohol_fraction_from_abv(strength_abv, &fraction))
        return LIQUID_STRENGTH_OUT_OF_RANGE;
    *out = (Liquid){.water_kg = 1 - fraction, .alcohol_kg = fraction};
    return LIQUID_OK;
}

static Liquid dry(double sugar_share) {
    Liquid made = solution(sugar_share, 0);
    made.form = LIQUID_DRY;
    return made;
}

Liquid liquid_make_sucrose(void) {
    return dry(1);
}

Liquid liquid_make_dextrose(void) {
    return dry(LIQUID_DEXTROSE_SUGAR_SHARE);
}

LiquidResult liquid_make_honey(double water_share, double unfermentable_share, Liquid *out) {
    if (!is_share(water_share) || !is_share(unfermentable_share))
        return LIQUID_SHARE_OUT_OF_RANGE;
    *out = solution(1 - numeric_clamp(water_share, 0, 1), unfermentable_share);
    out->form = LIQUID_HONEY;
    return LIQUID_OK;
}

LiquidResult liquid_make_malt(double solids_share, double unfermentable_share, Liquid *out) {
    if (!is_share(solids_share) || !is_share(unfermentable_share))
        return LIQUID_SHARE_OUT_OF_RANGE;
    *out = solution(numeric_clamp(solids_share, 0, 1), unfermentable_share);
    out->malt_kg = all_solids_kg(out);
    out->least_kg = LIQUID_MALT_INERT_SHARE * out->malt_kg;
    out->inert_kg = fmin(out->solids_kg, out->least_kg);
    out->form = solids_share > SUGAR_FRACTION_MAX ? LIQUID_DRY : LIQUID_MIXED;
    return LIQUID_OK;
}

LiquidResult liquid_lowest_gravity_sg(double strength_abv, double *gravity_sg) {
    double fraction, slope_ignored;
    if (!alcohol_fraction_from_abv(strength_abv, &fraction))
        return LIQUID_STRENGTH_OUT_OF_RANGE;
    *gravity_sg = alcohol_density_20_kg_m3(fraction, &slope_ignored) / WATER_KG_M3;
    return LIQUID_OK;
}

/* Tabarie's relation turned round: gravity and strength leave d_solids, hence g/L, hence all the masses. */
LiquidResult liquid_make_measured(double gravity_sg, double strength_abv, Liquid *out) {
    double alone_sg, fraction = 0;
    if (liquid_lowest_gravity_sg(strength_abv, &alone_sg) != LIQUID_OK)
        return LIQUID_STRENGTH_OUT_OF_RANGE;
    if (!sugar_gravity_in_extended_range(gravity_sg))
        return LIQUID_GRAVITY_OUT_OF_RANGE;
    double solids_sg = gravity_sg - alone_sg + 1;
    if (solids_sg < 1 - SLACK)
        return LIQUID_LIGHTER_THAN_STRENGTH;
    if (solids_sg <= 1)
        return liquid_make_spirit(strength_abv, out);
    if (!sugar_fraction_from_gravity(solids_sg, &fraction))
        return LIQUID_HEAVIER_THAN_STRENGTH;
    double alcohol_kg_m3 = strength_abv / 100 * ETHANOL_KG_M3;
    double solids_kg_m3 = sugar_g_l_from_fraction(fraction);
    double density_kg_m3 = gravity_sg * WATER_KG_M3;
    double water_kg_m3 = density_kg_m3 - alcohol_kg_m3 - solids_kg_m3;
    if (water_kg_m3 < -SLACK * density_kg_m3)
        return LIQUID_HEAVIER_THAN_STRENGTH;
    *out = (Liquid){.water_kg = fmax(water_kg_m3, 0) / density_kg_m3,
                    .alcohol_kg = fmax(alcohol_kg_m3, 0) / density_kg_m3,
                    .sugar_kg = solids_kg_m3 / density_kg_m3};
    return LIQUID_OK;
}

/* ---- Changing ---- */

static LiquidForm poured_form(const Liquid *a, const Liquid *b) {
    if (a->form == b->form || liquid_mass_kg(b) == 0)
        return a->form;
    return liquid_mass_kg(a) == 0 ? b->form : LIQUID_MIXED;
}

/* Is b sugar, syrup or juice, hardly fermented, for an a that holds alcohol? */
static bool adds_sugar(const Liquid *a, const Liquid *b) {
    return a->alcohol_kg > 0 && b->sugar_kg > LIQUID_BALLING_SOLIDS * b->alcohol_kg;
}

Liquid liquid_pour(const Liquid *a, const Liquid *b) {
    Liquid sum = {
        .cost = (a->has_cost ? a->cost : 0) + (b->has_cost ? b->cost : 0),
        .has_cost = a->has_cost || b->has_cost,
        .form = poured_form(a, b),
        .disproved = a->disproved || b->disproved,
        .unread = a->unread || b->unread,
        .sweetened = a->sweetened || b->sweetened || adds_sugar(a, b) || adds_sugar(b, a),
    };
    for (size_t i = 0; i < MASSES; i++)
        sum.masses_kg[i] = a->masses_kg[i] + b->masses_kg[i];
    return sum;
}

static Liquid times(const Liquid *liquid, double factor) {
    Liquid scaled = *liquid;
    for (size_t i = 0; i < MASSES; i++)
        scaled.masses_kg[i] *= factor;
    scaled.cost *= factor;
    return scaled;
}

/* What a part leaves: differences, so that part and rest always make the whole again. */
static Liquid minus(const Liquid *liquid, const Liquid *part) {
    Liquid rest = *liquid;
    for (size_t i = 0; i < MASSES; i++)
        rest.masses_kg[i] = fmax(rest.masses_kg[i] - part->masses_kg[i], 0);
    rest.cost -= part->cost;
    return rest;
}

LiquidResult liquid_scale(const Liquid *liquid, double factor, Liquid *out) {
    if (!is_amount(factor))
        return LIQUID_NEGATIVE;
    *out = times(liquid, factor);
    return LIQUID_OK;
}

static LiquidResult take(const Liquid *liquid, double wanted, double present, Liquid *taken, Liquid *left) {
    if (!is_amount(wanted))
        return LIQUID_NEGATIVE;
    if (isnan(present))
        return LIQUID_NOT_CONVERGED;
    if (wanted > present * (1 + SLACK))
        return LIQUID_MORE_THAN_THERE_IS;
    Liquid part = times(liquid, present > 0 ? fmin(wanted / present, 1) : 0);
    Liquid rest = minus(liquid, &part);
    if (taken)
        *taken = part;
    if (left)
        *left = rest;
    return LIQUID_OK;
}

LiquidResult liquid_take_volume(const Liquid *liquid, double volume_l, Liquid *taken, Liquid *left) {
    return take(liquid, volume_l, liquid_volume_l(liquid), taken, left);
}

LiquidResult liquid_take_mass(const Liquid *liquid, double mass_kg, Liquid *taken, Liquid *left) {
    return take(liquid, mass_kg, liquid_mass_kg(liquid), taken, left);
}

/* kg of something from its g/L in this liquid. */
static LiquidResult amount_in(const Liquid *liquid, double g_l, double *amount_kg) {
    double volume_l = liquid_volume_l(liquid);
    if (!is_amount(g_l))
        return LIQUID_NEGATIVE;
    if (isnan(volume_l))
        return LIQUID_NOT_CONVERGED;
    if (volume_l <= 0)
        return LIQUID_EMPTY;
    *amount_kg = g_l * volume_l / 1000;
    return LIQUID_OK;
}

/* Parts the solids again, as measured: nothing of them is assumed any more. */
static void set_sugar_kg(Liquid *liquid, double sugar_kg) {
    double all_kg = all_solids_kg(liquid);
    liquid->sugar_kg = fmin(sugar_kg, all_kg);
    liquid->solids_kg = all_kg - liquid->sugar_kg;
    liquid->inert_kg = liquid->solids_kg;
    liquid->least_kg = 0;
    liquid->assumed_kg = 0;
    liquid->disproved = false;
}

LiquidResult liquid_set_sugar_g_l(const Liquid *liquid, double sugar_g_l, Liquid *out) {
    double sugar_kg = 0, all_kg = all_solids_kg(liquid);
    LiquidResult result = amount_in(liquid, sugar_g_l, &sugar_kg);
    if (result != LIQUID_OK)
        return result;
    if (sugar_kg > all_kg * (1 + SLACK))
        return LIQUID_SUGAR_ABOVE_SOLIDS;
    Liquid was = *liquid;
    *out = was;
    set_sugar_kg(out, sugar_kg);
    if (was.solids_kg > 0 || was.disproved) { /* no more is sure to stay for that: only a floor shows it */
        out->inert_kg = fmin(was.inert_kg, out->solids_kg);
        out->least_kg = was.least_kg;
        out->disproved = was.disproved;
    }
    return LIQUID_OK;
}

double liquid_malt_share(const Liquid *liquid) {
    double before_kg = all_solids_kg(liquid) + LIQUID_BALLING_SOLIDS * liquid->alcohol_kg;
    return before_kg > 0 ? fmin(liquid->malt_kg / before_kg, 1) : 0;
}

LiquidResult liquid_set_rider(const Liquid *liquid, LiquidRider rider, double per_volume, Liquid *out) {
    double amount_kg = 0;
    LiquidResult result = amount_in(liquid, per_volume, &amount_kg);
    if (result != LIQUID_OK)
        return result;
    *out = *liquid;
    out->masses_kg[FIRST_RIDER + rider] = amount_kg;
    return LIQUID_OK;
}

/* ---- Fermenting ---- */

/* Balling's balance for alcohol_kg formed. The water stays: 2.0665 of solids leave 1 of alcohol, and the
 * whole loses 1.0665, the rest of the solids. */
static Liquid with_alcohol_formed(const Liquid *liquid, double alcohol_kg) {
    Liquid fermented = *liquid;
    fermented.alcohol_kg += alcohol_kg;
    fermented.sugar_kg = fmax(liquid->sugar_kg - LIQUID_BALLING_SOLIDS * alcohol_kg, 0);
    if (alcohol_kg > 0)
        fermented.form = LIQUID_MIXED;
    return fermented;
}

static double most_alcohol_kg(const Liquid *liquid) {
    return liquid->sugar_kg / LIQUID_BALLING_SOLIDS;
}

/* A liquid and what its fermentation is to reach. */
typedef struct FermentTarget {
    const Liquid *liquid;
    double value;
} FermentTarget;

static double gravity_excess(double alcohol_kg, void *context) {
    const FermentTarget *target = context;
    Liquid fermented = with_alcohol_formed(target->liquid, alcohol_kg);
    return liquid_gravity_sg(&fermented) - target->value;
}

static double strength_excess(double alcohol_kg, void *context) {
    const FermentTarget *target = context;
    Liquid fermented = with_alcohol_formed(target->liquid, alcohol_kg);
    return liquid_strength_abv(&fermented) - target->value;
}

/* Fewer solids left than any juice is known to keep: nothing of them is sure to be unfermentable. */
static void doubt_solids(Liquid *fermented) {
    if (all_solids_kg(fermented) >= fermented->least_kg * (1 - SLACK)) {
        fermented->inert_kg = fmin(fermented->inert_kg, fermented->solids_kg);
        return;
    }
    fermented->inert_kg = fermented->least_kg = 0;
    fermented->disproved = true;
}

LiquidResult liquid_ferment_share(const Liquid *liquid, double share, Liquid *out) {
    if (!is_share(share))
        return LIQUID_SHARE_OUT_OF_RANGE;
    *out = with_alcohol_formed(liquid, numeric_clamp(share, 0, 1) * most_alcohol_kg(liquid));
    doubt_solids(out);
    return LIQUID_OK;
}

LiquidResult liquid_ferment(const Liquid *liquid, Liquid *out) {
    LiquidResult result = liquid_ferment_share(liquid, 1, out);
    out->sugar_kg = 0;
    return result;
}

/* kg of alcohol to be formed. Bounds are met to 1e-12 SG, so that a gravity that was computed can be asked
 * for again. */
static LiquidResult alcohol_to_gravity(const Liquid *liquid, double gravity_sg, double *alcohol_kg) {
    const double slack_sg = 1e-12;
    double most_kg = most_alcohol_kg(liquid);
    FermentTarget target = {liquid, gravity_sg};
    double excess_now = gravity_excess(0, &target), excess_dry = gravity_excess(most_kg, &target);
    if (isnan(excess_now) || isnan(excess_dry))
        return liquid_mass_kg(liquid) == 0 ? LIQUID_EMPTY : LIQUID_NOT_CONVERGED;
    if (excess_now < -slack_sg)
        return LIQUID_FINAL_ABOVE_PRESENT;
    if (excess_dry > slack_sg)
        return LIQUID_FINAL_TOO_LOW;
    if (excess_now <= 0)
        *alcohol_kg = 0;
    else if (excess_dry >= 0)
        *alcohol_kg = most_kg;
    else if (!numeric_find_root(gravity_excess, &target, 0, most_kg, 1e-16 * most_kg, alcohol_kg))
        return LIQUID_NOT_CONVERGED;
    return LIQUID_OK;
}

/* The same liquid as if part_kg more of its solids were sugar. */
static Liquid with_sugar_from_solids(const Liquid *liquid, double part_kg) {
    Liquid changed = *liquid;
    changed.sugar_kg += part_kg;
    changed.solids_kg = fmax(changed.solids_kg - part_kg, 0);
    return changed;
}

static void find_limit(const Liquid *liquid, double gravity_sg, FermentLimit *limit) {
    Liquid dry, most_sugar = with_sugar_from_solids(liquid, liquid->assumed_kg);
    Liquid all_sugar = with_sugar_from_solids(liquid, liquid->solids_kg);
    double alcohol_kg = 0, all_kg = all_solids_kg(liquid);
    liquid_ferment(&most_sugar, &dry);
    limit->lowest_sg = liquid_gravity_sg(&dry);
    limit->reachable = alcohol_to_gravity(&all_sugar, gravity_sg, &alcohol_kg) == LIQUID_OK && all_kg > 0;
    limit->unfermentable_share =
        limit->reachable ? fmax(1 - LIQUID_BALLING_SOLIDS * alcohol_kg / all_kg, 0) : NUMERIC_NONE;
}

/* A reading below what the sugar allows, where the share that stays was only assumed: the reading wins. What
 * is left of the assumed solids may still be sugar or not.
 */
static bool ferment_into_assumed(const Liquid *liquid, double gravity_sg, Liquid *out) {
    double alcohol_kg = 0;
    Liquid open = with_sugar_from_solids(liquid, liquid->assumed_kg);
    if (!(liquid->assumed_kg > 0) || alcohol_to_gravity(&open, gravity_sg, &alcohol_kg) != LIQUID_OK)
        return false;
    *out = with_alcohol_formed(&open, alcohol_kg);
    out->assumed_kg = out->sugar_kg;
    out->solids_kg += out->sugar_kg;
    out->sugar_kg = 0;
    return true;
}

LiquidResult liquid_ferment_to_gravity(const Liquid *liquid, double gravity_sg, Liquid *out,
                                       FermentLimit *limit) {
    double alcohol_kg = 0;
    Liquid lowered;
    if (!sugar_gravity_in_extended_range(gravity_sg))
        return LIQUID_GRAVITY_OUT_OF_RANGE;
    LiquidResult result = alcohol_to_gravity(liquid, gravity_sg, &alcohol_kg);
    if (result == LIQUID_FINAL_TOO_LOW && limit)
        find_limit(liquid, gravity_sg, limit);
    if (result == LIQUID_FINAL_TOO_LOW && ferment_into_assumed(liquid, gravity_sg, &lowered)) {
        if (limit)
            limit->lowered = true;
        *out = lowered;
        doubt_solids(out);
        return LIQUID_OK;
    }
    if (result == LIQUID_OK) {
        *out = with_alcohol_formed(liquid, alcohol_kg);
        doubt_solids(out);
    }
    return result;
}

LiquidResult liquid_set_floor(const Liquid *liquid, double floor_sg, Liquid *out) {
    double alcohol_kg = 0;
    if (!sugar_gravity_in_extended_range(floor_sg))
        return LIQUID_GRAVITY_OUT_OF_RANGE;
    Liquid all_sugar = with_sugar_from_solids(liquid, liquid->solids_kg);
    LiquidResult result = alcohol_to_gravity(&all_sugar, floor_sg, &alcohol_kg);
    if (result != LIQUID_OK)
        return result;
    bool measured = liquid->least_kg == 0 && liquid->assumed_kg == 0 && liquid->inert_kg > 0;
    double sugar_kg = LIQUID_BALLING_SOLIDS * alcohol_kg;
    *out = *liquid;
    set_sugar_kg(out,
                 measured ? fmax(sugar_kg, liquid->sugar_kg) : sugar_kg); /* of two floors the lower one */
    return LIQUID_OK;
}

/* kg of alcohol to be formed for a strength; LIQUID_FINAL_TOO_LOW when the sugar ends before. */
static LiquidResult alcohol_to_strength(const Liquid *liquid, double strength_abv, double *alcohol_kg) {
    double most_kg = most_alcohol_kg(liquid);
    FermentTarget target = {liquid, strength_abv};
    double excess_now = strength_excess(0, &target), excess_dry = strength_excess(most_kg, &target);
    if (isnan(excess_now) || isnan(excess_dry))
        return liquid_mass_kg(liquid) == 0 ? LIQUID_EMPTY : LIQUID_NOT_CONVERGED;
    if (excess_now > SLACK)
        return LIQUID_FINAL_ABOVE_PRESENT;
    if (excess_dry < -SLACK)
        return LIQUID_FINAL_TOO_LOW;
    if (excess_now >= 0)
        *alcohol_kg = 0;
    else if (excess_dry <= 0)
        *alcohol_kg = most_kg;
    else if (!numeric_find_root(strength_excess, &target, 0, most_kg, 1e-16 * most_kg, alcohol_kg))
        return LIQUID_NOT_CONVERGED;
    return LIQUID_OK;
}

LiquidResult liquid_ferment_to_strength(const Liquid *liquid, double tolerance_abv, Liquid *out) {
    double alcohol_kg = 0;
    if (!alcohol_strength_in_range(tolerance_abv))
        return LIQUID_STRENGTH_OUT_OF_RANGE;
    LiquidResult result = alcohol_to_strength(liquid, tolerance_abv, &alcohol_kg);
    if (result == LIQUID_FINAL_TOO_LOW)
        return liquid_ferment(liquid, out);
    if (result == LIQUID_FINAL_ABOVE_PRESENT)
        alcohol_kg = 0;
    else if (result != LIQUID_OK)
        return result;
    *out = with_alcohol_formed(liquid, alcohol_kg);
    doubt_solids(out);
    return LIQUID_OK;
}

LiquidResult liquid_ferment_to_attenuation(const Liquid *liquid, double attenuation_share, Liquid *out,
                                           FermentLimit *limit) {
    double brix_pct, final_sg;
    double gravity_sg = liquid_gravity_sg(liquid);
    if (!numeric_within(attenuation_share, 0, 2, 0))
        return LIQUID_SHARE_OUT_OF_RANGE;
    if (liquid_mass_kg(liquid) == 0)
        return LIQUID_EMPTY;
    /* A share of nothing, or of less than nothing, is not a target. */
    if (!sugar_brix_from_gravity(gravity_sg, &brix_pct) || brix_pct <= 0 ||
        !sugar_gravity_from_brix(brix_pct * (1 - attenuation_share), &final_sg))
        return LIQUID_GRAVITY_OUT_OF_RANGE;
    /* The way through degP and back may end a rounding above where it began. */
    return liquid_ferment_to_gravity(liquid, fmin(final_sg, gravity_sg), out, limit);
}

/* ---- Adding until a target is met ---- */

/* 1 kg of each, and what is measured on a blend of the two. */
typedef struct Blend {
    Liquid liquid;
    Liquid addition;
    double (*measure)(const Liquid *);
    double target;
} Blend;

static double blend_excess(double addition_share, void *context) {
    const Blend *blend = context;
    Liquid a = times(&blend->liquid, 1 - addition_share);
    Liquid b = times(&blend->addition, addition_share);
    Liquid both = liquid_pour(&a, &b);
    return blend->measure(&both) - blend->target;
}

static LiquidResult find_addition(const Liquid *liquid, const Liquid *addition, double target,
                                  double (*measure)(const Liquid *), double *addition_kg) {
    double mass_kg = liquid_mass_kg(liquid), addition_mass_kg = liquid_mass_kg(addition);
    double share = 0;
    if (!(mass_kg > 0) || !(addition_mass_kg > 0))
        return LIQUID_EMPTY;
    Blend blend = {times(liquid, 1 / mass_kg), times(addition, 1 / addition_mass_kg), measure, target};
    double excess_before = blend_excess(0, &blend), excess_after = blend_excess(1, &blend);
    if (isnan(excess_before) || isnan(excess_after))
        return LIQUID_NOT_CONVERGED;
    double close = SLACK * fmax(fabs(target), 1e-3);
    if (fabs(excess_before) > 1e-3 * close) {
        if (fabs(excess_after) <= close)
            return LIQUID_ADDITION_ENDLESS;
        if ((excess_before > 0) == (excess_after > 0))
            return LIQUID_ADDITION_OUT_OF_REACH;
        if (!numeric_find_root(blend_excess, &blend, 0, 1, 1e-16, &share))
            return LIQUID_NOT_CONVERGED;
    }
    *addition_kg = mass_kg * share / (1 - share);
    return LIQUID_OK;
}

LiquidResult liquid_addition_for_strength(const Liquid *liquid, const Liquid *addition, double strength_abv,
                                          double *addition_kg) {
    if (!alcohol_strength_in_range(strength_abv))
        return LIQUID_STRENGTH_OUT_OF_RANGE;
    return find_addition(liquid, addition, strength_abv, liquid_strength_abv, addition_kg);
}

LiquidResult liquid_addition_for_gravity(const Liquid *liquid, const Liquid *addition, double gravity_sg,
                                         double *addition_kg) {
    if (!sugar_gravity_in_extended_range(gravity_sg))
        return LIQUID_GRAVITY_OUT_OF_RANGE;
    return find_addition(liquid, addition, gravity_sg, liquid_gravity_sg, addition_kg);
}

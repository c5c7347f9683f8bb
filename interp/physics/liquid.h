/* SPDX-FileCopyrightText: the Rundlet developers */
/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The liquid: what is in it, what it measures, how it pours, ferments and is fortified.
 *
 * Density is Tabarie's relation (OIV-MA-AS2-03B): gravity = d_alcohol(strength) + d_solids(g/L) - 1, both
 * counted on the finished volume, with d_alcohol from OIML R 22 and d_solids from the sucrose table, so that
 * both limits are exact. Tested up to about 5 % sugar with 18 % alcohol by mass (Hackbarth, J. Am. Soc. Brew.
 * Chem. 67(3), 2009); beyond about 20 %ABV with much sugar the true liquid is lighter.
 * Fermentation is Balling's balance: 2.0665 g of solids give 1 g of alcohol, 0.9565 g of CO2 and 0.11 g of
 * yeast; the last two leave, the water stays as it is.
 * All volumes are at 20 degC, in L; masses in kg. Nothing here prints or allocates; a Liquid is plain data.
 * A result other than LIQUID_OK leaves the outputs untouched unless said otherwise. */
#ifndef PHYSICS_LIQUID_H
#define PHYSICS_LIQUID_H

#include <stdbool.h>

/* How it takes up room. Poured together with anything else of mass, all are LIQUID_MIXED. */
typedef enum LiquidForm {
    LIQUID_MIXED, /* by Tabarie's relation */
    LIQUID_DRY,  /* a dry solid: the room it takes depends on its grains, and what is asked by volume of it is
                    that of the solids when dissolved */
    LIQUID_HONEY /* by the table of honey, below */
} LiquidForm;

typedef enum LiquidRider {
    LIQUID_ACID,
    LIQUID_NITROGEN,
    LIQUID_SULPHITE,
    LIQUID_BITTERNESS,
    LIQUID_COLOUR
} LiquidRider;

typedef struct Liquid {
    /* Each of these is added when liquids are poured, and scales with the amount. */
    union {
        struct {
            double water_kg;
            double alcohol_kg;
            double sugar_kg;   /* what yeast ferments */
            double solids_kg;  /* dissolved solids that yeast leaves, as told or assumed */
            double assumed_kg; /* of solids_kg: what only a default of ours calls unfermentable; a reading may
                                  take it */
            double inert_kg; /* of solids_kg: what a verdict on a closed bottle may take for unfermentable */
            double least_kg; /* a reading that leaves less shows that nothing is known of the solids */
            double malt_kg;  /* what came from malt of the solids before fermentation */
            /* Riders, in the order of LiquidRider: part of neither mass nor density. */
            double acid_kg;
            double nitrogen_kg;
            double sulphite_kg;
            double bitter_kg;     /* iso-alpha acids, or what counts as such */
            double colour_ebc_m3; /* colour times volume, no mass: linear in dilution as they are */
        };
        double masses_kg[13]; /* all of the above, in that order */
    };
    /* Cost of all of it, in whatever money the caller keeps; meaningless unless has_cost. */
    double cost;
    bool has_cost;
    LiquidForm form;
    bool disproved; /* that reading came up: how much sugar is left is not known */
    bool unread;    /* its fermentation was taken to end where it could, and no reading says so */
    bool sweetened; /* sugar was poured in after fermentation: a floor measured before it does not count it */
} Liquid;

#define LIQUID_BALLING_SOLIDS 2.0665 /* g of solids per g of alcohol */
#define LIQUID_BALLING_CO2    0.9565 /* g of CO2 per g of alcohol */
/* Sugar of one % vol of alcohol in EU law, g/L (from memory, consistent with OIV must tables). */
#define LIQUID_SUGAR_PER_ABV_G_L    16.83
#define LIQUID_DEXTROSE_SUGAR_SHARE (10.0 / 11.0)
/* The smallest share of a juice's solids known to stay: grape musts of the OIV (24.2 degBx: 240 of 266 g/L
 * are sugar). Apple juice holds up to 18 % (USDA SR 09016); for a closed bottle those 8 % are 4 bar. */
#define LIQUID_JUICE_INERT_SHARE 0.10
/* The same of a wort: the strongest attenuation met in practice is about 95 % apparent, which is 78 % real by
 * RE = 0.1808 OE + 0.8192 AE (ASBC, EBC); the share is common practice, no source. */
#define LIQUID_MALT_INERT_SHARE 0.20

typedef enum LiquidResult {
    LIQUID_OK,
    LIQUID_EMPTY,                 /* no mass: no gravity, no volume to scale */
    LIQUID_NEGATIVE,              /* a negative amount, or one that is not finite */
    LIQUID_GRAVITY_OUT_OF_RANGE,  /* outside 1.000 to SUGAR_GRAVITY_MAX_SG, or the extended range */
    LIQUID_STRENGTH_OUT_OF_RANGE, /* outside 0 to 100 %ABV */
    LIQUID_SHARE_OUT_OF_RANGE,    /* a share outside 0 to 1 */
    LIQUID_LIGHTER_THAN_STRENGTH, /* gravity below that of water and alcohol alone: no room for solids */
    LIQUID_HEAVIER_THAN_STRENGTH, /* so much alcohol and solids that no water is left */
    LIQUID_SUGAR_ABOVE_SOLIDS,    /* more sugar than dissolved solids */
    LIQUID_MORE_THAN_THERE_IS,    /* taking more than the liquid */
    LIQUID_FINAL_TOO_LOW,         /* the sugar does not allow that gravity (or strength) */
    LIQUID_FINAL_ABOVE_PRESENT,   /* fermentation only lowers a gravity and raises a strength */
    LIQUID_ADDITION_OUT_OF_REACH, /* target not between the liquid and what is added */
    LIQUID_ADDITION_ENDLESS,      /* target is that of the addition itself: no amount will do */
    LIQUID_NOT_CONVERGED          /* never seen; reported rather than a wrong number */
} LiquidResult;

/* ---- Asking ---- */

typedef enum LiquidProperty {
    LIQUID_VOLUME_L,
    LIQUID_MASS_KG,
    LIQUID_DENSITY_KG_M3,
    LIQUID_GRAVITY_SG, /* apparent: what a hydrometer reads */
    LIQUID_STRENGTH_ABV,
    LIQUID_SUGAR_G_L,
    LIQUID_SUGAR_MOST_G_L, /* what may ferment at the most: all solids but inert_kg */
    LIQUID_SOLIDS_G_L,     /* all dissolved solids, sugar included */
    LIQUID_ACID_G_L,
    LIQUID_NITROGEN_MG_L,
    LIQUID_SULPHITE_MG_L,
    LIQUID_BITTERNESS_MG_L, /* IBU */
    LIQUID_COLOUR_EBC,
    LIQUID_BRIX_PCT,       /* dissolved solids, % by mass */
    LIQUID_ALCOHOL_G,      /* mass of alcohol in all of it */
    LIQUID_POTENTIAL_ABV,  /* strength plus sugar at 16.83 g/L per % vol */
    LIQUID_ENERGY_KJ_L,    /* 29 kJ/g alcohol, 17 kJ/g solids: Regulation (EU) 1169/2011 Annex XIV */
    LIQUID_CALORIES_KCAL_L /* 7 and 4 kcal/g, ibid.; not the kJ figure divided by 4.184 */
} LiquidProperty;

/* One property. Volume, mass and alcohol of an empty liquid are 0; anything else of it is LIQUID_EMPTY. */
LiquidResult liquid_get(const Liquid *liquid, LiquidProperty property, double *value);

/* The same as functions, for callers in C. NaN where liquid_get would fail. */
double liquid_mass_kg(const Liquid *liquid);
double liquid_volume_l(const Liquid *liquid);
double liquid_gravity_sg(const Liquid *liquid);
double liquid_strength_abv(const Liquid *liquid);

/* True when every mass is finite and none is negative (the cost is free). */
bool liquid_is_possible(const Liquid *liquid);

/* ---- Making: each makes 1 kg; liquid_scale then gives it its size ---- */

/* Juice: 1.000 SG to SUGAR_GRAVITY_MAX_SG; unfermentable_share of its solids stays, 0 to 1. */
LiquidResult liquid_make_juice(double gravity_sg, double unfermentable_share, Liquid *out);
/* Marks the unfermentable solids of something just made as assumed, not told. */
void liquid_assume_share(Liquid *liquid);
Liquid liquid_make_water(void);
/* Water and alcohol, 0 to 100 %ABV. */
LiquidResult liquid_make_spirit(double strength_abv, Liquid *out);
Liquid liquid_make_sucrose(void);
/* Dextrose monohydrate: 10/11 sugar, the rest water. */
Liquid liquid_make_dextrose(void);
/* Wort, malt syrup or dried malt extract: solids_share of its mass is solids, of which unfermentable_share
 * stays; a verdict on a closed bottle relies on LIQUID_MALT_INERT_SHARE at most. */
LiquidResult liquid_make_malt(double solids_share, double unfermentable_share, Liquid *out);
/* Honey: water_share of its mass is water, unfermentable_share of its solids stays. Its sugars are inverted,
 * so it is 0.8 % lighter than sucrose of the same strength: relative density by share of water from J. W.
 * White, Honey, in Crane, Honey: a comprehensive survey, 1975 (1.4237 at 17 % and 1.4171 at 18 % seen, the
 * rest from memory); outside 13 to 21 % the ratio to sucrose continues, and ends at water. */
LiquidResult liquid_make_honey(double water_share, double unfermentable_share, Liquid *out);
/* What was measured: apparent gravity and strength, all solids taken as sugar. The gravity must leave room
 * for the strength, see liquid_lowest_gravity_sg. */
LiquidResult liquid_make_measured(double gravity_sg, double strength_abv, Liquid *out);

/* Gravity of water and alcohol alone at a strength: no liquid of that strength is lighter. */
LiquidResult liquid_lowest_gravity_sg(double strength_abv, double *gravity_sg);

/* ---- Changing ---- */

/* Poured together: masses, riders and costs add; a missing cost counts as 0 unless both are missing. */
Liquid liquid_pour(const Liquid *a, const Liquid *b);
/* Everything times a factor, cost included; the factor must be finite and not negative. */
LiquidResult liquid_scale(const Liquid *liquid, double factor, Liquid *out);
/* A part of what there is, and what is left (either may be NULL), the cost shared. Up to 1e-9 too much takes
 * all. */
LiquidResult liquid_take_volume(const Liquid *liquid, double volume_l, Liquid *taken, Liquid *left);
LiquidResult liquid_take_mass(const Liquid *liquid, double mass_kg, Liquid *taken, Liquid *left);

/* Copies with a concentration set. Sugar moves the border between sugar and other solids: the gravity stays,
 * more than the solids is LIQUID_SUGAR_ABOVE_SOLIDS. */
LiquidResult liquid_set_sugar_g_l(const Liquid *liquid, double sugar_g_l, Liquid *out);
/* The border between sugar and other solids out of the gravity at which a forced sample stopped. A floor
 * above the present gravity is LIQUID_FINAL_ABOVE_PRESENT, one that all solids cannot give
 * LIQUID_FINAL_TOO_LOW. */
LiquidResult liquid_set_floor(const Liquid *liquid, double floor_sg, Liquid *out);
/* In g/L; a colour in EBC. */
LiquidResult liquid_set_rider(const Liquid *liquid, LiquidRider rider, double per_volume, Liquid *out);
/* The share of its solids before fermentation that came from malt, 0 to 1; 0 if there were no solids. */
double liquid_malt_share(const Liquid *liquid);

/* ---- Fermenting ---- */

/* How far a liquid can go, for a target below what its sugar allows. */
typedef struct FermentLimit {
    double lowest_sg;           /* gravity when all its sugar, and what may be sugar, has fermented */
    bool reachable;             /* whether the target could be met if all solids were sugar */
    double unfermentable_share; /* when reachable: the largest share of the solids that may stay (0 to 1) */
    bool lowered; /* the target was met by taking assumed_kg for sugar; the other three are then filled too */
} FermentLimit;

/* All its sugar. */
LiquidResult liquid_ferment(const Liquid *liquid, Liquid *out);
/* A share (0 to 1) of its sugar. */
LiquidResult liquid_ferment_share(const Liquid *liquid, double share, Liquid *out);
/* Down to an apparent gravity. One below what the sugar allows takes from assumed_kg, as the reading shows
 * that it was sugar (limit->lowered). LIQUID_FINAL_TOO_LOW fills *limit (which may be NULL). */
LiquidResult liquid_ferment_to_gravity(const Liquid *liquid, double gravity_sg, Liquid *out,
                                       FermentLimit *limit);
/* Until the yeast's tolerance or the end of the sugar, whichever comes first; a liquid already stronger
 * stays as it is. */
LiquidResult liquid_ferment_to_strength(const Liquid *liquid, double tolerance_abv, Liquid *out);
/* To an apparent attenuation: degP falls by that share, 0 to about 1.2. */
LiquidResult liquid_ferment_to_attenuation(const Liquid *liquid, double attenuation_share, Liquid *out,
                                           FermentLimit *limit);

/* ---- Adding until a target is met ---- */

/* kg of `addition` (any size of it) that brings `liquid` to the target: spirit or water to a strength, sugar,
 * juice or water to a gravity. 0 when it is there already. */
LiquidResult liquid_addition_for_strength(const Liquid *liquid, const Liquid *addition, double strength_abv,
                                          double *addition_kg);
LiquidResult liquid_addition_for_gravity(const Liquid *liquid, const Liquid *addition, double gravity_sg,
                                         double *addition_kg);

#endif

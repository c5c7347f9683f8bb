/* SPDX-FileCopyrightText: the Rundlet developers */
/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What is said, and when. A topic that has come up in this run is not repeated, whatever numbers are in its
 * words. */
#include "runtime/cautions.h"

#include <math.h>

#include "physics/alcohol.h"
#include "physics/carbon_dioxide.h"
#include "quantities/quantity_arg.h"

/* ---- spirit ---- */

static const double FORTIFIED_MOST_ABV = 22, SPIRIT_LEAST_ABV = 15;
/* By mass, well below both at any density: spares the solve for a strength. */
static const double SPIRIT_LEAST_SHARE = 0.10;

/* A warm room and a cool one: a spirit whose flash point lies below is a danger of its own, and one topic. */
typedef struct FlashTopic {
    double below_c;
    const char *topic;
} FlashTopic;

static const FlashTopic flash_topics[] = {{22, "spirit-22"}, {18, "spirit-18"}};

bool caution_is_spirit(const Liquid *liquid) {
    double mass_kg = liquid_mass_kg(liquid);
    if (!(mass_kg > 0) || liquid->alcohol_kg < SPIRIT_LEAST_SHARE * mass_kg)
        return false;
    double strength_abv = liquid_strength_abv(liquid);
    bool bare = liquid->sugar_kg + liquid->solids_kg <= 1e-6 * mass_kg;
    return strength_abv > FORTIFIED_MOST_ABV || (bare && strength_abv >= SPIRIT_LEAST_ABV - 1e-6);
}

/* Whole degrees, downwards: the safe side. */
static double flash_point_c(double strength_abv) {
    return floor(alcohol_flash_point_c(strength_abv) + 1e-3);
}

/* "spirit of 40 %ABV gives off flammable vapour from about 26 °C" */
static MessageArg flash_point(double strength_abv) {
    bool weak = strength_abv < ALCOHOL_FLASH_LEAST_ABV;
    double told_abv = weak ? ALCOHOL_FLASH_LEAST_ABV : strength_abv;
    int places = fabs(told_abv - nearbyint(told_abv)) < 0.05 ? 0 : 1;
    return arg_phrase(
        weak ? PHRASE_FLASH_POINT_WEAK : PHRASE_FLASH_POINT,
        ARGS(arg_places(told_abv, places, "%ABV"), arg_places(flash_point_c(told_abv), 0, "°C")));
}

/* Is there a danger in this spirit that this run has not mentioned yet? */
static bool burns_more_easily(const NativeContext *context, double strength_abv) {
    bool more = false;
    for (size_t i = 0; i < sizeof flash_topics / sizeof *flash_topics; i++)
        if (flash_point_c(strength_abv) <= flash_topics[i].below_c)
            more = native_caution(context, flash_topics[i].topic, MSG_NONE, NO_ARGS) || more;
    return more;
}

void caution_spirit(const NativeContext *context, double strength_abv) {
    bool more = burns_more_easily(context, strength_abv);
    bool first = native_caution(context, "spirit", CAUTION_FORTIFYING, ARGS(flash_point(strength_abv)));
    if (!first && more)
        native_caution(context, NULL, CAUTION_FORTIFYING_WARM, ARGS(flash_point(strength_abv)));
}

/* ---- sugar ---- */

/* Shares by mass. */
static const double ALCOHOL_FREE_SHARE = 0.004; /* 0.5 %ABV: fresh juice may hold as much */
static const double SUGAR_LEAST_SHARE = 1e-4;   /* of the blend, brought by what is poured */
/* 4 g/L: up to there a wine counts as dry in EU law (Regulation (EU) 2019/33, Annex III). */
static const double DRY_SHARE = 0.004;
/* Few yeasts work above it (common practice); no blend below that share by mass is so strong. */
static const double YEAST_MOST_ABV = 18, YEAST_MOST_SHARE = 0.10;

static double share(double part_kg, const Liquid *liquid) {
    return part_kg / liquid_mass_kg(liquid);
}

static bool too_strong_for_yeast(const Liquid *blend) {
    return share(blend->alcohol_kg, blend) > YEAST_MOST_SHARE && liquid_strength_abv(blend) > YEAST_MOST_ABV;
}

/* Does sugar come to yeast that had none, or less? */
static bool sugar_meets_yeast(const Liquid *a, const Liquid *b, bool a_is_spirit, bool b_is_spirit) {
    bool a_fermented = !a_is_spirit && share(a->alcohol_kg, a) > ALCOHOL_FREE_SHARE;
    bool b_fermented = !b_is_spirit && share(b->alcohol_kg, b) > ALCOHOL_FREE_SHARE;
    Liquid blend = liquid_pour(a, b);
    if (a_fermented && b_fermented) {
        double drier = fmin(share(a->sugar_kg, a), share(b->sugar_kg, b));
        double sweeter = fmax(share(a->sugar_kg, a), share(b->sugar_kg, b));
        return share(blend.sugar_kg, &blend) > DRY_SHARE && drier < sweeter / 2 &&
               !too_strong_for_yeast(&blend);
    }
    if (!a_fermented && !b_fermented)
        return false;
    double brought_kg = a_fermented ? b->sugar_kg : a->sugar_kg;
    return share(brought_kg, &blend) > SUGAR_LEAST_SHARE && !too_strong_for_yeast(&blend);
}

void caution_sweetening(const NativeContext *context) {
    native_caution(context, NULL, CAUTION_SWEETENING, NO_ARGS);
}

void caution_poured(const NativeContext *context, const Liquid *a, const Liquid *b) {
    if (!(liquid_mass_kg(a) > 0) || !(liquid_mass_kg(b) > 0) || (a->alcohol_kg == 0 && b->alcohol_kg == 0))
        return;
    bool a_is_spirit = caution_is_spirit(a), b_is_spirit = caution_is_spirit(b);
    if (a_is_spirit)
        caution_spirit(context, liquid_strength_abv(a));
    if (b_is_spirit)
        caution_spirit(context, liquid_strength_abv(b));
    if (sugar_meets_yeast(a, b, a_is_spirit, b_is_spirit))
        caution_sweetening(context);
}

/* ---- carbon dioxide ---- */

/* A small room, our own assumption: 20 m3 (3 m by 3 m), closed, with the CO2 of fresh air in it. */
static const double ROOM_M3 = 20, ROOM_LIMIT_PPM = 5000, FRESH_AIR_PPM = 420;

void caution_fermented(const NativeContext *context, const Liquid *before, const Liquid *after) {
    double co2_kg = (after->alcohol_kg - before->alcohol_kg) * LIQUID_BALLING_CO2;
    if (co2_kg / CO2_GAS_20C_KG_M3 > ROOM_M3 * (ROOM_LIMIT_PPM - FRESH_AIR_PPM) * 1e-6)
        native_caution(context, NULL, CAUTION_FERMENTING, NO_ARGS);
}

/* SPDX-FileCopyrightText: the Rundlet developers */
/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Natives that make and change liquids (docs/reference/language.md, "Liquids"). Amounts, riders and costs are
 * read here, the physics is in physics/liquid.c, and what they share with the operators in
 * values/liquid_value.c. */
#include <math.h>
#include <string.h>

#include "physics/sugar.h"
#include "runtime/native_liquid.h"
#include "runtime/native_tables.h"
#include "values/kind_check.h"
#include "values/liquid_value.h"
#include "values/value_arg.h"

/* ---- faults ---- */

bool native_liquid_outcome(Call *call, int index, LiquidResult outcome) {
    return liquid_value_check(&call->arith, outcome) || native_place(call, index);
}

static bool fail_juice_range(Call *call, int index) {
    double most_sg = floor(SUGAR_GRAVITY_MAX_SG * 1000) / 1000; /* a bound that is itself allowed */
    native_fail(call, index, MSG_LIQUID_JUICE_RANGE,
                ARGS(arg_places(1, 3, "SG"), arg_places(most_sg, 3, "SG"),
                     arg_value(call->arith.units, call->args[index])));
    kind_hint_gravity(call->arith.units, call->args[index], call->arith.fault);
    return false;
}

bool native_liquid_juice(Call *call, int index, double share, Liquid *juice) {
    double gravity_sg = 0;
    if (!native_in(call, index, UNIT_SG, &gravity_sg))
        return false;
    LiquidResult outcome = liquid_make_juice(gravity_sg, share, juice);
    if (outcome == LIQUID_GRAVITY_OUT_OF_RANGE)
        return fail_juice_range(call, index);
    return outcome == LIQUID_OK || native_liquid_outcome(call, index, outcome);
}

/* 1 kg of a liquid of the apparent gravity and the strength in two arguments. */
static bool read_measured(Call *call, int gravity_at, int strength_at, Liquid *liquid) {
    double gravity_sg = 0, strength_abv = 0, lowest_sg = 0;
    if (!native_in(call, gravity_at, UNIT_SG, &gravity_sg) ||
        !native_in(call, strength_at, UNIT_ABV, &strength_abv))
        return false;
    LiquidResult outcome = liquid_make_measured(gravity_sg, strength_abv, liquid);
    if (outcome != LIQUID_LIGHTER_THAN_STRENGTH)
        return native_liquid_outcome(call, outcome == LIQUID_STRENGTH_OUT_OF_RANGE ? strength_at : gravity_at,
                                     outcome);
    liquid_lowest_gravity_sg(strength_abv, &lowest_sg);
    return native_fail(call, gravity_at, MSG_LIQUID_TOO_LIGHT,
                       ARGS(arg_places(ceil(lowest_sg * 1e4) / 1e4, 4, "SG")));
}

/* An argument that was not given; none where its declaration allows that, as a formula passes its own on. */
static bool is_left_out(const Call *call, int index) {
    return native_absent(call, index) || call->args[index].tag == TAG_NONE;
}

/* ---- amount, riders, cost ---- */

/* Where the common arguments of a maker are; -1 when it has none of the kind. */
typedef struct Places {
    int volume, mass, cost;
    UnitId unit; /* of the amount when none is given: 1 L or 1 kg; UNIT_NUMBER: it must be given */
} Places;

/* The riders of a maker, by field name; each parameter is a concentration that may be absent. */
static bool set_rider(Call *call, int index, const char *name, Liquid *liquid) {
    if (native_absent(call, index))
        return true;
    Value value = call->args[index];
    if (value_is_quantity(value) && value.as.number == 0 && strcmp(name, "sugar") != 0 &&
        unit_same_kind(call->arith.units, value.unit, UNIT_G_PER_L))
        return true; /* the default: nothing to work out */
    return liquid_value_set(&call->arith, name, value, liquid) || native_place(call, index);
}

static bool read_amount(Call *call, const Places *places, Value *amount, int *index) {
    bool has_volume = places->volume >= 0 && !native_absent(call, places->volume);
    bool has_mass = places->mass >= 0 && !native_absent(call, places->mass);
    if (has_volume && has_mass)
        return native_fail(call, places->mass, MSG_LIQUID_TWO_AMOUNTS, ARGS(call->name));
    *index = has_mass ? places->mass : places->volume >= 0 ? places->volume : places->mass;
    if (!has_volume && !has_mass) {
        *amount = value_amount(1, places->unit);
        return places->unit != UNIT_NUMBER || native_fail(call, -1, MSG_LIQUID_NO_AMOUNT, ARGS(call->name));
    }
    *amount = call->args[*index];
    return true;
}

/* 1 kg of something becomes the amount asked for, with its cost. */
static bool make(Call *call, const Liquid *recipe, const Places *places) {
    Value amount, sized;
    int index = 0;
    LiquidObject stock = {.liquid = *recipe};
    if (!read_amount(call, places, &amount, &index))
        return false;
    if (!liquid_value_of(&call->arith, amount, &stock, &sized))
        return native_place(call, index);
    if (native_absent(call, places->cost)) {
        call->result = sized;
        return true;
    }
    LiquidObject *made = sized.as.liquid;
    if (!liquid_value_set_cost(&call->arith, call->args[places->cost], &made->liquid, &made->money))
        return native_place(call, places->cost);
    call->result = sized;
    return true;
}

/* ---- makers ---- */

enum {
    JUICE_GRAVITY,
    JUICE_VOLUME,
    JUICE_ACID,
    JUICE_NITROGEN,
    JUICE_UNFERMENTABLE,
    JUICE_COST,
    JUICE_MASS,
    JUICE_BITTERNESS,
    JUICE_COLOUR
};

/* The share of its solids that yeast leaves, %: as told, else the default. */
static bool read_share(Call *call, int index, double by_default, double *share_percent) {
    *share_percent = by_default;
    return is_left_out(call, index) || native_within(call, index, UNIT_PERCENT, 0, 100, share_percent);
}

static bool juice_native(Call *call) {
    static const Places places = {JUICE_VOLUME, JUICE_MASS, JUICE_COST, UNIT_L};
    const double apple_percent = 18; /* USDA SR 09016: 9.62 g of sugars in 11.76 g of solids */
    double share = 0;
    Liquid juice;
    if (!read_share(call, JUICE_UNFERMENTABLE, apple_percent, &share) ||
        !native_liquid_juice(call, JUICE_GRAVITY, share / 100, &juice))
        return false;
    if (native_absent(call, JUICE_UNFERMENTABLE)) {
        liquid_assume_share(&juice);
        native_assume(call, NOTE_JUICE_SHARE); /* the strength of a dry cider depends on it */
    }
    return set_rider(call, JUICE_ACID, "acid", &juice) &&
           set_rider(call, JUICE_NITROGEN, "nitrogen", &juice) &&
           set_rider(call, JUICE_BITTERNESS, "bitterness", &juice) &&
           set_rider(call, JUICE_COLOUR, "colour", &juice) && make(call, &juice, &places);
}

enum { MALT_MASS, MALT_SOLIDS, MALT_UNFERMENTABLE, MALT_BITTERNESS, MALT_COLOUR, MALT_IN, MALT_COST };

/* A rider of a malt liquid: so much per volume of a volume that it is told for, whatever its own. */
static bool set_malt_rider(Call *call, int index, UnitId unit, double volume_m3, double *amount) {
    double per_volume = 0;
    if (is_left_out(call, index))
        return true;
    if (!native_in(call, index, unit, &per_volume))
        return false;
    if (per_volume < 0)
        return native_fail(call, index, MSG_LIQUID_NEGATIVE_PART,
                           ARGS(index == MALT_COLOUR ? "colour" : "bitterness"));
    *amount = per_volume * volume_m3;
    return true;
}

static bool malt_liquid_native(Call *call) {
    static const Places places = {-1, MALT_MASS, MALT_COST, UNIT_NUMBER};
    const double left_percent = 30; /* common practice: a wort of 12 °P ends near 2.5 °P */
    double mass_kg = 0, solids = 0, share = 0, volume_l = 0;
    Liquid malt;
    if (!native_in(call, MALT_MASS, UNIT_KG, &mass_kg) ||
        !native_within(call, MALT_SOLIDS, UNIT_PERCENT, 0, 100, &solids) ||
        !read_share(call, MALT_UNFERMENTABLE, left_percent, &share) ||
        !native_liquid_outcome(call, MALT_SOLIDS, liquid_make_malt(solids / 100, share / 100, &malt)) ||
        (!is_left_out(call, MALT_IN) && !native_in(call, MALT_IN, UNIT_L, &volume_l)))
        return false;
    if (is_left_out(call, MALT_UNFERMENTABLE)) {
        liquid_assume_share(&malt);
        native_assume(call, NOTE_MALT_SHARE);
    }
    if (mass_kg > 0 &&
        (!set_malt_rider(call, MALT_BITTERNESS, UNIT_G_PER_L, volume_l / 1000 / mass_kg, &malt.bitter_kg) ||
         !set_malt_rider(call, MALT_COLOUR, UNIT_EBC, volume_l / 1000 / mass_kg, &malt.colour_ebc_m3)))
        return false;
    return make(call, &malt, &places);
}

static bool water_native(Call *call) {
    static const Places places = {0, 1, 2, UNIT_L};
    Liquid water = liquid_make_water();
    return make(call, &water, &places);
}

static bool spirit_native(Call *call) {
    static const Places places = {1, 3, 2, UNIT_L};
    double strength_abv = 0;
    Liquid spirit;
    return native_in(call, 0, UNIT_ABV, &strength_abv) &&
           native_liquid_outcome(call, 0, liquid_make_spirit(strength_abv, &spirit)) &&
           make(call, &spirit, &places);
}

static bool sugar_native(Call *call) {
    static const Places places = {-1, 0, 1, UNIT_KG};
    Liquid sugar = liquid_make_sucrose();
    return make(call, &sugar, &places);
}

static bool dextrose_native(Call *call) {
    static const Places places = {-1, 0, 1, UNIT_KG};
    Liquid dextrose = liquid_make_dextrose();
    return make(call, &dextrose, &places);
}

static bool honey_native(Call *call) {
    static const Places places = {-1, 0, 3, UNIT_KG};
    const double left_percent = 6; /* USDA Technical Bulletin 1261: 94.3 % of the solids are named sugars */
    double water = 0, unfermentable = 0;
    Liquid honey;
    if (!native_within(call, 1, UNIT_PERCENT, 0, 100, &water) ||
        !read_share(call, 2, left_percent, &unfermentable) ||
        !native_liquid_outcome(call, 1, liquid_make_honey(water / 100, unfermentable / 100, &honey)))
        return false;
    if (native_absent(call, 2))
        liquid_assume_share(&honey);
    native_caution(call->context, NULL, CAUTION_HONEY, NO_ARGS);
    return make(call, &honey, &places);
}

enum {
    MEASURED_VOLUME,
    MEASURED_GRAVITY,
    MEASURED_STRENGTH,
    MEASURED_SUGAR,
    MEASURED_ACID,
    MEASURED_NITROGEN,
    MEASURED_SULPHITE,
    MEASURED_COST,
    MEASURED_MASS,
    MEASURED_FLOOR,
    MEASURED_BITTERNESS,
    MEASURED_COLOUR
};

static bool liquid_native(Call *call) {
    static const Places places = {MEASURED_VOLUME, MEASURED_MASS, MEASURED_COST, UNIT_NUMBER};
    Liquid liquid;
    if (!read_measured(call, MEASURED_GRAVITY, MEASURED_STRENGTH, &liquid))
        return false;
    if (!native_absent(call, MEASURED_SUGAR) && !native_absent(call, MEASURED_FLOOR))
        return native_fail(call, MEASURED_FLOOR, MSG_LIQUID_SUGAR_AND_FLOOR, NO_ARGS);
    if (!native_liquid_floor(call, MEASURED_FLOOR, &liquid) ||
        !set_rider(call, MEASURED_SUGAR, "sugar", &liquid) ||
        !set_rider(call, MEASURED_ACID, "acid", &liquid) ||
        !set_rider(call, MEASURED_NITROGEN, "nitrogen", &liquid) ||
        !set_rider(call, MEASURED_SULPHITE, "sulphite", &liquid) ||
        !set_rider(call, MEASURED_BITTERNESS, "bitterness", &liquid) ||
        !set_rider(call, MEASURED_COLOUR, "colour", &liquid) || !make(call, &liquid, &places))
        return false;
    bool is_parted = !native_absent(call, MEASURED_SUGAR) || !native_absent(call, MEASURED_FLOOR);
    if (!is_parted && liquid.sugar_kg > 0)
        native_assume(call, NOTE_ALL_SUGAR);
    return true;
}

/* ---- amounts of what there is ---- */

static bool resize_native(Call *call) {
    return liquid_value_of(&call->arith, call->args[1], native_liquid(call, 0), &call->result) ||
           native_place(call, 1);
}

static bool take_native(Call *call) {
    return liquid_value_take(&call->arith, native_liquid(call, 0), call->args[1], &call->result) ||
           native_place(call, 1);
}

static bool lose_native(Call *call) {
    return liquid_value_lose(&call->arith, native_liquid(call, 0), call->args[1], &call->result) ||
           native_place(call, 1);
}

static bool without_water_native(Call *call) {
    LiquidObject *object = native_liquid(call, 0);
    Liquid left = object->liquid;
    double water_kg = 0;
    if (!native_in(call, 1, UNIT_KG, &water_kg))
        return false;
    if (water_kg < 0 || water_kg > left.water_kg * (1 + 1e-9))
        return native_fail(call, 1, MSG_LIQUID_MORE_THAN_THERE_IS,
                           ARGS(arg_value(call->arith.units, call->args[1]),
                                arg_phrase(PHRASE_OF_WATER, ARGS(arg_plain(left.water_kg, "kg")))));
    left.water_kg = fmax(left.water_kg - water_kg, 0);
    if (!liquid_value_make(&call->arith, &left, object->money, &call->result))
        return false;
    liquid_value_keep_units(call->result.as.liquid, object);
    return true;
}

static const Native rows[] = {
    NATIVE(dextrose), NATIVE(honey),  NATIVE(juice), NATIVE(liquid), NATIVE(lose),  NATIVE(malt_liquid),
    NATIVE(resize),   NATIVE(spirit), NATIVE(sugar), NATIVE(take),   NATIVE(water), NATIVE(without_water),
};

const NativeTable native_liquid_table = NATIVE_TABLE(rows);

/* SPDX-FileCopyrightText: the Rundlet developers */
/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Natives that make and change liquids (docs/reference/language.md, "Liquids"). Amounts, riders and costs are
 * read here, the physics is in physics/liquid.c, and what they share with the operators in
 * values/liquid_value.c. */
#include <math.h>
#include <string.h>

#include "physics/sugar.h"
#include "runtime/cautions.h"
#include "runtime/native_liquid.h"
#include "runtime/native_tables.h"
#include "values/display.h"
#include "values/kind_check.h"
#include "values/liquid_value.h"

/* ---- faults ---- */

static void add_gravity(Text *out, double gravity_sg, int places) {
    format_places(out, gravity_sg, places);
    text_add_string(out, " SG");
}

/* The argument as it would be shown. */
static void add_argument(Text *out, const Call *call, int index) {
    display_brief(out, call->arith.units, call->args[index], false);
}

static bool place_outcome(Call *call, int index, LiquidResult outcome) {
    return liquid_value_check(&call->arith, outcome) || native_place(call, index);
}

static bool fail_juice_range(Call *call, int index) {
    Text low = {0}, high = {0}, came = {0};
    add_gravity(&low, 1, 3);
    add_gravity(&high, floor(SUGAR_GRAVITY_MAX_SG * 1000) / 1000, 3); /* a bound that is itself allowed */
    add_argument(&came, call, index);
    native_fail(call, index, MSG_LIQUID_JUICE_RANGE,
                ARGS(text_string(&low), text_string(&high), text_string(&came)));
    kind_hint_gravity(call->arith.units, call->args[index], call->arith.fault);
    text_free(&low);
    text_free(&high);
    text_free(&came);
    return false;
}

/* Names the lowest gravity possible, and the share of unfermentable solids that would do. */
static bool fail_too_low(Call *call, int index, const FermentLimit *limit) {
    Text asked = {0}, lowest = {0}, hint = {0};
    add_argument(&asked, call, index);
    add_gravity(&lowest, ceil(limit->lowest_sg * 1e4 - 1e-8) / 1e4, 4); /* upwards: one that can be reached */
    native_fail(call, index, MSG_LIQUID_FINAL_TOO_LOW, ARGS(text_string(&asked), text_string(&lowest)));
    if (limit->reachable) {
        text_add_string(&hint, "possible when yeast leaves no more of the solids: unfermentable: ");
        format_places(&hint, floor(limit->unfermentable_share * 1000) / 10, 1);
        text_add_string(&hint, "% at most");
    } else {
        text_add_string(&hint, "not even if all solids were sugar: check both gravities");
    }
    fault_hint(call->arith.fault, text_string(&hint));
    text_free(&asked);
    text_free(&lowest);
    text_free(&hint);
    return false;
}

static bool fail_at_present(Call *call, int index, MessageId id, const Liquid *liquid) {
    Text asked = {0}, now = {0};
    add_argument(&asked, call, index);
    add_gravity(&now, liquid_gravity_sg(liquid), 4);
    native_fail(call, index, id, ARGS(text_string(&asked), text_string(&now)));
    text_free(&asked);
    text_free(&now);
    return false;
}

bool native_liquid_fermented(Call *call, int index, LiquidResult outcome, const Liquid *before,
                             const FermentLimit *limit) {
    if (outcome == LIQUID_FINAL_TOO_LOW)
        return fail_too_low(call, index, limit);
    if (outcome == LIQUID_FINAL_ABOVE_PRESENT)
        return fail_at_present(call, index, MSG_LIQUID_FINAL_ABOVE_PRESENT, before);
    return place_outcome(call, index, outcome);
}

bool native_liquid_juice(Call *call, int index, double share, Liquid *juice) {
    double gravity_sg = 0;
    if (!native_in(call, index, UNIT_SG, &gravity_sg))
        return false;
    LiquidResult outcome = liquid_make_juice(gravity_sg, share, juice);
    if (outcome == LIQUID_GRAVITY_OUT_OF_RANGE)
        return fail_juice_range(call, index);
    return outcome == LIQUID_OK || place_outcome(call, index, outcome);
}

bool native_liquid_measured(Call *call, int gravity_at, int strength_at, Liquid *liquid) {
    double gravity_sg = 0, strength_abv = 0, lowest_sg = 0;
    if (!native_in(call, gravity_at, UNIT_SG, &gravity_sg) ||
        !native_in(call, strength_at, UNIT_ABV, &strength_abv))
        return false;
    LiquidResult outcome = liquid_make_measured(gravity_sg, strength_abv, liquid);
    if (outcome != LIQUID_LIGHTER_THAN_STRENGTH)
        return place_outcome(call, outcome == LIQUID_STRENGTH_OUT_OF_RANGE ? strength_at : gravity_at,
                             outcome);
    Text lowest = {0};
    liquid_lowest_gravity_sg(strength_abv, &lowest_sg);
    add_gravity(&lowest, ceil(lowest_sg * 1e4) / 1e4, 4);
    native_fail(call, gravity_at, MSG_LIQUID_TOO_LIGHT, ARGS(text_string(&lowest)));
    text_free(&lowest);
    return false;
}

/* ---- amount, riders, cost ---- */

/* Where the common arguments of a maker stand; -1 when it has none of the kind. */
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
        return native_fail(call, places->mass, MSG_LIQUID_TWO_AMOUNTS, ARGS(call->formula->name));
    *index = has_mass ? places->mass : places->volume >= 0 ? places->volume : places->mass;
    if (!has_volume && !has_mass) {
        *amount = value_amount(1, places->unit);
        return places->unit != UNIT_NUMBER ||
               native_fail(call, -1, MSG_LIQUID_NO_AMOUNT, ARGS(call->formula->name));
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

enum { JUICE_GRAVITY, JUICE_VOLUME, JUICE_ACID, JUICE_NITROGEN, JUICE_UNFERMENTABLE, JUICE_COST, JUICE_MASS };

/* The strength of a cider hangs on it, so a report says so (USDA SR 09016: 9.62 g of sugars in 11.76 g of
 * solids). */
static void assume_apple_share(Call *call, double share_percent) {
    if (share_percent == 18 && call->context->assume)
        call->context->assume(call->context->callback_context,
                              "yeast leaves 18 % of the dissolved solids of a juice, as in apple juice");
}

static bool juice_native(Call *call) {
    static const Places places = {JUICE_VOLUME, JUICE_MASS, JUICE_COST, UNIT_L};
    double share = 0;
    Liquid juice;
    if (!native_within(call, JUICE_UNFERMENTABLE, UNIT_PERCENT, 0, 100, &share))
        return false;
    assume_apple_share(call, share);
    return native_liquid_juice(call, JUICE_GRAVITY, share / 100, &juice) &&
           set_rider(call, JUICE_ACID, "acid", &juice) &&
           set_rider(call, JUICE_NITROGEN, "nitrogen", &juice) && make(call, &juice, &places);
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
           place_outcome(call, 0, liquid_make_spirit(strength_abv, &spirit)) && make(call, &spirit, &places);
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
    double water = 0, unfermentable = 0;
    Liquid honey;
    if (!native_within(call, 1, UNIT_PERCENT, 0, 100, &water) ||
        !native_within(call, 2, UNIT_PERCENT, 0, 100, &unfermentable))
        return false;
    return place_outcome(call, 1, liquid_make_honey(water / 100, unfermentable / 100, &honey)) &&
           make(call, &honey, &places);
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
    MEASURED_MASS
};

static bool liquid_native(Call *call) {
    static const Places places = {MEASURED_VOLUME, MEASURED_MASS, MEASURED_COST, UNIT_NUMBER};
    Liquid liquid;
    if (!native_liquid_measured(call, MEASURED_GRAVITY, MEASURED_STRENGTH, &liquid) ||
        !set_rider(call, MEASURED_SUGAR, "sugar", &liquid) ||
        !set_rider(call, MEASURED_ACID, "acid", &liquid) ||
        !set_rider(call, MEASURED_NITROGEN, "nitrogen", &liquid) ||
        !set_rider(call, MEASURED_SULPHITE, "sulphite", &liquid) || !make(call, &liquid, &places))
        return false;
    if (native_absent(call, MEASURED_SUGAR) && liquid.sugar_kg > 0 && call->context->assume)
        call->context->assume(call->context->callback_context,
                              "a liquid given without sugar: all its dissolved solids count as sugar");
    return true;
}

/* ---- fermentation ---- */

enum { FERMENT_LIQUID, FERMENT_TO, FERMENT_TOLERANCE, FERMENT_ATTENUATION };

static bool read_target(Call *call, int index, double *target) {
    if (index == FERMENT_ATTENUATION) {
        bool read = native_within(call, index, UNIT_PERCENT, 0, 200, target);
        *target /= 100;
        return read;
    }
    if (index == FERMENT_TO)
        return native_in(call, index, UNIT_SG, target);
    return index == FERMENT_LIQUID || native_in(call, index, UNIT_ABV, target);
}

/* The one target given, FERMENT_LIQUID for none, -1 after a fault. */
static int which_target(Call *call) {
    int index = FERMENT_LIQUID;
    for (int i = FERMENT_TO; i <= FERMENT_ATTENUATION; i++) {
        if (native_absent(call, i))
            continue;
        if (index != FERMENT_LIQUID) {
            native_fail(call, i, MSG_LIQUID_TWO_TARGETS, NO_ARGS);
            return -1;
        }
        index = i;
    }
    return index;
}

static LiquidResult ferment(const Liquid *liquid, int index, double target, Liquid *after,
                            FermentLimit *limit) {
    switch (index) {
    case FERMENT_TO:
        return liquid_ferment_to_gravity(liquid, target, after, limit);
    case FERMENT_TOLERANCE:
        return liquid_ferment_to_strength(liquid, target, after);
    case FERMENT_ATTENUATION:
        return liquid_ferment_to_attenuation(liquid, target, after, limit);
    default:
        return liquid_ferment(liquid, after);
    }
}

static bool ferment_native(Call *call) {
    LiquidObject *liquid = native_liquid(call, FERMENT_LIQUID);
    Liquid after = {0};
    FermentLimit limit = {0};
    double target = 0;
    int index = which_target(call);
    if (index < 0 || !read_target(call, index, &target))
        return false;
    LiquidResult outcome = ferment(&liquid->liquid, index, target, &after, &limit);
    if (outcome == LIQUID_EMPTY)
        return place_outcome(call, FERMENT_LIQUID, outcome);
    if (outcome == LIQUID_GRAVITY_OUT_OF_RANGE && index == FERMENT_ATTENUATION)
        return fail_at_present(call, index, MSG_LIQUID_NO_ATTENUATION, &liquid->liquid);
    if (!native_liquid_fermented(call, index, outcome, &liquid->liquid, &limit) ||
        !liquid_value_make(&call->arith, &after, liquid->money, &call->result))
        return false;
    caution_fermented(call->context, &liquid->liquid, &after);
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

static const Native rows[] = {
    NATIVE(dextrose), NATIVE(ferment), NATIVE(honey), NATIVE(juice), NATIVE(liquid), NATIVE(lose),
    NATIVE(resize),   NATIVE(spirit),  NATIVE(sugar), NATIVE(take),  NATIVE(water),
};

const NativeTable native_liquid_table = NATIVE_TABLE(rows);

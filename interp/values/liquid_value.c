/* SPDX-FileCopyrightText: the Rundlet developers */
/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Liquids as values. The physics knows plain masses; here they meet units, currencies and people: which field
 * has which unit, what may be poured, and how a liquid that cannot be is called. */
#include "values/liquid_value.h"

#include <math.h>
#include <string.h>

#include "physics/sugar.h"
#include "values/kind_check.h"
#include "values/value_arg.h"

typedef struct FieldRow {
    const char *name;
    LiquidProperty property;
    UnitId unit;
} FieldRow;

static const FieldRow fields[] = {
    {"volume", LIQUID_VOLUME_L, UNIT_L},
    {"mass", LIQUID_MASS_KG, UNIT_KG},
    {"density", LIQUID_DENSITY_KG_M3, UNIT_KG_PER_M3},
    {"gravity", LIQUID_GRAVITY_SG, UNIT_SG},
    {"strength", LIQUID_STRENGTH_ABV, UNIT_ABV},
    {"sugar", LIQUID_SUGAR_G_L, UNIT_G_PER_L},
    {"sugar_most", LIQUID_SUGAR_MOST_G_L, UNIT_G_PER_L},
    {"solids", LIQUID_SOLIDS_G_L, UNIT_G_PER_L},
    {"acid", LIQUID_ACID_G_L, UNIT_G_PER_L},
    {"nitrogen", LIQUID_NITROGEN_MG_L, UNIT_MG_PER_L},
    {"sulphite", LIQUID_SULPHITE_MG_L, UNIT_MG_PER_L},
    {"bitterness", LIQUID_BITTERNESS_MG_L, UNIT_IBU},
    {"colour", LIQUID_COLOUR_EBC, UNIT_EBC},
    {"brix", LIQUID_BRIX_PCT, UNIT_BRIX},
    {"alcohol", LIQUID_ALCOHOL_G, UNIT_G},
    {"potential", LIQUID_POTENTIAL_ABV, UNIT_ABV},
    {"energy", LIQUID_ENERGY_KJ_L, UNIT_KJ_PER_L},
    {"calories", LIQUID_CALORIES_KCAL_L, UNIT_KCAL_PER_L},
};
enum { FIELD_COUNT = sizeof fields / sizeof *fields };

const char *liquid_value_field_name(int index) {
    if (index < 0 || index > FIELD_COUNT)
        return NULL;
    return index == FIELD_COUNT ? "cost" : fields[index].name;
}

/* ---- faults ---- */

static bool fail_gravity_range(const Arith *arith) {
    return fault_set(arith->fault, MSG_LIQUID_GRAVITY_RANGE,
                     ARGS(arg_quantity(arith->units, SUGAR_GRAVITY_EXTENDED_MIN_SG, UNIT_SG),
                          arg_quantity(arith->units, SUGAR_GRAVITY_EXTENDED_MAX_SG, UNIT_SG)));
}

/* How each outcome is called; those that need figures are worded by who knows them. */
static const MessageId outcome_messages[] = {
    [LIQUID_OK] = MSG_NONE,
    [LIQUID_EMPTY] = MSG_LIQUID_NO_MASS,
    [LIQUID_NEGATIVE] = MSG_LIQUID_NEGATIVE,
    [LIQUID_GRAVITY_OUT_OF_RANGE] = MSG_LIQUID_GRAVITY_RANGE,
    [LIQUID_STRENGTH_OUT_OF_RANGE] = MSG_LIQUID_STRENGTH_RANGE,
    [LIQUID_SHARE_OUT_OF_RANGE] = MSG_LIQUID_NOT_CONVERGED, /* shares are checked where they come in */
    [LIQUID_LIGHTER_THAN_STRENGTH] = MSG_LIQUID_TOO_LIGHT,
    [LIQUID_HEAVIER_THAN_STRENGTH] = MSG_LIQUID_TOO_HEAVY,
    [LIQUID_SUGAR_ABOVE_SOLIDS] = MSG_LIQUID_SUGAR_ABOVE_SOLIDS,
    [LIQUID_MORE_THAN_THERE_IS] = MSG_LIQUID_MORE_THAN_THERE_IS,
    [LIQUID_FINAL_TOO_LOW] = MSG_LIQUID_FINAL_TOO_LOW,
    [LIQUID_FINAL_ABOVE_PRESENT] = MSG_LIQUID_FINAL_ABOVE_PRESENT,
    [LIQUID_ADDITION_OUT_OF_REACH] = MSG_LIQUID_OUT_OF_REACH,
    [LIQUID_ADDITION_ENDLESS] = MSG_LIQUID_OUT_OF_REACH,
    [LIQUID_NOT_CONVERGED] = MSG_LIQUID_NOT_CONVERGED,
};

bool liquid_value_check(const Arith *arith, LiquidResult outcome) {
    if (outcome == LIQUID_OK)
        return true;
    if (outcome == LIQUID_GRAVITY_OUT_OF_RANGE)
        return fail_gravity_range(arith);
    return fault_set(arith->fault, outcome_messages[outcome], NO_ARGS);
}

static bool fail_dry_field(const Arith *arith, const char *name) {
    return fault_set(arith->fault, MSG_LIQUID_DRY_FIELD, ARGS(name));
}

static bool has_volume(const Arith *arith, const LiquidObject *liquid, Value amount) {
    if (liquid->liquid.form != LIQUID_DRY)
        return true;
    return fault_set(arith->fault, MSG_LIQUID_DRY_VOLUME, ARGS(arg_value(arith->units, amount)));
}

void liquid_value_name_solid(Fault *fault, const char *source, Span of, Span solid) {
    enum { WORDS_MAX = 60 };
    size_t length = solid.end - solid.start;
    bool found = fault->id == MSG_LIQUID_DRY_VOLUME && of.end - of.start == 2 &&
                 strncmp(source + of.start, "of", 2) == 0;
    if (!found || length == 0 || length > WORDS_MAX || memchr(source + solid.start, '\n', length))
        return;
    Text name = {0};
    text_add(&name, source + solid.start, length);
    fault_hint(fault, HINT_WEIGH_CUP, ARGS(arg_copy(&fault->args[0]), text_string(&name)));
    text_free(&name);
}

static bool fail_amount(const Arith *arith, Value amount) {
    return kind_fault(arith->units, MSG_LIQUID_AMOUNT, amount, NULL, arith->fault);
}

/* An ounce of a drink may be either; honey is sold by its weight. */
static bool is_no_ounce(const Arith *arith, LiquidObject *liquid, Value amount) {
    if (amount.unit != UNIT_OZ || liquid->liquid.form != LIQUID_MIXED)
        return true;
    double grams = amount.as.number * unit_ratio(arith->units, UNIT_OZ, UNIT_G);
    fault_set(arith->fault, MSG_LIQUID_OUNCE, ARGS(arg_value(arith->units, amount)));
    return fault_hint(arith->fault, HINT_OUNCE_OF,
                      ARGS(arg_typed(arith->units, value_quantity(arith->units, amount.as.number, UNIT_FLOZ)),
                           arg_value(arith->units, value_quantity(arith->units, grams, UNIT_G))));
}

/* ---- making ---- */

bool liquid_value_make(const Arith *arith, const Liquid *liquid, UnitId money, Value *result) {
    const double most_kg = 1e290; /* beyond it properties in small units would be no numbers */
    double all_kg = liquid_mass_kg(liquid) + liquid->acid_kg + liquid->nitrogen_kg + liquid->sulphite_kg;
    if (!(all_kg + liquid->bitter_kg + liquid->colour_ebc_m3 <= most_kg))
        return fault_set(arith->fault, MSG_OVERFLOW, NO_ARGS);
    if (!liquid_is_possible(liquid))
        return liquid_value_check(arith, LIQUID_NEGATIVE);
    *result = value_of_liquid(liquid_new(arith->heap, liquid, liquid->has_cost ? money : UNIT_NUMBER));
    return true;
}

double liquid_value_volume_l(LiquidObject *liquid) {
    if (liquid->volume_l == 0)
        liquid->volume_l = liquid_volume_l(&liquid->liquid);
    return liquid->volume_l;
}

/* A number on a unit, out of any unit of its kind; the fault names `what` ("acid") and the kind wanted. */
static bool read_part(const Arith *arith, Value value, UnitId unit, const char *what, double *number) {
    if (!value_is_quantity(value) || !unit_same_kind(arith->units, value.unit, unit))
        return fault_set(arith->fault, MSG_LIQUID_PART_KIND,
                         ARGS(what, arg_unit_kind(arith->units, unit), arg_kind(arith->units, value)));
    return unit_convert(arith->units, value.as.number, value.unit, unit, number, arith->fault);
}

/* ---- the units it is shown in ---- */

static Value in_unit(const UnitTable *units, double number, UnitId base, UnitId unit) {
    Fault ignored = {0}; /* too large a number of a small unit is shown in the base */
    double converted = 0;
    bool told = unit != UNIT_NUMBER && unit_convert(units, number, base, unit, &converted, &ignored);
    fault_clear(&ignored);
    return told ? value_amount(converted, unit) : value_amount(number, base);
}

Value liquid_value_volume_like(const UnitTable *units, const LiquidObject *liquid, double volume_l) {
    return in_unit(units, volume_l, UNIT_L, liquid->volume_unit);
}

Value liquid_value_volume(const UnitTable *units, LiquidObject *liquid) {
    return liquid_value_volume_like(units, liquid, liquid_value_volume_l(liquid));
}

Value liquid_value_mass(const UnitTable *units, const LiquidObject *liquid) {
    return in_unit(units, liquid_mass_kg(&liquid->liquid), UNIT_KG, liquid->mass_unit);
}

void liquid_value_keep_units(LiquidObject *made, const LiquidObject *from) {
    if (made->volume_unit == UNIT_NUMBER)
        made->volume_unit = from->volume_unit;
    if (made->mass_unit == UNIT_NUMBER)
        made->mass_unit = from->mass_unit;
}

/* The unit of the amount that was measured out; a product of lengths and the like (m·cm^2) is none that
 * anybody measures in. */
static void take_unit(const Arith *arith, Value amount, LiquidObject *made) {
    const Unit *unit = unit_get(arith->units, amount.unit);
    if (unit->term_count != 1)
        return;
    if (unit->kind == KIND_VOLUME)
        made->volume_unit = amount.unit;
    else if (unit->kind == KIND_MASS)
        made->mass_unit = amount.unit;
}

/* ---- pouring and scaling ---- */

static bool fail_moneys(const Arith *arith, UnitId a, UnitId b) {
    return fault_set(arith->fault, MSG_LIQUID_TWO_MONEYS,
                     ARGS(unit_get(arith->units, a)->name, unit_get(arith->units, b)->name));
}

static bool pour(const Arith *arith, const LiquidObject *a, const LiquidObject *b, Value *result) {
    UnitId money = a->liquid.has_cost ? a->money : b->money;
    bool both = a->liquid.has_cost && b->liquid.has_cost;
    if (!both || a->money == b->money) {
        Liquid poured = liquid_pour(&a->liquid, &b->liquid);
        return liquid_value_make(arith, &poured, money, result);
    }
    if (!unit_same_kind(arith->units, a->money, b->money))
        return fail_moneys(arith, a->money, b->money);
    Liquid changed = b->liquid;
    changed.cost *= unit_ratio(arith->units, b->money, a->money);
    Liquid poured = liquid_pour(&a->liquid, &changed);
    return liquid_value_make(arith, &poured, money, result);
}

bool liquid_value_add(const Arith *arith, const LiquidObject *a, const LiquidObject *b, Value *result) {
    if (!pour(arith, a, b, result))
        return false;
    LiquidObject *poured = result->as.liquid;
    poured->volume_unit = a->volume_unit != UNIT_NUMBER ? a->volume_unit : b->volume_unit;
    /* the grams of what is stirred in are no measure of the whole */
    const LiquidObject *whole = a->liquid.form == LIQUID_DRY && poured->liquid.form != LIQUID_DRY ? b : a;
    poured->mass_unit = whole->mass_unit != UNIT_NUMBER || poured->liquid.form != LIQUID_DRY
                            ? whole->mass_unit
                            : b->mass_unit;
    return true;
}

bool liquid_value_scale(const Arith *arith, const LiquidObject *liquid, double factor, Value *result) {
    Liquid scaled;
    LiquidResult outcome = liquid_scale(&liquid->liquid, factor, &scaled);
    if (outcome != LIQUID_OK)
        return liquid_value_check(arith, outcome);
    if (!liquid_value_make(arith, &scaled, liquid->money, result))
        return false;
    result->as.liquid->volume_l = liquid->volume_l * factor;
    liquid_value_keep_units(result->as.liquid, liquid);
    return true;
}

/* Which measure of a liquid an amount gives; false for neither. */
static bool amount_of(const Arith *arith, Value amount, LiquidObject *liquid, double *wanted,
                      double *present) {
    if (amount.tag != TAG_AMOUNT)
        return fail_amount(arith, amount);
    Kind kind = unit_get(arith->units, amount.unit)->kind;
    if (kind == KIND_VOLUME) {
        if (!has_volume(arith, liquid, amount) ||
            !unit_convert(arith->units, amount.as.number, amount.unit, UNIT_L, wanted, arith->fault))
            return false;
        *present = liquid_value_volume_l(liquid);
    } else if (kind == KIND_MASS) {
        *wanted = amount.as.number * unit_ratio(arith->units, amount.unit, UNIT_KG);
        *present = liquid_mass_kg(&liquid->liquid);
    } else {
        return fail_amount(arith, amount);
    }
    if (isnan(*present))
        return liquid_value_check(arith, LIQUID_NOT_CONVERGED);
    return *wanted >= 0 || fault_set(arith->fault, MSG_LIQUID_NEGATIVE_AMOUNT, NO_ARGS);
}

bool liquid_value_of(const Arith *arith, Value amount, LiquidObject *liquid, Value *result) {
    double wanted = 0, present = 0;
    if (amount.tag == TAG_AMOUNT && unit_get(arith->units, amount.unit)->kind == KIND_NUMBER) {
        bool read =
            unit_convert(arith->units, amount.as.number, amount.unit, UNIT_NUMBER, &wanted, arith->fault);
        return read && liquid_value_scale(arith, liquid, wanted, result);
    }
    if (!is_no_ounce(arith, liquid, amount) || !amount_of(arith, amount, liquid, &wanted, &present))
        return false;
    if (!(present > 0))
        return fault_set(arith->fault, MSG_LIQUID_NO_MASS, NO_ARGS);
    if (!liquid_value_scale(arith, liquid, wanted / present, result))
        return false;
    if (unit_get(arith->units, amount.unit)->kind == KIND_VOLUME)
        result->as.liquid->volume_l = wanted; /* not a last bit less, as wanted / present × present may be */
    take_unit(arith, amount, result->as.liquid);
    return true;
}

static bool part_of(const Arith *arith, LiquidObject *liquid, Value amount, Liquid *taken, Liquid *left) {
    double wanted = 0, present = 0;
    if (!amount_of(arith, amount, liquid, &wanted, &present))
        return false;
    bool by_volume = unit_get(arith->units, amount.unit)->kind == KIND_VOLUME;
    LiquidResult outcome = by_volume ? liquid_take_volume(&liquid->liquid, wanted, taken, left)
                                     : liquid_take_mass(&liquid->liquid, wanted, taken, left);
    if (outcome != LIQUID_MORE_THAN_THERE_IS)
        return liquid_value_check(arith, outcome);
    double shown = present / unit_ratio(arith->units, amount.unit, by_volume ? UNIT_L : UNIT_KG);
    return fault_set(arith->fault, MSG_LIQUID_MORE_THAN_THERE_IS,
                     ARGS(arg_value(arith->units, amount), arg_quantity(arith->units, shown, amount.unit)));
}

bool liquid_value_take(const Arith *arith, LiquidObject *liquid, Value amount, Value *result) {
    Liquid taken;
    if (!part_of(arith, liquid, amount, &taken, NULL) ||
        !liquid_value_make(arith, &taken, liquid->money, result))
        return false;
    take_unit(arith, amount, result->as.liquid);
    liquid_value_keep_units(result->as.liquid, liquid);
    return true;
}

bool liquid_value_lose(const Arith *arith, LiquidObject *liquid, Value amount, Value *result) {
    Liquid left;
    if (!part_of(arith, liquid, amount, NULL, &left))
        return false;
    left.cost = liquid->liquid.cost; /* what was lost was paid for */
    if (!liquid_value_make(arith, &left, liquid->money, result))
        return false;
    liquid_value_keep_units(result->as.liquid, liquid);
    return true;
}

/* ---- fields ---- */

static bool fail_field(const Arith *arith, const char *name) {
    const char *best = NULL;
    int distance = 99;
    for (int i = 0; liquid_value_field_name(i); i++)
        text_nearest(name, liquid_value_field_name(i), &best, &distance);
    fault_set(arith->fault, MSG_LIQUID_NO_FIELD, ARGS(name));
    if (best)
        fault_hint(arith->fault, HINT_MEANT_DOT, ARGS(best));
    return false;
}

static bool needs_volume(LiquidProperty property) {
    return property != LIQUID_MASS_KG && property != LIQUID_ALCOHOL_G && property != LIQUID_BRIX_PCT &&
           property != LIQUID_STRENGTH_ABV;
}

static bool get_property(const Arith *arith, LiquidObject *liquid, LiquidProperty property, double *number) {
    double mass_kg = liquid_mass_kg(&liquid->liquid);
    if (property == LIQUID_VOLUME_L) {
        *number = liquid_value_volume_l(liquid);
        return !isnan(*number) || liquid_value_check(arith, LIQUID_NOT_CONVERGED);
    }
    if (property == LIQUID_GRAVITY_SG && mass_kg > 0) { /* the field `find` asks for most */
        *number = liquid_gravity_sg(&liquid->liquid);
        return !isnan(*number) || liquid_value_check(arith, LIQUID_NOT_CONVERGED);
    }
    return liquid_value_check(arith, liquid_get(&liquid->liquid, property, number));
}

bool liquid_value_field(const Arith *arith, LiquidObject *liquid, const char *name, Value *result) {
    if (strcmp(name, "cost") == 0) {
        *result = liquid->liquid.has_cost ? value_amount(liquid->liquid.cost, liquid->money) : value_none();
        return true;
    }
    for (int i = 0; i < FIELD_COUNT; i++) {
        double number = 0;
        if (strcmp(name, fields[i].name) != 0)
            continue;
        if (liquid->liquid.form == LIQUID_DRY && needs_volume(fields[i].property))
            return fail_dry_field(arith, name);
        if (!get_property(arith, liquid, fields[i].property, &number))
            return false;
        if (fields[i].property == LIQUID_VOLUME_L)
            *result = liquid_value_volume_like(arith->units, liquid, number);
        else if (fields[i].property == LIQUID_MASS_KG)
            *result = liquid_value_mass(arith->units, liquid);
        else
            *result = value_quantity(arith->units, number, fields[i].unit);
        return true;
    }
    return fail_field(arith, name);
}

/* ---- with ---- */

bool liquid_value_set_cost(const Arith *arith, Value cost, Liquid *liquid, UnitId *money) {
    liquid->has_cost = cost.tag != TAG_NONE;
    if (!liquid->has_cost)
        return true;
    if (cost.tag != TAG_AMOUNT || unit_get(arith->units, cost.unit)->kind != KIND_MONEY)
        return kind_fault(arith->units, MSG_LIQUID_COST_KIND, cost, NULL, arith->fault);
    liquid->cost = cost.as.number;
    *money = cost.unit;
    return true;
}

static const struct {
    const char *name;
    UnitId unit;
} riders[] = {[LIQUID_ACID] = {"acid", UNIT_G_PER_L},
              [LIQUID_NITROGEN] = {"nitrogen", UNIT_G_PER_L},
              [LIQUID_SULPHITE] = {"sulphite", UNIT_G_PER_L},
              [LIQUID_BITTERNESS] = {"bitterness", UNIT_G_PER_L},
              [LIQUID_COLOUR] = {"colour", UNIT_EBC}};
enum { RIDER_COUNT = sizeof riders / sizeof *riders };

bool liquid_value_set(const Arith *arith, const char *name, Value value, Liquid *liquid) {
    double number = 0;
    int rider = 0;
    while (rider < RIDER_COUNT && strcmp(name, riders[rider].name) != 0)
        rider++;
    bool is_sugar = rider == RIDER_COUNT;
    if (is_sugar && strcmp(name, "sugar") != 0)
        return fault_set(arith->fault, MSG_LIQUID_WITH_FIELD, ARGS(name));
    if (!read_part(arith, value, is_sugar ? UNIT_G_PER_L : riders[rider].unit, name, &number))
        return false;
    if (number < 0)
        return fault_set(arith->fault, MSG_LIQUID_NEGATIVE_PART, ARGS(name));
    if (liquid->form == LIQUID_DRY)
        return fail_dry_field(arith, name);
    return liquid_value_check(arith, is_sugar ? liquid_set_sugar_g_l(liquid, number, liquid)
                                              : liquid_set_rider(liquid, (LiquidRider)rider, number, liquid));
}

bool liquid_value_with(const Arith *arith, const LiquidObject *liquid, const RecordObject *changes,
                       Value *result) {
    Liquid changed = liquid->liquid;
    UnitId money = liquid->money;
    for (uint32_t i = 0; i < changes->count; i++) {
        const char *name = changes->fields[i].name->bytes;
        Value value = changes->fields[i].value;
        bool set = strcmp(name, "cost") == 0 ? liquid_value_set_cost(arith, value, &changed, &money)
                                             : liquid_value_set(arith, name, value, &changed);
        if (!set)
            return false;
    }
    if (!liquid_value_make(arith, &changed, money, result))
        return false;
    result->as.liquid->volume_l = liquid->volume_l; /* none of these moves the density */
    liquid_value_keep_units(result->as.liquid, liquid);
    return true;
}

/* SPDX-FileCopyrightText: the Rundlet developers */
/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The formulas of the library that are nothing but physics: properties, readings, strength, blending
 * by a solve, carbonation. All else of docs/reference/library.md is Rundlet code under stdlib. */
#include <math.h>

#include "physics/alcohol.h"
#include "physics/carbon_dioxide.h"
#include "physics/instruments.h"
#include "physics/sugar.h"
#include "runtime/cautions.h"
#include "runtime/native_liquid.h"
#include "runtime/native_tables.h"
#include "values/display.h"
#include "values/kind_check.h"
#include "values/liquid_value.h"
#include "values/value_arg.h"

/* ---- properties ---- */

static bool water_density_native(Call *call) {
    double temp_c = 0;
    return native_within(call, 0, UNIT_CELSIUS, 0, 100, &temp_c) &&
           native_give(call, sugar_water_density_kg_m3(temp_c), UNIT_KG_PER_M3);
}

static bool alcohol_density_native(Call *call) {
    double strength_abv = 0, temp_c = 0, fraction = 0;
    if (!native_within(call, 0, UNIT_ABV, 0, ALCOHOL_STRENGTH_MAX_ABV, &strength_abv) ||
        !native_within(call, 1, UNIT_CELSIUS, ALCOHOL_TEMP_MIN_C, ALCOHOL_TEMP_MAX_C, &temp_c))
        return false;
    if (!alcohol_fraction_from_abv(strength_abv, &fraction))
        return liquid_value_check(&call->arith, LIQUID_STRENGTH_OUT_OF_RANGE) || native_place(call, 0);
    return native_give(call, alcohol_density_kg_m3(fraction, temp_c), UNIT_KG_PER_M3);
}

/* Mass fraction of solids in a juice of the gravity in an argument. */
static bool read_fraction(Call *call, int index, double *fraction) {
    Liquid juice;
    if (!native_liquid_juice(call, index, 0, &juice))
        return false;
    *fraction = juice.sugar_kg / (juice.sugar_kg + juice.water_kg);
    return true;
}

static bool sugar_density_native(Call *call) {
    double fraction = 0, temp_c = 0;
    return read_fraction(call, 0, &fraction) &&
           native_within(call, 1, UNIT_CELSIUS, SUGAR_TEMP_MIN_C, SUGAR_TEMP_MAX_C, &temp_c) &&
           native_give(call, sugar_density_kg_m3(fraction, temp_c), UNIT_KG_PER_M3);
}

static bool sugar_of_native(Call *call) {
    double fraction = 0;
    return read_fraction(call, 0, &fraction) &&
           native_give(call, sugar_g_l_from_fraction(fraction), UNIT_G_PER_L);
}

static bool sugar_gravity_native(Call *call) {
    double g_l = 0, fraction = 0;
    return native_within(call, 0, UNIT_G_PER_L, 0, sugar_g_l_from_fraction(SUGAR_FRACTION_MAX), &g_l) &&
           (sugar_fraction_from_g_l(g_l, &fraction) ||
            liquid_value_check(&call->arith, LIQUID_NOT_CONVERGED)) &&
           native_give(call, sugar_gravity_from_fraction(fraction), UNIT_SG);
}

/* ---- carbon dioxide ---- */

/* Arguments: temperature, the gas, strength, sugar. */
static bool read_carbonated(Call *call, double warmest_c, Carbonated *liquid) {
    return native_within(call, 0, UNIT_CELSIUS, CO2_TEMP_MIN_C, warmest_c, &liquid->temp_c) &&
           native_within(call, 2, UNIT_ABV, 0, CO2_STRENGTH_MAX_ABV, &liquid->strength_abv) &&
           native_within(call, 3, UNIT_G_PER_L, 0, CO2_SUGAR_MAX_G_L, &liquid->sugar_g_l);
}

static bool give_solubility(Call *call, double warmest_c) {
    Carbonated liquid;
    double pressure_kpa = 0, dissolved_g_l = 0;
    return read_carbonated(call, warmest_c, &liquid) &&
           native_within(call, 1, UNIT_KPA, 0, CO2_PRESSURE_MAX_KPA, &pressure_kpa) &&
           co2_dissolved_g_l(liquid, pressure_kpa, &dissolved_g_l) &&
           native_give(call, dissolved_g_l, UNIT_G_PER_L);
}

static bool give_pressure(Call *call, double warmest_c) {
    Carbonated liquid;
    double dissolved_g_l = 0, partial_kpa = 0;
    if (!read_carbonated(call, warmest_c, &liquid) || !native_in(call, 1, UNIT_G_PER_L, &dissolved_g_l))
        return false;
    if (!co2_partial_kpa(liquid, dissolved_g_l, &partial_kpa))
        return native_fail(call, 1, MSG_CO2_AMOUNT, NO_ARGS);
    return native_give(call, partial_kpa, UNIT_KPA);
}

static bool co2_solubility_native(Call *call) {
    return give_solubility(call, CO2_TEMP_MAX_C);
}

static bool co2_pressure_native(Call *call) {
    return give_pressure(call, CO2_TEMP_MAX_C);
}

/* Kegs and bottles on a shelf are not planned for the heat of a bath. */
static bool cool_solubility_native(Call *call) {
    return give_solubility(call, CO2_COOL_MAX_C);
}

static bool cool_pressure_native(Call *call) {
    return give_pressure(call, CO2_COOL_MAX_C);
}

/* ---- readings ---- */

static bool check_instrument(Call *call, int reading_at, int original_at, InstrumentResult outcome) {
    switch (outcome) {
    case INSTRUMENT_OK:
        return true;
    case INSTRUMENT_READING_ABOVE_ORIGINAL:
        return native_fail(call, reading_at, MSG_READING_ABOVE_ORIGINAL, NO_ARGS);
    case INSTRUMENT_READING_TOO_LOW:
        return native_fail(call, reading_at, MSG_READING_TOO_LOW, NO_ARGS);
    case INSTRUMENT_ALCOHOL_OUT_OF_RANGE:
        return native_fail(call, original_at, MSG_READING_ALCOHOL, NO_ARGS);
    case INSTRUMENT_ORIGINAL_OUT_OF_RANGE:
    case INSTRUMENT_TEMP_OUT_OF_RANGE:
    case INSTRUMENT_CALIBRATION_OUT_OF_RANGE:
    case INSTRUMENT_READING_OUT_OF_RANGE:
        break;
    }
    native_fail(call, reading_at, MSG_READING_RANGE, NO_ARGS);
    kind_hint_gravity(call->arith.units, call->args[reading_at], call->arith.fault);
    return false;
}

static bool hydrometer_native(Call *call) {
    double reading_sg = 0, temp_c = 0, calibrated_c = 0, gravity_sg = 0;
    return native_in(call, 0, UNIT_SG, &reading_sg) &&
           native_within(call, 1, UNIT_CELSIUS, INSTRUMENT_TEMP_MIN_C, INSTRUMENT_TEMP_MAX_C, &temp_c) &&
           native_within(call, 2, UNIT_CELSIUS, INSTRUMENT_TEMP_MIN_C, INSTRUMENT_TEMP_MAX_C,
                         &calibrated_c) &&
           check_instrument(call, 0, 0,
                            instrument_hydrometer_sg(reading_sg, temp_c, calibrated_c, &gravity_sg)) &&
           native_give(call, gravity_sg, UNIT_SG);
}

static bool refractometer_native(Call *call) {
    double reading_brix_pct = 0, original_sg = 0, gravity_sg = 0;
    Liquid juice;
    return native_in(call, 0, UNIT_BRIX, &reading_brix_pct) && native_liquid_juice(call, 1, 0, &juice) &&
           native_in(call, 1, UNIT_SG, &original_sg) &&
           check_instrument(call, 0, 1,
                            instrument_refractometer_sg(reading_brix_pct, original_sg, &gravity_sg)) &&
           native_give(call, gravity_sg, UNIT_SG);
}

static bool alcoholmeter_native(Call *call) {
    double reading_abv = 0, temp_c = 0, calibrated_c = 0, mark = 0, fraction = 0;
    if (!native_within(call, 0, UNIT_ABV, 0, ALCOHOL_STRENGTH_MAX_ABV, &reading_abv) ||
        !native_within(call, 1, UNIT_CELSIUS, INSTRUMENT_TEMP_MIN_C, ALCOHOL_TEMP_MAX_C, &temp_c) ||
        !native_within(call, 2, UNIT_CELSIUS, INSTRUMENT_TEMP_MIN_C, ALCOHOL_TEMP_MAX_C, &calibrated_c))
        return false;
    if (!alcohol_fraction_from_abv(reading_abv, &mark) ||
        instrument_alcoholmeter_fraction(mark, temp_c, calibrated_c, &fraction) != INSTRUMENT_OK)
        return native_fail(call, 0, MSG_READING_SPIRIT, NO_ARGS);
    caution_spirit(call->context, alcohol_abv_from_fraction(fraction));
    return native_give(call, alcohol_abv_from_fraction(fraction), UNIT_ABV);
}

/* ---- strength ---- */

/* A final gravity above the original: most likely the two are in the wrong order. */
static bool fail_order(Call *call) {
    MessageArg original = arg_value(call->arith.units, call->args[0]);
    MessageArg final = arg_value(call->arith.units, call->args[1]);
    fault_hint(call->arith.fault, HINT_ORIGINAL_FIRST, ARGS(arg_copy(&final), arg_copy(&original)));
    return native_fail(call, 1, MSG_LIQUID_FINAL_ABOVE_PRESENT, ARGS(final, original));
}

static bool abv_native(Call *call) {
    Liquid juice, finished = {0};
    FermentLimit limit = {0};
    double final_sg = 0;
    if (!native_liquid_juice(call, 0, 0, &juice) || !native_in(call, 1, UNIT_SG, &final_sg))
        return false;
    LiquidResult outcome = liquid_ferment_to_gravity(&juice, final_sg, &finished, &limit);
    if (outcome == LIQUID_FINAL_ABOVE_PRESENT)
        return fail_order(call);
    return native_liquid_fermented(call, 1, final_sg, outcome, &juice, &limit) &&
           native_give(call, liquid_strength_abv(&finished), UNIT_ABV);
}

/* ---- blending by a solve ---- */

typedef LiquidResult (*AdditionSolve)(const Liquid *liquid, const Liquid *addition, double target,
                                      double *kg);

static bool fail_out_of_reach(Call *call, int target_at, UnitId unit, const Liquid *liquid,
                              const Liquid *addition) {
    bool strength = unit == UNIT_ABV;
    double has = strength ? liquid_strength_abv(liquid) : liquid_gravity_sg(liquid);
    double other = strength ? liquid_strength_abv(addition) : liquid_gravity_sg(addition);
    double has_as_asked, other_as_asked;
    UnitId asked = call->args[target_at].unit;
    Fault ignored = {0};
    if (unit_convert(call->arith.units, has, unit, asked, &has_as_asked, &ignored) &&
        unit_convert(call->arith.units, other, unit, asked, &other_as_asked, &ignored)) {
        has = has_as_asked;
        other = other_as_asked;
        unit = asked;
    }
    fault_clear(&ignored);
    const UnitTable *units = call->arith.units;
    return native_fail(call, target_at, MSG_LIQUID_OUT_OF_REACH,
                       ARGS(arg_value(units, call->args[target_at]), arg_quantity(units, has, unit),
                            arg_quantity(units, other, unit)));
}

/* kg of the addition that brings argument 0 to the target in argument `target_at`. */
static bool solve_addition(Call *call, AdditionSolve solve, const Liquid *addition, int target_at,
                           UnitId unit, double *addition_kg) {
    LiquidObject *liquid = native_liquid(call, 0);
    double target = 0;
    if (!native_in(call, target_at, unit, &target))
        return false;
    LiquidResult outcome = solve(&liquid->liquid, addition, target, addition_kg);
    if (outcome == LIQUID_ADDITION_OUT_OF_REACH || outcome == LIQUID_ADDITION_ENDLESS)
        return fail_out_of_reach(call, target_at, unit, &liquid->liquid, addition);
    return liquid_value_check(&call->arith, outcome) ||
           native_place(call, outcome == LIQUID_EMPTY ? 0 : target_at);
}

/* In the unit of the liquid that is added to, argument 0. */
static bool give_volume(Call *call, const Liquid *addition, double addition_kg) {
    if (addition->form == LIQUID_DRY)
        return native_fail(call, 1, MSG_LIQUID_DRY_FIELD, ARGS("volume"));
    double volume_l = addition_kg / liquid_mass_kg(addition) * liquid_volume_l(addition);
    Value volume = liquid_value_volume_like(call->arith.units, native_liquid(call, 0), volume_l);
    return native_give(call, volume.as.number, volume.unit);
}

static void caution_if_spirit(Call *call, const Liquid *liquid) {
    if (caution_is_spirit(liquid))
        caution_spirit(call->context, liquid_strength_abv(liquid));
}

static bool spirit_needed_native(Call *call) {
    LiquidObject *with = native_liquid(call, 1);
    double addition_kg = 0;
    if (!solve_addition(call, liquid_addition_for_strength, &with->liquid, 2, UNIT_ABV, &addition_kg))
        return false;
    caution_if_spirit(call, &with->liquid);
    return give_volume(call, &with->liquid, addition_kg);
}

static bool water_needed_native(Call *call) {
    Liquid water = liquid_make_water();
    double addition_kg = 0;
    if (!solve_addition(call, liquid_addition_for_strength, &water, 1, UNIT_ABV, &addition_kg))
        return false;
    caution_if_spirit(call, &call->args[0].as.liquid->liquid);
    return give_volume(call, &water, addition_kg);
}

static bool sweeten_dose_native(Call *call) {
    Liquid sucrose = liquid_make_sucrose();
    double addition_kg = 0;
    if (!solve_addition(call, liquid_addition_for_gravity, &sucrose, 1, UNIT_SG, &addition_kg))
        return false;
    caution_sweetening(call->context);
    return native_give(call, 1000 * addition_kg, UNIT_G);
}

static const Native rows[] = {
    NATIVE(abv),
    NATIVE(alcohol_density),
    NATIVE(alcoholmeter),
    NATIVE(co2_pressure),
    NATIVE(co2_solubility),
    NATIVE(cool_pressure),
    NATIVE(cool_solubility),
    NATIVE(hydrometer),
    NATIVE(refractometer),
    NATIVE(spirit_needed),
    NATIVE(sugar_density),
    NATIVE(sugar_gravity),
    NATIVE(sugar_of),
    NATIVE(sweeten_dose),
    NATIVE(water_density),
    NATIVE(water_needed),
};

const NativeTable native_physics_table = NATIVE_TABLE(rows);

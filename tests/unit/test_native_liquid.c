/* SPDX-FileCopyrightText: the Rundlet developers */
/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Liquids as values, and the formulas written in C on physics. The physics has its own tests against
 * published tables; here: that arguments arrive where they should, units of results, errors, moneys, and that
 * the figures behind docs/model.md come out at this end. */
#include <criterion/criterion.h>

#include <string.h>

#include "native_world.h"
#include "near.h"

#include "base/mem.h"
#include "values/display.h"
#include "values/liquid_value.h"

static Value field(World *world, Value liquid, const char *name) {
    Value value = value_none();
    Arith arith = world_arith(world);
    fault_clear(&world->fault);
    cr_assert(liquid_value_field(&arith, liquid.as.liquid, name, &value), "%s: %s", name,
              message_name(world->fault.id));
    return value;
}

static double number_of(World *world, Value liquid, const char *name) {
    return field(world, liquid, name).as.number;
}

static Value of(World *world, const char *amount, Value liquid) {
    Value result = value_none();
    Arith arith = world_arith(world);
    cr_assert(liquid_value_of(&arith, world_value(world, amount), liquid.as.liquid, &result), "%s of",
              amount);
    return result;
}

static Value pour(World *world, Value a, Value b) {
    Value result = value_none();
    Arith arith = world_arith(world);
    cr_assert(arith_add(&arith, a, b, &result));
    return result;
}

static void expect_near(double got, double want, double tolerance, int line) {
    cr_expect(near(got, want, 0, tolerance), "line %d: got %.9g, want %.9g", line, got, want);
}
#define EXPECT_NEAR(got, want, tolerance) expect_near(got, want, tolerance, __LINE__)

static void expect_shown(World *world, Value value, const char *want, int line) {
    char *got = world_outcome(world, true, value);
    cr_expect_str_eq(got, want, "line %d: got %s, want %s", line, got, want);
    mem_free(got);
}
#define EXPECT_SHOWN(world, value, want) expect_shown(world, value, want, __LINE__)

/* ---- liquids ---- */

/* The figures of the fields: 1.050 SG is 12.40 °Bx (SPS-4), so 0.1240 × 1.050 × 998.2 g/L of solids, 82 % of
 * it sugar; energy by 17 kJ/g and 4 kcal/g (Regulation (EU) 1169/2011); potential by 16.83 g/L. Lowest
 * gravities: 989.73 kg/m3 at 6 %ABV (OIV-MA-AS312-02). */

/* The first script of README.md, with its four-hundred-millilitre tins: 2.5 of them within 12 L. */
Test(native_liquid, first_script) {
    World world;
    world_open(&world);
    Value base = WORLD_MAKE(&world, "juice", "1.044 SG"), syrup = WORLD_MAKE(&world, "juice", "52 °Bx");
    Value must = pour(&world, of(&world, "11 L", base), of(&world, "1 L", syrup));
    EXPECT_NEAR(number_of(&world, must, "gravity"), 1.061, 0.0005);
    EXPECT_SHOWN(&world, base, "1 L, 1.044 SG, 0.0 %ABV");
    must = WORLD_MAKE(&world, "juice", "1.061 SG");
    Value wine, args[] = {must, world_value(&world, "1.009 SG")};
    cr_assert(world_call(&world, "ferment", args, 2, &wine));
    EXPECT_SHOWN(&world, field(&world, wine, "gravity"), "1.009 SG");
    EXPECT_SHOWN(&world, field(&world, wine, "strength"), "6.8 %ABV");
    EXPECT_SHOWN(&world, field(&world, must, "brix"), "15.0 °Bx");
    world_close(&world);
}

Test(native_liquid, fields_and_units) {
    static const struct {
        const char *name, *want;
    } rows[] = {
        {"volume", "2 L"},           {"mass", "2.096 kg"},     {"density", "1048 kg/m3"},
        {"gravity", "1.050 SG"},     {"strength", "0.0 %ABV"}, {"sugar", "106.6 g/L"},
        {"sugar_most", "116.9 g/L"}, {"solids", "129.9 g/L"},  {"acid", "6 g/L"},
        {"nitrogen", "150 mg/L"},    {"sulphite", "0 mg/L"},   {"bitterness", "0.0 IBU"},
        {"colour", "0.0 EBC"},       {"brix", "12.4 °Bx"},     {"alcohol", "0 g"},
        {"potential", "6.3 %ABV"},   {"energy", "2209 kJ/L"},  {"calories", "519.8 kcal/L"},
        {"cost", "3.00 crown"},
    };
    World world;
    world_open(&world);
    Value args[] = {world_value(&world, "1.050 SG"), world_value(&world, "2 L"),
                    world_value(&world, "6 g/L"),    world_value(&world, "150 mg/L"),
                    world_value(&world, "18%"),      value_amount(3, world.crown)};
    Value juice;
    cr_assert(world_call(&world, "juice", args, 6, &juice));
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        EXPECT_SHOWN(&world, field(&world, juice, rows[i].name), rows[i].want);
        cr_expect_str_eq(liquid_value_field_name((int)i), rows[i].name);
    }
    cr_expect_null(liquid_value_field_name((int)(sizeof rows / sizeof *rows)));
    cr_expect_null(liquid_value_field_name(-1));
    EXPECT_SHOWN(&world, field(&world, WORLD_MAKE(&world, "water"), "cost"), "none");
    Arith arith = world_arith(&world);
    Value none = value_none();
    cr_expect(!liquid_value_field(&arith, juice.as.liquid, "gravty", &none));
    cr_expect_eq(world.fault.id, MSG_LIQUID_NO_FIELD);
    cr_expect_eq(world.fault.hint, HINT_MEANT_DOT);
    cr_expect_str_eq(world.fault.hint_args[0].text, "gravity");
    world_close(&world);
}

Test(native_liquid, makers) {
    static const NativeRow rows[] = {
        {"juice", {"12.4 °Bx"}, "1 L, 1.050 SG, 0.0 %ABV"},
        {"juice", {"1.050 SG", "5 gal"}, "5 gal, 1.050 SG, 0.0 %ABV"},
        {"juice", {"1.050 SG", "-", "-", "-", "-", "-", "1.05 kg"}, "1.002 L, 1.050 SG, 0.0 %ABV"},
        {"juice", {"1.050 SG", "0 L"}, "0 L"},
        {"water", {NULL}, "1 L, 1.000 SG, 0.0 %ABV"},
        {"water", {"-", "1 kg"}, "1.002 L, 1.000 SG, 0.0 %ABV"},
        {"spirit", {"40 %ABV", "750 mL"}, "750 mL, 0.950 SG, 40.0 %ABV"}, /* OIML R 22: 948.05 kg/m3 */
        {"spirit", {"80 proof"}, "1 L, 0.950 SG, 40.1 %ABV"},
        {"liquid", {"5 gal", "1.010 SG", "6 %ABV"}, "5 gal, 1.010 SG, 6.0 %ABV"},
        {"liquid",
         {"-", "1.010 SG", "6 %ABV", "5 g/L", "6 g/L", "0 mg/L", "50 mg/L", "-", "1 kg"},
         "0.9919 L, 1.010 SG, 6.0 %ABV"},
    };
    CHECK_ROWS(rows);
    World world;
    world_open(&world);
    /* 10/11 of dextrose monohydrate is sugar; honey 17 % water and 6 % of the rest no sugar */
    Liquid dextrose = WORLD_MAKE(&world, "dextrose", "1.1 kg").as.liquid->liquid;
    EXPECT_NEAR(dextrose.sugar_kg, 1.0, 1e-12);
    EXPECT_NEAR(dextrose.water_kg, 0.1, 1e-12);
    Liquid honey = WORLD_MAKE(&world, "honey", "2 kg").as.liquid->liquid;
    EXPECT_NEAR(honey.water_kg, 0.34, 1e-12);
    EXPECT_NEAR(honey.sugar_kg, 1.66 * 0.94, 1e-12);
    EXPECT_NEAR(WORLD_MAKE(&world, "sugar", "2 lb").as.liquid->liquid.sugar_kg, 0.90718474, 1e-12);
    /* USDA SR 09016: of 11.76 g of solids 9.62 g are sugars */
    Value juice = WORLD_MAKE(&world, "juice", "1.050 SG");
    EXPECT_NEAR(number_of(&world, juice, "sugar") / number_of(&world, juice, "solids"), 0.82, 1e-12);
    world_close(&world);
}

Test(native_liquid, maker_errors) {
    static const NativeRow rows[] = {
        {"juice", {"5 gal"}, "! juice needs a gravity for `gravity`, not a volume"},
        {"juice", {"0.990 SG"}, "! a juice has a gravity from 1.000 SG to 1.448 SG, not 0.990 SG"},
        {"juice", {"86 °Bx"}, "! a juice has a gravity from 1.000 SG to 1.448 SG, not 86.0 °Bx"},
        {"juice", {"1.050 SG", "5 kg"}, "! juice needs a volume for `volume`, not a mass"},
        {"juice",
         {"1.050 SG", "1 L", "-", "-", "-", "-", "1 kg"},
         "! juice takes a volume or a mass, not both"},
        {"juice", {"1.050 SG", "-1 L"}, "! an amount of a liquid cannot be negative"},
        {"juice", {"1.050 SG", "1 L", "6 g"}, "! juice needs a concentration for `acid`, not a mass"},
        {"juice", {"1.050 SG", "1 L", "-6 g/L"}, "! the acid of a liquid cannot be negative"},
        {"juice",
         {"1.050 SG", "1 L", "-", "-", "118%"},
         "! juice works for `unfermentable` from 0 % to 100 %, not for 118 %"},
        {"juice",
         {"1.050 SG", "1 L", "-", "-", "-", "5"},
         "! juice needs money for `cost`, not a plain number"},
        {"spirit", {"140 %ABV"}, "! a strength must be between 0 and 100 %ABV"},
        {"honey", {"1 kg", "120%"}, "! honey works for `water` from 0 % to 100 %, not for 120 %"},
        {"sugar", {"1 L"}, "! sugar needs a mass for `mass`, not a volume"},
        {"liquid", {"-", "1.010 SG"}, "! liquid needs a volume or a mass: how much was measured"},
        {"liquid",
         {"1 L", "0.950 SG", "6 %ABV"},
         "! no liquid of that strength is that light: without any solids it would be 0.9916 SG"},
        {"liquid",
         {"1 L", "1.400 SG", "60 %ABV"},
         "! no liquid can be that heavy and that strong: there is no room left for water"},
        {"liquid",
         {"1 L", "1.010 SG", "6 %ABV", "500 g/L"},
         "! this is more sugar than the liquid has dissolved solids"},
    };
    CHECK_ROWS(rows);
}

Test(native_liquid, ferment) {
    World world;
    world_open(&world);
    Value juice = WORLD_MAKE(&world, "juice", "1.050 SG"), wine;
    cr_assert(world_call(&world, "ferment", &juice, 1, &wine));
    EXPECT_NEAR(number_of(&world, wine, "strength"), 6.57, 0.01); /* Balling and Tabarié by hand */
    EXPECT_NEAR(number_of(&world, wine, "gravity"), 1.000, 0.0005);
    EXPECT_NEAR(number_of(&world, wine, "sugar"), 0, 1e-12);
    /* a share that was only assumed gives way to the reading, one that was told does not */
    Value low[] = {juice, world_value(&world, "0.996 SG")};
    cr_expect(world_call(&world, "ferment", low, 2, &wine));
    EXPECT_NEAR(number_of(&world, wine, "gravity"), 0.996, 1e-12);
    low[0] = WORLD_MAKE(&world, "juice", "1.050 SG", "-", "-", "-", "18%");
    cr_expect(!world_call(&world, "ferment", low, 2, &wine));
    cr_expect_eq(world.fault.id, MSG_LIQUID_FINAL_TOO_LOW);
    cr_expect_eq(world.fault.argument, 2);
    cr_expect_eq(world.fault.hint, HINT_SHARE_BY_GRAVITY);
    cr_expect_str_eq(world.fault.hint_args[1].text, "11.6"); /* Balling's balance */
    /* both figures that the error names can be reached */
    char *lowest = mem_copy_string(world.fault.args[1].text);
    low[1] = world_value(&world, lowest);
    cr_expect(world_call(&world, "ferment", low, 2, &wine), "down to %s", lowest);
    mem_free(lowest);
    low[0] = WORLD_MAKE(&world, "juice", "1.050 SG", "-", "-", "-", "11.6%");
    low[1] = world_value(&world, "0.996 SG");
    cr_expect(world_call(&world, "ferment", low, 2, &wine));
    /* tolerance stops it, or the end of the sugar */
    Value strong = WORLD_MAKE(&world, "juice", "1.140 SG");
    Value tolerant[] = {strong, value_absent(), world_value(&world, "14 %ABV")};
    cr_assert(world_call(&world, "ferment", tolerant, 3, &wine));
    EXPECT_NEAR(number_of(&world, wine, "strength"), 14, 1e-9);
    tolerant[0] = juice;
    cr_assert(world_call(&world, "ferment", tolerant, 3, &wine));
    EXPECT_NEAR(number_of(&world, wine, "strength"), 6.57, 0.01);
    /* 75 % apparent: °P falls from 12.39 to a quarter of it */
    Value attenuated[] = {juice, value_absent(), value_absent(), world_value(&world, "75%")};
    cr_assert(world_call(&world, "ferment", attenuated, 4, &wine));
    Value final = field(&world, wine, "gravity");
    double before = 0, after = 0;
    cr_assert(unit_convert(world.units, 1.050, UNIT_SG, UNIT_PLATO, &before, &world.fault));
    cr_assert(unit_convert(world.units, final.as.number, UNIT_SG, UNIT_PLATO, &after, &world.fault));
    EXPECT_NEAR(after / before, 0.25, 1e-9);
    world_close(&world);
}

Test(native_liquid, ferment_errors) {
    World world;
    world_open(&world);
    Value juice = WORLD_MAKE(&world, "juice", "1.050 SG"),
          nothing = WORLD_MAKE(&world, "juice", "1.050 SG", "0 L");
    const struct {
        Value liquid;
        const char *to, *tolerance, *attenuation, *want;
    } rows[] = {
        {juice, "1.060 SG", "-", "-",
         "! fermentation cannot raise a gravity: it is 1.0500 SG now, and 1.060 SG was asked for"},
        {juice, "1.004 SG", "8 %ABV", "-", "! ferment takes only one of to, tolerance and attenuation"},
        {juice, "5 gal", "-", "-", "! ferment needs a gravity for `to`, not a volume"},
        {juice, "-", "-", "250%", "! ferment works for `attenuation` from 0 % to 200 %, not for 250 %"},
        {juice, "0.900 SG", "-", "-",
         "! the sugar does not allow 0.900 SG: the lowest gravity possible is 0.9890 SG"},
        {nothing, "1.004 SG", "-", "-", "! a liquid without mass has no gravity, strength or volume"},
        {WORLD_MAKE(&world, "water"), "-", "-", "75%",
         "! an attenuation of 75 % is not possible from a gravity of 1.0000 SG"},
        {world_value(&world, "5 gal"), "-", "-", "-", "! ferment needs a liquid for `l`, not a volume"},
    };
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        Value args[] = {rows[i].liquid, world_value(&world, rows[i].to),
                        world_value(&world, rows[i].tolerance), world_value(&world, rows[i].attenuation)};
        Value result;
        bool done = world_call(&world, "ferment", args, 4, &result);
        char *got = world_outcome(&world, done, result);
        cr_expect_str_eq(got, rows[i].want, "row %zu: got %s, want %s", i, got, rows[i].want);
        mem_free(got);
    }
    world_close(&world);
}

Test(native_liquid, amounts) {
    World world;
    world_open(&world);
    Value juice = WORLD_MAKE(&world, "juice", "1.050 SG", "5 gal", "6 g/L"), result;
    Value args[] = {juice, world_value(&world, "1 gal")};
    cr_assert(world_call(&world, "take", args, 2, &result));
    EXPECT_SHOWN(&world, result, "1 gal, 1.050 SG, 0.0 %ABV");
    EXPECT_SHOWN(&world, field(&world, result, "acid"), "6 g/L");
    cr_assert(world_call(&world, "lose", args, 2, &result));
    EXPECT_SHOWN(&world, result, "4 gal, 1.050 SG, 0.0 %ABV");
    cr_assert(world_call(&world, "resize", args, 2, &result));
    EXPECT_SHOWN(&world, result, "1 gal, 1.050 SG, 0.0 %ABV");
    args[1] = world_value(&world, "5 gal"); /* all of it */
    cr_assert(world_call(&world, "lose", args, 2, &result));
    EXPECT_SHOWN(&world, result, "0 gal");
    args[1] = world_value(&world, "6 gal");
    cr_expect(!world_call(&world, "take", args, 2, &result));
    char *got = world_outcome(&world, false, result);
    cr_expect_str_eq(got, "! 6 gal cannot be taken: there is only 5 gal");
    mem_free(got);
    args[1] = world_value(&world, "50%");
    cr_expect(!world_call(&world, "resize", args, 2, &result));
    cr_expect_eq(world.fault.id, MSG_ARGUMENT_KIND);
    args[1] = world_value(&world, "1.05 SG");
    cr_expect(!world_call(&world, "take", args, 2, &result));
    cr_expect_eq(world.fault.id, MSG_ARGUMENT_KIND);
    cr_expect_eq(world.fault.argument, 2);
    world_close(&world);
}

Test(native_liquid, moneys) {
    World world;
    world_open(&world);
    Arith arith = world_arith(&world);
    Value left[] = {world_value(&world, "1 kg"), value_amount(3, world.crown)}, a, b, c, result;
    Value middle[] = {world_value(&world, "1 kg"), value_amount(50, world.penny)};
    Value right[] = {world_value(&world, "1 kg"), value_amount(2, world.ducat)};
    cr_assert(world_call(&world, "sugar", left, 2, &a) && world_call(&world, "sugar", middle, 2, &b) &&
              world_call(&world, "sugar", right, 2, &c));
    EXPECT_SHOWN(&world, field(&world, pour(&world, a, b), "cost"), "3.50 crown");
    EXPECT_SHOWN(&world, field(&world, pour(&world, a, WORLD_MAKE(&world, "water")), "cost"), "3.00 crown");
    EXPECT_SHOWN(&world, field(&world, pour(&world, WORLD_MAKE(&world, "water"), a), "cost"), "3.00 crown");
    EXPECT_SHOWN(&world, field(&world, of(&world, "500 g", a), "cost"), "1.50 crown");
    cr_expect(!arith_add(&arith, a, c, &result));
    cr_expect_eq(world.fault.id, MSG_LIQUID_TWO_MONEYS);
    ListObject *list = list_new(world.heap, 3);
    list->items[0] = a;
    list->items[1] = WORLD_MAKE(&world, "water");
    list->items[2] = b;
    Value listed = value_of_list(list);
    cr_assert(world_call(&world, "sum", &listed, 1, &result));
    EXPECT_SHOWN(&world, field(&world, result, "cost"), "3.50 crown");
    EXPECT_NEAR(number_of(&world, result, "mass"), 2.9982, 1e-4);
    world_close(&world);
}

static bool with_one(World *world, Value liquid, const char *name, Value value, Value *result) {
    Arith arith = world_arith(world);
    RecordObject *changes = record_new(world->heap, 1);
    changes->fields[0].name = text_object_intern(world->heap, name, strlen(name));
    changes->fields[0].value = value;
    fault_clear(&world->fault);
    return liquid_value_with(&arith, liquid.as.liquid, changes, result);
}

Test(native_liquid, with) {
    World world;
    world_open(&world);
    Value juice = WORLD_MAKE(&world, "juice", "1.050 SG", "2 L"), changed;
    cr_assert(with_one(&world, juice, "acid", world_value(&world, "6.5 g/L"), &changed));
    EXPECT_SHOWN(&world, field(&world, changed, "acid"), "6.5 g/L");
    EXPECT_SHOWN(&world, field(&world, juice, "acid"), "0 g/L");
    cr_assert(with_one(&world, juice, "sulphite", world_value(&world, "50 ppm"), &changed));
    EXPECT_SHOWN(&world, field(&world, changed, "sulphite"), "50 mg/L");
    cr_assert(with_one(&world, juice, "sugar", world_value(&world, "100 g/L"), &changed));
    EXPECT_SHOWN(&world, field(&world, changed, "sugar"), "100 g/L");
    EXPECT_SHOWN(&world, field(&world, changed, "gravity"), "1.050 SG");
    cr_assert(with_one(&world, juice, "cost", value_amount(2, world.crown), &changed));
    EXPECT_SHOWN(&world, field(&world, changed, "cost"), "2.00 crown");
    cr_assert(with_one(&world, changed, "cost", value_none(), &changed));
    EXPECT_SHOWN(&world, field(&world, changed, "cost"), "none");
    cr_expect(!with_one(&world, juice, "volume", world_value(&world, "5 L"), &changed));
    cr_expect_eq(world.fault.id, MSG_LIQUID_WITH_FIELD);
    cr_expect(!with_one(&world, juice, "sugar", world_value(&world, "200 g/L"), &changed));
    cr_expect_eq(world.fault.id, MSG_LIQUID_SUGAR_ABOVE_SOLIDS);
    cr_expect(!with_one(&world, juice, "acid", world_value(&world, "-1 g/L"), &changed));
    cr_expect_eq(world.fault.id, MSG_LIQUID_NEGATIVE_PART);
    world_close(&world);
}

Test(native_liquid, assumption_of_sugar) {
    World world;
    world_open(&world);
    WORLD_MAKE(&world, "liquid", "1 L", "1.010 SG", "6 %ABV");
    cr_expect_eq(world.assumed, 1);
    WORLD_MAKE(&world, "liquid", "1 L", "1.010 SG", "6 %ABV", "10 g/L");
    cr_expect_eq(world.assumed, 1, "sugar was given");
    WORLD_MAKE(&world, "juice", "1.050 SG");
    cr_expect_eq(world.assumed, 2, "the share of an apple juice was taken");
    world_close(&world);
}

/* The volume kept in an object is that of its masses, however it came about. */
Test(native_liquid, kept_volume_is_true) {
    World world;
    world_open(&world);
    Arith arith = world_arith(&world);
    Value wine = WORLD_MAKE(&world, "liquid", "3 L", "1.020 SG", "12 %ABV"), scaled, changed;
    cr_assert(liquid_value_scale(&arith, wine.as.liquid, 2.5, &scaled));
    cr_assert(with_one(&world, scaled, "sugar", world_value(&world, "10 g/L"), &changed));
    Value values[] = {wine, scaled, changed, of(&world, "1 gal", wine), of(&world, "300 g", wine)};
    for (size_t i = 0; i < sizeof values / sizeof *values; i++)
        EXPECT_NEAR(liquid_value_volume_l(values[i].as.liquid), liquid_volume_l(&values[i].as.liquid->liquid),
                    1e-12);
    world_close(&world);
}

/* ---- formulas on physics ---- */

Test(native_liquid, figures_of_the_model) {
    static const struct {
        const char *words[6];
        double want, tolerance;
        UnitId unit;
    } rows[] = {
        /* worked out apart from this program from docs/model.md, "Fermentation" */
        {{"abv", "1.050 SG", "1.000 SG"}, 6.55, 0.02, UNIT_ABV},
        {{"abv", "1.060 SG", "1.010 SG"}, 6.56, 0.02, UNIT_ABV},
        {{"abv", "1.080 SG", "1.000 SG"}, 10.63, 0.02, UNIT_ABV},
        {{"abv", "1.080 SG", "1.020 SG"}, 7.94, 0.02, UNIT_ABV},
        {{"abv", "1.100 SG", "1.000 SG"}, 13.42, 0.02, UNIT_ABV},
        {{"abv", "1.120 SG", "1.010 SG"}, 14.89, 0.02, UNIT_ABV},
        /* the same from docs/model.md, "Instruments" */
        {{"hydrometer", "1.080 SG", "30 °C"}, 1.0831, 0.0001, UNIT_SG},
        {{"hydrometer", "1.050 SG", "20 °C"}, 1.050, 1e-12, UNIT_SG},
        {{"refractometer", "8.32 °Bx", "12 °Bx"}, 1.0246, 0.0001, UNIT_SG},
        {{"refractometer", "4.58 °Bx", "12 °Bx"}, 1.0010, 0.0001, UNIT_SG},
        /* Bettin and Spieweck 1990; R 22: 948.05 kg/m3 at 40 %ABV (OIML R 22, table) */
        {{"water_density", "20 °C"}, 998.2031, 0.0001, UNIT_KG_PER_M3},
        {{"water_density", "68 °F"}, 998.2031, 0.0001, UNIT_KG_PER_M3},
        {{"alcohol_density", "40 %ABV"}, 948.05, 0.01, UNIT_KG_PER_M3},
        {{"alcohol_density", "100 %ABV"}, 789.24, 0.01, UNIT_KG_PER_M3},
        {{"sugar_density", "1.000 SG"}, 998.2031, 0.001, UNIT_KG_PER_M3},
        {{"sugar_of", "1.000 SG"}, 0, 1e-9, UNIT_G_PER_L},
        {{"sugar_of", "12.4 °Bx"}, 124 * 1.05003 * 0.9982012, 0.01, UNIT_G_PER_L}, /* w d(w) 998.2012 */
    };
    World world;
    world_open(&world);
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        int count = 0;
        while (count < 6 && rows[i].words[count])
            count++;
        Value got = world_make(&world, rows[i].words, count);
        cr_expect(near(got.as.number, rows[i].want, 0, rows[i].tolerance),
                  "row %zu, %s(%s): got %.9g, want %.9g", i, rows[i].words[0], rows[i].words[1],
                  got.as.number, rows[i].want);
        cr_expect_eq(got.unit, rows[i].unit, "row %zu, %s: unit", i, rows[i].words[0]);
    }
    world_close(&world);
}

/* 1 atm of CO2 over water at 0 °C and at 20 °C, Weiss (1974) table of K0: 0.07758 and 0.03918 mol/(L atm) of
 * fugacity. */
Test(native_liquid, carbon_dioxide) {
    World world;
    world_open(&world);
    Value cold = WORLD_MAKE(&world, "co2_solubility", "0 °C"),
          warm = WORLD_MAKE(&world, "co2_solubility", "20 °C");
    cr_expect_eq(cold.unit, (UnitId)UNIT_G_PER_L);
    EXPECT_NEAR(cold.as.number, 0.07758 * 44.009, 0.03); /* fugacity is up to 0.7 % below pressure */
    EXPECT_NEAR(warm.as.number, 0.03918 * 44.009, 0.015);
    Value strong = WORLD_MAKE(&world, "co2_solubility", "20 °C", "1 atm", "10 %ABV");
    EXPECT_NEAR(strong.as.number / warm.as.number, 0.76 / 0.86, 1e-12); /* Regulation 2676/90 ch. 37 */
    world_close(&world);
}

/* Pouring the answer in reaches the target. */
Test(native_liquid, additions) {
    World world;
    world_open(&world);
    Value wine = WORLD_MAKE(&world, "liquid", "5 gal", "1.010 SG", "10 %ABV"),
          spirit = WORLD_MAKE(&world, "spirit", "40 %ABV");
    Value args[] = {wine, spirit, world_value(&world, "18 %ABV")}, volume, mixed;
    Arith arith = world_arith(&world);
    cr_assert(world_call(&world, "spirit_needed", args, 3, &volume));
    cr_expect_eq(volume.unit, (UnitId)UNIT_GAL);
    cr_expect_eq(world.cautions, 1);
    cr_assert(liquid_value_of(&arith, volume, spirit.as.liquid, &mixed));
    EXPECT_NEAR(number_of(&world, pour(&world, wine, mixed), "strength"), 18, 1e-9);

    Value down[] = {spirit, world_value(&world, "20 %ABV")};
    cr_assert(world_call(&world, "water_needed", down, 2, &volume));
    cr_expect_eq(world.cautions, 2);
    cr_assert(liquid_value_of(&arith, volume, WORLD_MAKE(&world, "water").as.liquid, &mixed));
    EXPECT_NEAR(number_of(&world, pour(&world, spirit, mixed), "strength"), 20, 1e-9);

    Value sweet[] = {wine, world_value(&world, "1.025 SG")}, mass;
    cr_assert(world_formula(&world, "sweeten_dose")); /* loads its part in C */
    cr_assert(world_call(&world, "mass_to_sweeten", sweet, 2, &mass));
    cr_expect_eq(mass.unit, (UnitId)UNIT_G);
    cr_assert(liquid_value_of(&arith, mass, WORLD_MAKE(&world, "sugar").as.liquid, &mixed));
    EXPECT_NEAR(number_of(&world, pour(&world, wine, mixed), "gravity"), 1.025, 1e-10);

    args[2] = world_value(&world, "45 %ABV");
    cr_expect(!world_call(&world, "spirit_needed", args, 3, &volume));
    char *got = world_outcome(&world, false, volume);
    cr_expect_str_eq(
        got, "! no amount of the addition brings the liquid to 45.0 %ABV: the liquid has 10.0 %ABV, the "
             "addition 40.0 %ABV");
    mem_free(got);
    down[1] = world_value(&world, "0 %ABV"); /* endless */
    cr_expect(!world_call(&world, "water_needed", down, 2, &volume));
    cr_expect_eq(world.fault.id, MSG_LIQUID_OUT_OF_REACH);
    sweet[0] = WORLD_MAKE(&world, "juice", "1.050 SG", "0 L");
    cr_expect(!world_call(&world, "mass_to_sweeten", sweet, 2, &volume));
    cr_expect_eq(world.fault.id, MSG_LIQUID_NO_MASS);
    world_close(&world);
}

Test(native_liquid, formula_errors) {
    static const NativeRow rows[] = {
        {"water_density",
         {"120 °C"},
         "! water_density works for `at` from 0.0 °C to 100.0 °C, not for 120.0 °C"},
        {"alcohol_density",
         {"40 %ABV", "50 °C"},
         "! alcohol_density works for `at` from -20.0 °C to 40.0 °C, not for 50.0 °C"},
        {"alcohol_density", {"5 gal"}, "! alcohol_density needs a strength for `strength`, not a volume"},
        {"sugar_density",
         {"1.05 SG", "212 °F"},
         "! sugar_density works for `at` from 32.0 °F to 176.0 °F, not for 212.0 °F"},
        {"sugar_of", {"0.998 SG"}, "! a juice has a gravity from 1.000 SG to 1.448 SG, not 0.998 SG"},
        {"hydrometer",
         {"1.05 SG", "70 °C"},
         "! hydrometer works for `at` from 0.0 °C to 60.0 °C, not for 70.0 °C"},
        {"refractometer", {"13 °Bx", "12 °Bx"}, "! the reading is above the original gravity"},
        {"refractometer",
         {"2 °Bx", "12 °Bx"},
         "! the reading is lower than it would be with all the solids fermented"},
        {"abv",
         {"1.050 SG", "1.060 SG"},
         "! fermentation cannot raise a gravity: it is 1.050 SG now, and 1.060 SG was asked for"},
        {"abv",
         {"1.050 SG", "0.950 SG"},
         "! the sugar does not allow 0.950 SG: the lowest gravity possible is 0.9890 SG"},
        {"abv", {"50 pts", "1.000 SG"}, "! abv needs a gravity for `original`, not a gravity difference"},
        {"co2_solubility",
         {"4 °C", "5 bar", "0 %ABV", "400 g/L"},
         "! co2_solubility works for `sugar` from 0 g/L to 300 g/L, not for 400 g/L"},
    };
    CHECK_ROWS(rows);
}

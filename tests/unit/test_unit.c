/* SPDX-FileCopyrightText: the Rundlet developers */
/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The table of units: each unit against its published factor, the algebra of docs/reference/language.md,
 * "Quantities", names and faults. */
#include <criterion/criterion.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "csv_rows.h"
#include "near.h"
#include "quantities/unit.h"

#define NOT_A_NUMBER ((double)NAN)

static UnitTable *table;
static Fault fault;

static void begin(void) {
    table = unit_table_new();
}

static void end(void) {
    fault_clear(&fault);
    unit_table_free(table);
}

TestSuite(unit, .init = begin, .fini = end);

/* ---- helpers ---- */

static UnitId find(const char *name) {
    UnitId id = 0;
    cr_assert(unit_find(table, name, true, &id), "no unit %s", name);
    return id;
}

/* A unit as typed: names, `*`, `/` and `^`. "" is the plain number. */
static UnitId compose(const char *typed) {
    UnitFactor factors[UNIT_TERMS];
    int count = 0, sign = 1;
    UnitId id = UNIT_NUMBER;
    char name[32];
    for (const char *p = typed; *p;) {
        size_t length = strcspn(p, "*/^");
        snprintf(name, sizeof name, "%.*s", (int)length, p);
        p += length;
        int exponent = 1;
        if (*p == '^') {
            char *end;
            exponent = (int)strtol(p + 1, &end, 10);
            p = end;
        }
        factors[count++] = (UnitFactor){find(name), sign * exponent};
        sign = *p == '/' ? -1 : 1;
        p += *p != '\0';
    }
    if (count)
        cr_assert(unit_compose(table, factors, count, &id, &fault), "%s does not compose", typed);
    return id;
}

static const char *name_of(UnitId id) {
    return unit_get(table, id)->name;
}

static char *message(void) {
    Diag *diag = diag_from_fault(&fault, NULL, (Span){0, 0});
    char *text = strdup(diag->message);
    diag_free(diag);
    return text;
}

static double converted(double number, const char *from, const char *to) {
    double result = NOT_A_NUMBER;
    cr_assert(unit_convert(table, number, compose(from), compose(to), &result, &fault), "%s as %s", from, to);
    return result;
}

/* ---- the rows ---- */

/* Typed from the sources, in the units the sources use; `to` is a unit whose own factor stands in this table
 * too. */
static const struct {
    const char *name;
    double number;
    const char *to;
    Kind kind;
    const char *source;
} published[] = {
    {"%", 0.01, "", KIND_NUMBER, "ISO 80000-1"},
    {"L", 0.001, "m3", KIND_VOLUME, "SI Brochure 9th ed., table 8"},
    {"mL", 1e-6, "m3", KIND_VOLUME, "SI Brochure, prefixes"},
    {"cL", 1e-5, "m3", KIND_VOLUME, "SI Brochure, prefixes"},
    {"dL", 1e-4, "m3", KIND_VOLUME, "SI Brochure, prefixes"},
    {"hL", 0.1, "m3", KIND_VOLUME, "SI Brochure, prefixes"},
    {"m3", 1000, "L", KIND_VOLUME, "SI Brochure"},
    {"gal", 3.785411784, "L", KIND_VOLUME, "NIST Handbook 44 app. C: 231 cubic inches"},
    {"qt", 0.946352946, "L", KIND_VOLUME, "NIST Handbook 44 app. C"},
    {"pt", 0.473176473, "L", KIND_VOLUME, "NIST Handbook 44 app. C"},
    {"cup", 236.5882365, "mL", KIND_VOLUME, "NIST SP 811 app. B.8, 2.365882E-04 m3; Handbook 44: 8 fl oz"},
    {"floz", 29.5735295625, "mL", KIND_VOLUME, "NIST Handbook 44 app. C"},
    {"tbsp", 14.78676478125, "mL", KIND_VOLUME, "NIST SP 811 app. B.8, 1.478676E-05 m3; 1/2 fl oz"},
    {"tsp", 4.92892159375, "mL", KIND_VOLUME, "NIST SP 811 app. B.8, 4.928922E-06 m3; 1/6 fl oz"},
    {"bbl", 117.347765304, "L", KIND_VOLUME, "NIST Handbook 44 app. C, footnote: 31 gal of fermented liquor"},
    {"igal", 4.54609, "L", KIND_VOLUME, "NIST SP 811 app. B.8, 4.54609E-03 m3"},
    {"iqt", 1.1365225, "L", KIND_VOLUME, "igal/4"},
    {"ipt", 0.56826125, "L", KIND_VOLUME, "igal/8"},
    {"ifloz", 28.4130625, "mL", KIND_VOLUME, "NIST SP 811 app. B.8, 2.841306E-05 m3; igal/160"},
    {"kg", 1000, "g", KIND_MASS, "SI Brochure"},
    {"g", 0.001, "kg", KIND_MASS, "SI Brochure"},
    {"mg", 1e-6, "kg", KIND_MASS, "SI Brochure"},
    {"tonne", 1000, "kg", KIND_MASS, "SI Brochure, table 8"},
    {"lb", 453.59237, "g", KIND_MASS, "NIST SP 811 app. B.8, exact"},
    {"oz", 28.349523125, "g", KIND_MASS, "NIST Handbook 44 app. C, exact"},
    {"gr", 64.79891, "mg", KIND_MASS, "NIST SP 811 app. B.8, exact"},
    {"m", 100, "cm", KIND_LENGTH, "SI Brochure"},
    {"cm", 0.01, "m", KIND_LENGTH, "SI Brochure"},
    {"mm", 0.001, "m", KIND_LENGTH, "SI Brochure"},
    {"inch", 25.4, "mm", KIND_LENGTH, "NIST SP 811 app. B.8, exact"},
    {"ft", 0.3048, "m", KIND_LENGTH, "NIST SP 811 app. B.8, exact"},
    {"s", 1. / 60, "min", KIND_TIME, "SI Brochure"},
    {"min", 60, "s", KIND_TIME, "SI Brochure, table 8"},
    {"h", 3600, "s", KIND_TIME, "SI Brochure, table 8"},
    {"day", 86400, "s", KIND_TIME, "SI Brochure, table 8"},
    {"week", 7, "day", KIND_TIME, "ISO 8601"},
    {"month", 1, "month", KIND_MONTHS, "of the calendar: no other unit is a fixed part of it"},
    {"C°", 1.8, "F°", KIND_TEMPERATURE_DIFFERENCE, "NIST SP 811 app. B.8"},
    {"F°", 5. / 9, "C°", KIND_TEMPERATURE_DIFFERENCE, "NIST SP 811 app. B.8"},
    {"kPa", 1000, "Pa", KIND_PRESSURE, "SI Brochure"},
    {"Pa", 0.001, "kPa", KIND_PRESSURE, "SI Brochure"},
    {"bar", 100, "kPa", KIND_PRESSURE, "NIST SP 811 app. B.8"},
    {"psi", 6894.75729316836134, "Pa", KIND_PRESSURE,
     "lb, standard gravity and inch of NIST SP 811; there 6894.757"},
    {"atm", 101325, "Pa", KIND_PRESSURE, "NIST SP 811 app. B.8, exact"},
    {"mmHg", 133.322387415, "Pa", KIND_PRESSURE, "NIST SP 811 app. B.8: 133.3224; 13.5951 × 9.80665 Pa"},
    {"ppm", 1, "mg/L", KIND_CONCENTRATION, "common practice: mg/L"},
    {"vols", 1.9768, "g/L", KIND_CONCENTRATION, "density of CO2 at 0 °C and 1 atm, CRC Handbook: 1.9768 g/L"},
    {"kJ", 1000, "J", KIND_ENERGY, "SI Brochure"},
    {"J", 0.001, "kJ", KIND_ENERGY, "SI Brochure"},
    {"kcal", 4.184, "kJ", KIND_ENERGY, "NIST SP 811 app. B.8, thermochemical, exact"},
    {"W", 0.001, "kW", KIND_POWER, "SI Brochure"},
    {"kW", 1000, "W", KIND_POWER, "SI Brochure"},
    {"IBU", 1, "mg/L", KIND_CONCENTRATION, "our own definition"},
    {"°dH", 17.85, "mg/L", KIND_CONCENTRATION, "10 mg/L of CaO as CaCO3; molar masses 56.08 and 100.09"},
    {"meq", 50.04, "mg", KIND_MASS, "CaCO3: 100.09 g/mol and two charges"},
    {"EBC", 0.508, "SRM", KIND_COLOUR, "ASBC Beer-10 and EBC 9.6: 12.7 / 25"},
    {"SRM", 25 / 12.7, "EBC", KIND_COLOUR, "ASBC Beer-10 and EBC 9.6"},
    {"PU", 1, "PU", KIND_PASTEURISATION, "a minute at 60 °C"},
    {"Gcell", 1000, "Mcell", KIND_CELLS, "SI prefixes"},
    {"Mcell", 0.001, "Gcell", KIND_CELLS, "SI prefixes"},
};

Test(unit, sources) {
    static const struct {
        const char *name, *source;
    } rows[] = {
#define UNIT(id, name, alias, kind, scale, factor, places, difference, source) {name, source},
#include "quantities/unit.def"
#undef UNIT
    };
    for (size_t i = 1; i < sizeof rows / sizeof *rows; i++) /* the number has none */
        cr_expect(*rows[i].source, "%s has no source", rows[i].name);
}

Test(unit, factors) {
    for (size_t i = 0; i < sizeof published / sizeof *published; i++) {
        const char *name = published[i].name, *to = published[i].to;
        double got = converted(1, name, to);
        cr_expect(got == published[i].number, "1 %s is %.17g %s, %s says %.17g", name, got, to,
                  published[i].source, published[i].number);
        cr_expect(near(converted(published[i].number, to, name), 1, 3e-16, 0), "%s and back", name);
        cr_expect_eq(unit_get(table, find(name))->kind, published[i].kind, "%s", name);
    }
    int linear = 0; /* of those that are typed; scales have tests of their own */
    for (UnitId id = UNIT_NUMBER + 1; id < UNIT_G_PER_L; id++)
        linear += unit_is_linear(unit_get(table, id)) && id != UNIT_PTS && id != UNIT_ABV;
    cr_expect_eq(linear, sizeof published / sizeof *published, "%d linear units: each needs its row here",
                 linear);
}

/* The rows of chemistry_and_units.csv that are conversions; the source stands in each. */
Test(unit, published_conversions) {
    static const struct {
        const char *inputs, *from, *to;
    } known[] = {
        {"1 US gal;out=L", "gal", "L"},
        {"100 US gal;out=L", "gal", "L"},
        {"1 US fl oz;out=mL", "floz", "mL"},
        {"1 US qt;out=L", "qt", "L"},
        {"1 imp pt;out=L", "ipt", "L"},
        {"1 US tbsp;out=mL", "tbsp", "mL"},
        {"1 US beer barrel (31 gal);out=L", "bbl", "L"},
        {"1 lb;out=g", "lb", "g"},
        {"1 grain;out=mg", "gr", "mg"},
        {"1 psi;out=Pa", "psi", "Pa"},
        {"60 psi;out=bar", "psi", "bar"},
        {"3 bar excess;out=psi", "bar", "psi"},
        {"1 bar;out=psi", "bar", "psi"},
        {"1 mmHg conventional;out=Pa", "mmHg", "Pa"},
        {"1 kcal_th;out=kJ", "kcal", "kJ"},
        {"68 degF;out=degC", "°F", "°C"},
        {"0 degC;out=K", "°C", "K"},
        {"1 grain/imp gal;out=mg/L", "gr/igal", "mg/L"},
        {"1 lb/US gal;out=g/L", "lb/gal", "g/L"},
    };
    CsvRows rows;
    cr_assert(csv_rows_read(&rows, "chemistry_and_units.csv"));
    size_t seen = 0;
    for (size_t i = 0; i < rows.count; i++)
        for (size_t k = 0; k < sizeof known / sizeof *known; k++) {
            if (strcmp(csv_rows_text(&rows, i, "inputs"), known[k].inputs) != 0)
                continue;
            double got = converted(csv_rows_number(&rows, i, "inputs"), known[k].from, known[k].to);
            double want = csv_rows_number(&rows, i, "expected");
            seen++;
            cr_expect(near(got, want, 3e-16, csv_rows_number(&rows, i, "tolerance")),
                      "%s: %.12g, %s says %.12g", known[k].inputs, got, csv_rows_text(&rows, i, "source"),
                      want);
        }
    cr_expect_eq(seen, sizeof known / sizeof *known, "%zu rows found", seen);
}

/* Wholes that a person expects to see come out whole. */
Test(unit, exact_wholes) {
    static const struct {
        double number;
        const char *from, *to;
        double want;
    } rows[] = {
        {128, "floz", "gal", 1},
        {1, "gal", "floz", 128},
        {12, "inch", "cm", 30.48},
        {30.48, "cm", "inch", 12},
        {30.48, "cm", "ft", 1},
        {3, "tsp", "tbsp", 1},
        {16, "tbsp", "cup", 1},
        {16, "cup", "gal", 1},
        {1, "bbl", "gal", 31},
        {16, "oz", "lb", 1},
        {7000, "gr", "lb", 1},
        {160, "ifloz", "igal", 1},
        {8, "ipt", "igal", 1},
        {1, "week", "day", 7},
        {90, "min", "h", 1.5},
        {1, "tonne", "mg", 1e9},
        {9, "F°", "C°", 5},
        {1, "atm", "mmHg", 101325 / 133.322387415},
        {5, "", "%", 500},
        {0.05, "", "%", 5},
        {12, "floz", "can", 1},
        {0.07, "m3", "L", 70},
        {3, "m^3", "L", 3000},
        {1, "g/mL", "kg/m3", 1000},
        {0.96, "g/L", "lb/gal", 0.96 / 119.82642731689663},
        {1, "kPa*L", "J", 1},
        {1, "kg*m^2/s^2", "J", 1},
        {1, "kg/m/s^2", "Pa", 1},
        {1, "L/m^2", "mm", 1},
        {1, "kg/m3", "g/L", 1},
        {2.5, "vols", "g/L", 4.942},
    };
    UnitId can;
    cr_assert(unit_declare_multiple(table, "can", 12, UNIT_FLOZ, &can, &fault));
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        UnitId to = strcmp(rows[i].to, "can") == 0 ? can : compose(rows[i].to);
        double got = NOT_A_NUMBER;
        cr_assert(unit_convert(table, rows[i].number, compose(rows[i].from), to, &got, &fault));
        cr_expect(near(got, rows[i].want, rows[i].want == floor(rows[i].want) ? 0 : 3e-16, 0),
                  "%g %s is %.17g %s", rows[i].number, rows[i].from, got, rows[i].to);
    }
}

/* Any unit to any other of its kind and back. */
Test(unit, round_trips) {
    int pairs = 0;
    for (UnitId a = 0; a < UNIT_BUILTIN_COUNT; a++)
        for (UnitId b = 0; b < UNIT_BUILTIN_COUNT; b++) {
            const Unit *from = unit_get(table, a), *to = unit_get(table, b);
            if (!unit_same_kind(table, a, b) || !unit_is_linear(from) || !unit_is_linear(to))
                continue;
            pairs++;
            for (double number = -3; number < 200; number += 0.37) {
                double there = NOT_A_NUMBER, back = NOT_A_NUMBER;
                cr_assert(unit_convert(table, number, a, b, &there, &fault));
                cr_assert(unit_convert(table, there, b, a, &back, &fault));
                cr_assert(near(back, number, 3e-16, 0), "%.17g %s by %s: %.17g", number, from->name, to->name,
                          back);
            }
            cr_assert(near(unit_ratio(table, a, b), from->factor / to->factor, 4e-16, 0));
        }
    cr_expect_gt(pairs, 400);
}

/* ---- properties of the table ---- */

Test(unit, decimals) {
    static const struct {
        const char *names;
        int places;
    } rows[] = {{"SG ", 3},
                {"°Bx °P °C °F %ABV %ABW proof ", 1},
                {"°Oe °Be pts ", 1},
                {"pH ", 2},
                {"L gal floz g K C° F° psi vols ppm ukproof kcal % ", -1}};
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++)
        for (const char *p = rows[i].names; *p; p += strcspn(p, " ") + 1) {
            char name[16];
            snprintf(name, sizeof name, "%.*s", (int)strcspn(p, " "), p);
            cr_expect_eq(unit_get(table, find(name))->places, rows[i].places, "%s", name);
        }
    cr_expect_eq(unit_get(table, unit_declare_money(table, "crown"))->places, 2);
    cr_expect_eq(unit_get(table, unit_declare_count(table, "bottle"))->places, -1);
}

Test(unit, readings_and_their_differences) {
    static const char *const rows[][2] = {{"°C", "C°"},   {"°F", "F°"},   {"K", "C°"},
                                          {"SG", "pts"},  {"°Bx", "pts"}, {"°P", "pts"},
                                          {"°Oe", "pts"}, {"°Be", "pts"}, {"pH", ""}};
    int readings = 0;
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        const Unit *unit = unit_get(table, find(rows[i][0]));
        cr_expect(unit->reading, "%s is a reading", rows[i][0]);
        cr_expect_str_eq(name_of(unit->difference), rows[i][1], "%s", rows[i][0]);
        cr_expect_not(unit_get(table, unit->difference)->reading);
    }
    for (UnitId id = 0; id < UNIT_BUILTIN_COUNT; id++)
        readings += unit_get(table, id)->reading;
    cr_expect_eq(readings, 10, "those and the date");
    cr_expect_eq(unit_get(table, UNIT_DATE)->difference, UNIT_DAY);
    cr_expect_not(unit_same_kind(table, UNIT_CELSIUS, UNIT_CELSIUS_DIFFERENCE));
    cr_expect(unit_same_kind(table, UNIT_CELSIUS, UNIT_KELVIN));
    cr_expect_not(unit_same_kind(table, UNIT_SG, UNIT_PTS));
    cr_expect_not(unit_same_kind(table, UNIT_PH, UNIT_NUMBER));
}

Test(unit, names) {
    static const char *const same[][2] = {
        {"°C", "degC"},    {"°F", "degF"},    {"C°", "Cdeg"},      {"F°", "Fdeg"},
        {"°Bx", "Bx"},     {"°P", "Plato"},   {"°Oe", "Oe"},       {"°Be", "Baume"},
        {"week", "weeks"}, {"inch", "inchs"}, {"gal", "gals"},     {"cup", "cups"},
        {"day", "days"},   {"floz", "flozs"}, {"proof", "proofs"}, {"tonne", "tonnes"}};
    static const char *const none[] = {"",       "ML",  "G",    "barrel", "gs",   "ins",   "Ls",
                                       "c",      "P",   "pHs",  "m3s",    "date", "g/L",   "inchess",
                                       "weekss", "°Cs", "°Bxs", "SGs",    "degs", "%ABVs", "s s"};
    for (size_t i = 0; i < sizeof same / sizeof *same; i++) {
        cr_expect_eq(find(same[i][0]), find(same[i][1]), "%s and %s", same[i][0], same[i][1]);
        cr_expect_str_eq(name_of(find(same[i][1])), same[i][0], "how it prints");
    }
    UnitId id;
    for (size_t i = 0; i < sizeof none / sizeof *none; i++)
        cr_expect_not(unit_find(table, none[i], true, &id), "%s is no unit", none[i]);
    cr_expect_not(unit_find(table, "weeks", false, &id), "no plural where none may stand");
    cr_expect_str_eq(name_of(find("pts")), "pts", "gravity points, not pints");
    cr_expect_eq(compose("g/L"), UNIT_G_PER_L);
    cr_expect_eq(compose("kg/m3"), UNIT_KG_PER_M3);
    cr_expect_eq(compose("mg/L"), UNIT_MG_PER_L);
    cr_expect_eq(compose("g/mL"), UNIT_G_PER_ML);
    cr_expect_eq(compose("kJ/L"), UNIT_KJ_PER_L);
    cr_expect_eq(compose("kcal/L"), UNIT_KCAL_PER_L);
}

Test(unit, nearest) {
    static const char *const rows[][2] = {
        {"ml", "mL"},        {"l", "L"},         {"litre", "L"},      {"liters", "L"},
        {"gallon", "gal"},   {"gallons", "gal"}, {"ounce", "oz"},     {"pound", "lb"},
        {"lbs", "lb"},       {"grams", "g"},     {"ABV", "%ABV"},     {"abv", "%ABV"},
        {"%abv", "%ABV"},    {"sg", "SG"},       {"brix", "°Bx"},     {"Brix", "°Bx"},
        {"°f", "°F"},        {"F", "°F"},        {"C", "°C"},         {"hr", "h"},
        {"hours", "h"},      {"sec", "s"},       {"teaspoon", "tsp"}, {"tablespoons", "tbsp"},
        {"fl_oz", "floz"},   {"ozfl", "floz"},   {"kilo", "kg"},      {"kilos", "kg"},
        {"KG", "kg"},        {"PSI", "psi"},     {"points", "pts"},   {"ph", "pH"},
        {"inches", "inch"},  {"weke", "week"},   {"gall", "gal"},     {"vol", "vols"},
        {"volumes", "vols"}, {"plato", "Plato"}, {"percent", "%"},    {"minutes", "min"},
        {"zzzzzz", "none"},  {"bottle", "none"},
    };
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        const char *best = NULL;
        int distance = 99;
        unit_nearest(rows[i][0], &best, &distance);
        cr_expect_str_eq(best ? best : "none", rows[i][1], "%s: %s", rows[i][0], best ? best : "none");
    }
}

Test(unit, kind_words) {
    static const char *const words[] = {"number",
                                        "volume",
                                        "mass",
                                        "length",
                                        "time",
                                        "temperature",
                                        "temperature_difference",
                                        "gravity",
                                        "gravity_difference",
                                        "strength",
                                        "pressure",
                                        "concentration",
                                        "acidity",
                                        "energy",
                                        "power",
                                        "colour",
                                        "pasteurisation",
                                        "cells",
                                        "date",
                                        "months",
                                        "money",
                                        "count",
                                        "text",
                                        "list",
                                        "record",
                                        "liquid",
                                        "truth"};
    for (size_t i = 0; i < sizeof words / sizeof *words; i++) {
        Kind kind = KIND_NONE;
        cr_expect(kind_find(words[i], &kind), "%s", words[i]);
        cr_expect_str_eq(kind_word(kind), words[i]);
    }
    Kind kind;
    cr_expect_not(kind_find("other", &kind));
    cr_expect_not(kind_find("none", &kind));
    cr_expect_not(kind_find("Volume", &kind));
    cr_expect_str_eq(kind_phrase(KIND_ENERGY), "an energy");
    cr_expect_str_eq(kind_phrase(KIND_NUMBER), "a plain number");
}

/* ---- compounds ---- */

Test(unit, compound_names_and_kinds) {
    static const struct {
        const char *typed, *prints, *kind;
    } rows[] = {
        {"kg*m/s^2", "kg·m/s^2", "kg·m/s^2"},
        {"m/s^2", "m/s^2", "m/s^2"},
        {"g/L/min", "g/L/min", "g/L/min"},
        {"min^-1", "min^-1", "min^-1"},
        {"L^-1*min^-1", "L^-1·min^-1", "L^-1·min^-1"},
        {"L^-1*g", "g/L", "concentration"},
        {"pts*gal/lb", "pts·gal/lb", "pts·gal/lb"},
        {"m^3", "m^3", "volume"},
        {"m*m*m", "m^3", "volume"},
        {"m^2", "m^2", "m^2"},
        {"m^2/m", "m", "length"},
        {"g/m3", "g/m3", "concentration"},
        {"lb/gal", "lb/gal", "concentration"},
        {"kg/m/s^2", "kg/m/s^2", "pressure"},
        {"kg*m^2/s^2", "kg·m^2/s^2", "energy"},
        {"kPa*L", "kPa·L", "energy"},
        {"kJ/L", "kJ/L", "kJ/L"},
        {"kcal/floz", "kcal/floz", "kcal/floz"},
        {"mL/L", "mL/L", "number"},
        {"kJ/kg/Cdeg", "kJ/kg/C°", "kJ/kg/C°"},
        {"%ABV*L", "%ABV·L", "%ABV·L"},
        {"g^2/L^3", "g^2/L^3", "g^2/L^3"},
    };
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        UnitId id = compose(rows[i].typed);
        cr_expect_str_eq(name_of(id), rows[i].prints, "%s: %s", rows[i].typed, name_of(id));
        cr_expect_str_eq(unit_kind_text(table, id), rows[i].kind, "%s: %s", rows[i].typed,
                         unit_kind_text(table, id));
        cr_expect_eq(compose(rows[i].typed), id, "interned");
        char again[64] = ""; /* what prints reads back */
        for (const char *p = rows[i].prints; *p;)
            if (strncmp(p, "·", 2) == 0) {
                strcat(again, "*");
                p += 2;
            } else
                strncat(again, p++, 1);
        cr_expect_eq(compose(again), id, "%s reads back", rows[i].prints);
    }
}

/* a × b or a ÷ b: the unit it prints with, and the number that 1 of each makes. */
Test(unit, products) {
    static const struct {
        const char *left;
        char operation;
        const char *right, *unit;
        double number;
    } rows[] = {
        {"g/L", '*', "gal", "g", 3.785411784},
        {"g/L", '*', "L", "g", 1},
        {"g/L", '*', "m^3", "g", 1000},
        {"g/L", '*', "m3", "g", 1000},
        {"gal", '*', "g/L", "g", 3.785411784},
        {"g", '/', "g/L", "L", 1},
        {"lb", '/', "gal", "lb/gal", 1},
        {"L", '/', "gal", "", 0.26417205235814842}, /* NIST SP 811: 1/3.785411784 */
        {"L", '/', "L", "", 1},
        {"L", '/', "m3", "", 0.001},
        {"L", '/', "m^3", "", 0.001},
        {"m^3", '/', "L", "", 1000},
        {"m^2", '*', "m", "m^3", 1},
        {"m", '*', "ft", "m^2", 0.3048},
        {"ft", '*', "m", "ft^2", 1 / 0.3048},
        {"floz", '/', "min", "floz/min", 1},
        {"floz/min", '*', "h", "floz", 60},
        {"pts", '*', "gal", "pts·gal", 1},
        {"pts*gal", '/', "gal", "pts", 1},
        {"pts*gal/lb", '*', "lb", "pts·gal", 1},
        {"pts*gal/lb", '*', "oz", "pts·gal", 1. / 16},
        {"", '/', "min", "min^-1", 1},
        {"min^-1", '*', "h", "", 60},
        {"", '*', "gal", "gal", 1},
        {"gal", '*', "", "gal", 1},
        {"gal", '/', "", "gal", 1},
        {"ppm", '*', "gal", "mg", 3.785411784},
        {"gal", '*', "ppm", "mg", 3.785411784},
        {"vols", '*', "L", "g", 1.9768},
        {"g", '/', "vols", "L", 1 / 1.9768},
        {"ppm", '/', "vols", "", 1 / 1976.8},
        {"vols", '/', "min", "vols/min", 1},
        {"mL/L", '*', "gal", "mL", 3.785411784},
        {"mL", '/', "L", "", 0.001},
        {"kPa", '*', "m^2", "kPa·m^2", 1},
        {"psi", '/', "kPa", "", 6.894757293168361},
        {"kJ", '/', "kcal", "", 1 / 4.184},
        {"kJ/L", '*', "gal", "kJ", 3.785411784},
        {"kg*m/s^2", '/', "m^2", "kg/m/s^2", 1},
        {"kg*m/s^2", '/', "kPa*m^2", "", 0.001}, /* dimensionless as a whole */
        {"L/m^2", '/', "m", "", 0.001},
        {"L", '*', "m", "L·m", 1},
        {"proof", '/', "proof", "", 1},
        {"", '*', "proof", "proof", 1},
        {"proof", '/', "", "proof", 1},
        {"%ABV", '/', "%ABV", "", 1},
        {"%ABV", '*', "L", "%ABV·L", 1},
        {"%", '*', "g", "g", 0.01},
        {"g", '*', "%", "g", 0.01},
        {"g", '/', "%", "g", 100},
        {"day", '*', "F°", "day·F°", 1},
    };
    for (int again = 0; again < 2; again++) /* the second time from the cache */
        for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
            UnitId id = 0;
            double factor = NOT_A_NUMBER;
            bool divide = rows[i].operation == '/';
            cr_assert(unit_multiply(table, compose(rows[i].left), compose(rows[i].right), divide, &id,
                                    &factor, &fault));
            cr_expect_str_eq(name_of(id), rows[i].unit, "%s %c %s: %s", rows[i].left, rows[i].operation,
                             rows[i].right, name_of(id));
            cr_expect(near(factor, rows[i].number, 3e-16, 0), "%s %c %s: %.17g", rows[i].left,
                      rows[i].operation, rows[i].right, factor);
        }
}

/* Whatever units are multiplied, the number in coherent units is the product of theirs. */
Test(unit, products_keep_the_quantity) {
    static const char *const units[] = {"g/L",        "gal",  "ppm",      "vols",   "m^3",    "L/min",
                                        "kg*m/s^2",   "psi",  "kcal",     "mL/L",   "ft",     "inch^2",
                                        "pts*gal/lb", "week", "kJ/kg/C°", "min^-1", "lb/igal"};
    size_t count = sizeof units / sizeof *units;
    for (size_t i = 0; i < count; i++)
        for (size_t j = 0; j < count; j++)
            for (int divide = 0; divide < 2; divide++) {
                UnitId a = compose(units[i]), b = compose(units[j]), id;
                double factor;
                cr_assert(unit_multiply(table, a, b, divide, &id, &factor, &fault));
                double want = divide ? unit_get(table, a)->factor / unit_get(table, b)->factor
                                     : unit_get(table, a)->factor * unit_get(table, b)->factor;
                cr_assert(near(factor * unit_get(table, id)->factor, want, 2e-15, 0), "%s %s is %s", units[i],
                          units[j], name_of(id));
            }
}

Test(unit, powers_and_roots) {
    static const struct {
        const char *unit;
        int exponent;
        const char *want;
        double factor;
    } powers[] = {{"m", 3, "m^3", 1},      {"m", 0, "", 1},          {"m", 1, "m", 1},
                  {"m^2", -1, "m^-2", 1},  {"min", -1, "min^-1", 1}, {"g/L", 2, "g^2/L^2", 1},
                  {"", 5, "", 1},          {"%", 2, "", 1e-4},       {"mL/L", 2, "", 1e-6},
                  {"proof", 1, "proof", 1}};
    static const struct {
        const char *unit, *want;
        double factor;
    } roots[] = {{"m^2", "m", 1},
                 {"", "", 1},
                 {"ft^4", "ft^2", 1},
                 {"J/kg", "m/s", 1},
                 {"kJ/kg", "m/s", 31.622776601683793},
                 {"%", "", 0.1},
                 {"g^2/L^2", "g/L", 1},
                 {"L/m", "m", 0.031622776601683793}};
    UnitId id;
    double factor;
    for (size_t i = 0; i < sizeof powers / sizeof *powers; i++) {
        cr_assert(unit_power(table, compose(powers[i].unit), powers[i].exponent, &id, &factor, &fault));
        cr_expect_str_eq(name_of(id), powers[i].want, "%s^%d: %s", powers[i].unit, powers[i].exponent,
                         name_of(id));
        cr_expect(near(factor, powers[i].factor, 3e-16, 0), "%s^%d", powers[i].unit, powers[i].exponent);
    }
    for (size_t i = 0; i < sizeof roots / sizeof *roots; i++) {
        cr_assert(unit_square_root(table, compose(roots[i].unit), &id, &factor, &fault), "%s", roots[i].unit);
        cr_expect_str_eq(name_of(id), roots[i].want, "root of %s: %s", roots[i].unit, name_of(id));
        cr_expect(near(factor, roots[i].factor, 3e-16, 0), "root of %s: %.17g", roots[i].unit, factor);
    }
}

/* ---- units of one's own ---- */

Test(unit, own_units) {
    UnitId can, crown, penny, ducat, bottle, dozen, dose, id;
    double factor, result;
    cr_assert(unit_declare_multiple(table, "can", 12, UNIT_FLOZ, &can, &fault));
    crown = unit_declare_money(table, "crown");
    ducat = unit_declare_money(table, "ducat");
    bottle = unit_declare_count(table, "bottle");
    cr_assert(unit_declare_multiple(table, "penny", 0.01, crown, &penny, &fault));
    cr_assert(unit_declare_multiple(table, "dozen", 12, UNIT_NUMBER, &dozen, &fault));
    cr_assert(unit_declare_multiple(table, "dose", 3, UNIT_G_PER_L, &dose, &fault));
    cr_expect_eq(unit_get(table, can)->kind, KIND_VOLUME);
    cr_expect_eq(unit_get(table, penny)->kind, KIND_MONEY);
    cr_expect_eq(unit_get(table, penny)->places, 2);
    cr_expect_eq(unit_get(table, bottle)->kind, KIND_COUNT);
    cr_expect_str_eq(unit_kind_text(table, bottle), "bottle");

    static const struct {
        double number;
        int from, to;
        double want;
    } conversions[] = {{2, 0, 5, 24}, {3, 2, 1, 0.03}, {5, 1, 2, 500}};
    UnitId ids[] = {can, crown, penny, ducat, bottle, UNIT_FLOZ};
    for (size_t i = 0; i < sizeof conversions / sizeof *conversions; i++) {
        cr_assert(unit_convert(table, conversions[i].number, ids[conversions[i].from], ids[conversions[i].to],
                               &result, &fault));
        cr_expect(near(result, conversions[i].want, 3e-16, 0), "%zu: %.17g", i, result);
    }
    const struct {
        UnitId left;
        bool divide;
        UnitId right;
        const char *want;
        double factor;
    } products[] = {
        {can, true, UNIT_GAL, "", 12. / 128},
        {crown, true, UNIT_L, "crown/L", 1},
        {crown, true, bottle, "crown/bottle", 1},
        {crown, true, penny, "", 100},
        {dozen, false, bottle, "bottle", 12},
        {bottle, false, dozen, "bottle", 12},
        {dozen, false, dozen, "", 144},
        {dose, false, UNIT_L, "g", 3},
        {can, false, can, "can^2", 1},
    };
    for (size_t i = 0; i < sizeof products / sizeof *products; i++) {
        cr_assert(unit_multiply(table, products[i].left, products[i].right, products[i].divide, &id, &factor,
                                &fault));
        cr_expect_str_eq(name_of(id), products[i].want, "%zu: %s", i, name_of(id));
        cr_expect(near(factor, products[i].factor, 3e-16, 0), "%zu: %.17g", i, factor);
    }
    UnitId again;
    cr_assert(unit_declare_multiple(table, "can", 16, UNIT_FLOZ, &again, &fault));
    cr_expect_neq(again, can, "an old name makes a new unit");
    cr_expect_not(unit_same_kind(table, crown, ducat));
    cr_expect_not(unit_same_kind(table, bottle, unit_declare_count(table, "bottle")));
    cr_expect_eq(fault.id, MSG_NONE);
}

/* A multiple of a strength is one on every scale. */
Test(unit, own_strength) {
    UnitId tenth;
    double as_proof, as_tenths, direct;
    cr_assert(unit_declare_multiple(table, "tenth", 10, UNIT_ABV, &tenth, &fault));
    cr_assert(unit_convert(table, 4, tenth, UNIT_PROOF, &as_proof, &fault));
    cr_assert(unit_convert(table, 40, UNIT_ABV, UNIT_PROOF, &direct, &fault));
    cr_assert(unit_convert(table, direct, UNIT_PROOF, tenth, &as_tenths, &fault));
    cr_expect(near(as_proof, direct, 1e-14, 0));
    cr_expect(near(as_tenths, 4, 1e-12, 0), "%.17g", as_tenths);
    cr_expect_not(unit_convert(table, 11, tenth, UNIT_PROOF, &direct, &fault));
    char *text = message();
    cr_expect_str_eq(text, "110 %ABV is out of range: %ABV goes from 0 to 100");
    free(text);
}

Test(unit, two_tables) {
    UnitTable *other = unit_table_new();
    UnitId can, cup, id;
    double here, there;
    cr_assert(unit_declare_multiple(table, "can", 12, UNIT_FLOZ, &can, &fault));
    cr_assert(unit_declare_multiple(other, "mug", 16, UNIT_FLOZ, &cup, &fault));
    cr_expect_eq(can, cup, "each counts its own");
    cr_assert(unit_multiply(table, can, UNIT_FLOZ, true, &id, &here, &fault));
    cr_assert(unit_multiply(other, cup, UNIT_FLOZ, true, &id, &there, &fault));
    cr_expect(here == 12 && there == 16);
    unit_table_free(other);
    unit_table_free(NULL);
}

/* ---- faults ---- */

Test(unit, conversion_faults) {
    static const struct {
        double number;
        const char *from, *to, *message;
    } rows[] = {
        {5, "gal", "kg", "a volume cannot be converted to a mass"},
        {5, "kcal", "gal", "an energy cannot be converted to a volume"},
        {5, "", "gal", "a plain number cannot be converted to a volume"},
        {5, "gal", "", "a volume cannot be converted to a plain number"},
        {5, "g/L/min", "gal", "a quantity in g/L/min cannot be converted to a volume"},
        {20, "°C", "C°", "a temperature cannot be converted to a temperature difference"},
        {1.05, "SG", "pts", "a gravity cannot be converted to a gravity difference"},
        {1.05, "SG", "%ABV", "a gravity cannot be converted to a strength"},
        {3.4, "pH", "", "an acidity cannot be converted to a plain number"},
        {120, "°Bx", "SG", "120 °Bx is out of range: °Bx goes from -78.89 to 100"},
        {1050, "SG", "°Bx", "1050 SG is out of range: SG goes from 0.75 to 1.555"},
        {201, "proof", "%ABV", "201 proof is out of range: proof goes from 0 to 200"},
        {-1, "%ABV", "%ABW", "-1 %ABV is out of range: %ABV goes from 0 to 100"},
        {-300, "°C", "°F", "-300 °C is below absolute zero, -273.2 °C"},
        {1e300, "m3", "mL", NULL},
        {1e306, "m3", "mL", "the result is too large for a number"},
    };
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        double result = NOT_A_NUMBER;
        bool done =
            unit_convert(table, rows[i].number, compose(rows[i].from), compose(rows[i].to), &result, &fault);
        cr_expect_eq(done, rows[i].message == NULL, "%s as %s", rows[i].from, rows[i].to);
        if (done)
            continue;
        char *text = message();
        cr_expect_str_eq(text, rows[i].message, "%s", text);
        free(text);
    }
}

Test(unit, own_unit_faults) {
    UnitId crown = unit_declare_money(table, "crown"), ducat = unit_declare_money(table, "ducat"),
           bottle = unit_declare_count(table, "bottle"), id;
    double result;
    const struct {
        UnitId from, to;
        const char *message;
    } rows[] = {
        {crown, ducat, "money in crown cannot be converted to money in ducat"},
        {bottle, UNIT_L, "a count of bottle cannot be converted to a volume"},
    };
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        cr_expect_not(unit_convert(table, 1, rows[i].from, rows[i].to, &result, &fault));
        char *text = message();
        cr_expect_str_eq(text, rows[i].message, "%s", text);
        free(text);
    }
    const struct {
        double number;
        UnitId of;
        MessageId want;
    } declared[] = {
        {0, UNIT_FLOZ, MSG_UNIT_MULTIPLE_NUMBER},
        {-12, UNIT_FLOZ, MSG_UNIT_MULTIPLE_NUMBER},
        {NOT_A_NUMBER, UNIT_FLOZ, MSG_UNIT_MULTIPLE_NUMBER},
        {HUGE_VAL, UNIT_FLOZ, MSG_UNIT_MULTIPLE_NUMBER},
        {1e-323, UNIT_ML, MSG_UNIT_MULTIPLE_NUMBER},
        {1.05, UNIT_SG, MSG_UNIT_MULTIPLE_OF},
        {20, UNIT_CELSIUS, MSG_UNIT_MULTIPLE_OF},
        {80, UNIT_PROOF, MSG_UNIT_MULTIPLE_OF},
        {7, UNIT_DATE, MSG_UNIT_MULTIPLE_OF},
    };
    for (size_t i = 0; i < sizeof declared / sizeof *declared; i++) {
        cr_expect_not(unit_declare_multiple(table, "can", declared[i].number, declared[i].of, &id, &fault),
                      "%zu", i);
        cr_expect_eq(fault.id, declared[i].want, "%zu", i);
        fault_clear(&fault);
    }
}

Test(unit, compound_faults) {
    static const UnitFactor typed[][2] = {{{UNIT_G, 1}, {UNIT_SG, 1}},
                                          {{UNIT_KJ, 1}, {UNIT_KELVIN, -1}},
                                          {{UNIT_G, 1}, {UNIT_PROOF, -1}},
                                          {{UNIT_PERCENT, 1}, {UNIT_DAY, -1}},
                                          {{UNIT_G, 100}, {UNIT_L, -1}}};
    static const MessageId wanted[] = {MSG_UNIT_READING_PART, MSG_UNIT_READING_PART, MSG_UNIT_STRENGTH_PART,
                                       MSG_UNIT_PERCENT_PART, MSG_UNIT_TOO_COMPLICATED};
    UnitId id;
    double factor;
    for (size_t i = 0; i < sizeof wanted / sizeof *wanted; i++) {
        cr_expect_not(unit_compose(table, typed[i], 2, &id, &fault), "%zu", i);
        cr_expect_eq(fault.id, wanted[i], "%zu", i);
        fault_clear(&fault);
    }
    static const struct {
        UnitId left, right;
        bool divide;
        MessageId want;
    } products[] = {
        {UNIT_L, UNIT_PROOF, false, MSG_UNIT_STRENGTH_PART},
        {UNIT_PROOF, UNIT_ABV, true, MSG_UNIT_STRENGTH_PART},
        {UNIT_PROOF, UNIT_PROOF, false, MSG_UNIT_STRENGTH_PART},
        {UNIT_NUMBER, UNIT_ABW, true, MSG_UNIT_STRENGTH_PART},
        {UNIT_SG, UNIT_L, false, MSG_UNIT_READING_PART},
        {UNIT_L, UNIT_CELSIUS, true, MSG_UNIT_READING_PART},
    };
    for (size_t i = 0; i < sizeof products / sizeof *products; i++) {
        cr_expect_not(unit_multiply(table, products[i].left, products[i].right, products[i].divide, &id,
                                    &factor, &fault),
                      "%zu", i);
        cr_expect_eq(fault.id, products[i].want, "%zu", i);
        fault_clear(&fault);
    }
    cr_expect_not(unit_power(table, UNIT_PROOF, 2, &id, &factor, &fault));
    cr_expect_eq(fault.id, MSG_UNIT_STRENGTH_PART);
    fault_clear(&fault);
    cr_expect_not(unit_power(table, UNIT_M, 100, &id, &factor, &fault));
    cr_expect_eq(fault.id, MSG_UNIT_TOO_COMPLICATED);
    fault_clear(&fault);
    cr_expect_not(unit_square_root(table, UNIT_L, &id, &factor, &fault));
    char *text = message();
    cr_expect_str_eq(text, "the square root of a volume is not a quantity");
    free(text);
}

/* A loop that multiplies units must end in an error, not in all the memory. */
Test(unit, bounds) {
    UnitId id = UNIT_L;
    double factor;
    int steps = 0;
    while (unit_multiply(table, id, UNIT_L, false, &id, &factor, &fault))
        steps++;
    cr_expect_eq(steps, 98, "up to L^99");
    cr_expect_eq(fault.id, MSG_UNIT_TOO_COMPLICATED);
    fault_clear(&fault);
    id = unit_declare_count(table, "thing");
    for (steps = 1;
         unit_multiply(table, id, unit_declare_count(table, "thing"), false, &id, &factor, &fault);)
        steps++;
    cr_expect_eq(steps, UNIT_TERMS);
    cr_expect_eq(fault.id, MSG_UNIT_TOO_COMPLICATED);
    fault_clear(&fault);
    while (unit_declare_multiple(table, "can", 12, UNIT_FLOZ, &id, &fault))
        ;
    cr_expect_eq(fault.id, MSG_UNIT_TOO_MANY);
    cr_expect_lt(table->count, 70000);
}

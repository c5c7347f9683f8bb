/* SPDX-License-Identifier: GPL-3.0-or-later */
/* One evaluator a kind of row, in tables: a kind is a word in the file and the function that answers it from
 * the row's own numbers. What the file leaves out (a tolerance, an assumed temperature) is decided here, with
 * the reason beside it. */
#include "published_rows.h"

#include "csv_rows.h"
#include "numbers/numeric.h"
#include "physics/alcohol.h"
#include "physics/carbon_dioxide.h"
#include "physics/instruments.h"
#include "physics/liquid.h"
#include "physics/sugar.h"

#include <math.h>
#include <stdbool.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define NONE      NUMERIC_NONE
#define AIR_KG_M3 1.2 /* as the tables weighed in air state */
#define SIXTY_F_C (140.0 / 9.0)
#define LB_KG     0.45359237
#define GALLON_L  3.785411784
#define PSI_KPA   6.894757293168

/* ---- Visiting ---- */

typedef struct Visitor {
    const CsvRows *rows;
    const char *table;
    PublishedVisit visit;
    void *context;
    size_t visited;
    size_t unmapped;
} Visitor;

static double number(const Visitor *v, size_t row, const char *column) {
    return csv_rows_number(v->rows, row, column);
}

static const char *text(const Visitor *v, size_t row, const char *column) {
    return csv_rows_text(v->rows, row, column);
}

static void emit(Visitor *v, size_t row, const char *kind, double got, double want, double tolerance,
                 const char *source) {
    char name[512] = "";
    size_t used = 0;
    for (size_t i = 0; i < v->rows->columns && used < sizeof name; i++) {
        const char *cell = v->rows->cell[row][i];
        int more = snprintf(name + used, sizeof name - used, "%s%s", i ? "," : "", cell ? cell : "");
        used += more > 0 ? (size_t)more : 0;
    }
    PublishedRow found = {v->table, kind, name, source, got, want, tolerance};
    v->visit(&found, v->context);
    v->visited++;
}

typedef struct RowKind {
    const char *word;
    double (*answer)(const Visitor *v, size_t row);
} RowKind;

/* Answers each row whose `kind_column` is one of the kinds; a negative tolerance means the file's own. */
static void visit_kinds(Visitor *v, const char *kind_column, const char *want_column, double tolerance,
                        const RowKind *kinds, size_t count) {
    for (size_t row = 0; row < v->rows->count; row++) {
        const char *word = text(v, row, kind_column);
        const RowKind *kind = NULL;
        for (size_t i = 0; i < count && !kind; i++)
            if (strcmp(kinds[i].word, word) == 0)
                kind = &kinds[i];
        if (!kind) {
            v->unmapped++;
            continue;
        }
        double own = number(v, row, strcmp(want_column, "expect") == 0 ? "tol" : "tolerance");
        emit(v, row, word, kind->answer(v, row), number(v, row, want_column), tolerance < 0 ? own : tolerance,
             text(v, row, "source"));
    }
}

#define COUNT(array) (sizeof(array) / sizeof *(array))

static size_t run(const char *table, PublishedVisit visit, void *context, size_t *unmapped,
                  void (*rows_of)(Visitor *)) {
    CsvRows rows;
    char file[128];
    Visitor v = {&rows, table, visit, context, 0, 0};
    snprintf(file, sizeof file, "%s.csv", table);
    if (!csv_rows_read(&rows, file))
        return 0;
    rows_of(&v);
    if (unmapped)
        *unmapped = v.unmapped;
    return v.visited;
}

/* ---- Alcohol and water ---- */

/* Mass fraction of a strength by volume with both volumes at temp_c. */
typedef struct VolumeShare {
    double temp_c;
    double share;
} VolumeShare;

static double volume_share_excess(double fraction, void *context) {
    const VolumeShare *at = context;
    return fraction * alcohol_density_kg_m3(fraction, at->temp_c) / alcohol_density_kg_m3(1, at->temp_c) -
           at->share;
}

static double fraction_at(double strength_pct, double temp_c) {
    VolumeShare at = {temp_c, strength_pct / 100};
    double fraction = NONE;
    return numeric_find_root(volume_share_excess, &at, 0, 1, 1e-15, &fraction) ? fraction : NONE;
}

static double in_air_sg(double fraction, double temp_c) {
    return (alcohol_density_kg_m3(fraction, temp_c) - AIR_KG_M3) /
           (alcohol_density_kg_m3(0, temp_c) - AIR_KG_M3);
}

static double rho_p_t(const Visitor *v, size_t row) {
    return alcohol_density_kg_m3(number(v, row, "input1") / 100, number(v, row, "t_C"));
}

static double rho_q20(const Visitor *v, size_t row) {
    double fraction = NONE;
    alcohol_fraction_from_abv(number(v, row, "input1"), &fraction);
    return alcohol_density_kg_m3(fraction, 20);
}

/* % by volume at 60 degF is half the US proof. */
static double fraction_of_proof(double proof) {
    double abv, fraction;
    return alcohol_abv_from_proof(proof, &abv) && alcohol_fraction_from_abv(abv, &fraction) ? fraction : NONE;
}

static double wt_from_q60(const Visitor *v, size_t row) {
    return 100 * fraction_of_proof(2 * number(v, row, "input1"));
}

static double sg_air_q60(const Visitor *v, size_t row) {
    return in_air_sg(fraction_of_proof(2 * number(v, row, "input1")), number(v, row, "t_C"));
}

static double q60_from_wt(const Visitor *v, size_t row) {
    return alcohol_proof_from_fraction(number(v, row, "input1") / 100) / 2;
}

static double wt_from_d2020(const Visitor *v, size_t row) {
    double fraction = NONE;
    alcohol_fraction_from_density(number(v, row, "input1") * ALCOHOL_WATER_DENSITY_KG_M3, 20, &fraction);
    return 100 * fraction;
}

static double g100ml_q20(const Visitor *v, size_t row) {
    return number(v, row, "input1") / 100 * ALCOHOL_ETHANOL_DENSITY_KG_M3 / 10;
}

static void alcohol_rows(Visitor *v) {
    static const RowKind kinds[] = {{"rho_p_t", rho_p_t},         {"rho_q20", rho_q20},
                                    {"wt_from_q60", wt_from_q60}, {"sg60_air_q60", sg_air_q60},
                                    {"sg25_air_q60", sg_air_q60}, {"q60_from_wt", q60_from_wt},
                                    {"g100ml_q20", g100ml_q20},   {"wt_from_d2020", wt_from_d2020}};
    visit_kinds(v, "quantity", "expected", -1, kinds, COUNT(kinds));
}

size_t published_alcohol(PublishedVisit visit, void *context, size_t *unmapped) {
    return run("alcohol_density_and_strength", visit, context, unmapped, alcohol_rows);
}

static double uk_proof_mass_pct(const Visitor *v, size_t row) {
    double abv, abw;
    (void)v, (void)row;
    return alcohol_abv_from_uk_proof(100, &abv) && alcohol_abw_from_abv(abv, &abw) ? abw : NONE;
}

static double uk_proof_abv(const Visitor *v, size_t row) {
    double abv;
    (void)v, (void)row;
    return alcohol_abv_from_uk_proof(100, &abv) ? abv : NONE;
}

static double uk_degrees(const Visitor *v, size_t row) {
    double degrees;
    return alcohol_uk_proof_from_abv(number(v, row, "input"), &degrees) ? degrees : NONE;
}

static double us_proof(const Visitor *v, size_t row) {
    double proof;
    return alcohol_proof_from_abv(number(v, row, "input"), &proof) ? proof : NONE;
}

static double abv60(const Visitor *v, size_t row) {
    return alcohol_proof_from_fraction(number(v, row, "input") / 100) / 2;
}

/* Grams in the mL of ethanol that the note gives. */
static double drink_g(const Visitor *v, size_t row) {
    const char *at = strstr(text(v, row, "note"), "used: ");
    return at ? strtod(at + 6, NULL) * ALCOHOL_ETHANOL_DENSITY_KG_M3 / 1000 : NONE;
}

static void proof_rows(Visitor *v) {
    static const RowKind kinds[] = {{"uk_proof_mass_pct", uk_proof_mass_pct},
                                    {"uk_proof_abv20C", uk_proof_abv},
                                    {"uk_degrees_from_abv20", uk_degrees},
                                    {"us_proof_from_abv20", us_proof},
                                    {"abv60_from_abw", abv60},
                                    {"standard_drink_g_from_mL", drink_g}};
    visit_kinds(v, "kind", "expected", -1, kinds, COUNT(kinds));
}

size_t published_proof(PublishedVisit visit, void *context, size_t *unmapped) {
    return run("proof_and_drinks", visit, context, unmapped, proof_rows);
}

/* ---- Contraction: masses add, volumes do not ---- */

/* Volumes of water in 100 volumes of spirit. */
static double water_per_100(double fraction, double temp_c) {
    return 100 * (1 - fraction) * alcohol_density_kg_m3(fraction, temp_c) / alcohol_density_kg_m3(0, temp_c);
}

/* Volumes of water that bring 100 volumes of one spirit to another. */
static double water_to_add(double from_fraction, double to_fraction, double temp_c) {
    double spirit = 100 * alcohol_density_kg_m3(from_fraction, temp_c);
    return spirit * (from_fraction / to_fraction - 1) / alcohol_density_kg_m3(0, temp_c);
}

static double water_in_spirit(const Visitor *v, size_t row) {
    return water_per_100(fraction_of_proof(number(v, row, "a")), SIXTY_F_C);
}

static double water_to_add_gal(const Visitor *v, size_t row) {
    return water_to_add(fraction_of_proof(number(v, row, "a")), fraction_of_proof(number(v, row, "b")),
                        SIXTY_F_C);
}

static double water_to_add_vol(const Visitor *v, size_t row) {
    double temp_c = number(v, row, "t_C");
    return water_to_add(fraction_at(number(v, row, "a"), temp_c), fraction_at(number(v, row, "b"), temp_c),
                        temp_c);
}

/* Gallons of 1 lb weighed in air with brass weights of 8400 kg/m3. */
static double gallons_per_lb(double fraction) {
    double mass_kg = LB_KG * (1 - AIR_KG_M3 / 8400);
    return 1000 * mass_kg / (alcohol_density_kg_m3(fraction, SIXTY_F_C) - AIR_KG_M3) / GALLON_L;
}

static double proof_of(const Visitor *v, size_t row) {
    const char *cell = text(v, row, "a");
    return strcmp(cell, "water") == 0 ? 0 : strtod(cell, NULL);
}

static double wine_gal_per_lb(const Visitor *v, size_t row) {
    return gallons_per_lb(fraction_of_proof(proof_of(v, row)));
}

static double proof_gal_per_1000lb(const Visitor *v, size_t row) {
    return 1000 * wine_gal_per_lb(v, row) * proof_of(v, row) / 100;
}

static double lb_per_100_proof_gal(const Visitor *v, size_t row) {
    return 100 / (wine_gal_per_lb(v, row) * proof_of(v, row) / 100);
}

static double proof_gal_of_lb(const Visitor *v, size_t row) {
    char *end;
    double pounds = strtod(text(v, row, "a"), &end);
    double proof = strtod(end + strspn(end, " lb"), NULL);
    return pounds * gallons_per_lb(fraction_of_proof(proof)) * proof / 100;
}

static double volume_factor(const Visitor *v, size_t row) {
    double fraction = fraction_of_proof(proof_of(v, row));
    return alcohol_density_kg_m3(fraction, number(v, row, "t_C")) /
           alcohol_density_kg_m3(fraction, SIXTY_F_C);
}

static double alcohol_vol_per_100(const Visitor *v, size_t row) {
    return alcohol_proof_from_fraction(number(v, row, "a") / 100) / 2;
}

static double mix_volume(const Visitor *v, size_t row) {
    double alcohol = number(v, row, "a") * alcohol_density_kg_m3(1, SIXTY_F_C);
    double water = number(v, row, "b") * alcohol_density_kg_m3(0, SIXTY_F_C);
    double fraction = alcohol / (alcohol + water);
    return (alcohol + water) / alcohol_density_kg_m3(fraction, SIXTY_F_C);
}

/* Through the liquids: 1 L of spirit, the water it needs, and what they make. */
static double spirit_share(const Visitor *v, size_t row, double (*measure)(const Liquid *)) {
    Liquid spirit, water = liquid_make_water(), added;
    double water_kg;
    if (liquid_make_spirit(number(v, row, "a"), &spirit) != LIQUID_OK ||
        liquid_addition_for_strength(&spirit, &water, number(v, row, "b"), &water_kg) != LIQUID_OK ||
        liquid_resize_to_mass(&water, water_kg, &added) != LIQUID_OK)
        return NONE;
    Liquid mixed = liquid_pour(&spirit, &added);
    return 1000 * measure(&spirit) / measure(&mixed);
}

static double spirit_ml(const Visitor *v, size_t row) {
    return spirit_share(v, row, liquid_volume_l);
}
static double spirit_g(const Visitor *v, size_t row) {
    return spirit_share(v, row, liquid_mass_kg);
}

static double excess_molar_volume(const Visitor *v, size_t row) {
    const double water_g = 18.01528, ethanol_g = 46.06844;
    double x = strtod(text(v, row, "a") + 2, NULL), temp_c = number(v, row, "t_C");
    double ethanol = x * ethanol_g, water = (1 - x) * water_g;
    double fraction = ethanol / (ethanol + water);
    return 1000 * ((ethanol + water) / alcohol_density_kg_m3(fraction, temp_c) -
                   ethanol / alcohol_density_kg_m3(1, temp_c) - water / alcohol_density_kg_m3(0, temp_c));
}

static void contraction_rows(Visitor *v) {
    static const RowKind kinds[] = {{"water_per_100_vol_of_spirit", water_in_spirit},
                                    {"water_to_add_per_100gal", water_to_add_gal},
                                    {"water_to_add_per_100vol", water_to_add_vol},
                                    {"wine_gal_per_lb", wine_gal_per_lb},
                                    {"proof_gal_per_1000lb", proof_gal_per_1000lb},
                                    {"lb_per_100_proof_gal", lb_per_100_proof_gal},
                                    {"proof_gal_of_lb", proof_gal_of_lb},
                                    {"volume_factor_to_60F", volume_factor},
                                    {"alcohol_vol_per_100", alcohol_vol_per_100},
                                    {"mix_volume", mix_volume},
                                    {"spirit_mL_for_1L", spirit_ml},
                                    {"spirit_g_for_1kg", spirit_g},
                                    {"excess_molar_volume", excess_molar_volume}};
    visit_kinds(v, "kind", "expected", -1, kinds, COUNT(kinds));
}

size_t published_contraction(PublishedVisit visit, void *context, size_t *unmapped) {
    return run("contraction", visit, context, unmapped, contraction_rows);
}

/* ---- Water and sugar ---- */

/* The two formulas we use to the last printed digit; the Tanaka table, another formula, for the record. */
static void water_rows(Visitor *v) {
    for (size_t row = 0; row < v->rows->count; row++) {
        double temp_c = number(v, row, "t_C");
        double water = sugar_water_density_kg_m3(temp_c);
        const char *source = text(v, row, "source");
        emit(v, row, "Bettin and Spieweck", water, number(v, row, "bettin_spieweck_its90_kg_m3"), 5.1e-5,
             source);
        emit(v, row, "OIML R 22, p = 0", alcohol_density_kg_m3(0, temp_c),
             number(v, row, "oiml_r22_p0_kg_m3"), 5.1e-5, source);
        emit(v, row, "Tanaka 2001 (another formula)", water, number(v, row, "printed_table_kg_m3"), 0.005,
             source);
    }
}

size_t published_water(PublishedVisit visit, void *context, size_t *unmapped) {
    return run("water_density", visit, context, unmapped, water_rows);
}

/* The quantities of sucrose_density.csv. The file has no tolerances; these are the width of the old tables
 * around SPS-4 (Plato's 1900 values, second-hand transcriptions) or half a last digit, whichever is more. */
typedef struct SucroseKind {
    const char *word;
    double tolerance;
} SucroseKind;

static double sucrose_answer(const char *word, double fraction, double temp_c) {
    double gravity = sugar_gravity_from_fraction(fraction);
    double density = sugar_density_kg_m3(fraction, temp_c);
    double water = sugar_water_density_kg_m3(temp_c);
    if (strcmp(word, "density") == 0)
        return density;
    if (strcmp(word, "sucrose_conc") == 0)
        return sugar_g_l_from_fraction(fraction);
    if (strcmp(word, "nD") == 0)
        return instrument_sucrose_index(100 * fraction);
    if (strcmp(word, "sg_apparent_20_20_air") == 0)
        return (density - AIR_KG_M3) / (water - AIR_KG_M3);
    if (strcmp(word, "sg_true_20_20") == 0)
        return gravity;
    if (strcmp(word, "baume145") == 0)
        return sugar_baume_from_gravity(gravity);
    if (strcmp(word, "sg_17.5_17.5") == 0)
        return density / water;
    return NONE;
}

static void sucrose_rows(Visitor *v) {
    static const SucroseKind kinds[] = {{"density", 0.07},
                                        {"sucrose_conc", 0.025},
                                        {"nD", 8e-5},
                                        {"sg_apparent_20_20_air", 1e-4},
                                        {"sg_true_20_20", 1.4e-4},
                                        {"baume145", 0.04},
                                        {"sg_17.5_17.5", 7e-4}};
    for (size_t row = 0; row < v->rows->count; row++) {
        const char *word = text(v, row, "quantity");
        const SucroseKind *kind = NULL;
        for (size_t i = 0; i < COUNT(kinds) && !kind; i++)
            if (strcmp(kinds[i].word, word) == 0)
                kind = &kinds[i];
        /* One density is a misprint: its own g/L over its mass fraction gives another. */
        double fraction = number(v, row, "brix_pct") / 100;
        bool misprint = strstr(text(v, row, "note"), "MISPRINT") != NULL;
        bool beyond = strcmp(word, "nD") == 0 && 100 * fraction > INSTRUMENT_BRIX_MAX_PCT;
        if (!kind || misprint || beyond) {
            v->unmapped++;
            continue;
        }
        emit(v, row, word, sucrose_answer(word, fraction, number(v, row, "temp_C")),
             number(v, row, "printed_value"), kind->tolerance, text(v, row, "source"));
    }
}

size_t published_sucrose(PublishedVisit visit, void *context, size_t *unmapped) {
    return run("sucrose_density", visit, context, unmapped, sucrose_rows);
}

static void dry_extract_rows(Visitor *v) {
    for (size_t row = 0; row < v->rows->count; row++) {
        double g_l = NONE;
        sugar_g_l_from_gravity(number(v, row, "d20_20"), &g_l);
        emit(v, row, "dissolved solids from gravity, g/L", g_l, number(v, row, "extract_g_per_L"),
             number(v, row, "tolerance"), text(v, row, "source"));
    }
}

size_t published_dry_extract(PublishedVisit visit, void *context, size_t *unmapped) {
    return run("dry_extract", visit, context, unmapped, dry_extract_rows);
}

/* Printed to 4 decimals, from older tables than ours: 1.7e-4 for ethanol at 46 %, 1.5e-4 for sucrose at 50 %
 * (0.03 degBx, the NBS table's distance from SPS-4). Other sugars than sucrose are held to how far our
 * sucrose stands from them: the model counts every dissolved solid as sucrose. */
static void solution_rows(Visitor *v) {
    for (size_t row = 0; row < v->rows->count; row++) {
        const char *substance = text(v, row, "substance"), *source = text(v, row, "source");
        double percent = number(v, row, "mass_pct"), fraction = percent / 100;
        double density = number(v, row, "density_g_cm3_20C"), index = number(v, row, "nD_20C");
        if (strcmp(substance, "ethanol") == 0) {
            double rho = alcohol_density_kg_m3(fraction, 20);
            emit(v, row, "ethanol, density, g/cm3", rho / 1000, density, 1.8e-4, source);
            if (percent <= 16)
                emit(v, row, "ethanol, refractive index",
                     instrument_sucrose_index(0) + instrument_ethanol_index_rise(fraction * rho), index, 1e-4,
                     source);
            else
                v->unmapped++; /* the fit of the index ends at 16 % by mass */
            continue;
        }
        bool sucrose = strcmp(substance, "sucrose") == 0;
        emit(v, row, sucrose ? "sucrose, density, g/cm3" : "other sugars as sucrose, density, g/cm3",
             sugar_density_kg_m3(fraction, 20) / 1000, density, sucrose ? 1.6e-4 : 4.2e-3, source);
        emit(v, row, sucrose ? "sucrose, refractive index" : "other sugars as sucrose, refractive index",
             instrument_sucrose_index(percent), index, sucrose ? 7e-5 : 1.5e-3, source);
    }
}

size_t published_solutions(PublishedVisit visit, void *context, size_t *unmapped) {
    return run("crc_solutions", visit, context, unmapped, solution_rows);
}

/* ---- Instruments ---- */

static double true_proof(const Visitor *v, size_t row) {
    double reading = fraction_of_proof(number(v, row, "reading_or_true")), fraction;
    return instrument_alcoholmeter_fraction(reading, number(v, row, "t_C"), SIXTY_F_C, &fraction) ==
                   INSTRUMENT_OK
               ? alcohol_proof_from_fraction(fraction)
               : NONE;
}

static double glass_reading(const Visitor *v, size_t row) {
    double fraction = fraction_of_proof(2 * number(v, row, "reading_or_true")), reading;
    return instrument_alcoholmeter_reading(fraction, number(v, row, "t_C"), SIXTY_F_C, &reading) ==
                   INSTRUMENT_OK
               ? alcohol_proof_from_fraction(reading) / 2
               : NONE;
}

static void hydrometer_rows(Visitor *v) {
    static const RowKind kinds[] = {{"true_proof_from_reading", true_proof},
                                    {"glass_hydrometer_reading", glass_reading}};
    visit_kinds(v, "kind", "expected", -1, kinds, COUNT(kinds));
}

size_t published_hydrometer(PublishedVisit visit, void *context, size_t *unmapped) {
    return run("hydrometer", visit, context, unmapped, hydrometer_rows);
}

/* degBx to add to a saccharometer's reading: the mark stands for its solution at calibrated_c. */
static double saccharometer_correction(double reading_pct, double temp_c, double calibrated_c) {
    double reading_sg =
        sugar_density_kg_m3(reading_pct / 100, calibrated_c) / sugar_water_density_kg_m3(calibrated_c);
    double true_sg, true_pct;
    if (instrument_hydrometer_sg(reading_sg, temp_c, calibrated_c, &true_sg) != INSTRUMENT_OK ||
        !sugar_brix_from_gravity(true_sg, &true_pct))
        return NONE;
    return true_pct - reading_pct;
}

/* Balling printed one column for all strengths; a wort of 12 % stands for them. His warm end (0.52 at 28.75
 * degC) is less than water alone expands, 0.62, so rows above 22 degC are left out as mistaken. */
static void correction_rows(Visitor *v) {
    for (size_t row = 0; row < v->rows->count; row++) {
        const char *instrument = text(v, row, "instrument"), *source = text(v, row, "source");
        double reading = number(v, row, "reading_pct"), temp_c = number(v, row, "temp_C");
        double want = number(v, row, "correction_pct");
        if (strcmp(instrument, "hydrometer (Brix, 20 C)") == 0)
            emit(v, row, "Brix hydrometer, computed", saccharometer_correction(reading, temp_c, 20), want,
                 0.0051, source);
        else if (strncmp(instrument, "hydrometer (saccharometer", 25) == 0 && temp_c < 22)
            emit(v, row, "Balling's saccharometer, 17.5 degC", saccharometer_correction(12, temp_c, 17.5),
                 want, 0.08, source);
        else
            v->unmapped++; /* besides those: refractometers are read at 20 degC, no formula of ours corrects
                              them */
    }
}

size_t published_corrections(PublishedVisit visit, void *context, size_t *unmapped) {
    return run("temperature_corrections", visit, context, unmapped, correction_rows);
}

/* ---- Carbonation ---- */

/* The number after `word` in a row's inputs, or NONE. */
static double input(const Visitor *v, size_t row, const char *word) {
    const char *at = strstr(text(v, row, "inputs"), word);
    return at ? strtod(at + strlen(word), NULL) : NONE;
}

static double or_zero(double x) {
    return isnan(x) ? 0 : x;
}

static bool says(const Visitor *v, size_t row, const char *words) {
    return strstr(text(v, row, "inputs"), words) != NULL;
}

/* Temperature in its stated unit; alcohol when stated. */
static Carbonated carbonated(const Visitor *v, size_t row) {
    double t = input(v, row, "T=");
    if (isnan(t))
        t = input(v, row, "Tmax=");
    if (says(v, row, " degF"))
        t = (t - 32) / 1.8;
    else if (says(v, row, " K;"))
        t -= 273.15;
    return (Carbonated){t, or_zero(input(v, row, "A=")), 0};
}

static double dissolved(Carbonated liquid, double partial_kpa) {
    double g_l;
    return co2_dissolved_g_l(liquid, partial_kpa, &g_l) == CO2_OK ? g_l : NONE;
}

static double mole_fraction(const Visitor *v, size_t row) {
    Carbonated water = carbonated(v, row);
    double co2 = dissolved(water, input(v, row, "pCO2=")) / 44.009;
    return 1000 * co2 / (co2 + sugar_water_density_kg_m3(water.temp_c) / 18.01528);
}

static double bunsen(const Visitor *v, size_t row) {
    return dissolved(carbonated(v, row), CO2_ATMOSPHERE_KPA) / CO2_G_L_PER_VOLUME;
}

static double ostwald(const Visitor *v, size_t row) {
    Carbonated water = carbonated(v, row);
    return dissolved(water, CO2_ATMOSPHERE_KPA) / 44.009 * 0.0820574 * (water.temp_c + 273.15);
}

static double henry_tempcoef(const Visitor *v, size_t row) {
    Carbonated water = carbonated(v, row), warm = water, cold = water;
    water.temp_c = input(v, row, "T=") - 273.15;
    warm.temp_c = water.temp_c + 0.05;
    cold.temp_c = water.temp_c - 0.05;
    return (log(dissolved(cold, 1e-3)) - log(dissolved(warm, 1e-3))) /
           (1 / (cold.temp_c + 273.15) - 1 / (warm.temp_c + 273.15));
}

static double g_per_100g(const Visitor *v, size_t row) {
    Carbonated water = carbonated(v, row);
    double g_l = dissolved(water, CO2_ATMOSPHERE_KPA - co2_water_vapour_kpa(water.temp_c));
    return 100 * g_l / sugar_water_density_kg_m3(water.temp_c);
}

static double g_per_l(const Visitor *v, size_t row) {
    return dissolved(carbonated(v, row), CO2_ATMOSPHERE_KPA);
}

static double beer_table(const Visitor *v, size_t row) {
    double g_l;
    return co2_dissolved_at_gauge_g_l(carbonated(v, row), 100 * input(v, row, "Pgauge="), CO2_ATMOSPHERE_KPA,
                                      &g_l) == CO2_OK
               ? g_l
               : NONE;
}

static double sparkling_bottle(const Visitor *v, size_t row) {
    return dissolved(carbonated(v, row), 100 * input(v, row, "pCO2="));
}

static double kh_sparkling(const Visitor *v, size_t row) {
    return dissolved(carbonated(v, row), 100);
}

static double keg_gauge(const Visitor *v, size_t row) {
    double kpa, g_l = input(v, row, "vol=") * CO2_G_L_PER_VOLUME;
    return co2_gauge_kpa(carbonated(v, row), g_l, CO2_ATMOSPHERE_KPA, &kpa) == CO2_OK ? kpa / PSI_KPA : NONE;
}

static double co2_yield(const Visitor *v, size_t row) {
    return says(v, row, "sucrose")    ? CO2_YIELD_SUCROSE
           : says(v, row, "dextrose") ? CO2_YIELD_DEXTROSE_MONOHYDRATE
                                      : CO2_YIELD_GLUCOSE;
}

static double residual(const Visitor *v, size_t row) {
    double g_l;
    return co2_residual_g_l(carbonated(v, row), &g_l) == CO2_OK ? g_l : NONE;
}

static double priming(const Visitor *v, size_t row) {
    double wanted_g_l = input(v, row, "target=") * CO2_G_L_PER_VOLUME - residual(v, row);
    return input(v, row, "V=") * wanted_g_l / co2_yield(v, row);
}

static double sealed_bar(Carbonated liquid, double g_l, double headspace) {
    double kpa;
    return co2_sealed_gauge_kpa(liquid, g_l, headspace, &kpa) == CO2_OK ? kpa / 100 : NONE;
}

static double tirage(const Visitor *v, size_t row) {
    double g_l = number(v, row, "inputs") * CO2_YIELD_SUCROSE + input(v, row, "residual ");
    return sealed_bar(carbonated(v, row), g_l, input(v, row, "head="));
}

static double sealed_bottle(const Visitor *v, size_t row) {
    double g_l = input(v, row, "sugar=") * CO2_YIELD_GLUCOSE + input(v, row, "residual=");
    return sealed_bar(carbonated(v, row), g_l, input(v, row, "head="));
}

static double still_limit(const Visitor *v, size_t row) {
    return number(v, row, "inputs") * 10 / CO2_G_L_PER_VOLUME;
}

/* The EU formula gives g/L at 20 degC from absolute pressure; ours, with the vapour taken off. */
static double eu_formula(const Visitor *v, size_t row) {
    Carbonated liquid = {20, or_zero(input(v, row, "A=")), or_zero(input(v, row, "S="))};
    return dissolved(liquid, 100 * input(v, row, "Pabs="));
}

static double fermentation_co2(const Visitor *v, size_t row) {
    return number(v, row, "inputs") * input(v, row, "; ") * CO2_YIELD_GLUCOSE;
}

static void carbonation_rows(Visitor *v) {
    static const RowKind kinds[] = {{"carbonation.bunsen", bunsen},
                                    {"carbonation.ostwald", ostwald},
                                    {"carbonation.henry_tempcoef", henry_tempcoef},
                                    {"carbonation.g_per_100g", g_per_100g},
                                    {"carbonation.g_per_L_water", g_per_l},
                                    {"carbonation.beer_table", beer_table},
                                    {"carbonation.sparkling_bottle", sparkling_bottle},
                                    {"carbonation.kH_sparkling", kh_sparkling},
                                    {"carbonation.keg_gauge", keg_gauge},
                                    {"carbonation.co2_yield", co2_yield},
                                    {"carbonation.residual", residual},
                                    {"carbonation.priming", priming},
                                    {"carbonation.tirage", tirage},
                                    {"carbonation.sealed_bottle", sealed_bottle},
                                    {"carbonation.us_still_limit", still_limit},
                                    {"safety.fermentation_co2", fermentation_co2}};
    visit_kinds(v, "topic", "expected", -1, kinds, COUNT(kinds));
    for (size_t row = 0; row < v->rows->count; row++) {
        const char *topic = text(v, row, "topic"), *source = text(v, row, "source");
        double want = number(v, row, "expected");
        /* Two laws other than ours (Weiss with fugacity). The EU formula is linear in pressure; the CRC table
         * (Carroll et al. 1991) is stated good to 2 % and stands 2.4 % from Weiss at 0 degC. */
        if (strcmp(topic, "carbonation.eu_formula") == 0)
            emit(v, row, "carbonation.eu_formula (another law)", eu_formula(v, row), want, 0.03 * want,
                 source);
        else if (strcmp(topic, "carbonation.mole_fraction") == 0)
            emit(v, row, "carbonation.mole_fraction (another law)", mole_fraction(v, row), want, 0.025 * want,
                 source);
        else
            continue;
        v->unmapped--;
    }
}

size_t published_carbonation(PublishedVisit visit, void *context, size_t *unmapped) {
    return run("chemistry_and_units", visit, context, unmapped, carbonation_rows);
}

/* Alcohol in 100 mL of a wine without solids. */
static double wine_energy(const Visitor *v, size_t row) {
    Liquid wine;
    double per_l;
    LiquidProperty property = says(v, row, "out=kcal") ? LIQUID_CALORIES_KCAL_L : LIQUID_ENERGY_KJ_L;
    if (!says(v, row, "alcohol only") || liquid_make_spirit(number(v, row, "inputs"), &wine) != LIQUID_OK ||
        liquid_get(&wine, property, &per_l) != LIQUID_OK)
        return NONE;
    return per_l / 10;
}

static void energy_rows(Visitor *v) {
    for (size_t row = 0; row < v->rows->count; row++) {
        if (strcmp(text(v, row, "topic"), "energy.wine") == 0 && says(v, row, "alcohol only"))
            emit(v, row, "energy.wine", wine_energy(v, row), number(v, row, "expected"),
                 number(v, row, "tolerance"), text(v, row, "source"));
        else
            v->unmapped++;
    }
}

size_t published_energy(PublishedVisit visit, void *context, size_t *unmapped) {
    return run("chemistry_and_units", visit, context, unmapped, energy_rows);
}

/* ---- Fermentation and must ---- */

/* A wort of original_pct fermented until real_pct of solids are left. */
static bool ferment_to_real(double original_pct, double real_pct, Liquid *beer) {
    double original_sg;
    Liquid wort;
    if (!sugar_gravity_from_brix(original_pct, &original_sg) ||
        liquid_make_juice(original_sg, 0, &wort) != LIQUID_OK)
        return false;
    double w = original_pct / 100, n = real_pct / 100;
    double alcohol = (w - n) / (LIQUID_BALLING_SOLIDS - LIQUID_BALLING_LOSS * n);
    return liquid_ferment_share(&wort, LIQUID_BALLING_SOLIDS * alcohol / w, beer) == LIQUID_OK;
}

static double balling_alcohol_pct(const Visitor *v, size_t row) {
    Liquid beer;
    return ferment_to_real(number(v, row, "in1"), number(v, row, "in2"), &beer)
               ? 100 * beer.alcohol_kg / liquid_mass_kg(&beer)
               : NONE;
}

static double balling_original_pct(const Visitor *v, size_t row) {
    double alcohol = number(v, row, "in1") / 100, real = number(v, row, "in2") / 100, sg, pct;
    Liquid beer = {.water_kg = 1 - alcohol - real, .alcohol_kg = alcohol, .sugar_kg = real};
    return liquid_original_gravity(liquid_gravity_sg(&beer), liquid_strength_abv(&beer), &sg) == LIQUID_OK &&
                   sugar_brix_from_gravity(sg, &pct)
               ? pct
               : NONE;
}

/* Alcohol by real attenuation of a wort, per degP: Balling's factor b. */
static double factor_b(double original_pct) {
    Liquid beer;
    double real_pct = original_pct / 2;
    return ferment_to_real(original_pct, real_pct, &beer)
               ? 100 * beer.alcohol_kg / liquid_mass_kg(&beer) / (original_pct - real_pct)
               : NONE;
}

static double balling_b(const Visitor *v, size_t row) {
    return factor_b(number(v, row, "in1"));
}

/* His own quotient of apparent to real attenuation; ours follows from Tabarie instead. */
static double balling_q(double original_pct) {
    return 1.22 + 0.001 * original_pct;
}

static double balling_a(const Visitor *v, size_t row) {
    double p = number(v, row, "in1");
    return factor_b(p) / balling_q(p);
}

static double balling_table_b(const Visitor *v, size_t row) {
    double difference = number(v, row, "in1"), p = number(v, row, "in2");
    return factor_b(p) * difference / (balling_q(p) - 1);
}

/* The notice's factors hold for any beer of the row; ours is taken down to 1.000 SG. */
static double excise_abv(const Visitor *v, size_t row) {
    double abv;
    return liquid_abv(1 + number(v, row, "in1") / 1000, 1, &abv) == LIQUID_OK ? abv : NONE;
}

static double cutaia(const Visitor *v, size_t row) {
    double original_sg, final_sg, abv, fraction;
    if (!sugar_gravity_from_brix(number(v, row, "in1"), &original_sg) ||
        !sugar_gravity_from_brix(number(v, row, "in2"), &final_sg) ||
        liquid_abv(original_sg, final_sg, &abv) != LIQUID_OK)
        return NONE;
    Liquid beer;
    return liquid_make_measured(final_sg, abv, &beer) == LIQUID_OK
               ? (fraction = beer.alcohol_kg, 100 * fraction)
               : NONE;
}

/* Must of 24.2 degBx has 240 g/L of sugar in 266 g/L of solids (OIV). */
static double oiv_potential(const Visitor *v, size_t row) {
    double sg, potential;
    Liquid must;
    return sugar_gravity_from_brix(number(v, row, "in1"), &sg) &&
                   liquid_make_juice(sg, 1 - 240.0 / 266.0, &must) == LIQUID_OK &&
                   liquid_get(&must, LIQUID_POTENTIAL_ABV, &potential) == LIQUID_OK
               ? potential
               : NONE;
}

static void fermentation_rows(Visitor *v) {
    static const RowKind kinds[] = {{"balling_A_from_p_n", balling_alcohol_pct},
                                    {"balling_oe_from_A_n", balling_original_pct},
                                    {"balling_b", balling_b},
                                    {"balling_a", balling_a},
                                    {"tabB", balling_table_b},
                                    {"cutaia_mean", cutaia},
                                    {"oiv_linear", oiv_potential}};
    static const RowKind excise[] = {{"hmrc", excise_abv}};
    size_t unmapped_before;
    visit_kinds(v, "kind", "expect", -1, kinds, COUNT(kinds));
    unmapped_before = v->unmapped;
    /* The file says 0.06 to 0.07; a factor of three figures and a strength cut to one decimal (6.9 points at
     * 0.125 are printed 0.8) can hide 0.1, and the mass balance of physics.md stands 0.08 from them. */
    visit_kinds(v, "kind", "expect", 0.1, excise, COUNT(excise));
    v->unmapped = unmapped_before - (v->rows->count - (v->unmapped - unmapped_before));
}

size_t published_fermentation(PublishedVisit visit, void *context, size_t *unmapped) {
    return run("fermentation_cases", visit, context, unmapped, fermentation_rows);
}

/* Lemonade base of 48.0 % solids and 4 1/3 volumes of water. */
static double lemonade(void) {
    Liquid base, water = liquid_make_water();
    double sg, brix;
    if (!sugar_gravity_from_brix(48, &sg) || liquid_make_juice(sg, 0, &base) != LIQUID_OK ||
        liquid_resize_to_volume(&base, 1, &base) != LIQUID_OK ||
        liquid_resize_to_volume(&water, 4 + 1.0 / 3, &water) != LIQUID_OK)
        return NONE;
    Liquid drink = liquid_pour(&base, &water);
    return liquid_get(&drink, LIQUID_BRIX_PCT, &brix) == LIQUID_OK ? brix : NONE;
}

/* The rest of the table is facts about fruit and honey: inputs, nothing to compute. */
static void must_rows(Visitor *v) {
    for (size_t row = 0; row < v->rows->count; row++) {
        const char *item = text(v, row, "item"), *source = text(v, row, "source");
        if (strcmp(text(v, row, "kind"), "density") == 0 && strstr(item, "70 Brix"))
            emit(v, row, "gravity of concentrate", sugar_gravity_from_fraction(0.70), number(v, row, "value"),
                 0.0006, source);
        else if (strcmp(text(v, row, "kind"), "dilution") == 0 && strstr(item, "48.0 % solids"))
            /* A minimum of the law, with an example of a label beside it: 10.55 by the pour. */
            emit(v, row, "dilution, degBx", lemonade(), number(v, row, "value"), 0.06, source);
        else
            v->unmapped++;
    }
}

size_t published_must(PublishedVisit visit, void *context, size_t *unmapped) {
    return run("must", visit, context, unmapped, must_rows);
}

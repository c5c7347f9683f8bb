/* SPDX-FileCopyrightText: the Rundlet developers */
/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Units: the table of built-in ones (unit.def), units of a script's own, compound units, and their algebra.
 *
 * A unit is interned: equal units have equal ids, so that adding two values of one unit is one compare. Id 0
 * is the plain number. A unit is an amount's or a reading's; a reading's differences have a unit of their own
 * (°C: C°, SG: pts, date: day, pH: plain number). */
#ifndef RUNDLET_UNIT_H
#define RUNDLET_UNIT_H

#include <stdbool.h>
#include <stdint.h>
#include "base/diag.h"

typedef uint32_t UnitId;

typedef enum Kind {
    KIND_NUMBER,
    KIND_VOLUME,
    KIND_MASS,
    KIND_LENGTH,
    KIND_TIME,
    KIND_TEMPERATURE,
    KIND_TEMPERATURE_DIFFERENCE,
    KIND_GRAVITY,
    KIND_GRAVITY_DIFFERENCE,
    KIND_STRENGTH,
    KIND_PRESSURE,
    KIND_CONCENTRATION,
    KIND_ACIDITY,
    KIND_ENERGY,
    KIND_POWER,
    KIND_COLOUR,
    KIND_PASTEURISATION,
    KIND_CELLS,
    KIND_DATE,
    KIND_MONTHS, /* steps of the calendar, no time: their days differ */
    KIND_MONEY,
    KIND_COUNT,
    KIND_OTHER, /* a compound shown by its units */
    KIND_TEXT,
    KIND_LIST,
    KIND_RECORD,
    KIND_LIQUID,
    KIND_FORMULA,
    KIND_TRUTH,
    KIND_NONE
} Kind;

const char *kind_word(Kind kind); /* "volume", … */
const char *
kind_phrase(Kind kind); /* with its article, for messages: "a volume", "an energy", "a plain number" */
/* The words for kinds (docs/reference/language.md, "Formulas"). */
bool kind_find(const char *word, Kind *kind);

/* Several kinds, any of which will do: a bit each. */
typedef uint32_t KindSet;
#define KIND_SET(kind) ((KindSet)1 << (kind))
_Static_assert(KIND_NONE < 8 * sizeof(KindSet), "KindSet");
/* The kinds of "amount" (a plain number or any amount) and "quantity" (anything with a unit or a plain
 * number, but no date), as the library's own formulas ask for them; 0 for another word. */
KindSet kind_group(const char *word);
/* "a volume or a mass", "a quantity": for messages. */
void kind_set_describe(KindSet set, Text *out);
void kind_nearest(const char *wanted, const char **best,
                  int *best_distance); /* calls text_nearest for each of them */

/* How a number on this unit relates to its kind's base (scale.h does the conversions). */
typedef enum Scale {
    SCALE_LINEAR,  /* base = factor × number */
    SCALE_PERCENT, /* linear, but arithmetic turns it into its hundredth (docs/reference/language.md,
                      "Percent") */
    SCALE_CELSIUS,
    SCALE_FAHRENHEIT,
    SCALE_KELVIN,
    SCALE_SG,
    SCALE_BRIX,
    SCALE_OECHSLE,
    SCALE_BAUME,
    SCALE_ABV,
    SCALE_ABW,
    SCALE_US_PROOF,
    SCALE_UK_PROOF,
    SCALE_LOVIBOND,
    SCALE_PH,
    SCALE_DATE
} Scale;

/* Dimension: exponents of the base dimensions; currencies and counts declared by scripts come after the fixed
 * ones. */
typedef struct DimFactor {
    uint32_t base;
    int32_t exponent;
} DimFactor;
enum {
    DIM_LENGTH,
    DIM_MASS,
    DIM_TIME,
    DIM_TEMPERATURE,
    DIM_STRENGTH,
    DIM_GRAVITY,
    DIM_ACIDITY,
    DIM_DATE,
    DIM_MONTHS,
    DIM_COLOUR,
    DIM_PASTEURISATION,
    DIM_CELLS,
    DIM_OWN
};

#define UNIT_TERMS 12 /* a compound of more is refused as too complicated */
typedef struct UnitFactor {
    UnitId unit;
    int exponent;
} UnitFactor; /* of simple units */

typedef struct Unit {
    const char *name; /* as it prints: "gal", "°Bx", "g/L", "kg·m/s^2", "min^-1" */
    Kind kind;        /* KIND_OTHER for a compound that has no word */
    bool reading;
    Scale scale;
    uint32_t dim;  /* interned dimension; 0 is none */
    double factor; /* to coherent SI (m, kg, s, K; volume m³; strength in %ABV; gravity difference in SG: pts
                      is 0.001; colour in SRM) */
    long double exact; /* the same with more digits, so that ratios come out right to the last bit */
    int places;        /* decimals when nobody says; -1: four significant digits */
    UnitId difference; /* reading: unit of its differences; an amount's is the unit itself */
    UnitId
        of; /* a simple unit that stands for a compound (ppm: mg/L, `unit dose = 3 g/L`): that one; else 0 */
    UnitFactor terms[UNIT_TERMS]; /* compound: its factors as it prints; a simple unit has itself^1 */
    int term_count;
} Unit;

/* The fixed ids of built-in units, in the order of unit.def: UNIT_NUMBER is 0. Compounds of the table
 * (UNIT_G_PER_L) come last, from UNIT_G_PER_L on. */
typedef enum BuiltinUnit {
#define UNIT(id, ...) UNIT_##id,
#include "quantities/unit.def"
#undef UNIT
    UNIT_BUILTIN_COUNT
} BuiltinUnit;

typedef struct UnitTable UnitTable;
struct UnitTable {
    const Unit **units; /* by id; addresses of Units never move */
    uint32_t count;
    struct UnitTableParts *parts; /* indexes, caches: private */
};

UnitTable *unit_table_new(void);
void unit_table_free(UnitTable *table);
static inline const Unit *unit_get(const UnitTable *table, UnitId id) {
    return table->units[id];
}

/* What the table says of a built-in unit beside its Unit: another spelling or NULL. */
const char *unit_alias(UnitId builtin);

/* A built-in unit by any of its spellings, those of every day (spelling.def) among them; `plural`: its own
 * name also with an `s` after three letters or more. False if none. */
bool unit_find(const UnitTable *table, const char *name, bool plural, UnitId *id);
/* The unit's own name, when the word is a spelling of every day ("gallons": "gal"); NULL for its own name,
 * typed with an `s` or not, and for what is not a unit. */
const char *unit_everyday(const UnitTable *table, const char *name);
/* Is it a built-in unit's name or alias (unit.def), in the singular? */
bool unit_is_own_name(const UnitTable *table, const char *name);
/* Is it the name or a spelling of a built-in unit, in the singular? Words too common for a note are left out.
 */
bool unit_is_name(const UnitTable *table, const char *name);
/* Is the word too common as the name of a value for `*` and `/` to go on to it, as "volume" is? */
bool unit_stands_alone(const UnitTable *table, const char *name);
/* The name of the unit that differences on a built-in unit have (°C: C°), the name itself for others. */
const char *unit_difference_name(const char *name);
/* `half` before a unit: "1/2"; NULL for other words. */
const char *unit_part_in_digits(const char *word);
/* What to write for a spelling that could mean something else ("barrel", "c"), for one of every day
 * ("gallons"), or for a measure that has no unit (ug, year); NULL for other words. */
const char *unit_instead(const char *wanted);
/* A unit that differs from the word by its case only; NULL if none. */
const char *unit_other_case(const char *wanted);
/* Calls text_nearest for every built-in spelling; what unit_instead knows is given at once, with distance 0.
 */
void unit_nearest(const char *wanted, const char **best, int *best_distance);

/* `unit can = 12 floz`; the multiple's unit must be a linear amount. Fault when number is not positive and
 * finite, or the unit is a reading or a non-linear scale. A new unit each call, even with an old name. */
bool unit_declare_multiple(UnitTable *table, const char *name, double number, UnitId of, UnitId *id,
                           Fault *fault);
UnitId unit_declare_count(UnitTable *table, const char *name);
UnitId unit_declare_money(UnitTable *table, const char *name);

/* A compound from simple units and exponents as typed (`pts*gal/lb`). Readings and °Bx-like scales cannot be
 * part of one; a single factor with exponent 1 is the unit itself. Terms of the same unit are joined. */
bool unit_compose(UnitTable *table, const UnitFactor *factors, int count, UnitId *id, Fault *fault);

/* a × b (or a ÷ b) of two amounts: the unit of the result and the number to multiply with. "Units of one kind
 * cancel at once, the right one converted to the left" (0.96 g/L × gal is g with factor 3.785…; L / gal is a
 * plain number with factor 0.264…; pts·gal / gal is pts). A dimensionless rest becomes the plain number.
 * Results are cached. Percent is the caller's business. Non-linear strength units (%ABW, proof, ukproof)
 * combine only by number, or cancel with themselves: otherwise fault. */
bool unit_multiply(UnitTable *table, UnitId a, UnitId b, bool divide, UnitId *result, double *factor,
                   Fault *fault);
bool unit_power(UnitTable *table, UnitId a, int exponent, UnitId *result, double *factor, Fault *fault);
bool unit_square_root(UnitTable *table, UnitId a, UnitId *result, double *factor, Fault *fault);

bool unit_same_kind(const UnitTable *table, UnitId a,
                    UnitId b); /* same dimension, both amounts or both readings */
bool unit_is_linear(
    const Unit *unit); /* a factor converts it: an amount that is not %ABW, proof or ukproof */
/* The unit's kind in words: "volume", or its name for KIND_OTHER; two currencies or counts give their names.
 */
const char *unit_kind_text(const UnitTable *table, UnitId id);
/* Added to `out`, with an article: "a volume", "an energy", "a quantity in kg·m/s^2", "money in crown", "a
 * count of can". */
void unit_describe(const UnitTable *table, UnitId id, Text *out);

/* Number on one unit to number on another of the same kind, by the published relation. Exact where factors
 * are (128 floz is 1 gal, 12 inch 30.48 cm: the ratio is formed in long double). Fault: kinds differ (names
 * both), out of the scale's range (names it), too large for a double. */
bool unit_convert(const UnitTable *table, double number, UnitId from, UnitId to, double *result,
                  Fault *fault);
/* The factor of a conversion between two linear amounts of one kind. */
double unit_ratio(const UnitTable *table, UnitId from, UnitId to);
/* Position on the base scale that comparisons of readings use: SG, K, pH, days. */
bool unit_reading_base(const UnitTable *table, double number, UnitId unit, double *base, Fault *fault);
bool unit_reading_from_base(const UnitTable *table, double base, UnitId unit, double *number, Fault *fault);

#endif

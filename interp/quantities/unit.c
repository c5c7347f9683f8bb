/* SPDX-FileCopyrightText: the Rundlet developers */
/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The table of units: kinds, the built-in rows, units a script declares, conversions between two units of a
 * kind.
 *
 * The rows of unit.def are constants that all tables share; a new table is an array of pointers to them and
 * the index of their spellings, so that starting costs microseconds. Units added later belong to their table.
 */
#include "quantities/unit.h"

#include <math.h>
#include <string.h>

#include "base/mem.h"
#include "numbers/format.h"
#include "quantities/quantity_arg.h"
#include "quantities/scale.h"
#include "quantities/unit_table.h"

/* ---- kinds ---- */

static const struct {
    const char *word;
    const char *phrase;
} kinds[] = {
    [KIND_NUMBER] = {"number", "a plain number"},
    [KIND_VOLUME] = {"volume", "a volume"},
    [KIND_MASS] = {"mass", "a mass"},
    [KIND_LENGTH] = {"length", "a length"},
    [KIND_TIME] = {"time", "a time"},
    [KIND_TEMPERATURE] = {"temperature", "a temperature"},
    [KIND_TEMPERATURE_DIFFERENCE] = {"temperature_difference", "a temperature difference"},
    [KIND_GRAVITY] = {"gravity", "a gravity"},
    [KIND_GRAVITY_DIFFERENCE] = {"gravity_difference", "a gravity difference"},
    [KIND_STRENGTH] = {"strength", "a strength"},
    [KIND_PRESSURE] = {"pressure", "a pressure"},
    [KIND_CONCENTRATION] = {"concentration", "a concentration"},
    [KIND_ACIDITY] = {"acidity", "an acidity"},
    [KIND_ENERGY] = {"energy", "an energy"},
    [KIND_POWER] = {"power", "a power"},
    [KIND_COLOUR] = {"colour", "a colour"},
    [KIND_PASTEURISATION] = {"pasteurisation", "pasteurisation units"},
    [KIND_CELLS] = {"cells", "a number of cells"},
    [KIND_DATE] = {"date", "a date"},
    [KIND_MONTHS] = {"months", "a month"},
    [KIND_MONEY] = {"money", "money"},
    [KIND_COUNT] = {"count", "a count"},
    [KIND_OTHER] = {"other", "a quantity"},
    [KIND_TEXT] = {"text", "a text"},
    [KIND_LIST] = {"list", "a list"},
    [KIND_RECORD] = {"record", "a record"},
    [KIND_LIQUID] = {"liquid", "a liquid"},
    [KIND_FORMULA] = {"formula", "a formula"},
    [KIND_TRUTH] = {"truth", "a truth"},
    [KIND_NONE] = {"none", "none"},
};

const char *kind_word(Kind kind) {
    return kinds[kind].word;
}

const char *kind_phrase(Kind kind) {
    return kinds[kind].phrase;
}

/* Kinds that a script may ask for: the others have no word in it. */
static bool has_word(int kind) {
    return kind != KIND_OTHER && kind != KIND_NONE;
}

bool kind_find(const char *word, Kind *kind) {
    for (int k = KIND_NUMBER; k <= KIND_NONE; k++)
        if (has_word(k) && strcmp(kinds[k].word, word) == 0) {
            *kind = (Kind)k;
            return true;
        }
    return false;
}

#define NUMBERS (KIND_SET(KIND_OTHER + 1) - 1) /* all kinds of quantities */
#define READINGS                                                                                             \
    (KIND_SET(KIND_TEMPERATURE) | KIND_SET(KIND_GRAVITY) | KIND_SET(KIND_ACIDITY) | KIND_SET(KIND_DATE))

static const struct {
    const char *word, *phrase;
    KindSet set;
} groups[] = {
    {"quantity", "a quantity", NUMBERS & ~KIND_SET(KIND_DATE)},
    {"amount", "a number or an amount", NUMBERS & ~READINGS},
};
enum { GROUP_COUNT = sizeof groups / sizeof *groups };

KindSet kind_group(const char *word) {
    for (int i = 0; i < GROUP_COUNT; i++)
        if (strcmp(groups[i].word, word) == 0)
            return groups[i].set;
    return 0;
}

/* Of the largest group, or of the first kind, in a set; taken out of it. */
static const char *take_phrase(KindSet *set) {
    int kind = KIND_NUMBER;
    for (int i = 0; i < GROUP_COUNT; i++)
        if ((*set & groups[i].set) == groups[i].set) {
            *set &= ~groups[i].set;
            return groups[i].phrase;
        }
    while (!(*set & KIND_SET(kind)))
        kind++;
    *set &= ~KIND_SET(kind);
    return kind_phrase((Kind)kind);
}

void kind_set_describe(KindSet set, Text *out) {
    for (bool first = true; set; first = false) {
        const char *phrase = take_phrase(&set);
        message_add_joint(out, first, !set, PHRASE_JOINED_OR);
        text_add_string(out, phrase);
    }
}

void kind_nearest(const char *wanted, const char **best, int *best_distance) {
    for (int k = KIND_NUMBER; k <= KIND_NONE; k++)
        if (has_word(k))
            text_nearest(wanted, kinds[k].word, best, best_distance);
}

/* ---- the built-in rows ---- */

/* The dimension of each kind. */
enum {
    OF_NUMBER = DIMENSION_NONE,
    OF_VOLUME = DIMENSION_VOLUME,
    OF_MASS = DIMENSION_MASS,
    OF_LENGTH = DIMENSION_LENGTH,
    OF_TIME = DIMENSION_TIME,
    OF_TEMPERATURE = DIMENSION_TEMPERATURE,
    OF_TEMPERATURE_DIFFERENCE = DIMENSION_TEMPERATURE,
    OF_GRAVITY = DIMENSION_GRAVITY,
    OF_GRAVITY_DIFFERENCE = DIMENSION_GRAVITY,
    OF_STRENGTH = DIMENSION_STRENGTH,
    OF_PRESSURE = DIMENSION_PRESSURE,
    OF_CONCENTRATION = DIMENSION_CONCENTRATION,
    OF_ACIDITY = DIMENSION_ACIDITY,
    OF_ENERGY = DIMENSION_ENERGY,
    OF_DATE = DIMENSION_DATE,
    OF_MONTHS = DIMENSION_MONTHS,
    OF_POWER = DIMENSION_POWER,
    OF_COLOUR = DIMENSION_COLOUR,
    OF_PASTEURISATION = DIMENSION_PASTEURISATION,
    OF_CELLS = DIMENSION_CELLS
};

#define IS_READING(kind)                                                                                     \
    ((kind) == KIND_TEMPERATURE || (kind) == KIND_GRAVITY || (kind) == KIND_ACIDITY || (kind) == KIND_DATE)

/* Concentrations with a name of their own are taken apart into these in products. */
#define STANDS_FOR(id)                                                                                       \
    ((id) == UNIT_VOLS                                         ? UNIT_G_PER_L                                \
     : (id) == UNIT_PPM || (id) == UNIT_IBU || (id) == UNIT_DH ? UNIT_MG_PER_L                               \
                                                               : UNIT_NUMBER)

static const Unit builtin[UNIT_BUILTIN_COUNT] = {
#define UNIT(id, name_, alias, kind_, scale_, factor_, places_, difference_, source)                         \
    {.name = name_,                                                                                          \
     .kind = KIND_##kind_,                                                                                   \
     .reading = IS_READING(KIND_##kind_),                                                                    \
     .scale = SCALE_##scale_,                                                                                \
     .dim = OF_##kind_,                                                                                      \
     .factor = (double)(factor_),                                                                            \
     .exact = (factor_),                                                                                     \
     .places = (places_),                                                                                    \
     .difference = UNIT_##difference_,                                                                       \
     .of = STANDS_FOR(UNIT_##id),                                                                            \
     .terms = {{UNIT_##id, 1}},                                                                              \
     .term_count = UNIT_##id == UNIT_NUMBER ? 0 : 1},
#define QUOTIENT(id, name_, above, below, kind_, dimension, factor_, source)                                 \
    {.name = name_,                                                                                          \
     .kind = KIND_##kind_,                                                                                   \
     .scale = SCALE_LINEAR,                                                                                  \
     .dim = DIMENSION_##dimension,                                                                           \
     .factor = (double)(factor_),                                                                            \
     .exact = (factor_),                                                                                     \
     .places = -1,                                                                                           \
     .difference = UNIT_##id,                                                                                \
     .terms = {{UNIT_##above, 1}, {UNIT_##below, -1}},                                                       \
     .term_count = 2},
#include "quantities/unit.def"
#undef UNIT
};

static const Dimension fixed_dimensions[DIMENSION_FIXED] = {
    [DIMENSION_NONE] = {0, {{0, 0}}, KIND_NUMBER},
    [DIMENSION_VOLUME] = {1, {{DIM_LENGTH, 3}}, KIND_VOLUME},
    [DIMENSION_MASS] = {1, {{DIM_MASS, 1}}, KIND_MASS},
    [DIMENSION_LENGTH] = {1, {{DIM_LENGTH, 1}}, KIND_LENGTH},
    [DIMENSION_TIME] = {1, {{DIM_TIME, 1}}, KIND_TIME},
    [DIMENSION_TEMPERATURE] = {1, {{DIM_TEMPERATURE, 1}}, KIND_TEMPERATURE_DIFFERENCE},
    [DIMENSION_GRAVITY] = {1, {{DIM_GRAVITY, 1}}, KIND_GRAVITY_DIFFERENCE},
    [DIMENSION_STRENGTH] = {1, {{DIM_STRENGTH, 1}}, KIND_STRENGTH},
    [DIMENSION_PRESSURE] = {3, {{DIM_LENGTH, -1}, {DIM_MASS, 1}, {DIM_TIME, -2}}, KIND_PRESSURE},
    [DIMENSION_CONCENTRATION] = {2, {{DIM_LENGTH, -3}, {DIM_MASS, 1}}, KIND_CONCENTRATION},
    [DIMENSION_ENERGY] = {3, {{DIM_LENGTH, 2}, {DIM_MASS, 1}, {DIM_TIME, -2}}, KIND_ENERGY},
    [DIMENSION_ACIDITY] = {1, {{DIM_ACIDITY, 1}}, KIND_ACIDITY},
    [DIMENSION_DATE] = {1, {{DIM_DATE, 1}}, KIND_DATE},
    [DIMENSION_MONTHS] = {1, {{DIM_MONTHS, 1}}, KIND_MONTHS},
    [DIMENSION_POWER] = {3, {{DIM_LENGTH, 2}, {DIM_MASS, 1}, {DIM_TIME, -3}}, KIND_POWER},
    [DIMENSION_COLOUR] = {1, {{DIM_COLOUR, 1}}, KIND_COLOUR},
    [DIMENSION_PASTEURISATION] = {1, {{DIM_PASTEURISATION, 1}}, KIND_PASTEURISATION},
    [DIMENSION_CELLS] = {1, {{DIM_CELLS, 1}}, KIND_CELLS},
};

/* ---- hashed ids ---- */

uint32_t unit_hash(uint32_t hash, const void *bytes, size_t length) {
    const unsigned char *byte = bytes;
    for (size_t i = 0; i < length; i++)
        hash = (hash ^ byte[i]) * 16777619U; /* FNV-1a */
    return hash;
}

static void put(UnitIndex *index, struct UnitSlot slot) {
    uint32_t at = slot.hash & (index->size - 1);
    while (index->slots[at].item)
        at = (at + 1) & (index->size - 1);
    index->slots[at] = slot;
}

void unit_index_add(UnitIndex *index, uint32_t hash, uint32_t item) {
    if (2 * (index->count + 1) > index->size) {
        UnitIndex larger = {.size = index->size ? index->size * 2 : 256, .count = index->count};
        larger.slots = mem_array(larger.size, sizeof *larger.slots);
        for (uint32_t i = 0; i < index->size; i++)
            if (index->slots[i].item)
                put(&larger, index->slots[i]);
        mem_free(index->slots);
        *index = larger;
    }
    put(index, (struct UnitSlot){hash, item + 1});
    index->count++;
}

bool unit_index_next(const UnitIndex *index, uint32_t hash, uint32_t *at, uint32_t *item) {
    if (index->size == 0)
        return false;
    for (;;) {
        const struct UnitSlot *slot = &index->slots[*at & (index->size - 1)];
        ++*at;
        if (slot->item == 0)
            return false;
        if (slot->hash == hash) {
            *item = slot->item - 1;
            return true;
        }
    }
}

/* ---- a table ---- */

UnitTable *unit_table_new(void) {
    UnitTable *table = mem_alloc(sizeof *table);
    struct UnitTableParts *parts = mem_alloc(sizeof *parts);
    table->parts = parts;
    parts->capacity = 2 * UNIT_BUILTIN_COUNT;
    table->units = mem_array(parts->capacity, sizeof *table->units);
    for (uint32_t id = 0; id < UNIT_BUILTIN_COUNT; id++)
        table->units[id] = &builtin[id];
    table->count = UNIT_BUILTIN_COUNT;
    parts->bases = DIM_OWN;
    for (uint32_t i = 0; i < DIMENSION_FIXED; i++)
        unit_dimension_intern(table, &fixed_dimensions[i]);
    unit_names_fill(table);
    unit_compounds_fill(table);
    return table;
}

void unit_table_free(UnitTable *table) {
    if (!table)
        return;
    for (uint32_t id = UNIT_BUILTIN_COUNT; id < table->count; id++) {
        union {
            const void *constant;
            void *owned;
        } name = {table->units[id]->name}, unit = {table->units[id]};
        mem_free(name.owned);
        mem_free(unit.owned);
    }
    mem_free(table->units);
    mem_free(table->parts->dimensions);
    mem_free(table->parts->dimension_index.slots);
    mem_free(table->parts->compounds.slots);
    mem_free(table->parts->spellings.slots);
    mem_free(table->parts);
    mem_free(table);
}

UnitId unit_table_add(UnitTable *table, const Unit *unit) {
    Unit *added = mem_alloc(sizeof *added);
    *added = *unit;
    MEM_GROW(table->units, table->count, table->parts->capacity);
    UnitId id = table->count++;
    table->units[id] = added;
    added->difference = id;
    if (added->term_count == 0) { /* a simple unit is its own only term */
        added->terms[0] = (UnitFactor){id, 1};
        added->term_count = 1;
    }
    return id;
}

bool unit_check_room(const UnitTable *table, Fault *fault) {
    return table->count < UNITS_MAX || fault_set(fault, MSG_UNIT_TOO_MANY, NO_ARGS);
}

/* ---- kinds of units ---- */

bool unit_is_linear(const Unit *unit) {
    return unit->scale == SCALE_LINEAR || unit->scale == SCALE_PERCENT || unit->scale == SCALE_ABV;
}

bool unit_same_kind(const UnitTable *table, UnitId a, UnitId b) {
    const Unit *left = unit_get(table, a), *right = unit_get(table, b);
    return left->dim == right->dim && left->reading == right->reading;
}

static bool is_named(Kind kind) {
    return kind == KIND_OTHER || kind == KIND_MONEY || kind == KIND_COUNT;
}

const char *unit_kind_text(const UnitTable *table, UnitId id) {
    const Unit *unit = unit_get(table, id);
    return is_named(unit->kind) ? unit->name : kind_word(unit->kind);
}

void unit_describe(const UnitTable *table, UnitId id, Text *out) {
    const Unit *unit = unit_get(table, id);
    text_add_string(out, kind_phrase(unit->kind));
    if (!is_named(unit->kind))
        return;
    text_add_string(out, unit->kind == KIND_COUNT ? " of " : " in ");
    text_add_string(out, unit->name);
}

/* ---- units of one's own ---- */

static UnitId declare_base(UnitTable *table, const char *name, Kind kind) {
    Dimension own = {.count = 1, .factors = {{table->parts->bases++, 1}}, .kind = kind};
    Unit unit = {.name = mem_copy_string(name),
                 .kind = kind,
                 .scale = SCALE_LINEAR,
                 .dim = unit_dimension_intern(table, &own),
                 .factor = 1,
                 .exact = 1,
                 .places = kind == KIND_MONEY ? 2 : -1};
    return unit_table_add(table, &unit);
}

UnitId unit_declare_count(UnitTable *table, const char *name) {
    return declare_base(table, name, KIND_COUNT);
}

UnitId unit_declare_money(UnitTable *table, const char *name) {
    return declare_base(table, name, KIND_MONEY);
}

static bool refuse_multiple(const UnitTable *table, UnitId of, Fault *fault) {
    const Unit *unit = unit_get(table, of);
    return fault_set(fault, MSG_UNIT_MULTIPLE_OF,
                     ARGS(unit->reading ? arg_unit_kind(table, of) : arg_text(unit->name)));
}

bool unit_declare_multiple(UnitTable *table, const char *name, double number, UnitId of, UnitId *id,
                           Fault *fault) {
    const Unit *base = unit_get(table, of);
    if (base->reading || !unit_is_linear(base))
        return refuse_multiple(table, of, fault);
    long double exact = (long double)number * base->exact;
    if (!(number > 0) || !isfinite(number) || !isfinite((double)exact) || (double)exact <= 0)
        return fault_set(fault, MSG_UNIT_MULTIPLE_NUMBER, NO_ARGS);
    if (!unit_check_room(table, fault))
        return false;
    Unit unit = {.name = mem_copy_string(name),
                 .kind = base->kind,
                 .scale = SCALE_LINEAR,
                 .dim = base->dim,
                 .factor = (double)exact,
                 .exact = exact,
                 .places = base->kind == KIND_MONEY ? 2 : -1,
                 .of = base->term_count > 1 || base->terms[0].exponent != 1 ? of : base->of};
    *id = unit_table_add(table, &unit);
    return true;
}

/* ---- conversion ---- */

/* What to write instead, by the kinds from and to. */
static const struct {
    Kind from, to;
    MessageId hint;
} conversion_hints[] = {
    {KIND_MONTHS, KIND_TIME, HINT_MONTHS_TO_TIME},
    {KIND_TIME, KIND_MONTHS, HINT_MONTHS_TO_TIME},
    {KIND_VOLUME, KIND_MASS, HINT_VOLUME_TO_MASS},
    {KIND_MASS, KIND_VOLUME, HINT_MASS_TO_VOLUME},
    {KIND_GRAVITY, KIND_STRENGTH, HINT_GRAVITY_TO_STRENGTH},
    {KIND_GRAVITY, KIND_CONCENTRATION, HINT_GRAVITY_TO_CONCENTRATION},
    {KIND_GRAVITY, KIND_GRAVITY_DIFFERENCE, HINT_GRAVITY_TO_POINTS},
    {KIND_GRAVITY_DIFFERENCE, KIND_GRAVITY, HINT_POINTS_TO_GRAVITY},
    {KIND_TEMPERATURE, KIND_TEMPERATURE_DIFFERENCE, HINT_TEMPERATURE_OR_DIFFERENCE},
    {KIND_TEMPERATURE_DIFFERENCE, KIND_TEMPERATURE, HINT_TEMPERATURE_OR_DIFFERENCE},
    {KIND_MONEY, KIND_MONEY, HINT_TWO_MONEYS},
};

static bool refuse_kinds(const UnitTable *table, double number, UnitId from, UnitId to, Fault *fault) {
    const Unit *source = unit_get(table, from), *target = unit_get(table, to);
    fault_set(fault, MSG_UNIT_CONVERT_KINDS, ARGS(arg_unit_kind(table, from), arg_unit_kind(table, to)));
    fault_label(fault, unit_kind_text(table, from), unit_kind_text(table, to));
    for (size_t i = 0; i < sizeof conversion_hints / sizeof *conversion_hints; i++)
        if (conversion_hints[i].from == source->kind && conversion_hints[i].to == target->kind)
            return fault_hint(fault, conversion_hints[i].hint, NO_ARGS);
    if (from == UNIT_NUMBER)
        return fault_hint(fault, HINT_UNIT_BEHIND, ARGS(arg_plain(number, target->name)));
    return target->kind == KIND_NUMBER && fault_hint(fault, HINT_PLAIN_NUMBER, NO_ARGS);
}

static bool refuse_range(double number, const Unit *unit, Fault *fault) {
    double least = 0, most = 0;
    scale_range(unit->scale, &least, &most);
    if (unit->kind == KIND_COLOUR)
        return fault_set(fault, MSG_UNIT_TOO_PALE,
                         ARGS(arg_plain(number, unit->name), arg_plain(least, unit->name)));
    if (!isfinite(most)) /* a temperature */
        return fault_set(fault, MSG_UNIT_ABSOLUTE_ZERO,
                         ARGS(arg_plain(number, unit->name), arg_plain(least, unit->name)));
    return fault_set(
        fault, MSG_UNIT_RANGE,
        ARGS(arg_plain(number, unit->name), unit->name, arg_plain(least, ""), arg_plain(most, "")));
}

double unit_ratio(const UnitTable *table, UnitId from, UnitId to) {
    return (double)(unit_get(table, from)->exact / unit_get(table, to)->exact);
}

/* Between amounts of which one or both are on a curve: a strength or a colour. */
static bool convert_curved(const Unit *from, const Unit *to, double number, double *result, Fault *fault) {
    double base, converted;
    bool linear = unit_is_linear(from); /* a multiple of the base: %ABV or SRM */
    const Unit *base_unit = &builtin[from->dim == DIMENSION_STRENGTH ? UNIT_ABV : UNIT_SRM];
    bool fits = scale_to_base(from->scale, number, &base);
    if (fits && linear)
        base *= from->factor;
    if (!fits || !scale_convert(base_unit->scale, to->scale, base, &converted))
        return linear ? refuse_range(base, base_unit, fault) : refuse_range(number, from, fault);
    *result = unit_is_linear(to) ? (double)((long double)converted / to->exact) : converted;
    return true;
}

bool unit_convert(const UnitTable *table, double number, UnitId from, UnitId to, double *result,
                  Fault *fault) {
    const Unit *source = unit_get(table, from), *target = unit_get(table, to);
    if (from == to) {
        *result = number;
        return true;
    }
    if (source->dim != target->dim || source->reading != target->reading)
        return refuse_kinds(table, number, from, to, fault);
    if (unit_is_linear(source) && unit_is_linear(target)) {
        *result = (double)((long double)number * source->exact / target->exact);
        return isfinite(*result) || fault_set(fault, MSG_OVERFLOW, NO_ARGS);
    }
    if (!source->reading)
        return convert_curved(source, target, number, result, fault);
    return scale_convert(source->scale, target->scale, number, result) || refuse_range(number, source, fault);
}

bool unit_reading_base(const UnitTable *table, double number, UnitId unit, double *base, Fault *fault) {
    const Unit *reading = unit_get(table, unit);
    return scale_to_base(reading->scale, number, base) || refuse_range(number, reading, fault);
}

bool unit_reading_from_base(const UnitTable *table, double base, UnitId unit, double *number, Fault *fault) {
    const Unit *reading = unit_get(table, unit);
    if (scale_from_base(reading->scale, base, number))
        return true;
    UnitId base_unit = reading->kind == KIND_GRAVITY ? UNIT_SG : UNIT_KELVIN;
    return refuse_range(base, unit_get(table, base_unit), fault);
}

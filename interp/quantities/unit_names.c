/* SPDX-FileCopyrightText: the Rundlet developers */
/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Built-in units by name: their spellings, the plural rule, and the right name for common wrong ones. */
#include <string.h>

#include "quantities/unit_table.h"

static const char *const aliases[UNIT_BUILTIN_COUNT] = {
#define UNIT(id, name, alias, ...) alias,
#include "quantities/unit.def"
#undef UNIT
};

static const char *const sources[UNIT_BUILTIN_COUNT] = {
#define UNIT(id, name, alias, kind, scale, factor, places, difference, source) source,
#include "quantities/unit.def"
#undef UNIT
};

static const char *const names[UNIT_BUILTIN_COUNT] = {
#define UNIT(id, name, ...) name,
#include "quantities/unit.def"
#undef UNIT
};

const char *unit_alias(UnitId builtin) {
    return aliases[builtin];
}

const char *unit_source(UnitId builtin) {
    return sources[builtin];
}

/* Simple units that a person types: not the number, not dates, not the compounds at the end of the table. */
static bool is_typed(UnitId id) {
    return id > UNIT_NUMBER && id < UNIT_G_PER_L && id != UNIT_DATE;
}

static const char *spelling_of(const UnitTable *table, uint32_t spelling) {
    UnitId id = spelling / 2;
    return spelling % 2 ? aliases[id] : unit_get(table, id)->name;
}

void unit_names_fill(UnitTable *table) {
    for (uint32_t spelling = 0; spelling < 2 * UNIT_G_PER_L; spelling++) {
        const char *name = is_typed(spelling / 2) ? spelling_of(table, spelling) : NULL;
        if (name)
            unit_index_add(&table->parts->spellings, unit_hash(0, name, strlen(name)), spelling);
    }
}

static bool find_spelling(const UnitTable *table, const char *name, size_t length, UnitId *id) {
    uint32_t hash = unit_hash(0, name, length), at = hash, spelling;
    while (unit_index_next(&table->parts->spellings, hash, &at, &spelling)) {
        const char *spelled = spelling_of(table, spelling);
        if (strlen(spelled) == length && memcmp(spelled, name, length) == 0) {
            *id = spelling / 2;
            return true;
        }
    }
    return false;
}

static bool is_letter(char c) {
    return (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z');
}

/* Three letters or more, and an `s`. */
static bool is_plural(const char *name, size_t length) {
    for (size_t i = 0; i < length; i++)
        if (!is_letter(name[i]))
            return false;
    return length >= 4 && name[length - 1] == 's';
}

bool unit_find(const UnitTable *table, const char *name, bool plural, UnitId *id) {
    size_t length = strlen(name);
    return find_spelling(table, name, length, id) ||
           (plural && is_plural(name, length) && find_spelling(table, name, length - 1, id));
}

/* ---- wrong names ---- */

/* Names from elsewhere, case ignored, an `s` at the end too. Not among them: another case of a right name
 * (Gal, PSI), which is near anyway. */
static const struct {
    const char *wrong;
    BuiltinUnit right;
} misspellings[] = {
    {"percent", UNIT_PERCENT},
    {"pct", UNIT_PERCENT},
    {"litre", UNIT_L},
    {"liter", UNIT_L},
    {"lt", UNIT_L},
    {"ltr", UNIT_L},
    {"millilitre", UNIT_ML},
    {"milliliter", UNIT_ML},
    {"cc", UNIT_ML},
    {"mil", UNIT_ML},
    {"centilitre", UNIT_CL},
    {"centiliter", UNIT_CL},
    {"decilitre", UNIT_DL},
    {"deciliter", UNIT_DL},
    {"hectolitre", UNIT_HL},
    {"hectoliter", UNIT_HL},
    {"cbm", UNIT_M3},
    {"gallon", UNIT_GAL},
    {"gl", UNIT_GAL},
    {"usgal", UNIT_GAL},
    {"quart", UNIT_QT},
    {"pint", UNIT_PT},
    {"fl_oz", UNIT_FLOZ},
    {"fl oz", UNIT_FLOZ},
    {"fl ounce", UNIT_FLOZ},
    {"fluid oz", UNIT_FLOZ},
    {"fluid ounce", UNIT_FLOZ},
    {"US gal", UNIT_GAL},
    {"US gallon", UNIT_GAL},
    {"US pt", UNIT_PT},
    {"US pint", UNIT_PT},
    {"US qt", UNIT_QT},
    {"US quart", UNIT_QT},
    {"UK gal", UNIT_IGAL},
    {"UK gallon", UNIT_IGAL},
    {"UK pt", UNIT_IPT},
    {"UK pint", UNIT_IPT},
    {"imperial gal", UNIT_IGAL},
    {"imperial gallon", UNIT_IGAL},
    {"imperial pt", UNIT_IPT},
    {"imperial pint", UNIT_IPT},
    {"ozfl", UNIT_FLOZ},
    {"fluidounce", UNIT_FLOZ},
    {"tablespoon", UNIT_TBSP},
    {"tbs", UNIT_TBSP},
    {"tb", UNIT_TBSP},
    {"teaspoon", UNIT_TSP},
    {"ts", UNIT_TSP},
    {"barrel", UNIT_BBL},
    {"ukgal", UNIT_IGAL},
    {"impgal", UNIT_IGAL},
    {"ukpt", UNIT_IPT},
    {"imppt", UNIT_IPT},
    {"kilo", UNIT_KG},
    {"kilogram", UNIT_KG},
    {"kilogramme", UNIT_KG},
    {"gram", UNIT_G},
    {"gramme", UNIT_G},
    {"gm", UNIT_G},
    {"grm", UNIT_G},
    {"milligram", UNIT_MG},
    {"milligramme", UNIT_MG},
    {"ton", UNIT_TONNE},
    {"pound", UNIT_LB},
    {"lb", UNIT_LB},
    {"ounce", UNIT_OZ},
    {"grain", UNIT_GR},
    {"metre", UNIT_M},
    {"meter", UNIT_M},
    {"centimetre", UNIT_CM},
    {"centimeter", UNIT_CM},
    {"millimetre", UNIT_MM},
    {"millimeter", UNIT_MM},
    {"in", UNIT_INCH},
    {"inches", UNIT_INCH},
    {"inche", UNIT_INCH},
    {"foot", UNIT_FT},
    {"feet", UNIT_FT},
    {"sec", UNIT_S},
    {"second", UNIT_S},
    {"minute", UNIT_MIN},
    {"hr", UNIT_H},
    {"hour", UNIT_H},
    {"d", UNIT_DAY},
    {"wk", UNIT_WEEK},
    {"C", UNIT_CELSIUS},
    {"celsius", UNIT_CELSIUS},
    {"centigrade", UNIT_CELSIUS},
    {"deg_C", UNIT_CELSIUS},
    {"F", UNIT_FAHRENHEIT},
    {"fahrenheit", UNIT_FAHRENHEIT},
    {"deg_F", UNIT_FAHRENHEIT},
    {"°K", UNIT_KELVIN},
    {"kelvin", UNIT_KELVIN},
    {"degK", UNIT_KELVIN},
    {"brix", UNIT_BRIX},
    {"°Brix", UNIT_BRIX},
    {"°B", UNIT_BRIX},
    {"balling", UNIT_BRIX},
    {"°Plato", UNIT_PLATO},
    {"oechsle", UNIT_OECHSLE},
    {"°Oechsle", UNIT_OECHSLE},
    {"°Baume", UNIT_BAUME},
    {"baumé", UNIT_BAUME},
    {"°Baumé", UNIT_BAUME},
    {"Be", UNIT_BAUME},
    {"point", UNIT_PTS},
    {"gp", UNIT_PTS},
    {"gu", UNIT_PTS},
    {"ABV", UNIT_ABV},
    {"%vol", UNIT_ABV},
    {"vol%", UNIT_ABV},
    {"abv%", UNIT_ABV},
    {"ABW", UNIT_ABW},
    {"abw%", UNIT_ABW},
    {"degproof", UNIT_PROOF},
    {"usproof", UNIT_PROOF},
    {"kilopascal", UNIT_KPA},
    {"pascal", UNIT_PA},
    {"atmosphere", UNIT_ATM},
    {"torr", UNIT_MMHG},
    {"vol", UNIT_VOLS},
    {"volume", UNIT_VOLS},
    {"kilojoule", UNIT_KJ},
    {"joule", UNIT_J},
    {"cal", UNIT_KCAL},
    {"calorie", UNIT_KCAL},
    {"kilocalorie", UNIT_KCAL},
    {"mgL", UNIT_MG_PER_L},
    {"mgpl", UNIT_MG_PER_L},
    {"gL", UNIT_G_PER_L},
    {"gpl", UNIT_G_PER_L},
    {"kgL", UNIT_KG_PER_L},
};

/* Measures that have no unit of their own, and what stands in their place. */
static const struct {
    const char *wrong;
    const char *instead;
} absent[] = {
    {"ug", "mg: 1000 µg are 1 mg"},
    {"mcg", "mg: 1000 µg are 1 mg"},
    {"µg", "mg: 1000 µg are 1 mg"},
    {"microgram", "mg: 1000 µg are 1 mg"},
    {"year", "12 month for a year of the calendar, 365 day or 52 week for a length"},
    {"yr", "12 month for a year of the calendar, 365 day or 52 week for a length"},
};

static bool is_misspelled(const char *wanted, const char *wrong) {
    if (text_distance(wanted, wrong) == 0)
        return true;
    size_t length = strlen(wanted);
    bool longer = length == strlen(wrong) + 1 && (wanted[length - 1] == 's' || wanted[length - 1] == 'S');
    return longer && text_distance(wanted, wrong) == 1;
}

static const BuiltinUnit differences[UNIT_BUILTIN_COUNT] = {
#define UNIT(id, name, alias, kind, scale, factor, places, difference, source) UNIT_##difference,
#include "quantities/unit.def"
#undef UNIT
};

const char *unit_difference_name(const char *name) {
    for (int id = 1; id < UNIT_BUILTIN_COUNT; id++)
        if (strcmp(names[id], name) == 0 || (aliases[id] && strcmp(aliases[id], name) == 0))
            return differences[id] == (BuiltinUnit)id ? name : names[differences[id]];
    return name;
}

const char *unit_instead(const char *wanted) {
    for (size_t i = 0; i < sizeof misspellings / sizeof *misspellings; i++) /* gL before gl */
        if (strcmp(wanted, misspellings[i].wrong) == 0)
            return names[misspellings[i].right];
    for (size_t i = 0; i < sizeof misspellings / sizeof *misspellings; i++)
        if (is_misspelled(wanted, misspellings[i].wrong))
            return names[misspellings[i].right];
    for (size_t i = 0; i < sizeof absent / sizeof *absent; i++)
        if (is_misspelled(wanted, absent[i].wrong))
            return absent[i].instead;
    return NULL;
}

const char *unit_other_case(const UnitTable *table, const char *wanted) {
    for (uint32_t spelling = 0; spelling < 2 * UNIT_G_PER_L; spelling++) {
        const char *name = is_typed(spelling / 2) ? spelling_of(table, spelling) : NULL;
        if (name && text_distance(wanted, name) == 0)
            return name;
    }
    return NULL;
}

void unit_nearest(const UnitTable *table, const char *wanted, const char **best, int *best_distance) {
    const char *instead = unit_instead(wanted);
    if (instead) {
        *best = instead;
        *best_distance = 0;
        return;
    }
    for (uint32_t spelling = 0; spelling < 2 * UNIT_G_PER_L; spelling++) {
        const char *name = is_typed(spelling / 2) ? spelling_of(table, spelling) : NULL;
        if (name)
            text_nearest(wanted, name, best, best_distance);
    }
}

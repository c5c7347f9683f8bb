/* SPDX-FileCopyrightText: the Rundlet developers */
/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Built-in units by name: their spellings (unit.def, spelling.def), the plural rule, and the right name for
 * common wrong ones. */
#include <string.h>

#include "quantities/unit_table.h"

static const char *const aliases[UNIT_BUILTIN_COUNT] = {
#define UNIT(id, name, alias, ...) alias,
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

/* Simple units that a person types: not the number, not dates, not the compounds at the end of the table. */
static bool is_typed(UnitId id) {
    return id > UNIT_NUMBER && id < UNIT_G_PER_L && id != UNIT_DATE;
}

/* 2 × id for the name of a unit, 2 × id + 1 for its alias. NULL for what nobody types. */
enum { OWN_SPELLINGS = 2 * UNIT_G_PER_L };
static const char *own_spelling(uint32_t spelling) {
    UnitId id = spelling / 2;
    return !is_typed(id) ? NULL : spelling % 2 ? aliases[id] : names[id];
}

void unit_names_fill(UnitTable *table) {
    for (uint32_t spelling = 0; spelling < OWN_SPELLINGS; spelling++) {
        const char *name = own_spelling(spelling);
        if (name)
            unit_index_add(&table->parts->spellings, unit_hash(0, name, strlen(name)), spelling);
    }
}

static bool find_spelling(const UnitTable *table, const char *name, size_t length, UnitId *id) {
    uint32_t hash = unit_hash(0, name, length), at = hash, spelling;
    while (unit_index_next(&table->parts->spellings, hash, &at, &spelling)) {
        const char *spelled = own_spelling(spelling);
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

/* ---- spellings of every day ---- */

typedef enum SpellingUse { SPELLING_EVERYDAY, SPELLING_ALONE, SPELLING_ASKED } SpellingUse;

typedef struct Spelling {
    const char *text;
    BuiltinUnit unit;
    SpellingUse use;
} Spelling;

static const Spelling spellings[] = {
#define EVERYDAY(text, id) {text, UNIT_##id, SPELLING_EVERYDAY},
#define ALONE(text, id)    {text, UNIT_##id, SPELLING_ALONE},
#define ASKED(text, id)    {text, UNIT_##id, SPELLING_ASKED},
#include "quantities/spelling.def"
};
enum { SPELLING_COUNT = sizeof spellings / sizeof *spellings, CASE_BYTES = 3, LONGEST_SPELLING = 24 };

/* Measures that have no unit of their own, and what is in their place. */
static const struct {
    const char *wrong;
    const char *instead;
} absent[] = {
#define ABSENT(wrong, instead) {wrong, instead},
#include "quantities/spelling.def"
};

static char folded(char c) {
    return c >= 'A' && c <= 'Z' ? (char)(c - 'A' + 'a') : c;
}

/* The same letters: in any case where there are three or more. */
static bool is_spelled(const char *wanted, size_t length, const char *spelling) {
    if (strlen(spelling) != length)
        return false;
    if (length < CASE_BYTES)
        return memcmp(wanted, spelling, length) == 0;
    for (size_t i = 0; i < length; i++)
        if (folded(wanted[i]) != folded(spelling[i]))
            return false;
    return true;
}

/* `gallons`, `fluid ounces`: letters, words apart, and an `s`. */
static bool ends_in_s(const char *name, size_t length) {
    for (size_t i = 0; i < length; i++)
        if (!is_letter(name[i]) && name[i] != ' ')
            return false;
    return length > CASE_BYTES && folded(name[length - 1]) == 's' && folded(name[length - 2]) != 's';
}

/* NULL where there is none. ASKED rows are read as they stand first: gL before gl. */
static const Spelling *find_row(const char *name, bool asked) {
    size_t length = strlen(name);
    if (length == 0 || length > LONGEST_SPELLING)
        return NULL;
    for (int plural = 0; plural <= (ends_in_s(name, length) ? 1 : 0); plural++) {
        for (int i = 0; i < SPELLING_COUNT; i++) {
            bool right = (spellings[i].use == SPELLING_ASKED) == asked;
            if (right && is_spelled(name, length - (size_t)plural, spellings[i].text))
                return &spellings[i];
        }
    }
    return NULL;
}

/* A built-in name in another case, PSI or Cups. */
static bool find_other_case(const char *name, bool plurals, UnitId *id) {
    size_t length = strlen(name);
    if (length < CASE_BYTES || length > LONGEST_SPELLING)
        return false;
    for (size_t plural = 0; plural <= (plurals && ends_in_s(name, length) ? 1U : 0U); plural++) {
        for (uint32_t spelling = 0; spelling < OWN_SPELLINGS; spelling++) {
            const char *known = own_spelling(spelling);
            bool long_enough = known && strlen(known) >= CASE_BYTES;
            if (long_enough && is_spelled(name, length - plural, known)) {
                *id = spelling / 2;
                return true;
            }
        }
    }
    return false;
}

static bool find_by_own_name(const UnitTable *table, const char *name, bool plural, UnitId *id) {
    size_t length = strlen(name);
    return find_spelling(table, name, length, id) ||
           (plural && is_plural(name, length) && find_spelling(table, name, length - 1, id));
}

bool unit_find(const UnitTable *table, const char *name, bool plural, UnitId *id) {
    if (find_by_own_name(table, name, plural, id))
        return true;
    const Spelling *row = find_row(name, false);
    if (row)
        *id = row->unit;
    return row || find_other_case(name, plural, id);
}

const char *unit_everyday(const UnitTable *table, const char *name) {
    UnitId id;
    bool everyday = !find_by_own_name(table, name, true, &id) && unit_find(table, name, true, &id);
    return everyday ? names[id] : NULL;
}

bool unit_is_own_name(const UnitTable *table, const char *name) {
    UnitId id;
    return find_spelling(table, name, strlen(name), &id);
}

bool unit_is_name(const UnitTable *table, const char *name) {
    for (int i = 0; i < SPELLING_COUNT; i++)
        if (spellings[i].use == SPELLING_EVERYDAY && strcmp(spellings[i].text, name) == 0)
            return true;
    return unit_is_own_name(table, name);
}

bool unit_stands_alone(const UnitTable *table, const char *name) {
    UnitId id;
    const Spelling *row = find_by_own_name(table, name, true, &id) ? NULL : find_row(name, false);
    return row && row->use == SPELLING_ALONE;
}

/* ---- wrong names ---- */

static bool is_misspelled(const char *wanted, const char *wrong) {
    size_t length = strlen(wanted);
    return is_spelled(wanted, length, wrong) ||
           (ends_in_s(wanted, length) && is_spelled(wanted, length - 1, wrong));
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

const char *unit_part_in_digits(const char *word) {
    static const char *const parts[][2] = {
        {"half", "1/2"}, {"third", "1/3"}, {"quarter", "1/4"}, {"eighth", "1/8"}};
    for (size_t i = 0; i < sizeof parts / sizeof *parts; i++)
        if (strcmp(word, parts[i][0]) == 0)
            return parts[i][1];
    return NULL;
}

const char *unit_instead(const char *wanted) {
    const Spelling *row = find_row(wanted, true);
    if (!row)
        row = find_row(wanted, false);
    if (row)
        return names[row->unit];
    for (size_t i = 0; i < sizeof absent / sizeof *absent; i++)
        if (is_misspelled(wanted, absent[i].wrong))
            return absent[i].instead;
    return NULL;
}

const char *unit_other_case(const char *wanted) {
    for (uint32_t spelling = 0; spelling < OWN_SPELLINGS; spelling++) {
        const char *name = own_spelling(spelling);
        if (name && text_distance(wanted, name) == 0)
            return name;
    }
    return NULL;
}

void unit_nearest(const char *wanted, const char **best, int *best_distance) {
    const char *instead = unit_instead(wanted);
    if (instead) {
        *best = instead;
        *best_distance = 0;
        return;
    }
    for (uint32_t spelling = 0; spelling < OWN_SPELLINGS; spelling++) {
        const char *name = own_spelling(spelling);
        if (name)
            text_nearest(wanted, name, best, best_distance);
    }
    for (int i = 0; i < SPELLING_COUNT; i++) {
        const char *near = NULL;
        int distance = *best_distance;
        text_nearest(wanted, spellings[i].text, &near, &distance);
        if (near) {
            *best = names[spellings[i].unit];
            *best_distance = distance;
        }
    }
}

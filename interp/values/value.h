/* SPDX-FileCopyrightText: the Rundlet developers */
/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The tagged value, 16 bytes: a number or an object, the unit the number is in, and what it is.
 *
 * Memory: values are immutable, so no cycles can arise. Objects are found by mark and sweep. A collection
 * runs only when the run time says so, between two instructions (heap_collect at calls, backward jumps and
 * after a native), so natives and arithmetic never need to protect what they hold. Roots are the registers in
 * use, the globals, the constants and the report; they mark through heap_mark. */
#ifndef RUNDLET_VALUE_H
#define RUNDLET_VALUE_H

#include <stdbool.h>
#include <stdint.h>
#include "quantities/unit.h"

typedef enum Tag {
    TAG_AMOUNT,  /* a plain number (unit 0) or an amount */
    TAG_READING, /* temperature, gravity, pH, date */
    TAG_NONE,
    TAG_TRUTH,
    TAG_TEXT,
    TAG_LIST,
    TAG_RECORD,
    TAG_LIQUID,
    TAG_FORMULA, /* a formula by its name, as an argument */
    TAG_ABSENT   /* an argument left out; never seen by scripts */
} Tag;

typedef struct Object Object;
typedef struct TextObject TextObject;
typedef struct ListObject ListObject;
typedef struct RecordObject RecordObject;
typedef struct LiquidObject LiquidObject;

typedef struct Value {
    union {
        double number;
        bool truth;
        Object *object;
        TextObject *text;
        ListObject *list;
        RecordObject *record;
        LiquidObject *liquid;
        const struct Formula *formula; /* values/module.h; lives as long as its registry */
    } as;
    union {
        struct {
            uint32_t tag;
            UnitId unit;
        };
        uint64_t meta; /* tag and unit at once: equal for two values that add without conversion */
    };
} Value;

#define VALUE_META(tag_, unit_) ((uint64_t)(tag_) | (uint64_t)(unit_) << 32)

static inline Value value_number(double number) {
    return (Value){.as.number = number, .meta = 0};
}
static inline Value value_amount(double number, UnitId unit) {
    return (Value){.as.number = number, .tag = TAG_AMOUNT, .unit = unit};
}
static inline Value value_reading(double number, UnitId unit) {
    return (Value){.as.number = number, .tag = TAG_READING, .unit = unit};
}
/* Amount or reading, as the unit says. */
static inline Value value_quantity(const UnitTable *units, double number, UnitId unit) {
    return unit_get(units, unit)->reading ? value_reading(number, unit) : value_amount(number, unit);
}
static inline Value value_truth(bool truth) {
    Value value = {.tag = TAG_TRUTH, .unit = 0};
    value.as.number = 0;
    value.as.truth = truth;
    return value;
}
static inline Value value_none(void) {
    return (Value){.as.number = 0, .tag = TAG_NONE, .unit = 0};
}
static inline Value value_absent(void) {
    return (Value){.as.number = 0, .tag = TAG_ABSENT, .unit = 0};
}
static inline Value value_of_formula(const struct Formula *formula) {
    return (Value){.as.formula = formula, .tag = TAG_FORMULA, .unit = 0};
}
static inline bool value_is_quantity(Value v) {
    return v.tag <= TAG_READING;
}
static inline bool value_is_plain(Value v) {
    return v.meta == 0;
}
static inline bool value_is_object(Value v) {
    return v.tag >= TAG_TEXT && v.tag <= TAG_LIQUID;
}

Kind value_kind(const UnitTable *units, Value value);
/* The kind in words as docs/reference/language.md, "Formulas", spells them; a compound by its units. Stays
 * valid as long as the table.
 */
const char *value_kind_text(const UnitTable *units, Value value);
/* The same with its article, for messages: "a volume", "an energy", "a plain number", "a text", "none". Into
 * `out`. */
const char *value_describe(const UnitTable *units, Value value, Text *out);

#endif

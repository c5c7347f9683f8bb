/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What a value is, in words. */
#include "values/value.h"

#include <string.h>

Kind value_kind(const UnitTable *units, Value value) {
    switch ((Tag)value.tag) {
    case TAG_AMOUNT:
    case TAG_READING:
        return unit_get(units, value.unit)->kind;
    case TAG_TRUTH:
        return KIND_TRUTH;
    case TAG_TEXT:
        return KIND_TEXT;
    case TAG_LIST:
        return KIND_LIST;
    case TAG_RECORD:
        return KIND_RECORD;
    case TAG_LIQUID:
        return KIND_LIQUID;
    case TAG_NONE:
    case TAG_ABSENT:
        break;
    }
    return KIND_NONE;
}

const char *value_kind_text(const UnitTable *units, Value value) {
    Kind kind = value_kind(units, value);
    return kind == KIND_OTHER ? unit_get(units, value.unit)->name : kind_word(kind);
}

/* How a kind is called in a sentence. */
static const char *const described[] = {
    [KIND_NUMBER] = "a plain number",
    [KIND_VOLUME] = "a volume",
    [KIND_MASS] = "a mass",
    [KIND_LENGTH] = "a length",
    [KIND_TIME] = "a time",
    [KIND_TEMPERATURE] = "a temperature",
    [KIND_TEMPERATURE_DIFFERENCE] = "a temperature difference",
    [KIND_GRAVITY] = "a gravity",
    [KIND_GRAVITY_DIFFERENCE] = "a gravity difference",
    [KIND_STRENGTH] = "a strength",
    [KIND_PRESSURE] = "a pressure",
    [KIND_CONCENTRATION] = "a concentration",
    [KIND_ACIDITY] = "an acidity",
    [KIND_ENERGY] = "an energy",
    [KIND_DATE] = "a date",
    [KIND_MONEY] = "money",
    [KIND_COUNT] = "a count",
    [KIND_OTHER] = "a quantity",
    [KIND_TEXT] = "a text",
    [KIND_LIST] = "a list",
    [KIND_RECORD] = "a record",
    [KIND_LIQUID] = "a liquid",
    [KIND_TRUTH] = "a truth",
    [KIND_NONE] = "none",
};

const char *value_describe(const UnitTable *units, Value value, Text *out) {
    Kind kind = value_kind(units, value);
    text_clear(out);
    text_add_string(out, described[kind]);
    if (kind == KIND_OTHER || kind == KIND_MONEY || kind == KIND_COUNT) {
        text_add_string(out, kind == KIND_COUNT ? " of " : " in ");
        text_add_string(out, unit_get(units, value.unit)->name);
    }
    return text_string(out);
}

/* SPDX-FileCopyrightText: the Rundlet developers */
/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What a value is, in words. */
#include "values/value.h"

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
    case TAG_FORMULA:
        return KIND_FORMULA;
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

const char *value_describe(const UnitTable *units, Value value, Text *out) {
    text_clear(out);
    if (value_is_quantity(value))
        unit_describe(units, value.unit, out);
    else
        text_add_string(out, kind_phrase(value_kind(units, value)));
    return text_string(out);
}

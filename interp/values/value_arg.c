/* SPDX-FileCopyrightText: the Rundlet developers */
/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "values/value_arg.h"

#include "base/mem.h"
#include "values/display.h"

MessageArg arg_kind(const UnitTable *units, Value value) {
    Text words = {0};
    value_describe(units, value, &words);
    return arg_taken(ARG_KIND, &words);
}

static MessageArg as_quantity(const UnitTable *units, double number, UnitId unit, Text *shown) {
    const char *name = unit_get(units, unit)->name;
    return (MessageArg){.type = *name ? ARG_QUANTITY : ARG_NUMBER,
                        .text = text_take(shown),
                        .number = number,
                        .unit = *name ? mem_copy_string(name) : NULL};
}

MessageArg arg_value(const UnitTable *units, Value value) {
    Text shown = {0};
    display_brief(&shown, units, value, value.tag == TAG_TEXT);
    return value_is_quantity(value) ? as_quantity(units, value.as.number, value.unit, &shown)
                                    : arg_taken(ARG_TEXT, &shown);
}

MessageArg arg_quantity(const UnitTable *units, double number, UnitId unit) {
    Text shown = {0};
    display_quantity(&shown, units, number, unit, (FormatSpec){FORMAT_DEFAULT, 0});
    return as_quantity(units, number, unit, &shown);
}

MessageArg arg_typed(const UnitTable *units, Value value) {
    Text shown = {0};
    if (!value_is_quantity(value) || value.unit != UNIT_PERCENT)
        return arg_value(units, value);
    display_number(&shown, units, value.as.number, UNIT_PERCENT, 0, (FormatSpec){FORMAT_DEFAULT, 0});
    text_add_char(&shown, '%');
    return as_quantity(units, value.as.number, UNIT_PERCENT, &shown);
}
